"""Every published figure tells where it comes from and how it was got."""

import csv
from pathlib import Path

import pytest

TABLES = sorted(Path(__file__).parent.glob("*.csv"), key=lambda path: path.name)
BASES = {"read", "from memory", "derived", "practice"}


def rows(path):
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize("path", TABLES, ids=lambda path: path.name)
def test_every_row_has_a_source(path):
    assert [row for row in rows(path) if not row["source"].strip()] == []


@pytest.mark.parametrize("path", TABLES, ids=lambda path: path.name)
def test_every_row_has_one_of_the_four_bases(path):
    assert {row["basis"] for row in rows(path)} <= BASES


def test_tables_are_found():
    assert len(TABLES) > 10

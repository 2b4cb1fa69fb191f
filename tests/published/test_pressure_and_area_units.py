"""Factors of pressure, area, angle, engine speed and time. Bar and minute are from memory."""

import csv
from decimal import Decimal
from pathlib import Path

import pytest

from combo.units import DIMENSIONS, factor, quantity


def rows(name):
    with Path(__file__).with_name(name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def half_last_digit(printed):
    return 0.5 * 10.0 ** Decimal(printed).as_tuple().exponent


def case(row):
    return row["case"]


@pytest.mark.parametrize("row", rows("pressure_and_area_factors.csv"), ids=case)
def test_factor_is_the_published_one(row):
    inside = factor(row["typed"], DIMENSIONS[row["suffix"]])
    published = float(row["value"])
    last_of_a_float, printed = 1e-12 * published, min(half_last_digit(row["value"]), 1e-6 * published)
    assert inside == pytest.approx(published, abs=max(printed, last_of_a_float))


@pytest.mark.parametrize("row", rows("pressure_and_area_factors.csv"), ids=case)
def test_quantity_of_thirty_is_thirty_times_the_published_factor(row):
    inside = quantity(f"30 {row['typed']}", DIMENSIONS[row["suffix"]])
    assert inside == pytest.approx(30.0 * float(row["value"]), rel=1e-6)

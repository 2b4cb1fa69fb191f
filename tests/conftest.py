"""The shipped example, read once."""

import os
from pathlib import Path

import pytest

from combo.read.load import load
from combo.search.filter import space_of
from combo.search.pool import rows_left
from combo.search.topk import rank

os.environ.setdefault("COMBO_NO_CACHE", "1")  # tests of the cache alone use one, and not that of whoever runs them
ROOT = Path(__file__).parents[1]
EXAMPLE = ROOT / "examples" / "orchard_pickup" / "job.toml"


@pytest.fixture(scope="session")
def example():
    """Job and parts of the orchard pickup."""
    return load(EXAMPLE)


@pytest.fixture(scope="session")
def reduced(example):
    """What is left of its lists."""
    return space_of(example.job, example.parts)


@pytest.fixture(scope="session")
def space(reduced):
    """Every row that a build of it could hold."""
    return rows_left(reduced)


@pytest.fixture(scope="session")
def ranking(reduced):
    """Its first ten builds."""
    return rank(reduced, 10)

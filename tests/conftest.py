"""The shipped example, read once."""

from pathlib import Path

import pytest

from combo.read.load import load
from combo.solve.rank import rank
from combo.solve.reduce import space_of

ROOT = Path(__file__).parents[1]
EXAMPLE = ROOT / "examples" / "orchard_pickup" / "job.toml"


@pytest.fixture(scope="session")
def example():
    """Job and parts of the orchard pickup."""
    return load(EXAMPLE)


@pytest.fixture(scope="session")
def space(example):
    """Its rows."""
    return space_of(example.job, example.parts)


@pytest.fixture(scope="session")
def ranking(space):
    """Its first ten builds."""
    return rank(space, 10)

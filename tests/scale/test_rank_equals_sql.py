"""On lists of 2,000 wheels by 2,000 tires the first fifty builds are those that SQL finds, in order, to the byte."""

import pytest

pytest.importorskip("duckdb")

from compare import disagreement

SEEDS = (1, 4, 17, 27, 64)
"""A slice; `python tests/benchmark/compare.py` draws as many as wanted."""


@pytest.mark.parametrize("seed", SEEDS)
def test_the_first_fifty_builds_are_those_of_sql(seed):
    assert disagreement(seed, wheels=2000, tires=2000) is None

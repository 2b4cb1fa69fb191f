"""Minimal hitting sets, against every subset there is."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combo.algorithms.hitting_sets import minimal_hitting_sets

MEMBERS = "abcdef"


@pytest.mark.parametrize(
    ("families", "expected"),
    [
        ([], [""]),
        (["a"], ["a"]),
        (["ab"], ["a", "b"]),
        (["ab", "bc"], ["b", "ac"]),
        (["ab", "cd", "ac"], ["ac", "ad", "bc"]),
        (["a", ""], []),
    ],
)
def test_the_smallest_come_first(families, expected):
    assert minimal_hitting_sets(map(frozenset, families), MEMBERS) == [frozenset(own) for own in expected]


@given(st.lists(st.frozensets(st.sampled_from(MEMBERS)), max_size=6))
def test_they_are_those_of_every_subset(families):
    subsets = [frozenset(own) for size in range(len(MEMBERS) + 1) for own in itertools.combinations(MEMBERS, size)]
    hitting = [own for own in subsets if all(own & family for family in families)]
    minimal = [own for own in hitting if not any(other < own for other in hitting)]
    assert minimal_hitting_sets(families, MEMBERS) == sorted(minimal, key=lambda own: (len(own), sorted(own)))

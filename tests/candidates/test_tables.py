"""Rows that are kept are the rows that are made."""

import pickle

import numpy as np
import pytest

from combo.candidates import tables
from combo.candidates.tables import PLACES, Tables, places_of


@pytest.fixture
def places(space):
    """Where the parts of some rows of each table stand, in no order."""
    return {name: places_of(getattr(space, name), name)[::-1] for name in PLACES}


def assert_same(table, other):
    """Both have the same columns with the same values."""
    assert list(table) == list(other)
    for name in table:
        np.testing.assert_array_equal(table[name], other[name], err_msg=name, strict=True)


@pytest.mark.parametrize("name", PLACES)
def test_rows_asked_for_bit_by_bit_are_those_asked_for_at_once(example, places, name):
    own, kept = places[name], Tables(example.job, example.parts)
    kept.of(name, own[::3])
    kept.of(name, own[1::2])
    at_once = Tables(example.job, example.parts).of(name, own)
    assert_same(kept.of(name, own), at_once)


@pytest.mark.parametrize("name", PLACES)
def test_rows_are_sorted_by_sku_as_those_of_a_search(example, space, places, name):
    found = Tables(example.job, example.parts).of(name, places[name])
    assert_same(found, getattr(space, name))


def test_more_rows_than_are_kept_are_made_anew(example, places, monkeypatch):
    kept = Tables(example.job, example.parts).of("rear", places["rear"])
    monkeypatch.setattr(tables, "ROWS_KEPT", 2)
    assert_same(Tables(example.job, example.parts).of("rear", places["rear"]), kept)


@pytest.mark.parametrize("name", PLACES)
def test_rows_that_travelled_are_the_rows_that_were_sent(example, places, name):
    kept = Tables(example.job, example.parts)
    some = kept.of(name, places[name]).take(np.array([1, 0]))
    some[next(iter(some))]
    assert_same(pickle.loads(pickle.dumps(some)), some)

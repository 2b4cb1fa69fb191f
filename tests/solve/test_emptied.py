"""Checks that leave nothing of a table, seen without a search, against the reduction of the lists."""

import itertools

import numpy as np
import pytest

from combo.explain.limits import every_check
from combo.solve import emptied
from combo.solve.allowed import NOTHING, Allowed, Pinned
from combo.solve.classes import Lists
from combo.solve.emptied import emptied_by, emptied_by_few
from combo.solve.reduce import reduced


@pytest.fixture(scope="module")
def lists(example):
    return Lists(example.job, example.parts)


@pytest.fixture(scope="module")
def places(lists):
    """Checks of rows, but for the one that every search makes."""
    return [own.place for own in every_check(lists.job) if own.is_of_rows and own.check.id != "rim_diameter"]


def all_round(kind, at):
    return Pinned({(axle, kind): frozenset({at}) for axle in ("front", "rear")})


def is_empty(lists, allowed):
    """Whether a table is empty once the lists are reduced with the checks of rows alone."""
    whole = [own.place for own in every_check(lists.job) if not own.is_of_rows]
    left = reduced(lists, Allowed.without([*allowed.by, *whole], allowed.pinned))
    return not left.has_rows()


def test_a_job_with_builds_is_emptied_by_nothing(lists):
    assert emptied_by(lists, NOTHING) is None


@pytest.mark.parametrize("kind", ["wheel", "tire"])
def test_what_is_emptied_has_no_rows_left(lists, places, kind):
    random = np.random.default_rng(7)
    answers = set()
    for at in range(0, len(lists.parts.of_kind(kind)), 7):
        dropped = [place for place in places if random.random() < 0.5]
        allowed = Allowed.without(dropped, all_round(kind, at))
        found = emptied_by(lists, allowed)
        assert (found is not None) == is_empty(lists, allowed)
        answers.add(found is not None)
    assert answers == {True, False}


def test_the_checks_that_are_named_are_enough(lists, places):
    for at in range(0, len(lists.parts.wheels), 4):
        pinned = all_round("wheel", at)
        found = emptied_by(lists, Allowed(pinned=pinned))
        if found is not None:
            others = [place for place in places if place not in found]
            assert is_empty(lists, Allowed.without(others, pinned))


def test_every_one_or_two_checks_that_leave_nothing_are_found(lists, places):
    pinned = all_round("wheel", list(lists.parts.wheels["sku"]).index("W-1790-65"))
    front = [place for place in places if place[1] == "front"]
    empty = {kept: is_empty(lists, Allowed.without(set(places) - set(kept), pinned))
             for size in (1, 2) for kept in itertools.combinations(front, size)}  # fmt: skip
    smallest = {frozenset(kept) for kept, none in empty.items()
                if none and not any(empty[one,] for one in kept if len(kept) > 1)}  # fmt: skip
    found = emptied_by_few(lists, pinned, {place: (place,) for place in places}, [])
    assert {len(own) for own in smallest} == {1, 2}
    assert {own for own in found if own <= set(front)} == smallest
    assert [len(own) for own in found] == sorted(len(own) for own in found)


def test_too_many_parts_are_left_to_a_search(lists, monkeypatch):
    pinned = all_round("wheel", list(lists.parts.wheels["sku"]).index("W-1790-65"))
    assert emptied_by(lists, Allowed(pinned=pinned)) is not None
    monkeypatch.setattr(emptied, "CELLS", 10)
    assert emptied_by(lists, Allowed(pinned=pinned)) is None
    assert emptied_by_few(lists, pinned, {}, []) == []


def test_a_check_that_two_limits_move_is_kept_by_both_together(lists, places):
    pinned = all_round("wheel", list(lists.parts.wheels["sku"]).index("W-1790-65"))
    named = {place: (place,) for place in places}
    (one,) = next(own for own in emptied_by_few(lists, pinned, named, []) if len(own) == 1)
    found = emptied_by_few(lists, pinned, {**named, one: ("first", "second")}, [])
    assert frozenset({"first", "second"}) in found
    assert not {frozenset({"first"}), frozenset({"second"})} & set(found)
    assert all(one not in own for own in emptied_by_few(lists, pinned, named, [one]))

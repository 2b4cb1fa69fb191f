"""Checks that leave nothing of a table, seen without a search, against the reduction of the lists."""

import itertools

import numpy as np
import pytest

from combo.candidates.instance import Instance
from combo.candidates.relaxed_limits import NOTHING, Pinned, RelaxedLimits
from combo.explain.limits import every_check
from combo.search import quick_infeasible
from combo.search.filter import filter_lists
from combo.search.quick_infeasible import quick_core, trivial_conflicts


@pytest.fixture(scope="module")
def instance(example):
    return Instance(example.job, example.parts)


@pytest.fixture(scope="module")
def places(instance):
    """Checks of rows, but for the one that every search makes."""
    return [own.place for own in every_check(instance.job) if own.is_of_rows and own.check.id != "rim_diameter"]


def all_round(kind, at):
    return Pinned({(axle, kind): frozenset({at}) for axle in ("front", "rear")})


def is_empty(instance, allowed):
    """Whether a table is empty once the lists are reduced with the checks of rows alone."""
    whole = [own.place for own in every_check(instance.job) if not own.is_of_rows]
    left = filter_lists(instance, RelaxedLimits.without([*allowed.by, *whole], allowed.pinned))
    return not left.has_rows()


def test_a_job_with_builds_is_emptied_by_nothing(instance):
    assert quick_core(instance, NOTHING) is None


@pytest.mark.parametrize("kind", ["wheel", "tire"])
def test_what_is_emptied_has_no_rows_left(instance, places, kind):
    random = np.random.default_rng(7)
    answers = set()
    for at in range(0, len(instance.parts.of_kind(kind)), 7):
        dropped = [place for place in places if random.random() < 0.5]
        allowed = RelaxedLimits.without(dropped, all_round(kind, at))
        found = quick_core(instance, allowed)
        assert (found is not None) == is_empty(instance, allowed)
        answers.add(found is not None)
    assert answers == {True, False}


def test_the_checks_that_are_named_are_enough(instance, places):
    for at in range(0, len(instance.parts.wheels), 4):
        pinned = all_round("wheel", at)
        found = quick_core(instance, RelaxedLimits(pinned=pinned))
        if found is not None:
            others = [place for place in places if place not in found]
            assert is_empty(instance, RelaxedLimits.without(others, pinned))


def test_every_one_or_two_checks_that_leave_nothing_are_found(instance, places):
    pinned = all_round("wheel", list(instance.parts.wheels["sku"]).index("W-1790-65"))
    front = [place for place in places if place[1] == "front"]
    empty = {
        kept: is_empty(instance, RelaxedLimits.without(set(places) - set(kept), pinned))
        for size in (1, 2)
        for kept in itertools.combinations(front, size)
    }
    smallest = {
        frozenset(kept)
        for kept, none in empty.items()
        if none and not any(empty[one,] for one in kept if len(kept) > 1)
    }
    found = trivial_conflicts(instance, pinned, {place: (place,) for place in places}, [])
    assert {len(own) for own in smallest} == {1, 2}
    assert {own for own in found if own <= set(front)} == smallest
    assert [len(own) for own in found] == sorted(len(own) for own in found)


def test_too_many_parts_are_left_to_a_search(instance, monkeypatch):
    pinned = all_round("wheel", list(instance.parts.wheels["sku"]).index("W-1790-65"))
    assert quick_core(instance, RelaxedLimits(pinned=pinned)) is not None
    monkeypatch.setattr(quick_infeasible, "CELLS", 10)
    assert quick_core(instance, RelaxedLimits(pinned=pinned)) is None
    assert trivial_conflicts(instance, pinned, {}, []) == []


def test_a_check_that_two_limits_move_is_kept_by_both_together(instance, places):
    pinned = all_round("wheel", list(instance.parts.wheels["sku"]).index("W-1790-65"))
    named = {place: (place,) for place in places}
    (one,) = next(own for own in trivial_conflicts(instance, pinned, named, []) if len(own) == 1)
    found = trivial_conflicts(instance, pinned, {**named, one: ("first", "second")}, [])
    assert frozenset({"first", "second"}) in found
    assert not {frozenset({"first"}), frozenset({"second"})} & set(found)
    assert all(one not in own for own in trivial_conflicts(instance, pinned, named, [one]))

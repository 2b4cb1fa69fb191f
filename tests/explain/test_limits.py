"""Which limits may be moved, and which never."""

import dataclasses

import pytest

from combo.candidates.instance import Instance
from combo.candidates.relaxed_limits import RelaxedLimits
from combo.checks import CHECKS
from combo.checks.entries import ENTRIES
from combo.explain.limits import amounts_of, every_check, limits_named, movable, to_blame
from combo.problems import Problems
from combo.search.filter import filter_lists
from combo.units import BoltCircle


def ids(job):
    return {own.check.id for limit in movable(job) for own in limit.fed}


def with_firm(job, *names):
    return dataclasses.replace(job, limits=dataclasses.replace(job.limits, firm=names))


@pytest.mark.parametrize("never", ["tire_load", "gawr_rear", "bolt_circle", "hub_bore", "tire_speed", "brake_barrel"])
def test_what_physics_and_safety_ask_is_never_moved(example, never):
    assert never in {check.id for check in CHECKS if check.asked(example.job)}
    assert never not in ids(example.job)


def test_budget_targets_and_clearances_may_be_moved(example):
    assert {"budget", "rear_load", "cruise_rpm", "inner_sidewall"} <= ids(example.job)


def test_a_limit_that_the_job_calls_firm_is_not_moved(example):
    assert "budget" not in ids(with_firm(example.job, "budget"))


def test_a_check_of_corners_hangs_on_a_room_at_each_axle(example):
    found = [(limit.key, limit.where) for limit in limits_named(example.job, "inner_sidewall")]
    assert found == [("wheelhouse.front.room_inner", "front"), ("wheelhouse.rear.room_inner", "rear")]


def test_a_limit_is_named_by_its_key_too(example):
    (found,) = limits_named(example.job, "wheelhouse.rear.room_outer")
    assert found.places == (("outer_sidewall", "rear"), ("wheelhouse_width", "rear"), ("cover", "rear"))


def test_a_firm_check_holds_every_entry_that_feeds_it(example):
    keys = {limit.key for limit in movable(with_firm(example.job, "cover"))}
    assert not keys & {"wheelhouse.front.room_outer", "wheelhouse.rear.room_outer", "targets.cover"}
    assert "wheelhouse.rear.room_inner" in keys


def test_every_check_that_may_be_moved_is_fed_by_an_entry_and_no_other_is():
    fed = {check for entry in ENTRIES for check in entry.checks}
    assert fed == {check.id for check in CHECKS if not check.firm}


def test_two_entries_that_feed_one_check_add_up(example):
    inner, outer = (limits_named(example.job, f"wheelhouse.rear.room_{side}")[0] for side in ("inner", "outer"))
    assert amounts_of({inner: 3.0, outer: 4.0}) == {
        ("backspace_limit", "rear"): 3.0,
        ("inner_sidewall", "rear"): 3.0,
        ("wheelhouse_width", "rear"): 7.0,
        ("outer_sidewall", "rear"): 4.0,
        ("cover", "rear"): 4.0,
    }


@pytest.mark.parametrize("word", ["tire_load", "budgets"])
def test_a_word_that_names_no_movable_limit_is_refused(example, word):
    with pytest.raises(Problems, match=f'found "{word}"'):
        limits_named(example.job, word)


def test_a_safety_limit_cannot_be_named_as_one_that_moves(example):
    with pytest.raises(Problems, match='found "tire_load"'):
        movable(with_firm(example.job, "tire_load"))


def without(job, kept):
    return RelaxedLimits.without(own.place for own in every_check(job) if own.place not in kept)


@pytest.mark.parametrize(
    "never",
    [
        {("bolt_circle", "front"), ("ground", "rear"), ("hub_bore", "rear")},
        {("inner_sidewall", "front"), ("steer_sweep", "front"), ("carrier", "rear"), ("cruise_rpm", "rear")},
    ],
)
def test_without_the_checks_that_are_not_to_blame_the_same_is_left(example, never):
    instance, places = Instance(example.job, example.parts), {own.place for own in every_check(example.job)}
    left = filter_lists(instance, without(example.job, places - never))
    blamed = to_blame(left) - never
    again = filter_lists(instance, without(example.job, blamed))
    for axle, corners in left.corners.items():
        assert corners.wheels.left.tolist() == again.corners[axle].wheels.left.tolist()
        assert corners.tires.left.tolist() == again.corners[axle].tires.left.tolist()
    assert blamed < places - never


def test_a_hub_that_no_wheel_goes_on_is_to_blame_alone(example):
    hub = dataclasses.replace(example.job.hub.front, bolt_circle=BoltCircle(9, 300.0))
    job = dataclasses.replace(example.job, hub=dataclasses.replace(example.job.hub, front=hub))
    kept = {("bolt_circle", "front"), ("inner_sidewall", "front"), ("budget", "truck")}
    left = filter_lists(Instance(job, example.parts), without(job, kept))
    assert not left.has_rows()
    assert to_blame(left) & kept == {("bolt_circle", "front")}

"""Which limits may be moved, and which never."""

import dataclasses

import pytest

from combo.checks import CHECKS
from combo.explain.limits import every_limit, limits_named, movable, to_blame
from combo.problems import Problems
from combo.solve.allowed import Allowed
from combo.solve.classes import Lists
from combo.solve.reduce import reduced
from combo.units import BoltCircle


def ids(job):
    return {limit.check.id for limit in movable(job)}


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


def test_a_check_of_corners_is_a_limit_at_each_axle(example):
    assert [limit.where for limit in limits_named(example.job, "inner_sidewall")] == ["front", "rear"]


@pytest.mark.parametrize("word", ["tire_load", "budgets"])
def test_a_word_that_names_no_movable_limit_is_refused(example, word):
    with pytest.raises(Problems, match=f'found "{word}"'):
        limits_named(example.job, word)


def test_a_safety_limit_cannot_be_named_as_one_that_moves(example):
    with pytest.raises(Problems, match='found "tire_load"'):
        movable(with_firm(example.job, "tire_load"))


def without(job, kept):
    return Allowed.without(limit.place for limit in every_limit(job) if limit.place not in kept)


@pytest.mark.parametrize("never", [
    {("bolt_circle", "front"), ("ground", "rear"), ("hub_bore", "rear")},
    {("inner_sidewall", "front"), ("steer_sweep", "front"), ("carrier", "rear"), ("cruise_rpm", "rear")},
])  # fmt: skip
def test_without_the_checks_that_are_not_to_blame_the_same_is_left(example, never):
    lists, places = Lists(example.job, example.parts), {limit.place for limit in every_limit(example.job)}
    left = reduced(lists, without(example.job, places - never))
    blamed = to_blame(left) - never
    again = reduced(lists, without(example.job, blamed))
    for axle, corners in left.corners.items():
        assert corners.wheels.left.tolist() == again.corners[axle].wheels.left.tolist()
        assert corners.tires.left.tolist() == again.corners[axle].tires.left.tolist()
    assert blamed < places - never


def test_a_hub_that_no_wheel_goes_on_is_to_blame_alone(example):
    hub = dataclasses.replace(example.job.hub.front, bolt_circle=BoltCircle(9, 300.0))
    job = dataclasses.replace(example.job, hub=dataclasses.replace(example.job.hub, front=hub))
    kept = {("bolt_circle", "front"), ("inner_sidewall", "front"), ("budget", "truck")}
    left = reduced(Lists(job, example.parts), without(job, kept))
    assert not left.has_rows()
    assert to_blame(left) & kept == {("bolt_circle", "front")}

"""Which limits may be moved, and which never."""

import dataclasses

import pytest

from combo.checks import CHECKS
from combo.explain.limits import limits_named, movable
from combo.problems import Problems


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

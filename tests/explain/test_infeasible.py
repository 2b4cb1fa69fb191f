"""Conflicts and corrections: what a job without a build is told."""

from combo.candidates.relaxed_limits import NOTHING, Pinned, RelaxedLimits
from combo.explain.best import any_build
from combo.explain.infeasible import infeasibility
from combo.explain.parts import stuck


def test_a_job_with_a_build_is_not_stuck(instance):
    assert infeasibility(instance, Pinned(), 3) is None
    assert stuck(instance, Pinned(), 3) is None


def test_a_budget_that_is_too_small_is_in_every_conflict(poor):
    found = infeasibility(poor, Pinned(), 2)
    assert found.conflicts
    assert all("budget" in {limit.check.id for limit in conflict.limits} for conflict in found.conflicts)


def test_the_budget_must_grow_by_what_the_cheapest_build_lacks(instance, poor):
    change = stuck(poor, Pinned(), 3).changes[0]
    assert [limit.check.id for limit in change.limits] == ["budget"]
    cheapest = any_build(poor, RelaxedLimits.without([("budget", "truck")]))
    assert change.moved[0] <= cheapest.cost_cents - poor.job.money.budget_cents
    assert change.best.cost_cents == poor.job.money.budget_cents + change.moved[0]
    assert set(change.best.missed()) == {("budget", "truck")}


def test_a_cent_less_gives_no_build(poor):
    change = stuck(poor, Pinned(), 3).changes[0]
    assert any_build(poor, RelaxedLimits({("budget", "truck"): change.moved[0]})) is not None
    assert any_build(poor, RelaxedLimits({("budget", "truck"): change.moved[0] - 1})) is None


def test_where_nothing_fits_any_build_is_none(poor):
    assert any_build(poor, NOTHING) is None

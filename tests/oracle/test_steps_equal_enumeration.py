"""What moving a limit buys, against every build that fails at most that limit."""

import dataclasses
import math

import pytest
from enumeration import enumerate_builds
from hypothesis import HealthCheck, Phase, assume, given, settings
from hypothesis import strategies as st
from jobs import parts_of, small_jobs
from test_rank_equals_enumeration import SHOWN, ranked_build

from combo.candidates.builds import chosen
from combo.candidates.instance import Instance
from combo.candidates.relaxed_limits import RelaxedLimits
from combo.checks.run import results
from combo.explain.best import best_build
from combo.explain.limits import movable
from combo.explain.sweep import gains, steps
from combo.search.filter import space_of
from combo.search.topk import rank

ALL = 100_000


def few(examples):
    """Settings for some drawn jobs; each asks for many searches."""
    return settings(
        max_examples=examples,
        deadline=None,
        derandomize=True,
        phases=[Phase.generate],
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much],
    )


def free_of_variety(job):
    """The job without limits on what the shortlist repeats."""
    return dataclasses.replace(job, shortlist=type(job.shortlist)(), job=dataclasses.replace(job.job, strict=False))


def needs_of_every_build(job, parts, limit):
    """By how much the limit must give way for each build that fails nothing else, the best build first."""
    ranking = rank(space_of(job, parts, RelaxedLimits.without(limit.places)), ALL)
    every = results(job, chosen(ranking.space, ranking.builds)) if ranking.ranked else []
    return [need(checks, limit) for checks in every]


def need(checks, limit):
    """What the worst known check that the limit feeds lacks; NaN where none is known."""
    known = [-one.margin for one in checks if (one.check.id, one.where) in limit.places and not math.isnan(one.margin)]
    return max(known, default=math.nan)


def true_steps(needs):
    """The needs at which the best build changes: each build that needs less than all better ones."""
    found = []
    for need in needs:
        if not found or not need >= found[-1]:
            found.append(need)
        if math.isnan(need):
            break
    return found


@few(6)
@given(drawn=small_jobs(), which=st.integers(0, 1000))
def test_the_steps_of_a_limit_are_those_of_every_build(drawn, which):
    job, parts = free_of_variety(drawn[0]), parts_of(*drawn)
    limits = movable(job)
    assume(limits)
    limit = limits[which % len(limits)]
    expected = true_steps(needs_of_every_build(job, parts, limit))
    found = steps(Instance(job, parts), limit, best_build(Instance(job, parts))).found
    assert bool(found) == bool(expected)
    places = [expected.index(step.moved) if step.moved in expected else len(expected) - 1 for step in found]
    for step, place in zip(found, places, strict=True):
        assert step.moved == pytest.approx(expected[place], abs=1e-9, nan_ok=True)
    for step, place, after in zip(found, places, [*places[1:], None][: len(found)], strict=True):
        if step.is_next:
            assert after == place + 1 if after is not None else place == len(expected) - 1


@few(2)
@given(drawn=small_jobs(), start=st.integers(0, 1000))
def test_a_limit_stands_in_the_way_where_giving_it_up_gives_a_better_build(drawn, start):
    job, parts = free_of_variety(drawn[0]), parts_of(*drawn)
    instance = Instance(job, parts)
    found = {gain.limit: gain.step.moved for gain in gains(instance, best_build(instance)).found}
    limits = movable(job)
    for limit in [limits[(start + step) % len(limits)] for step in range(0, len(limits), 6)]:
        needs = needs_of_every_build(job, parts, limit)
        expected = pytest.approx(needs[0], abs=1e-9) if needs and needs[0] > 0 else None
        assert found.get(limit) == expected


@few(6)
@given(drawn=small_jobs())
def test_without_a_budget_every_build_is_that_of_the_enumeration(drawn):
    job, raw = free_of_variety(drawn[0]), drawn[1]
    assume(job.money.budget_cents)
    scaled = dataclasses.replace(job.scales, cost_cents=job.scales.cost_cents or job.money.budget_cents)
    without = dataclasses.replace(job, scales=scaled, money=dataclasses.replace(job.money, budget_cents=None))
    ranking = rank(space_of(job, parts_of(job, raw), RelaxedLimits({("budget", "truck"): math.inf})), 30)
    found = [
        {name: own for name, own in ranked_build(ranking, ranked).items() if name in SHOWN} for ranked in ranking.ranked
    ]
    assert found == [{name: build[name] for name in SHOWN} for build in enumerate_builds(without, **raw)[:30]]

"""What moving the budget of the example buys is what the job with that budget gives."""

import dataclasses

import pytest

from combo.explain.best import best_build
from combo.explain.limits import limits_named
from combo.explain.steps import steps


@pytest.fixture(scope="module")
def now(example):
    return best_build(example.job, example.parts)


@pytest.fixture(scope="module")
def walked(example, now):
    (budget,) = limits_named(example.job, "budget")
    return steps(example.job, example.parts, budget, now)


def best_with(example, more_cents):
    """The best build under another budget, costs scored as before."""
    job = example.job
    scaled = dataclasses.replace(job.scales, cost_cents=job.scales.cost_cents or job.money.budget_cents)
    money = dataclasses.replace(job.money, budget_cents=job.money.budget_cents + round(more_cents))
    return best_build(dataclasses.replace(job, scales=scaled, money=money), example.parts)


def test_the_best_build_now_is_the_first_of_the_ranking(now, ranking):
    assert (now.score, now.cost_cents) == (ranking.ranked[0].score, ranking.ranked[0].totals["cost_cents"])


def test_the_steps_go_from_the_widest_down(walked):
    assert [step.moved for step in walked] == sorted((step.moved for step in walked), reverse=True)
    assert walked[0].moved > 0 > walked[-1].moved


def test_a_better_build_wants_a_wider_limit(walked):
    assert [step.best.key for step in walked] == sorted(step.best.key for step in walked)


def test_the_budget_of_a_step_gives_its_build_and_a_cent_less_the_next(example, walked):
    at = next(at for at, step in enumerate(walked) if step.is_next and step.moved > 0)
    assert best_with(example, walked[at].moved).key == walked[at].best.key
    assert best_with(example, walked[at].moved - 1).key == walked[at + 1].best.key

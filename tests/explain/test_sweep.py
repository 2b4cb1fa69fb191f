"""What moving a budget buys is what the job with that budget gives."""

import dataclasses

import pytest

from combo.candidates.instance import Instance
from combo.explain.best import best_build
from combo.explain.limits import limits_named
from combo.explain.sweep import steps
from combo.read.load import load
from combo.search.filter import space_of
from combo.search.topk import rank
from combo.show.files import write_starter


@pytest.fixture(scope="module")
def starter(tmp_path_factory):
    """The starter job with less money; its points for cost stop just under the budget."""
    folder = tmp_path_factory.mktemp("starter") / "job"
    write_starter(folder)
    loaded = load(folder / "job.toml")
    scaled = dataclasses.replace(loaded.job, scales=dataclasses.replace(loaded.job.scales, cost_cents=240_000))
    return dataclasses.replace(loaded, job=with_budget(scaled, 241_400))


@pytest.fixture(scope="module")
def now(starter):
    return best_build(Instance(starter.job, starter.parts))


@pytest.fixture(scope="module")
def walked(starter, now):
    (budget,) = limits_named(starter.job, "budget")
    return steps(Instance(starter.job, starter.parts), budget, now).found


def with_budget(job, cents):
    return dataclasses.replace(job, money=dataclasses.replace(job.money, budget_cents=cents))


def best_with(starter, more_cents):
    """The best build under another budget."""
    job = starter.job
    return best_build(Instance(with_budget(job, job.money.budget_cents + round(more_cents)), starter.parts))


def test_the_best_build_now_is_the_first_of_the_ranking(starter, now):
    first = rank(space_of(starter.job, starter.parts), 1).ranked[0]
    assert (now.score, now.cost_cents) == (first.score, first.totals["cost_cents"])


def test_the_steps_go_from_the_widest_down(walked):
    assert [step.moved for step in walked] == sorted((step.moved for step in walked), reverse=True)
    assert walked[0].moved > 0 > walked[-1].moved


def test_a_better_build_wants_a_wider_limit(walked):
    assert [step.best.key for step in walked] == sorted(step.best.key for step in walked)


def test_the_budget_of_a_step_gives_its_build_and_a_cent_less_the_next(starter, walked):
    at = next(at for at, step in enumerate(walked) if step.is_next and step.moved > 0)
    assert best_with(starter, walked[at].moved).key == walked[at].best.key
    assert best_with(starter, walked[at].moved - 1).key == walked[at + 1].best.key

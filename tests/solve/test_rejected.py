"""Parts that are in no build, proven by the solver and told by their best attempt."""

import dataclasses

import pytest

from combo.solve.clock import Clock
from combo.solve.rank import rank
from combo.solve.reduce import space_of
from combo.solve.rejected import rejected


@pytest.fixture(scope="module")
def rejects(example, space, ranking):
    return rejected(example.job, example.parts, space, ranking, Clock())


def test_no_part_of_the_shortlist_is_rejected(space, ranking, rejects):
    used = {sku for at in ranking.builds.front for sku in space.front.iloc[at][["wheel.sku", "tire.sku"]]}
    assert not used & {one.sku for one in rejects}


def test_a_wheel_of_another_bolt_circle_is_told_so(rejects):
    told = {one.sku: [result.check.id for result in one.failing] for one in rejects}
    assert "bolt_circle" in told["W-1570-42"]


def test_a_part_without_a_failing_check_really_is_in_no_build(example):
    job = dataclasses.replace(example.job, money=dataclasses.replace(example.job.money, budget_cents=320_000))
    space = space_of(job, example.parts)
    rejects = rejected(job, example.parts, space, rank(space, 3), Clock())
    alone = [one for one in rejects if not one.failing and one.kind in {"wheel", "tire"}]
    assert alone
    for one in alone:
        position = list(example.parts.table(f"{one.kind}s")["sku"]).index(one.sku)
        assert all(no_build_with(space, name, f"{one.kind}.at", position) for name in ("front", "rear"))


def no_build_with(space, name, column, position):
    """Whether the join, asked with only the rows of one part at an axle, finds nothing."""
    table = getattr(space, name)
    own = table[table[column] == position].reset_index(drop=True)
    return own.empty or not rank(dataclasses.replace(space, **{name: own}), 1).ranked

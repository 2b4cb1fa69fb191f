"""Parts that are in no build, proven by the solver and told by their best attempt."""

import dataclasses

import numpy as np
import pytest

from combo.deadline import Clock
from combo.explain.rejected import rejected
from combo.search.filter import space_of
from combo.search.topk import rank


@pytest.fixture(scope="module")
def rejects(example, ranking):
    return rejected(example.job, example.parts, ranking, Clock())


def test_no_part_of_the_shortlist_is_rejected(ranking, rejects):
    used = {sku for kind in ("wheel", "tire") for sku in ranking.space.front[f"{kind}.sku"][ranking.builds.front]}
    assert not used & {one.sku for one in rejects}


def test_a_wheel_of_another_bolt_circle_is_told_so(rejects):
    told = {one.sku: [result.check.id for result in one.failing] for one in rejects}
    assert "bolt_circle" in told["W-1570-42"]


def test_a_part_without_a_failing_check_really_is_in_no_build(example):
    job = dataclasses.replace(example.job, money=dataclasses.replace(example.job.money, budget_cents=320_000))
    reduced = space_of(job, example.parts)
    rejects = rejected(job, example.parts, rank(reduced, 3), Clock())
    alone = [one for one in rejects if not one.failing and one.kind in {"wheel", "tire"}]
    assert alone
    for one in alone:
        position = list(example.parts.table(f"{one.kind}s")["sku"]).index(one.sku)
        assert all(no_build_with(reduced, axle, one.kind, position) for axle in ("front", "rear"))


def no_build_with(reduced, axle, kind, position):
    """Whether the join, asked with only one part of a kind at an axle, finds nothing."""
    others = np.arange(len(reduced.parts.of_kind(kind))) != position
    corners = {**reduced.corners, axle: reduced.corners[axle].without(kind, others)}
    return not rank(dataclasses.replace(reduced, corners=corners), 1).ranked

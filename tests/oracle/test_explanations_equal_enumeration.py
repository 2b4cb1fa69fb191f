"""Near misses, conflicts, changes and named parts, against every build there is with all that it fails."""

import dataclasses
import itertools
import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from jobs import parts_of, small_jobs
from test_steps_equal_enumeration import ALL, few, free_of_variety

from combo.checks.check import axle_at
from combo.checks.run import results
from combo.explain.best import any_build, best_build
from combo.explain.binding import with_stops
from combo.explain.changes import smallest_change
from combo.explain.conflicts import NEVER_WITHOUT, impasse
from combo.explain.limits import every_limit, movable
from combo.explain.near import near_misses
from combo.solve import join
from combo.solve.allowed import NOTHING, Allowed, Pinned
from combo.solve.builds import chosen, keys
from combo.solve.classes import Lists
from combo.solve.rank import rank
from combo.solve.reduce import space_of

MOST_BUILDS = 400
SHARES = st.integers(30, 110)
"""Of a hundred parts of what the best build costs, what the budget of a stuck job is."""


class Every:
    """Every build, whatever it fails, the best first: its key, its margins by place, its parts."""

    def __init__(self, job, parts):
        every = Allowed.without(limit.place for limit in every_limit(job))
        ranking = rank(space_of(job, parts, every), MOST_BUILDS)
        assume(len(ranking.ranked) < MOST_BUILDS)
        space, builds = ranking.space, ranking.builds
        told = results(job, chosen(space, builds)) if ranking.ranked else []
        self.margins = [{(one.check.id, one.where): one.margin for one in checks} for checks in told]
        self.keys = [tuple(key) for key in (-keys(space, builds)[:, : len(space.levels)]).tolist()]
        self.front_wheels = space.front["wheel.at"][builds.front].tolist()
        self.missed = [frozenset(place for place, margin in own.items() if margin < 0) for own in self.margins]


def stuck_job(drawn, share):
    """A drawn job in which nothing fits: its budget is a share of what the cheapest of the best builds costs."""
    job, parts = free_of_variety(drawn[0]), parts_of(*drawn)
    best = best_build(Lists(job, parts))
    if best is not None:
        money = dataclasses.replace(job.money, budget_cents=best.cost_cents * share // 100)
        job = dataclasses.replace(job, money=money)
    assume(any_build(Lists(job, parts), NOTHING) is None)
    return job, parts


def smallest(sets):
    """Those of some sets that hold no other."""
    distinct = set(sets)
    return {own for own in distinct if not any(other < own for other in distinct)}


@few(2)
@given(drawn=small_jobs())
def test_near_misses_are_the_best_builds_that_fail_one_movable_limit(drawn):
    job, parts = free_of_variety(drawn[0]), parts_of(*drawn)
    every, may_move = Every(job, parts), {limit.place for limit in movable(job)}
    expected = [(key, next(iter(missed))) for key, missed in zip(every.keys, every.missed, strict=True)
                if len(missed) == 1 and missed <= may_move]  # fmt: skip
    found = [(near.best.key, near.limit.place) for near in near_misses(Lists(job, parts), 4).found]
    assert [key for key, _ in found] == [key for key, _ in expected[: len(found)]]
    assert len(found) == min(4, len(expected))
    assert set(found) <= set(expected)


@few(2)
@given(drawn=small_jobs())
def test_near_misses_are_the_same_where_the_solver_finds_the_first_build(drawn):
    job, parts = free_of_variety(drawn[0]), parts_of(*drawn)
    every = [(near.best.key, near.limit.place) for near in near_misses(Lists(job, parts), 4).found]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(join, "MANY_LAYOUTS_LOG10", -1.0)
        assert [(near.best.key, near.limit.place) for near in near_misses(Lists(job, parts), 4).found] == every


@few(2)
@given(drawn=small_jobs())
def test_a_swap_mends_a_near_miss_and_changes_one_choice(drawn):
    job, parts = free_of_variety(drawn[0]), parts_of(*drawn)
    for near in near_misses(Lists(job, parts), 3).found:
        at = near.best.positions()
        for swap in near.swaps:
            assert not swap.best.failing
            changed = {slot for slot, part in swap.best.positions().items() if part != at[slot]}
            both = job.job.same_all_round and swap.slot[1] in {"wheel", "tire"}
            assert changed <= ({(axle, swap.slot[1]) for axle in ("front", "rear")} if both else {swap.slot})


@few(2)
@given(drawn=small_jobs(), share=SHARES)
def test_conflicts_are_smallest_sets_that_no_build_keeps(drawn, share):
    job, parts = stuck_job(drawn, share)
    missed = smallest(Every(job, parts).missed)
    assume(missed)
    found = impasse(Lists(job, parts), Pinned(), 3)
    assert found is not None
    assert found.conflicts
    for conflict in found.conflicts:
        own = {limit.place for limit in conflict.limits}
        assert all(own & each for each in missed)
        assert all(any(not (own - {place}) & each for each in missed) for place in own)
    if found.are_all:
        checks = sorted({place for each in missed for place in each if place[0] not in NEVER_WITHOUT})
        singles = {place for place in checks if all(place in each for each in missed)}
        assert {conflict.limits[0].place for conflict in found.conflicts if len(conflict.limits) == 1} == singles
        pairs = {frozenset(pair) for pair in itertools.combinations(checks, 2)
                 if not set(pair) & singles and all(set(pair) & each for each in missed)}  # fmt: skip
        assert {frozenset(limit.place for limit in own.limits) for own in found.conflicts
                if len(own.limits) == 2} == pairs  # fmt: skip


@few(2)
@given(drawn=small_jobs(), share=SHARES)
def test_corrections_are_the_fewest_limits_that_must_move(drawn, share):
    job, parts = stuck_job(drawn, share)
    may_move = {limit.place for limit in movable(job)}
    every = Every(job, parts)
    missed = smallest(own for own in every.missed if own <= may_move)
    assume(every.missed)
    found = impasse(Lists(job, parts), Pinned(), 2)
    assert found is not None
    corrections = [frozenset(limit.place for limit in own) for own in found.corrections]
    assert set(corrections) <= missed
    fewest = min((len(own) for own in missed), default=0)
    if corrections:
        assert found.fewest == fewest == len(corrections[0])
        if len(corrections) == 2:
            assert len(corrections[1]) == sorted(len(own) for own in missed)[1]
    elif not found.fewest:
        assert not missed


@few(2)
@given(drawn=small_jobs(), share=SHARES)
def test_a_change_moves_its_limits_by_the_smallest_share_of_their_scales(drawn, share):
    job, parts = stuck_job(drawn, share)
    found = impasse(Lists(job, parts), Pinned(), 1)
    assume(found.corrections)
    every = Every(job, parts)
    limits = found.corrections[0]
    places = {limit.place for limit in limits}
    scales = {limit.place: limit.check.scale(job, axle_at(limit.where)) for limit in limits
              if limit.check.scale and limit.check.unit != "yes_no"}  # fmt: skip
    needed = [max((-own[place] / scale for place, scale in scales.items()), default=0.0)
              for own, missed in zip(every.margins, every.missed, strict=True) if missed <= places]  # fmt: skip
    change = smallest_change(Lists(job, parts), limits, Pinned())
    assert change.share == pytest.approx(min(needed), abs=1e-9)
    best = next(key for key, own, missed in zip(every.keys, every.margins, every.missed, strict=True)
                if missed <= places and all(-own[place] <= change.share * scale + 1e-6
                                            for place, scale in scales.items()))  # fmt: skip
    assert change.best.key == best


@few(2)
@given(drawn=small_jobs(), which=st.integers(0, 1000))
def test_the_best_build_with_a_wheel_is_the_first_that_has_it(drawn, which):
    job, parts = free_of_variety(drawn[0]), parts_of(*drawn)
    every, at = Every(job, parts), which % len(parts.wheels)
    expected = next((key for key, missed, wheel in zip(every.keys, every.missed, every.front_wheels, strict=True)
                     if not missed and wheel == at), None)  # fmt: skip
    best = best_build(Lists(job, parts), Allowed(pinned=Pinned({("front", "wheel"): frozenset({at})})))
    assert (best.key if best else None) == expected


@few(2)
@given(drawn=small_jobs(), which=st.integers(0, 1000))
def test_the_best_build_with_an_item_aboard_is_the_first_that_has_it(drawn, which):
    job, parts = free_of_variety(drawn[0]), parts_of(*drawn)
    assume(len(parts.ballast))
    sku = parts.ballast["sku"].iloc[which % len(parts.ballast)]
    ranking = rank(space_of(job, parts), ALL)
    here = ranking.space.slots["ballast.sku"] == sku
    own = [tuple(key) for key in (-keys(ranking.space, ranking.builds)[:, : len(ranking.space.levels)]).tolist()]
    expected = next((own[one.at] for one in ranking.ranked if ranking.builds.counts[one.at][here].sum()), None)
    best = best_build(Lists(job, parts), Allowed(pinned=Pinned(aboard={(sku, ""): 1})))
    assert (best.key if best else None) == expected


@few(2)
@given(drawn=small_jobs())
def test_the_check_that_binds_stops_a_better_build(drawn):
    job, parts = free_of_variety(drawn[0]), parts_of(*drawn)
    every = Every(job, parts)
    ranking = with_stops(Lists(job, parts), rank(space_of(job, parts), 3))
    own = [key for key, missed in zip(every.keys, every.missed, strict=True) if not missed]
    for build, key in zip(ranking.ranked, own, strict=False):
        stops = {next(iter(missed)) for other, missed in zip(every.keys, every.missed, strict=True)
                 if other < key and len(missed) == 1}  # fmt: skip
        rooms = {(one.check.id, one.where): one.margin / one.scale for one in build.checks
                 if one.scale > 0 and not math.isnan(one.margin)}  # fmt: skip
        tight = {place: room for place, room in rooms.items() if place in stops} or rooms
        if build.binding is not None:
            assert rooms[build.binding.check.id, build.binding.where] == min(tight.values())

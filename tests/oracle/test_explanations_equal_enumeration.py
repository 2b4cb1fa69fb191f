"""Near misses, conflicts, changes and named parts, against every build there is with all that it fails."""

import dataclasses
import itertools
import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from jobs import parts_of, small_jobs
from test_steps_equal_enumeration import ALL, few, free_of_variety

from combo.candidates.builds import chosen, keys
from combo.candidates.instance import Instance
from combo.candidates.relaxed_limits import NOTHING, Pinned, RelaxedLimits
from combo.checks.run import results
from combo.explain.best import any_build, best_build
from combo.explain.binding import with_stops
from combo.explain.changes import smallest_change
from combo.explain.infeasible import infeasibility
from combo.explain.limits import amounts_of, by_place, every_check, movable
from combo.explain.near import near_misses
from combo.explain.parts import stuck
from combo.search import enumerate as enumeration
from combo.search.filter import space_of
from combo.search.topk import rank

MOST_BUILDS = 400
SHARES = st.integers(30, 110)
"""Of a hundred parts of what the best build costs, what the budget of a stuck job is."""


class Every:
    """Every build, whatever it fails, the best first: its key, its margins by place, its parts."""

    def __init__(self, job, parts):
        every = RelaxedLimits.without(own.place for own in every_check(job))
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
    best = best_build(Instance(job, parts))
    if best is not None:
        money = dataclasses.replace(job.money, budget_cents=best.cost_cents * share // 100)
        job = dataclasses.replace(job, money=money)
    assume(any_build(Instance(job, parts), NOTHING) is None)
    return job, parts


def smallest(sets):
    """Those of some sets that hold no other."""
    distinct = set(sets)
    return {own for own in distinct if not any(other < own for other in distinct)}


def cures(limits, failing):
    """Every smallest set of limits that cures a build of these failures; none where one stands fast."""
    moved_by = by_place(limits)
    choices = [moved_by.get(place, ()) for place in failing]
    return smallest(frozenset(own) for own in itertools.product(*choices))


@few(2)
@given(drawn=small_jobs())
def test_near_misses_are_the_best_builds_that_fail_one_movable_limit(drawn):
    job, parts = free_of_variety(drawn[0]), parts_of(*drawn)
    every, limits = Every(job, parts), movable(job)
    expected = []
    for key, missed in zip(every.keys, every.missed, strict=True):
        alone = {limit for own in cures(limits, missed) if len(own) == 1 for limit in own}
        if missed and alone:
            expected.append((key, alone))
    found = [(near.best.key, near.limit) for near in near_misses(Instance(job, parts), 4).found]
    assert [key for key, _ in found] == [key for key, _ in expected[: len(found)]]
    assert len(found) == min(4, len(expected))
    assert all(any(key == own and limit in alone for own, alone in expected) for key, limit in found)


@few(2)
@given(drawn=small_jobs())
def test_near_misses_are_the_same_where_the_solver_finds_the_first_build(drawn):
    job, parts = free_of_variety(drawn[0]), parts_of(*drawn)
    every = [(near.best.key, near.limit) for near in near_misses(Instance(job, parts), 4).found]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(enumeration, "MANY_LAYOUTS_LOG10", -1.0)
        assert [(near.best.key, near.limit) for near in near_misses(Instance(job, parts), 4).found] == every


@few(4)
@given(drawn=small_jobs())
def test_a_part_that_a_check_drops_alone_is_in_no_build_that_keeps_it(drawn):
    job, parts = free_of_variety(drawn[0]), parts_of(*drawn)
    every = Every(job, parts)
    for one in space_of(job, parts).removed:
        check = next(own for own in every_check(job) if own.check.id == one.check)
        if check.check.rows == "build" and one.kind == "front wheel" and one.alone:
            places = {own.place for own in every_check(job) if own.check.id == one.check}
            saved = {at for at, missed in zip(every.front_wheels, every.missed, strict=True) if not missed & places}
            assert one.alone <= (len(parts.wheels) - len(saved)) * (len(parts.spacers) + 1)


@few(2)
@given(drawn=small_jobs())
def test_a_swap_mends_a_near_miss_and_changes_one_choice(drawn):
    job, parts = free_of_variety(drawn[0]), parts_of(*drawn)
    for near in near_misses(Instance(job, parts), 3).found:
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
    every = Every(job, parts).missed
    assume(every)
    found = infeasibility(Instance(job, parts), Pinned(), 3)
    assert found is not None
    assert found.conflicts
    # A build keeps a set of limits where those beside it are enough to cure it.
    missed = smallest(own for failing in every for own in cures(movable(job), failing))
    if not missed:  # whatever is moved, what stands fast fails
        stands = {place for failing in every for place in failing} - {p for one in movable(job) for p in one.places}
        missed = smallest(failing & stands for failing in every)
    for conflict in found.conflicts:
        own = {limit if limit.key else limit.places[0] for limit in conflict.limits}
        assert all(own & each for each in missed)
        assert all(any(not (own - {one}) & each for each in missed) for one in own)
    if found.are_all:
        members = sorted({one for each in missed for one in each}, key=str)
        told = [frozenset(limit if limit.key else limit.places[0] for limit in own.limits) for own in found.conflicts]
        singles = {one for one in members if all(one in each for each in missed)}
        assert {next(iter(own)) for own in told if len(own) == 1} == singles
        pairs = {
            frozenset(pair)
            for pair in itertools.combinations(members, 2)
            if not set(pair) & singles and all(set(pair) & each for each in missed)
        }
        assert {own for own in told if len(own) == 2} == pairs


@few(2)
@given(drawn=small_jobs(), share=SHARES)
def test_corrections_are_the_fewest_limits_that_must_move(drawn, share):
    job, parts = stuck_job(drawn, share)
    every = Every(job, parts)
    missed = smallest(own for failing in every.missed for own in cures(movable(job), failing))
    assume(every.missed)
    found = infeasibility(Instance(job, parts), Pinned(), 2)
    assert found is not None
    corrections = [frozenset(own) for own in found.corrections]
    assert set(corrections) <= missed
    sizes = sorted(len(own) for own in missed)
    if corrections:
        assert found.fewest == sizes[0] == len(corrections[0])
        assert {own for own in missed if len(own) == sizes[0]} <= set(corrections)
        if len(corrections) >= 2:
            assert len(corrections[1]) == sizes[1]
    elif not found.fewest:
        assert not missed


@few(2)
@given(drawn=small_jobs(), share=SHARES)
def test_a_change_moves_its_limits_by_the_smallest_share_and_none_by_more_than_the_others_ask(drawn, share):
    job, parts = stuck_job(drawn, share)
    found = infeasibility(Instance(job, parts), Pinned(), 1)
    assume(found.corrections)
    every, limits = Every(job, parts), found.corrections[0]
    scales = {limit: limit.scale(job) for limit in limits if limit.scale(job) is not None}
    moved_by = by_place(limits)
    near = [
        (key, {place: -own[place] for place in missed})
        for key, own, missed in zip(every.keys, every.margins, every.missed, strict=True)
        if missed <= set(moved_by)
    ]
    change = smallest_change(Instance(job, parts), limits, Pinned())
    assert change.share == pytest.approx(min(share_of(lacks, moved_by, scales) for _, lacks in near), abs=1e-9)
    given_up = {place for place, own in moved_by.items() if not set(own) <= set(scales)}
    moves = dict(zip(limits, change.moved, strict=True))

    def holds(lacks, moves):
        given = amounts_of(moves)
        return all(place in given_up or lack <= given[place] + 1e-6 for place, lack in lacks.items())

    best = next(key for key, lacks in near if holds(lacks, moves))
    assert change.best.key == best
    for limit in scales:
        assert moves[limit] <= change.share * scales[limit] + 1e-6
        if moves[limit] > 0.01:
            assert not any(holds(lacks, {**moves, limit: moves[limit] - 0.01}) for _, lacks in near)


def share_of(lacks, moved_by, scales):
    """The share of their scales by which all limits must move for a build that lacks so much."""
    return max(
        (
            lack / sum(scales[limit] for limit in moved_by[place])
            for place, lack in lacks.items()
            if all(limit in scales for limit in moved_by[place])
        ),
        default=0.0,
    )


@few(2)
@given(drawn=small_jobs(), share=SHARES)
def test_the_changes_told_are_the_smallest_of_the_fewest_limits(drawn, share):
    job, parts = stuck_job(drawn, share)
    told = stuck(Instance(job, parts), Pinned(), 2)
    assume(told is not None and told.changes)
    every, limits = Every(job, parts), movable(job)
    size, shares = len(told.changes[0].limits), {}
    for own, failing in zip(every.margins, every.missed, strict=True):
        for cure in cures(limits, failing):
            if len(cure) == size:
                scales = {limit: limit.scale(job) for limit in cure if limit.scale(job) is not None}
                lacks = {place: -own[place] for place in failing}
                by = share_of(lacks, by_place(cure), scales)
                shares[cure] = min(by, shares.get(cure, math.inf))
    smallest_two = sorted(shares.values())[: len(told.changes)]
    of_size = [change.share for change in told.changes if len(change.limits) == size]
    assert of_size == pytest.approx(smallest_two[: len(of_size)], abs=1e-9)


@few(2)
@given(drawn=small_jobs(), which=st.integers(0, 1000))
def test_the_best_build_with_a_wheel_is_the_first_that_has_it(drawn, which):
    job, parts = free_of_variety(drawn[0]), parts_of(*drawn)
    every, at = Every(job, parts), which % len(parts.wheels)
    expected = next(
        (
            key
            for key, missed, wheel in zip(every.keys, every.missed, every.front_wheels, strict=True)
            if not missed and wheel == at
        ),
        None,
    )
    best = best_build(Instance(job, parts), RelaxedLimits(pinned=Pinned({("front", "wheel"): frozenset({at})})))
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
    best = best_build(Instance(job, parts), RelaxedLimits(pinned=Pinned(aboard={(sku, ""): 1})))
    assert (best.key if best else None) == expected


@few(2)
@given(drawn=small_jobs())
def test_the_check_that_binds_stops_a_better_build(drawn):
    job, parts = free_of_variety(drawn[0]), parts_of(*drawn)
    every = Every(job, parts)
    ranking = with_stops(Instance(job, parts), rank(space_of(job, parts), 3))
    own = [key for key, missed in zip(every.keys, every.missed, strict=True) if not missed]
    for build, key in zip(ranking.ranked, own, strict=False):
        stops = {
            next(iter(missed))
            for other, missed in zip(every.keys, every.missed, strict=True)
            if other < key and len(missed) == 1
        }
        rooms = {
            (one.check.id, one.where): one.margin / one.scale
            for one in build.checks
            if one.scale > 0 and not math.isnan(one.margin)
        }
        tight = {place: room for place, room in rooms.items() if place in stops} or rooms
        if build.binding is not None:
            assert rooms[build.binding.check.id, build.binding.where] == min(tight.values())

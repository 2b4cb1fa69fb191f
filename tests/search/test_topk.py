"""The shortlist of the shipped example, and what a time limit does to it."""

import dataclasses

from combo.candidates.builds import keys
from combo.checks.check import Verdict
from combo.deadline import Clock
from combo.search import enumerate as enumeration
from combo.search.filter import space_of
from combo.search.topk import rank
from combo.show.machine import parts_of_build


def reversed_rows(parts):
    """The same parts with every list upside down."""
    tables = {
        name: getattr(parts, name).iloc[::-1].reset_index(drop=True)
        for name in ("wheels", "tires", "spacers", "ratios", "differentials", "ballast")
    }
    return dataclasses.replace(parts, **tables)


def skus(ranking):
    """SKUs and counts of each build."""
    space, builds = ranking.space, ranking.builds
    told = [parts_of_build(space, builds, at) for at in range(len(builds))]
    return [str(own) for own in told]


def listed_in_rank_order(ranking):
    """SKUs of the builds by rank."""
    every = skus(ranking)
    return [every[one.at] for one in ranking.ranked]


def test_no_listed_build_fails_a_check(ranking):
    assert all(result.verdict is not Verdict.FAIL for one in ranking.ranked for result in one.checks)


def test_builds_stand_in_the_order_of_their_keys(ranking):
    key = keys(ranking.space, ranking.builds)
    in_order = [tuple(key[one.at]) for one in ranking.ranked]
    assert in_order == sorted(in_order, reverse=True)


def test_a_longer_list_begins_with_the_shorter(reduced, ranking):
    assert listed_in_rank_order(rank(reduced, 3)) == listed_in_rank_order(ranking)[:3]


def test_the_order_of_the_lists_changes_nothing(example, ranking):
    upside_down = rank(space_of(example.job, reversed_rows(example.parts)), 10)
    assert listed_in_rank_order(upside_down) == listed_in_rank_order(ranking)


def test_a_time_limit_that_cuts_short_is_not_called_proven(reduced):
    assert not rank(reduced, 10, clock=Clock(1e-9)).proven


def test_what_is_cut_short_tells_what_no_build_exceeds(reduced, ranking):
    cut_short = rank(reduced, 10, clock=Clock(1e-9))
    assert cut_short.most >= ranking.ranked[0].score
    assert ranking.most is None


def test_a_search_that_is_stopped_by_hand_gives_what_it_has(reduced, ranking):
    clock, told = Clock(), []

    def stop(text):
        told.append(text)
        if len(told) == 2:  # the best are found, and not yet proven
            clock.stop()

    stopped = rank(reduced, 10, clock=clock, progress=stop)
    assert not stopped.proven
    assert stopped.ranked[0].score <= ranking.ranked[0].score <= stopped.most


def test_without_a_time_limit_the_list_is_proven(ranking):
    assert ranking.proven


def test_the_binding_check_has_the_smallest_margin_for_its_scale(ranking):
    for one in ranking.ranked:
        scaled = [result.margin / result.scale for result in one.checks if result.scale > 0]
        assert one.binding.margin / one.binding.scale == min(scaled)


def test_budget_sidewalls_and_ground_clearance_each_bind_in_the_example(reduced):
    binding = {one.binding.check.id for one in rank(reduced, 20).ranked}
    assert {"budget", "inner_sidewall", "outer_sidewall", "ground"} <= binding


def test_at_least_25_constraints_are_live_in_the_example(ranking):
    assert len({result.check.id for result in ranking.ranked[0].checks}) >= 25


def test_more_room_inside_never_loses_the_best_build(example, ranking):
    houses = example.job.wheelhouse
    wider = {name: dataclasses.replace(getattr(houses, name), room_inner_mm=145.0) for name in ("front", "rear")}
    job = dataclasses.replace(example.job, wheelhouse=dataclasses.replace(houses, **wider))
    assert rank(space_of(job, example.parts), 1).ranked[0].score >= ranking.ranked[0].score


def test_ballast_laid_out_in_small_portions_gives_the_same_list(reduced, ranking, monkeypatch):
    monkeypatch.setattr(enumeration, "LAYOUTS_AT_ONCE", 7)
    assert skus(rank(reduced, 10)) == skus(ranking)

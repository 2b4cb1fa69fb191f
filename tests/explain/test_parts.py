"""Parts that a customer names: where the best build with them stands, and what mends a build."""

import pickle

import numpy as np
import pytest

from combo.candidates.builds import chosen
from combo.candidates.instance import Instance
from combo.candidates.relaxed_limits import Pinned, RelaxedLimits
from combo.checks.run import results
from combo.checks.table import Row
from combo.explain.best import best_build, build_of
from combo.explain.choice import Choice, Corner, why
from combo.explain.near import near_misses
from combo.explain.parts import outlook, standing
from combo.explain.swaps import SLOTS, swaps


@pytest.fixture(scope="module")
def now(instance):
    """The best build."""
    return best_build(instance)


def test_a_part_of_the_best_build_stands_first(instance, now):
    at = now.positions()["front", "wheel"]
    told = standing(instance, Pinned({("front", "wheel"): frozenset({at})}), 2)
    assert (told.best.key, told.of_all.key, told.stuck) == (now.key, now.key, None)


def test_a_build_that_travelled_between_processes_tells_the_same(now):
    told = repr(now.checks)
    again = pickle.loads(pickle.dumps(now))
    assert (again.key, again.name, again.positions()) == (now.key, now.name, now.positions())
    assert repr(again.checks) == told


def test_a_build_of_its_parts_is_the_build(instance, now):
    again = build_of(instance, now.positions(), now.builds.counts[0])
    assert (again.key, again.name) == (now.key, now.name)
    assert [str(one) for one in again.checks] == [str(one) for one in now.checks]


def test_a_tire_on_a_rim_of_another_diameter_is_no_build(instance, now):
    rims = instance.parts.tires["rim_diameter_mm"].to_numpy()
    at = now.positions()
    other = int(np.flatnonzero(rims != rims[at["front", "tire"]])[0])
    assert build_of(instance, {**at, ("front", "tire"): other}, now.builds.counts[0]) is None


def test_parts_without_a_build_are_told_what_excludes_them(instance):
    rims = {kind: instance.parts.of_kind(kind)["rim_diameter_mm"].to_numpy() for kind in ("wheel", "tire")}
    tire = int(np.flatnonzero(rims["tire"] != rims["wheel"][0])[0])
    told = standing(instance, Pinned({("front", "wheel"): frozenset({0}), ("front", "tire"): frozenset({tire})}), 2)
    assert (told.best, told.stuck.why.conflicts, told.stuck.changes) == (None, (), ())


def test_each_swap_of_the_best_build_gives_a_build_that_is_no_better(instance, now):
    found = swaps(instance, now.positions(), SLOTS)
    assert found
    assert all(swap.best.key >= now.key for swap in found)
    assert [swap.best.key for swap in found] == sorted(swap.best.key for swap in found)


def test_a_near_miss_that_is_asked_about_is_told_what_must_give_way(instance):
    near = near_misses(instance, 1).found[0]
    table = near.best
    skus = {
        axle: Corner(*(getattr(table.space, axle)[f"{kind}.sku"][0] for kind in ("wheel", "tire", "spacer")))
        for axle in ("front", "rear")
    }
    drive, slots = Row(table.space.drive, 0), table.space.slots
    named = zip(slots["ballast.sku"], slots["station.name"], strict=True)
    laid = {slot: count for slot, count in zip(named, table.builds.counts[0].tolist(), strict=True) if count}
    choice = Choice(skus["front"], skus["rear"], drive["ratio.sku"], drive["differential.sku"], laid)
    told = outlook(instance, choice, why(instance.job, instance.parts, choice).results, 2)
    assert told.own.key == near.best.key
    assert [(limit.key, over) for limit, over in told.moves] == [(near.limit.key, pytest.approx(near.over))]
    assert results(instance.job, chosen(told.own.space, told.own.builds))


def test_an_item_that_must_be_aboard_is_aboard(instance):
    sku = instance.parts.ballast["sku"].iloc[-1]
    best = best_build(instance, RelaxedLimits(pinned=Pinned(aboard={(sku, ""): 2})))
    here = best.space.slots["ballast.sku"] == sku
    assert best.builds.counts[0][here].sum() >= 2


def test_margins_are_those_of_the_results(now):
    assert {(one.check.id, one.where): str(now.margin((one.check.id, one.where))) for one in now.checks} == {
        (one.check.id, one.where): str(one.margin) for one in now.checks
    }


def test_what_lets_a_part_in_is_found_though_its_limits_have_unlike_scales(example):
    at = example.parts.wheels["sku"].tolist().index("W-15100-37")
    both = {(axle, "wheel"): frozenset({at}) for axle in ("front", "rear")}
    change = standing(Instance(example.job, example.parts), Pinned(both), 2).stuck.changes[0]
    shares = [over / limit.scale(example.job) for limit, over in zip(change.limits, change.moved, strict=True)]
    assert change.share == pytest.approx(max(shares))
    moved = {place for limit in change.limits for place in limit.places}
    assert {(result.check.id, result.where) for result in change.best.failing} <= moved

"""The funnel adds up: what is left after each check, and at last what the search begins with; and what a check drops
alone hangs on no other.
"""

import dataclasses

from combo.checks import CHECKS
from combo.explain.funnel import funnels
from combo.search.filter import space_of


def test_what_is_left_is_what_was_met_less_what_each_check_removed_in_order(example):
    for funnel in funnels(space_of(example.job, example.parts)):
        left = funnel.met
        for stage in funnel.stages:
            left -= stage.first
            assert stage.left == left >= 0
            assert stage.alone <= funnel.met
            # Beside what others left, a check of the whole build may drop more than alone.
            assert stage.check in OF_WHOLE or stage.first <= stage.alone
        assert funnel.left == left


OF_WHOLE = {check.id for check in CHECKS if check.rows == "build"}


def alone(job, parts):
    """What each check of the whole build drops alone, by check and kind."""
    return {
        (one.check, one.kind): one.alone for one in space_of(job, parts).removed if one.check in OF_WHOLE and one.alone
    }


def with_rear_load(job, kg):
    targets = dataclasses.replace(job.targets, rear_load_kg=kg)
    return dataclasses.replace(job, job=dataclasses.replace(job.job, strict=True), targets=targets)


def test_a_load_that_nothing_can_bring_drops_every_part_alone(example):
    parts = example.parts
    found = alone(with_rear_load(example.job, 4000.0), parts)
    wheels, tires = len(parts.wheels) * (len(parts.spacers) + 1), len(parts.tires)
    assert [found["rear_load", kind] for kind in ("front wheel", "front tire", "rear wheel", "rear tire")] == [
        wheels,
        tires,
        wheels,
        tires,
    ]


def test_what_a_check_drops_alone_hangs_on_no_other(example):
    before = alone(with_rear_load(example.job, 850.0), example.parts)
    after = alone(with_rear_load(example.job, 4000.0), example.parts)
    assert {key: count for key, count in before.items() if key[0] != "rear_load"} == {
        key: count for key, count in after.items() if key[0] != "rear_load"
    }


def test_wheels_are_met_on_every_spacer_and_on_none(example):
    met = {funnel.kind: funnel.met for funnel in funnels(space_of(example.job, example.parts))}
    parts = example.parts
    assert met["front wheel"] == len(parts.wheels) * (len(parts.spacers) + 1)
    assert met["rear tire"] == len(parts.tires)
    assert met["gear set"] == len(parts.ratios) * len(parts.differentials)


def test_tires_left_are_those_of_the_search(example):
    reduced = space_of(example.job, example.parts)
    left = {funnel.kind: funnel.left for funnel in funnels(reduced)}
    assert left["gear set"] >= len({*zip(reduced.drives.ratio, reduced.drives.differential, strict=True)})

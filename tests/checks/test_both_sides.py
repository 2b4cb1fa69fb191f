"""A wheelhouse that was measured on both sides of the truck: the smaller counts, and which side it is is told."""

import dataclasses
import math

import pytest
from by_hand import HOUSE, build, job_with, result_of

from combo import job as jobs
from combo.checks.facts import facts
from combo.explain.missing import measurements
from combo.job import Wheelhouses

INNER, OUTER = "wheelhouse.rear.room_inner_mm", "wheelhouse.rear.room_outer_mm"


def job_of(sides, house=HOUSE, **tables):
    """The rear wheelhouse with both sides of some measurements, left first; the house has the smaller."""
    return job_with(wheelhouse=Wheelhouses(HOUSE, house), sides=sides, **tables)


def answer(check, job, where="rear"):
    return result_of(job, build(job), check, where)


@pytest.mark.parametrize(("left", "right", "side"), [(200.0, 190.0, "right"), (185.0, 200.0, "left")])
def test_the_smaller_side_counts_and_is_told(left, right, side):
    found = answer("inner_sidewall", job_of({INNER: (left, right)}))
    assert (found.margin, found.state) == (pytest.approx(min(left, right) - 120.0 - 12.7), f"{side} side")


def test_each_side_has_its_own_width_between_the_plumb_lines():
    # left 200 + 180, right 190 + 195: the smaller of the sums and not the sum of the smaller
    found = answer("wheelhouse_width", job_of({INNER: (200.0, 190.0), OUTER: (180.0, 195.0)}))
    assert (found.limit, found.state) == (380.0, "left side")


def test_what_is_alike_on_both_sides_is_told_without_one():
    assert answer("fender_top", job_of({INNER: (200.0, 190.0)})).state == "full bump"


def test_the_other_axle_is_told_without_a_side():
    assert answer("inner_sidewall", job_of({INNER: (200.0, 190.0)}), "front").state is None


def test_a_state_with_sides_of_its_own_names_both():
    house = dataclasses.replace(HOUSE, full_bump=jobs.State(60.0, room_inner_mm=180.0))
    found = answer("inner_sidewall", job_of({"wheelhouse.rear.full_bump.room_inner_mm": (180.0, 186.0)}, house))
    assert (found.margin, found.state) == (pytest.approx(180.0 - 120.0 - 12.7), "full bump, left side")


def test_the_plus_or_minus_of_a_side_is_its_own():
    sides = {INNER: (200.0, 199.0)}
    job = job_of(sides, tolerances={f"{INNER}.left": 6.0}, targets=jobs.Targets(fit="worst"))
    found = answer("inner_sidewall", job)
    assert found.state == "left side"
    assert found.margin == pytest.approx(200.0 - 6.0 - 120.0 * 1.04 - 12.7)  # the tire may be 4 % wider


def test_what_is_missing_is_told_once():
    house = dataclasses.replace(HOUSE, room_outer_mm=math.nan)
    found = answer("outer_sidewall", job_of({INNER: (200.0, 190.0)}, house))
    assert [need.name for need in found.needs] == ["room outer"]


# A Panhard bar of 800, its ends level: at 60 of bump the axle goes 2.253 away from the axle end

BUMP = dataclasses.replace(HOUSE, full_bump=jobs.State(60.0))
SHIFT = 800.0 - math.sqrt(800.0**2 - 60.0**2)


def barred(check, end, sides=None):
    bar = jobs.Panhard(rear_length_mm=800.0, rear_axle_end=end)
    return answer(check, job_of(sides or {}, BUMP, panhard=bar))


def test_without_its_axle_end_the_bar_takes_room_on_both_sides():
    assert barred("inner_sidewall", "").margin == pytest.approx(200.0 - 120.0 - 12.7 - SHIFT, abs=0.001)
    assert barred("outer_sidewall", "").margin == pytest.approx(190.0 - 120.0 - 12.7 - SHIFT, abs=0.001)


@pytest.mark.parametrize(("end", "inner", "outer"), [("left", "left", "right"), ("right", "right", "left")])
def test_the_axle_moves_away_from_the_bars_axle_end(end, inner, outer):
    # the wheel at the axle end comes inboard, the other goes outboard
    assert barred("inner_sidewall", end).state == f"full bump, {inner} side"
    assert barred("outer_sidewall", end).state == f"full bump, {outer} side"


def test_room_on_the_side_that_the_axle_moves_to_is_what_counts():
    # left the axle end: there 200 less the shift inside; right 199 and the shift more
    found = barred("inner_sidewall", "left", {INNER: (203.0, 199.0)})
    assert (found.state, found.margin) == ("full bump, left side", pytest.approx(203.0 - SHIFT - 132.7, abs=0.001))
    other = barred("inner_sidewall", "left", {INNER: (204.0, 199.0)})
    assert (other.state, other.margin) == ("full bump, right side", pytest.approx(199.0 + SHIFT - 132.7, abs=0.001))


def test_a_shift_of_known_direction_takes_nothing_of_the_room_between_the_plumb_lines():
    assert barred("wheelhouse_width", "left").margin == pytest.approx(390.0 - 240.0 - 25.4)
    assert barred("wheelhouse_width", "").margin == pytest.approx(390.0 - 240.0 - 25.4 - 2 * SHIFT, abs=0.001)


def test_a_live_axle_that_tilts_meets_the_dropped_wheel_on_the_other_side():
    house = dataclasses.replace(HOUSE, full_bump=jobs.State(60.0), full_droop=jobs.State(-60.0))
    axle = jobs.Axles("8.8", 31, rear=jobs.AxleBeam(live=True, track_mm=1600.0, stop_distance_mm=1000.0))
    tilted = job_of({INNER: (400.0, 160.0)}, house, axle=axle)
    level = job_of({INNER: (160.0, 400.0)}, house, axle=axle)
    ours, theirs = (answer("inner_sidewall", job) for job in (tilted, level))
    assert (ours.state, theirs.state) == ("articulated, right side", "articulated, left side")
    assert ours.margin == theirs.margin


def test_the_gap_that_is_told_is_the_smaller():
    job = job_of({"wheelhouse.rear.hub_to_lip_mm": (465.0, 455.0)}, dataclasses.replace(HOUSE, hub_to_lip_mm=455.0))
    told = next(fact for fact in facts(job, build(job))[0] if (fact.id, fact.where) == ("fender_gap", "rear"))
    assert told.value == 455.0 - 370.0


def test_the_sheet_knows_both_sides():
    job = job_of({INNER: (200.0, 190.0)}, tolerances={f"{INNER}.right": 2.0})
    line = next(one for one in measurements(job) if (one.table, one.key) == ("[wheelhouse.rear]", "room_inner"))
    assert (line.is_sided, line.sides) == (True, ((200.0, None), (190.0, 2.0)))

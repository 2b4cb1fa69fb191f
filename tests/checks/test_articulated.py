"""A live axle with one wheel on its stop and the other at full droop, by hand.

Travels of 84 up and down between stops 600 apart lean the axle by 168 / 600: sine 0.28, cosine 0.96. On a track of 1600
the raised hub stands 84 + 500 x 0.28 = 224 over ride height, 140 more than at full bump, and both wheels move inboard
by 800 x (1 - 0.96) = 32 for the track alone.
"""

import dataclasses
import math

import numpy as np
import pytest
from by_hand import BY_ID, HOUSE, NAN, corner_rows, job_with, margin_of

from combo.checks.judge import cases_of, judge
from combo.checks.run import margins
from combo.job import AxleBeam, Axles, Panhard, State, Targets, Wheelhouses

BEAM = AxleBeam(True, 1600.0, 600.0)
BAR = Panhard(rear_length_mm=1000.0, rear_middle_mm=50.0)  # its mean travel is 0, so that it shifts nothing
TRACK = 32.0
TOP = (370.0 - 50.0) * 0.28  # of D = 740, over a roll center at 50
MIDDLE = ((740.0 + 381.0) / 4.0 - 50.0) * 0.28
BOTTOM = (-370.0 - 50.0) * 0.28
TREAD, SECTION, CLEARANCE = 100.0, 120.0, 12.7  # halves of 200 and 240
WIDE = 2000.0
"""Room enough."""


def states_of(job, check):
    return {setting.variant for setting in cases_of(job, "rear", check)}


def job_of(bump=None, droop=None, beam=BEAM, panhard=BAR, articulated=None, **tables):
    """A truck whose rear wheelhouse has room enough but for what these states give."""
    room = dataclasses.replace(HOUSE, room_inner_mm=WIDE, room_outer_mm=WIDE, hub_to_top_mm=WIDE)
    house = dataclasses.replace(
        room, full_bump=State(84.0, **bump or {}), full_droop=State(-84.0, **droop or {}), articulated=articulated
    )
    axle = Axles("8.8", 31, rear=beam)
    return job_with(axle=axle, panhard=panhard, wheelhouse=Wheelhouses(HOUSE, house), **tables)


def margin_at(check, job, axle="rear", **tire):
    return margins(job, axle, [BY_ID[check]], corner_rows(job, axle, tire=tire))[0, 0]


def left(room, half, move):
    return pytest.approx(room - half - move - CLEARANCE, abs=0.001)


def test_the_raised_tires_top_comes_inboard():
    assert margin_at("inner_sidewall", job_of({"room_inner_mm": 240.0})) == left(240.0, TREAD, TOP + TRACK)


def test_the_middle_of_the_raised_sidewall_decides_where_the_tread_is_narrow():
    margin = margin_at("inner_sidewall", job_of({"room_inner_mm": 240.0}), tread_width_mm=100.0)
    assert margin == left(240.0, SECTION, MIDDLE + TRACK)


def test_the_dropped_tires_bottom_comes_inboard():
    assert margin_at("inner_sidewall", job_of(droop={"room_inner_mm": 300.0})) == left(300.0, TREAD, TRACK - BOTTOM)


def test_the_dropped_tires_top_goes_outboard():
    assert margin_at("outer_sidewall", job_of(droop={"room_outer_mm": 180.0})) == left(180.0, TREAD, TOP - TRACK)


def test_the_middle_of_the_dropped_sidewall_decides_outside_where_the_tread_is_narrow():
    margin = margin_at("outer_sidewall", job_of(droop={"room_outer_mm": 180.0}), tread_width_mm=100.0)
    assert margin == left(180.0, SECTION, MIDDLE - TRACK)


def test_the_raised_tire_moves_away_from_the_lip():
    arguments = {
        "offset_mm": 0.0,
        "section_width_mm": 240.0,
        "clearance_mm": CLEARANCE,
        "shift_mm": 0.0,
        "room_mm": 40.0,
        "tilt_rad": math.asin(0.28),
        "track_mm": 1600.0,
        "center_mm": 50.0,
        "other_center_mm": 50.0,
        "diameter_mm": 740.0,
        "rim_mm": 381.0,
        "tread_mm": 200.0,
        "dropped_room_mm": WIDE,
    }
    assert margin_of("outer_sidewall", **arguments) == left(40.0, SECTION, -MIDDLE - TRACK)


def test_a_tire_without_a_tread_width_counts_with_its_whole_section():
    margin = margin_at("inner_sidewall", job_of({"room_inner_mm": 260.0}), tread_width_mm=None)
    assert margin == left(260.0, SECTION, TOP + TRACK)


def test_an_offset_moves_all_points_alike():
    job = job_of({"room_inner_mm": 240.0})
    rows = corner_rows(job, "rear", wheel={"offset_mm": 15.0})
    margin = margins(job, "rear", [BY_ID["inner_sidewall"]], rows)[0, 0]
    assert margin == left(240.0, TREAD, TOP + TRACK + 15.0)


def test_the_top_of_the_leaning_tire_stands_under_a_lower_wheelhouse():
    margin = margin_at("fender_top", job_of({"hub_to_top_mm": 560.0}))
    # D / 2 x 0.96 + tread / 2 x 0.28 under 560 - 140
    assert margin == pytest.approx(560.0 - 140.0 - 25.4 - 370.0 * 0.96 - 100.0 * 0.28, abs=0.001)


def test_a_leaning_tire_has_not_grown():
    job = job_of({"hub_to_top_mm": 560.0})
    fast = job_of({"hub_to_top_mm": 560.0}, targets=Targets(top_speed_km_h=160.0))
    assert margin_at("fender_top", fast) == margin_at("fender_top", job)


def test_leaf_springs_have_their_roll_center_at_the_worse_of_3_in_above_and_below():
    job = job_of({"room_inner_mm": 300.0}, panhard=Panhard())
    assert margin_at("inner_sidewall", job) == left(300.0, TREAD, (370.0 + 76.2) * 0.28 + TRACK)


def test_for_the_bottom_a_roll_center_above_the_hub_is_the_worse():
    job = job_of(droop={"room_inner_mm": 320.0}, panhard=Panhard())
    assert margin_at("inner_sidewall", job) == left(320.0, TREAD, (370.0 + 76.2) * 0.28 + TRACK)


def test_the_panhard_bar_shifts_the_axle_by_its_mean_travel():
    bar = dataclasses.replace(BAR, rear_length_mm=500.0, rear_rise_mm=40.0)
    house = dataclasses.replace(
        job_of().wheelhouse.rear, full_bump=State(124.0, room_inner_mm=250.0), full_droop=State(-44.0)
    )  # the lean is as before; the mean is 40 up, where the bar is level
    job = dataclasses.replace(job_of(panhard=bar), wheelhouse=Wheelhouses(HOUSE, house))
    shift = 500.0 - math.sqrt(500.0**2 - 40.0**2)
    assert margin_at("inner_sidewall", job) == left(250.0, TREAD, TOP + TRACK + shift)


def test_the_state_that_decides_is_told():
    job = job_of({"room_inner_mm": 240.0})
    assert judge(job, "rear", BY_ID["inner_sidewall"], corner_rows(job, "rear")).variant[0] == "articulated"


@pytest.mark.parametrize(
    "unknown",
    [
        {"beam": AxleBeam(True, NAN, 600.0)},
        {"beam": AxleBeam(True, 1600.0, NAN)},
        {"beam": AxleBeam(True, 1600.0, 168.0)},  # a sine of 1
        {"panhard": Panhard(rear_length_mm=1000.0)},
    ],
)
def test_a_lean_that_cannot_be_worked_out_leaves_the_sidewall_unverified(unknown):
    assert np.isnan(margin_at("inner_sidewall", job_of(**unknown)))


@pytest.mark.parametrize("state", ["full_bump", "full_droop"])
def test_a_travel_that_is_not_known_leaves_the_lean_unverified(state):
    job = job_of(panhard=Panhard())
    house = dataclasses.replace(job.wheelhouse.rear, **{state: State()})
    job = dataclasses.replace(job, wheelhouse=Wheelhouses(HOUSE, house))
    margins_ = [margin_at(check, job) for check in ("inner_sidewall", "outer_sidewall", "fender_top")]
    assert np.isnan(margins_).all()


def test_a_beam_that_is_not_live_does_not_lean():
    job = job_of({"room_inner_mm": 240.0}, beam=dataclasses.replace(BEAM, live=False))
    assert margin_at("inner_sidewall", job) > 100.0


def test_a_live_front_axle_leans_as_well():
    house = job_of({"room_inner_mm": 240.0}).wheelhouse.rear
    bar = Panhard(front_length_mm=1000.0, front_middle_mm=50.0)
    job = job_with(axle=Axles("8.8", 31, front=BEAM), panhard=bar, wheelhouse=Wheelhouses(house, HOUSE))
    assert margin_at("inner_sidewall", job, "front") == left(240.0, TREAD, TOP + TRACK)


def test_no_other_check_is_made_in_a_lean_that_is_worked_out():
    job = job_of()
    of_corners = [check for check in BY_ID.values() if check.rows == "corner"]
    leaning = {check.id for check in of_corners if "articulated" in states_of(job, check)}
    assert leaning == {"inner_sidewall", "outer_sidewall", "fender_top"}


MEASURED = State(0.0, room_inner_mm=200.0, room_outer_mm=WIDE, hub_to_top_mm=500.0)


def test_a_measured_lean_comes_before_the_arithmetic():
    job = job_of({"room_inner_mm": 240.0}, articulated=MEASURED)
    assert margin_at("inner_sidewall", job) == left(200.0, SECTION, 0.0)


def test_in_a_measured_lean_the_tire_stands_upright():
    job = job_of({"hub_to_top_mm": 560.0}, articulated=MEASURED)
    assert margin_at("fender_top", job) == pytest.approx(500.0 - 370.0 - 25.4)


def test_a_measured_lean_is_a_state_of_every_check():
    job = job_of(articulated=MEASURED)
    over = {name for name, check in BY_ID.items() if check.over == "states" and "articulated" in check.states}
    assert {name for name in over if "articulated" in states_of(job, BY_ID[name])} == over
    assert "backspace_limit" in over

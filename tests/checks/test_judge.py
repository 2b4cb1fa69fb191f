"""Judgement by hand: worst case, spread and chance of a margin, and the one of them that decides."""

import dataclasses
import math

import numpy as np
import pytest
from by_hand import BY_ID, HOUSE, MEASURED, build, corner_rows, drive_rows, job_with, judged_side, pair_rows, result_of
from hypothesis import given, settings
from hypothesis import strategies as st

from combo import job as jobs
from combo.checks.check import governing
from combo.checks.judge import governing_margin, judge
from combo.checks.run import asked_checks

NAN = math.nan
TAPE = jobs.Tolerance(length_mm=3.0, wheel_mm=1.0)
ROOM = 200.0 - 120.0 - 12.7  # of the plain corner inside
WIDTH_OFF = 0.04 * 240.0 / 2.0  # half of what a radial tire may come wider
LOSSES = (3.0, 1.0, WIDTH_OFF)


def short_of_the_worst(chance, *losses):
    """How much less than all losses at once must be allowed for, by hand.

    What fails is the corner of a box of sides 2 x loss, of volume d^n / n!, as long as d is below the shortest side.
    """
    volume = math.prod(2.0 * loss for loss in losses) * (1.0 - chance)
    short = (volume * math.factorial(len(losses))) ** (1.0 / len(losses))
    assert short <= 2.0 * min(losses)
    return short


DRAWS = 200_000


def judged_corner(check="inner_sidewall", wheel=None, tire=None, **tables):
    job = job_with(**{"tolerance": TAPE} | tables)
    return judge(job, "front", BY_ID[check], corner_rows(job, wheel=wheel, tire=tire))


def house_with(**rooms):
    house = dataclasses.replace(HOUSE, **rooms)
    return jobs.Wheelhouses(house, house)


# Which of several margins decides


@pytest.mark.parametrize(
    ("margins", "which"),
    [
        ((3.0, 2.0), 1),
        ((3.0, NAN), 1),
        ((NAN, -0.001), 1),
        ((-1.0, -2.0), 1),
        ((NAN, 0.0), 0),
        ((np.inf, 5.0), 1),
        ((-np.inf, NAN), 0),
        ((NAN, np.inf), 0),
    ],
)
def test_what_fails_decides_before_what_is_not_known_and_that_before_the_smallest(margins, which):
    assert governing(np.array(margins)[:, np.newaxis])[0] == which


# One check of rows


def test_the_nominal_margin_knows_no_plus_or_minus():
    assert judged_corner().nominal[0] == pytest.approx(ROOM)


def test_the_worst_case_takes_tape_wheel_and_tire_at_their_bad_ends():
    assert judged_corner().worst[0] == pytest.approx(ROOM - 3.0 - 1.0 - WIDTH_OFF)


def test_the_worst_case_outside_turns_the_wheels_offset_the_other_way():
    assert judged_corner("outer_sidewall").worst[0] == pytest.approx(190.0 - 120.0 - 12.7 - 3.0 - 1.0 - WIDTH_OFF)


def test_the_worst_case_of_a_width_takes_both_tapes():
    worst = judged_corner("wheelhouse_width").worst[0]
    assert worst == pytest.approx(390.0 - 240.0 - 25.4 - 6.0 - 2.0 * WIDTH_OFF)


def test_a_margin_above_all_losses_at_once_clears_for_sure():
    assert judged_corner().chance[0] == 1.0


def test_the_chance_of_a_margin_is_exact():
    """A millimeter less than all losses at once: what fails is 1 / 6 of a cube millimeter of a box of 6 x 2 x 9.6."""
    house = house_with(room_inner_mm=120.0 + 12.7 + sum(LOSSES) - 1.0)
    assert judged_corner(wheelhouse=house).chance[0] == pytest.approx(1.0 - 1.0 / 6.0 / (6.0 * 2.0 * 9.6), abs=1e-9)


def test_a_margin_of_nothing_clears_as_often_as_not():
    house = house_with(room_inner_mm=120.0 + 12.7)
    assert judged_corner(wheelhouse=house).chance[0] == pytest.approx(0.5, abs=1e-9)


def test_one_loss_alone_clears_with_the_share_of_its_width():
    own = {"wheelhouse.front.room_inner_mm": 8.0}
    found = judged_corner(
        tolerance=jobs.Tolerance(tires="none"), tolerances=own, wheelhouse=house_with(room_inner_mm=120.0 + 12.7 + 2.0)
    )
    assert found.chance[0] == pytest.approx(10.0 / 16.0, abs=1e-9)


@pytest.mark.parametrize("construction", ["bias", ""])
def test_a_tire_that_is_not_known_to_be_radial_may_come_wider(construction):
    worst = judged_corner(tire={"construction": construction}).worst[0]
    assert worst == pytest.approx(ROOM - 4.0 - 0.06 * 240.0 / 2.0)


def test_tires_may_be_taken_as_they_are_listed():
    tolerance = dataclasses.replace(TAPE, tires="none")
    assert judged_corner(tolerance=tolerance).worst[0] == pytest.approx(ROOM - 4.0)


def test_a_measurement_may_have_a_plus_or_minus_of_its_own():
    own = {"wheelhouse.front.room_inner_mm": 8.0}
    assert judged_corner(tolerances=own).worst[0] == pytest.approx(ROOM - 8.0 - 1.0 - WIDTH_OFF)


def test_the_plus_or_minus_of_the_other_axle_is_no_matter():
    own = {"wheelhouse.rear.room_inner_mm": 8.0}
    assert judged_corner(tolerances=own).worst[0] == judged_corner().worst[0]


def test_a_state_has_a_plus_or_minus_of_its_own():
    own = {"wheelhouse.front.full_bump.room_inner_mm": 8.0, "wheelhouse.front.room_inner_mm": 50.0}
    house = house_with(full_bump=jobs.State(room_inner_mm=180.0))
    worst = judged_corner(wheelhouse=house, tolerances=own).worst[0]
    assert worst == pytest.approx(ROOM - 20.0 - 8.0 - 1.0 - WIDTH_OFF)


def test_a_pilot_has_a_plus_or_minus_of_its_own():
    assert judged_corner("hub_bore", tolerances={"hub.front.pilot_mm": 0.5}).worst[0] == pytest.approx(-0.5)


def test_a_clearance_is_what_it_is():
    house = house_with(clearance_inner_mm=20.0)
    assert judged_corner(wheelhouse=house).worst[0] == pytest.approx(ROOM - 7.3 - 4.0 - WIDTH_OFF)


def test_growth_is_certain_and_the_plus_or_minus_that_of_the_standard_alone():
    size_off = 0.04 * (740.0 - 381.0)
    growth = 740.0 * 0.005 * (80.0 / 160.0) ** 2
    found = judged_corner("fender_top", targets=jobs.Targets(top_speed_km_h=80.0))
    assert found.nominal[0] == pytest.approx(430.0 - 370.0 - 25.4 - growth / 2.0)
    assert found.worst[0] == pytest.approx(found.nominal[0] - 3.0 - size_off / 2.0)


def test_a_tire_does_not_grow_on_a_truck_that_is_laid_out():
    house = house_with(laid_out=jobs.State())
    still, driven = (
        judged_corner("fender_top", wheelhouse=house, targets=targets).worst[0]
        for targets in (jobs.Targets(), jobs.Targets(top_speed_km_h=80.0))
    )
    assert still == driven


def test_the_engine_speed_is_as_far_off_as_the_tire_and_its_rolling_factor():
    road = 0.97 * math.pi * 0.74 * 36.0  # ten turns a second: 2400 rpm
    targets = jobs.Targets(cruise_speed_km_h=road, cruise_min_rpm=2000.0, cruise_max_rpm=2500.0)
    job = job_with(targets=targets, transmission=jobs.Transmission(1.0))
    worst = judge(job, "rear", BY_ID["cruise_rpm"], drive_rows(job)).worst[0]
    assert worst == pytest.approx(100.0 - 2400.0 * (0.04 * (740.0 - 381.0) / 740.0 + 0.01))


def test_without_any_plus_or_minus_the_worst_case_is_the_nominal_one():
    found = judged_corner(tolerance=jobs.Tolerance(tires="none"))
    assert (found.worst[0], found.chance[0]) == (found.nominal[0], 1.0)


def test_a_margin_that_fails_without_any_plus_or_minus_never_clears():
    found = judged_corner(tolerance=jobs.Tolerance(tires="none"), wheelhouse=house_with(room_inner_mm=130.0))
    assert found.chance[0] == 0.0


def test_a_change_is_added_to_its_argument():
    job = job_with()
    changed = judge(job, "front", BY_ID["inner_sidewall"], corner_rows(job), {"room_mm": 5.0, "offset_mm": 2.0})
    assert changed.nominal[0] == pytest.approx(ROOM + 5.0 - 2.0)


# Several sides in the worst case


def test_the_worst_rake_has_both_tires_at_their_bad_ends():
    job = job_with(targets=jobs.Targets(rake_min_mm=-10.0, rake_max_mm=30.0))
    off = 0.04 * (740.0 - 381.0)  # either tire
    assert judge(job, "rear", BY_ID["rake"], pair_rows(job)).worst[0] == pytest.approx(10.0 - 2.0 * off)


def test_the_worst_rake_in_the_middle_of_its_band_has_both_tires_at_their_bad_ends():
    job = job_with(targets=jobs.Targets(rake_min_mm=-10.0, rake_max_mm=10.0))
    off = 0.04 * (740.0 - 381.0)
    assert judge(job, "rear", BY_ID["rake"], pair_rows(job)).worst[0] == pytest.approx(10.0 - 2.0 * off)


def test_the_worst_case_looks_at_every_side_of_the_spares_well():
    tire = {"section_width_mm": 305.0, "overall_diameter_mm": 481.0}  # 12.2 wider and 4 taller at most
    spare = jobs.Spare(481.0 + 12.7 + 1.0, 305.0 + 6.35 + 10.0)
    job = job_with(job=jobs.About("by hand", spare=True), spare=spare, tolerances={"spare.well_width_mm": 6.0})
    worst = judge(job, "rear", BY_ID["spare_well"], corner_rows(job, "rear", tire=tire)).worst[0]
    assert worst == pytest.approx(10.0 - 12.2 - 6.0)  # across the well it is 1 - 4


def test_the_worst_sweep_is_that_of_the_worst_pair_of_ends():
    room = {"room_ahead_mm": 492.0, "room_behind_mm": 600.0, "frame_room_mm": 375.0}
    tire = {"section_width_mm": 305.0, "overall_diameter_mm": 775.0}
    check = BY_ID["steer_sweep"]
    ends = [
        float(
            judged_side(check, check.sides(axis, offset, *tire.values(), 35.0, 12.7, 12.7, *room.values(), 0.0)).margin
        )
        for axis in (110.0 - 6.0, 110.0 + 6.0)
        for offset in (-12.0 - 3.0, -12.0 + 3.0)
    ]
    house = house_with(sweep_ahead_mm=492.0, sweep_behind_mm=600.0, frame_room_mm=375.0)
    found = judged_corner(
        "steer_sweep",
        wheel={"offset_mm": -12.0},
        tire=tire,
        wheelhouse=house,
        steering=jobs.Steering(35.0, 110.0),
        tolerance=jobs.Tolerance(wheel_mm=3.0, tires="none"),
        tolerances={"steering.axis_offset_mm": 6.0},
    )
    assert found.worst[0] == pytest.approx(min(ends), abs=0.0005)  # the ends are judged to 0.001 mm


def test_a_side_that_fails_in_the_worst_case_fails_while_another_is_not_known():
    house = house_with(opening_ahead_mm=NAN, opening_behind_mm=385.0)  # behind: 2.3 nominally, 9.18 less at worst
    job = job_with(wheelhouse=house, targets=jobs.Targets(fit="worst"))
    found = judge(job, "front", BY_ID["opening"], corner_rows(job))
    assert found.margin[0] == pytest.approx(385.0 - 370.0 - 12.7 - 0.04 * (740.0 - 381.0) / 2.0)


# Which margin decides


@pytest.mark.parametrize(
    ("fit", "margin"),
    [
        ("nominal", ROOM),
        ("worst", ROOM - sum(LOSSES)),
        (0.99, ROOM - sum(LOSSES) + short_of_the_worst(0.99, *LOSSES)),
        (0.999, ROOM - sum(LOSSES) + short_of_the_worst(0.999, *LOSSES)),
    ],
)
def test_the_wanted_fit_decides(fit, margin):
    assert judged_corner(targets=jobs.Targets(fit=fit)).margin[0] == pytest.approx(margin, abs=0.001)


def test_a_deciding_margin_is_rounded_to_a_thousandth_of_a_millimeter():
    margin = judged_corner(targets=jobs.Targets(fit=0.99)).margin[0]
    assert margin == round(margin, 3)


def test_the_fit_decides_which_state_does():
    house = house_with(ride_height=jobs.State(room_inner_mm=150.0), full_bump=jobs.State(room_inner_mm=151.0))
    own = {"wheelhouse.front.full_bump.room_inner_mm": 6.0}
    decided = [
        judged_corner(wheelhouse=house, tolerances=own, targets=jobs.Targets(fit=fit)).variant[0]
        for fit in ("nominal", "worst")
    ]
    assert decided == ["ride_height", "full_bump"]


@pytest.mark.parametrize("fit", ["nominal", "worst", 0.9])
def test_the_quick_way_to_the_deciding_margin_gives_the_same(fit):
    job = job_with(
        tolerance=TAPE,
        targets=jobs.Targets(fit=fit, top_speed_km_h=120.0),
        wheelhouse=house_with(ride_height=jobs.State(), full_bump=jobs.State(room_inner_mm=150.0, hub_to_top_mm=400.0)),
    )
    rows = corner_rows(job)
    checks = asked_checks(job, "corner", "front")
    quick = [governing_margin(job, "front", check, rows)[0] for check in checks]
    np.testing.assert_array_equal(quick, [judge(job, "front", check, rows).margin[0] for check in checks])


LAWFUL = (
    "backspace_limit",
    "inner_sidewall",
    "outer_sidewall",
    "wheelhouse_width",
    "fender_top",
    "opening",
    "steer_sweep",
    "brake_barrel",
    "brake_spoke",
    "studs",
)


@settings(max_examples=40, deadline=None)
@given(
    tape=st.floats(0.0, 20.0),
    wheel=st.floats(0.0, 5.0),
    offset=st.floats(-60.0, 60.0),
    diameter=st.floats(600.0, 850.0),
    construction=st.sampled_from(["radial", "bias", ""]),
    lock=st.floats(0.0, 45.0),
)
def test_the_worst_case_is_never_better_than_the_nominal_one(tape, wheel, offset, diameter, construction, lock):
    job = job_with(tolerance=jobs.Tolerance(tape, 0.0, wheel), steering=jobs.Steering(lock, 90.0))
    rows = corner_rows(
        job, wheel={"offset_mm": offset}, tire={"overall_diameter_mm": diameter, "construction": construction}
    )
    found = {name: judge(job, "front", BY_ID[name], rows) for name in LAWFUL}
    assert {name for name, one in found.items() if one.worst[0] > one.nominal[0] + 1e-9} == set()


@settings(max_examples=40, deadline=None)
@given(tape=st.floats(0.0, 20.0), wheel=st.floats(0.0, 5.0), chance=st.floats(0.51, 0.99))
def test_a_wanted_chance_asks_no_more_than_the_worst_case(tape, wheel, chance):
    tolerance = jobs.Tolerance(tape, 0.0, wheel, "none")
    found = judged_corner(tolerance=tolerance, targets=jobs.Targets(fit=chance))
    assert found.worst[0] - 0.001 <= found.margin[0] <= found.nominal[0] + 0.001


# The chance against draws


@pytest.mark.parametrize("spare_room", [-4.0, -1.0, 0.0, 2.0, 5.0, 9.0])
def test_the_chance_to_clear_agrees_with_uniform_draws(spare_room):
    tolerance = jobs.Tolerance(length_mm=5.0, wheel_mm=4.0)
    job = job_with(tolerance=tolerance, wheelhouse=house_with(room_inner_mm=132.7 + spare_room))
    draw = np.random.default_rng(20250817)
    room = 132.7 + spare_room + draw.uniform(-5.0, 5.0, DRAWS)
    offset = draw.uniform(-4.0, 4.0, DRAWS)
    width = 240.0 + draw.uniform(-9.6, 9.6, DRAWS)
    cleared = float(np.mean(room - offset - width / 2.0 - 12.7 >= 0.0))
    assert result_of(job, build(job), "inner_sidewall", "front").chance == pytest.approx(cleared, abs=0.02)


def test_a_margin_without_a_plus_or_minus_clears_for_sure():
    job = job_with(tolerance=jobs.Tolerance(tires="none"))
    assert result_of(job, build(job), "inner_sidewall", "front").chance == 1.0


# Checks of the whole build

SCALE = jobs.Tolerance(mass_kg=10.0)  # on either axle's load and on one wheel of either axle


def of_build(check, where=None, **tables):
    tables = {"tolerance": SCALE, "targets": jobs.Targets(front_share_ppm=400_000)} | tables
    job = job_with(**tables)
    return result_of(job, build(job), check, where)


@pytest.mark.parametrize(
    ("check", "where", "nominal", "losses"),
    [
        ("gawr_front", "front", 300.0, (10.0, 2 * 10.0)),
        ("gawr_rear", "rear", 600.0, (10.0, 2 * 10.0)),
        ("gvwr", "truck", 800.0, (10.0, 2 * 10.0, 10.0, 2 * 10.0)),
        ("tire_load", "rear", 350.0, (5.0, 10.0)),
        ("front_share", "front", 300.0, (0.6 * 10.0, 0.6 * 20.0, 0.4 * 10.0, 0.4 * 20.0)),
    ],
)
def test_what_is_weighed_moves_the_margins_of_the_loads(check, where, nominal, losses):
    found = of_build(check, where)
    assert (found.nominal, found.worst) == pytest.approx((nominal, nominal - sum(losses)), abs=0.002)


@pytest.mark.parametrize(("check", "load_kg"), [("gawr_front", 1100.0), ("gawr_rear", 900.0)])
def test_the_chance_of_a_rating_is_that_of_both_scales(check, load_kg):
    """A room of 20 of 30: what fails is a corner of 10 x 10 / 2 of a field of 20 x 40."""
    truck = jobs.Truck(3000.0, **{f"{check}_kg": load_kg + 20.0})
    assert of_build(check, truck=truck).chance == pytest.approx(1.0 - 50.0 / 800.0, abs=1e-9)


@pytest.mark.parametrize("side", ["left", "right"])
def test_a_pad_under_one_wheel_may_have_a_plus_or_minus_of_its_own(side):
    pads = jobs.Loads(front_axle_kg=1100.0, rear_left_kg=430.0, rear_right_kg=470.0)
    found = of_build("gawr_rear", loads=pads, tolerance=jobs.Tolerance(), tolerances={f"loads.rear_{side}_kg": 7.0})
    assert (found.nominal, found.worst) == pytest.approx((600.0, 593.0))


def test_every_pad_is_as_far_off_as_the_scale():
    pads = jobs.Loads(front_axle_kg=1100.0, rear_left_kg=430.0, rear_right_kg=470.0)
    found = of_build("gawr_rear", loads=pads)
    assert found.worst == pytest.approx(600.0 - 2 * 10.0 - 2 * 10.0)  # two pads, two wheels


def test_a_spacer_that_was_weighed_may_be_off():
    present = jobs.Present(25.0, 25.0, 20.0, rear_spacer_kg=2.0)
    found = of_build(
        "gawr_rear", present=present, tolerance=jobs.Tolerance(), tolerances={"present.rear_spacer_kg": 0.5}
    )
    assert (found.nominal, found.worst) == pytest.approx((600.0 + 4.0, 600.0 + 4.0 - 2 * 0.5))


STANDING = dataclasses.replace(
    MEASURED,
    front_ground_clearance_mm=210.0,
    rear_ground_clearance_mm=210.0,
)


@pytest.mark.parametrize("fit", ["nominal", "worst"])
def test_the_worst_ground_clearance_has_the_tape_to_the_lowest_point_at_its_bad_end(fit):
    own = {"present.rear_hub_height_mm": 2.0, "present.rear_ground_clearance_mm": 3.0}
    targets = jobs.Targets(fit=fit, ground_clearance_mm=200.0)
    found = of_build(
        "ground", "rear", present=STANDING, tolerance=jobs.Tolerance(tires="none"), tolerances=own, targets=targets
    )
    # the hub's own height is no matter where tire and load are the present ones: what it sinks in takes up as much
    assert (found.nominal, found.worst) == pytest.approx((10.0, 10.0 - 3.0), abs=0.001)


def test_a_weighed_axle_may_have_a_plus_or_minus_of_its_own():
    found = of_build("gawr_front", tolerance=jobs.Tolerance(), tolerances={"loads.front_axle_kg": 25.0})
    assert found.worst == pytest.approx(275.0)


def test_what_is_carried_may_be_off_in_mass_and_in_place():
    items = (jobs.LoadItem("cargo", 300.0, -600.0),)  # 360 behind
    own = {"loads.items.0.mass_kg": 20.0, "loads.items.0.station_mm": 100.0}  # 320 kg x 3700 / 3000 at worst
    loads = jobs.Loads(1100.0, 900.0, items=items)
    found = of_build("gawr_rear", loads=loads, tolerance=jobs.Tolerance(), tolerances=own)
    assert (found.nominal, found.worst) == pytest.approx((240.0, 600.0 - 320.0 * 3700.0 / 3000.0), abs=0.001)


def test_the_wanted_fit_decides_on_a_rating():
    found = of_build("gawr_front", targets=jobs.Targets(fit="worst"), truck=jobs.Truck(3000.0, gawr_front_kg=1120.0))
    assert (found.margin, found.verdict) == (-10.0, "fail")


def test_a_scale_without_a_plus_or_minus_leaves_the_worst_case_nominal():
    found = of_build("gawr_front", tolerance=jobs.Tolerance())
    assert found.worst == found.nominal


def test_of_two_cases_alike_the_lighter_one_takes_its_whole_plus_or_minus():
    items = (jobs.LoadItem("sand", 100.0, 0.0, ("sand",)), jobs.LoadItem("salt", 101.0, 0.0, ("salt",)))
    loads = jobs.Loads(1100.0, 900.0, cases=("sand", "salt"), items=items)
    own = {"loads.items.0.mass_kg": 5.0, "loads.items.1.mass_kg": 5.0}
    found = of_build(
        "rear_load", loads=loads, tolerance=jobs.Tolerance(), tolerances=own, targets=jobs.Targets(rear_load_kg=900.0)
    )
    assert found.worst == pytest.approx(95.0)


def test_a_lock_that_may_be_wider_takes_room_from_the_sweep():
    house = house_with(sweep_ahead_mm=600.0, sweep_behind_mm=600.0, frame_room_mm=375.0)
    own = {"tolerance": jobs.Tolerance(tires="none"), "wheelhouse": house, "steering": jobs.Steering(30.0, 110.0)}
    wider = judged_corner("steer_sweep", **own, tolerances={"steering.lock_deg": 2.0})
    as_wide = judged_corner("steer_sweep", **own | {"steering": jobs.Steering(32.0, 110.0)})
    assert wider.worst[0] == pytest.approx(as_wide.nominal[0])


def test_a_travel_that_may_be_longer_shifts_the_axle_farther():
    state = {"full_bump": jobs.State(travel_mm=70.0)}
    own = {"tolerance": jobs.Tolerance(tires="none"), "panhard": jobs.Panhard(front_length_mm=800.0)}
    longer = judged_corner(
        **own, wheelhouse=house_with(**state), tolerances={"wheelhouse.front.full_bump.travel_mm": 5.0}
    )
    as_long = judged_corner(**own, wheelhouse=house_with(full_bump=jobs.State(travel_mm=75.0)))
    assert longer.worst[0] == pytest.approx(as_long.nominal[0])


def test_a_plus_or_minus_of_a_listed_backspace_comes_before_the_default():
    rows = corner_rows(job_with()).with_derived({"wheel.backspace_mm.off": lambda rows: np.full(len(rows), 7.0)})
    job = job_with(tolerance=jobs.Tolerance(wheel_mm=1.0, tires="none"))
    assert judge(job, "front", BY_ID["inner_sidewall"], rows).worst[0] == pytest.approx(ROOM - 7.0)


def test_a_plus_or_minus_of_a_listed_diameter_comes_before_the_standards():
    rows = corner_rows(job_with()).with_derived({"tire.overall_diameter_mm.off": lambda rows: np.full(len(rows), 6.0)})
    assert judge(job_with(), "front", BY_ID["opening"], rows).worst[0] == pytest.approx(450.0 - 12.7 - 370.0 - 3.0)

"""Load checks by hand: moments, load cases, capacities, and the balance of forces on a grade."""

import dataclasses
import inspect
import math

import pytest
from by_hand import BY_ID, MEASURED, NAN, build, drive_rows, job_with, judged_side, margin_of, result_of, verdict
from hypothesis import given
from hypothesis import strategies as st

from combo import job as jobs
from combo.checks.check import Verdict
from combo.checks.loads import CHECKS
from combo.checks.run import results

G = 9.80665
DRIVER = jobs.LoadItem("driver", 90.0, 1500.0)  # 45 on either axle, in every case
CARGO = jobs.LoadItem("cargo", 300.0, -600.0, ("loaded",))  # 360 behind, 60 off the front
LOADS = jobs.Loads(1100.0, 900.0, cases=("empty", "loaded"), items=(DRIVER, CARGO))
"""Empty 1145 and 945, loaded 1085 and 1305."""
STATIONS = jobs.BallastPlan(4, (jobs.Station("axle", 0.0), jobs.Station("tail", -600.0)))
WITH_SIDES = [check for check in CHECKS if check.sides is not None]


def loaded(**tables):
    return job_with(**{"loads": LOADS} | tables)


def margin(check, job, where=None, **parts):
    return result_of(job, build(job, **parts), check, where).margin


@pytest.mark.parametrize("check", WITH_SIDES, ids=lambda check: check.id)
def test_needs_names_exactly_the_arguments(check):
    given = getattr(check.sides, "keywords", {})  # what a partial function has already
    assert set(check.needs) == inspect.signature(check.sides).parameters.keys() - given.keys()


@pytest.mark.parametrize(
    ("check", "where", "left"),
    [
        ("gawr_front", "front", 1400.0 - 1145.0),
        ("gawr_rear", "rear", 1500.0 - 1305.0),
        ("gvwr", "truck", 2800.0 - 2390.0),
        ("tire_load", "front", 800.0 - 1145.0 / 2.0),
        ("tire_load", "rear", 800.0 - 1305.0 / 2.0),
        ("wheel_load", "front", 700.0 - 1145.0 / 2.0),
        ("wheel_load", "rear", 700.0 - 1305.0 / 2.0),
    ],
)
def test_a_rating_is_kept_in_the_case_that_loads_it_most(check, where, left):
    assert margin(check, loaded(), where) == pytest.approx(left)


def test_a_rear_load_is_reached_in_the_case_that_loads_it_least():
    assert margin("rear_load", loaded(targets=jobs.Targets(rear_load_kg=950.0))) == pytest.approx(945.0 - 950.0)


def test_a_rear_load_that_is_just_reached_holds():
    job = loaded(targets=jobs.Targets(rear_load_kg=945.0))
    assert result_of(job, build(job), "rear_load").verdict is Verdict.PASS


def test_the_front_axle_keeps_its_share_in_the_case_with_the_least_room():
    job = loaded(targets=jobs.Targets(front_share_ppm=450_000))
    assert margin("front_share", job) == pytest.approx(1085.0 - 0.45 * 2390.0)  # empty: 1145 - 0.45 x 2090


def test_the_least_room_of_the_front_axle_may_be_in_the_lighter_case():
    ahead = jobs.LoadItem("plow", 200.0, 3600.0, ("loaded",))  # 240 on the front, 40 off the rear
    job = job_with(
        loads=jobs.Loads(1100.0, 900.0, cases=("empty", "loaded"), items=(ahead,)),
        targets=jobs.Targets(front_share_ppm=400_000),
    )
    assert margin("front_share", job) == pytest.approx(1100.0 - 0.4 * 2000.0)


def test_a_passenger_tire_carries_its_rating_over_1_10():
    job = loaded()
    left = margin("tire_load", job, "front", front={"tire": {"service": "passenger", "load_rating_kg": 880.0}})
    assert left == pytest.approx(880.0 / 1.1 - 1145.0 / 2.0)


def test_a_tire_of_a_service_that_is_not_known_is_unverified():
    job = loaded()
    front = {"tire": {"service": ""}}
    assert result_of(job, build(job, front=front), "tire_load", "front").verdict is Verdict.UNVERIFIED


def test_half_an_axle_is_what_one_tire_carries():
    job = loaded()
    result = result_of(job, build(job), "tire_load", "rear")
    assert (result.value, result.limit) == (652.5, 800.0)


def test_wheels_heavier_than_the_present_ones_add_what_they_weigh_more():
    assert margin("gawr_front", loaded(), front={"wheel": {"mass_kg": 13.0}}) == pytest.approx(255.0 - 2 * 3.0)


def test_a_spacer_weighs_on_its_axle():
    assert margin("gawr_rear", loaded(), rear={"spacer": {"mass_kg": 2.0}}) == pytest.approx(195.0 - 2 * 2.0)


def test_a_wheel_without_a_mass_leaves_its_axle_unverified():
    assert math.isnan(margin("gawr_front", loaded(), front={"wheel": {"mass_kg": None}}))


def test_present_wheels_without_a_mass_leave_their_axle_unverified():
    assert math.isnan(margin("gawr_rear", loaded(present=jobs.Present(25.0, NAN))))


@pytest.mark.parametrize(("counts", "rear", "front"), [((1, 0), 30.0, 0.0), ((0, 1), 36.0, -6.0), ((2, 1), 96.0, -6.0)])
def test_ballast_weighs_by_its_station(counts, rear, front):
    job = loaded(ballast=STATIONS, targets=jobs.Targets(front_share_ppm=1))
    by_axle = margin("gawr_rear", job, counts=counts), margin("front_share", job, counts=counts)
    assert by_axle == pytest.approx((195.0 - rear, 1085.0 + front), abs=0.01)


AHEAD = jobs.BallastPlan(4, (jobs.Station("nose", 3500.0), jobs.Station("tail", -600.0)))
"""A bag of 30 puts 35 on the front at the nose, and takes 6 off it at the tail."""


@pytest.mark.parametrize(
    ("counts", "front_kg"),
    [
        ((0, 0), 1145.0),
        ((0, 2), 1145.0),
        ((1, 0), 1180.0),
        ((1, 1), 1174.0),
    ],
)
@pytest.mark.parametrize(
    ("check", "rating", "share"),
    [
        ("gawr_front", 1400.0, 1.0),
        ("tire_load", 800.0, 0.5),
        ("wheel_load", 700.0, 0.5),
    ],
)
def test_front_capacities_hold_with_the_ballast_aboard_and_taken_out(check, rating, share, counts, front_kg):
    every = [
        result.margin
        for result in results(loaded(ballast=AHEAD), build(loaded(ballast=AHEAD), counts=counts))[0]
        if result.check.id.startswith(check) and result.where == "front"
    ]
    assert min(every) == pytest.approx(rating - share * front_kg)


def test_a_front_axle_that_ballast_behind_would_lighten_enough_fails_all_the_same():
    truck = jobs.Truck(3000.0, gawr_front_kg=1140.0)
    job = loaded(ballast=STATIONS, truck=truck)
    every = [
        result.verdict
        for result in results(job, build(job, counts=(0, 1)))[0]
        if result.check.id.startswith("gawr_front")
    ]
    assert Verdict.FAIL in every  # 1139 aboard, 1145 without


def test_rear_capacities_count_with_the_ballast_aboard_alone():
    truck = jobs.Truck(3000.0, gawr_rear_kg=1305.0)
    assert margin("gawr_rear", loaded(ballast=AHEAD, truck=truck), counts=(1, 0)) == pytest.approx(5.0)  # 5 off


def test_the_payload_is_what_is_carried_and_what_the_wheels_weigh_more():
    truck = jobs.Truck(3000.0, payload_kg=500.0)
    job = loaded(truck=truck, ballast=STATIONS)
    left = margin("payload", job, counts=(1, 0), rear={"wheel": {"mass_kg": 12.0}})
    assert left == pytest.approx(500.0 - (90.0 + 300.0) - 30.0 - 2 * 2.0)


def test_the_payload_is_that_of_the_case_that_carries_most():
    ladder = jobs.LoadItem("ladder", 40.0, 0.0, ("empty",))
    loads = jobs.Loads(1100.0, 900.0, cases=("empty", "loaded"), items=(DRIVER, CARGO, ladder))
    job = job_with(loads=loads, truck=jobs.Truck(3000.0, payload_kg=500.0))
    assert margin("payload", job) == pytest.approx(110.0)


@pytest.mark.parametrize(
    ("check", "job"),
    [
        ("payload", job_with()),
        ("rear_load", job_with()),
        ("pull", job_with()),
        ("hold_gear", job_with()),
        ("start_grade", job_with()),
        ("front_share", job_with()),
    ],
)
def test_what_the_job_leaves_out_is_not_asked(check, job):
    assert not BY_ID[check].asked(job)


# On a grade

SLOPE = math.atan(0.30)
RESISTING = math.sin(SLOPE) + 0.015 * math.cos(SLOPE)  # of the weight, on 30 %
TORQUE = (jobs.TorquePoint(1000.0, 260.0), jobs.TorquePoint(2000.0, 300.0), jobs.TorquePoint(3000.0, 340.0))
RADIUS_M = 0.97 * 0.370  # of a radial of 740 that declares no revolutions
BOX = jobs.Transmission(1.0, (3.0, 1.5, 1.0), stall_speed_rpm=2000.0, stall_ratio=1.8)
CLUTCH = dataclasses.replace(BOX, stall_speed_rpm=NAN, stall_ratio=NAN, clutch_rating_n_m=290.0, clutch_rpm=1500.0)
GRIPPY = jobs.Surface(friction_road=3.0)
"""A road on which the engine alone decides."""
ROAD_KM_H = 2.0 * math.pi * RADIUS_M * 10.0 * 3.6  # ten turns a second: 2400 rpm in top with a ratio of 4


def pulling(**tables):
    return loaded(**{"engine": jobs.Engine(torque=TORQUE), "transmission": BOX} | tables)


def pull_up_30(box=BOX, surface=GRIPPY, **tables):
    return pulling(transmission=box, surface=surface, targets=jobs.Targets(pull_grade_ppm=300_000), **tables)


def pulled_kg(torque_n_m):
    """Mass of a truck that a torque into the gearbox moves off up 30 %."""
    return torque_n_m * 3.0 * 4.0 * 0.85 / RADIUS_M / (G * RESISTING)


def test_a_converter_starts_with_the_torque_at_its_stall_speed_times_its_ratio():
    assert margin("pull", pull_up_30()) == pytest.approx(pulled_kg(300.0 * 1.8) - 2390.0, abs=0.002)


def test_a_clutch_passes_the_torque_of_the_engine_speed_at_which_it_is_let_in():
    assert margin("pull", pull_up_30(CLUTCH)) == pytest.approx(pulled_kg(280.0) - 2390.0, abs=0.002)


def test_a_clutch_passes_no_more_than_its_rating():
    slipping = dataclasses.replace(CLUTCH, clutch_rating_n_m=200.0)
    assert margin("pull", pull_up_30(slipping)) == pytest.approx(pulled_kg(200.0) - 2390.0, abs=0.002)


def test_a_clutch_never_multiplies_torque():
    both = dataclasses.replace(CLUTCH, stall_ratio=1.8)  # no stall speed, so that it is no converter
    assert margin("pull", pull_up_30(both)) == margin("pull", pull_up_30(CLUTCH))


def test_a_converter_comes_before_a_clutch():
    both = dataclasses.replace(CLUTCH, stall_speed_rpm=2000.0, stall_ratio=1.8)
    assert margin("pull", pull_up_30(both)) == margin("pull", pull_up_30())


ON_REAR_30 = math.cos(SLOPE), 0.25 * math.sin(SLOPE)  # of the rear load, and of the whole truck's


def gripped_kg(rear_kg, truck_kg, share, over=ON_REAR_30[1]):
    return share * (rear_kg * ON_REAR_30[0] + truck_kg * over) / RESISTING


def test_the_good_road_must_give_the_grip_for_it():
    # locked, 0.7 on both sides, of the empty truck: its rear is the lightest for its mass
    left = gripped_kg(945.0, 2090.0, 0.7) - 2090.0
    assert margin("pull", pull_up_30(surface=jobs.Surface())) == pytest.approx(left, abs=0.0002)


def test_grip_is_judged_in_every_case():
    """A load ahead takes less off the rear than off its share of the truck."""
    ahead = jobs.LoadItem("engine on a pallet", 600.0, 2500.0, ("hauling",))  # 100 behind, 500 ahead
    loads = jobs.Loads(1100.0, 900.0, cases=("empty", "hauling"), items=(ahead,))
    left = gripped_kg(1000.0, 2600.0, 0.7) - 2600.0
    assert margin("pull", pull_up_30(surface=jobs.Surface(), loads=loads)) == pytest.approx(left, abs=0.0002)


def test_without_the_height_of_the_center_of_gravity_no_load_moves_to_the_rear():
    truck = dataclasses.replace(loaded().truck, cg_height_mm=NAN)
    left = gripped_kg(945.0, 2090.0, 0.7, over=0.0) - 2090.0
    assert margin("pull", pull_up_30(surface=jobs.Surface(), truck=truck)) == pytest.approx(left, abs=0.0002)


def test_on_a_live_axle_the_driveshaft_takes_8_percent_of_an_open_differentials_pull_on_dry_road():
    axle = jobs.Axles("8.8", 31, rear=jobs.AxleBeam(True, 1600.0))
    job = pull_up_30(surface=jobs.Surface(), axle=axle)
    share = 0.7 / (1.0 + 2.0 * 0.7 * RADIUS_M / (4.0 * 1.6))  # over 1.0785
    left = gripped_kg(945.0, 2090.0, share) - 2090.0
    assert margin("pull", job, drive={"differential": {"type": "open"}}) == pytest.approx(left, abs=0.0002)
    assert 0.7 / share == pytest.approx(1.08, abs=0.002)


def test_too_little_grip_fails_though_the_engine_is_not_known():
    job = dataclasses.replace(pull_up_30(surface=jobs.Surface(friction_road=0.2)), engine=jobs.Engine())
    assert margin("pull", job) == pytest.approx(gripped_kg(1305.0, 2390.0, 0.2) - 2390.0, abs=0.0002)


@pytest.mark.parametrize(
    "unknown",
    [
        {"engine": jobs.Engine()},
        {"transmission": jobs.Transmission(1.0)},
        {"transmission": dataclasses.replace(BOX, gears=())},
        {"transmission": dataclasses.replace(BOX, stall_ratio=NAN)},
        {"transmission": dataclasses.replace(BOX, stall_speed_rpm=NAN)},
        {"transmission": dataclasses.replace(BOX, stall_speed_rpm=500.0)},  # below the torque curve
        {"transmission": dataclasses.replace(CLUTCH, clutch_rating_n_m=NAN)},
        {"transmission": dataclasses.replace(CLUTCH, clutch_rpm=NAN)},
    ],
)
def test_pull_is_unverified_without_what_the_engine_gives_at_rest(unknown):
    tables = {"engine": jobs.Engine(torque=TORQUE), "transmission": BOX, "surface": GRIPPY, **unknown}
    assert math.isnan(margin("pull", loaded(**tables, targets=jobs.Targets(pull_grade_ppm=300_000))))


def holding(grade_ppm=50_000, *points, **targets):
    truck = jobs.Truck(3000.0, gvwr_kg=2800.0, drag_coefficient=0.5, frontal_area_m2=3.0)
    wanted = jobs.Targets(cruise_speed_km_h=ROAD_KM_H, hold_grade_ppm=grade_ppm, cruise=points, **targets)
    return pulling(truck=truck, targets=wanted)


def held_kg(gear, torque_n_m, grade):
    slope = math.atan(grade)
    thrust_n = torque_n_m * gear * 4.0 * 0.85 / RADIUS_M
    drag_n = 0.5 * 1.225 * 0.5 * 3.0 * (ROAD_KM_H / 3.6) ** 2
    return (thrust_n - drag_n) / (G * (math.sin(slope) + 0.015 * math.cos(slope)))


def test_holding_the_gear_is_the_balance_of_forces_at_cruise():
    assert margin("hold_gear", holding()) == pytest.approx(held_kg(1.0, 316.0, 0.05) - 2390.0, abs=0.002)


def test_the_cruise_point_that_holds_least_decides():
    hill = jobs.CruisePoint("hill", ROAD_KM_H, 0.75, 0.0, 9000.0, hold_grade_ppm=60_000)  # 1800 rpm: 292 N m
    assert margin("hold_gear", holding(50_000, hill)) == pytest.approx(held_kg(0.75, 292.0, 0.06) - 2390.0, abs=0.002)


def test_a_point_that_asks_no_grade_holds_any_truck():
    slow = jobs.CruisePoint("creep", ROAD_KM_H, 0.5, 0.0, 9000.0)
    assert margin("hold_gear", holding(50_000, slow)) == margin("hold_gear", holding())


def test_what_an_engine_holds_outside_its_torque_curve_is_not_known():
    fast = jobs.CruisePoint("fast", ROAD_KM_H, 3.0, 0.0, 9000.0, hold_grade_ppm=10_000)  # 7200 rpm
    assert math.isnan(drive_rows(holding(0, fast))["drive.hold_g"][0])


START = {
    "rear_g": 900_000.0,
    "truck_g": 2_000_000.0,
    "share": 0.2,
    "preload_kg": 30.0,
    "friction_low": 0.1,
    "friction_high": 0.5,
    "height_mm": 750.0,
    "wheelbase_mm": 3000.0,
    "resistance": 0.015,
    "least_ppm": 0,
    "job": job_with(),
}


def steepest(**changes):
    check = BY_ID["start_grade"]
    return float(judged_side(check, check.sides(**START | changes)).value)


def unbalance_kg(grade, share, preload_kg):
    """Thrust that the grip allows less what gravity and rolling resistance ask, on a grade."""
    slope = math.atan(grade)
    under_the_wheels = 900.0 * math.cos(slope) + 2000.0 * (750.0 / 3000.0) * math.sin(slope)
    asked = 2000.0 * math.sin(slope) + 0.015 * 2000.0 * math.cos(slope)
    return share * under_the_wheels + preload_kg - asked


def test_on_the_steepest_start_the_forces_are_in_balance():
    assert unbalance_kg(steepest(), 0.2, 30.0) == pytest.approx(0.0, abs=1e-6)


def test_a_start_is_never_steeper_than_both_sides_friction_allows():
    assert unbalance_kg(steepest(preload_kg=500.0), 0.3, 0.0) == pytest.approx(0.0, abs=1e-6)  # (0.1 + 0.5) / 2


@given(share=st.floats(0.05, 0.25), preload=st.floats(0.0, 40.0))
def test_what_the_start_leaves_on_every_steepest_grade_is_nothing(share, preload):
    grade = steepest(share=share, preload_kg=preload)
    by_split, by_both = unbalance_kg(grade, share, preload), unbalance_kg(grade, 0.3, 0.0)
    assert min(by_split, by_both) == pytest.approx(0.0, abs=1e-6)


def test_a_start_as_steep_as_wanted_holds():
    at_hand = math.floor(steepest() * 1e6)
    assert verdict("start_grade", **START | {"least_ppm": at_hand}) is Verdict.PASS


def test_a_start_less_steep_than_wanted_fails_by_the_difference():
    least = round(steepest() * 1e6) + 10_000
    assert margin_of("start_grade", **START | {"least_ppm": least}) == pytest.approx(-0.01, abs=2e-6)


@pytest.mark.parametrize("unknown", ["rear_g", "truck_g", "share", "preload_kg", "friction_high", "height_mm"])
def test_the_steepest_start_is_unverified_without(unknown):
    assert verdict("start_grade", **START | {unknown: NAN}) is Verdict.UNVERIFIED


def starting(**tables):
    wanted = jobs.Targets(start_grade_ppm=50_000)
    return loaded(**{"surface": jobs.Surface(0.1, 0.5), "targets": wanted} | tables)


def unbalanced_kg(grade, share, preload_kg=0.0, loads=(945.0, 2090.0), resistance=0.015):
    """Thrust by the grip less what gravity and the ground ask on a grade; the lightest case has 945 of 2090 behind."""
    rear, truck = loads
    slope = math.atan(grade)
    under_the_wheels = rear * math.cos(slope) + truck * 0.25 * math.sin(slope)
    return share * under_the_wheels + preload_kg - truck * (math.sin(slope) + resistance * math.cos(slope))


def start_of(job, **differential):
    return result_of(job, build(job, drive={"differential": differential}), "start_grade").value


@pytest.mark.parametrize(
    ("differential", "share"),
    [
        ({"type": "open"}, 0.1),
        ({"type": "limited_slip", "bias_ratio": 3.0}, 0.2),
        ({"type": "locked"}, 0.3),
        ({"type": "limited_slip", "bias_ratio": 9.0}, 0.3),
    ],
)
def test_the_differential_decides_how_much_of_the_load_pulls(differential, share):
    assert unbalanced_kg(start_of(starting(), **differential), share) == pytest.approx(0.0, abs=0.01)


SLIPPING = {"type": "limited_slip", "bias_ratio": 3.0, "preload_n_m": 100.0}
PRELOAD_KG = 100.0 / RADIUS_M / G


def test_the_preload_of_a_limited_slip_adds_its_torque_over_the_radius():
    assert unbalanced_kg(start_of(starting(), **SLIPPING), 0.2, PRELOAD_KG) == pytest.approx(0.0, abs=0.01)


def test_the_resistance_is_that_of_the_ground_where_it_is_given():
    job = starting(surface=jobs.Surface(0.1, 0.5, rolling_resistance=0.08), rolling=jobs.Rolling(resistance=0.02))
    assert unbalanced_kg(start_of(job, type="locked"), 0.3, resistance=0.08) == pytest.approx(0.0, abs=0.01)


def test_the_resistance_is_that_of_the_road_where_the_grounds_is_not_given():
    job = starting(rolling=jobs.Rolling(resistance=0.02))
    assert unbalanced_kg(start_of(job, type="locked"), 0.3, resistance=0.02) == pytest.approx(0.0, abs=0.01)


def test_the_grounds_resistance_is_no_matter_for_pull():
    ground = dataclasses.replace(GRIPPY, rolling_resistance=0.08)
    assert margin("pull", pull_up_30(surface=ground)) == margin("pull", pull_up_30())


def test_the_start_is_that_of_the_case_which_starts_worst():
    """The rear axle has least in the empty truck, and least for its mass in the hauling one."""
    ahead = jobs.LoadItem("engine on a pallet", 600.0, 2500.0, ("hauling",))  # 100 behind, 500 ahead
    loads = jobs.Loads(1100.0, 900.0, cases=("empty", "hauling"), items=(ahead,))
    grade = start_of(starting(loads=loads), type="locked")
    assert unbalanced_kg(grade, 0.3, loads=(1000.0, 2600.0)) == pytest.approx(0.0, abs=0.01)
    assert unbalanced_kg(grade, 0.3, loads=(900.0, 2000.0)) > 10.0


# The driveshaft's torque on a live axle: W_y = F r / (i_axle x track) of the low side

LIVE = jobs.Axles("8.8", 31, rear=jobs.AxleBeam(True, 1600.0))
LEVER = RADIUS_M / (4.0 * 1.6)


@pytest.mark.parametrize(("friction", "percent"), [(0.1, 1.0), (0.7, 8.0)])
def test_an_open_differential_loses_what_the_driveshaft_lifts(friction, percent):
    job = starting(axle=LIVE, surface=jobs.Surface(friction, friction))
    share = friction / (1.0 + 2.0 * friction * LEVER)
    assert unbalanced_kg(start_of(job, type="open"), share) == pytest.approx(0.0, abs=0.01)
    assert 100.0 * (friction / share - 1.0) == pytest.approx(percent, abs=0.2)


def test_a_limited_slip_loses_as_much_for_its_own_share_of_grip_and_preload():
    lifted = 1.0 + (1.0 + 3.0) * 0.1 * LEVER
    grade = start_of(starting(axle=LIVE), **SLIPPING)
    assert unbalanced_kg(grade, 0.2 / lifted, PRELOAD_KG / lifted) == pytest.approx(0.0, abs=0.01)


def test_a_locked_differential_loses_nothing_to_the_driveshaft():
    assert start_of(starting(axle=LIVE), type="locked") == start_of(starting(), type="locked")


def test_what_the_rear_springs_take_of_the_roll_is_not_lifted():
    axle = dataclasses.replace(LIVE, rear=jobs.AxleBeam(True, 1600.0, roll_share_ppm=250_000))
    share = 0.1 / (1.0 + 2.0 * 0.1 * LEVER * 0.75)
    assert unbalanced_kg(start_of(starting(axle=axle), type="open"), share) == pytest.approx(0.0, abs=0.01)


def test_an_axle_that_is_not_live_has_no_driveshaft_to_lift_it():
    axle = jobs.Axles("8.8", 31, rear=jobs.AxleBeam(False, 1600.0))
    assert start_of(starting(axle=axle), type="open") == start_of(starting(), type="open")


@pytest.mark.parametrize("kind", ["open", "limited_slip"])
def test_a_live_axle_without_a_track_leaves_the_start_unverified(kind):
    job = starting(axle=jobs.Axles("8.8", 31, rear=jobs.AxleBeam(True)))
    differential = {"type": kind, "bias_ratio": 3.0}
    assert math.isnan(result_of(job, build(job, drive={"differential": differential}), "start_grade").margin)


# Ground clearance: hubs at 350 on tires of 740, so that they sink in 20; the lowest point at 210

PRESENT = dataclasses.replace(
    MEASURED,
    front_ground_clearance_mm=210.0,
    rear_ground_clearance_mm=210.0,
)


def standing(present=PRESENT, loads=None, **tables):
    loads = loads or jobs.Loads(1100.0, 900.0)
    return job_with(present=present, loads=loads, targets=jobs.Targets(ground_clearance_mm=200.0), **tables)


def clearance(job, where="rear", **parts):
    return margin("ground", job, where, **parts) + 200.0


@pytest.mark.parametrize("where", ["front", "rear"])
def test_the_truck_as_it_stands_keeps_exactly_its_own_clearance(where):
    assert clearance(standing(), where) == 210.0


def test_ground_clearance_at_the_least_holds():
    present = dataclasses.replace(PRESENT, rear_ground_clearance_mm=200.0)
    assert result_of(standing(present), build(standing(present)), "ground", "rear").verdict is Verdict.PASS


def test_a_taller_tire_lifts_the_lowest_point_by_half_of_it_less_what_more_it_sinks_in():
    rear = {"tire": {"overall_diameter_mm": 814.0}}  # a tenth more: 407 - 22
    assert clearance(standing(), rear=rear) == pytest.approx(210.0 + 35.0)


def test_more_load_sinks_the_tire_in_proportion():
    cargo = jobs.LoadItem("cargo", 225.0, 0.0)  # a quarter more than 900
    loads = jobs.Loads(1100.0, 900.0, items=(cargo,))
    assert clearance(standing(loads=loads)) == pytest.approx(210.0 - 5.0)


def test_load_and_size_count_together():
    cargo = jobs.LoadItem("cargo", 225.0, 0.0)
    loads = jobs.Loads(1100.0, 900.0, items=(cargo,))
    rear = {"tire": {"overall_diameter_mm": 814.0}}
    assert clearance(standing(loads=loads), rear=rear) == pytest.approx(210.0 + 407.0 - 20.0 * 1.1 * 1.25 - 350.0)


def test_of_several_cases_the_heaviest_decides():
    cargo = jobs.LoadItem("cargo", 225.0, 0.0, ("loaded",))
    loads = jobs.Loads(1100.0, 900.0, cases=("empty", "loaded"), items=(cargo,))
    assert clearance(standing(loads=loads)) == pytest.approx(210.0 - 5.0)


def test_heavier_wheels_sink_the_tire_too():
    rear = {"wheel": {"mass_kg": 32.5}}  # 45 kg more on an axle of 900
    assert clearance(standing(), rear=rear) == pytest.approx(210.0 - 1.0)


def test_the_front_is_judged_without_the_ballast_that_would_lighten_it():
    job = standing(ballast=STATIONS)
    assert clearance(job, "front", counts=(0, 2)) == 210.0


def test_the_front_is_judged_with_the_ballast_that_loads_it():
    job = standing(ballast=AHEAD)
    assert clearance(job, "front", counts=(1, 0)) == pytest.approx(210.0 - 20.0 * 35.0 / 1100.0, abs=0.001)


def test_ballast_sinks_the_rear_tires():
    assert clearance(standing(ballast=STATIONS), counts=(3, 0)) == pytest.approx(210.0 - 20.0 * 90.0 / 900.0)


LISTED = dataclasses.replace(PRESENT, rear_tire_diameter_mm=NAN)


@pytest.mark.parametrize("on_truck", ["rear", "both"])
def test_else_the_tire_that_is_on_the_axle_tells_how_far_it_sinks_in(on_truck):
    now = {"sku": "NOW", "overall_diameter_mm": 760.0, "on_truck": on_truck}  # 30 of 760: 29.21 of 740
    expected = 210.0 + 370.0 - 30.0 * 740.0 / 760.0 - 350.0
    assert clearance(standing(LISTED), tires=[now]) == pytest.approx(expected, abs=0.001)


def test_of_several_tires_on_the_axle_the_first_by_sku_tells():
    now = [
        {"sku": "Z", "overall_diameter_mm": 760.0, "on_truck": "rear"},
        {"sku": "A", "overall_diameter_mm": 740.0, "on_truck": "rear"},
        {"sku": "0", "overall_diameter_mm": 780.0, "on_truck": "front"},
    ]
    assert clearance(standing(LISTED), tires=now) == 210.0


def test_a_measured_tire_comes_before_a_listed_one():
    now = {"sku": "NOW", "overall_diameter_mm": 760.0, "on_truck": "both"}
    assert clearance(standing(), tires=[now]) == 210.0


def test_else_the_hub_stands_at_465_thousandths_of_the_present_tire():
    present = dataclasses.replace(LISTED, rear_hub_height_mm=0.465 * 740.0)  # sinks in 25.9
    assert clearance(standing(present)) == pytest.approx(210.0)


def test_a_present_tire_that_would_not_sink_in_leaves_it_unverified():
    now = {"sku": "NOW", "overall_diameter_mm": 690.0, "on_truck": "rear"}  # 345 under a hub at 350
    assert math.isnan(clearance(standing(LISTED), tires=[now]))


@pytest.mark.parametrize("unknown", ["rear_hub_height_mm", "rear_ground_clearance_mm", "rear_wheel_and_tire_kg"])
def test_ground_clearance_is_unverified_without(unknown):
    assert math.isnan(clearance(standing(dataclasses.replace(PRESENT, **{unknown: NAN}))))


def test_ground_clearance_is_unverified_without_the_scale():
    assert math.isnan(clearance(standing(loads=jobs.Loads(1100.0, NAN))))


def test_ground_goes_by_the_diameter_that_the_tire_runs_on():
    flotation = {
        "designation": "31x10.50R15LT",
        "overall_diameter_mm": None,
        "section_width_mm": None,
        "static_loaded_radius_mm": None,
    }
    # 775 runs, 781 clears
    expected = 210.0 + 775.0 / 2.0 - 20.0 * 775.0 / 740.0 - 350.0
    assert clearance(standing(), rear={"tire": flotation}) == pytest.approx(expected, abs=0.001)

"""Load checks by hand: moments, load cases, capacities, and the balance of forces on a grade."""

import inspect
import math

import pytest
from by_hand import BY_ID, NAN, build, drive_rows, job_with, judged_side, margin_of, result_of, verdict
from hypothesis import given
from hypothesis import strategies as st

from combo import job as jobs
from combo.checks.check import Verdict
from combo.checks.loads import CHECKS

G = 9.80665
DRIVER = jobs.LoadItem("driver", 90.0, 1500.0)  # 45 on either axle, in every case
CARGO = jobs.LoadItem("cargo", 300.0, -600.0, ("loaded",))  # 360 behind, 60 off the front
LOADS = jobs.Loads(1100.0, 900.0, ("empty", "loaded"), (DRIVER, CARGO))
"""Empty 1145 and 945, loaded 1085 and 1305."""
STATIONS = jobs.BallastPlan(4, (jobs.Station("axle", 0.0), jobs.Station("tail", -600.0)))
WITH_SIDES = [check for check in CHECKS if check.sides is not None]


def loaded(**tables):
    return job_with(**{"loads": LOADS} | tables)


def margin(check, job, where=None, **parts):
    return result_of(job, build(job, **parts), check, where).margin


@pytest.mark.parametrize("check", WITH_SIDES, ids=lambda check: check.id)
def test_needs_names_exactly_the_arguments(check):
    assert set(check.needs) == set(inspect.signature(check.sides).parameters)


@pytest.mark.parametrize(("check", "where", "left"), [
    ("gawr_front", "front", 1400.0 - 1145.0), ("gawr_rear", "rear", 1500.0 - 1305.0),
    ("gvwr", "truck", 2800.0 - 2390.0), ("tire_load", "front", 800.0 - 1145.0 / 2.0),
    ("tire_load", "rear", 800.0 - 1305.0 / 2.0), ("wheel_load", "front", 700.0 - 1145.0 / 2.0),
    ("wheel_load", "rear", 700.0 - 1305.0 / 2.0),
])  # fmt: skip
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
    job = job_with(loads=jobs.Loads(1100.0, 900.0, ("empty", "loaded"), (ahead,)))
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
    job = loaded(ballast=STATIONS)
    by_axle = margin("gawr_rear", job, counts=counts), margin("gawr_front", job, counts=counts)
    assert by_axle == pytest.approx((195.0 - rear, 255.0 - front))


def test_the_payload_is_what_is_carried_and_what_the_wheels_weigh_more():
    truck = jobs.Truck(3000.0, payload_kg=500.0)
    job = loaded(truck=truck, ballast=STATIONS)
    left = margin("payload", job, counts=(1, 0), rear={"wheel": {"mass_kg": 12.0}})
    assert left == pytest.approx(500.0 - (90.0 + 300.0) - 30.0 - 2 * 2.0)


def test_the_payload_is_that_of_the_case_that_carries_most():
    ladder = jobs.LoadItem("ladder", 40.0, 0.0, ("empty",))
    loads = jobs.Loads(1100.0, 900.0, ("empty", "loaded"), (DRIVER, CARGO, ladder))
    job = job_with(loads=loads, truck=jobs.Truck(3000.0, payload_kg=500.0))
    assert margin("payload", job) == pytest.approx(110.0)


@pytest.mark.parametrize(("check", "job"), [
    ("payload", job_with()), ("rear_load", job_with()), ("pull", job_with()), ("hold_gear", job_with()),
    ("start_grade", job_with()), ("front_share", job_with(targets=jobs.Targets(front_share_ppm=0))),
])  # fmt: skip
def test_what_the_job_leaves_out_is_not_asked(check, job):
    assert not BY_ID[check].asked(job)


# On a grade

SLOPE = math.atan(0.30)
RESISTING = math.sin(SLOPE) + 0.015 * math.cos(SLOPE)  # of the weight, on 30 %
TORQUE = (jobs.TorquePoint(1000.0, 260.0), jobs.TorquePoint(2000.0, 300.0), jobs.TorquePoint(3000.0, 340.0))
BOX = jobs.Transmission(1.0, (3.0, 1.5, 1.0), stall_ratio=1.8)
ROAD_KM_H = math.pi * 0.74 * 10.0 * 3.6  # ten turns a second: 2400 rpm in top with a ratio of 4


def pulling(**tables):
    return loaded(engine=jobs.Engine(torque=TORQUE), transmission=BOX, **tables)


def test_pull_is_the_balance_of_forces_at_a_start():
    job = pulling(targets=jobs.Targets(pull_grade_ppm=300_000))
    thrust_n = 340.0 * 1.8 * 3.0 * 4.0 * 0.85 / 0.370
    assert margin("pull", job) == pytest.approx(thrust_n / (G * RESISTING) - 2390.0, abs=0.002)


@pytest.mark.parametrize("unknown", [{"engine": jobs.Engine()}, {"transmission": jobs.Transmission(1.0)}])
def test_pull_is_unverified_without_torque_or_gears(unknown):
    tables = {"engine": jobs.Engine(torque=TORQUE), "transmission": BOX, **unknown}
    assert math.isnan(margin("pull", loaded(**tables, targets=jobs.Targets(pull_grade_ppm=300_000))))


def holding(grade_ppm=50_000, *points, **targets):
    truck = jobs.Truck(3000.0, gvwr_kg=2800.0, drag_coefficient=0.5, frontal_area_m2=3.0)
    wanted = jobs.Targets(cruise_speed_km_h=ROAD_KM_H, hold_grade_ppm=grade_ppm, cruise=points, **targets)
    return pulling(truck=truck, targets=wanted)


def held_kg(gear, torque_n_m, grade):
    slope = math.atan(grade)
    thrust_n = torque_n_m * gear * 4.0 * 0.85 / 0.370
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
    "rear_g": 900_000.0, "truck_g": 2_000_000.0, "share": 0.2, "preload_kg": 30.0, "friction_low": 0.1,
    "friction_high": 0.5, "height_mm": 750.0, "wheelbase_mm": 3000.0, "resistance": 0.015, "least_ppm": 0,
}  # fmt: skip


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
    return loaded(surface=jobs.Surface(0.1, 0.5), targets=wanted, **tables)


@pytest.mark.parametrize(("differential", "share"), [
    ({"type": "open"}, 0.1), ({"type": "limited_slip", "bias_ratio": 3.0}, 0.2), ({"type": "locked"}, 0.3),
    ({"type": "limited_slip", "bias_ratio": 9.0}, 0.3),
])  # fmt: skip
def test_the_differential_decides_how_much_of_the_load_pulls(differential, share):
    job = starting()
    result = result_of(job, build(job, drive={"differential": differential}), "start_grade")
    slope = math.atan(result.value)
    pull = 2090.0 * (math.sin(slope) + 0.015 * math.cos(slope))  # the lightest case: 945 of 2090 behind
    assert share * (945.0 * math.cos(slope) + 2090.0 * 0.25 * math.sin(slope)) == pytest.approx(pull, rel=1e-4)


def test_the_preload_of_a_limited_slip_adds_its_torque_over_the_radius():
    job = starting()
    differential = {"type": "limited_slip", "bias_ratio": 3.0, "preload_n_m": 100.0}
    grade = result_of(job, build(job, drive={"differential": differential}), "start_grade").value
    slope = math.atan(grade)
    grip = 0.2 * (945.0 * math.cos(slope) + 2090.0 * 0.25 * math.sin(slope)) + 100.0 / 0.370 / G
    assert grip == pytest.approx(2090.0 * (math.sin(slope) + 0.015 * math.cos(slope)), rel=1e-4)

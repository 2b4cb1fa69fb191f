"""Drive checks: tire speed, cruise rpm, carrier, redline, driveshaft, speedometer."""

import dataclasses
import inspect
import math

import pytest
from by_hand import drive_rows, job_with, judged_side
from hypothesis import given
from hypothesis import strategies as st

from combo.checks.check import Verdict, verdict_of
from combo.checks.drive import CHECKS, cruise_scale_rpm
from combo.checks.judge import judge
from combo.checks.run import margins
from combo.job import CruisePoint, Driveshaft, Present, Rolling, Speedometer, Targets, Tolerance, Transmission

BY_ID = {check.id: check for check in CHECKS}
NAN = math.nan
RATIO = st.floats(min_value=2.0, max_value=6.0)


def margin_of(name, *arguments):
    check = BY_ID[name]
    return float(judged_side(check, check.sides(*arguments)).margin)


def verdict(name, *arguments):
    return verdict_of(margin_of(name, *arguments))


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.id)
def test_needs_names_exactly_the_arguments(check):
    assert set(check.needs) == set(inspect.signature(check.sides).parameters)


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.id)
def test_every_cure_changes_an_argument(check):
    assert {cure.argument for cure in check.cures} <= set(check.needs)


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.id)
def test_nan_everywhere_gives_a_nan_margin(check):
    assert math.isnan(margin_of(check.id, *[NAN] * len(check.needs)))


def test_a_tire_faster_than_the_top_speed_has_the_difference_left():
    assert margin_of("tire_speed", 180.0, 140.0) == 40.0


def test_a_tire_as_fast_as_the_top_speed_holds():
    assert verdict("tire_speed", 160.0, 160.0) is Verdict.PASS


def test_a_tire_slower_than_the_top_speed_fails():
    assert verdict("tire_speed", 150.0, 160.0) is Verdict.FAIL


def test_a_tire_without_a_speed_symbol_is_unverified():
    assert verdict("tire_speed", NAN, 160.0) is Verdict.UNVERIFIED


def test_cruise_rpm_inside_the_band_has_the_way_to_the_nearer_end_left():
    assert margin_of("cruise_rpm", 2000.0, 1750.0, 2150.0) == 150.0


@pytest.mark.parametrize("end_rpm", [1750.0, 2150.0])
def test_cruise_rpm_at_an_end_of_the_band_holds_with_nothing_left(end_rpm):
    assert margin_of("cruise_rpm", end_rpm, 1750.0, 2150.0) == 0.0


@pytest.mark.parametrize("rpm", [1700.0, 2200.0])
def test_cruise_rpm_outside_the_band_fails_by_the_way_to_it(rpm):
    assert margin_of("cruise_rpm", rpm, 1750.0, 2150.0) == -50.0


@pytest.mark.parametrize(("rpm", "limit"), [(1800.0, 1750.0), (2100.0, 2150.0)])
def test_the_limit_told_is_the_nearer_end_of_the_band(rpm, limit):
    check = BY_ID["cruise_rpm"]
    assert float(judged_side(check, check.sides(rpm, 1750.0, 2150.0)).limit) == limit


def test_an_unknown_engine_speed_is_unverified():
    assert verdict("cruise_rpm", NAN, 1750.0, 2150.0) is Verdict.UNVERIFIED


def test_the_band_is_judged_on_half_its_width():
    assert cruise_scale_rpm(job_with(targets=Targets(cruise_min_rpm=1750.0, cruise_max_rpm=2150.0))) == 200.0


@pytest.mark.parametrize("targets", [{}, {"cruise_min_rpm": 2000.0, "cruise_max_rpm": 2000.0}])
def test_without_a_width_the_band_is_judged_on_a_scale_above_zero(targets):
    assert cruise_scale_rpm(job_with(targets=Targets(**targets))) > 0.0


def test_a_ratio_inside_the_carrier_break_has_the_way_to_the_nearer_end_left():
    assert margin_of("carrier", 3.73, 3.55, 4.88, 1.0) == 0.18


@pytest.mark.parametrize("ratio", [3.55, 4.88])
def test_a_ratio_at_an_end_of_the_carrier_break_holds(ratio):
    assert margin_of("carrier", ratio, 3.55, 4.88, 1.0) == 0.0


def test_a_ratio_beyond_the_carrier_break_fails_by_the_way_to_it():
    assert margin_of("carrier", 3.42, 3.55, 4.88, 1.0) == -0.13


def test_a_known_mismatch_fails():
    assert verdict("carrier", 3.73, 3.55, 4.88, 0.0) is Verdict.FAIL


@pytest.mark.parametrize(("lowest", "highest"), [(NAN, NAN), (NAN, 4.88), (3.55, NAN)])
def test_a_known_mismatch_fails_though_the_range_is_not_known(lowest, highest):
    assert verdict("carrier", 3.73, lowest, highest, 0.0) is Verdict.FAIL


def test_a_ratio_beyond_the_range_fails_though_the_family_is_not_known():
    assert verdict("carrier", 3.42, 3.55, 4.88, NAN) is Verdict.FAIL


def test_a_ratio_beyond_the_known_end_fails_though_the_other_is_not_known():
    assert verdict("carrier", 3.42, 3.55, NAN, 1.0) is Verdict.FAIL


def test_a_family_that_is_not_known_is_unverified():
    assert verdict("carrier", 3.73, 3.55, 4.88, NAN) is Verdict.UNVERIFIED


def test_a_range_that_is_not_known_is_unverified():
    assert verdict("carrier", 3.73, NAN, NAN, 1.0) is Verdict.UNVERIFIED


@given(ratio=RATIO, lowest=RATIO, highest=RATIO)
def test_a_mismatch_is_never_better_than_a_match(ratio, lowest, highest):
    assert margin_of("carrier", ratio, lowest, highest, 0.0) <= margin_of("carrier", ratio, lowest, highest, 1.0)


# At several cruise points

RADIUS_MM = 0.97 * 370.0  # of the plain radial, which declares no revolutions
TURN_M = 2.0 * math.pi * RADIUS_MM / 1000.0
ROAD_KM_H = TURN_M * 10.0 * 3.6  # ten turns a second
RPM = 10.0 * 60.0 * 4.0  # in a gear of 1, ratio 4: 2400
MAIN = {"cruise_speed_km_h": ROAD_KM_H, "cruise_min_rpm": 2000.0, "cruise_max_rpm": 2500.0}


def cruising(*points, transmission=None, **targets):
    return job_with(transmission=transmission or Transmission(1.0), targets=Targets(**targets, cruise=points))


def cruise_margin(job):
    return margins(job, "rear", [BY_ID["cruise_rpm"]], drive_rows(job))[0, 0]


def point(name, gear, low, high, *, locked=False):
    return CruisePoint(name, ROAD_KM_H, gear, low, high, locked)


def test_engine_speed_is_turns_of_the_tire_by_gear_and_ratio():
    assert cruise_margin(cruising(**MAIN)) == pytest.approx(2500.0 - RPM)


def test_declared_revolutions_come_before_the_diameter():
    job = cruising(**MAIN)
    revs = 1609.344 / (TURN_M * 0.96)
    margin = margins(job, "rear", [BY_ID["cruise_rpm"]], drive_rows(job, tire={"revs_per_mile": revs}))[0, 0]
    assert margin == pytest.approx(2500.0 - RPM / 0.96)  # the band ends at 2500, exactly


def test_a_second_point_that_fails_fails_the_check():
    job = cruising(point("hill", 1.5, 3000.0, 3500.0), **MAIN)
    assert cruise_margin(job) == pytest.approx(3500.0 - 1.5 * RPM)  # 100 rpm over


def test_the_point_that_decides_is_told():
    job = cruising(point("hill", 1.5, 3000.0, 3500.0), **MAIN)
    assert judge(job, "rear", BY_ID["cruise_rpm"], drive_rows(job)).variant[0] == "hill"


def test_a_second_point_that_holds_with_more_room_leaves_the_first_to_decide():
    assert cruise_margin(cruising(point("hill", 1.5, 3000.0, 4000.0), **MAIN)) == pytest.approx(100.0)


def test_named_points_are_enough():
    assert cruise_margin(cruising(point("hill", 1.5, 3000.0, 4000.0))) == pytest.approx(400.0)


def test_a_point_without_a_band_leaves_the_check_unverified():
    assert math.isnan(cruise_margin(cruising(point("hill", 1.5, NAN, NAN), **MAIN)))


def test_a_point_that_fails_fails_while_the_band_of_another_is_not_known():
    points = point("hill", 1.5, 3000.0, 3500.0), point("dale", 1.0, NAN, NAN)
    assert cruise_margin(cruising(*points)) == pytest.approx(-100.0)


def test_a_converter_slips_at_a_point_that_is_not_locked():
    job = cruising(**MAIN, transmission=Transmission(1.0, converter_slip=0.04))
    assert cruise_margin(job) == pytest.approx(2500.0 - RPM / 0.96)


def test_a_locked_converter_does_not_slip():
    job = cruising(**MAIN, transmission=Transmission(1.0, converter_slip=0.05, lock_up=True))
    assert cruise_margin(job) == pytest.approx(2500.0 - RPM)


def test_every_point_is_locked_or_not_by_itself():
    slipping = Transmission(1.0, converter_slip=0.05)
    locked = cruising(point("highway", 1.0, 2000.0, 2500.0, locked=True), transmission=slipping)
    free = cruising(point("highway", 1.0, 2000.0, 2500.0), transmission=slipping)
    assert cruise_margin(locked) - cruise_margin(free) == pytest.approx(RPM / 0.95 - RPM, abs=0.001)


# At the top speed


def top_margin(check, job, **parts):
    return margins(job, "rear", [BY_ID[check]], drive_rows(job, **parts))[0, 0]


def test_the_engine_stays_under_its_redline_in_top_gear():
    margin = margin_of("redline", RADIUS_MM, 4.0, 0.7, ROAD_KM_H, 2000.0, 0.0, False)
    assert margin == pytest.approx(2000.0 - 0.7 * RPM, abs=0.001)


def test_a_redline_that_is_just_reached_holds():
    assert margin_of("redline", RADIUS_MM, 4.0, 1.0, ROAD_KM_H, RPM, 0.0, False) == 0.0


@pytest.mark.parametrize(("lock_up", "rpm"), [(False, RPM / 0.9), (True, RPM)])
def test_at_the_top_speed_a_converter_slips_unless_it_locks_up(lock_up, rpm):
    engine = dataclasses.replace(job_with().engine, redline_rpm=3000.0)
    box = Transmission(1.0, converter_slip=0.1, lock_up=lock_up)
    job = job_with(transmission=box, engine=engine, targets=Targets(top_speed_km_h=ROAD_KM_H))
    assert top_margin("redline", job) == pytest.approx(3000.0 - rpm, abs=0.001)


def test_an_engine_over_its_redline_fails():
    assert verdict("redline", RADIUS_MM, 4.0, 1.0, ROAD_KM_H, RPM - 1.0, 0.0, False) is Verdict.FAIL


@pytest.mark.parametrize(("gears", "top"), [((3.0, 1.5, 0.7), 0.7), ((), 1.0)])
def test_the_top_gear_turns_the_engine_slowest(gears, top):
    engine = dataclasses.replace(job_with().engine, redline_rpm=2500.0)
    job = job_with(transmission=Transmission(1.0, gears), engine=engine, targets=Targets(top_speed_km_h=ROAD_KM_H))
    assert top_margin("redline", job) == pytest.approx(2500.0 - top * RPM, abs=0.001)


@pytest.mark.parametrize("unknown", range(5))
def test_the_redline_is_unverified_without(unknown):
    arguments = [RADIUS_MM, 4.0, 1.0, ROAD_KM_H, RPM]
    arguments[unknown] = NAN
    assert verdict("redline", *arguments, 0.0, False) is Verdict.UNVERIFIED


def test_the_driveshaft_turns_below_its_share_of_the_critical_speed():
    inertia, area = math.pi / 64.0 * (0.08**4 - 0.076**4), math.pi / 4.0 * (0.08**2 - 0.076**2)
    critical = 30.0 / math.pi * (math.pi / 1.5) ** 2 * math.sqrt(200e9 * inertia / (7850.0 * area))
    margin = margin_of("driveshaft_speed", RADIUS_MM, 4.0, ROAD_KM_H, 1500.0, 80.0, 2.0, "steel", 0.75)
    assert margin == pytest.approx(0.75 * critical - RPM, abs=0.001)


def test_the_driveshaft_knows_no_gear():
    job = job_with(
        transmission=Transmission(0.5, (3.0, 0.5)),
        driveshaft=Driveshaft(1500.0, 80.0, 2.0),
        targets=Targets(top_speed_km_h=ROAD_KM_H),
    )
    by_hand = margin_of("driveshaft_speed", RADIUS_MM, 4.0, ROAD_KM_H, 1500.0, 80.0, 2.0, "steel", 0.75)
    assert top_margin("driveshaft_speed", job) == by_hand


def test_a_metal_that_is_not_known_is_unverified():
    known = (RADIUS_MM, 4.0, ROAD_KM_H, 1500.0, 80.0, 2.0)
    assert verdict("driveshaft_speed", *known, "wood", 0.75) is Verdict.UNVERIFIED


@pytest.mark.parametrize(("driveshaft", "is_asked"), [(Driveshaft(1500.0), True), (Driveshaft(), False)])
def test_the_driveshaft_is_asked_where_its_length_is_given(driveshaft, is_asked):
    job = job_with(driveshaft=driveshaft, targets=Targets(top_speed_km_h=100.0))
    assert BY_ID["driveshaft_speed"].asked(job) is is_asked


# How a tire rolls that declares no revolutions


@pytest.mark.parametrize(("construction", "factor"), [("radial", 0.97), ("bias", 0.98), ("", 0.975)])
def test_a_tire_rolls_by_its_construction(construction, factor):
    rows = drive_rows(job_with(), tire={"construction": construction})
    assert rows["drive.rolling_radius_mm"][0] == pytest.approx(370.0 * factor)


@pytest.mark.parametrize("construction", ["radial", "bias", ""])
def test_a_factor_of_the_job_comes_before_that_of_the_construction(construction):
    rows = drive_rows(job_with(rolling=Rolling(factor=0.96)), tire={"construction": construction})
    assert rows["drive.rolling_radius_mm"][0] == pytest.approx(370.0 * 0.96)


def test_declared_revolutions_come_before_any_factor():
    rows = drive_rows(job_with(rolling=Rolling(factor=0.96)), tire={"revs_per_mile": 700.0})
    assert rows["drive.rolling_radius_mm"][0] == pytest.approx(1_609_344.0 / (2.0 * math.pi * 700.0))


def test_gearing_goes_by_the_diameter_that_a_tire_runs_on():
    flotation = {
        "designation": "31x10.50R15LT",
        "overall_diameter_mm": None,
        "section_width_mm": None,
        "static_loaded_radius_mm": None,
    }
    rows = drive_rows(job_with(), tire=flotation)
    assert rows["drive.rolling_radius_mm"][0] == pytest.approx(775.0 / 2.0 * 0.97)  # 25.4 x 31 less 12


SIZE_OFF = 0.04 * (740.0 - 381.0) / 740.0  # of the plain tire, in parts


@pytest.mark.parametrize(
    ("tire", "rolling", "off"),
    [
        ({}, Rolling(), SIZE_OFF + 0.01),
        ({"revs_per_mile": 1_609.344 / TURN_M}, Rolling(), SIZE_OFF),
        ({}, Rolling(factor=0.97), SIZE_OFF),
    ],
)
@pytest.mark.parametrize("tires", ["standard", "none"])
def test_an_estimated_rolling_radius_may_be_one_percent_off_beside_its_size(tire, rolling, off, tires):
    targets = Targets(cruise_speed_km_h=ROAD_KM_H, cruise_min_rpm=0.0, cruise_max_rpm=2500.0)
    job = job_with(transmission=Transmission(1.0), targets=targets, rolling=rolling, tolerance=Tolerance(tires=tires))
    own = off if tires == "standard" else off - SIZE_OFF
    worst = judge(job, "rear", BY_ID["cruise_rpm"], drive_rows(job, tire=tire)).worst[0]
    assert worst == pytest.approx(100.0 - 2400.0 * own, abs=0.001)


def test_a_tire_of_unknown_construction_may_roll_one_and_a_half_percent_off():
    targets = Targets(cruise_speed_km_h=ROAD_KM_H, cruise_min_rpm=0.0, cruise_max_rpm=2500.0)
    job = job_with(transmission=Transmission(1.0), targets=targets, tolerance=Tolerance(tires="none"))
    found = judge(job, "rear", BY_ID["cruise_rpm"], drive_rows(job, tire={"construction": ""}))
    assert found.worst[0] == pytest.approx(2500.0 - 2400.0 * 0.97 / 0.975 * 1.015, abs=0.001)


# The speedometer

REVS = 1609.344 / TURN_M  # of the plain tire, per mile
DECLARED = {"revs_per_mile": REVS}


def meter(*listed, teeth=20, ratio=3.2, reads_ppm=1_000_000, revs=REVS, **tables):
    """Right now with a ratio of 3.2 on the same tire; 4 on it turns the shaft 1.25 times."""
    speedometer = Speedometer(ratio, revs, reads_ppm, teeth, listed)
    return job_with(speedometer=speedometer, targets=Targets(speedometer_error_ppm=20_000), **tables)


def error_of(job, tire=DECLARED, **parts):
    return drive_rows(job, tire=tire, **parts)["drive.speedometer_error"][0]


def test_a_lower_gear_makes_the_speedometer_read_too_high():
    assert error_of(meter()) == pytest.approx(0.25)


def test_the_speedometer_fails_by_what_it_is_off_beyond_the_limit():
    assert top_margin("speedometer", meter(), tire=DECLARED) == pytest.approx(0.02 - 0.25)


def test_reading_low_is_as_wrong_as_reading_high():
    assert margin_of("speedometer", -0.03, 20_000) == -0.01


def test_a_driven_gear_of_as_many_more_teeth_rights_the_speedometer():
    assert top_margin("speedometer", meter(25), tire=DECLARED) == pytest.approx(0.02)  # 1.25 x 20 / 25 - 1 = 0


def test_the_driven_gear_that_reads_least_above_true_is_taken():
    rows = drive_rows(meter(17, 24, 26), tire=DECLARED)  # 25 / 24 is 4 % above, 25 / 26 as much below
    assert rows["drive.driven_teeth"][0] == 24.0
    assert rows["drive.speedometer_error"][0] == pytest.approx(25.0 / 24.0 - 1.0)


def test_a_gear_that_reads_nearer_but_below_true_is_told_beside_it():
    rows = drive_rows(meter(17, 24, 26), tire=DECLARED)
    assert rows["drive.driven_teeth_below"][0] == 26.0
    assert rows["drive.speedometer_below"][0] == pytest.approx(25.0 / 26.0 - 1.0)


def test_where_none_reads_above_true_the_one_that_reads_least_below_is_taken():
    rows = drive_rows(meter(28, 27, teeth=20, ratio=4.5), tire=DECLARED)  # 20 x 4 / 4.5 is 17.8 teeth
    assert rows["drive.driven_teeth"][0] == 20.0
    assert rows["drive.speedometer_error"][0] == pytest.approx(4.0 / 4.5 - 1.0)


def test_the_present_driven_gear_may_stay_the_best():
    assert drive_rows(meter(10, 12, teeth=24), tire=DECLARED)["drive.driven_teeth"][0] == 24.0


def test_without_the_present_driven_gear_the_speedometer_is_unverified():
    assert math.isnan(top_margin("speedometer", meter(24, teeth=0), tire=DECLARED))


def test_a_speedometer_that_reads_high_today_reads_higher_by_as_much():
    # 1.02 x 1.25 x 20 / 25 - 1
    assert error_of(meter(25, teeth=20, reads_ppm=1_020_000)) == pytest.approx(1.02 * 1.25 * 20.0 / 25.0 - 1.0)


def test_what_it_reads_today_decides_which_gear_reads_least_above_true():
    rows = drive_rows(meter(24, 25, 26, reads_ppm=960_000), tire=DECLARED)  # 24 teeth would be right
    assert rows["drive.driven_teeth"][0] == 24.0


def test_a_tire_that_turns_more_often_reads_higher():
    assert error_of(meter(ratio=4.0), tire={"revs_per_mile": 1.05 * REVS}) == pytest.approx(0.05)


# On one basis: both declared, or both by size

MEASURED = {"present": Present(rear_tire_diameter_mm=740.0 / 1.1)}


def test_where_the_new_tire_declares_nothing_both_are_estimated():
    """The declared revolutions of the present tire are left aside: 740 against 672.7, with one factor for both."""
    job = meter(ratio=4.0, rolling=Rolling(factor=0.96), **MEASURED)
    assert error_of(job, tire={}) == pytest.approx(1.0 / 1.1 - 1.0)


def test_where_the_present_tire_declares_nothing_both_are_estimated():
    job = meter(ratio=4.0, revs=NAN, rolling=Rolling(factor=0.96), **MEASURED)
    assert error_of(job) == pytest.approx(1.0 / 1.1 - 1.0)


def test_both_declared_come_before_both_estimated():
    assert error_of(meter(ratio=4.0, **MEASURED)) == pytest.approx(0.0, abs=1e-12)


NOW = {"sku": "NOW", "overall_diameter_mm": 740.0, "on_truck": "rear"}


@pytest.mark.parametrize(("construction", "factor"), [("radial", 0.97), ("bias", 0.98), ("", 0.975)])
def test_each_tire_is_estimated_by_its_own_construction(construction, factor):
    job, now = meter(ratio=4.0, revs=NAN), NOW | {"construction": construction}
    assert error_of(job, tire={}, tires=[now]) == pytest.approx(factor / 0.97 - 1.0)


def test_a_measured_tire_of_unknown_construction_has_the_factor_between():
    job = meter(ratio=4.0, revs=NAN, present=Present(rear_tire_diameter_mm=740.0))
    assert error_of(job, tire={}) == pytest.approx(0.975 / 0.97 - 1.0)


def test_a_measured_tire_has_the_construction_of_the_one_that_is_on_the_truck():
    job = meter(ratio=4.0, revs=NAN, present=Present(rear_tire_diameter_mm=740.0))
    now = NOW | {"overall_diameter_mm": 700.0, "construction": "bias"}
    assert error_of(job, tire={}, tires=[now]) == pytest.approx(0.98 / 0.97 - 1.0)


def test_the_front_tire_tells_the_speedometer_nothing():
    assert math.isnan(error_of(meter(revs=NAN), tire={}, tires=[NOW | {"on_truck": "front"}]))


@pytest.mark.parametrize(("revs", "tire"), [(REVS, {}), (NAN, DECLARED), (NAN, {})])
def test_where_no_basis_holds_for_both_the_speedometer_is_unverified(revs, tire):
    assert math.isnan(top_margin("speedometer", meter(revs=revs), tire=tire))

"""Drive checks: tire speed, cruise rpm, carrier."""

import inspect
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combo.checks.check import Verdict, judged, verdict_of
from combo.checks.drive import CHECKS, cruise_scale_rpm
from combo.job import About, Hub, Hubs, Job, Targets, Truck
from combo.units import BoltCircle

BY_ID = {check.id: check for check in CHECKS}
NAN = math.nan
RATIO = st.floats(min_value=2.0, max_value=6.0)


def margin_of(name, *arguments):
    check = BY_ID[name]
    return float(judged(check, check.sides(*arguments).margin))


def verdict(name, *arguments):
    return verdict_of(margin_of(name, *arguments))


def job_with(**targets):
    hub = Hub(BoltCircle(6, 139.7))
    return Job(About("a job"), Truck(3000.0), Hubs(hub, hub), targets=Targets(**targets))


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
    assert float(BY_ID["cruise_rpm"].sides(rpm, 1750.0, 2150.0).limit) == limit


def test_an_unknown_engine_speed_is_unverified():
    assert verdict("cruise_rpm", NAN, 1750.0, 2150.0) is Verdict.UNVERIFIED


def test_the_band_is_judged_on_half_its_width():
    assert cruise_scale_rpm(job_with(cruise_min_rpm=1750.0, cruise_max_rpm=2150.0)) == 200.0


@pytest.mark.parametrize("targets", [{}, {"cruise_min_rpm": 2000.0, "cruise_max_rpm": 2000.0}])
def test_without_a_width_the_band_is_judged_on_a_scale_above_zero(targets):
    assert cruise_scale_rpm(job_with(**targets)) > 0.0


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

"""What fails with the best that is plausible fails, whatever is missing; what could pass stays unverified."""

import dataclasses
import math

import numpy as np
import pytest
from by_hand import BY_ID, HOUSE, HUB, NAN, build, corner_rows, drive_rows, job_with, pair_rows, result_of

from combo import job as jobs
from combo.checks.check import Verdict
from combo.checks.judge import governing_margin, judge
from combo.plausible import RANGES
from combo.units import BoltCircle

INCH = 25.4
SLIP_ON = {"thickness_mm": 1.5 * INCH, "hub_bore_mm": 71.5}
SHORT = dataclasses.replace(HUB, stud_length_mm=1.625 * INCH, stud_diameter_mm=0.5 * INCH)


def margin_at(check, job, fit="nominal", **parts):
    job = dataclasses.replace(job, targets=dataclasses.replace(job.targets, fit=fit))
    rows = corner_rows(job, **parts)
    told = judge(job, "front", BY_ID[check], rows).margin[0]
    np.testing.assert_array_equal(told, governing_margin(job, "front", BY_ID[check], rows)[0])
    return told


@pytest.mark.parametrize("fit", ["nominal", "worst", 0.9])
def test_a_thick_slip_on_spacer_on_short_studs_fails_though_the_wheels_pad_is_not_known(fit):
    job = job_with(hub=jobs.Hubs(SHORT, SHORT))
    # 41.275 - 38.1 leaves 3.175 for a pad of 2.5 at least and an engagement of 12.7
    margin = margin_at("studs", job, fit, wheel={"pad_mm": None}, spacer=SLIP_ON)
    assert margin == pytest.approx(41.275 - 38.1 - 2.5 - 12.7)


def test_it_is_told_as_a_failure_without_anything_to_measure():
    job = job_with(hub=jobs.Hubs(SHORT, SHORT))
    result = result_of(job, build(job, front={"wheel": {"pad_mm": None}, "spacer": SLIP_ON}), "studs", "front")
    assert (result.verdict, result.needs) == (Verdict.FAIL, ())


def test_a_pad_that_could_pass_stays_unverified():
    assert math.isnan(margin_at("studs", job_with(), wheel={"pad_mm": None}, spacer={}))  # 40 - 20 - 2.5 is 17.5


def test_a_pad_that_just_could_pass_stays_unverified():
    hub = dataclasses.replace(HUB, stud_length_mm=20.0 + 2.5 + 12.7)
    job = job_with(hub=jobs.Hubs(hub, hub))
    assert math.isnan(margin_at("studs", job, wheel={"pad_mm": None}, spacer={}))


def test_several_blanks_are_all_taken_at_their_best():
    hub = jobs.Hub(BoltCircle(5, 114.3), stud_length_mm=20.0)  # no stud diameter: 9 mm at least
    margin = margin_at("studs", job_with(hub=jobs.Hubs(hub, hub)), wheel={"pad_mm": None}, spacer={})
    assert margin == pytest.approx(20.0 - 20.0 - 2.5 - 9.0)


def test_no_tire_is_narrow_enough_for_a_wheelhouse_without_room():
    house = dataclasses.replace(HOUSE, room_inner_mm=20.0)
    job = job_with(wheelhouse=jobs.Wheelhouses(house, HOUSE))
    margin = margin_at("inner_sidewall", job, tire={"section_width_mm": None})
    assert margin == pytest.approx(20.0 - 80.0 / 2.0 - 12.7)


def test_no_spoke_clearance_is_enough_for_a_caliper_that_reaches_too_far():
    job = job_with(brakes=jobs.Brakes(jobs.Brake(320.0, 260.0)))
    margin = margin_at("brake_spoke", job, wheel={"spoke_clearance_mm": None})
    assert margin == pytest.approx(250.0 - 260.0 - 3.175)


def test_what_has_no_plausible_range_stays_unknown():
    house = dataclasses.replace(HOUSE, room_inner_mm=NAN)
    job = job_with(wheelhouse=jobs.Wheelhouses(house, HOUSE))
    assert math.isnan(margin_at("inner_sidewall", job, tire={"section_width_mm": 560.0}))


def test_the_worst_case_of_what_could_just_pass_fails():
    """Studs that are 1 mm off at most leave no room for the thinnest pad."""
    hub = dataclasses.replace(HUB, stud_length_mm=20.0 + 2.5 + 12.7 + 0.5)
    job = job_with(hub=jobs.Hubs(hub, hub), tolerances={"hub.front.stud_length_mm": 1.0})
    parts = {"wheel": {"pad_mm": None}, "spacer": {}}
    assert math.isnan(margin_at("studs", job, **parts))
    assert margin_at("studs", job, "worst", **parts) == pytest.approx(-0.5)


def test_a_drive_fails_where_no_plausible_ratio_range_reaches():
    job = job_with()
    rows = drive_rows(job, ratio={"ratio": 4.0}, differential={"ratio_min": 4.2, "ratio_max": None})
    assert judge(job, "rear", BY_ID["carrier"], rows).margin[0] == pytest.approx(-0.2)


def test_no_tire_is_low_enough_for_a_wheelhouse_that_is_too_low():
    house = dataclasses.replace(HOUSE, hub_to_top_mm=200.0)
    job = job_with(wheelhouse=jobs.Wheelhouses(house, HOUSE))
    margin = margin_at("fender_top", job, tire={"overall_diameter_mm": None})
    assert margin == pytest.approx(200.0 - 450.0 / 2.0 - 25.4)


def test_no_tire_turns_so_fast_that_the_cruise_band_is_reached():
    targets = jobs.Targets(cruise_speed_km_h=100.0, cruise_min_rpm=9000.0, cruise_max_rpm=9500.0)
    job = job_with(targets=targets, transmission=jobs.Transmission(1.0))
    rows = drive_rows(job, tire={"overall_diameter_mm": None})
    rpm = 100.0 / 3.6 / (2.0 * math.pi * 0.210) * 60.0 * 4.0  # on the least rolling radius that is plausible
    assert judge(job, "rear", BY_ID["cruise_rpm"], rows).margin[0] == pytest.approx(rpm - 9000.0, abs=0.001)


def test_a_pair_fails_where_no_plausible_tire_gives_the_rake():
    job = job_with(targets=jobs.Targets(rake_min_mm=700.0))
    rows = pair_rows(job, rear={"tire": {"overall_diameter_mm": None}})
    assert judge(job, "rear", BY_ID["rake"], rows).margin[0] == pytest.approx(1400.0 - 740.0 - 700.0)


def test_every_range_has_its_least_before_its_most():
    assert [name for name, (least, most) in RANGES.items() if not least < most] == []

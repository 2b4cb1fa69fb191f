"""Points of the clearances and of traction, by hand from the checks of a corner."""

import dataclasses
import math

import numpy as np
import pytest
from by_hand import HOUSE, corner_rows, job_with

from combo import job as jobs
from combo.candidates.criteria import RowPoints, all_criteria, corner_columns, fit_checks, points

LOOSE = dataclasses.replace(
    HOUSE,
    room_inner_mm=400.0,
    room_outer_mm=400.0,
    hub_to_top_mm=600.0,
    opening_ahead_mm=600.0,
    opening_behind_mm=600.0,
    sweep_ahead_mm=900.0,
    sweep_behind_mm=900.0,
    frame_room_mm=900.0,
)
FREE = jobs.Brake(250.0, -50.0)


def fit_of(house=LOOSE, brake=FREE, axle="front", **parts):
    job = job_with(wheelhouse=jobs.Wheelhouses(house, house), brakes=jobs.Brakes(brake, brake))
    return int(corner_columns(job, axle)["corner.fit"](corner_rows(job, axle, **parts))[0])


def test_fit_looks_at_the_clearances_alone():
    assert {check.id for check in fit_checks(job_with(), "front")} == {
        "backspace_limit",
        "inner_sidewall",
        "outer_sidewall",
        "wheelhouse_width",
        "fender_top",
        "opening",
        "steer_sweep",
        "brake_barrel",
        "brake_spoke",
    }


def test_the_rear_axle_is_not_steered():
    front, rear = ({check.id for check in fit_checks(job_with(), axle)} for axle in jobs.AXLES)
    assert front - rear == {"steer_sweep"}


def test_as_much_room_again_as_the_clearance_earns_all():
    assert fit_of() == 10_000


def test_half_of_the_clearance_left_earns_half():
    house = dataclasses.replace(LOOSE, room_inner_mm=120.0 + 12.7 + 6.35)
    assert fit_of(house) == 5_000


@pytest.mark.parametrize(
    ("brake", "earned"),
    [
        (jobs.Brake(340.0 - 2.0 * 3.175 - 1.27, -50.0), 4_000),  # the barrel has 340
        (jobs.Brake(250.0, 30.0 - 3.175 - 1.27), 4_000),  # the spokes have 30
        (jobs.Brake(250.0, 30.0 - 3.175 - 0.635), 2_000),
    ],
)
def test_the_brakes_clearances_count(brake, earned):
    assert fit_of(brake=brake) == earned


@pytest.mark.parametrize(
    "parts",
    [
        {"wheel": {"barrel_diameter_mm": None}},
        {"wheel": {"spoke_clearance_mm": None}},
        {"tire": {"section_width_mm": None}},
        {"tire": {"overall_diameter_mm": None}},
    ],
)
def test_a_clearance_that_is_not_known_earns_nothing(parts):
    assert fit_of(**parts) == 0


@pytest.mark.parametrize("brake", [jobs.Brake(math.nan, -50.0), jobs.Brake(250.0, math.nan)])
def test_a_brake_that_is_not_measured_earns_nothing(brake):
    assert fit_of(brake=brake) == 0


def test_a_size_that_no_clearance_looks_at_may_be_blank():
    assert fit_of(wheel={"pad_mm": None, "hub_bore_mm": None}) == 10_000


def test_traction_takes_the_grip_as_it_is():
    """10000 x 900 kg x 0.333... / (900 kg x 0.333...) is all, whatever binary fractions leave of a third."""
    third = 1.0 / 3.0
    job = job_with(
        targets=jobs.Targets(rear_load_kg=900.0), surface=jobs.Surface(third, third), truck=jobs.Truck(3000.0)
    )
    (traction,) = [one for one in all_criteria(job) if one.name == "traction"]
    rows = RowPoints(np.array([0]), np.array([0]), np.array([third]), np.zeros(1))
    assert points(traction, {"rear_light_g": np.array([900_000.0])}, rows).tolist() == [10_000]
    assert points(traction, {"rear_light_g": np.array([899_999.0])}, rows).tolist() == [9_999]

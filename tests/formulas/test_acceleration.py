"""Time to a speed, against closed forms."""

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from combo.formulas.acceleration import Launch, time_to_speed_s

GRAVITY = 9.80665
TURNING_PARTS = 1.04
NUMBERS = [field.name for field in dataclasses.fields(Launch) if field.type == "float"]

STRONG = Launch(
    truck_kg=2000.0,
    rear_kg=900.0,
    grip=0.6,
    radius_mm=350.0,
    axle_ratio=4.0,
    gears=(3.0, 1.5, 1.0),
    efficiency=0.85,
    redline_rpm=5000.0,
    curve_rpm=np.array([500.0, 5000.0]),
    curve_n_m=np.array([1e6, 1e6]),
    resistance=0.0,
    drag_coefficient=0.0,
    frontal_area_m2=3.0,
    shift_time_s=0.0,
)
"""Its engine always overpowers the grip of its tires."""
WEAK = dataclasses.replace(STRONG, curve_n_m=np.array([300.0, 300.0]), grip=1e6, gears=(3.0,))
"""Its tires always hold; one gear, 300 N m at any engine speed."""
WEAK_THRUST_N = 300.0 * 3.0 * 4.0 * 0.85 / 0.350


@given(speed=st.floats(min_value=20, max_value=120), grip=st.floats(min_value=0.1, max_value=1.0))
def test_on_grip_alone_the_time_is_mass_times_speed_over_thrust(speed, grip):
    time_s = 2000.0 * TURNING_PARTS * speed / 3.6 / (900.0 * GRAVITY * grip)
    launch = dataclasses.replace(STRONG, grip=grip)
    assert time_to_speed_s(launch, speed) == pytest.approx(time_s, rel=0.025 / (speed / 3.6) + 1e-9)  # half a step


def test_on_constant_torque_the_time_is_mass_times_speed_over_thrust():
    assert time_to_speed_s(WEAK, 36.0) == pytest.approx(2000.0 * TURNING_PARTS * 10.0 / WEAK_THRUST_N)


def test_rolling_resistance_takes_its_share_of_the_weight_from_the_thrust():
    force = WEAK_THRUST_N - 0.02 * 2000.0 * GRAVITY
    launch = dataclasses.replace(WEAK, resistance=0.02)
    assert time_to_speed_s(launch, 36.0) == pytest.approx(2000.0 * TURNING_PARTS * 10.0 / force)


def test_against_drag_the_time_is_that_of_the_inverse_hyperbolic_tangent():
    launch = dataclasses.replace(WEAK, drag_coefficient=20.0)
    terminal = math.sqrt(WEAK_THRUST_N / (0.5 * 1.225 * 20.0 * 3.0))
    time_s = 2000.0 * TURNING_PARTS * terminal / WEAK_THRUST_N * math.atanh(10.0 / terminal)
    assert time_to_speed_s(launch, 36.0) == pytest.approx(time_s, rel=1e-4)


def test_each_upshift_costs_the_shift_time():
    # 5000 rpm in the gears of 3.0 and 1.5 are 54.98 and 109.96 km/h
    seconds = time_to_speed_s(dataclasses.replace(STRONG, shift_time_s=0.7), 120.0)
    assert seconds - time_to_speed_s(STRONG, 120.0) == pytest.approx(1.4)


def test_without_an_upshift_the_shift_time_costs_nothing():
    assert time_to_speed_s(dataclasses.replace(STRONG, shift_time_s=0.7), 50.0) == time_to_speed_s(STRONG, 50.0)


def test_a_speed_beyond_the_redline_of_the_last_gear_is_out_of_reach():
    assert time_to_speed_s(WEAK, 60.0) == math.inf  # 5000 rpm are 54.98 km/h


def test_a_truck_that_resists_more_than_it_pulls_never_gets_there():
    assert time_to_speed_s(dataclasses.replace(WEAK, resistance=0.6), 36.0) == math.inf


@given(grips=st.tuples(st.floats(0.1, 1.0), st.floats(0.1, 1.0)))
def test_more_grip_never_costs_time(grips):
    less, more = sorted(grips)
    times = [time_to_speed_s(dataclasses.replace(STRONG, grip=grip), 100.0) for grip in (more, less)]
    assert times == sorted(times)


@pytest.mark.parametrize("name", NUMBERS)
def test_the_time_is_not_known_where_a_number_is_absent(name):
    assert math.isnan(time_to_speed_s(dataclasses.replace(WEAK, **{name: math.nan}), 36.0))


def test_the_time_is_not_known_without_gears():
    assert math.isnan(time_to_speed_s(dataclasses.replace(WEAK, gears=()), 36.0))


def test_the_time_is_not_known_without_a_torque_curve():
    bare = dataclasses.replace(WEAK, curve_rpm=np.array([]), curve_n_m=np.array([]))
    assert math.isnan(time_to_speed_s(bare, 36.0))

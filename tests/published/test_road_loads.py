"""Drag, and thrust against power. The skydiver and the constant for kilowatts are from memory."""

import pytest
from figures import half_last_digit, rows

from combo.formulas.drive import AIR_DENSITY_KG_M3, drag_n, engine_rpm, thrust_n

POUND_FOOT_N_M = 1.3558179483314004
POUND_FORCE_N = 4.4482216152605
HORSEPOWER_W = 745.69987158227022
MPH_KM_H = 1.609344
RADIUS_MM = 360.0
TRAINS = [(1.0, 1.0), (3.06, 3.73), (0.7, 4.10)]  # gear and axle


def published(case):
    return next(row["value"] for row in rows("road_loads.csv") if row["case"] == case)


def power_w(torque_n_m, rpm, gear_ratio, axle_ratio):
    """Thrust at the road times the speed at which the engine turns so fast."""
    speed_km_h = rpm / engine_rpm(1.0, RADIUS_MM, gear_ratio, axle_ratio)
    return thrust_n(torque_n_m, gear_ratio, axle_ratio, 1.0, RADIUS_MM) * speed_km_h / 3.6


def test_drag_grows_from_65_to_110_km_h_as_published():
    printed = published("drag at 110 km/h over drag at 65 km/h")
    assert drag_n(110.0, 0.5, 3.0) / drag_n(65.0, 0.5, 3.0) == pytest.approx(
        float(printed), abs=half_last_digit(printed)
    )


def test_drag_carries_a_skydiver_at_the_textbook_speed():  # from memory
    speed_m_s = float(published("skydiver, terminal speed"))
    drag = drag_n(3.6 * speed_m_s, 0.70, 0.18) * 1.21 / AIR_DENSITY_KG_M3  # the book's air is 1.21 kg/m3
    assert drag == pytest.approx(75.0 * 9.80, rel=2.0 * 0.5 / speed_m_s)


@pytest.mark.parametrize("train", TRAINS)
@pytest.mark.parametrize("case", ["lb ft times rpm over horsepower", "lb ft times rpm over horsepower, in full"])
def test_torque_times_engine_speed_is_power_by_the_published_constant(case, train):
    horsepower = power_w(300.0 * POUND_FOOT_N_M, 4000.0, *train) / HORSEPOWER_W
    dust = 1e-8  # the last digits of a float
    printed = published(case)
    assert 300.0 * 4000.0 / horsepower == pytest.approx(float(printed), abs=max(half_last_digit(printed), dust))


@pytest.mark.parametrize("train", TRAINS)
def test_newton_meters_times_engine_speed_are_kilowatts_by_the_handbook_constant(train):  # from memory
    kilowatts = power_w(400.0, 4000.0, *train) / 1000.0
    assert 400.0 * 4000.0 / kilowatts == pytest.approx(float(published("N m times rpm over kilowatt")), abs=0.5)


@pytest.mark.parametrize("train", TRAINS)
def test_one_horsepower_at_375_mph_is_one_pound_of_thrust(train):
    mph = float(published("lb times mph over horsepower"))
    rpm = engine_rpm(mph * MPH_KM_H, RADIUS_MM, *train)
    torque_n_m = float(published("lb ft times rpm over horsepower, in full")) / rpm * POUND_FOOT_N_M  # of 1 hp
    assert thrust_n(torque_n_m, *train, 1.0, RADIUS_MM) / POUND_FORCE_N == pytest.approx(1.0, rel=1e-9)

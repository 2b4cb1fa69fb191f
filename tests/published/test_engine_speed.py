"""Handbook constants of engine speed and rolling radius. The row on revolutions per mile is from memory."""

import math

import pytest
from figures import half_last_digit, rows

from combo.formulas.drive import engine_rpm
from combo.formulas.tire import rolling_radius_from_revs_mm, rolling_radius_mm

MPH_KM_H = 1.609344
INCH_MM = 25.4


def published(case):
    return next(row["value"] for row in rows("engine_speed.csv") if row["case"] == case)


@pytest.mark.parametrize("case", ["diameter form, printed", "diameter form", "diameter form, in full"])
def test_one_mph_on_a_tire_of_one_inch_diameter_turns_at_the_handbook_constant(case):
    rpm = engine_rpm(MPH_KM_H, INCH_MM / 2.0, 1.0, 1.0)
    assert rpm == pytest.approx(float(published(case)), abs=half_last_digit(published(case)))


def test_handbook_form_holds_for_a_real_gear_train():
    rpm = engine_rpm(60.0 * MPH_KM_H, 29.0 * INCH_MM / 2.0, 0.7, 3.73)
    assert rpm == pytest.approx(60.0 * 0.7 * 3.73 * float(published("diameter form")) / 29.0, rel=0.0005 / 336.135)


def test_one_mph_on_a_radius_of_one_inch_turns_at_the_radius_constant():
    assert engine_rpm(MPH_KM_H, INCH_MM, 1.0, 1.0) == pytest.approx(float(published("radius form")), abs=0.5)


def test_one_km_h_on_a_radius_of_one_millimeter_turns_at_the_metric_constant():
    assert engine_rpm(1.0, 1.0, 1.0, 1.0) == pytest.approx(float(published("metric form")), abs=0.005)


def test_printed_metric_constant_is_a_little_low():
    low_percent = 100.0 * (1.0 - float(published("metric form, printed")) / engine_rpm(1.0, 1.0, 1.0, 1.0))
    assert low_percent == pytest.approx(0.04, abs=0.005)


def test_worked_metric_radius_gives_the_engine_speed_that_it_came_from():
    radius_mm = float(published("metric form, worked"))
    assert engine_rpm(20.0, radius_mm, 1.0, 10.0) == pytest.approx(1500.0, rel=0.05 / radius_mm)


def test_801_revolutions_per_mile_give_the_published_radius():  # from memory
    assert rolling_radius_from_revs_mm(801.0) / INCH_MM == pytest.approx(
        float(published("revolutions per mile")), abs=0.005
    )


def test_handbook_revolutions_of_a_30_in_circle_give_a_radius_of_15_in():
    constant = float(published("handbook revolutions"))
    assert rolling_radius_from_revs_mm(constant / 30.0) / INCH_MM == pytest.approx(15.0, rel=0.5 / constant)


def test_radius_from_the_free_diameter_agrees_with_the_handbook_revolutions():
    constant = float(published("handbook revolutions"))
    inches_per_revolution = 2.0 * math.pi * rolling_radius_mm(30.0 * INCH_MM) / INCH_MM
    assert 63360.0 / inches_per_revolution == pytest.approx(constant / 30.0, rel=0.5 / constant)


def test_rolling_factor_gives_the_published_circumference():
    circumference_mm = 2.0 * 3.14 * rolling_radius_mm(2.0 * 330.25, 0.96)  # printed with 3.14 for pi
    assert circumference_mm == pytest.approx(float(published("rolling circumference")), abs=0.005)

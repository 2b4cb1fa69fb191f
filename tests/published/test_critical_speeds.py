"""Critical speed of a shaft between two joints, a uniform beam. Rows on the 1 in and 25 mm shafts are from memory.

A published drive shaft answer lumps the whole mass at midspan: another model, held apart below.
"""

import math

import pytest
from figures import half_last_digit, rows

from combo.formulas.drive import TUBE_METALS, critical_speed_rpm

INCH_MM = 25.4
PSI_GPA = 6.894757293168361e-6
POUND_PER_CUBIC_INCH = 27679.904710203125  # kg/m3
SLUG_PER_CUBIC_INCH = 14.59390 / 0.0254**3  # kg/m3
RPM_PER_RAD_S = 30.0 / math.pi
STEEL_IN_POUNDS = 30e6 * PSI_GPA, 0.283 * POUND_PER_CUBIC_INCH
DRIVE_SHAFT_MM = 48.0 * INCH_MM, 3.0 * INCH_MM, 0.125 * INCH_MM
STEEL_DRIVE_SHAFT = 29e6 * PSI_GPA, 0.00883 * SLUG_PER_CUBIC_INCH
ALUMINUM_DRIVE_SHAFT = 10e6 * PSI_GPA, 0.00305 * SLUG_PER_CUBIC_INCH


def published(case):
    return next(row["value"] for row in rows("critical_speeds.csv") if row["case"] == case)


def solid(length_mm, diameter_mm, modulus_gpa, density_kg_m3):
    """A tube whose wall is half its diameter."""
    return critical_speed_rpm(length_mm, diameter_mm, diameter_mm / 2.0, modulus_gpa, density_kg_m3)


def second_moment_m4(rpm, length_m, area_m2, modulus_pa, density_kg_m3):
    """What the beam formula must have used for I: omega = (pi / l)^2 sqrt(E I / m'), solved for it."""
    omega = rpm / RPM_PER_RAD_S
    return (omega * length_m**2 / math.pi**2) ** 2 * density_kg_m3 * area_m2 / modulus_pa


def together(*speeds):
    """Dunkerley: squares of the periods add up."""
    return 1.0 / math.sqrt(sum(1.0 / speed**2 for speed in speeds))


def dense_shaft_rpm():
    return solid(600.0, 20.0, 200.0, 40e3)


def dense_shaft_hz(deflection_m):
    return 0.4985 / math.sqrt(deflection_m / 1.27)


@pytest.mark.parametrize(("length_in", "diameter_in"), [(48.0, 3.0), (31.0, 1.0), (60.0, 4.0)])
def test_solid_round_shaft_turns_at_the_handbook_constant(length_in, diameter_in):
    rpm = solid(length_in * INCH_MM, diameter_in * INCH_MM, *STEEL_IN_POUNDS)
    handbook = float(published("solid round")) * diameter_in / length_in**2
    assert rpm == pytest.approx(handbook, rel=5e-4)  # the handbook takes 386.4 in/s2 for gravity


@pytest.mark.parametrize(("outer_in", "wall_in"), [(3.0, 0.065), (3.0, 0.125), (4.0, 0.083), (2.5, 0.5)])
def test_tube_turns_at_the_handbook_constant_for_its_radius_of_gyration(outer_in, wall_in):
    rpm = critical_speed_rpm(50.0 * INCH_MM, outer_in * INCH_MM, wall_in * INCH_MM, *STEEL_IN_POUNDS)
    gyration_in = math.sqrt(outer_in**2 + (outer_in - 2.0 * wall_in) ** 2) / 4.0
    assert rpm == pytest.approx(float(published("any section")) * gyration_in / 50.0**2, rel=5e-4)


def test_steel_of_a_driveshaft_tube_is_within_2_percent_of_the_handbook_constant():
    handbook = float(published("solid round")) * 3.0 / 48.0**2
    assert solid(48.0 * INCH_MM, 3.0 * INCH_MM, *TUBE_METALS["steel"]) == pytest.approx(handbook, rel=0.02)


def test_shaft_of_1_in_has_the_textbook_second_moment_of_area():
    rpm = solid(31.0 * INCH_MM, INCH_MM, *STEEL_IN_POUNDS)
    area_m2 = math.pi / 4.0 * 0.0254**2
    moment_m4 = second_moment_m4(rpm, 31.0 * 0.0254, area_m2, STEEL_IN_POUNDS[0] * 1e9, STEEL_IN_POUNDS[1])
    printed = published("second moment of area of a 1 in shaft")
    assert moment_m4 / 0.0254**4 == pytest.approx(float(printed), abs=half_last_digit(printed))


def test_tube_has_the_textbook_second_moment_of_area():
    rpm = critical_speed_rpm(1500.0, 50.0, 10.0, 210.0, 7800.0)
    area_m2 = math.pi / 4.0 * (0.05**2 - 0.03**2)
    printed = published("second moment of area of a 50 mm tube")
    moment_m4 = second_moment_m4(rpm, 1.5, area_m2, 210e9, 7800.0)
    assert moment_m4 == pytest.approx(float(printed), abs=half_last_digit(printed))


# from memory: 1149 and 1120 rpm; the difference is the shaft's own mass
def test_own_mass_lowers_the_speed_of_a_geared_shaft_as_published():
    own = solid(31.0 * INCH_MM, INCH_MM, 30e6 * PSI_GPA, 0.282 * POUND_PER_CUBIC_INCH)
    gears = float(published("1 in shaft with two gears"))
    whole = float(published("1 in shaft with two gears and its own mass"))
    assert together(gears, own) == pytest.approx(whole, abs=1.0)  # both are printed to 1 rpm


# from memory: 883 rad/s
def test_shaft_of_25_mm_by_600_mm_has_the_textbook_speed_within_half_a_percent():
    rad_s = solid(600.0, 25.0, 207.0, 76e3 / 9.81) / RPM_PER_RAD_S
    assert rad_s == pytest.approx(float(published("25 mm x 600 mm shaft")), rel=0.005)


def test_steel_drive_shaft_turns_as_a_uniform_beam():
    rpm = critical_speed_rpm(*DRIVE_SHAFT_MM, *STEEL_DRIVE_SHAFT)
    assert rpm == pytest.approx(float(published("steel drive shaft, uniform beam")), abs=1.0)


@pytest.mark.parametrize(
    ("case", "metal"),
    [
        ("steel drive shaft, mass at midspan", STEEL_DRIVE_SHAFT),
        ("aluminum drive shaft, mass at midspan", ALUMINUM_DRIVE_SHAFT),
    ],
)
def test_mass_at_midspan_is_another_model_30_percent_lower(case, metal):
    rpm = critical_speed_rpm(*DRIVE_SHAFT_MM, *metal)
    assert 1.0 - float(published(case)) / rpm == pytest.approx(0.30, abs=0.005)


@pytest.mark.parametrize(
    ("case", "metal"),
    [
        ("steel drive shaft, mass at midspan", STEEL_DRIVE_SHAFT),
        ("aluminum drive shaft, mass at midspan", ALUMINUM_DRIVE_SHAFT),
    ],
)
def test_models_differ_by_the_root_of_48_over_pi_squared(case, metal):
    lumped = critical_speed_rpm(*DRIVE_SHAFT_MM, *metal) * math.sqrt(48.0) / math.pi**2
    assert lumped == pytest.approx(float(published(case)), rel=1e-3)


def test_shaft_that_sags_by_its_own_weight_has_the_published_speed():
    printed = published("20 mm x 600 mm shaft, deflection by its own weight")
    slowest, fastest = (dense_shaft_hz(float(printed) + sign * half_last_digit(printed)) for sign in (1.0, -1.0))
    assert slowest <= dense_shaft_rpm() / 60.0 <= fastest


def test_disc_and_own_mass_together_have_the_published_speed():
    disc_rpm = 60.0 * 0.4985 / math.sqrt(float(published("20 mm x 600 mm shaft, deflection by its disc")))
    whole = together(disc_rpm, dense_shaft_rpm())
    assert whole == pytest.approx(float(published("20 mm x 600 mm shaft with a disc")), rel=0.002)

"""What a shop reckons with. Common practice, no source, but for the J flange, which was read."""

from fractions import Fraction

import pytest
from figures import rows

from combo.checks.fit import wheelhouse_width
from combo.formulas.axle import rear_share_kg
from combo.formulas.wheel import offset_from_backspace_mm, overall_width_mm

INCH_MM = 25.4
POUND_KG = 0.45359237
BACKSPACE_MM = 5.25 * INCH_MM
RIM_MM = 9.0 * INCH_MM
J_FLANGE_MM = 13.0


def rule(case):
    return next(float(Fraction(row["value"])) for row in rows("rules_of_thumb.csv") if row["case"] == case)


# common practice, no source: 9 in rim, 5 1/4 in backspace, 3/4 in offset
def test_shorthand_leaves_the_flange_out_of_the_offset():
    offset_in = offset_from_backspace_mm(BACKSPACE_MM, RIM_MM, basis="shorthand") / INCH_MM
    assert offset_in == pytest.approx(rule("offset, shorthand"), abs=1e-9)


# common practice, no source: the same wheel has 1/4 in when its 1/2 in flange counts
def test_flange_of_half_an_inch_takes_half_an_inch_of_offset():
    offset_in = offset_from_backspace_mm(BACKSPACE_MM, RIM_MM, 0.5 * INCH_MM) / INCH_MM
    assert offset_in == pytest.approx(rule("offset, flange counted"), abs=1e-9)


# common practice, no source: a flange that nobody measured is half an inch
def test_offset_reckons_with_half_an_inch_of_flange_by_default():
    offset_in = offset_from_backspace_mm(BACKSPACE_MM, RIM_MM) / INCH_MM
    assert offset_in == pytest.approx(rule("offset, flange counted"), abs=1e-9)


def test_offset_with_a_j_flange_is_a_little_under_a_quarter_inch():
    offset_in = offset_from_backspace_mm(BACKSPACE_MM, RIM_MM, J_FLANGE_MM) / INCH_MM
    assert offset_in == pytest.approx(rule("offset, J flange"), abs=0.0005)


# common practice, no source: a 9 in rim measures about 10 in over the flanges
def test_rim_of_9_in_measures_10_in_over_the_flanges():
    assert overall_width_mm(RIM_MM) / INCH_MM == pytest.approx(rule("width over the flanges"), abs=0.05)


# common practice, no source: 13 in between plumb lines less 1/2 in a side leaves 12 in for the tire
def test_widest_tire_between_plumb_lines_13_in_apart_leaves_no_margin():
    tire_mm = rule("tire between plumb lines") * INCH_MM
    sides = wheelhouse_width(tire_mm, 0.5 * INCH_MM, 0.5 * INCH_MM, 0.0, 5.0 * INCH_MM, 8.0 * INCH_MM)
    assert sides.margin == pytest.approx(0.0, abs=1e-9)


# common practice, no source: ballast over the axle loads it with all of its weight
def test_ballast_over_the_axle_adds_its_own_weight_there():
    rear_lb = rear_share_kg(300.0 * POUND_KG, 0.0, 120.0 * INCH_MM) / POUND_KG
    assert rear_lb == pytest.approx(rule("ballast over the axle"), rel=1e-12)


# common practice, no source: ballast ahead of the axle loads it by m (L - s) / L
def test_ballast_ahead_of_the_axle_adds_less_than_its_weight_there():
    rear_lb = rear_share_kg(300.0 * POUND_KG, 30.0 * INCH_MM, 120.0 * INCH_MM) / POUND_KG
    assert rear_lb == pytest.approx(rule("ballast ahead of the axle"), rel=1e-12)

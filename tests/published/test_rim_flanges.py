"""Width of a rim flange, by standard and as usually told, and what the shop takes for it."""

import pytest
from figures import rows

from combo.formulas.wheel import DEFAULT_FLANGE_MM, backspace_from_offset_mm, overall_width_mm

INCH_MM = 25.4


def published(quantity):
    return [row for row in rows("rim_flanges.csv") if row["quantity"] == quantity]


def size(case):
    return next(float(row["value"]) for row in rows("rim_flanges.csv") if row["case"] == case)


def case(row):
    return row["case"]


@pytest.mark.parametrize("row", published("least"), ids=case)
def test_flange_that_nobody_measured_is_no_thinner_than_the_standard_s_least(row):
    assert float(row["value"]) < DEFAULT_FLANGE_MM


@pytest.mark.parametrize("row", published("usual"), ids=case)
def test_flange_that_nobody_measured_is_no_thicker_than_the_usual_one(row):
    assert float(row["value"]) > DEFAULT_FLANGE_MM


@pytest.mark.parametrize(("flange", "both"), [("J, least", "J, over both, least"), ("J, usual", "J, over both, usual")])
def test_rim_is_wider_over_both_flanges_by_the_published_width(flange, both):
    assert overall_width_mm(228.6, size(flange)) - 228.6 == pytest.approx(size(both), abs=1e-9)


def test_9_in_rim_with_usual_j_flanges_has_the_published_width_over_them():
    width_in = overall_width_mm(9.0 * INCH_MM, size("J, usual")) / INCH_MM
    assert width_in == pytest.approx(size("9 in J rim, over the flanges"), abs=0.005)


@pytest.mark.parametrize("flange", ["B, least", "J, least", "K, least", "J, usual", "JJ, usual"])
def test_backspace_of_a_wheel_without_offset_is_half_the_rim_and_one_flange(flange):
    backspace_mm = backspace_from_offset_mm(0.0, 228.6, size(flange))
    assert backspace_mm - 114.3 == pytest.approx(size(flange), abs=1e-9)

"""How much larger than nominal a tire may come by UN Regulation No. 30. The shares are from memory throughout."""

import pytest
from figures import half_last_digit, rows

from combo.formulas.tire import diameter_tolerance_mm, width_tolerance_mm
from combo.read.designation import decode


def published(quantity):
    return [row for row in rows("tire_tolerances.csv") if row["quantity"] == quantity]


def case(row):
    return row["case"]


@pytest.mark.parametrize("row", published("width"), ids=case)  # from memory
def test_tire_may_be_wider_than_nominal_by_the_published_share(row):
    wider_percent = float(width_tolerance_mm(235.0, float(row["radial"]))) / 235.0 * 100.0
    assert wider_percent == pytest.approx(float(row["value"]), rel=1e-12)


@pytest.mark.parametrize("row", published("factor"), ids=case)  # from memory
def test_section_height_may_be_the_published_factor_of_nominal(row):
    twice_height_mm = 733.0 - 381.0
    larger_mm = float(diameter_tolerance_mm(733.0, 381.0, float(row["radial"])))
    assert 1.0 + larger_mm / twice_height_mm == pytest.approx(float(row["value"]), rel=1e-12)


@pytest.mark.parametrize("row", published("diameter"), ids=case)  # factor from memory
def test_greatest_outer_diameter_is_the_worked_one(row):
    nominal_mm = decode(row["designation"]).overall_diameter_mm
    larger_mm = diameter_tolerance_mm(nominal_mm, float(row["rim_code"]) * 25.4, float(row["radial"]))
    assert float(nominal_mm + larger_mm) == pytest.approx(float(row["value"]), abs=half_last_digit(row["value"]))

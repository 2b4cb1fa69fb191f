"""Rim diameters, section widths and overall diameters by the formulas of UN Regulation No. 30.

rim_diameters.csv is from memory throughout; outer_diameters.csv and width_constants.csv have rows from memory. Worked
figures are printed to the millimeter and held to half of it.
"""

import pytest
from figures import rows

from combo.formulas.tire import (
    nominal_rim_diameter_mm,
    overall_diameter_mm,
    section_width_on_rim_mm,
    theoretical_rim_width_mm,
)
from combo.read.designation import decode


def constant(case):
    return next(float(row["value"]) for row in rows("width_constants.csv") if row["case"] == case)


@pytest.mark.parametrize("row", rows("rim_diameters.csv"), ids=lambda row: row["code"])
def test_rim_code_has_the_listed_diameter(row):
    assert float(nominal_rim_diameter_mm(float(row["code"]) * 25.4)) == float(row["value"])


@pytest.mark.parametrize("row", rows("section_widths.csv"), ids=lambda row: row["case"])
def test_section_width_on_the_fitted_rim_is_the_worked_one(row):
    sizes = float(row["nominal_width_mm"]), float(row["theoretical_rim_mm"]), float(row["rim_width_in"]) * 25.4
    assert section_width_on_rim_mm(*sizes) == pytest.approx(float(row["value"]), abs=0.5)


@pytest.mark.parametrize("row", rows("section_widths.csv"), ids=lambda row: row["case"])
def test_theoretical_rim_is_the_worked_one(row):
    rim_mm = theoretical_rim_width_mm(float(row["nominal_width_mm"]), float(row["aspect_percent"]))
    assert float(rim_mm) == pytest.approx(float(row["theoretical_rim_mm"]), abs=0.05)


@pytest.mark.parametrize("row", rows("outer_diameters.csv"), ids=lambda row: row["designation"])
def test_overall_diameter_is_the_worked_one(row):
    sizes = float(row["nominal_width_mm"]), float(row["aspect_percent"]), float(row["rim_code"]) * 25.4
    assert float(overall_diameter_mm(*sizes)) == pytest.approx(float(row["value"]), abs=0.5)


@pytest.mark.parametrize("row", rows("outer_diameters.csv"), ids=lambda row: row["designation"])
def test_designation_gives_the_worked_overall_diameter(row):
    assert decode(row["designation"]).overall_diameter_mm == pytest.approx(float(row["value"]), abs=0.5)


def test_section_grows_by_k_for_each_millimeter_of_rim():
    growth = section_width_on_rim_mm(235.0, 165.0, 166.0) - section_width_on_rim_mm(235.0, 165.0, 165.0)
    assert growth == pytest.approx(constant("K"), abs=0.05)


def test_half_an_inch_of_rim_adds_5_mm_of_section():
    growth = section_width_on_rim_mm(235.0, 165.1, 177.8) - section_width_on_rim_mm(235.0, 165.1, 165.1)
    assert growth == pytest.approx(constant("half inch"), abs=0.5)


@pytest.mark.parametrize("aspect", [50.0, 75.0])
def test_theoretical_rim_of_series_50_and_above_has_its_listed_share(aspect):
    assert float(theoretical_rim_width_mm(100.0, aspect)) / 100.0 == pytest.approx(constant("x at 50"), abs=0.05)


def test_theoretical_rim_of_series_45_has_its_listed_share():  # from memory
    assert float(theoretical_rim_width_mm(100.0, 45.0)) / 100.0 == pytest.approx(constant("x at 45"), abs=0.005)

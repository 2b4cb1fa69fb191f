"""Sizes as the standards list them. Flotation, numeric light truck and diagonal passenger rows are from memory."""

import pytest
from figures import half_last_digit, rows

from combo.read.designation import decode


@pytest.mark.parametrize("row", rows("flotation_diameters.csv"), ids=lambda row: row["designation"])
def test_flotation_size_has_the_listed_diameter_within_1_mm(row):
    assert decode(row["designation"]).overall_diameter_mm == pytest.approx(float(row["value"]), abs=1.0)


@pytest.mark.parametrize("row", rows("listed_in_inches.csv"), ids=lambda row: row["designation"])
def test_designation_gives_the_size_printed_in_inches(row):
    size_in = getattr(decode(row["designation"]), row["size"]) / 25.4
    assert size_in == pytest.approx(float(row["value"]), abs=half_last_digit(row["value"]))


@pytest.mark.parametrize("row", rows("listed_constructions.csv"), ids=lambda row: row["designation"])
def test_designation_tells_the_listed_construction(row):
    assert decode(row["designation"]).construction == row["value"]

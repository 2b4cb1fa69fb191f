"""Factors of pressure, area, angle, engine speed and time. Bar and minute are from memory."""

import pytest
from figures import half_last_digit, rows

from combo.units import DIMENSIONS, factor, quantity


def case(row):
    return row["case"]


@pytest.mark.parametrize("row", rows("pressure_and_area_factors.csv"), ids=case)
def test_factor_is_the_published_one(row):
    inside = factor(row["typed"], DIMENSIONS[row["suffix"]])
    published = float(row["value"])
    last_of_a_float, printed = 1e-12 * published, min(half_last_digit(row["value"]), 1e-6 * published)
    assert inside == pytest.approx(published, abs=max(printed, last_of_a_float))


@pytest.mark.parametrize("row", rows("pressure_and_area_factors.csv"), ids=case)
def test_quantity_of_thirty_is_thirty_times_the_published_factor(row):
    inside = quantity(f"30 {row['typed']}", DIMENSIONS[row["suffix"]])
    assert inside == pytest.approx(30.0 * float(row["value"]), rel=1e-6)

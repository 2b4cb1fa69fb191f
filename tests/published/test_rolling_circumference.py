"""What a loaded radial rolls in a turn, where its maker declares no revolutions per mile."""

import pytest
from figures import half_last_digit, rows

from combo.formulas.tire import rolling_factor, rolling_factor_off, rolling_radius_mm

ROWS = rows("rolling_circumference.csv")
PRINTED_PI = 3.14


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["case"])
def test_the_published_circumference_is_inside_the_plus_or_minus(row):
    rolled = 2.0 * PRINTED_PI * float(rolling_radius_mm(2.0 * float(row["half_diameter_mm"]), rolling_factor(1.0)))
    off = rolled * float(rolling_factor_off(1.0)) / float(rolling_factor(1.0))
    assert abs(rolled - float(row["value"])) <= off + half_last_digit(row["value"])


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["case"])
def test_the_free_circumference_is_not(row):
    free = 2.0 * PRINTED_PI * float(rolling_radius_mm(2.0 * float(row["half_diameter_mm"])))
    assert free > 1.02 * float(row["value"])

"""Unit factors against the published ones, and against SciPy's constants as a second hand."""

from decimal import Decimal

import pytest
from figures import rows
from scipy import constants

from combo.units import LENGTH, MASS, SPEED, TORQUE, factor, quantity

DIMENSIONS = {"length": LENGTH, "mass": MASS, "speed": SPEED, "torque": TORQUE}
INSIDE = {"mm": 1.0, "m": 1000.0, "kg": 1.0, "g": 0.001, "m/s": 3.6, "N m": 1.0, "J": 1.0}  # mm, kg, km/h, N m


def tolerance(row):
    """Half the last printed digit; for an exact definition, the last digits of a float."""
    if row["exact"] == "yes":
        return 1e-12 * float(row["value"])
    return 0.5 * 10.0 ** Decimal(row["value"]).as_tuple().exponent


@pytest.mark.parametrize("row", rows("unit_factors.csv"), ids=lambda row: row["case"])
def test_factor_is_the_published_one(row):
    published = factor(row["typed"], DIMENSIONS[row["dimension"]]) / INSIDE[row["unit"]]
    assert published == pytest.approx(float(row["value"]), abs=tolerance(row))


@pytest.mark.parametrize("row", rows("unit_factors.csv"), ids=lambda row: row["case"])
def test_quantity_of_twelve_is_twelve_times_the_published_factor(row):
    inside = quantity(f"12 {row['typed']}", DIMENSIONS[row["dimension"]])
    dust = 1e-9  # a quantity is rounded to nine decimals
    expected = 12.0 * float(row["value"]) * INSIDE[row["unit"]]
    assert inside == pytest.approx(expected, abs=12.0 * tolerance(row) * INSIDE[row["unit"]] + dust)


@pytest.mark.parametrize(
    ("typed", "dimension", "name", "inside"),
    [
        ("in", LENGTH, "inch", 1000.0),
        ("ft", LENGTH, "foot", 1000.0),
        ("yd", LENGTH, "yard", 1000.0),
        ("mile", LENGTH, "mile", 1000.0),
        ("thou", LENGTH, "mil", 1000.0),
        ("lb", MASS, "pound", 1.0),
        ("oz", MASS, "ounce", 1.0),
        ("slug", MASS, "slug", 1.0),
        ("ton", MASS, "short_ton", 1.0),
        ("mph", SPEED, "mph", 3.6),
        ("km/h", SPEED, "kmh", 3.6),
    ],
)
def test_factor_agrees_with_scipy(typed, dimension, name, inside):
    assert factor(typed, dimension) == pytest.approx(getattr(constants, name) * inside, rel=1e-12)


def test_pound_foot_agrees_with_scipy():
    assert factor("lb-ft", TORQUE) == pytest.approx(constants.pound_force * constants.foot, rel=1e-12)

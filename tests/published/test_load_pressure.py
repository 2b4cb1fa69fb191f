"""Lowest pressure for a load, against charts and sidewalls. The 250 kPa of the passenger rows is from memory.

The exponent of light truck tires is itself from memory (Tire and Rim Association practice); the points were read.
"""

import pytest
from figures import rows

from combo.formulas.tire import LOAD_EXPONENT, cold_pressure_kpa

POUND_KG = 0.45359237
INSIDE = {"lb": POUND_KG, "kg": 1.0, "psi": 6.894757293168361, "kPa": 1.0}
CHART = 0.015  # loads are printed to 5 lb and follow the power within 1.2 % of pressure
RANGES = 0.025  # each load range is rounded to a load index, in steps of some 2.5 %


def published(kind):
    return [row for row in rows("load_pressure.csv") if row["kind"] == kind]


def pressure(row, exponent=None):
    """Pressure that the formula asks for, in the row's own unit."""
    load, rated_load = (float(row[name]) * INSIDE[row["load_unit"]] for name in ("load", "rated_load"))
    rated_pressure = float(row["rated_pressure"]) * INSIDE[row["unit"]]
    power = exponent or LOAD_EXPONENT[row["service"]]
    return cold_pressure_kpa(load, rated_load, rated_pressure, power) / INSIDE[row["unit"]]


def case(row):
    return row["case"]


@pytest.mark.parametrize("row", published("chart"), ids=case)
def test_light_truck_tire_needs_the_pressure_of_the_chart(row):
    assert pressure(row) == pytest.approx(float(row["value"]), rel=CHART)


def test_exponent_of_passenger_tires_misses_the_light_truck_chart_at_its_foot():
    foot = min(published("chart"), key=lambda row: float(row["value"]))
    assert pressure(foot, LOAD_EXPONENT["passenger"]) > float(foot["value"]) * (1.0 + 4.0 * CHART)


@pytest.mark.parametrize("row", published("range"), ids=case)
def test_lower_load_range_is_rated_at_the_pressure_that_its_load_needs(row):
    assert pressure(row) == pytest.approx(float(row["value"]), rel=RANGES)


@pytest.mark.parametrize("row", published("table"), ids=case)  # from memory: 250 kPa
def test_passenger_tire_needs_the_pressure_of_the_standard(row):
    assert pressure(row) == pytest.approx(float(row["value"]), abs=0.05)


@pytest.mark.parametrize("row", published("0.5 power"), ids=case)
def test_half_power_gives_the_published_pressure(row):
    assert pressure(row, 0.5) == pytest.approx(float(row["value"]), rel=CHART)


@pytest.mark.parametrize("row", published("0.5 power"), ids=case)
def test_passenger_exponent_asks_for_more_pressure_than_the_half_power(row):
    assert pressure(row) > float(row["value"]) * (1.0 + CHART)

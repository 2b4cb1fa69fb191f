"""Thrust of a rear axle on the level, with the load that the thrust shifts onto it.

Rows on the locked differential, rolling resistance and the 2 Mg car are from memory. The grip factor is thrust over
static rear load, so thrust = rear_weight x factor, and the load under the rear pair = thrust / mu.
"""

import pytest
from figures import half_last_digit, rows

from combo.formulas.drive import grip_factor

SURFACES = [(0.1, 0.0), (0.35, 0.2), (0.62, 21.0 / 108.0), (0.9, 0.3)]


def published(quantity):
    return [row for row in rows("traction.csv") if row["quantity"] == quantity]


def thrust(row):
    mu = float(row["mu"])
    return float(row["rear_weight"]) * grip_factor("locked", mu, mu, float(row["height"]) / float(row["wheelbase"]))


def acceleration(row):
    return thrust(row) / float(row["weight"]) * float(row["gravity"])


def case(row):
    return row["case"]


@pytest.mark.parametrize("row", published("force"), ids=case)
def test_thrust_is_the_textbook_one(row):
    assert thrust(row) == pytest.approx(float(row["value"]), abs=half_last_digit(row["value"]))


@pytest.mark.parametrize("row", published("acceleration"), ids=case)
def test_acceleration_is_the_textbook_one(row):
    assert acceleration(row) == pytest.approx(float(row["value"]), abs=half_last_digit(row["value"]))


@pytest.mark.parametrize("row", published("rear load"), ids=case)
def test_rear_pair_carries_the_textbook_load_under_thrust(row):
    rear_load = thrust(row) / float(row["mu"])
    assert rear_load == pytest.approx(float(row["value"]), abs=half_last_digit(row["value"]))


@pytest.mark.parametrize("row", published("front load"), ids=case)
def test_front_pair_keeps_the_textbook_load_under_thrust(row):
    front_load = float(row["weight"]) - thrust(row) / float(row["mu"])
    assert front_load == pytest.approx(float(row["value"]), abs=half_last_digit(row["value"]))


@pytest.mark.parametrize("row", published("time to 105 km/h"), ids=case)
def test_shortest_time_to_105_km_h_is_the_published_one(row):
    assert 105.0 / 3.6 / acceleration(row) == pytest.approx(float(row["value"]), abs=half_last_digit(row["value"]))


@pytest.mark.parametrize(("mu", "height"), SURFACES)
def test_equal_friction_gives_open_and_locked_the_same_grip(mu, height):
    assert grip_factor("open", mu, mu, height) == pytest.approx(grip_factor("locked", mu, mu, height), rel=1e-12)


@pytest.mark.parametrize(("mu", "height"), SURFACES)
def test_equal_friction_gives_limited_slip_and_locked_the_same_grip(mu, height):
    limited_slip = grip_factor("limited_slip", mu, mu, height, bias_ratio=2.5)
    assert limited_slip == pytest.approx(grip_factor("locked", mu, mu, height), rel=1e-12)


@pytest.mark.parametrize(("mu", "height"), SURFACES)
def test_split_friction_gives_open_less_grip_than_locked(mu, height):
    assert grip_factor("open", mu / 2.0, mu, height) < grip_factor("locked", mu / 2.0, mu, height)

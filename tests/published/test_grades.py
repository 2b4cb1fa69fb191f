"""Axle loads, thrust and starts on a grade. The pickup, the front axle and two of the steepest starts are from memory.

The greatest acceleration on the level, over g, is the steepest grade: thrust and weight shift alike in both.
"""

import math

import pytest
from figures import half_last_digit, rows

from combo.formulas.axle import rear_load_on_grade_kg
from combo.formulas.drive import low_side_share, resistance_on_grade, start_share, steepest_start

PICKUP_RAD = math.atan(0.10)
PICKUP_FT_S2 = 44.0**2 / (2.0 * 200.0)  # 30 mi/h in 200 ft
SLOPE_3_4_5_RAD = math.atan(0.75)
FOUR_DEGREES_RAD = math.radians(4.0)


def published(quantity):
    return [row for row in rows("grades.csv") if row["quantity"] == quantity]


def case(row):
    return row["case"]


def rear_load(row, slope_rad):
    loads = float(row["rear_weight"]), float(row["weight"])
    return rear_load_on_grade_kg(*loads, slope_rad, float(row["height_over_wheelbase"]))


def pickup_rear_load(row):
    """On the grade, and the load that its acceleration shifts."""
    inertia = float(row["weight"]) / float(row["gravity"]) * PICKUP_FT_S2
    return rear_load(row, PICKUP_RAD) + inertia * float(row["height_over_wheelbase"])


def acceleration_up_4_degrees(row):
    mu = float(row["mu"])
    share = float(start_share(low_side_share("open"), mu, mu, 0.0))
    pull = share * rear_load(row, FOUR_DEGREES_RAD) / float(row["weight"])
    return (pull - resistance_on_grade(math.tan(FOUR_DEGREES_RAD), 0.0)) * float(row["gravity"])


def steepest(row):
    loads = float(row["rear_weight"]), float(row["weight"])
    return float(steepest_start(*loads, float(row["mu"]), 0.0, float(row["height_over_wheelbase"]), 0.0))


@pytest.mark.parametrize("row", published("rear load"), ids=case)  # from memory
def test_rear_pair_of_a_climbing_pickup_carries_the_textbook_load(row):
    assert pickup_rear_load(row) == pytest.approx(float(row["value"]), abs=0.5)


@pytest.mark.parametrize("row", published("front load"), ids=case)  # from memory
def test_front_pair_of_a_climbing_pickup_keeps_the_textbook_load(row):
    front = float(row["weight"]) * math.cos(PICKUP_RAD) - pickup_rear_load(row)
    assert front == pytest.approx(float(row["value"]), abs=0.5)


@pytest.mark.parametrize("row", published("pull"), ids=case)  # from memory
def test_pull_on_a_climbing_pickup_is_the_textbook_friction(row):
    pull = float(row["weight"]) * (resistance_on_grade(0.10, 0.0) + PICKUP_FT_S2 / float(row["gravity"]))
    assert pull == pytest.approx(float(row["value"]), abs=0.5)


@pytest.mark.parametrize("row", published("front axle"), ids=case)  # from memory
def test_front_axle_keeps_the_load_of_the_published_formula(row):
    front = float(row["weight"]) * math.cos(SLOPE_3_4_5_RAD) - rear_load(row, SLOPE_3_4_5_RAD)
    assert front == pytest.approx(float(row["value"]), rel=1e-12)


@pytest.mark.parametrize("row", published("rear axle"), ids=case)
def test_rear_axle_carries_the_load_of_the_published_formula(row):
    assert rear_load(row, SLOPE_3_4_5_RAD) == pytest.approx(float(row["value"]), rel=1e-12)


@pytest.mark.parametrize("row", published("acceleration"), ids=case)
def test_greatest_acceleration_up_4_degrees_is_the_textbook_one(row):
    assert acceleration_up_4_degrees(row) == pytest.approx(float(row["value"]), abs=half_last_digit(row["value"]))


@pytest.mark.parametrize("row", published("acceleration"), ids=case)
def test_truck_starts_up_4_degrees_where_the_textbook_one_gains_speed(row):
    assert (steepest(row) > math.tan(FOUR_DEGREES_RAD)) == (float(row["value"]) > 0.0)


@pytest.mark.parametrize("row", published("steepest"), ids=case)  # two from memory, see basis
def test_steepest_start_is_the_published_acceleration_over_gravity(row):
    acceleration = steepest(row) * float(row["gravity"])
    assert acceleration == pytest.approx(float(row["value"]), abs=half_last_digit(row["value"]))


# common practice, no source: 20 lb a ton and percent
@pytest.mark.parametrize("percent", [1.0, 3.0, 6.0])
def test_gentle_grade_pulls_20_lb_a_ton_and_percent(percent):
    (row,) = published("pull per ton")
    pull_lb = float(row["weight"]) * resistance_on_grade(percent / 100.0, 0.0)
    assert pull_lb == pytest.approx(percent * float(row["value"]), rel=0.002)

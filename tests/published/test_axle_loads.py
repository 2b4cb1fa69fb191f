"""Axle loads at rest, by moments. The two wheel loads and the mass center ahead of the rear axle are from memory."""

import pytest
from figures import half_last_digit, rows

from combo.formulas.axle import front_share_kg, rear_share_kg


def published(case):
    return next(row for row in rows("axle_loads.csv") if row["case"] == case)


def place(row):
    return float(row["mass_kg"]), float(row["station_mm"]), float(row["wheelbase_mm"])


def test_each_front_wheel_carries_the_textbook_force():  # from memory
    row = published("each front wheel")
    force_kn = front_share_kg(*place(row)) * 9.80 / 1000.0 / 2.0
    assert force_kn == pytest.approx(float(row["value"]), abs=half_last_digit(row["value"]))


def test_each_rear_wheel_carries_the_textbook_force():  # from memory
    row = published("each rear wheel")
    force_kn = rear_share_kg(*place(row)) * 9.80 / 1000.0 / 2.0
    assert force_kn == pytest.approx(float(row["value"]), abs=half_last_digit(row["value"]))


def test_both_axles_carry_the_textbook_weight():
    row = published("total weight")
    force_n = (front_share_kg(*place(row)) + rear_share_kg(*place(row))) * 9.80
    assert force_n == pytest.approx(float(row["value"]), abs=0.5)


@pytest.mark.parametrize("case", ["a quarter of the way to the front axle", "mass center ahead of the rear axle"])
def test_front_axle_carries_the_share_of_the_published_formula(case):
    row = published(case)
    assert front_share_kg(*place(row)) == pytest.approx(float(row["value"]), rel=1e-12)


def test_mass_over_the_rear_axle_adds_its_whole_weight_there():
    row = published("point mass over the rear axle")
    assert rear_share_kg(*place(row)) == pytest.approx(float(row["value"]), rel=1e-12)


def test_mass_over_the_rear_axle_adds_nothing_in_front():
    assert front_share_kg(*place(published("point mass over the rear axle"))) == 0.0


def test_weight_behind_the_rear_axle_lightens_the_front():
    assert front_share_kg(*place(published("weight behind the rear axle"))) < 0.0


def test_weight_behind_the_rear_axle_adds_more_than_itself_there():
    row = published("weight behind the rear axle")
    assert rear_share_kg(*place(row)) > float(row["mass_kg"])

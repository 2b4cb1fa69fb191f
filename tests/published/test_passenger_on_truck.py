"""A passenger tire on a truck carries its rating divided by 1.10."""

import pytest
from figures import rows

from combo.formulas.tire import capacity_on_truck_kg


def published(case):
    return next(float(row["value"]) for row in rows("passenger_on_truck.csv") if row["case"] == case)


def test_rating_of_a_passenger_tire_is_divided_by_the_published_figure():
    assert 920.0 / float(capacity_on_truck_kg(920.0, 1.0)) == pytest.approx(published("divisor"), abs=0.005)


def test_passenger_tire_keeps_the_published_share_of_its_rating():
    assert float(capacity_on_truck_kg(100.0, 1.0)) == pytest.approx(published("share"), abs=0.5)


def test_light_truck_tire_keeps_its_whole_rating():
    assert float(capacity_on_truck_kg(920.0, 0.0)) == 920.0

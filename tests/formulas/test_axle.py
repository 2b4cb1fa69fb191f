"""Statics of a two-axle truck."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combo.formulas.axle import front_share_kg, lateral_shift_mm, rear_share_kg

MASS = st.floats(min_value=0, max_value=5000)
STATION = st.floats(min_value=-3000, max_value=8000)
WHEELBASE = st.floats(min_value=1000, max_value=6000)


@given(mass=MASS, station=STATION, wheelbase=WHEELBASE)
def test_axle_shares_sum_to_the_mass(mass, station, wheelbase):
    front, rear = front_share_kg(mass, station, wheelbase), rear_share_kg(mass, station, wheelbase)
    assert front + rear == pytest.approx(mass, abs=1e-8)


@given(mass=MASS, station=STATION, wheelbase=WHEELBASE)
def test_moments_about_the_rear_axle_balance(mass, station, wheelbase):
    assert front_share_kg(mass, station, wheelbase) * wheelbase == pytest.approx(mass * station, abs=1e-6)


def test_a_mass_over_the_rear_axle_loads_it_alone():
    assert (rear_share_kg(100.0, 0.0, 3000.0), front_share_kg(100.0, 0.0, 3000.0)) == (100.0, 0.0)


def test_a_mass_over_the_front_axle_loads_it_alone():
    assert (rear_share_kg(100.0, 3000.0, 3000.0), front_share_kg(100.0, 3000.0, 3000.0)) == (0.0, 100.0)


def test_a_mass_behind_the_rear_axle_loads_it_with_more_than_itself():
    assert rear_share_kg(100.0, -600.0, 3000.0) == pytest.approx(120.0)


def test_a_mass_behind_the_rear_axle_lightens_the_front():
    assert front_share_kg(100.0, -600.0, 3000.0) == pytest.approx(-20.0)


def test_a_bar_of_500_mm_shifts_the_axle_100_mm_at_300_mm_of_travel():
    assert lateral_shift_mm(500.0, 300.0) == pytest.approx(100.0)  # 3, 4, 5


def test_at_ride_height_the_axle_is_not_shifted():
    assert lateral_shift_mm(800.0, 0.0) == 0.0


def test_droop_shifts_the_axle_as_far_as_bump():
    assert lateral_shift_mm(800.0, -75.0) == lateral_shift_mm(800.0, 75.0)


def test_travel_beyond_the_bar_has_no_shift():
    assert math.isnan(lateral_shift_mm(500.0, 501.0))

"""Statics of a two-axle truck."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combo.formulas.axle import (
    frame_rake_deg,
    front_share_kg,
    lateral_shift_mm,
    rear_load_on_grade_kg,
    rear_share_kg,
)

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


@given(rear=st.floats(0, 2000), front=st.floats(0, 2000), slope=st.floats(-0.5, 0.5), height=st.floats(0, 0.5))
def test_moments_about_the_front_contact_line_balance_on_a_grade(rear, front, slope, height):
    truck, wheelbase = rear + front, 3000.0
    behind_front = wheelbase * rear / truck if truck else 0.0
    weight_moment = truck * (math.cos(slope) * behind_front + math.sin(slope) * height * wheelbase)
    load = rear_load_on_grade_kg(rear, truck, slope, height)
    assert load * wheelbase == pytest.approx(weight_moment, abs=1e-6)


def test_on_the_level_the_rear_axle_carries_its_own_load():
    assert rear_load_on_grade_kg(900.0, 2000.0, 0.0, 0.25) == 900.0


def test_a_truck_on_its_tail_stands_on_its_rear_axle_by_its_height():
    assert rear_load_on_grade_kg(900.0, 2000.0, math.pi / 2.0, 0.25) == pytest.approx(500.0)


def test_downhill_the_rear_axle_is_lightened():
    assert rear_load_on_grade_kg(900.0, 2000.0, -0.1, 0.25) < 900.0 * math.cos(0.1)


@pytest.mark.parametrize("missing", range(4))
def test_the_load_on_a_grade_is_not_known_without_all_its_inputs(missing):
    inputs = [900.0, 2000.0, 0.1, 0.25]
    inputs[missing] = math.nan
    assert math.isnan(rear_load_on_grade_kg(*inputs))


def test_a_rear_that_rises_by_the_wheelbase_tilts_the_frame_nose_down_by_45_degrees():
    assert frame_rake_deg(0.0, 0.0, 3000.0, 3000.0) == pytest.approx(45.0)


def test_a_front_that_rises_tilts_the_frame_nose_up():
    assert frame_rake_deg(0.0, 30.0, 0.0, 3000.0) == pytest.approx(-math.degrees(math.atan(0.01)))


def test_hubs_that_rise_alike_leave_the_rake_as_it_is():
    assert frame_rake_deg(0.7, 25.4, 25.4, 3000.0) == pytest.approx(0.7)

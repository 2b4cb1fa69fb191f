"""Statics of a two-axle truck."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combo.formulas.axle import (
    deflection_mm,
    frame_rake_deg,
    front_share_kg,
    hub_rise_mm,
    lateral_shift_mm,
    lean_inboard_mm,
    lean_outboard_mm,
    raised_hub_mm,
    rear_load_on_grade_kg,
    rear_share_kg,
    tilt_rad,
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


def test_a_level_bar_of_500_mm_draws_the_axle_100_mm_to_its_frame_end_at_300_mm_of_travel():
    assert lateral_shift_mm(500.0, 300.0) == pytest.approx(-100.0)  # 3, 4, 5: its reach is 400


def test_a_bar_that_comes_level_pushes_the_axle_to_its_axle_end():
    assert lateral_shift_mm(500.0, 300.0, 300.0) == pytest.approx(100.0)  # from a reach of 400 to 500


def test_a_bar_whose_frame_end_is_as_far_below_as_it_was_above_is_back_where_it_was():
    assert lateral_shift_mm(500.0, 600.0, 300.0) == pytest.approx(0.0, abs=1e-9)


def test_droop_of_a_bar_that_rises_to_the_frame_draws_the_axle_to_its_frame_end():
    assert lateral_shift_mm(500.0, -100.0, 300.0) == pytest.approx(-100.0)  # 400 apart: 300 of reach, and 400 now


@given(length=st.floats(500, 1200), travel=st.floats(-150, 150), rise=st.floats(-150, 150))
def test_shift_is_how_the_reach_of_a_bar_of_fixed_length_changes(length, travel, rise):
    now = math.sqrt(length**2 - rise**2)
    reach = now + lateral_shift_mm(length, travel, rise)
    assert math.hypot(reach, rise - travel) == pytest.approx(length)


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


# A live axle with one wheel up


def test_the_tilt_is_that_of_the_line_from_stop_to_stop():
    assert math.sin(tilt_rad(50.0, 70.0, 600.0)) == pytest.approx(0.2)  # (50 + 70) / 600


def test_stops_that_are_nearer_than_the_travel_between_them_leave_no_tilt():
    assert math.isnan(tilt_rad(300.0, 300.0, 599.0))


def test_a_hub_outboard_of_its_stop_rises_farther_than_the_stop():
    assert raised_hub_mm(50.0, math.asin(0.2), 1600.0, 600.0) == pytest.approx(150.0)  # 50 + 500 x 0.2


LEAN = math.asin(0.6)
"""A lean by which 3, 4, 5 gives round numbers."""


def test_a_point_of_the_raised_wheel_moves_inboard_by_its_height_and_its_track():
    # (350 - 50) x 0.6 + 800 x (1 - 0.8)
    assert lean_inboard_mm(350.0, 50.0, LEAN, 1600.0) == pytest.approx(180.0 + 160.0)


def test_the_same_point_of_the_dropped_wheel_moves_outboard_by_its_height_less_its_track():
    assert lean_outboard_mm(350.0, 50.0, LEAN, 1600.0) == pytest.approx(180.0 - 160.0)


@given(height=st.floats(-400, 400), center=st.floats(-200, 200), tilt=st.floats(0, 0.3), track=st.floats(1200, 2000))
def test_both_wheels_move_as_points_of_a_body_turned_about_the_roll_center(height, center, tilt, track):
    """Points of both wheels, turned about the middle at the roll center so that the right-hand one rises."""
    moved = []
    for x in (track / 2.0, -track / 2.0):
        z = height - center
        moved.append(x * math.cos(tilt) - z * math.sin(tilt) - x)  # to the right
    raised_in, dropped_out = -moved[0], -moved[1]
    assert lean_inboard_mm(height, center, tilt, track) == pytest.approx(raised_in, abs=1e-9)
    assert lean_outboard_mm(height, center, tilt, track) == pytest.approx(dropped_out, abs=1e-9)


# How far a tire sinks in


def test_the_present_tire_under_its_present_load_sinks_in_as_measured():
    assert deflection_mm(740.0, 350.0, 740.0, 1.0) == pytest.approx(20.0)


def test_a_larger_tire_sinks_in_by_as_much_more():
    assert deflection_mm(740.0, 350.0, 1480.0, 1.0) == pytest.approx(40.0)


def test_a_tire_under_more_load_sinks_in_by_as_much_more():
    assert deflection_mm(740.0, 350.0, 740.0, 1.5) == pytest.approx(30.0)


def test_a_hub_above_half_of_its_present_tire_tells_nothing():
    assert math.isnan(deflection_mm(740.0, 370.5, 740.0, 1.0))


def test_a_present_tire_that_does_not_sink_in_leaves_a_new_one_round():
    assert deflection_mm(740.0, 370.0, 814.0, 1.5) == 0.0


def test_a_hub_rises_with_its_tire_in_proportion():
    assert hub_rise_mm(350.0, 814.0, 740.0) == pytest.approx(35.0)  # a tenth larger


@given(height=st.floats(250, 360), now=st.floats(730, 800), new=st.floats(600, 1000))
def test_under_the_same_load_the_hubs_rise_is_half_the_diameter_less_what_it_sinks_in(height, now, new):
    by_sinking = new / 2.0 - deflection_mm(now, height, new, 1.0) - height
    assert hub_rise_mm(height, new, now) == pytest.approx(by_sinking, abs=1e-9)

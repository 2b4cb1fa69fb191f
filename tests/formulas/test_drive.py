"""Engine speed on the road, and the thrust that the drive wheels can put down."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.linalg import eigh

from combo.formulas.drive import (
    critical_speed_rpm,
    drag_n,
    engine_rpm,
    grip_factor,
    lift_divisor,
    low_side_share,
    mass_started_kg,
    resistance_on_grade,
    speedometer_error,
    start_share,
    steepest_start,
    thrust_n,
    torque_at_n_m,
)

FRICTION = st.floats(min_value=0.05, max_value=1.0)
HEIGHT = st.floats(min_value=0.0, max_value=0.4)
BIAS = st.floats(min_value=1.0, max_value=5.0)
KIND = st.sampled_from(["open", "limited_slip", "locked"])


def test_a_wheel_of_one_meter_around_turns_sixteen_and_two_thirds_times_a_second_at_60_km_h():
    assert engine_rpm(60.0, 1000.0 / (2 * math.pi), 1.0, 1.0) == pytest.approx(1000.0)


def test_60_mph_on_28_in_tires_with_3_73_gears_is_the_handbook_s_2687_rpm():
    handbook = 60 * 3.73 * (5280 * 12 / (60 * math.pi)) / 28
    assert engine_rpm(60 * 1.609344, 14 * 25.4, 1.0, 3.73) == pytest.approx(handbook)


def test_overdrive_lowers_the_engine_speed_by_its_ratio():
    assert engine_rpm(100.0, 350.0, 0.7, 3.0) == pytest.approx(0.7 * engine_rpm(100.0, 350.0, 1.0, 3.0))


def test_an_engine_whose_turbine_loses_a_fifth_turns_a_quarter_faster():
    assert engine_rpm(100.0, 350.0, 1.0, 3.0, 0.2) == pytest.approx(1.25 * engine_rpm(100.0, 350.0, 1.0, 3.0))


@given(slip=st.floats(0.0, 0.5))
def test_slip_is_what_the_turbine_turns_less_than_the_engine(slip):
    turbine, engine = engine_rpm(100.0, 350.0, 1.0, 3.0), engine_rpm(100.0, 350.0, 1.0, 3.0, slip)
    assert 1.0 - turbine / engine == pytest.approx(slip, abs=1e-12)


def test_an_unknown_gear_leaves_the_engine_speed_unknown():
    assert math.isnan(engine_rpm(100.0, 350.0, math.nan, 3.0))


@pytest.mark.parametrize(
    ("kind", "share"),
    [("open", 0.2), ("limited_slip", 0.35), ("locked", 0.5)],  # 0.2; (1 + 2.5) 0.2 / 2; (0.2 + 0.8) / 2
)
def test_without_load_transfer_grip_is_the_differentials_share(kind, share):
    assert grip_factor(kind, 0.2, 0.8, 0.0, 2.5) == pytest.approx(share)


@given(kind=KIND, low=FRICTION, high=FRICTION, height=HEIGHT, bias=BIAS)
def test_thrust_is_the_share_of_the_load_that_thrust_itself_raises(kind, low, high, height, bias):
    low, high = sorted((low, high))
    level = grip_factor(kind, low, high, 0.0, bias)
    thrust = grip_factor(kind, low, high, height, bias)
    assert thrust == pytest.approx(level * (1.0 + thrust * height))


@given(low=FRICTION, high=FRICTION, height=HEIGHT, bias=BIAS)
def test_a_limited_slip_stands_between_open_and_locked(low, high, height, bias):
    low, high = sorted((low, high))
    grips = [grip_factor(kind, low, high, height, bias) for kind in ("open", "limited_slip", "locked")]
    assert grips == pytest.approx(sorted(grips))


def test_on_even_friction_every_differential_grips_alike():
    assert grip_factor("open", 0.6, 0.6, 0.2) == pytest.approx(grip_factor("locked", 0.6, 0.6, 0.2))


def test_1850_lbf_on_the_rear_axle_put_down_1304():
    assert 1850 * grip_factor("locked", 0.62, 0.62, 21 / 108) == pytest.approx(1304.2, abs=0.05)  # 1147 / 0.87944


def test_a_limited_slip_without_a_bias_ratio_has_no_known_grip():
    assert math.isnan(grip_factor("limited_slip", 0.2, 0.8, 0.2))


def test_a_differential_that_is_none_of_the_three_is_refused():
    with pytest.raises(ValueError, match='"spool" is none of'):
        grip_factor("spool", 0.2, 0.8, 0.2)


REAR = st.floats(min_value=400, max_value=1600)
SHARE = st.floats(min_value=0.05, max_value=0.9)
PRELOAD = st.floats(min_value=0, max_value=200)
RESISTANCE = st.floats(min_value=0.0, max_value=0.3)
TRUCK_KG = 2000.0


@given(kind=KIND, low=FRICTION, high=FRICTION, bias=BIAS)
def test_the_share_is_what_grip_is_without_load_transfer(kind, low, high, bias):
    low, high = sorted((low, high))
    share = start_share(low_side_share(kind, bias), low, high, 0.0)
    assert float(share) == grip_factor(kind, low, high, 0.0, bias)


@pytest.mark.parametrize(("kind", "times"), [("open", 2.0), ("limited_slip", 3.5), ("locked", math.inf)])
def test_thrust_is_so_many_times_the_grip_of_the_low_side(kind, times):
    assert low_side_share(kind, 2.5) == times


def test_the_low_side_of_what_is_no_differential_is_refused():
    with pytest.raises(ValueError, match='"spool" is none of'):
        low_side_share("spool")


# The driveshaft's torque

LEVER = st.floats(min_value=0.0, max_value=0.15)


@given(low=FRICTION, lever=LEVER)
def test_an_open_differential_pulls_by_what_the_lifted_wheel_still_grips(low, lever):
    """F = 2 mu (W / 2 - W_y) with W_y = k F, of a load of 1."""
    thrust = float(start_share(2.0, low, 1.0, lever))
    assert thrust == pytest.approx(2.0 * low * (0.5 - lever * thrust))


@given(low=FRICTION, lever=LEVER, bias=BIAS, preload=st.floats(0.0, 0.1))
def test_a_limited_slip_pulls_by_the_low_side_its_bias_and_its_preload(low, lever, bias, preload):
    """F = (1 + bias) mu (W / 2 - W_y) + P with W_y = k F, of a load of 1; both parts are divided alike."""
    times = low_side_share("limited_slip", bias)
    thrust = times * low / 2.0 / lift_divisor(times, low, lever) + preload / lift_divisor(times, low, lever)
    assert thrust == pytest.approx((1.0 + bias) * low * (0.5 - lever * thrust) + preload)


@given(low=FRICTION, high=FRICTION, lever=LEVER)
def test_a_locked_differential_loses_nothing_to_the_driveshaft(low, high, lever):
    assert float(start_share(math.inf, low, high, lever)) == pytest.approx((low + high) / 2.0)


@given(low=FRICTION, high=FRICTION, lever=LEVER, bias=st.floats(1.0, 50.0))
def test_no_differential_pulls_more_than_both_sides_friction(low, high, lever, bias):
    low, high = sorted((low, high))
    assert start_share(1.0 + bias, low, high, lever) <= (low + high) / 2.0 + 1e-12


@pytest.mark.parametrize(("friction", "percent"), [(0.1, 1.0), (0.7, 8.0)])  # 2 x 0.1 or 0.7 x 0.36 / 5.968 m
def test_the_driveshaft_takes_1_percent_on_ice_and_8_on_dry_road(friction, percent):
    lever = 0.36 / (3.73 * 1.6)
    lost = 1.0 - start_share(2.0, friction, friction, lever) / start_share(2.0, friction, friction, 0.0)
    assert 100.0 * float(lost) == pytest.approx(percent, abs=0.3)


@given(rear=REAR, share=SHARE, preload=PRELOAD, height=HEIGHT, resistance=RESISTANCE, grade=st.floats(0.01, 0.4))
def test_the_mass_that_is_started_is_the_trucks_own_on_its_steepest_start(
    rear, share, preload, height, resistance, grade
):
    can = float(mass_started_kg(rear, TRUCK_KG, share, preload, height, resistance, grade))
    steepest = float(steepest_start(rear, TRUCK_KG, share, preload, height, resistance))
    if abs(steepest - grade) > 1e-6:
        assert (can > TRUCK_KG) == (steepest > grade)


def test_the_mass_that_is_started_on_a_3_4_5_slope_is_by_hand():
    # 0.5 x (1000 x 0.8 + 2000 x 0.2 x 0.6) + 20 = 540 over 0.6 + 0.1 x 0.8 = 0.68
    assert mass_started_kg(1000.0, TRUCK_KG, 0.5, 20.0, 0.2, 0.1, 0.75) == pytest.approx(540.0 / 0.68)


@given(rear=REAR, share=SHARE, preload=PRELOAD, height=HEIGHT, resistance=RESISTANCE)
def test_on_the_steepest_start_thrust_and_pull_balance(rear, share, preload, height, resistance):
    slope = math.atan(float(steepest_start(rear, TRUCK_KG, share, preload, height, resistance)))
    load = rear * math.cos(slope) + TRUCK_KG * height * math.sin(slope)
    pull = TRUCK_KG * (math.sin(slope) + resistance * math.cos(slope))
    assert share * load + preload - pull == pytest.approx(0.0, abs=1e-6)


@given(rears=st.tuples(REAR, REAR), share=SHARE, preload=PRELOAD, height=HEIGHT, resistance=RESISTANCE)
def test_more_load_on_the_rear_never_lowers_the_steepest_start(rears, share, preload, height, resistance):
    less, more = (steepest_start(rear, TRUCK_KG, share, preload, height, resistance) for rear in sorted(rears))
    assert more >= less - 1e-12


@given(rear=REAR, share=SHARE, preloads=st.tuples(PRELOAD, PRELOAD), height=HEIGHT, resistance=RESISTANCE)
def test_more_preload_never_lowers_the_steepest_start(rear, share, preloads, height, resistance):
    less, more = (steepest_start(rear, TRUCK_KG, share, load, height, resistance) for load in sorted(preloads))
    assert more >= less - 1e-12


def test_all_wheels_that_grip_by_0_5_start_on_a_grade_of_one_half():
    assert steepest_start(TRUCK_KG, TRUCK_KG, 0.5, 0.0, 0.0, 0.0) == pytest.approx(0.5)


def test_a_truck_that_does_not_start_on_the_level_needs_a_downhill():
    assert steepest_start(500.0, TRUCK_KG, 0.1, 0.0, 0.2, 0.2) < 0.0


def test_grip_that_grows_faster_than_the_pull_starts_on_any_grade():
    assert steepest_start(900.0, TRUCK_KG, 1.0, 0.0, 1.2, 0.0) == math.inf


@pytest.mark.parametrize("missing", range(6))
def test_the_steepest_start_is_not_known_without_all_its_inputs(missing):
    inputs = [900.0, TRUCK_KG, 0.3, 20.0, 0.25, 0.015]
    inputs[missing] = math.nan
    assert math.isnan(steepest_start(*inputs))


def test_thrust_is_torque_at_the_wheel_over_its_radius():
    assert thrust_n(100.0, 3.0, 4.0, 0.9, 300.0) == pytest.approx(3600.0)  # 1080 N m over 0.3 m


def test_drag_is_pressure_of_the_airstream_times_drag_area():
    assert drag_n(36.0, 0.5, 2.0) == pytest.approx(61.25)  # 0.5 x 1.225 x 10^2 x 1.0


def test_on_the_level_only_rolling_resistance_is_left():
    assert resistance_on_grade(0.0, 0.015) == pytest.approx(0.015)


def test_on_a_3_4_5_slope_gravity_pulls_by_three_fifths_of_the_weight():
    assert resistance_on_grade(0.75, 0.10) == pytest.approx(0.68)  # 0.6 + 0.10 x 0.8


CURVE_RPM, CURVE_N_M = np.array([1000.0, 2000.0, 4000.0]), np.array([300.0, 400.0, 200.0])


@pytest.mark.parametrize(("rpm", "torque"), [(1000.0, 300.0), (1250.0, 325.0), (2000.0, 400.0), (3500.0, 250.0)])
def test_torque_lies_on_straight_lines_between_the_points(rpm, torque):
    assert torque_at_n_m(rpm, CURVE_RPM, CURVE_N_M) == pytest.approx(torque)


@pytest.mark.parametrize("rpm", [999.0, 4001.0, math.nan])
def test_torque_is_not_known_outside_of_the_curve(rpm):
    assert math.isnan(torque_at_n_m(rpm, CURVE_RPM, CURVE_N_M))


def test_torque_is_not_known_without_a_curve():
    assert np.isnan(torque_at_n_m(np.array([1000.0, 2000.0]), np.array([]), np.array([]))).tolist() == [True, True]


def beam_rpm(length_m, outer_m, wall_m, modulus_pa, density_kg_m3, elements=8):
    """Lowest frequency of a simply supported tube by finite elements: cubic beams, consistent masses."""
    inner_m, step = outer_m - 2.0 * wall_m, length_m / elements
    bending = modulus_pa * math.pi / 64.0 * (outer_m**4 - inner_m**4)
    line_mass = density_kg_m3 * math.pi / 4.0 * (outer_m**2 - inner_m**2)
    scale = np.diag([1.0, step, 1.0, step])  # deflection and rotation at both ends
    springs = np.array([[12, 6, -12, 6], [6, 4, -6, 2], [-12, -6, 12, -6], [6, 2, -6, 4]])
    masses = np.array([[156, 22, 54, -13], [22, 4, 13, -3], [54, 13, 156, -22], [-13, -3, -22, 4]])
    stiffness, mass = np.zeros((2, 2 * elements + 2, 2 * elements + 2))
    for first in range(0, 2 * elements, 2):
        here = slice(first, first + 4)
        stiffness[here, here] += bending / step**3 * scale @ springs @ scale
        mass[here, here] += line_mass * step / 420.0 * scale @ masses @ scale
    free = np.delete(np.arange(2 * elements + 2), [0, 2 * elements])  # the ends do not deflect
    lowest = eigh(stiffness[np.ix_(free, free)], mass[np.ix_(free, free)], eigvals_only=True)[0]
    return 30.0 / math.pi * math.sqrt(lowest)


@pytest.mark.parametrize(
    ("length_mm", "diameter_mm", "wall_mm", "modulus_gpa", "density_kg_m3"),
    [
        (1200.0, 76.2, 3.175, 200.0, 7850.0),
        (1500.0, 88.9, 2.1, 200.0, 7850.0),
        (1600.0, 101.6, 3.2, 69.0, 2700.0),
        (600.0, 25.0, 12.5, 207.0, 7747.0),
    ],
)
def test_critical_speed_is_the_lowest_frequency_of_a_beam_of_finite_elements(
    length_mm, diameter_mm, wall_mm, modulus_gpa, density_kg_m3
):
    beam = beam_rpm(length_mm / 1e3, diameter_mm / 1e3, wall_mm / 1e3, modulus_gpa * 1e9, density_kg_m3)
    speed = critical_speed_rpm(length_mm, diameter_mm, wall_mm, modulus_gpa, density_kg_m3)
    assert speed == pytest.approx(beam, rel=0.01)


def test_a_shaft_of_twice_the_length_has_a_quarter_of_the_critical_speed():
    short, long = (critical_speed_rpm(length, 76.2, 3.175, 200.0, 7850.0) for length in (1000.0, 2000.0))
    assert long == pytest.approx(short / 4.0)


@pytest.mark.parametrize("missing", range(5))
def test_a_critical_speed_is_not_known_without_all_its_inputs(missing):
    inputs = [1200.0, 76.2, 3.175, 200.0, 7850.0]
    inputs[missing] = math.nan
    assert math.isnan(critical_speed_rpm(*inputs))


def test_a_speedometer_is_right_where_nothing_changes():
    assert speedometer_error(3.73, 720.0, 3.73, 720.0, 18.0, 18.0) == pytest.approx(0.0, abs=1e-15)


def test_a_speedometer_reads_high_by_what_the_shaft_turns_faster():
    assert speedometer_error(4.40, 720.0, 4.00, 720.0, 18.0, 18.0) == pytest.approx(0.10)


def test_tires_that_turn_more_often_a_mile_make_a_speedometer_read_high():
    assert speedometer_error(4.00, 756.0, 4.00, 720.0, 18.0, 18.0) == pytest.approx(0.05)


def test_a_driven_gear_of_as_many_more_teeth_sets_a_speedometer_right():
    assert speedometer_error(4.40, 720.0, 4.00, 720.0, 22.0, 20.0) == pytest.approx(0.0, abs=1e-15)


@pytest.mark.parametrize("missing", range(6))
def test_a_speedometer_s_error_is_not_known_without_all_its_inputs(missing):
    inputs = [4.10, 720.0, 3.42, 760.0, 20.0, 18.0]
    inputs[missing] = math.nan
    assert math.isnan(speedometer_error(*inputs))

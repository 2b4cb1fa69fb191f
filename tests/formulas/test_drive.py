"""Engine speed on the road, and the thrust that the drive wheels can put down."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combo.formulas.drive import engine_rpm, grip_factor

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


def test_converter_slip_raises_the_engine_speed_by_its_share():
    assert engine_rpm(100.0, 350.0, 1.0, 3.0, 0.05) == pytest.approx(1.05 * engine_rpm(100.0, 350.0, 1.0, 3.0))


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

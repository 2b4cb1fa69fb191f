"""A tire's sizes on a given rim, the load it may carry, and how it rolls."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from combo.formulas.tire import (
    LOAD_EXPONENT,
    capacity_on_truck_kg,
    cold_pressure_kpa,
    diameter_tolerance_mm,
    flotation_clearance_diameter_mm,
    flotation_diameter_mm,
    growth_mm,
    measuring_rim_of_flotation_mm,
    measuring_rim_of_series_mm,
    nominal_rim_diameter_mm,
    overall_diameter_mm,
    rolling_factor,
    rolling_factor_off,
    rolling_radius_from_revs_mm,
    rolling_radius_mm,
    section_width_on_rim_mm,
    static_loaded_radius_estimate_mm,
    theoretical_rim_width_mm,
    width_tolerance_mm,
)

SECTION = st.floats(min_value=100, max_value=400)
RIM = st.floats(min_value=80, max_value=350)


@given(section=SECTION, measuring=RIM, rims=st.tuples(RIM, RIM))
def test_a_wider_rim_never_narrows_the_section(section, measuring, rims):
    narrow, wide = sorted(rims)
    assert section_width_on_rim_mm(section, measuring, wide) >= section_width_on_rim_mm(section, measuring, narrow)


@given(section=SECTION, rim=RIM)
def test_on_its_measuring_rim_a_tire_has_its_listed_section(section, rim):
    assert section_width_on_rim_mm(section, rim, rim) == section


def test_half_an_inch_more_rim_widens_the_section_by_5_08_mm():
    assert section_width_on_rim_mm(235.0, 165.1, 177.8) == pytest.approx(240.08)  # 0.4 x 12.7


def test_a_235_75_15_stands_733_mm_tall():
    assert overall_diameter_mm(235.0, 75.0, 381.0) == 733.0  # 381 + 2 x 176 (176.25 rounded)


def test_a_section_height_of_a_half_rounds_up():
    assert overall_diameter_mm(250.0, 75.0, 381.0) == 757.0  # 381 + 2 x 188 (187.5 rounded)


def test_a_16_1_2_in_rim_is_419_mm():
    assert nominal_rim_diameter_mm(419.1) == 419.0


def test_a_31_in_flotation_size_stands_775_mm_tall():
    assert flotation_diameter_mm(787.4) == 775.0  # 787.4 - 12 = 775.4


def test_a_31_in_flotation_size_must_clear_781_mm():
    assert flotation_clearance_diameter_mm(787.4) == 781.0  # 787.4 - 6 = 781.4


@given(code=st.floats(min_value=500, max_value=1200))
def test_a_flotation_size_clears_6_mm_more_than_it_rolls_on(code):
    assert flotation_clearance_diameter_mm(code) - flotation_diameter_mm(code) == 6.0


@pytest.mark.parametrize(
    ("width", "aspect", "rim_in"),
    [
        (235.0, 75.0, 6.5),  # 6.48
        (235.0, 85.0, 6.5),
        (265.0, 70.0, 8.0),  # 7.82
        (205.0, 60.0, 6.0),  # 6.05
        (275.0, 55.0, 8.5),  # 8.66
        (225.0, 50.0, 7.0),  # 7.09
        (225.0, 45.0, 7.5),  # 7.53
        (285.0, 40.0, 10.0),  # 10.10
        (315.0, 35.0, 11.0),  # 11.16
    ],
)
def test_the_measuring_rim_of_a_series_is_its_share_to_the_nearest_half_inch(width, aspect, rim_in):
    assert measuring_rim_of_series_mm(width, aspect) / 25.4 == pytest.approx(rim_in)


def test_measuring_rims_of_columns_are_those_of_their_rows():
    columns = measuring_rim_of_series_mm(np.array([235.0, 225.0, 235.0]), np.array([75.0, 45.0, math.nan])) / 25.4
    assert columns.tolist() == pytest.approx([6.5, 7.5, math.nan], nan_ok=True)


def test_an_unknown_aspect_ratio_leaves_the_measuring_rim_unknown():
    assert math.isnan(measuring_rim_of_series_mm(200.0, math.nan))


@pytest.mark.parametrize(("width_in", "rim_in"), [(8.5, 7.0), (9.5, 7.5), (10.5, 8.5), (11.5, 9.0), (12.5, 10.0)])
def test_a_flotation_size_is_measured_on_0_80_of_its_width_to_the_nearest_half_inch(width_in, rim_in):
    assert measuring_rim_of_flotation_mm(width_in * 25.4) / 25.4 == pytest.approx(rim_in)


@pytest.mark.parametrize(("aspect", "share"), [(75.0, 0.70), (50.0, 0.70), (49.0, 0.85), (45.0, 0.85)])
def test_the_theoretical_rim_is_a_share_of_the_section(aspect, share):
    assert theoretical_rim_width_mm(200.0, aspect) == pytest.approx(200.0 * share)


def test_an_unknown_aspect_ratio_leaves_the_theoretical_rim_unknown():
    assert math.isnan(theoretical_rim_width_mm(200.0, math.nan))


def test_a_passenger_tire_on_a_truck_carries_its_rating_over_1_10():
    assert capacity_on_truck_kg(1100.0, 1.0) == pytest.approx(1000.0)


def test_a_light_truck_tire_carries_its_rating():
    assert capacity_on_truck_kg(1100.0, 0.0) == 1100.0


def test_a_tire_of_unknown_service_carries_an_unknown_load():
    assert math.isnan(capacity_on_truck_kg(1100.0, math.nan))


def test_without_a_factor_a_tire_rolls_on_half_its_diameter():
    assert rolling_radius_mm(700.0) == 350.0


def test_the_rolling_factor_scales_the_radius():
    assert rolling_radius_mm(700.0, 0.97) == pytest.approx(339.5)


CONSTRUCTION = np.array([1.0, 0.0, math.nan])
"""Radial, bias, not known."""


def test_a_loaded_tire_rolls_by_its_construction():
    assert rolling_factor(CONSTRUCTION).tolist() == [0.97, 0.98, 0.975]


def test_the_factor_of_an_unknown_construction_is_off_by_half_as_much_again():
    assert rolling_factor_off(CONSTRUCTION).tolist() == [0.01, 0.01, 0.015]


def test_the_factor_of_an_unknown_construction_covers_those_of_both():
    factor, off = rolling_factor(CONSTRUCTION), rolling_factor_off(CONSTRUCTION)
    both = np.array([factor[:2] - off[:2], factor[:2] + off[:2]])
    assert (factor[2] - off[2], factor[2] + off[2]) == (pytest.approx(both.min()), pytest.approx(both.max()))


@given(revs=st.floats(min_value=300, max_value=1500))
def test_declared_revolutions_roll_one_mile(revs):
    assert 2 * math.pi * rolling_radius_from_revs_mm(revs) * revs == pytest.approx(1609344.0)


def test_the_estimated_loaded_radius_is_3_1_2_percent_of_the_diameter_short():
    assert static_loaded_radius_estimate_mm(800.0) == pytest.approx(372.0)  # 400 - 28


PART = st.floats(min_value=0.05, max_value=1.0)
EXPONENT = st.sampled_from(sorted(LOAD_EXPONENT.values()))


@given(part=PART, exponent=EXPONENT)
def test_at_its_cold_pressure_a_tire_carries_just_its_load(part, exponent):
    pressure = cold_pressure_kpa(part * 1200.0, 1200.0, 550.0, exponent)
    assert 1200.0 * (pressure / 550.0) ** exponent == pytest.approx(part * 1200.0)


@given(parts=st.tuples(PART, PART), exponent=EXPONENT)
def test_more_load_never_needs_less_pressure(parts, exponent):
    less, more = (cold_pressure_kpa(part * 1200.0, 1200.0, 550.0, exponent) for part in sorted(parts))
    assert more >= less


def test_at_its_rated_load_a_tire_needs_its_rated_pressure():
    assert cold_pressure_kpa(1200.0, 1200.0, 550.0, 0.7) == 550.0


def test_no_pressure_carries_more_than_the_rated_load():
    assert math.isnan(cold_pressure_kpa(1200.1, 1200.0, 550.0, 0.7))


@pytest.mark.parametrize("missing", range(3))
def test_a_pressure_is_not_known_without_all_its_inputs(missing):
    inputs = [1000.0, 1200.0, 550.0]
    inputs[missing] = math.nan
    assert math.isnan(cold_pressure_kpa(*inputs, 0.7))


def test_a_radial_may_be_wider_by_4_percent():
    assert width_tolerance_mm(250.0, 1.0) == pytest.approx(10.0)


@pytest.mark.parametrize("is_radial", [0.0, math.nan])
def test_a_tire_that_is_not_known_to_be_radial_may_be_wider_by_6_percent(is_radial):
    assert width_tolerance_mm(250.0, is_radial) == pytest.approx(15.0)


def test_a_radial_may_be_larger_by_4_percent_of_twice_its_section_height():
    assert diameter_tolerance_mm(781.0, 381.0, 1.0) == pytest.approx(16.0)  # 0.04 x 400


@pytest.mark.parametrize("is_radial", [0.0, math.nan])
def test_a_tire_that_is_not_known_to_be_radial_may_be_larger_by_8_percent_of_it(is_radial):
    assert diameter_tolerance_mm(781.0, 381.0, is_radial) == pytest.approx(32.0)


def test_at_160_km_h_a_tire_has_grown_by_its_share():
    assert growth_mm(800.0, 0.01, 160.0) == pytest.approx(8.0)


def test_at_half_the_speed_a_tire_has_grown_a_quarter_as_much():
    assert growth_mm(800.0, 0.01, 80.0) == pytest.approx(2.0)

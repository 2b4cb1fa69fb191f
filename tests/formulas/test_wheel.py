"""Geometry of a wheel: offset, backspace, flange, spacer."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from combo.formulas.wheel import (
    backspace_from_offset_mm,
    offset_from_backspace_mm,
    offset_on_spacer_mm,
    overall_width_mm,
    reach_inward_mm,
    reach_outward_mm,
)

SIZE = st.floats(min_value=-1000, max_value=1000)
WIDTH = st.floats(min_value=50, max_value=500)
FLANGE = st.floats(min_value=0, max_value=30)
BASIS = st.sampled_from(["flange", "shorthand"])


@given(offset=SIZE, width=WIDTH, flange=FLANGE, basis=BASIS)
def test_offset_to_backspace_and_back_is_the_same_offset(offset, width, flange, basis):
    backspace = backspace_from_offset_mm(offset, width, flange, basis=basis)
    assert offset_from_backspace_mm(backspace, width, flange, basis=basis) == pytest.approx(offset, abs=1e-9)


@given(backspace=SIZE, width=WIDTH, flange=FLANGE, basis=BASIS)
def test_backspace_to_offset_and_back_is_the_same_backspace(backspace, width, flange, basis):
    offset = offset_from_backspace_mm(backspace, width, flange, basis=basis)
    assert backspace_from_offset_mm(offset, width, flange, basis=basis) == pytest.approx(backspace, abs=1e-9)


@given(backspace=SIZE, width=WIDTH, flange=FLANGE)
def test_the_shorthand_makes_the_offset_larger_by_one_flange(backspace, width, flange):
    shorthand = offset_from_backspace_mm(backspace, width, flange, basis="shorthand")
    assert shorthand - offset_from_backspace_mm(backspace, width, flange) == pytest.approx(flange, abs=1e-9)


@given(offset=SIZE, thickness=st.floats(min_value=0, max_value=100))
def test_a_spacer_lowers_the_offset_by_its_thickness(offset, thickness):
    assert offset - offset_on_spacer_mm(offset, thickness) == pytest.approx(thickness, abs=1e-9)


@given(offset=SIZE, thickness=st.floats(min_value=0, max_value=100), width=WIDTH)
def test_a_spacer_lowers_the_backspace_by_its_thickness(offset, thickness, width):
    spaced = backspace_from_offset_mm(offset_on_spacer_mm(offset, thickness), width)
    assert backspace_from_offset_mm(offset, width) - spaced == pytest.approx(thickness, abs=1e-9)


@given(offset=SIZE, section=WIDTH)
def test_reach_inward_and_outward_add_up_to_the_section(offset, section):
    assert reach_inward_mm(offset, section) + reach_outward_mm(offset, section) == pytest.approx(section, abs=1e-9)


def test_a_9_in_rim_with_5_1_4_in_backspace_has_a_quarter_inch_of_offset():
    assert offset_from_backspace_mm(133.35, 228.6) == pytest.approx(6.35)


def test_a_9_in_rim_with_5_1_4_in_backspace_has_3_4_in_by_the_shorthand():
    # common practice, no source: 9 in rim, 5 1/4 in backspace, 3/4 in offset
    assert offset_from_backspace_mm(133.35, 228.6, basis="shorthand") == pytest.approx(19.05)


def test_a_mounting_face_on_the_centerline_has_half_the_overall_width_as_backspace():
    assert backspace_from_offset_mm(0.0, 203.2) == pytest.approx(114.3)  # (8 + 1) / 2 in


def test_a_flange_of_half_an_inch_widens_an_8_in_rim_to_9_in():
    assert overall_width_mm(203.2) == pytest.approx(228.6)


def test_positive_offset_reaches_inward():
    assert reach_inward_mm(10.0, 200.0) == 110.0


def test_positive_offset_draws_the_outer_sidewall_in():
    assert reach_outward_mm(10.0, 200.0) == 90.0


def test_an_unknown_backspace_leaves_the_offset_unknown():
    assert math.isnan(offset_from_backspace_mm(math.nan, 203.2))


def test_whole_columns_are_computed_row_by_row():
    offsets = offset_from_backspace_mm(np.array([114.3, 139.7]), np.array([203.2, 203.2]))
    assert offsets == pytest.approx([0.0, 25.4])


@pytest.mark.parametrize("formula", [offset_from_backspace_mm, backspace_from_offset_mm])
def test_an_unknown_basis_is_refused(formula):
    with pytest.raises(ValueError, match='"rim" is neither "flange" nor "shorthand"'):
        formula(100.0, 203.2, basis="rim")

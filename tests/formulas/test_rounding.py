"""Halves go up, those that binary fractions have lost among them."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combo.formulas.rounding import half_up


@given(st.integers(-(10**12), 10**12))
def test_a_decimal_is_rounded_as_on_paper(ten_thousandths):
    on_paper = (2 * ten_thousandths + 10_000) // 20_000
    assert float(half_up(ten_thousandths / 10_000)) == on_paper
    assert float(half_up(ten_thousandths * 0.0001)) == on_paper


@pytest.mark.parametrize(("width", "aspect"), [(205, 30), (205, 50), (205, 90), (410, 25), (410, 95)])
def test_a_half_that_floats_fall_short_of_goes_up(width, aspect):
    assert 0.01 * width * aspect < width * aspect / 100  # else the case says nothing
    assert float(half_up(0.01 * width * aspect)) == (width * aspect + 50) // 100


def test_what_is_not_known_stays_so():
    assert math.isnan(float(half_up(float("nan"))))

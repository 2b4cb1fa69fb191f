"""Spread of a margin from the plus-or-minus of its inputs, and its chance to clear."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from combo.formulas.chance import chance_of_clearing, spread, spreads_for

DRAWS = 200_000
SIZE = st.floats(min_value=0.01, max_value=50)


def spread_of(*half_widths):
    return float(spread([np.array([half_width]) for half_width in half_widths])[0])


LIKE_SIZES = [(1.0, 1.0, 1.0, 1.0), (2.0, 1.5, 1.5, 1.0, 1.0), (3.0, 2.5, 2.0, 2.0, 1.0, 1.0)]
ONE_OUTWEIGHS = [(2.0, 1.5, 1.0, 1.0, 0.5), (3.0, 0.5, 0.5, 0.5), (3.0,)]


def share_cleared(margin, half_widths):
    """Share of draws, every input uniform over its plus-or-minus, in which the margin stays zero or more."""
    draws = np.random.default_rng(20240229).uniform(-1.0, 1.0, (DRAWS, len(half_widths)))
    return float(np.mean(margin + draws @ np.array(half_widths) >= 0.0))


@pytest.mark.parametrize("half_widths", LIKE_SIZES)
@pytest.mark.parametrize("margin", [-1.5, 0.0, 0.5, 1.0, 2.0, 3.0])
def test_chance_agrees_with_a_draw_of_four_or_more_inputs_of_like_size(margin, half_widths):
    chance = chance_of_clearing(margin, spread_of(*half_widths))
    assert chance == pytest.approx(share_cleared(margin, half_widths), abs=0.01)


@pytest.mark.parametrize("half_widths", LIKE_SIZES + ONE_OUTWEIGHS)
def test_a_margin_for_a_chance_of_0_99_clears_at_least_so_often(half_widths):
    assert share_cleared(spreads_for(0.99) * spread_of(*half_widths), half_widths) >= 0.99


def test_spread_agrees_with_a_draw_of_one_input():
    draws = np.random.default_rng(20240229).uniform(-3.0, 3.0, DRAWS)
    assert spread_of(3.0) == pytest.approx(draws.std(), rel=0.01)


def test_spread_is_told_for_every_row():
    spreads = spread([np.array([3.0, 6.0]), np.array([4.0, 8.0])])
    assert spreads == pytest.approx([5.0 / math.sqrt(3.0), 10.0 / math.sqrt(3.0)])


@given(half_widths=st.lists(SIZE, min_size=1, max_size=6))
def test_spread_is_no_more_than_the_worst_case_over_the_root_of_three(half_widths):
    assert spread_of(*half_widths) <= sum(half_widths) / math.sqrt(3.0) * (1.0 + 1e-12)


@given(half_widths=st.lists(SIZE, min_size=1, max_size=6), more=SIZE)
def test_one_more_plus_or_minus_never_narrows_the_spread(half_widths, more):
    assert spread_of(*half_widths, more) >= spread_of(*half_widths)


def test_an_unknown_plus_or_minus_leaves_the_spread_unknown():
    assert math.isnan(spread_of(1.0, math.nan))


@given(margin=st.floats(min_value=-100, max_value=100), size=SIZE)
def test_chances_of_a_margin_and_of_its_opposite_add_up_to_one(margin, size):
    assert chance_of_clearing(margin, size) + chance_of_clearing(-margin, size) == pytest.approx(1.0)


@given(margins=st.tuples(st.floats(-100, 100), st.floats(-100, 100)), size=SIZE)
def test_a_larger_margin_is_never_less_likely_to_clear(margins, size):
    less, more = sorted(margins)
    assert chance_of_clearing(more, size) >= chance_of_clearing(less, size)


@given(chance=st.floats(min_value=0.01, max_value=0.999), size=SIZE)
def test_a_margin_of_so_many_spreads_clears_with_the_chance_asked_for(chance, size):
    assert chance_of_clearing(spreads_for(chance) * size, size) == pytest.approx(chance, abs=1e-9)


@pytest.mark.parametrize(("margin", "chance"), [(1.0, 1.0), (0.0, 1.0), (-0.001, 0.0)])
def test_without_a_spread_a_margin_clears_or_not(margin, chance):
    assert chance_of_clearing(margin, 0.0) == chance


@pytest.mark.parametrize(("margin", "size"), [(math.nan, 1.0), (1.0, math.nan), (math.nan, 0.0)])
def test_the_chance_of_what_is_not_known_is_not_known(margin, size):
    assert math.isnan(chance_of_clearing(margin, size))

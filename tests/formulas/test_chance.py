"""Spread of a margin from the plus-or-minus of its inputs, its chance to clear, and what a chance asks for."""

import itertools
import math
from fractions import Fraction
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from combo.formulas.chance import EXACT_TERMS, allowance, chance_of_clearing, is_exact, spread, spreads_for

DRAWS = 200_000
SIZE = st.floats(min_value=0.01, max_value=50)
SIZES = st.lists(SIZE, min_size=1, max_size=6)
UNLIKE = st.lists(st.floats(-6.0, 0.0).map(lambda power: 10.0**power), min_size=1, max_size=EXACT_TERMS)  # 6 decades
WANTED = st.floats(min_value=0.5001, max_value=0.999999)

ONE_OUTWEIGHS_MANY = (1.0,) + (0.1,) * 10
MANY_ALIKE = (1.0,) * 12


def rows_of(half_widths):
    return [np.array([half_width]) for half_width in half_widths]


def spread_of(*half_widths):
    return float(spread(rows_of(half_widths))[0])


def chance_of(margin, half_widths):
    return float(chance_of_clearing(np.array([margin]), rows_of(half_widths))[0])


def allowance_of(half_widths, chance):
    return float(allowance(rows_of(half_widths), chance)[0])


def share_cleared(margin, half_widths):
    """Share of draws, every input uniform over its plus-or-minus, in which the margin stays zero or more."""
    draws = np.random.default_rng(20240229).uniform(-1.0, 1.0, (DRAWS, len(half_widths)))
    return float(np.mean(margin + draws @ np.array(half_widths) >= 0.0))


def closed_form(x, half_widths):
    """Chance that a sum of uniforms is x or less, in fractions."""
    widths = [Fraction(half_width) for half_width in half_widths]
    total = Fraction(0)
    for signs in itertools.product((1, -1), repeat=len(widths)):
        end = Fraction(x) + sum(sign * width for sign, width in zip(signs, widths, strict=True))
        total += math.prod(signs) * max(end, Fraction(0)) ** len(widths)
    return total / (math.factorial(len(widths)) * 2 ** len(widths) * math.prod(widths))


# By convolution: a distribution as pieces, each a start and a polynomial of what x is above it; zero before the first.


def value(pieces, x):
    within = [(start, factors) for start, factors in pieces if start <= x]
    return sum(factor * (x - within[-1][0]) ** power for power, factor in enumerate(within[-1][1])) if within else 0


def integral(pieces):
    found, total = [], Fraction(0)
    for at, (start, factors) in enumerate(pieces):
        found.append((start, [total, *(factor / (power + 1) for power, factor in enumerate(factors))]))
        if at + 1 < len(pieces):
            total = value(found, pieces[at + 1][0])
    return found


def taken_up_at(pieces, start):
    """The polynomial that holds from a start on, as one of what x is above that start."""
    within = [(own, factors) for own, factors in pieces if own <= start]
    if not within:
        return [Fraction(0)]
    own, factors = within[-1]
    return [
        sum(factors[power] * math.comb(power, at) * (start - own) ** (power - at) for power in range(at, len(factors)))
        for at in range(len(factors))
    ]


def convolved(pieces, half_width):
    """The mean of a distribution from half a width below to half a width above."""
    whole = integral(pieces)
    later = [(start - half_width, factors) for start, factors in whole]
    sooner = [(start + half_width, factors) for start, factors in whole]
    found = []
    for start in sorted({start for start, _ in later + sooner}):
        both = itertools.zip_longest(taken_up_at(later, start), taken_up_at(sooner, start), fillvalue=Fraction(0))
        found.append((start, [(more - less) / (2 * half_width) for more, less in both]))
    return found


@given(
    widths=st.lists(st.fractions(Fraction(1, 20), 3, max_denominator=20), min_size=1, max_size=5),
    share=st.fractions(Fraction(-11, 10), Fraction(11, 10), max_denominator=50),
)
@settings(max_examples=60, deadline=None)
def test_closed_form_is_what_convolution_gives(widths, share):
    pieces = [(Fraction(0), [Fraction(1)])]  # certain: zero
    for width in widths:
        pieces = convolved(pieces, width)
    x = share * sum(widths)
    assert closed_form(x, widths) == value(pieces, x)


# The chance


@given(half_widths=UNLIKE, share=st.floats(-1.0, 1.0))
@settings(max_examples=150, deadline=None)
def test_chance_is_that_of_the_closed_form_however_unlike_the_losses(half_widths, share):
    margin = share * sum(half_widths)
    assert chance_of(margin, half_widths) == pytest.approx(float(closed_form(margin, half_widths)), abs=1e-12)


@given(half_widths=UNLIKE, signs=st.lists(st.sampled_from([-1, 0, 1]), min_size=8, max_size=8), beside=st.floats(-1, 1))
@settings(max_examples=150, deadline=None)
def test_chance_is_that_of_the_closed_form_beside_its_corners(half_widths, signs, beside):
    margin = sum(sign * own for sign, own in zip(signs, half_widths, strict=False)) + beside * min(half_widths)
    assert chance_of(margin, half_widths) == pytest.approx(float(closed_form(margin, half_widths)), abs=1e-12)


@pytest.mark.parametrize("count", range(1, EXACT_TERMS + 1))
def test_chance_of_equal_losses_is_that_of_the_closed_form(count):
    for margin in np.linspace(-count, count, 13).tolist():
        assert chance_of(margin, [1.0] * count) == pytest.approx(float(closed_form(margin, [1.0] * count)), abs=1e-14)


def test_summing_up_the_closed_form_in_floats_would_not_do():
    half_widths, margin = [1.0, 0.9, 1e-5, 1e-5, 1e-5, 1e-6], 0.4
    total = sum(
        math.prod(signs) * max(margin + sum(s * a for s, a in zip(signs, half_widths, strict=True)), 0.0) ** 6
        for signs in itertools.product((1, -1), repeat=6)
    )
    summed_up = total / (math.factorial(6) * 2**6 * math.prod(half_widths))
    exact = float(closed_form(margin, half_widths))
    assert abs(summed_up - exact) > 0.1
    assert chance_of(margin, half_widths) == pytest.approx(exact, abs=1e-14)


def test_one_loss_clears_with_the_share_of_its_width():
    assert chance_of(0.64, [1.0]) == pytest.approx(0.82, abs=1e-15)
    assert NormalDist().cdf(0.64 * math.sqrt(3.0)) > 0.86  # what a normal distribution would tell


@pytest.mark.parametrize(
    "half_widths",
    [
        (3.0,),
        (3.0, 0.5, 0.5, 0.5),
        (2.0, 1.5, 1.0, 1.0, 0.5),
        (1.0,) * 9,
        ONE_OUTWEIGHS_MANY,
        MANY_ALIKE,
        (1.0, 1.0) + (0.3,) * 12,
    ],
)
@pytest.mark.parametrize("share", [-0.4, 0.0, 0.2, 0.4, 0.8])
def test_chance_agrees_with_draws(half_widths, share):
    margin = share * sum(half_widths)
    assert chance_of(margin, half_widths) == pytest.approx(share_cleared(margin, half_widths), abs=0.005)


@pytest.mark.parametrize("margin", [0.8, 0.9, 1.0, 1.1])
def test_many_small_losses_do_not_make_one_large_loss_normal(margin):
    drawn = share_cleared(margin, ONE_OUTWEIGHS_MANY)
    assert chance_of(margin, ONE_OUTWEIGHS_MANY) == pytest.approx(drawn, abs=0.002)


def test_a_normal_chance_of_one_large_loss_would_be_off():
    normal = NormalDist().cdf(0.8 / spread_of(*ONE_OUTWEIGHS_MANY))
    assert abs(normal - share_cleared(0.8, ONE_OUTWEIGHS_MANY)) > 0.01


@given(margin=st.floats(min_value=-5.9, max_value=5.9))
def test_many_losses_alike_are_taken_as_normal(margin):
    normal = NormalDist().cdf(margin / spread_of(*MANY_ALIKE))
    assert chance_of(margin, MANY_ALIKE) == pytest.approx(normal, abs=1e-12)


@given(margin=st.floats(min_value=-100, max_value=100), half_widths=SIZES)
def test_chances_of_a_margin_and_of_its_opposite_add_up_to_one(margin, half_widths):
    assert chance_of(margin, half_widths) + chance_of(-margin, half_widths) == pytest.approx(1.0)


@given(margins=st.tuples(st.floats(-100, 100), st.floats(-100, 100)), half_widths=SIZES)
def test_a_larger_margin_is_never_less_likely_to_clear(margins, half_widths):
    less, more = sorted(margins)
    assert chance_of(more, half_widths) >= chance_of(less, half_widths) - 1e-14


@given(half_widths=st.lists(SIZE, max_size=12), more=st.floats(0.0, 10.0))
def test_only_what_clears_with_every_loss_at_once_is_certain(half_widths, more):
    most = sum(half_widths)
    assert chance_of(most + more, half_widths) == 1.0
    if half_widths:
        assert 0.5 < chance_of(math.nextafter(most, 0.0), half_widths) < 1.0


@given(half_widths=st.lists(SIZE, min_size=1, max_size=12), more=st.floats(0.0, 10.0))
def test_only_what_fails_with_every_gain_at_once_has_no_chance(half_widths, more):
    most = sum(half_widths)
    assert chance_of(-most - more, half_widths) == 0.0
    assert 0.0 < chance_of(-math.nextafter(most, 0.0), half_widths) < 0.5


@pytest.mark.parametrize("half_widths", [(), (0.0,), (0.0, 0.0)])
@pytest.mark.parametrize(("margin", "chance"), [(1.0, 1.0), (0.0, 1.0), (-0.001, 0.0)])
def test_without_a_loss_a_margin_clears_or_not(half_widths, margin, chance):
    assert chance_of(margin, half_widths) == chance


@pytest.mark.parametrize("margin", [-0.7, 0.3, 1.2])
def test_losses_of_zero_change_nothing(margin):
    assert chance_of(margin, (0.0, 1.0, 0.0, 0.5) + (0.0,) * 8) == chance_of(margin, (1.0, 0.5))


@pytest.mark.parametrize("half_widths", [(1.0,), (0.0,), (), (math.nan,), (math.inf,)])
def test_the_chance_of_an_unknown_margin_is_not_known(half_widths):
    assert math.isnan(chance_of(math.nan, half_widths))


@pytest.mark.parametrize("margin", [-1.0, 0.0, 1.0])
def test_the_chance_with_an_unknown_loss_is_not_known(margin):
    assert math.isnan(chance_of(margin, (1.0, math.nan)))


@pytest.mark.parametrize(("margin", "chance"), [(math.inf, 1.0), (-math.inf, 0.0)])
def test_an_endless_margin_is_certain(margin, chance):
    assert chance_of(margin, (1.0, 2.0)) == chance


# The margin that a chance asks for


@given(half_widths=UNLIKE, chance=WANTED)
@settings(max_examples=100, deadline=None)
def test_allowance_is_the_quantile_of_the_closed_form(half_widths, chance):
    margin = allowance_of(half_widths, chance)
    narrow = Fraction(1, 10**9) * Fraction(margin)
    assert closed_form(margin - narrow, half_widths) <= Fraction(chance) <= closed_form(margin + narrow, half_widths)


@given(half_widths=st.lists(SIZE, min_size=1, max_size=14), chance=WANTED)
@settings(max_examples=60, deadline=None)
def test_a_margin_of_the_allowance_clears_with_the_chance_asked_for(half_widths, chance):
    assert chance_of(allowance_of(half_widths, chance), half_widths) == pytest.approx(chance, abs=1e-9)


@example(half_widths=list(MANY_ALIKE), power=15)
@given(half_widths=st.lists(st.one_of(st.just(0.0), SIZE), min_size=1, max_size=14), power=st.integers(1, 15))
@settings(max_examples=100, deadline=None)
def test_allowance_is_never_more_than_the_sum_of_the_losses(half_widths, power):
    assert 0.0 <= allowance_of(half_widths, 1.0 - 10.0**-power) <= sum(half_widths)


@given(half_widths=SIZES, chances=st.tuples(WANTED, WANTED))
@settings(deadline=None)
def test_a_larger_chance_never_asks_for_less(half_widths, chances):
    less, more = sorted(chances)
    assert allowance_of(half_widths, more) >= allowance_of(half_widths, less) - 1e-9


@pytest.mark.parametrize("half_widths", [(2.0, 1.5, 1.5, 1.0), (3.0, 0.5, 0.5, 0.5), ONE_OUTWEIGHS_MANY, MANY_ALIKE])
@pytest.mark.parametrize("chance", [0.8, 0.95, 0.99])
def test_so_often_draws_clear_with_the_allowance(half_widths, chance):
    assert share_cleared(allowance_of(half_widths, chance), half_widths) == pytest.approx(chance, abs=0.004)


def test_many_losses_alike_ask_for_as_many_spreads_as_normal_ones():
    assert allowance_of(MANY_ALIKE, 0.99) == pytest.approx(spreads_for(0.99) * spread_of(*MANY_ALIKE), rel=1e-11)


@given(own=st.lists(SIZE, min_size=2, max_size=10), data=st.data())
@settings(max_examples=50, deadline=None)
def test_allowance_is_the_same_to_the_last_digit_in_whatever_order_the_losses_come(own, data):
    assert allowance_of(own, 0.99) == allowance_of(data.draw(st.permutations(own)), 0.99)


def mixed_rows():
    """Rows with none to ten losses, alike and unlike, whose subtraction has left its last digits."""
    draw = np.random.default_rng(5)
    table = draw.choice([0.0, 0.0, 0.5, 1.0, 2.5, 1e-4], (300, 10)) * draw.choice([1.0, 1.0 + 1e-15], (300, 1))
    table[:3] = [[0.0] * 10, [1.0] * 10, [math.nan] + [1.0] * 9]
    return list(table.T), draw.uniform(-5.0, 5.0, 300)


def test_no_row_depends_on_another():
    losses, margins = mixed_rows()
    together = chance_of_clearing(margins, losses), allowance(losses, 0.97), is_exact(losses)
    for at in range(len(margins)):
        own = [loss[at : at + 1] for loss in losses]
        alone = chance_of_clearing(margins[at : at + 1], own), allowance(own, 0.97), is_exact(own)
        assert [one.tobytes() for one in alone] == [every[at : at + 1].tobytes() for every in together]


def test_more_rows_than_are_worked_out_at_once_are_told_alike():
    losses = [np.random.default_rng(at).uniform(0.5, 3.0, 700) for at in range(8)]
    margins = np.linspace(0.0, 4.0, 700)
    together, needed = chance_of_clearing(margins, losses), allowance(losses, 0.9)
    for at in (0, 255, 256, 511, 699):
        own = [float(loss[at]) for loss in losses]
        assert (chance_of(float(margins[at]), own), allowance_of(own, 0.9)) == (together[at], needed[at])


def test_rows_that_differ_by_what_subtraction_leaves_ask_for_the_same():
    exact, left = [np.array([3.0, 3.0]), np.array([1.0, 64.1 - 63.1])], 64.1 - 63.1
    assert left != 1.0
    needed = allowance(exact, 0.99)
    assert needed[0] == needed[1]


def test_losses_broadcast_with_margins():
    margins, losses = np.array([[0.5], [1.0]]), [np.array([1.0, 2.0, 0.0]), np.array(0.5)]
    chances, needed = chance_of_clearing(margins, losses), allowance(losses, 0.9)
    assert (chances.shape, needed.shape, is_exact(losses).shape) == ((2, 3), (3,), (3,))
    assert chances[1, 1] == chance_of(1.0, (2.0, 0.5))
    assert needed[0] == allowance_of((1.0, 0.5), 0.9)


def test_without_rows_there_is_nothing_to_tell():
    nothing = np.empty(0)
    assert chance_of_clearing(nothing, [nothing, nothing]).shape == allowance([nothing], 0.9).shape == (0,)


def test_without_losses_nothing_is_asked_for():
    assert float(allowance([], 0.99)) == 0.0
    assert allowance_of((0.0, 0.0), 0.99) == 0.0


def test_what_an_unknown_loss_asks_for_is_not_known():
    assert math.isnan(allowance_of((1.0, math.nan), 0.99))


@pytest.mark.parametrize("chance", [0.5, 1.0, 0.0, math.nan])
def test_a_chance_that_asks_for_nothing_or_for_all_is_refused(chance):
    with pytest.raises(ValueError, match=r"above 0\.5 and below 1"):
        allowance([np.array([1.0])], chance)


def test_eight_losses_that_matter_are_exact_and_nine_are_not():
    assert is_exact(rows_of([1.0] * 8 + [0.0, 1e-12])).tolist() == [True]
    assert is_exact(rows_of([1.0] * 8 + [0.001])).tolist() == [False]
    assert is_exact([]).tolist() is True


@given(chance=st.floats(min_value=0.01, max_value=0.999))
def test_so_many_normal_spreads_clear_with_the_chance_asked_for(chance):
    assert NormalDist().cdf(spreads_for(chance)) == pytest.approx(chance, abs=1e-9)


# The spread


def test_spread_agrees_with_a_draw_of_one_input():
    draws = np.random.default_rng(20240229).uniform(-3.0, 3.0, DRAWS)
    assert spread_of(3.0) == pytest.approx(draws.std(), rel=0.01)


def test_spread_is_told_for_every_row():
    spreads = spread([np.array([3.0, 6.0]), np.array([4.0, 8.0])])
    assert spreads == pytest.approx([5.0 / math.sqrt(3.0), 10.0 / math.sqrt(3.0)])


@given(half_widths=SIZES)
def test_spread_is_no_more_than_the_worst_case_over_the_root_of_three(half_widths):
    assert spread_of(*half_widths) <= sum(half_widths) / math.sqrt(3.0) * (1.0 + 1e-12)


@given(half_widths=SIZES, more=SIZE)
def test_one_more_plus_or_minus_never_narrows_the_spread(half_widths, more):
    assert spread_of(*half_widths, more) >= spread_of(*half_widths)


def test_an_unknown_plus_or_minus_leaves_the_spread_unknown():
    assert math.isnan(spread_of(1.0, math.nan))

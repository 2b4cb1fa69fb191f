"""Uncertainty of a margin and its chance: the guide, its supplement, sums of uniforms, the standard normal table.

All figures are from memory.
"""

import math
from statistics import NormalDist

import numpy as np
import pytest
from figures import half_last_digit, rows

from combo.formulas.chance import allowance, chance_of_clearing, is_exact, spread, spreads_for

NORMAL = [np.array([0.5])] * 12  # so many alike are taken as normal; their standard uncertainty is 1


def published(quantity):
    return [row for row in rows("chance.csv") if row["quantity"] == quantity]


def case(row):
    return row["case"]


def normal_chance(margin):
    return float(chance_of_clearing(np.array([margin]), NORMAL)[0])


def one_side(percent):
    """Chance on one side of what holds a per cent between two."""
    return (1.0 + float(percent) / 100.0) / 2.0


@pytest.mark.parametrize("row", published("standard uncertainty"), ids=case)  # from memory
def test_plus_or_minus_has_the_published_standard_uncertainty(row):
    uncertainty = float(spread([np.array([float(row["of"])])])[0])
    assert uncertainty == pytest.approx(float(row["value"]), abs=half_last_digit(row["value"]))


@pytest.mark.parametrize("row", published("combined uncertainty"), ids=case)  # from memory
def test_uncertainties_add_up_to_the_published_one(row):
    losses = [np.array([float(part) * math.sqrt(3.0)]) for part in row["of"].split()]
    assert float(spread(losses)[0]) == pytest.approx(float(row["value"]), abs=half_last_digit(row["value"]))


# Sums of uniforms


def interval(row):
    """Per cent between two sides, and the losses whose standard uncertainties are given."""
    percent, _, parts = row["of"].partition(" % of ")
    return percent, [np.array([float(part) * math.sqrt(3.0)]) for part in parts.split()]


@pytest.mark.parametrize("row", published("interval of rectangular inputs"), ids=case)  # from memory
def test_allowance_is_half_the_published_interval(row):
    percent, losses = interval(row)
    unit = float(spread(losses)[0]) if row["unit"] == "standard uncertainties" else 1.0
    half = float(allowance(losses, one_side(percent))[0]) / unit
    assert half == pytest.approx(float(row["value"]), abs=half_last_digit(row["value"]))


@pytest.mark.parametrize("row", published("interval of rectangular inputs"), ids=case)  # from memory
def test_a_normal_distribution_fails_the_published_interval(row):
    percent, losses = interval(row)
    unit = 1.0 if row["unit"] == "standard uncertainties" else float(spread(losses)[0])
    assert spreads_for(one_side(percent)) * unit > float(row["value"]) + half_last_digit(row["value"])


def uniforms(row):
    """How far a bound on a sum of uniforms on 0 to 1 lies above the mean, and each one's plus-or-minus."""
    count, _, bound = row["of"].partition(" up to ")
    return float(bound) - int(count) / 2.0, [np.array([0.5])] * int(count)


@pytest.mark.parametrize("row", published("sum of uniforms"), ids=case)  # from memory
def test_chance_is_the_published_one_of_a_sum_of_uniforms(row):
    above, losses = uniforms(row)
    assert is_exact(losses).all()
    chance = float(chance_of_clearing(np.array([above]), losses)[0])
    assert chance == pytest.approx(float(row["value"]), abs=half_last_digit(row["value"]))


@pytest.mark.parametrize("row", published("sum of uniforms"), ids=case)  # from memory
def test_a_normal_distribution_fails_the_published_sum_of_uniforms(row):
    above, losses = uniforms(row)
    normal = NormalDist().cdf(above / float(spread(losses)[0]))
    assert abs(normal - float(row["value"])) > half_last_digit(row["value"])


# The normal distribution, which many losses alike are taken for


@pytest.mark.parametrize("row", published("two sides"), ids=case)  # from memory
def test_coverage_factor_has_the_published_level_of_confidence(row):
    both_sides_percent = 100.0 * (2.0 * normal_chance(float(row["value"])) - 1.0)
    assert both_sides_percent == pytest.approx(float(row["of"]), abs=0.005)


@pytest.mark.parametrize("row", published("quantile"), ids=case)  # from memory
def test_margin_for_a_chance_is_the_published_quantile(row):
    printed = pytest.approx(float(row["value"]), abs=half_last_digit(row["value"]))
    assert spreads_for(float(row["of"])) == printed
    assert float(allowance(NORMAL, float(row["of"]))[0]) == printed


@pytest.mark.parametrize("row", published("area"), ids=case)  # from memory
def test_chance_beyond_a_half_is_the_published_area(row):
    area = normal_chance(float(row["of"])) - 0.5
    assert area == pytest.approx(float(row["value"]), abs=half_last_digit(row["value"]))


@pytest.mark.parametrize("row", published("area"), ids=case)  # from memory
def test_chance_of_a_margin_below_zero_is_what_the_area_leaves_of_a_half(row):
    chance = normal_chance(-float(row["of"]))
    assert chance == pytest.approx(0.5 - float(row["value"]), abs=half_last_digit(row["value"]))

"""Uncertainty of a margin and its chance, against the guide and the standard normal table; all from memory."""

import math

import numpy as np
import pytest
from figures import half_last_digit, rows

from combo.formulas.chance import chance_of_clearing, spread, spreads_for


def published(quantity):
    return [row for row in rows("chance.csv") if row["quantity"] == quantity]


def case(row):
    return row["case"]


@pytest.mark.parametrize("row", published("standard uncertainty"), ids=case)  # from memory
def test_plus_or_minus_has_the_published_standard_uncertainty(row):
    uncertainty = float(spread([np.array([float(row["of"])])])[0])
    assert uncertainty == pytest.approx(float(row["value"]), abs=half_last_digit(row["value"]))


@pytest.mark.parametrize("row", published("combined uncertainty"), ids=case)  # from memory
def test_uncertainties_add_up_to_the_published_one(row):
    losses = [np.array([float(part) * math.sqrt(3.0)]) for part in row["of"].split()]
    assert float(spread(losses)[0]) == pytest.approx(float(row["value"]), abs=half_last_digit(row["value"]))


@pytest.mark.parametrize("row", published("two sides"), ids=case)  # from memory
def test_coverage_factor_has_the_published_level_of_confidence(row):
    both_sides_percent = 100.0 * (2.0 * chance_of_clearing(float(row["value"]), 1.0) - 1.0)
    assert both_sides_percent == pytest.approx(float(row["of"]), abs=0.005)


@pytest.mark.parametrize("row", published("quantile"), ids=case)  # from memory
def test_margin_for_a_chance_is_the_published_quantile(row):
    assert spreads_for(float(row["of"])) == pytest.approx(float(row["value"]), abs=half_last_digit(row["value"]))


@pytest.mark.parametrize("row", published("area"), ids=case)  # from memory
def test_chance_beyond_a_half_is_the_published_area(row):
    area = chance_of_clearing(float(row["of"]), 1.0) - 0.5
    assert area == pytest.approx(float(row["value"]), abs=half_last_digit(row["value"]))


@pytest.mark.parametrize("row", published("area"), ids=case)  # from memory
def test_chance_of_a_margin_below_zero_is_what_the_area_leaves_of_a_half(row):
    chance = chance_of_clearing(-float(row["of"]), 1.0)
    assert chance == pytest.approx(0.5 - float(row["value"]), abs=half_last_digit(row["value"]))

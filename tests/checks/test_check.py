"""What an entry of the table is."""

import pickle

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from combo.checks import CHECKS
from combo.checks.check import governing, governing_of, judged


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.id)
def test_a_check_that_travelled_between_processes_is_the_same(check):
    assert pickle.loads(pickle.dumps(check)) is check


@given(st.lists(st.lists(st.sampled_from([-2.0, -0.5, 0.0, 1.0, 3.0, np.nan]), min_size=4, max_size=4), min_size=1))
def test_the_deciding_margin_is_that_of_the_constraint_that_decides(margins):
    several = np.array(margins)
    picked = np.take_along_axis(several, governing(several)[np.newaxis], axis=0)[0]
    np.testing.assert_array_equal(governing_of(several), picked)


def test_a_margin_of_half_a_unit_is_taken_up_even_where_binary_fractions_have_lost_it():
    check = next(own for own in CHECKS if own.id == "inner_sidewall")
    margins = judged(check, np.array([2.2724999999999937, 2.2725, 2.2724, -np.inf, np.nan]))
    np.testing.assert_array_equal(margins, [2.273, 2.273, 2.272, -np.inf, np.nan])

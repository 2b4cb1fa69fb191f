"""By how much a check may fail, and what then holds."""

import math

import numpy as np
import pytest

from combo.candidates.relaxed_limits import NOTHING, RelaxedLimits, resolution
from combo.checks import CHECKS

MARGINS = np.array([-2.0, -1.0, 0.0, 1.0, math.nan])
CHECK = next(check for check in CHECKS if check.id == "inner_sidewall")


@pytest.mark.parametrize(
    ("by", "expected"),
    [
        (0.0, [False, False, True, True, True]),
        (1.0, [False, True, True, True, True]),
        (-1.0, [False, False, False, True, True]),
        (math.inf, [True, True, True, True, True]),
    ],
)
def test_what_holds_well_enough(by, expected):
    assert (
        RelaxedLimits({("inner_sidewall", "front"): by}).holds(CHECK, "front", MARGINS, strict=False).tolist()
        == expected
    )


def test_a_strict_job_lets_nothing_pass_that_is_not_known():
    allowed = RelaxedLimits({("inner_sidewall", "front"): 1.0})
    assert allowed.holds(CHECK, "front", MARGINS, strict=True).tolist() == [False, True, True, True, False]


def test_the_other_axle_is_not_allowed_anything():
    allowed = RelaxedLimits({("inner_sidewall", "front"): math.inf})
    assert allowed.holds(CHECK, "rear", MARGINS, strict=False).tolist() == [False, False, True, True, True]


def test_a_start_that_may_be_less_steep_is_asked_of_the_job(example):
    job = example.job
    assert NOTHING.in_job(job) is job
    assert RelaxedLimits({("start_grade", "rear"): 0.01}).in_job(job).targets.start_grade_ppm == 50_000
    assert RelaxedLimits({("start_grade", "rear"): math.inf}).in_job(job).targets.start_grade_ppm == 0


def test_margins_of_money_differ_by_a_cent_at_least():
    assert resolution(next(check for check in CHECKS if check.id == "budget")) == 1.0

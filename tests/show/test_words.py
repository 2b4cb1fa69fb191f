"""Amounts in the shop's terms."""

import dataclasses
import math

import pytest

from combo.checks import CHECKS
from combo.checks.check import Verdict
from combo.checks.run import Result
from combo.show import words


def test_a_length_is_told_in_inches(example):
    assert words.length(example.job, 1.6) == "0.06 in"


def test_a_metric_job_is_told_in_millimeters(example):
    job = dataclasses.replace(example.job, job=dataclasses.replace(example.job.job, units="metric"))
    assert words.length(job, 1.6) == "1.6 mm"


def test_a_cure_is_rounded_up_so_that_it_is_enough(example):
    assert words.enough(example.job, "mm", 4.8) == "1/4 in"  # 3/16 in is 4.7625 mm


def test_money_has_a_sign_thousands_and_cents():
    assert words.money(123450) == "$1,234.50"


@pytest.mark.parametrize(("unit", "written"), [("mm", "mm"), ("km_h", "km/h"), ("yes_no", "yes or no")])
def test_a_unit_is_written_as_people_do(unit, written):
    assert words.unit_name(unit) == written


def test_a_limit_that_a_build_has_nothing_of_does_not_apply(example):
    stud_end = next(check for check in CHECKS if check.id == "stud_end")
    assert words.margin(example.job, Result(stud_end, "front", Verdict.PASS, math.inf, None, None, math.nan)) == (
        "does not apply"
    )


def test_a_torque_is_told_in_pound_feet(example):
    assert words.amount(example.job, "n_m", 1355.8179) == "1,000 lb-ft"

"""Explanations as they are read: sentences, pictures."""

import math
import xml.etree.ElementTree

import pytest

from combo.explain.funnel import funnels
from combo.explain.limits import movable
from combo.explain.sweep import Step, Sweep
from combo.search.filter import space_of
from combo.show.explain import conflict_words, moves_told
from combo.show.funnel import bar
from combo.show.picture import funnel_picture, steps_picture


@pytest.mark.parametrize(
    ("names", "expected"),
    [
        (["budget"], "No build meets budget."),
        (["budget", "rear_load"], "No build meets both budget and load on the rear axle."),
        (["budget", "rear_load", "cruise_rpm"], "No build meets budget, load on the rear axle and cruise rpm."),
    ],
)
def test_a_conflict_is_one_sentence(example, names, expected):
    by_id = {limit.check.id: limit for limit in movable(example.job)}
    assert conflict_words(tuple(by_id[name] for name in names)) == expected


def test_limits_that_give_way_stand_in_a_line_and_many_in_a_line_each(example):
    by_id = {limit.check.id: limit for limit in movable(example.job)}
    budget, well = by_id["budget"], by_id["spare_well"]
    few = moves_told(example.job, [budget, well], [8500.0, math.nan])
    many = moves_told(example.job, [budget] * 4, [8500.0] * 4)
    assert few == ["With $85.00 more budget and spare's well given up"]
    assert many == ["With 4 limits relaxed together", *["$85.00 more budget"] * 4]


@pytest.mark.parametrize(("left", "of", "signs"), [(9, 9, 30), (50, 100, 15), (1, 100_000, 1), (0, 100, 0), (0, 0, 0)])
def test_a_bar_tells_what_is_left_and_never_hides_the_last(left, of, signs):
    assert bar(left, of) == "=" * signs


def test_the_picture_of_a_funnel_has_a_bar_for_each_check_that_removes(example):
    found = funnels(space_of(example.job, example.parts))
    drawn = xml.etree.ElementTree.fromstring(funnel_picture(example.job, found))
    told = sum(stage.alone + stage.first > 0 for funnel in found for stage in funnel.stages)
    assert len(drawn.findall("{http://www.w3.org/2000/svg}rect")) == 1 + 2 * told


class Scored:
    """A build of a score."""

    def __init__(self, score):
        self.score = score


def test_the_picture_of_steps_has_a_point_for_each(example):
    limit = next(limit for limit in movable(example.job) if limit.check.id == "budget")
    steps = Sweep(
        (Step(5000.0, Scored(7000.0)), Step(100.0, Scored(6500.0), is_next=False), Step(-300.0, Scored(6400.0)))
    )
    drawn = steps_picture(example.job, Scored(6400.0), limit, steps)
    assert len(xml.etree.ElementTree.fromstring(drawn).findall("{http://www.w3.org/2000/svg}circle")) == 3
    assert "as asked now" in drawn


def test_a_limit_that_lets_in_nothing_is_said_in_its_picture(example):
    limit = next(limit for limit in movable(example.job) if limit.check.id == "budget")
    assert "Relaxing this alone" in steps_picture(example.job, None, limit, Sweep(()))

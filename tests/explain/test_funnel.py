"""The funnel adds up: what is left after each check, and at last what the search begins with."""

from combo.explain.funnel import funnels
from combo.solve.reduce import space_of


def test_what_is_left_is_what_was_met_less_what_each_check_removed_in_order(example):
    for funnel in funnels(space_of(example.job, example.parts)):
        left = funnel.met
        for stage in funnel.stages:
            left -= stage.first
            assert stage.left == left >= 0
            assert stage.first <= stage.alone <= funnel.met
        assert funnel.left == left


def test_wheels_are_met_on_every_spacer_and_on_none(example):
    met = {funnel.kind: funnel.met for funnel in funnels(space_of(example.job, example.parts))}
    parts = example.parts
    assert met["front wheel"] == len(parts.wheels) * (len(parts.spacers) + 1)
    assert met["rear tire"] == len(parts.tires)
    assert met["gear set"] == len(parts.ratios) * len(parts.differentials)


def test_tires_left_are_those_of_the_search(example):
    reduced = space_of(example.job, example.parts)
    left = {funnel.kind: funnel.left for funnel in funnels(reduced)}
    assert left["gear set"] >= len({*zip(reduced.drives.ratio, reduced.drives.differential, strict=True)})

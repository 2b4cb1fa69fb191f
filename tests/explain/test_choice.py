"""One choice of parts: its checks and its cures."""

import dataclasses

import pytest

from combo.checks.check import Verdict
from combo.checks.table import Row
from combo.explain.choice import Choice, Corner, ballast_of, verdict, why
from combo.problems import Problems


def test_a_listed_build_passes_when_asked_why(example, ranking):
    space, one = ranking.space, ranking.ranked[0]
    front, rear = Row(space.front, ranking.builds.front[one.at]), Row(space.rear, ranking.builds.rear[one.at])
    drive, counts = Row(space.drive, ranking.builds.drive[one.at]), ranking.builds.counts[one.at]
    corners = [Corner(*(row[f"{kind}.sku"] for kind in ("wheel", "tire", "spacer"))) for row in (front, rear)]
    slots = zip(space.slots["ballast.sku"], space.slots["station.name"], strict=True)
    ballast = dict(zip(slots, counts.tolist(), strict=True))
    choice = Choice(*corners, drive["ratio.sku"], drive["differential.sku"], ballast)
    answer = why(example.job, example.parts, choice)
    assert (verdict(answer.results), answer.cures) == (one_verdict(one), [])
    assert [(result.check.id, result.where, str(result.margin)) for result in answer.results] == [
        (result.check.id, result.where, str(result.margin)) for result in one.checks
    ]
    assert (answer.facts, answer.bill) == (one.facts, one.bill)


def one_verdict(one):
    """Verdict of a ranked build."""
    return verdict(list(one.checks))


def test_a_wheel_alone_is_checked_on_the_hub_only(example):
    found = why(example.job, example.parts, Choice(front=Corner(wheel="W-1780-60"))).results
    assert [result.check.id for result in found] == [
        "bolt_circle",
        "hub_bore",
        "backspace_limit",
        "brake_barrel",
        "brake_spoke",
        "studs",
        "stud_end",
        "nut_depth",
        "seat",
    ]


def test_too_much_backspace_is_told_with_its_amount(example):
    # 6 in of backspace and 1/2 in of clearance in 4 11/16 in of room: 1 13/16 in over, 46.0375 mm
    found = why(example.job, example.parts, Choice(front=Corner(wheel="W-1780-60"))).results
    margins = {result.check.id: result.margin for result in found}
    assert margins["backspace_limit"] == pytest.approx(-46.0375, abs=0.001)


def test_the_cure_of_too_much_backspace_is_as_much_less(example):
    cures = why(example.job, example.parts, Choice(front=Corner(wheel="W-1780-60"))).cures
    assert [(cure.argument, round(cure.amount, 2)) for cure in cures] == [("backspace_mm", -46.04), ("room_mm", 46.04)]


def test_a_tire_of_another_rim_diameter_fails_the_rim(example):
    found = why(example.job, example.parts, Choice(front=Corner("W-1780-60", "T-2357515-P"))).results
    assert {result.check.id: result.verdict for result in found}["rim_diameter"] is Verdict.FAIL


def test_a_wheel_made_to_order_that_is_named_without_its_size_is_told_with_one(example):
    wheels = example.parts.wheels.copy()
    wheels.loc[:1, "sku"] = ["W-MTO @ 4 in", "W-MTO @ 4 1/8 in"]
    with pytest.raises(Problems, match='no wheel "W-MTO"; 2 listed begin with it, the first is "W-MTO @ 4 in"'):
        why(example.job, dataclasses.replace(example.parts, wheels=wheels), Choice(front=Corner(wheel="W-MTO")))


def test_every_unknown_sku_is_told_at_once_with_the_nearest(example):
    with pytest.raises(Problems) as raised:
        why(example.job, example.parts, Choice(front=Corner("W-1780-61", "T-nothing"), ratio="G-37"))
    found = [problem.found for problem in raised.value.problems]
    assert found == ['no ratio "G-37"', 'no tire "T-nothing"', 'no wheel "W-1780-61"']


def test_an_unknown_wheel_all_round_is_told_once(example):
    corner = Corner(wheel="W-1780-61")
    with pytest.raises(Problems) as raised:
        why(example.job, example.parts, Choice(corner, corner))
    assert [problem.found for problem in raised.value.problems] == ['no wheel "W-1780-61"']


def test_ballast_reads_count_item_and_station():
    assert ballast_of(["4*B-SAND60@over the axle"]) == {("B-SAND60", "over the axle"): 4}


def test_ballast_that_does_not_read_is_a_problem():
    with pytest.raises(Problems):
        ballast_of(["@over the axle"])


def test_an_item_alone_is_one_anywhere():
    assert ballast_of(["B-SAND60", "2*B-TUBE70"]) == {("B-SAND60", ""): 1, ("B-TUBE70", ""): 2}


def test_a_whole_build_wants_a_station_for_its_ballast(example):
    corner = Corner("R-1580-M44", "T-2657015-M")
    with pytest.raises(Problems, match="without a station"):
        why(example.job, example.parts, Choice(corner, corner, "G-392", "D-LS-HI", {("B-SAND60", ""): 1}))


def test_more_ballast_than_the_plan_takes_is_refused(example):
    with pytest.raises(Problems) as raised:
        why(example.job, example.parts, Choice(ballast={("B-SAND60", "at the tailgate"): 9}))
    assert [problem.found for problem in raised.value.problems] == [
        "more than 300 lb (136.1 kg) at the tailgate",
        "more than 7 items in all",
    ]

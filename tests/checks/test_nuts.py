"""Studs, lug nuts and pilots of whole corners: which nut goes with a wheel, where studs end, what a bore goes over."""

import dataclasses
import math

import pytest
from by_hand import BY_ID, HUB, build, corner_rows, job_with, result_of

from combo.checks.judge import governing_margin
from combo.checks.rows import NO_NUT
from combo.job import Hubs

CONE = {"sku": "CONE", "seat": "cone 60", "thread": "1/2-20"}
WHEEL = {"seat": "cone 60"}
THREADED = dataclasses.replace(HUB, stud_thread="1/2-20")
ADAPTER = {
    "thickness_mm": 50.0,
    "wheel_bolt_circle_lugs": 5,
    "wheel_bolt_circle_mm": 114.3,
    "hub_bore_mm": 71.5,
    "pad_mm": 15.0,
    "stud_length_mm": 30.0,
    "stud_diameter_mm": 14.0,
    "stud_thread": "M14x1.5",
    "nut_height_mm": 20.0,
}


def job_of(hub=THREADED, **tables):
    return job_with(hub=Hubs(hub, hub), **tables)


def nut_of(nuts, axle="front", job=None, **parts):
    """SKU of the nut that goes with the wheel; None where none is known."""
    rows = corner_rows(job or job_of(), axle, nuts=nuts, **parts)
    at = rows["mount.nut_at"][0]
    return None if at == NO_NUT else rows.parts.nuts["sku"].iloc[at]


def margin(check, job=None, **parts):
    job = job or job_of()
    return governing_margin(job, "front", BY_ID[check], corner_rows(job, **parts))[0]


# Which nut goes with a wheel


def test_the_nut_that_the_wheels_row_names_comes_first():
    nuts = [CONE, {"sku": "SHANK", "seat": "shank", "thread": "1/2-20"}]
    job = job_of(dataclasses.replace(THREADED, lug_nut="CONE"))
    assert nut_of(nuts, job=job, wheel=WHEEL | {"lug_nut": "SHANK", "on_truck": "front"}) == "SHANK"


HAS_BOTH = [CONE, {"sku": "BALL", "seat": "ball", "thread": "1/2-20"}]


@pytest.mark.parametrize(
    ("axle", "on_truck", "nut"),
    [
        ("front", "front", "BALL"),
        ("front", "both", "BALL"),
        ("rear", "both", "BALL"),
        ("rear", "front", "CONE"),
        ("front", "no", "CONE"),
    ],
)
def test_a_wheel_that_stays_keeps_the_nut_of_its_hub(axle, on_truck, nut):
    job = job_of(dataclasses.replace(THREADED, lug_nut="BALL"))
    assert nut_of(HAS_BOTH, axle, job, wheel=WHEEL | {"on_truck": on_truck}) == nut


def test_else_it_is_the_cheapest_of_the_wheels_seat_and_the_studs_thread():
    others = {"sku": "OTHER", "seat": "ball"}, {"sku": "METRIC", "thread": "M14x1.5"}
    cheaper = [CONE | other | {"price_cents": 10} for other in others]
    nuts = [CONE, CONE | {"sku": "CHEAP", "price_cents": 150}, *cheaper]
    assert nut_of(nuts, wheel=WHEEL) == "CHEAP"


def test_the_cheapest_is_that_of_a_piece_not_of_a_pack():
    nuts = [CONE, CONE | {"sku": "PACK", "price_cents": 1_000, "pack": 20}]
    assert nut_of(nuts, wheel=WHEEL) == "PACK"  # 50 cents a piece where one costs 200


def test_of_two_as_cheap_it_is_the_first_by_sku():
    assert nut_of([CONE | {"sku": "Z"}, CONE | {"sku": "A"}], wheel=WHEEL) == "A"


def test_a_left_hand_nut_is_never_taken_by_itself():
    assert nut_of([CONE | {"left_hand": "yes"}], wheel=WHEEL) is None


@pytest.mark.parametrize(("hub", "wheel"), [(HUB, WHEEL), (THREADED, {})])
def test_without_a_seat_or_a_thread_none_is_known(hub, wheel):
    assert nut_of([CONE], job=job_of(hub), wheel=wheel) is None


def test_on_a_bolted_spacer_the_nut_has_the_thread_of_its_own_studs():
    nuts = [CONE, CONE | {"sku": "METRIC", "thread": "M14x1.5"}]
    assert nut_of(nuts, wheel=WHEEL, spacer=ADAPTER) == "METRIC"


def test_a_slip_on_spacer_leaves_the_hubs_thread():
    nuts = [CONE, CONE | {"sku": "METRIC", "thread": "M14x1.5"}]
    assert nut_of(nuts, wheel=WHEEL, spacer={"stud_thread": "M14x1.5"}) == "CONE"


# The stud in its nut: 40 mm of stud and a pad of 12 leave 28 out of the seat


@pytest.mark.parametrize(("depth", "left"), [(28.0, 0.0), (30.0, 2.0), (27.0, -1.0)])
def test_a_stud_bottoms_in_a_closed_nut_that_is_not_as_deep(depth, left):
    nut = CONE | {"type": "closed", "thread_depth_mm": depth}
    assert margin("nut_depth", wheel=WHEEL, nuts=[nut]) == pytest.approx(left)


def test_a_slip_on_spacer_takes_stud_from_the_closed_nut():
    nut = CONE | {"type": "closed", "thread_depth_mm": 27.0}
    assert margin("nut_depth", wheel=WHEEL, spacer={"thickness_mm": 6.0}, nuts=[nut]) == pytest.approx(5.0)


def test_on_a_bolted_spacer_its_own_studs_stand_in_the_nut():
    nut = CONE | {"type": "closed", "thread_depth_mm": 19.0, "thread": "M14x1.5"}
    assert margin("nut_depth", wheel=WHEEL, spacer=ADAPTER, nuts=[nut]) == pytest.approx(1.0)  # 19 - (30 - 12)


def test_an_open_nut_lets_any_stud_through():
    assert margin("nut_depth", wheel=WHEEL, nuts=[CONE | {"thread_depth_mm": 14.0}]) == pytest.approx(1.3)  # 14 - 12.7


def test_an_open_nut_without_a_listed_depth_holds():
    result = result_of(
        job_of(), build(job_of(), front={"wheel": WHEEL}, nuts=[CONE | {"thread_depth_mm": None}]), "nut_depth", "front"
    )
    assert result.verdict == "pass"


@pytest.mark.parametrize("kind", ["open", "closed", ""])
def test_a_nut_whose_thread_is_shorter_than_the_studs_diameter_fails(kind):
    hub = dataclasses.replace(THREADED, stud_length_mm=24.0)  # 12 out of the seat
    nut = CONE | {"type": kind, "thread_depth_mm": 12.0}
    assert margin("nut_depth", job_of(hub), wheel=WHEEL, nuts=[nut]) == pytest.approx(-0.7)


def test_the_thread_of_a_nut_is_measured_by_the_studs_that_it_is_on():
    nut = CONE | {"thread_depth_mm": 13.0, "thread": "M14x1.5"}
    assert margin("nut_depth", wheel=WHEEL, spacer=ADAPTER, nuts=[nut]) == pytest.approx(-1.0)  # 13 - 14


@pytest.mark.parametrize(
    "nuts",
    [
        [],
        [CONE | {"seat": "ball"}],
        [CONE | {"type": ""}],
        [CONE | {"type": "closed", "thread_depth_mm": None}],
    ],
)
def test_a_nut_of_which_too_little_is_known_leaves_it_unverified(nuts):
    assert math.isnan(margin("nut_depth", wheel=WHEEL, nuts=nuts))


def test_a_closed_nut_on_a_wheel_without_a_pad_is_unverified():
    nut = CONE | {"type": "closed", "thread_depth_mm": 28.0}
    assert math.isnan(margin("nut_depth", wheel=WHEEL | {"pad_mm": None}, nuts=[nut]))


def test_no_pad_is_thick_enough_for_a_stud_that_is_far_too_long():
    hub = dataclasses.replace(THREADED, stud_length_mm=100.0)
    nut = CONE | {"type": "closed", "thread_depth_mm": 20.0}
    assert margin("nut_depth", job_of(hub), wheel=WHEEL | {"pad_mm": None}, nuts=[nut]) == pytest.approx(-20.0)  # 60


# The hub's studs behind the wheel


def test_without_a_bolted_spacer_no_stud_ends_behind_the_wheel():
    results = [
        result_of(job_of(), build(job_of(), front=front), "stud_end", "front").verdict for front in ({}, {"spacer": {}})
    ]
    assert results == ["pass", "pass"]


def test_the_hubs_studs_end_inside_the_spacer():
    assert margin("stud_end", spacer=ADAPTER) == pytest.approx(10.0)  # 50 - 40, and 50 - 15 - 20


def test_a_stud_that_stands_out_of_the_spacer_keeps_the_wheel_off():
    assert margin("stud_end", spacer=ADAPTER | {"thickness_mm": 36.0}) == pytest.approx(-4.0)


@pytest.mark.parametrize(("over", "left"), [("yes", 2.0), ("no", -4.0), ("", -4.0)])
def test_a_pocket_takes_the_studs_only_where_it_is_stated_to_lie_over_them(over, left):
    wheel = {"pocket_depth_mm": 6.0, "pocket_over_studs": over}
    assert margin("stud_end", wheel=wheel, spacer=ADAPTER | {"thickness_mm": 36.0}) == pytest.approx(left)


def test_the_nuts_that_hold_the_spacer_end_inside_it_too():
    hub = dataclasses.replace(THREADED, stud_length_mm=30.0)
    spacer = ADAPTER | {"thickness_mm": 34.0}
    assert margin("stud_end", job_of(hub), spacer=spacer) == pytest.approx(-1.0)  # 15 + 20


def test_an_inner_nut_of_which_no_height_is_listed_counts_seven_eighths():
    hub = dataclasses.replace(THREADED, stud_length_mm=30.0)
    spacer = ADAPTER | {"thickness_mm": 40.0, "nut_height_mm": None}
    assert margin("stud_end", job_of(hub), spacer=spacer) == pytest.approx(40.0 - 15.0 - 22.225)


def test_a_bolted_spacer_of_which_the_pad_is_not_known_is_unverified():
    assert math.isnan(margin("stud_end", spacer=ADAPTER | {"pad_mm": None}))


def test_a_stud_of_which_the_length_is_not_known_leaves_it_unverified():
    hub = dataclasses.replace(THREADED, stud_length_mm=math.nan)
    assert math.isnan(margin("stud_end", job_of(hub), spacer=ADAPTER))


def test_a_spacer_with_studs_of_its_own_is_bolted_though_it_changes_no_circle():
    spacer = ADAPTER | {"wheel_bolt_circle_lugs": None, "wheel_bolt_circle_mm": None, "thickness_mm": 36.0}
    assert margin("stud_end", spacer=spacer) == pytest.approx(-4.0)


# What the wheel's bore goes over: a pilot of 71.5, and spacers of 20

PLAIN = {"thickness_mm": 20.0, "hub_bore_mm": 71.5}


def reaching(length_mm):
    return job_of(dataclasses.replace(THREADED, pilot_length_mm=length_mm))


@pytest.mark.parametrize(("length", "left"), [(20.1, -1.5), (20.0, 0.0), (12.0, 0.0)])
def test_the_hubs_pilot_meets_the_wheel_only_where_it_reaches_through_the_spacer(length, left):
    assert margin("hub_bore", reaching(length), wheel={"hub_bore_mm": 70.0}, spacer=PLAIN) == pytest.approx(left)


@pytest.mark.parametrize(("bore", "answer"), [(71.5, "pass"), (70.0, "unverified")])
def test_a_pilot_of_which_the_length_is_not_known_holds_for_a_bore_that_goes_over_it(bore, answer):
    front = {"wheel": {"hub_bore_mm": bore}, "spacer": PLAIN}
    assert result_of(job_of(), build(job_of(), front=front), "hub_bore", "front").verdict == answer


def test_a_lip_is_the_pilot_that_the_wheel_meets():
    assert margin("hub_bore", reaching(100.0), spacer=PLAIN | {"pilot_mm": 73.0}) == pytest.approx(71.5 - 73.0)


def test_a_spacers_bore_goes_over_the_hubs_pilot():
    assert margin("hub_bore", reaching(10.0), spacer=PLAIN | {"hub_bore_mm": 70.0}) == pytest.approx(-1.5)


def test_a_spacer_without_a_listed_bore_is_unverified():
    assert math.isnan(margin("hub_bore", reaching(10.0), spacer=PLAIN | {"hub_bore_mm": None}))


@pytest.mark.parametrize(
    ("parts", "note"),
    [
        ({}, "hub-centric"),
        ({"wheel": {"hub_bore_mm": 71.6}}, "hub-centric"),
        ({"wheel": {"hub_bore_mm": 71.7}}, "lug-centric: center the wheel by its lugs"),
    ],
)
def test_how_the_wheel_is_centered_is_told(parts, note):
    assert result_of(job_of(), build(job_of(), front=parts), "hub_bore", "front").note == note


def test_a_wheel_that_meets_no_pilot_is_centered_by_its_lugs():
    job = reaching(10.0)
    assert "lug-centric" in result_of(job, build(job, front={"spacer": PLAIN}), "hub_bore", "front").note


# Seats, threads and hands

BALL = {"sku": "BALL", "seat": "ball 14", "thread": "1/2-20"}
LEFT = {"sku": "LEFT", "left_hand": "yes"}
LEFT_STUDS = dataclasses.replace(THREADED, left_hand=True)


def answer(job=None, nuts=(CONE,), wheel=WHEEL, **front):
    own = job or job_of()
    return result_of(own, build(own, front={"wheel": wheel, **front}, nuts=nuts), "seat", "front").verdict


def test_the_nut_that_is_found_has_the_wheels_seat_and_the_studs_thread():
    assert answer(nuts=[CONE, BALL]) == "pass"


@pytest.mark.parametrize("nut", [BALL, CONE | {"thread": "M14x1.5"}, CONE | {"left_hand": "yes"}])
def test_a_named_nut_of_another_seat_thread_or_hand_fails(nut):
    assert answer(nuts=[nut], wheel=WHEEL | {"lug_nut": nut["sku"]}) == "fail"


@pytest.mark.parametrize(
    "wheel",
    [
        {"lug_nut": "CONE"},
        {"lug_nut": "CONE", "seat": "cone"},
        WHEEL | {"seat": "ball 13"},
    ],
)
def test_a_seat_without_form_or_size_and_a_nut_that_no_list_has_are_unverified(wheel):
    assert answer(wheel=wheel) == "unverified"


def test_a_stud_of_which_the_thread_is_not_known_is_unverified():
    job = job_of(dataclasses.replace(THREADED, stud_thread=""))
    assert answer(job, wheel=WHEEL | {"lug_nut": "CONE"}) == "unverified"


def test_another_seat_fails_whatever_the_thread():
    job = job_of(dataclasses.replace(THREADED, stud_thread=""))
    assert answer(job, nuts=[BALL], wheel=WHEEL | {"lug_nut": "BALL"}) == "fail"


def test_a_bolted_spacer_has_studs_of_its_own_thread():
    metric = CONE | {"sku": "METRIC", "thread": "M14x1.5"}
    assert answer(nuts=[CONE, metric], spacer=ADAPTER) == "pass"
    assert answer(nuts=[CONE, metric], spacer=ADAPTER, wheel=WHEEL | {"lug_nut": "CONE"}) == "fail"


@pytest.mark.parametrize(
    ("nuts", "verdict"),
    [
        ([CONE, CONE | LEFT], "pass"),
        ([CONE], "unverified"),
        ([CONE, BALL | LEFT], "unverified"),
        ([CONE, CONE | LEFT | {"thread": "M14x1.5"}], "unverified"),
    ],
)
def test_left_hand_studs_need_a_left_hand_nut_of_the_same_seat_and_thread(nuts, verdict):
    assert answer(job_of(LEFT_STUDS), nuts=nuts) == verdict


def test_a_bolted_spacers_studs_are_right_handed():
    metric = CONE | {"sku": "METRIC", "thread": "M14x1.5"}
    assert answer(job_of(LEFT_STUDS), nuts=[metric], spacer=ADAPTER) == "pass"

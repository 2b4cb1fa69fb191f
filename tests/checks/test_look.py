"""Look checks: stance, cover and ground by hand, and what front and rear must share."""

import dataclasses
import inspect
import math

import pytest
from by_hand import BY_ID, HOUSE, MEASURED, NAN, corner_rows, job_with, margin_of, pair_rows, verdict
from hypothesis import given
from hypothesis import strategies as st

from combo.checks.check import Verdict
from combo.checks.judge import judge
from combo.checks.look import CHECKS
from combo.job import LoadItem, Loads, Present, State, Targets, Wheelhouses

SIZE = st.floats(min_value=0, max_value=1000)
COVER = {"offset_mm": -20.0, "section_width_mm": 240.0, "tread_width_mm": 200.0, "room_mm": 130.0}
GAP = {"hub_to_lip_mm": 420.0, "overall_diameter_mm": 740.0}  # a gap of 50
RAKE = {"front_diameter_mm": 730.0, "rear_diameter_mm": 760.0}  # 30 larger
FRAME = {
    "present_deg": 0.5,
    "front_height_mm": 350.0,
    "front_diameter_mm": 720.0,
    "front_present_mm": 750.0,
    "rear_height_mm": 350.0,
    "rear_diameter_mm": 780.0,
    "rear_present_mm": 750.0,
    "wheelbase_mm": 3000.0,
}
TILT = 0.5 + math.degrees(math.atan(28.0 / 3000.0))  # 350 x 30 / 750: rear up 14, front down 14


def pair_margin(check, job, front, rear):
    return judge(job, "rear", BY_ID[check], pair_rows(job, front, rear)).margin[0]


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.id)
def test_needs_names_exactly_the_arguments(check):
    assert set(check.needs) == set(inspect.signature(check.sides).parameters)


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.id)
def test_every_cure_changes_an_argument(check):
    assert {cure.argument for cure in check.cures} <= set(check.needs)


def test_the_tire_is_covered_to_its_sidewall():
    assert margin_of("cover", **COVER, edge="tire") == -10.0  # 130 - (120 + 20)


def test_the_tread_is_covered_to_its_own_edge():
    assert margin_of("cover", **COVER, edge="tread") == 10.0  # 130 - (100 + 20)


def test_a_tread_that_is_not_known_is_no_matter_where_the_tire_is_to_be_covered():
    assert margin_of("cover", **COVER | {"tread_width_mm": NAN}, edge="tire") == -10.0


def test_a_tread_that_is_not_known_is_unverified_where_the_tread_is_to_be_covered():
    assert verdict("cover", **COVER | {"tread_width_mm": NAN}, edge="tread") is Verdict.UNVERIFIED


@pytest.mark.parametrize(
    ("least", "most", "margin"),
    [(40.0, 55.0, 5.0), (45.0, 80.0, 5.0), (NAN, 55.0, 5.0), (40.0, NAN, 10.0), (60.0, NAN, -10.0), (NAN, 45.0, -5.0)],
)
def test_a_gap_is_judged_by_the_ends_that_are_asked(least, most, margin):
    assert margin_of("fender_gap", **GAP, least_mm=least, most_mm=most) == margin


def test_a_lip_that_is_not_known_leaves_a_one_sided_gap_unverified():
    assert verdict("fender_gap", **GAP | {"hub_to_lip_mm": NAN}, least_mm=40.0, most_mm=NAN) is Verdict.UNVERIFIED


@pytest.mark.parametrize(("lips", "margin"), [((NAN, 300.0), 40.0), ((400.0, 300.0), -20.0)])
def test_the_gap_is_that_at_ride_height_alone(lips, margin):
    ride_height, full_bump = (State(hub_to_lip_mm=lip) for lip in lips)
    house = dataclasses.replace(HOUSE, ride_height=ride_height, full_bump=full_bump)
    job = job_with(wheelhouse=Wheelhouses(house, house), targets=Targets(fender_gap_min_mm=50.0))
    assert judge(job, "front", BY_ID["fender_gap"], corner_rows(job)).margin[0] == margin  # (460 or 400) - 370 - 50


@pytest.mark.parametrize(
    ("is_winter", "wanted", "margin"), [(1.0, True, 0.0), (0.0, True, -1.0), (0.0, False, 0.0), (1.0, False, -1.0)]
)
def test_the_winter_marking_is_as_wanted(is_winter, wanted, margin):
    assert margin_of("winter", is_winter=is_winter, wanted=wanted) == margin


def test_a_marking_that_is_not_known_is_unverified():
    assert verdict("winter", is_winter=NAN, wanted=False) is Verdict.UNVERIFIED


@pytest.mark.parametrize(
    ("front", "rear", "answer"),
    [
        ("radial", "radial", Verdict.PASS),
        ("bias", "bias", Verdict.PASS),
        ("radial", "bias", Verdict.FAIL),
        ("bias", "radial", Verdict.FAIL),
        ("radial", "", Verdict.UNVERIFIED),
        ("", "bias", Verdict.UNVERIFIED),
    ],
)
def test_radial_is_never_mixed_with_bias(front, rear, answer):
    worth = {"radial": 1.0, "bias": 0.0, "": NAN}
    assert verdict("construction", front_is_radial=worth[front], rear_is_radial=worth[rear]) is answer


def test_radial_ahead_of_bias_fails_in_the_rows_of_a_build():
    assert pair_margin("construction", job_with(), {}, {"tire": {"construction": "bias"}}) == -1.0


@pytest.mark.parametrize("check", ["same_style", "same_line"])
@pytest.mark.parametrize(
    ("front", "rear", "answer"),
    [
        ("slot", "slot", Verdict.PASS),
        ("slot", "mesh", Verdict.FAIL),
        ("slot", "", Verdict.UNVERIFIED),
        ("", "mesh", Verdict.UNVERIFIED),
        ("", "", Verdict.UNVERIFIED),
    ],
)
def test_one_name_front_and_rear(check, front, rear, answer):
    assert verdict(check, front=front, rear=rear) is answer


@pytest.mark.parametrize(
    ("least", "most", "margin"), [(20.0, 35.0, 5.0), (NAN, 25.0, -5.0), (28.0, NAN, 2.0), (30.0, 30.0, 0.0)]
)
def test_rake_is_how_much_larger_the_rear_tire_is(least, most, margin):
    assert margin_of("rake", **RAKE, least_mm=least, most_mm=most) == margin


def test_a_rear_tire_that_is_not_known_leaves_the_rake_unverified():
    assert verdict("rake", **RAKE | {"rear_diameter_mm": NAN}, least_mm=20.0, most_mm=NAN) is Verdict.UNVERIFIED


def test_the_frame_leans_nose_down_where_the_rear_rises_more():
    margin = margin_of("frame_rake", **FRAME, least_deg=0.0, most_deg=2.0)
    assert margin == round(2.0 - TILT, 4)


@pytest.mark.parametrize(("least", "most", "margin"), [(1.0, NAN, TILT - 1.0), (NAN, 1.0, 1.0 - TILT)])
def test_the_frame_is_judged_by_the_end_that_is_asked(least, most, margin):
    assert margin_of("frame_rake", **FRAME, least_deg=least, most_deg=most) == round(margin, 4)


def test_on_the_present_tires_the_frame_leans_as_it_does():
    same = FRAME | {"front_diameter_mm": 750.0, "rear_diameter_mm": 750.0}
    assert margin_of("frame_rake", **same, least_deg=0.5, most_deg=NAN) == 0.0


def test_hubs_of_two_heights_rise_in_proportion():
    lower = FRAME | {"front_height_mm": 250.0}  # front down 10
    tilt = 0.5 + math.degrees(math.atan(24.0 / 3000.0))
    assert margin_of("frame_rake", **lower, least_deg=0.0, most_deg=NAN) == round(tilt, 4)


@pytest.mark.parametrize("unknown", ["front_height_mm", "rear_diameter_mm", "front_present_mm"])
def test_the_rake_of_the_frame_is_unverified_without(unknown):
    assert verdict("frame_rake", **FRAME | {unknown: NAN}, least_deg=0.0, most_deg=NAN) is Verdict.UNVERIFIED


STANDING = dataclasses.replace(
    MEASURED,
    frame_rake_deg=0.5,
)


def frame_margin(rear=None, **tables):
    job = job_with(**{"present": STANDING, "targets": Targets(frame_rake_min_deg=0.0)} | tables)
    return pair_margin("frame_rake", job, {}, {"tire": rear or {}})


def test_the_rows_of_a_build_on_the_present_tires_give_the_present_rake():
    assert frame_margin() == 0.5


def test_the_rows_of_a_build_give_the_rake_of_its_frame():
    tilt = 0.5 + math.degrees(math.atan(35.0 / 3000.0))  # 814 is a tenth more: 35 up
    assert frame_margin({"overall_diameter_mm": 814.0}) == round(tilt, 4)


def test_the_frame_rakes_as_the_truck_stood_on_the_scale_whatever_is_carried():
    cargo = Loads(1100.0, 900.0, items=(LoadItem("cargo", 300.0, -600.0),))
    assert frame_margin(loads=cargo) == 0.5


def test_a_present_tire_that_is_estimated_by_the_hubs_height_gives_the_present_rake():
    """Without any tire of today the hub's height tells its diameter, 0.465 of it, at both axles."""
    bare = Present(25.0, 25.0, 20.0, front_hub_height_mm=344.1, rear_hub_height_mm=344.1, frame_rake_deg=0.5)
    assert frame_margin(present=bare) == 0.5  # 344.1 / 0.465 = 740


ROOMIER = dataclasses.replace(HOUSE, ride_height=State(room_outer_mm=110.0), full_bump=State(room_outer_mm=300.0))


def test_cover_is_judged_by_the_lip_at_ride_height():
    job = job_with(targets=Targets(cover="tire"), wheelhouse=Wheelhouses(ROOMIER, HOUSE))
    assert judge(job, "front", BY_ID["cover"], corner_rows(job)).margin[0] == pytest.approx(110.0 - 120.0)


def test_cover_is_judged_by_the_wheelhouse_where_ride_height_has_no_lip_of_its_own():
    house = dataclasses.replace(HOUSE, full_bump=State(room_outer_mm=100.0))
    job = job_with(targets=Targets(cover="tire"), wheelhouse=Wheelhouses(house, HOUSE))
    assert judge(job, "front", BY_ID["cover"], corner_rows(job)).margin[0] == pytest.approx(190.0 - 120.0)


@pytest.mark.parametrize(("room", "error_um"), [(110.0, 20_000), (150.0, 20_000), (130.0, 0)])
def test_the_gap_to_the_lip_is_that_at_ride_height(room, error_um):
    house = dataclasses.replace(HOUSE, ride_height=State(room_outer_mm=room))
    job = job_with(targets=Targets(lip_gap_mm=10.0), wheelhouse=Wheelhouses(house, HOUSE))
    assert corner_rows(job)["corner.lip_error_um"][0] == error_um  # of 120 and the wanted 10


def test_the_rows_of_a_build_give_the_rake_of_its_own_tires():
    targets = Targets(rake_min_mm=10.0, rake_max_mm=60.0)
    rear = {"tire": {"overall_diameter_mm": 765.0}}
    assert pair_margin("rake", job_with(targets=targets), {}, rear) == 15.0  # 765 - 740 - 10


@given(gap=SIZE, least=SIZE, most=SIZE)
def test_a_band_is_as_tight_as_the_tighter_of_its_ends(gap, least, most):
    both, low, high = (
        margin_of("fender_gap", hub_to_lip_mm=gap, overall_diameter_mm=0.0, least_mm=ends[0], most_mm=ends[1])
        for ends in ((least, most), (least, NAN), (NAN, most))
    )
    assert both == min(low, high)

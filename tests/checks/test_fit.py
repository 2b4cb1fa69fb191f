"""Fit checks: margins by hand, the limit itself, what is missing, and more room."""

import inspect
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from combo.checks.check import Verdict, judged, verdict_of
from combo.checks.fit import CHECKS
from combo.job import About, Hub, Hubs, Job, Truck, Wheelhouse, Wheelhouses
from combo.units import BoltCircle

BY_ID = {check.id: check for check in CHECKS}
NAN = math.nan
SIZE = st.floats(min_value=0, max_value=1000)

AT_THE_LIMIT = {
    "hub_bore": {"wheel_bore_mm": 108.0, "pilot_mm": 108.0},
    "rim_width": {"rim_width_mm": 203.2, "narrowest_mm": 165.1, "widest_mm": 203.2},
    "backspace_limit": {"backspace_mm": 114.3, "clearance_mm": 12.7, "room_mm": 127.0},
    "inner_sidewall": {"offset_mm": 10.0, "section_width_mm": 200.0, "clearance_mm": 12.7, "room_mm": 122.7},
    "outer_sidewall": {"offset_mm": 10.0, "section_width_mm": 200.0, "clearance_mm": 12.7, "room_mm": 102.7},
    "wheelhouse_width": {
        "section_width_mm": 200.0, "clearance_inner_mm": 12.0, "clearance_outer_mm": 13.0,
        "room_inner_mm": 125.0, "room_outer_mm": 100.0,
    },
    "fender_top": {"overall_diameter_mm": 700.0, "clearance_mm": 25.4, "hub_to_top_mm": 375.4},
}  # fmt: skip
"""Arguments of each check of a size, so that value and limit are equal."""
ROOM = {
    "hub_bore": "wheel_bore_mm",
    "backspace_limit": "room_mm",
    "inner_sidewall": "room_mm",
    "outer_sidewall": "room_mm",
    "fender_top": "hub_to_top_mm",
}
CIRCLE = {
    "wheel_lugs": 6.0, "wheel_mm": 139.7, "mount_lugs": 6.0, "mount_mm": 139.7, "spacer_lugs": NAN, "spacer_mm": NAN,
    "is_spaced": 0.0, "hub_lugs": 6.0, "hub_mm": 139.7,
}  # fmt: skip
ADAPTER = {
    "wheel_lugs": 5.0, "wheel_mm": 114.3, "mount_lugs": 5.0, "mount_mm": 114.3, "spacer_lugs": 6.0, "spacer_mm": 139.7,
    "is_spaced": 1.0, "hub_lugs": 6.0, "hub_mm": 139.7,
}  # fmt: skip


def margin_of(name, **arguments):
    check = BY_ID[name]
    return float(judged(check, check.sides(**arguments).margin))


def verdict(name, **arguments):
    return verdict_of(margin_of(name, **arguments))


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.id)
def test_needs_names_exactly_the_arguments(check):
    assert set(check.needs) == set(inspect.signature(check.sides).parameters)


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.id)
def test_every_cure_changes_an_argument(check):
    assert {cure.argument for cure in check.cures} <= set(check.needs)


@pytest.mark.parametrize("name", AT_THE_LIMIT)
def test_equal_to_the_limit_leaves_a_margin_of_zero(name):
    assert margin_of(name, **AT_THE_LIMIT[name]) == 0.0


@pytest.mark.parametrize("name", AT_THE_LIMIT)
def test_equal_to_the_limit_holds(name):
    assert verdict(name, **AT_THE_LIMIT[name]) is Verdict.PASS


@pytest.mark.parametrize("name", ROOM)
def test_a_millimeter_less_room_than_needed_fails_by_a_millimeter(name):
    arguments = AT_THE_LIMIT[name] | {ROOM[name]: AT_THE_LIMIT[name][ROOM[name]] - 1.0}
    assert margin_of(name, **arguments) == -1.0


@pytest.mark.parametrize(
    ("name", "argument"),
    [(name, argument) for name in AT_THE_LIMIT for argument in AT_THE_LIMIT[name]],
)
def test_what_is_not_known_leaves_the_check_unverified(name, argument):
    assert verdict(name, **AT_THE_LIMIT[name] | {argument: NAN}) is Verdict.UNVERIFIED


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.id)
def test_nan_everywhere_gives_a_nan_margin(check):
    assert math.isnan(margin_of(check.id, **dict.fromkeys(check.needs, NAN)))


@given(name=st.sampled_from(sorted(ROOM)), sizes=st.lists(SIZE, min_size=4, max_size=4), more=SIZE)
def test_more_room_never_lowers_a_margin(name, sizes, more):
    arguments = dict(zip(BY_ID[name].needs, sizes, strict=False))
    roomier = arguments | {ROOM[name]: arguments[ROOM[name]] + more}
    assert margin_of(name, **roomier) >= margin_of(name, **arguments)


@given(sizes=st.lists(SIZE, min_size=5, max_size=5), more=SIZE, side=st.sampled_from(["inner", "outer"]))
def test_more_room_on_either_side_never_lowers_the_wheelhouse_margin(sizes, more, side):
    arguments = dict(zip(BY_ID["wheelhouse_width"].needs, sizes, strict=True))
    key = f"room_{side}_mm"
    roomier = margin_of("wheelhouse_width", **arguments | {key: arguments[key] + more})
    assert roomier >= margin_of("wheelhouse_width", **arguments)


@given(rim=SIZE, low=SIZE, high=SIZE, more=SIZE)
def test_a_wider_approved_range_never_lowers_the_margin(rim, low, high, more):
    margin = margin_of("rim_width", rim_width_mm=rim, narrowest_mm=low, widest_mm=high)
    assert margin_of("rim_width", rim_width_mm=rim, narrowest_mm=low - more, widest_mm=high + more) >= margin


@given(offset=SIZE, section=SIZE, clearance=SIZE, room=SIZE, moved=SIZE)
def test_offset_moves_room_from_one_sidewall_to_the_other(offset, section, clearance, room, moved):
    def both(offset_mm):
        return sum(
            margin_of(name, offset_mm=offset_mm, section_width_mm=section, clearance_mm=clearance, room_mm=room)
            for name in ("inner_sidewall", "outer_sidewall")
        )

    assert both(offset + moved) == pytest.approx(both(offset), abs=0.003)


def test_a_hair_under_the_resolution_holds():
    arguments = AT_THE_LIMIT["inner_sidewall"] | {"room_mm": 122.6996}
    assert verdict("inner_sidewall", **arguments) is Verdict.PASS


def test_inner_sidewall_is_offset_and_half_a_section_and_clearance_under_the_room():
    margin = margin_of("inner_sidewall", offset_mm=-12.7, section_width_mm=240.0, clearance_mm=12.7, room_mm=150.0)
    assert margin == 30.0  # 150 - (-12.7 + 120 + 12.7)


def test_outer_sidewall_is_half_a_section_less_offset_and_clearance_under_the_room():
    margin = margin_of("outer_sidewall", offset_mm=-12.7, section_width_mm=240.0, clearance_mm=12.7, room_mm=150.0)
    assert margin == 4.6  # 150 - (120 + 12.7 + 12.7)


def test_a_rim_wider_than_approved_fails_though_the_narrowest_is_not_known():
    assert verdict("rim_width", rim_width_mm=228.6, narrowest_mm=NAN, widest_mm=203.2) is Verdict.FAIL


def test_a_rim_narrower_than_approved_fails_though_the_widest_is_not_known():
    assert verdict("rim_width", rim_width_mm=139.7, narrowest_mm=165.1, widest_mm=NAN) is Verdict.FAIL


def test_the_same_bolt_circle_holds():
    assert margin_of("bolt_circle", **CIRCLE) == 0.0


def test_another_lug_count_on_the_same_circle_fails():
    assert margin_of("bolt_circle", **CIRCLE | {"wheel_lugs": 5.0}) == -1.0


def test_a_circle_listed_to_the_whole_millimeter_is_the_same_circle():
    assert margin_of("bolt_circle", **CIRCLE | {"wheel_mm": 165.0, "mount_mm": 165.1}) == 0.0


def test_120_and_120_65_mm_are_two_circles():
    assert margin_of("bolt_circle", **CIRCLE | {"wheel_mm": 120.0, "mount_mm": 120.65}) == -1.0


def test_an_adapter_joins_two_patterns():
    assert margin_of("bolt_circle", **ADAPTER) == 0.0


def test_an_adapter_that_does_not_fit_the_hub_fails():
    assert margin_of("bolt_circle", **ADAPTER | {"hub_mm": 165.1}) == -1.0


def test_a_wheel_that_does_not_fit_the_adapter_fails():
    assert margin_of("bolt_circle", **ADAPTER | {"wheel_lugs": 6.0, "wheel_mm": 139.7}) == -1.0


def test_a_wheel_without_a_bolt_circle_is_unverified():
    assert verdict("bolt_circle", **CIRCLE | {"wheel_lugs": NAN, "wheel_mm": NAN}) is Verdict.UNVERIFIED


def test_a_15_in_tire_goes_on_a_15_in_wheel():
    assert margin_of("rim_diameter", tire_rim_mm=381.0, wheel_rim_mm=381.0) == 0.0


def test_a_15_in_tire_does_not_go_on_a_15_1_2_in_wheel():
    assert margin_of("rim_diameter", tire_rim_mm=381.0, wheel_rim_mm=393.7) == -1.0


def test_a_bore_smaller_than_the_pilot_fails_by_the_difference():
    assert margin_of("hub_bore", wheel_bore_mm=107.0, pilot_mm=108.0) == -1.0


def test_a_column_is_judged_row_by_row():
    check = BY_ID["fender_top"]
    sides = check.sides(overall_diameter_mm=np.array([700.0, 800.0, NAN]), clearance_mm=25.0, hub_to_top_mm=400.0)
    assert [verdict_of(margin) for margin in judged(check, sides.margin)] == ["pass", "fail", "unverified"]


def job_with(wheelhouse):
    hub = Hub(BoltCircle(6, 139.7))
    return Job(About("a job"), Truck(3000.0), Hubs(hub, hub), Wheelhouses(rear=wheelhouse))


def test_a_margin_inside_is_judged_on_the_clearance():
    assert BY_ID["inner_sidewall"].scale(job_with(Wheelhouse(clearance_inner_mm=20.0)), "rear") == 20.0


def test_a_clearance_of_zero_is_judged_on_an_eighth_of_an_inch():
    assert BY_ID["fender_top"].scale(job_with(Wheelhouse(clearance_top_mm=0.0)), "rear") == 3.175

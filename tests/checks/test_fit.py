"""Fit checks: margins by hand, the limit itself, what is missing, and more room."""

import dataclasses
import inspect
import math

import numpy as np
import pytest
from by_hand import HOUSE, NAN, corner_rows, job_with, judged_side, margin_of, parts_with, verdict
from hypothesis import given
from hypothesis import strategies as st

from combo.checks.check import Verdict, judged, verdict_of
from combo.checks.fit import CHECKS
from combo.checks.judge import judge
from combo.checks.rows import NO_SPACER, Picks
from combo.checks.rows import corner_rows as corners
from combo.checks.run import margins
from combo.job import About, Panhard, Spare, State, Steering, Targets, Wheelhouse, Wheelhouses

BY_ID = {check.id: check for check in CHECKS}
SIZE = st.floats(min_value=0, max_value=1000)
LEVEL = {
    "tilt_rad": 0.0,
    "track_mm": NAN,
    "center_mm": NAN,
    "other_center_mm": NAN,
    "diameter_mm": NAN,
    "rim_mm": NAN,
    "tread_mm": NAN,
    "dropped_room_mm": NAN,
}
"""Nothing of one wheel up where the axle is level."""

AT_THE_LIMIT = {
    "hub_bore": {
        "wheel_bore_mm": 108.0,
        "pilot_mm": 108.0,
        "meets_pilot": 1.0,
        "is_spaced": 1.0,
        "spacer_bore_mm": 108.0,
        "hub_pilot_mm": 108.0,
    },
    "rim_width": {"rim_width_mm": 203.2, "narrowest_mm": 165.1, "widest_mm": 203.2},
    "backspace_limit": {"backspace_mm": 114.3, "clearance_mm": 12.7, "shift_mm": 3.0, "room_mm": 130.0},
    "inner_sidewall": {
        "offset_mm": 10.0,
        "section_width_mm": 200.0,
        "clearance_mm": 12.7,
        "shift_mm": 3.0,
        "room_mm": 125.7,
        **LEVEL,
    },
    "outer_sidewall": {
        "offset_mm": 10.0,
        "section_width_mm": 200.0,
        "clearance_mm": 12.7,
        "shift_mm": 3.0,
        "room_mm": 105.7,
        **LEVEL,
    },
    "wheelhouse_width": {
        "section_width_mm": 200.0,
        "clearance_inner_mm": 12.0,
        "clearance_outer_mm": 13.0,
        "shift_mm": 3.0,
        "room_inner_mm": 128.0,
        "room_outer_mm": 103.0,
    },
    "fender_top": {
        "overall_diameter_mm": 700.0,
        "clearance_mm": 25.4,
        "hub_to_top_mm": 375.4,
        "tilt_rad": 0.0,
        "tread_mm": NAN,
    },
    "opening": {
        "overall_diameter_mm": 700.0,
        "clearance_mm": 12.5,
        "opening_ahead_mm": 362.5,
        "opening_behind_mm": 362.5,
    },
    # outer corner 180 + 120 aside and 400 along: 500 from the axis; at 90 deg D / 2 points inboard, and the axle shifts
    "steer_sweep": {
        "axis_inboard_mm": 180.0,
        "offset_mm": 0.0,
        "section_width_mm": 240.0,
        "overall_diameter_mm": 800.0,
        "lock_deg": 90.0,
        "clearance_mm": 12.5,
        "frame_clearance_mm": 12.5,
        "room_ahead_mm": 512.5,
        "room_behind_mm": 512.5,
        "frame_room_mm": 596.5,
        "shift_mm": 4.0,
    },
    "brake_barrel": {"barrel_mm": 336.0, "envelope_mm": 330.0, "clearance_mm": 3.0},
    "brake_spoke": {"spoke_mm": 20.0, "spacer_mm": 5.0, "reach_mm": 22.0, "clearance_mm": 3.0},
    "studs": {
        "length_mm": 40.0,
        "diameter_mm": 12.0,
        "engagement": 1.5,
        "pad_mm": 16.0,
        "spacer_mm": 6.0,
        "is_bolted": 0.0,
        "own_pad_mm": NAN,
        "own_length_mm": NAN,
        "own_diameter_mm": NAN,
    },
    "stud_end": {  # stud of 38, and pad and nut of 16 and 22, in a spacer of 30 and a pocket of 8
        "length_mm": 38.0,
        "spacer_mm": 30.0,
        "pocket_mm": 8.0,
        "is_bolted": 1.0,
        "own_pad_mm": 16.0,
        "nut_height_mm": 22.0,
    },
    "nut_depth": {  # 40 - 15 - 5 out of the seat, and 1.25 x 16 to engage
        "is_closed": 1.0,
        "thread_mm": 20.0,
        "length_mm": 40.0,
        "pad_mm": 15.0,
        "spacer_mm": 5.0,
        "is_bolted": 0.0,
        "own_length_mm": NAN,
        "diameter_mm": 16.0,
        "own_diameter_mm": NAN,
        "engagement": 1.25,
    },
    "spare_well": {
        "overall_diameter_mm": 700.0,
        "section_width_mm": 220.0,
        "overall_width_mm": 210.0,
        "clearance_mm": 6.0,
        "well_diameter_mm": 712.0,
        "well_width_mm": 226.0,
    },
}
"""Arguments of each check of a size, so that value and limit are equal, on every side of it."""
OF_THE_SPACER = {"is_bolted", "own_pad_mm", "own_length_mm", "own_diameter_mm"}
"""A wheel straight on the hub meets no studs of a spacer's own."""
HAS_NO_PART = {
    "studs": OF_THE_SPACER,
    "nut_depth": OF_THE_SPACER,
    "stud_end": {"is_bolted"},
    "hub_bore": {"meets_pilot", "is_spaced"},
    "inner_sidewall": set(LEVEL) - {"tilt_rad"},
    "outer_sidewall": set(LEVEL) - {"tilt_rad"},
    "fender_top": {"tread_mm"},
}
"""Arguments that may be open at each of these limits."""
ROOM = {
    "hub_bore": "wheel_bore_mm",
    "backspace_limit": "room_mm",
    "inner_sidewall": "room_mm",
    "outer_sidewall": "room_mm",
    "wheelhouse_width": "room_inner_mm",
    "fender_top": "hub_to_top_mm",
    "brake_barrel": "barrel_mm",
    "brake_spoke": "spoke_mm",
    "studs": "length_mm",
}
SIDES = {
    "opening": ("opening_ahead_mm", "opening_behind_mm"),
    "steer_sweep": ("room_ahead_mm", "room_behind_mm", "frame_room_mm"),
    "spare_well": ("well_diameter_mm", "well_width_mm"),
}
"""Rooms of the checks that look several ways."""
EVERY_SIDE = [(name, room) for name, rooms in SIDES.items() for room in rooms]
ONE_OF_TWO = [(name, room, other) for name, room in EVERY_SIDE for other in SIDES[name] if other != room]
BORE = AT_THE_LIMIT["hub_bore"] | {"is_spaced": 0.0, "spacer_bore_mm": NAN}
"""Of a wheel straight on the hub."""
ADAPTED = {
    "length_mm": 40.0,
    "diameter_mm": 12.0,
    "engagement": 1.0,
    "pad_mm": 16.0,
    "spacer_mm": 30.0,
    "is_bolted": 1.0,
    "own_pad_mm": 28.0,
    "own_length_mm": 30.0,
    "own_diameter_mm": 14.0,
}
"""On the adapter 30 - 16 and on the hub 40 - 28 are just one diameter."""
CIRCLE = {
    "wheel_lugs": 6.0,
    "wheel_mm": 139.7,
    "mount_lugs": 6.0,
    "mount_mm": 139.7,
    "spacer_lugs": NAN,
    "spacer_mm": NAN,
    "is_spaced": 0.0,
    "hub_lugs": 6.0,
    "hub_mm": 139.7,
}
ADAPTER = {
    "wheel_lugs": 5.0,
    "wheel_mm": 114.3,
    "mount_lugs": 5.0,
    "mount_mm": 114.3,
    "spacer_lugs": 6.0,
    "spacer_mm": 139.7,
    "is_spaced": 1.0,
    "hub_lugs": 6.0,
    "hub_mm": 139.7,
}


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
    [
        (name, argument)
        for name in AT_THE_LIMIT
        for argument in AT_THE_LIMIT[name]
        if argument not in HAS_NO_PART.get(name, ())
    ],
)
def test_what_is_not_known_leaves_the_check_unverified(name, argument):
    assert verdict(name, **AT_THE_LIMIT[name] | {argument: NAN}) is Verdict.UNVERIFIED


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.id)
def test_nan_everywhere_gives_a_nan_margin(check):
    assert math.isnan(margin_of(check.id, **dict.fromkeys(check.needs, NAN)))


@pytest.mark.parametrize(("name", "room"), EVERY_SIDE)
def test_a_millimeter_less_on_one_side_fails_by_a_millimeter(name, room):
    arguments = AT_THE_LIMIT[name] | {room: AT_THE_LIMIT[name][room] - 1.0}
    assert margin_of(name, **arguments) == -1.0


@pytest.mark.parametrize(("name", "short", "unknown"), ONE_OF_TWO)
def test_a_side_that_is_known_to_fail_fails_while_another_is_not_known(name, short, unknown):
    arguments = AT_THE_LIMIT[name] | {short: AT_THE_LIMIT[name][short] - 1.0, unknown: NAN}
    assert margin_of(name, **arguments) == -1.0


@given(
    name=st.sampled_from(sorted(ROOM)),
    room=st.floats(min_value=0, max_value=1000),
    more=st.floats(min_value=0, max_value=1000),
)
def test_more_room_is_as_much_more_margin(name, room, more):
    known = BORE if name == "hub_bore" else AT_THE_LIMIT[name]
    narrow, roomier = (margin_of(name, **known | {ROOM[name]: own}) for own in (room, room + more))
    assert roomier - narrow == pytest.approx(more, abs=0.002)


@given(side=st.sampled_from(EVERY_SIDE), room=SIZE, more=SIZE)
def test_more_room_on_one_side_never_lowers_a_margin(side, room, more):
    name, argument = side
    narrow = margin_of(name, **AT_THE_LIMIT[name] | {argument: room})
    assert margin_of(name, **AT_THE_LIMIT[name] | {argument: room + more}) >= narrow


def test_a_side_at_its_limit_to_the_last_digit_does_not_hide_one_that_is_not_known():
    arguments = {"overall_diameter_mm": 600.07, "clearance_mm": 6.35, "opening_ahead_mm": 306.385}
    assert verdict("opening", **arguments, opening_behind_mm=NAN) is Verdict.UNVERIFIED


@given(rim=SIZE, low=SIZE, high=SIZE, more=SIZE)
def test_a_wider_approved_range_never_lowers_the_margin(rim, low, high, more):
    margin = margin_of("rim_width", rim_width_mm=rim, narrowest_mm=low, widest_mm=high)
    assert margin_of("rim_width", rim_width_mm=rim, narrowest_mm=low - more, widest_mm=high + more) >= margin


@given(offset=SIZE, section=SIZE, clearance=SIZE, room=SIZE, moved=SIZE)
def test_offset_moves_room_from_one_sidewall_to_the_other(offset, section, clearance, room, moved):
    def both(offset_mm):
        return sum(
            margin_of(
                name,
                offset_mm=offset_mm,
                section_width_mm=section,
                clearance_mm=clearance,
                shift_mm=0.0,
                room_mm=room,
                **LEVEL,
            )
            for name in ("inner_sidewall", "outer_sidewall")
        )

    assert both(offset + moved) == pytest.approx(both(offset), abs=0.003)


def test_a_hair_under_the_resolution_holds():
    arguments = AT_THE_LIMIT["inner_sidewall"] | {"room_mm": 125.6996}
    assert verdict("inner_sidewall", **arguments) is Verdict.PASS


TIGHT = {
    "offset_mm": -12.7,
    "section_width_mm": 240.0,
    "clearance_mm": 12.7,
    "shift_mm": 0.0,
    "room_mm": 150.0,
    **LEVEL,
}


def test_inner_sidewall_is_offset_and_half_a_section_and_clearance_under_the_room():
    assert margin_of("inner_sidewall", **TIGHT) == 30.0  # 150 - (-12.7 + 120 + 12.7)


def test_outer_sidewall_is_half_a_section_less_offset_and_clearance_under_the_room():
    assert margin_of("outer_sidewall", **TIGHT) == 4.6  # 150 - (120 + 12.7 + 12.7)


@pytest.mark.parametrize("name", ["inner_sidewall", "outer_sidewall"])
def test_the_shift_of_the_axle_takes_room_on_either_side(name):
    assert margin_of(name, **TIGHT | {"shift_mm": 3.5}) == pytest.approx(margin_of(name, **TIGHT) - 3.5)


def test_the_shift_takes_the_wheelhouse_width_twice():
    arguments = AT_THE_LIMIT["wheelhouse_width"] | {"shift_mm": 5.0}  # 2 mm more on both sides
    assert margin_of("wheelhouse_width", **arguments) == -4.0


def test_the_nearer_edge_of_the_opening_decides():
    arguments = {"overall_diameter_mm": 740.0, "clearance_mm": 12.7, "opening_ahead_mm": 420.0}
    assert margin_of("opening", **arguments, opening_behind_mm=390.0) == 7.3  # 390 - (370 + 12.7)


def test_the_opening_tells_the_edge_that_decides():
    arguments = {"overall_diameter_mm": 740.0, "clearance_mm": 12.7, "opening_ahead_mm": 420.0}
    check = BY_ID["opening"]
    assert float(judged_side(check, check.sides(**arguments, opening_behind_mm=390.0)).limit) == 390.0


def test_a_small_lock_keeps_the_corner_from_its_farthest_point():
    arguments = AT_THE_LIMIT["steer_sweep"] | {"lock_deg": 30.0, "frame_room_mm": 1000.0}
    along = 400.0 * math.cos(math.radians(30.0)) + 300.0 * 0.5
    assert margin_of("steer_sweep", **arguments) == round(512.5 - 12.5 - along, 3)


def test_the_inner_edge_at_lock_stays_off_the_frame():
    arguments = AT_THE_LIMIT["steer_sweep"] | {"lock_deg": 30.0, "frame_room_mm": 340.0}
    inward = 180.0 - 60.0 * math.cos(math.radians(30.0)) + 400.0 * 0.5
    assert margin_of("steer_sweep", **arguments) == round(340.0 - 12.5 - 4.0 - inward, 3)


def test_a_shift_takes_room_to_the_frame_alone():
    arguments = AT_THE_LIMIT["steer_sweep"] | {"shift_mm": 6.0}
    sides = BY_ID["steer_sweep"].sides(**arguments)
    middle = round(512.5 - 12.5 - (120.0**2 + 400.0**2) ** 0.5, 6)  # both corners, were it to turn on its middle
    ways = [0.0, 100.0, middle]
    assert [round(float(side.margin), 6) for side in sides] == [*ways, *ways, -2.0]


def test_without_steering_the_sweep_is_half_the_diameter():
    arguments = AT_THE_LIMIT["steer_sweep"] | {"lock_deg": 0.0, "frame_room_mm": 1000.0}
    assert margin_of("steer_sweep", **arguments) == 100.0  # 512.5 - 400 - 12.5


def test_the_clearance_at_the_barrel_is_kept_on_both_sides():
    assert margin_of("brake_barrel", barrel_mm=340.0, envelope_mm=320.0, clearance_mm=3.0) == 14.0


def test_a_spacer_moves_the_spokes_off_the_caliper():
    assert margin_of("brake_spoke", spoke_mm=20.0, spacer_mm=6.0, reach_mm=24.0, clearance_mm=0.0) == 2.0


def test_the_spokes_keep_the_brakes_clearance():
    assert margin_of("brake_spoke", spoke_mm=20.0, spacer_mm=6.0, reach_mm=24.0, clearance_mm=3.175) == -1.175


def test_a_caliper_that_stays_inboard_leaves_all_the_room():
    assert margin_of("brake_spoke", spoke_mm=20.0, spacer_mm=0.0, reach_mm=-5.0, clearance_mm=3.0) == 22.0


def test_a_spacer_costs_stud():
    thick = margin_of("studs", **AT_THE_LIMIT["studs"] | {"spacer_mm": 10.0})
    assert thick == -4.0  # 40 - 16 - 10 - 1.5 x 12


def test_a_bolted_adapter_at_both_limits_holds():
    assert margin_of("studs", **ADAPTED) == 0.0


def test_a_bolted_adapter_does_not_take_its_thickness_from_the_hubs_studs():
    assert margin_of("studs", **ADAPTED | {"spacer_mm": 50.0}) == 0.0


def test_the_wheel_on_an_adapter_needs_the_adapters_studs():
    assert margin_of("studs", **ADAPTED | {"own_length_mm": 28.0}) == -2.0


def test_the_adapter_itself_needs_the_hubs_studs():
    assert margin_of("studs", **ADAPTED | {"length_mm": 37.0}) == -3.0


@pytest.mark.parametrize("unknown", sorted(set(ADAPTED) - {"spacer_mm", "is_bolted"}))
def test_a_bolted_adapter_is_unverified_without(unknown):
    assert verdict("studs", **ADAPTED | {unknown: NAN}) is Verdict.UNVERIFIED


def test_an_adapter_known_to_be_short_of_thread_fails_though_the_hubs_studs_are_not_known():
    assert margin_of("studs", **ADAPTED | {"own_length_mm": 28.0, "length_mm": NAN}) == -2.0


def test_the_spare_is_as_wide_as_the_wider_of_tire_and_rim():
    arguments = AT_THE_LIMIT["spare_well"] | {"overall_width_mm": 225.0}
    assert margin_of("spare_well", **arguments) == -5.0


def test_the_spare_has_clearance_around_it_and_on_one_side_of_its_width():
    arguments = AT_THE_LIMIT["spare_well"] | {"clearance_mm": 7.0}
    assert margin_of("spare_well", **arguments) == -2.0  # 700 + 14 into 712; 220 + 7 into 226 is -1


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
    assert margin_of("hub_bore", **BORE | {"wheel_bore_mm": 107.0}) == -1.0


def test_without_a_spacer_none_has_a_bore_to_measure():
    assert verdict("hub_bore", **BORE) is Verdict.PASS


def test_a_wheel_that_meets_no_pilot_has_any_bore():
    assert margin_of("hub_bore", **AT_THE_LIMIT["hub_bore"] | {"meets_pilot": 0.0, "wheel_bore_mm": NAN}) == 0.0


def test_a_spacers_own_bore_goes_over_the_hubs_pilot():
    assert margin_of("hub_bore", **AT_THE_LIMIT["hub_bore"] | {"meets_pilot": 0.0, "spacer_bore_mm": 106.0}) == -2.0


@pytest.mark.parametrize(("bore", "answer"), [(108.0, Verdict.PASS), (107.9, Verdict.UNVERIFIED)])
def test_where_the_pilots_length_is_not_known_only_a_bore_that_goes_over_it_holds(bore, answer):
    assert verdict("hub_bore", **AT_THE_LIMIT["hub_bore"] | {"meets_pilot": NAN, "wheel_bore_mm": bore}) is answer


def test_a_column_is_judged_row_by_row():
    check = BY_ID["fender_top"]
    known = AT_THE_LIMIT["fender_top"] | {"clearance_mm": 25.0, "hub_to_top_mm": 400.0}
    sides = check.sides(**known | {"overall_diameter_mm": np.array([700.0, 800.0, NAN])})
    assert [verdict_of(margin) for margin in judged(check, sides.margin)] == ["pass", "fail", "unverified"]


def test_a_margin_inside_is_judged_on_the_clearance():
    house = Wheelhouses(rear=Wheelhouse(clearance_inner_mm=20.0))
    assert BY_ID["inner_sidewall"].scale(job_with(wheelhouse=house), "rear") == 20.0


def test_a_clearance_of_zero_is_judged_on_an_eighth_of_an_inch():
    house = Wheelhouses(rear=Wheelhouse(clearance_top_mm=0.0))
    assert BY_ID["fender_top"].scale(job_with(wheelhouse=house), "rear") == 3.175


# In several states of the suspension: rows of the corner, with the room that each state has

INNER = BY_ID["inner_sidewall"]
PLAIN = 200.0 - 120.0 - 12.7  # of the plain corner by the wheelhouse's own room


def job_in(states, **tables):
    house = Wheelhouses(front=dataclasses.replace(HOUSE, **states))
    return job_with(wheelhouse=house, **tables)


def margin_in(states, check="inner_sidewall", **tables):
    job = job_in(states, **tables)
    return margins(job, "front", [BY_ID[check]], corner_rows(job))[0, 0]


def test_without_states_the_wheelhouse_itself_decides():
    assert margin_in({}) == pytest.approx(PLAIN)


def test_the_worst_state_decides():
    assert margin_in({"full_bump": State(room_inner_mm=140.0), "ride_height": State(room_inner_mm=160.0)}) == (
        pytest.approx(140.0 - 120.0 - 12.7)
    )


def test_the_state_that_decides_is_told():
    job = job_in({"full_bump": State(room_inner_mm=140.0), "ride_height": State(room_inner_mm=160.0)})
    assert judge(job, "front", INNER, corner_rows(job)).variant[0] == "full_bump"


def test_every_row_is_judged_in_its_own_worst_state():
    job = job_in({"ride_height": State(room_inner_mm=150.0), "full_bump": State(hub_to_top_mm=380.0)})
    parts = parts_with(wheels=[{}, {"sku": "W2", "offset_mm": 20.0}])
    rows = corners(job, "front", parts, Picks(np.arange(2), np.zeros(2, dtype=np.int64), np.full(2, NO_SPACER)))
    inner, top = margins(job, "front", [INNER, BY_ID["fender_top"]], rows).T
    assert inner.tolist() == pytest.approx([17.3, -2.7])
    assert top.tolist() == pytest.approx([-15.4, -15.4])  # 380 - 370 - 25.4 with either wheel


def test_a_state_without_its_own_room_has_the_wheelhouses():
    assert margin_in({"full_bump": State(hub_to_top_mm=380.0)}) == pytest.approx(PLAIN)


def test_a_state_in_which_nothing_is_known_leaves_the_check_unverified():
    job = job_with(wheelhouse=Wheelhouses(Wheelhouse(ride_height=State(room_inner_mm=160.0), full_bump=State())))
    assert np.isnan(margins(job, "front", [INNER], corner_rows(job))[0, 0])


def test_a_state_that_fails_fails_while_another_is_not_known():
    job = job_with(wheelhouse=Wheelhouses(Wheelhouse(ride_height=State(room_inner_mm=120.0), full_bump=State())))
    assert margins(job, "front", [INNER], corner_rows(job))[0, 0] == pytest.approx(-12.7)


@pytest.mark.parametrize(("check", "room"), [("inner_sidewall", 200.0), ("outer_sidewall", 190.0)])
def test_a_panhard_bar_shifts_the_axle_to_both_sides(check, room):
    states = {"full_bump": State(travel_mm=60.0)}
    margin = margin_in(states, check, panhard=Panhard(front_length_mm=100.0))
    assert margin == pytest.approx(room - 120.0 - 12.7 - 20.0)  # 100 - sqrt(100^2 - 60^2)


def test_a_panhard_bar_is_level_at_ride_height():
    assert margin_in({"ride_height": State()}, panhard=Panhard(front_length_mm=100.0)) == pytest.approx(PLAIN)


def test_droop_shifts_as_much_as_bump_where_the_bar_is_level():
    bar = Panhard(front_length_mm=100.0)
    assert margin_in({"full_droop": State(travel_mm=-60.0)}, panhard=bar) == pytest.approx(PLAIN - 20.0)


def test_a_bar_that_rises_to_the_frame_shifts_by_how_its_reach_changes():
    bar = Panhard(front_length_mm=100.0, front_rise_mm=60.0)  # a reach of 80 now, and of 100 where it is level
    assert margin_in({"full_bump": State(travel_mm=60.0)}, panhard=bar) == pytest.approx(PLAIN - 20.0)


def test_a_bar_that_passes_level_is_back_where_it_was():
    bar = Panhard(front_length_mm=100.0, front_rise_mm=30.0)
    assert margin_in({"full_bump": State(travel_mm=60.0)}, panhard=bar) == pytest.approx(PLAIN)


def test_the_bars_shift_counts_towards_the_frame_in_the_sweep():
    states = {"full_bump": State(travel_mm=60.0, frame_room_mm=450.0, lock_deg=90.0)}
    bars = Panhard(), Panhard(front_length_mm=100.0)
    still, shifted = (margin_in(states, "steer_sweep", panhard=bar) for bar in bars)
    # the inner corner turns to 90 + hypot(30, 370) inboard at most: 461.2 and the clearance
    assert still == pytest.approx(450.0 - 12.7 - 90.0 - math.hypot(30.0, 370.0), abs=0.001)
    assert shifted == pytest.approx(still - 20.0)


@pytest.mark.parametrize("states", [{}, {"full_bump": State()}])
def test_a_panhard_bar_with_a_travel_that_is_not_known_leaves_the_check_unverified(states):
    assert np.isnan(margin_in(states, panhard=Panhard(front_length_mm=100.0)))


def test_the_bar_of_the_other_axle_shifts_nothing():
    assert margin_in({"full_bump": State(travel_mm=60.0)}, panhard=Panhard(rear_length_mm=100.0)) == (
        pytest.approx(PLAIN)
    )


def test_a_state_may_have_a_lock_of_its_own():
    states = {"ride_height": State(), "laid_out": State(lock_deg=0.0, sweep_ahead_mm=383.0)}
    assert margin_in(states, "steer_sweep") == pytest.approx(0.3)  # straight ahead: 383 - 370 - 12.7


def test_the_steering_axis_follows_from_the_scrub_radius_and_the_inclination():
    tilted = Steering(lock_deg=90.0, kingpin_inclination_deg=45.0, scrub_radius_mm=-260.0)
    present = dataclasses.replace(job_with().present, front_offset_mm=10.0, front_hub_height_mm=340.0)
    margin = margin_in({}, "steer_sweep", steering=tilted, present=present)
    given_ = margin_in({}, "steer_sweep", steering=Steering(90.0, axis_offset_mm=90.0))  # 10 - 260 + 340
    assert margin == pytest.approx(given_)


# At speed: D of the plain tire is 740, and grows by 0.5 % at 160 km/h

FAST = Targets(top_speed_km_h=160.0)
GROWN = 740.0 * 0.005 / 2.0


@pytest.mark.parametrize(
    ("states", "grows"),
    [
        ({}, GROWN),
        ({"ride_height": State()}, GROWN),
        ({"full_bump": State()}, GROWN),
        ({"full_droop": State()}, 0.0),
        ({"laid_out": State()}, 0.0),
        ({"articulated": State()}, 0.0),
    ],
)
@pytest.mark.parametrize(("check", "room"), [("fender_top", 430.0 - 25.4), ("opening", 450.0 - 12.7)])
def test_a_tire_has_grown_where_the_truck_may_be_at_its_top_speed(states, grows, check, room):
    assert margin_in(states, check, targets=FAST) == pytest.approx(room - 370.0 - grows)


def test_growth_rises_with_the_square_of_the_speed():
    half_as_fast = Targets(top_speed_km_h=80.0)
    assert margin_in({}, "fender_top", targets=half_as_fast) == pytest.approx(
        430.0 - 370.0 - 25.4 - GROWN / 4.0, abs=0.0006
    )


@pytest.mark.parametrize("construction", ["bias", ""])
def test_a_tire_that_is_not_known_to_be_radial_grows_four_times_as_much(construction):
    job = job_in({}, targets=FAST)
    rows = corner_rows(job, tire={"construction": construction})
    margin = margins(job, "front", [BY_ID["fender_top"]], rows)[0, 0]
    assert margin == pytest.approx(430.0 - 370.0 - 25.4 - 4.0 * GROWN)


def test_a_tire_that_is_steered_has_not_grown():
    assert margin_in({}, "steer_sweep", targets=FAST) == margin_in({}, "steer_sweep")


def test_a_spare_has_not_grown():
    spare = Spare(760.0, 260.0)
    job = job_with(job=About("by hand", spare=True), spare=spare, targets=FAST)
    assert margins(job, "rear", [BY_ID["spare_well"]], corner_rows(job, "rear"))[0, 0] == pytest.approx(760.0 - 752.7)


def test_clearances_take_the_listed_diameter_of_a_deep_tread():
    """A flotation size without a listed diameter has two: 25.4 x 31 less 6 mm clears, less 12 mm rolls."""
    flotation = {
        "designation": "31x10.50R15LT",
        "overall_diameter_mm": None,
        "section_width_mm": None,
        "static_loaded_radius_mm": None,
    }
    job = job_in({})
    rows = corner_rows(job, tire=flotation)
    assert margins(job, "front", [BY_ID["fender_top"]], rows)[0, 0] == pytest.approx(430.0 - 25.4 - 781.0 / 2.0)
    assert rows["tire.running_diameter_mm"][0] == 775.0

"""Does it bolt on, does the tire belong on the rim, and does it clear wheelhouse, steering and brakes.

The table is at the foot.
"""

from __future__ import annotations

import numpy as np

from combo.checks.check import (
    Check,
    Cure,
    Inequalities,
    Inequality,
    agrees,
    at_least,
    at_most,
    where_it_matters,
    within,
)
from combo.checks.values import clearance_mm
from combo.formulas import Column
from combo.formulas.axle import lean_inboard_mm, lean_outboard_mm
from combo.formulas.rounding import half_up
from combo.formulas.steering import corner_along_mm, sweep_inward_mm
from combo.formulas.wheel import same_circle
from combo.job import Axle, Job

RIM_DIAMETER_AGREEMENT_MM = 1.0  # codes are half an inch apart or more
SMALLEST_SCALE_MM = 3.175  # 1/8 in: a clearance of zero is judged on this scale


def bolt_circle(
    wheel_lugs: Column,
    wheel_mm: Column,
    mount_lugs: Column,
    mount_mm: Column,
    spacer_lugs: Column,
    spacer_mm: Column,
    is_spaced: Column,
    hub_lugs: Column,
    hub_mm: Column,
) -> Inequality:
    """Lug count and circle of the wheel equal those of what it meets, and a spacer's own those of the hub."""
    wheel_fits = same_circle(wheel_lugs, wheel_mm, mount_lugs, mount_mm)
    spacer_fits = (np.asarray(is_spaced) == 0) | same_circle(spacer_lugs, spacer_mm, hub_lugs, hub_mm)
    return agrees(wheel_fits & spacer_fits, np.asarray(wheel_mm) + mount_mm)


def hub_bore(
    wheel_bore_mm: Column,
    pilot_mm: Column,
    meets_pilot: Column,
    is_spaced: Column,
    spacer_bore_mm: Column,
    hub_pilot_mm: Column,
) -> Inequalities:
    """The wheel's bore goes over the pilot that it meets, and a spacer's own over the hub's.

    Where it is open whether the hub's pilot reaches through the spacer, a bore that would go over it does.
    """
    wheel = at_least(wheel_bore_mm, pilot_mm)
    is_open = np.isnan(np.asarray(meets_pilot, dtype=float)) & np.less(wheel.margin, 0.0)
    wheel = Inequality(wheel.value, wheel.limit, np.where(is_open, np.nan, wheel.margin))
    spacer = at_least(spacer_bore_mm, hub_pilot_mm)
    return where_it_matters(np.asarray(meets_pilot) != 0.0, wheel), where_it_matters(is_spaced, spacer)


def rim_diameter(tire_rim_mm: Column, wheel_rim_mm: Column) -> Inequality:
    """The tire's nominal rim diameter is the wheel's."""
    apart = np.abs(np.asarray(tire_rim_mm) - wheel_rim_mm)
    return agrees(apart <= RIM_DIAMETER_AGREEMENT_MM, apart)


def rim_width(rim_width_mm: Column, narrowest_mm: Column, widest_mm: Column) -> Inequalities:
    """The rim is inside the tire's approved range."""
    return within(rim_width_mm, narrowest_mm, widest_mm)


def backspace_limit(backspace_mm: Column, clearance_mm: Column, shift_mm: Column, room_mm: Column) -> Inequality:
    """The inboard rim flange stays clear of the inner wheelhouse, the axle shifted by its Panhard bar."""
    return at_most(backspace_mm + clearance_mm + shift_mm, room_mm)


def inner_sidewall(
    offset_mm: Column,
    section_width_mm: Column,
    clearance_mm: Column,
    shift_mm: Column,
    room_mm: Column,
    tilt_rad: float,
    track_mm: float,
    center_mm: float,
    other_center_mm: float,
    diameter_mm: Column,
    rim_mm: Column,
    tread_mm: Column,
    dropped_room_mm: float,
) -> Inequality | Inequalities:
    """The inner sidewall stays clear of the inner wheelhouse, the axle shifted by its Panhard bar.

    With one wheel up, so do the top and the middle of the raised tire's sidewall, and the bottom of the dropped one's.
    """
    taken = offset_mm + clearance_mm + shift_mm
    if tilt_rad == 0.0:
        return at_most(taken + section_width_mm / 2.0, room_mm)
    points = ((diameter_mm / 2.0, tread_mm / 2.0), (_middle_mm(diameter_mm, rim_mm), section_width_mm / 2.0))
    beam = tilt_rad, track_mm
    found = []
    for center in dict.fromkeys((center_mm, other_center_mm)):
        found += [at_most(taken + half + lean_inboard_mm(height, center, *beam), room_mm) for height, half in points]
        bottom = -lean_outboard_mm(-diameter_mm / 2.0, center, *beam)
        found.append(at_most(taken + tread_mm / 2.0 + bottom, dropped_room_mm))
    return tuple(found)


def outer_sidewall(
    offset_mm: Column,
    section_width_mm: Column,
    clearance_mm: Column,
    shift_mm: Column,
    room_mm: Column,
    tilt_rad: float,
    track_mm: float,
    center_mm: float,
    other_center_mm: float,
    diameter_mm: Column,
    rim_mm: Column,
    tread_mm: Column,
    dropped_room_mm: float,
) -> Inequality | Inequalities:
    """The outer sidewall stays clear of the fender lip, the axle shifted by its Panhard bar.

    With one wheel up, so do the top and the middle of both tires' sidewalls.
    """
    taken = clearance_mm + shift_mm - offset_mm
    if tilt_rad == 0.0:
        return at_most(taken + section_width_mm / 2.0, room_mm)
    points = ((diameter_mm / 2.0, tread_mm / 2.0), (_middle_mm(diameter_mm, rim_mm), section_width_mm / 2.0))
    beam = tilt_rad, track_mm
    found = []
    for center in dict.fromkeys((center_mm, other_center_mm)):
        for height, half in points:
            found.append(at_most(taken + half - lean_inboard_mm(height, center, *beam), room_mm))
            found.append(at_most(taken + half + lean_outboard_mm(height, center, *beam), dropped_room_mm))
    return tuple(found)


def _middle_mm(diameter_mm: Column, rim_mm: Column) -> Column:
    """Height of the middle of the sidewall over the hub center: halfway from the rim to the tread."""
    return (diameter_mm + half_up(rim_mm)) / 4.0


def wheelhouse_width(
    section_width_mm: Column,
    clearance_inner_mm: Column,
    clearance_outer_mm: Column,
    shift_mm: Column,
    room_inner_mm: Column,
    room_outer_mm: Column,
) -> Inequality:
    """The tire fits between the plumb lines at all, whatever the offset, with the axle shifted to either side."""
    needed = section_width_mm + clearance_inner_mm + clearance_outer_mm + 2.0 * shift_mm
    return at_most(needed, room_inner_mm + room_outer_mm)


def fender_top(
    overall_diameter_mm: Column, clearance_mm: Column, hub_to_top_mm: Column, tilt_rad: float, tread_mm: Column
) -> Inequality:
    """The tread stays clear of the wheelhouse's top at full bump, laid out on air, or with one wheel up."""
    half_mm = overall_diameter_mm / 2.0
    if tilt_rad == 0.0:
        return at_most(half_mm + clearance_mm, hub_to_top_mm)
    corner_mm = half_mm * np.cos(tilt_rad) + tread_mm / 2.0 * np.sin(tilt_rad)
    return at_most(corner_mm + clearance_mm, hub_to_top_mm)


def opening(
    overall_diameter_mm: Column, clearance_mm: Column, opening_ahead_mm: Column, opening_behind_mm: Column
) -> Inequalities:
    """The tread stays clear of the edges of the wheel opening, ahead and behind."""
    needed = overall_diameter_mm / 2.0 + clearance_mm
    return at_most(needed, opening_ahead_mm), at_most(needed, opening_behind_mm)


def steer_sweep(
    axis_inboard_mm: Column,
    offset_mm: Column,
    section_width_mm: Column,
    overall_diameter_mm: Column,
    lock_deg: Column,
    clearance_mm: Column,
    frame_clearance_mm: Column,
    room_ahead_mm: Column,
    room_behind_mm: Column,
    frame_room_mm: Column,
    shift_mm: Column,
) -> Inequalities:
    """The front tire, steered from straight ahead to either lock, stays clear ahead, behind and of the frame, towards
    which its axle may be shifted.

    The outer and the inner corner are two constraints each way, so that each has one bad end of every plus-or-minus.
    """
    center_mm, half_mm = axis_inboard_mm - offset_mm, overall_diameter_mm / 2.0
    corners = (section_width_mm / 2.0 + center_mm, section_width_mm / 2.0 - center_mm)
    along = [corner_along_mm(side_mm, half_mm, lock_deg) + clearance_mm for side_mm in corners]
    # With any offset one corner comes as far as both do where the tire turns on its middle: known without the offset.
    centered = corner_along_mm(section_width_mm / 2.0, half_mm, lock_deg) + clearance_mm
    along.append(np.where(np.isnan(axis_inboard_mm), np.nan, centered))
    inward = sweep_inward_mm(axis_inboard_mm, offset_mm, section_width_mm, overall_diameter_mm, lock_deg)
    return (
        *(at_most(needed, room_mm) for room_mm in (room_ahead_mm, room_behind_mm) for needed in along),
        at_most(inward + frame_clearance_mm + shift_mm, frame_room_mm),
    )


def brake_barrel(barrel_mm: Column, envelope_mm: Column, clearance_mm: Column) -> Inequality:
    """The brake turns free inside the wheel's barrel."""
    return at_least(barrel_mm, envelope_mm + 2.0 * clearance_mm)


def wheel_weights(barrel_mm: Column, envelope_mm: Column, clearance_mm: Column, thickness_mm: Column) -> Inequality:
    """Balance weights that are stuck inside the barrel turn free of the brake."""
    return brake_barrel(barrel_mm - 2.0 * thickness_mm, envelope_mm, clearance_mm)


def brake_spoke(spoke_mm: Column, spacer_mm: Column, reach_mm: Column, clearance_mm: Column) -> Inequality:
    """The caliper turns free behind the spokes; a spacer moves them away from it."""
    return at_least(spoke_mm + spacer_mm, reach_mm + clearance_mm)


def studs(
    length_mm: Column,
    diameter_mm: Column,
    engagement: Column,
    pad_mm: Column,
    spacer_mm: Column,
    is_bolted: Column,
    own_pad_mm: Column,
    own_length_mm: Column,
    own_diameter_mm: Column,
) -> Inequalities:
    """Lug nuts engage enough thread: on the hub's studs, through the spacer; or on a bolted spacer's own studs, while
    its nuts engage those of the hub.
    """
    bolted = np.asarray(is_bolted) == 1.0
    through = at_least(length_mm - pad_mm - spacer_mm, engagement * diameter_mm)
    on_own = at_least(own_length_mm - pad_mm, engagement * own_diameter_mm)
    on_hub = at_least(length_mm - own_pad_mm, engagement * diameter_mm)
    return where_it_matters(~bolted, through), where_it_matters(bolted, on_own), where_it_matters(bolted, on_hub)


def stud_end(
    length_mm: Column,
    spacer_mm: Column,
    pocket_mm: Column,
    is_bolted: Column,
    own_pad_mm: Column,
    nut_height_mm: Column,
) -> Inequalities:
    """The hub's studs, and the nuts on them that hold a bolted spacer, end inside it or in the wheel's pockets.

    Else the wheel stands on them and does not seat.
    """
    room = spacer_mm + pocket_mm
    return (
        where_it_matters(is_bolted, at_most(length_mm, room)),
        where_it_matters(is_bolted, at_most(own_pad_mm + nut_height_mm, room)),
    )


def nut_depth(
    is_closed: Column,
    thread_mm: Column,
    length_mm: Column,
    pad_mm: Column,
    spacer_mm: Column,
    is_bolted: Column,
    own_length_mm: Column,
    diameter_mm: Column,
    own_diameter_mm: Column,
    engagement: Column,
) -> Inequalities:
    """A stud does not bottom in a closed nut, and the nut has thread enough.

    An open nut lets the stud through; whether one is open must be known.
    """
    bolted = np.asarray(is_bolted) == 1.0
    out = np.where(bolted, own_length_mm - pad_mm, length_mm - pad_mm - spacer_mm)
    needed = engagement * np.where(bolted, own_diameter_mm, diameter_mm)
    stays_off = at_most(out, np.where(np.isnan(is_closed), np.nan, thread_mm))
    return (
        where_it_matters(np.asarray(is_closed) != 0.0, stays_off),
        where_it_matters(~np.isnan(thread_mm), at_least(thread_mm, needed)),
    )


def seat(seat_agrees: Column, thread_agrees: Column, left_agrees: Column) -> Inequalities:
    """The lug nut has the wheel's seat and the stud's thread; left-hand studs have nuts of their own."""
    return tuple(agrees(own, own) for own in (seat_agrees, thread_agrees, left_agrees))


def spare_well(
    overall_diameter_mm: Column,
    section_width_mm: Column,
    overall_width_mm: Column,
    clearance_mm: Column,
    well_diameter_mm: Column,
    well_width_mm: Column,
) -> Inequalities:
    """A rear wheel and tire goes into the spare's well or carrier."""
    return (
        at_most(overall_diameter_mm + 2.0 * clearance_mm, well_diameter_mm),
        at_most(section_width_mm + clearance_mm, well_width_mm),
        at_most(overall_width_mm + clearance_mm, well_width_mm),
    )


def spare_bolts(
    wheel_lugs: Column,
    wheel_mm: Column,
    mount_lugs: Column,
    mount_mm: Column,
    bore_mm: Column,
    pilot_mm: Column,
    meets_pilot: Column,
) -> Inequalities:
    """The spare, one of the rear wheels, bolts to what the front wheels bolt to."""
    fits = same_circle(wheel_lugs, wheel_mm, mount_lugs, mount_mm)
    room = half_up((np.asarray(bore_mm, dtype=float) - pilot_mm) * 1000.0)
    goes_on = agrees(room >= 0, room)
    return agrees(fits, np.asarray(wheel_mm) + mount_mm), where_it_matters(np.asarray(meets_pilot) != 0.0, goes_on)


def spare_front(
    barrel_mm: Column,
    spoke_mm: Column,
    pad_mm: Column,
    spacer_mm: Column,
    envelope_mm: Column,
    reach_mm: Column,
    clearance_mm: Column,
    stud_room_mm: Column,
) -> Inequalities:
    """The spare, one of the rear wheels, turns free of the front brake, and its nuts engage enough thread there."""
    return (
        brake_barrel(barrel_mm, envelope_mm, clearance_mm),
        brake_spoke(spoke_mm, spacer_mm, reach_mm, clearance_mm),
        at_most(pad_mm, stud_room_mm),
    )


def _has_spare(job: Job) -> bool:
    return job.job.spare


def _bare_scale(job: Job, axle: Axle) -> float:
    return _scale(getattr(job.wheelhouse, axle).clearance_inner_mm)


def _inner_scale(job: Job, axle: Axle) -> float:
    return _scale(clearance_mm(job, axle, "inner"))


def _outer_scale(job: Job, axle: Axle) -> float:
    return _scale(clearance_mm(job, axle, "outer"))


def _both_scale(job: Job, axle: Axle) -> float:
    return _inner_scale(job, axle) + _outer_scale(job, axle)


def _top_scale(job: Job, axle: Axle) -> float:
    return _scale(clearance_mm(job, axle, "top"))


def _opening_scale(job: Job, axle: Axle) -> float:
    return _scale(clearance_mm(job, axle, "opening"))


def _sweep_scale(job: Job, axle: Axle) -> float:
    return _scale(clearance_mm(job, axle, "sweep"))


def _brake_scale(job: Job, axle: Axle) -> float:
    return _scale(getattr(job.brakes, axle).clearance_mm)


def _scale(clearance_mm: float) -> float:
    return max(clearance_mm, SMALLEST_SCALE_MM)


CHECKS = (
    Check(
        id="bolt_circle",
        name="lug count and bolt circle",
        group="fit",
        rows="corner",
        unit="yes_no",
        formula="equal to the hub's, or through an adapter's two patterns (within 0.15 mm)",
        source="geometry",
        sides=bolt_circle,
        needs={
            "wheel_lugs": "wheel.bolt_circle_lugs",
            "wheel_mm": "wheel.bolt_circle_mm",
            "mount_lugs": "mount.bolt_circle_lugs",
            "mount_mm": "mount.bolt_circle_mm",
            "spacer_lugs": "spacer.bolt_circle_lugs",
            "spacer_mm": "spacer.bolt_circle_mm",
            "is_spaced": "spacer.is_fitted",
            "hub_lugs": "hub.bolt_circle_lugs",
            "hub_mm": "hub.bolt_circle_mm",
        },
        shown=("wheel.bolt_circle", "mount.bolt_circle"),
        firm=True,
    ),
    Check(
        id="hub_bore",
        name="hub bore",
        group="fit",
        rows="corner",
        unit="mm",
        formula="wheel bore >= pilot that it meets: the hub's (through a spacer without a lip only where it is longer "
        "than t) or the spacer's lip; a spacer's own bore >= pilot of the hub",
        source="geometry; within 0.1 mm it is hub-centric, else lug-centric, which is told and not failed",
        sides=hub_bore,
        needs={
            "wheel_bore_mm": "wheel.hub_bore_mm",
            "pilot_mm": "mount.pilot_mm",
            "meets_pilot": "mount.meets_pilot",
            "is_spaced": "spacer.is_fitted",
            "spacer_bore_mm": "spacer.hub_bore_mm",
            "hub_pilot_mm": "hub.pilot_mm",
        },
        firm=True,
        cures=(Cure("wheel_bore_mm", 1.0, "a wheel bore {amount} larger"),),
    ),
    Check(
        id="rim_diameter",
        name="tire on rim",
        group="fit",
        rows="corner",
        unit="yes_no",
        formula="nominal rim diameter of the tire = that of the wheel",
        source="geometry",
        sides=rim_diameter,
        needs={"tire_rim_mm": "tire.rim_diameter_mm", "wheel_rim_mm": "wheel.rim_diameter_mm"},
        shown=("tire.rim_diameter_mm", "wheel.rim_diameter_mm"),
        firm=True,
    ),
    Check(
        id="rim_width",
        name="approved rim width",
        group="fit",
        rows="corner",
        unit="mm",
        formula="narrowest <= W <= widest approved rim of the tire",
        source="the tire maker's approved range, from the list",
        sides=rim_width,
        needs={
            "rim_width_mm": "wheel.rim_width_mm",
            "narrowest_mm": "tire.rim_width_min_mm",
            "widest_mm": "tire.rim_width_max_mm",
        },
        firm=True,
        cures=(
            Cure("rim_width_mm", 1.0, "a rim {amount} wider"),
            Cure("rim_width_mm", -1.0, "a rim {amount} narrower"),
        ),
    ),
    Check(
        id="backspace_limit",
        name="rim to inner wheelhouse",
        group="fit",
        rows="corner",
        unit="mm",
        formula="BS - t + clearance + lateral shift <= room inside",
        source="geometry; 1/2 in of clearance is common practice, no source",
        default="clearance 1/2 in",
        over="states",
        sides=backspace_limit,
        needs={
            "backspace_mm": "corner.backspace_mm",
            "clearance_mm": "wheelhouse.clearance_inner_mm",
            "shift_mm": "state.shift_inner_mm",
            "room_mm": "state.room_inner_mm",
        },
        scale=_bare_scale,
        scale_words="the clearance",
        is_clearance=True,
        cures=(
            Cure("backspace_mm", -1.0, "{amount} less backspace (or as much spacer)"),
            Cure("room_mm", 1.0, "{amount} more room inside"),
        ),
    ),
    Check(
        id="inner_sidewall",
        name="inner sidewall",
        group="fit",
        rows="corner",
        unit="mm",
        formula="ET - t + S / 2 + clearance + lateral shift <= room inside; with one wheel up, too: top and middle of "
        "the raised sidewall, bottom of the dropped one, moved by (z - e) sin + (track / 2)(1 - cos)",
        source="geometry; S on the fitted rim by UN R30, 6.1.1.1; 3 in of e on leaf springs from memory",
        default="clearance 1/2 in, or the room of tire chains where that is larger",
        over="states",
        sides=inner_sidewall,
        needs={
            "offset_mm": "corner.offset_mm",
            "section_width_mm": "corner.section_width_mm",
            "clearance_mm": "state.clearance_inner_mm",
            "shift_mm": "state.shift_inner_mm",
            "room_mm": "state.room_inner_mm",
            "tilt_rad": "state.tilt_rad",
            "track_mm": "state.track_mm",
            "center_mm": "state.center_mm",
            "other_center_mm": "state.other_center_mm",
            "diameter_mm": "state.parked_diameter_mm",
            "rim_mm": "state.rim_mm",
            "tread_mm": "state.tread_mm",
            "dropped_room_mm": "state.room_inner_dropped_mm",
        },
        scale=_inner_scale,
        scale_words="the clearance",
        is_clearance=True,
        cures=(
            Cure("offset_mm", -1.0, "{amount} less backspace (or as much spacer)"),
            Cure("room_mm", 1.0, "{amount} more room inside"),
            Cure("section_width_mm", -2.0, "a tire {amount} narrower"),
        ),
    ),
    Check(
        id="outer_sidewall",
        name="outer sidewall",
        group="fit",
        rows="corner",
        unit="mm",
        formula="S / 2 - (ET - t) + clearance + lateral shift <= room outside; with one wheel up, too: top and middle "
        "of both sidewalls",
        source="geometry; S on the fitted rim by UN R30, 6.1.1.1; 3 in of e on leaf springs from memory",
        default="clearance 1/2 in, or the room of tire chains where that is larger",
        over="states",
        sides=outer_sidewall,
        needs={
            "offset_mm": "corner.offset_mm",
            "section_width_mm": "corner.section_width_mm",
            "clearance_mm": "state.clearance_outer_mm",
            "shift_mm": "state.shift_outer_mm",
            "room_mm": "state.room_outer_mm",
            "tilt_rad": "state.tilt_rad",
            "track_mm": "state.track_mm",
            "center_mm": "state.center_mm",
            "other_center_mm": "state.other_center_mm",
            "diameter_mm": "state.parked_diameter_mm",
            "rim_mm": "state.rim_mm",
            "tread_mm": "state.tread_mm",
            "dropped_room_mm": "state.room_outer_dropped_mm",
        },
        scale=_outer_scale,
        scale_words="the clearance",
        is_clearance=True,
        cures=(
            Cure("offset_mm", 1.0, "{amount} more backspace (or as much less spacer)"),
            Cure("room_mm", 1.0, "{amount} more room outside"),
            Cure("section_width_mm", -2.0, "a tire {amount} narrower"),
        ),
    ),
    Check(
        id="wheelhouse_width",
        name="tire in the wheelhouse",
        group="fit",
        rows="corner",
        unit="mm",
        formula="S + both clearances + 2 x lateral shift <= room between the plumb lines",
        source="geometry",
        default="clearances 1/2 in, or the room of tire chains where that is larger",
        over="states",
        sides=wheelhouse_width,
        needs={
            "section_width_mm": "corner.section_width_mm",
            "clearance_inner_mm": "state.clearance_inner_mm",
            "clearance_outer_mm": "state.clearance_outer_mm",
            "shift_mm": "state.shift_mm",
            "room_inner_mm": "state.room_inner_mm",
            "room_outer_mm": "state.room_outer_mm",
        },
        scale=_both_scale,
        scale_words="both clearances",
        is_clearance=True,
        cures=(
            Cure("section_width_mm", -1.0, "a tire {amount} narrower"),
            Cure("room_inner_mm", 1.0, "{amount} more room between the plumb lines"),
        ),
    ),
    Check(
        id="fender_top",
        name="tire to wheelhouse top",
        group="fit",
        rows="corner",
        unit="mm",
        formula="D / 2 + clearance <= hub to top, D grown at the top speed where the truck may be at it; with one "
        "wheel up D / 2 cos + tread / 2 sin at the raised hub",
        source="geometry; 1 in of clearance and the growth are common practice, no source",
        default="clearance 1 in, or the room of tire chains where that is larger",
        over="states",
        sides=fender_top,
        needs={
            "overall_diameter_mm": "state.diameter_mm",
            "clearance_mm": "state.clearance_top_mm",
            "hub_to_top_mm": "state.hub_to_top_mm",
            "tilt_rad": "state.tilt_rad",
            "tread_mm": "state.tread_mm",
        },
        scale=_top_scale,
        scale_words="the clearance",
        is_clearance=True,
        state="full bump",
        cures=(
            Cure("overall_diameter_mm", -2.0, "a tire {amount} lower"),
            Cure("hub_to_top_mm", 1.0, "{amount} more room over the tire"),
        ),
    ),
    Check(
        id="opening",
        name="tire in the wheel opening",
        group="fit",
        rows="corner",
        unit="mm",
        formula="D / 2 + clearance <= hub to the nearest edge of the opening, ahead and behind",
        source="geometry; 1/2 in of clearance is common practice, no source",
        default="clearance 1/2 in, or the room of tire chains where that is larger",
        over="states",
        sides=opening,
        needs={
            "overall_diameter_mm": "state.diameter_mm",
            "clearance_mm": "state.clearance_opening_mm",
            "opening_ahead_mm": "state.opening_ahead_mm",
            "opening_behind_mm": "state.opening_behind_mm",
        },
        scale=_opening_scale,
        scale_words="the clearance",
        is_clearance=True,
        cures=(Cure("overall_diameter_mm", -2.0, "a tire {amount} lower"),),
    ),
    Check(
        id="steer_sweep",
        name="steering sweep",
        group="fit",
        rows="corner",
        unit="mm",
        formula="farthest point of the outline S x D, turned about the steering axis up to the lock, + clearance <= "
        "room ahead, room behind, and (inner edge, with lateral shift) room to the frame",
        source="geometry; 1/2 in of clearance is common practice, no source",
        default="clearance 1/2 in, or the room of tire chains where that is larger",
        axles=("front",),
        over="states",
        sides=steer_sweep,
        needs={
            "axis_inboard_mm": "state.axis_inboard_mm",
            "offset_mm": "corner.offset_mm",
            "section_width_mm": "corner.section_width_mm",
            "overall_diameter_mm": "tire.overall_diameter_mm",
            "lock_deg": "state.lock_deg",
            "clearance_mm": "state.clearance_sweep_mm",
            "frame_clearance_mm": "state.clearance_frame_mm",
            "room_ahead_mm": "state.sweep_ahead_mm",
            "room_behind_mm": "state.sweep_behind_mm",
            "frame_room_mm": "state.frame_room_mm",
            "shift_mm": "state.shift_inner_mm",
        },
        scale=_sweep_scale,
        scale_words="the clearance",
        is_clearance=True,
        cures=(
            Cure("overall_diameter_mm", -2.0, "a tire {amount} lower"),
            Cure("frame_room_mm", 1.0, "{amount} more room to the frame"),
            Cure("room_behind_mm", 1.0, "{amount} more room behind the tire"),
            Cure("room_ahead_mm", 1.0, "{amount} more room ahead of the tire"),
        ),
    ),
    Check(
        id="brake_barrel",
        name="brake to barrel",
        group="fit",
        rows="corner",
        unit="mm",
        formula="inside barrel diameter >= brake envelope + 2 x clearance",
        source="geometry; 1/8 in of clearance is common practice, no source",
        default="clearance 1/8 in",
        sides=brake_barrel,
        needs={
            "barrel_mm": "wheel.barrel_diameter_mm",
            "envelope_mm": "brakes.envelope_diameter_mm",
            "clearance_mm": "brakes.clearance_mm",
        },
        scale=_brake_scale,
        scale_words="the clearance",
        is_clearance=True,
        firm=True,
        cures=(Cure("barrel_mm", 1.0, "a wheel {amount} larger inside its barrel"),),
    ),
    Check(
        id="wheel_weights",
        name="room for wheel weights",
        group="fit",
        rows="corner",
        unit="mm",
        formula="inside barrel diameter - 2 x thickness of the stick-on weights >= brake envelope + 2 x clearance",
        source="geometry",
        default="clearance 1/8 in",
        sides=wheel_weights,
        needs={
            "barrel_mm": "wheel.barrel_diameter_mm",
            "envelope_mm": "brakes.envelope_diameter_mm",
            "clearance_mm": "brakes.clearance_mm",
            "thickness_mm": "brakes.weight_thickness_mm",
        },
        asked=lambda job: not np.isnan(job.brakes.weight_thickness_mm),
        unasked="no weight_thickness",
        scale=_brake_scale,
        scale_words="the clearance",
        cures=(
            Cure("barrel_mm", 1.0, "a wheel {amount} larger inside its barrel"),
            Cure("thickness_mm", -0.5, "weights {amount} thinner, or clip-on ones"),
        ),
    ),
    Check(
        id="brake_spoke",
        name="brake to spokes",
        group="fit",
        rows="corner",
        unit="mm",
        formula="spoke clearance + t >= reach of the caliper beyond the mounting face + clearance",
        source="geometry; 1/8 in of clearance is common practice, no source",
        default="clearance 1/8 in",
        sides=brake_spoke,
        needs={
            "spoke_mm": "wheel.spoke_clearance_mm",
            "spacer_mm": "spacer.thickness_mm",
            "reach_mm": "brakes.caliper_reach_mm",
            "clearance_mm": "brakes.clearance_mm",
        },
        scale=_brake_scale,
        scale_words="the clearance",
        is_clearance=True,
        firm=True,
        cures=(Cure("spoke_mm", 1.0, "spokes {amount} farther out (or as much spacer)"),),
    ),
    Check(
        id="studs",
        name="stud engagement",
        group="fit",
        rows="corner",
        unit="mm",
        formula="stud length - wheel pad - t >= engagement x stud diameter; with a bolted spacer on its own studs, and "
        "its nuts on those of the hub",
        source="common practice, no source: a nut engages one stud diameter",
        default="engagement 1 diameter",
        sides=studs,
        needs={
            "length_mm": "hub.stud_length_mm",
            "diameter_mm": "hub.stud_diameter_mm",
            "engagement": "hub.stud_engagement",
            "pad_mm": "wheel.pad_mm",
            "spacer_mm": "spacer.thickness_mm",
            "is_bolted": "mount.is_bolted",
            "own_pad_mm": "mount.own_pad_mm",
            "own_length_mm": "mount.own_stud_length_mm",
            "own_diameter_mm": "mount.own_stud_diameter_mm",
        },
        scale=lambda job, axle: getattr(job.hub, axle).stud_diameter_mm,
        scale_words="the stud's diameter",
        firm=True,
        cures=(Cure("length_mm", 1.0, "studs {amount} longer"), Cure("spacer_mm", -1.0, "a spacer {amount} thinner")),
    ),
    Check(
        id="stud_end",
        name="hub studs behind the wheel",
        group="fit",
        rows="corner",
        unit="mm",
        formula="with a bolted spacer: hub stud <= t + pocket, and the spacer's pad + its inner nut <= t + pocket; a "
        "pocket counts only where it is stated to lie over the hub's studs",
        source="geometry; an inner nut 7/8 in high where no list states it, from memory",
        default="inner nut 7/8 in high",
        sides=stud_end,
        needs={
            "length_mm": "hub.stud_length_mm",
            "spacer_mm": "spacer.thickness_mm",
            "pocket_mm": "mount.pocket_mm",
            "is_bolted": "mount.is_bolted",
            "own_pad_mm": "mount.own_pad_mm",
            "nut_height_mm": "mount.inner_nut_mm",
        },
        firm=True,
        cures=(Cure("length_mm", -1.0, "studs {amount} shorter"), Cure("spacer_mm", 1.0, "a spacer {amount} thicker")),
    ),
    Check(
        id="nut_depth",
        name="stud in its lug nut",
        group="fit",
        rows="corner",
        unit="mm",
        formula="closed nut: stud out of the wheel's seat <= thread depth of the nut, else it bottoms; any nut whose "
        "thread is listed: thread >= engagement x stud diameter; an open nut has no such end",
        source="geometry; common practice, no source: a nut engages one stud diameter",
        default="engagement 1 diameter",
        sides=nut_depth,
        needs={
            "is_closed": "mount.nut_is_closed",
            "thread_mm": "mount.nut_thread_mm",
            "length_mm": "hub.stud_length_mm",
            "pad_mm": "wheel.pad_mm",
            "spacer_mm": "spacer.thickness_mm",
            "is_bolted": "mount.is_bolted",
            "own_length_mm": "mount.own_stud_length_mm",
            "diameter_mm": "hub.stud_diameter_mm",
            "own_diameter_mm": "mount.own_stud_diameter_mm",
            "engagement": "hub.stud_engagement",
        },
        firm=True,
        cures=(Cure("thread_mm", 1.0, "nuts {amount} deeper, or open ones"),),
    ),
    Check(
        id="seat",
        name="lug seat and thread",
        group="fit",
        rows="corner",
        unit="yes_no",
        formula="the nut has the wheel's seat (a cone's angle within 1 degree, a ball's radius within 0.5 mm, a "
        "shank's length within 1/16 in) and the stud's thread; left-hand studs have left-hand nuts of the same seat "
        "and thread",
        source="geometry; the tolerances from memory",
        sides=seat,
        needs={
            "seat_agrees": "mount.seat_agrees",
            "thread_agrees": "mount.thread_agrees",
            "left_agrees": "mount.left_agrees",
        },
        firm=True,
    ),
    Check(
        id="spare_well",
        name="spare in its well",
        group="fit",
        rows="corner",
        unit="mm",
        formula="D + 2 x clearance <= well across; the wider of S and W + 2 f, + clearance <= well's depth",
        source="geometry; 1/4 in of clearance is common practice, no source",
        default="clearance 1/4 in",
        axles=("rear",),
        asked=lambda job: job.job.spare,
        unasked="no spare",
        sides=spare_well,
        needs={
            "overall_diameter_mm": "tire.overall_diameter_mm",
            "section_width_mm": "corner.section_width_mm",
            "overall_width_mm": "corner.overall_width_mm",
            "clearance_mm": "spare.clearance_mm",
            "well_diameter_mm": "spare.well_diameter_mm",
            "well_width_mm": "spare.well_width_mm",
        },
        cures=(Cure("overall_diameter_mm", -1.0, "a tire {amount} lower"),),
    ),
    Check(
        id="spare_bolts",
        name="spare bolts to the front axle",
        group="fit",
        rows="pair",
        unit="yes_no",
        formula="the spare is a rear wheel: its lug count, bolt circle and bore go on the front hub, or on what stays "
        "on it",
        source="geometry",
        asked=_has_spare,
        unasked="no spare",
        sides=spare_bolts,
        needs={
            "wheel_lugs": "rear.wheel.bolt_circle_lugs",
            "wheel_mm": "rear.wheel.bolt_circle_mm",
            "mount_lugs": "front.mount.bolt_circle_lugs",
            "mount_mm": "front.mount.bolt_circle_mm",
            "bore_mm": "rear.wheel.hub_bore_mm",
            "pilot_mm": "front.mount.pilot_mm",
            "meets_pilot": "front.mount.meets_pilot",
        },
        firm=True,
    ),
    Check(
        id="spare_front",
        name="spare at the front brake",
        group="fit",
        rows="pair",
        unit="mm",
        formula="the spare is a rear wheel: inside barrel diameter >= front brake envelope + 2 x clearance; spoke "
        "clearance + t >= reach of the front caliper + clearance; pad <= stud length - t - engagement x stud diameter",
        source="geometry; clearance and engagement are common practice, no source",
        default="clearance 1/8 in, engagement 1 diameter",
        asked=_has_spare,
        unasked="no spare",
        sides=spare_front,
        needs={
            "barrel_mm": "rear.wheel.barrel_diameter_mm",
            "spoke_mm": "rear.wheel.spoke_clearance_mm",
            "pad_mm": "rear.wheel.pad_mm",
            "spacer_mm": "front.spacer.thickness_mm",
            "envelope_mm": "front.mount.brake_envelope_mm",
            "reach_mm": "front.mount.brake_reach_mm",
            "clearance_mm": "front.mount.brake_clearance_mm",
            "stud_room_mm": "front.mount.stud_room_mm",
        },
        firm=True,
        cures=(Cure("barrel_mm", 1.0, "rear wheels {amount} larger inside, or with as much more room to the spokes"),),
    ),
)

"""Does it bolt on, does the tire belong on the rim, and does it clear the wheelhouse. The table is at the foot."""

from __future__ import annotations

import numpy as np

from combo.checks.check import Check, Cure, Sides, agrees, at_least, at_most, within
from combo.formulas import Column
from combo.formulas.wheel import reach_inward_mm, reach_outward_mm
from combo.job import Axle, Job

BOLT_CIRCLE_AGREEMENT_MM = 0.15  # 8x6.5 in is 165.1 mm and is listed as 8x165; 120 and 120.65 mm stay two circles
RIM_DIAMETER_AGREEMENT_MM = 1.0  # codes are half an inch apart or more
SMALLEST_SCALE_MM = 3.175  # 1/8 in: a clearance of zero is judged on this scale


def bolt_circle(
    wheel_lugs: Column, wheel_mm: Column, mount_lugs: Column, mount_mm: Column,
    spacer_lugs: Column, spacer_mm: Column, is_spaced: Column, hub_lugs: Column, hub_mm: Column,
) -> Sides:  # fmt: skip
    """Lug count and circle of the wheel equal those of what it meets, and a spacer's own those of the hub."""
    wheel_fits = _same_circle(wheel_lugs, wheel_mm, mount_lugs, mount_mm)
    spacer_fits = (np.asarray(is_spaced) == 0) | _same_circle(spacer_lugs, spacer_mm, hub_lugs, hub_mm)
    return agrees(wheel_fits & spacer_fits, np.asarray(wheel_mm) + mount_mm)


def hub_bore(wheel_bore_mm: Column, pilot_mm: Column) -> Sides:
    """The wheel's bore goes over the pilot that it meets."""
    return at_least(wheel_bore_mm, pilot_mm)


def rim_diameter(tire_rim_mm: Column, wheel_rim_mm: Column) -> Sides:
    """The tire's nominal rim diameter is the wheel's."""
    apart = np.abs(np.asarray(tire_rim_mm) - wheel_rim_mm)
    return agrees(apart <= RIM_DIAMETER_AGREEMENT_MM, apart)


def rim_width(rim_width_mm: Column, narrowest_mm: Column, widest_mm: Column) -> Sides:
    """The rim is inside the tire's approved range."""
    return within(rim_width_mm, narrowest_mm, widest_mm)


def backspace_limit(backspace_mm: Column, clearance_mm: Column, room_mm: Column) -> Sides:
    """The inboard rim flange stays clear of the inner wheelhouse."""
    return at_most(backspace_mm + clearance_mm, room_mm)


def inner_sidewall(offset_mm: Column, section_width_mm: Column, clearance_mm: Column, room_mm: Column) -> Sides:
    """The inner sidewall stays clear of the inner wheelhouse."""
    return at_most(reach_inward_mm(offset_mm, section_width_mm) + clearance_mm, room_mm)


def outer_sidewall(offset_mm: Column, section_width_mm: Column, clearance_mm: Column, room_mm: Column) -> Sides:
    """The outer sidewall stays clear of the fender lip."""
    return at_most(reach_outward_mm(offset_mm, section_width_mm) + clearance_mm, room_mm)


def wheelhouse_width(
    section_width_mm: Column, clearance_inner_mm: Column, clearance_outer_mm: Column,
    room_inner_mm: Column, room_outer_mm: Column,
) -> Sides:  # fmt: skip
    """The tire fits between the plumb lines at all, whatever the offset."""
    return at_most(section_width_mm + clearance_inner_mm + clearance_outer_mm, room_inner_mm + room_outer_mm)


def fender_top(overall_diameter_mm: Column, clearance_mm: Column, hub_to_top_mm: Column) -> Sides:
    """The tread stays clear of the wheelhouse's top at full bump, or laid out on air."""
    return at_most(overall_diameter_mm / 2.0 + clearance_mm, hub_to_top_mm)


def _same_circle(lugs: Column, mm: Column, other_lugs: Column, other_mm: Column) -> np.ndarray:
    near = np.round(np.abs(np.asarray(mm) - other_mm), 3) <= BOLT_CIRCLE_AGREEMENT_MM
    return np.asarray((np.asarray(lugs) == other_lugs) & near)


def _inner_scale(job: Job, axle: Axle) -> float:
    return _scale(getattr(job.wheelhouse, axle).clearance_inner_mm)


def _outer_scale(job: Job, axle: Axle) -> float:
    return _scale(getattr(job.wheelhouse, axle).clearance_outer_mm)


def _both_scale(job: Job, axle: Axle) -> float:
    return _inner_scale(job, axle) + _outer_scale(job, axle)


def _top_scale(job: Job, axle: Axle) -> float:
    return _scale(getattr(job.wheelhouse, axle).clearance_top_mm)


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
            "wheel_lugs": "wheel.bolt_circle_lugs", "wheel_mm": "wheel.bolt_circle_mm",
            "mount_lugs": "mount.bolt_circle_lugs", "mount_mm": "mount.bolt_circle_mm",
            "spacer_lugs": "spacer.bolt_circle_lugs", "spacer_mm": "spacer.bolt_circle_mm",
            "is_spaced": "spacer.is_fitted", "hub_lugs": "hub.bolt_circle_lugs", "hub_mm": "hub.bolt_circle_mm",
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
        formula="wheel bore >= pilot of the hub (or of the spacer's lip)",
        source="geometry; within 0.1 mm it is hub-centric, else lug-centric, which is told and not failed",
        sides=hub_bore,
        needs={"wheel_bore_mm": "wheel.hub_bore_mm", "pilot_mm": "mount.pilot_mm"},
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
            "narrowest_mm": "tire.rim_width_min_mm", "widest_mm": "tire.rim_width_max_mm",
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
        formula="BS - t + clearance <= room inside",
        source="geometry; 1/2 in of clearance is common practice, no source",
        sides=backspace_limit,
        needs={
            "backspace_mm": "corner.backspace_mm", "clearance_mm": "wheelhouse.clearance_inner_mm",
            "room_mm": "wheelhouse.room_inner_mm",
        },
        scale=_inner_scale,
        scale_words="the clearance",
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
        formula="ET - t + S / 2 + clearance <= room inside",
        source="geometry; S on the fitted rim by UN R30, 6.1.1.1",
        sides=inner_sidewall,
        needs={
            "offset_mm": "corner.offset_mm", "section_width_mm": "corner.section_width_mm",
            "clearance_mm": "wheelhouse.clearance_inner_mm", "room_mm": "wheelhouse.room_inner_mm",
        },
        scale=_inner_scale,
        scale_words="the clearance",
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
        formula="S / 2 - (ET - t) + clearance <= room outside",
        source="geometry; S on the fitted rim by UN R30, 6.1.1.1",
        sides=outer_sidewall,
        needs={
            "offset_mm": "corner.offset_mm", "section_width_mm": "corner.section_width_mm",
            "clearance_mm": "wheelhouse.clearance_outer_mm", "room_mm": "wheelhouse.room_outer_mm",
        },
        scale=_outer_scale,
        scale_words="the clearance",
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
        formula="S + both clearances <= room between the plumb lines",
        source="geometry",
        sides=wheelhouse_width,
        needs={
            "section_width_mm": "corner.section_width_mm",
            "clearance_inner_mm": "wheelhouse.clearance_inner_mm",
            "clearance_outer_mm": "wheelhouse.clearance_outer_mm",
            "room_inner_mm": "wheelhouse.room_inner_mm", "room_outer_mm": "wheelhouse.room_outer_mm",
        },
        scale=_both_scale,
        scale_words="both clearances",
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
        formula="D / 2 + clearance <= hub to top",
        source="geometry; 1 in of clearance is common practice, no source",
        sides=fender_top,
        needs={
            "overall_diameter_mm": "tire.overall_diameter_mm", "clearance_mm": "wheelhouse.clearance_top_mm",
            "hub_to_top_mm": "wheelhouse.hub_to_top_mm",
        },
        scale=_top_scale,
        scale_words="the clearance",
        state="full bump",
        cures=(
            Cure("overall_diameter_mm", -2.0, "a tire {amount} lower"),
            Cure("hub_to_top_mm", 1.0, "{amount} more room over the tire"),
        ),
    ),
)  # fmt: skip

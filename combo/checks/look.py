"""Does it look and belong together: stance, cover, ground clearance, and what front and rear must share."""

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
    limit_or_none,
    where_it_matters,
    within,
)
from combo.formulas import Column
from combo.formulas.axle import frame_rake_deg, hub_rise_mm
from combo.formulas.steering import scrub_radius_mm
from combo.formulas.wheel import reach_outward_mm

STANCE_SCALE_MM = 12.7
STANCE_SCALE_DEG = 0.5
SPARE_SHARE = 0.01
RIM_FLANGE_HEIGHT_MM = 17.5
"""Of contour J: JIS D 4218:2021, table 3 (modified from ISO 4000-2:2013)."""


def cover(
    offset_mm: Column, section_width_mm: Column, tread_width_mm: Column, room_mm: Column, edge: str
) -> Inequality:
    """The outer edge of the tire, or of its tread, does not pass the fender lip."""
    width = tread_width_mm if edge == "tread" else section_width_mm
    return at_most(reach_outward_mm(offset_mm, width), room_mm)


def fender_gap(hub_to_lip_mm: Column, overall_diameter_mm: Column, least_mm: Column, most_mm: Column) -> Inequalities:
    """The gap from the tire up to the fender lip, at ride height, is as wanted."""
    gap = hub_to_lip_mm - overall_diameter_mm / 2.0
    return within(gap, limit_or_none(least_mm, -np.inf), limit_or_none(most_mm, np.inf))


def track(track_mm: Column, present_offset_mm: Column, offset_mm: Column, most_mm: Column) -> Inequality:
    """The track stays as narrow as wanted."""
    new = track_mm + 2.0 * (present_offset_mm - offset_mm)
    return where_it_matters(~np.isnan(most_mm), at_most(new, most_mm))


def load_line(present_offset_mm: Column, offset_mm: Column, most_mm: Column) -> Inequality:
    """The tire's center moves no farther outboard, off the bearing, than wanted."""
    return at_most(present_offset_mm - offset_mm, most_mm)


def new_scrub_mm(
    axis_inboard_mm: Column,
    offset_mm: Column,
    present_height_mm: Column,
    diameter_mm: Column,
    present_diameter_mm: Column,
    inclination_deg: Column,
) -> Column:
    """Scrub radius with the hub as high as the new tire puts it, under the loads that stood on the scale."""
    height = present_height_mm + hub_rise_mm(present_height_mm, diameter_mm, present_diameter_mm)
    return scrub_radius_mm(axis_inboard_mm, offset_mm, height, inclination_deg)


def scrub(
    axis_inboard_mm: Column,
    offset_mm: Column,
    present_height_mm: Column,
    diameter_mm: Column,
    present_diameter_mm: Column,
    inclination_deg: Column,
    least_mm: Column,
    most_mm: Column,
) -> Inequalities:
    """The scrub radius on the new wheels and tires is as wanted; positive where the tire's center is outboard."""
    radius = new_scrub_mm(
        axis_inboard_mm, offset_mm, present_height_mm, diameter_mm, present_diameter_mm, inclination_deg
    )
    return within(radius, limit_or_none(least_mm, -np.inf), limit_or_none(most_mm, np.inf))


def scrub_line(
    clearance_mm: float,
    hub_height_mm: float,
    diameter_mm: Column,
    present_mm: Column,
    rim_mm: Column,
    drop_mm: float,
    line: str,
    lateral_mm: float,
    track_mm: float,
) -> Inequality:
    """The lowest point stands above the scrub line, under the loads that stood on the scale.

    The line is "level", through the bottoms of both rims, or "cross", from the bottom of a rim to that of the opposite
    tire, both ways. Beside a wheel both are as high, so what clears there clears wherever the point is.
    """
    hub_mm = hub_height_mm + hub_rise_mm(hub_height_mm, diameter_mm, present_mm)
    rim_bottom_mm = hub_mm - rim_mm / 2.0 - RIM_FLANGE_HEIGHT_MM
    stands_mm = clearance_mm + hub_mm - hub_height_mm - drop_mm
    level = at_least(stands_mm, rim_bottom_mm)
    if line == "level":
        return level
    crossed = at_least(stands_mm, rim_bottom_mm * (0.5 + lateral_mm / track_mm))
    is_open = np.isnan(crossed.margin) & (np.asarray(level.margin) >= 0)
    return Inequality(*(np.where(is_open, own, other) for own, other in zip(level, crossed, strict=True)))


def winter(is_winter: Column, wanted: Column) -> Inequality:
    """The tire has the winter marking, or has none, as wanted."""
    return agrees(np.asarray(is_winter) == wanted, is_winter)


def spare_diameter(front_diameter_mm: Column, rear_diameter_mm: Column) -> Inequality:
    """The spare, a rear tire, is as large as the front ones: with both axles driven the drivetrain winds up else."""
    apart = np.abs(np.asarray(rear_diameter_mm) / front_diameter_mm - 1.0)
    return at_most(apart, SPARE_SHARE)


def construction(front_is_radial: Column, rear_is_radial: Column) -> Inequality:
    """Radial and bias tires are never mixed."""
    return agrees(np.asarray(front_is_radial) == rear_is_radial, np.asarray(front_is_radial) + rear_is_radial)


def same_name(front: Column, rear: Column) -> Inequality:
    """Front and rear are of one name; not known where either has none."""
    ours, theirs = np.asarray(front, dtype=object), np.asarray(rear, dtype=object)
    known = np.where((ours == "") | (theirs == ""), np.nan, 0.0)
    return agrees(ours == theirs, known)


def rake(front_diameter_mm: Column, rear_diameter_mm: Column, least_mm: Column, most_mm: Column) -> Inequalities:
    """The rear tire is larger than the front one by as much as wanted."""
    difference = rear_diameter_mm - front_diameter_mm
    return within(difference, limit_or_none(least_mm, -np.inf), limit_or_none(most_mm, np.inf))


def frame_rake(
    present_deg: Column,
    front_height_mm: Column,
    front_diameter_mm: Column,
    front_present_mm: Column,
    rear_height_mm: Column,
    rear_diameter_mm: Column,
    rear_present_mm: Column,
    wheelbase_mm: Column,
    least_deg: Column,
    most_deg: Column,
) -> Inequalities:
    """The frame leans as wanted on the new tires, under the loads that stood on the scale."""
    tilt = frame_rake_deg(
        present_deg,
        hub_rise_mm(front_height_mm, front_diameter_mm, front_present_mm),
        hub_rise_mm(rear_height_mm, rear_diameter_mm, rear_present_mm),
        wheelbase_mm,
    )
    return within(tilt, limit_or_none(least_deg, -np.inf), limit_or_none(most_deg, np.inf))


def _has_any(*sizes: float) -> bool:
    return not all(np.isnan(size) for size in sizes)


CHECKS = (
    Check(
        id="cover",
        name="tire under the fender",
        group="look",
        rows="corner",
        unit="mm",
        formula="(S or tread width) / 2 - (ET - t) <= room outside",
        source="geometry; local codes differ on what must be covered",
        over="states",
        states=("ride_height",),
        sides=cover,
        needs={
            "offset_mm": "corner.offset_mm",
            "section_width_mm": "corner.section_width_mm",
            "tread_width_mm": "tire.tread_width_mm",
            "room_mm": "state.room_outer_mm",
            "edge": "targets.cover",
        },
        asked=lambda job: bool(job.targets.cover),
        unasked="no cover",
        state="ride height",
        scale=lambda job, axle: STANCE_SCALE_MM,
        scale_words="1/2 in",
        cures=(
            Cure("offset_mm", 1.0, "{amount} more backspace (or as much less spacer)"),
            Cure("room_mm", 1.0, "a fender lip {amount} farther out"),
        ),
    ),
    Check(
        id="fender_gap",
        name="tire to fender gap",
        group="look",
        rows="corner",
        unit="mm",
        formula="least <= hub to fender lip - D / 2 <= most",
        source="geometry",
        over="states",
        states=("ride_height",),
        sides=fender_gap,
        needs={
            "hub_to_lip_mm": "state.hub_to_lip_mm",
            "overall_diameter_mm": "tire.overall_diameter_mm",
            "least_mm": "targets.fender_gap_min_mm",
            "most_mm": "targets.fender_gap_max_mm",
        },
        asked=lambda job: _has_any(job.targets.fender_gap_min_mm, job.targets.fender_gap_max_mm),
        unasked="no fender_gap_min or fender_gap_max",
        state="ride height",
        scale=lambda job, axle: STANCE_SCALE_MM,
        scale_words="1/2 in",
        cures=(
            Cure("overall_diameter_mm", 2.0, "a tire {amount} taller"),
            Cure("overall_diameter_mm", -2.0, "a tire {amount} lower"),
        ),
    ),
    Check(
        id="scrub_line",
        name="scrub line",
        group="look",
        rows="corner",
        unit="mm",
        formula="lowest point at the axle, at ride height and laid out on air, >= the line: the bottom of the rims "
        "(level), or (rim bottom) (1/2 + aside / track), from one rim's bottom to the opposite tire's (cross); under "
        "the loads on the scale",
        source="geometry; rim flange 17.5 mm high, contour J of JIS D 4218 (ISO 4000-2); local rules differ",
        over="states",
        states=("ride_height", "laid_out"),
        sides=scrub_line,
        needs={
            "clearance_mm": "present.ground_clearance_mm",
            "hub_height_mm": "present.hub_height_mm",
            "diameter_mm": "tire.running_diameter_mm",
            "present_mm": "corner.present_diameter_mm",
            "rim_mm": "wheel.rim_diameter_mm",
            "drop_mm": "state.drop_mm",
            "line": "targets.scrub_line",
            "lateral_mm": "present.lowest_lateral_mm",
            "track_mm": "axle.track_mm",
        },
        asked=lambda job: bool(job.targets.scrub_line),
        unasked="no scrub_line",
        scale=lambda job, axle: STANCE_SCALE_MM,
        scale_words="1/2 in",
        firm=True,
        cures=(
            Cure("rim_mm", 2.0, "wheels {amount} larger"),
            Cure("clearance_mm", 1.0, "a lowest point {amount} higher"),
        ),
    ),
    Check(
        id="scrub",
        name="scrub radius",
        group="look",
        rows="corner",
        unit="mm",
        formula="least <= steering axis inboard of the mounting face - (ET - t) - new hub height x tan(inclination) <= "
        "most; positive: tire center outboard of the axis on the ground",
        source="geometry",
        axles=("front",),
        sides=scrub,
        needs={
            "axis_inboard_mm": "state.axis_inboard_mm",
            "offset_mm": "corner.offset_mm",
            "present_height_mm": "present.hub_height_mm",
            "diameter_mm": "tire.running_diameter_mm",
            "present_diameter_mm": "corner.present_diameter_mm",
            "inclination_deg": "steering.kingpin_inclination_deg",
            "least_mm": "targets.scrub_min_mm",
            "most_mm": "targets.scrub_max_mm",
        },
        asked=lambda job: _has_any(job.targets.scrub_min_mm, job.targets.scrub_max_mm),
        unasked="no scrub_min or scrub_max",
        scale=lambda job, axle: STANCE_SCALE_MM,
        scale_words="1/2 in",
        cures=(
            Cure("offset_mm", 1.0, "{amount} more backspace (or as much less spacer)"),
            Cure("offset_mm", -1.0, "{amount} less backspace (or as much spacer)"),
        ),
    ),
    Check(
        id="load_line",
        name="load line off the bearing",
        group="look",
        rows="corner",
        unit="mm",
        formula="present ET - (ET - t) <= most: how far outboard the tire's center moves, off the bearing",
        source="geometry",
        sides=load_line,
        needs={
            "present_offset_mm": "present.offset_mm",
            "offset_mm": "corner.offset_mm",
            "most_mm": "targets.load_line_max_mm",
        },
        asked=lambda job: _has_any(job.targets.load_line_max_mm),
        unasked="no load_line_max",
        scale=lambda job, axle: STANCE_SCALE_MM,
        scale_words="1/2 in",
        cures=(Cure("offset_mm", 1.0, "{amount} more backspace (or as much less spacer)"),),
    ),
    Check(
        id="track",
        name="track",
        group="look",
        rows="corner",
        unit="mm",
        formula="present track + 2 (present ET - (ET - t)) <= most",
        source="geometry; local codes differ on how much wider a truck may be",
        sides=track,
        needs={
            "track_mm": "axle.track_mm",
            "present_offset_mm": "present.offset_mm",
            "offset_mm": "corner.offset_mm",
            "most_mm": "targets.track_max_mm",
        },
        asked=lambda job: _has_any(job.targets.front_track_max_mm, job.targets.rear_track_max_mm),
        unasked="no front_track_max or rear_track_max",
        scale=lambda job, axle: STANCE_SCALE_MM,
        scale_words="1/2 in",
        cures=(Cure("offset_mm", 0.5, "{amount} more backspace (or as much less spacer)"),),
    ),
    Check(
        id="winter",
        name="winter marking",
        group="look",
        rows="corner",
        unit="yes_no",
        formula="the tire has the marking, or has none, as wanted",
        source="the customer's wish; local codes may ask for it",
        sides=winter,
        needs={"is_winter": "tire.winter", "wanted": "targets.winter"},
        asked=lambda job: job.targets.winter is not None,
        unasked="no winter",
    ),
    Check(
        id="construction",
        name="radial or bias",
        group="look",
        rows="pair",
        unit="yes_no",
        formula="front and rear tires both radial or both bias",
        source="common practice, no source: never mixed",
        sides=construction,
        needs={"front_is_radial": "front.tire.is_radial", "rear_is_radial": "rear.tire.is_radial"},
        firm=True,
    ),
    Check(
        id="spare_diameter",
        name="spare beside the front tire",
        group="look",
        rows="pair",
        unit="share",
        formula="abs(D of the spare, a rear tire / front D - 1) <= 1 %, where both axles are driven; with one, a spare "
        "like the rear tires is as large as they are",
        source="common practice, no source: 1 %, from memory",
        sides=spare_diameter,
        needs={
            "front_diameter_mm": "front.corner.nominal_diameter_mm",
            "rear_diameter_mm": "rear.corner.nominal_diameter_mm",
        },
        asked=lambda job: job.job.spare and job.axle.is_front_driven,
        unasked="no spare, or one driven axle",
        firm=True,
    ),
    Check(
        id="same_style",
        name="wheel style",
        group="look",
        rows="pair",
        unit="yes_no",
        formula="front and rear wheels of one style",
        source="the customer's wish",
        sides=same_name,
        needs={"front": "front.wheel.style", "rear": "rear.wheel.style"},
        asked=lambda job: job.targets.same_style,
        unasked="no same_style",
    ),
    Check(
        id="same_line",
        name="tire line",
        group="look",
        rows="pair",
        unit="yes_no",
        formula="front and rear tires of one line",
        source="the customer's wish",
        sides=same_name,
        needs={"front": "front.tire.line", "rear": "rear.tire.line"},
        asked=lambda job: job.targets.same_line,
        unasked="no same_line",
    ),
    Check(
        id="rake",
        name="rake of the tires",
        group="look",
        rows="pair",
        unit="mm",
        formula="least <= rear D - front D <= most",
        source="geometry",
        sides=rake,
        needs={
            "front_diameter_mm": "front.tire.overall_diameter_mm",
            "rear_diameter_mm": "rear.tire.overall_diameter_mm",
            "least_mm": "targets.rake_min_mm",
            "most_mm": "targets.rake_max_mm",
        },
        asked=lambda job: _has_any(job.targets.rake_min_mm, job.targets.rake_max_mm),
        unasked="no rake_min or rake_max",
        scale=lambda job, axle: STANCE_SCALE_MM,
        scale_words="1/2 in",
        cures=(
            Cure("rear_diameter_mm", 1.0, "a rear tire {amount} taller, or a front one as much lower"),
            Cure("rear_diameter_mm", -1.0, "a rear tire {amount} lower, or a front one as much taller"),
        ),
    ),
    Check(
        id="frame_rake",
        name="rake of the frame",
        group="look",
        rows="pair",
        unit="deg",
        formula="least <= present rake + atan((rise of the rear hub - rise of the front hub) / wheelbase) <= most; "
        "rise = hub height x (new D / present D - 1)",
        source="geometry; the tires sink in as the present ones do, under the loads on the scale",
        sides=frame_rake,
        needs={
            "present_deg": "present.frame_rake_deg",
            "front_height_mm": "present.front_hub_height_mm",
            "front_diameter_mm": "front.tire.running_diameter_mm",
            "front_present_mm": "front.corner.present_diameter_mm",
            "rear_height_mm": "present.rear_hub_height_mm",
            "rear_diameter_mm": "rear.tire.running_diameter_mm",
            "rear_present_mm": "rear.corner.present_diameter_mm",
            "wheelbase_mm": "truck.wheelbase_mm",
            "least_deg": "targets.frame_rake_min_deg",
            "most_deg": "targets.frame_rake_max_deg",
        },
        asked=lambda job: _has_any(job.targets.frame_rake_min_deg, job.targets.frame_rake_max_deg),
        unasked="no frame_rake_min or frame_rake_max",
        state="ride height",
        scale=lambda job, axle: STANCE_SCALE_DEG,
        scale_words="1/2 degree",
    ),
)

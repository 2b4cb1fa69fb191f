"""Does the engine cruise where it should, do tire, engine and driveshaft stand the speed, do the gears belong."""

from __future__ import annotations

import numpy as np

from combo.checks.check import Check, Cure, Inequalities, Inequality, at_least, at_most, within
from combo.checks.values import cruise_points
from combo.formulas import Column
from combo.formulas.drive import TUBE_METALS, critical_speed_rpm, engine_rpm
from combo.job import Axle, Job

DEFAULT_CRUISE_SCALE_RPM = 500.0
_MISMATCH = -1.0
"""Margin of a carrier whose ring gear family or spline count is another: a whole ratio short, farther than
any range."""


def tire_speed(tire_km_h: Column, top_km_h: Column) -> Inequality:
    """The tire's speed symbol covers the top speed wanted."""
    return at_least(tire_km_h, top_km_h)


def cruise_rpm(rpm: Column, low_rpm: Column, high_rpm: Column) -> Inequalities:
    """At cruising speed the engine turns inside the wanted band."""
    return within(rpm, low_rpm, high_rpm)


def redline(
    radius_mm: Column, ratio: Column, gear: Column, top_km_h: Column, redline_rpm: Column, slip: float, lock_up: bool
) -> Inequality:
    """In its top gear the engine reaches the top speed below its redline, with the converter's slip unless it locks."""
    return at_most(engine_rpm(top_km_h, radius_mm, gear, ratio, 0.0 if lock_up else slip), redline_rpm)


def driveshaft_speed(
    radius_mm: Column,
    ratio: Column,
    top_km_h: Column,
    length_mm: float,
    diameter_mm: float,
    wall_mm: float,
    material: str,
    share: float,
) -> Inequality:
    """At the top speed the driveshaft turns well below the first critical speed of its tube."""
    metal = TUBE_METALS.get(material, (np.nan, np.nan))
    critical = critical_speed_rpm(length_mm, diameter_mm, wall_mm, *metal)
    return at_most(engine_rpm(top_km_h, radius_mm, 1.0, ratio), share * critical)


def speedometer(error: Column, most_ppm: Column) -> Inequality:
    """With the best driven gear that can be had the speedometer is near enough."""
    return at_most(np.abs(error), np.asarray(most_ppm) / 1_000_000.0)


def carrier(
    ratio: Column,
    lowest: Column,
    highest: Column,
    belongs: Column,
    front_ratio: Column = 0.0,
    front_lowest: Column = -np.inf,
    front_highest: Column = np.inf,
) -> Inequalities:
    """Ring gear family and spline count agree, and the ratio is on the differential's side of the carrier break.

    That is asked at every driven axle.

    `belongs` is 1 where both agree, 0 where one is known to differ, NaN where one is not known.
    """
    known = np.asarray(belongs, dtype=float)
    family = np.where(known == 0.0, _MISMATCH, np.where(np.isnan(known), np.nan, np.inf))
    nothing = np.full_like(family, np.nan)
    front = within(front_ratio, front_lowest, front_highest)
    return Inequality(nothing, nothing, family), *within(ratio, lowest, highest), *front


def cruise_scale_rpm(job: Job) -> float:
    """Half of the wanted band: a margin as large is as far inside as can be."""
    half = (job.targets.cruise_max_rpm - job.targets.cruise_min_rpm) / 2.0
    return half if half > 0 else DEFAULT_CRUISE_SCALE_RPM


def _has_top_speed(job: Job) -> bool:
    return not np.isnan(job.targets.top_speed_km_h)


def _cruise_scale(job: Job, axle: Axle) -> float:
    return cruise_scale_rpm(job)


CHECKS = (
    Check(
        id="tire_speed",
        name="tire speed symbol",
        group="drive",
        rows="corner",
        unit="km_h",
        formula="speed of the symbol >= top speed wanted",
        source="speed symbols: French decree of 24 October 1994, annexe I; UN R30",
        sides=tire_speed,
        needs={"tire_km_h": "tire.speed_km_h", "top_km_h": "targets.top_speed_km_h"},
        asked=_has_top_speed,
        unasked="no top_speed",
        scale=lambda job, axle: 20.0,
        scale_words="20 km/h",
        firm=True,
        cures=(
            Cure("tire_km_h", 1.0, "a tire rated {amount} faster"),
            Cure("top_km_h", -1.0, "a top speed {amount} lower"),
        ),
    ),
    Check(
        id="cruise_rpm",
        name="cruise rpm",
        group="drive",
        rows="drive",
        unit="rpm",
        formula="at every cruise point: least <= v / (2 pi r) x 60 x gear x axle ratio / (1 - slip) <= most",
        source="kinematics; mph x ratio x 336 / D follows from it",
        sides=cruise_rpm,
        over="cruise",
        needs={"rpm": "point.rpm", "low_rpm": "point.min_rpm", "high_rpm": "point.max_rpm"},
        asked=lambda job: bool(cruise_points(job)),
        unasked="no cruise_speed",
        scale=_cruise_scale,
        scale_words="half the band",
        cures=(
            Cure("rpm", 1.0, "{amount} more at cruise: a numerically higher ratio or a lower tire"),
            Cure("rpm", -1.0, "{amount} less at cruise: a numerically lower ratio or a taller tire"),
            Cure("high_rpm", 1.0, "a band that ends {amount} higher"),
            Cure("low_rpm", -1.0, "a band that begins {amount} lower"),
        ),
    ),
    Check(
        id="carrier",
        name="carrier and gear set",
        group="drive",
        rows="drive",
        unit="ratio",
        formula="ring gear family and splines equal; lowest <= ratio <= highest of the carrier; at every driven axle",
        source="the axle maker's carrier break, from the list",
        sides=carrier,
        needs={
            "ratio": "ratio.ratio",
            "lowest": "differential.ratio_min",
            "highest": "differential.ratio_max",
            "belongs": "drive.belongs",
            "front_ratio": "drive.front_ratio",
            "front_lowest": "drive.front_lowest",
            "front_highest": "drive.front_highest",
        },
        firm=True,
    ),
    Check(
        id="redline",
        name="redline at top speed",
        group="drive",
        rows="drive",
        unit="rpm",
        formula="engine speed at the top speed in top gear, with slip unless locked up, <= redline",
        source="kinematics; the redline is the engine builder's",
        sides=redline,
        needs={
            "radius_mm": "drive.rolling_radius_mm",
            "ratio": "ratio.ratio",
            "gear": "transmission.top_gear",
            "top_km_h": "targets.top_speed_km_h",
            "redline_rpm": "engine.redline_rpm",
            "slip": "transmission.converter_slip",
            "lock_up": "transmission.lock_up",
        },
        asked=_has_top_speed,
        unasked="no top_speed",
        scale=lambda job, axle: DEFAULT_CRUISE_SCALE_RPM,
        scale_words="500 rpm",
        firm=True,
    ),
    Check(
        id="driveshaft_speed",
        name="driveshaft speed",
        group="drive",
        rows="drive",
        unit="rpm",
        formula="driveshaft speed at the top speed <= share x (60 / 2 pi) (pi / l)^2 sqrt(E I / m') of its tube",
        source="simply supported beam, the form of Machinery's Handbook; the share is common practice, no source",
        default="share 0.75",
        sides=driveshaft_speed,
        needs={
            "radius_mm": "drive.rolling_radius_mm",
            "ratio": "ratio.ratio",
            "top_km_h": "targets.top_speed_km_h",
            "length_mm": "driveshaft.length_mm",
            "diameter_mm": "driveshaft.diameter_mm",
            "wall_mm": "driveshaft.wall_mm",
            "material": "driveshaft.material",
            "share": "driveshaft.share",
        },
        asked=lambda job: _has_top_speed(job) and not np.isnan(job.driveshaft.length_mm),
        unasked="no top_speed or no driveshaft length",
        scale=lambda job, axle: DEFAULT_CRUISE_SCALE_RPM,
        scale_words="500 rpm",
        firm=True,
    ),
    Check(
        id="speedometer",
        name="speedometer",
        group="drive",
        rows="drive",
        unit="share",
        formula="abs(axle ratio x rev/mile x present driven teeth / (present ratio x rev/mile x driven teeth) x what "
        "it reads now - 1) <= limit, with the driven gear that reads least above true; rev/mile both declared, or both "
        "by size",
        source="kinematics of a speedometer off the transmission's output",
        sides=speedometer,
        needs={"error": "drive.speedometer_error", "most_ppm": "targets.speedometer_error_ppm"},
        asked=lambda job: job.targets.speedometer_error_ppm > 0,
        unasked="no speedometer_error",
    ),
)

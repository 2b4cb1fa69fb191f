"""Does the engine cruise where it should, is the tire fast enough, and does the gear set go with the differential."""

from __future__ import annotations

import numpy as np

from combo.checks.check import Check, Cure, Sides, at_least, within
from combo.formulas import Column
from combo.job import Axle, Job

DEFAULT_CRUISE_SCALE_RPM = 500.0
_MISMATCH = -1.0
"""Margin of a carrier whose ring gear family or spline count is another: a whole ratio short, farther than
any range."""


def tire_speed(tire_km_h: Column, top_km_h: Column) -> Sides:
    """The tire's speed symbol covers the top speed wanted."""
    return at_least(tire_km_h, top_km_h)


def cruise_rpm(rpm: Column, low_rpm: Column, high_rpm: Column) -> Sides:
    """At cruising speed the engine turns inside the wanted band."""
    return within(rpm, low_rpm, high_rpm)


def carrier(ratio: Column, lowest: Column, highest: Column, belongs: Column) -> Sides:
    """Ring gear family and spline count agree, and the ratio is on the differential's side of the carrier break.

    `belongs` is 1 where both agree, 0 where one is known to differ, NaN where one is not known. What is known to fail
    fails, whatever else is missing.
    """
    value, limit, margin = within(ratio, lowest, highest)
    in_doubt = np.where(np.isnan(belongs) & ~(np.asarray(margin) < 0), np.nan, margin)
    differs = np.asarray(belongs) == 0.0
    value, limit = (np.where(differs, np.nan, side) for side in (value, limit))
    return Sides(value, limit, np.where(differs, np.fmin(margin, _MISMATCH), in_doubt))


def cruise_scale_rpm(job: Job) -> float:
    """Half of the wanted band: a margin as large is as far inside as can be."""
    half = (job.targets.cruise_max_rpm - job.targets.cruise_min_rpm) / 2.0
    return half if half > 0 else DEFAULT_CRUISE_SCALE_RPM


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
        asked="targets.top_speed_km_h",
        scale=lambda job, axle: 20.0,
        scale_words="20 km/h",
        firm=True,
        cures=(Cure("tire_km_h", 1.0, "a tire rated {amount} faster"),
               Cure("top_km_h", -1.0, "a top speed {amount} lower")),
    ),
    Check(
        id="cruise_rpm",
        name="cruise rpm",
        group="drive",
        rows="drive",
        unit="rpm",
        formula="cruise_min <= v / (2 pi r) x 60 x gear x axle ratio x (1 + slip) <= cruise_max",
        source="kinematics; mph x ratio x 336 / D follows from it",
        sides=cruise_rpm,
        needs={"rpm": "drive.rpm", "low_rpm": "targets.cruise_min_rpm", "high_rpm": "targets.cruise_max_rpm"},
        asked="targets.cruise_speed_km_h",
        scale=_cruise_scale,
        scale_words="half the band",
        cures=(Cure("rpm", 1.0, "{amount} more at cruise: a numerically higher ratio or a lower tire"),
               Cure("rpm", -1.0, "{amount} less at cruise: a numerically lower ratio or a taller tire"),
               Cure("high_rpm", 1.0, "a band that ends {amount} higher"),
               Cure("low_rpm", -1.0, "a band that begins {amount} lower")),
    ),
    Check(
        id="carrier",
        name="carrier and gear set",
        group="drive",
        rows="drive",
        unit="ratio",
        formula="ring gear family and splines equal; lowest <= ratio <= highest of the carrier",
        source="the axle maker's carrier break, from the list",
        sides=carrier,
        needs={
            "ratio": "ratio.ratio", "lowest": "differential.ratio_min", "highest": "differential.ratio_max",
            "belongs": "drive.belongs",
        },
        firm=True,
    ),
)  # fmt: skip

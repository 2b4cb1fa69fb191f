"""The start on a grade as straight lines, each a little looser than the check itself: for the solver and for bounds."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from combo.checks.table import Given
from combo.job import Job
from combo.solve.space import Space

Floats = NDArray[np.float64]

_UNIT = 1_000_000
"""Coefficients are whole millionths, rounded so that the line never refuses what the check admits."""
_RESOLUTION = 1e-6
_SLACK_G = 5.0


@dataclass(frozen=True)
class GradeLine:
    """Builds with one of these drive rows hold only where `start` and `times` of each total come to zero or more."""

    drives: tuple[int, ...]
    times: dict[str, int]
    start: int


def grade_lines(space: Space) -> list[GradeLine]:
    """Lines of the wanted start: a (W_r cos + W (h / L) sin) + P >= W (sin + f cos), for the split and for both sides.

    Drive rows of equal grip share a line. Without a wanted grade, or where the ground or the center of gravity is not
    known, there is none. The worst case and a chance ask for more than the line, which the check then sees to.
    """
    job = space.allowed.in_job(space.job)
    if not _is_judged(job):
        return []
    shares, preloads = (space.drive[name] for name in ("drive.grip_share", "drive.preload_kg"))
    groups: dict[tuple[float, float], list[int]] = {}
    for at, (share, preload) in enumerate(zip(shares, preloads, strict=True)):
        if not np.isnan(share + preload):
            groups.setdefault((share, preload), []).append(at)
    lines = [_line(job, tuple(rows), share, preload) for (share, preload), rows in groups.items()]
    return [*lines, _line(job, tuple(range(len(space.drive))), _both(job), 0.0)]


def ballast_to_start_g(
    job: Job, slots: Given, share: Floats, preload_kg: Floats, rear_g: Floats, truck_g: Floats
) -> Floats:  # fmt: skip
    """Rear load that ballast must at least bring for the wanted start, where axle and truck weigh so much without it.

    Infinite where none is enough; 0 where no grade is wanted or something is not known.
    """
    rear = slots["slot.rear_g"]
    useful = rear > 0
    mass = float((slots["slot.mass_g"][useful] / rear[useful]).min(initial=np.inf))
    needed = np.zeros(np.broadcast_shapes(np.shape(rear_g), np.shape(share)))
    if not _is_judged(job):
        return needed
    for own, preload in ((share, preload_kg), (np.asarray(_both(job)), np.zeros(1))):
        of_rear, of_truck = _rates(job, own)
        lacks = -(of_rear * rear_g + of_truck * truck_g + preload * 1000.0) - _SLACK_G
        gains = of_rear + of_truck * mass if useful.any() else np.zeros(np.shape(own))
        enough = np.where(gains > 0, lacks / np.where(gains > 0, gains, 1.0), np.inf)
        needed = np.maximum(needed, np.where(lacks > 0, enough, 0.0))  # what is not known lacks nothing
    return needed


def _is_judged(job: Job) -> bool:
    known = (job.surface.friction_low, job.surface.friction_high, job.truck.cg_height_mm)
    return bool(job.targets.start_grade_ppm) and not np.isnan(known).any()


def _both(job: Job) -> float:
    return (job.surface.friction_low + job.surface.friction_high) / 2.0


def _rates(job: Job, share: Floats | float) -> tuple[Floats, Floats]:
    """What a gram on the rear axle and a gram of the truck add to the thrust that is left [g]."""
    slope = math.atan(job.targets.start_grade_ppm / 1_000_000 - _RESOLUTION)
    over, own = job.truck.cg_height_mm / job.truck.wheelbase_mm, np.asarray(share, dtype=float)
    weight = math.sin(slope) + job.rolling.resistance * math.cos(slope)
    return own * math.cos(slope), own * over * math.sin(slope) - weight


def _line(job: Job, drives: tuple[int, ...], share: float, preload_kg: float) -> GradeLine:
    of_rear, of_truck = _rates(job, share)
    times = {"rear_light_g": math.ceil(of_rear * _UNIT), "truck_light_g": math.ceil(of_truck * _UNIT)}
    return GradeLine(drives, times, math.ceil(preload_kg * 1000.0 * _UNIT) + _UNIT)

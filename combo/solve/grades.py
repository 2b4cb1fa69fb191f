"""The start on a grade as straight lines for the solver, each a little looser than the check itself."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from combo.job import Job
from combo.solve.reduce import Space

_UNIT = 1_000_000
"""Coefficients are whole millionths, rounded so that the line never refuses what the check admits."""
_RESOLUTION = 1e-6


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
    job = space.job
    known = (job.surface.friction_low, job.surface.friction_high, job.truck.cg_height_mm)
    if not job.targets.start_grade_ppm or np.isnan(known).any():
        return []
    both = (job.surface.friction_low + job.surface.friction_high) / 2.0
    shares, preloads = (space.drive[name].to_numpy(dtype=float) for name in ("drive.grip_share", "drive.preload_kg"))
    groups: dict[tuple[float, float], list[int]] = {}
    for at, (share, preload) in enumerate(zip(shares, preloads, strict=True)):
        if not np.isnan(share + preload):
            groups.setdefault((share, preload), []).append(at)
    lines = [_line(job, tuple(rows), share, preload) for (share, preload), rows in groups.items()]
    return [*lines, _line(job, tuple(range(len(space.drive))), both, 0.0)]


def _line(job: Job, drives: tuple[int, ...], share: float, preload_kg: float) -> GradeLine:
    slope = math.atan(job.targets.start_grade_ppm / 1_000_000 - _RESOLUTION)
    over = job.truck.cg_height_mm / job.truck.wheelbase_mm
    of_rear = share * math.cos(slope)
    of_truck = share * over * math.sin(slope) - math.sin(slope) - job.rolling.resistance * math.cos(slope)
    times = {"rear_light_g": math.ceil(of_rear * _UNIT), "truck_light_g": math.ceil(of_truck * _UNIT)}
    return GradeLine(drives, times, math.ceil(preload_kg * 1000.0 * _UNIT) + _UNIT)

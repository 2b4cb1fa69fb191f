"""Starts on a grade and pulls up one as straight lines, each a little looser than the check itself: for the solver and
for bounds.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from combo.candidates.space import Space
from combo.checks.table import Given
from combo.checks.totals import case_deltas_kg
from combo.checks.values import job_value
from combo.job import Job

Floats = NDArray[np.float64]

GRIPS = "grip_share", "preload_kg", "road_share", "road_preload_kg"
"""Columns of drives that tell what they put down: on the ground of the start, and on the good road."""
_UNIT = 1_000_000
"""Coefficients are whole millionths, rounded so that the line never refuses what the check admits."""
_RESOLUTION = 1e-6
_SHARE_STEP, _PRELOAD_STEP_KG = 0.0005, 0.25
"""How coarse the grip of drives is seen: a line may be looser than the check, and each costs the solver time."""
_SLACK_G = 5.0
_SLACK_LINE = 5 * _UNIT


@dataclass(frozen=True)
class GradeCut:
    """Builds with one of these drive rows hold only where `start` and `times` of each total come to zero or more."""

    drives: tuple[int, ...]
    times: dict[str, int]
    start: int


@dataclass(frozen=True)
class _Grip:
    """Thrust that drives put down, as a share of the load under the rear wheels and what preload adds [kg], shape (n,);
    and on what: slope [rad], rolling resistance, height of the center of gravity over the wheelbase; and the most that
    a driven front axle can grip, as a share of its load.
    """

    share: Floats
    preload_kg: Floats
    slope: float
    resistance: float
    over: float
    front: float = 0.0

    def loosened(self) -> _Grip:
        """Grip rounded up, so that drives of nearly the same grip are alike."""
        share, preload = (
            np.ceil(own / step) * step for own, step in ((self.share, _SHARE_STEP), (self.preload_kg, _PRELOAD_STEP_KG))
        )
        return replace(self, share=share, preload_kg=preload)

    @property
    def weight(self) -> float:
        """Thrust that a gram takes on the slope [g]."""
        return math.sin(self.slope) + self.resistance * math.cos(self.slope)

    def rates(self) -> tuple[Floats, Floats]:
        """What a gram on the rear axle and a gram of the truck add to the thrust that is left [g]."""
        more = self.share - self.front
        of_truck = self.front * math.cos(self.slope) + more * self.over * math.sin(self.slope) - self.weight
        return more * math.cos(self.slope), of_truck


def grade_cuts(space: Space) -> list[GradeCut]:
    """Lines of the wanted start and the wanted pull: a (W_r cos + W (h / L) sin) + P >= W (sin + f cos), for the side
    that grips less and for both sides, in the load case that leaves least.

    Drive rows of about equal grip share a line. Without a wanted grade, or where the ground or the center of gravity is
    not known, there is none. The worst case and a chance ask for more than the line, which the check then sees to.
    """
    job, lines = space.allowed.in_job(space.job), []
    grips = _grips(job, *(space.drive[f"drive.{name}"] for name in GRIPS))
    for grip in (own.loosened() for own in grips):
        of_rear, of_truck = grip.rates()
        table = np.column_stack(np.broadcast_arrays(of_rear, of_truck, grip.preload_kg))
        known = np.flatnonzero(~np.isnan(table).any(axis=1))
        for row in np.unique(table[known], axis=0):
            drives = tuple(known[(table[known] == row).all(axis=1)].tolist())
            lines.append(_line(job, drives, row, grip.weight))
    return lines


def ballast_to_grip_g(job: Job, slots: Given, gripped: Sequence[Floats], rear_g: Floats, truck_g: Floats) -> Floats:
    """Rear load that ballast must at least bring for the wanted start and pull, with drives that grip so (`GRIPS`),
    where axle and truck weigh so much without it in the case that is lightest at the rear.

    Infinite where none is enough; 0 where no grade is wanted or something is not known.
    """
    rear = slots["slot.rear_g"]
    useful = rear > 0
    mass = float((slots["slot.mass_g"][useful] / rear[useful]).min(initial=np.inf))
    needed = np.zeros(np.broadcast_shapes(np.shape(rear_g), np.shape(gripped[0])))
    if job.axle.is_front_driven:  # ballast that loads one driven axle may unload the other
        return needed
    for grip in _grips(job, *gripped):
        of_rear, of_truck = grip.rates()
        gains = of_rear + of_truck * mass if useful.any() else np.zeros(np.shape(of_rear))
        for more_rear, more, towed in case_deltas_kg(job).values():
            lacks = (
                -(
                    of_rear * (rear_g + 1000.0 * more_rear)
                    + of_truck * (truck_g + 1000.0 * more)
                    + (grip.preload_kg - grip.weight * towed) * 1000.0
                )
                - _SLACK_G
            )
            enough = np.where(gains > 0, lacks / np.where(gains > 0, gains, 1.0), np.inf)
            needed = np.maximum(needed, np.where(lacks > 0, enough, 0.0))  # what is not known lacks nothing
    return needed


def _grips(job: Job, share: Floats, preload_kg: Floats, road_share: Floats, road_preload_kg: Floats) -> list[_Grip]:
    """What drives grip at the wanted start, and at the wanted pull."""
    found = list(_on_ground(job, share, preload_kg)) if _is_judged(job) else []
    if job.targets.pull_grade_ppm:
        slope, over = _slope(job.targets.pull_grade_ppm), float(np.nan_to_num(job.truck.cg_height_mm))
        road, shape = job.surface.friction_road, np.shape(share)
        for share, preload in ((road_share, road_preload_kg), (np.full(shape, road), np.zeros(shape))):
            found.append(
                _Grip(
                    share,
                    preload,
                    slope,
                    job.rolling.resistance,
                    over / job.truck.wheelbase_mm,
                    road if job.axle.is_front_driven else 0.0,
                )
            )
    return found


def _on_ground(job: Job, share: Floats, preload_kg: Floats) -> tuple[_Grip, _Grip]:
    slope, over = _slope(job.targets.start_grade_ppm), job.truck.cg_height_mm / job.truck.wheelbase_mm
    even = (job.surface.friction_low + job.surface.friction_high) / 2.0
    both = np.full(np.shape(share), even)
    ground = slope, job_value(job, "surface.resistance", "rear"), over, even if job.axle.is_front_driven else 0.0
    return _Grip(np.asarray(share), np.asarray(preload_kg), *ground), _Grip(both, np.zeros(np.shape(share)), *ground)


def _is_judged(job: Job) -> bool:
    known = (job.surface.friction_low, job.surface.friction_high, job.truck.cg_height_mm)
    return bool(job.targets.start_grade_ppm) and not np.isnan(known).any()


def _slope(grade_ppm: int) -> float:
    return math.atan(grade_ppm / 1_000_000 - _RESOLUTION)


def _line(job: Job, drives: tuple[int, ...], row: Floats, weight: float) -> GradeCut:
    """The line of the load case that leaves least: it is the same whatever the build."""
    of_rear, of_truck, preload_kg = row
    times = {"rear_light_g": math.ceil(of_rear * _UNIT), "truck_light_g": math.ceil(of_truck * _UNIT)}
    least_kg = min(
        of_rear * rear + of_truck * truck - weight * towed for rear, truck, towed in case_deltas_kg(job).values()
    )
    return GradeCut(drives, times, math.ceil((preload_kg + least_kg) * 1000.0 * _UNIT) + _SLACK_LINE)

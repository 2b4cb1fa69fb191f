"""One table of ranking criteria: what each looks at, and how it becomes a whole number from 0 to 10000.

A criterion is data, so that the solver can add the very integers that are shown: a `Measure` of the build on a `Ramp`.
What is not known earns 0: missing data never helps a build.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from combo.checks.check import Check
from combo.checks.drive import cruise_scale_rpm
from combo.checks.judge import governing_margin
from combo.checks.rows import Derived, Rows
from combo.checks.run import asked_checks
from combo.checks.table import Table
from combo.formulas.drive import grip_factor
from combo.formulas.rounding import half_up
from combo.job import CRITERIA, Axle, Job

FULL = 10_000
DUST = 1e-6
"""Of a point: what binary fractions lose of a product that is a whole number."""
DEFAULT_COST_SCALE_CENTS = 500_000
DEFAULT_REAR_LOAD_KG = 1000.0

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Ramp:
    """Straight line from `zero`, which earns 0, to `full`, which earns 10000; rounded down, never outside."""

    zero: int
    full: float

    def score(self, size: Ints) -> Ints:
        """Points of whole-number sizes."""
        step = 1 if self.full > self.zero else -1
        return np.clip(FULL * step * (size - self.zero) // (step * (int(self.full) - self.zero)), 0, FULL)

    def score_of_product(self, size: Floats) -> Ints:
        """Points of sizes that are no whole numbers, on a ramp that begins at 0."""
        whole = np.floor(np.clip(FULL * size / self.full, 0.0, float(FULL)) + DUST)
        return np.asarray(np.nan_to_num(whole), dtype=np.int64)


@dataclass(frozen=True)
class Criterion:
    """How a criterion is worked out.

    kind
        "total": `total` on the ramp. "thrust": `total` times the drive row's `drive.grip`, and what it leaves of
        `added` times `drive.front_grip`, on the ramp. "deviation":
        distance of `total` from `wanted` (None: not asked) plus the total `added`, on the ramp. "drive": the drive
        row's own points, column `drive.cruise`. "corners": the lesser of the two corners' points, column
        `corner.fit`.
    """

    name: str
    kind: Literal["total", "thrust", "deviation", "drive", "corners"]
    total: str = ""
    added: str = ""
    wanted: int | None = None
    ramp: Ramp = Ramp(0, 1)


def criteria_of(job: Job) -> tuple[Criterion, ...]:
    """The criteria in use, in the job's order."""
    return tuple(_TABLE[name](job) for name in job.ranking())


def criterion_of(job: Job, name: str) -> Criterion | None:
    """A criterion, if it is in use."""
    return _TABLE[name](job) if name in job.ranking() else None


def all_criteria(job: Job) -> tuple[Criterion, ...]:
    """Every criterion, used for the ranking or not: each is shown."""
    return tuple(_TABLE[name](job) for name in CRITERIA)


def cost_scale_cents(job: Job) -> int:
    """Cost that earns 0: [scales] cost, else the budget if there is any money in it, else 5000.00."""
    return job.scales.cost_cents or job.money.budget_cents or DEFAULT_COST_SCALE_CENTS


def cruise_aim_rpm(job: Job) -> float:
    """Engine speed wanted at cruise: cruise_aim, else the middle of the band; NaN where neither is given."""
    if not np.isnan(job.targets.cruise_aim_rpm):
        return job.targets.cruise_aim_rpm
    return (job.targets.cruise_min_rpm + job.targets.cruise_max_rpm) / 2.0


def corner_columns(job: Job, axle: Axle) -> dict[str, Derived]:
    """What corners bring to the criteria: `corner.fit`, the points of the tightest fit check."""

    def fit(corners: Rows) -> Ints:
        margins = {check.id: governing_margin(job, axle, check, corners) for check in fit_checks(job, axle)}
        return fit_points(job, axle, margins, len(corners))

    return {"corner.fit": fit}


def drive_columns(job: Job) -> dict[str, Derived]:
    """What drives bring to the criteria: `drive.cruise`, the points of the cruise rpm, and thrust over the load of each
    axle, `drive.grip` and `drive.front_grip`.
    """
    return {
        "drive.cruise": functools.partial(cruise_points, job),
        "drive.grip": lambda rows: grips(job, rows)[0],
        "drive.front_grip": lambda rows: grips(job, rows)[1],
    }


def fit_checks(job: Job, axle: Axle) -> list[Check]:
    """The clearances that the criterion "fit" looks at."""
    return [check for check in asked_checks(job, "corner", axle) if check.is_clearance]


@dataclass(frozen=True)
class RowPoints:
    """What the chosen rows bring to the criteria, arrays of one shape: the lesser corner's fit, cruise, and grip."""

    fit: Ints
    cruise: Ints
    grip: Floats
    front_grip: Floats

    def at(self, places: Any) -> RowPoints:
        """The same at some places, as numpy takes them."""
        return RowPoints(self.fit[places], self.cruise[places], self.grip[places], self.front_grip[places])


def points(criterion: Criterion, sums: Mapping[str, Floats], rows: RowPoints) -> Ints:
    """Points of builds by a criterion, in the shape of the sums (totals by name, whole numbers, NaN not known)."""
    if criterion.kind == "drive":
        return rows.cruise
    if criterion.kind == "corners":
        return rows.fit
    size = sums[criterion.total]
    if criterion.kind == "thrust":
        thrust = size * rows.grip
        if criterion.added:  # both axles are driven
            thrust = thrust + (sums[criterion.added] - size) * rows.front_grip
        return criterion.ramp.score_of_product(thrust)
    if criterion.kind == "deviation":
        size = sums[criterion.added] + (0.0 if criterion.wanted is None else np.abs(size - criterion.wanted))
    known = ~np.isnan(size)
    return np.where(known, criterion.ramp.score(np.where(known, size, 0).astype(np.int64)), 0)


def _cost(job: Job) -> Criterion:
    return Criterion("cost", "total", "cost_cents", ramp=Ramp(cost_scale_cents(job), 0))


def _cruise(job: Job) -> Criterion:
    return Criterion("cruise", "drive")


def _fit(job: Job) -> Criterion:
    return Criterion("fit", "corners")


def _traction(job: Job) -> Criterion:
    both = "truck_light_g" if job.axle.is_front_driven else ""
    return Criterion("traction", "thrust", "rear_light_g", both, ramp=Ramp(0, _full_thrust(job)))


def _stance(job: Job) -> Criterion:
    wanted = None if np.isnan(job.targets.rake_mm) else _whole(job.targets.rake_mm * 1000.0)
    ramp = Ramp(_whole(job.scales.stance_mm * 1000.0), 0)
    return Criterion("stance", "deviation", "rake_um", "lip_error_um", wanted, ramp)


def _weight(job: Job) -> Criterion:
    return Criterion("weight", "total", "parts_g", ramp=Ramp(_whole(job.scales.weight_kg * 1000.0), 0))


_TABLE: dict[str, Callable[[Job], Criterion]] = {
    "cost": _cost,
    "cruise": _cruise,
    "fit": _fit,
    "traction": _traction,
    "stance": _stance,
    "weight": _weight,
}


def _full_thrust(job: Job) -> float:
    """Thrust that earns 10000: a locked axle under the wanted rear load (else the axle's rating, else 1000 kg); with
    both driven the front one, too, under its load on the scale.
    """
    load_kg = next(
        (kg for kg in (job.targets.rear_load_kg, job.truck.gawr_rear_kg) if not np.isnan(kg)), DEFAULT_REAR_LOAD_KG
    )
    rear, front = _thrusts(job, _axle_share(job, "locked", np.nan), _locked_in_front(job))
    front_kg = np.nan_to_num(job.loads.axle_kg("front"))
    return float(_whole(load_kg * 1000.0) * rear + _whole(front_kg * 1000.0) * front)


def most_front_grip(job: Job) -> float:
    """The most that any differential makes of the load of a driven front axle; 0 where it is not driven."""
    least_rear = _axle_share(job, "open", np.nan)
    shares = (least_rear, _axle_share(job, "locked", np.nan))
    return float(max(_thrusts(job, own, _locked_in_front(job))[1] for own in shares))


def _locked_in_front(job: Job) -> float:
    return _axle_share(job, "locked", np.nan) if job.axle.is_front_driven else 0.0


def _axle_share(job: Job, kind: str, bias_ratio: float) -> float:
    """Thrust of an axle over the load that is on it; 1 for every differential where the job gives no surface.

    A limited slip without a bias ratio counts as open: it understates.
    """
    surface = job.surface
    if np.isnan(surface.friction_low) or np.isnan(surface.friction_high):
        return 1.0
    if kind == "limited_slip" and np.isnan(bias_ratio):
        kind = "open"
    return grip_factor(kind, surface.friction_low, surface.friction_high, 0.0, bias_ratio)


def _thrusts(job: Job, rear: float, front: float) -> tuple[float, float]:
    """Thrust over the load that each axle has at rest on the level, by their shares of the load under thrust.

    What moves from axle to axle is left out where the height of the center of gravity is not given, which understates,
    or the ground.
    """
    surface, truck = job.surface, job.truck
    height = 0.0 if np.isnan(truck.cg_height_mm) else truck.cg_height_mm / truck.wheelbase_mm
    if np.isnan(surface.friction_low) or np.isnan(surface.friction_high):
        height = 0.0
    moved = 1.0 - (rear - front) * height
    return rear / moved, front / moved


def grips(job: Job, drive: Table) -> tuple[Floats, Floats]:
    """Thrust over the load of the rear and of the front axle, of each drive; 0 in front where that is not driven."""
    axles = ("", "front_") if job.axle.is_front_driven else ("",)
    kinds = list(
        zip(*(drive[f"differential.{axle}{name}"] for axle in axles for name in ("type", "bias_ratio")), strict=True)
    )
    known: dict[tuple[Any, ...], tuple[float, float]] = {}
    for own in dict.fromkeys(kinds):
        front = _axle_share(job, *own[2:]) if own[2:] else 0.0
        known[own] = _thrusts(job, _axle_share(job, *own[:2]), front)
    each = np.array([known[own] for own in kinds], dtype=float).reshape(len(kinds), 2)
    return each[:, 0], each[:, 1]


def cruise_points(job: Job, drive: Table) -> Ints:
    """10000 at the aim, 0 at [scales] cruise (else half the band) away from it; 10000 where no aim is given."""
    aim = cruise_aim_rpm(job)
    if np.isnan(aim) or np.isnan(job.targets.cruise_speed_km_h):
        return np.full(len(drive), FULL, dtype=np.int64)
    scale = cruise_scale_rpm(job) if np.isnan(job.scales.cruise_rpm) else job.scales.cruise_rpm
    away = half_up(np.abs(np.asarray(drive["drive.rpm"]) - aim) * 1000.0)
    known = ~np.isnan(away)
    points = Ramp(_whole(scale * 1000.0), 0).score(np.where(known, away, 0).astype(np.int64))
    return np.where(known, points, 0)


def fit_points(job: Job, axle: Axle, margins: Mapping[str, Floats], count: int) -> Ints:
    """Smallest margin over its clearance: 10000 where as much room is left again; 0 where any is not known."""
    points = np.full(count, FULL, dtype=np.int64)
    for check in fit_checks(job, axle):
        assert check.scale is not None
        margin = half_up(margins[check.id] * 1000.0)
        known = ~np.isnan(margin)
        own = Ramp(0, _whole(check.scale(job, axle) * 1000.0)).score(np.where(known, margin, 0).astype(np.int64))
        points = np.minimum(points, np.where(known, own, 0))
    return points


def _whole(size: float) -> int:
    return int(half_up(size))

"""The most that any build with a given row can score: what lets most rows be left out before the solver starts.

Every bound here is a relaxation, so a row whose bound is below the K-th best build known is in no build of the top K:

- A criterion is at most its straight line, lifted where a feasible build could fall off the line's lower end.
- The lesser of two corners' fit is at most any weighted mean of the two (several are tried).
- Ballast may be cut to any size, and only the limit of each slot counts: the least that it costs to reach a rear load
  is then a convex broken line.
- The budget is charged at a price instead of held (several are tried; zero among them).
- What is left is a sum over front corner, rear corner and drive, tied front to rear by wheel and tire where the job
  wants them the same, and rear to drive by the tire. Its largest value through each row follows from group-wise
  maxima along that chain.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from combo.checks.totals import TOTALS
from combo.job import Job
from combo.solve.criteria import FULL, Criterion, criteria_of
from combo.solve.reduce import Space

Floats = NDArray[np.float64]
Bounds = dict[str, Floats]
"""For front, rear and drive: the bound of each row on each first level of the key, shape (rows, levels)."""

FIT_SPLITS = (0.0, 0.5, 1.0)
BUDGET_PRICES = (0.0, 0.25, 0.5, 1.0, 2.0, 4.0, 8.0)
"""In units of the full score over the budget."""


@dataclass(frozen=True)
class _Rates:
    """Weights of the criteria and what a cent and a gram take away at them."""

    weights: dict[str, int]
    cent: float
    gram: float
    fit_front: float


def upper_bounds(space: Space) -> Bounds:
    """Bounds of all rows: on the weighted sum of points, or with [order] on each criterion apart."""
    job = space.job
    if job.order.criteria:
        apart = [_weighted(space, {name: 1}) for name in job.ranking()]
        return {name: np.column_stack([bound[name] for bound in apart]) for name in ("front", "rear", "drive")}
    both = _weighted(space, {name: job.weight(name) for name in job.ranking()})
    return {name: bound[:, np.newaxis] for name, bound in both.items()}


def reaches(bounds: Floats, least: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Rows that a build with these first levels or better may hold: in order, the first level that differs decides.

    One point of slack swallows the rounding of the floats.
    """
    undecided = np.ones(len(bounds), dtype=bool)
    reach = np.zeros(len(bounds), dtype=bool)
    for level, value in enumerate(least):
        reach |= undecided & (bounds[:, level] > value + 1)
        undecided &= np.abs(bounds[:, level] - value) <= 1
    return reach | undecided


def _weighted(space: Space, weights: dict[str, int]) -> Bounds:
    table = {criterion.name: criterion for criterion in criteria_of(space.job)}
    stance = {name: weights.get("stance", 0) * _stance_most(space, table.get("stance"), name) for name in ("front", "rear")}
    best: Bounds | None = None
    for price in _prices(space.job, weights):
        for split in FIT_SPLITS if weights.get("fit") else FIT_SPLITS[:1]:
            found = _chained(space, table, weights, price, split, stance)
            best = found if best is None else {name: np.minimum(best[name], found[name]) for name in found}
    assert best is not None
    return best


def _prices(job: Job, weights: dict[str, int]) -> list[float]:
    """Prices of a cent of budget to try [points a cent]."""
    if not job.money.budget_cents:
        return [0.0]
    return [share * FULL * sum(weights.values()) / job.money.budget_cents for share in BUDGET_PRICES]


def _chained(
    space: Space, table: dict[str, Criterion], weights: dict[str, int], price: float, split: float, stance: dict[str, Floats]
) -> Bounds:
    """Largest value through each row of the chain front - rear - drive, for each grip that a drive may have."""
    job, front, rear, drive = space.job, space.front, space.rear, space.drive
    lift, rates = _rates(space, table, weights, price, split)
    fronts = _corner_value(front, rates, rates.fit_front) + stance["front"]
    rears = _corner_value(rear, rates, weights.get("fit", 0) - rates.fit_front)
    drives = weights.get("cruise", 0) * drive["drive.cruise"].to_numpy() - rates.cent * drive["drive.cost_cents"].to_numpy()
    constant = lift + price * (job.money.budget_cents or 0)
    links, link_front, link_rear = _links(space)
    tires, tire_rear, tire_drive = _codes(rear["tire.at"], drive["tire.at"])
    grips = drive["drive.grip"].to_numpy()
    bounds = {name: np.full(len(rows), -np.inf) for name, rows in (("front", front), ("rear", rear), ("drive", drive))}
    for grip in np.unique(grips):
        of_grip = np.where(grips == grip, drives, -np.inf)
        alone = rears + _ballast_value(space, table.get("traction"), rates, int(grip))
        with_drive = alone + _most_of(of_grip, tire_drive, tires)[tire_rear]
        with_front = alone + stance["rear"] + _most_of(fronts - stance["front"], link_front, links)[link_rear]
        behind = _most_of(with_drive, link_rear, links)
        found = {
            "front": fronts + behind[link_front],
            "rear": with_front + (with_drive - alone),
            "drive": of_grip + _most_of(with_front, tire_rear, tires)[tire_drive],
        }
        bounds = {name: np.maximum(bounds[name], constant + found[name]) for name in bounds}
    return bounds


def _rates(
    space: Space, table: dict[str, Criterion], weights: dict[str, int], price: float, split: float
) -> tuple[float, _Rates]:
    """What every build has to begin with, and what a cent and a gram take away."""
    per_unit, lift = {}, 0.0
    for name in ("cost", "weight"):
        weight = weights.get(name, 0)
        per_unit[name] = 0.0
        if weight:
            ramp, total = table[name].ramp, table[name].total
            per_unit[name] = weight * FULL / ramp.zero
            lift += weight * FULL + max(0.0, per_unit[name] * (_largest(space, total) - ramp.zero))
    return lift, _Rates(weights, per_unit["cost"] + price, per_unit["weight"], split * weights.get("fit", 0))


def _largest(space: Space, total_name: str) -> float:
    """The largest value of a total that a feasible build may have."""
    if total_name == "cost_cents" and space.job.money.budget_cents:
        return float(space.job.money.budget_cents)
    total = TOTALS[total_name]
    most = sum(
        float(np.nanmax(rows[column].to_numpy(dtype=float), initial=0.0))
        for rows, column in ((space.front, total.front), (space.rear, total.rear), (space.drive, total.drive))
        if column
    )
    return most + float((space.slots[total.slot].to_numpy(dtype=float) * space.slots["slot.most"].to_numpy()).sum())


def _corner_value(rows: pd.DataFrame, rates: _Rates, fit: float) -> Floats:
    grams = np.nan_to_num(rows["corner.mass_g"].to_numpy(dtype=float))
    value: Floats = fit * rows["corner.fit"].to_numpy() - rates.cent * rows["corner.cost_cents"].to_numpy() - rates.gram * grams
    return value


def _stance_most(space: Space, stance: Criterion | None, name: str) -> Floats:
    """Most stance points of a build with each corner: beside the other axle's nearest diameter and smallest lip error."""
    own, other = (space.front, space.rear) if name == "front" else (space.rear, space.front)
    if stance is None or not len(own) or not len(other):
        return np.zeros(len(own))
    lip = own["corner.lip_error_um"].to_numpy(dtype=float) + np.nanmin(other["corner.lip_error_um"].to_numpy(dtype=float), initial=np.inf)
    away = np.zeros(len(own))
    if stance.wanted is not None:
        sign = 1.0 if name == "front" else -1.0
        wanted = own["corner.diameter_um"].to_numpy(dtype=float) + sign * stance.wanted
        away = _to_nearest(wanted, other["corner.diameter_um"].to_numpy(dtype=float))
    known = ~np.isnan(away + lip)
    off = np.where(known, away + np.where(np.isfinite(lip), lip, 0.0), 0).astype(np.int64)
    return np.where(known, stance.ramp.score(off), 0).astype(float)


def _to_nearest(wanted: Floats, sizes: Floats) -> Floats:
    """Distance of each wanted size to the nearest of the sizes; NaN where it is not known."""
    known = np.unique(sizes[~np.isnan(sizes)])
    if not len(known):
        return np.full(len(wanted), np.nan)
    at = np.searchsorted(known, wanted).clip(1, max(1, len(known) - 1))
    right, left = known[np.minimum(at, len(known) - 1)], known[at - 1]
    return np.minimum(np.abs(wanted - left), np.abs(wanted - right))


def _ballast_value(space: Space, traction: Criterion | None, rates: _Rates, grip: int) -> Floats:
    """For each rear corner: traction points less what the ballast takes away, with the ballast that is best for it.

    Where a rear load is wanted, only with ballast enough to reach it. Zero where the rear load is not known.
    """
    base = TOTALS["rear_light_g"].base(space.job)
    load = base + space.rear["corner.mass_change_g"].to_numpy(dtype=float)
    reach, loss = _broken_line(space, rates)
    target = _rear_target_g(space.job)
    need = np.maximum(0.0, target - load)
    weight = rates.weights.get("traction", 0)
    full = traction.ramp.full / grip if traction is not None and grip else 0.0
    choices = [np.broadcast_to(at, load.shape) for at in reach] + [need, np.maximum(0.0, full - load)]
    value = np.full(len(load), -np.inf)
    for choice in choices:
        laid = np.clip(np.maximum(choice, need), 0.0, reach[-1])
        points = weight * FULL * np.clip((load + laid) / full, 0.0, 1.0) if weight and full > 0 else 0.0
        enough = load + laid >= target - 1.0
        value = np.maximum(value, np.where(enough, points - np.interp(laid, reach, loss), -np.inf))
    return np.where(np.isnan(load), 0.0, value)


def _broken_line(space: Space, rates: _Rates) -> tuple[Floats, Floats]:
    """Rear load that ballast can add [g], and the least that it takes away to do so [points]."""
    rear = space.slots["slot.rear_g"].to_numpy(dtype=float)
    taken = rates.cent * space.slots["slot.cost_cents"].to_numpy(dtype=float) + rates.gram * space.slots["slot.mass_g"].to_numpy(dtype=float)
    most = space.slots["slot.most"].to_numpy(dtype=float)
    useful = np.flatnonzero(rear > 0)
    order = useful[np.argsort(taken[useful] / rear[useful], kind="stable")]
    reach = np.concatenate([[0.0], np.cumsum(rear[order] * most[order])])
    loss = np.concatenate([[0.0], np.cumsum(taken[order] * most[order])])
    return reach, loss


def _rear_target_g(job: Job) -> float:
    """Rear load that every build must reach; none where it is not asked, or not known to be short."""
    target = TOTALS["rear_load_target_g"].base(job)
    return -np.inf if np.isnan(target) else target


def _links(space: Space) -> tuple[int, NDArray[np.int64], NDArray[np.int64]]:
    """Group of each front and rear row: wheel and tire where they are the same all round, else one group for all."""
    if not space.job.job.same_all_round:
        return 1, np.zeros(len(space.front), dtype=np.int64), np.zeros(len(space.rear), dtype=np.int64)
    pair = ["wheel.at", "tire.at"]
    both = pd.concat([space.front[pair], space.rear[pair]], ignore_index=True)
    codes = both.groupby(pair, sort=True).ngroup().to_numpy(dtype=np.int64)
    return int(codes.max(initial=-1)) + 1, codes[: len(space.front)], codes[len(space.front) :]


def _codes(one: pd.Series, other: pd.Series) -> tuple[int, NDArray[np.int64], NDArray[np.int64]]:
    codes, known = pd.factorize(pd.concat([one, other], ignore_index=True), sort=True)
    return len(known), codes[: len(one)].astype(np.int64), codes[len(one) :].astype(np.int64)


def _most_of(values: Floats, group: NDArray[np.int64], count: int) -> Floats:
    """Largest value of each group; minus infinity where a group has none."""
    most = np.full(count, -np.inf)
    np.maximum.at(most, group, values)
    return most

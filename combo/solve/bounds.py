"""The most that any build with a given row can reach: what lets most rows be left out before builds are joined.

Every bound is a relaxation of the line of `combo.solve.levels`, so a row whose bound is below the K-th best build
known is in no build of the top K:

- The lesser of two corners' fit is at most any weighted mean of the two (several are tried).
- The budget is charged at a price instead of held (several are tried; zero among them).
- What is left is a sum over front corner, rear corner with its ballast, and drive, tied front to rear by wheel and
  tire where the job wants them the same all round, and rear to drive by the tire. Its largest value through each row
  follows from group-wise maxima along that chain.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from combo.checks.totals import TOTALS
from combo.solve.criteria import FULL, Criterion, criteria_of
from combo.solve.levels import Level, ballast_line, levels_of
from combo.solve.reduce import Space

Floats = NDArray[np.float64]
Codes = NDArray[np.int64]
Bounds = dict[str, Floats]
"""For front, rear and drive: the bound of each row on each level, shape (rows, levels)."""

FIT_SPLITS = (0.0, 0.5, 1.0)
BUDGET_PRICES = (0.0, 0.25, 0.5, 1.0, 2.0, 4.0, 8.0)
"""In units of the full score over the budget."""
TABLES = ("front", "rear", "drive")


@dataclass(frozen=True)
class Chain:
    """Which rows may stand together: group of each front and rear row, and of each rear and drive row."""

    links: int
    front_link: Codes
    rear_link: Codes
    tires: int
    rear_tire: Codes
    drive_tire: Codes


def chain_of(space: Space) -> Chain:
    """Rear and drive are tied by the tire; front and rear by wheel and tire, or not at all where axles are free."""
    tires, rear_tire, drive_tire = _codes(space.rear[["tire.at"]], space.drive[["tire.at"]])
    if not space.job.job.same_all_round:
        front_free, rear_free = (np.zeros(len(table), dtype=np.int64) for table in (space.front, space.rear))
        return Chain(1, front_free, rear_free, tires, rear_tire, drive_tire)
    pair = ["wheel.at", "tire.at"]
    links, front_link, rear_link = _codes(space.front[pair], space.rear[pair])
    return Chain(links, front_link, rear_link, tires, rear_tire, drive_tire)


def upper_bounds(space: Space) -> Bounds:
    """Bounds of all rows on every level."""
    chain = chain_of(space)
    apart = [_of_level(space, chain, level) for level in levels_of(space)]
    return {name: np.column_stack([bound[name] for bound in apart]) for name in TABLES}


def stance_of(space: Space, criterion: Criterion, away_um: Floats, lip_um: Floats) -> Floats:
    """Stance points for a distance of the rake and a lip error; 0 where not known."""
    known = ~np.isnan(away_um + lip_um)
    return np.where(known, criterion.ramp.score(np.where(known, away_um + lip_um, 0).astype(np.int64)), 0).astype(float)


def _of_level(space: Space, chain: Chain, level: Level) -> dict[str, Floats]:
    stance = {name: level.weight("stance") * _stance_most(space, name) for name in ("front", "rear")}
    best = {name: np.full(len(getattr(space, name)), np.inf) for name in TABLES}
    for price in _prices(space, level):
        for split in FIT_SPLITS if level.weight("fit") else FIT_SPLITS[:1]:
            found = _through_rows(space, chain, level, price, split, stance)
            best = {name: np.minimum(best[name], found[name]) for name in best}
    return best


def _prices(space: Space, level: Level) -> list[float]:
    """Prices of a cent of budget to try [points a cent]."""
    budget = space.job.money.budget_cents
    if not budget or not level.weights:
        return [0.0]
    return [share * FULL * sum(level.weights.values()) / budget for share in BUDGET_PRICES]


def _through_rows(
    space: Space, chain: Chain, level: Level, price: float, split: float, stance: dict[str, Floats]
) -> dict[str, Floats]:
    """Largest value through each row of the chain front - rear - drive, the best of the grips that a drive may have."""
    fit, start = level.weight("fit"), level.start + price * (space.job.money.budget_cents or 0)
    fronts = _corner(space.front, level, price, split * fit)
    rears = _corner(space.rear, level, price, (1.0 - split) * fit)
    cents = space.drive["drive.cost_cents"].to_numpy(dtype=float)
    drives = level.weight("cruise") * space.drive["drive.cruise"].to_numpy() - (level.cent + price) * cents
    load = TOTALS["rear_light_g"].start(space.job) + space.rear["corner.rear_load_g"].to_numpy(dtype=float)
    line, grips = ballast_line(space, level, price), space.drive["drive.grip"].to_numpy(dtype=float)
    front_best = _most_of(fronts, chain.front_link, chain.links)[chain.rear_link]
    bounds = {name: np.full(len(getattr(space, name)), -np.inf) for name in TABLES}
    for grip in np.unique(grips):
        loaded = rears + line.best(level, space, load, np.full(len(load), grip))
        driven = np.where(grips == grip, drives, -np.inf)
        with_drive = loaded + _most_of(driven, chain.drive_tire, chain.tires)[chain.rear_tire]
        with_front = loaded + stance["rear"] + front_best
        found = {
            "front": fronts + stance["front"] + _most_of(with_drive, chain.rear_link, chain.links)[chain.front_link],
            "rear": with_drive + stance["rear"] + front_best,
            "drive": driven + _most_of(with_front, chain.rear_tire, chain.tires)[chain.drive_tire],
        }
        bounds = {name: np.maximum(bounds[name], start + found[name]) for name in bounds}
    return bounds


def _corner(rows: pd.DataFrame, level: Level, price: float, fit: float) -> Floats:
    cents, grams = (rows[name].to_numpy(dtype=float) for name in ("corner.cost_cents", "corner.mass_g"))
    paid: Floats = fit * rows["corner.fit"].to_numpy() - (level.cent + price) * cents
    value: Floats = paid - level.gram * np.nan_to_num(grams)
    return value


def _stance_most(space: Space, name: str) -> Floats:
    """Most stance points of a build with each corner: beside the other axle's nearest diameter and least lip error."""
    own, other = (space.front, space.rear) if name == "front" else (space.rear, space.front)
    criterion = next((criterion for criterion in criteria_of(space.job) if criterion.name == "stance"), None)
    if criterion is None or not len(own) or not len(other):
        return np.zeros(len(own))
    least = other["corner.lip_error_um"].min()
    lip = own["corner.lip_error_um"].to_numpy(dtype=float) + (0.0 if np.isnan(least) else float(least))
    away = np.zeros(len(own))
    if criterion.wanted is not None:
        wanted = own["corner.diameter_um"].to_numpy(dtype=float) + (1 if name == "front" else -1) * criterion.wanted
        away = _to_nearest(wanted, other["corner.diameter_um"].to_numpy(dtype=float))
    return stance_of(space, criterion, away, lip)


def _to_nearest(wanted: Floats, sizes: Floats) -> Floats:
    """Distance of each wanted size to the nearest of the sizes; NaN where it is not known."""
    known = np.unique(sizes[~np.isnan(sizes)])
    if not len(known):
        return np.full(len(wanted), np.nan)
    right = np.searchsorted(known, wanted).clip(0, len(known) - 1)
    left = np.maximum(right - 1, 0)
    nearest: Floats = np.minimum(np.abs(wanted - known[left]), np.abs(wanted - known[right]))
    return nearest


def _codes(one: pd.DataFrame, other: pd.DataFrame) -> tuple[int, Codes, Codes]:
    """Number of groups of equal rows, and the group of each row of both tables."""
    both = pd.concat([one, other], ignore_index=True)
    codes = both.groupby(list(both.columns), sort=True).ngroup().to_numpy().astype(np.int64)
    return int(codes.max(initial=-1)) + 1, codes[: len(one)], codes[len(one) :]


def _most_of(values: Floats, group: Codes, count: int) -> Floats:
    """Largest value of each group; minus infinity where a group has none."""
    most = np.full(count, -np.inf)
    np.maximum.at(most, group, values)
    return most

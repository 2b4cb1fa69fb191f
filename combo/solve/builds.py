"""Builds as positions in the space's tables, the key that orders them, and whether they hold together."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from combo.checks.run import Chosen, asked_checks, build_room, signed_column
from combo.checks.totals import TOTALS
from combo.job import Job
from combo.solve.criteria import RowPoints, all_criteria, criteria_of, points
from combo.solve.reduce import Space

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
Sums = dict[str, Floats]


@dataclass(frozen=True)
class Builds:
    """Builds by position: row of each table, shape (n,), and count of each ballast slot, shape (n, slots)."""

    front: Ints
    rear: Ints
    drive: Ints
    counts: Ints

    def __len__(self) -> int:
        return len(self.front)

    def take(self, at: NDArray[np.int64] | NDArray[np.bool_]) -> Builds:
        """The builds at these positions, or where the mask holds."""
        return Builds(self.front[at], self.rear[at], self.drive[at], self.counts[at])

    @staticmethod
    def join(several: list[Builds]) -> Builds:
        """All builds of several, each once, in the order in which they come."""
        table = np.concatenate([builds.table() for builds in several])
        unique = table[~pd.DataFrame(table).duplicated().to_numpy()]
        return Builds(unique[:, 0], unique[:, 1], unique[:, 2], unique[:, 3:])

    def table(self) -> Ints:
        """One row of whole numbers a build."""
        return np.column_stack([self.front, self.rear, self.drive, self.counts])


def no_builds(space: Space) -> Builds:
    """An empty set of builds."""
    none = np.zeros(0, dtype=np.int64)
    return Builds(none, none, none, np.zeros((0, len(space.slots)), dtype=np.int64))


def chosen(space: Space, builds: Builds) -> Chosen:
    """The rows of each build, one a row in each table."""
    front = space.front.take(builds.front).reset_index(drop=True)
    rear = space.rear.take(builds.rear).reset_index(drop=True)
    drive = space.drive.take(builds.drive).reset_index(drop=True)
    return Chosen(front, rear, drive, space.slots, builds.counts)


def gear_ranks(space: Space) -> Ints:
    """Rank of each drive row by ratio SKU, then differential SKU: the tire is ranked with the rear corner."""
    return space.drive.groupby(["ratio.sku", "differential.sku"], sort=True).ngroup().to_numpy().astype(np.int64)


def bare_sums(space: Space, builds: Builds) -> Sums:
    """Totals of builds without their ballast, by name: what the truck and the chosen rows bring."""
    sums = {}
    for name, total in TOTALS.items():
        value = np.full(len(builds), total.base(space.job))
        for table, at in (("front", builds.front), ("rear", builds.rear), ("drive", builds.drive)):
            column = getattr(total, table)
            if column:
                value = value + signed_column(getattr(space, table), column)[at]
        sums[name] = value
    return sums


def ballast_sums(space: Space, counts: Ints) -> Sums:
    """What ballast adds to each total, by name: one value a row of counts."""
    nothing = np.zeros(len(counts))
    return {
        name: counts @ space.slots[total.slot].to_numpy(dtype=float) if total.slot else nothing
        for name, total in TOTALS.items()
    }


def added(bare: Sums, ballast: Sums) -> Sums:
    """Totals of builds from those of their rows and of their ballast; the shapes broadcast."""
    return {name: bare[name] + ballast[name] for name in bare}


def row_points(space: Space, builds: Builds) -> RowPoints:
    """What the rows of builds bring to the criteria."""
    front, rear = (getattr(space, name)["corner.fit"].to_numpy(dtype=np.int64) for name in ("front", "rear"))
    cruise, grip = (space.drive[name].to_numpy(dtype=np.int64) for name in ("drive.cruise", "drive.grip"))
    return RowPoints(np.minimum(front[builds.front], rear[builds.rear]), cruise[builds.drive], grip[builds.drive])


def first_levels(space: Space, sums: Sums, rows: RowPoints) -> list[Ints]:
    """Levels of the key to the cost, larger first: weighted points (or each of [order]), then the cost, negative."""
    job = space.job
    each = [points(criterion, sums, rows) for criterion in criteria_of(job)]
    if not job.order.criteria:
        weights = [job.weight(criterion.name) for criterion in criteria_of(job)]
        each = [np.asarray(sum(weight * own for weight, own in zip(weights, each, strict=True)), dtype=np.int64)]
    return [*each, -sums["cost_cents"].astype(np.int64)]


def keys(space: Space, builds: Builds) -> Ints:
    """Whole-number key of each build, shape (n, levels); the larger in lexicographic order ranks first.

    The weighted sum of the points (or each criterion of [order]); then, negative, cost; then SKUs: the rows are sorted
    by SKU, so their positions compare as the SKUs do; then counts of the ballast slots.
    """
    sums = added(bare_sums(space, builds), ballast_sums(space, builds.counts))
    levels = first_levels(space, sums, row_points(space, builds))
    ranks = gear_ranks(space)[builds.drive] if len(builds) else builds.drive
    return np.column_stack([*levels, -builds.front, -builds.rear, -ranks, -builds.counts]).astype(np.int64)


def sorted_by_key(builds: Builds, key: Ints) -> tuple[Builds, Ints]:
    """Builds and keys from the first to the last."""
    order = np.lexsort(-key.T[::-1])
    return builds.take(order), key[order]


def rooms(space: Space, sums: Sums) -> list[Floats]:
    """Room in each whole-build check that is asked, in the shape of the sums; NaN where it is unverified."""
    return [build_room(check, sums) for check in asked_checks(space.job, "build")]


def holds(space: Space, room: list[Floats]) -> NDArray[np.bool_]:
    """Whether no whole-build check fails; with `strict` also none is unverified."""
    right = [(own >= 0) if space.job.job.strict else ~(own < 0) for own in room]
    return np.asarray(np.logical_and.reduce(np.broadcast_arrays(*right)), dtype=bool)


@dataclass(frozen=True)
class BallastLimit:
    """One limit on the counts of the slots: at most `most` of the sum of `each` over the slots; `words` name it."""

    each: Ints
    most: int
    words: str


def ballast_limits(job: Job, slots: pd.DataFrame) -> list[BallastLimit]:
    """Number of items in all, stock of each item over all stations, load of each station."""
    plan = job.ballast
    limits = [BallastLimit(np.ones(len(slots), dtype=np.int64), plan.max_items, f"{plan.max_items} items in all")]
    for sku, stock in slots.groupby("ballast.sku", sort=True):
        most = stock["ballast.max_count"].iloc[0]
        if not np.isnan(most):
            here = slots.index.isin(stock.index).astype(np.int64)
            limits.append(BallastLimit(here, int(most), f"{most:.0f} of {sku}"))
    for station in plan.stations:
        if not np.isnan(station.max_mass_kg):
            at = (slots["station.name"] == station.name).to_numpy()
            grams = (slots["slot.mass_g"].to_numpy() * at).astype(np.int64)
            most_g = int(np.floor(station.max_mass_kg * 1000.0 + 0.5))
            limits.append(BallastLimit(grams, most_g, f"{most_g / 1000:.1f} kg {station.name}"))
    return limits


def allowed(limits: list[BallastLimit], counts: Ints) -> NDArray[np.bool_]:
    """Which rows of counts keep every limit on the ballast."""
    right: NDArray[np.bool_] = np.ones(len(counts), dtype=bool)
    for limit in limits:
        right = right & (counts @ limit.each <= limit.most)
    return right


def table_of(space: Space, builds: Builds) -> pd.DataFrame:
    """Totals and points of builds side by side, a row a build: every criterion, used for the ranking or not."""
    sums = added(bare_sums(space, builds), ballast_sums(space, builds.counts))
    rows = row_points(space, builds)
    own = {f"points.{criterion.name}": points(criterion, sums, rows) for criterion in all_criteria(space.job)}
    return pd.DataFrame(sums | own)

"""Builds as positions in the space's tables, the key that orders them, and whether they hold together."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from combo.checks.run import Chosen, asked_checks, build_room, totals
from combo.solve.criteria import criteria_of, scores
from combo.solve.reduce import Space

Ints = NDArray[np.int64]


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
        """All builds of several, each once, in order of their positions."""
        table = np.concatenate([builds.table() for builds in several])
        unique = np.unique(table, axis=0)
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
    take = [table.take(at).reset_index(drop=True) for table, at in
            ((space.front, builds.front), (space.rear, builds.rear), (space.drive, builds.drive))]  # fmt: skip
    return Chosen(*take, space.slots, builds.counts)


def gear_ranks(space: Space) -> Ints:
    """Rank of each drive row by ratio SKU, then differential SKU: the tire is ranked with the rear corner."""
    return space.drive.groupby(["ratio.sku", "differential.sku"], sort=True).ngroup().to_numpy(dtype=np.int64)


def keys(space: Space, builds: Builds) -> Ints:
    """Whole-number key of each build, shape (n, levels); the smaller in lexicographic order ranks first.

    The weighted sum of the points, negative (or each criterion of [order], negative); cost; then SKUs: the rows are
    sorted by SKU, so their positions compare as the SKUs do; then counts of the ballast slots.
    """
    rows = chosen(space, builds)
    sums = totals(space.job, rows)
    points = scores(space.job, rows, sums)
    used = criteria_of(space.job)
    if space.job.order.criteria:
        first = [-points[criterion.name].to_numpy() for criterion in used]
    else:
        first = [-sum(space.job.weight(criterion.name) * points[criterion.name].to_numpy() for criterion in used)]
    cost = sums["cost_cents"].to_numpy().astype(np.int64)
    ranks = gear_ranks(space)[builds.drive] if len(builds) else builds.drive
    return np.column_stack([*first, cost, builds.front, builds.rear, ranks, builds.counts]).astype(np.int64)


def sorted_by_key(builds: Builds, key: Ints) -> tuple[Builds, Ints]:
    """Builds and keys from the first to the last."""
    order = np.lexsort(key.T[::-1])
    return builds.take(order), key[order]


def holds(space: Space, builds: Builds) -> NDArray[np.bool_]:
    """Whether each build is one: its rows belong together, its ballast may lie there, and no whole-build check fails."""
    rows = chosen(space, builds)
    right = (rows.rear["tire.at"] == rows.drive["tire.at"]).to_numpy()
    if space.job.job.same_all_round:
        for part in ("wheel.at", "tire.at"):
            right = right & (rows.front[part] == rows.rear[part]).to_numpy()
    right = right & _ballast_allowed(space, builds.counts)
    sums = totals(space.job, rows)
    for check in asked_checks(space.job, "build"):
        room = build_room(check, sums)
        right = right & ((room >= 0) if space.job.job.strict else ~(room < 0))
    return right


@dataclass(frozen=True)
class BallastLimit:
    """One limit on the counts of the slots: at most `most` of the sum of `each` over the slots."""

    each: Ints
    most: int


def ballast_limits(space: Space) -> list[BallastLimit]:
    """Stock of each item over all stations, load of each station, number of items in all."""
    slots, plan = space.slots, space.job.ballast
    limits = [BallastLimit(np.ones(len(slots), dtype=np.int64), plan.max_items)]
    for _, stock in slots.groupby("ballast.sku", sort=True):
        most = stock["ballast.max_count"].iloc[0]
        if not np.isnan(most):
            limits.append(BallastLimit(slots.index.isin(stock.index).astype(np.int64), int(most)))
    for station in plan.stations:
        if not np.isnan(station.max_mass_kg):
            here = (slots["station.name"] == station.name).to_numpy()
            limits.append(BallastLimit((slots["slot.mass_g"].to_numpy() * here).astype(np.int64),
                                       int(np.floor(station.max_mass_kg * 1000.0 + 0.5))))  # fmt: skip
    return limits


def _ballast_allowed(space: Space, counts: Ints) -> NDArray[np.bool_]:
    allowed: NDArray[np.bool_] = ((counts >= 0) & (counts <= space.slots["slot.most"].to_numpy())).all(axis=1)
    for limit in ballast_limits(space):
        allowed &= counts @ limit.each <= limit.most
    return allowed


def neighbors(space: Space, build: Builds) -> Builds:
    """Builds that differ from one in a single choice: good ones to begin with, not all of them builds that hold."""
    front, rear, drive, counts = (int(build.front[0]), int(build.rear[0]), int(build.drive[0]), build.counts[0])
    gears, tires = gear_ranks(space), space.drive["tire.at"].to_numpy()
    drive_of = {int(tire): i for i, (gear, tire) in enumerate(zip(gears, tires, strict=True)) if gear == gears[drive]}
    fronts = [(f, rear, drive) for f in range(len(space.front))]
    rears = [(front, r, drive_of.get(int(tire), drive)) for r, tire in enumerate(space.rear["tire.at"])]
    if space.job.job.same_all_round:
        rears = [(f, r, d) for _, r, d in rears for f in _same_front(space, r)]
    drives = [(front, rear, d) for d in range(len(space.drive))]
    steps = np.concatenate([np.eye(len(counts), dtype=np.int64), -np.eye(len(counts), dtype=np.int64)])
    rows = np.array(fronts + rears + drives + [(front, rear, drive)] * len(steps), dtype=np.int64)
    of_counts = np.concatenate([np.tile(counts, (len(rows) - len(steps), 1)), counts + steps])
    return Builds(rows[:, 0], rows[:, 1], rows[:, 2], of_counts)


def _same_front(space: Space, rear: int) -> list[int]:
    """Front rows of the wheel and tire of a rear row."""
    row = space.rear.iloc[rear]
    same = (space.front["wheel.at"] == row["wheel.at"]) & (space.front["tire.at"] == row["tire.at"])
    return [int(i) for i in np.flatnonzero(same)]


def describe(space: Space, builds: Builds) -> pd.DataFrame:
    """Totals and points of builds side by side, a row a build."""
    rows = chosen(space, builds)
    sums = totals(space.job, rows)
    return pd.concat([sums, scores(space.job, rows, sums).add_prefix("points.")], axis=1)

"""Exact top K of the builds, with the check that binds each.

How it is exact: a build of the top K is at least as good as the K-th best of any K builds, and no row of it has a
bound below that. So the most promising rows are joined first; the K-th best build found among them tells which rows
can still matter; and if none of those was left out, the answer is the whole space's. Nothing depends on chance, on
the number of threads or on the order of the lists.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from combo.checks.check import Verdict
from combo.checks.run import Result, results
from combo.job import Job
from combo.solve.bounds import Bounds, upper_bounds
from combo.solve.builds import Builds, chosen, keys, table_of
from combo.solve.clock import Clock
from combo.solve.criteria import criteria_of
from combo.solve.join import first_builds
from combo.solve.levels import reaches
from combo.solve.reduce import Space

ROWS_AT_FIRST = 48
GROWTH = 4
"""Rows of each table that are joined at first, and how many times more each time that they do not suffice."""

Progress = Callable[[str], None]


@dataclass(frozen=True)
class Ranked:
    """One build of the shortlist: its rank, where its rows are, its points by criterion, and every check."""

    rank: int
    at: int
    score: float | None
    points: dict[str, int]
    totals: dict[str, float]
    checks: tuple[Result, ...]
    binding: Result | None
    unbeaten: bool


@dataclass(frozen=True)
class Ranking:
    """The shortlist in order. `proven` is False where a time limit cut the search short."""

    space: Space
    builds: Builds
    ranked: tuple[Ranked, ...]
    proven: bool


def rank(space: Space, count: int, *, time_limit_s: float | None = None, progress: Progress = lambda text: None) -> Ranking:
    """The first `count` builds of a space, exactly, in the order that the job asks for.

    Parameters
    ----------
    space : Space
        Rows that may still matter.
    count : int
        K; fewer are returned where there are fewer builds.
    time_limit_s : float, optional
        After it the best found so far is returned, with `proven` False.
    progress : callable
        Told in words what is being done.
    """
    search = Search(space, Clock(time_limit_s), progress)
    reduced, walked, kept = _walk(search, count)
    return Ranking(reduced, walked.take(kept), _ranked(reduced, walked, kept), proven=not search.clock.cut_short)


def binding(checks: tuple[Result, ...]) -> Result | None:
    """The check with the smallest margin for its scale; the earlier in the table where two are equal."""
    scaled = [result for result in checks if result.verdict is not Verdict.UNVERIFIED and result.scale > 0]
    return min(scaled, key=lambda result: result.margin / result.scale, default=None)


@dataclass(frozen=True)
class Search:
    """What a search is made on, and with."""

    space: Space
    clock: Clock
    progress: Progress


def _walk(search: Search, count: int) -> tuple[Space, Builds, np.ndarray]:
    """Builds in order, and the positions of those that the job's limits on repeated parts leave in the shortlist.

    More of the order is asked for until enough are left: what is kept depends on the order alone.
    """
    wanted = count
    while True:
        space, builds = top(search, wanted)
        kept = _varied(space, builds, count)
        if len(kept) == count or len(builds) < wanted or search.clock.cut_short:
            return space, builds, kept
        wanted *= 4


def top(search: Search, count: int) -> tuple[Space, Builds]:
    """The first `count` builds by the key, in a space of the rows that can reach them."""
    bounds = upper_bounds(search.space)
    size = ROWS_AT_FIRST
    active = {name: _most_promising(bound, size) for name, bound in bounds.items()}
    while True:
        space = _restricted(search.space, active)
        search.progress(f"joining {len(space.front)} front corners, {len(space.rear)} rear corners, {len(space.drive)} drives")
        found = first_builds(space, count, search.clock)
        if search.clock.cut_short:
            return space, found
        reach = _in_reach(space, found, count, bounds)
        if not any((reach[name] & ~active[name]).any() for name in active):
            return space, found
        size *= GROWTH
        active = {name: active[name] | (reach[name] & _most_promising(bound, size)) for name, bound in bounds.items()}


def _in_reach(space: Space, found: Builds, count: int, bounds: Bounds) -> dict[str, NDArray[np.bool_]]:
    """Rows that a build may hold which is as good as the K-th best; all of them where fewer than K are known."""
    if len(found) < count:
        return {name: np.ones(len(bound), dtype=bool) for name, bound in bounds.items()}
    levels = next(iter(bounds.values())).shape[1]
    least = keys(space, found)[count - 1, :levels]
    return {name: reaches(bound, least) for name, bound in bounds.items()}


def _most_promising(bound: NDArray[np.float64], count: int) -> NDArray[np.bool_]:
    order = np.lexsort((-bound).T[::-1])
    chosen_rows = np.zeros(len(bound), dtype=bool)
    chosen_rows[order[:count]] = True
    return chosen_rows


def _restricted(space: Space, rows: dict[str, NDArray[np.bool_]]) -> Space:
    tables = {name: getattr(space, name)[mask].reset_index(drop=True) for name, mask in rows.items()}
    return Space(space.job, tables["front"], tables["rear"], tables["drive"], space.slots, space.removed)


def _varied(space: Space, builds: Builds, count: int) -> np.ndarray:
    """Positions of the builds in which no wheel and no tire has been shown too often before at its axle."""
    limits = {"wheel.at": space.job.shortlist.max_per_wheel, "tire.at": space.job.shortlist.max_per_tire}
    shown: dict[tuple[str, str, int], int] = {}
    kept: list[int] = []
    for i in range(len(builds)):
        parts = [(axle, part, int(table[part].iloc[at[i]]))
                 for axle, table, at in (("front", space.front, builds.front), ("rear", space.rear, builds.rear))
                 for part in limits]  # fmt: skip
        if all(limits[part[1]] is None or shown.get(part, 0) < limits[part[1]] for part in parts):  # type: ignore[operator]
            kept.append(i)
            for part in parts:
                shown[part] = shown.get(part, 0) + 1
        if len(kept) == count:
            break
    return np.array(kept, dtype=np.int64)


def _ranked(space: Space, walked: Builds, kept: NDArray[np.int64]) -> tuple[Ranked, ...]:
    unbeaten = _unbeaten(space.job, table_of(space, walked))[kept]
    picked = walked.take(kept)
    table, rows = table_of(space, picked), chosen(space, picked)
    ranked = []
    for at in range(len(picked)):
        own = {str(name): float(value) for name, value in table.iloc[at].items()}
        points = {name.removeprefix("points."): int(value) for name, value in own.items() if name.startswith("points.")}
        sums = {name: value for name, value in own.items() if not name.startswith("points.")}
        checks = tuple(results(space.job, rows, at))
        score = score_of(space.job, points)
        ranked.append(Ranked(at + 1, at, score, points, sums, checks, binding(checks), bool(unbeaten[at])))
    return tuple(ranked)


def score_of(job: Job, points: dict[str, int]) -> float | None:
    """Weighted mean of the points; None for a ranking by [order]."""
    if job.order.criteria:
        return None
    used = [criterion.name for criterion in criteria_of(job)]
    total = sum(job.weight(name) for name in used)
    return round(sum(job.weight(name) * points[name] for name in used) / total, 4)


def _unbeaten(job: Job, points: object) -> np.ndarray:
    """Builds that no other is at least as good as on every criterion in use and better on one.

    A build that beats another ranks before it, whatever the weights and the order: so only those before are asked.
    """
    names = [f"points.{criterion.name}" for criterion in criteria_of(job)]
    table = points[names].to_numpy()  # type: ignore[index]
    free = np.ones(len(table), dtype=bool)
    for i in range(len(table)):
        no_worse = (table[:i] >= table[i]).all(axis=1)
        better = (table[:i] > table[i]).any(axis=1)
        free[i] = not (no_worse & better).any()
    return free

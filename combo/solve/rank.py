"""Exact top K of the builds, with the check that binds each.

How it is exact: a build of the top K is at least as good as the K-th best of any K builds, and no row of it has a
bound below that. So the most promising rows are joined first; the K-th best build found among them tells which rows
can still matter; and if none of those was left out, the answer is the whole space's. Nothing depends on chance, on
the number of threads or on the order of the lists.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from combo.checks.bill import Line, bills
from combo.checks.check import Verdict
from combo.checks.facts import Fact, facts
from combo.checks.run import Result, results
from combo.job import Job
from combo.solve.bounds import TABLES, Bounds, upper_bounds
from combo.solve.builds import Builds, chosen, keys, no_builds, sorted_by_key, table_of
from combo.solve.clock import Clock
from combo.solve.criteria import criteria_of
from combo.solve.join import first_builds
from combo.solve.levels import reaches
from combo.solve.reduce import Space

ROWS_AT_FIRST = 48
GROWTH = 4
"""Rows of each table that are joined at first, and how many times more each time that they do not suffice."""

Progress = Callable[[str], None]
Positions = NDArray[np.int64]


@dataclass(frozen=True)
class Ranked:
    """One build of the shortlist: its rank, where its rows are, its points, every check, facts, and its bill."""

    rank: int
    at: int
    score: float | None
    points: dict[str, int]
    totals: dict[str, float]
    checks: tuple[Result, ...]
    binding: Result | None
    unbeaten: bool
    facts: tuple[Fact, ...]
    bill: tuple[Line, ...]


@dataclass(frozen=True)
class Ranking:
    """The shortlist in order. `proven` is False where a time limit cut the search short."""

    space: Space
    builds: Builds
    ranked: tuple[Ranked, ...]
    proven: bool


def rank(
    space: Space, count: int, *, time_limit_s: float | None = None, progress: Progress = lambda text: None
) -> Ranking:
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
    seen, kept = _walk(search, count)
    return Ranking(space, seen.take(kept), _ranked(space, seen, kept), proven=not search.clock.cut_short)


def binding(checks: tuple[Result, ...]) -> Result | None:
    """The check with the smallest margin for its scale; the earlier in the table where two are equal."""
    scaled = [result for result in checks if result.verdict is not Verdict.UNVERIFIED and result.scale > 0]
    return min(scaled, key=lambda result: result.margin / result.scale, default=None)


def tightest_fit(checks: tuple[Result, ...]) -> Result | None:
    """Of the clearances in the wheelhouse, the one with the smallest margin for its scale."""
    return binding(tuple(result for result in checks if result.check.group == "fit" and not result.check.firm))


@dataclass(frozen=True)
class Search:
    """What a search is made on, and with."""

    space: Space
    clock: Clock
    progress: Progress


def _walk(search: Search, count: int) -> tuple[Builds, NDArray[np.int64]]:
    """Builds looked at, in order, and the positions of those that the job's limits on repeated parts leave in the list.

    A build is left out once one of its parts has been listed as often as it may be. When the builds at hand run out,
    the order is walked on among the rows whose parts may still be listed; what is kept depends on the order alone.
    """
    space = search.space
    shown = _Shown(space)
    seen, listed = no_builds(space), no_builds(space)
    while True:
        free = {name: shown.free(name) for name in TABLES}
        wanted = count - len(listed) + int(_inside(listed, free).sum())
        found = top(search, free, wanted)
        new = found.take(~_among(found, listed))
        for at in range(len(new)):
            one = new.take(np.array([at]))
            if len(listed) < count and shown.may_list(one):
                shown.add(one)
                listed = Builds.join([listed, one])
        seen = Builds.join([seen, found])
        if len(listed) == count or len(found) < wanted or not len(new) or search.clock.cut_short:
            break
    seen, _ = sorted_by_key(seen, keys(space, seen))
    return seen, np.flatnonzero(_among(seen, listed))


class _Shown:
    """How often each wheel and tire has been listed at each axle, against the job's limits."""

    def __init__(self, space: Space) -> None:
        limits = space.job.shortlist
        self._limits = {"wheel.at": limits.max_per_wheel, "tire.at": limits.max_per_tire}
        self._space = space
        self._times: dict[tuple[str, str, int], int] = {}

    def may_list(self, build: Builds) -> bool:
        """Whether none of the build's parts has been listed as often as it may be."""
        return not any(self._is_full(*part) for part in self._parts(build))

    def add(self, build: Builds) -> None:
        """Count the parts of a build that is listed."""
        for part in self._parts(build):
            self._times[part] = self._times.get(part, 0) + 1

    def free(self, axle: str) -> NDArray[np.bool_]:
        """Rows of a table whose parts may still be listed; every drive may."""
        table = getattr(self._space, axle)
        free = np.ones(len(table), dtype=bool)
        for (place, column, at), _ in self._times.items():
            if place == axle and self._is_full(place, column, at):
                free &= (table[column] != at).to_numpy()
        return free

    def _is_full(self, axle: str, column: str, at: int) -> bool:
        limit = self._limits[column]
        return limit is not None and self._times.get((axle, column, at), 0) >= limit

    def _parts(self, build: Builds) -> list[tuple[str, str, int]]:
        rows = (("front", self._space.front.iloc[build.front[0]]), ("rear", self._space.rear.iloc[build.rear[0]]))
        return [(axle, column, int(row[column])) for axle, row in rows for column in self._limits]


def _inside(builds: Builds, rows: dict[str, NDArray[np.bool_]]) -> NDArray[np.bool_]:
    """Builds whose rows are all among these."""
    return np.asarray(rows["front"][builds.front] & rows["rear"][builds.rear] & rows["drive"][builds.drive])


def _among(builds: Builds, others: Builds) -> NDArray[np.bool_]:
    known = {tuple(row) for row in others.table().tolist()}
    return np.array([tuple(row) in known for row in builds.table().tolist()], dtype=bool)


def top(search: Search, free: dict[str, NDArray[np.bool_]], count: int) -> Builds:
    """The first `count` builds by the key, of the rows that are free to use; positions are those of the whole space."""
    whole = search.space
    bounds = upper_bounds(_restricted(whole, free))
    at = {name: np.flatnonzero(rows) for name, rows in free.items()}
    size = ROWS_AT_FIRST
    active = {name: _most_promising(bound, size) for name, bound in bounds.items()}
    joined = {name: np.zeros(len(rows), dtype=bool) for name, rows in active.items()}
    known = no_builds(whole)
    while True:
        rows = {name: at[name][active[name]] for name in at}
        fresh = {name: ~joined[name][active[name]] for name in at}
        space = _restricted(whole, rows)
        front, rear, drive = len(space.front), len(space.rear), len(space.drive)
        search.progress(f"joining {front} front corners, {rear} rear corners, {drive} drives")
        found = first_builds(space, count, search.clock, _moved(known, rows, np.searchsorted), fresh)
        known = _moved(found, rows, np.take)
        reach = _in_reach(space, found, count, bounds)
        if search.clock.cut_short or not any((reach[name] & ~active[name]).any() for name in active):
            return known
        size, joined = size * GROWTH, active
        active = {name: active[name] | (reach[name] & _most_promising(bound, size)) for name, bound in bounds.items()}


def _moved(builds: Builds, rows: Mapping[str, Positions], how: Callable[[Positions, Positions], Any]) -> Builds:
    """Builds from positions among chosen rows to those of the whole space (`np.take`), or back (`np.searchsorted`)."""
    front, rear, drive = (how(rows[name], getattr(builds, name)) for name in TABLES)
    return Builds(front, rear, drive, builds.counts)


def _in_reach(space: Space, found: Builds, count: int, bounds: Bounds) -> dict[str, NDArray[np.bool_]]:
    """Rows that a build may hold which is as good as the K-th best; where fewer than K are known, all with a bound."""
    if len(found) < count:
        return {name: np.asarray(np.isfinite(bound).all(axis=1), dtype=bool) for name, bound in bounds.items()}
    levels = next(iter(bounds.values())).shape[1]
    least = keys(space, found)[count - 1, :levels]
    return {name: reaches(bound - least) for name, bound in bounds.items()}


def _most_promising(bound: NDArray[np.float64], count: int) -> NDArray[np.bool_]:
    order = np.lexsort((-bound).T[::-1])
    chosen_rows = np.zeros(len(bound), dtype=bool)
    chosen_rows[order[:count]] = True
    return chosen_rows


def _restricted(space: Space, rows: Mapping[str, NDArray[Any]]) -> Space:
    """The space with only these rows of each table, by mask or by position."""
    fresh: dict[str, pd.DataFrame] = {}
    for name, own in rows.items():
        table: pd.DataFrame = getattr(space, name)
        fresh[name] = (table[own] if own.dtype == bool else table.iloc[own]).reset_index(drop=True)
    return space.with_rows(fresh["front"], fresh["rear"], fresh["drive"])


def _ranked(space: Space, seen: Builds, kept: NDArray[np.int64]) -> tuple[Ranked, ...]:
    unbeaten = _unbeaten(space.job, table_of(space, seen))[kept]
    picked = seen.take(kept)
    table, rows = table_of(space, picked), chosen(space, picked)
    every, told, billed = results(space.job, rows), facts(space.job, rows), bills(rows)
    ranked = []
    for at, own_checks in enumerate(every):
        own = {str(name): float(value) for name, value in table.iloc[at].items()}
        points = {name.removeprefix("points."): int(value) for name, value in own.items() if name.startswith("points.")}
        sums = {name: value for name, value in own.items() if not name.startswith("points.")}
        checks = tuple(own_checks)
        score = score_of(space.job, points)
        ranked.append(Ranked(at + 1, at, score, points, sums, checks, binding(checks), bool(unbeaten[at]),
                             tuple(told[at]), billed[at]))  # fmt: skip
    return tuple(ranked)


def score_of(job: Job, points: dict[str, int]) -> float | None:
    """Weighted mean of the points; None for a ranking by [order]."""
    if job.order.criteria:
        return None
    used = [criterion.name for criterion in criteria_of(job)]
    total = sum(job.weight(name) for name in used)
    return round(sum(job.weight(name) * points[name] for name in used) / total, 4)


def _unbeaten(job: Job, points: pd.DataFrame) -> NDArray[np.bool_]:
    """Builds that no other is at least as good as on every criterion in use and better on one.

    A build that beats another ranks before it, whatever the weights and the order: so only those before are asked.
    """
    names = [f"points.{criterion.name}" for criterion in criteria_of(job)]
    table = points[names].to_numpy()
    free = np.ones(len(table), dtype=bool)
    for i in range(len(table)):
        no_worse = (table[:i] >= table[i]).all(axis=1)
        better = (table[:i] > table[i]).any(axis=1)
        free[i] = not (no_worse & better).any()
    return free

"""Exact top K of the builds, with the check that binds each.

How it is exact: a build that is among the top K has a key no greater than the K-th best of any K builds. So the best
build and its neighbors give a bound, the solver lists every build within it, and the list is sorted. Where more
builds tie at the bound than can be listed, those better than the tie and those in it are ranked apart, the latter by
the next part of the key. No answer depends on which builds the solver happens to find first.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from combo.checks.check import Verdict
from combo.checks.run import Result, results
from combo.job import Job


from combo.solve.bounds import Bounds, reaches, upper_bounds
from combo.solve.builds import Builds, chosen, describe, holds, keys, neighbors, no_builds, sorted_by_key
from combo.solve.criteria import criteria_of
from combo.solve.model import Bound, BuildModel, Clock, Outcome
from combo.solve.reduce import Space

LISTED_AT_ONCE = 2000
"""Builds listed in one go before the bound is drawn closer."""

ROWS_AT_FIRST = 24
GROWTH = 4
"""Rows of each table that the solver is given at first, and how many times more each time that they do not suffice."""

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


def rank(
    space: Space, count: int, *, workers: int = 0, time_limit_s: float | None = None, progress: Progress = lambda text: None
) -> Ranking:
    """The first `count` builds of a space, exactly, in the order that the job asks for.

    Parameters
    ----------
    space : Space
        Rows that may still matter.
    count : int
        K; fewer are returned where there are fewer builds.
    workers : int
        Threads of the solver, 0 for all; the answer does not depend on it.
    time_limit_s : float, optional
        After it the best found so far is returned, with `proven` False.
    progress : callable
        Told in words what is being done.
    """
    if not (len(space.front) and len(space.rear) and len(space.drive)):
        return Ranking(space, no_builds(space), (), proven=True)
    clock = Clock(time_limit_s)
    search = Search(space, workers, clock, progress)
    reduced, walked, kept = _walk(search, count)
    return Ranking(reduced, walked.take(kept), _ranked(reduced, walked, kept), proven=not clock.cut_short)


def binding(checks: tuple[Result, ...]) -> Result | None:
    """The check with the smallest margin for its scale; the earlier in the table where two are equal."""
    scaled = [result for result in checks if result.verdict is not Verdict.UNVERIFIED and result.scale > 0]
    return min(scaled, key=lambda result: result.margin / result.scale, default=None)


@dataclass(frozen=True)
class Search:
    """What a search is made on, and with."""

    space: Space
    workers: int
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
    """The first `count` builds by the key, in a space of the rows that can reach them.

    The solver is given the most promising rows first. Its K-th best build there is a bound for all: rows that cannot
    reach it are out, and if none that can was left out, the answer is the whole space's. Else it is asked again with
    more rows.
    """
    bounds = upper_bounds(search.space)
    size = ROWS_AT_FIRST
    active = {name: _most_promising(bound, size) for name, bound in bounds.items()}
    while True:
        space = _restricted(search.space, active)
        found = _top_of_rows(search, space, count)
        if search.clock.cut_short:
            return space, found
        reach = _in_reach(search, space, found, count, bounds)
        if not any((reach[name] & ~active[name]).any() for name in active):
            return space, found
        size *= GROWTH
        active = {name: active[name] | (reach[name] & _most_promising(bound, size)) for name, bound in bounds.items()}


def _in_reach(search: Search, space: Space, found: Builds, count: int, bounds: Bounds) -> dict[str, NDArray[np.bool_]]:
    """Rows that a build may hold which is as good as the K-th best; all of them where fewer than K are known."""
    if len(found) < count:
        return {name: np.ones(len(bound), dtype=bool) for name, bound in bounds.items()}
    least = -keys(space, found)[count - 1, : next(iter(bounds.values())).shape[1]]
    return {name: reaches(bound, least) for name, bound in bounds.items()}


def _most_promising(bound: NDArray[np.float64], count: int) -> NDArray[np.bool_]:
    order = np.lexsort((-bound).T[::-1])
    chosen_rows = np.zeros(len(bound), dtype=bool)
    chosen_rows[order[:count]] = True
    return chosen_rows


def _restricted(space: Space, rows: dict[str, NDArray[np.bool_]]) -> Space:
    tables = {name: getattr(space, name)[mask].reset_index(drop=True) for name, mask in rows.items()}
    return Space(space.job, tables["front"], tables["rear"], tables["drive"], space.slots, space.removed)


def _top_of_rows(search: Search, space: Space, count: int) -> Builds:
    if not (len(space.front) and len(space.rear) and len(space.drive)):
        return no_builds(space)
    model = BuildModel(space, workers=search.workers, clock=search.clock)
    found, key = _top(model, count, 0, [], search.progress)
    return sorted_by_key(found, key)[0].take(np.arange(min(count, len(found))))


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


def _top(
    model: BuildModel, count: int, at: int, bounds: list[Bound], progress: Progress
) -> tuple[Builds, np.ndarray]:
    """At least the first `count` builds under the bounds, by the chunks of the key from `at` on, with their keys."""
    space, chunk = model.space, model.chunks[at]
    progress("searching for the best build")
    outcome, best = model.best(chunk, bounds)
    if best is None:
        return no_builds(space), keys(space, no_builds(space))
    pool = _climbed(model, bounds, best, count)
    while not model.clock.cut_short:
        limit = _bound_of(model, chunk, pool, count)
        progress(f"listing the builds within reach of the best {count}")
        outcome, found = model.every([*bounds, *([] if limit is None else [Bound(chunk, limit)])], max(LISTED_AT_ONCE, 4 * count))
        pool = Builds.join([pool, found])
        if outcome is Outcome.COMPLETE:
            break
        closer = _bound_of(model, chunk, pool, count)
        if closer is not None and closer == limit:
            return _tied(model, count, at, bounds, closer, progress)
    return pool, keys(space, pool)


def _climbed(model: BuildModel, bounds: list[Bound], best: Builds, count: int) -> Builds:
    """Good builds to draw a close bound from: the best one, and neighbors of the first K as long as these improve."""
    space, pool, asked = model.space, best, no_builds(model.space)
    while True:
        order = sorted_by_key(pool, keys(space, pool))[0].take(np.arange(min(count, len(pool))))
        new = _not_among(order, asked)
        if not len(new):
            return pool
        asked = Builds.join([asked, new])
        around = [neighbors(space, new.take(np.array([i]))) for i in range(len(new))]
        pool = Builds.join([pool, _under(model, bounds, Builds.join(around))])


def _not_among(builds: Builds, others: Builds) -> Builds:
    known = {tuple(row) for row in others.table().tolist()}
    return builds.take(np.array([tuple(row) not in known for row in builds.table().tolist()], dtype=bool))


def _tied(
    model: BuildModel, count: int, at: int, bounds: list[Bound], tie: int, progress: Progress
) -> tuple[Builds, np.ndarray]:
    """More builds tie at the bound than are listed at once: those better, then those in the tie by the next chunk."""
    chunk, space = model.chunks[at], model.space
    better, _ = _top(model, count, at, [*bounds, Bound(chunk, tie - 1)], progress)
    left = count - len(better)
    if left <= 0 or at + 1 == len(model.chunks):
        return better, keys(space, better)
    tied, _ = _top(model, left, at + 1, [*bounds, Bound(chunk, tie, exactly=True)], progress)
    both = Builds.join([better, tied])
    return both, keys(space, both)


def _under(model: BuildModel, bounds: list[Bound], builds: Builds) -> Builds:
    """Those that hold and keep the bounds."""
    builds = builds.take(holds(model.space, builds))
    key = keys(model.space, builds)
    right = np.ones(len(builds), dtype=bool)
    for bound in bounds:
        value = bound.chunk.value(key)
        right &= (value == bound.value) if bound.exactly else (value <= bound.value)
    return builds.take(right)


def _bound_of(model: BuildModel, chunk: object, pool: Builds, count: int) -> int | None:
    """The K-th best value of a chunk among the builds known; None where fewer than K are known."""
    if len(pool) < count:
        return None
    values = np.sort(chunk.value(keys(model.space, pool)))  # type: ignore[attr-defined]
    return int(values[count - 1])


def _ranked(space: Space, walked: Builds, kept: np.ndarray) -> tuple[Ranked, ...]:
    points = describe(space, walked)
    unbeaten = _unbeaten(space.job, points.filter(regex=r"^points\."))
    rows = chosen(space, walked)
    ranked = []
    for place, i in enumerate(kept, start=1):
        own = {name.removeprefix("points."): int(value) for name, value in points.iloc[i].items() if name.startswith("points.")}
        sums = {name: float(value) for name, value in points.iloc[i].items() if not name.startswith("points.")}
        checks = tuple(results(space.job, rows, int(i)))
        ranked.append(Ranked(place, place - 1, score_of(space.job, own), own, sums, checks, binding(checks), bool(unbeaten[i])))
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

"""Exact top K of the builds, with the check that binds each.

How it is exact: a build of the top K is at least as good as the K-th best of any K builds, and no row of it has a
bound below that. So the most promising rows are joined first; the K-th best build found among them tells which rows
can still matter; and if none of those was left out, the answer is the whole space's. Nothing depends on chance, on
the number of threads or on the order of the lists.
"""

from __future__ import annotations

import functools
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from combo.candidates.builds import POINTS, BuildRows, chosen, keys, no_builds, points_in, sorted_by_key, table_of
from combo.candidates.criteria import criteria_of
from combo.candidates.space import Space
from combo.checks.bill import Line, bills
from combo.checks.check import Verdict
from combo.checks.facts import Fact, facts
from combo.checks.run import Result, results
from combo.checks.table import Given
from combo.deadline import Clock
from combo.job import AXLES, Axle, Job
from combo.search.build_ids import BuildIds
from combo.search.enumerate import are_few_together, first_builds, good_builds, has_many_layouts, one_build
from combo.search.filter import FilteredLists
from combo.search.pool import NO_BAN, Banned, CandidatePool, rows_left, space_at

ROWS_AT_FIRST, ROWS_FOR_ANY = 48, 12
GROWTH, GROWTH_FOR_ANY = 4, 16
"""Rows of each table that are joined at first, and how many times more each time that they do not suffice."""
ROWS_AT_MOST = 5_000
"""Rows of each table at most among which good builds are looked for."""
PAIRS_ENOUGH, PAIRS_WITHOUT = 10_000_000, 1_000_000
"""Pairs of corners in reach of the K-th best that are joined without looking for a better one first; and those in reach
of what any build must keep, where no K builds are known.
"""
ENOUGH = 1000
"""Rows of an axle in reach of a floor that are joined without a look at the most promising first."""
FEW_FOR_ANY = 200
"""Rows of an axle in reach of what any build must keep that are joined without a look at the most promising first."""
ROWS_TO_PAIR = 20_000
"""Rows of an axle up to which it is looked how many pairs of corners may stand together."""

Progress = Callable[[str], None]
Levels = NDArray[np.int64] | None
"""First levels of the key that are to be reached, down to the cost; None where any will do."""


@dataclass(frozen=True)
class Ranked:
    """One build of the shortlist: its rank, where its rows are, its points, every check, facts, and its bill.

    `tightest` is the check with the least room for its scale. It is `binding`, too, until it is asked which check stops
    a better build.
    """

    rank: int
    at: int
    score: float | None
    points: dict[str, int]
    totals: dict[str, float]
    checks: tuple[Result, ...]
    tightest: Result | None
    binding: Result | None
    unbeaten: bool
    facts: tuple[Fact, ...]
    bill: tuple[Line, ...]


@dataclass(frozen=True)
class Ranking:
    """The shortlist in order, with the rows that it is made of. `proven` is False where the search was cut short; then
    no build has a higher score than `most` (with [order], more points of the first criterion).
    """

    reduced: FilteredLists
    space: Space
    builds: BuildRows
    ranked: tuple[Ranked, ...]
    proven: bool
    most: float | None = None

    @functools.cached_property
    def left(self) -> Space | None:
        """Every row that a build could hold, see `rows_left`; worked out once for all who tell of it."""
        return rows_left(self.reduced)


def rank(
    reduced: FilteredLists, count: int, *, clock: Clock | None = None, progress: Progress = lambda text: None
) -> Ranking:
    """The first `count` builds of what is left of the lists, exactly, in the order that the job asks for.

    Parameters
    ----------
    reduced : Reduced
        Groups of parts that may still matter.
    count : int
        K; fewer are returned where there are fewer builds.
    clock : Clock, optional
        When it is over, the best found so far is returned, with `proven` False.
    progress : callable
        Told in words what is being done.
    """
    search = Search(CandidatePool(reduced), clock or Clock(), progress)
    space, seen, kept = _walk(search, count)
    most = search.most() if search.clock.cut_short else None
    return Ranking(reduced, space, seen.take(kept), _ranked(space, seen, kept), most is None, most)


def binding(checks: tuple[Result, ...]) -> Result | None:
    """The check with the smallest margin for its scale; the earlier in the table where two are equal."""
    scaled = [result for result in checks if result.verdict is not Verdict.UNVERIFIED and result.scale > 0]
    return min(scaled, key=lambda result: result.margin / result.scale, default=None)


def tightest_fit(checks: tuple[Result, ...]) -> Result | None:
    """Of the clearances in the wheelhouse, the one with the smallest margin for its scale."""
    return binding(tuple(result for result in checks if result.check.is_clearance))


@dataclass(frozen=True)
class Search:
    """What a search is made on, and with."""

    field: CandidatePool
    clock: Clock
    progress: Progress

    def tell(self, space: Space, known: BuildIds) -> None:
        """Tell which rows are joined, what the best build so far scores, and what none can exceed."""
        rows = f"{len(space.front)} front corners, {len(space.rear)} rear corners, {len(space.drive)} drives"
        best = "none yet"
        if len(known):
            first = keys(space, known.builds_in(space))[:, 0].max()
            best = f"{first / _weights(space.job):.0f}"
        self.progress(f"joining {rows}; best so far {best}, none above {self.most():.0f}")

    def most(self) -> float:
        """The highest score that any build can have."""
        return self.field.most() / _weights(self.field.reduced.job)


def _walk(search: Search, count: int) -> tuple[Space, BuildRows, NDArray[np.int64]]:
    """Builds looked at, in order, and the positions of those that the job's limits on repeated parts leave in the list.

    A build is left out once one of its parts has been listed as often as it may be. When the builds at hand run out,
    the order is walked on among the rows whose parts may still be listed; what is kept depends on the order alone.
    """
    reduced = search.field.reduced
    shown, seen, listed = _Shown(reduced.job), BuildIds.none(reduced), BuildIds.none(reduced)
    while True:
        banned = shown.banned()
        if any(banned.key):
            search = replace(search, field=search.field.without(banned))
        wanted = count - len(listed) + int((~listed.uses(banned)).sum())
        space, first = top(search, banned, wanted)
        found = BuildIds.of(space, first)
        new = found.take(~found.among(listed))
        listed = BuildIds.join([listed, new.take(shown.listed(new, count - len(listed)))])
        seen = BuildIds.join([seen, found])
        if len(listed) == count or len(found) < wanted or not len(new) or search.clock.cut_short:
            break
    space = space_at(reduced, seen.rows())
    builds = seen.builds_in(space)
    builds, _ = sorted_by_key(builds, keys(space, builds))
    return space, builds, np.flatnonzero(BuildIds.of(space, builds).among(listed))


class _Shown:
    """How often each wheel and tire has been listed at each axle, against the job's limits."""

    def __init__(self, job: Job) -> None:
        self._limits = {"wheel": job.shortlist.max_per_wheel, "tire": job.shortlist.max_per_tire}
        self._times: dict[tuple[str, str, int], int] = {}

    def listed(self, builds: BuildIds, most: int) -> NDArray[np.int64]:
        """Which of some builds, in their order, are listed now, so many at most: those none of whose parts has been
        listed as often as it may be.
        """
        kept: list[int] = []
        for at, parts in enumerate(builds.corner_parts()):
            if len(kept) < most and not any(self._is_full(*part) for part in parts):
                kept.append(at)
                for part in parts:
                    self._times[part] = self._times.get(part, 0) + 1
        return np.array(kept, dtype=np.int64)

    def banned(self) -> Banned:
        """Parts that have been listed as often as they may be."""

        def full(kind: str) -> dict[Axle, frozenset[int]]:
            return {
                axle: frozenset(
                    at
                    for own, other, at in self._times
                    if (own, other) == (axle, kind) and self._is_full(own, other, at)
                )
                for axle in AXLES
            }

        return Banned(full("wheel"), full("tire"))

    def _is_full(self, axle: str, kind: str, at: int) -> bool:
        limit = self._limits[kind]
        return limit is not None and self._times.get((axle, kind, at), 0) >= limit


def top(
    search: Search, banned: Banned, count: int, floor: Levels = None, *, any_will_do: bool = False
) -> tuple[Space, BuildRows]:
    """The first `count` builds by the key, without the parts that are banned, and the rows that they are joined from;
    builds whose first levels are worse than `floor` are left out. With `any_will_do` only whether there is one is
    asked, and the first that is found ends the search.
    """
    field = search.field
    size, growth = (ROWS_FOR_ANY, GROWTH_FOR_ANY) if any_will_do else (ROWS_AT_FIRST, GROWTH)
    known, at_first = BuildIds.none(field.reduced), size
    least = floor
    few = size if floor is None else FEW_FOR_ANY if any_will_do else ENOUGH
    while size <= ROWS_AT_MOST and field.size_in_reach(floor, count, banned) > few:
        rows = field.promising(size, count, banned).with_those_of(known.rows())
        if len(known) < count and size > at_first:
            rows = rows.with_those_of(field.conservative_multipliers(size, count, banned))
        space = space_at(field.reduced, rows)
        search.tell(space, known)
        found = good_builds(
            space, count, search.clock, known.builds_in(space), floor, field.relaxations(), any_will_do=any_will_do
        )
        known = BuildIds.of(space, found)
        least = keys(space, found)[count - 1, : len(space.levels)] if len(found) == count else floor
        if search.clock.cut_short or (any_will_do and len(found)):
            return space, found
        if least is not None:
            field = field.capped(least)
            search = replace(search, field=field)
        if any_will_do and floor is None and _joins_few(field, banned):
            break
        if _is_little(field, least, count, banned):
            break
        field.sharpen(least, search.clock)
        if _is_little(field, least, count, banned):
            break
        size *= growth
    if least is None and count == 1 and has_many_layouts(field.reduced.slots):
        return _top_after_any(search, banned, any_will_do=any_will_do)
    return _in_reach_of(search, banned, count, least, known, floor, any_will_do=any_will_do)


def _is_little(field: CandidatePool, least: Levels, count: int, banned: Banned) -> bool:
    """Whether so few pairs of corners are in reach that joining them takes no longer than looking for better builds."""
    return field.pairs_in_reach(least, count, banned) <= (PAIRS_WITHOUT if least is None else PAIRS_ENOUGH)


def _top_after_any(search: Search, banned: Banned, *, any_will_do: bool) -> tuple[Space, BuildRows]:
    """The first build where the most promising rows gave none: one is found, and none worse is looked at."""
    space = space_at(search.field.reduced, search.field.reaching(None, 1, banned))
    search.tell(space, BuildIds.none(search.field.reduced))
    found = one_build(space, search.clock)
    if any_will_do or not len(found) or search.clock.cut_short:
        return space, found
    return top(search, banned, 1, keys(space, found)[0, : len(space.levels)])


def _joins_few(field: CandidatePool, banned: Banned) -> bool:
    """Whether all rows there are make so few bare builds that the most promising need not be looked at first."""
    if field.size_in_reach(None, 1, banned) > ROWS_TO_PAIR:
        return False
    return are_few_together(space_at(field.reduced, field.reaching(None, 1, banned)))


def promising(search: Search, floor: Levels) -> tuple[Space, BuildRows]:
    """A build out of the most promising rows, the first that is found; none proves nothing."""
    field = search.field
    rows = field.promising(ROWS_AT_FIRST, 1, NO_BAN).with_those_of(
        field.conservative_multipliers(ROWS_AT_FIRST, 1, NO_BAN)
    )
    space = space_at(field.reduced, rows)
    return space, good_builds(space, 1, search.clock, no_builds(space), floor, field.relaxations(), any_will_do=True)


def _in_reach_of(
    search: Search, banned: Banned, count: int, least: Levels, known: BuildIds, floor: Levels, *, any_will_do: bool
) -> tuple[Space, BuildRows]:
    """The first `count` builds of every row in reach of `least`, joined; `known` hold."""
    rows = search.field.reaching(least, count, banned).with_those_of(known.rows())
    space = space_at(search.field.reduced, rows)
    search.tell(space, known)
    return space, first_builds(
        space, count, search.clock, known.builds_in(space), floor, search.field.relaxations(), any_will_do=any_will_do
    )


def _ranked(space: Space, seen: BuildRows, kept: NDArray[np.int64]) -> tuple[Ranked, ...]:
    unbeaten = _unbeaten(space.job, table_of(space, seen))[kept]
    picked = seen.take(kept)
    table, rows = table_of(space, picked), chosen(space, picked)
    every, told, billed = results(space.job, rows), facts(space.job, rows), bills(space.job, rows)
    ranked = []
    for at, own_checks in enumerate(every):
        own = table.numbers(at)
        points, sums = points_in(own), {name: value for name, value in own.items() if not name.startswith(POINTS)}
        checks = tuple(own_checks)
        score = score_of(space.job, points)
        tight = binding(checks)
        ranked.append(
            Ranked(
                at + 1, at, score, points, sums, checks, tight, tight, bool(unbeaten[at]), tuple(told[at]), billed[at]
            )
        )
    return tuple(ranked)


def score_of(job: Job, points: dict[str, int]) -> float | None:
    """Weighted mean of the points; None for a ranking by [order]."""
    if job.order.criteria:
        return None
    used = [criterion.name for criterion in criteria_of(job)]
    return round(sum(job.weight(name) * points[name] for name in used) / _weights(job), 4)


def _weights(job: Job) -> int:
    """What the points of the first level are a multiple of: the sum of the weights, or 1 where they have an order."""
    return 1 if job.order.criteria else sum(job.weight(criterion.name) for criterion in criteria_of(job))


def _unbeaten(job: Job, points: Given) -> NDArray[np.bool_]:
    """Builds that no other is at least as good as on every criterion in use and better on one.

    A build that beats another ranks before it, whatever the weights and the order: so only those before are asked.
    """
    table = np.column_stack([points[f"{POINTS}{criterion.name}"] for criterion in criteria_of(job)])
    free = np.ones(len(table), dtype=bool)
    for i in range(len(table)):
        no_worse = (table[:i] >= table[i]).all(axis=1)
        better = (table[:i] > table[i]).any(axis=1)
        free[i] = not (no_worse & better).any()
    return free

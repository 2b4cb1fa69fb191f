"""The best build where a check may fail by so much: one exact search, as short as what is known already lets it be."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from combo.checks.run import Result, results
from combo.job import Job
from combo.parts import Parts
from combo.solve.allowed import NOTHING, Allowed, Place
from combo.solve.assembled import Assembled
from combo.solve.builds import Builds, chosen, keys, table_of
from combo.solve.clock import Clock
from combo.solve.criteria import cost_scale_cents
from combo.solve.join import first_builds
from combo.solve.rank import Search, score_of, top
from combo.solve.reach import NO_BAN, Field, space_at
from combo.solve.reduce import space_of
from combo.solve.space import Space

BUDGET: Place = ("budget", "truck")
ENOUGH = 2000
"""Corners of an axle in reach of a known build up to which they are joined without more ado."""


@dataclass(frozen=True)
class Best:
    """One build: its rows in a space of one build, its parts by position, its score, its cost, and every check as the
    job asks it. `score` is None for a ranking by [order]; the smaller the `key`, the better.
    """

    space: Space
    builds: Builds
    assembled: Assembled
    score: float | None
    points: dict[str, int]
    cost_cents: float
    key: tuple[int, ...]
    checks: tuple[Result, ...]

    def margin(self, place: Place) -> float:
        """Margin of a check; NaN where it is not known."""
        return next(one.margin for one in self.checks if (one.check.id, one.where) == place)


def best_build(job: Job, parts: Parts, allowed: Allowed = NOTHING, known: Best | None = None) -> Best | None:
    """The first build of the ranking where checks may fail by so much; None where there is none.

    `known` is a build that holds well enough, from which on the search is for better ones.

    Points for cost stop at 0, and a straight line over both sides of that bend bounds them poorly. So a budget that
    gives way beyond it is searched twice: up to the bend, and without those points. A build beyond has none of them, so
    the second search misjudges only builds that the first has seen: the better of both is the best.
    """
    to_bend = _to_bend(job, allowed)
    if to_bend is None:
        return _search(job, job, parts, allowed, known)
    is_near = known is not None and known.margin(BUDGET) >= -to_bend.by[BUDGET]
    near = _search(job, job, parts, to_bend, known if is_near else None)
    beyond = _search(job, _without_cost(job), parts, allowed, known)
    return min((best for best in (near, beyond) if best is not None), key=lambda best: best.key, default=None)


def _to_bend(job: Job, allowed: Allowed) -> Allowed | None:
    """What is allowed, but no more budget than earns points; None where no more is allowed."""
    budget, ranking = job.money.budget_cents, job.ranking()
    if not budget or "cost" not in ranking or len(ranking) == 1:
        return None
    to_bend = float(cost_scale_cents(job) - budget)
    return Allowed({**allowed.by, BUDGET: to_bend}) if allowed.by.get(BUDGET, 0.0) > to_bend else None


def _without_cost(job: Job) -> Job:
    """The job with no points for cost."""
    left = [name for name in job.ranking() if name != "cost"]
    if job.order.criteria:
        return replace(job, order=replace(job.order, criteria=tuple(left)))
    return replace(job, weights={name: job.weight(name) for name in left})


def _search(job: Job, searched: Job, parts: Parts, allowed: Allowed, known: Best | None) -> Best | None:
    """The first build of the ranking of one job, told as the other has it."""
    field = Field(space_of(searched, parts, allowed))
    space, builds = _better(field, known.assembled) if known else _first(field)
    return _told(job, space, builds) if len(builds) else None


def _first(field: Field) -> tuple[Space, Builds]:
    return top(Search(field, Clock(), lambda text: None), NO_BAN, 1)


def _better(field: Field, known: Assembled) -> tuple[Space, Builds]:
    space = space_at(field.reduced, known.rows())
    least = keys(space, known.builds_in(space))[0, : len(space.levels)]
    if field.size_in_reach(least, 1, NO_BAN) > ENOUGH:
        return _first(field)
    space = space_at(field.reduced, field.reaching(least, 1, NO_BAN).with_those_of(known.rows()))
    return space, first_builds(space, 1, Clock(), known.builds_in(space))


def _told(job: Job, space: Space, builds: Builds) -> Best:
    assembled = Assembled.of(space, builds)
    rows = chosen(space, builds)
    alone = replace(space.with_rows(rows.front, rows.rear, rows.drive), job=job)
    own = assembled.builds_in(alone)
    table = table_of(alone, own)
    points = {str(name).removeprefix("points."): int(table[name].iloc[0])
              for name in table if str(name).startswith("points.")}  # fmt: skip
    cost = float(np.asarray(table["cost_cents"])[0])
    levels = len(job.order.criteria) or 1
    key = tuple(int(level) for level in -keys(alone, own)[0, : levels + 1])
    return Best(alone, own, assembled, score_of(job, points), points, cost, key, tuple(results(job, rows)[0]))

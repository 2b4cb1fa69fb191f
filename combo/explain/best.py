"""The best builds where checks may fail by so much: one exact search, as short as what is known already lets it be."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from combo.checks.check import Verdict
from combo.checks.run import Result, results
from combo.job import Job
from combo.solve.allowed import BUDGET, NOTHING, Allowed, Place
from combo.solve.assembled import Assembled
from combo.solve.builds import Builds, chosen, keys, points_in, table_of
from combo.solve.classes import Lists
from combo.solve.clock import Clock
from combo.solve.criteria import cost_scale_cents
from combo.solve.rank import Search, first_beyond, score_of, top
from combo.solve.reach import NO_BAN, Field
from combo.solve.reduce import reduced
from combo.solve.space import Space


@dataclass(frozen=True)
class Best:
    """One build, in a space of its rows alone: its score, and every check as the job asks it.

    `score` is None for a ranking by [order]; the smaller the `key`, the better: points, negative, then the cost.
    """

    space: Space
    builds: Builds
    score: float | None
    points: dict[str, int]
    key: tuple[int, ...]
    checks: tuple[Result, ...]

    @property
    def assembled(self) -> Assembled:
        """The build by its parts."""
        return Assembled.of(self.space, self.builds)

    @property
    def cost_cents(self) -> int:
        """What the build costs."""
        return self.key[-1]

    @property
    def name(self) -> tuple[object, ...]:
        """Its parts and ballast, by position."""
        return tuple(self.assembled.table[0].tolist())

    @property
    def failing(self) -> tuple[Result, ...]:
        """The checks that it fails."""
        return tuple(one for one in self.checks if one.verdict is Verdict.FAIL)

    def is_within(self, allowed: Allowed) -> bool:
        """Whether it is a build where so much is allowed."""
        strict = self.space.job.job.strict
        return all(allowed.holds(one.check, one.where, one.margin, strict=strict) for one in self.checks)

    def margin(self, place: Place) -> float:
        """Margin of a check; NaN where it is not known."""
        return next(one.margin for one in self.checks if (one.check.id, one.where) == place)


def best_build(lists: Lists, allowed: Allowed = NOTHING, known: Best | None = None) -> Best | None:
    """The first build of the ranking where checks may fail by so much; None where there is none.

    `known` is a build that holds well enough, from which on the search is for better ones.
    """
    found: list[Best] = []
    for searched, own in _searches(lists, allowed):
        start = known if known is not None and known.is_within(own) else None
        found += _search(lists.job, searched, own, 1, start, None)
    return min(found, key=lambda best: best.key, default=None)


def best_builds(lists: Lists, allowed: Allowed, count: int, floor: Best | None = None) -> list[Best]:
    """The first `count` builds of the ranking where checks may fail by so much, those worse than `floor` left out."""
    found: dict[tuple[object, ...], Best] = {}
    for searched, own in _searches(lists, allowed):
        for best in _search(lists.job, searched, own, count, None, floor):
            found.setdefault(best.name, best)
    ranked = sorted(found.values(), key=lambda best: best.key)
    return [best for best in ranked if floor is None or best.key <= floor.key][:count]


def _searches(lists: Lists, allowed: Allowed) -> list[tuple[Lists, Allowed]]:
    """What is searched for the best builds where so much is allowed.

    Points for cost stop at 0, and a straight line over both sides of that bend bounds them poorly. So a budget that
    gives way beyond it is searched twice: up to the bend, and without those points. A build beyond has none of them, so
    the second search misjudges only builds that the first has seen: the better of both are the best.
    """
    to_bend = _to_bend(lists.job, allowed)
    if to_bend is None:
        return [(lists, allowed)]
    plain = lists.once(("without cost",), lambda: Lists(_without_cost(lists.job), lists.parts))
    return [(lists, to_bend), (plain, allowed)]


def _to_bend(job: Job, allowed: Allowed) -> Allowed | None:
    """What is allowed, but no more budget than earns points; None where no more is allowed."""
    budget, ranking = job.money.budget_cents, job.ranking()
    if not budget or "cost" not in ranking or len(ranking) == 1:
        return None
    to_bend = float(cost_scale_cents(job) - budget)
    return replace(allowed, by={**allowed.by, BUDGET: to_bend}) if allowed.at(BUDGET) > to_bend else None


def _without_cost(job: Job) -> Job:
    """The job with no points for cost."""
    left = [name for name in job.ranking() if name != "cost"]
    if job.order.criteria:
        return replace(job, order=replace(job.order, criteria=tuple(left)))
    return replace(job, weights={name: job.weight(name) for name in left})


def _search(
    job: Job, searched: Lists, allowed: Allowed, count: int, known: Best | None, floor: Best | None
) -> list[Best]:  # fmt: skip
    """The first builds of the ranking of some lists, told as the job has it."""
    left = reduced(searched, allowed)
    if not left.has_rows():
        return []
    search = Search(Field(left), Clock(), lambda text: None)
    if known is not None:
        space, builds = first_beyond(search, known.assembled)
    else:
        space, builds = top(search, NO_BAN, count, None if floor is None else _levels(job, searched.job, floor))
    return [_told(job, space, builds.take(np.array([at]))) for at in range(len(builds))]


def _levels(job: Job, searched: Job, best: Best) -> NDArray[np.int64]:
    """First levels of a build's key as another ranking sees them: one without points for cost lacks their level."""
    levels = -np.array(best.key, dtype=np.int64)
    lacking = [at for at, name in enumerate(job.order.criteria) if name not in searched.order.criteria]
    return np.delete(levels, lacking)


def _told(job: Job, space: Space, builds: Builds) -> Best:
    rows = chosen(space, builds)
    alone = replace(space.with_rows(rows.front, rows.rear, rows.drive), job=job)
    own = Assembled.of(space, builds).builds_in(alone)
    points = points_in({str(name): size[0] for name, size in table_of(alone, own).items()})
    levels = len(job.order.criteria) or 1
    key = tuple(int(level) for level in -keys(alone, own)[0, : levels + 1])
    return Best(alone, own, score_of(job, points), points, key, tuple(results(job, rows)[0]))

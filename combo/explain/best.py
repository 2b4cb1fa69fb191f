"""The best build where a check may fail by so much: one exact search, as short as what is known already lets it be."""

from __future__ import annotations

from dataclasses import dataclass, replace

from combo.checks.run import Result, results
from combo.job import Job
from combo.parts import Parts
from combo.solve.allowed import BUDGET, NOTHING, Allowed, Place
from combo.solve.assembled import Assembled
from combo.solve.builds import Builds, chosen, keys, points_in, table_of
from combo.solve.clock import Clock
from combo.solve.criteria import cost_scale_cents
from combo.solve.rank import Search, first_beyond, score_of, top
from combo.solve.reach import NO_BAN, Field
from combo.solve.reduce import space_of
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
    return Allowed({**allowed.by, BUDGET: to_bend}) if allowed.at(BUDGET) > to_bend else None


def _without_cost(job: Job) -> Job:
    """The job with no points for cost."""
    left = [name for name in job.ranking() if name != "cost"]
    if job.order.criteria:
        return replace(job, order=replace(job.order, criteria=tuple(left)))
    return replace(job, weights={name: job.weight(name) for name in left})


def _search(job: Job, searched: Job, parts: Parts, allowed: Allowed, known: Best | None) -> Best | None:
    """The first build of the ranking of one job, told as the other has it."""
    search = Search(Field(space_of(searched, parts, allowed)), Clock(), lambda text: None)
    space, builds = first_beyond(search, known.assembled) if known else top(search, NO_BAN, 1)
    return _told(job, space, builds) if len(builds) else None


def _told(job: Job, space: Space, builds: Builds) -> Best:
    rows = chosen(space, builds)
    alone = replace(space.with_rows(rows.front, rows.rear, rows.drive), job=job)
    own = Assembled.of(space, builds).builds_in(alone)
    points = points_in({str(name): size[0] for name, size in table_of(alone, own).items()})
    levels = len(job.order.criteria) or 1
    key = tuple(int(level) for level in -keys(alone, own)[0, : levels + 1])
    return Best(alone, own, score_of(job, points), points, key, tuple(results(job, rows)[0]))

"""The best builds where checks may fail by so much: one exact search, as short as what is known already lets it be."""

from __future__ import annotations

import functools
import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from combo.candidates.builds import BuildRows, chosen, keys, points_in, table_of
from combo.candidates.criteria import cost_scale_cents, criteria_of
from combo.candidates.instance import Instance
from combo.candidates.relaxed_limits import BUDGET, NOTHING, Pinned, RelaxedLimits, Slot
from combo.candidates.space import Space
from combo.checks.check import ConstraintId, Verdict
from combo.checks.run import Result, margins_at, results
from combo.deadline import Clock, CutShortError
from combo.explain.limits import Limit, every_check, searched_together, to_blame
from combo.explain.workers import map_parallel
from combo.job import Job, Order
from combo.search.build_ids import BuildIds
from combo.search.enumerate import are_few_together, one_build
from combo.search.filter import FilteredLists, filter_lists
from combo.search.pool import NO_BAN, CandidatePool, space_at
from combo.search.quick_infeasible import quick_core
from combo.search.topk import Levels, Search, promising, score_of, top

Key = tuple[int, ...]
"""Of a build: its points on each level, negative, and what it costs; the smaller, the better."""
_NO_END_CENTS = 10**12
ROWS_TO_SOLVE = 10_000
"""Rows in reach up to which the solver is asked for a build or the proof that there is none."""
MANY, SHARE = 20_000, 10
"""Groups beyond which a tenth as many are tried first where any build will do."""
FEW = 100
"""Groups of each table that are tried where the most promising rows have no build: these are often much alike."""


@dataclass(frozen=True)
class Best:
    """One build, in a space of its rows alone: its score, and, once asked for, every check as the job asks it.

    `score` is None for a ranking by [order].
    """

    space: Space
    builds: BuildRows
    score: float | None
    points: dict[str, int]
    key: Key
    _margins: dict[ConstraintId, float] = field(default_factory=dict, repr=False, compare=False)

    @functools.cached_property
    def checks(self) -> tuple[Result, ...]:
        """Every check in the order of the table."""
        return tuple(results(self.space.job, chosen(self.space, self.builds))[0])

    @property
    def assembled(self) -> BuildIds:
        """The build by its parts."""
        return BuildIds.of(self.space, self.builds)

    @property
    def cost_cents(self) -> int:
        """What the build costs."""
        return self.key[-1]

    @property
    def name(self) -> tuple[object, ...]:
        """Its parts and ballast, by position."""
        return tuple(self.assembled.table[0].tolist())

    def positions(self) -> dict[Slot, int]:
        """Position in the lists of its part in each place, but for ballast; -1 where it has no spacer."""
        front, rear, drive = (
            self.space.places[name][at[0]].tolist()
            for name, at in (("front", self.builds.front), ("rear", self.builds.rear), ("drive", self.builds.drive))
        )
        corners = {
            (axle, kind): part
            for axle, own in (("front", front), ("rear", rear))
            for kind, part in zip(("wheel", "tire", "spacer"), own, strict=True)
        }
        return {**corners, ("drive", "ratio"): drive[1], ("drive", "differential"): drive[2]}

    @property
    def failing(self) -> tuple[Result, ...]:
        """The checks that it fails."""
        return tuple(one for one in self.checks if one.verdict is Verdict.FAIL)

    def missed(
        self, allowed: RelaxedLimits = NOTHING, among: Collection[ConstraintId] | None = None
    ) -> frozenset[ConstraintId]:
        """The checks, of all or some, that it does not keep, where so much is allowed; of a strict job also those not
        verified.
        """
        job = self.space.job
        asked = [own for own in every_check(job) if among is None or own.place in among]
        margins = self._margins_at([own.place for own in asked])
        return frozenset(
            own.place
            for own in asked
            if not allowed.holds(own.check, own.where, margins[own.place], strict=job.job.strict)
        )

    def margin(self, place: ConstraintId) -> float:
        """Margin of a check; NaN where it is not known."""
        return self._margins_at([place])[place]

    def needs(self, limit: Limit, given: Mapping[ConstraintId, float] | None = None) -> float:
        """By how much a limit must be relaxed for it, in its checks' unit, on top of what they are given already; below
        zero what it could be tightened by. NaN where that is not known, of a strict job of any check.
        """
        margins = [self.margin(place) + (given or {}).get(place, 0.0) for place in limit.places]
        known = [margin for margin in margins if not math.isnan(margin)]
        if not known or (self.space.job.job.strict and len(known) < len(margins)):
            return math.nan
        return -min(known) + 0.0

    def _margins_at(self, places: list[ConstraintId]) -> dict[ConstraintId, float]:
        """Margins by place, these at least, each worked out once."""
        new = [place for place in places if place not in self._margins]
        if new:
            found = margins_at(self.space.job, chosen(self.space, self.builds), new)
            self._margins.update({place: float(margin[0]) for place, margin in found.items()})
        return self._margins


def best_build(instance: Instance, allowed: RelaxedLimits = NOTHING, known: Best | None = None) -> Best | None:
    """The first build of the ranking where checks may fail by so much; None where there is none.

    `known` is a build: where it holds well enough, the search is for no worse ones. Like all that asks the lists, this
    raises CutShortError once their clock is over.
    """
    worst = known.key if known is not None and not known.missed(allowed) else None
    return next(iter(best_builds(instance, allowed, 1, worst)), None)


def best_builds(instance: Instance, allowed: RelaxedLimits, count: int, worst: Key | None = None) -> list[Best]:
    """The first `count` builds of the ranking where checks may fail by so much; those with a worse key left out."""
    found: list[Best] = []
    for searched, own in _searches(instance, allowed):
        worst = found[-1].key if len(found) == count else worst
        search = functools.partial(_search, instance.job, searched, own, count, worst)
        more = searched.once(("best", searched.job.ranking(), own.key, count, worst), search)
        new = {best.name: best for best in (*found, *more)}
        found = sorted(new.values(), key=lambda best: best.key)[:count]
    return [best for best in found if worst is None or best.key <= worst]


def first_that_fail(
    instance: Instance, limits: Iterable[Limit], worst: Key | None = None
) -> tuple[dict[Limit, Best], list[Limit]]:
    """Of each of some limits the first build that fails it alone, where there is one, none worse than `worst`; and the
    limits of which that is not known, as the search was cut short.
    """
    several = map_parallel(lambda group: _first_of_group(instance, group, worst), searched_together(limits))
    found = {limit: best for own, _ in several for limit, best in own.items()}
    return found, [limit for _, unknown in several for limit in unknown]


def _first_of_group(
    instance: Instance, limits: Sequence[Limit], worst: Key | None
) -> tuple[dict[Limit, Best], list[Limit]]:
    """As `first_that_fail`, of limits that are searched together.

    The first that fails any one of them is the first of that one. So each search leaves one limit less to ask of.
    """
    found: dict[Limit, Best] = {}
    left = list(limits)
    try:
        while left and (first := best_that_fail(instance, left, 1, worst)):
            failed = failed_of(left, first[0])
            found[failed] = first[0]
            left.remove(failed)
    except CutShortError:
        return found, left
    return found, []


def best_that_fail(
    instance: Instance, limits: Sequence[Limit], count: int, worst: Key | None = None, by: float = math.inf
) -> list[Best]:
    """The first `count` builds that fail one of some limits alone, by no more than so much; the limits are searched
    together, see `searched_together`. Those with a worse key are left out.
    """
    found: list[Best] = []
    for allowed in _ways_to_fail(limits, by):
        worst = found[-1].key if len(found) == count else worst
        found = sorted([*found, *best_builds(instance, allowed, count, worst)], key=lambda best: best.key)[:count]
    return found


def _ways_to_fail(limits: Sequence[Limit], by: float) -> list[RelaxedLimits]:
    """What is allowed for builds that fail one of some limits alone; no build fails it in two of these ways.

    A limit that feeds several checks is failed by the first of them that fails: those before it hold, those after it
    may fail, too.
    """
    if len(limits) > 1:
        return [RelaxedLimits.failing(*(place for limit in limits for place in limit.places), by=by)]
    places = limits[0].places
    return [RelaxedLimits(dict.fromkeys(places[at:], by), frozenset({place})) for at, place in enumerate(places)]


def failed_of(limits: Iterable[Limit], best: Best) -> Limit:
    """The one of some limits that a build fails."""
    return next(limit for limit in limits if any(best.margin(place) < 0 for place in limit.places))


class UnansweredError(Exception):
    """So much is given up that what is left of whole lists is more than a proof is to be tried on."""


def any_build(instance: Instance, allowed: RelaxedLimits, at_most: float = math.inf) -> Best | None:
    """Some build where checks may fail by so much; None where there is none. Raises as `build_or_blame` does."""
    found = build_or_blame(instance, allowed, at_most)
    return found if isinstance(found, Best) else None


def build_or_blame(
    instance: Instance, allowed: RelaxedLimits, at_most: float = math.inf
) -> Best | frozenset[ConstraintId]:
    """Some build where checks may fail by so much; where there is none, checks that are enough to exclude every build.

    They are ranked by cost alone, so that a budget is what a build must reach to be listed at all, and most searches
    end with the first that is found.

    Raises
    ------
    UnansweredError
        No build was found at once among more than `at_most` groups.
    """
    instance.clock.heed()
    emptied = quick_core(instance, allowed)
    if emptied is not None:
        return emptied
    by_cost = instance.ranked_as(_by_cost(instance.job))
    budget_cents, over = instance.job.money.budget_cents, allowed.at(BUDGET)
    floor = None
    if budget_cents is not None and not math.isinf(over):
        cents = np.array([budget_cents + over], dtype=np.int64)
        floor = np.concatenate([criteria_of(by_cost.job)[0].ramp.score(cents), -cents])
    left = filter_lists(by_cost, allowed)
    found = _any(instance, left, floor, at_most)
    if found is None:
        instance.clock.heed()
    return found or to_blame(left)


def build_of(instance: Instance, at: Mapping[Slot, int], counts: NDArray[np.int64]) -> Best | None:
    """The build of parts at these positions with ballast of these counts, whatever it fails; None where a tire does not
    go on the wheel at all.
    """
    every = RelaxedLimits.without((own.place for own in every_check(instance.job)), pinned_to(at))
    left = filter_lists(instance, every)
    if not left.has_rows():
        return None
    space = space_at(left, CandidatePool(left).reaching(None, 1, NO_BAN))
    none = np.zeros(1, dtype=np.int64)
    return _told(instance.job, space, BuildRows(none, none, none, counts.reshape(1, -1)))[0]


def pinned_to(at: Mapping[Slot, int]) -> Pinned:
    """One part in each of these places."""
    return Pinned({slot: frozenset({part}) for slot, part in at.items()})


def _searches(instance: Instance, allowed: RelaxedLimits) -> list[tuple[Instance, RelaxedLimits]]:
    """What is searched for the best builds where so much is allowed.

    Points for cost stop at 0, and a straight line over both sides of that bend bounds them poorly. So a budget that
    gives way beyond it is searched twice: up to the bend, and without those points. A build beyond has none of them, so
    the second search misjudges only builds that the first has seen: the better of both are the best.
    """
    to_bend = _to_bend(instance.job, allowed)
    if to_bend is None:
        return [(instance, allowed)]
    plain = instance.ranked_as(_without_cost(instance.job))
    return [(instance, to_bend), (plain, allowed)]


def _to_bend(job: Job, allowed: RelaxedLimits) -> RelaxedLimits | None:
    """What is allowed, but no more budget than earns points; None where no more is allowed."""
    budget, ranking = job.money.budget_cents, job.ranking()
    if not budget or "cost" not in ranking or len(ranking) == 1:
        return None
    to_bend = float(cost_scale_cents(job) - budget)
    return replace(allowed, by={**allowed.by, BUDGET: to_bend}) if allowed.at(BUDGET) > to_bend else None


def _by_cost(job: Job) -> Job:
    """The job ranked by cost alone: on so long a scale that points tell no two builds apart."""
    return replace(job, order=Order(("cost",)), weights={}, scales=replace(job.scales, cost_cents=_NO_END_CENTS))


def _without_cost(job: Job) -> Job:
    """The job with no points for cost."""
    left = [name for name in job.ranking() if name != "cost"]
    if job.order.criteria:
        return replace(job, order=replace(job.order, criteria=tuple(left)))
    return replace(job, weights={name: job.weight(name) for name in left})


def _search(job: Job, searched: Instance, allowed: RelaxedLimits, count: int, worst: Key | None) -> list[Best]:
    """The first builds of the ranking of some lists, told as the job has it; none worse than the worst."""
    searched.clock.heed()
    left = filter_lists(searched, allowed)
    if not left.has_rows():
        return []
    search, floor = _quiet(left, searched.clock), None if worst is None else _levels(job, searched.job, worst)
    if not search.field.has_in_reach(floor):
        return []
    found = _told(job, *top(search, NO_BAN, count, floor))
    searched.clock.heed(found)
    return found


def _any(instance: Instance, left: FilteredLists, floor: Levels, at_most: float) -> Best | None:
    """A build that reaches the floor; of very many groups a few are tried first."""
    job, clock = instance.job, instance.clock
    if not left.has_rows():
        return None
    if left.size() > MANY and (found := _sampled(job, left, MANY // SHARE, floor, clock)):
        return found
    if left.size() > at_most:
        raise UnansweredError
    search = _quiet(left, clock)
    if not search.field.has_in_reach(floor):
        return None
    if floor is None and search.field.size_in_reach(None, 1, NO_BAN) <= ROWS_TO_SOLVE:
        return _any_of_rows(job, search)
    space, builds = top(search, NO_BAN, 1, floor, any_will_do=True)
    return _told(job, space, builds)[0] if len(builds) else None


def _sampled(job: Job, left: FilteredLists, count: int, floor: Levels, clock: Clock) -> Best | None:
    """A build out of about so many groups of each table, of all kinds, where one is found at once."""
    few = left.sampled(count)
    if not few.has_rows():
        return None
    return next(iter(_told(job, *promising(_quiet(few, clock), floor))), None)


def _quiet(left: FilteredLists, clock: Clock) -> Search:
    """A search that tells nothing on its way."""
    return Search(CandidatePool(left), clock, lambda text: None)


def _any_of_rows(job: Job, search: Search) -> Best | None:
    """A build of all rows there are, where nothing is to be reached, so that no bound leaves any row out. Of many the
    most promising, and a few of all kinds, are tried before the solver is asked of all.
    """
    space = space_at(search.field.reduced, search.field.reaching(None, 1, NO_BAN))
    if not (len(space.front) and len(space.rear) and len(space.drive)):
        return None
    if are_few_together(space):
        return next(iter(_told(job, space, one_build(space, search.clock))), None)
    tried, found = promising(search, None)
    if len(found):
        return _told(job, tried, found)[0]
    if sampled := _sampled(job, search.field.reduced, FEW, None, search.clock):
        return sampled
    from combo.search.sat import BuildModel  # ortools takes long to load, and few searches come here

    solved = BuildModel(space, clock=search.clock).any()[1]
    return _told(job, space, solved)[0] if solved is not None else None


def _levels(job: Job, searched: Job, key: Key) -> NDArray[np.int64]:
    """First levels of a key as another ranking sees them: one without points for cost lacks their level."""
    levels = -np.array(key, dtype=np.int64)
    lacking = [at for at, name in enumerate(job.order.criteria) if name not in searched.order.criteria]
    return np.delete(levels, lacking)


def _told(job: Job, space: Space, builds: BuildRows) -> list[Best]:
    """Builds of a space one by one, as the job ranks them."""
    ranked = space if space.job is job else replace(space, job=job)
    table, levels = table_of(ranked, builds), len(job.order.criteria) or 1
    every_key = -keys(ranked, builds)[:, : levels + 1]
    found = []
    for at in range(len(builds)):
        one, points = builds.take(np.array([at])), points_in(table.numbers(at))
        rows, first = chosen(space, one), np.zeros(1, dtype=np.int64)
        alone = ranked.to_tell_of(rows.front, rows.rear, rows.drive)
        key = tuple(int(level) for level in every_key[at])
        found.append(Best(alone, BuildRows(first, first, first, one.counts), score_of(job, points), points, key))
    return found

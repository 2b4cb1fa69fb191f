"""Parts that a customer names: the best build with them, or what excludes them and what would let them in."""

from __future__ import annotations

import functools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from combo.algorithms.hitting_sets import minimal_hitting_sets
from combo.candidates.instance import Instance
from combo.candidates.relaxed_limits import NOTHING, Pinned, RelaxedLimits, Slot
from combo.checks.check import ConstraintId, Verdict
from combo.checks.run import Result
from combo.deadline import CutShortError
from combo.explain.best import Best, best_build, build_of
from combo.explain.changes import Change, smallest_change
from combo.explain.choice import Choice, counts_of, pinned_by
from combo.explain.infeasible import Infeasibility, infeasibility
from combo.explain.limits import Limit, amounts_of, by_place, movable
from combo.explain.swaps import SLOTS, Swap, swaps
from combo.explain.workers import map_in_time, map_parallel


@dataclass(frozen=True)
class Stuck:
    """Why there is no build, and the fewest limits that must move for one, the smallest moves first; `unmeasured` must
    move together, too, but there was no time to find by how much.
    """

    why: Infeasibility
    changes: tuple[Change, ...]
    unmeasured: tuple[tuple[Limit, ...], ...] = ()

    @property
    def proven(self) -> bool:
        """Whether all that was asked for was found in time."""
        return self.why.proven and not self.unmeasured and all(change.is_smallest for change in self.changes)


@dataclass(frozen=True)
class Standing:
    """How parts stand: the best build with them, `stuck` where there is none, and the best build of all.

    Where the search was cut short `proven` is False: `best` is then the best build with them that was found, and
    without any it is not known whether there is one.
    """

    best: Best | None
    stuck: Stuck | None
    of_all: Best | None
    proven: bool = True


@dataclass(frozen=True)
class Outlook:
    """What is told of a choice beside its own checks: of parts alone how they stand. Of a whole build `own` is it with
    its score; where it fails, `moves` are the limits to relax for it as it is, and by how much, empty where one of them
    may not be moved; and `swaps` the changes of one choice that mend it, the best build first, None
    where these were not found in time.
    """

    standing: Standing | None = None
    own: Best | None = None
    moves: tuple[tuple[Limit, float], ...] = ()
    swaps: tuple[Swap, ...] | None = ()

    @property
    def proven(self) -> bool:
        """Whether all that is told of it was found in time."""
        return self.swaps is not None and (self.standing is None or self.standing.proven)


def outlook(instance: Instance, choice: Choice, found: list[Result], most: int) -> Outlook:
    """What is told of a choice whose checks are these; of parts that are in no build so many conflicts and changes."""
    pinned = pinned_by(instance.job, instance.parts, choice)
    if choice.missing():
        return Outlook(standing(instance, pinned, most)) if pinned.parts or pinned.aboard else Outlook()
    at = {slot: next(iter(parts)) for slot, parts in pinned.parts.items()}
    own = build_of(instance, at, counts_of(instance.job, instance.parts, choice))
    failing = {(result.check.id, result.where): -result.margin for result in found if result.verdict is Verdict.FAIL}
    if not failing:
        return Outlook(own=own)
    return Outlook(None, own, _moves(movable(instance.job), failing), _swaps(instance, at))


def _moves(limits: Sequence[Limit], failing: Mapping[ConstraintId, float]) -> tuple[tuple[Limit, float], ...]:
    """The limits to relax for a build with these failures, and by how much each: as few as can be, the first in the
    table. Empty where one of the failures may not be moved.
    """
    of_failing = [limit for limit in limits if failing.keys() & set(limit.places)]
    moved_by = by_place(of_failing)
    families = [frozenset(moved_by.get(place, ())) for place in failing]
    chosen = next(iter(minimal_hitting_sets(families, of_failing)), frozenset())
    moves: list[tuple[Limit, float]] = []
    for limit in (limit for limit in of_failing if limit in chosen):
        given = amounts_of(dict(moves))
        lacks = max(failing[place] - given.get(place, 0.0) for place in limit.places if place in failing)
        moves.append((limit, lacks))
    return tuple(moves)


def _swaps(instance: Instance, at: Mapping[Slot, int]) -> tuple[Swap, ...] | None:
    try:
        return tuple(swaps(instance, at, SLOTS))
    except CutShortError:
        return None


def standing(instance: Instance, pinned: Pinned, most: int) -> Standing:
    """How builds with some parts stand in the ranking, or why there is none, by so many conflicts and changes."""
    (best, is_best), (of_all, is_first) = map_parallel(
        lambda own: found_in_time(instance, RelaxedLimits(pinned=own)), [pinned, Pinned()]
    )
    if best is not None or not is_best:
        return Standing(best, None, of_all, proven=is_best and is_first)
    try:
        why = stuck(instance, pinned, most)
    except CutShortError:  # it is known that there is none, but nothing of why
        why = Stuck(Infeasibility((), False, (), 0, proven=False), ())
    return Standing(None, why, of_all, proven=is_first and (why is None or why.proven))


def found_in_time(instance: Instance, allowed: RelaxedLimits = NOTHING) -> tuple[Best | None, bool]:
    """The best build, or the best that was found in time; and whether that is proven."""
    try:
        return best_build(instance, allowed), True
    except CutShortError as cut_short:
        return next(iter(cut_short.found), None), False


def stuck(instance: Instance, pinned: Pinned, most: int) -> Stuck | None:
    """What stands in the way of any build with some parts; None where there is one. Raises as `infeasibility` does."""
    why = infeasibility(instance, pinned, most)
    if why is None:
        return None
    changes, unmeasured = _smallest(instance, pinned, why.corrections, most)
    return Stuck(why, changes, unmeasured)


def _smallest(
    instance: Instance, pinned: Pinned, corrections: Sequence[tuple[Limit, ...]], most: int
) -> tuple[tuple[Change, ...], tuple[tuple[Limit, ...], ...]]:
    """The changes of the fewest limits, and of these the smallest, so many; and those that there was no time for.

    The first are measured out; of the others only what is smaller than the last of them matters.
    """
    found, unmeasured = list[Change](), list[tuple[Limit, ...]]()
    for some in (corrections[:most], corrections[most:]):
        below = found[most - 1].share if len(found) >= most else math.inf
        ask = functools.partial(_changes_below, instance, pinned, below)
        for limits, answer in zip(some, map_in_time(ask, some), strict=True):
            found += answer or []
            unmeasured += [limits] if answer is None else []
        found.sort(key=lambda change: (len(change.limits), change.share))
    return tuple(found[:most]), tuple(unmeasured)


def _changes_below(instance: Instance, pinned: Pinned, below: float, limits: tuple[Limit, ...]) -> list[Change]:
    """The smallest change of some limits, where its share is below so much."""
    change = smallest_change(instance, limits, pinned, below)
    return [] if change is None else [change]

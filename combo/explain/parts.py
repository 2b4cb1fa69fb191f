"""Parts that a customer names: the best build with them, or what excludes them and what would let them in."""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from combo.checks.check import Verdict
from combo.checks.run import Result
from combo.explain.abreast import all_asked, both_asked
from combo.explain.best import Best, best_build, build_of
from combo.explain.changes import Change, smallest_change
from combo.explain.conflicts import Impasse, impasse
from combo.explain.limits import Limit, movable
from combo.explain.swaps import SLOTS, Swap, swaps
from combo.solve.allowed import Allowed, Pinned
from combo.solve.classes import Lists
from combo.solve.why import Choice, counts_of, pinned_by


@dataclass(frozen=True)
class Stuck:
    """Why there is no build, and the fewest limits that must move for one, the smallest moves first."""

    why: Impasse
    changes: tuple[Change, ...]


@dataclass(frozen=True)
class Standing:
    """How parts stand: the best build with them, `stuck` where there is none, and the best build of all."""

    best: Best | None
    stuck: Stuck | None
    of_all: Best | None


@dataclass(frozen=True)
class Outlook:
    """What is told of a choice beside its own checks: of parts alone how they stand. Of a whole build `own` is it with
    its score; where it fails, `moves` are the limits that would have to give way for it as it is, by how much, empty
    where one of them may not be moved; and `swaps` the changes of one choice that mend it, the best build first.
    """

    standing: Standing | None = None
    own: Best | None = None
    moves: tuple[tuple[Limit, float], ...] = ()
    swaps: tuple[Swap, ...] = ()


def outlook(lists: Lists, choice: Choice, found: list[Result], most: int) -> Outlook:
    """What is told of a choice whose checks are these; of parts that are in no build so many conflicts and changes."""
    pinned = pinned_by(lists.job, lists.parts, choice)
    if choice.missing():
        return Outlook(standing(lists, pinned, most)) if pinned.parts or pinned.aboard else Outlook()
    at = {slot: next(iter(parts)) for slot, parts in pinned.parts.items()}
    own = build_of(lists, at, counts_of(lists.job, lists.parts, choice))
    failing = {(result.check.id, result.where): -result.margin for result in found if result.verdict is Verdict.FAIL}
    if not failing:
        return Outlook(own=own)
    moves = tuple((limit, failing[limit.place]) for limit in movable(lists.job) if limit.place in failing)
    return Outlook(None, own, moves if len(moves) == len(failing) else (), tuple(swaps(lists, at, SLOTS)))


def standing(lists: Lists, pinned: Pinned, most: int) -> Standing:
    """How builds with some parts stand in the ranking, or why there is none, by so many conflicts and changes."""
    best, of_all = both_asked(lambda: best_build(lists, Allowed(pinned=pinned)), lambda: best_build(lists))
    return Standing(best, stuck(lists, pinned, most) if best is None else None, of_all)


def stuck(lists: Lists, pinned: Pinned, most: int) -> Stuck | None:
    """What stands in the way of any build with some parts; None where there is one."""
    why = impasse(lists, pinned, most)
    return None if why is None else _stuck(why, all_asked(_changes(lists, pinned, why)))


def _changes(lists: Lists, pinned: Pinned, why: Impasse) -> list[Callable[[], Change]]:
    """What asks for the smallest change of each correction."""
    return [functools.partial(smallest_change, lists, limits, pinned) for limits in why.corrections]


def _stuck(why: Impasse, changes: Iterable[Change]) -> Stuck:
    return Stuck(why, tuple(sorted(changes, key=lambda change: (len(change.limits), change.share))))

"""Which limits cannot all be kept, and the fewest that must move: proven by searches, none guessed.

A *conflict* is a smallest set of limits that no build keeps together with all that may not be moved: without any one of
them, a build keeps the rest. A *correction* is a smallest set of limits without which a build keeps all else. Every
correction holds a member of every conflict. So each smallest set that meets all conflicts known is tried: either a
build shows it to be a correction, or the limits left hold a conflict not known yet. Sets are tried from the smallest
up, so none is missed. Where no build is left though every limit is given up, the same is asked of what may not be
moved.
"""

from __future__ import annotations

import copy
import functools
import math
from collections.abc import Iterable
from dataclasses import dataclass

from combo.algorithms.hitting_sets import minimal_hitting_sets
from combo.algorithms.shrink import shrink_to_mus
from combo.candidates.instance import Instance
from combo.candidates.relaxed_limits import Pinned, RelaxedLimits
from combo.checks.check import ConstraintId
from combo.explain.best import Best, UnansweredError, build_or_blame
from combo.explain.limits import Limit, by_place, movable, standing
from combo.explain.workers import map_in_time
from combo.search.quick_infeasible import trivial_conflicts

Limits = frozenset[Limit]
NEVER_WITHOUT = frozenset({"rim_diameter"})
"""Checks that no search does without: a tire is only ever looked at on rims of its diameter."""
TOO_MANY = 100_000
"""Groups beyond which it is not proven that a check belongs to a conflict: it is kept in it."""
FEW, MANY = 16, 64
"""Sets of limits of a size that are tried in one round; and beyond how many of them cores are looked for first that
rule out many.
"""
SEEN_AT_ONCE = 8
"""Conflicts of one or two limits that are known from the start, the smallest first: of many come many sets to try."""
CHECKS_AT_ONCE = 8
"""Limits that a build is asked about before it is looked whether it misses one."""
ROUNDS = 12
"""How often it is looked at most which sets of limits are left, for each conflict that the user asks for."""


@dataclass(frozen=True)
class Conflict:
    """Limits that no build keeps together, in the order of the table, though one keeps all but any one of them: this is
    certain where it `is_smallest`, else what would be left without one is too much of whole lists to tell. All of them
    may be moved, or none.
    """

    limits: tuple[Limit, ...]
    is_smallest: bool = True


@dataclass(frozen=True)
class Infeasibility:
    """Why there is no build: conflicts, whether these are all there are, and corrections among movable limits, fewest
    limits first. Without any conflict, parts do not go together whatever is given up.

    `fewest` is how many limits must move at least for a build, and 0 where moving all of them gives none. Where the
    search was cut short, not `proven`, there may be more of all of them.
    """

    conflicts: tuple[Conflict, ...]
    are_all: bool
    corrections: tuple[tuple[Limit, ...], ...]
    fewest: int
    proven: bool = True


def infeasibility(instance: Instance, pinned: Pinned, most: int) -> Infeasibility | None:
    """Why no build holds every check with the parts that are pinned; None where one does. So many conflicts at most are
    told; corrections are as many at least, where there are, and all of the fewest limits, as far as `ROUNDS` go. Raises
    CutShortError where it was not found out whether a build holds.
    """
    known = _Known(instance, pinned, movable(instance.job))
    if known.core(frozenset(known.order)) is None:
        return None
    if known.core(frozenset()) is not None:
        return _physical(instance, pinned, most)
    known.begin()
    corrections, left = _explored(known, most, ROUNDS * most)
    fewest = min((len(own) for own in (*corrections, *left)), default=0)
    told = tuple(known.sorted(own) for own in corrections)
    return Infeasibility(
        known.conflicts_told(most), not left and known.are_all(most), told, fewest, not known.is_cut_short
    )


def _physical(instance: Instance, pinned: Pinned, most: int) -> Infeasibility:
    """Why no build is left whatever is given up: what may not be moved cannot be kept."""
    known = _Known(instance, pinned, standing(instance.job), movable(instance.job))
    if known.core(frozenset()) is not None:
        return Infeasibility((), True, (), 0)
    known.begin()
    _, left = _explored(known, most, ROUNDS * most)
    return Infeasibility(known.conflicts_told(most), not left and known.are_all(most), (), 0, not known.is_cut_short)


def _explored(known: _Known, most: int, rounds: int) -> tuple[list[Limits], list[Limits]]:
    """The smallest corrections, and sets that may be others; conflicts met on the way are kept. It goes on until so
    many corrections are known, with all others of no more limits, or none is left.

    A set that is no correction leaves a core. Where fewer than `most` conflicts are known one is made of it. Where many
    sets of the same size would have to be tried it is left with few limits, which rules out many of them; else it will
    do as it is.
    """
    found, open_sets = list[Limits](), list[Limits]()
    for _ in range(rounds):
        lacks = len(known.conflicts) < most
        families = known.conflicts if lacks else (*known.conflicts, *known.cores)
        open_sets = [own for own in minimal_hitting_sets(families, known.order) if own not in found]
        if not open_sets or (len(found) >= most and len(open_sets[0]) > len(found[most - 1])):
            break
        tried = [own for own in open_sets if len(own) == len(open_sets[0])]
        is_shrunk = lacks or len(tried) > MANY
        if is_shrunk:  # two at once: of sets that have little in common, from either end of the table
            tried = [tried[0], max(tried, key=lambda own: len(own ^ tried[0]))]
        tried = tried[:FEW]
        ask = [
            functools.partial(known.asked, own, is_shrunk=is_shrunk, from_end=at % 2 == 1)
            for at, own in enumerate(tried)
        ]
        answers = map_in_time(lambda question: question(), ask)
        for own, answer in zip(tried, answers, strict=True):
            if answer is None:
                known.is_cut_short = True
                continue
            known.learn(answer)
            if answer.core is None and own not in found:
                found.append(own)
        if known.is_cut_short:
            break
    return found, open_sets


class _Witness:
    """A build that keeps all that is asked but perhaps some limits: which of these it misses is worked out as far as it
    is asked.
    """

    def __init__(self, best: Best, unknown: Limits) -> None:
        self._best, self._unknown = best, unknown
        self._missed: Limits = frozenset()

    def keeps(self, asked: Limits) -> bool:
        """Whether it keeps all of these, or what of each no other limit lets go."""
        while not self._missed & asked and (some := sorted(self._unknown & asked, key=_told_first)[:CHECKS_AT_ONCE]):
            missed = self._best.missed(among=[place for limit in some for place in limit.places])
            self._missed |= {limit for limit in some if missed & set(limit.places)}
            self._unknown -= frozenset(some)
        return not self._missed & asked


def _told_first(limit: Limit) -> tuple[str, tuple[ConstraintId, ...]]:
    return limit.key, limit.places


@dataclass(frozen=True)
class _Answer:
    """Whether some build does without a set of limits: where none does, `core` are limits left that no build keeps, a
    conflict where `is_conflict`, which is certain to be smallest where `is_sure`. Beside it, what was met on the way.
    """

    core: Limits | None
    is_conflict: bool
    is_sure: bool
    shown: tuple[_Witness, ...]
    cores: tuple[Limits, ...]


class _Known:
    """What searches have shown: builds by the limits that they do not keep, and conflicts; `cores` are limits that no
    build keeps, though fewer of them may be enough.

    `without` are limits that are given up whatever is asked.
    """

    def __init__(
        self, instance: Instance, pinned: Pinned, limits: Iterable[Limit], without: Iterable[Limit] = ()
    ) -> None:
        self._lists, self._pinned = instance, pinned
        self.order = tuple(limit for limit in limits if limit.check.id not in NEVER_WITHOUT)
        self._moved_by = by_place(self.order)
        self._given_up = {place for limit in without for place in limit.places}
        self.conflicts: list[Limits] = []
        self.cores: list[Limits] = []
        self.unsure: set[Limits] = set()
        self.is_cut_short = False
        self._unanswered = 0
        self._shown: list[_Witness] = []

    def begin(self) -> None:
        """Know the conflicts of one or two limits that leave no corner or no drive, which no search is needed for."""
        found = trivial_conflicts(self._lists, self._pinned, self._moved_by, self._given_up)
        self.conflicts = found[:SEEN_AT_ONCE]

    def conflicts_told(self, most: int) -> tuple[Conflict, ...]:
        """The smallest conflicts, so many at most."""
        told = sorted((self.sorted(own) for own in self.conflicts), key=lambda own: (len(own), self._places(own)))
        return tuple(Conflict(own, frozenset(own) not in self.unsure) for own in told[:most])

    def are_all(self, most: int) -> bool:
        """Whether the conflicts told are all that are known, each for certain."""
        return not self.is_cut_short and len(self.conflicts) <= most and not self.unsure

    def core(self, asked: Limits, at_most: float = math.inf) -> Limits | None:
        """None where some build keeps all of these limits, whatever becomes of the others; else some of them that no
        build keeps.
        """
        known = [own for own in (*self.conflicts, *self.cores) if own <= asked]
        if known:
            return min(known, key=len)
        if any(shown.keeps(asked) for shown in self._shown):
            return None
        dropped = frozenset(self.order) - asked
        places = self._given_up | {place for limit in dropped for place in limit.places}
        found = build_or_blame(self._lists, RelaxedLimits.without(sorted(places), self._pinned), at_most)
        if isinstance(found, Best):
            self._shown.append(_Witness(found, dropped))
            return None
        self.cores.append(frozenset(limit for place in found for limit in self._moved_by.get(place, ())) & asked)
        return self.cores[-1]

    def asked(self, without: Limits, *, is_shrunk: bool, from_end: bool) -> _Answer:
        """Whether some build does without some limits; if none does, the core is left with as few limits as can be
        where that is asked, those at the end of the table left out first with `from_end`. It begins with what is known
        and changes none of it, so that the answer is the same whatever else is asked at the same time.
        """
        own = copy.copy(self)
        own.cores, own._shown, own._unanswered = list(self.cores), list(self._shown), 0
        core = own.core(frozenset(self.order) - without)
        if core is not None and is_shrunk:
            core = own._shrunk(core, from_end=from_end)
        shown, cores = own._shown[len(self._shown) :], own.cores[len(self.cores) :]
        return _Answer(core, core is not None and is_shrunk, not own._unanswered, tuple(shown), tuple(cores))

    def learn(self, answer: _Answer) -> None:
        """Keep what was found."""
        self._shown += answer.shown
        self.cores += answer.cores
        if answer.core is not None and answer.is_conflict and answer.core not in self.conflicts:
            self.conflicts.append(answer.core)
            if not answer.is_sure:
                self.unsure.add(answer.core)
        self.cores = [own for own in self.cores if not any(conflict <= own for conflict in self.conflicts)]

    def _sure_core(self, asked: Limits) -> Limits | None:
        """As `core`, but None also where it is too much to tell."""
        try:
            return self.core(asked, TOO_MANY)
        except UnansweredError:
            self._unanswered += 1
            return None

    def _shrunk(self, core: Limits, *, from_end: bool) -> Limits:
        """A core without what it can do without. What is in it for want of knowing better is left out first."""
        order = self.order[::-1] if from_end else self.order
        return shrink_to_mus(core, self._sure_core, sorted(order, key=lambda limit: limit.is_of_rows))

    def sorted(self, limits: Limits) -> tuple[Limit, ...]:
        """In the order of the table."""
        return tuple(limit for limit in self.order if limit in limits)

    def _places(self, own: Iterable[Limit]) -> list[int]:
        return [self.order.index(limit) for limit in own]

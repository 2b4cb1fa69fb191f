"""Which checks cannot all be kept, and the fewest limits that must move: proven by searches, none guessed.

A *conflict* is a smallest set of checks that no build keeps together: without any one of them, a build keeps the rest.
A *correction* is a smallest set of limits without which a build keeps all else. Every correction holds a member of
every conflict. So each smallest set that meets all conflicts known is tried: either a build shows it to be a
correction, or the checks left hold a conflict not known yet. Sets are tried from the smallest up, so none is missed.
"""

from __future__ import annotations

import copy
import functools
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from combo.checks.check import Place
from combo.explain.abreast import answered_of_each
from combo.explain.best import Best, UnansweredError, build_or_blame
from combo.explain.limits import Limit, every_limit, movable
from combo.solve.allowed import Allowed, Pinned
from combo.solve.classes import Lists
from combo.solve.emptied import emptied_by_few

Places = frozenset[Place]
NEVER_WITHOUT = frozenset({"rim_diameter"})
"""Checks that no search does without: a tire is only ever looked at on rims of its diameter."""
TOO_MANY = 100_000
"""Groups beyond which it is not proven that a check belongs to a conflict: it is kept in it."""
FEW, MANY = 16, 64
"""Sets of limits of a size that are tried in one round; and beyond how many of them cores are looked for first that
rule out many.
"""
CHECKS_AT_ONCE = 8
"""Checks that a build is asked about before it is looked whether it misses one."""
SEEN_AT_ONCE = 8
"""Conflicts of one or two checks that are known from the start, the smallest first: of many come many sets to try."""
ROUNDS = 12
"""How often it is looked at most which sets of limits are left, for each conflict that the user asks for."""


@dataclass(frozen=True)
class Conflict:
    """Limits that no build keeps together, in the order of the table, though one keeps all but any one of them: this is
    certain where it `is_smallest`, else what would be left without one is too much of whole lists to tell.
    """

    limits: tuple[Limit, ...]
    is_smallest: bool = True


@dataclass(frozen=True)
class Impasse:
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


def impasse(lists: Lists, pinned: Pinned, most: int) -> Impasse | None:
    """Why no build holds every check with the parts that are pinned; None where one does. At most so many conflicts,
    and so many corrections, are looked for. Raises CutShortError where it was not found out whether one does.
    """
    known = _Known(lists, pinned)
    every, may_move = frozenset(known.order), frozenset(limit.place for limit in movable(lists.job))
    if known.core(every) is None:
        return None
    if known.core(frozenset()) is not None:
        return Impasse((), True, (), 0)
    known.conflicts = emptied_by_few(lists, pinned, known.order)[:SEEN_AT_ONCE]
    corrections, left = _explored(known, may_move, most, ROUNDS * most)
    fewest = min((len(own) for own in (*corrections, *left)), default=0)
    more = known.is_cut_short or len(known.conflicts) >= most or _explored(known, every, most, ROUNDS * most)[1]
    are_all = not more and not known.is_cut_short and len(known.conflicts) < most and not known.unsure
    named = {limit.place: limit for limit in every_limit(lists.job)}
    told = sorted((known.sorted(own) for own in known.conflicts), key=lambda own: (len(own), known.places(own)))
    return Impasse(
        tuple(Conflict(tuple(named[place] for place in own), frozenset(own) not in known.unsure)
              for own in told[:most]),
        are_all,
        tuple(tuple(named[place] for place in known.sorted(own)) for own in corrections), fewest,
        not known.is_cut_short,
    )  # fmt: skip


def _explored(known: _Known, may_move: Places, most: int, rounds: int) -> tuple[list[Places], list[Places]]:
    """The smallest corrections among some limits, and sets that may be others; conflicts met on the way are kept.

    A set that is no correction leaves a core. Where fewer than `most` conflicts are known one is made of it. Where many
    sets of the same size would have to be tried it is left with few limits that may move, which rules out many of them;
    else it will do as it is.
    """
    every, found = frozenset(known.order), list[Places]()
    for _ in range(rounds):
        lacks = len(known.conflicts) < most
        families = known.conflicts if lacks else (*known.conflicts, *known.cores)
        open_sets = [own for own in meeting([own & may_move for own in families], known.order) if own not in found]
        if not open_sets or len(found) >= most:
            return found[:most], open_sets
        tried = [own for own in open_sets if len(own) == len(open_sets[0])]
        shrunk = frozenset[Place]()
        if lacks or len(tried) > MANY:  # two at once: of sets that have little in common, from either end of the table
            shrunk = every if lacks else may_move
            tried = [tried[0], max(tried, key=lambda own: len(own ^ tried[0]))]
        tried = tried[:FEW]
        ask = [functools.partial(known.asked, own, shrunk, from_end=at % 2 == 1) for at, own in enumerate(tried)]
        for own, answer in zip(tried, answered_of_each(lambda question: question(), ask), strict=True):
            if answer is None:
                known.is_cut_short = True
                continue
            known.learn(answer)
            if answer.core is None and own not in found:
                found.append(own)
        if known.is_cut_short:
            break
    return found[:most], open_sets


def meeting(families: Iterable[Places], order: Sequence[Place]) -> list[Places]:
    """Smallest sets with a member of each of some sets, the ones with the fewest members first."""
    found: list[Places] = [frozenset()]
    for own in families:
        met = [one for one in found if one & own]
        grown = {one | {place} for one in found if not one & own for place in own}
        found = met + [one for one in grown if not any(other <= one for other in met)]
        found = [one for one in found if not any(other < one for other in found)]
    place = {name: at for at, name in enumerate(order)}
    return sorted(found, key=lambda own: (len(own), sorted(place[one] for one in own)))


class _Shown:
    """A build that keeps all checks but perhaps some: which of these it misses is worked out as far as it is asked."""

    def __init__(self, best: Best, unknown: Places) -> None:
        self._best, self._unknown = best, unknown
        self._missed: Places = frozenset()

    def keeps(self, asked: Places) -> bool:
        """Whether it keeps all of these."""
        while not self._missed & asked and (some := sorted(self._unknown & asked)[:CHECKS_AT_ONCE]):
            self._missed |= self._best.missed(among=some)
            self._unknown -= frozenset(some)
        return not self._missed & asked


@dataclass(frozen=True)
class _Answer:
    """Whether some build does without a set of limits: where none does, `core` are checks left that no build keeps, a
    conflict where `is_conflict`, which is certain to be smallest where `is_sure`. Beside it, what was met on the way.
    """

    core: Places | None
    is_conflict: bool
    is_sure: bool
    shown: tuple[_Shown, ...]
    cores: tuple[Places, ...]


class _Known:
    """What searches have shown: builds by the checks that they do not keep, and conflicts; `cores` are checks that no
    build keeps, though fewer of them may be enough.
    """

    def __init__(self, lists: Lists, pinned: Pinned) -> None:
        self._lists, self._pinned = lists, pinned
        every = [limit for limit in every_limit(lists.job) if limit.check.id not in NEVER_WITHOUT]
        self.order = tuple(limit.place for limit in every)
        self._of_rows = {limit.place for limit in every if limit.is_of_rows}
        self.conflicts: list[Places] = []
        self.cores: list[Places] = []
        self.unsure: set[Places] = set()
        self.is_cut_short = False
        self._unanswered = 0
        self._shown: list[_Shown] = []

    def core(self, asked: Places, at_most: float = math.inf) -> Places | None:
        """None where some build keeps all of these checks, whatever becomes of the others; else some of them that no
        build keeps.
        """
        known = [own for own in (*self.conflicts, *self.cores) if own <= asked]
        if known:
            return min(known, key=len)
        if any(shown.keeps(asked) for shown in self._shown):
            return None
        dropped = frozenset(self.order) - asked
        found = build_or_blame(self._lists, Allowed.without(sorted(dropped), self._pinned), at_most)
        if isinstance(found, Best):
            self._shown.append(_Shown(found, dropped))
            return None
        self.cores.append(found & asked)
        return self.cores[-1]

    def asked(self, without: Places, shrunk: Places, *, from_end: bool) -> _Answer:
        """Whether some build does without some limits; if none does, the core is left with as few of the checks in
        `shrunk` as can be, those at the end of the table left out first with `from_end`. It begins with what is known
        and changes none of it, so that the answer is the same whatever else is asked at the same time.
        """
        own = copy.copy(self)
        own.cores, own._shown, own._unanswered = list(self.cores), list(self._shown), 0
        core = own.core(frozenset(self.order) - without)
        if core is not None:
            core = own._shrunk(core, shrunk, from_end=from_end)
        is_conflict = core is not None and core <= shrunk
        shown, cores = own._shown[len(self._shown) :], own.cores[len(self.cores) :]
        return _Answer(core, is_conflict, not own._unanswered, tuple(shown), tuple(cores))

    def learn(self, answer: _Answer) -> None:
        """Keep what was found."""
        self._shown += answer.shown
        self.cores += answer.cores
        if answer.core is not None and answer.is_conflict and answer.core not in self.conflicts:
            self.conflicts.append(answer.core)
            if not answer.is_sure:
                self.unsure.add(answer.core)
        self.cores = [own for own in self.cores if not any(conflict <= own for conflict in self.conflicts)]

    def _sure_core(self, asked: Places) -> Places | None:
        """As `core`, but None also where it is too much to tell."""
        try:
            return self.core(asked, TOO_MANY)
        except UnansweredError:
            self._unanswered += 1
            return None

    def _shrunk(self, core: Places, among: Places, *, from_end: bool) -> Places:
        """A core without what it can do without of some checks: twice as much is left out each time that this goes well
        and half as much where it does not; what cannot be left out stays. Checks that may be in the core for want of
        knowing better come first.
        """
        stays: list[Place] = []
        step = len(core)
        while left := [place for place in self.sorted(core & among) if place not in stays]:
            left = sorted(left[::-1] if from_end else left, key=self._of_rows.__contains__)
            step = max(1, min(step, (len(left) + 1) // 2))
            tried = left[:step]
            smaller = self._sure_core(core - frozenset(tried))
            if smaller is not None:
                core, step = smaller, step * 2
            elif step == 1:
                stays += tried
            else:
                step //= 2
        return core

    def sorted(self, places: Places) -> tuple[Place, ...]:
        """In the order of the table."""
        return tuple(place for place in self.order if place in places)

    def places(self, own: Iterable[Place]) -> list[int]:
        """Where they stand in the table."""
        return [self.order.index(place) for place in own]

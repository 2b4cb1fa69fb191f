"""Which checks cannot all be kept, and the fewest limits that must move: proven by searches, none guessed.

A *conflict* is a smallest set of checks that no build keeps together: without any one of them, a build keeps the rest.
A *correction* is a smallest set of limits without which a build keeps all else. Every correction holds a member of
every conflict. So each smallest set that meets all conflicts known is tried: either a build shows it to be a
correction, or the checks left hold a conflict not known yet. Sets are tried from the smallest up, so none is missed.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from combo.checks.check import Place
from combo.explain.best import Best, UnansweredError, any_build
from combo.explain.limits import Limit, every_limit, movable
from combo.solve.allowed import Allowed, Pinned
from combo.solve.classes import Lists

Places = frozenset[Place]
NEVER_WITHOUT = frozenset({"rim_diameter"})
"""Checks that no search does without: a tire is only ever looked at on rims of its diameter."""
TOO_MANY = 100_000
"""Groups beyond which it is not proven that a check belongs to a conflict: it is kept in it."""
CONFLICTS = 4
"""How many conflicts are looked for at most on the way to corrections, for each of these that the user asks for."""


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

    `fewest` is how many limits must move at least for a build, and 0 where moving all of them gives none.
    """

    conflicts: tuple[Conflict, ...]
    are_all: bool
    corrections: tuple[tuple[Limit, ...], ...]
    fewest: int


def impasse(lists: Lists, pinned: Pinned, most: int) -> Impasse | None:
    """Why no build holds every check with the parts that are pinned; None where one does. At most so many conflicts,
    and so many corrections, are looked for.
    """
    known = _Known(lists, pinned)
    if known.keeps(frozenset(known.order)):
        return None
    if not known.keeps(frozenset()):
        return Impasse((), True, (), 0)
    may_move = frozenset(limit.place for limit in movable(lists.job))
    corrections, left = _explored(known, may_move, most, CONFLICTS * most)
    fewest = min((len(own) for own in (*corrections, *left)), default=0)
    are_all = not _explored(known, frozenset(known.order), most, most)[1] and not known.unsure
    named = {limit.place: limit for limit in every_limit(lists.job)}
    told = sorted((known.sorted(own) for own in known.conflicts), key=lambda own: (len(own), known.places(own)))
    return Impasse(
        tuple(Conflict(tuple(named[place] for place in own), frozenset(own) not in known.unsure) for own in told),
        are_all,
        tuple(tuple(named[place] for place in known.sorted(own)) for own in corrections), fewest,
    )  # fmt: skip


def _explored(known: _Known, may_move: Places, most: int, conflicts: int) -> tuple[list[Places], list[Places]]:
    """The smallest corrections among some limits, and sets that may be others; conflicts met on the way are kept."""
    found: list[Places] = []
    while True:
        within = [own & may_move for own in known.conflicts]
        open_sets = [own for own in meeting(within, known.order) if own not in found]
        if not open_sets:
            return found, []
        if len(found) >= most or len(known.conflicts) >= conflicts:
            return found, open_sets
        tried = open_sets[0]
        if known.keeps(frozenset(known.order) - tried):
            found.append(tried)
        else:
            known.add_conflict(frozenset(known.order) - tried)


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
        new = self._unknown & asked
        if new and not self._missed & asked:
            self._missed |= self._best.missed(among=new)
            self._unknown -= new
        return not self._missed & asked


class _Known:
    """What searches have shown: builds by the checks that they do not keep, and conflicts."""

    def __init__(self, lists: Lists, pinned: Pinned) -> None:
        self._lists, self._pinned = lists, pinned
        self.order = tuple(limit.place for limit in every_limit(lists.job) if limit.check.id not in NEVER_WITHOUT)
        self.conflicts: list[Places] = []
        self.unsure: set[Places] = set()
        self._unanswered = 0
        self._shown: list[_Shown] = []
        self._in_vain: list[Places] = []

    def keeps(self, asked: Places) -> bool:
        """Whether some build keeps all of these checks, whatever becomes of the others."""
        return self._keeps(asked, math.inf)

    def _may_keep(self, asked: Places) -> bool:
        """As `keeps`, but taken for so where it is too much to tell."""
        try:
            return self._keeps(asked, TOO_MANY)
        except UnansweredError:
            self._unanswered += 1
            return True

    def _keeps(self, asked: Places, at_most: float) -> bool:
        if any(shown.keeps(asked) for shown in self._shown):
            return True
        if any(own <= asked for own in (*self._in_vain, *self.conflicts)):
            return False
        dropped = frozenset(self.order) - asked
        best = any_build(self._lists, Allowed.without(sorted(dropped), self._pinned), at_most)
        if best is None:
            self._in_vain.append(asked)
        else:
            self._shown.append(_Shown(best, dropped))
        return best is not None

    def add_conflict(self, asked: Places) -> None:
        """Find a conflict among checks that no build keeps."""
        before = self._unanswered
        found = frozenset(self._shrunk((), False, self.sorted(asked)))
        self.conflicts.append(found)
        if self._unanswered > before:
            self.unsure.add(found)

    def _shrunk(self, kept: tuple[Place, ...], is_new: bool, asked: tuple[Place, ...]) -> tuple[Place, ...]:
        """The members of a conflict that lie in `asked`, beside those in `kept`, by halves."""
        if is_new and not self._may_keep(frozenset(kept)):
            return ()
        if len(asked) == 1:
            return asked
        one, other = asked[: len(asked) // 2], asked[len(asked) // 2 :]
        of_other = self._shrunk(kept + one, True, other)
        return self._shrunk(kept + of_other, bool(of_other), one) + of_other

    def sorted(self, places: Places) -> tuple[Place, ...]:
        """In the order of the table."""
        return tuple(place for place in self.order if place in places)

    def places(self, own: Iterable[Place]) -> list[int]:
        """Where they stand in the table."""
        return [self.order.index(place) for place in own]


"""Near misses: the best builds that fail one movable limit and nothing else, and what would mend each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from combo.checks.check import Place
from combo.explain.abreast import answered_of_each
from combo.explain.best import Best, Key, best_build, best_builds, failed_of
from combo.explain.limits import Limit, movable, searched_together, that_may_matter
from combo.explain.swaps import Swap, swaps, wanted_by
from combo.solve.allowed import Allowed
from combo.solve.classes import Lists
from combo.solve.clock import CutShortError


@dataclass(frozen=True)
class Near:
    """A build that fails one limit, by how much in the check's unit, and the swaps of one choice that mend it; None
    where these were not found in time.
    """

    limit: Limit
    best: Best
    swaps: tuple[Swap, ...] | None

    @property
    def over(self) -> float:
        """By how much it fails; the limit must give way by as much."""
        return -self.best.margin(self.limit.place)


@dataclass(frozen=True)
class NearMisses:
    """The best builds that fail one limit alone; `unknown` are limits of which it is not known whether others do: the
    search was cut short.
    """

    found: tuple[Near, ...]
    unknown: tuple[Limit, ...]

    @property
    def proven(self) -> bool:
        """Whether these are the best, each with all that mends it."""
        return not self.unknown and all(near.swaps is not None for near in self.found)


def near_misses(lists: Lists, count: int) -> NearMisses:
    """The best `count` builds that fail exactly one movable limit, in the order of the ranking."""
    asked = {limit.place: limit for limit in that_may_matter(lists, movable(lists.job))}
    (missed, unknown), order = _missed(lists, list(asked.values()), count), list(asked)
    found = sorted(missed, key=lambda one: (one[1].key, order.index(one[0])))[:count]
    mended = answered_of_each(lambda one: _swaps(lists, asked[one[0]], one[1]), found)
    told = [Near(asked[place], best, own) for (place, best), own in zip(found, mended, strict=True)]
    return NearMisses(tuple(told), tuple(unknown))


def _missed(lists: Lists, asked: list[Limit], count: int) -> tuple[list[tuple[Place, Best]], list[Limit]]:
    """Builds that fail one limit alone, each with its place, the best `count` among them; and limits that there was no
    time to ask of.

    Most often so many rank before the best build that fails nothing, and searches that begin there end soon. Else
    limits are asked of one after the other until so many are known.
    """
    better: list[tuple[Place, Best]] = []
    try:
        now = best_build(lists)
        if now is not None:
            better, unknown = _abreast(_Nearest(lists, count, now.key), asked)
            if len(better) >= count or unknown:
                return better, unknown
    except CutShortError:
        return better, asked
    nearest, missed, left = _Nearest(lists, count), list[tuple[Place, Best]](), list(asked)
    while left and not nearest.knows_enough():
        try:
            missed += nearest([left[0]])
        except CutShortError:
            return missed, left
        left.pop(0)
    others, unknown = _abreast(nearest, left)
    return missed + others, unknown


def _abreast(nearest: _Nearest, asked: list[Limit]) -> tuple[list[tuple[Place, Best]], list[Limit]]:
    groups = searched_together(asked)
    answers = answered_of_each(nearest, groups)
    unknown = [limit for group, own in zip(groups, answers, strict=True) if own is None for limit in group]
    return [one for own in answers if own is not None for one in own], unknown


class _Nearest:
    """Asks of limits that are searched together which builds fail one of them alone, and which.

    Builds worse than `worst`, or than the K-th best of those that it has seen so far, are left out.
    """

    def __init__(self, lists: Lists, count: int, worst: Key | None = None) -> None:
        self._lists, self._count, self._worst = lists, count, worst
        self._keys: list[Key] = []

    def knows_enough(self) -> bool:
        """Whether it has seen K builds."""
        return len(self._keys) == self._count

    def __call__(self, limits: Sequence[Limit]) -> list[tuple[Place, Best]]:
        worst = self._keys[-1] if self.knows_enough() else self._worst
        found = best_builds(self._lists, Allowed.failing(*(limit.place for limit in limits)), self._count, worst)
        self._keys = sorted([*self._keys, *(best.key for best in found)])[: self._count]
        return [(failed_of(limits, best).place, best) for best in found]


def _swaps(lists: Lists, limit: Limit, best: Best) -> tuple[Swap, ...]:
    return tuple(swaps(lists, best.positions(), wanted_by(limit.check, limit.where)))

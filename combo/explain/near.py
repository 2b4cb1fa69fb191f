"""Near misses: the best builds that fail one movable limit and nothing else, and what would mend each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from combo.checks.check import Place
from combo.explain.abreast import asked_of_each
from combo.explain.best import Best, Key, best_build, best_builds, failed_of
from combo.explain.limits import Limit, movable, searched_together, that_may_matter
from combo.explain.swaps import Swap, swaps, wanted_by
from combo.solve.allowed import Allowed
from combo.solve.classes import Lists


@dataclass(frozen=True)
class Near:
    """A build that fails one limit, by how much in the check's unit, and the swaps of one choice that mend it."""

    limit: Limit
    best: Best
    swaps: tuple[Swap, ...]

    @property
    def over(self) -> float:
        """By how much it fails; the limit must give way by as much."""
        return -self.best.margin(self.limit.place)


def near_misses(lists: Lists, count: int) -> list[Near]:
    """The best `count` builds that fail exactly one movable limit, in the order of the ranking."""
    asked = {limit.place: limit for limit in that_may_matter(lists, movable(lists.job))}
    missed, order = _missed(lists, list(asked.values()), count), list(asked)
    found = sorted(missed, key=lambda one: (one[1].key, order.index(one[0])))[:count]
    mended = asked_of_each(lambda one: _swaps(lists, asked[one[0]], one[1]), found)
    return [Near(asked[place], best, own) for (place, best), own in zip(found, mended, strict=True)]


def _missed(lists: Lists, asked: list[Limit], count: int) -> list[tuple[Place, Best]]:
    """Builds that fail one limit alone, each with its place, the best `count` among them.

    Most often so many rank before the best build that fails nothing, and searches that begin there end soon. Else
    limits are asked of one after the other until so many are known.
    """
    now = best_build(lists)
    better = _abreast(_Nearest(lists, count, now.key), asked) if now is not None else []
    if len(better) >= count:
        return better
    nearest, missed, left = _Nearest(lists, count), [], list(asked)
    while left and not nearest.knows_enough():
        missed += nearest([left.pop(0)])
    return missed + _abreast(nearest, left)


def _abreast(nearest: _Nearest, asked: list[Limit]) -> list[tuple[Place, Best]]:
    return [one for own in asked_of_each(nearest, searched_together(asked)) for one in own]


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

"""Near misses: the best builds that fail one movable limit and nothing else, and what would mend each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from combo.candidates.instance import Instance
from combo.checks.check import Check
from combo.deadline import CutShortError
from combo.explain.best import Best, Key, best_build, best_that_fail, failed_of
from combo.explain.limits import Limit, movable, searched_together, that_may_matter
from combo.explain.swaps import Swap, swaps, wanted_by
from combo.explain.workers import map_in_time

Missed = tuple[Limit, Best]
"""A build that fails a limit alone."""


@dataclass(frozen=True)
class Near:
    """A build that fails one limit, and the swaps of one choice that mend it; None where there was no time for them."""

    limit: Limit
    best: Best
    swaps: tuple[Swap, ...] | None

    @property
    def over(self) -> float:
        """By how much it fails, in the unit of the limit's checks: how far to relax the limit."""
        return self.best.needs(self.limit)

    @property
    def failing(self) -> tuple[Check, ...]:
        """The checks that it fails, all fed by the limit."""
        return tuple(own.check for own in self.limit.fed if self.best.margin(own.place) < 0)


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


def near_misses(instance: Instance, count: int) -> NearMisses:
    """The best `count` builds that fail exactly one movable limit, in the order of the ranking."""
    asked = that_may_matter(instance, movable(instance.job))
    missed, unknown = _missed(instance, asked, count)
    missed.sort(key=lambda one: (one[1].key, asked.index(one[0])))
    first: dict[tuple[object, ...], Missed] = {}
    for limit, best in missed:  # what several limits move is told of the first of them
        first.setdefault(best.name, (limit, best))
    found = list(first.values())[:count]
    mended = map_in_time(lambda one: _swaps(instance, *one), found)
    told = [Near(limit, best, own) for (limit, best), own in zip(found, mended, strict=True)]
    return NearMisses(tuple(told), tuple(unknown))


def _missed(instance: Instance, asked: list[Limit], count: int) -> tuple[list[Missed], list[Limit]]:
    """Builds that fail one limit alone, the best `count` among them, once for each limit that moves what they fail; and
    limits that there was no time to ask of.

    Most often so many rank before the best build that fails nothing, and searches that begin there end soon. Else
    limits are asked of one after the other until so many are known.
    """
    better: list[Missed] = []
    try:
        now = best_build(instance)
        if now is not None:
            better, unknown = _abreast(_Nearest(instance, count, now.key), asked)
            if len({best.name for _, best in better}) >= count or unknown:
                return better, unknown
    except CutShortError:
        return better, asked
    nearest, missed, left = _Nearest(instance, count), list[Missed](), list(asked)
    while left and not nearest.knows_enough():
        try:
            missed += nearest([left[0]])
        except CutShortError:
            return missed, left
        left.pop(0)
    others, unknown = _abreast(nearest, left)
    return missed + others, unknown


def _abreast(nearest: _Nearest, asked: list[Limit]) -> tuple[list[Missed], list[Limit]]:
    groups = searched_together(asked)
    answers = map_in_time(nearest, groups)
    unknown = [limit for group, own in zip(groups, answers, strict=True) if own is None for limit in group]
    return [one for own in answers if own is not None for one in own], unknown


class _Nearest:
    """Asks of limits that are searched together which builds fail one of them alone, and which.

    Builds worse than `worst`, or than the K-th best of those that it has seen so far, are left out.
    """

    def __init__(self, instance: Instance, count: int, worst: Key | None = None) -> None:
        self._lists, self._count, self._worst = instance, count, worst
        self._keys: list[Key] = []
        self._seen: dict[tuple[object, ...], Key] = {}

    def knows_enough(self) -> bool:
        """Whether it has seen K builds."""
        return len(self._keys) == self._count

    def __call__(self, limits: Sequence[Limit]) -> list[Missed]:
        worst = self._keys[-1] if self.knows_enough() else self._worst
        found = best_that_fail(self._lists, limits, self._count, worst)
        self._seen.update({best.name: best.key for best in found})
        self._keys = sorted(self._seen.values())[: self._count]
        return [(failed_of(limits, best), best) for best in found]


def _swaps(instance: Instance, limit: Limit, best: Best) -> tuple[Swap, ...]:
    slots = [slot for own in limit.fed if best.margin(own.place) < 0 for slot in wanted_by(own.check, own.where)]
    return tuple(swaps(instance, best.positions(), dict.fromkeys(slots)))

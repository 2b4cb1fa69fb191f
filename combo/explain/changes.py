"""How little some limits must move together for a build: the smallest share of their scales, and the build."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from combo.candidates.instance import Instance
from combo.candidates.relaxed_limits import Pinned, RelaxedLimits, resolution, short_of
from combo.deadline import CutShortError
from combo.explain.best import Best, any_build, best_build
from combo.explain.limits import Limit, amounts_of, by_place

FAR = 1e6
"""A share of its scale that is beyond every limit's last move: only what is not measured needs more."""

Moves = Mapping[Limit, float]
"""By how much limits move, in the unit of their checks."""


@dataclass(frozen=True)
class Change:
    """Limits moved together: by how much each, in its checks' unit, and the best build there is then.

    No limit of it can move less while the others move as much, but where the search was cut short and it is not known
    whether it `is_smallest`. `share` is the largest move for its limit's scale; a yes or no is given up, and so is
    (with NaN) what a strict job has not measured.
    """

    limits: tuple[Limit, ...]
    moved: tuple[float, ...]
    share: float
    best: Best
    is_smallest: bool = True


def smallest_change(
    instance: Instance, limits: tuple[Limit, ...], pinned: Pinned, below: float = math.inf
) -> Change | None:
    """The move of limits that gives a build with the smallest share of their scales, and then each limit by as little
    as the others let it, in the order of the table; None where no share below so much does.
    """
    asked = _Asked(instance, limits, pinned)
    found = asked.build(asked.short_of(min(below, FAR)))
    if found is None:
        return None if below < FAR else asked.given_up()
    found = asked.least(asked.all_moved, asked.short_of, asked.share, found)
    share = asked.share(found)
    moves = asked.each_at_least(asked.all_moved(share), found)
    best = asked.best(moves, found)
    told = tuple(moves[limit] if limit in asked.scales else best.needs(limit) for limit in limits)
    return Change(limits, told, share, best, not asked.is_cut_short)


class _Asked:
    """Questions of a job's lists where some limits move; those without a scale are given up."""

    def __init__(self, instance: Instance, limits: tuple[Limit, ...], pinned: Pinned) -> None:
        self._lists, self._limits, self._pinned = instance, limits, pinned
        self.is_cut_short = False
        self.scales = {limit: scale for limit in limits if (scale := limit.scale(instance.job)) is not None}

    def build(self, moves: Moves) -> Best | None:
        """Some build where limits move by so much."""
        return any_build(self._lists, self._allowed(moves))

    def best(self, moves: Moves, known: Best) -> Best:
        """The best build where limits move by so much; one is known."""
        try:
            best = best_build(self._lists, self._allowed(moves), known)
        except CutShortError:
            self.is_cut_short = True
            return known
        assert best is not None
        return best

    def given_up(self) -> Change | None:
        """The limits given up altogether; None where even that gives no build."""
        moves = dict.fromkeys(self._limits, math.inf)
        found = self.build(moves)
        if found is None:
            return None
        best = self.best(moves, found)
        return Change(self._limits, tuple(best.needs(limit) for limit in self._limits), math.inf, best)

    def all_moved(self, share: float) -> Moves:
        """All limits moved by a share of their scales."""
        return {limit: share * self.scales.get(limit, math.inf) for limit in self._limits}

    def short_of(self, share: float) -> Moves:
        """All limits moved as far as each can be without reaching a share of its scale."""
        return {
            limit: _short_of(limit, share * self.scales[limit]) if limit in self.scales else math.inf
            for limit in self._limits
        }

    def share(self, best: Best) -> float:
        """The share of their scales by which all limits must move for a build; two that move a check share it."""
        found = 0.0
        for place, limits in by_place(self._limits).items():
            lacks = -best.margin(place)
            if lacks > 0.0 and all(limit in self.scales for limit in limits):
                found = max(found, lacks / sum(self.scales[limit] for limit in limits))
        return found

    def each_at_least(self, moves: Moves, found: Best) -> Moves:
        """Each limit in turn moved by as little as the others let it."""
        least = dict(moves)
        for limit in self.scales:
            found = self._one_at_least(limit, least, found)
            least[limit] = max(0.0, found.needs(limit, _others(limit, least)))
        return least

    def _one_at_least(self, limit: Limit, moves: Moves, found: Best) -> Best:
        """A build for which one limit moves as little as the others let it."""
        others = _others(limit, moves)

        def needed(best: Best) -> float:
            return max(0.0, best.needs(limit, others))

        return self.least(
            lambda by: {**moves, limit: by}, lambda by: {**moves, limit: _short_of(limit, by)}, needed, found
        )

    def least(
        self,
        moved: Callable[[float], Moves],
        short_of_it: Callable[[float], Moves],
        needed: Callable[[Best], float],
        found: Best,
    ) -> Best:
        """The build that needs least of something, from one that is known on; where the search is cut short, the one
        that needs least of those found.

        A build that is found tells what it needs; just short of that is asked next, and then half as far, until nothing
        is found just short of it.
        """
        low = 0.0
        try:
            while needed(found) > 0.0:
                less = self.build(short_of_it(needed(found)))
                if less is None or needed(less) >= needed(found):  # a tie in rounding is no step
                    break
                found, half = less, (low + needed(less)) / 2.0
                nearer = self.build(moved(half))
                if nearer is None:
                    low = half
                else:
                    found = nearer
        except CutShortError:
            self.is_cut_short = True
        return found

    def _allowed(self, moves: Moves) -> RelaxedLimits:
        # what floats may lose of an amount: far less than half a step, which is what the rounding of a margin may add
        given = {limit: by + resolution(limit.check) / 1000.0 for limit, by in moves.items()}
        return RelaxedLimits(amounts_of(given), pinned=self._pinned)


def _short_of(limit: Limit, by: float) -> float:
    return max(0.0, short_of(limit.check, by))


def _others(limit: Limit, moves: Moves) -> dict[tuple[str, str], float]:
    return amounts_of({own: by for own, by in moves.items() if own is not limit})

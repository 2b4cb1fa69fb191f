"""Near misses: the best builds that fail one movable limit and nothing else, and what would mend each."""

from __future__ import annotations

from dataclasses import dataclass

from combo.explain.best import Best, best_builds
from combo.explain.limits import Limit, movable, that_may_matter
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
    """The best `count` builds that fail exactly one movable limit, in the order of the ranking.

    Each limit is searched for builds that fail it and hold all else; those worse than the K-th best of the limits
    before are left out, so that most searches end at once.
    """
    found: list[tuple[Limit, Best]] = []
    for limit in that_may_matter(lists, movable(lists.job)):
        worst = found[count - 1][1].key if len(found) == count else None
        own = best_builds(lists, Allowed.failing(limit.place), count, worst)
        found = sorted(found + [(limit, best) for best in own], key=lambda each: each[1].key)[:count]
    return [Near(limit, best, tuple(swaps(lists, best.positions(), wanted_by(limit.check, limit.where))))
            for limit, best in found]  # fmt: skip

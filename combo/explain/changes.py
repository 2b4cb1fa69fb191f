"""How little some limits must move together for a build: the smallest share of their scales, and the build."""

from __future__ import annotations

import math
from dataclasses import dataclass

from combo.checks.check import Place, axle_at
from combo.explain.best import Best, any_build, best_build
from combo.explain.limits import Limit
from combo.job import Job
from combo.solve.allowed import Allowed, Pinned, resolution, short_of
from combo.solve.classes import Lists


@dataclass(frozen=True)
class Change:
    """Limits moved together: by how much each, in its check's unit, and the best build there is then.

    `share` is the largest move for its check's scale; limits without a scale (a yes or no) are given up.
    """

    limits: tuple[Limit, ...]
    moved: tuple[float, ...]
    share: float
    best: Best


def smallest_change(lists: Lists, limits: tuple[Limit, ...], pinned: Pinned) -> Change:
    """The move of limits that gives a build with the smallest share of their scales, all moved by the same share.

    A build that is found tells what it needs; just short of that is asked next, and then half as far, until nothing is
    found just short of it.
    """
    scales = _scales(lists.job, limits)
    found, low = any_build(lists, _allowed(limits, scales, math.inf, pinned)), 0.0
    assert found is not None
    while scales:
        less = any_build(lists, _short_of(limits, scales, _needed(found, scales), pinned))
        if less is None or _needed(less, scales) >= _needed(found, scales):  # a tie in rounding is no step
            break
        found, half = less, (low + _needed(less, scales)) / 2.0
        nearer = any_build(lists, _allowed(limits, scales, half, pinned))
        if nearer is None:
            low = half
        else:
            found = nearer
    share = _needed(found, scales)
    best = best_build(lists, _allowed(limits, scales, share, pinned), found)
    assert best is not None
    return Change(limits, tuple(-best.margin(limit.place) for limit in limits), share, best)


def _scales(job: Job, limits: tuple[Limit, ...]) -> dict[Place, float]:
    """What the moves of limits are measured against, as their margins are; those without are not in it."""
    return {limit.place: float(limit.check.scale(job, axle_at(limit.where))) for limit in limits
            if limit.check.scale is not None and limit.check.unit != "yes_no"}  # fmt: skip


def _allowed(limits: tuple[Limit, ...], scales: dict[Place, float], share: float, pinned: Pinned) -> Allowed:
    """All limits moved by a share of their scales."""
    return Allowed({
        limit.place: share * scales[limit.place] + _noise(limit) if limit.place in scales else math.inf
        for limit in limits
    }, pinned=pinned)  # fmt: skip


def _short_of(limits: tuple[Limit, ...], scales: dict[Place, float], share: float, pinned: Pinned) -> Allowed:
    """All limits moved as far as each can be without reaching a share of its scale."""

    def most(limit: Limit) -> float:
        return max(0.0, short_of(limit.check, share * scales[limit.place])) + _noise(limit)

    return Allowed({limit.place: most(limit) if limit.place in scales else math.inf for limit in limits}, pinned=pinned)


def _noise(limit: Limit) -> float:
    """What floats may lose of an amount: far less than half a step, which is what the rounding of a margin may add."""
    return resolution(limit.check) / 1000.0


def _needed(best: Best, scales: dict[Place, float]) -> float:
    """The share of their scales by which limits must move for a build."""
    return max((-best.margin(place) / scale for place, scale in scales.items()), default=0.0)

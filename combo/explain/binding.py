"""The check that truly stops a better build, beside the one that is merely the tightest.

A check stops a build where some other, which fails that check alone, would rank before it. Of the checks that stop a
build the one with the least room in it for its scale binds; where none does, it is the tightest of all.
"""

from __future__ import annotations

from dataclasses import replace

from combo.candidates.builds import keys
from combo.candidates.instance import Instance
from combo.checks.check import ConstraintId, Verdict
from combo.checks.run import Result
from combo.deadline import CutShortError
from combo.explain.best import Key, first_that_fail
from combo.explain.limits import Limit, every_check, that_may_matter
from combo.search.topk import Ranking, binding


def with_stops(instance: Instance, ranking: Ranking) -> Ranking:
    """The ranking with the check that stops each build as the one that binds; `tightest` stays the tightest.

    What may not be moved is asked too: it is told, never offered. Raises CutShortError where that takes too long.
    """
    own = _keys(ranking)
    if not own:
        return ranking
    first = _first_without(instance, max(own))
    ranked = []
    for build, key in zip(ranking.ranked, own, strict=True):
        stopping = {place for place, better in first.items() if better < key}
        found = binding(tuple(result for result in build.checks if _is_among(result, stopping)))
        ranked.append(replace(build, binding=found or build.tightest))
    return replace(ranking, ranked=tuple(ranked))


def _keys(ranking: Ranking) -> list[Key]:
    """First levels of the key of each listed build, the smaller the better."""
    levels = len(ranking.space.levels)
    found = -keys(ranking.space, ranking.builds)[:, :levels]
    return [tuple(found[build.at].tolist()) for build in ranking.ranked]


def _first_without(instance: Instance, worst: Key) -> dict[ConstraintId, Key]:
    """By check with a scale, the key of the first build that fails it alone, where it ranks before the worst listed."""
    scaled = [Limit.of_check(own) for own in every_check(instance.job) if own.check.scale is not None]
    found, unknown = first_that_fail(instance, that_may_matter(instance, scaled), worst)
    if unknown:
        raise CutShortError
    return {limit.places[0]: best.key for limit, best in found.items()}


def _is_among(result: Result, places: set[ConstraintId]) -> bool:
    return (result.check.id, result.where) in places and result.verdict is not Verdict.FAIL

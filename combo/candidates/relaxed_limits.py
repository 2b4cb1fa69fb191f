"""What checks may fail by, and which parts are wanted: how "what if" is put to the search.

Nothing of a check itself changes, neither its margins nor the points that they earn: a build that fails by no more than
it is allowed to is searched for among those that hold, and shown with the failure that it has.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from combo.checks.check import DECIMALS, Check, ConstraintId, is_accepted
from combo.job import Job

Slot = tuple[str, str]
"""Where a part goes: "front", "rear" or "drive", and its kind."""
BUDGET: ConstraintId = ("budget", "truck")
REAR_LOAD: ConstraintId = ("rear_load", "rear")
START_GRADE: ConstraintId = ("start_grade", "rear")
PULL: ConstraintId = ("pull", "truck")
_PPM = 1_000_000
_NOISE, _DIGITS = 1e-6, 9
"""Of a step at a check's resolution, what floats lose; and the digits to which a multiple of it is rounded."""


@dataclass(frozen=True)
class Pinned:
    """Parts of which every build must have one: positions in the lists by place ("front", "rear" or "drive") and kind,
    of spacers -1 for none; and how many of an item must at least be aboard, by its SKU and station, "" for any.
    """

    parts: Mapping[Slot, frozenset[int]] = field(default_factory=dict)
    aboard: Mapping[tuple[str, str], int] = field(default_factory=dict)

    def keeps(self, place: str, kind: str, at: NDArray[np.int64]) -> NDArray[np.bool_]:
        """Which of these positions of a kind may stand in a place."""
        wanted = self.parts.get((place, kind))
        return np.ones(len(at), dtype=bool) if wanted is None else np.isin(at, sorted(wanted))


@dataclass(frozen=True)
class RelaxedLimits:
    """By how much a check may fail, in its own unit; infinite where it is not made at all, and negative where it must
    hold with so much to spare. Every other must hold. Where `failed` names a check, only builds that fail it are looked
    for; where it names several, all of the whole build, only those that fail exactly one of them. Only builds with the
    parts that are pinned are.
    """

    by: Mapping[ConstraintId, float] = field(default_factory=dict)
    failed: frozenset[ConstraintId] = frozenset()
    pinned: Pinned = Pinned()

    @staticmethod
    def without(places: Iterable[ConstraintId], pinned: Pinned = Pinned()) -> RelaxedLimits:
        """What is allowed where some checks are not made."""
        return RelaxedLimits(dict.fromkeys(places, math.inf), pinned=pinned)

    @staticmethod
    def failing(*places: ConstraintId, by: float = math.inf) -> RelaxedLimits:
        """For builds that fail one check, or one of several of the whole build, by no more than so much, and hold every
        other.
        """
        return RelaxedLimits(dict.fromkeys(places, by), frozenset(places))

    @property
    def key(self) -> tuple[Any, ...]:
        """What tells it from any other."""
        pinned = frozenset(self.pinned.parts.items()), frozenset(self.pinned.aboard.items())
        return frozenset(self.by.items()), self.failed, *pinned

    def of(self, check: Check, where: str) -> float:
        """By how much a check may fail there."""
        return self.at((check.id, where))

    def at(self, place: ConstraintId) -> float:
        """By how much the check of a place may fail."""
        return self.by.get(place, 0.0)

    def is_dropped(self, check: Check, where: str) -> bool:
        """Whether a check is not made there."""
        return math.isinf(self.of(check, where)) and not self.must_fail(check, where)

    def must_fail(self, check: Check, where: str) -> bool:
        """Whether only builds that fail the check there, or another one such, are looked for."""
        return (check.id, where) in self.failed

    def holds(self, check: Check, where: str, margin: Any, *, strict: bool) -> NDArray[np.bool_]:
        """Where judged margins hold well enough, or fail where they must; what is not known holds unless strict."""
        if self.is_dropped(check, where):
            return np.ones(np.shape(margin), dtype=bool)
        right = is_accepted(margin, strict=strict, least=-self.of(check, where))
        return right & np.less(margin, 0.0) if self.must_fail(check, where) else right

    def in_job(self, job: Job) -> Job:
        """The job with its wanted start and pull as steep as they must be, for the lines that stand for them."""
        wanted, by = job.targets.start_grade_ppm, self.at(START_GRADE)
        least = 0 if math.isinf(by) else max(0, wanted - round(by * _PPM))
        pull = 0 if self.at(PULL) or PULL in self.failed else job.targets.pull_grade_ppm
        if (least, pull) == (wanted, job.targets.pull_grade_ppm):
            return job
        targets = dataclasses.replace(job.targets, start_grade_ppm=least, pull_grade_ppm=pull)
        return dataclasses.replace(job, targets=targets)


NOTHING = RelaxedLimits()


def resolution(check: Check) -> float:
    """The smallest difference between two margins of a check, in its unit."""
    return float(10.0 ** -DECIMALS[check.unit])


def at_most(check: Check, amount: float) -> float:
    """The largest amount at a check's resolution that is no more than this."""
    unit = resolution(check)
    return round(math.floor(amount / unit + _NOISE) * unit, _DIGITS)


def short_of(check: Check, amount: float) -> float:
    """The largest amount at a check's resolution that is less than this."""
    unit = resolution(check)
    return round((math.ceil(amount / unit - _NOISE) - 1) * unit, _DIGITS)

"""Whole-build checks that weigh one total against another, with what a plus-or-minus must leave between them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from combo.candidates.relaxed_limits import RelaxedLimits
from combo.checks.check import DECIMALS, Check, compared
from combo.checks.judge import Shifts, is_nominal, weighing_losses, whole
from combo.checks.run import asked_checks
from combo.checks.table import Columns
from combo.checks.totals import OF_WHOLE, TOTALS
from combo.formulas.chance import allowance
from combo.job import Job

Floats = NDArray[np.float64]
_LOOSE_G = 2.0
"""What a loose bar gives beyond the rounding of its totals."""


@dataclass(frozen=True)
class LinearConstraint:
    """One such check, in the totals' whole units: it holds when `room` is zero or more.

    A check of more than two totals has one, too, which `is_loose`: what holds the check has that room, not the reverse.
    `reserve` is what the room loses to plus-or-minus where the job asks for the worst case or a chance, less what the
    check may fail by; `slack` half the resolution at which the shown margin is rounded, so that what holds here is what
    is shown to hold.
    """

    check: Check
    reserve: float
    slack: float
    total: str
    bound: str
    is_loose: bool = False

    @property
    def totals(self) -> tuple[str, str]:
        """Names of the totals that it weighs."""
        return self.total, self.bound

    @property
    def weighs_whole(self) -> bool:
        """Whether a total of it is worked out of whole builds, which takes longest."""
        return not OF_WHOLE.keys().isdisjoint(self.totals)

    @property
    def key(self) -> tuple[str, str, str]:
        """What tells it from any other."""
        return self.check.id, self.check.where, self.total

    def room(self, sums: Mapping[str, Any]) -> Floats:
        """Room left in builds of these totals: negative fails, NaN is unverified."""
        room = compared(self.check, *(sums[name] for name in self.totals)).margin
        return np.asarray(room + self.slack - self.reserve)

    def room_of_truck(self, starts: Mapping[str, float]) -> float:
        """What the truck alone brings to the room, by its totals; infinite where that leaves the check unverified."""
        room = float(self.room(starts))
        return math.inf if math.isnan(room) else room

    def room_of_rows(self, job: Job, kind: str, rows: Columns) -> Floats:
        """What each row of a kind ("front", "rear", "drive" or "slot") adds to the room."""
        adds = (TOTALS[name].adds(job, kind, rows) for name in self.totals)
        total, bound = (np.zeros(len(rows)) if own is None else own for own in adds)
        return np.asarray(compared(self.check, total, bound).margin)

    def most_room_of_rows(self, job: Job, kind: str, rows: Columns) -> Floats:
        """What each row may add to the room; without end where that is not known."""
        room = self.room_of_rows(job, kind, rows)
        return np.where(np.isnan(room), np.inf, room)


def linear_constraints(job: Job, shifts: Shifts, allowed: RelaxedLimits) -> tuple[LinearConstraint, ...]:
    """The bars that the job asks for, as far as they may not be failed; a loose one only while its limit stays."""
    return tuple(
        _bar(job, check, total, bound, shifts, allowed)
        for check in asked_checks(job, "build")
        if _has_bar(check, allowed)
        for total, bound in ((check.total, check.bound), (check.other_total, check.other_bound or check.bound))
        if total
    )


def _has_bar(check: Check, allowed: RelaxedLimits) -> bool:
    by = allowed.of(check, check.where)
    if not check.total or math.isinf(by):
        return False
    return check.sides is None or not (by or allowed.must_fail(check, check.where))


def _bar(job: Job, check: Check, total: str, bound: str, shifts: Shifts, allowed: RelaxedLimits) -> LinearConstraint:
    if check.sides is not None:
        return LinearConstraint(check, 0.0, _LOOSE_G, total, bound, is_loose=True)
    reserve = _reserve(job, check, shifts) - whole(check, allowed.of(check, check.where))
    return LinearConstraint(check, reserve, _slack(check), total, bound)


def _reserve(job: Job, check: Check, shifts: Shifts) -> float:
    if is_nominal(job):
        return 0.0
    worst = shifts.worst.get((check.id, check.where), 0.0)
    if job.targets.fit == "worst":
        return worst
    losses = [np.array(loss) for loss in weighing_losses(check, shifts)]
    return min(worst, whole(check, float(allowance(losses, float(job.targets.fit)))))


def _slack(check: Check) -> float:
    one = 1000.0 if check.unit == "kg" else 1.0
    return 0.5 * 10.0 ** -DECIMALS[check.unit] * one / check.share if DECIMALS[check.unit] else 0.0

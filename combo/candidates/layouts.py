"""Which ballast layouts may lie: the plan's own limits, and the checks of the layout (floor, ties).

All of them are monotone: what may lie, may lie with an item less. So a partial layout that may not is never filled up.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from combo.algorithms.packing import Doubt
from combo.arrays import find, numbered_rows, repeated
from combo.candidates.relaxed_limits import RelaxedLimits
from combo.checks.ballast import OfLayouts
from combo.checks.check import Check, is_accepted
from combo.checks.run import asked_checks
from combo.checks.table import Given
from combo.formulas.rounding import half_up
from combo.job import Job
from combo.units import POUND_KG

Ints = NDArray[np.int64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class BallastLimit:
    """One limit on the counts of the slots: at most `most` of the sum of `each` over the slots; `words` name it."""

    each: Ints
    most: int
    words: str


def ballast_limits(job: Job, slots: Given) -> list[BallastLimit]:
    """Number of items in all, stock of each item over all stations, load of each station."""
    plan = job.ballast
    limits = [BallastLimit(np.ones(len(slots), dtype=np.int64), plan.max_items, f"{plan.max_items} items in all")]
    stock = dict(zip(slots["ballast.sku"], slots["ballast.max_count"].tolist(), strict=True))
    for sku, most in stock.items():
        if not np.isnan(most):
            here = (slots["ballast.sku"] == sku).astype(np.int64)
            limits.append(BallastLimit(here, int(most), f"{most:.0f} of {sku}"))
    for station in plan.stations:
        if not np.isnan(station.max_mass_kg):
            grams = (slots["slot.mass_g"] * (slots["station.name"] == station.name)).astype(np.int64)
            most_g = int(half_up(station.max_mass_kg * 1000.0))
            limits.append(BallastLimit(grams, most_g, _mass_words(most_g, station.name)))
    return limits


def _mass_words(most_g: int, station: str) -> str:
    return f"{most_g / 1000.0 / POUND_KG:.0f} lb ({most_g / 1000.0:.1f} kg) {station}"


class _AtStation:
    """What may lie at one station, whatever lies at others: each answer is worked out once, and kept."""

    def __init__(self, job: Job, slots: Given, here: Ints, checks: list[Check]) -> None:
        own = slots.take(here)
        self.here, self._is_strict = here, job.job.strict
        self._checks: list[OfLayouts] = [check.sides(job, own) for check in checks if check.sides is not None]
        self._answers: dict[Doubt, tuple[Ints, Mask]] = {}

    def may_lie(self, counts: Ints, doubt: Doubt) -> Mask:
        """Which rows of counts, shape (layouts, slots), may lie here, by what lies here alone."""
        number, first = numbered_rows(counts[:, self.here])
        laid = counts[first][:, self.here]
        known, answers = self._answers.get(doubt, (laid[:0], np.zeros(0, dtype=bool)))
        at = find(known, laid)
        if (new := laid[at < 0]).size:
            known, answers = np.concatenate([known, new]), np.concatenate([answers, self._asked(new, doubt)])
            self._answers[doubt], at = (known, answers), find(known, laid)
        return np.asarray(answers[at][number])

    def _asked(self, laid: Ints, doubt: Doubt) -> Mask:
        right = np.ones(len(laid), dtype=bool)
        for sides in self._checks:
            right &= is_accepted(np.asarray(sides(laid, doubt).margin), strict=self._is_strict)
        return right


@dataclass(frozen=True)
class LayoutRules:
    """The rules that every layout must keep: limits over all stations, and checks of each; and of those that may lie,
    which are wanted: they fail what must fail, and have the items aboard that must be.
    """

    limits: tuple[BallastLimit, ...]
    stations: tuple[_AtStation, ...]
    failed: tuple[OfLayouts, ...] = ()
    aboard: tuple[tuple[Ints, int], ...] = ()
    _filled: dict[tuple[int, ...], list[Ints]] = field(default_factory=dict, repr=False, compare=False)

    def keep_limits(self, counts: Ints) -> Mask:
        """Which rows of counts, shape (layouts, slots), keep the plan's own limits: quickly asked."""
        each, most = self._limits
        return np.asarray((counts.astype(float) @ each <= most).all(axis=1))  # floats are exact here, and far quicker

    def filled_up(self, layouts: Ints, slot: int, most: int) -> Ints:
        """Layouts that may lie with every count of a slot that was empty, as far as the plan's own limits go."""
        each, limit = self._limits
        counts = each[slot] > 0
        room = limit[counts] - layouts.astype(float) @ each[:, counts]
        ways = (room // each[slot, counts]).min(axis=1, initial=most).astype(np.int64) + 1
        at, count = repeated(ways)
        filled: Ints = layouts[at]
        filled[:, slot] = count
        return filled

    @functools.cached_property
    def _limits(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        each = np.column_stack([limit.each for limit in self.limits]).astype(float)
        return each, np.array([limit.most for limit in self.limits], dtype=float)

    def may_lie_beside(self, slot: int, counts: Ints, doubt: Doubt) -> Mask:
        """Which rows of counts may lie at the station of a slot; enough where all else was found to lie before."""
        station = next(own for own in self.stations if slot in own.here)
        return station.may_lie(counts, doubt)

    def may_lie(self, counts: Ints, doubt: Doubt = "solve") -> Mask:
        """Which rows of counts may lie: they keep the limits and fail no check of the layout; `doubt` is what to take
        where only the solver could tell whether items fit.
        """
        right = self.keep_limits(counts)
        for station in self.stations:
            at = np.flatnonzero(right)
            right[at] = station.may_lie(counts[at], doubt)
        return right

    def filled(self, order: Ints, most: Ints) -> list[Ints]:
        """Layouts on the way from no ballast to all there is room for, an item at a time, slots in the given order."""
        key = tuple(order.tolist())
        if key not in self._filled:
            layout = np.zeros(len(most), dtype=np.int64)
            steps: list[Ints] = []
            for slot in order:
                longer = layout + np.outer(np.arange(1, most[slot] + 1), np.arange(len(most)) == slot)
                steps += list(longer[self.may_lie(longer, "fails")])
                layout = steps[-1] if steps else layout
            self._filled[key] = steps
        return self._filled[key]

    def are_wanted(self, counts: Ints, doubt: Doubt = "solve") -> Mask:
        """Which rows of counts, of those that may lie, are looked for."""
        wanted = np.ones(len(counts), dtype=bool)
        for each, least in self.aboard:
            wanted &= counts @ each >= least
        for sides in self.failed:
            at = np.flatnonzero(wanted)
            wanted[at] = np.less(sides(counts[at], doubt).margin, 0.0)
        return wanted


def layout_rules(job: Job, slots: Given, allowed: RelaxedLimits) -> LayoutRules:
    """The rules of a job for its slots; a check of the layout holds, is not made, or must fail."""
    asked = [check for check in asked_checks(job, "layout") if not allowed.is_dropped(check, "truck")]
    holding, failing = (
        [check for check in asked if allowed.must_fail(check, "truck") == must_fail] for must_fail in (False, True)
    )
    aboard = [(_slots_of(slots, *wanted), least) for wanted, least in allowed.pinned.aboard.items()]
    names = slots["station.name"]
    stations = [_AtStation(job, slots, np.flatnonzero(names == name), holding) for name in dict.fromkeys(names)]
    failed = [check.sides(job, slots) for check in failing if check.sides is not None]
    return LayoutRules(tuple(ballast_limits(job, slots)), tuple(stations), tuple(failed), tuple(aboard))


def _slots_of(slots: Given, sku: str, station: str) -> Ints:
    """1 for each slot of an item, at a station where one is named."""
    own = (slots["ballast.sku"] == sku) & ((slots["station.name"] == station) | (station == ""))
    return np.asarray(own, dtype=np.int64)


def with_reachable_counts(job: Job, slots: Given, allowed: RelaxedLimits) -> Given:
    """Slots whose `slot.most` is no less than what may lie there with nothing else aboard."""
    rules, most = layout_rules(job, slots, allowed), slots["slot.most"].copy()
    for slot in range(len(most)):
        alone = np.zeros((int(most[slot]) + 1, len(most)), dtype=np.int64)
        alone[:, slot] = np.arange(len(alone))
        most[slot] = int(np.flatnonzero(rules.may_lie(alone, "fits")).max())
    return slots.with_columns({"slot.most": most})

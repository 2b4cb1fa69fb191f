"""Checks that leave no corner of an axle, or no drive, of all the parts there are: seen without a search.

Most of what is asked to find out why nothing fits is settled so. Few checks are named: those that drop something of the
one table that is left empty.
"""

from __future__ import annotations

import itertools
from collections.abc import Collection, Hashable, Mapping
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from combo.arrays import every_pair
from combo.candidates.instance import Axis, Instance
from combo.candidates.relaxed_limits import NOTHING, Pinned, RelaxedLimits
from combo.checks.check import Check, ConstraintId
from combo.checks.rows import NO_SPACER, Index
from combo.checks.run import asked_checks
from combo.job import AXLES, Axle
from combo.search.filter import rim_codes

Mask = NDArray[np.bool_]
T = TypeVar("T", bound=Hashable)
CELLS = 1_000_000
"""Combinations of parts up to which all of them are looked at."""


def quick_core(instance: Instance, allowed: RelaxedLimits) -> frozenset[ConstraintId] | None:
    """Checks of corners or drives that leave none of them, whatever becomes of all other checks; None where some are
    left of each, or where there are too many to look at.
    """
    tables = [_corners(instance, allowed.pinned, axle) for axle in AXLES]
    found = [None if table is None else table.left_by(allowed) for table in tables]
    drives, rear = _drives(instance, allowed.pinned), found[-1]
    if drives is not None:
        own = drives.left_by(allowed)
        found.append(own if rear is None or not own.rows.any() else own.on_tires(rear))
    empty = [left.dropping for left in found if left is not None and not left.rows.any()]
    return min(empty, key=len, default=None)


def trivial_conflicts(
    instance: Instance,
    pinned: Pinned,
    moved_by: Mapping[ConstraintId, tuple[T, ...]],
    without: Collection[ConstraintId],
) -> list[frozenset[T]]:
    """Every limit that leaves no corner of an axle, or no drive, by itself, and every two that do so together.

    `moved_by` names the limits that move a check: it is kept where all of them are. One that no limit moves always is,
    but for those of `without`.
    """
    found: list[frozenset[T]] = []
    for table in (*(_corners(instance, pinned, axle) for axle in AXLES), _drives(instance, pinned)):
        if table is not None:
            found += table.trivial_conflicts(moved_by, without)
    return sorted(dict.fromkeys(found), key=len)


@dataclass(frozen=True)
class _Left:
    """What is left of a table, and the checks that dropped something that was left."""

    rows: Mask
    dropping: frozenset[ConstraintId]

    def on_tires(self, rear: _Left) -> _Left:
        """Drives that stand on a tire of a rear corner."""
        tires = np.asarray(rear.rows.any(axis=0), dtype=bool)
        return _Left(self.rows & tires[:, np.newaxis], self.dropping | rear.dropping)


@dataclass(frozen=True)
class _Table:
    """Every combination of two axes: wheels on spacers and tires, or tires and gear sets with differentials.

    `belong` tells which there are at all, whatever is checked.
    """

    instance: Instance
    axle: Axle
    checks: tuple[Check, ...]
    axes: tuple[Axis, Axis]
    belong: Mask

    def left_by(self, allowed: RelaxedLimits) -> _Left:
        """What the checks leave, one after another, until nothing is left."""
        left, dropping = self.belong, list[ConstraintId]()
        for check in self.checks:
            if left.any() and not allowed.is_dropped(check, self.axle):
                kept = left & self._holds(check, allowed)
                if not np.array_equal(kept, left):
                    dropping.append((check.id, self.axle))
                left = kept
        return _Left(left, frozenset(dropping))

    def trivial_conflicts(
        self, moved_by: Mapping[ConstraintId, tuple[T, ...]], without: Collection[ConstraintId]
    ) -> list[frozenset[T]]:
        """Limits that by themselves, or two together, leave nothing, and no fewer do."""
        kept: dict[frozenset[T], Mask] = {frozenset(): self.belong}
        for check in self.checks:
            place = check.id, self.axle
            if place not in without:
                limits = frozenset(moved_by.get(place, ()))
                kept[limits] = kept.get(limits, self.belong) & self._holds(check, NOTHING)

        def is_empty(*limits: T) -> bool:
            return not np.logical_and.reduce([own for of, own in kept.items() if of <= frozenset(limits)]).any()

        if is_empty():
            return []
        every = list(dict.fromkeys(limit for of in kept for limit in of))
        alone = [limit for limit in every if is_empty(limit)]
        pairs = itertools.combinations([limit for limit in every if limit not in alone], 2)
        return [frozenset({limit}) for limit in alone] + [frozenset(both) for both in pairs if is_empty(*both)]

    def _holds(self, check: Check, allowed: RelaxedLimits) -> Mask:
        strict, margins = self.instance.job.job.strict, self.instance.margins(check, self.axle, self.axes)
        return margins.made(lambda own: allowed.holds(check, self.axle, own, strict=strict)).full()


def _corners(instance: Instance, pinned: Pinned, axle: Axle) -> _Table | None:
    """Wheels on spacers with tires of their rim diameter."""
    parts = instance.parts
    wheels, tires = (_wanted(pinned, axle, kind, len(parts.of_kind(kind))) for kind in ("wheel", "tire"))
    spacers = _wanted(pinned, axle, "spacer", len(parts.spacers), NO_SPACER)
    if len(wheels) * len(spacers) * len(tires) > CELLS:
        return None
    mounted = Axis(zip(("wheel", "spacer"), every_pair(wheels, spacers), strict=True))
    belong = rim_codes(parts, "wheel")[mounted["wheel"]][:, np.newaxis] == rim_codes(parts, "tire")[tires]
    return _Table(instance, axle, asked_checks(instance.job, "corner", axle), (mounted, Axis(tire=tires)), belong)


def _drives(instance: Instance, pinned: Pinned) -> _Table | None:
    """Gear sets with differentials on tires at the rear."""
    tires = _wanted(pinned, "rear", "tire", len(instance.parts.tires))
    ratios, differentials = (
        _wanted(pinned, "drive", kind, len(instance.parts.of_kind(kind))) for kind in ("ratio", "differential")
    )
    if len(tires) * len(ratios) * len(differentials) > CELLS:
        return None
    gears = Axis(zip(("ratio", "differential"), every_pair(ratios, differentials), strict=True))
    every = np.ones((len(tires), len(gears["ratio"])), dtype=bool)
    return _Table(instance, "rear", asked_checks(instance.job, "drive"), (Axis(tire=tires), gears), every)


def _wanted(pinned: Pinned, place: str, kind: str, end: int, first: int = 0) -> Index:
    """Positions of the parts of a kind that may stand in a place."""
    every = np.arange(first, end, dtype=np.int64)
    return every[pinned.keeps(place, kind, every)]

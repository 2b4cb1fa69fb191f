"""Checks that leave no corner of an axle, or no drive, of all the parts there are: seen without a search.

Most of what is asked to find out why nothing fits is settled so. Few checks are named: those that drop something of the
one table that is left empty.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from combo.checks.check import Check, Place
from combo.checks.rows import NO_SPACER, Index
from combo.checks.run import asked_checks
from combo.job import AXLES, Axle
from combo.solve.allowed import Allowed
from combo.solve.classes import Axis, Lists
from combo.solve.reduce import rim_codes

Mask = NDArray[np.bool_]
CELLS = 1_000_000
"""Combinations of parts up to which all of them are looked at."""


def emptied_by(lists: Lists, allowed: Allowed) -> frozenset[Place] | None:
    """Checks of corners or drives that leave none of them, whatever becomes of all other checks; None where some are
    left of each, or where there are too many to look at.
    """
    tables = [_corners(lists, allowed, axle) for axle in AXLES]
    tables.append(_drives(lists, allowed, tables[1]))
    empty = [table.dropping for table in tables if table is not None and not table.left.any()]
    return min(empty, key=len, default=None)


@dataclass(frozen=True)
class _Left:
    """What is left of every combination of two axes, and the checks that dropped something that was left."""

    left: Mask
    dropping: frozenset[Place]


def _corners(lists: Lists, allowed: Allowed, axle: Axle) -> _Left | None:
    """Of wheels on spacers with tires of their rim diameter."""
    parts = lists.parts
    wheels, tires = (_wanted(allowed, axle, kind, len(parts.of_kind(kind))) for kind in ("wheel", "tire"))
    spacers = _wanted(allowed, axle, "spacer", len(parts.spacers), NO_SPACER)
    if len(wheels) * len(spacers) * len(tires) > CELLS:
        return None
    axes = {"wheel": np.repeat(wheels, len(spacers)), "spacer": np.tile(spacers, len(wheels))}, {"tire": tires}
    belong = rim_codes(parts, "wheel")[axes[0]["wheel"]][:, np.newaxis] == rim_codes(parts, "tire")[tires]
    return _sieved(lists, allowed, axle, asked_checks(lists.job, "corner", axle), axes, belong)


def _drives(lists: Lists, allowed: Allowed, rear: _Left | None) -> _Left | None:
    """Of gear sets with differentials on the tires that are left at the rear."""
    tires = _wanted(allowed, "rear", "tire", len(lists.parts.tires))
    ratios, differentials = (_wanted(allowed, "drive", kind, len(lists.parts.of_kind(kind)))
                             for kind in ("ratio", "differential"))  # fmt: skip
    if len(tires) * len(ratios) * len(differentials) > CELLS:
        return None
    gears = {"ratio": np.repeat(ratios, len(differentials)), "differential": np.tile(differentials, len(ratios))}
    every = np.ones((len(tires), len(gears["ratio"])), dtype=bool)
    own = _sieved(lists, allowed, "rear", asked_checks(lists.job, "drive"), ({"tire": tires}, gears), every)
    if rear is None or not own.left.any():
        return own
    on_tires = np.asarray(rear.left.any(axis=0), dtype=bool)
    return _Left(own.left & on_tires[:, np.newaxis], own.dropping | rear.dropping)


def _wanted(allowed: Allowed, place: str, kind: str, end: int, first: int = 0) -> Index:
    """Positions of the parts of a kind that may stand in a place."""
    every = np.arange(first, end, dtype=np.int64)
    return every[allowed.pinned.keeps(place, kind, every)]


def _sieved(
    lists: Lists, allowed: Allowed, axle: Axle, checks: tuple[Check, ...], axes: tuple[Axis, Axis], left: Mask
) -> _Left:  # fmt: skip
    """What checks leave, one after another, until nothing is left."""
    dropping: list[Place] = []
    for check in checks:
        if left.any() and not allowed.is_dropped(check, axle):
            grid = lists.margins(check, axle, axes)
            holds = np.asarray(allowed.holds(check, axle, grid.values, strict=lists.job.job.strict))
            kept = left if holds.all() else left & holds[np.ix_(*grid.of)]
            if kept.sum() < left.sum():
                dropping.append((check.id, axle))
            left = kept
    return _Left(left, frozenset(dropping))

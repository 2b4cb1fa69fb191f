"""What an entry of the constraint table is, and the three answers that it can give."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from combo.formulas import Column
from combo.job import Axle, Job


class Verdict(StrEnum):
    """Answer of a check. UNVERIFIED, where something is still to be measured, never counts as a pass."""

    PASS = "pass"
    FAIL = "fail"
    UNVERIFIED = "unverified"


Unit = Literal["mm", "kg", "rpm", "km_h", "ratio", "cents", "yes_no"]
DECIMALS: dict[str, int] = {"mm": 3, "kg": 4, "rpm": 3, "km_h": 3, "ratio": 4, "cents": 0, "yes_no": 0}
"""Resolution of a margin in each unit: it is rounded to this once, and zero or more holds."""


class Sides(NamedTuple):
    """The two sides of a constraint and the room between them, all in the check's own unit."""

    value: Column
    limit: Column
    margin: Column


def at_most(value: Column, limit: Column) -> Sides:
    """Holds when value <= limit."""
    return Sides(value, limit, limit - value)


def at_least(value: Column, limit: Column) -> Sides:
    """Holds when value >= limit."""
    return Sides(value, limit, value - limit)


def within(value: Column, low: Column, high: Column) -> Sides:
    """Holds when low <= value <= high; the limit told is the nearer one. One known side is enough to fail."""
    to_low, to_high = np.asarray(value - low), np.asarray(high - value)
    known = np.fmin(to_low, to_high)
    margin = np.where(known < 0, known, np.minimum(to_low, to_high))
    return Sides(value, np.where(to_low <= to_high, low, high), margin)


def agrees(same: Column | NDArray[np.bool_], known: Column) -> Sides:
    """A yes or no: margin 0 where `same` is nonzero and -1 elsewhere; not known where `known` is NaN."""
    margin = np.where(np.isnan(known), np.nan, np.where(np.asarray(same) != 0, 0.0, -1.0))
    nothing = np.full_like(margin, np.nan)
    return Sides(nothing, nothing, margin)


@dataclass(frozen=True)
class Cure:
    """One way to mend a failure: which argument to change, by how much for each unit of missing margin, in words.

    `words` has `{amount}` for the size of the change. Every cure is tried before it is told.
    """

    argument: str
    per_margin: float
    words: str


@dataclass(frozen=True)
class Check:
    """One constraint.

    A check of a row ("corner": wheel, tire and spacer on a hub; "drive": tire, ratio and differential) has `sides`,
    a function over whole columns, and `needs`, which names the column or job entry behind each of its arguments; a
    NaN in any of them leaves the row unverified. A check of the whole build compares two of the integer totals of
    `combo.checks.totals`: `total` against `bound`; `share` of them is what is shown (a tire carries half its axle).
    """

    id: str
    name: str
    group: Literal["fit", "loads", "drive", "money"]
    rows: Literal["corner", "drive", "build"]
    unit: Unit
    formula: str
    source: str
    sides: Callable[..., Sides] | None = None
    needs: dict[str, str] = field(default_factory=dict)
    total: str = ""
    bound: str = ""
    sense: Literal["at_most", "at_least"] = "at_most"
    share: float = 1.0
    where: Literal["front", "rear", "truck", "axle"] = "truck"
    asked: str = ""
    scale: Callable[[Job, Axle], float] | None = None
    scale_words: str = ""
    shown: tuple[str, str] = ("", "")
    state: str | None = None
    firm: bool = False
    cures: tuple[Cure, ...] = ()


def judged(check: Check, margin: Column) -> Column:
    """Margin at the check's resolution: the one place where a margin is rounded."""
    return np.round(margin, DECIMALS[check.unit])


def verdict_of(margin: float) -> Verdict:
    """Answer for one judged margin."""
    if np.isnan(margin):
        return Verdict.UNVERIFIED
    return Verdict.PASS if margin >= 0 else Verdict.FAIL

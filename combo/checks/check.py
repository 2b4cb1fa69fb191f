"""What an entry of the constraint table is, and the three answers that it can give."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any, Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from combo.formulas import Column
from combo.formulas.rounding import half_up
from combo.job import AXLES, STATES, Axle, Job, StateName


class Verdict(StrEnum):
    """Answer of a check. UNVERIFIED, where something is still to be measured, never counts as a pass."""

    PASS = "pass"
    FAIL = "fail"
    UNVERIFIED = "unverified"


ConstraintId = tuple[str, str]
"""A check by its id, and where it is made, as in its result: "front", "rear" or "truck"."""
Unit = Literal["mm", "kg", "rpm", "km_h", "deg", "ratio", "share", "n_m", "cents", "yes_no"]
DECIMALS: dict[str, int] = {
    "mm": 3,
    "kg": 4,
    "rpm": 3,
    "km_h": 3,
    "deg": 4,
    "ratio": 4,
    "share": 6,
    "n_m": 1,
    "cents": 0,
    "yes_no": 0,
}
"""Resolution of a margin in each unit: it is rounded to this once, and zero or more holds."""


class Inequality(NamedTuple):
    """The two sides of a constraint and the room between them, all in the check's own unit."""

    value: Column
    limit: Column
    margin: Column


def at_most(value: Column, limit: Column) -> Inequality:
    """Holds when value <= limit."""
    return Inequality(value, limit, limit - value)


def at_least(value: Column, limit: Column) -> Inequality:
    """Holds when value >= limit."""
    return Inequality(value, limit, value - limit)


Inequalities = tuple[Inequality, ...]
"""Constraints that must all hold: the worst of them decides, see `governing`."""


def within(value: Column, low: Column, high: Column) -> Inequalities:
    """Holds when low <= value <= high."""
    return at_least(value, low), at_most(value, high)


def each_side(answer: Inequality | Inequalities) -> Inequalities:
    """The constraints that a check's function gives, one or several."""
    return (answer,) if isinstance(answer, Inequality) else answer


def governing(margins: NDArray[np.float64]) -> NDArray[np.int64]:
    """Which of several judged margins decides, shape (several, n) to (n,): the worst that fails, else one that is not
    known, else the smallest.

    What is known to fail fails, whatever else is missing; and nothing passes while anything is missing.
    """
    order = np.where(np.isnan(margins), -0.5, np.where(margins < 0, margins - 1.0, margins))
    which: NDArray[np.int64] = np.argmin(order, axis=0).astype(np.int64)
    return which


def governing_of(margins: Iterable[NDArray[np.float64]]) -> NDArray[np.float64]:
    """The deciding one of several judged margins, as `governing` has it: they are taken one by one."""
    several = iter(margins)
    least = smallest_known = next(several)
    for own in several:
        least, smallest_known = np.minimum(least, own), np.fmin(smallest_known, own)  # of NaN and a number the NaN
    return np.where(smallest_known < 0, smallest_known, least)


def worst_side(several: Iterable[Inequality]) -> Inequality:
    """The deciding one of several constraints, row by row."""
    sides = [np.stack(np.broadcast_arrays(*own)) for own in several]
    stacked = np.stack(np.broadcast_arrays(*sides)).astype(float)
    which = governing(stacked[:, 2])
    return Inequality(*np.take_along_axis(stacked, which[np.newaxis, np.newaxis], axis=0)[0])


def where_it_matters(matters: Column | NDArray[np.bool_], sides: Inequality) -> Inequality:
    """The constraint where it is to be held, and one with room without end elsewhere."""
    held = np.asarray(matters, dtype=bool)
    return Inequality(
        *(np.where(held, side, other) for side, other in zip(sides, (np.nan, np.nan, np.inf), strict=True))
    )


def limit_or_none(limit: Column, none: float) -> Column:
    """An end of a band that is not asked never binds: `none` (an infinity) in its place."""
    return np.where(np.isnan(limit), none, limit)


def agrees(same: Column | NDArray[np.bool_], known: Column) -> Inequality:
    """A yes or no: margin 0 where `same` is nonzero and -1 elsewhere; not known where `known` is NaN."""
    margin = np.where(np.isnan(known), np.nan, np.where(np.asarray(same) != 0, 0.0, -1.0))
    nothing = np.full_like(margin, np.nan)
    return Inequality(nothing, nothing, margin)


@dataclass(frozen=True)
class Cure:
    """One way to mend a failure: which argument to change, by how much for each unit of missing margin, in words.

    `words` has `{amount}` for the size of the change. Every cure is tried before it is told.
    """

    argument: str
    per_margin: float
    words: str


def always(job: Job) -> bool:
    """A constraint of the truck, asked whatever the customer wants."""
    return True


@dataclass(frozen=True, eq=False)
class Check:
    """One constraint; each is itself alone, so that it can be looked up by.

    `rows` tells of what it is one: "corner" (wheel, tire and spacer on a hub), "drive" (tire, ratio and differential),
    "pair" (front and rear corner), "layout" (ballast at its stations) or "build".

    `sides` is a function over whole columns, and `needs` names the column or job entry behind each of its arguments; a
    NaN in any of them leaves the row unverified. A check of the whole build either has them too, over `sum.*` and its
    rows' columns, or compares two of the integer totals of `combo.checks.totals`: `total` against `bound`; `share` of
    them is what is shown (a tire carries half its axle). Beside `sides` these, and `other_total` against `other_bound`
    or the same bound, are what the search adds up: whatever holds the check holds them. Of a layout check `sides` takes
    the job and the slots, and gives a function of the counts and of what to do in doubt.

    `over` tells what it is made in: the `states` of the suspension that the job names, or every cruise point; the worst
    counts. `axles` are those at which a corner check is made. `asked` tells whether the job asks for it, `unasked` what
    it lacks where it does not. The criterion "fit" looks at those that are a clearance.
    """

    id: str
    name: str
    group: Literal["fit", "loads", "drive", "look", "money"]
    rows: Literal["corner", "drive", "pair", "layout", "build"]
    unit: Unit
    formula: str
    source: str
    sides: Callable[..., Any] | None = None
    needs: dict[str, str] = field(default_factory=dict)
    total: str = ""
    other_total: str = ""
    bound: str = ""
    other_bound: str = ""
    sense: Literal["at_most", "at_least"] = "at_most"
    share: float = 1.0
    where: Literal["front", "rear", "truck", "axle"] = "truck"
    axles: tuple[Axle, ...] = AXLES
    over: Literal["", "states", "cruise"] = ""
    states: tuple[StateName, ...] = STATES
    asked: Callable[[Job], bool] = always
    unasked: str = ""
    scale: Callable[[Job, Axle], float] | None = None
    scale_words: str = ""
    default: str = ""
    shown: tuple[str, str] = ("", "")
    state: str | None = None
    firm: bool = False
    is_clearance: bool = False
    cures: tuple[Cure, ...] = ()

    @property
    def places(self) -> tuple[str, ...]:
        """Where it is made, as in its results: corner checks at their axles, front first."""
        if self.rows == "corner":
            return self.axles
        return ("rear",) if self.rows == "drive" else (self.where,) if self.rows == "build" else ("truck",)

    def __reduce__(self) -> tuple[Callable[[str, str], Check], tuple[str, str]]:
        """How it travels between processes: by its name, for its functions cannot."""
        return _listed, (self.id, self.where)


def _listed(check: str, where: str) -> Check:
    from combo.checks import CHECKS

    return next(own for own in CHECKS if (own.id, own.where) == (check, where))


def axle_at(where: str) -> Axle:
    """The axle whose measurements and clearances count at a place: the rear's but for the front."""
    return "front" if where == "front" else "rear"


def compared(check: Check, total: Column, bound: Column) -> Inequality:
    """Two totals of a whole-build check against one another, in the sense of the check."""
    return at_most(total, bound) if check.sense == "at_most" else at_least(total, bound)


def judged(check: Check, margin: Column) -> Column:
    """Margin at the check's resolution: the one place where a margin is rounded, a half up."""
    units = 10.0 ** DECIMALS[check.unit]
    return half_up(np.asarray(margin) * units) / units


def is_accepted(margin: Column, *, strict: bool, least: float = 0.0) -> NDArray[np.bool_]:
    """Where margins keep a build from nothing: none is below the least, and of a strict job each is known."""
    return np.asarray(margin >= least if strict else ~np.less(margin, least))


def verdict_of(margin: float) -> Verdict:
    """Answer for one judged margin."""
    if np.isnan(margin):
        return Verdict.UNVERIFIED
    return Verdict.PASS if margin >= 0 else Verdict.FAIL

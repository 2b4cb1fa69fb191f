"""Bounds propagation: a check of the whole build asked of the rows of one table, its totals at their best ends.

A check of the whole build is a function of totals and of some rows' columns. The least and the most of each total are
known, and every such function is monotone in each total: so its largest margin is that at one corner of the box of
totals. A row that fails even there is in no build that passes (bounds consistency; Apt, Principles of Constraint
Programming, Cambridge 2003, chapter 6, from memory).
"""

from __future__ import annotations

import functools
import inspect
import itertools
from collections.abc import Callable, Mapping
from functools import partial
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from combo.candidates.instance import Instance
from combo.candidates.slack import ROUNDING_G, sizes_of_parts
from combo.checks.check import Check, axle_at, each_side, judged
from combo.checks.table import Columns, Given, Table
from combo.checks.totals import TOTALS, Total
from combo.checks.values import Case, value_of
from combo.job import AXLES, Axle, Job

Floats = NDArray[np.float64]
Ends = Mapping[str, tuple[float, float]]
"""By name of a total: between what it lies in every build."""
RowTable = Literal["front", "rear", "drive"]
_TABLE_OF = {"front": "front", "rear": "rear", "drive": "drive", "ratio": "drive", "differential": "drive"}


def table_of(job: Job, check: Check) -> RowTable | None:
    """The only table whose rows a check of the whole build looks at; None where there are several, or none."""
    sources = (source.partition(".")[0] for source in _needs(job, check).values())
    found = {_TABLE_OF[source] for source in sources if source in _TABLE_OF}
    return found.pop() if len(found) == 1 else None  # type: ignore[return-value]


def totals_of(job: Job, check: Check) -> tuple[str, ...]:
    """Names of the totals that a check of the whole build is a function of."""
    return tuple(source.partition(".")[2] for source in _needs(job, check).values() if source.startswith("sum."))


def ends_of(instance: Instance, slots: Given, name: str) -> tuple[float, float] | None:
    """The least and the most of a total in any build of the lists; None where a build of which it is not known may hold
    every check that it is in.
    """
    total, job = TOTALS[name], instance.job
    low = high = total.start(job)
    if total.drive:
        return None
    for axle in AXLES:
        if getattr(total, axle):
            for sizes in sizes_of_parts(instance, axle, partial(_added, total, job, axle)).values():
                known = sizes[np.isfinite(sizes)]
                if len(known) < len(sizes) and not job.job.strict:
                    return None
                low, high = low + float(known.min(initial=np.inf)), high + float(known.max(initial=-np.inf))
    each = total.adds(job, "slot", slots)
    if each is not None:
        low, high = low - _most_ballast(job, slots, -each), high + _most_ballast(job, slots, each)
    rounding = ROUNDING_G * total.times(job) if high > low else 0.0
    return low - rounding, high + rounding


def _added(total: Total, job: Job, axle: Axle, rows: Columns) -> Floats:
    sizes = total.adds(job, axle, rows)
    assert sizes is not None
    return sizes


def best_margin(job: Job, check: Check, ends: Ends) -> Callable[[Table], Floats]:
    """The largest nominal margin that rows of the only table can have in a check of the whole build, as some work on
    them; NaN where the check may stay unverified, but for a strict job, of which that is no hope.
    """
    needs = _needs(job, check)
    of_totals = {name: source.partition(".")[2] for name, source in needs.items() if source.startswith("sum.")}
    totals = sorted(set(of_totals.values()))
    corners = [
        dict(zip(totals, corner, strict=True))
        for corner in itertools.product(*(sorted(set(ends[name])) for name in totals))
    ]

    def work(rows: Table) -> Floats:
        setting = Case(job, axle_at(check.where))
        values = {
            name: value_of(setting, _in_table(source), rows) for name, source in needs.items() if name not in of_totals
        }
        best: list[Floats] = []
        for corner in corners:
            assert check.sides is not None
            sides = each_side(check.sides(**values, **{name: corner[total] for name, total in of_totals.items()}))
            margins = [np.broadcast_to(judged(check, side.margin), len(rows)) for side in sides]
            best = [_better(job, *pair) for pair in zip(best or margins, margins, strict=True)]
        least = np.minimum.reduce([np.where(np.isnan(own), np.inf, own) for own in best])
        is_open = np.logical_or.reduce([np.isnan(own) for own in best])
        return np.where(is_open & (least >= 0.0), np.nan, least)

    return work


def _better(job: Job, one: Floats, other: Floats) -> Floats:
    """The better of two margins: one that is not known may be any, but in a strict job it is none."""
    return np.fmax(one, other) if job.job.strict else np.maximum(one, other)


def _needs(job: Job, check: Check) -> dict[str, str]:
    """What a check needs of this truck: nothing of a front axle that is not driven, where it can do without."""
    if check.sides is None:
        return {}
    if job.axle.is_front_driven:
        return check.needs
    return {name: source for name, source in check.needs.items() if name not in _optional(check.sides)}


@functools.cache
def _optional(function: Callable[..., Any]) -> frozenset[str]:
    """The arguments that a check's function can do without."""
    found = inspect.signature(function).parameters
    return frozenset(name for name, own in found.items() if own.default is not inspect.Parameter.empty)


def _in_table(source: str) -> str:
    """The name of a column within its own table: those of corners are told by axle."""
    table, _, column = source.partition(".")
    return column if table in AXLES else source


def _most_ballast(job: Job, slots: Given, each: Floats) -> float:
    """The most that ballast adds to a total, by the slots' own limits and by the number of items."""
    most = np.maximum(each, 0.0)
    return float(min((most * slots["slot.most"]).sum(), job.ballast.max_items * most.max(initial=0.0)))

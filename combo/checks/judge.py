"""The margin of a check over whole columns: nominal, worst case, how uncertain, and the one that decides.

The job's `targets.fit` tells which decides: the nominal margin, the worst case (every plus-or-minus at its bad end at
once), or the nominal one less as many standard uncertainties as a wanted chance asks for. All that ranks, rejects or
explains looks at the deciding margin alone.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from combo.checks.check import Check, Sides, deciding, judged
from combo.checks.totals import TOTALS
from combo.checks.values import Setting, cruise_points, entry_off, plus_or_minus, value_of
from combo.formulas.chance import spread, spreads_for
from combo.job import Axle, Job

Floats = NDArray[np.float64]
Values = dict[str, Any]
Shifts = tuple[dict[str, float], ...]
"""For each measurement behind the truck's own loads that has a plus-or-minus: how far it moves each total."""


@dataclass(frozen=True)
class Judgement:
    """One check over n rows, in the check's own unit; NaN where it is unverified.

    `worst` is the margin with every plus-or-minus at its bad end, `spread` the margin's standard uncertainty, `margin`
    the deciding one, rounded to the check's resolution. `variant` names the state or cruise point that decides.
    """

    value: Floats
    limit: Floats
    nominal: Floats
    worst: Floats
    spread: Floats
    margin: Floats
    variant: NDArray[np.object_]


def judge(
    job: Job, axle: Axle, check: Check, rows: pd.DataFrame, change: Mapping[str, float] | None = None
) -> Judgement:
    """A row check (corner, drive or pair) over its rows; `change` is added to its arguments by name."""
    names = variants(job, axle, check)
    several = [_in_setting(Setting(job, axle, name), check, rows, change or {}) for name in names]
    which = deciding(np.stack([one.margin for one in several]))
    fields = [field.name for field in dataclasses.fields(Judgement)]
    stacked = {name: np.stack([getattr(one, name) for one in several]) for name in fields}
    return Judgement(**{name: np.take_along_axis(own, which[np.newaxis], axis=0)[0] for name, own in stacked.items()})


def variants(job: Job, axle: Axle, check: Check) -> list[str]:
    """States or cruise points in which a check is made at an axle; one without a name where it knows neither."""
    if check.over == "cruise":
        return list(cruise_points(job)) or [""]
    if check.over == "states":
        named = getattr(job.wheelhouse, axle).states()
        return [name for name in named if name in check.states] or [""]
    return [""]


def deciding_margin(job: Job, axle: Axle, check: Check, rows: pd.DataFrame) -> Floats:
    """The margin that decides, rounded to the check's resolution."""
    if not is_nominal(job):
        return judge(job, axle, check, rows).margin
    assert check.sides is not None
    margins = []
    for name in variants(job, axle, check):
        values = _values(Setting(job, axle, name), check, rows)
        margins.append(np.broadcast_to(judged(check, check.sides(**values).margin), len(rows)))
    stacked = np.stack(margins)
    picked: Floats = np.take_along_axis(stacked, deciding(stacked)[np.newaxis], axis=0)[0]
    return picked


def is_nominal(job: Job) -> bool:
    """Whether the nominal margin decides, so that no plus-or-minus need be looked at."""
    return job.targets.fit == "nominal"


def decides(job: Job, check: Check, nominal: Floats, worst: Floats, spread_: Floats) -> Floats:
    """The deciding one of the margins, rounded to the check's resolution."""
    if is_nominal(job):
        return np.asarray(judged(check, nominal))
    fit = job.targets.fit
    margin = worst if fit == "worst" else nominal - spreads_for(float(fit)) * spread_
    return np.asarray(judged(check, margin))


def _in_setting(setting: Setting, check: Check, rows: pd.DataFrame, change: Mapping[str, float]) -> Judgement:
    assert check.sides is not None
    values = _values(setting, check, rows)
    values |= {name: values[name] + by for name, by in change.items()}
    sides = [np.broadcast_to(np.asarray(side, dtype=float), len(rows)) for side in check.sides(**values)]
    nominal = sides[2]
    off = {name: plus_or_minus(setting, source, rows) for name, source in check.needs.items()}
    bad_ends, losses = {}, []
    for name, own in off.items():
        if np.any(own):
            bad_ends[name], loss = _bad_end(check, values, name, own, nominal)
            losses.append(loss)
    worst = nominal
    if bad_ends:
        moved = check.sides(**(values | {name: values[name] + by for name, by in bad_ends.items()})).margin
        worst = np.broadcast_to(np.asarray(moved, dtype=float), len(rows))
    spread_ = spread(losses) if losses else np.zeros(len(rows))
    margin = decides(setting.job, check, nominal, worst, spread_)
    name = setting.variant or (check.state or "")
    return Judgement(sides[0], sides[1], nominal, worst, spread_, margin, np.full(len(rows), name, dtype=object))


def _values(setting: Setting, check: Check, rows: pd.DataFrame) -> Values:
    return {name: value_of(setting, source, rows) for name, source in check.needs.items()}


def _bad_end(check: Check, values: Values, name: str, off: Any, nominal: Floats) -> tuple[Any, Floats]:
    """The end of an argument's plus-or-minus that takes more from the margin, and what it takes alone."""
    assert check.sides is not None
    ends = (np.asarray(off), -np.asarray(off))
    up, down = (np.asarray(check.sides(**(values | {name: values[name] + end})).margin) for end in ends)
    loss = np.maximum(nominal - np.minimum(up, down), 0.0)
    return np.where(up <= down, *ends), np.broadcast_to(loss, len(nominal))


# Checks of the whole build


@dataclass(frozen=True)
class BuildMargins:
    """A whole-build check over n builds: nominal, worst and spread of the margin in the check's own unit."""

    nominal: Floats
    worst: Floats
    spread: Floats


def shifts_of(job: Job) -> Shifts:
    """How every plus-or-minus behind the truck's own loads moves the totals, one entry a measurement."""
    starts = {name: total.start(job) for name, total in TOTALS.items()}
    moved = []
    for path, off in _load_paths(job):
        other = _with(job, path.split("."), off)
        deltas = {name: total.start(other) - starts[name] for name, total in TOTALS.items()}
        moved.append({name: delta for name, delta in deltas.items() if delta})
    return tuple(deltas for deltas in moved if deltas)


def _load_paths(job: Job) -> list[tuple[str, float]]:
    """Measurements behind the loads that have a plus-or-minus, and how much."""
    found = []
    owners: list[tuple[str, Any]] = [("loads", job.loads), ("present", job.present), ("truck", job.truck)]
    owners += [(f"loads.items.{at}", item) for at, item in enumerate(job.loads.items)] + [("spare", job.spare)]
    for prefix, owner in owners:
        for field in dataclasses.fields(owner):
            size = getattr(owner, field.name)
            off = entry_off(job, f"{prefix}.{field.name}", field) if isinstance(size, float) else 0.0
            if off and not np.isnan(size):
                found.append((f"{prefix}.{field.name}", off))
    return found


def _with(owner: Any, path: list[str], off: float) -> Any:
    """The job with one of its numbers larger."""
    name, *rest = path
    if isinstance(owner, tuple):
        at = int(name)
        return (*owner[:at], _with(owner[at], rest, off), *owner[at + 1 :])
    inner = getattr(owner, name)
    return dataclasses.replace(owner, **{name: inner + off if not rest else _with(inner, rest, off)})


def build_margins(
    job: Job, check: Check, sums: Mapping[str, Any], drive: Mapping[str, Any], shifts: Shifts
) -> BuildMargins:
    """Margins of a whole-build check in the shape of its sums and drive columns, which broadcast."""
    nominal = np.asarray(build_sides(job, check, sums, drive).margin, dtype=float)
    losses, worst = [], nominal
    if shifts:
        bad: dict[str, Any] = dict.fromkeys(TOTALS, 0.0)
        for moved in shifts:
            up, down = (
                build_sides(job, check, _moved(sums, moved, sign), drive).margin for sign in (1.0, -1.0)
            )
            losses.append(np.maximum(nominal - np.minimum(up, down), 0.0))
            sign = np.where(np.asarray(up) <= down, 1.0, -1.0)
            bad = {name: bad[name] + sign * moved.get(name, 0.0) for name in bad}
        worst = np.asarray(build_sides(job, check, _moved(sums, bad, 1.0), drive).margin, dtype=float)
    spread_ = spread(losses) if losses else np.zeros(np.shape(nominal))
    return BuildMargins(nominal, worst, np.asarray(spread_))


def build_sides(job: Job, check: Check, sums: Mapping[str, Any], drive: Mapping[str, Any]) -> Sides:
    """Both sides of a whole-build check and the room between them, in its own unit."""
    if check.sides is None:
        value, limit = (in_unit(check, sums[name]) for name in (check.total, check.bound))
        return Sides(value, limit, limit - value if check.sense == "at_most" else value - limit)
    setting, none = Setting(job, "rear"), pd.DataFrame()
    values = {}
    for name, source in check.needs.items():
        table, _, column = source.partition(".")
        if table in {"sum", "drive"}:
            values[name] = sums[column] if table == "sum" else drive[source]
        else:
            values[name] = value_of(setting, source, none)
    sides: Sides = check.sides(**values)
    return sides


def in_unit(check: Check, whole: Any) -> Any:
    """A whole-number amount of a build check in the check's own unit: grams to kilograms, an axle to one corner."""
    return np.asarray(whole, dtype=float) * check.share / (1000.0 if check.unit == "kg" else 1.0)


def _moved(sums: Mapping[str, Any], by: Mapping[str, Any], sign: float) -> dict[str, Any]:
    return {name: own + sign * by[name] if name in by else own for name, own in sums.items()}

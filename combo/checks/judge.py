"""The margin of a check over whole columns: nominal, worst case, how sure, and the one that decides.

The job's `targets.fit` tells which decides: the nominal margin, the worst case (every plus-or-minus at its bad end at
once), or the nominal one less as many standard uncertainties as a wanted chance asks for. All that ranks, rejects or
explains looks at the deciding margin alone.

A check may be several constraints, made in several states: each has its own bad ends, and the worst of all decides.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from combo.checks.check import Check, Several, Sides, compared, deciding, deciding_of, each_side, judged
from combo.checks.table import NO_ROWS, Table
from combo.checks.totals import TOTALS, truck_totals
from combo.checks.values import Setting, cruise_points, entry_off, plus_or_minus, value_of
from combo.formulas.chance import spread, spreads_for
from combo.job import Axle, Job

Floats = NDArray[np.float64]
Values = dict[str, Any]


@dataclass(frozen=True)
class Judgement:
    """One check over n rows, in the check's own unit; NaN where it is unverified.

    `worst` is the margin with every plus-or-minus at its bad end, `sigmas` the nominal margin in standard
    uncertainties, `margin` the deciding one, rounded to the check's resolution. `variant` names the state or cruise
    point that decides.
    """

    value: Floats
    limit: Floats
    nominal: Floats
    worst: Floats
    sigmas: Floats
    margin: Floats
    variant: NDArray[np.object_]


def judge(
    job: Job, axle: Axle, check: Check, rows: Table, change: Mapping[str, float] | None = None
) -> Judgement:
    """A row check (corner, drive or pair) over its rows; `change` is added to its arguments by name."""
    settings = [Setting(job, axle, name) for name in variants(job, axle, check)]
    return _worst_of([one for setting in settings for one in _in_setting(setting, check, rows, change or {})])


def variants(job: Job, axle: Axle, check: Check) -> list[str]:
    """States or cruise points in which a check is made at an axle; one without a name where it knows neither."""
    if check.over == "cruise":
        return list(cruise_points(job)) or [""]
    if check.over == "states":
        named = getattr(job.wheelhouse, axle).states()
        return [name for name in named if name in check.states] or [""]
    return [""]


def deciding_margin(job: Job, axle: Axle, check: Check, rows: Table) -> Floats:
    """The margin that decides, rounded to the check's resolution."""
    if not is_nominal(job):
        return judge(job, axle, check, rows).margin
    assert check.sides is not None
    answers = (check.sides(**_values(Setting(job, axle, name), check, rows)) for name in variants(job, axle, check))
    return deciding_of(_column(judged(check, own.margin), rows) for answer in answers for own in each_side(answer))


def is_nominal(job: Job) -> bool:
    """Whether the nominal margin decides, so that no plus-or-minus need be looked at."""
    return job.targets.fit == "nominal"


def decides(job: Job, check: Check, nominal: Floats, worst: Floats, spread_: Floats) -> Floats:
    """The deciding one of the margins, rounded to the check's resolution."""
    if is_nominal(job):
        return np.asarray(judged(check, nominal))
    fit = job.targets.fit
    # What clears in the worst case clears with any chance.
    margin = worst if fit == "worst" else np.maximum(worst, nominal - spreads_for(float(fit)) * spread_)
    return np.asarray(judged(check, margin))


def _worst_of(several: list[Judgement]) -> Judgement:
    """The deciding one of several judgements, row by row; its worst case and its sigmas are the least of all."""
    fields = [field.name for field in dataclasses.fields(Judgement)]
    stacked = {name: np.stack([getattr(one, name) for one in several]) for name in fields}
    which = deciding(stacked["margin"])
    picked = {name: _picked(own, which) for name, own in stacked.items()}
    picked |= {name: _picked(stacked[name], deciding(stacked[name])) for name in ("worst", "sigmas")}
    return Judgement(**picked)


def _picked(stacked: NDArray[Any], which: NDArray[np.int64]) -> NDArray[Any]:
    picked: NDArray[Any] = np.take_along_axis(stacked, which[np.newaxis], axis=0)[0]
    return picked


def _in_setting(setting: Setting, check: Check, rows: Table, change: Mapping[str, float]) -> list[Judgement]:
    """The constraints of a check in one setting, each by itself."""
    assert check.sides is not None
    values = _values(setting, check, rows)
    values |= {name: values[name] + by for name, by in change.items()}
    off = {name: plus_or_minus(setting, source, rows) for name, source in check.needs.items()}
    off = {name: own for name, own in off.items() if np.any(own)}
    ends = {name: tuple(each_side(check.sides(**_moved(values, {name: sign * own}))) for sign in (1.0, -1.0))
            for name, own in off.items()}  # fmt: skip
    name = setting.variant or (check.state or "")
    found = []
    for at, side in enumerate(each_side(check.sides(**values))):
        nominal = _column(side.margin, rows)
        bad, losses = {}, []
        for argument, (up, down) in ends.items():
            high, low = _column(up[at].margin, rows), _column(down[at].margin, rows)
            bad[argument] = np.where(high <= low, off[argument], -np.asarray(off[argument]))
            losses.append(_loss(nominal, np.minimum(high, low)))
        worst = _column(each_side(check.sides(**_moved(values, bad)))[at].margin, rows) if bad else nominal
        found.append(_judgement(setting.job, check, side, (nominal, worst, losses), rows, name))
    return found


def _judgement(
    job: Job, check: Check, side: Sides, margins: tuple[Floats, Floats, list[Floats]], rows: Table, variant: str
) -> Judgement:
    nominal, worst, losses = margins
    spread_ = spread(losses) if losses else np.zeros(len(rows))
    return Judgement(
        _column(side.value, rows), _column(side.limit, rows), nominal, worst, sigmas_of(nominal, spread_),
        decides(job, check, nominal, worst, spread_), np.full(len(rows), variant, dtype=object),
    )  # fmt: skip


def sigmas_of(nominal: Floats, spread_: Floats) -> Floats:
    """A margin in standard uncertainties; without any, infinite on the side on which it lies."""
    certain = np.where(np.isnan(nominal), np.nan, np.where(nominal >= 0, np.inf, -np.inf))
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(np.where(spread_ == 0, certain, nominal / spread_))


def _loss(nominal: Floats, least: Floats) -> Floats:
    with np.errstate(invalid="ignore"):
        return np.asarray(np.where(np.isposinf(nominal), 0.0, np.maximum(nominal - least, 0.0)))


def _column(side: Any, rows: Table) -> Floats:
    return np.broadcast_to(np.asarray(side, dtype=float), len(rows))


def _values(setting: Setting, check: Check, rows: Table) -> Values:
    return {name: value_of(setting, source, rows) for name, source in check.needs.items()}


def _moved(values: Mapping[str, Any], by: Mapping[str, Any]) -> dict[str, Any]:
    return {name: own + by[name] if name in by else own for name, own in values.items()}


# Checks of the whole build


@dataclass(frozen=True)
class Shifts:
    """How the plus-or-minus of what is weighed and measured moves the totals of the truck.

    `moves` has, for each such measurement, what its upper and its lower end add to each total. `worst` is what a check
    that weighs one total against another loses with every one at its bad end, by id and place, in whole units.
    """

    moves: tuple[tuple[dict[str, float], dict[str, float]], ...] = ()
    worst: Mapping[tuple[str, str], float] = dataclasses.field(default_factory=dict)


@dataclass(frozen=True)
class BuildMargins:
    """A whole-build check over n builds: nominal, worst and spread of the margin in the check's own unit."""

    sides: Sides
    worst: Floats
    spread: Floats


def shifts_of(job: Job, checks: tuple[Check, ...]) -> Shifts:
    """Shifts for the whole-build checks that are asked."""
    paths = _load_paths(job)
    if not paths:
        return Shifts()
    ends = [tuple(truck_totals(_with(job, path, sign * off)) for sign in (1.0, -1.0)) for path, off in paths]
    starts = truck_totals(job)
    moves = tuple((_moves(starts, up), _moves(starts, down)) for up, down in ends)
    weighing = [check for check in checks if check.sides is None]
    worst = {(check.id, str(check.where)): _worst_loss(job, starts, check, paths, ends) for check in weighing}
    return Shifts(moves, worst)


def _moves(starts: dict[str, float], others: dict[str, float]) -> dict[str, float]:
    return {name: others[name] - start for name, start in starts.items() if others[name] - start}


def _room(check: Check, starts: Mapping[str, float]) -> float:
    return float(compared(check, starts[check.total], starts[check.bound]).margin)


def _worst_loss(
    job: Job, starts: Mapping[str, float], check: Check, paths: list[tuple[list[str], float]],
    ends: list[tuple[dict[str, float], ...]],
) -> float:  # fmt: skip
    """Room lost with every measurement at its bad end; which load case is lightest or heaviest may then be another."""
    worst = job
    for (path, off), (up, down) in zip(paths, ends, strict=True):
        worst = _with(worst, path, off if _room(check, up) <= _room(check, down) else -off)
    least = {name: TOTALS[name].start(worst) for name in (check.total, check.bound)}
    return max(0.0, _room(check, starts) - _room(check, least))


def _load_paths(job: Job) -> list[tuple[list[str], float]]:
    """Measurements behind the loads that have a plus-or-minus, and how much."""
    found = []
    owners: list[tuple[str, Any]] = [("loads", job.loads), ("present", job.present), ("truck", job.truck)]
    owners += [(f"loads.items.{at}", item) for at, item in enumerate(job.loads.items)] + [("spare", job.spare)]
    for prefix, owner in owners:
        for field in dataclasses.fields(owner):
            size = getattr(owner, field.name)
            off = entry_off(job, f"{prefix}.{field.name}", field) if isinstance(size, float) else 0.0
            if off and not np.isnan(size):
                found.append(([*prefix.split("."), field.name], off))
    return found


def _with(owner: Any, path: list[str], off: float) -> Any:
    """The job with one of its numbers moved."""
    name, *rest = path
    if isinstance(owner, tuple):
        at = int(name)
        return (*owner[:at], _with(owner[at], rest, off), *owner[at + 1 :])
    inner = getattr(owner, name)
    return dataclasses.replace(owner, **{name: inner + off if not rest else _with(inner, rest, off)})


def build_margins(
    job: Job, check: Check, sums: Mapping[str, Any], drive: Mapping[str, Any], shifts: Shifts
) -> list[BuildMargins]:
    """Constraints of a whole-build check in the shape of its sums and drive columns, which broadcast."""
    nominal = build_sides(job, check, sums, drive)
    ends = [tuple(build_sides(job, check, _moved(sums, moved), drive) for moved in pair) for pair in shifts.moves]
    found = []
    for at, side in enumerate(nominal):
        margin = np.asarray(side.margin, dtype=float)
        losses = [_loss(margin, np.minimum(up[at].margin, down[at].margin)) for up, down in ends]
        lost = in_unit(check, shifts.worst.get((check.id, check.where), 0.0)) if check.sides is None else sum(losses)
        spread_ = spread(losses) if losses else np.zeros(np.shape(margin))
        found.append(BuildMargins(side, np.asarray(margin - lost, dtype=float), np.asarray(spread_)))
    return found


def build_sides(job: Job, check: Check, sums: Mapping[str, Any], drive: Mapping[str, Any]) -> Several:
    """Both sides of a whole-build check's constraints and the room between them, in its own unit."""
    if check.sides is None:
        value, limit = (in_unit(check, sums[name]) for name in (check.total, check.bound))
        return (compared(check, value, limit),)
    setting, values = Setting(job, "rear"), {}
    for name, source in check.needs.items():
        table, _, column = source.partition(".")
        if table in {"sum", "drive"}:
            values[name] = sums[column] if table == "sum" else drive[source]
        else:
            values[name] = value_of(setting, source, NO_ROWS)
    return each_side(check.sides(**values))


def build_judgement(
    job: Job, check: Check, sums: Mapping[str, Any], drive: Mapping[str, Any], shifts: Shifts
) -> Judgement:
    """A whole-build check over n builds."""
    several = []
    for one in build_margins(job, check, sums, drive, shifts):
        value, limit, nominal, worst, spread_ = (
            np.array(own, dtype=float)
            for own in np.broadcast_arrays(one.sides.value, one.sides.limit, one.sides.margin, one.worst, one.spread)
        )
        margin, name = decides(job, check, nominal, worst, spread_), check.state or ""
        variant = np.full(len(nominal), name, dtype=object)
        several.append(Judgement(value, limit, nominal, worst, sigmas_of(nominal, spread_), margin, variant))
    return _worst_of(several)


def whole(check: Check, amount: float) -> float:
    """An amount in the unit of a build check, in the whole units of its totals."""
    return amount / float(in_unit(check, 1.0))


def in_unit(check: Check, whole: Any) -> Any:
    """A whole-number amount of a build check in the check's own unit: grams to kilograms, an axle to one corner."""
    return np.asarray(whole, dtype=float) * check.share / (1000.0 if check.unit == "kg" else 1.0)

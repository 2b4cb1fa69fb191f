"""The margin of a check over whole columns: nominal, worst case, how sure, and the one that decides.

The job's `targets.fit` tells which decides: the nominal margin, the worst case (every plus-or-minus at its bad end at
once), or the nominal one less what must be allowed for to clear with a wanted chance. All that ranks, rejects or
explains looks at the deciding margin alone.

A check may be several constraints, made in several states: each has its own bad ends, and the worst of all decides.
What is not known leaves it unverified, unless it fails with the best that is plausible on a truck.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from combo.checks.check import Check, Inequality, axle_at, compared, each_side, governing, governing_of, judged
from combo.checks.table import NO_ROWS, Table
from combo.checks.totals import TOTALS, truck_totals
from combo.checks.values import (
    ARTICULATED,
    OF_TIRE,
    Case,
    cruise_points,
    entry_off,
    is_tilted,
    plausible_rpm,
    plus_or_minus,
    sides_at,
    value_of,
)
from combo.formulas.chance import allowance, chance_of_clearing
from combo.job import AXLES, Axle, Job
from combo.plausible import RANGES

Floats = NDArray[np.float64]
Values = dict[str, Any]
_SAME_RANGE = {"state.diameter_mm": "tire.overall_diameter_mm"}
"""What is worked out of one size alone, and is as large as it."""
EVEN = 0.5
"""Chance above which a margin is rather there than not."""


@dataclass(frozen=True)
class Judgement:
    """One check over n rows, in the check's own unit; NaN where it is unverified.

    `worst` is the margin with every plus-or-minus at its bad end, `chance` that of clearing (NaN where it was not
    asked), `margin` the deciding one, rounded to the check's resolution. `variant` names the state or cruise point that
    decides.
    """

    value: Floats
    limit: Floats
    nominal: Floats
    worst: Floats
    chance: Floats
    margin: Floats
    variant: NDArray[np.object_]


def judge(
    job: Job, axle: Axle, check: Check, rows: Table, change: Mapping[str, float] | None = None, *, told: bool = True
) -> Judgement:
    """A row check (corner, drive or pair) over its rows; `change` is added to its arguments by name; the chance is
    worked out only to be `told`.
    """
    return _worst_of(
        [
            one
            for setting in cases_of(job, axle, check)
            for one in _in_setting(setting, check, rows, change or {}, told=told)
        ]
    )


def cases_of(job: Job, axle: Axle, check: Check) -> list[Case]:
    """States, on both sides of the truck where they differ, or cruise points in which a check is made at an axle; one
    without a name where it knows neither.
    """
    if check.over == "cruise":
        return [Case(job, axle, name) for name in list(cruise_points(job)) or [""]]
    if check.over == "states":
        named = [name for name in getattr(job.wheelhouse, axle).states() if name in check.states]
        tilts = "state.tilt_rad" in check.needs.values() and is_tilted(Case(job, axle, ARTICULATED))
        states = [Case(job, axle, name) for name in [*(named or [""]), *([ARTICULATED] if tilts else [])]]
        return [own for state in states for own in _on_both_sides(state, check)]
    return [Case(job, axle)]


def _on_both_sides(setting: Case, check: Check) -> list[Case]:
    """The setting on each side of the truck, or alone where both sides are alike to the check."""
    sides = sides_at(setting.job, setting.axle)
    if len(sides) == 1:
        return [setting]
    both = [dataclasses.replace(setting, side=side) for side in sides]
    looks_at = [source for source in check.needs.values() if source.startswith("state.") and source not in OF_TIRE]
    seen = {
        tuple(str((value_of(own, source, NO_ROWS), plus_or_minus(own, source, NO_ROWS))) for source in looks_at)
        for own in both
    }
    return both if len(seen) > 1 else [setting]


def setting_told(job: Job, axle: Axle, check: Check, label: str) -> Case:
    """The setting that a judgement names."""
    told = (own for own in cases_of(job, axle, check) if _told_as(own, check) == label)
    return next(told, Case(job, axle, label))


def _told_as(setting: Case, check: Check) -> str:
    return setting.told_as(setting.variant or check.state or "")


def governing_margin(job: Job, axle: Axle, check: Check, rows: Table) -> Floats:
    """The margin that decides, rounded to the check's resolution."""
    if not is_nominal(job):
        return judge(job, axle, check, rows, told=False).margin
    return governing_of(
        margin for setting in cases_of(job, axle, check) for margin in _nominal_margins(setting, check, rows)
    )


def _nominal_margins(setting: Case, check: Check, rows: Table) -> Iterator[Floats]:
    """The judged margin of each constraint in a setting."""
    assert check.sides is not None
    values = _values(setting, check, rows)
    for at, side in enumerate(each_side(check.sides(**values))):
        margin = _spread_over(judged(check, side.margin), len(rows))
        hopeless = _fails_at_best(check, (values, {}, at), margin, lambda: _ranges(setting, check, rows))
        yield margin if hopeless is None else np.where(np.isnan(hopeless), margin, hopeless)


def rooms(setting: Case, check: Check, rows: Table) -> list[tuple[Floats, Floats]]:
    """Room in each constraint of a row check in one setting, and its plus-or-minus in the worst case.

    Nothing is rounded, and what is not known stays so.
    """
    off = {name: plus_or_minus(setting, source, rows) for name, source in check.needs.items()}
    off = {name: own for name, own in off.items() if np.any(own)}
    return _with_off(_margins(check, _values(setting, check, rows), off, len(rows)))


def _with_off(every: list[_Margins]) -> list[tuple[Floats, Floats]]:
    with np.errstate(invalid="ignore"):  # room without end has none
        return [(own.nominal, own.nominal - own.worst) for own in every]


def build_rooms(
    job: Job, check: Check, sums: Mapping[str, Any], rows: Table, shifts: Shifts
) -> list[tuple[Floats, Floats]]:
    """The same of a whole-build check, over builds by their totals."""
    return _with_off(build_margins(job, check, sums, rows, shifts, told=True))


def is_nominal(job: Job) -> bool:
    """Whether the nominal margin decides, so that no plus-or-minus need be looked at."""
    return job.targets.fit == "nominal"


def decides(job: Job, check: Check, nominal: Floats, worst: Floats, losses: Sequence[Floats]) -> Floats:
    """The deciding margin, rounded to the check's resolution; `losses` is what each plus-or-minus can take."""
    if is_nominal(job):
        return np.asarray(judged(check, nominal))
    fit = job.targets.fit
    # What clears in the worst case clears with any chance.
    margin = worst if fit == "worst" else np.maximum(worst, nominal - allowed_for(job, losses, np.shape(nominal)))
    return np.asarray(judged(check, margin))


def allowed_for(job: Job, losses: Sequence[Floats], shape: tuple[int, ...]) -> Floats:
    """What a margin must have to clear with the chance that the job asks for."""
    if not losses:
        return np.zeros(shape)
    flat = [np.broadcast_to(np.asarray(loss, dtype=float), shape).ravel() for loss in losses]
    return np.asarray(allowance(flat, float(job.targets.fit))).reshape(shape)


def _worst_of(several: list[Judgement]) -> Judgement:
    """The deciding one of several judgements, row by row; its worst case and its chance are the least of all."""
    fields = [field.name for field in dataclasses.fields(Judgement)]
    stacked = {name: np.stack([getattr(one, name) for one in several]) for name in fields}
    which = governing(stacked["margin"])
    picked = {name: _picked(own, which) for name, own in stacked.items()}
    picked["worst"] = _picked(stacked["worst"], governing(stacked["worst"]))
    picked["chance"] = _picked(stacked["chance"], governing(stacked["chance"] - EVEN))
    return Judgement(**picked)


def _picked(stacked: NDArray[Any], which: NDArray[np.int64]) -> NDArray[Any]:
    picked: NDArray[Any] = np.take_along_axis(stacked, which[np.newaxis], axis=0)[0]
    return picked


def _in_setting(
    setting: Case, check: Check, rows: Table, change: Mapping[str, float], *, told: bool
) -> list[Judgement]:
    """The constraints of a check in one setting, each by itself."""
    values = _values(setting, check, rows)
    values |= {name: values[name] + by for name, by in change.items()}
    off = {name: plus_or_minus(setting, source, rows) for name, source in check.needs.items()}
    off = {name: own for name, own in off.items() if np.any(own)}
    found, name = [], _told_as(setting, check)
    for at, margins in enumerate(_margins(check, values, off, len(rows))):
        own = _judgement(setting.job, check, margins, name, told=told)
        if np.isnan(own.margin).any():
            ranges = _ranges(setting, check, rows)
            own = _failing_at_best(setting.job, check, own, (values, off, at), ranges, told=told)
        found.append(own)
    return found


@dataclass(frozen=True)
class _Margins:
    """One constraint over n rows: its sides, and its margins with what each plus-or-minus can take."""

    side: Inequality
    nominal: Floats
    worst: Floats
    losses: list[Floats]


def _margins(check: Check, values: Values, off: Values, count: int) -> list[_Margins]:
    """Every constraint of a check with its arguments, and their plus-or-minus, each with bad ends of its own."""
    assert check.sides is not None
    ends = {
        name: tuple(each_side(check.sides(**_moved(values, {name: sign * own}))) for sign in (1.0, -1.0))
        for name, own in off.items()
    }
    found = []
    for at, side in enumerate(each_side(check.sides(**values))):
        nominal = _spread_over(side.margin, count)
        bad, losses = {}, []
        for argument, (up, down) in ends.items():
            high, low = _spread_over(up[at].margin, count), _spread_over(down[at].margin, count)
            bad[argument] = np.where(high <= low, off[argument], -np.asarray(off[argument]))
            losses.append(_loss(nominal, np.minimum(high, low)))
        moved = each_side(check.sides(**_moved(values, bad)))[at].margin if bad else nominal
        found.append(_Margins(side, nominal, _spread_over(moved, count), losses))
    return found


def _judgement(job: Job, check: Check, margins: _Margins, variant: str, *, told: bool) -> Judgement:
    nominal, worst, losses = margins.nominal, margins.worst, margins.losses
    count = len(nominal)
    chance = np.full(count, np.nan)
    if told:  # what clears in the worst case is certain
        chance = np.where(worst >= 0, 1.0, chance_of_clearing(nominal, losses))
    return Judgement(
        _spread_over(margins.side.value, count),
        _spread_over(margins.side.limit, count),
        nominal,
        worst,
        chance,
        decides(job, check, nominal, worst, losses),
        np.full(count, variant, dtype=object),
    )


# What fails whatever is missing


Ranges = dict[str, tuple[Any, Any]]
"""By argument of a check, the least and the most that are plausible."""


def _ranges(setting: Case, check: Check, rows: Table) -> Ranges:
    """Plausible ranges of the arguments that have one."""
    found: Ranges = {}
    for name, source in check.needs.items():
        table, _, own = source.partition(".")
        known = RANGES.get(own if table in AXLES else _SAME_RANGE.get(source, source))
        if source == "point.rpm":
            found[name] = plausible_rpm(setting, rows)
        elif known:
            found[name] = known
    return found


def _fails_at_best(
    check: Check, of: tuple[Values, Values, int], margin: Floats, ranges: Callable[[], Ranges]
) -> Floats | None:
    """Of the rows that are not known, the judged nominal margin where even the best that is plausible fails, else NaN;
    None where there is nothing to fill in.
    """
    at, open_ = of[2], np.flatnonzero(np.isnan(margin))
    best = _at_best(check, of, open_, len(margin), ranges()) if len(open_) else None
    if best is None:
        return None
    assert check.sides is not None
    own = _spread_over(judged(check, each_side(check.sides(**best))[at].margin), len(open_))
    found = np.full(len(margin), np.nan)
    found[open_] = np.where(own < 0, own, np.nan)
    return found


def _failing_at_best(
    job: Job, check: Check, judgement: Judgement, of: tuple[Values, Values, int], ranges: Ranges, *, told: bool
) -> Judgement:
    """The judgement with a failure where even the best that is plausible fails."""
    (_, off, at), count = of, len(judgement.margin)
    open_ = np.flatnonzero(np.isnan(judgement.margin))
    best = _at_best(check, of, open_, count, ranges)
    if best is None:
        return judgement
    margins = _margins(check, best, _rows_of(off, open_, count), len(open_))[at]
    own = _judgement(job, check, margins, "", told=told)
    fails, filled = own.margin < 0, {}
    for name in ("nominal", "worst", "chance", "margin"):
        filled[name] = np.array(getattr(judgement, name))
        filled[name][open_[fails]] = getattr(own, name)[fails]
    return dataclasses.replace(judgement, **filled)


def _rows_of(values: Values, rows: NDArray[np.int64], count: int) -> Values:
    """The arguments of some rows; what is one for all stays."""

    def taken(own: Any) -> Any:
        if isinstance(own, tuple):
            return tuple(taken(end) for end in own)
        return own[rows] if isinstance(own, np.ndarray) and np.shape(own) == (count,) else own

    return {name: taken(own) for name, own in values.items()}


def _at_best(
    check: Check, of: tuple[Values, Values, int], open_: NDArray[np.int64], count: int, ranges: Ranges
) -> Values | None:
    """The arguments of some rows with the best that is plausible in place of what is not known; None where none of it
    has a range.

    A margin rises or falls with each of its arguments alone, so each is tried at both ends.
    """
    assert check.sides is not None
    every, _, at = of
    values = _rows_of(every, open_, count)
    own = {
        name: ends
        for name, ends in _rows_of(ranges, open_, count).items()
        if np.isnan(np.asarray(values[name], dtype=float)).any()
    }
    if not own:
        return None
    filled = values | {name: _filled(values[name], (low + high) / 2.0) for name, (low, high) in own.items()}
    for name, ends in own.items():
        tried = [
            _spread_over(each_side(check.sides(**filled | {name: _filled(values[name], end)}))[at].margin, len(open_))
            for end in ends
        ]
        filled[name] = _filled(values[name], np.where(tried[0] >= tried[1], *ends))
    return filled


def _filled(value: Any, end: Any) -> Any:
    own = np.asarray(value, dtype=float)
    return np.where(np.isnan(own), end, own)


def _loss(nominal: Floats, least: Floats) -> Floats:
    with np.errstate(invalid="ignore"):
        return np.asarray(np.where(np.isposinf(nominal), 0.0, np.maximum(nominal - least, 0.0)))


def _spread_over(side: Any, count: int) -> Floats:
    return np.broadcast_to(np.asarray(side, dtype=float), count)


def _values(setting: Case, check: Check, rows: Table) -> Values:
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


def shifts_of(job: Job, checks: tuple[Check, ...]) -> Shifts:
    """Shifts for the whole-build checks that are asked."""
    paths = _load_paths(job)
    if not paths:
        return Shifts()
    ends = [tuple(truck_totals(end) for end in pair) for pair in ends_of_loads(job)]
    starts = truck_totals(job)
    moves = tuple((_moves(starts, up), _moves(starts, down)) for up, down in ends)
    weighing = [check for check in checks if check.sides is None]
    worst = {(check.id, str(check.where)): _worst_loss(job, starts, check, paths, ends) for check in weighing}
    return Shifts(moves, worst)


def ends_of_loads(job: Job) -> list[tuple[Job, Job]]:
    """The job with each measurement behind the loads at its upper and at its lower end."""
    return [(with_moved(job, path, off), with_moved(job, path, -off)) for path, off in _load_paths(job)]


def _moves(starts: dict[str, float], others: dict[str, float]) -> dict[str, float]:
    return {name: others[name] - start for name, start in starts.items() if others[name] - start}


def _room(check: Check, starts: Mapping[str, float]) -> float:
    return float(compared(check, starts[check.total], starts[check.bound]).margin)


def _worst_loss(
    job: Job,
    starts: Mapping[str, float],
    check: Check,
    paths: list[tuple[list[str], float]],
    ends: list[tuple[dict[str, float], ...]],
) -> float:
    """Room lost with every measurement at its bad end; which load case is lightest or heaviest may then be another."""
    worst = job
    for (path, off), (up, down) in zip(paths, ends, strict=True):
        worst = with_moved(worst, path, off if _room(check, up) <= _room(check, down) else -off)
    least = {name: TOTALS[name].start(worst) for name in (check.total, check.bound)}
    return max(0.0, _room(check, starts) - _room(check, least))


def _load_paths(job: Job) -> list[tuple[list[str], float]]:
    """Measurements behind the loads that have a plus-or-minus, and how much."""
    found = []
    owners: list[tuple[str, Any]] = [("loads", job.loads), ("present", job.present), ("truck", job.truck)]
    owners += [(f"loads.items.{at}", item) for at, item in enumerate(job.loads.items)]
    owners += [("trailer", job.trailer)]  # where the spare hangs moves the new one as it moves the present one
    for prefix, owner in owners:
        for field in dataclasses.fields(owner):
            size = getattr(owner, field.name)
            off = entry_off(job, f"{prefix}.{field.name}", field) if isinstance(size, float) else 0.0
            if off and not np.isnan(size):
                found.append(([*prefix.split("."), field.name], off))
    return found


def with_moved(owner: Any, path: list[str], off: float) -> Any:
    """The job with one of its numbers moved."""
    name, *rest = path
    if isinstance(owner, tuple):
        at = int(name)
        return (*owner[:at], with_moved(owner[at], rest, off), *owner[at + 1 :])
    inner = getattr(owner, name)
    return dataclasses.replace(owner, **{name: inner + off if not rest else with_moved(inner, rest, off)})


def build_margins(
    job: Job,
    check: Check,
    sums: Mapping[str, Any],
    rows: Table,
    shifts: Shifts,
    change: Mapping[str, float] | None = None,
    *,
    told: bool = False,
) -> list[_Margins]:
    """Constraints of a whole-build check over n builds: their totals, and their rows as `front.*`, `rear.*`, and those
    of drives. `change` is added to its arguments by name; where the nominal margin decides, the rest is worked
    out only to be `told`.
    """
    count = len(rows)
    if check.sides is None:
        return [_weighed_margins(check, sums, shifts, count)]
    setting = Case(job, axle_at(check.where))
    values = {name: _build_value(setting, source, sums, rows) for name, source in check.needs.items()}
    values |= {name: values[name] + by for name, by in (change or {}).items()}
    if is_nominal(job) and not told:
        return _margins(check, values, {}, count)
    off = {
        name: plus_or_minus(setting, source, rows)
        for name, source in check.needs.items()
        if not source.startswith("sum.")
    }
    found = _margins(check, values, {name: own for name, own in off.items() if np.any(own)}, count)
    moves = [
        [
            {
                name: moved.get(source.removeprefix("sum."), 0.0)
                for name, source in check.needs.items()
                if source.startswith("sum.")
            }
            for moved in pair
        ]
        for pair in shifts.moves
    ]
    return [_with_moves(check, values, margins, at, moves) for at, margins in enumerate(found)]


def _with_moves(
    check: Check, values: Values, margins: _Margins, at: int, moves: list[list[dict[str, float]]]
) -> _Margins:
    """The margins of a constraint with what the measurements behind its totals can take, too."""
    assert check.sides is not None
    losses = []
    for pair in moves:
        least = np.minimum.reduce(
            [
                _spread_over(each_side(check.sides(**_moved(values, moved)))[at].margin, len(margins.nominal))
                for moved in pair
            ]
        )
        losses.append(_loss(margins.nominal, least))
    return dataclasses.replace(margins, worst=margins.worst - sum(losses), losses=[*margins.losses, *losses])


def _build_value(setting: Case, source: str, sums: Mapping[str, Any], rows: Table) -> Any:
    table, _, column = source.partition(".")
    return np.asarray(sums[column], dtype=float) if table == "sum" else value_of(setting, source, rows)


def _weighed_margins(check: Check, sums: Mapping[str, Any], shifts: Shifts, count: int) -> _Margins:
    """One total against another: every measurement moves the margin by as much whatever the build."""
    value, limit = (in_unit(check, sums[name]) for name in (check.total, check.bound))
    side = compared(check, value, limit)
    nominal = _spread_over(side.margin, count)
    losses = [_spread_over(loss, count) for loss in weighing_losses(check, shifts)]
    lost = in_unit(check, shifts.worst.get((check.id, check.where), 0.0))
    return _Margins(side, nominal, np.asarray(nominal - lost, dtype=float), losses)


def weighing_losses(check: Check, shifts: Shifts) -> list[float]:
    """What each measurement can take from a check that weighs one total against another, in its own unit."""
    rooms = [
        [compared(check, moved.get(check.total, 0.0), moved.get(check.bound, 0.0)).margin for moved in ends]
        for ends in shifts.moves
    ]
    return [float(in_unit(check, max(0.0, -float(min(ends))))) for ends in rooms]


def build_judgement(job: Job, check: Check, sums: Mapping[str, Any], rows: Table, shifts: Shifts) -> Judgement:
    """A whole-build check over n builds."""
    every = build_margins(job, check, sums, rows, shifts, told=True)
    return _worst_of([_judgement(job, check, margins, check.state or "", told=True) for margins in every])


def build_margin(
    job: Job,
    check: Check,
    sums: Mapping[str, Any],
    rows: Table,
    shifts: Shifts,
    change: Mapping[str, float] | None = None,
) -> Floats:
    """The margin of a whole-build check that decides; `change` as for `build_margins`."""
    every = build_margins(job, check, sums, rows, shifts, change)
    return governing_of(decides(job, check, own.nominal, own.worst, own.losses) for own in every)


def whole(check: Check, amount: float) -> float:
    """An amount in the unit of a build check, in the whole units of its totals."""
    return amount / float(in_unit(check, 1.0))


def in_unit(check: Check, whole: Any) -> Any:
    """A whole-number amount of a build check in the check's own unit: grams to kilograms, an axle to one corner."""
    return np.asarray(whole, dtype=float) * check.share / (1000.0 if check.unit == "kg" else 1.0)

"""Entries of the constraint table x rows -> margins.

What is absent is "unverified", and told as something to measure.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from combo import job as jobs
from combo.checks import CHECKS
from combo.checks.check import Check, Sides, Verdict, judged, verdict_of
from combo.checks.rows import SOURCES
from combo.checks.totals import TOTALS
from combo.job import AXLES, Axle, Job
from combo.parts import KINDS

HUB_CENTRIC_MM = 0.1
_KINDS = {kind.name: kind for kind in KINDS.values()}


@dataclass(frozen=True)
class Need:
    """Something to find out: what it is called, whose it is, and how it is measured."""

    name: str
    of: str
    how: str

    def text(self) -> str:
        """As listed for the shop."""
        return f"{self.of}: {self.name}" + (f" ({self.how})" if self.how else "")


@dataclass(frozen=True)
class Result:
    """One check of one build: its answer, amounts in the check's own unit, and what is missing where unverified.

    `scale` is what the margin is measured against to tell which check binds; NaN for a check that never binds.
    """

    check: Check
    where: str
    verdict: Verdict
    margin: float
    value: float | str | None
    limit: float | str | None
    scale: float
    needs: tuple[Need, ...] = ()
    note: str = ""


@dataclass(frozen=True)
class Chosen:
    """Builds, one a row in each table: corners at both axles, drives, and counts of each ballast slot."""

    front: pd.DataFrame
    rear: pd.DataFrame
    drive: pd.DataFrame
    slots: pd.DataFrame
    counts: NDArray[np.int64]


def asked_checks(job: Job, rows: str) -> tuple[Check, ...]:
    """Entries for a kind of rows, in order, without those whose target the job does not give."""
    return tuple(check for check in CHECKS if check.rows == rows and is_asked(job, check))


def is_asked(job: Job, check: Check) -> bool:
    """Whether the job gives the target that the check is about; a measurement is always asked."""
    return not check.asked or not is_absent(job_value(job, check.asked, "rear"))


def margins(job: Job, axle: Axle, checks: Iterable[Check], rows: pd.DataFrame) -> pd.DataFrame:
    """Judged margins of row checks.

    Returns
    -------
    DataFrame
        A row a row, a column a check by id, in the check's own unit: negative fails, NaN is unverified.
    """
    judgments = {check.id: judged(check, sides(job, axle, check, rows).margin) for check in checks}
    columns = {name: np.broadcast_to(margin, len(rows)) for name, margin in judgments.items()}
    return pd.DataFrame(columns, index=rows.index)


def sides(job: Job, axle: Axle, check: Check, rows: pd.DataFrame) -> Sides:
    """Both sides of a row check over whole columns."""
    assert check.sides is not None
    return check.sides(**{name: value_of(job, axle, source, rows) for name, source in check.needs.items()})


def value_of(job: Job, axle: Axle, source: str, rows: pd.DataFrame) -> Any:
    """A column of the rows, or an entry of the job, by its dotted name."""
    if source in rows.columns:
        return rows[source].to_numpy()
    return job_value(job, source, axle)


def job_value(job: Job, source: str, axle: Axle) -> Any:
    """An entry of the job by its dotted name: `hub.pilot_mm` is that of the axle."""
    table, _, name = source.partition(".")
    entry = getattr(job, table)
    if table in {"hub", "wheelhouse"}:
        entry = getattr(entry, axle)
    if table == "present":
        name = f"{axle}_{name}"
    if name.startswith("bolt_circle_"):
        return entry.bolt_circle.lug_count if name.endswith("_lugs") else entry.bolt_circle.diameter_mm
    return getattr(entry, name)


def is_absent(value: Any) -> bool:
    """Whether a value of a job or a part stands for "not given"."""
    if isinstance(value, float):
        return bool(np.isnan(value))
    return value is None or (isinstance(value, str | int) and not value)


def totals(job: Job, chosen: Chosen) -> pd.DataFrame:
    """Whole-number totals of builds: a row a build, a column a total; NaN where not known."""
    sums = {}
    for name, total in TOTALS.items():
        value = np.full(len(chosen.counts), total.base(job))
        for rows, column in ((chosen.front, total.front), (chosen.rear, total.rear), (chosen.drive, total.drive)):
            value = value + signed_column(rows, column) if column else value
        if total.slot:
            value = value + chosen.counts @ chosen.slots[total.slot].to_numpy(dtype=float)
        sums[name] = value
    return pd.DataFrame(sums)


def signed_column(rows: pd.DataFrame, column: str) -> NDArray[np.float64]:
    """A column of a total's entry; a leading minus subtracts it."""
    sign = -1.0 if column.startswith("-") else 1.0
    return sign * rows[column.removeprefix("-")].to_numpy(dtype=float)


def build_room(check: Check, sums: Mapping[str, Any] | pd.DataFrame) -> Any:
    """Room of a whole-build check in the total's own whole units: negative fails, NaN is unverified."""
    room = sums[check.bound] - sums[check.total]
    return room if check.sense == "at_most" else -room


def build_room_of(check: Check, job: Job) -> float:
    """What the truck alone brings to the room of a build check; infinite where that leaves it unverified."""
    room = TOTALS[check.bound].base(job) - TOTALS[check.total].base(job)
    room = room if check.sense == "at_most" else -room
    return float("inf") if np.isnan(room) else room


def in_unit(check: Check, whole: float) -> float:
    """A whole-number amount of a build check in the check's own unit: grams to kilograms, an axle to one corner."""
    return whole * check.share / (1000.0 if check.unit == "kg" else 1.0)


def results(job: Job, chosen: Chosen) -> list[list[Result]]:
    """Every check of each build, in the order of the table; corner checks front, then rear."""
    sums = totals(job, chosen)
    of_check: list[list[Result]] = []
    for check in CHECKS:
        if not is_asked(job, check):
            continue
        if check.rows == "corner":
            of_check += [_row_results(job, axle, check, getattr(chosen, axle)) for axle in AXLES]
        elif check.rows == "drive":
            of_check.append(_row_results(job, "rear", check, chosen.drive))
        else:
            of_check.append([_build_result(job, check, chosen, sums, at) for at in range(len(chosen.counts))])
    return [list(of_build) for of_build in zip(*of_check, strict=True)]


def row_results(job: Job, axle: Axle, checks: Iterable[Check], rows: pd.DataFrame) -> list[list[Result]]:
    """Row checks of each row alone, for parts that are not in a whole build."""
    of_check = [_row_results(job, axle, check, rows) for check in checks]
    return [list(of_row) for of_row in zip(*of_check, strict=True)] if of_check else [[] for _ in range(len(rows))]


def _row_results(job: Job, axle: Axle, check: Check, rows: pd.DataFrame) -> list[Result]:
    """One check of every row."""
    value, limit, margin = (np.broadcast_to(side, len(rows)) for side in sides(job, axle, check, rows))
    margin = np.asarray(judged(check, margin))
    scale = check.scale(job, axle) if check.scale else np.nan
    found = []
    for at in range(len(rows)):
        verdict = verdict_of(margin[at])
        is_open = verdict is Verdict.UNVERIFIED
        needs = tuple(_missing(job, axle, check.needs.values(), rows.iloc[[at]])) if is_open else ()
        left, right = check.shown
        own, bound = _shown(left, rows, at, float(value[at])), _shown(right, rows, at, float(limit[at]))
        note = _note(check, margin[at])
        found.append(Result(check, axle, verdict, float(margin[at]), own, bound, scale, needs, note))
    return found


def _build_result(job: Job, check: Check, chosen: Chosen, sums: pd.DataFrame, at: int) -> Result:
    axle: Axle = "front" if check.where == "front" else "rear"
    margin = float(judged(check, in_unit(check, float(build_room(check, sums)[at]))))
    verdict = verdict_of(margin)
    needs = tuple(_missing_in_totals(job, axle, check, chosen, at)) if verdict is Verdict.UNVERIFIED else ()
    scale = check.scale(job, axle) if check.scale else np.nan
    value, limit = (in_unit(check, float(sums[name].iloc[at])) for name in (check.total, check.bound))
    return Result(check, check.where, verdict, margin, _or_none(value), _or_none(limit), scale, needs)


def _shown(name: str, rows: pd.DataFrame, at: int, side: float) -> float | str | None:
    if not name:
        return _or_none(side)
    if name.endswith("bolt_circle"):
        lugs, diameter = rows[f"{name}_lugs"].iloc[at], rows[f"{name}_mm"].iloc[at]
        return None if np.isnan(lugs) else f"{lugs:.0f}x{diameter:.1f} mm".replace(".0 mm", " mm")
    return _or_none(float(rows[name].iloc[at]))


def _or_none(value: float) -> float | None:
    return None if np.isnan(value) else round(value, 4)


def _note(check: Check, margin: float) -> str:
    if check.id != "hub_bore" or not margin >= 0:
        return ""
    return "hub-centric" if margin <= HUB_CENTRIC_MM else "lug-centric: center the wheel by its lugs"


def _missing(job: Job, axle: Axle, sources: Iterable[str], row: pd.DataFrame) -> Iterable[Need]:
    """What is absent behind the sources of a check, down to what a builder can measure or ask for; each once."""
    told: dict[str, Need] = {}
    for source in sources:
        if not is_absent(_one(job, axle, source, row)):
            continue
        roots = [root for root in SOURCES.get(source, ()) if is_absent(_one(job, axle, root, row))]
        if roots:
            told |= {need.text(): need for need in _missing(job, axle, roots, row)}
        else:
            need = _need(axle, source, row)
            told[need.text()] = need
    return told.values()


def _one(job: Job, axle: Axle, source: str, row: pd.DataFrame) -> Any:
    value = value_of(job, axle, source, row)
    return value[0] if isinstance(value, np.ndarray) else value


def _missing_in_totals(job: Job, axle: Axle, check: Check, chosen: Chosen, at: int) -> Iterable[Need]:
    told: dict[str, Need] = {}
    for name in (check.total, check.bound):
        total = TOTALS[name]
        no_row = chosen.drive.iloc[[at]]
        found = list(_missing(job, axle, total.needs, no_row))
        for side in AXLES:
            rows: pd.DataFrame = getattr(chosen, side)
            column: str = getattr(total, side)
            if column:
                found += _missing(job, side, [column.removeprefix("-")], rows.iloc[[at]])
        told |= {need.text(): need for need in found}
    return told.values()


def _need(axle: Axle, source: str, row: pd.DataFrame) -> Need:
    table, _, name = source.partition(".")
    if table in _KINDS:
        kind = _KINDS[table]
        field = next((field for field in kind.fields if name in field.columns), None)
        label = field.name if field else name
        return Need(label.replace("_", " "), f"{table} {row[f'{table}.sku'].iloc[0]}", field.measure if field else "")
    return _job_need(axle, table, name)


def _job_need(axle: Axle, table: str, name: str) -> Need:
    owner = {"hub": jobs.Hub, "wheelhouse": jobs.Wheelhouse}.get(table)
    if owner is None:
        hints = {field.name: field for field in dataclasses.fields(jobs.Job)}
        owner = type(hints[table].default) if hints[table].default is not dataclasses.MISSING else jobs.Truck
    full = f"{axle}_{name}" if table == "present" else name
    field = next(field for field in dataclasses.fields(owner) if field.name == full)
    place = f"[{table}.{axle}]" if table in {"hub", "wheelhouse"} else f"[{table}]"
    return Need(jobs.key_of(full).replace("_", " "), f"truck, {place}", jobs.describe(field))

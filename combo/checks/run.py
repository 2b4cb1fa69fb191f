"""Entries of the constraint table x rows -> margins and results.

What is absent is "unverified", and told as something to measure.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import partial

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from combo import job as jobs
from combo.checks import CHECKS
from combo.checks.check import Check, Verdict, verdict_of
from combo.checks.judge import build_margins, build_sides, deciding_margin, decides, judge, shifts_of
from combo.checks.look import pair_columns
from combo.checks.prices import HUB_CENTRIC_MM
from combo.checks.rows import SOURCES
from combo.checks.totals import TOTALS
from combo.checks.values import BY_AXLE, Setting, is_absent, path_of, value_of
from combo.formulas.chance import chance_of_clearing
from combo.job import AXLES, Axle, Job
from combo.parts import KINDS

_KINDS = {kind.name: kind for kind in KINDS.values()}
_NO_ROW = pd.DataFrame()


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

    `margin` is the deciding one of `nominal`, `worst` case and what `chance` (to clear) asks; `state` is the state of the
    suspension or the cruise point that decides. `scale` is what the margin is measured against to tell which check
    binds; NaN for a check that never binds.
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
    state: str | None = None
    nominal: float = float("nan")
    worst: float = float("nan")
    chance: float = float("nan")


@dataclass(frozen=True)
class Chosen:
    """Builds, one a row in each table: corners at both axles, drives, and counts of each ballast slot."""

    front: pd.DataFrame
    rear: pd.DataFrame
    drive: pd.DataFrame
    slots: pd.DataFrame
    counts: NDArray[np.int64]


def asked_checks(job: Job, rows: str, axle: Axle | None = None) -> tuple[Check, ...]:
    """Entries for a kind of rows (at an axle), in order, without those that the job does not ask for."""
    return tuple(
        check for check in CHECKS
        if check.rows == rows and check.asked(job) and (axle is None or axle in check.axles)
    )  # fmt: skip


def margins(job: Job, axle: Axle, checks: Iterable[Check], rows: pd.DataFrame) -> pd.DataFrame:
    """Deciding margins of row checks.

    Returns
    -------
    DataFrame
        A row a row, a column a check by id, in the check's own unit: negative fails, NaN is unverified.
    """
    return pd.DataFrame({check.id: deciding_margin(job, axle, check, rows) for check in checks}, index=rows.index)


def pairs(front: pd.DataFrame, rear: pd.DataFrame) -> pd.DataFrame:
    """Rows for pair checks: what they look at of both corners of each build, under `front.` and `rear.`."""
    columns = [column for column in pair_columns() if column in front.columns]
    sides = [table[columns].reset_index(drop=True).add_prefix(f"{axle}.") for axle, table in zip(AXLES, (front, rear), strict=True)]
    return pd.concat(sides, axis=1)


def totals(job: Job, chosen: Chosen) -> pd.DataFrame:
    """Whole-number totals of builds: a row a build, a column a total; NaN where not known."""
    sums = {}
    for name, total in TOTALS.items():
        value = np.full(len(chosen.counts), total.start(job))
        for kind, rows in (("front", chosen.front), ("rear", chosen.rear), ("drive", chosen.drive)):
            adds = total.adds(job, kind, rows)
            value = value if adds is None else value + adds
        laid = total.adds(job, "slot", chosen.slots)
        sums[name] = value if laid is None else value + chosen.counts @ laid
    return pd.DataFrame(sums)


def results(job: Job, chosen: Chosen) -> list[list[Result]]:
    """Every check of each build, in the order of the table; corner checks front, then rear."""
    of_check: list[list[Result]] = []
    sums = totals(job, chosen)
    for check in CHECKS:
        if not check.asked(job):
            continue
        if check.rows == "corner":
            of_check += [_row_results(job, axle, check, getattr(chosen, axle)) for axle in check.axles]
        elif check.rows == "drive":
            of_check.append(_row_results(job, "rear", check, chosen.drive))
        elif check.rows == "pair":
            of_check.append(_row_results(job, "rear", check, pairs(chosen.front, chosen.rear)))
        elif check.rows == "layout":
            of_check.append(_layout_results(job, check, chosen))
        else:
            of_check.append(_build_results(job, check, chosen, sums))
    return [list(of_build) for of_build in zip(*of_check, strict=True)]


def row_results(job: Job, axle: Axle, checks: Iterable[Check], rows: pd.DataFrame) -> list[list[Result]]:
    """Row checks of each row alone, for parts that are not in a whole build."""
    of_check = [_row_results(job, axle, check, rows) for check in checks]
    return [list(of_row) for of_row in zip(*of_check, strict=True)] if of_check else [[] for _ in range(len(rows))]


def _row_results(job: Job, axle: Axle, check: Check, rows: pd.DataFrame) -> list[Result]:
    """One check of every row."""
    judgement = judge(job, axle, check, rows)
    where = "truck" if check.rows == "pair" else axle
    found = []
    for at in range(len(rows)):
        left, right = check.shown
        found.append(_result(
            job, axle, check, where, float(judgement.margin[at]),
            _shown(left, rows, at, float(judgement.value[at])), _shown(right, rows, at, float(judgement.limit[at])),
            needs=partial(_row_needs, job, axle, check, str(judgement.variant[at]), rows, at),
            note=_note(check, judgement.margin[at]), state=str(judgement.variant[at]).replace("_", " ") or None,
            nominal=float(judgement.nominal[at]), worst=float(judgement.worst[at]),
            spread=float(judgement.spread[at]),
        ))  # fmt: skip
    return found


def _result(
    job: Job, axle: Axle, check: Check, where: str, margin: float, value: float | str | None, limit: float | str | None,
    *, needs: Callable[[], Iterable[Need]], note: str = "", state: str | None = None, nominal: float, worst: float, spread: float,
) -> Result:  # fmt: skip
    verdict = verdict_of(margin)
    told = tuple(needs()) if verdict is Verdict.UNVERIFIED else ()
    scale = check.scale(job, axle) if check.scale else float("nan")
    chance = chance_of_clearing(nominal, spread)
    return Result(check, where, verdict, margin, value, limit, scale, told, note, state, nominal, worst, chance)


def _build_results(job: Job, check: Check, chosen: Chosen, sums: pd.DataFrame) -> list[Result]:
    axle: Axle = "front" if check.where == "front" else "rear"
    columns = {str(name): sums[name].to_numpy() for name in sums}
    drive = {str(name): chosen.drive[name].to_numpy() for name in chosen.drive}
    sides = build_sides(job, check, columns, drive)
    every = build_margins(job, check, columns, drive, shifts_of(job))
    margin = decides(job, check, every.nominal, every.worst, every.spread)
    return [
        _result(
            job, axle, check, check.where, float(margin[at]), _or_none(float(np.broadcast_to(sides.value, len(sums))[at])),
            _or_none(float(np.broadcast_to(sides.limit, len(sums))[at])),
            needs=partial(_build_needs, job, axle, check, chosen, at), state=check.state, nominal=float(every.nominal[at]),
            worst=float(every.worst[at]), spread=float(every.spread[at]),
        )
        for at in range(len(sums))
    ]  # fmt: skip


def _layout_results(job: Job, check: Check, chosen: Chosen) -> list[Result]:
    """A check of the ballast as it lies; nothing laid holds with nothing to tell."""
    assert check.sides is not None
    value, limit, margin = check.sides(job, chosen.slots)(chosen.counts)
    found = []
    for at in range(len(chosen.counts)):
        is_bare = bool(np.isposinf(margin[at]))
        room = 0.0 if is_bare else float(margin[at])
        shown = (None, None) if is_bare or check.unit == "yes_no" else (float(value[at]), float(limit[at]))
        note = "no ballast is laid" if is_bare else _floor_note(check, float(value[at]), float(limit[at]))
        found.append(_result(job, "rear", check, "truck", room, *(None if one is None else _or_none(one) for one in shown),
                             needs=partial(_layout_needs, job, check, chosen, at), note=note,
                             nominal=room, worst=room, spread=0.0))  # fmt: skip
    return found


def _floor_note(check: Check, taken_m2: float, floor_m2: float) -> str:
    if check.unit != "yes_no" or np.isnan(taken_m2) or taken_m2 <= 0:
        return ""
    return f"{taken_m2:.2f} m2 of {floor_m2:.2f} m2 taken"


def _shown(name: str, rows: pd.DataFrame, at: int, side: float) -> float | str | None:
    if not name:
        return _or_none(side)
    if name.endswith("bolt_circle"):
        lugs, diameter = rows[f"{name}_lugs"].iloc[at], rows[f"{name}_mm"].iloc[at]
        return None if np.isnan(lugs) else f"{lugs:.0f}x{diameter:.1f} mm".replace(".0 mm", " mm")
    return _or_none(float(rows[name].iloc[at]))


def _or_none(value: float) -> float | None:
    return None if not np.isfinite(value) else round(value, 6)


def _note(check: Check, margin: float) -> str:
    if check.id != "hub_bore" or not margin >= 0:
        return ""
    return "hub-centric" if margin <= HUB_CENTRIC_MM else "lug-centric: center the wheel by its lugs"


# What is missing, down to what a builder can measure or ask for


def _row_needs(job: Job, axle: Axle, check: Check, variant: str, rows: pd.DataFrame, at: int) -> Iterator[Need]:
    row = rows.iloc[[at]]
    if check.rows != "pair":
        yield from _missing(Setting(job, axle, variant), check.needs.values(), row)
        return
    for source in check.needs.values():
        place, _, name = source.partition(".")
        if place in AXLES:
            own = row.filter(like=f"{place}.")
            yield from _missing(Setting(job, place), [name], own.rename(columns=lambda column: column.partition(".")[2]))
        else:
            yield from _missing(Setting(job, axle), [source], _NO_ROW)


def _missing(setting: Setting, sources: Iterable[str], row: pd.DataFrame) -> Iterable[Need]:
    """What is absent behind the sources of a check; each once. A wish that the job leaves out is never missing."""
    told: dict[str, Need] = {}
    for source in sources:
        if source.startswith("targets.") or not _is_missing(setting, source, row):
            continue
        roots = [root for root in SOURCES.get(source, ()) if _is_missing(setting, root, row)]
        found = _missing(setting, roots, row) if roots else [_need(setting, source, row)]
        told |= {need.text(): need for need in found}
    return told.values()


def _is_missing(setting: Setting, source: str, row: pd.DataFrame) -> bool:
    table = source.partition(".")[0]
    if table in _KINDS and source not in row.columns:
        return False
    value = value_of(setting, source, row)
    return is_absent(value[0] if isinstance(value, np.ndarray) else value)


def _build_needs(job: Job, axle: Axle, check: Check, chosen: Chosen, at: int) -> Iterable[Need]:
    names = [check.total, check.bound] if check.sides is None else [
        source.partition(".")[2] for source in check.needs.values() if source.startswith("sum.")
    ]  # fmt: skip
    told: dict[str, Need] = {}
    for name in names:
        told |= {need.text(): need for need in _missing_in_total(job, axle, name, chosen, at)}
    others = [source for source in check.needs.values() if not source.startswith("sum.")]
    told |= {need.text(): need for need in _missing(Setting(job, axle), others, chosen.drive.iloc[[at]])}
    return told.values()


def _missing_in_total(job: Job, axle: Axle, name: str, chosen: Chosen, at: int) -> Iterator[Need]:
    total = TOTALS[name]
    if np.isnan(total.base(job)):
        yield from _missing(Setting(job, axle), total.needs, _NO_ROW)
    for kind in (*AXLES, "drive"):
        column: str = getattr(total, kind)
        rows: pd.DataFrame = getattr(chosen, kind)
        if column:
            place: Axle = "front" if kind == "front" else "rear"
            yield from _missing(Setting(job, place), [column.removeprefix("-")], rows.iloc[[at]])


def _layout_needs(job: Job, check: Check, chosen: Chosen, at: int) -> Iterator[Need]:
    """What is missing of the stations that hold something, and of the items that lie there."""
    told: dict[str, Need] = {}
    laid = chosen.slots[chosen.counts[at] > 0]
    for source in check.needs.values():
        table, _, name = source.partition(".")
        if table == "ballast":
            for row in range(len(laid)):
                if is_absent(float(laid[source].iloc[row])):
                    need = _need(Setting(job, "rear"), source, laid.iloc[[row]])
                    told[need.text()] = need
            continue
        for station in job.ballast.stations:
            if station.name in set(laid["station.name"]) and is_absent(getattr(station, name)):
                field = next(field for field in dataclasses.fields(station) if field.name == name)
                need = Need(_plain(jobs.key_of(name)), f'truck, [[ballast.stations]] "{station.name}"', jobs.describe(field))
                told[need.text()] = need
    yield from told.values()


def _need(setting: Setting, source: str, row: pd.DataFrame) -> Need:
    table, _, name = source.partition(".")
    if table in _KINDS:
        kind = _KINDS[table]
        field = next((field for field in kind.fields if name in field.columns), None)
        label = field.name if field else name
        return Need(_plain(label), f"{table} {row[f'{table}.sku'].iloc[0]}", field.measure if field else "")
    if table == "point":
        return Need(f"cruise {_plain(jobs.key_of(name))}", "truck, [targets]", "what the customer wants")
    return job_need(setting, source)


def job_need(setting: Setting, source: str) -> Need:
    """Something of the job to find out: its key, its table, and how it is measured."""
    table, _, name = source.partition(".")
    if table == "state":
        field = next(field for field in dataclasses.fields(jobs.State) if field.name == name)
        return Need(_plain(jobs.key_of(name)), f"truck, [wheelhouse.{setting.axle}.{setting.variant or 'full_bump'}]",
                    jobs.describe(field))  # fmt: skip
    path, field = path_of(setting, source)
    place = f"[{table}.{setting.axle}]" if table in BY_AXLE else f"[{table}]"
    return Need(_plain(jobs.key_of(path.rpartition(".")[2])), f"truck, {place}", jobs.describe(field))


def _plain(key: str) -> str:
    return key.replace("_", " ")


def needs_of(every: Iterable[Result]) -> dict[str, tuple[Need, tuple[str, ...]]]:
    """Each thing to find out once, with the names of the checks that wait for it."""
    told: dict[str, tuple[Need, tuple[str, ...]]] = {}
    for result in every:
        for need in result.needs:
            _, names = told.get(need.text(), (need, ()))
            told[need.text()] = (need, tuple(dict.fromkeys((*names, result.check.name))))
    return told


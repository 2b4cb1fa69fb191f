"""A job file and its lists, read together: `load(path)` gives a Job and its Parts, or every problem at once."""

from __future__ import annotations

import contextlib
import signal
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from combo.cores import spare_cores
from combo.job import AXLES, WHEELS_AN_AXLE, Job
from combo.parts import KINDS, WHEEL, Parts
from combo.problems import Place, Problem, Report, nearest
from combo.read.cache import Kept, Wanted, keep, kept_of
from combo.read.duplicates import settle_duplicates
from combo.read.gears import for_driven_axles
from combo.read.lists import HEADERS_COLUMN, ListedParts, SheetRead, are_on_truck, cell_place, place_of, read_lists
from combo.read.made_to_order import circles_of, drilled, is_drilled_to_order, of_two_circles, stepped
from combo.read.report import MOST_NOT_UNDERSTOOD, ListReport, SetAside, counted, grouped
from combo.read.settle import settle_ballast, settle_differentials, settle_ratios, settle_tires, settle_wheels
from combo.read.toml import read_job
from combo.units import DOLLAR

if TYPE_CHECKING:
    from concurrent.futures import Future

LONG = 1_000_000
"""Bytes of lists from which it is worth a process of its own to read them."""
_SETTLERS = {
    "wheels": settle_wheels,
    "tires": settle_tires,
    "ratios": settle_ratios,
    "differentials": settle_differentials,
    "ballast": settle_ballast,
}


@dataclass(frozen=True)
class Loaded:
    """What a job file and its lists hold, and what reading has to tell about them.

    `sheets` are the lists that were read, `aside` the rows that are not used, by list.
    """

    job: Job
    parts: Parts
    notices: tuple[Problem, ...]
    sheets: dict[str, tuple[SheetRead, ...]] = field(default_factory=dict)
    aside: dict[str, tuple[SetAside, ...]] = field(default_factory=dict)


def load(path: Path) -> Loaded:
    """Read a job and all its lists.

    Raises
    ------
    Problems
        Everything wrong with any of the files, together.
    """
    report = Report()
    job, files = read_job(path, report)
    currency = DOLLAR if job is None else job.money.in_currency()
    wanted = [
        Wanted(kind, getattr(files, plural), files.headers.get(plural, {}), currency, files.bad_rows == "stop")
        for plural, kind in KINDS.items()
    ]
    kept = {own.kind.plural: one for own, one in zip(wanted, _kept_or_read(wanted), strict=True)}
    tables: dict[str, Any] = {plural: own.table for plural, own in kept.items()}
    extra = {plural: own.extra for plural, own in kept.items()}
    for own in kept.values():
        report.problems.extend(own.problems)
        report.notices.extend(own.notices)
    report.raise_if_any()
    if job is None:
        raise AssertionError("a job that cannot be read leaves a problem in the report")
    circles = circles_of(job.hub, tables["spacers"])
    if is_drilled_to_order(tables["wheels"]):
        tables["wheels"], extra["wheels"] = drilled(tables["wheels"], extra["wheels"], circles, report)
    tables["wheels"], extra["wheels"] = of_two_circles(tables["wheels"], extra["wheels"], circles)
    aside = {}
    for plural, own in kept.items():
        are_short, short = _short_of_stock(job, plural, tables[plural])
        if short:
            tables[plural], extra[plural] = (
                one.loc[~are_short].reset_index(drop=True) for one in (tables[plural], extra[plural])
            )
        aside[plural] = (*own.aside, *short)
        _tell_aside(own.sheets, aside[plural], report)
    parts = Parts(**tables, extra=extra)
    _check_together(job, parts, path.name, report)
    parts = for_driven_axles(job, parts, path.name, report)
    report.raise_if_any()
    return Loaded(job, parts, tuple(report.notices), {plural: own.sheets for plural, own in kept.items()}, aside)


def _tell_aside(sheets: tuple[SheetRead, ...], aside: tuple[SetAside, ...], report: Report) -> None:
    """How many rows of each list are read, where not all are."""
    for sheet in sheets:
        own = [one for one in aside if one.is_in(sheet.file, sheet.sheet)]
        if own:
            read = f"{sheet.rows - len(own):,} of {sheet.rows:,} rows read"
            report.notice(
                Place(sheet.file, table=sheet.sheet or None),
                "rows-set-aside",
                f"{read}; {len(own):,} set aside: {counted(own)}",
                "combo check lists each",
            )


def _check_together(job: Job, parts: Parts, shown: str, report: Report) -> None:
    """What only the job and its lists together can show to be wrong: nuts that no list has, suppliers without terms."""
    known = [supplier.name for supplier in job.suppliers]
    for name in parts.suppliers if known else ():
        if name not in known:
            near = nearest(name, known)
            report.notice(
                Place(shown, table="suppliers"),
                "unknown-supplier",
                f'no [[suppliers]] is called "{name}"',
                f'the nearest is "{near}"' if near else "its parts have freight by mass, and no least order",
            )
    nuts = set(parts.nuts["sku"])
    named = [
        (cell_place(row, "lug_nut"), row["lug_nut"])
        for _, row in parts.wheels[~parts.wheels["lug_nut"].isin(nuts | {""})].iterrows()
    ]
    of_hubs = {axle: getattr(job.hub, axle).lug_nut for axle in AXLES}
    named += [
        (Place(shown, column="lug_nut", table=f"hub.{axle}"), name)
        for axle, name in of_hubs.items()
        if name not in nuts | {""}
    ]
    for place, name in dict.fromkeys(named):  # the steps of a wheel made to order share a row
        near = nearest(name, sorted(nuts))
        report.add(
            place,
            "unknown-nut",
            f'no listed nut is called "{name}"',
            f'the nearest is "{near}"' if near else "a SKU of the list of nuts is accepted",
        )


def _kept_or_read(wanted: Sequence[Wanted]) -> Iterator[Kept]:
    """The lists of each kind, as they were kept or as they are read now; in order. Of several long ones the longest is
    read by this process, and the others by others at the same time.
    """
    before = [kept_of(own) for own in wanted]
    unread = [own for own, kept in zip(wanted, before, strict=True) if kept is None]
    with _reading_beside(unread) as begun:
        for own, kept in zip(wanted, before, strict=True):
            if kept is None:
                kept = begun[own.key]() if own.key in begun else read_kind(own)
                keep(own, kept)
            yield kept


@contextlib.contextmanager
def _reading_beside(unread: list[Wanted]) -> Iterator[dict[str, Callable[[], Kept]]]:
    """By key, lists that other processes have begun to read: what they give, when they are done."""
    beside = sorted((own for own in unread if own.size >= LONG), key=lambda own: -own.size)[1:]
    processes = min(len(beside), spare_cores()) if beside else 0
    if not processes:
        yield {}
        return
    from concurrent.futures import BrokenExecutor, ProcessPoolExecutor  # take long to load, and few lists are so long
    from multiprocessing import get_context

    def outcome(begun: Future[Kept], own: Wanted) -> Kept:
        try:
            return begun.result()
        except BrokenExecutor:  # that process has died, of memory perhaps
            return read_kind(own)

    with ProcessPoolExecutor(processes, get_context("fork"), _leave_interrupts_alone) as pool:
        yield {own.key: partial(outcome, pool.submit(read_kind, own), own) for own in beside}


def _leave_interrupts_alone() -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the process that waits for the lists sees to them


def read_kind(wanted: Wanted) -> Kept:
    """The lists of a kind as one settled part table, without the rows that are set aside."""
    report = ListReport()
    return settled(wanted, read_lists(wanted.kind, wanted.files, wanted.mapped, report, wanted.currency), report)


def settled(wanted: Wanted, lists: ListedParts, report: ListReport) -> Kept:
    """Lists that are read, settled; `report` is that of their reading."""
    _set_aside_sold_out(lists.table, report)
    table = settle_duplicates(wanted.kind, report.without_aside(lists.table), lists.sheets, report)
    extra = lists.extra.loc[table.index].reset_index(drop=True)
    table = table.reset_index(drop=True)
    if wanted.kind.name == WHEEL.name:
        table, extra = stepped(table, extra, report)
    settle = _SETTLERS.get(wanted.kind.plural)
    left = report.without_aside(settle(table, report) if settle and len(table) else table)
    if not is_drilled_to_order(left):  # else the job is still to come, and with it problems to place
        left = left.drop(columns=HEADERS_COLUMN)
    if len(left) < len(extra):
        extra = extra.loc[left.index].reset_index(drop=True)
        left = left.reset_index(drop=True)
    _judge_aside(wanted, lists.sheets, len(left), report)
    return Kept(
        left,
        extra,
        tuple(grouped(report.problems)),
        tuple(grouped(report.notices)),
        tuple(report.aside.values()),
        lists.sheets,
    )


def _set_aside_sold_out(table: pd.DataFrame, report: ListReport) -> None:
    """Set aside what the supplier has none of, unless it is on the truck already."""
    for _, row in table[_has_fewer(table, 1)].iterrows():
        report.set_aside(
            "no stock",
            place_of(row, "stock"),
            "no-stock",
            f"{row['sku']}: none in stock",
            "a part that the supplier has is accepted",
        )


def _judge_aside(wanted: Wanted, sheets: tuple[SheetRead, ...], left: int, report: ListReport) -> None:
    """Make problems of rows that are set aside: where bad rows stop, where so many are not understood that the rules
    must be wrong, and where no row is left.
    """
    aside = list(report.aside.values())
    for sheet in sheets:
        own = [one for one in aside if one.is_in(sheet.file, sheet.sheet)]
        unclear = [one for one in own if one.why == "not understood"]
        is_rule_wrong = len(unclear) > MOST_NOT_UNDERSTOOD * sheet.rows
        report.problems.extend(one.problem for one in (own if wanted.stops else unclear if is_rule_wrong else ()))
    if not left and not report.problems:
        report.problems.extend(one.problem for one in aside)


_LEAST_NEEDED = {"wheels": WHEELS_AN_AXLE, "tires": WHEELS_AN_AXLE, "spacers": WHEELS_AN_AXLE}
"""How many of a part any build takes that has it; of all others one."""


def _short_of_stock(job: Job, plural: str, table: pd.DataFrame) -> tuple[NDArray[np.bool_], list[SetAside]]:
    """Which parts no build can have, as the supplier has fewer than any takes; and each as it is told."""
    least = _LEAST_NEEDED.get(plural, 1)
    if job.job.same_all_round and plural in {"wheels", "tires"}:
        least = 2 * least + job.job.spare
    are_short = _has_fewer(table, least)
    return are_short, [
        SetAside(
            "no stock",
            Problem(
                cell_place(row, "stock"),
                "short-of-stock",
                f"{row['sku']}: {row['stock']:g} in stock",
                f"a build takes {least} or more",
            ),
        )
        for _, row in table[are_short].iterrows()
    ]


def _has_fewer(table: pd.DataFrame, least: int) -> NDArray[np.bool_]:
    """Of which parts the supplier has fewer; what is on the truck already need not be had."""
    if "stock" not in table:  # of nuts
        return np.zeros(len(table), dtype=np.bool_)
    are_few: NDArray[np.bool_] = (table["stock"] < least).to_numpy()
    return are_few & ~are_on_truck(table)

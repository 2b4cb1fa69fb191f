"""A job file and its lists, read together: `load(path)` gives a Job and its Parts, or every problem at once."""

from __future__ import annotations

import contextlib
import signal
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pandas as pd

from combo.cores import spare_cores
from combo.job import AXLES, Job
from combo.parts import KINDS, WHEEL, Parts
from combo.problems import Place, Problem, Report, nearest
from combo.read.cache import Kept, Wanted, keep, kept_of
from combo.read.gears import for_driven_axles
from combo.read.lists import HEADERS_COLUMN, read_lists
from combo.read.made_to_order import circles_of, drilled, is_drilled_to_order, stepped
from combo.read.settle import settle_differentials, settle_ratios, settle_tires, settle_wheels
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
}


@dataclass(frozen=True)
class Loaded:
    """What a job file and its lists hold, and what reading has to tell about them."""

    job: Job
    parts: Parts
    notices: tuple[Problem, ...]


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
    wanted = [Wanted(kind, getattr(files, plural), files.headers.get(plural, {}), currency)
              for plural, kind in KINDS.items()]  # fmt: skip
    tables: dict[str, Any] = {}
    extra: dict[str, pd.DataFrame] = {}
    for own, kept in zip(wanted, _kept_or_read(wanted), strict=True):
        tables[own.kind.plural], extra[own.kind.plural] = kept.table, kept.extra
        report.problems.extend(kept.problems)
        report.notices.extend(kept.notices)
    report.raise_if_any()
    if job is None:
        raise AssertionError("a job that cannot be read leaves a problem in the report")
    if is_drilled_to_order(tables["wheels"]):
        circles = circles_of(job.hub, tables["spacers"])
        tables["wheels"], extra["wheels"] = drilled(tables["wheels"], extra["wheels"], circles, report)
    parts = Parts(**tables, extra=extra)
    _check_together(job, parts, path.name, report)
    parts = for_driven_axles(job, parts, path.name, report)
    report.raise_if_any()
    return Loaded(job, parts, tuple(report.notices))


def _check_together(job: Job, parts: Parts, shown: str, report: Report) -> None:
    """What only the job and its lists together can show to be wrong: nuts that no list has, suppliers without terms."""
    known = [supplier.name for supplier in job.suppliers]
    for name in parts.suppliers if known else ():
        if name not in known:
            near = nearest(name, known)
            report.notice(Place(shown, table="suppliers"), "unknown-supplier", f'no [[suppliers]] is called "{name}"',
                          f'the nearest is "{near}"' if near else "its parts have freight by mass, and no least order",
                          )  # fmt: skip
    nuts = set(parts.nuts["sku"])
    named = [(Place(str(row["file"]), int(row["row"]), "lug_nut", str(row["sheet"]) or None), row["lug_nut"])
             for _, row in parts.wheels[~parts.wheels["lug_nut"].isin(nuts | {""})].iterrows()]  # fmt: skip
    of_hubs = {axle: getattr(job.hub, axle).lug_nut for axle in AXLES}
    named += [(Place(shown, column="lug_nut", table=f"hub.{axle}"), name)
              for axle, name in of_hubs.items() if name not in nuts | {""}]  # fmt: skip
    for place, name in dict.fromkeys(named):  # the steps of a wheel made to order share a row
        near = nearest(name, sorted(nuts))
        report.add(place, "unknown-nut", f'no listed nut is called "{name}"',
                   f'the nearest is "{near}"' if near else "a SKU of the list of nuts is accepted")  # fmt: skip


def _kept_or_read(wanted: Sequence[Wanted]) -> Iterator[Kept]:
    """The lists of each kind, as they were kept or as they are read now; in order. Of several long ones the longest is
    read by this process, and the others by others at the same time.
    """
    before = [kept_of(own) for own in wanted]
    unread = [own for own, kept in zip(wanted, before, strict=True) if kept is None]
    with _reading_beside(unread) as begun:
        for own, kept in zip(wanted, before, strict=True):
            if kept is None:
                kept = begun[own.key]() if own.key in begun else _read(own)
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
            return _read(own)

    with ProcessPoolExecutor(processes, get_context("fork"), _leave_interrupts_alone) as pool:
        yield {own.key: partial(outcome, pool.submit(_read, own), own) for own in beside}


def _leave_interrupts_alone() -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the process that waits for the lists sees to them


def _read(wanted: Wanted) -> Kept:
    """The lists of a kind as one settled part table."""
    report = Report()
    table, extra = read_lists(wanted.kind, wanted.files, wanted.mapped, report, wanted.currency)
    if wanted.kind.name == WHEEL.name:
        table, extra = stepped(table, extra, report)
    settle = _SETTLERS.get(wanted.kind.plural)
    settled = settle(table, report) if settle else table
    if not is_drilled_to_order(settled):  # else the job is still to come, and with it problems to place
        settled = settled.drop(columns=HEADERS_COLUMN)
    if len(settled) < len(table):  # rows that were set aside
        settled, extra = settled.reset_index(drop=True), extra.loc[settled.index].reset_index(drop=True)
    return Kept(settled, extra, tuple(report.problems), tuple(report.notices))

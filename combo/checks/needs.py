"""What a check still lacks, down to what a builder can measure or ask a supplier for."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from combo import job as jobs
from combo.checks.check import Check, axle_at
from combo.checks.judge import cases_of, setting_told
from combo.checks.rows import SOURCES, Chosen
from combo.checks.table import NO_ROWS, Pairs, Table, one_row
from combo.checks.totals import TOTALS, needs_of
from combo.checks.values import IN_STATE, OF_TIRE, Case, is_absent, path_of, value_of
from combo.job import AXLES, Axle, Job
from combo.parts import KINDS

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


def row_needs(job: Job, axle: Axle, check: Check, label: str, rows: Table, at: int) -> Iterable[Need]:
    """What one row of a row check still lacks in the setting that its judgement names; each once."""
    row = one_row(rows, at)
    if not isinstance(row, Pairs):
        return _missing(setting_told(job, axle, check, label), check.needs.values(), row)
    return {need.text(): need for need in _pair_needs(job, axle, check, row)}.values()


def _pair_needs(job: Job, axle: Axle, check: Check, row: Pairs) -> Iterator[Need]:
    for source in check.needs.values():
        place, _, name = source.partition(".")
        if place in AXLES:
            yield from _missing(Case(job, place), [name], row.of(place))
        else:
            yield from _missing(Case(job, axle), [source], NO_ROWS)


def truck_needs(job: Job, check: Check) -> Iterator[Need]:
    """What the job itself still lacks for a check, whatever the parts."""
    if check.rows == "layout":
        places = {station.name for station in job.ballast.stations}
        for source in check.needs.values():
            if source.startswith("station."):
                yield from _of_stations(job, source, places)
        return
    totals = [TOTALS[name] for name in total_names(check) if np.isnan(TOTALS[name].base(job))]
    sources = [*check.needs.values(), *(need for total in totals for need in total.needs)]
    for axle in check.axles if check.rows == "corner" else ("rear",):
        for setting in cases_of(job, axle, check):
            for source in sources:
                yield from _of_truck(setting, source)


def total_names(check: Check) -> list[str]:
    """Totals that a check looks at."""
    summed = [source.partition(".")[2] for source in check.needs.values() if source.startswith("sum.")]
    return [name for name in (check.total, check.bound, *summed) if name]


def _of_truck(setting: Case, source: str) -> Iterator[Need]:
    """Entries of the job behind a name that are absent; those of the parts are passed over, and so are wishes."""
    table = source.partition(".")[0]
    if source in OF_TIRE:
        return
    is_entry = table == "state" or hasattr(setting.job, table)
    if table == "targets" or (is_entry and not is_absent(value_of(setting, source, NO_ROWS))):
        return
    roots = SOURCES.get(source, ())
    for root in roots:
        yield from _of_truck(setting, root)
    if is_entry and not roots:
        yield job_need(setting, source)


def _missing(setting: Case, sources: Iterable[str], row: Table) -> Iterable[Need]:
    """What is absent behind the sources of a check; each once. A wish that the job leaves out is never missing."""
    told: dict[str, Need] = {}
    for source in sources:
        if source.startswith("targets.") or not _is_missing(setting, source, row):
            continue
        every = SOURCES.get(source, ())
        roots = [root for root in every if _is_missing(setting, root, row)]
        # Where all behind it is known and it still is not, what is known does not reach: told by the first.
        found = _missing(setting, roots, row) if roots else [_need(setting, next(iter(every), source), row)]
        told |= {need.text(): need for need in found}
    return told.values()


def _is_missing(setting: Case, source: str, row: Table) -> bool:
    table = source.partition(".")[0]
    if table in _KINDS and source not in row:
        return False
    value = value_of(setting, source, row)
    return is_absent(value[0] if isinstance(value, np.ndarray) else value)


class BuildNeeds:
    """What checks of whole builds still lack; what is absent of a build is looked up once, however many checks ask."""

    def __init__(self, job: Job, chosen: Chosen) -> None:
        self._job, self._chosen = job, chosen
        self._found: dict[tuple[str, Axle, str, int], tuple[Need, ...]] = {}

    def of(self, axle: Axle, check: Check, at: int) -> Iterable[Need]:
        """What one build still lacks for a check; each once."""
        told: dict[str, Need] = {}
        for name in total_names(check):
            told |= {need.text(): need for need in self._in_total(axle, name, at)}
        for source in check.needs.values():
            place, _, name = source.partition(".")
            if place in AXLES:
                told |= {need.text(): need for need in self._behind(place, place, name, at)}
            elif place not in {"sum", "job"}:
                told |= {need.text(): need for need in self._behind("drive", axle, source, at)}
        return told.values()

    def _in_total(self, axle: Axle, name: str, at: int) -> Iterator[Need]:
        total = TOTALS[name]
        if np.isnan(total.base(self._job)):
            yield from _missing(Case(self._job, axle), needs_of(self._job, name), NO_ROWS)
        for kind in (*AXLES, "drive"):
            column: str = getattr(total, kind)
            if column:
                yield from self._behind(kind, axle_at(kind), column.removeprefix("-"), at)

    def _behind(self, rows: str, axle: Axle, source: str, at: int) -> tuple[Need, ...]:
        """What is absent behind a source, in a build's front, rear or drive row."""
        key = rows, axle, source, at
        if key not in self._found:
            row = one_row(getattr(self._chosen, rows), at)
            self._found[key] = tuple(_missing(Case(self._job, axle), [source], row))
        return self._found[key]


def layout_needs(job: Job, check: Check, chosen: Chosen, at: int) -> Iterable[Need]:
    """What is missing of the stations that hold something, and of the items that lie there."""
    told: dict[str, Need] = {}
    laid = chosen.slots.take(chosen.counts[at] > 0)
    for source in check.needs.values():
        places = set(laid["station.name"])
        found = _of_items(job, source, laid) if source.startswith("ballast.") else _of_stations(job, source, places)
        told |= {need.text(): need for need in found}
    return told.values()


def _of_items(job: Job, source: str, laid: Table) -> Iterator[Need]:
    for at in np.flatnonzero(np.isnan(laid[source])).tolist():
        yield _need(Case(job, "rear"), source, one_row(laid, at))


def _of_stations(job: Job, source: str, places: set[str]) -> Iterator[Need]:
    name = source.partition(".")[2]
    field = next(field for field in dataclasses.fields(jobs.Station) if field.name == name)
    for station in job.ballast.stations:
        if station.name in places and is_absent(getattr(station, name)):
            place = f'truck, [[ballast.stations]] "{station.name}"'
            yield Need(_plain(jobs.key_of(name)), place, jobs.describe(field))


def _need(setting: Case, source: str, row: Table) -> Need:
    table, _, name = source.partition(".")
    if table in _KINDS:
        kind = _KINDS[table]
        field = next((field for field in kind.fields if name in field.columns), None)
        label = field.name if field else name
        return Need(_plain(label), f"{table} {row[f'{table}.sku'][0]}", field.measure if field else "")
    if table == "point":
        return Need(f"cruise {_plain(jobs.key_of(name))}", "truck, [targets]", "what the customer wants")
    return job_need(setting, source)


def job_need(setting: Case, source: str) -> Need:
    """Something of the job to find out: its key, its table, and how it is measured."""
    table, _, name = source.partition(".")
    if table == "state" and name in IN_STATE:
        state, own = IN_STATE[name]
        return job_need(dataclasses.replace(setting, variant=state), f"state.{own}")
    if table == "state":
        field = next((field for field in dataclasses.fields(jobs.State) if field.name == name), None)
        if field is None:
            place = f"truck, [wheelhouse.{setting.axle}]"
            return Need(_plain(jobs.key_of(name)), place, "follows from what is measured")
        return Need(
            _plain(jobs.key_of(name)),
            f"truck, [wheelhouse.{setting.axle}.{setting.variant or 'full_bump'}]",
            jobs.describe(field),
        )
    path, field = path_of(setting, source)
    place = f"[{path.rpartition('.')[0]}]"
    return Need(_plain(jobs.key_of(path.rpartition(".")[2])), f"truck, {place}", jobs.describe(field))


def _plain(key: str) -> str:
    return key.replace("_", " ")

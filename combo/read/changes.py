"""What a new price list changes against the one before it: parts that are new or gone, dearer or cheaper."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from pathlib import Path

from combo.job import Job, ListFile
from combo.parts import KINDS, Kind
from combo.read.cache import Wanted
from combo.read.dates import date_in
from combo.read.load import read_kind


@dataclass(frozen=True)
class PriceChange:
    """A part whose price has changed, in cents."""

    sku: str
    before_cents: int
    now_cents: int


@dataclass(frozen=True)
class ListChange:
    """A price list against the one before it; parts by number."""

    kind: Kind
    file: str
    older: str
    new: tuple[str, ...]
    gone: tuple[str, ...]
    dearer: tuple[PriceChange, ...]
    cheaper: tuple[PriceChange, ...]


def list_changes(job: Job) -> list[ListChange]:
    """What each list changes whose pattern an older file matches, too; an older list that does not read is left out."""
    files = [(kind, file) for plural, kind in KINDS.items() for file in getattr(job.files, plural) if file.older]
    return [change for kind, file in files if (change := _change(job, kind, file)) is not None]


def _change(job: Job, kind: Kind, file: ListFile) -> ListChange | None:
    older = Path(file.older)
    before_file = dataclasses.replace(file, path=file.older, shown=older.name, date=date_in(older.name), older="")
    now, before = _prices(job, kind, file), _prices(job, kind, before_file)
    if not now or not before:
        return None
    both = sorted(now.keys() & before.keys())
    moved = [PriceChange(sku, before[sku], now[sku]) for sku in both]
    return ListChange(
        kind,
        file.shown,
        older.name,
        tuple(sorted(now.keys() - before.keys())),
        tuple(sorted(before.keys() - now.keys())),
        tuple(one for one in moved if one.now_cents > one.before_cents),
        tuple(one for one in moved if one.now_cents < one.before_cents),
    )


def _prices(job: Job, kind: Kind, file: ListFile) -> dict[str, int]:
    """Prices of a list's parts; {} where it does not read."""
    mapped = job.files.headers.get(kind.plural, {})
    kept = read_kind(Wanted(kind, (file,), mapped, job.money.in_currency()))
    if kept.problems:
        return {}
    return {str(sku): round(cents) for sku, cents in zip(kept.table["sku"], kept.table["price_cents"], strict=True)}

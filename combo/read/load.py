"""A job file and its lists, read together: `load(path)` gives a Job and its Parts, or every problem at once."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from pathlib import Path

import pandas as pd

from combo.job import Job, ListFile
from combo.parts import KINDS, Kind, Parts
from combo.problems import Problem, Report
from combo.read.cache import Kept, kept_or_read
from combo.read.lists import HEADERS_COLUMN, read_lists
from combo.read.settle import settle_differentials, settle_ratios, settle_tires, settle_wheels
from combo.read.toml import read_job

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
    tables: dict[str, pd.DataFrame] = {}
    extra: dict[str, pd.DataFrame] = {}
    for plural, kind in KINDS.items():
        lists, mapped = getattr(files, plural), files.headers.get(plural, {})
        kept = kept_or_read(kind, lists, mapped, report, partial(_read, kind, lists, mapped))
        tables[plural], extra[plural] = kept.table, kept.extra
    report.raise_if_any()
    if job is None:
        raise AssertionError("a job that cannot be read leaves a problem in the report")
    return Loaded(job, Parts(**tables, extra=extra), tuple(report.notices))


def _read(kind: Kind, lists: tuple[ListFile, ...], mapped: dict[str, str], report: Report) -> Kept:
    """The lists of a kind as one settled part table."""
    table, extra = read_lists(kind, lists, mapped, report)
    settle = _SETTLERS.get(kind.plural)
    settled = (settle(table, report) if settle else table).drop(columns=HEADERS_COLUMN)
    return Kept(settled, extra, tuple(report.problems), tuple(report.notices))

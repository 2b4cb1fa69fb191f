"""A job file and its lists, read together: `load(path)` gives a Job and its Parts, or every problem at once."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from combo.job import Job
from combo.parts import KINDS, Parts
from combo.problems import Problem, Report
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
        table, extra[plural] = read_lists(kind, getattr(files, plural), files.headers.get(plural, {}), report)
        settle = _SETTLERS.get(plural)
        tables[plural] = (settle(table, report) if settle else table).drop(columns=HEADERS_COLUMN)
    report.raise_if_any()
    if job is None:
        raise AssertionError("a job that cannot be read leaves a problem in the report")
    return Loaded(job, Parts(**tables, extra=extra), tuple(report.notices))

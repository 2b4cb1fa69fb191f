"""The outcomes in one table, a row a job in the order of the paths: the same bytes however many processes did them."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable
from dataclasses import asdict, fields
from pathlib import Path
from typing import Any

from combo.batch.journal import TABLE
from combo.batch.work import BestOfJob, Outcome
from combo.problems import in_one_line
from combo.show.files import write
from combo.show.machine import problems_json
from combo.show.plain import csv_row, json_text

FORMAT = 1
_OF_BEST = [field.name for field in fields(BestOfJob) if not field.name.startswith("told_")]
_COLUMNS = ["job", "name", "status", "builds", "proven", *_OF_BEST, "workbook", "what_is_wrong"]


def write_table(folder: Path, outcomes: Iterable[Outcome]) -> Path:
    """Write results.csv whole."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(_COLUMNS)
    writer.writerows(csv_row(_row(outcome)) for outcome in outcomes)
    path = folder / TABLE
    write(path, out.getvalue().encode(), force=True)
    return path


def batch_json(outcomes: Iterable[Outcome]) -> str:
    """The outcomes for other programs (stable keys)."""
    return json_text({"format": FORMAT, "jobs": [_job(one) for one in outcomes]})


def what_is_wrong(outcome: Outcome) -> list[str]:
    """Why a job has no answer, a line each."""
    return [problem.text() for problem in outcome.problems] or ([in_one_line(outcome.error)] if outcome.error else [])


def _row(outcome: Outcome) -> list[Any]:
    best = _best(outcome) or dict.fromkeys(_OF_BEST, "")
    answered = not what_is_wrong(outcome)
    return [
        outcome.path,
        outcome.name,
        outcome.status,
        outcome.builds if answered else "",
        ("yes" if outcome.proven else "no") if answered else "",
        *best.values(),
        outcome.workbook,
        " | ".join(what_is_wrong(outcome)),
    ]


def _job(outcome: Outcome) -> dict[str, Any]:
    return {
        "job": outcome.path,
        "name": outcome.name,
        "status": outcome.status,
        "builds": outcome.builds,
        "proven": outcome.proven,
        "best": _best(outcome),
        "workbook": outcome.workbook or None,
        "problems": json.loads(problems_json(list(outcome.problems)))["problems"],
        "error": outcome.error or None,
    }


def _best(outcome: Outcome) -> dict[str, Any] | None:
    if outcome.best is None:
        return None
    return {name: value for name, value in asdict(outcome.best).items() if name in _OF_BEST}

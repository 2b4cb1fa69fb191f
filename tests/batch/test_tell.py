"""What a batch says on the terminal."""

import io
from dataclasses import replace
from pathlib import Path

import pytest
from rich.console import Console

from combo.batch.run import Batch
from combo.batch.tell import ROWS, counting, show_batch
from combo.batch.work import ERROR, NOTHING_FITS, PROBLEMS, RANKED, BestOfJob, Outcome
from combo.problems import Place, Problem

BEST = BestOfJob(
    7350.3,
    "W-1",
    "T-1",
    "",
    "W-1",
    "T-1",
    "",
    "G-1",
    "D-1",
    "2 x B-1 over the axle",
    250158,
    889.0,
    "rear_load",
    "rear",
    4.5,
    "kg",
    0,
    "1,960 lb",
    "rear axle load, rear: 10 lb left",
)
FITS = Outcome("a.toml", "Truck A", RANKED, 3, True, BEST)
FAILED = Outcome(
    "b.toml",
    "Truck B",
    PROBLEMS,
    problems=tuple(Problem(Place("b.toml", row), "unknown-key", f'unknown key "k{row}"', "") for row in range(1, 6)),
)


def said(*outcomes, jobs=None, taken=0):
    console = Console(file=io.StringIO(), width=156, markup=False, highlight=False)
    show_batch(console, Batch(outcomes, jobs or len(outcomes), taken, Path("out") / "results.csv"))
    return console.file.getvalue()


@pytest.mark.parametrize(
    "told",
    [
        "a.toml",
        "Truck A",
        "3 builds",
        "7350",
        "all round: W-1 + T-1",
        "drive: G-1 + D-1",
        "ballast: 2 x B-1 over the axle",
        "$2,501.58",
        "1,960 lb",
        "10 lb left",
    ],
)
def test_the_table_tells_of_the_best_build(told):
    assert told in said(FITS)


def test_what_is_not_proven_or_not_verified_is_said():
    told = said(replace(FITS, proven=False, best=replace(BEST, unverified=2)))
    assert "NOT PROVEN" in told
    assert "2 unverified" in told


def test_what_failed_is_told_below_with_why():
    assert 'What failed\n- b.toml\n    b.toml, line 1: unknown key "k1"\n' in said(FITS, FAILED)


def test_of_many_problems_of_a_job_the_first_are_told_and_the_rest_counted():
    told = said(FAILED)
    assert '"k3"' in told
    assert '"k4"' not in told
    assert "and 2 more" in told


def test_jobs_are_counted_by_what_came_of_them():
    nothing, undone = Outcome("c.toml", "", NOTHING_FITS), Outcome("d.toml", "", ERROR, error="no room")
    told = said(FITS, FAILED, nothing, undone, jobs=1005, taken=2)
    assert (
        "1,005 jobs: 1 ranked, 1 where nothing fits, 1 with problems, 1 not done, 1,001 left; 2 were finished before."
    ) in told


def test_a_long_table_is_cut_and_says_so():
    outcomes = [replace(FITS, path=f"{at:04}.toml") for at in range(ROWS + 7)]
    told = said(*outcomes)
    assert f"{ROWS - 1:04}.toml" in told
    assert f"{ROWS:04}.toml" not in told
    assert "and 7 more, in out/results.csv" in told.replace("\\", "/")


def test_progress_is_told_on_a_terminal():
    console = Console(file=io.StringIO(), force_terminal=True, width=100)
    with counting(console) as progress:
        progress(312, 1000)
        progress(313, 1000)
    told = console.file.getvalue()
    assert "312 of 1,000 jobs" in told
    assert "jobs a second" in told


def test_progress_is_told_on_a_terminal_alone():
    console = Console(file=io.StringIO(), force_terminal=False)
    with counting(console) as progress:
        progress(1, 2)
    assert console.file.getvalue() == ""

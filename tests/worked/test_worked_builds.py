"""Four trucks worked out by hand: the steps are in each folder's worked.md, the figures in expected.csv and totals.csv.

A margin, a value and a limit may be off by the column `off`, for the digits that the program prints and the whole grams
that it adds up. Cents are exact.
"""

import csv
import functools
import json
import os
import re
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

from combo.read.load import load

HERE = Path(__file__).parent


@dataclass(frozen=True)
class Corner:
    """Parts of one axle of the build that was worked out."""

    wheel: str
    tire: str
    spacer: str | None = None


@dataclass(frozen=True)
class Build:
    """The build that was worked out."""

    front: Corner
    rear: Corner
    ratio: str
    differential: str
    ballast: tuple[tuple[int, str, str], ...] = ()

    def words(self):
        """The choice as `combo why` takes it."""
        words = ["--ratio", self.ratio, "--differential", self.differential]
        for axle, corner in (("front", self.front), ("rear", self.rear)):
            words += [f"--{axle}-wheel", corner.wheel, f"--{axle}-tire", corner.tire]
            words += [f"--{axle}-spacer", corner.spacer] if corner.spacer else []
        for count, item, station in self.ballast:
            words += ["--ballast", f"{count}*{item}@{station}"]
        return words


_PLAIN, _WIDE = Corner("W-PLAIN", "T-225"), Corner("W-WIDE", "T-31")
BUILDS = {
    "plain_pickup": Build(_PLAIN, _PLAIN, "G-373", "D-NOW", ((3, "B-SAND", "tailgate"),)),
    "adapter_truck": Build(
        Corner("W-POCKET", "T-235LT", "S-ADAPT"), Corner("W-POCKET", "T-235LT", "S-SLIP"), "G-NOW", "D-NOW"
    ),
    "panhard_truck": Build(Corner("W-NOW", "T-225"), Corner("W-NOW", "T-255"), "G-373", "D-SLIP"),
    "flotation_truck": Build(_WIDE, _WIDE, "G-410", "D-NOW", ((2, "B-PLATE", "bed"),)),
}


@functools.cache
def asked(command, job, *more):
    """What the command line answers, as JSON."""
    answer = subprocess.run(
        [sys.executable, "-m", "combo", command, HERE / job / "job.toml", *more, "--json"],
        capture_output=True,
        text=True,
        env=os.environ | {"COMBO_NO_CACHE": "1"},
        check=False,
    )
    assert answer.returncode == 0, answer.stdout + answer.stderr
    return json.loads(answer.stdout)


def best(job):
    """The first build of the shortlist."""
    return asked("rank", job, "--top", "1")["builds"][0]


def figures(job, table):
    """Rows of a table of worked figures."""
    with (HERE / job / table).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def name_of(row):
    """What a row is about."""
    return row.get("total") or f"{row['check']} {row['where']}".strip()


def every(table):
    """Each row of each truck's table, as parameters with a readable name."""
    return [pytest.param(job, row, id=f"{job}: {name_of(row)}") for job in BUILDS for row in figures(job, table)]


@pytest.mark.parametrize("job", BUILDS)
def test_the_job_reads(job):
    loaded = load(HERE / job / "job.toml")
    assert {BUILDS[job].front.wheel, BUILDS[job].rear.wheel} <= set(loaded.parts.wheels["sku"])


@pytest.mark.parametrize("job", BUILDS)
def test_every_figure_is_worked_out(job):
    worked = (HERE / job / "worked.md").read_text(encoding="utf-8")
    told = [row["margin"] for row in figures(job, "expected.csv")]
    told += [row["value"] for row in figures(job, "totals.csv")]
    results = set(re.findall(r"\| \**(-?[\d.]+)(?: [a-zA-Z][^|*]*)?\**(?= \|)", worked))
    assert [figure for figure in told if figure not in results] == []


@pytest.mark.parametrize("job", BUILDS)
def test_the_build_worked_out_is_the_cheapest_that_passes(job):
    build, parts = BUILDS[job], best(job)["parts"]
    assert parts["front"] == vars(build.front)
    assert parts["rear"] == vars(build.rear)
    assert (parts["ratio"], parts["differential"]) == (build.ratio, build.differential)
    lain = tuple((lot["count"], lot["item"], lot["station"]) for lot in parts["ballast"])
    assert lain == build.ballast


@pytest.mark.parametrize(("job", "row"), every("expected.csv"))
def test_a_check_gives_the_worked_figures(job, row):
    checks = asked("why", job, *BUILDS[job].words())["checks"]
    found = [one for one in checks if one["check"] == row["check"] and row["where"] in ("", one["where"])]
    assert len(found) == 1
    assert found[0]["verdict"] == "pass"
    off = float(row["off"])
    for figure in ("margin", "value", "limit"):
        if row[figure]:
            assert found[0][figure] == pytest.approx(float(row[figure]), abs=off), figure
    assert not row["state"] or found[0]["state"] == row["state"]


@pytest.mark.parametrize(("job", "row"), every("totals.csv"))
def test_a_total_is_the_worked_one(job, row):
    found = best(job)
    for key in row["total"].split("."):
        found = found[key]
    assert found == pytest.approx(float(row["value"]), abs=float(row["off"]))

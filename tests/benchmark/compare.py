"""The program's ranking against that of `enumerate_sql`, build by build, on drawn jobs.

`python tests/benchmark/compare.py --jobs 200 --seed 1 --wheels 2000 --tires 2000` draws jobs, asks both for their first
builds, and compares them line by line, a build a line. It prints the first difference and exits 1, or tells how many
agreed. `disagreement(seed)` is what a test may call.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import json
import random
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from unittest import mock

from enumerate_sql import TooLargeError, first_builds
from job_sizes import SKUS, Job, quantity
from lists import write_job

TOP = 50
NO_ANSWER = 1  # the program's exit status where no build passes


def disagreement(
    seed: int,
    *,
    wheels: int = 200,
    tires: int = 200,
    top: int = TOP,
    folder: str | None = None,
    tie_limit: str | None = None,
) -> str | None:
    """The first line in which both differ on the job of a seed; None where they agree.

    Raises
    ------
    TooLargeError
        Where SQL would have to join too many pairs of axles.
    """
    with _folder(folder) as place:
        draw_job(place, seed, wheels=wheels, tires=tires, top=top, tie_limit=tie_limit)
        return first_difference(program_lines(place, top), sql_lines(place, top))


def draw_job(
    folder: str | Path, seed: int, *, wheels: int, tires: int, top: int = TOP, tie_limit: str | None = None
) -> str:
    """Write the job of a seed, one of the family of `enumerate_sql`, and tell what was drawn."""
    dice = random.Random(f"compared {seed}")
    axles, rank = dice.choice(("same", "free", "free")), dice.choice(("weights", "order"))
    write_job(
        folder,
        seed=seed,
        wheels=wheels,
        tires=tires,
        axles=axles,
        rank=rank,
        top=top,
        plain=True,
        ratios=dice.choice((6, 12)),
        differentials=dice.choice((3, 4, 6)),
        spacers=dice.choice((1, 3, 6)),
        ballast=dice.choice((1, 2, 3)),
        more_room=12 if wheels < 1000 else dice.choice((3, 5, 7)),
        tie_limit=tie_limit,
    )
    return f"seed {seed}, {wheels} wheels, {tires} tires, axles {axles}, {rank}"


def first_difference(program: list[str], sql: list[str]) -> str | None:
    """Where two lists of lines part; None where they are equal."""
    for at, (ours, theirs) in enumerate(zip(program, sql, strict=False), start=1):
        if ours.encode() != theirs.encode():
            return f"line {at}:\n  program {ours}\n  SQL     {theirs}"
    if len(program) != len(sql):
        return f"the program lists {len(program)} builds, SQL {len(sql)}"
    return None


def sql_lines(folder: str | Path, top: int) -> list[str]:
    """The enumeration's builds, a line each."""
    return [line(row) for row in first_builds(folder, top)]


def line(row: dict[str, Any]) -> str:
    """A build as a line: levels of the key, cost, SKUs, ballast counts."""
    return " | ".join(
        [
            " ".join(map(str, row["levels"])),
            str(row["cost_cents"]),
            *(row[name] or "-" for name in SKUS),
            " ".join(map(str, row["counts"])),
        ]
    )


def program_lines(folder: str | Path, top: int) -> list[str]:
    """The program's builds, a line each."""
    return lines_of(folder, program_json(Path(folder) / "job.toml", top))


def program_json(path: Path, top: int) -> dict[str, Any]:
    """What `combo rank --json` prints, asked in this process."""
    from combo.cli import main

    out = io.StringIO()
    arguments = ["combo", "rank", str(path), "--json", "--top", str(top)]
    with (
        mock.patch.object(sys, "argv", arguments),
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(io.StringIO()),
    ):
        try:
            main()
            status = 0
        except SystemExit as leaving:
            status = int(leaving.code or 0)
    if status not in {0, NO_ANSWER}:
        raise RuntimeError(f"the program refused {path} with {status}: {out.getvalue()[:2000]}")
    found: dict[str, Any] = json.loads(out.getvalue())
    if not found["proven"]:
        raise RuntimeError(f"the program did not prove its ranking of {path}")
    return found


def lines_of(folder: str | Path, answer: dict[str, Any]) -> list[str]:
    """Lines of what the program printed, with the levels that its points and the job's weights or order give."""
    job = Job(folder)
    slots = ballast_slots(job)
    return [line(row_of(job, slots, build)) for build in answer["builds"]]


def row_of(job: Job, slots: list[tuple[str, float]], build: dict[str, Any]) -> dict[str, Any]:
    """A printed build in the words of the enumeration."""
    parts, points, weights = build["parts"], build["criteria"], job.weights()
    levels = (
        [sum(weight * points[name] for name, weight in weights.items())]
        if weights
        else [points[name] for name in job.order()]
    )
    counts = [0] * len(slots)
    for lot in parts["ballast"]:
        places = [
            at
            for at, (item, station) in enumerate(slots)
            if item == lot["item"] and abs(station - lot["station_mm"]) < 0.01
        ]
        counts[places[0]] += lot["count"]
    corners = {
        f"{axle}_{kind}": parts[axle][kind] for axle in ("front", "rear") for kind in ("wheel", "tire", "spacer")
    }
    return {
        "levels": levels,
        "cost_cents": build["cost_cents"],
        **corners,
        "ratio": parts["ratio"],
        "differential": parts["differential"],
        "counts": counts,
    }


def ballast_slots(job: Job) -> list[tuple[str, float]]:
    """Item and station [mm] of each ballast count, in the order in which counts decide ties: items by SKU."""
    text = Path(job.file("ballast")).read_text(encoding="utf-8").splitlines()
    items = sorted(row.split(",")[0] for row in text[1:])
    stations = [float(quantity(station["at"])) / 1000 for station in job.find("ballast.stations") or []]
    return [(item, station) for item in items for station in stations]


@contextlib.contextmanager
def _folder(given: str | None) -> Iterator[Path]:
    """The given folder, which stays, or one that goes."""
    if given:
        yield Path(given)
    else:
        with tempfile.TemporaryDirectory() as own:
            yield Path(own)


def main() -> int:
    """Compare many jobs, and stop at the first that differs."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--jobs", type=int, default=20)
    ask.add_argument("--seed", type=int, default=1, help="of the first job; the others follow")
    ask.add_argument("--wheels", type=int, default=2000)
    ask.add_argument("--tires", type=int, default=2000)
    ask.add_argument("--top", type=int, default=TOP)
    ask.add_argument(
        "--tie-limit", default=None, help='of a tie at the tailgate, such as "52 lb"; drawn where not given'
    )
    ask.add_argument("--keep", default=None, help="a folder in which the last job stays")
    ask.add_argument("--all", action="store_true", help="go on after a difference")
    asked = ask.parse_args()
    agreed = builds = refused = differing = 0
    for seed in range(asked.seed, asked.seed + asked.jobs):
        with _folder(asked.keep) as place:
            told = draw_job(
                place, seed, wheels=asked.wheels, tires=asked.tires, top=asked.top, tie_limit=asked.tie_limit
            )
            try:
                start = time.perf_counter()
                sql = sql_lines(place, asked.top)
                middle = time.perf_counter()
                program = program_lines(place, asked.top)
            except TooLargeError as reason:
                refused += 1
                print(f"{told}: not compared, {reason}", flush=True)
                continue
            difference = first_difference(program, sql)
            taken = f"SQL {middle - start:.1f} s, program {time.perf_counter() - middle:.1f} s"
            if difference:
                differing += 1
                print(f"{told}: {taken}\n{difference}", flush=True)
                if not asked.all:
                    return 1
                continue
            agreed, builds = agreed + 1, builds + len(sql)
            print(f"{told}: {len(sql)} builds agree; {taken}", flush=True)
    print(f"{agreed} jobs agree in {builds} builds, {differing} differ, {refused} were too large to compare.")
    return 1 if differing else 0


if __name__ == "__main__":
    raise SystemExit(main())

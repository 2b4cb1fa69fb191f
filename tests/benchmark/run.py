"""The program and general-purpose engines side by side on one job: wall time, peak memory, and whether they agree.

`python tests/benchmark/run.py --sizes 200,2000 --runs 3 --plot plot.png` writes a job with one wheel all round (or with
`--axles free`, which only SQL and the program can do) of each size, asks every engine for its first builds in a fresh
process, and prints a table in Markdown. A process over the time or the address space that it is allowed is ended, and
that is told. The yardstick is what reading the two long lists takes alone, with the import of the library that does it.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import resource
import signal
import statistics
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass, field
from pathlib import Path

from compare import first_difference, line, lines_of
from lists import write_job

HERE = Path(__file__).parent
TOP = 50
TIRES = {200: 200, 2000: 2000, 20_000: 10_000, 200_000: 50_000}
PROGRAM, YARDSTICK, SQL = "combo", "read alone", "duckdb"
ENGINES = (PROGRAM, SQL, "polars", "pandas", "cpsat", YARDSTICK)
NO_ANSWER = 1  # the program's exit status where no build passes
SEED = 64
READ = "import polars, sys; [polars.read_csv(path, infer_schema_length=None) for path in sys.argv[1:]]"
GIB = 1 << 30


@dataclass
class Outcome:
    """What one process took, and what it printed."""

    seconds: float
    peak_mib: float
    ending: str = ""
    lines: list[str] = field(default_factory=list)


@dataclass
class Row:
    """An engine on one size: medians of its runs, and how it ended."""

    engine: str
    wheels: int
    tires: int
    seconds: float
    peak_mib: float
    ending: str
    lines: list[str]


def main() -> None:
    """Measure every size and engine that is asked for."""
    asked = _asked()
    print(
        f"{processor()}, {os.cpu_count()} cores; Python {platform.python_version()}; "
        f"{asked.runs} runs, the median counts.\n"
    )
    rows: list[Row] = []
    with tempfile.TemporaryDirectory() as place:
        for wheels in asked.sizes:
            tires = TIRES.get(wheels, max(1, wheels // 4))
            folder = Path(asked.keep or place) / str(wheels)
            write_job(
                folder,
                seed=asked.seed,
                wheels=wheels,
                tires=tires,
                axles=asked.axles,
                plain=True,
                top=TOP,
                more_room=asked.more_room,
            )
            for engine in asked.engines:
                if not _is_hopeless(engine, rows):
                    rows.append(measured(engine, folder, wheels, tires, asked))
                    print(
                        f"  {wheels:,} wheels, {engine}: {rows[-1].seconds:.2f} s {rows[-1].ending}",
                        file=sys.stderr,
                        flush=True,
                    )
    print(table(rows))
    for told in differences(rows):
        print(told)
    if asked.plot:
        draw(rows, Path(asked.plot))


def _asked() -> argparse.Namespace:
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--sizes", type=_numbers, default=list(TIRES), help="wheels, such as 200,2000")
    ask.add_argument("--engines", type=lambda text: text.split(","), default=list(ENGINES), help=",".join(ENGINES))
    ask.add_argument("--runs", type=int, default=3)
    ask.add_argument("--axles", choices=("same", "free"), default="same")
    ask.add_argument("--time-limit", type=float, default=120.0, help="seconds of one process")
    ask.add_argument("--memory-limit", type=float, default=8.0, help="GiB of address space of one process")
    ask.add_argument("--more-room", type=int, default=0, help="eighths of an inch added beside the tire")
    ask.add_argument("--seed", type=int, default=SEED)
    ask.add_argument("--keep", default=None, help="a folder in which the jobs stay")
    ask.add_argument("--plot", default=None, help="a PNG of times over sizes")
    asked = ask.parse_args()
    if unknown := set(asked.engines) - set(ENGINES):
        ask.error(f"unknown engines: {', '.join(sorted(unknown))}")
    if asked.axles == "free":
        asked.engines = [engine for engine in asked.engines if engine in {PROGRAM, SQL, YARDSTICK}]
    return asked


def _numbers(text: str) -> list[int]:
    return sorted(int(number) for number in text.split(","))


def _is_hopeless(engine: str, rows: list[Row]) -> bool:
    """An engine that was ended on a shorter list is not asked again."""
    return any(row.engine == engine and row.ending for row in rows)


# One process


def measured(engine: str, folder: Path, wheels: int, tires: int, asked: argparse.Namespace) -> Row:
    """Medians over the runs of an engine; the first that does not finish ends them."""
    outcomes: list[Outcome] = []
    for _ in range(asked.runs):
        outcomes.append(run(command(engine, folder), asked.time_limit, asked.memory_limit))
        if outcomes[-1].ending:
            break
    last = outcomes[-1]
    lines = [] if last.ending else builds(engine, folder, last.lines)
    return Row(
        engine,
        wheels,
        tires,
        statistics.median(one.seconds for one in outcomes),
        statistics.median(one.peak_mib for one in outcomes),
        last.ending,
        lines,
    )


def command(engine: str, folder: Path) -> list[str]:
    """What a shell would start."""
    if engine == PROGRAM:
        rank = ["rank", str(folder / "job.toml"), "--json", "--top", str(TOP)]
        return [sys.executable, "-m", "combo", "--no-cache", *rank]  # the engines read their lists, too
    if engine == YARDSTICK:
        return [sys.executable, "-c", READ, str(folder / "wheels.csv"), str(folder / "tires.csv")]
    return [sys.executable, str(HERE / "engines" / f"{engine}_engine.py"), str(folder), str(TOP)]


def run(arguments: list[str], time_limit_s: float, memory_gib: float) -> Outcome:
    """A fresh process, its wall time and peak resident memory; ended at either limit."""
    with tempfile.TemporaryFile("w+") as out, tempfile.TemporaryFile("w+") as errors:
        start = time.perf_counter()
        process = subprocess.Popen(
            arguments, stdout=out, stderr=errors, start_new_session=True, preexec_fn=lambda: _limit(memory_gib)
        )
        status, usage, late = _waited(process.pid, start + time_limit_s)
        seconds = time.perf_counter() - start
        process.returncode = status  # it is reaped: nothing is left to wait for
        out.seek(0)
        errors.seek(0)
        ending = "time limit" if late else _ending(status, errors.read())
        return Outcome(seconds, usage.ru_maxrss / 1024, ending, out.read().splitlines())


def _limit(memory_gib: float) -> None:
    size = int(memory_gib * GIB)
    resource.setrlimit(resource.RLIMIT_AS, (size, size))


def _waited(pid: int, deadline: float) -> tuple[int, resource.struct_rusage, bool]:
    """Exit status and resources of a process of ours; past the deadline it and what it started are ended."""
    late = False
    while True:
        ended, status, usage = os.wait4(pid, os.WNOHANG)
        if ended:
            return os.waitstatus_to_exitcode(status), usage, late
        if time.perf_counter() > deadline and not late:
            late = True
            os.killpg(pid, signal.SIGKILL)
        time.sleep(0.002)


def _ending(status: int, errors: str) -> str:
    """Why a process did not finish; nothing where it did."""
    if status == 0 or (status == NO_ANSWER and "Traceback" not in errors):
        return ""
    if any(
        word in errors
        for word in ("MemoryError", "OutOfMemory", "bad_alloc", "memory allocation", "Out of Memory", "ArrayMemory")
    ):
        return "memory limit"
    last = errors.strip().splitlines()[-1:] or [f"exit status {status}"]
    return f"failed: {last[0][:80]}"


def builds(engine: str, folder: Path, lines: list[str]) -> list[str]:
    """What an engine found, a build a line."""
    if engine == YARDSTICK:
        return []
    if engine == PROGRAM:
        return lines_of(folder, json.loads("\n".join(lines)))
    return [line(json.loads(text)) for text in lines]


# What is told


def table(rows: list[Row]) -> str:
    """All rows in Markdown, with the factor to the yardstick of the same size."""
    yard = {row.wheels: row.seconds for row in rows if row.engine == YARDSTICK and not row.ending}
    told = [
        "| wheels | tires | engine | seconds | peak MiB | x reading | first builds |",
        "|---:|---:|---|---:|---:|---:|---|",
    ]
    agreed = agreement(rows)
    for row in rows:
        seconds = f"{row.seconds:.2f}" if not row.ending else f"> {row.seconds:.0f}"
        times = f"{row.seconds / yard[row.wheels]:.1f}" if row.wheels in yard and not row.ending else ""
        told.append(
            f"| {row.wheels:,} | {row.tires:,} | {row.engine} | {seconds} | {row.peak_mib:,.0f} | {times} | "
            f"{row.ending or agreed.get((row.wheels, row.engine), '')} |"
        )
    return "\n".join(told)


def agreement(rows: list[Row]) -> dict[tuple[int, str], str]:
    """Of each engine that finished: as how many of the others it answers."""
    found = {}
    for row in rows:
        others = [
            other
            for other in rows
            if other.wheels == row.wheels and not other.ending and YARDSTICK not in (other.engine, row.engine)
        ]
        same = sum(other.lines == row.lines for other in others if other is not row)
        if row.engine != YARDSTICK and not row.ending:
            found[row.wheels, row.engine] = f"{len(row.lines)}, as {same} of {len(others) - 1} others"
    return found


def differences(rows: list[Row]) -> list[str]:
    """Where an engine differs from the first one of its size that finished."""
    told = []
    for wheels in dict.fromkeys(row.wheels for row in rows):
        first, *others = [
            row for row in rows if row.wheels == wheels and not row.ending and row.engine != YARDSTICK
        ] or [None]
        for other in others:
            difference = first_difference(first.lines, other.lines) if first else None
            if difference:
                told.append(f"\n{wheels:,} wheels, {first.engine} (program) against {other.engine} (SQL): {difference}")
    return told


def processor() -> str:
    """Name of the processor."""
    try:
        lines = Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines()
    except OSError:
        return platform.processor() or platform.machine()
    return next((text.partition(":")[2].strip() for text in lines if text.startswith("model name")), platform.machine())


def draw(rows: list[Row], path: Path) -> None:
    """Times over sizes, both on logarithmic scales; an open mark is where a limit ended it."""
    import matplotlib

    matplotlib.use("Agg")
    from matplotlib import pyplot

    figure, axes = pyplot.subplots(figsize=(8, 5))
    for engine in dict.fromkeys(row.engine for row in rows):
        mine = [row for row in rows if row.engine == engine]
        done, ended = [row for row in mine if not row.ending], [row for row in mine if row.ending]
        (curve,) = axes.plot(
            [row.wheels for row in done],
            [row.seconds for row in done],
            "o-",
            label=engine,
            linewidth=2.5 if engine == PROGRAM else 1.2,
        )
        axes.plot(
            [row.wheels for row in ended],
            [row.seconds for row in ended],
            "o",
            fillstyle="none",
            color=curve.get_color(),
        )
    axes.set(xscale="log", yscale="log", xlabel="wheels on the list", ylabel="wall time of a fresh process [s]")
    axes.grid(which="both", alpha=0.3)
    axes.legend()
    axes.set_title(f"first {TOP} builds; open: ended at a limit")
    figure.text(0.99, 0.01, processor(), ha="right", fontsize=7)
    figure.tight_layout()
    figure.savefig(path, dpi=150, metadata={"Software": None})


if __name__ == "__main__":
    main()

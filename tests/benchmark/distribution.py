"""How long commands take over many drawn jobs of every kind: the median, the 90th percentile, and the worst.

`python tests/benchmark/distribution.py --size 2000x2000 --jobs 60 --commands rank,stuck,why,near,limits` writes the
jobs of `drawn` one after the other, and asks each command of each job in a fresh process. A line for each is told as it
goes, and a table in Markdown at the end. A process over the time or the address space that it is allowed is ended, with
all that it started. Lists are read once before, into a cache folder that lasts as long as this script, or with `--cold`
anew by every command.
"""

from __future__ import annotations

import argparse
import csv
import json
import math
import os
import random
import re
import resource
import signal
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any, NoReturn

from drawn import draw_job

TOP = 50
GIB = 1 << 30
ANSWERS = {0: "answer", 1: "nothing fits", 3: "cut short"}
"""By exit status; whatever else a process ends with is a failure."""
TIME_LIMIT, MEMORY_LIMIT = "time limit", "memory limit"
NO_MEMORY = ("MemoryError", "there is not enough memory", "bad_alloc", "memory allocation", "failed to map segment")
FOUND = {"rank": "builds", "near": "near", "stuck": "changes", "limits": "limits"}
"""Key of what a command lists."""
NAMED = {"why": ("wheel", "tire"), "why-wheel": ("wheel",), "why-tire": ("tire",)}
"""Parts that `why` is asked of, by how it is called here."""
COMMANDS = (*FOUND, *NAMED)
RIM = re.compile(r"[R-](\d\d)(LT)?( |$)")


@dataclass
class Ended:
    """What one process took, how it ended, and what it told."""

    seconds: float
    peak_mib: float
    status: str
    text: str
    errors: str


@dataclass
class Run:
    """One command on one job."""

    command: str
    seed: int
    family: str
    seconds: float
    peak_mib: float
    status: str
    proven: bool
    builds: int
    asked: list[str] = field(default_factory=list)
    errors: str = ""

    @property
    def is_ended(self) -> bool:
        """Whether a limit ended it, so that its seconds are the least that it takes."""
        return self.status in {TIME_LIMIT, MEMORY_LIMIT}


def main() -> None:
    """Every command is asked of every job; runs that are done are told even where Ctrl-C ends it."""
    asked = _asked()
    signal.signal(signal.SIGTERM, _leave)
    runs: list[Run] = []
    with tempfile.TemporaryDirectory() as place, suppress(KeyboardInterrupt):
        for seed in range(asked.seed, asked.seed + asked.jobs):
            with _folder(asked.keep or place, seed, is_kept=asked.keep is not None) as folder:
                for done in job_runs(folder, seed, Path(place) / "cache", asked):
                    print(told(done), file=sys.stderr, flush=True)
                    runs.append(done)
    print(table(runs))
    if asked.json:
        answer = {"asked": vars(asked), "runs": [asdict(done) for done in runs]}
        Path(asked.json).write_text(json.dumps(answer, indent=1), encoding="utf-8")


def _asked() -> argparse.Namespace:
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--size", type=size, default=(2000, 2000), help="wheels by tires, such as 2000x2000")
    ask.add_argument("--jobs", type=int, default=60)
    ask.add_argument("--seed", type=int, default=1, help="of the first job")
    ask.add_argument("--commands", type=lambda text: text.split(","), default=["rank"], help=",".join(COMMANDS))
    ask.add_argument("--time-limit", type=float, default=60.0, help="seconds of one process")
    ask.add_argument("--memory-limit", type=float, default=8.0, help="GiB of address space of one process")
    ask.add_argument("--axles", choices=("same", "free"), default="free")
    ask.add_argument("--cold", action="store_true", help="every command reads the lists anew")
    ask.add_argument("--keep", default=None, help="a folder in which the jobs stay")
    ask.add_argument("--json", default=None, help="a file for every run")
    asked = ask.parse_args()
    if unknown := set(asked.commands) - set(COMMANDS):
        ask.error(f"unknown commands: {', '.join(sorted(unknown))}")
    return asked


def size(text: str) -> tuple[int, int]:
    wheels, _, tires = text.partition("x")
    return int(wheels), int(tires)


def _leave(number: int, _: Any) -> NoReturn:
    """A process of ours is ended before this one is."""
    raise SystemExit(128 + number)


@contextmanager
def _folder(place: str | Path, seed: int, *, is_kept: bool) -> Iterator[Path]:
    """The folder of a job, which is gone with it unless it is to be kept."""
    if is_kept:
        yield Path(place) / str(seed)
    else:
        with tempfile.TemporaryDirectory(dir=place) as folder:
            yield Path(folder)


# One job


def job_runs(folder: Path, seed: int, cache: Path, asked: argparse.Namespace) -> Iterator[Run]:
    """The job of a seed is written, its lists are read once, and every command is asked of it."""
    family = draw_job(folder, seed=seed, wheels=asked.size[0], tires=asked.size[1], axles=asked.axles, top=TOP)
    if not asked.cold:
        check = run(["check", str(folder / "job.toml")], cache, asked)
        if check.status != ANSWERS[0]:
            print(f"{seed} check: {check.status}\n{check.text}{check.errors}", file=sys.stderr, flush=True)
    for command in asked.commands:
        arguments = command_line(command, folder, seed)
        ended = run(arguments, cache, asked)
        proven, builds = _read(command, ended)
        numbers = (round(ended.seconds, 3), round(ended.peak_mib, 1))
        yield Run(command, seed, family, *numbers, ended.status, proven, builds, arguments, ended.errors[-4000:])


def command_line(command: str, folder: Path, seed: int) -> list[str]:
    """What `combo` is asked."""
    job = str(folder / "job.toml")
    if command == "rank":
        return ["rank", job, "--json", "--top", str(TOP)]
    if command in FOUND:
        return [command, job, "--json"]
    parts = drawn_parts(folder, seed)
    return ["why", job, "--json", *(text for kind in NAMED[command] for text in (f"--{kind}", parts[kind]))]


def drawn_parts(folder: Path, seed: int) -> dict[str, str]:
    """SKUs of a wheel of the bolt circle that the present wheels have, and of a tire that goes on its rim."""
    dice = random.Random(f"why {seed}")
    wheels, tires = (_rows(folder / f"{name}.csv") for name in ("wheels", "tires"))
    wheel = dice.choice([one for one in wheels if one["bolt_circle"] == wheels[0]["bolt_circle"]])
    alike = [one for one in tires if _rim(one["designation"]) == wheel["rim_diameter_in"]]
    return {"wheel": wheel["sku"], "tire": dice.choice(alike or tires)["sku"]}


def _rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def _rim(designation: str) -> str:
    """The rim diameter of a tire, in inches, as a wheel's list has it."""
    found = RIM.search(designation)
    return found[1] if found else ""


def _read(command: str, ended: Ended) -> tuple[bool, int]:
    """Whether an answer is proven, and how many builds it lists; what did not finish is neither."""
    if ended.status not in ANSWERS.values():
        return False, 0
    answer = json.loads(ended.text)
    return answer.get("proven", True), _count(command, answer)


def _count(command: str, answer: dict[str, Any]) -> int:
    """The builds of a ranking, or what else a command lists; of `why` the build with the parts, else the changes."""
    if command in FOUND:
        return len(answer[FOUND[command]])
    standing = answer["standing"] or {"build": answer["build"], "changes": []}
    return 1 if standing["build"] else len(standing["changes"])


# One process


def run(
    arguments: list[str], cache: Path, asked: argparse.Namespace, program: Sequence[str] = ("-m", "combo")
) -> Ended:
    """A fresh `combo`, its wall time and peak resident memory; it never outlasts this, nor does what it started."""
    options = ["--traceback", *["--no-cache"] * asked.cold]
    places = {name: str(cache) for name in ("XDG_CACHE_HOME", "LOCALAPPDATA")}
    with tempfile.TemporaryFile("w+") as out, tempfile.TemporaryFile("w+") as errors:
        start = time.perf_counter()
        process = subprocess.Popen(
            [sys.executable, *program, *options, *arguments],
            stdout=out,
            stderr=errors,
            env=os.environ | places,
            start_new_session=True,
            preexec_fn=lambda: _limit(asked.memory_limit),
        )
        try:
            is_late = not _has_ended(process.pid, start + asked.time_limit)
            seconds = time.perf_counter() - start
        finally:
            with suppress(ProcessLookupError):
                os.killpg(process.pid, signal.SIGKILL)  # it is not reaped yet: the number is still its own
            _, status, usage = os.wait4(process.pid, 0)
            process.returncode = os.waitstatus_to_exitcode(status)
        out.seek(0)
        errors.seek(0)
        text, told_errors = out.read(), errors.read()
        ending = TIME_LIMIT if is_late else _status(process.returncode, told_errors)
        return Ended(seconds, usage.ru_maxrss / 1024, ending, text, told_errors)


def _limit(memory_gib: float) -> None:
    size = int(memory_gib * GIB)
    resource.setrlimit(resource.RLIMIT_AS, (size, size))


def _has_ended(pid: int, deadline: float) -> bool:
    """Whether a process of ours ends before the deadline; it is waited for, and left to be reaped."""
    while os.waitid(os.P_PID, pid, os.WEXITED | os.WNOHANG | os.WNOWAIT) is None:
        if time.perf_counter() > deadline:
            return False
        time.sleep(0.005)
    return True


def _status(status: int, errors: str) -> str:
    """How a process that was in time ended."""
    if status in ANSWERS and "Traceback" not in errors:
        return ANSWERS[status]
    if any(words in errors for words in NO_MEMORY):
        return MEMORY_LIMIT
    last = errors.strip().splitlines()[-1:] or ["nothing told"]
    return f"failed: status {status}, {last[0][:100]}"


# What is told


def told(done: Run) -> str:
    """A run in a line."""
    proven = "proven" if done.proven else "not proven"
    return (
        f"{done.seed} {done.command}, {done.family}: {done.seconds:.2f} s, {done.peak_mib:,.0f} MiB, {done.status}, "
        f"{proven}, {done.builds} builds"
    )


def table(runs: list[Run]) -> str:
    """Every command in Markdown; seconds of a run that a limit ended are the least that it takes."""
    rows = [
        "| command | jobs | median | 90th percentile | worst (seed) | most MiB (seed) | unproven or over a limit |",
        "|---|---:|---:|---:|---:|---:|---|",
    ]
    for command in dict.fromkeys(done.command for done in runs):
        rows.append(_row(command, [done for done in runs if done.command == command]))
    return "\n".join(rows)


def percentile_90(ranked: Sequence[float]) -> float:
    """The least of some sizes, in order, that nine of ten do not exceed."""
    return ranked[math.ceil(0.9 * len(ranked)) - 1]


def _row(command: str, mine: list[Run]) -> str:
    ranked = sorted(done.seconds for done in mine)
    longest, largest = max(mine, key=lambda done: done.seconds), max(mine, key=lambda done: done.peak_mib)
    late = [str(done.seed) for done in mine if not done.proven]
    cells = (
        command,
        len(mine),
        f"{statistics.median(ranked):.2f} s",
        f"{percentile_90(ranked):.2f} s",
        f"{'> ' if longest.is_ended else ''}{longest.seconds:.2f} s ({longest.seed})",
        f"{largest.peak_mib:,.0f} ({largest.seed})",
        f"{len(late)} (seeds {', '.join(late)})" if late else "0",
    )
    return f"| {' | '.join(map(str, cells))} |"


if __name__ == "__main__":
    main()

"""What each mechanism of the search is worth: each switched off alone, on drawn jobs.

`python tests/benchmark/ablation.py --size 2000x2000 --jobs 20 --command rank` runs the command on the jobs of `drawn`
as it is and with each mechanism off, each time in a fresh process, and prints a table in Markdown. Every mechanism only
saves work: where both runs are proven their builds must be the same, and the table counts where they are not.
"""

from __future__ import annotations

import argparse
import json
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from drawn import draw_job

FOUND = {"rank": "builds", "stuck": "changes", "near": "near", "limits": "limits"}


def _without_gate() -> None:
    from combo.search import pool

    pool.GATE_SLACK = np.inf


def _without_bound_tightening() -> None:
    from combo.search.pool import CandidatePool

    CandidatePool.capped = lambda self, least: self


def _without_optimized_multipliers() -> None:
    from combo.search.pool import CandidatePool

    CandidatePool._optimized = lambda self, bounds, goals: bounds
    CandidatePool._with_gate_optimized = lambda self, bounds: bounds


def _without_propagation() -> None:
    from combo.search import filter as filtering

    filtering._Reduction._made_whole = lambda self, table: []


def _with_all_duplicates() -> None:
    from combo.search import pool

    pool._first_duplicates = lambda duplicates, sides, left, sku_order, count: left


def _without_bounds_of_pairs() -> None:
    from combo.search import enumerate as enumeration

    enumeration.WORTH_BOUNDS = 10**18


def _without_conservative_rows() -> None:
    from combo.search.pool import CandidatePool

    CandidatePool.conservative_multipliers = CandidatePool.promising


def _without_workers() -> None:
    from combo.explain import workers

    workers.may_fork = lambda: False


def _without_quick_cores() -> None:
    from combo.explain import best

    best.quick_core = lambda instance, relaxed: None


def _without_kept_grids() -> None:
    from combo.candidates import instance

    instance.GRID_BYTES = 0


OFF: dict[str, Callable[[], None]] = {
    "nothing": lambda: None,
    "gate of budget and room": _without_gate,
    "bound tightening of cost and mass": _without_bound_tightening,
    "optimized multipliers": _without_optimized_multipliers,
    "propagation of whole-build checks": _without_propagation,
    "duplicates beyond K left out": _with_all_duplicates,
    "pairs bounded before drives": _without_bounds_of_pairs,
    "conservative multipliers": _without_conservative_rows,
    "forked workers": _without_workers,
    "quick cores": _without_quick_cores,
    "kept grids": _without_kept_grids,
}


@dataclass
class Ended:
    """What one process took, and the builds that it told where they are proven."""

    seconds: float
    peak_mib: float
    builds: str | None


def main() -> None:
    """Ask, measure, print the table; or, as the process that is measured, run the command with a mechanism off."""
    if sys.argv[1:2] == ["--off"]:
        OFF[sys.argv[2]]()
        sys.argv = ["combo", *sys.argv[3:]]
        from combo.__main__ import start

        start()
        return
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--size", default="2000x2000", help="wheels by tires")
    ask.add_argument("--jobs", type=int, default=20)
    ask.add_argument("--seed", type=int, default=1, help="of the first job")
    ask.add_argument("--command", choices=FOUND, default="rank")
    ask.add_argument("--time-limit", type=float, default=30.0, help="seconds of one process")
    asked = ask.parse_args()
    wheels, tires = (int(own) for own in asked.size.split("x"))
    with tempfile.TemporaryDirectory() as folder:
        jobs = []
        for seed in range(asked.seed, asked.seed + asked.jobs):
            draw_job(Path(folder) / str(seed), seed=seed, wheels=wheels, tires=tires)
            jobs.append(Path(folder) / str(seed) / "job.toml")
        os.environ["XDG_CACHE_HOME"] = folder
        # Job by job, so that what else the machine does falls on all alike.
        runs = [{name: _run(name, job, asked) for name in OFF} for job in jobs]
        _tell({name: [of_job[name] for of_job in runs] for name in OFF}, asked.command)


def _run(off: str, job: Path, asked: argparse.Namespace) -> Ended:
    command = [asked.command, str(job), "--json", "--time-limit", str(asked.time_limit)]
    with tempfile.TemporaryFile("w+") as out:
        start = time.perf_counter()
        process = subprocess.Popen(
            [sys.executable, __file__, "--off", off, *command], stdout=out, stderr=out, preexec_fn=_limit
        )
        _, _, usage = os.wait4(process.pid, 0)
        seconds = time.perf_counter() - start
        out.seek(0)
        return Ended(seconds, usage.ru_maxrss / 1024, _builds(out.read(), asked.command))


def _limit() -> None:
    resource.setrlimit(resource.RLIMIT_AS, (8 << 30, 8 << 30))


def _builds(text: str, command: str) -> str | None:
    try:
        told = json.loads(text[text.index("{") :])
    except ValueError:
        return None
    return json.dumps(told[FOUND[command]]) if told.get("proven") else None


def _tell(found: dict[str, list[Ended]], command: str) -> None:
    print(f"| {command} without | median | 90th percentile | worst | most MiB | not proven | other builds |")
    print("|---|---:|---:|---:|---:|---:|---:|")
    whole = found["nothing"]
    for name, runs in found.items():
        times = sorted(run.seconds for run in runs)
        late = sum(run.builds is None for run in runs)
        other = sum(
            None not in (run.builds, base.builds) and run.builds != base.builds
            for run, base in zip(runs, whole, strict=True)
        )
        print(
            f"| {name} | {statistics.median(times):.2f} s | {times[int(0.9 * (len(times) - 1))]:.2f} s | "
            f"{times[-1]:.2f} s | {max(run.peak_mib for run in runs):,.0f} | {late} | {other} |"
        )


if __name__ == "__main__":
    main()

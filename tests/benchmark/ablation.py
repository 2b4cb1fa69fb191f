"""What each mechanism of the search is worth: each switched off alone, on drawn jobs.

`python tests/benchmark/ablation.py --size 2000x2000 --jobs 20 --command rank` runs the command on the jobs of `drawn`
as it is and with each mechanism off, each time in a fresh process, and prints a table in Markdown. Every mechanism only
saves work: where both runs are proven their builds must be the same, and the table counts where they are not.
"""

from __future__ import annotations

import argparse
import json
import statistics
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

import numpy as np
from distribution import ANSWERS, FOUND, Ended, command_line, percentile_90, run, size
from drawn import draw_job


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


def main() -> None:
    """Ask, measure, print the table; or, as the process that is measured, run the command with a mechanism off."""
    if sys.argv[1:2] == ["--off"]:
        OFF[sys.argv[2]]()
        sys.argv = ["combo", *sys.argv[3:]]
        from combo.__main__ import start

        start()
        return
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--size", type=size, default=(2000, 2000), help="wheels by tires")
    ask.add_argument("--jobs", type=int, default=20)
    ask.add_argument("--seed", type=int, default=1, help="of the first job")
    ask.add_argument("--command", choices=FOUND, default="rank")
    ask.add_argument("--time-limit", type=float, default=60.0, help="seconds of one process")
    ask.add_argument("--memory-limit", type=float, default=8.0, help="GiB of address space of one process")
    asked = ask.parse_args(namespace=argparse.Namespace(cold=False))
    with tempfile.TemporaryDirectory() as folder:
        # Job by job, so that what else the machine does falls on all alike.
        runs = [_runs_of_job(Path(folder), seed, asked) for seed in range(asked.seed, asked.seed + asked.jobs)]
    _tell({name: [of_job[name] for of_job in runs] for name in OFF}, asked.command)


def _runs_of_job(folder: Path, seed: int, asked: argparse.Namespace) -> dict[str, Ended]:
    job = folder / str(seed)
    draw_job(job, seed=seed, wheels=asked.size[0], tires=asked.size[1])
    arguments = command_line(asked.command, job, seed)
    return {name: run(arguments, folder, asked, [__file__, "--off", name]) for name in OFF}


def _builds(ended: Ended, command: str) -> str | None:
    """What a command listed, where it is proven."""
    if ended.status not in ANSWERS.values():
        return None
    answer = json.loads(ended.text)
    return json.dumps(answer[FOUND[command]]) if answer["proven"] else None


def _tell(found: dict[str, list[Ended]], command: str) -> None:
    print(f"| {command} without | median | 90th percentile | worst | most MiB | not proven | other builds |")
    print("|---|---:|---:|---:|---:|---:|---:|")
    whole = [_builds(run, command) for run in found["nothing"]]
    for name, runs in found.items():
        times = sorted(run.seconds for run in runs)
        builds = [_builds(run, command) for run in runs]
        late = builds.count(None)
        other = sum(None not in both and both[0] != both[1] for both in zip(builds, whole, strict=True))
        print(
            f"| {name} | {statistics.median(times):.2f} s | {percentile_90(times):.2f} s | "
            f"{times[-1]:.2f} s | {max(run.peak_mib for run in runs):,.0f} | {late} | {other} |"
        )


if __name__ == "__main__":
    main()

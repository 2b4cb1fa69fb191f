"""How many trucks a second: jobs of different rooms, budgets and targets against one set of long lists.

    python tests/benchmark/many_trucks.py [--jobs 1000] [--wheels 20000] [--tires 2000] [--workbooks]

One process, two processes, and a Dask cluster of two workers on this machine, each from nothing to results.csv, with
the start-up of combo but not of the cluster. It ends with status 1 where the three tables differ.
"""

from __future__ import annotations

import argparse
import os
import random
import re
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

from lists import write_job

ROOT = Path(__file__).parents[2]
BATCH = [sys.executable, "-m", "combo", "batch"]


def write_trucks(folder: Path, jobs: int, wheels: int, tires: int, seed: int = 1) -> None:
    """Jobs beside the lists that they share; the same arguments give the same bytes."""
    first = write_job(folder, seed=seed, wheels=wheels, tires=tires, top=10)
    text = first.read_text(encoding="utf-8")
    first.unlink()
    dice = random.Random(f"trucks {seed}")
    for number in range(jobs):
        (folder / f"truck_{number:05d}.toml").write_text(_another_truck(dice, text, number), encoding="utf-8")


def _another_truck(dice: random.Random, text: str, number: int) -> str:
    """A job of a truck that was measured, paid for and used differently."""
    text = re.sub(r'(?m)^name = ".*"', f'name = "Truck {number}"', text, count=1)
    rooms = re.compile(r'^(room_inner|room_outer) = ".*"', re.MULTILINE)
    text = rooms.sub(lambda found: f'{found[1]} = "{_room_mm(dice, found[1])} mm"', text)
    for key, value in (
        ("budget", f"${dice.randrange(2800, 5000, 50):,}"),
        ("rear_load", f"{dice.randrange(1800, 1960, 10)} lb"),
        ("cruise_speed", f"{dice.randrange(58, 64)} mph"),
    ):
        text = re.sub(rf'(?m)^{key} = ".*"', f'{key} = "{value}"', text, count=1)
    return text


def _room_mm(dice: random.Random, key: str) -> int:
    return dice.randrange(116, 134) if key == "room_inner" else dice.randrange(174, 200)


@contextmanager
def local_cluster(folder: Path, workers: int) -> Iterator[str]:
    """Address of a scheduler with workers, each a process of its own, all gone afterwards."""
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        address = f"tcp://127.0.0.1:{one.getsockname()[1]}"
    scheduler = ["distributed.cli.dask_scheduler", "--host", address, "--no-dashboard", "--no-show"]
    worker = ["distributed.cli.dask_worker", address, "--no-nanny", "--nthreads", "1", "--no-dashboard"]
    with ExitStack() as stack:
        for words in [scheduler, *[worker] * workers]:
            process = subprocess.Popen(
                [sys.executable, "-m", *words],
                cwd=folder,
                env=_environment(),
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
            )
            stack.callback(process.wait)
            stack.callback(process.kill)
        yield address


def _environment() -> dict[str, str]:
    return {**os.environ, "PYTHONPATH": str(ROOT)}


def measured_s(jobs: Path, out: Path, *words: str) -> float:
    """Seconds that a batch takes."""
    started = time.perf_counter()
    status = subprocess.run(
        [*BATCH, str(jobs), "-o", str(out), *words], env=_environment(), stdout=subprocess.DEVNULL, check=False
    ).returncode
    if status:
        raise SystemExit(f"a batch ended with status {status}; {out / 'results.csv'} tells why")
    return time.perf_counter() - started


def main() -> None:
    """Measure and print a row a way of running."""
    options = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    for name, default in (("jobs", 1000), ("wheels", 20_000), ("tires", 2_000)):
        options.add_argument(f"--{name}", type=int, default=default)
    options.add_argument("--workbooks", action="store_true")
    asked = options.parse_args()
    with tempfile.TemporaryDirectory() as temporary:
        folder = Path(temporary)
        write_trucks(folder / "trucks", asked.jobs, asked.wheels, asked.tires)
        seconds = _each_way(folder, [] if asked.workbooks else ["--no-workbooks"])
        tables = {(folder / f"out{at}" / "results.csv").read_bytes() for at in range(len(seconds))}
    print(f"{asked.jobs:,} jobs, {asked.wheels:,} wheels, {asked.tires:,} tires")
    print(f"{'':32}{'seconds':>10}{'jobs a second':>16}")
    for way, taken in seconds.items():
        print(f"{way:32}{taken:>10.1f}{asked.jobs / taken:>16.2f}")
    if len(tables) > 1:
        raise SystemExit("the tables differ")
    print("The tables are the same, byte for byte.")


def _each_way(folder: Path, words: list[str]) -> dict[str, float]:
    trucks = folder / "trucks"
    seconds = {
        "one process": measured_s(trucks, folder / "out0", "--processes", "1", *words),
        "two processes": measured_s(trucks, folder / "out1", "--processes", "2", *words),
    }
    with local_cluster(folder, 2) as address:
        seconds["Dask cluster, two workers"] = measured_s(trucks, folder / "out2", "--scheduler", address, *words)
    return seconds


if __name__ == "__main__":
    main()

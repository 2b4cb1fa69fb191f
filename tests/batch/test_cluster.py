"""Jobs on a real cluster: a scheduler and two workers, each a process of its own, one of which is killed."""

import csv
import json
import os
import signal
import socket
import subprocess
import sys
import time
from contextlib import ExitStack, contextmanager
from pathlib import Path

import pytest

import combo
from combo.batch.cluster import refuse_other_versions
from combo.batch.run import Hands, run
from combo.batch.work import Options
from combo.problems import Problems

pytest.importorskip("distributed")

ROOT = Path(combo.__file__).parents[1]
ENVIRONMENT = {**os.environ, "PYTHONPATH": str(ROOT), "DASK_DISTRIBUTED__COMM__TIMEOUTS__CONNECT": "10s"}
BATCH = [sys.executable, "-c", "from combo.cli import main; main()", "batch"]
PATIENCE_S = 60.0


@contextmanager
def running(*words, cwd):
    """A process of Dask; it is gone afterwards."""
    command = [sys.executable, "-m", *map(str, words)]
    process = subprocess.Popen(command, env=ENVIRONMENT, cwd=cwd, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        yield process
    finally:
        process.kill()
        process.wait()


def free_port():
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return one.getsockname()[1]


@pytest.fixture
def cluster(tmp_path):
    """Address of a scheduler, and its two workers."""
    address = f"tcp://127.0.0.1:{free_port()}"
    with ExitStack() as stack:
        scheduler = ("distributed.cli.dask_scheduler", "--host", address, "--no-dashboard", "--no-show")
        stack.enter_context(running(*scheduler, cwd=tmp_path))
        worker = ("distributed.cli.dask_worker", address, "--no-nanny", "--nthreads", 1, "--no-dashboard")
        yield address, [stack.enter_context(running(*worker, cwd=tmp_path)) for _ in range(2)]


def journal_of(folder):
    try:
        return [json.loads(line) for line in (folder / "finished.jsonl").read_text().splitlines()[1:]]
    except FileNotFoundError:
        return []


@pytest.mark.skipif(os.name == "nt", reason="signals of POSIX")
def test_a_killed_worker_loses_no_job_and_none_is_told_twice(trucks, tmp_path, cluster):
    (address, workers), out = cluster, tmp_path / "out"
    text = (trucks / "c.toml").read_text()
    for name in "efgh":
        (trucks / f"{name}.toml").write_text(text.replace("$3200", f"${3200 + ord(name)}"))
    words = [trucks, "-o", out, "--top", "1", "--no-workbooks", "--scheduler", address]
    batch = subprocess.Popen(
        [*BATCH, *map(str, words)], env=ENVIRONMENT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    end = time.monotonic() + PATIENCE_S
    while len(journal_of(out)) < 2 and batch.poll() is None and time.monotonic() < end:
        time.sleep(0.02)
    done = len(journal_of(out))
    workers[0].send_signal(signal.SIGKILL)
    _, err = batch.communicate(timeout=PATIENCE_S)
    assert batch.returncode == 0, err
    assert 2 <= done < 8
    with open(out / "results.csv", encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["job"] for row in rows] == [f"{name}.toml" for name in "abcdefgh"]
    assert [row["status"] for row in rows] == ["nothing fits" if row["job"] == "d.toml" else "ranked" for row in rows]
    assert len({entry["key"] for entry in journal_of(out)}) == len(journal_of(out)) == 8


def test_a_worker_without_combo_or_with_another_version_is_a_problem():
    with pytest.raises(Problems) as raised:
        refuse_other_versions({"tcp://a": None, "tcp://b": "0.0.1", "tcp://c": combo.__version__})
    assert [(problem.place.file, problem.word, problem.found) for problem in raised.value.problems] == [
        ("tcp://a", "other-version", "no combo on this worker"),
        ("tcp://b", "other-version", "combo 0.0.1 on this worker"),
    ]


def test_no_scheduler_at_an_address_is_a_problem_and_nothing_is_written(trucks, tmp_path, monkeypatch):
    monkeypatch.setattr("combo.batch.cluster._PATIENCE_S", 0.5)
    with pytest.raises(Problems) as raised:
        run(trucks, tmp_path / "out", Options(), Hands(scheduler=f"tcp://127.0.0.1:{free_port()}"))
    assert [problem.word for problem in raised.value.problems] == ["no-scheduler"]
    assert not (tmp_path / "out").exists()

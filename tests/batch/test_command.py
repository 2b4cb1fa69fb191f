"""`combo batch` as a user meets it: exit status, what it prints, and what a stop in the middle leaves."""

import csv
import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

import combo

ROOT = Path(combo.__file__).parents[1]
HEARS_CTRL_C = "import signal; signal.signal(signal.SIGINT, signal.default_int_handler)"
"""Whoever runs the tests in the background of a shell has them ignore it, and all that they start."""
COMMAND = [sys.executable, "-c", f"{HEARS_CTRL_C}; from combo.cli import main; main()", "batch"]
PATIENCE_S = 60.0
MORE = 24


def started(*words):
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    return subprocess.Popen(
        [*COMMAND, *map(str, words)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=environment,
        start_new_session=True,
    )


def ended(process):
    out, err = process.communicate(timeout=PATIENCE_S)
    return process.returncode, out, err


def finished(folder):
    """Entries of the journal; none before it is there."""
    try:
        lines = (folder / "finished.jsonl").read_text().splitlines()[1:]
    except FileNotFoundError:
        return []
    return [json.loads(line) for line in lines]


def wait_for(folder, count):
    end = time.monotonic() + PATIENCE_S
    while len(finished(folder)) < count:
        assert time.monotonic() < end
        time.sleep(0.05)


def jobs_of_table(folder):
    with open(folder / "results.csv", encoding="utf-8", newline="") as file:
        return [row["job"] for row in csv.DictReader(file)]


@pytest.fixture
def more(trucks):
    """So many jobs that none of the batches below ends before it is looked at."""
    text = (trucks / "c.toml").read_text()
    paths = [f"e{number:02d}.toml" for number in range(MORE)]
    for number, path in enumerate(paths):
        (trucks / path).write_text(text.replace("$3200", f"${3200 + number}"))
    return trucks, [*(f"{name}.toml" for name in "abcd"), *paths]


def test_jobs_with_answers_exit_0_and_json_has_one_entry_a_job(trucks, tmp_path):
    status, out, _ = ended(started(trucks, "-o", tmp_path / "out", "--top", 1, "--no-workbooks", "--json"))
    answer = json.loads(out)
    assert status == 0
    assert answer["format"] == 1
    assert [(job["job"], job["builds"]) for job in answer["jobs"]] == [
        ("a.toml", 1),
        ("b.toml", 1),
        ("c.toml", 1),
        ("d.toml", 0),
    ]


def test_a_job_with_problems_exits_2_and_the_table_tells_why(trucks, tmp_path):
    for name in ("a.toml", "b.toml"):
        (trucks / name).unlink()
    (trucks / "d.toml").write_text((trucks / "d.toml").read_text().replace("room_inner", "room_iner", 1))
    status, out, err = ended(started(trucks, "-o", tmp_path / "out", "--top", 1))
    assert (status, err) == (2, "")
    assert 'd.toml, line 49, [wheelhouse.front]: unknown key "room_iner"; the nearest known key is "room_inner"' in out
    assert "2 jobs: 1 ranked, 1 with problems." in out
    assert (tmp_path / "out" / "workbooks" / "c.xlsx").read_bytes()[:2] == b"PK"


def test_a_folder_without_jobs_exits_2(tmp_path):
    status, out, err = ended(started(tmp_path, "-o", tmp_path / "out"))
    assert (status, out) == (2, "")
    assert "no job in this folder" in err
    assert not (tmp_path / "out").exists()


@pytest.mark.skipif(os.name == "nt", reason="signals of POSIX")
def test_an_interrupted_batch_keeps_what_is_finished(more, tmp_path):
    folder, out = more[0], tmp_path / "out"
    batch = started(folder, "-o", out, "--top", 1, "--no-workbooks", "--processes", 2)
    wait_for(out, 2)
    os.killpg(batch.pid, signal.SIGINT)
    status, _, err = ended(batch)
    assert status == 130
    assert f"of {4 + MORE} jobs are finished; the same command goes on from there" in err
    assert jobs_of_table(out) == sorted(entry["path"] for entry in finished(out))


@pytest.mark.skipif(os.name == "nt", reason="signals of POSIX")
def test_a_killed_batch_goes_on_where_it_stopped(more, tmp_path):
    (folder, paths), out = more, tmp_path / "out"
    words = (folder, "-o", out, "--top", 1, "--no-workbooks", "--processes", 2)
    batch = started(*words)
    wait_for(out, 2)
    batch.kill()
    ended(batch)
    before = finished(out)
    status, told, _ = ended(started(*words))
    assert status == 0
    assert f"{len(before)} were finished before" in told
    assert finished(out)[: len(before)] == before
    assert jobs_of_table(out) == paths
    assert len({entry["key"] for entry in finished(out)}) == len(finished(out)) == 4 + MORE


@pytest.mark.skipif(os.name == "nt", reason="no locks there")
def test_a_second_batch_into_the_same_folder_is_refused(more, tmp_path):
    folder, out = more[0], tmp_path / "out"
    words = (folder, "-o", out, "--top", 1, "--no-workbooks", "--processes", 1)
    first = started(*words)
    wait_for(out, 1)
    status, _, err = ended(started(*words))
    os.killpg(first.pid, signal.SIGINT)
    assert status == 2
    assert "another batch writes its results there now" in err
    assert ended(first)[0] == 130

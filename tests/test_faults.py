"""Faults of the machine are one line and status 4, an interrupt is 130, and nothing is said of where in the code."""

import errno
import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from combo import __main__ as process
from combo.show.files import write_starter

ROOT = Path(__file__).parents[1]
COMMAND = [sys.executable, "-m", "combo"]
pytestmark = pytest.mark.skipif(os.name == "nt", reason="pipes, devices and signals of POSIX")


def shell(words, **variables):
    """A line of the shell in which "$@" is combo; the status is that of the shell."""
    environment = {**os.environ, **variables}
    return subprocess.run(
        ["bash", "-c", words, "combo", *COMMAND],
        capture_output=True,
        text=True,
        cwd=ROOT,
        env=environment,
        check=False,
        timeout=30,
    )


@pytest.fixture(scope="module")
def job(tmp_path_factory):
    return write_starter(tmp_path_factory.mktemp("faults") / "job")[0]


needs_full = pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")


@needs_full
def test_a_full_disk_is_one_line_and_exits_4(job):
    answer = shell(f'"$@" check {job} > /dev/full')
    assert (answer.returncode, answer.stderr) == (4, "standard output: the disk is full\n")


@needs_full
def test_the_traceback_is_shown_where_it_is_asked_for():
    asked_by_variable = shell('"$@" --version > /dev/full', COMBO_TRACEBACK="1")
    assert asked_by_variable.returncode == 4
    assert "Traceback" in asked_by_variable.stderr


def test_a_closed_output_exits_4(job):
    answer = shell(f'"$@" check {job} >&-')
    assert (answer.returncode, answer.stderr) == (4, "standard output: it is closed\n")


def test_a_closed_standard_error_leaves_the_status(job):
    answer = shell(f'"$@" check {job}/none 2>&-')
    assert (answer.returncode, answer.stdout) == (2, "")


def test_a_reader_that_leaves_ends_it_as_any_tool(job):
    answer = shell(f'"$@" check {job} | true; echo "${{PIPESTATUS[0]}}"')
    assert (answer.stdout, answer.stderr) == (f"{128 + signal.SIGPIPE}\n", "")


def test_an_output_of_ascii_escapes_what_it_lacks(job):
    text = job.read_text(encoding="utf-8").replace('name = "Starter job"', 'name = "Mühle \U0001f69a"')
    named = job.with_name("named.toml")
    named.write_text(text, encoding="utf-8")
    answer = shell(f'"$@" check {named}', PYTHONIOENCODING="ascii")
    assert answer.returncode == 0
    assert "M\\u00fchle \\ud83d\\ude9a" in answer.stdout


@pytest.mark.parametrize("make", [os.mkfifo, lambda path: path.symlink_to(path)], ids=["pipe", "loop"])
def test_a_job_that_is_no_file_is_a_problem(tmp_path, make):
    make(tmp_path / "job.toml")
    answer = shell(f'"$@" check {tmp_path / "job.toml"}')
    assert answer.returncode == 2
    assert answer.stderr.startswith(f"{tmp_path / 'job.toml'}: it is a ")


def test_a_name_that_is_too_long_is_a_problem():
    answer = shell(f'"$@" rank {"a" * 300} --json')
    assert answer.returncode == 2
    assert json.loads(answer.stdout)["problems"][0]["found"] == "the name is too long"


def broken(error):
    """A process in which reading any job fails so."""
    code = (
        "import combo.read.load as load\nfrom combo.__main__ import start\n"
        f"def failing(path):\n    raise {error}\nload.load = failing\nstart()"
    )
    return subprocess.run(
        [sys.executable, "-c", code, "rank", ".", "--json"],
        capture_output=True,
        text=True,
        cwd=ROOT,
        check=False,
        timeout=30,
    )


@pytest.mark.parametrize(
    ("error", "told"),
    [
        ("MemoryError", "there is not enough memory"),
        ('PermissionError(13, "Permission denied", "lists")', "lists: it may not be opened"),
        ("TypeError", "combo failed: TypeError in cli (please report; COMBO_TRACEBACK=1 shows where)"),
    ],
)
def test_a_fault_is_one_line_and_json_where_that_was_asked(error, told):
    answer = broken(error)
    assert (answer.returncode, answer.stderr) == (4, f"{told}\n")
    assert json.loads(answer.stdout) == {"format": 1, "fault": told}


def test_a_wrong_clock_is_told(monkeypatch):
    monkeypatch.setattr(process.time, "localtime", lambda: time.struct_time((1970, 1, 1, 0, 0, 0, 3, 1, 0)))
    assert process.fault_words(ValueError("ZIP")) == "the clock of this machine is wrong: it says 1970"


def test_an_error_of_a_file_is_told_with_its_name():
    assert process.fault_words(OSError(errno.EROFS, "", "a.xlsx")).startswith("combo failed: OSError")
    assert process.fault_words(OSError(errno.EROFS, "x", "a.xlsx")) == "a.xlsx: the disk takes no changes"


def test_an_interrupt_inside_an_import_ends_with_130(tmp_path):
    (tmp_path / "heavy.py").write_text(
        "import os, signal\ntry:\n    os.kill(os.getpid(), signal.SIGINT)\n"
        "except KeyboardInterrupt:\n    raise ImportError from None\n"
    )
    code = (
        "import combo.read.load as load\nfrom combo.__main__ import start\n"
        "def importing(path):\n    import heavy\nload.load = importing\nstart()"
    )
    command = [sys.executable, "-c", code, "check", "."]
    answer = subprocess.run(
        command,
        capture_output=True,
        text=True,
        check=False,
        timeout=30,
        env={**os.environ, "PYTHONPATH": f"{ROOT}{os.pathsep}{tmp_path}"},
    )
    assert (answer.returncode, answer.stderr) == (130, "")


def test_an_interrupt_ends_with_130():
    assert broken("KeyboardInterrupt").returncode == 130


@pytest.mark.parametrize("link", ["symlink_to", "hardlink_to", "self"])
@pytest.mark.parametrize("name", ["job.toml", "wheels.csv"])
def test_an_output_that_is_an_input_is_refused_even_with_force(job, tmp_path, name, link):
    own = output = job.with_name(name)
    if link != "self":
        output = tmp_path / "sheet.txt"
        getattr(output, link)(own)
    before = own.read_bytes()
    answer = shell(f'"$@" measure {job} -o {output} --force')
    assert answer.returncode == 2
    assert "which the job is read from" in answer.stderr
    assert own.read_bytes() == before

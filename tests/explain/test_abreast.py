"""Questions on all cores give the answers of one core."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

import combo
from combo.explain.abreast import asked_of_each
from combo.show.files import write_starter

forking = pytest.mark.skipif(
    sys.platform != "linux" or not hasattr(os, "sched_getaffinity") or len(os.sched_getaffinity(0)) < 2,
    reason="shares its work where forks are safe and there are two cores",
)
ASKED = """
import multiprocessing, os, signal
from combo.explain.abreast import asked_of_each
own = os.getpid()
def ask(case):
    {first}
    return case * 10, os.getpid() == own
print(asked_of_each(ask, [1, 2, 3]))
"""
DIES = "multiprocessing.parent_process() and os.kill(os.getpid(), signal.SIGKILL)"
BY_OTHERS = "[(10, False), (20, False), (30, False)]\n"
BY_ITSELF = "[(10, True), (20, True), (30, True)]\n"


def one_core():
    return {min(os.sched_getaffinity(0))}


def printed(code, cores=None):
    """What a program prints: these tests may run beside threads, where nothing is forked."""
    begin = f"import os; os.sched_setaffinity(0, {cores!r})" if cores else ""
    env = os.environ | {"PYTHONPATH": str(Path(combo.__file__).parent.parent)}
    whole = [sys.executable, "-c", f"{begin}\n{code}"]
    run = subprocess.run(whole, capture_output=True, text=True, check=False, env=env)
    assert run.stderr == ""
    return run.stdout


def asked_by(job, words, cores=None):
    code = f"import sys; sys.argv[1:] = {[*words, str(job), '--json']!r}\nfrom combo.cli import main\nmain()"
    return printed(code, cores)


@pytest.fixture(scope="module")
def job(tmp_path_factory):
    folder = tmp_path_factory.mktemp("starter") / "job"
    write_starter(folder)
    return folder / "job.toml"


def test_answers_stand_in_the_order_of_the_cases():
    assert asked_of_each(lambda case: case * case, range(5)) == [0, 1, 4, 9, 16]


def test_nothing_is_asked_of_no_cases():
    assert asked_of_each(lambda case: 1 / 0, []) == []


def test_what_goes_wrong_is_raised():
    with pytest.raises(ZeroDivisionError):
        asked_of_each(lambda case: 1 / case, [1, 0])


@forking
def test_other_processes_are_asked():
    assert printed(ASKED.format(first="pass")) == BY_OTHERS


@forking
def test_one_core_asks_itself():
    assert printed(ASKED.format(first="pass"), one_core()) == BY_ITSELF


@forking
def test_where_a_worker_dies_all_is_asked_again_without():
    assert printed(ASKED.format(first=DIES)) == BY_ITSELF


@forking
@pytest.mark.parametrize(
    "words", [("near",), ("limits",), ("limits", "--of", "budget"), ("rank", "--stops"), ("why", "--tire", "T-2")],
    ids="-".join,
)  # fmt: skip
def test_all_cores_give_the_bytes_of_one(job, words):
    assert asked_by(job, words) == asked_by(job, words, one_core())

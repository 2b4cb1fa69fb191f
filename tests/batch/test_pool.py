"""Jobs on several processes: none is lost, none done twice, whatever becomes of a process."""

import multiprocessing
import os
import signal
import sys

import pytest

from combo.batch.pool import in_processes
from combo.batch.work import ERROR, RANKED, Done, Outcome

METHODS = [name for name in ("fork", "forkserver") if name in multiprocessing.get_all_start_methods()]
forking = pytest.mark.skipif(sys.platform != "linux", reason="functions of a test reach a worker by a fork alone")


def paths(outcomes):
    return sorted(outcome.path for outcome in outcomes)


def answered(task):
    """An answer at once."""
    return Done(Outcome(task.job.path, "", RANKED))


def killed():
    os.kill(os.getpid(), signal.SIGKILL)


def done_by(tasks, work, processes=2):
    how = multiprocessing.get_context("fork")
    return {done.outcome.path: done.outcome for done in in_processes(tasks, processes, how=how, work=work)}


@pytest.mark.parametrize("method", METHODS)
def test_every_job_is_done_once(tasks, method):
    outcomes = [done.outcome for done in in_processes(tasks[2:], 2, how=multiprocessing.get_context(method))]
    assert paths(outcomes) == ["c.toml", "d.toml"]
    assert ERROR not in {outcome.status for outcome in outcomes}


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no such signal there")
def test_a_killed_worker_loses_no_job(tasks):
    answers = in_processes(tasks, 2)
    outcomes = [next(answers).outcome]
    before = {process.pid for process in multiprocessing.active_children()}
    os.kill(min(before), signal.SIGKILL)
    outcomes += [done.outcome for done in answers]
    assert paths(outcomes) == ["a.toml", "b.toml", "c.toml", "d.toml"]
    assert ERROR not in {outcome.status for outcome in outcomes}


@forking
def test_a_job_whose_process_ends_once_is_answered(tasks, tmp_path):
    def work(task):
        mark = tmp_path / "tried"
        if task.job.path == "b.toml" and not mark.exists():
            mark.touch()
            killed()
        return answered(task)

    assert {outcome.status for outcome in done_by(tasks, work).values()} == {RANKED}


@forking
def test_a_job_whose_process_ends_twice_is_told_and_the_others_are_answered(tasks):
    def work(task):
        if task.job.path == "b.toml":
            killed()
        return answered(task)

    done = done_by(tasks, work)
    assert {path: outcome.status for path, outcome in done.items()} == {
        "a.toml": RANKED,
        "b.toml": ERROR,
        "c.toml": RANKED,
        "d.toml": RANKED,
    }
    assert done["b.toml"].error == "its process ended 2 times without an answer, stopped by signal 9"


@forking
def test_a_process_that_ends_by_itself_is_told_with_its_status(tasks):
    def work(task):
        os._exit(7)

    assert {outcome.error for outcome in done_by(tasks, work).values()} == {
        "its process ended 2 times without an answer, with exit status 7"
    }


@forking
def test_workers_end_with_the_answers_that_are_no_longer_wanted(tasks):
    answers = in_processes(tasks, 2, how=multiprocessing.get_context("fork"), work=answered)
    next(answers)
    answers.close()
    assert multiprocessing.active_children() == []


@forking
def test_workers_find_shared_lists_read_already(tasks, monkeypatch):
    read = []
    monkeypatch.setattr("combo.batch.pool.load", read.append)
    done_by(tasks, answered)
    assert read == [tasks[0].job.file]

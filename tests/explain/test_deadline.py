"""A question that is cut short tells what it has found, and claims nothing that it has not proven."""

import dataclasses
import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from combo.candidates.instance import Instance
from combo.candidates.relaxed_limits import Pinned
from combo.deadline import Clock
from combo.explain.best import best_build
from combo.explain.limits import movable
from combo.explain.near import near_misses
from combo.explain.parts import standing
from combo.explain.sweep import gains, steps
from combo.read.load import load
from combo.show.files import write_starter

LOOKS = [0, 1, 4, 16, 64, 256, 1024, 10**9]
"""How often a clock is looked at before its time is up: the last is never reached."""


@dataclasses.dataclass
class Counted(Clock):
    """A clock whose time is up once it has been looked at so often: the same on every machine."""

    looks: int = 0

    def is_over(self):
        self.looks -= 1
        self.cut_short = self.cut_short or self.looks < 0
        return self.cut_short


def cut_at(instance, looks):
    return Instance(instance.job, instance.parts, Counted(looks=looks))


def test_near_misses_are_all_there_or_say_which_limits_they_do_not_know_of(instance):
    whole = [(near.best.key, near.limit.key) for near in near_misses(instance, 3).found]
    told = [near_misses(cut_at(instance, looks), 3) for looks in LOOKS]
    for own in told:
        found = [(near.best.key, near.limit.key) for near in own.found]
        assert not own.proven or found == whole
        assert all({result.check for result in near.best.failing} == set(near.failing) for near in own.found)
    assert (told[0].proven, told[-1].proven) == (False, True)


def test_gains_are_those_of_the_whole_search_and_the_rest_is_not_known(instance):
    now = best_build(instance)
    whole = {gain.limit.key: gain.step for gain in gains(instance, now).found}
    told = [gains(cut_at(instance, looks), now) for looks in LOOKS]
    for own in told:
        unknown = {limit.key for limit in own.unknown}
        found = {gain.limit.key: gain.step.moved for gain in own.found}
        assert found == {place: step.moved for place, step in whole.items() if place not in unknown}
    assert (bool(told[0].unknown), told[-1].unknown) == (True, ())


def test_steps_that_were_walked_are_true_steps(instance):
    now = best_build(instance)
    limit = next(limit for limit in movable(instance.job) if limit.check.id == "budget")
    whole = [step.moved for step in steps(instance, limit, now).found]
    told = [steps(cut_at(instance, looks), limit, now) for looks in LOOKS]
    for own in told:
        assert {step.moved for step in own.found} <= set(whole)
        assert not own.proven or [step.moved for step in own.found] == whole
        assert own.proven or not own.found or not own.found[-1].is_next
    assert (told[0].proven, told[-1].proven) == (False, True)


def test_why_nothing_fits_tells_true_conflicts_and_changes_only(poor):
    whole = standing(poor, Pinned(), 2)
    told = [standing(cut_at(poor, looks), Pinned(), 2) for looks in LOOKS]
    for own in told:
        assert own.best is None
        if own.stuck is None:
            assert not own.proven
        else:
            for change in own.stuck.changes:
                smallest = next(one for one in whole.stuck.changes if one.limits == change.limits)
                assert change.share >= smallest.share
                assert not change.is_smallest or change.moved == smallest.moved
            assert not own.proven or own.stuck.why == whole.stuck.why
    assert (told[0].proven, told[-1].proven) == (False, True)


def test_a_build_that_was_found_in_time_is_told_though_a_better_one_may_be_there(instance):
    told = [standing(cut_at(instance, looks), Pinned(), 2) for looks in LOOKS]
    best = best_build(instance)
    assert all(own.best is None or own.best.key >= best.key for own in told)
    assert any(own.best is not None and not own.proven for own in told)
    assert (told[0].best, told[-1].best.key) == (None, best.key)


@pytest.fixture(scope="module")
def job(tmp_path_factory):
    folder = tmp_path_factory.mktemp("starter") / "job"
    write_starter(folder)
    return folder / "job.toml"


@pytest.fixture(scope="module")
def stuck_job(job):
    text = job.read_text(encoding="utf-8")
    budget = next(line for line in text.splitlines() if line.startswith("budget"))
    path = job.parent / "stuck.toml"
    path.write_text(text.replace(budget, 'budget = "$300"'), encoding="utf-8")
    assert load(path).job.money.budget_cents == 30_000
    return path


@pytest.mark.parametrize(
    "words",
    [("near",), ("limits",), ("limits", "--of", "budget"), ("stuck",), ("why", "--tire", "T-2157515-P")],
    ids=" ".join,
)
def test_a_command_that_has_no_time_exits_3_and_says_that_it_is_not_proven(job, stuck_job, words):
    path = stuck_job if words[0] == "stuck" else job
    command = [sys.executable, "-m", "combo", words[0], str(path), *words[1:], "--time-limit", "0.01", "--json"]
    answer = subprocess.run(command, capture_output=True, text=True, check=False)
    assert (answer.returncode, json.loads(answer.stdout)["proven"]) == (3, False)


def test_builds_that_were_not_found_in_time_cannot_be_compared(job):
    command = [sys.executable, "-m", "combo", "compare", str(job), "1", "900", "--time-limit", "0.01"]
    answer = subprocess.run(command, capture_output=True, text=True, check=False)
    assert answer.returncode == 2
    assert "for the search was cut short: a longer --time-limit may find more" in answer.stderr


def test_ctrl_c_tells_what_is_found_and_exits_130(tmp_path):
    example = Path(__file__).parents[2] / "examples" / "orchard_pickup" / "job.toml"
    command = [sys.executable, "-c", "from combo.__main__ import start; start()", "near", str(example), "--json"]
    asked = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    wait_until_searching(asked.pid)
    os.kill(asked.pid, signal.SIGINT)
    text, errors = asked.communicate(timeout=60)
    assert (asked.returncode, errors) == (130, "")
    assert json.loads(text)["proven"] is False


def wait_until_searching(process):
    """Until it heeds Ctrl-C in its own way, which it does while it searches: its twins are forked then."""
    for _ in range(400):
        children = Path(f"/proc/{process}/task/{process}/children")
        if children.exists() and children.read_text().split():
            return
        time.sleep(0.025)

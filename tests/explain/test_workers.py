"""Questions on all cores give the answers of one core."""

import os
import subprocess
import sys
import textwrap
from pathlib import Path

import pytest

import combo
from combo.explain.workers import map_parallel
from combo.show.files import write_starter

forking = pytest.mark.skipif(
    sys.platform != "linux" or not hasattr(os, "sched_getaffinity") or len(os.sched_getaffinity(0)) < 2,
    reason="shares its work where forks are safe and there are two cores",
)
ASKED = """
import os, signal, time
from combo.explain.workers import map_parallel, on_all_cores
first = os.getpid()
def ask(case):
    is_twin = os.getpid() != first
    {begin}
    return case * 10, is_twin
with on_all_cores():
    rounds = [map_parallel(ask, [1, 2, 3]), map_parallel(ask, [4, 5])]
print([[number for number, _ in own] for own in rounds], [any(by_twin for _, by_twin in own) for own in rounds])
print(map_parallel(ask, [6, 7]))
"""
TAKES_A_WHILE = "time.sleep(0.3)"
ANSWERS, AFTER = "[[10, 20, 30], [40, 50]]", "[(60, False), (70, False)]\n"
SHARED = f"{ANSWERS} [True, True]\n{AFTER}"
BY_ITSELF = f"{ANSWERS} [False, False]\n{AFTER}"


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
    assert map_parallel(lambda case: case * case, range(5)) == [0, 1, 4, 9, 16]


def test_nothing_is_asked_of_no_cases():
    assert map_parallel(lambda case: 1 / 0, []) == []


def test_what_goes_wrong_is_raised():
    with pytest.raises(ZeroDivisionError):
        map_parallel(lambda case: 1 / case, [1, 0])


@forking
def test_each_takes_what_no_other_has_taken():
    assert printed(ASKED.format(begin=TAKES_A_WHILE)) == SHARED


@forking
def test_one_core_asks_itself():
    assert printed(ASKED.format(begin="pass"), one_core()) == BY_ITSELF


@forking
def test_where_a_twin_dies_the_rest_is_asked_without():
    dies = f"{TAKES_A_WHILE}; is_twin and os.kill(os.getpid(), signal.SIGKILL)"
    assert printed(ASKED.format(begin=dies)) == BY_ITSELF


@forking
def test_where_a_question_fails_in_a_twin_it_is_asked_again_and_what_goes_wrong_is_raised():
    code = ASKED.format(begin=f"{TAKES_A_WHILE}; 1 / (case - 2)")
    tried = f"try:\n{textwrap.indent(code, '    ')}\nexcept ZeroDivisionError:\n    print('raised')"
    assert printed(tried) == "raised\n"


@forking
def test_a_question_asks_others_alone():
    asks = f"{TAKES_A_WHILE}; assert map_parallel(lambda own: os.getpid(), [1, 2]) == [os.getpid()] * 2"
    assert printed(ASKED.format(begin=asks)) == SHARED


@forking
def test_a_twin_that_is_at_other_questions_is_not_listened_to():
    code = ASKED.format(begin=TAKES_A_WHILE)
    assert printed(code.replace("ask, [1, 2, 3]", "ask, [1, 2, 3][: 3 if os.getpid() == first else 2]")) == BY_ITSELF


@forking
def test_more_cases_than_lots_are_all_answered():
    code = """
    from combo.explain.workers import map_parallel, on_all_cores
    with on_all_cores():
        print(map_parallel(lambda case: -case, range(600)) == [-case for case in range(600)])
    """
    assert printed(textwrap.dedent(code)) == "True\n"


@forking
@pytest.mark.parametrize(
    "words",
    [("near",), ("limits",), ("limits", "--of", "budget"), ("rank", "--stops"), ("why", "--tire", "T-2157515-P")],
    ids="-".join,
)
def test_all_cores_give_the_bytes_of_one(job, words):
    assert asked_by(job, words) == asked_by(job, words, one_core())

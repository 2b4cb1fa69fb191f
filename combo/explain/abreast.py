"""Questions that do not wait for each other's answers, asked on all cores."""

from __future__ import annotations

import multiprocessing
import signal
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from typing import Any, TypeVar

from combo.cores import cores, may_fork

T = TypeVar("T")
R = TypeVar("R")


def asked_of_each(ask: Callable[[T], R], cases: Sequence[T]) -> list[R]:
    """What `ask` answers of each case, in their order.

    Workers are forked, so each has at no cost all that was worked out before; what it works out itself, only its later
    cases find. So what is made of the answers must be the same whichever worker has which case. Only answers travel
    between processes, by pickle. Where forks are not safe, or a worker dies (of memory, perhaps), the cases are asked
    one after the other.
    """
    workers = min(cores(), len(cases))
    if workers > 1 and may_fork() and multiprocessing.parent_process() is None:
        try:
            return _in_workers(ask, cases, workers)
        except BrokenProcessPool:
            pass
    return [ask(case) for case in cases]


def all_asked(questions: Sequence[Callable[[], R]]) -> list[R]:
    """Answers of some questions, as `asked_of_each` has them."""
    return asked_of_each(lambda ask: ask(), questions)


def both_asked(one: Callable[[], T], other: Callable[[], R]) -> tuple[T, R]:
    """Answers of two questions, likewise."""
    questions: list[Callable[[], Any]] = [one, other]
    first, second = all_asked(questions)
    return first, second


def _in_workers(ask: Callable[[T], R], cases: Sequence[T], workers: int) -> list[R]:
    fork = multiprocessing.get_context("fork")
    with ProcessPoolExecutor(workers, mp_context=fork, initializer=_begin, initargs=(ask, cases)) as pool:
        return list(pool.map(_answer, range(len(cases))))


_forked_with: list[Any] = []
"""In a worker: the question and its cases, neither of which could be sent to it."""


def _begin(ask: Callable[[T], R], cases: Sequence[T]) -> None:
    signal.signal(signal.SIGINT, signal.SIG_DFL)  # an interrupt ends a worker at once
    _forked_with[:] = ask, cases


def _answer(at: int) -> Any:
    ask, cases = _forked_with
    return ask(cases[at])

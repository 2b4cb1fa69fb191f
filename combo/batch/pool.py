"""Jobs on the cores of one machine: worker processes, each at one job at a time.

A process pool of the standard library, once one of its processes is killed, gives up every job that it has, and does
not tell which of them did it. Here the line to each worker is watched, so a worker that ends without an answer names
its job; a new one takes its place, and no other job notices.
"""

from __future__ import annotations

import contextlib
import gc
import multiprocessing
import signal
from collections import Counter, deque
from collections.abc import Generator, Iterable, Iterator, Sequence
from multiprocessing.connection import Connection, wait
from multiprocessing.context import BaseContext
from pathlib import Path
from typing import Any

from combo.batch.work import Done, Task, Work, not_done, rank_job
from combo.cores import may_fork
from combo.problems import Problems
from combo.read.load import load

TRIES = 2
"""How often a job is tried whose process ends without an answer."""
WARMED = 8
"""Sets of lists that are read before workers are forked; what more there are, each worker reads for itself."""
_PATIENCE_S = 5.0


def start_method() -> BaseContext:
    """How worker processes are started.

    A fork shares with each worker, at no cost, the lists that `warm` has read. Where it is not safe a clean process is
    forked from a server, or started anew where that is not known.
    """
    if may_fork():
        return multiprocessing.get_context("fork")
    methods = multiprocessing.get_all_start_methods()
    return multiprocessing.get_context("forkserver" if "forkserver" in methods else "spawn")


def warm(paths: Iterable[Path]) -> None:
    """Read these jobs, so that workers forked afterwards find their lists in memory; a worker tells what is wrong."""
    for path in paths:
        with contextlib.suppress(Problems, Exception):
            load(path)
    gc.collect()
    gc.freeze()  # the collector, else, would write into every page that the workers share


def in_processes(
    tasks: Sequence[Task], processes: int, *, how: BaseContext | None = None, work: Work = rank_job
) -> Generator[Done, None, None]:
    """Every task done once, in the order in which they are finished. Closing the iterator ends the workers.

    Parameters
    ----------
    tasks : sequence of Task
    processes : int
        At most so many at once.
    how : context of multiprocessing, optional
        Else the safest that shares the lists.
    work : callable
        What is done with a task.
    """
    context = how or start_method()
    if context.get_start_method() == "fork":
        warm(_worth_warming(tasks))
    pool = _Pool(context, work, tasks)
    try:
        pool.start(min(processes, len(tasks)))
        while pool.is_busy():
            yield from pool.next_done()
    finally:
        pool.end()
        gc.unfreeze()


def _worth_warming(tasks: Sequence[Task]) -> list[Path]:
    """The first job on each set of lists that more than one job uses, most used first."""
    used = Counter(task.job.lists for task in tasks)
    first = {task.job.lists: task.job.file for task in reversed(tasks)}
    return [first[lists] for lists, times in used.most_common(WARMED) if times > 1]


class _Worker:
    """A process, the line to it, and the task that it is at."""

    def __init__(self, context: BaseContext, work: Work) -> None:
        self.line, theirs = context.Pipe()
        forked = context.get_start_method() == "fork"
        process: Any = context.Process  # type: ignore[attr-defined]  # each context has its own
        self.process = process(target=_serve, args=(theirs, self.line if forked else None, work), daemon=True)
        self.process.start()
        theirs.close()
        self.task: Task | None = None

    def give(self, task: Task) -> None:
        """Send a task; where the process has ended, the line tells so when it is next listened to."""
        self.task = task
        with contextlib.suppress(OSError):
            self.line.send(task)

    def answer(self) -> Done | None:
        """What the worker sent; None where it has ended."""
        try:
            done: Done = self.line.recv()
        except (EOFError, OSError):
            return None
        self.task = None
        return done

    def end(self) -> None:
        """Stop the process: what it is at is lost, and nothing else, for it writes nothing."""
        self.process.terminate()
        self.process.join(_PATIENCE_S)
        if self.process.is_alive():
            self.process.kill()
            self.process.join()
        self.line.close()


class _Pool:
    """Workers, and the tasks that wait for one."""

    def __init__(self, context: BaseContext, work: Work, tasks: Sequence[Task]) -> None:
        self._context, self._work = context, work
        self._waiting = deque(tasks)
        self._lost: Counter[str] = Counter()
        self._workers: list[_Worker] = []

    def start(self, count: int) -> None:
        """Start workers, each with a task."""
        for _ in range(count):
            self._workers.append(_Worker(self._context, self._work))
            self._give(self._workers[-1])

    def is_busy(self) -> bool:
        """Whether any worker is at a task."""
        return any(worker.task for worker in self._workers)

    def next_done(self) -> Iterator[Done]:
        """What is done next; a worker has its next task before its last is told."""
        lines = {worker.line: worker for worker in self._workers if worker.task}
        for line in wait(list(lines)):
            worker = lines[line]  # type: ignore[index]  # those waited for
            task, done = worker.task, worker.answer()
            if task is not None and done is None:
                done = self._replace(worker, task)
            else:
                self._give(worker)
            if done is not None:
                yield done

    def end(self) -> None:
        """Stop all workers."""
        for worker in self._workers:
            worker.end()

    def _give(self, worker: _Worker) -> None:
        if self._waiting:
            worker.give(self._waiting.popleft())

    def _replace(self, worker: _Worker, task: Task) -> Done | None:
        """A new worker for one that ended at a task, which is tried again first of all; told, after so many tries."""
        worker.process.join(_PATIENCE_S)  # its line may close a moment before it ends
        worker.end()
        self._lost[task.job.path] += 1
        given_up = self._lost[task.job.path] == TRIES
        if not given_up:
            self._waiting.appendleft(task)
        self._workers[self._workers.index(worker)] = fresh = _Worker(self._context, self._work)
        self._give(fresh)
        why = f"its process ended {TRIES} times without an answer, {_end_of(worker)}"
        return not_done(task, why) if given_up else None


def _end_of(worker: _Worker) -> str:
    code = worker.process.exitcode
    return f"stopped by signal {-code}" if code is not None and code < 0 else f"with exit status {code}"


def _serve(line: Connection, other_end: Connection | None, work: Work) -> None:
    """The life of a worker: tasks in, answers out, until the line is closed."""
    if other_end is not None:
        other_end.close()  # a fork has both ends, and would never see the line closed
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # an interrupt goes to the whole group; the parent ends the workers
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    while True:
        try:
            line.send(work(line.recv()))
        except (EOFError, OSError):  # the parent is gone, or wants no more
            return

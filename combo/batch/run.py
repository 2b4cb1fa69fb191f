"""A batch from its folder to its results."""

from __future__ import annotations

import os
import signal
from collections.abc import Callable, Generator, Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

from combo.batch.jobs import find_jobs, refuse_workbook_names
from combo.batch.journal import opened
from combo.batch.pool import in_processes
from combo.batch.table import write_table
from combo.batch.work import ANSWERS, Done, Options, Outcome, Stopped, Task
from combo.cores import cores

Progress = Callable[[int, int], None]
INTERRUPTED = "interrupted"


@dataclass(frozen=True)
class Hands:
    """Who does the jobs: so many processes of this machine (None: one a core), or the cluster of a scheduler."""

    processes: int | None = None
    scheduler: str = ""


@dataclass(frozen=True)
class Batch:
    """Outcomes in the order of the paths; of `jobs` in all, `taken` were finished before.

    Where the batch was `stopped`, for the reason told, there are fewer outcomes than jobs.
    """

    outcomes: tuple[Outcome, ...]
    jobs: int
    taken: int
    table: Path
    stopped: str = ""

    def has_answers(self) -> bool:
        """Whether every job gave an answer, be it that nothing fits."""
        return not self.stopped and all(outcome.status in ANSWERS for outcome in self.outcomes)


def run(
    folder: Path,
    out: Path,
    options: Options,
    hands: Hands,
    *,
    force: bool = False,
    progress: Progress = lambda done, jobs: None,
) -> Batch:
    """Rank every job of a folder that is not finished yet. An interrupt ends it early, with what is done kept.

    Raises
    ------
    Problems
        Where the folder has no jobs, `out` holds other things, or the cluster cannot be had; never for what is wrong
        with a job.
    """
    source = Path(os.path.abspath(folder))  # links stay: workers of a cluster see the path as it is given
    jobs = find_jobs(source)
    if options.workbooks:
        refuse_workbook_names(jobs)
    tasks = [Task(job, options) for job in jobs]
    with _doing(hands) as answers_to, opened(out, source, tasks, force=force) as journal:
        outcomes = dict(journal.taken)
        left = [task for task in tasks if task.job.path not in outcomes]
        progress(len(outcomes), len(tasks))
        stopped = ""
        try:
            with closing(answers_to(left)) as answers:
                for done in answers:
                    with _uninterrupted():
                        outcomes[done.outcome.path] = journal.keep(done)
                    progress(len(outcomes), len(tasks))
        except KeyboardInterrupt:
            stopped = INTERRUPTED
        except Stopped as why:
            stopped = str(why)
        finally:
            in_order = tuple(outcomes[path] for path in sorted(outcomes))
            table = write_table(out, in_order)
    return Batch(in_order, len(tasks), len(tasks) - len(left), table, stopped)


@contextmanager
def _uninterrupted() -> Iterator[None]:
    """Ctrl-C waits until journal and table know of the same jobs, where the system can hold it back."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


@contextmanager
def _doing(hands: Hands) -> Iterator[Callable[[Sequence[Task]], Generator[Done, None, None]]]:
    """What does tasks. A cluster is connected to first, so that nothing is written where there is none."""
    if hands.scheduler:
        from combo.batch.cluster import connected

        with connected(hands.scheduler) as cluster:
            yield cluster.answers
    else:
        yield lambda tasks: in_processes(tasks, hands.processes or cores())

"""Questions that do not wait for each other's answers, asked on all cores.

Workers, copies of this process, are forked where `on_all_cores` begins, and do all that is done inside it, too. Of some
questions each answers those that no other has taken, tells the others, and goes on with the answers of all. So nothing
but answers travels between processes, by pickle; what one has worked out its later questions find; and a fork, which
costs time where memory is written afterwards, is paid for once.
"""

from __future__ import annotations

import contextlib
import gc
import os
import signal
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from multiprocessing.connection import Connection, Pipe
from typing import Any, NoReturn, TypeVar

from combo.cores import cores, may_fork
from combo.deadline import CutShortError

T = TypeVar("T")
R = TypeVar("R")
MOST_PROCESSES = 4
"""There are seldom more questions at once, and each process has memory of its own."""
_MOST_LOTS, _NO_MORE = 250, 255
_WAITED_S = 0.1
"""How often it is looked whether an answer of a worker is still waited for."""


@contextlib.contextmanager
def on_all_cores(is_stopped: Callable[[], bool] = lambda: False) -> Iterator[None]:
    """Inside, `map_parallel` shares questions with workers of this process, where forks are safe.

    What is done inside must take the same way in all of them: it may depend on answers, not on time or on what one
    process alone has kept. Where a search is cut short in one of them it is left behind. Workers print nothing, and end
    where it ends; once `is_stopped` their answers are not waited for.
    """
    global _workers
    processes = min(cores(), MOST_PROCESSES)
    if processes < 2 or not may_fork() or _workers is not None:
        yield
        return
    gc.freeze()  # the collector, else, would write into every page that the processes share
    _workers = own = _forked(processes, is_stopped)
    try:
        yield
    finally:
        _workers = None
        own.end()
        gc.unfreeze()


def map_parallel(ask: Callable[[T], R], cases: Sequence[T]) -> list[R]:
    """What `ask` answers of each case, in their order; what is made of the answers must be the same whichever process
    has which case. A question that asks others asks them alone.
    """
    global _workers
    if _workers is None or len(cases) < 2:  # a single question is answered by every process
        return [ask(case) for case in cases]
    own, _workers = _workers, None
    try:
        return own.answers(ask, cases)
    finally:
        _workers = own if own.are_in_step else None


def map_in_time(ask: Callable[[T], R], cases: Sequence[T]) -> list[R | None]:
    """As `map_parallel`, with None for a case whose search was cut short."""

    def answered(case: T) -> R | None:
        try:
            return ask(case)
        except CutShortError:
            return None

    return map_parallel(answered, cases)


def call_parallel(questions: Sequence[Callable[[], R]]) -> list[R]:
    """Answers of some questions, as `map_parallel` has them."""
    return map_parallel(lambda ask: ask(), questions)


@dataclass
class _Workers:
    """The other processes, as one of them sees them.

    `tickets` is the pipe out of which each takes what it answers next: a byte is a lot of cases. The first process
    fills it, has a line to each of the others, and knows their ids; a worker has a line to the first alone.
    """

    tickets: tuple[int, int | None]
    lines: list[Connection]
    is_stopped: Callable[[], bool]
    ids: list[int] = field(default_factory=list)
    is_worker: bool = False
    rounds: int = 0
    are_in_step: bool = True

    def answers(self, ask: Callable[[T], R], cases: Sequence[T]) -> list[R]:
        """Answers of all cases. Where a worker has died, of memory perhaps, the first process goes on by itself."""
        self.are_in_step = False  # until all have told each other
        lots = min(len(cases), _MOST_LOTS)
        if self.tickets[1] is not None:
            os.write(self.tickets[1], bytes([*range(lots), *[_NO_MORE] * (len(self.lines) + 1)]))
        found: dict[int, R] = {}
        while (lot := self._ticket()) != _NO_MORE:
            found.update((at, ask(cases[at])) for at in range(lot, len(cases), lots))
        self.rounds += 1
        self.are_in_step = self._tell_each_other(found, (self.rounds, len(cases)))
        return [found[at] if at in found else ask(case) for at, case in enumerate(cases)]

    def end(self) -> None:
        """End the workers; a worker ends itself."""
        if self.is_worker:
            self._leave()
        for line in self.lines:
            line.close()
        for one in self.ids:
            os.kill(one, signal.SIGKILL)
            os.waitpid(one, 0)
        for end in self.tickets:
            if end is not None:
                os.close(end)

    def _ticket(self) -> int:
        taken = os.read(self.tickets[0], 1)
        if not taken:  # the first process is gone
            self._leave()
        return taken[0]

    def _tell_each_other(self, found: dict[int, R], at: tuple[int, int]) -> bool:
        """Add what the others have found; False where one of them is gone, or is not at the same questions."""
        try:
            if self.is_worker:
                self.lines[0].send((at, found))
            theirs = [self._heard(line) for line in self.lines]
            if all(where == at for where, _ in theirs):
                for _, own in theirs:
                    found.update(own)
                for line in [] if self.is_worker else self.lines:
                    line.send((at, found))
                return True
        except (EOFError, OSError):
            pass
        if self.is_worker:
            self._leave()
        return False

    def _heard(self, line: Connection) -> Any:
        """What another process tells; raises EOFError where it is gone, or not waited for."""
        while not line.poll(_WAITED_S):
            if self.is_stopped():
                raise EOFError
        return line.recv()

    @staticmethod
    def _leave() -> NoReturn:
        os._exit(0)  # nothing that the first process has begun is finished twice


_workers: _Workers | None = None
"""While questions are shared: the processes that share them."""


def _forked(processes: int, is_stopped: Callable[[], bool]) -> _Workers:
    """This process and its workers, in each of them as it sees the others."""
    take, give = os.pipe()
    lines: list[Connection] = []
    ids: list[int] = []
    for _ in range(processes - 1):
        ours, theirs = Pipe()
        one = os.fork()
        if not one:
            for line in (*lines, ours):
                line.close()
            os.close(give)  # else the worker would never see that the first process is gone
            _keep_silent()
            return _Workers((take, None), [theirs], is_stopped, is_worker=True)
        theirs.close()
        lines.append(ours)
        ids.append(one)
    return _Workers((take, give), lines, is_stopped, ids)


def _keep_silent() -> None:
    """A worker prints nothing, and an interrupt ends it at once."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    for stream in (1, 2):
        os.dup2(nowhere, stream)
    os.close(nowhere)

"""Jobs on the workers of a Dask cluster that is there already."""

from __future__ import annotations

import asyncio
import logging
import threading
from collections.abc import Generator, Iterator, Mapping, Sequence
from concurrent.futures import CancelledError
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from combo import __version__
from combo.batch.work import Done, Stopped, Task, not_done, one_line, rank_job
from combo.problems import Place, Problem, Problems

_PATIENCE_S = 4.0  # for the scheduler, and again for a worker
_ONE_AT_A_TIME = threading.Lock()


@contextmanager
def connected(address: str) -> Iterator[Cluster]:
    """The cluster of a scheduler.

    Raises
    ------
    Problems
        Where Dask is not installed, no scheduler answers or it has no worker, or a worker has not this version.
    """
    distributed = _distributed()
    try:
        asyncio.run(_greeted(distributed, address))
        client = distributed.Client(address, timeout=_PATIENCE_S, set_as_default=False)
    except Exception as error:  # whatever it is that answers there, or how the address is written
        silent = Problem(
            Place(address),
            "no-scheduler",
            "no Dask scheduler answers there",
            "the address of one that runs is accepted, such as tcp://10.0.0.5:8786",
        )
        raise Problems([silent]) from error
    with client:
        _refuse_without_workers(client, address)
        refuse_other_versions(_versions(client))
        yield Cluster(address, client, distributed)


@dataclass(frozen=True)
class Cluster:
    """A connection to a scheduler; its end takes back what is not done."""

    address: str
    client: Any
    distributed: Any

    def answers(self, tasks: Sequence[Task]) -> Generator[Done, None, None]:
        """Every task done once, in the order in which they are finished.

        The scheduler gives the tasks of a worker that dies to another. Whatever it has to do twice comes back once: a
        future has one result, and nothing but what comes back is written.

        Raises
        ------
        Stopped
            Where the scheduler goes away.
        """
        futures = dict(zip(self.client.map(rank_there, tasks, pure=False), tasks, strict=True))
        for future in self.distributed.as_completed(list(futures), loop=self.client.loop):
            yield self._answer(future, futures.pop(future))

    def _answer(self, future: Any, task: Task) -> Done:
        try:
            done: Done = future.result()
        except CancelledError as error:
            raise Stopped(f"the Dask scheduler at {self.address} went away") from error
        except self.distributed.KilledWorker as error:
            return not_done(task, f"every worker that tried it died: {one_line(error)}")
        except Exception as error:  # of Dask or of its worker, as where combo is not installed there
            return not_done(task, f"{type(error).__name__} on its worker: {one_line(error)}")
        return done


async def _greeted(distributed: Any, address: str) -> None:
    """Return where something that speaks Dask answers; a client would wait for other servers without end."""
    line = await asyncio.wait_for(distributed.comm.connect(address, timeout=_PATIENCE_S), _PATIENCE_S)
    line.abort()


def _refuse_without_workers(client: Any, address: str) -> None:
    try:
        client.wait_for_workers(1, timeout=_PATIENCE_S)
    except TimeoutError as error:
        idle = Problem(
            Place(address),
            "no-workers",
            "this Dask scheduler has no worker",
            "a scheduler with at least one is accepted: dask worker ADDRESS starts one",
        )
        raise Problems([idle]) from error


def refuse_other_versions(versions: Mapping[str, str | None]) -> None:
    """Raise Problems for workers, by their address, that have another version of combo or none: None of them.

    A worker that joins later is not asked. With another version it gives no answers; without any it dies of the first
    task, and the scheduler gives that to another.
    """
    others = {address: version for address, version in sorted(versions.items()) if version != __version__}
    if others:
        raise Problems(
            Problem(
                Place(address),
                "other-version",
                f"combo {version} on this worker" if version else "no combo on this worker",
                f"combo {__version__} is accepted, as it is here",
            )
            for address, version in others.items()
        )


def _versions(client: Any) -> dict[str, str | None]:
    def version() -> str | None:  # in here, so that it is sent whole to workers that may know no combo
        try:
            import combo
        except ImportError:
            return None
        return combo.__version__

    found: dict[str, str | None] = client.run(version)
    return found


def rank_there(task: Task) -> Done:
    """`rank_job` on a worker. Threads of one process wait for each other: together they would be no faster."""
    with _ONE_AT_A_TIME:
        return rank_job(task)


def _distributed() -> Any:
    try:
        import distributed
    except ImportError as error:
        missing = Problem(
            Place("--scheduler"),
            "missing-extra",
            "Dask is not installed here",
            "pip install 'combo[cluster]' installs it",
        )
        raise Problems([missing]) from error
    for name in ("distributed", "distributed.client"):
        logging.getLogger(name).setLevel(logging.CRITICAL)  # what goes wrong is told in our words
    return distributed

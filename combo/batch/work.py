"""One job to one outcome. Whatever goes wrong in a job is told in its outcome, so that the others go on."""

from __future__ import annotations

import math
import time
import traceback
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from combo import __version__
from combo.batch.jobs import JobFile, job_file
from combo.checks.check import Verdict
from combo.deadline import Clock
from combo.explain.rejected import rejected
from combo.problems import Problem, Problems
from combo.read.load import Loaded, load
from combo.search.filter import space_of
from combo.search.topk import Ranking, rank
from combo.show import words
from combo.show.machine import parts_of_build
from combo.show.workbook import workbook

RANKED = "ranked"
NOTHING_FITS = "nothing fits"
PROBLEMS = "problems"
ERROR = "error"
ANSWERS = (RANKED, NOTHING_FITS)


@dataclass(frozen=True)
class Options:
    """What is asked of every job."""

    top: int | None = None
    time_limit_s: float | None = None
    workbooks: bool = True


@dataclass(frozen=True)
class Task:
    """A job to be done: all that a process on another machine needs, and what it must find there."""

    job: JobFile
    options: Options
    version: str = __version__


@dataclass(frozen=True)
class BestOfJob:
    """The first build of a job. The last two are words for people, in the job's own units."""

    score: float | None
    front_wheel: str
    front_tire: str
    front_spacer: str
    rear_wheel: str
    rear_tire: str
    rear_spacer: str
    ratio: str
    differential: str
    ballast: str
    cost_cents: int
    rear_load_kg: float | None
    binding: str
    binding_where: str
    binding_margin: float | None
    binding_unit: str
    unverified: int
    told_load: str
    told_binding: str


@dataclass(frozen=True)
class Outcome:
    """What came of a job. `problems` is what is wrong with its input, `error` what kept us from an answer."""

    path: str
    name: str
    status: str
    builds: int = 0
    proven: bool = True
    best: BestOfJob | None = None
    problems: tuple[Problem, ...] = ()
    error: str = ""
    workbook: str = ""
    seconds: float = 0.0


@dataclass(frozen=True)
class Done:
    """An outcome, and the bytes of its workbook, which whoever gathers the outcomes writes."""

    outcome: Outcome
    workbook: bytes | None = None


class Undone(Exception):  # noqa: N818 - what it says is told as it is
    """Why a job could not be done, through no fault of its input or of ours, in words for the user."""


class Stopped(Exception):  # noqa: N818 - what it says is told as it is
    """Why a whole batch could not go on, in words for the user; what is finished stays."""


Work = Callable[[Task], Done]


def rank_job(task: Task) -> Done:
    """Rank one job; never raises, but for an interrupt."""
    started = time.perf_counter()
    try:
        done = _answer(task)
    except Problems as found:
        done = Done(Outcome(task.job.path, task.job.name, PROBLEMS, problems=tuple(found.problems)))
    except Undone as why:
        done = not_done(task, str(why))
    except Exception as error:
        done = not_done(task, _told(error))
    return replace(done, outcome=replace(done.outcome, seconds=round(time.perf_counter() - started, 3)))


def not_done(task: Task, why: str) -> Done:
    """The outcome of a job that gave no answer."""
    return Done(Outcome(task.job.path, task.job.name, ERROR, error=why))


def one_line(error: Exception) -> str:
    """The text of an error in one line."""
    return " ".join(str(error).split())


def _answer(task: Task) -> Done:
    if task.version != __version__:
        raise Undone(f"combo {__version__} is installed where it ran, {task.version} where the batch was started")
    loaded = _loaded(task.job)
    space = space_of(loaded.job, loaded.parts)
    options = task.options
    ranking = rank(space, options.top or loaded.job.shortlist.top, clock=Clock(options.time_limit_s))
    book = None
    if options.workbooks:
        reasons = rejected(loaded.job, loaded.parts, ranking, Clock(options.time_limit_s))
        book = workbook(loaded, ranking, reasons)
    status = RANKED if ranking.ranked else NOTHING_FITS
    best = _best(ranking) if ranking.ranked else None
    outcome = Outcome(task.job.path, loaded.job.job.name, status, len(ranking.ranked), ranking.proven, best)
    return Done(outcome, book)


def _loaded(job: JobFile) -> Loaded:
    """A job and its lists, certain to be those whose digest the batch took: looked at after they have been read."""
    try:
        return load(job.file)
    finally:
        if _digest_now(job) != job.digest:
            raise Undone("its file or lists are not, where it ran, as they were when the batch began")


def _digest_now(job: JobFile) -> str:
    found = job_file(job.path, job.file)
    return found.digest if found else ""


def _best(ranking: Ranking) -> BestOfJob:
    job, first = ranking.space.job, ranking.ranked[0]
    parts, binding = parts_of_build(ranking.space, ranking.builds, first.at), first.binding
    load_kg = first.totals["rear_light_g"] / 1000.0
    lots = [f"{lot['count']} x {lot['item']} {lot['station']}" for lot in parts["ballast"]]
    return BestOfJob(
        score=first.score,
        **{
            f"{axle}_{kind}": parts[axle][kind] or ""
            for axle in ("front", "rear")
            for kind in ("wheel", "tire", "spacer")
        },
        ratio=parts["ratio"],
        differential=parts["differential"],
        ballast=" + ".join(lots),
        cost_cents=int(first.totals["cost_cents"]),
        rear_load_kg=_number(load_kg),
        binding=binding.check.id if binding else "",
        binding_where=binding.where if binding else "",
        binding_margin=_number(binding.margin) if binding else None,
        binding_unit=binding.check.unit if binding else "",
        unverified=sum(result.verdict is Verdict.UNVERIFIED for result in first.checks),
        told_load="?" if math.isnan(load_kg) else words.mass(job, load_kg),
        told_binding=words.in_short(job, binding),
    )


def _number(size: float) -> float | None:
    return round(float(size), 4) + 0.0 if math.isfinite(size) else None


def _told(error: Exception) -> str:
    """A defect of ours in a line: type, text and where it was raised."""
    last = traceback.extract_tb(error.__traceback__)[-1]
    return f"{type(error).__name__}: {one_line(error)} ({Path(last.filename).name}, line {last.lineno})"

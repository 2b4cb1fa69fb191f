"""A batch on the terminal: how far it is, and the table at its end."""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from rich.console import Console
from rich.progress import BarColumn, Progress, TextColumn
from rich.table import Table
from rich.text import Text

from combo.batch.run import Batch
from combo.batch.table import what_is_wrong
from combo.batch.work import ERROR, NOTHING_FITS, PROBLEMS, RANKED, BestOfJob, Outcome
from combo.show import words

ROWS = 100
"""Rows of the table that are printed; all stand in the file."""
_LINES = 3
_COUNTED = {RANKED: "ranked", NOTHING_FITS: "where nothing fits", PROBLEMS: "with problems", ERROR: "not done"}


@contextmanager
def counting(err: Console) -> Iterator[Callable[[int, int], None]]:
    """Tells jobs done of all and jobs a second, on a terminal only.

    It is drawn when it is told something, by no thread of its own: a process with threads is not safe to fork.
    """
    if not err.is_terminal:
        yield lambda done, jobs: None
        return
    columns = (BarColumn(), TextColumn("{task.description}"))
    with Progress(*columns, console=err, auto_refresh=False, transient=True) as bar:
        shown, started = bar.add_task("", total=None), time.monotonic()
        at_first: list[int] = []

        def tell(done: int, jobs: int) -> None:
            if not at_first:
                at_first.append(done)
            told = _how_far(done, jobs, done - at_first[0], time.monotonic() - started)
            bar.update(shown, completed=done, total=jobs, description=told)
            bar.refresh()

        yield tell


def _how_far(done: int, jobs: int, fresh: int, seconds: float) -> str:
    told = f"{done:,} of {jobs:,} jobs"
    return f"{told}, {fresh / seconds:.1f} jobs a second" if fresh and seconds else told


def show_batch(out: Console, batch: Batch) -> None:
    """The table, what failed and why, and where the whole is."""
    shown = batch.outcomes[:ROWS]
    if shown:
        out.print(_table(shown))
    more = len(batch.outcomes) - len(shown)
    if more:
        out.print(f"and {more:,} more, in {batch.table}", soft_wrap=True)
    failed = [outcome for outcome in batch.outcomes if what_is_wrong(outcome)]
    if failed:
        out.print(Text("What failed", style="bold"))
    for outcome in failed:
        _show_failed(out, outcome)
    out.print(_counts(batch), soft_wrap=True)
    out.print(f"The table is {batch.table}.", soft_wrap=True)


def stopped(batch: Batch) -> str:
    """What to say of a batch that was stopped."""
    return (
        f"{batch.stopped}: {len(batch.outcomes):,} of {batch.jobs:,} jobs are finished; "
        "the same command goes on from there"
    )


def _table(outcomes: tuple[Outcome, ...]) -> Table:
    table = Table(box=None, pad_edge=False, header_style="bold")
    for name, right in (
        ("job", False),
        ("answer", False),
        ("score", True),
        ("best build", False),
        ("cost", True),
        ("rear load", True),
        ("binding", False),
    ):
        table.add_column(name, justify="right" if right else "left", overflow="fold")
    for outcome in outcomes:
        table.add_row(*_cells(outcome))
    return table


def _cells(outcome: Outcome) -> list[str]:
    head = [f"{outcome.path}\n{outcome.name}".rstrip(), _answer(outcome)]
    best = outcome.best
    if best is None:
        return [*head, *[""] * 5]
    score = "-" if best.score is None else f"{best.score:.0f}"
    return [*head, score, "\n".join(_parts(best)), words.money(best.cost_cents), best.told_load, best.told_binding]


def _answer(outcome: Outcome) -> str:
    """The status; what a time limit or a missing measurement takes from it."""
    lines = [f"{outcome.builds} builds" if outcome.builds > 1 else "1 build"] if outcome.status == RANKED else []
    lines = lines or [outcome.status]
    if outcome.status in {RANKED, NOTHING_FITS} and not outcome.proven:
        lines.append("NOT PROVEN")
    if outcome.best and outcome.best.unverified:
        lines.append(f"{outcome.best.unverified} unverified")
    return "\n".join(lines)


def _parts(best: BestOfJob) -> list[str]:
    front = " + ".join(filter(None, (best.front_wheel, best.front_tire, best.front_spacer)))
    rear = " + ".join(filter(None, (best.rear_wheel, best.rear_tire, best.rear_spacer)))
    lines = [f"all round: {front}"] if front == rear else [f"front: {front}", f"rear: {rear}"]
    ballast = [f"ballast: {best.ballast}"] if best.ballast else []
    return [*lines, f"drive: {best.ratio} + {best.differential}", *ballast]


def _show_failed(out: Console, outcome: Outcome) -> None:
    lines = what_is_wrong(outcome)
    more = [f"and {len(lines) - _LINES} more"] if len(lines) > _LINES else []
    out.print(f"- {outcome.path}", soft_wrap=True)
    for line in [*lines[:_LINES], *more]:
        out.print(f"    {line}", soft_wrap=True)


def _counts(batch: Batch) -> str:
    times = Counter(outcome.status for outcome in batch.outcomes)
    told = [f"{times[status]:,} {words_}" for status, words_ in _COUNTED.items() if times[status]]
    before = f"; {batch.taken:,} were finished before" if batch.taken else ""
    jobs = f"{batch.jobs:,} job{'' if batch.jobs == 1 else 's'}"
    left = batch.jobs - len(batch.outcomes)
    told += [f"{left:,} left"] if left else []
    return f"{jobs}: {', '.join(told)}{before}."

"""What moving limits would buy, for the terminal: the most useful line first."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console
from rich.table import Table
from rich.text import Text

from combo.explain.best import Best
from combo.explain.limits import Limit
from combo.explain.sweep import Gain, Gains, Step, Sweep
from combo.job import Job
from combo.show import words
from combo.show.terminal import part_lines, show_cautions

BAR = 24
"""Signs of the longest bar."""


def show_gains(out: Console, job: Job, now: Best | None, gained: Gains, limits: tuple[Limit, ...]) -> None:
    """The limits that alone stand in the way of a better build, those first that stop the best."""
    gains = gained.found
    out.print(Text(job.job.name, style="bold"))
    out.print(_now(job, now, proven=not gained.unknown), soft_wrap=True)
    if gained.unknown:
        names = "; ".join(words.limit_name(limit) for limit in gained.unknown)
        out.print(f"{words.CUT_SHORT} Not known for these limits: {names}.", soft_wrap=True)
    if gains:
        what = "a better build" if now else "a build"
        out.print(f"Relax any one of these and you get {what}:", soft_wrap=True)
        table = table_of("limit", "relax it by", "score", "cost", "the best build then")
        for gain in gains:
            moved = words.moved(job, gain.limit.check.unit, gain.step.moved).removeprefix("+")
            table.add_row(words.limit_name(gain.limit), moved, *cells_of(gain.step.best))
        out.print(table)
    asked = tuple(limit for limit in limits if limit not in gained.unknown)
    _show_rest(out, asked, gains, now)
    show_cautions(out)


def show_steps(out: Console, job: Job, now: Best | None, limit: Limit, walked: Sweep) -> None:
    """Where the best build changes as one limit moves, the widest first, with a bar for each score."""
    steps = walked.found
    out.print(Text(f"{job.job.name}: {words.limit_name(limit)}", style="bold"))
    out.print(_now(job, now, proven=walked.proven), soft_wrap=True)
    if not walked.proven:
        out.print(f"{words.CUT_SHORT} There may be more steps than these.", soft_wrap=True)
    if not steps:
        if walked.proven:
            out.print("Relaxing this alone doesn't help.")
        return
    table = table_of("from", "score", "", "cost", "the best build from there on")
    for at, step in enumerate(steps):
        scored, *rest = cells_of(step.best)
        table.add_row(words.moved(job, limit.check.unit, step.moved), scored, _bar(steps, at), *rest)
        if not step.is_next:
            table.add_row("...", "", "", "", "other builds may be best in between" if at < len(steps) - 1 else "")
    out.print(table)
    out.print(
        "+: relax it this much. -: you could tighten it this much. Each build is best from there up to the line above. "
        "Every line is proven.",
        soft_wrap=True,
    )
    show_cautions(out)


def cells_of(best: Best) -> list[str]:
    """Score, cost and parts of a build."""
    return [words.score(best.score), words.money(best.cost_cents), "\n".join(part_lines(best.space, best.builds, 0))]


def _now(job: Job, now: Best | None, *, proven: bool) -> str:
    if now is None:
        none = "no build passes every check" if proven else "no build was found yet"
        return f"With your limits as they stand, {none}."
    best = "the best build" if proven else "the best build found so far"
    return f"With your limits as they stand, {best} {words.worth(now.score, now.cost_cents)}."


def _show_rest(out: Console, limits: tuple[Limit, ...], gains: Sequence[Gain], now: Best | None) -> None:
    gained = [gain.limit for gain in gains]
    rest = [words.limit_name(limit) for limit in limits if limit not in gained]
    what = "a better build" if now else "a build"
    if rest:
        out.print(f"Relaxing any one of the others doesn't give {what}: {'; '.join(rest)}.", soft_wrap=True)
    out.print(
        "Never relaxed: load and speed ratings, bolt circle, hub bore, rims, brakes, studs, carrier, ties, and "
        "what [limits] firm names.",
        soft_wrap=True,
    )


def table_of(*columns: str) -> Table:
    """A plain table; numbers stand to the right."""
    table = Table(box=None, pad_edge=False, header_style="bold")
    for name in columns:
        table.add_column(
            name, justify="right" if name in {"#", "score", "cost", "from", "relax it by"} else "left", overflow="fold"
        )
    return table


def _bar(steps: Sequence[Step], at: int) -> str:
    """As long as the score, between the least and the most of the table."""
    scores = [step.best.score or 0.0 for step in steps]
    low, high = min(scores), max(scores)
    return "=" * (1 + round((BAR - 1) * (scores[at] - low) / (high - low))) if high > low else ""

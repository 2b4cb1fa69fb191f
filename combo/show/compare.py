"""Builds side by side for the terminal: what each gives up first, then check by check."""

from __future__ import annotations

from rich.console import Console
from rich.table import Table
from rich.text import Text

from combo.explain.compare import Compared, Loss
from combo.problems import in_one_line
from combo.search.topk import Ranked, Ranking
from combo.show import words
from combo.show.terminal import part_lines, show_cautions


def show_compared(out: Console, ranking: Ranking, compared: Compared) -> None:
    """What each build gives up against the others, then parts, points and the room in every check side by side."""
    job = ranking.space.job
    out.print(Text(in_one_line(job.job.name), style="bold"))
    if not ranking.proven:
        out.print(f"{words.CUT_SHORT} Better builds may be missing.")
    for build, losses in zip(compared.builds, compared.losses, strict=True):
        told = "; ".join(_loss(ranking, loss) for loss in losses)
        out.print(
            f"- {build.rank} gives up: {told}." if told else f"- {build.rank} gives up nothing to the others.",
            soft_wrap=True,
        )
    table = Table(box=None, pad_edge=False, header_style="bold")
    table.add_column("")
    for build in compared.builds:
        table.add_column(f"{build.rank}", overflow="fold")
    for name, cells in _heads(ranking, compared.builds):
        table.add_row(name, *cells)
    same = []
    for row in compared.rows:
        rooms = [words.margin(job, result) for result in row]
        if len(set(rooms)) == 1:
            same.append(words.named(row[0]))
        else:
            table.add_row(words.named(row[0]), *rooms)
    out.print(table)
    if same:
        out.print(f"The same in all: {'; '.join(same)}.", soft_wrap=True)
    show_cautions(out)


def _heads(ranking: Ranking, builds: tuple[Ranked, ...]) -> list[tuple[str, list[str]]]:
    heads = [
        ("parts", ["\n".join(part_lines(ranking.space, ranking.builds, build.at)) for build in builds]),
        ("score", [words.score(build.score) for build in builds]),
        ("cost", [words.money(build.totals["cost_cents"]) for build in builds]),
    ]
    return heads + [
        (f"points for {name}", [f"{build.points[name]:,}" for build in builds]) for name in builds[0].points
    ]


def _loss(ranking: Ranking, loss: Loss) -> str:
    job = ranking.space.job
    if loss.check is not None:
        amount = words.amount(job, loss.check.check.unit, loss.amount)
        return f"{words.named(loss.check)}: {amount} less than {loss.against} ({words.margin(job, loss.check)})"
    if loss.what == "cost":
        return f"{words.money(loss.amount)} against {loss.against}"
    return f"{loss.amount:,.0f} points for {loss.what} against {loss.against}"

"""Tables and sentences for the terminal; plain text when it is none."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from rich.console import Console, ConsoleOptions, RenderableType
from rich.segment import Segment
from rich.table import Table
from rich.text import Text

from combo.candidates.builds import BuildRows
from combo.candidates.space import Removed, Space
from combo.checks import CHECKS
from combo.checks.check import Verdict
from combo.checks.needs import Need
from combo.checks.run import Result
from combo.explain.missing import measurements
from combo.job import Job
from combo.parts import KINDS, Parts
from combo.problems import Problem, in_one_line, visible
from combo.search.topk import Ranked, Ranking, tightest_fit
from combo.show import words
from combo.show.machine import parts_of_build

PLAIN_WIDTH = 156
NARROW_WIDTH = 100
"""Below it two columns of the ranked table share one, so that no part number has to be broken."""


class _Plain(Console):
    """A console that shows what a terminal would obey, and takes no text for markup or emoji."""

    def __init__(self, **options: Any) -> None:
        super().__init__(markup=False, emoji=False, highlight=False, **options)

    def render_str(self, text: str, **options: Any) -> Text:
        """The text as it is laid out: escapes take their room."""
        return super().render_str(visible(text), **options)

    def render(self, renderable: RenderableType, options: ConsoleOptions | None = None) -> Iterable[Segment]:
        """What is printed: whatever is no text of ours to lay out is made visible here."""
        for segment in super().render(renderable, options):
            yield segment if segment.control else Segment(visible(segment.text), segment.style)


def console(*, stderr: bool = False) -> Console:
    """Where text goes: as wide as the terminal, or of one fixed width where there is none.

    Square brackets are text ([wheelhouse.front] is a table of the job), never style.
    """
    plain = _Plain(stderr=stderr)
    return plain if plain.is_terminal else _Plain(stderr=stderr, width=PLAIN_WIDTH)


def show_ranking(out: Console, ranking: Ranking, parts: Parts) -> None:
    """The ranked table, what is still to be measured, what each check removed, and the cautions."""
    job = ranking.space.job
    out.print(Text(in_one_line(job.job.name), style="bold"))
    if not ranking.ranked:
        _show_nothing(out, ranking)
    else:
        out.print(_ranked_table(job, ranking, out.width))
        out.print(_standing(ranking), soft_wrap=True)
        _show_unverified(out, ranking.ranked)
    if job.job.strict:
        _show_strict(out, job)
    _show_removed(out, ranking.space.removed, parts)
    show_cautions(out)


def show_notices(err: Console, notices: Iterable[Problem]) -> None:
    """What reading has to tell beside the answer."""
    for notice in notices:
        err.print(f"note: {notice.text()}", soft_wrap=True)


def _ranked_table(job: Job, ranking: Ranking, width: int) -> Table:
    """A column for each heading, none narrower than its longest word."""
    headings = ["#", "score", "parts", "cost", "cruise", "rear load", "tightest fit", "binding"]
    every = [headings, *(_ranked_cells(job, ranking, ranked) for ranked in ranking.ranked)]
    if width < NARROW_WIDTH:
        every = [[*cells[:4], "\n".join(cells[4:6]), *cells[6:]] for cells in every]
    table = Table(box=None, pad_edge=False, header_style="bold")
    for name, *cells in zip(*every, strict=True):
        is_text = name in {"parts", "tightest fit", "binding"}
        longest = max(len(word) for cell in cells for word in visible(cell).split() or [""])
        table.add_column(name, justify="left" if is_text else "right", overflow="fold", min_width=longest)
    for cells in every[1:]:
        table.add_row(*cells)
    return table


def _ranked_cells(job: Job, ranking: Ranking, ranked: Ranked) -> list[str]:
    rpm = float(ranking.space.drive["drive.rpm"][ranking.builds.drive[ranked.at]])
    load = ranked.totals["rear_light_g"] / 1000.0
    return [
        f"{ranked.rank}{'*' if ranked.unbeaten else ''}",
        "-" if ranked.score is None else f"{ranked.score:.0f}",
        "\n".join(part_lines(ranking.space, ranking.builds, ranked.at)),
        words.money(ranked.totals["cost_cents"]),
        "?" if rpm != rpm else f"{rpm:.0f} rpm",
        "?" if load != load else words.mass(job, load),
        words.in_short(job, tightest_fit(ranked.checks)),
        _binding(job, ranked),
    ]


def _binding(job: Job, ranked: Ranked) -> str:
    """What binds, and what is tighter still but stops no better build."""
    told = words.in_short(job, ranked.binding)
    return told if ranked.binding is ranked.tightest else f"{told}\n(tightest: {words.in_short(job, ranked.tightest)})"


def part_lines(space: Space, builds: BuildRows, at: int) -> list[str]:
    """The parts of a build: a line an axle (one where both are the same), one for the drive, one a ballast station."""
    parts = parts_of_build(space, builds, at)
    front, rear = (" + ".join(in_one_line(sku) for sku in parts[axle].values() if sku) for axle in ("front", "rear"))
    lines = [f"all round: {front}"] if front == rear else [f"front: {front}", f"rear: {rear}"]
    drive = f"drive: {in_one_line(parts['ratio'])} + {in_one_line(parts['differential'])}"
    if parts["front_ratio"]:
        drive += f", front {in_one_line(parts['front_ratio'])} + {in_one_line(parts['front_differential'])}"
    return [*lines, drive, *ballast_lines(space, builds, at)]


def ballast_lines(space: Space, builds: BuildRows, at: int) -> list[str]:
    """The ballast of a build, a line a station."""
    slots, counts = space.slots, builds.counts[at]
    lots: dict[str, list[str]] = {}
    for station, item, count in zip(slots["station.name"], slots["ballast.sku"], counts, strict=True):
        if count:
            lots.setdefault(station, []).append(f"{count} x {in_one_line(item)}")
    stations = [station.name for station in space.job.ballast.stations]
    return [f"ballast {in_one_line(name)}: {', '.join(lots[name])}" for name in stations if name in lots]


def _standing(ranking: Ranking) -> str:
    proven = (
        "Proven: no other build without a failing check ranks before or between these."
        if ranking.proven
        else f"Best found, NOT PROVEN: the search was cut short; better builds may exist. {_how_far(ranking)}"
    )
    limits = ranking.space.job.shortlist
    told = [
        text
        for limit, text in (
            (limits.max_layouts, f"{_many(limits.max_layouts, 'ballast layout')} of the same parts"),
            (limits.max_per_wheel, f"a wheel {_many(limits.max_per_wheel, 'time')} an axle"),
            (limits.max_per_tire, f"a tire {_many(limits.max_per_tire, 'time')} an axle"),
        )
        if limit
    ]
    variety = f" For variety it lists at most {', '.join(told)}." if told else ""
    unbeaten = "* unbeaten: no other build is as good on every criterion and better on one."
    return f"{proven}{variety}{_basis(ranking.space.job)} {unbeaten}"


def _many(count: int | None, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"


def _how_far(ranking: Ranking) -> str:
    """What is proven all the same: how far the builds that were not looked at can reach."""
    job, most = ranking.space.job, ranking.most or 0.0
    if job.order.criteria:
        first = job.order.criteria[0]
        return (
            f"Proven: none has more than {most:.0f} points of {first}; the best found has "
            f"{ranking.ranked[0].points[first]}."
        )
    best = ranking.ranked[0].score or 0.0
    return f"Proven: none scores above {most:.0f}, which is {max(0.0, most - best):.0f} more than the best found."


def _basis(job: Job) -> str:
    """Which margin is shown and decides, where it is not the nominal one."""
    fit = job.targets.fit
    if isinstance(fit, float):
        return f" Room is what is left where it clears with a chance of {fit:.0%}; loads and speeds are nominal."
    return " Room is told in the worst case; loads and speeds are nominal." if fit == "worst" else ""


def _show_nothing(out: Console, ranking: Ranking) -> None:
    unproven = "none was found before the search was cut short; that proves nothing"
    out.print(f"No build: {'no build passes every check' if ranking.proven else unproven}.")


def _show_unverified(out: Console, ranked: Iterable[Ranked]) -> None:
    results = [result for one in ranked for result in one.checks if result.verdict is Verdict.UNVERIFIED]
    if not results:
        return
    names = "; ".join(dict.fromkeys(words.named(result) for result in results))
    out.print(Text("Not verified, and no pass until measured:", style="bold"), f"{names}. To find out:", soft_wrap=True)
    for need in each_need(results):
        out.print(f"- {need.text()}", soft_wrap=True)


def _show_strict(out: Console, job: Job) -> None:
    """What the truck still lacks: with `strict` it alone may leave no build."""
    for line in (line for line in measurements(job) if line.checks):
        out.print(
            f"- strict, and not measured: {line.table} {line.key} ({line.how}), for {', '.join(line.checks)}",
            soft_wrap=True,
        )


def each_need(results: Iterable[Result]) -> list[Need]:
    """What is to be measured for some results, each once."""
    return list({need.text(): need for result in results for need in result.needs}.values())


def _show_removed(out: Console, removed: Iterable[Removed], parts: Parts) -> None:
    counts = ", ".join(f"{parts.count(plural)} {plural}" for plural in KINDS)
    out.print(Text("What the checks removed", style="bold"), f"of {counts}:", soft_wrap=True)
    names = {check.id: check.name for check in CHECKS}
    table = Table(box=None, pad_edge=False, header_style="bold")
    told = [one for one in removed if one.alone or one.first]
    columns = ["check", "candidates", "alone", "first"] + ["not verified"] * any(one.unverified for one in told)
    for name in columns:
        table.add_column(name, justify="left" if name in {"check", "candidates"} else "right")
    for one in told:
        cells = [names[one.check], one.kind, f"{one.alone:,}", f"{one.first:,}", f"{one.unverified:,}"]
        table.add_row(*cells[: len(columns)])
    out.print(table)


def show_cautions(out: Console) -> None:
    """The usual cautions, below every answer."""
    out.print(Text("Cautions", style="bold"))
    for caution in words.CAUTIONS:
        out.print(f"- {caution}", soft_wrap=True)

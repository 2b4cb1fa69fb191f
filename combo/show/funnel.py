"""The funnel for the terminal: a table with bars, kind by kind."""

from __future__ import annotations

from rich.console import Console
from rich.table import Table
from rich.text import Text

from combo.checks import CHECKS
from combo.explain.funnel import Funnel
from combo.job import Job

BAR = 30
"""Signs of the longest bar."""
NAMES = {check.id: check.name for check in CHECKS}


def show_funnels(out: Console, job: Job, funnels: list[Funnel]) -> None:
    """What each check removes, alone and in order, and a bar for what is left after it."""
    out.print(Text(job.job.name, style="bold"))
    worst = _worst(funnels)
    if worst:
        out.print(worst, soft_wrap=True)
    table = Table(box=None, pad_edge=False, header_style="bold")
    for name in ("candidates", "check", "removes alone", "in order", "left", ""):
        table.add_column(name, justify="left" if name in {"candidates", "check", ""} else "right")
    for funnel in funnels:
        table.add_row(funnel.kind, "as listed", "", "", f"{funnel.met:,}", bar(funnel.met, funnel.met))
        for stage in funnel.stages:
            if stage.alone or stage.first:
                table.add_row(
                    "",
                    NAMES[stage.check],
                    f"{stage.alone:,}",
                    f"{stage.first:,}",
                    f"{stage.left:,}",
                    bar(stage.left, funnel.met),
                )
    out.print(table)
    out.print(
        "Wheels are counted on each spacer and on none. Corners are the wheels on spacers and the tires that are "
        "left, paired; drives are tires on gear sets. Checks that remove nothing are left out.",
        soft_wrap=True,
    )


def bar(left: int, of: int) -> str:
    """A bar for what is left; as soon as anything is, it has a sign."""
    return "=" * max(1 if left else 0, round(BAR * left / of)) if of else ""


def _worst(funnels: list[Funnel]) -> str:
    """The check that removes the largest share of any kind by itself."""
    shares = [(stage.alone / funnel.met, stage, funnel) for funnel in funnels if funnel.met for stage in funnel.stages]
    if not shares or not max(share for share, _, _ in shares):
        return ""
    share, stage, funnel = max(shares, key=lambda own: own[0])
    return (
        f"The narrowest place: {NAMES[stage.check]} alone removes {stage.alone:,} of {funnel.met:,} "
        f"({funnel.kind}, {share:.0%})."
    )

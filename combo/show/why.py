"""Why a choice of parts works or not, for the terminal: how it stands first, then its checks."""

from __future__ import annotations

from rich.console import Console
from rich.table import Table
from rich.text import Text

from combo.checks.check import Verdict
from combo.checks.run import Result
from combo.explain.choice import Answer, Choice, Cured
from combo.explain.parts import Outlook, Standing
from combo.job import Job
from combo.show import words
from combo.show.explain import print_parts, swapped, tell_stuck
from combo.show.terminal import each_need, show_cautions

_MARKS = {Verdict.PASS: "pass", Verdict.FAIL: "FAIL", Verdict.UNVERIFIED: "unverified"}


def show_why(out: Console, job: Job, choice: Choice, answer: Answer, verdict: Verdict, outlook: Outlook) -> None:
    """How parts stand in the ranking; every check of the choice, failures first, with the cures of each; of a whole
    build also which change mends it, and what else is told of it.
    """
    if outlook.standing is not None:
        _show_standing(out, job, choice, outlook.standing)
    if answer.results or outlook.standing is None:
        _show_checks(out, job, choice, answer, verdict)
    if outlook.own is not None:
        own = outlook.own
        out.print(f"As it is, it {words.worth(own.score, own.cost_cents)}.")
    if outlook.moves:
        told = [words.eased(job, limit, over) for limit, over in outlook.moves]
        out.print(f"With {words.enumerated(told)}, it passes as it is.", soft_wrap=True)
    if outlook.swaps is None:
        out.print(f"{words.CUT_SHORT} There was no time to find which single part fixes it.")
    if outlook.swaps:
        out.print(
            Text(
                "With one choice changed it holds every check (the best build first, ballast laid anew):", style="bold"
            )
        )
        for swap in outlook.swaps:
            out.print(f"- {swapped(swap)}: {words.worth(swap.best.score, swap.best.cost_cents)}", soft_wrap=True)
    if answer.results:
        out.print(_check_table(job, answer.results))
    for one in answer.facts:
        out.print(f"- told: {words.fact(job, one)}", soft_wrap=True)
    if answer.bill:
        out.print(f"- bill: {words.bill(answer.bill)}", soft_wrap=True)
    missing = choice.missing()
    if missing:
        names = ", ".join(missing)
        out.print(f"Not chosen: {names}; checks that need them, and those of the whole build, were not made.")
    show_cautions(out)


def _show_checks(out: Console, job: Job, choice: Choice, answer: Answer, verdict: Verdict) -> None:
    failing = [result for result in answer.results if result.verdict is Verdict.FAIL]
    open_ones = [result for result in answer.results if result.verdict is Verdict.UNVERIFIED]
    line = _verdict_line(answer.results, failing, open_ones, verdict, whole=not choice.missing())
    out.print(Text(line, style="bold"), soft_wrap=True)
    for result in failing:
        cure = _cure_line(job, [one for one in answer.cures if one.result is result])
        out.print(f"- {words.in_short(job, result)}. {cure}".rstrip(), soft_wrap=True)
    for need in each_need(open_ones):
        out.print(f"- to find out: {need.text()}", soft_wrap=True)


def _none(choice: Choice) -> str:
    """That no build has what was chosen: "No build can use this wheel."."""
    corners = (choice.front, choice.rear)
    kinds = {kind for corner in corners for kind in ("wheel", "tire", "spacer") if getattr(corner, kind)}
    gears = {kind for kind in ("ratio", "differential") if getattr(choice, kind)}
    chosen = kinds | gears | ({"ballast"} if choice.ballast else set())
    return f"No build can use this {chosen.pop()}." if len(chosen) == 1 else "No build can use these parts together."


def _show_standing(out: Console, job: Job, choice: Choice, standing: Standing) -> None:
    if standing.best is not None:
        best = standing.best
        first = "The best build" if standing.proven else f"{words.CUT_SHORT} The best build found so far"
        out.print(f"{first} with it {words.worth(best.score, best.cost_cents)}{_against(standing)}:", soft_wrap=True)
        print_parts(out, best)
    elif standing.stuck is not None:
        tell_stuck(out, job, standing.stuck, _none(choice), " with it")
    elif not standing.proven:
        out.print(f"{words.CUT_SHORT} No build with it was found yet. There may still be one.")


def _against(standing: Standing) -> str:
    best, of_all = standing.best, standing.of_all
    if best is None or of_all is None:
        return ""
    if standing.proven and best.key == of_all.key:
        return "; no build is better"
    return f"; the best of all {words.worth(of_all.score, of_all.cost_cents)}"


def _verdict_line(
    found: list[Result], failing: list[Result], open_ones: list[Result], verdict: Verdict, *, whole: bool
) -> str:
    if not found:
        return "Nothing to check: choose a wheel, a tire, or a ratio with its differential."
    if verdict is Verdict.FAIL:
        return f"Does not work: {len(failing)} of {len(found)} checks fail."
    if verdict is Verdict.UNVERIFIED:
        return f"Nothing fails, but {len(open_ones)} of {len(found)} checks are not verified."
    if not whole:
        return f"So far so good: all {len(found)} checks pass that these parts alone decide; it is no whole build yet."
    return f"Works: all {len(found)} checks pass."


def _cure_line(job: Job, cures: list[Cured]) -> str:
    told = [words.cure(job, one) for one in cures]
    return f"Cure: {', or '.join(told)}." if told else ""


def _check_table(job: Job, found: list[Result]) -> Table:
    table = Table(box=None, pad_edge=False, header_style="bold")
    for name in ("answer", "check", "room", "worst case, chance", "value against limit"):
        table.add_column(name)
    for result in found:
        room = words.margin(job, result) + (f" ({result.note})" if result.note else "")
        table.add_row(
            _MARKS[result.verdict],
            words.in_state(result),
            room,
            words.certainty(job, result),
            words.both_sides(job, result),
        )
    return table

"""Near misses and conflicts for the terminal: the most useful line first."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console
from rich.text import Text

from combo.explain.best import Best
from combo.explain.changes import Change
from combo.explain.limits import Limit
from combo.explain.near import Near, NearMisses
from combo.explain.parts import Standing, Stuck
from combo.explain.swaps import BALLAST, Swap
from combo.job import Job
from combo.show import words
from combo.show.limits import cells_of, table_of
from combo.show.terminal import part_lines, show_cautions

MOVES_IN_A_LINE = 3


def show_near(out: Console, job: Job, near_misses: NearMisses) -> None:
    """Builds that fail one limit, the best first, with what would mend each."""
    found, unknown = near_misses.found, near_misses.unknown
    out.print(Text(job.job.name, style="bold"))
    if unknown:
        names = "; ".join(words.limit_name(limit) for limit in unknown)
        out.print(f"{words.CUT_SHORT} Better ones may be one of these limits away: {names}.", soft_wrap=True)
    if not found:
        out.print("None was found." if unknown else "No build is just one limit away.")
    else:
        out.print(f"One limit away, best first ({len(found)}):")
        table = table_of("#", "score", "cost", "the limit, and how far to relax it", "the build", "or fix it with")
        for at, near in enumerate(found, start=1):
            limit = near.limit
            fails = f"{words.limit_name(limit)}: {words.moved(job, limit.check.unit, near.over).removeprefix('+')}"
            scored, cost, build = cells_of(near.best)
            table.add_row(str(at), scored, cost, fails, build, "\n".join(_mends(near)))
        out.print(table)
        out.print(
            "Each fix is one listed part changed, with the ballast laid again. It passes every check.",
            soft_wrap=True,
        )
    show_cautions(out)


def show_stuck(out: Console, job: Job, standing: Standing) -> None:
    """Why nothing fits and the fewest limits that must move; where something fits, only that."""
    out.print(Text(job.job.name, style="bold"))
    if standing.stuck is not None:
        tell_stuck(out, job, standing.stuck, "No build passes every check.", "")
    elif standing.best is None:
        out.print(f"{words.CUT_SHORT} No build was found yet. There may still be one.")
    else:
        best = standing.best
        first = "the best build" if standing.proven else "a build"
        out.print(f"Not stuck: {first} {words.worth(best.score, best.cost_cents)}.")
        if not standing.proven:
            out.print(f"{words.CUT_SHORT} There may be a better one.")
        print_parts(out, best)
    show_cautions(out)


def swapped(swap: Swap) -> str:
    """A change of one choice with what comes instead: "another spacer, front: S-050"."""
    place, kind = swap.slot
    if swap.slot == BALLAST:
        return swap.how
    sku = getattr(swap.best.space, place)[f"{kind}.sku"][0] or "none"
    return f"{swap.how}{'' if place == 'drive' else ', ' + place}: {sku}"


def _mends(near: Near) -> list[str]:
    if near.swaps is None:
        return ["no time to look"]
    told = [
        f"{swapped(swap)} ({words.score(swap.best.score)}, {words.money(swap.best.cost_cents)})" for swap in near.swaps
    ]
    return told or ["no single listed part"]


def tell_stuck(out: Console, job: Job, stuck: Stuck, first: str, with_it: str) -> None:
    """The fewest limits that must move, and what cannot be kept together; `with_it` follows where parts are named."""
    out.print(Text(first, style="bold"))
    if not stuck.proven:
        out.print(f"{words.CUT_SHORT} What follows is true. There may be more, and smaller changes.")
    elif not stuck.why.conflicts:
        out.print(f"Nothing listed goes together{with_it}. Check rim diameters and the ballast plan.")
    for change in stuck.changes:
        _tell_change(out, job, change, with_it)
    for limits in stuck.unmeasured:
        names = " and ".join(words.limit_name(limit) for limit in limits)
        out.print(f"- Relax {names}: that gives a build{with_it}. There was no time to find how far.", soft_wrap=True)
    if stuck.why.conflicts:
        _tell_conflicts(out, stuck, with_it)


def _tell_conflicts(out: Console, stuck: Stuck, with_it: str) -> None:
    """What no build meets together: limits, each of which lets the others be met; or what can't be relaxed at all."""
    if not stuck.why.conflicts[0].limits[0].key:
        out.print("Relaxing limits doesn't help. What stands in the way can't be relaxed:")
    else:
        if stuck.proven and not stuck.changes:
            out.print(f"At least {stuck.why.fewest} limits must be relaxed together.")
        out.print(f"These can't all be met{with_it}. Drop any one of a line:")
    for conflict in stuck.why.conflicts:
        sure = "" if conflict.is_smallest else " (Fewer of them may be enough.)"
        out.print(f"- {conflict_words(conflict.limits)}{sure}", soft_wrap=True)
    if stuck.proven and not stuck.why.are_all:
        out.print("There may be more such lines. --most N looks for more.")


def _tell_change(out: Console, job: Job, change: Change, with_it: str) -> None:
    first, *others = moves_told(job, change.limits, change.moved)
    gives = words.worth(change.best.score, change.best.cost_cents)
    what, sure = ("the best build", "") if change.is_smallest else ("a build", " (Less may do.)")
    out.print(f"- {first}, {what}{with_it} {gives}.{sure}", soft_wrap=True)
    for line in others:
        out.print(f"    {line}", soft_wrap=True)
    print_parts(out, change.best)


def moves_told(job: Job, limits: Sequence[Limit], moved: Sequence[float]) -> list[str]:
    """Limits that are relaxed together, in one line; where they are many, a line of its own for each follows."""
    each = [words.eased(job, limit, by) for limit, by in zip(limits, moved, strict=True)]
    if len(each) <= MOVES_IN_A_LINE:
        return [f"With {words.enumerated(each)}"]
    return [f"With {len(each)} limits relaxed together", *each]


def conflict_words(limits: tuple[Limit, ...]) -> str:
    """A conflict in one sentence."""
    names = [words.limit_name(limit) for limit in limits]
    return f"No build meets {'both ' if len(names) == 2 else ''}{words.enumerated(names)}."


def print_parts(out: Console, best: Best) -> None:
    """The parts of a build, a line each."""
    for line in part_lines(best.space, best.builds, 0):
        out.print(f"    {line}", soft_wrap=True)

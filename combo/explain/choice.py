"""Every check of one choice of parts, whole build or not, and the smallest cure of each that fails, tried out."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from combo.candidates.instance import Instance
from combo.candidates.layouts import ballast_limits
from combo.candidates.relaxed_limits import Pinned
from combo.checks import CHECKS, rows
from combo.checks.bill import Line, bills
from combo.checks.check import DECIMALS, Cure, Verdict, axle_at
from combo.checks.facts import Fact, facts
from combo.checks.judge import build_margin, judge, shifts_of
from combo.checks.rows import NO_SPACER, Chosen, Picks, Rows
from combo.checks.run import Result, asked_checks, results, row_results, rows_of, totals
from combo.job import AXLES, Axle, Job
from combo.parts import BETWEEN, KINDS, Parts
from combo.problems import Place, Problem, Problems, nearest

COMMAND = "the command line"
_TRIES = 6
"""How often the change of a whole build is stretched: it is near enough to a straight line for fewer."""


@dataclass(frozen=True)
class Corner:
    """Wheel, tire and spacer chosen for an axle, by SKU; "" where none is."""

    wheel: str = ""
    tire: str = ""
    spacer: str = ""


@dataclass(frozen=True)
class Choice:
    """Parts chosen, by SKU; "" where none is. `ballast` maps item and station to a count, "" being any station."""

    front: Corner = Corner()
    rear: Corner = Corner()
    ratio: str = ""
    differential: str = ""
    ballast: dict[tuple[str, str], int] = field(default_factory=dict)

    def missing(self) -> list[str]:
        """What a whole build still lacks."""
        named = {
            "front wheel": self.front.wheel,
            "front tire": self.front.tire,
            "rear wheel": self.rear.wheel,
            "rear tire": self.rear.tire,
            "ratio": self.ratio,
            "differential": self.differential,
        }
        return [name for name, sku in named.items() if not sku]


def of_both_axles(rear: str, front: str) -> str:
    """SKU of a rear and a front gear set or differential together; of one alone its own."""
    return BETWEEN.join(sku for sku in (rear, front) if sku)


def ballast_of(lots: list[str]) -> dict[tuple[str, str], int]:
    """Counts by item and station from texts such as "4*B-SAND60@over the axle"; "B-SAND60" is one anywhere.

    Raises
    ------
    Problems
        Texts that do not read.
    """
    counts: dict[tuple[str, str], int] = {}
    problems = []
    for lot in lots:
        match = re.fullmatch(r"\s*(?:(\d+)\s*[*x]\s*)?([^@]+?)\s*(?:@\s*(.+?)\s*)?", lot)
        if match:
            item, station = match[2], match[3] or ""
            counts[item, station] = counts.get((item, station), 0) + int(match[1] or 1)
        else:
            accepted = 'a count, an item and a station are accepted, such as "4*B-SAND60@over the axle"'
            problems.append(Problem(Place(COMMAND, column="ballast"), "not-ballast", f'found "{lot}"', accepted))
    if problems:
        raise Problems(problems)
    return counts


@dataclass(frozen=True)
class Cured:
    """A change that mends a failed check: the argument changed and by how much, in the check's unit."""

    result: Result
    argument: str
    amount: float
    words: str


@dataclass(frozen=True)
class Answer:
    """Every check of a choice, the cures of those that fail, and, of a whole build, what else is told of it."""

    results: list[Result]
    cures: list[Cured]
    facts: tuple[Fact, ...] = ()
    bill: tuple[Line, ...] = ()


def why(job: Job, parts: Parts, choice: Choice) -> Answer:
    """Checks of a choice in the order of the table, the cures of those that fail, and facts and bill of a whole build.

    A check is made as soon as every part that it looks at is chosen; those of the whole build when all are.

    Raises
    ------
    Problems
        SKUs, stations or counts that the lists and the job do not have.
    """
    at = _positions(job, parts, choice)
    chosen = _chosen(job, parts, choice, at)
    _refuse_too_much_ballast(job, chosen)
    found = _partly(Instance(job, parts), choice, chosen) if choice.missing() else results(job, chosen)[0]
    cures = [cured for result in found for cured in _cures(job, chosen, result)]
    if choice.missing():
        return Answer(found, cures)
    return Answer(found, cures, tuple(facts(job, chosen)[0]), bills(job, chosen)[0])


def rows_chosen(job: Job, parts: Parts, choice: Choice) -> Chosen:
    """The choice as one row in each table; a part that is not chosen leaves its columns empty.

    Raises
    ------
    Problems
        SKUs, stations or counts that the lists and the job do not have.
    """
    return _chosen(job, parts, choice, _positions(job, parts, choice))


def verdict(found: list[Result]) -> Verdict:
    """Of the whole choice: one failure fails it, and what is unverified is no pass."""
    verdicts = {result.verdict for result in found}
    return next((one for one in (Verdict.FAIL, Verdict.UNVERIFIED) if one in verdicts), Verdict.PASS)


def _partly(instance: Instance, choice: Choice, chosen: Chosen) -> list[Result]:
    job = instance.job
    order = {check.id: place for place, check in enumerate(CHECKS)}
    found: list[Result] = []
    for axle in AXLES:
        corner: Corner = getattr(choice, axle)
        there = {kind for kind in ("wheel", "tire") if getattr(corner, kind)} | {"spacer"}
        checks = [check for check in asked_checks(job, "corner", axle) if instance.kinds_checked(check, axle) <= there]
        if there != {"spacer"}:
            found += row_results(job, axle, checks, getattr(chosen, axle))[0]
    there = {kind for kind in ("ratio", "differential") if getattr(choice, kind)}
    there |= {"tire"} if choice.rear.tire else set()
    checks = [
        check for check in asked_checks(job, "drive") if instance.kinds_checked(check, "rear") | {"ratio"} <= there
    ]
    found += row_results(job, "rear", checks, chosen.drive)[0]
    return sorted(found, key=lambda result: order[result.check.id])


def _positions(job: Job, parts: Parts, choice: Choice) -> dict[tuple[str, str], int]:
    """Position of each chosen part in its table, by place and kind; every unknown SKU is told at once."""
    problems: list[Problem] = []
    found: dict[tuple[str, str], int] = {}
    wanted: dict[tuple[str, str], str] = {
        (axle, kind): getattr(getattr(choice, axle), kind) for axle in AXLES for kind in ("wheel", "tire", "spacer")
    }
    wanted |= {("drive", "ratio"): choice.ratio, ("drive", "differential"): choice.differential}
    for (place, kind), sku in wanted.items():
        skus = list(parts.of_kind(kind)["sku"])
        if sku and sku not in skus:
            problems.append(unknown_sku(kind, sku, skus))
        found[place, kind] = skus.index(sku) if sku in skus else NO_SPACER
    problems += _ballast_problems(job, parts, choice)
    if problems:
        raise Problems(dict.fromkeys(problems))
    return found


def _refuse_too_much_ballast(job: Job, chosen: Chosen) -> None:
    """Raise every limit of the ballast plan that the counts go over."""
    over = [limit for limit in ballast_limits(job, chosen.slots) if int(chosen.counts[0] @ limit.each) > limit.most]
    if over:
        place = Place(COMMAND, column="ballast")
        accepted = "the job's [ballast] and the list's max_count say how much may lie where"
        raise Problems([Problem(place, "too-much-ballast", f"more than {limit.words}", accepted) for limit in over])


def unknown_sku(kind: str, word: str, known: list[str], place: Place | None = None) -> Problem:
    """A SKU, or the name of a station, that is not among the known ones; without a place it was on the command line."""
    made = [sku for sku in known if sku.startswith(f"{word} ")]  # a wheel made to order has its size behind its SKU
    near = nearest(word, known) if not made else None
    accepted = f'the nearest listed is "{near}"' if near else "none listed is near it"
    if made:
        accepted = f'{len(made)} listed begin with it, the first is "{made[0]}"'
    return Problem(place or Place(COMMAND, column=kind), "unknown-sku", f'no {kind} "{word}"', accepted)


def _ballast_problems(job: Job, parts: Parts, choice: Choice) -> list[Problem]:
    items = list(parts.ballast["sku"])
    stations = [station.name for station in job.ballast.stations]
    problems = [unknown_sku("ballast", item, items) for item, _ in choice.ballast if item not in items]
    unplaced = [item for item, name in choice.ballast if not name and not choice.missing()]
    accepted = 'in a whole build a station is accepted, such as "4*B-SAND60@over the axle"'
    place = Place(COMMAND, column="ballast")
    problems += [Problem(place, "no-station", f'found "{item}" without a station', accepted) for item in unplaced]
    return problems + [
        unknown_sku("station", name, stations) for _, name in choice.ballast if name and name not in stations
    ]


def pinned_by(job: Job, parts: Parts, choice: Choice) -> Pinned:
    """The parts of a choice as what every build must have: of a whole build a spacer that is not named is none, else
    any; ballast that is named must be aboard.
    """
    found = _positions(job, parts, choice)
    wanted = {
        slot: frozenset({at})
        for slot, at in found.items()
        if at != NO_SPACER or (slot[1] == "spacer" and not choice.missing())
    }
    return Pinned(wanted, choice.ballast)


def counts_of(job: Job, parts: Parts, choice: Choice) -> NDArray[np.int64]:
    """How many items of a choice lie in each ballast slot."""
    slots = rows.slots(job, parts)
    named = zip(slots["ballast.sku"], slots["station.name"], strict=True)
    return np.array([choice.ballast.get(name, 0) for name in named], dtype=np.int64)


def _chosen(job: Job, parts: Parts, choice: Choice, at: dict[tuple[str, str], int]) -> Chosen:
    """The choice as one row in each table; a part that is not chosen leaves its columns empty."""
    corners = {axle: _corner(job, axle, parts, at) for axle in AXLES}
    tire, ratio, differential = at["rear", "tire"], at["drive", "ratio"], at["drive", "differential"]
    filled = _with_blanks(parts)
    drive = rows.drive_rows(job, filled, _one(tire), _one(ratio), _one(differential))
    slots = rows.slots(job, parts)
    counts = counts_of(job, parts, choice)[np.newaxis]
    return Chosen(corners["front"], corners["rear"], drive, slots, counts)


def _corner(job: Job, axle: Axle, parts: Parts, at: dict[tuple[str, str], int]) -> Rows:
    wheel, tire, spacer = (at[axle, kind] for kind in ("wheel", "tire", "spacer"))
    return rows.corner_rows(job, axle, _with_blanks(parts), Picks(_one(wheel), _one(tire), _one(spacer)))


def _with_blanks(parts: Parts) -> Parts:
    """Part tables with an empty last row, which position -1 takes."""
    longer: dict[str, Any] = {
        plural: parts.table(plural).reindex([*parts.table(plural).index, -1])
        for plural in KINDS
        if plural not in {"spacers", "nuts"}
    }
    return replace(parts, **longer)


def _one(position: int) -> np.ndarray:
    return np.array([position], dtype=np.int64)


def _cures(job: Job, chosen: Chosen, result: Result) -> list[Cured]:
    if result.verdict is not Verdict.FAIL:
        return []
    return [
        Cured(result, cure.argument, amount, cure.words)
        for cure in result.check.cures
        if (amount := _enough(job, chosen, result, cure)) is not None
    ]


def _enough(job: Job, chosen: Chosen, result: Result, cure: Cure) -> float | None:
    """Change of the cure's argument that makes the check hold, tried on the check itself; None where it does not."""
    told = -result.margin * cure.per_margin
    if cure.argument not in result.check.needs:  # a total moves the margin by itself
        return told
    if result.check.rows == "build":
        return _enough_in_build(job, chosen, result, cure, told)
    tried = told + math.copysign(10.0 ** -DECIMALS[result.check.unit], told)  # the margin itself was rounded
    table = rows_of(chosen, result.check.rows, result.where)
    margin = float(judge(job, axle_at(result.where), result.check, table, {cure.argument: tried}).margin[0])
    return told if margin >= 0 else None


def _enough_in_build(job: Job, chosen: Chosen, result: Result, cure: Cure, first: float) -> float | None:
    """Likewise of a whole build: the change is stretched until it is enough."""
    sums, rows, shifts = totals(job, chosen), rows_of(chosen, "build", "truck"), shifts_of(job, (result.check,))
    step, amount = 10.0 ** -DECIMALS[result.check.unit], first
    for _ in range(_TRIES):
        margin = float(build_margin(job, result.check, sums, rows, shifts, {cure.argument: amount})[0])
        if margin >= 0:
            return amount
        gained = margin - result.margin
        if not gained > 0:
            return None
        amount = amount * -result.margin / gained + math.copysign(step, amount)
    return None

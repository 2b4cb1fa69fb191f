"""Entries of the constraint table x rows -> margins and results.

What is absent is "unverified", and told as something to measure.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass
from functools import cache, partial

import numpy as np
from numpy.typing import NDArray

from combo.checks import CHECKS
from combo.checks.check import Check, ConstraintId, Inequality, Verdict, axle_at, verdict_of
from combo.checks.judge import (
    Judgement,
    Shifts,
    build_judgement,
    build_margin,
    governing_margin,
    is_nominal,
    judge,
    shifts_of,
)
from combo.checks.needs import BuildNeeds, Need, layout_needs, row_needs
from combo.checks.prices import HUB_CENTRIC_MM
from combo.checks.rows import Chosen
from combo.checks.table import Pairs, Table, Whole
from combo.checks.totals import TOTALS, summed, whole_totals
from combo.checks.values import job_value
from combo.job import AXLES, Axle, Job
from combo.parts import OFF
from combo.units import INCH_MM

HALF_INCH_MM = INCH_MM / 2.0
_USUAL_RIMS = (0.65, 0.86)  # of the section width: common practice, no source
Shown = float | str | None
"""A side of a check as it is told; None where it is not known or has no end."""


@dataclass(frozen=True)
class Result:
    """One check of one build: its answer, amounts in the check's own unit, and what is missing where unverified.

    `margin` is the deciding one of `nominal`, `worst` case and what `chance` (to clear) asks; `state` is the state of
    the suspension or the cruise point that decides. `scale` is what the margin is measured against to tell which check
    binds; NaN for a check that never binds.
    """

    check: Check
    where: str
    verdict: Verdict
    margin: float
    value: Shown
    limit: Shown
    scale: float
    needs: tuple[Need, ...] = ()
    note: str = ""
    state: str | None = None
    nominal: float = float("nan")
    worst: float = float("nan")
    chance: float = float("nan")


def asked_checks(job: Job, rows: str, axle: Axle | None = None) -> tuple[Check, ...]:
    """Entries for a kind of rows (at an axle), in order, without those that the job does not ask for."""
    return tuple(
        check for check in CHECKS if check.rows == rows and check.asked(job) and (axle is None or axle in check.axles)
    )


def pair_columns(checks: Iterable[Check], axles: Iterable[Axle] = AXLES) -> tuple[str, ...]:
    """Columns of the corners at some axles that these pair checks look at, without the axle in front, and what their
    plus-or-minus goes by.
    """
    ours = tuple(f"{axle}." for axle in axles)
    needed = {
        source.partition(".")[2] for check in checks for source in check.needs.values() if source.startswith(ours)
    }
    sizes = {name + OFF for name in (*needed, "tire.overall_diameter_mm")}
    return tuple(sorted(needed | sizes | {"tire.construction", "tire.rim_diameter_mm"}))


def margins(job: Job, axle: Axle, checks: Iterable[Check], rows: Table) -> NDArray[np.float64]:
    """Deciding margins of row checks, shape (rows, checks), each in the check's own unit: negative fails, NaN is
    unverified.
    """
    none = np.zeros((len(rows), 0))
    return np.column_stack([none, *(governing_margin(job, axle, check, rows) for check in checks)])


def totals(job: Job, chosen: Chosen) -> dict[str, NDArray[np.float64]]:
    """Whole-number totals of builds: one value a build, by total; NaN where not known."""
    sums = {name: summed(job, total, chosen) for name, total in TOTALS.items()}
    return sums | whole_totals(job, chosen)


def results(job: Job, chosen: Chosen) -> list[list[Result]]:
    """Every check of each build, in the order of the table; corner checks front, then rear."""
    of_check: list[list[Result]] = []
    asked, rows = asked_checks(job, "build"), cache(partial(rows_of, chosen))
    sums, whole, shifts = totals(job, chosen), rows("build", "truck"), shifts_of(job, asked)
    needs = BuildNeeds(job, chosen)
    for check in CHECKS:
        if not check.asked(job):
            continue
        if check.rows == "layout":
            of_check.append(_layout_results(job, check, chosen))
        elif check.rows == "build":
            of_check.append(_build_results(job, check, needs, build_judgement(job, check, sums, whole, shifts)))
        else:
            of_check += [_row_results(job, axle_at(where), check, rows(check.rows, where)) for where in check.places]
    return [list(of_build) for of_build in zip(*of_check, strict=True)]


def margins_at(job: Job, chosen: Chosen, places: Collection[ConstraintId]) -> dict[ConstraintId, NDArray[np.float64]]:
    """The deciding margins of each build by some checks, at some places: what `results` judges, and no more."""
    asked = [(check, where) for check in CHECKS for where in check.places if (check.id, where) in places]
    of_builds = _build_margins(job, tuple(check for check, _ in asked if check.rows == "build"), chosen)
    rows = cache(partial(rows_of, chosen))
    found: dict[ConstraintId, NDArray[np.float64]] = {}
    for check, where in asked:
        if check.rows == "layout":
            margin = np.asarray(_layout_sides(job, check, chosen).margin)
            found[check.id, where] = np.where(np.isposinf(margin), 0.0, margin)
        elif check.rows == "build":
            found[check.id, where] = of_builds[check.id, where]
        else:
            found[check.id, where] = governing_margin(job, axle_at(where), check, rows(check.rows, where))
    return found


def _build_margins(job: Job, checks: tuple[Check, ...], chosen: Chosen) -> dict[ConstraintId, NDArray[np.float64]]:
    if not checks:
        return {}
    sums, rows = totals(job, chosen), rows_of(chosen, "build", "truck")
    shifts = Shifts() if is_nominal(job) else shifts_of(job, checks)
    return {(check.id, check.where): build_margin(job, check, sums, rows, shifts) for check in checks}


def rows_of(chosen: Chosen, rows: str, where: str) -> Table:
    """What a check of such rows ("corner", "drive", "pair" or "build") looks at of each build, at a place."""
    if rows == "pair":
        return Pairs(chosen.front, chosen.rear)
    if rows == "build":
        return Whole(chosen.front, chosen.rear, chosen.drive)
    table: Table = chosen.drive if rows == "drive" else getattr(chosen, where)
    return table


def row_results(job: Job, axle: Axle, checks: Iterable[Check], rows: Table) -> list[list[Result]]:
    """Row checks of each row alone, for parts that are not in a whole build."""
    of_check = [_row_results(job, axle, check, rows) for check in checks]
    return [list(of_row) for of_row in zip(*of_check, strict=True)] if of_check else [[] for _ in range(len(rows))]


def _row_results(job: Job, axle: Axle, check: Check, rows: Table) -> list[Result]:
    """One check of every row."""
    found = judge(job, axle, check, rows)
    where = "truck" if check.rows == "pair" else axle
    left, right = check.shown
    told = []
    for at, amounts in enumerate(_amounts(found, _shown(left, rows, found.value), _shown(right, rows, found.limit))):
        needs = partial(row_needs, job, axle, check, str(found.variant[at]), rows, at)
        note = _note(check, amounts.margin, rows, at)
        told.append(_result(job, axle, check, where, amounts, needs, note=note))
    return told


@dataclass(frozen=True)
class _Amounts:
    """Numbers of one check of one build, in its own unit, and the state or cruise point that they are of."""

    margin: float
    value: Shown
    limit: Shown
    nominal: float
    worst: float
    chance: float
    state: str = ""


def _amounts(found: Judgement, values: list[Shown], limits: list[Shown]) -> list[_Amounts]:
    """The numbers of each build, with its sides as they are told."""
    states = [str(variant).replace("_", " ") for variant in found.variant]
    numbers = (own.tolist() for own in (found.margin, found.nominal, found.worst, found.chance))
    return [
        _Amounts(margin, value, limit, nominal, worst, chance, state)
        for margin, nominal, worst, chance, value, limit, state in zip(*numbers, values, limits, states, strict=True)
    ]


def _result(
    job: Job,
    axle: Axle,
    check: Check,
    where: str,
    amounts: _Amounts,
    needs: Callable[[], Iterable[Need]],
    *,
    note: str = "",
) -> Result:
    verdict = verdict_of(amounts.margin)
    told = tuple(needs()) if verdict is Verdict.UNVERIFIED else ()
    scale = check.scale(job, axle) if check.scale else float("nan")
    return Result(
        check,
        where,
        verdict,
        amounts.margin,
        amounts.value,
        amounts.limit,
        scale,
        told,
        note,
        amounts.state or None,
        amounts.nominal,
        amounts.worst,
        amounts.chance,
    )


def _build_results(job: Job, check: Check, needs: BuildNeeds, found: Judgement) -> list[Result]:
    axle = axle_at(check.where)
    every = enumerate(_amounts(found, _told(found.value), _told(found.limit)))
    return [
        _result(
            job,
            axle,
            check,
            check.where,
            amounts,
            partial(needs.of, axle, check, at),
            note=_build_note(job, axle, check, amounts.value),
        )
        for at, amounts in every
    ]


def _build_note(job: Job, axle: Axle, check: Check, value: Shown) -> str:
    """What is told beside an answer: what a lowest point hangs on, what ground a start is on."""
    if check.id == "ground":
        return f"hangs on the {getattr(job.present, f'{axle}_lowest_on')}"
    if check.id == "start_grade":
        resistance = f"rolling resistance {job_value(job, 'surface.resistance', axle):g}"
        return f"won't start on the level; {resistance}" if isinstance(value, float) and value < 0 else resistance
    return ""


def _layout_sides(job: Job, check: Check, chosen: Chosen) -> Inequality:
    assert check.sides is not None
    sides: Inequality = check.sides(job, chosen.slots)(chosen.counts)
    return sides


def _layout_results(job: Job, check: Check, chosen: Chosen) -> list[Result]:
    """A check of the ballast as it lies; nothing laid holds with nothing to tell."""
    found = []
    sides = _layout_sides(job, check, chosen)
    for at, (value, limit, margin) in enumerate(zip(*(np.asarray(side).tolist() for side in sides), strict=True)):
        room = 0.0 if np.isposinf(margin) else margin
        note = "no ballast is laid" if np.isposinf(margin) else _floor_note(check, value, limit)
        told = (None, None) if check.unit == "yes_no" else (_or_none(value), _or_none(limit))
        amounts = _Amounts(room, *told, nominal=room, worst=room, chance=float(room >= 0))
        found.append(
            _result(job, "rear", check, "truck", amounts, partial(layout_needs, job, check, chosen, at), note=note)
        )
    return found


def _floor_note(check: Check, taken_m2: float, floor_m2: float) -> str:
    if check.unit != "yes_no" or np.isnan(taken_m2) or taken_m2 <= 0:
        return ""
    return f"{taken_m2:.2f} m2 of {floor_m2:.2f} m2 taken"


def _shown(name: str, rows: Table, side: NDArray[np.float64]) -> list[Shown]:
    """A side of a check of each row as it is told: its own numbers, or a column that is named in their place."""
    if not name.endswith("bolt_circle"):
        return _told(rows[name] if name else side)
    circles = zip(rows[f"{name}_lugs"].tolist(), rows[f"{name}_mm"].tolist(), strict=True)
    return [
        None if np.isnan(lugs) else f"{lugs:.0f}x{diameter:.1f} mm".replace(".0 mm", " mm")
        for lugs, diameter in circles
    ]


def _told(side: NDArray[np.float64]) -> list[Shown]:
    return [_or_none(value) for value in side.tolist()]


def _or_none(value: float) -> float | None:
    return round(value, 6) if math.isfinite(value) else None


def _note(check: Check, margin: float, rows: Table, at: int) -> str:
    """What is told beside an answer: how the hub centers the wheel, what rims are usual where none are listed."""
    if check.id == "rim_width" and np.isnan(margin):
        return _usual_rims(float(rows["corner.section_width_mm"][at]))
    if check.id == "rim_diameter" and margin < 0:
        return _seating(float(rows["tire.rim_diameter_mm"][at]), float(rows["wheel.rim_diameter_mm"][at]))
    if check.id != "hub_bore" or not margin >= 0:
        return ""
    room, meets = rows["wheel.hub_bore_mm"][at] - rows["mount.pilot_mm"][at], rows["mount.meets_pilot"][at]
    if np.isnan(meets):
        return "hub-centric only if the hub's pilot reaches through the spacer: measure its length"
    return "hub-centric" if meets and room <= HUB_CENTRIC_MM else "lug-centric: center the wheel by its lugs"


def _seating(tire_mm: float, wheel_mm: float) -> str:
    """A caution of its own for half an inch between tire and wheel, such as 16 on 16 1/2 in."""
    is_near = abs(abs(tire_mm - wheel_mm) - HALF_INCH_MM) < 1.0
    return "never seat it: a tire half an inch off its rim can burst (from memory)" if is_near else ""


def _usual_rims(section_mm: float) -> str:
    """Rims that tires of this section are mostly approved for: an estimate, never an answer."""
    if np.isnan(section_mm):
        return ""
    low, high = (round(section_mm * share / INCH_MM * 2.0) / 2.0 for share in _USUAL_RIMS)
    return f"an estimate: {low:g} to {high:g} in is usual for this section, no source"

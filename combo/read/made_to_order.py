"""Wheels that are made to order: one row of a list becomes a candidate for each backspace, offset and bolt circle."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from combo.formulas.wheel import same_circle
from combo.job import AXLES, Hubs
from combo.parts import PLACE_COLUMNS
from combo.problems import Report
from combo.read.lists import HEADERS_COLUMN, are_on_truck, place_of, tell_duplicates
from combo.read.ranges import STEPS, TO_DRILL, Steps
from combo.units import INCH_MM, BoltCircle, rounded, settled_mm, sixteenths_text

_STEPPED = ("backspace_mm", "offset_mm")
_DRILL = "bolt_circle" + TO_DRILL
_INCH_MM = Fraction(str(INCH_MM))


def stepped(wheels: pd.DataFrame, extra: pd.DataFrame, report: Report) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Wheels as `read_lists` gives them, with a row for each step of a backspace or offset that is made to order.

    A row keeps its place, and its SKU with the step behind it. Where any is drilled to order, the column that said so
    then holds the SKU of the list, for `drilled`.
    """
    given = [column for column in _STEPPED if column + STEPS in wheels]
    if not given and _DRILL not in wheels:
        return wheels, extra
    _tell_on_truck(wheels, report)
    if _DRILL in wheels:
        wheels = wheels.assign(**{_DRILL: wheels["sku"].where(wheels[_DRILL] == 1.0, "")})
    if not given:
        return wheels, extra
    made = _made(wheels, given, report)
    counts = np.ones(len(wheels), dtype=np.int64)
    counts[list(made)] = [steps.count for _, steps in made.values()]
    of = np.repeat(np.arange(len(wheels)), counts)
    several = _with_steps(_taken(wheels, of), made, np.cumsum(counts) - counts)
    are_told = wheels["sku"].duplicated(keep=False).to_numpy()[of]
    tell_duplicates(several[~are_told], report)
    return several.drop(columns=[column + STEPS for column in given]), _taken(extra, of)


def circles_of(hubs: Hubs, spacers: pd.DataFrame) -> list[BoltCircle]:
    """Bolt circles that a wheel of the job can meet, those that go together once: the hubs', and the outer ones of
    spacers that bolt to a hub.
    """
    own = [getattr(hubs, axle).bolt_circle for axle in AXLES]
    names = ("bolt_circle_lugs", "bolt_circle_mm", "wheel_bolt_circle_lugs", "wheel_bolt_circle_mm")
    outer = [
        BoltCircle(int(lugs), mm) if np.isnan(wheel_lugs) else BoltCircle(int(wheel_lugs), wheel_mm)
        for lugs, mm, wheel_lugs, wheel_mm in zip(*(spacers[name].tolist() for name in names), strict=True)
        if any(_go_together(BoltCircle(int(lugs), mm), hub) for hub in own)
    ]
    kept: list[BoltCircle] = []
    for circle in [*own, *sorted(outer, key=lambda one: (one.lug_count, one.diameter_mm))]:
        if not any(_go_together(circle, other) for other in kept):
            kept.append(circle)
    return kept


def is_drilled_to_order(wheels: pd.DataFrame) -> bool:
    """Whether some wheels wait for the bolt circles of the job."""
    return _DRILL in wheels


def drilled(
    wheels: pd.DataFrame, extra: pd.DataFrame, circles: Sequence[BoltCircle], report: Report
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Settled wheels with a row for each bolt circle that one drilled to order can have, the circle behind its SKU.

    A circle that is no larger than the wheel's own bore is left out.
    """
    are_open = (wheels[_DRILL] != "").to_numpy()
    diameters = np.array([circle.diameter_mm for circle in circles])
    takes = are_open[:, None] & ~(wheels["hub_bore_mm"].to_numpy()[:, None] >= diameters)
    _tell_drilled(wheels, takes, circles, report)
    of, which = np.nonzero(np.column_stack([takes, ~are_open]))
    if not len(of):
        report.add(
            place_of(wheels.iloc[0], "bolt_circle_mm"),
            "all-set-aside",
            "no wheel can be used: none can be drilled for a hub of this job",
            "a hub bore smaller than the hub's bolt circle is accepted",
        )
    several = _taken(wheels, of)
    at = np.flatnonzero(which < len(circles))
    chosen = [circles[number] for number in which[at].tolist()]
    for column, values in (
        ("bolt_circle_lugs", [float(circle.lug_count) for circle in chosen]),
        ("bolt_circle_mm", [circle.diameter_mm for circle in chosen]),
    ):
        several[column] = _with_values(several[column], at, values)
    skus = [f"{sku} {circle.text()}" for sku, circle in zip(several["sku"].iloc[at].tolist(), chosen, strict=True)]
    several["sku"] = _with_values(several["sku"], at, skus)
    tell_duplicates(several, report)
    return several.drop(columns=[_DRILL, HEADERS_COLUMN]), _taken(extra, of)


def of_two_circles(
    wheels: pd.DataFrame, extra: pd.DataFrame, circles: Sequence[BoltCircle]
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Wheels drilled for two circles, on the one that the job's hubs have; where they have both, a row for each, with
    the circle behind the SKU.
    """
    first, second = (
        list(zip(wheels[f"{name}_lugs"], wheels[f"{name}_mm"], strict=True))
        for name in ("bolt_circle", "bolt_circle_2")
    )
    both = [at for at, (lugs, _) in enumerate(second) if lugs == lugs]
    meets = {at: [_meets(own[at], circles) for own in (first, second)] for at in both}
    if not any(own[1] for own in meets.values()):
        return wheels, extra
    of = [at for at in range(len(wheels)) for _ in range(2 if all(meets.get(at, [False])) else 1)]
    several = _taken(wheels, np.array(of, dtype=np.int64))
    changed = [row for row, at in enumerate(of) if at in meets and meets[at][1]]
    circles_taken, skus = [], []
    for row in changed:
        at, sku = of[row], str(several["sku"].iloc[row])
        is_second = not meets[at][0] or (row > 0 and of[row - 1] == at)
        circles_taken.append((second if is_second else first)[at])
        circle = BoltCircle(int(circles_taken[-1][0]), circles_taken[-1][1])
        skus.append(f"{sku} {circle.text()}" if all(meets[at]) else sku)
    for name, values in (
        ("bolt_circle_lugs", [lugs for lugs, _ in circles_taken]),
        ("bolt_circle_mm", [size for _, size in circles_taken]),
        ("sku", skus),
    ):
        several[name] = _with_values(several[name], changed, values)
    return several, _taken(extra, np.array(of, dtype=np.int64))


def _meets(circle: tuple[float, float], circles: Sequence[BoltCircle]) -> bool:
    return any(_go_together(BoltCircle(int(circle[0]), circle[1]), other) for other in circles)


def step_text(column: str, size_mm: Fraction) -> str:
    """A step as a part number has it: a backspace in sixteenths where it is a whole number of them.

    Examples
    --------
    >>> step_text("backspace_mm", Fraction("104.775")), step_text("backspace_mm", Fraction(105))
    ('4 1/8 in', '105 mm')
    >>> step_text("offset_mm", Fraction(-12))
    'ET-12'
    """
    if column == "offset_mm":
        return f"ET{_tenths(size_mm)}"
    return _inches(size_mm) or f"{_tenths(size_mm)} mm"


def _go_together(circle: BoltCircle, other: BoltCircle) -> bool:
    return bool(same_circle(circle.lug_count, circle.diameter_mm, other.lug_count, other.diameter_mm))


def _made(wheels: pd.DataFrame, given: list[str], report: Report) -> dict[int, tuple[str, Steps]]:
    """By row, in which column and in which steps it is made; each is told, and a row of two ranges is a problem."""
    made: dict[int, tuple[str, Steps]] = {}
    for column in given:
        for row, steps in enumerate(wheels[column + STEPS].tolist()):
            if not isinstance(steps, Steps):
                continue
            wheel = wheels.iloc[row]
            if row in made:
                report.add(
                    place_of(wheel, column),
                    "made-to-order",
                    f"{wheel['sku']}: a range of offsets, and one of backspaces",
                    "one of the two is accepted",
                )
                continue
            made[row] = column, steps
            _tell_steps(wheel, column, steps, report)
    return made


def _tell_steps(wheel: pd.Series[Any], column: str, steps: Steps, report: Report) -> None:
    name, last = column.removesuffix("_mm"), steps.sizes_mm()[-1]
    low, high, by = (_told(column, size) for size in (steps.low_mm, steps.high_mm, steps.step_mm))
    short = "" if last == steps.high_mm else f"no step lands on {high}: the last is {_told(column, last)}"
    report.notice(
        place_of(wheel, column),
        "made-to-order",
        f"{wheel['sku']}: {steps.count} {name}s from {low} to {high} by {by}, each a candidate",
        short,
    )


def _tell_on_truck(wheels: pd.DataFrame, report: Report) -> None:
    """What is on the truck is there already, in one size."""
    is_there = are_on_truck(wheels)
    for name, column in (*((own, own + STEPS) for own in _STEPPED), ("bolt_circle_mm", _DRILL)):
        if column not in wheels:
            continue
        asked = [isinstance(value, Steps) or value == 1.0 for value in wheels[column].tolist()]
        for row in np.flatnonzero(is_there & np.array(asked, dtype=bool)):
            wheel = wheels.iloc[row]
            report.add(
                place_of(wheel, name),
                "made-to-order",
                f"{wheel['sku']}: on the truck, and made to order",
                f"the {name.removesuffix('_mm').replace('_', ' ')} that it has is accepted",
                "Measure it, or leave on_truck empty",
            )


def _with_steps(several: pd.DataFrame, made: dict[int, tuple[str, Steps]], starts: NDArray[np.int64]) -> pd.DataFrame:
    """The rows that were taken several times, each with its own step."""
    for column in _STEPPED:
        at: list[int] = []
        values: list[float] = []
        texts: list[str] = []
        for row, (own, steps) in made.items():
            sizes = steps.sizes_mm() if own == column else []
            at += range(int(starts[row]), int(starts[row]) + len(sizes))
            values += [settled_mm(size) for size in sizes]
            texts += [step_text(column, size) for size in sizes]
        several[column] = _with_values(several[column], at, values)
        skus = [f"{sku} @ {text}" for sku, text in zip(several["sku"].iloc[at].tolist(), texts, strict=True)]
        several["sku"] = _with_values(several["sku"], at, skus)
    return several


def _tell_drilled(
    wheels: pd.DataFrame, takes: NDArray[np.bool_], circles: Sequence[BoltCircle], report: Report
) -> None:
    """What the rows that are drilled to order are drilled to; the steps of a row have its one bore."""
    opened = wheels[wheels[_DRILL] != ""]
    for row in opened.index[~opened.duplicated(list(PLACE_COLUMNS))].tolist():
        wheel = wheels.iloc[row]
        own = _listed(circle for circle, taken in zip(circles, takes[row], strict=True) if taken)
        small = _listed(circle for circle, taken in zip(circles, takes[row], strict=True) if not taken)
        each = ", each a candidate" if takes[row].sum() > 1 else ""
        found = f"drilled to order for {own or 'no hub of this job'}{each}"
        inside = f"no room for {small} around its hub bore of {wheel['hub_bore_mm']:.1f} mm" if small else ""
        report.notice(
            place_of(wheel, "bolt_circle_mm"),
            "drilled-to-order",
            f"{wheel[_DRILL]}: {found}",
            inside,
            "" if own else "The row is set aside",
        )


def _listed(circles: Iterable[BoltCircle]) -> str:
    """`5x114.3, 6x139.7 and 8x165.1`."""
    *before, last = [circle.text() for circle in circles] or [""]
    return f"{', '.join(before)} and {last}" if before else last


def _taken(table: pd.DataFrame, rows: NDArray[np.int64]) -> pd.DataFrame:
    return table.iloc[rows].reset_index(drop=True)


def _with_values(column: pd.Series[Any], at: Any, values: list[Any]) -> NDArray[Any]:
    """A column with other values in some rows."""
    own = column.to_numpy(copy=True)
    own[at] = values
    return own


def _told(column: str, size_mm: Fraction) -> str:
    """A size as a notice has it; an offset is in millimeters, as it is stamped."""
    inches = _inches(size_mm) if column == "backspace_mm" else ""
    return inches or f"{float(round(size_mm, 3)):g} mm"


def _inches(size_mm: Fraction) -> str:
    """A size that is a whole number of sixteenths of an inch, else ""."""
    return sixteenths_text(float(size_mm)) if (size_mm / _INCH_MM * 16).denominator == 1 else ""


def _tenths(size_mm: Fraction) -> str:
    """A size to a tenth, half a tenth away from zero."""
    return f"{rounded(size_mm * 10) / 10:g}"

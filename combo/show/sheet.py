"""The measuring sheet: plain text for paper, to take to the truck and to the telephone."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from combo.explain.missing import Measurement, Question
from combo.job import SIDES, Job
from combo.problems import in_one_line, visible
from combo.show import words
from combo.units import DIMENSIONS, BoltCircle

WIDTH = 96
_BLANK = "____________"
_BOTH_BLANKS = "left ______ right ____"
"""For what may differ from side to side of the truck; one number for both will do."""
_KEY, _VALUE = 24, 22
_SKUS_TOLD = 12


def measuring_sheet(job: Job, lines: list[Measurement], asked: list[Question], *, blank: bool) -> str:
    """The sheet as text: the truck, table by table of job.toml, then what to ask of suppliers.

    `blank` leaves every value to be written in by hand. A line that a check still waits for begins with a star.
    """
    out = [f"Measuring sheet: {in_one_line(job.job.name)}", "", *_instructions()]
    table = ""
    for line in lines:
        if line.table != table:
            table = line.table
            out += ["", table]
        out += _measurement(job, line, blank=blank)
    out += ["", "Ask the supplier, or measure on the part", *_questions(asked)]
    return visible("\n".join([*out, "", *(f"- {caution}" for caution in words.CAUTIONS)])) + "\n"


def _instructions() -> list[str]:
    text = (
        "Park level, tires straight ahead, a straight edge on the hub's mounting face. Sideways from that face, "
        "outboard positive; along the truck from the rear axle line, ahead positive; up from the hub's center. Write a "
        "plus-or-minus where the tape is not sure: 13 in +- 1/16 in. Measure wheelhouses on both sides: they differ. "
        "A star marks what a check still waits for."
    )
    return textwrap.wrap(text, WIDTH)


def _measurement(job: Job, line: Measurement, *, blank: bool) -> Iterator[str]:
    empty = _BOTH_BLANKS if line.is_sided else _BLANK
    told = empty if blank or line.value is None else value(job, line)
    star = "*" if line.checks else " "
    head = f"{star} {line.key:<{_KEY}} {told:<{_VALUE}} "
    hint = " " * (_KEY + _VALUE + 4)
    wrapped = textwrap.wrap(line.how, WIDTH - len(hint)) or [""]
    if len(head) > len(hint):  # both sides, each with its plus-or-minus
        yield head.rstrip()
        head = hint
    yield head + wrapped[0]
    yield from (hint + rest for rest in wrapped[1:])


def _questions(asked: list[Question]) -> Iterator[str]:
    if not asked:
        yield "  nothing: the lists hold all that the checks look at"
    for one in asked:
        skus = ", ".join(one.skus[:_SKUS_TOLD])
        more = f" and {len(one.skus) - _SKUS_TOLD} more" if len(one.skus) > _SKUS_TOLD else ""
        text = f"{one.kind} {one.name.replace('_', ' ')} ({one.how or 'ask the supplier'}), for {', '.join(one.checks)}"
        yield from textwrap.wrap(f"* {text}: {skus}{more}", WIDTH, subsequent_indent="    ")


def value(job: Job, line: Measurement) -> str:
    """A known measurement as it may be typed again, with its plus-or-minus."""
    if isinstance(line.value, BoltCircle):
        return f"{line.value.text()} mm"
    suffix = next((suffix for suffix in DIMENSIONS if line.attribute.endswith(f"_{suffix}")), "")
    if line.sides:
        return ", ".join(f"{side} {_with_off(job, suffix, *own)}" for side, own in zip(SIDES, line.sides, strict=True))
    return _with_off(job, suffix, line.value, line.off)


def _with_off(job: Job, suffix: str, size: float, off: float | None) -> str:
    told = _size(job, suffix, size)
    return told if off is None else f"{told} +- {_size(job, suffix, off)}"


def _size(job: Job, suffix: str, size: float) -> str:
    if suffix == "mm" and not words.is_metric(job):
        return words.typed_inches(size)
    if suffix in {"mm", "kg"}:
        return words.amount(job, suffix, size)
    plain = {"deg": "deg", "rpm": "rpm", "m2": "m2", "kpa": "kPa"}.get(suffix, "")
    return f"{size:g} {plain}".rstrip() if isinstance(size, int | float) else str(size)

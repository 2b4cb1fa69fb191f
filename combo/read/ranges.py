"""What is made to order, as lists write it: `3 1/2 to 5 in by 1/8`, a bolt circle `to order`."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from combo.units import LENGTH, PLUS_OR_MINUS, UnitError, exact_mm, factor, normalized

STEPS = ".steps"
"""Behind the name of a column, while it is read: the steps that a size is made in, None where it is none."""
TO_DRILL = ".to_drill"
"""Behind the name of a bolt circle, until it is drilled: 1 where it is drilled to order."""
MOST_STEPS = 200
FINEST_STEP_MM = Fraction(1, 10)  # what a part number tells apart, and nobody machines a wheel finer
_WORD = re.compile(r"(?<![a-z])(?:to|by)(?![a-z])", re.IGNORECASE)
_RANGE = re.compile(r"(.+?)\s*(?<![a-z])to(?![a-z])\s*(.+?)\s*(?<![a-z])by(?![a-z])\s*(.+)", re.IGNORECASE)
_DRILLED = {"to order", "drilled to order", "drill to order", "made to order", "custom", "custom drilled"}
_ACCEPTED = "a range with a step is accepted, such as 3 1/2 to 5 in by 1/8"


@dataclass(frozen=True)
class Steps:
    """Sizes from the lower end up, exact [mm]; the upper end is one of them only where a step lands on it."""

    low_mm: Fraction
    high_mm: Fraction
    step_mm: Fraction

    @property
    def count(self) -> int:
        """How many there are."""
        return (self.high_mm - self.low_mm) // self.step_mm + 1

    def sizes_mm(self) -> list[Fraction]:
        """All of them, the lower end first.

        Examples
        --------
        >>> [float(size) for size in Steps(Fraction(0), Fraction(5), Fraction(2)).sizes_mm()]
        [0.0, 2.0, 4.0]
        """
        return [self.low_mm + at * self.step_mm for at in range(self.count)]


def is_range(text: str) -> bool:
    """Whether a cell is meant as a range, rightly written or not: no size has a `to` or a `by` in it."""
    return _WORD.search(text) is not None


def is_to_drill(text: str) -> bool:
    """Whether a bolt circle is drilled to order."""
    return normalized(text).casefold() in _DRILLED


def steps_of(text: str, *, bare_unit: str | None = None, decimal_comma: bool = False) -> Steps:
    """The steps of a range; `bare_unit` and `decimal_comma` as for `units.quantity`.

    A number without a unit has that of the others in the cell, else `bare_unit`.

    Raises
    ------
    UnitError
        `not-a-range`, `range-reversed`, `not-a-step`, `too-many-steps`, or the error of a size.

    Examples
    --------
    >>> steps_of("3 1/2 to 5 in by 1/8").count
    13
    """
    found = f'found "{text}"'
    if PLUS_OR_MINUS.search(normalized(text)):
        raise UnitError(
            "not-a-range", f"{found}, with a plus-or-minus", _ACCEPTED, "Its plus-or-minus is that of [tolerance] wheel"
        )
    match = _RANGE.fullmatch(normalized(text))
    if not match:
        raise UnitError("not-a-range", found, _ACCEPTED)
    try:
        unit = _unit_of(match.groups(), text) or bare_unit
        low, high, step = (exact_mm(part, text, bare_unit=unit, decimal_comma=decimal_comma) for part in match.groups())
    except UnitError as error:
        raise UnitError(error.word, error.found, _ACCEPTED, error.hint) from error
    if high < low:
        raise UnitError("range-reversed", found, "the lower end first")
    if step <= 0:
        raise UnitError("not-a-step", found, "a step above zero is accepted")
    if step > high - low:
        raise UnitError("not-a-step", f"{found}, a step larger than the range", _ACCEPTED)
    if step < FINEST_STEP_MM:
        raise UnitError("not-a-step", found, f"a step of {float(FINEST_STEP_MM)} mm or more is accepted")
    steps = Steps(low, high, step)
    if steps.count > MOST_STEPS:
        raise UnitError("too-many-steps", f"{found}, {steps.count:,} steps", f"at most {MOST_STEPS} are accepted")
    return steps


def _unit_of(parts: tuple[str, ...], text: str) -> str | None:
    """The unit that the parts of a range name; where they name several, none may be left out.

    Raises
    ------
    UnitError
        `no-unit`, or the error of a unit.
    """
    units = [re.split(r".*\d\.?", part)[-1].strip() for part in parts]
    named = [unit for unit in units if unit]
    if len({factor(unit, LENGTH, text) for unit in named}) > 1 and len(named) < len(parts):
        raise UnitError("no-unit", f'found "{text}", in more than one unit and without one', _ACCEPTED)
    return named[0] if named else None

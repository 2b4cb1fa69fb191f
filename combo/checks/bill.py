"""The bill of a build, line by line: what its rows and its ballast cost. It adds up to the cost that is ranked."""

from __future__ import annotations

from dataclasses import dataclass

from combo.checks.rows import BILL, Chosen
from combo.checks.table import Table


@dataclass(frozen=True)
class Line:
    """One line of a bill: what, for which axle ("" for neither), and whole cents with tax."""

    what: str
    where: str
    cents: int


def bills(chosen: Chosen) -> list[tuple[Line, ...]]:
    """The lines of each build that cost something."""
    tables = {"front": chosen.front, "rear": chosen.rear, "": chosen.drive}
    every = [lines for where, rows in tables.items() for lines in _lines(rows, where)]
    every.append([Line("ballast", "", int(cents)) for cents in chosen.counts @ chosen.slots["slot.cost_cents"]])
    return [tuple(line for line in of_build if line.cents) for of_build in zip(*every, strict=True)]


def _lines(rows: Table, where: str) -> list[list[Line]]:
    """Each line of the bill of these rows, for every row."""
    return [[Line(name.removeprefix(BILL), where, int(cents)) for cents in rows[name]]
            for name in rows if name.startswith(BILL)]  # fmt: skip

"""The bill of a build, line by line: what its rows and its ballast cost. It adds up to the cost that is ranked."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from combo.checks.rows import BILL, Chosen


@dataclass(frozen=True)
class Line:
    """One line of a bill: what, for which axle ("" for neither), and whole cents with tax."""

    what: str
    where: str
    cents: int


def bills(chosen: Chosen) -> list[tuple[Line, ...]]:
    """The lines of each build that cost something."""
    tables = {"front": chosen.front, "rear": chosen.rear, "": chosen.drive}
    ballast = chosen.counts @ chosen.slots["slot.cost_cents"].to_numpy(dtype=float)
    found = []
    for at, laid_cents in enumerate(ballast):
        lines = [line for where, rows in tables.items() for line in _lines(rows.iloc[at], where)]
        lines.append(Line("ballast", "", int(laid_cents)))
        found.append(tuple(line for line in lines if line.cents))
    return found


def _lines(row: pd.Series[float], where: str) -> list[Line]:
    named = {str(name): cents for name, cents in row.items() if str(name).startswith(BILL)}
    return [Line(name.removeprefix(BILL), where, int(cents)) for name, cents in named.items()]

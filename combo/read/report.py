"""What reading the lists has to tell: rows that are set aside, and problems of one kind told once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np
import pandas as pd

from combo.parts import PLACE_COLUMNS
from combo.problems import Place, Problem, Report

Why = Literal[
    "not sold",
    "no price",
    "no stock",
    "trailer size",
    "temporary spare",
    "contradicts itself",
    "twice",
    "not understood",
]
REASONS: dict[Why, tuple[str, str]] = {
    "not sold": ("no longer sold", "no longer sold"),
    "no price": ("without a price", "without a price"),
    "no stock": ("short of stock", "short of stock"),
    "trailer size": ("size for trailers", "sizes for trailers"),
    "temporary spare": ("temporary spare", "temporary spares"),
    "contradicts itself": ("contradicts itself", "contradict themselves"),
    "twice": ("listed twice", "listed twice"),
    "not understood": ("not understood", "not understood"),
}
"""Why a row is set aside, with the words behind a count of one and of several; of several reasons the first counts."""
MOST_NOT_UNDERSTOOD = 1.0 / 3.0
"""Of the rows of a list: beyond it the rules are wrong, and not the rows."""
_ORDER = {why: at for at, why in enumerate(REASONS)}
_ONE_BY_ONE = {"made-to-order", "drilled-to-order"}
"""Words of what is told of every part on its own."""
RowPlace = tuple[str, str, int]
"""File, sheet ("" in a CSV) and number of a row."""


def row_of(place: Place) -> RowPlace:
    """The row that a place is in."""
    return place.file, place.table or "", place.row or 0


@dataclass(frozen=True)
class SetAside:
    """A row that is not used, and why."""

    why: Why
    problem: Problem

    def is_in(self, file: str, sheet: str) -> bool:
        """Whether it is a row of that list."""
        return row_of(self.problem.place)[:2] == (file, sheet)


@dataclass
class ListReport(Report):
    """A report of lists: beside problems and notices, the rows that are set aside, each once."""

    aside: dict[RowPlace, SetAside] = field(default_factory=dict)

    def set_aside(self, why: Why, place: Place, word: str, found: str, accepted: str, hint: str = "") -> None:
        """Record that a row is not used; of several reasons the first in order counts."""
        row = row_of(place)
        known = self.aside.get(row)
        if known is None or _ORDER[why] < _ORDER[known.why]:
            self.aside[row] = SetAside(why, Problem(place, word, found, accepted, hint))

    def without_aside(self, table: pd.DataFrame) -> pd.DataFrame:
        """A part table without the rows that are set aside; the others keep their index."""
        if not self.aside or not len(table):
            return table
        files, sheets, rows = (table[name].tolist() for name in PLACE_COLUMNS)
        are_left = [row not in self.aside for row in zip(files, sheets, rows, strict=True)]
        return table if all(are_left) else table[np.array(are_left)]


def grouped(problems: Iterable[Problem]) -> list[Problem]:
    """Problems with those of one kind in one column told once, at the first of their rows."""
    groups: dict[tuple[str, str | None, str | None, str], list[Problem]] = {}
    for problem in problems:
        place = problem.place
        key = (place.file, place.table, place.column, problem.word)
        if place.row is None or place.file.endswith(".toml") or problem.word in _ONE_BY_ONE:
            key = (*key[:3], f"{problem.word}{len(groups)}")
        groups.setdefault(key, []).append(problem)
    return [_once(group) for group in groups.values()]


def _once(group: list[Problem]) -> Problem:
    rows = len({problem.place.row for problem in group})
    if rows == 1:
        return group[0]
    first = min(group, key=lambda problem: problem.place.row or 0)
    others = "one row more" if rows == 2 else f"{rows - 1:,} rows more"
    return replace(first, found=f"{first.found}, and {others} like it")


def counted(aside: Iterable[SetAside]) -> str:
    """How many rows are set aside for each reason: `19 without a price, 3 not understood`."""
    counts = Counter(one.why for one in aside)
    return ", ".join(f"{counts[why]:,} {words[counts[why] > 1]}" for why, words in REASONS.items() if counts[why])

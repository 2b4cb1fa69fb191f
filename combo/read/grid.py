"""Cells of a list as texts, by column: what every reader of files gives, and what every later step takes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, TypeVar

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from combo.problems import Place
from combo.units import UnitError

Index = NDArray[np.int64]
Cells = list[NDArray[np.object_]]
"""Texts of a list by column, all of the same length; NaN where a short row has none."""
T = TypeVar("T")


class DateText(str):
    """What a spreadsheet has turned into a date (5-1/4 often is), in ISO form: a text, but never read as a number."""

    def strip(self, chars: str | None = None, /) -> DateText:
        """Itself: nothing surrounds it."""
        return self


@dataclass(frozen=True)
class Texts:
    """A column of a list: its distinct texts, stripped, and which of them each row has."""

    distinct: list[str]
    of: Index

    @staticmethod
    def from_cells(cells: NDArray[np.object_]) -> Texts:
        """The column of some cells."""
        codes, values = pd.factorize(cells)
        missing = [""] if codes.min(initial=0) < 0 else []  # the last, as which a code of -1 counts
        stripped = [text.strip() for text in values]
        if not missing and stripped == values.tolist():
            return Texts(stripped, codes)  # as most columns are; they need not be numbered again
        return Texts._of([*stripped, *missing], codes)

    @staticmethod
    def _of(values: list[str], codes: Index) -> Texts:
        """The column whose rows have these values by number; some of the values may be alike."""
        number: dict[str, int] = {}
        of = [number.setdefault(value, len(number)) for value in values]
        return Texts(list(number), np.array(of, dtype=np.int64)[codes])

    def changed(self, change: Callable[[str], str]) -> Texts:
        """The column with each text changed."""
        return Texts._of(list(map(change, self.distinct)), self.of)

    def present(self) -> list[str]:
        """The distinct texts that its rows have; of some rows of a column they are not all."""
        return [self.distinct[code] for code in np.unique(self.of).tolist()]

    def of_rows(self, rows: Index) -> Texts:
        """The column of some of its rows."""
        return Texts(self.distinct, self.of[rows])

    def text(self, row: int) -> str:
        """The text of a row."""
        return self.distinct[int(self.of[row])]

    def each(self, values: list[Any], dtype: Any = object) -> NDArray[Any]:
        """A value for each row, from one for each distinct text."""
        known = np.empty(len(values), dtype=dtype)
        known[:] = values
        taken: NDArray[Any] = known[self.of]
        return taken

    def are_filled(self) -> NDArray[np.bool_]:
        """Which rows have a text."""
        if "" not in self.distinct:
            return np.ones(len(self.of), dtype=np.bool_)
        are_filled: NDArray[np.bool_] = self.of != self.distinct.index("")
        return are_filled

    def converted(self, convert: Callable[[str], T], blank: T) -> tuple[list[T], list[tuple[int, UnitError]]]:
        """What is made of each distinct text, and the places of the rows of which nothing can be made, in order, with
        what is wrong; there `blank` stands.
        """
        made: list[T] = []
        bad: dict[int, UnitError] = {}
        for number_, text in enumerate(self.distinct):
            try:
                made.append(convert(text))
            except UnitError as error:
                bad[number_] = error
                made.append(blank)
        rows: list[int] = np.flatnonzero(np.isin(self.of, list(bad))).tolist() if bad else []
        return made, [(row, bad[int(self.of[row])]) for row in rows]


@dataclass(frozen=True)
class CellGrid:
    """All cells of a file, or of one sheet of it.

    `numbers` holds the row of the sheet, or the line of the file, of each row; `merged` the cells of a row that a sheet
    has made one, as (row, first column, last column) from 0; `ragged` says that a cell too many may have shifted a row.
    """

    file: str
    sheet: str | None
    columns: list[Texts]
    numbers: Index
    decimal_comma: bool = False
    merged: tuple[tuple[int, int, int], ...] = field(default=(), repr=False)
    ragged: bool = False

    def place(self, row: int | None = None, column: str | None = None) -> Place:
        """Place of a cell, of a row by its number."""
        return Place(self.file, None if row is None else int(row), column, self.sheet)

    def row(self, at: int) -> list[str]:
        """Texts of a row, by column."""
        return [own.text(at) for own in self.columns]

    def counts(self) -> Index:
        """How many cells each row fills."""
        filled = np.zeros(len(self.numbers), dtype=np.int64)
        for own in self.columns:
            filled += own.are_filled()
        return filled

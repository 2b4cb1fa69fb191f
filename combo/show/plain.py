"""Texts of lists and jobs as cells of a sheet, cells of CSV and JSON: what is in them is shown and never obeyed."""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import Any

from combo.problems import UNSEEN, in_one_line, visible

MOST_IN_CELL = 32_767
"""UTF-16 units of text that a cell of a workbook may hold."""
_CUT = "..."
_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
"""What makes a spreadsheet take a text for a formula, at its beginning; the wide forms in some languages."""


def is_like_formula(text: str) -> bool:
    """Whether a spreadsheet might take the text for a formula."""
    return text.startswith(_STARTS)


def cell_text(text: str) -> str:
    """The text as a cell of a workbook may hold it: visible, and cut where it is too long."""
    shown = visible(text)
    units = shown.encode("utf-16-le")
    if len(units) <= 2 * MOST_IN_CELL:
        return shown
    return units[: 2 * (MOST_IN_CELL - len(_CUT))].decode("utf-16-le", "ignore") + _CUT


def csv_row(cells: Iterable[Any]) -> list[Any]:
    """The cells of a row of CSV: numbers as they are, texts in one line, none of them a formula."""
    return [_csv_text(cell) if isinstance(cell, str) else cell for cell in cells]


def _csv_text(text: str) -> str:
    """An apostrophe makes a spreadsheet keep the text."""
    return f"'{in_one_line(text)}" if is_like_formula(text) else in_one_line(text)


def json_text(answer: dict[str, Any]) -> str:
    """The answer as JSON that is fit to print: what would not be seen is escaped, and read again as it was."""
    told = json.dumps(answer, indent=2, ensure_ascii=False, allow_nan=False)
    return UNSEEN.sub(lambda sign: json.dumps(sign[0])[1:-1], told)

"""CSV files to cells: separators and encodings as suppliers have them, and no row lost to a stray quotation mark."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pandas as pd

from combo.problems import Place, Report
from combo.read.grid import CellGrid, Cells, Texts

MOST_BYTES = 300_000_000
"""Of a list: the longest price lists in use have a tenth of it."""
_MOST_LINES = 30  # of one row: a note in a cell has a few
_SEPARATOR_LINE = re.compile(r"sep=([,;\t|])\s*$", re.IGNORECASE)
_EXCEL_TEXT = re.compile(r'="(.*)"', re.DOTALL)

Row = tuple[int, list[str]]
"""A row, behind the number of its first line."""


def csv_grid(path: Path, shown: str, report: Report) -> CellGrid | None:
    """Cells of a CSV file; None, with a problem told, where it is not readable as one."""
    text = _text(path, shown, report)
    if text is None:
        return None
    begins, separator = _separator(text)
    body = text if begins == 1 else text.partition("\n")[2]
    cells = _plain_cells(body, separator) if _is_plain(body) else None
    if cells is not None:
        numbers = np.arange(len(cells[0]) if cells else 0, dtype=np.int64) + begins
    else:
        rows = list(_rows(body, separator, Place(shown), report, begins))
        cells, numbers = _square([row for _, row in rows]), np.array([line for line, _ in rows], dtype=np.int64)
    columns = [Texts.from_cells(own) for own in cells]
    if '="' in body:
        columns = [own.changed(_unwrapped) for own in columns]
    return CellGrid(shown, None, columns, numbers, decimal_comma=separator == ";", ragged=True)


def _text(path: Path, shown: str, report: Report) -> str | None:
    """The file's text: UTF-8 or UTF-16, else as Windows writes it in the West, which is told."""
    if path.stat().st_size > MOST_BYTES:
        report.add(
            Place(shown),
            "too-large",
            f"{path.stat().st_size / 1e6:,.0f} MB",
            f"lists up to {MOST_BYTES / 1e6:,.0f} MB are read",
        )
        return None
    raw = path.read_bytes()
    encoding = "utf-16" if raw[:2] in {b"\xff\xfe", b"\xfe\xff"} else "utf-8-sig"
    try:
        return raw.decode(encoding)
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
    if encoding == "utf-16" or b"\0" in raw[:4096]:
        report.add(Place(shown, row=line), "not-a-list", "no text", "a CSV or XLSX list is expected here")
        return None
    report.notice(
        Place(shown, row=line),
        "not-utf-8",
        "text that is not UTF-8",
        "it is read as Windows-1252",
        "Save the list as CSV UTF-8 if a sign looks wrong",
    )
    return raw.decode("cp1252", errors="replace")


def _separator(text: str) -> tuple[int, str]:
    """The line that the list begins on, and its separator: the one named by a line `sep=;`, else the one that most of
    the first lines hold most of, outside quotes.
    """
    head = text[:20_000].splitlines()[:60]
    if head and (named := _SEPARATOR_LINE.fullmatch(head[0].strip("\ufeff "))):
        return 2, named[1]
    votes: Counter[str] = Counter()
    for line in head:
        bare = re.sub(r'"[^"]*"', "", line)
        counts = {mark: bare.count(mark) for mark in ",;\t|"}
        mark = max(counts, key=lambda mark: counts[mark])
        if counts[mark]:
            votes[mark] += counts[mark]
    return 1, max(",;\t|", key=lambda mark: votes[mark])


def _is_plain(text: str) -> bool:
    """Whether every line is a row and every separator ends a cell, so a quick reader sees what a careful one does."""
    return '"' not in text and "\0" not in text and "\r" not in text.replace("\r\n", "")


def _plain_cells(text: str, separator: str) -> Cells | None:
    """Cells of a list without quotes; None where a row has more cells than the first."""
    try:
        table = pd.read_csv(
            io.StringIO(text),
            sep=separator,
            header=None,
            dtype=object,
            na_filter=False,
            skip_blank_lines=False,
            quoting=csv.QUOTE_NONE,
            engine="c",
        )
    except (pd.errors.ParserError, pd.errors.EmptyDataError):
        return None
    return [own.to_numpy(dtype=object) for _, own in table.items()]


def _rows(text: str, separator: str, place: Place, report: Report, begins: int) -> Iterator[Row]:
    """Rows of a list with quotes, each as long as it must be; a line whose quotes do not close is told, and read as it
    stands.
    """
    lines = io.StringIO(text.replace("\0", ""), newline=None).read().split("\n")
    if lines and not lines[-1]:
        lines.pop()
    at, stray = 0, []
    while at < len(lines):
        count, row = _row(lines, at, separator)
        if count == 0:
            stray.append(at + begins)
            count, row = 1, lines[at].split(separator)
        yield at + begins, row
        at += count
    if stray:
        rows = "row" if len(stray) == 1 else f"{len(stray)} rows, the first here"
        report.notice(
            Place(place.file, row=stray[0]),
            "stray-quote",
            f"a quotation mark that does not close ({rows})",
            "each line is read as it stands",
        )


def _row(lines: list[str], at: int, separator: str) -> tuple[int, list[str]]:
    """How many lines the row has that begins at a line, and its cells; 0 lines where its quotes do not close."""
    if '"' not in lines[at]:
        return 1, lines[at].split(separator)
    for count in range(1, min(_MOST_LINES, len(lines) - at) + 1):
        whole = lines[at : at + count]
        try:
            row = next(csv.reader(["\n".join(whole)], delimiter=separator, strict=True), [""])
        except csv.Error as error:
            if "unexpected end" in str(error):
                continue
            return 0, []
        return (0, []) if any(_holds_rows(cell, separator, len(row)) for cell in row) else (count, row)
    return 0, []


def _holds_rows(cell: str, separator: str, width: int) -> bool:
    """Whether a cell looks as if it had swallowed rows: its lines hold about as many separators as a row does."""
    inner = cell.split("\n")[1:]
    return any(line.count(separator) >= max(2, (width - 1) // 2) for line in inner)


def _square(rows: list[list[str]]) -> Cells:
    """Rows of one width: the short ones filled with empty cells."""
    width = max(map(len, rows), default=0)
    cells = np.full((len(rows), width), "", dtype=object)
    for at, row in enumerate(rows):
        cells[at, : len(row)] = row
    return list(cells.T)


def _unwrapped(text: str) -> str:
    """A text that a spreadsheet is told to keep as one, `="0047120"`, without that wrapping."""
    return match[1].strip() if (match := _EXCEL_TEXT.fullmatch(text)) else text

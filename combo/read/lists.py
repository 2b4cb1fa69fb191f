"""Candidate lists to part tables: CSV and XLSX cells with their places, converted once per distinct text."""

from __future__ import annotations

import csv
import datetime
import io
import math
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pandas as pd

from combo.job import ListFile
from combo.parts import PLACE_COLUMNS, Field, Kind
from combo.problems import Place, Report, nearest
from combo.read.headers import WHEEL_SIZE, Header, dimension_of, meaning
from combo.units import UnitError, bolt_circle, money_cents, number, quantity

NAN = float("nan")
_YES, _NO = {"yes", "y", "true", "1", "x"}, {"no", "n", "false", "0", ""}
_WORDS = {
    "p": "passenger", "car": "passenger", "lt": "light_truck", "light truck": "light_truck",
    "r": "radial", "d": "bias", "b": "bias", "diagonal": "bias", "bias ply": "bias", "bias-ply": "bias",
    "lsd": "limited_slip", "limited slip": "limited_slip", "limited-slip": "limited_slip", "locker": "locked",
    "spool": "locked", "locking": "locked",
}  # fmt: skip
_ABSENT = {"", "-", "–", "—", "n/a", "na", "?", "tba", "tbd", "none"}


@dataclass(frozen=True)
class Sheet:
    """Cells of one list as texts: header and rows, each row with its spreadsheet number.

    `decimal_comma` says that a comma may be a decimal sign here, as in lists separated by semicolons.
    """

    file: str
    sheet: str | None
    header: list[str]
    rows: list[tuple[int, list[str]]]
    decimal_comma: bool = False

    def place(self, row: int | None = None, column: str | None = None) -> Place:
        """Place of a cell."""
        return Place(self.file, row, column, self.sheet)


def read_lists(
    kind: Kind, files: tuple[ListFile, ...], mapped: dict[str, str], report: Report
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """All lists of a kind as one part table, and the columns that no field claims, as they were typed.

    Returns
    -------
    table : DataFrame
        A row a part in the order of the files; a column a field, named with its unit; NaN or "" where absent.
    extra : DataFrame
        Same index; texts.
    """
    tables, extras = [], []
    for file in files:
        for sheet in _sheets(file, report):
            table, extra = _table(kind, sheet, mapped, report)
            tables.append(table)
            extras.append(extra)
    columns = [field.column for field in kind.fields]
    empty = _frame({column: [] for column in (*columns, *PLACE_COLUMNS)}, kind)
    table = pd.concat(tables, ignore_index=True) if tables else empty
    extra = pd.concat(extras, ignore_index=True).fillna("") if extras else pd.DataFrame()
    _tell_duplicates(kind, table, report)
    return table, extra


def _sheets(file: ListFile, report: Report) -> Iterator[Sheet]:
    path = Path(file.path)
    if not path.is_file():
        report.add(Place(file.shown), "missing-file", f'no file "{file.path}"', "a CSV or XLSX list is expected here",
                   "Paths are taken from the job file's folder")  # fmt: skip
        return
    sheet = _xlsx_sheet(file, report) if path.suffix.lower() in {".xlsx", ".xlsm"} else _csv_sheet(file, report)
    if sheet is not None:
        yield sheet


def _csv_sheet(file: ListFile, report: Report) -> Sheet | None:
    raw = Path(file.path).read_bytes()
    encoding = "utf-16" if raw[:2] in {b"\xff\xfe", b"\xfe\xff"} else "utf-8-sig"
    try:
        text = raw.decode(encoding)
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        report.add(Place(file.shown, row=line), "not-utf-8", "text that is not UTF-8", "save the list as CSV UTF-8")
        return None
    separator = _separator(text)
    try:
        cells = list(csv.reader(io.StringIO(text, newline=""), delimiter=separator))
    except csv.Error as error:
        report.add(Place(file.shown), "not-a-list", f"not readable as CSV: {error}", "a CSV list is expected here")
        return None
    return _sheet(file.shown, None, cells, report, decimal_comma=separator == ";")


def _separator(text: str) -> str:
    """The separator that the header line holds most of, outside quotes."""
    header = re.sub(r'"[^"]*"', "", next((line for line in text.splitlines() if line.strip()), ""))
    return max(",;\t", key=header.count)


def _xlsx_sheet(file: ListFile, report: Report) -> Sheet | None:
    import zipfile

    import openpyxl
    from openpyxl.utils.exceptions import InvalidFileException

    try:
        book = openpyxl.load_workbook(file.path, read_only=True, data_only=True)
    except (InvalidFileException, zipfile.BadZipFile, KeyError):
        report.add(Place(file.shown), "not-a-workbook", "not readable as XLSX", "an .xlsx or a .csv is accepted")
        return None
    try:
        name = _sheet_name(file, book.sheetnames, report)
        if name is None:
            return None
        cells = [[_cell_text(value) for value in row] for row in book[name].iter_rows(values_only=True)]
    finally:
        book.close()
    return _sheet(file.shown, name, cells, report)


def _sheet_name(file: ListFile, names: list[str], report: Report) -> str | None:
    if file.sheet is None and len(names) == 1:
        return names[0]
    if file.sheet in names:
        return file.sheet
    known = ", ".join(f'"{name}"' for name in names)
    found = f"{len(names)} sheets" if file.sheet is None else f'no sheet "{file.sheet}"'
    report.add(Place(file.shown), "which-sheet", found, f"the sheets are {known}",
               f'Write {{ path = "{file.shown}", sheet = "{names[0]}" }}')  # fmt: skip
    return None


def _cell_text(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.12g}"
    if isinstance(value, datetime.datetime | datetime.date | datetime.time):
        return f"{_DATE_MARK}{value.isoformat()}"
    return str(value)


_DATE_MARK = "date "
"""Stands before what a spreadsheet has turned into a date (5-1/4 often is), so that no number is read from it."""


def _sheet(
    file: str, name: str | None, cells: list[list[str]], report: Report, *, decimal_comma: bool = False
) -> Sheet | None:
    numbered = [(number_, [cell.strip() for cell in row]) for number_, row in enumerate(cells, start=1)]
    filled = [(number_, row) for number_, row in numbered if any(row)]
    if not filled:
        report.add(Place(file, table=name), "empty-file", "an empty list", "a row of headers and a row a part are expected")
        return None
    (header_row, header), rows = filled[0], filled[1:]
    while header and not header[-1]:
        header.pop()
    sheet = Sheet(file, name, header, rows, decimal_comma)
    if not rows:
        report.add(sheet.place(header_row), "empty-file", "headers without a row", "a row a part is expected")
    for number_, row in rows:
        if any(row[len(header) :]):
            report.add(sheet.place(number_), "too-many-cells", f"{len(row)} cells under {len(header)} headers",
                       "as many cells as headers", 'Put a text that holds the separator in "quotes"')  # fmt: skip
    return sheet


def _table(
    kind: Kind, sheet: Sheet, mapped: dict[str, str], report: Report
) -> tuple[pd.DataFrame, pd.DataFrame]:
    meanings = _meanings(kind, sheet, mapped, report)
    numbers = [number_ for number_, _ in sheet.rows]
    width = len(sheet.header)
    padded = [(row + [""] * width)[:width] for _, row in sheet.rows]
    texts = dict(zip(range(width), map(list, zip(*padded, strict=True)), strict=True)) if padded else {}
    columns: dict[str, list[Any]] = {}
    for field in kind.fields:
        at = next((i for i, header in meanings.items() if header.name == field.name), None)
        if at is None:
            columns[field.column] = [_blank(field)] * len(numbers)
        else:
            columns[field.column] = _column(field, sheet, at, meanings[at], texts.get(at, []), numbers, report)
    _split_sizes(kind, sheet, meanings, texts, columns, numbers, report)
    _tell_missing(kind, sheet, meanings, columns, numbers, report)
    columns.update(file=[sheet.file] * len(numbers), sheet=[sheet.sheet or ""] * len(numbers), row=numbers)
    extra = {sheet.header[i] or f"column {i + 1}": texts.get(i, []) for i in range(width) if i not in meanings}
    return _frame(columns, kind), pd.DataFrame(extra, index=range(len(numbers)), dtype=object)


def _meanings(kind: Kind, sheet: Sheet, mapped: dict[str, str], report: Report) -> dict[int, Header]:
    meanings: dict[int, Header] = {}
    _tell_bad_mappings(kind, sheet, mapped, report)
    for i, header in enumerate(sheet.header):
        found = meaning(header, kind, mapped)
        if found is None:
            continue
        twin = next((j for j, other in meanings.items() if other.name == found.name), None)
        if twin is not None:
            report.add(sheet.place(1, header), "duplicate-column", f'means {found.name}, as does "{sheet.header[twin]}"',
                       "one column for each is accepted",
                       f'Map one of them in [files.headers.{kind.plural}]')  # fmt: skip
            continue
        meanings[i] = found
    return meanings


def _tell_bad_mappings(kind: Kind, sheet: Sheet, mapped: dict[str, str], report: Report) -> None:
    for word, ours in mapped.items():
        if word in sheet.header and meaning(ours, kind, {}) is None:
            near = nearest(ours, [field.name for field in kind.fields])
            hint = f'the nearest known is "{near}"' if near else "see the README for the columns of a list"
            report.add(sheet.place(1, word), "unknown-field", f'mapped to "{ours}", which no {kind.name} has', hint)


def _column(
    field: Field, sheet: Sheet, at: int, header: Header, texts: list[str], numbers: list[int], report: Report
) -> list[Any]:
    """Values of one column; each distinct text is converted once, and a bad one is told at every row that holds it."""
    known: dict[str, Any] = {}
    bad: dict[str, UnitError] = {}
    for text in dict.fromkeys(texts):
        try:
            known[text] = _value(field, text, header.unit, sheet.decimal_comma)
        except UnitError as error:
            bad[text], known[text] = error, _blank(field)
    if bad:
        for number_, text in zip(numbers, texts, strict=True):
            if text in bad:
                error = bad[text]
                report.add(sheet.place(number_, sheet.header[at]), error.word, error.found, error.accepted, error.hint)
    return [known[text] for text in texts]


def _value(field: Field, text: str, unit: str | None, decimal_comma: bool) -> Any:
    if text.casefold() in _ABSENT and not field.type == "flag":
        return _blank(field)
    if text.startswith(_DATE_MARK) and field.type != "text":
        raise UnitError("a-date", f'found the {text}', "a size is accepted",
                        "The spreadsheet turned it into a date: format the cells as text and type it again")  # fmt: skip
    return _CONVERTERS[field.type](field, text, unit, decimal_comma)


def _size(field: Field, text: str, unit: str | None, decimal_comma: bool) -> float:
    dimension = dimension_of(field)
    return _possible(field, quantity(text, dimension, bare_unit=unit or field.bare_unit, decimal_comma=decimal_comma), text)


def _plain(field: Field, text: str, unit: str | None, decimal_comma: bool) -> float:
    return _possible(field, float(number(text, decimal_comma=decimal_comma)), text)


def _count(field: Field, text: str, unit: str | None, decimal_comma: bool) -> float:
    plain = number(text.split("/")[0] if field.name == "load_index" else text)
    if plain.denominator != 1:
        raise UnitError("not-whole", f'found "{text}"', "a whole number is accepted")
    return _possible(field, float(plain), text)


def _money(field: Field, text: str, unit: str | None, decimal_comma: bool) -> float:
    return _possible(field, float(money_cents(text, decimal_comma=decimal_comma)), text)


def _bolt_circle(field: Field, text: str, unit: str | None, decimal_comma: bool) -> Any:
    return bolt_circle(f"{text} {unit}" if unit and text[-1:].isdigit() else text)


def _word(field: Field, text: str, unit: str | None, decimal_comma: bool) -> str:
    folded = text.casefold()
    word = _WORDS.get(folded, folded.replace(" ", "_"))
    if word not in field.words:
        raise UnitError("unknown-word", f'found "{text}"', f"accepted are: {', '.join(field.words)}")
    return word


def _flag(field: Field, text: str, unit: str | None, decimal_comma: bool) -> float:
    if text.casefold() in _YES | _NO:
        return float(text.casefold() in _YES)
    raise UnitError("unknown-word", f'found "{text}"', "yes or no is accepted")


def _text(field: Field, text: str, unit: str | None, decimal_comma: bool) -> str:
    return text.removeprefix(_DATE_MARK)


_CONVERTERS: dict[str, Callable[[Field, str, str | None, bool], Any]] = {
    "text": _text, "length": _size, "mass": _size, "money": _money, "number": _plain, "count": _count,
    "bolt_circle": _bolt_circle, "word": _word, "flag": _flag,
}  # fmt: skip


def _possible(field: Field, size: float, text: str) -> float:
    if not math.isfinite(size) or (field.least == "positive" and size <= 0) or (field.least == "zero" and size < 0):
        accepted = "a size above zero is accepted" if field.least == "positive" else "zero or more is accepted"
        raise UnitError("not-positive", f'found "{text}"', accepted)
    return size


def _blank(field: Field) -> Any:
    if field.type == "bolt_circle":
        return None
    return "" if field.type in {"text", "word"} else NAN


def _split_sizes(
    kind: Kind, sheet: Sheet, meanings: dict[int, Header], texts: dict[int, list[str]],
    columns: dict[str, list[Any]], numbers: list[int], report: Report,
) -> None:  # fmt: skip
    """A wheel's `15x8` fills rim diameter and rim width where their own columns leave them open."""
    at = next((i for i, header in meanings.items() if header.name == WHEEL_SIZE), None)
    if kind.name != "wheel" or at is None:
        return
    diameter, width = kind.field("rim_diameter"), kind.field("rim_width")
    for i, text in enumerate(texts.get(at, [])):
        match = re.fullmatch(r"\s*([\d. /]+?)\s*[xX×]\s*([\d. /-]+?)\s*(?:J{1,2}|in|\")?\s*", text)
        if not match:
            report.add(sheet.place(numbers[i], sheet.header[at]), "not-a-wheel-size", f'found "{text}"',
                       "rim diameter by rim width is accepted, such as 15x8 or 16 x 7 1/2")  # fmt: skip
            continue
        for field, part in ((diameter, match[1]), (width, match[2])):
            if math.isnan(columns[field.column][i]):
                columns[field.column][i] = quantity(part, dimension_of(field), bare_unit="in")


def _tell_missing(
    kind: Kind, sheet: Sheet, meanings: dict[int, Header], columns: dict[str, list[Any]], numbers: list[int],
    report: Report,
) -> None:  # fmt: skip
    """Fields that a part cannot be without: told once for an absent column, else row by row where a cell is empty."""
    names = {header.name: sheet.header[i] for i, header in meanings.items()}
    bad_cells = {(problem.place.row, problem.place.column) for problem in report.problems if problem.place.file == sheet.file}
    for field in kind.fields:
        if not field.must:
            continue
        given = field.name in names or (WHEEL_SIZE in names and field.name in {"rim_diameter", "rim_width"})
        if not given:
            near = nearest(field.name, sheet.header)
            hint = f'The nearest header is "{near}": map it in [files.headers.{kind.plural}]' if near else ""
            report.add(sheet.place(1), "missing-column", f"no column for {field.name}", f"every {kind.name} needs one", hint)
            continue
        header = names.get(field.name, names.get(WHEEL_SIZE))
        for number_, value in zip(numbers, columns[field.column], strict=True):
            if _is_blank(value) and (number_, header) not in bad_cells:
                report.add(sheet.place(number_, header), "empty-cell", "an empty cell", f"every {kind.name} needs {field.name}")


def place_of(row: pd.Series, column: str) -> Place:
    """Place of a field of a part, from the row of its table."""
    return Place(str(row["file"]), int(row["row"]), column, str(row["sheet"]) or None)


def _is_blank(value: Any) -> bool:
    return value is None or value == "" or (isinstance(value, float) and math.isnan(value))


def _frame(columns: dict[str, list[Any]], kind: Kind) -> pd.DataFrame:
    """Part table of the columns: a bolt circle becomes a lug count and a diameter, so that columns compare at once."""
    for field in kind.fields:
        if field.type == "bolt_circle":
            circles = columns.pop(field.column)
            lugs, diameter = field.columns
            columns[lugs] = [NAN if circle is None else float(circle.lug_count) for circle in circles]
            columns[diameter] = [NAN if circle is None else circle.diameter_mm for circle in circles]
    texts = {field.column for field in kind.fields if field.type in {"text", "word"}} | {"file", "sheet"}
    return pd.DataFrame({
        name: pd.Series(values, dtype=object if name in texts else ("int64" if name == "row" else "float64"))
        for name, values in columns.items()
    })  # fmt: skip


def _tell_duplicates(kind: Kind, table: pd.DataFrame, report: Report) -> None:
    repeated = table[table["sku"].duplicated(keep=False) & (table["sku"] != "")]
    for sku, rows in repeated.groupby("sku", sort=True):
        first = rows.iloc[0]
        for _, row in rows.iloc[1:].iterrows():
            report.add(place_of(row, "sku"), "duplicate-sku", f'found "{sku}" again',
                       f"each SKU once is accepted; it stands in {first['file']}, row {first['row']} already")  # fmt: skip

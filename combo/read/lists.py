"""Candidate lists to part tables: CSV and XLSX cells with their places, converted once per distinct text."""

from __future__ import annotations

import csv
import datetime
import io
import math
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, TypeVar

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from combo.fasteners import seat, thread
from combo.job import ListFile
from combo.parts import OFF, PLACE_COLUMNS, Field, Kind
from combo.problems import Place, Report, nearest
from combo.read.headers import WHEEL_SIZE, Header, dimension_of, folded, meaning
from combo.read.ranges import STEPS, TO_DRILL, Steps, is_range, is_to_drill, steps_of
from combo.units import DOLLAR, BoltCircle, Currency, UnitError, bolt_circle, measured, money_cents, normalized, number

Index = NDArray[np.int64]
Cells = list[NDArray[np.object_]]
"""Texts of a list by column, all of the same length; NaN where a short row has none."""
T = TypeVar("T")
NAN = float("nan")
_YES, _NO = {"yes", "y", "true", "1", "x"}, {"no", "n", "false", "0", ""}
_WORDS = {
    "p": "passenger", "car": "passenger", "lt": "light_truck", "light truck": "light_truck",
    "r": "radial", "d": "bias", "b": "bias", "diagonal": "bias", "bias ply": "bias", "bias-ply": "bias",
    "lsd": "limited_slip", "limited slip": "limited_slip", "limited-slip": "limited_slip", "locker": "locked",
    "spool": "locked", "locking": "locked",
}  # fmt: skip
_RIM_SIZE = r"\d[\d.,]*(?:(?:\s*-\s*|\s+)\d+\s*/\s*\d+)?|\d+\s*/\s*\d+"
_WHEEL_SIZE = re.compile(rf"({_RIM_SIZE})\s*[xX×]\s*({_RIM_SIZE})\s*(?:[jJ]{{1,2}}|in|\")?")
_OPEN_CIRCLE = BoltCircle(0, NAN)
"""What a bolt circle to order is until the job is at hand."""
_ABSENT = {"", "-", "–", "—", "n/a", "na", "?", "tba", "tbd", "none"}


HEADERS_COLUMN = "headers"
"""Column of a part table while it is read: the list's own header of every column that the list has, for `place_of`."""


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
        number: dict[str, int] = {}
        of = [number.setdefault(text.strip(), len(number)) for text in values]
        if codes.min(initial=0) < 0:
            of.append(number.setdefault("", len(number)))  # the last, as which a code of -1 counts
        return Texts(list(number), np.array(of, dtype=np.int64)[codes])

    def each(self, values: list[Any], dtype: Any = object) -> NDArray[Any]:
        """A value for each row, from one for each distinct text."""
        known = np.empty(len(values), dtype=dtype)
        known[:] = values
        taken: NDArray[Any] = known[self.of]
        return taken

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
        rows = np.flatnonzero(np.isin(self.of, list(bad)))
        return made, [(int(row), bad[int(self.of[row])]) for row in rows]


@dataclass(frozen=True)
class Sheet:
    """Cells of one list as texts, by column: header, columns, and the spreadsheet number of each row.

    `decimal_comma` says that a comma may be a decimal sign here, as in lists separated by semicolons; `supplier` whose
    list it is, `currency` in what the job counts its money.
    """

    file: str
    sheet: str | None
    header_row: int
    header: list[str]
    columns: list[Texts]
    numbers: Index
    decimal_comma: bool = False
    supplier: str = ""
    currency: Currency = DOLLAR

    def place(self, row: int | None = None, column: str | None = None) -> Place:
        """Place of a cell."""
        return Place(self.file, None if row is None else int(row), column, self.sheet)


def read_lists(
    kind: Kind, files: tuple[ListFile, ...], mapped: dict[str, str], report: Report, currency: Currency = DOLLAR
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """All lists of a kind as one part table, and the columns that no field claims, as they were typed.

    Prices come in the job's currency; a part belongs to the supplier that its row names, else to that of its file.

    Returns
    -------
    table : DataFrame
        A row a part in the order of the files; a column a field, named with its unit; NaN or "" where absent. Beside
        them stand PLACE_COLUMNS, for settling alone HEADERS_COLUMN, and where any cell states a plus-or-minus the
        column of that field with OFF behind its name; likewise STEPS and TO_DRILL where any is made to order.
    extra : DataFrame
        Same index; texts.
    """
    sheets = [replace(sheet, supplier=file.supplier, currency=currency)
              for file in files for sheet in _sheets(file, report)]  # fmt: skip
    _tell_unused_mappings(kind, sheets, mapped, report)
    tables, extras = [], []
    for sheet in sheets:
        table, extra = _table(kind, sheet, mapped, report)
        tables.append(table)
        extras.append(extra)
    table = pd.concat(tables, ignore_index=True) if tables else _no_parts(kind)
    extra = pd.concat(extras, ignore_index=True).fillna("") if extras else pd.DataFrame()
    tell_duplicates(table, report)
    return table, extra


def _no_parts(kind: Kind) -> pd.DataFrame:
    """The table of a kind of which there is no list."""
    columns = {name: own for field in kind.fields for name, own in _blanks(field, 0).items()}
    places = {name: np.empty(0, dtype=object) for name in (*PLACE_COLUMNS, HEADERS_COLUMN)}
    return _frame(columns | places)


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
        cells = _plain_cells(text, separator) if _is_plain(text) else None
        cells = _quoted_cells(text, separator) if cells is None else cells
    except csv.Error as error:
        report.add(Place(file.shown), "not-a-list", f"not readable as CSV: {error}", "a CSV list is expected here")
        return None
    return _sheet(file.shown, None, cells, report, decimal_comma=separator == ";")


def _is_plain(text: str) -> bool:
    """Whether every line is a row and every separator ends a cell, so that a quick reader sees what a careful one does.
    """
    return '"' not in text and "\0" not in text and "\r" not in text.replace("\r\n", "")


def _plain_cells(text: str, separator: str) -> Cells | None:
    """Cells of a list without quotes; None where a row has more cells than the first."""
    try:
        table = pd.read_csv(io.StringIO(text), sep=separator, header=None, dtype=object, na_filter=False,
                            skip_blank_lines=False, quoting=csv.QUOTE_NONE, engine="c")  # fmt: skip
    except (pd.errors.ParserError, pd.errors.EmptyDataError):
        return None
    return [own.to_numpy(dtype=object) for _, own in table.items()]


def _quoted_cells(text: str, separator: str) -> Cells:
    return _square(list(csv.reader(io.StringIO(text, newline=""), delimiter=separator)))


def _square(rows: list[list[str]]) -> Cells:
    """Rows of one width: the short ones filled with empty cells."""
    width = max(map(len, rows), default=0)
    cells = np.full((len(rows), width), "", dtype=object)
    for at, row in enumerate(rows):
        cells[at, : len(row)] = row
    return list(cells.T)


def _separator(text: str) -> str:
    """The separator that the header line holds most of, outside quotes."""
    line = re.search(r"[^\r\n]*\S[^\r\n]*", text)
    header = re.sub(r'"[^"]*"', "", line[0] if line else "")
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
        cells = _square([[_cell_text(value) for value in row] for row in book[name].iter_rows(values_only=True)])
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
    if isinstance(value, datetime.datetime) and value.time() == datetime.time():
        return DateText(value.date().isoformat())
    if isinstance(value, datetime.datetime | datetime.date | datetime.time):
        return DateText(value.isoformat())
    return str(value).strip()


def _sheet(
    file: str, name: str | None, cells: Cells, report: Report, *, decimal_comma: bool = False
) -> Sheet | None:
    columns = [Texts.from_cells(own) for own in cells]
    is_filled = np.zeros(len(cells[0]) if cells else 0, dtype=bool)
    for own in columns:
        is_filled |= own.each([bool(text) for text in own.distinct], bool)
    filled = np.flatnonzero(is_filled)
    if not len(filled):
        report.add(Place(file, table=name), "empty-file", "an empty list",
                   "a row of headers and a row a part are expected")  # fmt: skip
        return None
    header_row, rows = int(filled[0]) + 1, filled[1:]
    header = [own.distinct[own.of[filled[0]]] for own in columns]
    while header and not header[-1]:
        header.pop()
    kept = [Texts(own.distinct, own.of[rows]) for own in columns]
    sheet = Sheet(file, name, header_row, header, kept[: len(header)], rows + 1, decimal_comma)
    if not len(rows):
        report.add(sheet.place(header_row), "empty-file", "headers without a row", "a row a part is expected")
    _tell_too_many(sheet, kept[len(header) :], report)
    return sheet


def _tell_too_many(sheet: Sheet, beyond: list[Texts], report: Report) -> None:
    """Rows with cells beyond the headers."""
    width = np.zeros(len(sheet.numbers), dtype=np.int64)
    for at, own in enumerate(beyond, start=len(sheet.header) + 1):
        width = np.where(own.each([bool(text) for text in own.distinct], bool), at, width)
    for row in np.flatnonzero(width):
        report.add(sheet.place(sheet.numbers[row]), "too-many-cells",
                   f"{width[row]} cells under {len(sheet.header)} headers", "as many cells as headers",
                   'Put a text that holds the separator in "quotes"')  # fmt: skip


def _table(
    kind: Kind, sheet: Sheet, mapped: dict[str, str], report: Report
) -> tuple[pd.DataFrame, pd.DataFrame]:
    meanings, count = _meanings(kind, sheet, mapped, report), len(sheet.numbers)
    columns: dict[str, NDArray[Any]] = {}
    for field in kind.fields:
        at = next((i for i, header in meanings.items() if header.name == field.name), None)
        columns |= _blanks(field, count) if at is None else _column(field, sheet, at, meanings[at], report)
    columns["supplier"] = np.where(columns["supplier"] == "", sheet.supplier, columns["supplier"]).astype(object)
    _split_sizes(kind, sheet, meanings, columns, report)
    headers = _headers(kind, sheet, meanings)
    _tell_missing(kind, sheet, headers, columns, report)
    places = (("file", sheet.file, object), ("sheet", sheet.sheet or "", object), (HEADERS_COLUMN, headers, object))
    columns |= {name: _same(value, count, dtype) for name, value, dtype in places} | {"row": sheet.numbers}
    unclaimed = {i: header or f"column {i + 1}" for i, header in enumerate(sheet.header) if i not in meanings}
    extra = {header: sheet.columns[i].each([str(text) for text in sheet.columns[i].distinct])
             for i, header in unclaimed.items()}  # fmt: skip
    return _frame(columns), pd.DataFrame(extra, index=range(count), dtype=object)


def _meanings(kind: Kind, sheet: Sheet, mapped: dict[str, str], report: Report) -> dict[int, Header]:
    meanings: dict[int, Header] = {}
    _tell_bad_mappings(kind, sheet, mapped, report)
    for i, header in enumerate(sheet.header):
        found = meaning(header, kind, mapped)
        if found is None:
            continue
        twin = next((j for j, other in meanings.items() if other.name == found.name), None)
        if twin is not None:
            report.add(sheet.place(sheet.header_row, header), "duplicate-column",
                       f'means {found.name}, as does "{sheet.header[twin]}"',
                       "one column for each is accepted",
                       f'Map one of them in [files.headers.{kind.plural}]')  # fmt: skip
            continue
        meanings[i] = found
    return meanings


def _headers(kind: Kind, sheet: Sheet, meanings: dict[int, Header]) -> dict[str, str]:
    """The list's own header of every column of the part table; a wheel's size stands for what has no own column."""
    names = {header.name: sheet.header[i] for i, header in meanings.items()}
    if WHEEL_SIZE in names:
        names = {"rim_diameter": names[WHEEL_SIZE], "rim_width": names[WHEEL_SIZE]} | names
    return {column: names[field.name] for field in kind.fields if field.name in names for column in _columns(field)}


def _columns(field: Field) -> set[str]:
    return {field.column, *field.columns}


def _tell_bad_mappings(kind: Kind, sheet: Sheet, mapped: dict[str, str], report: Report) -> None:
    headers = {folded(header): header for header in sheet.header}
    for word, ours in mapped.items():
        header = headers.get(folded(word))
        if header and meaning(ours, kind, {}) is None:
            near = nearest(ours, [field.name for field in kind.fields])
            hint = f'the nearest known is "{near}"' if near else "see the README for the columns of a list"
            report.add(sheet.place(sheet.header_row, header), "unknown-field",
                       f'mapped to "{ours}", which no {kind.name} has', hint)  # fmt: skip


def _tell_unused_mappings(kind: Kind, sheets: list[Sheet], mapped: dict[str, str], report: Report) -> None:
    """Mapped words that no list of the kind has as a header, told at the first of them."""
    headers = [header for sheet in sheets for header in sheet.header if header]
    known = {folded(header) for header in headers}
    for word in mapped:
        if not sheets or (word.strip() and folded(word) in known):
            continue
        near = nearest(word, headers)
        accepted = f'the nearest header is "{near}"' if near else f"the headers are: {', '.join(headers)}"
        found = f'no list of {kind.plural} has the header "{word}" of [files.headers.{kind.plural}]'
        report.notice(sheets[0].place(sheets[0].header_row), "unused-mapping", found, accepted)


def _column(field: Field, sheet: Sheet, at: int, header: Header, report: Report) -> dict[str, NDArray[Any]]:
    """Values of one column; each distinct text is converted once, and a bad one is told at every row that holds it."""
    texts = sheet.columns[at]
    if field.type == "text":  # nothing can be wrong with it, and of a long list most are different
        return {field.column: texts.each(["" if text.casefold() in _ABSENT else str(text) for text in texts.distinct])}
    known, wrong = texts.converted(lambda text: _value(field, text, header.unit, sheet), _blank(field))
    _tell_wrong(sheet, at, wrong, report)
    return {name: texts.each(values, object if name.endswith(STEPS) else _dtype(field))
            for name, values in _by_column(field, known).items()}  # fmt: skip


def _tell_wrong(sheet: Sheet, at: int, wrong: list[tuple[int, UnitError]], report: Report) -> None:
    """Bad cells of one column."""
    for row, error in wrong:
        place = sheet.place(sheet.numbers[row], sheet.header[at])
        report.add(place, error.word, error.found, error.accepted, error.hint)


def _by_column(field: Field, values: list[Any]) -> dict[str, list[Any]]:
    """Values of a field by the columns of the part table: a bolt circle is a lug count and a diameter, a size may have
    its plus-or-minus beside it, or the steps that it is made in.
    """
    if field.type == "bolt_circle":
        lugs, diameter = field.columns
        are_open = [float(circle is _OPEN_CIRCLE) for circle in values]
        circles = [None if circle is _OPEN_CIRCLE else circle for circle in values]
        return {lugs: [NAN if circle is None else float(circle.lug_count) for circle in circles],
                diameter: [NAN if circle is None else circle.diameter_mm for circle in circles],
                } | ({field.name + TO_DRILL: are_open} if any(are_open) else {})  # fmt: skip
    offs = [getattr(size, "off", NAN) for size in values]
    beside: dict[str, list[Any]] = {} if all(math.isnan(off) for off in offs) else {field.column + OFF: offs}
    steps = [getattr(size, "steps", None) for size in values] if field.to_order else []
    return {field.column: values} | beside | ({field.column + STEPS: steps} if any(steps) else {})


def _blanks(field: Field, count: int) -> dict[str, NDArray[Any]]:
    """Columns of a field that the list has no column for."""
    return {name: _same(values[0], count, _dtype(field)) for name, values in _by_column(field, [_blank(field)]).items()}


def _same(value: Any, count: int, dtype: Any) -> NDArray[Any]:
    column = np.empty(count, dtype=dtype)
    column[:] = value
    return column


def _dtype(field: Field) -> Any:
    return object if field.is_text else np.float64


def _value(field: Field, text: str, unit: str | None, sheet: Sheet) -> Any:
    if text.casefold() in _ABSENT and field.type != "flag":
        return _blank(field)
    _refuse_date(text)
    if field.type == "money":
        cents = money_cents(text, decimal_comma=sheet.decimal_comma, currency=sheet.currency, bare=unit or "")
        return _possible(field, float(cents), text)
    return _CONVERTERS[field.type](field, text, unit, sheet.decimal_comma)


def _refuse_date(text: str) -> None:
    if isinstance(text, DateText):
        hint = "The spreadsheet turned it into a date: format the cells as text and type it again"
        raise UnitError("a-date", f"found the date {text}", "a size is accepted", hint)


class Size(float):
    """A size of a cell, and the plus-or-minus that the cell states for it; NaN where it states none.

    One that is made to order is NaN itself, and has its steps.
    """

    off: float
    steps: Steps | None

    def __new__(cls, size: float, off: float | None, steps: Steps | None = None) -> Size:
        """The size as a number, with its plus-or-minus or its steps beside it."""
        whole = super().__new__(cls, size)
        whole.off = NAN if off is None else off
        whole.steps = steps
        return whole


def _size(field: Field, text: str, unit: str | None, decimal_comma: bool) -> float:
    dimension = dimension_of(field)
    if dimension is None:
        raise AssertionError(f"{field.name} is converted as a size but has no dimension")
    if field.to_order and is_range(text):
        return Size(NAN, None, steps_of(text, bare_unit=unit or field.bare_unit, decimal_comma=decimal_comma))
    size, off = measured(text, dimension, bare_unit=unit or field.bare_unit, decimal_comma=decimal_comma)
    return Size(_possible(field, size, text), off)


def _plain(field: Field, text: str, unit: str | None, decimal_comma: bool) -> float:
    return _possible(field, float(number(text, decimal_comma=decimal_comma)), text)


def _count(field: Field, text: str, unit: str | None, decimal_comma: bool) -> float:
    single = text.split("/")[0] if field.name == "load_index" else text
    try:
        plain = number(single, decimal_comma=decimal_comma)
    except UnitError as error:
        raise UnitError(error.word, f'found "{text}"', error.accepted, error.hint) from error
    if plain.denominator != 1:
        raise UnitError("not-whole", f'found "{text}"', "a whole number is accepted")
    return _possible(field, float(plain), text)


def _bolt_circle(field: Field, text: str, unit: str | None, decimal_comma: bool) -> Any:
    if field.to_order and is_to_drill(text):
        return _OPEN_CIRCLE
    return bolt_circle(text, bare_unit=unit, decimal_comma=decimal_comma)


def _word(field: Field, text: str, unit: str | None, decimal_comma: bool) -> str:
    folded = text.casefold()
    word = _WORDS.get(folded, folded.replace(" ", "_"))
    if word not in field.words:
        raise UnitError("unknown-word", f'found "{text}"', f"accepted are: {', '.join(field.words)}")
    return word


def _seat(field: Field, text: str, unit: str | None, decimal_comma: bool) -> str:
    return seat(text, decimal_comma=decimal_comma)


def _thread(field: Field, text: str, unit: str | None, decimal_comma: bool) -> str:
    return thread(text)


def _flag(field: Field, text: str, unit: str | None, decimal_comma: bool) -> float:
    if text.casefold() in _YES | _NO:
        return float(text.casefold() in _YES)
    raise UnitError("unknown-word", f'found "{text}"', "yes or no is accepted")


_CONVERTERS: dict[str, Callable[[Field, str, str | None, bool], Any]] = {
    "length": _size, "mass": _size, "pressure": _size, "torque": _size,
    "number": _plain, "count": _count,
    "bolt_circle": _bolt_circle, "word": _word, "flag": _flag, "seat": _seat, "thread": _thread,
}  # fmt: skip


def _possible(field: Field, size: float, text: str) -> float:
    if not math.isfinite(size) or (field.least == "positive" and size <= 0) or (field.least == "zero" and size < 0):
        accepted = "a size above zero is accepted" if field.least == "positive" else "zero or more is accepted"
        raise UnitError("not-positive", f'found "{text}"', accepted)
    return size


def _blank(field: Field) -> Any:
    if field.type == "bolt_circle":
        return None
    return "" if field.is_text else NAN


def _split_sizes(
    kind: Kind, sheet: Sheet, meanings: dict[int, Header], columns: dict[str, NDArray[Any]], report: Report
) -> None:
    """A wheel's `15x8` fills rim diameter and rim width where their own columns leave them open."""
    at = next((i for i, header in meanings.items() if header.name == WHEEL_SIZE), None)
    if kind.name != "wheel" or at is None:
        return
    fields, texts = (kind.field("rim_diameter"), kind.field("rim_width")), sheet.columns[at]
    open_ = [NAN, NAN]
    sizes, wrong = texts.converted(
        lambda text: open_ if text.casefold() in _ABSENT else _wheel_size(fields, text, sheet.decimal_comma), open_
    )
    _tell_wrong(sheet, at, wrong, report)
    for field, own in zip(fields, zip(*sizes, strict=True), strict=True):
        filled = texts.each(list(own), np.float64)
        columns[field.column] = np.where(np.isnan(columns[field.column]), filled, columns[field.column])


def _wheel_size(fields: tuple[Field, Field], text: str, decimal_comma: bool) -> list[float]:
    """Rim diameter and rim width [mm] of a size such as `15x8`."""
    _refuse_date(text)
    accepted = "rim diameter by rim width is accepted, such as 15x8 or 16 x 7 1/2"
    match = _WHEEL_SIZE.fullmatch(normalized(text))
    if not match:
        raise UnitError("not-a-wheel-size", f'found "{text}"', accepted)
    try:
        return [_size(field, part, "in", decimal_comma) for field, part in zip(fields, match.groups(), strict=True)]
    except UnitError as error:
        raise UnitError(error.word, f'found "{text}"', accepted, error.hint) from error


def _tell_missing(
    kind: Kind, sheet: Sheet, headers: dict[str, str], columns: dict[str, NDArray[Any]], report: Report
) -> None:
    """Fields that a part cannot be without: told once for an absent column, else row by row where a cell is empty."""
    bad_cells = {problem.place for problem in report.problems}
    for field in kind.fields:
        if not field.must:
            continue
        if field.column not in headers:
            near = nearest(field.name, sheet.header)
            hint = f'The nearest header is "{near}": map it in [files.headers.{kind.plural}]' if near else ""
            report.add(sheet.place(sheet.header_row), "missing-column", f"no column for {field.name}",
                       f"every {kind.name} needs one", hint)  # fmt: skip
            continue
        values = columns[field.columns[0]]
        is_to_order = columns.get(field.name + TO_DRILL, np.zeros(len(values))) == 1.0
        for row in np.flatnonzero((pd.isna(values) | (values == "")) & ~is_to_order):
            place = sheet.place(sheet.numbers[row], headers[field.column])
            if place not in bad_cells:
                report.add(place, "empty-cell", "an empty cell", f"every {kind.name} needs {field.name}")


def place_of(row: pd.Series[Any], *columns: str) -> Place:
    """Place of a part's cell, from the row of its table: of the first of the columns that the row fills."""
    column = next((name for name in columns if not _is_blank(row[name])), columns[0])
    header = row[HEADERS_COLUMN].get(column)
    return Place(str(row["file"]), int(row["row"]), header, str(row["sheet"]) or None)


def _is_blank(value: Any) -> bool:
    return value is None or value == "" or (isinstance(value, float) and math.isnan(value))


def _frame(columns: Mapping[str, NDArray[Any]]) -> pd.DataFrame:
    """Part table of the columns."""
    return pd.DataFrame({name: pd.Series(own, dtype="int64" if name == "row" else own.dtype)
                         for name, own in columns.items()}, copy=False)  # fmt: skip


def tell_duplicates(table: pd.DataFrame, report: Report) -> None:
    """A SKU that stands in several rows is told at all but the first."""
    if table["sku"].is_unique:
        return
    repeated = table[table["sku"].duplicated(keep=False) & (table["sku"] != "")]
    for sku, rows in repeated.groupby("sku", sort=True):
        first = rows.iloc[0]
        for _, row in rows.iloc[1:].iterrows():
            there = f"{first['file']}, row {first['row']}"
            report.add(place_of(row, "sku"), "duplicate-sku", f'found "{sku}" again',
                       f"each SKU once is accepted; it stands in {there} already")  # fmt: skip

"""Candidate lists to part tables: each cell converted once per distinct text, and what cannot be read costs its row."""

from __future__ import annotations

import functools
import math
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from operator import itemgetter
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from combo.job import ListFile
from combo.parts import KINDS, OFF, PLACE_COLUMNS, Field, Kind
from combo.problems import Place, Report, nearest
from combo.read.cells import (
    NO_PRICE_WORD,
    NOT_SOLD,
    NOT_SOLD_WORD,
    OPEN_CIRCLE,
    SPREADS,
    Reader,
    blank,
    default_of,
    load_range,
)
from combo.read.delimited import csv_grid
from combo.read.designation import decode
from combo.read.grid import CellGrid, Index, Texts
from combo.read.headers import Dictionary, Header, decides, dimension_of, fields_of, folded, is_in_two
from combo.read.layout import Block, blocks, kind_of, letterhead_date
from combo.read.ranges import STEPS, TO_DRILL
from combo.read.report import ListReport, Why, row_of
from combo.units import DOLLAR, TRADE_CIRCLES_MM, Currency, UnitError

NAN = float("nan")
HEADERS_COLUMN = "headers"
"""Column of a part table while it is read: the list's own header of every column that the list has, for `place_of`."""
_EXAMPLE_UNITS = {"mm": ("inches", "in"), "kg": ("pounds", "lb"), "kpa": ("psi", "psi"), "n_m": ("pound-feet", "lb-ft")}
_WHY: dict[str, Why] = {NO_PRICE_WORD: "no price", NOT_SOLD_WORD: "not sold"}
_SHORT_CIRCLE = re.compile(rf"(?<![\d.,])(?:{'|'.join(f'{size:g}' for size in TRADE_CIRCLES_MM)})(?![\d.,])")


@dataclass(frozen=True)
class SheetRead:
    """What was taken for a list: where its header stands, how many rows hold parts, and what is not used.

    `rows` counts the parts before any is set aside; `notes` are rows that hold none, by number with their text.
    """

    file: str
    sheet: str
    header_row: int
    header: tuple[str, ...]
    rows: int
    date: str = ""
    supplier: str = ""
    notes: tuple[tuple[int, str], ...] = ()
    units: tuple[tuple[str, str], ...] = ()
    confirmed: bool = True


@dataclass(frozen=True)
class ListedParts:
    """All lists of a kind as one part table, the columns that no field claims, and what was taken for a list."""

    table: pd.DataFrame
    extra: pd.DataFrame
    sheets: tuple[SheetRead, ...]


@dataclass(frozen=True)
class Sheet:
    """One table of a list, with the rules of its file."""

    kind: Kind
    grid: CellGrid
    block: Block
    file: ListFile
    words: Dictionary
    currency: Currency = DOLLAR

    @property
    def header(self) -> list[str]:
        """Texts of the header, by column."""
        return self.block.header

    @functools.cached_property
    def numbers(self) -> Index:
        """Row numbers of the parts."""
        numbers: Index = self.grid.numbers[self.block.rows]
        return numbers

    def texts(self, at: int) -> Texts:
        """A column of the parts."""
        return self.grid.columns[at].of_rows(self.block.rows)

    def place(self, row: int | None = None, column: str | None = None) -> Place:
        """Place of a cell, of the row with that number; of the header where there is none."""
        return self.grid.place(self.block.header_rows[0] if row is None else row, column)

    def reader(self) -> Reader:
        """What reads its cells."""
        return Reader(
            self.kind,
            decimal_comma=self.grid.decimal_comma,
            currency=self.currency,
            price_factor=self.file.price_factor,
        )


@dataclass
class _FilledColumns:
    """Columns of a part table as they are filled."""

    count: int
    values: dict[str, NDArray[Any]] = field(default_factory=dict)

    def fill(self, name: str, texts: Texts, values: list[Any], own: Field, *, open_only: bool) -> None:
        """Values of a field, one for each distinct text; with `open_only` they fill what no other column has said."""
        for column, each in _by_column(own, values).items():
            dtype = object if column.endswith(STEPS) else _dtype(own)
            new = texts.each(each, dtype)
            if open_only and column in self.values:
                new = np.where(_are_open(self.values[column]), new, self.values[column])
            self.values[column] = new


def read_lists(
    kind: Kind, files: tuple[ListFile, ...], mapped: dict[str, str], report: ListReport, currency: Currency = DOLLAR
) -> ListedParts:
    """All lists of a kind, read.

    Prices come in the job's currency; a part belongs to the supplier that its row names, else to that of its file. The
    table has a row a part in the order of the files, those that are set aside among them; a column a field, named with
    its unit; NaN or "" where absent. Beside them stand PLACE_COLUMNS, for settling alone HEADERS_COLUMN, and where any
    cell states a plus-or-minus the column of that field with OFF behind its name; likewise STEPS and TO_DRILL where any
    is made to order.
    """
    sheets = [sheet for file in files for sheet in sheets_of(kind, file, mapped, report, currency)]
    _tell_unused_mappings(kind, sheets, mapped, report)
    tables, extras = [], []
    for sheet in sheets:
        table, extra = _table(sheet, report)
        tables.append(table)
        extras.append(extra)
    return ListedParts(
        pd.concat(tables, ignore_index=True) if tables else _no_parts(kind),
        pd.concat(extras, ignore_index=True).fillna("") if extras else pd.DataFrame(),
        tuple(_sheet_read(sheet) for sheet in sheets),
    )


def sheets_of(
    kind: Kind, file: ListFile, mapped: Mapping[str, str], report: Report, currency: Currency = DOLLAR
) -> Iterator[Sheet]:
    """The tables of a file that list a kind of part."""
    words = Dictionary(kind, {**mapped, **dict(file.headers)}, dict(file.units))
    grids = grids_of(file, report)
    taken = grids if len(grids) < 2 or file.sheet is not None else _of_kind(kind, words, grids, report)
    for grid in taken:
        yield from sheets_in(kind, file, grid, words, report, currency)


def sheets_in(
    kind: Kind, file: ListFile, grid: CellGrid, words: Dictionary, report: Report, currency: Currency = DOLLAR
) -> list[Sheet]:
    """The tables of one sheet of a file."""
    found = blocks(grid, words, file.header_row, file.skip_rows)
    if not found:
        is_asked = bool(file.header_row) and len(grid.numbers) > 0
        report.add(
            grid.place(file.header_row or None),
            "no-header" if is_asked else "empty-file",
            "an empty row" if is_asked else "an empty list",
            "a row of headers and a row a part are expected",
        )
    sheets = [Sheet(kind, grid, block, file, words, currency) for block in found]
    for sheet in sheets:
        if not len(sheet.block.rows):
            report.add(sheet.place(), "empty-file", "headers without a row", "a row a part is expected")
    return sheets


def grids_of(file: ListFile, report: Report) -> list[CellGrid]:
    """Cells of a file, sheet by sheet; [] with a problem told, where it is not readable."""
    path = Path(file.path)
    if path.exists() and not path.is_file():
        report.add(Place(file.shown), "not-a-file", "it is a folder, a pipe or a device", "a list is expected here")
        return []
    if not path.is_file():
        report.add(
            Place(file.shown),
            "missing-file",
            f'no file "{file.path}"',
            "a CSV or XLSX list is expected here",
            "Paths are taken from the job file's folder",
        )
        return []
    with path.open("rb") as opened:
        is_archive = opened.read(4) in {b"PK\x03\x04", b"PK\x05\x06", b"\xd0\xcf\x11\xe0"}
    if is_archive or path.suffix.lower() in {".xlsx", ".xlsm", ".xls", ".ods"}:
        from combo.read.spreadsheet import xlsx_grids  # takes long to load, and most lists are CSV

        return xlsx_grids(path, file.shown, file.sheet, report)
    grid = csv_grid(path, file.shown, report)
    return [] if grid is None else [grid]


def reads_as(kind: Kind, name: str, texts: list[str]) -> bool:
    """Whether at least a third of some texts read as the field that a header names; a unit may still be missing."""
    reader, right = Reader(kind, currency=DOLLAR), 0
    fields = SPREADS.get((kind.name, name), (name,))
    for text in texts:
        try:
            if fields[0] == "designation":
                decode(str(reader.values(name, text, None)[0]))
            elif kind.field(fields[0]).type == "text":
                reader.text(text)
            else:
                reader.values(name, text, None)
            right += 1
        except UnitError as error:
            right += error.word in {"no-unit", NO_PRICE_WORD, NOT_SOLD_WORD, "other-currency"}
    return 3 * right >= len(texts)


def _of_kind(kind: Kind, words: Dictionary, grids: list[CellGrid], report: Report) -> list[CellGrid]:
    """Sheets of a workbook whose header is one of the kind; the others are told."""
    known = {plural: Dictionary(own) for plural, own in KINDS.items()} | {kind.plural: words}
    kinds = [kind_of(grid, known, reads_as) for grid in grids]
    taken = [grid for grid, own in zip(grids, kinds, strict=True) if own == kind]
    for grid, own in zip(grids, kinds, strict=True):
        if taken and own != kind:
            looks = "no header of a list" if own is None else f"a header of {own.plural}"
            report.notice(grid.place(), "sheet-not-read", looks, f"it is not read as {kind.plural}")
    if not taken:
        names = ", ".join(f'"{grid.sheet}"' for grid in grids)
        report.add(
            Place(grids[0].file),
            "which-sheet",
            f"{len(grids)} sheets, none with a header of {kind.plural}",
            f"the sheets are {names}",
            f'Write {{ path = "{grids[0].file}", sheet = "{grids[0].sheet}" }}',
        )
    return taken


def _sheet_read(sheet: Sheet) -> SheetRead:
    return SheetRead(
        sheet.grid.file,
        sheet.grid.sheet or "",
        sheet.block.header_rows[0],
        tuple(sheet.header),
        len(sheet.numbers),
        sheet.file.date or letterhead_date(sheet.grid, sheet.block),
        sheet.file.supplier,
        sheet.block.notes,
        sheet.file.units,
        sheet.file.confirmed,
    )


def _no_parts(kind: Kind) -> pd.DataFrame:
    """The table of a kind of which there is no list."""
    columns = {name: own for field_ in kind.fields for name, own in _blanks(field_, 0).items()}
    places = {name: np.empty(0, dtype=object) for name in (*PLACE_COLUMNS, HEADERS_COLUMN)}
    return _frame(columns | places)


def _table(sheet: Sheet, report: ListReport) -> tuple[pd.DataFrame, pd.DataFrame]:
    meanings, count = meanings_of(sheet, report), len(sheet.numbers)
    columns = _FilledColumns(count)
    _read_columns(sheet, meanings, columns, report)
    for own in sheet.kind.fields:
        columns.values = _blanks(own, count) | columns.values
    _fill_defaults(sheet, columns, report)
    columns.values["supplier"] = np.where(
        columns.values["supplier"] == "", sheet.file.supplier, columns.values["supplier"]
    ).astype(object)
    headers = _headers(sheet, meanings)
    _tell_missing(sheet, headers, columns.values, report)
    _tell_too_many(sheet, report)
    _tell_not_sold(sheet, meanings, report)
    places = (
        ("file", sheet.grid.file, object),
        ("sheet", sheet.grid.sheet or "", object),
        (HEADERS_COLUMN, headers, object),
    )
    named = {name: _same(value, count, dtype) for name, value, dtype in places}
    order = [name for own in sheet.kind.fields for name in columns.values if name in _all_columns(own)]
    table = {name: columns.values[name] for name in order} | named | {"row": sheet.numbers}
    return _frame(table), _extra(sheet, meanings)


def _all_columns(own: Field) -> set[str]:
    return {*own.columns, own.column + OFF, own.column + STEPS, own.name + TO_DRILL}


def _extra(sheet: Sheet, meanings: dict[int, Header]) -> pd.DataFrame:
    """Columns that no field claims, as they were typed; of two of one name the second is numbered."""
    columns: dict[str, NDArray[Any]] = {}
    for at in range(len(sheet.grid.columns)):
        texts = sheet.texts(at)
        header = sheet.header[at] if at < len(sheet.header) else ""
        if at in meanings or (not header and not texts.are_filled().any()):
            continue
        name, number_ = header or f"column {at + 1}", 2
        while name in columns:
            name, number_ = f"{header} ({number_})", number_ + 1
        columns[name] = texts.each([str(text)[:1000] for text in texts.distinct])
    return pd.DataFrame(columns, index=range(len(sheet.numbers)), dtype=object)


def meanings_of(sheet: Sheet, report: Report) -> dict[int, Header]:
    """What each column of a list means, by its number; of two of one meaning the one whose words go first."""
    meanings: dict[int, Header] = {}
    _tell_bad_mappings(sheet, report)
    for at, header in enumerate(sheet.header):
        found = sheet.words.meaning(header)
        if found is None:
            continue
        other = next((i for i, own in meanings.items() if own.name == found.name), None)
        if other is not None and meanings[other].rank == found.rank:
            report.add(
                sheet.place(column=header),
                "duplicate-column",
                f'means {found.name}, as does "{sheet.header[other]}"',
                "one column for each is accepted",
                f'Write headers = {{ "{header}" = "..." }} for the one that is meant',
            )
        elif other is None:
            meanings[at] = found
        else:
            used, left = (other, at) if meanings[other].rank < found.rank else (at, other)
            if used == at:
                del meanings[other]
                meanings[at] = found
            report.notice(
                sheet.place(column=sheet.header[left]),
                "second-column",
                f'means {found.name}, as "{sheet.header[used]}" does, which is used',
                f'if not, write headers = {{ "{sheet.header[left]}" = "{found.name}" }}',
            )
    _tell_unused(sheet, meanings, report)
    return dict(sorted(meanings.items()))


def _tell_unused(sheet: Sheet, meanings: dict[int, Header], report: Report) -> None:
    """Columns that nothing uses, where they look as if they decided something."""
    known = {name for own in meanings.values() for name in fields_of(own.name)}
    for at, header in enumerate(sheet.header):
        own = decides(header, sheet.kind, known) if at not in meanings and header else None
        if own is not None:
            report.notice(
                sheet.place(column=header),
                "column-not-used",
                f"not used; it may be {own.replace('_', ' ')}",
                f'if it is, write headers = {{ "{header}" = "{own}" }}',
            )


def _headers(sheet: Sheet, meanings: dict[int, Header]) -> dict[str, str]:
    """The list's own header of every column of the part table; one of two fields stands for what has no own column."""
    names: dict[str, str] = {}
    for at, header in meanings.items():
        for name in fields_of(header.name):
            names.setdefault(name, sheet.header[at])
    names |= {header.name: sheet.header[at] for at, header in meanings.items()}
    return {
        column: names[own.name]
        for own in sheet.kind.fields
        if own.name in names
        for column in {own.column, *own.columns}
    }


def _tell_bad_mappings(sheet: Sheet, report: Report) -> None:
    headers = {folded(header): header for header in sheet.header}
    for word, ours in sheet.words.mapped.items():
        header = headers.get(folded(word))
        if header and Dictionary(sheet.kind).meaning(ours) is None:
            near = nearest(ours, [own.name for own in sheet.kind.fields])
            hint = f'the nearest known is "{near}"' if near else "see the README for the columns of a list"
            report.add(
                sheet.place(column=header), "unknown-field", f'mapped to "{ours}", which no {sheet.kind.name} has', hint
            )


def _tell_unused_mappings(kind: Kind, sheets: list[Sheet], mapped: dict[str, str], report: Report) -> None:
    """Mapped words that no list has as a header, told at the first: the job's of its kind, a rule's of its file."""
    _tell_unknown_words(sheets, mapped, f"[files.headers.{kind.plural}]", f"no list of {kind.plural} has", report)
    for shown in dict.fromkeys(sheet.grid.file for sheet in sheets):
        of_file = [sheet for sheet in sheets if sheet.grid.file == shown]
        for table, words in (("headers", of_file[0].file.headers), ("units", of_file[0].file.units)):
            _tell_unknown_words(of_file, [word for word, _ in words], f"its {table}", "the list does not have", report)


def _tell_unknown_words(sheets: list[Sheet], words: Iterable[str], where: str, who: str, report: Report) -> None:
    headers = [header for sheet in sheets for header in sheet.header if header]
    known = {folded(header) for header in headers}
    for word in words:
        if not sheets or (word.strip() and folded(word) in known):
            continue
        near = nearest(word, headers)
        accepted = f'the nearest header is "{near}"' if near else f"the headers are: {', '.join(headers)[:200]}"
        report.notice(sheets[0].place(), "unused-mapping", f'{who} the header "{word}" of {where}', accepted)


def _read_columns(sheet: Sheet, meanings: dict[int, Header], columns: _FilledColumns, report: ListReport) -> None:
    """All columns that mean something; those of one field first, so that those of several fill what is left open."""
    reader = sheet.reader()
    later: list[tuple[Field, Texts, list[Any]]] = []
    for at in sorted(meanings, key=lambda at: (is_in_two(meanings[at].name), at)):
        header, texts = meanings[at], sheet.texts(at)
        names = SPREADS.get((sheet.kind.name, header.name), (header.name,))
        fields = [sheet.kind.field(name) for name in names]
        known, wrong = _converted(reader, header, fields, texts)
        _tell_wrong(sheet, at, fields[0], header, wrong, report)
        _tell_short_circles(sheet, at, fields[0], texts, report)
        for place, own in enumerate(fields):
            values = list(map(itemgetter(place), known))
            if place == 0 and not is_in_two(header.name):
                columns.fill(own.name, texts, values, own, open_only=False)
            else:
                later.append((own, texts, values))
    for own, texts, values in later:
        columns.fill(own.name, texts, values, own, open_only=True)


def _converted(
    reader: Reader, header: Header, fields: list[Field], texts: Texts
) -> tuple[list[tuple[Any, ...]], list[tuple[int, UnitError]]]:
    """Values of the fields that a column fills, one a distinct text, and what is wrong by row."""
    if len(fields) > 1 or fields[0].type != "text":
        blanks = tuple(blank(own) for own in fields)
        return texts.converted(lambda text: reader.values(header.name, text, header.unit), blanks)
    wrong: list[tuple[int, UnitError]] = []
    plain = reader.texts(texts.distinct)
    if plain is None:
        plain, wrong = texts.converted(reader.text, "")
    return list(zip(map(load_range, plain) if header.name == "load_range" else plain)), wrong


def _tell_short_circles(sheet: Sheet, at: int, own: Field, texts: Texts, report: Report) -> None:
    """Circles that the list writes without their tenths."""
    if own.type != "bolt_circle":
        return
    short = sorted({match[0] for text in texts.present() if (match := _SHORT_CIRCLE.search(text))})
    if short:
        read = ", ".join(f"{size} as {TRADE_CIRCLES_MM[float(size)]:g} mm" for size in short)
        report.notice(sheet.place(column=sheet.header[at]), "short-circle", f"read {read}", "as the trade means it")


def _tell_wrong(
    sheet: Sheet, at: int, own: Field, header: Header, wrong: list[tuple[int, UnitError]], report: ListReport
) -> None:
    """Bad cells of one column: one that a part cannot be without costs its row, any other is left blank."""
    costs_row = own.must or own.blank_says or is_in_two(header.name)
    for row, error in wrong:
        place = sheet.place(sheet.numbers[row], sheet.header[at])
        told = (error.word, error.found, error.accepted, error.hint or _unit_hint(sheet, at, own, error))
        if costs_row or error.word in {"not-on-a-truck", "too-long", NOT_SOLD_WORD}:
            report.set_aside(_WHY.get(error.word, "not understood"), place, *told)
        else:
            report.notice(place, *told[:3], told[3] or "The cell is left blank")


def _unit_hint(sheet: Sheet, at: int, own: Field, error: UnitError) -> str:
    """The text that cures a column without a unit."""
    dimension = dimension_of(own)
    if error.word != "no-unit" or dimension is None:
        return ""
    name, unit = _EXAMPLE_UNITS[dimension.suffix]
    return f'If {name}, write units = {{ "{sheet.header[at]}" = "{unit}" }} for {sheet.grid.file}'


def _by_column(own: Field, values: list[Any]) -> dict[str, list[Any]]:
    """Values of a field by the columns of the part table: a bolt circle is a lug count and a diameter, a size may have
    its plus-or-minus beside it, or the steps that it is made in.
    """
    if own.type == "bolt_circle":
        lugs, diameter = own.columns
        are_open = [float(circle is OPEN_CIRCLE) for circle in values]
        circles = [None if circle is OPEN_CIRCLE else circle for circle in values]
        return {
            lugs: [NAN if circle is None else float(circle.lug_count) for circle in circles],
            diameter: [NAN if circle is None else circle.diameter_mm for circle in circles],
        } | ({own.name + TO_DRILL: are_open} if any(are_open) else {})
    if own.is_text:
        return {own.column: values}
    offs = [getattr(size, "off", NAN) for size in values]
    beside: dict[str, list[Any]] = {} if all(math.isnan(off) for off in offs) else {own.column + OFF: offs}
    steps = [getattr(size, "steps", None) for size in values] if own.to_order else []
    return {own.column: values} | beside | ({own.column + STEPS: steps} if any(steps) else {})


def _blanks(own: Field, count: int) -> dict[str, NDArray[Any]]:
    """Columns of a field that the list has no column for."""
    return {name: _same(values[0], count, _dtype(own)) for name, values in _by_column(own, [blank(own)]).items()}


def _fill_defaults(sheet: Sheet, columns: _FilledColumns, report: ListReport) -> None:
    """What a rule says of fields that the list leaves open."""
    reader = sheet.reader()
    for name, text in sheet.file.defaults:
        own = next((one for one in sheet.kind.fields if one.name == name), None)
        try:
            if own is None:
                near = nearest(name, [one.name for one in sheet.kind.fields])
                raise UnitError(
                    "unknown-field",
                    f'defaults name "{name}", which no {sheet.kind.name} has',
                    f'the nearest known is "{near}"' if near else "see the README",
                )
            value = default_of(reader, own, text)
        except UnitError as error:
            report.add(sheet.place(column=name), error.word, error.found, error.accepted, error.hint)
            continue
        every = Texts([text], np.zeros(columns.count, dtype=np.int64))
        columns.fill(name, every, [value], own, open_only=True)


def _are_open(column: NDArray[Any]) -> NDArray[np.bool_]:
    are_open: NDArray[np.bool_] = np.isnan(column) if column.dtype == np.float64 else pd.isna(column) | (column == "")
    return are_open


def _same(value: Any, count: int, dtype: Any) -> NDArray[Any]:
    column = np.empty(count, dtype=dtype)
    column[:] = value
    return column


def _dtype(own: Field) -> Any:
    return object if own.is_text else np.float64


def _tell_missing(sheet: Sheet, headers: dict[str, str], columns: dict[str, NDArray[Any]], report: ListReport) -> None:
    """Fields that a part cannot be without: told once for an absent column, else row by row where a cell is empty."""
    for own in sheet.kind.fields:
        if not own.must:
            continue
        values = columns[own.columns[0]]
        is_to_order = columns.get(own.name + TO_DRILL, np.zeros(len(values))) == 1.0
        empty = np.flatnonzero(_are_open(values) & ~is_to_order)
        if own.column not in headers and len(empty):
            near = nearest(own.name, [header for header in sheet.header if header])
            hint = f'The nearest header is "{near}": write headers = {{ "{near}" = "{own.name}" }}' if near else ""
            report.add(
                sheet.place(), "missing-column", f"no column for {own.name}", f"every {sheet.kind.name} needs one", hint
            )
            continue
        for row in empty:
            place = sheet.place(sheet.numbers[row], headers.get(own.column))
            why: Why = "no price" if own.name == "price" else "not understood"
            if row_of(place) not in report.aside:
                report.set_aside(why, place, "empty-cell", "an empty cell", f"every {sheet.kind.name} needs {own.name}")


def _tell_too_many(sheet: Sheet, report: ListReport) -> None:
    """Rows of a file with cells beyond its headers: a separator within a cell may have shifted them."""
    width = len(sheet.header)
    while width and not sheet.header[width - 1]:
        width -= 1
    if not sheet.grid.ragged or width == len(sheet.grid.columns):
        return
    last = np.zeros(len(sheet.numbers), dtype=np.int64)
    for at in range(width, len(sheet.grid.columns)):
        last = np.where(sheet.texts(at).are_filled(), at + 1, last)
    for row in np.flatnonzero(last):
        number = int(sheet.numbers[row])
        report.set_aside(
            "not understood",
            sheet.place(number),
            "too-many-cells",
            f"row {sheet.block.header_rows[0]} has {width} cells, row {number} has {last[row]}",
            "as many cells as headers",
            'Put a text that holds the separator in "quotes"',
        )


def _tell_not_sold(sheet: Sheet, meanings: dict[int, Header], report: ListReport) -> None:
    """Rows of which a column that is not used, such as a note, says that they are no longer sold."""
    for at in range(len(sheet.header)):
        if at in meanings:
            continue
        texts = sheet.texts(at)
        says_so = texts.each([text.casefold() in NOT_SOLD for text in texts.distinct], np.bool_)
        for row in np.flatnonzero(says_so):
            report.set_aside(
                "not sold",
                sheet.place(sheet.numbers[row], sheet.header[at]),
                NOT_SOLD_WORD,
                f'found "{texts.text(int(row))}"',
                "a part that is still sold is accepted",
            )


def are_on_truck(parts: pd.DataFrame) -> NDArray[np.bool_]:
    """Which parts of a table are on the truck already."""
    if "on_truck" not in parts:
        return np.zeros(len(parts), dtype=np.bool_)
    are: NDArray[np.bool_] = ~parts["on_truck"].isin(["", "no"]).to_numpy()
    return are


def place_of(row: pd.Series[Any], *columns: str) -> Place:
    """Place of a part's cell, from the row of its table: of the first of the columns that the row fills."""
    column = next((name for name in columns if not is_blank(row[name])), columns[0])
    return cell_place(row, row[HEADERS_COLUMN].get(column))


def cell_place(row: pd.Series[Any], header: str | None) -> Place:
    """Place of a part's cell under a header, from the row of its table."""
    return Place(str(row["file"]), int(row["row"]), header, str(row["sheet"]) or None)


def is_blank(value: Any) -> bool:
    """Whether a value of a part table says nothing."""
    return value is None or value == "" or (isinstance(value, float) and math.isnan(value))


def _frame(columns: Mapping[str, NDArray[Any]]) -> pd.DataFrame:
    """Part table of the columns."""
    return pd.DataFrame(
        {name: pd.Series(own, dtype="int64" if name == "row" else own.dtype) for name, own in columns.items()},
        copy=False,
    )


def tell_duplicates(table: pd.DataFrame, report: Report) -> None:
    """A SKU that stands in several rows is told at all but the first."""
    if table["sku"].is_unique:
        return
    repeated = table[table["sku"].duplicated(keep=False) & (table["sku"] != "")]
    for sku, rows in repeated.groupby("sku", sort=True):
        first = rows.iloc[0]
        for _, row in rows.iloc[1:].iterrows():
            there = f"{first['file']}, row {first['row']}"
            report.add(
                place_of(row, "sku"),
                "duplicate-sku",
                f'found "{sku}" again',
                f"each SKU once is accepted; it stands in {there} already",
            )

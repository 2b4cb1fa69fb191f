"""XLSX workbooks to cells: every cell that the sheet holds, as it shows it, in bounded memory and time."""

from __future__ import annotations

import datetime
import re
import warnings
import zipfile
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from openpyxl.cell.read_only import ReadOnlyCell
from openpyxl.reader.excel import ExcelReader
from openpyxl.worksheet._read_only import ReadOnlyWorksheet
from openpyxl.worksheet._reader import WorkSheetParser  # keeps merged cells and hidden rows, which the sheet drops

from combo.problems import Place, Report
from combo.read.grid import CellGrid, DateText, Texts

MOST_ROWS, MOST_COLUMNS = 1_048_576, 16_384  # of the format (ECMA-376)
MOST_CELLS = 8_000_000
MOST_PART_BYTES = 400_000_000
"""Of one part of a workbook, unpacked: a sheet of 200,000 rows by 25 columns has some 150 MB."""
MOST_PACKING = 200.0  # unpacked over packed: sheets pack to a tenth, repeated ones to a fiftieth
_SMALL_BYTES = 5_000_000  # what may be packed as it likes
_FILL_DOWN_CELLS = 2_000_000
_ROW_TAG, _CELL_TAG, _FORMULA_TAG = (re.compile(rb"<(?:\w{1,9}:)?%s[ />]" % name) for name in (b"row", b"c", b"f"))
_LONGEST_TAG = 16  # bytes of the beginning of a tag, at which two blocks may part
_OTHER_FORMATS = {
    b"\xd0\xcf\x11\xe0": "an old .xls workbook, or one with a password",
    b"%PDF": "a PDF",
    b"{\\rt": "a text document",
}
_ZEROS = re.compile(r"0{2,20}")
_UNIT_BEHIND = re.compile(r'[0#?./ ,]+(?:"([^"]{1,12})"|\\?\s*([A-Za-z]{1,4}))')
_SIGN_BEFORE = re.compile(r'\[\$([€£¥$])[^\]]*\]|"([€£¥])"|([€£¥])')


class _SheetsAlone(ExcelReader):  # type: ignore[misc]
    """Reads a workbook without its charts, at which a reader of cells fails."""

    def read_chartsheet(self, sheet: Any, rel: Any) -> None:
        """Pass over a sheet that is a chart."""


class _TooMuch(Exception):  # noqa: N818 - ends the reading of a sheet
    """A sheet beyond what is read, in words."""


def xlsx_grids(path: Path, shown: str, wanted: str | None, report: Report) -> list[CellGrid]:
    """Cells of all sheets of a workbook that hold any, or of the one that is wanted; [] with a problem told, where it
    is not readable as one.
    """
    if not _is_sound_archive(path, shown, report):
        return []
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of what a sheet may also hold and nobody reads: rules, pictures, controls
            return _grids(path, shown, wanted, report)
    except MemoryError:
        raise
    except _TooMuch as found:
        report.add(Place(shown), "too-large", str(found), "a smaller list is accepted")
    except Exception as error:  # a broken part makes the reader fail in any way whatever
        report.add(
            Place(shown),
            "not-a-workbook",
            f"not readable as XLSX ({type(error).__name__})",
            "an .xlsx or a .csv is accepted",
            "Open it and save it again as .xlsx",
        )
    return []


def _grids(path: Path, shown: str, wanted: str | None, report: Report) -> list[CellGrid]:
    reader = _SheetsAlone(path, read_only=True, data_only=True, keep_links=False)
    reader.read()
    book = reader.wb
    try:
        sheets = {sheet.title: sheet for sheet in book.worksheets if isinstance(sheet, ReadOnlyWorksheet)}
        if not sheets:
            report.add(Place(shown), "not-a-workbook", "a workbook without a sheet of cells", "a list is expected here")
        if wanted is not None and wanted not in sheets:
            known = ", ".join(f'"{name}"' for name in sheets)
            report.add(Place(shown), "which-sheet", f'no sheet "{wanted}"', f"the sheets are {known}")
            return []
        names = (
            [wanted]
            if wanted is not None
            else [name for name, sheet in sheets.items() if sheet.sheet_state == "visible"]
        )
        cells = [(_Cells(shown, name), sheets[name]) for name in names]
        for own, sheet in cells:
            own.take(sheet)
        return [own.grid(report) for own, _ in cells if own.rows or len(cells) == 1]
    finally:
        book.close()


def _is_sound_archive(path: Path, shown: str, report: Report) -> bool:
    """Look into the archive before it is unpacked: what it is, and how much of it there is."""
    with path.open("rb") as file:
        head = file.read(4)
    kind = _OTHER_FORMATS.get(head)
    try:
        with zipfile.ZipFile(path) as archive:
            parts = archive.infolist()
            names = {part.filename for part in parts}
            if "mimetype" in names or "content.xml" in names:
                kind = "an .ods workbook"
    except (zipfile.BadZipFile, OSError, NotImplementedError, ValueError):
        parts, names = [], set()
    if kind or not any(name.endswith("workbook.xml") for name in names):
        report.add(
            Place(shown),
            "not-a-workbook",
            f"not readable as XLSX{f': {kind}' if kind else ''}",
            "an .xlsx or a .csv is accepted",
            "Save it as .xlsx, without a password" if kind else "",
        )
        return False
    for part in parts:
        packing = part.file_size / max(part.compress_size, 1)
        if part.file_size > MOST_PART_BYTES or (part.file_size > _SMALL_BYTES and packing > MOST_PACKING):
            report.add(
                Place(shown),
                "too-large",
                f"{part.file_size / 1e6:,.0f} MB unpacked from "
                f"{part.compress_size / 1e6:,.2f} MB ({part.filename[:40]})",
                f"a workbook of less than {MOST_PART_BYTES / 1e6:,.0f} MB is accepted",
            )
            return False
    return True


@dataclass
class _Cells:
    """Cells of one sheet as they are gathered: texts by row and column, from 1."""

    file: str
    name: str
    rows: dict[int, dict[int, str]] = field(default_factory=dict)
    count: int = 0
    hidden: list[int] = field(default_factory=list)
    ranges: list[tuple[int, int, int, int]] = field(default_factory=list)

    def take(self, sheet: ReadOnlyWorksheet) -> None:
        """All cells of a sheet that hold anything, whatever size the sheet states for itself."""
        has_formulas = self._survey(sheet)
        with sheet._get_source() as source:
            parser = _parser(sheet, source, data_only=True)
            for number, cells in parser.parse():
                self._take_row(sheet, number, cells)
        if has_formulas:
            self._take_open_formulas(sheet)
        self.hidden = sorted(
            int(row)
            for row, own in parser.row_dimensions.items()
            if own.get("hidden") in {"1", "true"} and int(row) in self.rows
        )
        if parser.merged_cells is not None:
            self.ranges = [
                (own.min_row, own.max_row, own.min_col, own.max_col) for own in parser.merged_cells.mergeCell
            ]

    def _survey(self, sheet: ReadOnlyWorksheet) -> bool:
        """Whether a sheet holds formulas; one of too many rows or cells is not read at all."""
        rows = cells = 0
        has_formulas, before = False, b""
        with sheet._get_source() as source:
            while block := source.read(1 << 20):
                whole = before + block
                cut = whole.rfind(b"<", max(len(whole) - _LONGEST_TAG, 0))
                whole, before = (whole[:cut], whole[cut:]) if cut >= 0 else (whole, b"")
                rows += len(_ROW_TAG.findall(whole))
                cells += len(_CELL_TAG.findall(whole))
                has_formulas |= _FORMULA_TAG.search(whole) is not None
        if rows > MOST_ROWS or cells > MOST_CELLS:
            raise _TooMuch(f'{rows:,} rows and {cells:,} cells in sheet "{self.name}"')
        return has_formulas

    def _take_open_formulas(self, sheet: ReadOnlyWorksheet) -> None:
        """Formulas whose value nobody has saved, as they stand: a reader of cells knows by the = that none is there."""
        with sheet._get_source() as source:
            for number, cells in _parser(sheet, source, data_only=False).parse():
                for cell in cells:
                    if cell["data_type"] == "f" and cell["column"] not in self.rows.get(number, {}):
                        self.rows.setdefault(number, {})[cell["column"]] = f"{cell['value']}"[:40]

    def _take_row(self, sheet: ReadOnlyWorksheet, number: int, cells: list[dict[str, Any]]) -> None:
        if not 1 <= number <= MOST_ROWS:
            raise _TooMuch(f'row {number:,} in sheet "{self.name}", beyond the format\'s {MOST_ROWS:,}')
        row = self.rows.get(number, {})
        for cell in cells:
            if cell["value"] is None:
                continue
            if not 1 <= cell["column"] <= MOST_COLUMNS:
                raise _TooMuch(f'column {cell["column"]:,} in sheet "{self.name}", beyond the format\'s')
            text = _shown(sheet, cell)
            if text:
                row[cell["column"]] = text
        self.count += len(row)
        if self.count > MOST_CELLS:
            raise _TooMuch(f'more than {MOST_CELLS:,} cells in sheet "{self.name}"')
        if row:
            self.rows[number] = row

    def grid(self, report: Report) -> CellGrid:
        """The cells by column; merged ones hold their text in each row that they reach over."""
        self._fill_down()
        numbers = sorted(self.rows)
        used = sorted({column for row in self.rows.values() for column in row})
        is_dense = bool(used) and used[-1] <= 4 * len(used) + 16  # else some cells stand far from all others
        at_column = {column: column - 1 if is_dense else at for at, column in enumerate(used)}
        width = max(at_column.values(), default=-1) + 1
        cells = np.full((width, len(numbers)), "", dtype=object)
        for at, number in enumerate(numbers):
            for column, text in self.rows[number].items():
                cells[at_column[column], at] = text
        at_row = {number: at for at, number in enumerate(numbers)}
        merged = tuple(
            (at_row[top], at_column[left], min(right, width) - 1)
            for top, _, left, right in self.ranges
            if right > left and top in at_row and left in at_column
        )
        if self.hidden:
            rows = f"{len(self.hidden)} hidden rows" if len(self.hidden) > 1 else "a hidden row"
            report.notice(
                Place(self.file, row=self.hidden[0], table=self.name),
                "hidden-rows",
                rows,
                "hidden rows are read like all others",
            )
        return CellGrid(
            self.file,
            self.name,
            [Texts.from_cells(own) for own in cells],
            np.array(numbers, dtype=np.int64),
            merged=merged,
        )

    def _fill_down(self) -> None:
        """The text of cells that are merged over several rows, in each of them."""
        filled = 0
        for top, bottom, left, _ in self.ranges:
            text = self.rows.get(top, {}).get(left)
            for number in range(top + 1, bottom + 1) if text else ():
                if number in self.rows and filled < _FILL_DOWN_CELLS:
                    self.rows[number].setdefault(left, text or "")
                    filled += 1


def _parser(sheet: ReadOnlyWorksheet, source: Any, *, data_only: bool) -> WorkSheetParser:
    book: Any = sheet.parent
    return WorkSheetParser(
        source,
        sheet._shared_strings,
        data_only=data_only,
        epoch=book.epoch,
        date_formats=book._date_formats,
        timedelta_formats=book._timedelta_formats,
    )


def _shown(sheet: ReadOnlyWorksheet, cell: dict[str, Any]) -> str:
    """A cell's text as the sheet shows it."""
    value = cell["value"]
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        number_format = ReadOnlyCell(sheet, cell["row"], cell["column"], value, "n", cell["style_id"]).number_format
        return _shown_number(value, number_format or "General")
    if isinstance(value, datetime.datetime) and value.time() == datetime.time():
        return DateText(value.date().isoformat())
    if isinstance(value, datetime.datetime | datetime.date | datetime.time | datetime.timedelta):
        return DateText(value.isoformat() if not isinstance(value, datetime.timedelta) else str(value))
    return str(value).strip()


def _shown_number(value: float, number_format: str) -> str:
    """A number with what its format adds: leading zeros, a unit behind it, a currency before it.

    Examples
    --------
    >>> _shown_number(81709, "0000000"), _shown_number(4.25, '0.00" in"'), _shown_number(179, "[$€-407] 0.00")
    ('0081709', '4.25 in', '€179')
    """
    plain = f"{value:.12g}" if isinstance(value, float) else str(value)
    if number_format == "General":
        return plain
    positive = number_format.split(";")[0]
    if _ZEROS.fullmatch(positive):
        return plain.zfill(len(positive))
    if sign := _SIGN_BEFORE.search(positive):
        return f"{sign[1] or sign[2] or sign[3]}{plain}"
    unit = _UNIT_BEHIND.fullmatch(positive)
    return f"{plain} {(unit[1] or unit[2]).strip()}" if unit else plain

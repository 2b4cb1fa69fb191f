"""The shortlist as a workbook: builds, every check of each, rejected candidates with reasons, what must still be
measured, and the assumptions."""

from __future__ import annotations

import datetime
import io
import math
import re
import zipfile
from collections.abc import Iterable
from typing import Any

import pandas as pd
from openpyxl import Workbook
from openpyxl.cell import Cell
from openpyxl.styles import Alignment, Font, PatternFill
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.page import PageMargins
from openpyxl.worksheet.worksheet import Worksheet

from combo.checks import CHECKS
from combo.checks.check import Verdict
from combo.checks.run import Result
from combo.checks.table import Row
from combo.explain.missing import measurements, questions_left
from combo.explain.rejected import Rejected
from combo.job import CRITERIA, Job
from combo.parts import KINDS
from combo.read.load import Loaded
from combo.read.report import SetAside
from combo.search.topk import Ranked, Ranking, tightest_fit
from combo.show import words
from combo.show.assumptions import assumptions
from combo.show.plain import cell_text, is_like_formula
from combo.show.terminal import ballast_lines
from combo.units import POUND_KG

FORMAT = 1
_FIXED = datetime.datetime(2000, 1, 1)
_ZIP_DATE = (2000, 1, 1, 0, 0, 0)
_HEAD = PatternFill("solid", start_color="FFE7E3DA")
_NUMBER_FORMATS = {"cost": '"$"#,##0.00', "score": "0"}
_NUMBER = Alignment(vertical="top", wrap_text=True)
_TEXT = Alignment(horizontal="left", vertical="top", wrap_text=True, indent=1)  # keeps off the number on its left
_WIDEST = 44
_LINE_POINTS = 13.5
_BOLD = 1.2
"""How much wider bold text is."""
_PAGE = 170
"""Signs across a printed page that can still be read."""
_LONG_LIST = 5000
"""Parts of a list up to which the columns that no field claims are shown of each."""
_MOST_COLUMNS = 16_384
"""Columns of a sheet that the format allows."""
_TALLEST = 409.0
"""Points of the tallest row that the format allows."""
_TOO_LONG = "The lists are too long to try every part one by one. Ask of one with: combo why JOB --wheel SKU"


def workbook(loaded: Loaded, ranking: Ranking, rejects: Iterable[Rejected] | None) -> bytes:
    """The workbook's bytes: the same for the same input. Without `rejects` no part is told of by itself."""
    job = loaded.job
    book = Workbook()
    book.remove(book.active)
    _sheet(book, "Builds", _build_headers(job), [_build_cells(job, ranking, one) for one in ranking.ranked])
    _sheet(
        book,
        "Checks",
        [
            "rank",
            "check",
            "where",
            "state",
            "answer",
            "room",
            "nominal",
            "worst case",
            "chance to clear",
            "unit",
            "value",
            "limit",
            "note",
        ],
        [cells for one in ranking.ranked for cells in _check_cells(one)],
    )
    _sheet(
        book,
        "Told",
        ["rank", "what", "where", "amount", "how to take it"],
        [cells for one in ranking.ranked for cells in _fact_cells(job, one)],
    )
    _sheet(
        book,
        "Bill",
        ["rank", "line", "where", "quantity", "cost"],
        [cells for one in ranking.ranked for cells in _bill_cells(one)],
    )
    _sheet(
        book,
        "Points",
        ["rank", *CRITERIA],
        [[one.rank, *(one.points[name] for name in CRITERIA)] for one in ranking.ranked],
    )
    _sheet(
        book,
        "Rejected",
        ["kind", "SKU", "closest try", "what stands in the way"],
        [["", "", "", _TOO_LONG]] if rejects is None else [_reject_cells(job, one) for one in rejects],
    )
    _sheet(book, "To measure", ["what", "of", "how", "needed for"], _need_rows(loaded, ranking))
    names = {check.id: check.name for check in CHECKS}
    removed = [[names[one.check], one.kind, one.alone, one.first, one.unverified] for one in ranking.space.removed]
    _sheet(book, "Removed", ["check", "candidates", "alone", "first", "of those alone, not verified"], removed)
    aside = [_aside_cells(plural, one) for plural, every in loaded.aside.items() for one in every]
    if aside:
        _sheet(book, "Set aside", ["list", "file", "sheet", "row", "why", "what"], aside)
    for plural, extra in loaded.parts.extra.items():
        if len(extra.columns):
            skus, kept = _kept(ranking, plural, loaded.parts.table(plural)["sku"], extra)
            kept = kept.iloc[:, : _MOST_COLUMNS - 1]
            rows = [[sku, *cells] for sku, cells in zip(skus, kept.astype(str).values.tolist(), strict=True)]
            _sheet(book, f"Kept {plural}", ["SKU", *(str(name) for name in kept.columns)], rows)
    _sheet(
        book,
        "Assumptions",
        ["subject", "what was assumed"],
        [*assumptions(loaded, ranking), *_columns_left_out(loaded)],
    )
    book.properties.creator = "combo"
    book.properties.created = book.properties.modified = _FIXED
    return _same_bytes(book)


def _aside_cells(plural: str, one: SetAside) -> list[Any]:
    """A row of a list that is not used, and why."""
    place = one.problem.place
    return [plural, place.file, place.table or "", place.row, one.why, one.problem.found]


def _kept(ranking: Ranking, plural: str, skus: pd.Series[Any], extra: pd.DataFrame) -> tuple[list[str], pd.DataFrame]:
    """SKUs and unclaimed columns of every part; of a long list, of the parts on the shortlist."""
    if len(skus) <= _LONG_LIST:
        return list(skus), extra
    space, kind = ranking.space, KINDS[plural].name
    listed = {
        sku
        for table in (space.front, space.rear, space.drive)
        if f"{kind}.sku" in table
        for sku in table[f"{kind}.sku"]
    }
    at = skus.isin(listed)
    return list(skus[at]), extra[at.to_numpy()]


def _columns_left_out(loaded: Loaded) -> Iterable[list[str]]:
    """A line for each list with more unclaimed columns than a sheet holds beside the SKU."""
    most = _MOST_COLUMNS - 1
    for plural, extra in loaded.parts.extra.items():
        left = len(extra.columns) - most
        if left > 0:
            told = f"the first {most:,} columns that no check uses; {left:,} more are left out: a sheet holds no more"
            yield [f"sheet Kept {plural}", told]


def _build_headers(job: Job) -> list[str]:
    mass = "kg" if words.is_metric(job) else "lb"
    return [
        "rank",
        "unbeaten",
        "score",
        "front wheel",
        "front tire",
        "front spacer",
        "rear wheel",
        "rear tire",
        "rear spacer",
        "ratio",
        "differential",
        "ballast",
        "cost",
        "cruise rpm",
        f"rear load {mass}",
        f"front load {mass}",
        "tightest fit",
        "binding constraint",
        "not verified",
    ]


def _build_cells(job: Job, ranking: Ranking, one: Ranked) -> list[Any]:
    space, builds = ranking.space, ranking.builds
    front, rear = Row(space.front, builds.front[one.at]), Row(space.rear, builds.rear[one.at])
    drive = Row(space.drive, builds.drive[one.at])
    unit = 1000.0 if words.is_metric(job) else 1000.0 * POUND_KG
    open_ones = [result for result in one.checks if result.verdict is Verdict.UNVERIFIED]
    return [
        one.rank,
        "yes" if one.unbeaten else "no",
        one.score,
        *(row[f"{kind}.sku"] for row in (front, rear) for kind in ("wheel", "tire", "spacer")),
        drive["ratio.sku"],
        drive["differential.sku"],
        "; ".join(line.removeprefix("ballast ") for line in ballast_lines(ranking.space, ranking.builds, one.at)),
        one.totals["cost_cents"] / 100.0,
        _rounded(drive["drive.rpm"], 0),
        _rounded(one.totals["rear_light_g"] / unit, 1),
        _rounded(one.totals["front_light_g"] / unit, 1),
        words.in_short(job, tightest_fit(one.checks)),
        words.in_short(job, one.binding),
        "; ".join(words.named(result) for result in open_ones),
    ]


def _check_cells(one: Ranked) -> Iterable[list[Any]]:
    for result in one.checks:
        amounts = (_rounded(size, 4) for size in (result.margin, result.nominal, result.worst, result.chance))
        yield [
            one.rank,
            result.check.name,
            result.where,
            result.state or "",
            result.verdict.value,
            *amounts,
            words.unit_name(result.check.unit),
            result.value,
            result.limit,
            result.note,
        ]


def _fact_cells(job: Job, one: Ranked) -> Iterable[list[Any]]:
    for fact in one.facts:
        yield [one.rank, fact.name, fact.where, words.fact_amount(job, fact), fact.note]


def _bill_cells(one: Ranked) -> Iterable[list[Any]]:
    for line in one.bill:
        yield [one.rank, line.what, line.where or "truck", line.count, line.cents / 100.0]
    yield [one.rank, "in all", "truck", "", one.totals["cost_cents"] / 100.0]


def _reject_cells(job: Job, one: Rejected) -> list[Any]:
    if one.failing:
        reason = "; ".join(_failing(job, result) for result in one.failing)
    elif one.proven:
        reason = "passes its own checks, but no whole build with it passes them all"
    else:
        reason = "passes its own checks; no whole build with it was found before the time limit"
    return [one.kind, one.sku, one.tried, reason]


def _failing(job: Job, result: Result) -> str:
    sides = words.both_sides(job, result)
    told = words.in_short(job, result) + (f" ({sides})" if sides else "")
    missing = "; ".join(need.text() for need in result.needs)
    return f"{told}, to find out: {missing}" if missing else told


def _need_rows(loaded: Loaded, ranking: Ranking) -> list[list[Any]]:
    """What the truck still lacks, then what is to be asked of the parts that are left."""
    lines = [
        [line.key.replace("_", " "), f"truck, {line.table}", line.how, "; ".join(line.checks)]
        for line in measurements(loaded.job)
        if line.checks
    ]
    return lines + [
        [one.name.replace("_", " "), f"{one.kind} {sku}", one.how, "; ".join(one.checks)]
        for one in questions_left(ranking.reduced, ranking.left)
        for sku in one.skus
    ]


def _sheet(book: Workbook, title: str, headers: list[str], rows: Iterable[list[Any]]) -> None:
    sheet = book.create_sheet(title)
    for at, row in enumerate([headers, *rows], start=1):
        for column, value in enumerate(row, start=1):
            cell = sheet.cell(at, column)
            if isinstance(value, str):
                _write_text(cell, value)
            elif value is not None:
                cell.value = value.item() if hasattr(value, "item") else value
            cell.alignment = _TEXT if isinstance(value, str) else _NUMBER
    _dress(sheet, headers)


def _write_text(cell: Cell, text: str) -> None:
    """Text stays text, also where it begins with "=" and somebody edits the cell."""
    cell.value, cell.data_type = cell_text(text), "s"
    if is_like_formula(text):
        cell.quotePrefix = True


def _dress(sheet: Worksheet, headers: list[str]) -> None:
    for cell in sheet[1]:
        cell.font, cell.fill = Font(bold=True), _HEAD
    for header, cells in zip(headers, sheet.iter_cols(), strict=True):  # each cell looked at once: there may be many
        letter = cells[0].column_letter
        texts = [str(cell.value) for cell in cells if cell.value is not None]
        longest = max((len(line) for text in texts[1:] for line in text.split("\n")), default=0)
        sheet.column_dimensions[letter].width = min(_WIDEST, max(longest, min(len(header), 12)) + 3)
        if header in _NUMBER_FORMATS:
            for cell in cells[1:]:
                cell.number_format = _NUMBER_FORMATS[header]
    for row in sheet.iter_rows():
        lines = max(
            (
                math.ceil(_characters(cell) / sheet.column_dimensions[cell.column_letter].width)
                for cell in row
                if cell.value is not None
            ),
            default=1,
        )
        sheet.row_dimensions[row[0].row].height = min(_TALLEST, _LINE_POINTS * max(1, lines))
    sheet.freeze_panes = "A2"
    _lay_out_pages(sheet)


def _characters(cell: Cell) -> float:
    """How long a cell's text is, in characters of plain width."""
    return len(str(cell.value)) * (_BOLD if cell.font.bold else 1.0)


def _lay_out_pages(sheet: Worksheet) -> None:
    """Printed as many pages across as it takes to be read, with the header and the first column on each."""
    total = sum(sheet.column_dimensions[get_column_letter(at + 1)].width for at in range(sheet.max_column))
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = math.ceil(total / _PAGE), 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    sheet.page_margins = PageMargins(left=0.4, right=0.4, top=0.5, bottom=0.5)
    sheet.print_title_rows, sheet.print_title_cols = "1:1", "A:A"


def _rounded(size: float, digits: int) -> float | None:
    return None if size != size else round(float(size), digits) + 0.0


def _same_bytes(book: Workbook) -> bytes:
    """Saved, with the dates that the writer puts in replaced by a fixed one."""
    saved, out = io.BytesIO(), io.BytesIO()
    book.save(saved)
    with zipfile.ZipFile(saved) as source, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as target:
        for entry in source.infolist():
            content = source.read(entry)
            if entry.filename == "docProps/core.xml":
                content = re.sub(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", b"2000-01-01T00:00:00Z", content)
            fixed = zipfile.ZipInfo(entry.filename, _ZIP_DATE)
            fixed.compress_type = zipfile.ZIP_DEFLATED
            target.writestr(fixed, content)
    return out.getvalue()

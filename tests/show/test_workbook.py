"""The workbook against the model that it was written from."""

import dataclasses
import io

import openpyxl
import pandas as pd
import pytest

from combo.deadline import Clock
from combo.explain.rejected import rejected
from combo.problems import Place, Problem
from combo.read.lists import SheetRead
from combo.read.report import SetAside
from combo.show.workbook import workbook


@pytest.fixture(scope="module")
def written(example, ranking):
    return workbook(example, ranking, rejected(example.job, example.parts, ranking, Clock()))


@pytest.fixture(scope="module")
def book(written):
    return openpyxl.load_workbook(io.BytesIO(written))


def test_costs_in_the_sheet_are_those_of_the_model(book, ranking):
    sheet = book["Builds"]
    column = next(cell.column for cell in sheet[1] if cell.value == "cost")
    told = [round(sheet.cell(row, column).value * 100) for row in range(2, sheet.max_row + 1)]
    assert told == [round(one.totals["cost_cents"]) for one in ranking.ranked]


def test_every_check_of_every_build_has_a_row(book, ranking):
    assert book["Checks"].max_row == 1 + sum(len(one.checks) for one in ranking.ranked)


def test_unclaimed_columns_are_kept(book):
    assert [cell.value for cell in book["Kept tires"][1]] == ["SKU", "Rack"]


def test_every_rejected_part_has_a_reason(book):
    assert all(row[3] for row in book["Rejected"].iter_rows(min_row=2, values_only=True))


def test_the_same_answer_gives_the_same_bytes(written, example, ranking):
    again = workbook(example, ranking, rejected(example.job, example.parts, ranking, Clock()))
    assert again == written


def test_text_that_looks_like_a_formula_stays_text(example, ranking):
    about = dataclasses.replace(example.job.job, name="=1+1")
    loaded = dataclasses.replace(example, job=dataclasses.replace(example.job, job=about))
    sheet = openpyxl.load_workbook(io.BytesIO(workbook(loaded, ranking, [])))["Assumptions"]
    cell = next(row[1] for row in sheet.iter_rows() if row[0].value == "job")
    assert (cell.value, cell.data_type) == ("=1+1", "s")


def test_the_builds_print_on_as_many_pages_across_as_can_be_read(book):
    sheet = book["Builds"]
    assert sheet.page_setup.fitToWidth > 1
    assert (sheet.print_title_rows, sheet.print_title_cols) == ("$1:$1", "$A:$A")
    assert book["Bill"].page_setup.fitToWidth == 1


def test_a_long_header_has_as_many_lines_as_it_takes(book):
    sheet = book["Removed"]
    assert len(sheet["E1"].value) > sheet.column_dimensions["E"].width
    assert sheet.row_dimensions[1].height > sheet.row_dimensions[2].height


@pytest.fixture(scope="module")
def hostile(example, ranking):
    """The workbook of a list with columns that nobody should obey, more of them than a sheet holds."""
    names = ["=1+1", "+a", "-12", "@b", "\tc", "\rd", "\x1b[2J\u202e\ud800\ufffe", *(f"h{at}" for at in range(30))]
    count = example.parts.count("nuts")
    texts = [["-12", "=1+1", "x" * 40_000, "\x00", *[""] * (len(names) - 4)]] * count
    nuts = pd.DataFrame(texts, columns=names, index=example.parts.table("nuts").index)
    parts = dataclasses.replace(example.parts, extra={"nuts": nuts})
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("combo.show.workbook._MOST_COLUMNS", 20)
        written = workbook(dataclasses.replace(example, parts=parts), ranking, [])
    return openpyxl.load_workbook(io.BytesIO(written))


def test_no_header_or_cell_of_a_list_is_a_formula_or_a_number(hostile):
    sheet = hostile["Kept nuts"]
    assert {cell.data_type for row in sheet.iter_rows(max_col=5) for cell in row} == {"s"}
    assert [cell.value for cell in sheet[1]][1:8] == [
        "=1+1",
        "+a",
        "-12",
        "@b",
        "\tc",
        "\\rd",
        "\\x1b[2J\\u202e\\ud800\\ufffe",
    ]
    assert all(sheet.cell(1, column).quotePrefix for column in range(2, 8))
    assert (sheet["B2"].value, sheet["E2"].value) == ("-12", "\\x00")


def test_a_text_longer_than_a_cell_is_cut(hostile):
    told = hostile["Kept nuts"]["D2"].value
    assert (len(told), told[-3:]) == (32_767, "...")
    assert hostile["Kept nuts"].row_dimensions[2].height <= 409


def test_columns_that_no_sheet_holds_are_counted(hostile):
    assert hostile["Kept nuts"].max_column == 20
    told = dict(row[:2] for row in hostile["Assumptions"].iter_rows(values_only=True))
    assert "the first 19" in told["sheet Kept nuts"]
    assert "18 more are left out" in told["sheet Kept nuts"]


def test_a_negative_number_of_ours_is_a_number(book):
    rooms = [cell for row in book["Checks"].iter_rows(min_row=2, min_col=6, max_col=8) for cell in row if cell.value]
    assert {cell.data_type for cell in rooms} == {"n"}


def test_sheet_titles_are_legal(hostile):
    assert all(len(title) <= 31 and not set(title) & set("[]:*?/\\'") for title in hostile.sheetnames)


def test_rows_that_are_set_aside_and_units_that_nobody_confirmed_are_told(example, ranking):
    problem = Problem(Place("ridge.csv", 9, "Net"), "no-price", 'found "CALL"', "a price is needed")
    sheet = SheetRead("ridge.csv", "", 1, (), 12, date="2026-11-01", units=(("B.S.", "in"),), confirmed=False)
    aside = {"wheels": (SetAside("no price", problem),)}
    loaded = dataclasses.replace(example, aside=aside, sheets={"wheels": (sheet,)})
    told = openpyxl.load_workbook(io.BytesIO(workbook(loaded, ranking, [])))
    rows = list(told["Set aside"].iter_rows(min_row=2, values_only=True))
    assert rows == [("wheels", "ridge.csv", None, 9, "no price", 'found "CALL"')]
    lists = [row[1] for row in told["Assumptions"].iter_rows(values_only=True) if row[0] == "lists"]
    proposed = 'ridge.csv: units proposed, and not confirmed: "B.S." in in'
    assert lists == ["ridge.csv: price list of 2026-11-01", proposed]

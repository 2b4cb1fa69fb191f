"""The workbook against the model that it was written from."""

import io

import openpyxl
import pytest

from combo.show.workbook import workbook
from combo.solve.clock import Clock
from combo.solve.rejected import rejected


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
    import dataclasses

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

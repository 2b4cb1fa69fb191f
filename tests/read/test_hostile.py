"""What lists may hold by mistake or by malice: it is read right, or told in one line, at once and in little memory."""

import os
import zipfile

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from combo.job import ListFile
from combo.parts import KINDS, TIRE, WHEEL
from combo.read.lists import read_lists
from combo.read.report import ListReport

HEADERS = "sku,size,bolt_circle,price"
ROW = ",15x8,6x5.5 in,89\n"


def read(path, kind=WHEEL):
    report = ListReport()
    lists = read_lists(kind, (ListFile(str(path), path.name),), {}, report)
    return lists, report


@pytest.fixture
def read_text(tmp_path):
    """What is read of a list of wheels with some text."""

    def reading(text):
        path = tmp_path / "wheels.csv"
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return read(path)

    return reading


def book(path, change=None):
    """A workbook of two wheels, changed before it is saved."""
    made = openpyxl.Workbook()
    sheet = made.active
    for row in (HEADERS.split(","), ["W-1", "15x8", "6x5.5 in", 89], ["W-2", "15x7", "6x5.5 in", 79.5]):
        sheet.append(row)
    if change is not None:
        change(made, sheet)
    made.save(path)
    return path


def rewritten(path, change, part="xl/worksheets/sheet1.xml"):
    """The workbook with one of its parts changed; a part that becomes None is left out."""
    with zipfile.ZipFile(path) as archive:
        parts = {one.filename: archive.read(one) for one in archive.infolist()}
    parts[part] = change(parts[part])
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            if content is not None:
                archive.writestr(name, content)
    return path


# Texts


def test_a_formula_in_a_header_is_never_computed(read_text):
    lists, report = read_text(f"{HEADERS},offset (9**9**9**9)\nW-1{ROW.rstrip()},3\n")
    assert (len(lists.table), report.problems) == (1, [])
    assert [one.word for one in report.notices] == ["no-unit"]


@pytest.mark.parametrize("size", ["15" + "." * 100_000 + "(200;000)x8", "(" * 20_000, "1 " * 30_000, "15x" * 20_000])
def test_a_cell_that_nobody_types_costs_its_row_at_once(read_text, size):
    _, report = read_text(f"{HEADERS}\nW-1,{size},6x5.5 in,89\nW-2{ROW}W-3{ROW}")
    assert [one.why for one in report.aside.values()] == ["not understood"]
    assert all(len(one.problem.text()) < 400 for one in report.aside.values())


def test_a_huge_cell_of_a_used_column_costs_its_row(read_text):
    _, report = read_text(f"{HEADERS},style\nW-1{ROW.rstrip()},{'x' * 2_000_000}\nW-2{ROW.rstrip()},smooth\n")
    assert [one.problem.word for one in report.aside.values()] == ["too-long"]


@pytest.mark.parametrize("cell", ["1e20", "99999", "0.0001"])
def test_a_size_beyond_every_truck_costs_its_row(read_text, cell):
    _, report = read_text(f"{HEADERS},mass_lb\nW-1{ROW.rstrip()},{cell}\nW-2{ROW.rstrip()},22\nW-3{ROW.rstrip()},23\n")
    assert [place[2] for place in report.aside] == [2]


def test_no_price_is_beyond_what_a_whole_number_holds(read_text):
    _, report = read_text(f"{HEADERS}\nW-1,15x8,6x5.5 in,1e20\nW-2{ROW}W-3{ROW}")
    assert [one.problem.word for one in report.aside.values()] == ["not-on-a-truck"]


@pytest.mark.parametrize("strays", [{3}, {3, 6}, {0, 7}])
def test_a_stray_quotation_mark_swallows_no_row(read_text, strays):
    rows = "".join(f"{chr(34) if at in strays else ''}W-{at}{ROW}" for at in range(8))
    lists, report = read_text(f"{HEADERS}\n{rows}")
    assert len(lists.table) == 8
    assert [one.word for one in report.notices] == ["stray-quote"]


def test_two_stray_marks_that_seem_to_close_swallow_no_row(read_text):
    cells = ["a", '"a', "a", 'b"', "a"]
    rows = "".join(f"W-{at},{style},15x8,6x5.5 in,89\n" for at, style in enumerate(cells))
    assert len(read_text(f"sku,style,size,bolt_circle,price\n{rows}")[0].table) == 5


def test_a_note_of_several_lines_stays_one_cell(read_text):
    text = f'{HEADERS},note\nW-1{ROW.rstrip()},"ships\nnext week"\nW-2{ROW.rstrip()},\n'
    lists, _ = read_text(text)
    assert (lists.table["row"].to_list(), lists.extra["note"].to_list()) == ([2, 4], ["ships\nnext week", ""])


def test_no_unused_column_is_lost_for_its_name(read_text):
    lists, _ = read_text(f"{HEADERS},note,note\nW-1{ROW.rstrip()},a,b\n")
    assert lists.extra.iloc[0].to_dict() == {"note": "a", "note (2)": "b"}


@pytest.mark.parametrize("content", [b"", b"\0" * 100, b"\xff\xfe", b"\x89PNG\r\n\x1a\n" + bytes(range(256))])
def test_a_file_that_is_no_list_is_one_problem(read_text, content):
    assert len(read_text(content)[1].problems) == 1


def test_a_pipe_is_no_list(tmp_path):
    os.mkfifo(tmp_path / "wheels.csv")
    assert [one.word for one in read(tmp_path / "wheels.csv")[1].problems] == ["not-a-file"]


# Workbooks


def test_a_cell_in_the_far_corner_costs_nothing(tmp_path):
    path = book(tmp_path / "w.xlsx", lambda made, sheet: sheet.cell(1_048_576, 16_384, "x"))
    lists, report = read(path)
    assert (lists.table["sku"].to_list(), report.problems) == (["W-1", "W-2"], [])


def test_the_size_that_a_sheet_states_hides_nothing(tmp_path):
    path = rewritten(book(tmp_path / "w.xlsx"), lambda xml: xml.replace(b'ref="A1:D3"', b'ref="A1:B2"'))
    assert len(read(path)[0].table) == 2


def test_a_formula_without_its_value_costs_its_row_and_says_so(tmp_path):
    def change(made, sheet):
        sheet["D2"] = "=1+1"

    _, report = read(book(tmp_path / "w.xlsx", change))
    assert [(one.problem.place.row, one.problem.word) for one in report.aside.values()] == [(2, "open-formula")]


def test_a_chart_beside_the_list_is_passed_over(tmp_path):
    path = book(tmp_path / "w.xlsx", lambda made, sheet: made.create_chartsheet("Chart"))
    assert len(read(path)[0].table) == 2


def test_merged_cells_stand_in_each_of_their_rows(tmp_path):
    path = book(tmp_path / "w.xlsx", lambda made, sheet: sheet.merge_cells("B2:B3"))
    assert read(path)[0].table["rim_width_mm"].to_list() == [203.2, 203.2]


def test_a_hidden_row_is_read_and_told(tmp_path):
    def change(made, sheet):
        sheet.row_dimensions[3].hidden = True

    lists, report = read(book(tmp_path / "w.xlsx", change))
    assert (len(lists.table), [one.word for one in report.notices]) == (2, ["hidden-rows"])


def test_a_number_reads_as_the_sheet_shows_it(tmp_path):
    def change(made, sheet):
        sheet["A2"], sheet["A2"].number_format = 81709, "0000000"
        sheet["E1"], sheet["E2"] = "backspace", 4.25
        sheet["E2"].number_format = '0.00" in"'

    table = read(book(tmp_path / "w.xlsx", change))[0].table
    assert (table["sku"].iloc[0], table["backspace_mm"].iloc[0]) == ("0081709", 107.95)


@pytest.mark.parametrize(
    "change",
    [
        lambda xml: xml[: len(xml) // 2],
        lambda xml: None,
        lambda xml: xml.replace(b'r="3"', b'r="99999999999"'),
        lambda xml: xml.replace(b'r="3"', b'r="-3"'),
        lambda xml: xml.replace(b'<row r="3"', b'<row r="x"'),
        lambda xml: xml.replace(b'r="A3"', b'r="ZZZZZ3"'),
        lambda xml: xml.replace(b"</sheetData>", b"<row/>" * 1_100_000 + b"</sheetData>"),
        lambda xml: b'<!DOCTYPE a [<!ENTITY b "c"><!ENTITY d "&b;&b;">]><worksheet>&d;</worksheet>',
        lambda xml: b"",
    ],
)
def test_a_broken_sheet_is_one_problem(tmp_path, change):
    path = rewritten(book(tmp_path / "w.xlsx"), change)
    assert len(read(path)[1].problems) == 1


def test_a_sheet_that_unpacks_to_a_thousand_times_its_size_is_never_unpacked(tmp_path):
    path = rewritten(book(tmp_path / "w.xlsx"), lambda xml: xml + b" " * 50_000_000)
    assert [one.word for one in read(path)[1].problems] == ["too-large"]


@pytest.mark.parametrize(
    ("name", "head"),
    [("a.xls", b"\xd0\xcf\x11\xe0"), ("b.csv", b"\xd0\xcf\x11\xe0"), ("c.xlsx", b"%PDF-1.7"), ("d.xlsx", b"hello")],
)
def test_another_format_under_any_name_is_one_problem(tmp_path, name, head):
    (tmp_path / name).write_bytes(head + b"\0" * 600)
    assert [one.word for one in read(tmp_path / name)[1].problems] in (["not-a-workbook"], ["not-a-list"])


# The class of it


TYPED = (
    "15x8",
    "17x9 -12",
    "6x5.5 in",
    "89",
    "$1,179",
    "4 1/2",
    '4 1/2"',
    "=1+1",
    "1e999",
    "CALL",
    "8 lug",
    "121/118S",
    "41/10",
)
CELL = st.text(alphabet=st.characters(codec="utf-8", exclude_characters="\0"), max_size=30) | st.sampled_from(TYPED)
HEADER = CELL | st.sampled_from([own.name for kind in KINDS.values() for own in kind.fields])


@settings(max_examples=400, deadline=None)
@given(
    kind=st.sampled_from(sorted(KINDS)),
    rows=st.lists(st.lists(CELL, max_size=8), max_size=8),
    headers=st.lists(HEADER, max_size=8),
    mark=st.sampled_from(",;\t|"),
)
def test_any_text_is_a_list_or_is_told(tmp_path_factory, kind, rows, headers, mark):
    path = tmp_path_factory.mktemp("any") / "list.csv"
    path.write_text("\n".join(mark.join(row) for row in [headers, *rows]), encoding="utf-8")
    lists, report = read(path, KINDS[kind])
    every = len(lists.table) + len(report.problems) + len(report.aside) + len(report.notices)
    assert every or not any(cell.strip() for row in rows for cell in row)


@settings(max_examples=200, deadline=None)
@given(content=st.binary(max_size=300), suffix=st.sampled_from([".csv", ".xlsx"]))
def test_any_bytes_are_a_list_or_are_told(tmp_path_factory, content, suffix):
    path = tmp_path_factory.mktemp("any") / f"list{suffix}"
    path.write_bytes(content)
    read(path, TIRE)


PARTS = (
    "xl/worksheets/sheet1.xml",
    "xl/workbook.xml",
    "xl/styles.xml",
    "[Content_Types].xml",
    "xl/_rels/workbook.xml.rels",
)


@settings(max_examples=200, deadline=None)
@given(at=st.integers(0, 10_000), piece=st.binary(min_size=1, max_size=12), part=st.sampled_from(PARTS))
def test_any_damage_to_a_workbook_is_read_or_told(tmp_path_factory, at, piece, part):
    path = book(tmp_path_factory.mktemp("any") / "w.xlsx")

    def damaged(xml):
        where = at % (len(xml) + 1)
        return xml[:where] + piece + xml[where + len(piece) :]

    lists, report = read(rewritten(path, damaged, part))
    assert len(lists.table) or report.problems

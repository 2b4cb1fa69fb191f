"""Candidate lists: encodings, separators, workbooks, cells, and everything that a list may have wrong."""

import datetime
import math

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from combo.job import ListFile
from combo.parts import RATIO, TIRE, WHEEL
from combo.read.lists import read_lists
from combo.read.report import ListReport

HEADERS = ("sku", "rim_diameter", "rim_width", "bolt_circle", "price")
CELLS = ("W-1", "15", "8", "6x5.5 in", "89.95")


def wheel_text(separator=",", *, with_sku="W-1", **more):
    """A list of one wheel; `more` adds a column with its cell."""
    headers, cells = (*HEADERS, *more), (with_sku, *CELLS[1:], *more.values())
    return separator.join(headers) + "\n" + separator.join(cells) + "\n"


def read(path, *, kind=WHEEL, mapped=None, sheet=None):
    """Part table, unclaimed columns, and all that is told: problems, rows that are set aside, cells left blank."""
    report = ListReport()
    lists = read_lists(kind, (ListFile(str(path), path.name, sheet),), mapped or {}, report)
    told = [*report.problems, *(one.problem for one in report.aside.values()), *report.notices]
    return lists.table, lists.extra, told


def read_text(tmp_path, text, **options):
    path = tmp_path / "wheels.csv"
    path.write_text(text, encoding="utf-8")
    return read(path, **options)


def cell_problem(tmp_path, **more):
    """The one problem of a list whose last column is wrong."""
    problems = read_text(tmp_path, wheel_text(";", **more))[2]
    assert len(problems) == 1
    return problems[0]


def value_of(tmp_path, column, **more):
    table, _, problems = read_text(tmp_path, wheel_text(";", **more))
    assert problems == []
    return table[column].iloc[0]


def workbook(tmp_path, sheets):
    path = tmp_path / "wheels.xlsx"
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    book.save(path)
    return path


def numeric_rows(**more):
    return [[*HEADERS, *more], ["W-1", 15, 8, "6x5.5 in", 89.95, *more.values()]]


# Files


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_a_list_may_be_separated_by_commas_semicolons_or_tabs(tmp_path, separator):
    table, _, problems = read_text(tmp_path, wheel_text(separator))
    assert (problems, table["rim_width_mm"].to_list()) == ([], [203.2])


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_a_list_may_be_saved_as_utf_8_or_utf_16(tmp_path, encoding):
    path = tmp_path / "wheels.csv"
    path.write_bytes(wheel_text(style="größer").encode(encoding))
    table, _, problems = read(path)
    assert (problems, table["sku"].to_list(), table["style"].to_list()) == ([], ["W-1"], ["größer"])


def test_big_endian_utf_16_is_known_by_its_mark(tmp_path):
    path = tmp_path / "wheels.csv"
    path.write_bytes(b"\xfe\xff" + wheel_text().encode("utf-16-be"))
    assert read(path)[2] == []


def test_text_that_is_not_utf_8_is_told_with_its_row(tmp_path):
    path = tmp_path / "wheels.csv"
    path.write_bytes(wheel_text(style="gr\xf6\xdfer").encode("latin-1"))
    problems = read(path)[2]
    assert [(one.word, one.place.row) for one in problems] == [("not-utf-8", 2)]


def test_a_quoted_cell_may_hold_the_separator(tmp_path):
    table = read_text(tmp_path, wheel_text(style='"steel, smooth"'))[0]
    assert table["style"].iloc[0] == "steel, smooth"


def test_a_separator_inside_a_quoted_header_does_not_count(tmp_path):
    text = '"style;a;b;c;d;e;f",' + wheel_text().replace("\n", "\nsmooth,", 1)
    assert read_text(tmp_path, text)[2] == []


@pytest.mark.parametrize("text", ["", "\n\n", " , , \n"])
def test_an_empty_file_is_told(tmp_path, text):
    problems = read_text(tmp_path, text)[2]
    assert [(one.word, one.found) for one in problems] == [("empty-file", "an empty list")]


def test_headers_without_a_row_are_told(tmp_path):
    problems = read_text(tmp_path, ",".join(HEADERS) + "\n")[2]
    assert [(one.word, one.found) for one in problems] == [("empty-file", "headers without a row")]


def test_a_missing_file_is_told_with_the_path_typed(tmp_path):
    problems = read(tmp_path / "wheels.csv")[2]
    assert [(one.word, one.place.text()) for one in problems] == [("missing-file", "wheels.csv")]


def test_a_row_with_too_many_cells_is_told(tmp_path):
    problems = read_text(tmp_path, wheel_text().rstrip() + ",steel\n")[2]
    found = [(one.word, one.place.row, one.found) for one in problems]
    assert found == [("too-many-cells", 2, "row 1 has 5 cells, row 2 has 6")]


def test_a_row_with_empty_cells_beyond_the_headers_is_read(tmp_path):
    assert read_text(tmp_path, wheel_text().rstrip() + ",,\n")[2] == []


def test_a_row_with_too_few_cells_lacks_the_last_ones(tmp_path):
    table, _, problems = read_text(tmp_path, wheel_text(mass_lb="20") + "W-2,15,8,6x5.5 in,89.95\n")
    assert (problems, math.isnan(table["mass_kg"].iloc[1])) == ([], True)


def test_empty_rows_are_passed_over_and_still_counted(tmp_path):
    text = wheel_text() + ",,,,\n\nW-2,15,8,6x5.5 in,89.95\n"
    assert read_text(tmp_path, text)[0]["row"].to_list() == [2, 5]


def test_a_missing_column_below_an_empty_line_is_placed_at_the_headers(tmp_path):
    text = "\n" + wheel_text().replace("price", "colour")
    problems = read_text(tmp_path, text)[2]
    assert [(one.word, one.place.row) for one in problems] == [("missing-column", 2)]


# Headers


def test_a_column_that_a_part_needs_is_told_when_absent(tmp_path):
    problems = read_text(tmp_path, wheel_text().replace("price", "colour"))[2]
    assert [(one.word, one.found) for one in problems] == [("missing-column", "no column for price")]


def test_an_empty_cell_that_a_part_needs_is_told(tmp_path):
    problems = read_text(tmp_path, wheel_text().replace("89.95", ""))[2]
    assert [(one.word, one.place.row, one.place.column) for one in problems] == [("empty-cell", 2, "price")]


def test_a_refused_cell_is_not_told_as_empty_too(tmp_path):
    problems = read_text(tmp_path, wheel_text().replace("89.95", "call"))[2]
    assert [one.word for one in problems] == ["no-price"]


def test_two_columns_of_one_meaning_are_told(tmp_path):
    problems = read_text(tmp_path, wheel_text(Jobber="90").replace("price", "Dealer"))[2]
    assert [(one.word, one.place.column) for one in problems] == [("duplicate-column", "Jobber")]


def test_what_the_shop_pays_goes_before_what_the_list_asks(tmp_path):
    table, _, told = read_text(tmp_path, wheel_text(Net="60").replace("price", "MSRP"))
    assert table["price_cents"].to_list() == [6000]
    assert [(one.word, one.place.column) for one in told] == [("second-column", "MSRP")]


@pytest.mark.parametrize("header", ["backspace_in", "Backspace (in)"])
def test_the_unit_of_the_header_is_that_of_a_bare_cell(tmp_path, header):
    assert value_of(tmp_path, "backspace_mm", **{header: "5 1/4"}) == 133.35


def test_the_unit_in_the_cell_wins_over_the_header(tmp_path):
    assert value_of(tmp_path, "backspace_mm", backspace_in="133 mm") == 133.0


def test_a_mapped_word_is_read_as_its_field(tmp_path):
    table, _, problems = read_text(tmp_path, wheel_text(";", Nabe="108,5"), mapped={"Nabe": "hub_bore_mm"})
    assert (problems, table["hub_bore_mm"].iloc[0]) == ([], 108.5)


def test_a_word_mapped_to_no_field_is_told_with_the_nearest(tmp_path):
    problems = read_text(tmp_path, wheel_text(Nabe="108 mm"), mapped={"Nabe": "hub_bor"})[2]
    found = [(one.word, one.place.column, one.accepted) for one in problems]
    assert found == [("unknown-field", "Nabe", 'the nearest known is "hub_bore"')]


def test_a_column_that_no_field_claims_is_kept_as_typed(tmp_path):
    extra = read_text(tmp_path, wheel_text(Farbe="silber 5-1/4"))[1]
    assert extra.to_dict("list") == {"Farbe": ["silber 5-1/4"]}


def test_a_claimed_column_is_not_kept_twice(tmp_path):
    assert list(read_text(tmp_path, wheel_text(Farbe="silber"))[1].columns) == ["Farbe"]


# Cells


def test_a_wheel_size_column_gives_diameter_and_width(tmp_path):
    text = "sku,size,bolt_circle,price\nW-1,15x8 1/2,6x5.5 in,89\n"
    table, _, problems = read_text(tmp_path, text)
    assert (problems, table["rim_diameter_mm"].iloc[0], table["rim_width_mm"].iloc[0]) == ([], 381.0, 215.9)


@pytest.mark.parametrize("size", ["fifteen", "15", "15x", "15x1/0", "15x8 9", "15x8 9 9"])
def test_a_wheel_size_that_does_not_read_is_told(tmp_path, size):
    problems = read_text(tmp_path, f"sku,size,bolt_circle,price\nW-1,{size},6x5.5 in,89\n")[2]
    assert [(one.place.row, one.place.column) for one in problems] == [(2, "size")]


@pytest.mark.parametrize("size", ["0x8", "15x0"])
def test_a_wheel_size_of_zero_is_refused(tmp_path, size):
    problems = read_text(tmp_path, f"sku,size,bolt_circle,price\nW-1,{size},6x5.5 in,89\n")[2]
    assert [(one.place.row, one.place.column) for one in problems] == [(2, "size")]


def test_an_empty_wheel_size_is_no_problem_beside_diameter_and_width(tmp_path):
    assert read_text(tmp_path, wheel_text(size="", style="smooth"))[2] == []


def test_a_wheel_size_may_have_a_decimal_comma_among_semicolons(tmp_path):
    table, _, problems = read_text(tmp_path, "sku;size;bolt_circle;price\nW-1;15x7,5;6x5.5 in;89\n")
    assert (problems, table["rim_width_mm"].iloc[0]) == ([], 190.5)


def test_a_bare_rim_size_is_in_inches(tmp_path):
    assert value_of(tmp_path, "rim_diameter_mm") == 381.0


def test_a_bolt_circle_is_a_lug_count_and_a_diameter(tmp_path):
    table = read_text(tmp_path, wheel_text())[0]
    assert table[["bolt_circle_lugs", "bolt_circle_mm"]].iloc[0].to_list() == [6.0, 139.7]


def test_a_bolt_circle_may_have_its_unit_in_the_header(tmp_path):
    text = wheel_text().replace("bolt_circle", "bolt_circle_mm").replace("6x5.5 in", "6x139.7")
    assert read_text(tmp_path, text)[0]["bolt_circle_mm"].iloc[0] == 139.7


def test_a_bolt_circle_may_have_a_decimal_comma_among_semicolons(tmp_path):
    table, _, problems = read_text(tmp_path, wheel_text(";").replace("6x5.5 in", "6x139,7"))
    assert (problems, table["bolt_circle_mm"].iloc[0]) == ([], 139.7)


def test_a_decimal_comma_is_read_among_semicolons(tmp_path):
    assert value_of(tmp_path, "hub_bore_mm", hub_bore_mm="108,5") == 108.5


def test_a_comma_that_may_mean_thousands_is_refused_among_semicolons(tmp_path):
    assert cell_problem(tmp_path, load_rating_lb="1,250").word == "ambiguous-number"


@pytest.mark.parametrize("separator", [",", "\t"])
def test_a_decimal_comma_is_refused_elsewhere(tmp_path, separator):
    problems = read_text(tmp_path, wheel_text(separator, hub_bore_mm='"108,5"'))[2]
    assert [(one.word, one.place.column) for one in problems] == [("ambiguous-number", "hub_bore_mm")]


def test_separated_thousands_are_read_in_a_list_of_commas(tmp_path):
    table = read_text(tmp_path, wheel_text(load_rating_kg='"1,250"'))[0]
    assert table["load_rating_kg"].iloc[0] == 1250.0


@pytest.mark.parametrize(
    ("typed", "cents"), [("$89.95", 8995), ("USD 89.95", 8995), ("$1234.50", 123450), ("89", 8900)]
)
def test_a_price_may_have_a_currency_sign(tmp_path, typed, cents):
    table, _, problems = read_text(tmp_path, wheel_text().replace("89.95", typed))
    assert (problems, table["price_cents"].iloc[0]) == ([], cents)


def test_a_price_of_zero_is_possible(tmp_path):
    assert read_text(tmp_path, wheel_text().replace("89.95", "0"))[2] == []


@pytest.mark.parametrize(
    ("column", "typed"),
    [("mass_lb", "-20"), ("mass_lb", "0"), ("hub_bore_mm", "0"), ("hub_bore_mm", "-108"), ("flange", "0 in")],
)
def test_an_impossible_size_is_refused(tmp_path, column, typed):
    problem = cell_problem(tmp_path, **{column: typed})
    assert (problem.word, problem.found, problem.place.column) == ("not-positive", f'found "{typed}"', column)


def test_a_negative_price_is_refused(tmp_path):
    problems = read_text(tmp_path, wheel_text().replace("89.95", "-89.95"))[2]
    assert [one.word for one in problems] == ["not-positive"]


def test_an_offset_may_be_negative(tmp_path):
    assert value_of(tmp_path, "offset_mm", offset_mm="-12") == -12.0


@pytest.mark.parametrize("typed", ["NaN", "nan", "inf", "-inf", "soon"])
def test_a_text_that_is_no_number_is_refused(tmp_path, typed):
    assert cell_problem(tmp_path, mass_lb=typed).place.column == "mass_lb"


@pytest.mark.parametrize("typed", ["", "-", "n/a", "?", "TBD", "—"])
def test_what_stands_for_not_given_is_absent(tmp_path, typed):
    assert math.isnan(value_of(tmp_path, "mass_kg", mass_lb=typed))


def test_a_mass_where_a_length_belongs_is_refused(tmp_path):
    problem = cell_problem(tmp_path, **{"Backspace (in)": "5 1/4 lb"})
    assert problem.text() == (
        'wheels.csv, row 2, column "Backspace (in)": found "5 1/4 lb", a mass; '
        'a length is accepted, such as 5 1/4 in, 5.25" or 133 mm. The cell is left blank'
    )


def test_a_header_in_a_unit_of_mass_is_refused_where_a_length_belongs(tmp_path):
    problem = cell_problem(tmp_path, backspace_lb="5.25")
    assert (problem.word, problem.place.column) == ("wrong-dimension", "backspace_lb")


def test_a_size_without_a_unit_is_refused(tmp_path):
    assert cell_problem(tmp_path, backspace="5.25").word == "no-unit"


def test_a_word_that_a_field_does_not_know_is_refused_with_the_known_ones(tmp_path):
    problem = cell_problem(tmp_path, backspace_basis="thumb")
    assert (problem.word, problem.accepted) == ("unknown-word", "accepted are: flange, shorthand")


def test_a_bad_text_is_told_at_every_row_that_holds_it(tmp_path):
    text = wheel_text(mass_lb="heavy") + "W-2,15,8,6x5.5 in,89.95,heavy\n"
    assert [one.place.row for one in read_text(tmp_path, text)[2]] == [2, 3]


def test_a_count_that_is_not_whole_is_refused(tmp_path):
    text = "sku,ratio,ring_teeth,price\nG-1,3.73,41.5,100\n"
    assert [one.word for one in read_text(tmp_path, text, kind=RATIO)[2]] == ["not-whole"]


def test_a_pair_of_load_indices_counts_as_the_first(tmp_path):
    text = "sku,designation,load_index,price\nT-1,LT265/75R16,123/120,100\n"
    assert read_text(tmp_path, text, kind=TIRE)[0]["load_index"].iloc[0] == 123.0


@pytest.mark.parametrize(("typed", "winter"), [("yes", 1.0), ("x", 1.0), ("no", 0.0), ("", 0.0)])
def test_a_flag_is_yes_or_no(tmp_path, typed, winter):
    text = f"sku,designation,winter,price\nT-1,G78-15,{typed},100\n"
    assert read_text(tmp_path, text, kind=TIRE)[0]["winter"].iloc[0] == winter


def test_a_text_that_begins_with_the_word_date_stays_as_typed(tmp_path):
    assert value_of(tmp_path, "style", style="date brown") == "date brown"


@given(whole=st.integers(2, 11), eighths=st.integers(1, 7))
def test_a_mixed_number_in_a_cell_is_its_whole_plus_its_fraction(tmp_path_factory, whole, eighths):
    folder = tmp_path_factory.mktemp("lists")
    expected_mm = (whole + eighths / 8) * 25.4
    assert value_of(folder, "hub_bore_mm", hub_bore_in=f"{whole} {eighths}/8") == pytest.approx(expected_mm)


# SKUs


def test_skus_that_differ_in_case_are_two(tmp_path):
    assert read_text(tmp_path, wheel_text() + "w-1,15,7,6x5.5 in,80\n")[2] == []


def test_files_of_a_kind_stand_one_after_another(tmp_path):
    files = []
    for name, sku in (("b.csv", "W-1"), ("a.csv", "W-2")):
        (tmp_path / name).write_text(wheel_text(with_sku=sku), encoding="utf-8")
        files.append(ListFile(str(tmp_path / name), name))
    table = read_lists(WHEEL, tuple(files), {}, ListReport()).table
    assert table[["sku", "file"]].to_numpy().tolist() == [["W-1", "b.csv"], ["W-2", "a.csv"]]


# Workbooks


def test_the_only_sheet_of_a_workbook_is_read(tmp_path):
    table, _, problems = read(workbook(tmp_path, {"Stock": numeric_rows()}))
    assert (problems, table["price_cents"].to_list(), table["sheet"].to_list()) == ([], [8995.0], ["Stock"])


def test_the_sheet_named_is_read(tmp_path):
    path = workbook(tmp_path, {"Notes": [["hello"]], "Stock": numeric_rows()})
    table, _, problems = read(path, sheet="Stock")
    assert (problems, table["rim_width_mm"].to_list()) == ([], [203.2])


def test_an_unknown_sheet_is_told_with_the_known_ones(tmp_path):
    problems = read(workbook(tmp_path, {"Notes": [["hello"]], "Stock": numeric_rows()}), sheet="Stok")[2]
    found = [(one.word, one.found, one.accepted) for one in problems]
    assert found == [("which-sheet", 'no sheet "Stok"', 'the sheets are "Notes", "Stock"')]


def test_a_sheet_without_a_header_of_the_kind_is_not_read_and_told(tmp_path):
    problems = read(workbook(tmp_path, {"Notes": [["hello"]], "Stock": numeric_rows()}))[2]
    assert [(one.word, one.found) for one in problems] == [("sheet-not-read", "no header of a list")]


def test_a_date_in_a_length_column_is_refused(tmp_path):
    rows = numeric_rows(backspace_in=datetime.date(2024, 5, 1))
    problems = read(workbook(tmp_path, {"Stock": rows}))[2]
    found = [(one.word, one.place.text()) for one in problems]
    assert found == [("a-date", 'wheels.xlsx, sheet "Stock", row 2, column "backspace_in"')]


def test_a_whole_number_as_sku_has_no_decimal_point(tmp_path):
    rows = numeric_rows()
    rows[1][0] = 1001.0
    assert read(workbook(tmp_path, {"Stock": rows}))[0]["sku"].iloc[0] == "1001"


def test_a_cell_of_a_workbook_may_be_text_with_a_unit(tmp_path):
    rows = numeric_rows(backspace='5-1/4"')
    assert read(workbook(tmp_path, {"Stock": rows}))[0]["backspace_mm"].iloc[0] == 133.35


def test_a_date_in_a_column_that_no_field_claims_is_kept_without_our_mark(tmp_path):
    rows = numeric_rows(listed=datetime.date(2024, 5, 1))
    assert read(workbook(tmp_path, {"Stock": rows}))[1]["listed"].iloc[0].startswith("2024-05-01")


def test_an_empty_sheet_is_told(tmp_path):
    problems = read(workbook(tmp_path, {"Stock": []}))[2]
    assert [(one.word, one.place.text()) for one in problems] == [("empty-file", 'wheels.xlsx, sheet "Stock"')]


def test_a_file_that_is_no_workbook_is_told(tmp_path):
    path = tmp_path / "wheels.xlsx"
    path.write_text(wheel_text(), encoding="utf-8")
    assert [one.word for one in read(path)[2]] == ["not-a-workbook"]


@given(size=st.text(alphabet='0123456789xX .,/-J"in', max_size=8).map(str.strip))
def test_any_wheel_size_reads_or_is_told(tmp_path_factory, size):
    text = f"sku\tsize\tbolt_circle\tprice\nW-1\t{size}\t6x5.5 in\t89\n"
    table, _, problems = read_text(tmp_path_factory.mktemp("lists"), text)
    assert problems or table["rim_width_mm"].iloc[0] > 0


def test_a_cell_may_state_a_plus_or_minus(tmp_path):
    assert value_of(tmp_path, "backspace_mm", backspace_in="5 1/4 +- 1/16") == 133.35
    assert value_of(tmp_path, "backspace_mm.off", backspace_in="5 1/4 +- 1/16") == 1.5875


def test_a_list_without_any_plus_or_minus_has_no_column_for_it(tmp_path):
    assert "backspace_mm.off" not in read_text(tmp_path, wheel_text(";", backspace_in="5 1/4"))[0]


def test_a_seat_in_a_suppliers_words_is_read_as_the_trades(tmp_path):
    assert value_of(tmp_path, "seat", seat="Conical 60°") == "cone 60"


def test_a_word_that_is_no_seat_is_told(tmp_path):
    problem = cell_problem(tmp_path, seat="square")
    assert (problem.word, problem.place.column, problem.found) == ("not-a-seat", "seat", 'found "square"')

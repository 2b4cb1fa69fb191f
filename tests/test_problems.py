"""How problems are placed, ordered, counted and told."""

import pytest

from combo.problems import Place, Problem, Problems, Report, nearest


def problem(file="wheels.csv", row=None, column=None, table=None, **words):
    words = {"found": 'found "x"', "accepted": "a y is accepted"} | words
    return Problem(Place(file, row, column, table), "a-word", **words)


def test_a_cell_of_a_list_is_placed_by_row_and_column():
    assert Place("wheels.csv", 14, "Backspace (in)").text() == 'wheels.csv, row 14, column "Backspace (in)"'


def test_a_cell_of_a_workbook_is_placed_by_its_sheet_too():
    assert Place("tires.xlsx", 9, table="Stock").text() == 'tires.xlsx, sheet "Stock", row 9'


def test_a_key_of_a_job_is_placed_by_line_and_table():
    place = Place("job.toml", 31, "room_iner", "wheelhouse.rear")
    assert place.text() == 'job.toml, line 31, [wheelhouse.rear], key "room_iner"'


def test_a_whole_file_is_placed_by_its_name_alone():
    assert Place("wheels.csv").text() == "wheels.csv"


def test_a_problem_tells_place_then_found_then_accepted():
    told = problem(row=14, found='found "5 1/4 lb", a mass', accepted="a length is accepted").text()
    assert told == 'wheels.csv, row 14: found "5 1/4 lb", a mass; a length is accepted'


def test_a_hint_ends_the_line_of_its_problem():
    assert problem(hint="Measure again").text() == 'wheels.csv: found "x"; a y is accepted. Measure again'


def test_a_problem_takes_one_line():
    assert "\n" not in problem(row=3, column="price", hint="Try this").text()


def test_the_last_line_counts_problems_and_files():
    found = Problems([problem("a.csv", 2), problem("a.csv", 3), problem("b.csv", 2)])
    assert found.text().splitlines()[-1] == "3 problems in 2 files; nothing was written."


def test_one_problem_in_one_file_is_counted_in_the_singular():
    assert Problems([problem()]).text().splitlines()[-1] == "1 problem in 1 file; nothing was written."


def test_there_is_one_line_a_problem_and_one_for_the_count():
    assert len(Problems([problem(row=2), problem(row=3)]).text().splitlines()) == 3


def test_problems_stand_in_order_of_file():
    found = Problems([problem("wheels.csv"), problem("job.toml"), problem("tires.csv")])
    assert [one.place.file for one in found.problems] == ["job.toml", "tires.csv", "wheels.csv"]


def test_problems_of_a_file_stand_in_order_of_row_as_a_number():
    found = Problems([problem(row=10), problem(row=9), problem(row=2)])
    assert [one.place.row for one in found.problems] == [2, 9, 10]


def test_problems_of_a_job_stand_in_order_of_line_whatever_their_table():
    found = Problems([problem("job.toml", 9, table="axle"), problem("job.toml", 2, table="truck")])
    assert [one.place.row for one in found.problems] == [2, 9]


def test_problems_of_a_workbook_stand_sheet_by_sheet():
    found = Problems([problem("t.xlsx", 2, table="Stock"), problem("t.xlsx", 9, table="Old")])
    assert [one.place.table for one in found.problems] == ["Old", "Stock"]


def test_the_exception_says_what_the_user_reads():
    found = Problems([problem()])
    assert str(found) == found.text()


def test_an_empty_report_raises_nothing():
    report = Report()
    report.notice(Place("wheels.csv"), "a-word", "found", "accepted")
    report.raise_if_any()
    assert not report.problems


def test_a_report_raises_all_its_problems_together():
    report = Report()
    for row in (3, 2):
        report.add(Place("wheels.csv", row), "a-word", "found", "accepted")
    with pytest.raises(Problems) as caught:
        report.raise_if_any()
    assert [one.place.row for one in caught.value.problems] == [2, 3]


@pytest.mark.parametrize(("word", "near"), [("room_iner", "room_inner"), ("Room_Outer", "room_outer"), ("zzz", None)])
def test_the_nearest_word_is_one_that_looks_like_it(word, near):
    assert nearest(word, ["room_outer", "room_inner"]) == near


def test_the_nearest_word_does_not_depend_on_the_order_of_the_known_ones():
    known = ["abcd1", "abcd2", "abcd3"]
    assert nearest("abcd", known) == nearest("abcd", known[::-1])


@pytest.mark.parametrize(
    "found",
    [
        f'found "{"x" * 500}"',
        f'found "{"a b" * 500}", a mass',
        f"found {'9' * 500}",
        f"found {[1] * 500}",
        f'found "{"x" * 500}", "{"y" * 500}" and 3 rows more',
    ],
)
def test_a_problem_quotes_a_little_of_what_was_found(found):
    told = problem(found=found).text()
    assert "..." in told
    assert len(told) < 80 + 70


def test_what_we_say_of_a_long_quote_is_told_whole():
    told = problem(found=f'found "{"x" * 81}", and 3 rows more like it').text()
    assert told == f'wheels.csv: found "{"x" * 80}...", and 3 rows more like it; a y is accepted'


def test_a_long_header_is_cut_in_the_place_of_a_problem():
    assert Place("a.csv", 1, "h" * 500).text() == f'a.csv, row 1, column "{"h" * 80}..."'


def test_nothing_in_a_problem_is_obeyed_by_a_terminal():
    told = problem("\x1b[2J.csv", column="a\u202eb", found='found "\n\ud800"', hint="\x07").text()
    assert told == '\\x1b[2J.csv, column "a\\u202eb": found "\\n\\ud800"; a y is accepted. \\x07'

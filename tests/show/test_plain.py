"""Texts of others, fit to show: what is in them is seen and never obeyed."""

import csv
import io
import json
import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combo.problems import in_one_line, visible
from combo.show.plain import MOST_IN_CELL, cell_text, csv_row, json_text

ANY_TEXT = st.text(st.characters(codec=None, exclude_categories=()))
TURNING = "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200e\u200f\u061c"
BEFORE_FORMULA = "=+-@\t\r\n"


@given(ANY_TEXT)
def test_a_text_in_one_line_holds_nothing_that_is_obeyed(text):
    told = in_one_line(text)
    assert not any(unicodedata.category(sign) in {"Cc", "Cs", "Zl", "Zp"} or sign in TURNING for sign in told)


@given(ANY_TEXT)
def test_a_visible_text_keeps_no_control_but_lines_and_tabs(text):
    assert {sign for sign in visible(text) if unicodedata.category(sign) in {"Cc", "Cs", "Zl", "Zp"}} <= {"\n", "\t"}


@pytest.mark.parametrize("shown", [visible, in_one_line, cell_text])
@given(text=ANY_TEXT)
def test_what_is_shown_once_is_shown_the_same_again(shown, text):
    assert shown(shown(text)) == shown(text)


@given(st.text(st.characters(categories=("L", "N", "P", "S", "M", "Zs"))))
def test_plain_text_is_unchanged(text):
    assert visible(text) == in_one_line(text) == cell_text(text) == text


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("\x1b[2J", "\\x1b[2J"),
        ("a\u202eb", "a\\u202eb"),
        ("\ud800", "\\ud800"),
        ("\x85", "\\x85"),
        ("\ufffe", "\\ufffe"),
        ("\u2028", "\\u2028"),
        ("[red]", "[red]"),
        ("a\nb", "a\\nb"),
        ("\U000e0041", "\\U000e0041"),
    ],
)
def test_each_is_shown_as_its_escape(text, told):
    assert in_one_line(text) == told


@pytest.mark.parametrize("text", ["x" * 40_000, "\U0001f6de" * 20_000])
def test_a_long_text_is_cut_to_what_a_cell_holds(text):
    told = cell_text(text)
    assert told.endswith("...")
    assert MOST_IN_CELL - 1 <= len(told.encode("utf-16-le")) // 2 <= MOST_IN_CELL


@given(st.sampled_from(BEFORE_FORMULA), ANY_TEXT)
def test_no_text_in_csv_begins_as_a_formula_does(first, rest):
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerow(csv_row([first + rest]))
    assert out.getvalue().lstrip('"').startswith("'")
    assert out.getvalue().count("\n") == 1


def test_numbers_in_csv_stay_numbers():
    assert csv_row([-12.5, "-12", None, "W-1"]) == [-12.5, "'-12", None, "W-1"]


@given(ANY_TEXT)
def test_json_is_fit_to_print_and_reads_as_it_was(text):
    told = json_text({"name": text})
    assert visible(told) == told
    assert json.loads(told)["name"] == json.loads(json.dumps(text))


def test_json_keeps_letters_that_can_be_read():
    assert "Schraubenlänge" in json_text({"name": "Schraubenlänge"})

"""The table of a batch as another program or a spreadsheet takes it."""

import csv
import json

from combo.batch.table import batch_json, write_table
from combo.batch.work import ERROR, PROBLEMS, Outcome
from combo.problems import Place, Problem

HOSTILE = "=1+1\x1b[2J\u202e\u2028\nb"


def rows(folder, outcome):
    path = write_table(folder, [outcome])
    return list(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))


def test_a_name_that_looks_like_a_formula_is_text(tmp_path):
    (row,) = rows(tmp_path, Outcome("-a.toml", HOSTILE, ERROR, error="\x1b]0;x\x07"))
    assert row["job"] == "'-a.toml"
    assert row["name"] == "'=1+1\\x1b[2J\\u202e\\u2028\\nb"
    assert row["what_is_wrong"] == "\\x1b]0;x\\x07"


def test_a_lone_surrogate_in_a_file_name_stops_no_table(tmp_path):
    (row,) = rows(tmp_path, Outcome("a\udcff.toml", "", ERROR, error="no"))
    assert row["job"] == "a\\udcff.toml"


def test_json_of_a_batch_is_fit_to_print():
    problem = Problem(Place("a.csv"), "a-word", f'found "{"x" * 500}"', "a y is accepted")
    told = batch_json([Outcome("a\udcff.toml", HOSTILE, PROBLEMS, problems=(problem,))])
    assert all(line.isprintable() for line in told.split("\n"))
    assert json.loads(told)["jobs"][0]["name"] == HOSTILE
    assert len(json.loads(told)["jobs"][0]["problems"][0]["found"]) < 100

"""Price sheets as suppliers send them: what is read of each, written by hand from the sheet alone."""

import json
from pathlib import Path

import pytest

from combo.job import ListFile
from combo.read.propose import propose
from combo.units import number, share

SHEETS = Path(__file__).parent.parent / "sheets"
EXPECTED = sorted(SHEETS.glob("*.json"))


def file_of(expected):
    """The sheet that an expectation belongs to."""
    stem = expected.name.split(".")[0]
    return next(SHEETS / f"{stem}{suffix}" for suffix in (".csv", ".xlsx") if (SHEETS / f"{stem}{suffix}").is_file())


def ruled(path, rules):
    """The file with the one answer that a builder gave."""
    rules, tables = rules or {}, {}
    for key in ("headers", "units", "defaults"):
        tables[key] = tuple(sorted(rules.get(key, {}).items()))
    factor = 1 - share(rules["discount"]) if "discount" in rules else number(str(rules.get("price_factor", 1)))
    return ListFile(str(path), path.name, rules.get("sheet"), price_factor=factor, **tables)


def proposal(expected):
    told = json.loads(expected.read_text(encoding="utf-8"))
    proposals, problems = propose(ruled(file_of(expected), told["rules"]))
    assert problems == []
    own = [one for one in proposals if one.kind.plural == told["reads"]["kind"]]
    assert len(own) == 1
    return own[0], told["reads"]


def plain(row):
    """A row to compare: sizes to a hundredth."""
    return {name: round(value, 2) if isinstance(value, float) else value for name, value in row.items()}


def near(row, other):
    return row.keys() == other.keys() and all(
        value == pytest.approx(other[name], abs=0.011) if isinstance(value, int | float) else alike(value, other[name])
        for name, value in row.items()
    )


def alike(value, other):
    return near(value, other) if isinstance(value, dict) else value == other


@pytest.mark.parametrize("expected", EXPECTED, ids=lambda path: path.stem)
def test_a_messy_sheet_reads_as_a_parts_man_reads_it(expected):
    found, reads = proposal(expected)
    assert (found.sheet, found.header_row) == (reads["sheet"], reads["header_row"])
    by_row = {row["row"]: {name: value for name, value in row.items() if name != "stock"} for row in found.rows}
    wrong = [(row, by_row.get(row["row"])) for row in reads["rows"] if not near(row, by_row.get(row["row"], {}))]
    assert wrong == []
    assert sorted(by_row) == [row["row"] for row in reads["rows"]]


@pytest.mark.parametrize("expected", EXPECTED, ids=lambda path: path.stem)
def test_what_cannot_be_read_costs_its_row_for_the_right_reason(expected):
    found, reads = proposal(expected)
    aside = [{"row": one.problem.place.row, "why": one.why} for one in found.aside]
    assert aside == reads["set_aside"]


@pytest.mark.parametrize("expected", EXPECTED, ids=lambda path: path.stem)
def test_a_unit_is_proposed_where_one_alone_is_plausible(expected):
    found, reads = proposal(expected)
    proposed = [{"column": one.header, "field": one.field, "unit": one.unit} for one in found.columns if one.inferred]
    assert proposed == reads["inferred"]

"""What an unknown sheet seems to be: proposed, asked, and never decided."""

import json
import tomllib

import pytest
from typer.testing import CliRunner

from combo.cli import app
from combo.problems import Problems
from combo.read.load import load
from combo.read.propose import Answers, proposed, rule_text

BARE = "Item,Size,B/P,B.S.,C.B.,Max Load,Weight,Dealer\n" + "".join(
    f"BH-{at},15x{at},6x5.5 in,{at - 3}.5,108.{at},{800 + at},{20 + at},{60 + at}.00\n" for at in range(6, 10)
)


@pytest.fixture
def sheet(tmp_path):
    """A sheet with some text, and what is proposed for it."""

    def proposing(text=BARE, answers=None, name="bare_2026-11.csv"):
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return proposed(path, answers or Answers())[0]

    return proposing


def column_of(proposal, header):
    return next(column for column in proposal.columns if column.header == header)


def test_the_kind_and_the_header_are_found(sheet):
    proposal, _ = sheet("Bare Hill Wheels\nEffective 11/01/2026\n\n" + BARE)
    assert (proposal.kind.plural, proposal.header_row, proposal.date) == ("wheels", 4, "2026-11-01")


def test_a_unit_is_proposed_where_one_alone_is_plausible(sheet):
    bore = column_of(sheet()[0], "C.B.")
    assert (bore.unit, bore.inferred, bore.asks) == ("mm", True, ())


@pytest.mark.parametrize(
    ("header", "asks"), [("B.S.", ("in", "mm")), ("Max Load", ("lb", "kg")), ("Weight", ("lb", "kg"))]
)
def test_a_unit_is_asked_for_where_two_are_plausible_and_for_every_load_and_mass(sheet, header, asks):
    column = column_of(sheet()[0], header)
    assert (column.unit, column.asks) == ("", asks)


def test_no_unit_of_money_is_proposed(sheet):
    assert (column_of(sheet()[0], "Dealer").unit, column_of(sheet()[0], "Dealer").asks) == ("", ())


def test_a_column_that_is_asked_for_is_not_read(sheet):
    assert all("backspace_mm" not in row and "mass_kg" not in row for row in sheet()[0].rows)


def test_a_number_in_the_letterhead_is_none_of_a_column(sheet):
    bore = column_of(sheet("Bare Hill,,,,5000,,,\nCall us,,,,5551,,,\n" + BARE)[0], "C.B.")
    assert (bore.unit, bore.inferred) == ("mm", True)


def test_an_answer_settles_a_column(sheet):
    proposal, _ = sheet(answers=Answers(units=("B.S.=in", "Weight = lb")))
    assert proposal.rows[0]["backspace_mm"] == pytest.approx(3.5 * 25.4)
    assert proposal.rows[0]["mass_kg"] == pytest.approx(26 * 0.45359237, abs=1e-3)


def test_a_rule_is_valid_toml_open_for_the_next_price_list(sheet):
    proposal, file = sheet(answers=Answers(supplier='Bare "Hill"', units=("B.S.=in",)))
    rule = tomllib.loads(rule_text(proposal, file))["files"]["wheels"][0]
    assert (rule["path"], rule["supplier"], rule["confirmed"]) == ("bare_*.csv", 'Bare "Hill"', False)
    assert rule["units"] == {"B.S.": "in", "C.B.": "mm"}


@pytest.mark.parametrize(
    ("answers", "word"),
    [
        (Answers(kind="boats"), "unknown-word"),
        (Answers(units=("in",)), "not-an-answer"),
        (Answers(headers=("=mass",)), "not-an-answer"),
    ],
)
def test_an_answer_that_does_not_read_is_told(sheet, answers, word):
    with pytest.raises(Problems) as caught:
        sheet(answers=answers)
    assert [one.word for one in caught.value.problems] == [word]


def test_a_sheet_that_lists_nothing_is_told(sheet):
    with pytest.raises(Problems) as caught:
        sheet("hello,world\n1,2\n")
    assert [one.word for one in caught.value.problems] == ["no-list"]


# The command


def ran(*arguments):
    return CliRunner().invoke(app, ["sheet", *map(str, arguments)])


@pytest.fixture
def bare(tmp_path):
    path = tmp_path / "bare_2026-11.csv"
    path.write_text(BARE, encoding="utf-8")
    return path


def test_every_row_is_told_as_it_reads(bare):
    answer = json.loads(ran(bare, "--json").output)
    assert (answer["format"], answer["kind"], answer["sheet"], answer["header_row"]) == (1, "wheels", None, 1)
    assert answer["rows"][0] == {
        "row": 2,
        "sku": "BH-6",
        "rim_diameter_mm": 381,
        "rim_width_mm": 152.4,
        "bolt_circle": {"lugs": 6, "mm": 139.7},
        "hub_bore_mm": 108.6,
        "price_cents": 6600,
    }
    assert [one["column"] for one in answer["inferred"]] == ["C.B."]


def test_what_is_written_reads_the_sheet_and_the_next_one(bare, tmp_path):
    assert ran(bare, "--unit", "B.S.=in", "--unit", "Weight=lb", "--unit", "Max Load=lb", "--write").exit_code == 0
    (tmp_path / "bare_2026-12.csv").write_text(BARE, encoding="utf-8")
    (tmp_path / "job.toml").write_text(
        '[job]\nname = "A"\n[truck]\nwheelbase = "117 in"\n[hub.front]\nbolt_circle = "6x5.5 in"\n[hub.rear]\n'
        'bolt_circle = "6x5.5 in"\n[files]\nwheels = "bare_*.csv"\ntires = "t.csv"\nratios = "r.csv"\n'
        'differentials = "d.csv"\n',
        encoding="utf-8",
    )
    for name, text in (
        ("t", "sku,designation,price\nT,P235/75R15,9\n"),
        ("r", "sku,ratio,price\nR,3.73,9\n"),
        ("d", "sku,type,price\nD,open,9\n"),
    ):
        (tmp_path / f"{name}.csv").write_text(text, encoding="utf-8")
    loaded = load(tmp_path / "job.toml")
    assert loaded.parts.wheels["backspace_mm"].notna().all()
    assert (loaded.sheets["wheels"][0].file, loaded.sheets["wheels"][0].confirmed) == ("bare_2026-12.csv", False)


def test_a_rule_that_is_there_is_not_written_twice(bare):
    ran(bare, "--write")
    before = (bare.parent / "suppliers.toml").read_bytes()
    with pytest.raises(Problems):
        CliRunner().invoke(app, ["sheet", str(bare), "--write"], catch_exceptions=False)
    assert (bare.parent / "suppliers.toml").read_bytes() == before

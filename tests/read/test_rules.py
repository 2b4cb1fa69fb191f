"""Rules of suppliers: in a job, and in suppliers.toml beside the lists."""

import datetime

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st
from smallest import JOB

from combo.parts import WHEEL
from combo.problems import Problems
from combo.read.cells import Reader
from combo.read.changes import list_changes
from combo.read.load import load
from combo.units import DOLLAR, money_cents, rounded

LISTS = {
    "tires.csv": "sku,designation,price\nT-1,P235/75R15 105S,95.00\n",
    "ratios.csv": "sku,ratio,price\nG-1,3.73,189.00\n",
    "differentials.csv": "sku,type,price\nD-1,open,140.00\n",
}
WHEELS = "Part #,Size,B/P,B.S.,Weight,Net\nW-1,15x8,6x5.5 in,4.5,22,60.00\nW-2,15x7,6x5.5 in,4,20,50.00\n"
RULE = 'units = { "B.S." = "in", "Weight" = "lb" }\n'


@pytest.fixture
def loaded(tmp_path):
    """A job loaded beside lists of wheels; `rule` follows their path in the job, `shared` is suppliers.toml."""

    def loading(rule="", shared=None, path="ridge.csv", job=JOB, **files):
        texts = {"job.toml": f'{job}[[files.wheels]]\npath = "{path}"\n{rule}', **LISTS}
        texts |= {name.replace("__", "."): text for name, text in files.items()} or {"ridge.csv": WHEELS}
        if shared is not None:
            texts["suppliers.toml"] = shared
        for name, text in texts.items():
            (tmp_path / name).write_text(text, encoding="utf-8")
        return load(tmp_path / "job.toml")

    return loading


def problems_of(loading, *arguments, **options):
    with pytest.raises(Problems) as caught:
        loading(*arguments, **options)
    return caught.value.problems


def test_a_unit_of_a_rule_is_that_of_a_columns_bare_numbers(loaded):
    wheels = loaded(RULE).parts.wheels
    assert wheels["backspace_mm"].to_list() == pytest.approx([114.3, 101.6])
    assert wheels["mass_kg"].to_list() == pytest.approx([9.979, 9.0718], abs=1e-3)


def test_without_a_unit_an_optional_column_stays_unread_and_is_told_once_with_its_cure(loaded):
    answer = loaded()
    assert answer.parts.wheels["backspace_mm"].isna().all()
    told = [one for one in answer.notices if one.place.column == "B.S."]
    assert len(told) == 1
    assert 'If inches, write units = { "B.S." = "in" }' in told[0].hint


def test_two_suppliers_may_use_one_word_for_two_units(loaded):
    job = JOB + '[[files.wheels]]\npath = "hollow.csv"\nunits = { "B.S." = "in", "Weight" = "kg" }\n'
    files = {"ridge__csv": WHEELS, "hollow__csv": WHEELS.replace("W-", "H-")}
    wheels = loaded(RULE, job=job, **files).parts.wheels
    masses = dict(zip(wheels["sku"], wheels["mass_kg"], strict=True))
    assert (masses["H-1"], masses["W-1"]) == (22.0, pytest.approx(9.979, abs=1e-3))


def test_a_rule_may_stand_beside_the_lists(loaded):
    wheels = loaded(shared=f'[[files.wheels]]\npath = "ridge*.csv"\n{RULE}').parts.wheels
    assert wheels["backspace_mm"].to_list() == pytest.approx([114.3, 101.6])


def test_what_a_job_says_wins_over_what_stands_beside_the_lists(loaded):
    shared = f'[[files.wheels]]\npath = "ridge*.csv"\ndiscount = "50 %"\nsupplier = "Ridge Supply"\n{RULE}'
    wheels = loaded("price_factor = 0.9\n", shared=shared).parts.wheels
    assert wheels["price_cents"].to_list() == [5400, 4500]
    assert wheels["supplier"].to_list() == ["Ridge Supply"] * 2


def test_suppliers_may_stand_beside_the_lists_and_a_job_wins_by_name(loaded):
    shared = '[[suppliers]]\nname = "Ridge"\nleast_order = "$50"\n[[suppliers]]\nname = "Hollow"\nleast_order = "$70"\n'
    job = JOB.replace("[files]", '[[suppliers]]\nname = "Ridge"\nleast_order = "$99"\n[files]')
    terms = {one.name: one.least_order_cents for one in loaded(shared=shared, job=job).job.suppliers}
    assert terms == {"Ridge": 9900, "Hollow": 7000}


def test_a_default_fills_what_a_list_leaves_open(loaded):
    wheels = loaded('defaults = { hub_bore = "108 mm", style = "smooth" }\n' + RULE).parts.wheels
    assert (wheels["hub_bore_mm"].to_list(), wheels["style"].to_list()) == ([108.0, 108.0], ["smooth", "smooth"])


@pytest.mark.parametrize(("rule", "cents"), [('discount = "20 %"\n', 4800), ("price_factor = 0.655\n", 3930)])
def test_a_price_is_what_the_shop_pays(loaded, rule, cents):
    assert loaded(rule + RULE).parts.wheels["price_cents"].iloc[0] == cents


@pytest.mark.parametrize(
    ("rule", "word"),
    [
        ("header_row = 0\n", "not-a-rule"),
        ('skip_rows = "two"\n', "not-a-rule"),
        ('units = "in"\n', "not-a-rule"),
        ('discount = "120 %"\n', "not-a-rule"),
        ("price_factor = -1\n", "not-a-rule"),
        ('date = "soon"\n', "not-a-rule"),
        ("colour = 1\n", "unknown-key"),
        ('price_factor = 0.5\ndiscount = "5 %"\n', "factor-and-discount"),
        ('defaults = { shape = "round" }\n', "unknown-field"),
    ],
)
def test_a_rule_that_does_not_read_is_told(loaded, rule, word):
    assert word in [one.word for one in problems_of(loaded, rule)]


def test_a_rule_beside_the_lists_that_does_not_read_is_told_in_its_own_file(loaded):
    shared = '[[files.wheels]]\npath = "ridge.csv"\nunits = 5\n'
    assert [(one.place.file, one.place.row) for one in problems_of(loaded, shared=shared)] == [("suppliers.toml", 3)]


def test_a_header_row_and_rows_to_skip_may_be_stated(loaded):
    text = f"Part #,Size,B/P,Net\nold,list,do,not\n{WHEELS}"
    wheels = loaded("header_row = 3\nskip_rows = [4]\n" + RULE, ridge__csv=text).parts.wheels
    assert wheels[["sku", "row"]].to_numpy().tolist() == [["W-2", 5]]


# Price lists over time


NEWER = WHEELS.replace("60.00", "66.00").replace("W-2", "W-3")
MONTHS = {"ridge_2026-10__csv": WHEELS, "ridge_2026-11__csv": NEWER}


def test_of_a_pattern_the_latest_price_list_is_read(loaded):
    answer = loaded(RULE, path="ridge_*.csv", **MONTHS)
    assert answer.parts.wheels["price_cents"].to_list() == [6600, 5000]
    assert answer.sheets["wheels"][0].date == "2026-11-01"


def test_what_a_new_price_list_changes_is_told(loaded):
    change = list_changes(loaded(RULE, path="ridge_*.csv", **MONTHS).job)[0]
    assert (change.new, change.gone, change.cheaper) == (("W-3",), ("W-2",), ())
    assert [(one.sku, one.before_cents, one.now_cents) for one in change.dearer] == [("W-1", 6000, 6600)]


def test_files_of_a_pattern_without_a_date_are_a_problem(loaded):
    files = {"ridge_a__csv": WHEELS, "ridge_b__csv": WHEELS}
    assert [one.word for one in problems_of(loaded, RULE, path="ridge_*.csv", **files)] == ["which-file"]


# A part in two lists


def two(loaded, first, second, rules=("", "")):
    job = JOB + f'[[files.wheels]]\npath = "b.csv"\n{rules[1]}{RULE}'
    return loaded(rules[0] + RULE, path="a.csv", job=job, a__csv=first, b__csv=second)


def test_of_one_part_at_two_prices_the_later_list_counts(loaded):
    answer = two(loaded, WHEELS, WHEELS.replace("60.00", "55.00"), ('date = "2026-10-01"\n', 'date = "2026-11-01"\n'))
    wheels = answer.parts.wheels
    assert dict(zip(wheels["sku"], wheels["price_cents"], strict=True)) == {"W-1": 5500, "W-2": 5000}
    assert {one.why for one in answer.aside["wheels"]} == {"twice"}


def test_of_one_part_at_two_prices_the_dearer_counts_without_a_date(loaded):
    assert two(loaded, WHEELS, WHEELS.replace("60.00", "55.00")).parts.wheels["price_cents"].max() == 6000


def test_of_one_number_with_two_specs_none_counts(loaded):
    answer = two(loaded, WHEELS, WHEELS.replace("W-2,15x7", "W-2,15x6"))
    assert answer.parts.wheels["sku"].to_list() == ["W-1"]
    assert [one.problem.word for one in answer.aside["wheels"]].count("twice-with-other-specs") == 2


def test_one_number_of_two_suppliers_is_two_parts(loaded):
    answer = two(loaded, WHEELS, WHEELS, ('supplier = "Ridge"\n', 'supplier = "Hollow"\n'))
    assert sorted(answer.parts.wheels["sku"]) == ["W-1@Hollow", "W-1@Ridge", "W-2@Hollow", "W-2@Ridge"]


# Rows that are set aside


def rows(*bad):
    """Two good wheels for each bad row, so that the rules are not wrong."""
    good = [f"G-{at},15x8,6x5.5 in,4.5,22,60.00,9" for at in range(2 * len(bad) + 2)]
    return "Part #,Size,B/P,B.S.,Weight,Net,Stock\n" + "\n".join([*good, *bad]) + "\n"


@pytest.mark.parametrize(
    ("row", "why"),
    [
        ("W-1,15x8,6x5.5 in,4.5,22,CALL,4", "no price"),
        ("W-1,15x8,6x5.5 in,4.5,22,,4", "no price"),
        ("W-1,15x8,6x5.5 in,4.5,22,disc.,4", "not sold"),
        ("W-1,15x8,6x5.5 in,4.5,22,60,0", "no stock"),
        ("W-1,15x8,6x5.5 in,4.5,22,60,1", "no stock"),
        ("W-1,round,6x5.5 in,4.5,22,60,4", "not understood"),
        ("W-1,15x8,8 lug,4.5,22,60,4", "not understood"),
        ("W-1,15-Aug,6x5.5 in,4.5,22,60,4", "not understood"),
        ("W-1,15x8 +40,6x5.5 in,4.5,22,60,4", "contradicts itself"),
    ],
)
def test_a_bad_row_costs_that_row_for_its_reason(loaded, row, why):
    answer = loaded(RULE, ridge__csv=rows(row))
    assert [one.why for one in answer.aside["wheels"]] == [why]
    assert answer.parts.wheels["sku"].to_list() == ["G-0", "G-1", "G-2", "G-3"]


def test_how_many_rows_are_read_and_why_not_all_is_one_line(loaded):
    answer = loaded(RULE, ridge__csv=rows("W-1,round,6x5.5 in,4.5,22,60,4", "W-2,15x8,6x5.5 in,4.5,22,CALL,4"))
    told = [one.found for one in answer.notices if one.word == "rows-set-aside"]
    assert told == ["6 of 8 rows read; 2 set aside: 1 without a price, 1 not understood"]


def test_junk_in_an_optional_cell_leaves_it_blank(loaded):
    wheels = loaded(RULE, ridge__csv=rows("W-1,15x8,6x5.5 in,4.5,see note,60,4")).parts.wheels
    assert wheels["mass_kg"].isna().sum() == 1


def test_more_than_a_third_not_understood_is_a_problem_told_once(loaded):
    text = WHEELS.replace("15x8", "round").replace("15x7", "square")
    found = problems_of(loaded, RULE, ridge__csv=text)
    assert [(one.word, one.place.row) for one in found] == [("not-a-wheel-size", 2)]
    assert found[0].found.endswith("and one row more like it")


def test_any_number_without_a_price_is_no_problem_of_the_rules(loaded):
    text = WHEELS + "".join(f"X-{at},15x8,6x5.5 in,4.5,22,CALL\n" for at in range(20))
    assert len(loaded(RULE, ridge__csv=text).parts.wheels) == 2


def test_a_shop_may_have_bad_rows_stop_the_work(loaded):
    job = JOB + 'bad_rows = "stop"\n'
    found = problems_of(loaded, RULE, job=job, ridge__csv=rows("W-1,15x8,6x5.5 in,4.5,22,CALL,4"))
    assert [one.word for one in found] == ["no-price"]


def test_a_wheel_of_two_patterns_takes_the_one_of_the_hub(loaded):
    wheels = loaded(RULE, ridge__csv=rows("W-1,15x8,5x4.5/6x5.5 in,4.5,22,60,4")).parts.wheels
    last = wheels[wheels["sku"] == "W-1"].iloc[0]
    assert (last["bolt_circle_lugs"], last["bolt_circle_mm"]) == (6.0, 139.7)


def test_a_wheel_of_two_patterns_is_two_candidates_where_the_hubs_have_both(loaded):
    job = JOB.replace('[hub.rear]\nbolt_circle = "6x5.5 in"', '[hub.rear]\nbolt_circle = "5x4.5 in"')
    wheels = loaded(RULE, job=job, ridge__csv=rows("W-1,15x8,5x4.5/6x5.5 in,4.5,22,60,4")).parts.wheels
    assert [sku for sku in wheels["sku"] if sku.startswith("W-1")] == ["W-1 5x114.3", "W-1 6x139.7"]


def test_a_size_that_became_a_date_is_recognized(loaded, tmp_path):
    book = openpyxl.Workbook()
    for row in (
        ["Part #", "Size", "B/P", "Net"],
        ["W-1", "15x8", "6x5.5 in", 60],
        ["W-2", "15x7", "6x5.5 in", 50],
        ["W-3", datetime.date(2026, 8, 15), "6x5.5 in", 60],
    ):
        book.active.append(row)
    book.save(tmp_path / "ridge.xlsx")
    aside = loaded(path="ridge.xlsx").aside["wheels"]
    assert [(one.problem.word, one.problem.place.row) for one in aside] == [("a-date", 4)]


@pytest.mark.parametrize("typed", ["$60", "60.5", "$1179.05", "60", "0060.10", "$60.00 ea", "12 ea"])
def test_a_plain_price_reads_as_any_amount_does(typed):
    reader = Reader(WHEEL, currency=DOLLAR)
    assert reader.values("price", typed, None) == (money_cents(typed.removesuffix("ea").strip()),)


@given(cents=st.integers(0, 9_999_999), factor=st.fractions(min_value="0.01", max_value=3))
def test_a_price_times_its_factor_is_rounded_half_up(cents, factor):
    reader = Reader(WHEEL, currency=DOLLAR, price_factor=factor)
    if cents * factor <= 10_000_000:
        assert reader.values("price", f"${cents // 100}.{cents % 100:02}", None) == (float(rounded(cents * factor)),)


def test_a_part_that_a_note_calls_discontinued_is_not_sold(loaded):
    text = "Part #,Size,B/P,B.S.,Weight,Net,Note\n" + "".join(
        f"W-{at},15x8,6x5.5 in,4.5,22,60,{note}\n" for at, note in enumerate(["", "", "DISC.", "", "white"])
    )
    answer = loaded(RULE, ridge__csv=text)
    assert [(one.why, one.problem.place.row) for one in answer.aside["wheels"]] == [("not sold", 4)]

"""A wheel that is made to order is a candidate for each backspace, offset and bolt circle, and like any other."""

import csv
import io
import json
from fractions import Fraction

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from combo.problems import Problems
from combo.read import cache
from combo.read import load as loading
from combo.read.load import load
from combo.read.ranges import MOST_STEPS, steps_of
from combo.search.filter import space_of
from combo.search.topk import rank
from combo.show.files import write_starter
from combo.show.machine import rank_json
from combo.units import LENGTH, UnitError, quantity

JOB = """[job]
name = "A job"
[truck]
wheelbase = "117.5 in"
[hub.front]
bolt_circle = "{front}"
[hub.rear]
bolt_circle = "{rear}"
[files]
wheels = "wheels.csv"
spacers = "spacers.csv"
tires = "tires.csv"
ratios = "ratios.csv"
differentials = "differentials.csv"
"""
LISTS = {
    "spacers.csv": "sku,thickness,bolt_circle,wheel_bolt_circle,price\nS-1,6 mm,6x5.5 in,,18.00\n",
    "tires.csv": "sku,designation,price\nT-1,P235/75R15 105S,95.00\n",
    "ratios.csv": "sku,ratio,price\nG-1,3.73,189.00\n",
    "differentials.csv": "sku,type,price\nD-1,open,140.00\n",
}
HEADERS = ("sku", "size", "bolt_circle", "hub_bore_mm", "backspace", "offset", "on_truck", "mass_lb", "price")
EIGHTHS = "3 1/2 to 5 in by 1/8"
ELSEWHERE = "S-1,6 mm,4x100,,18.00\n"
"""A spacer that bolts to no hub of these jobs."""


def row(sku="W-MTO", **cells):
    """A row of a list of wheels by header."""
    return {"sku": sku, "size": "15x8", "bolt_circle": "6x5.5 in", "mass_lb": "23", "price": "118.00", **cells}


def wheel_list(rows, **renamed):
    """A list of wheels as a CSV; a header may be another one."""
    text = io.StringIO(newline="")
    writer = csv.DictWriter(text, HEADERS, restval="")
    writer.writerow({name: renamed.get(name, name) for name in HEADERS})
    writer.writerows(rows)
    return text.getvalue()


@pytest.fixture
def written(tmp_path):
    """Path of a job written beside lists with some rows of wheels."""

    def write(*rows, front="6x5.5 in", rear="6x5.5 in", spacers=None, **renamed):
        texts = {"job.toml": JOB.format(front=front, rear=rear), "wheels.csv": wheel_list(rows, **renamed), **LISTS}
        if spacers is not None:
            texts["spacers.csv"] = LISTS["spacers.csv"].splitlines()[0] + "\n" + spacers
        for name, text in texts.items():
            (tmp_path / name).write_text(text, encoding="utf-8", newline="")
        return tmp_path / "job.toml"

    return write


@pytest.fixture
def kept_lists(tmp_path, monkeypatch):
    """A cache folder of its own; gives the lists that are kept."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setenv("LOCALAPPDATA", str(tmp_path / "cache"))
    monkeypatch.delenv(cache.OFF_VARIABLE, raising=False)
    cache._memory.clear()
    yield lambda: sorted(cache.folder().glob("*.list"))
    cache._memory.clear()


@pytest.fixture
def wheels_read(monkeypatch):
    """How often a list of wheels has been read."""
    read, own = [], loading.read_lists

    def noted(kind, *rest):
        read.extend(["once more"] * (kind.name == "wheel"))
        return own(kind, *rest)

    monkeypatch.setattr(loading, "read_lists", noted)
    return read


def skus(path):
    return load(path).parts.wheels["sku"].tolist()


def notices(path):
    return [one.text() for one in load(path).notices]


def problems(path):
    with pytest.raises(Problems) as caught:
        load(path)
    return [(one.place.file, one.place.row, one.place.column, one.word) for one in caught.value.problems]


# Steps


@pytest.mark.parametrize(
    ("text", "unit", "low", "high", "count"),
    [
        ("3 1/2 to 5 in by 1/8", None, "88.9", "127", 13),
        ('3 1/2" to 5" by 1/8"', None, "88.9", "127", 13),
        ("3.5 to 5 in by 1/8 in", None, "88.9", "127", 13),
        ("3-1/2 TO 5 By 1/8", "in", "88.9", "127", 13),
        ("3½ in to 5 by ⅛", None, "88.9", "127", 13),
        ("-12 mm to 24 mm by 6 mm", None, "-12", "24", 7),
        ("-12 to 24 by 6", "mm", "-12", "24", 7),
        ("90 mm to 5 in by 5 mm", None, "90", "125", 8),
        ("90 to 130 mm by 5", "in", "90", "130", 9),
        ("3 to 4 3/8 in by 1/4", None, "76.2", "107.95", 6),
    ],
)
def test_a_range_with_a_step_is_its_sizes(text, unit, low, high, count):
    sizes = steps_of(text, bare_unit=unit).sizes_mm()
    assert (sizes[0], sizes[-1], len(sizes)) == (Fraction(low), Fraction(high), count)


def test_a_decimal_comma_is_read_in_a_range_where_it_is_one():
    assert steps_of("88,9 mm to 127 mm by 12,7 mm", decimal_comma=True).sizes_mm()[1] == Fraction("101.6")


@settings(deadline=None)
@given(low=st.integers(-400, 400), step=st.integers(1, 64), count=st.integers(2, MOST_STEPS), over=st.integers(0, 63))
def test_no_step_drifts(low, step, count, over):
    high = low + step * (count - 1) + over % step
    found = steps_of(f"{low}/32 in to {high}/32 in by {step}/32 in").sizes_mm()
    assert found == [Fraction(low + step * at, 32) * Fraction("25.4") for at in range(count)]


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("5 to 3 1/2 in by 1/8", "range-reversed"),
        ("3 1/2 to 5 in by 0", "not-a-step"),
        ("3 1/2 to 5 in by -1/8", "not-a-step"),
        ("3 1/2 to 5 in by 2", "not-a-step"),
        ("4 to 4 in by 1/8", "not-a-step"),
        ("3 to 3.1 mm by 0.05", "not-a-step"),
        ("3 to 10 in by 1/32", "too-many-steps"),
        ("3 in to 5 lb by 1/8 in", "wrong-dimension"),
        ("3 in to 5 in by 1/8 lb", "wrong-dimension"),
        ("3 1/2 in +- 1/16 in to 5 in by 1/8 in", "not-a-range"),
        ("3 1/2 to 5 in by 1/8 ± 1/16", "not-a-range"),
        ("3 1/2 to 5 in", "not-a-range"),
        ("3 1/2 in by 1/8", "not-a-range"),
        ("to 5 in by 1/8", "not-a-range"),
        ("3 1/2 to 5 by 1/8", "no-unit"),
        ("90 mm to 5 in by 1/8", "no-unit"),
        ("3 to 4 to 5 in by 1/8", "unknown-unit"),
        ("3 furlops to 5 in by 1/8", "unknown-unit"),
        ("low to high by 1/8 in", "unknown-unit"),
    ],
)
def test_what_is_no_range_is_told_at_its_cell_which_is_left_blank(written, text, word):
    loaded = load(written(row(backspace=text)))
    assert [(one.place.row, one.place.column, one.word) for one in loaded.notices] == [(2, "backspace", word)]
    assert loaded.parts.wheels["backspace_mm"].isna().all()


@pytest.mark.parametrize("text", ["5 to 3 in by 1/8", "3 to 5 in by 0", "3 to 5 in", "3 in to 5 lb by 1/8 in"])
def test_a_problem_quotes_the_cell_and_says_what_is_accepted(text):
    with pytest.raises(UnitError) as caught:
        steps_of(text)
    assert f'"{text}"' in caught.value.found
    assert "first" in caught.value.accepted or "accepted" in caught.value.accepted


def test_two_hundred_steps_are_accepted_and_one_more_is_not():
    assert steps_of(f"0 to {MOST_STEPS - 1} mm by 1").count == MOST_STEPS
    with pytest.raises(UnitError, match="201 steps"):
        steps_of(f"0 to {MOST_STEPS} mm by 1")


# Rows of steps


def test_a_row_is_a_candidate_for_each_step(written):
    assert skus(written(row(backspace=EIGHTHS))) == [
        f"W-MTO @ {size} in"
        for size in (
            "3 1/2",
            "3 5/8",
            "3 3/4",
            "3 7/8",
            "4",
            "4 1/8",
            "4 1/4",
            "4 3/8",
            "4 1/2",
            "4 5/8",
            "4 3/4",
            "4 7/8",
            "5",
        )
    ]


def test_a_step_is_the_size_to_the_last_digit(written):
    wheels = load(written(row(backspace=EIGHTHS))).parts.wheels.set_index("sku")
    offset = wheels["offset_mm"]["W-MTO @ 4 1/8 in"]
    assert offset == 104.775 - (203.2 + 25.4) / 2  # 4 1/8 in; 15x8 with flanges of 1/2 in


def test_a_step_has_all_else_of_its_row(written):
    wheels = load(written(row(backspace=EIGHTHS, hub_bore_mm="108.5"))).parts.wheels
    same = wheels.drop(columns=["sku", "backspace_mm", "offset_mm"]).drop_duplicates()
    assert len(same) == 1
    assert same[["file", "row", "price_cents", "hub_bore_mm"]].iloc[0].tolist() == ["wheels.csv", 2, 11800.0, 108.5]


def test_other_rows_stay_as_they_are_and_in_order(written):
    rows = (row("W-1", backspace="4 in"), row("W-2", backspace="4 to 5 in by 1"), row("W-3", offset="6 mm"))
    wheels = load(written(*rows)).parts.wheels
    assert wheels["sku"].tolist() == ["W-1", "W-2 @ 4 in", "W-2 @ 5 in", "W-3"]
    assert wheels["row"].tolist() == [2, 3, 3, 4]
    assert list(wheels.index) == [0, 1, 2, 3]


@pytest.mark.parametrize(
    ("cells", "expected"),
    [
        ({"backspace": "100 to 104 mm by 1.6"}, ["W-MTO @ 100 mm", "W-MTO @ 4 in", "W-MTO @ 103.2 mm"]),
        ({"offset": "-12 to 12 mm by 12"}, ["W-MTO @ ET-12", "W-MTO @ ET0", "W-MTO @ ET12"]),
        ({"offset": "0 to 1/2 in by 1/4"}, ["W-MTO @ ET0", "W-MTO @ ET6.4", "W-MTO @ ET12.7"]),
    ],
)
def test_a_part_number_says_what_to_order(written, cells, expected):
    assert skus(written(row(**cells))) == expected


def test_the_finest_steps_have_part_numbers_of_their_own(written):
    found = skus(written(row(offset="-0.55 to 10 mm by 0.1")))
    assert len(set(found)) == len(found) == 106


def test_the_unit_may_stand_in_the_header(written):
    path = written(row(backspace="3 1/2 to 5 by 1/8", offset=""), backspace="BS (in)")
    assert len(skus(path)) == 13


def test_a_range_in_a_workbook_is_read_alike(written, tmp_path):
    path = written(row(backspace=EIGHTHS))
    before = load(path).parts.wheels
    book = openpyxl.Workbook()
    for line in csv.reader(io.StringIO((tmp_path / "wheels.csv").read_text(encoding="utf-8"))):
        book.active.append(line)
    book.save(tmp_path / "wheels.xlsx")
    path.write_text(path.read_text(encoding="utf-8").replace("wheels.csv", "wheels.xlsx"), encoding="utf-8")
    after = load(path).parts.wheels
    assert after.drop(columns=["file", "sheet"]).equals(before.drop(columns=["file", "sheet"]))


def test_columns_that_no_field_claims_go_with_every_step(written):
    path = written(
        row("W-1", backspace="4 to 5 in by 1", on_truck="red"),
        row("W-2", backspace="4", on_truck="gray"),
        on_truck="Color",
        backspace="backspace_in",
    )
    loaded = load(path)
    assert loaded.parts.extra["wheels"]["Color"].tolist() == ["red", "red", "gray"]
    assert list(loaded.parts.extra["wheels"].index) == list(loaded.parts.wheels.index)


def test_a_plus_or_minus_of_other_rows_is_not_that_of_a_step(written):
    rows = (row("W-1", backspace="4 in +- 1/16 in"), row("W-2", backspace="4 to 5 in by 1"))
    assert load(written(*rows)).parts.wheels["backspace_mm.off"].fillna(-1.0).tolist() == [1.5875, -1.0, -1.0]


def test_a_shorthand_backspace_is_settled_at_every_step(written):
    path = written(row(backspace="4 to 5 in by 1", hub_bore_mm="shorthand"), hub_bore_mm="backspace_basis")
    wheels = load(path).parts.wheels
    assert wheels["offset_mm"].tolist() == pytest.approx([0.0, 25.4])
    assert wheels["backspace_mm"].tolist() == pytest.approx([114.3, 139.7])


@pytest.mark.parametrize("kind", ["spacers", "tires"])
def test_only_wheels_are_made_to_order(written, tmp_path, kind):
    path = written(row(backspace="4 in"))
    header, line = LISTS[f"{kind}.csv"].splitlines()
    column, cell = {"spacers": ("pad", "3 to 5 in by 1"), "tires": ("tread_width", "3 to 5 in by 1")}[kind]
    (tmp_path / f"{kind}.csv").write_text(f"{header},{column}\n{line},{cell}\n", encoding="utf-8")
    assert [(found.place.file, found.place.column) for found in load(path).notices] == [(f"{kind}.csv", column)]


# What is told


def test_a_row_is_told_once(written):
    assert notices(written(row(backspace=EIGHTHS))) == [
        'wheels.csv, row 2, column "backspace": W-MTO: 13 backspaces from 3 1/2 in to 5 in by 1/8 in, each a candidate'
    ]


def test_an_upper_end_that_no_step_lands_on_is_told(written):
    told = notices(written(row(backspace="3 to 4 3/8 in by 1/4")))
    assert told[0].endswith(
        "6 backspaces from 3 in to 4 3/8 in by 1/4 in, each a candidate; "
        "no step lands on 4 3/8 in: the last is 4 1/4 in"
    )


def test_offsets_are_told_in_millimeters(written):
    told = notices(written(row(offset="-12.7 to 12.7 mm by 12.7")))
    assert told[0].endswith("W-MTO: 3 offsets from -12.7 mm to 12.7 mm by 12.7 mm, each a candidate")


def test_steps_outside_the_wheel_are_one_problem(written):
    path = written(row(backspace="8 to 10 in by 1/8"))
    with pytest.raises(Problems) as caught:
        load(path)
    (problem,) = caught.value.problems
    assert (problem.word, problem.place.row, problem.place.column) == ("outside-the-wheel", 2, "backspace")
    assert problem.found.startswith("W-MTO @ 9 1/8 in:")  # 15x8 is 9 in over its flanges


def test_an_offset_against_the_steps_is_told_once(written):
    loaded = load(written(row(backspace=EIGHTHS, offset="60 mm"), row("W-2", backspace="4 in")))
    assert [one.problem.word for one in loaded.aside["wheels"]] == ["backspace-and-offset"]


def test_a_nut_that_no_list_has_is_told_once(written):
    path = written(row(backspace=EIGHTHS, hub_bore_mm="N-1"), hub_bore_mm="lug_nut")
    assert problems(path) == [("wheels.csv", 2, "lug_nut", "unknown-nut")]


@pytest.mark.parametrize(
    "cells",
    [{"backspace": EIGHTHS}, {"offset": "0 to 12 mm by 6"}, {"bolt_circle": "to order", "backspace": "4 in"}],
)
@pytest.mark.parametrize("where", ["front", "both"])
def test_what_is_on_the_truck_is_not_made_to_order(written, cells, where):
    column = next(iter(cells))
    assert problems(written(row(on_truck=where, **cells))) == [("wheels.csv", 2, column, "made-to-order")]


def test_what_is_said_not_to_be_on_the_truck_may_be_made_to_order(written):
    assert len(skus(written(row(backspace=EIGHTHS, on_truck="no")))) == 13


def test_ranges_of_backspace_and_of_offset_are_not_accepted_together(written):
    path = written(row(backspace=EIGHTHS, offset="0 to 12 mm by 6"))
    assert problems(path) == [("wheels.csv", 2, "offset", "made-to-order")]


def test_a_step_with_the_part_number_of_another_row_is_a_duplicate(written):
    rows = (row("W-1 @ 4 in", backspace="4 in"), row("W-1", backspace="3 to 5 in by 1"))
    assert problems(written(*rows)) == [("wheels.csv", 3, "sku", "duplicate-sku")]


def test_a_part_number_listed_twice_is_told_once_whatever_its_steps(written):
    loaded = load(written(row(backspace=EIGHTHS), row(backspace=EIGHTHS)))
    assert [(one.why, one.problem.place.row) for one in loaded.aside["wheels"]] == [("twice", 3)]
    assert len(loaded.parts.wheels) == 13


# Drilling


@pytest.mark.parametrize("text", ["to order", "Drilled to order", "custom", " CUSTOM "])
def test_a_wheel_is_drilled_for_the_hub(written, text):
    wheels = load(written(row(bolt_circle=text, backspace="4 in"))).parts.wheels
    assert wheels[["sku", "bolt_circle_lugs", "bolt_circle_mm"]].to_numpy().tolist() == [["W-MTO 6x139.7", 6.0, 139.7]]


def test_staggered_hubs_have_a_wheel_each(written):
    path = written(row(bolt_circle="to order", backspace="4 in"), front="5x4.5 in", rear="8x6.5 in")
    assert skus(path) == ["W-MTO 5x114.3", "W-MTO 8x165.1"]


def test_circles_that_go_together_are_drilled_once(written):
    path = written(row(bolt_circle="to order", backspace="4 in"), front="8x165.1", rear="8x165", spacers=ELSEWHERE)
    assert skus(path) == ["W-MTO 8x165.1"]


def test_circles_that_do_not_go_together_are_drilled_each(written):
    path = written(row(bolt_circle="to order", backspace="4 in"), front="5x120", rear="5x120.65", spacers=ELSEWHERE)
    assert skus(path) == ["W-MTO 5x120", "W-MTO 5x120.7"]


def test_as_many_lugs_make_a_circle_the_same(written):
    path = written(row(bolt_circle="to order", backspace="4 in"), front="5x139.7", rear="6x139.7", spacers=ELSEWHERE)
    assert skus(path) == ["W-MTO 5x139.7", "W-MTO 6x139.7"]


def test_an_adapter_on_a_hub_has_a_wheel_for_its_outer_circle(written):
    adapters = "S-1,1 in,6x5.5 in,8x6.5 in,99\nS-2,1 in,5x4.5 in,5x5 in,99\nS-3,1/4 in,6x139.7,,20\n"
    path = written(row(bolt_circle="to order", backspace="4 in"), spacers=adapters)
    assert skus(path) == ["W-MTO 6x139.7", "W-MTO 8x165.1"]


def test_the_order_of_the_spacers_changes_nothing(written):
    adapters = ["S-1,1 in,6x5.5 in,8x6.5 in,99", "S-2,1 in,6x5.5 in,5x5.5 in,99", "S-3,1 in,6x5.5 in,5x139.8,99"]
    found = [
        skus(written(row(bolt_circle="to order", backspace="4 in"), spacers="\n".join(lines)))
        for lines in (adapters, adapters[::-1])
    ]
    assert found[0] == found[1] == ["W-MTO 6x139.7", "W-MTO 5x139.7", "W-MTO 8x165.1"]


def test_steps_and_circles_multiply(written):
    path = written(row(bolt_circle="to order", backspace=EIGHTHS), row("W-1", backspace="4 in"), rear="8x6.5 in")
    found = skus(path)
    assert len(set(found)) == len(found) == 13 * 2 + 1
    assert found[0] == "W-MTO @ 3 1/2 in 6x139.7"
    assert found[-1] == "W-1"


def test_what_is_drilled_is_told_once_a_row(written):
    path = written(row(bolt_circle="to order", backspace=EIGHTHS), rear="8x6.5 in")
    assert notices(path)[1:] == [
        'wheels.csv, row 2, column "bolt_circle": W-MTO: drilled to order for 6x139.7 and 8x165.1, each a candidate'
    ]


def test_a_circle_that_the_bore_leaves_no_room_for_is_left_out(written):
    path = written(row(bolt_circle="to order", backspace="4 in", hub_bore_mm="120"), front="5x4.5 in")
    assert skus(path) == ["W-MTO 6x139.7"]
    assert notices(path)[0].endswith(
        "drilled to order for 6x139.7; no room for 5x114.3 around its hub bore of 120.0 mm"
    )


def test_a_wheel_that_no_hub_has_room_for_is_set_aside(written):
    path = written(row(bolt_circle="to order", backspace="4 in", hub_bore_mm="150"), row("W-1", backspace="4 in"))
    assert skus(path) == ["W-1"]
    assert notices(path)[0].endswith(
        "for no hub of this job; no room for 6x139.7 around its hub bore of 150.0 mm. The row is set aside"
    )


def test_a_list_without_a_wheel_that_a_hub_has_room_for_is_a_problem(written):
    path = written(row(bolt_circle="to order", backspace=EIGHTHS, hub_bore_mm="150"))
    assert problems(path) == [("wheels.csv", 2, "bolt_circle", "all-set-aside")]


def test_columns_that_no_field_claims_go_with_every_circle(written):
    rows = (row("W-1", bolt_circle="to order", backspace="4 in", on_truck="red"), row("W-2", on_truck="gray"))
    loaded = load(written(*rows, rear="8x6.5 in", on_truck="Color"))
    assert loaded.parts.extra["wheels"]["Color"].tolist() == ["red", "red", "gray"]


def test_a_drilled_part_number_that_another_row_has_is_a_duplicate(written):
    rows = (row("W-1", bolt_circle="to order", backspace="4 in"), row("W-1 6x139.7", backspace="4 in"))
    assert problems(written(*rows, sku="Part No.")) == [("wheels.csv", 3, "Part No.", "duplicate-sku")]


def test_an_empty_bolt_circle_is_still_a_problem_beside_one_to_order(written):
    rows = (row("W-1", bolt_circle="to order", backspace="4 in"), row("W-2", bolt_circle="", backspace="4 in"))
    assert problems(written(*rows)) == [("wheels.csv", 3, "bolt_circle", "empty-cell")]


def test_a_spacer_is_not_drilled_to_order(written):
    path = written(row(backspace="4 in"), spacers="S-1,1 in,to order,,99\n")
    assert problems(path) == [("spacers.csv", 2, "bolt_circle", "not-a-bolt-circle")]


# Kept lists


def test_what_is_kept_gives_the_same(written, kept_lists, wheels_read):
    path = written(row(bolt_circle="to order", backspace=EIGHTHS), row("W-1", backspace="4 in"), rear="8x6.5 in")
    first = load(path)
    assert kept_lists()
    cache._memory.clear()
    again = load(path)
    assert len(wheels_read) == 1
    assert again.parts.wheels.equals(first.parts.wheels)
    assert again.notices == first.notices


def test_another_hub_has_its_own_drilling_of_kept_lists(written, kept_lists, wheels_read):
    path = written(row(bolt_circle="to order", backspace="4 in"))
    assert skus(path) == ["W-MTO 6x139.7"]
    path.write_text(JOB.format(front="5x4.5 in", rear="5x4.5 in"), encoding="utf-8")
    for forget in (dict, cache._memory.clear):  # what is in memory, and what is on disk
        forget()
        assert skus(path) == ["W-MTO 5x114.3"]
    assert len(wheels_read) == 1


# Like any other wheel


@st.composite
def ranges(draw):
    """A range of inches, and its sizes as a list would have them one by one."""
    low, step = draw(st.integers(40, 70)), draw(st.integers(1, 12))
    count = draw(st.integers(2, 8))
    return f"{low}/16 to {low + step * (count - 1)}/16 in by {step}/16", [
        f"{low + step * at}/16 in" for at in range(count)
    ]


@settings(deadline=None, max_examples=30)
@given(ranges())
def test_a_step_is_the_size_that_a_list_would_have(drawn):
    text, sizes = drawn
    expected = [quantity(size, LENGTH) for size in sizes]
    assert [float(size) for size in steps_of(text).sizes_mm()] == expected


def starter_ranking(folder, rows, rear):
    """Ranking of the starter job with more wheels, and the wheels themselves."""
    write_starter(folder)
    job = folder / "job.toml"
    head, tail = job.read_text(encoding="utf-8").split("[hub.rear]")
    job.write_text(head + "[hub.rear]" + tail.replace('"6x5.5 in"', f'"{rear}"', 1), encoding="utf-8")
    path = folder / "wheels.csv"
    header = path.read_text(encoding="utf-8").splitlines()[0].split(",")
    with path.open("a", encoding="utf-8", newline="") as file:
        csv.DictWriter(file, header, restval="").writerows(rows)
    loaded = load(job)
    shown = json.loads(rank_json(rank(space_of(loaded.job, loaded.parts), 40), loaded.parts))
    return shown, loaded


COMMON = {
    "size": "15x8",
    "hub_bore_mm": "108.2",
    "load_rating_lb": "1900",
    "mass_lb": "19.5",
    "price": "41.00",
    "style": "eight-hole",
    "barrel_diameter_in": "13.65",
    "spoke_clearance_in": "2",
    "pad_in": "0.15",
    "seat": "cone 60",
}


@pytest.mark.parametrize("rear", ["6x5.5 in", "6x5.51 in", "8x6.5 in"])
def test_wheels_made_to_order_rank_as_the_same_wheels_listed_one_by_one(tmp_path, rear):
    order = [{"sku": "W-MTO", "bolt_circle": "to order", "backspace_in": "3 to 5 by 1/4", **COMMON}]
    shown, loaded = starter_ranking(tmp_path / "to_order", order, rear)
    made = loaded.parts.wheels[loaded.parts.wheels["sku"].str.startswith("W-MTO")]
    circles = sorted({sku.split()[-1] for sku in made["sku"]})
    assert len(made) == 9 * len(circles)
    one_by_one = [
        {"sku": f"W-MTO @ {size} in {circle}", "bolt_circle": circle, "backspace_in": size, **COMMON}
        for size in ("3", "3 1/4", "3 1/2", "3 3/4", "4", "4 1/4", "4 1/2", "4 3/4", "5")
        for circle in circles
    ]
    assert {one["sku"] for one in one_by_one} == set(made["sku"])
    listed, _ = starter_ranking(tmp_path / "listed", one_by_one, rear)
    assert shown == listed
    assert rear != "6x5.5 in" or "W-MTO" in json.dumps(shown["builds"])  # they are among the best, not left out

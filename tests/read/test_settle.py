"""What the columns of a part say about one another."""

import math

import pytest
import smallest

from combo.formulas.tire import section_width_on_rim_mm
from combo.job import ListFile
from combo.parts import DIFFERENTIAL, RATIO, TIRE, WHEEL
from combo.problems import Problems
from combo.read.lists import read_lists
from combo.read.load import load
from combo.read.report import ListReport
from combo.read.settle import settle_differentials, settle_ratios, settle_tires, settle_wheels

SETTLERS = {
    "wheel": (WHEEL, settle_wheels),
    "tire": (TIRE, settle_tires),
    "ratio": (RATIO, settle_ratios),
    "differential": (DIFFERENTIAL, settle_differentials),
}
BASE = {
    "wheel": {"sku": "W-1", "rim_diameter": "15", "rim_width": "9", "bolt_circle": "6x5.5 in", "price": "89"},
    "tire": {"sku": "T-1", "designation": "P235/75R15", "price": "99"},
    "ratio": {"sku": "G-1", "ratio": "3.73", "price": "199"},
    "differential": {"sku": "D-1", "type": "open", "price": "140"},
}


@pytest.fixture
def settle(tmp_path):
    """A part of a kind with the cells given, and the report of settling it, where a row set aside is a problem."""

    def settled(kind, **cells):
        cells = BASE[kind] | cells
        path = tmp_path / f"{kind}s.csv"
        path.write_text("\t".join(cells) + "\n" + "\t".join(cells.values()) + "\n", encoding="utf-8")
        report = ListReport()
        table = read_lists(SETTLERS[kind][0], (ListFile(str(path), path.name),), {}, report).table
        assert (report.problems, report.aside) == ([], {})
        settled_row = SETTLERS[kind][1](table, report).iloc[0]
        report.problems.extend(one.problem for one in report.aside.values())
        return settled_row, report

    return settled


# Wheels


def test_the_offset_follows_from_the_backspace(settle):
    assert settle("wheel", backspace_in="5 1/4")[0]["offset_mm"] == pytest.approx(6.35)  # 133.35 - 254 / 2


def test_the_backspace_follows_from_the_offset(settle):
    assert settle("wheel", offset_mm="6.35")[0]["backspace_mm"] == pytest.approx(133.35)


def test_a_backspace_by_the_shorthand_gives_the_shorthands_offset(settle):
    wheel = settle("wheel", backspace_in="5 1/4", backspace_basis="shorthand")[0]
    assert wheel["offset_mm"] == pytest.approx(19.05)  # 133.35 - 228.6 / 2


def test_a_backspace_by_the_shorthand_is_settled_to_the_flanges_edge(settle):
    wheel = settle("wheel", backspace_in="5 1/4", backspace_basis="shorthand")[0]
    assert wheel["backspace_mm"] == pytest.approx(146.05)  # 133.35 + 12.7


def test_the_flange_of_the_list_is_used(settle):
    wheel = settle("wheel", backspace_in="5 1/4", flange_mm="10")[0]
    assert wheel["offset_mm"] == pytest.approx(9.05)  # 133.35 - 248.6 / 2


def test_without_a_flange_half_an_inch_is_taken(settle):
    assert settle("wheel")[0]["flange_mm"] == 12.7


def test_a_wheel_with_neither_offset_nor_backspace_has_neither(settle):
    wheel = settle("wheel")[0]
    assert (math.isnan(wheel["offset_mm"]), math.isnan(wheel["backspace_mm"])) == (True, True)


def test_a_row_whose_backspace_and_offset_differ_contradicts_itself(settle):
    report = settle("wheel", backspace_in="5 1/4", offset_mm="40")[1]
    assert [one.why for one in report.aside.values()] == ["contradicts itself"]
    found = [(one.word, one.place.file, one.place.row) for one in report.problems]
    assert found == [("backspace-and-offset", "wheels.csv", 2)]


def test_a_contradiction_is_placed_under_the_header_of_its_list(settle):
    report = settle("wheel", backspace_in="5 1/4", offset_mm="40")[1]
    assert report.problems[0].place.column == "backspace_in"


def test_a_backspace_and_offset_apart_name_the_wheel(settle):
    report = settle("wheel", backspace_in="5 1/4", offset_mm="40")[1]
    assert report.problems[0].found.startswith("W-1:")


@pytest.mark.parametrize("offset_mm", ["6.35", "9.525", "3.175", "6"])
def test_within_an_eighth_of_an_inch_they_agree(settle, offset_mm):
    assert settle("wheel", backspace_in="5 1/4", offset_mm=offset_mm)[1].aside == {}


@pytest.mark.parametrize("offset_mm", ["9.53", "3.17"])
def test_beyond_an_eighth_of_an_inch_they_do_not(settle, offset_mm):
    assert len(settle("wheel", backspace_in="5 1/4", offset_mm=offset_mm)[1].aside) == 1


def test_a_contradiction_says_when_the_other_basis_would_agree(settle):
    report = settle("wheel", backspace_in="5 1/4", offset_mm="19")[1]
    assert report.problems[0].hint == 'They agree with backspace_basis "shorthand"'


def test_the_shorthand_is_never_taken_unasked(settle):
    assert settle("wheel", backspace_in="5 1/4", offset_mm="19")[0]["offset_mm"] == pytest.approx(6.35)


@pytest.mark.parametrize("cells", [{"backspace_in": "11"}, {"offset_mm": "-200"}, {"backspace_in": "-1"}])
def test_a_mounting_face_outside_the_wheel_is_refused(settle, cells):
    assert [one.word for one in settle("wheel", **cells)[1].problems] == ["outside-the-wheel"]


def test_a_mounting_face_at_the_flanges_edge_is_possible(settle):
    assert settle("wheel", backspace_in="10")[1].problems == []


def test_an_impossible_offset_is_placed_at_a_column_of_the_list(settle):
    problem = settle("wheel", offset_mm="-200")[1].problems[0]
    assert problem.place.column == "offset_mm"


# Tires


@pytest.mark.parametrize(
    ("column", "value"),
    [("rim_diameter_mm", 381.0), ("section_width_mm", 235.0), ("overall_diameter_mm", 733.0), ("aspect_percent", 75.0)],
)
def test_what_the_list_leaves_open_the_designation_settles(settle, column, value):
    assert settle("tire")[0][column] == value


@pytest.mark.parametrize(
    ("cells", "column", "value"),
    [
        ({"overall_diameter_mm": "725"}, "overall_diameter_mm", 725.0),
        ({"section_width_mm": "240"}, "section_width_mm", 240.0),
        ({"service": "LT"}, "service", "light_truck"),
        ({"construction": "bias"}, "construction", "bias"),
    ],
)
def test_the_lists_columns_win_over_the_designation(settle, cells, column, value):
    assert settle("tire", **cells)[0][column] == value


def test_a_listed_size_far_from_the_designation_is_noticed(settle):
    report = settle("tire", overall_diameter_mm="800")[1]
    assert [(one.word, one.place.row) for one in report.notices] == [("size-and-designation", 2)]


def test_the_measuring_rim_of_a_metric_size_is_estimated_and_marked(settle):
    tire = settle("tire")[0]
    assert (tire["measuring_rim_mm"], tire["rim_is_estimate"]) == (pytest.approx(164.5), 1.0)  # 0.7 x 235


def width_mm(tire, rim_width_in):
    return section_width_on_rim_mm(tire["section_width_mm"], tire["measuring_rim_mm"], rim_width_in * 25.4)


@pytest.mark.parametrize("cells", [{}, {"measuring_rim": "8"}, {"measuring_rim": "9"}])
def test_a_265_70r15_on_8_in_is_272_mm_wide_whatever_measuring_rim_is_listed(settle, cells):
    tire = settle("tire", designation="265/70R15", **cells)[0]
    assert width_mm(tire, 8.0) == pytest.approx(272.08)  # 265 + 0.4 (203.2 - 185.5)


@pytest.mark.parametrize("cells", [{}, {"measuring_rim": "7.5"}])
def test_below_50_series_the_nominal_width_belongs_to_0_85_of_it(settle, cells):
    tire = settle("tire", designation="245/45ZR18", **cells)[0]
    assert (tire["measuring_rim_mm"], tire["rim_is_estimate"]) == (pytest.approx(208.25), 1.0)


@pytest.mark.parametrize(
    ("cells", "rim_in", "is_estimate"),
    [
        ({"designation": "265/70R15", "section_width_mm": "272"}, 8.0, 1.0),
        ({"designation": "265/70R15", "section_width_mm": "272", "measuring_rim": "7.5"}, 7.5, 0.0),
        ({"designation": "LT285/75R16", "section_width_mm": "287"}, 8.0, 1.0),  # 285 x 0.70 = 7.85 in
        ({"designation": "31x10.50R15LT"}, 8.5, 1.0),
        ({"designation": "31x10.50R15LT", "measuring_rim": "8"}, 8.0, 0.0),
        ({"designation": "33x12.50R15", "section_width_mm": "318"}, 10.0, 1.0),
        ({"designation": "7.50R16LT", "section_width_mm": "220", "measuring_rim": "6"}, 6.0, 0.0),
        ({"designation": "7.50R16LT", "section_width_mm": "220"}, math.nan, 0.0),
        ({"designation": "G78-15", "section_width_mm": "213"}, math.nan, 0.0),
        ({"designation": "165R15", "section_width_mm": "167"}, 4.5, 1.0),  # 165 x 0.70 = 4.55 in
    ],
    ids=str,
)
def test_a_width_that_was_measured_belongs_to_the_measuring_rim(settle, cells, rim_in, is_estimate):
    tire = settle("tire", **cells)[0]
    found = tire["measuring_rim_mm"] / 25.4, tire["rim_is_estimate"]
    assert found == (pytest.approx(rim_in, nan_ok=True), is_estimate)


@pytest.mark.parametrize(("cells", "width"), [({}, 266.7), ({"measuring_rim": "8"}, 271.78)])
def test_a_flotation_size_has_the_width_of_its_size_on_its_measuring_rim(settle, cells, width):
    tire = settle("tire", designation="31x10.50R15LT", **cells)[0]
    assert width_mm(tire, 8.5) == pytest.approx(width)  # 266.7 + 0.4 x 12.7


def test_a_radial_without_a_series_is_as_wide_and_tall_as_one_of_series_80(settle):
    tire = settle("tire", designation="165R15")[0]
    assert (width_mm(tire, 4.5), tire["overall_diameter_mm"]) == (pytest.approx(164.52), 645.0)


@pytest.mark.parametrize(
    ("cells", "is_estimate"),
    [
        ({}, 1.0),
        ({"overall_diameter_mm": "650"}, 1.0),
        ({"overall_diameter_mm": "650", "section_width_mm": "167"}, 0.0),
        ({"designation": "165/80R15"}, 0.0),
    ],
)
def test_sizes_of_an_unmarked_series_are_estimates(settle, cells, is_estimate):
    assert settle("tire", **({"designation": "165R15"} | cells))[0]["series_is_estimate"] == is_estimate


@pytest.mark.parametrize(
    ("cells", "clears", "runs_on"),
    [
        ({"designation": "31x10.50R15LT"}, 781.0, 775.0),
        ({"designation": "31x10.50R15LT", "overall_diameter_mm": "778"}, 778.0, 778.0),
        ({"designation": "P235/75R15"}, 733.0, 733.0),
        ({"designation": "P235/75R15", "overall_diameter_mm": "729"}, 729.0, 729.0),
        ({"designation": "7.50R16LT"}, math.nan, math.nan),
        ({"designation": "165R15", "overall_diameter_mm": "650"}, 650.0, 650.0),
    ],
    ids=str,
)
def test_only_a_flotation_size_without_a_listed_diameter_has_two(settle, cells, clears, runs_on):
    tire = settle("tire", **cells)[0]
    found = tire["overall_diameter_mm"], tire["running_diameter_mm"]
    assert found == pytest.approx((clears, runs_on), nan_ok=True)


def test_the_estimated_loaded_radius_follows_from_the_running_diameter(settle):
    tire = settle("tire", designation="31x10.50R15LT")[0]
    assert tire["static_loaded_radius_mm"] == pytest.approx(775.0 * 0.465)


def test_a_passenger_tires_capacity_is_its_rating_over_1_10(settle):
    assert settle("tire", load_rating_kg="1100")[0]["capacity_kg"] == pytest.approx(1000.0)


def test_a_light_truck_tires_capacity_is_that_of_its_index(settle):
    assert settle("tire", designation="LT265/75R16E 123/120Q")[0]["capacity_kg"] == 1550.0


@pytest.mark.parametrize(
    ("cells", "capacity"),
    [
        ({"designation": "10R22.5 141/139L"}, 2575.0),
        ({"designation": "245/75R16 120/116Q"}, 1400.0),
        ({"designation": "P235/75R15 105/101S"}, 925.0 / 1.1),
        ({"designation": "245/75R16 111S", "service": "LT"}, 1090.0),
        ({"designation": "245/75R16 111S", "service": "commercial"}, 1090.0),
        ({"designation": "7.50R16", "load_rating_kg": "1000"}, math.nan),
    ],
    ids=str,
)
def test_only_a_passenger_tires_rating_is_divided(settle, cells, capacity):
    assert settle("tire", **cells)[0]["capacity_kg"] == pytest.approx(capacity, nan_ok=True)


@pytest.mark.parametrize(
    ("cells", "kpa"),
    [
        ({"designation": "P235/75R15"}, 240.0),
        ({"designation": "235/75R15XL 109T"}, 280.0),
        ({"designation": "LT245/75R16C"}, 350.0),
        ({"designation": "LT245/75R16E 120/116Q"}, 550.0),
        ({"designation": "31x10.50R15LT C"}, 350.0),
        ({"designation": "245/75R16 D 111S"}, 450.0),
        ({"designation": "P235/75R15", "load_range": "C"}, 240.0),
        ({"designation": "LR70-15"}, 240.0),
        ({"designation": "7.50R16LT D"}, 450.0),
        ({"designation": "7.50-16LT D", "construction": "radial"}, 450.0),
        ({"designation": "LT245/75R16F"}, math.nan),
        ({"designation": "245/75R16 F 111S"}, math.nan),
        ({"designation": "P235/75R15", "load_range": "LRF"}, math.nan),
        ({"designation": "LT245/75R16"}, math.nan),
        ({"designation": "195/70R15C 104/102R"}, math.nan),
        ({"designation": "32x11.50R15LT C"}, math.nan),
        ({"designation": "33x12.50R15 C"}, math.nan),
        ({"designation": "7.50-16LT D"}, math.nan),
        ({"designation": "P235/75D15"}, math.nan),
        ({"designation": "G78-15 B"}, math.nan),
        ({"designation": "31x10.50-15 C"}, math.nan),
        ({"designation": "7.50R16 D"}, math.nan),
        ({"designation": "10R22.5 G"}, math.nan),
        ({"designation": "8R19.5 E"}, math.nan),
        ({"designation": "33x12.50R15LT C", "rated_pressure_kpa": "240"}, 240.0),
    ],
    ids=str,
)
def test_a_rated_pressure_is_filled_in_only_where_range_and_kind_tell_it(settle, cells, kpa):
    assert settle("tire", **cells)[0]["rated_pressure_kpa"] == pytest.approx(kpa, nan_ok=True)


def test_the_speed_of_a_symbol_is_looked_up(settle):
    assert settle("tire", designation="275/60R15 107H")[0]["speed_km_h"] == 210.0


def test_a_load_index_and_a_load_rating_apart_are_a_problem(settle):
    report = settle("tire", designation="LT265/75R16", load_index="123", load_rating_kg="1400")[1]
    found = [(one.word, one.found) for one in report.problems]
    assert found == [("load-and-index", "T-1: load index 123 is 1550 kg but the load rating says 1400 kg")]


def test_a_load_index_in_the_designation_and_a_load_rating_apart_are_a_problem(settle):
    report = settle("tire", designation="LT265/75R16E 123/120Q", load_rating_kg="1400")[1]
    assert [one.word for one in report.problems] == ["load-and-index"]


def test_a_load_index_and_the_pounds_of_the_sidewall_agree(settle):
    assert settle("tire", load_index="123", load_rating_lb="3415")[1].problems == []  # 1549 kg


def test_a_speed_symbol_that_nobody_knows_is_left_open_and_told(settle):
    tire, report = settle("tire", speed_symbol="X")
    assert (tire["speed_symbol"], [one.word for one in report.notices]) == ("", ["unknown-speed-symbol"])


def test_a_speed_symbol_may_be_a_small_letter(settle):
    assert settle("tire", speed_symbol="s")[0]["speed_km_h"] == 180.0


# Tires that are set aside

TIRES = """sku,designation,price,Note
T-1,P235/75R15,95,first
T-2,round,96,second
T-3,ST225/75R15,97,third
T-4,T125/80D15,98,fourth
T-5,8-14.5,99,fifth
T-6,LT265/75R16E 123/120Q,180,sixth
"""
OTHER_LISTS = {
    "wheels.csv": "sku,size,bolt_circle,price\nW-1,15x8,6x5.5 in,64\n",
    "ratios.csv": "sku,ratio,price\nG-1,3.73,189\n",
    "differentials.csv": "sku,type,price\nD-1,open,140\n",
}
JOB = smallest.JOB + 'wheels = "wheels.csv"\n'


@pytest.fixture
def loaded(tmp_path):
    """A job loaded with a list of tires."""

    def load_with(tires):
        for name, text in ({"job.toml": JOB, "tires.csv": tires} | OTHER_LISTS).items():
            (tmp_path / name).write_text(text, encoding="utf-8")
        return load(tmp_path / "job.toml")

    return load_with


def rows_of(tires, *numbers):
    lines = tires.splitlines()
    return "\n".join([lines[0], *(lines[number] for number in numbers)]) + "\n"


def test_a_tire_that_cannot_be_used_is_not_in_the_table(loaded):
    assert loaded(TIRES).parts.tires["sku"].to_list() == ["T-1", "T-6"]


def test_what_is_left_has_what_its_own_designation_settles(loaded):
    assert loaded(TIRES).parts.tires["section_width_mm"].to_list() == [235.0, 265.0]


def test_what_is_left_has_its_own_capacity_rim_and_diameter(loaded):
    tires = loaded(rows_of(TIRES, 2, 3, 6)).parts.tires
    found = tires[["capacity_kg", "measuring_rim_mm", "running_diameter_mm"]].to_numpy().tolist()
    assert found == [[1550.0, pytest.approx(185.5), 804.0]]


def test_unclaimed_columns_are_set_aside_alike(loaded):
    parts = loaded(TIRES).parts
    assert (parts.extra["tires"]["Note"].to_list(), list(parts.extra["tires"].index)) == (["first", "sixth"], [0, 1])


def test_rows_that_are_left_are_numbered_anew_and_keep_their_place(loaded):
    tires = loaded(TIRES).parts.tires
    assert (list(tires.index), tires["row"].to_list()) == ([0, 1], [2, 7])


def test_every_row_that_is_set_aside_is_told_with_its_place(loaded):
    places = [one.problem.place for one in loaded(TIRES).aside["tires"]]
    found = sorted((place.file, place.row, place.column) for place in places)
    assert found == [("tires.csv", row, "designation") for row in (3, 4, 5, 6)]


@pytest.mark.parametrize(
    ("row", "found"),
    [
        (2, 'T-2: found "round"'),
        (3, "T-3: ST225/75R15 is a trailer tire, not made for a truck's axles"),
        (4, "T-4: T125/80D15 is a temporary spare"),
        (5, "T-5: 8-14.5 is a trailer tire, not made for a truck's axles"),
    ],
)
def test_a_row_that_is_set_aside_is_told_with_its_reason(loaded, row, found):
    aside = loaded(rows_of(TIRES, 1, 6, row)).aside["tires"]
    assert [one.problem.found for one in aside] == [found]


def test_a_row_that_is_set_aside_says_what_is_accepted(loaded):
    aside = loaded(rows_of(TIRES, 1, 2, 6)).aside["tires"]
    assert aside[0].problem.accepted.startswith("a tire size is accepted, such as P235/75R15")


def test_a_row_that_is_set_aside_tells_nothing_else(loaded):
    text = TIRES.replace("Note", "mass_lb").replace("third", "25").replace("fourth", "26")
    text = text.replace("first", "").replace("second", "").replace("fifth", "").replace("sixth", "40")
    assert [one.word for one in loaded(text).notices] == ["rows-set-aside"]


@pytest.mark.parametrize(("numbers", "words"), [((2,), ["not-a-designation"]), ((3, 4, 5), ["set-aside"])])
def test_a_list_of_which_no_tire_is_left_is_a_problem(loaded, numbers, words):
    with pytest.raises(Problems) as caught:
        loaded(rows_of(TIRES, *numbers))
    assert [one.word for one in caught.value.problems] == words


def test_the_problem_of_no_tire_says_how_many_and_why(loaded):
    with pytest.raises(Problems) as caught:
        loaded(rows_of(TIRES, 3, 4, 5))
    assert caught.value.problems[0].found == (
        "T-3: ST225/75R15 is a trailer tire, not made for a truck's axles, and 2 rows more like it"
    )


def test_a_listed_service_does_not_make_a_trailer_tire_a_trucks(loaded):
    tires = "sku,designation,price,service\nT-1,P235/75R15,95,\nT-2,ST225/75R15,97,LT\n"
    assert loaded(tires).parts.tires["sku"].to_list() == ["T-1"]


def test_a_commercial_tire_is_a_tire_like_others(loaded):
    tires = "sku,designation,price\nT-1,10R22.5 141/139L,95\n"
    assert loaded(tires).parts.tires["service"].to_list() == ["commercial"]


def test_an_approved_range_from_wide_to_narrow_is_a_problem(settle):
    report = settle("tire", rim_width_min="8", rim_width_max="6")[1]
    assert [one.word for one in report.problems] == ["range-reversed"]


# Gear sets and differentials


def test_a_ratio_and_its_teeth_apart_are_a_problem(settle):
    report = settle("ratio", ratio="3.55", ring_teeth="41", pinion_teeth="11")[1]
    found = [(one.word, one.found) for one in report.problems]
    assert found == [("ratio-and-teeth", "3.55, but 41 over 11 teeth is 3.727")]


@pytest.mark.parametrize("ratio", ["3.73", "3.727", "3.7227", "3.7322"])  # 41 / 11 = 3.72727
def test_a_ratio_within_0_005_of_its_teeth_agrees(settle, ratio):
    assert settle("ratio", ratio=ratio, ring_teeth="41", pinion_teeth="11")[1].problems == []


@pytest.mark.parametrize("ratio", ["3.722", "3.733"])
def test_a_ratio_beyond_0_005_of_its_teeth_does_not(settle, ratio):
    assert len(settle("ratio", ratio=ratio, ring_teeth="41", pinion_teeth="11")[1].problems) == 1


def test_a_ratio_exactly_0_005_from_its_teeth_agrees(settle):
    assert settle("ratio", ratio="4.005", ring_teeth="40", pinion_teeth="10")[1].problems == []


def test_a_ratio_without_teeth_is_taken_as_listed(settle):
    assert settle("ratio")[1].problems == []


def test_a_carrier_break_from_high_to_low_is_a_problem(settle):
    report = settle("differential", ratio_min="4.88", ratio_max="3.55")[1]
    assert [(one.word, one.place.row) for one in report.problems] == [("range-reversed", 2)]


def test_a_diameter_that_slipped_a_digit_is_a_problem(settle):
    _, report = settle("tire", overall_diameter_in="18.2")
    assert [problem.word for problem in report.problems] == ["size-and-designation"]


def test_a_bore_wider_than_the_bolt_circle_is_a_problem(settle):
    _, report = settle("wheel", hub_bore_mm="145")
    assert [problem.word for problem in report.problems] == ["outside-the-wheel"]

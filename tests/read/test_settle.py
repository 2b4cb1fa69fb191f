"""What the columns of a part say about one another."""

import math

import pytest

from combo.job import ListFile
from combo.parts import DIFFERENTIAL, RATIO, TIRE, WHEEL
from combo.problems import Report
from combo.read.lists import read_lists
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
    """A part of a kind with the cells given, and the report of settling it."""

    def settled(kind, **cells):
        cells = BASE[kind] | cells
        path = tmp_path / f"{kind}s.csv"
        path.write_text("\t".join(cells) + "\n" + "\t".join(cells.values()) + "\n", encoding="utf-8")
        report = Report()
        table, _ = read_lists(SETTLERS[kind][0], (ListFile(str(path), path.name),), {}, report)
        assert report.problems == []
        return SETTLERS[kind][1](table, report).iloc[0], report

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


def test_a_backspace_and_offset_apart_give_one_notice_that_names_the_row(settle):
    report = settle("wheel", backspace_in="5 1/4", offset_mm="40")[1]
    found = [(one.word, one.place.file, one.place.row) for one in report.notices]
    assert found == [("backspace-and-offset", "wheels.csv", 2)]


def test_a_notice_is_placed_under_the_header_of_its_list(settle):
    report = settle("wheel", backspace_in="5 1/4", offset_mm="40")[1]
    assert report.notices[0].place.column == "backspace_in"


def test_a_backspace_and_offset_apart_name_the_wheel(settle):
    report = settle("wheel", backspace_in="5 1/4", offset_mm="40")[1]
    assert report.notices[0].found.startswith("W-1:")


def test_a_backspace_and_offset_apart_stop_nothing(settle):
    assert settle("wheel", backspace_in="5 1/4", offset_mm="40")[1].problems == []


def test_a_backspace_wins_over_an_offset_that_is_apart(settle):
    assert settle("wheel", backspace_in="5 1/4", offset_mm="40")[0]["offset_mm"] == pytest.approx(6.35)


@pytest.mark.parametrize("offset_mm", ["6.35", "9.525", "3.175", "6"])
def test_within_an_eighth_of_an_inch_they_agree(settle, offset_mm):
    assert settle("wheel", backspace_in="5 1/4", offset_mm=offset_mm)[1].notices == []


@pytest.mark.parametrize("offset_mm", ["9.53", "3.17"])
def test_beyond_an_eighth_of_an_inch_they_do_not(settle, offset_mm):
    assert len(settle("wheel", backspace_in="5 1/4", offset_mm=offset_mm)[1].notices) == 1


def test_a_notice_says_when_the_other_basis_would_agree(settle):
    report = settle("wheel", backspace_in="5 1/4", offset_mm="19")[1]
    assert report.notices[0].hint == 'They agree with backspace_basis "shorthand"'


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


def test_a_listed_measuring_rim_is_no_estimate(settle):
    tire = settle("tire", measuring_rim="6.5")[0]
    assert (tire["measuring_rim_mm"], tire["rim_is_estimate"]) == (pytest.approx(165.1), 0.0)


def test_a_passenger_tires_capacity_is_its_rating_over_1_10(settle):
    assert settle("tire", load_rating_kg="1100")[0]["capacity_kg"] == pytest.approx(1000.0)


def test_a_light_truck_tires_capacity_is_that_of_its_index(settle):
    assert settle("tire", designation="LT265/75R16E 123/120Q")[0]["capacity_kg"] == 1550.0


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


def test_a_load_index_beyond_the_table_is_a_problem(settle):
    assert [one.word for one in settle("tire", load_index="201")[1].problems] == ["unknown-load-index"]


def test_a_speed_symbol_that_nobody_knows_is_a_problem(settle):
    assert [one.word for one in settle("tire", speed_symbol="X")[1].problems] == ["unknown-speed-symbol"]


def test_a_speed_symbol_may_be_a_small_letter(settle):
    assert settle("tire", speed_symbol="s")[0]["speed_km_h"] == 180.0


def test_a_designation_that_does_not_read_is_a_problem(settle):
    report = settle("tire", designation="round")[1]
    assert [(one.word, one.place.text()) for one in report.problems] == [
        ("not-a-designation", 'tires.csv, row 2, column "designation"')
    ]


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
    _, report = settle("tire", overall_diameter_in="2.82")
    assert [problem.word for problem in report.problems] == ["size-and-designation"]


def test_a_bore_wider_than_the_bolt_circle_is_a_problem(settle):
    _, report = settle("wheel", hub_bore_mm="1095")
    assert [problem.word for problem in report.problems] == ["outside-the-wheel"]

"""Ballast where it lies: on the floor of its station, and under its ties."""

import numpy as np
import pytest
from by_hand import BY_ID, NAN, job_with, parts_with

from combo.checks.check import Verdict, verdict_of
from combo.checks.rows import slots
from combo.job import BallastPlan, Station

TIED = {"ties": 2, "tie_working_load_kg": 22.5, "tie_run": "over"}  # holds 90 kg: three bags of 30
FLOOR = {"length_mm": 1200.0, "width_mm": 800.0}  # four bags of 600 x 400 in a layer


def sides_of(check, stations, *counts, ballast=({},)):
    job = job_with(ballast=BallastPlan(20, tuple(stations)))
    laid = slots(job, parts_with(ballast=list(ballast)))
    return BY_ID[check].sides(job, laid)(np.array(counts, dtype=np.int64))


def answers(check, stations, *counts, **lists):
    return [verdict_of(margin) for margin in sides_of(check, stations, *counts, **lists).margin]


def bed(name="bed", **sizes):
    return Station(name, 0.0, **sizes)


def test_a_slot_is_an_item_at_a_station_items_by_sku():
    job = job_with(ballast=BallastPlan(4, (bed("front"), bed("tail"))))
    rows = slots(job, parts_with(ballast=[{"sku": "Z"}, {"sku": "A"}]))
    assert list(zip(rows["ballast.sku"], rows["station.name"], strict=True)) == [
        ("A", "front"),
        ("A", "tail"),
        ("Z", "front"),
        ("Z", "tail"),
    ]


def test_as_many_bags_as_tile_the_floor_fit():
    assert answers("ballast_space", [bed(**FLOOR)], [4], [5]) == [Verdict.PASS, Verdict.FAIL]


def test_a_second_layer_takes_as_many_again():
    assert answers("ballast_space", [bed(**FLOOR, layers=2)], [8], [9]) == [Verdict.PASS, Verdict.FAIL]


def test_a_bag_longer_than_the_floor_does_not_fit():
    stations = [bed(length_mm=599.9, width_mm=599.9)]
    assert answers("ballast_space", stations, [1]) == [Verdict.FAIL]


def test_a_pinwheel_of_bags_lies_around_a_hole():
    assert answers("ballast_space", [bed(length_mm=1000.0, width_mm=1000.0)], [4]) == [Verdict.PASS]


def test_the_floor_taken_is_told_in_square_meters():
    sides = sides_of("ballast_space", [bed(**FLOOR, layers=2)], [3])
    assert (sides.value[0], sides.limit[0]) == pytest.approx((0.72, 1.92))


def test_two_sizes_share_a_floor():
    blocks = ({"sku": "A"}, {"sku": "C", "length_mm": 400.0, "width_mm": 400.0})
    counts = ([3, 1], [2, 2], [2, 3], [3, 2])  # 3 and 1 leave 600 x 400; 2 and 3 fill it
    assert answers("ballast_space", [bed(**FLOOR)], *counts, ballast=blocks) == [
        Verdict.PASS,
        Verdict.PASS,
        Verdict.PASS,
        Verdict.FAIL,
    ]


@pytest.mark.parametrize("station", [bed(), bed(length_mm=1200.0), bed(width_mm=800.0)])
def test_a_floor_that_is_not_measured_is_unverified_where_something_lies(station):
    assert answers("ballast_space", [station], [0], [1]) == [Verdict.PASS, Verdict.UNVERIFIED]


def test_an_item_without_a_size_is_unverified_where_it_lies():
    blocks = ({"sku": "A"}, {"sku": "C", "length_mm": None})
    assert answers("ballast_space", [bed(**FLOOR)], [1, 0], [1, 1], ballast=blocks) == [
        Verdict.PASS,
        Verdict.UNVERIFIED,
    ]


def test_a_station_that_overflows_fails_while_another_is_not_measured():
    stations = [bed("bed", **FLOOR), bed("tail")]
    assert answers("ballast_space", stations, [5, 1]) == [Verdict.FAIL]


def test_every_station_has_its_own_floor():
    stations = [bed("bed", **FLOOR), bed("tail", length_mm=600.0, width_mm=400.0)]
    assert answers("ballast_space", stations, [4, 1], [3, 2], [0, 0]) == [
        Verdict.PASS,
        Verdict.FAIL,
        Verdict.PASS,
    ]


def test_ties_hold_twice_their_working_load():
    assert sides_of("tie_down", [bed(**TIED)], [2]).margin[0] == 30.0  # 2 x 22.5 / 0.5 - 60


@pytest.mark.parametrize(("run", "holds_kg"), [("over", 90.0), ("same side", 45.0), ("to cargo", 45.0), ("", 45.0)])
def test_only_a_tie_over_the_cargo_from_side_to_side_counts_whole(run, holds_kg):
    sides = sides_of("tie_down", [bed(ties=2, tie_working_load_kg=22.5, tie_run=run)], [1])
    assert (sides.value[0], sides.limit[0], sides.margin[0]) == (30.0, holds_kg, holds_kg - 30.0)


def test_a_mass_equal_to_what_the_ties_hold_holds():
    assert answers("tie_down", [bed(**TIED)], [3], [4]) == [Verdict.PASS, Verdict.FAIL]


@pytest.mark.parametrize("station", [bed(), bed(ties=2), bed(tie_working_load_kg=22.5)])
def test_ties_that_are_not_given_are_unverified_where_something_lies(station):
    assert answers("tie_down", [station], [0], [1]) == [Verdict.PASS, Verdict.UNVERIFIED]


def test_the_station_with_the_least_room_under_its_ties_decides():
    stations = [bed("bed", **TIED), bed("tail", ties=4, tie_working_load_kg=22.5, tie_run="over")]
    assert sides_of("tie_down", stations, [1, 5]).margin[0] == 30.0  # 90 - 30 = 60, 180 - 150 = 30


def test_a_station_whose_ties_fail_fails_while_those_of_another_are_not_known():
    assert sides_of("tie_down", [bed("bed", **TIED), bed("tail")], [4, 1]).margin[0] == -30.0


def test_nothing_laid_leaves_room_without_end():
    assert sides_of("tie_down", [bed(), bed("tail", **TIED)], [0, 0]).margin[0] == np.inf


@pytest.mark.parametrize(
    ("item", "station", "most"),
    [
        ({}, bed(), 20),
        ({"max_count": 3}, bed(), 3),
        ({}, bed(max_mass_kg=90.0), 3),
        ({}, bed(max_mass_kg=89.9), 2),
        ({"max_count": 1}, bed(max_mass_kg=90.0), 1),
        ({"mass_kg": 30.1}, bed(max_mass_kg=NAN), 20),
    ],
)
def test_stock_plan_and_the_stations_load_limit_how_many_lie_there(item, station, most):
    job = job_with(ballast=BallastPlan(20, (station,)))
    assert slots(job, parts_with(ballast=[item]))["slot.most"].tolist() == [most]

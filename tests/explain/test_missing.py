"""The measuring sheet: what is known of the truck, what a check waits for, what to ask of suppliers."""

import dataclasses

import pytest

from combo.explain.missing import measurements, questions
from combo.search.filter import space_of
from combo.search.pool import rows_left


def replaced(job, table, **changes):
    return dataclasses.replace(job, **{table: dataclasses.replace(getattr(job, table), **changes)})


def line_of(job, table, key):
    return next(line for line in measurements(job) if (line.table, line.key) == (table, key))


def test_a_known_measurement_has_its_value_and_plus_or_minus(example):
    line = line_of(example.job, "[wheelhouse.front]", "room_inner")
    assert (round(line.value, 4), round(line.off, 5), line.checks) == (119.0625, 0.79375, ())


def test_a_missing_measurement_names_the_checks_that_wait_for_it(example):
    job = replaced(example.job, "steering", axis_offset_mm=float("nan"))
    assert line_of(job, "[steering]", "axis_offset").checks == ("steering sweep",)


def test_a_missing_rating_waits_for_its_check(example):
    job = replaced(example.job, "truck", gvwr_kg=float("nan"))
    assert line_of(job, "[truck]", "gvwr").checks == ("whole truck's rating",)


def test_a_state_that_lacks_its_own_size_waits_where_the_wheelhouse_has_none_either(example):
    houses = example.job.wheelhouse
    front = dataclasses.replace(houses.front, opening_ahead_mm=float("nan"))
    job = dataclasses.replace(example.job, wheelhouse=dataclasses.replace(houses, front=front))
    assert line_of(job, "[wheelhouse.front]", "opening_ahead").checks == ("tire in the wheel opening",)


def test_the_rear_axle_is_not_asked_for_steering(example):
    assert "sweep_ahead" not in {line.key for line in measurements(example.job) if line.table == "[wheelhouse.rear]"}


@pytest.mark.parametrize("key", ["length", "ties"])
def test_a_station_without_its_floor_or_ties_waits(example, key):
    plan = example.job.ballast
    bare = dataclasses.replace(plan.stations[0], length_mm=float("nan"), ties=0)
    job = replaced(example.job, "ballast", stations=(bare, *plan.stations[1:]))
    assert line_of(job, f'[[ballast.stations]] "{bare.name}"', key).checks


def test_every_line_says_how_it_is_measured(example):
    assert all(line.how for line in measurements(example.job))


def test_a_wheel_without_a_pad_is_asked_of_the_supplier(example, space):
    pads = next(one for one in questions(space) if (one.kind, one.name) == ("wheel", "pad"))
    assert "R-1570-P00" in pads.skus
    assert pads.checks == ("stud engagement", "stud in its lug nut", "spare at the front brake")


def test_a_part_that_is_out_is_not_asked_about(example, space):
    gone = set(example.parts.wheels["sku"]) - set(space.front["wheel.sku"]) - set(space.rear["wheel.sku"])
    assert not gone & {sku for one in questions(space) if one.kind == "wheel" for sku in one.skus}


def test_what_every_list_states_is_not_asked(example):
    tires = example.parts.tires.assign(tread_width_mm=180.0)
    space = rows_left(space_of(example.job, dataclasses.replace(example.parts, tires=tires)))
    assert ("tire", "tread_width") not in {(one.kind, one.name) for one in questions(space)}

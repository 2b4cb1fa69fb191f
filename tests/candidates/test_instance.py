"""What is worked out by classes is what every combination by itself would give."""

import functools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from combo.candidates.instance import Axis, Grid, Instance, margin_of
from combo.checks.rows import Picks, corner_rows, drive_rows
from combo.checks.run import asked_checks


@pytest.fixture(scope="module")
def instance(example):
    return Instance(example.job, example.parts)


def every(table):
    return np.arange(len(table), dtype=np.int64)


@pytest.mark.parametrize("axle", ["front", "rear"])
def test_margins_of_corners_by_class_are_those_of_each_corner(instance, axle):
    parts = instance.parts
    axes = [
        Axis(wheel=every(parts.wheels)),
        Axis(spacer=np.arange(-1, len(parts.spacers))),
        Axis(tire=every(parts.tires)),
    ]
    at = np.indices([axis.length for axis in axes]).reshape(3, -1)
    rows = corner_rows(instance.job, axle, parts, Picks(at[0], at[2], at[1] - 1))
    for check in asked_checks(instance.job, "corner", axle):
        work = margin_of(instance.job, axle, check)
        np.testing.assert_array_equal(instance.grid(work, axle, axes).full().reshape(-1), work(rows), err_msg=check.id)


def test_margins_of_drives_by_class_are_those_of_each_drive(instance):
    parts = instance.parts
    axes = [
        Axis(tire=every(parts.tires)),
        Axis(ratio=every(parts.ratios)),
        Axis(differential=every(parts.differentials)),
    ]
    at = np.indices([axis.length for axis in axes]).reshape(3, -1)
    rows = drive_rows(instance.job, parts, *at)
    for check in asked_checks(instance.job, "drive"):
        work = margin_of(instance.job, "rear", check)
        np.testing.assert_array_equal(instance.grid(work, None, axes).full().reshape(-1), work(rows), err_msg=check.id)


def test_what_was_not_looked_at_cannot_be_looked_at_later(instance):
    steps = iter(["wheel.rim_width_mm", "wheel.mass_kg"])
    with pytest.raises(KeyError, match="mass"):
        instance.grid(lambda rows: rows[next(steps)], "front", [Axis(wheel=every(instance.parts.wheels))])


def test_parts_that_are_alike_are_one_class(instance):
    of, first = instance.classes(
        Axis(wheel=every(instance.parts.wheels)), ["wheel.rim_width_mm", "wheel.rim_diameter_mm"]
    )
    sizes = instance.parts.wheels[["rim_width_mm", "rim_diameter_mm"]]
    assert len(first) == len(sizes.drop_duplicates())
    assert (sizes.to_numpy()[first[of]] == sizes.to_numpy()).all()


@given(st.data())
def test_a_grid_of_classes_is_that_of_its_places(data):
    sizes = data.draw(st.lists(st.integers(1, 4), min_size=1, max_size=3))
    values = np.array(data.draw(st.lists(st.booleans(), min_size=math.prod(sizes), max_size=math.prod(sizes))))
    places = [np.array(data.draw(st.lists(st.integers(0, size - 1), max_size=5)), dtype=np.int64) for size in sizes]
    grid, full = Grid(values.reshape(sizes), tuple(places)), values.reshape(sizes)[np.ix_(*places)]
    np.testing.assert_array_equal(grid.full(), full)
    assert grid.count() == full.sum()
    weights = [np.arange(len(own)) + 1 for own in places]
    assert grid.count(weights) == (full * functools.reduce(np.multiply.outer, weights)).sum()
    some = [np.arange(len(own))[::2] for own in places]
    np.testing.assert_array_equal(grid.among(*some).full(), full[np.ix_(*some)])


def test_axes_of_the_same_parts_are_told_by_the_same_digest():
    some, others = np.arange(3), np.arange(1, 4)
    assert Axis(wheel=some, tire=others).digest == Axis(wheel=some.copy(), tire=others.copy()).digest
    assert len({Axis(wheel=some).digest, Axis(wheel=others).digest, Axis(tire=some).digest}) == 3

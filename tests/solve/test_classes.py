"""What is worked out by classes is what every combination by itself would give."""

import numpy as np
import pytest

from combo.checks.rows import Picks, corner_rows, drive_rows
from combo.checks.run import asked_checks
from combo.solve.classes import Lists, margin_of


@pytest.fixture(scope="module")
def lists(example):
    return Lists(example.job, example.parts)


def every(table):
    return np.arange(len(table), dtype=np.int64)


@pytest.mark.parametrize("axle", ["front", "rear"])
def test_margins_of_corners_by_class_are_those_of_each_corner(lists, axle):
    parts = lists.parts
    axes = [{"wheel": every(parts.wheels)}, {"spacer": np.arange(-1, len(parts.spacers))}, {"tire": every(parts.tires)}]
    at = np.indices([len(next(iter(axis.values()))) for axis in axes]).reshape(3, -1)
    rows = corner_rows(lists.job, axle, parts, Picks(at[0], at[2], at[1] - 1))
    for check in asked_checks(lists.job, "corner", axle):
        work = margin_of(lists.job, axle, check)
        np.testing.assert_array_equal(lists.grid(work, axle, axes).full().reshape(-1), work(rows), err_msg=check.id)


def test_margins_of_drives_by_class_are_those_of_each_drive(lists):
    parts = lists.parts
    axes = [{"tire": every(parts.tires)}, {"ratio": every(parts.ratios)}, {"differential": every(parts.differentials)}]
    at = np.indices([len(next(iter(axis.values()))) for axis in axes]).reshape(3, -1)
    rows = drive_rows(lists.job, parts, *at)
    for check in asked_checks(lists.job, "drive"):
        work = margin_of(lists.job, "rear", check)
        np.testing.assert_array_equal(lists.grid(work, None, axes).full().reshape(-1), work(rows), err_msg=check.id)


def test_what_was_not_looked_at_cannot_be_looked_at_later(lists):
    steps = iter(["wheel.rim_width_mm", "wheel.mass_kg"])
    with pytest.raises(KeyError, match="mass"):
        lists.grid(lambda rows: rows[next(steps)], "front", [{"wheel": every(lists.parts.wheels)}])


def test_parts_that_are_alike_are_one_class(lists):
    of, first = lists.classes({"wheel": every(lists.parts.wheels)}, ["wheel.rim_width_mm", "wheel.rim_diameter_mm"])
    sizes = lists.parts.wheels[["rim_width_mm", "rim_diameter_mm"]]
    assert len(first) == len(sizes.drop_duplicates())
    assert (sizes.to_numpy()[first[of]] == sizes.to_numpy()).all()

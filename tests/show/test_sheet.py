"""The measuring sheet as text."""

import dataclasses

from combo.explain.missing import measurements, questions
from combo.show.sheet import measuring_sheet


def sheet(example, space, *, blank=False, **changes):
    job = dataclasses.replace(example.job, **changes)
    return measuring_sheet(job, measurements(job), questions(space), blank=blank)


def test_a_known_size_is_told_in_sixteenths_with_its_plus_or_minus(example, space):
    assert "  room_inner               4 11/16 in +- 0.031 in" in sheet(example, space)


def test_a_blank_sheet_has_no_size(example, space):
    assert "4 11/16" not in sheet(example, space, blank=True)


def test_what_a_check_waits_for_has_a_star_and_a_blank(example, space):
    steering = dataclasses.replace(example.job.steering, lock_deg=float("nan"))
    states = {
        name: dataclasses.replace(state, lock_deg=float("nan"))
        for name, state in example.job.wheelhouse.front.states().items()
    }
    front = dataclasses.replace(example.job.wheelhouse.front, **states)
    houses = dataclasses.replace(example.job.wheelhouse, front=front)
    assert "* lock                     ____________" in sheet(example, space, steering=steering, wheelhouse=houses)


def test_a_blank_sheet_has_a_blank_for_each_side_of_a_wheelhouse(example, space):
    blank = sheet(example, space, blank=True)
    assert "  room_inner               left ______ right ____ straight edge" in blank
    assert "  wheelbase                ____________ " in blank


def test_both_sides_are_told_where_both_are_known(example, space):
    sides = {"wheelhouse.front.sweep_ahead_mm": (469.9, 473.075)}
    assert "  sweep_ahead              left 18 1/2 in, right 18 5/8 in\n" in sheet(example, space, sides=sides)


def test_suppliers_are_asked_with_the_skus(example, space):
    assert "wheel pad (thickness of the wheel where a lug nut seats" in sheet(example, space)
    assert "R-1570-P00" in sheet(example, space)


def test_the_sheet_fits_a_page(example, space):
    measured = sheet(example, space).split("\n- ")[0]
    assert max(len(line) for line in measured.splitlines()) <= 96


def test_the_sheet_ends_in_cautions(example, space):
    assert "Local codes differ" in sheet(example, space).splitlines()[-1]

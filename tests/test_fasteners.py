"""Seats and threads in a supplier's words."""

import math

import pytest

from combo.fasteners import seat, seats_agree, thread
from combo.units import UnitError


@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ("cone 60", "cone 60"),
        ("Conical 60°", "cone 60"),
        ("60 deg", "cone 60"),
        ("60 Deg Cone", "cone 60"),
        ("60° conical seat", "cone 60"),
        ("14 mm ball", "ball 14"),
        ("3/4 in shank", "shank 19.05"),
        ("mag shank", "shank"),
        ("tapered seat 60 degrees", "cone 60"),
        ("acorn", "cone"),
        ("ball 14", "ball 14"),
        ("ball R14", "ball 14"),
        ("R14", "ball 14"),
        ("spherical 1/2 in", "ball 12.7"),
        ('shank 3/4"', "shank 19.05"),
        ("mag 0.75 in", "shank 19.05"),
        ("flat", "flat"),
    ],
)
def test_a_seat_is_read_in_the_trades_words(typed, read):
    assert seat(typed) == read


@pytest.mark.parametrize("typed", ["square", "cone sixty", "cone ball", "14", "ball 5 lb", "cone 60 mm"])
def test_what_is_no_seat_is_told(typed):
    with pytest.raises(UnitError) as told:
        seat(typed)
    assert (told.value.word, told.value.found) == ("not-a-seat", f'found "{typed}"')


@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ("M14x1.5", "M14x1.5"),
        ("m14 X 1.50", "M14x1.5"),
        ("14x1.5", "M14x1.5"),
        ("1/2-20", "1/2-20"),
        ("1/2 - 20 UNF", "1/2-20"),
        ("9/16-18", "9/16-18"),
    ],
)
def test_a_thread_is_read_in_one_form(typed, read):
    assert thread(typed) == read


@pytest.mark.parametrize("typed", ["M14", "fine", "1/2", "1/2 in"])
def test_what_is_no_thread_is_told(typed):
    with pytest.raises(UnitError, match=r"such as M14x1\.5 or 1/2-20"):
        thread(typed)


@pytest.mark.parametrize(
    ("one", "other", "agree"),
    [
        ("cone 60", "cone 61", 1.0),
        ("cone 60", "cone 62", 0.0),
        ("ball 14", "ball 14.5", 1.0),
        ("ball 13", "ball 14", 0.0),
        ("shank 19.05", "shank 17.5", 1.0),
        ("shank 19.05", "shank 12.7", 0.0),
        ("flat", "flat", 1.0),
        ("cone", "ball 14", 0.0),
    ],
)
def test_two_seats_agree_by_form_and_size(one, other, agree):
    assert seats_agree(one, other) == seats_agree(other, one) == agree


@pytest.mark.parametrize(("one", "other"), [("cone", "cone 60"), ("ball", "ball"), ("", "cone 60"), ("", "")])
def test_a_seat_without_its_size_settles_nothing(one, other):
    assert math.isnan(seats_agree(one, other))

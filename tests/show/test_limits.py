"""How far a limit gives way, as the shop reads it."""

import math

import pytest

from combo.show import words


@pytest.mark.parametrize(
    ("unit", "size", "told"),
    [
        ("mm", 1.802, "+1/8 in"),
        ("mm", 1.5, "+1/16 in"),
        ("mm", -8.79, "-0.35 in"),
        ("cents", 36383.0, "+$363.83"),
        ("cents", -11068.0, "-$110.68"),
        ("rpm", 335.944, "+336 rpm"),
        ("mm", 0.0, "as asked"),
        ("yes_no", 1.0, "given up"),
        ("yes_no", -0.0, "as asked"),
        ("kg", math.nan, "any"),
    ],
)
def test_a_move_is_enough_and_never_more_than_the_next_sixteenth(example, unit, size, told):
    assert words.moved(example.job, unit, size) == told

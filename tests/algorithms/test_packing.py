"""Packing of rectangles: against a brute force on small floors, and by hand where rows and cuts find no way."""

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from combo.algorithms.packing import Floor, Footprint, fits

PINWHEEL = ((3, 2),) * 4
SIDES = st.integers(1, 4)
RECTANGLES = st.lists(st.tuples(SIDES, SIDES), min_size=1, max_size=4)


def is_fit(rectangles, length, width, layers=1):
    items = tuple(sorted(Footprint(max(sides), min(sides)) for sides in rectangles))
    return fits(items, length, width, layers)


def by_brute_force(rectangles, length, width, layers=1):
    """Whether any way to set one rectangle after another on whole places, turned or not, in any layer, takes all."""

    def rest_fits(rest, taken):
        if not rest:
            return True
        ways = {rest[0], rest[0][::-1]}
        return any(
            cells.isdisjoint(taken) and rest_fits(rest[1:], taken | cells)
            for deep, wide in ways
            for layer in range(layers)
            for x in range(length - deep + 1)
            for y in range(width - wide + 1)
            for cells in [frozenset(itertools.product([layer], range(x, x + deep), range(y, y + wide)))]
        )

    return rest_fits(sorted(rectangles, key=lambda sides: -sides[0] * sides[1]), frozenset())


@settings(deadline=None, max_examples=150)
@given(rectangles=RECTANGLES, length=st.integers(2, 5), width=st.integers(2, 5))
def test_a_floor_takes_what_a_brute_force_finds_a_way_for(rectangles, length, width):
    assert is_fit(rectangles, length, width) == by_brute_force(rectangles, length, width)


@settings(deadline=None, max_examples=50)
@given(rectangles=RECTANGLES, length=st.integers(2, 4), width=st.integers(2, 3))
def test_two_layers_take_what_a_brute_force_finds_a_way_for(rectangles, length, width):
    assert is_fit(rectangles, length, width, 2) == by_brute_force(rectangles, length, width, 2)


@pytest.mark.parametrize(
    ("rectangles", "length", "width", "answer"),
    [
        (PINWHEEL, 5, 5, True),  # around a hole of 1 x 1, which no straight cut makes
        ((*PINWHEEL, (1, 1)), 5, 5, True),
        ((*PINWHEEL, (2, 1)), 5, 5, False),  # area enough for 26 of 25: too much
        (PINWHEEL, 6, 4, True),
        (((3, 2),) * 5, 6, 5, True),
        (((3, 3), (3, 3)), 5, 5, False),  # 18 of 25, yet 6 either way
        (((4, 1),) * 4 + ((3, 3),), 5, 5, True),  # four strips around 3 x 3
        (((4, 2),) * 3, 5, 5, False),  # 24 of 25
    ],
    ids=str,
)
def test_what_the_area_and_rows_do_not_settle(rectangles, length, width, answer):
    assert is_fit(rectangles, length, width) is answer


def test_a_floor_is_filled_to_the_last_tenth_of_a_millimeter():
    assert is_fit([(6000, 4000), (6000, 4000)], 12000, 4000)


def test_a_tenth_of_a_millimeter_too_much_does_not_fit():
    assert not is_fit([(6001, 4000), (6000, 4000)], 12000, 4000)


def test_an_item_longer_than_the_floor_does_not_fit_though_its_area_does():
    assert not is_fit([(6, 1)], 5, 5)


def test_an_item_may_be_turned():
    assert is_fit([(5, 2)], 2, 5)


def test_an_item_wider_than_the_floor_is_wide_does_not_fit():
    assert not is_fit([(3, 3)], 9, 2)


@pytest.mark.parametrize(("count", "layers", "answer"), [(2, 1, True), (3, 1, False), (4, 2, True), (5, 2, False)])
def test_every_layer_takes_as_much_again(count, layers, answer):
    assert is_fit([(2, 2)] * count, 4, 2, layers) is answer


def test_an_item_does_not_reach_from_one_layer_into_another():
    assert not is_fit([(4, 4)], 4, 2, 2)


def test_what_no_layer_can_share_does_not_fit_though_the_area_would():
    assert not is_fit([(3, 3)] * 3, 5, 5, 2)


def test_a_pinwheel_in_every_layer():
    assert is_fit(PINWHEEL * 2, 5, 5, 2)


COUNTS = st.lists(st.tuples(st.integers(0, 3), st.integers(0, 3)), min_size=1, max_size=8)


@settings(deadline=None, max_examples=40)
@given(counts=COUNTS, layers=st.integers(1, 2))
def test_what_a_floor_has_answered_before_does_not_change_its_answers(counts, layers):
    kinds = (Footprint(3, 2), Footprint(2, 1))
    floor = Floor(5, 4, layers, kinds)
    answers = [bool(floor.holds(np.array([several]))[0]) for several in counts]
    assert answers == [is_fit([kinds[0]] * several[0] + [kinds[1]] * several[1], 5, 4, layers) for several in counts]


def test_kinds_of_the_same_size_count_as_one():
    same = Floor(5, 4, 1, (Footprint(3, 2), Footprint(2, 1), Footprint(3, 2)))
    one = Floor(5, 4, 1, (Footprint(3, 2), Footprint(2, 1)))
    several = np.array([[first, small, other] for first in range(3) for small in range(3) for other in range(3)])
    together = np.column_stack([several[:, 0] + several[:, 2], several[:, 1]])
    assert same.holds(several).tolist() == one.holds(together).tolist()
    assert set(same.holds(several).tolist()) == {False, True}

import numpy as np

from combo.arrays import find, repeated, times_before


def test_rows_are_found_or_told_to_be_at_none():
    among = np.array([[4, 1, -1], [4, 1, 0]])
    assert find(among, np.array([[4, 1, 0], [4, 2, 0], [4, 1, -1]])).tolist() == [1, -1, 0]


def test_places_are_repeated_and_counted():
    at, before = repeated(np.array([2, 0, 3]))
    assert at.tolist() == [0, 0, 2, 2, 2]
    assert before.tolist() == [0, 1, 0, 1, 2]


def test_each_number_is_told_how_often_it_came_before():
    assert times_before(np.array([3, 1, 3, 3, 1])).tolist() == [0, 0, 1, 2, 1]


def test_of_no_numbers_none_came_before():
    assert times_before(np.array([], dtype=np.int64)).tolist() == []

import numpy as np

from combo.checks.distinct import times_before


def test_each_number_is_told_how_often_it_came_before():
    assert times_before(np.array([3, 1, 3, 3, 1])).tolist() == [0, 0, 1, 2, 1]


def test_of_no_numbers_none_came_before():
    assert times_before(np.array([], dtype=np.int64)).tolist() == []

"""Margins alone are those of the results."""

import numpy as np
import pytest

from combo.candidates.builds import chosen
from combo.checks.run import margins_at, results
from combo.explain.limits import every_check


@pytest.fixture
def builds(ranking):
    """Builds whose front tires and wheels bear another load than the rear ones."""
    return chosen(ranking.space, ranking.builds)


def test_margins_alone_are_those_of_the_results(example, builds):
    places = [own.place for own in every_check(example.job)]
    told = results(example.job, builds)
    margins = margins_at(example.job, builds, places)
    assert list(margins) == places == [(one.check.id, one.where) for one in told[0]]
    expected = np.array([[one.margin for one in own] for own in told]).T
    np.testing.assert_array_equal(np.array(list(margins.values())), expected)


def test_only_the_margins_that_are_asked_for_are_worked_out(example, builds):
    assert list(margins_at(example.job, builds, [("tire_load", "front")])) == [("tire_load", "front")]

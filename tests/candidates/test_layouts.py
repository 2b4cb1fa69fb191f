"""Layouts filled slot by slot are those that may lie, and what was answered before stays the answer."""

import itertools

import numpy as np
import pytest

from combo.candidates.layouts import layout_rules
from combo.candidates.relaxed_limits import NOTHING


@pytest.fixture
def rules(example, reduced):
    """Rules that were asked nothing yet."""
    return layout_rules(example.job, reduced.slots, NOTHING)


def test_a_slot_is_filled_with_every_count_that_the_limits_leave(reduced, rules):
    most = reduced.slots["slot.most"]
    first, second = np.flatnonzero(most)[:2]
    none = np.zeros((1, len(most)), dtype=np.int64)
    filled = rules.filled_up(rules.filled_up(none, first, most[first]), second, most[second])
    every = np.zeros(((most[first] + 1) * (most[second] + 1), len(most)), dtype=np.int64)
    every[:, [first, second]] = list(itertools.product(range(most[first] + 1), range(most[second] + 1)))
    assert filled.tolist() == every[rules.keep_limits(every)].tolist()


def test_what_was_answered_before_stays_the_answer(example, reduced, rules):
    most = reduced.slots["slot.most"]
    layouts = np.random.default_rng(1).integers(0, np.minimum(most, 1) + 1, (60, len(most)))
    rules.may_lie(layouts[20:])
    fresh = layout_rules(example.job, reduced.slots, NOTHING)
    answers = [bool(fresh.may_lie(layout[np.newaxis])[0]) for layout in layouts]
    assert rules.may_lie(layouts).tolist() == answers
    assert 0 < sum(answers) < len(answers)


def test_a_slot_filled_is_asked_of_its_station_alone(reduced, rules):
    most = reduced.slots["slot.most"]
    for slot in np.flatnonzero(most):
        alone = np.zeros((most[slot] + 1, len(most)), dtype=np.int64)
        alone[:, slot] = np.arange(len(alone))
        alone = alone[rules.keep_limits(alone)]
        assert rules.may_lie_beside(slot, alone, "solve").tolist() == rules.may_lie(alone).tolist()

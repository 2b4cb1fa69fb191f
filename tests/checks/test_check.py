"""What an entry of the table is."""

import pickle

import pytest

from combo.checks import CHECKS


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.id)
def test_a_check_that_travelled_between_processes_is_the_same(check):
    assert pickle.loads(pickle.dumps(check)) is check

"""Builds side by side: what each gives up."""

import pytest

from combo.explain.compare import compared
from combo.problems import Problems


def test_every_check_stands_in_a_row_of_all_builds(ranking):
    found = compared(ranking, [1, 2])
    assert len(found.rows) == len(ranking.ranked[0].checks)
    assert all(row[0].check is row[1].check and row[0].where == row[1].where for row in found.rows)


def test_the_dearer_build_gives_up_the_difference(ranking):
    one, other = ranking.ranked[0], ranking.ranked[1]
    more = other.totals["cost_cents"] - one.totals["cost_cents"]
    losses = compared(ranking, [1, 2]).losses
    told = {at + 1: own.amount for at, losses_ in enumerate(losses) for own in losses_ if own.what == "cost"}
    assert told == ({2: more} if more > 0 else {1: -more} if more < 0 else {})


def test_what_one_lacks_in_points_the_other_has(ranking):
    builds = ranking.ranked[:2]
    for build, other, losses in zip(builds, builds[::-1], compared(ranking, [1, 2]).losses, strict=True):
        for loss in losses:
            if loss.check is None and loss.what != "cost":
                assert loss.amount == other.points[loss.what] - build.points[loss.what] > 0


@pytest.mark.parametrize("ranks", [[1], [1, 1], [], [0, 1], [1, 10_000]])
def test_ranks_that_are_not_several_are_refused(ranking, ranks):
    with pytest.raises(Problems):
        compared(ranking, ranks)

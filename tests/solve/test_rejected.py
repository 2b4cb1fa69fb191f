"""Parts that are in no build, proven by the solver and told by their best attempt."""

import pytest

from combo.solve.clock import Clock
from combo.solve.rank import rank
from combo.solve.rejected import rejected


@pytest.fixture(scope="module")
def rejects(example, space, ranking):
    return rejected(example.job, example.parts, space, ranking, Clock())


def test_no_part_of_the_shortlist_is_rejected(space, ranking, rejects):
    used = {sku for at in ranking.builds.front for sku in space.front.iloc[at][["wheel.sku", "tire.sku"]]}
    assert not used & {one.sku for one in rejects}


def test_a_wheel_of_another_bolt_circle_is_told_so(rejects):
    told = {one.sku: [result.check.id for result in one.failing] for one in rejects}
    assert "bolt_circle" in told["W-1570-42"]


def test_a_part_without_a_failing_check_really_is_in_no_build(example, space, rejects):
    alone = [one for one in rejects if not one.failing and one.kind == "tire"]
    assert alone
    for one in alone:
        position = list(example.parts.tires["sku"]).index(one.sku)
        for table in (space.front, space.rear):
            own = table[table["tire.at"] == position]
            assert own.empty or no_build_with(space, table is space.front, position)


def no_build_with(space, is_front, position):
    """Whether the join, asked with only the rows of one tire at an axle, finds nothing."""
    import dataclasses

    name = "front" if is_front else "rear"
    table = getattr(space, name)
    narrowed = dataclasses.replace(space, **{name: table[table["tire.at"] == position].reset_index(drop=True)})
    return not rank(narrowed, 1).ranked

"""The smallest joint move of some limits ends at a build, and nothing holds short of it."""

from combo.candidates.instance import Instance
from combo.candidates.relaxed_limits import Pinned, RelaxedLimits
from combo.explain.best import any_build
from combo.explain.changes import smallest_change
from combo.explain.limits import movable

LOW_TIRE = "T-2257515-P"


def test_a_move_whose_last_step_is_a_gram_of_rear_load_ends(example):
    """A limit moved to a tenth of a gram short of a build's load must not let that very build in again."""
    tire = frozenset({list(example.parts.tires["sku"]).index(LOW_TIRE)})
    pinned = Pinned({("front", "tire"): tire, ("rear", "tire"): tire})
    instance = Instance(example.job, example.parts)
    places = [("cruise_rpm", "rear"), ("rear_load", "rear")]
    limits = tuple(limit for limit in movable(example.job) if limit.places[0] in places)
    change = smallest_change(instance, limits, pinned)
    moved = dict(zip(places, change.moved, strict=True))
    assert all(change.best.margin(place) >= -by for place, by in moved.items())
    short = {**moved, ("rear_load", "rear"): moved["rear_load", "rear"] - 0.001}
    assert any_build(instance, RelaxedLimits(short, pinned=pinned)) is None

"""An entry of the job that is moved moves the margin of every check that it feeds by as much, and of no other."""

import dataclasses
import re

import numpy as np
import pytest

from combo.candidates.builds import chosen
from combo.checks.run import margins_at
from combo.explain.limits import every_check, limits_named, movable

BY = {"mm": 7.0, "deg": 0.25, "rpm": 40.0, "share": 0.01, "kg": 20.0, "cents": 5000.0}
"""How far each limit is moved, in the unit of its checks."""
LESS = {
    "rear_load",
    "ground_clearance",
    "laid_out_clearance",
    "fender_gap_min",
    "rake_min",
    "frame_rake_min",
    "cruise_min",
    "scrub_min",
    "start_grade",
    "pull_grade",
    "hold_grade",
    "front_share",
}
"""Keys that ask for less when they are moved."""
OF_MASS = {"targets.pull_grade", "targets.hold_grade"}
"""Their checks weigh masses: how these hang on the grade is no line."""


def attribute(owner, key):
    """The attribute behind a key of job.toml: its name without the unit."""
    names = [field.name for field in dataclasses.fields(owner)]
    return next(name for name in names if re.fullmatch(rf"{key}(_[a-z]+)?", name))


def moved(owner, keys, amount):
    """A table of the job with one entry moved, in every state of the suspension that has it, too."""
    key, *rest = keys
    if rest:
        return dataclasses.replace(owner, **{key: moved(getattr(owner, key), rest, amount)})
    name = attribute(owner, key)
    sign = -1.0 if key in LESS else 1.0
    per = 1e6 if name.endswith("_ppm") else 1.0
    new = getattr(owner, name) + sign * amount * per
    changes = {name: round(new) if name.endswith(("_ppm", "_cents")) else new}
    for state, own in (owner.states() if hasattr(owner, "states") else {}).items():
        changes[state] = dataclasses.replace(own, **{name: getattr(own, name) + sign * amount})
    return dataclasses.replace(owner, **changes)


@pytest.fixture(scope="module")
def before(example, ranking):
    places = [own.place for own in every_check(example.job)]
    return margins_at(example.job, chosen(ranking.space, ranking.builds), places)


def limits(job):
    return [limit for limit in movable(job) if not limit.is_yes_or_no and limit.key != "targets.cover"]


@pytest.mark.parametrize(
    "key",
    [
        "wheelhouse.front.room_inner",
        "wheelhouse.rear.room_inner",
        "wheelhouse.front.room_outer",
        "wheelhouse.rear.room_outer",
        "wheelhouse.front.hub_to_top",
        "wheelhouse.rear.hub_to_top",
        "wheelhouse.front.opening",
        "wheelhouse.rear.opening",
        "wheelhouse.front.sweep",
        "spare.well",
        "targets.fender_gap",
        "targets.rake",
        "targets.frame_rake",
        "targets.cruise",
        "targets.speedometer_error",
        "targets.rear_load",
        "targets.start_grade",
        "targets.ground_clearance",
        "money.budget",
        "targets.pull_grade",
        "targets.hold_grade",
    ],
)
def test_what_an_entry_feeds_moves_by_as_much_and_nothing_else_moves(example, ranking, before, key):
    (limit,) = limits_named(example.job, key)
    job, by = example.job, BY[limit.check.unit]
    for own in limit.entry.keys:
        section, *rest = own.split(".")
        if own == "targets.cruise_min" or own == "targets.cruise_max":
            points = tuple(
                dataclasses.replace(point, min_rpm=point.min_rpm - by / 2, max_rpm=point.max_rpm + by / 2)
                for point in job.targets.cruise
            )
            job = dataclasses.replace(job, targets=dataclasses.replace(job.targets, cruise=points))
        job = dataclasses.replace(job, **{section: moved(getattr(job, section), rest, by)})
    builds = chosen(ranking.space, ranking.builds)
    after = margins_at(job, builds, list(before))
    changed = {
        place for place, margin in after.items() if not np.allclose(margin, before[place], atol=2e-3, equal_nan=True)
    }
    assert changed <= set(limit.places)
    for place in limit.places:
        known = ~np.isnan(before[place])
        if key not in OF_MASS:
            np.testing.assert_allclose(after[place][known] - before[place][known], by, atol=2e-3)


def test_every_limit_of_the_example_is_looked_at(example):
    asked = test_what_an_entry_feeds_moves_by_as_much_and_nothing_else_moves.pytestmark[0].args[1]
    assert {limit.key for limit in limits(example.job)} == set(asked)

"""Bounds propagation: no build may have more margin in a check than its rows are said to have at best."""

import dataclasses

import numpy as np
import pytest

from combo.candidates.builds import chosen
from combo.candidates.instance import Instance
from combo.candidates.relaxed_limits import RelaxedLimits
from combo.checks import CHECKS
from combo.checks.run import asked_checks
from combo.search.filter import filter_lists
from combo.search.propagate import best_margin, ends_of, table_of, totals_of
from combo.search.topk import rank


@pytest.fixture(scope="module")
def strict_job(example):
    """The example as a strict job, in which every total is known."""
    return dataclasses.replace(example.job, job=dataclasses.replace(example.job.job, strict=True))


def test_checks_of_one_axle_and_of_the_drive_are_told_from_others(example):
    tables = {(check.id, check.where): table_of(example.job, check) for check in CHECKS if check.rows == "build"}
    assert tables["wheel_pressure", "front"] == "front"
    assert tables["ground", "rear"] == "rear"
    assert tables["start_grade", "rear"] == tables["hold_gear", "truck"] == "drive"
    assert tables["axle_match", "truck"] is tables["budget", "truck"] is None


def test_no_build_has_more_margin_than_its_rows_have_at_best(example, strict_job):
    """Of builds that may fail a check by any amount, found with the check given up."""
    job, compared = example.job, 0
    instance = Instance(job, example.parts)
    for check in asked_checks(job, "build"):
        table = table_of(job, check)
        if table is None:
            continue
        space = filter_lists(instance, RelaxedLimits.without([(check.id, check.where)]))
        ranking = rank(space, 20)
        ends = {name: ends_of(Instance(strict_job, example.parts), space.slots, name) for name in totals_of(job, check)}
        assert all(own is not None and own[0] <= own[1] for own in ends.values())
        rows = getattr(chosen(ranking.space, ranking.builds), table)
        best = best_margin(strict_job, check, ends)(rows)
        for at, ranked in enumerate(ranking.ranked):
            own = next(one.margin for one in ranked.checks if (one.check.id, one.where) == (check.id, check.where))
            if not np.isnan(own):
                assert own <= best[at] + 1e-9, (check.id, check.where)
                compared += 1
    assert compared > 40


def test_a_total_that_a_part_leaves_open_lets_a_build_escape_but_in_a_strict_job(example, strict_job):
    wheels = example.parts.wheels.copy()
    wheels.loc[0, "mass_kg"] = np.nan
    parts = dataclasses.replace(example.parts, wheels=wheels)
    slots = filter_lists(Instance(example.job, example.parts)).slots
    assert ends_of(Instance(example.job, parts), slots, "rear_heavy_g") is None
    low, high = ends_of(Instance(strict_job, parts), slots, "rear_heavy_g")
    assert 0.0 < low < high

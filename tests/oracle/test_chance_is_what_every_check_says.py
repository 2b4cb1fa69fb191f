"""With a wanted chance: the ranking lists every build in which no check fails, and no other.

Here the checks are combo's own, one build after another, so that it is the join that is tested and not the chances,
which tests/checks holds against Monte Carlo.
"""

import dataclasses
import itertools
import random

import numpy as np
import pytest
from jobs import drawn_jobs, parts_of

from combo import job as jobs
from combo.checks.check import Verdict
from combo.checks.rows import Chosen, slots
from combo.checks.run import results
from combo.checks.table import Row
from combo.explain.attempts import every_corner, every_drive
from combo.search.filter import space_of
from combo.search.topk import rank

SEEDS = (2, 5, 7, 11, 12, 17, 21, 28, 31)
"""Of drawn jobs that are small enough to look at every build, most with some that hold and some that do not."""
TOLERANCE = jobs.Tolerance(length_mm=0.4, mass_kg=3.0, wheel_mm=0.3, tires="none")


def loosely(job):
    """The job with tolerances, a wanted chance, and nothing unverified refused."""
    targets = dataclasses.replace(job.targets, fit=0.9)
    about = dataclasses.replace(job.job, strict=False)
    return dataclasses.replace(job, job=about, targets=targets, tolerance=TOLERANCE)


def every_build(job, parts):
    """Rows of every build of these parts that belong together, whatever it fails."""
    (front, _), (rear, _), (drive, _) = (
        every_corner(job, "front", parts),
        every_corner(job, "rear", parts),
        every_drive(job, parts),
    )
    laid = slots(job, parts)
    layouts = list(itertools.product(*(range(int(most) + 1) for most in laid["slot.most"])))
    layouts = [layout for layout in layouts if sum(layout) <= job.ballast.max_items]
    together = [
        (f, r, d)
        for f, r, d in itertools.product(range(len(front)), range(len(rear)), range(len(drive)))
        if rear["tire.sku"][r] == drive["tire.sku"][d]
        and (not job.job.same_all_round or same_pair(Row(front, f), Row(rear, r)))
    ]
    at = np.array([(*rows, at) for rows in together for at in range(len(layouts))])
    tables = (table.take(at[:, column]) for column, table in enumerate((front, rear, drive)))
    return Chosen(*tables, laid, np.array(layouts, dtype=np.int64).reshape(len(layouts), -1)[at[:, 3]])


def same_pair(front, rear):
    return (front["wheel.sku"], front["tire.sku"]) == (rear["wheel.sku"], rear["tire.sku"])


def named(front, rear, drive, counts):
    corner = ("wheel.sku", "tire.sku", "spacer.sku")
    skus = (row[name] for row in (front, rear) for name in corner)
    return (*skus, drive["ratio.sku"], drive["differential.sku"], *map(int, counts))


def kept_by_the_checks(job, chosen):
    """Names of the builds in which no check fails and whose ballast the plan and the stock allow."""
    every = results(job, chosen)
    return {
        named(Row(chosen.front, at), Row(chosen.rear, at), Row(chosen.drive, at), chosen.counts[at])
        for at, own in enumerate(every)
        if all(result.verdict is not Verdict.FAIL for result in own)
    }


@pytest.mark.parametrize("seed", SEEDS)
def test_a_build_is_listed_where_no_check_fails(seed):
    job, raw = drawn_jobs()(random.Random(seed))
    job, parts = loosely(job), parts_of(job, raw)
    chosen = every_build(job, parts)
    ranking = rank(space_of(job, parts), 100_000)
    space, builds = ranking.space, ranking.builds
    listed = {
        named(
            Row(space.front, builds.front[one.at]),
            Row(space.rear, builds.rear[one.at]),
            Row(space.drive, builds.drive[one.at]),
            builds.counts[one.at],
        )
        for one in ranking.ranked
    }
    assert ranking.proven
    assert {build for build in kept_by_the_checks(job, chosen) if is_in_the_plan(space, build)} == listed


def is_in_the_plan(space, build):
    """Whether the counts of a build keep the plan's own limits, which are no check."""
    counts = np.array([build[8:]], dtype=np.int64)
    return bool(space.rules.keep_limits(counts)[0])

"""Limits on repeated parts: the list is the enumeration walked from the top, passing over what was listed too often."""

import dataclasses
from collections import Counter

from enumeration import enumerate_builds
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from jobs import parts_of, small_jobs
from test_rank_equals_enumeration import SHOWN, ranked_build

from combo.job import Shortlist
from combo.search.filter import space_of
from combo.search.topk import rank

BARE = ("front_wheel", "front_tire", "front_spacer", "rear_wheel", "rear_tire", "rear_spacer", "ratio", "differential")
limits = st.sampled_from([None, 1, 2])


def walked(builds, shortlist, count):
    """The first builds whose parts have not been listed too often before."""
    layouts, shown, listed = Counter(), Counter(), []
    for build in builds:
        bare = tuple(build[name] for name in BARE)
        layouts[bare] += 1
        parts = [(axle, kind, build[f"{axle}_{kind}"]) for axle in ("front", "rear") for kind in ("wheel", "tire")]
        most = {"wheel": shortlist.max_per_wheel, "tire": shortlist.max_per_tire}
        too_often = any(most[kind] is not None and shown[axle, kind, sku] >= most[kind] for axle, kind, sku in parts)
        if too_often or (shortlist.max_layouts is not None and layouts[bare] > shortlist.max_layouts):
            continue
        shown.update(parts)
        listed.append({name: build[name] for name in SHOWN})
    return listed[:count]


@settings(
    max_examples=25,
    deadline=None,
    derandomize=True,
    phases=[Phase.generate],
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much],
)
@given(drawn=small_jobs(), layouts=limits, per_wheel=limits, per_tire=limits)
def test_the_varied_shortlist_is_the_enumeration_walked_with_the_limits(drawn, layouts, per_wheel, per_tire):
    job, raw = drawn
    shortlist = Shortlist(max_layouts=layouts, max_per_wheel=per_wheel, max_per_tire=per_tire)
    job = dataclasses.replace(job, shortlist=shortlist)
    ranking = rank(space_of(job, parts_of(job, raw)), 6)
    found = [{name: build[name] for name in SHOWN} for build in (ranked_build(ranking, one) for one in ranking.ranked)]
    assert found == walked(enumerate_builds(job, **raw), shortlist, 6)

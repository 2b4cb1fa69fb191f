"""JSON and CSV for other programs."""

import dataclasses
import json

from combo.checks import CHECKS
from combo.search.filter import space_of
from combo.search.topk import rank
from combo.show.machine import rank_csv, rank_json

BUILD_KEYS = {
    "rank",
    "score",
    "criteria",
    "cost_cents",
    "cruise_rpm",
    "rear_load_kg",
    "front_load_kg",
    "parts",
    "binding",
    "tightest",
    "unverified",
    "unbeaten",
    "checks",
    "facts",
    "bill",
}


def test_rank_has_the_keys_of_format_1(example, ranking):
    told = json.loads(rank_json(ranking, example.parts))
    assert set(told) == {"format", "proven", "most", "builds", "removed", "counts"}
    assert set(told["builds"][0]) == BUILD_KEYS


def test_a_check_has_its_keys(example, ranking):
    checks = json.loads(rank_json(ranking, example.parts))["builds"][0]["checks"]
    assert {"check", "where", "state", "verdict", "margin", "unit", "value", "limit"} <= set(checks[0])


def test_a_part_that_is_not_used_is_null(example):
    parts = dataclasses.replace(example.parts, spacers=example.parts.spacers.iloc[:0])
    builds = json.loads(rank_json(rank(space_of(example.job, parts), 2), parts))["builds"]
    assert len(builds) == 2
    assert {build["parts"][axle]["spacer"] for build in builds for axle in ("front", "rear")} == {None}


def test_a_check_of_rows_removes_alone_at_least_what_it_is_the_first_to_remove(example, ranking):
    of_rows = {check.id for check in CHECKS if check.rows != "build"}
    removed = json.loads(rank_json(ranking, example.parts))["removed"]
    assert all(one["alone"] >= one["first"] for one in removed if one["check"] in of_rows)


def test_the_csv_has_a_row_a_build(ranking):
    lines = rank_csv(ranking).splitlines()
    assert len(lines) == 1 + len(ranking.ranked)

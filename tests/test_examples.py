"""The examples are live: every check that they ask for is answered for their best build, nothing left to measure."""

import functools
import json
import subprocess
import sys
from pathlib import Path

import pytest

EXAMPLES = Path(__file__).parents[1] / "examples"
OF_THE_HAULER = {
    "seat",
    "wheel_weights",
    "spare_bolts",
    "spare_front",
    "scrub_line",
    "scrub",
    "load_line",
    "track",
    "wheel_pressure",
    "gcwr",
    "hitch",
    "axle_torque",
    "ground_laid_out",
}
TOLD_OF_THE_HAULER = {
    "track",
    "load_line",
    "scrub_radius",
    "valve_stem",
    "axle_torque",
    "climb_front_load",
    "sag",
    "fender_gap_loaded",
    "frame_rake_loaded",
    "tongue_share",
    "top_speed",
}


@functools.cache
def ranked(example):
    answer = subprocess.run(
        [sys.executable, "-m", "combo", "rank", EXAMPLES / example / "job.toml", "--json"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert answer.returncode == 0, answer.stderr
    return json.loads(answer.stdout)


@pytest.mark.parametrize("example", ["orchard_pickup", "orchard_hauler"])
def test_the_best_build_passes_everything_and_leaves_nothing_to_measure(example):
    best = ranked(example)["builds"][0]
    assert {check["verdict"] for check in best["checks"]} == {"pass"}
    assert best["unverified"] == []


def test_the_hauler_asks_for_what_is_easily_overlooked():
    best = ranked("orchard_hauler")["builds"][0]
    assert {check["check"] for check in best["checks"]} >= OF_THE_HAULER
    assert {fact["fact"] for fact in best["facts"]} >= TOLD_OF_THE_HAULER


def test_the_side_of_the_hauler_that_decides_is_told():
    checks = ranked("orchard_hauler")["builds"][0]["checks"]
    states = {(check["check"], check["where"]): check["state"] for check in checks}
    assert states["inner_sidewall", "front"] == "ride height, right side"
    assert states["fender_top", "front"] == "laid out"


def test_the_haulers_left_hand_nuts_are_on_the_bill_where_wheels_are_bought():
    bills = [{line["line"] for line in build["bill"]} for build in ranked("orchard_hauler")["builds"]]
    bought = [bill for bill in bills if "wheels" in bill]
    assert all("left-hand lug nuts" in bill for bill in bought)

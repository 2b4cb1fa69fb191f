"""Gear sets and differentials of both axles."""

import pytest
from by_hand import job_with, parts_with

from combo.job import Axles
from combo.problems import Report
from combo.read.gears import for_driven_axles

RATIOS = [
    {"sku": "R1", "axle": "rear"},
    {"sku": "F1", "axle": "front", "ratio": 4.1},
    {"sku": "B1", "axle": "both"},
    {"sku": "N1"},
]


def paired(driven, ratios, **lists):
    report = Report()
    parts = parts_with(ratios=ratios, **lists)
    return for_driven_axles(job_with(axle=Axles(driven=driven)), parts, "job.toml", report), report.problems


def test_with_one_driven_axle_those_of_the_front_alone_are_out():
    parts, problems = paired("rear", RATIOS)
    assert (list(parts.ratios["sku"]), problems, parts.count("ratios")) == (["R1", "B1", "N1"], [], 4)


def test_lists_without_axles_stay_as_they_are():
    parts = parts_with(ratios=[{}, {"sku": "R2"}])
    assert for_driven_axles(job_with(), parts, "job.toml", Report()) is parts


def test_with_both_driven_each_of_the_rear_goes_with_each_of_the_front():
    parts, problems = paired("both", RATIOS)
    assert problems == []
    assert list(parts.ratios["sku"]) == [
        f"{rear} + {front}" for rear in ("R1", "B1", "N1") for front in ("F1", "B1", "N1")
    ]
    first = parts.ratios.iloc[0]
    assert (first["ratio"], first["front_ratio"], first["rear_sku"], first["front_sku"]) == (4.0, 4.1, "R1", "F1")


@pytest.mark.parametrize(
    ("driven", "axle", "lacking"),
    [
        ("both", "rear", "front"),
        ("both", "front", "rear"),
        ("rear", "front", "rear"),
    ],
)
def test_a_list_without_any_for_a_driven_axle_is_told(driven, axle, lacking):
    _, problems = paired(driven, [{"sku": "X", "axle": axle}])
    assert [(problem.word, problem.found) for problem in problems] == [
        ("none-for-the-axle", f"no ratios for the {lacking} axle")
    ]

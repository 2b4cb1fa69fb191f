"""Checks that hang on two parts at once: the search finds every build that they hold, and no other."""

import dataclasses
import itertools
import math

import pytest
from by_hand import MEASURED, job_with, parts_with

from combo import job as jobs
from combo.checks.check import Verdict
from combo.explain.choice import Choice, Corner, verdict, why
from combo.job import Axles, Targets
from combo.search.filter import space_of
from combo.search.topk import rank
from combo.show.machine import parts_of_build

FIRM = {"rated_pressure_kpa": 550.0, "max_pressure_kpa": 550.0}
PRESENT = dataclasses.replace(
    MEASURED,
    front_ground_clearance_mm=300.0,
    rear_ground_clearance_mm=200.0,
    rear_lowest_on="frame",
)
SPRUNG = Axles("8.8", 31, rear=jobs.AxleBeam(spring_rate_n_per_m=50_000.0, torque_rating_n_m=3_500.0))
CARGO = jobs.Loads(1100.0, 900.0, items=(jobs.LoadItem("cargo", 100.0, 0.0),))
WHEELS = [
    {"max_pressure_kpa": 480.0},
    {"sku": "W2", "max_pressure_kpa": 300.0, "mass_kg": 16.0, "bolt_circle_mm": 114.4},
    {"sku": "W3", "max_pressure_kpa": 550.0, "mass_kg": 8.0, "hub_bore_mm": 74.0, "spoke_clearance_mm": 28.5},
]
TIRES = [FIRM, FIRM | {"sku": "T2", "load_rating_kg": 600.0, "overall_diameter_mm": 726.0, "mass_kg": 22.0}]


def found_and_holding(job, **instance):
    """The builds of a ranking of all, and those of every combination that no check fails."""
    parts = parts_with(**{"wheels": WHEELS, "tires": TIRES, "ratios": [{}, {"sku": "R2", "ratio": 3.5}]} | instance)
    ranking, found = rank(space_of(job, parts), 10_000), []
    for one in ranking.ranked:
        own = parts_of_build(ranking.space, ranking.builds, one.at)
        found.append(
            (
                *(
                    Corner(*(own[axle][kind] or "" for kind in ("wheel", "tire", "spacer")))
                    for axle in ("front", "rear")
                ),
                own["ratio"],
            )
        )
    corners = [
        Corner(*own) for own in itertools.product(parts.wheels["sku"], parts.tires["sku"], ["", *parts.spacers["sku"]])
    ]
    every = itertools.product(corners, corners, parts.ratios["sku"])
    holding = {own for own in every if verdict(why(job, parts, Choice(*own, "D")).results) is not Verdict.FAIL}
    return found, holding


NO_ENGINE = {"axle": SPRUNG, "truck": jobs.Truck(3000.0, 1400.0, 1500.0, 2800.0, cg_height_mm=750.0)}


@pytest.mark.parametrize(
    "tables",
    [
        {},
        {"loads": jobs.Loads(1100.0, 1060.0)},
        {"loads": jobs.Loads(math.nan, math.nan, 560.0, 540.0, 480.0, 420.0)},
        {"job": jobs.About("by hand", spare=True)},
        {"present": PRESENT, "loads": CARGO, "axle": SPRUNG, "targets": Targets(ground_clearance_mm=171.5)},
        {"present": PRESENT, "loads": CARGO, "axle": SPRUNG, "targets": Targets(ground_clearance_mm=177.5)},
        NO_ENGINE,
    ],
)
def test_the_search_finds_every_build_that_holds_and_no_other(tables):
    job = job_with(**tables)
    job = dataclasses.replace(job, brakes=jobs.Brakes(jobs.Brake(320.0, 25.0), jobs.Brake(300.0, 10.0)))
    found, holding = found_and_holding(job)
    assert len(found) == len(set(found)) > 0
    assert set(found) == holding

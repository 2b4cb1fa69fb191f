"""Both axles driven: what turns together, what grips, what it costs, by hand; and every build against the search."""

import dataclasses
import itertools
import math

import numpy as np
import pytest
from by_hand import build, job_with, parts_with

from combo import job as jobs
from combo.checks import rows
from combo.checks.bill import bills
from combo.checks.check import Verdict
from combo.checks.facts import facts
from combo.checks.rows import NO_SPACER, Chosen, Picks, slots
from combo.checks.run import results
from combo.explain.choice import Choice, Corner, verdict, why
from combo.job import Axles, Targets
from combo.problems import Report
from combo.read.gears import for_driven_axles
from combo.search.filter import space_of
from combo.search.topk import rank
from combo.show.machine import parts_of_build

FRONT = jobs.AxleBeam(ring_gear="7.5", splines=28)
BOTH = Axles("8.8", 31, FRONT, driven="both")
REAR_GEARS = {"sku": "R", "axle": "rear", "ratio": 4.0}
FRONT_GEARS = {"sku": "F", "axle": "front", "ratio": 4.0, "ring_gear": "7.5"}
REAR_CARRIER = {"sku": "D", "axle": "rear"}
FRONT_CARRIER = {"sku": "DF", "axle": "front", "ring_gear": "7.5", "splines": 28, "type": "open"}
PART_TIME = jobs.Transmission(transfer_case="part-time")


def job_of(**tables):
    return job_with(**{"axle": BOTH, "transmission": PART_TIME} | tables)


def parts_of(job, ratios=(), differentials=(), **lists):
    """Lists with one gear set and differential for each axle, or these."""
    own = parts_with(
        ratios=list(ratios) or [REAR_GEARS, FRONT_GEARS],
        differentials=list(differentials) or [REAR_CARRIER, FRONT_CARRIER],
        **lists,
    )
    report = Report()
    parts = for_driven_axles(job, own, "job.toml", report)
    assert report.problems == []
    return parts


def chosen_of(job, front_tire=0, rear_tire=0, **lists):
    parts, one = parts_of(job, **lists), np.array([0])
    at = {"front": np.array([front_tire]), "rear": np.array([rear_tire])}
    corners = {axle: rows.corner_rows(job, axle, parts, Picks(one, at[axle], np.array([NO_SPACER]))) for axle in at}
    laid = slots(job, parts)
    return Chosen(
        corners["front"],
        corners["rear"],
        rows.drive_rows(job, parts, at["rear"], one, one),
        laid,
        np.zeros((1, len(laid)), dtype=np.int64),
    )


def answer(check, where, job, **lists):
    found = results(job, chosen_of(job, **lists))[0]
    return next(own for own in found if (own.check.id, own.where) == (check, where))


def fact_of(name, job, **lists):
    return next(fact for fact in facts(job, chosen_of(job, **lists))[0] if fact.id == name)


# What turns together


@pytest.mark.parametrize(("ratio", "apart"), [(4.0, 0.0), (4.04, 0.01), (3.95, 0.0125)])
def test_equal_tires_turn_apart_as_their_ratios_do(ratio, apart):
    ratios = [REAR_GEARS, FRONT_GEARS | {"ratio": ratio}]
    found = answer("axle_match", "truck", job_of(), ratios=ratios)
    assert (found.value, found.verdict) == (pytest.approx(apart), "pass" if apart <= 0.01 else "fail")


def test_a_larger_front_tire_is_made_good_by_a_shorter_ratio():
    # 740 in front, 703 behind: 4.21 / 370 over 4.0 / 351.5 is 0.99986
    tires = [{}, {"sku": "T2", "overall_diameter_mm": 703.0}]
    ratios = [REAR_GEARS, FRONT_GEARS | {"ratio": 4.21}]
    found = answer("axle_match", "truck", job_of(), ratios=ratios, tires=tires, rear_tire=1)
    assert found.value == pytest.approx(1.0 - 4.21 / 370.0 * 351.5 / 4.0)
    assert fact_of("axle_match", job_of(), ratios=ratios, tires=tires, rear_tire=1).value == pytest.approx(-found.value)


def test_one_tire_with_declared_revolutions_is_compared_by_size():
    tires = [{"revs_per_mile": 700.0}, {"sku": "T2"}]
    assert answer("axle_match", "truck", job_of(), tires=tires, rear_tire=1).value == pytest.approx(0.0)


@pytest.mark.parametrize(
    ("box", "verdict"),
    [
        (jobs.Transmission(), "unverified"),
        (jobs.Transmission(transfer_case="full-time"), "unverified"),
        (jobs.Transmission(transfer_case="full-time", speed_match_ppm=20_000), "pass"),
        (jobs.Transmission(transfer_case="part-time", speed_match_ppm=5_000), "fail"),
    ],
)
def test_a_full_time_case_asks_for_its_makers_figure(box, verdict):
    ratios = [REAR_GEARS, FRONT_GEARS | {"ratio": 4.04}]
    found = answer("axle_match", "truck", job_of(transmission=box), ratios=ratios)
    assert found.verdict == verdict
    assert verdict != "unverified" or found.needs[0].name == "transfer case"


def test_with_one_driven_axle_nothing_is_to_match():
    job = job_with()
    assert "axle_match" not in {own.check.id for own in results(job, build(job))[0]}


# What belongs together


@pytest.mark.parametrize(
    ("gears", "carrier", "verdict"),
    [
        ({}, {}, "pass"),
        ({"ring_gear": "8.8"}, {}, "fail"),
        ({}, {"splines": 31}, "fail"),
        ({"ratio": 4.6}, {"ratio_max": 4.56}, "fail"),
        ({}, {"ratio_max": None}, "unverified"),
        ({}, {"splines": None}, "unverified"),
    ],
)
def test_gears_and_carrier_belong_at_the_front_axle_too(gears, carrier, verdict):
    ratios = [REAR_GEARS | {"ratio": gears.get("ratio", 4.0)}, FRONT_GEARS | gears]
    carriers = [REAR_CARRIER | {"ratio_max": 4.9}, FRONT_CARRIER | carrier]
    assert answer("carrier", "rear", job_of(), ratios=ratios, differentials=carriers).verdict == verdict


def test_a_front_family_that_is_not_known_is_to_be_measured():
    job = job_of(axle=dataclasses.replace(BOTH, front=jobs.AxleBeam(splines=28)))
    found = answer("carrier", "rear", job)
    assert [need.text() for need in found.needs] == [
        "truck, [axle.front]: ring gear (ring gear family of the front axle, where it is driven)"
    ]


# What grips: 900 kg behind on a locker, 1100 in front on an open one; 0.1 and 0.3 underneath

SPLIT = jobs.Surface(0.1, 0.3, rolling_resistance=0.02)


def test_a_start_has_the_thrust_of_both_axles():
    # level: (0.2 x 900 + 0.1 x 1100) of 2000; on the grade loads move by (h / L) sin = 0.25 sin
    job = job_of(surface=SPLIT, targets=Targets(start_grade_ppm=10_000))
    along, across = 0.2 * 900 + 0.1 * 1100 - 0.02 * 2000, 2000 * (1 - (0.2 - 0.1) * 0.25)
    found = answer("start_grade", "rear", job)
    assert found.value == pytest.approx(along / across, abs=1e-6)
    assert fact_of("steepest_start", job).value == pytest.approx(along / across, abs=1e-6)


def test_a_front_limited_slip_grips_with_its_bias_and_preload():
    slip = FRONT_CARRIER | {"type": "limited_slip", "bias_ratio": 2.0, "preload_n_m": 74.0}
    job = job_of(surface=SPLIT, targets=Targets(start_grade_ppm=10_000), rolling=jobs.Rolling(1.0))
    # 0.15 of 1100 and 74 / 0.37 N, together less than 0.2 of 1100
    preload = 74.0 / 0.37 / 9.80665
    along, across = 0.2 * 900 + 0.15 * 1100 - 0.02 * 2000, 2000 * (1 - 0.05 * 0.25)
    slope = math.atan2(along, across) + math.asin(preload / math.hypot(along, across))
    found = answer("start_grade", "rear", job, differentials=[REAR_CARRIER, slip])
    assert found.value == pytest.approx(math.tan(slope), abs=1e-6)


def test_the_thrust_that_is_told_is_that_of_both_axles():
    told = fact_of("thrust", job_of(surface=SPLIT))
    assert told.value == pytest.approx((0.2 * 900 + 0.1 * 1100) / (1 - 0.1 * 0.25))
    assert "both axles driven" in told.note


def test_low_range_is_a_gear_to_move_off_in():
    torque = (jobs.TorquePoint(1000.0, 300.0), jobs.TorquePoint(5000.0, 300.0))
    box = dataclasses.replace(PART_TIME, gears=(3.0, 1.0), cruise_gear=1.0, stall_speed_rpm=2000.0, stall_ratio=2.0)
    low = dataclasses.replace(box, low_range=2.0)
    pulls = [
        float(
            chosen_of(
                job_of(transmission=own, engine=jobs.Engine(4000.0, torque), targets=Targets(pull_grade_ppm=100_000))
            ).drive["drive.pull_g"][0]
        )
        for own in (box, low)
    ]
    assert pulls[1] == pytest.approx(2 * pulls[0], rel=1e-6)


def test_the_front_ring_gear_bears_its_grip():
    # 0.9 x 1100 x g x 0.37
    torque = (jobs.TorquePoint(1000.0, 900.0), jobs.TorquePoint(5000.0, 900.0))
    box = dataclasses.replace(PART_TIME, gears=(3.0,), stall_speed_rpm=2000.0, stall_ratio=2.0)
    axle = dataclasses.replace(BOTH, front=dataclasses.replace(FRONT, torque_rating_n_m=3500.0))
    job = job_of(axle=axle, transmission=box, engine=jobs.Engine(4000.0, torque), rolling=jobs.Rolling(1.0))
    found = answer("axle_torque", "front", job)
    assert (found.value, found.verdict) == (pytest.approx(0.9 * 1100 * 9.80665 * 0.37, abs=0.1), "fail")


def test_a_spare_of_another_size_than_the_front_tires_winds_up():
    job = job_of(job=jobs.About("by hand", spare=True))
    tires = [{}, {"sku": "T2", "overall_diameter_mm": 748.0}]
    found = answer("spare_diameter", "truck", job, tires=tires, rear_tire=1)
    assert (found.value, found.verdict) == (pytest.approx(8.0 / 740.0, abs=1e-6), "fail")


# What it costs: 2 h + 1 h an axle


def lines_of(job, **lists):
    return {(line.what, line.where): (line.cents, line.count) for line in bills(job, chosen_of(job, **lists))[0]}


def test_both_axles_gears_kits_and_labor_are_on_the_bill():
    money = jobs.Money(labor_per_hour_cents=10_000, install_kit_cents=9_000)
    lines = lines_of(job_of(money=money), ratios=[REAR_GEARS, FRONT_GEARS | {"price_cents": 25_000}])
    assert (lines["gear set", "rear"], lines["gear set", "front"]) == ((20_000, 1), (25_000, 1))
    assert (lines["install kit", ""], lines["labor", ""][0]) == ((18_000, 2), 60_000)


def test_the_same_part_at_both_axles_is_one_line():
    own = {"ring_gear": "8.8", "axle": "both"}
    job = job_of(axle=dataclasses.replace(BOTH, front=jobs.AxleBeam(ring_gear="8.8", splines=31)))
    lines = lines_of(job, ratios=[own], differentials=[{"axle": "both"}])
    assert (lines["gear set", ""], lines["differential", ""]) == ((40_000, 2), (60_000, 2))


def test_a_front_axle_that_stays_costs_nothing():
    kept = {"on_truck": "yes"}
    lines = lines_of(
        job_of(money=jobs.Money(install_kit_cents=9_000)),
        ratios=[REAR_GEARS, FRONT_GEARS | kept],
        differentials=[REAR_CARRIER, FRONT_CARRIER | kept],
    )
    assert (("gear set", "front") in lines, lines["install kit", ""]) == (False, (9_000, 1))


# The search against every build

MANY = {
    "ratios": [
        REAR_GEARS,
        REAR_GEARS | {"sku": "R2", "ratio": 3.7, "price_cents": 21_000},
        FRONT_GEARS,
        FRONT_GEARS | {"sku": "F2", "ratio": 3.72, "price_cents": 18_000},
        FRONT_GEARS | {"sku": "F3", "ratio": 4.2},
    ],
    "differentials": [
        REAR_CARRIER,
        REAR_CARRIER | {"sku": "D2", "type": "open", "price_cents": 9_000},
        FRONT_CARRIER,
        FRONT_CARRIER | {"sku": "DF2", "type": "locked", "price_cents": 31_000},
    ],
    "tires": [{}, {"sku": "T2", "overall_diameter_mm": 703.0, "mass_kg": 14.0, "price_cents": 14_000}],
    "wheels": [{}, {"sku": "W2", "mass_kg": 9.0, "price_cents": 12_500}],
}


@pytest.mark.parametrize(
    "targets",
    [
        Targets(),
        Targets(start_grade_ppm=95_000),
        Targets(start_grade_ppm=130_000, rear_load_kg=899.0),
    ],
)
def test_the_search_finds_every_build_that_holds_in_order(targets):
    job = job_of(
        surface=SPLIT,
        targets=targets,
        money=jobs.Money(budget_cents=330_000, install_kit_cents=5_000),
        weights={"cost": 2, "traction": 3, "weight": 1},
    )
    parts = parts_of(job, **MANY)
    ranking = rank(space_of(job, parts), 1000)
    found = []
    for one in ranking.ranked:
        own = parts_of_build(ranking.space, ranking.builds, one.at)
        corners = [Corner(own[axle]["wheel"], own[axle]["tire"]) for axle in ("front", "rear")]
        found.append(
            (
                *corners,
                f"{own['ratio']} + {own['front_ratio']}",
                f"{own['differential']} + {own['front_differential']}",
                one.score,
            )
        )
    corners = [Corner(wheel, tire) for wheel in ("W", "W2") for tire in ("T", "T2")]
    every = itertools.product(corners, corners, parts.ratios["sku"], parts.differentials["sku"])
    holding = {own for own in every if verdict(why(job, parts, Choice(*own)).results) is not Verdict.FAIL}
    assert {own[:4] for own in found} == holding
    assert len(found) == len(holding) > 0
    assert [own[4] for own in found] == sorted((own[4] for own in found), reverse=True)

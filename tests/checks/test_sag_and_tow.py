"""Springs that sag, a truck laid out on air, the scrub line, climbs, top speed and a trailer, by hand."""

import dataclasses
import math

import pytest
from by_hand import HOUSE, MEASURED, build, job_with, parts_with, result_of

from combo import job as jobs
from combo.checks.facts import facts
from combo.job import Axles, Targets, Trailer, Wheelhouses
from combo.search.filter import space_of
from combo.search.topk import rank

G = 9.80665
PRESENT = dataclasses.replace(
    MEASURED,
    front_ground_clearance_mm=300.0,
    rear_ground_clearance_mm=200.0,
)
CARGO = (jobs.LoadItem("cargo", 100.0, 0.0),)
SPRUNG = Axles("8.8", 31, rear=jobs.AxleBeam(spring_rate_n_per_m=50_000.0, track_mm=1600.0))


def job_of(least=150.0, hangs="frame", axle=SPRUNG, present=PRESENT, **tables):
    own = dataclasses.replace(present, rear_lowest_on=hangs)
    return job_with(
        **{
            "present": own,
            "axle": axle,
            "targets": Targets(ground_clearance_mm=least),
            "loads": jobs.Loads(1100.0, 900.0, items=CARGO),
        }
        | tables
    )


def answer(check, where, job, **parts):
    return result_of(job, build(job, **parts), check, where)


def fact_of(name, where, job, **parts):
    return next((fact for fact in facts(job, build(job, **parts))[0] if (fact.id, fact.where) == (name, where)), None)


# Sag: 100 kg over the rear axle on 50 N/mm is 19.61 mm; the tire sinks 20 mm by 1000 / 900 more


def test_a_point_on_the_frame_comes_down_as_the_springs_sag():
    sinks = 20.0 * 1000.0 / 900.0 - 20.0
    assert answer("ground", "rear", job_of()).value == pytest.approx(200.0 - sinks - 100.0 * G / 50.0, abs=0.001)


def test_a_point_on_the_axle_does_not():
    assert answer("ground", "rear", job_of(hangs="axle")).value == pytest.approx(200.0 - 20.0 / 9.0, abs=0.001)


def test_heavier_wheels_are_unsprung_and_sag_nothing():
    heavier = {"wheel": {"mass_kg": 60.0}}  # 100 kg more on the ground, none on the springs
    lighter = answer("ground", "rear", job_of(loads=jobs.Loads(1100.0, 900.0)), rear=heavier).value
    assert lighter == pytest.approx(200.0 - 20.0 / 9.0, abs=0.001)


def test_leveled_air_keeps_the_frame_where_it_is():
    leveled = Axles("8.8", 31, rear=jobs.AxleBeam(spring_rate_n_per_m=math.inf))
    assert answer("ground", "rear", job_of(axle=leveled)).value == pytest.approx(200.0 - 20.0 / 9.0, abs=0.001)


def test_springs_that_are_not_known_leave_a_point_on_the_frame_unverified():
    found = answer("ground", "rear", job_of(axle=Axles("8.8", 31)))
    assert (found.verdict, [need.name for need in found.needs]) == ("unverified", ["spring rate"])
    assert "measure the drop" in found.needs[0].how


def test_the_sag_is_told_with_the_gap_that_is_left():
    job = job_of(wheelhouse=Wheelhouses(HOUSE, dataclasses.replace(HOUSE, hub_to_lip_mm=460.0)))
    assert fact_of("sag", "rear", job).value == pytest.approx(100.0 * G / 50.0)
    assert fact_of("fender_gap_loaded", "rear", job).value == pytest.approx(460.0 - 370.0 - 100.0 * G / 50.0)


def test_the_loaded_rake_has_sag_and_tires_in_it():
    front = jobs.AxleBeam(spring_rate_n_per_m=math.inf)
    told = fact_of("frame_rake_loaded", "truck", job_of(axle=dataclasses.replace(SPRUNG, front=front)))
    down = 20.0 / 9.0 + 100.0 * G / 50.0
    assert told.value == pytest.approx(-math.degrees(math.atan(down / 3000.0)))


@pytest.mark.parametrize(("least", "count"), [(178.16, 1), (178.18, 0)])
def test_the_search_finds_what_the_check_holds(least, count):
    # 200 - 2.222 - 19.613 = 178.165 of clearance
    assert len(rank(space_of(job_of(least=least), parts_with()), 5).builds) == count


@pytest.mark.parametrize(("least", "count"), [(221.0, 1), (222.0, 0)])
def test_a_frame_that_is_relieved_rises(least, count):
    # 100 kg weighed and taken off again: up 19.613 and 2.222
    off = (jobs.LoadItem("crate", 100.0, 0.0, cases=("other",), weighed=True),)
    job = job_of(least=least, loads=jobs.Loads(1100.0, 900.0, items=off, cases=("bare",)))
    assert len(rank(space_of(job, parts_with()), 5).builds) == count


# Laid out on air

LAID = dataclasses.replace(HOUSE, laid_out=jobs.State(90.0))


def laid_out(hangs, house=LAID, least=100.0):
    targets = Targets(laid_out_clearance_mm=least)
    return answer("ground_laid_out", "rear", job_of(hangs=hangs, wheelhouse=Wheelhouses(house, house), targets=targets))


@pytest.mark.parametrize(("hangs", "left"), [("frame", 200.0 - 90.0 - 20.0 / 9.0), ("axle", 200.0 - 20.0 / 9.0)])
def test_laid_out_the_frame_is_down_by_the_travel(hangs, left):
    assert laid_out(hangs).value == pytest.approx(left, abs=0.001)


def test_without_the_travel_a_point_on_the_frame_is_unverified():
    found = laid_out("frame", HOUSE)
    assert (found.verdict, [need.text() for need in found.needs]) == (
        "unverified",
        ["truck, [wheelhouse.rear.laid_out]: travel (how far the axle has come up from ride height)"],
    )


@pytest.mark.parametrize(("least", "count"), [(107.7, 1), (107.8, 0)])
def test_the_search_holds_the_clearance_laid_out(least, count):
    job = job_of(wheelhouse=Wheelhouses(LAID, LAID), targets=Targets(laid_out_clearance_mm=least))
    assert len(rank(space_of(job, parts_with()), 5).builds) == count


# Scrub line: the hub stands at 350, the rim's bottom at 350 - 381 / 2 - 17.5 = 142


def line(kind, hangs="axle", clearance=200.0, aside=math.nan, house=HOUSE, **wheel):
    present = dataclasses.replace(PRESENT, rear_ground_clearance_mm=clearance, rear_lowest_lateral_mm=aside)
    job = job_of(hangs=hangs, present=present, wheelhouse=Wheelhouses(house, house), targets=Targets(scrub_line=kind))
    return answer("scrub_line", "rear", job, rear={"wheel": wheel})


def test_the_level_line_goes_through_both_rims():
    assert line("level").margin == pytest.approx(200.0 - 142.0)


def test_a_larger_rim_lowers_the_line():
    found = line("level", rim_diameter_mm=406.4)
    assert found.margin == pytest.approx(200.0 - (350.0 - 203.2 - 17.5))


@pytest.mark.parametrize(("aside", "height"), [(0.0, 71.0), (400.0, 106.5), (800.0, 142.0)])
def test_the_crossed_line_falls_to_the_opposite_tire(aside, height):
    assert line("cross", aside=aside).margin == pytest.approx(200.0 - height)


def test_laid_out_a_point_on_the_frame_is_under_the_line():
    assert line("level", "frame", house=LAID).margin == pytest.approx(200.0 - 90.0 - 142.0)
    assert line("level", "axle", house=LAID).margin == pytest.approx(58.0)


def test_what_clears_beside_the_wheel_clears_wherever_it_is():
    assert line("cross").verdict == "pass"


def test_a_low_point_of_which_the_place_is_not_known_is_unverified():
    found = line("cross", clearance=120.0)
    assert (found.verdict, [need.name for need in found.needs]) == ("unverified", ["rear lowest lateral"])


# On the road

TORQUE = (jobs.TorquePoint(1000.0, 300.0), jobs.TorquePoint(5000.0, 300.0))
ENGINE = {
    "engine": jobs.Engine(4000.0, TORQUE),
    "rolling": jobs.Rolling(1.0, resistance=0.015),
    "transmission": jobs.Transmission(1.0, (3.0, 1.0), stall_speed_rpm=2000.0, stall_ratio=2.0),
    "truck": jobs.Truck(3000.0, 1400.0, 1500.0, 2800.0, cg_height_mm=750.0, drag_coefficient=0.5, frontal_area_m2=3.0),
}


def test_the_climb_takes_load_off_the_front_axle():
    job = job_with(targets=Targets(pull_grade_ppm=200_000, start_grade_ppm=60_000))
    slope = math.atan(0.2)
    told = fact_of("climb_front_load", "front", job)
    assert told.value == pytest.approx(1100.0 * math.cos(slope) - 2000.0 * 0.25 * math.sin(slope))
    assert told.note.startswith("20 %, ")


def test_the_top_speed_is_told_with_its_gear_and_what_holds_it():
    # 4000 rpm in the direct gear: 4000 / 60 x 2 pi 0.37 / 4 x 3.6 = 139.5 km/h
    told = fact_of("top_speed", "truck", job_with(**ENGINE, targets=Targets(top_speed_km_h=130.0)))
    assert told.value == pytest.approx(4000.0 / 60.0 * 2 * math.pi * 0.37 / 4.0 * 3.6)
    assert ("81 mph wanted are reached" in told.note, "held by redline" in told.note) == (True, True)


def test_a_speed_that_power_does_not_allow_is_told():
    weak = jobs.Engine(4000.0, (jobs.TorquePoint(1000.0, 100.0), jobs.TorquePoint(5000.0, 100.0)))
    told = fact_of("top_speed", "truck", job_with(**ENGINE | {"engine": weak}, targets=Targets(top_speed_km_h=130.0)))
    # 100 x 4 x 0.85 / 0.37 = 918.9 N against 2000 x g x 0.015 + 0.91875 v^2
    v = math.sqrt((100 * 4 * 0.85 / 0.37 - 2000 * G * 0.015) / (0.5 * 1.225 * 0.5 * 3.0)) * 3.6
    assert told.value == pytest.approx(v, abs=0.1)
    assert ("not reached" in told.note, "held by power" in told.note) == (True, True)


# A trailer of 1000 kg, 120 of it on a hitch 1200 behind the rear axle

TOWED = Trailer(1000.0, 120.0, -1200.0, hitch_rating_kg=1100.0)


def test_the_tongue_loads_the_rear_axle_and_lightens_the_front():
    job = job_with(trailer=TOWED)
    assert answer("gawr_rear", "rear", job).value == pytest.approx(900.0 + 120.0 * 4200.0 / 3000.0)
    assert answer("gawr_front", "front", job).value == pytest.approx(1100.0 - 120.0 * 1200.0 / 3000.0)


def test_the_tongue_counts_as_payload():
    job = job_with(trailer=TOWED, truck=jobs.Truck(3000.0, 1400.0, 1500.0, 2800.0, 500.0))
    assert answer("payload", "truck", job).value == 120.0


def test_a_trailer_counts_only_in_its_cases():
    loads = jobs.Loads(1100.0, 900.0, cases=("empty", "towing"))
    job = job_with(
        trailer=dataclasses.replace(TOWED, cases=("towing",)),
        loads=loads,
        truck=dataclasses.replace(ENGINE["truck"], gcwr_kg=3100.0),
        targets=Targets(rear_load_kg=890.0),
    )
    assert answer("gcwr", "truck", job).value == 3000.0
    assert answer("rear_load", "rear", job).value == 900.0


@pytest.mark.parametrize(("rating", "verdict"), [(2999.9, "fail"), (3000.0, "pass"), (math.nan, "unverified")])
def test_truck_and_trailer_stay_within_their_rating(rating, verdict):
    truck = dataclasses.replace(ENGINE["truck"], gcwr_kg=rating)
    assert answer("gcwr", "truck", job_with(trailer=TOWED, truck=truck)).verdict == verdict


@pytest.mark.parametrize(("rating", "verdict"), [(999.9, "fail"), (1000.0, "pass"), (math.nan, "unverified")])
def test_the_hitch_bears_the_trailer(rating, verdict):
    job = job_with(trailer=dataclasses.replace(TOWED, hitch_rating_kg=rating))
    assert answer("hitch", "truck", job).verdict == verdict


def test_without_a_trailer_its_ratings_are_not_asked():
    with pytest.raises(StopIteration):
        answer("hitch", "truck", job_with())


def test_the_engine_pulls_the_trailer_too():
    job = job_with(**ENGINE, trailer=TOWED, targets=Targets(pull_grade_ppm=100_000))
    alone = job_with(**ENGINE, targets=Targets(pull_grade_ppm=100_000))
    assert answer("pull", "truck", alone).value == 2000.0
    # 600 x 3 x 4 x 0.85 / 0.37 N over sin + 0.015 cos of 10 %: 14 700 kg; the grip of 0.7 is less
    found = answer("pull", "truck", job)
    slope = math.atan(0.1)
    rear = (900.0 + 168.0) * math.cos(slope) + 2120.0 * 0.25 * math.sin(slope)
    can = 0.7 * rear / (math.sin(slope) + 0.015 * math.cos(slope))
    assert (found.value, found.limit) == (pytest.approx(3000.0), pytest.approx(can, abs=0.01))


def test_a_start_with_a_trailer_is_less_steep():
    surface = jobs.Surface(0.3, 0.3, rolling_resistance=0.02)
    job = job_with(trailer=TOWED, surface=surface, targets=Targets(start_grade_ppm=10_000))
    # 0.3 (1068 cos + 2120 x 0.25 sin) = 3000 (sin + 0.02 cos)
    tangent = (0.3 * 1068.0 - 3000.0 * 0.02) / (3000.0 - 0.3 * 2120.0 * 0.25)
    assert answer("start_grade", "rear", job).value == pytest.approx(tangent, abs=1e-6)
    assert fact_of("steepest_start", "rear", job).value == pytest.approx(tangent, abs=1e-6)


@pytest.mark.parametrize(("grade", "count"), [(91_000, 1), (92_000, 0)])
def test_the_search_starts_with_the_trailer(grade, count):
    surface = jobs.Surface(0.3, 0.3, rolling_resistance=0.02)
    job = job_with(trailer=TOWED, surface=surface, targets=Targets(start_grade_ppm=grade))
    assert len(rank(space_of(job, parts_with()), 5).builds) == count  # 9.175 % at most


def test_the_tongues_share_is_told():
    assert fact_of("tongue_share", "truck", job_with(trailer=TOWED)).value == pytest.approx(0.12)

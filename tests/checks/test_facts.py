"""What is told of a build beside its checks, by hand."""

import dataclasses
import math

import pytest
from by_hand import MEASURED, build, job_with, result_of

from combo import job as jobs
from combo.checks.facts import facts

STANDING = dataclasses.replace(
    MEASURED,
    frame_rake_deg=0.5,
)
CURVE = (jobs.TorquePoint(1000.0, 300.0), jobs.TorquePoint(5000.0, 300.0))


def told(job, name, where=None, **parts):
    """Values of a fact by id, at a place."""
    every = facts(job, build(job, **parts))[0]
    return [one.value for one in every if one.id == name and where in {None, one.where}]


def passenger(**changes):
    return {"rear": {"tire": {"service": "passenger", "rated_pressure_kpa": 240.0, **changes}}}


def test_the_gap_to_the_fender_is_the_lip_less_half_the_diameter():
    assert told(job_with(), "fender_gap", "front") == [460.0 - 370.0]


def test_a_gap_laid_out_is_told_where_the_lip_is_measured_there():
    house = jobs.Wheelhouse(hub_to_lip_mm=460.0, laid_out=jobs.State(90.0, hub_to_lip_mm=380.0))
    assert told(job_with(wheelhouse=jobs.Wheelhouses(house, house)), "fender_gap", "rear") == [90.0, 10.0]


def test_the_pressure_carries_half_of_the_axle_by_the_relation():
    # 900 kg on the rear axle: 450 kg a tire of 600 kg at 240 kPa, LT: 240 (450 / 600)^(1 / 0.7) is below 240 kPa
    assert told(job_with(), "cold_pressure", "rear", rear={"tire": {"load_rating_kg": 600.0, "load_range": "C"}}) == [
        pytest.approx(max(240.0, 350.0 * (450.0 / 600.0) ** (1.0 / 0.7)))
    ]


def test_a_passenger_tire_on_a_truck_is_told_more_pressure():
    job = job_with(loads=jobs.Loads(1100.0, 1200.0))
    expected = 240.0 * (600.0 / (700.0 / 1.10)) ** (1.0 / 0.8)
    assert told(job, "cold_pressure", "rear", **passenger(load_rating_kg=700.0)) == [pytest.approx(expected)]


def test_no_pressure_is_told_below_where_the_tables_begin():
    assert told(job_with(), "cold_pressure", "rear", **passenger(load_rating_kg=2000.0)) == [180.0]


def test_a_load_beyond_the_rating_is_carried_by_no_pressure():
    assert math.isnan(told(job_with(), "cold_pressure", "rear", **passenger(load_rating_kg=300.0))[0])


def test_no_pressure_is_told_above_the_sidewall():
    job = job_with(loads=jobs.Loads(1100.0, 1200.0))
    tire = passenger(load_rating_kg=700.0, rated_pressure_kpa=None, max_pressure_kpa=200.0)
    assert math.isnan(told(job, "cold_pressure", "rear", **tire)[0])


def test_the_frame_leans_by_the_rise_of_its_rear_hub():
    expected = 0.5 + math.degrees(math.atan2(35.0, 3000.0))  # a tenth more of 350
    rear = {"tire": {"overall_diameter_mm": 814.0}}
    assert told(job_with(present=STANDING), "frame_rake", rear=rear) == [pytest.approx(expected)]


def test_on_the_present_tires_the_frame_leans_as_it_does():
    assert told(job_with(present=STANDING), "frame_rake") == [0.5]


def test_the_speedometer_is_told_with_the_best_driven_gear():
    meter = jobs.Speedometer(4.0, 700.0, driven_teeth=18, driven_listed=(18, 20))
    rear = {"tire": {"revs_per_mile": 700.0}}
    assert told(job_with(speedometer=meter), "speedometer", rear=rear) == [pytest.approx(0.0, abs=1e-12)]


def test_the_next_driven_gear_that_reads_below_true_is_told_beside_it():
    meter = jobs.Speedometer(4.0, 700.0, driven_teeth=18, driven_listed=(18, 20))
    job = job_with(speedometer=meter)
    every = facts(job, build(job, rear={"tire": {"revs_per_mile": 700.0}}))[0]
    (note,) = [one.note for one in every if one.id == "speedometer"]
    assert "18 teeth" in note
    assert "20 teeth read -10.0%" in note  # 18 / 20 - 1


def test_the_acceleration_is_an_estimate_of_all_that_it_needs():
    job = job_with(
        engine=jobs.Engine(5000.0, CURVE),
        transmission=jobs.Transmission(gears=(3.0, 1.5, 1.0)),
        truck=jobs.Truck(3000.0, cg_height_mm=750.0, drag_coefficient=0.5, frontal_area_m2=3.0),
    )
    assert 3.0 < told(job, "time_to_60_mph")[0] < 30.0


def test_what_cannot_be_worked_out_is_not_told():
    assert told(job_with(), "time_to_60_mph") == []


def test_a_start_that_is_told_is_the_one_that_is_judged():
    """With the ground's resistance, the driveshaft's torque, and the worst of two cases."""
    ahead = jobs.LoadItem("engine on a pallet", 600.0, 2500.0, ("hauling",))
    job = job_with(
        loads=jobs.Loads(1100.0, 900.0, cases=("empty", "hauling"), items=(ahead,)),
        surface=jobs.Surface(0.1, 0.5, rolling_resistance=0.02),
        targets=jobs.Targets(start_grade_ppm=1),
        axle=jobs.Axles("8.8", 31, rear=jobs.AxleBeam(True, 1600.0)),
    )
    drive = {"differential": {"type": "limited_slip", "bias_ratio": 3.0, "preload_n_m": 100.0}}
    judged = result_of(job, build(job, drive=drive), "start_grade").value
    assert told(job, "steepest_start", drive=drive)[0] == pytest.approx(judged, abs=1e-6)


@pytest.mark.parametrize("kind", ["open", "locked"])
def test_a_start_on_low_ground_is_never_steeper_than_on_split_ground(kind):
    job = job_with(surface=jobs.Surface(0.1, 0.5))
    split, low = told(job, "steepest_start", drive={"differential": {"type": kind}})
    assert low <= split


@pytest.mark.parametrize(("stock", "told_of"), [(3.0, [3.0]), (4.0, []), (None, [])])
def test_a_wheel_all_round_of_which_there_are_too_few_is_told(stock, told_of):
    wheels = {axle: {"wheel": {"sku": "W", "stock": stock}} for axle in ("front", "rear")}
    assert told(job_with(), "short_stock", **wheels) == told_of


def test_two_wheels_an_axle_are_enough_of_each_of_two():
    wheels = {axle: {"wheel": {"sku": axle, "stock": 2.0}} for axle in ("front", "rear")}
    assert told(job_with(), "short_stock", **wheels) == []

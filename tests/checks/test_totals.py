"""Whole-number totals of a build by hand: load cases, what comes off, what goes on, and where the spare is."""

import math

import pytest
from by_hand import NAN, build, job_with
from hypothesis import given, settings
from hypothesis import strategies as st

from combo import job as jobs
from combo.checks.run import totals
from combo.checks.totals import axle_loads_kg, load_cases

CARGO = jobs.LoadItem("cargo", 300.0, -600.0, ("loaded",))
CASES = jobs.Loads(1100.0, 900.0, cases=("empty", "loaded"), items=(CARGO,))
STATIONS = jobs.BallastPlan(4, (jobs.Station("axle", 0.0), jobs.Station("tail", -600.0)))


def total(name, job, **parts):
    return totals(job, build(job, **parts))[name][0]


def carrying_spare(station_mm, **tables):
    return job_with(job=jobs.About("by hand", spare=True), spare=jobs.Spare(station_mm=station_mm), **tables)


def test_without_cases_the_truck_is_as_weighed():
    assert load_cases(job_with()) == ["as weighed"]


def test_items_name_the_cases_where_the_job_lists_none():
    assert load_cases(job_with(loads=jobs.Loads(items=(CARGO,)))) == ["loaded"]


def test_an_item_weighs_in_its_own_cases_alone():
    assert axle_loads_kg(job_with(loads=CASES)) == {"empty": (1100.0, 900.0), "loaded": (1040.0, 1260.0)}


def test_an_item_without_a_case_weighs_in_all():
    driver = jobs.LoadItem("driver", 90.0, 1500.0)
    loads = jobs.Loads(1100.0, 900.0, cases=("empty", "loaded"), items=(driver,))
    assert axle_loads_kg(job_with(loads=loads)) == {"empty": (1145.0, 945.0), "loaded": (1145.0, 945.0)}


DRIVER = jobs.LoadItem("driver", 90.0, 1500.0, ("loaded",), weighed=True)  # 45 on either axle


def test_what_was_aboard_on_the_scale_is_taken_off_and_counts_in_its_own_cases():
    loads = jobs.Loads(1100.0, 900.0, cases=("empty", "loaded"), items=(DRIVER, CARGO))
    assert axle_loads_kg(job_with(loads=loads)) == {"empty": (1055.0, 855.0), "loaded": (1040.0, 1260.0)}


def test_what_was_aboard_on_the_scale_and_is_in_every_case_changes_nothing():
    loads = jobs.Loads(1100.0, 900.0, items=(jobs.LoadItem("driver", 90.0, 1500.0, weighed=True),))
    assert axle_loads_kg(job_with(loads=loads)) == {"as weighed": (1100.0, 900.0)}


def test_what_was_aboard_on_the_scale_counts_in_the_payload_of_its_cases():
    loads = jobs.Loads(1100.0, 900.0, cases=("empty", "loaded"), items=(DRIVER, CARGO))
    assert total("payload_g", job_with(loads=loads)) == 390_000


def test_an_axles_load_is_what_its_two_wheels_weigh_together():
    pads = jobs.Loads(front_left_kg=540.0, front_right_kg=560.0, rear_left_kg=430.0, rear_right_kg=470.0)
    assert axle_loads_kg(job_with(loads=pads)) == {"as weighed": (1100.0, 900.0)}


def test_an_axles_own_load_comes_before_that_of_its_wheels():
    pads = jobs.Loads(1100.0, 900.0, front_left_kg=1.0, front_right_kg=2.0)
    assert axle_loads_kg(job_with(loads=pads)) == {"as weighed": (1100.0, 900.0)}


def test_one_wheel_that_was_not_weighed_leaves_its_axle_unknown():
    pads = jobs.Loads(front_axle_kg=1100.0, rear_left_kg=430.0)
    front, rear = axle_loads_kg(job_with(loads=pads))["as weighed"]
    assert (front, math.isnan(rear)) == (1100.0, True)


def test_present_spacers_come_off_with_the_present_wheels():
    present = jobs.Present(25.0, 25.0, 20.0, front_spacer_kg=3.0, rear_spacer_kg=4.0)
    job = job_with(present=present)
    assert (total("front_light_g", job), total("rear_light_g", job)) == (1_100_000 - 6_000, 900_000 - 8_000)
    assert total("payload_g", job) == -14_000


def test_new_spacers_as_heavy_as_the_present_ones_change_nothing():
    job = job_with(present=jobs.Present(25.0, 25.0, 20.0, rear_spacer_kg=1.0))
    assert total("rear_light_g", job, rear={"spacer": {"mass_kg": 1.0}}) == 900_000


@pytest.mark.parametrize(("counts", "front"), [((0, 0), 1_100_000), ((0, 3), 1_100_000), ((2, 0), 1_100_000)])
def test_the_front_axle_without_ballast_is_the_same_whatever_is_laid(counts, front):
    assert total("front_unladen_g", job_with(ballast=STATIONS), counts=counts) == front


def test_what_stood_on_the_scale_is_as_weighed_whatever_is_changed():
    job = job_with(loads=CASES, ballast=STATIONS)
    heavier = {"wheel": {"mass_kg": 13.0}}
    assert total("rear_weighed_g", job, rear=heavier, counts=(1, 1)) == 900_000


@pytest.mark.parametrize(
    ("name", "grams"),
    [
        ("front_light_g", 1_040_000),
        ("front_heavy_g", 1_100_000),
        ("rear_light_g", 900_000),
        ("rear_heavy_g", 1_260_000),
        ("truck_light_g", 2_000_000),
        ("truck_heavy_g", 2_300_000),
    ],
)
def test_a_total_is_that_of_its_own_case(name, grams):
    assert total(name, job_with(loads=CASES)) == grams


@pytest.mark.parametrize(
    ("name", "more"),
    [
        ("front_heavy_g", 0),
        ("rear_heavy_g", 2 * 3000),
        ("truck_heavy_g", 2 * 3000),
        ("payload_g", 2 * 3000),
    ],
)
def test_the_present_wheels_come_off_and_the_new_ones_go_on(name, more):
    heavier = {"wheel": {"mass_kg": 13.0}}  # 28 kg a corner where 25 are now
    assert total(name, job_with(), rear=heavier) - total(name, job_with()) == more


def test_present_wheels_that_weigh_less_leave_more_on_the_axle():
    assert total("front_light_g", job_with(present=jobs.Present(20.5, 25.0))) == 1_100_000 - 41_000 + 50_000


def test_a_spare_at_its_station_weighs_on_both_axles():
    job = carrying_spare(-900.0)
    # the present one of 20 kg: 26 off the rear, 6 off the lightened front; the new one of 25 kg: 32.5 and -7.5
    assert total("rear_light_g", job) == 900_000 - 26_000 + 32_500
    assert total("front_light_g", job) == 1_100_000 + 6_000 - 7_500


def test_a_spare_weighs_on_the_truck_and_on_the_payload():
    job = carrying_spare(-900.0)
    assert (total("truck_light_g", job), total("payload_g", job)) == (2_005_000, 5_000)


def test_a_spare_is_a_rear_wheel_and_tire_without_a_spacer():
    rear = {"wheel": {"mass_kg": 14.0}, "spacer": {"mass_kg": 1.0}}
    assert total("truck_light_g", carrying_spare(-900.0), rear=rear) == 2_000_000 + 2 * 5_000 + 9_000


def test_a_spare_without_a_station_is_left_where_it_was_weighed():
    assert total("truck_light_g", carrying_spare(NAN)) == 2_000_000


def test_a_present_spare_without_a_mass_leaves_both_axles_unknown():
    job = carrying_spare(-900.0, present=jobs.Present(25.0, 25.0, NAN))
    assert math.isnan(total("front_light_g", job) + total("rear_light_g", job))


def test_ballast_is_counted_at_its_stations():
    job = job_with(ballast=STATIONS)
    assert total("rear_light_g", job, counts=(2, 1)) == 900_000 + 60_000 + 36_000
    assert total("front_light_g", job, counts=(2, 1)) == 1_100_000 - 6_000


def test_a_gram_is_rounded_half_up():
    odd = {"wheel": {"mass_kg": 10.0005}}
    assert total("front_light_g", job_with(), front=odd) == 1_100_000 + 2


def test_capacities_are_those_of_an_axle():
    assert (total("front_tires_g", job_with()), total("rear_wheels_g", job_with())) == (1_600_000, 1_400_000)


def test_rake_is_rear_less_front_in_micrometers():
    assert total("rake_um", job_with(), rear={"tire": {"overall_diameter_mm": 765.4}}) == 25_400


def test_a_budget_of_nothing_is_known():
    assert total("budget_cents", job_with(money=jobs.Money(budget_cents=0))) == 0.0


def test_a_budget_that_is_not_given_is_not_known():
    assert math.isnan(total("budget_cents", job_with()))


@settings(max_examples=25, deadline=None)
@given(counts=st.tuples(st.integers(0, 4), st.integers(0, 4)), station=st.floats(-1500.0, 3000.0))
def test_front_and_rear_add_up_to_the_truck(counts, station):
    job = carrying_spare(station, ballast=STATIONS, loads=CASES)
    sums = {name: own[0] for name, own in totals(job, build(job, counts=counts)).items()}
    assert sums["front_heavy_g"] + sums["rear_light_g"] == sums["truck_light_g"]  # both of the empty truck

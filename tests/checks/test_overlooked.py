"""What is easily overlooked: chains, the spare in front, wheel weights, pressure, torque, offset, one side."""

import dataclasses
import math

import pytest
from by_hand import build, job_with, result_of

from combo import job as jobs
from combo.checks.facts import facts
from combo.job import Axles, Chains, Targets, Wheelhouses

INCH = 25.4


def answer(check, where, job=None, **parts):
    own = job or job_with()
    return result_of(own, build(own, **parts), check, where)


def fact_of(name, where, job, **parts):
    return next((fact for fact in facts(job, build(job, **parts))[0] if (fact.id, fact.where) == (name, where)), None)


# Tire chains: class S asks 1.46 in over the tread and 0.59 in at the sidewall

NO_CHAINS, CHAINED = Chains(), Chains(front="S", rear="S")
STATES = {"full_bump": jobs.State(60.0), "laid_out": jobs.State(80.0)}


def room(check, chains=NO_CHAINS, states=None, **job):
    house = jobs.Wheelhouse(200.0, 190.0, 430.0, 460.0, 450.0, 450.0, 500.0, 500.0, 400.0, **states or {})
    return answer(check, "front", job_with(wheelhouse=Wheelhouses(house, house), chains=chains, **job)).margin


@pytest.mark.parametrize(
    ("check", "ordinary", "chained"),
    [
        ("inner_sidewall", 12.7, 0.59 * INCH),
        ("outer_sidewall", 12.7, 0.59 * INCH),
        ("wheelhouse_width", 25.4, 2 * 0.59 * INCH),
        ("fender_top", 25.4, 1.46 * INCH),
        ("opening", 12.7, 1.46 * INCH),
    ],
)
def test_the_chains_room_takes_the_place_of_a_smaller_clearance(check, ordinary, chained):
    assert room(check) - room(check, CHAINED) == pytest.approx(chained - ordinary, abs=0.002)


def test_steered_chains_keep_off_what_is_ahead_and_off_the_frame():
    tight = {"steering": jobs.Steering(0.001, 90.0)}  # straight ahead: 500 - 370 ahead, 400 - (90 + 120 - 90)
    assert room("steer_sweep", CHAINED, **tight) == pytest.approx(500.0 - 370.0 - 1.46 * INCH, abs=0.01)


def test_the_chains_room_is_never_added_to_a_larger_clearance():
    assert room("fender_top", Chains(front_tread_mm=20.0)) == room("fender_top")


def test_two_lengths_come_before_the_class():
    by_length = Chains(front="W", front_sidewall_mm=20.0)
    assert room("inner_sidewall") - room("inner_sidewall", by_length) == pytest.approx(20.0 - 12.7)


def test_laid_out_on_air_needs_no_room_for_chains():
    at_rest = {"laid_out": jobs.State(80.0)}
    assert room("fender_top", CHAINED, at_rest) == room("fender_top", states=at_rest)


def test_at_full_bump_chains_count_though_laid_out_does_not():
    assert room("inner_sidewall", CHAINED, STATES) == pytest.approx(200.0 - 120.0 - 0.59 * INCH, abs=0.001)


def test_the_rim_itself_wears_no_chain():
    assert room("backspace_limit", CHAINED) == room("backspace_limit")


def test_chains_at_the_other_axle_change_nothing():
    assert room("inner_sidewall", Chains(rear="W")) == room("inner_sidewall")


# The spare is a rear wheel, and must go on in front

WITH_SPARE = job_with(job=jobs.About("by hand", spare=True))


def test_a_spare_like_the_front_wheels_goes_on_in_front():
    assert answer("spare_bolts", "truck", WITH_SPARE).verdict == "pass"
    assert answer("spare_front", "truck", WITH_SPARE).margin == pytest.approx(1.825)  # 30 to 25 + 3.175 at the caliper


@pytest.mark.parametrize("rear", [{"bolt_circle_lugs": 6}, {"bolt_circle_mm": 120.65}, {"hub_bore_mm": 71.4}])
def test_a_spare_of_another_circle_or_a_smaller_bore_does_not(rear):
    assert answer("spare_bolts", "truck", WITH_SPARE, rear={"wheel": rear}).verdict == "fail"


def test_a_spare_of_which_the_bore_is_not_known_is_unverified():
    found = answer("spare_bolts", "truck", WITH_SPARE, rear={"wheel": {"hub_bore_mm": None}})
    assert (found.verdict, [need.name for need in found.needs]) == ("unverified", ["hub bore"])


@pytest.mark.parametrize(
    ("rear", "left"),
    [
        ({"barrel_diameter_mm": 322.0}, 322.0 - 320.0 - 2 * 3.175),
        ({"spoke_clearance_mm": 20.0}, 20.0 - 28.175),
        ({"pad_mm": 30.0}, 40.0 - 12.7 - 30.0),
    ],
)
def test_a_spare_keeps_off_the_front_brake_and_leaves_thread(rear, left):
    assert answer("spare_front", "truck", WITH_SPARE, rear={"wheel": rear}).margin == pytest.approx(left)


def test_a_spacer_that_stays_in_front_takes_thread_and_moves_the_spokes_out():
    found = answer("spare_front", "truck", WITH_SPARE, front={"spacer": {}})  # 40 - 20 - 12.7 - 12
    assert found.margin == pytest.approx(-4.7)


def test_a_front_brake_that_is_not_measured_is_told():
    job = dataclasses.replace(WITH_SPARE, brakes=jobs.Brakes(jobs.Brake(math.nan, 25.0), jobs.Brake(320.0, 25.0)))
    found = answer("spare_front", "truck", job)
    assert (found.verdict, found.needs[0].of) == ("unverified", "truck, [brakes.front]")


def test_without_a_spare_nothing_is_asked():
    with pytest.raises(StopIteration):
        answer("spare_bolts", "truck")


# Wheel weights and valve stems


def test_weights_inside_the_barrel_take_their_thickness_twice():
    brakes = jobs.Brakes(jobs.Brake(320.0, 25.0), jobs.Brake(320.0, 25.0), weight_thickness_mm=5.0)
    assert answer("wheel_weights", "rear", job_with(brakes=brakes)).margin == pytest.approx(340 - 10 - 320 - 6.35)


FIRM = {"rated_pressure_kpa": 550.0, "max_pressure_kpa": 550.0}


def test_a_rubber_stem_is_warned_of_above_65_psi():
    job = job_with(loads=jobs.Loads(1100.0, 1500.0))  # 750 kg on 800 at 550 kPa: 550 (750 / 800)^(1 / 0.7)
    told = fact_of("valve_stem", "rear", job, rear={"tire": FIRM})
    assert told.value == pytest.approx(550.0 * (750.0 / 800.0) ** (1 / 0.7))
    assert fact_of("valve_stem", "front", job, front={"tire": FIRM}) is None  # 550 kg: 322 kPa


# What the wheel's pressure lets the tire carry


@pytest.mark.parametrize(("most", "carries"), [(550.0, 800.0), (400.0, 640.14), (240.0, 447.70), (239.0, 0.0)])
def test_the_tire_carries_at_the_wheels_pressure(most, carries):
    rear = {"wheel": {"max_pressure_kpa": most}, "tire": FIRM}
    # 800 (400 / 550)^0.7 = 640.14; a light truck tire has nothing below 240 kPa
    assert answer("wheel_pressure", "rear", rear=rear).limit == pytest.approx(carries, abs=0.01)


def test_a_wheel_without_a_listed_pressure_is_unverified():
    found = answer("wheel_pressure", "rear", rear={"tire": FIRM})
    assert (found.verdict, [need.name for need in found.needs]) == ("unverified", ["max pressure"])


def test_a_wheel_for_less_than_the_tires_pressure_is_told_with_both():
    told = fact_of("inflation_limit", "rear", job_with(), rear={"wheel": {"max_pressure_kpa": 400.0}, "tire": FIRM})
    assert (told.value, "550 kPa" in told.note) == (400.0, True)


def test_a_wheel_for_the_tires_pressure_needs_no_warning():
    rear = {"wheel": {"max_pressure_kpa": 550.0}, "tire": FIRM}
    assert fact_of("inflation_limit", "rear", job_with(), rear=rear) is None


# Torque at the ring gear: 400 N m x 2 at stall, 3.0 in first, axle 4.0

TORQUE = (jobs.TorquePoint(1000.0, 400.0), jobs.TorquePoint(3000.0, 400.0))
BOX = jobs.Transmission(gears=(3.0, 1.0), stall_speed_rpm=2000.0, stall_ratio=2.0)


def rated(rating, **box):
    return job_with(
        engine=jobs.Engine(5000.0, TORQUE),
        transmission=dataclasses.replace(BOX, **box),
        rolling=jobs.Rolling(1.0),
        axle=Axles("8.8", 31, rear=jobs.AxleBeam(torque_rating_n_m=rating)),
    )


def test_the_lesser_of_stall_and_grip_turns_the_ring_gear():
    # by stall 9600; by grip 0.9 x (900 + 2 x (25 - 25)) x 9.80665 x 0.37 / (1 - 0.9 x 0.25) = 3792.3
    found = answer("axle_torque", "rear", rated(4000.0))
    assert (found.value, found.margin) == (pytest.approx(3792.3, abs=0.1), pytest.approx(207.7, abs=0.1))


def test_low_range_multiplies_the_stall():
    told = fact_of("axle_torque", "rear", rated(4000.0, gears=(1.0,)))
    low = fact_of("axle_torque", "rear", rated(4000.0, gears=(1.0,), low_range=1.1))
    assert (told.value, low.value) == (3200.0, pytest.approx(3520.0))


def test_stall_within_the_rating_holds_whatever_the_grip():
    job = dataclasses.replace(rated(9600.0), truck=jobs.Truck(3000.0, 1400.0, 1500.0, 2800.0))
    assert answer("axle_torque", "rear", job).margin == 0.0


def test_without_the_engine_a_grip_within_the_rating_holds():
    job = dataclasses.replace(rated(4000.0), engine=jobs.Engine())
    assert answer("axle_torque", "rear", job).verdict == "pass"


def test_without_the_engine_a_grip_beyond_the_rating_is_unverified():
    job = dataclasses.replace(rated(3000.0), engine=jobs.Engine())
    assert answer("axle_torque", "rear", job).verdict == "unverified"


# What offset does: present ET 10, new ET 0

OFFSET = jobs.Present(
    25.0, 25.0, 20.0, front_offset_mm=10.0, rear_offset_mm=10.0, front_hub_height_mm=350.0, front_tire_diameter_mm=740.0
)
TRACKED = Axles("8.8", 31, jobs.AxleBeam(track_mm=1600.0), jobs.AxleBeam(track_mm=1550.0))


def test_less_offset_widens_the_track_on_both_sides():
    job = job_with(present=OFFSET, axle=TRACKED, targets=Targets(front_track_max_mm=1615.0))
    assert answer("track", "front", job).margin == pytest.approx(1615.0 - 1620.0)
    assert fact_of("track", "rear", job).value == 1570.0


def test_an_axle_without_a_limit_of_its_own_is_not_held_to_one():
    job = job_with(present=OFFSET, axle=TRACKED, targets=Targets(front_track_max_mm=1615.0))
    assert answer("track", "rear", job).verdict == "pass"


def test_the_load_line_moves_out_with_the_offset():
    job = job_with(present=OFFSET, targets=Targets(load_line_max_mm=12.0))
    assert answer("load_line", "rear", job).margin == pytest.approx(2.0)
    assert fact_of("load_line", "rear", job).value == 10.0


def test_the_scrub_radius_follows_offset_and_height():
    # axis 90 in; 90 - 0 - 350 x (777 / 740) x tan 8
    job = job_with(present=OFFSET, steering=jobs.Steering(30.0, 90.0, 8.0), targets=Targets(scrub_max_mm=40.0))
    told = fact_of("scrub_radius", "front", job, front={"tire": {"overall_diameter_mm": 777.0}})
    assert told.value == pytest.approx(90.0 - 350.0 * 1.05 * math.tan(math.radians(8.0)))
    found = answer("scrub", "front", job, front={"tire": {"overall_diameter_mm": 777.0}})
    assert found.margin == pytest.approx(40.0 - told.value, abs=0.001)


def test_a_scrub_radius_without_the_inclination_is_unverified():
    job = job_with(present=OFFSET, targets=Targets(scrub_max_mm=40.0))
    found = answer("scrub", "front", job)
    assert (found.verdict, [need.name for need in found.needs]) == ("unverified", ["kingpin inclination"])


# Side to side: 900 kg at the rear, 450 a wheel


def loaded(axle=TRACKED, **loads):
    return job_with(axle=axle, loads=jobs.Loads(**{"front_axle_kg": 1100.0, "rear_axle_kg": 900.0} | loads))


def tool_box(mass=160.0, lateral=775.0, **more):
    return jobs.LoadItem("tool box", mass, 0.0, lateral_mm=lateral, **more)


def wheel_load(job, where="rear"):
    return answer("tire_load", where, job).value


def test_what_lies_in_the_middle_loads_both_wheels_alike():
    assert wheel_load(loaded(items=(tool_box(lateral=0.0),))) == (900.0 + 160.0) / 2


@pytest.mark.parametrize("lateral", [775.0, -775.0])
def test_what_lies_to_one_side_loads_that_wheel_by_its_moment_over_the_track(lateral):
    # 160 x 775 / 1550 = 80 more than half
    assert wheel_load(loaded(items=(tool_box(lateral=lateral),))) == (900.0 + 160.0) / 2 + 80.0


def test_the_whole_side_moment_counts_at_each_axle():
    assert wheel_load(loaded(items=(tool_box(),)), "front") == pytest.approx(550.0 + 160.0 * 775.0 / 1600.0)


def test_a_share_of_the_roll_stiffness_bears_its_share_of_the_moment():
    stiff = Axles("8.8", 31, TRACKED.front, jobs.AxleBeam(track_mm=1550.0, roll_share_ppm=400_000))
    assert wheel_load(loaded(stiff, items=(tool_box(),))) == pytest.approx(530.0 + 0.4 * 80.0)


def test_what_balances_one_another_leaves_half_the_axle():
    other = tool_box(lateral=-775.0)
    assert wheel_load(loaded(items=(tool_box(), other))) == (900.0 + 320.0) / 2


def test_what_was_aboard_on_the_scale_is_weighed_but_not_for_its_side():
    # weighed with the box, whose case does not carry it: 160 less, and 80 less at its wheel
    job = loaded(items=(tool_box(cases=("other",), weighed=True),), cases=("bare", "other"))
    assert wheel_load(job) == 450.0


def test_four_pads_tell_the_heavier_wheel():
    job = loaded(rear_axle_kg=math.nan, rear_left_kg=430.0, rear_right_kg=470.0)
    assert wheel_load(job) == 470.0


def test_pads_and_items_add_up_by_side():
    pads = {"rear_axle_kg": math.nan, "rear_left_kg": 430.0, "rear_right_kg": 470.0}
    assert wheel_load(loaded(items=(tool_box(lateral=-775.0),), **pads)) == 530.0 + 60.0  # 20 right, 80 left


@pytest.mark.parametrize("cases", [("empty", "loaded"), ("loaded", "empty")])
def test_without_the_track_a_side_load_in_one_case_leaves_the_heavier_wheel_unverified(cases):
    """The case that carries nothing aside is known, but the other may be the worse one."""
    untracked = Axles("8.8", 31, TRACKED.front, jobs.AxleBeam())
    job = loaded(untracked, items=(tool_box(cases=("loaded",)),), cases=cases)
    found = answer("tire_load", "rear", job)
    assert (found.verdict, [need.name for need in found.needs]) == ("unverified", ["track"])


def test_the_axle_itself_bears_no_more_for_a_side_load():
    assert answer("gawr_rear", "rear", loaded(items=(tool_box(),))).value == 1060.0

"""What a check that is unverified tells to find out: whose it is, what, and how it is measured."""

import dataclasses
import math

import pytest
from by_hand import HOUSE, HUB, build, job_with, result_of

from combo import job as jobs
from combo.checks import CHECKS
from combo.checks.check import Verdict
from combo.checks.needs import truck_needs
from combo.checks.run import results

NAN = math.nan
BED = jobs.BallastPlan(4, (jobs.Station("bed", 0.0), jobs.Station("tail", -600.0)))


def told(check, where=None, job=None, **parts):
    job = job or job_with()
    return [need.text() for need in result_of(job, build(job, **parts), check, where).needs]


def front(**part):
    return {"front": part}


@pytest.mark.parametrize(
    ("check", "parts", "text"),
    [
        (
            "brake_barrel",
            {"wheel": {"barrel_diameter_mm": None}},
            "wheel W: barrel diameter (inside barrel diameter at the drop center, or ask the supplier)",
        ),
        (
            "studs",
            {"wheel": {"pad_mm": None}},
            "wheel W: pad (thickness of the wheel where a lug nut seats, or ask the supplier)",
        ),
        (
            "hub_bore",
            {"wheel": {"hub_bore_mm": None}},
            "wheel W: hub bore (caliper across the bore at the mounting face, or ask the supplier)",
        ),
        (
            "inner_sidewall",
            {"tire": {"section_width_mm": None}},
            "tire T: section width (supplier's data sheet: section width on the measuring rim)",
        ),
        (
            "fender_top",
            {"tire": {"overall_diameter_mm": None}},
            "tire T: overall diameter (supplier's data sheet: overall diameter, new)",
        ),
        (
            "gawr_front",
            {"tire": {"mass_kg": None}},
            "tire T: mass (weigh one, or ask the supplier for its shipping weight)",
        ),
        ("tire_load", {"tire": {"service": ""}}, "tire T: service (on the sidewall: P or LT)"),
        (
            "wheel_load",
            {"wheel": {"load_rating_kg": None}},
            "wheel W: load rating (cast or stamped inside the wheel, or ask the supplier)",
        ),
        ("construction", {"tire": {"construction": ""}}, "tire T: construction (on the sidewall: R or D in the size)"),
    ],
)
def test_a_part_without_a_size_is_named_with_how_to_measure_it(check, parts, text):
    assert told(check, front=parts) == [text]


@pytest.mark.parametrize(
    ("check", "tables", "text"),
    [
        (
            "brake_barrel",
            {"brakes": jobs.Brakes(jobs.Brake(NAN, 25.0))},
            "truck, [brakes.front]: envelope diameter (largest circle that the "
            "brake fills, twice the radius from the hub "
            "center over the caliper or drum)",
        ),
        (
            "inner_sidewall",
            {"wheelhouse": jobs.Wheelhouses(dataclasses.replace(HOUSE, room_inner_mm=NAN), HOUSE)},
            "truck, [wheelhouse.front]: room inner (straight edge on the hub's "
            "face, tape inboard to the inner plumb line)",
        ),
        (
            "studs",
            {"hub": jobs.Hubs(dataclasses.replace(HUB, stud_length_mm=NAN), HUB)},
            "truck, [hub.front]: stud length (stud from the hub's mounting face, "
            "drum or rotor on and clamped, to the end of "
            "its full thread)",
        ),
        (
            "hub_bore",
            {"hub": jobs.Hubs(dataclasses.replace(HUB, pilot_mm=NAN), HUB)},
            "truck, [hub.front]: pilot (caliper over the hub's pilot, where the wheel's bore sits)",
        ),
        (
            "steer_sweep",
            {"steering": jobs.Steering(NAN, 90.0)},
            "truck, [steering]: lock (turn plates or chalk lines: angle of the front wheel at full lock)",
        ),
        (
            "steer_sweep",
            {"steering": jobs.Steering(30.0)},
            "truck, [steering]: axis offset (straight edge on the hub's face, tape "
            "inboard to the kingpin or ball joint "
            "line)",
        ),
        (
            "gawr_front",
            {"loads": jobs.Loads(NAN, 900.0)},
            "truck, [loads]: front axle (drive the front axle onto a scale)",
        ),
        (
            "gawr_front",
            {"truck": jobs.Truck(3000.0)},
            "truck, [truck]: gawr front (front axle's rating, on the certification label or from the axle maker)",
        ),
        ("carrier", {"axle": jobs.Axles("8.8")}, "truck, [axle]: splines (count the splines of an axle shaft)"),
        (
            "start_grade",
            {
                "targets": jobs.Targets(start_grade_ppm=10_000),
                "surface": jobs.Surface(0.1, 0.5),
                "truck": jobs.Truck(3000.0),
            },
            "truck, [truck]: cg height (height of the center of gravity; the camshaft's height is a first guess)",
        ),
    ],
)
def test_a_measurement_of_the_truck_is_named_with_its_table(check, tables, text):
    assert told(check, job=job_with(**tables)) == [text]


def test_the_hub_height_is_that_of_the_axle_which_is_checked():
    present = dataclasses.replace(job_with().present, rear_ground_clearance_mm=200.0)
    job = job_with(present=present, targets=jobs.Targets(ground_clearance_mm=180.0))
    assert told("ground", "rear", job) == [
        "truck, [present]: rear hub height (rear hub center to the ground, on the present tires)"
    ]


def test_a_travel_that_a_panhard_bar_asks_is_named_with_its_state():
    house = dataclasses.replace(HOUSE, full_bump=jobs.State())
    job = job_with(panhard=jobs.Panhard(front_length_mm=800.0), wheelhouse=jobs.Wheelhouses(house, HOUSE))
    assert told("inner_sidewall", "front", job) == [
        "truck, [wheelhouse.front.full_bump]: travel (how far the axle has come up from ride height)"
    ]


def test_ties_are_asked_at_the_stations_that_hold_something():
    assert told("tie_down", job=job_with(ballast=BED), counts=(0, 1)) == [
        'truck, [[ballast.stations]] "tail": ties (count the tie-downs that hold this ballast)',
        'truck, [[ballast.stations]] "tail": tie working load (working load limit on a tie\'s tag, or by '
        "49 CFR 393.108)",
    ]


def test_a_footprint_is_asked_of_the_item_that_lies_there():
    bed = jobs.BallastPlan(4, (jobs.Station("bed", 0.0, NAN, 1200.0, 800.0),))
    ballast = ({"sku": "A", "width_mm": None}, {"sku": "B", "width_mm": None})
    assert told("ballast_space", job=job_with(ballast=bed), counts=(0, 1), ballast=ballast) == [
        "ballast B: width (footprint of one item, the short way)"
    ]


def test_a_pair_names_the_tires_of_both_axles():
    rear = {"tire": {"sku": "U", "construction": ""}}
    assert told("construction", front={"tire": {"construction": ""}}, rear=rear) == [
        "tire T: construction (on the sidewall: R or D in the size)",
        "tire U: construction (on the sidewall: R or D in the size)",
    ]


def test_everything_that_is_missing_is_told_at_once():
    job = job_with(brakes=jobs.Brakes())
    told_ = told("brake_barrel", "front", job, front={"wheel": {"barrel_diameter_mm": None}})
    assert [text.partition(" (")[0] for text in told_] == [
        "wheel W: barrel diameter",
        "truck, [brakes.front]: envelope diameter",
    ]


def test_what_holds_needs_nothing():
    assert told("inner_sidewall", "front") == []


def test_what_fails_needs_nothing_though_a_size_is_missing():
    house = jobs.Wheelhouses(dataclasses.replace(HOUSE, opening_ahead_mm=300.0, opening_behind_mm=NAN), HOUSE)
    job = job_with(wheelhouse=house)
    result = result_of(job, build(job), "opening", "front")
    assert (result.verdict, result.needs) == (Verdict.FAIL, ())


BARE = jobs.Job(
    jobs.About("bare", spare=True), jobs.Truck(3000.0), jobs.Hubs(jobs.Hub(HUB.bolt_circle), jobs.Hub(HUB.bolt_circle))
)
WISHES = jobs.Targets(
    ground_clearance_mm=180.0,
    fender_gap_min_mm=20.0,
    rake_max_mm=30.0,
    frame_rake_min_deg=0.0,
    top_speed_km_h=120.0,
    cover="tread",
    rear_load_kg=900.0,
    start_grade_ppm=10_000,
    pull_grade_ppm=10_000,
    speedometer_error_ppm=10_000,
    same_style=True,
    same_line=True,
    winter=True,
)
NOTHING = {
    "wheel": dict.fromkeys(
        ("hub_bore_mm", "barrel_diameter_mm", "spoke_clearance_mm", "pad_mm", "load_rating_kg", "mass_kg", "style")
    ),
    "tire": dict.fromkeys(
        (
            "section_width_mm",
            "overall_diameter_mm",
            "rim_width_min_mm",
            "load_rating_kg",
            "service",
            "construction",
            "speed_symbol",
            "tread_width_mm",
            "static_loaded_radius_mm",
            "mass_kg",
            "line",
            "winter",
        )
    ),
}


def bare_results():
    job = dataclasses.replace(BARE, targets=WISHES)
    drive = {"ratio": {"ring_gear": ""}, "differential": dict.fromkeys(("ratio_min", "ring_gear", "splines"))}
    return results(job, build(job, front=NOTHING, rear=NOTHING, drive=drive))[0]


def test_a_wish_is_never_something_to_measure():
    told_ = {need.text() for result in bare_results() for need in result.needs}
    assert {text for text in told_ if "targets" in text} == set()


def test_every_check_that_is_unverified_tells_what_it_needs():
    assert [
        result.check.id for result in bare_results() if result.verdict is Verdict.UNVERIFIED and not result.needs
    ] == []


def test_all_that_is_to_be_found_out_says_how():
    told_ = {need.text(): need.how for result in bare_results() for need in result.needs}
    assert {text for text, how in told_.items() if not how} == set()


@pytest.mark.parametrize("parts", [("front", "rear"), ("rear",)])
def test_a_part_on_both_axles_is_told_once(parts):
    build_parts = {axle: {"wheel": {"style": ""}} for axle in parts}
    assert told("same_style", job=job_with(targets=jobs.Targets(same_style=True)), **build_parts) == [
        "wheel W: style (ask the supplier for the name of the style)"
    ]


def test_no_check_tells_a_thing_twice():
    texts = {(result.check.id, result.where): [need.text() for need in result.needs] for result in bare_results()}
    assert {key for key, several in texts.items() if len(several) != len(set(several))} == set()


def test_every_check_that_waits_for_a_size_tells_it():
    job = job_with()
    found = results(job, build(job, front={"tire": {"overall_diameter_mm": None}}))[0]
    text = "tire T: overall diameter (supplier's data sheet: overall diameter, new)"
    waiting = [result.check.id for result in found if text in [need.text() for need in result.needs]]
    assert waiting == ["fender_top", "opening", "steer_sweep"]


def test_a_plain_spacer_has_no_studs_of_its_own_to_measure():
    assert told("studs", "front", front={"spacer": {}, "wheel": {"pad_mm": None}}) == [
        "wheel W: pad (thickness of the wheel where a lug nut seats, or ask the supplier)"
    ]


def test_a_cruise_point_with_a_gear_of_its_own_asks_for_no_other():
    hill = jobs.CruisePoint("hill", 100.0, 1.0, 1000.0, 3000.0)
    rear = {"tire": {"overall_diameter_mm": None}}
    assert told("cruise_rpm", job=job_with(targets=jobs.Targets(cruise=(hill,))), rear=rear) == [
        "tire T: overall diameter (supplier's data sheet: overall diameter, new)"
    ]


def test_an_engine_speed_outside_the_torque_curve_asks_for_torque():
    fast = jobs.CruisePoint("fast", 100.0, 9.0, 0.0, 99_000.0, hold_grade_ppm=10_000)
    engine = jobs.Engine(torque=(jobs.TorquePoint(1000.0, 260.0), jobs.TorquePoint(3000.0, 340.0)))
    truck = dataclasses.replace(job_with().truck, drag_coefficient=0.5, frontal_area_m2=3.0)
    box, targets = jobs.Transmission(1.0), jobs.Targets(cruise=(fast,))
    job = job_with(engine=engine, truck=truck, transmission=box, targets=targets)
    assert ["torque" in text for text in told("hold_gear", job=job)] == [True]


def test_a_travel_beyond_the_length_of_the_panhard_bar_is_asked_again():
    house = dataclasses.replace(HOUSE, full_bump=jobs.State(travel_mm=120.0))
    job = job_with(panhard=jobs.Panhard(front_length_mm=100.0), wheelhouse=jobs.Wheelhouses(house, HOUSE))
    assert ["travel" in text for text in told("inner_sidewall", "front", job)] == [True]


def lacks(check, where=None, job=None, **parts):
    """What is told, without how it is measured."""
    return [text.partition(" (")[0] for text in told(check, where, job, **parts)]


BOLTED = {"thickness_mm": 50.0, "hub_bore_mm": 71.5, "stud_length_mm": 30.0, "stud_diameter_mm": 14.0}


def test_an_adapter_without_a_pad_is_named():
    assert lacks("stud_end", "front", front={"spacer": BOLTED}) == ["spacer S: pad"]


def test_an_inner_nut_that_is_estimated_is_nothing_to_measure():
    spacer = BOLTED | {"pad_mm": 15.0}
    assert lacks("stud_end", "front", front={"spacer": spacer}) == []


def test_a_wheel_without_a_known_nut_is_named():
    assert lacks("nut_depth", "front") == ["wheel W: lug nut"]


@pytest.mark.parametrize(
    ("nut", "text"),
    [
        ({"type": ""}, "nut N: type"),
        ({"type": "closed", "thread_depth_mm": None}, "nut N: thread depth"),
    ],
)
def test_of_a_nut_that_is_known_only_what_is_blank_is_asked(nut, text):
    assert lacks("nut_depth", "front", front={"wheel": {"lug_nut": "N"}}, nuts=[nut]) == [text]


def test_a_closed_nut_asks_for_the_wheels_pad():
    front = {"wheel": {"lug_nut": "N", "pad_mm": None}}
    assert lacks("nut_depth", "front", front=front, nuts=[{"type": "closed"}]) == ["wheel W: pad"]


def test_a_small_bore_over_a_spacer_asks_how_far_the_pilot_stands_out():
    front = {"wheel": {"hub_bore_mm": 70.0}, "spacer": {"hub_bore_mm": 71.5}}
    assert lacks("hub_bore", "front", front=front) == ["truck, [hub.front]: pilot length"]


def test_a_spacers_bore_is_asked():
    hub = dataclasses.replace(HUB, pilot_length_mm=10.0)
    job = job_with(hub=jobs.Hubs(hub, hub))
    assert lacks("hub_bore", "front", job, front={"spacer": {}}) == ["spacer S: hub bore"]


STARTS = {"targets": jobs.Targets(start_grade_ppm=10_000), "surface": jobs.Surface(0.1)}


@pytest.mark.parametrize("kind", ["open", "locked"])
def test_a_start_on_an_axle_that_is_not_live_asks_neither_track_nor_bias_ratio(kind):
    drive = {"differential": {"type": kind}}
    assert lacks("start_grade", job=job_with(**STARTS), drive=drive) == ["truck, [surface]: friction high"]


def test_a_start_on_a_live_axle_asks_for_its_track():
    axle = jobs.Axles("8.8", 31, rear=jobs.AxleBeam(True))
    job = job_with(**STARTS | {"surface": jobs.Surface(0.1, 0.5), "axle": axle})
    assert lacks("start_grade", job=job, drive={"differential": {"type": "open"}}) == ["truck, [axle.rear]: track"]


def test_pull_asks_for_what_converter_or_clutch_give():
    engine = jobs.Engine(torque=(jobs.TorquePoint(1000.0, 260.0), jobs.TorquePoint(3000.0, 340.0)))
    job = job_with(
        targets=jobs.Targets(pull_grade_ppm=100_000), engine=engine, transmission=jobs.Transmission(1.0, (3.0, 1.0))
    )
    asked = {text.partition(": ")[2] for text in lacks("pull", job=job)}
    assert asked == {"stall speed", "stall ratio", "clutch rating", "clutch rpm"}


def test_with_a_converter_the_sheet_asks_for_no_clutch():
    engine = jobs.Engine(torque=(jobs.TorquePoint(1000.0, 260.0), jobs.TorquePoint(3000.0, 340.0)))
    box = jobs.Transmission(1.0, (3.0, 1.0), stall_speed_rpm=1900.0, stall_ratio=1.6)
    job = job_with(targets=jobs.Targets(pull_grade_ppm=100_000), engine=engine, transmission=box)
    check = next(check for check in CHECKS if check.id == "pull")
    assert not {need.name for need in truck_needs(job, check)} & {"clutch rating", "clutch rpm", "stall ratio"}


def test_without_torque_the_sheet_asks_for_torque_and_for_no_clutch_beside_a_converter():
    box = jobs.Transmission(1.0, (3.0, 1.0), stall_speed_rpm=1900.0, stall_ratio=1.6)
    job = job_with(targets=jobs.Targets(pull_grade_ppm=100_000), transmission=box)
    check = next(check for check in CHECKS if check.id == "pull")
    asked = {need.name for need in truck_needs(job, check)}
    assert "torque" in asked
    assert not asked & {"clutch rating", "clutch rpm"}


def test_a_lean_asks_for_what_it_is_worked_out_from():
    house = dataclasses.replace(HOUSE, full_bump=jobs.State(50.0), full_droop=jobs.State())
    job = job_with(axle=jobs.Axles("8.8", 31, rear=jobs.AxleBeam(True)), wheelhouse=jobs.Wheelhouses(HOUSE, house))
    assert set(lacks("outer_sidewall", "rear", job)) == {
        "truck, [axle.rear]: track",
        "truck, [axle.rear]: stop distance",
        "truck, [wheelhouse.rear.full_droop]: travel",
    }


def test_where_a_panhard_bar_crosses_the_middle_is_asked_of_a_leaning_axle():
    house = dataclasses.replace(HOUSE, full_bump=jobs.State(50.0), full_droop=jobs.State(-50.0))
    job = job_with(
        axle=jobs.Axles("8.8", 31, rear=jobs.AxleBeam(True, 1600.0, 600.0)),
        panhard=jobs.Panhard(rear_length_mm=800.0),
        wheelhouse=jobs.Wheelhouses(HOUSE, house),
    )
    assert lacks("outer_sidewall", "rear", job) == ["truck, [panhard]: rear middle"]


def test_the_present_tires_diameter_is_no_need_where_the_hubs_height_is_known():
    present = dataclasses.replace(job_with().present, rear_hub_height_mm=350.0)
    job = job_with(present=present, targets=jobs.Targets(ground_clearance_mm=180.0))
    assert lacks("ground", "rear", job) == ["truck, [present]: rear ground clearance"]

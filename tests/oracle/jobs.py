"""Small jobs drawn for the oracle: values from short pools that sit on limits and tie, some absent.

`small_jobs` draws a job with its raw parts: a dict of lists of dicts, in SI, None where a value is absent.
"""

import dataclasses
import itertools
import math
import random

import dice as st
import pandas as pd
from carrying import front_share_verdict
from enumeration import enumerate_builds
from fitting import moved_out_mm
from gearing import (
    at_every_axle,
    at_most_turning,
    critical_rpm,
    engine_rpm,
    held_g,
    pull,
    slip_n_m,
    speedometer_error,
    stall_n_m,
    steepest_grade,
    top_slip,
    turned_apart,
)
from hypothesis import strategies
from paying import orders_cents
from standing import ground_clearance_mm
from verdicts import exact, is_absent

from combo import job as jobs
from combo.parts import KINDS, Parts
from combo.read import settle
from combo.read.gears import for_driven_axles
from combo.read.report import ListReport
from combo.units import BoltCircle

NAN = float("nan")
MOST_BUILDS = 5000
PLURALS = ("wheels", "tires", "spacers", "ratios", "differentials", "ballast", "nuts")
CHOSEN = PLURALS[:-1]
"""Lists of which a build names its parts; nuts come with the wheels."""
SUPPLIERS = ("", "", "", "north", "south")
SKUS = ("B", "A-10", "A-2", "a-1", "0")

PLAIN = {
    "wheels": {
        "rim_diameter_mm": (381.0,),
        "rim_width_mm": (203.2, 203.2, 177.8),
        "lugs": (5,),
        "circle_mm": (114.3, 114.3, 114.4),
        "hub_bore_mm": (73.1, 71.5),
        "offset_mm": (0.0, 0.0, 6.0, 12.0, -12.7),
        "flange_mm": (None, None, 12.7, 10.0),
        "barrel_diameter_mm": (350.0, 345.0),
        "spoke_clearance_mm": (40.0, 34.0),
        "pad_mm": (12.0, 12.0, 12.0, 16.0, None),
        "load_rating_kg": (700.0, 700.0, 650.0),
        "mass_kg": (10.0, 10.0, 10.535),
        "price_cents": (10000, 10000, 9999, 12345),
        "style": ("slotted", "spoked"),
        "pocket_depth_mm": (34.6, 34.6, 8.0, 0.0, None),
        "pocket_over_studs": ("yes", "yes", "yes", "", "no"),
        "seat": ("cone 60",) * 8 + ("cone 61", "ball 14", "cone"),
        "max_pressure_kpa": (350.0, 350.0, 300.0, 280.0, 240.0),
        "supplier": SUPPLIERS,
        "on_truck": ("", "", "", "", "", "", "no", "front", "rear", "both"),
    },
    "tires": {
        "rim_diameter_mm": (381.0, 381.0, 382.0),
        "section_width_mm": (235.0, 235.0, 225.0),
        "measuring_rim_mm": (203.2, 203.2, 177.8),
        "overall_diameter_mm": (733.0, 705.5),
        "rim_width_min_mm": (165.1, 177.8),
        "rim_width_max_mm": (228.6, 203.2),
        "load_rating_kg": (800.0, 800.0, 670.0, 640.0),
        "service": ("passenger", "light_truck"),
        "speed_symbol": ("S", "S", "H", "H", "Q"),
        "construction": ("radial", "radial", "radial", "radial", "radial", "bias"),
        "revs_per_mile": (None, None, 715.0),
        "static_loaded_radius_mm": (None, None, 345.0),
        "tread_width_mm": (200.0, 190.5, None),
        "rated_pressure_kpa": (240.0, 240.0, 280.0, 300.0),
        "mass_kg": (14.0, 14.0, 15.25),
        "price_cents": (15000, 15000, 14999, 18001),
        "line": ("winter line", "all season"),
        "winter": (1.0, 1.0, 0.0),
        "supplier": SUPPLIERS,
        "on_truck": ("", "", "", "", "", "", "no", "front", "rear", "both"),
    },
    "spacers": {
        "thickness_mm": (6.0, 25.4),
        "lugs": (5,),
        "circle_mm": (114.3, 114.3, 114.4),
        "wheel_lugs": (None, None, 5),
        "wheel_circle_mm": (114.3,),
        "hub_bore_mm": (73.1, 71.5),
        "pilot_mm": (None, None, 71.5, 73.1),
        "pad_mm": (10.0,),
        "stud_length_mm": (36.0,),
        "stud_diameter_mm": (12.7, 14.0),
        "stud_thread": ("1/2-20", "1/2-20", "1/2-20", "M14x1.5"),
        "nut_height_mm": (15.4, 15.4, 15.5, None),
        "mass_kg": (0.5, 1.25),
        "price_cents": (0, 2500, 3333),
        "supplier": SUPPLIERS,
        "on_truck": ("", "", "", "both", "front"),
    },
    "ratios": {
        "ratio": (3.55, 3.73, 4.1),
        "ring_gear": ("8.8",),
        "axle": ("", "", "", "both", "rear", "front"),
        "mass_kg": (None, 8.0, 11.3),
        "labor_hours": (2.0, 1.5, None),
        "core_charge_cents": (None, 5000, 2499),
        "price_cents": (20000, 20000, 17499),
        "supplier": SUPPLIERS,
        "on_truck": ("", "", "", "no", "yes"),
    },
    "differentials": {
        "type": ("open", "limited_slip", "limited_slip", "locked"),
        "ratio_min": (3.0, 3.0, 3.55),
        "ratio_max": (4.5, 4.5, 4.1),
        "ring_gear": ("8.8",),
        "splines": (31,),
        "axle": ("", "", "", "both", "rear", "front"),
        "bias_ratio": (2.5, 3.5, None),
        "preload_n_m": (None, 0.0, 120.0),
        "mass_kg": (None, None, 20.5),
        "supplier": SUPPLIERS,
        "labor_hours": (1.0, 3.5, None),
        "core_charge_cents": (None, None, 7777),
        "price_cents": (0, 40000, 40000, 51250),
        "on_truck": ("", "", "", "no", "yes"),
    },
    "ballast": {
        "mass_kg": (20.0, 25.0, 22.68, 22.68),
        "max_count": (None, None, 1, 2),
        "length_mm": (400.0, 400.0, 600.0),
        "width_mm": (300.0, 250.0),
        "price_cents": (500, 500, 0, 799),
        "supplier": SUPPLIERS,
    },
    "nuts": {
        "seat": ("cone 60",) * 8 + ("cone 61", "ball 14", "ball 14.5"),
        "thread": ("1/2-20",) * 5 + ("M14x1.5",),
        "type": ("closed", "closed", "open"),
        "thread_depth_mm": (50.0, 48.0, 38.1, 24.0, 13.4, None),
        "pack": (None, 1, 5, 20),
        "left_hand": ("", "", "no"),
        "price_cents": (199, 250, 1990, 0),
        "supplier": SUPPLIERS,
    },
}
ODD = {
    "wheels": {
        "rim_diameter_mm": (382.0, 406.4, 380.0),
        "rim_width_mm": (228.6,),
        "lugs": (6,),
        "circle_mm": (115.0, 120.65),
        "hub_bore_mm": (71.499, None),
        "offset_mm": (None, 30.0),
        "barrel_diameter_mm": (None, 336.35),
        "spoke_clearance_mm": (None, 15.0),
        "pad_mm": (None, 25.0),
        "load_rating_kg": (None, 560.0),
        "mass_kg": (None,),
        "style": ("",),
        "pocket_over_studs": ("yes",),
        "pocket_depth_mm": (None, 60.0),
        "seat": ("", "cone", "cone 90", "ball", "ball 14", "shank 19.05", "shank", "flat"),
        "max_pressure_kpa": (None, 170.0, 180.0, 230.0),
    },
    "tires": {
        "rim_diameter_mm": (406.4,),
        "section_width_mm": (None, 265.0),
        "measuring_rim_mm": (None,),
        "overall_diameter_mm": (None, 775.0),
        "rim_width_min_mm": (None, 203.2),
        "rim_width_max_mm": (None,),
        "load_rating_kg": (None, 616.5),
        "service": ("",),
        "construction": ("", "bias"),
        "line": ("",),
        "winter": (None,),
        "speed_symbol": ("", "Q"),
        "revs_per_mile": (690.0,),
        "rated_pressure_kpa": (None, 450.0),
        "mass_kg": (None,),
    },
    "spacers": {
        "lugs": (6,),
        "wheel_lugs": (6,),
        "wheel_circle_mm": (120.65,),
        "hub_bore_mm": (71.499, None),
        "pilot_mm": (74.0,),
        "stud_thread": ("",),
        "pad_mm": (None, 40.0),
        "stud_length_mm": (None, 20.0),
        "stud_diameter_mm": (None,),
        "mass_kg": (None,),
    },
    "ratios": {"ring_gear": ("9", "")},
    "differentials": {
        "ratio_min": (None, 3.73),
        "ratio_max": (None, 3.73),
        "ring_gear": ("9", ""),
        "splines": (None, 28),
    },
    "ballast": {"length_mm": (None, 1300.0), "width_mm": (None,)},
    "nuts": {
        "type": ("",),
        "thread_depth_mm": (12.0, 12.7),
        "left_hand": ("yes",),
        "seat": ("cone", "cone 59", "cone 90", "ball 14", "ball 15", "shank 19.05", "shank 20.5", "shank 22", "flat"),
    },
}
SIZES = {
    "wheels": (2, 3, 1),
    "tires": (3, 2, 2, 1),
    "spacers": (0, 1),
    "ratios": (2, 3, 1),
    "differentials": (2, 2, 1),
    "ballast": (1, 2, 0),
    "nuts": (2, 3, 1, 1, 0),
}
LEAST = {plural: min(sizes) for plural, sizes in SIZES.items()}


@st.composite
def part_lists(draw, plural):
    """A list of a kind, in an order that is not the SKUs'; a part may equal the one before under another SKU."""
    skus = draw(st.permutations(SKUS))[: draw(st.sampled_from(SIZES[plural]))]
    parts = []
    for sku in skus:
        if parts and draw(st.sampled_from((False, False, False, True))):
            parts.append({**parts[-1], "sku": sku})
        else:
            parts.append({"sku": sku, **draw(part_values(plural))})
    return parts


@st.composite
def part_values(draw, plural):
    """Values of a part; in one of four a few are odd: they fail a check, or they are absent."""
    values = {column: draw(st.sampled_from(pool)) for column, pool in PLAIN[plural].items()}
    if ODD[plural] and draw(st.sampled_from((False, False, False, True))):
        for column in draw(st.lists(st.sampled_from(sorted(ODD[plural])), min_size=1, max_size=3)):
            values[column] = draw(st.sampled_from(ODD[plural][column]))
    if plural == "spacers" and values["wheel_lugs"] is None:
        values |= {"wheel_circle_mm": None, "stud_length_mm": draw(seldom(None, 36.0))}
    if plural == "spacers" and (values["wheel_lugs"] is not None or values["stud_length_mm"] is not None):
        values["thickness_mm"] = draw(seldom(25.4, 31.75, 6.0))
    if plural == "tires":
        values["running_diameter_mm"] = values["overall_diameter_mm"]
        if values["overall_diameter_mm"] is not None:
            values["running_diameter_mm"] -= draw(seldom(0.0, 6.0))
        if values["rated_pressure_kpa"] is None and (values["service"], values["construction"]) == OF_STANDARD_LOAD:
            values["rated_pressure_kpa"] = 240.0
    return values


OF_STANDARD_LOAD = ("passenger", "radial")
"""Service and construction of tires of which reading knows the pressure where the list leaves it out."""


@st.composite
def with_left_hand_nuts(draw, raw):
    """Lists in which some nuts have a left-hand twin, at times a dearer and a cheaper one."""
    twins = [
        {**nut, "sku": f"{sku}{nut['sku']}", "left_hand": "yes", "price_cents": draw(st.sampled_from((199, 250, 1990)))}
        for nut in raw["nuts"]
        for sku in draw(st.sampled_from(((), ("L-",), ("L-", "l"))))
    ]
    return {**raw, "nuts": [*twins, *raw["nuts"]] if draw(st.booleans()) else [*raw["nuts"], *twins]}


def likely_nuts(job, wheel, nuts):
    """Nuts that look as if they went with a wheel on the hubs' own studs."""
    threads = {job.hub.front.stud_thread, job.hub.rear.stud_thread}
    return [
        nut["sku"]
        for nut in nuts
        if nut["left_hand"] != "yes"
        and nut["thread"] in threads
        and nut["seat"].split()[:1] == wheel["seat"].split()[:1]
    ]


@st.composite
def with_names(draw, job, raw):
    """A job and its lists, in which nuts and suppliers that are named are listed; some parts are on the truck."""
    raw = draw(with_left_hand_nuts(raw))
    nuts, named = [nut["sku"] for nut in raw["nuts"]], {"", *(supplier.name for supplier in job.suppliers)}
    raw = {
        plural: [{**part, "supplier": part["supplier"] if part["supplier"] in named else ""} for part in parts]
        for plural, parts in raw.items()
    }
    raw["wheels"] = [{**wheel, "lug_nut": draw(lug_nut(job, wheel, raw["nuts"]))} for wheel in raw["wheels"]]
    for axle in jobs.AXLES:
        job = with_value(job, f"hub.{axle}.lug_nut", draw(st.sampled_from(("", *nuts))))
    if draw(seldom(False, True)):
        for plural in ("wheels", "tires", "ratios", "differentials"):
            word = "both" if plural in ("wheels", "tires") else "yes"
            raw[plural] = [{**raw[plural][0], "on_truck": word}, *raw[plural][1:]]
    return job, raw


FRONT_AXLES = (("8.8", 31), ("8.8", 31), ("8.8", 31), ("9", 31), ("8.8", 28))
TRANSFER_CASES = (
    {"transfer_case": "part-time"},
    {"transfer_case": "part-time"},
    {"transfer_case": "part-time", "speed_match_ppm": 20000},
    {"transfer_case": "full-time", "speed_match_ppm": 60000},
    {"transfer_case": "full-time", "speed_match_ppm": 9000},
)
UNKNOWN_CASES = ({"transfer_case": "full-time"}, {})
ALIKE = ("overall_diameter_mm", "running_diameter_mm", "construction", "revs_per_mile")
"""Columns of a tire by which it rolls."""


@st.composite
def with_driven_axles(draw, job, raw):
    """A job and its lists in one of five of which both axles are driven; some part may be at every driven axle."""
    if draw(st.sampled_from((False,) * 4 + (True,))):
        job, raw = draw(with_both_driven(job, raw))
    for plural in ("ratios", "differentials"):
        first, *others = raw[plural]
        raw = {**raw, plural: [{**first, "axle": draw(st.sampled_from(("", "both")))}, *others]}
    return job, raw


@st.composite
def with_both_driven(draw, job, raw):
    """A job of which both axles are driven, and lists of which most parts turn both axles nearly alike."""
    is_strict = job.job.strict
    ring_gear, splines = draw(st.sampled_from(FRONT_AXLES[:3] if is_strict else FRONT_AXLES))
    front = dataclasses.replace(
        job.axle.front,
        ring_gear=ring_gear if is_strict else draw(seldom(ring_gear, "")),
        splines=splines if is_strict else draw(seldom(splines, 0)),
        torque_rating_n_m=draw(st.sampled_from((NAN, NAN, 9000.0, 4000.0, 3600.0))),
    )
    case = draw(st.sampled_from(TRANSFER_CASES if is_strict else TRANSFER_CASES * 2 + UNKNOWN_CASES))
    job = dataclasses.replace(
        job,
        axle=dataclasses.replace(job.axle, front=front, driven="both"),
        transmission=dataclasses.replace(job.transmission, **case, low_range=draw(st.sampled_from((1.0, 2.5)))),
    )
    ratios = [
        {**part, "ratio": draw(st.sampled_from((3.73, 3.73, 3.7, 3.76, part["ratio"])))} for part in raw["ratios"]
    ]
    tires = [
        {**tire, **{name: raw["tires"][0][name] for name in ALIKE}}
        if draw(st.sampled_from((True, True, False)))
        else tire
        for tire in raw["tires"]
    ]
    return job, {**raw, "ratios": ratios, "tires": tires}


def lug_nut(job, wheel, nuts):
    """Strategy of the nut that a wheel names: none, one that looks right, seldom any; a strict job's look right."""
    likely, every = likely_nuts(job, wheel, nuts), tuple(nut["sku"] for nut in nuts)
    if likely and job.job.strict:
        return st.sampled_from(likely)
    return st.sampled_from((*("", *likely) * 3, *every[:2]))


def seldom(*pool):
    """Strategy of a value that mostly is the first of its pool."""
    return st.sampled_from((pool[0],) * 2 * len(pool) + pool)


@st.composite
def some_of(draw, names, most):
    """A few names, each time others; none of them now and then."""
    count = draw(st.sampled_from((most, most, most, 1, 0)))
    return [draw(st.sampled_from(sorted(names))) for _ in range(count)]


def absent_or(has_gaps, *pool):
    """Strategy of a measurement that is NaN now and then where the job has gaps."""
    return st.sampled_from((*pool, *pool, NAN) if has_gaps else pool)


@st.composite
def wheelhouses(draw, has_gaps):
    """Room that some wheel and tire of the pools just fills, and room that all do."""
    room = draw(st.sampled_from(((180.0, 190.0), (180.0, 190.0), (150.0, 130.2, 135.28, 127.0))))
    return jobs.Wheelhouse(
        room_inner_mm=draw(absent_or(has_gaps, *room)),
        room_outer_mm=draw(absent_or(has_gaps, *room)),
        hub_to_top_mm=draw(absent_or(has_gaps, 430.0, 412.9, 391.9)),
        hub_to_lip_mm=420.0,
        opening_ahead_mm=430.0,
        opening_behind_mm=440.0,
        sweep_ahead_mm=480.0,
        sweep_behind_mm=490.0,
        frame_room_mm=400.0,
        clearance_inner_mm=draw(st.sampled_from((12.7, 12.7, 0.0))),
        clearance_outer_mm=draw(st.sampled_from((12.7, 12.7, 25.4, 0.0))),
        clearance_top_mm=draw(st.sampled_from((25.4, 25.4, 2.5))),
        clearance_opening_mm=draw(st.sampled_from((12.7, 25.4))),
        clearance_sweep_mm=draw(st.sampled_from((12.7, 0.0))),
        **draw(suspension_states()),
    )


@st.composite
def suspension_states(draw):
    """Mostly none; else one to three states, each with some rooms of its own."""
    if draw(seldom(True, False)):
        return {}
    names = draw(st.lists(st.sampled_from(jobs.STATES), min_size=1, max_size=3))
    return {name: draw(suspension_state(name)) for name in names}


@st.composite
def suspension_state(draw, name):
    """A state with its travel and up to two sizes of its own."""
    travel = {
        "ride_height": (NAN, 0.0),
        "full_bump": (76.2, 50.0),
        "full_droop": (-101.6,),
        "laid_out": (101.6,),
        "articulated": (20.0, -12.7),
    }
    own = draw(st.lists(st.sampled_from(sorted(STATE_SIZES)), max_size=2))
    sizes = {size: draw(st.sampled_from(STATE_SIZES[size])) for size in own}
    return jobs.State(travel_mm=draw(st.sampled_from(travel[name])), **sizes)


STATE_SIZES = {
    "lock_deg": (35.0, 10.0, 0.0),
    "room_inner_mm": (150.0, 160.0),
    "room_outer_mm": (150.0, 160.0),
    "hub_to_top_mm": (412.9, 440.0),
    "hub_to_lip_mm": (426.5, 440.0),
    "opening_ahead_mm": (391.9, 379.2, 450.0),
    "opening_behind_mm": (391.9, 450.0),
    "sweep_ahead_mm": (430.0, 450.0),
    "sweep_behind_mm": (430.0, 450.0),
    "frame_room_mm": (300.0, 330.0),
}


@st.composite
def hubs(draw, has_gaps):
    """Hub that the wheels fit; sometimes one whose pattern only an adapter or an odd wheel has."""
    circle = draw(seldom(114.3, 120.65))
    return jobs.Hub(
        BoltCircle(5, circle),
        pilot_mm=draw(absent_or(has_gaps, 71.5, 70.0)),
        pilot_length_mm=draw(absent_or(has_gaps, 5.0, 6.0, 12.0, 30.0)),
        stud_length_mm=draw(st.sampled_from((60.0, 60.0, 50.1, 48.1, 25.4, 25.4))),
        stud_diameter_mm=12.7,
        stud_thread=draw(st.sampled_from(("1/2-20", "1/2-20", "") if has_gaps else ("1/2-20",))),
        left_hand=draw(st.sampled_from((False, False, True))),
        stud_engagement=draw(st.sampled_from((1.0, 1.0, 0.8))),
    )


@st.composite
def carried(draw, has_gaps, trailer):
    """Scale loads and what is carried besides, in named cases or in all; cases of the trailer are named like others."""
    items = (
        jobs.LoadItem("driver", 80.0, 1500.0),
        jobs.LoadItem("cargo", 200.0, -300.0, ("loaded",)),
        jobs.LoadItem("toolbox", 45.5, 400.0, ("loaded", "shop")),
    )
    chosen = tuple(
        dataclasses.replace(
            item, weighed=draw(seldom(False, True)), lateral_mm=draw(st.sampled_from((0.0, -400.0, 250.0, 600.0)))
        )
        for item in items
        if draw(st.booleans())
    )
    named = {case for item in chosen for case in item.cases} | set(trailer.cases)
    pads = {
        f"{axle}_{side}_kg": draw(st.sampled_from(pool))
        for axle, pool in (("front", (545.25, 520.0)), ("rear", (450.5, 441.75)))
        for side in ("left", "right")
    }
    by_axle = {
        "front_axle_kg": draw(absent_or(has_gaps, 1100.0, 1000.5)),
        "rear_axle_kg": draw(absent_or(has_gaps, 900.0, 812.345)),
    }
    scale = draw(st.sampled_from((by_axle, by_axle, pads, by_axle | pads)))
    return jobs.Loads(
        **scale,
        cases=tuple(sorted(named | {"empty"})) if draw(st.booleans()) else tuple(sorted(named)),
        items=chosen,
    )


TRAILERS = (
    {"mass_kg": 900.0, "tongue_kg": 90.0, "station_mm": -1250.0},
    {"mass_kg": 454.545, "tongue_kg": 45.5, "station_mm": -1100.0, "cases": ("loaded",)},
    {"mass_kg": 700.0, "tongue_kg": 0.0, "station_mm": -1250.0, "cases": ("towing",)},
)


@st.composite
def trailers(draw, has_gaps):
    """A trailer on its hitch, and the rating of it with the truck; mostly none."""
    if draw(seldom(True, False)):
        return jobs.Trailer(), NAN
    own = draw(st.sampled_from(TRAILERS))
    own |= {"tongue_kg": draw(seldom(own["tongue_kg"], NAN))} if has_gaps else {}
    hitch = draw(absent_or(has_gaps, 900.0, 900.0, 1500.0, 700.0))
    return jobs.Trailer(**own, hitch_rating_kg=hitch), draw(absent_or(has_gaps, 4000.0, 3400.0, 3000.0, 2800.0))


@st.composite
def ballast_plans(draw):
    """One or two stations, ahead of the rear axle and behind it."""
    masses = st.sampled_from((NAN, 45.36, 40.0, 68.04))
    floors = st.sampled_from(FLOORS)
    stations = (
        jobs.Station("over the axle", 250.0, draw(masses), **draw(floors)),
        jobs.Station("tailgate", -600.0, draw(masses), **draw(floors)),
    )
    chosen = draw(st.sampled_from((stations[:1], stations, stations[::-1])))
    return jobs.BallastPlan(draw(st.sampled_from((3, 2, 1, 0))), chosen)


FLOOR = {"length_mm": 1200.0, "width_mm": 900.0, "layers": 1, "ties": 4, "tie_working_load_kg": 50.0}
FLOORS = (
    {**FLOOR, "tie_run": "over"},
    FLOOR,
    {**FLOOR, "ties": 2, "tie_working_load_kg": 22.68, "tie_run": "to cargo"},
    {**FLOOR, "length_mm": 700.0, "width_mm": 400.0},
    {**FLOOR, "length_mm": 600.0, "width_mm": 550.0, "layers": 2},
    {**FLOOR, "ties": 1, "tie_working_load_kg": 20.0, "tie_run": "over"},
    {**FLOOR, "ties": 1, "tie_working_load_kg": 40.0, "tie_run": "same side"},
)


@st.composite
def targets(draw, is_strict):
    """What is wanted, each given or absent; a strict job that asks for a cruise speed gives the whole band."""

    def wish(*pool):
        return draw(st.sampled_from((NAN, *pool)))

    asked = jobs.Targets(
        cruise_speed_km_h=wish(110.0, 104.60736),
        cruise_min_rpm=wish(1500.0, 1750.0),
        cruise_max_rpm=wish(3500.0, 2600.0),
        cruise_aim_rpm=wish(2000.0),
        top_speed_km_h=wish(180.0, 160.0),
        rear_load_kg=draw(seldom(NAN, 950.0, 880.0)),
        rake_mm=wish(0.0, 25.4, -27.5),
        lip_gap_mm=wish(12.7, 38.1, 0.0),
    )
    has_band = not (math.isnan(asked.cruise_min_rpm) or math.isnan(asked.cruise_max_rpm))
    return asked if has_band or not is_strict else dataclasses.replace(asked, cruise_speed_km_h=NAN)


CITY = jobs.CruisePoint("city", 56.0, 1.0, 800.0, 2500.0)
ROAD = jobs.CruisePoint("road", 88.0, 0.7, 1000.0, 3500.0)
WISHES = {
    "cruise": (
        (ROAD,),
        (CITY, dataclasses.replace(ROAD, locked=True, max_rpm=1650.0)),
        (dataclasses.replace(ROAD, hold_grade_ppm=30000),),
        (dataclasses.replace(ROAD, hold_grade_ppm=64000, locked=True), dataclasses.replace(CITY, hold_grade_ppm=90000)),
        (dataclasses.replace(CITY, hold_grade_ppm=90000, speed_km_h=30.0, min_rpm=400.0),),
        (dataclasses.replace(CITY, hold_grade_ppm=120000, min_rpm=400.0),),
    ),
    "front_share_ppm": (0, 480000, 520000, 530000, 540000),
    "start_grade_ppm": (10000, 50000, 60000, 70000, 80000, 150000),
    "pull_grade_ppm": (100000, 230000, 250000, 265000, 280000, 300000, 340000),
    "hold_grade_ppm": (10000, 30000, 45000, 60000),
    "speedometer_error_ppm": (50000, 20000, 10000, 5000),
    "ground_clearance_mm": (195.0, 205.0, 210.0, 214.0, 220.0),
    "laid_out_clearance_mm": (100.0, 110.4, 115.0, 120.0, 0.0),
    "scrub_line": ("level", "cross", "cross"),
    "cover": ("tire", "tread"),
    "winter": (True, True, False),
    "same_style": (True,),
    "same_line": (True,),
    "rake_min_mm": (0.0, -27.5, 27.5),
    "rake_max_mm": (0.0, 27.5),
    "frame_rake_min_deg": (-0.5, -0.2, 0.0),
    "frame_rake_max_deg": (0.5, 0.1, 0.0, -0.05),
    "fender_gap_min_mm": (53.5, 40.0, 60.0),
    "fender_gap_max_mm": (53.5, 80.0, 67.25),
    "scrub_min_mm": (3.0, 9.0, 15.0, -10.0),
    "scrub_max_mm": (15.0, 21.0, 33.7, 40.0),
    "load_line_max_mm": (10.0, 16.0, 4.0, 22.7, -2.0),
    "front_track_max_mm": (1520.0, 1496.0, 1532.0, 1508.0, 1545.4),
    "rear_track_max_mm": (1520.0, 1496.0, 1532.0, 1508.0, 1470.0),
}
TIGHT = {
    "truck.gvwr_kg": (2300.0, 2150.0),
    "truck.payload_kg": (NAN, 380.0, 150.0),
    "wheelhouse.front.opening_ahead_mm": (379.2, 391.9),
    "wheelhouse.rear.opening_behind_mm": (379.2, 365.45),
    "wheelhouse.front.sweep_ahead_mm": (430.0, 422.0, 440.0),
    "wheelhouse.front.frame_room_mm": (300.0, 308.0, 320.0),
    "steering.axis_offset_mm": (60.0, 20.0, -15.0),
    "steering.lock_deg": (20.0, 40.0),
    "brakes.front.envelope_diameter_mm": (343.65, 345.0),
    "brakes.rear.envelope_diameter_mm": (343.65,),
    "brakes.front.caliper_reach_mm": (30.825, 36.825, 42.825, 34.0),
    "brakes.rear.caliper_reach_mm": (36.825, 37.5),
    "brakes.rear.clearance_mm": (0.0, 6.35, 10.0),
    "spare.well_diameter_mm": (745.7, 720.0),
    "spare.well_width_mm": (241.35, 235.0),
    "brakes.weight_thickness_mm": (3.0, 4.325, 6.825, 5.0),
    "axle.rear.torque_rating_n_m": (3000.0, 3600.0, 3800.0, 4000.0, 4200.0, 4400.0),
    "axle.front.torque_rating_n_m": (3000.0, 3600.0, 4000.0, 4600.0, 5000.0),
    "axle.front.roll_share_ppm": (450000,),
    "transmission.low_range": (2.72, 2.0),
    "chains.front": ("S", "U", "W"),
    "chains.rear": ("S", "U", "W"),
    "chains.front_tread_mm": (28.0, 50.0, 60.15, 0.0),
    "chains.front_sidewall_mm": (14.0, 20.0, 50.5, 56.5),
    "chains.rear_tread_mm": (28.0, 50.0, 60.15),
    "chains.rear_sidewall_mm": (14.0, 23.114, 49.8, 54.8),
    "hub.front.pilot_mm": (73.1, 72.0),
    "hub.front.bolt_circle": (BoltCircle(5, 114.2),),
    "hub.rear.bolt_circle": (BoltCircle(5, 114.5),),
    "spare.station_mm": (NAN,),
    "hub.front.stud_length_mm": (30.7, 24.7, 60.0),
    "hub.rear.stud_length_mm": (25.4, 25.3, 36.0),
    "hub.rear.pilot_length_mm": (6.0, 5.9, 25.4, 30.0),
    "surface.rolling_resistance": (0.0, 0.03, 0.08),
    "axle.rear.roll_share_ppm": (450000,),
    "engine.redline_rpm": (3300.0, 3450.0, 2900.0, 3100.0, 4700.0),
    "driveshaft.length_mm": (1400.0, 1450.0, 1500.0, 1550.0),
    "driveshaft.material": ("aluminum",),
    "present.frame_rake_deg": (0.25,),
    "transmission.gears": ((),),
}
OFTEN = (
    "axle.rear.torque_rating_n_m",
    "axle.rear.torque_rating_n_m",
    "brakes.weight_thickness_mm",
    "brakes.front.envelope_diameter_mm",
    "brakes.front.caliper_reach_mm",
    "hub.front.pilot_mm",
    "hub.rear.bolt_circle",
    "targets.ground_clearance_mm",
    "targets.laid_out_clearance_mm",
    "targets.scrub_line",
    "chains.front",
    "chains.rear",
    "chains.front_tread_mm",
    "chains.front_sidewall_mm",
    "chains.rear_sidewall_mm",
)
"""Of the wishes and sizes above those that are drawn once more, as each rejects few builds."""
GAPS = (
    *(
        f"{part}.{axle}.{size}"
        for axle in jobs.AXLES
        for part, size in (
            ("wheelhouse", "opening_ahead_mm"),
            ("wheelhouse", "sweep_behind_mm"),
            ("wheelhouse", "frame_room_mm"),
            ("wheelhouse", "hub_to_lip_mm"),
            ("hub", "stud_length_mm"),
            ("hub", "stud_diameter_mm"),
            ("hub", "pilot_length_mm"),
            ("hub", "stud_thread"),
            ("axle", "track_mm"),
            ("axle", "stop_distance_mm"),
            ("brakes", "envelope_diameter_mm"),
            ("brakes", "caliper_reach_mm"),
        )
    ),
    *(f"present.{axle}_{size}_mm" for axle in jobs.AXLES for size in ("hub_height", "ground_clearance")),
    "present.spare_kg",
    "present.front_offset_mm",
    "present.rear_offset_mm",
    "steering.kingpin_inclination_deg",
    "truck.gvwr_kg",
    "truck.drag_coefficient",
    "truck.frontal_area_m2",
    "truck.cg_height_mm",
    "steering.lock_deg",
    "steering.scrub_radius_mm",
    "spare.well_diameter_mm",
    "spare.well_width_mm",
    "engine.redline_rpm",
    "driveshaft.diameter_mm",
    "driveshaft.wall_mm",
    "speedometer.present_ratio",
    "speedometer.present_revs_per_mile",
    "transmission.stall_speed_rpm",
    "transmission.clutch_rating_n_m",
    "panhard.rear_middle_mm",
)
EMPTY = {
    "engine.torque": (),
    "transmission.gears": (),
    "speedometer.driven_teeth": 0,
    "hub.front.stud_thread": "",
    "hub.rear.stud_thread": "",
}


def with_value(member, path, value):
    """A copy of a job or of a member of it, with another value at a dotted path."""
    name, _, rest = path.partition(".")
    if rest:
        value = with_value(getattr(member, name), rest, value)
    return dataclasses.replace(member, **{name: value})


@st.composite
def tight_values(draw):
    """Paths and values of a few wishes and sizes, such that some parts just fit."""
    pools = {f"targets.{name}": pool for name, pool in WISHES.items()}
    wishes, sizes = draw(some_of(pools, 8)), draw(some_of(TIGHT, 8)) + draw(some_of(OFTEN, 3))
    return [(path, draw(st.sampled_from((pools | TIGHT)[path]))) for path in (*wishes, *sizes)]


def tightened(job, raw, values):
    """The job with all values, or with one after the other as long as it has builds; and its builds."""
    every = job
    for path, value in values:
        every = with_value(every, path, value)
    builds = enumerate_builds(every, **raw)
    if builds or not values:
        return every, builds
    builds = enumerate_builds(job, **raw)
    for path, value in values if builds else []:
        tighter = with_value(job, path, value)
        its_builds = enumerate_builds(tighter, **raw)
        job, builds = (tighter, its_builds) if its_builds else (job, builds)
    return job, builds


@st.composite
def with_gaps_in(draw, job):
    """A job of which a few measurements are absent."""
    for path in draw(some_of((*GAPS, *EMPTY), 4)):
        job = with_value(job, path, EMPTY.get(path, NAN))
    stations = job.ballast.stations
    gap = draw(seldom({}, {"ties": 0}, {"tie_working_load_kg": NAN}, {"length_mm": NAN}))
    last = dataclasses.replace(stations[-1], **gap)
    return with_value(job, "ballast.stations", (*stations[:-1], last))


@st.composite
def with_bar(draw, job, is_strict):
    """A job with a Panhard bar now and then; a strict one only where every state has its travel."""
    for axle in jobs.AXLES:
        has_travel = bool(getattr(job.wheelhouse, axle).states())
        length = draw(st.sampled_from((NAN, 914.4)) if has_travel else seldom(NAN, 914.4))
        if has_travel or not is_strict:
            job = with_value(job, f"panhard.{axle}_length_mm", length)
        job = with_value(job, f"panhard.{axle}_axle_end", draw(st.sampled_from(("", "", "left", "right"))))
        job = with_value(job, f"panhard.{axle}_rise_mm", draw(st.sampled_from((0.0, 50.0, -30.0))))
        job = with_value(job, f"panhard.{axle}_middle_mm", draw(seldom(0.0, 60.0, -40.0, 0.0 if is_strict else NAN)))
    return job


@st.composite
def with_live_axles(draw, job, is_strict):
    """A job with live axles now and then; most have what the tilt of such an axle takes, a strict one always."""
    for axle in jobs.AXLES:
        if not draw(st.sampled_from((False, False, axle == "rear"))) and not draw(seldom(False, False, True)):
            width = 1500.0 if is_strict else draw(seldom(1500.0, 1450.0, NAN))
            job = with_value(job, f"axle.{axle}", jobs.AxleBeam(track_mm=width, roll_share_ppm=draw(seldom(0, 400000))))
            continue
        gap = 1500.0 if is_strict else NAN
        sizes = draw(seldom(1500.0, 1450.0, gap)), draw(st.sampled_from((900.0, 1000.0, 1100.0, 1050.0)))
        job = with_value(job, f"axle.{axle}", jobs.AxleBeam(True, *sizes, draw(st.sampled_from((0, 400000)))))
        if not is_strict and draw(seldom(False, False, True)):
            continue
        for name in ("full_bump", "full_droop"):
            job = with_value(job, f"wheelhouse.{axle}.{name}", draw(end_of_travel(name)))
    return job


@st.composite
def with_lowest_points(draw, job, is_strict):
    """A job of which the lowest points now and then hang on the frame; most springs have a rate, a strict one's all."""
    for axle in jobs.AXLES:
        rates = (120000.0, 87500.0, 40000.0, math.inf, 120000.0 if is_strict else NAN)
        lateral = draw(st.sampled_from((0.0, 250.0, 400.0, 250.0 if is_strict else NAN)))
        job = with_value(job, f"present.{axle}_lowest_on", draw(st.sampled_from(("axle", "frame"))))
        job = with_value(job, f"present.{axle}_lowest_lateral_mm", lateral)
        job = with_value(job, f"axle.{axle}.spring_rate_n_per_m", draw(st.sampled_from(rates)))
    return job


@st.composite
def end_of_travel(draw, name):
    """A state at the end of the travel of a live axle, with rooms that some tilted tires have."""
    rooms = ("room_inner_mm", "room_outer_mm")
    return jobs.State(
        travel_mm=draw(st.sampled_from((76.2, 50.0, 40.0))) * (1 if name == "full_bump" else -1),
        hub_to_top_mm=draw(st.sampled_from((460.0, 440.0, 425.0))),
        **{room: draw(st.sampled_from((240.0, 240.0, 216.0, 185.0))) for room in rooms},
    )


@st.composite
def with_tolerances(draw, job):
    """A job of which the worst case must hold; without what has no worst case here, its axles weighed whole."""
    own = draw(some_of(OWN_TOLERANCES, 3))
    whole = {f"{axle}_axle_kg": job.loads.axle_kg(axle) for axle in jobs.AXLES}
    pads = {f"{axle}_{side}_kg": NAN for axle in jobs.AXLES for side in ("left", "right")}
    return dataclasses.replace(
        job,
        loads=dataclasses.replace(job.loads, **whole, **pads),
        targets=dataclasses.replace(job.targets, fit="worst"),
        tolerance=jobs.Tolerance(
            draw(st.sampled_from((0.0, 1.5, 3.175))),
            draw(st.sampled_from((0.0, 2.5))),
            draw(st.sampled_from((0.0, 0.5))),
            draw(st.sampled_from(("standard", "none"))),
        ),
        tolerances={path: OWN_TOLERANCES[path] for path in own},
    )


NO_WORST_CASE = {
    f"targets.{name}"
    for name in ("cruise", "start_grade_ppm", "pull_grade_ppm", "hold_grade_ppm", "speedometer_error_ppm")
}
OWN_TOLERANCES = {
    "wheelhouse.front.room_inner_mm": 6.35,
    "wheelhouse.rear.room_outer_mm": 0.0,
    "wheelhouse.front.full_bump.hub_to_top_mm": 6.0,
    "wheelhouse.rear.opening_ahead_mm": 8.0,
    "wheelhouse.front.sweep_behind_mm": 8.0,
    "brakes.front.envelope_diameter_mm": 1.0,
    "hub.rear.pilot_mm": 0.05,
    "hub.front.stud_length_mm": 0.5,
    "hub.front.pilot_mm": 0.05,
    "hub.front.stud_diameter_mm": 0.1,
    "brakes.front.caliper_reach_mm": 1.0,
    "axle.rear.track_mm": 2.0,
    "present.front_offset_mm": 1.0,
    "present.rear_offset_mm": 0.5,
    "steering.scrub_radius_mm": 2.0,
    "present.front_hub_height_mm": 4.0,
    "present.rear_ground_clearance_mm": 2.0,
    "present.front_lowest_lateral_mm": 10.0,
    "wheelhouse.rear.laid_out.travel_mm": 3.0,
    "loads.front_axle_kg": 10.0,
    "loads.rear_axle_kg": 4.5,
    "present.rear_wheel_and_tire_kg": 0.25,
    "present.spare_kg": 1.0,
    "spare.well_diameter_mm": 1.0,
}


@st.composite
def rankings(draw):
    """Weights, or an order, or neither."""
    way = draw(st.sampled_from(("weights", "order", "neither")))
    names = draw(st.permutations(jobs.CRITERIA))[: draw(st.integers(1, len(jobs.CRITERIA)))]
    if way == "weights":
        weights = {name: draw(st.integers(0, 5)) for name in names}
        return {"weights": {**weights, names[0]: weights[names[0]] or 1}}
    return {"order": jobs.Order(tuple(names))} if way == "order" else {}


@st.composite
def prices(draw):
    """The budget, and what comes on top of the parts."""
    everything = ("parts", "freight", "labor", "fees")
    return jobs.Money(
        budget_cents=draw(st.sampled_from((None, None, 280000, 220000))),
        prices=draw(st.sampled_from(("selling", "selling", "cost"))),
        markup=jobs.Markup(*draw(st.sampled_from(((0,) * 7, (250000, 300000, 333333, 0, 150000, 1250, 400000))))),
        tax_by=draw(st.sampled_from(("line", "line", "invoice"))),
        lines=tuple(line for line in OWN_LINES if draw(seldom(False, True))),
        tax_ppm=draw(st.sampled_from((0, 82500))),
        taxed=draw(st.sampled_from((("parts",), ("parts",), everything, everything[1:], everything[::2], ()))),
        labor_per_hour_cents=draw(st.sampled_from((0, 9501))),
        mount_and_balance_cents=draw(st.sampled_from((0, 1750))),
        lug_nut_cents=draw(st.sampled_from((0, 199))),
        hub_ring_cents=draw(st.sampled_from((0, 899))),
        install_kit_cents=draw(st.sampled_from((0, 12005))),
        tire_disposal_cents=draw(st.sampled_from((0, 350))),
        freight_cents_per_kg=draw(st.sampled_from((0.0, 33.37, 120.0))),
    )


OWN_LINES = (
    jobs.MoneyLine("shop supplies", 1995),
    jobs.MoneyLine("tire fee", 125, "tire", taxed=False),
    jobs.MoneyLine("valve", 449, "wheel"),
    jobs.MoneyLine("gear oil", 3333, "axle"),
)


@st.composite
def suppliers(draw):
    """Terms of the suppliers: none, of one or of two."""
    return tuple(
        jobs.Supplier(
            name,
            freight_cents=draw(st.sampled_from((None, 0, 2500, 7999))),
            freight_free_from_cents=draw(st.sampled_from((None, 0, 50000, 90000))),
            least_order_cents=draw(st.sampled_from((None, None, 20000, 60000))),
            markup_ppm=draw(st.sampled_from((None, 0, 200000))),
        )
        for name in draw(st.sampled_from(((), ("north",), ("south", "north"))))
    )


STARTS = (
    {},
    {"stall_speed_rpm": 2200.0, "stall_ratio": 1.8},
    {"stall_speed_rpm": 2200.0, "stall_ratio": 1.8, "clutch_rating_n_m": 500.0},
    {"clutch_rating_n_m": 350.0, "clutch_rpm": 1500.0, "stall_ratio": 1.8},
    {"clutch_rating_n_m": 500.0, "clutch_rpm": 2500.0},
    {"stall_speed_rpm": 900.0, "stall_ratio": 1.8, "clutch_rating_n_m": 500.0, "clutch_rpm": 2500.0},
)
"""How the truck sets off: not known, a converter, a clutch, or a stall speed that the torque curve does not reach."""


@st.composite
def gearboxes(draw, has_gaps):
    """A transmission with its gears; in some jobs with a converter that locks up."""
    return jobs.Transmission(
        cruise_gear=draw(absent_or(has_gaps, 0.7, 1.0)),
        gears=draw(st.sampled_from(((3.0, 1.5, 1.0, 0.7), (2.5, 1.5, 1.0)))),
        converter_slip=draw(st.sampled_from((0.0, 0.03))),
        lock_up=draw(seldom(False, True)),
        **draw(st.sampled_from(STARTS)),
    )


CURVE = ((1000.0, 350.0), (2000.0, 420.0), (3500.0, 380.0), (5000.0, 300.0))
PRESENT = {
    "spare_kg": 25.0,
    "front_offset_mm": 10.0,
    "rear_offset_mm": 10.0,
    "front_hub_height_mm": 350.0,
    "rear_hub_height_mm": 355.0,
}
BRAKE = jobs.Brake(330.0, 20.0)


@st.composite
def plain_jobs(draw):
    """A job whose limits are from pools; in most nothing measured is absent."""
    is_strict = draw(st.sampled_from((False, False, False, True)))
    has_gaps = not is_strict and draw(st.sampled_from((False, False, True)))
    hub, house = draw(hubs(has_gaps)), draw(wheelhouses(has_gaps))
    trailer, gcwr = draw(trailers(has_gaps))
    job = jobs.Job(
        job=jobs.About("drawn", same_all_round=draw(st.booleans()), spare=draw(st.booleans()), strict=is_strict),
        truck=jobs.Truck(
            3000.0,
            gcwr_kg=gcwr,
            gawr_front_kg=draw(absent_or(has_gaps, 1400.0, 1300.0)),
            gawr_rear_kg=draw(absent_or(has_gaps, 1500.0, 1200.0)),
            gvwr_kg=2800.0,
            payload_kg=600.0,
            cg_height_mm=draw(st.sampled_from((NAN, 700.0, 700.0))),
            drag_coefficient=0.55,
            frontal_area_m2=3.0,
        ),
        hub=jobs.Hubs(hub, draw(st.one_of(st.just(hub), st.just(hub), hubs(has_gaps)))),
        wheelhouse=jobs.Wheelhouses(house, draw(st.one_of(st.just(house), wheelhouses(has_gaps)))),
        steering=jobs.Steering(30.0, kingpin_inclination_deg=8.0, scrub_radius_mm=5.0),
        brakes=jobs.Brakes(BRAKE, BRAKE),
        spare=jobs.Spare(780.0, 280.0, station_mm=-1200.0),
        present=jobs.Present(
            draw(absent_or(has_gaps, 26.0, 24.0)),
            draw(absent_or(has_gaps, 26.0, 24.0)),
            **PRESENT,
            front_spacer_kg=draw(seldom(0.0, 1.25)),
            rear_spacer_kg=draw(seldom(0.0, 2.0)),
            front_ground_clearance_mm=draw(seldom(220.0, 150.0, 142.0)),
            rear_ground_clearance_mm=draw(seldom(226.0, 147.0, 155.5)),
            front_tire_diameter_mm=draw(st.sampled_from((NAN, NAN, 733.0, 742.5))),
            rear_tire_diameter_mm=draw(st.sampled_from((NAN, NAN, 733.0, 722.5, 710.0))),
        ),
        axle=jobs.Axles(
            *((draw(st.sampled_from(("8.8", ""))), draw(st.sampled_from((31, 0)))) if has_gaps else ("8.8", 31))
        ),
        engine=jobs.Engine(6000.0, tuple(jobs.TorquePoint(*point) for point in CURVE)),
        transmission=draw(gearboxes(has_gaps)),
        driveshaft=jobs.Driveshaft(diameter_mm=76.2, wall_mm=1.65),
        speedometer=jobs.Speedometer(
            3.55,
            draw(st.sampled_from((700.0, 700.0, NAN))),
            draw(st.sampled_from((1000000, 1000000, 1020000, 955000))),
            18,
            (17, 19, 20),
        ),
        rolling=jobs.Rolling(draw(st.sampled_from((NAN, NAN, 1.0, 0.96)))),
        surface=draw(
            st.sampled_from(
                (
                    jobs.Surface(),
                    jobs.Surface(0.2, 0.6),
                    jobs.Surface(0.2, 0.6),
                    jobs.Surface(0.2, 0.6),
                    jobs.Surface(0.35, NAN),
                )
            )
        ),
        loads=draw(carried(has_gaps, trailer)),
        trailer=trailer,
        ballast=draw(ballast_plans()),
        targets=draw(targets(is_strict)),
        money=draw(prices()),
        suppliers=draw(suppliers()),
        scales=jobs.Scales(
            draw(st.sampled_from((None, 250000))),
            draw(st.sampled_from((NAN, 400.0))),
            draw(st.sampled_from((101.6, 20.0))),
            draw(st.sampled_from((1000.0, 120.0))),
        ),
        **draw(rankings()),
    )
    job = draw(with_bar(draw(with_live_axles(job, is_strict)), is_strict))
    job = draw(with_lowest_points(job, is_strict))
    return draw(with_gaps_in(job)) if has_gaps else job


def size_of(job, raw):
    """An upper bound of how many builds there are."""
    slots = len(raw["ballast"]) * len(job.ballast.stations)
    loadings = math.comb(slots + job.ballast.max_items, slots)
    pairs = len(raw["wheels"]) * len(raw["tires"])
    corners = pairs if job.job.same_all_round else pairs**2
    ratios, differentials = (len(at_every_axle(job, raw[plural])) for plural in ("ratios", "differentials"))
    return corners * (len(raw["spacers"]) + 1) ** 2 * ratios * differentials * loadings


def small_enough(job, raw):
    """The lists without their last parts, until their builds may be enumerated."""
    raw = dict(raw)
    while size_of(job, raw) > MOST_BUILDS:
        longest = max(CHOSEN, key=lambda plural: (len(raw[plural]) - LEAST[plural], -PLURALS.index(plural)))
        raw[longest] = raw[longest][:-1]
    return raw


def at_budget(job, build):
    """The job with a budget that the build just meets."""
    return dataclasses.replace(job, money=dataclasses.replace(job.money, budget_cents=build["cost_cents"]))


def at_rear_load(job, build):
    """The job with a wanted rear load that the build just has."""
    if build["rear_light_g"] is None:
        return job
    return dataclasses.replace(job, targets=dataclasses.replace(job.targets, rear_load_kg=build["rear_light_g"] / 1000))


def at_axle_ratings(job, build):
    """The job with axle ratings that the build just keeps."""
    heavy = {axle: build[f"{axle}_heavy_g"] for axle in jobs.AXLES}
    ratings = {f"gawr_{axle}_kg": grams / 1000 for axle, grams in heavy.items() if grams is not None}
    return dataclasses.replace(job, truck=dataclasses.replace(job.truck, **ratings))


def at_engine_speed(job, build):
    """The job with a band whose end is the build's engine speed."""
    if build["cruise_rpm"] is None:
        return job
    rpm = 2 * round(float(build["cruise_rpm"]) / 2, 3)  # so that the middle of the band is no half of a thousandth
    end = "cruise_max_rpm" if job.targets.cruise_min_rpm < rpm else "cruise_min_rpm"
    return dataclasses.replace(job, targets=dataclasses.replace(job.targets, **{end: rpm}))


def at_truck_ratings(job, build):
    """The job with a rating of the whole truck, and of its payload, that the build just keeps."""
    heavy = {"gvwr_kg": build["truck_heavy_g"], "payload_kg": build["payload_g"]}
    ratings = {name: grams / 1000 for name, grams in heavy.items() if grams is not None and grams > 0}
    return dataclasses.replace(job, truck=dataclasses.replace(job.truck, **ratings))


def tires_of(build):
    """The tires of a build by axle."""
    return {axle: build["truck"][axle]["tire"] for axle in jobs.AXLES}


def at_start_grade(job, build):
    """The job with a grade on which the build can just start."""
    steepest = steepest_grade(job, tires_of(build), build["drive"], build["laden_g"])
    return job if steepest is None or steepest <= 0 else with_value(job, "targets.start_grade_ppm", steepest)


def at_pull_grade(job, build):
    """The job with the steepest grade, to a tenth of a per cent, that the build is known to be pulled up."""
    for grade in range(1000, 1000000, 1000):
        steeper = with_value(job, "targets.pull_grade_ppm", grade)
        if pull(steeper, tires_of(build), build["drive"], build["train_heavy_g"], build["laden_g"]) is not True:
            break
        job = steeper
    return job


def at_hold_grade(job, build):
    """The job with the steepest grade, to a tenth of a per cent, on which the build holds its speed at cruise."""
    for grade in range(1000, 1000000, 1000):
        steeper = with_value(job, "targets.hold_grade_ppm", grade)
        most = held_g(steeper, build["truck"]["rear"]["tire"], build["drive"]["ratio"])[-1]
        if is_absent(most, build["train_heavy_g"]) or most < build["train_heavy_g"]:
            break
        job = steeper
    return job


def at_driveshaft(job, build):
    """The job with a driveshaft of which the build uses just the share that it may."""
    job = with_value(job, "driveshaft.length_mm", 1500.0)
    if math.isnan(job.targets.top_speed_km_h) or math.isnan(job.driveshaft.diameter_mm + job.driveshaft.wall_mm):
        return job
    tire, ratio = build["truck"]["rear"]["tire"], build["drive"]["ratio"]
    rpm = at_most_turning(job, tire, ratio, job.targets.top_speed_km_h, 1, 0).value
    share = 0.75 if rpm is None else math.ceil(1000000 * float(rpm) / critical_rpm(job.driveshaft)) / 1000000
    return with_value(job, "driveshaft.share", share)


def at_trailer(job, build):
    """The job with a rating of truck and trailer that the build just keeps, and a hitch of just the trailer's mass."""
    if math.isnan(job.trailer.mass_kg) or is_absent(build["train_heavy_g"]):
        return job
    job = with_value(job, "truck.gcwr_kg", build["train_heavy_g"] / 1000)
    return with_value(job, "trailer.hitch_rating_kg", job.trailer.mass_kg)


def at_front_share(job, build):
    """The job with the largest share in thousandths that the build's front axle has."""
    for share in range(400000, 1000000, 1000):
        more = with_value(job, "targets.front_share_ppm", share)
        if front_share_verdict(more, build["truck"]["cases"], build["loading"], 0) is not True:
            break
        job = more
    return job


def at_redline(job, build):
    """The job with a redline that is the build's engine speed at top speed."""
    gear = min(job.transmission.gears, default=job.transmission.cruise_gear)
    tire, ratio = build["truck"]["rear"]["tire"], build["drive"]["ratio"]
    rpm = engine_rpm(job, tire, ratio, job.targets.top_speed_km_h, gear, top_slip(job))
    return job if rpm is None else with_value(job, "engine.redline_rpm", round(float(rpm), 3))


def at_ground(job, build):
    """The job with a ground clearance that the lower axle of the build just has."""
    clearances = [
        ground_clearance_mm(job, axle, build["truck"][axle], build["tires"], build[f"{axle}_heavy_g"]).size
        for axle in jobs.AXLES
    ]
    known = [clearance for clearance in clearances if clearance is not None]
    return with_value(job, "targets.ground_clearance_mm", math.floor(1000 * min(known)) / 1000) if known else job


def at_speedometer(job, build):
    """The job with a limit on the speedometer's error that the build just keeps."""
    tire, ratio = build["truck"]["rear"]["tire"], build["drive"]["ratio"]
    error = speedometer_error(job, tire, ratio, build["tires"])
    limit = 0 if error is None else math.ceil(1000000 * abs(error))
    return with_value(job, "targets.speedometer_error_ppm", limit) if limit else job


def at_orders(job, build):
    """The job with suppliers that take just the orders of the build, or send them without freight from there on."""
    orders = orders_cents(build["basket"])
    terms = [
        dataclasses.replace(one, least_order_cents=orders[one.name], freight_free_from_cents=orders[one.name])
        if one.name in orders
        else one
        for one in job.suppliers
    ]
    return dataclasses.replace(job, suppliers=tuple(terms))


def at_moved_out(job, build):
    """The job with limits on the track and on the load's line that the wheels of the build just keep."""
    outs = {}
    for axle in jobs.AXLES:
        corner = build["truck"][axle]
        outs[axle] = moved_out_mm(job, axle, corner["wheel"], corner["spacer"]).value
        if is_absent(outs[axle]) or math.isnan(getattr(job.axle, axle).track_mm):
            continue
        limit = exact(getattr(job.axle, axle).track_mm) + 2 * outs[axle]
        job = with_value(job, f"targets.{axle}_track_max_mm", math.ceil(1000 * limit) / 1000)
    most = None if is_absent(*outs.values()) else max(outs.values())
    return job if most is None else with_value(job, "targets.load_line_max_mm", math.ceil(1000 * most) / 1000)


def at_axle_torque(job, build):
    """The job with a rating of each driven axle, in whole newton meters, that the build just keeps."""
    for axle, own in build["drive"]["axles"].items():
        slips = slip_n_m(job, axle, tires_of(build)[axle], build[f"{axle}_heavy_g"], 0)
        known = [torque for torque in (stall_n_m(job, own["ratio"]), slips) if torque is not None]
        if known:
            job = with_value(job, f"axle.{axle}.torque_rating_n_m", float(math.ceil(min(known))))
    return job


def at_axle_match(job, build):
    """The job with a figure of the transfer case's maker within which the axles of the build just turn."""
    if "front" not in build["drive"]["axles"]:
        return job
    apart = math.ceil(1000000 * turned_apart(job, tires_of(build), build["drive"])[1])
    return with_value(job, "transmission.speed_match_ppm", apart) if 0 < apart < 200000 else job


TOUCHES = (at_budget, at_rear_load, at_axle_ratings, at_engine_speed, at_truck_ratings, at_orders, at_trailer)
NOMINAL_TOUCHES = (
    at_start_grade,
    at_pull_grade,
    at_front_share,
    at_redline,
    at_ground,
    at_speedometer,
    at_hold_grade,
    at_driveshaft,
    at_moved_out,
    at_axle_torque,
    at_axle_match,
)


@st.composite
def drawn_jobs(draw):
    """A job and its raw parts; some limits are set to what one of its builds just meets. Few have no build at all."""
    may_be_empty = draw(seldom(False, True))
    job, raw, builds = draw(jobs_with_builds())
    while not builds and not may_be_empty:
        job, raw, builds = draw(jobs_with_builds())
    at, every = draw(st.integers(0, 9999)), TOUCHES if job.targets.fit == "worst" else TOUCHES + NOMINAL_TOUCHES
    touches = draw(st.lists(st.sampled_from(every), max_size=6))
    for touch in touches if builds else []:
        job = touch(job, builds[at % len(builds)])
    return draw(with_sides(job)), raw


@st.composite
def with_sides(draw, job):
    """A job of which some rooms were measured on both sides of the truck, the smaller as before."""
    sides, offs = {}, {}
    for axle, room in itertools.product(jobs.AXLES, jobs.ROOMS):
        house = getattr(job.wheelhouse, axle)
        owners = {f"wheelhouse.{axle}": house}
        owners |= {f"wheelhouse.{axle}.{name}": own for name, own in house.states().items()}
        for path, own in owners.items():
            smaller = getattr(own, room)
            if not math.isnan(smaller) and draw(st.sampled_from((False,) * 9 + (True,))):
                both = [smaller, smaller + draw(st.sampled_from((0.0, 3.175, 6.35, 12.7)))]
                sides[f"{path}.{room}"] = tuple(both[::-1] if draw(st.sampled_from((False, True))) else both)
                if job.tolerances and draw(st.sampled_from((False, True))):
                    offs[f"{path}.{room}.{draw(st.sampled_from(jobs.SIDES))}"] = 2.0
    return dataclasses.replace(job, sides=sides, tolerances={**job.tolerances, **offs})


@st.composite
def jobs_with_builds(draw):
    """A job, its raw parts, and its builds if there are any."""
    job = draw(plain_jobs())
    job, raw = draw(with_driven_axles(job, {plural: draw(part_lists(plural)) for plural in PLURALS}))
    raw = small_enough(job, raw)
    job, raw = draw(with_names(job, raw))
    values = draw(tight_values())
    if draw(seldom(False, True, False)):
        values = [(path, value) for path, value in values if path not in NO_WORST_CASE]
        job = draw(with_tolerances(job))
    job, builds = tightened(job, raw, values)
    return job, raw, builds


def small_jobs():
    """Strategy of a job and its raw parts, from a seed."""
    return strategies.integers(0, 2**64 - 1).map(lambda seed: drawn_jobs()(random.Random(seed)))


# Part tables


def columns_of(part):
    """A raw part under the names of the part tables."""
    renamed = {
        "lugs": "bolt_circle_lugs",
        "circle_mm": "bolt_circle_mm",
        "wheel_lugs": "wheel_bolt_circle_lugs",
        "wheel_circle_mm": "wheel_bolt_circle_mm",
    }
    return {renamed.get(name, name): value for name, value in part.items()}


def table_of(plural, parts):
    """The part table of a kind as reading leaves it before settling."""
    rows = [columns_of(part) for part in parts]
    columns = {}
    for field in KINDS[plural].fields:
        is_text = field.is_text
        for column in field.columns:
            values = [row.get(column) for row in rows]
            if is_text:
                columns[column] = pd.Series([value or "" for value in values], dtype=object)
            else:
                columns[column] = pd.Series(
                    [NAN if value is None else float(value) for value in values], dtype="float64"
                )
    columns["file"] = pd.Series([f"{plural}.csv" for _ in rows], dtype=object)
    columns["sheet"] = pd.Series(["" for _ in rows], dtype=object)
    columns["row"] = pd.Series(range(2, len(rows) + 2), dtype="int64")
    return pd.DataFrame(columns)


def parts_of(job, raw):
    """Part tables of raw parts, settled as reading settles them for a job."""
    report = ListReport()
    running = [NAN if tire["running_diameter_mm"] is None else tire["running_diameter_mm"] for tire in raw["tires"]]
    tables = {plural: table_of(plural, raw[plural]) for plural in PLURALS}
    tables["wheels"] = settle.settle_wheels(tables["wheels"], report)
    tables["tires"] = settle.settle_tires(tables["tires"], report).assign(running_diameter_mm=running)
    tables["ratios"] = settle.settle_ratios(tables["ratios"], report)
    tables["differentials"] = settle.settle_differentials(tables["differentials"], report)
    parts = for_driven_axles(job, Parts(**tables), "job.toml", report)
    assert not report.problems, report.problems
    return parts

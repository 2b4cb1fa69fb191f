"""Small jobs drawn for the oracle: values from short pools that sit on limits and tie, some absent.

`small_jobs` draws a job with its raw parts: a dict of lists of dicts, in SI, None where a value is absent.
"""

import dataclasses
import math

import pandas as pd
from enumeration import enumerate_builds
from hypothesis import assume
from hypothesis import strategies as st

from combo import job as jobs
from combo.parts import KINDS, Parts
from combo.problems import Report
from combo.read import settle
from combo.units import BoltCircle

NAN = float("nan")
MOST_BUILDS = 12000
PLURALS = ("wheels", "tires", "spacers", "ratios", "differentials", "ballast")
SKUS = ("B", "A-10", "A-2", "a-1", "0")

PLAIN = {
    "wheels": {
        "rim_diameter_mm": (381.0,),
        "rim_width_mm": (203.2, 203.2, 177.8),
        "lugs": (5,),
        "circle_mm": (114.3, 114.3, 114.4),
        "hub_bore_mm": (73.1, 71.5),
        "offset_mm": (0.0, 0.0, 6.0, 12.0, -12.7),
        "load_rating_kg": (700.0, 700.0, 650.0),
        "mass_kg": (10.0, 10.0, 10.535),
        "price_cents": (10000, 10000, 9999, 12345),
    },
    "tires": {
        "rim_diameter_mm": (381.0, 381.0, 382.0),
        "section_width_mm": (235.0, 235.0, 225.0),
        "measuring_rim_mm": (203.2, 203.2, 177.8),
        "overall_diameter_mm": (733.0, 733.0, 705.5),
        "rim_width_min_mm": (165.1, 177.8),
        "rim_width_max_mm": (228.6, 203.2),
        "load_rating_kg": (800.0, 800.0, 670.0),
        "service": ("passenger", "light_truck"),
        "speed_symbol": ("S", "H"),
        "revs_per_mile": (None, None, 715.0),
        "mass_kg": (14.0, 14.0, 15.25),
        "price_cents": (15000, 15000, 14999, 18001),
    },
    "spacers": {
        "thickness_mm": (6.0, 25.4),
        "lugs": (5,),
        "circle_mm": (114.3, 114.3, 114.4),
        "wheel_lugs": (None, None, 5),
        "wheel_circle_mm": (114.3,),
        "pilot_mm": (None, 71.5, 73.1),
        "mass_kg": (0.5, 1.25),
        "price_cents": (0, 2500, 3333),
    },
    "ratios": {
        "ratio": (3.55, 3.73, 4.1),
        "ring_gear": ("8.8",),
        "labor_hours": (2.0, 1.5, None),
        "price_cents": (20000, 20000, 17499),
    },
    "differentials": {
        "type": ("open", "limited_slip", "limited_slip", "locked"),
        "ratio_min": (3.0, 3.0, 3.55),
        "ratio_max": (4.5, 4.5, 4.1),
        "ring_gear": ("8.8",),
        "splines": (31,),
        "bias_ratio": (2.5, 3.5, None),
        "labor_hours": (1.0, 3.5, None),
        "price_cents": (0, 40000, 40000, 51250),
    },
    "ballast": {
        "mass_kg": (20.0, 25.0, 22.68, 22.68),
        "max_count": (None, None, 1, 2),
        "price_cents": (500, 500, 0, 799),
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
        "load_rating_kg": (None, 560.0),
        "mass_kg": (None,),
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
        "speed_symbol": ("", "Q"),
        "revs_per_mile": (690.0,),
        "mass_kg": (None,),
    },
    "spacers": {
        "lugs": (6,),
        "wheel_lugs": (6,),
        "wheel_circle_mm": (120.65,),
        "pilot_mm": (74.0,),
        "mass_kg": (None,),
    },
    "ratios": {"ring_gear": ("9", "")},
    "differentials": {
        "ratio_min": (None, 3.73),
        "ratio_max": (None, 3.73),
        "ring_gear": ("9", ""),
        "splines": (None, 28),
    },
    "ballast": {},
}
SIZES = {
    "wheels": (2, 3, 1),
    "tires": (2, 3, 1),
    "spacers": (0, 1),
    "ratios": (2, 1),
    "differentials": (2, 1),
    "ballast": (1, 2, 0),
}
LEAST = {plural: min(sizes) for plural, sizes in SIZES.items()}


@st.composite
def part_lists(draw, plural):
    """A list of a kind, in an order that is not the SKUs'; a part may equal the one before under another SKU."""
    skus = draw(st.permutations(SKUS))[: draw(st.sampled_from(SIZES[plural]))]
    parts = []
    for sku in skus:
        if parts and draw(st.sampled_from((False, False, True))):
            parts.append({**parts[-1], "sku": sku})
        else:
            parts.append({"sku": sku, **draw(part_values(plural))})
    return parts


@st.composite
def part_values(draw, plural):
    """Values of a part; in one of four a few are odd: they fail a check, or they are absent."""
    values = {column: draw(st.sampled_from(pool)) for column, pool in PLAIN[plural].items()}
    if ODD[plural] and draw(st.sampled_from((False, False, False, True))):
        for column in draw(st.lists(st.sampled_from(sorted(ODD[plural])), min_size=1, max_size=3, unique=True)):
            values[column] = draw(st.sampled_from(ODD[plural][column]))
    if plural == "spacers" and values["wheel_lugs"] is None:
        values["wheel_circle_mm"] = None
    return values


def seldom(*pool):
    """Strategy of a value that mostly is the first of its pool."""
    return st.sampled_from((pool[0],) * 2 * len(pool) + pool)


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
        clearance_inner_mm=draw(st.sampled_from((12.7, 12.7, 0.0))),
        clearance_outer_mm=draw(st.sampled_from((12.7, 12.7, 25.4, 0.0))),
        clearance_top_mm=draw(st.sampled_from((25.4, 25.4, 2.5))),
    )


@st.composite
def hubs(draw, has_gaps):
    """Hub that the wheels fit; sometimes one whose pattern only an adapter or an odd wheel has."""
    circle = draw(seldom(114.3, 120.65))
    return jobs.Hub(BoltCircle(5, circle), pilot_mm=draw(absent_or(has_gaps, 71.5, 70.0)))


@st.composite
def carried(draw, has_gaps):
    """Scale loads and what is carried besides, in named cases or in all."""
    items = (
        jobs.LoadItem("driver", 80.0, 1500.0),
        jobs.LoadItem("cargo", 200.0, -300.0, ("loaded",)),
        jobs.LoadItem("toolbox", 45.5, 400.0, ("loaded", "shop")),
    )
    return jobs.Loads(
        front_axle_kg=draw(absent_or(has_gaps, 1100.0, 1000.5)),
        rear_axle_kg=draw(absent_or(has_gaps, 900.0, 812.345)),
        items=tuple(item for item in items if draw(st.booleans())),
    )


@st.composite
def ballast_plans(draw):
    """One or two stations, ahead of the rear axle and behind it."""
    masses = st.sampled_from((NAN, 45.36, 40.0, 68.04))
    stations = (
        jobs.Station("over the axle", 250.0, draw(masses)),
        jobs.Station("tailgate", -600.0, draw(masses)),
    )
    chosen = draw(st.sampled_from((stations[:1], stations, stations[::-1])))
    return jobs.BallastPlan(draw(st.sampled_from((3, 2, 1, 0))), chosen)


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
def plain_jobs(draw):
    """A job whose limits are from pools; in most nothing measured is absent."""
    is_strict = draw(st.sampled_from((False, False, False, True)))
    has_gaps = not is_strict and draw(st.sampled_from((False, False, True)))
    hub, house = draw(hubs(has_gaps)), draw(wheelhouses(has_gaps))
    return jobs.Job(
        job=jobs.About("drawn", same_all_round=draw(st.booleans()), spare=draw(st.booleans()), strict=is_strict),
        truck=jobs.Truck(
            3000.0,
            gawr_front_kg=draw(absent_or(has_gaps, 1400.0, 1300.0)),
            gawr_rear_kg=draw(absent_or(has_gaps, 1500.0, 1200.0)),
            cg_height_mm=draw(st.sampled_from((NAN, 700.0))),
        ),
        hub=jobs.Hubs(hub, draw(st.one_of(st.just(hub), st.just(hub), hubs(has_gaps)))),
        wheelhouse=jobs.Wheelhouses(house, draw(st.one_of(st.just(house), wheelhouses(has_gaps)))),
        present=jobs.Present(draw(absent_or(has_gaps, 26.0, 24.0)), draw(absent_or(has_gaps, 26.0, 24.0))),
        axle=jobs.RearAxle(*((draw(st.sampled_from(("8.8", ""))), draw(st.sampled_from((31, 0)))) if has_gaps
                             else ("8.8", 31))),
        transmission=jobs.Transmission(draw(absent_or(has_gaps, 0.7, 1.0)), draw(st.sampled_from((0.0, 0.03)))),
        rolling=jobs.Rolling(draw(st.sampled_from((1.0, 0.97)))),
        surface=draw(st.sampled_from((jobs.Surface(), jobs.Surface(0.2, 0.6), jobs.Surface(0.35, NAN)))),
        loads=draw(carried(has_gaps)),
        ballast=draw(ballast_plans()),
        targets=draw(targets(is_strict)),
        money=jobs.Money(
            draw(st.sampled_from((None, 260000, 200000))),
            draw(st.sampled_from((0, 82500))),
            draw(st.sampled_from((0, 9501))),
            draw(st.sampled_from((0, 1750))),
        ),
        scales=jobs.Scales(
            draw(st.sampled_from((None, 250000))),
            draw(st.sampled_from((NAN, 400.0))),
            draw(st.sampled_from((101.6, 20.0))),
            draw(st.sampled_from((1000.0, 120.0))),
        ),
        **draw(rankings()),
    )  # fmt: skip


def size_of(job, raw):
    """An upper bound of how many builds there are."""
    slots = len(raw["ballast"]) * len(job.ballast.stations)
    loadings = math.comb(slots + job.ballast.max_items, slots)
    pairs = len(raw["wheels"]) * len(raw["tires"])
    corners = pairs if job.job.same_all_round else pairs**2
    return corners * (len(raw["spacers"]) + 1) ** 2 * len(raw["ratios"]) * len(raw["differentials"]) * loadings


def small_enough(job, raw):
    """The lists without their last parts, until their builds may be enumerated."""
    raw = dict(raw)
    while size_of(job, raw) > MOST_BUILDS:
        longest = max(PLURALS, key=lambda plural: (len(raw[plural]) - LEAST[plural], -PLURALS.index(plural)))
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
    rpm = round(float(build["cruise_rpm"]), 3)
    end = "cruise_max_rpm" if job.targets.cruise_min_rpm < rpm else "cruise_min_rpm"
    return dataclasses.replace(job, targets=dataclasses.replace(job.targets, **{end: rpm}))


TOUCHES = (at_budget, at_rear_load, at_axle_ratings, at_engine_speed)


@st.composite
def small_jobs(draw):
    """A job and its raw parts; some limits are set to what one of its builds just meets. Few have no build at all."""
    job = draw(plain_jobs())
    raw = small_enough(job, {plural: draw(part_lists(plural)) for plural in PLURALS})
    touches = draw(st.lists(st.sampled_from(TOUCHES), max_size=2, unique=True))
    at, may_be_empty = draw(st.integers(0, 9999)), draw(st.sampled_from((False,) * 7 + (True,)))
    builds = enumerate_builds(job, **raw)
    assume(builds or may_be_empty)
    for touch in touches if builds else []:
        job = touch(job, builds[at % len(builds)])
    return job, raw


# Part tables


def columns_of(part):
    """A raw part under the names of the part tables."""
    renamed = {"lugs": "bolt_circle_lugs", "circle_mm": "bolt_circle_mm",
               "wheel_lugs": "wheel_bolt_circle_lugs", "wheel_circle_mm": "wheel_bolt_circle_mm"}  # fmt: skip
    return {renamed.get(name, name): value for name, value in part.items()}


def table_of(plural, parts):
    """The part table of a kind as reading leaves it before settling."""
    rows = [columns_of(part) for part in parts]
    columns = {}
    for field in KINDS[plural].fields:
        is_text = field.type in {"text", "word"}
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


def parts_of(raw):
    """Part tables of raw parts, settled as reading settles them."""
    report = Report()
    tables = {plural: table_of(plural, raw[plural]) for plural in PLURALS}
    tables["wheels"] = settle.settle_wheels(tables["wheels"], report)
    tables["tires"] = settle.settle_tires(tables["tires"], report)
    tables["ratios"] = settle.settle_ratios(tables["ratios"], report)
    tables["differentials"] = settle.settle_differentials(tables["differentials"], report)
    assert not report.problems, report.problems
    return Parts(**tables)

"""A small job and one part of each kind, all round numbers, of which a test changes what it is about."""

import math

import numpy as np
import pandas as pd

from combo import job as jobs
from combo.checks import CHECKS, rows
from combo.checks.check import each_side, judged, verdict_of, worst_side
from combo.checks.rows import NO_SPACER, Chosen, Picks, slots
from combo.checks.run import results
from combo.checks.table import Pairs
from combo.parts import KINDS, Parts
from combo.read import settle
from combo.read.report import ListReport
from combo.units import BoltCircle

NAN = math.nan
HUB = jobs.Hub(BoltCircle(5, 114.3), pilot_mm=71.5, stud_length_mm=40.0, stud_diameter_mm=12.7)
HOUSE = jobs.Wheelhouse(200.0, 190.0, 430.0, 460.0, 450.0, 450.0, 500.0, 500.0, 400.0)
BY_ID = {check.id: check for check in CHECKS}

WHEEL = {
    "sku": "W",
    "rim_diameter_mm": 381.0,
    "rim_width_mm": 200.0,
    "bolt_circle_lugs": 5,
    "bolt_circle_mm": 114.3,
    "hub_bore_mm": 71.5,
    "offset_mm": 0.0,
    "flange_mm": 12.5,
    "barrel_diameter_mm": 340.0,
    "spoke_clearance_mm": 30.0,
    "pad_mm": 12.0,
    "load_rating_kg": 700.0,
    "mass_kg": 10.0,
    "price_cents": 10000,
    "style": "slot",
    "on_truck": "no",
}
TIRE = {
    "sku": "T",
    "rim_diameter_mm": 381.0,
    "section_width_mm": 240.0,
    "measuring_rim_mm": 200.0,
    "overall_diameter_mm": 740.0,
    "rim_width_min_mm": 165.0,
    "rim_width_max_mm": 230.0,
    "load_rating_kg": 800.0,
    "service": "light_truck",
    "construction": "radial",
    "speed_symbol": "S",
    "tread_width_mm": 200.0,
    "static_loaded_radius_mm": 350.0,
    "mass_kg": 15.0,
    "price_cents": 15000,
    "line": "trail",
    "winter": 1.0,
    "on_truck": "no",
}
SPACER = {
    "sku": "S",
    "thickness_mm": 20.0,
    "bolt_circle_lugs": 5,
    "bolt_circle_mm": 114.3,
    "mass_kg": 1.0,
    "price_cents": 2500,
    "on_truck": "no",
}
RATIO = {"sku": "R", "ratio": 4.0, "ring_gear": "8.8", "labor_hours": 2.0, "price_cents": 20000, "on_truck": "no"}
DIFFERENTIAL = {
    "sku": "D",
    "type": "locked",
    "ratio_min": 3.0,
    "ratio_max": 4.5,
    "ring_gear": "8.8",
    "splines": 31,
    "labor_hours": 1.0,
    "price_cents": 30000,
    "on_truck": "no",
}
BALLAST = {"sku": "B", "mass_kg": 30.0, "length_mm": 600.0, "width_mm": 400.0, "price_cents": 500}
NUT = {
    "sku": "N",
    "seat": "cone 60",
    "thread": "1/2-20",
    "type": "open",
    "thread_depth_mm": 20.0,
    "price_cents": 200,
}
DEFAULTS = {
    "wheels": WHEEL,
    "tires": TIRE,
    "spacers": SPACER,
    "ratios": RATIO,
    "differentials": DIFFERENTIAL,
    "ballast": BALLAST,
    "nuts": NUT,
}

MEASURED = jobs.Present(
    25.0,
    25.0,
    20.0,
    front_hub_height_mm=350.0,
    rear_hub_height_mm=350.0,
    front_tire_diameter_mm=740.0,
    rear_tire_diameter_mm=740.0,
)
"""What is on the truck, with hubs and tires measured: the tires sink in by 20."""


def judged_side(check, answer):
    """The deciding one of a check's constraints, its margin judged."""
    return worst_side(own._replace(margin=judged(check, own.margin)) for own in each_side(answer))


def job_with(**tables):
    """A job in which nothing is missing for the checks of the corners and the loads, with these tables anew."""
    measured = {
        "job": jobs.About("by hand"),
        "truck": jobs.Truck(3000.0, 1400.0, 1500.0, 2800.0, cg_height_mm=750.0),
        "hub": jobs.Hubs(HUB, HUB),
        "wheelhouse": jobs.Wheelhouses(HOUSE, HOUSE),
        "brakes": jobs.Brakes(jobs.Brake(320.0, 25.0), jobs.Brake(320.0, 25.0)),
        "steering": jobs.Steering(30.0, 90.0),
        "present": jobs.Present(25.0, 25.0, 20.0),
        "axle": jobs.Axles("8.8", 31),
        "loads": jobs.Loads(1100.0, 900.0),
    }
    return jobs.Job(**measured | tables)


def table_of(plural, parts):
    """The part table of a kind as reading leaves it before settling."""
    columns = {}
    for field in KINDS[plural].fields:
        is_text = field.is_text
        for column in field.columns:
            values = [part.get(column) for part in parts]
            if is_text:
                columns[column] = pd.Series([value or "" for value in values], dtype=object)
            else:
                columns[column] = pd.Series([NAN if value is None else float(value) for value in values], dtype=float)
    columns |= {"file": f"{plural}.csv", "sheet": "", "row": range(2, len(parts) + 2)}
    return pd.DataFrame(columns)


def parts_with(**lists):
    """Settled part tables: one part of each kind, or of a kind several, each with what differs from that one; no nuts
    but those that are given.
    """
    report = ListReport()
    lists = {plural: [{}] for plural in KINDS if plural != "nuts"} | {"nuts": []} | lists
    tables = {plural: table_of(plural, [DEFAULTS[plural] | changes for changes in lists[plural]]) for plural in KINDS}
    tables["wheels"] = settle.settle_wheels(tables["wheels"], report)
    tables["tires"] = settle.settle_tires(tables["tires"], report)
    assert not report.problems, report.problems
    return Parts(**tables)


def corner_rows(job, axle="front", wheel=None, tire=None, spacer=None, nuts=(), tires=()):
    """One corner row; of wheel, tire and spacer what differs from the plain ones, without a spacer where None; the list
    of nuts, and what other tires are listed.
    """
    parts = parts_with(wheels=[wheel or {}], tires=[tire or {}, *tires], spacers=[spacer or {}], nuts=list(nuts))
    one = np.array([0])
    return rows.corner_rows(job, axle, parts, Picks(one, one, np.array([NO_SPACER if spacer is None else 0])))


def drive_rows(job, tire=None, ratio=None, differential=None, tires=()):
    """One drive row."""
    parts = parts_with(tires=[tire or {}, *tires], ratios=[ratio or {}], differentials=[differential or {}])
    one = np.array([0])
    return rows.drive_rows(job, parts, one, one, one)


def build(job, counts=(), front=None, rear=None, drive=None, ballast=({},), nuts=(), tires=()):
    """One build: what differs of the wheel, tire and spacer at each axle and of the drive; counts of ballast slots.

    Both axles take from one list: what is alike front and rear is one part of it.
    """
    corners, drive = (front or {}, rear or {}), drive or {}
    lists, at = {}, {}
    for kind in ("wheel", "tire", "spacer"):
        wanted = [corner.get(kind, None if kind == "spacer" else {}) for corner in corners]
        distinct = [own for place, own in enumerate(wanted) if own is not None and own not in wanted[:place]]
        lists[f"{kind}s"] = distinct or [{}]
        at[kind] = [NO_SPACER if own is None else distinct.index(own) for own in wanted]
    lists["tires"] = [*lists["tires"], *tires]
    parts = parts_with(
        **lists,
        ratios=[drive.get("ratio", {})],
        differentials=[drive.get("differential", {})],
        ballast=list(ballast),
        nuts=list(nuts),
    )
    picks = [Picks(*(np.array([at[kind][axle]]) for kind in ("wheel", "tire", "spacer"))) for axle in range(2)]
    laid, one = slots(job, parts), np.array([0])
    padded = np.array([list(counts) + [0] * (len(laid) - len(counts))], dtype=np.int64)
    return Chosen(
        rows.corner_rows(job, "front", parts, picks[0]),
        rows.corner_rows(job, "rear", parts, picks[1]),
        rows.drive_rows(job, parts, picks[1].tire, one, one),
        laid,
        padded,
    )


def pair_rows(job, front=None, rear=None):
    """One row of a front corner with a rear one."""
    return Pairs(corner_rows(job, "front", **front or {}), corner_rows(job, "rear", **rear or {}))


def result_of(job, chosen, check, where=None):
    """What one check says of the build."""
    return next(
        result
        for result in results(job, chosen)[0]
        if result.check.id == check and (where is None or result.where == where)
    )


def margin_of(check, **arguments):
    """Judged margin of a check that is given its arguments."""
    entry = BY_ID[check]
    return float(judged_side(entry, entry.sides(**arguments)).margin)


def verdict(check, **arguments):
    """Answer of a check that is given its arguments."""
    return verdict_of(margin_of(check, **arguments))

"""Candidates as rows, with what follows from their parts alone.

A *corner* is a wheel, a tire and a spacer (or none) on a hub; a *drive* is a tire, an axle ratio and a differential;
a *slot* is a ballast item at a station. Columns carry the name of the table that they come from: `wheel.rim_width_mm`.
Sums that the solver adds are whole numbers (grams, cents, micrometers), rounded here and nowhere else.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from combo.checks.prices import corner_bill, drive_bill, half_up, slot_cents, total_cents
from combo.checks.values import cruise_points
from combo.formulas.axle import rear_share_kg
from combo.formulas.drive import (
    drag_n,
    engine_rpm,
    grip_share,
    resistance_on_grade,
    speedometer_error,
    thrust_n,
    torque_at_n_m,
)
from combo.formulas.tire import (
    INCHES_PER_MILE,
    rolling_radius_from_revs_mm,
    rolling_radius_mm,
    section_width_on_rim_mm,
)
from combo.formulas.wheel import offset_on_spacer_mm, overall_width_mm
from combo.job import WHEELS_AN_AXLE, Axle, CruisePoint, Job
from combo.parts import Parts
from combo.units import INCH_MM, STANDARD_GRAVITY_M_S2

Index = NDArray[np.int64]
Floats = NDArray[np.float64]
NO_SPACER = -1
PPM = 1_000_000.0
BILL = "bill."
"""Prefix of the columns that hold the lines of a row's bill, in whole cents."""

SOURCES = {
    "corner.offset_mm": ("wheel.offset_mm",),
    "corner.backspace_mm": ("wheel.backspace_mm",),
    "corner.section_width_mm": ("tire.section_width_mm", "tire.measuring_rim_mm"),
    "corner.overall_width_mm": ("wheel.rim_width_mm",),
    "corner.mass_g": ("wheel.mass_kg", "tire.mass_kg", "spacer.mass_kg"),
    "corner.rear_load_g": ("wheel.mass_kg", "tire.mass_kg", "spacer.mass_kg"),
    "corner.truck_load_g": ("wheel.mass_kg", "tire.mass_kg", "spacer.mass_kg"),
    "corner.spare_front_g": ("wheel.mass_kg", "tire.mass_kg"),
    "corner.tires_g": ("tire.capacity_kg",),
    "corner.wheels_g": ("wheel.load_rating_kg",),
    "corner.diameter_um": ("tire.overall_diameter_mm",),
    "corner.lip_error_um": ("corner.section_width_mm", "corner.offset_mm", "wheelhouse.room_outer_mm"),
    "drive.rolling_radius_mm": ("tire.overall_diameter_mm",),
    "drive.belongs": (
        "ratio.ring_gear", "differential.ring_gear", "axle.ring_gear", "differential.splines", "axle.splines",
    ),
    "drive.grip_share": ("surface.friction_low", "surface.friction_high", "differential.bias_ratio"),
    "drive.preload_kg": ("tire.overall_diameter_mm",),
    "drive.speedometer_error": (
        "tire.overall_diameter_mm", "speedometer.present_ratio", "speedometer.present_revs_per_mile",
        "speedometer.driven_teeth",
    ),
    "drive.pull_g": ("tire.overall_diameter_mm", "engine.torque", "transmission.gears"),
    "drive.hold_g": (
        "engine.torque", "tire.overall_diameter_mm", "truck.drag_coefficient", "truck.frontal_area_m2",
    ),
    "mount.own_pad_mm": ("spacer.pad_mm",),
    "mount.own_stud_diameter_mm": ("spacer.stud_diameter_mm",),
    "mount.own_stud_length_mm": ("spacer.stud_length_mm",),
    "mount.pilot_mm": ("hub.pilot_mm",),
    "point.gear": ("transmission.cruise_gear",),
    "point.rpm": ("tire.overall_diameter_mm", "point.gear"),
    "state.axis_inboard_mm": ("steering.axis_offset_mm",),
    "state.lock_deg": ("steering.lock_deg",),
    "state.shift_mm": ("state.travel_mm",),
    "tire.capacity_kg": ("tire.load_rating_kg", "tire.service"),
    "tire.is_radial": ("tire.construction",),
    "tire.speed_km_h": ("tire.speed_symbol",),
    "tire.static_loaded_radius_mm": ("tire.overall_diameter_mm",),
    "transmission.top_gear": ("transmission.gears",),
    "wheel.offset_mm": ("wheel.backspace_mm",),
} | {
    f"state.{name}": (f"wheelhouse.{name}",)
    for name in ("room_inner_mm", "room_outer_mm", "hub_to_top_mm", "hub_to_lip_mm", "opening_ahead_mm",
                 "opening_behind_mm", "sweep_ahead_mm", "sweep_behind_mm", "frame_room_mm")
}  # fmt: skip
"""What each derived value is worked out from: what a builder has to find out where it is not known."""


@dataclass(frozen=True)
class Picks:
    """Which parts make up each corner row: positions in the part tables; NO_SPACER where there is none."""

    wheel: Index
    tire: Index
    spacer: Index


@dataclass(frozen=True)
class Chosen:
    """Builds, one a row in each table: corners at both axles, drives, and counts of each ballast slot."""

    front: pd.DataFrame
    rear: pd.DataFrame
    drive: pd.DataFrame
    slots: pd.DataFrame
    counts: NDArray[np.int64]


def corners(job: Job, axle: Axle, parts: Parts, picks: Picks) -> pd.DataFrame:
    """Corner rows of an axle.

    Returns
    -------
    DataFrame
        A row a pick: the columns of wheel, tire and spacer under their prefixes, `mount.*` (what the wheel meets: the
        hub, or the outer face of the spacer), and `corner.*`, what follows.
    """
    wheel = _taken(parts.wheels, picks.wheel, "wheel")
    tire = _taken(parts.tires, picks.tire, "tire")
    spacer = _spacers_taken(parts.spacers, picks.spacer)
    rows = pd.concat([wheel, tire, spacer], axis=1)
    rows = rows.assign(**(_mounts(job, axle, rows) | _geometry(rows) | _sums(job, axle, rows)))
    bill = corner_bill(job, axle, rows, heaviest_kg(parts))
    rows = rows.assign(**{f"{BILL}{line}": cents for line, cents in bill.items()})
    rows["corner.cost_cents"] = total_cents(bill)
    rows["corner.lip_error_um"] = _lip_error_um(job, axle, rows)
    return rows


def heaviest_kg(parts: Parts) -> dict[str, float]:
    """Heaviest listed part of each kind that has a freight; 0 where no mass is listed."""
    tables = {"wheel": parts.wheels, "tire": parts.tires, "spacer": parts.spacers}
    return {kind: float(np.nan_to_num(table["mass_kg"].max())) for kind, table in tables.items()}


def drives(job: Job, parts: Parts, tire: Index, ratio: Index, differential: Index) -> pd.DataFrame:
    """Drive rows: the columns of tire, ratio and differential under their prefixes, and `drive.*`, what follows."""
    rows = pd.concat(
        [
            _taken(parts.tires, tire, "tire"),
            _taken(parts.ratios, ratio, "ratio"),
            _taken(parts.differentials, differential, "differential"),
        ],
        axis=1,
    )
    by_revs = rolling_radius_from_revs_mm(rows["tire.revs_per_mile"].to_numpy(dtype=np.float64))
    by_size = rolling_radius_mm(rows["tire.overall_diameter_mm"].to_numpy(dtype=np.float64), job.rolling.factor)
    rows["drive.rolling_radius_mm"] = np.where(np.isnan(by_revs), by_size, by_revs)
    rows["drive.rpm"] = engine_rpm(
        job.targets.cruise_speed_km_h, rows["drive.rolling_radius_mm"].to_numpy(), job.transmission.cruise_gear,
        rows["ratio.ratio"].to_numpy(), job.transmission.slip(locked=job.transmission.lock_up),
    )  # fmt: skip
    rows["drive.belongs"] = _belongs(job, rows)
    bill = drive_bill(job, rows)
    rows = rows.assign(**{f"{BILL}{line}": cents for line, cents in bill.items()})
    rows["drive.cost_cents"] = total_cents(bill)
    return rows.assign(**(_grip(job, rows) | _pulls(job, rows) | _speedometer(job, rows)))


def _grip(job: Job, rows: pd.DataFrame) -> dict[str, Floats]:
    """Share of the load under the rear wheels that their grip turns into thrust, and the thrust of the preload [kg]."""
    low, high = job.surface.friction_low, job.surface.friction_high
    kinds = zip(rows["differential.type"], rows["differential.bias_ratio"], strict=True)
    share = [grip_share(kind, low, high, bias) if isinstance(kind, str) and kind else np.nan for kind, bias in kinds]
    is_limited = rows["differential.type"].to_numpy() == "limited_slip"
    preload = rows["differential.preload_n_m"].fillna(0.0).to_numpy()
    thrust_kg = preload / (rows["drive.rolling_radius_mm"].to_numpy() / 1000.0) / STANDARD_GRAVITY_M_S2
    return {
        "drive.grip_share": np.array(share, dtype=float),
        "drive.preload_kg": np.where(is_limited, thrust_kg, 0.0),
    }


def _pulls(job: Job, rows: pd.DataFrame) -> dict[str, Floats]:
    """Mass of a truck that the engine can start up the wanted grade, and hold at cruise on the wanted grades [g]."""
    radius, ratio = rows["drive.rolling_radius_mm"].to_numpy(), rows["ratio.ratio"].to_numpy()
    box, most_n_m = job.transmission, max((point.torque_n_m for point in job.engine.torque), default=np.nan)
    first = box.gears[0] if box.gears else np.nan
    starts_n = thrust_n(most_n_m * box.stall_ratio, first, ratio, box.efficiency, radius)
    cruises = [_held_g(job, point, radius, ratio) for point in cruise_points(job).values()]
    return {
        "drive.pull_g": _mass_on_grade_g(job, job.targets.pull_grade_ppm, np.asarray(starts_n)),
        "drive.hold_g": np.minimum.reduce(cruises) if cruises else np.full(len(rows), np.inf),
    }


def _held_g(job: Job, point: CruisePoint, radius_mm: Floats, ratio: Floats) -> Floats:
    """Mass of a truck that the engine can hold at a cruise point on its grade [g]; any, where no grade is wanted."""
    if not point.hold_grade_ppm:
        return np.full(len(ratio), np.inf)
    curve = [np.array([getattr(entry, name) for entry in job.engine.torque]) for name in ("at_rpm", "torque_n_m")]
    rpm = engine_rpm(point.speed_km_h, radius_mm, point.gear, ratio, job.transmission.slip(locked=point.locked))
    thrust = thrust_n(torque_at_n_m(rpm, *curve), point.gear, ratio, job.transmission.efficiency, radius_mm)
    drag = drag_n(point.speed_km_h, job.truck.drag_coefficient, job.truck.frontal_area_m2)
    return _mass_on_grade_g(job, point.hold_grade_ppm, np.asarray(thrust - drag))


def _mass_on_grade_g(job: Job, grade_ppm: int, thrust_n_: Floats) -> Floats:
    """Mass whose pull on the grade the thrust just outweighs [g], rounded down to be safe."""
    pull = float(resistance_on_grade(grade_ppm / PPM, job.rolling.resistance)) * STANDARD_GRAVITY_M_S2
    return np.floor(thrust_n_ / pull * 1000.0)


def _speedometer(job: Job, rows: pd.DataFrame) -> dict[str, Floats]:
    """Least error of the speedometer with the present driven gear or a listed one, and the teeth of that gear."""
    meter, radius_mm = job.speedometer, rows["drive.rolling_radius_mm"].to_numpy()
    revs = INCHES_PER_MILE * INCH_MM / (2.0 * np.pi * radius_mm)
    teeth = sorted({meter.driven_teeth, *meter.driven_listed} - {0}) or [0]
    present = float(meter.driven_teeth) if meter.driven_teeth else np.nan
    errors = np.stack([
        speedometer_error(rows["ratio.ratio"].to_numpy(), revs, meter.present_ratio, meter.present_revs_per_mile,
                          float(count or 1), present)
        for count in teeth
    ])  # fmt: skip
    best = np.argmin(np.where(np.isnan(errors), np.inf, np.abs(errors)), axis=0)
    return {
        "drive.speedometer_error": np.take_along_axis(errors, best[np.newaxis], axis=0)[0],
        "drive.driven_teeth": np.array(teeth, dtype=float)[best],
    }


def _belongs(job: Job, rows: pd.DataFrame) -> NDArray[np.float64]:
    """1 where gear set, differential and axle are one family and the splines agree, 0 where one differs, else NaN."""
    gears, carriers = rows["ratio.ring_gear"].to_numpy(), rows["differential.ring_gear"].to_numpy()
    splines = rows["differential.splines"].to_numpy()
    pairs = [(gears, carriers), (gears, job.axle.ring_gear), (carriers, job.axle.ring_gear)]
    answers = [np.where((a == "") | (b == ""), np.nan, a == b) for a, b in pairs]
    answers.append(np.where(np.isnan(splines) | (job.axle.splines == 0), np.nan, splines == job.axle.splines))
    known = np.stack([answer.astype(float) for answer in answers])
    return np.where((known == 0.0).any(axis=0), 0.0, known.min(axis=0))


def slots(job: Job, parts: Parts) -> pd.DataFrame:
    """Ballast slots: a row for each item at each station, items by SKU, stations in the job's order."""
    items = parts.ballast.sort_values("sku", kind="stable")
    count = len(job.ballast.stations)
    rows = items.loc[items.index.repeat(count)].reset_index(drop=True).add_prefix("ballast.")
    stations = list(job.ballast.stations) * len(items)
    mass_g = half_up(rows["ballast.mass_kg"] * 1000.0)
    at_mm = np.array([station.at_mm for station in stations], dtype=float)
    rear_g = half_up(rear_share_kg(mass_g, at_mm, job.truck.wheelbase_mm))
    rows["station.name"] = [station.name for station in stations]
    rows["station.at_mm"] = at_mm
    rows["slot.mass_g"] = mass_g
    rows["slot.rear_g"] = rear_g
    rows["slot.front_g"] = mass_g - rear_g
    rows["slot.cost_cents"] = slot_cents(job, rows)
    rows["slot.most"] = _most_of_each(job, rows, stations)
    return rows


def _taken(table: pd.DataFrame, positions: Index, prefix: str) -> pd.DataFrame:
    return table.take(positions).reset_index(drop=True).add_prefix(f"{prefix}.")


def _spacers_taken(spacers: pd.DataFrame, positions: Index) -> pd.DataFrame:
    """Spacer columns; where there is none: no thickness, no mass, no price, and no SKU."""
    none = {column: "" if spacers[column].dtype == object else 0 for column in spacers.columns}
    with_none = pd.concat([spacers, pd.DataFrame([none])], ignore_index=True)
    taken = _taken(with_none, np.where(positions == NO_SPACER, len(spacers), positions), "spacer")
    return taken.assign(**{"spacer.is_fitted": (positions != NO_SPACER).astype(float)})


def _mounts(job: Job, axle: Axle, rows: pd.DataFrame) -> dict[str, Any]:
    """What the wheel meets: the hub's own circle and pilot, or those of the spacer's outer face."""
    hub = getattr(job.hub, axle)
    fitted = rows["spacer.is_fitted"].to_numpy() == 1.0
    adapts = fitted & rows["spacer.wheel_bolt_circle_lugs"].notna().to_numpy()
    is_bolted = adapts | (fitted & rows["spacer.stud_length_mm"].notna().to_numpy())
    has_lip = fitted & rows["spacer.pilot_mm"].notna().to_numpy()

    def outer(of_adapter: str, of_spacer: str, of_hub: float) -> NDArray[np.float64]:
        plain = np.where(fitted, rows[of_spacer], of_hub)
        return np.where(adapts, rows[of_adapter], plain)

    circle = hub.bolt_circle
    return {
        "mount.bolt_circle_lugs": outer("spacer.wheel_bolt_circle_lugs", "spacer.bolt_circle_lugs", circle.lug_count),
        "mount.bolt_circle_mm": outer("spacer.wheel_bolt_circle_mm", "spacer.bolt_circle_mm", circle.diameter_mm),
        "mount.pilot_mm": np.where(has_lip, rows["spacer.pilot_mm"], hub.pilot_mm),
        "mount.is_bolted": is_bolted.astype(float),
        **{f"mount.own_{name}": np.where(is_bolted, rows[f"spacer.{name}"], 0.0)
           for name in ("pad_mm", "stud_length_mm", "stud_diameter_mm")},
    }


def _geometry(rows: pd.DataFrame) -> dict[str, Any]:
    thickness = rows["spacer.thickness_mm"].to_numpy()
    return {
        "corner.offset_mm": offset_on_spacer_mm(rows["wheel.offset_mm"].to_numpy(), thickness),
        "corner.backspace_mm": rows["wheel.backspace_mm"].to_numpy() - thickness,
        "corner.section_width_mm": section_width_on_rim_mm(
            rows["tire.section_width_mm"].to_numpy(),
            rows["tire.measuring_rim_mm"].to_numpy(),
            rows["wheel.rim_width_mm"].to_numpy(),
        ),
        "corner.overall_width_mm": overall_width_mm(
            rows["wheel.rim_width_mm"].to_numpy(), rows["wheel.flange_mm"].to_numpy()
        ),
        "corner.diameter_um": half_up(rows["tire.overall_diameter_mm"] * 1000.0),
    }


def _sums(job: Job, axle: Axle, rows: pd.DataFrame) -> dict[str, Any]:
    """Whole-number masses and capacities of an axle's corners; the spare is a rear wheel and tire at its station."""
    wheel_g = half_up(rows["wheel.mass_kg"] * 1000.0) + half_up(rows["tire.mass_kg"] * 1000.0)
    pair_g = WHEELS_AN_AXLE * (wheel_g + half_up(rows["spacer.mass_kg"] * 1000.0))
    spare_g = wheel_g if axle == "rear" and moves_spare(job) else np.zeros(len(rows))
    spare_rear_g = half_up(rear_share_kg(spare_g, np.nan_to_num(job.spare.station_mm), job.truck.wheelbase_mm))
    return {
        "corner.mass_g": pair_g,
        "corner.rear_load_g": pair_g + spare_rear_g,
        "corner.spare_front_g": spare_g - spare_rear_g,
        "corner.truck_load_g": pair_g + spare_g,
        "corner.tires_g": WHEELS_AN_AXLE * half_up(rows["tire.capacity_kg"] * 1000.0),
        "corner.wheels_g": WHEELS_AN_AXLE * half_up(rows["wheel.load_rating_kg"] * 1000.0),
    }


def moves_spare(job: Job) -> bool:
    """Whether the spare's mass counts: where the job says where it is carried."""
    return job.job.spare and not np.isnan(job.spare.station_mm)


def _lip_error_um(job: Job, axle: Axle, rows: pd.DataFrame) -> NDArray[np.float64]:
    """How far the tire's outer sidewall stands from the wanted gap inside the lip; 0 where no gap is wanted."""
    if np.isnan(job.targets.lip_gap_mm):
        return np.zeros(len(rows))
    reach = rows["corner.section_width_mm"] / 2.0 - rows["corner.offset_mm"]
    gap = getattr(job.wheelhouse, axle).room_outer_mm - reach
    return half_up((gap - job.targets.lip_gap_mm).abs() * 1000.0)


def _most_of_each(job: Job, rows: pd.DataFrame, stations: list[Any]) -> NDArray[np.int64]:
    """How many of an item may lie at a station, by stock, by the plan and by the station's load."""
    stock = rows["ballast.max_count"].fillna(job.ballast.max_items).to_numpy()
    limit = np.array([station.max_mass_kg for station in stations], dtype=float)
    by_load = np.floor(limit * 1000.0 / (rows["ballast.mass_kg"].to_numpy() * 1000.0) + 1e-9)
    by_load = np.where(np.isnan(by_load), job.ballast.max_items, by_load)
    most: NDArray[np.int64] = np.minimum(np.minimum(stock, by_load), job.ballast.max_items).astype(np.int64)
    return most

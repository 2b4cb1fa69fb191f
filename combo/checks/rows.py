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

from combo.formulas.axle import rear_share_kg
from combo.formulas.drive import engine_rpm
from combo.formulas.tire import rolling_radius_from_revs_mm, rolling_radius_mm, section_width_on_rim_mm
from combo.formulas.wheel import offset_on_spacer_mm
from combo.job import Axle, Job
from combo.parts import Parts

Index = NDArray[np.int64]
NO_SPACER = -1
WHEELS_AN_AXLE = 2

SOURCES = {
    "corner.offset_mm": ("wheel.offset_mm",),
    "corner.backspace_mm": ("wheel.backspace_mm",),
    "corner.section_width_mm": ("tire.section_width_mm", "tire.measuring_rim_mm"),
    "corner.mass_change_g": ("wheel.mass_kg", "tire.mass_kg", "spacer.mass_kg", "present.wheel_and_tire_kg"),
    "corner.mass_g": ("wheel.mass_kg", "tire.mass_kg", "spacer.mass_kg"),
    "corner.tires_g": ("tire.capacity_kg",),
    "corner.wheels_g": ("wheel.load_rating_kg",),
    "corner.diameter_um": ("tire.overall_diameter_mm",),
    "corner.lip_error_um": ("corner.section_width_mm", "corner.offset_mm", "wheelhouse.room_outer_mm"),
    "drive.rolling_radius_mm": ("tire.overall_diameter_mm",),
    "drive.rpm": ("tire.overall_diameter_mm", "transmission.cruise_gear"),
    "drive.belongs": (
        "ratio.ring_gear", "differential.ring_gear", "axle.ring_gear", "differential.splines", "axle.splines",
    ),
    "mount.pilot_mm": ("hub.pilot_mm",),
    "tire.capacity_kg": ("tire.load_rating_kg", "tire.service"),
    "tire.speed_km_h": ("tire.speed_symbol",),
    "wheel.offset_mm": ("wheel.backspace_mm",),
}
"""What each derived column is worked out from: what a builder has to find out where it is not known."""


@dataclass(frozen=True)
class Picks:
    """Which parts make up each corner row: positions in the part tables; NO_SPACER where there is none."""

    wheel: Index
    tire: Index
    spacer: Index


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
    derived = _mounts(job, axle, rows) | _geometry(rows) | _sums(job, axle, rows)
    rows = pd.concat([rows, pd.DataFrame(derived, index=rows.index)], axis=1)
    rows["corner.lip_error_um"] = _lip_error_um(job, axle, rows)
    return rows


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
        rows["ratio.ratio"].to_numpy(), job.transmission.converter_slip,
    )  # fmt: skip
    rows["drive.belongs"] = _belongs(job, rows)
    hours = rows["ratio.labor_hours"].fillna(0.0) + rows["differential.labor_hours"].fillna(0.0)
    rows["drive.cost_cents"] = (
        taxed_cents(job, rows["ratio.price_cents"])
        + taxed_cents(job, rows["differential.price_cents"])
        + _half_up(hours * job.money.labor_per_hour_cents)
    )
    return rows


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
    mass_g = _half_up(rows["ballast.mass_kg"] * 1000.0)
    at_mm = np.array([station.at_mm for station in stations], dtype=float)
    rear_g = _half_up(pd.Series(rear_share_kg(mass_g.to_numpy(), at_mm, job.truck.wheelbase_mm), dtype=float))
    rows["station.name"] = [station.name for station in stations]
    rows["station.at_mm"] = at_mm
    rows["slot.mass_g"] = mass_g
    rows["slot.rear_g"] = rear_g
    rows["slot.front_g"] = mass_g - rear_g
    rows["slot.cost_cents"] = taxed_cents(job, rows["ballast.price_cents"])
    rows["slot.most"] = _most_of_each(job, rows, stations)
    return rows


def taxed_cents(job: Job, price_cents: pd.Series) -> pd.Series:
    """Price of one part with its tax: the tax of each line is rounded to the cent, half a cent up."""
    tax: pd.Series = np.floor((price_cents * job.money.tax_ppm + 500_000) / 1_000_000)
    return price_cents + tax


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
    has_lip = fitted & rows["spacer.pilot_mm"].notna().to_numpy()

    def outer(of_adapter: str, of_spacer: str, of_hub: float) -> NDArray[np.float64]:
        plain = np.where(fitted, rows[of_spacer], of_hub)
        return np.where(adapts, rows[of_adapter], plain)

    circle = hub.bolt_circle
    return {
        "mount.bolt_circle_lugs": outer("spacer.wheel_bolt_circle_lugs", "spacer.bolt_circle_lugs", circle.lug_count),
        "mount.bolt_circle_mm": outer("spacer.wheel_bolt_circle_mm", "spacer.bolt_circle_mm", circle.diameter_mm),
        "mount.pilot_mm": np.where(has_lip, rows["spacer.pilot_mm"], hub.pilot_mm),
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
        "corner.diameter_um": _half_up(rows["tire.overall_diameter_mm"] * 1000.0).to_numpy(),
    }


def _sums(job: Job, axle: Axle, rows: pd.DataFrame) -> dict[str, Any]:
    one_g = _half_up(rows["wheel.mass_kg"] * 1000.0) + _half_up(rows["tire.mass_kg"] * 1000.0)
    one_g = one_g + _half_up(rows["spacer.mass_kg"] * 1000.0)
    present_g = round_half_up(getattr(job.present, f"{axle}_wheel_and_tire_kg") * 1000.0)
    count = WHEELS_AN_AXLE + (1 if axle == "rear" and job.job.spare else 0)
    wheel_and_tire = taxed_cents(job, rows["wheel.price_cents"]) + taxed_cents(job, rows["tire.price_cents"])
    each_cents = wheel_and_tire + job.money.mount_and_balance_cents
    spacer_cents = taxed_cents(job, rows["spacer.price_cents"])
    return {
        "corner.mass_g": (WHEELS_AN_AXLE * one_g).to_numpy(),
        "corner.mass_change_g": (WHEELS_AN_AXLE * (one_g - present_g)).to_numpy(),
        "corner.cost_cents": (count * each_cents + WHEELS_AN_AXLE * spacer_cents).to_numpy(),
        "corner.tires_g": (WHEELS_AN_AXLE * _half_up(rows["tire.capacity_kg"] * 1000.0)).to_numpy(),
        "corner.wheels_g": (WHEELS_AN_AXLE * _half_up(rows["wheel.load_rating_kg"] * 1000.0)).to_numpy(),
    }


def _lip_error_um(job: Job, axle: Axle, rows: pd.DataFrame) -> NDArray[np.float64]:
    """How far the tire's outer sidewall stands from the wanted gap inside the lip; 0 where no gap is wanted."""
    if np.isnan(job.targets.lip_gap_mm):
        return np.zeros(len(rows))
    reach = rows["corner.section_width_mm"] / 2.0 - rows["corner.offset_mm"]
    gap = getattr(job.wheelhouse, axle).room_outer_mm - reach
    return _half_up((gap - job.targets.lip_gap_mm).abs() * 1000.0).to_numpy()


def _most_of_each(job: Job, rows: pd.DataFrame, stations: list[Any]) -> NDArray[np.int64]:
    """How many of an item may lie at a station, by stock, by the plan and by the station's load."""
    stock = rows["ballast.max_count"].fillna(job.ballast.max_items).to_numpy()
    limit = np.array([station.max_mass_kg for station in stations], dtype=float)
    by_load = np.floor(limit * 1000.0 / (rows["ballast.mass_kg"].to_numpy() * 1000.0) + 1e-9)
    by_load = np.where(np.isnan(by_load), job.ballast.max_items, by_load)
    most: NDArray[np.int64] = np.minimum(np.minimum(stock, by_load), job.ballast.max_items).astype(np.int64)
    return most


def _half_up(sizes: pd.Series) -> pd.Series:
    whole: pd.Series = np.floor(sizes + 0.5)
    return whole


def round_half_up(size: float) -> float:
    """Nearest whole number as a float, a half up; NaN stays NaN."""
    return float(np.floor(size + 0.5))

"""Candidates as rows, with what follows from their parts alone.

A *corner* is a wheel, a tire and a spacer (or none) on a hub; a *drive* is a tire, an axle ratio and a differential;
a *slot* is a ballast item at a station. Columns carry the name of the table that they come from: `wheel.rim_width_mm`.
Sums that the solver adds are whole numbers (grams, cents, micrometers), rounded here and nowhere else.

`Rows` works a column out when it is asked for, so that a check costs what it looks at, and what it looks at can be
recorded: whole lists are judged on one part of each kind that a check can tell apart (`combo.solve.classes`).
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from combo.checks import prices
from combo.checks.prices import slot_cents
from combo.checks.table import Given, Places, Table
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
from combo.formulas.rounding import half_up
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
FITTED = "spacer.is_fitted"
"""1 where there is a spacer, else 0: of the list itself, whose last row stands for none."""
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

    front: Table
    rear: Table
    drive: Table
    slots: Given
    counts: NDArray[np.int64]


@dataclass
class Rows:
    """Rows of an axle by the parts in them; a column is worked out when it is asked for, and kept.

    Parameters
    ----------
    parts : Parts
        The lists. Freight of a part without a mass looks at the heaviest of the whole list.
    at : mapping of str to ndarray, each of shape (n,)
        Position of each row's part, by kind; NO_SPACER, or -1 for a blank last part, takes the last.
    only : frozenset of str, optional
        Columns of parts that may be asked for; any other is a KeyError.

    `looked_at` gathers the columns of parts that were asked for so far. Rows that are taken from others ask those: what
    is worked out for some is there for all.
    """

    job: Job
    axle: Axle
    parts: Parts
    at: Mapping[str, Index]
    derived: Mapping[str, Derived]
    only: frozenset[str] | None = None
    looked_at: set[str] = field(default_factory=set)
    _known: dict[str, NDArray[Any]] = field(default_factory=dict)
    _taken_from: tuple[Rows, Places] | None = None

    def __len__(self) -> int:
        return len(next(iter(self.at.values())))

    def __contains__(self, name: object) -> bool:
        kind, _, column = str(name).partition(".")
        return name in self.derived or name == FITTED or (kind in self.at and column in self.parts.of_kind(kind))

    def __iter__(self) -> Iterator[str]:
        """Names of the columns, those of the parts first."""
        of_parts = [f"{kind}.{column}" for kind in self.at for column in self.parts.of_kind(kind)]
        return iter(dict.fromkeys([*of_parts, *([FITTED] if "spacer" in self.at else []), *self.derived]))

    def __getitem__(self, name: str) -> NDArray[Any]:
        if name not in self._known:
            self._known[name] = self._worked_out(name)
        return self._known[name]

    def __reduce__(self) -> tuple[type[Given], tuple[dict[str, NDArray[Any]]]]:
        """How they travel between processes: with every column, without the lists and the rows they are taken from."""
        known = {name: own for name in self if (own := self._at_hand(name)) is not None}
        alone = dataclasses.replace(self, _known=known, _taken_from=None)
        return Given, ({name: alone[name] for name in self},)

    def take(self, at: Places) -> Rows:
        """The rows at these positions, or where the mask holds."""
        own = {kind: places[at] for kind, places in self.at.items()}
        return dataclasses.replace(self, at=own, _known={}, _taken_from=(self, at))

    def ordered(self, order: Index) -> Rows:
        """The rows in an order, with what is known of them."""
        at, known = ({name: own[order] for name, own in every.items()} for every in (self.at, self._known))
        return dataclasses.replace(self, at=at, _known=known, _taken_from=None)

    def joined(self, more: Rows) -> Rows:
        """These rows and more of them; what is known of these is worked out of the new ones alone."""
        at = {kind: np.concatenate([own, more.at[kind]]) for kind, own in self.at.items()}
        known = {name: np.concatenate([own, more[name]]) for name, own in self._known.items()}
        return dataclasses.replace(self, at=at, _known=known, _taken_from=None)

    def with_derived(self, columns: Mapping[str, Derived]) -> Rows:
        """The rows with more columns that follow from others."""
        return dataclasses.replace(self, derived={**self.derived, **columns})

    def _worked_out(self, name: str) -> NDArray[Any]:
        if self._taken_from is not None:
            rows, at = self._taken_from
            return rows[name][at]
        return np.asarray(self.derived[name](self) if name in self.derived else self._of_part(name))

    def _at_hand(self, name: str) -> NDArray[Any] | None:
        """A column that is known already, of these or of the rows they are taken from."""
        if name in self._known or self._taken_from is None:
            return self._known.get(name)
        rows, at = self._taken_from
        every = rows._at_hand(name)
        return None if every is None else every[at]

    def _of_part(self, name: str) -> NDArray[Any]:
        if self.only is not None and name not in self.only:
            raise KeyError(name)
        self.looked_at.add(name)
        kind = name.partition(".")[0]
        taken: NDArray[Any] = listed(self.parts, name)[self.at[kind]]
        return taken


Derived = Callable[[Rows], Any]
"""How a column of rows follows from others."""


def listed(parts: Parts, name: str) -> NDArray[Any]:
    """A column of a list by its dotted name; of spacers with one more row at the end, for none of them: no thickness,
    no mass, no price, and no SKU.
    """
    kind, _, column = name.partition(".")
    if name == FITTED:
        return np.append(np.ones(len(parts.of_kind(kind))), 0.0)
    own = parts.column(kind, column)
    if kind == "spacer":
        return np.append(own, "" if own.dtype == object else 0)
    return own


def corner_rows(job: Job, axle: Axle, parts: Parts, picks: Picks, only: frozenset[str] | None = None) -> Rows:
    """Rows of corners at an axle: columns of wheel, tire and spacer, `mount.*` (what the wheel meets: the hub, or the
    outer face of the spacer), `corner.*`, what follows, and `bill.*`.
    """
    return Rows(job, axle, parts, {"wheel": picks.wheel, "tire": picks.tire, "spacer": picks.spacer}, _CORNER, only)


def drive_rows(
    job: Job, parts: Parts, tire: Index, ratio: Index, differential: Index, only: frozenset[str] | None = None
) -> Rows:
    """Rows of drives: columns of tire, ratio and differential, `drive.*`, what follows, and `bill.*`."""
    return Rows(job, "rear", parts, {"tire": tire, "ratio": ratio, "differential": differential}, _DRIVE, only)


# What follows of a corner


def _is_spaced(rows: Rows) -> NDArray[np.bool_]:
    return np.asarray(rows[FITTED] == 1.0, dtype=bool)


def _adapts(rows: Rows) -> NDArray[np.bool_]:
    return np.asarray(_is_spaced(rows) & ~np.isnan(rows["spacer.wheel_bolt_circle_lugs"]))


def _is_bolted(rows: Rows) -> NDArray[np.bool_]:
    return np.asarray(_adapts(rows) | (_is_spaced(rows) & ~np.isnan(rows["spacer.stud_length_mm"])))


def _circle(end: str, of_hub: str) -> Derived:
    """Bolt circle that the wheel meets: an adapter's outer one, a spacer's, or the hub's."""

    def circle(rows: Rows) -> Any:
        hub = getattr(getattr(rows.job.hub, rows.axle).bolt_circle, of_hub)
        plain = np.where(_is_spaced(rows), rows[f"spacer.bolt_circle_{end}"], hub)
        return np.where(_adapts(rows), rows[f"spacer.wheel_bolt_circle_{end}"], plain)

    return circle


def _pilot_mm(rows: Rows) -> Any:
    """Pilot that centers the wheel: the spacer's lip, or the hub's own."""
    has_lip = _is_spaced(rows) & ~np.isnan(rows["spacer.pilot_mm"])
    return np.where(has_lip, rows["spacer.pilot_mm"], getattr(rows.job.hub, rows.axle).pilot_mm)


def _own(column: str) -> Derived:
    return lambda rows: np.where(_is_bolted(rows), rows[f"spacer.{column}"], 0.0)


def _section_width_mm(rows: Rows) -> Any:
    tire = rows["tire.section_width_mm"], rows["tire.measuring_rim_mm"]
    return section_width_on_rim_mm(*tire, rows["wheel.rim_width_mm"])


def _pair_g(kind: str) -> Derived:
    """Mass that the parts of a kind bring to an axle."""
    return lambda rows: WHEELS_AN_AXLE * half_up(rows[f"{kind}.mass_kg"] * 1000.0)


def _spare_g(rows: Rows) -> Floats:
    """Mass of the spare, one of the rear wheels and tires, where the job says where it is carried."""
    if rows.axle != "rear" or not moves_spare(rows.job):
        return np.zeros(len(rows))
    spare: Floats = half_up(rows["wheel.mass_kg"] * 1000.0) + half_up(rows["tire.mass_kg"] * 1000.0)
    return spare


def _spare_rear_g(rows: Rows) -> Floats:
    at_mm = float(np.nan_to_num(rows.job.spare.station_mm))
    return half_up(rear_share_kg(_spare_g(rows), at_mm, rows.job.truck.wheelbase_mm))


def _mass_g(rows: Rows) -> Any:
    return rows["corner.of_wheel_g"] + rows["corner.of_tire_g"] + rows["corner.of_spacer_g"]


def moves_spare(job: Job) -> bool:
    """Whether the spare's mass counts: where the job says where it is carried."""
    return job.job.spare and not np.isnan(job.spare.station_mm)


def _lip_error_um(rows: Rows) -> Any:
    """How far the tire's outer sidewall stands from the wanted gap inside the lip; 0 where no gap is wanted."""
    job = rows.job
    if np.isnan(job.targets.lip_gap_mm):
        return np.zeros(len(rows))
    reach = rows["corner.section_width_mm"] / 2.0 - rows["corner.offset_mm"]
    gap = getattr(job.wheelhouse, rows.axle).room_outer_mm - reach
    return half_up(np.abs(gap - job.targets.lip_gap_mm) * 1000.0)


def _place(kind: str) -> Derived:
    return lambda rows: rows.at[kind]


_CORNER: dict[str, Derived] = {
    **{f"{kind}.at": _place(kind) for kind in ("wheel", "tire", "spacer")},
    "mount.bolt_circle_lugs": _circle("lugs", "lug_count"),
    "mount.bolt_circle_mm": _circle("mm", "diameter_mm"),
    "mount.pilot_mm": _pilot_mm,
    "mount.is_bolted": lambda rows: _is_bolted(rows).astype(float),
    "mount.own_pad_mm": _own("pad_mm"),
    "mount.own_stud_length_mm": _own("stud_length_mm"),
    "mount.own_stud_diameter_mm": _own("stud_diameter_mm"),
    "corner.offset_mm": lambda rows: offset_on_spacer_mm(rows["wheel.offset_mm"], rows["spacer.thickness_mm"]),
    "corner.backspace_mm": lambda rows: rows["wheel.backspace_mm"] - rows["spacer.thickness_mm"],
    "corner.section_width_mm": _section_width_mm,
    "corner.overall_width_mm": lambda rows: overall_width_mm(rows["wheel.rim_width_mm"], rows["wheel.flange_mm"]),
    "corner.diameter_um": lambda rows: half_up(rows["tire.overall_diameter_mm"] * 1000.0),
    "corner.of_wheel_g": _pair_g("wheel"),
    "corner.of_tire_g": _pair_g("tire"),
    "corner.of_spacer_g": _pair_g("spacer"),
    "corner.mass_g": _mass_g,
    "corner.rear_load_g": lambda rows: _mass_g(rows) + _spare_rear_g(rows),
    "corner.spare_front_g": lambda rows: _spare_g(rows) - _spare_rear_g(rows),
    "corner.truck_load_g": lambda rows: _mass_g(rows) + _spare_g(rows),
    "corner.tires_g": lambda rows: WHEELS_AN_AXLE * half_up(rows["tire.capacity_kg"] * 1000.0),
    "corner.wheels_g": lambda rows: WHEELS_AN_AXLE * half_up(rows["wheel.load_rating_kg"] * 1000.0),
    **{f"{BILL}{line}": bill for line, bill in prices.CORNER_BILL.items()},
    "corner.of_wheel_cents": prices.of_wheel_cents,
    "corner.of_tire_cents": prices.of_tire_cents,
    "corner.of_spacer_cents": prices.of_spacer_cents,
    "corner.mounting_cents": prices.CORNER_BILL["mounting and balancing"],
    "corner.cost_cents": lambda rows: sum(rows[f"{BILL}{line}"] for line in prices.CORNER_BILL),
    "corner.lip_error_um": _lip_error_um,
}
"""Columns of a corner: every one from columns of its parts and from others of these.

What is `of_` a kind depends on that part alone; the corner's cost is the sum of those, of mounting, and of hub rings.
"""


# What follows of a drive


def _rolling_radius_mm(rows: Rows) -> Any:
    by_revs = rolling_radius_from_revs_mm(rows["tire.revs_per_mile"].astype(float))
    by_size = rolling_radius_mm(rows["tire.overall_diameter_mm"].astype(float), rows.job.rolling.factor)
    return np.where(np.isnan(by_revs), by_size, by_revs)


def _rpm(rows: Rows) -> Any:
    box = rows.job.transmission
    return engine_rpm(rows.job.targets.cruise_speed_km_h, rows["drive.rolling_radius_mm"], box.cruise_gear,
                      rows["ratio.ratio"], box.slip(locked=box.lock_up))  # fmt: skip


def _grip_share(rows: Rows) -> Any:
    """Share of the load under the rear wheels that their grip turns into thrust."""
    low, high = rows.job.surface.friction_low, rows.job.surface.friction_high
    kinds = zip(rows["differential.type"], rows["differential.bias_ratio"], strict=True)
    share = [grip_share(kind, low, high, bias) if isinstance(kind, str) and kind else np.nan for kind, bias in kinds]
    return np.array(share, dtype=float)


def _preload_kg(rows: Rows) -> Any:
    """Thrust of a limited slip's preload."""
    preload = np.nan_to_num(rows["differential.preload_n_m"])
    thrust_kg = preload / (rows["drive.rolling_radius_mm"] / 1000.0) / STANDARD_GRAVITY_M_S2
    return np.where(rows["differential.type"] == "limited_slip", thrust_kg, 0.0)


def _pull_g(rows: Rows) -> Any:
    """Mass of a truck that the engine can start up the wanted grade."""
    job, box = rows.job, rows.job.transmission
    most_n_m = max((point.torque_n_m for point in job.engine.torque), default=np.nan)
    first = box.gears[0] if box.gears else np.nan
    starts_n = thrust_n(most_n_m * box.stall_ratio, first, rows["ratio.ratio"], box.efficiency,
                        rows["drive.rolling_radius_mm"])  # fmt: skip
    return _mass_on_grade_g(job, job.targets.pull_grade_ppm, np.asarray(starts_n))


def _hold_g(rows: Rows) -> Any:
    """Mass of a truck that the engine can hold at every cruise point on its grade."""
    points = cruise_points(rows.job).values()
    cruises = [_held_g(rows.job, point, rows["drive.rolling_radius_mm"], rows["ratio.ratio"]) for point in points]
    return np.minimum.reduce(cruises) if cruises else np.full(len(rows), np.inf)


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


def _speedometer(rows: Rows) -> tuple[Any, Any]:
    """Least error of the speedometer with the present driven gear or a listed one, and the teeth of that gear."""
    meter = rows.job.speedometer
    revs = INCHES_PER_MILE * INCH_MM / (2.0 * np.pi * rows["drive.rolling_radius_mm"])
    teeth = sorted({meter.driven_teeth, *meter.driven_listed} - {0}) or [0]
    present = float(meter.driven_teeth) if meter.driven_teeth else np.nan
    errors = np.stack([
        speedometer_error(rows["ratio.ratio"], revs, meter.present_ratio, meter.present_revs_per_mile,
                          float(count or 1), present)
        for count in teeth
    ])  # fmt: skip
    best = np.argmin(np.where(np.isnan(errors), np.inf, np.abs(errors)), axis=0)
    return np.take_along_axis(errors, best[np.newaxis], axis=0)[0], np.array(teeth, dtype=float)[best]


def _belongs(rows: Rows) -> Any:
    """1 where gear set, differential and axle are one family and the splines agree, 0 where one differs, else NaN."""
    axle = rows.job.axle
    gears, carriers, splines = (
        rows["ratio.ring_gear"], rows["differential.ring_gear"], rows["differential.splines"],
    )  # fmt: skip
    pairs = [(gears, carriers), (gears, axle.ring_gear), (carriers, axle.ring_gear)]
    answers = [np.where((a == "") | (b == ""), np.nan, a == b) for a, b in pairs]
    answers.append(np.where(np.isnan(splines) | (axle.splines == 0), np.nan, splines == axle.splines))
    known = np.stack([answer.astype(float) for answer in answers])
    return np.where((known == 0.0).any(axis=0), 0.0, known.min(axis=0))


_DRIVE: dict[str, Derived] = {
    **{f"{kind}.at": _place(kind) for kind in ("tire", "ratio", "differential")},
    "drive.rolling_radius_mm": _rolling_radius_mm,
    "drive.rpm": _rpm,
    "drive.belongs": _belongs,
    **{f"{BILL}{line}": bill for line, bill in prices.DRIVE_BILL.items()},
    "drive.cost_cents": lambda rows: sum(rows[f"{BILL}{line}"] for line in prices.DRIVE_BILL),
    "drive.grip_share": _grip_share,
    "drive.preload_kg": _preload_kg,
    "drive.pull_g": _pull_g,
    "drive.hold_g": _hold_g,
    "drive.speedometer_error": lambda rows: _speedometer(rows)[0],
    "drive.driven_teeth": lambda rows: _speedometer(rows)[1],
}
"""Columns of a drive."""


def slots(job: Job, parts: Parts) -> Given:
    """Ballast slots: a row for each item at each station, items by SKU, stations in the job's order."""
    by_sku = np.argsort(parts.column("ballast", "sku"), kind="stable")
    at = np.repeat(by_sku, len(job.ballast.stations))
    stations = list(job.ballast.stations) * len(by_sku)
    items = {f"ballast.{name}": parts.column("ballast", name)[at] for name in map(str, parts.ballast)}
    mass_g = half_up(items["ballast.mass_kg"] * 1000.0)
    at_mm = np.array([station.at_mm for station in stations], dtype=float)
    rear_g = half_up(rear_share_kg(mass_g, at_mm, job.truck.wheelbase_mm))
    return Given({
        **items,
        "station.name": np.array([station.name for station in stations], dtype=object),
        "station.at_mm": at_mm,
        "slot.mass_g": mass_g,
        "slot.rear_g": rear_g,
        "slot.front_g": mass_g - rear_g,
        "slot.cost_cents": slot_cents(job, items),
        "slot.most": _most_of_each(job, items, stations),
    })  # fmt: skip


def _most_of_each(job: Job, items: Mapping[str, NDArray[Any]], stations: list[Any]) -> Index:
    """How many of an item may lie at a station, by stock, by the plan and by the station's load."""
    stock, mass_kg = items["ballast.max_count"], items["ballast.mass_kg"]
    stock = np.where(np.isnan(stock), job.ballast.max_items, stock)
    limit = np.array([station.max_mass_kg for station in stations], dtype=float)
    by_load = np.floor(limit * 1000.0 / (mass_kg * 1000.0) + 1e-9)
    by_load = np.where(np.isnan(by_load), job.ballast.max_items, by_load)
    most: Index = np.minimum(np.minimum(stock, by_load), job.ballast.max_items).astype(np.int64)
    return most

"""Candidates as rows, with what follows from their parts alone.

A *corner* is a wheel, a tire and a spacer (or none) on a hub; a *drive* is a tire, an axle ratio and a differential;
a *slot* is a ballast item at a station. Columns carry the name of the table that they come from: `wheel.rim_width_mm`.
Sums that the solver adds are whole numbers (grams, cents, micrometers), rounded here and nowhere else.

`Rows` works a column out when it is asked for, so that a check costs what it looks at, and what it looks at can be
recorded: whole lists are judged on one part of each kind that a check can tell apart (`combo.candidates.instance`).
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from combo.checks import prices
from combo.checks.prices import slot_columns
from combo.checks.table import NO_ROWS, Given, Places, Table
from combo.checks.values import Case, cruise_points, job_value, value_of
from combo.fasteners import seats_agree
from combo.formulas.axle import deflection_mm, rear_share_kg, sag_mm
from combo.formulas.drive import (
    FRICTION_DRY,
    drag_n,
    engine_rpm,
    gripped_torque_n_m,
    lift_divisor,
    low_side_share,
    preload_thrust_kg,
    resistance_on_grade,
    speedometer_error,
    start_share,
    thrust_n,
    torque_at_n_m,
)
from combo.formulas.rounding import half_up
from combo.formulas.tire import (
    INCHES_PER_MILE,
    LOAD_EXPONENT,
    LOWEST_TABLED_KPA,
    rolling_factor,
    rolling_radius_from_revs_mm,
    rolling_radius_mm,
    section_width_on_rim_mm,
)
from combo.formulas.wheel import offset_on_spacer_mm, overall_width_mm
from combo.job import ROOMS, WHEELS_AN_AXLE, Axle, AxleBeam, Axles, CruisePoint, Job, Present
from combo.parts import Parts
from combo.units import INCH_MM, STANDARD_GRAVITY_M_S2

Index = NDArray[np.int64]
Floats = NDArray[np.float64]
NO_SPACER = -1
NO_NUT = -1
INNER_NUT_MM = 22.225  # 7/8 in over the nuts that hold an adapter, from memory; told where it is used
ESTIMATED_HUB_SHARE = 0.465  # of the tire's diameter: how high a hub stands where nothing better is known
FITTED = "spacer.is_fitted"
"""1 where there is a spacer, else 0: of the list itself, whose last row stands for none."""
PPM = 1_000_000.0
_GRAM_DUST = 1e-6
"""Of a gram: what binary fractions may have lost of a whole one."""
_MARGIN_DUST_MM = 0.001
"""A margin is rounded to this: what is short of nothing by less than half of it still holds."""
_DUST_DIGITS = 12
"""Of a speedometer's error: one that is true reads neither high nor low for what binary fractions lose."""

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
    "corner.present_diameter_mm": ("present.hub_height_mm",),
    "corner.ground_g": (
        "tire.running_diameter_mm",
        "present.hub_height_mm",
        "present.ground_clearance_mm",
        "axle.sag_rate_n_per_m",
    ),
    "corner.laid_ground_g": (
        "tire.running_diameter_mm",
        "present.hub_height_mm",
        "present.ground_clearance_mm",
        "state.laid_out_drop_mm",
    ),
    "axle.sag_rate_n_per_m": ("axle.spring_rate_n_per_m",),
    "corner.lip_error_um": ("corner.section_width_mm", "corner.offset_mm", "wheelhouse.room_outer_mm"),
    "drive.rolling_radius_mm": ("tire.running_diameter_mm",),
    "tire.running_diameter_mm": ("tire.overall_diameter_mm",),
    "drive.belongs": (
        "ratio.ring_gear",
        "differential.ring_gear",
        "axle.ring_gear",
        "differential.splines",
        "axle.splines",
        "ratio.front_ring_gear",
        "differential.front_ring_gear",
        "differential.front_splines",
        "drive.front_family",
        "drive.front_splines",
    ),
    "drive.front_family": ("axle.front_ring_gear",),
    "drive.front_splines": ("axle.front_splines",),
    "drive.front_lowest": ("differential.front_ratio_min",),
    "drive.front_highest": ("differential.front_ratio_max",),
    "drive.front_low_side": ("differential.front_bias_ratio",),
    "drive.front_stall_n_m": ("drive.stall_n_m",),
    "corner.driven_radius_mm": ("tire.running_diameter_mm",),
    "corner.radius_least_um": ("tire.running_diameter_mm",),
    "corner.radius_most_um": ("tire.running_diameter_mm",),
    "drive.match_least_um": ("tire.running_diameter_mm", "transmission.match_share"),
    "drive.match_most_um": ("tire.running_diameter_mm", "transmission.match_share"),
    "corner.radius_by_size_mm": ("tire.running_diameter_mm",),
    "corner.nominal_diameter_mm": ("tire.running_diameter_mm",),
    "transmission.match_share": ("transmission.transfer_case",),
    "drive.grip_share": (
        "surface.friction_low",
        "surface.friction_high",
        "drive.bias_ratio",
        "drive.track_mm",
        "tire.overall_diameter_mm",
    ),
    "drive.preload_kg": ("tire.overall_diameter_mm", "drive.track_mm"),
    "drive.road_share": ("drive.bias_ratio", "drive.track_mm", "tire.overall_diameter_mm"),
    "drive.road_preload_kg": ("tire.overall_diameter_mm", "drive.track_mm"),
    "drive.bias_ratio": ("differential.bias_ratio",),
    "drive.track_mm": ("axle.track_mm",),
    "drive.speedometer_error": (
        "tire.overall_diameter_mm",
        "speedometer.present_ratio",
        "speedometer.present_revs_per_mile",
        "speedometer.driven_teeth",
        "tire.revs_per_mile",
    ),
    "drive.pull_g": (
        "tire.overall_diameter_mm",
        "engine.torque",
        "transmission.gears",
        "transmission.moves_off_rpm",
    ),
    "drive.hold_g": (
        "engine.torque",
        "tire.overall_diameter_mm",
        "truck.drag_coefficient",
        "truck.frontal_area_m2",
    ),
    "drive.hold_known_g": ("drive.hold_g",),
    "mount.own_pad_mm": ("spacer.pad_mm",),
    "mount.own_stud_diameter_mm": ("spacer.stud_diameter_mm",),
    "mount.own_stud_length_mm": ("spacer.stud_length_mm",),
    "mount.pilot_mm": ("hub.pilot_mm",),
    "mount.meets_pilot": ("hub.pilot_length_mm",),
    "mount.pocket_mm": ("wheel.pocket_depth_mm",),
    "mount.inner_nut_mm": ("spacer.nut_height_mm",),
    "mount.nut_sku": ("wheel.lug_nut",),
    "mount.nut_is_closed": ("mount.nut_sku", "nut.type"),
    "mount.nut_thread_mm": ("mount.nut_sku", "nut.thread_depth_mm"),
    "mount.seat_agrees": ("wheel.seat", "mount.nut_sku", "nut.seat"),
    "mount.thread_agrees": ("mount.nut_sku", "mount.hub_thread", "mount.own_thread"),
    "mount.hub_thread": ("hub.stud_thread",),
    "mount.brake_envelope_mm": ("brakes.envelope_diameter_mm",),
    "mount.brake_reach_mm": ("brakes.caliper_reach_mm",),
    "mount.stud_room_mm": (
        "hub.stud_length_mm",
        "hub.stud_diameter_mm",
        "mount.own_stud_length_mm",
        "mount.own_stud_diameter_mm",
    ),
    "corner.pressed_g": ("tire.rated_pressure_kpa", "wheel.max_pressure_kpa", "tire.capacity_kg"),
    "corner.spare_rear_g": ("wheel.mass_kg", "tire.mass_kg"),
    "drive.torque_g": ("tire.overall_diameter_mm", "truck.cg_height_mm", "drive.stall_n_m"),
    "drive.stall_n_m": ("engine.torque", "transmission.gears", "transmission.moves_off_rpm"),
    "mount.own_thread": ("spacer.stud_thread",),
    "mount.left_agrees": ("mount.nut_sku", "nut.left_hand_twin"),
    "point.gear": ("transmission.cruise_gear",),
    "point.rpm": ("tire.overall_diameter_mm", "point.gear"),
    "transmission.moves_off_rpm": (
        "transmission.stall_speed_rpm",
        "transmission.stall_ratio",
        "transmission.clutch_rating_n_m",
        "transmission.clutch_rpm",
    ),
    "state.axis_inboard_mm": ("steering.axis_offset_mm",),
    "state.center_mm": ("panhard.middle_mm",),
    "state.diameter_mm": ("tire.overall_diameter_mm",),
    "state.lock_deg": ("steering.lock_deg",),
    "state.other_center_mm": ("panhard.middle_mm",),
    "state.parked_diameter_mm": ("tire.overall_diameter_mm",),
    "state.rim_mm": ("tire.rim_diameter_mm",),
    **{f"state.{name}": ("state.travel_mm",) for name in ("shift_mm", "shift_inner_mm", "shift_outer_mm")},
    "state.tilt_rad": ("axle.stop_distance_mm", "state.bump_mm", "state.droop_mm"),
    "state.track_mm": ("axle.track_mm",),
    "state.tread_mm": ("tire.tread_width_mm",),
    "state.room_inner_dropped_mm": ("wheelhouse.room_inner_mm",),
    "state.room_outer_dropped_mm": ("wheelhouse.room_outer_mm",),
    "tire.capacity_kg": ("tire.load_rating_kg", "tire.service"),
    "tire.is_radial": ("tire.construction",),
    "tire.speed_km_h": ("tire.speed_symbol",),
    "tire.static_loaded_radius_mm": ("tire.running_diameter_mm",),
    "transmission.top_gear": ("transmission.gears",),
    "wheel.offset_mm": ("wheel.backspace_mm",),
} | {f"state.{name}": (f"wheelhouse.{name}",) for name in ROOMS}
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
    derived = _DRIVE | _FRONT_DRIVE if job.axle.is_front_driven else _DRIVE
    return Rows(job, "rear", parts, {"tire": tire, "ratio": ratio, "differential": differential}, derived, only)


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


def _has_lip(rows: Rows) -> NDArray[np.bool_]:
    return np.asarray(_is_spaced(rows) & ~np.isnan(rows["spacer.pilot_mm"]))


def _pilot_mm(rows: Rows) -> Any:
    """Pilot that may center the wheel: the spacer's lip, or the hub's own; see `_meets_pilot`."""
    return np.where(_has_lip(rows), rows["spacer.pilot_mm"], getattr(rows.job.hub, rows.axle).pilot_mm)


def _meets_pilot(rows: Rows) -> Any:
    """1 where the wheel meets that pilot, 0 where the hub's does not reach through the spacer, NaN where not known."""
    reach_mm = getattr(rows.job.hub, rows.axle).pilot_length_mm
    through = np.full(len(rows), np.nan) if np.isnan(reach_mm) else reach_mm > rows["spacer.thickness_mm"]
    return np.where(~_is_spaced(rows) | _has_lip(rows), 1.0, through)


def _own(column: str) -> Derived:
    return lambda rows: np.where(_is_bolted(rows), rows[f"spacer.{column}"], 0.0)


def _pocket_mm(rows: Rows) -> Any:
    """Depth of the pockets in the wheel's back, where they are known to lie over the hub's studs; else 0."""
    return np.where(rows["wheel.pocket_over_studs"] == "yes", rows["wheel.pocket_depth_mm"], 0.0)


def _inner_nut_mm(rows: Rows) -> Any:
    """Height of the nuts that hold a bolted spacer on the hub's studs; an estimate where no list states it."""
    height = rows["spacer.nut_height_mm"]
    return np.where(np.isnan(height) | ~_is_bolted(rows), INNER_NUT_MM, height)


def _nut_at(rows: Rows) -> Index:
    """Position in the list of the nut that goes with each wheel; NO_NUT where none is known.

    It is the one that the wheel's row names; on a wheel that stays, the one that the hub names; else the cheapest
    listed of the wheel's seat and the stud's thread.
    """
    nuts, hub = rows.parts.nuts, getattr(rows.job.hub, rows.axle)
    if not len(nuts):
        return np.full(len(rows), NO_NUT, dtype=np.int64)
    by_sku = {sku: at for at, sku in enumerate(nuts["sku"])}
    stays = np.asarray(prices.is_kept(rows, "wheel") == 1.0)
    thread = np.where(_is_bolted(rows), rows["spacer.stud_thread"], hub.stud_thread)
    told = zip(rows["wheel.lug_nut"], rows["wheel.seat"], stays.tolist(), thread, strict=True)
    known: dict[tuple[Any, ...], int] = {}
    at = np.empty(len(rows), dtype=np.int64)
    for row, key in enumerate(told):
        if key not in known:
            name, seat, kept, stud = key
            named = by_sku.get(name or (hub.lug_nut if kept else ""), NO_NUT)
            known[key] = named if named != NO_NUT else _cheapest_nut(rows.parts, seat, stud)
        at[row] = known[key]
    return at


def _cheapest_nut(parts: Parts, seat: str, thread: str, *, left_hand: bool = False) -> int:
    """Cheapest nut of a seat, a thread and a hand, a piece; NO_NUT where either is not stated or none is listed."""
    nuts, pack = parts.nuts, parts.nuts["pack"].fillna(1.0)
    if not seat or not thread:
        return NO_NUT
    fits = [
        at
        for at in range(len(nuts))
        if (nuts["left_hand"].iloc[at] == "yes") == left_hand
        and nuts["seat"].iloc[at] == seat
        and nuts["thread"].iloc[at] == thread
    ]
    each = nuts["price_cents"] / pack
    return min(fits, key=lambda at: (each.iloc[at], nuts["sku"].iloc[at]), default=NO_NUT)


def _has_left_hand(rows: Rows) -> NDArray[np.bool_]:
    """Whether the left wheel's nuts have a left-hand thread: those on the hub's own studs, where the hub says so."""
    return np.asarray(~_is_bolted(rows) & getattr(rows.job.hub, rows.axle).left_hand)


def _left_nut_at(rows: Rows) -> Index:
    """Position of the cheapest left-hand nut of the same seat and thread; NO_NUT where none is needed or listed."""
    nuts, wanted = rows.parts.nuts, _has_left_hand(rows)
    if not wanted.any():
        return np.full(len(rows), NO_NUT, dtype=np.int64)
    twins = [_cheapest_nut(rows.parts, *own, left_hand=True) for own in zip(nuts["seat"], nuts["thread"], strict=True)]
    twin_of = np.array([*twins, NO_NUT], dtype=np.int64)
    return np.where(wanted, twin_of[rows["mount.nut_at"]], NO_NUT)


def _seat_agrees(rows: Rows) -> Floats:
    """1 where the seats of wheel and nut are one, 0 where they differ, NaN where either is open."""
    pairs = zip(rows["wheel.seat"], rows["mount.nut_seat"], strict=True)
    return np.array([seats_agree(*pair) for pair in pairs], dtype=float)


def _thread_agrees(rows: Rows) -> Any:
    """1 where the nut goes on the stud, 0 where thread or hand differ, NaN where one is open."""
    stud = np.where(_is_bolted(rows), rows["spacer.stud_thread"], getattr(rows.job.hub, rows.axle).stud_thread)
    nut = rows["mount.nut_thread"]
    known = np.where((stud == "") | (nut == ""), np.nan, np.where(stud == nut, 1.0, 0.0))
    return np.where(_of_nut("left_hand", "")(rows) == "yes", 0.0, known)


def _left_agrees(rows: Rows) -> Any:
    """1 where no left-hand nut is needed or one is listed that is like the other, else NaN."""
    return np.where(~_has_left_hand(rows) | (rows["mount.left_nut_at"] != NO_NUT), 1.0, np.nan)


def _of_nut(column: str, unknown: Any) -> Derived:
    """A column of the nut that goes with the wheel; `unknown` where there is none."""

    def of_nut(rows: Rows) -> Any:
        listed_ = rows.parts.nuts[column].to_numpy()
        at = rows["mount.nut_at"]
        own = np.append(listed_, unknown) if len(listed_) else np.array([unknown])
        return own[at]  # NO_NUT takes the last

    return of_nut


def _nut_is_closed(rows: Rows) -> Any:
    kind = _of_nut("type", "")(rows)
    return np.where(kind == "closed", 1.0, np.where(kind == "open", 0.0, np.nan))


def _of_brake(name: str) -> Derived:
    return lambda rows: np.full(len(rows), getattr(getattr(rows.job.brakes, rows.axle), name))


def _stud_room_mm(rows: Rows) -> Any:
    """Thickness that a wheel's pad may have for its nuts to engage enough thread, on a bolted spacer's studs or the
    hub's.
    """
    hub = getattr(rows.job.hub, rows.axle)
    through = hub.stud_length_mm - rows["spacer.thickness_mm"] - hub.stud_engagement * hub.stud_diameter_mm
    on_own = rows["mount.own_stud_length_mm"] - hub.stud_engagement * rows["mount.own_stud_diameter_mm"]
    return np.where(_is_bolted(rows), on_own, through)


def _pressed_g(rows: Rows) -> Any:
    """What both tires of an axle carry at the largest cold pressure of their wheels [g], rounded down.

    Nothing where that lies below the least pressure of the load tables.
    """
    service, most = rows["tire.service"], rows["wheel.max_pressure_kpa"]
    exponent, least = (
        np.select([service == name for name in table], list(table.values()), np.nan)
        for table in (LOAD_EXPONENT, LOWEST_TABLED_KPA)
    )
    reached = np.minimum(most / rows["tire.rated_pressure_kpa"], 1.0)  # more pressure than rated carries no more
    carried_kg = rows["tire.capacity_kg"] * reached**exponent
    return np.where(most < least, 0.0, WHEELS_AN_AXLE * np.floor(carried_kg * 1000.0 + _GRAM_DUST))


def _present_diameter_mm(rows: Rows) -> Any:
    """Diameter of the unloaded tire on the axle now: measured, else the listed one's, else by the hub's height."""
    present = rows.job.present
    measured: float = getattr(present, f"{rows.axle}_tire_diameter_mm")
    listed_ = present_tire(rows.parts, rows.axle, "running_diameter_mm")
    by_hub = getattr(present, f"{rows.axle}_hub_height_mm") / ESTIMATED_HUB_SHARE
    known = next((size for size in (measured, listed_, by_hub) if not np.isnan(size)), np.nan)
    return np.full(len(rows), known)


def present_tire(parts: Parts, axle: Axle, column: str) -> float:
    """A number of the listed tire that is on an axle now, the first by SKU; NaN where none is."""
    there = np.isin(parts.column("tire", "on_truck").astype(str), (axle, "both"))
    if not there.any():
        return float("nan")
    skus = parts.column("tire", "sku")[there].astype(str)
    return float(parts.column("tire", column)[there][int(np.argmin(skus))])


def _factor(job: Job, is_radial: Any) -> Any:
    """Rolling radius over half the diameter of tires that declare no revolutions."""
    return rolling_factor(is_radial) if np.isnan(job.rolling.factor) else job.rolling.factor


def _radius_by_size_mm(rows: Rows) -> Any:
    sizes = rows["tire.running_diameter_mm"].astype(float), rows["tire.is_radial"].astype(float)
    return rolling_radius_mm(sizes[0], _factor(rows.job, sizes[1]))


def _declared_radius_mm(rows: Rows) -> Any:
    """Rolling radius by the tire's declared revolutions; NaN of one that declares none."""
    return rolling_radius_from_revs_mm(rows["tire.revs_per_mile"].astype(float))


def _rolling_radius_mm(rows: Rows) -> Any:
    by_revs = _declared_radius_mm(rows)
    return np.where(np.isnan(by_revs), _radius_by_size_mm(rows), by_revs)


def _radius_ends_mm(rows: Rows) -> tuple[Any, Any]:
    """The smaller and the larger of the rolling radii by declared revolutions and by size."""
    by_revs, by_size = _declared_radius_mm(rows), _radius_by_size_mm(rows)
    return np.fmin(by_revs, by_size), np.fmax(by_revs, by_size)


def _match_um(rows: Rows, end: int) -> Any:
    """Rolling radius that a front tire must have at least (0) or at most (1) to turn with the rear axle [um], whichever
    way the radii are known.
    """
    share = rows.job.transmission.match_share * (1.0 if end else -1.0)
    return rows["drive.front_ratio"] * _radius_ends_mm(rows)[end] / (rows["ratio.ratio"] * (1.0 - share)) * 1000.0


def _driven_radius_mm(rows: Rows) -> Any:
    """Rolling radius of a tire whose axle is driven; 0 of another."""
    if rows.axle == "front" and not rows.job.axle.is_front_driven:
        return np.zeros(len(rows))
    return _rolling_radius_mm(rows)


def _ground_g(wish: str, drop: str = "") -> Derived:
    """Heaviest axle load [g] under which the lowest point may keep a clearance on the tire; see the check `ground`."""

    def heaviest_g(rows: Rows) -> Any:
        job, axle = rows.job, rows.axle
        height, clearance = (getattr(job.present, f"{axle}_{name}_mm") for name in ("hub_height", "ground_clearance"))
        diameter = rows["tire.running_diameter_mm"]
        kg_sinks_mm = deflection_mm(rows["corner.present_diameter_mm"], height, diameter, 1.0) / job.loads.axle_kg(axle)
        may_sink_mm = clearance + diameter / 2.0 - height - getattr(job.targets, wish) + _MARGIN_DUST_MM
        if drop:  # laid out no spring sags
            may_sink_mm = may_sink_mm - value_of(Case(job, axle), drop, NO_ROWS)
        kg_sags_mm = sag_mm(1.0, np.inf if drop else job_value(job, "axle.sag_rate_n_per_m", axle))
        # The heaviest wheels, tires and spacers: a bound goes by the tire alone, so that parts add up.
        heaviest = sum(prices.heaviest_kg(rows.parts, kind) for kind in prices.CORNER_PARTS)
        unsprung_kg = WHEELS_AN_AXLE * heaviest - present_parts_g(job.present, axle) / 1000.0
        at_ease_mm = may_sink_mm + kg_sags_mm * (unsprung_kg + job.loads.axle_kg(axle))
        with np.errstate(divide="ignore", invalid="ignore"):  # what does not come down carries anything, or nothing
            return np.asarray(at_ease_mm / (kg_sinks_mm + kg_sags_mm)) * 1000.0

    return heaviest_g


def present_parts_g(present: Present, axle: Axle) -> float:
    """Wheels, tires and spacers that are on an axle now [g]."""
    own = (getattr(present, f"{axle}_{name}_kg") for name in ("wheel_and_tire", "spacer"))
    return float(WHEELS_AN_AXLE * sum(half_up(size * 1000.0) for size in own))


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
    """How far the tire's outer sidewall stands from the wanted gap inside the lip, at ride height; 0 where no gap is
    wanted.
    """
    job = rows.job
    if np.isnan(job.targets.lip_gap_mm):
        return np.zeros(len(rows))
    reach = rows["corner.section_width_mm"] / 2.0 - rows["corner.offset_mm"]
    gap = value_of(Case(job, rows.axle, "ride_height"), "state.room_outer_mm", NO_ROWS) - reach
    return half_up(np.abs(gap - job.targets.lip_gap_mm) * 1000.0)


def _place(kind: str) -> Derived:
    return lambda rows: rows.at[kind]


_CORNER: dict[str, Derived] = {
    **{f"{kind}.at": _place(kind) for kind in ("wheel", "tire", "spacer")},
    "mount.bolt_circle_lugs": _circle("lugs", "lug_count"),
    "mount.bolt_circle_mm": _circle("mm", "diameter_mm"),
    "mount.pilot_mm": _pilot_mm,
    "mount.is_bolted": lambda rows: _is_bolted(rows).astype(float),
    "mount.meets_pilot": _meets_pilot,
    "mount.pocket_mm": _pocket_mm,
    "mount.inner_nut_mm": _inner_nut_mm,
    "mount.nut_at": _nut_at,
    "mount.nut_sku": _of_nut("sku", ""),
    "mount.left_nut_at": _left_nut_at,
    "mount.nut_seat": _of_nut("seat", ""),
    "mount.nut_thread": _of_nut("thread", ""),
    "mount.seat_agrees": _seat_agrees,
    "mount.thread_agrees": _thread_agrees,
    "mount.left_agrees": _left_agrees,
    "mount.hub_thread": lambda rows: np.where(_is_bolted(rows), "-", getattr(rows.job.hub, rows.axle).stud_thread),
    "mount.own_thread": lambda rows: np.where(_is_bolted(rows), rows["spacer.stud_thread"], "-"),
    "nut.sku": _of_nut("sku", ""),
    "nut.seat": _of_nut("seat", "?"),
    "nut.left_hand_twin": lambda rows: np.where(rows["mount.nut_at"] == NO_NUT, 0.0, rows["mount.left_agrees"]),
    "nut.type": _of_nut("type", "?"),
    "nut.thread_depth_mm": _of_nut("thread_depth_mm", 0.0),
    "mount.nut_is_closed": _nut_is_closed,
    "mount.nut_thread_mm": _of_nut("thread_depth_mm", np.nan),
    "mount.brake_envelope_mm": _of_brake("envelope_diameter_mm"),
    "mount.brake_reach_mm": _of_brake("caliper_reach_mm"),
    "mount.brake_clearance_mm": _of_brake("clearance_mm"),
    "mount.stud_room_mm": _stud_room_mm,
    "mount.own_pad_mm": _own("pad_mm"),
    "mount.own_stud_length_mm": _own("stud_length_mm"),
    "mount.own_stud_diameter_mm": _own("stud_diameter_mm"),
    "corner.offset_mm": lambda rows: offset_on_spacer_mm(rows["wheel.offset_mm"], rows["spacer.thickness_mm"]),
    "corner.backspace_mm": lambda rows: rows["wheel.backspace_mm"] - rows["spacer.thickness_mm"],
    "corner.section_width_mm": _section_width_mm,
    "corner.overall_width_mm": lambda rows: overall_width_mm(rows["wheel.rim_width_mm"], rows["wheel.flange_mm"]),
    "corner.present_diameter_mm": _present_diameter_mm,
    "corner.radius_by_revs_mm": lambda rows: np.nan_to_num(_declared_radius_mm(rows)),
    "corner.radius_by_size_mm": _radius_by_size_mm,
    "corner.nominal_diameter_mm": lambda rows: rows["tire.running_diameter_mm"],  # its size, not what may come
    "corner.driven_radius_mm": _driven_radius_mm,
    "corner.radius_least_um": lambda rows: np.floor(_radius_ends_mm(rows)[0] * 1000.0),
    "corner.radius_most_um": lambda rows: np.ceil(_radius_ends_mm(rows)[1] * 1000.0),
    "corner.ground_g": _ground_g("ground_clearance_mm"),
    "corner.laid_ground_g": _ground_g("laid_out_clearance_mm", "state.laid_out_drop_mm"),
    "corner.spare_rear_g": _spare_rear_g,
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
    "corner.pressed_g": _pressed_g,
    **prices.CORNER_COLUMNS,
    "corner.lip_error_um": _lip_error_um,
}
"""Columns of a corner: every one from columns of its parts and from others of these. What is `of_` a kind depends on
that part alone.
"""


# What follows of a drive


def _rpm(rows: Rows) -> Any:
    box = rows.job.transmission
    return engine_rpm(
        rows.job.targets.cruise_speed_km_h,
        rows["drive.rolling_radius_mm"],
        box.cruise_gear,
        rows["ratio.ratio"],
        box.slip(locked=box.lock_up),
    )


def _grip_share(low: Callable[[Job], float], high: Callable[[Job], float]) -> Derived:
    """Share of the load under the rear wheels that their grip turns into thrust, one side on each ground."""
    return lambda rows: start_share(_low_side(rows), low(rows.job), high(rows.job), _rear_lever(rows))


def _preload_kg(low: Callable[[Job], float]) -> Derived:
    """Thrust of a limited slip's preload."""

    def thrust_kg(rows: Rows) -> Any:
        lifts = lift_divisor(_low_side(rows), low(rows.job), _rear_lever(rows))
        own = preload_thrust_kg(_preload_n_m(rows), rows["drive.rolling_radius_mm"], lifts)
        return np.where(_is_limited_slip(rows), own, 0.0)  # of another kind whether or not its radius is known

    return thrust_kg


def _low_side(rows: Rows, prefix: str = "") -> Floats:
    """As `low_side_share` has it, of each row's differential; NaN where a list has none."""
    kinds = zip(rows[f"differential.{prefix}type"], rows[f"differential.{prefix}bias_ratio"], strict=True)
    own = [low_side_share(kind, bias) if isinstance(kind, str) and kind else np.nan for kind, bias in kinds]
    return np.array(own, dtype=float)


def _is_limited_slip(rows: Rows, prefix: str = "") -> NDArray[np.bool_]:
    return np.asarray(rows[f"differential.{prefix}type"] == "limited_slip")


def _preload_n_m(rows: Rows, prefix: str = "") -> Any:
    """Preload of a limited slip [N m]; 0 of any other differential, and of one that states none."""
    return np.where(_is_limited_slip(rows, prefix), np.nan_to_num(rows[f"differential.{prefix}preload_n_m"]), 0.0)


def lift_lever(beam: AxleBeam, radius_mm: Any, ratio: Any) -> Any:
    """Rolling radius over axle ratio and track, where the driveshaft's torque lifts a wheel of a live axle, less the
    part that the springs take back; 0 where the axle is none. As for `lift_divisor`.
    """
    return radius_mm / (ratio * beam.track_mm) * (1.0 - beam.roll_share_ppm / PPM) if beam.live else 0.0


def _rear_lever(rows: Rows) -> Any:
    return lift_lever(rows.job.axle.rear, rows["drive.rolling_radius_mm"], rows["ratio.ratio"])


def _at_rest_n_m(job: Job) -> float:
    """Torque into the gearbox as the truck moves off: the converter's at stall, or what clutch and engine give."""
    box = job.transmission
    torque_n_m = float(torque_at_n_m(box.moves_off_rpm, *_torque_curve(job)))
    return torque_n_m * box.stall_ratio if box.has_converter else float(np.minimum(box.clutch_rating_n_m, torque_n_m))


def _torque_curve(job: Job) -> tuple[Floats, Floats]:
    return (
        np.array([point.at_rpm for point in job.engine.torque]),
        np.array([point.torque_n_m for point in job.engine.torque]),
    )


def _stall_n_m(rows: Rows) -> Any:
    """Torque at the ring gear as the truck moves off in its lowest gear, nothing lost on the way [N m]."""
    box = rows.job.transmission
    lowest = max(box.gears) * box.low_range if box.gears else np.nan
    return _at_rest_n_m(rows.job) * lowest * rows["ratio.ratio"]


def _torque_g(rows: Rows) -> Any:
    """Heaviest rear load [g] of which the grip on dry road stays within the axle's torque rating; any, where the engine
    cannot reach it, or where a job that is not strict does not know whether it can.
    """
    job, over = rows.job, rows.job.truck.cg_height_mm / rows.job.truck.wheelbase_mm
    rating = job.axle.rear.torque_rating_n_m
    by_grip = rating / gripped_torque_n_m(1.0, FRICTION_DRY, over, rows["drive.rolling_radius_mm"]) * 1000.0
    stall = rows["drive.stall_n_m"]
    is_any = (stall <= rating) | (np.isnan(stall) & (not job.job.strict))
    return np.where(is_any, np.inf, by_grip)


def _pull_g(rows: Rows) -> Any:
    """Mass of a truck that the engine can start up the wanted grade."""
    job, box = rows.job, rows.job.transmission
    first = box.gears[0] * (box.low_range if job.axle.is_front_driven else 1.0) if box.gears else np.nan
    starts_n = thrust_n(_at_rest_n_m(job), first, rows["ratio.ratio"], box.efficiency, rows["drive.rolling_radius_mm"])
    return _mass_on_grade_g(job, job.targets.pull_grade_ppm, np.asarray(starts_n))


def _hold_g(least: Callable[[list[Floats]], Floats]) -> Derived:
    """Mass of a truck that the engine can hold at every cruise point on its grade, the least of all of them."""

    def held(rows: Rows) -> Any:
        points = cruise_points(rows.job).values()
        cruises = [_held_g(rows.job, point, rows["drive.rolling_radius_mm"], rows["ratio.ratio"]) for point in points]
        return least(cruises) if cruises else np.full(len(rows), np.inf)

    return held


def _held_g(job: Job, point: CruisePoint, radius_mm: Floats, ratio: Floats) -> Floats:
    """Mass of a truck that the engine can hold at a cruise point on its grade [g]; any, where no grade is wanted."""
    if not point.hold_grade_ppm:
        return np.full(len(ratio), np.inf)
    rpm = engine_rpm(point.speed_km_h, radius_mm, point.gear, ratio, job.transmission.slip(locked=point.locked))
    torque = torque_at_n_m(rpm, *_torque_curve(job))
    thrust = thrust_n(torque, point.gear, ratio, job.transmission.efficiency, radius_mm)
    drag = drag_n(point.speed_km_h, job.truck.drag_coefficient, job.truck.frontal_area_m2)
    return _mass_on_grade_g(job, point.hold_grade_ppm, np.asarray(thrust - drag))


def _mass_on_grade_g(job: Job, grade_ppm: int, thrust_n_: Floats) -> Floats:
    """Mass whose pull on the grade the thrust just outweighs [g], rounded down to be safe."""
    pull = float(resistance_on_grade(grade_ppm / PPM, job.rolling.resistance)) * STANDARD_GRAVITY_M_S2
    return np.floor(thrust_n_ / pull * 1000.0)


def _speedometer_errors(rows: Rows) -> tuple[Floats, Floats]:
    """Error of the speedometer with each driven gear at hand, shape (gears, n), and the teeth of each, fewest first.

    Both tires' revolutions are declared, or both are worked out from their sizes: never one of each.
    """
    job, meter = rows.job, rows.job.speedometer
    teeth = sorted({meter.driven_teeth, *meter.driven_listed} - {0}) or [0]
    present_teeth = float(meter.driven_teeth) if meter.driven_teeth else np.nan
    is_declared = ~np.isnan(rows["tire.revs_per_mile"].astype(float)) & ~np.isnan(meter.present_revs_per_mile)
    new = np.where(is_declared, rows["drive.rolling_radius_mm"], _radius_by_size_mm(rows))
    now = np.where(is_declared, rolling_radius_from_revs_mm(meter.present_revs_per_mile), _present_radius_mm(rows))
    revs, present_revs = (INCHES_PER_MILE * INCH_MM / (2.0 * np.pi * radius) for radius in (new, now))
    reads = job.speedometer.present_reads_ppm / PPM
    errors = np.stack(
        [
            (
                1.0
                + speedometer_error(
                    rows["ratio.ratio"], revs, meter.present_ratio, present_revs, float(count or 1), present_teeth
                )
            )
            * reads
            - 1.0
            for count in teeth
        ]
    )
    return np.round(errors, _DUST_DIGITS), np.array(teeth, dtype=float)


def _present_radius_mm(rows: Rows) -> Any:
    """Rolling radius of the present rear tire by its size."""
    measured = rows.job.present.rear_tire_diameter_mm
    diameter = present_tire(rows.parts, "rear", "running_diameter_mm") if np.isnan(measured) else measured
    return rolling_radius_mm(diameter, _factor(rows.job, present_tire(rows.parts, "rear", "is_radial")))


def _speedometer(rows: Rows) -> tuple[Any, Any]:
    """Error with the driven gear that reads least above true, or where none does, least below it; and its teeth."""
    errors, teeth = _speedometer_errors(rows)
    best = np.argmin(np.where(np.isnan(errors), np.inf, np.where(errors >= 0, errors, 1e6 - errors)), axis=0)
    return np.take_along_axis(errors, best[np.newaxis], axis=0)[0], teeth[best]


def _below_true(rows: Rows) -> tuple[Any, Any]:
    """Error with the driven gear that reads least below true, and its teeth; NaN where none does."""
    errors, teeth = _speedometer_errors(rows)
    below = np.where(errors < 0, errors, -np.inf)
    best = np.argmax(np.where(np.isnan(errors), -np.inf, below), axis=0)
    error = np.take_along_axis(below, best[np.newaxis], axis=0)[0]
    return np.where(np.isneginf(error), np.nan, error), teeth[best]


def _belongs(rows: Rows) -> Any:
    """1 where gear set, differential and axle are one family and the splines agree, at every driven axle; 0 where one
    differs, else NaN.
    """
    known = _family(rows, "", rows.job.axle)
    if rows.job.axle.is_front_driven:
        known += _family(rows, "front_", rows.job.axle.front)
    answers = np.stack([answer.astype(float) for answer in known])
    return np.where((answers == 0.0).any(axis=0), 0.0, answers.min(axis=0))


def _family(rows: Rows, prefix: str, axle: Axles | AxleBeam) -> list[NDArray[Any]]:
    """What agrees at an axle, each 1, 0, or NaN where it is open."""
    gears, carriers, splines = (
        rows[f"ratio.{prefix}ring_gear"],
        rows[f"differential.{prefix}ring_gear"],
        rows[f"differential.{prefix}splines"],
    )
    pairs = [(gears, carriers), (gears, axle.ring_gear), (carriers, axle.ring_gear)]
    answers = [np.where((a == "") | (b == ""), np.nan, a == b) for a, b in pairs]
    return [*answers, np.where(np.isnan(splines) | (axle.splines == 0), np.nan, splines == axle.splines)]


def _same(own: Any) -> Derived:
    return lambda rows: np.full(len(rows), own, dtype=object if isinstance(own, str) else float)


def _front_stall_n_m(rows: Rows) -> Any:
    """Torque at the front ring gear, likewise: all of it may go there."""
    return rows["drive.stall_n_m"] / rows["ratio.ratio"] * rows["drive.front_ratio"]


_DRIVE: dict[str, Derived] = {
    **{f"{kind}.at": _place(kind) for kind in ("tire", "ratio", "differential")},
    "drive.rolling_radius_mm": _rolling_radius_mm,
    "drive.rpm": _rpm,
    "drive.belongs": _belongs,
    **prices.DRIVE_COLUMNS,
    "drive.grip_share": _grip_share(lambda job: job.surface.friction_low, lambda job: job.surface.friction_high),
    "drive.preload_kg": _preload_kg(lambda job: job.surface.friction_low),
    "drive.road_share": _grip_share(lambda job: job.surface.friction_road, lambda job: job.surface.friction_road),
    "drive.road_preload_kg": _preload_kg(lambda job: job.surface.friction_road),
    "drive.stall_n_m": _stall_n_m,
    "drive.torque_g": _torque_g,
    "drive.front_ratio": _same(0.0),
    "drive.front_lowest": _same(-np.inf),
    "drive.front_highest": _same(np.inf),
    "drive.front_family": _same("-"),
    "drive.front_splines": _same(1.0),
    "drive.front_low_side": _same(0.0),
    "drive.front_preload_n_m": _same(0.0),
    "drive.match_least_um": lambda rows: np.floor(_match_um(rows, 0)),
    "drive.match_most_um": lambda rows: np.ceil(_match_um(rows, 1)),
    "drive.front_stall_n_m": _front_stall_n_m,
    "drive.pull_g": _pull_g,
    "drive.hold_g": _hold_g(np.minimum.reduce),
    "drive.hold_known_g": _hold_g(np.fmin.reduce),
    "drive.speedometer_error": lambda rows: _speedometer(rows)[0],
    "drive.driven_teeth": lambda rows: _speedometer(rows)[1],
    "drive.speedometer_below": lambda rows: _below_true(rows)[0],
    "drive.driven_teeth_below": lambda rows: _below_true(rows)[1],
    "drive.bias_ratio": lambda rows: np.where(_is_limited_slip(rows), rows["differential.bias_ratio"], 1.0),
    "drive.track_mm": lambda rows: np.full(len(rows), rows.job.axle.rear.track_mm if rows.job.axle.rear.live else 1.0),
    "drive.lift_lever": lambda rows: np.zeros(len(rows)) + _rear_lever(rows),
}
"""Columns of a drive; those of the front axle hold what stands in no check's way, as that axle is not driven."""
_FRONT_DRIVE: dict[str, Derived] = {
    **prices.FRONT_DRIVE_COLUMNS,
    "drive.front_ratio": lambda rows: rows["ratio.front_ratio"],
    "drive.front_lowest": lambda rows: rows["differential.front_ratio_min"],
    "drive.front_highest": lambda rows: rows["differential.front_ratio_max"],
    "drive.front_family": lambda rows: _same(rows.job.axle.front.ring_gear)(rows),
    "drive.front_splines": lambda rows: _same(rows.job.axle.front.splines)(rows),
    "drive.front_low_side": lambda rows: _low_side(rows, "front_"),
    "drive.front_preload_n_m": lambda rows: _preload_n_m(rows, "front_"),
}
"""What takes their place, or is added, where it is."""


def slots(job: Job, parts: Parts) -> Given:
    """Ballast slots: a row for each item at each station, items by SKU, stations in the job's order."""
    by_sku = np.argsort(parts.column("ballast", "sku"), kind="stable")
    at = np.repeat(by_sku, len(job.ballast.stations))
    stations = list(job.ballast.stations) * len(by_sku)
    items = {f"ballast.{name}": parts.column("ballast", name)[at] for name in map(str, parts.ballast)}
    mass_g = half_up(items["ballast.mass_kg"] * 1000.0)
    at_mm = np.array([station.at_mm for station in stations], dtype=float)
    rear_g = half_up(rear_share_kg(mass_g, at_mm, job.truck.wheelbase_mm))
    return Given(
        {
            **items,
            "station.name": np.array([station.name for station in stations], dtype=object),
            "station.at_mm": at_mm,
            "slot.mass_g": mass_g,
            "slot.rear_g": rear_g,
            "slot.front_g": mass_g - rear_g,
            **slot_columns(job, parts, items),
            "slot.most": _most_of_each(job, items, stations),
        }
    )


def _most_of_each(job: Job, items: Mapping[str, NDArray[Any]], stations: list[Any]) -> Index:
    """How many of an item may lie at a station, by stock, by the plan and by the station's load."""
    stock, mass_kg = items["ballast.max_count"], items["ballast.mass_kg"]
    stock = np.where(np.isnan(stock), job.ballast.max_items, stock)
    limit = np.array([station.max_mass_kg for station in stations], dtype=float)
    by_load = np.floor(limit * 1000.0 / (mass_kg * 1000.0) + 1e-9)
    by_load = np.where(np.isnan(by_load), job.ballast.max_items, by_load)
    most: Index = np.minimum(np.minimum(stock, by_load), job.ballast.max_items).astype(np.int64)
    return most

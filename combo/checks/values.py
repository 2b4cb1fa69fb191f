"""What stands behind a name such as `wheel.pad_mm`, `state.room_inner_mm` or `hub.pilot_mm`, and its plus-or-minus."""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from combo import job as jobs
from combo.checks.table import Table
from combo.formulas import Column
from combo.formulas.axle import lateral_shift_mm, raised_hub_mm, tilt_rad
from combo.formulas.drive import engine_rpm
from combo.formulas.steering import axis_inboard_mm
from combo.formulas.tire import diameter_tolerance_mm, growth_mm, rolling_factor_off, width_tolerance_mm
from combo.job import AXLES, Axle, CruisePoint, Job
from combo.parts import OFF
from combo.plausible import RANGES

BY_AXLE = frozenset({"hub", "wheelhouse", "brakes", "axle"})
"""Tables of the job that have one for each axle, some beside keys of their own."""
BY_PREFIX = frozenset({"present", "panhard", "targets"})
"""Tables whose keys begin with the axle."""
MAIN_POINT = ""
ARTICULATED = "articulated"
LAID_OUT = "laid_out"
RUNNING = "running_diameter_mm"
AT_SPEED = frozenset({"", "ride_height", "full_bump"})
"""States in which the truck may be at its top speed, and its tires have grown."""
LEAF_CENTER_MM = 76.2
"""On leaf springs the roll center is somewhere within 3 in above or below the hub center, from memory."""
_PPM = 1_000_000.0


@dataclass(frozen=True)
class Case:
    """In what a check is made: the job, an axle, a state of the suspension or a cruise point by name, and a side of the
    truck where the wheelhouse was measured on both.
    """

    job: Job
    axle: Axle
    variant: str = ""
    side: str = ""

    def told_as(self, variant: str) -> str:
        """A name for the state or cruise point, with the side."""
        return ", ".join(own for own in (variant, f"{self.side} side" if self.side else "") if own)


def cruise_points(job: Job) -> dict[str, CruisePoint]:
    """Cruise points by name: the one that [targets] gives with its own keys has none, and comes first."""
    targets, transmission = job.targets, job.transmission
    main = CruisePoint(
        MAIN_POINT,
        targets.cruise_speed_km_h,
        transmission.cruise_gear,
        targets.cruise_min_rpm,
        targets.cruise_max_rpm,
        transmission.lock_up,
        targets.hold_grade_ppm,
    )
    points = {} if np.isnan(targets.cruise_speed_km_h) else {MAIN_POINT: main}
    return points | {point.name: point for point in targets.cruise}


def value_of(setting: Case, source: str, rows: Table) -> Any:
    """A column of the rows, something of the state or the cruise point, or an entry of the job, by its dotted name."""
    if source in rows:
        return np.asarray(rows[source])
    if source == "point.rpm":
        return _rpm(setting, rows)
    if source == "job":
        return setting.job
    table, _, name = source.partition(".")
    if source in OF_TIRE:
        return OF_TIRE[source](setting, rows)
    if table == "state":
        return _of_state(setting, name)
    if table == "point":
        return getattr(cruise_points(setting.job)[setting.variant], name)
    return job_value(setting.job, source, setting.axle)


def job_value(job: Job, source: str, axle: Axle) -> Any:
    """An entry of the job by its dotted name: `hub.pilot_mm` is that of the axle."""
    if source in _OF_JOB:
        return _OF_JOB[source](job, axle)
    entry, _, name = _entry_of(job, source, axle)
    if name.startswith("bolt_circle_"):
        return entry.bolt_circle.lug_count if name.endswith("_lugs") else entry.bolt_circle.diameter_mm
    return getattr(entry, name)


def _ground_resistance(job: Job, axle: Axle) -> float:
    own = job.surface.rolling_resistance
    return job.rolling.resistance if np.isnan(own) else own


def _sag_rate_n_per_m(job: Job, axle: Axle) -> float:
    """Rate of the springs over which an axle's lowest point sags; without end where it hangs on the axle itself."""
    hangs_on_axle = getattr(job.present, f"{axle}_lowest_on") == "axle"
    return float("inf") if hangs_on_axle else float(getattr(job.axle, axle).spring_rate_n_per_m)


_OF_JOB: dict[str, Callable[[Job, Axle], float]] = {
    "surface.resistance": _ground_resistance,
    "axle.sag_rate_n_per_m": _sag_rate_n_per_m,
    "transmission.match_share": lambda job, axle: job.transmission.match_share,
}
"""What follows from entries of the job."""


def _entry_of(job: Job, source: str, axle: Axle) -> tuple[Any, str, str]:
    """Table of the job behind a dotted name, its path with the axle in it, and the attribute that is meant."""
    table, _, name = source.partition(".")
    owner, path = getattr(job, table, None), table
    of_axle, _, rest = name.partition("_")
    if table in BY_AXLE and of_axle in AXLES:
        return getattr(owner, of_axle), f"{table}.{of_axle}", rest
    if table in BY_AXLE and not hasattr(owner, name):
        owner, path = getattr(owner, axle), f"{table}.{axle}"
    if table in BY_PREFIX and not hasattr(owner, name):
        name = f"{axle}_{name}"
    return owner, path, name


def is_absent(value: Any) -> bool:
    """Whether a value of a job or a part stands for "not given"."""
    if isinstance(value, float):
        return bool(np.isnan(value))
    if isinstance(value, bool):
        return False
    return value is None or (isinstance(value, str | int | tuple) and not value)


def plus_or_minus(setting: Case, source: str, rows: Table) -> Column:
    """How far a value may be off, to either side, in its own unit; 0 where nothing says so."""
    if source in _TOLERANCES:
        return np.nan_to_num(_TOLERANCES[source](setting, rows))
    table, _, name = source.partition(".")
    if source in OF_TIRE:
        return 0.0
    if table == "state":
        return _of_state_off(setting, name)
    path, owner = path_of(setting, source)
    return 0.0 if owner is None else entry_off(setting.job, path, owner)


def path_of(setting: Case, source: str) -> tuple[str, Any]:
    """Dotted path of a job entry with the axle in it, and its field; no field where it is no entry of the job."""
    owner, path, name = _entry_of(setting.job, source, setting.axle)
    if not dataclasses.is_dataclass(owner):
        return "", None
    field = next((field for field in dataclasses.fields(owner) if field.name == name), None)
    return f"{path}.{name}", field


def entry_off(job: Job, path: str, field: dataclasses.Field[Any]) -> float:
    """Plus-or-minus of an entry of the job: its own, else the default for what is taped or weighed."""
    if path in job.tolerances:
        return job.tolerances[path]
    is_measured = bool(jobs.describe(field))
    if is_measured and field.metadata["taped"] and field.name.endswith("_mm"):
        return job.tolerance.length_mm
    is_weighed = is_measured and field.metadata["taped"] and path.split(".")[0] in {"loads", "present", "fitted"}
    return job.tolerance.mass_kg if is_weighed and field.name.endswith("_kg") else 0.0


def is_tilted(setting: Case) -> bool:
    """Whether the state is a live axle's with one wheel up, worked out and not measured."""
    house, beam = getattr(setting.job.wheelhouse, setting.axle), getattr(setting.job.axle, setting.axle)
    return setting.variant == ARTICULATED and beam.live and ARTICULATED not in house.states()


def _of_state(setting: Case, name: str) -> Any:
    """What is measured in the state, else in the wheelhouse; lateral shift, tilt and steering axis follow from more."""
    if name in _DERIVED:
        return _DERIVED[name](setting)
    if is_tilted(setting):
        return _of_tilted(setting, name)
    job, axle = setting.job, setting.axle
    house = getattr(job.wheelhouse, axle)
    state = house.states().get(setting.variant)
    own = getattr(state, name) if state is not None else float("nan")
    if not np.isnan(own):
        return _of_side(setting, f"wheelhouse.{axle}.{setting.variant}.{name}", own)
    if name == "travel_mm":
        return 0.0 if setting.variant == "ride_height" else own
    if name == "lock_deg":
        return job.steering.lock_deg
    return _of_side(setting, f"wheelhouse.{axle}.{name}", getattr(house, name))


def _of_side(setting: Case, path: str, smaller: float) -> float:
    """A measurement of the setting's side, where it was taken on both; else the smaller."""
    both = setting.job.sides.get(path)
    return both[jobs.SIDES.index(setting.side)] if both and setting.side else smaller


def sides_at(job: Job, axle: Axle) -> tuple[str, ...]:
    """Sides of the truck at which a wheelhouse is judged by itself; one without a name where both are alike."""
    is_measured = any(path.startswith(f"wheelhouse.{axle}.") for path in job.sides)
    return jobs.SIDES if is_measured or getattr(job.panhard, f"{axle}_axle_end") else ("",)


def _opposite(setting: Case) -> Case:
    other = {"left": "right", "right": "left"}.get(setting.side, "")
    return dataclasses.replace(setting, side=other)


def _in_state(setting: Case, name: str) -> Case:
    return dataclasses.replace(setting, variant=name)


IN_STATE = {
    "bump_mm": ("full_bump", "travel_mm"),
    "droop_mm": ("full_droop", "travel_mm"),
    "laid_out_drop_mm": ("laid_out", "travel_mm"),
    "drop_mm": ("laid_out", "travel_mm"),
}
"""What a state takes from another one."""


def _laid_out_drop_mm(setting: Case) -> float:
    """How far an axle's lowest point comes down as the truck is laid out on air; one on the axle itself does not."""
    if getattr(setting.job.present, f"{setting.axle}_lowest_on") == "axle":
        return 0.0
    return float(_of_state(_in_state(setting, LAID_OUT), "travel_mm"))


def _travels_mm(setting: Case) -> tuple[float, float]:
    """Travel at the bump stop, and down to full droop, both positive."""
    bump, droop = (_of_state(_in_state(setting, state), "travel_mm") for state in ("full_bump", "full_droop"))
    return bump, -droop


def _of_tilted(setting: Case, name: str) -> Any:
    """Room beside the raised wheel is that at full bump; over it there is less, as its hub stands higher."""
    bump, droop = _travels_mm(setting)
    if name == "travel_mm":
        return (bump - droop) / 2.0
    at_bump = _of_state(_in_state(setting, "full_bump"), name)
    return at_bump - _raise_mm(setting) if name == "hub_to_top_mm" else at_bump


def _tilt_rad(setting: Case) -> float:
    if not is_tilted(setting):
        return 0.0
    return float(tilt_rad(*_travels_mm(setting), getattr(setting.job.axle, setting.axle).stop_distance_mm))


def _raise_mm(setting: Case) -> float:
    """How much higher than at full bump the raised wheel's hub is."""
    if not is_tilted(setting):
        return 0.0
    beam = getattr(setting.job.axle, setting.axle)
    return float(raised_hub_mm(0.0, _tilt_rad(setting), beam.track_mm, beam.stop_distance_mm))


def _center_mm(setting: Case, sign: float) -> float:
    """Roll center over the hub center: where the Panhard bar crosses the middle; one end of what leaf springs leave."""
    panhard = setting.job.panhard
    if not is_tilted(setting):
        return 0.0
    if np.isnan(getattr(panhard, f"{setting.axle}_length_mm")):
        return sign * LEAF_CENTER_MM
    middle: float = getattr(panhard, f"{setting.axle}_middle_mm")
    return middle


def _dropped(name: str) -> Callable[[Case], Any]:
    """Room of the dropped wheel, on the truck's other side."""
    return lambda setting: _of_state(_in_state(_opposite(setting), "full_droop"), name) if is_tilted(setting) else 0.0


def _bar_shift_mm(setting: Case, off: tuple[float, float, float] = (0.0, 0.0, 0.0)) -> float:
    """Lateral shift to either side, with bar, travel and rise off by so much."""
    length, rise = (getattr(setting.job.panhard, f"{setting.axle}_{name}_mm") for name in ("length", "rise"))
    if np.isnan(length):
        return 0.0
    if not setting.variant:
        return float("nan")
    sizes = length + off[0], _of_state(setting, "travel_mm") + off[1], rise + off[2]
    return abs(float(lateral_shift_mm(*sizes)))


def _signed_shift_mm(setting: Case, off: tuple[float, float, float] = (0.0, 0.0, 0.0)) -> float:
    """Lateral shift of the axle out of the truck on the setting's side; NaN where the bar's direction is not known.

    The axle goes towards the bar's axle end as `lateral_shift_mm` has it.
    """
    panhard = setting.job.panhard
    end = getattr(panhard, f"{setting.axle}_axle_end")
    if not end or not setting.side or is_tilted(setting):
        return float("nan")
    length, rise = (getattr(panhard, f"{setting.axle}_{name}_mm") for name in ("length", "rise"))
    shift = lateral_shift_mm(length + off[0], _of_state(setting, "travel_mm") + off[1], rise + off[2])
    return float(shift) if setting.side == end else -float(shift)


def _shift_mm(sign: float) -> Callable[..., float]:
    """How far the axle's lateral shift takes room outside (1), inside (-1), or of both together (0): of its own
    direction on a side, else of either.
    """

    def shift_mm(setting: Case, off: tuple[float, float, float] = (0.0, 0.0, 0.0)) -> float:
        signed = _signed_shift_mm(setting, off)
        return _bar_shift_mm(setting, off) if np.isnan(signed) else sign * signed

    return shift_mm


_SHIFTS = {"shift_inner_mm": _shift_mm(-1.0), "shift_outer_mm": _shift_mm(1.0), "shift_mm": _shift_mm(0.0)}
"""By name, how the lateral shift of the axle takes room."""


def clearance_mm(job: Job, axle: Axle, side: str, state: str = "") -> float:
    """Clearance to keep in a state, on a side: "inner", "outer", "top", "opening", "sweep" or "frame".

    It is the job's own, or the room of tire chains where that is larger.
    """
    own: float = getattr(getattr(job.wheelhouse, axle), f"clearance_{'sweep' if side == 'frame' else side}_mm")
    if state == LAID_OUT:
        return own
    return max(own, job.chains.room_mm(axle, "sidewall" if side in {"inner", "outer", "frame"} else "tread"))


def _clearance(side: str) -> Callable[[Case], float]:
    return lambda setting: clearance_mm(setting.job, setting.axle, side, setting.variant)


_DERIVED: dict[str, Callable[[Case], Any]] = {
    **{f"clearance_{side}_mm": _clearance(side) for side in ("inner", "outer", "top", "opening", "sweep", "frame")},
    **_SHIFTS,
    "axis_inboard_mm": lambda setting: _axis_inboard_mm(setting.job),
    "tilt_rad": _tilt_rad,
    "raise_mm": _raise_mm,
    "center_mm": lambda setting: _center_mm(setting, 1.0),
    "other_center_mm": lambda setting: _center_mm(setting, -1.0),
    "track_mm": lambda setting: getattr(setting.job.axle, setting.axle).track_mm if is_tilted(setting) else 0.0,
    "laid_out_drop_mm": _laid_out_drop_mm,
    "drop_mm": lambda setting: _laid_out_drop_mm(setting) if setting.variant == LAID_OUT else 0.0,
    "bump_mm": lambda setting: _travels_mm(setting)[0],
    "droop_mm": lambda setting: _travels_mm(setting)[1],
    "room_inner_dropped_mm": _dropped("room_inner_mm"),
    "room_outer_dropped_mm": _dropped("room_outer_mm"),
}
"""What follows of a state from more than one measurement."""


def _running_diameter_mm(setting: Case, rows: Table) -> Any:
    """Diameter of the tire in the state: as it has grown where the truck may be at its top speed."""
    job, top = setting.job, setting.job.targets.top_speed_km_h
    diameter = np.asarray(rows["tire.overall_diameter_mm"])
    if setting.variant not in AT_SPEED or np.isnan(top):
        return diameter
    is_radial = np.asarray(rows["tire.is_radial"]) == 1.0
    share = np.where(is_radial, job.rolling.growth_radial_ppm, job.rolling.growth_bias_ppm) / _PPM
    return diameter + growth_mm(diameter, share, top)


def _where_tilted(column: str, otherwise: str = "") -> Callable[[Case, Table], Any]:
    """A column of the tire in a tilted state, else one of the corner; 0 where nothing is tilted and none looks."""

    def size(setting: Case, rows: Table) -> Any:
        if not is_tilted(setting):
            return 0.0
        own = np.asarray(rows[column], dtype=float)
        return np.where(np.isnan(own), rows[otherwise], own) if otherwise else own

    return size


OF_TIRE: dict[str, Callable[[Case, Table], Any]] = {
    "state.diameter_mm": _running_diameter_mm,
    "state.parked_diameter_mm": _where_tilted("tire.overall_diameter_mm"),
    "state.tread_mm": _where_tilted("tire.tread_width_mm", "corner.section_width_mm"),
    "state.rim_mm": _where_tilted("tire.rim_diameter_mm"),
}
"""What a state makes of a tire; without a tread width the whole section counts."""


def _axis_inboard_mm(job: Job) -> float:
    if not np.isnan(job.steering.axis_offset_mm):
        return job.steering.axis_offset_mm
    steering, present = job.steering, job.present
    return float(
        axis_inboard_mm(
            present.front_offset_mm,
            steering.scrub_radius_mm,
            present.front_hub_height_mm,
            steering.kingpin_inclination_deg,
        )
    )


def _axis_off(setting: Case) -> float:
    """Plus-or-minus of the steering axis: its own, or what scrub radius, offset and hub height add up to."""
    job = setting.job

    def off(source: str) -> float:
        path, field = path_of(setting, source)
        return entry_off(job, path, field)

    if not np.isnan(job.steering.axis_offset_mm):
        return off("steering.axis_offset_mm")
    lean = float(np.tan(np.radians(job.steering.kingpin_inclination_deg)))
    return off("steering.scrub_radius_mm") + off("present.offset_mm") + off("present.hub_height_mm") * lean


def _of_state_off(setting: Case, name: str) -> float:
    """Plus-or-minus of what `_of_state` gives, by the path of the entry that it is taken from."""
    if name == "axis_inboard_mm":
        return _axis_off(setting)
    if name in _SHIFTS:
        return _shift_off(setting, _SHIFTS[name])
    if name.endswith("_dropped_mm") and is_tilted(setting):
        return _of_state_off(_in_state(_opposite(setting), "full_droop"), name.replace("_dropped", ""))
    if name in _DERIVED:
        return 0.0
    if is_tilted(setting):
        setting = _in_state(setting, "full_bump")
    house, path = getattr(setting.job.wheelhouse, setting.axle), f"wheelhouse.{setting.axle}"
    state = house.states().get(setting.variant)
    owner = jobs.Steering if name == "lock_deg" else jobs.Wheelhouse
    field = next(field for field in dataclasses.fields(owner) if field.name == name)
    if state is not None and not np.isnan(getattr(state, name)):
        return _side_off(setting, f"{path}.{setting.variant}.{name}", field)
    return _side_off(setting, f"steering.{name}" if name == "lock_deg" else f"{path}.{name}", field)


def _side_off(setting: Case, path: str, field: dataclasses.Field[Any]) -> float:
    is_sided = path in setting.job.sides and setting.side
    return entry_off(setting.job, f"{path}.{setting.side}" if is_sided else path, field)


def _shift_off(setting: Case, shift_mm: Callable[..., float]) -> float:
    """How much more the axle may shift where the bar's length, its rise or the travel state a plus-or-minus."""
    job, axle = setting.job, setting.axle
    if np.isnan(getattr(job.panhard, f"{axle}_length_mm")) or not setting.variant:
        return 0.0
    paths = (f"panhard.{axle}_length_mm", f"wheelhouse.{axle}.{setting.variant}.travel_mm", f"panhard.{axle}_rise_mm")
    offs = [job.tolerances.get(path, 0.0) for path in paths]
    ends = itertools.product(*({own, -own} for own in offs))
    return max(shift_mm(setting, (bar, travel, rise)) for bar, travel, rise in ends) - shift_mm(setting)


def _rpm(setting: Case, rows: Table) -> Any:
    """Engine speed at the cruise point."""
    return _rpm_on(setting, rows, np.asarray(rows["drive.rolling_radius_mm"]))


def _rpm_on(setting: Case, rows: Table, radius_mm: Column) -> Any:
    job, point = setting.job, cruise_points(setting.job)[setting.variant]
    return engine_rpm(
        point.speed_km_h,
        radius_mm,
        point.gear,
        np.asarray(rows["ratio.ratio"]),
        job.transmission.slip(locked=point.locked),
    )


def plausible_rpm(setting: Case, rows: Table) -> tuple[Any, Any]:
    """Engine speed at the cruise point on the largest and on the smallest tire that is plausible."""
    smallest, largest = RANGES["drive.rolling_radius_mm"]
    return _rpm_on(setting, rows, largest), _rpm_on(setting, rows, smallest)


def _pilot_off(setting: Case, rows: Table) -> Column:
    """That of the hub's pilot, where the wheel sits on it and not on a spacer's lip."""
    path, field = path_of(setting, "hub.pilot_mm")
    has_lip = ~np.isnan(np.asarray(rows["spacer.pilot_mm"])) & (np.asarray(rows["spacer.is_fitted"]) == 1.0)
    return np.where(has_lip, 0.0, entry_off(setting.job, path, field))


def _pocket_off(setting: Case, rows: Table) -> Column:
    """That of the wheel's pockets, where they count."""
    counts = np.asarray(rows["wheel.pocket_over_studs"]) == "yes"
    return np.where(counts, _stated(rows, "wheel.pocket_depth_mm", setting.job.tolerance.wheel_mm), 0.0)


def _listed_off(column: str) -> Callable[[Case, Table], Column]:
    """Plus-or-minus of a wheel's listed size: what its cell states, else the job's default for such sizes."""
    return lambda setting, rows: _stated(rows, column, setting.job.tolerance.wheel_mm)


def _offset_off(setting: Case, rows: Table) -> Column:
    """That of the backspace, which offset and backspace were settled by; else that of the offset."""
    return _stated(rows, "wheel.backspace_mm", _stated(rows, "wheel.offset_mm", setting.job.tolerance.wheel_mm))


def _stated(rows: Table, column: str, otherwise: Column) -> Column:
    """What the cells of a column state as their plus-or-minus, and otherwise something else."""
    if column + OFF not in rows:
        return otherwise
    own = np.asarray(rows[column + OFF], dtype=float)
    return np.where(np.isnan(own), otherwise, own)


def _width_off(setting: Case, rows: Table) -> Column:
    names = ("corner.section_width_mm", "tire.is_radial")
    by_standard = width_tolerance_mm(*(np.asarray(rows[name]) for name in names))
    return _stated(rows, "tire.section_width_mm", _tire(setting, by_standard))


def _tread_off(setting: Case, rows: Table) -> Column:
    tread, is_radial = (np.asarray(rows[name]) for name in ("tire.tread_width_mm", "tire.is_radial"))
    return _tire(setting, width_tolerance_mm(tread, is_radial))


def _size_off(setting: Case, rows: Table, prefix: str = "", size: str = "overall_diameter_mm") -> Any:
    names = (size, "rim_diameter_mm", "is_radial")
    by_standard = diameter_tolerance_mm(*(np.asarray(rows[f"{prefix}tire.{name}"], dtype=float) for name in names))
    return _stated(rows, f"{prefix}tire.overall_diameter_mm", _tire(setting, by_standard))


def _tilted_off(off: Callable[[Case, Table], Column]) -> Callable[[Case, Table], Column]:
    return lambda setting, rows: off(setting, rows) if is_tilted(setting) else 0.0


def _tread_or_section_off(setting: Case, rows: Table) -> Column:
    is_listed = ~np.isnan(np.asarray(rows["tire.tread_width_mm"], dtype=float))
    return np.where(is_listed, _tread_off(setting, rows), _width_off(setting, rows))


def _factor_share(setting: Case, rows: Table) -> Column:
    """How far off, in parts, a rolling radius is that is worked out by size; 0 of a declared one."""
    if not np.isnan(setting.job.rolling.factor):
        return 0.0
    is_estimate = np.isnan(np.asarray(rows["tire.revs_per_mile"], dtype=float))
    share = rolling_factor_off(np.asarray(rows["tire.is_radial"], dtype=float))
    return np.where(is_estimate, share, 0.0)


def _rolling_off(setting: Case, rows: Table) -> Column:
    """That of a rolling radius: half of the diameter's; and of one that is worked out by size, the factor's."""
    radius = np.asarray(rows["drive.rolling_radius_mm"])
    rolling_off: Column = _size_off(setting, rows, size=RUNNING) / 2.0 + _factor_share(setting, rows) * radius
    return rolling_off


def _rpm_off(setting: Case, rows: Table) -> Column:
    """As far off, in parts, as the tire's diameter and its rolling factor."""
    by_size = _size_off(setting, rows, size=RUNNING) / np.asarray(rows["tire.running_diameter_mm"])
    rpm_off: Column = _rpm(setting, rows) * (by_size + _factor_share(setting, rows))
    return rpm_off


def _present_diameter_off(axle: Axle) -> Callable[[Case, Table], Column]:
    """That of the present tire's measured diameter; none of a listed or an estimated one."""

    def off(setting: Case, rows: Table) -> Column:
        path, field = path_of(dataclasses.replace(setting, axle=axle), "present.tire_diameter_mm")
        is_measured = not np.isnan(getattr(setting.job.present, f"{axle}_tire_diameter_mm"))
        return entry_off(setting.job, path, field) if is_measured else 0.0

    return off


def _entry_at(axle: Axle, source: str) -> Callable[[Case, Table], Column]:
    """That of an entry of the job at an axle."""
    return lambda setting, rows: entry_off(setting.job, *path_of(dataclasses.replace(setting, axle=axle), source))


def _diameter_off(prefix: str, size: str) -> Callable[[Case, Table], Column]:
    return lambda setting, rows: _size_off(setting, rows, prefix, size)


def _tire(setting: Case, off: Any) -> Column:
    return off if setting.job.tolerance.tires == "standard" else np.zeros(np.shape(off))


_TOLERANCES: dict[str, Callable[[Case, Table], Column]] = {
    "corner.offset_mm": _offset_off,
    "corner.backspace_mm": _offset_off,
    "corner.section_width_mm": _width_off,
    "wheel.barrel_diameter_mm": _listed_off("wheel.barrel_diameter_mm"),
    "wheel.spoke_clearance_mm": _listed_off("wheel.spoke_clearance_mm"),
    "wheel.pad_mm": _listed_off("wheel.pad_mm"),
    **{
        f"rear.wheel.{name}": _listed_off(f"rear.wheel.{name}")
        for name in ("barrel_diameter_mm", "spoke_clearance_mm", "pad_mm")
    },
    "front.mount.brake_envelope_mm": _entry_at("front", "brakes.envelope_diameter_mm"),
    "front.mount.brake_reach_mm": _entry_at("front", "brakes.caliper_reach_mm"),
    "front.mount.stud_room_mm": _entry_at("front", "hub.stud_length_mm"),
    "tire.tread_width_mm": _tread_off,
    "tire.overall_diameter_mm": _size_off,
    "tire.running_diameter_mm": _diameter_off("", RUNNING),
    "state.diameter_mm": _size_off,
    "state.parked_diameter_mm": _tilted_off(_size_off),
    "state.tread_mm": _tilted_off(_tread_or_section_off),
    "drive.rolling_radius_mm": _rolling_off,
    "point.rpm": _rpm_off,
    "mount.pilot_mm": _pilot_off,
    "mount.pocket_mm": _pocket_off,
    **{
        f"{axle}.tire.{size}": _diameter_off(f"{axle}.", size)
        for axle in AXLES
        for size in ("overall_diameter_mm", RUNNING)
    },
    **{f"{axle}.corner.present_diameter_mm": _present_diameter_off(axle) for axle in AXLES},
}
"""Plus-or-minus of what is listed or follows from what is listed."""

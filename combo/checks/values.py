"""What stands behind a name such as `wheel.pad_mm`, `state.room_inner_mm` or `hub.pilot_mm`, and its plus-or-minus."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from combo import job as jobs
from combo.checks.table import Table
from combo.formulas import Column
from combo.formulas.axle import lateral_shift_mm
from combo.formulas.drive import engine_rpm
from combo.formulas.steering import axis_inboard_mm
from combo.formulas.tire import diameter_tolerance_mm, growth_mm, width_tolerance_mm
from combo.job import Axle, CruisePoint, Job
from combo.parts import OFF

BY_AXLE = frozenset({"hub", "wheelhouse", "brakes"})
"""Tables of the job that have one for each axle."""
BY_PREFIX = frozenset({"present", "panhard"})
"""Tables whose keys begin with the axle."""
MAIN_POINT = ""


_PPM = 1_000_000.0


@dataclass(frozen=True)
class Setting:
    """In what a check is made: the job, an axle, and a state of the suspension or a cruise point by name."""

    job: Job
    axle: Axle
    variant: str = ""


def cruise_points(job: Job) -> dict[str, CruisePoint]:
    """Cruise points by name: the one that [targets] gives with its own keys has none, and comes first."""
    targets, transmission = job.targets, job.transmission
    main = CruisePoint(
        MAIN_POINT, targets.cruise_speed_km_h, transmission.cruise_gear, targets.cruise_min_rpm,
        targets.cruise_max_rpm, transmission.lock_up, targets.hold_grade_ppm,
    )  # fmt: skip
    points = {} if np.isnan(targets.cruise_speed_km_h) else {MAIN_POINT: main}
    return points | {point.name: point for point in targets.cruise}


def value_of(setting: Setting, source: str, rows: Table) -> Any:
    """A column of the rows, something of the state or the cruise point, or an entry of the job, by its dotted name."""
    if source in rows:
        return np.asarray(rows[source])
    if source == "point.rpm":
        return _rpm(setting, rows)
    table, _, name = source.partition(".")
    if table == "state":
        return _of_state(setting, name)
    if table == "point":
        return getattr(cruise_points(setting.job)[setting.variant], name)
    return job_value(setting.job, source, setting.axle)


def job_value(job: Job, source: str, axle: Axle) -> Any:
    """An entry of the job by its dotted name: `hub.pilot_mm` is that of the axle."""
    entry, _, name = _entry_of(job, source, axle)
    if name.startswith("bolt_circle_"):
        return entry.bolt_circle.lug_count if name.endswith("_lugs") else entry.bolt_circle.diameter_mm
    return getattr(entry, name)


def _entry_of(job: Job, source: str, axle: Axle) -> tuple[Any, str, str]:
    """Table of the job behind a dotted name, its path with the axle in it, and the attribute that is meant."""
    table, _, name = source.partition(".")
    owner, path = getattr(job, table, None), table
    if table in BY_AXLE:
        owner, path = getattr(owner, axle), f"{table}.{axle}"
    if table in BY_PREFIX and not hasattr(owner, name):
        name = f"{axle}_{name}"
    return owner, path, name


def is_absent(value: Any) -> bool:
    """Whether a value of a job or a part stands for "not given"."""
    if isinstance(value, float):
        return bool(np.isnan(value))
    return value is None or (isinstance(value, str | int | tuple) and not value)


def plus_or_minus(setting: Setting, source: str, rows: Table) -> Column:
    """How far a value may be off, to either side, in its own unit; 0 where nothing says so."""
    if source in _TOLERANCES:
        return np.nan_to_num(_TOLERANCES[source](setting, rows))
    table, _, name = source.partition(".")
    if table == "state":
        return _of_state_off(setting, name)
    path, owner = path_of(setting, source)
    return 0.0 if owner is None else entry_off(setting.job, path, owner)


def path_of(setting: Setting, source: str) -> tuple[str, Any]:
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
    is_weighed = is_measured and field.metadata["taped"] and path.split(".")[0] in {"loads", "present"}
    return job.tolerance.mass_kg if is_weighed and field.name.endswith("_kg") else 0.0


def _of_state(setting: Setting, name: str) -> Any:
    """What is measured in the state, else in the wheelhouse; lateral shift and steering axis follow from more."""
    job, axle = setting.job, setting.axle
    if name == "shift_mm":
        return _shift_mm(setting)
    if name == "axis_inboard_mm":
        return _axis_inboard_mm(job)
    house = getattr(job.wheelhouse, axle)
    state = house.states().get(setting.variant)
    own = getattr(state, name) if state is not None else float("nan")
    if not np.isnan(own):
        return own
    if name == "travel_mm":
        return 0.0 if setting.variant == "ride_height" else own
    return job.steering.lock_deg if name == "lock_deg" else getattr(house, name)


def _shift_mm(setting: Setting) -> float:
    """Lateral shift of the axle in the state; 0 where no Panhard bar locates it."""
    length = getattr(setting.job.panhard, f"{setting.axle}_length_mm")
    if np.isnan(length):
        return 0.0
    return float(lateral_shift_mm(length, _of_state(setting, "travel_mm"))) if setting.variant else float("nan")


def _axis_inboard_mm(job: Job) -> float:
    if not np.isnan(job.steering.axis_offset_mm):
        return job.steering.axis_offset_mm
    steering, present = job.steering, job.present
    return float(axis_inboard_mm(present.front_offset_mm, steering.scrub_radius_mm, present.front_hub_height_mm,
                                 steering.kingpin_inclination_deg))  # fmt: skip


def _axis_off(setting: Setting) -> float:
    """Plus-or-minus of the steering axis: its own, or what scrub radius, offset and hub height add up to."""
    job = setting.job

    def off(source: str) -> float:
        path, field = path_of(setting, source)
        return entry_off(job, path, field)

    if not np.isnan(job.steering.axis_offset_mm):
        return off("steering.axis_offset_mm")
    lean = float(np.tan(np.radians(job.steering.kingpin_inclination_deg)))
    return off("steering.scrub_radius_mm") + off("present.offset_mm") + off("present.hub_height_mm") * lean


def _of_state_off(setting: Setting, name: str) -> float:
    """Plus-or-minus of what `_of_state` gives, by the path of the entry that it is taken from."""
    if name == "axis_inboard_mm":
        return _axis_off(setting)
    if name == "shift_mm":
        return _shift_off(setting)
    job, house, path = setting.job, getattr(setting.job.wheelhouse, setting.axle), f"wheelhouse.{setting.axle}"
    state = house.states().get(setting.variant)
    owner = jobs.Steering if name == "lock_deg" else jobs.Wheelhouse
    field = next(field for field in dataclasses.fields(owner) if field.name == name)
    if state is not None and not np.isnan(getattr(state, name)):
        return entry_off(job, f"{path}.{setting.variant}.{name}", field)
    return entry_off(job, f"steering.{name}" if name == "lock_deg" else f"{path}.{name}", field)


def _shift_off(setting: Setting) -> float:
    """How much more the axle may shift where the bar's length or the travel states a plus-or-minus."""
    job, axle = setting.job, setting.axle
    length = getattr(job.panhard, f"{axle}_length_mm")
    if np.isnan(length) or not setting.variant:
        return 0.0
    shorter = length - job.tolerances.get(f"panhard.{axle}_length_mm", 0.0)
    travel = abs(_of_state(setting, "travel_mm"))
    longer = travel + job.tolerances.get(f"wheelhouse.{axle}.{setting.variant}.travel_mm", 0.0)
    return float(lateral_shift_mm(shorter, longer) - lateral_shift_mm(length, travel))


def _rpm(setting: Setting, rows: Table) -> Any:
    """Engine speed at the cruise point."""
    job, point = setting.job, cruise_points(setting.job)[setting.variant]
    return engine_rpm(point.speed_km_h, np.asarray(rows["drive.rolling_radius_mm"]), point.gear,
                      np.asarray(rows["ratio.ratio"]), job.transmission.slip(locked=point.locked))  # fmt: skip


def _pilot_off(setting: Setting, rows: Table) -> Column:
    """That of the hub's pilot, where the wheel sits on it and not on a spacer's lip."""
    path, field = path_of(setting, "hub.pilot_mm")
    has_lip = ~np.isnan(np.asarray(rows["spacer.pilot_mm"])) & (np.asarray(rows["spacer.is_fitted"]) == 1.0)
    return np.where(has_lip, 0.0, entry_off(setting.job, path, field))


def _listed_off(column: str) -> Callable[[Setting, Table], Column]:
    """Plus-or-minus of a wheel's listed size: what its cell states, else the job's default for such sizes."""
    return lambda setting, rows: _stated(rows, column, setting.job.tolerance.wheel_mm)


def _offset_off(setting: Setting, rows: Table) -> Column:
    """That of the backspace, which offset and backspace were settled by; else that of the offset."""
    return _stated(rows, "wheel.backspace_mm", _stated(rows, "wheel.offset_mm", setting.job.tolerance.wheel_mm))


def _stated(rows: Table, column: str, otherwise: Column) -> Column:
    """What the cells of a column state as their plus-or-minus, and otherwise something else."""
    if column + OFF not in rows:
        return otherwise
    own = np.asarray(rows[column + OFF], dtype=float)
    return np.where(np.isnan(own), otherwise, own)


def _width_off(setting: Setting, rows: Table) -> Column:
    names = ("corner.section_width_mm", "tire.is_radial")
    by_standard = width_tolerance_mm(*(np.asarray(rows[name]) for name in names))
    return _stated(rows, "tire.section_width_mm", _tire(setting, by_standard))


def _tread_off(setting: Setting, rows: Table) -> Column:
    tread, is_radial = (np.asarray(rows[name]) for name in ("tire.tread_width_mm", "tire.is_radial"))
    return _tire(setting, width_tolerance_mm(tread, is_radial))


def _size_off(setting: Setting, rows: Table, prefix: str = "") -> Any:
    names = ("overall_diameter_mm", "rim_diameter_mm", "is_radial")
    by_standard = diameter_tolerance_mm(*(np.asarray(rows[f"{prefix}tire.{name}"], dtype=float) for name in names))
    return _stated(rows, f"{prefix}tire.overall_diameter_mm", _tire(setting, by_standard))


def _diameter_off(setting: Setting, rows: Table) -> Column:
    """Size by the standard, and growth at the top speed in a state in which the truck is driven."""
    job, top = setting.job, setting.job.targets.top_speed_km_h
    growth: Any = 0.0
    if setting.variant != "laid_out" and not np.isnan(top):
        is_radial = np.asarray(rows["tire.is_radial"]) == 1.0
        share = np.where(is_radial, job.rolling.growth_radial_ppm, job.rolling.growth_bias_ppm) / _PPM
        growth = growth_mm(np.asarray(rows["tire.overall_diameter_mm"]), share, top)
    diameter_off: Column = _size_off(setting, rows) + _tire(setting, growth)
    return diameter_off


def _radius_off(setting: Setting, rows: Table) -> Column:
    radius_off: Column = _size_off(setting, rows) / 2.0
    return radius_off


def _rpm_off(setting: Setting, rows: Table) -> Column:
    """As far off, in parts, as the tire's diameter."""
    rpm_off: Column = _rpm(setting, rows) * _size_off(setting, rows) / np.asarray(rows["tire.overall_diameter_mm"])
    return rpm_off


def _of_axle(prefix: str, part: float) -> Callable[[Setting, Table], Column]:
    return lambda setting, rows: _size_off(setting, rows, prefix) * part


def _tire(setting: Setting, off: Any) -> Column:
    return off if setting.job.tolerance.tires == "standard" else np.zeros(np.shape(off))


_TOLERANCES: dict[str, Callable[[Setting, Table], Column]] = {
    "corner.offset_mm": _offset_off,
    "corner.backspace_mm": _offset_off,
    "corner.section_width_mm": _width_off,
    "wheel.barrel_diameter_mm": _listed_off("wheel.barrel_diameter_mm"),
    "wheel.spoke_clearance_mm": _listed_off("wheel.spoke_clearance_mm"),
    "wheel.pad_mm": _listed_off("wheel.pad_mm"),
    "tire.tread_width_mm": _tread_off,
    "tire.overall_diameter_mm": _diameter_off,
    "tire.static_loaded_radius_mm": _radius_off,
    "drive.rolling_radius_mm": _radius_off,
    "point.rpm": _rpm_off,
    "mount.pilot_mm": _pilot_off,
    "front.tire.overall_diameter_mm": _of_axle("front.", 1.0),
    "rear.tire.overall_diameter_mm": _of_axle("rear.", 1.0),
    "front.tire.static_loaded_radius_mm": _of_axle("front.", 0.5),
    "rear.tire.static_loaded_radius_mm": _of_axle("rear.", 0.5),
}
"""Plus-or-minus of what is listed or follows from what is listed."""

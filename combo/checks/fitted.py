"""What the job and the lists say that should be measured with the parts on, against what was measured.

Rooms are those of the checks, by the very functions that judge them, with no clearance asked and the tires at rest.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property, partial
from typing import Literal

import numpy as np

from combo import job as jobs
from combo.checks import CHECKS
from combo.checks.check import DECIMALS, Check, Inequality, at_least
from combo.checks.judge import Shifts, build_rooms, ends_of_loads, rooms
from combo.checks.loads import hub_stands_mm
from combo.checks.needs import BuildNeeds, Need, job_need, row_needs
from combo.checks.rows import Chosen
from combo.checks.run import rows_of
from combo.checks.table import Table
from combo.checks.totals import TOTALS, standing_totals, summed
from combo.checks.values import MAIN_POINT, Case, cruise_points, entry_off, plus_or_minus, value_of
from combo.formulas import Column
from combo.formulas.rounding import half_up
from combo.job import AXLES, NAN, Axle, Fitted, FittedAxle, Job, StateName

Key = tuple[str, str]
"""A measurement by where ("front", "rear" or "truck") and what ("inner")."""


@dataclass(frozen=True)
class Reading:
    """One measurement with the parts on: what it should be and what it is, NaN where either is not known.

    `plus_or_minus` is that of the reading and, in the worst case, of all that the computed one is worked out from.
    """

    what: str
    where: str
    unit: Literal["mm", "kg", "rpm"]
    computed: float
    measured: float
    plus_or_minus: float
    needs: tuple[Need, ...] = ()

    @property
    def key(self) -> Key:
        """Where and what."""
        return self.where, self.what

    @property
    def off(self) -> float:
        """Measured less computed."""
        return self.measured - self.computed

    @property
    def is_known(self) -> bool:
        """Whether both sides are there to compare."""
        return not math.isnan(self.off)

    @property
    def within(self) -> bool:
        """Whether the plus-or-minus covers the difference; equal to it does."""
        units = 10.0 ** DECIMALS[self.unit]
        return bool(half_up((self.plus_or_minus - abs(self.off)) * units) >= 0)


@dataclass(frozen=True)
class _Gauge:
    """How a clearance is computed: a check, which of its constraints, and in which state; its own job entry."""

    what: str
    check: str
    at: int = 0
    state: StateName | Literal[""] = "ride_height"
    entry: str = ""


GAUGES = (
    _Gauge("inner", "inner_sidewall", entry="room_inner_mm"),
    _Gauge("outer", "outer_sidewall", entry="room_outer_mm"),
    _Gauge("rim_inner", "backspace_limit", entry="room_inner_mm"),
    _Gauge("lip", "fender_gap", entry="hub_to_lip_mm"),
    _Gauge("top", "fender_top", entry="hub_to_top_mm"),
    _Gauge("top_full_bump", "fender_top", 0, "full_bump", entry="hub_to_top_mm"),
    _Gauge("opening_ahead", "opening", entry="opening_ahead_mm"),
    _Gauge("opening_behind", "opening", 1, entry="opening_behind_mm"),
    _Gauge("brake_spoke", "brake_spoke", state=""),
)
"""Clearances of a corner."""
TO_GROUND = ("hub_height", "ground")
OF_TRUCK = ("front_axle", "rear_axle", "cruise_rpm")
_CLEARANCES = ("inner", "outer", "top", "opening", "sweep")
_BY_ID = {(check.id, where): check for check in CHECKS for where in check.places}


def readings(job: Job, chosen: Chosen) -> list[Reading]:
    """Every measurement that may be taken with the parts on, whether it was or not; front, rear, then the truck's."""
    bare = _at_rest(job)
    work = _Work(job, bare, chosen)
    return [reading for axle in AXLES for reading in work.of_axle(axle)] + list(work.of_truck())


def measured_of(fitted: Fitted) -> Iterator[Key]:
    """The measurements that the job has under [fitted]."""
    for axle in AXLES:
        own = getattr(fitted, axle)
        yield from ((axle, what) for what in axle_keys() if not math.isnan(getattr(own, f"{what}_mm")))
    yield from (("truck", what) for what in OF_TRUCK if not math.isnan(_of_truck(fitted, what)))


def axle_keys() -> tuple[str, ...]:
    """Keys of the measurements at an axle."""
    return (*(gauge.what for gauge in GAUGES), *TO_GROUND)


def _of_truck(fitted: Fitted, what: str) -> float:
    size: float = getattr(fitted, f"{what}_{_truck_unit(what)}")
    return size


def _truck_unit(what: str) -> Literal["kg", "rpm"]:
    return "rpm" if what == "cruise_rpm" else "kg"


def _at_rest(job: Job) -> Job:
    """The job with the truck standing in the shop: no clearance asked, no tire grown at speed."""
    none = {f"clearance_{name}_mm": 0.0 for name in _CLEARANCES}
    houses = {axle: dataclasses.replace(getattr(job.wheelhouse, axle), **none) for axle in AXLES}
    brakes = {axle: dataclasses.replace(getattr(job.brakes, axle), clearance_mm=0.0) for axle in AXLES}
    asked = dataclasses.replace(
        job.targets,
        fit="nominal",
        top_speed_km_h=NAN,
        fender_gap_min_mm=0.0,
        fender_gap_max_mm=NAN,
        ground_clearance_mm=0.0,
    )
    off = {
        path: own
        for path, own in job.tolerances.items()
        if not path.startswith("targets.") and ".clearance_" not in path
    }
    return dataclasses.replace(
        job,
        wheelhouse=jobs.Wheelhouses(**houses),
        brakes=jobs.Brakes(**brakes),
        targets=asked,
        chains=jobs.Chains(),
        tolerances=off,
    )


def _hub_height(
    diameter_mm: Column,
    present_mm: Column,
    heavy_g: Column,
    unladen_g: Column,
    weighed_g: Column,
    hub_height_mm: float,
) -> Inequality:
    """The hub's height as the room over the ground."""
    return at_least(hub_stands_mm(diameter_mm, present_mm, heavy_g, unladen_g, weighed_g, hub_height_mm), 0.0)


_OF_HUB = frozenset({"diameter_mm", "present_mm", "heavy_g", "unladen_g", "weighed_g", "hub_height_mm"})


def _to_ground(what: str, axle: Axle) -> Check:
    """The check of the ground clearance, or the same of the hub."""
    ground = _BY_ID["ground", axle]
    if what == "ground":
        return ground
    needs = {name: own for name, own in ground.needs.items() if name in _OF_HUB}
    return dataclasses.replace(ground, sides=_hub_height, needs=needs)


@dataclass(frozen=True)
class _Work:
    """One set of fitted parts: the job, the job at rest, and the parts as rows of one."""

    job: Job
    bare: Job
    chosen: Chosen

    def of_axle(self, axle: Axle) -> Iterator[Reading]:
        rows = rows_of(self.chosen, "corner", axle)
        for gauge in GAUGES:
            yield self._reading(
                axle, gauge.what, partial(self._room, axle, gauge, rows), partial(self._room_needs, axle, gauge, rows)
            )
        for what in TO_GROUND:
            check = _to_ground(what, axle)
            yield self._reading(
                axle, what, partial(self._over_ground, axle, check), partial(self._build_needs, axle, check)
            )

    def of_truck(self) -> Iterator[Reading]:
        for axle in AXLES:
            rating = _BY_ID[f"gawr_{axle}", axle]
            load = dataclasses.replace(rating, sides=None, bound="", needs={})  # its total alone
            yield self._reading(
                "truck", f"{axle}_axle", partial(self._load_kg, axle), partial(self._build_needs, axle, load)
            )
        yield self._reading("truck", "cruise_rpm", self._cruise, self._cruise_needs)

    def _room(self, axle: Axle, gauge: _Gauge, rows: Table) -> tuple[float, float]:
        if self._lacks_top(axle, gauge):
            return NAN, NAN
        room, off = rooms(Case(self.bare, axle, gauge.state), _BY_ID[gauge.check, axle], rows)[gauge.at]
        return float(room[0]), float(off[0])

    def _room_needs(self, axle: Axle, gauge: _Gauge, rows: Table) -> Iterable[Need]:
        if self._lacks_top(axle, gauge):
            return [job_need(Case(self.bare, axle, gauge.state), "state.hub_to_top_mm")]
        needs = row_needs(self.bare, axle, _BY_ID[gauge.check, axle], gauge.state, rows, 0)
        if gauge.check != "opening":
            return needs
        other = {"opening ahead", "opening behind"} - {gauge.what.replace("_", " ")}  # one check looks at both
        return [need for need in needs if need.name not in other]

    def _reading(
        self, where: str, what: str, work: Callable[[], tuple[float, float]], needs: Callable[[], Iterable[Need]]
    ) -> Reading:
        table: FittedAxle | Fitted = self.job.fitted if where == "truck" else getattr(self.job.fitted, where)
        unit: Literal["mm", "kg", "rpm"] = "mm" if where != "truck" else _truck_unit(what)
        field = next(own for own in dataclasses.fields(table) if own.name == f"{what}_{unit}")
        path = f"fitted.{field.name}" if where == "truck" else f"fitted.{where}.{field.name}"
        lacking = tuple(self._unnamed(where, what))
        computed, off = (NAN, NAN) if lacking else work()
        lacking = lacking or (tuple(needs()) if math.isnan(computed) else ())
        return Reading(
            what, where, unit, computed, getattr(table, field.name), off + entry_off(self.job, path, field), lacking
        )

    def _unnamed(self, where: str, what: str) -> Iterator[Need]:
        """The parts without which it cannot be computed, where the job does not name them."""
        axle = {"cruise_rpm": "rear", "front_axle": "front", "rear_axle": "rear"}.get(what, where)
        for kind in ("tire",) if what == "cruise_rpm" else ("wheel", "tire"):
            if not getattr(getattr(self.job.fitted, axle), kind):
                yield Need(kind, f"truck, [fitted.{axle}]", f"SKU of the {kind} that was fitted, as its list has it")
        if what == "cruise_rpm" and not self.job.fitted.ratio:
            yield Need("ratio", "truck, [fitted]", "SKU of the gear set in the axle, as its list has it")

    def _lacks_top(self, axle: Axle, gauge: _Gauge) -> bool:
        """The wheelhouse's own height is that at full bump, so ride height must have one of its own."""
        state = getattr(self.job.wheelhouse, axle).ride_height
        return gauge.what == "top" and (state is None or math.isnan(state.hub_to_top_mm))

    @cached_property
    def _ends(self) -> list[tuple[Job, Job]]:
        return ends_of_loads(self.job)

    @cached_property
    def _loads_g(self) -> dict[Axle, tuple[float, float]]:
        """Both axles' loads with the parts on, and what their plus-or-minus may add up to."""
        found: dict[Axle, tuple[float, float]] = {}
        for axle, total in standing_totals(self.job.fitted.case).items():
            load = float(summed(self.job, total, self.chosen)[0])
            start = total.start(self.job)
            offs = [max(abs(total.start(end) - start) for end in pair) for pair in self._ends]
            found[axle] = load, float(sum(np.nan_to_num(offs)))
        return found

    def _over_ground(self, axle: Axle, check: Check) -> tuple[float, float]:
        """Height over the ground of the hub or the lowest point, under the load that stands on the axle."""
        total, load = standing_totals(self.job.fitted.case)[axle], self._loads_g[axle][0]
        start, weighed = total.start(self.job), self.job.loads.axle_kg(axle) * 1000.0
        now, unsprung = TOTALS[f"{axle}_sprung_now_g"], float(getattr(self.chosen, axle)["corner.mass_g"][0])
        heavy = dict.fromkeys((f"{axle}_heavy_g", f"{axle}_unladen_g"), load)
        heavy |= dict.fromkeys((f"{axle}_sprung_heavy_g", f"{axle}_sprung_unladen_g"), load - unsprung)
        moves = tuple(
            tuple(
                {name: total.start(end) - start for name in heavy}
                | {
                    f"{axle}_weighed_g": end.loads.axle_kg(axle) * 1000.0 - weighed,
                    f"{axle}_sprung_now_g": now.start(end) - now.start(self.job),
                }
                for end in pair
            )
            for pair in self._ends
        )
        sums = heavy | {f"{axle}_weighed_g": weighed, f"{axle}_sprung_now_g": now.start(self.job)}
        rows = rows_of(self.chosen, "build", "truck")
        room, off = build_rooms(
            self.bare,
            check,
            {name: np.array([own]) for name, own in sums.items()},
            rows,
            Shifts(tuple((up, down) for up, down in moves)),
        )[0]
        return float(room[0]), float(off[0])

    def _build_needs(self, axle: Axle, check: Check) -> list[Need]:
        return list(BuildNeeds(self.job, self.chosen).of(axle, check, 0))

    def _load_kg(self, axle: Axle) -> tuple[float, float]:
        load, off = self._loads_g[axle]
        return load / 1000.0, off / 1000.0

    def _cruise(self) -> tuple[float, float]:
        if MAIN_POINT not in cruise_points(self.bare):
            return NAN, NAN
        setting, rows = Case(self.bare, "rear", MAIN_POINT), self.chosen.drive
        rpm, off = (np.asarray(own(setting, "point.rpm", rows)) for own in (value_of, plus_or_minus))
        return float(rpm[0]), float(off[0])

    def _cruise_needs(self) -> Iterable[Need]:
        if MAIN_POINT not in cruise_points(self.bare):
            return [Need("cruise speed", "truck, [targets]", "the speed at which cruise_rpm was read")]
        return row_needs(self.bare, "rear", _BY_ID["cruise_rpm", "rear"], MAIN_POINT, self.chosen.drive, 0)

"""Whole numbers that the parts of a build add up to. Checks, criteria and the solver add the same integers.

A total is what the truck brings (`base`) plus one column of the chosen row of each kind, all `times` over. NaN in a
chosen row, or a NaN base, makes the total not known. Adding a total is adding one entry here. What is no such sum
(`OF_WHOLE`) is worked out of whole builds; the sum that stands for it here is never above it.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from combo.checks.prices import least_start_cents, order_room_cents, total_cents
from combo.checks.rows import Chosen, Floats, moves_spare, present_parts_g
from combo.checks.table import Columns
from combo.formulas.axle import front_share_kg, rear_share_kg
from combo.formulas.rounding import half_up
from combo.job import AXLES, Axle, Job, LoadItem, Loads, Present, Spare, Trailer, Truck

PER_MILLE = 1000


@dataclass(frozen=True)
class Total:
    """One sum over a build: its base from the job, and the column that each chosen row adds ("" for none).

    A column that begins with a minus is subtracted. `needs` names the job entries behind the base.
    """

    unit: str
    base: Callable[[Job], float] = lambda job: 0.0
    front: str = ""
    rear: str = ""
    drive: str = ""
    slot: str = ""
    needs: tuple[str, ...] = ()
    times: Callable[[Job], int] = lambda job: 1

    def start(self, job: Job) -> float:
        """What the truck brings, `times` over."""
        return self.times(job) * self.base(job)

    def adds(self, job: Job, kind: str, rows: Columns) -> Floats | None:
        """What each row of a kind ("front", "rear", "drive" or "slot") adds; None where that kind adds nothing."""
        column: str = getattr(self, kind)
        if not column:
            return None
        sign = -1.0 if column.startswith("-") else 1.0
        own: Floats = sign * self.times(job) * np.asarray(rows[column.removeprefix("-")], dtype=float)
        return own


def summed(job: Job, total: Total, chosen: Chosen) -> Floats:
    """A total of builds: what the truck brings, what each row adds, and the ballast."""
    value = np.full(len(chosen.counts), total.start(job))
    for kind, rows in (("front", chosen.front), ("rear", chosen.rear), ("drive", chosen.drive)):
        adds = total.adds(job, kind, rows)
        value = value if adds is None else value + adds
    laid = total.adds(job, "slot", chosen.slots)
    return value if laid is None else value + chosen.counts @ laid


def truck_totals(job: Job) -> dict[str, float]:
    """What the truck brings to each total."""
    return {name: total.start(job) for name, total in TOTALS.items()}


def axle_loads_kg(job: Job) -> dict[str, tuple[float, float]]:
    """Front and rear axle load of each load case before any part is changed or ballast laid [kg].

    The scale's loads plus the items of the case, by moments (statics). Without named cases there is one, "as weighed".
    """
    return _loads_kg(job.laden, job.truck)


def load_cases(job: Job) -> list[str]:
    """Names of the load cases, in the job's order."""
    return _cases(job.laden)


def _cases(loads: Loads) -> list[str]:
    named = loads.cases or tuple(case for item in loads.items for case in item.cases)
    return list(dict.fromkeys(named)) or ["as weighed"]


def _loads_kg(loads: Loads, truck: Truck) -> dict[str, tuple[float, float]]:
    return {name: _case_kg(loads, truck, name) for name in _cases(loads)}


def _case_kg(loads: Loads, truck: Truck, name: str) -> tuple[float, float]:
    """Loads as weighed, less what was aboard on the scale, with what the case carries."""
    front, rear = loads.axle_kg("front"), loads.axle_kg("rear")
    for item in loads.items:
        times = _times(item, name)
        front += times * float(front_share_kg(item.mass_kg, item.station_mm, truck.wheelbase_mm))
        rear += times * float(rear_share_kg(item.mass_kg, item.station_mm, truck.wheelbase_mm))
    return front, rear


def _side_kg(job: Job, axle: Axle, name: str) -> float:
    """What one wheel of an axle carries more than half of it in a load case: what the pads under both tell apart, and
    the side moment of what is carried over the track, or the axle's share of the roll stiffness of it.
    """
    left, right = (getattr(job.loads, f"{axle}_{side}_kg") for side in ("left", "right"))
    beam = getattr(job.axle, axle)
    share = beam.roll_share_ppm / 1_000_000 or 1.0
    moment = sum(_times(item, name) * item.mass_kg * item.lateral_mm for item in job.laden.items if item.lateral_mm)
    tipped = share * moment / beam.track_mm if moment else 0.0
    return float(abs((0.0 if np.isnan(left) else (right - left) / 2.0) + tipped))


def needs_of(job: Job, name: str) -> tuple[str, ...]:
    """What of the job stands behind a total: of a heavier wheel the track, too, where anything lies to one side."""
    is_aside = any(item.lateral_mm for item in job.laden.items)
    return TOTALS[name].needs + (("axle.track_mm",) if is_aside and name in _OF_HEAVIER_WHEEL else ())


def _times(item: LoadItem, case: str) -> int:
    """How often an item counts in a load case beside what stood on the scale."""
    return int(not item.cases or case in item.cases) - int(item.weighed)


def _wheel_g(job: Job, axle: Axle) -> float:
    """Twice the load of an axle's heavier wheel without its parts, in the case that loads it most."""
    at = AXLES.index(axle)
    return _most(loads[at] + 2.0 * _grams(_side_kg(job, axle, name)) for name, loads in _bare_g(job).items())


def _most(sizes: Iterable[float]) -> float:
    """The largest; NaN where one is not known, for that may be the largest."""
    return float(np.max(list(sizes)))


class CaseDelta(NamedTuple):
    """What rear axle and whole truck carry in a load case more than in the case that is lightest at the rear, and what
    stands on a trailer's own wheels [kg].
    """

    rear_kg: float
    truck_kg: float
    towed_kg: float


def case_deltas_kg(job: Job) -> dict[str, CaseDelta]:
    """By load case, what differs from the case that is lightest at the rear."""
    front, rear = _lightest_case_g(job)
    return {
        name: CaseDelta(
            (own_rear - rear) / 1000.0, (own_front + own_rear - front - rear) / 1000.0, job.trailer.towed_kg(name)
        )
        for name, (own_front, own_rear) in _bare_g(job).items()
    }


def _combined_g(job: Job) -> float:
    """Truck and trailer in the case in which they are heaviest."""
    return _most(front + rear + _grams(job.trailer.towed_kg(name)) for name, (front, rear) in _bare_g(job).items())


def _grams(kg: float) -> float:
    return float(half_up(kg * 1000.0))


def _bare_g(job: Job) -> dict[str, tuple[float, float]]:
    """Axle loads of each case [g] without the wheels, tires and spare that were on the truck while it was weighed."""
    return _bare_of(job.laden, job.present, job.truck, job.spare if moves_spare(job) else None)


@functools.lru_cache(maxsize=64)
def _bare_of(loads: Loads, present: Present, truck: Truck, spare: Spare | None) -> dict[str, tuple[float, float]]:
    """The same of these tables of a job; kept, as each check of a start asks for it."""
    front_off, rear_off = (present_parts_g(present, axle) for axle in AXLES)
    mass = 0.0 if spare is None else _grams(present.spare_kg)
    at_mm = 0.0 if spare is None else spare.station_mm
    at_rear = float(half_up(rear_share_kg(mass, at_mm, truck.wheelbase_mm)))
    return {
        name: (_grams(front) - front_off - (mass - at_rear), _grams(rear) - rear_off - at_rear)
        for name, (front, rear) in _loads_kg(loads, truck).items()
    }


def _steering_case_g(job: Job) -> tuple[float, float]:
    """Loads of the case in which the front axle has least over its wanted share."""
    share = steering_per_mille(job)
    return min(_bare_g(job).values(), key=lambda case: PER_MILLE * case[0] - share * (case[0] + case[1]))


def _lightest_case_g(job: Job) -> tuple[float, float]:
    """Loads of the case in which the rear axle has least; of several such, the one with the lightest front."""
    return min(_bare_g(job).values(), key=lambda case: (case[1], case[0]))


def _heaviest_front_g(job: Job) -> float:
    return max(front for front, _ in _bare_g(job).values())


def _heaviest_rear_g(job: Job) -> float:
    return max(rear for _, rear in _bare_g(job).values())


def steering_per_mille(job: Job) -> int:
    """Wanted front share, in whole thousandths."""
    return round(job.targets.front_share_ppm / 1000)


def _aboard_g(job: Job) -> float:
    """What is carried in the case that carries most, and what the present wheels, tires and spare spare the payload."""
    items = max(
        sum(item.mass_kg for item in job.laden.items if not item.cases or name in item.cases)
        for name in load_cases(job)
    )
    spare = job.present.spare_kg if moves_spare(job) else 0.0
    return _grams(items) - sum(present_parts_g(job.present, axle) for axle in AXLES) - _grams(spare)


_WEIGHED = {axle: (f"loads.{axle}_axle_kg",) for axle in AXLES}
_FRONT = ("loads.front_axle_kg", "present.front_wheel_and_tire_kg")
_REAR = ("loads.rear_axle_kg", "present.rear_wheel_and_tire_kg")
_SPARE = ("present.spare_kg",)


def _front(case: Callable[[Job], float], times: Callable[[Job], int] = lambda job: 1) -> Total:
    return Total(
        "g",
        case,
        front="corner.mass_g",
        rear="corner.spare_front_g",
        slot="slot.front_g",
        needs=(*_FRONT, *_SPARE),
        times=times,
    )


def _front_unladen(case: Callable[[Job], float]) -> Total:
    return replace(_front(case), slot="")


def _rear(case: Callable[[Job], float]) -> Total:
    return Total("g", case, rear="corner.rear_load_g", slot="slot.rear_g", needs=(*_REAR, *_SPARE))


def _truck(case: Callable[[Job], float], times: Callable[[Job], int] = lambda job: 1) -> Total:
    return Total(
        "g",
        case,
        front="corner.mass_g",
        rear="corner.truck_load_g",
        slot="slot.mass_g",
        needs=(*_FRONT, *_REAR, *_SPARE),
        times=times,
    )


def standing_totals(case: str) -> dict[Axle, Total]:
    """Both axles' loads with other parts on in a load case; "" is with aboard what was aboard on the scale."""

    def bare_g(job: Job, at: int) -> float:
        standing = job if case else replace(job, loads=replace(job.loads, items=(), cases=()), trailer=Trailer())
        (own,) = [loads_g for name, loads_g in _bare_g(standing).items() if not case or name == case]
        return own[at]

    return {"front": _front(functools.partial(bare_g, at=0)), "rear": _rear(functools.partial(bare_g, at=1))}


def _weighed_g(job: Job, axle: Axle) -> float:
    return _grams(job.loads.axle_kg(axle))


def _sprung_now_g(job: Job, axle: Axle) -> float:
    return _weighed_g(job, axle) - present_parts_g(job.present, axle)


def _rating(of: Callable[[Job], float], need: str) -> Total:
    return Total("g", lambda job: _grams(of(job)), needs=(need,))


_OF_HEAVIER_WHEEL = {"front_wheel_heavy_g", "front_wheel_unladen_g", "rear_wheel_heavy_g"}
TOTALS: dict[str, Total] = {
    "cost_cents": Total(
        "cents",
        least_start_cents,
        front="corner.cost_cents",
        rear="corner.cost_cents",
        drive="drive.cost_cents",
        slot="slot.cost_cents",
    ),
    "order_room_cents": Total("cents"),
    "parts_g": Total("g", front="corner.mass_g", rear="corner.mass_g", slot="slot.mass_g"),
    "front_light_g": _front(lambda job: min(front for front, _ in _bare_g(job).values())),
    "front_unladen_g": _front_unladen(_heaviest_front_g),
    **{
        f"{axle}_weighed_g": Total("g", functools.partial(_weighed_g, axle=axle), needs=_WEIGHED[axle])
        for axle in AXLES
    },
    "front_ground_g": Total("g", front="corner.ground_g"),
    "rear_ground_g": Total("g", rear="corner.ground_g"),
    "front_laid_ground_g": Total("g", front="corner.laid_ground_g"),
    "rear_laid_ground_g": Total("g", rear="corner.laid_ground_g"),
    "front_heavy_g": _front(_heaviest_front_g),
    "front_wheel_heavy_g": _front(lambda job: _wheel_g(job, "front")),
    "front_wheel_unladen_g": _front_unladen(lambda job: _wheel_g(job, "front")),
    "rear_wheel_heavy_g": _rear(lambda job: _wheel_g(job, "rear")),
    "rear_light_g": _rear(lambda job: min(rear for _, rear in _bare_g(job).values())),
    "rear_heavy_g": _rear(_heaviest_rear_g),
    "truck_heavy_g": _truck(lambda job: max(front + rear for front, rear in _bare_g(job).values())),
    "combined_g": _truck(_combined_g),
    "trailer_g": Total("g", lambda job: _grams(job.trailer.mass_kg)),
    # What springs carry: the loads without the wheels and tires of the axle itself.
    "front_sprung_heavy_g": replace(_front(_heaviest_front_g), front=""),
    "front_sprung_unladen_g": replace(_front_unladen(_heaviest_front_g), front=""),
    "rear_sprung_heavy_g": replace(_rear(_heaviest_rear_g), rear="corner.spare_rear_g"),
    "front_sprung_now_g": Total("g", functools.partial(_sprung_now_g, axle="front"), needs=_FRONT),
    "rear_sprung_now_g": Total("g", functools.partial(_sprung_now_g, axle="rear"), needs=_REAR),
    "truck_light_g": _truck(lambda job: sum(_lightest_case_g(job))),
    "steering_mg": _front(lambda job: _steering_case_g(job)[0], lambda job: PER_MILLE),
    "steering_least_mg": _truck(lambda job: sum(_steering_case_g(job)), steering_per_mille),
    "payload_g": Total(
        "g",
        _aboard_g,
        front="corner.mass_g",
        rear="corner.truck_load_g",
        slot="slot.mass_g",
        needs=(_FRONT[1], _REAR[1], *_SPARE),
    ),
    "front_tires_g": Total("g", front="corner.tires_g"),
    "rear_tires_g": Total("g", rear="corner.tires_g"),
    "front_wheels_g": Total("g", front="corner.wheels_g"),
    "rear_wheels_g": Total("g", rear="corner.wheels_g"),
    "torque_g": Total("g", drive="drive.torque_g"),
    "front_radius_least_um": Total("um", front="corner.radius_least_um"),
    "front_radius_most_um": Total("um", front="-corner.radius_most_um"),
    "match_most_um": Total("um", drive="drive.match_most_um"),
    "match_least_um": Total("um", drive="-drive.match_least_um"),
    "pull_g": Total("g", drive="drive.pull_g"),
    "hold_g": Total("g", drive="drive.hold_g"),
    "rake_um": Total("um", front="-corner.diameter_um", rear="corner.diameter_um"),
    "lip_error_um": Total("um", front="corner.lip_error_um", rear="corner.lip_error_um"),
    "budget_cents": Total(
        "cents", lambda job: np.nan if job.money.budget_cents is None else float(job.money.budget_cents)
    ),
    "rear_load_target_g": Total("g", lambda job: _grams(job.targets.rear_load_kg)),
    "gawr_front_g": _rating(lambda job: job.truck.gawr_front_kg, "truck.gawr_front_kg"),
    "gawr_rear_g": _rating(lambda job: job.truck.gawr_rear_kg, "truck.gawr_rear_kg"),
    "gvwr_g": _rating(lambda job: job.truck.gvwr_kg, "truck.gvwr_kg"),
    "gcwr_g": _rating(lambda job: job.truck.gcwr_kg, "truck.gcwr_kg"),
    "hitch_rating_g": _rating(lambda job: job.trailer.hitch_rating_kg, "trailer.hitch_rating_kg"),
    "payload_rating_g": _rating(lambda job: job.truck.payload_kg, "truck.payload_kg"),
}


OF_WHOLE: dict[str, Callable[..., Floats]] = {"cost_cents": total_cents, "order_room_cents": order_room_cents}
"""Totals that hang on more than one part at a time: functions of the tables and counts of whole builds."""


def whole_totals(job: Job, chosen: Chosen) -> dict[str, Floats]:
    """Those totals of builds."""
    tables = chosen.front, chosen.rear, chosen.drive, chosen.slots, chosen.counts
    return {name: work(job, *tables) for name, work in OF_WHOLE.items()}

"""Whole numbers that the parts of a build add up to. Checks, criteria and the solver add the same integers.

A total is what the truck brings (`base`) plus one column of the chosen row of each kind. NaN in a chosen row, or a
NaN base, makes the total not known. Adding a total is adding one entry here.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from combo.checks.rows import round_half_up
from combo.formulas.axle import front_share_kg, rear_share_kg
from combo.job import Job


@dataclass(frozen=True)
class Total:
    """One sum over a build: its base from the job, and the column that each chosen row adds ("" for none).

    `needs` names the job entries behind the base.
    """

    unit: str
    base: Callable[[Job], float] = lambda job: 0.0
    front: str = ""
    rear: str = ""
    drive: str = ""
    slot: str = ""
    needs: tuple[str, ...] = ()


def axle_loads_kg(job: Job) -> dict[str, tuple[float, float]]:
    """Front and rear axle load of each load case before any part is chosen or ballast laid [kg].

    The scale's loads plus the items of the case, by moments (statics). Without named cases there is one, "as weighed".
    """
    named = job.loads.cases or tuple(case for item in job.loads.items for case in item.cases)
    names = list(dict.fromkeys(named)) or ["as weighed"]
    return {name: _case_kg(job, name) for name in names}


def _case_kg(job: Job, name: str) -> tuple[float, float]:
    front, rear = job.loads.front_axle_kg, job.loads.rear_axle_kg
    for item in job.loads.items:
        if not item.cases or name in item.cases:
            front += float(front_share_kg(item.mass_kg, item.station_mm, job.truck.wheelbase_mm))
            rear += float(rear_share_kg(item.mass_kg, item.station_mm, job.truck.wheelbase_mm))
    return front, rear


def _grams(kg: float) -> float:
    return round_half_up(kg * 1000.0)


def _front(case: Callable[[list[float]], float]) -> Total:
    """Front axle load in the lightest (`min`) or heaviest (`max`) load case."""
    return Total(
        "g", lambda job: _grams(case([front for front, _ in axle_loads_kg(job).values()])),
        front="corner.mass_change_g", slot="slot.front_g", needs=("loads.front_axle_kg",),
    )  # fmt: skip


def _rear(case: Callable[[list[float]], float]) -> Total:
    """Rear axle load in the lightest or heaviest load case."""
    return Total(
        "g", lambda job: _grams(case([rear for _, rear in axle_loads_kg(job).values()])),
        rear="corner.mass_change_g", slot="slot.rear_g", needs=("loads.rear_axle_kg",),
    )  # fmt: skip


TOTALS: dict[str, Total] = {
    "cost_cents": Total("cents", front="corner.cost_cents", rear="corner.cost_cents", drive="drive.cost_cents",
                        slot="slot.cost_cents"),
    "parts_g": Total("g", front="corner.mass_g", rear="corner.mass_g", slot="slot.mass_g"),
    "front_light_g": _front(min),
    "front_heavy_g": _front(max),
    "rear_light_g": _rear(min),
    "rear_heavy_g": _rear(max),
    "front_tires_g": Total("g", front="corner.tires_g"),
    "rear_tires_g": Total("g", rear="corner.tires_g"),
    "front_wheels_g": Total("g", front="corner.wheels_g"),
    "rear_wheels_g": Total("g", rear="corner.wheels_g"),
    "rake_um": Total("um", front="-corner.diameter_um", rear="corner.diameter_um"),
    "lip_error_um": Total("um", front="corner.lip_error_um", rear="corner.lip_error_um"),
    "budget_cents": Total("cents", lambda job: float(job.money.budget_cents or np.nan)),
    "rear_load_target_g": Total("g", lambda job: _grams(job.targets.rear_load_kg)),
    "gawr_front_g": Total("g", lambda job: _grams(job.truck.gawr_front_kg), needs=("truck.gawr_front_kg",)),
    "gawr_rear_g": Total("g", lambda job: _grams(job.truck.gawr_rear_kg), needs=("truck.gawr_rear_kg",)),
}  # fmt: skip

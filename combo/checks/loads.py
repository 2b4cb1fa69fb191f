"""Is there enough weight where it is wanted, and does every part carry its share. The table is at the foot.

Loads are static. Wanted loads are judged in the load case that is lightest there, capacities in the heaviest.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from combo.checks.check import Check, Cure, Several, at_least
from combo.checks.values import cruise_points
from combo.formulas import Column
from combo.formulas.drive import steepest_start
from combo.job import Axle, Job

SCALE_SHARE = 0.05  # of the limit: our choice, so that 5 % of room counts as one full clearance


def _of(size: Callable[[Job], float]) -> Callable[[Job, Axle], float]:
    return lambda job, axle: SCALE_SHARE * size(job)


def _holds_any(job: Job) -> bool:
    return any(point.hold_grade_ppm for point in cruise_points(job).values())


def _capacity(axle: Axle, what: str) -> Check:
    part = "tire" if what == "tires" else "wheel"
    derate = "; a passenger tire's rating / 1.10 (49 CFR 571.110)" if part == "tire" else ""
    return Check(
        id=f"{part}_load",
        name=f"{part} load rating",
        group="loads",
        rows="build",
        unit="kg",
        formula=f"axle load / 2 <= what one {part} carries{derate}",
        source="statics" + ("; load index: French decree of 24 October 1994, annexe II" if part == "tire" else ""),
        total=f"{axle}_heavy_g",
        bound=f"{axle}_{what}_g",
        share=0.5,
        where=axle,
        scale=lambda job, axle_: 50.0,
        scale_words="50 kg a corner",
        firm=True,
        cures=(
            Cure("bound", 1.0, f"a {part} rated {{amount}} more"),
            Cure("total", -2.0, f"{{amount}} less on the {axle} axle"),
        ),
    )


def start_grade(
    rear_g: Column, truck_g: Column, share: Column, preload_kg: Column, friction_low: float, friction_high: float,
    height_mm: float, wheelbase_mm: float, resistance: float, least_ppm: int,
) -> Several:  # fmt: skip
    """With one drive wheel on the worse ground the truck still starts up the wanted grade.

    A preload adds to the thrust, but both sides' friction is the most that any differential can use.
    """
    loads = (np.asarray(rear_g) / 1000.0, np.asarray(truck_g) / 1000.0)
    over = height_mm / wheelbase_mm
    by_split = steepest_start(*loads, share, preload_kg, over, resistance)
    by_both = steepest_start(*loads, (friction_low + friction_high) / 2.0, 0.0, over, resistance)
    least = least_ppm / 1_000_000.0
    return at_least(by_split, least), at_least(by_both, least)


def _pull(id_: str, name: str, formula: str, bound: str, asked: Callable[[Job], bool], unasked: str) -> Check:
    return Check(
        id=id_,
        name=name,
        group="drive",
        rows="build",
        unit="kg",
        formula=formula,
        source="statics on a grade; efficiency 0.85 and rolling resistance 0.015 are common practice, no source",
        default="efficiency 0.85, resistance 0.015",
        total="truck_heavy_g",
        bound=bound,
        asked=asked,
        unasked=unasked,
        scale=_of(lambda job: job.truck.gvwr_kg),
        scale_words="5 % of the GVWR",
        cures=(Cure("total", -1.0, "{amount} less on the truck"),),
    )


CHECKS = (
    _capacity("front", "tires"),
    _capacity("rear", "tires"),
    _capacity("front", "wheels"),
    _capacity("rear", "wheels"),
    Check(
        id="gawr_front",
        name="front axle rating",
        group="loads",
        rows="build",
        unit="kg",
        formula="front axle load, heaviest case <= GAWR front",
        source="statics; the rating is the axle maker's or the label's",
        total="front_heavy_g",
        bound="gawr_front_g",
        where="front",
        scale=_of(lambda job: job.truck.gawr_front_kg),
        scale_words="5 % of the rating",
        firm=True,
        cures=(Cure("total", -1.0, "{amount} less on the front axle"),),
    ),
    Check(
        id="gawr_rear",
        name="rear axle rating",
        group="loads",
        rows="build",
        unit="kg",
        formula="rear axle load, heaviest case <= GAWR rear",
        source="statics; the rating is the axle maker's or the label's",
        total="rear_heavy_g",
        bound="gawr_rear_g",
        where="rear",
        scale=_of(lambda job: job.truck.gawr_rear_kg),
        scale_words="5 % of the rating",
        firm=True,
        cures=(Cure("total", -1.0, "{amount} less on the rear axle"),),
    ),
    Check(
        id="rear_load",
        name="rear axle load",
        group="loads",
        rows="build",
        unit="kg",
        formula="rear axle load, lightest case >= target",
        source="statics, moments about the front axle line",
        total="rear_light_g",
        bound="rear_load_target_g",
        sense="at_least",
        where="rear",
        asked=lambda job: not np.isnan(job.targets.rear_load_kg),
        unasked="no rear_load",
        scale=_of(lambda job: job.targets.rear_load_kg),
        scale_words="5 % of the target",
        cures=(Cure("total", 1.0, "{amount} more over the rear axle"), Cure("bound", -1.0, "a target {amount} lower")),
    ),
    Check(
        id="gvwr",
        name="whole truck's rating",
        group="loads",
        rows="build",
        unit="kg",
        formula="both axle loads, heaviest case <= GVWR",
        source="statics; the rating is the label's",
        total="truck_heavy_g",
        bound="gvwr_g",
        scale=_of(lambda job: job.truck.gvwr_kg),
        scale_words="5 % of the rating",
        firm=True,
        cures=(Cure("total", -1.0, "{amount} less on the truck"),),
    ),
    Check(
        id="payload",
        name="payload",
        group="loads",
        rows="build",
        unit="kg",
        formula="what is carried, ballast, and what wheels, tires and spare weigh more than the present ones <= rating",
        source="arithmetic; the rating is the label's",
        total="payload_g",
        bound="payload_rating_g",
        asked=lambda job: not np.isnan(job.truck.payload_kg),
        unasked="no payload rating",
        scale=_of(lambda job: job.truck.payload_kg),
        scale_words="5 % of the rating",
        firm=True,
        cures=(Cure("total", -1.0, "{amount} less aboard"),),
    ),
    Check(
        id="front_share",
        name="front axle's share",
        group="loads",
        rows="build",
        unit="kg",
        formula="front axle load >= share x both axle loads, in the case with the least room",
        source="statics; 40 % is common practice, no source",
        default="share 40 %",
        total="steering_mg",
        bound="steering_least_mg",
        sense="at_least",
        share=0.001,
        where="front",
        asked=lambda job: job.targets.front_share_ppm > 0,
        unasked="front_share 0",
        scale=_of(lambda job: job.loads.front_axle_kg),
        scale_words="5 % of the front axle's scale load",
        cures=(Cure("total", 1.0, "{amount} more over the front axle"),),
    ),
    _pull(
        "pull", "pull up the grade",
        "torque x stall ratio x first gear x axle ratio x efficiency / r >= weight x (sin + f cos), heaviest case; "
        "told as the mass that it can pull", "pull_g", lambda job: job.targets.pull_grade_ppm > 0, "no pull_grade",
    ),
    _pull(
        "hold_gear", "hold the gear on the grade",
        "torque at cruise x gear x axle ratio x efficiency / r - drag >= weight x (sin + f cos), heaviest case; told "
        "as the mass that it can hold", "hold_g", _holds_any, "no hold_grade",
    ),
    Check(
        id="start_grade",
        name="steepest start",
        group="drive",
        rows="build",
        unit="share",
        formula="steepest grade on which a (W_r cos + W (h / L) sin) + preload / r = W (sin + f cos), lightest case, "
        ">= wanted; a as for traction, never more than both sides' friction",
        source="statics on a grade (Gillespie, Fundamentals of Vehicle Dynamics, SAE, 1992, chapter 1, from memory)",
        default="resistance 0.015",
        where="rear",
        sides=start_grade,
        needs={
            "rear_g": "sum.rear_light_g", "truck_g": "sum.truck_light_g", "share": "drive.grip_share",
            "preload_kg": "drive.preload_kg", "friction_low": "surface.friction_low",
            "friction_high": "surface.friction_high", "height_mm": "truck.cg_height_mm",
            "wheelbase_mm": "truck.wheelbase_mm", "resistance": "rolling.resistance",
            "least_ppm": "targets.start_grade_ppm",
        },
        asked=lambda job: job.targets.start_grade_ppm > 0,
        unasked="no start_grade",
        scale=lambda job, axle: 0.02,
        scale_words="2 % of grade",
    ),
)  # fmt: skip

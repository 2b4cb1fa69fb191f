"""Is there enough weight where it is wanted, and does every part carry its share. The table is at the foot.

Loads are static. Wanted loads are judged in the load case that is lightest there, capacities in the heaviest.
"""

from __future__ import annotations

from collections.abc import Callable

from combo.checks.check import Check, Cure
from combo.job import Axle, Job

SCALE_SHARE = 0.05  # of the limit: our choice, so that 5 % of room counts as one full clearance


def _of(size: Callable[[Job], float]) -> Callable[[Job, Axle], float]:
    return lambda job, axle: SCALE_SHARE * size(job)


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
        asked="targets.rear_load_kg",
        scale=_of(lambda job: job.targets.rear_load_kg),
        scale_words="5 % of the target",
        cures=(Cure("total", 1.0, "{amount} more over the rear axle"), Cure("bound", -1.0, "a target {amount} lower")),
    ),
)

"""Is there enough weight where it is wanted, and does every part carry its share. The table is at the foot.

Loads are static. Wanted loads are judged in the load case that is lightest there, capacities in the heaviest; a start
in every case. What holds the front axle's load must hold it with the ballast taken out, too.
"""

from __future__ import annotations

import functools
import itertools
from collections.abc import Callable
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from combo.checks.check import Check, Cure, Inequalities, Inequality, at_least, at_most
from combo.checks.rows import lift_lever
from combo.checks.totals import case_deltas_kg
from combo.checks.values import cruise_points
from combo.formulas import Column
from combo.formulas.axle import deflection_mm, sag_mm
from combo.formulas.drive import (
    FRICTION_DRY,
    axle_speed_ratio,
    gripped_torque_n_m,
    lift_divisor,
    mass_started_kg,
    preload_thrust_kg,
    start_share,
    steepest_start,
)
from combo.job import Axle, Job

GROUND_SCALE_MM = 12.7
HEAVIER_WHEEL = (
    "half its axle, and what the pads and the items' laterals put to one side: the side moment over the track, or the "
    "axle's roll_share of it; a bound"
)
SCALE_SHARE = 0.05  # of the limit: our choice, so that 5 % of room counts as one full clearance


def _of(size: Callable[[Job], float]) -> Callable[[Job, Axle], float]:
    return lambda job, axle: SCALE_SHARE * size(job)


def _holds_any(job: Job) -> bool:
    return any(point.hold_grade_ppm for point in cruise_points(job).values())


def held_both_ways(heavy_g: Column, unladen_g: Column, bound_g: Column, share: float) -> Inequality:
    """What holds the front axle's load holds it with the ballast aboard, and with it taken out."""
    heaviest = np.maximum(heavy_g, unladen_g)
    return at_most(heaviest * share / 1000.0, np.asarray(bound_g) * share / 1000.0)


def _at_the_front(check: Check) -> Check:
    """A capacity of the front axle: ballast behind the rear axle line lightens it, and may be taken out."""
    unladen = check.total.replace("_heavy_", "_unladen_")
    totals = {"heavy_g": f"sum.{check.total}", "unladen_g": f"sum.{unladen}", "bound_g": f"sum.{check.bound}"}
    return replace(
        check,
        formula=f"{check.formula}; with the ballast aboard, and taken out",
        other_total=unladen,
        sides=functools.partial(held_both_ways, share=check.share),
        needs=totals,
    )


def _capacity(axle: Axle, what: str) -> Check:
    part = "tire" if what == "tires" else "wheel"
    derate = "; a passenger tire's rating / 1.10 (49 CFR 571.110)" if part == "tire" else ""
    return Check(
        id=f"{part}_load",
        name=f"{part} load rating",
        group="loads",
        rows="build",
        unit="kg",
        formula=f"load of the heavier wheel <= what one {part} carries{derate}; {HEAVIER_WHEEL}",
        source="statics" + ("; load index: French decree of 24 October 1994, annexe II" if part == "tire" else ""),
        total=f"{axle}_wheel_heavy_g",
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


def _pressure(axle: Axle) -> Check:
    return Check(
        id="wheel_pressure",
        name="wheel's pressure rating",
        group="loads",
        rows="build",
        unit="kg",
        formula="load of the heavier wheel <= what its tire carries at the wheel's largest cold pressure: capacity x "
        "(wheel's pressure / pressure of the rated load)^n, n 0.80 passenger and 0.70 light truck, and nothing below "
        "26 and 35 psi; in front with the ballast aboard, and taken out",
        source="ETRTO Standards Manual, note to the load tables (0.80); 0.70, 26 and 35 psi from memory",
        sides=functools.partial(held_both_ways, share=0.5),
        needs={
            "heavy_g": f"sum.{axle}_wheel_heavy_g",
            "unladen_g": "sum.front_wheel_unladen_g" if axle == "front" else "sum.rear_wheel_heavy_g",
            "bound_g": f"{axle}.corner.pressed_g",
        },
        total=f"{axle}_wheel_heavy_g",
        other_total="front_wheel_unladen_g" if axle == "front" else "",
        bound=f"{axle}_tires_g",
        where=axle,
        scale=lambda job, axle_: 50.0,
        scale_words="50 kg a corner",
        firm=True,
        cures=(Cure("bound_g", 2000.0, "a wheel for more pressure, or a tire that carries {amount} more at it"),),
    )


def _axle_rating(axle: Axle) -> Check:
    return Check(
        id=f"gawr_{axle}",
        name=f"{axle} axle rating",
        group="loads",
        rows="build",
        unit="kg",
        formula=f"{axle} axle load, heaviest case <= GAWR {axle}",
        source="statics; the rating is the axle maker's or the label's",
        total=f"{axle}_heavy_g",
        bound=f"gawr_{axle}_g",
        where=axle,
        scale=_of(lambda job: getattr(job.truck, f"gawr_{axle}_kg")),
        scale_words="5 % of the rating",
        firm=True,
        cures=(Cure("total", -1.0, f"{{amount}} less on the {axle} axle"),),
    )


def ground(
    diameter_mm: Column,
    present_mm: Column,
    heavy_g: Column,
    unladen_g: Column,
    weighed_g: Column,
    hub_height_mm: float,
    clearance_mm: float,
    sprung_g: Column,
    sprung_unladen_g: Column,
    sprung_now_g: Column,
    rate_n_per_m: float,
    least_mm: float,
) -> Inequality:
    """The lowest point, moved with the hub, keeps off the ground under the heaviest load.

    The new tire sinks in as the present one was measured to, by its size and its load; a point on the frame comes down
    as the springs sag, too.
    """
    stands_mm = hub_stands_mm(diameter_mm, present_mm, heavy_g, unladen_g, weighed_g, hub_height_mm)
    sags_mm = sag_mm((np.maximum(sprung_g, sprung_unladen_g) - sprung_now_g) / 1000.0, rate_n_per_m)
    return at_least(clearance_mm + stands_mm - hub_height_mm - sags_mm, least_mm)


def ground_laid_out(
    diameter_mm: Column,
    present_mm: Column,
    heavy_g: Column,
    unladen_g: Column,
    weighed_g: Column,
    hub_height_mm: float,
    clearance_mm: float,
    drop_mm: float,
    least_mm: float,
) -> Inequality:
    """Laid out on air the lowest point keeps off the ground: one on the frame is down by the axle's travel."""
    stands_mm = hub_stands_mm(diameter_mm, present_mm, heavy_g, unladen_g, weighed_g, hub_height_mm)
    return at_least(clearance_mm + stands_mm - hub_height_mm - drop_mm, least_mm)


def hub_stands_mm(
    diameter_mm: Column,
    present_mm: Column,
    heavy_g: Column,
    unladen_g: Column,
    weighed_g: Column,
    hub_height_mm: float,
) -> Column:
    """Height of the hub on a new tire under the heaviest load."""
    load_share = np.maximum(heavy_g, unladen_g) / weighed_g
    stands_mm: Column = diameter_mm / 2.0 - deflection_mm(present_mm, hub_height_mm, diameter_mm, load_share)
    return stands_mm


def _hub_stands(axle: Axle) -> dict[str, str]:
    """What the height of a hub on a new tire is worked out from, and the lowest point's now."""
    unladen = "front_unladen_g" if axle == "front" else "rear_heavy_g"
    return {
        "diameter_mm": f"{axle}.tire.running_diameter_mm",
        "present_mm": f"{axle}.corner.present_diameter_mm",
        "heavy_g": f"sum.{axle}_heavy_g",
        "unladen_g": f"sum.{unladen}",
        "weighed_g": f"sum.{axle}_weighed_g",
        "hub_height_mm": f"present.{axle}_hub_height_mm",
        "clearance_mm": f"present.{axle}_ground_clearance_mm",
    }


def _ground(axle: Axle) -> Check:
    sprung_unladen = "front_sprung_unladen_g" if axle == "front" else "rear_sprung_heavy_g"
    return Check(
        id="ground",
        name="ground clearance",
        group="look",
        rows="build",
        unit="mm",
        formula="lowest point now + (hub height new - now) - sag >= least; hub height new = D / 2 - (present D / 2 - "
        "hub height now) (D / present D) (axle load, heaviest case / as weighed); sag of a point on the frame = change "
        "of sprung load / spring rate",
        source="geometry; tires sink in by their size and load, common practice, no source",
        sides=ground,
        needs={
            **_hub_stands(axle),
            "sprung_g": f"sum.{axle}_sprung_heavy_g",
            "sprung_unladen_g": f"sum.{sprung_unladen}",
            "sprung_now_g": f"sum.{axle}_sprung_now_g",
            "rate_n_per_m": "axle.sag_rate_n_per_m",
            "least_mm": "targets.ground_clearance_mm",
        },
        total=f"{axle}_heavy_g",
        bound=f"{axle}_ground_g",
        other_total="front_unladen_g" if axle == "front" else "",
        where=axle,
        asked=lambda job: not np.isnan(job.targets.ground_clearance_mm),
        unasked="no ground_clearance",
        state="ride height",
        scale=lambda job, axle_: GROUND_SCALE_MM,
        scale_words="1/2 in",
        cures=(
            Cure("diameter_mm", 2.0, "a tire {amount} taller"),
            Cure("least_mm", -1.0, "{amount} less clearance asked"),
        ),
    )


def _ground_laid_out(axle: Axle) -> Check:
    return replace(
        _ground(axle),
        id="ground_laid_out",
        name="ground clearance, laid out",
        formula="as ground clearance, but a point on the frame is down by the travel of laid_out, and no spring sags",
        sides=ground_laid_out,
        needs={
            **_hub_stands(axle),
            "drop_mm": "state.laid_out_drop_mm",
            "least_mm": "targets.laid_out_clearance_mm",
        },
        bound=f"{axle}_laid_ground_g",
        asked=lambda job: not np.isnan(job.targets.laid_out_clearance_mm),
        unasked="no laid_out_clearance",
        state="laid out",
    )


class FrontDrive(NamedTuple):
    """What the front axle's thrust depends on, where it is driven: thrust over the low side's grip, preload, rolling
    radius and axle ratio; zeros where it is not.
    """

    low_side: Column
    preload_n_m: Column
    radius_mm: Column
    ratio: Column

    def grips(self, job: Job, low: float, high: float) -> list[tuple[Column, Column]]:
        """Share of the load that becomes thrust, and what preload adds [kg]: by the differential, and by both sides'
        friction.
        """
        if not job.axle.is_front_driven:
            return [(0.0, 0.0)]
        lever = lift_lever(job.axle.front, self.radius_mm, self.ratio)
        preload_kg = preload_thrust_kg(self.preload_n_m, self.radius_mm, lift_divisor(self.low_side, low, lever))
        return [(start_share(self.low_side, low, high, lever), preload_kg), ((low + high) / 2.0, 0.0)]


def start_grade(
    rear_g: Column,
    truck_g: Column,
    share: Column,
    preload_kg: Column,
    friction_low: float,
    friction_high: float,
    height_mm: float,
    wheelbase_mm: float,
    resistance: float,
    least_ppm: int,
    job: Job,
    front_low_side: Column = 0.0,
    front_preload_n_m: Column = 0.0,
    front_radius_mm: Column = 0.0,
    front_ratio: Column = 0.0,
) -> Inequalities:
    """With one drive wheel on the worse ground the truck still starts up the wanted grade, in every load case.

    A preload adds to the thrust, but both sides' friction is the most that any differential can use.
    """
    over, least, found = height_mm / wheelbase_mm, least_ppm / 1_000_000.0, []
    front = FrontDrive(front_low_side, front_preload_n_m, front_radius_mm, front_ratio)
    at_rear = (share, preload_kg), ((friction_low + friction_high) / 2.0, 0.0)
    pairs = list(itertools.product(at_rear, front.grips(job, friction_low, friction_high)))
    for rear_kg, truck_kg, towed_kg in _cases_kg(job, rear_g, truck_g):
        for (rear_share, rear_preload), (front_share, front_preload) in pairs:
            steepest = steepest_start(
                rear_kg, truck_kg, rear_share, rear_preload + front_preload, over, resistance, towed_kg, front_share
            )
            found.append(at_least(steepest, least))
    return tuple(found)


def _cases_kg(job: Job, rear_g: Column, truck_g: Column) -> list[tuple[Column, Column, float]]:
    """Rear load, the whole truck's and what is towed in every load case, from those of the case that is lightest at the
    rear.
    """
    return [
        (np.asarray(rear_g) / 1000.0 + rear, np.asarray(truck_g) / 1000.0 + truck, towed)
        for rear, truck, towed in case_deltas_kg(job).values()
    ]


def pull(
    heavy_g: Column,
    pull_g: Column,
    rear_g: Column,
    truck_g: Column,
    share: Column,
    preload_kg: Column,
    friction: float,
    height_mm: float,
    wheelbase_mm: float,
    resistance: float,
    grade_ppm: int,
    job: Job,
    front_low_side: Column = 0.0,
    front_preload_n_m: Column = 0.0,
    front_radius_mm: Column = 0.0,
    front_ratio: Column = 0.0,
) -> Inequalities:
    """The engine moves the heaviest truck off up the grade, and the good road gives it the grip for it in every case.

    Without the height of the center of gravity no load is taken to move to the rear.
    """
    over, grade = np.nan_to_num(height_mm) / wheelbase_mm, grade_ppm / 1_000_000.0
    found = [at_most(np.asarray(heavy_g) / 1000.0, np.asarray(pull_g) / 1000.0)]
    front = FrontDrive(front_low_side, front_preload_n_m, front_radius_mm, front_ratio)
    pairs = list(itertools.product(((share, preload_kg), (friction, 0.0)), front.grips(job, friction, friction)))
    for rear_kg, truck_kg, towed_kg in _cases_kg(job, rear_g, truck_g):
        for (rear_share, rear_preload), (front_share, front_preload) in pairs:
            can = mass_started_kg(
                rear_kg, truck_kg, rear_share, rear_preload + front_preload, over, resistance, grade, front_share
            )
            found.append(at_most(truck_kg + towed_kg, can))
    return tuple(found)


def hold_gear(heavy_g: Column, hold_g: Column, known_g: Column) -> Inequality:
    """The engine holds the heaviest truck at every cruise point on its grade; one point that fails is enough, whatever
    is not known of the others.
    """
    heavy_g, known_g = np.asarray(heavy_g), np.asarray(known_g)
    fails = np.isnan(hold_g) & (heavy_g > known_g)
    return at_most(heavy_g / 1000.0, np.where(fails, known_g, hold_g) / 1000.0)


def axle_torque(
    stall_n_m: Column, heavy_g: Column, radius_mm: Column, height_mm: float, wheelbase_mm: float, rating_n_m: float
) -> Inequality:
    """The ring gear is turned with no more than its rating, by the engine at stall or by the grip on dry road.

    The lesser counts; one that stays within the rating is enough.
    """
    gripped = gripped_torque_n_m(np.asarray(heavy_g) / 1000.0, FRICTION_DRY, height_mm / wheelbase_mm, radius_mm)
    least = np.fmin(stall_n_m, gripped)
    is_open = np.isnan(stall_n_m) | np.isnan(gripped)
    return at_most(np.where(is_open & (least > rating_n_m), np.nan, least), rating_n_m)


def front_axle_torque(
    stall_n_m: Column, heavy_g: Column, unladen_g: Column, radius_mm: Column, rating_n_m: float
) -> Inequality:
    """As `axle_torque`, of the front ring gear, to which no thrust moves any load."""
    return axle_torque(stall_n_m, np.maximum(heavy_g, unladen_g), radius_mm, 0.0, 1.0, rating_n_m)


def radii_alike_mm(
    front_by_revs_mm: Column, rear_by_revs_mm: Column, front_by_size_mm: Column, rear_by_size_mm: Column
) -> tuple[Column, Column]:
    """Rolling radii of front and rear tires: both by their declared revolutions, or, where one declares none (0), both
    by their sizes.
    """
    is_declared = (np.asarray(front_by_revs_mm) > 0) & (np.asarray(rear_by_revs_mm) > 0)
    return (
        np.where(is_declared, front_by_revs_mm, front_by_size_mm),
        np.where(is_declared, rear_by_revs_mm, rear_by_size_mm),
    )


def axle_match(
    front_ratio: Column,
    rear_ratio: Column,
    front_by_revs_mm: Column,
    rear_by_revs_mm: Column,
    front_by_size_mm: Column,
    rear_by_size_mm: Column,
    most_share: float,
) -> Inequality:
    """A turn of the driveshafts moves both axles as far along the road, by so much of it."""
    front, rear = radii_alike_mm(front_by_revs_mm, rear_by_revs_mm, front_by_size_mm, rear_by_size_mm)
    return at_most(np.abs(axle_speed_ratio(front_ratio, front, rear_ratio, rear) - 1.0), most_share)


_FRONT_DRIVE = {
    "front_low_side": "drive.front_low_side",
    "front_preload_n_m": "drive.front_preload_n_m",
    "front_radius_mm": "front.corner.driven_radius_mm",
    "front_ratio": "drive.front_ratio",
}
_PULL_SOURCE = "statics on a grade; efficiency 0.85 and rolling resistance 0.015 are common practice, no source"
_AXLE_TORQUE = Check(
    id="axle_torque",
    name="axle torque",
    group="drive",
    rows="build",
    unit="n_m",
    formula="the lesser of engine torque at stall x lowest gear x low range x axle ratio, and 0.9 W_r r / "
    "(1 - 0.9 h / L) at the rear, 0.9 W_f r in front, heaviest case, <= the axle's torque rating; a shock is not in it",
    source="statics; friction 0.9 of dry road from memory; the rating is the axle maker's",
    sides=axle_torque,
    needs={
        "stall_n_m": "drive.stall_n_m",
        "heavy_g": "sum.rear_heavy_g",
        "radius_mm": "drive.rolling_radius_mm",
        "height_mm": "truck.cg_height_mm",
        "wheelbase_mm": "truck.wheelbase_mm",
        "rating_n_m": "axle.torque_rating_n_m",
    },
    total="rear_heavy_g",
    bound="torque_g",
    where="rear",
    asked=lambda job: not np.isnan(job.axle.rear.torque_rating_n_m),
    unasked="no torque_rating",
    scale=_of(lambda job: job.axle.rear.torque_rating_n_m),
    scale_words="5 % of the rating",
    firm=True,
)


CHECKS = (
    _at_the_front(_capacity("front", "tires")),
    _capacity("rear", "tires"),
    _at_the_front(_capacity("front", "wheels")),
    _capacity("rear", "wheels"),
    _pressure("front"),
    _pressure("rear"),
    _at_the_front(_axle_rating("front")),
    _axle_rating("rear"),
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
        id="gcwr",
        name="rating of truck and trailer",
        group="loads",
        rows="build",
        unit="kg",
        formula="truck and trailer, heaviest case <= GCWR",
        source="arithmetic; the rating is the truck maker's",
        total="combined_g",
        bound="gcwr_g",
        asked=lambda job: job.trailer.is_pulled,
        unasked="no trailer",
        scale=_of(lambda job: job.truck.gcwr_kg),
        scale_words="5 % of the rating",
        firm=True,
        cures=(Cure("total", -1.0, "{amount} less on truck and trailer"),),
    ),
    Check(
        id="hitch",
        name="hitch rating",
        group="loads",
        rows="build",
        unit="kg",
        formula="the trailer's mass <= the hitch's rating",
        source="arithmetic; the rating is on the hitch's label",
        total="trailer_g",
        bound="hitch_rating_g",
        asked=lambda job: job.trailer.is_pulled,
        unasked="no trailer",
        scale=_of(lambda job: job.trailer.hitch_rating_kg),
        scale_words="5 % of the rating",
        firm=True,
    ),
    Check(
        id="front_share",
        name="front axle's share",
        group="loads",
        rows="build",
        unit="kg",
        formula="front axle load >= share x both axle loads, in the case with the least room",
        source="statics; 40 % is usual, common practice, no source",
        total="steering_mg",
        bound="steering_least_mg",
        sense="at_least",
        share=0.001,
        where="front",
        asked=lambda job: job.targets.front_share_ppm > 0,
        unasked="no front_share",
        scale=_of(lambda job: job.loads.front_axle_kg),
        scale_words="5 % of the front axle's scale load",
        cures=(Cure("total", 1.0, "{amount} more over the front axle"),),
    ),
    Check(
        id="pull",
        name="pull up the grade",
        group="drive",
        rows="build",
        unit="kg",
        formula="moving off from rest: torque x first gear x axle ratio x efficiency / r >= weight x (sin + f cos), "
        "heaviest case, torque = engine's at stall speed x stall ratio, or the lesser of clutch rating and engine's at "
        "clutch_rpm; never above the grip of the good road, every case; told as the mass that it can pull, a trailer's "
        "with it",
        source=_PULL_SOURCE,
        default="efficiency 0.85, resistance 0.015, friction of the good road 0.7",
        sides=pull,
        needs={
            "heavy_g": "sum.combined_g",
            "pull_g": "drive.pull_g",
            "rear_g": "sum.rear_light_g",
            "truck_g": "sum.truck_light_g",
            "share": "drive.road_share",
            "preload_kg": "drive.road_preload_kg",
            "friction": "surface.friction_road",
            "height_mm": "truck.cg_height_mm",
            "wheelbase_mm": "truck.wheelbase_mm",
            "resistance": "rolling.resistance",
            "grade_ppm": "targets.pull_grade_ppm",
            "job": "job",
            **_FRONT_DRIVE,
        },
        total="combined_g",
        bound="pull_g",
        asked=lambda job: job.targets.pull_grade_ppm > 0,
        unasked="no pull_grade",
        scale=_of(lambda job: job.truck.gvwr_kg),
        scale_words="5 % of the GVWR",
        cures=(Cure("total", -1.0, "{amount} less on the truck"),),
    ),
    Check(
        id="hold_gear",
        name="hold the gear on the grade",
        group="drive",
        rows="build",
        unit="kg",
        formula="torque at cruise x gear x axle ratio x efficiency / r - drag >= weight x (sin + f cos), heaviest "
        "case, without multiplication; told as the mass that it can hold, a trailer with it, but not its air drag",
        source=_PULL_SOURCE,
        default="efficiency 0.85, resistance 0.015",
        sides=hold_gear,
        needs={"heavy_g": "sum.combined_g", "hold_g": "drive.hold_g", "known_g": "drive.hold_known_g"},
        total="combined_g",
        bound="hold_g",
        asked=_holds_any,
        unasked="no hold_grade",
        scale=_of(lambda job: job.truck.gvwr_kg),
        scale_words="5 % of the GVWR",
        cures=(Cure("total", -1.0, "{amount} less on the truck"),),
    ),
    Check(
        id="start_grade",
        name="steepest start",
        group="drive",
        rows="build",
        unit="share",
        formula="steepest grade on which a (W_r cos + W (h / L) sin) + P = W (sin + f cos), least over all cases, >= "
        "wanted; f of the ground; a and P by the low side's grip, less what the driveshaft's torque lifts on a live "
        "axle (W_y = F r / (i_axle x track)), never more than both sides' friction",
        source="statics on a grade (Gillespie, Fundamentals of Vehicle Dynamics, SAE, 1992, chapters 1 and 2, from "
        "memory)",
        default="resistance 0.015",
        where="rear",
        sides=start_grade,
        needs={
            "rear_g": "sum.rear_light_g",
            "truck_g": "sum.truck_light_g",
            "share": "drive.grip_share",
            "preload_kg": "drive.preload_kg",
            "friction_low": "surface.friction_low",
            "friction_high": "surface.friction_high",
            "height_mm": "truck.cg_height_mm",
            "wheelbase_mm": "truck.wheelbase_mm",
            "resistance": "surface.resistance",
            "least_ppm": "targets.start_grade_ppm",
            "job": "job",
            **_FRONT_DRIVE,
        },
        asked=lambda job: job.targets.start_grade_ppm > 0,
        unasked="no start_grade",
        scale=lambda job, axle: 0.02,
        scale_words="2 % of grade",
    ),
    _AXLE_TORQUE,
    replace(
        _AXLE_TORQUE,
        sides=front_axle_torque,
        needs={
            "stall_n_m": "drive.front_stall_n_m",
            "heavy_g": "sum.front_heavy_g",
            "unladen_g": "sum.front_unladen_g",
            "radius_mm": "front.corner.driven_radius_mm",
            "rating_n_m": "axle.front_torque_rating_n_m",
        },
        total="",
        bound="",
        where="front",
        asked=lambda job: job.axle.is_front_driven and not np.isnan(job.axle.front.torque_rating_n_m),
        unasked="no torque_rating, or a front axle that is not driven",
        scale=_of(lambda job: job.axle.front.torque_rating_n_m),
    ),
    Check(
        id="axle_match",
        name="front and rear axle speed",
        group="drive",
        rows="build",
        unit="share",
        formula="abs((front ratio / front rolling radius) / (rear ratio / rear rolling radius) - 1) <= the maker's "
        "figure, or 1 % with a part-time transfer case; revolutions of both tires declared, or both by size",
        source="kinematics; 1 % from memory",
        sides=axle_match,
        needs={
            "front_ratio": "drive.front_ratio",
            "rear_ratio": "ratio.ratio",
            "front_by_revs_mm": "front.corner.radius_by_revs_mm",
            "rear_by_revs_mm": "rear.corner.radius_by_revs_mm",
            "front_by_size_mm": "front.corner.radius_by_size_mm",
            "rear_by_size_mm": "rear.corner.radius_by_size_mm",
            "most_share": "transmission.match_share",
        },
        total="front_radius_least_um",
        bound="match_most_um",
        other_total="front_radius_most_um",
        other_bound="match_least_um",
        asked=lambda job: job.axle.is_front_driven,
        unasked="one driven axle",
        scale=lambda job, axle: 0.01,
        scale_words="1 %",
        firm=True,
    ),
    _ground("front"),
    _ground("rear"),
    _ground_laid_out("front"),
    _ground_laid_out("rear"),
)

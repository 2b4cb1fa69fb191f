"""What a builder is told of a build beside its checks: stance, cold pressures, speedometer, starts, an acceleration
estimate. Nothing here is judged; what cannot be worked out for want of data is left out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from combo.checks.loads import FrontDrive, hub_stands_mm, radii_alike_mm
from combo.checks.look import new_scrub_mm
from combo.checks.rows import Chosen, present_parts_g
from combo.checks.run import totals
from combo.checks.table import NO_ROWS, Row
from combo.checks.totals import case_deltas_kg
from combo.checks.values import Case, job_value, value_of
from combo.formulas.acceleration import Launch, time_to_speed_s, top_speed
from combo.formulas.axle import frame_rake_deg, front_load_on_grade_kg, hub_rise_mm, sag_mm
from combo.formulas.drive import (
    FRICTION_DRY,
    axle_speed_ratio,
    grip_factor,
    gripped_torque_n_m,
    lift_divisor,
    low_side_share,
    start_share,
    steepest_start,
)
from combo.formulas.tire import LOAD_EXPONENT, LOWEST_TABLED_KPA, PASSENGER_ON_TRUCK_DIVISOR, cold_pressure_kpa
from combo.job import AXLES, WHEELS_AN_AXLE, Axle, Job, StateName
from combo.units import MILE_KM, PSI_KPA

SIXTY_MPH_KM_H = 60.0 * MILE_KM
WORN_TREAD_MM = 3.175
RUBBER_STEM_KPA = 65.0 * PSI_KPA
RUBBER_STEM = "snap-in rubber stems stand 65 psi (from memory): fit metal stems, or such for high pressure"
GUIDANCE = "guidance, cold; the tire maker's table and the placard come first"


@dataclass(frozen=True)
class Fact:
    """One thing to tell: `value` in `unit`, NaN where it is known to be out of reach; `note` says how to take it."""

    id: str
    name: str
    where: str
    value: float
    unit: str
    note: str = ""


@dataclass(frozen=True)
class _Build:
    """One build: its rows, its totals by name, its job."""

    job: Job
    front: Row
    rear: Row
    drive: Row
    sums: dict[str, float]


def facts(job: Job, chosen: Chosen) -> list[list[Fact]]:
    """Facts of each build, in a fixed order."""
    sums = totals(job, chosen)
    builds = [
        _Build(
            job,
            Row(chosen.front, at),
            Row(chosen.rear, at),
            Row(chosen.drive, at),
            {name: float(own[at]) for name, own in sums.items()},
        )
        for at in range(len(chosen.counts))
    ]
    return [[fact for tell in _TELLERS for fact in tell(build)] for build in builds]


def _fender_gaps(build: _Build) -> Iterator[Fact]:
    """Tire to fender lip, straight up, at ride height and laid out on air."""
    told: tuple[tuple[StateName, str], ...] = (("ride_height", "at ride height"), ("laid_out", "laid out on air"))
    for axle in AXLES:
        states = getattr(build.job.wheelhouse, axle).states()
        for state, words in told:
            if state == "laid_out" and (state not in states or np.isnan(states[state].hub_to_lip_mm)):
                continue
            lip = value_of(Case(build.job, axle, state), "state.hub_to_lip_mm", NO_ROWS)
            gap = lip - _of(build, axle)["tire.overall_diameter_mm"] / 2.0
            if not np.isnan(gap):
                yield Fact("fender_gap", f"tire to fender gap {words}", axle, gap, "mm")


def _frame_rake(build: _Build) -> Iterator[Fact]:
    present = build.job.present
    front, rear = (
        hub_rise_mm(
            getattr(present, f"{axle}_hub_height_mm"),
            own["tire.running_diameter_mm"],
            own["corner.present_diameter_mm"],
        )
        for axle, own in (("front", build.front), ("rear", build.rear))
    )
    tilt = frame_rake_deg(present.frame_rake_deg, front, rear, build.job.truck.wheelbase_mm)
    if not np.isnan(tilt):
        yield Fact("frame_rake", "rake of the frame", "truck", float(tilt), "deg", "nose down positive")


def _pressures(build: _Build) -> Iterator[Fact]:
    """Lowest cold pressure at which each tire carries its share in the heaviest case: never below where the tables of
    the standard begin, never above the sidewall's maximum.
    """
    for axle in AXLES:
        tire = _of(build, axle)
        exponent = LOAD_EXPONENT.get(tire["tire.service"])
        load_kg = build.sums[f"{axle}_wheel_heavy_g"] / 1000.0 / WHEELS_AN_AXLE
        if exponent is None or np.isnan(load_kg + tire["tire.capacity_kg"] + tire["tire.rated_pressure_kpa"]):
            continue
        is_passenger = tire["tire.service"] == "passenger"
        allowed_for = f"; the rating / {PASSENGER_ON_TRUCK_DIVISOR:.2f} is allowed for" if is_passenger else ""
        needed = cold_pressure_kpa(load_kg, tire["tire.capacity_kg"], tire["tire.rated_pressure_kpa"], exponent)
        pressure = np.maximum(needed, LOWEST_TABLED_KPA[tire["tire.service"]])
        if pressure > tire["tire.max_pressure_kpa"]:
            pressure = np.nan
        yield Fact("cold_pressure", "lowest cold pressure for the load", axle, pressure, "kpa", GUIDANCE + allowed_for)
        if pressure > RUBBER_STEM_KPA:
            yield Fact("valve_stem", "pressure on the valve stems", axle, pressure, "kpa", RUBBER_STEM)


def _inflation_limits(build: _Build) -> Iterator[Fact]:
    """Wheels that stand less pressure than their tires."""
    for axle in AXLES:
        row = _of(build, axle)
        wheel, tire = row["wheel.max_pressure_kpa"], row["tire.max_pressure_kpa"]
        if wheel < tire:
            yield Fact(
                "inflation_limit",
                "never inflate beyond the wheel's pressure",
                axle,
                wheel,
                "kpa",
                f"the tire's own is {tire:.0f} kPa, {tire / PSI_KPA:.0f} psi",
            )


def _offsets(build: _Build) -> Iterator[Fact]:
    """What the new offset does: track, scrub radius, how far the load line moves off the bearing."""
    job = build.job
    for axle in AXLES:
        row = _of(build, axle)
        out = getattr(job.present, f"{axle}_offset_mm") - row["corner.offset_mm"]
        if np.isnan(out):
            continue
        track = getattr(job.axle, axle).track_mm + 2.0 * out
        if not np.isnan(track):
            yield Fact("track", "track", axle, float(track), "mm", "from the middle of one tread to the other's")
        yield Fact("load_line", "load line moves off the bearing", axle, float(out), "mm", "outboard positive")
    yield from _scrub(build)


def _scrub(build: _Build) -> Iterator[Fact]:
    job, row = build.job, build.front
    axis = value_of(Case(job, "front"), "state.axis_inboard_mm", NO_ROWS)
    radius = new_scrub_mm(
        axis,
        row["corner.offset_mm"],
        job.present.front_hub_height_mm,
        row["tire.running_diameter_mm"],
        row["corner.present_diameter_mm"],
        job.steering.kingpin_inclination_deg,
    )
    if not np.isnan(radius):
        yield Fact("scrub_radius", "scrub radius", "front", float(radius), "mm", "tire center outboard positive")


def _axle_torque(build: _Build) -> Iterator[Fact]:
    """Torque that turns the ring gear: the lesser of the engine's at stall and what the grip on dry road takes up."""
    job, drive = build.job, build.drive
    over = job.truck.cg_height_mm / job.truck.wheelbase_mm
    stall = float(drive["drive.stall_n_m"])
    gripped = float(
        gripped_torque_n_m(build.sums["rear_heavy_g"] / 1000.0, FRICTION_DRY, over, drive["drive.rolling_radius_mm"])
    )
    if not np.isnan(stall + gripped):
        by = "the engine at stall in its lowest gear" if stall <= gripped else f"grip of dry road, {FRICTION_DRY:g}"
        yield Fact(
            "axle_torque", "torque at the ring gear", "rear", min(stall, gripped), "n_m", f"by {by}; shock is not in it"
        )


def _speedometer(build: _Build) -> Iterator[Fact]:
    """What it reads with the driven gear that reads least above true, and with the next one that reads below it."""
    error, teeth = build.drive["drive.speedometer_error"], build.drive["drive.driven_teeth"]
    if np.isnan(error):
        return
    below, its_teeth = build.drive["drive.speedometer_below"], build.drive["drive.driven_teeth_below"]
    next_one = "" if np.isnan(below) or its_teeth == teeth else f"; {its_teeth:.0f} teeth read {below:+.1%}"
    which = "reads least above true" if error >= 0 else "reads low, and none reads above true"
    yield Fact(
        "speedometer",
        "speedometer reads over true",
        "truck",
        error,
        "share",
        f"with a driven gear of {teeth:.0f} teeth, which {which}{next_one}",
    )


def _thrusts(build: _Build) -> Iterator[Fact]:
    """Thrust of the driven wheels on the level, as a force over standard gravity, on split and on even ground."""
    job, surface = build.job, build.job.surface
    rear, truck = build.sums["rear_light_g"] / 1000.0, build.sums["truck_light_g"] / 1000.0
    over = job.truck.cg_height_mm / job.truck.wheelbase_mm
    if np.isnan(rear + over + surface.friction_low + surface.friction_high):
        return
    low, high = surface.friction_low, surface.friction_high
    for words, sides in (
        ("split ground", (low, high)),
        ("low ground on both sides", (low, low)),
        ("high ground on both sides", (high, high)),
    ):
        thrust = min(
            float((a * rear + b * (truck - rear) + preload_kg) / (1.0 - (a - b) * over))
            for a, b, preload_kg in _driven_grips(build, *sides)
        )
        if not np.isnan(thrust):
            yield Fact(
                "thrust",
                f"thrust on the level, {words}",
                "rear",
                thrust,
                "kg",
                f"as a weight; lightest case{_of_both(build)}",
            )


def _driven_grips(build: _Build, low: float, high: float) -> list[tuple[float, float, float]]:
    """Each way in which the driven axles may grip: share of the rear and of the front load that becomes thrust, and
    what preload adds to it [kg]; the least counts.
    """
    drive, radius = build.drive, build.front["corner.driven_radius_mm"]
    front = FrontDrive(
        drive["drive.front_low_side"], drive["drive.front_preload_n_m"], radius, drive["drive.front_ratio"]
    )
    return [
        (a, float(b), preload + float(more))
        for a, preload in _grips(build, low, high)
        for b, more in front.grips(build.job, low, high)
    ]


def _of_both(build: _Build) -> str:
    return "; both axles driven" if build.job.axle.is_front_driven else ""


def _grips(build: _Build, low: float, high: float) -> tuple[tuple[float, float], ...]:
    """Share of the rear load that becomes thrust and what preload adds to it [kg]: by the differential, and by both
    sides' friction, which is the most that any can use.
    """
    drive = build.drive
    low_side = low_side_share(drive["differential.type"], drive["differential.bias_ratio"])
    lever, preload_kg = drive["drive.lift_lever"], drive["drive.preload_kg"]
    if preload_kg:  # worked out for the low ground, on which the driveshaft's torque takes least
        preload_kg *= lift_divisor(low_side, build.job.surface.friction_low, lever) / lift_divisor(low_side, low, lever)
    return (float(start_share(low_side, low, high, lever)), float(preload_kg)), ((low + high) / 2.0, 0.0)


def _starts(build: _Build) -> Iterator[Fact]:
    """Steepest start on the split and on both sides low, the least over all load cases."""
    job, surface = build.job, build.job.surface
    rear, truck = build.sums["rear_light_g"] / 1000.0, build.sums["truck_light_g"] / 1000.0
    over = job.truck.cg_height_mm / job.truck.wheelbase_mm
    if np.isnan(rear + truck + over + surface.friction_low + surface.friction_high):
        return
    resistance = job_value(job, "surface.resistance", "rear")
    for words, high in (("split ground", surface.friction_high), ("low ground on both sides", surface.friction_low)):
        steepest = min(
            float(steepest_start(rear + more_rear, truck + more, a, preload_kg, over, resistance, towed, b))
            for a, b, preload_kg in _driven_grips(build, surface.friction_low, high)
            for more_rear, more, towed in case_deltas_kg(job).values()
        )
        if not np.isnan(steepest):
            level = "won't start on the level; " if steepest < 0 else ""
            yield Fact(
                "steepest_start",
                f"steepest start, {words}",
                "rear",
                steepest,
                "share",
                f"{level}every load case; rolling resistance {resistance:g} of the ground{_of_both(build)}",
            )


def _climb(build: _Build) -> Iterator[Fact]:
    """What is left on the front axle on the steepest grade that is asked, in the case that leaves least."""
    targets, truck = build.job.targets, build.job.truck
    grade = max(targets.start_grade_ppm, targets.pull_grade_ppm) / 1_000_000.0
    over = truck.cg_height_mm / truck.wheelbase_mm
    loads = {
        name: float(front_load_on_grade_kg(front, front + rear, np.arctan(grade), over))
        for name, (front, rear) in _cases_kg(build).items()
    }
    case = min(loads, key=lambda name: loads[name])
    if grade and not np.isnan(loads[case]):
        lifts = "the front wheels lift; " if loads[case] <= 0 else ""
        hitch = "; what a trailer pulls at the hitch takes more" if build.job.trailer.is_pulled else ""
        yield Fact(
            "climb_front_load",
            "front axle load on the climb",
            "front",
            loads[case],
            "kg",
            f"{lifts}{grade * 100:g} %, {case}{hitch}",
        )


def _cases_kg(build: _Build) -> dict[str, tuple[float, float]]:
    """Front and rear axle load of the build in each load case."""
    rear, truck = (build.sums[f"{name}_light_g"] / 1000.0 for name in ("rear", "truck"))
    return {
        name: (truck + case.truck_kg - rear - case.rear_kg, rear + case.rear_kg)
        for name, case in case_deltas_kg(build.job).items()
    }


def _sags(build: _Build) -> Iterator[Fact]:
    """How far the frame comes down over each axle in its heaviest case, and the gap to the lip that is left."""
    job, sums = build.job, build.sums
    for axle in AXLES:
        rate = getattr(job.axle, axle).spring_rate_n_per_m
        more_kg = (sums[f"{axle}_sprung_heavy_g"] - sums[f"{axle}_sprung_now_g"]) / 1000.0
        sag = float(sag_mm(more_kg, rate))
        if np.isnan(sag):
            continue
        how = "air keeps it level" if np.isinf(rate) else "change of sprung load over the spring rate"
        yield Fact("sag", "frame comes down, loaded", axle, sag, "mm", how)
        lip = value_of(Case(job, axle, "ride_height"), "state.hub_to_lip_mm", NO_ROWS)
        gap = lip - _of(build, axle)["tire.overall_diameter_mm"] / 2.0 - sag
        if not np.isnan(gap):
            yield Fact("fender_gap_loaded", "tire to fender gap, loaded", axle, gap, "mm")
    yield from _loaded_rake(build)


def _loaded_rake(build: _Build) -> Iterator[Fact]:
    """Rake of the frame in the case that loads the rear axle most, springs sagged and tires sunk in."""
    job, present, rises = build.job, build.job.present, {}
    cases = _cases_kg(build)
    case = max(cases, key=lambda name: cases[name][1])
    for axle, load_kg in zip(AXLES, cases[case], strict=True):
        row, height = _of(build, axle), getattr(present, f"{axle}_hub_height_mm")
        now_kg = job.loads.axle_kg(axle)
        stands = hub_stands_mm(
            row["tire.running_diameter_mm"], row["corner.present_diameter_mm"], load_kg, load_kg, now_kg, height
        )
        unsprung_kg = (row["corner.mass_g"] - present_parts_g(present, axle)) / 1000.0
        sag = sag_mm(load_kg - now_kg - unsprung_kg, getattr(job.axle, axle).spring_rate_n_per_m)
        rises[axle] = stands - height - sag
    tilt = float(frame_rake_deg(present.frame_rake_deg, rises["front"], rises["rear"], job.truck.wheelbase_mm))
    if not np.isnan(tilt):
        yield Fact(
            "frame_rake_loaded", "rake of the frame, loaded", "truck", tilt, "deg", f"nose down positive; {case}"
        )


def _trailer(build: _Build) -> Iterator[Fact]:
    trailer = build.job.trailer
    if trailer.is_pulled:
        share = trailer.tongue_kg / trailer.mass_kg
        yield Fact(
            "tongue_share",
            "tongue weight of the trailer's mass",
            "truck",
            share,
            "share",
            "10 to 15 % is usual, common practice, no source",
        )


def _top_speed(build: _Build) -> Iterator[Fact]:
    """The speed that power and redline allow on the level, and whether the wanted one is reached."""
    wanted, launch = build.job.targets.top_speed_km_h, _launch(build)
    reached = top_speed(launch)
    if reached is None:
        return
    speed, gear, by = reached
    answer = "" if np.isnan(wanted) else f"the {_mph(wanted)} wanted are {'' if speed >= wanted else 'not '}reached; "
    yield Fact(
        "top_speed",
        "top speed on the level",
        "truck",
        speed,
        "km_h",
        f"{answer}in the {gear:g} gear, held by {by}; lightest case, an estimate",
    )


def _mph(speed_km_h: float) -> str:
    return f"{speed_km_h / MILE_KM:.0f} mph"


def _axle_match(build: _Build) -> Iterator[Fact]:
    """How far the rear axle turns ahead of the front one on the road, and what worn tread makes of it."""
    if not build.job.axle.is_front_driven:
        return
    names = ("corner.radius_by_revs_mm", "corner.radius_by_size_mm")
    front, rear = radii_alike_mm(*(own[name] for name in names for own in (build.front, build.rear)))
    ratio = float(axle_speed_ratio(build.drive["drive.front_ratio"], front, build.drive["ratio.ratio"], rear))
    if not np.isnan(ratio):
        worn = WORN_TREAD_MM / front
        yield Fact(
            "axle_match",
            "rear axle turns ahead of the front",
            "truck",
            ratio - 1.0,
            "share",
            f"1/8 in of tread worn at the front alone adds {worn * 100:.1f} %",
        )


def _acceleration(build: _Build) -> Iterator[Fact]:
    road, seconds = build.job.surface.friction_road, time_to_speed_s(_launch(build), SIXTY_MPH_KM_H)
    if not np.isnan(seconds):
        yield Fact(
            "time_to_60_mph",
            "rest to 60 mph",
            "truck",
            seconds,
            "s",
            f"an estimate: level good road, friction {road:g}, lightest case",
        )


def _launch(build: _Build) -> Launch:
    job, drive = build.job, build.drive
    height = 0.0 if np.isnan(job.truck.cg_height_mm) else job.truck.cg_height_mm / job.truck.wheelbase_mm
    road, both = job.surface.friction_road, job.axle.is_front_driven
    return Launch(
        truck_kg=build.sums["truck_light_g"] / 1000.0,
        rear_kg=build.sums["truck_light_g" if both else "rear_light_g"] / 1000.0,
        grip=road if both else grip_factor("locked", road, road, height),
        radius_mm=drive["drive.rolling_radius_mm"],
        axle_ratio=drive["ratio.ratio"],
        gears=job.transmission.gears,
        efficiency=job.transmission.efficiency,
        redline_rpm=job.engine.redline_rpm,
        curve_rpm=np.array([point.at_rpm for point in job.engine.torque]),
        curve_n_m=np.array([point.torque_n_m for point in job.engine.torque]),
        resistance=job.rolling.resistance,
        drag_coefficient=job.truck.drag_coefficient,
        frontal_area_m2=job.truck.frontal_area_m2,
        shift_time_s=job.transmission.shift_time_s,
    )


def _short_stock(build: _Build) -> Iterator[Fact]:
    """Parts of which the build takes more than their supplier has."""
    for kind in ("wheel", "tire", "spacer"):
        wanted: dict[str, int] = {}
        for axle in AXLES:
            row = _of(build, axle)
            sku = row[f"{kind}.sku"]
            is_there = row[f"{kind}.on_truck"] in {"both", axle}
            spare = build.job.job.spare and axle == "rear" and kind != "spacer"
            wanted[sku] = wanted.get(sku, 0) + (0 if is_there or not sku else WHEELS_AN_AXLE + spare)
        for axle in AXLES:
            row = _of(build, axle)
            count, stock = wanted.pop(row[f"{kind}.sku"], 0), row[f"{kind}.stock"]
            if stock < count:
                note = f"the build takes {count} of {row[f'{kind}.sku']}: ask when there are more"
                yield Fact("short_stock", f"{kind} in stock", axle, float(stock), "count", note)


def _of(build: _Build, axle: Axle) -> Row:
    return build.front if axle == "front" else build.rear


_TELLERS: tuple[Callable[[_Build], Iterator[Fact]], ...] = (
    _fender_gaps,
    _frame_rake,
    _offsets,
    _pressures,
    _inflation_limits,
    _speedometer,
    _thrusts,
    _starts,
    _axle_torque,
    _climb,
    _sags,
    _trailer,
    _axle_match,
    _top_speed,
    _acceleration,
    _short_stock,
)

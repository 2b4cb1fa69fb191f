"""What gear sets, differentials and the tires that they turn make of engine speed, thrust and grades."""

import itertools
import math
from fractions import Fraction

from fitting import (
    MILE_MM,
    PI,
    diameter_now_mm,
    rolling_circumference_mm,
    rolling_factor,
    rolling_share,
    size_give_mm,
    tire_now,
)
from verdicts import Near, alike, exact, holds, is_absent, is_accepted, near, plausible, ramp, rhu, total, within, worst

STEEL_AND_ALUMINUM = {"steel": (200e9, 7850), "aluminum": (69e9, 2700)}
STANDARD_GRAVITY = 9.80665
AIR_KG_M3 = 1.225
GRIP = 0.9


BETWEEN = " + "
MATCH_SHARE = Fraction("0.01")
"""How far the axles may turn apart with a part-time transfer case."""


# Gear sets and differentials of the driven axles


def driven_axles(job):
    """The driven axles, the rear one first."""
    return ("rear", "front") if job.axle.driven == "both" else ("rear",)


def may_be_at(parts, axle):
    """Parts of a list that may be in an axle."""
    return [part for part in parts if part["axle"] in ("", "both", axle)]


def at_every_axle(job, parts):
    """A part of a list for each driven axle, in every way, the rear axle's first."""
    return list(itertools.product(*(may_be_at(parts, axle) for axle in driven_axles(job))))


def sku_of_all(parts):
    """What the parts of all driven axles are called together."""
    return BETWEEN.join(part["sku"] for part in parts)


def taken_by(job, axle):
    """Ring gear family and splines of an axle."""
    own = job.axle if axle == "rear" else job.axle.front
    return own.ring_gear, own.splines


def carrier(job, axle, ratio, differential):
    """Verdict on the gear set in the differential and on both in the axle."""
    ring_gear, splines = taken_by(job, axle)
    ends = (near(exact(differential[name])).or_plausible(f"differential.{name}") for name in ("ratio_min", "ratio_max"))
    return worst(
        [
            alike(ratio["ring_gear"], differential["ring_gear"], ring_gear),
            alike(differential["splines"], splines),
            within(exact(ratio["ratio"]), *ends, 10000),
        ]
    )


def geared_axle(job, axle, ratio, differential):
    """All that a gear set and a differential bring to an axle."""
    bias = exact(differential["bias_ratio"])
    return {
        "verdict": carrier(job, axle, ratio, differential),
        "parts": (ratio, differential),
        "ratio": exact(ratio["ratio"]),
        "kind": differential["type"],
        "bias_ratio": bias,
        "friction": level_friction(job, differential["type"], bias),
        "preload_n_m": float(exact(differential["preload_n_m"]) or 0),
    }


def drives(job, ratios, differentials):
    """Gear sets and differentials of all driven axles that fit each other and the axles; the ratio is the rear's."""
    every = []
    for sets, carriers in itertools.product(at_every_axle(job, ratios), at_every_axle(job, differentials)):
        pairs = zip(driven_axles(job), sets, carriers, strict=True)
        axles = {axle: geared_axle(job, axle, *parts) for axle, *parts in pairs}
        every.append(
            {
                "skus": (sku_of_all(sets), sku_of_all(carriers)),
                "verdict": worst(own["verdict"] for own in axles.values()),
                "ratio": axles["rear"]["ratio"],
                "axles": axles,
            }
        )
    return [one for one in every if is_accepted(one["verdict"], job)]


# How front and rear turn


def match_share(job):
    """How far the axles may turn apart: by the maker's figure, else by the kind of transfer case; None if not known."""
    box = job.transmission
    if box.speed_match_ppm:
        return Fraction(box.speed_match_ppm, 1000000)
    return MATCH_SHARE if box.transfer_case == "part-time" else None


def both_circumferences_mm(job, tires):
    """What both tires roll in a turn: by declared revolutions of both, else by the sizes of both; None if not known."""
    both = [tires[axle] for axle in ("front", "rear")]
    declared = [exact(tire["revs_per_mile"]) for tire in both]
    if not is_absent(*declared):
        return [MILE_MM / revs for revs in declared]
    sizes = [exact(tire["running_diameter_mm"]) for tire in both]
    factors = [rolling_factor(job, tire["construction"]) for tire in both]
    return [None if size is None else PI * size * factor for size, factor in zip(sizes, factors, strict=True)]


def turned_apart(job, tires, drive):
    """How far the axles turn apart on the road, least and most that it may be, and whether that is known."""
    front, rear = (
        [each] if each is not None else [2 * PI * end for end in plausible("drive.rolling_radius_mm").span]
        for each in both_circumferences_mm(job, tires)
    )
    quotient = drive["axles"]["front"]["ratio"] / drive["ratio"]
    apart = sorted(quotient * behind / ahead - 1 for ahead, behind in itertools.product(front, rear))
    least = 0 if apart[0] <= 0 <= apart[-1] else min(abs(each) for each in apart)
    return least, max(abs(each) for each in apart), len(apart) == 1


def axle_match(job, tires, drive):
    """Verdict on both axles that turn alike on the road; holds where one is driven."""
    if "front" not in drive["axles"]:
        return True
    limit, (apart, _, is_known) = match_share(job), turned_apart(job, tires, drive)
    if limit is None:
        return None
    return holds(Near(limit - apart, span=None if is_known else (0, 0)), 10000)


# Speeds of the engine and the shaft


def engine_rpm(job, tire, ratio, speed, gear, slip):
    """Engine speed at a road speed [km/h]; None where something is not known."""
    return rpm_on(rolling_circumference_mm(job, tire), ratio, speed, gear, slip)


def rpm_on(circumference, ratio, speed, gear, slip):
    """Engine speed at a road speed [km/h] on a tire that rolls so far in a turn; None where something is not known."""
    speed, gear = exact(speed), exact(gear)
    if is_absent(speed, gear, circumference):
        return None
    return speed * 1000000 / 60 / circumference * gear * ratio / (1 - exact(slip))


def rpm_of_some_tire(ratio, speed, gear, slip):
    """Engine speed at a road speed, where of the tire only what is plausible is known."""
    ends = [rpm_on(2 * PI * end, ratio, speed, gear, slip) for end in plausible("drive.rolling_radius_mm").span]
    return Near(None) if is_absent(*ends) else Near(Fraction(0), span=tuple(sorted(ends)))


def slip_of(job, is_locked):
    """Slip of the converter; none once it is locked up."""
    return 0 if is_locked else job.transmission.converter_slip


def cruise_rpm(job, tire, ratio):
    """Engine speed at cruise; None where no cruise speed is asked or something is not known."""
    box = job.transmission
    return engine_rpm(job, tire, ratio, job.targets.cruise_speed_km_h, box.cruise_gear, slip_of(job, box.lock_up))


def top_slip(job):
    """Slip of the converter at the top speed."""
    return slip_of(job, job.transmission.lock_up)


def turning(job, tire, ratio, speed, gear, slip):
    """Engine speed with the plus-or-minus of the tire under it, to the first order."""
    rpm = engine_rpm(job, tire, ratio, speed, gear, slip)
    if rpm is None:
        return rpm_of_some_tire(ratio, speed, gear, slip)
    diameter, share = exact(tire["running_diameter_mm"]), rolling_share(job, tire)
    if diameter is not None:
        share += size_give_mm(job, tire, diameter) / diameter
    return Near(rpm, rpm * share)


def at_most_turning(job, tire, ratio, speed, gear, slip):
    """Engine speed at a road speed on the smallest that the tire may be."""
    rpm, diameter = engine_rpm(job, tire, ratio, speed, gear, slip), exact(tire["running_diameter_mm"])
    if rpm is None:
        return rpm_of_some_tire(ratio, speed, gear, slip)
    radius = rolling_circumference_mm(job, tire) / (2 * PI)
    off = radius * rolling_share(job, tire) + (0 if diameter is None else size_give_mm(job, tire, diameter) / 2)
    return Near(rpm * radius / (radius - off))


def cruise_verdict(job, tire, ratio):
    """Verdict on the engine speed in the band of every point; holds where no cruise speed is asked."""
    asked, box = job.targets, job.transmission
    bands = [
        (point.speed_km_h, point.gear, slip_of(job, point.locked), point.min_rpm, point.max_rpm)
        for point in asked.cruise
    ]
    if exact(asked.cruise_speed_km_h) is not None:
        slip = slip_of(job, box.lock_up)
        bands.append((asked.cruise_speed_km_h, box.cruise_gear, slip, asked.cruise_min_rpm, asked.cruise_max_rpm))
    return worst(within(turning(job, tire, ratio, *how), exact(low), exact(high)) for *how, low, high in bands)


def redline(job, tire, ratio):
    """Verdict on the engine speed at the top speed; holds where none is asked."""
    if exact(job.targets.top_speed_km_h) is None:
        return True
    gear = min(job.transmission.gears, default=job.transmission.cruise_gear)
    rpm = at_most_turning(job, tire, ratio, job.targets.top_speed_km_h, gear, top_slip(job))
    return holds(near(exact(job.engine.redline_rpm)) - rpm)


def driveshaft_speed(job, tire, ratio):
    """Verdict on the shaft at the top speed; holds where no top speed or no shaft is given."""
    shaft = job.driveshaft
    if is_absent(exact(job.targets.top_speed_km_h), exact(shaft.length_mm)):
        return True
    if is_absent(exact(shaft.diameter_mm), exact(shaft.wall_mm)):
        return None
    rpm = at_most_turning(job, tire, ratio, job.targets.top_speed_km_h, 1, 0)
    return holds(near(Fraction(shaft.share * critical_rpm(shaft))) - rpm)


def critical_rpm(shaft):
    """First critical speed of a tube between two joints."""
    stiffness, density = STEEL_AND_ALUMINUM[shaft.material]
    outside, inside = shaft.diameter_mm / 1000, (shaft.diameter_mm - 2 * shaft.wall_mm) / 1000
    bending = (math.pi / (shaft.length_mm / 1000)) ** 2 * math.sqrt(stiffness / density)
    return 60 / (2 * math.pi) * bending * math.hypot(outside, inside) / 4


def revs_to_revs_now(job, tire, tires):
    """Turns of the new tire for one of the present one, both declared or both estimated; None where neither is."""
    declared, now = exact(tire["revs_per_mile"]), exact(job.speedometer.present_revs_per_mile)
    if not is_absent(declared, now):
        return declared / now
    diameter, diameter_now = exact(tire["running_diameter_mm"]), diameter_now_mm(job, "rear", tires).size
    if is_absent(diameter, diameter_now):
        return None
    on_truck = tire_now(tires, "rear")
    factor_now = rolling_factor(job, on_truck["construction"] if on_truck else "")
    return diameter_now * factor_now / (diameter * rolling_factor(job, tire["construction"]))


def speedometer_error(job, tire, ratio, tires):
    """What the speedometer shows too much, as a part of the speed, with the gear that shows least above the true speed.

    Where every gear shows too little it is the one that shows most. None where something is not known.
    """
    meter, change = job.speedometer, revs_to_revs_now(job, tire, tires)
    turns = exact(meter.present_ratio)
    if is_absent(turns, change) or meter.driven_teeth == 0:
        return None
    change *= ratio / turns * Fraction(meter.present_reads_ppm, 1000000)
    errors = [change * meter.driven_teeth / teeth - 1 for teeth in (meter.driven_teeth, *meter.driven_listed)]
    return min((error for error in errors if error >= 0), default=max(errors))


def speedometer(job, tire, ratio, tires):
    """Verdict on the error with the best driven gear; holds where no limit is given."""
    limit = job.targets.speedometer_error_ppm
    if limit <= 0:
        return True
    error = speedometer_error(job, tire, ratio, tires)
    return None if error is None else holds(Fraction(limit, 1000000) - abs(error), 10000)


def turning_checks(job, tire, ratio, tires):
    """Verdicts of all checks on a gear set with a rear tire, by name."""
    return {
        "cruise_rpm": cruise_verdict(job, tire, ratio),
        "redline": redline(job, tire, ratio),
        "driveshaft_speed": driveshaft_speed(job, tire, ratio),
        "speedometer": speedometer(job, tire, ratio, tires),
    }


def cruise_points(job, rpm):
    """Points for engine speed near the aim."""
    low, high = exact(job.targets.cruise_min_rpm), exact(job.targets.cruise_max_rpm)
    has_band = not is_absent(low, high)
    aim, scale = exact(job.targets.cruise_aim_rpm), exact(job.scales.cruise_rpm)
    if aim is None and has_band:
        aim = (low + high) / 2
    if aim is None or exact(job.targets.cruise_speed_km_h) is None:
        return 10000
    if rpm is None:
        return 0
    if scale is None:
        scale = (high - low) / 2 if has_band else 500
    return ramp(rhu(1000 * scale), 0, rhu(1000 * abs(rpm - aim)))


# Thrust


def rolling_radius_m(job, tire):
    """Radius that the truck rolls on."""
    circumference = rolling_circumference_mm(job, tire)
    return None if circumference is None else float(circumference / (2 * PI)) / 1000


def held_g(job, tire, ratio):
    """The heaviest truck that the engine holds on every grade asked for, one mass a grade; None where not known."""
    asked, box = job.targets, job.transmission
    points = [
        (point.speed_km_h, point.gear, slip_of(job, point.locked), point.hold_grade_ppm) for point in asked.cruise
    ]
    slip = slip_of(job, box.lock_up)
    points.append((asked.cruise_speed_km_h, box.cruise_gear, slip, asked.hold_grade_ppm))
    return [held_at_g(job, tire, ratio, *point) for point in points if point[-1] > 0]


def held_at_g(job, tire, ratio, speed, gear, slip, grade_ppm):
    """What the engine pulls up a grade at a steady speed."""
    rpm, truck = engine_rpm(job, tire, ratio, speed, gear, slip), job.truck
    torque = None if rpm is None else torque_at(job.engine.torque, float(rpm))
    if is_absent(torque, exact(truck.drag_coefficient), exact(truck.frontal_area_m2)):
        return None
    push = torque * gear * float(ratio) * job.transmission.efficiency / rolling_radius_m(job, tire)
    drag = 0.5 * AIR_KG_M3 * truck.drag_coefficient * truck.frontal_area_m2 * (speed / 3.6) ** 2
    return mass_on_grade_g(job, push - drag, grade_ppm)


def starting_torque(job):
    """Torque into the gearbox at a start: through a converter that stalls, else a clutch; None where not known."""
    box, curve = job.transmission, job.engine.torque
    if not is_absent(exact(box.stall_speed_rpm), exact(box.stall_ratio)):
        torque = torque_at(curve, box.stall_speed_rpm)
        return None if torque is None else torque * box.stall_ratio
    if is_absent(exact(box.clutch_rating_n_m), exact(box.clutch_rpm)):
        return None
    torque = torque_at(curve, box.clutch_rpm)
    return None if torque is None else min(box.clutch_rating_n_m, torque)


def low_range(job):
    """Ratio of the transfer case in which a truck moves off; that of one driven axle counts as 1."""
    return job.transmission.low_range if job.axle.driven == "both" else 1


def started_g(job, tire, ratio):
    """What the engine pulls up the wanted grade from a stop; None where not known."""
    radius, box, torque = rolling_radius_m(job, tire), job.transmission, starting_torque(job)
    if is_absent(radius, torque) or not box.gears:
        return None
    thrust = torque * box.gears[0] * low_range(job) * float(ratio) * box.efficiency / radius
    return mass_on_grade_g(job, thrust, job.targets.pull_grade_ppm)


def torque_at(curve, rpm):
    """Torque on the straight line between two points of the curve; None outside it."""
    for low, high in itertools.pairwise(curve):
        if low.at_rpm <= rpm <= high.at_rpm:
            along = (rpm - low.at_rpm) / (high.at_rpm - low.at_rpm)
            return low.torque_n_m + along * (high.torque_n_m - low.torque_n_m)
    return None


def mass_on_grade_g(job, thrust_n, grade_ppm):
    """Whole grams that a thrust holds against a grade and the resistance of the road."""
    slope = math.atan(grade_ppm / 1000000)
    return math.floor(
        thrust_n / (STANDARD_GRAVITY * (math.sin(slope) + job.rolling.resistance * math.cos(slope))) * 1000
    )


# Grip


def level_friction(job, kind, bias_ratio):
    """Thrust of a differential over the load on its axle; 1 where the surface is not known."""
    low, high = exact(job.surface.friction_low), exact(job.surface.friction_high)
    if is_absent(low, high):
        return Fraction(1)
    both = (low + high) / 2
    friction = low
    if kind == "locked":
        friction = both
    elif kind == "limited_slip" and bias_ratio is not None:
        friction = min((1 + bias_ratio) * low / 2, both)
    return friction


def level_thrust_g(job, frictions, loads_g):
    """Thrust of all driven axles on the level, from the loads at rest.

    A thrust F moves F h / L from front to rear: F = a_r (W_r + F h / L) + a_f (W_f - F h / L).
    """
    still = sum(frictions[axle] * loads_g[axle] for axle in frictions)
    if is_absent(exact(job.surface.friction_low), exact(job.surface.friction_high)):
        return still
    height = exact(job.truck.cg_height_mm) or 0
    return still / (1 - (frictions["rear"] - frictions.get("front", 0)) * height / exact(job.truck.wheelbase_mm))


def lifting(job, axle, tire, own):
    """Load that the driveshaft takes off one wheel of an axle, over the thrust; None where not known."""
    beam, radius = getattr(job.axle, axle), rolling_radius_m(job, tire)
    if not beam.live:
        return 0.0
    if is_absent(radius, exact(beam.track_mm)):
        return None
    return radius / (float(own["ratio"]) * beam.track_mm / 1000) * (1 - beam.roll_share_ppm / 1000000)


def thrust_of_low_side(job, axle, tire, own, low):
    """Thrust over an axle's load, and thrust of the preload [kg], that the low side allows; None where not known."""
    lifted, radius, preload = lifting(job, axle, tire, own), rolling_radius_m(job, tire), own["preload_n_m"]
    if is_absent(low, lifted) or (own["kind"] == "limited_slip" and own["bias_ratio"] is None):
        return None
    if own["kind"] == "open":
        return float(low) / (1 + 2 * float(low) * lifted), 0.0
    if preload and radius is None:
        return None
    times = (1 + float(own["bias_ratio"])) * float(low)
    preload_kg = preload / radius / STANDARD_GRAVITY if preload else 0.0
    return times / 2 / (1 + times * lifted), preload_kg / (1 + times * lifted)


def thrusts(job, axle, tire, own, low, high):
    """What the low side allows and what both sides allow, each thrust over its load and preload [kg] or None."""
    both = None if is_absent(low, high) else (float((low + high) / 2), 0.0)
    return (both if own["kind"] == "locked" else thrust_of_low_side(job, axle, tire, own, low)), both


NO_THRUST = (0.0, 0.0)


def ways_to_push(job, tires, drive, low, high):
    """Every way in which the driven axles may push: thrusts of the rear and of the front axle; None where not known."""
    axles = {axle: thrusts(job, axle, tires[axle], own, low, high) for axle, own in drive["axles"].items()}
    ways = itertools.product(axles["rear"], axles.get("front", (NO_THRUST,)))
    return [None if is_absent(*way) else way for way in ways]


def steepest_grades(job, tires, drive, rear_g, truck_g, towed_g):
    """The steepest grade to start on, by each way in which the driven axles may push; None where not known."""
    surface = exact(job.surface.friction_low), exact(job.surface.friction_high)
    ways = ways_to_push(job, tires, drive, *surface)
    if is_absent(exact(job.truck.cg_height_mm), rear_g, truck_g, towed_g):
        return [None for _ in ways]
    masses = [mass_g / 1000 for mass_g in (rear_g, truck_g, towed_g)]
    return [None if way is None else grade_of(slope_at(job, *way, *masses)) for way in ways]


def steepest_grade(job, tires, drive, loads):
    """The steepest grade that the truck can start on in every load case; None where something is not known."""
    grades = [grade for masses in loads for grade in steepest_grades(job, tires, drive, *masses)]
    return None if is_absent(*grades) else min(grades)


def grade_of(slope):
    """Rise over run of a slope, in whole millionths."""
    return rhu(math.tan(slope) * 1000000)


def ground_resistance(job):
    """Rolling resistance of the ground that the truck starts on; that of the road where it is not given."""
    own = exact(job.surface.rolling_resistance)
    return job.rolling.resistance if own is None else float(own)


def slope_at(job, rear, front, rear_kg, truck_kg, towed_kg):
    """Angle of the steepest slope at a friction and a preload of each axle, with what is pulled."""
    (friction, preload_kg), (ahead, preload_ahead_kg) = rear, front
    moved_kg = truck_kg + towed_kg
    along = friction * rear_kg + ahead * (truck_kg - rear_kg) - ground_resistance(job) * moved_kg
    across = moved_kg - (friction - ahead) * truck_kg * job.truck.cg_height_mm / job.truck.wheelbase_mm
    preload_kg += preload_ahead_kg
    return math.atan2(along, across) + math.asin(min(preload_kg / math.hypot(along, across), 1.0))


def start_grade(job, tires, drive, loads):
    """Verdict on the steepest grade in every load case; holds where none is asked."""
    if job.targets.start_grade_ppm <= 0:
        return True
    grades = [grade for masses in loads for grade in steepest_grades(job, tires, drive, *masses)]
    return worst(None if grade is None else grade >= job.targets.start_grade_ppm for grade in grades)


def pulled_by_grip_kg(job, tires, drive, rear_g, truck_g):
    """The heaviest mass that the wheels push up the wanted grade, by each way in which they may; None if not known."""
    road, slope = exact(job.surface.friction_road), math.atan(job.targets.pull_grade_ppm / 1000000)
    ways = ways_to_push(job, tires, drive, road, road)
    if is_absent(rear_g, truck_g):
        return [None for _ in ways]
    height = 0.0 if exact(job.truck.cg_height_mm) is None else job.truck.cg_height_mm
    moved = truck_g * height / job.truck.wheelbase_mm * math.sin(slope)
    pressed = rear_g * math.cos(slope) + moved, (truck_g - rear_g) * math.cos(slope) - moved
    needed = math.sin(slope) + job.rolling.resistance * math.cos(slope)
    return [
        None
        if way is None
        else sum(share * load / 1000 + preload for (share, preload), load in zip(way, pressed, strict=True)) / needed
        for way in ways
    ]


def pull(job, tires, drive, heavy_g, loads):
    """Verdict on engine and driven wheels that pull the truck up the wanted grade; holds where none is asked."""
    if job.targets.pull_grade_ppm <= 0:
        return True
    most = started_g(job, tires["rear"], drive["ratio"])
    verdicts = [None if is_absent(heavy_g, most) else heavy_g <= most]
    for rear_g, truck_g, towed_g in loads:
        for mass in pulled_by_grip_kg(job, tires, drive, rear_g, truck_g):
            moved_g = total(truck_g, towed_g)
            verdicts.append(None if is_absent(mass, moved_g) else holds(mass - moved_g / 1000, 10000))
    return worst(verdicts)


def axle_torque(job, axle, tire, drive, load_g, give_kg):
    """Verdict on an axle's torque: of the engine at a start, or of the tires that slip, whichever is less.

    Where one is not known the other may settle that it is within the rating; but not that it is above.
    """
    rating = exact(getattr(job.axle, axle).torque_rating_n_m)
    if rating is None or axle not in drive["axles"]:
        return True
    torques = stall_n_m(job, drive["axles"][axle]["ratio"]), slip_n_m(job, axle, tire, load_g, give_kg)
    within_it = [None if torque is None else holds(rating - Fraction(torque), 10) for torque in torques]
    if True in within_it:
        return True
    return None if None in within_it else False


def stall_n_m(job, ratio):
    """Torque at an axle with the engine's at a start in the lowest gear; None where not known."""
    torque, box = starting_torque(job), job.transmission
    return None if torque is None or not box.gears else torque * max(box.gears) * box.low_range * float(ratio)


def slip_n_m(job, axle, tire, load_g, give_kg):
    """Torque at which the tires of an axle slip on a good road, which adds to the rear's load; None where not known."""
    radius, height = rolling_radius_m(job, tire), exact(job.truck.cg_height_mm) if axle == "rear" else 0
    if is_absent(radius, height, load_g):
        return None
    diameter, share = exact(tire["running_diameter_mm"]), rolling_share(job, tire)
    give_m = radius * float(share) + (0 if diameter is None else float(size_give_mm(job, tire, diameter)) / 2000)
    press_n = (load_g / 1000 + float(give_kg)) * STANDARD_GRAVITY
    lift = 1 - GRIP * float(height) / job.truck.wheelbase_mm
    return GRIP * press_n * (radius + give_m) / lift


def hold_gear(drive, heavy_g):
    """Verdict on the engine that holds the truck's speed on every grade asked for."""
    return worst(None if is_absent(heavy_g, most) else heavy_g <= most for most in drive["held_g"])

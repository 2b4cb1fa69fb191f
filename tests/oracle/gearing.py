"""What a gear set, a differential and the rear tires make of engine speed, thrust and grades."""

import itertools
import math
from fractions import Fraction

from fitting import MILE_MM, PI, rolling_circumference_mm, size_give_mm
from paying import drive_cents
from verdicts import Near, alike, exact, holds, is_absent, is_accepted, ramp, rhu, within, worst

STEEL_AND_ALUMINUM = {"steel": (200e9, 7850), "aluminum": (69e9, 2700)}
STANDARD_GRAVITY = 9.80665
AIR_KG_M3 = 1.225


def carrier(job, ratio, differential):
    """Verdict on the gear set in the differential and on both in the axle."""
    return worst([
        alike(ratio["ring_gear"], differential["ring_gear"], job.axle.ring_gear),
        alike(differential["splines"], job.axle.splines),
        within(exact(ratio["ratio"]), exact(differential["ratio_min"]), exact(differential["ratio_max"]), 10000),
    ])  # fmt: skip


def drives(job, ratios, differentials):
    """Pairs of gear set and differential that fit each other and the axle."""
    every = [
        {
            "skus": (ratio["sku"], differential["sku"]),
            "verdict": carrier(job, ratio, differential),
            "cents": drive_cents(job, ratio, differential),
            "ratio": exact(ratio["ratio"]),
            "grip": grip(job, differential["type"], exact(differential["bias_ratio"])),
            "share": grip_share(job, differential["type"], exact(differential["bias_ratio"])),
            "preload_n_m": (exact(differential["preload_n_m"]) or 0) if differential["type"] == "limited_slip" else 0,
        }
        for ratio, differential in itertools.product(ratios, differentials)
    ]
    return [one for one in every if is_accepted(one["verdict"], job)]


# Speeds of the engine and the shaft


def engine_rpm(job, tire, ratio, speed, gear, slip):
    """Engine speed at a road speed [km/h]; None where something is not known."""
    speed, gear, circumference = exact(speed), exact(gear), rolling_circumference_mm(job, tire)
    if is_absent(speed, gear, circumference):
        return None
    return speed * 1000000 / 60 / circumference * gear * ratio * (1 + exact(slip))


def cruise_rpm(job, tire, ratio):
    """Engine speed at cruise; None where no cruise speed is asked or something is not known."""
    box = job.transmission
    slip = 0 if box.lock_up else box.converter_slip
    return engine_rpm(job, tire, ratio, job.targets.cruise_speed_km_h, box.cruise_gear, slip)


def point_rpm(job, tire, ratio, point):
    """Engine speed at one more point."""
    slip = 0 if point.locked else job.transmission.converter_slip
    return engine_rpm(job, tire, ratio, point.speed_km_h, point.gear, slip)


def turning(job, tire, rpm):
    """A speed with the plus-or-minus of the tire under it: a new tire's radius is off by half of its diameter."""
    if rpm is None or exact(tire["overall_diameter_mm"]) is None:
        return Near(rpm)
    return Near(rpm, rpm * size_give_mm(job, tire) / exact(tire["overall_diameter_mm"]))


def at_most_turning(job, tire, speed, gear, ratio):
    """Engine speed at a road speed on the smallest that the tire may be; None where something is not known."""
    rpm, circumference = engine_rpm(job, tire, ratio, speed, gear, 0), rolling_circumference_mm(job, tire)
    if rpm is None or exact(tire["overall_diameter_mm"]) is None:
        return rpm
    radius = circumference / (2 * PI)
    return rpm * radius / (radius - size_give_mm(job, tire) / 2)


def cruise_verdict(job, tire, ratio):
    """Verdict on the engine speed in the band of every point; holds where no cruise speed is asked."""
    asked = job.targets
    bands = [(point_rpm(job, tire, ratio, point), point.min_rpm, point.max_rpm) for point in asked.cruise]
    if exact(asked.cruise_speed_km_h) is not None:
        bands.append((cruise_rpm(job, tire, ratio), asked.cruise_min_rpm, asked.cruise_max_rpm))
    return worst(within(turning(job, tire, rpm), exact(low), exact(high)) for rpm, low, high in bands)


def redline(job, tire, ratio):
    """Verdict on the engine speed at the top speed; holds where none is asked."""
    if exact(job.targets.top_speed_km_h) is None:
        return True
    gear = min(job.transmission.gears, default=job.transmission.cruise_gear)
    rpm = at_most_turning(job, tire, job.targets.top_speed_km_h, gear, ratio)
    return holds(Near(exact(job.engine.redline_rpm)) - Near(rpm))


def driveshaft_speed(job, tire, ratio):
    """Verdict on the shaft at the top speed; holds where no top speed or no shaft is given."""
    shaft = job.driveshaft
    if is_absent(exact(job.targets.top_speed_km_h), exact(shaft.length_mm)):
        return True
    if is_absent(exact(shaft.diameter_mm), exact(shaft.wall_mm)):
        return None
    rpm = at_most_turning(job, tire, job.targets.top_speed_km_h, 1, ratio)
    return holds(Near(Fraction(shaft.share * critical_rpm(shaft))) - Near(rpm))


def critical_rpm(shaft):
    """First critical speed of a tube between two joints."""
    stiffness, density = STEEL_AND_ALUMINUM[shaft.material]
    outside, inside = shaft.diameter_mm / 1000, (shaft.diameter_mm - 2 * shaft.wall_mm) / 1000
    bending = (math.pi / (shaft.length_mm / 1000)) ** 2 * math.sqrt(stiffness / density)
    return 60 / (2 * math.pi) * bending * math.hypot(outside, inside) / 4


def speedometer(job, tire, ratio):
    """Verdict on the error with the best driven gear; holds where no limit is given."""
    limit, meter, circumference = (
        job.targets.speedometer_error_ppm,
        job.speedometer,
        rolling_circumference_mm(job, tire),
    )
    if limit <= 0:
        return True
    turns, revs = exact(meter.present_ratio), exact(meter.present_revs_per_mile)
    if is_absent(turns, revs, circumference) or meter.driven_teeth == 0:
        return None
    change = ratio * MILE_MM / circumference / (turns * revs)
    best = min(abs(change * meter.driven_teeth / teeth - 1) for teeth in (meter.driven_teeth, *meter.driven_listed))
    return holds(Fraction(limit, 1000000) - best, 10000)


def turning_verdict(job, tire, ratio):
    """Verdict of all checks on a gear set with a rear tire."""
    checks = (cruise_verdict, redline, driveshaft_speed, speedometer)
    return worst(check(job, tire, ratio) for check in checks)


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


def pulled_g(job, tire, ratio):
    """The heaviest truck that thrust pulls up every grade asked for, one mass a grade; None where not known."""
    points = [point for point in job.targets.cruise if point.hold_grade_ppm > 0]
    masses = [held_g(job, tire, ratio, point) for point in points]
    if job.targets.pull_grade_ppm > 0:
        masses.append(started_g(job, tire, ratio))
    return masses


def started_g(job, tire, ratio):
    """What the engine pulls up the wanted grade from a stop."""
    radius, box = rolling_radius_m(job, tire), job.transmission
    if radius is None or not job.engine.torque or not box.gears:
        return None
    most = max(point.torque_n_m for point in job.engine.torque)
    thrust = most * box.stall_ratio * box.gears[0] * float(ratio) * box.efficiency / radius
    return mass_on_grade_g(job, thrust, job.targets.pull_grade_ppm)


def held_g(job, tire, ratio, point):
    """What the engine pulls up a grade at a steady speed."""
    rpm, truck, torque = point_rpm(job, tire, ratio, point), job.truck, None
    if rpm is not None:
        torque = torque_at(job.engine.torque, float(rpm))
    if is_absent(torque, exact(truck.drag_coefficient), exact(truck.frontal_area_m2)):
        return None
    push = torque * point.gear * float(ratio) * job.transmission.efficiency / rolling_radius_m(job, tire)
    drag = 0.5 * AIR_KG_M3 * truck.drag_coefficient * truck.frontal_area_m2 * (point.speed_km_h / 3.6) ** 2
    return mass_on_grade_g(job, push - drag, point.hold_grade_ppm)


def torque_at(curve, rpm):
    """Torque on the straight line between two points of the curve; None outside it."""
    for low, high in itertools.pairwise(curve):
        if low.at_rpm <= rpm <= high.at_rpm:
            along = (rpm - low.at_rpm) / (high.at_rpm - low.at_rpm)
            return low.torque_n_m + along * (high.torque_n_m - low.torque_n_m)
    return None


def mass_on_grade_g(job, thrust_n, grade_ppm):
    """Whole grams that a thrust holds against a grade and the rolling resistance."""
    slope = math.atan(grade_ppm / 1000000)
    return math.floor(
        thrust_n / (STANDARD_GRAVITY * (math.sin(slope) + job.rolling.resistance * math.cos(slope))) * 1000
    )


# Grip


def grip(job, kind, bias_ratio):
    """Thrust over rear load times 10000, of a kind of differential; 10000 where the surface is not known."""
    low, high = exact(job.surface.friction_low), exact(job.surface.friction_high)
    if is_absent(low, high):
        return 10000
    both = (low + high) / 2
    friction = low
    if kind == "locked":
        friction = both
    elif kind == "limited_slip" and bias_ratio is not None:
        friction = min((1 + bias_ratio) * low / 2, both)
    height = exact(job.truck.cg_height_mm) or 0
    return rhu(10000 * friction / (1 - friction * height / exact(job.truck.wheelbase_mm)))


def grip_share(job, kind, bias_ratio):
    """Thrust over rear load, of a kind of differential; None where not known."""
    low, high = exact(job.surface.friction_low), exact(job.surface.friction_high)
    if kind == "open":
        return low
    if is_absent(low, high) or (kind == "limited_slip" and bias_ratio is None):
        return None
    both = (low + high) / 2
    return both if kind == "locked" else min((1 + bias_ratio) * low / 2, both)


def steepest_grades(job, tire, drive, rear_g, truck_g):
    """The steepest grade to start on where one side has less grip, and by the grip of both; None where not known."""
    radius, height = rolling_radius_m(job, tire), exact(job.truck.cg_height_mm)
    mean, split, both = grip_share(job, "locked", None), None, None
    if is_absent(height, rear_g, truck_g):
        return None, None
    loads = rear_g / 1000, truck_g / 1000
    if mean is not None:
        both = grade_of(slope_at(job, float(mean), 0.0, *loads))
    if drive["share"] is not None and (radius is not None or not drive["preload_n_m"]):
        preload = float(drive["preload_n_m"]) / radius / STANDARD_GRAVITY if drive["preload_n_m"] else 0.0
        split = grade_of(slope_at(job, float(drive["share"]), preload, *loads))
    return split, both


def steepest_grade(job, tire, drive, rear_g, truck_g):
    """The steepest grade that the truck can start on; None where something is not known."""
    grades = steepest_grades(job, tire, drive, rear_g, truck_g)
    return None if is_absent(*grades) else min(grades)


def grade_of(slope):
    """Rise over run of a slope, in whole millionths."""
    return rhu(math.tan(slope) * 1000000)


def slope_at(job, friction, preload_kg, rear_kg, truck_kg):
    """Angle of the steepest slope at a friction of the rear wheels and a preload."""
    along = friction * rear_kg - job.rolling.resistance * truck_kg
    across = truck_kg * (1 - friction * job.truck.cg_height_mm / job.truck.wheelbase_mm)
    return math.atan2(along, across) + math.asin(min(preload_kg / math.hypot(along, across), 1.0))


def start_grade(job, tire, drive, rear_g, truck_g):
    """Verdict on the steepest grade; holds where none is asked."""
    if job.targets.start_grade_ppm <= 0:
        return True
    grades = steepest_grades(job, tire, drive, rear_g, truck_g)
    return worst(None if grade is None else grade >= job.targets.start_grade_ppm for grade in grades)

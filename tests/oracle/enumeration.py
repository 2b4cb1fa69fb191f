"""Every build of a small job, by loops and fractions: what the ranking must equal.

Nothing here is shared with `combo` but the job's data class. A part is a plain dict in SI with None where a value is
absent. A check answers True (holds), False (fails) or None (unverified). Masses count in grams, money in cents.
"""

import itertools
import math
from fractions import Fraction

from combo.job import CRITERIA

PI = Fraction("3.14159265358979323846264338327950288")
FLANGE_MM = Fraction("12.7")
MILE_MM = 63360 * Fraction("25.4")
LEAST_CLEARANCE_MM = Fraction("3.175")
CIRCLE_TOLERANCE_MM = Fraction("0.15")
SPEED_KM_H = {"Q": 160, "R": 170, "S": 180, "T": 190, "U": 200, "H": 210, "V": 240, "W": 270, "Y": 300}
NO_SPACER = {"sku": "", "price_cents": 0, "mass_kg": 0, "thickness_mm": 0}


def exact(value):
    """The number as printed, as a fraction; None where it is absent."""
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return None
    return Fraction(str(value))


def is_absent(*values):
    """Whether any of the values is None."""
    return any(value is None for value in values)


def rhu(value):
    """Nearest integer, halves up."""
    return math.floor(value + Fraction(1, 2))


def grams(mass_kg):
    """Whole grams of a mass, None of an absent one."""
    mass_kg = exact(mass_kg)
    return None if mass_kg is None else rhu(1000 * mass_kg)


def total(*values):
    """Sum, None where a summand is."""
    return None if is_absent(*values) else sum(values)


def ramp(zero, full, value):
    """Points from 0 at `zero` to 10000 at `full`, rounded down."""
    return min(10000, max(0, 10000 * (value - zero) // (full - zero)))


# Verdicts


def worst(verdicts):
    """False where any fails, else None where any is unverified, else True."""
    verdicts = list(verdicts)
    if False in verdicts:
        return False
    return None if None in verdicts else True


def holds(margin, steps=1000):
    """Verdict on a margin that is rounded to 1 / steps; equal to the limit holds."""
    return None if margin is None else rhu(margin * steps) >= 0


def within(value, low, high, steps=1000):
    """Verdict on a range, of which a known side may fail alone."""
    if value is None:
        return None
    sides = [None if low is None else value - low, None if high is None else high - value]
    return worst(holds(side, steps) for side in sides)


def alike(*words):
    """Verdict on names that must be equal: two known ones that differ fail whatever is missing."""
    known = [word for word in words if word]
    if len(set(known)) > 1:
        return False
    return True if len(known) == len(words) else None


def is_accepted(verdict, job):
    """Whether a build may have this verdict: never a failure, and with `strict` nothing unverified."""
    return verdict is True or (verdict is None and not job.job.strict)


# A wheel, a tire and a spacer at an axle


def same_circle(lugs, circle_mm, other_lugs, other_circle_mm):
    """Whether two bolt patterns are one."""
    return int(lugs) == int(other_lugs) and abs(exact(circle_mm) - exact(other_circle_mm)) <= CIRCLE_TOLERANCE_MM


def bolt_circle(hub, wheel, spacer):
    """Verdict on the wheel on its mount, and on the spacer on the hub."""
    hub_side = (hub.bolt_circle.lug_count, hub.bolt_circle.diameter_mm)
    own = (wheel["lugs"], wheel["circle_mm"])
    if spacer is NO_SPACER:
        return same_circle(*own, *hub_side)
    spacer_side = (spacer["lugs"], spacer["circle_mm"])
    mount = spacer_side
    if not is_absent(spacer["wheel_lugs"], spacer["wheel_circle_mm"]):
        mount = (spacer["wheel_lugs"], spacer["wheel_circle_mm"])
    return same_circle(*own, *mount) and same_circle(*spacer_side, *hub_side)


def hub_bore(hub, wheel, spacer):
    """Verdict on the wheel's bore over the pilot that it sits on."""
    pilot = exact(spacer.get("pilot_mm"))
    if pilot is None:
        pilot = exact(hub.pilot_mm)
    bore = exact(wheel["hub_bore_mm"])
    return None if is_absent(bore, pilot) else holds(bore - pilot)


def rim_diameter(wheel, tire):
    """Verdict on the tire's rim diameter against the wheel's."""
    return holds(1 - abs(exact(tire["rim_diameter_mm"]) - exact(wheel["rim_diameter_mm"])))


def rim_width(wheel, tire):
    """Verdict on the rim width in the tire's approved range."""
    return within(exact(wheel["rim_width_mm"]), exact(tire["rim_width_min_mm"]), exact(tire["rim_width_max_mm"]))


def tire_speed(job, tire):
    """Verdict on the speed symbol; holds where no top speed is asked."""
    asked = exact(job.targets.top_speed_km_h)
    if asked is None:
        return True
    speed = SPEED_KM_H.get(tire["speed_symbol"])
    return None if speed is None else holds(speed - asked)


def effective_offset_mm(wheel, spacer):
    """Offset less the spacer's thickness."""
    offset = exact(wheel["offset_mm"])
    return None if offset is None else offset - exact(spacer["thickness_mm"])


def half_width_mm(wheel, tire):
    """Half the section width on this rim."""
    listed, measured_on = exact(tire["section_width_mm"]), exact(tire["measuring_rim_mm"])
    if is_absent(listed, measured_on):
        return None
    return (listed + Fraction("0.4") * (exact(wheel["rim_width_mm"]) - measured_on)) / 2


def fit_margins(house, wheel, tire, spacer):
    """Margin [mm] and clearance [mm] of each check that the criterion "fit" looks at."""
    inner, outer, top = (exact(getattr(house, f"clearance_{side}_mm")) for side in ("inner", "outer", "top"))
    room_inner, room_outer, to_top = exact(house.room_inner_mm), exact(house.room_outer_mm), exact(house.hub_to_top_mm)
    offset, half, diameter = (
        effective_offset_mm(wheel, spacer),
        half_width_mm(wheel, tire),
        exact(tire["overall_diameter_mm"]),
    )
    to_flange = (exact(wheel["rim_width_mm"]) + 2 * FLANGE_MM) / 2
    width = None if half is None else 2 * half
    least_inner, least_outer, least_top = (max(clearance, LEAST_CLEARANCE_MM) for clearance in (inner, outer, top))
    return {
        "backspace_limit": (less(room_inner, offset, to_flange, inner), least_inner),
        "inner_sidewall": (less(room_inner, offset, half, inner), least_inner),
        "outer_sidewall": (less(total(room_outer, offset), half, outer), least_outer),
        "wheelhouse_width": (less(total(room_inner, room_outer), width, inner, outer), least_inner + least_outer),
        "fender_top": (less(to_top, None if diameter is None else diameter / 2, top), least_top),
    }


def less(room, *taken):
    """What is left of a room, None where anything is absent."""
    return None if is_absent(room, *taken) else room - sum(taken)


def fit_points(margins):
    """Points of the tightest known margin over its clearance; 0 where none is known."""
    return min(
        (ramp(0, rhu(1000 * clearance), rhu(1000 * margin)) for margin, clearance in margins if margin is not None),
        default=0,
    )


def lip_error_um(job, house, wheel, tire, spacer):
    """How far the tire's outer sidewall is from the wanted gap to the lip; 0 where none is asked."""
    asked = exact(job.targets.lip_gap_mm)
    if asked is None:
        return 0
    gap = less(total(exact(house.room_outer_mm), effective_offset_mm(wheel, spacer)), half_width_mm(wheel, tire))
    return None if gap is None else rhu(1000 * abs(gap - asked))


def tire_capacity_g(tire):
    """What one tire may carry on a truck; a passenger tire its rating over 1.10."""
    rating, share = exact(tire["load_rating_kg"]), {"passenger": Fraction(10, 11), "light_truck": 1}
    if is_absent(rating) or tire["service"] not in share:
        return None
    return rhu(1000 * rating * share[tire["service"]])


def taxed(price_cents, job):
    """Price of one unit with tax, to the nearest cent."""
    return price_cents + (price_cents * job.money.tax_ppm + 500000) // 1000000


def corner_cents(job, axle, wheel, tire, spacer):
    """What the wheels, tires and spacers of an axle cost; the spare is bought with the rear ones."""
    wheels = 3 if axle == "rear" and job.job.spare else 2
    each = taxed(wheel["price_cents"], job) + taxed(tire["price_cents"], job) + job.money.mount_and_balance_cents
    return wheels * each + 2 * taxed(spacer["price_cents"], job)


def corner(job, axle, wheel, tire, spacer):
    """All that a wheel, a tire and a spacer at an axle bring to a build."""
    hub, house = getattr(job.hub, axle), getattr(job.wheelhouse, axle)
    margins = fit_margins(house, wheel, tire, spacer).values()
    verdicts = [
        bolt_circle(hub, wheel, spacer),
        hub_bore(hub, wheel, spacer),
        rim_diameter(wheel, tire),
        rim_width(wheel, tire),
        tire_speed(job, tire),
        *(holds(margin) for margin, _ in margins),
    ]
    diameter = exact(tire["overall_diameter_mm"])
    return {
        "skus": (wheel["sku"], tire["sku"], spacer["sku"]),
        "verdict": worst(verdicts),
        "grams": total(grams(wheel["mass_kg"]), grams(tire["mass_kg"]), grams(spacer["mass_kg"])),
        "cents": corner_cents(job, axle, wheel, tire, spacer),
        "capacities_g": (tire_capacity_g(tire), grams(wheel["load_rating_kg"])),
        "fit": fit_points(margins),
        "diameter_um": None if diameter is None else rhu(1000 * diameter),
        "lip_error_um": lip_error_um(job, house, wheel, tire, spacer),
        "tire": tire,
    }


def corners(job, axle, wheels, tires, spacers):
    """Corners at an axle that none of their own checks rejects."""
    every = (
        corner(job, axle, wheel, tire, spacer)
        for wheel, tire, spacer in itertools.product(wheels, tires, [NO_SPACER, *spacers])
    )
    return [one for one in every if is_accepted(one["verdict"], job)]


# A ratio and a differential


def carrier(job, ratio, differential):
    """Verdict on the gear set in the differential and on both in the axle."""
    return worst([
        alike(ratio["ring_gear"], differential["ring_gear"], job.axle.ring_gear),
        alike(differential["splines"], job.axle.splines),
        within(exact(ratio["ratio"]), exact(differential["ratio_min"]), exact(differential["ratio_max"]), 10000),
    ])  # fmt: skip


def drive_cents(job, ratio, differential):
    """Parts with tax, and the labor of both."""
    hours = (exact(ratio["labor_hours"]) or 0) + (exact(differential["labor_hours"]) or 0)
    labor = rhu(hours * job.money.labor_per_hour_cents)
    return taxed(ratio["price_cents"], job) + taxed(differential["price_cents"], job) + labor


def drives(job, ratios, differentials):
    """Pairs of gear set and differential that fit each other and the axle."""
    every = [
        {
            "skus": (ratio["sku"], differential["sku"]),
            "verdict": carrier(job, ratio, differential),
            "cents": drive_cents(job, ratio, differential),
            "ratio": exact(ratio["ratio"]),
            "grip": grip(job, differential["type"], exact(differential["bias_ratio"])),
        }
        for ratio, differential in itertools.product(ratios, differentials)
    ]
    return [one for one in every if is_accepted(one["verdict"], job)]


def rolling_circumference_mm(job, tire):
    """What the truck moves on in a turn of the tire."""
    revs, diameter = exact(tire["revs_per_mile"]), exact(tire["overall_diameter_mm"])
    if revs is not None:
        return MILE_MM / revs
    return None if diameter is None else PI * diameter * exact(job.rolling.factor)


def engine_rpm(job, tire, ratio):
    """Engine speed at cruise; None where no cruise speed is asked or something is not known."""
    speed, gear, circumference = (
        exact(job.targets.cruise_speed_km_h),
        exact(job.transmission.cruise_gear),
        rolling_circumference_mm(job, tire),
    )
    if is_absent(speed, gear, circumference):
        return None
    turns = speed * 1000000 / 60 / circumference
    return turns * gear * ratio * (1 + exact(job.transmission.converter_slip))


def cruise_verdict(job, rpm):
    """Verdict on the engine speed in its band; holds where no cruise speed is asked."""
    if exact(job.targets.cruise_speed_km_h) is None:
        return True
    return within(rpm, exact(job.targets.cruise_min_rpm), exact(job.targets.cruise_max_rpm))


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


# Loads


def front_share_of(mass, station_mm, job):
    """Part of a mass that the front axle carries."""
    return mass * exact(station_mm) / exact(job.truck.wheelbase_mm)


def base_loads_g(job):
    """Loads before the build, lightest and heaviest of the cases, by axle; None where the scale's load is absent."""
    items = job.loads.items
    names = sorted({case for item in items for case in item.cases}) or [None]
    loads = {}
    for axle in ("front", "rear"):
        scale = exact(getattr(job.loads, f"{axle}_axle_kg"))
        by_case = [
            scale + sum(share_kg(item, axle, job) for item in items if not item.cases or name in item.cases)
            for name in names
            if scale is not None
        ]
        loads[axle] = tuple(rhu(1000 * pick(by_case)) if by_case else None for pick in (min, max))
    return loads


def share_kg(item, axle, job):
    """What an item that is carried adds to an axle."""
    mass = exact(item.mass_kg)
    front = front_share_of(mass, item.station_mm, job)
    return front if axle == "front" else mass - front


def change_g(job, axle, one):
    """What the new wheels and tires add to an axle."""
    present = grams(getattr(job.present, f"{axle}_wheel_and_tire_kg"))
    return None if is_absent(present, one["grams"]) else 2 * (one["grams"] - present)


def load_verdict(heavy, one, gawr_kg):
    """Verdict on an axle's heaviest load: its tires, its wheels and the axle itself."""
    limits = [None if capacity is None else 2 * capacity for capacity in one["capacities_g"]] + [grams(gawr_kg)]
    return worst(None if is_absent(heavy, limit) else heavy <= limit for limit in limits)


def rear_load_verdict(job, light):
    """Verdict on the rear axle's lightest load; holds where none is asked."""
    asked = grams(job.targets.rear_load_kg)
    if asked is None:
        return True
    return None if light is None else light >= asked


# Ballast


def slots_of(job, ballast):
    """Where ballast may lie: each item by SKU at each station in the job's order."""
    return [
        {"item": item, "station": station, "most": most_in_slot(job, item, station)}
        for item in sorted(ballast, key=lambda item: item["sku"])
        for station in job.ballast.stations
    ]


def most_in_slot(job, item, station):
    """How many of an item may lie at a station, for that item alone."""
    most = job.ballast.max_items
    if item["max_count"] is not None:
        most = min(most, int(item["max_count"]))
    if exact(station.max_mass_kg) is not None:
        most = min(most, math.floor(exact(station.max_mass_kg) / exact(item["mass_kg"])))
    return most


def is_allowed(job, slots, counts):
    """Whether counts keep the limits of items, stations and the whole plan."""
    if sum(counts) > job.ballast.max_items:
        return False
    by_item, by_station = {}, {}
    for slot, count in zip(slots, counts, strict=True):
        sku, name = slot["item"]["sku"], slot["station"].name
        by_item[sku] = by_item.get(sku, 0) + count
        by_station[name] = by_station.get(name, 0) + count * grams(slot["item"]["mass_kg"])
    items = {slot["item"]["sku"]: slot["item"]["max_count"] for slot in slots}
    stations = {slot["station"].name: grams(slot["station"].max_mass_kg) for slot in slots}
    return all(most is None or by_item[sku] <= most for sku, most in items.items()) and all(
        most is None or by_station[name] <= most for name, most in stations.items()
    )


def loadings(job, ballast):
    """Every allowed way to lay ballast: counts, what it adds to each axle, and its cost."""
    slots = slots_of(job, ballast)
    units = [slot_unit(job, slot) for slot in slots]
    return [
        {
            "counts": counts,
            "front": sum(count * unit["front"] for count, unit in zip(counts, units, strict=True)),
            "rear": sum(count * unit["rear"] for count, unit in zip(counts, units, strict=True)),
            "cents": sum(count * unit["cents"] for count, unit in zip(counts, units, strict=True)),
        }
        for counts in itertools.product(*(range(slot["most"] + 1) for slot in slots))
        if is_allowed(job, slots, counts)
    ]


def slot_unit(job, slot):
    """One ballast item at a station: grams on each axle, and cents."""
    mass = grams(slot["item"]["mass_kg"])
    rear = rhu(mass - front_share_of(mass, slot["station"].at_mm, job))
    return {"front": mass - rear, "rear": rear, "cents": taxed(slot["item"]["price_cents"], job)}


# Builds


def enumerate_builds(job, wheels, tires, spacers, ratios, differentials, ballast):
    """All feasible builds of a job in ranked order, as dicts."""
    fronts = corners(job, "front", wheels, tires, spacers)
    rears = corners(job, "rear", wheels, tires, spacers)
    pairs = [
        (front, rear)
        for front, rear in itertools.product(fronts, rears)
        if not job.job.same_all_round or front["skus"][:2] == rear["skus"][:2]
    ]
    chosen_drives, chosen_loadings, base = drives(job, ratios, differentials), loadings(job, ballast), base_loads_g(job)
    builds = []
    for front, rear in pairs:
        truck = on_the_truck(job, front, rear, base)
        geared = [(drive, engine_rpm(job, rear["tire"], drive["ratio"])) for drive in chosen_drives]
        geared = [(drive, rpm) for drive, rpm in geared if is_accepted(cruise_verdict(job, rpm), job)]
        laden = [(loading, loads_of(job, truck, loading)) for loading in chosen_loadings]
        laden = [(loading, loads) for loading, loads in laden if is_accepted(loads["verdict"], job)]
        for (drive, rpm), (loading, loads) in itertools.product(geared, laden):
            build = build_of(job, truck, drive, rpm, loading, loads)
            if job.money.budget_cents is None or build["cost_cents"] <= job.money.budget_cents:
                builds.append(build)
    return sorted(builds, key=lambda build: sort_key(build, job))


def on_the_truck(job, front, rear, base):
    """Both corners and what they settle whatever the rest of the build is."""
    changes = {"front": change_g(job, "front", front), "rear": change_g(job, "rear", rear)}
    return {
        "front": front,
        "rear": rear,
        "light": {axle: total(base[axle][0], changes[axle]) for axle in base},
        "heavy": {axle: total(base[axle][1], changes[axle]) for axle in base},
        "grams": None if is_absent(front["grams"], rear["grams"]) else 2 * front["grams"] + 2 * rear["grams"],
        "fit": min(front["fit"], rear["fit"]),
        "stance": stance_points(job, front, rear),
    }


def loads_of(job, truck, loading):
    """Axle loads with ballast, and the verdict on them."""
    front_heavy = total(truck["heavy"]["front"], loading["front"])
    rear_heavy = total(truck["heavy"]["rear"], loading["rear"])
    rear_light = total(truck["light"]["rear"], loading["rear"])
    verdict = worst([
        load_verdict(front_heavy, truck["front"], job.truck.gawr_front_kg),
        load_verdict(rear_heavy, truck["rear"], job.truck.gawr_rear_kg),
        rear_load_verdict(job, rear_light),
    ])  # fmt: skip
    return {"front_heavy_g": front_heavy, "rear_heavy_g": rear_heavy, "rear_light_g": rear_light, "verdict": verdict}


def build_of(job, truck, drive, rpm, loading, loads):
    """One build as a dict."""
    front, rear = truck["front"], truck["rear"]
    cents = front["cents"] + rear["cents"] + drive["cents"] + loading["cents"]
    carried = total(truck["grams"], loading["front"], loading["rear"])
    return {
        **dict(zip(("front_wheel", "front_tire", "front_spacer"), front["skus"], strict=True)),
        **dict(zip(("rear_wheel", "rear_tire", "rear_spacer"), rear["skus"], strict=True)),
        **dict(zip(("ratio", "differential"), drive["skus"], strict=True)),
        "counts": loading["counts"],
        "cost_cents": cents,
        "points": {
            "cost": ramp(cost_scale_cents(job), 0, cents),
            "cruise": cruise_points(job, rpm),
            "fit": truck["fit"],
            "traction": traction_points(job, loads["rear_light_g"], drive["grip"]),
            "stance": truck["stance"],
            "weight": 0 if carried is None else ramp(grams(job.scales.weight_kg), 0, carried),
        },
        "cruise_rpm": rpm,
        "front_heavy_g": loads["front_heavy_g"],
        "rear_heavy_g": loads["rear_heavy_g"],
        "rear_light_g": loads["rear_light_g"],
    }


def cost_scale_cents(job):
    """Cost at which the points for cost are 0."""
    return job.scales.cost_cents or job.money.budget_cents or 500000


def traction_points(job, rear_light_g, own_grip):
    """Points for thrust, against a locked differential at the load asked for."""
    if rear_light_g is None:
        return 0
    reference = exact(job.targets.rear_load_kg) or exact(job.truck.gawr_rear_kg) or 1000
    return ramp(0, rhu(1000 * reference) * grip(job, "locked", None), rear_light_g * own_grip)


def stance_points(job, front, rear):
    """Points for the wanted rake and gaps to the lips; what is not asked counts nothing."""
    rake, rake_error = exact(job.targets.rake_mm), 0
    if rake is not None:
        diameters = (front["diameter_um"], rear["diameter_um"])
        rake_error = None if is_absent(*diameters) else abs(diameters[1] - diameters[0] - rhu(1000 * rake))
    error = total(rake_error, front["lip_error_um"], rear["lip_error_um"])
    return 0 if error is None else ramp(rhu(1000 * exact(job.scales.stance_mm)), 0, error)


# Ranking


def criteria_of(job):
    """Criteria in use with their weights; an order has weights of 1 that nothing reads."""
    if job.order.criteria:
        return dict.fromkeys(job.order.criteria, 1)
    return {name: weight for name, weight in job.weights.items() if weight > 0} or dict.fromkeys(CRITERIA, 1)


def sort_key(build, job):
    """Best first: by points, then cost, then SKUs, then ballast."""
    weights, points = criteria_of(job), build["points"]
    if job.order.criteria:
        first = tuple(-points[name] for name in weights)
    else:
        first = (-sum(weight * points[name] for name, weight in weights.items()),)
    names = ("front_wheel", "front_tire", "front_spacer", "rear_wheel", "rear_tire", "rear_spacer")
    return (*first, build["cost_cents"], *(build[name] for name in (*names, "ratio", "differential")), build["counts"])


def unbeaten(builds, job):
    """Whether no other feasible build is as good on every criterion in use and better on one, for each build."""
    points = [tuple(build["points"][name] for name in criteria_of(job)) for build in builds]
    frontier = [one for one in set(points) if not any(beats(other, one) for other in set(points))]
    return [one in frontier for one in points]


def beats(one, other):
    """Whether one is nowhere worse and somewhere better."""
    return one != other and all(own >= its for own, its in zip(one, other, strict=True))

"""What the axles and the truck carry, and where ballast may lie."""

import itertools
import math
from fractions import Fraction
from functools import cache

from verdicts import Near, exact, grams, holds, is_absent, is_worst, rhu, total, worst

from combo.job import LoadItem


def front_share_of(mass, station_mm, job):
    """Part of a mass that the front axle carries."""
    return mass * exact(station_mm) / exact(job.truck.wheelbase_mm)


def rear_g(job, mass_g, station_mm):
    """Whole grams of a mass that the rear axle carries."""
    return rhu(mass_g - front_share_of(mass_g, station_mm, job))


def spare_moves(job):
    """Whether the spare counts in the loads."""
    return job.job.spare and exact(job.spare.station_mm) is not None


def share_kg(item, axle, job):
    """What an item that is carried adds to an axle."""
    mass = exact(item.mass_kg)
    if is_absent(mass, exact(item.station_mm)):
        return None
    front = front_share_of(mass, item.station_mm, job)
    return front if axle == "front" else mass - front


def is_pulled(job):
    """Whether the job names a trailer."""
    return exact(job.trailer.mass_kg) is not None


def carried_items(job):
    """All that the truck carries: what the job lists, and the trailer's tongue."""
    own = job.trailer
    tongue = [LoadItem("tongue", own.tongue_kg, own.station_mm, own.cases)] if is_pulled(job) else []
    return [*job.loads.items, *tongue]


def towed_g(job, name):
    """Whole grams on the wheels of the trailer in a load case; None where not known."""
    own = job.trailer
    if not is_pulled(job) or (own.cases and name not in own.cases):
        return 0
    return None if exact(own.tongue_kg) is None else rhu(1000 * (exact(own.mass_kg) - exact(own.tongue_kg)))


def case_names(job):
    """The load cases; one without a name where there is none."""
    named = {*job.loads.cases, *(case for item in carried_items(job) for case in item.cases)}
    return sorted(named) or [None]


def scale_loads_g(job):
    """Per load case: what each axle carries with the present wheels, and what is aboard; None where not known.

    What was aboard while the axles were weighed is taken off first, and then counts as all else does.
    """
    cases, weighed = [], [item for item in job.loads.items if item.weighed]
    for name in case_names(job):
        aboard = [item for item in carried_items(job) if not item.cases or name in item.cases]
        mass = total(*(exact(item.mass_kg) for item in aboard))
        loads = {"items": None if mass is None else rhu(1000 * mass), "towed": towed_g(job, name)}
        for axle in ("front", "rear"):
            scale = exact(job.loads.axle_kg(axle))
            items = total(*(share_kg(item, axle, job) for item in aboard))
            off = sum(share_kg(item, axle, job) for item in weighed)
            loads[axle] = None if is_absent(scale, items) else rhu(1000 * (scale + items - off))
            loads[f"{axle}_side"] = side_g(job, axle, aboard)
        cases.append(loads)
    return cases


def side_g(job, axle, aboard):
    """Whole grams that an axle's heavier wheel carries over half of the axle's load; None where not known."""
    left, right = (exact(getattr(job.loads, f"{axle}_{side}_kg")) for side in ("left", "right"))
    pads = Fraction(0) if is_absent(left, right) else (right - left) / 2
    moment = sum(
        ((item in aboard) - item.weighed) * exact(item.mass_kg) * exact(item.lateral_mm) for item in job.loads.items
    )
    beam = getattr(job.axle, axle)
    width, share = exact(beam.track_mm), Fraction(beam.roll_share_ppm or 1000000, 1000000)
    if moment and width is None:
        return None
    return rhu(1000 * abs(pads + (share * moment / width if moment else 0)))


def spare_change_g(job, rear):
    """What the new spare adds to each axle in place of the present one."""
    if not spare_moves(job):
        return {"front": 0, "rear": 0}
    new = total(grams(rear["wheel"]["mass_kg"]), grams(rear["tire"]["mass_kg"]))
    old = grams(job.present.spare_kg)
    if is_absent(new, old):
        return {"front": None, "rear": None}
    behind = {mass: rear_g(job, mass, job.spare.station_mm) for mass in (new, old)}
    return {"front": new - behind[new] - (old - behind[old]), "rear": behind[new] - behind[old]}


def cases_of(job, front, rear, scale_loads):
    """Per load case: axle loads, the whole truck and its payload with the new wheels and tires, without ballast."""
    spare, change = spare_change_g(job, rear), {}
    for axle, one in (("front", front), ("rear", rear)):
        names = (f"{axle}_wheel_and_tire_kg", f"{axle}_spacer_kg")
        present = total(*(grams(getattr(job.present, name)) for name in names))
        corners = None if is_absent(present, one["grams"]) else 2 * (one["grams"] - present)
        change[axle] = total(corners, spare[axle])
    cases = [{axle: total(case[axle], change[axle]) for axle in change} for case in scale_loads]
    for case, loads in zip(cases, scale_loads, strict=True):
        for axle in ("front", "rear"):
            side = loads[f"{axle}_side"]
            case[f"{axle}_wheels"] = None if is_absent(case[axle], side) else case[axle] + 2 * side
        case["truck"] = total(case["front"], case["rear"])
        case["payload"] = total(loads["items"], change["front"], change["rear"])
        case["towed"] = loads["towed"]
        case["train"] = total(case["truck"], case["towed"])
    return cases


# Plus-or-minus of the loads


def weighed_kg(job, path):
    """Plus-or-minus of a mass off a scale."""
    return exact(job.tolerances.get(path, job.tolerance.mass_kg)) if is_worst(job) else Fraction(0)


def scale_kg(job, axle):
    """Plus-or-minus of an axle's load: its own, or that of the two pads under its wheels."""
    if exact(getattr(job.loads, f"{axle}_axle_kg")) is not None:
        return weighed_kg(job, f"loads.{axle}_axle_kg")
    return sum(weighed_kg(job, f"loads.{axle}_{side}_kg") for side in ("left", "right"))


def corners_kg(job, axle):
    """Plus-or-minus of what is on an axle now: wheels and tires, and spacers where they state one."""
    spacer = exact(job.tolerances.get(f"present.{axle}_spacer_kg", 0)) if is_worst(job) else Fraction(0)
    return 2 * (weighed_kg(job, f"present.{axle}_wheel_and_tire_kg") + spacer)


def gives_kg(job):
    """Of each load, by how much all scales together may have it off; `share` is that of the front share's margin."""
    front, rear = scale_kg(job, "front"), scale_kg(job, "rear")
    corners = {axle: corners_kg(job, axle) for axle in ("front", "rear")}
    spare, ahead = Fraction(0), Fraction(0)
    if spare_moves(job):
        spare = weighed_kg(job, "present.spare_kg")
        ahead = front_share_of(spare, job.spare.station_mm, job)
    share = front_share(job)
    return {
        "front": front + corners["front"] + abs(ahead),
        "rear": rear + corners["rear"] + abs(spare - ahead),
        "truck": front + rear + corners["front"] + corners["rear"] + spare,
        "payload": corners["front"] + corners["rear"] + spare,
        "share": (1 - share) * (front + corners["front"])
        + share * (rear + corners["rear"])
        + abs((1 - share) * ahead - share * (spare - ahead)),
    }


# Verdicts

PRESSURE_RULES = {"passenger": (0.80, 180, Fraction(10, 11)), "light_truck": (0.70, 240, Fraction(1))}
"""By service of a tire: power of pressure by which its load goes, its least pressure [kPa], its share on a truck."""


def under(mass_g, limit_g, give_kg):
    """Verdict on a mass under its limit."""
    return None if is_absent(mass_g, limit_g) else holds(Near(Fraction(limit_g - mass_g, 1000), give_kg))


def axle_verdicts(axle, heavy, job, one, give_kg):
    """Verdicts on an axle's heaviest load by name: the axle itself; tires and wheels by twice the heavier wheel's."""
    limits = dict(zip(("tire_load", "wheel_load"), one["capacities_g"], strict=True))
    limits["wheel_pressure"] = pressure_capacity_g(one["wheel"], one["tire"])
    verdicts = {
        f"{axle}_{name}": under(heavy[f"{axle}_wheels"], None if limit is None else 2 * limit, give_kg)
        for name, limit in limits.items()
    }
    return verdicts | {f"gawr_{axle}": under(heavy[axle], grams(getattr(job.truck, f"gawr_{axle}_kg")), give_kg)}


def pressure_capacity_g(wheel, tire):
    """What a tire carries on a truck at the wheel's largest pressure; nothing below its least pressure."""
    rating, rated, pressure = (
        exact(value) for value in (tire["load_rating_kg"], tire["rated_pressure_kpa"], wheel["max_pressure_kpa"])
    )
    if is_absent(pressure) or tire["service"] not in PRESSURE_RULES:
        return None
    power, least, share = PRESSURE_RULES[tire["service"]]
    if pressure < least:
        return 0
    if is_absent(rating, rated):
        return None
    return math.floor(1000 * float(rating * share) * float(pressure / rated) ** power + 1e-6)


def rear_load_verdict(job, light, give_kg):
    """Verdict on the rear axle's lightest load; holds where none is asked."""
    asked = grams(job.targets.rear_load_kg)
    return True if asked is None else under(asked, light, give_kg)


def front_share(job):
    """The least share of the front axle, in whole thousandths."""
    return Fraction(rhu(Fraction(job.targets.front_share_ppm, 1000)), 1000)


def front_share_verdict(job, cases, loading, give_kg):
    """Verdict on the front axle's share in every load case, to a tenth of a gram; holds where none is asked."""
    if job.targets.front_share_ppm <= 0:
        return True
    if is_absent(*(case["truck"] for case in cases)):
        return None
    least = min(
        case["front"] + loading["front"] - front_share(job) * (case["truck"] + loading["front"] + loading["rear"])
        for case in cases
    )
    return holds(Near(least / 1000, give_kg), 10000)


def with_ballast(cases, loading):
    """Rear load, the whole truck and what it pulls in every load case, with ballast; None where not known."""
    added = loading["front"] + loading["rear"]
    return [(total(case["rear"], loading["rear"]), total(case["truck"], added), case["towed"]) for case in cases]


def hitch(job):
    """Verdict on the trailer on its hitch; holds without one."""
    if not is_pulled(job):
        return True
    return under(grams(job.trailer.mass_kg), grams(job.trailer.hitch_rating_kg), 0)


def loads_of(job, truck, loading, gives):
    """Axle loads with ballast, and the verdicts on them by name; the front axle must carry its load without it, too."""
    cases, ballast = truck["cases"], {"front": max(0, loading["front"]), "rear": loading["rear"]}
    ballast |= {f"{axle}_wheels": added for axle, added in ballast.items()}
    ballast["truck"] = ballast["payload"] = ballast["train"] = loading["front"] + loading["rear"]
    heavy = {load: total(truck["heavy"][load], added) for load, added in ballast.items()}
    front_light, rear_light = (total(truck["light"][axle], loading[axle]) for axle in ("front", "rear"))
    payload = grams(job.truck.payload_kg)
    checks = {
        **axle_verdicts("front", heavy, job, truck["front"], gives["front"]),
        **axle_verdicts("rear", heavy, job, truck["rear"], gives["rear"]),
        "gvwr": under(heavy["truck"], grams(job.truck.gvwr_kg), gives["truck"]),
        "gcwr": under(heavy["train"], grams(job.truck.gcwr_kg), gives["truck"]) if is_pulled(job) else True,
        "hitch": hitch(job),
        "payload": True if payload is None else under(heavy["payload"], payload, gives["payload"]),
        "rear_load": rear_load_verdict(job, rear_light, gives["rear"]),
        "front_share": front_share_verdict(job, cases, loading, gives["share"]),
        "ballast": loading["verdict"],
    }
    return {
        "front_heavy_g": heavy["front"],
        "rear_heavy_g": heavy["rear"],
        "truck_heavy_g": heavy["truck"],
        "train_heavy_g": heavy["train"],
        "payload_g": heavy["payload"],
        "rear_light_g": rear_light,
        "front_light_g": front_light,
        "laden_g": with_ballast(cases, loading),
        "front_give_kg": gives["front"],
        "rear_give_kg": gives["rear"],
        "checks": checks,
    }


def heaviest_of(cases):
    """The heaviest of each load over the cases; None where one is not known."""
    return {
        load: None if is_absent(*(case[load] for case in cases)) else max(case[load] for case in cases)
        for load in ("front", "rear", "front_wheels", "rear_wheels", "truck", "payload", "train")
    }


def lightest_of(cases):
    """The lightest rear load of any case, and the front load of that case; None where one is not known."""
    front, rear = ([case[axle] for case in cases] for axle in ("front", "rear"))
    if is_absent(*rear):
        return {"front": None, "rear": None}
    if is_absent(*front):
        return {"front": None, "rear": min(rear)}
    lightest = min(zip(rear, front, strict=True))
    return {"front": lightest[1], "rear": lightest[0]}


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
        most = min(most, grams(station.max_mass_kg) // grams(item["mass_kg"]))
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
    """Every allowed way to lay ballast: counts, what it adds to each axle, its items, and whether it holds and fits."""
    slots = slots_of(job, ballast)
    units = [slot_unit(job, slot) for slot in slots]
    return [
        {
            "counts": counts,
            "front": sum(count * unit["front"] for count, unit in zip(counts, units, strict=True)),
            "rear": sum(count * unit["rear"] for count, unit in zip(counts, units, strict=True)),
            "items": [(slot["item"], count) for slot, count in zip(slots, counts, strict=True) if count],
            "verdict": layout_verdict(job, slots, counts),
        }
        for counts in itertools.product(*(range(slot["most"] + 1) for slot in slots))
        if is_allowed(job, slots, counts)
    ]


def slot_unit(job, slot):
    """One ballast item at a station: grams on each axle."""
    mass = grams(slot["item"]["mass_kg"])
    rear = rear_g(job, mass, slot["station"].at_mm)
    return {"front": mass - rear, "rear": rear}


def layout_verdict(job, slots, counts):
    """Verdict on what lies at every station: held by its ties, and beside one another on its floor."""
    verdicts = []
    for station in job.ballast.stations:
        laid = [
            slot["item"]
            for slot, count in zip(slots, counts, strict=True)
            if slot["station"].name == station.name
            for _ in range(count)
        ]
        if laid:
            verdicts += [tie_down(station, laid), ballast_space(station, laid)]
    return worst(verdicts)


def tie_down(station, laid):
    """Verdict on the ties: they hold half the mass that lies there; one that does not run over it counts half."""
    held = exact(station.tie_working_load_kg)
    if held is None or station.ties == 0:
        return None
    whole = 1 if station.tie_run == "over" else Fraction(1, 2)
    return holds(station.ties * held * whole - sum(exact(item["mass_kg"]) for item in laid) / 2)


def ballast_space(station, laid):
    """Verdict on the floor: all items lie on it without overlap, on as many layers as it takes.

    Where those of known size do not, it fails whatever the size of the others.
    """
    floor = (exact(station.length_mm), exact(station.width_mm))
    sizes = [(exact(item["length_mm"]), exact(item["width_mm"])) for item in laid]
    known = [size for size in sizes if not is_absent(*size)]
    if is_absent(*floor):
        return None
    if not any(
        all(can_lie(floor, tuple(sorted(layer))) for layer in layers) for layers in split(known, station.layers)
    ):
        return False
    return True if len(known) == len(sizes) else None


def split(sizes, layers):
    """Every way to lay items on layers."""
    for chosen in itertools.product(range(layers), repeat=len(sizes)):
        yield [[size for size, at in zip(sizes, chosen, strict=True) if at == layer] for layer in range(layers)]


@cache
def can_lie(floor, sizes):
    """Whether rectangles lie on a floor without overlap.

    What lies can be pushed to one corner, until each has its near edges at a sum of others' sides or at 0.
    """
    for turned in itertools.product((False, True), repeat=len(sizes)):
        laid = [size[::-1] if is_turned else size for size, is_turned in zip(sizes, turned, strict=True)]
        if place(floor, laid, []):
            return True
    return False


def place(floor, waiting, placed):
    """Whether the rectangles that wait find a place beside those that lie."""
    if not waiting:
        return True
    size, rest = waiting[0], waiting[1:]
    others = rest + [rectangle[2:] for rectangle in placed]
    spots = itertools.product(*(sums(other[way] for other in others) for way in (0, 1)))
    return any(
        place(floor, rest, [*placed, (*spot, *size)])
        for spot in spots
        if all(spot[way] + size[way] <= floor[way] for way in (0, 1))
        and all(are_apart((*spot, *size), other) for other in placed)
    )


def sums(sides):
    """Sums of any of the sides, smallest first."""
    sides = list(sides)
    return sorted({sum(some) for count in range(len(sides) + 1) for some in itertools.combinations(sides, count)})


def are_apart(one, other):
    """Whether two rectangles (place and size) do not overlap."""
    return any(one[way] + one[way + 2] <= other[way] or other[way] + other[way + 2] <= one[way] for way in (0, 1))

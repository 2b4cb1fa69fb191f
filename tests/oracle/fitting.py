"""What a wheel, a tire and a spacer at an axle must clear, one check after the other."""

import itertools
import math
from fractions import Fraction

from verdicts import (
    UNKNOWN,
    Near,
    alike,
    exact,
    holds,
    in_band,
    is_absent,
    is_worst,
    listed,
    measured,
    near,
    plausible,
    ramp,
    rhu,
    taped,
    within,
    worst,
)

from combo.job import SIDES, STATES

PI = Fraction("3.14159265358979323846264338327950288")
DEFAULT_FLANGE_MM = Fraction("12.7")
MILE_MM = 63360 * Fraction("25.4")
LEAST_CLEARANCE_MM = Fraction("3.175")
CIRCLE_TOLERANCE_MM = Fraction("0.15")
SPEED_KM_H = {"Q": 160, "R": 170, "S": 180, "T": 190, "U": 200, "H": 210, "V": 240, "W": 270, "Y": 300}
NO_SPACER = {"sku": "", "price_cents": 0, "mass_kg": 0, "thickness_mm": 0}
NUT_HEIGHT_MM = Fraction("22.225")
HUB_CENTRIC_MM = Fraction("0.1")
ROLL_CENTER_MM = Fraction("76.2")
HUB_HEIGHT_OF_DIAMETER = Fraction("0.465")
ROLLING_FACTOR = {"radial": Fraction("0.97"), "bias": Fraction("0.98")}
UNKNOWN_ROLLING_FACTOR = Fraction("0.975")
GROWING_STATES = ("", "ride_height", "full_bump")
SEAT_TOLERANCE = {"cone": Fraction(1), "ball": Fraction("0.5"), "shank": Fraction("25.4") / 16}
CHAIN_ROOMS_IN = {"S": ("1.46", "0.59"), "U": ("1.97", "0.91"), "W": ("2.50", "1.50")}
ROOMS = (
    "room_inner_mm",
    "room_outer_mm",
    "hub_to_top_mm",
    "hub_to_lip_mm",
    "opening_ahead_mm",
    "opening_behind_mm",
    "sweep_ahead_mm",
    "sweep_behind_mm",
    "frame_room_mm",
)


# Sizes of the corner


def flange_mm(wheel):
    """Thickness of one rim flange."""
    flange = exact(wheel["flange_mm"])
    return DEFAULT_FLANGE_MM if flange is None else flange


def effective_offset_mm(job, wheel, spacer):
    """Offset less the spacer's thickness."""
    offset = listed(job, wheel["offset_mm"]) - exact(spacer["thickness_mm"])
    return offset.or_plausible("corner.offset_mm")


def effective_backspace_mm(job, wheel, spacer):
    """Backspace to the edge of the flange, less the spacer's thickness."""
    offset = listed(job, wheel["offset_mm"]) - exact(spacer["thickness_mm"])
    backspace = offset + (exact(wheel["rim_width_mm"]) + 2 * flange_mm(wheel)) / 2
    return backspace.or_plausible("corner.backspace_mm")


def tire_share(job, tire, radial, other):
    """A share that depends on the construction of the tire; an unknown one counts as bias. None in nominal sizes."""
    if not is_worst(job) or job.tolerance.tires == "none":
        return Fraction(0)
    return Fraction(radial) if tire["construction"] == "radial" else Fraction(other)


def section_width_mm(job, wheel, tire):
    """Section width on this rim."""
    width, measured_on = exact(tire["section_width_mm"]), exact(tire["measuring_rim_mm"])
    if is_absent(width, measured_on):
        return plausible("corner.section_width_mm")
    width += Fraction("0.4") * (exact(wheel["rim_width_mm"]) - measured_on)
    return Near(width, width * tire_share(job, tire, "0.04", "0.06"))


def tread_width_mm(job, tire):
    """Width of the tread; a size of None where it is not listed."""
    tread = exact(tire["tread_width_mm"])
    return Near(tread, (tread or 0) * tire_share(job, tire, "0.04", "0.06"))


def size_give_mm(job, tire, diameter):
    """How far a diameter of a new tire may be off."""
    above_rim = diameter - rhu(exact(tire["rim_diameter_mm"]))
    return above_rim * tire_share(job, tire, "0.04", "0.08")


def diameter_mm(job, tire):
    """Overall diameter at rest, which clearances go by."""
    diameter = exact(tire["overall_diameter_mm"])
    if diameter is None:
        return plausible("tire.overall_diameter_mm")
    return Near(diameter, size_give_mm(job, tire, diameter))


def running_diameter_mm(job, tire):
    """Diameter that ground and gearing go by; a size of None where it is not known."""
    diameter = exact(tire["running_diameter_mm"])
    return UNKNOWN if diameter is None else Near(diameter, size_give_mm(job, tire, diameter))


def growth(job, tire):
    """Part by which a tire is larger at the top speed than at rest; that of one of unknown construction is bias."""
    top, rolling = exact(job.targets.top_speed_km_h), job.rolling
    share = rolling.growth_radial_ppm if tire["construction"] == "radial" else rolling.growth_bias_ppm
    return Fraction(0) if top is None else Fraction(share, 1000000) * (top / 160) ** 2


def grown_diameter_mm(job, tire, state):
    """Overall diameter in a state, grown at the top speed where the truck runs in it; its plus-or-minus is not."""
    diameter = diameter_mm(job, tire)
    if state not in GROWING_STATES:
        return diameter
    return Near(diameter.times(1 + growth(job, tire)).size, diameter.give, diameter.times(1 + growth(job, tire)).span)


# How a tire rolls


def rolling_factor(job, construction):
    """Rolling radius over half of the diameter."""
    own = exact(job.rolling.factor)
    return ROLLING_FACTOR.get(construction, UNKNOWN_ROLLING_FACTOR) if own is None else own


def rolling_circumference_mm(job, tire):
    """What the truck moves on in a turn of the tire."""
    revs, diameter = exact(tire["revs_per_mile"]), exact(tire["running_diameter_mm"])
    if revs is not None:
        return MILE_MM / revs
    return None if diameter is None else PI * diameter * rolling_factor(job, tire["construction"])


def rolling_share(job, tire):
    """Plus-or-minus of the usual factor, as a part of the radius."""
    is_usual = exact(tire["revs_per_mile"]) is None and exact(job.rolling.factor) is None
    if not (is_usual and is_worst(job)):
        return Fraction(0)
    return Fraction("0.01") if tire["construction"] in ROLLING_FACTOR else Fraction("0.015")


# What is on the truck now


def stays(part, axle):
    """Whether the part is at this axle already."""
    return part.get("on_truck", "") in (axle, "both")


def tire_now(tires, axle):
    """The tire that is on an axle, the first by SKU; None where none is listed."""
    return min((tire for tire in tires if stays(tire, axle)), key=lambda tire: tire["sku"], default=None)


def hub_height_mm(job, axle):
    """Height of the hub over the ground, as measured."""
    return taped(job, f"present.{axle}_hub_height_mm", getattr(job.present, f"{axle}_hub_height_mm"))


def diameter_now_mm(job, axle, tires):
    """Diameter of the tire that is on the truck: measured, else listed; a size of None where neither is known."""
    own = taped(job, f"present.{axle}_tire_diameter_mm", getattr(job.present, f"{axle}_tire_diameter_mm"))
    tire = tire_now(tires, axle)
    return own if own.size is not None or tire is None else Near(exact(tire["running_diameter_mm"]))


def hubs_and_diameters_now(job, axle, tires):
    """Every pair of a hub's height and a tire's diameter that the truck may have now; none where not known.

    An unknown diameter is estimated from the hub's height.
    """
    hub, diameter = hub_height_mm(job, axle), diameter_now_mm(job, axle, tires)
    if hub.size is None:
        return []
    if diameter.size is None:
        return [(height, height / HUB_HEIGHT_OF_DIAMETER) for height in hub.ends]
    return list(itertools.product(hub.ends, diameter.ends))


def has_deflection(job, axle, tires):
    """Whether the tire that is on the truck is known to stand lower than without load."""
    hub, diameter = hub_height_mm(job, axle).size, diameter_now_mm(job, axle, tires).size
    return hub is not None and (diameter is None or 2 * hub <= diameter)


# Rooms in the states of the suspension


def states_of(job, axle):
    """The rooms at an axle in every state that the job names, or in the one that it measures, on each side."""
    house = getattr(job.wheelhouse, axle)
    named = [name for name in STATES if getattr(house, name) is not None]
    return [state_of(job, axle, name, side) for name in named or [""] for side in sides_of(job, axle)]


def sides_of(job, axle):
    """Sides of the truck that are told apart; one without a name where none are."""
    is_measured = any(path.startswith(f"wheelhouse.{axle}.") for path in job.sides)
    return SIDES if is_measured or getattr(job.panhard, f"{axle}_axle_end") else ("",)


def state_of(job, axle, name, side=""):
    """Rooms, lock and lateral shift in a state: what it leaves out is the wheelhouse's; without a side the smaller."""
    house = getattr(job.wheelhouse, axle)
    own = getattr(house, name) if name else house
    rooms = {}
    for key in ROOMS:
        is_own = name and exact(getattr(own, key)) is not None
        path = f"wheelhouse.{axle}.{name}.{key}" if is_own else f"wheelhouse.{axle}.{key}"
        value = getattr(own if is_own else house, key)
        if side and path in job.sides:
            path, value = f"{path}.{side}", job.sides[path][SIDES.index(side)]
        rooms[key] = taped(job, path, value)
    lock = exact(own.lock_deg) if name else None
    lock = exact(job.steering.lock_deg) if lock is None else lock
    inward, outward, across = shifts_mm(job, axle, name, side)
    return {**rooms, "name": name, "lock_deg": lock, "inward_mm": inward, "outward_mm": outward, "across_mm": across}


def shifts_mm(job, axle, name, side):
    """Room that a Panhard bar takes in a state on the inside, on the outside, and between the plumb lines; unknown
    where the travel is.
    """
    if exact(getattr(job.panhard, f"{axle}_length_mm")) is None:
        return [Fraction(0)] * 3
    travel = travel_mm(job, axle, name) if name else None
    if travel is None and name == "ride_height":
        travel = Fraction(0)
    if travel is None:
        return [None] * 3
    drawn, end = drawn_mm(job, axle, travel), getattr(job.panhard, f"{axle}_axle_end")
    if not (side and end):
        return [abs(drawn), abs(drawn), 2 * abs(drawn)]
    out = drawn if side == end else -drawn
    return [-out, out, Fraction(0)]


def travel_mm(job, axle, name):
    """Travel of the axle in a state; None where the state or its travel is not given."""
    state = getattr(getattr(job.wheelhouse, axle), name)
    return None if state is None else exact(state.travel_mm)


def drawn_mm(job, axle, travel):
    """How far a Panhard bar draws the axle towards its axle end at a travel; nothing without a bar."""
    bar, rise = (exact(getattr(job.panhard, f"{axle}_{size}_mm")) for size in ("length", "rise"))
    if bar is None:
        return Fraction(0)
    return Fraction(math.sqrt(bar**2 - (rise - travel) ** 2)) - Fraction(math.sqrt(bar**2 - rise**2))


def chain_room_mm(job, axle, place):
    """Room that tire chains take over the tread or at the sidewall; 0 without any."""
    own = exact(getattr(job.chains, f"{axle}_{place}_mm"))
    if own is not None:
        return own
    rooms = CHAIN_ROOMS_IN.get(getattr(job.chains, axle), ("0", "0"))
    return Fraction(rooms[("tread", "sidewall").index(place)]) * Fraction("25.4")


def clearance_mm(job, axle, side, place, state=""):
    """Clearance to keep on a side of the tire: the job's own, or the room of the chains where that is larger.

    A truck that is laid out on air does not drive, so its chains need no room.
    """
    own = exact(getattr(getattr(job.wheelhouse, axle), f"clearance_{side}_mm"))
    return own if state == "laid_out" else max(own, chain_room_mm(job, axle, place))


# A live axle with one wheel up and one down


def is_worked_out(job, axle):
    """Whether the articulated state of an axle is worked out, as nobody has measured it."""
    return getattr(job.axle, axle).live and getattr(job.wheelhouse, axle).articulated is None


def roll_centers_mm(job, axle):
    """Heights of the roll center over the hub center that count; a None where it is not known."""
    if exact(getattr(job.panhard, f"{axle}_length_mm")) is None:
        return [-ROLL_CENTER_MM, ROLL_CENTER_MM]
    return [exact(getattr(job.panhard, f"{axle}_middle_mm"))]


def tilt_of(job, axle):
    """Tilt of an articulated axle, and how far it is aside; None where not known."""
    beam, up, down = getattr(job.axle, axle), travel_mm(job, axle, "full_bump"), travel_mm(job, axle, "full_droop")
    stops, track = exact(beam.stop_distance_mm), exact(beam.track_mm)
    if is_absent(up, down, stops, track):
        return None
    sine = (up - down) / stops
    if sine >= 1:
        return None
    return {
        "sine": sine,
        "cosine": Fraction(math.sqrt(1 - sine**2)),
        "half_track": track / 2,
        "raised": (track - stops) / 2 * sine,
        "shift": abs(drawn_mm(job, axle, (up + down) / 2)),
    }


def points_of(job, wheel, tire):
    """Of each point of a tire that may touch: its height over the hub center, and half of the width there."""
    diameter, half = diameter_mm(job, tire), section_width_mm(job, wheel, tire).times(Fraction(1, 2))
    tread = tread_width_mm(job, tire)
    half_tread = half if tread.size is None else tread.times(Fraction(1, 2))
    return {
        "top": (diameter.times(Fraction(1, 2)), half_tread),
        "middle": ((diameter + rhu(exact(tire["rim_diameter_mm"]))).times(Fraction(1, 4)), half),
        "bottom": (diameter.times(Fraction(-1, 2)), half_tread),
    }


def articulated_rooms(job, axle, wheel, tire, spacer):
    """What is left around a tire of an axle that is tilted as far as it goes, with either wheel up, by check."""
    left = {"inner_sidewall": [], "outer_sidewall": [], "fender_top": []}
    for raised in sides_of(job, axle):
        for name, rooms in tilted_rooms(job, axle, wheel, tire, spacer, raised).items():
            left[name].extend(rooms)
    return left


def tilted_rooms(job, axle, wheel, tire, spacer, raised):
    """What is left with the wheel of one side up and that of the other down, by check."""
    tilt, centers = tilt_of(job, axle), roll_centers_mm(job, axle)
    if tilt is None:
        return {name: [UNKNOWN] for name in ("inner_sidewall", "outer_sidewall", "fender_top")}
    dropped = {"left": "right", "right": "left"}.get(raised, "")
    bump, droop = state_of(job, axle, "full_bump", raised), state_of(job, axle, "full_droop", dropped)
    inner, outer = (clearance_mm(job, axle, side, "sidewall") for side in ("inner", "outer"))
    top = clearance_mm(job, axle, "top", "tread")
    offset, points = effective_offset_mm(job, wheel, spacer), points_of(job, wheel, tire)
    lifted = tilt["half_track"] * (1 - tilt["cosine"])
    left = {"inner_sidewall": [], "outer_sidewall": []}
    for center, (name, (height, half)) in itertools.product(centers, points.items()):
        aside = UNKNOWN if center is None else (height - center).times(tilt["sine"])
        raised_in, dropped_out = aside + lifted, aside - lifted
        if name == "bottom":
            left["inner_sidewall"].append(droop["room_inner_mm"] - offset - half + dropped_out - inner - tilt["shift"])
            continue
        left["inner_sidewall"].append(bump["room_inner_mm"] - offset - half - raised_in - inner - tilt["shift"])
        left["outer_sidewall"].append(bump["room_outer_mm"] + offset - half + raised_in - outer - tilt["shift"])
        left["outer_sidewall"].append(droop["room_outer_mm"] + offset - half - dropped_out - outer - tilt["shift"])
    height, half = points["top"]
    reach = height.times(tilt["cosine"]) + half.times(tilt["sine"])
    return {**left, "fender_top": [bump["hub_to_top_mm"] - tilt["raised"] - reach - top]}


# Checks on what the criterion "fit" looks at


def fit_rooms(job, axle, wheel, tire, spacer):
    """Of each check that the criterion "fit" looks at: what is left in every part of it, and its clearance [mm]."""
    rooms = {}
    for state in states_of(job, axle):
        told = [rooms_in_state(job, axle, state, wheel, tire, spacer)]
        if axle == "front":
            told.append({"steer_sweep": steer_rooms(job, state, wheel, tire, spacer)})
        for name, left in itertools.chain.from_iterable(one.items() for one in told):
            rooms.setdefault(name, []).extend(left)
    if is_worked_out(job, axle):
        for name, left in articulated_rooms(job, axle, wheel, tire, spacer).items():
            rooms[name].extend(left)
    rooms |= {"brake_barrel": [brake_barrel(job, axle, wheel)], "brake_spoke": [brake_spoke(job, axle, wheel, spacer)]}
    return {name: (left, clearance_of(job, axle, name)) for name, left in rooms.items()}


def clearance_of(job, axle, check):
    """Clearance that a check is to keep; at least an eighth of an inch for the points."""
    if check.startswith("brake"):
        return max(exact(getattr(job.brakes, axle).clearance_mm), LEAST_CLEARANCE_MM)
    if check == "backspace_limit":
        return max(exact(getattr(job.wheelhouse, axle).clearance_inner_mm), LEAST_CLEARANCE_MM)
    sides = {
        "inner_sidewall": ("inner",),
        "outer_sidewall": ("outer",),
        "wheelhouse_width": ("inner", "outer"),
        "fender_top": ("top",),
        "opening": ("opening",),
        "steer_sweep": ("sweep",),
    }[check]
    place = "tread" if sides[0] in ("top", "opening", "sweep") else "sidewall"
    return sum(max(clearance_mm(job, axle, side, place), LEAST_CLEARANCE_MM) for side in sides)


def rooms_in_state(job, axle, state, wheel, tire, spacer):
    """What is left beside, over and around the tire in a state, by check."""
    inner, outer = (clearance_mm(job, axle, side, "sidewall", state["name"]) for side in ("inner", "outer"))
    top, opening = (clearance_mm(job, axle, side, "tread", state["name"]) for side in ("top", "opening"))
    rim_inner = exact(getattr(job.wheelhouse, axle).clearance_inner_mm)
    offset, width = effective_offset_mm(job, wheel, spacer), section_width_mm(job, wheel, tire)
    room_inner, room_outer, inward = state["room_inner_mm"], state["room_outer_mm"], state["inward_mm"]
    half, radius = width.times(Fraction(1, 2)), grown_diameter_mm(job, tire, state["name"]).times(Fraction(1, 2))
    return {
        "backspace_limit": [room_inner - effective_backspace_mm(job, wheel, spacer) - rim_inner - inward],
        "inner_sidewall": [room_inner - offset - half - inner - inward],
        "outer_sidewall": [room_outer + offset - half - outer - state["outward_mm"]],
        "wheelhouse_width": [room_inner + room_outer - width - inner - outer - near(state["across_mm"])],
        "fender_top": [state["hub_to_top_mm"] - radius - top],
        "opening": [state[f"opening_{way}_mm"] - radius - opening for way in ("ahead", "behind")],
    }


def steering_axis_mm(job):
    """How far inboard of the mounting face the steering axis is at the height of the hub."""
    if exact(job.steering.axis_offset_mm) is not None:
        return taped(job, "steering.axis_offset_mm", job.steering.axis_offset_mm)
    offset = measured(job, "present.front_offset_mm", job.present.front_offset_mm)
    scrub = taped(job, "steering.scrub_radius_mm", job.steering.scrub_radius_mm)
    lean = exact(job.steering.kingpin_inclination_deg)
    slope = None if lean is None else Fraction(math.tan(math.radians(lean)))
    height = taped(job, "present.front_hub_height_mm", job.present.front_hub_height_mm)
    return height.times(slope) + offset + scrub


def steer_rooms(job, state, wheel, tire, spacer):
    """What is left ahead, behind and toward the frame of the front tire that is steered from lock to lock.

    A width or a diameter that is not known is best at its least; an offset best lets the tire turn on its middle, and
    toward the frame it is best at its least.
    """
    axis = steering_axis_mm(job)
    offset, width = effective_offset_mm(job, wheel, spacer), section_width_mm(job, wheel, tire)
    diameter = diameter_mm(job, tire)
    if is_absent(state["lock_deg"], axis.size):
        return [UNKNOWN] * 3
    lock, rooms = math.radians(state["lock_deg"]), []
    centered = offset.span and min(max(axis.size, offset.span[0]), offset.span[1])
    is_guess = any(size.span for size in (offset, width, diameter))
    for room, which, best in (
        ("sweep_ahead_mm", 0, centered),
        ("sweep_behind_mm", 0, centered),
        ("frame_room_mm", 1, offset.span and offset.span[0]),
    ):
        ends = (axis.ends, [best] if offset.span else offset.ends, ends_or_least(width), ends_or_least(diameter))
        reach = Fraction(max(steer_reach(lock, *one)[which] for one in itertools.product(*ends)))
        shift = state["inward_mm"] if room == "frame_room_mm" else 0
        place = "sidewall" if room == "frame_room_mm" else "tread"
        left = state[room] - reach - clearance_mm(job, "front", "sweep", place, state["name"]) - shift
        rooms.append(left + Near(Fraction(0), span=(0, 0)) if is_guess else left)
    return rooms


def ends_or_least(size):
    """The ends of a known size, the least that is plausible of another."""
    return [size.span[0]] if size.span else size.ends


def steer_reach(lock, axis, offset, width, diameter):
    """How far a steered tire comes ahead of the axle line, and inboard of the mounting face [mm]."""
    axis, offset, width, radius = float(axis), float(offset), float(width), float(diameter) / 2
    center = axis - offset
    ahead = max(farthest(radius, abs(corner), lock) for corner in (center - width / 2, center + width / 2))
    return ahead, axis + farthest(width / 2 - center, radius, lock)


def farthest(straight, aside, lock):
    """The largest of straight cos t + aside sin t for t from 0 to the lock, aside > 0."""
    turned = min(math.atan2(aside, straight), lock)
    return straight * math.cos(turned) + aside * math.sin(turned)


def fit_points(rooms):
    """Points of the tightest check over its clearance; none where a part of any check is not known."""
    return min(
        (
            0
            if is_absent(*(room.low for room in left))
            else ramp(0, rhu(1000 * clearance), min(rhu(1000 * room.low) for room in left))
            for left, clearance in rooms.values()
        ),
    )


# Checks of the parts on one another, the hub and the brake


def same_circle(lugs, circle_mm, other_lugs, other_circle_mm):
    """Whether two bolt patterns are one."""
    return int(lugs) == int(other_lugs) and abs(exact(circle_mm) - exact(other_circle_mm)) <= CIRCLE_TOLERANCE_MM


def has_own_circle(spacer):
    """Whether the wheel goes on a bolt circle of the spacer's own."""
    return not is_absent(spacer.get("wheel_lugs"), spacer.get("wheel_circle_mm"))


def circle_met(hub, spacer):
    """Lug count and circle of what a wheel goes on."""
    if spacer is NO_SPACER:
        return hub.bolt_circle.lug_count, hub.bolt_circle.diameter_mm
    if has_own_circle(spacer):
        return spacer["wheel_lugs"], spacer["wheel_circle_mm"]
    return spacer["lugs"], spacer["circle_mm"]


def bolt_circle(hub, wheel, spacer):
    """Verdict on the wheel on its mount, and on the spacer on the hub."""
    is_mounted = same_circle(wheel["lugs"], wheel["circle_mm"], *circle_met(hub, spacer))
    if spacer is NO_SPACER:
        return is_mounted
    return is_mounted and same_circle(spacer["lugs"], spacer["circle_mm"], *circle_met(hub, NO_SPACER))


def is_bolted(spacer):
    """Whether a spacer is bolted to the hub by itself, and the wheel to it."""
    return has_own_circle(spacer) or spacer.get("stud_length_mm") is not None


def hub_size(job, axle, name, read):
    """A size of the hub with its plus-or-minus, or all that is plausible."""
    return read(job, f"hub.{axle}.{name}", getattr(getattr(job.hub, axle), name)).or_plausible(f"hub.{name}")


def of_spacer(spacer, name):
    """A size of a spacer, or all that is plausible."""
    return near(exact(spacer.get(name))).or_plausible(f"spacer.{name}")


def wheel_size(job, wheel, name):
    """A size of a wheel with its plus-or-minus, or all that is plausible."""
    return listed(job, wheel[name]).or_plausible(f"wheel.{name}")


def pilot_reaches(job, axle, spacer):
    """Whether the hub's pilot comes through to the wheel; None where not known."""
    if spacer is NO_SPACER:
        return True
    length = exact(getattr(job.hub, axle).pilot_length_mm)
    return None if length is None else length > exact(spacer["thickness_mm"])


def hub_bore(job, axle, wheel, spacer):
    """Verdict on the wheel's bore over the pilot that it meets, and on the spacer's over the hub's."""
    bore = near(exact(wheel["hub_bore_mm"])).or_plausible("wheel.hub_bore_mm")
    pilot, lip = hub_size(job, axle, "pilot_mm", measured), exact(spacer.get("pilot_mm"))
    on_hub = True if spacer is NO_SPACER else holds(of_spacer(spacer, "hub_bore_mm") - pilot)
    if lip is not None:
        return worst([on_hub, holds(bore - lip)])
    may_beat, over_pilot = pilot_reaches(job, axle, spacer), holds(bore - pilot)
    if may_beat is None:
        return worst([on_hub, True if over_pilot else None])
    return worst([on_hub, over_pilot if may_beat else True])


def needs_ring(job, axle, wheel, spacer):
    """Whether a hub ring fills what is between the wheel's bore and the pilot that it meets."""
    pilot = exact(spacer.get("pilot_mm"))
    if pilot is None and pilot_reaches(job, axle, spacer) is not False:
        pilot = exact(getattr(job.hub, axle).pilot_mm)
    bore = exact(wheel["hub_bore_mm"])
    return not is_absent(bore, pilot) and bore - pilot > HUB_CENTRIC_MM


def own_studs(job, axle, spacer):
    """Length and diameter of the studs that the wheel's nuts are on."""
    if is_bolted(spacer):
        return of_spacer(spacer, "stud_length_mm"), of_spacer(spacer, "stud_diameter_mm")
    return hub_size(job, axle, "stud_length_mm", taped), hub_size(job, axle, "stud_diameter_mm", measured)


def studs(job, axle, wheel, spacer):
    """Verdict on the thread that the nuts engage: on the hub's studs, and on those of an adapter."""
    engagement, pad = exact(getattr(job.hub, axle).stud_engagement), wheel_size(job, wheel, "pad_mm")
    length, diameter = own_studs(job, axle, spacer)
    under = 0 if is_bolted(spacer) else exact(spacer["thickness_mm"])
    verdicts = [holds(length - pad - under - diameter.times(engagement))]
    if is_bolted(spacer):
        length, diameter = own_studs(job, axle, NO_SPACER)
        verdicts.append(holds(length - of_spacer(spacer, "pad_mm") - diameter.times(engagement)))
    return worst(verdicts)


def stud_end(job, axle, wheel, spacer):
    """Verdict on hub studs and nuts behind a wheel on a bolted spacer; holds without one."""
    if not is_bolted(spacer):
        return True
    pocket = wheel_size(job, wheel, "pocket_depth_mm") if wheel["pocket_over_studs"] == "yes" else near(Fraction(0))
    room, nut = pocket + exact(spacer["thickness_mm"]), exact(spacer["nut_height_mm"])
    nut_end = of_spacer(spacer, "pad_mm") + (NUT_HEIGHT_MM if nut is None else nut)
    return worst([holds(room - hub_size(job, axle, "stud_length_mm", taped)), holds(room - nut_end)])


# The wheel's lug nuts


def nut_of(job, axle, wheel, spacer, nuts):
    """The nut that a wheel is held by: its own, the one on the truck, or the cheapest that fits; None where none is."""
    by_sku, hub = {nut["sku"]: nut for nut in nuts}, getattr(job.hub, axle)
    if wheel["lug_nut"]:
        return by_sku[wheel["lug_nut"]]
    if stays(wheel, axle) and hub.lug_nut:
        return by_sku[hub.lug_nut]
    wanted = (wheel["seat"], stud_thread(job, axle, spacer))
    return cheapest(nut for nut in nuts if nut["left_hand"] != "yes" and all(wanted) and fits_as(nut) == wanted)


def left_nut_of(job, axle, spacer, nut, nuts):
    """The left-hand nut that goes with another on the studs of the left side; None where none is listed or needed."""
    if nut is None or not has_left_studs(job, axle, spacer):
        return None
    return cheapest(other for other in nuts if other["left_hand"] == "yes" and fits_as(other) == fits_as(nut))


def has_left_studs(job, axle, spacer):
    """Whether the studs of the left side turn the other way; those of a bolted spacer never do."""
    return getattr(job.hub, axle).left_hand and not is_bolted(spacer)


def stud_thread(job, axle, spacer):
    """Thread of the studs that the wheel's nuts are on; "" where not known."""
    return spacer["stud_thread"] if is_bolted(spacer) else getattr(job.hub, axle).stud_thread


def fits_as(nut):
    """Seat and thread of a nut."""
    return nut["seat"], nut["thread"]


def cheapest(nuts):
    """The nut that costs least for one, the first by SKU; None of none."""
    return min(nuts, key=lambda nut: (Fraction(nut["price_cents"], pack_of(nut)), nut["sku"]), default=None)


def pack_of(nut):
    """How many nuts a pack holds."""
    return int(nut["pack"] or 1)


def seat(job, axle, wheel, spacer, nut, left_nut):
    """Verdict on the nut in the wheel's seat and on the studs, and on one for left-hand studs where there are any."""
    if nut is None:
        return None
    return worst(
        [
            same_seat(wheel["seat"], nut["seat"]),
            alike(nut["thread"], stud_thread(job, axle, spacer)),
            nut["left_hand"] != "yes",
            None if has_left_studs(job, axle, spacer) and left_nut is None else True,
        ]
    )


def same_seat(one, other):
    """Verdict on two lug seats: forms that differ fail, sizes agree within what the form allows."""
    (form, *size), (other_form, *other_size) = one.split() or [""], other.split() or [""]
    forms = alike(form, other_form)
    if not forms or form == "flat":
        return forms
    if not (size and other_size):
        return None
    return abs(Fraction(*size) - Fraction(*other_size)) <= SEAT_TOLERANCE[form]


def nut_depth(job, axle, wheel, spacer, nut):
    """Verdict on the stud in its nut: it does not bottom in a closed one, and the nut has thread enough."""
    if nut is None:
        return None
    depth, (length, diameter) = exact(nut["thread_depth_mm"]), own_studs(job, axle, spacer)
    engaged = True
    if depth is not None:
        engaged = holds(near(depth) - diameter.times(exact(getattr(job.hub, axle).stud_engagement)))
    if nut["type"] == "open":
        return engaged
    under = 0 if is_bolted(spacer) else exact(spacer["thickness_mm"])
    stands_out = length - wheel_size(job, wheel, "pad_mm") - under
    inside = holds(near(depth).or_plausible("mount.nut_thread_mm") - stands_out) if nut["type"] == "closed" else None
    return worst([engaged, inside])


# Brakes, rims and the spare


def brake_barrel(job, axle, wheel):
    """What is left between the wheel's barrel and the brake."""
    brake = getattr(job.brakes, axle)
    envelope = taped(job, f"brakes.{axle}.envelope_diameter_mm", brake.envelope_diameter_mm)
    envelope = envelope.or_plausible("brakes.envelope_diameter_mm")
    return wheel_size(job, wheel, "barrel_diameter_mm") - envelope - 2 * exact(brake.clearance_mm)


def wheel_weights(job, axle, wheel):
    """Verdict on balance weights inside the barrel over the brake; holds where none are stuck there."""
    thickness = exact(job.brakes.weight_thickness_mm)
    return True if thickness is None else holds(brake_barrel(job, axle, wheel) - 2 * thickness)


def brake_spoke(job, axle, wheel, spacer):
    """What is left between the wheel's spokes and the caliper."""
    brake = getattr(job.brakes, axle)
    reach = taped(job, f"brakes.{axle}.caliper_reach_mm", brake.caliper_reach_mm)
    reach = reach.or_plausible("brakes.caliper_reach_mm")
    spokes = wheel_size(job, wheel, "spoke_clearance_mm") + exact(spacer["thickness_mm"])
    return spokes - reach - exact(brake.clearance_mm)


def spare_well(job, wheel, tire):
    """Verdict on a rear wheel and tire in the place of the spare; holds where there is none."""
    if not job.job.spare:
        return True
    clearance = exact(job.spare.clearance_mm)
    across, deep = (
        taped(job, f"spare.well_{way}_mm", getattr(job.spare, f"well_{way}_mm")) for way in ("diameter", "width")
    )
    rim = exact(wheel["rim_width_mm"]) + 2 * flange_mm(wheel)
    return worst(
        [
            holds(across - diameter_mm(job, tire) - 2 * clearance),
            holds(deep - section_width_mm(job, wheel, tire) - clearance),
            holds(deep - rim - clearance),
        ]
    )


def spare_bolts(job, wheel, front_spacer):
    """Verdict on the spare, a rear wheel, on what the front wheel meets; holds where there is none."""
    if not job.job.spare:
        return True
    on_circle = same_circle(wheel["lugs"], wheel["circle_mm"], *circle_met(job.hub.front, front_spacer))
    pilot, bore = near(exact(front_spacer.get("pilot_mm"))), near(exact(wheel["hub_bore_mm"]))
    if pilot.size is None:
        if pilot_reaches(job, "front", front_spacer) is False:
            return on_circle
        pilot = measured(job, "hub.front.pilot_mm", job.hub.front.pilot_mm)
    return worst([on_circle, holds(bore - pilot)])


def spare_front(job, wheel, front_spacer):
    """Verdict on the spare over the front brake and on the front studs; holds where there is none.

    It is a rear wheel behind which the front spacer stays.
    """
    if not job.job.spare:
        return True
    brake, hub, thickness = job.brakes.front, job.hub.front, exact(front_spacer["thickness_mm"])
    envelope = taped(job, "brakes.front.envelope_diameter_mm", brake.envelope_diameter_mm)
    reach = taped(job, "brakes.front.caliper_reach_mm", brake.caliper_reach_mm)
    clearance = exact(brake.clearance_mm)
    barrel, spokes, pad = (listed(job, wheel[size]) for size in ("barrel_diameter_mm", "spoke_clearance_mm", "pad_mm"))
    length = taped(job, "hub.front.stud_length_mm", hub.stud_length_mm)
    diameter = measured(job, "hub.front.stud_diameter_mm", hub.stud_diameter_mm)
    if is_bolted(front_spacer):
        length = Near(exact(front_spacer["stud_length_mm"]), length.give)
        diameter, thickness_under = near(exact(front_spacer["stud_diameter_mm"])), 0
    else:
        thickness_under = thickness
    return worst(
        [
            holds(barrel - envelope - 2 * clearance),
            holds(spokes + thickness - reach - clearance),
            holds(length - thickness_under - diameter.times(exact(hub.stud_engagement)) - pad),
        ]
    )


SPARE_MATCH = Fraction("0.01")
"""How much larger or smaller than the front tire a spare may be where both axles are driven."""


def spare_diameter(job, spare, front):
    """Verdict on the spare, a rear tire, beside the front one; holds without a spare, and where one axle is driven."""
    if not job.job.spare or job.axle.driven != "both":
        return True
    sizes = [diameter_mm(job, tire) for tire in (spare, front)]
    own, other = (size.span or (size.size,) for size in sizes)
    off = sorted(one / its - 1 for one, its in itertools.product(own, other))
    if any(size.span for size in sizes):
        least = 0 if off[0] <= 0 <= off[-1] else min(abs(each) for each in off)
        return holds(Near(SPARE_MATCH - least, span=(0, 0)), 10000)
    return holds(SPARE_MATCH - max(abs(each) for each in off), 10000)


def rim_diameter(wheel, tire):
    """Verdict on the tire's rim diameter against the wheel's."""
    return holds(1 - abs(exact(tire["rim_diameter_mm"]) - exact(wheel["rim_diameter_mm"])))


def rim_width(wheel, tire):
    """Verdict on the rim width in the tire's approved range."""
    ends = (near(exact(tire[name])).or_plausible(f"tire.{name}") for name in ("rim_width_min_mm", "rim_width_max_mm"))
    return within(exact(wheel["rim_width_mm"]), *ends)


def tire_speed(job, tire):
    """Verdict on the speed symbol; holds where no top speed is asked."""
    asked = exact(job.targets.top_speed_km_h)
    if asked is None:
        return True
    return holds(near(SPEED_KM_H.get(tire["speed_symbol"])).or_plausible("tire.speed_km_h") - asked)


# Checks of the look


def lip_room_mm(job, axle):
    """Room outside the hub's face up to the lip, at ride height."""
    return lip_rooms_mm(job, axle, "room_outer_mm", ("",))[0]


def lip_rooms_mm(job, axle, room, sides):
    """A room at ride height, on each of these sides."""
    name = "ride_height" if getattr(job.wheelhouse, axle).ride_height is not None else ""
    return [state_of(job, axle, name, side)[room] for side in sides]


def cover(job, axle, wheel, tire, spacer):
    """Verdict on the tire or its tread inside the lip; holds where neither is asked."""
    if not job.targets.cover:
        return True
    width = section_width_mm(job, wheel, tire)
    if job.targets.cover == "tread":
        width = tread_width_mm(job, tire).or_plausible("tire.tread_width_mm")
    reach = width.times(Fraction(1, 2)) - effective_offset_mm(job, wheel, spacer)
    return worst(holds(room - reach) for room in lip_rooms_mm(job, axle, "room_outer_mm", sides_of(job, axle)))


def fender_gap(job, axle, tire):
    """Verdict on the gap between tire and lip at ride height, in the band that is asked."""
    low, high = exact(job.targets.fender_gap_min_mm), exact(job.targets.fender_gap_max_mm)
    half = diameter_mm(job, tire).times(Fraction(1, 2))
    return worst(
        in_band(lip - half, low, high) for lip in lip_rooms_mm(job, axle, "hub_to_lip_mm", sides_of(job, axle))
    )


def moved_out_mm(job, axle, wheel, spacer):
    """How much farther out the wheel's middle is than that of the present wheel."""
    now = measured(job, f"present.{axle}_offset_mm", getattr(job.present, f"{axle}_offset_mm"))
    return now - effective_offset_mm(job, wheel, spacer)


def track(job, axle, wheel, spacer):
    """Verdict on the track with the new wheels; holds where no limit is given for the axle."""
    limit = exact(getattr(job.targets, f"{axle}_track_max_mm"))
    if limit is None:
        return True
    now = taped(job, f"axle.{axle}.track_mm", getattr(job.axle, axle).track_mm)
    return holds(near(limit) - now - moved_out_mm(job, axle, wheel, spacer).times(2))


def load_line(job, axle, wheel, spacer):
    """Verdict on how far out of the bearings' middle the load comes; holds where no limit is given."""
    limit = exact(job.targets.load_line_max_mm)
    return True if limit is None else holds(near(limit) - moved_out_mm(job, axle, wheel, spacer))


def scrub(job, wheel, tire, spacer, tires):
    """Verdict on the new scrub radius in the band that is asked; each side has its own worst case."""
    low, high = exact(job.targets.scrub_min_mm), exact(job.targets.scrub_max_mm)
    if is_absent(low) and is_absent(high):
        return True
    lean, now = exact(job.steering.kingpin_inclination_deg), hubs_and_diameters_now(job, "front", tires)
    if lean is None or not now:
        return None
    new = running_diameter_mm(job, tire).or_plausible("tire.running_diameter_mm")
    slope, guess = Fraction(math.tan(math.radians(lean))), Near(Fraction(0), span=(0, 0) if new.span else None)
    at_hub = guess + steering_axis_mm(job) - effective_offset_mm(job, wheel, spacer)
    least, most = (new.span[0], new.span[1]) if new.span else (new.ends[-1], new.ends[0])
    tallest, lowest = max(hub * least / old for hub, old in now), min(hub * most / old for hub, old in now)
    return worst([in_band(at_hub - tallest * slope, low, None), in_band(at_hub - lowest * slope, None, high)])


def winter(job, tire):
    """Verdict on the snowflake of the sidewall; holds where it is all the same."""
    if job.targets.winter is None:
        return True
    return None if tire["winter"] is None else bool(tire["winter"]) == job.targets.winter


def lip_error_um(job, axle, wheel, tire, spacer):
    """How far the tire's outer sidewall is from the wanted gap to the lip; 0 where none is asked."""
    asked = exact(job.targets.lip_gap_mm)
    if asked is None:
        return 0
    half = section_width_mm(job, wheel, tire).times(Fraction(1, 2))
    gap = (lip_room_mm(job, axle) + effective_offset_mm(job, wheel, spacer) - half).value
    return None if gap is None else rhu(1000 * abs(gap - asked))


def corner_checks(job, axle, wheel, tire, spacer, nut, left_nut, rooms, tires):
    """Verdicts of all checks on a wheel, a tire and a spacer at an axle, by name."""
    return {
        "bolt_circle": bolt_circle(getattr(job.hub, axle), wheel, spacer),
        "hub_bore": hub_bore(job, axle, wheel, spacer),
        "rim_diameter": rim_diameter(wheel, tire),
        "rim_width": rim_width(wheel, tire),
        "tire_speed": tire_speed(job, tire),
        "studs": studs(job, axle, wheel, spacer),
        "stud_end": stud_end(job, axle, wheel, spacer),
        "seat": seat(job, axle, wheel, spacer, nut, left_nut),
        "wheel_weights": wheel_weights(job, axle, wheel),
        "track": track(job, axle, wheel, spacer),
        "load_line": load_line(job, axle, wheel, spacer),
        "scrub": scrub(job, wheel, tire, spacer, tires) if axle == "front" else True,
        "nut_depth": nut_depth(job, axle, wheel, spacer, nut),
        "spare_well": spare_well(job, wheel, tire) if axle == "rear" else True,
        "cover": cover(job, axle, wheel, tire, spacer),
        "fender_gap": fender_gap(job, axle, tire),
        "winter": winter(job, tire),
        **{name: worst(holds(room) for room in left) for name, (left, _) in rooms.items()},
    }


# Checks of front and rear on each other


def rise_mm(job, axle, tire, tires):
    """How far a hub rises on a new tire: where little is bad, and where much is; None where not known.

    Of an unknown tire it is the most that is plausible, and the least.
    """
    new = running_diameter_mm(job, tire).or_plausible("tire.running_diameter_mm")
    now = hubs_and_diameters_now(job, axle, tires)
    if not now:
        return None
    rises = [hub * (each / old - 1) for (hub, old), each in itertools.product(now, new.span or new.ends)]
    return (max(rises), min(rises)) if new.span else (min(rises), max(rises))


def frame_rake(job, front, rear, tires):
    """Verdict on the lean of the frame in the band that is asked."""
    low, high = exact(job.targets.frame_rake_min_deg), exact(job.targets.frame_rake_max_deg)
    if is_absent(low) and is_absent(high):
        return True
    ahead, behind = rise_mm(job, "front", front, tires), rise_mm(job, "rear", rear, tires)
    if is_absent(ahead, behind):
        return None
    is_guess = is_absent(exact(front["running_diameter_mm"])) or is_absent(exact(rear["running_diameter_mm"]))
    guess = Near(Fraction(0), span=(0, 0) if is_guess else None)
    leans = [guess + lean_deg(job, behind[little] - ahead[1 - little]) for little in (0, 1)]
    return worst([in_band(leans[0], low, None, 10000), in_band(leans[1], None, high, 10000)])


def lean_deg(job, raised):
    """Lean of the frame whose rear is raised by so much."""
    lean = Fraction(math.degrees(math.atan2(raised, job.truck.wheelbase_mm)))
    return exact(job.present.frame_rake_deg) + lean


def pair_checks(job, front, rear, tires):
    """Verdicts of all checks on a front corner with a rear one, by name."""
    low, high = exact(job.targets.rake_min_mm), exact(job.targets.rake_max_mm)
    style, line = ((front[kind][name], rear[kind][name]) for kind, name in (("wheel", "style"), ("tire", "line")))
    return {
        "construction": alike_pair(front["tire"]["construction"], rear["tire"]["construction"]),
        "rake": in_band(diameter_mm(job, rear["tire"]) - diameter_mm(job, front["tire"]), low, high),
        "frame_rake": frame_rake(job, front["tire"], rear["tire"], tires),
        "spare_bolts": spare_bolts(job, rear["wheel"], front["spacer"]),
        "spare_front": spare_front(job, rear["wheel"], front["spacer"]),
        "spare_diameter": spare_diameter(job, rear["tire"], front["tire"]),
        "same_style": alike_pair(*style) if job.targets.same_style else True,
        "same_line": alike_pair(*line) if job.targets.same_line else True,
    }


def alike_pair(front, rear):
    """Verdict on two names that must be equal; unverified where one is not known."""
    return front == rear if front and rear else None

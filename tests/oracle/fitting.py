"""What a wheel, a tire and a spacer at an axle must clear, one check after the other."""

import itertools
import math
from fractions import Fraction

from verdicts import (
    UNKNOWN,
    Near,
    exact,
    holds,
    in_band,
    is_absent,
    is_worst,
    listed,
    measured,
    near,
    ramp,
    rhu,
    taped,
    within,
    worst,
)

from combo.job import STATES

PI = Fraction("3.14159265358979323846264338327950288")
DEFAULT_FLANGE_MM = Fraction("12.7")
MILE_MM = 63360 * Fraction("25.4")
LEAST_CLEARANCE_MM = Fraction("3.175")
CIRCLE_TOLERANCE_MM = Fraction("0.15")
SPEED_KM_H = {"Q": 160, "R": 170, "S": 180, "T": 190, "U": 200, "H": 210, "V": 240, "W": 270, "Y": 300}
NO_SPACER = {"sku": "", "price_cents": 0, "mass_kg": 0, "thickness_mm": 0}
ROOMS = ("room_inner_mm", "room_outer_mm", "hub_to_top_mm", "hub_to_lip_mm", "opening_ahead_mm", "opening_behind_mm",
         "sweep_ahead_mm", "sweep_behind_mm", "frame_room_mm")  # fmt: skip


# Sizes of the corner


def flange_mm(wheel):
    """Thickness of one rim flange."""
    flange = exact(wheel["flange_mm"])
    return DEFAULT_FLANGE_MM if flange is None else flange


def effective_offset_mm(job, wheel, spacer):
    """Offset less the spacer's thickness."""
    return listed(job, wheel["offset_mm"]) - exact(spacer["thickness_mm"])


def tire_share(job, tire, radial, other):
    """A share that depends on the construction of the tire; an unknown one counts as bias. None in nominal sizes."""
    if not is_worst(job) or job.tolerance.tires == "none":
        return Fraction(0)
    return Fraction(radial) if tire["construction"] == "radial" else Fraction(other)


def section_width_mm(job, wheel, tire):
    """Section width on this rim."""
    width, measured_on = exact(tire["section_width_mm"]), exact(tire["measuring_rim_mm"])
    if is_absent(width, measured_on):
        return UNKNOWN
    width += Fraction("0.4") * (exact(wheel["rim_width_mm"]) - measured_on)
    return Near(width, width * tire_share(job, tire, "0.04", "0.06"))


def size_give_mm(job, tire):
    """How far the diameter of a new tire may be off."""
    above_rim = exact(tire["overall_diameter_mm"]) - rhu(exact(tire["rim_diameter_mm"]))
    return above_rim * tire_share(job, tire, "0.04", "0.08")


def diameter_mm(job, tire):
    """Overall diameter at rest."""
    diameter = exact(tire["overall_diameter_mm"])
    return UNKNOWN if diameter is None else Near(diameter, size_give_mm(job, tire))


def running_diameter_mm(job, tire, state):
    """Overall diameter as it has grown at the top speed, in the worst case of a state in which the truck runs."""
    diameter, top = diameter_mm(job, tire), exact(job.targets.top_speed_km_h)
    if diameter.size is None or top is None or state == "laid_out":
        return diameter
    growth = tire_share(job, tire, job.rolling.growth_radial_ppm, job.rolling.growth_bias_ppm) / 1000000
    return diameter + diameter.size * growth * (top / 160) ** 2


def loaded_radius_mm(job, tire):
    """Height of the hub over the ground on this tire."""
    radius, diameter = exact(tire["static_loaded_radius_mm"]), exact(tire["overall_diameter_mm"])
    if radius is None and diameter is not None:
        radius = diameter * Fraction("0.465")
    return Near(radius, Fraction(0) if diameter is None else size_give_mm(job, tire) / 2)


def rolling_circumference_mm(job, tire):
    """What the truck moves on in a turn of the tire."""
    revs, diameter = exact(tire["revs_per_mile"]), exact(tire["overall_diameter_mm"])
    if revs is not None:
        return MILE_MM / revs
    return None if diameter is None else PI * diameter * exact(job.rolling.factor)


# Rooms in the states of the suspension


def states_of(job, axle):
    """The rooms at an axle in every state that the job names, or in the one that it measures."""
    house = getattr(job.wheelhouse, axle)
    named = [name for name in STATES if getattr(house, name) is not None]
    return [state_of(job, axle, name) for name in named or [""]]


def state_of(job, axle, name):
    """Rooms, lock and lateral shift in a state: what it leaves out is the wheelhouse's."""
    house = getattr(job.wheelhouse, axle)
    own = getattr(house, name) if name else house
    rooms = {}
    for key in ROOMS:
        is_own = name and exact(getattr(own, key)) is not None
        path = f"wheelhouse.{axle}.{name}.{key}" if is_own else f"wheelhouse.{axle}.{key}"
        rooms[key] = taped(job, path, getattr(own if is_own else house, key))
    lock = exact(own.lock_deg) if name else None
    lock = exact(job.steering.lock_deg) if lock is None else lock
    return {**rooms, "name": name, "lock_deg": lock, "shift_mm": lateral_shift_mm(job, axle, name)}


def lateral_shift_mm(job, axle, name):
    """How far a Panhard bar has drawn the axle aside; unknown where the travel is."""
    bar = exact(getattr(job.panhard, f"{axle}_length_mm"))
    if bar is None:
        return Fraction(0)
    travel = exact(getattr(getattr(job.wheelhouse, axle), name).travel_mm) if name else None
    if travel is None and name == "ride_height":
        travel = Fraction(0)
    return None if travel is None else bar - Fraction(math.sqrt(bar**2 - travel**2))


# Checks on what the criterion "fit" looks at


def fit_rooms(job, axle, wheel, tire, spacer):
    """Of each check that the criterion "fit" looks at: what is left in every part of it, and its clearance [mm]."""
    house, rooms = getattr(job.wheelhouse, axle), {}
    for state in states_of(job, axle):
        for name, left in rooms_in_state(job, house, state, wheel, tire, spacer).items():
            rooms.setdefault(name, []).extend(left)
        if axle == "front":
            rooms.setdefault("steer_sweep", []).extend(steer_rooms(job, house, state, wheel, tire, spacer))
    return {name: (left, clearance_of(house, name)) for name, left in rooms.items()}


def clearance_of(house, check):
    """Clearance that a check is to keep; at least an eighth of an inch for the points."""
    sides = {"backspace_limit": ("inner",), "inner_sidewall": ("inner",), "outer_sidewall": ("outer",),
             "wheelhouse_width": ("inner", "outer"), "fender_top": ("top",), "opening": ("opening",),
             "steer_sweep": ("sweep",)}[check]  # fmt: skip
    return sum(max(exact(getattr(house, f"clearance_{side}_mm")), LEAST_CLEARANCE_MM) for side in sides)


def rooms_in_state(job, house, state, wheel, tire, spacer):
    """What is left beside, over and around the tire in a state, by check."""
    inner, outer, top, opening = (
        exact(getattr(house, f"clearance_{side}_mm")) for side in ("inner", "outer", "top", "opening")
    )
    offset, width = effective_offset_mm(job, wheel, spacer), section_width_mm(job, wheel, tire)
    shift, room_inner, room_outer = state["shift_mm"], state["room_inner_mm"], state["room_outer_mm"]
    half, radius = width.times(Fraction(1, 2)), running_diameter_mm(job, tire, state["name"]).times(Fraction(1, 2))
    to_flange = (exact(wheel["rim_width_mm"]) + 2 * flange_mm(wheel)) / 2
    return {
        "backspace_limit": [room_inner - offset - to_flange - inner - shift],
        "inner_sidewall": [room_inner - offset - half - inner - shift],
        "outer_sidewall": [room_outer + offset - half - outer - shift],
        "wheelhouse_width": [room_inner + room_outer - width - inner - outer - near(shift).times(2)],
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


def steer_rooms(job, house, state, wheel, tire, spacer):
    """What is left ahead, behind and toward the frame of the front tire that is steered from lock to lock."""
    sizes = (
        steering_axis_mm(job),
        effective_offset_mm(job, wheel, spacer),
        section_width_mm(job, wheel, tire),
        running_diameter_mm(job, tire, state["name"]),
    )
    if is_absent(state["lock_deg"], *(size.size for size in sizes)):
        return [UNKNOWN] * 3
    lock, clearance = math.radians(state["lock_deg"]), exact(house.clearance_sweep_mm)
    reaches = [steer_reach(lock, *ends) for ends in itertools.product(*(size.ends for size in sizes))]
    ahead, inner = (Fraction(max(reach)) for reach in zip(*reaches, strict=True))
    rooms = (("sweep_ahead_mm", ahead), ("sweep_behind_mm", ahead), ("frame_room_mm", inner))
    return [state[room] - reach - clearance for room, reach in rooms]


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
    """Points of the tightest known check over its clearance; a check of which a part is not known does not count."""
    return min(
        (
            ramp(0, rhu(1000 * clearance), min(rhu(1000 * room.low) for room in left))
            for left, clearance in rooms.values()
            if not is_absent(*(room.low for room in left))
        ),
        default=0,
    )


# Checks of the parts on one another, the hub and the brake


def same_circle(lugs, circle_mm, other_lugs, other_circle_mm):
    """Whether two bolt patterns are one."""
    return int(lugs) == int(other_lugs) and abs(exact(circle_mm) - exact(other_circle_mm)) <= CIRCLE_TOLERANCE_MM


def has_own_circle(spacer):
    """Whether the wheel goes on a bolt circle of the spacer's own."""
    return not is_absent(spacer.get("wheel_lugs"), spacer.get("wheel_circle_mm"))


def bolt_circle(hub, wheel, spacer):
    """Verdict on the wheel on its mount, and on the spacer on the hub."""
    hub_side = (hub.bolt_circle.lug_count, hub.bolt_circle.diameter_mm)
    own = (wheel["lugs"], wheel["circle_mm"])
    if spacer is NO_SPACER:
        return same_circle(*own, *hub_side)
    spacer_side = (spacer["lugs"], spacer["circle_mm"])
    mount = (spacer["wheel_lugs"], spacer["wheel_circle_mm"]) if has_own_circle(spacer) else spacer_side
    return same_circle(*own, *mount) and same_circle(*spacer_side, *hub_side)


def mount_pilot_mm(job, axle, spacer):
    """Pilot that the wheel's bore sits on: the spacer's lip, else the hub's."""
    lip = exact(spacer.get("pilot_mm"))
    return measured(job, f"hub.{axle}.pilot_mm", getattr(job.hub, axle).pilot_mm) if lip is None else Near(lip)


def studs(job, axle, wheel, spacer):
    """Verdict on the thread that the nuts engage: on the hub's studs, and on those of an adapter."""
    hub = getattr(job.hub, axle)
    engagement, pad = exact(hub.stud_engagement), listed(job, wheel["pad_mm"])
    length = taped(job, f"hub.{axle}.stud_length_mm", hub.stud_length_mm)
    diameter = measured(job, f"hub.{axle}.stud_diameter_mm", hub.stud_diameter_mm)
    needed = diameter.times(engagement)
    if not has_own_circle(spacer) and spacer.get("stud_length_mm") is None:
        return holds(length - pad - exact(spacer["thickness_mm"]) - needed)
    own_needed = near(exact(spacer["stud_diameter_mm"])).times(engagement)
    on_adapter = near(exact(spacer["stud_length_mm"])) - pad - own_needed
    return worst([holds(on_adapter), holds(length - exact(spacer["pad_mm"]) - needed)])


def brake_barrel(job, axle, wheel):
    """Verdict on the wheel's barrel around the brake."""
    brake = getattr(job.brakes, axle)
    envelope = taped(job, f"brakes.{axle}.envelope_diameter_mm", brake.envelope_diameter_mm)
    return holds(listed(job, wheel["barrel_diameter_mm"]) - envelope - 2 * exact(brake.clearance_mm))


def brake_spoke(job, axle, wheel, spacer):
    """Verdict on the wheel's spokes outboard of the caliper."""
    reach = taped(job, f"brakes.{axle}.caliper_reach_mm", getattr(job.brakes, axle).caliper_reach_mm)
    return holds(listed(job, wheel["spoke_clearance_mm"]) + exact(spacer["thickness_mm"]) - reach)


def spare_well(job, wheel, tire):
    """Verdict on a rear wheel and tire in the place of the spare; holds where there is none."""
    if not job.job.spare:
        return True
    clearance = exact(job.spare.clearance_mm)
    across, deep = (taped(job, f"spare.well_{way}_mm", getattr(job.spare, f"well_{way}_mm"))
                    for way in ("diameter", "width"))  # fmt: skip
    rim = exact(wheel["rim_width_mm"]) + 2 * flange_mm(wheel)
    return worst([
        holds(across - diameter_mm(job, tire) - 2 * clearance),
        holds(deep - section_width_mm(job, wheel, tire) - clearance),
        holds(deep - rim - clearance),
    ])  # fmt: skip


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


# Checks of the look


def ground(job, axle, tire):
    """Verdict on the ground under the axle; holds where no clearance is asked."""
    asked = exact(job.targets.ground_clearance_mm)
    if asked is None:
        return True
    clearance, height = (taped(job, f"present.{axle}_{size}_mm", getattr(job.present, f"{axle}_{size}_mm"))
                         for size in ("ground_clearance", "hub_height"))  # fmt: skip
    return holds(clearance + loaded_radius_mm(job, tire) - height - asked)


def cover(job, axle, wheel, tire, spacer):
    """Verdict on the tire or its tread inside the lip; holds where neither is asked."""
    if not job.targets.cover:
        return True
    width = section_width_mm(job, wheel, tire)
    if job.targets.cover == "tread":
        tread = exact(tire["tread_width_mm"])
        width = Near(tread, (tread or 0) * tire_share(job, tire, "0.04", "0.06"))
    room = taped(job, f"wheelhouse.{axle}.room_outer_mm", getattr(job.wheelhouse, axle).room_outer_mm)
    return holds(room + effective_offset_mm(job, wheel, spacer) - width.times(Fraction(1, 2)))


def fender_gap(job, axle, tire):
    """Verdict on the gap between tire and lip at ride height, in the band that is asked."""
    low, high = exact(job.targets.fender_gap_min_mm), exact(job.targets.fender_gap_max_mm)
    name = "ride_height" if getattr(job.wheelhouse, axle).ride_height is not None else ""
    lip = state_of(job, axle, name)["hub_to_lip_mm"]
    return in_band(lip - diameter_mm(job, tire).times(Fraction(1, 2)), low, high)


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
    room = exact(getattr(job.wheelhouse, axle).room_outer_mm)
    gap = (near(room) + effective_offset_mm(job, wheel, spacer) - half).size
    return None if gap is None else rhu(1000 * abs(gap - asked))


def corner_verdict(job, axle, wheel, tire, spacer, rooms):
    """Verdict of all checks on a wheel, a tire and a spacer at an axle."""
    return worst([
        bolt_circle(getattr(job.hub, axle), wheel, spacer),
        holds(near(exact(wheel["hub_bore_mm"])) - mount_pilot_mm(job, axle, spacer)),
        rim_diameter(wheel, tire),
        rim_width(wheel, tire),
        tire_speed(job, tire),
        studs(job, axle, wheel, spacer),
        brake_barrel(job, axle, wheel),
        brake_spoke(job, axle, wheel, spacer),
        spare_well(job, wheel, tire) if axle == "rear" else True,
        ground(job, axle, tire),
        cover(job, axle, wheel, tire, spacer),
        fender_gap(job, axle, tire),
        winter(job, tire),
        *(holds(room) for left, _ in rooms.values() for room in left),
    ])  # fmt: skip


# Checks of front and rear on each other


def frame_rake(job, front, rear):
    """Verdict on the lean of the frame in the band that is asked."""
    low, high = exact(job.targets.frame_rake_min_deg), exact(job.targets.frame_rake_max_deg)
    if is_absent(low) and is_absent(high):
        return True
    heights = {axle: taped(job, f"present.{axle}_hub_height_mm", getattr(job.present, f"{axle}_hub_height_mm"))
               for axle in ("front", "rear")}  # fmt: skip
    raised = loaded_radius_mm(job, rear) - heights["rear"] - loaded_radius_mm(job, front) + heights["front"]
    if raised.size is None:
        return None
    leans = [
        exact(job.present.frame_rake_deg) + Fraction(math.degrees(math.atan2(end, job.truck.wheelbase_mm)))
        for end in raised.ends
    ]
    return worst(in_band(lean, low, high, 10000) for lean in leans)


def pair_verdict(job, front, rear):
    """Verdict of all checks on a front corner with a rear one."""
    low, high = exact(job.targets.rake_min_mm), exact(job.targets.rake_max_mm)
    verdicts = [
        alike_pair(front["tire"]["construction"], rear["tire"]["construction"]),
        in_band(diameter_mm(job, rear["tire"]) - diameter_mm(job, front["tire"]), low, high),
        frame_rake(job, front["tire"], rear["tire"]),
    ]
    if job.targets.same_style:
        verdicts.append(alike_pair(front["wheel"]["style"], rear["wheel"]["style"]))
    if job.targets.same_line:
        verdicts.append(alike_pair(front["tire"]["line"], rear["tire"]["line"]))
    return worst(verdicts)


def alike_pair(front, rear):
    """Verdict on two names that must be equal; unverified where one is not known."""
    return front == rear if front and rear else None

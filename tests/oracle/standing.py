"""How high what hangs lowest stands over the ground: on new tires, and on springs that carry more or less."""

import itertools
from fractions import Fraction

from carrying import front_share_of, scale_kg, spare_moves, weighed_kg
from fitting import (
    HUB_HEIGHT_OF_DIAMETER,
    diameter_now_mm,
    has_deflection,
    hub_height_mm,
    hubs_and_diameters_now,
    running_diameter_mm,
    travel_mm,
)
from verdicts import UNKNOWN, Near, exact, grams, holds, is_absent, is_worst, measured, taped, worst

STANDARD_GRAVITY = Fraction("9.80665")
FLANGE_UNDER_RIM_MM = Fraction("17.5")


def ground(job, axle, one, tires, heaviest_g):
    """Verdict on the ground under the axle at its heaviest; holds where no clearance is asked."""
    asked = exact(job.targets.ground_clearance_mm)
    return True if asked is None else holds(ground_clearance_mm(job, axle, one, tires, heaviest_g) - asked)


def ground_clearance_mm(job, axle, one, tires, heaviest_g):
    """Clearance of the lowest point at an axle, which goes down with its springs where it is on the frame."""
    return cleared_mm(job, axle, one, tires, heaviest_g, softness_mm_per_kg(job, axle))


def hangs_on_frame(job, axle):
    """Whether the lowest point at an axle goes up and down with the frame."""
    return getattr(job.present, f"{axle}_lowest_on") == "frame"


def softness_mm_per_kg(job, axle):
    """How far the lowest point goes down for each kilogram more on the springs; None where not known."""
    rate = getattr(job.axle, axle).spring_rate_n_per_m
    if not hangs_on_frame(job, axle) or rate == float("inf"):
        return Fraction(0)
    return None if exact(rate) is None else 1000 * STANDARD_GRAVITY / exact(rate)


def cleared_mm(job, axle, one, tires, heaviest_g, softness):
    """Clearance of the lowest point with a new wheel, tire and spacer, on springs of a softness.

    The new tires are pressed flat as the present ones are. Each mass off a scale is off by itself.
    """
    now = f"present.{axle}_ground_clearance_mm"
    clearance = taped(job, now, getattr(job.present, f"{axle}_ground_clearance_mm"))
    diameter = running_diameter_mm(job, one["tire"])
    if is_absent(diameter.size, softness, one["grams"], heaviest_g) or not has_deflection(job, axle, tires):
        return UNKNOWN
    masses = masses_kg(job, axle, one, heaviest_g)
    if is_absent(*masses):
        return UNKNOWN
    rise = min(
        rise_mm(hub, old, new, masses, softness)
        for (hub, old), new in itertools.product(hubs_and_diameters_now(job, axle, tires), diameter.ends)
    )
    return clearance + rise - loss_by_scales_mm(job, axle, tires, diameter.size, masses, softness)


def masses_kg(job, axle, one, heaviest_g):
    """What an axle will carry and carries now, and what its springs will carry and carry now; None where not known."""
    scale = exact(job.loads.axle_kg(axle))
    names = (f"{axle}_wheel_and_tire_kg", f"{axle}_spacer_kg")
    present = [grams(getattr(job.present, name)) for name in names]
    if is_absent(scale, *present):
        return (None,) * 4
    heavy = Fraction(heaviest_g, 1000)
    return heavy, scale, heavy - Fraction(2 * one["grams"], 1000), scale - Fraction(2 * sum(present), 1000)


def rise_mm(hub, old, new, masses, softness):
    """How far the lowest point rises on a new diameter, at a hub's height and a diameter now."""
    heavy, scale, sprung, sprung_now = masses
    deflection = (old / 2 - hub) * new / old * heavy / scale
    return new / 2 - deflection - hub - (sprung - sprung_now) * softness


def loss_by_scales_mm(job, axle, tires, new, masses, softness):
    """How much lower the lowest point may be as each mass that was weighed is off by itself, all losses together."""
    if not is_worst(job):
        return Fraction(0)
    hub, old = hub_height_mm(job, axle).size, diameter_now_mm(job, axle, tires).size
    old = hub / HUB_HEIGHT_OF_DIAMETER if old is None else old
    as_weighed, lost = rise_mm(hub, old, new, masses, softness), Fraction(0)
    for moves in moved_by_scales_kg(job, axle):
        moved = [
            rise_mm(hub, old, new, [mass + way * move for mass, move in zip(masses, moves, strict=True)], softness)
            for way in (-1, 1)
        ]
        lost += max(0, as_weighed - min(moved))
    return lost


def moved_by_scales_kg(job, axle):
    """Of each mass that was weighed: how far its plus-or-minus moves each of the four masses."""
    scale, wheel = scale_kg(job, axle), weighed_kg(job, f"present.{axle}_wheel_and_tire_kg")
    spacer = exact(job.tolerances.get(f"present.{axle}_spacer_kg", 0))
    moves = [(scale,) * 4, *((-2 * mass, Fraction(0), -2 * mass, -2 * mass) for mass in (wheel, spacer))]
    if spare_moves(job):
        spare = weighed_kg(job, "present.spare_kg")
        ahead = front_share_of(spare, job.spare.station_mm, job)
        share = ahead if axle == "front" else spare - ahead
        moves.append((-share, Fraction(0), -share, Fraction(0)))
    return moves


# Laid out on air


def ground_laid_out(job, axle, one, tires, heaviest_g):
    """Verdict on the ground under a truck that is laid out on air; holds where no clearance is asked."""
    asked = exact(job.targets.laid_out_clearance_mm)
    if asked is None:
        return True
    clearance = cleared_mm(job, axle, one, tires, heaviest_g, Fraction(0))
    return holds(clearance - laid_down_mm(job, axle) - asked)


def laid_down_mm(job, axle):
    """How far the lowest point goes down as the truck lays out; a size of None where not known."""
    if not hangs_on_frame(job, axle):
        return Near(Fraction(0))
    path = f"wheelhouse.{axle}.laid_out.travel_mm"
    return Near(travel_mm(job, axle, "laid_out"), measured(job, path, 0).give)


def scrub_line(job, axle, wheel, tire, tires):
    """Verdict on the lowest point over the scrub line of a flat tire, in each state that counts; holds if not asked."""
    if not job.targets.scrub_line:
        return True
    named = [name for name in ("ride_height", "laid_out") if getattr(getattr(job.wheelhouse, axle), name) is not None]
    drops = [laid_down_mm(job, axle) if name == "laid_out" else Near(Fraction(0)) for name in named or ["ride_height"]]
    return worst(over_scrub_line(job, axle, wheel, tire, tires, drop) for drop in drops)


def over_scrub_line(job, axle, wheel, tire, tires, drop):
    """Verdict on the lowest point over the scrub line, in a state in which it is so much lower."""
    level = holds(least_over_scrub_line_mm(job, axle, wheel, tire, tires, drop, [Fraction(1)]))
    if job.targets.scrub_line == "level":
        return level
    slopes = slopes_of(job, axle)
    if slopes is None:
        return True if level else None
    return holds(least_over_scrub_line_mm(job, axle, wheel, tire, tires, drop, slopes))


def slopes_of(job, axle):
    """Height of the line over the far tire's ground at the lowest point, over the near rim's bottom, or None."""
    aside_path, track_path = f"present.{axle}_lowest_lateral_mm", f"axle.{axle}.track_mm"
    aside = taped(job, aside_path, getattr(job.present, f"{axle}_lowest_lateral_mm"))
    track = taped(job, track_path, getattr(job.axle, axle).track_mm)
    if is_absent(aside.size, track.size):
        return None
    return [Fraction(1, 2) + out / width for out, width in itertools.product(aside.ends, track.ends)]


def least_over_scrub_line_mm(job, axle, wheel, tire, tires, drop, slopes):
    """What is left over the scrub line at the worst; on a tire of unknown diameter at the best that is plausible."""
    now = f"present.{axle}_ground_clearance_mm"
    clearance = taped(job, now, getattr(job.present, f"{axle}_ground_clearance_mm"))
    rim, new = exact(wheel["rim_diameter_mm"]), running_diameter_mm(job, tire)
    if is_absent(clearance.size, drop.size) or not hub_height_mm(job, axle).size:
        return Near(None)
    if new.size is None:
        ends = new.or_plausible("tire.running_diameter_mm").span
        sizes = [scrub_room_mm(job, axle, rim, (end,), tires, clearance, drop, slopes) for end in ends]
        return Near(max(sizes), span=(0, 0))
    return Near(scrub_room_mm(job, axle, rim, new.ends, tires, clearance, drop, slopes))


def scrub_room_mm(job, axle, rim, diameters, tires, clearance, drop, slopes):
    """What is left over the scrub line on some diameters, at the worst end of every measurement."""
    stands = hubs_and_diameters_now(job, axle, tires)
    every = itertools.product(stands, diameters, clearance.ends, drop.ends, slopes)
    return min(
        cleared + hub * each / old - hub - lower - slope * (hub * each / old - rim / 2 - FLANGE_UNDER_RIM_MM)
        for (hub, old), each, cleared, lower, slope in every
    )

"""Every build of a small job, by loops and fractions: what the ranking must equal.

Nothing here is shared with `combo` but the job's data class. A part is a plain dict in SI with None where a value is
absent. The checks are in `fitting`, `standing`, `gearing` and `carrying`, the bill in `paying`.
"""

import itertools
import math
from fractions import Fraction

from carrying import cases_of, gives_kg, heaviest_of, lightest_of, loadings, loads_of, scale_loads_g
from fitting import (
    NO_SPACER,
    corner_checks,
    fit_points,
    fit_rooms,
    left_nut_of,
    lip_error_um,
    needs_ring,
    nut_of,
    pair_checks,
)
from gearing import (
    axle_match,
    axle_torque,
    cruise_points,
    cruise_rpm,
    drives,
    held_g,
    hold_gear,
    level_friction,
    level_thrust_g,
    pull,
    start_grade,
    turning_checks,
)
from paying import WITH_MASS, basket, cost_cents, heaviest_kg, least_order, may_be_driven
from standing import ground, ground_laid_out, scrub_line
from verdicts import exact, grams, is_absent, is_accepted, ramp, rhu, total, worst

from combo.job import CRITERIA

ROUNDING = Fraction("0.000001")
"""Of a point, what binary fractions may have lost of a whole one."""

# Corners


def tire_capacity_g(tire):
    """What one tire may carry on a truck; a passenger tire its rating over 1.10."""
    rating, share = exact(tire["load_rating_kg"]), {"passenger": Fraction(10, 11), "light_truck": 1}
    if is_absent(rating) or tire["service"] not in share:
        return None
    return rhu(1000 * rating * share[tire["service"]])


def corner(job, axle, wheel, tire, spacer, tires, nuts):
    """All that a wheel, a tire and a spacer at an axle bring to a build."""
    rooms, nut = fit_rooms(job, axle, wheel, tire, spacer), nut_of(job, axle, wheel, spacer, nuts)
    left_nut = left_nut_of(job, axle, spacer, nut, nuts)
    diameter = exact(tire["overall_diameter_mm"])
    return {
        "skus": (wheel["sku"], tire["sku"], spacer["sku"]),
        "checks": {
            **corner_checks(job, axle, wheel, tire, spacer, nut, left_nut, rooms, tires),
            "scrub_line": scrub_line(job, axle, wheel, tire, tires),
        },
        "grams": total(grams(wheel["mass_kg"]), grams(tire["mass_kg"]), grams(spacer["mass_kg"])),
        "capacities_g": (tire_capacity_g(tire), grams(wheel["load_rating_kg"])),
        "fit": fit_points(rooms),
        "diameter_um": None if diameter is None else rhu(1000 * diameter),
        "lip_error_um": lip_error_um(job, axle, wheel, tire, spacer),
        "wheel": wheel,
        "tire": tire,
        "spacer": spacer,
        "nut": nut,
        "left_nut": left_nut,
        "needs_ring": needs_ring(job, axle, wheel, spacer),
    }


def every_corner(job, axle, wheels, tires, spacers, nuts):
    """Every wheel, tire and spacer at an axle."""
    return [
        corner(job, axle, wheel, tire, spacer, tires, nuts)
        for wheel, tire, spacer in itertools.product(wheels, tires, [NO_SPACER, *spacers])
    ]


def are_accepted(checks, job):
    """Whether none of some verdicts rejects a build."""
    return is_accepted(worst(checks.values()), job)


def corners(job, axle, *lists):
    """Corners at an axle that none of their own checks rejects."""
    return [one for one in every_corner(job, axle, *lists) if are_accepted(one["checks"], job)]


def paired(job, fronts, rears, tires):
    """Front and rear corners that go together."""
    return [
        (front, rear)
        for front, rear in itertools.product(fronts, rears)
        if (not job.job.same_all_round or front["skus"][:2] == rear["skus"][:2])
        and are_accepted(pair_checks(job, front, rear, tires), job)
    ]


# Builds


def enumerate_builds(job, wheels, tires, spacers, ratios, differentials, ballast, nuts):
    """All feasible builds of a job in ranked order, as dicts."""
    lists = dict(zip(WITH_MASS, (wheels, tires, spacers, ratios, differentials, ballast), strict=True))
    heaviest = {kind: heaviest_kg(may_be_driven(job, parts)) for kind, parts in lists.items()}
    fronts, rears = (corners(job, axle, wheels, tires, spacers, nuts) for axle in ("front", "rear"))
    chosen_drives, chosen_loadings = drives(job, ratios, differentials), loadings(job, ballast)
    base, gives, geared, builds = scale_loads_g(job), gives_kg(job), {}, []
    for front, rear in paired(job, fronts, rears, tires):
        fitted = {"front": front["tire"], "rear": rear["tire"]}
        skus = tuple(tire["sku"] for tire in fitted.values())
        if skus not in geared:
            geared[skus] = geared_with(job, fitted, chosen_drives, tires)
        truck = on_the_truck(job, front, rear, base)
        laden = [(loading, loads_of(job, truck, loading, gives)) for loading in chosen_loadings]
        laden = [(loading, loads) for loading, loads in laden if carries(job, truck, loads, tires)]
        for drive, (loading, loads) in itertools.product(geared[skus], laden):
            if not are_accepted(thrust_checks(job, fitted, drive, loads), job):
                continue
            build = {**build_of(job, truck, drive, loading, loads, heaviest), "tires": tires}
            if all(build["money_checks"].values()):
                builds.append(build)
    return sorted(builds, key=lambda build: sort_key(build, job))


def geared_with(job, fitted, chosen_drives, tires):
    """Drives that no check rejects on the tires, with engine speed at cruise and the masses that they hold."""
    rear = fitted["rear"]
    return [
        {**drive, "rpm": cruise_rpm(job, rear, drive["ratio"]), "held_g": held_g(job, rear, drive["ratio"])}
        for drive in chosen_drives
        if are_accepted(turning_checks(job, rear, drive["ratio"], tires), job)
        and is_accepted(axle_match(job, fitted, drive), job)
    ]


def carries(job, truck, loads, tires):
    """Whether no check of the loads rejects a build, nor the ground under it."""
    return are_accepted(loads["checks"], job) and are_accepted(ground_checks(job, truck, loads, tires), job)


def ground_checks(job, truck, loads, tires):
    """Verdicts on the ground under both axles, on the road and laid out, by check and axle."""
    return {
        (name, axle): check(job, axle, truck[axle], tires, loads[f"{axle}_heavy_g"])
        for name, check in (("ground", ground), ("ground_laid_out", ground_laid_out))
        for axle in ("front", "rear")
    }


def thrust_checks(job, fitted, drive, loads):
    """Verdicts on the truck and what it pulls on every grade, by name."""
    heavy, laden = loads["train_heavy_g"], loads["laden_g"]
    return {
        "hold_gear": hold_gear(drive, heavy),
        "pull": pull(job, fitted, drive, heavy, laden),
        "start_grade": start_grade(job, fitted, drive, laden),
        **{
            f"axle_torque_{axle}": axle_torque(
                job, axle, fitted[axle], drive, loads[f"{axle}_heavy_g"], loads[f"{axle}_give_kg"]
            )
            for axle in ("front", "rear")
        },
    }


def on_the_truck(job, front, rear, base):
    """Both corners and what they settle whatever the rest of the build is."""
    cases = cases_of(job, front, rear, base)
    return {
        "front": front,
        "rear": rear,
        "cases": cases,
        "heavy": heaviest_of(cases),
        "light": lightest_of(cases),
        "grams": None if is_absent(front["grams"], rear["grams"]) else 2 * front["grams"] + 2 * rear["grams"],
        "fit": min(front["fit"], rear["fit"]),
        "stance": stance_points(job, front, rear),
    }


def build_of(job, truck, drive, loading, loads, heaviest):
    """One build as a dict."""
    front, rear = truck["front"], truck["rear"]
    corners_of = {"front": front, "rear": rear}
    parts = basket(job, corners_of, drive, loading)
    cents, budget = cost_cents(job, corners_of, drive, parts, heaviest), job.money.budget_cents
    carried = total(truck["grams"], loading["front"], loading["rear"])
    return {
        **dict(zip(("front_wheel", "front_tire", "front_spacer"), front["skus"], strict=True)),
        **dict(zip(("rear_wheel", "rear_tire", "rear_spacer"), rear["skus"], strict=True)),
        **dict(zip(("ratio", "differential"), drive["skus"], strict=True)),
        "counts": loading["counts"],
        "cost_cents": cents,
        "points": {
            "cost": ramp(cost_scale_cents(job), 0, cents),
            "cruise": cruise_points(job, drive["rpm"]),
            "fit": truck["fit"],
            "traction": traction_points(job, loads, drive),
            "stance": truck["stance"],
            "weight": 0 if carried is None else ramp(grams(job.scales.weight_kg), 0, carried),
        },
        "cruise_rpm": drive["rpm"],
        **{name: grams for name, grams in loads.items() if name != "checks"},
        "money_checks": {"budget": budget is None or cents <= budget, "least_order": least_order(job, parts)},
        "basket": parts,
        "truck": truck,
        "drive": drive,
        "loading": loading,
    }


def cost_scale_cents(job):
    """Cost at which the points for cost are 0."""
    return job.scales.cost_cents or job.money.budget_cents or 500000


def traction_points(job, loads, drive):
    """Points for thrust, against locked differentials at the rear load asked for and the front load on the scale."""
    light = {axle: loads[f"{axle}_light_g"] for axle in drive["axles"]}
    if is_absent(*light.values()):
        return 0
    asked = exact(job.targets.rear_load_kg) or exact(job.truck.gawr_rear_kg) or 1000
    reference = {"rear": rhu(1000 * asked)}
    if "front" in light:
        reference["front"] = grams(job.loads.axle_kg("front"))
    own = {axle: one["friction"] for axle, one in drive["axles"].items()}
    locked = dict.fromkeys(reference, level_friction(job, "locked", None))
    full = level_thrust_g(job, locked, reference)
    return min(10000, max(0, math.floor(10000 * level_thrust_g(job, own, light) / full + ROUNDING)))


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

"""Every build of a small job, by loops and fractions: what the ranking must equal.

Nothing here is shared with `combo` but the job's data class. A part is a plain dict in SI with None where a value is
absent. The checks are in `fitting`, `gearing` and `carrying`, the bill in `paying`.
"""

import itertools
from fractions import Fraction

from carrying import cases_of, gives_kg, heaviest_of, lightest_of, loadings, loads_of, scale_loads_g
from fitting import (
    NO_SPACER,
    corner_verdict,
    fit_points,
    fit_rooms,
    lip_error_um,
    mount_pilot_mm,
    pair_verdict,
)
from gearing import cruise_points, cruise_rpm, drives, grip, pulled_g, start_grade, turning_verdict
from paying import corner_cents, heaviest_kg
from verdicts import exact, grams, is_absent, is_accepted, ramp, rhu, total, worst

from combo.job import CRITERIA

# Corners


def tire_capacity_g(tire):
    """What one tire may carry on a truck; a passenger tire its rating over 1.10."""
    rating, share = exact(tire["load_rating_kg"]), {"passenger": Fraction(10, 11), "light_truck": 1}
    if is_absent(rating) or tire["service"] not in share:
        return None
    return rhu(1000 * rating * share[tire["service"]])


def corner(job, axle, wheel, tire, spacer, heaviest):
    """All that a wheel, a tire and a spacer at an axle bring to a build."""
    rooms = fit_rooms(job, axle, wheel, tire, spacer)
    diameter = exact(tire["overall_diameter_mm"])
    pilot = mount_pilot_mm(job, axle, spacer).size
    return {
        "skus": (wheel["sku"], tire["sku"], spacer["sku"]),
        "verdict": corner_verdict(job, axle, wheel, tire, spacer, rooms),
        "grams": total(grams(wheel["mass_kg"]), grams(tire["mass_kg"]), grams(spacer["mass_kg"])),
        "cents": corner_cents(job, axle, wheel, tire, spacer, pilot, heaviest),
        "capacities_g": (tire_capacity_g(tire), grams(wheel["load_rating_kg"])),
        "fit": fit_points(rooms),
        "diameter_um": None if diameter is None else rhu(1000 * diameter),
        "lip_error_um": lip_error_um(job, axle, wheel, tire, spacer),
        "wheel": wheel,
        "tire": tire,
    }


def corners(job, axle, wheels, tires, spacers):
    """Corners at an axle that none of their own checks rejects."""
    heaviest = {"wheels": heaviest_kg(wheels), "tires": heaviest_kg(tires), "spacers": heaviest_kg(spacers)}
    every = (
        corner(job, axle, wheel, tire, spacer, heaviest)
        for wheel, tire, spacer in itertools.product(wheels, tires, [NO_SPACER, *spacers])
    )
    return [one for one in every if is_accepted(one["verdict"], job)]


def paired(job, fronts, rears):
    """Front and rear corners that go together."""
    return [
        (front, rear)
        for front, rear in itertools.product(fronts, rears)
        if (not job.job.same_all_round or front["skus"][:2] == rear["skus"][:2])
        and is_accepted(pair_verdict(job, front, rear), job)
    ]


# Builds


def enumerate_builds(job, wheels, tires, spacers, ratios, differentials, ballast):
    """All feasible builds of a job in ranked order, as dicts."""
    pairs = paired(job, corners(job, "front", wheels, tires, spacers), corners(job, "rear", wheels, tires, spacers))
    chosen_drives, chosen_loadings = drives(job, ratios, differentials), loadings(job, ballast)
    base, gives, geared, builds = scale_loads_g(job), gives_kg(job), {}, []
    for front, rear in pairs:
        sku = rear["tire"]["sku"]
        if sku not in geared:
            geared[sku] = geared_with(job, rear["tire"], chosen_drives)
        truck = on_the_truck(job, front, rear, base)
        laden = [(loading, loads_of(job, truck, loading, gives)) for loading in chosen_loadings]
        laden = [(loading, loads) for loading, loads in laden if is_accepted(loads["verdict"], job)]
        for drive, (loading, loads) in itertools.product(geared[sku], laden):
            if not is_accepted(thrust_verdict(job, rear["tire"], drive, loads), job):
                continue
            build = build_of(job, truck, drive, loading, loads)
            if job.money.budget_cents is None or build["cost_cents"] <= job.money.budget_cents:
                builds.append(build)
    return sorted(builds, key=lambda build: sort_key(build, job))


def geared_with(job, tire, chosen_drives):
    """Drives that no check rejects on a rear tire, with engine speed at cruise and the masses that they pull."""
    return [
        {**drive, "rpm": cruise_rpm(job, tire, drive["ratio"]), "pulled_g": pulled_g(job, tire, drive["ratio"])}
        for drive in chosen_drives
        if is_accepted(turning_verdict(job, tire, drive["ratio"]), job)
    ]


def thrust_verdict(job, tire, drive, loads):
    """Verdict on the whole truck on every grade."""
    heavy = loads["truck_heavy_g"]
    pulled = [None if is_absent(heavy, most) else heavy <= most for most in drive["pulled_g"]]
    return worst([*pulled, start_grade(job, tire, drive, loads["rear_light_g"], loads["lightest_truck_g"])])


def on_the_truck(job, front, rear, base):
    """Both corners and what they settle whatever the rest of the build is."""
    cases = cases_of(job, front, rear, base)
    light_rear, truck_at_light_rear = lightest_of(cases)
    return {
        "front": front,
        "rear": rear,
        "cases": cases,
        "heavy": heaviest_of(cases),
        "light_rear": light_rear,
        "truck_at_light_rear": truck_at_light_rear,
        "grams": None if is_absent(front["grams"], rear["grams"]) else 2 * front["grams"] + 2 * rear["grams"],
        "fit": min(front["fit"], rear["fit"]),
        "stance": stance_points(job, front, rear),
    }


def build_of(job, truck, drive, loading, loads):
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
            "cruise": cruise_points(job, drive["rpm"]),
            "fit": truck["fit"],
            "traction": traction_points(job, loads["rear_light_g"], drive["grip"]),
            "stance": truck["stance"],
            "weight": 0 if carried is None else ramp(grams(job.scales.weight_kg), 0, carried),
        },
        "cruise_rpm": drive["rpm"],
        **{name: grams for name, grams in loads.items() if name != "verdict"},
        "truck": truck,
        "drive": drive,
        "loading": loading,
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

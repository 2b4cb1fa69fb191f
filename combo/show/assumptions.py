"""What an answer rests on beside the measurements: defaults taken, estimates made, what was not asked."""

from __future__ import annotations

from typing import Any

import numpy as np

from combo.candidates.criteria import cost_scale_cents, cruise_aim_rpm
from combo.checks import CHECKS
from combo.checks.rows import moves_spare, present_tire
from combo.checks.totals import axle_loads_kg
from combo.job import AXLES, Job
from combo.parts import Parts
from combo.read.load import Loaded
from combo.search.topk import Ranking
from combo.show import words


def assumptions(loaded: Loaded, ranking: Ranking) -> list[list[Any]]:
    """Subject and sentence, for the workbook's last sheet."""
    job, parts = loaded.job, loaded.parts
    proven = "yes" if ranking.proven else "no: the search was cut short"
    rows = [["format", "1"], ["job", job.job.name], ["proven", proven]]
    rows += [["clearances", line] for line in _clearances(job)]
    rows += [["tires", line] for line in _tires(job, parts)]
    rows += [["lug nuts", line] for line in _lugs(parts)]
    rows += [["ground clearance", line] for line in _ground(job, parts)]
    rows += [["axles", line] for line in _axles(job)]
    rows += [["loads", line] for line in [*_loads(job), *_ties(job)]]
    rows += [["traction", line] for line in _traction(job)]
    rows += [["money", line] for line in _money(job)]
    rows += [["ranking", line] for line in _ranking(job)]
    rows += [["not asked", f"{check.name}: {check.unasked}"] for check in CHECKS if not check.asked(job)]
    rows += [["lists", line] for line in _lists(loaded)]
    rows += [["note", notice.text()] for notice in loaded.notices]
    return rows + [["caution", caution] for caution in words.CAUTIONS]


def _lists(loaded: Loaded) -> list[str]:
    """Price lists with their dates, and units that were proposed and that nobody has confirmed."""
    sheets = [sheet for own in loaded.sheets.values() for sheet in own]
    dated = [f"{sheet.file}: price list of {sheet.date}" for sheet in sheets if sheet.date]
    for sheet in sheets:
        if sheet.units and not sheet.confirmed:
            units = ", ".join(f'"{name}" in {unit}' for name, unit in sheet.units)
            dated.append(f"{sheet.file}: units proposed, and not confirmed: {units}")
    return dated


def _clearances(job: Job) -> list[str]:
    lines = []
    for axle in AXLES:
        house = getattr(job.wheelhouse, axle)
        inner, outer, top = (
            words.length(job, size)
            for size in (house.clearance_inner_mm, house.clearance_outer_mm, house.clearance_top_mm)
        )
        lines.append(
            f"{axle}: {inner} inside, {outer} outside, {top} over the tire "
            "(1/2 in and 1 in by default: common practice)"
        )
    states = {axle: ", ".join(getattr(job.wheelhouse, axle).states()).replace("_", " ") for axle in AXLES}
    lines += [f"{axle}: checked in {named or 'one state, as measured'}" for axle, named in states.items()]
    return [*lines, _fit(job)]


def _fit(job: Job) -> str:
    """Which margin decides, and the plus-or-minus taken where none is stated."""
    fit, tolerance = job.targets.fit, job.tolerance
    which = f"a chance of {fit:.0%} to clear" if isinstance(fit, float) else f"the {fit} margin"
    tires = "tires as their standard allows" if tolerance.tires == "standard" else "tires as listed"
    return (
        f"{which} decides; plus-or-minus where none is stated: {words.length(job, tolerance.length_mm)} taped, "
        f"{words.mass(job, tolerance.mass_kg)} weighed, {words.length(job, tolerance.wheel_mm)} of listed wheels; "
        f"{tires}"
    )


def _tires(job: Job, parts: Parts) -> list[str]:
    factor = job.rolling.factor
    by_size = (
        "0.97 radial, 0.98 bias, 0.975 where that is not known, give or take 1 % (1.5 %): common practice"
        if np.isnan(factor)
        else f"{factor:g} as the job states"
    )
    tires = parts.tires
    counted = [
        (
            tires["rim_is_estimate"],
            "tires: the rim that their width belongs to is worked out (nominal metric widths: "
            "0.70 of the section, 0.85 below 50 series; others: the usual measuring rim), an estimate",
        ),
        (tires["series_is_estimate"], "radials without a series: series 80 is taken, an estimate"),
        (
            tires["overall_diameter_mm"] != tires["running_diameter_mm"],
            "flotation tires list no diameter: clearances "
            "take the size less 6 mm, ground and gearing the size less 12 mm",
        ),
    ]
    lines = [
        f"rolling radius: declared revolutions per mile where listed, else half the overall diameter x {by_size}",
        "a passenger tire on a truck carries its rating / 1.10 (49 CFR 571.110)",
    ]
    lines += [f"{int(found.sum())} {words_}" for found, words_ in counted if found.sum()]
    flanges, listed = int((parts.wheels["flange_mm"] == 12.7).sum()), len(parts.wheels)
    return [*lines, f"rim flange: 1/2 in on {flanges} of {listed} wheels (common practice where none is listed)"]


def _lugs(parts: Parts) -> list[str]:
    """What is taken of nuts that no list states."""
    unstated = parts.spacers["nut_height_mm"].isna() & parts.spacers["stud_length_mm"].notna()
    inner = int(unstated.sum())
    if not inner:
        return []
    return [f"{inner} bolted spacers list no inner nut: 7/8 in high is taken, from memory; measure it"]


def _ground(job: Job, parts: Parts) -> list[str]:
    """How far the tires sink in, and what the lowest points hang on."""
    lines = []
    for axle in AXLES:
        if np.isnan(getattr(job.present, f"{axle}_hub_height_mm")):
            continue
        if not np.isnan(getattr(job.present, f"{axle}_tire_diameter_mm")):
            how = "measured"
        elif not np.isnan(present_tire(parts, axle, "running_diameter_mm")):
            how = "that of the listed tire that is on the truck"
        else:
            how = "an estimate: the hub height / 0.465"
        hangs = getattr(job.present, f"{axle}_lowest_on")
        lines.append(f"{axle}: the present tire's diameter is {how}; the lowest point hangs on the {hangs}")
    return lines


def _axles(job: Job) -> list[str]:
    """How live axles tilt."""
    live = [axle for axle in AXLES if getattr(job.axle, axle).live]
    measured = {axle: "articulated" in getattr(job.wheelhouse, axle).states() for axle in live}
    lines = [
        f"{axle} axle with one wheel up: "
        + ("as measured" if measured[axle] else "worked out from its travel, its track and its stops")
        for axle in live
    ]
    leaf = [axle for axle in live if np.isnan(getattr(job.panhard, f"{axle}_length_mm"))]
    lines += [
        f"{axle} roll center: within 3 in of the hub's height, from memory: no Panhard bar is given" for axle in leaf
    ]
    none = [axle for axle in AXLES if axle not in live]
    return [*lines, *(f"{axle} axle: not said to be live, so it does not tilt" for axle in none)]


def _ties(job: Job) -> list[str]:
    open_ = [station.name for station in job.ballast.stations if station.ties and not station.tie_run]
    return [f"{name}: how the ties run is not stated, so each counts half (49 CFR 393.106(d))" for name in open_]


def _loads(job: Job) -> list[str]:
    lines = [
        f"{name}: front axle {words.mass(job, front)}, rear axle {words.mass(job, rear)}, before parts and ballast"
        for name, (front, rear) in axle_loads_kg(job).items()
        if not np.isnan(front + rear)
    ]
    lines.append("wanted loads are judged in the lightest load case, capacities in the heaviest; static loads only")
    if job.job.spare:
        told = "counts at its station" if moves_spare(job) else "is taken as aboard already: no station is given"
        lines.append(f"the spare is one of the rear wheels and tires; its mass {told}")
    return lines


def _traction(job: Job) -> list[str]:
    if np.isnan(job.surface.friction_low) or np.isnan(job.surface.friction_high):
        return ["no [surface] given: traction counts the rear axle's load alone, whatever the differential"]
    low, high = job.surface.friction_low, job.surface.friction_high
    lines = [f"friction {low:g} under one drive wheel, {high:g} under the other; the criterion leaves preload out"]
    ground = job.surface.rolling_resistance
    lines.append(
        f"rolling resistance of that ground: {job.rolling.resistance:g}, the road's (usual: 0.015 to 0.02 "
        "bare ice, 0.03 packed snow, 0.08 soil; from memory but for soil)"
        if np.isnan(ground)
        else f"rolling resistance of that ground: {ground:g}"
    )
    if job.axle.rear.live:
        lines.append("a start: the driveshaft's torque lifts one rear wheel; the criterion leaves that out")
    if np.isnan(job.truck.cg_height_mm):
        lines.append("height of the center of gravity not given: load transfer is left out, which understates traction")
    return lines


def _money(job: Job) -> list[str]:
    money = job.money
    labor, mounting = words.money(money.labor_per_hour_cents), words.money(money.mount_and_balance_cents)
    taxed = ", ".join(money.taxed)
    rounded = "each line" if money.tax_by == "line" else "the invoice"
    lines = [
        f"tax {money.tax_ppm / 10_000:g} % on {taxed}, to the cent of {rounded}; labor {labor} an hour; "
        f"mounting and balancing {mounting} a tire"
    ]
    if money.prices == "cost":
        lines.append("listed prices are the shop's cost; what is told is with its markup")
    if money.freight_cents_per_kg:
        lines.append("freight of a part without a listed mass counts as that of the heaviest listed of its kind")
    return [*lines, "what is on the truck and stays costs nothing"]


def _ranking(job: Job) -> list[str]:
    used = job.ranking()
    if job.order.criteria:
        lines = [f"by order: {', then '.join(used)}; ties by cost, then SKUs"]
    else:
        lines = [f"by weights: {', '.join(f'{name} {job.weight(name)}' for name in used)}; ties by cost, then SKUs"]
    lines.append(f"cost earns nothing at {words.money(cost_scale_cents(job))}")
    aim = cruise_aim_rpm(job)
    return lines if np.isnan(aim) else [*lines, f"cruise aims at {aim:.0f} rpm"]

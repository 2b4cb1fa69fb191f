"""What an answer rests on beside the measurements: defaults taken, estimates made, what was not asked."""

from __future__ import annotations

from typing import Any

import numpy as np

from combo.checks import CHECKS
from combo.checks.rows import moves_spare
from combo.checks.totals import axle_loads_kg
from combo.job import AXLES, Job
from combo.parts import Parts
from combo.read.load import Loaded
from combo.show import words
from combo.solve.criteria import cost_scale_cents, cruise_aim_rpm
from combo.solve.rank import Ranking


def assumptions(loaded: Loaded, ranking: Ranking) -> list[list[Any]]:
    """Subject and sentence, for the workbook's last sheet."""
    job, parts = loaded.job, loaded.parts
    proven = "yes" if ranking.proven else "no: the search was cut short"
    rows = [["format", "1"], ["job", job.job.name], ["proven", proven]]
    rows += [["clearances", line] for line in _clearances(job)]
    rows += [["tires", line] for line in _tires(job, parts)]
    rows += [["loads", line] for line in _loads(job)]
    rows += [["traction", line] for line in _traction(job)]
    rows += [["money", line] for line in _money(job)]
    rows += [["ranking", line] for line in _ranking(job)]
    rows += [["not asked", f"{check.name}: {check.unasked}"] for check in CHECKS if not check.asked(job)]
    rows += [["note", notice.text()] for notice in loaded.notices]
    return rows + [["caution", caution] for caution in words.CAUTIONS]


def _clearances(job: Job) -> list[str]:
    lines = []
    for axle in AXLES:
        house = getattr(job.wheelhouse, axle)
        inner, outer, top = (words.length(job, size) for size in
                             (house.clearance_inner_mm, house.clearance_outer_mm, house.clearance_top_mm))  # fmt: skip
        lines.append(f"{axle}: {inner} inside, {outer} outside, {top} over the tire "
                     "(1/2 in and 1 in by default: common practice)")  # fmt: skip
    states = {axle: ", ".join(getattr(job.wheelhouse, axle).states()).replace("_", " ") for axle in AXLES}
    lines += [f"{axle}: checked in {named or 'one state, as measured'}" for axle, named in states.items()]
    return [*lines, _fit(job)]


def _fit(job: Job) -> str:
    """Which margin decides, and the plus-or-minus taken where none is stated."""
    fit, tolerance = job.targets.fit, job.tolerance
    which = f"a chance of {fit:.0%} to clear" if isinstance(fit, float) else f"the {fit} margin"
    tires = "tires as their standard allows" if tolerance.tires == "standard" else "tires as listed"
    return (f"{which} decides; plus-or-minus where none is stated: {words.length(job, tolerance.length_mm)} taped, "
            f"{words.mass(job, tolerance.mass_kg)} weighed, {words.length(job, tolerance.wheel_mm)} of listed wheels; "
            f"{tires}")  # fmt: skip


def _tires(job: Job, parts: Parts) -> list[str]:
    estimates = int(parts.tires["rim_is_estimate"].sum())
    factor = job.rolling.factor
    lines = [
        f"rolling radius: declared revolutions per mile where listed, else half the overall diameter x {factor:g}"
        + (" (free circumference; a loaded radial rolls 2 to 4 % less)" if factor == 1.0 else ""),
        "a passenger tire on a truck carries its rating / 1.10 (49 CFR 571.110)",
    ]
    if estimates:
        lines.append(f"{estimates} tires list no measuring rim: the theoretical rim "
                     "(0.70 of the section, 0.85 below 50 series) is used, an estimate")  # fmt: skip
    radii = int(parts.tires["radius_is_estimate"].sum())
    if radii:
        lines.append(f"{radii} tires list no static loaded radius: half the diameter less 3.5 % of it, an estimate")
    flanges = int((parts.wheels["flange_mm"] == 12.7).sum())
    listed = len(parts.wheels)
    return [*lines, f"rim flange: 1/2 in on {flanges} of {listed} wheels (common practice where none is listed)"]


def _loads(job: Job) -> list[str]:
    lines = [
        f"{name}: front axle {words.mass(job, front)}, rear axle {words.mass(job, rear)}, before parts and ballast"
        for name, (front, rear) in axle_loads_kg(job).items() if not np.isnan(front + rear)
    ]  # fmt: skip
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
    if np.isnan(job.truck.cg_height_mm):
        lines.append("height of the center of gravity not given: load transfer is left out, which understates traction")
    return lines


def _money(job: Job) -> list[str]:
    money = job.money
    labor, mounting = words.money(money.labor_per_hour_cents), words.money(money.mount_and_balance_cents)
    taxed = ", ".join(money.taxed)
    lines = [f"tax {money.tax_ppm / 10_000:g} % on {taxed}, line by line to the cent; labor {labor} an hour; "
             f"mounting and balancing {mounting} a tire"]  # fmt: skip
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

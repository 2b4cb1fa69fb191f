"""What each row of parts costs, line by line, in whole cents: a part that is on the truck and stays costs nothing.

Every line is worked out here and nowhere else; its tax is rounded to the cent, half a cent up, for one of a thing, and
then taken as often as there are. A row's cost is the sum of its lines, so a shown bill adds up to the ranked cost.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from combo.formulas.rounding import half_up
from combo.job import WHEELS_AN_AXLE, Job
from combo.parts import Parts

Cents = NDArray[np.float64]
Taxed = Literal["parts", "freight", "labor", "fees"]
HUB_CENTRIC_MM = 0.1
"""A bore at most so much over the pilot centers the wheel by itself."""


def _count(rows: Any) -> int:
    """Wheels and tires that the axle's bill has: the rear one's has the spare."""
    return WHEELS_AN_AXLE + (1 if rows.axle == "rear" and rows.job.job.spare else 0)


def _bought(rows: Any, kind: Literal["wheel", "tire"]) -> Cents:
    """How many of a kind are bought: those that are on this axle of the truck now stay, but for the spare."""
    return np.asarray(_count(rows) - WHEELS_AN_AXLE * _is_kept(rows, kind), dtype=float)


def _new_on_axle(rows: Any, kind: str) -> Cents:
    return np.asarray(WHEELS_AN_AXLE * (1.0 - _is_kept(rows, kind)), dtype=float)


def _wheels(rows: Any) -> Cents:
    return _bought(rows, "wheel") * with_tax(rows.job, "parts", rows["wheel.price_cents"])


def _tires(rows: Any) -> Cents:
    return _bought(rows, "tire") * with_tax(rows.job, "parts", rows["tire.price_cents"])


def _spacers(rows: Any) -> Cents:
    return _new_on_axle(rows, "spacer") * with_tax(rows.job, "parts", rows["spacer.price_cents"])


def _lug_nuts(rows: Any) -> Cents:
    """Wheels that are on that axle now keep their nuts."""
    nuts = getattr(rows.job.hub, rows.axle).bolt_circle.lug_count
    cents: Cents = _new_on_axle(rows, "wheel") * nuts * with_tax(rows.job, "parts", rows.job.money.lug_nut_cents)
    return cents


def _hub_rings(rows: Any) -> Cents:
    """Rings for new wheels whose bore is known to leave more room over the pilot than centers it."""
    room = rows["wheel.hub_bore_mm"] - rows["mount.pilot_mm"]
    needed = np.asarray(np.round(room, 3) > HUB_CENTRIC_MM, dtype=float)
    cents: Cents = _new_on_axle(rows, "wheel") * needed * with_tax(rows.job, "parts", rows.job.money.hub_ring_cents)
    return cents


def _mounting(rows: Any) -> Cents:
    """Tires that stay on wheels that stay need no mounting."""
    mounted = _count(rows) - WHEELS_AN_AXLE * _is_kept(rows, "wheel") * _is_kept(rows, "tire")
    return mounted * with_tax(rows.job, "labor", rows.job.money.mount_and_balance_cents)


def _disposal(rows: Any) -> Cents:
    return _new_on_axle(rows, "tire") * with_tax(rows.job, "fees", rows.job.money.tire_disposal_cents)


def _freight_of(kind: Literal["wheel", "tire", "spacer"], rows: Any) -> Cents:
    """Freight of the parts of a kind; one whose mass no list states counts as the heaviest listed."""
    number = _new_on_axle(rows, kind) * rows["spacer.is_fitted"] if kind == "spacer" else _bought(rows, kind)
    mass = rows[f"{kind}.mass_kg"]
    return number * _freight_cents(rows.job, np.where(np.isnan(mass), heaviest_kg(rows.parts, kind), mass))


CORNER_BILL: dict[str, Callable[[Any], Cents]] = {
    "wheels": _wheels,
    "tires": _tires,
    "spacers": _spacers,
    "lug nuts": _lug_nuts,
    "hub rings": _hub_rings,
    "mounting and balancing": _mounting,
    "tire disposal": _disposal,
    "freight": lambda rows: _freight_of("wheel", rows) + _freight_of("tire", rows) + _freight_of("spacer", rows),
}
"""Lines of the bill for the wheels, tires and spacers of an axle: functions of `combo.checks.rows.Rows` of corners."""


def of_wheel_cents(rows: Any) -> Cents:
    """What a wheel brings to the bill of its axle, whatever is beside it."""
    return _wheels(rows) + _lug_nuts(rows) + _freight_of("wheel", rows)


def of_tire_cents(rows: Any) -> Cents:
    """What a tire brings to the bill of its axle, whatever is beside it."""
    return _tires(rows) + _disposal(rows) + _freight_of("tire", rows)


def of_spacer_cents(rows: Any) -> Cents:
    """What a spacer brings to the bill of its axle, whatever is beside it."""
    return _spacers(rows) + _freight_of("spacer", rows)


def heaviest_kg(parts: Parts, kind: Literal["wheel", "tire", "spacer"]) -> float:
    """Heaviest listed part of a kind; 0 where no mass is listed."""
    masses = parts.column(kind, "mass_kg")
    return float(np.nanmax(masses)) if not np.isnan(masses).all() else 0.0


def _is_new(rows: Any, kind: Literal["ratio", "differential"]) -> Cents:
    return np.asarray(rows[f"{kind}.on_truck"] != "yes", dtype=float)


def _of_new(rows: Any, column: str) -> Any:
    """What the new of gear set and differential add up to in a column; nothing where a list leaves it open."""
    kinds: tuple[Literal["ratio"], Literal["differential"]] = ("ratio", "differential")
    return sum(_is_new(rows, kind) * np.nan_to_num(rows[f"{kind}.{column}"]) for kind in kinds)


def _install_kit(rows: Any) -> Cents:
    """Needed once, as soon as gear set or differential is changed."""
    either = np.maximum(_is_new(rows, "ratio"), _is_new(rows, "differential"))
    return either * with_tax(rows.job, "parts", rows.job.money.install_kit_cents)


def _cores(rows: Any) -> Cents:
    kinds: tuple[Literal["ratio"], Literal["differential"]] = ("ratio", "differential")
    each = (_is_new(rows, kind) * with_tax(rows.job, "fees", np.nan_to_num(rows[f"{kind}.core_charge_cents"]))
            for kind in kinds)  # fmt: skip
    return np.asarray(sum(each), dtype=float)


DRIVE_BILL: dict[str, Callable[[Any], Cents]] = {
    "gear set": lambda rows: _is_new(rows, "ratio") * with_tax(rows.job, "parts", rows["ratio.price_cents"]),
    "differential": lambda rows: (
        _is_new(rows, "differential") * with_tax(rows.job, "parts", rows["differential.price_cents"])
    ),
    "install kit": _install_kit,
    "core charges": _cores,
    "labor": lambda rows: with_tax(
        rows.job, "labor", half_up(_of_new(rows, "labor_hours") * rows.job.money.labor_per_hour_cents)
    ),
}
"""Lines of the bill for gear set and differential: functions of `combo.checks.rows.Rows` of drives."""


def slot_cents(job: Job, rows: Mapping[str, NDArray[Any]]) -> Cents:
    """Price and freight of one ballast item."""
    return with_tax(job, "parts", rows["ballast.price_cents"]) + _freight_cents(job, rows["ballast.mass_kg"])


def with_tax(job: Job, kind: Taxed, cents: Any) -> Cents:
    """An amount with its tax, where that kind of amount is taxed."""
    plain = np.asarray(cents, dtype=float)
    if kind not in job.money.taxed:
        return plain
    return plain + np.floor((plain * job.money.tax_ppm + 500_000) / 1_000_000)


def _is_kept(rows: Any, kind: str) -> NDArray[np.float64]:
    """1 where the part is on this axle of the truck already, else 0."""
    there = rows[f"{kind}.on_truck"]
    return np.asarray((there == rows.axle) | (there == "both"), dtype=float)


def _freight_cents(job: Job, mass_kg: Any) -> Cents:
    """Freight of one part, with its tax."""
    return with_tax(job, "freight", half_up(np.asarray(mass_kg, dtype=float) * job.money.freight_cents_per_kg))

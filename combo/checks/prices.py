"""What each row of parts costs, line by line, in whole cents: a part that is on the truck and stays costs nothing.

Every line is worked out here and nowhere else; its tax is rounded to the cent, half a cent up, for one of a thing, and
then taken as often as there are. A row's cost is the sum of its lines, so a shown bill adds up to the ranked cost.
"""

from __future__ import annotations

from typing import Any, Literal

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from combo.job import WHEELS_AN_AXLE, Axle, Job

Cents = NDArray[np.float64]
Taxed = Literal["parts", "freight", "labor", "fees"]
HUB_CENTRIC_MM = 0.1
"""A bore at most so much over the pilot centers the wheel by itself."""


def corner_bill(job: Job, axle: Axle, rows: pd.DataFrame, heaviest_kg: dict[str, float]) -> dict[str, Cents]:
    """Lines of the bill for the wheels, tires and spacers of an axle, each an array over the rows.

    The rear axle's bill has the spare. Wheels that are on that axle now keep their nuts; tires that stay on wheels that
    stay need no mounting. `heaviest_kg` has the heaviest listed part of each kind: freight of one whose mass no list
    states counts as that one's.
    """
    count = WHEELS_AN_AXLE + (1 if axle == "rear" and job.job.spare else 0)
    kept = {kind: _is_kept(rows, kind, axle) for kind in ("wheel", "tire", "spacer")}
    wheels, tires = (count - WHEELS_AN_AXLE * kept[kind] for kind in ("wheel", "tire"))
    spacers = WHEELS_AN_AXLE * (1.0 - kept["spacer"])
    mounted = count - WHEELS_AN_AXLE * kept["wheel"] * kept["tire"]
    new_wheels = WHEELS_AN_AXLE * (1.0 - kept["wheel"])
    nuts = getattr(job.hub, axle).bolt_circle.lug_count
    fitted = rows["spacer.is_fitted"].to_numpy()
    freight = sum(
        number * _freight_cents(job, rows[f"{kind}.mass_kg"].fillna(heaviest_kg[kind]))
        for kind, number in (("wheel", wheels), ("tire", tires), ("spacer", spacers * fitted))
    )
    return {
        "wheels": wheels * with_tax(job, "parts", rows["wheel.price_cents"]),
        "tires": tires * with_tax(job, "parts", rows["tire.price_cents"]),
        "spacers": spacers * with_tax(job, "parts", rows["spacer.price_cents"]),
        "lug nuts": new_wheels * nuts * with_tax(job, "parts", job.money.lug_nut_cents),
        "hub rings": new_wheels * _needs_ring(rows) * with_tax(job, "parts", job.money.hub_ring_cents),
        "mounting and balancing": mounted * with_tax(job, "labor", job.money.mount_and_balance_cents),
        "tire disposal": WHEELS_AN_AXLE * (1.0 - kept["tire"]) * with_tax(job, "fees", job.money.tire_disposal_cents),
        "freight": np.asarray(freight, dtype=float),
    }


def drive_bill(job: Job, rows: pd.DataFrame) -> dict[str, Cents]:
    """Lines of the bill for gear set and differential, each an array over the rows.

    The install kit is needed once, as soon as either is changed.
    """
    new = {kind: 1.0 - (rows[f"{kind}.on_truck"].to_numpy() == "yes") for kind in ("ratio", "differential")}
    hours = sum(new[kind] * rows[f"{kind}.labor_hours"].fillna(0.0).to_numpy() for kind in new)
    cores = sum(new[kind] * with_tax(job, "fees", rows[f"{kind}.core_charge_cents"].fillna(0.0)) for kind in new)
    either = np.maximum(new["ratio"], new["differential"])
    return {
        "gear set": new["ratio"] * with_tax(job, "parts", rows["ratio.price_cents"]),
        "differential": new["differential"] * with_tax(job, "parts", rows["differential.price_cents"]),
        "install kit": either * with_tax(job, "parts", job.money.install_kit_cents),
        "core charges": np.asarray(cores, dtype=float),
        "labor": with_tax(job, "labor", half_up(hours * job.money.labor_per_hour_cents)),
    }


def slot_cents(job: Job, rows: pd.DataFrame) -> Cents:
    """Price and freight of one ballast item."""
    return with_tax(job, "parts", rows["ballast.price_cents"]) + _freight_cents(job, rows["ballast.mass_kg"])


def total_cents(bill: dict[str, Cents]) -> Cents:
    """Sum of the lines of a bill."""
    return np.asarray(sum(bill.values()), dtype=float)


def with_tax(job: Job, kind: Taxed, cents: Any) -> Cents:
    """An amount with its tax, where that kind of amount is taxed."""
    plain = np.asarray(cents, dtype=float)
    if kind not in job.money.taxed:
        return plain
    return plain + np.floor((plain * job.money.tax_ppm + 500_000) / 1_000_000)


def half_up(sizes: Any) -> NDArray[np.float64]:
    """Nearest whole number, a half up; NaN stays NaN."""
    whole: NDArray[np.float64] = np.floor(np.asarray(sizes, dtype=float) + 0.5)
    return whole


def _is_kept(rows: pd.DataFrame, kind: str, axle: Axle) -> NDArray[np.float64]:
    """1 where the part is on this axle of the truck already, else 0."""
    return np.asarray(rows[f"{kind}.on_truck"].isin([axle, "both"]), dtype=float)


def _needs_ring(rows: pd.DataFrame) -> NDArray[np.float64]:
    """1 where the wheel's bore is known to leave more room over the pilot than centers it."""
    room = rows["wheel.hub_bore_mm"].to_numpy() - rows["mount.pilot_mm"].to_numpy()
    return np.asarray(np.round(room, 3) > HUB_CENTRIC_MM, dtype=float)


def _freight_cents(job: Job, mass_kg: pd.Series[Any]) -> Cents:
    """Freight of one part, with its tax."""
    return with_tax(job, "freight", half_up(mass_kg.to_numpy() * job.money.freight_cents_per_kg))

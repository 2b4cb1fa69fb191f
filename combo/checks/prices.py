"""What a build costs, line by line, in whole cents: a part that is on the truck and stays costs nothing.

A line is one part number of the whole build, as an invoice has it: the same wheel at both axles is one line of four. So
the cost of a build is no sum over its parts, by a cent of tax here and a supplier's freight there, and `charges` works
it out for whole builds. What the search adds up part by part is `*.cost_cents`: the same lines without rounding and
without what a supplier asks for an order, and with the truck's `least_start_cents` never more than the cost.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from combo.checks.table import Columns
from combo.formulas.rounding import half_up
from combo.job import AXLES, WHEELS_AN_AXLE, Job
from combo.parts import Parts

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Taxed = Literal["parts", "freight", "labor", "fees"]
HUB_CENTRIC_MM = 0.1
"""A bore at most so much over the pilot centers the wheel by itself."""
PPM = 1_000_000.0
CORNER_PARTS = ("wheel", "tire", "spacer")
DRIVE_PARTS = ("ratio", "differential")
FRONT_DRIVE_PARTS = ("front_ratio", "front_differential")
NUTS = ("nut", "left_nut")
_SENDERS = 12
"""More suppliers than the parts of a build beside its ballast may come from."""
LINES = 31
"""More lines than a bill has, without ballast and the shop's own: each may round its tax up or down by half a cent."""


# What one row of parts needs


def is_kept(rows: Any, kind: str) -> Floats:
    """1 where the part is on this axle of the truck already, else 0."""
    there = rows[f"{kind}.on_truck"]
    return np.asarray((there == rows.axle) | (there == "both"), dtype=float)


def _count(rows: Any) -> int:
    """Wheels and tires that the axle's bill has: the rear one's has the spare."""
    return WHEELS_AN_AXLE + (1 if rows.axle == "rear" and rows.job.job.spare else 0)


def _bought(kind: str) -> Callable[[Any], Floats]:
    """How many of a kind are bought: those that are on this axle of the truck now stay, but for the spare."""

    def bought(rows: Any) -> Floats:
        if kind == "spacer":
            return np.asarray(_new_on_axle(rows, kind) * rows["spacer.is_fitted"], dtype=float)
        return np.asarray(_count(rows) - WHEELS_AN_AXLE * is_kept(rows, kind), dtype=float)

    return bought


def _new_on_axle(rows: Any, kind: str) -> Floats:
    return np.asarray(WHEELS_AN_AXLE * (1.0 - is_kept(rows, kind)), dtype=float)


def _nuts(rows: Any) -> Floats:
    """Lug nuts that are bought: wheels that are on that axle now keep theirs; without those of left-hand studs."""
    return np.asarray(_new_on_axle(rows, "wheel") * rows["wheel.bolt_circle_lugs"] - _left_nuts(rows), dtype=float)


def _left_nuts(rows: Any) -> Floats:
    """Left-hand lug nuts that are bought, for one of the two wheels; none where none is listed."""
    each = _new_on_axle(rows, "wheel") / WHEELS_AN_AXLE * rows["wheel.bolt_circle_lugs"]
    return np.asarray(np.where(rows["mount.left_nut_at"] >= 0, each, 0.0), dtype=float)


def _rings(rows: Any) -> Floats:
    """Rings for new wheels whose bore is known to leave more room over the pilot that they meet than centers them."""
    room = rows["wheel.hub_bore_mm"] - rows["mount.pilot_mm"]
    needed = (np.round(room, 3) > HUB_CENTRIC_MM) & (rows["mount.meets_pilot"] != 0.0)
    return np.asarray(_new_on_axle(rows, "wheel") * needed, dtype=float)


def _mounted(rows: Any) -> Floats:
    """Tires that stay on wheels that stay need no mounting."""
    return np.asarray(_count(rows) - WHEELS_AN_AXLE * is_kept(rows, "wheel") * is_kept(rows, "tire"), dtype=float)


def nuts_of(job: Job) -> tuple[str, ...]:
    """Kinds of lug nuts that a job may need: those with a left-hand thread where a hub has such studs."""
    return NUTS if any(getattr(job.hub, axle).left_hand for axle in AXLES) else NUTS[:1]


def drive_parts(job: Job) -> tuple[str, ...]:
    """Kinds of parts that a drive has: those of the rear axle, and of the front one where it is driven."""
    return DRIVE_PARTS + FRONT_DRIVE_PARTS if job.axle.is_front_driven else DRIVE_PARTS


def _column_of(kind: str, name: str) -> str:
    """Column of a part; those of the front axle's gears stand in the row of the rear's."""
    base = kind.removeprefix("front_")
    return f"{base}.{name}" if base == kind else f"{base}.front_{name}"


def _is_new(kind: str) -> Callable[[Any], Floats]:
    return lambda rows: np.asarray(rows[_column_of(kind, "on_truck")] != "yes", dtype=float)


def _is_opened(rows: Any) -> Floats:
    """How many axles are opened: each as soon as its gear set or differential is changed."""
    own = np.asarray(np.maximum(rows["buy.ratio_n"], rows["buy.differential_n"]), dtype=float)
    if rows.job.axle.is_front_driven:
        own = own + np.maximum(rows["buy.front_ratio_n"], rows["buy.front_differential_n"])
    return own


def _core(kind: str) -> Callable[[Any], Floats]:
    return lambda rows: np.asarray(rows[f"buy.{kind}_n"] * np.nan_to_num(rows[_column_of(kind, "core_charge_cents")]))


def _labor_cents(rows: Any) -> Floats:
    """Labor of the new of gear set and differential, to the cent; nothing where a list leaves the hours open."""
    hours = sum(
        rows[f"buy.{kind}_n"] * np.nan_to_num(rows[_column_of(kind, "labor_hours")]) for kind in drive_parts(rows.job)
    )
    return np.asarray(half_up(hours * rows.job.money.labor_per_hour_cents), dtype=float)


# Prices of one part


def suppliers_of(job: Job, parts: Parts) -> tuple[str, ...]:
    """Who sends parts: nobody named, those of [[suppliers]], and others that lists name."""
    known = tuple(supplier.name for supplier in job.suppliers)
    return ("", *known, *(name for name in parts.suppliers if name not in known))


def supplier_numbers(job: Job, parts: Parts, names: NDArray[Any]) -> Floats:
    """Whose order each part is in, as `suppliers_of` has them."""
    number = {name: float(at) for at, name in enumerate(suppliers_of(job, parts))}
    return np.array([number.get(name, 0.0) for name in names], dtype=float)


def selling_cents(job: Job, plural: str, listed: Any, suppliers: Floats) -> Floats:
    """What the customer pays for one: the listed price, or the shop's cost with the markup of supplier or kind."""
    plain = np.asarray(listed, dtype=float)
    if job.money.prices == "selling":
        return plain
    of_kind = getattr(job.money.markup, f"{plural}_ppm")
    markups = [of_kind, *(of_kind if own.markup_ppm is None else own.markup_ppm for own in job.suppliers), of_kind]
    ppm = np.array(markups, dtype=float)[np.minimum(suppliers.astype(np.int64), len(job.suppliers) + 1)]
    return np.asarray(np.floor((plain * (PPM + ppm) + PPM / 2.0) / PPM), dtype=float)


def heaviest_kg(parts: Parts, kind: str) -> float:
    """Heaviest listed part of a kind, at whatever axle it is; 0 where no mass is listed."""
    base = kind.removeprefix("front_")
    columns = [name for name in ("mass_kg", "front_mass_kg") if name in parts.of_kind(base)]
    masses = np.concatenate([parts.column(base, name) for name in columns])
    return float(np.nanmax(masses)) if len(masses) and not np.isnan(masses).all() else 0.0


_PLURALS = {
    "wheel": "wheels",
    "tire": "tires",
    "spacer": "spacers",
    "ratio": "ratios",
    "differential": "differentials",
    "front_ratio": "ratios",
    "front_differential": "differentials",
}


def _supplier(kind: str) -> Callable[[Any], Floats]:
    """Where nobody is named no list is asked."""
    return lambda rows: (
        supplier_numbers(rows.job, rows.parts, rows[_column_of(kind, "supplier")])
        if rows.parts.suppliers
        else np.zeros(len(rows))
    )


def _listed(kind: str) -> Callable[[Any], Floats]:
    return lambda rows: np.nan_to_num(np.asarray(rows[_column_of(kind, "price_cents")], dtype=float))


def _selling(kind: str) -> Callable[[Any], Floats]:
    return lambda rows: selling_cents(
        rows.job, _PLURALS[kind], rows[_column_of(kind, "price_cents")], rows[f"buy.{kind}_from"]
    )


def _kg(kind: str) -> Callable[[Any], Floats]:
    """Mass of one for its freight; one whose mass no list states counts as the heaviest listed."""

    def mass(rows: Any) -> Floats:
        if not rows.job.money.freight_cents_per_kg:
            return np.zeros(len(rows))
        own = np.asarray(rows[_column_of(kind, "mass_kg")], dtype=float)
        return np.where(np.isnan(own), heaviest_kg(rows.parts, kind), own)

    return mass


def _nut_column(kind: str, name: str) -> Callable[[Any], Floats]:
    """A number of the nut that goes with the wheel, or of the job's own, a price each."""

    def column(rows: Any) -> Floats:
        job, nuts = rows.job, rows.parts.nuts
        suppliers = supplier_numbers(job, rows.parts, nuts["supplier"].to_numpy())
        listed = nuts["price_cents"].to_numpy(dtype=float)
        own = {
            "cents": (selling_cents(job, "nuts", listed, suppliers), float(job.money.lug_nut_cents)),
            "listed": (listed, float(job.money.lug_nut_cents)),
            "pack": (nuts["pack"].fillna(1.0).to_numpy(dtype=float), 1.0),
            "from": (suppliers, 0.0),
        }[name]
        return np.asarray(np.append(own[0], own[1])[rows[f"mount.{kind}_at"]], dtype=float)

    return column


def _part_columns(kind: str, bought: Callable[[Any], Floats]) -> dict[str, Callable[[Any], Floats]]:
    return {
        f"buy.{kind}_n": bought,
        f"buy.{kind}_from": _supplier(kind),
        f"buy.{kind}_listed": _listed(kind),
        f"buy.{kind}_cents": _selling(kind),
        f"buy.{kind}_kg": _kg(kind),
    }


# What the search adds up part by part


def _with_tax(job: Job, kind: Taxed, cents: Any) -> Floats:
    """An amount with its tax, not rounded, where that kind of amount is taxed."""
    rate = job.money.tax_ppm / PPM if kind in job.money.taxed else 0.0
    return np.asarray(np.asarray(cents, dtype=float) * (1.0 + rate), dtype=float)


def _own_lines(job: Job, by: str, count: Any) -> Floats:
    """The shop's own lines that go by a thing, not rounded, for so many of it."""
    each = sum(
        line.price_cents * (1.0 + (job.money.tax_ppm / PPM if line.taxed else 0.0))
        for line in job.money.lines
        if line.by == by
    )
    return np.asarray(np.asarray(count, dtype=float) * each, dtype=float)


def _by_mass(job: Job, suppliers: Floats, kg: Any) -> Floats:
    """Freight by mass, not rounded, of what comes from suppliers without a price an order."""
    flat = np.array([False, *(own.freight_cents is not None for own in job.suppliers), False])
    cents = np.asarray(kg, dtype=float) * job.money.freight_cents_per_kg
    at = np.minimum(suppliers.astype(np.int64), len(job.suppliers) + 1)
    return _with_tax(job, "freight", np.where(flat[at], 0.0, cents))


def _of_part(kind: str) -> Callable[[Any], Floats]:
    """What the parts of a kind bring to the bill of their row, whatever is beside them."""

    def cents(rows: Any) -> Floats:
        job, count = rows.job, rows[f"buy.{kind}_n"]
        price = _with_tax(job, "parts", count * rows[f"buy.{kind}_cents"])
        own: Floats = price + _by_mass(job, rows[f"buy.{kind}_from"], count * rows[f"buy.{kind}_kg"])
        own = own + _own_lines(job, kind, count)
        if kind == "tire":
            own = own + _with_tax(job, "fees", _new_on_axle(rows, kind) * job.money.tire_disposal_cents)
        if kind in DRIVE_PARTS + FRONT_DRIVE_PARTS:
            own = own + _with_tax(job, "fees", _core(kind)(rows))
        return own

    return cents


def _joint_cents(rows: Any) -> Floats:
    """What wheel, tire and spacer bring together, but for hub rings: mounting, and the nuts of the wheel."""
    job = rows.job
    mounting = _with_tax(job, "labor", rows["buy.mounted_n"] * job.money.mount_and_balance_cents)
    nuts = sum(rows[f"buy.{kind}_n"] * rows[f"buy.{kind}_cents"] / rows[f"buy.{kind}_pack"] for kind in nuts_of(job))
    return mounting + _with_tax(job, "parts", nuts)


def _corner_cents(rows: Any) -> Floats:
    rings = _with_tax(rows.job, "parts", rows["buy.ring_n"] * rows.job.money.hub_ring_cents)
    kinds = sum(rows[f"corner.of_{kind}_cents"] for kind in CORNER_PARTS)
    return np.asarray(kinds + rows["corner.mounting_cents"] + rings, dtype=float)


def _drive_cents(rows: Any) -> Floats:
    job, opened = rows.job, rows["buy.kit_n"]
    own = _with_tax(job, "parts", opened * job.money.install_kit_cents) + _own_lines(job, "axle", opened)
    own = own + _with_tax(job, "labor", rows["buy.labor_cents"])
    return np.asarray(own + sum(_of_part(kind)(rows) for kind in drive_parts(job)), dtype=float)


CORNER_COLUMNS: dict[str, Callable[[Any], Any]] = {
    **{name: own for kind in CORNER_PARTS for name, own in _part_columns(kind, _bought(kind)).items()},
    "buy.nut_n": _nuts,
    "buy.left_nut_n": _left_nuts,
    **{f"buy.{kind}_{name}": _nut_column(kind, name) for kind in NUTS for name in ("cents", "listed", "pack", "from")},
    "buy.ring_n": _rings,
    "buy.mounted_n": _mounted,
    "buy.disposed_n": lambda rows: _new_on_axle(rows, "tire"),
    **{f"corner.of_{kind}_cents": _of_part(kind) for kind in CORNER_PARTS},
    "corner.mounting_cents": _joint_cents,
    "corner.cost_cents": _corner_cents,
}
"""What corners bring to a bill: `buy.*` for its lines, and what the search adds up; functions of rows of corners."""

DRIVE_COLUMNS: dict[str, Callable[[Any], Any]] = {
    **{name: own for kind in DRIVE_PARTS for name, own in _part_columns(kind, _is_new(kind)).items()},
    **{f"buy.{kind}_core_cents": _core(kind) for kind in DRIVE_PARTS},
    "buy.kit_n": _is_opened,
    "buy.labor_cents": _labor_cents,
    "drive.cost_cents": _drive_cents,
}
"""What drives bring to a bill, likewise."""
FRONT_DRIVE_COLUMNS: dict[str, Callable[[Any], Any]] = {
    **{name: own for kind in FRONT_DRIVE_PARTS for name, own in _part_columns(kind, _is_new(kind)).items()},
    **{f"buy.{kind}_core_cents": _core(kind) for kind in FRONT_DRIVE_PARTS},
}
"""What the front axle's gears add to it, where it is driven."""


def slot_columns(job: Job, parts: Parts, items: Mapping[str, NDArray[Any]]) -> dict[str, Floats]:
    """What one ballast item of each slot brings to a bill, and what the search adds up."""
    suppliers = supplier_numbers(job, parts, items["ballast.supplier"])
    listed, kg = (np.asarray(items[f"ballast.{name}"], dtype=float) for name in ("price_cents", "mass_kg"))
    selling = selling_cents(job, "ballast", listed, suppliers)
    return {
        "buy.ballast_from": suppliers,
        "buy.ballast_listed": listed,
        "buy.ballast_cents": selling,
        "buy.ballast_kg": kg,
        "slot.cost_cents": _with_tax(job, "parts", selling) + _by_mass(job, suppliers, kg),
    }


def roundings_cents(job: Job) -> float:
    """The most that rounding may add to a cost or take from it [cents]: half a cent of each line, and of its tax."""
    money = job.money
    freight = 1.1 * (_SENDERS + job.ballast.max_items) if money.freight_cents_per_kg else 0.0
    if not money.tax_ppm:
        return freight
    if money.tax_by == "invoice":
        return freight + 1.0
    return freight + 0.5 * (LINES + len(money.lines) + job.ballast.max_items)


def least_start_cents(job: Job) -> float:
    """What every build costs whatever its parts: the shop's own lines a job, less what rounding may take."""
    return float(_own_lines(job, "job", 1.0)) - roundings_cents(job)


def most_beyond_cents(job: Job, parts: Parts) -> float:
    """The most that a cost may be above what the search adds up: rounding, freight an order, nuts left in a pack."""
    flat = sum(own.freight_cents or 0 for own in job.suppliers) * (1.0 + job.money.tax_ppm / PPM)
    nuts = parts.nuts["price_cents"].max() if len(parts.nuts) else 0.0
    return 2.0 * roundings_cents(job) + flat + 8.0 * float(nuts) * (1.0 + max(_markups(job)) / PPM) + 1.0


def _markups(job: Job) -> list[int]:
    if job.money.prices == "selling":
        return [0]
    return [job.money.markup.nuts_ppm, *(own.markup_ppm or 0 for own in job.suppliers)]


def orders_decide(job: Job, supplier: str) -> bool:
    """Whether what is ordered from a supplier decides what its parts cost, or whether they can be had at all."""
    return any(
        own.name == supplier and (own.freight_free_from_cents is not None or own.least_order_cents is not None)
        for own in job.suppliers
    )


# The bill of whole builds


@dataclass(frozen=True)
class Charge:
    """One line of the bills of n builds: what, for which axle ("" for both or neither), how many, and cents without
    tax, shape (n,).
    """

    what: str
    where: str
    count: Floats
    cents: Floats
    taxed: bool


def charges(job: Job, front: Columns, rear: Columns, drive: Columns, slots: Columns, counts: Ints) -> list[Charge]:
    """The lines of the bills of builds, one a row in each table and in `counts`, shape (n, slots), without the tax."""
    corners = {"front": front, "rear": rear}
    lines = [line for kind in CORNER_PARTS for line in _part_lines(job, kind, corners)]
    lines += [line for kind in nuts_of(job) for line in _nut_lines(job, kind, corners)]
    lines += list(_work_lines(job, corners))
    lines += list(_drive_lines(job, drive))
    lines += list(_own_charges(job, corners, drive))
    lines += list(_ballast_lines(job, slots, counts))
    return lines + (Orders.of(job, corners, drive, slots, counts).freight(job) if _has_freight(job) else [])


def tax_cents(job: Job, lines: list[Charge]) -> Floats:
    """The tax of each bill: of each line to the cent, or of the invoice."""
    taxed = [line.cents for line in lines if line.taxed]
    amounts = [np.asarray(sum(taxed), dtype=float)] if job.money.tax_by == "invoice" and taxed else taxed
    each = (np.floor((own * job.money.tax_ppm + PPM / 2.0) / PPM) for own in amounts)
    return np.asarray(sum(each, np.zeros(1)), dtype=float)


def total_cents(job: Job, front: Columns, rear: Columns, drive: Columns, slots: Columns, counts: Ints) -> Floats:
    """What builds cost, in whole cents; tables as for `charges`."""
    lines = charges(job, front, rear, drive, slots, counts)
    return np.zeros(len(counts)) + sum(line.cents for line in lines) + tax_cents(job, lines)


def order_room_cents(job: Job, front: Columns, rear: Columns, drive: Columns, slots: Columns, counts: Ints) -> Floats:
    """How far the smallest order for its supplier is above the least that it takes; 0 without any order."""
    orders = Orders.of(job, {"front": front, "rear": rear}, drive, slots, counts)
    rooms = [
        np.where(orders.pieces[:, at] > 0, orders.listed[:, at] - own.least_order_cents, np.inf)
        for at, own in enumerate(job.suppliers, start=1)
        if own.least_order_cents is not None
    ]
    room = np.minimum.reduce([np.full(len(counts), np.inf), *rooms])
    return np.asarray(np.where(np.isposinf(room), 0.0, room), dtype=float)


def least_orders(job: Job, tables: Mapping[str, Columns], slots: Columns) -> dict[str, Orders]:
    """What each row of front, rear and drive, and each slot's item, adds to the orders: never less in listed prices
    than in any build, as packs of nuts are counted whole.
    """
    found = {}
    for name, kinds in (("front", CORNER_PARTS), ("rear", CORNER_PARTS), ("drive", drive_parts(job))):
        table = tables[name]
        own = Orders.none(len(table), len(job.suppliers))
        for kind in kinds:
            own.add(table, kind, table[f"buy.{kind}_n"], table[f"buy.{kind}_kg"])
        for nut in nuts_of(job) if name != "drive" else ():
            own.add(table, nut, np.ceil(table[f"buy.{nut}_n"] / table[f"buy.{nut}_pack"]), np.zeros(len(table)))
        found[name] = own
    found["slot"] = Orders.none(len(slots), len(job.suppliers))
    found["slot"].add(slots, "ballast", np.ones(len(slots)), slots["buy.ballast_kg"])
    return found


def _has_freight(job: Job) -> bool:
    """Whether anything that is sent costs freight."""
    return bool(job.money.freight_cents_per_kg) or any(own.freight_cents for own in job.suppliers)


def _is_taxed(job: Job, kind: Taxed) -> bool:
    return kind in job.money.taxed


def _part_lines(job: Job, kind: str, corners: Mapping[str, Columns]) -> list[Charge]:
    """The same part at both axles is one line of the rear axle's; else each axle has its own."""
    front, rear = corners.values()
    same = front[f"{kind}.at"] == rear[f"{kind}.at"]
    each = {where: (own[f"buy.{kind}_n"], own[f"buy.{kind}_cents"]) for where, own in corners.items()}
    return _merged(job, _PLURALS[kind], same, each)


def _merged(job: Job, what: str, same: NDArray[np.bool_], each: Mapping[str, tuple[Floats, Floats]]) -> list[Charge]:
    (ours, price), (theirs, other) = each.values()
    lines = (
        ("", np.where(same, ours + theirs, 0.0), price),
        ("front", np.where(same, 0.0, ours), price),
        ("rear", np.where(same, 0.0, theirs), other),
    )
    taxed = _is_taxed(job, "parts")
    return [Charge(what, where, count, count * each_cents, taxed) for where, count, each_cents in lines]


def _packs(kind: str, corners: Mapping[str, Columns]) -> tuple[NDArray[np.bool_], dict[str, Floats]]:
    """Packs of lug nuts that are bought for each axle; where both need the same nut, all are the front axle's."""
    front, rear = corners.values()
    same = front[f"mount.{kind}_at"] == rear[f"mount.{kind}_at"]
    both = np.ceil((front[f"buy.{kind}_n"] + rear[f"buy.{kind}_n"]) / front[f"buy.{kind}_pack"])
    ours, theirs = (np.ceil(own[f"buy.{kind}_n"] / own[f"buy.{kind}_pack"]) for own in (front, rear))
    return same, {"front": np.where(same, both, ours), "rear": np.where(same, 0.0, theirs)}


def _nut_lines(job: Job, kind: str, corners: Mapping[str, Columns]) -> list[Charge]:
    same, packs = _packs(kind, corners)
    each = {where: (packs[where], own[f"buy.{kind}_cents"]) for where, own in corners.items()}
    return _merged(job, "lug nuts" if kind == "nut" else "left-hand lug nuts", same, each)


def _work_lines(job: Job, corners: Mapping[str, Columns]) -> Iterator[Charge]:
    money = job.money
    for what, column, price, kind in (
        ("hub rings", "buy.ring_n", money.hub_ring_cents, "parts"),
        ("mounting and balancing", "buy.mounted_n", money.mount_and_balance_cents, "labor"),
        ("tire disposal", "buy.disposed_n", money.tire_disposal_cents, "fees"),
    ):
        count = sum((own[column] for own in corners.values()), np.zeros(1))
        yield Charge(what, "", count, count * price, kind in money.taxed)


_DRIVE_WORDS = {"ratio": "gear set", "differential": "differential"}


def _gear_lines(job: Job, what: str, kind: str, drive: Columns) -> Iterator[Charge]:
    """The rear axle's, and the front's where it is driven: the same part at both is one line."""
    count, cents = drive[f"buy.{kind}_n"], drive[f"buy.{kind}_cents"]
    if not job.axle.is_front_driven:
        yield Charge(what, "", count, count * cents, _is_taxed(job, "parts"))
        return
    same = drive[f"{kind}.rear_sku"] == drive[f"{kind}.front_sku"]
    each = {"front": (drive[f"buy.front_{kind}_n"], drive[f"buy.front_{kind}_cents"]), "rear": (count, cents)}
    yield from _merged(job, what, same, each)


def _drive_lines(job: Job, drive: Columns) -> Iterator[Charge]:
    for kind, what in _DRIVE_WORDS.items():
        yield from _gear_lines(job, what, kind, drive)
    opened = drive["buy.kit_n"]
    yield Charge("install kit", "", opened, opened * job.money.install_kit_cents, _is_taxed(job, "parts"))
    for kind, what in _DRIVE_WORDS.items():
        both = [own for own in drive_parts(job) if own.removeprefix("front_") == kind]
        count, cents = (sum((drive[f"buy.{own}_{name}"] for own in both), np.zeros(1)) for name in ("n", "core_cents"))
        yield Charge(f"core charge, {what}", "", count, cents, _is_taxed(job, "fees"))
    yield Charge("labor", "", opened, drive["buy.labor_cents"], _is_taxed(job, "labor"))


def _own_charges(job: Job, corners: Mapping[str, Columns], drive: Columns) -> Iterator[Charge]:
    for line in job.money.lines:
        if line.by in {"wheel", "tire"}:
            count = sum((own[f"buy.{line.by}_n"] for own in corners.values()), np.zeros(1))
        else:
            count = drive["buy.kit_n"] if line.by == "axle" else np.ones(len(drive))
        yield Charge(line.name, "", count, count * line.price_cents, line.taxed)


def _ballast_lines(job: Job, slots: Columns, counts: Ints) -> Iterator[Charge]:
    """A line an item, over all stations: slots stand item by item."""
    stations = max(1, len(job.ballast.stations))
    for first in range(0, len(slots), stations):
        count = counts[:, first : first + stations].sum(axis=1).astype(float)
        yield Charge("ballast", "", count, count * slots["buy.ballast_cents"][first], _is_taxed(job, "parts"))


@dataclass(frozen=True)
class Orders:
    """What is bought of each supplier, the rest first, shape (n, suppliers + 1): listed prices, kilograms, and how many
    pieces.
    """

    listed: Floats
    kg: Floats
    pieces: Floats

    @staticmethod
    def of(job: Job, corners: Mapping[str, Columns], drive: Columns, slots: Columns, counts: Ints) -> Orders:
        """The orders of whole builds, tables as for `charges`."""
        nuts = nuts_of(job)
        numbers = [own[f"buy.{kind}_from"] for own in corners.values() for kind in (*CORNER_PARTS, *nuts)]
        numbers += [drive[f"buy.{kind}_from"] for kind in drive_parts(job)]
        most = max(len(job.suppliers), *(int(own.max(initial=0)) for own in (*numbers, slots["buy.ballast_from"])))
        orders, packs = Orders.none(len(counts), most), {kind: _packs(kind, corners)[1] for kind in nuts}
        for where, own in corners.items():
            for kind in CORNER_PARTS:
                orders.add(own, kind, own[f"buy.{kind}_n"], own[f"buy.{kind}_kg"])
            for kind in nuts:
                orders.add(own, kind, packs[kind][where], np.zeros(len(counts)))
        for kind in drive_parts(job):
            orders.add(drive, kind, drive[f"buy.{kind}_n"], drive[f"buy.{kind}_kg"])
        whose = slots["buy.ballast_from"].astype(np.int64)[:, np.newaxis] == np.arange(1 + most)
        laid = counts.astype(float)
        for total, each in (
            (orders.listed, slots["buy.ballast_listed"]),
            (orders.kg, slots["buy.ballast_kg"]),
            (orders.pieces, np.ones(len(slots))),
        ):
            total += laid @ (each[:, np.newaxis] * whose)
        return orders

    @staticmethod
    def none(count: int, suppliers: int) -> Orders:
        """Nothing ordered yet."""
        return Orders(*(np.zeros((count, 1 + suppliers)) for _ in range(3)))

    def add(self, table: Columns, kind: str, count: Floats, kg: Floats) -> None:
        """Add what is bought of a kind to its supplier's order, or to the rest's where there is no room for it."""
        whose = table[f"buy.{kind}_from"].astype(np.int64)
        at = np.arange(len(self.listed)), np.where(whose < self.kg.shape[1], whose, 0)
        self.listed[at] += count * table[f"buy.{kind}_listed"]
        self.kg[at] += count * kg
        self.pieces[at] += count

    def freight(self, job: Job) -> list[Charge]:
        """Freight of each order: a price an order, or by its mass."""
        lines = []
        for at in range(self.kg.shape[1]):
            terms = job.suppliers[at - 1] if 1 <= at <= len(job.suppliers) else None
            if terms is None or terms.freight_cents is None:
                cents = np.asarray(half_up(self.kg[:, at] * job.money.freight_cents_per_kg), dtype=float)
            else:
                free = np.inf if terms.freight_free_from_cents is None else terms.freight_free_from_cents
                is_sent = (self.pieces[:, at] > 0) & (self.listed[:, at] < free)
                cents = np.where(is_sent, float(terms.freight_cents), 0.0)
            what = "freight" if terms is None else f"freight, {terms.name}"
            lines.append(Charge(what, "", np.sign(cents), cents, _is_taxed(job, "freight")))
        return lines

"""What a build costs: its bill line by line, one line a part number of the whole build, and freight by supplier."""

from collections import Counter
from fractions import Fraction

from fitting import pack_of, stays
from verdicts import exact, rhu

KINDS = ("wheels", "tires", "spacers", "ratios", "differentials", "ballast", "nuts")
WITH_MASS = KINDS[:-1]


# What is bought


def bought_wheels(job, axle, corner):
    """New wheels of an axle, and with those of the rear axle the spare's."""
    spare = 1 if axle == "rear" and job.job.spare else 0
    return spare + (0 if stays(corner["wheel"], axle) else 2)


def bought_tires(job, axle, corner):
    """New tires of an axle, and with those of the rear axle the spare's."""
    spare = 1 if axle == "rear" and job.job.spare else 0
    return spare + (0 if stays(corner["tire"], axle) else 2)


def needed_nuts(axle, corner):
    """Lug nuts of the new wheels of an axle."""
    return 0 if stays(corner["wheel"], axle) else 2 * int(corner["wheel"]["lugs"])


def listed_nuts(axle, corner):
    """Listed nuts of the new wheels of an axle, with how many: with a left-hand nut those of one wheel are such."""
    count, nut, left = needed_nuts(axle, corner), corner["nut"], corner["left_nut"]
    if nut is None or count == 0:
        return []
    return [(nut, count)] if left is None else [(nut, count // 2), (left, count // 2)]


def new_at(own):
    """Gear set and differential of an axle, those that are not on the truck, by kind."""
    parts = zip(("ratios", "differentials"), own["parts"], strict=True)
    return [(kind, part) for kind, part in parts if part["on_truck"] != "yes"]


def new_drive(drive):
    """Gear sets and differentials of all driven axles, those that are not on the truck, by kind."""
    return [new for own in drive["axles"].values() for new in new_at(own)]


def opened_axles(drive):
    """How many axles are opened for gears."""
    return sum(1 for own in drive["axles"].values() if new_at(own))


def core_charges_cents(new):
    """Core charges of what is new in the axles, a line a part number."""
    lines = Counter()
    for kind, part in new:
        lines[kind, part["sku"]] += part["core_charge_cents"] or 0
    return list(lines.values())


def basket(job, corners, drive, loading):
    """Every part number that is bought, as its kind, the part, and how many of it."""
    parts, counts, single_nuts = {}, Counter(), Counter()

    def add(kind, part, count):
        if count:
            parts[kind, part["sku"]] = part
            counts[kind, part["sku"]] += count

    for axle, corner in corners.items():
        add("wheels", corner["wheel"], bought_wheels(job, axle, corner))
        add("tires", corner["tire"], bought_tires(job, axle, corner))
        add("spacers", corner["spacer"], 0 if corner["spacer"]["sku"] == "" or stays(corner["spacer"], axle) else 2)
        for nut, count in listed_nuts(axle, corner):
            parts["nuts", nut["sku"]] = nut
            single_nuts["nuts", nut["sku"]] += count
    for key, count in single_nuts.items():
        counts[key] = -(-count // pack_of(parts[key]))
    for kind, part in new_drive(drive):
        add(kind, part, 1)
    for item, count in loading["items"]:
        add("ballast", item, count)
    return [(kind, parts[kind, sku], count) for (kind, sku), count in counts.items()]


# Prices


def supplier_of(job, name):
    """The supplier of that name; None where the job has no terms of one."""
    return next((supplier for supplier in job.suppliers if supplier.name == name), None)


def selling_cents(job, kind, part):
    """What the customer pays for one: the price as listed, or with the markup on the shop's cost."""
    if job.money.prices != "cost":
        return part["price_cents"]
    supplier = supplier_of(job, part["supplier"])
    markup = getattr(job.money.markup, f"{kind}_ppm")
    if supplier is not None and supplier.markup_ppm is not None:
        markup = supplier.markup_ppm
    return rhu(part["price_cents"] * (1 + Fraction(markup, 1000000)))


def orders_cents(parts):
    """What is ordered from each supplier, at the prices as listed."""
    orders = Counter()
    for _, part, count in parts:
        orders[part["supplier"]] += count * part["price_cents"]
    return dict(orders)


def may_be_driven(job, parts):
    """Parts of a list that may be at an axle of the job: with the rear alone driven, none that is for the front."""
    return [part for part in parts if job.axle.driven == "both" or part.get("axle") != "front"]


def heaviest_kg(parts):
    """The heaviest mass of a list; 0 where none is listed."""
    return max((part["mass_kg"] for part in parts if part["mass_kg"] is not None), default=0)


def mass_kg(parts, name, heaviest):
    """Mass of all that comes from a supplier; a part without one is as heavy as the heaviest that is listed."""
    return sum(
        count * exact(heaviest[kind] if part["mass_kg"] is None else part["mass_kg"])
        for kind, part, count in parts
        if kind in WITH_MASS and part["supplier"] == name
    )


def freight_cents(job, parts, heaviest):
    """Freight of each supplier from whom anything comes."""
    freights = []
    for name, order in orders_cents(parts).items():
        supplier = supplier_of(job, name)
        if supplier is None or supplier.freight_cents is None:
            freights.append(rhu(mass_kg(parts, name, heaviest) * exact(job.money.freight_cents_per_kg)))
            continue
        free_from = supplier.freight_free_from_cents
        freights.append(0 if free_from is not None and order >= free_from else supplier.freight_cents)
    return freights


# The bill


def own_lines(job, corners, drive):
    """Lines of the job's own: whether each is taxed, and its cents."""
    counts = {
        "tire": sum(bought_tires(job, axle, corner) for axle, corner in corners.items()),
        "wheel": sum(bought_wheels(job, axle, corner) for axle, corner in corners.items()),
        "axle": opened_axles(drive),
        "job": 1,
    }
    return [(line.taxed, counts[line.by] * line.price_cents) for line in job.money.lines]


def shop_lines(job, corners, drive):
    """Small parts, fees and labor: what each line is for the tax, and its cents."""
    money, new, spare = job.money, new_drive(drive), 1 if job.job.spare else 0
    loose = rings = mounted = taken_off = 0
    for axle, corner in corners.items():
        is_new, is_new_tire = not stays(corner["wheel"], axle), not stays(corner["tire"], axle)
        loose += needed_nuts(axle, corner) if corner["nut"] is None else 0
        rings += 2 if is_new and corner["needs_ring"] else 0
        mounted += 2 if is_new or is_new_tire else 0
        taken_off += 2 if is_new_tire else 0
    hours = sum(exact(part["labor_hours"]) or 0 for _, part in new)
    return [
        ("parts", loose * money.lug_nut_cents),
        ("parts", rings * money.hub_ring_cents),
        ("parts", opened_axles(drive) * money.install_kit_cents),
        *(("fees", cents) for cents in core_charges_cents(new)),
        ("labor", (mounted + spare) * money.mount_and_balance_cents),
        ("fees", taken_off * money.tire_disposal_cents),
        ("labor", rhu(hours * money.labor_per_hour_cents)),
    ]


def bill(job, corners, drive, parts, heaviest):
    """Every line of the bill: whether it is taxed, and its cents."""
    lines = [("parts", count * selling_cents(job, kind, part)) for kind, part, count in parts]
    lines += shop_lines(job, corners, drive)
    lines += [("freight", cents) for cents in freight_cents(job, parts, heaviest)]
    return [(kind in job.money.taxed, cents) for kind, cents in lines] + own_lines(job, corners, drive)


def tax_cents(job, cents):
    """The tax on an amount, to the nearest cent."""
    return rhu(Fraction(cents * job.money.tax_ppm, 1000000))


def cost_cents(job, corners, drive, parts, heaviest):
    """The whole bill with its tax, line by line or on the invoice."""
    lines = bill(job, corners, drive, parts, heaviest)
    taxed = [cents for is_taxed, cents in lines if is_taxed]
    tax = tax_cents(job, sum(taxed)) if job.money.tax_by == "invoice" else sum(tax_cents(job, each) for each in taxed)
    return sum(cents for _, cents in lines) + tax


def least_order(job, parts):
    """Verdict on the suppliers: from each is ordered as much as it takes."""
    orders = orders_cents(parts)
    return all(
        supplier.least_order_cents is None
        or orders.get(supplier.name, supplier.least_order_cents) >= supplier.least_order_cents
        for supplier in job.suppliers
    )

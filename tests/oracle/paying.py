"""What a build costs, line by line: each single line gets its tax to the nearest cent."""

from fractions import Fraction

from verdicts import exact, rhu

HUB_CENTRIC_MM = Fraction("0.1")


def taxed(job, kind, cents):
    """An amount with its tax, where that kind of amount is taxed."""
    return cents + (rhu(Fraction(cents * job.money.tax_ppm, 1000000)) if kind in job.money.taxed else 0)


def stays(part, axle):
    """Whether the part is at this axle already."""
    return part.get("on_truck", "") in (axle, "both")


def freight_cents(job, mass_kg, heaviest_kg):
    """Freight of one part; one without a mass is as heavy as the heaviest that is listed."""
    mass = exact(heaviest_kg if mass_kg is None else mass_kg)
    return taxed(job, "freight", rhu(mass * exact(job.money.freight_cents_per_kg)))


def heaviest_kg(parts):
    """The heaviest mass of a list; 0 where none is listed."""
    return max((part["mass_kg"] for part in parts if part["mass_kg"] is not None), default=0)


def corner_cents(job, axle, wheel, tire, spacer, pilot_mm, heaviest):
    """What the wheels, tires and spacers of an axle cost, and with those of the rear axle the spare."""
    new_wheel = taxed(job, "parts", wheel["price_cents"]) + freight_cents(job, wheel["mass_kg"], heaviest["wheels"])
    new_tire = taxed(job, "parts", tire["price_cents"]) + freight_cents(job, tire["mass_kg"], heaviest["tires"])
    mounting = taxed(job, "labor", job.money.mount_and_balance_cents)
    lugs, bore = getattr(job.hub, axle).bolt_circle.lug_count, exact(wheel["hub_bore_mm"])
    cents = 0
    if not stays(wheel, axle):
        ring = bore is not None and pilot_mm is not None and round(bore - pilot_mm, 3) > HUB_CENTRIC_MM
        cents += 2 * (new_wheel + lugs * taxed(job, "parts", job.money.lug_nut_cents))
        cents += 2 * taxed(job, "parts", job.money.hub_ring_cents) if ring else 0
    if not stays(tire, axle):
        cents += 2 * (new_tire + taxed(job, "fees", job.money.tire_disposal_cents))
    if not (stays(wheel, axle) and stays(tire, axle)):
        cents += 2 * mounting
    if spacer["sku"] and not stays(spacer, axle):
        new_spacer = taxed(job, "parts", spacer["price_cents"])
        cents += 2 * (new_spacer + freight_cents(job, spacer["mass_kg"], heaviest["spacers"]))
    return cents + (new_wheel + new_tire + mounting if axle == "rear" and job.job.spare else 0)


def drive_cents(job, ratio, differential):
    """The gear set and the differential that are not on the truck, their core charges and labor, and one kit."""
    new = [part for part in (ratio, differential) if part["on_truck"] != "yes"]
    labor = rhu(sum(exact(part["labor_hours"]) or 0 for part in new) * job.money.labor_per_hour_cents)
    parts = sum(taxed(job, "parts", part["price_cents"]) for part in new)
    cores = sum(taxed(job, "fees", part["core_charge_cents"] or 0) for part in new)
    kit = taxed(job, "parts", job.money.install_kit_cents) if new else 0
    return parts + cores + kit + taxed(job, "labor", labor)


def ballast_cents(job, item):
    """Price and freight of one ballast item."""
    return taxed(job, "parts", item["price_cents"]) + freight_cents(job, item["mass_kg"], 0)

"""The bill of whole builds by hand, line by line, and what the search adds up in its place."""

import dataclasses

import numpy as np
import pytest
from by_hand import HUB, build, job_with, parts_with, result_of
from hypothesis import given, settings
from hypothesis import strategies as st

from combo import job as jobs
from combo.checks.check import Verdict
from combo.checks.prices import (
    charges,
    heaviest_kg,
    most_beyond_cents,
    order_room_cents,
    roundings_cents,
    tax_cents,
    total_cents,
)
from combo.checks.run import totals
from combo.checks.totals import TOTALS
from combo.units import BoltCircle

PLAIN = jobs.Money(
    labor_per_hour_cents=9_501,
    mount_and_balance_cents=1_750,
    lug_nut_cents=333,
    hub_ring_cents=1_299,
    install_kit_cents=8_850,
    tire_disposal_cents=411,
    freight_cents_per_kg=52.5,
)
ALL = ("parts", "freight", "labor", "fees")
KEPT = {"on_truck": "both"}
STAYS = {
    "front": {"wheel": KEPT, "tire": KEPT},
    "rear": {"wheel": KEPT, "tire": KEPT},
    "drive": {"ratio": {"on_truck": "yes"}, "differential": {"on_truck": "yes"}},
}
"""A build of what is on the truck: it costs nothing."""
BED = jobs.BallastPlan(8, (jobs.Station("bed", 0.0), jobs.Station("tail", -600.0)))


def tables_of(chosen):
    return chosen.front, chosen.rear, chosen.drive, chosen.slots, chosen.counts


def bill_of(money=PLAIN, suppliers=(), hub=HUB, spare=False, ballast_plan=BED, **parts):
    """Lines of a build that cost something, by what and where, and their tax."""
    job = job_with(
        money=money,
        suppliers=tuple(suppliers),
        hub=jobs.Hubs(hub, hub),
        ballast=ballast_plan,
        job=jobs.About("by hand", spare=spare),
    )
    lines = charges(job, *tables_of(build(job, **parts)))
    found = {}
    for line in lines:
        if float(np.max(line.cents)):
            found[line.what, line.where] = found.get((line.what, line.where), 0) + int(np.max(line.cents))
    return found, int(np.max(tax_cents(job, lines)))


def lines_of(**tables):
    return bill_of(**tables)[0]


def whole(what, **tables):
    return lines_of(**tables).get((what, ""), 0)


# Every line


def test_every_line_of_a_build_alike_all_round():
    assert lines_of() == {
        ("wheels", ""): 4 * 10_000,
        ("tires", ""): 4 * 15_000,
        ("lug nuts", ""): 4 * 5 * 333,
        ("mounting and balancing", ""): 4 * 1_750,
        ("tire disposal", ""): 4 * 411,
        ("gear set", ""): 20_000,
        ("differential", ""): 30_000,
        ("install kit", ""): 8_850,
        ("labor", ""): 3 * 9_501,
        ("freight", ""): 5_250,  # 4 x 25 kg; of gear sets and differentials no mass is listed
    }


def test_parts_on_the_truck_cost_nothing():
    assert lines_of(**STAYS) == {}


def test_the_same_wheel_at_both_axles_is_one_line_of_four():
    lines = lines_of()
    assert [key for key in lines if key[0] == "wheels"] == [("wheels", "")]


def test_two_wheels_are_two_lines_of_two():
    lines = lines_of(front={"wheel": {"sku": "W1", "price_cents": 9_000}})
    assert {key: cents for key, cents in lines.items() if key[0] == "wheels"} == {
        ("wheels", "front"): 2 * 9_000,
        ("wheels", "rear"): 2 * 10_000,
    }


def test_the_same_spacer_at_both_axles_is_one_line_of_four():
    assert whole("spacers", front={"spacer": {}}, rear={"spacer": {}}) == 4 * 2_500


def test_a_spacer_at_one_axle_is_a_line_of_two():
    assert lines_of(front={"spacer": {}})["spacers", "front"] == 2 * 2_500


def test_the_spare_is_a_fifth_wheel_and_tire_mounted_but_none_more_disposed_of():
    lines = lines_of(spare=True)
    assert [lines[what, ""] for what in ("wheels", "tires", "mounting and balancing", "tire disposal")] == [
        5 * 10_000,
        5 * 15_000,
        5 * 1_750,
        4 * 411,
    ]


def test_the_spare_needs_no_lug_nuts():
    assert whole("lug nuts", spare=True) == whole("lug nuts")


def test_a_spare_of_the_wheel_on_the_axle_is_still_to_be_bought():
    lines = lines_of(spare=True, **STAYS)
    assert {key: cents for key, cents in lines.items() if key[0] != "freight"} == {
        ("wheels", ""): 10_000,
        ("tires", ""): 15_000,
        ("mounting and balancing", ""): 1_750,
    }


def test_a_wheel_on_the_other_axle_is_bought_for_this_one():
    assert whole("wheels", front={"wheel": {"on_truck": "front"}}, rear={"wheel": {"on_truck": "front"}}) == 2 * 10_000


def test_wheels_that_stay_keep_their_nuts():
    assert whole("lug nuts", front={"wheel": {"on_truck": "front"}}, rear={"wheel": {"on_truck": "front"}}) == 10 * 333


def test_new_tires_on_wheels_that_stay_are_mounted():
    lines = lines_of(front={"wheel": KEPT}, rear={"wheel": KEPT})
    assert (lines["mounting and balancing", ""], ("lug nuts", "") in lines) == (4 * 1_750, False)


def test_tires_that_move_to_new_wheels_are_mounted_and_none_is_disposed_of():
    lines = lines_of(front={"tire": KEPT}, rear={"tire": KEPT})
    assert (lines["mounting and balancing", ""], ("tire disposal", "") in lines) == (4 * 1_750, False)


@pytest.mark.parametrize(("bore", "rings"), [(71.5, 0), (71.6, 0), (71.601, 4), (78.1, 4), (None, 0)])
def test_rings_are_one_line_where_the_bore_is_more_than_a_tenth_over_the_pilot(bore, rings):
    wheel = {"wheel": {"hub_bore_mm": bore}}
    assert whole("hub rings", front=wheel, rear=wheel) == rings * 1_299


def test_wheels_that_stay_need_no_rings():
    wheel = {"wheel": KEPT | {"hub_bore_mm": 78.1}}
    assert whole("hub rings", front=wheel, rear=wheel) == 0


def test_the_lip_of_a_spacer_is_the_pilot_for_the_ring():
    front = {"wheel": {"hub_bore_mm": 78.1}, "spacer": {"pilot_mm": 78.1}}
    assert whole("hub rings", front=front) == 0


@pytest.mark.parametrize(("length", "rings"), [(20.1, 2), (20.0, 0), (np.nan, 2)])
def test_a_ring_goes_where_the_hubs_pilot_reaches_through_the_spacer_or_may(length, rings):
    hub = dataclasses.replace(HUB, pilot_length_mm=length)
    assert whole("hub rings", hub=hub, front={"wheel": {"hub_bore_mm": 78.1}, "spacer": {}}) == rings * 1_299


def test_a_pilot_that_is_not_known_needs_no_ring():
    hub = dataclasses.replace(HUB, pilot_mm=np.nan)
    wheel = {"wheel": {"hub_bore_mm": 78.1}}
    assert whole("hub rings", hub=hub, front=wheel, rear=wheel) == 0


@pytest.mark.parametrize(
    ("ratio", "differential", "kits"), [("no", "no", 1), ("yes", "no", 1), ("no", "yes", 1), ("yes", "yes", 0)]
)
def test_the_install_kit_is_bought_once(ratio, differential, kits):
    drive = {"ratio": {"on_truck": ratio}, "differential": {"on_truck": differential}}
    assert whole("install kit", drive=drive) == kits * 8_850


def test_core_charges_are_a_line_each():
    drive = {"ratio": {"core_charge_cents": 1_500}, "differential": {"core_charge_cents": 12_000}}
    lines = lines_of(drive=drive)
    assert (lines["core charge, gear set", ""], lines["core charge, differential", ""]) == (1_500, 12_000)


def test_gears_on_the_truck_have_no_core_charge():
    drive = {"ratio": {"core_charge_cents": 1_500, "on_truck": "yes"}}
    assert ("core charge, gear set", "") not in lines_of(drive=drive)


def test_hours_that_no_list_states_count_as_none():
    assert whole("labor", drive={"ratio": {"labor_hours": None}}) == 9_501


def test_labor_is_rounded_once_a_half_cent_up():
    drive = {"ratio": {"labor_hours": 0.25}, "differential": {"labor_hours": 0.25}}
    assert whole("labor", drive=drive) == 4_751  # half of 9501


def test_ballast_is_one_line_an_item_over_all_stations():
    assert whole("ballast", counts=(2, 1)) == 3 * 500


# Lug nuts

CONE = {"sku": "CONE", "price_cents": 240}
NAMED = {"wheel": {"lug_nut": "CONE"}}
BALL = {"sku": "BALL", "price_cents": 100}


def test_lug_nuts_are_priced_by_the_wheels_nut():
    assert whole("lug nuts", front=NAMED, rear=NAMED, nuts=[CONE]) == 20 * 240


def test_a_wheel_takes_as_many_nuts_as_it_has_lugs():
    """Through an adapter these may be more than the hub's."""
    adapter = {"wheel_bolt_circle_lugs": 8, "wheel_bolt_circle_mm": 165.1}
    corner = {"wheel": {"bolt_circle_lugs": 8, "bolt_circle_mm": 165.1}, "spacer": adapter}
    assert whole("lug nuts", front=corner, rear=corner) == 4 * 8 * 333


def test_packs_of_nuts_are_bought_for_the_whole_build():
    pack = CONE | {"pack": 16, "price_cents": 3_000}
    assert whole("lug nuts", front=NAMED, rear=NAMED, nuts=[pack]) == 2 * 3_000  # 20 of 16


def test_packs_that_are_just_used_up_leave_none_over():
    assert whole("lug nuts", front=NAMED, rear=NAMED, nuts=[CONE | {"pack": 10, "price_cents": 3_000}]) == 2 * 3_000


def test_nuts_of_two_kinds_are_packed_apart():
    nuts = [CONE | {"pack": 16, "price_cents": 3_000}, BALL | {"pack": 8, "price_cents": 1_000}]
    lines = lines_of(front=NAMED, rear={"wheel": {"lug_nut": "BALL", "sku": "W2"}}, nuts=nuts)
    assert {key: cents for key, cents in lines.items() if key[0] == "lug nuts"} == {
        ("lug nuts", "front"): 3_000,
        ("lug nuts", "rear"): 2_000,
    }


def test_two_wheels_on_the_same_nut_share_its_packs():
    nuts = [CONE | {"pack": 20, "price_cents": 3_000}]
    assert whole("lug nuts", front=NAMED, rear={"wheel": {"lug_nut": "CONE", "sku": "W2"}}, nuts=nuts) == 3_000


def test_left_hand_studs_take_half_of_the_nuts_left_handed():
    left = dataclasses.replace(HUB, left_hand=True)
    nuts = [CONE, CONE | {"sku": "LEFT", "left_hand": "yes", "price_cents": 310, "pack": 4}]
    lines = lines_of(front=NAMED, rear=NAMED, nuts=nuts, hub=left)
    assert lines["lug nuts", ""] == 10 * 240
    assert lines["left-hand lug nuts", ""] == 3 * 310  # 10 in packs of 4


def test_left_hand_nuts_that_no_list_has_are_priced_as_the_others():
    left = dataclasses.replace(HUB, left_hand=True)
    lines = lines_of(front=NAMED, rear=NAMED, nuts=[CONE], hub=left)
    assert (lines["lug nuts", ""], ("left-hand lug nuts", "") in lines) == (20 * 240, False)


def test_the_nut_of_one_axle_alone_leaves_the_other_to_the_jobs_own_price():
    lines = lines_of(front=NAMED, nuts=[CONE])
    assert sum(cents for key, cents in lines.items() if key[0] == "lug nuts") == 10 * 240 + 10 * 333


# Tax

FREE = {"price_cents": 0}
NUTS_ALONE = {"front": {"wheel": FREE, "tire": KEPT}, "rear": {"wheel": FREE, "tire": KEPT}, "drive": STAYS["drive"]}


def test_sixteen_nuts_at_2_40_with_7_25_percent_are_41_18():
    hub = dataclasses.replace(HUB, bolt_circle=BoltCircle(4, 114.3))
    money = jobs.Money(lug_nut_cents=240, tax_ppm=72_500)
    four = {"wheel": FREE | {"bolt_circle_lugs": 4}, "tire": KEPT}
    lines, tax = bill_of(money, hub=hub, front=four, rear=four, drive=STAYS["drive"])
    assert (lines, tax) == ({("lug nuts", ""): 3_840}, 278)  # 38.40 and 2.784


def test_tax_is_half_a_cent_up():
    money = jobs.Money(lug_nut_cents=1, tax_ppm=25_000)
    assert bill_of(money, **NUTS_ALONE)[1] == 1  # 20 cents at 2.5 %


SMALL = {
    "front": {"wheel": FREE, "tire": KEPT},
    "rear": {"wheel": FREE, "tire": KEPT},
    "drive": {
        "ratio": {"price_cents": 110, "labor_hours": 0.0},
        "differential": {"price_cents": 110, "labor_hours": 0.0},
    },
}


@pytest.mark.parametrize(("tax_by", "tax"), [("line", 6 + 6), ("invoice", 11)])
def test_tax_is_on_each_line_or_once_on_the_invoice(tax_by, tax):
    assert bill_of(jobs.Money(tax_ppm=50_000, tax_by=tax_by), **SMALL)[1] == tax  # 5.5 and 5.5


@pytest.mark.parametrize("tax_by", ["line", "invoice"])
def test_nothing_taxed_has_no_tax(tax_by):
    assert bill_of(dataclasses.replace(PLAIN, tax_ppm=80_000, taxed=(), tax_by=tax_by))[1] == 0


KINDS = {
    "parts": {
        "wheels",
        "tires",
        "spacers",
        "lug nuts",
        "hub rings",
        "gear set",
        "differential",
        "install kit",
        "ballast",
    },
    "freight": {"freight"},
    "labor": {"mounting and balancing", "labor"},
    "fees": {"tire disposal", "core charge, gear set", "core charge, differential"},
}


@pytest.mark.parametrize("kind", ALL)
def test_what_is_taxed_goes_by_the_kind_of_line(kind):
    money = dataclasses.replace(PLAIN, tax_ppm=80_000, taxed=(kind,))
    job = job_with(money=money, ballast=BED)
    cored = {"core_charge_cents": 1_500}
    chosen = build(
        job,
        counts=(1, 0),
        front={"wheel": {"hub_bore_mm": 78.1}, "spacer": {}},
        drive={"ratio": cored, "differential": cored},
    )
    lines = charges(job, *tables_of(chosen))
    assert {line.what for line in lines if line.taxed} == KINDS[kind]
    assert {line.what for line in lines} >= set().union(*KINDS.values())


# The shop's own lines


@pytest.mark.parametrize(("by", "cents"), [("tire", 400), ("wheel", 400), ("axle", 100), ("job", 100)])
def test_a_line_of_its_own_goes_by_what_is_bought(by, cents):
    money = dataclasses.replace(PLAIN, lines=(jobs.MoneyLine("valve stem", 100, by),))
    assert whole("valve stem", money=money) == cents


@pytest.mark.parametrize(("by", "cents"), [("tire", 0), ("wheel", 0), ("axle", 0), ("job", 100)])
def test_of_what_is_on_the_truck_only_a_line_a_job_is_left(by, cents):
    money = dataclasses.replace(PLAIN, lines=(jobs.MoneyLine("valve stem", 100, by),))
    assert whole("valve stem", money=money, **STAYS) == cents


def test_the_spare_counts_for_a_line_a_tire():
    money = dataclasses.replace(PLAIN, lines=(jobs.MoneyLine("valve stem", 100, "tire"),))
    assert whole("valve stem", money=money, spare=True) == 500


@pytest.mark.parametrize(("taxed", "tax"), [(True, 8), (False, 0)])
def test_a_line_of_its_own_tells_whether_it_is_taxed(taxed, tax):
    money = jobs.Money(tax_ppm=80_000, lines=(jobs.MoneyLine("alignment", 100, "job", taxed),))
    assert bill_of(money, **STAYS)[1] == tax


# What the shop adds to its cost


def marked_up(**markups):
    return dataclasses.replace(PLAIN, prices="cost", markup=jobs.Markup(**markups))


@pytest.mark.parametrize(("listed", "each"), [(10_000, 12_500), (10_001, 12_501), (10_002, 12_503)])
def test_a_markup_is_rounded_for_one_part_half_a_cent_up(listed, each):
    wheel = {"wheel": {"price_cents": listed}}
    assert whole("wheels", money=marked_up(wheels_ppm=250_000), front=wheel, rear=wheel) == 4 * each


def test_selling_prices_have_no_markup():
    money = dataclasses.replace(marked_up(wheels_ppm=250_000), prices="selling")
    assert whole("wheels", money=money) == 4 * 10_000


@pytest.mark.parametrize(
    ("kind", "what", "cents"),
    [
        ("wheels", "wheels", 44_000),
        ("tires", "tires", 66_000),
        ("spacers", "spacers", 11_000),
        ("ratios", "gear set", 22_000),
        ("differentials", "differential", 33_000),
        ("ballast", "ballast", 550),
        ("nuts", "lug nuts", 20 * 264),
    ],
)
def test_every_kind_of_part_has_a_markup_of_its_own(kind, what, cents):
    with_spacer = NAMED | {"spacer": {}}
    money = marked_up(**{f"{kind}_ppm": 100_000})
    lines = lines_of(money=money, counts=(1, 0), front=with_spacer, rear=with_spacer, nuts=[CONE])
    assert lines[what, ""] == cents


def test_the_jobs_own_lug_nuts_have_no_markup():
    assert whole("lug nuts", money=marked_up(nuts_ppm=100_000)) == 20 * 333


WHEEL_OF_A = {"wheel": {"supplier": "A"}}
FROM_A = WHEEL_OF_A | {"tire": {"supplier": "A"}}


def test_a_suppliers_markup_comes_before_that_of_the_kind():
    money, suppliers = marked_up(wheels_ppm=250_000, tires_ppm=100_000), [jobs.Supplier("A", markup_ppm=200_000)]
    lines = lines_of(money=money, suppliers=suppliers, front=WHEEL_OF_A, rear=WHEEL_OF_A)
    assert (lines["wheels", ""], lines["tires", ""]) == (48_000, 66_000)


def test_a_suppliers_markup_of_nothing_comes_before_that_of_the_kind():
    suppliers = [jobs.Supplier("A", markup_ppm=0)]
    money = marked_up(wheels_ppm=250_000)
    assert whole("wheels", money=money, suppliers=suppliers, front=FROM_A, rear=FROM_A) == 40_000


# Freight and orders


def test_freight_is_a_line_a_supplier():
    lines = lines_of(suppliers=[jobs.Supplier("A")], front=WHEEL_OF_A, rear=WHEEL_OF_A)
    assert (lines["freight, A", ""], lines["freight", ""]) == (2_100, 3_150)  # 40 kg of wheels, 60 of tires


def test_freight_is_rounded_once_for_all_that_a_supplier_sends():
    money = jobs.Money(freight_cents_per_kg=0.49)
    assert whole("freight", money=money) == 49  # of 100 kg; 10 and 15 kg a piece would round otherwise


def test_freight_is_a_line_a_supplier_though_the_job_has_no_terms_of_one():
    """40 and 60 kg at 1.2375 cents are 49.5 and 74.25 for two lines; 123.75 is none of them."""
    job = job_with(money=jobs.Money(freight_cents_per_kg=1.2375), suppliers=())
    parts = {"wheel": {"supplier": "X"}, "tire": {"supplier": "Y"}}
    lines = charges(job, *tables_of(build(job, front=parts, rear=parts)))
    own = [float(np.max(line.cents)) for line in lines if line.what.startswith("freight")]
    assert sorted(cents for cents in own if cents) == [50.0, 74.0]


def test_a_part_of_unknown_mass_is_sent_as_the_heaviest_listed():
    front = {"wheel": {"sku": "W1", "mass_kg": None}}
    money = jobs.Money(freight_cents_per_kg=100.0)
    assert whole("freight", money=money, front=front, rear={"wheel": {"mass_kg": 21.5}}) == 100 * (4 * 21.5 + 60)


def test_the_heaviest_is_looked_for_in_the_whole_list():
    parts = parts_with(wheels=[{"mass_kg": 9.0}, {"mass_kg": 21.5}, {"mass_kg": None}], spacers=[{"mass_kg": None}])
    assert [heaviest_kg(parts, kind) for kind in ("wheel", "tire", "spacer")] == [21.5, 15.0, 0.0]


def test_gears_and_ballast_are_sent_by_their_mass_and_nuts_by_none():
    money = jobs.Money(freight_cents_per_kg=100.0)
    drive = {"ratio": {"mass_kg": 8.0}, "differential": {"mass_kg": 20.0}}
    assert whole("freight", money=money, drive=drive, counts=(1, 1), front=NAMED, rear=NAMED, nuts=[CONE]) == 100 * 188


def flat(**terms):
    return [jobs.Supplier("A", freight_cents=4_500, **terms)]


def test_a_suppliers_own_freight_is_a_price_an_order_instead_of_by_mass():
    lines = lines_of(suppliers=flat(), front=FROM_A, rear=FROM_A)
    assert (lines["freight, A", ""], ("freight", "") in lines) == (4_500, False)


def test_nothing_bought_of_a_supplier_has_no_freight():
    assert ("freight, A", "") not in lines_of(suppliers=flat())


@pytest.mark.parametrize(("free_from", "cents"), [(100_001, 4_500), (100_000, 0)])  # 4 x 10000 and 4 x 15000
def test_freight_is_free_from_an_order_on(free_from, cents):
    suppliers = flat(freight_free_from_cents=free_from)
    assert lines_of(suppliers=suppliers, front=FROM_A, rear=FROM_A).get(("freight, A", ""), 0) == cents


def test_an_order_is_measured_on_the_prices_as_listed():
    suppliers = flat(freight_free_from_cents=100_001)
    money = marked_up(wheels_ppm=500_000)
    assert lines_of(money=money, suppliers=suppliers, front=FROM_A, rear=FROM_A)["freight, A", ""] == 4_500


def test_nuts_count_in_an_order():
    wheels = {"wheel": {"lug_nut": "CONE", "supplier": "A"}}
    nuts = [CONE | {"supplier": "A"}]
    suppliers = flat(freight_free_from_cents=40_000 + 20 * 240)
    assert ("freight, A", "") not in lines_of(suppliers=suppliers, front=wheels, rear=wheels, nuts=nuts)


def test_a_part_that_costs_nothing_is_sent_all_the_same():
    gift = {"wheel": {"price_cents": 0, "supplier": "A"}}
    assert lines_of(suppliers=flat(), front=gift, rear=gift)["freight, A", ""] == 4_500


def ordered(least_cents, **parts):
    job = job_with(suppliers=(jobs.Supplier("A", least_order_cents=least_cents),), ballast=BED)
    chosen = build(job, **parts)
    return result_of(job, chosen, "least_order"), order_room_cents(job, *tables_of(chosen))[0]


@pytest.mark.parametrize(
    ("least", "verdict", "room"),
    [
        (100_000, Verdict.PASS, 0.0),
        (99_000, Verdict.PASS, 1_000.0),
        (100_001, Verdict.FAIL, -1.0),
    ],
)
def test_an_order_as_large_as_its_supplier_takes_holds(least, verdict, room):
    result, left = ordered(least, front=FROM_A, rear=FROM_A)
    assert (result.verdict, left) == (verdict, room)


def test_a_supplier_of_whom_nothing_is_ordered_takes_that():
    result, left = ordered(100_000)
    assert (result.verdict, left) == (Verdict.PASS, 0.0)


def test_parts_that_are_on_the_truck_are_no_order():
    kept = {"wheel": KEPT | {"supplier": "A"}}
    assert ordered(100_000, front=kept, rear=kept)[0].verdict is Verdict.PASS


def test_every_supplier_has_its_own_least_order():
    least = {"A": 30_000, "B": 70_000}
    job = job_with(suppliers=tuple(jobs.Supplier(name, least_order_cents=own) for name, own in least.items()))
    parts = {"wheel": {"supplier": "A"}, "tire": {"supplier": "B"}}
    assert result_of(job, build(job, front=parts, rear=parts), "least_order").margin == -10_000.0  # 60000 of B


# The budget


def test_a_budget_of_nothing_is_a_budget():
    result = result_of(*_with(jobs.Money(budget_cents=0)), "budget")
    assert (result.verdict, result.margin) == (Verdict.FAIL, -150_000.0)  # 40000, 60000, 20000 and 30000


def test_a_budget_of_nothing_is_kept_by_what_is_on_the_truck():
    assert result_of(*_with(jobs.Money(budget_cents=0), **STAYS), "budget").margin == 0.0


def _with(money, **parts):
    job = job_with(money=money)
    return job, build(job, **parts)


def test_a_total_is_all_lines_and_their_tax():
    job, chosen = _with(dataclasses.replace(PLAIN, tax_ppm=82_500, taxed=ALL))
    lines = charges(job, *tables_of(chosen))
    cents = sum(float(np.max(line.cents)) for line in lines) + float(np.max(tax_cents(job, lines)))
    assert total_cents(job, *tables_of(chosen))[0] == totals(job, chosen)["cost_cents"][0] == cents


# What the search adds up in place of the cost

CENTS = st.integers(0, 40_000)
RATE = st.integers(0, 150_000)
FLAG = st.sampled_from(["no", "front", "rear", "both"])
SWITCH = st.sampled_from(["no", "yes"])
SUPPLIER = st.sampled_from(["", "A", "B"])
BY = ["tire", "wheel", "axle", "job"]
MONEY = st.builds(
    jobs.Money,
    prices=st.sampled_from(["selling", "cost"]),
    markup=st.builds(jobs.Markup, wheels_ppm=RATE, tires_ppm=RATE, nuts_ppm=RATE),
    tax_ppm=RATE,
    tax_by=st.sampled_from(["line", "invoice"]),
    taxed=st.lists(st.sampled_from(ALL), unique=True).map(tuple),
    labor_per_hour_cents=CENTS,
    mount_and_balance_cents=CENTS,
    lug_nut_cents=CENTS,
    hub_ring_cents=CENTS,
    install_kit_cents=CENTS,
    tire_disposal_cents=CENTS,
    freight_cents_per_kg=st.sampled_from([0.0, 33.333, 52.5]),
    lines=st.lists(
        st.builds(jobs.MoneyLine, st.just("own"), CENTS, st.sampled_from(BY), st.booleans()),
        max_size=2,
    ).map(tuple),
)
TERMS = st.builds(
    lambda name, freight, free, markup: jobs.Supplier(name, freight, None if freight is None else free, None, markup),
    st.just("A"),
    st.none() | CENTS,
    st.none() | st.integers(0, 200_000),
    st.none() | RATE,
)
NUT = st.fixed_dictionaries({"price_cents": CENTS, "pack": st.sampled_from([1, 3, 16])})
CORNER = st.fixed_dictionaries(
    {
        "wheel": st.fixed_dictionaries(
            {
                "price_cents": CENTS,
                "on_truck": FLAG,
                "supplier": SUPPLIER,
                "hub_bore_mm": st.sampled_from([71.5, 78.1]),
                "lug_nut": st.sampled_from(["", "N"]),
            }
        ),
        "tire": st.fixed_dictionaries({"price_cents": CENTS, "on_truck": FLAG, "supplier": SUPPLIER}),
        "spacer": st.none() | st.fixed_dictionaries({"price_cents": CENTS, "on_truck": FLAG, "supplier": SUPPLIER}),
    }
)


def added_up(job, chosen):
    """What the parts of a build bring to its cost, and the truck."""
    rows = (chosen.front["corner.cost_cents"], chosen.rear["corner.cost_cents"], chosen.drive["drive.cost_cents"])
    laid = chosen.counts[0] @ chosen.slots["slot.cost_cents"]
    return TOTALS["cost_cents"].start(job) + sum(own[0] for own in rows) + laid


@settings(max_examples=60, deadline=None)
@given(
    money=MONEY,
    terms=TERMS,
    front=CORNER,
    rear=CORNER,
    nut=NUT,
    is_new=SWITCH,
    spare=st.booleans(),
    counts=st.tuples(st.integers(0, 3), st.integers(0, 3)),
)
def test_what_is_added_up_is_never_above_the_cost_and_hardly_below(
    money, terms, front, rear, nut, is_new, spare, counts
):
    suppliers = terms, jobs.Supplier("B")
    job = job_with(money=money, suppliers=suppliers, ballast=BED, job=jobs.About("by hand", spare=spare))
    drive = {"ratio": {"on_truck": is_new, "labor_hours": 0.7, "core_charge_cents": 333}}
    chosen = build(job, counts=counts, front=front, rear=rear, drive=drive, nuts=[nut])
    cost, bound = total_cents(job, *tables_of(chosen))[0], added_up(job, chosen)
    assert bound <= cost + 1e-6
    assert cost - bound <= most_beyond_cents(job, chosen.front.parts) + 1e-6


@settings(max_examples=60, deadline=None)
@given(money=MONEY, front=CORNER, rear=CORNER, counts=st.tuples(st.integers(0, 3), st.integers(0, 3)))
def test_without_suppliers_and_packs_only_rounding_is_between_them(money, front, rear, counts):
    job = job_with(money=money, ballast=BED)
    chosen = build(job, counts=counts, front=front, rear=rear, nuts=[{}])
    between = total_cents(job, *tables_of(chosen))[0] - added_up(job, chosen)
    assert -1e-6 <= between <= 2.0 * roundings_cents(job) + 1e-6


def test_without_tax_and_freight_nothing_is_rounded():
    assert roundings_cents(job_with(money=jobs.Money())) == 0.0


@settings(max_examples=25, deadline=None)
@given(money=MONEY, front=CORNER, rear=CORNER)
def test_every_cost_is_a_whole_number_of_cents(money, front, rear):
    job, chosen = _with(money, front=front, rear=rear)
    cost = total_cents(job, *tables_of(chosen))[0]
    assert cost == round(cost)

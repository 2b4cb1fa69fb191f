"""The bill by hand, line by line, and what adds up to it."""

import dataclasses

import numpy as np
import pytest
from by_hand import HUB, build, corner_rows, drive_rows, job_with, parts_with
from hypothesis import given, settings
from hypothesis import strategies as st

from combo import job as jobs
from combo.checks.prices import heaviest_kg, with_tax
from combo.checks.rows import BILL, NO_SPACER, Picks, slots
from combo.checks.rows import corner_rows as corners
from combo.checks.run import totals
from combo.formulas.rounding import half_up

MONEY = jobs.Money(
    tax_ppm=82_500, labor_per_hour_cents=9_501, mount_and_balance_cents=1_750, lug_nut_cents=333, hub_ring_cents=1_299,
    install_kit_cents=8_850, tire_disposal_cents=411, freight_cents_per_kg=52.5,
)  # fmt: skip
ALL = ("parts", "freight", "labor", "fees")
NOTHING_TAXED = dataclasses.replace(MONEY, tax_ppm=0)
SPACER = {"mass_kg": 1.0}


def lines_of(rows):
    """Lines of the bill of the first row."""
    return {name.removeprefix(BILL): float(rows[name][0]) for name in rows if name.startswith(BILL)}


def corner_lines(axle="front", money=NOTHING_TAXED, spare=False, **parts):
    job = job_with(money=money, job=jobs.About("by hand", spare=spare))
    return lines_of(corner_rows(job, axle, **parts))


def drive_lines(money=NOTHING_TAXED, **parts):
    return lines_of(drive_rows(job_with(money=money), **parts))


def test_every_line_of_a_corner_by_hand():
    assert corner_lines(spacer=SPACER, wheel={"hub_bore_mm": 78.1}) == {
        "wheels": 2 * 10_000,
        "tires": 2 * 15_000,
        "spacers": 2 * 2_500,
        "lug nuts": 2 * 5 * 333,
        "hub rings": 2 * 1_299,
        "mounting and balancing": 2 * 1_750,
        "tire disposal": 2 * 411,
        "freight": 2 * (525 + 788 + 53),  # 10, 15 and 1 kg at 52.5 cents: 787.5 and 52.5 a half cent up
    }


def test_every_line_of_the_drive_by_hand():
    ratio, differential = {"core_charge_cents": 1_500}, {"core_charge_cents": 12_000}
    assert drive_lines(ratio=ratio, differential=differential) == {
        "gear set": 20_000,
        "differential": 30_000,
        "install kit": 8_850,
        "core charges": 13_500,
        "labor": 3 * 9_501,
    }


def test_the_spare_is_a_third_wheel_and_tire_at_the_rear():
    assert corner_lines("rear", spare=True, spacer=SPACER) == {
        "wheels": 3 * 10_000,
        "tires": 3 * 15_000,
        "spacers": 2 * 2_500,
        "lug nuts": 2 * 5 * 333,
        "hub rings": 0,
        "mounting and balancing": 3 * 1_750,
        "tire disposal": 2 * 411,
        "freight": 3 * (525 + 788) + 2 * 53,
    }


def test_the_front_axle_has_no_spare():
    assert corner_lines("front", spare=True) == corner_lines("front")


def test_parts_on_the_truck_cost_nothing():
    kept = {"on_truck": "front"}
    assert set(corner_lines(wheel=kept, tire=kept, spacer=SPACER | kept).values()) == {0.0}


def test_gears_on_the_truck_cost_nothing():
    kept = {"on_truck": "yes", "core_charge_cents": 1_500}
    assert set(drive_lines(ratio=kept, differential=kept).values()) == {0.0}


def test_parts_on_both_axles_cost_nothing_on_either():
    both = {"on_truck": "both"}
    assert {sum(corner_lines(axle, wheel=both, tire=both).values()) for axle in jobs.AXLES} == {0.0}


def test_a_wheel_on_the_other_axle_costs_as_a_new_one():
    assert corner_lines("rear", wheel={"on_truck": "front"}) == corner_lines("rear")


def test_a_spare_of_the_wheel_on_the_axle_is_still_to_be_bought():
    kept = {"on_truck": "rear"}
    lines = corner_lines("rear", spare=True, wheel=kept, tire=kept)
    assert lines == dict.fromkeys(lines, 0) | {
        "wheels": 10_000, "tires": 15_000, "mounting and balancing": 1_750, "freight": 525 + 788,
    }  # fmt: skip


def test_a_new_tire_on_a_wheel_that_stays_is_mounted():
    lines = corner_lines(wheel={"on_truck": "front"})
    assert (lines["mounting and balancing"], lines["lug nuts"], lines["wheels"]) == (3_500, 0, 0)


def test_a_tire_that_moves_to_a_new_wheel_is_mounted_and_none_is_disposed_of():
    lines = corner_lines(tire={"on_truck": "front"})
    assert (lines["mounting and balancing"], lines["tire disposal"], lines["tires"]) == (3_500, 0, 0)


def test_a_hub_of_eight_lugs_takes_eight_nuts_a_wheel():
    hub = dataclasses.replace(HUB, bolt_circle=dataclasses.replace(HUB.bolt_circle, lug_count=8))
    job = job_with(hub=jobs.Hubs(hub, HUB), money=NOTHING_TAXED)
    assert lines_of(corner_rows(job))["lug nuts"] == 2 * 8 * 333


@pytest.mark.parametrize(("bore", "rings"), [(71.5, 0), (71.6, 0), (71.601, 2), (78.1, 2), (None, 0)])
def test_rings_are_bought_where_the_bore_is_more_than_a_tenth_over_the_pilot(bore, rings):
    assert corner_lines(wheel={"hub_bore_mm": bore})["hub rings"] == rings * 1_299


def test_the_lip_of_a_spacer_is_the_pilot_for_the_ring():
    assert corner_lines(wheel={"hub_bore_mm": 78.1}, spacer={"pilot_mm": 78.1})["hub rings"] == 0.0


@pytest.mark.parametrize(("ratio", "differential", "kits"), [("no", "no", 1), ("yes", "no", 1), ("no", "yes", 1),
                                                             ("yes", "yes", 0)])  # fmt: skip
def test_the_install_kit_is_bought_once(ratio, differential, kits):
    lines = drive_lines(ratio={"on_truck": ratio}, differential={"on_truck": differential})
    assert lines["install kit"] == kits * 8_850


def test_hours_that_no_list_states_count_as_none():
    assert drive_lines(ratio={"labor_hours": None})["labor"] == 9_501


def test_labor_is_rounded_once_a_half_cent_up():
    lines = drive_lines(ratio={"labor_hours": 0.25}, differential={"labor_hours": 0.25})
    assert lines["labor"] == 4_751  # half of 9501


def test_freight_of_a_part_without_a_mass_is_that_of_the_heaviest_listed():
    lists = {"wheels": 30.0, "tires": 40.0, "spacers": 5.0}
    parts = parts_with(**{plural: [{"sku": "0", "mass_kg": None}, {"mass_kg": mass}] for plural, mass in lists.items()})
    one = np.array([0])
    rows = corners(job_with(money=NOTHING_TAXED), "front", parts, Picks(one, one, one))
    assert lines_of(rows)["freight"] == 2 * (half_up(30.0 * 52.5) + 40.0 * 52.5 + half_up(5.0 * 52.5))


def test_without_a_spacer_none_is_shipped_though_no_spacers_mass_is_listed():
    assert corner_lines()["freight"] == 2 * (525 + 788)


def test_the_heaviest_is_looked_for_in_the_whole_list():
    parts = parts_with(wheels=[{"mass_kg": 9.0}, {"mass_kg": 21.5}, {"mass_kg": None}], spacers=[{"mass_kg": None}])
    assert [heaviest_kg(parts, kind) for kind in ("wheel", "tire", "spacer")] == [21.5, 15.0, 0.0]


def test_a_missing_mass_costs_the_freight_of_the_heaviest_of_its_list():
    parts = parts_with(wheels=[{"sku": "W1"}, {"sku": "W2", "mass_kg": 21.5}, {"sku": "W3", "mass_kg": None}])
    job = job_with(money=jobs.Money(freight_cents_per_kg=100.0))
    tire, spacer = np.zeros(3, dtype=np.int64), np.full(3, NO_SPACER)
    cents = corners(job, "front", parts, Picks(np.arange(3), tire, spacer))["corner.cost_cents"]
    assert (cents - cents[0]).tolist() == [0.0, 2 * 1_150.0, 2 * 1_150.0]


def test_ballast_costs_its_price_and_its_freight_each():
    job = job_with(money=NOTHING_TAXED, ballast=jobs.BallastPlan(4, (jobs.Station("bed", 0.0),)))
    assert slots(job, parts_with())["slot.cost_cents"].tolist() == [500 + 1_575]  # 30 kg


# Tax


def taxed(*kinds):
    return dataclasses.replace(MONEY, taxed=kinds)


def test_tax_is_rounded_half_a_cent_up_for_one_of_a_thing():
    job = job_with(money=jobs.Money(tax_ppm=50_000))
    assert with_tax(job, "parts", [10.0, 9.0, 30.0]).tolist() == [11.0, 9.0, 32.0]  # 0.5, 0.45 and 1.5


def test_tax_of_ten_nuts_is_ten_times_that_of_one():
    assert corner_lines(money=taxed("parts"))["lug nuts"] == 10 * (333 + 27)  # 27.4725 each, not 274.7 on all


LINES = {
    "parts": {"wheels", "tires", "spacers", "lug nuts", "hub rings", "gear set", "differential", "install kit"},
    "freight": {"freight"},
    "labor": {"mounting and balancing", "labor"},
    "fees": {"tire disposal", "core charges"},
}


@pytest.mark.parametrize("kind", ALL)
def test_tax_is_on_the_lines_that_are_taxed_alone(kind):
    spacer, wheel, ratio = SPACER, {"hub_bore_mm": 78.1}, {"core_charge_cents": 1_500}
    plain = corner_lines(spacer=spacer, wheel=wheel) | drive_lines(ratio=ratio)
    with_one = (corner_lines(money=taxed(kind), spacer=spacer, wheel=wheel)
                | drive_lines(money=taxed(kind), ratio=ratio))  # fmt: skip
    assert {line for line in plain if with_one[line] != plain[line]} == LINES[kind]


def test_ballast_is_taxed_as_a_part_and_its_freight_as_freight():
    station = jobs.BallastPlan(4, (jobs.Station("bed", 0.0),))
    cents = [slots(job_with(money=taxed(*kinds), ballast=station), parts_with())["slot.cost_cents"][0]
             for kinds in ((), ("parts",), ("freight",))]  # fmt: skip
    assert np.diff(cents, prepend=cents[0]).tolist()[1:] == [41, 130 - 41]  # 8.25 % of 500 and of 1575


# What adds up

FLAG = st.sampled_from(["no", "front", "rear", "both"])
SWITCH = st.sampled_from(["no", "yes"])
CENTS = st.integers(0, 40_000)


@settings(max_examples=25, deadline=None)
@given(price=CENTS, wheel=FLAG, tire=FLAG, spare=st.booleans(), axle=st.sampled_from(jobs.AXLES),
       tax=st.integers(0, 150_000), mass=st.none() | st.floats(5.0, 40.0))  # fmt: skip
def test_the_lines_of_a_corner_add_up_to_its_cost(price, wheel, tire, spare, axle, tax, mass):
    money = dataclasses.replace(MONEY, tax_ppm=tax, taxed=ALL)
    job = job_with(money=money, job=jobs.About("by hand", spare=spare))
    parts = parts_with(wheels=[{"price_cents": price, "on_truck": wheel, "mass_kg": mass}], tires=[{"on_truck": tire}])
    one = np.array([0])
    rows = corners(job, axle, parts, Picks(one, one, one))
    assert sum(lines_of(rows).values()) == rows["corner.cost_cents"][0]


@settings(max_examples=25, deadline=None)
@given(price=CENTS, core=st.none() | CENTS, ratio=SWITCH, differential=SWITCH, tax=st.integers(0, 150_000))
def test_the_lines_of_the_drive_add_up_to_its_cost(price, core, ratio, differential, tax):
    job = job_with(money=dataclasses.replace(MONEY, tax_ppm=tax, taxed=ALL))
    rows = drive_rows(
        job, ratio={"price_cents": price, "core_charge_cents": core, "on_truck": ratio},
        differential={"on_truck": differential},
    )  # fmt: skip
    assert sum(lines_of(rows).values()) == rows["drive.cost_cents"][0]


def test_the_rows_of_a_build_add_up_to_its_cost():
    job = job_with(money=MONEY, ballast=jobs.BallastPlan(4, (jobs.Station("bed", 0.0),)))
    chosen = build(job, counts=(3,), rear={"spacer": SPACER})
    rows = (chosen.front["corner.cost_cents"], chosen.rear["corner.cost_cents"], chosen.drive["drive.cost_cents"])
    by_hand = sum(row[0] for row in rows) + 3 * chosen.slots["slot.cost_cents"][0]
    assert totals(job, chosen)["cost_cents"][0] == by_hand


def test_every_cost_is_a_whole_number_of_cents():
    job = job_with(money=dataclasses.replace(MONEY, taxed=ALL, freight_cents_per_kg=33.333))
    cost = totals(job, build(job, rear={"spacer": SPACER}))["cost_cents"][0]
    assert cost == round(cost)

"""The bill of a build adds up to what it costs."""

from by_hand import build, job_with

from combo import job as jobs
from combo.checks.bill import bills
from combo.checks.run import totals

MONEY = jobs.Money(
    tax_ppm=82_500,
    taxed=("parts", "freight"),
    labor_per_hour_cents=9501,
    mount_and_balance_cents=1750,
    lug_nut_cents=155,
    hub_ring_cents=499,
    install_kit_cents=8999,
    tire_disposal_cents=350,
    freight_cents_per_kg=61.7,
)


def billed(**parts):
    job = job_with(money=MONEY, ballast=jobs.BallastPlan(4, (jobs.Station("bed", 0.0),)))
    chosen = build(job, counts=[3], **parts)
    return bills(job, chosen)[0], int(totals(job, chosen)["cost_cents"][0])


def test_the_lines_add_up_to_the_cost():
    lines, cost = billed(front={"spacer": {}})
    assert sum(line.cents for line in lines) == cost


def test_the_tax_is_the_last_line():
    lines, _ = billed()
    assert [line.what for line in lines][-1] == "tax"


def test_the_same_wheel_at_both_axles_is_one_line_of_four():
    lines, _ = billed()
    assert [(line.where, line.count, line.cents) for line in lines if line.what == "wheels"] == [("", 4, 40_000)]


def test_two_wheels_are_a_line_each():
    lines, _ = billed(front={"wheel": {"sku": "W1"}})
    assert [(line.where, line.count) for line in lines if line.what == "wheels"] == [("front", 2), ("rear", 2)]


def test_what_costs_nothing_has_no_line():
    lines, _ = billed()
    assert all(line.cents for line in lines)
    assert "spacers" not in {line.what for line in lines}


def test_a_wheel_that_is_on_the_truck_has_no_line_there():
    lines, _ = billed(front={"wheel": {"on_truck": "front"}})
    assert ("wheels", "front") not in {(line.what, line.where) for line in lines}

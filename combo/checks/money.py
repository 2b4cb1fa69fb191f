"""Does it stay inside the budget, and is each order as large as its supplier takes."""

from __future__ import annotations

from combo.checks.check import Check, Cure, Inequality, at_least
from combo.checks.loads import SCALE_SHARE
from combo.formulas import Column
from combo.job import Axle, Job


def least_order(room_cents: Column) -> Inequality:
    """Every supplier that parts are ordered from takes an order of that size."""
    return at_least(room_cents, 0.0)


def _budget_scale(job: Job, axle: Axle) -> float:
    return SCALE_SHARE * (job.money.budget_cents or 0)


CHECKS = (
    Check(
        id="budget",
        name="budget",
        group="money",
        rows="build",
        unit="cents",
        formula="parts, nuts, rings, kit, freight, fees, labor and tax of all that is not on the truck yet <= budget",
        source="arithmetic in whole cents; a line is one part number of the whole build, its tax half a cent up",
        total="cost_cents",
        bound="budget_cents",
        asked=lambda job: job.money.budget_cents is not None,
        unasked="no budget",
        scale=_budget_scale,
        scale_words="5 % of the budget",
        cures=(Cure("bound", 1.0, "{amount} more budget"), Cure("total", -1.0, "parts {amount} cheaper")),
    ),
    Check(
        id="least_order",
        name="least order",
        group="money",
        rows="build",
        unit="cents",
        formula="of every supplier that parts are ordered from: listed prices x quantities >= its least order",
        source="the supplier's terms",
        sides=least_order,
        needs={"room_cents": "sum.order_room_cents"},
        asked=lambda job: any(own.least_order_cents is not None for own in job.suppliers),
        unasked="no least_order",
        firm=True,
    ),
)

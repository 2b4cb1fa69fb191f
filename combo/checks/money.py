"""Does it stay inside the budget."""

from __future__ import annotations

from combo.checks.check import Check, Cure
from combo.checks.loads import SCALE_SHARE
from combo.job import Axle, Job


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
        source="arithmetic in whole cents; tax line by line, half a cent up",
        total="cost_cents",
        bound="budget_cents",
        asked=lambda job: bool(job.money.budget_cents),
        unasked="no budget",
        scale=_budget_scale,
        scale_words="5 % of the budget",
        cures=(Cure("bound", 1.0, "{amount} more budget"), Cure("total", -1.0, "parts {amount} cheaper")),
    ),
)

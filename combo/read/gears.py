"""Gear sets and differentials of both axles: with both driven a candidate is one for each axle, told together.

A row of the paired table is the rear axle's, with the front axle's own columns behind `front_`; its SKU names both.
"""

from __future__ import annotations

import dataclasses

import numpy as np
import pandas as pd

from combo.job import Job
from combo.parts import BETWEEN, Parts
from combo.problems import Place, Report

_PAIRED = ("ratios", "differentials")


def for_driven_axles(job: Job, parts: Parts, shown: str, report: Report) -> Parts:
    """The lists with the gear sets and differentials that the driven axles may have.

    One listed for the front axle alone is none for the rear's; with both axles driven every one that may be at the rear
    goes with every one that may be in front. A list without any for an axle is a problem.
    """
    tables = {plural: _of_axles(job, plural, parts, shown, report) for plural in _PAIRED}
    if not any(tables[plural] is not parts.table(plural) for plural in _PAIRED):
        return parts
    extra = {
        plural: parts.extra[plural].iloc[own["listed_at"].to_numpy()].reset_index(drop=True)
        for plural, own in tables.items()
        if plural in parts.extra and "listed_at" in own
    }
    counts = {plural: len(parts.table(plural)) for plural in _PAIRED}
    return dataclasses.replace(
        parts, ratios=tables["ratios"], differentials=tables["differentials"], extra=parts.extra | extra, listed=counts
    )


def _of_axles(job: Job, plural: str, parts: Parts, shown: str, report: Report) -> pd.DataFrame:
    table = parts.table(plural)
    rear = np.flatnonzero((table["axle"] != "front").to_numpy())
    front = np.flatnonzero((table["axle"] != "rear").to_numpy())
    if not job.axle.is_front_driven and len(rear) == len(table):
        return table
    needed = {"rear": rear, "front": front} if job.axle.is_front_driven else {"rear": rear}
    for axle, own in needed.items():
        if not len(own):
            report.add(
                Place(shown, column=plural, table="files"),
                "none-for-the-axle",
                f"no {plural} for the {axle} axle",
                f'one without axle, or with axle "{axle}" or "both", is accepted',
            )
            return table
    if job.axle.is_front_driven:
        return _paired(table, np.repeat(rear, len(front)), np.tile(front, len(rear)))
    return table.iloc[rear].assign(listed_at=rear).reset_index(drop=True)


def _paired(table: pd.DataFrame, rear: np.ndarray, front: np.ndarray) -> pd.DataFrame:
    ours = table.iloc[rear].reset_index(drop=True)
    theirs = table.iloc[front].reset_index(drop=True).add_prefix("front_")
    both = pd.concat([ours, theirs], axis=1).assign(rear_sku=ours["sku"], listed_at=rear)
    return both.assign(sku=ours["sku"] + BETWEEN + theirs["front_sku"])

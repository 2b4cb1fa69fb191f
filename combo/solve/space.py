"""Rows of parts that a search is made on, with what it needs to know of the job."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import pandas as pd

from combo.checks import rows
from combo.checks.judge import Shifts
from combo.checks.rows import Index, Picks
from combo.checks.run import asked_checks, margins
from combo.job import Axle, Job
from combo.parts import Parts
from combo.solve.bars import Bar
from combo.solve.criteria import with_drive_points, with_points
from combo.solve.levels import Level

TABLES = ("front", "rear", "drive")


@dataclass(frozen=True)
class Removed:
    """How many candidates of a kind a check removes: alone, and as the first in order to do so.

    `unverified` of those alone do not fail: something is still to be measured, and the job is strict.
    """

    check: str
    kind: str
    alone: int
    first: int
    unverified: int = 0


@dataclass(frozen=True)
class Gears:
    """Which parts make up each drive row: positions in the lists."""

    tire: Index
    ratio: Index
    differential: Index


@dataclass(frozen=True)
class Space:
    """Rows that pass their own checks, sorted by SKU, and the ballast slots.

    `front` and `rear` hold corner rows, `drive` drive rows, `slots` ballast slots; the index of each counts from 0.
    `bars` are what whole-build checks ask, `shifts` how the truck's own plus-or-minus moves them, where it decides.
    `levels` see every build of the rows as lines.
    """

    job: Job
    front: pd.DataFrame
    rear: pd.DataFrame
    drive: pd.DataFrame
    slots: pd.DataFrame
    removed: tuple[Removed, ...]
    bars: tuple[Bar, ...]
    shifts: Shifts
    levels: tuple[Level, ...]

    def with_rows(self, front: pd.DataFrame, rear: pd.DataFrame, drive: pd.DataFrame) -> Space:
        """The same space with other rows."""
        return dataclasses.replace(self, front=front, rear=rear, drive=drive)


def corner_table(job: Job, parts: Parts, axle: Axle, picks: Picks) -> pd.DataFrame:
    """Corners of an axle sorted by SKU, with the margins of every corner check and their points."""
    at = {"wheel.at": picks.wheel, "tire.at": picks.tire, "spacer.at": picks.spacer}
    table = rows.corners(job, axle, parts, picks).assign(**at)
    table = table.sort_values(["wheel.sku", "tire.sku", "spacer.sku"], kind="stable").reset_index(drop=True)
    own = margins(job, axle, asked_checks(job, "corner", axle), table)
    return with_points(job, pd.concat([table, own.add_prefix("margin.")], axis=1), axle)


def drive_table(job: Job, parts: Parts, gears: Gears) -> pd.DataFrame:
    """Drives sorted by SKU, with the margins of every drive check and their points."""
    at = {"tire.at": gears.tire, "ratio.at": gears.ratio, "differential.at": gears.differential}
    table = rows.drives(job, parts, gears.tire, gears.ratio, gears.differential).assign(**at)
    table = table.sort_values(["ratio.sku", "differential.sku", "tire.sku"], kind="stable").reset_index(drop=True)
    own = margins(job, "rear", asked_checks(job, "drive"), table)
    return with_drive_points(job, pd.concat([table, own.add_prefix("margin.")], axis=1))

"""Rows of parts that a search is made on, with what it needs to know of the job."""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from combo.arrays import find
from combo.candidates.constraints import LinearConstraint, linear_constraints
from combo.candidates.layouts import LayoutRules
from combo.candidates.objectives import ObjectiveBound
from combo.candidates.relaxed_limits import NOTHING, RelaxedLimits
from combo.candidates.slack import Rooms
from combo.candidates.tables import places_of
from combo.checks.judge import Shifts
from combo.checks.rows import Floats, Index
from combo.checks.table import Given, Table
from combo.checks.totals import TOTALS
from combo.job import Job

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

    `front` and `rear` hold corner rows, `drive` drive rows, `slots` ballast slots.
    `rooms` are what whole-build checks ask, `shifts` how the truck's own plus-or-minus moves them, where it decides.
    `levels` see every build of the rows as lines; `allowed` is what checks may fail by, `rules` what every ballast
    layout must keep; `starts` what the truck brings to each total; a cost may be `beyond_cents` above its
    rows' sum.
    """

    job: Job
    front: Table
    rear: Table
    drive: Table
    slots: Given
    removed: tuple[Removed, ...]
    rooms: tuple[Rooms, ...]
    shifts: Shifts
    levels: tuple[ObjectiveBound, ...]
    allowed: RelaxedLimits
    rules: LayoutRules
    starts: Mapping[str, float]
    beyond_cents: float

    @property
    def bars(self) -> tuple[LinearConstraint, ...]:
        """The whole-build checks that weigh one total against another."""
        return tuple(own.bar for own in self.rooms)

    @functools.cached_property
    def adds(self) -> dict[str, dict[str, Floats]]:
        """What each row of a table ("front", "rear", "drive", "slot") adds, by total that it adds to."""
        tables = {"front": self.front, "rear": self.rear, "drive": self.drive, "slot": self.slots}
        return {
            kind: {
                name: own for name, total in TOTALS.items() if (own := total.adds(self.job, kind, table)) is not None
            }
            for kind, table in tables.items()
        }

    @functools.cached_property
    def places(self) -> dict[str, Index]:
        """Position in the lists of the parts of each row, by table, shape (n, 3)."""
        return {name: places_of(getattr(self, name), name) for name in TABLES}

    def find(self, name: str, places: Index) -> Index:
        """Rows of a table with parts at these places, shape (n, 3); -1 where there is none."""
        return find(self.places[name], places)

    @functools.cached_property
    def gear_ranks(self) -> Index:
        """Rank of each drive row by ratio SKU, then differential SKU: the tire is ranked with the rear corner."""
        gears = self.places["drive"][:, 1:]
        return np.cumsum(np.any(gears != np.concatenate([gears[:1], gears[:-1]]), axis=1), dtype=np.int64)

    @functools.cached_property
    def failing(self) -> tuple[LinearConstraint, ...]:
        """The bars one of which must be failed, where they are bars."""
        return tuple(
            bar
            for bar in linear_constraints(self.job, self.shifts, NOTHING)
            if not bar.is_loose and self.allowed.must_fail(bar.check, bar.check.where)
        )

    def to_tell_of(self, front: Table, rear: Table, drive: Table) -> Space:
        """Some rows of builds that were found, without what a search would need."""
        return dataclasses.replace(self, front=front, rear=rear, drive=drive, rooms=(), rules=LayoutRules((), ()))

    def with_rows(self, front: Table, rear: Table, drive: Table) -> Space:
        """The same space with other rows."""
        return dataclasses.replace(self, front=front, rear=rear, drive=drive)

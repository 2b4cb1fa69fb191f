"""Builds by the parts in them, whatever rows a space has."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from combo.arrays import each_once
from combo.candidates.builds import BuildRows
from combo.candidates.space import TABLES, Gears, Space
from combo.checks.rows import Picks
from combo.job import AXLES, Axle
from combo.search.filter import FilteredLists
from combo.search.pool import Banned, CandidateRows

Ints = NDArray[np.int64]
Mask = NDArray[np.bool_]
_PLACES = {"front": slice(0, 3), "rear": slice(3, 6), "drive": slice(6, 9)}


@dataclass(frozen=True)
class BuildIds:
    """Builds by position of their parts in the lists, shape (n, 9 + slots): wheel, tire and spacer in front and at the
    rear; tire, ratio and differential; and the count of each ballast slot.
    """

    table: Ints

    def __len__(self) -> int:
        return len(self.table)

    @staticmethod
    def none(reduced: FilteredLists) -> BuildIds:
        """No builds."""
        return BuildIds(np.zeros((0, 9 + len(reduced.slots)), dtype=np.int64))

    @staticmethod
    def of(space: Space, builds: BuildRows) -> BuildIds:
        """Builds of a space."""
        rows = [space.places[name][getattr(builds, name)] for name in TABLES]
        return BuildIds(np.column_stack([*rows, builds.counts]))

    @staticmethod
    def join(several: list[BuildIds]) -> BuildIds:
        """All builds of several, each once, in the order in which they come."""
        table = np.concatenate([one.table for one in several])
        return BuildIds(each_once(table))

    def take(self, at: Ints | Mask) -> BuildIds:
        """The builds at these positions, or where the mask holds."""
        return BuildIds(self.table[at])

    def among(self, others: BuildIds) -> Mask:
        """Which are among others."""
        known = {tuple(row) for row in others.table.tolist()}
        return np.array([tuple(row) in known for row in self.table.tolist()], dtype=bool)

    def uses(self, banned: Banned) -> Mask:
        """Which use a part that is banned."""
        used = np.zeros(len(self), dtype=bool)
        for axle, at, kind in self._corner_columns():
            used |= np.isin(self.table[:, at], sorted(getattr(banned, f"{kind}s")[axle]))
        return used

    def corner_parts(self) -> list[list[tuple[str, str, int]]]:
        """Axle, kind and position of the wheels and tires of each build."""
        return [[(axle, kind, build[at]) for axle, at, kind in self._corner_columns()] for build in self.table.tolist()]

    def rows(self) -> CandidateRows:
        """The rows that the builds are made of."""
        front, rear, drive = (self.table[:, _PLACES[name]].T for name in TABLES)
        empty = CandidateRows(Picks(*front[:, :0]), Picks(*rear[:, :0]), Gears(*drive[:, :0]))
        return empty.with_those_of(CandidateRows(Picks(*front), Picks(*rear), Gears(*drive)))

    def builds_in(self, space: Space) -> BuildRows:
        """The builds by position of their rows in a space that has them all."""
        found = {name: space.find(name, self.table[:, _PLACES[name]]) for name in TABLES}
        return BuildRows(found["front"], found["rear"], found["drive"], self.table[:, 9:])

    @staticmethod
    def _corner_columns() -> Iterator[tuple[Axle, int, str]]:
        for axle, first in zip(AXLES, (0, 3), strict=True):
            yield from ((axle, first, "wheel"), (axle, first + 1, "tire"))

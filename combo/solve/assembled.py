"""Builds by the parts in them, whatever rows a space has."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from combo.checks.distinct import each_once
from combo.checks.rows import Picks
from combo.job import AXLES, Axle
from combo.solve.builds import Builds
from combo.solve.reach import Banned, Rows
from combo.solve.reduce import Reduced
from combo.solve.space import TABLES, Gears, Space

Ints = NDArray[np.int64]
Mask = NDArray[np.bool_]
_PLACES = {"front": slice(0, 3), "rear": slice(3, 6), "drive": slice(6, 9)}


@dataclass(frozen=True)
class Assembled:
    """Builds by position of their parts in the lists, shape (n, 9 + slots): wheel, tire and spacer in front and at the
    rear; tire, ratio and differential; and the count of each ballast slot.
    """

    table: Ints

    def __len__(self) -> int:
        return len(self.table)

    @staticmethod
    def none(reduced: Reduced) -> Assembled:
        """No builds."""
        return Assembled(np.zeros((0, 9 + len(reduced.slots)), dtype=np.int64))

    @staticmethod
    def of(space: Space, builds: Builds) -> Assembled:
        """Builds of a space."""
        rows = [space.places[name][getattr(builds, name)] for name in TABLES]
        return Assembled(np.column_stack([*rows, builds.counts]))

    @staticmethod
    def join(several: list[Assembled]) -> Assembled:
        """All builds of several, each once, in the order in which they come."""
        table = np.concatenate([one.table for one in several])
        return Assembled(each_once(table))

    def take(self, at: Ints | Mask) -> Assembled:
        """The builds at these positions, or where the mask holds."""
        return Assembled(self.table[at])

    def among(self, others: Assembled) -> Mask:
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

    def rows(self) -> Rows:
        """The rows that the builds are made of."""
        front, rear, drive = (self.table[:, _PLACES[name]].T for name in TABLES)
        empty = Rows(Picks(*front[:, :0]), Picks(*rear[:, :0]), Gears(*drive[:, :0]))
        return empty.with_those_of(Rows(Picks(*front), Picks(*rear), Gears(*drive)))

    def builds_in(self, space: Space) -> Builds:
        """The builds by position of their rows in a space that has them all."""
        found = {name: space.find(name, self.table[:, _PLACES[name]]) for name in TABLES}
        return Builds(found["front"], found["rear"], found["drive"], self.table[:, 9:])

    @staticmethod
    def _corner_columns() -> Iterator[tuple[Axle, int, str]]:
        for axle, first in zip(AXLES, (0, 3), strict=True):
            yield from ((axle, first, "wheel"), (axle, first + 1, "tire"))

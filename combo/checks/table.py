"""Rows with columns by name, as checks look at them: those that have their columns; `rows.Rows` works them out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from combo.job import AXLES

Places = NDArray[np.int64] | NDArray[np.bool_]


class Columns(Protocol):
    """Rows whose columns are asked for by name."""

    def __getitem__(self, name: str, /) -> Any: ...

    def __len__(self) -> int: ...


class Table(Columns, Protocol):
    """Rows that tell, too, which columns they have, and of which some can be taken."""

    def __contains__(self, name: object, /) -> bool: ...

    def __iter__(self) -> Iterator[str]: ...

    def take(self, at: Places) -> Table:
        """The rows at these positions, or where the mask holds."""


@dataclass(frozen=True)
class Given:
    """Rows whose columns are given, arrays of shape (n,)."""

    columns: Mapping[str, NDArray[Any]]

    def __len__(self) -> int:
        return len(next(iter(self.columns.values()), ()))

    def __contains__(self, name: object) -> bool:
        return name in self.columns

    def __iter__(self) -> Iterator[str]:
        return iter(self.columns)

    def __getitem__(self, name: str) -> NDArray[Any]:
        return self.columns[name]

    def take(self, at: Places) -> Given:
        """The rows at these positions, or where the mask holds."""
        return Given({name: own[at] for name, own in self.columns.items()})

    def with_columns(self, columns: Mapping[str, NDArray[Any]]) -> Given:
        """The rows with more columns, or others of these names."""
        return Given({**self.columns, **columns})

    def numbers(self, at: int) -> dict[str, float]:
        """The numbers of one row, by column."""
        return {name: float(own[at]) for name, own in self.columns.items()}


NO_ROWS = Given({})
"""For what looks at no rows."""


def one_row(table: Table, at: int) -> Table:
    """One of the rows, as a table."""
    return table.take(np.array([at]))


@dataclass(frozen=True)
class Pairs:
    """Front and rear rows of the same builds, with their columns under `front.` and `rear.`."""

    front: Table
    rear: Table

    def __len__(self) -> int:
        return len(self.front)

    def __contains__(self, name: object) -> bool:
        axle, _, column = str(name).partition(".")
        return axle in AXLES and column in self.of(axle)

    def __iter__(self) -> Iterator[str]:
        return (f"{axle}.{column}" for axle in AXLES for column in self.of(axle))

    def __getitem__(self, name: str) -> Any:
        axle, _, column = name.partition(".")
        return self.of(axle)[column]

    def of(self, axle: str) -> Table:
        """The rows of an axle."""
        return self.front if axle == "front" else self.rear

    def take(self, at: Places) -> Pairs:
        """The pairs at these positions, or where the mask holds."""
        return Pairs(self.front.take(at), self.rear.take(at))


@dataclass(frozen=True)
class Whole:
    """Rows of the same builds: those of corners under `front.` and `rear.`, those of drives under their own names."""

    front: Table
    rear: Table
    drive: Table

    def __len__(self) -> int:
        return len(self.drive)

    def __contains__(self, name: object) -> bool:
        return name in Pairs(self.front, self.rear) or name in self.drive

    def __iter__(self) -> Iterator[str]:
        return iter([*Pairs(self.front, self.rear), *self.drive])

    def __getitem__(self, name: str) -> Any:
        return Pairs(self.front, self.rear)[name] if name.partition(".")[0] in AXLES else self.drive[name]

    def take(self, at: Places) -> Whole:
        """The builds at these positions, or where the mask holds."""
        return Whole(self.front.take(at), self.rear.take(at), self.drive.take(at))


@dataclass(frozen=True)
class Row:
    """One row of a table: its values by column."""

    table: Columns
    at: int

    def __getitem__(self, name: str) -> Any:
        return self.table[name][self.at]

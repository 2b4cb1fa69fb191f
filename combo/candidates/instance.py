"""Whole lists, judged on one of all parts that are alike in what is looked at.

A check looks at a few columns of a part; thousands of wheels share a width and an offset. So whatever is asked of every
combination of parts (a margin, the points of a corner) is worked out once for each combination of classes, and read
off for all the rest. What is looked at is not declared but recorded, on a single row; the rows it is then worked out on
hold nothing else, so that an oversight is an error and never a wrong answer.
"""

from __future__ import annotations

import dataclasses
import functools
from collections import OrderedDict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from hashlib import sha256
from typing import Any, TypeVar

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from combo.arrays import numbered, repeated
from combo.candidates.memo import Memo
from combo.checks.check import Check
from combo.checks.judge import governing_margin
from combo.checks.rows import NO_SPACER, Index, Picks, Rows, corner_rows, drive_rows, listed
from combo.deadline import Clock
from combo.job import Axle, Job
from combo.parts import Parts

Work = Callable[[Rows], Any]
T = TypeVar("T")
AT_ONCE = 1_000_000
"""Combinations that are worked out in one go."""
GRID_BYTES = 400 << 20
"""Memory up to which grids are kept: of whole lists, those of a search or two."""
KNOWN = "?"
"""Behind the name of a column: whether a value is known, and nothing else of it."""
_LARGEST_CODE = 2**62


class Axis(dict[str, Index]):
    """Positions of parts by kind, all of one length: what stands at each place of an axis of a grid.

    They are never written to, so that the axis is told from others by a digest that is taken once.
    """

    @property
    def length(self) -> int:
        """How many places it has."""
        return len(next(iter(self.values())))

    @functools.cached_property
    def digest(self) -> tuple[tuple[str, bytes], ...]:
        """What tells it from any other."""
        return tuple((kind, sha256(at.tobytes()).digest()) for kind, at in self.items())


@dataclass(frozen=True)
class Grid:
    """Something of every combination of the places of some axes: worked out by class, and the class of each place."""

    values: NDArray[Any]
    of: tuple[Index, ...]

    def full(self) -> NDArray[Any]:
        """One value a combination, an axis each."""
        found = self.values
        for axis in reversed(range(len(self.of))):  # the last first: then whole rows are copied along the others
            found = found.take(self.of[axis], axis)
        return found

    def among(self, *places: Index) -> Grid:
        """The grid of some places of each axis."""
        return Grid(self.values, tuple(of[own] for of, own in zip(self.of, places, strict=True)))

    def made(self, work: Callable[[NDArray[Any]], NDArray[Any]]) -> Grid:
        """Something made of each value by itself."""
        return Grid(work(self.values), self.of)

    def count(self, weights: Sequence[Index] = ()) -> int:
        """How many combinations are true; a place may stand for several, by the weights of its axis."""
        times = weights or [np.ones(len(of), dtype=np.int64) for of in self.of]
        found = self.values.astype(float)
        for of, own, size in reversed(list(zip(self.of, times, self.values.shape, strict=True))):
            found = found @ np.bincount(of, own, size)
        return round(float(found))

    def at(self, *places: Index) -> NDArray[Any]:
        """Values of some combinations, by their place on each axis; the places broadcast."""
        found: NDArray[Any] = self.values[tuple(of[place] for of, place in zip(self.of, places, strict=True))]
        return found

    @property
    def nbytes(self) -> int:
        """Memory that it takes."""
        return int(self.values.nbytes) + sum(int(of.nbytes) for of in self.of)


class _Grids:
    """Grids by key, those asked for last, up to a size in memory."""

    def __init__(self) -> None:
        self._kept: OrderedDict[tuple[Any, ...], Grid] = OrderedDict()
        self._bytes = 0

    def of(self, key: tuple[Any, ...], make: Callable[[], Grid]) -> Grid:
        """The grid of a key, made where it is not kept."""
        if key not in self._kept:
            self._kept[key] = make()
            self._bytes += self._kept[key].nbytes
        self._kept.move_to_end(key)
        while self._bytes > GRID_BYTES and len(self._kept) > 1:
            self._bytes -= self._kept.popitem(last=False)[1].nbytes
        return self._kept[key]


@dataclass
class Instance:
    """The lists of a job, what their columns tell apart, and what was worked out of them: limits may be moved and parts
    picked time and again without working it out anew. `clock` tells those who ask questions of them when to stop.
    """

    job: Job
    parts: Parts
    clock: Clock = field(default_factory=Clock)
    _codes: dict[str, tuple[Index, int]] = field(default_factory=dict)
    _kept: Memo = field(default_factory=Memo)
    _grids: _Grids = field(default_factory=_Grids)

    def ranked_as(self, job: Job) -> Instance:
        """The same lists for a job that differs from theirs in its ranking alone: what was worked out is shared."""
        return dataclasses.replace(self, job=job)

    def once(self, key: tuple[Any, ...], make: Callable[[], T]) -> T:
        """What `make` gives, made the first time that it is asked for under this key, which must name the ranking where
        it depends on that.
        """
        return self._kept.of(key, make)

    def columns_seen(self, work: Work, axle: Axle | None) -> frozenset[str]:
        """Columns of parts that some work on the corners of an axle looks at, or on drives where no axle is named."""
        one = {kind: np.zeros(min(1, len(self.parts.of_kind(kind))), dtype=np.int64) for kind in _kinds(axle)}
        if axle is not None:
            one["spacer"] = np.full(len(one["wheel"]), NO_SPACER, dtype=np.int64)
        rows = self._rows(axle, Axis(one), None)
        work(rows)
        return frozenset(rows.looked_at)

    def columns_checked(self, check: Check, axle: Axle) -> frozenset[str]:
        """Columns of parts that a check of corners or drives looks at."""
        return self._columns(("margin", check.id), margin_of(self.job, axle, check), of_rows(check, axle))

    def kinds_checked(self, check: Check, axle: Axle) -> frozenset[str]:
        """Kinds of part that a check of corners or drives looks at."""
        return frozenset(column.partition(".")[0] for column in self.columns_checked(check, axle))

    def margins(self, check: Check, axle: Axle, axes: Iterable[Axis]) -> Grid:
        """Deciding margins of a check of corners or drives on every combination of the axes."""
        own = of_rows(check, axle)
        return self.kept_grid(("margin", check.id), margin_of(self.job, axle, check), own, axes)

    def column(self, name: str, axle: Axle, axes: Iterable[Axis]) -> Grid:
        """A column of corners on every combination of the axes."""
        return self.kept_grid((name,), lambda rows: rows[name], axle, axes)

    def kept_grid(self, key: tuple[str, ...], work: Work, axle: Axle | None, axes: Iterable[Axis]) -> Grid:
        """As `grid`, of work that is the same whenever the key is; those asked for last are kept."""
        axes = list(axes)

        def make() -> Grid:
            return self._grid(work, axle, axes, self._columns(key, work, axle))

        return self._grids.of((*key, axle, *(axis.digest for axis in axes)), make)

    def grid(self, work: Work, axle: Axle | None, axes: Iterable[Axis]) -> Grid:
        """Some work on every combination of the axes: corners at an axle, or drives where no axle is named."""
        return self._grid(work, axle, list(axes), self.columns_seen(work, axle))

    def _columns(self, key: tuple[str, ...], work: Work, axle: Axle | None) -> frozenset[str]:
        """As `columns_seen`, of work that is the same whenever the key is."""
        return self.once(("columns", *key, axle), lambda: self.columns_seen(work, axle))

    def _grid(self, work: Work, axle: Axle | None, axes: list[Axis], columns: frozenset[str]) -> Grid:
        classes = [self.classes(axis, columns) for axis in axes]
        shape = tuple(len(first) for _, first in classes)
        places = np.indices(shape).reshape(len(shape), -1)
        found = []
        for start in range(0, max(1, places.shape[1]), AT_ONCE):
            here = places[:, start : start + AT_ONCE]
            at = Axis(
                {
                    kind: own[first[place]]
                    for axis, (_, first), place in zip(axes, classes, here, strict=True)
                    for kind, own in axis.items()
                }
            )
            found.append(np.broadcast_to(work(self._rows(axle, at, columns)), here.shape[1]))
        return Grid(np.concatenate(found).reshape(shape), tuple(of for of, _ in classes))

    def classes(self, axis: Axis, columns: Iterable[str]) -> tuple[Index, Index]:
        """Class of each place of an axis by these columns, and the first place of each class; those asked for last are
        kept, as grids are: both axles ask for the same ones.
        """
        names = tuple(sorted(name for name in columns if name.partition(".")[0] in axis))

        def make() -> Grid:
            of, first = self._classes(axis, names)
            return Grid(first, (of,))

        grid = self._grids.of(("classes", names, axis.digest), make)
        return grid.of[0], grid.values

    def _classes(self, axis: Axis, names: tuple[str, ...]) -> tuple[Index, Index]:
        code, size = np.zeros(axis.length, dtype=np.int64), 1
        for name in names:
            own, count = self._of_column(name)
            if size * count >= _LARGEST_CODE:
                code, first = numbered(code)
                size = len(first)
            code, size = code * count + own[axis[name.partition(".")[0]]], size * count
        return numbered(code)

    def _of_column(self, name: str) -> tuple[Index, int]:
        """Number of each distinct value of a column in the order of the list, and how many there are."""
        if name not in self._codes:
            own = listed(self.parts, name.removesuffix(KNOWN))
            codes, values = pd.factorize(pd.isna(own) if name.endswith(KNOWN) else own, use_na_sentinel=False)
            self._codes[name] = codes.astype(np.int64), len(values)
        return self._codes[name]

    def _rows(self, axle: Axle | None, at: Axis, only: frozenset[str] | None) -> Rows:
        """Rows of these parts; a kind that is not looked at may be left out."""
        none = np.zeros(at.length, dtype=np.int64)
        first, second, third = (at.get(kind, none) for kind in _kinds(axle))
        if axle is None:
            return drive_rows(self.job, self.parts, first, second, third, only)
        return corner_rows(self.job, axle, self.parts, Picks(first, second, third), only)


def margin_of(job: Job, axle: Axle, check: Check) -> Work:
    """The deciding margin of a check, as some work on rows."""
    return lambda rows: governing_margin(job, axle, check, rows)


def of_rows(check: Check, axle: Axle) -> Axle | None:
    """Axle whose corners a check is made on; None for drives."""
    return axle if check.rows == "corner" else None


def equal_pairs(one: NDArray[Any], other: NDArray[Any]) -> tuple[Index, Index]:
    """Places of all pairs of an entry of one and an equal entry of the other, in the order of the first."""
    order = np.argsort(other, kind="stable")
    start = np.searchsorted(other[order], one, side="left")
    size = np.searchsorted(other[order], one, side="right") - start
    left, step = repeated(size)
    return left, order[start[left] + step]


def _kinds(axle: Axle | None) -> tuple[str, ...]:
    return ("tire", "ratio", "differential") if axle is None else ("wheel", "tire", "spacer")

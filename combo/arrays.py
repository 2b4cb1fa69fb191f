"""Rows of whole numbers that are alike: each numbered by what it holds."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

Ints = NDArray[np.int64]
_LARGEST_CODE = 2**62


def numbered(code: Ints) -> tuple[Ints, Ints]:
    """Codes numbered in the order in which they come, and the place at which each comes first."""
    number = pd.factorize(code)[0].astype(np.int64)
    return number, firsts(number)


def numbered_rows(table: Ints) -> tuple[Ints, Ints]:
    """Rows of shape (n, columns) numbered likewise: alike rows have one number."""
    if not table.shape[1]:
        return numbered(np.zeros(len(table), dtype=np.int64))
    low, high = table.min(axis=0, initial=0), table.max(axis=0, initial=0)
    sizes = (high - low + 1).astype(float)
    if float(np.prod(sizes)) < _LARGEST_CODE:
        place = np.cumprod(np.concatenate([[1.0], sizes[:-1]])).astype(np.int64)
        return numbered((table - low) @ place)
    number = pd.DataFrame(table).groupby(list(range(table.shape[1])), sort=False).ngroup().to_numpy().astype(np.int64)
    return number, firsts(number)


def numbered_values(columns: Sequence[NDArray[Any]]) -> tuple[Ints, Ints]:
    """Rows of some columns, one at least, of any values numbered likewise; what is not known is alike."""
    return numbered_rows(np.column_stack([pd.factorize(own, use_na_sentinel=False)[0] for own in columns]))


def each_once(table: Ints) -> Ints:
    """The distinct rows, in the order in which they come."""
    distinct: Ints = table[numbered_rows(table)[1]]
    return distinct


def find(among: Ints, rows: Ints) -> Ints:
    """At which of the first rows each of the others stands, shapes (n, columns) and (m, columns); -1 where at none."""
    number, first = numbered_rows(np.concatenate([among, rows]))
    at = first[number[len(among) :]]
    return np.where(at < len(among), at, -1)


def repeated(times: Ints) -> tuple[Ints, Ints]:
    """Each place so many times, and how often it came before."""
    at = np.repeat(np.arange(len(times)), times)
    return at, np.arange(len(at)) - np.repeat(np.cumsum(times) - times, times)


def every_pair(some: Ints, others: Ints) -> tuple[Ints, Ints]:
    """Each of some with each of others."""
    return np.repeat(some, len(others)), np.tile(others, len(some))


def times_before(number: Ints) -> Ints:
    """How often each number comes before its place."""
    order = np.argsort(number, kind="stable")
    before = np.empty_like(number)
    before[order] = np.arange(len(number)) - np.searchsorted(number[order], number[order])
    return before


def firsts(of: Ints) -> Ints:
    """The place at which each class comes first, of classes that are numbered from 0."""
    first = np.zeros(int(of.max(initial=-1)) + 1, dtype=np.int64)
    first[of[::-1]] = np.arange(len(of) - 1, -1, -1)
    return first

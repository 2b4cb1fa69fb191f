"""Rows whose columns are worked out once: the searches that answer one question look at much the same rows."""

from __future__ import annotations

import numpy as np
import pandas as pd

from combo.arrays import find
from combo.candidates.criteria import corner_columns, drive_columns
from combo.checks import rows
from combo.checks.check import axle_at
from combo.checks.rows import Index, Picks, Rows
from combo.checks.table import Columns
from combo.job import Job
from combo.parts import Parts

PLACES = {
    "front": ("wheel.at", "tire.at", "spacer.at"),
    "rear": ("wheel.at", "tire.at", "spacer.at"),
    "drive": ("tire.at", "ratio.at", "differential.at"),
}
"""Columns of each table that tell where in the lists the parts of a row stand."""
ROWS_KEPT = 20_000
"""Rows of a table up to which they are kept."""
_ORDER = {
    "front": ("wheel.sku", "tire.sku", "spacer.sku"),
    "rear": ("wheel.sku", "tire.sku", "spacer.sku"),
    "drive": ("ratio.sku", "differential.sku", "tire.sku"),
}


class Tables:
    """The rows of a job's lists: corners with the points of their fit, drives with those of their cruise and what they
    grip, each sorted by SKU.
    """

    def __init__(self, job: Job, parts: Parts) -> None:
        self._job, self._parts = job, parts
        self._kept: dict[str, Rows] = {}

    def of(self, name: str, places: Index) -> Rows:
        """The rows of a table ("front", "rear" or "drive") whose parts stand at these places, shape (n, 3)."""
        kept = self._kept.get(name)
        new = places if kept is None else places[find(places_of(kept, name), places) < 0]
        if len(new) + (0 if kept is None else len(kept)) > ROWS_KEPT:
            return _sorted(name, self._made(name, places))
        if kept is None or len(new):
            made = self._made(name, new)
            kept = self._kept[name] = _sorted(name, made if kept is None else kept.joined(made))
        return kept.take(np.sort(find(places_of(kept, name), places)))

    def _made(self, name: str, places: Index) -> Rows:
        job, axle = self._job, axle_at(name)
        if name == "drive":
            return rows.drive_rows(job, self._parts, *places.T).with_derived(drive_columns(job))
        return rows.corner_rows(job, axle, self._parts, Picks(*places.T)).with_derived(corner_columns(job, axle))


def places_of(table: Columns, name: str) -> Index:
    """Position in the lists of the parts of each row of a table, shape (n, 3)."""
    return np.column_stack([table[column] for column in PLACES[name]])


def _sorted(name: str, table: Rows) -> Rows:
    ranks = [pd.factorize(table[column], sort=True)[0] for column in _ORDER[name]]
    return table.ordered(np.lexsort(ranks[::-1]))

"""Rows with every column, worked out once: the searches that answer one question look at much the same rows."""

from __future__ import annotations

import numpy as np
import pandas as pd

from combo.checks import rows
from combo.checks.distinct import find
from combo.checks.rows import Index, Picks
from combo.checks.run import margins
from combo.job import Axle, Job
from combo.parts import Parts
from combo.solve.criteria import fit_checks, with_drive_points, with_points

PLACES = {
    "front": ("wheel.at", "tire.at", "spacer.at"),
    "rear": ("wheel.at", "tire.at", "spacer.at"),
    "drive": ("tire.at", "ratio.at", "differential.at"),
}
"""Columns of each table that tell where in the lists the parts of a row stand."""
ROWS_KEPT = 20_000
"""Rows of a table up to which they are kept."""
_ORDER = {
    "front": ["wheel.sku", "tire.sku", "spacer.sku"],
    "rear": ["wheel.sku", "tire.sku", "spacer.sku"],
    "drive": ["ratio.sku", "differential.sku", "tire.sku"],
}


class Tables:
    """The rows of a job's lists: corners with the points of their fit, drives with those of their cruise and what they
    grip, each sorted by SKU.
    """

    def __init__(self, job: Job, parts: Parts) -> None:
        self._job, self._parts = job, parts
        self._kept: dict[str, pd.DataFrame] = {}

    def of(self, name: str, places: Index) -> pd.DataFrame:
        """The rows of a table ("front", "rear" or "drive") whose parts stand at these places, shape (n, 3)."""
        kept = self._kept.get(name)
        new = places if kept is None else places[find(places_of(kept, name), places) < 0]
        if len(new) + (0 if kept is None else len(kept)) > ROWS_KEPT:
            return self._made(name, places)
        if kept is None or len(new):
            kept = self._kept[name] = _both(name, kept, self._made(name, new))
        at = find(places_of(kept, name), places)
        return kept.take(np.sort(at)).reset_index(drop=True)

    def _made(self, name: str, places: Index) -> pd.DataFrame:
        axle: Axle = "front" if name == "front" else "rear"
        made = self._drives(places) if name == "drive" else self._corners(axle, places)
        return _sorted(name, made.assign(**dict(zip(PLACES[name], places.T, strict=True))))

    def _corners(self, axle: Axle, places: Index) -> pd.DataFrame:
        job, table = self._job, rows.corners(self._job, axle, self._parts, Picks(*places.T))
        return with_points(job, table, axle, margins(job, axle, fit_checks(job, axle), table))

    def _drives(self, places: Index) -> pd.DataFrame:
        return with_drive_points(self._job, rows.drives(self._job, self._parts, *places.T))


def places_of(table: pd.DataFrame, name: str) -> Index:
    """Position in the lists of the parts of each row of a table, shape (n, 3)."""
    return np.column_stack([table[column].to_numpy(dtype=np.int64) for column in PLACES[name]])


def _both(name: str, kept: pd.DataFrame | None, new: pd.DataFrame) -> pd.DataFrame:
    return new if kept is None or not len(kept) else _sorted(name, pd.concat([kept, new]))


def _sorted(name: str, table: pd.DataFrame) -> pd.DataFrame:
    return table.sort_values(_ORDER[name], kind="stable").reset_index(drop=True)

"""May ballast lie as it is laid out: does it fit on the floor of its stations, and do the ties hold it."""

from __future__ import annotations

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from combo.algorithms.packing import Doubt, Footprint, floor_of
from combo.arrays import numbered_rows
from combo.checks.check import Check, Inequality, at_most, worst_side
from combo.checks.table import Table
from combo.job import Job, Station

Counts = NDArray[np.int64]
TIED_SHARE = 0.5  # 49 CFR 393.106(d): working load limits of the ties add up to half the weight at least
OVER, HALF = "over", 0.5
"""A tie over the cargo from one side of the truck to the other counts whole; from an anchor to the cargo, or back to
its own side, half (49 CFR 393.106(d)).
"""
_TENTHS = 10.0
_SQUARE_M = 1e-8  # of a square tenth of a millimeter
_SQUARE_MM = 1e6  # of a square meter


class OfLayouts(Protocol):
    """A constraint over layouts."""

    def __call__(self, counts: Counts, doubt: Doubt = "solve") -> Inequality:
        """Sides for counts of shape (layouts, slots); `doubt` is what to take where only the solver could tell."""


def ballast_space(job: Job, slots: Table) -> OfLayouts:
    """The items of every station lie flat inside its rectangle, stacked no higher than its layers."""
    sizes = zip(slots["ballast.length_mm"].tolist(), slots["ballast.width_mm"].tolist(), strict=True)
    prints = [_footprint(*size) for size in sizes]
    stations = _stations(job, slots)
    return _worst_of([_space_at(station, [prints[at] for at in here], here) for station, here in stations])


def tie_down(job: Job, slots: Table) -> OfLayouts:
    """At every station the working load limits of the ties add up to half of the ballast's mass or more."""
    mass_kg = slots["ballast.mass_kg"]  # not the whole grams of sums: equal to the limit passes
    return _worst_of([_ties_at(station, mass_kg[here], here) for station, here in _stations(job, slots)])


def _stations(job: Job, slots: Table) -> list[tuple[Station, Counts]]:
    """Stations that have any slots, each with their positions."""
    names = slots["station.name"]
    return [
        (station, np.flatnonzero(names == station.name)) for station in job.ballast.stations if station.name in names
    ]


def _worst_of(stations: list[OfLayouts]) -> OfLayouts:
    """The station that decides, for each layout; one with nothing on it holds with room without end."""

    def sides(counts: Counts, doubt: Doubt = "solve") -> Inequality:
        nothing = Inequality(*(np.full(len(counts), size) for size in (0.0, np.inf, np.inf)))
        return worst_side([nothing, *(at_station(counts, doubt) for at_station in stations)])

    return sides


def _space_at(station: Station, prints: list[Footprint | None], here: Counts) -> OfLayouts:
    """Floor taken against the floor there is [m2]; whether it can be laid out that way decides. Equal layouts once."""
    known = np.array([item is not None for item in prints], dtype=bool)
    kinds = tuple(item for item in prints if item is not None)
    area = np.array([item.long * item.short * _SQUARE_M for item in kinds])

    def sides(counts: Counts, doubt: Doubt = "solve") -> Inequality:
        back, first = numbered_rows(counts[:, here])
        laid = counts[first][:, here]
        fit = _fit(station, kinds, laid[:, known], doubt)
        value, limit = laid[:, known] @ area, np.full(len(laid), _floor_m2(station))
        margin = np.where(fit, 0.0, -1.0)
        unknown = np.isnan(limit) | (laid[:, ~known] > 0).any(axis=1)
        is_bare = (laid == 0).all(axis=1)
        whole = Inequality(*(np.where(unknown, np.nan, side) for side in (value, limit, margin)))
        return Inequality(value[back], *(np.where(is_bare, np.inf, side)[back] for side in whole[1:]))

    return sides


def _floor_m2(station: Station) -> float:
    return station.length_mm * station.width_mm * station.layers / _SQUARE_MM


def _fit(station: Station, kinds: tuple[Footprint, ...], layouts: Counts, doubt: Doubt) -> NDArray[np.bool_]:
    if np.isnan(station.length_mm + station.width_mm):
        return np.zeros(len(layouts), dtype=bool)
    length, width = round(station.length_mm * _TENTHS), round(station.width_mm * _TENTHS)
    return floor_of(length, width, station.layers, kinds).holds(layouts, doubt)


def _footprint(length_mm: float, width_mm: float) -> Footprint | None:
    if np.isnan(length_mm + width_mm):
        return None
    tenths = round(length_mm * _TENTHS), round(width_mm * _TENTHS)
    return Footprint(max(tenths), min(tenths))


def _ties_at(station: Station, mass_kg: NDArray[np.float64], here: Counts) -> OfLayouts:
    each_kg = station.tie_working_load_kg * (1.0 if station.tie_run == OVER else HALF)
    holds_kg = station.ties * each_kg / TIED_SHARE if station.ties else np.nan

    def sides(counts: Counts, doubt: Doubt = "solve") -> Inequality:
        laid_kg = counts[:, here] @ mass_kg
        value, limit, margin = at_most(laid_kg, np.full(len(counts), holds_kg))
        return Inequality(value, *(np.where(laid_kg == 0.0, np.inf, side) for side in (limit, margin)))

    return sides


CHECKS = (
    Check(
        id="ballast_space",
        name="ballast on its floor",
        group="loads",
        rows="layout",
        unit="yes_no",
        formula="all items of a station lie flat inside its rectangle, turned as may be, in its layers",
        source="geometry: an exact packing of rectangles",
        where="truck",
        sides=ballast_space,
        needs={
            "floor_length_mm": "station.length_mm",
            "floor_width_mm": "station.width_mm",
            "length_mm": "ballast.length_mm",
            "width_mm": "ballast.width_mm",
        },
    ),
    Check(
        id="tie_down",
        name="ballast tied down",
        group="loads",
        rows="layout",
        unit="kg",
        formula="mass at a station <= 2 x working load limits of its ties; a tie that does not run over the cargo from "
        "side to side, or of which that is not stated, counts half",
        source="49 CFR 393.106(d), binding for commercial vehicles",
        default="ties count half",
        where="truck",
        sides=tie_down,
        needs={"ties": "station.ties", "limit": "station.tie_working_load_kg"},
        firm=True,
    ),
)

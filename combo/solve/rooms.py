"""Room in whole-build checks, part by part: what each wheel, tire, spacer and drive brings to it.

A corner's room is the sum of its parts' but for what they bring together: mounting and hub rings, which only take room,
and the rounding of a spare's share, which `Rooms.slack` covers. So a part that leaves no room even beside the parts and
the ballast that help most is in no build that passes; and neither is a group of them, or a corner.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from combo.checks.rows import NO_SPACER, Index, Rows
from combo.job import AXLES, Axle, Job
from combo.parts import Parts
from combo.solve.bars import Bar
from combo.solve.classes import Lists

Floats = NDArray[np.float64]
CORNER_KINDS = ("wheel", "tire", "spacer")
_GRAMS = 20.0
"""What rounding may add up to, several times over."""


@dataclass(frozen=True)
class Rooms:
    """Room in one whole-build check: what each part of each kind at an axle brings, and the truck and its ballast.

    Infinite where a part leaves the check unverified. Of spacers none stands first.
    """

    bar: Bar
    parts: Mapping[tuple[Axle, str], Floats]
    truck: float
    ballast: float
    slack: float

    def of_corners(self, axle: Axle, wheel: Index, tire: Index, spacer: Index) -> Floats:
        """What corners bring, by their parts; of spacers 0 is none."""
        room: Floats = self.parts[axle, "wheel"][wheel] + self.parts[axle, "tire"][tire]
        return room + self.parts[axle, "spacer"][spacer]

    def least(self, best: Mapping[tuple[Axle, str], float], drive: float, axle: Axle, kind: str) -> float:
        """What a part of a kind at an axle must bring at least beside the best of all others."""
        others = sum(room for place, room in best.items() if place != (axle, kind))
        return -(self.truck + self.ballast + others + drive) - self.slack


def rooms_of(
    lists: Lists, bars: tuple[Bar, ...], slots: pd.DataFrame, starts: Mapping[str, float]
) -> list[Rooms]:  # fmt: skip
    """Rooms of every whole-build check, for each axle measured against a part of each kind that is known in full;
    `starts` are the truck's totals.
    """
    reference = lists.once(("reference",), lambda: _reference(lists.parts))
    return [_rooms(lists, bar, slots, reference, bar.room_of_truck(starts)) for bar in bars]


def best_ballast(job: Job, bar: Bar, slots: pd.DataFrame) -> float:
    """The most that ballast can help a check, each slot filled as far as it may be."""
    helps = bar.room_of_rows(job, "slot", slots)
    return float((np.maximum(helps, 0.0) * slots["slot.most"].to_numpy(dtype=float)).sum())


def worst_ballast(job: Job, bar: Bar, slots: pd.DataFrame) -> float:
    """The most that ballast can take from a check, each slot filled as far as it may be."""
    takes = -bar.room_of_rows(job, "slot", slots)
    return float((np.maximum(takes, 0.0) * slots["slot.most"].to_numpy(dtype=float)).sum())


def ballast_limit(job: Job, bar: Bar, slots: pd.DataFrame) -> tuple[float, float]:
    """Room that a gram of rear load from ballast takes at least, and the room that other ballast can bring.

    0 where some ballast brings rear load and takes no room.
    """
    takes, rear = -bar.room_of_rows(job, "slot", slots), slots["slot.rear_g"].to_numpy(dtype=float)
    useful = rear > 0
    if not useful.any():
        return 0.0, 0.0
    helps = np.maximum(-takes[~useful], 0.0) * slots["slot.most"].to_numpy(dtype=float)[~useful]
    return max(0.0, float((takes[useful] / rear[useful]).min())), float(helps.sum())


def most_ballast_g(job: Job, bar: Bar, slots: pd.DataFrame, room: Floats) -> Floats:
    """The most rear load that ballast may bring [g] where a check has so much room without it; infinite without end."""
    takes, helps = ballast_limit(job, bar, slots)
    return (room + helps) / takes + 1.0 if takes > 0 else np.full(np.shape(room), np.inf)


def _rooms(lists: Lists, bar: Bar, slots: pd.DataFrame, reference: Mapping[str, int], truck: float) -> Rooms:
    own = lists.once(("rooms", bar.check.id, bar.check.where), lambda: _of_parts(lists, bar, reference))
    return Rooms(bar, own, truck, best_ballast(lists.job, bar, slots), _slack(bar))


def _of_parts(lists: Lists, bar: Bar, reference: Mapping[str, int]) -> dict[tuple[Axle, str], Floats]:
    """What each part brings to a check, whatever its limit is."""
    own: dict[tuple[Axle, str], Floats] = {}
    for axle in AXLES:
        if bar.check.unit == "cents":
            own |= {(axle, kind): -_cents(lists, axle, kind) for kind in CORNER_KINDS}
            continue
        base = _room_at(lists, bar, axle, reference, "", np.zeros(1, dtype=np.int64))[0]
        for kind in CORNER_KINDS:
            room = _room_at(lists, bar, axle, reference, kind, _every(lists, kind)) - base
            room = room + (base if kind == "wheel" else 0.0)
            own[axle, kind] = np.where(np.isnan(room), np.inf, room)
    return own


def _room_at(
    lists: Lists, bar: Bar, axle: Axle, reference: Mapping[str, int], kind: str, at: Index
) -> Floats:  # fmt: skip
    """Room of corners of the reference parts with one kind in their place."""
    every = {**reference, "spacer": NO_SPACER}
    places = {name: np.full(len(at), where, dtype=np.int64) for name, where in every.items()}
    if kind:
        places[kind] = at

    def work(rows: Rows) -> Floats:
        return bar.room_of_rows(lists.job, axle, rows)

    return lists.grid(work, axle, [places]).full().astype(float)


def _cents(lists: Lists, axle: Axle, kind: str) -> Floats:
    """What each part brings to the bill by itself; what parts bring together only adds to it."""
    return lists.grid(lambda rows: rows[f"corner.of_{kind}_cents"], axle, [{kind: _every(lists, kind)}]).full()


def _every(lists: Lists, kind: str) -> Index:
    """Every part of a kind; of spacers none first."""
    first = NO_SPACER if kind == "spacer" else 0
    return np.arange(first, len(lists.parts.of_kind(kind)), dtype=np.int64)


def _slack(bar: Bar) -> float:
    """What rounding may make of the sum of the parts."""
    if bar.check.unit == "cents":
        return 0.0
    return _GRAMS * (1000.0 if bar.check.total.endswith("_mg") else 1.0)


def _reference(parts: Parts) -> dict[str, int]:
    """A part of each kind that is known in full."""
    return {"wheel": _known(parts.wheels, "mass_kg", "load_rating_kg"),
            "tire": _known(parts.tires, "mass_kg", "capacity_kg")}  # fmt: skip


def _known(table: pd.DataFrame, *columns: str) -> int:
    """Place of the first part of which these are known; 0 where there is none."""
    known = table[list(columns)].notna().all(axis=1).to_numpy()
    return int(np.argmax(known)) if len(known) else 0

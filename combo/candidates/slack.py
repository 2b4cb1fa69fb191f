"""Room in whole-build checks, part by part: what each wheel, tire, spacer and drive brings to it.

A corner's room is the sum of its parts' but for what they bring together: mounting and hub rings, which only take room,
and the rounding of a spare's share, which `Rooms.slack` covers. So a part that leaves no room even beside the parts and
the ballast that help most is in no build that passes; and neither is a group of them, or a corner.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from combo.candidates.constraints import LinearConstraint
from combo.candidates.instance import Axis, Instance
from combo.checks.rows import NO_SPACER, Index
from combo.checks.table import Columns, Given
from combo.job import AXLES, Axle, Job
from combo.parts import Parts

Floats = NDArray[np.float64]
CORNER_KINDS = ("wheel", "tire", "spacer")
ROUNDING_G = 20.0
"""What rounding may add up to, several times over."""


@dataclass(frozen=True)
class BallastRoom:
    """What ballast does to the room in a whole-build check: what an item of each slot brings, shape (slots,); the most
    that all of it can bring, each slot filled as far as it may be; the least that a gram of rear load from ballast
    takes, 0 where some takes nothing; and what ballast without rear load can bring beside it.
    """

    each: Floats
    most: float
    takes: float
    others: float

    def rear_g(self, room: Floats) -> Floats:
        """The most rear load that ballast may bring [g] where there is so much room without it; may be infinite."""
        return (room + self.others) / self.takes + 1.0 if self.takes > 0 else np.full(np.shape(room), np.inf)


@dataclass(frozen=True)
class Rooms:
    """Room in one whole-build check: what each part of each kind at an axle brings, the truck, and ballast.

    Infinite where a part leaves the check unverified. Of spacers none stands first.
    """

    bar: LinearConstraint
    parts: Mapping[tuple[Axle, str], Floats]
    truck: float
    ballast: BallastRoom
    slack: float

    def of_corners(self, axle: Axle, wheel: Index, tire: Index, spacer: Index) -> Floats:
        """What corners bring, by their parts; of spacers 0 is none."""
        room: Floats = self.parts[axle, "wheel"][wheel] + self.parts[axle, "tire"][tire]
        return room + self.parts[axle, "spacer"][spacer]

    def ballast_g(self, front: float, rear: Floats, drive: float) -> Floats:
        """The most rear load that ballast may bring beside corners and a drive that bring so much [g]; NaN where room
        without end stands beside none at all.
        """
        with np.errstate(invalid="ignore"):
            return self.ballast.rear_g(self.truck + front + drive + rear + self.slack)

    def least(self, best: Mapping[tuple[Axle, str], float], drive: float, axle: Axle, kind: str) -> float:
        """What a part of a kind at an axle must bring at least beside the best of all others."""
        others = sum(room for place, room in best.items() if place != (axle, kind))
        return -(self.truck + self.ballast.most + others + drive) - self.slack


def rooms_of(
    instance: Instance,
    bars: tuple[LinearConstraint, ...],
    slots: Given,
    of_slots: tuple[str, ...],
    starts: Mapping[str, float],
) -> list[Rooms]:
    """Rooms of every whole-build check, for each axle measured against a part of each kind that is known in full;
    `of_slots` tells these slots from others, and `starts` are the truck's totals.
    """
    found = []
    for bar in bars:
        key = bar.key
        parts = instance.once(("rooms", *key), functools.partial(_of_parts, instance, bar))
        ballast = instance.once(("ballast", *key, of_slots), functools.partial(_of_ballast, instance.job, bar, slots))
        found.append(Rooms(bar, parts, bar.room_of_truck(starts), ballast, _slack(bar)))
    return found


def worst_ballast(job: Job, bar: LinearConstraint, slots: Given) -> float:
    """The most that ballast can take from a check, each slot filled as far as it may be."""
    takes = -bar.room_of_rows(job, "slot", slots)
    return float((np.maximum(takes, 0.0) * slots["slot.most"]).sum())


def _of_ballast(job: Job, bar: LinearConstraint, slots: Given) -> BallastRoom:
    each, rear = bar.room_of_rows(job, "slot", slots), slots["slot.rear_g"]
    helps = np.maximum(each, 0.0) * slots["slot.most"]
    useful = rear > 0
    if not useful.any():
        return BallastRoom(each, float(helps.sum()), 0.0, 0.0)
    takes = max(0.0, float((-each[useful] / rear[useful]).min()))
    return BallastRoom(each, float(helps.sum()), takes, float(helps[~useful].sum()))


def _of_parts(instance: Instance, bar: LinearConstraint) -> dict[tuple[Axle, str], Floats]:
    """What each part brings to a check, whatever its limit is."""
    own: dict[tuple[Axle, str], Floats] = {}
    for axle in AXLES:
        if bar.check.unit == "cents":
            own |= {(axle, kind): -_cents(instance, axle, kind) for kind in CORNER_KINDS}
            continue
        rooms = sizes_of_parts(instance, axle, functools.partial(bar.room_of_rows, instance.job, axle))
        own |= {(axle, kind): np.where(np.isnan(room), np.inf, room) for kind, room in rooms.items()}
    return own


def sizes_of_parts(instance: Instance, axle: Axle, work: Callable[[Columns], Floats]) -> dict[str, Floats]:
    """What each wheel, tire and spacer at an axle brings to some sum over corners, measured against parts that are
    known in full, whose own is the wheels'; NaN where it is not known. Of spacers none stands first.
    """
    reference = instance.once(("reference",), lambda: _reference(instance.parts))
    base, found = _beside_reference(instance, axle, work, reference, "")[0], {}
    for kind in CORNER_KINDS:
        with np.errstate(invalid="ignore"):  # without end less without end is not known
            more = _beside_reference(instance, axle, work, reference, kind) - base
        found[kind] = more + (base if kind == "wheel" else 0.0)
    return found


def _beside_reference(
    instance: Instance, axle: Axle, work: Callable[[Columns], Floats], reference: Mapping[str, int], kind: str
) -> Floats:
    """The sum over corners of the reference parts with every part of a kind in their place, or of these alone."""
    places = instance.once(("beside reference", kind), functools.partial(_beside, instance, reference, kind))
    return work(_Columns(instance, axle, places))


def _beside(instance: Instance, reference: Mapping[str, int], kind: str) -> Axis:
    own = {kind: _every(instance, kind)} if kind else {}
    length = len(own[kind]) if kind else 1
    every = {**reference, "spacer": NO_SPACER}
    return Axis({name: np.full(length, where, dtype=np.int64) for name, where in every.items()} | own)


@dataclass(frozen=True)
class _Columns:
    """Columns of some corners, each worked out once for all checks."""

    instance: Instance
    axle: Axle
    places: Axis

    def __len__(self) -> int:
        return len(self.places["wheel"])

    def __getitem__(self, name: str) -> Floats:
        return self.instance.column(name, self.axle, [self.places]).full()


def _cents(instance: Instance, axle: Axle, kind: str) -> Floats:
    """What each part brings to the bill by itself; what parts bring together only adds to it."""
    return instance.grid(
        lambda rows: rows[f"corner.of_{kind}_cents"], axle, [Axis({kind: _every(instance, kind)})]
    ).full()


def _every(instance: Instance, kind: str) -> Index:
    """Every part of a kind; of spacers none first."""
    first = NO_SPACER if kind == "spacer" else 0
    return np.arange(first, len(instance.parts.of_kind(kind)), dtype=np.int64)


def _slack(bar: LinearConstraint) -> float:
    """What rounding may make of the sum of the parts."""
    if bar.check.unit == "cents":
        return 0.0
    return ROUNDING_G * (1000.0 if bar.total.endswith("_mg") else 1.0)


def _reference(parts: Parts) -> dict[str, int]:
    """A part of each kind that is known in full."""
    return {
        "wheel": _known(parts, "wheel", "mass_kg", "load_rating_kg"),
        "tire": _known(parts, "tire", "mass_kg", "capacity_kg"),
    }


def _known(parts: Parts, kind: str, *columns: str) -> int:
    """Place of the first part of which these are known; 0 where there is none."""
    known = ~np.isnan(np.column_stack([parts.column(kind, name) for name in columns])).any(axis=1)
    return int(np.argmax(known)) if len(known) else 0

"""The most that any build with a given row, or with any row of a group, can reach.

Every bound is a relaxation of the line of `combo.candidates.objectives`, so a row whose bound is below the K-th best
build known is in no build of the top K:

- The lesser of two corners' fit is at most any weighted mean of the two.
- A whole-build check is charged for instead of held: a build that holds it has room, and room at any price of zero or
  more adds to its worth (weak duality). `combo.bounds.lagrangian` looks for prices and a mean that make bounds low.
- Points of the stance are a line, or none: the better of the two counts. On the line the tires' diameters tie the
  axles by their distance from the wanted rake.
- What is left is a sum over front corner, rear corner with its ballast, and drive, tied front to rear by wheel and
  tire where the job wants them the same all round, and rear to drive by the tire. Its largest value through each row
  follows from group-wise maxima along that chain.

A part of which a rating is not known leaves checks unverified: it brings room enough for any build. What is not weighed
escapes more: it earns nothing by its weight and needs no load to start, so it is seen in cases of its own, one of such
front corners, one of such rear corners, one of drives whose grip is not known.
"""

from __future__ import annotations

import functools
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from combo.arrays import numbered, numbered_values
from combo.bounds.grade_cuts import GRIPS, ballast_to_grip_g
from combo.candidates.constraints import LinearConstraint
from combo.candidates.criteria import FULL, criterion_of
from combo.candidates.objectives import ObjectiveBound, ballast_line
from combo.candidates.relaxed_limits import NOTHING, RelaxedLimits
from combo.candidates.slack import Rooms
from combo.candidates.space import TABLES, Space
from combo.checks.run import asked_checks
from combo.checks.table import Given, Table
from combo.checks.totals import TOTALS
from combo.job import Job

Floats = NDArray[np.float64]
Codes = NDArray[np.int64]
Mask = NDArray[np.bool_]
Which = Literal["known", "unknown", "any"]
ANY = -1
"""Link of a corner of which it is not known to what it is tied: any may stand beside it."""
_APART = 1e9
"""More than any value, in points, and any size, in micrometers; links times it are exact enough for a tenth of a point.
"""


@dataclass(frozen=True)
class PartColumns:
    """What the parts of a kind bring to corners: cents, grams, and room in each whole-build check, shape (parts, 2 +
    checks), NaN or infinite where it is not known until `filled`.

    `of` is the class of each part and `at` that of each corner: a corner has the best part of its class.
    """

    sizes: Floats
    of: Codes
    at: Codes

    def worth(self, rates: Floats) -> Floats:
        """Worth of each part at some rates."""
        used = np.flatnonzero(rates)
        worth: Floats = self.sizes[:, used] @ rates[used]
        return worth

    def best(self, rates: Floats) -> Floats:
        """Worth of the best part of each corner's class."""
        return _most_of(self.worth(rates), self.of, int(self.of.max(initial=-1)) + 1)[self.at]

    def take(self, at: Codes | Mask) -> PartColumns:
        """The share of some corners."""
        return replace(self, at=self.at[at])


@dataclass(frozen=True)
class AxleColumns:
    """Corners of an axle as bounds see them: points, cents of mounting, and micrometers; the shares of their parts;
    whether the mass of all of these is known; the link that ties each to corners of the other axle (its wheel
    and tire, or what pair checks want to be the same), and the tire that ties it to drives.
    """

    shares: tuple[PartColumns, ...]
    fit: Floats
    mounting_cents: Floats
    lip_um: Floats
    diameter_um: Floats
    known: Mask
    link: Codes
    tire: Codes

    def __len__(self) -> int:
        return len(self.fit)

    def take(self, at: Codes | Mask) -> AxleColumns:
        """Some of the corners."""
        own = {name: getattr(self, name)[at] for name in self.__dataclass_fields__ if name != "shares"}
        return AxleColumns(shares=tuple(share.take(at) for share in self.shares), **own)


@dataclass(frozen=True)
class LoadColumns:
    """Rear loads that occur among rear corners [g], what the truck at least weighs then, the most that ballast may add
    to each, and which each has.
    """

    grams: Floats
    truck_g: Floats
    most_g: Floats
    of: Codes

    def take(self, at: Codes | Mask) -> LoadColumns:
        """The loads that some of the corners have."""
        code = self.of[at]
        of, first = numbered(code)
        used = code[first]
        return LoadColumns(self.grams[used], self.truck_g[used], self.most_g[used], of)


@dataclass(frozen=True)
class DriveColumns:
    """Drives as bounds see them: `rooms` is what each brings to the whole-build checks, shape (drives, checks)."""

    cents: Floats
    cruise: Floats
    grip: Floats
    share: Floats
    preload_kg: Floats
    road_share: Floats
    road_preload_kg: Floats
    rooms: Floats
    tire: Codes

    @property
    def gripped(self) -> tuple[Floats, Floats, Floats, Floats]:
        """What they put down, as `combo.bounds.grade_cuts.GRIPS` names it."""
        return self.share, self.preload_kg, self.road_share, self.road_preload_kg

    @property
    def known(self) -> Mask:
        """Whether the grip of each is known."""
        return np.asarray(~np.isnan(self.share + self.preload_kg))

    @functools.cached_property
    def alike(self) -> list[Mask]:
        """Sets of drives that grip alike."""
        of, first = numbered_values([self.grip, self.known.astype(float)])
        return [of == number for number in range(len(first))]

    def __len__(self) -> int:
        return len(self.cents)

    def take(self, at: Codes | Mask) -> DriveColumns:
        """Some of the drives."""
        return DriveColumns(*(getattr(self, name)[at] for name in self.__dataclass_fields__))


@dataclass(frozen=True)
class ChainProblem:
    """Front corners, rear corners and drives, and what ties them; `are_same` where wheel and tire are the same.

    Of the whole-build checks: the truck's own room with what rounding may add, infinite where the truck leaves it
    unverified, and the room that an item of each ballast slot brings, shape (slots, checks).
    """

    job: Job
    slots: Given
    levels: tuple[ObjectiveBound, ...]
    front: AxleColumns
    rear: AxleColumns
    loads: LoadColumns
    drive: DriveColumns
    truck: Floats
    ballast: Floats
    are_same: bool

    @functools.cached_property
    def to_grip_g(self) -> list[Floats]:
        """Rear load that ballast must bring for the wanted start and pull, for each load, with the best of each set of
        drives that grip alike; none where something is not known.
        """
        drive, loads, found = self.drive, self.loads, []
        for here in drive.alike:
            if not drive.known[here].all() or not here.any():
                found.append(np.zeros(len(loads.grams)))
                continue
            best = [np.asarray(own[here].max()) for own in drive.gripped]
            found.append(ballast_to_grip_g(self.job, self.slots, best, loads.grams, loads.truck_g))
        return found

    @functools.cached_property
    def nearest(self) -> dict[str, list[Nearest]]:
        """By axle, its corners in the order of their diameters, for those that corners of the other axle want beside
        them: of their link; of any, for corners whose link is not known; and any such.
        """
        wanted, found = _wanted_um(self) or 0.0, {}
        sides = (("front", self.front, self.rear, wanted), ("rear", self.rear, self.front, -wanted))
        for name, own, other, shift in sides:
            sizes, nothing, none = own.diameter_um + shift, 0 * own.link, 0 * other.link
            every, free, asks_any = np.ones(len(own), dtype=bool), own.link == ANY, other.link == ANY
            found[name] = [Nearest.among(sizes, own.link, ~free, other.diameter_um, other.link, ~asks_any)]
            if free.any():
                found[name].append(Nearest.among(sizes, nothing, free, other.diameter_um, none, ~asks_any))
            if asks_any.any():
                found[name].append(Nearest.among(sizes, nothing, every, other.diameter_um, none, asks_any))
        return found

    def take(self, rows: dict[str, Codes]) -> ChainProblem:
        """The chain of some rows of each table."""
        return replace(
            self,
            front=self.front.take(rows["front"]),
            rear=self.rear.take(rows["rear"]),
            loads=self.loads.take(rows["rear"]),
            drive=self.drive.take(rows["drive"]),
        )


@dataclass(frozen=True)
class Multipliers:
    """One relaxation of a level: the front corner's share of the fit's points, and the price of room in each
    whole-build check, points a unit.
    """

    level: ObjectiveBound
    split: float
    prices: Floats


@dataclass(frozen=True)
class MissingCase:
    """Which rows of each table are looked at."""

    front: Which = "known"
    rear: Which = "known"
    drive: Which = "known"

    @property
    def is_weighed(self) -> bool:
        """Whether the mass of every build is known."""
        return self.front == self.rear == "known"


KNOWN_CASE = MissingCase()
UNKNOWN_CASES = (
    MissingCase("unknown", "any", "any"),
    MissingCase("any", "unknown", "any"),
    MissingCase("known", "known", "unknown"),
)


@dataclass(frozen=True)
class CaseMultipliers:
    """What is known of a case: multipliers of each level, and one of the gate."""

    case: MissingCase
    views: tuple[Multipliers, ...]
    gate: Multipliers


@dataclass(frozen=True)
class RowBounds:
    """Largest value of any build through each row of each table."""

    front: Floats
    rear: Floats
    drive: Floats

    def of(self, name: str) -> Floats:
        """That of a table."""
        own: Floats = getattr(self, name)
        return own

    def most(self) -> float:
        """That of the best build."""
        return float(self.rear.max(initial=-np.inf))


def chain_of(space: Space) -> ChainProblem:
    """The chain of a space's rows."""
    job, bars, same = space.job, space.bars, space.job.job.same_all_round
    sides = {name: _side_of(job, bars, name, getattr(space, name), space.places[name]) for name in ("front", "rear")}
    if not same:
        tie = ties(job, space.allowed)
        own = linked(*([table[column] for column in tie] for table in (space.front, space.rear)))
        sides = {
            name: replace(side, link=link if tie else 0 * side.tire)
            for (name, side), link in zip(sides.items(), own, strict=True)
        }
    front, rear = tied(sides["front"], sides["rear"])
    cents, cruise, grip, share, preload_kg, road_share, road_preload_kg = (
        space.drive[f"drive.{column}"].astype(float) for column in ("cost_cents", "cruise", "grip", *GRIPS)
    )
    rooms, tire = _rooms(job, bars, "drive", space.drive), space.places["drive"][:, 0]
    drive = DriveColumns(cents, cruise, grip, share, preload_kg, road_share, road_preload_kg, rooms, tire)
    lightest = _lightest(space.front["corner.mass_g"])
    rear_g, truck_g = (space.rear[f"corner.{name}_g"] for name in ("rear_load", "truck_load"))
    loads = loads_of(job, rear_g, truck_g, lightest, _most_ballast_g(space))
    truck = np.array([bar.room_of_truck(space.starts) for bar in bars])
    return filled(
        ChainProblem(
            space.allowed.in_job(job),
            space.slots,
            space.levels,
            front,
            rear,
            loads,
            drive,
            truck,
            ballast_rooms(space.rooms, space.slots),
            same,
        )
    )


def _most_ballast_g(space: Space) -> Floats:
    """The most rear load that ballast may bring to each rear row beside the front corner and the drive that leave most
    room in each whole-build check [g].
    """
    most = np.full(len(space.rear), np.inf)
    for own in space.rooms:
        front, rear, drive = (own.bar.most_room_of_rows(space.job, name, getattr(space, name)) for name in TABLES)
        most = np.fmin(most, own.ballast_g(front.max(initial=-np.inf), rear, drive.max(initial=-np.inf)))
    return most


def filled(chain: ChainProblem) -> ChainProblem:
    """The chain with room enough for any build in place of what is not known, and no room at all where nothing is."""
    shares = [share.sizes[:, 2:] for side in (chain.front, chain.rear) for share in side.shares]
    kinds = [*shares, chain.drive.rooms]
    least = np.stack([_least_known(rooms) for rooms in kinds])
    ballast = chain.job.ballast.max_items * np.minimum(chain.ballast, 0.0).min(axis=0, initial=0.0)
    open_ = ~np.isfinite(chain.truck) | ~np.isfinite(least).all(axis=0)
    total = np.where(open_, 0.0, np.where(open_, 0.0, chain.truck) + np.where(open_, 0.0, least).sum(axis=0) + ballast)
    lacks = np.maximum(0.0, -total)  # brought by one unknown part alone, or by several at once
    enough = [np.where(open_, 0.0, own) + lacks for own in least]
    new = iter(
        [
            np.where(open_, 0.0, np.where(np.isfinite(rooms), rooms, own))
            for rooms, own in zip(kinds, enough, strict=True)
        ]
    )
    sides = [
        replace(side, shares=tuple(_with_rooms(share, next(new)) for share in side.shares))
        for side in (chain.front, chain.rear)
    ]
    truck = np.where(open_, np.inf, chain.truck)
    return replace(chain, front=sides[0], rear=sides[1], drive=replace(chain.drive, rooms=next(new)), truck=truck)


def _least_known(rooms: Floats) -> Floats:
    known = np.where(np.isfinite(rooms), rooms, np.inf)
    least: Floats = known.min(axis=0, initial=np.inf)
    return least


def _with_rooms(share: PartColumns, rooms: Floats) -> PartColumns:
    return replace(share, sizes=np.column_stack([np.nan_to_num(share.sizes[:, :2]), rooms]))


def ballast_rooms(rooms: Sequence[Rooms], slots: Given) -> Floats:
    """Room that an item of each slot brings to whole-build checks, shape (slots, checks)."""
    return np.column_stack([np.zeros((len(slots), 0)), *(own.ballast.each for own in rooms)])


def ties(job: Job, allowed: RelaxedLimits = NOTHING) -> tuple[str, ...]:
    """Columns of a corner that pair checks want to be the same at both axles, as far as they may not fail."""
    names = {"same_style": "wheel.style", "same_line": "tire.line", "construction": "tire.is_radial"}
    return tuple(
        names[check.id] for check in asked_checks(job, "pair") if check.id in names and not allowed.of(check, "truck")
    )


def loads_of(job: Job, rear_g: Floats, truck_g: Floats, front_g: float, most_g: Floats | None = None) -> LoadColumns:
    """Loads of rear corners that bring so much to the rear axle and to the truck, beside the lightest front corner, and
    the most that ballast may add to each, if that is known. Equal ones are one.
    """
    most = np.full(len(rear_g), np.inf) if most_g is None else most_g
    of, first = numbered_values([rear_g, truck_g, most])
    rear, truck = rear_g[first], truck_g[first]
    return LoadColumns(
        TOTALS["rear_light_g"].start(job) + rear, TOTALS["truck_light_g"].start(job) + front_g + truck, most[first], of
    )


def _lightest(grams: Floats) -> float:
    """The least of some masses; 0 where one is not known."""
    return 0.0 if not len(grams) or np.isnan(grams).any() else float(grams.min())


def linked(front: list[NDArray[Any]], rear: list[NDArray[Any]]) -> tuple[Codes, Codes]:
    """A number for each distinct set of what ties front and rear corners; ANY where some of it is not known."""
    at = len(front[0]) if front else 0
    codes = np.zeros(at + (len(rear[0]) if rear else 0), dtype=np.int64)
    unknown = np.zeros(len(codes), dtype=bool)
    for ours, theirs in zip(front, rear, strict=True):
        both = np.concatenate([ours, theirs])
        own, values = pd.factorize(both, use_na_sentinel=False)
        codes, unknown = codes * len(values) + own, unknown | pd.isna(both) | (both == "")
    codes[unknown] = ANY
    return codes[:at], codes[at:]


def tied(front: AxleColumns, rear: AxleColumns) -> tuple[AxleColumns, AxleColumns]:
    """Sides whose links are numbered from 0, but for those that are tied to any."""
    every = np.concatenate([front.link, rear.link])
    codes, _ = pd.factorize(np.where(every == ANY, every.max(initial=0), every))
    codes, at = np.where(every == ANY, ANY, codes).astype(np.int64), len(front.link)
    return replace(front, link=codes[:at]), replace(rear, link=codes[at:])


def missing_cases(chain: ChainProblem) -> list[MissingCase]:
    """Worlds that have any rows."""
    known = (chain.front.known, chain.rear.known, chain.drive.known)
    unknown = [case for case, own in zip(UNKNOWN_CASES, known, strict=True) if not own.all()]
    return [KNOWN_CASE, *unknown]


def seen_in(case: MissingCase, multipliers: Multipliers) -> Multipliers:
    """Multipliers as builds of a case have it: what is not weighed earns nothing by its weight."""
    return multipliers if case.is_weighed else replace(multipliers, level=multipliers.level.without_mass())


def stances(level: ObjectiveBound) -> tuple[bool, ...]:
    """Whether the stance is on its line: both are looked at where it counts."""
    return (False, True) if level.weight("stance") else (False,)


def row_bounds(chain: ChainProblem, multipliers: Multipliers, case: MissingCase = KNOWN_CASE) -> RowBounds:
    """Largest value through each row of the chain, with the stance on its line or without its points."""
    found = _throughs(chain, seen_in(case, multipliers), case)
    return RowBounds(*(np.maximum.reduce([one.of(name) for one in found]) for name in TABLES))


@dataclass(frozen=True)
class Relaxation:
    """Multipliers, and how the rows of a case look in it."""

    multipliers: Multipliers
    through: RowBounds

    @staticmethod
    def of(chain: ChainProblem, multipliers: Multipliers, case: MissingCase) -> Relaxation:
        """The bounds of a chain under some multipliers."""
        own = seen_in(case, multipliers)
        return Relaxation(own, row_bounds(chain, own, case))


@dataclass(frozen=True)
class BestBuild:
    """The build of the largest bound under some multipliers: its value, its room in each whole-build check, and how
    many more points of the fit its front corner has than its rear one.
    """

    most: float
    room: Floats
    fit_apart: float


def best_build(chain: ChainProblem, multipliers: Multipliers, case: MissingCase) -> BestBuild | None:
    """The build of a case that looks best; None where there is none."""
    own = seen_in(case, multipliers)
    through = max(_throughs(chain, own, case), key=RowBounds.most)
    if not np.isfinite(through.most()):
        return None
    front, rear, drive = (int(np.argmax(through.of(name))) for name in TABLES)
    line, load = ballast_line(chain.job, chain.slots, own.level, _charge(chain, own)), chain.loads.of[rear]
    alike = next(at for at, own in enumerate(chain.drive.alike) if own[drive])
    least = _to_grip_g(chain, case)[alike][load]
    laid = line.laid(chain.loads.grams[load], chain.drive.grip[drive], chain.loads.most_g[load], least)
    of_rows = _room_of(chain.front, front, own) + _room_of(chain.rear, rear, own) + chain.drive.rooms[drive]
    truck = np.where(np.isfinite(chain.truck), chain.truck, 0.0)
    room = truck + of_rows + laid @ chain.ballast
    return BestBuild(through.most(), room, chain.front.fit[front] - chain.rear.fit[rear])


def _charge(chain: ChainProblem, multipliers: Multipliers) -> Floats:
    """What an item of each ballast slot takes away by the room that it takes."""
    charge: Floats = -(chain.ballast @ multipliers.prices)
    return charge


def _room_of(side: AxleColumns, corner: int, multipliers: Multipliers) -> Floats:
    """Room of a corner, of the best parts of its classes."""
    room = np.zeros(len(multipliers.prices))
    for share in side.shares:
        parts = np.flatnonzero(share.of == share.at[corner])
        room = room + share.sizes[parts[int(np.argmax(share.worth(rates(multipliers))[parts]))], 2:]
    return room


def corner_values(
    chain: ChainProblem, multipliers: Multipliers, case: MissingCase, on_line: bool
) -> tuple[Floats, Floats]:
    """Worth of front corners by themselves, and of rear corners with the best ballast and drive of their tires; what
    every build begins with is on the rear's.
    """
    own = seen_in(case, multipliers)
    fronts, rears = _corners(chain, chain.front, own, own.split, case.front), _driven(chain, own, case)[0]
    if on_line:
        fronts, rears = fronts - _away(chain, chain.front, own), rears - _away(chain, chain.rear, own)
    return fronts, rears + _start(chain, own, on_line)


def rates(multipliers: Multipliers) -> Floats:
    """What a cent, a gram and a unit of room in each whole-build check are worth."""
    return np.concatenate([[-multipliers.level.cent, -multipliers.level.gram], multipliers.prices])


def corner_links(places: Codes) -> Codes:
    """A number for each wheel and tire of corners by their places, shape (n, 3): that of the same ones is the same."""
    return (places[:, 0] << 32) + places[:, 1]


def _side_of(job: Job, bars: Sequence[LinearConstraint], name: str, table: Table, places: Codes) -> AxleColumns:
    sizes = np.column_stack([table[f"corner.{column}"] for column in ("cost_cents", "mass_g")])
    sizes = np.column_stack([sizes, _rooms(job, bars, name, table)])
    known = ~np.isnan(sizes[:, 1])
    every = np.arange(len(table), dtype=np.int64)
    share = PartColumns(sizes, every, every)
    fit, lip, diameter = (table[f"corner.{column}"].astype(float) for column in ("fit", "lip_error_um", "diameter_um"))
    return AxleColumns((share,), fit, np.zeros(len(table)), lip, diameter, known, corner_links(places), places[:, 1])


def _rooms(job: Job, bars: Sequence[LinearConstraint], name: str, table: Table) -> Floats:
    return np.column_stack([np.zeros((len(table), 0)), *(bar.room_of_rows(job, name, table) for bar in bars)])


def _throughs(chain: ChainProblem, multipliers: Multipliers, case: MissingCase) -> list[RowBounds]:
    """Largest value through each row, for each of the stances."""
    fronts, driven = (
        _corners(chain, chain.front, multipliers, multipliers.split, case.front),
        _driven(chain, multipliers, case),
    )
    return [_through(chain, multipliers, on_line, fronts, driven) for on_line in stances(multipliers.level)]


def _through(
    chain: ChainProblem,
    multipliers: Multipliers,
    on_line: bool,
    fronts: Floats,
    of_rear: tuple[Floats, list[Floats], Floats],
) -> RowBounds:
    rears, laid, drives = of_rear
    if on_line:
        away = _away(chain, chain.rear, multipliers)
        fronts, rears, laid = (
            fronts - _away(chain, chain.front, multipliers),
            rears - away,
            [own - away for own in laid],
        )
    start = _start(chain, multipliers, on_line)
    beside_rear = _beside(chain, multipliers, "front", fronts, on_line)
    beside_front = _beside(chain, multipliers, "rear", rears, on_line)
    driven = np.full(len(chain.drive), -np.inf)
    for here, own in zip(chain.drive.alike, laid, strict=True):
        of_tire = _most_of(own + beside_rear, chain.rear.tire, _tires(chain))
        driven = np.where(here, drives + of_tire[chain.drive.tire], driven)
    return RowBounds(start + fronts + beside_front, start + rears + beside_rear, start + driven)


def _start(chain: ChainProblem, multipliers: Multipliers, on_line: bool) -> float:
    """What every build begins with."""
    stance = multipliers.level.weight("stance") * FULL if on_line else 0.0
    charged = np.flatnonzero(multipliers.prices)
    return multipliers.level.start + stance + float(multipliers.prices[charged] @ chain.truck[charged])


def _driven(chain: ChainProblem, multipliers: Multipliers, case: MissingCase) -> tuple[Floats, list[Floats], Floats]:
    """Rear corners with ballast and drive; with ballast alone, for each set of drives that grip alike; drives."""
    level, loads, drive = multipliers.level, chain.loads, chain.drive
    rears = _corners(chain, chain.rear, multipliers, 1.0 - multipliers.split, case.rear)
    drives = level.weight("cruise") * drive.cruise - level.cent * drive.cents
    if multipliers.prices.any():
        drives = drives + drive.rooms @ multipliers.prices
    drives = _only(drives, drive.known, case.drive)
    line = ballast_line(chain.job, chain.slots, level, _charge(chain, multipliers))
    best, laid = np.full(len(rears), -np.inf), []
    for here, to_grip_g in zip(drive.alike, _to_grip_g(chain, case), strict=True):
        grip = np.full(len(loads.grams), drive.grip[here][0])
        on_load = line.best(loads.grams, grip, loads.most_g, to_grip_g)
        laid.append(rears + on_load[loads.of])
        of_tire = _most_of(drives[here], drive.tire[here], _tires(chain))
        best = np.maximum(best, laid[-1] + of_tire[chain.rear.tire])
    return best, laid, drives


def _to_grip_g(chain: ChainProblem, case: MissingCase) -> list[Floats]:
    """Rear load that ballast must bring for the wanted start, for each set of drives that grip alike and each load."""
    return chain.to_grip_g if case.is_weighed else [np.zeros(len(chain.loads.grams)) for _ in chain.drive.alike]


def _corners(chain: ChainProblem, side: AxleColumns, multipliers: Multipliers, split: float, which: Which) -> Floats:
    own = rates(multipliers)
    value: Floats = split * multipliers.level.weight("fit") * side.fit - multipliers.level.cent * side.mounting_cents
    for share in side.shares:
        value = value + share.best(own)
    return _only(value, side.known, which)


def _away(chain: ChainProblem, side: AxleColumns, multipliers: Multipliers) -> Floats:
    """Points that corners lose by their distance from the wanted stance; infinite where it is not known."""
    away = _per_um(chain, multipliers) * (side.lip_um + (0.0 if _wanted_um(chain) is None else 0.0 * side.diameter_um))
    return np.where(np.isnan(away), np.inf, away)


def _only(values: Floats, known: Mask, which: Which) -> Floats:
    if which == "any":
        return values
    return np.where(known if which == "known" else ~known, values, -np.inf)


def _beside(chain: ChainProblem, multipliers: Multipliers, name: str, values: Floats, on_line: bool) -> Floats:
    """Best value of an axle's corners beside each corner of the other axle."""
    own, other = (chain.front, chain.rear) if name == "front" else (chain.rear, chain.front)
    wanted = _wanted_um(chain) if on_line else None
    if chain.are_same:
        best = _most_of(values, own.link, _links(own, other))[other.link]
        return best if wanted is None else best - _per_um(chain, multipliers) * abs(wanted)
    if wanted is not None:
        fall = _per_um(chain, multipliers)
        nearest: Floats = np.maximum.reduce([near.best(values, fall) for near in chain.nearest[name]])
        return nearest
    best, of_any = _most_of(values, own.link + 1, _links(own, other) + 1), values.max(initial=-np.inf)
    return np.asarray(np.where(other.link == ANY, of_any, np.maximum(best[other.link + 1], best[0])))


@dataclass(frozen=True)
class Nearest:
    """The corners of an axle in the order of their sizes, link by link, and where each size that is wanted stands among
    them. Links stand apart by more than any value or size, so that one running maximum and one search do for all.
    """

    order: Codes
    sizes: Floats
    apart: Floats
    wanted: Floats
    place: Codes
    has_before: Mask
    has_after: Mask
    of: Codes
    is_open: Mask

    @staticmethod
    def among(sizes: Floats, links: Codes, rows: Mask, wanted: Floats, wanted_links: Codes, asked: Mask) -> Nearest:
        """The rows of an axle, and the sizes and links that rows of the other ask of them."""
        here = np.flatnonzero(rows & ~np.isnan(sizes))
        order = here[np.lexsort((sizes[here], links[here]))]
        at, link = sizes[order], links[order]
        codes: Floats = np.where(asked & ~np.isnan(wanted), np.nan_to_num(wanted) + _APART * wanted_links, np.nan)
        keys, of = np.unique(codes, return_inverse=True)
        place = np.searchsorted(at + _APART * link, keys, side="right")
        key_link = np.floor((keys + _APART / 2.0) / _APART)
        before, after = place > 0, place < len(at)
        before[before] = link[place[before] - 1] == key_link[before]
        after[after] = link[place[after]] == key_link[after]
        apart, size = np.asarray(_APART * link, dtype=float), keys - _APART * key_link
        return Nearest(order, at, apart, size, place, before, after, of.reshape(-1), np.isnan(codes))

    def best(self, values: Floats, fall: float) -> Floats:
        """Largest of value - fall x distance of its size from each wanted size, among those of its link; minus infinity
        where there is none or a size is not known.
        """
        best, own = np.full(len(self.place), -np.inf), values[self.order]
        if len(own):
            up = np.maximum.accumulate(own + fall * self.sizes + self.apart) - self.apart
            down = np.maximum.accumulate((own - fall * self.sizes - self.apart)[::-1])[::-1] + self.apart
            before, after = self.has_before, self.has_after
            best[before] = up[self.place[before] - 1] - fall * self.wanted[before]
            best[after] = np.maximum(best[after], down[self.place[after]] + fall * self.wanted[after])
        return np.where(self.is_open, -np.inf, best[self.of])


def _links(one: AxleColumns, other: AxleColumns) -> int:
    return int(max(one.link.max(initial=-1), other.link.max(initial=-1))) + 1


def _wanted_um(chain: ChainProblem) -> float | None:
    stance = criterion_of(chain.job, "stance")
    return stance.wanted if stance else None


def _per_um(chain: ChainProblem, multipliers: Multipliers) -> float:
    """Points that a micrometer away from the wanted stance takes away."""
    stance = criterion_of(chain.job, "stance")
    assert stance is not None
    return multipliers.level.weight("stance") * FULL / stance.ramp.zero


def _tires(chain: ChainProblem) -> int:
    return int(max(chain.rear.tire.max(initial=-1), chain.drive.tire.max(initial=-1))) + 1


def _most_of(values: Floats, group: Codes, count: int) -> Floats:
    """Largest value of each group; minus infinity where a group has none."""
    most = np.full(count, -np.inf)
    np.maximum.at(most, group, values)
    return most

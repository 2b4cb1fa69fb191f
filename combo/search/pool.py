"""Rows taken out of groups: those that a build can hold which is as good as the K-th best known.

The bound of a group holds for its best corner: the wheel and the tire of its classes that are worth most, and the
heaviest load on the rear axle. Any other part is below the best of its class by what it is worth less; so the
corners of a group that can still matter stand first among its wheels and tires in that order, and only those are ever
looked at.

Of parts that are alike in everything but SKU and price only the first K can matter: a build with any other is beaten by
K builds that differ from it in that part alone.
"""

from __future__ import annotations

import functools
import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from combo.arrays import each_once, firsts, repeated, times_before
from combo.bounds.chain import (
    KNOWN_CASE,
    AxleColumns,
    CaseMultipliers,
    ChainProblem,
    DriveColumns,
    MissingCase,
    Multipliers,
    PartColumns,
    Relaxation,
    ballast_rooms,
    filled,
    linked,
    loads_of,
    missing_cases,
    rates,
    tied,
    ties,
)
from combo.bounds.lagrangian import (
    conservative_multipliers,
    gate_multipliers,
    initial_multipliers,
    optimized_multipliers,
)
from combo.candidates.criteria import criterion_of
from combo.candidates.instance import equal_pairs
from combo.candidates.memo import Memo
from combo.candidates.objectives import GATE_SLACK, NO_CAPS, cap_of, gate_of, may_beat, without_points
from combo.candidates.slack import Rooms
from combo.candidates.space import TABLES, Gears, Space
from combo.checks.prices import most_beyond_cents
from combo.checks.rows import NO_SPACER, Index, Picks, moves_spare
from combo.deadline import Clock
from combo.formulas.axle import rear_share_kg
from combo.job import AXLES, Axle
from combo.search.filter import Corners, FilteredLists, Kinds

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Mask = NDArray[np.bool_]
_APART = 1e9
"""More points than any part is below the best of its class."""
CAUTION = (1.0 / 16.0, 0.25, 1.0, 4.0)
"""How much room is worth where builds that hold are rare, see `combo.bounds.lagrangian.conservative_multipliers`."""
_HEAVY_G, _LIGHT_G = 200.0, 2000.0
"""To what loads of groups are rounded, up and down: few different ones are quickly worked out."""
ROWS_TO_TELL = 100_000
"""Rows of an axle up to which every one of them is looked at by itself."""
ROWS_AT_ONCE = 4_000_000


@dataclass(frozen=True)
class Banned:
    """Wheels and tires that may not be used at each axle, by position."""

    wheels: Mapping[Axle, frozenset[int]]
    tires: Mapping[Axle, frozenset[int]]

    @property
    def key(self) -> tuple[frozenset[int], ...]:
        """What tells them from others."""
        return tuple(own[axle] for own in (self.wheels, self.tires) for axle in AXLES)


@dataclass(frozen=True)
class CandidateRows:
    """Rows of each table by the parts in them."""

    front: Picks
    rear: Picks
    drive: Gears

    def with_those_of(self, others: CandidateRows) -> CandidateRows:
        """These rows and others, each once."""
        return CandidateRows(
            _both(self.front, others.front), _both(self.rear, others.rear), _both(self.drive, others.drive)
        )


Positions = TypeVar("Positions", Picks, Gears)


def _both(one: Positions, other: Positions) -> Positions:
    return type(one)(*each_once(np.concatenate([_table_of(one), _table_of(other)])).T)


@dataclass(frozen=True)
class GroupBounds:
    """How the groups look in one case on each level and in its gate. `kept` is what was worked out of them."""

    case: MissingCase
    relaxations_by_level: tuple[Relaxation, ...]
    gate: Relaxation
    kept: Memo = field(default_factory=Memo, repr=False, compare=False)

    def seen_on(self, chain: ChainProblem) -> GroupBounds:
        """The same prices on another chain of the same checks, by its own levels."""
        relaxations_by_level = tuple(
            Relaxation.of(chain, replace(own.multipliers, level=level), self.case)
            for own, level in zip(self.relaxations_by_level, chain.levels, strict=True)
        )
        return GroupBounds(self.case, relaxations_by_level, Relaxation.of(chain, self.gate.multipliers, self.case))

    @property
    def views(self) -> list[Multipliers]:
        """The multipliers of each level, and last that of the gate."""
        return [*(own.multipliers for own in self.relaxations_by_level), self.gate.multipliers]

    @functools.cached_property
    def most(self) -> Mapping[str, Floats]:
        """The bound of each group of each table on each level, shape (groups, levels); -infinity beyond the gate."""
        found = {}
        for name in TABLES:
            levels = np.column_stack(
                [own.multipliers.level.clipped(own.through.of(name)) for own in self.relaxations_by_level]
            )
            found[name] = np.where((self.gate.through.of(name) < -GATE_SLACK)[:, np.newaxis], -np.inf, levels)
        return found

    def beside_best(self, axle: Axle, groups: Index, below: Floats) -> Floats:
        """Bounds of corners that are so far below the best of their groups, shape (n, levels)."""
        lines = np.column_stack([own.through.of(axle)[groups] for own in self.relaxations_by_level]) - below
        return np.column_stack(
            [own.multipliers.level.clipped(line) for own, line in zip(self.relaxations_by_level, lines.T, strict=True)]
        )

    def is_open(self, axle: Axle, groups: Index, below: Floats) -> Mask:
        """Which corners the gate lets through, that are so far below the best of their groups in it."""
        open_: Mask = self.gate.through.of(axle)[groups] - below[:, -1] >= -GATE_SLACK
        return open_


class CandidatePool:
    """The groups of a job with their bounds, case by case."""

    def __init__(
        self, reduced: FilteredLists, like: CandidatePool | None = None, caps: Mapping[str, float] = NO_CAPS
    ) -> None:
        self.reduced, self.least_rooms, most_g = _with_room(reduced)
        self.chain, self.caps = _chain_of_groups(self.reduced, most_g), caps
        self._known_left = Memo()
        self.bounds_by_case: list[GroupBounds] = (
            self._first_bounds() if like is None else [own.seen_on(self.chain) for own in like.bounds_by_case]
        )

    def _first_bounds(self) -> list[GroupBounds]:
        gate = gate_of(self.chain.job, self.chain.levels[-1], self.reduced.allowed)
        return [
            GroupBounds(
                case,
                tuple(initial_multipliers(self.chain, level, case) for level in self.chain.levels),
                initial_multipliers(self.chain, gate, case),
            )
            for case in missing_cases(self.chain)
        ]

    def without(self, banned: Banned) -> CandidatePool:
        """The pool of the groups that are left without some parts, under the same multipliers."""
        corners = dict(self.reduced.corners)
        for axle in AXLES:
            for kind, parts in (("wheel", banned.wheels[axle]), ("tire", banned.tires[axle])):
                gone = np.zeros(len(self.reduced.parts.of_kind(kind)), dtype=bool)
                gone[sorted(parts)] = True
                corners[axle] = corners[axle].without(kind, gone) if parts else corners[axle]
        return CandidatePool(replace(self.reduced, corners=corners), self, self.caps)

    def capped(self, least: Ints) -> CandidatePool:
        """The pool in which costs and masses are bounded by what a build of at least these levels may have, see
        `combo.candidates.objectives.cap_of`; itself where that tells nothing new (bound tightening).
        """
        job, level, caps = self.chain.job, self.chain.levels[0], dict(self.caps)
        for name in ("cost", "weight"):
            criterion = criterion_of(job, name)
            if criterion is None or level.is_clipped or not level.weight(name):
                continue
            views = [
                replace(own.relaxations_by_level[0].multipliers, level=without_points(level, name))
                for own in self.bounds_by_case
            ]
            most = max(
                Relaxation.of(self.chain, multipliers, own.case).through.most()
                for multipliers, own in zip(views, self.bounds_by_case, strict=True)
            )
            cap = cap_of(job, level, name, float(least[0]), most)
            if cap < caps.get(criterion.total, np.inf):
                caps[criterion.total] = cap
        reduced = self.reduced.capped(caps)
        if reduced.levels == self.reduced.levels:
            return self
        return CandidatePool(reduced, self, caps)

    def sharpen(self, least: Ints | None, clock: Clock) -> None:
        """Look for closer bounds in the cases that have builds beyond what is known; where no K builds are, for a
        closer gate first.
        """
        goals = self._least(least)
        if least is None:
            self.bounds_by_case = [
                group_bounds if clock.is_over() else self._with_gate_optimized(group_bounds)
                for group_bounds in self.bounds_by_case
            ]
        self.bounds_by_case = [
            group_bounds if clock.is_over() else self._optimized(group_bounds, goals)
            for group_bounds in self.bounds_by_case
        ]

    def most(self) -> float:
        """What no build exceeds on the first level."""
        return max(float(group_bounds.most["rear"][:, 0].max(initial=0.0)) for group_bounds in self.bounds_by_case)

    def _with_gate_optimized(self, group_bounds: GroupBounds) -> GroupBounds:
        return GroupBounds(
            group_bounds.case,
            group_bounds.relaxations_by_level,
            optimized_multipliers(self.chain, group_bounds.gate, group_bounds.case, -GATE_SLACK - 1.0),
        )

    def relaxations(self) -> tuple[CaseMultipliers, ...]:
        """What is known of each case."""
        return tuple(
            CaseMultipliers(
                own.case, tuple(relaxation.multipliers for relaxation in own.relaxations_by_level), own.gate.multipliers
            )
            for own in self.bounds_by_case
        )

    def _optimized(self, group_bounds: GroupBounds, goals: Floats) -> GroupBounds:
        """The bounds with closer bounds on the first level, and on each next one while rows tie on those before."""
        beyond = group_bounds.most["rear"] - goals
        if not may_beat(beyond).any():
            return group_bounds
        ties, relaxations_by_level = np.ones(len(beyond), dtype=bool), []
        for at, (own, goal) in enumerate(zip(group_bounds.relaxations_by_level, goals, strict=True)):
            relaxations_by_level.append(
                optimized_multipliers(self.chain, own, group_bounds.case, float(goal)) if ties.any() else own
            )
            ties &= np.abs(beyond[:, at]) <= 1.0
        return GroupBounds(group_bounds.case, tuple(relaxations_by_level), group_bounds.gate)

    def promising(self, size: int, count: int, banned: Banned) -> CandidateRows:
        """About `size` of the rows with the highest bounds of each table."""
        return self._best_rows(self.bounds_by_case, size, count, banned)

    def conservative_multipliers(self, size: int, count: int, banned: Banned) -> CandidateRows:
        """About as many rows of each table that are good and leave room in whole-build checks, more and less of it."""
        known, level, found = self.bounds_by_case[0], self.chain.levels[0], []
        for share in CAUTION:
            for multipliers in (
                conservative_multipliers(self.chain, level, share),
                gate_multipliers(level, known.gate.multipliers, share),
            ):
                first = Relaxation.of(self.chain, multipliers, KNOWN_CASE)
                group_bounds = GroupBounds(KNOWN_CASE, (first, *known.relaxations_by_level[1:]), known.gate)
                found.append(self._best_rows([group_bounds], size // len(CAUTION), count, banned))
        return functools.reduce(CandidateRows.with_those_of, found)

    def _best_rows(self, bounds_by_case: list[GroupBounds], size: int, count: int, banned: Banned) -> CandidateRows:
        most = {
            axle: _first(np.concatenate([group_bounds.most[axle] for group_bounds in bounds_by_case]), size)
            for axle in AXLES
        }
        return self._rows(bounds_by_case, most, count, banned, size)

    def reaching(self, least: Ints | None, count: int, banned: Banned) -> CandidateRows:
        """Every row that a build can hold whose first levels are no worse than `least`; without it, every row."""
        return self._rows(self.bounds_by_case, dict.fromkeys(AXLES, self._least(least)), count, banned, None)

    def has_in_reach(self, least: Ints | None) -> bool:
        """Whether groups of every table can reach this."""
        goals = self._least(least)
        return any(
            all(may_beat(most - goals).any() for most in group_bounds.most.values())
            for group_bounds in self.bounds_by_case
        )

    def size_in_reach(self, least: Ints | None, count: int, banned: Banned) -> int:
        """No axle has more corners in reach than this."""
        return max(self._sizes_in_reach(least, count, banned).values())

    def pairs_in_reach(self, least: Ints | None, count: int, banned: Banned) -> int:
        """No more pairs of corners are in reach than this."""
        sizes = self._sizes_in_reach(least, count, banned).values()
        return max(sizes) if self.chain.are_same else math.prod(sizes)

    def _sizes_in_reach(self, least: Ints | None, count: int, banned: Banned) -> dict[Axle, int]:
        sizes = dict.fromkeys(AXLES, 0)
        for group_bounds in self.bounds_by_case:
            for axle in AXLES:
                if which := self._in_reach(group_bounds, axle, self._least(least), None):
                    wheels, tires = (
                        self._members(group_bounds, axle, kind, count, banned) for kind in ("wheel", "tire")
                    )
                    own = self.reduced.corners[axle]
                    each = wheels.within(own.wheel[which.groups], which.allowed, None)
                    sizes[axle] += int((each * tires.within(own.tire[which.groups], which.allowed, None)).sum())
        return sizes

    def _least(self, least: Ints | None) -> Floats:
        """Levels to reach: without K builds known, no points at all, at any cost."""
        if least is not None:
            return least.astype(float)
        return np.array([0.0 if level.weights else -np.finfo(float).max for level in self.chain.levels])

    def _rows(
        self,
        bounds_by_case: list[GroupBounds],
        least: Mapping[Axle, Floats],
        count: int,
        banned: Banned,
        size: int | None,
    ) -> CandidateRows:
        found: dict[Axle, tuple[Picks, Floats]] = {}
        for axle in AXLES:
            own = [
                self._corners(group_bounds, axle, least[axle], count, banned, size) for group_bounds in bounds_by_case
            ]
            found[axle] = _all_of([picks for picks, _ in own]), np.concatenate([most for _, most in own])
        (front, front_most), (rear, rear_most) = found["front"], found["rear"]
        if self.chain.are_same:
            front, rear = _with_the_same(front, rear, front_most, size)
        elif size is not None:
            front, rear = _first_rows(front, front_most, size), _first_rows(rear, rear_most, size)
        front, rear = _distinct(front), _distinct(rear)
        drive = self._drives(bounds_by_case, least["rear"], rear.tire, size)
        return CandidateRows(front, _picked(rear, np.isin(rear.tire, drive.tire)), drive)

    def _in_reach(self, group_bounds: GroupBounds, axle: Axle, least: Floats, size: int | None) -> _InReach | None:
        most = group_bounds.most[axle]
        groups = np.flatnonzero(may_beat(most - least))
        if size is not None and len(groups) > 4 * size:
            groups = groups[np.lexsort((-most[groups]).T[::-1])[: 4 * size]]
        if not len(groups):
            return None
        key = _key_level(group_bounds)
        allowed = _allowed(most[groups] - least, key)
        is_free = np.isneginf(group_bounds.relaxations_by_level[key].multipliers.level.least(least[key]))
        return _InReach(groups, np.full(len(groups), np.inf) if is_free else allowed)

    def _corners(
        self, group_bounds: GroupBounds, axle: Axle, least: Floats, count: int, banned: Banned, size: int | None
    ) -> tuple[Picks, Floats]:
        """Corners in reach in a case, and their bounds."""
        own, which, level = (
            self.reduced.corners[axle],
            self._in_reach(group_bounds, axle, least, size),
            _key_level(group_bounds),
        )
        found: list[Picks] = [_no_picks()]
        mosts = [np.zeros((0, len(least)))]
        if which is None:
            return found[0], mosts[0]
        wheels, tires = (self._members(group_bounds, axle, kind, count, banned) for kind in ("wheel", "tire"))
        n_wheels = wheels.within(own.wheel[which.groups], which.allowed, size)
        n_tires = tires.within(own.tire[which.groups], which.allowed, size)
        for some in _portions(n_wheels * n_tires):
            at, wheel_at, tire_at = _products(n_wheels[some], n_tires[some])
            group = which.groups[some][at]
            wheel, tire = wheels.part(own.wheel[group], wheel_at), tires.part(own.tire[group], tire_at)
            below = wheels.below[wheel] + tires.below[tire]
            right = own.mounted[wheel, own.spacer[group]] & (below[:, level] <= which.allowed[some][at])
            right &= group_bounds.is_open(axle, group, below)
            for rooms, least_room in zip(self.reduced.rooms, self.least_rooms[axle], strict=True):
                right &= rooms.of_corners(axle, wheel, tire, own.spacer[group]) >= least_room
            group, wheel, tire = group[right], wheel[right], tire[right]
            most = group_bounds.beside_best(axle, group, below[right, :-1])
            keep = may_beat(most - least)
            found.append(Picks(wheel[keep], tire[keep], own.spacer[group][keep] + NO_SPACER))
            mosts.append(most[keep])
        return _all_of(found), np.concatenate(mosts)

    def _members(self, group_bounds: GroupBounds, axle: Axle, kind: str, count: int, banned: Banned) -> _Members:
        """Parts of a kind by class and by how far they are below the best of it; of duplicates only the first `count`.

        Where wheel and tire are the same all round, a part counts at both axles.
        """
        both = AXLES if self.chain.are_same else (axle,)

        def make() -> _Members:
            sides = [self._side(one, kind) for one in both]
            below = functools.reduce(np.add, (_below(side, group_bounds.views) for side in sides))
            left = np.flatnonzero(self._left(both, kind, count, banned))
            return _members(sides[0].of, left, below, _key_level(group_bounds))

        return group_bounds.kept.of((both, kind, count, banned.key), make)

    def _left(self, both: tuple[Axle, ...], kind: str, count: int, banned: Banned) -> Mask:
        """Parts of a kind that are left at these axles and may be used; of duplicates the first `count` and one more.

        A twin may save a cent of tax beside its like at the other axle: as one line, or as two. So one more is kept,
        one for each that the other axle may not have, and those that it must.
        """

        def make() -> Mask:
            sides = [self._side(one, kind) for one in both]
            left: Mask = np.logical_and.reduce([side.left for side in sides])
            left[list({at for one in both for at in getattr(banned, f"{kind}s")[one]})] = False
            several = count + 1 + sum(len(own) for own in getattr(banned, f"{kind}s").values())
            first = _first_duplicates(self.reduced.duplicates[kind], sides, left, self.reduced.sku_order[kind], several)
            first[self._pinned(kind)] = True
            return left & first

        return self._known_left.of((both, kind, count, banned.key), make)

    def _pinned(self, kind: str) -> list[int]:
        """Parts of a kind that an axle must have."""
        pinned = self.reduced.allowed.pinned.parts
        return sorted({at for axle in AXLES for at in pinned.get((axle, kind), frozenset()) if at >= 0})

    def _side(self, axle: Axle, kind: str) -> Kinds:
        found: Kinds = getattr(self.reduced.corners[axle], f"{kind}s")
        return found

    def _drives(self, bounds_by_case: list[GroupBounds], least: Floats, tires: Index, size: int | None) -> Gears:
        """Drives in reach on the tires of the rear corners."""
        drives = self.reduced.drives
        most = np.maximum.reduce([group_bounds.most["drive"] for group_bounds in bounds_by_case])
        in_reach = np.logical_or.reduce(
            [may_beat(group_bounds.most["drive"] - least) for group_bounds in bounds_by_case]
        )
        groups = np.flatnonzero(in_reach) if size is None else np.arange(len(drives.tire))
        own = np.unique(tires)
        of = self.reduced.corners["rear"].tires.of[own]
        at, place = equal_pairs(drives.tire[groups], of)
        tire = own[place]
        ratio, differential = drives.ratio[groups][at], drives.differential[groups][at]
        if size is not None and len(tire) > size * 8:
            best = np.lexsort((-most[groups][at]).T[::-1])[: size * 8]
            tire, ratio, differential = tire[best], ratio[best], differential[best]
        return Gears(tire, ratio, differential)


@dataclass(frozen=True)
class _InReach:
    """Groups in reach, and how far below the best of its group a corner can be and still be in reach."""

    groups: Index
    allowed: Floats


@dataclass(frozen=True)
class _Members:
    """Parts sorted by class and by how far they are below the best of it; `below` is by part and level."""

    parts: Index
    key: Floats
    start: Index
    below: Floats

    def within(self, classes: Index, points: Floats, most: int | None) -> Ints:
        """How many parts of each class are no more below the best of it; no more than `most`."""
        far = classes * _APART + np.minimum(points, _APART / 2.0)
        size: Ints = np.maximum(np.searchsorted(self.key, far, side="right") - self.start[classes], 0)
        return size if most is None else np.minimum(size, most)

    def part(self, classes: Index, at: Index) -> Index:
        """The part at a place in each class."""
        parts: Index = self.parts[self.start[classes] + at]
        return parts


NO_BAN = Banned(dict.fromkeys(AXLES, frozenset()), dict.fromkeys(AXLES, frozenset()))


def rows_left(reduced: FilteredLists) -> Space | None:
    """Every row that a build could hold; None where there are more than can be told one by one."""
    field = CandidatePool(reduced)
    every = len(reduced.parts.wheels) + len(reduced.parts.tires)
    if field.size_in_reach(None, every, NO_BAN) > ROWS_TO_TELL:
        return None
    return space_at(reduced, field.reaching(None, every, NO_BAN))


def space_at(reduced: FilteredLists, rows: CandidateRows) -> Space:
    """The rows as a space: tables with every column."""
    front, rear, drive = (reduced.tables.of(name, _table_of(getattr(rows, name))) for name in TABLES)
    return Space(
        reduced.job,
        front,
        rear,
        drive,
        reduced.slots,
        reduced.removed,
        reduced.rooms,
        reduced.shifts,
        reduced.levels,
        reduced.allowed,
        reduced.rules,
        reduced.starts,
        most_beyond_cents(reduced.job, reduced.parts),
    )


def _table_of(rows: Picks | Gears) -> Ints:
    return np.column_stack([getattr(rows, name) for name in rows.__dataclass_fields__])


def _key_level(group_bounds: GroupBounds) -> int:
    """The first level on which parts of a class differ: on that of the cost at the latest."""
    return [bool(rates(own.multipliers).any()) for own in group_bounds.relaxations_by_level].index(True)


def _below(side: Kinds, views: Sequence[Multipliers]) -> Floats:
    """How far each part is below the best of its class under some multipliers [points], shape (parts, multipliers)."""
    return np.column_stack([_below_in(side, multipliers) for multipliers in views])


def _below_in(side: Kinds, multipliers: Multipliers) -> Floats:
    of_view, below = rates(multipliers), np.zeros(len(side.of))
    used, left = np.flatnonzero(of_view), np.flatnonzero(side.left)
    sizes = side.sizes[np.ix_(left, used)]
    worth = np.zeros(len(side.of))
    worth[left] = np.where(np.isfinite(sizes), sizes, 0.0) @ of_view[used]
    below[left] = np.maximum(side.most(worth)[side.of[left]] - worth[left], 0.0)
    return below


def _members(of: Index, parts: Index, below: Floats, level: int) -> _Members:
    key = of[parts] * _APART + np.minimum(below[parts, level], _APART / 4.0)
    order = np.argsort(key, kind="stable")
    start = np.searchsorted(of[parts][order], np.arange(int(of.max(initial=-1)) + 2))
    return _Members(parts[order], key[order], start, below)


def _first(most: Floats, size: int) -> Floats:
    """Levels that about `size` groups reach."""
    hopeful = np.flatnonzero(np.isfinite(most).all(axis=1))
    if not len(hopeful):
        return np.full(most.shape[1], -np.finfo(float).max)
    order = hopeful[np.lexsort((-most[hopeful]).T[::-1])]
    return np.asarray(most[order[min(size, len(order)) - 1]])


def _first_duplicates(duplicates: Index, sides: list[Kinds], left: Mask, sku_order: Index, count: int) -> Mask:
    """The first `count` of the parts left of each set of duplicates, by cost and SKU."""
    kept = np.zeros(len(left), dtype=bool)
    parts = np.flatnonzero(left)
    cents = np.sum([side.cents[parts] for side in sides], axis=0)
    order = parts[np.lexsort((sku_order[parts], cents, duplicates[parts]))]
    kept[order[times_before(duplicates[order]) < count]] = True
    return kept


def _allowed(beyond: Floats, level: int) -> Floats:
    """How far below the best of each group a corner can be on a level; `beyond` is bound less least.

    A group that is better on an earlier level has no limit here.
    """
    better = np.zeros(len(beyond), dtype=bool)
    for earlier in range(level):
        better |= beyond[:, earlier] > 1.0
    return np.where(better, np.inf, np.maximum(beyond[:, level] + 1.0, 0.0))


def _products(ones: Ints, others: Ints) -> tuple[Index, Index, Index]:
    """Places of a product of two ranges for each entry: which entry, and the place in either range."""
    at, step = repeated(ones * others)
    return at, step // np.maximum(others[at], 1), step % np.maximum(others[at], 1)


def _portions(sizes: Ints) -> list[slice]:
    """Slices of entries whose sizes add up to what may be worked on at once."""
    portion = np.cumsum(sizes) // ROWS_AT_ONCE
    cuts = np.flatnonzero(np.diff(portion)) + 1
    ends = [0, *cuts.tolist(), len(sizes)]
    return [slice(one, other) for one, other in itertools.pairwise(ends) if other > one]


def _first_rows(picks: Picks, most: Floats, size: int) -> Picks:
    return _picked(picks, np.sort(np.lexsort((-most).T[::-1])[:size]))


def _no_picks() -> Picks:
    none = np.zeros(0, dtype=np.int64)
    return Picks(none, none, none)


def _all_of(several: list[Picks]) -> Picks:
    return Picks(*(np.concatenate([getattr(one, name) for one in several]) for name in ("wheel", "tire", "spacer")))


def _distinct(picks: Picks) -> Picks:
    return _both(picks, _no_picks())


def _picked(picks: Picks, at: Index | Mask) -> Picks:
    return Picks(picks.wheel[at], picks.tire[at], picks.spacer[at])


def _with_the_same(front: Picks, rear: Picks, most: Floats, size: int | None) -> tuple[Picks, Picks]:
    """Corners whose wheel and tire stand at both axles; of the first `size` such pairs."""
    width = int(max(front.tire.max(initial=0), rear.tire.max(initial=0))) + 1
    ours, theirs = front.wheel * width + front.tire, rear.wheel * width + rear.tire
    right = np.isin(ours, theirs)
    front, ours, most = _picked(front, right), ours[right], most[right]
    if size is not None and len(ours):
        order = np.lexsort((-most).T[::-1])
        _, first = np.unique(ours[order], return_index=True)
        ours_kept = ours[order[np.sort(first)[:size]]]
        keep = np.isin(ours, ours_kept)
        front, ours = _picked(front, keep), ours[keep]
    return front, _picked(rear, np.isin(theirs, ours))


def _with_room(reduced: FilteredLists) -> tuple[FilteredLists, dict[Axle, list[float]], Floats]:
    """Groups that leave room in every whole-build check beside what helps most; the least that a corner of each axle
    must bring to each check; and the most rear load that ballast may bring to each rear group [g].
    """
    least: dict[Axle, list[float]] = {axle: [] for axle in AXLES}
    corners, most = dict(reduced.corners), np.full(len(reduced.corners["rear"]), np.inf)
    for own, of_drives in zip(reduced.rooms, reduced.drives.rooms.T, strict=True):
        drive = float(of_drives.max(initial=-np.inf))
        room = {axle: _group_room(own, axle, side) for axle, side in corners.items()}
        best = {axle: float(each.max(initial=-np.inf)) for axle, each in room.items()}
        most = np.minimum(most, own.ballast_g(best["front"], room["rear"], drive))
        for axle, other in zip(AXLES, reversed(AXLES), strict=True):
            needed = -(own.truck + own.ballast.most + best[other] + drive) - own.slack
            least[axle].append(needed)
            keep = room[axle] >= needed
            corners[axle] = corners[axle].take(keep)
            most = most[keep] if axle == "rear" else most
    return replace(reduced, corners=corners), least, np.ceil(most / _LIGHT_G) * _LIGHT_G


def _group_room(own: Rooms, axle: Axle, side: Corners) -> Floats:
    """The most room that a corner of each group brings to a check."""
    wheels, tires = side.wheels, side.tires
    corners = wheels.most(own.parts[axle, "wheel"])[side.wheel] + tires.most(own.parts[axle, "tire"])[side.tire]
    return np.asarray(corners + own.parts[axle, "spacer"][side.spacer])


def _chain_of_groups(reduced: FilteredLists, most_g: Floats) -> ChainProblem:
    job, same = reduced.job, reduced.job.job.same_all_round
    front, rear = tied(*(_side(own, link) for own, link in zip(reduced.corners.values(), _links(reduced), strict=True)))
    rear_g, truck_g = _heaviest_g(reduced, reduced.corners["rear"])
    loads = loads_of(job, rear_g, truck_g, _lightest_g(reduced.corners["front"]), most_g)
    own = reduced.drives
    drive = DriveColumns(
        own.cents,
        own.cruise,
        own.grip,
        own.share,
        own.preload_kg,
        own.road_share,
        own.road_preload_kg,
        own.rooms,
        own.tire,
    )
    truck = np.array([rooms.truck + rooms.slack for rooms in reduced.rooms])
    return filled(
        ChainProblem(
            reduced.allowed.in_job(job),
            reduced.slots,
            reduced.levels,
            front,
            rear,
            loads,
            drive,
            truck,
            ballast_rooms(reduced.rooms, reduced.slots),
            same,
        )
    )


def _links(reduced: FilteredLists) -> tuple[Ints, Ints]:
    """What ties the groups of both axles: classes of wheel and tire, or what pair checks want to be the same."""
    sides, columns = [reduced.corners[axle] for axle in AXLES], ties(reduced.job, reduced.allowed)
    if reduced.job.job.same_all_round:
        width = max(len(own.tires.of) for own in sides) + 1
        front, rear = (own.wheel * width + own.tire for own in sides)
        return front, rear
    if not columns:
        front, rear = (np.zeros(len(own), dtype=np.int64) for own in sides)
        return front, rear
    of_sides = []
    for own in sides:
        first = {"wheel": firsts(own.wheels.of)[own.wheel], "tire": firsts(own.tires.of)[own.tire]}
        of_sides.append(
            [
                reduced.parts.of_kind(kind)[name].to_numpy()[first[kind]]
                for kind, _, name in (column.partition(".") for column in columns)
            ]
        )
    return linked(*of_sides)


def _side(own: Corners, link: Ints) -> AxleColumns:
    """The best corner of each group, whatever is asked of it: the best wheel with the best tire."""
    kinds = ((own.wheels, own.wheel), (own.tires, own.tire), (own.spacers, own.spacer))
    shares = tuple(_share(kind, at) for kind, at in kinds)
    known = np.logical_and.reduce([_known_classes(kind)[at] for kind, at in kinds])
    return AxleColumns(shares, own.fit, own.mounting_cents, own.lip_um, own.diameter_um, known, link, own.tire)


def _share(kind: Kinds, at: Index) -> PartColumns:
    return PartColumns(kind.sizes[kind.left], kind.of[kind.left], at)


def _known_classes(kind: Kinds) -> Mask:
    """Whether the mass of the parts of each class is known: of all or of none."""
    known = np.ones(int(kind.of.max(initial=-1)) + 1, dtype=bool)
    known[kind.of] = ~np.isnan(kind.grams)
    return known


def _heaviest_g(reduced: FilteredLists, own: Corners) -> tuple[Floats, Floats]:
    """Most that a corner of each rear group brings to the rear axle, the spare with it, and the least that the lightest
    of it brings to the truck; NaN where it is not known.
    """
    job = reduced.job
    kinds = ((own.wheels, own.wheel), (own.tires, own.tire))
    heavy, light = (
        np.sum([sign * kind.most(sign * kind.grams)[at] for kind, at in kinds], axis=0) for sign in (1.0, -1.0)
    )
    unknown = ~(np.isfinite(heavy) & np.isfinite(own.spacers.grams[own.spacer]))
    heavy, light = (np.where(unknown, 0.0, size) + own.spacers.grams[own.spacer] for size in (heavy, light))
    if moves_spare(job):
        wheels = [(size - own.spacers.grams[own.spacer]) / 2.0 for size in (heavy, light)]
        most, least = (np.asarray(rear_share_kg(size, job.spare.station_mm, job.truck.wheelbase_mm)) for size in wheels)
        heavy, light = heavy + np.ceil(np.maximum(most, least)) + 1.0, light + wheels[1]
    heavy, light = np.ceil(heavy / _HEAVY_G) * _HEAVY_G, np.floor(light / _LIGHT_G) * _LIGHT_G
    return np.where(unknown, np.nan, heavy), np.where(unknown, np.nan, light)


def _lightest_g(front: Corners) -> float:
    """The least that a front corner weighs; 0 where that is not known."""
    kinds = ((front.wheels, front.wheel), (front.tires, front.tire), (front.spacers, front.spacer))
    light = np.sum([-kind.most(-kind.grams)[at] for kind, at in kinds], axis=0)
    return float(light.min()) if len(light) and np.isfinite(light).all() else 0.0

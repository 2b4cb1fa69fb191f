"""Exact first K builds of a space: rows joined into bare builds, ballast laid out, only what can reach the K-th best.

A *bare build* is a front corner, a rear corner and a drive; a *layout* is a count for each ballast slot. Both are met
in the order of their bounds. As soon as K builds are known, a bare build or a layout whose bound is below the K-th
best cannot be in the answer, and is left out. What is left is evaluated in whole numbers, exactly as it is shown.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from combo.arrays import each_once, every_pair, numbered_rows, numbered_values, times_before
from combo.bounds.chain import CaseMultipliers, chain_of, corner_links, corner_values, stances
from combo.bounds.grade_cuts import GRIPS, ballast_to_grip_g
from combo.candidates.builds import (
    BuildRows,
    Sums,
    SumsAt,
    ballast_sums,
    bare_sums,
    beyond_sums,
    first_levels,
    graded,
    holds,
    keys,
    no_builds,
    pairing_of,
    row_points,
    sorted_by_key,
    weighed,
    whole_sums,
)
from combo.candidates.criteria import RowPoints, criteria_of, points
from combo.candidates.instance import equal_pairs
from combo.candidates.objectives import (
    GATE_SLACK,
    ObjectiveBound,
    ballast_line,
    may_beat,
    most_rear_g,
    slot_loss,
    traction_worth,
)
from combo.candidates.slack import worst_ballast
from combo.candidates.space import TABLES, Space
from combo.checks.check import is_accepted
from combo.checks.table import Given
from combo.checks.totals import OF_WHOLE
from combo.deadline import Clock

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

FEW_PAIRS = 1_000
"""Pairs of corners up to which it costs little to look at all of their bare builds."""
CELLS, CELLS_TO_HOLD = 100_000, 2_000_000
"""Bare builds times layouts that are bounded in one go; and those of which the best are asked whether they hold."""
AT_ONCE = 2_000_000
"""Combinations of rows that are looked at in one go."""
CELLS_AT_FIRST = 2_000
"""The best of these that are asked at first whether they hold, and four times more each time that K do not."""
SUM_SLACK = 0.01
"""What sums of floats may lack of a whole-build check that holds."""
FEW = 16
"""Bare builds that are evaluated at first where any will do, and how many times more each time that none is found."""
BARE_AT_ONCE = 300_000
"""Bare builds that are kept at once: some 100 MB."""
PAIRS_TO_TRY = 10_000
"""Pairs of corners at most that are joined in search of good builds."""
WORTH_BOUNDS = 10_000
"""Pairs of corners beyond which they are bounded before they are joined."""
LAYOUTS_AT_ONCE = 50_000
"""Layouts beyond which they are filled up further in portions."""
MANY_LAYOUTS_LOG10 = 16.0
"""Beyond so many counts of all slots, as a power of ten, layouts are not listed in search of a first build."""
CLIMBERS = 64
"""Bare builds on which better layouts are tried."""
GRID = 1024
"""Steps of rear load in which the worth of ballast is tabled; a coarser grid only leaves more layouts to evaluate."""


@dataclass
class Incumbents:
    """The first K builds found so far, in order, with their keys. `floor` are first levels that a build must reach to
    be of any interest.
    """

    space: Space
    count: int
    builds: BuildRows
    key: Ints
    levels: int
    floor: Ints | None

    def add(self, builds: BuildRows) -> None:
        """Take in more builds that hold."""
        both = BuildRows.join([self.builds, builds])
        both, key = sorted_by_key(both, keys(self.space, both))
        at = np.flatnonzero(_few_layouts(both, self.space.job.shortlist.max_layouts))[: self.count]
        self.builds, self.key = both.take(at), key[at]

    def is_full(self) -> bool:
        """Whether K builds are known."""
        return len(self.builds) == self.count

    def bound(self) -> Ints | None:
        """First levels that a build must reach to be listed; None while every build is of interest."""
        return self.key[-1, : self.levels] if self.is_full() else self.floor

    def least(self, bare: BuildRows) -> Ints:
        """First levels that a build of each bare build must at least have to be listed, shape (n, levels).

        Those of the K-th best; or, where layouts of the same parts are limited and as many of a bare build's are
        known, those of its own last one, if they are better.
        """
        bound = self.bound()
        assert bound is not None
        least = np.tile(bound, (len(bare), 1))
        if not self.is_full():
            return least
        most = self.space.job.shortlist.max_layouts
        if most is not None:
            times: dict[tuple[int, ...], int] = {}
            last: dict[tuple[int, ...], Ints] = {}
            for parts, key in zip(self.builds.table()[:, :3].tolist(), self.key, strict=True):
                times[tuple(parts)] = times.get(tuple(parts), 0) + 1
                if times[tuple(parts)] == most:
                    last[tuple(parts)] = key[: self.levels]
            for at, parts in enumerate(bare.table()[:, :3].tolist()):
                least[at] = last.get(tuple(parts), least[at])
        return least


def _few_layouts(builds: BuildRows, most: int | None) -> Mask:
    """Builds in order, without those whose bare build stands before with as many layouts as may be listed."""
    if most is None:
        return np.ones(len(builds), dtype=bool)
    return np.asarray(times_before(numbered_rows(builds.table()[:, :3])[0]) < most)


@dataclass(frozen=True)
class BaseBuilds:
    """Bare builds, what they bring, their bound on each level, and between what the rear load of their ballast lies by
    what else they must hold.
    """

    builds: BuildRows
    sums: Sums
    rows: RowPoints
    bounds: Floats
    least_g: Floats
    most_g: Floats

    @staticmethod
    def join(several: list[BaseBuilds]) -> BaseBuilds:
        """All bare builds of several."""
        builds = BuildRows(
            *(
                np.concatenate([getattr(one.builds, name) for one in several])
                for name in ("front", "rear", "drive", "counts")
            )
        )
        sums = {name: np.concatenate([one.sums[name] for one in several]) for name in several[0].sums}
        rows = RowPoints(
            *(
                np.concatenate([getattr(one.rows, name) for one in several])
                for name in ("fit", "cruise", "grip", "front_grip")
            )
        )
        bounds, least_g, most_g = (
            np.concatenate([getattr(one, name) for one in several]) for name in ("bounds", "least_g", "most_g")
        )
        return BaseBuilds(builds, sums, rows, bounds, least_g, most_g)

    def take(self, at: Ints | Mask) -> BaseBuilds:
        sums = {name: own[at] for name, own in self.sums.items()}
        return BaseBuilds(
            self.builds.take(at), sums, self.rows.at(at), self.bounds[at], self.least_g[at], self.most_g[at]
        )


def good_builds(
    space: Space,
    count: int,
    clock: Clock,
    known: BuildRows,
    floor: Ints | None = None,
    relaxations: Sequence[CaseMultipliers] = (),
    *,
    any_will_do: bool = False,
) -> BuildRows:
    """Builds of a space that hold, the best of those that simple layouts and their neighbors give; `known` among them.
    With `any_will_do` as many as are asked for end the search.
    """
    best = _best_of(space, count, known, floor)
    for bare in _bare_builds(space, best, clock, relaxations, PAIRS_TO_TRY):
        _improve(space, bare, best, clock, any_will_do=any_will_do)
        if any_will_do and best.is_full():
            break
    return best.builds


def first_builds(
    space: Space,
    count: int,
    clock: Clock,
    known: BuildRows,
    floor: Ints | None = None,
    relaxations: Sequence[CaseMultipliers] = (),
    *,
    any_will_do: bool = False,
) -> BuildRows:
    """The first `count` builds of a space in order; with the clock run out, the best found by then.

    `known` are builds of the space that are known to hold; builds whose first levels are worse than `floor` are left
    out. With `any_will_do` as many as are asked for end the search.
    """
    best = _best_of(space, count, known, floor)
    for bare in _bare_builds(space, best, clock, relaxations):
        _lay(space, bare, best, clock, any_will_do=any_will_do)
        if any_will_do and best.is_full():
            break
    return best.builds


def _lay(space: Space, bare: BaseBuilds, best: Incumbents, clock: Clock, *, any_will_do: bool) -> None:
    """The best of these bare builds with every layout, but where any will do and enough are known."""
    if not best.is_full():
        _improve(space, bare, best, clock, any_will_do=any_will_do)
    if any_will_do and best.is_full():
        return
    if best.bound() is None:
        for layouts in _layouts(space, bare, best, clock):
            _try(space, bare, layouts, best, clock, until_full=True)
            if best.is_full():
                break
    bare = _in_reach(bare, best)
    if best.bound() is not None:
        for layouts in _layouts(space, bare, best, clock):
            _try(space, bare, layouts, best, clock, until_full=False)


def has_many_layouts(slots: Given) -> bool:
    """Whether ballast may lie in so many ways that a first build is better looked for without listing them."""
    return float(np.log10(slots["slot.most"] + 1.0).sum()) > MANY_LAYOUTS_LOG10


def one_build(space: Space, clock: Clock) -> BuildRows:
    """A build of a space, not the best; none where there is none. Simple layouts are tried first; the solver, not asked
    of rows without hope, has the last word.
    """
    best = _best_of(space, 1, no_builds(space), None)
    hopeful: list[list[Ints]] = []
    for bare in _bare_builds(space, None, clock):
        _improve(space, bare, best, clock, any_will_do=True)
        if best.is_full():
            return best.builds
        hopeful.append([np.unique(own) for own in (bare.builds.front, bare.builds.rear, bare.builds.drive)])
    front, rear, drive = (np.unique(np.concatenate(own)) for own in zip(*hopeful, strict=True))
    return _solved(space, front, rear, drive, clock) if len(front) else no_builds(space)


def _solved(space: Space, front: Ints, rear: Ints, drive: Ints, clock: Clock) -> BuildRows:
    """A build of some rows, by the solver; none where there is none."""
    from combo.search.sat import BuildModel  # ortools takes long to load, and few searches come here

    rows = space.with_rows(
        *(table.take(at) for table, at in ((space.front, front), (space.rear, rear), (space.drive, drive)))
    )
    found = BuildModel(rows, clock=clock).any()[1]
    if found is None:
        return no_builds(space)
    return BuildRows(front[found.front], rear[found.rear], drive[found.drive], found.counts)


def _best_of(space: Space, count: int, known: BuildRows, floor: Ints | None) -> Incumbents:
    none = no_builds(space)
    best = Incumbents(space, count, none, keys(space, none), len(space.levels), floor)
    best.add(known)
    return best


def some_that_hold(space: Space, clock: Clock) -> BuildRows:
    """Bare builds that hold with some simple layout of the ballast: not all there are, but each a proof of its rows."""
    layouts, found = _simple_layouts(space), [no_builds(space)]
    ballast, block = ballast_sums(space, layouts), max(1, CELLS // len(layouts))
    for bare in _bare_builds(space, None, clock):
        for start in range(0, len(bare.builds), block):
            if clock.is_over():
                break
            some = bare.take(np.arange(start, min(start + block, len(bare.builds))))
            which, layout = every_pair(np.arange(len(some.builds)), np.arange(len(layouts)))
            builds = _laid_out(some, which, layouts, layout)
            right = holds(space, _with_ballast(space, some, (which, ballast, layout), builds), builds)
            found.append(some.builds.take(np.unique(which[right])))
    return BuildRows.join(found)


def _laid_out(bare: BaseBuilds, which: Ints, layouts: Ints, layout: Ints) -> BuildRows:
    """Builds that are bare builds with layouts."""
    own = bare.builds.take(which)
    return BuildRows(own.front, own.rear, own.drive, layouts[layout])


def _with_ballast(space: Space, bare: BaseBuilds, laid: tuple[Ints, Sums, Ints], builds: BuildRows) -> SumsAt:
    """Totals of builds that are bare builds with layouts, worked out as far as they are asked for."""
    which, ballast, layout = laid

    def sums(name: str, at: Ints) -> Floats:
        if name in OF_WHOLE:
            return whole_sums(space, builds.take(at), [name])[name]
        own = ballast[name]
        total: Floats = bare.sums[name][which[at]] + (own[layout[at]] if len(own) > 1 else own)
        return total

    return sums


def _improve(space: Space, bare: BaseBuilds, best: Incumbents, clock: Clock, *, any_will_do: bool) -> None:
    """Builds of simple layouts, and of those around the best of them, but where any will do and enough are known."""
    if not len(bare.builds):
        return
    _try(space, bare, _simple_layouts(space), best, clock, until_full=any_will_do)
    if not (any_will_do and best.is_full()):
        _climb(space, _in_reach(bare, best), best, clock)


def _climb(space: Space, bare: BaseBuilds, best: Incumbents, clock: Clock) -> None:
    """Better builds, for a closer K-th best: layouts around those found, on the most promising bare builds."""
    some = bare.take(np.arange(min(CLIMBERS, len(bare.builds))))
    known = np.zeros((0, len(space.slots)), dtype=np.int64)
    while len(best.builds) and len(space.slots):
        both = each_once(np.concatenate([known, _around(space, each_once(best.builds.counts))]))
        new = both[len(known) :]
        if not len(new) or clock.is_over():
            return
        known = both
        _try(space, some, new, best, clock, until_full=False)


def _around(space: Space, layouts: Ints) -> Ints:
    """Layouts with one item more, one fewer, or one moved to another slot."""
    one = np.eye(layouts.shape[1], dtype=np.int64)
    moves = np.concatenate([one, -one, (one[:, np.newaxis] - one).reshape(-1, len(one))])
    moved = each_once((layouts[:, np.newaxis] + moves).reshape(-1, len(one)))
    most = space.slots["slot.most"]
    moved = moved[((moved >= 0) & (moved <= most)).all(axis=1)]
    return moved[space.rules.may_lie(moved, "fails")]


def _bare_builds(
    space: Space,
    best: Incumbents | None,
    clock: Clock,
    relaxations: Sequence[CaseMultipliers] = (),
    most: int | None = None,
) -> Iterator[BaseBuilds]:
    """Front corners with rear corners and drives that belong together, so many at once that memory is bounded, the most
    promising first; where K builds are known by then, only those that can be as good as the K-th. Of corners at `most`
    so many pairs, the most promising.
    """
    found: list[BaseBuilds] = []
    for front, rear, drive in _together(space, best.bound() if best is not None else None, relaxations, most):
        some = _bare_of(space, front, rear, drive)
        some = some.take(np.isfinite(some.bounds).all(axis=1) & _hopeful(space, some.sums))
        found.append(some if best is None else _in_reach(some, best))
        if sum(len(own.builds) for own in found) > BARE_AT_ONCE:
            yield _best_first(found)
            found = []
        if clock.is_over():
            break
    if found:
        yield _best_first(found)


def _best_first(several: list[BaseBuilds]) -> BaseBuilds:
    whole = BaseBuilds.join(several)
    return whole.take(np.lexsort(-whole.bounds.T[::-1]))


def are_few_together(space: Space) -> bool:
    """Whether so few front and rear corners may stand together that it costs little to look at all bare builds."""
    pairing = pairing_of(space)
    fronts, rears = (
        np.bincount(of, minlength=size)
        for of, size in ((pairing.front, pairing.may.shape[0]), (pairing.rear, pairing.may.shape[1]))
    )
    return int(fronts @ pairing.may.astype(np.int64) @ rears) <= FEW_PAIRS


def _bare_of(space: Space, front: Ints, rear: Ints, drive: Ints) -> BaseBuilds:
    bare = BuildRows(front, rear, drive, np.zeros((len(front), len(space.slots)), dtype=np.int64))
    sums, rows = bare_sums(space, bare, sorted(weighed(space))), row_points(space, bare)
    most_g, least_g = _most_ballast_g(space, sums), _least_ballast_g(space, sums, drive)
    bounds = [_bare_bound(space, level, sums, rows, (most_g, least_g)) for level in space.levels]
    needed_g = np.fmax(least_g, space.levels[0].rear_least_g - sums["rear_light_g"])  # what is not known needs none
    return BaseBuilds(bare, sums, rows, np.column_stack(bounds), needed_g - 1.0, most_g + 1.0)


def _together(
    space: Space, least: Ints | None, relaxations: Sequence[CaseMultipliers], most: int | None
) -> Iterator[tuple[Ints, Ints, Ints]]:
    """Rows of front, rear and drive that belong together, in portions."""
    is_long = len(space.front) * len(space.rear) > WORTH_BOUNDS
    cases = _worths(space, relaxations) if is_long else []
    pairs = _pairs(space, least, cases, is_long=is_long)
    tires, of_drives = space.places["rear"][:, 1], space.places["drive"][:, 0]
    for front, rear in pairs if most is None or not cases else [_best_pairs(pairs, cases, most)]:
        corners, drive = equal_pairs(tires[rear], of_drives)
        for some in range(0, max(1, len(corners)), AT_ONCE):
            here = corners[some : some + AT_ONCE]
            yield front[here], rear[here], drive[some : some + AT_ONCE]


def _best_pairs(pairs: Iterable[tuple[Ints, Ints]], cases: Sequence[_Worths], most: int) -> tuple[Ints, Ints]:
    """The pairs that are worth most on the first level, and some that leave most in the gate, so many in all."""
    kept = [np.zeros((0, 2), dtype=np.int64)]
    for front, rear in pairs:
        both = np.concatenate([*kept, np.column_stack([front, rear])])
        level, gate = (np.maximum.reduce([of(own, *both.T) for own in cases]) for of in (_Worths.most, _Worths.left))
        of_level, of_gate = (
            np.argsort(-own, kind="stable")[:size] for own, size in ((level, most - most // 4), (gate, most // 4))
        )
        kept = [both[np.unique(np.concatenate([of_level, of_gate]))]]
    return kept[0][:, 0], kept[0][:, 1]


def _pairs(space: Space, least: Ints | None, cases: Sequence[_Worths], *, is_long: bool) -> Iterator[tuple[Ints, Ints]]:
    """Front and rear rows that may stand together, in portions, without those that leave no room beside each other in a
    whole-build check; with `least` those that can reach it.
    """
    pairing = pairing_of(space)
    some_front, some_rear = pairing.rows()
    rooms = _rooms_of_pairs(space) if is_long else []
    ours, theirs = (corner_links(space.places[name]) for name in ("front", "rear"))
    step = max(1, AT_ONCE // max(1, len(some_front)))
    for start in range(0, max(1, len(some_rear)), step):
        rows = some_rear[start : start + step]
        if space.job.job.same_all_round:
            front, rear = equal_pairs(ours[some_front], theirs[rows])
            front, rear = some_front[front], rows[rear]
        else:
            front, rear = every_pair(some_front, rows)
        right = pairing(front, rear)
        front, rear = front[right], rear[right]
        for of_front, of_rear in rooms:
            right = of_front[front] + of_rear[rear] >= 0.0
            front, rear = front[right], rear[right]
        if cases:
            right = np.logical_or.reduce([own.may_hold(front, rear, least) for own in cases])
            front, rear = front[right], rear[right]
        yield front, rear


@dataclass(frozen=True)
class _Worths:
    """Worth of front and of rear rows in a case: in its gate, and on each level, with the stance on its line or
    without. No build of both exceeds the sum.
    """

    gate: tuple[Floats, Floats]
    levels: list[tuple[ObjectiveBound, list[tuple[Floats, Floats]]]]

    def left(self, front: Ints, rear: Ints) -> Floats:
        """What pairs leave in the gate."""
        left: Floats = self.gate[0][front] + self.gate[1][rear]
        return left

    def most(self, front: Ints, rear: Ints) -> Floats:
        """What pairs are worth on the first level at most; minus infinity beyond the gate."""
        return np.where(self.left(front, rear) < -GATE_SLACK, -np.inf, self._most_on(0, front, rear))

    def may_hold(self, front: Ints, rear: Ints, least: Ints | None) -> Mask:
        """Which pairs of rows are through the gate and can reach `least`: the first level that differs decides."""
        right: Mask = self.left(front, rear) >= -GATE_SLACK
        is_open = np.flatnonzero(right) if least is not None else front[:0]
        for at in range(len(self.levels)):
            if not len(is_open):
                break
            assert least is not None
            beyond = self._most_on(at, front[is_open], rear[is_open]) - float(least[at])
            right[is_open[beyond < -1.0]] = False
            is_open = is_open[np.abs(beyond) <= 1.0]
        return right

    def _most_on(self, at: int, front: Ints, rear: Ints) -> Floats:
        level, stances_ = self.levels[at]
        return level.clipped(np.maximum.reduce([fronts[front] + rears[rear] for fronts, rears in stances_]))


def _worths(space: Space, relaxations: Sequence[CaseMultipliers]) -> list[_Worths]:
    """Worth of the rows in every case."""
    if not relaxations:
        return []
    chain = chain_of(space)
    return [
        _Worths(
            corner_values(chain, own.gate, own.case, on_line=False),
            [
                (
                    multipliers.level,
                    [corner_values(chain, multipliers, own.case, on_line) for on_line in stances(multipliers.level)],
                )
                for multipliers in own.views
            ],
        )
        for own in relaxations
    ]


def _rooms_of_pairs(space: Space) -> list[tuple[Floats, Floats]]:
    """What front and rear rows bring to each whole-build check that pairs of them may fail; the rear's is with the best
    drive on its tire, the truck and the ballast that helps most.
    """
    tires, of_drives = space.places["rear"][:, 1], space.places["drive"][:, 0]
    found = []
    for own in space.rooms:
        front, rear, drive = (own.bar.most_room_of_rows(space.job, name, getattr(space, name)) for name in TABLES)
        best = np.full(int(max(tires.max(initial=0), of_drives.max(initial=0))) + 1, -np.inf)
        np.maximum.at(best, of_drives, drive)
        rear = rear + best[tires] + own.truck + own.ballast.most + SUM_SLACK
        if front.min(initial=np.inf) + rear.min(initial=np.inf) < 0.0:
            found.append((front, rear))
    return found


def _hopeful(space: Space, sums: Sums) -> Mask:
    """Bare builds that fail no whole-build check once ballast has helped as much as it may; and where one must be
    failed, one of them once it has hurt as much as it may.
    """
    right: Mask = np.ones(len(sums["cost_cents"]), dtype=bool)
    for own in space.rooms:
        room = own.bar.room(sums) + own.ballast.most
        right &= is_accepted(room, strict=space.job.job.strict)
    failing = [
        np.less(bar.room(sums) - worst_ballast(space.job, bar, space.slots) - beyond_sums(space, bar), 0.0)
        for bar in space.failing
    ]
    if failing and len(failing) == len(space.allowed.failed):  # else one of them is no bar, and may be failed by any
        right &= np.logical_or.reduce(failing)
    return right


def _bare_bound(
    space: Space, level: ObjectiveBound, sums: Sums, rows: RowPoints, ends: tuple[Floats, Floats]
) -> Floats:
    """Most that a bare build can reach on a level with the ballast that is best for it."""
    load, grip = sums["rear_light_g"], rows.grip.astype(float)
    laid = ballast_line(space.job, space.slots, level).best(load, grip, *ends)
    if level.gram:
        unweighed = ballast_line(space.job, space.slots, level.without_mass()).best(load, grip, *ends)
        laid = np.where(np.isnan(sums["parts_g"]), unweighed, laid)
    return level.clipped(_fixed(space, level, sums, rows) + laid)


def _least_ballast_g(space: Space, sums: Sums, drive: Ints) -> Floats:
    """The least rear load that ballast must bring to each bare build for the wanted start and pull [g]."""
    job = space.allowed.in_job(space.job)
    if not (job.targets.start_grade_ppm or job.targets.pull_grade_ppm):
        return np.zeros(len(drive))
    gripped = [space.drive[f"drive.{name}"][drive] for name in GRIPS]
    return ballast_to_grip_g(job, space.slots, gripped, sums["rear_light_g"], sums["truck_light_g"])


def _most_ballast_g(space: Space, sums: Sums) -> Floats:
    """The most rear load that ballast may bring to each bare build by the whole-build checks [g]."""
    most = np.full(len(sums["cost_cents"]), np.inf)
    for own in space.rooms:
        room = own.bar.room(sums)
        most = np.minimum(most, own.ballast.rear_g(np.where(np.isnan(room), np.inf, room)))
    return most


def _fixed(space: Space, level: ObjectiveBound, sums: Sums, rows: RowPoints) -> Floats:
    """Worth of bare builds on a level without traction and ballast."""
    mass = np.where(np.isnan(sums["parts_g"]), level.of_mass, level.gram * sums["parts_g"])
    value = level.start - level.cent * sums["cost_cents"] - mass
    for criterion in criteria_of(space.job):
        if criterion.name in {"cruise", "fit", "stance"} and level.weight(criterion.name):
            value = value + level.weight(criterion.name) * points(criterion, sums, rows)
    return np.asarray(value, dtype=float)


def _try(space: Space, bare: BaseBuilds, layouts: Ints, best: Incumbents, clock: Clock, *, until_full: bool) -> None:
    """Evaluate bare builds with layouts, block by block; with `until_full` only until K builds are known."""
    layouts = layouts[space.rules.are_wanted(layouts, "fails")]
    bare, layouts = _within_reach_of_ballast(bare, layouts, layouts @ space.slots["slot.rear_g"])
    most = max(1, CELLS_TO_HOLD // max(1, len(layouts)))
    laid = _Laid.of(space, layouts, bare.sums)
    start, block = 0, min(most, FEW) if until_full else most
    while start < len(bare.builds) and not clock.is_over() and not (best.is_full() and until_full):
        some = _in_reach(bare.take(np.arange(start, min(start + block, len(bare.builds)))), best)
        some = _lifted(space, some, laid, best)
        if len(some.builds) and len(found := _good(space, some, laid, best)):
            best.add(found)
        start, block = start + block, min(most, block * FEW)


def _lifted(space: Space, bare: BaseBuilds, laid: _Laid, best: Incumbents) -> BaseBuilds:
    """The bare builds that some layout lifts to their least on the first level, asked once for each rear load that any
    layout brings.
    """
    if best.bound() is None or not len(bare.builds) or not len(laid):
        return bare
    level, is_unweighed = space.levels[0], np.isnan(bare.sums["parts_g"]).astype(np.int64)
    load, grip = (own.astype(float)[:, np.newaxis] for own in (bare.sums["rear_light_g"], bare.rows.grip))
    found, step = [], max(1, CELLS // len(laid.sizes_g))
    for start in range(0, len(load), step):
        at = slice(start, start + step)
        gain = traction_worth(level, load[at] + laid.sizes_g, grip[at]) - laid.least_losses[is_unweighed[at]]
        inside = laid.sizes_g >= bare.least_g[at, np.newaxis]
        inside &= laid.sizes_g <= bare.most_g[at, np.newaxis]
        found.append(np.where(inside, gain, -np.inf).max(axis=1))
    most = _fixed(space, level, bare.sums, bare.rows) + np.concatenate(found)
    return bare.take(most >= level.least(best.least(bare.builds)[:, 0].astype(float)) - 1.0)


def _within_reach_of_ballast(bare: BaseBuilds, layouts: Ints, rear_g: Ints) -> tuple[BaseBuilds, Ints]:
    """The bare builds for which some layout brings a rear load within their limits, and the layouts that do for any."""
    if not len(layouts) or not len(bare.builds):
        return bare, layouts
    sizes = np.unique(rear_g)
    lowest = np.searchsorted(sizes, bare.least_g)
    bare = bare.take(lowest < np.searchsorted(sizes, bare.most_g, side="right"))
    if not len(bare.builds):
        return bare, layouts[:0]
    return bare, layouts[(rear_g >= bare.least_g.min()) & (rear_g <= bare.most_g.max())]


def _in_reach(bare: BaseBuilds, best: Incumbents) -> BaseBuilds:
    """Bare builds that can be listed still; all of them while every build is of interest."""
    return bare if best.bound() is None else bare.take(may_beat(bare.bounds - best.least(bare.builds)))


@dataclass(frozen=True)
class _Laid:
    """Layouts of ballast, the rear load and what else each adds to each total, and what it brings to the whole-build
    checks, one an entry, with the least of any; and what it takes away on each level of builds that are weighed and of
    others, shape (levels, 2, layouts), with the least on the first level of those of the same rear load.
    """

    layouts: Ints
    rear_g: Floats
    sums: Sums
    rooms: list[Floats]
    lowest: list[float]
    losses: Floats
    sizes_g: Floats
    least_losses: Floats

    @staticmethod
    def of(space: Space, layouts: Ints, names: Iterable[str]) -> _Laid:
        each_loss = [slot_loss(space.slots, own) for level in space.levels for own in (level, level.without_mass())]
        each = np.column_stack([space.slots["slot.rear_g"], *each_loss, *(own.ballast.each for own in space.rooms)])
        rear_g, *sizes = np.ascontiguousarray((layouts.astype(float) @ each).T)  # floats are exact here, and quicker
        losses = np.array(sizes[: len(each_loss)]).reshape(len(space.levels), 2, len(layouts))
        rooms = sizes[len(each_loss) :]
        sizes_g, of = np.unique(rear_g, return_inverse=True)
        least_losses = np.full((2, len(sizes_g)), np.inf)
        for least, own in zip(least_losses, losses[0], strict=True):
            np.minimum.at(least, of, own)
        lowest = [float(own.min(initial=0.0)) for own in rooms]
        return _Laid(layouts, rear_g, ballast_sums(space, layouts, names), rooms, lowest, losses, sizes_g, least_losses)

    def __len__(self) -> int:
        return len(self.layouts)


@dataclass(frozen=True)
class _LaidBuilds:
    """Bare builds with layouts: the place of either, and the first levels, shape (n, levels)."""

    which: Ints
    layout: Ints
    table: Ints

    def take(self, at: Ints | Mask) -> _LaidBuilds:
        return _LaidBuilds(self.which[at], self.layout[at], self.table[at])

    def joined(self, other: _LaidBuilds) -> _LaidBuilds:
        return _LaidBuilds(
            *(np.concatenate([getattr(self, name), getattr(other, name)]) for name in self.__annotations__)
        )


def _good(space: Space, bare: BaseBuilds, laid: _Laid, best: Incumbents) -> BuildRows:
    """Builds of these bare builds and layouts that hold and can be among the first K, by their first levels.

    The best are asked first whether they hold, which looks at far more than their levels; once K do, none below them
    is asked.
    """
    least = None if best.bound() is None else best.least(bare.builds)
    cells = _good_enough(space, bare, laid, least)
    found, start, size = cells.take(np.zeros(0, dtype=np.int64)), 0, CELLS_AT_FIRST
    while start < len(cells.which):
        some = cells.take(np.arange(start, min(start + size, len(cells.which))))
        some = some.take(_among_first_with(found, some, best, space))
        if not len(some.which):
            break
        found = _first_of(space, laid.layouts, best, found.joined(_holding(space, bare, laid, some, least)))
        start, size = start + size, size * 4
    return _laid_out(bare, found.which, laid.layouts, found.layout)


def _among_first_with(found: _LaidBuilds, some: _LaidBuilds, best: Incumbents, space: Space) -> Mask:
    """Cells that can be among the first K with those found."""
    worst = _worst_of_first(found.table, best.count, found.which if space.job.shortlist.max_layouts else None)
    return np.ones(len(some.which), dtype=bool) if worst is None else _no_worse(list(some.table.T), list(worst))


def _holding(space: Space, bare: BaseBuilds, laid: _Laid, some: _LaidBuilds, least: Ints | None) -> _LaidBuilds:
    """The cells that hold, with their true levels, as far as these are no worse than the least."""
    builds = _laid_out(bare, some.which, laid.layouts, some.layout)
    right = holds(space, _with_ballast(space, bare, (some.which, laid.sums, some.layout), builds), builds)
    table = keys(space, builds.take(right))[:, : len(space.levels)]
    held = _LaidBuilds(some.which[right], some.layout[right], table)
    return held if least is None else held.take(_no_worse(list(table.T), list(least[held.which].T)))


def _first_of(space: Space, layouts: Ints, best: Incumbents, cells: _LaidBuilds) -> _LaidBuilds:
    """The first K of cells that hold, without those whose layout may not lie after all."""
    while True:
        of_bare = cells.which if space.job.shortlist.max_layouts else None
        worst = _worst_of_first(cells.table, best.count, of_bare)
        kept = cells if worst is None else cells.take(_no_worse(list(cells.table.T), list(worst)))
        refused = _refused(space, layouts, kept.layout)
        if not len(refused):
            return kept
        cells = cells.take(~np.isin(cells.layout, refused))  # those whose place they took may now be among the first


def _good_enough(space: Space, bare: BaseBuilds, laid: _Laid, least: Ints | None) -> _LaidBuilds:
    """Bare builds with layouts that no whole-build check rules out by its sum alone and whose levels, by what the parts
    cost one by one, are no worse than the bare build's least; the best first. The whole costs no less.
    """
    step, found = max(1, CELLS // max(1, len(laid))), []
    for start in range(0, len(bare.builds), step):
        rows = np.arange(start, min(start + step, len(bare.builds)))
        which, layout = np.nonzero(_may_hold(space, bare.take(rows), laid, None if least is None else least[rows]))
        found.append((which + start, layout))
    which, layout = (np.concatenate(own) for own in zip(*found, strict=True))
    sums = {
        name: bare.sums[name][which] + (own[layout] if len(own) > 1 else own)
        for name, own in ((name, laid.sums[name]) for name in graded(space))
    }
    sums["cost_cents"] = np.floor(sums["cost_cents"])
    cells = _LaidBuilds(which, layout, np.column_stack(first_levels(space, sums, bare.rows.at(which))))
    if least is not None:
        cells = cells.take(_no_worse(list(cells.table.T), list(least[which].T)))
    return cells.take(np.lexsort(-cells.table.T[::-1]))


def _may_hold(space: Space, bare: BaseBuilds, laid: _Laid, least: Ints | None) -> Mask:
    """Which layouts no whole-build check rules out by its sum alone for each bare build, and which lift it to its least
    on the first level, shape (bare builds, layouts).
    """
    right = laid.rear_g >= bare.least_g[:, np.newaxis]
    for own, of_layouts, lowest in zip(space.rooms, laid.rooms, laid.lowest, strict=True):
        of_bare = own.bar.room(bare.sums)
        if np.fmin.reduce(of_bare, initial=np.inf) + lowest < 0.0:
            right &= ~(of_bare[:, np.newaxis] + of_layouts < -SUM_SLACK)
    return right if least is None else right & _may_reach(space, bare, laid, least)


def _may_reach(space: Space, bare: BaseBuilds, laid: _Laid, least: Ints) -> Mask:
    """Which layouts lift each bare build to its least by the lines of the levels, shape (bare builds, layouts): the
    first that differs decides.
    """
    reach, is_open = np.zeros((len(bare.builds), len(laid)), dtype=bool), np.ones((1, 1), dtype=bool)
    for at, level in enumerate(space.levels):
        beyond = level.clipped(_worth_with(space, level, bare, laid, laid.losses[at])) - least[:, at, np.newaxis]
        reach |= is_open & (beyond > 1.0)
        is_open = is_open & (np.abs(beyond) <= 1.0)
        if not is_open.any():
            return reach
    return reach | is_open


def _worth_with(space: Space, level: ObjectiveBound, bare: BaseBuilds, laid: _Laid, losses: Floats) -> Floats:
    """What bare builds are worth with each layout on the line of a level, shape (bare builds, layouts)."""
    fixed = _fixed(space, level, bare.sums, bare.rows)[:, np.newaxis]
    value = fixed - losses[0]
    unknown = np.isnan(bare.sums["parts_g"])
    if level.gram and unknown.any():
        value[unknown] = fixed[unknown] - losses[1]
    if level.weight("traction"):
        load, grip = (own.astype(float)[:, np.newaxis] for own in (bare.sums["rear_light_g"], bare.rows.grip))
        value = value + traction_worth(level, load + laid.rear_g, grip)
    return np.asarray(value)


def _refused(space: Space, layouts: Ints, used: Ints) -> Ints:
    """Of the layouts used those that may not lie after all."""
    asked = np.unique(used)
    right = space.rules.may_lie(layouts[asked]) & space.rules.are_wanted(layouts[asked])
    refused: Ints = asked[~right]
    return refused


def _worst_of_first(table: Ints, count: int, bare: Ints | None) -> Ints | None:
    """The K-th best row of a table; None where there are not so many.

    Where layouts of the same parts are limited, `bare` tells whose they are, and the K-th best counts each once.
    """
    if len(table) < count:
        return None
    order = np.lexsort(-table.T[::-1])
    if bare is not None:
        order = order[np.sort(np.unique(bare[order], return_index=True)[1])]
    return None if len(order) < count else np.asarray(table[order[count - 1]])


def _no_worse(levels: Sequence[Ints], least: Sequence[Ints]) -> Mask:
    """Where levels, one array each, are in order no worse than the least ones; they broadcast."""
    better, equal = np.zeros(levels[0].shape, dtype=bool), np.ones(levels[0].shape, dtype=bool)
    for own, other in zip(levels, least, strict=True):
        better |= equal & (own > other)
        equal &= own == other
    return np.asarray(better | equal)


def _simple_layouts(space: Space) -> Ints:
    """No ballast, every count of every single slot, and slots filled one after another: enough to find good builds."""
    most = space.slots["slot.most"]
    single = [
        np.where(np.arange(len(most)) == slot, count, 0)
        for slot in range(len(most))
        for count in range(1, most[slot] + 1)
    ]
    rear = space.slots["slot.rear_g"]
    orders = [np.argsort(-rear, kind="stable")]
    orders += [
        np.argsort(slot_loss(space.slots, level) / np.maximum(rear, 1.0), kind="stable") for level in space.levels
    ]
    filled = [layout for order in orders for layout in space.rules.filled(order, most)]
    every = [np.zeros(len(most), dtype=np.int64), *single, *filled]
    layouts = np.array(every, dtype=np.int64).reshape(len(every), len(most))
    layouts = each_once(layouts)
    return layouts[space.rules.may_lie(layouts, "fails")]


@dataclass(frozen=True)
class BallastValueTable:
    """What the best bare build is worth with some rear load from ballast, on a grid of loads, for one level; no layout
    is worth less than the `floor`.
    """

    grid_g: Floats
    worth: Floats
    loss: Floats
    rate: Floats = field(default_factory=lambda: np.zeros(0))
    floor: float = -np.inf

    def after(self, slots_left: Ints, laid_g: Floats, taken: Floats) -> Floats:
        """Bound of partial layouts: what they have taken away, and the best that the slots left can still make of it.

        Each further gram of rear load takes away at least what the cheapest slot left does.
        """
        rate = min((self.rate[slot] for slot in slots_left), default=np.inf)
        worth = self.worth
        if np.isfinite(rate):
            onward = np.maximum.accumulate((self.worth - rate * self.grid_g)[::-1])[::-1]
            worth = onward + rate * self.grid_g
        at = np.searchsorted(self.grid_g, laid_g, side="left").clip(0, len(self.grid_g) - 1)
        return np.asarray(np.maximum(worth[at] - taken, self.floor))


def _layouts(space: Space, bare: BaseBuilds, best: Incumbents, clock: Clock) -> Iterator[Ints]:
    """Every layout that may lie there and, once K builds are known, can lift some bare build to its own least; block by
    block, so that what is found in one leaves fewer to look at in the next.

    Where only the solver could tell whether the items fit on their floor, they are taken to: `_good` asks it of the few
    layouts that get as far.
    """
    if not len(bare.builds):
        return
    most = space.slots["slot.most"]
    rear = space.slots["slot.rear_g"]
    order = np.argsort(-rear, kind="stable")
    group_bounds, blocks = LayoutPruner(space, bare, best), [(0, np.zeros((1, len(most)), dtype=np.int64))]
    while blocks and not clock.is_over():
        done, layouts = blocks.pop()
        while done < len(order) and len(layouts) <= LAYOUTS_AT_ONCE:
            slot, done = int(order[done]), done + 1
            layouts = space.rules.filled_up(layouts, slot, int(most[slot]))
            layouts = layouts[group_bounds.in_reach(layouts, layouts @ rear, order[done:])]
            layouts = layouts[space.rules.may_lie_beside(slot, layouts, "fits")]
        if done == len(order):
            yield layouts
        else:
            blocks += [(done, layouts[at : at + LAYOUTS_AT_ONCE]) for at in range(0, len(layouts), LAYOUTS_AT_ONCE)]


class LayoutPruner:
    """Which layouts can lift some bare build to its own least, as far as builds are known by the time it is asked."""

    def __init__(self, space: Space, bare: BaseBuilds, best: Incumbents) -> None:
        self._space, self._bare, self._best = space, bare, best
        self._key: bytes | None = None
        self._value_tables: list[list[BallastValueTable]] = []

    def in_reach(self, layouts: Ints, laid_g: Floats, slots_left: Ints) -> Mask:
        """Which partial layouts, with their rear load, can still do so; all while every build is of interest."""
        right = self._may_suffice(layouts, laid_g, slots_left)
        if self._best.bound() is None:
            return right
        key = self._best.key.tobytes()
        if key != self._key:
            self._key, self._value_tables = (
                key,
                _value_tables(self._space, self._bare, self._best.least(self._bare.builds)),
            )
        each = [
            may_beat(np.column_stack([worth.after(slots_left, laid_g, layouts @ worth.loss) for worth in worths]))
            for worths in self._value_tables
        ]
        return np.asarray(right & np.logical_or.reduce(each))

    def _may_suffice(self, layouts: Ints, laid_g: Floats, slots_left: Ints) -> Mask:
        """Which partial layouts can still bring the rear load that some bare build needs, and bring none too much."""
        rear_g, most = self._space.slots["slot.rear_g"], self._space.job.ballast.max_items
        left = (most - layouts.sum(axis=1)) * rear_g[slots_left].max(initial=0)
        enough = laid_g + left >= self._bare.least_g.min(initial=np.inf)
        return np.asarray(enough & (laid_g + np.minimum(0, rear_g).sum() * most <= self._bare.most_g.max(initial=0.0)))


def _value_tables(space: Space, bare: BaseBuilds, least: Ints) -> list[list[BallastValueTable]]:
    """Worth on every level of the bare builds whose mass is known, and of those whose mass is not."""
    unknown = np.isnan(bare.sums["parts_g"])
    found = []
    for some, levels in ((~unknown, space.levels), (unknown, tuple(level.without_mass() for level in space.levels))):
        if some.any():
            found.append([_worth(space, bare.take(some), level, least[some, at]) for at, level in enumerate(levels)])
    return found


def _worth(space: Space, bare: BaseBuilds, level: ObjectiveBound, least: Ints) -> BallastValueTable:
    """The most that any bare build is worth beyond its least with each rear load of the grid, ballast not yet paid."""
    rear = space.slots["slot.rear_g"]
    grid = np.linspace(0.0, max(1.0, most_rear_g(space.job, space.slots)), GRID + 1)
    loads, grips = bare.sums["rear_light_g"], bare.rows.grip.astype(float)
    number, first = numbered_values([loads, grips])
    most = np.full(len(first), -np.inf)
    np.maximum.at(most, number, _fixed(space, level, bare.sums, bare.rows) - least)
    load, grip, fixed = (own[:, np.newaxis] for own in (loads[first], grips[first], most))
    worth = np.full(len(grid), -np.inf)
    for start in range(0, len(fixed), CELLS // len(grid)):
        some = slice(start, start + CELLS // len(grid))
        traction = traction_worth(level, load[some] + grid, grip[some])
        worth = np.maximum(worth, (fixed[some] + traction).max(axis=0))
    loss = slot_loss(space.slots, level)
    rate = np.where(rear > 0, loss / np.where(rear > 0, rear, 1.0), np.inf)
    floor = 0.0 if level.is_clipped and (least <= 0).any() else -np.inf
    return BallastValueTable(grid, np.maximum.accumulate(worth), loss, rate, floor)

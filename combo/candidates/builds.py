"""Builds as positions in the space's tables, the key that orders them, and whether they hold together."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from combo.arrays import each_once, every_pair, numbered_values
from combo.candidates.constraints import LinearConstraint
from combo.candidates.criteria import RowPoints, all_criteria, criteria_of, points
from combo.candidates.space import Space
from combo.checks.check import Check, is_accepted
from combo.checks.judge import build_margin, governing_margin
from combo.checks.rows import Chosen
from combo.checks.run import asked_checks, pair_columns
from combo.checks.table import Given, Pairs, Table, Whole
from combo.checks.totals import OF_WHOLE
from combo.job import AXLES, Axle

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
Sums = dict[str, Floats]
SumsAt = Callable[[str, Ints], Floats]
"""A total of some builds, by its name and their places."""
PAIRS_AT_ONCE = 500_000
"""Pairs of classes of corners that are asked at once whether they may stand together."""
WORTH_SAMPLING, SAMPLE = 4_000, 50
"""Builds beyond which a sample of so many tells in which order checks are asked."""
POINTS = "points."
"""Before the names of criteria in the table of builds."""


@dataclass(frozen=True)
class BuildRows:
    """Builds by position: row of each table, shape (n,), and count of each ballast slot, shape (n, slots)."""

    front: Ints
    rear: Ints
    drive: Ints
    counts: Ints

    def __len__(self) -> int:
        return len(self.front)

    def take(self, at: NDArray[np.int64] | NDArray[np.bool_]) -> BuildRows:
        """The builds at these positions, or where the mask holds."""
        return BuildRows(self.front[at], self.rear[at], self.drive[at], self.counts[at])

    @staticmethod
    def join(several: list[BuildRows]) -> BuildRows:
        """All builds of several, each once, in the order in which they come."""
        table = np.concatenate([builds.table() for builds in several])
        unique = each_once(table)
        return BuildRows(unique[:, 0], unique[:, 1], unique[:, 2], unique[:, 3:])

    def table(self) -> Ints:
        """One row of whole numbers a build."""
        return np.column_stack([self.front, self.rear, self.drive, self.counts])


def no_builds(space: Space) -> BuildRows:
    """An empty set of builds."""
    none = np.zeros(0, dtype=np.int64)
    return BuildRows(none, none, none, np.zeros((0, len(space.slots)), dtype=np.int64))


def chosen(space: Space, builds: BuildRows) -> Chosen:
    """The rows of each build, one a row in each table."""
    front, rear, drive = space.front.take(builds.front), space.rear.take(builds.rear), space.drive.take(builds.drive)
    return Chosen(front, rear, drive, space.slots, builds.counts)


def bare_sums(space: Space, builds: BuildRows, names: Iterable[str] | None = None) -> Sums:
    """Totals of builds without their ballast, all or some by name: what the truck and the chosen rows bring."""
    sums = {}
    for name in space.starts if names is None else names:
        value = np.full(len(builds), space.starts[name])
        for kind, at in (("front", builds.front), ("rear", builds.rear), ("drive", builds.drive)):
            if name in space.adds[kind]:
                value = value + space.adds[kind][name][at]
        sums[name] = value
    return sums


def ballast_sums(space: Space, counts: Ints, names: Iterable[str] | None = None) -> Sums:
    """What ballast adds to each total, all or some by name: one value a row of counts, or a plain 0 where it never adds
    any.
    """
    adds, names = space.adds["slot"], list(space.starts if names is None else names)
    own = [name for name in names if name in adds]
    each = np.array([adds[name] for name in own]).reshape(len(own), counts.shape[1])
    sums = each @ counts.T.astype(float)  # floats are exact here, and far quicker
    return dict.fromkeys(names, np.zeros(1)) | dict(zip(own, sums, strict=True))


def whole_sums(space: Space, builds: BuildRows, names: Iterable[str] | None = None) -> Sums:
    """Totals of builds that are no sums over their rows, all or some by name."""
    picked = chosen(space, builds)
    tables = picked.front, picked.rear, picked.drive, picked.slots, picked.counts
    return {name: OF_WHOLE[name](space.job, *tables) for name in (OF_WHOLE if names is None else names)}


def build_sums(space: Space, builds: BuildRows) -> Sums:
    """Totals of builds with their ballast."""
    ballast = ballast_sums(space, builds.counts)
    of_rows = {name: own + ballast[name] for name, own in bare_sums(space, builds).items()}
    return of_rows | whole_sums(space, builds)


def beyond_sums(space: Space, bar: LinearConstraint) -> float:
    """The most by which a total of a bar may be above the sum that stands for it."""
    return space.beyond_cents if bar.weighs_whole else 0.0


def graded(space: Space) -> set[str]:
    """Names of the totals that the levels of the key look at."""
    of_criteria = {name for criterion in criteria_of(space.job) for name in (criterion.total, criterion.added)}
    return (of_criteria | {"cost_cents"}) - {""}


def weighed(space: Space) -> set[str]:
    """Names of the totals that a check, a criterion in use or a bound looks at."""
    of_bars = {name for bar in (*space.bars, *space.failing) for name in bar.totals}
    needs = [source for check in asked_checks(space.job, "build") for source in check.needs.values()]
    of_needs = {source.partition(".")[2] for source in needs if source.startswith("sum.")}
    return (of_bars | graded(space) | of_needs | {"parts_g", "rear_light_g"}) - {""}


def row_points(space: Space, builds: BuildRows) -> RowPoints:
    """What the rows of builds bring to the criteria."""
    front, rear = space.front["corner.fit"], space.rear["corner.fit"]
    drive = (space.drive[f"drive.{name}"][builds.drive] for name in ("cruise", "grip", "front_grip"))
    return RowPoints(np.minimum(front[builds.front], rear[builds.rear]), *drive)


def first_levels(space: Space, sums: Sums, rows: RowPoints) -> list[Ints]:
    """Levels of the key to the cost, larger first: weighted points (or each of [order]), then the cost, negative."""
    job = space.job
    each = [points(criterion, sums, rows) for criterion in criteria_of(job)]
    if not job.order.criteria:
        weights = [job.weight(criterion.name) for criterion in criteria_of(job)]
        each = [np.asarray(sum(weight * own for weight, own in zip(weights, each, strict=True)), dtype=np.int64)]
    return [*each, -sums["cost_cents"].astype(np.int64)]


def keys(space: Space, builds: BuildRows) -> Ints:
    """Whole-number key of each build, shape (n, levels); the larger in lexicographic order ranks first.

    The weighted sum of the points (or each criterion of [order]); then, negative, cost; then SKUs: the rows are sorted
    by SKU, so their positions compare as the SKUs do; then counts of the ballast slots.
    """
    sums = build_sums(space, builds)
    levels = first_levels(space, sums, row_points(space, builds))
    ranks = space.gear_ranks[builds.drive] if len(builds) else builds.drive
    return np.column_stack([*levels, -builds.front, -builds.rear, -ranks, -builds.counts]).astype(np.int64)


def sorted_by_key(builds: BuildRows, key: Ints) -> tuple[BuildRows, Ints]:
    """Builds and keys from the first to the last."""
    order = np.lexsort(-key.T[::-1])
    return builds.take(order), key[order]


def holds(space: Space, sums: SumsAt, builds: BuildRows) -> NDArray[np.bool_]:
    """Which builds fail no whole-build check, or exactly one of those of which one must; with `strict` none is
    unverified.

    `sums` gives a total of builds by its name and their places. Checks that weigh totals against one another come
    first, as they cost least, but for those of whole builds, which come last; a build that is out is asked nothing
    more.
    """
    strict, allowed, asked = space.job.job.strict, space.allowed, asked_checks(space.job, "build")
    left, failed = _kept(space, sums, np.arange(len(builds)), of_whole=False), np.zeros(len(builds), dtype=np.int64)
    for bar in space.failing:
        room = bar.room({name: sums(name, left) for name in bar.totals})
        failed[left] += np.less(room, 0.0)
        left = left[is_accepted(room, strict=strict, least=-np.inf)]
    for check in _most_telling_first(space, sums, builds, left):
        margin = _margin_of(space, check, sums, builds, left)
        failed[left] += allowed.must_fail(check, check.where) & np.less(margin, 0.0)
        left = left[is_accepted(margin, strict=strict, least=-allowed.of(check, check.where))]
    left = _kept(space, sums, left, of_whole=True)
    right = np.zeros(len(builds), dtype=bool)
    right[left] = True
    return right & (failed == 1) if any(allowed.must_fail(check, check.where) for check in asked) else right


def _most_telling_first(space: Space, sums: SumsAt, builds: BuildRows, left: Ints) -> list[Check]:
    """Whole-build checks that are functions of more than two totals, those first that fail most builds of a sample."""
    allowed = space.allowed
    checks = [
        check
        for check in asked_checks(space.job, "build")
        if check.sides is not None and not allowed.is_dropped(check, check.where)
    ]
    if len(left) < WORTH_SAMPLING:
        return checks
    some = left[:: len(left) // SAMPLE]
    return sorted(checks, key=lambda check: -int(np.less(_margin_of(space, check, sums, builds, some), 0.0).sum()))


def _kept(space: Space, sums: SumsAt, left: Ints, *, of_whole: bool) -> Ints:
    """The builds at some places that fail none of the bars that weigh whole builds, or none of the others."""
    for bar in space.bars:
        if bar.weighs_whole == of_whole:
            room = bar.room({name: sums(name, left) for name in bar.totals})
            left = left[is_accepted(room, strict=space.job.job.strict and not bar.is_loose)]
    return left


def _margin_of(space: Space, check: Check, sums: SumsAt, builds: BuildRows, at: Ints) -> Floats:
    """Margin of a whole-build check that needs more than two totals, for the builds at some places."""
    names = [source.partition(".")[2] for source in check.needs.values() if source.startswith("sum.")]
    some = builds.take(at)
    rows = Whole(space.front.take(some.front), space.rear.take(some.rear), space.drive.take(some.drive))
    return build_margin(space.job, check, {name: sums(name, at) for name in names}, rows, space.shifts)


@dataclass(frozen=True)
class Pairing:
    """Which front and rear rows may stand together: the class of each row, and what each pair of classes may.

    Rows of a class are alike in all that pair checks look at, so that each pair of classes is asked once.
    """

    front: Ints
    rear: Ints
    may: NDArray[np.bool_]

    def __call__(self, front: Ints, rear: Ints) -> NDArray[np.bool_]:
        """Whether the front and rear rows of builds fail no check of the pair; with `strict` none is unverified."""
        return self.may[self.front[front], self.rear[rear]]

    def rows(self) -> tuple[Ints, Ints]:
        """The front rows, and the rear rows, that may stand with any of the other axle."""
        fronts, rears = np.any(self.may, axis=1), np.any(self.may, axis=0)
        return np.flatnonzero(np.asarray(fronts)[self.front]), np.flatnonzero(np.asarray(rears)[self.rear])


def pairing_of(space: Space) -> Pairing:
    """The pairing of a space's rows."""
    made = [check for check in asked_checks(space.job, "pair") if not space.allowed.is_dropped(check, "truck")]
    if not made:
        front, rear = (np.zeros(len(rows), dtype=np.int64) for rows in (space.front, space.rear))
        return Pairing(front, rear, np.ones((1, 1), dtype=bool))
    (front, fronts), (rear, rears) = (_classes(getattr(space, axle), made, axle) for axle in AXLES)
    ours, theirs = space.front.take(fronts), space.rear.take(rears)
    may = np.ones((len(fronts), len(rears)), dtype=bool)
    for check in made:
        may &= _may_pair(space, check, ours, theirs)
    return Pairing(front, rear, may)


def _classes(corners: Table, checks: list[Check], axle: Axle) -> tuple[Ints, Ints]:
    """Number of each corner among those that are alike in all that pair checks look at, and the first of each."""
    return numbered_values([corners[name] for name in pair_columns(checks, [axle]) if name in corners])


def _may_pair(space: Space, check: Check, front: Table, rear: Table) -> NDArray[np.bool_]:
    """Whether each front corner may stand with each rear corner by one check, asked once for all that look alike to it:
    shape (fronts, rears).
    """
    (of_front, fronts), (of_rear, rears) = _classes(front, [check], "front"), _classes(rear, [check], "rear")
    ours, theirs = front.take(fronts), rear.take(rears)
    may = np.ones((len(fronts), len(rears)), dtype=bool)
    step = max(1, PAIRS_AT_ONCE // max(1, len(rears)))
    for start in range(0, len(fronts), step):
        some = np.arange(start, min(start + step, len(fronts)))
        one, other = every_pair(some, np.arange(len(rears)))
        margin = governing_margin(space.job, "rear", check, Pairs(ours.take(one), theirs.take(other)))
        holds = space.allowed.holds(check, "truck", margin, strict=space.job.job.strict)
        may[some] = holds.reshape(len(some), len(rears))
    return may[of_front][:, of_rear]


def all_holds(space: Space, builds: BuildRows) -> NDArray[np.bool_]:
    """Whether whole builds fail nothing: neither their pair of corners, nor their ballast, nor the build."""
    sums = build_sums(space, builds)
    right = pairing_of(space)(builds.front, builds.rear)
    right &= holds(space, lambda name, at: sums[name][at], builds)
    return np.asarray(right & space.rules.may_lie(builds.counts))


def points_in(row: Mapping[str, float]) -> dict[str, int]:
    """Points of a build by criterion, out of its row of `table_of`."""
    return {name.removeprefix(POINTS): int(size) for name, size in row.items() if name.startswith(POINTS)}


def table_of(space: Space, builds: BuildRows) -> Given:
    """Totals and points of builds side by side, a row a build: every criterion, used for the ranking or not."""
    sums, rows = build_sums(space, builds), row_points(space, builds)
    own = {f"{POINTS}{criterion.name}": points(criterion, sums, rows) for criterion in all_criteria(space.job)}
    return Given(sums | own)

"""Listed parts that are in no build, and what stands in their way.

A part is told by its best attempt: among the rows that hold it, the one with the fewest failing checks, and of those
the one that falls least short. Parts whose rows pass their own checks are put to the solver, which proves that no
whole build holds them, or shows one that does.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from combo.arrays import numbered_rows
from combo.bounds.chain import KNOWN_CASE, chain_of
from combo.bounds.lagrangian import initial_multipliers
from combo.candidates.builds import BuildRows
from combo.candidates.space import TABLES, Space
from combo.checks.check import Check, Verdict, is_accepted
from combo.checks.rows import Rows
from combo.checks.run import Result, margins, row_results
from combo.checks.table import Row, Table, one_row
from combo.deadline import Clock
from combo.explain.attempts import Tried, every_corner, every_drive, every_gear, every_mounted
from combo.job import AXLES, Axle, Job
from combo.parts import Parts
from combo.search.enumerate import some_that_hold
from combo.search.sat import BuildModel, SolveStatus
from combo.search.topk import Ranking

PAIRS_TO_TRY = 1_000_000
"""Wheels times tires up to which every pair is tried."""
PROMISING = 3
"""Rows beside which every row of the other axle is tried first."""


@dataclass(frozen=True)
class Rejected:
    """A part that is in no build: its kind and SKU, with what it was tried, and the checks that fail there (with
    `strict` also those that are not verified).

    Without failing checks it passes its own, and no whole build holds it; `proven` tells whether that is certain.
    """

    kind: str
    sku: str
    tried: str
    failing: tuple[Result, ...]
    proven: bool = True


def rejected(job: Job, parts: Parts, ranking: Ranking, clock: Clock) -> list[Rejected] | None:
    """All rejected wheels, tires, ratios and differentials, in the order of the lists; None where the lists are too
    long to try every part one by one.
    """
    if len(parts.wheels) * len(parts.tires) > PAIRS_TO_TRY:
        return None
    space = ranking.left
    if space is None:
        return None
    left = {kind: _left(space, kind) for kind in ("wheel", "tire", "ratio", "differential")}
    attempts = [_attempts(job, axle, every_mounted(job, axle, parts), ("wheel",)) for axle in AXLES]
    attempts += [_attempts(job, axle, every_corner(job, axle, parts), ("wheel", "tire")) for axle in AXLES]
    attempts.append(_attempts(job, "rear", every_gear(job, parts), ("ratio", "differential")))
    attempts.append(_attempts(job, "rear", every_drive(job, parts), ("ratio", "differential")))
    out: list[Rejected] = []
    useless, proven = _in_no_build(space, ranking, left, clock)
    for kind, at_all in left.items():
        for at, sku in enumerate(parts.of_kind(kind)["sku"]):
            if at not in at_all:
                out.append(_best_attempt(kind, at, str(sku), attempts))
            elif at in useless[kind]:
                out.append(Rejected(kind, str(sku), "every listed part beside it", (), proven))
    return out


def _left(space: Space, kind: str) -> set[int]:
    tables = (space.front, space.rear) if kind in {"wheel", "tire"} else (space.drive,)
    return {int(at) for table in tables for at in np.unique(table[f"{kind}.at"])}


@dataclass(frozen=True)
class _Attempts:
    """Rows tried at an axle, how many checks each fails, and by how much for its scale."""

    job: Job
    axle: Axle
    checks: tuple[Check, ...]
    table: Rows
    kinds: tuple[str, ...]
    failures: np.ndarray
    shortfall: np.ndarray


def _attempts(job: Job, axle: Axle, tried: Tried, kinds: tuple[str, ...]) -> _Attempts:
    table, checks = tried
    found = margins(job, axle, checks, table)
    failing = ~is_accepted(found, strict=job.job.strict)
    scales = np.array([check.scale(job, axle) if check.scale else 1.0 for check in checks])
    lacking = np.nan_to_num(np.where(failing, -found / scales, 0.0))
    return _Attempts(job, axle, checks, table, kinds, failing.sum(axis=1), lacking.sum(axis=1))


def _best_attempt(kind: str, at: int, sku: str, attempts: list[_Attempts]) -> Rejected:
    """The row closest to passing, of the rows on which most checks were made: a corner before a wheel alone."""
    best: tuple[tuple[float, ...], _Attempts, int] | None = None
    for order, tried in enumerate(reversed(attempts)):
        if kind not in tried.kinds:
            continue
        for place in np.flatnonzero(tried.table[f"{kind}.at"] == at):
            failures, shortfall = float(tried.failures[place]), float(tried.shortfall[place])
            rank = (-len(tried.checks), failures, shortfall, float(order), float(place))
            if best is None or rank < best[0]:
                best = (rank, tried, int(place))
    if best is None:
        return Rejected(kind, sku, "nothing listed goes with it", ())
    _, tried, row = best
    own = row_results(tried.job, tried.axle, tried.checks, one_row(tried.table, row))[0]
    failing = [one for one in own if one.margin < 0 or (tried.job.job.strict and one.verdict is Verdict.UNVERIFIED)]
    return Rejected(kind, sku, _tried_with(kind, tried, row), tuple(failing))


def _tried_with(kind: str, tried: _Attempts, row: int) -> str:
    one = Row(tried.table, row)
    names = [name for name in ("wheel", "tire", "spacer", "ratio", "differential") if name != kind]
    skus = [one[f"{name}.sku"] for name in names if f"{name}.sku" in tried.table]
    others = [sku for sku in skus if isinstance(sku, str) and sku]
    place = f"{tried.axle} axle" if "wheel" in tried.kinds else "rear axle"
    return f"{place}, with {', '.join(others)}" if others else place


def _in_no_build(
    space: Space, ranking: Ranking, left: dict[str, set[int]], clock: Clock
) -> tuple[dict[str, set[int]], bool]:
    """Parts that pass their own checks and yet are in no build, and whether that is proven.

    Beside the best build one choice after another is tried, which clears most parts at once. For the rest the solver
    is asked for a build that holds as many of them as it can, until there is none.
    """
    open_parts = {kind: set(at) for kind, at in left.items()}
    _strike_out(open_parts, ranking.space, ranking.builds)
    for some in _one_choice_apart(space):
        _strike_out(open_parts, some, some_that_hold(some, clock))
    if not any(open_parts.values()):
        return open_parts, True
    model = BuildModel(space, clock=clock)
    while any(open_parts.values()):
        hits = {name: _open_parts_in(getattr(space, name), open_parts) for name in ("front", "rear", "drive")}
        outcome, found = model.most_of(hits)
        if found is None:
            return open_parts, outcome is SolveStatus.NONE
        _strike_out(open_parts, space, found)
    return open_parts, True


def _one_choice_apart(space: Space) -> list[Space]:
    """Spaces of every front corner with the most promising of the rest, and of every rear corner and drive likewise.

    Where wheel and tire are the same all round, one space of the most promising rows of each pair.
    """
    chain = chain_of(space)
    through = initial_multipliers(chain, space.levels[0], KNOWN_CASE).through
    best = {name: np.argsort(-through.of(name), kind="stable") for name in TABLES}
    if space.job.job.same_all_round:
        front, rear = (_one_of_each(space.places[axle][:, :2], best[axle]) for axle in AXLES)
        return [space.with_rows(space.front.take(front), space.rear.take(rear), space.drive)]
    few_front, few_rear = (getattr(space, axle).take(np.sort(best[axle][:PROMISING])) for axle in AXLES)
    few_drives = space.drive.take(np.isin(space.drive["tire.at"], few_rear["tire.at"]))
    return [space.with_rows(space.front, few_rear, few_drives), space.with_rows(few_front, space.rear, space.drive)]


def _one_of_each(pairs: NDArray[np.int64], order: NDArray[np.int64]) -> NDArray[np.int64]:
    """Of the rows of each wheel and tire the first in an order."""
    return np.sort(order[numbered_rows(pairs[order])[1]])


def _open_parts_in(table: Table, open_parts: dict[str, set[int]]) -> NDArray[np.int64]:
    """How many parts not yet seen in a build each row holds."""
    hits = [np.isin(table[f"{kind}.at"], sorted(at)) for kind, at in open_parts.items() if f"{kind}.at" in table]
    return np.asarray(np.sum(hits, axis=0, dtype=np.int64))


def _strike_out(open_parts: dict[str, set[int]], space: Space, builds: BuildRows) -> None:
    for table, at in ((space.front, builds.front), (space.rear, builds.rear), (space.drive, builds.drive)):
        for kind, positions in open_parts.items():
            if f"{kind}.at" in table:
                positions.difference_update(int(one) for one in np.unique(table[f"{kind}.at"][at]))

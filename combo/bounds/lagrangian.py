"""Prices of room, and shares of the fit, that make the bound of the best build low.

Any price of zero or more gives a true bound, so this search need not be exact, and takes a sample of the rows. It is a
subgradient search: the build that looks best lacks room in some checks, whose prices rise, and has some to spare in
others, whose prices fall.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from combo.bounds.chain import (
    ChainProblem,
    Codes,
    MissingCase,
    Multipliers,
    Relaxation,
    RowBounds,
    best_build,
    row_bounds,
)
from combo.candidates.criteria import FULL
from combo.candidates.objectives import ObjectiveBound
from combo.candidates.space import TABLES

Floats = NDArray[np.float64]
SAMPLE = 200
"""Rows of each table that join those on which prices are tried."""
SPLITS = (0.5, 0.25, 0.75, 0.0, 1.0)
PHASES, STEPS = 5, 30
"""How often a sample is drawn, and how many steps are taken on each."""
GATE_FULL = 100_000.0
"""What a gate without a budget is measured in, in place of points."""
PATIENCE = 4
"""Steps without a lower bound after which they are halved."""
FIRST_AIM = 0.1
"""How far below the bound the search aims at first, as a share of all points."""


def initial_multipliers(chain: ChainProblem, level: ObjectiveBound, case: MissingCase) -> Relaxation:
    """The best multipliers of a level in which room has no price."""
    half = Relaxation.of(chain, Multipliers(level, SPLITS[0], np.zeros(len(chain.truck))), case)
    if not level.weight("fit"):
        return half
    few = _taken(chain, _best_rows(chain, half.through))
    views = [replace(half.multipliers, split=split) for split in SPLITS]
    best = min(views, key=lambda own: row_bounds(few, own, case).most())
    return half if best is views[0] else Relaxation.of(chain, best, case)


def optimized_multipliers(
    chain: ChainProblem, relaxation: Relaxation, case: MissingCase, goal: float = -np.inf
) -> Relaxation:
    """Multipliers in which the best build of a case looks little better than it is, from another one on.

    With a `goal`, a level that is reached already, it need not look worse than that. The search goes down on a sample
    of rows; those that look best from where it came to join it for the next phase (column generation).
    """
    last, sample = relaxation, _best_rows(chain, relaxation.through)
    for _ in range(PHASES if _full(relaxation.multipliers.level) else 0):
        if not goal < relaxation.through.most() < np.inf:
            break
        last = Relaxation.of(chain, _descended(_taken(chain, sample), relaxation.multipliers, case, goal), case)
        if last.through.most() < relaxation.through.most():
            relaxation = last
        new = _best_rows(chain, last.through)
        if all(np.isin(new[name], sample[name]).all() for name in TABLES):
            break
        sample = {name: np.union1d(sample[name], new[name]) for name in TABLES}
    return relaxation


def conservative_multipliers(chain: ChainProblem, level: ObjectiveBound, share: float) -> Multipliers:
    """Multipliers that give room in every check a price, a share of all points over what rows differ by: where builds
    that hold are rare, its best rows are in some.
    """
    units = _units(chain, level) if level.weights else np.zeros(len(chain.truck))
    return Multipliers(level, 0.5, units * share)


def gate_multipliers(level: ObjectiveBound, gate: Multipliers, share: float) -> Multipliers:
    """Multipliers in which room in a gate has a price, a share of all points over all of the gate."""
    rate = share * _full(level) / _full(gate.level) if level.weights else 0.0
    return Multipliers(replace(level, cent=level.cent + rate * gate.level.cent), 0.5, rate * gate.prices)


def _full(level: ObjectiveBound) -> float:
    """All points of a level; of a gate what it begins with; 0 for the level of the cost, which needs no prices."""
    if level.weights:
        return float(FULL * sum(level.weights.values()))
    return (level.start or GATE_FULL) if level.is_gate else 0.0


def _descended(chain: ChainProblem, multipliers: Multipliers, case: MissingCase, goal: float) -> Multipliers:
    """The multipliers with the lowest bound on the way down from some."""
    level = multipliers.level
    units, full = _units(chain, level), _full(level)
    lowest, most, aim, waited = multipliers, np.inf, FIRST_AIM * full, 0
    for _ in range(STEPS):
        build = best_build(chain, multipliers, case)
        if build is None:
            break
        if build.most < most - 1.0:
            lowest, most, waited = multipliers, build.most, 0
        else:
            waited += 1
        if waited > PATIENCE:
            multipliers, aim, waited = lowest, aim / 2.0, 0
            continue
        if most <= goal or aim < 1.0:
            break
        moves = (units > 0) & ((multipliers.prices > 0) | (build.room < 0))  # no price falls below zero
        slopes = np.where(moves, units * build.room, 0.0)
        of_split = level.weight("fit") * build.fit_apart
        size = float((slopes * slopes).sum()) + of_split * of_split
        if size <= 0.0:
            break
        step = (build.most - max(goal, most - aim)) / size
        prices = np.maximum(0.0, multipliers.prices - step * slopes * units)
        multipliers = replace(
            multipliers, prices=prices, split=float(np.clip(multipliers.split - step * of_split, 0.0, 1.0))
        )
    return lowest


def _units(chain: ChainProblem, level: ObjectiveBound) -> Floats:
    """By check: all points of a level over the room that rows differ by; 0 for what the truck itself leaves open."""
    spread = np.abs(chain.ballast).max(axis=0, initial=0.0)
    for side in (chain.front, chain.rear):
        for share in side.shares:
            spread = spread + (np.ptp(share.sizes[:, 2:], axis=0) if len(share.sizes) else 0.0)
    full = _full(level)
    return np.where(np.isfinite(chain.truck) & (spread > 0), full / np.where(spread > 0, spread, 1.0), 0.0)


def _best_rows(chain: ChainProblem, through: RowBounds) -> dict[str, Codes]:
    """The rows with the highest bounds."""
    return {name: np.sort(np.argsort(-through.of(name), kind="stable")[:SAMPLE]) for name in TABLES}


def _taken(chain: ChainProblem, sample: dict[str, Codes]) -> ChainProblem:
    """The chain of these corners, and of the drives that belong to them."""
    rows = dict(sample)
    if chain.are_same:
        links = np.unique(chain.front.link[rows["front"]])
        rows["rear"] = np.flatnonzero(np.isin(chain.rear.link, links))
    rows["drive"] = np.flatnonzero(np.isin(chain.drive.tire, chain.rear.tire[rows["rear"]]))
    return chain.take(rows)

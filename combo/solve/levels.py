"""What each level of the key sees of a build, as a straight line: the ground of every bound.

A level is the weighted sum of the points, or one criterion of [order]; the last is the cost. Seen as a line, a build
is worth its fixed points (cruise, fit, stance) and its traction, less so much a cent and so much a gram. The line is
never below the true level: points are rounded down from it, and where a build could fall off its lower end, where
points stop at 0, the chord over that corner takes its place.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from combo.checks.totals import TOTALS
from combo.solve.criteria import FULL, Criterion, Ramp, criteria_of
from combo.solve.reduce import Space

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Level:
    """One level: weight of each criterion, what a cent and a gram take away, and what every build begins with."""

    weights: dict[str, int]
    cent: float
    gram: float
    start: float

    def weight(self, criterion: str) -> int:
        """Weight of a criterion at this level."""
        return self.weights.get(criterion, 0)


def levels_of(space: Space) -> list[Level]:
    """Levels of the key down to the cost, in order."""
    job = space.job
    both = {criterion.name: criterion for criterion in criteria_of(job)}
    sets = [{name: 1} for name in both] if job.order.criteria else [{name: job.weight(name) for name in both}]
    return [*(_level(space, both, weights) for weights in sets), Level({}, cent=1.0, gram=0.0, start=0.0)]


def reaches(beyond: Floats) -> NDArray[np.bool_]:
    """Rows of bounds that can be as good as what they must reach; `beyond` is bound less that, shape (n, levels).

    The first level that differs decides; one unit of slack (a point, a cent) swallows the rounding of the floats.
    """
    undecided = np.ones(len(beyond), dtype=bool)
    reach = np.zeros(len(beyond), dtype=bool)
    for level in range(beyond.shape[1]):
        reach |= undecided & (beyond[:, level] > 1.0)
        undecided &= np.abs(beyond[:, level]) <= 1.0
    return np.asarray(reach | undecided)


@dataclass(frozen=True)
class BallastLine:
    """The least that ballast takes away at a level to bring some load onto the rear axle.

    Any size may be laid and only each slot's own limit counts, so it is a convex broken line through the points
    (reach_g, loss), and what it says is never above the truth.
    """

    reach_g: Floats
    loss: Floats

    def best(self, level: Level, space: Space, load_g: Floats, grip: Floats) -> Floats:
        """Traction points less what ballast takes away, with the ballast that is best for each rear load and grip.

        Where a rear load is wanted, only with ballast enough to reach it; 0 where the rear load is not known.
        """
        need = np.maximum(0.0, rear_target_g(space) - load_g)
        to_full = np.maximum(0.0, _full_thrust(space) / grip - load_g) if level.weight("traction") else need
        value = np.full(np.shape(load_g), -np.inf)
        for choice in (*self.reach_g, need, to_full):
            laid = np.clip(np.maximum(choice, need), 0.0, self.reach_g[-1])
            worth = traction_worth(space, level, load_g + laid, grip) - np.interp(laid, self.reach_g, self.loss)
            value = np.maximum(value, worth)
        return np.where(np.isnan(load_g), 0.0, value)


def traction_worth(space: Space, level: Level, load_g: Floats, grip: Floats) -> Floats:
    """Traction points of rear loads at a level; minus infinity below the wanted rear load; 0 where not known."""
    share = np.clip(load_g * grip / _full_thrust(space), 0.0, 1.0)
    worth = level.weight("traction") * FULL * share
    missed = load_g < rear_target_g(space) - 1.0
    return np.where(np.isnan(load_g), 0.0, np.where(missed, -np.inf, worth))


def ballast_line(space: Space, level: Level, price: float = 0.0) -> BallastLine:
    """Slots filled one after another, the one that takes the least for its rear load first; `price` adds to a cent.

    Within a station every slot brings the same rear load a gram, so filling by rate up to the station's load is the
    least that any mix of fractions takes away. What the number of items allows ends the line.
    """
    rear, taken = space.slots["slot.rear_g"].to_numpy(dtype=float), slot_loss(space, level, price)
    useful = np.flatnonzero(rear > 0)
    order = useful[np.argsort(taken[useful] / rear[useful], kind="stable")]
    items = _filled(space, order, np.inf)
    reach = np.concatenate([[0.0], np.cumsum(rear[order] * items)])
    loss = np.concatenate([[0.0], np.cumsum(taken[order] * items)])
    end = most_rear_g(space)
    return BallastLine(np.minimum(reach, end), np.minimum(loss, np.interp(end, reach, loss)))


def most_rear_g(space: Space) -> float:
    """No layout brings more rear load than the heaviest items, as many as may be laid, up to each station's load."""
    rear = space.slots["slot.rear_g"].to_numpy(dtype=float)
    order = np.argsort(-rear, kind="stable")
    order = order[rear[order] > 0]
    return float((rear[order] * _filled(space, order, float(space.job.ballast.max_items))).sum())


def _filled(space: Space, order: NDArray[np.int64], items: float) -> Floats:
    """How many items, in fractions, go into slots filled in an order: by slot, by station and by number in all."""
    most, mass = (space.slots[name].to_numpy(dtype=float) for name in ("slot.most", "slot.mass_g"))
    names = space.slots["station.name"].to_numpy()
    left_g = {station.name: station.max_mass_kg * 1000.0 + 1.0 for station in space.job.ballast.stations}
    filled = np.zeros(len(order))
    for place, slot in enumerate(order):
        by_station = np.inf if np.isnan(left_g[names[slot]]) else left_g[names[slot]] / mass[slot]
        filled[place] = min(most[slot], by_station, items)
        left_g[names[slot]] -= filled[place] * mass[slot]
        items -= filled[place]
    return filled


def slot_loss(space: Space, level: Level, price: float = 0.0) -> Floats:
    """What one item in each slot takes away."""
    cents, grams = (space.slots[name].to_numpy(dtype=float) for name in ("slot.cost_cents", "slot.mass_g"))
    loss: Floats = (level.cent + price) * cents + level.gram * grams
    return loss


def rear_target_g(space: Space) -> float:
    """Rear load that every build whose load is known must reach; minus infinity where none is asked."""
    target = TOTALS["rear_load_target_g"].start(space.job)
    return -np.inf if np.isnan(target) else target


def _full_thrust(space: Space) -> float:
    return next((float(c.ramp.full) for c in criteria_of(space.job) if c.name == "traction"), 1.0)


def _level(space: Space, both: dict[str, Criterion], weights: dict[str, int]) -> Level:
    rates = {"cost": 0.0, "weight": 0.0}
    start = 0.0
    for name in rates:
        if weights.get(name, 0):
            at_nothing, rates[name] = _line_over(both[name].ramp, *_range(space, both[name].total))
            rates[name] *= weights[name]
            start += weights[name] * at_nothing
    return Level(weights, rates["cost"], rates["weight"], start)


def _line_over(ramp: Ramp, smallest: float, largest: float) -> tuple[float, float]:
    """Straight line that is never below the points of a ramp falling to 0 at `ramp.zero`: its value at 0, its fall.

    The ramp itself, or, where a size may lie beyond its end, the chord from the smallest size to the largest.
    """
    if largest <= ramp.zero:
        return float(FULL), FULL / ramp.zero
    points = max(0.0, FULL * (1.0 - smallest / ramp.zero))
    fall = points / (largest - smallest) if largest > smallest else 0.0
    return points + fall * smallest, fall


def _range(space: Space, name: str) -> tuple[float, float]:
    """Ends between which a total lies in every build that keeps the budget."""
    total = TOTALS[name]
    tables = ((space.front, total.front), (space.rear, total.rear), (space.drive, total.drive))
    columns = [np.nan_to_num(rows[column].to_numpy(dtype=float)) for rows, column in tables if column and len(rows)]
    smallest = sum(float(own.min()) for own in columns)
    if name == "cost_cents" and space.job.money.budget_cents:
        return smallest, float(space.job.money.budget_cents)
    return smallest, sum(float(own.max()) for own in columns) + _most_ballast(space, total.slot)


def _most_ballast(space: Space, column: str) -> float:
    """No layout adds more to a column than this: by the slots' own limits, by the number of items, by the stations."""
    each, most = space.slots[column].to_numpy(dtype=float), space.slots["slot.most"].to_numpy(dtype=float)
    plan = space.job.ballast
    all_stations_g = sum(station.max_mass_kg * 1000.0 + 1.0 for station in plan.stations)
    stations_g = all_stations_g if column == "slot.mass_g" else np.inf
    ends = (float((each * most).sum()), plan.max_items * float(each.max(initial=0.0)), stations_g)
    return float(np.nanmin(ends))

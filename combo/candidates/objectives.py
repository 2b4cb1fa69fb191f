"""What each level of the key sees of a build, as a straight line: the ground of every bound.

A level is the weighted sum of the points, or one criterion of [order]; the last is the cost. Seen as a line, a build
is worth its fixed points (cruise, fit, stance) and its traction, less so much a cent and so much a gram. The line is
never below the true level: points are rounded down from it, and where a build could fall off its lower end, where
points stop at 0, the chord over that corner takes its place.
"""

from __future__ import annotations

import dataclasses
import functools
import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from combo.candidates.criteria import FULL, Criterion, Ramp, criteria_of, criterion_of, most_front_grip
from combo.candidates.relaxed_limits import BUDGET, REAR_LOAD, RelaxedLimits
from combo.checks.table import Given
from combo.checks.totals import TOTALS
from combo.job import Job

Floats = NDArray[np.float64]
NO_CAPS: Mapping[str, float] = MappingProxyType({})
Ends = dict[str, tuple[float, float]]
"""By name of a total: between what its rows lie, ballast left out, in every build."""


@dataclass(frozen=True)
class ObjectiveBound:
    """One level: weight of each criterion, what a cent and a gram take away, and what every build begins with.

    Of `start` so much is `of_cost`, and so much `of_mass`: a build of which some mass is not known earns nothing by its
    weight. Every build whose rear load is known has `rear_least_g` of it. `full_thrust`, in the unit of rear load times
    grip, earns all points of traction. The line of a level that is clipped falls below 0, where its points stop. A gate
    is no level of the key: what a build has left of the budget, and room at some prices; a build that holds is worth no
    less than zero in it.
    """

    weights: dict[str, int]
    cent: float
    gram: float
    start: float
    of_mass: float = 0.0
    of_cost: float = 0.0
    rear_least_g: float = -np.inf
    full_thrust: float = 1.0
    is_gate: bool = False
    is_clipped: bool = False

    def weight(self, criterion: str) -> int:
        """Weight of a criterion at this level."""
        return self.weights.get(criterion, 0)

    def clipped(self, bound: Floats) -> Floats:
        """Bounds by the line, as bounds of points: these stop at 0, where a build has any at all."""
        return np.where(np.isneginf(bound), bound, np.maximum(bound, 0.0)) if self.is_clipped else bound

    def least(self, points: Floats) -> Floats:
        """What the line must reach for so many points: anything where none are asked."""
        return np.where(np.less_equal(points, 0.0), -np.inf, points) if self.is_clipped else points

    def without_mass(self) -> ObjectiveBound:
        """The level as a build sees it of which some mass is not known."""
        return dataclasses.replace(self, gram=0.0, start=self.start - self.of_mass, of_mass=0.0)


def objective_bounds(
    job: Job, slots: Given, ends: Ends, allowed: RelaxedLimits, caps: Mapping[str, float] = NO_CAPS
) -> tuple[ObjectiveBound, ...]:
    """Levels of the key down to the cost, in order, for builds whose rows add up to totals between these ends, and
    whose totals are no more than the caps.
    """
    both = {criterion.name: criterion for criterion in criteria_of(job)}
    sets = [{name: 1} for name in both] if job.order.criteria else [{name: job.weight(name) for name in both}]
    between = {name: _with_ballast(job, slots, name, own, allowed) for name, own in ends.items()}
    between = {name: (low, max(low, min(high, caps.get(name, high)))) for name, (low, high) in between.items()}
    levels = [_level(between, both, weights) for weights in sets]
    every = (*levels, ObjectiveBound({}, cent=1.0, gram=0.0, start=0.0))
    rear_least_g, full_thrust = _rear_least_g(job, allowed), _full_thrust(job)
    share = _front_share(job, slots, ends["parts_g"][1]) / full_thrust
    return tuple(
        dataclasses.replace(
            level,
            rear_least_g=rear_least_g,
            full_thrust=full_thrust,
            start=level.start + level.weight("traction") * FULL * share,
        )
        for level in every
    )


GATE_SLACK = 1.0
"""By how much a gate may be missed: a cent swallows the rounding of the floats."""


def without_points(level: ObjectiveBound, name: str) -> ObjectiveBound:
    """A level of weights without the points of the cost or of the weight, which a build far from their zero has not."""
    if name == "weight":
        return dataclasses.replace(level, start=level.start - level.of_mass, gram=0.0, of_mass=0.0)
    return dataclasses.replace(level, start=level.start - level.of_cost, cent=0.0, of_cost=0.0)


def cap_of(job: Job, level: ObjectiveBound, name: str, least: float, most_without: float) -> float:
    """The most that the total of a falling criterion may be in a build of at least so many points, of which it has
    `most_without` at most by all else.
    """
    criterion = criterion_of(job, name)
    assert criterion is not None
    share = (least - most_without) / (level.weight(name) * FULL)
    return criterion.ramp.zero * (1.0 - share) + 1.0


def gate_of(job: Job, level: ObjectiveBound, allowed: RelaxedLimits) -> ObjectiveBound:
    """The gate of a job: what is left of the budget at the level of the cost; without a budget nothing but room."""
    over_cents, budget = allowed.at(BUDGET), job.money.budget_cents
    if budget is None or not np.isfinite(over_cents):
        return dataclasses.replace(level, cent=0.0, start=0.0, is_gate=True)
    return dataclasses.replace(level, cent=1.0, start=budget + over_cents, is_gate=True)


def _front_share(job: Job, slots: Given, parts_g: float) -> float:
    """The most thrust, in the unit of rear load times grip, that a driven front axle gives in any build.

    All parts twice, for the spare, and all ballast may lie on it: what is known of the rear load alone is bounded.
    """
    if not job.axle.is_front_driven:
        return 0.0
    bare_g = TOTALS["truck_light_g"].start(job) - TOTALS["rear_light_g"].start(job)
    most_g = bare_g + 2.0 * parts_g + _most_ballast(job, slots, "slot.mass_g")
    return max(0.0, float(np.nan_to_num(most_g)) * most_front_grip(job))


def may_beat(beyond: Floats) -> NDArray[np.bool_]:
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
    (reach_g, loss), and what it says is never above the truth. Slots are filled in their `order`, as far as
    `reach_of` tells; others hold what `helps` in them, and `bonus` is what that adds.
    """

    level: ObjectiveBound
    reach_g: Floats
    loss: Floats
    order: NDArray[np.int64]
    reach_of: Floats
    items: Floats
    helps: Floats
    bonus: float

    def best(
        self, load_g: Floats, grip: Floats, most_g: Floats | float = np.inf, least_g: Floats | float = 0.0
    ) -> Floats:
        """Traction points less what ballast takes away, with the ballast that is best for each rear load and grip.

        Where a rear load is wanted, only with ballast enough to reach it; on the rear axle no less of it than `least_g`
        and no more than `most_g`; minus infinity where that cannot be. Where the rear load is not known it earns
        nothing.
        """
        value = np.maximum.reduce(
            [
                traction_worth(self.level, load_g + laid, grip) - np.interp(laid, self.reach_g, self.loss)
                for laid in self._choices(load_g, grip, most_g, least_g)
            ]
        )
        most = np.minimum(most_g, self.reach_g[-1])
        value = np.where(np.less(most_g, 0.0) | np.greater(least_g, most + 1.0), -np.inf, value)
        return np.where(np.isnan(load_g), max(0.0, -float(self.loss.min())), value) + self.bonus

    def laid(self, load_g: float, grip: float, most_g: float, least_g: float) -> Floats:
        """How many items lie in each slot where `best` is reached, in fractions."""
        choices = np.concatenate(self._choices(np.array([load_g]), np.array([grip]), most_g, least_g))
        worth = traction_worth(self.level, load_g + choices, np.full(len(choices), grip))
        at = choices[int(np.argmax(np.nan_to_num(worth - np.interp(choices, self.reach_g, self.loss), nan=-np.inf)))]
        laid, reach = self.helps.copy(), np.diff(self.reach_of)
        share = np.divide(at - self.reach_of[:-1], reach, out=np.zeros(len(reach)), where=reach > 0)
        np.add.at(laid, self.order, self.items * np.clip(share, 0.0, 1.0))
        return laid

    def _choices(
        self, load_g: Floats, grip: Floats, most_g: Floats | float, least_g: Floats | float
    ) -> tuple[Floats, Floats]:
        """Rear load that ballast brings where `best` may be reached: what is needed or pays for itself; or, beyond
        that, what earns more traction than the line takes, up to full traction.

        One of these is the best, for a gram earns the same until full traction and nothing beyond it, and the line
        takes no less a gram the more is laid. Nor does a gram earn anything on an axle that is not pressed down yet. A
        load that is not known needs nothing.
        """
        bends_g, rates = self._bends
        earned = self.level.weight("traction") * FULL * grip / self.level.full_thrust
        to_full = self.level.full_thrust / grip - load_g
        pays = np.fmax(bends_g[np.searchsorted(rates, 0.0)], self.level.rear_least_g - load_g)
        least = np.maximum(least_g, pays)
        more = np.maximum(least, np.fmin(bends_g[np.searchsorted(rates, earned)], to_full))
        most = np.maximum(np.minimum(most_g, self.reach_g[-1]), 0.0)
        return np.clip(least, 0.0, most), np.clip(more, 0.0, most)

    @functools.cached_property
    def _bends(self) -> tuple[Floats, Floats]:
        """Rear load of its points, each once, and what a gram takes away after each of them but the last."""
        at = np.flatnonzero(np.diff(self.reach_g, prepend=-np.inf) > 0)
        return self.reach_g[at], np.diff(self.loss[at]) / np.diff(self.reach_g[at])


def traction_worth(level: ObjectiveBound, load_g: Floats, grip: Floats) -> Floats:
    """Traction points of rear loads at a level; minus infinity below the wanted rear load; 0 where not known."""
    share = np.clip(load_g * grip / level.full_thrust, 0.0, 1.0)
    worth = level.weight("traction") * FULL * share
    missed = load_g < level.rear_least_g - 1.0
    return np.where(np.isnan(load_g), 0.0, np.where(missed, -np.inf, worth))


def ballast_line(job: Job, slots: Given, level: ObjectiveBound, charge: Floats | float = 0.0) -> BallastLine:
    """Slots filled one after another, the one that takes the least for its rear load first.

    `charge` is what an item of each slot takes away beside its cost and mass. Within a station every slot brings the
    same rear load a gram, so filling by rate up to the station's load is the least that any mix of fractions takes
    away. What the number of items allows ends the line.
    """
    rear, taken = slots["slot.rear_g"], slot_loss(slots, level) + charge
    useful = np.flatnonzero(rear > 0)
    order = useful[np.argsort(taken[useful] / rear[useful], kind="stable")]
    items = _filled(job, slots, order, np.inf)
    reach = np.concatenate([[0.0], np.cumsum(rear[order] * items)])
    loss = np.concatenate([[0.0], np.cumsum(taken[order] * items)])
    end = most_rear_g(job, slots)
    helps = np.where((rear <= 0) & (taken < 0), slots["slot.most"], 0.0).astype(float)
    inside = reach < end
    return BallastLine(
        level,
        np.append(reach[inside], end),
        np.append(loss[inside], np.interp(end, reach, loss)),
        order,
        reach,
        items,
        helps,
        float(-(taken * helps).sum()),
    )


def most_rear_g(job: Job, slots: Given) -> float:
    """No layout brings more rear load than the heaviest items, as many as may be laid, up to each station's load."""
    rear = slots["slot.rear_g"]
    order = np.argsort(-rear, kind="stable")
    order = order[rear[order] > 0]
    return float((rear[order] * _filled(job, slots, order, float(job.ballast.max_items))).sum())


def _filled(job: Job, slots: Given, order: NDArray[np.int64], items: float) -> Floats:
    """How many items, in fractions, go into slots filled in an order: by slot, by station and by number in all."""
    most, mass, names = (slots[name].tolist() for name in ("slot.most", "slot.mass_g", "station.name"))
    left_g = {station.name: station.max_mass_kg * 1000.0 + 1.0 for station in job.ballast.stations}
    filled = []
    for slot in order.tolist():
        by_station = math.inf if math.isnan(left_g[names[slot]]) else left_g[names[slot]] / mass[slot]
        filled.append(float(min(most[slot], by_station, items)))
        left_g[names[slot]] -= filled[-1] * mass[slot]
        items -= filled[-1]
    return np.array(filled)


def slot_loss(slots: Given, level: ObjectiveBound) -> Floats:
    """What one item in each slot takes away."""
    loss: Floats = level.cent * slots["slot.cost_cents"] + level.gram * slots["slot.mass_g"]
    return loss


def _rear_least_g(job: Job, allowed: RelaxedLimits) -> float:
    """Rear load that every build whose load is known must reach; minus infinity where none is asked."""
    target = TOTALS["rear_load_target_g"].start(job) - 1000.0 * allowed.at(REAR_LOAD)
    return -np.inf if np.isnan(target) else target


def _full_thrust(job: Job) -> float:
    """1 where traction does not count."""
    traction = criterion_of(job, "traction")
    return float(traction.ramp.full) if traction else 1.0


def _level(ends: Ends, both: dict[str, Criterion], weights: dict[str, int]) -> ObjectiveBound:
    rates = {"cost": 0.0, "weight": 0.0}
    starts = dict.fromkeys(rates, 0.0)
    alone = sum(weight > 0 for weight in weights.values()) == 1
    for name in rates:
        if weights.get(name, 0):
            at_nothing, rates[name] = _line_over(both[name].ramp, *ends[both[name].total], is_clipped=alone)
            rates[name] *= weights[name]
            starts[name] = weights[name] * at_nothing
    is_clipped = alone and bool(weights.get("cost", 0) or weights.get("weight", 0))
    return ObjectiveBound(
        weights,
        rates["cost"],
        rates["weight"],
        sum(starts.values()),
        starts["weight"],
        starts["cost"],
        is_clipped=is_clipped,
    )


def _line_over(ramp: Ramp, smallest: float, largest: float, *, is_clipped: bool) -> tuple[float, float]:
    """Straight line that is never below the points of a ramp falling to 0 at `ramp.zero`: its value at 0, its fall.

    The ramp itself, or, where a size may lie beyond its end, the chord from the smallest size to the largest; where the
    points stand alone the ramp falls on below 0, which `ObjectiveBound.clipped` sees to.
    """
    if largest <= ramp.zero or is_clipped:
        return float(FULL), FULL / ramp.zero
    points = max(0.0, FULL * (1.0 - smallest / ramp.zero))
    fall = points / (largest - smallest) if largest > smallest else 0.0
    return points + fall * smallest, fall


def _with_ballast(
    job: Job, slots: Given, name: str, of_rows: tuple[float, float], allowed: RelaxedLimits
) -> tuple[float, float]:
    """Ends between which a total lies in every build that keeps the budget."""
    smallest, largest = of_rows
    over_cents = allowed.at(BUDGET)
    if name == "cost_cents" and job.money.budget_cents is not None and np.isfinite(over_cents):
        return smallest, max(smallest, job.money.budget_cents + over_cents)
    return smallest, largest + _most_ballast(job, slots, TOTALS[name].slot)


def _most_ballast(job: Job, slots: Given, column: str) -> float:
    """No layout adds more to a column than this: by the slots' own limits, by the number of items, by the stations."""
    each, most = slots[column], slots["slot.most"]
    all_stations_g = sum(station.max_mass_kg * 1000.0 + 1.0 for station in job.ballast.stations)
    stations_g = all_stations_g if column == "slot.mass_g" else np.inf
    ends = (float((each * most).sum()), job.ballast.max_items * float(each.max(initial=0.0)), stations_g)
    return float(np.nanmin(ends))

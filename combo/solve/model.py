"""The space of builds as a CP-SAT model. The only importer of ortools.

A boolean a row, exactly one of each table; a whole number a ballast slot; every total the same integer sum that the
checks and the criteria add. The model answers three questions: the best build by a level of the key, every build
under a bound (up to a limit), and whether a build with some part exists.
"""

from __future__ import annotations

import itertools
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

import numpy as np
from ortools.sat.python import cp_model

from combo.checks.check import Check
from combo.checks.run import asked_checks, signed_column
from combo.checks.totals import TOTALS
from combo.solve.builds import Builds, ballast_limits, gear_ranks
from combo.solve.criteria import FULL, Criterion, Ramp, criteria_of
from combo.solve.reduce import Space

LARGEST_PACKED = 2**50
"""Levels of the key are packed into one objective up to this size: exact in the solver and in its linear relaxation."""

Expression = Any  # ortools' linear expressions, of which int is one


class Outcome(StrEnum):
    """How a search ended."""

    COMPLETE = "complete"
    NONE = "no build"
    CUT_SHORT = "cut short"


@dataclass(frozen=True)
class Level:
    """One whole number of the key: its expression in the model and the values it may take."""

    expression: Expression
    low: int
    high: int


@dataclass(frozen=True)
class Chunk:
    """Consecutive levels packed into one whole number; comparing it compares them in order."""

    expression: Expression
    levels: range
    low: tuple[int, ...]
    size: tuple[int, ...]

    def value(self, key: np.ndarray) -> np.ndarray:
        """Packed value of keys, shape (n, levels of the whole key)."""
        packed = np.zeros(len(key), dtype=np.int64)
        for level, low, size in zip(self.levels, self.low, self.size, strict=True):
            packed = packed * size + (key[:, level] - low)
        return packed


@dataclass(frozen=True)
class Bound:
    """A chunk held at most at a value, or with `exactly` at it."""

    chunk: Chunk
    value: int
    exactly: bool = False


@dataclass
class Clock:
    """Time left of a limit; without one there is no end. `cut_short` remembers that it ran out."""

    limit_s: float | None = None
    started: float = field(default_factory=time.monotonic)
    cut_short: bool = False

    def left_s(self) -> float | None:
        """Seconds left, never negative; None without a limit."""
        if self.limit_s is None:
            return None
        return max(0.0, self.limit_s - (time.monotonic() - self.started))


class BuildModel:
    """CP-SAT model of a space."""

    def __init__(self, space: Space, *, workers: int = 0, clock: Clock | None = None) -> None:
        self.space, self._workers, self.clock = space, workers, clock or Clock()
        self._model = cp_model.CpModel()
        tables = {"front": space.front, "rear": space.rear, "drive": space.drive}
        self._rows = {name: [self._model.new_bool_var(f"{name}{i}") for i in range(len(table))] for name, table in tables.items()}
        for rows in self._rows.values():
            self._model.add_exactly_one(rows)
        most = space.slots["slot.most"].to_numpy(dtype=np.int64) if len(space.slots) else []
        self._counts = [self._model.new_int_var(0, int(high), f"count{i}") for i, high in enumerate(most)]
        self._belong_together()
        self._unknown: dict[str, Any] = {}
        for check in asked_checks(space.job, "build"):
            self._hold(check)
        self.chunks = _packed(self._levels())

    def best(self, chunk: Chunk, bounds: Sequence[Bound]) -> tuple[Outcome, Builds | None]:
        """The build with the smallest value of a chunk under the bounds."""
        model = self._bounded(bounds)
        model.minimize(chunk.expression)
        solver = self._solver(self._workers)
        status = solver.solve(model)
        if status == cp_model.OPTIMAL:
            return Outcome.COMPLETE, self._found(solver)
        if status == cp_model.INFEASIBLE:
            return Outcome.NONE, None
        return self._cut_short(status), self._found(solver) if status == cp_model.FEASIBLE else None

    def every(self, bounds: Sequence[Bound], limit: int) -> tuple[Outcome, Builds]:
        """All builds under the bounds, up to a limit; COMPLETE where there are no more."""
        solver = self._solver(1)  # enumeration is a search of one worker
        solver.parameters.enumerate_all_solutions = True
        solver.parameters.linearization_level = 0  # at each of many solutions the relaxation costs more than it cuts
        collector = _Collector(self._read, limit)
        status = solver.solve(self._bounded(bounds), collector)
        builds = _builds(collector.found, len(self._counts))
        if status in (cp_model.OPTIMAL, cp_model.INFEASIBLE):
            return Outcome.COMPLETE, builds
        if len(collector.found) >= limit:
            return Outcome.CUT_SHORT, builds
        return self._cut_short(status), builds

    def one_with(self, rows: dict[str, list[int]], slots: list[int]) -> tuple[Outcome, Builds | None]:
        """Some build that holds at least one of these rows or has a count above zero in one of these slots."""
        model = self._model.clone()
        wanted = [self._rows[name][i] for name, positions in rows.items() for i in positions]
        for slot in slots:
            laid = model.new_bool_var(f"laid{slot}")
            model.add(self._counts[slot] >= 1).only_enforce_if(laid)
            wanted.append(laid)
        model.add_bool_or(wanted)
        solver = self._solver(self._workers)
        status = solver.solve(model)
        if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return Outcome.COMPLETE, self._found(solver)
        return (Outcome.NONE if status == cp_model.INFEASIBLE else self._cut_short(status)), None

    def _cut_short(self, status: Any) -> Outcome:
        if status == cp_model.MODEL_INVALID:
            raise AssertionError(f"the model is not valid: {self._model.validate()}")
        self.clock.cut_short = True
        return Outcome.CUT_SHORT

    def _solver(self, workers: int) -> cp_model.CpSolver:
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = workers
        solver.parameters.random_seed = 1
        # The rows are reduced before they get here: on such models presolve took ten times what the search took.
        solver.parameters.cp_model_presolve = False
        left = self.clock.left_s()
        if left is not None:
            solver.parameters.max_time_in_seconds = left
        return solver

    def _bounded(self, bounds: Sequence[Bound]) -> cp_model.CpModel:
        model = self._model.clone()
        for bound in bounds:
            expression = bound.chunk.expression
            model.add(expression == bound.value if bound.exactly else expression <= bound.value)
        return model

    def _found(self, solver: cp_model.CpSolver) -> Builds:
        return _builds([self._read(solver.response_proto.solution)], len(self._counts))

    def _read(self, solution: Sequence[int]) -> list[int]:
        """Positions of the chosen rows, and the counts, from the values of all variables: rows stand first."""
        whole, positions, start = list(solution), [], 0
        for rows in self._rows.values():
            positions.append(whole.index(1, start) - start)
            start += len(rows)
        return [*positions, *whole[start : start + len(self._counts)]]

    def _belong_together(self) -> None:
        """The drive is on the rear corner's tire; all round, front and rear corner share wheel and tire; ballast limits."""
        space = self.space
        self._equal_groups("rear", space.rear[["tire.at"]], "drive", space.drive[["tire.at"]])
        if space.job.job.same_all_round:
            pair = ["wheel.at", "tire.at"]
            self._equal_groups("front", space.front[pair], "rear", space.rear[pair])
        for limit in ballast_limits(space):
            self._model.add(_dot(limit.each, self._counts) <= limit.most)

    def _equal_groups(self, one: str, of_one: Any, other: str, of_other: Any) -> None:
        groups: dict[Any, tuple[list[Any], list[Any]]] = {}
        for side, name, table in ((0, one, of_one), (1, other, of_other)):
            for row, key in zip(self._rows[name], table.itertuples(index=False, name=None), strict=True):
                groups.setdefault(key, ([], []))[side].append(row)
        for left, right in groups.values():
            self._model.add(sum(left) == sum(right))

    def _total(self, name: str) -> Level | None:
        """A total as an expression with its range; None where the truck leaves it not known."""
        total, base = TOTALS[name], TOTALS[name].base(self.space.job)
        if np.isnan(base):
            return None
        expression, low, high = int(base), int(base), int(base)
        for table_name in self._rows:
            column = getattr(total, table_name)
            if column:
                table = getattr(self.space, table_name)
                adds = np.nan_to_num(signed_column(table, column)).astype(np.int64)
                expression = expression + _dot(adds, self._rows[table_name])
                low, high = low + int(adds.min(initial=0)), high + int(adds.max(initial=0))
        if total.slot and self._counts:
            adds = self.space.slots[total.slot].to_numpy(dtype=np.int64)
            ends = adds * self.space.slots["slot.most"].to_numpy(dtype=np.int64)
            expression = expression + _dot(adds, self._counts)
            low, high = low + int(np.minimum(ends, 0).sum()), high + int(np.maximum(ends, 0).sum())
        return Level(expression, low, high)

    def _not_known(self, *names: str) -> Any:
        """Literal that holds where a chosen row leaves one of the totals not known; None where no row does."""
        rows = []
        for name, table_name in itertools.product(names, self._rows):
            column = getattr(TOTALS[name], table_name)
            if column:
                absent = np.isnan(signed_column(getattr(self.space, table_name), column))
                rows += [self._rows[table_name][i] for i in np.flatnonzero(absent)]
        if not rows:
            return None
        literal = self._model.new_bool_var(f"not_known_{'_'.join(names)}")
        self._model.add_bool_or(rows).only_enforce_if(literal)
        for row in rows:
            self._model.add_implication(row, literal)
        return literal

    def _hold(self, check: Check) -> None:
        """A whole-build check; where it is unverified it does not restrict, except that `strict` admits none such."""
        bound, total = self._total(check.bound), self._total(check.total)
        if bound is None or total is None:
            if self.space.job.job.strict:
                self._model.add_bool_or([])
            return
        room = bound.expression - total.expression
        constraint = self._model.add(room >= 0 if check.sense == "at_most" else room <= 0)
        not_known = self._not_known(check.bound, check.total)
        if not_known is None:
            return
        if self.space.job.job.strict:
            self._model.add(not_known == 0)
        else:
            constraint.only_enforce_if(~not_known)

    def _levels(self) -> list[Level]:
        """The key of combo.solve.builds.keys, level by level."""
        job = self.space.job
        points = [(criterion, self._points(criterion)) for criterion in criteria_of(job)]
        if job.order.criteria:
            first = [Level(-level, -FULL, 0) for _, level in points]
        else:
            weights = [job.weight(criterion.name) for criterion, _ in points]
            score = sum(weight * level for weight, (_, level) in zip(weights, points, strict=True))
            first = [Level(-score, -FULL * sum(weights), 0)]
        cost = self._total("cost_cents")
        assert cost is not None
        ranks = gear_ranks(self.space)
        gear = Level(_dot(ranks, self._rows["drive"]), 0, int(ranks.max(initial=0)))
        sides = [Level(_dot(range(len(rows)), rows), 0, max(0, len(rows) - 1))
                 for rows in (self._rows["front"], self._rows["rear"])]  # fmt: skip
        most = self.space.slots["slot.most"] if len(self.space.slots) else []
        counts = [Level(count, 0, int(high)) for count, high in zip(self._counts, most, strict=True)]
        return [*first, cost, *sides, gear, *counts]

    def _points(self, criterion: Criterion) -> Expression:
        if criterion.kind == "drive":
            return _dot(self.space.drive["drive.cruise"].to_numpy(dtype=np.int64), self._rows["drive"])
        if criterion.kind == "corners":
            return self._lesser_corner()
        names = [name for name in (criterion.total, criterion.added) if name]
        if criterion.kind == "deviation" and criterion.wanted is None:
            names = [criterion.added]
        levels = [self._total(name) for name in names]
        if any(level is None for level in levels):
            return 0
        known = [level for level in levels if level is not None]
        measure = {"total": self._plain, "thrust": self._thrust, "deviation": self._deviation}[criterion.kind]
        points = self._on_ramp(criterion.ramp, measure(criterion, known))
        not_known = self._not_known(*names)
        return points if not_known is None else self._zero_where(not_known, points)

    def _lesser_corner(self) -> Any:
        sides = [_dot(getattr(self.space, name)["corner.fit"].to_numpy(dtype=np.int64), self._rows[name]) for name in ("front", "rear")]
        least = self._model.new_int_var(0, FULL, "fit")
        self._model.add_min_equality(least, sides)
        return least

    def _plain(self, criterion: Criterion, levels: list[Level]) -> Level:
        return levels[0]

    def _thrust(self, criterion: Criterion, levels: list[Level]) -> Level:
        """Rear load times the grip of the chosen differential: one linear equation for each grip that occurs."""
        load, grips = levels[0], self.space.drive["drive.grip"].to_numpy(dtype=np.int64)
        ends = [end * int(grip) for end in (load.low, load.high) for grip in np.unique(grips)] or [0]
        thrust = self._model.new_int_var(min(ends), max(ends), "thrust")
        for grip in np.unique(grips):
            has_grip = self._model.new_bool_var(f"grip{grip}")
            self._model.add(sum(self._rows["drive"][i] for i in np.flatnonzero(grips == grip)) == has_grip)
            self._model.add(thrust == int(grip) * load.expression).only_enforce_if(has_grip)
        return Level(thrust, min(ends), max(ends))

    def _deviation(self, criterion: Criterion, levels: list[Level]) -> Level:
        if criterion.wanted is None:
            return levels[0]
        size, added = levels
        farthest = max(abs(size.low - criterion.wanted), abs(size.high - criterion.wanted))
        away = self._model.new_int_var(0, farthest, "away")
        self._model.add_abs_equality(away, size.expression - criterion.wanted)
        return Level(away + added.expression, added.low, farthest + added.high)

    def _on_ramp(self, ramp: Ramp, size: Level) -> Any:
        """Whole-number division, rounded down, then held between 0 and 10000: what `Ramp.score` does."""
        step = 1 if ramp.full > ramp.zero else -1
        divisor = step * (ramp.full - ramp.zero)
        dividend = FULL * step * (size.expression - ramp.zero)
        ends = [FULL * step * (end - ramp.zero) // divisor for end in (size.low, size.high)]
        quotient = self._model.new_int_var(min(ends), max(ends), "quotient")
        self._model.add(divisor * quotient <= dividend)
        self._model.add(dividend <= divisor * quotient + (divisor - 1))
        if min(ends) >= 0 and max(ends) <= FULL:
            return quotient
        floor = self._model.new_int_var(0, max(0, *ends), "not_below_0")
        self._model.add_max_equality(floor, [quotient, 0])
        points = self._model.new_int_var(0, FULL, "points")
        self._model.add_min_equality(points, [floor, FULL])
        return points

    def _zero_where(self, not_known: Any, points: Any) -> Any:
        counted = self._model.new_int_var(0, FULL, "counted")
        self._model.add(counted == points).only_enforce_if(~not_known)
        self._model.add(counted == 0).only_enforce_if(not_known)
        return counted


class _Collector(cp_model.CpSolverSolutionCallback):
    """Keeps what `read` makes of each solution; stops the search at a limit."""

    def __init__(self, read: Callable[[Sequence[int]], list[int]], limit: int) -> None:
        super().__init__()
        self._read, self._limit = read, limit
        self.found: list[list[int]] = []

    def on_solution_callback(self) -> None:
        """Called by the solver at each solution."""
        self.found.append(self._read(self.response_proto.solution))
        if len(self.found) >= self._limit:
            self.stop_search()


def _builds(found: list[list[int]], slots: int) -> Builds:
    table = np.array(found, dtype=np.int64).reshape(len(found), 3 + slots)
    return Builds(table[:, 0], table[:, 1], table[:, 2], table[:, 3:])


def _dot(sizes: Any, variables: list[Any]) -> Any:
    return cp_model.LinearExpr.weighted_sum(variables, [int(size) for size in sizes]) if len(variables) else 0


def _packed(levels: list[Level]) -> list[Chunk]:
    """Levels in order, as few whole numbers as hold them."""
    chunks: list[Chunk] = []
    at = 0
    while at < len(levels):
        end, size = at, 1
        while end < len(levels) and size * _size(levels[end]) <= LARGEST_PACKED:
            size *= _size(levels[end])
            end += 1
        end = max(end, at + 1)
        expression: Expression = 0
        for level in levels[at:end]:
            expression = expression * _size(level) + (level.expression - level.low)
        lows, sizes = (tuple(size_of(level) for level in levels[at:end]) for size_of in (_low, _size))
        chunks.append(Chunk(expression, range(at, end), lows, sizes))
        at = end
    return chunks


def _size(level: Level) -> int:
    return level.high - level.low + 1


def _low(level: Level) -> int:
    return level.low

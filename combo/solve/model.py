"""The space of builds as a CP-SAT model. The only importer of ortools.

A boolean a row, exactly one of each table; a whole number a ballast slot; every total the same integer sum that the
checks and the criteria add. The ranking itself is a join under bounds (`combo.solve.join`); the solver answers what is
a search for one build under constraints: whether a part is in any build at all, and, as a second opinion that shares
nothing with the join but the integers, what the best build is.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

import numpy as np
from numpy.typing import NDArray
from ortools.sat.python import cp_model

from combo.checks.check import Check
from combo.checks.run import asked_checks, signed_column
from combo.checks.totals import TOTALS
from combo.solve.builds import Builds, ballast_limits
from combo.solve.clock import Clock
from combo.solve.criteria import FULL, Criterion, Ramp, criteria_of
from combo.solve.reduce import Space

Expression = Any  # ortools' linear expressions, of which int is one


class Outcome(StrEnum):
    """How a search ended."""

    FOUND = "found"
    NONE = "no build"
    CUT_SHORT = "cut short"


@dataclass(frozen=True)
class Sum:
    """A whole number of the model with the range that it can have."""

    expression: Expression
    low: int
    high: int


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
        for check in asked_checks(space.job, "build"):
            self._hold(check)

    def best(self) -> tuple[Outcome, list[int]]:
        """The first level of the key at its best: weighted points, or the criteria of [order] one after another."""
        found: list[int] = []
        model = self._model.clone()
        for level in self._first_levels(model):
            model.maximize(level)
            solver = self._solver()
            status = solver.solve(model)
            if status != cp_model.OPTIMAL:
                return (Outcome.NONE if status == cp_model.INFEASIBLE else self._cut_short(status)), found
            found.append(round(solver.objective_value))
            model.add(level == found[-1])
        return Outcome.FOUND, found

    def most_of(self, worth: dict[str, NDArray[np.int64]]) -> tuple[Outcome, Builds | None]:
        """A build whose rows are worth most, more than nothing: `worth` has a whole number for each row."""
        model = self._model.clone()
        total = sum(_dot(worth[name], rows) for name, rows in self._rows.items())
        model.add(total >= 1)
        model.maximize(total)
        solver = self._solver()
        status = solver.solve(model)
        if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return Outcome.FOUND, self._read(solver.response_proto.solution)
        return (Outcome.NONE if status == cp_model.INFEASIBLE else self._cut_short(status)), None

    def _cut_short(self, status: Any) -> Outcome:
        if status == cp_model.MODEL_INVALID:
            raise AssertionError(f"the model is not valid: {self._model.validate()}")
        self.clock.cut_short = True
        return Outcome.CUT_SHORT

    def _solver(self) -> cp_model.CpSolver:
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = self._workers
        solver.parameters.random_seed = 1
        # The rows are reduced before they get here: on such models presolve took ten times what the search took.
        solver.parameters.cp_model_presolve = False
        left = self.clock.left_s()
        if left is not None:
            solver.parameters.max_time_in_seconds = left
        return solver

    def _read(self, solution: Sequence[int]) -> Builds:
        """The build of a solution: the rows' variables stand first among all, then the counts."""
        whole, positions, start = list(solution), [], 0
        for rows in self._rows.values():
            positions.append(whole.index(1, start) - start)
            start += len(rows)
        one = [np.array([position], dtype=np.int64) for position in positions]
        return Builds(*one, np.array([whole[start : start + len(self._counts)]], dtype=np.int64))

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

    def _total(self, name: str) -> Sum | None:
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
        return Sum(expression, low, high)

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

    def _first_levels(self, model: cp_model.CpModel) -> list[Expression]:
        """What is ranked by first: the weighted sum of the points, or the points of each criterion of [order]."""
        job = self.space.job
        self._model = model
        points = [(criterion, self._points(criterion)) for criterion in criteria_of(job)]
        if job.order.criteria:
            return [own for _, own in points]
        return [sum(job.weight(criterion.name) * own for criterion, own in points)]

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

    def _plain(self, criterion: Criterion, levels: list[Sum]) -> Sum:
        return levels[0]

    def _thrust(self, criterion: Criterion, levels: list[Sum]) -> Sum:
        """Rear load times the grip of the chosen differential: one linear equation for each grip that occurs."""
        load, grips = levels[0], self.space.drive["drive.grip"].to_numpy(dtype=np.int64)
        ends = [end * int(grip) for end in (load.low, load.high) for grip in np.unique(grips)] or [0]
        thrust = self._model.new_int_var(min(ends), max(ends), "thrust")
        for grip in np.unique(grips):
            has_grip = self._model.new_bool_var(f"grip{grip}")
            self._model.add(sum(self._rows["drive"][i] for i in np.flatnonzero(grips == grip)) == has_grip)
            self._model.add(thrust == int(grip) * load.expression).only_enforce_if(has_grip)
        return Sum(thrust, min(ends), max(ends))

    def _deviation(self, criterion: Criterion, levels: list[Sum]) -> Sum:
        if criterion.wanted is None:
            return levels[0]
        size, added = levels
        farthest = max(abs(size.low - criterion.wanted), abs(size.high - criterion.wanted))
        away = self._model.new_int_var(0, farthest, "away")
        self._model.add_abs_equality(away, size.expression - criterion.wanted)
        return Sum(away + added.expression, added.low, farthest + added.high)

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


def _dot(sizes: Any, variables: list[Any]) -> Any:
    return cp_model.LinearExpr.weighted_sum(variables, [int(size) for size in sizes]) if len(variables) else 0

"""The space of builds as a CP-SAT model. The only importer of ortools.

A boolean a row, exactly one of each table; a whole number a ballast slot; every total the same integer sum that the
checks add. The ranking is a join under bounds (`combo.solve.join`), which a solver of constraints was measured to be
far slower at; what the solver is asked here is what it is best at: a whole build under all constraints that holds some
part, or the proof that there is none.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
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
from combo.solve.reduce import Space

Expression = Any  # ortools' linear expressions, of which int is one


class Outcome(StrEnum):
    """How a search ended."""

    FOUND = "found"
    NONE = "no build"
    CUT_SHORT = "cut short"


class BuildModel:
    """CP-SAT model of a space."""

    def __init__(self, space: Space, *, workers: int = 0, clock: Clock | None = None) -> None:
        self.space, self._workers, self.clock = space, workers, clock or Clock()
        self._model = cp_model.CpModel()
        tables = {"front": space.front, "rear": space.rear, "drive": space.drive}
        self._rows = {
            name: [self._model.new_bool_var(f"{name}{i}") for i in range(len(table))] for name, table in tables.items()
        }
        for rows in self._rows.values():
            self._model.add_exactly_one(rows)
        most = [int(high) for high in space.slots["slot.most"]] if len(space.slots) else []
        self._counts = [self._model.new_int_var(0, high, f"count{i}") for i, high in enumerate(most)]
        self._belong_together()
        for check in asked_checks(space.job, "build"):
            self._hold(check)

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
        front, rear, drive = (np.array([position], dtype=np.int64) for position in positions)
        counts = np.array([whole[start : start + len(self._counts)]], dtype=np.int64)
        return Builds(front, rear, drive, counts)

    def _belong_together(self) -> None:
        """The drive is on the rear corner's tire; all round, both corners share wheel and tire; ballast limits."""
        space = self.space
        self._equal_groups("rear", space.rear[["tire.at"]], "drive", space.drive[["tire.at"]])
        if space.job.job.same_all_round:
            pair = ["wheel.at", "tire.at"]
            self._equal_groups("front", space.front[pair], "rear", space.rear[pair])
        for limit in ballast_limits(space.job, space.slots):
            self._model.add(_dot(limit.each, self._counts) <= limit.most)

    def _equal_groups(self, one: str, of_one: Any, other: str, of_other: Any) -> None:
        groups: dict[Any, tuple[list[Any], list[Any]]] = {}
        for side, name, table in ((0, one, of_one), (1, other, of_other)):
            for row, key in zip(self._rows[name], table.itertuples(index=False, name=None), strict=True):
                groups.setdefault(key, ([], []))[side].append(row)
        for left, right in groups.values():
            self._model.add(sum(left) == sum(right))

    def _total(self, name: str) -> Expression | None:
        """A total as an expression; None where the truck leaves it not known."""
        total, base = TOTALS[name], TOTALS[name].base(self.space.job)
        if np.isnan(base):
            return None
        expression: Expression = int(base)
        for table_name, rows in self._rows.items():
            column = getattr(total, table_name)
            if column:
                adds = np.nan_to_num(signed_column(getattr(self.space, table_name), column))
                expression = expression + _dot(adds.astype(np.int64), rows)
        if total.slot:
            expression = expression + _dot(self.space.slots[total.slot].to_numpy(dtype=np.int64), self._counts)
        return expression

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
        room = bound - total
        constraint = self._model.add(room >= 0 if check.sense == "at_most" else room <= 0)
        not_known = self._not_known(check.bound, check.total)
        if not_known is None:
            return
        if self.space.job.job.strict:
            self._model.add(not_known == 0)
        else:
            constraint.only_enforce_if(~not_known)


def _dot(sizes: Any, variables: list[Any]) -> Any:
    return cp_model.LinearExpr.weighted_sum(variables, [int(size) for size in sizes]) if len(variables) else 0

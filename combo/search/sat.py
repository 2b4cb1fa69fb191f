"""The space of builds as a CP-SAT model.

A boolean a row, exactly one of each table; a whole number a ballast slot; every total the same integer sum that the
checks add. The ranking is a join under bounds (`combo.search.enumerate`), which a solver of constraints was measured to
be far slower at. What the solver is asked here is what it is best at: a whole build under all constraints that holds
some part, or the proof that there is none.

Where a constraint is no whole-number sum (floors of the ballast, grades) the model holds it loosely or not at all.
Every build that it finds is put to the checks themselves, and one that fails is forbidden and the search goes on. So
"no build" is a proof, and a build that is found is one.
"""

from __future__ import annotations

import functools
import itertools
import math
from collections.abc import Sequence
from enum import StrEnum
from typing import Any

import numpy as np
from numpy.typing import NDArray
from ortools.sat.python import cp_model

from combo.bounds.grade_cuts import GradeCut, grade_cuts
from combo.candidates.builds import BuildRows, all_holds, beyond_sums, pairing_of
from combo.candidates.constraints import LinearConstraint
from combo.candidates.layouts import ballast_limits
from combo.candidates.space import TABLES, Space
from combo.checks.check import compared
from combo.checks.prices import least_orders
from combo.checks.rows import Index
from combo.deadline import Clock

_VERY_MUCH = 1e10
Expression = Any  # ortools' linear expressions, of which int is one


class SolveStatus(StrEnum):
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
        self._go_together()
        for bar in space.bars:
            self._hold(bar)
        self._fail(space.failing)
        for line in grade_cuts(space):
            self._hold_line(line)

    def any(self) -> tuple[SolveStatus, BuildRows | None]:
        """Some build of the rows."""
        rows = {name: np.ones(len(own), dtype=np.int64) for name, own in self._rows.items()}
        return self.most_of(rows, presolve=True)

    def most_of(
        self, worth: dict[str, NDArray[np.int64]], *, presolve: bool = False
    ) -> tuple[SolveStatus, BuildRows | None]:
        """A build whose rows are worth most, more than nothing: `worth` has a whole number for each row.

        Presolve pays for a single question, up to tenfold. Where one model is asked many, of rows that are filtered
        well, it took ten times what the search took.
        """
        model = self._model
        total = sum(_dot(worth[name], rows) for name, rows in self._rows.items())
        while True:
            asked = model.clone()
            asked.add(total >= 1)
            asked.maximize(total)
            solver = self._solver(presolve=presolve)
            status = solver.solve(asked)
            if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
                return (SolveStatus.NONE if status == cp_model.INFEASIBLE else self._cut_short(status)), None
            found = self._read(solver.response_proto.solution)
            if all_holds(self.space, found)[0]:
                return SolveStatus.FOUND, found
            self._forbid(found)

    def _forbid(self, build: BuildRows) -> None:
        """Leave out a build that the checks refuse; where its ballast may not lie, all layouts with as much or more."""
        laid = build.counts[0]
        less = [self._is_at_most(slot, int(count) - 1) for slot, count in enumerate(laid) if count]
        if not self.space.rules.may_lie(build.counts)[0]:
            self._model.add_bool_or(less)
            return
        same = [self._rows[name][int(getattr(build, name)[0])] for name in self._rows]
        more = [~self._is_at_most(slot, int(count)) for slot, count in enumerate(laid)]
        self._model.add_bool_or([*(~row for row in same), *less, *more])

    def _is_at_most(self, slot: int, most: int) -> Any:
        """Literal: no more than so many items in a slot."""
        literal = self._model.new_bool_var(f"count{slot}_at_most{most}")
        self._model.add(self._counts[slot] <= most).only_enforce_if(literal)
        self._model.add(self._counts[slot] > most).only_enforce_if(~literal)
        return literal

    def _cut_short(self, status: Any) -> SolveStatus:
        if status == cp_model.MODEL_INVALID:
            raise AssertionError(f"the model is not valid: {self._model.validate()}")
        if not self.clock.is_over():
            self.clock.stop()  # the solver has heard Ctrl-C in our place
        return SolveStatus.CUT_SHORT

    def _solver(self, *, presolve: bool) -> cp_model.CpSolver:
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = self._workers
        solver.parameters.random_seed = 1
        solver.parameters.cp_model_presolve = presolve
        left = self.clock.left_s()
        if left is not None:
            solver.parameters.max_time_in_seconds = left
        return solver

    def _read(self, solution: Sequence[int]) -> BuildRows:
        """The build of a solution: the rows' variables stand first among all, then the counts."""
        whole, positions, start = list(solution), [], 0
        for rows in self._rows.values():
            positions.append(whole.index(1, start) - start)
            start += len(rows)
        front, rear, drive = (np.array([position], dtype=np.int64) for position in positions)
        counts = np.array([whole[start : start + len(self._counts)]], dtype=np.int64)
        return BuildRows(front, rear, drive, counts)

    def _belong_together(self) -> None:
        """The drive is on the rear corner's tire; all round, both corners share wheel and tire; ballast limits."""
        space = self.space
        front, rear, drive = (space.places[name] for name in TABLES)
        self._equal_groups("rear", rear[:, 1:2], "drive", drive[:, 0:1])
        if space.job.job.same_all_round:
            self._equal_groups("front", front[:, :2], "rear", rear[:, :2])
        for limit in ballast_limits(space.job, space.slots):
            self._model.add(_dot(limit.each, self._counts) <= limit.most)
        for each, least in space.rules.aboard:
            self._model.add(_dot(each, self._counts) >= least)

    def _go_together(self) -> None:
        """Front and rear rows that a check of the pair refuses are never chosen together."""
        pairing = pairing_of(self.space)
        for front, may in enumerate(pairing.may):
            if not may.all():
                ours = [self._rows["front"][at] for at in np.flatnonzero(pairing.front == front)]
                theirs = [self._rows["rear"][at] for at in np.flatnonzero(~may[pairing.rear])]
                self._model.add(sum(ours) + sum(theirs) <= 1)

    def _equal_groups(self, one: str, of_one: Index, other: str, of_other: Index) -> None:
        """Rows of two tables whose parts at these places are not the same are never chosen together."""
        groups: dict[tuple[int, ...], tuple[list[Any], list[Any]]] = {}
        for side, name, table in ((0, one, of_one), (1, other, of_other)):
            for row, parts in zip(self._rows[name], table.tolist(), strict=True):
                groups.setdefault(tuple(parts), ([], []))[side].append(row)
        for left, right in groups.values():
            self._model.add(sum(left) == sum(right))

    def _total(self, name: str, times: int = 1) -> Expression | None:
        """A total as an expression, `times` over; None where the truck leaves it not known."""
        start = self.space.starts[name]
        if np.isnan(start):
            return None
        expression: Expression = times * math.floor(start)
        for kind, rows in self._rows.items():
            if name in self.space.adds[kind]:
                expression = expression + _dot(times * _whole(self.space.adds[kind][name]), rows)
        laid = self.space.adds["slot"].get(name)
        expression = expression if laid is None else expression + _dot(times * _whole(laid), self._counts)
        return expression + times * self._freight if name == "cost_cents" else expression

    @functools.cached_property
    def _freight(self) -> Expression:
        """The least that suppliers ask for their orders: of each that anything comes from, unless enough does."""
        job = self.space.job
        total: Expression = 0
        orders = least_orders(job, {name: getattr(self.space, name) for name in TABLES}, self.space.slots)
        for at, terms in enumerate(job.suppliers, start=1):
            if not terms.freight_cents:
                continue
            paid, free = (self._model.new_bool_var(f"{word}{at}") for word in ("paid", "free"))
            for name, rows in self._rows.items():
                for row in np.flatnonzero(orders[name].pieces[:, at] > 0):
                    self._model.add_bool_or(paid, free).only_enforce_if(rows[int(row)])
            most = sum(_dot(np.ceil(orders[name].listed[:, at]), rows) for name, rows in self._rows.items())
            most = most + _dot(np.ceil(orders["slot"].listed[:, at]), self._counts)
            if terms.freight_free_from_cents is None:
                self._model.add(free == 0)
            else:
                self._model.add(most >= terms.freight_free_from_cents).only_enforce_if(free)
            total = total + terms.freight_cents * paid
        return total

    def _not_known(self, *names: str) -> Any:
        """Literal that holds where a chosen row leaves one of the totals not known; None where no row does."""
        rows = []
        for name, kind in itertools.product(names, self._rows):
            adds = self.space.adds[kind].get(name, np.zeros(0))
            rows += [self._rows[kind][i] for i in np.flatnonzero(np.isnan(adds))]
        if not rows:
            return None
        literal = self._model.new_bool_var(f"not_known_{'_'.join(names)}")
        self._model.add_bool_or(rows).only_enforce_if(literal)
        for row in rows:
            self._model.add_implication(row, literal)
        return literal

    def _room(self, bar: LinearConstraint) -> Expression | None:
        """Room in a whole-build check as an expression; None where the truck leaves it not known."""
        total, bound = (self._total(name) for name in bar.totals)
        return None if total is None or bound is None else compared(bar.check, total, bound).margin

    def _hold(self, bar: LinearConstraint) -> None:
        """A whole-build check; where it is unverified it does not restrict, except that `strict` admits none such."""
        room = self._room(bar)
        if room is None:
            if self.space.job.job.strict:
                self._model.add_bool_or([])
            return
        constraint = self._model.add(room >= math.floor(bar.reserve - bar.slack))
        not_known = self._not_known(*bar.totals)
        if not_known is None:
            return
        if self.space.job.job.strict:
            self._model.add(not_known == 0)
        else:
            constraint.only_enforce_if(~not_known)

    def _fail(self, bars: Sequence[LinearConstraint]) -> None:
        """Whole-build checks one of which must fail, where all that may be the one weigh totals."""
        if not bars or len(bars) < len(self.space.allowed.failed):
            return
        fail = [self._model.new_bool_var(f"fails_{bar.check.id}_{bar.check.where}") for bar in bars]
        self._model.add_exactly_one(fail)
        for bar, literal in zip(bars, fail, strict=True):
            room, not_known = self._room(bar), self._not_known(*bar.totals)
            if not_known is not None:
                self._model.add_implication(literal, ~not_known)
            if room is None:
                self._model.add(literal == 0)
                continue
            least = math.ceil(bar.reserve - bar.slack + beyond_sums(self.space, bar))
            self._model.add(room < least).only_enforce_if(literal)

    def _hold_line(self, line: GradeCut) -> None:
        """A straight line over two totals that builds with some drive rows stay above, where both are known."""
        found = [self._total(name, times) for name, times in line.times.items()]
        totals: list[Any] = [total for total in found if total is not None]
        if len(totals) < len(found):
            return
        held = self._model.new_bool_var("graded")
        self._model.add(sum(self._rows["drive"][at] for at in line.drives) == held)
        literals = [held] if self._unweighed is None else [held, ~self._unweighed]
        self._model.add(sum(totals) + line.start >= 0).only_enforce_if(*literals)

    @functools.cached_property
    def _unweighed(self) -> Any:
        """Literal that holds where the loads of the rear axle or of the truck are not known."""
        return self._not_known("rear_light_g", "truck_light_g")


def _whole(sizes: NDArray[np.float64]) -> NDArray[np.int64]:
    """Whole numbers for the solver: what is not known counts as nothing, what has no end as very much."""
    known = np.nan_to_num(sizes, nan=0.0, posinf=_VERY_MUCH, neginf=-_VERY_MUCH)
    return np.clip(known, -_VERY_MUCH, _VERY_MUCH).astype(np.int64)


def _dot(sizes: Any, variables: list[Any]) -> Any:
    return cp_model.LinearExpr.weighted_sum(variables, [int(size) for size in sizes]) if len(variables) else 0

"""Do rectangles fit side by side, in layers, on a rectangular floor: exact, quick answers first, a solver last."""

from __future__ import annotations

import functools
import itertools
import math
from collections.abc import Callable, Iterator
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from combo.arrays import numbered_rows

_MOST_ORDERS = 6


Doubt = Literal["solve", "fits", "fails"]
"""What to do where only the solver can tell: ask it, or take it that the items fit, or that they do not."""


class Footprint(NamedTuple):
    """Floor that one item takes, in whole tenths of a millimeter, the long side first."""

    long: int
    short: int


@functools.cache
def fits(items: tuple[Footprint, ...], length: int, width: int, layers: int) -> bool:
    """Whether all items lie flat on a floor of length by width, turned as may be, in at most so many layers.

    Parameters
    ----------
    items : tuple of Footprint
        Sorted, so that equal questions are asked once.
    length, width : int
        The floor [0.1 mm].
    layers : int
        How many floors there are, one on another.

    Returns
    -------
    bool
        Exact: the area decides many questions against, straight cuts most in favor, and the solver the rest.
    """
    quick = fits_quickly(items, length, width, layers)
    return _solved(items, length, width, layers) if quick is None else quick


@functools.cache
def fits_quickly(items: tuple[Footprint, ...], length: int, width: int, layers: int) -> bool | None:
    """As `fits`, but None where only the solver could tell."""
    if _is_too_much(items, length, width, layers):
        return False
    if any(_by_cuts(order, length, width, layers, rule) for order in _orders(items) for rule in _RULES):
        return True
    return None


def _is_too_much(items: tuple[Footprint, ...], length: int, width: int, layers: int) -> bool:
    """Whether an item is longer than the floor, or all take more than its area: enough to say no."""
    floor = Footprint(max(length, width), min(length, width))
    is_longer = any(item.long > floor.long or item.short > floor.short for item in items)
    return is_longer or sum(item.long * item.short for item in items) > length * width * layers


def _orders(items: tuple[Footprint, ...]) -> Iterator[list[Footprint]]:
    """Orders worth a try: kind after kind, the kinds in every order while they are few."""
    kinds = sorted(set(items), key=lambda item: (-item.long * item.short, item))
    for order in itertools.islice(itertools.permutations(kinds), _MOST_ORDERS):
        yield [item for kind in order for item in items if item == kind]


class Floor:
    """A floor and the kinds of item that may lie on it, with what is known already of how many fit.

    Kinds of the same size count as one. What fits, fits with an item less, and what does not, does not with an item
    more: so most layouts are answered by others, and the packing itself is asked seldom.
    """

    def __init__(self, length: int, width: int, layers: int, kinds: tuple[Footprint, ...]) -> None:
        self._size, self._kinds = (length, width, layers), tuple(sorted(set(kinds)))
        self._is_of = np.zeros((len(kinds), len(self._kinds)), dtype=np.int64)
        self._is_of[np.arange(len(kinds)), [self._kinds.index(kind) for kind in kinds]] = 1
        self._fitting = np.zeros((0, len(self._kinds)), dtype=np.int64)
        self._failing = np.zeros((0, len(self._kinds)), dtype=np.int64)
        self._areas = np.array([kind.long * kind.short for kind in self._kinds], dtype=np.int64)
        self._too_long = np.array([_is_too_much((kind,), length, width, layers) for kind in self._kinds], dtype=bool)

    def holds(self, layouts: NDArray[np.int64], doubt: Doubt = "solve") -> NDArray[np.bool_]:
        """Whether so many of each kind fit, for layouts of shape (n, kinds); `doubt` is what to answer where only the
        solver could tell.
        """
        every = layouts @ self._is_of
        number, first = numbered_rows(every)
        laid = every[first]
        if doubt == "fits":  # then only what certainly does not fit counts, which needs no packing
            too_much = (laid @ self._areas > math.prod(self._size)) | (laid[:, self._too_long] > 0).any(axis=1)
            return (~too_much & ~_beyond_any(laid, self._failing))[number]
        fit = _within_any(laid, self._fitting)
        is_open = ~fit & ~_beyond_any(laid, self._failing)
        for at in np.argsort(-laid.sum(axis=1), kind="stable"):  # one that fits answers all that lie within it
            if is_open[at]:
                fit[at] = self._holds(laid[at], doubt)
        return fit[number]

    def _holds(self, counts: NDArray[np.int64], doubt: Doubt) -> bool:
        if _within_any(counts, self._fitting):
            return True
        if _beyond_any(counts, self._failing):
            return False
        items = tuple(sorted(kind for kind, count in zip(self._kinds, counts, strict=True) for _ in range(count)))
        answer = fits(items, *self._size) if doubt == "solve" else fits_quickly(items, *self._size)
        if answer is None:
            return False
        if answer:
            self._fitting = np.vstack([self._fitting[~(self._fitting <= counts).all(axis=1)], counts])
        else:
            self._failing = np.vstack([self._failing[~(self._failing >= counts).all(axis=1)], counts])
        return answer


def _within_any(counts: NDArray[np.int64], others: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Whether another layout has as many of every kind."""
    return np.asarray((others >= counts[..., np.newaxis, :]).all(axis=-1).any(axis=-1))


def _beyond_any(counts: NDArray[np.int64], others: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Whether another layout has no more of any kind."""
    return np.asarray((others <= counts[..., np.newaxis, :]).all(axis=-1).any(axis=-1))


@functools.cache
def floor_of(length: int, width: int, layers: int, kinds: tuple[Footprint, ...]) -> Floor:
    """The floor of these sizes, one for all who ask."""
    return Floor(length, width, layers, kinds)


def _by_cuts(items: list[Footprint], length: int, width: int, layers: int, rule: Callable[..., int]) -> bool:
    """Whether the items fit one after another into what straight cuts leave: enough to say yes, never to say no.

    `rule` tells how well a way to lay an item suits, less being better, from the floor that it leaves along and across
    and from its own depth.
    """
    free = [(length, width)] * layers
    for item in items:
        places = [
            (rule(rest[0] - deep, rest[1] - wide, deep), at, deep, wide)
            for at, rest in enumerate(free)
            for deep, wide in ((item.long, item.short), (item.short, item.long))
            if deep <= rest[0] and wide <= rest[1]
        ]
        if not places:
            return False
        _, at, deep, wide = min(places)
        left_deep, left_wide = free[at][0] - deep, free[at][1] - wide
        if left_deep < left_wide:
            free[at : at + 1] = [(left_deep, wide), (free[at][0], left_wide)]
        else:
            free[at : at + 1] = [(left_deep, free[at][1]), (deep, left_wide)]
    return True


_RULES: tuple[Callable[[int, int, int], int], ...] = (
    lambda along, across, deep: min(along, across),
    lambda along, across, deep: deep,
    lambda along, across, deep: -deep,
    lambda along, across, deep: along,
    lambda along, across, deep: across,
)


def _solved(items: tuple[Footprint, ...], length: int, width: int, layers: int) -> bool:
    """CP-SAT, no two items of a layer overlapping; layers lie side by side in one long floor that no item crosses."""
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    along: list[cp_model.IntervalVar] = []
    across: list[cp_model.IntervalVar] = []
    deeps: list[cp_model.LinearExprT] = []
    wides: list[cp_model.LinearExprT] = []
    starts: list[cp_model.IntVar] = []
    for at, item in enumerate(items):
        turned, layer = model.new_bool_var(f"turned{at}"), model.new_int_var(0, layers - 1, f"layer{at}")
        deep = item.long + (item.short - item.long) * turned
        wide = item.short + (item.long - item.short) * turned
        x, x_end = (model.new_int_var(0, length, f"x{at}{end}") for end in ("", "end"))
        y, y_end = (model.new_int_var(0, width * layers, f"y{at}{end}") for end in ("", "end"))
        model.add(y >= layer * width)
        model.add(y_end <= (layer + 1) * width)
        along.append(model.new_interval_var(x, deep, x_end, f"along{at}"))
        across.append(model.new_interval_var(y, wide, y_end, f"across{at}"))
        if at and items[at - 1] == item:
            model.add(y >= starts[-1])  # of items that are alike, one order is enough
        if not at:
            model.add(x + x_end <= length)  # the mirror image of a layout is one, too
        starts.append(y)
        deeps.append(deep)
        wides.append(wide)
    model.add_no_overlap_2d(along, across)
    model.add_cumulative(along, wides, width * layers)  # follows from no overlap, and shows sooner what is too much
    model.add_cumulative(across, deeps, length)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.cp_model_presolve = False  # the questions are small: presolve takes longer than the search
    solver.parameters.linearization_level = 0
    return bool(solver.solve(model) in (cp_model.OPTIMAL, cp_model.FEASIBLE))

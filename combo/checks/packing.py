"""Do rectangles fit side by side, in layers, on a rectangular floor: exact, quick answers first, a solver last."""

from __future__ import annotations

import functools
from typing import NamedTuple


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
        Exact: the area decides most questions against, rows of equal depth most in favor, and the solver the rest.
    """
    floor = Footprint(max(length, width), min(length, width))
    if any(item.long > floor.long or item.short > floor.short for item in items):
        return False
    if sum(item.long * item.short for item in items) > length * width * layers:
        return False
    if any(_in_rows(items, long, short, layers) for long, short in ((length, width), (width, length))):
        return True
    return _solved(items, length, width, layers)


def _in_rows(items: tuple[Footprint, ...], length: int, width: int, layers: int) -> bool:
    """Whether rows across the width, filled one after another, hold all items: enough to say yes, never to say no."""
    rows: list[tuple[int, int]] = []  # room left across, depth along
    for item in sorted(items, reverse=True):
        depth, across = (item.short, item.long) if item.long <= width else (item.long, item.short)
        at = next((at for at, (left, deep) in enumerate(rows) if across <= left and depth <= deep), None)
        if at is None:
            rows.append((width - across, depth))
        else:
            rows[at] = (rows[at][0] - across, rows[at][1])
    used = [0] * layers
    for _, depth in sorted(rows, key=lambda row: -row[1]):
        layer = min(range(layers), key=used.__getitem__)
        used[layer] += depth
    return max(used) <= length


def _solved(items: tuple[Footprint, ...], length: int, width: int, layers: int) -> bool:
    """CP-SAT, no two items of a layer overlapping; layers lie side by side in one long floor that no item crosses."""
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    along: list[cp_model.IntervalVar] = []
    across: list[cp_model.IntervalVar] = []
    starts: list[cp_model.IntVar] = []
    for at, item in enumerate(items):
        turned, layer = model.new_bool_var(f"turned{at}"), model.new_int_var(0, layers - 1, f"layer{at}")
        deep = item.long + (item.short - item.long) * turned
        wide = item.short + (item.long - item.short) * turned
        x, y = model.new_int_var(0, length, f"x{at}"), model.new_int_var(0, width * layers, f"y{at}")
        model.add(x + deep <= length)
        model.add(y >= layer * width)
        model.add(y + wide <= (layer + 1) * width)
        along.append(model.new_interval_var(x, deep, x + deep, f"along{at}"))
        across.append(model.new_interval_var(y, wide, y + wide, f"across{at}"))
        if at and items[at - 1] == item:
            model.add(y >= starts[-1])  # of items that are alike, one order is enough
        starts.append(y)
    model.add_no_overlap_2d(along, across)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    return bool(solver.solve(model) in (cp_model.OPTIMAL, cp_model.FEASIBLE))

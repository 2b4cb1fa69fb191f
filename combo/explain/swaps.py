"""One choice of a build changed for another listed one: which change mends it, and the build that it gives.

Each is a search over whole lists with every other part of the build pinned; the ballast is laid anew.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from combo.candidates.instance import Instance
from combo.candidates.relaxed_limits import Pinned, RelaxedLimits, Slot
from combo.checks.check import Check
from combo.checks.rows import NO_SPACER
from combo.explain.best import Best, best_builds, pinned_to
from combo.job import AXLES

BALLAST: Slot = ("truck", "ballast")
SLOTS: tuple[Slot, ...] = (
    *((axle, kind) for axle in AXLES for kind in ("spacer", "wheel", "tire")),
    ("drive", "ratio"),
    ("drive", "differential"),
    BALLAST,
)


@dataclass(frozen=True)
class Swap:
    """One choice changed, how, and the best build that holds every check then."""

    slot: Slot
    how: str
    best: Best


def wanted_by(check: Check, where: str) -> tuple[Slot, ...]:
    """The choices that a check looks at, made at a place."""
    kinds = {"corner": ("spacer", "wheel", "tire"), "pair": ("tire", "wheel", "spacer")}
    if check.rows in kinds:
        axles: tuple[str, ...] = (where,) if check.rows == "corner" else AXLES
        return tuple((axle, kind) for axle in axles for kind in kinds[check.rows])
    if check.rows == "drive":
        return ("drive", "ratio"), ("drive", "differential"), ("rear", "tire")
    return (BALLAST,) if check.rows == "layout" else SLOTS


def swaps(instance: Instance, at: Mapping[Slot, int], slots: Iterable[Slot]) -> list[Swap]:
    """The swaps of one choice in a build of parts at these positions that give a build which holds every check, the
    best build first.
    """
    found: dict[tuple[object, ...], Swap] = {}
    for slot in slots:
        for how, pinned in _freed(instance, at, slot):
            held = best_builds(instance, RelaxedLimits(pinned=pinned), 1)
            if not held:
                break  # and so there is none among fewer parts
            found[held[0].name] = Swap(slot, how, held[0])
    return sorted(found.values(), key=lambda swap: swap.best.key)


def _freed(instance: Instance, at: Mapping[Slot, int], slot: Slot) -> Iterator[tuple[str, Pinned]]:
    """What may stand in a place instead, each way by its name, from any part to fewer; all else as it is."""
    kind = slot[1]
    both = instance.job.job.same_all_round and kind in {"wheel", "tire"}
    freed = {(axle, kind) for axle in AXLES} if both else {slot}
    rest = pinned_to({own: part for own, part in at.items() if own not in freed}).parts
    for how, instead in _instead(instance, at, slot):
        if len(instead):
            chosen = frozenset(int(part) for part in instead)
            yield how, Pinned({**rest, **dict.fromkeys(freed - {BALLAST}, chosen)})


def _instead(instance: Instance, at: Mapping[Slot, int], slot: Slot) -> Iterator[tuple[str, np.ndarray]]:
    kind = slot[1]
    if slot == BALLAST:
        yield "other ballast", np.zeros(1)
        return
    table = instance.parts.of_kind(kind)
    others = np.arange(NO_SPACER if kind == "spacer" else 0, len(table))
    others = others[others != at[slot]]
    yield f"another {kind}", others
    if kind == "wheel":
        yield "the same wheel with another backspace", others[_is_alike(table, at[slot])[others]]
    if kind == "tire":
        width = table["section_width_mm"].to_numpy()
        yield "a narrower tire", others[width[others] < width[at[slot]]]


def _is_alike(wheels: pd.DataFrame, at: int) -> np.ndarray:
    """Wheels of the same style, size and bolt circle."""
    columns = ["style", "rim_diameter_mm", "rim_width_mm", *(name for name in wheels if str(name).startswith("bolt_"))]
    alike = [(wheels[name] == wheels[name].iloc[at]).to_numpy() for name in columns]
    return np.asarray(np.logical_and.reduce(alike))

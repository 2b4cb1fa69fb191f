"""The funnel: how many candidates each check removes, alone and in order, and how many are left after it."""

from __future__ import annotations

from dataclasses import dataclass

from combo.search.filter import FilteredLists


@dataclass(frozen=True)
class Stage:
    """One check of a kind of candidates: what it removes alone and as the first in order, and what is left after it."""

    check: str
    alone: int
    first: int
    left: int


@dataclass(frozen=True)
class Funnel:
    """A kind of candidates: how many there are, and the checks in the order in which they are made.

    Wheels stand on each spacer and on none; corners are wheels on spacers with tires, drives tires with gear sets, of
    what is left before.
    """

    kind: str
    met: int
    stages: tuple[Stage, ...]

    @property
    def left(self) -> int:
        """How many are left of them."""
        return self.stages[-1].left if self.stages else self.met


def funnels(reduced: FilteredLists) -> list[Funnel]:
    """The funnel of each kind of candidates, in the order in which they are met."""
    found = []
    for kind, met in reduced.met.items():
        left, stages = met, []
        for one in reduced.removed:
            if one.kind == kind:
                left -= one.first
                stages.append(Stage(one.check, one.alone, one.first, left))
        found.append(Funnel(kind, met, tuple(stages)))
    return found

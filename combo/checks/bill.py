"""The bill of a build, line by line, with its tax. It adds up to the cost that is ranked."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from combo.checks.prices import charges, tax_cents
from combo.checks.rows import Chosen
from combo.job import Job


@dataclass(frozen=True)
class Line:
    """One line of a bill: what, for which axle ("" for both or neither), how many, and whole cents; tax is a line of
    its own.
    """

    what: str
    where: str
    cents: int
    count: int = 1


def bills(job: Job, chosen: Chosen) -> list[tuple[Line, ...]]:
    """The lines of each build that cost something."""
    lines = charges(job, chosen.front, chosen.rear, chosen.drive, chosen.slots, chosen.counts)
    shape, tax = len(chosen.counts), tax_cents(job, lines)
    every = []
    for line in lines:
        cents, count = (np.broadcast_to(own, shape).astype(int).tolist() for own in (line.cents, line.count))
        every.append([Line(line.what, line.where, *own) for own in zip(cents, count, strict=True)])
    every.append([Line("tax", "", cents) for cents in np.broadcast_to(tax, shape).astype(int).tolist()])
    return [tuple(line for line in of_build if line.cents) for of_build in zip(*every, strict=True)]

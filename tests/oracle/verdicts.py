"""Numbers as printed, numbers with a plus-or-minus, and the three answers of a check.

A check answers True (holds), False (fails) or None (unverified). Masses count in grams, money in cents.
"""

import math
from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from combo.plausible import RANGES


@cache
def exact(value):
    """The number as printed, as a fraction; None where it is absent."""
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return None
    return Fraction(str(value))


def is_absent(*values):
    """Whether any of the values is None."""
    return any(value is None for value in values)


def rhu(value):
    """Nearest integer, halves up."""
    return math.floor(value + Fraction(1, 2))


def grams(mass_kg):
    """Whole grams of a mass, None of an absent one."""
    mass_kg = exact(mass_kg)
    return None if mass_kg is None else rhu(1000 * mass_kg)


def total(*values):
    """Sum, None where a summand is."""
    return None if is_absent(*values) else sum(values)


def ramp(zero, full, value):
    """Points from 0 at `zero` to 10000 at `full`, rounded down."""
    return min(10000, max(0, 10000 * (value - zero) // (full - zero)))


# Sizes with a plus-or-minus


@dataclass(frozen=True)
class Near:
    """A size that may be off by `give` either way; a size of None is not known.

    With a `span` some of what it is made of is not known, but plausible: it is the size and something from the span.
    """

    size: Fraction | float | None
    give: Fraction | float = Fraction(0)
    span: tuple | None = None

    def __add__(self, other):
        """Sum; the plus-or-minus of both add up."""
        other, span = near(other), None
        if self.span or other.span:
            span = tuple(one + its for one, its in zip(self.span or (0, 0), other.span or (0, 0), strict=True))
        return Near(total(self.size, other.size), self.give + other.give, span)

    def __sub__(self, other):
        """Difference; the plus-or-minus of both add up."""
        return self + near(other).times(-1)

    def times(self, factor):
        """The size as often as `factor` says."""
        span = self.span and factor is not None and tuple(sorted(factor * end for end in self.span))
        size = None if is_absent(self.size, factor) else factor * self.size
        return Near(size, abs(factor or 0) * self.give, span or None)

    def or_plausible(self, name):
        """The size itself, or where it is not known all that a truck may have of that name."""
        return plausible(name) if self.size is None else self

    @property
    def value(self):
        """The size where all of it is known, else None."""
        return None if self.span else self.size

    @property
    def low(self):
        """The smallest that it may be; None where it is not known."""
        return None if self.value is None else self.size - self.give

    @property
    def ends(self):
        """The smallest and the largest that a known size may be."""
        return sorted({self.size - self.give, self.size + self.give})


UNKNOWN = Near(None)


def plausible(name):
    """A size that is not known, from the least to the most that is plausible."""
    return Near(Fraction(0), span=tuple(exact(end) for end in RANGES[name]))


def near(value):
    """The value itself, or a plain number as a size that is never off."""
    return value if isinstance(value, Near) else Near(value)


def is_worst(job):
    """Whether margins are judged with every plus-or-minus at its bad end."""
    return job.targets.fit == "worst"


def taped(job, path, value):
    """A measurement of the job with the plus-or-minus of its own path, or the tape's."""
    give = exact(job.tolerances.get(path, job.tolerance.length_mm)) if is_worst(job) else Fraction(0)
    return Near(exact(value), give)


def measured(job, path, value):
    """A measurement that no tape took, with the plus-or-minus of its own path alone."""
    return Near(exact(value), exact(job.tolerances.get(path, 0)) if is_worst(job) else Fraction(0))


def listed(job, value):
    """A size of a wheel from a list, with the plus-or-minus of all such sizes."""
    return Near(exact(value), exact(job.tolerance.wheel_mm) if is_worst(job) else Fraction(0))


# Verdicts


def worst(verdicts):
    """False where any fails, else None where any is unverified, else True."""
    verdicts = list(verdicts)
    if False in verdicts:
        return False
    return None if None in verdicts else True


def holds(margin, steps=1000):
    """Verdict on a margin that is rounded to 1 / steps; equal to the limit holds.

    Where something in it is not known, it fails if it does with the best that is plausible.
    """
    margin = near(margin)
    if margin.size is None:
        return None
    most = margin.size - margin.give + (margin.span[1] if margin.span else 0)
    is_kept = rhu(most * steps) >= 0
    return None if margin.span and is_kept else is_kept


def within(value, low, high, steps=1000):
    """Verdict on a range, of which a known side may fail alone."""
    return worst([holds(near(value) - low, steps), holds(near(high) - value, steps)])


def in_band(value, low, high, steps=1000):
    """Verdict on a wanted band: an end that is not given asks nothing."""
    if low is None and high is None:
        return True
    sides = ([] if low is None else [near(value) - low]) + ([] if high is None else [near(high) - value])
    return worst(holds(side, steps) for side in sides)


def alike(*words):
    """Verdict on names that must be equal: two known ones that differ fail whatever is missing."""
    known = [word for word in words if word]
    if len(set(known)) > 1:
        return False
    return True if len(known) == len(words) else None


def is_accepted(verdict, job):
    """Whether a build may have this verdict: never a failure, and with `strict` nothing unverified."""
    return verdict is True or (verdict is None and not job.job.strict)

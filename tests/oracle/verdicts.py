"""Numbers as printed, numbers with a plus-or-minus, and the three answers of a check.

A check answers True (holds), False (fails) or None (unverified). Masses count in grams, money in cents.
"""

import math
from dataclasses import dataclass
from fractions import Fraction


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
    """A size that may be off by `give` either way; a size of None is not known."""

    size: Fraction | float | None
    give: Fraction | float = Fraction(0)

    def __add__(self, other):
        """Sum; the plus-or-minus of both add up."""
        other = near(other)
        return Near(total(self.size, other.size), self.give + other.give)

    def __sub__(self, other):
        """Difference; the plus-or-minus of both add up."""
        return self + near(other).times(-1)

    def times(self, factor):
        """The size as often as `factor` says."""
        return Near(None if is_absent(self.size, factor) else factor * self.size, abs(factor or 0) * self.give)

    @property
    def low(self):
        """The smallest that it may be; None where it is not known."""
        return None if self.size is None else self.size - self.give

    @property
    def ends(self):
        """The smallest and the largest that it may be."""
        return sorted({self.size - self.give, self.size + self.give})


UNKNOWN = Near(None)


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
    """Verdict on a margin that is rounded to 1 / steps; equal to the limit holds."""
    margin = near(margin).low
    return None if margin is None else rhu(margin * steps) >= 0


def within(value, low, high, steps=1000):
    """Verdict on a range, of which a known side may fail alone."""
    value = near(value)
    if value.size is None:
        return None
    sides = [None if low is None else value - low, None if high is None else near(high) - value]
    return worst(None if side is None else holds(side, steps) for side in sides)


def in_band(value, low, high, steps=1000):
    """Verdict on a wanted band: an end that is not given asks nothing."""
    if low is None and high is None:
        return True
    value = near(value)
    sides = ([] if low is None else [value - low]) + ([] if high is None else [near(high) - value])
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

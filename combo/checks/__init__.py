"""Is it allowed, and by how much: one table of constraints."""

from combo.checks import drive, fit, loads, money

CHECKS = (*fit.CHECKS, *drive.CHECKS, *loads.CHECKS, *money.CHECKS)
"""Every constraint, in the order in which it is shown and counted."""

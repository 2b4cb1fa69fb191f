"""Is it allowed, and by how much: one table of constraints."""

from combo.checks import ballast, drive, fit, loads, look, money

CHECKS = (*fit.CHECKS, *look.CHECKS, *drive.CHECKS, *loads.CHECKS, *ballast.CHECKS, *money.CHECKS)
"""Every constraint, in the order in which it is shown and counted."""

"""Rows tried whatever they fail, for parts that are in no build: every wheel on the hub, every corner, every drive."""

from __future__ import annotations

import dataclasses

import numpy as np

from combo.arrays import every_pair
from combo.candidates.instance import Instance, equal_pairs
from combo.checks import rows
from combo.checks.check import Check
from combo.checks.rows import NO_SPACER, Index, Picks, Rows
from combo.checks.run import asked_checks, margins
from combo.job import Axle, Job
from combo.parts import Parts
from combo.search.filter import rim_codes

Tried = tuple[Rows, tuple[Check, ...]]


def every_mounted(job: Job, axle: Axle, parts: Parts) -> Tried:
    """Every wheel alone on the hub of an axle, with the checks that look at no tire."""
    instance, wheel = Instance(job, parts), np.arange(len(parts.wheels), dtype=np.int64)
    table = _mounted(job, axle, parts, wheel, np.full(len(wheel), NO_SPACER, dtype=np.int64))
    checks = tuple(
        check for check in asked_checks(job, "corner", axle) if "tire" not in instance.kinds_checked(check, axle)
    )
    return table, checks


def every_corner(job: Job, axle: Axle, parts: Parts) -> Tried:
    """Every wheel with every tire of its rim diameter and every spacer, where it bolts on, with all corner checks."""
    spacers = np.arange(NO_SPACER, len(parts.spacers), dtype=np.int64)
    wheels = np.arange(len(parts.wheels), dtype=np.int64)
    wheel, spacer = every_pair(wheels, spacers)
    checks = asked_checks(job, "corner", axle)
    bolts_on = [check for check in checks if check.id == "bolt_circle"]
    right = ~(margins(job, axle, bolts_on, _mounted(job, axle, parts, wheel, spacer)) < 0).any(axis=1)
    wheel, spacer, tire = _joined(parts, wheel[right], spacer[right])
    return rows.corner_rows(job, axle, parts, Picks(wheel, tire, spacer)), checks


def every_gear(job: Job, parts: Parts) -> Tried:
    """Every gear set with every differential, with the checks that look at no tire."""
    ratio, differential = _gears(parts)
    none = np.zeros(len(ratio), dtype=np.int64)
    return rows.drive_rows(job, _without_tires(parts), none, ratio, differential), _of_gears(job, parts)


def every_drive(job: Job, parts: Parts) -> Tried:
    """Every gear set with a differential that it goes with, on every tire, with all drive checks."""
    table, of_gears = every_gear(job, parts)
    right = ~(margins(job, "rear", of_gears, table) < 0).any(axis=1)
    ratio, differential = (own[right] for own in _gears(parts))
    tire, gear = every_pair(np.arange(len(parts.tires), dtype=np.int64), np.arange(len(ratio), dtype=np.int64))
    return rows.drive_rows(job, parts, tire, ratio[gear], differential[gear]), asked_checks(job, "drive")


def _mounted(job: Job, axle: Axle, parts: Parts, wheel: Index, spacer: Index) -> Rows:
    """Corner rows without a tire: what a wheel's own checks need."""
    none = np.zeros(len(wheel), dtype=np.int64)
    return rows.corner_rows(job, axle, _without_tires(parts), Picks(wheel, none, spacer))


def _without_tires(parts: Parts) -> Parts:
    """The parts with one empty tire in place of the list."""
    return dataclasses.replace(parts, tires=parts.tires.iloc[:0].reindex([0]))


def _joined(parts: Parts, wheel: Index, spacer: Index) -> tuple[Index, Index, Index]:
    """Mounted wheels with the tires of their rim diameter, to the nearest half inch; the check itself comes after."""
    at, tire = equal_pairs(rim_codes(parts, "wheel")[wheel], rim_codes(parts, "tire"))
    return wheel[at], spacer[at], tire


def _gears(parts: Parts) -> tuple[Index, Index]:
    """Every gear set with every differential."""
    ratios, differentials = (np.arange(len(own), dtype=np.int64) for own in (parts.ratios, parts.differentials))
    return every_pair(ratios, differentials)


def _of_gears(job: Job, parts: Parts) -> tuple[Check, ...]:
    instance = Instance(job, parts)
    return tuple(check for check in asked_checks(job, "drive") if "tire" not in instance.kinds_checked(check, "rear"))

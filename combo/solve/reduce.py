"""Candidate rows that can still matter: join on the discrete keys, drop what fails, count what each check drops.

Rows are met in stages, so that no list is multiplied out before its own checks are done: wheels on the hub (with each
spacer), tires alone, then the pairs of equal rim diameter; gear sets with differentials, then tires with those.
A check runs at the first stage that holds every part it looks at, which its `needs` tell.
"""

from __future__ import annotations

import dataclasses
import functools
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from combo.checks import rows
from combo.checks.check import Check
from combo.checks.judge import Shifts, is_nominal, shifts_of
from combo.checks.rows import NO_SPACER, SOURCES, Index, Picks
from combo.checks.run import asked_checks, margins
from combo.job import AXLES, Axle, Job
from combo.parts import Parts
from combo.solve.bars import Bar, bars_of
from combo.solve.criteria import with_drive_points, with_points
from combo.solve.layouts import with_reachable_counts

_ALSO_BEHIND = {
    "corner.offset_mm": ("spacer",), "corner.backspace_mm": ("spacer",), "corner.section_width_mm": ("wheel",),
    "point.rpm": ("ratio",), "drive.speedometer_error": ("ratio",), "drive.pull_g": ("ratio",),
}  # fmt: skip
"""Kinds of part behind a derived value beside those that a builder is asked for."""
_CORNER_KINDS = ("wheel", "tire", "spacer")
_DRIVE_KINDS = ("tire", "ratio", "differential")
_BY_EVERY_SPACER = frozenset({"wheel", "spacer"})
HALF_INCH_MM = 12.7
"""Rim diameter codes are half an inch apart or more."""


@dataclass(frozen=True)
class Removed:
    """How many candidates of a kind a check removes: alone, and as the first in order to do so.

    `unverified` of those alone do not fail: something is still to be measured, and the job is strict.
    """

    check: str
    kind: str
    alone: int
    first: int
    unverified: int = 0


@dataclass(frozen=True)
class Space:
    """What the solver is given: rows that pass their own checks, sorted by SKU, and the ballast slots.

    `front` and `rear` hold corner rows, `drive` drive rows, `slots` ballast slots; the index of each counts from 0.
    `bars` are what whole-build checks ask, `shifts` how the truck's own plus-or-minus moves them, where it decides.
    """

    job: Job
    front: pd.DataFrame
    rear: pd.DataFrame
    drive: pd.DataFrame
    slots: pd.DataFrame
    removed: tuple[Removed, ...]
    bars: tuple[Bar, ...]
    shifts: Shifts

    def with_rows(self, front: pd.DataFrame, rear: pd.DataFrame, drive: pd.DataFrame) -> Space:
        """The same space with other rows."""
        return dataclasses.replace(self, front=front, rear=rear, drive=drive)


def space_of(job: Job, parts: Parts) -> Space:
    """All candidates of a job, reduced to those that pass every check that their own parts decide."""
    removed: list[Removed] = []
    kept = {axle: _corners(job, axle, parts, removed) for axle in AXLES}
    front, rear = kept["front"], kept["rear"]
    drive = _drives(job, parts, np.unique(rear["tire.at"].to_numpy(dtype=np.int64)), removed)
    rear = rear[rear["tire.at"].isin(drive["tire.at"])]
    if job.job.same_all_round:
        front, rear = _same_pairs(front, rear)
    removed[:] = _merged(removed)
    slots = with_reachable_counts(job, rows.slots(job, parts))
    shifts = Shifts() if is_nominal(job) else shifts_of(job, asked_checks(job, "build"))
    tables = (_sorted_corners(front), _sorted_corners(rear), _sorted_drives(drive))
    return _without_hopeless(Space(job, *tables, slots, (), bars_of(job, shifts), shifts), removed)


def _merged(removed: list[Removed]) -> list[Removed]:
    """One entry for each check and kind: the join and the check of the rim diameter count as one."""
    merged: dict[tuple[str, str], Removed] = {}
    for one in removed:
        before = merged.get((one.check, one.kind), Removed(one.check, one.kind, 0, 0))
        merged[one.check, one.kind] = Removed(one.check, one.kind, before.alone + one.alone, before.first + one.first,
                                              before.unverified + one.unverified)  # fmt: skip
    return list(merged.values())


def every_mounted(job: Job, axle: Axle, parts: Parts) -> tuple[pd.DataFrame, tuple[Check, ...]]:
    """Every wheel alone on the hub of an axle, whatever it fails, with the checks that look at no tire."""
    wheel = np.arange(len(parts.wheels), dtype=np.int64)
    table = _mounted(job, axle, parts, wheel, np.full(len(wheel), NO_SPACER, dtype=np.int64))
    checks = tuple(check for check in asked_checks(job, "corner", axle) if stage_of(check) <= _BY_EVERY_SPACER)
    return table.assign(**{"wheel.at": wheel}), checks


def every_corner(job: Job, axle: Axle, parts: Parts) -> tuple[pd.DataFrame, tuple[Check, ...]]:
    """Every wheel with every tire of its rim diameter and every spacer, where it bolts on, with all corner checks."""
    wheel, spacer = _every_wheel_on_every_spacer(parts)
    checks = asked_checks(job, "corner", axle)
    bolts_on = [check for check in checks if check.id == "bolt_circle"]
    right = ~(margins(job, axle, bolts_on, _mounted(job, axle, parts, wheel, spacer)) < 0).to_numpy().any(axis=1)
    wheel, spacer, tire = _joined(parts, wheel[right], spacer[right], np.arange(len(parts.tires), dtype=np.int64))
    table = rows.corners(job, axle, parts, Picks(wheel, tire, spacer))
    return table.assign(**{"wheel.at": wheel, "tire.at": tire}), checks


def every_gear(job: Job, parts: Parts) -> tuple[pd.DataFrame, tuple[Check, ...]]:
    """Every gear set with every differential, with the checks that look at no tire."""
    table, _, _ = _gears(job, parts)
    return table, tuple(check for check in asked_checks(job, "drive") if not stage_of(check) & {"tire"})


def every_drive(job: Job, parts: Parts) -> tuple[pd.DataFrame, tuple[Check, ...]]:
    """Every gear set with a differential that it goes with, on every tire, with all drive checks."""
    gears, ratio, differential = _gears(job, parts)
    checks = asked_checks(job, "drive")
    of_gears = [check for check in checks if not stage_of(check) & {"tire"}]
    right = ~(margins(job, "rear", of_gears, gears) < 0).to_numpy().any(axis=1)
    ratio, differential = ratio[right], differential[right]
    tire = np.arange(len(parts.tires), dtype=np.int64)
    picks = (np.repeat(tire, len(ratio)), np.tile(ratio, len(tire)), np.tile(differential, len(tire)))
    table = rows.drives(job, parts, *picks)
    return table.assign(**{"ratio.at": picks[1], "differential.at": picks[2]}), checks


def stage_of(check: Check) -> frozenset[str]:
    """Kinds of part that a row check looks at, through the columns that it needs."""
    return frozenset().union(*(_kinds_behind(source) for source in check.needs.values()))


@functools.cache
def _kinds_behind(source: str) -> frozenset[str]:
    table = source.partition(".")[0]
    if table in {*_CORNER_KINDS, *_DRIVE_KINDS}:
        return frozenset({table})
    if table == "mount":
        return frozenset({"spacer"})
    behind = frozenset(_ALSO_BEHIND.get(source, ()))
    return behind.union(*(_kinds_behind(root) for root in SOURCES.get(source, ()))) if source in SOURCES else behind


def _corners(job: Job, axle: Axle, parts: Parts, removed: list[Removed]) -> pd.DataFrame:
    checks = asked_checks(job, "corner", axle)
    of_wheel = [check for check in checks if stage_of(check) <= _BY_EVERY_SPACER]
    of_tire = [check for check in checks if stage_of(check) == {"tire"}]
    of_pair = [check for check in checks if check not in of_wheel and check not in of_tire]
    wheel, spacer = _every_wheel_on_every_spacer(parts)
    mounted = _keep(job, axle, f"{axle} wheel", of_wheel, _mounted(job, axle, parts, wheel, spacer), removed)
    wheel, spacer = wheel[mounted], spacer[mounted]
    tire = np.arange(len(parts.tires), dtype=np.int64)
    tire = tire[_keep(job, axle, f"{axle} tire", of_tire, parts.tires.add_prefix("tire."), removed)]
    pairs = len(wheel) * len(tire)
    wheel, spacer, tire = _joined(parts, wheel, spacer, tire)
    apart = pairs - len(wheel)
    removed.append(Removed("rim_diameter", f"{axle} corner", apart, apart))
    table = rows.corners(job, axle, parts, Picks(wheel, tire, spacer))
    table = table.assign(**{"wheel.at": wheel, "tire.at": tire, "spacer.at": spacer})
    kept = _keep(job, axle, f"{axle} corner", of_pair, table, removed)
    table = table[kept].reset_index(drop=True)
    return with_points(job, pd.concat([table, margins(job, axle, checks, table).add_prefix("margin.")], axis=1), axle)


def _every_wheel_on_every_spacer(parts: Parts) -> tuple[Index, Index]:
    spacers = np.concatenate([[NO_SPACER], np.arange(len(parts.spacers))]).astype(np.int64)
    wheels = np.arange(len(parts.wheels), dtype=np.int64)
    return np.repeat(wheels, len(spacers)), np.tile(spacers, len(wheels))


def _mounted(job: Job, axle: Axle, parts: Parts, wheel: Index, spacer: Index) -> pd.DataFrame:
    """Corner rows without a tire: what a wheel's own checks need."""
    return rows.corners(job, axle, _without_tires(parts), Picks(wheel, np.zeros(len(wheel), dtype=np.int64), spacer))


def _joined(parts: Parts, wheel: Index, spacer: Index, tire: Index) -> tuple[Index, Index, Index]:
    """Mounted wheels with the tires of their rim diameter, to the nearest half inch; the check itself comes after."""
    of_wheels = np.rint(parts.wheels["rim_diameter_mm"].to_numpy()[wheel] / HALF_INCH_MM)
    of_tires = np.rint(parts.tires["rim_diameter_mm"].to_numpy()[tire] / HALF_INCH_MM)
    left = pd.DataFrame({"key": of_wheels, "wheel": wheel, "spacer": spacer})
    right = pd.DataFrame({"key": of_tires, "tire": tire})
    both = left.merge(right, on="key", how="inner")
    wheel, spacer, tire = (both[name].to_numpy(dtype=np.int64) for name in ("wheel", "spacer", "tire"))
    return wheel, spacer, tire


def _drives(job: Job, parts: Parts, tire: Index, removed: list[Removed]) -> pd.DataFrame:
    """Every gear set with every differential that it goes with, on every tire that is left at the rear."""
    checks = asked_checks(job, "drive")
    of_gears = [check for check in checks if not stage_of(check) & {"tire"}]
    of_tires = [check for check in checks if check not in of_gears]
    gears, ratio, differential = _gears(job, parts)
    kept = _keep(job, "rear", "gear set", of_gears, gears, removed)
    ratio, differential = ratio[kept], differential[kept]
    picks = (np.repeat(tire, len(ratio)), np.tile(ratio, len(tire)), np.tile(differential, len(tire)))
    table = rows.drives(job, parts, *picks)
    table = table.assign(**dict(zip(("tire.at", "ratio.at", "differential.at"), picks, strict=True)))
    kept = _keep(job, "rear", "drive", of_tires, table, removed)
    table = table[kept].reset_index(drop=True)
    return with_drive_points(job, pd.concat([table, margins(job, "rear", checks, table).add_prefix("margin.")], axis=1))


def _gears(job: Job, parts: Parts) -> tuple[pd.DataFrame, Index, Index]:
    """Drive rows without a tire: every gear set with every differential, and which those are."""
    count = len(parts.differentials)
    ratio = np.repeat(np.arange(len(parts.ratios), dtype=np.int64), count)
    differential = np.tile(np.arange(count, dtype=np.int64), len(parts.ratios))
    gears = rows.drives(job, _without_tires(parts), np.zeros(len(ratio), dtype=np.int64), ratio, differential)
    return gears.assign(**{"ratio.at": ratio, "differential.at": differential}), ratio, differential


def _without_tires(parts: Parts) -> Parts:
    """The parts with one empty tire in place of the list."""
    no_tire = parts.tires.iloc[:0].reindex([0])
    return Parts(parts.wheels, no_tire, parts.spacers, parts.ratios, parts.differentials, parts.ballast)


def _keep(
    job: Job, axle: Axle, kind: str, checks: list[Check], table: pd.DataFrame, removed: list[Removed]
) -> NDArray[np.bool_]:
    """Rows that no check fails; with `strict` also none is unverified. What each check drops is counted."""
    left = np.ones(len(table), dtype=bool)
    for check in checks:
        margin = margins(job, axle, [check], table)[check.id].to_numpy()
        drops = ~(margin >= 0) if job.job.strict else margin < 0
        unverified = int((drops & np.isnan(margin)).sum())
        removed.append(Removed(check.id, kind, int(drops.sum()), int((drops & left).sum()), unverified))
        left &= ~drops
    return left


def _same_pairs(front: pd.DataFrame, rear: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Corners whose wheel and tire are left at both axles."""
    key = ["wheel.at", "tire.at"]
    both = front[key].drop_duplicates().merge(rear[key].drop_duplicates(), on=key)
    return front.merge(both, on=key), rear.merge(both, on=key)


def _sorted_corners(table: pd.DataFrame) -> pd.DataFrame:
    return table.sort_values(["wheel.sku", "tire.sku", "spacer.sku"], kind="stable").reset_index(drop=True)


def _sorted_drives(table: pd.DataFrame) -> pd.DataFrame:
    return table.sort_values(["ratio.sku", "differential.sku", "tire.sku"], kind="stable").reset_index(drop=True)


def _without_hopeless(space: Space, removed: list[Removed]) -> Space:
    """Drop rows that fail a whole-build check even beside the rows and the ballast that help it most.

    Exact: a dropped row is in no feasible build. A row that leaves the check unverified is never dropped by it.
    """
    tables = {"front": space.front, "rear": space.rear, "drive": space.drive}
    for bar in space.bars:
        best = {name: _room_of_rows(space.job, bar, name, table) for name, table in tables.items()}
        rest = bar.room_of_truck(space.job) + _best_ballast(bar, space)
        for name, room in best.items():
            others = sum(float(other.max()) if len(other) else 0.0 for key, other in best.items() if key != name)
            drops = room + others + rest < 0
            if drops.any():
                kind = name if name == "drive" else f"{name} corner"
                removed.append(Removed(bar.check.id, kind, int(drops.sum()), int(drops.sum())))
                tables[name] = tables[name][~drops].reset_index(drop=True)
                best[name] = room[~drops]
    kept = space.with_rows(tables["front"], tables["rear"], tables["drive"])
    return dataclasses.replace(kept, removed=tuple(removed))


def _room_of_rows(job: Job, bar: Bar, name: str, table: pd.DataFrame) -> NDArray[np.float64]:
    """What each row adds to a build check's room; infinite where the row leaves it unverified."""
    room = bar.room_of_rows(job, name, table)
    return np.where(np.isnan(room), np.inf, room)


def _best_ballast(bar: Bar, space: Space) -> float:
    """The most that ballast can help a build check, each slot filled as far as it may be."""
    help_ = bar.room_of_rows(space.job, "slot", space.slots)
    return float((np.maximum(help_, 0.0) * space.slots["slot.most"].to_numpy(dtype=float)).sum())

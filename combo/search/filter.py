"""Whole lists to what can still matter: what each check drops is dropped and counted, what is alike is one group.

Parts are met in stages, so that no list is multiplied out before its own checks are done: wheels on the hub (with each
spacer), tires alone, then both by rim diameter; gear sets with differentials, then tires with those. A check runs at
the first stage that holds every kind of part it looks at.

What passes is not a table of rows, of which there may be a billion, but groups: a class of wheels on a spacer with a
class of tires, where all parts of a class are alike in everything that pairs them. `combo.search.pool` takes rows out
of groups where they can matter.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from combo.arrays import every_pair, firsts
from combo.bounds.chain import ties
from combo.bounds.grade_cuts import GRIPS
from combo.candidates.constraints import LinearConstraint, linear_constraints
from combo.candidates.criteria import cruise_points, fit_checks, fit_points, grips
from combo.candidates.instance import KNOWN, Axis, Grid, Instance, Work
from combo.candidates.layouts import LayoutRules, layout_rules, with_reachable_counts
from combo.candidates.objectives import Ends, ObjectiveBound, objective_bounds
from combo.candidates.relaxed_limits import NOTHING, RelaxedLimits
from combo.candidates.slack import CORNER_KINDS, Rooms, rooms_of
from combo.candidates.space import Removed
from combo.candidates.tables import Tables
from combo.checks import CHECKS, rows
from combo.checks.check import Check, ConstraintId
from combo.checks.judge import Shifts, is_nominal, shifts_of
from combo.checks.prices import least_start_cents, most_beyond_cents, orders_decide
from combo.checks.rows import Index
from combo.checks.run import asked_checks, pair_columns
from combo.checks.table import Given
from combo.checks.totals import truck_totals
from combo.job import AXLES, Axle, Job
from combo.parts import Parts
from combo.search.propagate import best_margin, ends_of, table_of, totals_of

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]
Weights = tuple[Index, Index] | tuple[()]
"""How many candidates each place of two axes stands for; one where nothing is told."""
HALF_INCH_MM = 12.7
"""Rim diameter codes are half an inch apart or more."""
PAIRS_AT_ONCE = 4_000_000


@dataclass(frozen=True)
class Kinds:
    """Parts of a kind at an axle: which are left, their class, and what each brings to corners: cents, grams, and room
    in each whole-build check, shape (parts, 2 + checks); NaN or infinite where it is not known. Of spacers none first.
    """

    left: Mask
    of: Index
    sizes: Floats

    @property
    def cents(self) -> Floats:
        """What each part brings to the bill."""
        return self.sizes[:, 0]

    @property
    def grams(self) -> Floats:
        """What each part weighs, for all that an axle has."""
        return self.sizes[:, 1]

    def most(self, sizes: Floats) -> Floats:
        """Largest size of the parts left of each class; minus infinity where none is left."""
        out = np.full(int(self.of.max(initial=-1)) + 1, -np.inf)
        np.fmax.at(out, self.of[self.left], sizes[self.left])
        return out


@dataclass(frozen=True)
class Corners:
    """Corners of an axle: what is left of the lists, and which groups of wheels, spacer and tires pass together.

    `mounted` tells which wheel may stand on which spacer, shape (wheels, spacers + 1), none of them first. Of each
    group: class of the wheels, spacer (0 is none), class of the tires, and what all its corners have alike.
    """

    wheels: Kinds
    tires: Kinds
    spacers: Kinds
    mounted: Mask
    wheel: Index
    spacer: Index
    tire: Index
    fit: Floats
    lip_um: Floats
    diameter_um: Floats
    mounting_cents: Floats

    def __len__(self) -> int:
        return len(self.wheel)

    def take(self, at: Index | Mask) -> Corners:
        """The corners of some groups."""
        own = {name: getattr(self, name)[at] for name in _OF_GROUPS}
        return replace(self, **own)

    def without(self, kind: str, parts: Mask) -> Corners:
        """The corners without some wheels or tires, and the groups in which any are left."""
        if kind == "tire":
            own = replace(self, tires=replace(self.tires, left=self.tires.left & ~parts))
            return own.take(np.isin(own.tire, own.tires.of[own.tires.left]))
        mounted = self.mounted & ~parts[:, np.newaxis]
        own = replace(
            self,
            mounted=mounted,
            wheels=replace(self.wheels, left=_any(mounted, 1)),
            spacers=replace(self.spacers, left=_any(mounted, 0)),
        )
        wheel, spacer = np.nonzero(mounted)
        there = np.zeros((int(self.wheels.of.max(initial=-1)) + 1, mounted.shape[1]), dtype=bool)
        there[self.wheels.of[wheel], spacer] = True
        return own.take(there[own.wheel, own.spacer])


_OF_GROUPS = ("wheel", "spacer", "tire", "fit", "lip_um", "diameter_um", "mounting_cents")


@dataclass(frozen=True)
class Drives:
    """Groups of drives: class of the tires (as at the rear axle), ratio and differential by position, what they have
    alike, and the room that each brings to the whole-build checks, shape (groups, checks); infinite where not known.
    """

    tire: Index
    ratio: Index
    differential: Index
    cents: Floats
    cruise: Floats
    grip: Floats
    share: Floats
    preload_kg: Floats
    road_share: Floats
    road_preload_kg: Floats
    rooms: Floats

    def __len__(self) -> int:
        return len(self.tire)

    def take(self, at: Index | Mask) -> Drives:
        """Some of the groups."""
        return Drives(*(getattr(self, name)[at] for name in self.__dataclass_fields__))


@dataclass(frozen=True)
class FilteredLists:
    """What is left of a job's lists, in groups; the ballast slots, and what the whole build must hold.

    `met` tells how many candidates of each kind the checks began with.

    `tables` works out the rows that are looked at; `starts` is what the truck brings to each total; between what those
    of the levels lie, `ends` tells.

    By kind, `duplicates` number wheels and tires that are alike in all but SKU and price; `sku_order` ranks them.
    """

    job: Job
    parts: Parts
    corners: Mapping[Axle, Corners]
    drives: Drives
    slots: Given
    removed: tuple[Removed, ...]
    rooms: tuple[Rooms, ...]
    shifts: Shifts
    levels: tuple[ObjectiveBound, ...]
    duplicates: Mapping[str, Index]
    sku_order: Mapping[str, Index]
    allowed: RelaxedLimits
    rules: LayoutRules
    met: Mapping[str, int]
    tables: Tables
    starts: Mapping[str, float]
    ends: Ends

    def capped(self, caps: Mapping[str, float]) -> FilteredLists:
        """The same, whose levels see only builds of which these totals are no more than the caps."""
        return replace(self, levels=objective_bounds(self.job, self.slots, self.ends, self.allowed, caps))

    def has_rows(self) -> bool:
        """Whether any front corner, rear corner and drive are left."""
        return _has_rows(self.corners, self.drives)

    def size(self) -> int:
        """How many groups the longest table has."""
        return max(*(len(own) for own in self.corners.values()), len(self.drives))

    def sampled(self, count: int) -> FilteredLists:
        """About `count` groups of each table, evenly spaced, that belong together: fewer builds, no others."""
        drives = self.drives.take(_spaced(len(self.drives), count))
        rear = self.corners["rear"]
        rear = rear.take(np.isin(rear.tire, drives.tire))
        rear = rear.take(_spaced(len(rear), count))
        front = self.corners["front"]
        if self.job.job.same_all_round:
            corners = _at_both({"front": front, "rear": rear})
        else:
            corners = {"front": front.take(_spaced(len(front), count)), "rear": rear}
        return replace(self, corners=corners, drives=drives.take(np.isin(drives.tire, corners["rear"].tire)))


def space_of(job: Job, parts: Parts, allowed: RelaxedLimits = NOTHING) -> FilteredLists:
    """All candidates of a job, reduced to those that pass every check that their own parts decide; `allowed` is what
    checks may fail by, and which parts are wanted.
    """
    return filter_lists(Instance(job, parts), allowed)


def filter_lists(instance: Instance, allowed: RelaxedLimits = NOTHING) -> FilteredLists:
    """As `space_of`, of lists that keep what was worked out of them before."""
    return _Reduction(instance, allowed).all()


class _Reduction:
    """One pass over the lists of a job."""

    def __init__(self, instance: Instance, allowed: RelaxedLimits) -> None:
        self.instance, self.allowed = instance, allowed
        self.job, self.parts = instance.job, instance.parts
        self.funnel = RemovalCounts()
        self.unsupported: dict[tuple[str, Axle, str], Mask] = {}
        """Parts that a check of the whole build has dropped and counted, by check, axle and kind."""
        self.hopeless_alone: dict[tuple[str, Axle, str], Mask] = {}
        """Parts of all there are that are counted as what a check of the whole build drops alone, likewise."""
        self.spacers = np.arange(-1, len(self.parts.spacers), dtype=np.int64)
        self.wheels, self.tires, self.ratios, self.differentials = (
            np.arange(len(self.parts.table(plural)), dtype=np.int64)
            for plural in ("wheels", "tires", "ratios", "differentials")
        )
        moved = self._moved_layouts()
        self.slots = instance.once(("slots", *moved), self._slots)
        aboard, failed = allowed.pinned.aboard, allowed.failed
        key = "rules", *moved, tuple(aboard.items()), tuple(place for place in failed if place[0] in moved)
        self.rules = instance.once(key, lambda: layout_rules(self.job, self.slots, allowed))
        self.shifts = instance.once(("shifts",), self._shifts)
        self.starts = instance.once(("starts",), lambda: truck_totals(self.job))
        self.rooms = rooms_of(
            instance, linear_constraints(self.job, self.shifts, allowed), self.slots, moved, self.starts
        )
        self._moved = moved
        self.wheel_of, self.tire_of = instance.once(("classes", self.job.ranking(), *self._dropped()), self._classes)

    def _dropped(self) -> tuple[ConstraintId, ...]:
        """Checks of corners and drives that are not made."""
        return tuple(
            (check.id, axle)
            for axle in AXLES
            for check in CHECKS
            if (check.rows in {"corner", "drive"} and self.allowed.is_dropped(check, axle))
            or (check.rows == "build" and check.where == axle and np.isinf(self.allowed.of(check, axle)))
        )

    def _moved_layouts(self) -> tuple[str, ...]:
        """Checks of the layout that need not hold."""
        return tuple(check.id for check in CHECKS if check.rows == "layout" and self.allowed.of(check, "truck"))

    def _made(self, rows: str, axle: Axle = "rear") -> list[Check]:
        """Checks of rows that the job asks for at an axle, without those that are not made."""
        asked = asked_checks(self.job, rows, axle if rows == "corner" else None)
        return [check for check in asked if not self.allowed.is_dropped(check, axle)]

    def _made_whole(self, table: str) -> list[Check]:
        """Checks of the whole build that look at the rows of one table alone and must hold."""
        return [
            check
            for check in asked_checks(self.job, "build")
            if table_of(self.job, check) == table
            and not np.isinf(self.allowed.of(check, check.where))
            and None not in self._ends(check).values()
        ]

    def _ends(self, check: Check) -> dict[str, tuple[float, float] | None]:
        return {
            name: self.instance.once(("ends", name, *self._moved), partial(ends_of, self.instance, self.slots, name))
            for name in totals_of(self.job, check)
        }

    def _at_best(self, check: Check) -> Work:
        """The largest margin that a row can have in a check of the whole build, as some work on rows."""
        return best_margin(self.job, check, {name: ends for name, ends in self._ends(check).items() if ends})

    def _slots(self) -> Given:
        return with_reachable_counts(self.job, rows.slots(self.job, self.parts), self.allowed)

    def _shifts(self) -> Shifts:
        return Shifts() if is_nominal(self.job) else shifts_of(self.job, asked_checks(self.job, "build"))

    def all(self) -> FilteredLists:
        """Everything that is left."""
        job = self.job
        corners = {axle: self._corners(axle) for axle in AXLES}
        gears = self._gears()
        drives = self._drives(corners["rear"], gears)
        has_rows = _has_rows(corners, drives)
        for own, of_drives in zip(self.rooms, drives.rooms.T, strict=True):
            self._count_alone(own)
            if has_rows:  # beside nothing every part would be hopeless
                corners = self._without_hopeless(own, corners, float(of_drives.max(initial=-np.inf)))
        rear = corners["rear"]
        corners["rear"] = rear.take(np.isin(rear.tire, drives.tire))
        if job.job.same_all_round:
            corners = _at_both(corners)
        ends = _ends(job, self.parts, corners, drives)
        levels = objective_bounds(job, self.slots, ends, self.allowed)
        duplicates, order = (
            self.instance.once(("duplicates",), self._duplicates),
            self.instance.once(("skus",), self._sku_orders),
        )
        tables = self.instance.once(("tables",), lambda: Tables(job, self.parts))
        return FilteredLists(
            job,
            self.parts,
            corners,
            drives,
            self.slots,
            self.funnel.told(),
            tuple(self.rooms),
            self.shifts,
            levels,
            duplicates,
            order,
            self.allowed,
            self.rules,
            self.funnel.met,
            tables,
            self.starts,
            ends,
        )

    def _classes(self) -> tuple[Index, Index]:
        """Classes of wheels and tires: alike in all that pairs them with one another, an axle, a drive or ballast."""
        job, used = self.job, set(self.job.ranking())
        rated = ("wheel.mass_kg", "wheel.load_rating_kg", "tire.mass_kg", "tire.capacity_kg")
        seen: set[str] = {name + KNOWN for name in rated} | {f"{kind}.rim_diameter_mm" for kind in ("wheel", "tire")}
        for axle in AXLES:
            checks = [check for check in self._made("corner", axle) if self._stage(check, axle) == "pair"]
            checks += fit_checks(job, axle) if "fit" in used else []
            for check in checks:
                seen |= self.instance.columns_checked(check, axle)
            seen |= self.instance.columns_seen(_column("corner.mounting_cents"), axle)
            if "stance" in used:
                for name in ("corner.lip_error_um", "corner.diameter_um"):
                    seen |= self.instance.columns_seen(_column(name), axle)
        for check in self._made("drive"):
            seen |= self.instance.columns_checked(check, "rear")
        for check in self._made_whole("drive"):
            seen |= self.instance.columns_seen(self._at_best(check), None)
        seen |= self.instance.columns_seen(_column("drive.rpm"), None) | set(ties(job))
        of_wheels = self.instance.classes(Axis(wheel=self.wheels), seen)[0]
        return of_wheels, self.instance.classes(Axis(tire=self.tires), seen)[0]

    def _duplicates(self) -> dict[str, Index]:
        """By kind, number of each part among those that are alike in all that anything looks at, but for the price."""
        seen = set(pair_columns(asked_checks(self.job, "pair")))
        for axle in AXLES:
            for check in asked_checks(self.job, "corner", axle):
                seen |= self.instance.columns_checked(check, axle)
            seen |= self.instance.columns_seen(_every_column, axle)
        for check in asked_checks(self.job, "drive"):
            seen |= self.instance.columns_checked(check, "rear")
        seen |= self.instance.columns_seen(_every_column, None)
        found = {}
        for kind, at in (("wheel", self.wheels), ("tire", self.tires)):
            listed = {f"{kind}.{name}" for name in self.parts.of_kind(kind)}
            found[kind] = self.instance.classes(Axis({kind: at}), (seen & listed) - {f"{kind}.price_cents"})[0]
            own = [orders_decide(self.job, name) for name in self.parts.column(kind, "supplier")]
            found[kind] = np.where(own, len(at) + at, found[kind])  # a dearer one may make an order large enough
        return found

    def _sku_orders(self) -> dict[str, Index]:
        return {kind: self._sku_order(kind) for kind in ("wheel", "tire")}

    def _sku_order(self, kind: str) -> Index:
        skus = self.parts.column(kind, "sku")
        rank = np.zeros(len(skus), dtype=np.int64)
        rank[np.argsort(skus, kind="stable")] = np.arange(len(skus))
        return rank

    def _stage(self, check: Check, axle: Axle) -> str:
        kinds = self.instance.kinds_checked(check, axle)
        if kinds <= {"wheel", "spacer"}:
            return "wheel"
        return "tire" if kinds == {"tire"} else "pair"

    def _staged(self, axle: Axle) -> dict[str, list[Check]]:
        checks = self._made("corner", axle)
        return {
            name: [check for check in checks if self._stage(check, axle) == name] for name in ("wheel", "tire", "pair")
        }

    def _without_hopeless(self, own: Rooms, corners: Mapping[Axle, Corners], drive: float) -> dict[Axle, Corners]:
        """Drop and count wheels and tires that leave no room in a whole-build check beside what helps most."""
        best = {
            (axle, kind): _best_room(own, side, axle, kind) for axle, side in corners.items() for kind in CORNER_KINDS
        }
        found = dict(corners)
        for axle, side in corners.items():
            for kind, left in (("wheel", side.mounted), ("tire", side.tires.left)):
                drops, unknown = self._hopeless(own, best, drive, axle, kind)
                told = self.unsupported.get((own.bar.check.id, axle, kind))
                drops = drops if told is None else drops & ~told
                if drops.any():
                    every, open_ = (
                        (mask[:, np.newaxis] & np.ones_like(left) if kind == "wheel" else mask)
                        for mask in (drops, unknown)
                    )
                    self.funnel.count(
                        own.bar.check.id, f"{axle} {kind}", 0, int((every & left).sum()), int(open_.sum())
                    )
                    found[axle] = found[axle].without(kind, drops)
        return found

    def _hopeless(
        self, own: Rooms, best: Mapping[tuple[Axle, str], float], drive: float, axle: Axle, kind: str
    ) -> tuple[Mask, Mask]:
        """Parts of a kind that leave no room in a whole-build check beside the best of all others, and which of them
        for want of a measurement alone.
        """
        rooms = own.parts[axle, kind]
        unknown = np.isinf(rooms) & self._is_open_failure(own)
        return (rooms < own.least(best, drive, axle, kind)) | unknown, unknown

    def _count_alone(self, own: Rooms) -> None:
        """Count what a whole-build check drops of all parts there are, whatever the others do: that is told only of a
        job as it is asked.
        """
        if self.allowed != NOTHING:
            return
        is_open = self._is_open_failure(own)  # then what is not known saves none
        best = {
            place: float(rooms[np.isfinite(rooms) | (not is_open)].max(initial=-np.inf))
            for place, rooms in own.parts.items()
        }
        drive = self.instance.once(("best drive", *own.bar.key), partial(self._best_drive, own.bar))
        for axle in AXLES:
            for kind in ("wheel", "tire"):
                self._add_alone(own.bar.check.id, axle, kind, self._hopeless(own, best, drive, axle, kind)[0])

    def _add_alone(self, check: str, axle: Axle, kind: str, drops: Mask) -> None:
        """Count parts that a check drops alone, each once: wheels (on every spacer, shape (wheels,) or (wheels,
        spacers)) or tires.
        """
        if kind == "wheel":
            drops = np.broadcast_to(drops.reshape(len(drops), -1), (len(self.wheels), len(self.spacers)))
        known = self.hopeless_alone.get((check, axle, kind), np.zeros(drops.shape, dtype=bool))
        if (drops & ~known).any():
            self.funnel.count(check, f"{axle} {kind}", int((drops & ~known).sum()))
        self.hopeless_alone[check, axle, kind] = known | drops

    def _best_drive(self, bar: LinearConstraint) -> float:
        """The most room that any drive brings to a whole-build check."""
        ratio, differential = every_pair(self.ratios, self.differentials)
        axes = [Axis(tire=firsts(self.tire_of)), Axis(ratio=ratio, differential=differential)]
        return float(self._drive_room(bar, axes).values.max(initial=-np.inf))

    def _is_open_failure(self, own: Rooms) -> bool:
        """Whether a part that leaves a check unverified is in no build: the job is strict, and no truck's figure is
        what is missing.
        """
        return self.job.job.strict and not own.bar.is_loose and np.isfinite(own.truck)

    def _corners(self, axle: Axle) -> Corners:
        """Wheels on spacers, and tires, that pass what looks at nothing else, and the groups of both that pass."""
        checks = self._staged(axle)
        pinned = self.allowed.pinned
        axes = [Axis(wheel=self.wheels), Axis(spacer=self.spacers)]
        mounted = self._keep(axle, f"{axle} wheel", checks["wheel"], axes)
        mounted &= pinned.keeps(axle, "wheel", self.wheels)[:, np.newaxis] & pinned.keeps(axle, "spacer", self.spacers)
        tires = self._keep(axle, f"{axle} tire", checks["tire"], [Axis(tire=self.tires)])
        tires &= pinned.keeps(axle, "tire", self.tires)
        for check in self._made_whole(axle):
            mounted, tires = self._supported(check, axle, mounted, tires)
        groups = self._pairs(axle, mounted, tires, checks["pair"])
        wheel, spacer = (self._kind(axle, kind, _any(mounted, at)) for kind, at in (("wheel", 1), ("spacer", 0)))
        return Corners(wheel, self._kind(axle, "tire", tires), spacer, mounted, **groups)

    def _supported(self, check: Check, axle: Axle, mounted: Mask, tires: Mask) -> tuple[Mask, Mask]:
        """Wheels on spacers and tires that some corner at least has which a check of the whole build may hold (arc
        consistency); what is dropped is counted.
        """
        axes = [Axis(wheel=self.wheels), Axis(spacer=self.spacers), Axis(tire=self.tires)]
        drops, unverified = self._dropped_of(check, axle, axes)
        if not drops.values.any():
            return mounted, tires
        of_wheel, of_spacer, of_tire = drops.of
        if self.allowed == NOTHING:
            of_every = np.asarray(drops.values.all(axis=2)), np.asarray(drops.values.all(axis=(0, 1)))
            self._add_alone(check.id, axle, "wheel", of_every[0][of_wheel][:, of_spacer])
            self._add_alone(check.id, axle, "tire", of_every[1][of_tire])
        wheel, spacer = np.nonzero(mounted)
        left = np.zeros(drops.values.shape, dtype=bool)
        left[of_wheel[wheel], of_spacer[spacer]] = True
        there = np.zeros(drops.values.shape[2], dtype=bool)
        there[of_tire[tires]] = True
        holds = left & there & ~drops.values
        of_mounted, of_tires = ~holds.any(axis=2)[of_wheel][:, of_spacer], ~holds.any(axis=(0, 1))[of_tire]
        is_open = left & there & unverified.values
        open_mounted, open_tires = is_open.any(axis=2)[of_wheel][:, of_spacer], is_open.any(axis=(0, 1))[of_tire]
        for kind, here, dropped, unknown in (
            ("wheel", mounted, of_mounted, open_mounted),
            ("tire", tires, of_tires, open_tires),
        ):
            gone = here & dropped
            self.unsupported[check.id, axle, kind] = gone.any(axis=1) if kind == "wheel" else gone
            self.funnel.count(check.id, f"{axle} {kind}", 0, int(gone.sum()), int((gone & unknown).sum()))
        return mounted & ~of_mounted, tires & ~of_tires

    def _keep(self, axle: Axle, kind: str, checks: list[Check], axes: list[Axis], weights: Weights = ()) -> Mask:
        """What no check fails of every combination of some axes."""
        shape = tuple(axis.length for axis in axes)
        drops = ((check, self._dropped_of(check, axle, axes)) for check in checks)
        return self._sieved(kind, drops, shape, weights)

    def _dropped_of(self, check: Check, axle: Axle, axes: list[Axis]) -> tuple[Grid, Grid]:
        """What a check drops of every combination of some axes, see `_dropping`; one of the whole build at its best."""
        if check.rows != "build":
            return self._dropping(check, axle, self.instance.margins(check, axle, axes))
        of = None if table_of(self.job, check) == "drive" else axle
        key = "at best", check.id, check.where, *self._moved
        return self._dropping(check, check.where, self.instance.kept_grid(key, self._at_best(check), of, axes))

    def _dropping(self, check: Check, axle: str, margins: Grid) -> tuple[Grid, Grid]:
        """What a check drops by its margins, and what of that for want of a measurement alone."""
        strict = self.job.job.strict
        drops = margins.made(lambda own: ~self.allowed.holds(check, axle, own, strict=strict))
        return drops, margins.made(lambda own: np.isnan(own) & drops.values)

    def _sieved(
        self,
        kind: str,
        checks: Iterable[tuple[Check, tuple[Grid, Grid]]],
        shape: tuple[int, ...],
        weights: Weights,
    ) -> Mask:
        """Candidates that no check drops, with what each drops, see `_dropping`; how many these are is counted."""
        left = np.ones(shape, dtype=bool)
        self.funnel.meet(kind, _count(left, weights))
        for check, (dropped, unverified) in checks:
            if not dropped.values.any():
                self.funnel.count(check.id, kind)
                continue
            drops = dropped.full()
            self.funnel.count(
                check.id, kind, dropped.count(weights), _count(drops & left, weights), unverified.count(weights)
            )
            left &= ~drops
        return left

    def _kind(self, axle: Axle, kind: str, left: Mask) -> Kinds:
        at = {"wheel": self.wheels, "tire": self.tires, "spacer": self.spacers}[kind]
        of = {"wheel": self.wheel_of, "tire": self.tire_of, "spacer": self.spacers + 1}[kind]
        axes = [Axis({kind: at})]
        sizes = [self.instance.column(f"corner.of_{kind}_{unit}", axle, axes).full() for unit in ("cents", "g")]
        return Kinds(left, of, np.array([*sizes, *(own.parts[axle, kind] for own in self.rooms)], dtype=float).T)

    def _pairs(self, axle: Axle, mounted: Mask, tires: Mask, checks: list[Check]) -> dict[str, Any]:
        """Groups that pass: wheel class, spacer, tire class, and their columns; by rim diameter, as bolts go on."""
        wheels, spacers, n_mounted = _counted(self.wheel_of, mounted)
        classes, n_tires = np.unique(self.tire_of[tires], return_counts=True)
        first_wheel, first_tire = firsts(self.wheel_of), firsts(self.tire_of)
        axes = [Axis(wheel=first_wheel[wheels], spacer=self.spacers[spacers]), Axis(tire=first_tire[classes])]
        of_pairs = {check.id: self.instance.margins(check, axle, axes) for check in checks}
        dropping = [(check, self._dropping(check, axle, of_pairs[check.id])) for check in checks]
        rims = [rim_codes(self.parts, kind)[at[kind]] for kind, at in zip(("wheel", "tire"), axes, strict=True)]
        of_rims = [[np.flatnonzero(own == rim) for own in rims] for rim in np.unique(rims[0])]
        joined = sum(int(n_mounted[left].sum()) * int(n_tires[right].sum()) for left, right in of_rims)
        apart = int(n_mounted.sum()) * int(n_tires.sum()) - joined
        self.funnel.meet(f"{axle} corner", apart)
        self.funnel.count("rim_diameter", f"{axle} corner", apart, apart)
        found = []
        for left, right in of_rims:
            step = max(1, PAIRS_AT_ONCE // max(1, len(right)))
            for start in range(0, len(left), step):
                some = left[start : start + step]
                here = (
                    (check, (drops.among(some, right), unverified.among(some, right)))
                    for check, (drops, unverified) in dropping
                )
                weights, shape = (n_mounted[some], n_tires[right]), (len(some), len(right))
                one, other = np.nonzero(self._sieved(f"{axle} corner", here, shape, weights))
                found.append((some[one], right[other]))
        one, other = (np.concatenate([pair[side] for pair in found]) if found else self.wheels[:0] for side in (0, 1))
        groups = {"wheel": wheels[one], "spacer": spacers[one], "tire": classes[other]}
        return groups | self._alike(axle, axes, of_pairs, one, other)

    def _alike(
        self, axle: Axle, axes: list[Axis], of_pairs: Mapping[str, Grid], one: Index, other: Index
    ) -> dict[str, Floats]:
        """Points of the fit, lip error, diameter and cost of mounting of each group; 0 where the ranking has no use."""
        used, job, nothing = set(self.job.ranking()), self.job, np.zeros(len(one))

        def sizes(name: str) -> Floats:
            return self.instance.column(name, axle, axes).at(one, other)

        fit: NDArray[Any] = nothing
        if "fit" in used:
            grids = {
                check.id: of_pairs.get(check.id) or self.instance.margins(check, axle, axes)
                for check in fit_checks(job, axle)
            }
            fit = fit_points(job, axle, {name: grid.at(one, other) for name, grid in grids.items()}, len(one))
        stance = "stance" in used
        return {
            "fit": fit.astype(float),
            "lip_um": sizes("corner.lip_error_um") if stance else nothing,
            "diameter_um": sizes("corner.diameter_um") if stance else nothing,
            "mounting_cents": sizes("corner.mounting_cents"),
        }

    def _gears(self) -> Axis:
        """Every gear set with every differential that it goes with."""
        checks = [check for check in self._made("drive") if not self._is_of_tire(check)]
        kept = self._keep("rear", "gear set", checks, [Axis(ratio=self.ratios), Axis(differential=self.differentials)])
        of_ratio, of_differential = (
            self.allowed.pinned.keeps("drive", kind, at)
            for kind, at in (("ratio", self.ratios), ("differential", self.differentials))
        )
        kept &= of_ratio[:, np.newaxis] & of_differential
        ratio, differential = np.nonzero(kept)
        return Axis(ratio=self.ratios[ratio], differential=self.differentials[differential])

    def _is_of_tire(self, check: Check) -> bool:
        return "tire" in self.instance.kinds_checked(check, "rear")

    def _drives(self, rear: Corners, gears: Axis) -> Drives:
        """Gear sets with differentials on every tire that is left at the rear."""
        job, checks = self.job, [check for check in self._made("drive") if self._is_of_tire(check)]
        checks += self._made_whole("drive")
        classes = np.unique(rear.tire)
        n_tires = np.bincount(self.tire_of[rear.tires.left], minlength=int(self.tire_of.max(initial=-1)) + 1)[classes]
        axes = [Axis(tire=firsts(self.tire_of)[classes]), gears]
        weights = n_tires, np.ones(len(gears["ratio"]), dtype=np.int64)
        one, other = np.nonzero(self._keep("rear", "drive", checks, axes, weights))
        works: dict[str, Callable[[rows.Rows], object]] = {
            "drive.cost_cents": _column("drive.cost_cents"),
            "cruise": lambda own: cruise_points(job, own),
            "grip": lambda own: grips(job, own)[0],
            **{f"drive.{name}": _column(f"drive.{name}") for name in GRIPS},
        }
        sizes = [
            self.instance.kept_grid((name,), work, None, axes).at(one, other).astype(float)
            for name, work in works.items()
        ]
        rooms = np.column_stack(
            [np.zeros((len(one), 0)), *(self._drive_room(own.bar, axes).at(one, other) for own in self.rooms)]
        )
        cents, cruise, grip, share, preload_kg, road_share, road_preload_kg = sizes
        return Drives(
            classes[one],
            gears["ratio"][other],
            gears["differential"][other],
            cents,
            cruise,
            grip,
            share,
            preload_kg,
            road_share,
            road_preload_kg,
            rooms,
        )

    def _drive_room(self, bar: LinearConstraint, axes: list[Axis]) -> Grid:
        """Room that drives bring to a whole-build check."""
        work = partial(bar.most_room_of_rows, self.job, "drive")
        return self.instance.kept_grid(("room", *bar.key), work, None, axes)


def rim_codes(parts: Parts, kind: str) -> Floats:
    """Rim diameters of the parts of a kind, to the nearest half inch: what belongs together by them."""
    codes: Floats = np.rint(parts.column(kind, "rim_diameter_mm") / HALF_INCH_MM)
    return codes


def _has_rows(corners: Mapping[Axle, Corners], drives: Drives) -> bool:
    return bool(all(len(own) for own in corners.values()) and len(drives))


def _spaced(length: int, count: int) -> Index:
    """About `count` places, evenly spaced; all where there are no more."""
    return np.arange(0, length, max(1, length // count), dtype=np.int64)


def _best_room(own: Rooms, side: Corners, axle: Axle, kind: str) -> float:
    """The most that a part of a kind that is left brings to a check."""
    left = {"wheel": side.wheels.left, "spacer": side.spacers.left, "tire": side.tires.left}[kind]
    return float(own.parts[axle, kind][left].max(initial=-np.inf))


class RemovalCounts:
    """What each check removes of each kind of candidate, in the order in which they are met."""

    def __init__(self) -> None:
        self.met: dict[str, int] = {}
        self._counts: dict[tuple[str, str], list[int]] = {}

    def meet(self, kind: str, count: int) -> None:
        """So many candidates more of a kind are met."""
        self.met[kind] = self.met.get(kind, 0) + count

    def count(self, check: str, kind: str, alone: int = 0, first: int = 0, unverified: int = 0) -> None:
        """Count candidates that a check drops, of those that are left, and of them those that are only unverified."""
        own = self._counts.setdefault((check, kind), [0, 0, 0])
        own[:] = [before + more for before, more in zip(own, (alone, first, unverified), strict=True)]

    def told(self) -> tuple[Removed, ...]:
        """One entry for each check and kind."""
        return tuple(Removed(check, kind, *counts) for (check, kind), counts in self._counts.items())


def _count(mask: Mask, weights: Weights) -> int:
    if not weights:
        return int(mask.sum())
    return round(float(weights[0].astype(float) @ (mask.astype(float) @ weights[1].astype(float))))


def _column(name: str) -> Callable[[rows.Rows], NDArray[np.generic]]:
    return lambda own: own[name]


def _every_column(own: rows.Rows) -> list[NDArray[np.generic]]:
    return [own[name] for name in own.derived]


def _any(mask: Mask, axis: int) -> Mask:
    return np.asarray(mask.any(axis=axis), dtype=bool)


def _counted(of: Index, mounted: Mask) -> tuple[Index, Index, Index]:
    """Class, spacer, and number of the wheels that are mounted, where there is any."""
    wheel, spacer = np.nonzero(mounted)
    code, count = np.unique(of[wheel] * mounted.shape[1] + spacer, return_counts=True)
    return code // mounted.shape[1], code % mounted.shape[1], count.astype(np.int64)


def _at_both(corners: Mapping[Axle, Corners]) -> dict[Axle, Corners]:
    """Corners whose wheel and tire are left at both axles."""
    front, rear = corners["front"], corners["rear"]
    wheels, tires = ~(front.wheels.left & rear.wheels.left), ~(front.tires.left & rear.tires.left)
    front, rear = (own.without("wheel", wheels).without("tire", tires) for own in (front, rear))
    size = max(int(own.tire.max(initial=0)) for own in (front, rear)) + 1
    ours, theirs = (own.wheel * size + own.tire for own in (front, rear))
    return {"front": front.take(np.isin(ours, theirs)), "rear": rear.take(np.isin(theirs, ours))}


def _ends(job: Job, parts: Parts, corners: Mapping[Axle, Corners], drives: Drives) -> dict[str, tuple[float, float]]:
    """Between what cost and mass of the parts of a build lie, ballast left out."""
    money, rate = job.money, 1.0 + job.money.tax_ppm / 1e6
    nuts = sum(getattr(job.hub, axle).bolt_circle.lug_count for axle in AXLES)
    nut_cents = max([float(money.lug_nut_cents), *(2.0 * parts.nuts["price_cents"]).tolist()])
    joint = 2.0 * (3 * money.mount_and_balance_cents + 2 * money.hub_ring_cents + nuts * nut_cents) * rate
    ends = {"cost_cents": [0.0, joint + most_beyond_cents(job, parts) + 100.0], "parts_g": [0.0, 0.0]}
    for own in corners.values():
        for name, sizes in (("cost_cents", "cents"), ("parts_g", "grams")):
            for kinds in (own.wheels, own.tires, own.spacers):
                part = getattr(kinds, sizes)[kinds.left]
                known = part[~np.isnan(part)]
                ends[name][0] += float(known.min(initial=np.inf)) if len(known) == len(part) and len(known) else 0.0
                ends[name][1] += float(known.max(initial=0.0))
    own_cents = least_start_cents(job)
    ends["cost_cents"][0] += own_cents + (float(drives.cents.min(initial=np.inf)) if len(drives.cents) else 0.0)
    ends["cost_cents"][1] += max(0.0, own_cents) + float(drives.cents.max(initial=0.0))
    return {name: (low, high) for name, (low, high) in ends.items()}

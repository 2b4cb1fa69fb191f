"""Which entry explains what was measured with the parts on: each is corrected, and everything computed anew.

An entry explains the readings that are off where, corrected by one amount, it brings them within their plus-or-minus
and takes none out that was within. All other entries may be off by their own plus-or-minus, no more.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np

from combo.checks.fitted import OF_TRUCK, Key, Reading, axle_keys, measured_of, readings
from combo.checks.judge import with_moved
from combo.checks.totals import load_cases
from combo.checks.values import MAIN_POINT, cruise_points, is_absent
from combo.explain.choice import Choice, Corner, rows_chosen, unknown_sku
from combo.formulas.tire import rolling_radius_from_revs_mm
from combo.job import AXLES, Axle, Job, StateName
from combo.parts import Parts
from combo.problems import Place, Problem, Problems, nearest
from combo.units import INCH_MM

Group = Literal["sideways", "spokes", "upright", "height", "cruise", "load"]
GROUPS: dict[Group, tuple[str, ...]] = {
    "sideways": ("inner", "outer", "rim_inner"),
    "spokes": ("brake_spoke",),
    "upright": ("lip", "top", "top_full_bump", "opening_ahead", "opening_behind"),
    "height": ("hub_height", "ground"),
}
"""Readings of an axle that one cause is looked for behind."""
_STEP_MM = 1.0
_DUST = 5e-4
_SIXTEENTH_MM, _HALF_MM = INCH_MM / 16.0, 0.5


@dataclass(frozen=True)
class Cause:
    """Something that may be off by one amount: entries of the job, columns of a listed part, or readings by themselves.

    Each is moved by its share of the amount. `told` names its words.
    """

    told: str
    axle: Axle
    entries: tuple[tuple[str, float], ...] = ()
    columns: tuple[tuple[str, str, float], ...] = ()
    direct: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True)
class Correction:
    """A value to correct: the path of a job entry, or kind and column of a part; what it is and what it should be."""

    path: str
    sku: str
    now: float
    then: float


@dataclass(frozen=True)
class Explained:
    """A cause that explains a finding, the amount that it is off by, and what to correct."""

    cause: Cause
    amount: float
    changes: tuple[Correction, ...]


@dataclass(frozen=True)
class Split:
    """Two causes at once, of both sidewalls: how far out the tire stands, and how much wider it is."""

    outward_mm: float
    wider_mm: float


@dataclass(frozen=True)
class Finding:
    """Readings that are off, each cause that explains them alone, and which further readings tell those apart."""

    where: str
    group: Group
    off: tuple[Reading, ...]
    causes: tuple[Explained, ...] = ()
    apart: tuple[str, ...] = ()
    split: Split | None = None


@dataclass(frozen=True)
class Fit:
    """Every reading that was taken, those that cannot be computed, and what those that are off say."""

    readings: tuple[Reading, ...]
    findings: tuple[Finding, ...]


def fitted(job: Job, parts: Parts, file: str = "job.toml") -> Fit:
    """Measurements with the parts on against what was computed, and what they say.

    Raises
    ------
    Problems
        Parts that no list has, a load case that the job does not have, or nothing measured; `file` names the job.
    """
    _refuse(job, parts, file)
    every = _Engine(job, parts)
    return Fit(tuple(own for own in every.now.values() if not math.isnan(own.measured)), tuple(every.findings()))


def _refuse(job: Job, parts: Parts, file: str) -> None:
    problems = []
    for table, kind, sku in _named(job):
        skus = parts.of_kind(kind)["sku"].tolist()
        if sku and sku not in skus:
            problems.append(unknown_sku(kind, sku, skus, Place(file, column=kind, table=table)))
    case, cases = job.fitted.case, load_cases(job)
    if case and case not in cases:
        near = nearest(case, cases)
        accepted = f'the nearest in [loads] cases is "{near}"' if near else f"[loads] cases are: {', '.join(cases)}"
        place = Place(file, column="case", table="fitted")
        problems.append(Problem(place, "unknown-case", f'found "{case}"', accepted))
    if not any(True for _ in measured_of(job.fitted)):
        accepted = (
            f"with the parts on, measure in [fitted.front] or [fitted.rear] any of {', '.join(axle_keys())}; "
            f"in [fitted] any of {', '.join(OF_TRUCK)}"
        )
        problems.append(Problem(Place(file, table="fitted"), "nothing-measured", "nothing measured", accepted))
    if problems:
        raise Problems(problems)


def _named(job: Job) -> Iterator[tuple[str, str, str]]:
    """Table, kind and SKU of every part that may be named."""
    for axle in AXLES:
        yield from (
            (f"fitted.{axle}", kind, getattr(getattr(job.fitted, axle), kind)) for kind in ("wheel", "tire", "spacer")
        )
    yield from (("fitted", kind, getattr(job.fitted, kind)) for kind in ("ratio", "differential"))


def _choice(job: Job) -> Choice:
    own = job.fitted
    front, rear = (Corner(part.wheel, part.tire, part.spacer) for part in (own.front, own.rear))
    return Choice(front, rear, own.ratio, own.differential)


class _Engine:
    """The readings of a job, and what becomes of them as a cause is corrected."""

    def __init__(self, job: Job, parts: Parts) -> None:
        self._job, self._parts = job, parts
        self.now = self._computed(job, parts)
        self._known_after: dict[tuple[Cause, float], dict[Key, Reading]] = {}
        self._known = {key: own for key, own in self.now.items() if own.is_known}

    def _computed(self, job: Job, parts: Parts) -> dict[Key, Reading]:
        chosen = rows_chosen(job, parts, _choice(job))
        return {own.key: own for own in readings(job, chosen)}

    def findings(self) -> Iterator[Finding]:
        for axle in AXLES:
            causes = [cause for cause in _causes(self._job, axle) if self._is_there(cause)]
            for group, names in GROUPS.items():
                off: list[Key] = [(axle, name) for name in names if not self._within((axle, name))]
                if off:
                    yield from self._explained(axle, group, off, causes)
        for what in ("front_axle", "rear_axle"):
            if not self._within(("truck", what)):
                yield Finding("truck", "load", (self.now["truck", what],))
        if not self._within(("truck", "cruise_rpm")):
            yield self._cruise(self.now["truck", "cruise_rpm"])

    def _within(self, key: Key) -> bool:
        """Whether nothing speaks against a reading: it is covered, or not known."""
        return key not in self._known or self._known[key].within

    def _explained(self, axle: Axle, group: Group, off: list[Key], causes: list[Cause]) -> Iterator[Finding]:
        """One finding for all that are off, or where nothing explains them together, for each by itself."""
        told = tuple(self._known[key] for key in off)
        several = self._several(axle, group, off, causes)
        if several or len(off) == 1:
            yield Finding(axle, group, told, several, self._apart(axle, group, several))
            return
        sides = [self._known.get((axle, name)) for name in ("inner", "outer")]
        if group == "sideways" and sides[0] and sides[1]:
            inner, outer = sides[0].off, sides[1].off
            yield Finding(axle, group, told, split=Split((inner - outer) / 2.0, -(inner + outer)))
            return
        for key in off:
            alone = self._several(axle, group, [key], causes)
            yield Finding(axle, group, (self._known[key],), alone, self._apart(axle, group, alone))

    def _several(self, axle: Axle, group: Group, off: list[Key], causes: list[Cause]) -> tuple[Explained, ...]:
        """Every cause that explains all of some readings, the one that fits them best first.

        Where one room alone explains them, that both were taped wrong is left out.
        """
        found = [
            (misfit, place, one)
            for place, cause in enumerate(causes)
            if (answer := self._one(axle, group, off, cause)) is not None
            for misfit, one in [answer]
        ]
        ordered = [one for _, _, one in sorted(found, key=lambda own: (round(own[0], 3), own[1]))]
        by_one_room = any(one.cause.told == "room" for one in ordered)
        return tuple(one for one in ordered if not (by_one_room and one.cause.told == "rooms"))

    def _one(self, axle: Axle, group: Group, off: list[Key], cause: Cause) -> tuple[float, Explained] | None:
        """How a cause explains the readings, and how far it leaves them off in parts of their plus-or-minus."""
        effects = self._effects(cause)
        if any(abs(effects[key]) < _DUST for key in off):
            return None
        held = {*off, *(key for key, own in self._known.items() if own.within)}
        low, high = self._interval(effects, held)
        if low > high:
            return None
        seen = [key for key in self._known if key in held and key[0] == axle and key[1] in GROUPS[group]]
        weights = [effects[key] ** 2 for key in seen]
        best = sum(effects[key] * self._known[key].off for key in seen) / sum(weights)
        amount = min(max(best, low), high)
        for tried in (self._on_grid(cause, amount), amount):
            after = self._after(cause, tried)
            if tried and all(after[key].within for key in held):
                misfits = [abs(after[key].off) / max(after[key].plus_or_minus, _DUST) for key in seen]
                return max(misfits), Explained(cause, tried, self._changes(cause, tried))
        return None

    def _interval(self, effects: dict[Key, float], held: set[Key]) -> tuple[float, float]:
        """Amounts that leave every reading within its plus-or-minus, as far as effects are straight lines."""
        low, high = -math.inf, math.inf
        for key in held:
            own, slope = self._known[key], effects[key]
            if abs(slope) >= _DUST:
                ends = sorted(
                    ((own.off - own.plus_or_minus - _DUST) / slope, (own.off + own.plus_or_minus + _DUST) / slope)
                )
                low, high = max(low, ends[0]), min(high, ends[1])
        return low, high

    def _apart(self, axle: Axle, group: Group, several: tuple[Explained, ...]) -> tuple[str, ...]:
        """Readings not taken yet on which the causes differ by more than the plus-or-minus."""
        if len(several) < 2:
            return ()
        moves = [{key: own.amount * slope for key, slope in self._effects(own.cause).items()} for own in several]
        open_ = [own for own in self.now.values() if own.where == axle and math.isnan(own.measured) and not own.needs]
        return tuple(
            own.what
            for own in open_
            if max(move[own.key] for move in moves) - min(move[own.key] for move in moves) > own.plus_or_minus
        )

    def _effects(self, cause: Cause) -> dict[Key, float]:
        """How much each computed reading moves by as a cause does."""
        after = self._after(cause, _STEP_MM)
        moves = {key: (after[key].computed - own.computed) / _STEP_MM for key, own in self.now.items()}
        return {key: 0.0 if math.isnan(move) else move for key, move in moves.items()}

    def _after(self, cause: Cause, amount: float) -> dict[Key, Reading]:
        """The readings with a cause corrected, worked out once."""
        if (cause, amount) not in self._known_after:
            self._known_after[cause, amount] = self._corrected(cause, amount)
        return self._known_after[cause, amount]

    def _corrected(self, cause: Cause, amount: float) -> dict[Key, Reading]:
        job, parts = self._job, self._parts
        for path, share in cause.entries:
            job = with_moved(job, path.split("."), share * amount)
        for kind, column, share in cause.columns:
            parts = _with_column(parts, kind, column, self._sku(cause, kind), share * amount)
        after = self._computed(job, parts) if cause.entries or cause.columns else dict(self.now)
        for what, share in cause.direct:
            own = after[cause.axle, what]
            after[own.key] = replace(own, computed=own.computed + share * amount)
        return after

    def _on_grid(self, cause: Cause, amount: float) -> float:
        """The amount that makes the first corrected value a whole number of sixteenths, or of half millimeters."""
        grid = _HALF_MM if self._job.job.units == "metric" else _SIXTEENTH_MM
        changes = self._changes(cause, amount)
        if not changes:
            return round(amount / grid) * grid
        share = next(iter([*(share for _, share in cause.entries), *(share for *_, share in cause.columns)]))
        return (round(changes[0].then / grid) * grid - changes[0].now) / share

    def _changes(self, cause: Cause, amount: float) -> tuple[Correction, ...]:
        entries = [(path, "", self._entry(path), share) for path, share in cause.entries]
        columns = [
            (f"{kind}.{column}", sku := self._sku(cause, kind), self._cell(kind, column, sku), share)
            for kind, column, share in cause.columns
        ]
        return tuple(
            Correction(path, sku, now, now + share * amount)
            for path, sku, now, share in (*entries, *columns)
            if not math.isnan(now)
        )

    def _is_there(self, cause: Cause) -> bool:
        """Whether what is to be moved is known at all, and so are both readings that a cause of two entries needs."""
        if cause.told in {"face", "rooms"} and not {(cause.axle, "inner"), (cause.axle, "outer")} <= set(self._known):
            return False
        if any(is_absent(self._entry(path)) for path, _ in cause.entries):
            return False
        return all(
            (sku := self._sku(cause, kind)) and not math.isnan(self._cell(kind, column, sku))
            for kind, column, _ in cause.columns
        )

    def _entry(self, path: str) -> float:
        owner: Any = self._job
        for name in path.split("."):
            owner = getattr(owner, name)
            if owner is None:
                return math.nan
        return float(owner)

    def _sku(self, cause: Cause, kind: str) -> str:
        return str(getattr(getattr(self._job.fitted, cause.axle), kind))

    def _cell(self, kind: str, column: str, sku: str) -> float:
        return float(self._parts.column(kind, column)[self._parts.column(kind, "sku").tolist().index(sku)])

    def _cruise(self, own: Reading) -> Finding:
        """The revolutions per mile, the axle ratio or the slip that the engine speed asks for."""
        share, ratio_sku = own.measured / own.computed, self._job.fitted.ratio
        drive = rows_chosen(self._job, self._parts, _choice(self._job)).drive
        revs = float(rolling_radius_from_revs_mm(float(drive["drive.rolling_radius_mm"][0])))  # its own inverse
        ratio = self._cell("ratio", "ratio", ratio_sku)
        found = [
            ("tire.revs_per_mile", self._job.fitted.rear.tire, revs, revs * share),
            ("ratio.ratio", self._listed_ratio(own, ratio, ratio_sku), ratio, ratio * share),
        ]
        slip = self._job.transmission.slip(locked=cruise_points(self._job)[MAIN_POINT].locked)
        if slip and share > 1.0 - slip:
            found.append(("transmission.converter_slip", "", slip, 1.0 - (1.0 - slip) / share))
        return Finding(
            "truck",
            "cruise",
            (own,),
            tuple(
                Explained(Cause(path.partition(".")[2], "rear"), then - now, (Correction(path, sku, now, then),))
                for path, sku, now, then in found
            ),
        )

    def _listed_ratio(self, own: Reading, ratio: float, fitted_sku: str) -> str:
        """The other listed gear set with which the engine speed is within its plus-or-minus, the nearest; or none."""
        skus, ratios = self._parts.column("ratio", "sku"), self._parts.column("ratio", "ratio").astype(float)
        off = np.abs(own.computed * ratios / ratio - own.measured)
        fits = [
            (off[at], sku)
            for at, sku in enumerate(skus.tolist())
            if sku != fitted_sku and off[at] <= own.plus_or_minus + _DUST
        ]
        return str(min(fits)[1]) if fits else ""


def _with_column(parts: Parts, kind: str, column: str, sku: str, by: float) -> Parts:
    """The lists with a number of one part moved."""
    table = parts.of_kind(kind).copy()
    table.loc[table["sku"] == sku, column] += by
    return parts.with_table(kind, table)


def _causes(job: Job, axle: Axle) -> list[Cause]:
    """What may be off at an axle, in the order in which it is told where two fit alike."""

    def room(name: str, state: StateName = "ride_height") -> str:
        return _path(job, axle, state, name)

    def cause(told: str, **moves: Any) -> Cause:
        return Cause(told, axle, **moves)

    inner, outer = room("room_inner_mm"), room("room_outer_mm")
    return [
        cause("room", entries=((inner, 1.0),)),
        cause("room", entries=((outer, 1.0),)),
        cause("rooms", entries=((inner, 1.0), (outer, 1.0))),
        cause("backspace", columns=(("wheel", "backspace_mm", 1.0), ("wheel", "offset_mm", 1.0))),
        cause("face", entries=((inner, 1.0), (outer, -1.0))),
        cause("width", columns=(("tire", "section_width_mm", 1.0),)),
        cause("thickness", columns=(("spacer", "thickness_mm", 1.0),)),
        cause("reach", entries=((f"brakes.{axle}.caliper_reach_mm", 1.0),)),
        cause("spokes", columns=(("wheel", "spoke_clearance_mm", 1.0),)),
        cause("diameter", columns=(("tire", "overall_diameter_mm", 1.0), ("tire", "running_diameter_mm", 1.0))),
        cause("room", entries=((room("hub_to_lip_mm"), 1.0),)),
        cause("room", entries=((f"wheelhouse.{axle}.ride_height.hub_to_top_mm", 1.0),)),
        cause("room", entries=((room("hub_to_top_mm", "full_bump"), 1.0),)),
        cause("room", entries=((room("opening_ahead_mm"), 1.0),)),
        cause("room", entries=((room("opening_behind_mm"), 1.0),)),
        cause("sinks", direct=(("hub_height", 1.0), ("ground", 1.0))),
        *(
            cause("room", entries=((f"present.{axle}_{name}_mm", 1.0),))
            for name in ("hub_height", "ground_clearance", "tire_diameter")
        ),
    ]


def _path(job: Job, axle: Axle, state: StateName, name: str) -> str:
    """Path of the entry that counts in a state: its own, else the wheelhouse's."""
    own = getattr(getattr(job.wheelhouse, axle), state)
    is_own = own is not None and not math.isnan(getattr(own, name))
    return f"wheelhouse.{axle}.{state}.{name}" if is_own else f"wheelhouse.{axle}.{name}"

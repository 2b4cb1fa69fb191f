"""What can be measured on the truck and asked of suppliers: what is known already, and what a check still waits for."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from combo import job as jobs
from combo.candidates.space import Space
from combo.checks import CHECKS
from combo.checks.check import Check
from combo.checks.judge import governing_margin
from combo.checks.needs import total_names, truck_needs
from combo.checks.rows import SOURCES
from combo.checks.table import Table
from combo.checks.totals import TOTALS
from combo.checks.values import ARTICULATED, is_absent
from combo.job import AXLES, Axle, Job
from combo.parts import KINDS
from combo.search.filter import FilteredLists
from combo.search.pool import NO_BAN, CandidatePool, space_at

PROMISING = 2000
"""Rows of an axle that are looked at where there are too many for all."""
_PARTS = frozenset(kind.name for kind in KINDS.values())


@dataclass(frozen=True)
class Measurement:
    """One line of the sheet: where it stands in job.toml, how it is taken, what is known, and which checks wait for it.

    `value` is in the unit of the attribute's name, None where it is not known; `off` its own plus-or-minus. `sides` are
    the values on the left and on the right where both were measured, with their own; `is_sided` whether they may be.
    """

    table: str
    key: str
    attribute: str
    how: str
    value: Any
    off: float | None
    checks: tuple[str, ...]
    is_sided: bool = False
    sides: tuple[tuple[float, float | None], ...] = ()


@dataclass(frozen=True)
class Question:
    """Something that a supplier must tell, or that can be measured on a part: of which parts, and for which checks."""

    kind: str
    name: str
    how: str
    skus: tuple[str, ...]
    checks: tuple[str, ...]


def measurements(job: Job, *, every_state: bool = False) -> list[Measurement]:
    """Every measurement of the truck that the job file may hold and a check looks at, in the order of its tables.

    Of the states of the suspension those that the job names, with what it gives for them; or with `every_state` all
    that may be measured in any.
    """
    waiting: dict[tuple[str, str], dict[str, None]] = {}
    for check in (check for check in CHECKS if check.asked(job)):
        for need in truck_needs(job, check):
            waiting.setdefault((need.of, need.name), {})[check.name] = None
    tables = _tables(job, every_state)
    lines = [line for table, path, owner in tables for line in _lines(job, table, path, owner, waiting)]
    return [line for line in lines if line.value is not None or line.checks or _is_looked_at(line, every_state)]


def _tables(job: Job, every_state: bool) -> Iterator[tuple[str, str, Any]]:
    """Tables of the job as job.toml writes them, with their dotted path; those of axles, states, stations by itself."""
    for field in dataclasses.fields(job):
        table = getattr(job, field.name)
        if not dataclasses.is_dataclass(table) or isinstance(table, jobs.Fitted):  # what is measured afterwards
            continue
        inner = [axle for axle in AXLES if dataclasses.is_dataclass(getattr(table, axle, None))]
        yield f"[{field.name}]", field.name, table
        for axle in inner:
            path, own, is_live = f"{field.name}.{axle}", getattr(table, axle), getattr(job.axle, axle).live
            if is_live or every_state or not isinstance(own, jobs.AxleBeam):
                yield f"[{path}]", path, own
            states: dict[Any, jobs.State] = own.states() if isinstance(own, jobs.Wheelhouse) else {}
            if isinstance(own, jobs.Wheelhouse):
                asked = jobs.STATES if every_state else (*states, *((ARTICULATED,) if is_live else ()))
                states = {name: states.get(name, jobs.State()) for name in dict.fromkeys(asked)}
            yield from ((f"[{path}.{name}]", f"{path}.{name}", state) for name, state in states.items())
    for at, item in enumerate(job.loads.items):
        yield f'[[loads.items]] "{item.name}"', f"loads.items.{at}", item
    for at, station in enumerate(job.ballast.stations):
        yield f'[[ballast.stations]] "{station.name}"', f"ballast.stations.{at}", station


def _lines(
    job: Job, table: str, path: str, owner: Any, waiting: dict[tuple[str, str], dict[str, None]]
) -> Iterator[Measurement]:
    for field in dataclasses.fields(owner):
        how, value, key = jobs.describe(field), getattr(owner, field.name), jobs.key_of(field.name)
        if how and not isinstance(value, tuple):
            checks = waiting.get((f"truck, {table}", key.replace("_", " ")), {})
            off = job.tolerances.get(f"{path}.{field.name}")
            own = f"{path}.{field.name}"
            both = zip(jobs.SIDES, job.sides.get(own, ()), strict=False)
            sides = tuple((size, job.tolerances.get(f"{own}.{side}")) for side, size in both)
            yield Measurement(
                table,
                key,
                field.name,
                how,
                None if is_absent(value) else value,
                off,
                tuple(checks),
                field.name in jobs.ROOMS,
                sides,
            )


def _is_looked_at(line: Measurement, every_state: bool) -> bool:
    """Whether some check, asked or not, looks at an entry that is not given, at that axle."""
    table = line.table.strip("[]").split(".")
    if table[-1] in jobs.STATES and not every_state:
        return False
    names = {f"{table[0]}.{line.attribute}", f"state.{line.attribute}", f"station.{line.attribute}"}
    names.add(f"{table[0]}.{line.attribute.partition('_')[2]}")
    axle = next((axle for axle in AXLES if axle in table), None)
    return any(names & _all_behind(check) for check in CHECKS if axle is None or axle in check.axles)


def _all_behind(check: Check) -> set[str]:
    """Every name behind a check, down to what is measured."""
    found: set[str] = set()
    open_names = _sources(check)
    while open_names:
        name = open_names.pop()
        if name not in found:
            found.add(name)
            open_names += SOURCES.get(name, ())
    return found


def _sources(check: Check) -> list[str]:
    """Names that a check looks at first: its needs, and what its totals add up."""
    totals = [TOTALS[name] for name in total_names(check)]
    columns = [getattr(total, kind).removeprefix("-") for total in totals for kind in ("front", "rear", "drive")]
    needs = [need for total in totals for need in total.needs]
    return [*check.needs.values(), *needs, *(column for column in columns if column)]


def questions_left(reduced: FilteredLists, left: Space | None) -> list[Question]:
    """What is missing of the parts in the rows that are left; where those are too many, of the most promising ones."""
    if left is None:
        left = space_at(reduced, CandidatePool(reduced).promising(PROMISING, PROMISING, NO_BAN))
    return questions(left)


def questions(space: Space) -> list[Question]:
    """What is missing of the parts in some rows, in the order of the lists and their fields."""
    skus: dict[tuple[str, str], set[str]] = {}
    waiting: dict[tuple[str, str], dict[str, None]] = {}
    for check in (check for check in CHECKS if check.asked(space.job)):
        for rows in _tables_of(space, check):
            for source in _sources(check):
                for kind, column, lacking in _lacking(source.removeprefix("front.").removeprefix("rear."), rows):
                    skus.setdefault((kind, column), set()).update(lacking)
                    waiting.setdefault((kind, column), {})[check.name] = None
    return [
        Question(
            kind.name,
            field.name,
            field.measure,
            tuple(sorted(skus[kind.name, column])),
            tuple(waiting[kind.name, column]),
        )
        for kind in KINDS.values()
        for field in kind.fields
        for column in field.columns
        if (kind.name, column) in skus
    ]


def _tables_of(space: Space, check: Check) -> list[Table]:
    """Rows at which a check looks; of a row check only those that it leaves unverified."""
    if check.rows == "layout":
        return [space.slots]
    if check.rows == "build":
        return [space.front, space.rear, space.drive]
    if check.rows == "pair":
        return [space.front, space.rear]
    tables: dict[Axle, Table] = {"rear": space.drive}
    if check.rows == "corner":
        tables = {axle: getattr(space, axle) for axle in check.axles}
    return [rows.take(np.isnan(governing_margin(space.job, axle, check, rows))) for axle, rows in tables.items()]


def _lacking(source: str, rows: Table) -> Iterator[tuple[str, str, set[str]]]:
    """Kind, column and SKUs of parts without a value, behind a name that is not known in some rows."""
    if source in rows:
        rows = rows.take(np.array([is_absent(value) for value in rows[source].tolist()], dtype=bool))
    if not len(rows):
        return
    kind, _, column = source.partition(".")
    for root in SOURCES.get(source, ()):
        yield from _lacking(root, rows)
    if source not in SOURCES and kind in _PARTS and source in rows:
        yield kind, column, {sku for sku in rows[f"{kind}.sku"] if sku}

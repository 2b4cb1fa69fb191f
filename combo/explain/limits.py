"""The limits of a job that may be moved: entries such as a room, a target or the budget, each with the checks that it
feeds; what physics and safety ask never is.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from combo.candidates.instance import Instance
from combo.candidates.relaxed_limits import BUDGET
from combo.candidates.space import Removed
from combo.checks import CHECKS
from combo.checks.check import Check, ConstraintId, axle_at
from combo.checks.entries import ENTRIES, Entry
from combo.explain.choice import COMMAND
from combo.job import Job
from combo.problems import Place as At
from combo.problems import Problem, Problems, nearest
from combo.search.filter import FilteredLists, filter_lists


@dataclass(frozen=True)
class CheckAt:
    """A check that the job asks for, at one place."""

    check: Check
    where: str

    @property
    def place(self) -> ConstraintId:
        """Its name in results and for the search."""
        return self.check.id, self.where

    @property
    def is_of_rows(self) -> bool:
        """Whether corners or drives are asked one by one, so that it drops some before any build is looked at."""
        return self.check.rows in {"corner", "drive"}


@dataclass(frozen=True)
class Limit:
    """An entry of the job that may be moved, and the checks that it feeds, in the order of the table.

    All of them move with it, by as much, so it must move by what the worst of them lacks. A check that may not be moved
    can be one, too, with no entry: it stands in the way, and is never offered.
    """

    entry: Entry | None
    where: str
    fed: tuple[CheckAt, ...]

    @staticmethod
    def of_check(own: CheckAt) -> Limit:
        """A check by itself, as what stands in the way."""
        return Limit(None, own.where, (own,))

    @property
    def key(self) -> str:
        """That of its entry; empty without one."""
        return self.entry.key if self.entry else ""

    @property
    def check(self) -> Check:
        """The first check that it feeds, whose unit all of them have."""
        return self.fed[0].check

    @property
    def places(self) -> tuple[ConstraintId, ...]:
        """Where the checks are that it feeds."""
        return tuple(own.place for own in self.fed)

    @property
    def is_of_rows(self) -> bool:
        """Whether it moves checks that look at corners or drives one by one."""
        return any(own.is_of_rows for own in self.fed)

    @property
    def is_yes_or_no(self) -> bool:
        """Whether it can be given up, but not in part."""
        return self.check.unit == "yes_no"

    def scale(self, job: Job) -> float | None:
        """What its moves are measured against, as its checks' margins are; None where it has no scale."""
        if self.is_yes_or_no:
            return None
        scales = (float(own.check.scale(job, axle_at(own.where))) for own in self.fed if own.check.scale is not None)
        return next(scales, self.entry.scale if self.entry else None)


def every_check(job: Job) -> tuple[CheckAt, ...]:
    """Every check that the job asks for, at each place, whether it may be moved or not."""
    return tuple(CheckAt(check, where) for check in CHECKS if check.asked(job) for where in check.places)


def movable(job: Job) -> tuple[Limit, ...]:
    """Every limit that the job asks for and lets be moved, in the order of the table; front, then rear.

    A check that [limits] firm names is not moved, and so no entry that feeds it is.

    Raises
    ------
    Problems
        A name in [limits] firm that no entry that moves, or check that it feeds, has.
    """
    names = _names()
    unknown = [word for word in job.limits.firm if word not in names]
    if unknown:
        raise Problems([_not_movable("[limits]", "firm", word, names) for word in unknown])
    return tuple(limit for limit in _every_limit(job) if not _is_firm(job, limit))


def standing(job: Job) -> tuple[Limit, ...]:
    """Every check that the job asks for and that no limit moves."""
    moved = {place for limit in movable(job) for place in limit.places}
    return tuple(Limit.of_check(own) for own in every_check(job) if own.place not in moved)


def _every_limit(job: Job) -> tuple[Limit, ...]:
    asked, found = every_check(job), []
    for entry in ENTRIES:
        for axle in entry.axles:
            fed = tuple(own for own in asked if entry.feeds(own.check, own.where, axle))
            if fed:
                found.append(Limit(entry.at(axle), axle if entry.is_of_axles else _where(fed), fed))
    return tuple(found)


def _where(fed: tuple[CheckAt, ...]) -> str:
    """The place of what one entry for the whole truck feeds: that of its checks where they agree."""
    places = {own.where for own in fed}
    return places.pop() if len(places) == 1 else "truck"


def _names() -> list[str]:
    """Words by which a limit may be named: its key, or a check that it feeds."""
    keys = [entry.at(axle).key for entry in ENTRIES for axle in entry.axles]
    return list(dict.fromkeys([*keys, *(check for entry in ENTRIES for check in entry.checks)]))


def _is_named(limit: Limit, word: str) -> bool:
    return word == limit.key or any(word == own.check.id for own in limit.fed)


def _is_firm(job: Job, limit: Limit) -> bool:
    return any(_is_named(limit, word) for word in job.limits.firm)


def by_place(limits: Iterable[Limit]) -> dict[ConstraintId, tuple[Limit, ...]]:
    """The limits that move each check: to give up any one of them is to give up the check."""
    found: dict[ConstraintId, tuple[Limit, ...]] = {}
    for limit in limits:
        for place in limit.places:
            found[place] = (*found.get(place, ()), limit)
    return found


def amounts_of(moved: Mapping[Limit, float]) -> dict[ConstraintId, float]:
    """By how much checks may fail where limits are moved by so much: two that feed one add up."""
    found: dict[ConstraintId, float] = {}
    for limit, by in moved.items():
        for place in limit.places:
            found[place] = found.get(place, 0.0) + by
    return found


def that_may_matter(instance: Instance, limits: Iterable[Limit]) -> list[Limit]:
    """Those of some limits that change anything where they are given up: a check of rows that drops none does not."""
    removed = filter_lists(instance).removed
    return [limit for limit in limits if any(_may_matter(own, removed) for own in limit.fed)]


def to_blame(left: FilteredLists) -> frozenset[ConstraintId]:
    """Of the checks that were made, those that left no build: without the others the same would be left of the lists.
    A check of rows is to blame where it drops any that those before it do not.
    """
    drops = [one for one in left.removed if one.first]
    every, ids = every_check(left.job), {one.check for one in drops}
    whole = {own.place for own in every if not own.is_of_rows}
    if not left.has_rows():  # pairs were not asked; ballast matters where it leaves too little room
        rooms = {own.place for own in every if own.check.rows == "build" and own.check.id in ids}
        whole = rooms | {own.place for own in every if own.check.rows == "layout" and rooms}
    return frozenset(whole | {own.place for own in every if any(_is_of(own, one) for one in drops)})


def searched_together(limits: Iterable[Limit]) -> list[tuple[Limit, ...]]:
    """Some limits, each by itself or with those that one search asks of: each one check of the whole build, whose rows
    are the same whichever fails. A budget has a search of its own, see `best_builds`. What takes longest comes first.
    """
    every = list(limits)
    whole = tuple(
        limit for limit in every if limit.check.rows == "build" and limit.places != (BUDGET,) and len(limit.fed) == 1
    )
    alone = [limit for limit in every if limit not in whole]
    return [*([whole] if whole else []), *((limit,) for limit in reversed(alone))]


def limits_named(job: Job, word: str) -> tuple[Limit, ...]:
    """The limits of an entry by its key, or all that move a check by its id.

    Raises
    ------
    Problems
        A word that names none.
    """
    limits = movable(job)
    found = tuple(limit for limit in limits if _is_named(limit, word))
    if not found:
        names = dict.fromkeys(name for limit in limits for name in (limit.key, *(own.check.id for own in limit.fed)))
        raise Problems([_not_movable(COMMAND, "of", word, list(names))])
    return found


def _not_movable(where: str, column: str, word: str, known: list[str]) -> Problem:
    near = nearest(word, known)
    accepted = f'did you mean "{near}"?' if near else f"accepted: {', '.join(known)}"
    return Problem(At(where, column=column), "not-movable", f'found "{word}", which is no limit that moves', accepted)


def _may_matter(own: CheckAt, removed: tuple[Removed, ...]) -> bool:
    return not own.is_of_rows or any(_is_of(own, one) for one in removed if one.alone)


def _is_of(own: CheckAt, one: Removed) -> bool:
    """Whether a check of rows removed this, at its axle."""
    if not own.is_of_rows or one.check != own.check.id:
        return False
    return own.check.rows == "drive" or one.kind.startswith(own.where)

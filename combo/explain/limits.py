"""The limits of a job that may be moved: budget, targets and clearances; what physics and safety ask never is."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from combo.checks import CHECKS
from combo.checks.check import Check, Place
from combo.job import Job
from combo.problems import Place as At
from combo.problems import Problem, Problems, nearest
from combo.solve.allowed import BUDGET
from combo.solve.classes import Lists
from combo.solve.reduce import Reduced, reduced
from combo.solve.space import Removed
from combo.solve.why import COMMAND


@dataclass(frozen=True)
class Limit:
    """A check that may be moved, at one place."""

    check: Check
    where: str

    @property
    def place(self) -> Place:
        """Its name in results and for the search."""
        return self.check.id, self.where

    @property
    def is_of_rows(self) -> bool:
        """Whether corners or drives are asked one by one, so that it drops some before any build is looked at."""
        return self.check.rows in {"corner", "drive"}


def every_limit(job: Job) -> tuple[Limit, ...]:
    """Every check that the job asks for, at each place, whether it may be moved or not."""
    return tuple(Limit(check, where) for check in CHECKS if check.asked(job) for where in check.places)


def movable(job: Job) -> tuple[Limit, ...]:
    """Every limit that the job asks for and lets be moved, in the order of the table; corners front, then rear.

    Raises
    ------
    Problems
        A name in [limits] firm that no movable check has.
    """
    known = list(dict.fromkeys(check.id for check in CHECKS if not check.firm))
    unknown = [_not_movable("[limits]", "firm", word, known) for word in job.limits.firm if word not in known]
    if unknown:
        raise Problems(unknown)
    return tuple(limit for limit in every_limit(job) if _is_movable(job, limit.check))


def that_may_matter(lists: Lists, limits: tuple[Limit, ...]) -> list[Limit]:
    """Those of some limits that change anything where they are given up: a check of rows that drops none does not."""
    removed = reduced(lists).removed
    return [limit for limit in limits if _may_matter(limit, removed)]


def to_blame(left: Reduced) -> frozenset[Place]:
    """Of the checks that were made, those that left no build: without the others the same would be left of the lists.
    A check of rows is to blame where it drops any that those before it do not.
    """
    drops = [one for one in left.removed if one.first]
    every, ids = every_limit(left.job), {one.check for one in drops}
    whole = {limit.place for limit in every if not limit.is_of_rows}
    if not left.has_rows():  # pairs were not asked; ballast matters where it leaves too little room
        rooms = {limit.place for limit in every if limit.check.rows == "build" and limit.check.id in ids}
        whole = rooms | {limit.place for limit in every if limit.check.rows == "layout" and rooms}
    return frozenset(whole | {limit.place for limit in every if any(_is_of(limit, one) for one in drops)})


def searched_together(limits: Iterable[Limit]) -> list[tuple[Limit, ...]]:
    """Some limits, each by itself or with those that one search asks of: of the whole build, whose rows are the same
    whichever fails. A budget has a search of its own, see `best_builds`. What takes longest comes first.
    """
    alone = [limit for limit in limits if limit.check.rows != "build" or limit.place == BUDGET]
    whole = tuple(limit for limit in limits if limit not in alone)
    return [*([whole] if whole else []), *((limit,) for limit in reversed(alone))]


def limits_named(job: Job, word: str) -> tuple[Limit, ...]:
    """The movable limits of a check, by its id.

    Raises
    ------
    Problems
        A word that names none.
    """
    found = tuple(limit for limit in movable(job) if limit.check.id == word)
    if not found:
        known = list(dict.fromkeys(limit.check.id for limit in movable(job)))
        raise Problems([_not_movable(COMMAND, "of", word, known)])
    return found


def _not_movable(where: str, column: str, word: str, known: list[str]) -> Problem:
    near = nearest(word, known)
    accepted = f'did you mean "{near}"?' if near else f"accepted: {', '.join(known)}"
    return Problem(At(where, column=column), "not-movable", f'found "{word}", which is no limit that moves', accepted)


def _is_movable(job: Job, check: Check) -> bool:
    return not check.firm and check.id not in job.limits.firm


def _may_matter(limit: Limit, removed: tuple[Removed, ...]) -> bool:
    return not limit.is_of_rows or any(_is_of(limit, one) for one in removed if one.alone)


def _is_of(limit: Limit, one: Removed) -> bool:
    """Whether a check of rows removed this, at its axle."""
    if not limit.is_of_rows or one.check != limit.check.id:
        return False
    return limit.check.rows == "drive" or one.kind.startswith(limit.where)

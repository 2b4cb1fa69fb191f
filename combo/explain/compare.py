"""Builds of a shortlist side by side: check by check, and what each gives up against the others."""

from __future__ import annotations

import math
from dataclasses import dataclass

from combo.checks.run import Result
from combo.explain.choice import COMMAND
from combo.problems import Place, Problem, Problems
from combo.search.topk import Ranked, Ranking

TIGHTER = 3
"""Checks with less room than in another that are told of each build, the tightest for their scale first."""
MATTERS = 0.02
"""Room less than this share of a check's scale is no loss worth telling."""


@dataclass(frozen=True)
class Loss:
    """What a build has less of than another: points of a criterion, money, or room in a check.

    `amount` is positive, in points, cents or the check's unit; `against` is the rank of the build that has the most.
    """

    what: str
    amount: float
    against: int
    check: Result | None = None


@dataclass(frozen=True)
class Compared:
    """Builds side by side. `rows` has for each check its result in each build: first where the answers differ, then the
    tightest for their scale; `losses` what each build gives up, in the order of the builds.
    """

    builds: tuple[Ranked, ...]
    rows: tuple[tuple[Result, ...], ...]
    losses: tuple[tuple[Loss, ...], ...]


def compared(ranking: Ranking, ranks: list[int]) -> Compared:
    """The builds of some ranks side by side.

    Raises
    ------
    Problems
        Fewer than two ranks, the same twice, or ranks that the shortlist does not have.
    """
    _refuse(ranking, ranks)
    builds = tuple(ranking.ranked[rank - 1] for rank in ranks)
    rows = sorted(zip(*(build.checks for build in builds), strict=True), key=_order)
    used = ranking.space.job.ranking()
    return Compared(builds, tuple(rows), tuple(_losses(build, builds, used) for build in builds))


def _refuse(ranking: Ranking, ranks: list[int]) -> None:
    last, place = len(ranking.ranked), Place(COMMAND, column="RANK")
    accepted = f"ranks from 1 to {last} are accepted"
    if not ranking.proven:
        accepted += ", for the search was cut short: a longer --time-limit may find more"
    problems = [Problem(place, "no-such-rank", f'found "{rank}"', accepted) for rank in ranks if not 1 <= rank <= last]
    if len(set(ranks)) < 2 or len(set(ranks)) != len(ranks):
        problems.append(
            Problem(
                place,
                "not-several",
                f"found {', '.join(str(rank) for rank in ranks) or 'none'}",
                "two or more different ranks are accepted",
            )
        )
    if problems:
        raise Problems(problems)


def _order(row: tuple[Result, ...]) -> tuple[bool, float]:
    is_alike = len({result.verdict for result in row}) == 1
    return is_alike, min(
        (result.margin / result.scale for result in row if result.scale > 0 and not math.isnan(result.margin)),
        default=math.inf,
    )


def _losses(build: Ranked, builds: tuple[Ranked, ...], used: tuple[str, ...]) -> tuple[Loss, ...]:
    others = [other for other in builds if other is not build]
    found = []
    for name in used:
        best = max(others, key=lambda other: other.points[name])
        less = best.points[name] - build.points[name]
        if name != "cost" and less > 0:
            found.append(Loss(name, float(less), best.rank))
    cheapest = min(others, key=lambda other: other.totals["cost_cents"])
    more = build.totals["cost_cents"] - cheapest.totals["cost_cents"]
    money = [Loss("cost", more, cheapest.rank)] if more > 0 else []
    return (*money, *found, *_tighter(build, others))


def _known(margin: float) -> float:
    return -math.inf if math.isnan(margin) else margin


def _tighter(build: Ranked, others: list[Ranked]) -> list[Loss]:
    found = []
    for at, result in enumerate(build.checks):
        best = max(others, key=lambda other: _known(other.checks[at].margin))
        less = best.checks[at].margin - result.margin
        if result.scale > 0 and MATTERS * result.scale < less < math.inf and result.check.id != "budget":
            found.append((result.margin / result.scale, Loss(result.check.id, less, best.rank, result)))
    return [loss for _, loss in sorted(found, key=lambda own: own[0])[:TIGHTER]]

"""What other programs read: JSON with stable keys (`format` 1), and the shortlist as CSV."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from combo.candidates.builds import BuildRows
from combo.candidates.space import Space
from combo.checks.bill import Line
from combo.checks.check import Verdict
from combo.checks.facts import Fact
from combo.checks.needs import Need
from combo.checks.run import Result
from combo.checks.table import Row
from combo.explain.choice import Answer
from combo.explain.missing import Measurement, Question
from combo.job import Job
from combo.parts import KINDS, Parts
from combo.problems import Problem
from combo.search.topk import Ranked, Ranking
from combo.show import words
from combo.show.plain import csv_row, json_text
from combo.units import BoltCircle

if TYPE_CHECKING:
    from combo.explain.best import Best
    from combo.explain.compare import Compared
    from combo.explain.funnel import Funnel
    from combo.explain.limits import Limit
    from combo.explain.near import NearMisses
    from combo.explain.parts import Outlook, Standing, Stuck
    from combo.explain.swaps import Swap
    from combo.explain.sweep import Gains, Sweep

FORMAT = 1


def rank_json(ranking: Ranking, parts: Parts) -> str:
    """The shortlist: every build with its parts, totals, points and checks; what each check removed; counts."""
    return json_text(
        {
            "format": FORMAT,
            "proven": ranking.proven,
            "most": _number(ranking.most) if ranking.most is not None else None,
            "builds": [_build(ranking, ranked) for ranked in ranking.ranked],
            "removed": [
                {
                    "check": one.check,
                    "kind": one.kind,
                    "alone": one.alone,
                    "first": one.first,
                    "unverified": one.unverified,
                }
                for one in ranking.space.removed
            ],
            "counts": {plural: parts.count(plural) for plural in KINDS},
        }
    )


def why_json(job: Job, verdict: Verdict, answer: Answer, outlook: Outlook) -> str:
    """Every check of one choice of parts, the cures of what fails, facts and bill of a whole build; of parts alone the
    best build with them, or what excludes them; of a whole build that fails, the changes that mend it.
    """
    return json_text(
        {
            "format": FORMAT,
            "proven": outlook.proven,
            "verdict": verdict.value,
            "checks": [_check(result) for result in answer.results],
            "cures": [
                {
                    "check": cure.result.check.id,
                    "where": cure.result.where,
                    "change": cure.argument,
                    "amount": _number(cure.amount),
                    "unit": cure.result.check.unit,
                    "words": words.cure(job, cure),
                }
                for cure in answer.cures
            ],
            "facts": _facts(answer.facts),
            "bill": _bill(answer.bill),
            "standing": None
            if outlook.standing is None
            else {
                "build": _best(outlook.standing.best),
                "of_all": _best(outlook.standing.of_all),
                **_stuck(outlook.standing.stuck),
            },
            "build": _best(outlook.own),
            "moves": [{**_limit(limit), "moved": _number(over)} for limit, over in outlook.moves],
            "swaps": _swaps(outlook.swaps),
        }
    )


def near_json(found: NearMisses) -> str:
    """The best builds that fail one movable limit, with the changes that mend each."""
    return json_text(
        {
            "format": FORMAT,
            "proven": found.proven,
            "near": [
                {
                    **_limit(near.limit),
                    "check": near.failing[0].id,
                    "over": _number(near.over),
                    "build": _best(near.best),
                    "swaps": _swaps(near.swaps),
                }
                for near in found.found
            ],
            "not_known": [_limit(limit) for limit in found.unknown],
        }
    )


def stuck_json(standing: Standing) -> str:
    """Why nothing fits and the fewest limits that must move; the best build where something does."""
    told = {"format": FORMAT, "proven": standing.proven, "build": _best(standing.best)}
    return json_text({**told, **_stuck(standing.stuck)})


def _stuck(stuck: Stuck | None) -> dict[str, Any]:
    if stuck is None:
        return {"conflicts": [], "conflicts_are_all": True, "changes": [], "changes_not_measured": []}
    return {
        "conflicts": [
            {"is_smallest": conflict.is_smallest, "limits": [_limit(limit) for limit in conflict.limits]}
            for conflict in stuck.why.conflicts
        ],
        "conflicts_are_all": stuck.why.are_all,
        "changes": [
            {
                "limits": [
                    {**_limit(limit), "moved": _number(by)}
                    for limit, by in zip(change.limits, change.moved, strict=True)
                ],
                "share": _number(change.share),
                "is_smallest": change.is_smallest,
                "build": _best(change.best),
            }
            for change in stuck.changes
        ],
        "changes_not_measured": [[_limit(limit) for limit in limits] for limits in stuck.unmeasured],
    }


def _swaps(swaps: Iterable[Swap] | None) -> list[dict[str, Any]] | None:
    """Changes of one choice; null where they were not found in time."""
    if swaps is None:
        return None
    return [{"where": swap.slot[0], "kind": swap.slot[1], "how": swap.how, "build": _best(swap.best)} for swap in swaps]


def gains_json(now: Best | None, gains: Gains) -> str:
    """The limits that alone stand in the way of a better build, those first that stop the best."""
    return json_text(
        {
            "format": FORMAT,
            "proven": not gains.unknown,
            "now": _best(now),
            "limits": [
                {**_limit(gain.limit), "moved": _number(gain.step.moved), "build": _best(gain.step.best)}
                for gain in gains.found
            ],
            "not_known": [_limit(limit) for limit in gains.unknown],
        }
    )


def steps_json(now: Best | None, several: list[tuple[Limit, Sweep]]) -> str:
    """Where the best build changes as a limit moves, the widest first."""
    return json_text(
        {
            "format": FORMAT,
            "proven": all(steps.proven for _, steps in several),
            "now": _best(now),
            "limits": [
                {
                    **_limit(limit),
                    "steps": [
                        {"moved": _number(step.moved), "next_is_known": step.is_next, "build": _best(step.best)}
                        for step in steps.found
                    ],
                }
                for limit, steps in several
            ],
        }
    )


def compared_json(ranking: Ranking, compared: Compared) -> str:
    """Builds side by side, with what each gives up against the others."""
    return json_text(
        {
            "format": FORMAT,
            "proven": ranking.proven,
            "builds": [_build(ranking, build) for build in compared.builds],
            "gives_up": [
                [
                    {
                        "what": loss.what,
                        "where": loss.check.where if loss.check else "truck",
                        "amount": _number(loss.amount),
                        "unit": loss.check.check.unit if loss.check else "cents" if loss.what == "cost" else "points",
                        "against": loss.against,
                    }
                    for loss in losses
                ]
                for losses in compared.losses
            ],
        }
    )


def funnel_json(funnels: list[Funnel]) -> str:
    """How many candidates each check removes, alone and in order, kind by kind."""
    return json_text(
        {
            "format": FORMAT,
            "funnel": [
                {
                    "kind": funnel.kind,
                    "met": funnel.met,
                    "left": funnel.left,
                    "checks": [
                        {"check": one.check, "alone": one.alone, "first": one.first, "left": one.left}
                        for one in funnel.stages
                    ],
                }
                for funnel in funnels
            ],
        }
    )


def _limit(limit: Limit) -> dict[str, Any]:
    return {
        "entry": limit.key or None,
        "check": limit.check.id,
        "where": limit.where,
        "unit": limit.check.unit,
        "keys": list(limit.entry.keys) if limit.entry else [],
        "checks": [{"check": own.check.id, "where": own.where} for own in limit.fed],
    }


def _best(best: Best | None) -> dict[str, Any] | None:
    if best is None:
        return None
    failing = [result for result in best.checks if result.verdict is Verdict.FAIL]
    return {
        "score": best.score,
        "criteria": best.points,
        "cost_cents": best.cost_cents,
        "parts": parts_of_build(best.space, best.builds, 0),
        "failing": [_check(result) for result in failing],
    }


def measure_json(lines: list[Measurement], asked: list[Question]) -> str:
    """The measuring sheet: measurements in the unit that ends their attribute, and questions for suppliers."""
    return json_text(
        {
            "format": FORMAT,
            "measurements": [
                {
                    "table": line.table,
                    "key": line.key,
                    "attribute": line.attribute,
                    "how": line.how,
                    "value": _plain(line.value),
                    "plus_or_minus": line.off,
                    "checks": list(line.checks),
                }
                for line in lines
            ],
            "questions": [
                {"kind": one.kind, "name": one.name, "how": one.how, "skus": list(one.skus), "checks": list(one.checks)}
                for one in asked
            ],
        }
    )


def problems_json(problems: list[Problem]) -> str:
    """Everything wrong with the input."""
    return json_text(
        {
            "format": FORMAT,
            "problems": [
                {
                    "file": one.place.file,
                    "row": one.place.row,
                    "column": one.place.column,
                    "word": one.word,
                    "found": one.found_briefly(),
                    "accepted": one.accepted,
                    "hint": one.hint,
                }
                for one in problems
            ],
        }
    )


def rank_csv(ranking: Ranking) -> str:
    """The shortlist, a row a build, units in the headers."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(
        [
            "rank",
            "score",
            "front_wheel",
            "front_tire",
            "front_spacer",
            "rear_wheel",
            "rear_tire",
            "rear_spacer",
            "ratio",
            "differential",
            "ballast",
            "cost_cents",
            "cruise_rpm",
            "rear_load_kg",
            "front_load_kg",
            "binding",
            "binding_where",
            "binding_margin",
            "binding_unit",
            "unverified",
            "unbeaten",
            "front_ratio",
            "front_differential",
        ]
    )
    for ranked in ranking.ranked:
        build = _build(ranking, ranked)
        parts, binding = build["parts"], build["binding"] or {}
        ballast = " + ".join(f"{lot['count']} x {lot['item']} {lot['station']}" for lot in parts["ballast"])
        writer.writerow(
            csv_row(
                [
                    build["rank"],
                    build["score"],
                    *(parts[axle][kind] or "" for axle in ("front", "rear") for kind in ("wheel", "tire", "spacer")),
                    parts["ratio"],
                    parts["differential"],
                    ballast,
                    build["cost_cents"],
                    build["cruise_rpm"],
                    build["rear_load_kg"],
                    build["front_load_kg"],
                    *(binding.get(key, "") for key in ("check", "where", "margin", "unit")),
                    len(build["unverified"]),
                    "yes" if build["unbeaten"] else "no",
                    *(parts[f"front_{kind}"] or "" for kind in ("ratio", "differential")),
                ]
            )
        )
    return out.getvalue()


def _build(ranking: Ranking, ranked: Ranked) -> dict[str, Any]:
    space, at = ranking.space, ranked.at
    drive = Row(space.drive, ranking.builds.drive[at])
    return {
        "rank": ranked.rank,
        "score": ranked.score,
        "criteria": ranked.points,
        "cost_cents": int(ranked.totals["cost_cents"]),
        "cruise_rpm": _number(float(drive["drive.rpm"]), 1),
        "rear_load_kg": _number(ranked.totals["rear_light_g"] / 1000.0),
        "front_load_kg": _number(ranked.totals["front_light_g"] / 1000.0),
        "parts": parts_of_build(space, ranking.builds, at),
        "binding": _told_short(ranked.binding),
        "tightest": _told_short(ranked.tightest),
        "unverified": [
            {"check": result.check.id, "where": result.where, "needs": need.text()}
            for result in ranked.checks
            for need in result.needs
        ],
        "unbeaten": ranked.unbeaten,
        "checks": [_check(result) for result in ranked.checks],
        "facts": _facts(ranked.facts),
        "bill": _bill(ranked.bill),
    }


def _told_short(result: Result | None) -> dict[str, Any] | None:
    if result is None:
        return None
    return {
        "check": result.check.id,
        "where": result.where,
        "margin": _number(result.margin),
        "unit": result.check.unit,
    }


def parts_of_build(space: Space, builds: BuildRows, at: int) -> dict[str, Any]:
    """SKUs of a build by place, None where a part is not used, and its ballast."""
    front, rear = Row(space.front, builds.front[at]), Row(space.rear, builds.rear[at])
    drive, slots = Row(space.drive, builds.drive[at]), space.slots
    return {
        **{
            axle: {kind: row[f"{kind}.sku"] or None for kind in ("wheel", "tire", "spacer")}
            for axle, row in (("front", front), ("rear", rear))
        },
        **gears_of(space.job, drive),
        "ballast": [
            {
                "item": slots["ballast.sku"][slot],
                "station": slots["station.name"][slot],
                "station_mm": _number(float(slots["station.at_mm"][slot])),
                "count": int(builds.counts[at, slot]),
            }
            for slot in builds.counts[at].nonzero()[0]
        ],
    }


def gears_of(job: Job, drive: Row) -> dict[str, str | None]:
    """SKUs of a drive's gear sets and differentials; those of a front axle that is not driven are None."""
    both = job.axle.is_front_driven
    found: dict[str, str | None] = {}
    for kind in ("ratio", "differential"):
        found[kind] = drive[f"{kind}.rear_sku" if both else f"{kind}.sku"]
    for kind in ("ratio", "differential"):
        found[f"front_{kind}"] = drive[f"{kind}.front_sku"] if both else None
    return found


def _check(result: Result) -> dict[str, Any]:
    told: dict[str, Any] = {
        "check": result.check.id,
        "where": result.where,
        "state": result.state,
        "verdict": result.verdict.value,
        "margin": _number(result.margin),
        "unit": result.check.unit,
        "value": result.value,
        "limit": result.limit,
        "nominal": _number(result.nominal),
        "worst": _number(result.worst),
        "chance": _number(result.chance),
    }
    if result.note:
        told["note"] = result.note
    if result.needs:
        told["needs"] = [_need(need) for need in result.needs]
    return told


def _facts(facts: tuple[Fact, ...]) -> list[dict[str, Any]]:
    """Facts with their unit; a value that is out of reach is null."""
    return [
        {
            "fact": one.id,
            "name": one.name,
            "where": one.where,
            "value": _number(one.value),
            "unit": one.unit,
            "note": one.note,
        }
        for one in facts
    ]


def _bill(lines: tuple[Line, ...]) -> list[dict[str, Any]]:
    return [
        {"line": line.what, "where": line.where or "truck", "count": line.count, "cents": line.cents} for line in lines
    ]


def _need(need: Need) -> dict[str, str]:
    return {"name": need.name, "of": need.of, "how": need.how}


def _plain(value: Any) -> Any:
    """A value of a job as JSON knows it: a bolt circle as its metric text."""
    return value.text() if isinstance(value, BoltCircle) else value


def _number(size: float, digits: int = 4) -> float | None:
    return round(size, digits) + 0.0 if math.isfinite(size) else None

"""Amounts and sentences in the shop's terms."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from combo.checks.bill import Line
from combo.checks.check import Check, Verdict
from combo.checks.facts import Fact
from combo.checks.run import Result
from combo.explain.choice import Cured
from combo.job import Job
from combo.units import INCH_MM, MILE_KM, POUND_FOOT_N_M, POUND_KG, PSI_KPA, sixteenths_text

if TYPE_CHECKING:
    from combo.explain.limits import Limit

CAUTIONS = (
    "Ratings (axles, tires, wheels) are limits, not targets; the lowest one governs. Verify every rating on the part.",
    "Check brakes, steering and lug engagement on the truck, wheels turned lock to lock, through full travel.",
    "Torque the lug nuts by the wheel's instructions and again after the first miles. Pressures told are guidance.",
    "Tie ballast down: it moves in a stop. It loads brakes and tires whenever it is aboard.",
    "Local codes differ on fender cover, load and modification. "
    "Where they or a licensed engineer say otherwise, they win.",
)

_SIXTEENTH_MM = INCH_MM / 16.0
_NEAR_MM = 0.02


def is_metric(job: Job) -> bool:
    """Whether amounts are told in metric units."""
    return job.job.units == "metric"


def length(job: Job, size_mm: float) -> str:
    """A length as the shop reads it: 0.06 in, or 1.6 mm."""
    return f"{_plain(size_mm, 1)} mm" if is_metric(job) else f"{_plain(size_mm / INCH_MM, 2)} in"


def typed_inches(size_mm: float) -> str:
    """A length as it may be typed again: in sixteenths where it is a whole number of them, else 1.234 in."""
    off_mm = abs(size_mm - round(size_mm / _SIXTEENTH_MM) * _SIXTEENTH_MM)
    return sixteenths_text(size_mm) if off_mm < _NEAR_MM else f"{size_mm / INCH_MM:.3f} in"


def mass(job: Job, size_kg: float) -> str:
    """A mass: 140 lb, or 63.5 kg."""
    return f"{_plain(size_kg, 1)} kg" if is_metric(job) else f"{_plain(size_kg / POUND_KG, 0)} lb"


def speed(job: Job, size_km_h: float) -> str:
    """A speed: 85 mph, or 137 km/h."""
    return f"{_plain(size_km_h, 0)} km/h" if is_metric(job) else f"{_plain(size_km_h / MILE_KM, 0)} mph"


def pressure(job: Job, size_kpa: float) -> str:
    """A pressure, rounded up so that it is enough: 33 psi, or 228 kPa."""
    whole = math.ceil(round(size_kpa if is_metric(job) else size_kpa / PSI_KPA, 6))
    return f"{whole} kPa" if is_metric(job) else f"{whole} psi"


def torque(job: Job, size_n_m: float) -> str:
    """A torque: 4,200 lb-ft, or 5,694 N m."""
    return f"{_plain(size_n_m, 0)} N m" if is_metric(job) else f"{_plain(size_n_m / POUND_FOOT_N_M, 0)} lb-ft"


def money(cents: float) -> str:
    """An amount of money: $1,234.50."""
    sign = "-" if cents < 0 else ""
    return f"{sign}${abs(cents) / 100:,.2f}"


def amount(job: Job, unit: str, size: float) -> str:
    """An amount in a check's unit, in the shop's."""
    tellers = {"mm": length, "kg": mass, "km_h": speed, "kpa": pressure, "n_m": torque}
    if unit in tellers:
        return tellers[unit](job, size)
    if unit == "cents":
        return money(size)
    plain = {"rpm": (1.0, 0, " rpm"), "deg": (1.0, 1, " deg"), "share": (100.0, 1, " %"), "s": (1.0, 1, " s")}
    factor, digits, after = plain.get(unit, (1.0, 2, ""))
    return f"{_plain(size * factor, digits)}{after}"


def enough(job: Job, unit: str, size: float) -> str:
    """An amount rounded up, so that a change of it is enough: lengths to the next 1/16 in, or 0.5 mm."""
    if unit == "mm":
        return f"{math.ceil(round(size * 2, 6)) / 2:g} mm" if is_metric(job) else sixteenths_text(size, up=True)
    if unit == "kg":
        pounds = math.ceil(round(size / POUND_KG, 6))
        return f"{math.ceil(round(size * 10, 6)) / 10:g} kg" if is_metric(job) else f"{pounds} lb"
    if unit == "km_h":
        return f"{math.ceil(size)} km/h" if is_metric(job) else f"{math.ceil(round(size / MILE_KM, 6))} mph"
    if unit == "rpm":
        return f"{math.ceil(round(size, 6))} rpm"
    if unit == "n_m":
        return torque(job, size + (0.5 if is_metric(job) else 0.5 * POUND_FOOT_N_M))
    if unit in {"deg", "share"}:
        factor, after = (1.0, "deg") if unit == "deg" else (100.0, "%")
        return f"{math.ceil(round(size * factor * 10, 6)) / 10:g} {after}"
    return money(size) if unit == "cents" else f"{math.ceil(round(size * 100, 6)) / 100:g}"


def moved(job: Job, unit: str, size: float) -> str:
    """How far to relax a limit, rounded up so that it is enough: "+3/16 in"; "-0.25 in" where it is tightened."""
    if math.isnan(size):
        return "any"
    if unit == "yes_no":
        return "given up" if size > 0 else "as asked"
    return f"+{enough(job, unit, size)}" if size > 0 else "as asked" if size == 0 else f"-{amount(job, unit, -size)}"


def unit_name(unit: str) -> str:
    """A check's unit as it is written: "mm", "km/h", "yes or no"."""
    return {"km_h": "km/h", "n_m": "N m", "yes_no": "yes or no"}.get(unit, unit)


CUT_SHORT = "NOT PROVEN: the search was cut short."
"""What stands in front of all that is not known for it."""


def limit_name(limit: Limit) -> str:
    """What the shop calls a limit: "rear room outside", "budget"; a check that is none by its own name."""
    return limit.entry.name if limit.entry else placed(limit.check, limit.where)


def enumerated(names: Sequence[str]) -> str:
    """Names in a sentence.

    Examples
    --------
    >>> enumerated(["a", "b", "c"])
    'a, b and c'
    """
    *first, last = names
    return f"{', '.join(first)} and {last}" if first else last


def eased(job: Job, limit: Limit, by: float) -> str:
    """What is done to a limit: "3/8 in more rear room outside", "winter tires given up"."""
    if math.isnan(by) or limit.entry is None:
        return f"{limit_name(limit)} given up"
    return limit.entry.eased.replace("{amount}", enough(job, limit.check.unit, by))


def score(size: float | None) -> str:
    """A score, or "-" for a ranking by [order]."""
    return "-" if size is None else f"{size:,.0f}"


def worth(points: float | None, cents: float) -> str:
    """What a build is worth: "scores 7,151 and costs $3,316.96"."""
    return f"scores {score(points)} and costs {money(cents)}"


def margin(job: Job, result: Result) -> str:
    """What is left or over: "0.06 in left", "3/16 in over"; "" for a yes or no."""
    if result.verdict is Verdict.UNVERIFIED:
        return "not known"
    if result.check.unit == "yes_no":
        return "agrees" if result.margin >= 0 else "differs"
    if result.margin < 0 and result.value is None and result.limit is None:
        return "does not go together"
    if math.isinf(result.margin):
        return "does not apply"
    if result.margin >= 0:
        return f"{amount(job, result.check.unit, result.margin)} left"
    return f"{_not_nothing(job, result)} {'short' if _is_below(result) else 'over'}"


def _is_below(result: Result) -> bool:
    """Whether a failing value lies under its limit, rather than over it."""
    if isinstance(result.value, float) and isinstance(result.limit, float):
        return result.value < result.limit
    return result.check.sense == "at_least"


def named(result: Result) -> str:
    """The check with its place: "inner sidewall, front"."""
    return placed(result.check, result.where)


def placed(check: Check, where: str) -> str:
    """A check at a place."""
    return check.name if where == "truck" else f"{check.name}, {where}"


def in_state(result: Result) -> str:
    """The check with its place, and the state or cruise point that decides: "inner sidewall, front, full bump"."""
    return f"{named(result)}, {result.state}" if result.state and result.check.over else named(result)


def in_short(job: Job, result: Result | None) -> str:
    """Check, place, state and amount: "inner sidewall, front, full bump: 0.06 in left"."""
    return "-" if result is None else f"{in_state(result)}: {margin(job, result)}"


def certainty(job: Job, result: Result) -> str:
    """Worst case and chance to clear, where a plus-or-minus bears on the check: "0.04 in short, 93 %"; before them the
    nominal margin, where it is not the one that decides.
    """
    if math.isnan(result.worst) or result.worst == result.nominal:
        return ""
    told = f"{_left_or_short(job, result, result.worst)}, {chance(result.chance)}"
    return told if job.targets.fit == "nominal" else f"nominal {_left_or_short(job, result, result.nominal)}; {told}"


def _left_or_short(job: Job, result: Result, margin_: float) -> str:
    return f"{amount(job, result.check.unit, abs(margin_))} {'left' if margin_ >= 0 else 'short'}"


def chance(size: float) -> str:
    """A chance in whole per cent that never promises what it does not keep: 100 % and 0 % only where certain."""
    return "100 %" if size >= 1.0 else "0 %" if size <= 0.0 else f"{min(99, max(1, round(size * 100)))} %"


def bill(lines: tuple[Line, ...]) -> str:
    """A bill in a line: "wheels, front $150.00; ...; in all $2,310.40"."""
    told = [f"{line.what}{', ' if line.where else ''}{line.where} {money(line.cents)}" for line in lines]
    return f"{'; '.join(told)}; in all {money(sum(line.cents for line in lines))}"


def fact(job: Job, one: Fact) -> str:
    """A fact in a line: "lowest cold pressure for the load, rear: 33 psi (guidance ...)"."""
    place = "" if one.where == "truck" else f", {one.where}"
    return f"{one.name}{place}: {fact_amount(job, one)}" + (f" ({one.note})" if one.note else "")


def fact_amount(job: Job, one: Fact) -> str:
    """The amount of a fact alone."""
    return amount(job, one.unit, one.value) if math.isfinite(one.value) else "out of reach"


def cure(job: Job, cured: Cured) -> str:
    """A change that is enough, in words: "3/16 in less backspace"."""
    return cured.words.format(amount=enough(job, cured.result.check.unit, abs(cured.amount)))


def both_sides(job: Job, result: Result) -> str:
    """Value against limit, where the check has them."""

    def told(side: float | str | None) -> str:
        if side is None:
            return "?"
        return side if isinstance(side, str) else amount(job, _unit_of_sides(result), side)

    if result.value is None and result.limit is None:
        return ""
    return f"{told(result.value)} against {told(result.limit)}"


def _unit_of_sides(result: Result) -> str:
    return "mm" if result.check.unit == "yes_no" else result.check.unit


def _not_nothing(job: Job, result: Result) -> str:
    """An overrun is never told as nothing, however small."""
    told = amount(job, result.check.unit, -result.margin)
    if any(digit in told for digit in "123456789"):
        return told
    return f"less than {enough(job, result.check.unit, -result.margin)}"


def _plain(size: float, digits: int) -> str:
    rounded = round(size, digits) + 0.0
    return f"{rounded:,.{digits}f}"

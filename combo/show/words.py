"""Amounts and sentences in the shop's terms."""

from __future__ import annotations

import math

from combo.checks.check import Verdict
from combo.checks.run import Result
from combo.job import Job
from combo.solve.why import Cured
from combo.units import INCH_MM, MILE_KM, POUND_KG, sixteenths_text

CAUTIONS = (
    "Ratings (axles, tires, wheels) are limits, not targets; the lowest one governs. Verify every rating on the part.",
    "Check brakes, steering and lug engagement on the truck, wheels turned lock to lock, through full travel.",
    "Tie ballast down: it moves in a stop. It loads brakes and tires whenever it is aboard.",
    "Local codes differ on fender cover, load and modification. "
    "Where they or a licensed engineer say otherwise, they win.",
)


def is_metric(job: Job) -> bool:
    """Whether amounts are told in metric units."""
    return job.job.units == "metric"


def length(job: Job, size_mm: float) -> str:
    """A length as the shop reads it: 0.06 in, or 1.6 mm."""
    return f"{_plain(size_mm, 1)} mm" if is_metric(job) else f"{_plain(size_mm / INCH_MM, 2)} in"


def mass(job: Job, size_kg: float) -> str:
    """A mass: 140 lb, or 63.5 kg."""
    return f"{_plain(size_kg, 1)} kg" if is_metric(job) else f"{_plain(size_kg / POUND_KG, 0)} lb"


def speed(job: Job, size_km_h: float) -> str:
    """A speed: 85 mph, or 137 km/h."""
    return f"{_plain(size_km_h, 0)} km/h" if is_metric(job) else f"{_plain(size_km_h / MILE_KM, 0)} mph"


def money(cents: float) -> str:
    """An amount of money: $1,234.50."""
    sign = "-" if cents < 0 else ""
    return f"{sign}${abs(cents) / 100:,.2f}"


def amount(job: Job, unit: str, size: float) -> str:
    """An amount in a check's unit, in the shop's."""
    tellers = {"mm": length, "kg": mass, "km_h": speed}
    if unit in tellers:
        return tellers[unit](job, size)
    if unit == "cents":
        return money(size)
    return f"{_plain(size, 0)} rpm" if unit == "rpm" else f"{_plain(size, 2)}"


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
    return money(size) if unit == "cents" else f"{math.ceil(round(size * 100, 6)) / 100:g}"


def margin(job: Job, result: Result) -> str:
    """What is left or over: "0.06 in left", "3/16 in over"; "" for a yes or no."""
    if result.verdict is Verdict.UNVERIFIED:
        return "not known"
    if result.check.unit == "yes_no":
        return "agrees" if result.margin >= 0 else "differs"
    if result.margin < 0 and result.value is None and result.limit is None:
        return "does not go together"
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
    return result.check.name if result.where == "truck" else f"{result.check.name}, {result.where}"


def in_short(job: Job, result: Result | None) -> str:
    """Check, place and amount: "inner sidewall, front: 0.06 in left"."""
    return "-" if result is None else f"{named(result)}: {margin(job, result)}"


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

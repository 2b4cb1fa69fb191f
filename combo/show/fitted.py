"""Measured with the parts on against computed: what is off, what that says, and which entry to correct."""

from __future__ import annotations

import math
from typing import Any

from rich.console import Console
from rich.table import Table
from rich.text import Text

from combo.checks.fitted import Reading
from combo.checks.needs import Need
from combo.explain.fitted import Correction, Explained, Finding, Fit
from combo.job import Job, key_of
from combo.show import words
from combo.show.machine import FORMAT
from combo.show.plain import json_text
from combo.show.terminal import show_cautions
from combo.units import sixteenths_text


def show_fitted(out: Console, job: Job, fit: Fit) -> None:
    """How many readings are off, what they say, what is still to be measured, and the table."""
    out.print(Text(_headline(fit), style="bold"))
    for line in says(job, fit):
        out.print(f"- {line}", soft_wrap=True)
    for text in _needs(fit):
        out.print(f"- to measure: {text}", soft_wrap=True)
    table = Table(box=None, pad_edge=False, header_style="bold")
    for name in ("measured", "computed", "there", "off", "plus-or-minus", "answer"):
        table.add_column(name, justify="left" if name in {"measured", "answer"} else "right")
    for own in fit.readings:
        table.add_row(*_cells(job, own))
    out.print(table)
    show_cautions(out)


def fitted_json(job: Job, fit: Fit) -> str:
    """Every reading with its unit in the keys, and what those that are off say."""
    answer = {"format": FORMAT, "fitted": [_told(own) for own in fit.readings], "says": says(job, fit)}
    return json_text(answer)


def says(job: Job, fit: Fit) -> list[str]:
    """What the readings that are off say, one paragraph each."""
    return [_says(job, finding) for finding in fit.findings]


def _headline(fit: Fit) -> str:
    known = [own for own in fit.readings if own.is_known]
    off = sum(not own.within for own in known)
    if not known:
        return "Nothing to compare yet: what was measured cannot be computed."
    if not off:
        return f"As computed: {_all(len(known))} within your tape."
    plural = "measurement" if len(known) == 1 else "measurements"
    return f"{off} of {len(known)} {plural} {'is' if off == 1 else 'are'} off by more than the plus-or-minus."


def _all(count: int) -> str:
    return "the one measurement is" if count == 1 else f"all {count} measurements are"


def _needs(fit: Fit) -> list[str]:
    """What is missing, each with the readings that wait for it."""
    waiting: dict[Need, list[str]] = {}
    for own in fit.readings:
        for need in own.needs:
            waiting.setdefault(need, []).append(_named(own))
    return [f"{need.text()}, for {'; '.join(names)}" for need, names in waiting.items()]


def _cells(job: Job, own: Reading) -> list[str]:
    measured = amount(job, own.unit, own.measured)
    if not own.is_known:
        return [_named(own), "?", measured, "", "", "not known"]
    off = amount(job, own.unit, own.off)
    return [
        _named(own),
        amount(job, own.unit, own.computed),
        measured,
        off if off.startswith("-") else f"+{off}",
        amount(job, own.unit, own.plus_or_minus),
        "within your tape" if own.within else "OFF",
    ]


def _told(own: Reading) -> dict[str, Any]:
    sizes = {"computed": own.computed, "measured": own.measured, "off": own.off, "plus_or_minus": own.plus_or_minus}
    told: dict[str, Any] = {"what": own.what, "where": own.where}
    told |= {
        f"{name}_{own.unit}": round(size, 4) + 0.0
        if math.isfinite(size) and (own.is_known or name == "measured")
        else None
        for name, size in sizes.items()
    }
    told["within"] = own.within if own.is_known else None
    if own.needs:
        told["needs"] = [{"name": need.name, "of": need.of, "how": need.how} for need in own.needs]
    return told


def amount(job: Job, unit: str, size: float) -> str:
    """An amount as it is read off: to the nearest sixteenth in an inch job."""
    return sixteenths_text(size) if unit == "mm" and not words.is_metric(job) else words.amount(job, unit, size)


def _named(own: Reading) -> str:
    return own.what if own.where == "truck" else f"{own.what}, {own.where}"


def _apart(job: Job, own: Reading) -> str:
    """How far a reading is from what was computed: "1/8 in more"; never nothing."""
    told = amount(job, own.unit, abs(own.off))
    if not any(digit in told for digit in "123456789"):
        told = f"less than {words.enough(job, own.unit, abs(own.off))}"
    return f"{told} {'more' if own.off > 0 else 'less'}"


def _says(job: Job, finding: Finding) -> str:
    if finding.group == "load":
        return _load(job, finding.off[0])
    if finding.group == "cruise":
        return _cruise(job, finding)
    where = finding.where.capitalize()
    first, *rest = finding.off
    apart = [f"{first.what} is {_apart(job, first)} than computed", *(f"{own.what} {_apart(job, own)}" for own in rest)]
    head = f"{where}: {', '.join(apart)}."
    if finding.split is not None:
        return f"{head} {_split(job, finding)}"
    told = [_cause(job, one) for one in finding.causes]
    if not told:
        return f"{head} No one entry explains it: measure {' and '.join(own.what for own in finding.off)} again."
    if len(told) == 1:
        return f"{head} One thing explains it: {told[0]}."
    further = "No other reading tells them apart: measure each of them again."
    if finding.apart:
        further = f"To tell them apart, measure {' and '.join(finding.apart)} in [fitted.{finding.where}]."
    return f"{head} Any one of these explains it: {_numbered(told)}. {further}"


def _split(job: Job, finding: Finding) -> str:
    split = finding.split
    assert split is not None
    out, wider = amount(job, "mm", abs(split.outward_mm)), amount(job, "mm", abs(split.wider_mm))
    half = amount(job, "mm", abs(split.wider_mm) / 2.0)
    return (
        f"No one entry explains both; two together do. The tire stands {out} farther "
        f"{'out' if split.outward_mm > 0 else 'in'} than computed: measure the wheel's backspace, and see that both "
        "plumb lines were read from the hub's face. "
        f"And it is {wider} {'wider' if split.wider_mm > 0 else 'narrower'}, or both rooms were taped {half} too "
        f"{'large' if split.wider_mm > 0 else 'small'}: measure across both sidewalls."
    )


def _load(job: Job, own: Reading) -> str:
    return (
        f"{own.what}: {_apart(job, own)} than computed. Weigh again what is in [present] and [[loads.items]], and one "
        "of the wheels and tires that were fitted; look at the scale loads in [loads] before the next job."
    )


def _cruise(job: Job, finding: Finding) -> str:
    own = finding.off[0]
    told = [_drive_cause(change) for one in finding.causes for change in one.changes]
    return f"cruise_rpm: {_apart(job, own)} than computed. Any one of these explains it: {_numbered(told)}."


def _drive_cause(change: Correction) -> str:
    then, now = change.then, change.now
    if change.path == "tire.revs_per_mile":
        return f"the rear tire turns {then:.0f} times a mile, not {now:.0f}: roll it ten turns and tape the way"
    if change.path == "ratio.ratio":
        other = f" ({change.sku} would do)" if change.sku else ""
        return (
            f"the axle ratio is {then:.2f}, not {now:.2f}{other}: count the driveshaft's turns for ten of both wheels"
        )
    return f"the converter slips {then:.1%}, not {now:.1%}: set transmission.converter_slip = {then:.3f}"


def _numbered(told: list[str]) -> str:
    return "; ".join(f"({number}) {text}" for number, text in enumerate(told, start=1))


def _cause(job: Job, one: Explained) -> str:
    """A cause in words: what is to be set, or what is to be measured on the part."""
    size = amount(job, "mm", abs(one.amount))
    more = one.amount > 0
    tellers = {
        "rooms": f"both rooms were taped {size} too {'small' if more else 'large'}: ",
        "face": f"both plumb lines were read from a face {size} too far {'in' if more else 'out'}: ",
    }
    if one.cause.told == "sinks":
        return f"the tire sinks in {size} {'less' if more else 'more'} than the present one did: check its pressure"
    if one.cause.entries:
        return tellers.get(one.cause.told, "") + " and ".join(_set(job, change) for change in one.changes)
    change = one.changes[0]
    then, now = _value(job, change.then), _value(job, change.now)
    return {
        "backspace": f"the backspace of {change.sku} is {then}, not {now}: lay the wheel face down and tape it",
        "width": f"{change.sku} is {size} {'wider' if more else 'narrower'} than listed: measure across both sidewalls",
        "thickness": f"spacer {change.sku} is {then} thick, not {now}: caliper it",
        "spokes": f"the spoke clearance of {change.sku} is {then}, not {now}: tape it from the mounting face",
        "diameter": f"{change.sku} is {then} tall, not {now}: tape around it and divide by 3.1416",
    }[one.cause.told]


def _set(job: Job, change: Correction) -> str:
    *table, name = change.path.split(".")
    return f'set {".".join([*table, key_of(name)])} = "{_value(job, change.then)}" (now {_value(job, change.now)})'


def _value(job: Job, size_mm: float) -> str:
    """A length as it may be typed again: sixteenths where it is a whole number of them."""
    if words.is_metric(job):
        return f"{round(size_mm, 1):g} mm"
    return words.typed_inches(size_mm)

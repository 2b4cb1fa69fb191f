"""Tire designations: what the marking on the sidewall settles, and nothing that it does not."""

from __future__ import annotations

import functools
import re
from dataclasses import dataclass
from typing import Any

from combo.formulas.tire import flotation_diameter_mm, overall_diameter_mm
from combo.units import INCH_MM, UnitError

NAN = float("nan")


@dataclass(frozen=True)
class Designation:
    """What a designation settles; NaN or "" where it leaves something open.

    `load_index` is the single-fitment one of a pair such as 123/120. `service` is "passenger" or "light_truck",
    `construction` "radial" or "bias".
    """

    system: str
    rim_diameter_mm: float
    section_width_mm: float = NAN
    aspect_percent: float = NAN
    overall_diameter_mm: float = NAN
    construction: str = ""
    service: str = ""
    load_range: str = ""
    load_index: float = NAN
    speed_symbol: str = ""


_RIM = r"(?P<rim>\d{2}(?:\.5)?)"
_SERVICE = r"(?:\s+(?P<li>\d{2,3})(?:/\d{2,3})?\s*(?P<speed>[A-HJ-NP-Y](?!\w)))?"
_RANGE = r"(?:\s*(?:LR\s*|/)?(?P<range>[B-H](?!\w)))?"
_LATE_RANGE = r"(?:\s*(?:LR\s*)?(?P<late>[B-H]))?"
_EXTRA = r"(?:\s+(?:XL|SL|RF|M\+S|TL|TT))*"
_TYPE = r"(?P<type>ZR|[RDB-])"

_WIDTH = r"(?P<width>\d{1,2}\.\d{1,2})"
_DIAMETER = r"(?P<diameter>\d{2}(?:\.\d+)?)"
_METRIC_WIDTH = r"(?P<prefix>P|LT)?(?P<width>\d{3})"

_SYSTEMS: tuple[tuple[str, re.Pattern[str]], ...] = tuple(
    (name, re.compile(pattern + _EXTRA + _SERVICE + _EXTRA + _LATE_RANGE + "$"))
    for name, pattern in (
        ("metric", rf"{_METRIC_WIDTH}/(?P<aspect>\d{{2,3}})(?P<zr>Z)?{_TYPE}{_RIM}(?P<c>C|LT)?{_RANGE}"),
        ("flotation", rf"{_DIAMETER}X{_WIDTH}{_TYPE}{_RIM}(?P<c>LT){_RANGE}"),
        ("numeric light truck", rf"(?P<width>\d{{1,2}}(?:\.\d{{1,2}})?){_TYPE}{_RIM}(?P<c>LT|C){_RANGE}"),
        ("alphanumeric", rf"(?P<letter>[A-N])(?P<r>R)?(?P<aspect>\d{{2}}){_TYPE}{_RIM}{_RANGE}"),
        ("numeric", rf"(?P<width>\d{{1,2}}\.\d{{2}}){_TYPE}{_RIM}{_RANGE}"),
    )
)
_ACCEPTED = (
    "a tire size is accepted, such as P235/75R15, LT265/75R16E 123/120Q, 31x10.50R15LT, 7.50-16LT, G78-15 or 8.15-15"
)


def decode(text: str) -> Designation:
    """What a designation settles.

    A flotation size's diameter is the listed new one, 12 mm under the code. The widths of numeric and alphanumeric
    sizes are names rather than sizes, so their section width and diameter stay open for the catalog to settle.

    Raises
    ------
    UnitError
        `not-a-designation`.

    Examples
    --------
    >>> decode("LT265/75R16E 123/120Q").load_index, decode("31x10.50R15LT").overall_diameter_mm
    (123.0, 775.0)
    """
    plain = text.strip().upper()
    found = _of_plain(plain) or _of_plain(tidied(plain))
    if found is None:
        raise UnitError("not-a-designation", f'found "{text}"', _ACCEPTED)
    return found


def tidied(plain: str) -> str:
    """A designation without the spaces that do not belong there."""
    plain = re.sub(r"\s+", " ", plain.replace("×", "X"))
    plain = re.sub(r"(?<=\d)\s*([X/])\s*(?=\d)", r"\1", plain)
    return re.sub(r"(/\d{2,3})\s*(ZR|[RD-])\s*(?=\d\d)", r"\1\2", plain)


def _of_plain(plain: str) -> Designation | None:
    for system, pattern in _SYSTEMS:
        if match := pattern.match(plain):
            return _READERS[system](match.groupdict())
    return None


def _metric(part: dict[str, str | None]) -> Designation:
    width, aspect, rim = float(part["width"] or NAN), float(part["aspect"] or NAN), _rim_mm(part)
    light_truck = part["prefix"] == "LT" or part["c"] is not None
    return Designation(
        "metric", rim, width, aspect, _diameter_mm(width, aspect, rim),
        service="light_truck" if light_truck else "passenger", **_common(part),
    )  # fmt: skip


@functools.cache
def _diameter_mm(width_mm: float, aspect_percent: float, rim_mm: float) -> float:
    """Overall diameter of a metric size, of which there are few."""
    return float(overall_diameter_mm(width_mm, aspect_percent, rim_mm))


def _flotation(part: dict[str, str | None]) -> Designation:
    diameter_mm = float(flotation_diameter_mm(float(part["diameter"] or NAN) * INCH_MM))
    width_mm = float(part["width"] or NAN) * INCH_MM
    return Designation("flotation", _rim_mm(part), width_mm, overall_diameter_mm=diameter_mm,
                       service="light_truck", **_common(part))  # fmt: skip


def _numeric_light_truck(part: dict[str, str | None]) -> Designation:
    return Designation("numeric light truck", _rim_mm(part), service="light_truck", **_common(part))


def _alphanumeric(part: dict[str, str | None]) -> Designation:
    common = _common(part)
    if part["r"]:
        common["construction"] = "radial"
    return Designation("alphanumeric", _rim_mm(part), aspect_percent=float(part["aspect"] or NAN),
                       service="passenger", **common)  # fmt: skip


def _numeric(part: dict[str, str | None]) -> Designation:
    # Widths of the old passenger series end in 5 (8.15, 7.75); 7.50R16 may be either, which only the catalog can tell.
    service = "passenger" if (part["width"] or "").endswith("5") else ""
    return Designation("numeric", _rim_mm(part), service=service, **_common(part))


_READERS = {
    "metric": _metric,
    "flotation": _flotation,
    "numeric light truck": _numeric_light_truck,
    "alphanumeric": _alphanumeric,
    "numeric": _numeric,
}


def _rim_mm(part: dict[str, str | None]) -> float:
    return round(float(part["rim"] or NAN) * INCH_MM, 2)


def _common(part: dict[str, str | None]) -> dict[str, Any]:
    return {
        "construction": "radial" if part["type"] in {"R", "ZR"} else "bias",
        "load_range": part["range"] or part["late"] or "",
        "load_index": float(part["li"]) if part["li"] else NAN,
        "speed_symbol": part["speed"] or "",
    }

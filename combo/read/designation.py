"""Tire designations: what the marking on the sidewall settles, and nothing that it does not."""

from __future__ import annotations

import functools
import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from combo.formulas.tire import flotation_clearance_diameter_mm, flotation_diameter_mm, overall_diameter_mm
from combo.units import INCH_MM, UnitError, normalized, refuse_long

NAN = float("nan")
UNSTATED_SERIES = 80.0  # of a radial such as 165R15: UN R30, Annex 5, Table II, whose diameters this gives within 1 %


@dataclass(frozen=True)
class Designation:
    """What a designation settles; NaN or "" where it leaves something open.

    `load_index` is the single-fitment one of a pair such as 123/120. `service` is "passenger", "light_truck",
    "commercial", "trailer" or "temporary", `construction` "radial" or "bias". `overall_diameter_mm` is the diameter to
    clear, `running_diameter_mm` that of ground and gearing. `series_is_estimate` says that no series is marked.
    """

    system: str
    rim_diameter_mm: float
    section_width_mm: float = NAN
    aspect_percent: float = NAN
    overall_diameter_mm: float = NAN
    running_diameter_mm: float = NAN
    construction: str = ""
    service: str = ""
    load_range: str = ""
    load_index: float = NAN
    speed_symbol: str = ""
    series_is_estimate: bool = False

    @property
    def is_flotation(self) -> bool:
        """Whether the marking states diameter and width in inches, as 31x10.50R15LT does."""
        return self.system == FLOTATION

    @property
    def is_metric(self) -> bool:
        """Whether the marking states the nominal section width in millimeters, as 235/75R15 and 165R15 do."""
        return self.system == METRIC


METRIC, FLOTATION, NUMERIC, ALPHANUMERIC = "metric", "flotation", "numeric", "alphanumeric"
NUMERIC_LIGHT_TRUCK = "numeric light truck"

_PREFIX = r"(?P<prefix>P|LT|ST|T)?"
_METRIC_WIDTH = r"(?P<width>\d{3})"
_WIDTH = r"(?P<width>\d{1,2}\.\d{1,2})"
_DIAMETER = r"(?P<diameter>\d{2}(?:\.\d+)?)"
_EARLY_SPEED = r"(?P<early>[NPQSTUHVWYZ](?=R))?"
_TYPE = r"(?P<type>[RDB-])"
_RIM = r"(?P<rim>\d{2}(?:\.5)?)(?P<suffix>LT)?"
_RANGE_WORD = r"(?:LR|LOAD\s+RANGE)\s*"
_RANGE = rf"(?:\s*(?P<range_word>{_RANGE_WORD}|/)?(?P<range>[B-H](?!\w)))?"
_LATE_RANGE = rf"(?:\s*(?P<late_word>{_RANGE_WORD})?(?P<late>[B-H]))?"
_EXTRA = r"(?:\s*(?:XL|SL|RF|M\+S|TL|TT|\d{1,2}\s?-?(?:PR|PLY)))*"
_SPEED = r"(?:\s*(?P<speed>[F-HJ-NP-WY](?!\w)))?"
_SERVICE = rf"(?:\s+(?P<li>[4-9]\d|1\d\d|200)(?:/(?P<dual>\d{{2,3}}))?{_SPEED})?"

_SYSTEMS: tuple[tuple[str, re.Pattern[str]], ...] = tuple(
    (name, re.compile(pattern + _RANGE + _EXTRA + _SERVICE + _EXTRA + _LATE_RANGE + "$"))
    for name, pattern in (
        (METRIC, rf"{_PREFIX}{_METRIC_WIDTH}/(?P<aspect>\d{{2,3}}){_EARLY_SPEED}{_TYPE}{_RIM}"),
        (METRIC, rf"{_PREFIX}{_METRIC_WIDTH}{_EARLY_SPEED}(?P<type>R){_RIM}"),
        (FLOTATION, rf"(?P<prefix>LT)?{_DIAMETER}X{_WIDTH}{_TYPE}{_RIM}"),
        (ALPHANUMERIC, rf"(?P<letter>[A-N])(?P<r>R)?(?P<aspect>\d{{2}}){_TYPE}{_RIM}"),
        (NUMERIC, rf"(?P<width>\d{{1,2}}(?:\.\d{{1,2}})?){_TYPE}{_RIM}"),
    )
)
_ACCEPTED = (
    "a tire size is accepted, such as P235/75R15, LT265/75R16E 123/120Q, 185R14C, 31x10.50R15LT, 7.50-16LT, 10R22.5, "
    "G78-15 or 8.15-15"
)
_OPEN_CEILING = {"V", "Z"}  # before the R: above 210 and above 240 km/h, with no speed named (from memory)
_OLD_PASSENGER_RIM = 15.0  # old passenger sizes end in 5 and go up to it; 8.25-16 and 8.25R20 are truck sizes

_Part = dict[str, str | None]


def decode(text: str) -> Designation:
    """What a designation settles.

    A flotation size has two diameters: 12 mm under the code as listed new, 6 mm under it as deep treads come. The
    widths of numeric and alphanumeric sizes are names rather than sizes, so their section width and diameter stay open
    for the catalog to settle.

    Raises
    ------
    UnitError
        `not-a-designation`.

    Examples
    --------
    >>> decode("LT265/75R16E 123/120Q").load_index, decode("31x10.50R15LT").running_diameter_mm
    (123.0, 775.0)
    """
    refuse_long(text)
    plain = text.strip().upper()
    found = _of_plain(plain) or _of_plain(tidied(plain))
    if found is None:
        raise UnitError("not-a-designation", f'found "{text}"', _ACCEPTED)
    return found


def tidied(plain: str) -> str:
    """A designation without the spaces and brackets that do not belong there."""
    plain = re.sub(r"\s+", " ", re.sub(r"[()]", " ", normalized(plain).replace("×", "X"))).strip()
    plain = re.sub(r"(?<=\d)\s*([X/])\s*(?=\d)", r"\1", plain)
    plain = re.sub(r"^(P|LT|ST|T)\s+(?=\d)", r"\1", plain)
    return re.sub(r"^([A-Z]*[\d./X]+)\s*([NPQSTUHVWYZ]?R|[DB-])\s*(?=\d\d)", r"\1\2", plain)


_AS_IT_STANDS = re.compile(r"(?:P|LT)?\d{3}/\d\dR\d\d(?: \d{2,3}(?:/\d{2,3})?[A-Z])?")
_SPACED = re.compile(r"(P|LT|ST|T)? ?(\d{3})[ /-]+(\d{2,3})[ /-]+(?:Z?R ?)?(\d{2}(?:\.5)?)")
_RANGE_BEHIND = re.compile(r"(.*[\dT])\s*/\s*(\d{1,2}(?:\s*(?:PR|PLY))?|[B-H])")


def parted(text: str) -> tuple[str, str]:
    """A tire size as suppliers write it, as a designation and the load range or ply rating behind it, "" where none is.

    Examples
    --------
    >>> parted("LT265/70R17/10"), parted("LT 245/75 R 16 / E"), parted("265 70 17")
    (('LT265/70R17', '10'), ('LT245/75R16', 'E'), ('265/70R17', ''))
    """
    plain = text.strip().upper()
    if _AS_IT_STANDS.fullmatch(plain):
        return text, ""
    if (match := _RANGE_BEHIND.fullmatch(plain)) and _of_plain(tidied(match[1])):
        return "".join(text.strip()[: match.end(1)].split()), match[2]
    if match := _SPACED.fullmatch(" ".join(plain.split())):
        return f"{match[1] or ''}{match[2]}/{match[3]}R{match[4]}", ""
    return text, ""


def _of_plain(plain: str) -> Designation | None:
    for system, pattern in _SYSTEMS:
        if (match := pattern.match(plain)) and (found := _READERS[system](match.groupdict())):
            return found
    return None


def _metric(part: _Part) -> Designation:
    series = part.get("aspect")
    width, aspect, rim = float(part["width"] or NAN), float(series or UNSTATED_SERIES), _rim_mm(part)
    diameter = _diameter_mm(width, aspect, rim)
    return Designation(
        METRIC, rim, width, aspect, diameter, diameter, series_is_estimate=series is None, **_common(part, "passenger")
    )


@functools.cache
def _diameter_mm(width_mm: float, aspect_percent: float, rim_mm: float) -> float:
    """Overall diameter of a metric size, of which there are few."""
    return float(overall_diameter_mm(width_mm, aspect_percent, rim_mm))


def _flotation(part: _Part) -> Designation:
    code_mm, width_mm = (float(part[name] or NAN) * INCH_MM for name in ("diameter", "width"))
    common = _common(part, "light_truck", c_is_range=True)
    if part["type"] == "-" and not _is_lt(part):
        common["construction"] = ""  # many list radials with a dash
    return Designation(
        FLOTATION,
        _rim_mm(part),
        width_mm,
        overall_diameter_mm=float(flotation_clearance_diameter_mm(code_mm)),
        running_diameter_mm=float(flotation_diameter_mm(code_mm)),
        **common,
    )


def _alphanumeric(part: _Part) -> Designation:
    common = _common(part, "passenger", c_is_range=True)
    if part["r"]:
        common["construction"] = "radial"
    return Designation(ALPHANUMERIC, _rim_mm(part), aspect_percent=float(part["aspect"] or NAN), **common)


def _numeric(part: _Part) -> Designation | None:
    """A size named by its width; a width without two decimals only where truck marks or a truck's rim stand behind."""
    width, rim = part["width"] or "", _rim(part)
    # Widths of the old passenger series end in 5 (8.15, 7.75); 7.50R16 may be either, which only the catalog can tell.
    is_old_passenger = re.fullmatch(r"\d+\.\d5", width) and rim <= _OLD_PASSENGER_RIM
    common = _common(part, "passenger" if is_old_passenger else "")
    is_marked = _is_lt(part) or _has_commercial_mark(part)
    if not re.fullmatch(r"\d+\.\d\d", width) and not is_marked and rim % 1.0 == 0.0:
        return None
    return Designation(NUMERIC_LIGHT_TRUCK if is_marked else NUMERIC, _rim_mm(part), **common)


_READERS: dict[str, Callable[[_Part], Designation | None]] = {
    METRIC: _metric,
    FLOTATION: _flotation,
    ALPHANUMERIC: _alphanumeric,
    NUMERIC: _numeric,
}


def _rim(part: _Part) -> float:
    return float(part["rim"] or NAN)


def _rim_mm(part: _Part) -> float:
    return round(_rim(part) * INCH_MM, 2)


def _is_lt(part: _Part) -> bool:
    return part.get("prefix") == "LT" or part["suffix"] is not None


def _has_commercial_mark(part: _Part) -> bool:
    """Whether a C stands alone: the mark of commercial tires such as 185R14C, and behind LT a load range."""
    bare = (part["range"] if not part["range_word"] else None, part["late"] if not part["late_word"] else None)
    return "C" in bare and not _is_lt(part)


def _service(part: _Part, otherwise: str, *, has_mark: bool) -> str:
    """Service that the marking tells; `otherwise` that of the system of sizes."""
    prefix, rim = part.get("prefix"), _rim(part)
    if prefix == "ST" or rim == 14.5:
        return "trailer"
    if prefix in {"P", "T"}:
        return "passenger" if prefix == "P" else "temporary"
    if rim > 17.0 and rim % 1.0:
        return "commercial"
    is_light_truck = _is_lt(part) or has_mark or part["dual"] is not None or rim == 16.5
    return "light_truck" if is_light_truck else otherwise


def _construction(part: _Part, service: str) -> str:
    """Construction before the rim; a dash is no proof of bias where the service is open, too."""
    if part["type"] == "R":
        return "radial"
    return "" if part["type"] == "-" and not service else "bias"


def _common(part: _Part, otherwise: str, *, c_is_range: bool = False) -> dict[str, Any]:
    """What all systems mark alike; `c_is_range` where a lone C is the load range even without LT."""
    has_mark = not c_is_range and _has_commercial_mark(part)
    service = _service(part, otherwise, has_mark=has_mark)
    early = part.get("early") or ""
    return {
        "construction": _construction(part, service),
        "service": service,
        "load_range": "" if has_mark else part["range"] or part["late"] or "",
        "load_index": float(part["li"]) if part["li"] else NAN,
        "speed_symbol": part["speed"] or ("" if early in _OPEN_CEILING else early),
    }

"""Headers of a supplier's list: the trade's synonyms, and the unit that a header states."""

from __future__ import annotations

import re
from dataclasses import dataclass

from combo.parts import Field, Kind
from combo.units import CURRENCIES, DIMENSIONS, LENGTH, MASS, PRESSURE, TORQUE, Dimension, UnitError, factor

# Folded as `folded` does. Words that mean different things in different lists stand under
# their own kind.
_ANY = {
    "sku": ("part", "partno", "partnumber", "item", "itemno", "stockno", "code", "article"),
    "price": ("cost", "priceeach", "unitprice", "each", "listprice", "usd"),
    "mass": ("weight", "wt", "weighteach", "shippingweight"),
    "hub_bore": ("bore", "centerbore", "centrebore", "cb", "hubbore"),
    "bolt_circle": ("boltpattern", "pcd", "lugpattern", "bcd", "studpattern", "lugs"),
    "labor_hours": ("labor", "labour", "laborh", "labourhours", "hours", "fittinghours"),
    "load_rating": ("maxload", "loadcapacity", "loadrating", "ratedload", "maxloadsingle", "load"),
    "ring_gear": ("ringgearfamily", "axlefamily", "gearfamily"),
    "core_charge": ("core", "corefee", "coredeposit"),
    "on_truck": ("present", "fitted", "have", "ontruck"),
    "supplier": ("vendor", "source", "from"),
    "lug_nut": ("nut", "nutsku", "lugnutsku"),
}
_SYNONYMS = {
    "wheel": {
        "rim_diameter": ("diameter", "dia", "rimdia", "wheeldiameter"),
        "rim_width": ("width", "wheelwidth", "jwidth"),
        "backspace": ("backspacing", "bs", "backsp", "rearspacing"),
        "offset": ("et", "wheeloffset"),
        "flange": ("rimflange", "flangethickness", "lip"),
        "barrel_diameter": ("barrel", "insidebarrel", "barrelid", "insidediameter", "barreldia"),
        "spoke_clearance": ("spokegap", "backofspoke", "caliperclearance"),
        "pad": ("padthickness", "mountingpad", "hubthickness"),
        "pocket_depth": ("pocket", "studpocket", "backpocket"),
        "pocket_over_studs": ("pocketoverstuds", "pocketsoverstuds"),
        "seat": ("lugseat", "nutseat", "seattype"),
        "style": ("design", "pattern"),
        "size": ("wheelsize", "rimsize"),
    },
    "tire": {
        "designation": ("size", "tiresize", "tyresize", "dimension"),
        "rim_diameter": ("rim", "rimdia", "wheeldiameter"),
        "section_width": ("section", "sectionw", "secwidth", "width"),
        "measuring_rim": ("measuringrimwidth", "measrim", "designrim"),
        "overall_diameter": ("od", "overalldia", "diameter", "outerdiameter", "tirediameter"),
        "rim_width_min": ("minrim", "minrimwidth", "rimmin", "approvedrimmin"),
        "rim_width_max": ("maxrim", "maxrimwidth", "rimmax", "approvedrimmax"),
        "load_index": ("li", "loadidx"),
        "speed_symbol": ("speedrating", "speed", "ss", "speedsymbol"),
        "service": ("servicetype", "type"),
        "construction": ("carcass", "build"),
        "revs_per_mile": ("revmile", "revsmile", "revspermi", "revolutionspermile", "revmi", "revpermile"),
        "static_loaded_radius": ("slr", "loadedradius", "staticradius"),
        "tread_width": ("treadw", "treadwidth"),
        "load_range": ("range", "loadrange", "plyrating"),
        "rated_pressure": ("pressureatload", "loadpressure"),
        "max_pressure": ("max", "maxpress", "maxinflation"),
        "line": ("tread", "treadline", "model", "productline"),
        "winter": ("snow", "wintermarking"),
    },
    "spacer": {
        "thickness": ("width", "thick"),
        "wheel_bolt_circle": ("wheelpattern", "wheelside", "tobolt"),
        "pilot": ("hubcentric", "hubring", "lip"),
        "pad": ("padthickness", "flangethickness"),
        "stud_thread": ("thread", "threadsize"),
        "nut_height": ("nutheight", "innernutheight"),
    },
    "ratio": {
        "ratio": ("axleratio", "gearratio", "finaldrive"),
        "ring_teeth": ("ring", "crownteeth"),
        "pinion_teeth": ("pinion",),
    },
    "differential": {
        "type": ("kind", "difftype"),
        "ratio_min": ("minratio", "ratiofrom", "carrierbreakfrom"),
        "ratio_max": ("maxratio", "ratioto", "carrierbreakto"),
        "splines": ("splinecount", "spline"),
        "bias_ratio": ("bias", "tbr", "torquebias"),
        "preload": ("breakaway", "preloadtorque"),
    },
    "ballast": {
        "name": ("description", "what"),
        "max_count": ("instock", "stock", "available", "max"),
    },
    "nut": {
        "seat": ("seattype", "lugseat", "form"),
        "thread": ("threadsize", "size", "pitch"),
        "type": ("end", "style", "openorclosed"),
        "thread_depth": ("depth", "threadlength"),
        "height": ("overallheight", "length"),
        "hex": ("wrench", "hexsize", "acrossflats"),
        "pack": ("packsize", "perpack", "countinpack", "qty", "quantity"),
        "left_hand": ("lefthand", "lh", "lefthanded"),
    },
}
WHEEL_SIZE = "size"
"""The one column that holds two fields: a wheel's `15x8`, rim diameter by rim width."""

_BRACKETED = re.compile(r"^(.*?)\s*[(\[]\s*([^)\]]+?)\s*[)\]]\s*$")
_TRAILING = re.compile(r"^(.*?)[\s_,]+([A-Za-z\"'#]+\.?)$")


@dataclass(frozen=True)
class Header:
    """What a header means: the field (or `size`), and the unit or currency of its bare numbers where it states one."""

    name: str
    unit: str | None = None


def meaning(header: str, kind: Kind, mapped: dict[str, str]) -> Header | None:
    """What a header of a list means; None where no field claims it.

    `mapped` is the job's own table of words: a supplier's header to a field, which may carry a unit (`backspace_in`).

    Examples
    --------
    >>> from combo.parts import WHEEL
    >>> meaning("Backspace (in)", WHEEL, {}), meaning("offset_mm", WHEEL, {}), meaning("Our price", WHEEL, {})
    (Header(name='backspace', unit='in'), Header(name='offset', unit='mm'), None)
    """
    if not header.strip():
        return None
    by_fold = {folded(word): ours for word, ours in mapped.items()}
    return _ours(by_fold.get(folded(header), header), kind)


def folded(header: str) -> str:
    """A header without case, spaces and marks, in whatever alphabet; a header of marks alone stays as it is.

    Examples
    --------
    >>> folded("Part No."), folded("Größe"), folded("#")
    ('partno', 'grösse', '#')
    """
    return "".join(letter for letter in header.casefold() if letter.isalnum()) or header.strip()


def dimension_of(field: Field) -> Dimension | None:
    """Dimension of a field's numbers; None for text, counts and money."""
    kinds = {"length": LENGTH, "bolt_circle": LENGTH, "mass": MASS, "pressure": PRESSURE, "torque": TORQUE}
    return kinds.get(field.type)


def _ours(header: str, kind: Kind) -> Header | None:
    whole = _field_name(header, kind)
    for pattern in (_BRACKETED, _TRAILING):
        if match := pattern.match(header.strip()):
            name = _field_name(match[1], kind)
            if name is None or whole not in {None, name}:
                continue
            if _is_unit_of(match[2], kind, name):
                return Header(name, match[2])
            if _is_currency_of(match[2], kind, name):
                return Header(name, match[2].upper())
            if pattern is _BRACKETED:
                return Header(name)
    return None if whole is None else Header(whole)


def _field_name(header: str, kind: Kind) -> str | None:
    word = folded(header)
    own = {folded(field.name): field.name for field in kind.fields}
    if word in own:
        return own[word]
    known = {field.name for field in kind.fields} | ({WHEEL_SIZE} if kind.name == "wheel" else set())
    for synonyms in (_SYNONYMS[kind.name], _ANY):
        for name, words in synonyms.items():
            if name in known and (word in words or word == folded(name)):
                return name
    return None


def _is_currency_of(word: str, kind: Kind, name: str) -> bool:
    return name != WHEEL_SIZE and kind.field(name).type == "money" and word.upper() in CURRENCIES


def _is_unit_of(unit: str, kind: Kind, name: str) -> bool:
    dimension = None if name == WHEEL_SIZE else dimension_of(kind.field(name))
    if dimension is None:
        return False
    return _measures(unit, dimension) or _is_of_the_trade(unit)


def _is_of_the_trade(unit: str) -> bool:
    """Whether a unit of another kind is one all the same (told at the cells) and no symbol such as `D` or `ET`."""
    is_letter = len(unit) == 1 and unit.isalpha()
    return not is_letter and any(_measures(unit, dimension) for dimension in DIMENSIONS.values())


def _measures(unit: str, dimension: Dimension) -> bool:
    try:
        factor(unit, dimension)
    except UnitError:
        return False
    return True

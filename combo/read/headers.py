"""Headers of a supplier's list: the trade's words for each field, and the unit that a header states."""

from __future__ import annotations

import functools
import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from combo.parts import Field, Kind
from combo.units import CURRENCIES, DIMENSIONS, LENGTH, MASS, PRESSURE, TORQUE, Dimension, UnitError, factor

WHEEL_SIZE = "size"
"""A column of two fields: a wheel's `15x8`, rim diameter by rim width, at times with the offset behind it."""
RIM_RANGE = "rim_range"
"""A column of two fields: a tire's approved rims, `6.0-7.5`."""
RATIO_RANGE = "ratio_range"
"""A column of two fields: the ratios of a carrier, `2.73-3.42`."""
_IN_TWO = {"wheel": (WHEEL_SIZE,), "tire": (RIM_RANGE,), "differential": (RATIO_RANGE,)}

# Phrases of the trade by field, a comma between them. Behind a bar stand those that count only where no column has one
# of those before it: what a shop pays goes before what a list asks. Common practice, no source.
_ANY = {
    "sku": "part number, part, pn, item number, item, stock number, code, article, product code, model number, "
    "catalog number | mfg part number, manufacturer part number",
    "price": "your cost, your price, net, net price, net cost, net each "
    "| price, cost, price each, unit price, each, usd, dealer, dealer price, dealer cost, dealer net, jobber, "
    "jobber price, wholesale "
    "| list, list price, list each, msrp, retail, retail price, suggested retail",
    "mass": "weight, weight each, mass, unit weight, net weight | shipping weight, ship weight, gross weight",
    "hub_bore": "bore, center bore, centre bore, cb, hub bore, hub, hub diameter, center hole",
    "bolt_circle": "bolt pattern, bolt circle, pcd, lug pattern, bcd, stud pattern, lugs, lug, bp, pattern, drilling, "
    "bolt pattern 1",
    "labor_hours": "labor, labour, labor h, labour hours, hours, hrs, fitting hours, install",
    "load_rating": "max load, load capacity, load rating, rated load, max load single, load, single load, capacity, "
    "max load capacity, load cap",
    "ring_gear": "ring gear family, axle family, gear family, family, axle, axle type, fits axle, fits",
    "core_charge": "core, core fee, core deposit, core chg",
    "on_truck": "present, fitted, have, on truck",
    "supplier": "vendor, source, from, warehouse",
    "lug_nut": "nut, nut sku, lug nut sku",
    "stock": "stock, in stock, available, quantity available, quantity on hand, on hand, availability, "
    "quantity in stock, stock quantity, inventory",
}
_WORDS: dict[str, dict[str, str]] = {
    "wheel": {
        "rim_diameter": "diameter, rim diameter",
        "rim_width": "width, rim width, j width",
        "backspace": "backspacing, backspace, bs, back space, back spacing, rear spacing",
        "offset": "et, offset, wheel offset",
        "flange": "rim flange, flange thickness, lip",
        "barrel_diameter": "barrel, inside barrel, barrel id, inside diameter, barrel diameter",
        "spoke_clearance": "spoke gap, back of spoke, caliper clearance",
        "pad": "pad thickness, mounting pad, hub thickness",
        "pocket_depth": "pocket, stud pocket, back pocket",
        "pocket_over_studs": "pocket over studs, pockets over studs",
        "seat": "lug seat, nut seat, seat type",
        "style": "design, style, finish style | finish",
        "max_pressure": "max psi, max pressure, max inflation",
        WHEEL_SIZE: "size, rim size, dia x width, dia x w, size dia x width, size dia x w",
    },
    "tire": {
        "designation": "size, designation, dimension | description",
        "rim_diameter": "rim, rim diameter, wheel diameter",
        "section_width": "section, section width, section w, width",
        "measuring_rim": "measuring rim width, measuring rim, meas rim, meas rim width, design rim",
        "overall_diameter": "overall diameter, od, outer diameter, outside diameter, diameter",
        "rim_width_min": "min rim, min rim width, approved rim min, approved rim width min, rim range min",
        "rim_width_max": "max rim, max rim width, approved rim max, approved rim width max, rim range max",
        RIM_RANGE: "approved rims, appr rims, approved rim width, approved rim widths, rim range, rim width range, "
        "approved rim, approved rim range, rim width",
        "load_index": "li, load idx, load index, load index speed, li ss, service description",
        "speed_symbol": "speed rating, speed, ss, speed symbol, speed index",
        "service": "service type, type",
        "construction": "carcass, build, ply type",
        "revs_per_mile": "rev mile, revs mile, revs mi, rpm",
        "static_loaded_radius": "slr, loaded radius, static radius, static loaded radius",
        "tread_width": "tread w, tread width",
        "load_range": "range, load range, lr | ply rating, ply, pr",
        "rated_pressure": "pressure at load, load pressure, psi at max load",
        "max_pressure": "max, max press, max inflation, max pressure, max psi, inflation",
        "line": "tread, tread line, model, product line, pattern",
        "winter": "snow, winter marking",
    },
    "spacer": {
        "thickness": "width, thick, thickness",
        "wheel_bolt_circle": "wheel pattern, wheel side, to bolt, wheel side pattern, wheel bolt pattern, "
        "outer pattern, outer bolt pattern",
        "pilot": "hub centric, hub ring, lip",
        "pad": "pad thickness, flange thickness",
        "stud_thread": "thread, thread size",
        "nut_height": "nut height, inner nut height",
    },
    "ratio": {
        "ratio": "axle ratio, gear ratio, final drive",
        "ring_teeth": "ring, crown teeth, ring teeth",
        "pinion_teeth": "pinion, pinion teeth",
    },
    "differential": {
        "type": "kind, diff type, style",
        "ratio_min": "min ratio, ratio from, carrier break from, low ratio, ratio low",
        "ratio_max": "max ratio, ratio to, carrier break to, high ratio, ratio high",
        RATIO_RANGE: "ratios, ratio range, carrier break, fits ratios, gear range",
        "splines": "spline count, spline, splines, spl",
        "bias_ratio": "bias, tbr, torque bias",
        "preload": "breakaway, preload torque",
    },
    "ballast": {
        "name": "description, what",
        "max_count": "max, max count, most",
    },
    "nut": {
        "seat": "seat type, lug seat, form",
        "thread": "thread size, size, pitch",
        "type": "end, style, open or closed",
        "thread_depth": "depth, thread length",
        "height": "overall height, length",
        "hex": "wrench, hex size, across flats",
        "pack": "pack size, per pack, count in pack, quantity, pieces",
        "left_hand": "left hand, lh, left handed",
    },
}
_LONG = {
    "no": "number",
    "num": "number",
    "nr": "number",
    "#": "number",
    "pn": "part number",
    "dia": "diameter",
    "diam": "diameter",
    "wt": "weight",
    "sec": "section",
    "sect": "section",
    "qty": "quantity",
    "minimum": "min",
    "maximum": "max",
    "rev": "revs",
    "revolutions": "revs",
    "miles": "mile",
    "mi": "mile",
    "prt": "part",
    "tyre": "tire",
    "o/d": "od",
    "qoh": "quantity on hand",
    "avail": "available",
    "press": "pressure",
    "upc": "",
    "mfr": "manufacturer",
    "backspc": "backspace",
    "backsp": "backspace",
    "cost/ea": "cost each",
}
"""What headers write short, in full."""
_FILLERS = {"per", "of", "the", "a", "ea"}
_OWN_NAME = {"wheel": {"wheel", "rim", "wheels"}, "tire": {"tire", "tires"}, "nut": {"lug"}, "spacer": {"spacer"}}
"""Words that add nothing in a list of that kind."""
MOST_HEADER = 120
"""Characters of a header that is looked at: a longer one is a note."""

_BRACKETED = re.compile(r"^([^(\[]*)[(\[]\s*([^()\[\]]+?)\s*[)\]]\s*$")
_TRAILING = re.compile(r"^(.*?)[\s_,]+([A-Za-z\"'#]+\.?)$")


@dataclass(frozen=True)
class Header:
    """What a header means: the field (or a column of two), and the unit or currency of its bare numbers.

    Of two columns of one field the one of the lower `rank` counts.
    """

    name: str
    unit: str | None = None
    rank: int = field(default=0, compare=False, repr=False)


@dataclass(frozen=True)
class Dictionary:
    """Words of a list: those of the trade, and a supplier's own, each for a field that may carry a unit (`mass_lb`);
    and units by column, for bare numbers.
    """

    kind: Kind
    mapped: Mapping[str, str] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)
    _by_fold: tuple[dict[str, str], dict[str, str]] = field(init=False, repr=False, compare=False)
    _known: dict[str, Header | None] = field(default_factory=dict, init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        folds = tuple({folded(word): own for word, own in words.items()} for words in (self.mapped, self.units))
        object.__setattr__(self, "_by_fold", folds)

    def meaning(self, header: str) -> Header | None:
        """What a header means; None where no field claims it.

        Examples
        --------
        >>> from combo.parts import WHEEL
        >>> words = Dictionary(WHEEL)
        >>> words.meaning("Backspace (in)"), words.meaning("offset_mm"), words.meaning("Our color")
        (Header(name='backspace', unit='in'), Header(name='offset', unit='mm'), None)
        """
        if header not in self._known:
            self._known[header] = self._meaning(header)
        return self._known[header]

    def _meaning(self, header: str) -> Header | None:
        if not header.strip() or len(header) > MOST_HEADER:
            return None
        mapped, units = self._by_fold
        word = folded(header)
        found = _ours(mapped[word], self.kind) if word in mapped else _ours(header, self.kind)
        unit = units.get(word)
        return replace(found, unit=unit) if found is not None and unit is not None else found


def folded(header: str) -> str:
    """A header without case, spaces and marks, in whatever alphabet; a header of marks alone stays as it is.

    Examples
    --------
    >>> folded("Part No."), folded("Größe"), folded("#")
    ('partno', 'grösse', '#')
    """
    return "".join(letter for letter in header.casefold() if letter.isalnum()) or header.strip()


def dimension_of(field_: Field) -> Dimension | None:
    """Dimension of a field's numbers; None for text, counts and money."""
    kinds = {"length": LENGTH, "bolt_circle": LENGTH, "mass": MASS, "pressure": PRESSURE, "torque": TORQUE}
    return kinds.get(field_.type)


def is_in_two(name: str) -> bool:
    """Whether a column is one of two fields, and of no field itself."""
    return len(fields_of(name)) > 1


def fields_of(name: str) -> tuple[str, ...]:
    """Fields that a column fills: its own, or those of a column of two."""
    two = {
        WHEEL_SIZE: ("rim_diameter", "rim_width"),
        RIM_RANGE: ("rim_width_min", "rim_width_max"),
        RATIO_RANGE: ("ratio_min", "ratio_max"),
    }
    return two.get(name, (name,))


@functools.lru_cache(maxsize=4096)
def _ours(header: str, kind: Kind) -> Header | None:
    """What a header means by the words of the trade."""
    whole = _field_name(header, kind)
    for pattern in (_BRACKETED, _TRAILING):
        if match := pattern.match(header.strip()):
            name = _field_name(match[1], kind)
            if name is None or (whole is not None and whole[0] != name[0]):
                continue
            if _is_unit_of(match[2], kind, name[0]):
                return Header(name[0], match[2], name[1])
            if _is_currency_of(match[2], kind, name[0]):
                return Header(name[0], match[2].upper(), name[1])
            if pattern is _BRACKETED:
                return Header(name[0], None, name[1])
    return None if whole is None else Header(whole[0], None, whole[1])


def _field_name(header: str, kind: Kind) -> tuple[str, int] | None:
    """The field that a header names, and the rank of its phrase; None where it names none."""
    by_fold, by_words = _phrases(kind)
    word, words = folded(header), by_words.get(_words(header, kind.name))
    if "#" in header and words is not None:  # a stock # is no stock
        return words
    return by_fold.get(word, words) if word else None


@functools.cache
def _phrases(kind: Kind) -> tuple[dict[str, tuple[str, int]], dict[frozenset[str], tuple[str, int]]]:
    """Fields of a kind by phrase, letter by letter and word by word; a field's own name goes before all phrases."""
    known = {own.name for own in kind.fields} | set(_IN_TWO.get(kind.name, ()))
    by_fold = {folded(own.name): (own.name, 0) for own in kind.fields}
    by_words = {_words(own.name, kind.name): (own.name, 0) for own in kind.fields}
    for table in (_WORDS[kind.name], _ANY):
        for name, groups in table.items():
            for rank, group in enumerate(groups.split("|") if name in known else ()):
                for phrase in group.split(","):
                    by_fold.setdefault(folded(phrase), (name, rank))
                    by_words.setdefault(_words(phrase, kind.name), (name, rank))
    by_words.pop(frozenset(), None)
    return by_fold, by_words


def _words(header: str, kind: str) -> frozenset[str]:
    """A header's words in full, without those that add nothing in a list of its kind."""
    letters = re.sub(r"(?<![A-Za-z])([A-Za-z])\.(?=[A-Za-z]\.?)", r"\1", header.casefold())  # o.d. is od
    letters = re.sub(r"(?<=[a-z])['’](?=s\b)", "", letters)
    words = re.findall(r"[^\W_]+|#", re.sub(r"\bo/d\b", "od", letters))
    full = [part for word in words for part in _LONG.get(word, word).split()]
    own = _OWN_NAME.get(kind, set())
    bare = frozenset(word for word in full if word not in _FILLERS | own)
    return bare or frozenset(full)


def _is_currency_of(word: str, kind: Kind, name: str) -> bool:
    return name not in _IN_TWO.get(kind.name, ()) and kind.field(name).type == "money" and word.upper() in CURRENCIES


def _is_unit_of(unit: str, kind: Kind, name: str) -> bool:
    dimension = dimension_of(kind.field(fields_of(name)[0]))
    if dimension is None or name == WHEEL_SIZE:
        return False
    return _measures(unit, dimension) or _is_of_the_trade(unit)


def names_unit(text: str) -> bool:
    """Whether a text is the name of a unit, brackets or not, as a line under a header has it.

    Examples
    --------
    >>> names_unit("(in)"), names_unit("lbs"), names_unit("Size")
    (True, True, False)
    """
    return _is_of_the_trade(text.strip("()[] "))


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


_DECIDING = {
    "wheel": ("bolt_circle", "hub_bore", "backspace", "offset", "load_rating", "seat"),
    "tire": (
        "rim_width_min",
        "rim_width_max",
        "load_index",
        "load_rating",
        "overall_diameter",
        "load_range",
        "max_pressure",
    ),
    "spacer": ("hub_bore", "wheel_bolt_circle", "stud_thread"),
    "ratio": ("ring_gear",),
    "differential": ("ring_gear", "ratio_min", "ratio_max", "splines"),
    "nut": ("seat", "thread"),
}
_TELLING = {
    "bolt_circle": {"bolt", "lug", "lugs", "pcd", "stud", "studs"},
    "hub_bore": {"bore", "hub"},
    "backspace": {"backspace", "backspacing"},
    "offset": {"offset", "et"},
    "load_rating": {"load", "capacity"},
    "seat": {"seat"},
    "rim_width_min": {"rim", "rims"},
    "rim_width_max": {"rim", "rims"},
    "load_index": {"index", "li"},
    "overall_diameter": {"diameter", "od"},
    "load_range": {"ply", "range"},
    "max_pressure": {"psi", "pressure"},
    "wheel_bolt_circle": {"bolt", "lug", "outer"},
    "stud_thread": {"stud", "thread"},
    "ring_gear": {"family", "gear", "ring", "axle", "carrier"},
    "ratio_min": {"ratio", "ratios"},
    "ratio_max": {"ratio", "ratios"},
    "splines": {"spline", "splines"},
    "thread": {"thread", "pitch"},
}
"""Words that make a header look like one of a field that decides something."""


def decides(header: str, kind: Kind, known: set[str]) -> str | None:
    """A field that decides whether a part fits, which a list lacks and an unused column looks like; None where none.

    Examples
    --------
    >>> from combo.parts import TIRE
    >>> decides("Rims OK'd", TIRE, set()), decides("Color", TIRE, set())
    ('rim_width_min', None)
    """
    if len(header) > MOST_HEADER:
        return None
    words = set(re.findall(r"[^\W_]+", header.casefold()))
    return next((name for name in _DECIDING.get(kind.name, ()) if name not in known and words & _TELLING[name]), None)

"""Text of a cell to a value, by the field that its column means, as suppliers write it.

A cell may say more than its field: `17x9 -12` has an offset behind the size. Such a converter gives a tuple, its own
field first; `SPREADS` names the fields of the others, which fill what the list leaves open.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from contextlib import suppress
from fractions import Fraction
from typing import Any

from combo.fasteners import seat, thread
from combo.parts import Field, Kind
from combo.plausible import plausible
from combo.read.dates import MONTHS
from combo.read.designation import parted
from combo.read.grid import DateText
from combo.read.headers import RATIO_RANGE, RIM_RANGE, WHEEL_SIZE, dimension_of, fields_of
from combo.read.ranges import Steps, is_range, is_to_drill, steps_of
from combo.units import (
    BoltCircle,
    Currency,
    UnitError,
    bolt_circle,
    measured,
    money_cents,
    normalized,
    number,
    refuse_long,
    rounded,
)

NAN = float("nan")
ABSENT = {"", "-", "--", "–", "—", "n/a", "na", "n.a.", "?", "tba", "tbd", "none", ".", "#n/a"}
MOST_CELL = 1000
"""Characters of a cell: a longer one is no part's."""
OPEN_CIRCLE = BoltCircle(0, NAN)
"""What a bolt circle to order is until the job is at hand."""
NO_PRICE = {
    "call",
    "call for price",
    "call us",
    "poa",
    "p.o.a.",
    "por",
    "p.o.r.",
    "quote",
    "request",
    "by request",
    "inquire",
    "ask",
}
NOT_SOLD = {
    "disc",
    "disc.",
    "discontinued",
    "discont.",
    "obsolete",
    "obs",
    "obs.",
    "no longer available",
    "nla",
    "n.l.a.",
    "cancelled",
    "canceled",
    "sold out",
}
NOT_SOLD_WORD, NO_PRICE_WORD = "not-sold", "no-price"
SPREADS: dict[tuple[str, str], tuple[str, ...]] = {
    ("wheel", WHEEL_SIZE): ("rim_diameter", "rim_width", "offset"),
    ("wheel", "bolt_circle"): ("bolt_circle", "bolt_circle_2"),
    ("wheel", "load_rating"): ("load_rating",),
    ("tire", "designation"): ("designation", "load_range"),
    ("tire", RIM_RANGE): fields_of(RIM_RANGE),
    ("tire", "load_index"): ("load_index", "speed_symbol"),
    ("tire", "load_rating"): ("load_rating", "rated_pressure"),
    ("ratio", "ratio"): ("ratio", "ring_teeth", "pinion_teeth"),
    ("differential", RATIO_RANGE): fields_of(RATIO_RANGE),
}
"""Fields that the cells of a column may fill, by kind and by what its header means."""

_YES, _NO = {"yes", "y", "true", "1", "x"}, {"no", "n", "false", "0", ""}
_WORDS = {
    "p": "passenger",
    "car": "passenger",
    "lt": "light_truck",
    "light truck": "light_truck",
    "r": "radial",
    "d": "bias",
    "b": "bias",
    "diagonal": "bias",
    "bias ply": "bias",
    "bias-ply": "bias",
    "lsd": "limited_slip",
    "limited slip": "limited_slip",
    "limited-slip": "limited_slip",
    "locker": "locked",
    "spool": "locked",
    "locking": "locked",
    "full locker": "locked",
}
_DIFFERENTIALS = {
    "open": "open",
    "limited[ -]slip": "limited_slip",
    "lsd": "limited_slip",
    "ls": "limited_slip",
    "worm[ -]gear": "limited_slip",
    "locker": "locked",
    "locking": "locked",
    "locked": "locked",
    "spool": "locked",
}
"""Words of the trade within a description of a differential."""
_ANY_RATIO = {"all", "any", "all ratios", "any ratio"}
_RANGE_OF_PLIES = {"4": "B", "6": "C", "8": "D", "10": "E", "12": "F", "14": "G"}  # trade practice, from memory
_RIM_SIZE = r"\d[\d.,]*(?:(?:\s*-\s*|\s+)\d+\s*/\s*\d+)?|\d+\s*/\s*\d+"
_IN = r"\s*(?:[jJ]{1,2}|in\.?|\")?\s*"
_WHEEL_SIZE = re.compile(rf"({_RIM_SIZE}){_IN}(?:[xX×*]|/(?=\s*[\d.]+\s*$))\s*({_RIM_SIZE}){_IN}(.*)")
_BEHIND_SIZE = re.compile(
    r"(?:ET\s*[:=]?\s*)?([+-]\s*\d+(?:\.\d+)?)\s*(?:mm|p)?|ET\s*[:=]?\s*(\d+(?:\.\d+)?)\s*(?:mm)?", re.IGNORECASE
)
_TWO = re.compile(r"\s+(?:to|thru)\s+|\s*(?:…|\.\.\.?)\s*|\s*-\s*|\s*/\s*", re.IGNORECASE)
_AND_UP = re.compile(r"(.+?)\s*(?:&|and|or|\+)?\s*(?:up|over|higher|\+)\.?", re.IGNORECASE)
_AND_DOWN = re.compile(r"(.+?)\s*(?:&|and|or)?\s*(?:down|under|lower)\.?", re.IGNORECASE)
_LOAD_INDEX = re.compile(r"(\d{1,3})\s*(?:/\s*\d{1,3})?\s*([A-Z]?\d?)", re.IGNORECASE)
_AT_PRESSURE = re.compile(r"\s*(?:@|\bat\b)\s*", re.IGNORECASE)
_TEETH = re.compile(r"(\d{1,2})\s*([-/:])\s*(\d{1,2})")
_TO_ONE = re.compile(r"\s*(?::|to)\s*1(?:\.0+)?$", re.IGNORECASE)
_EACH = re.compile(r"\s*(?:/|\bper\b)?\s*(?:\bea\.?|\beach|\bper (?:wheel|tire)|\bpc\.?|\bunit)$", re.IGNORECASE)
_PLAIN_PRICE = re.compile(r"(\$?)(\d{1,7})(?:\.(\d\d))?(?: ?ea)?")
_CENTS_BEHIND_COMMA = re.compile(r"([^\d,.]*\d{1,6}),(\d\d)(?!\d)([^\d,.]*)")
_STOCK = re.compile(r"[<>~]?\s*(\d{1,3}(?:,\d{3})+|\d{1,9})(?:\.0+)?\s*(?:\+|pcs?\.?|ea\.?)?", re.IGNORECASE)
_STOCK_WORDS = dict.fromkeys(
    ("out", "out of stock", "sold out", "no", "none", "backorder", "backordered", "b/o"), 0.0
) | dict.fromkeys(("yes", "y", "in", "in stock", "available", "low", "limited", "ok"), NAN)
_MONTH = "|".join(MONTHS)
_DATE = re.compile(
    rf"\d{{1,2}}-(?:{_MONTH})[a-z]*(?:-\d{{2,4}})?|(?:{_MONTH})[a-z]*-\d{{1,4}}"
    r"|\d{1,2}/\d{1,2}/\d{4}|\d{4}-\d\d-\d\d(?:[ T]00:00:00)?",
    re.IGNORECASE,
)


class Size(float):
    """A size of a cell, and the plus-or-minus that the cell states for it; NaN where it states none.

    One that is made to order is NaN itself, and has its steps.
    """

    off: float
    steps: Steps | None

    def __new__(cls, size: float, off: float | None, steps: Steps | None = None) -> Size:
        """The size as a number, with its plus-or-minus or its steps beside it."""
        whole = super().__new__(cls, size)
        whole.off = NAN if off is None else off
        whole.steps = steps
        return whole


class Reader:
    """Reads the cells of one list: its decimal sign, the job's currency, and what its prices are multiplied by."""

    def __init__(
        self, kind: Kind, *, decimal_comma: bool = False, currency: Currency, price_factor: Fraction = Fraction(1)
    ) -> None:
        self._kind, self._comma, self._currency, self._price_factor = kind, decimal_comma, currency, price_factor
        self._fields: dict[str, list[tuple[Field, tuple[float, float] | None]]] = {}

    def values(self, name: str, text: str, unit: str | None) -> tuple[Any, ...]:
        """Values of the fields that a column fills, `blank` where the cell leaves one open.

        Raises
        ------
        UnitError
            Where the text does not read, or is beyond what is plausible on a truck.
        """
        known = self._fields.get(name) or self._known(name)
        fields = [own for own, _ in known]
        if text.casefold() in ABSENT and fields[0].type not in {"flag", "stock"}:
            return tuple(blank(own) for own in fields)
        refuse_unreadable(text)
        several = _SEVERAL.get((self._kind.name, name))
        if several is None:
            return (_plausible(*known[0], self._value(fields[0], text, unit), text),)
        read = several(self, fields, text, unit)
        return tuple(
            [
                value if ends is None else _plausible(own, ends, value, text)
                for (own, ends), value in zip(known, read, strict=True)
            ]
        )

    def _known(self, name: str) -> list[tuple[Field, tuple[float, float] | None]]:
        """The fields that a column fills, each with what is plausible in it."""
        fields = [self._kind.field(own) for own in SPREADS.get((self._kind.name, name), (name,))]
        self._fields[name] = [(own, plausible(f"{self._kind.name}.{own.columns[-1]}")) for own in fields]
        return self._fields[name]

    def text(self, text: str) -> str:
        """A cell of a field that holds any text.

        Raises
        ------
        UnitError
            Where the text is a date, a formula without a value, or longer than any part's.
        """
        if text.casefold() in ABSENT:
            return ""
        if len(text) > MOST_CELL:
            raise UnitError("too-long", f"found {len(text):,} characters", f"at most {MOST_CELL:,} are read in a cell")
        if isinstance(text, DateText) or text.startswith("="):
            refuse_unreadable(text)
        return str(text)

    def texts(self, texts: list[str]) -> list[str] | None:
        """Cells of a field that holds any text, all at once; None where one of them must be refused."""
        if max(map(len, texts), default=0) > MOST_CELL or set(map(type, texts)) - {str}:
            return None
        if "\n=" in "\n" + "\n".join(texts):
            return None
        folded = list(map(str.casefold, texts))
        if ABSENT.isdisjoint(folded):
            return texts
        return ["" if short in ABSENT else text for short, text in zip(folded, texts, strict=True)]

    def _value(self, field: Field, text: str, unit: str | None) -> Any:
        if field.type == "money":
            return self._money(field, text, unit)
        return _CONVERTERS[field.type](self, field, text, unit)

    def _money(self, field: Field, text: str, unit: str | None) -> float:
        folded = text.casefold()
        if folded in NO_PRICE:
            raise UnitError(NO_PRICE_WORD, f'found "{text}"', "a price is needed", "Ask the supplier")
        if folded in NOT_SOLD:
            raise UnitError(NOT_SOLD_WORD, f'found "{text}"', "a part that is still sold is accepted")
        if not unit and (match := _PLAIN_PRICE.fullmatch(text)) and (not match[1] or self._currency.code == "USD"):
            cents = 100 * int(match[2]) + int(match[3] or 0)  # as money_cents has it; most prices of most lists
        else:
            cents = self._cents(text, unit)
        factor = self._price_factor if field.name == "price" else Fraction(1)
        return _possible(field, float(cents if factor == 1 else rounded(cents * factor)), text)

    def _cents(self, text: str, unit: str | None) -> int:
        """An amount as suppliers write it: `$179.00 ea`, `179,00`, `USD 179`."""
        plain = _EACH.sub("", normalized(text))
        if not self._comma:
            plain = _CENTS_BEHIND_COMMA.sub(r"\1.\2\3", plain) if _CENTS_BEHIND_COMMA.fullmatch(plain) else plain
        try:
            return money_cents(plain, decimal_comma=self._comma, currency=self._currency, bare=unit or "")
        except UnitError as error:
            raise UnitError(error.word, f'found "{text}"', error.accepted, error.hint) from error

    def _size(self, field: Field, text: str, unit: str | None) -> float:
        dimension = dimension_of(field)
        if dimension is None:
            raise AssertionError(f"{field.name} is converted as a size but has no dimension")
        bare = unit or field.bare_unit
        if field.to_order and is_range(text):
            refuse_long(text)
            return Size(NAN, None, steps_of(text, bare_unit=bare, decimal_comma=self._comma))
        size, off = measured(text, dimension, bare_unit=bare, decimal_comma=self._comma)
        return Size(_possible(field, size, text), off)

    def _plain(self, field: Field, text: str, unit: str | None) -> float:
        plain = _TO_ONE.sub("", normalized(text)) if "ratio" in field.name else text
        return _possible(field, float(number(plain, decimal_comma=self._comma)), text)

    def _count(self, field: Field, text: str, unit: str | None) -> float:
        plain = number(text, decimal_comma=self._comma)
        if plain.denominator != 1:
            raise UnitError("not-whole", f'found "{text}"', "a whole number is accepted")
        return _possible(field, float(plain), text)

    def _stock(self, field: Field, text: str, unit: str | None) -> float:
        folded = text.casefold()
        if folded in NOT_SOLD - _STOCK_WORDS.keys():
            raise UnitError(NOT_SOLD_WORD, f'found "{text}"', "a part that is still sold is accepted")
        if not folded or folded in _STOCK_WORDS:
            return _STOCK_WORDS.get(folded, NAN)
        match = _STOCK.fullmatch(text)
        if match is None and folded in ABSENT:
            return 0.0 if folded == "-" else NAN
        if match is None:
            raise UnitError("not-a-count", f'found "{text}"', "a count is accepted, such as 8 or 12+")
        return float(match[1].replace(",", ""))

    def _circle(self, field: Field, text: str, unit: str | None) -> Any:
        return bolt_circle(text, bare_unit=unit, decimal_comma=self._comma)

    def _word(self, field: Field, text: str, unit: str | None) -> str:
        folded = text.casefold()
        word = _WORDS.get(folded, folded.replace(" ", "_"))
        if field.name == "type" and self._kind.name == "differential" and word not in field.words:
            found = {own for part, own in _DIFFERENTIALS.items() if re.search(rf"\b{part}\b", folded[:200])}
            word = found.pop() if len(found) == 1 else word
        if word not in field.words:
            raise UnitError("unknown-word", f'found "{text[:80]}"', f"accepted are: {', '.join(field.words)}")
        return word

    def _seat(self, field: Field, text: str, unit: str | None) -> str:
        refuse_long(text)
        return seat(text, decimal_comma=self._comma)

    def _thread(self, field: Field, text: str, unit: str | None) -> str:
        refuse_long(text)
        return thread(text)

    def _flag(self, field: Field, text: str, unit: str | None) -> float:
        if text.casefold() in _YES | _NO:
            return float(text.casefold() in _YES)
        raise UnitError("unknown-word", f'found "{text[:80]}"', "yes or no is accepted")

    # Cells of several fields

    def _wheel_size(self, fields: list[Field], text: str, unit: str | None) -> tuple[Any, ...]:
        """Rim diameter, rim width and offset [mm] of `15x8`, `17" x 9"`, `17x9 -12`, `17X9 ET-12`."""
        accepted = "rim diameter by rim width is accepted, such as 15x8, 16 x 7 1/2 or 17x9 ET-12"
        refuse_long(text)
        match = _WHEEL_SIZE.fullmatch(normalized(text))
        behind = _BEHIND_SIZE.fullmatch(match[3].strip(" ,/")) if match and match[3].strip() else None
        if not match or (match[3].strip() and not behind):
            raise UnitError("not-a-wheel-size", f'found "{text}"', accepted)
        try:
            sizes = [self._size(field, match[at], "in") for at, field in ((1, fields[0]), (2, fields[1]))]
        except UnitError as error:
            raise UnitError(error.word, f'found "{text}"', accepted, error.hint) from error
        offset = NAN if not behind else float((behind[1] or behind[2]).replace(" ", ""))
        return (*sizes, Size(offset, None))

    def _circles(self, fields: list[Field], text: str, unit: str | None) -> tuple[Any, ...]:
        """The bolt circle, and the second one of a wheel drilled for two: `5x4.5/5x120`."""
        if is_to_drill(text):
            return OPEN_CIRCLE, None
        refuse_long(text)
        first, found, second = normalized(text).partition("/")
        if found and re.match(r"\s*\d{1,2}\s*(?:[xX×*-]|on|lug)", second):
            circles = [self._circle(field, one, unit) for field, one in zip(fields, (first, second), strict=True)]
            return circles[0], circles[1]
        return self._circle(fields[0], text, unit), None

    def _two(self, fields: list[Field], text: str, unit: str | None) -> tuple[Any, ...]:
        """Both ends of a range: `6.0-7.5`, `7.5"-9"`, `5 1/2 to 7`, `3.55 & up`; one alone is both."""
        refuse_long(text)
        plain = normalized(text)
        lowest, highest = (self._open_end(field, at) for at, field in enumerate(fields))
        if plain.casefold() in _ANY_RATIO and not math.isnan(lowest):
            return lowest, highest
        if up := _AND_UP.fullmatch(plain):
            return self._end(fields[0], up[1], unit, text), highest
        if down := _AND_DOWN.fullmatch(plain):
            return lowest, self._end(fields[1], down[1], unit, text)
        for cut in _TWO.finditer(plain):
            try:
                ends = [
                    self._end(field, part, unit, text)
                    for field, part in zip(fields, (plain[: cut.start()], plain[cut.end() :]), strict=True)
                ]
            except UnitError:
                continue
            if ends[0] <= ends[1]:  # 5 1/2 is no range of 5 to 1/2
                return ends[0], ends[1]
        return self._end(fields[0], plain, unit, text), self._end(fields[1], plain, unit, text)

    def _open_end(self, field: Field, at: int) -> float:
        """Where a range without an end ends: a carrier's at what any axle has, a tire's rims stay open."""
        range_ = plausible(f"{self._kind.name}.{field.columns[-1]}") if self._kind.name == "differential" else None
        return NAN if range_ is None else range_[at]

    def _end(self, field: Field, part: str, unit: str | None, text: str) -> float:
        try:
            return float(self._value(field, part.strip(), unit))
        except UnitError as error:
            accepted = "a range is accepted, such as 6.0-7.5"
            raise UnitError(error.word, f'found "{text}"', accepted, error.hint) from error

    def _designation(self, fields: list[Field], text: str, unit: str | None) -> tuple[Any, ...]:
        """Size, and the load range or ply rating behind it: `LT265/70R17/10`."""
        refuse_long(text)
        designation, behind = parted(text)
        return designation, load_range(behind)

    def _index(self, fields: list[Field], text: str, unit: str | None) -> tuple[Any, ...]:
        """Load index and speed symbol: `121`, `121/118`, `121/118S`."""
        match = _LOAD_INDEX.fullmatch(normalized(text))
        if match is None:
            raise UnitError("not-a-number", f'found "{text[:80]}"', "a load index is accepted, such as 121 or 121/118S")
        return float(match[1]), match[2].upper()

    def _load(self, fields: list[Field], text: str, unit: str | None) -> tuple[Any, ...]:
        """Load, and the pressure that a tire's is rated at: `3195 lbs @ 80 psi`; one without a unit is left open."""
        refuse_long(text)
        load, *at = _AT_PRESSURE.split(normalized(text), maxsplit=1)
        try:
            size = self._size(fields[0], load, unit)
        except UnitError as error:
            raise UnitError(error.word, f'found "{text}"', error.accepted, error.hint) from error
        pressure = NAN
        with suppress(UnitError):
            pressure = self._size(fields[1], at[0], None) if at and len(fields) > 1 else NAN
        return (size, pressure)[: len(fields)]

    def _ratio(self, fields: list[Field], text: str, unit: str | None) -> tuple[Any, ...]:
        """Ratio, and teeth of ring and pinion: `4.10`, `4.10:1`, `41/10`, and `11-41`, pinion first."""
        refuse_long(text)
        plain = _TO_ONE.sub("", normalized(text))
        teeth = _TEETH.fullmatch(plain)
        if teeth is None:
            try:
                return self._plain(fields[0], plain, unit), NAN, NAN
            except UnitError as error:
                raise UnitError(
                    error.word, f'found "{text}"', "a ratio is accepted, such as 4.10, 4.10:1 or 41/11", error.hint
                ) from error
        fewer, more = sorted((int(teeth[1]), int(teeth[3])))
        if not fewer:
            raise UnitError("not-a-number", f'found "{text}"', "a ratio is accepted, such as 4.10 or 41/11")
        return more / fewer, float(more), float(fewer)


_CONVERTERS: dict[str, Callable[[Reader, Field, str, str | None], Any]] = {
    "length": Reader._size,
    "mass": Reader._size,
    "pressure": Reader._size,
    "torque": Reader._size,
    "number": Reader._plain,
    "count": Reader._count,
    "stock": Reader._stock,
    "bolt_circle": Reader._circle,
    "word": Reader._word,
    "flag": Reader._flag,
    "seat": Reader._seat,
    "thread": Reader._thread,
}
_SEVERAL: dict[tuple[str, str], Callable[[Reader, list[Field], str, str | None], tuple[Any, ...]]] = {
    ("wheel", WHEEL_SIZE): Reader._wheel_size,
    ("wheel", "bolt_circle"): Reader._circles,
    ("wheel", "load_rating"): Reader._load,
    ("tire", "designation"): Reader._designation,
    ("tire", RIM_RANGE): Reader._two,
    ("tire", "load_index"): Reader._index,
    ("tire", "load_rating"): Reader._load,
    ("ratio", "ratio"): Reader._ratio,
    ("differential", RATIO_RANGE): Reader._two,
}


def blank(field: Field) -> Any:
    """What stands where a list says nothing."""
    if field.type == "bolt_circle":
        return None
    return "" if field.is_text else NAN


def load_range(text: str) -> str:
    """A load range by its letter, where a list has the ply rating: 10 is E.

    Examples
    --------
    >>> load_range("10"), load_range("10 PR"), load_range("E")
    ('E', 'E', 'E')
    """
    plies = re.fullmatch(r"(\d{1,2})(?:\.0)?\s*-?\s*(?:PR|PLY|P\.R\.)?", text.strip(), re.IGNORECASE)
    return _RANGE_OF_PLIES.get(plies[1], text) if plies else text


def is_date(text: str) -> bool:
    """Whether a text is what a spreadsheet makes of a size such as 15/8."""
    if isinstance(text, DateText):
        return True
    return len(text) < 30 and ("-" in text or "/" in text) and _DATE.fullmatch(text.strip()) is not None


def refuse_unreadable(text: str) -> None:
    """Refuse a date where a size belongs, and a formula whose value nobody has saved.

    Raises
    ------
    UnitError
        `a-date` or `open-formula`.
    """
    if is_date(text):
        hint = "The spreadsheet turned it into a date: format the cells as text and type it again"
        raise UnitError("a-date", f"found the date {text}", "a size is accepted", hint)
    if text.startswith("="):
        raise UnitError(
            "open-formula",
            f'found the formula "{text[:40]}" without its value',
            "a value is accepted",
            "Open the workbook in a spreadsheet and save it",
        )


def _possible(field: Field, size: float, text: str) -> float:
    if not math.isfinite(size) or (field.least == "positive" and size <= 0) or (field.least == "zero" and size < 0):
        accepted = "a size above zero is accepted" if field.least == "positive" else "zero or more is accepted"
        raise UnitError("not-positive", f'found "{text}"', accepted)
    return size


def _plausible(field: Field, ends: tuple[float, float] | None, value: Any, text: str) -> Any:
    """The value, where a truck may have it."""
    size = value.diameter_mm if isinstance(value, BoltCircle) else value
    if ends is not None and isinstance(size, float) and math.isfinite(size) and not ends[0] <= size <= ends[1]:
        raise UnitError(
            "not-on-a-truck",
            f'found "{text[:80]}"',
            f"{_range_text(field, ends)} is plausible",
            "Is a digit or a unit amiss?",
        )
    return value


def _range_text(field: Field, ends: tuple[float, float]) -> str:
    """A range in the unit of the field's column."""
    dimension = dimension_of(field)
    unit = "" if dimension is None else f" {dimension.pint_unit}"
    scale = 100.0 if field.type == "money" else 1.0
    return f"{ends[0] / scale:,.10g} to {ends[1] / scale:,.10g}{unit}"


def default_of(reader: Reader, field: Field, text: str) -> Any:
    """A rule's default for a field; lengths and masses have their units with them."""
    return reader.text(text) if field.type == "text" else reader.values(field.name, text, None)[0]

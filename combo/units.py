"""What builders type, to numbers in one unit a dimension, and back. The only importer of pint."""

from __future__ import annotations

import functools
import math
import re
import unicodedata
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

INCH_MM = 25.4  # exact by definition
POUND_KG = 0.45359237  # exact by definition
MILE_KM = 1.609344  # exact by definition
STANDARD_GRAVITY_M_S2 = 9.80665  # exact by definition
POUND_FOOT_N_M = POUND_KG * STANDARD_GRAVITY_M_S2 * 12.0 * INCH_MM / 1000.0
PSI_KPA = POUND_KG * STANDARD_GRAVITY_M_S2 / (INCH_MM / 1000.0) ** 2 / 1000.0
_DUST_DIGITS = 9  # 2 ft 3 1/2 in is 698.5 mm, not 698.4999999999999
_MOST_CHARACTERS = 40  # of one number: nobody types more, and a longer one may be beyond what a float holds
MOST_TYPED = 200
"""Characters of a text that is read as a size, a circle, a price ...: nobody types more, and reading stays quick."""


@dataclass(frozen=True)
class Dimension:
    """A kind of size: its name in the shop's words, the unit it has inside, and what may be typed for it."""

    name: str
    suffix: str
    pint_unit: str
    example: str

    def accepted(self) -> str:
        """What a problem says is accepted."""
        article = "an" if self.name[0] in "aeiou" else "a"
        return f"{article} {self.name} is accepted, such as {self.example}"


LENGTH = Dimension("length", "mm", "mm", '5 1/4 in, 5.25" or 133 mm')
MASS = Dimension("mass", "kg", "kg", "350 lb or 159 kg")
SPEED = Dimension("speed", "km_h", "km/h", "65 mph or 105 km/h")
TORQUE = Dimension("torque", "n_m", "N*m", "380 lb-ft or 515 N m")
ENGINE_SPEED = Dimension("engine speed", "rpm", "rpm", "2100 rpm")
PRESSURE = Dimension("pressure", "kpa", "kPa", "35 psi or 240 kPa")
ANGLE = Dimension("angle", "deg", "degree", "32 deg")
AREA = Dimension("area", "m2", "m^2", "32 ft^2 or 3.0 m^2")
TIME = Dimension("time", "s", "s", "0.6 s")
SPRING_RATE = Dimension("spring rate", "n_per_m", "N/m", "400 lb/in or 70 N/mm")
DIMENSIONS = {
    dimension.suffix: dimension
    for dimension in (LENGTH, MASS, SPEED, TORQUE, ENGINE_SPEED, PRESSURE, ANGLE, AREA, TIME, SPRING_RATE)
}


class UnitError(ValueError):
    """A text that does not read as what was wanted; `word` is the stable word of the problem that it becomes."""

    def __init__(self, word: str, found: str, accepted: str, hint: str = "") -> None:
        super().__init__(f"{found}; {accepted}")
        self.word, self.found, self.accepted, self.hint = word, found, accepted, hint


# What the trade types that pint does not know, or knows as something else. Keys are folded to lower case.
_TRADE_UNITS = {
    '"': "inch",
    "''": "inch",
    "in.": "inch",
    "ins": "inch",
    "'": "foot",
    "ft.": "foot",
    "#": "pound",
    "lb.": "pound",
    "lbs.": "pound",
    "kgs": "kilogram",
    "kg.": "kilogram",
    "lb-ft": "foot * force_pound",
    "lb ft": "foot * force_pound",
    "lbf-ft": "foot * force_pound",
    "ft-lb": "foot * force_pound",
    "ft lb": "foot * force_pound",
    "ft-lbs": "foot * force_pound",
    "lb·ft": "foot * force_pound",
    "lbf·ft": "foot * force_pound",
    "ftlb": "foot * force_pound",
    "in-lb": "inch * force_pound",
    "in-lbs": "inch * force_pound",
    "lb-in": "inch * force_pound",
    "lb/in": "force_pound / inch",
    "lbs/in": "force_pound / inch",
    "lbf/in": "force_pound / inch",
    "#/in": "force_pound / inch",
    "n/mm": "newton / millimeter",
    "n/m": "newton / meter",
    "kg/mm": "force_kilogram / millimeter",
    "kg/cm": "force_kilogram / centimeter",
    "nm": "newton * meter",
    "n m": "newton * meter",
    "n·m": "newton * meter",
    "n-m": "newton * meter",
    "r/min": "rpm",
    "rev/min": "rpm",
    "kmh": "km/h",
    "mi/h": "mph",
    "sq ft": "foot ** 2",
    "sq m": "meter ** 2",
    "°": "degree",
    "degrees": "degree",
}
_EVERYDAY = {
    "mm": {
        "mm": 1.0,
        "cm": 10.0,
        "m": 1000.0,
        "in": INCH_MM,
        "inch": INCH_MM,
        "ft": 12.0 * INCH_MM,
        "foot": 12.0 * INCH_MM,
    },
    "kg": {
        "kg": 1.0,
        "g": 0.001,
        "kilogram": 1.0,
        "lb": POUND_KG,
        "pound": POUND_KG,
        "oz": POUND_KG / 16.0,
        "ounce": POUND_KG / 16.0,
    },
    "km_h": {"km/h": 1.0, "mph": MILE_KM},
    "n_m": {"newton * meter": 1.0, "foot * force_pound": POUND_FOOT_N_M},
    "rpm": {"rpm": 1.0},
    "kpa": {"kpa": 1.0, "psi": PSI_KPA, "bar": 100.0},
    "deg": {"deg": 1.0, "degree": 1.0},
    "m2": {"meter ** 2": 1.0, "foot ** 2": (12.0 * INCH_MM / 1000.0) ** 2},
    "s": {"s": 1.0},
    "n_per_m": {
        "force_pound / inch": POUND_FOOT_N_M / 12.0 / (INCH_MM / 1000.0) ** 2,
        "newton / millimeter": 1000.0,
        "newton / meter": 1.0,
    },
}
"""What nearly every list and job is written in, exact by definition, so that pint need not be loaded for it: that takes
half a second. All else is pint's, and a test compares these with it."""
_QUOTES = str.maketrans(
    {
        "”": '"',
        "“": '"',
        "„": '"',
        "″": '"',
        "‟": '"',
        "’": "'",
        "‘": "'",
        "′": "'",
        "´": "'",
        "`": "'",
        "−": "-",
        "–": "-",
        "—": "-",
        "‐": "-",
        "‑": "-",
        "⁄": "/",
        "∕": "/",
        "\u200b": "",
        "\ufeff": "",
    }
)
_UNIT_FORM = re.compile(r"(?:[^\W\d_]|[°\"'#·])+\.?(?:\s?[-·*/ ]\s?[^\W\d_]+\.?){0,3}\s?(?:(?:\^|\*\*)\s?[23]|²)?")
"""Form of a unit: words joined by a dash, a dot, a star, a slash or a blank, and at most one power.

Nothing else goes to pint, which computes formulas."""
_MOST_UNIT = 24  # characters: the longest name in use, "kilogram-force/millimeter", is written short by everybody
_ONE_SYSTEM = {
    "mm": ((12.0 * INCH_MM, INCH_MM), (1000.0, 10.0, 1.0)),
    "kg": ((POUND_KG, POUND_KG / 16.0), (1.0, 0.001)),
}
"""Units that one size may be told in, the larger before the smaller: feet then inches, pounds then ounces."""
_ROUNDED_APART = 0.01  # what both units of one size may differ by, beyond half of the last place of either
_SQUARED = re.compile(r"\b(ft|m)(?:\^2|²)")
_CURRENCY_SIGNS = {"$": "USD", "€": "EUR", "£": "GBP", "¥": "JPY"}
_DOLLARS = frozenset({"USD", "CAD", "AUD"})
CURRENCIES = ("USD", "EUR", "GBP", "CAD", "AUD", "JPY", "MXN", "CHF")
_CURRENCY = re.compile(rf"^([$€£¥]|{'|'.join(CURRENCIES)})\s*|\s*([$€£¥]|{'|'.join(CURRENCIES)})$", re.IGNORECASE)

_THOUSANDS = r"\d{1,3}(?:[,' ]\d{3})+(?:\.\d+)?"
_MIXED = r"\d+(?:\s*-\s*|\s+)\d+\s*/\s*\d+"
_EXPONENT = r"(?:[eE][+-]?\d{1,2}(?!\d))?"
_PLAIN = rf"\d+\s*/\s*\d+|\d+\.\d*{_EXPONENT}|\.\d+{_EXPONENT}|\d+{_EXPONENT}"
_NUMBER = re.compile(rf"(?:{_MIXED}|(?<!\d){_THOUSANDS}(?!\d)|{_PLAIN})(?![eE][+-]?\d)")
_DECIMAL_COMMA = re.compile(r"(?<![\d,.])\d+,\d+(?![\d,.])")
_POINTS_THEN_COMMA = re.compile(r"(?<![\d,.])\d{1,3}(?:\.\d{3})+,\d+(?![\d,.])")


def normalized(text: str) -> str:
    """Typographic quotes, dashes, digits and fractions as plain characters; `ft^2` as `sq ft`; spaces folded.

    Examples
    --------
    >>> normalized("5½″"), normalized("３⁄８ in"), normalized("32 ft²")
    ('5 1/2"', '3/8 in', '32 sq ft')
    """
    if not text.isascii():
        text = "".join(map(_plain_letter, text.translate(_QUOTES)))
    return " ".join(_SQUARED.sub(r"sq \1", text).split())


@functools.cache
def _plain_letter(letter: str) -> str:
    """A letter as a keyboard has it: full-width digits, odd blanks, and fractions, which are set off from a number."""
    if unicodedata.decomposition(letter).startswith("<fraction>"):
        return " " + unicodedata.normalize("NFKC", letter).replace("⁄", "/")
    is_square = letter in "²³"  # a power, no digit
    return letter if is_square else unicodedata.normalize("NFKC", letter)


def number(text: str, *, decimal_comma: bool = False) -> Fraction:
    """One number: `5 1/4`, `5-1/4`, `5.25`, `1,250`, `-12`; exact.

    With `decimal_comma` (lists separated by semicolons) `133,35` is read as 133.35, and `1,250`, which could be
    either, is refused.

    Raises
    ------
    UnitError
        `not-a-number` or `ambiguous-number`.

    Examples
    --------
    >>> number("5-1/4"), number("1,250"), number("133,35", decimal_comma=True)
    (Fraction(21, 4), Fraction(1250, 1), Fraction(2667, 20))
    """
    return _number(text, text, decimal_comma)


def quantity(text: str, dimension: Dimension, *, bare_unit: str | None = None, decimal_comma: bool = False) -> float:
    """A size with its unit, in the dimension's own unit (`dimension.suffix`).

    Parameters
    ----------
    text : str
        As typed: `5 1/4 in`, `5-1/4"`, `2 ft 3 in`, `133 mm`, `350 lb`. Falling units of one system make one size;
        of a size in both systems, `4 1/4 in (108 mm)`, the first is read where they agree but for rounding.
    dimension : Dimension
        What is wanted.
    bare_unit : str, optional
        Unit of a number that has none (from a list's header). Without it a bare number is refused.
    decimal_comma : bool
        Whether a comma may be the decimal sign; see `number`.

    Raises
    ------
    UnitError
        `no-unit`, `wrong-dimension`, `unknown-unit`, `not-a-number`, `ambiguous-number`, `two-sizes` or `too-long`.

    Examples
    --------
    >>> [round(quantity(text, LENGTH), 2) for text in ('5-1/4"', "2 ft 3 in", "4.25 in (108 mm)")]
    [133.35, 685.8, 107.95]
    """
    return _quantity(text, text, dimension, bare_unit, decimal_comma)


def exact_mm(text: str, typed: str, *, bare_unit: str | None = None, decimal_comma: bool = False) -> Fraction:
    """A length as `quantity` reads it, with no rounding [mm]; problems quote `typed`, of which it may be a part.

    Raises
    ------
    UnitError
        As `quantity`.

    Examples
    --------
    >>> exact_mm("4 1/8", "4 1/8 to 5 in by 1/8", bare_unit="in")
    Fraction(4191, 40)
    """
    sign, sizes = _sizes(text, typed, LENGTH, bare_unit, decimal_comma)
    return sign * sum((size * Fraction(str(round(unit, _DUST_DIGITS))) for size, unit in sizes), Fraction(0))


def settled_mm(length_mm: Fraction) -> float:
    """An exact length as `quantity` gives it [mm]."""
    return round(float(length_mm), _DUST_DIGITS)


PLUS_OR_MINUS = re.compile(r"\s*(?:\+\s*/?\s*-|±)\s*")


def measured(
    text: str, dimension: Dimension, *, bare_unit: str | None = None, decimal_comma: bool = False
) -> tuple[float, float | None]:
    """A measurement and its plus-or-minus, None where none is stated: `13 in +- 1/16 in`, `130 mm ± 1 mm`.

    `bare_unit` and `decimal_comma` as for `quantity`.

    Raises
    ------
    UnitError
        As `quantity`; `not-positive` for a plus-or-minus below zero.

    Examples
    --------
    >>> measured("13 in +- 1/16 in", LENGTH), measured("350 lb", MASS)[1]
    ((330.2, 1.5875), None)
    """
    parts = PLUS_OR_MINUS.split(normalized(text))
    if len(parts) > 2:
        raise UnitError("not-a-number", f'found "{text}"', "one plus-or-minus is accepted, such as 13 in +- 1/16 in")
    size, *offs = (quantity(part, dimension, bare_unit=bare_unit, decimal_comma=decimal_comma) for part in parts)
    if not offs:
        return size, None
    plus_or_minus = offs[0]
    if plus_or_minus < 0:
        raise UnitError("not-positive", f'found "{text}"', "a plus-or-minus of zero or more is accepted")
    return size, plus_or_minus


def reading_share(text: str) -> Fraction:
    """What a speedometer reads over what is true, of a text such as `57 mph at 60`.

    Raises
    ------
    UnitError
        `not-a-reading`.

    Examples
    --------
    >>> reading_share("57 mph at 60"), reading_share("95 km/h at 100 km/h")
    (Fraction(19, 20), Fraction(19, 20))
    """
    accepted = "what it reads at a true speed is accepted, such as 57 mph at 60"
    reads, _, true = normalized(text).partition(" at ")
    pairs = [re.fullmatch(r"([\d.]{1,12})\s*(mph|km/h)?", part.strip(), re.IGNORECASE) for part in (reads, true)]
    if not pairs[0] or not pairs[1]:
        raise UnitError("not-a-reading", f'found "{text}"', accepted)
    units = {pair[2].casefold() for pair in pairs if pair and pair[2]}
    sizes = [_number(pair[1], text, decimal_comma=False) for pair in pairs if pair]
    if len(units) > 1 or min(sizes) <= 0:
        raise UnitError("not-a-reading", f'found "{text}"', accepted)
    return sizes[0] / sizes[1]


def factor(unit: str, dimension: Dimension, text: str | None = None) -> float:
    """What one `unit` is in the dimension's own unit; `text` is quoted in the problem.

    Raises
    ------
    UnitError
        `unknown-unit`, or `wrong-dimension` where the unit is of another kind.
    """
    folded = unit.casefold()
    everyday = _EVERYDAY[dimension.suffix].get(_TRADE_UNITS.get(folded, folded))
    if everyday is not None:
        return everyday
    known = _factor_or_kind(unit, dimension) if len(unit) <= _MOST_UNIT and _UNIT_FORM.fullmatch(unit) else None
    shown = text if text is not None else unit
    if known is None:
        raise UnitError("unknown-unit", f'found "{shown}", whose unit is not known', dimension.accepted())
    if isinstance(known, str):
        raise UnitError("wrong-dimension", f'found "{shown}", {known}', dimension.accepted())
    return known


@functools.lru_cache(maxsize=1024)
def _factor_or_kind(unit: str, dimension: Dimension) -> float | str | None:
    """What pint makes of a unit: its factor, what it measures instead, or None where pint does not know it."""
    readings = _readings(unit)
    if not readings:
        return None
    wanted = _registry().Quantity(1.0, dimension.pint_unit)
    one = next((reading for reading in readings if _is_same_kind(reading, wanted)), None)
    return _kind_of(readings[0]) if one is None else float(one.to(wanted.units).magnitude)


@dataclass(frozen=True)
class Currency:
    """The currency of a job, and what one of each other currency is worth in it, where the job states a rate."""

    code: str = "USD"
    rates: tuple[tuple[str, Fraction], ...] = ()

    def worth(self, code: str, text: str) -> Fraction:
        """What one of a currency is worth, or of a dollar sign; `text` is quoted in the problem.

        Raises
        ------
        UnitError
            `other-currency` where the job states no rate.
        """
        if code in {"", self.code} or (code == "$" and self.code in _DOLLARS):
            return Fraction(1)
        named = _CURRENCY_SIGNS.get(code, code)
        rate = dict(self.rates).get(named)
        if rate is None:
            raise UnitError(
                "other-currency",
                f'found "{text}", in {named}',
                f"amounts in {self.code} are accepted",
                f"Give a rate in [money.rates]: {named} = 1.00 is what one {named} costs in {self.code}",
            )
        return rate


DOLLAR = Currency()


def money_cents(text: str, *, decimal_comma: bool = False, currency: Currency = DOLLAR, bare: str = "") -> int:
    """An amount of money in whole cents of the job's currency; half a cent rounds up.

    Parameters
    ----------
    text : str
        As typed, with a currency sign or without.
    decimal_comma : bool
        Whether a comma may be the decimal sign; see `number`.
    currency : Currency
        That of the job.
    bare : str
        Code of an amount without a sign, from a list's header; the job's own where it is empty.

    Raises
    ------
    UnitError
        `not-a-number`, `ambiguous-number` or `other-currency`.

    Examples
    --------
    >>> money_cents("$1,234.50"), money_cents("89")
    (123450, 8900)
    """
    plain = normalized(text)
    sign = _CURRENCY.search(plain)
    code = (sign[1] or sign[2]).upper() if sign else bare.upper()
    try:
        amount = number(_CURRENCY.sub("", plain).strip(), decimal_comma=decimal_comma)
    except UnitError as error:
        accepted = "an amount of money is accepted, such as 1250, $1,250.00 or 89.95"
        raise UnitError(error.word, f'found "{text}"', accepted, error.hint) from error
    return rounded(amount * 100 * currency.worth(code, text))


def money_per_mass(text: str, *, currency: Currency = DOLLAR) -> float:
    """Cents a kilogram, in the job's currency, of a rate such as `$0.40/lb` or `0.88 per kg`.

    Raises
    ------
    UnitError
        `not-a-rate`, `other-currency`, or the error of the amount or of the unit.

    Examples
    --------
    >>> round(money_per_mass("$0.40/lb"), 3)
    88.185
    """
    accepted = "money by mass is accepted, such as $0.40/lb or 0.88 per kg"
    parts = re.split(r"\s*(?:/|\bper\b)\s*", normalized(text), maxsplit=1)
    if len(parts) != 2:
        raise UnitError("not-a-rate", f'found "{text}"', accepted)
    sign = _CURRENCY.search(parts[0])
    worth = currency.worth((sign[1] or sign[2]).upper() if sign else "", text)
    bare = _CURRENCY.sub("", parts[0]).strip()
    return float(_number(bare, text, decimal_comma=False) * 100 * worth) / factor(parts[1], MASS, text)


def share(text: str) -> Fraction:
    """A share of one: `8.25 %`, `0.0825`; exact.

    Raises
    ------
    UnitError
        `not-a-number`.
    """
    plain = normalized(text)
    if plain.endswith("%"):
        return _number(plain[:-1], text, decimal_comma=False) / 100
    return _number(plain, text, decimal_comma=False)


def rounded(value: Fraction) -> int:
    """Nearest whole number, half away from zero."""
    whole = (2 * abs(value.numerator) + value.denominator) // (2 * value.denominator)
    return -whole if value < 0 else whole


@dataclass(frozen=True)
class BoltCircle:
    """Lug count and diameter of the circle through the stud centers [mm]."""

    lug_count: int
    diameter_mm: float

    def text(self) -> str:
        """As the trade writes it, metric."""
        return f"{self.lug_count}x{self.diameter_mm:.1f}".rstrip("0").rstrip(".")


_BOLT_CIRCLE = re.compile(r"^(\d{1,2})\s*(?:-?\s*lugs?\s*(?:x|×|\*|on|-|/)?|x|×|\*|on|-|/)\s*(.+)$", re.IGNORECASE)
TRADE_CIRCLES_MM = {114.0: 114.3, 139.0: 139.7, 165.0: 165.1}
"""Circles that the trade writes without their tenths; common practice, no source."""
_LARGEST_BARE_INCHES = 12  # 5x4.5 is inches, 5x114.3 millimeters; no circle lies between 12 mm and 80 mm


def bolt_circle(text: str, *, bare_unit: str | None = None, decimal_comma: bool = False) -> BoltCircle:
    """Lug count and bolt circle: `8x6.5 in`, `5x114.3`, `5 on 4 1/2`, `6-139.7 mm`.

    A bare diameter has the `bare_unit` of its list's header. Without one, up to 12 is inches and above it millimeters
    (common practice: no bolt circle is near the border). 114, 139 and 165 mm are the circles that the trade writes so,
    of 114.3, 139.7 and 165.1 mm. For `decimal_comma` see `number`.

    Raises
    ------
    UnitError
        `not-a-bolt-circle`, or the error of the diameter.

    Examples
    --------
    >>> bolt_circle("8x6.5 in").text(), bolt_circle("5 on 4 1/2").text()
    ('8x165.1', '5x114.3')
    """
    accepted = "a bolt circle is accepted, such as 8x6.5 in, 5x114.3 or 6 on 5 1/2"
    refuse_long(text)
    match = _BOLT_CIRCLE.match(normalized(text))
    if not match:
        raise UnitError("not-a-bolt-circle", f'found "{text}"', accepted)
    count, diameter = int(match[1]), match[2]
    unit = bare_unit or _customary_unit(diameter, decimal_comma)
    diameter_mm = _quantity(diameter, text, LENGTH, unit, decimal_comma)
    diameter_mm = TRADE_CIRCLES_MM.get(diameter_mm, diameter_mm)
    if not (3 <= count <= 10 and 50.0 <= diameter_mm <= 400.0):
        raise UnitError("not-a-bolt-circle", f'found "{text}", {count} lugs on {diameter_mm:.1f} mm', accepted)
    return BoltCircle(count, round(diameter_mm, 3))


def _customary_unit(diameter: str, decimal_comma: bool) -> str | None:
    """Unit of a bare bolt circle diameter; None where it is not a bare number."""
    try:
        return "in" if number(diameter, decimal_comma=decimal_comma) <= _LARGEST_BARE_INCHES else "mm"
    except UnitError:
        return None


def sixteenths_text(length_mm: float, *, up: bool = False) -> str:
    """A length in inches to the nearest 1/16, or with `up` to the next 1/16 that is enough.

    Examples
    --------
    >>> sixteenths_text(133.35), sixteenths_text(-4.7625), sixteenths_text(4.8, up=True)
    ('5 1/4 in', '-3/16 in', '1/4 in')
    """
    sixteenths = abs(length_mm) / INCH_MM * 16
    count = math.ceil(round(sixteenths, 6)) if up else math.floor(sixteenths + 0.5)
    whole, left = divmod(count, 16)
    fraction = f"{Fraction(left, 16)}" if left else ""
    size = " ".join(part for part in (str(whole) if whole or not left else "", fraction) if part)
    sign = "-" if length_mm < 0 and count else ""
    return f"{sign}{size} in"


@functools.cache
def _registry():  # type: ignore[no-untyped-def]  # pint is imported late: it costs a quarter of a second
    import pint

    return pint.UnitRegistry(autoconvert_offset_to_baseunit=False)


def _readings(unit: str) -> list[Any]:
    """What a unit may mean, as pint quantities of one; empty where nobody knows it.

    Builders type `LB` and `MM`: the small letters go before the capitals that pint reads as other units.
    """
    folded = unit.casefold()
    names = [_TRADE_UNITS[folded]] if folded in _TRADE_UNITS else list(dict.fromkeys((folded, unit)))
    return [reading for reading in map(_reading, names) if reading is not None]


def _reading(name: str) -> Any:
    registry = _registry()
    try:
        one = registry.Quantity(1.0, registry.parse_units(name))
        one.to_base_units()
    except Exception:  # pint raises a dozen unrelated types for text that is no unit
        return None
    return one


def _is_same_kind(one: Any, other: Any) -> bool:
    """Whether two quantities measure the same; by base units, in which turns a second are no plain frequency."""
    return bool(one.to_base_units().units == other.to_base_units().units)


def _kind_of(one: Any) -> str:
    names = [
        ("m", "a length"),
        ("kg", "a mass"),
        ("N", "a force"),
        ("km/h", "a speed"),
        ("N*m", "a torque"),
        ("Pa", "a pressure"),
        ("s", "a time"),
        ("rpm", "a speed of rotation"),
        ("Hz", "a frequency"),
        ("m^2", "an area"),
    ]
    for unit, kind in names:
        if _is_same_kind(one, _registry().Quantity(1.0, unit)):
            return kind
    return f"in {one.units}"


def refuse_long(text: str) -> None:
    """Refuse a text that nobody types for a size.

    Raises
    ------
    UnitError
        `too-long`.
    """
    if len(text) > MOST_TYPED:
        raise UnitError(
            "too-long", f'found {len(text):,} characters, "{text[:40]}..."', f"at most {MOST_TYPED} are read here"
        )


def _number(text: str, typed: str, decimal_comma: bool) -> Fraction:
    """The number that `text` is; problems quote `typed`, of which it may be a part."""
    refuse_long(typed)
    sign, digits = _sign(_with_decimal_point(normalized(text), typed, decimal_comma))
    if not _NUMBER.fullmatch(digits):
        raise UnitError("not-a-number", f'found "{typed}"', "a number is accepted, such as 5.25, 5 1/4 or 1,250")
    return sign * _value(digits, typed)


def _quantity(text: str, typed: str, dimension: Dimension, bare_unit: str | None, decimal_comma: bool) -> float:
    """The size that `text` is; problems quote `typed`, of which it may be a part."""
    sign, sizes = _sizes(text, typed, dimension, bare_unit, decimal_comma)
    return sign * round(sum((float(size) * unit for size, unit in sizes), 0.0), _DUST_DIGITS)


def _sizes(
    text: str, typed: str, dimension: Dimension, bare_unit: str | None, decimal_comma: bool
) -> tuple[int, list[tuple[Fraction, float]]]:
    """Sign of a size, and its parts: each a number, and what its unit is in the dimension's own."""
    refuse_long(typed)
    sign, rest = _sign(_with_decimal_point(normalized(text), typed, decimal_comma))
    pairs, sizes = _pairs(rest, typed, dimension), []
    for digits, unit in pairs:
        if not unit and bare_unit is None:
            raise UnitError("no-unit", f'found "{typed}", without a unit', dimension.accepted())
        sizes.append((_value(digits, typed), factor(unit or bare_unit or "", dimension, typed)))
    first = _falling(sizes, dimension)
    if first < len(sizes):
        _refuse_another([digits for digits, _ in pairs], sizes, first, typed, dimension)
    return sign, sizes[:first]


def _falling(sizes: list[tuple[Fraction, float]], dimension: Dimension) -> int:
    """How many parts from the first make one size: units of one system, each smaller than the one before."""
    for system in _ONE_SYSTEM.get(dimension.suffix, ()):
        if sizes[0][1] in system:
            count = 1
            while count < len(sizes) and _is_rest_of(sizes[count - 1][1], sizes[count], system):
                count += 1
            return count
    return 1


def _is_rest_of(larger: float, size: tuple[Fraction, float], system: tuple[float, ...]) -> bool:
    """Whether a size is the rest of one in a larger unit of its system: 3 in behind 2 ft, but not 15 in."""
    return size[1] in system and size[1] < larger and float(size[0]) * size[1] < larger


def _refuse_another(
    digits: list[str], sizes: list[tuple[Fraction, float]], first: int, typed: str, dimension: Dimension
) -> None:
    """Refuse a second size that is not the first one again, in another system and rounded."""
    again = sizes[first:]
    if _falling(again, dimension) < len(again) or _system_of(again, dimension) == _system_of(sizes, dimension):
        raise UnitError("two-sizes", f'found "{typed}", more than one size', dimension.accepted())
    size, other = (sum(float(count) * unit for count, unit in part) for part in (sizes[:first], again))
    places = [_half_last_place(digits[at]) * sizes[at][1] for at in (first - 1, len(sizes) - 1)]
    if abs(size - other) > max(*places, _ROUNDED_APART * abs(size)) + 1e-9:
        raise UnitError("two-sizes", f'found "{typed}", two sizes that differ', dimension.accepted())


def _system_of(sizes: list[tuple[Fraction, float]], dimension: Dimension) -> float | tuple[float, ...]:
    """The system of units of a size, or its own unit where that belongs to none."""
    unit = sizes[0][1]
    return next((system for system in _ONE_SYSTEM.get(dimension.suffix, ()) if unit in system), unit)


def _half_last_place(digits: str) -> float:
    """Half of the last place of a number as written: 0.05 of 4.2, 0.5 of 108; of a fraction half of its part."""
    if "/" in digits:
        return 0.5 / float(digits.rpartition("/")[2])
    return 0.5 / 10.0 ** len(digits.partition(".")[2])


def _with_decimal_point(text: str, typed: str, decimal_comma: bool) -> str:
    if decimal_comma:
        text = _POINTS_THEN_COMMA.sub(lambda match: match[0].replace(".", "").replace(",", "."), text)
    found = _DECIMAL_COMMA.search(text)
    if not found:
        return text
    whole, decimals = found[0].split(",")
    looks_like_thousands = len(decimals) == 3 and 1 <= len(whole) <= 3 and whole != "0"
    if not decimal_comma and looks_like_thousands:
        return text
    if not decimal_comma or looks_like_thousands:
        both = f"{whole}{decimals} or {whole}.{decimals}"
        raise UnitError(
            "ambiguous-number", f'found "{typed}"', "a number with a decimal point is accepted", f"Write {both}"
        )
    return text.replace(found[0], f"{whole}.{decimals}")


def _sign(text: str) -> tuple[int, str]:
    if text[:1] in {"-", "+"}:
        return (-1 if text[0] == "-" else 1), text[1:].strip()
    return 1, text


def _pairs(text: str, typed: str, dimension: Dimension) -> list[tuple[str, str]]:
    """`2 ft 3 in` as [("2", "ft"), ("3", "in")]; the last unit is empty where none stands."""
    pairs, position, is_open = [], 0, False
    while position < len(text):
        match = _NUMBER.match(text, position)
        if not match:
            raise UnitError("not-a-number", f'found "{typed}"', dimension.accepted())
        unit_end = _unit_end(text, match.end())
        unit = text[match.end() : unit_end].strip()
        if unit_end < len(text):  # a size in both systems: 4 1/4 in (108 mm), 350 lb / 159 kg
            is_open = unit.endswith("(")
            unit = unit.rstrip("(/= ")
        elif is_open:
            unit = unit.removesuffix(")").rstrip()
        pairs.append((match[0], unit))
        position = unit_end
        while position < len(text) and text[position] == " ":
            position += 1
    if not pairs or not all(unit for _, unit in pairs[:-1]):
        raise UnitError("not-a-number", f'found "{typed}"', dimension.accepted())
    return pairs


def _unit_end(text: str, start: int) -> int:
    """Where a unit ends: at the digit that begins the next number."""
    following = re.compile(r"\s*[\d.]*\d").search(text, start)
    return following.start() if following else len(text)


def _value(digits: str, typed: str) -> Fraction:
    accepted = "a number is accepted, such as 5.25 or 5 1/4"
    if len(digits) > _MOST_CHARACTERS:
        raise UnitError("not-a-number", f'found "{typed}"', accepted)
    if re.fullmatch(_THOUSANDS, digits):
        return Fraction(re.sub(r"[,' ]", "", digits))
    parts = re.split(r"\s*-\s*|\s+(?=\d+\s*/)", digits) if "/" in digits else [digits]
    try:
        return sum((Fraction(part.replace(" ", "")) for part in parts), Fraction(0))
    except (ValueError, ZeroDivisionError) as error:
        raise UnitError("not-a-number", f'found "{typed}"', accepted) from error

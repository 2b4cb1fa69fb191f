"""Lug seats and threads as the trade writes them: `cone 60`, `ball 14`, `shank 3/4 in`, `M14x1.5`, `1/2-20`."""

from __future__ import annotations

import functools
import math
import re

from combo.units import INCH_MM, LENGTH, UnitError, normalized, number, quantity

NAN = float("nan")
SEAT_ACCEPTED = 'a seat is accepted, such as "cone 60", "ball 14 mm", "shank 3/4 in" or "flat"'
THREAD_ACCEPTED = "a thread is accepted, such as M14x1.5 or 1/2-20"
_FORMS = {
    "cone": ("cone", "conical", "taper", "tapered", "acorn"),
    "ball": ("ball", "spherical", "radius", "r"),
    "shank": ("shank", "mag", "shanked"),
    "flat": ("flat", "washer"),
}
_FORM_OF = {word: form for form, words in _FORMS.items() for word in words}
TOLERANCE = {"cone": 1.0, "ball": 0.5, "shank": INCH_MM / 16.0, "flat": math.inf}
"""How far the sizes of two seats that agree may be apart: a cone's angle [deg], a ball's radius and a shank's length
[mm]; from memory.
"""

_UNITS = frozenset({"mm", "in", "inch", "deg", "degree", "degrees"})
_FILLERS = frozenset({"seat", "lug", "nut", "style", "type", "wheel"})
_WORD = re.compile(r"[a-z]+")
_ANGLE = re.compile(r"(\d+(?:\.\d+)?)\s*(deg|degree|degrees|°)?")
_METRIC = re.compile(r"m?(\d+(?:\.\d+)?)x(\d+(?:\.\d+)?)", re.IGNORECASE)
_INCH = re.compile(r"(\d+/\d+|\d+)-(\d+)(?:unf|unc|un)?", re.IGNORECASE)


def seat(text: str, *, decimal_comma: bool = False) -> str:
    """A lug seat in one form of words: `cone 60` [deg], `ball 14` (radius, mm), `shank 19.05` (length, mm), `flat`.

    The size is left out where none is stated.

    Raises
    ------
    UnitError
        `not-a-seat`.

    Examples
    --------
    >>> seat("Conical 60°"), seat("R14"), seat('shank 3/4"'), seat("60 deg"), seat("ball")
    ('cone 60', 'ball 14', 'shank 19.05', 'cone 60', 'ball')
    """
    plain = normalized(text).casefold()
    words = [word for word in _WORD.findall(plain) if word not in _UNITS | _FILLERS]
    size = _WORD.sub(lambda found: found[0] if found[0] in _UNITS else " ", plain).strip()
    angle = _ANGLE.fullmatch(size)
    forms = {_FORM_OF.get(word) for word in words} or {"cone" if angle and angle[2] else None}
    form = forms.pop()
    if form is None or forms:
        raise UnitError("not-a-seat", f'found "{text}"', SEAT_ACCEPTED)
    return form if not size or form == "flat" else f"{form} {_size(form, size, text, decimal_comma):g}"


def _size(form: str, size: str, typed: str, decimal_comma: bool) -> float:
    angle = _ANGLE.fullmatch(size)
    try:
        if form == "cone":
            if angle is None:
                raise UnitError("not-a-seat", f'found "{typed}"', SEAT_ACCEPTED)
            return float(number(angle[1], decimal_comma=decimal_comma))
        return round(quantity(size, LENGTH, bare_unit="mm", decimal_comma=decimal_comma), 3)
    except UnitError as error:
        raise UnitError("not-a-seat", f'found "{typed}"', SEAT_ACCEPTED) from error


def thread(text: str) -> str:
    """A thread in one form: `M14x1.5` (diameter by pitch, mm), `1/2-20` (diameter, threads an inch).

    Raises
    ------
    UnitError
        `not-a-thread`.

    Examples
    --------
    >>> thread("m14 x 1.50"), thread("1/2 - 20 UNF"), thread("14x1.5")
    ('M14x1.5', '1/2-20', 'M14x1.5')
    """
    plain = "".join(normalized(text).split())
    if metric := _METRIC.fullmatch(plain):
        return f"M{float(metric[1]):g}x{float(metric[2]):g}"
    if inch := _INCH.fullmatch(plain):
        return f"{inch[1]}-{inch[2]}"
    raise UnitError("not-a-thread", f'found "{text}"', THREAD_ACCEPTED)


@functools.cache
def seats_agree(one: str, other: str) -> float:
    """Whether two seats are one, as `seat` writes them: 1, 0, or NaN where either leaves its form or size open.

    Examples
    --------
    >>> seats_agree("cone 60", "cone 60"), seats_agree("cone 60", "ball 14"), seats_agree("cone", "cone 60")
    (1.0, 0.0, nan)
    """
    if not one or not other:
        return NAN
    (form, size), (other_form, other_size) = _parted(one), _parted(other)
    if form != other_form:
        return 0.0
    if form == "flat":
        return 1.0
    if math.isnan(size) or math.isnan(other_size):
        return NAN
    return float(abs(size - other_size) <= TOLERANCE[form])


def _parted(text: str) -> tuple[str, float]:
    form, _, size = text.partition(" ")
    return form, float(size) if size else NAN

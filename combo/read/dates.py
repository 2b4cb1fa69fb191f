"""Dates of price lists, as letterheads and file names write them."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterable, Iterator
from contextlib import suppress

MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_MONTH = rf"(?<![a-z])(?P<name>{'|'.join(MONTHS)})[a-z]{{0,6}}\.?"
_YEAR = r"(?P<year>20\d\d)"
_FORMS = tuple(
    re.compile(rf"(?<!\d){form}(?!\d)", re.IGNORECASE)
    for form in (
        rf"{_YEAR}[-_./](?P<month>\d{{1,2}})[-_./](?P<day>\d{{1,2}})",  # 2026-11-01
        rf"{_YEAR}(?P<month>[01]\d)(?P<day>[0-3]\d)",  # 20261101
        r"(?P<month>\d{1,2})[-_./](?P<day>\d{1,2})[-_./](?P<year>(?:20)?\d\d)",  # 11/01/2026, as America writes it
        rf"{_MONTH}[ _-]*(?P<day>\d{{1,2}})(?:st|nd|rd|th)?[ ,_-]+{_YEAR}",  # November 1, 2026
        rf"(?P<day>\d{{1,2}})[ _-]*{_MONTH}[ ,_-]*{_YEAR}",  # 1 Nov 2026
        rf"{_MONTH}[ ,_-]*{_YEAR}",  # Nov 2026
        rf"{_YEAR}[ _-]*{_MONTH}",  # 2026 Nov
        rf"{_YEAR}[-_.](?P<month>[01]\d)",  # 2026-11
        rf"(?P<month>[01]?\d)[-_./]{_YEAR}",  # 11-2026
    )
)
MOST_LETTERS = 200


def date_in(text: str) -> str:
    """The first date in a text, ISO; the first of the month where no day stands; "" where there is none.

    Examples
    --------
    >>> date_in("Effective 11/01/2026"), date_in("November 2026 price list"), date_in("ridge_2026-10.csv")
    ('2026-11-01', '2026-11-01', '2026-10-01')
    """
    return next((iso for iso, _ in _dates(text)), "")


def pattern_of(name: str) -> str:
    """A file's name with a star for its date, as next month's file will have it; the name itself where it has none.

    Examples
    --------
    >>> pattern_of("ridge_wheels_2026-11.csv"), pattern_of("wheels.csv")
    ('ridge_wheels_*.csv', 'wheels.csv')
    """
    return next((f"{name[: match.start()]}*{name[match.end() :]}" for _, match in _dates(name)), name)


def first_date(texts: Iterable[str]) -> str:
    """The first date in some texts; "" where none has one."""
    return next((date for text in texts if (date := date_in(text))), "")


def _dates(text: str) -> Iterator[tuple[str, re.Match[str]]]:
    """Every date in a text, ISO, with where it stands; form by form."""
    for form in _FORMS:
        for match in form.finditer(text[:MOST_LETTERS]):
            if iso := _iso(match.groupdict()):
                yield iso, match


def _iso(parts: dict[str, str | None]) -> str:
    """ISO date of the parts of one; "" where no calendar has it."""
    name = (parts.get("name") or "").lower()
    month = MONTHS.index(name) + 1 if name else int(parts.get("month") or 0)
    year = int(parts["year"] or 0)
    with suppress(ValueError):
        return datetime.date(year + 2000 if year < 100 else year, month, int(parts.get("day") or 1)).isoformat()
    return ""

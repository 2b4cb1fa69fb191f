"""How a supplier writes a list: entries of [files] in a job and of suppliers.toml beside the lists, one rule a file.

What a job says wins over what suppliers.toml says, key by key; of headers, units and defaults word by word. A path may
be a pattern: of the files that match it the one with the latest price list is taken.
"""

from __future__ import annotations

import fnmatch
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

from combo.job import ListFile
from combo.read.dates import date_in
from combo.units import UnitError, number, share

SHARED = "suppliers.toml"
"""Name of the file beside the lists that holds the rules for them, shared by all jobs."""
_TABLES = ("headers", "units", "defaults")
_KEYS = (
    "path",
    "sheet",
    "supplier",
    "header_row",
    "skip_rows",
    *_TABLES,
    "price_factor",
    "discount",
    "date",
    "confirmed",
)
ACCEPTED = 'a path is accepted, or { path = "list.xlsx", sheet = "Stock", supplier = "Name" }'
PATTERN = frozenset("*?[")
"""Letters that make a path a pattern."""

Entry = dict[str, Any]
Tell = Callable[..., None]
"""Tells a problem of an entry: its key or "", the problem's word, what was found, what is accepted, a hint."""


@dataclass(frozen=True)
class Match:
    """A file that an entry names, with the one before it where the entry's path is a pattern."""

    path: Path
    older: Path | None = None


def checked(entry: Any, tell: Tell) -> Entry | None:
    """An entry of [files] as a table of what it states; None, with a problem told, where it does not read."""
    given = {"path": entry} if isinstance(entry, str) else entry
    if not isinstance(given, dict) or not isinstance(given.get("path"), str) or not given["path"].strip():
        tell("", "not-a-file", f"found {_quoted(entry)}", ACCEPTED)
        return None
    wrong = [(key, problem) for key in given if (problem := _wrong(key, given[key]))]
    for key, accepted in wrong:
        word = "unknown-key" if key not in _KEYS else "not-a-rule"
        tell(key, word, f'unknown key "{key}"' if key not in _KEYS else f"found {_quoted(given[key])}", accepted)
    if "price_factor" in given and "discount" in given:
        tell("discount", "factor-and-discount", "beside price_factor", "one of the two is accepted")
        return None
    return None if wrong else dict(given)


def matches(entry: Entry, folder: Path, tell: Tell) -> list[Match]:
    """The file that an entry names; of a pattern the one with the latest price list, and the one before it."""
    path = entry["path"]
    if not PATTERN & set(path) or (folder / path).is_file():
        return [Match(folder / path)]
    try:
        found = sorted(own for own in folder.glob(path) if own.is_file() and not own.name.startswith(("~", ".")))
    except (OSError, ValueError, NotImplementedError):  # an absolute pattern, or one that means nothing
        found = []
    if not found:
        tell(
            "path",
            "missing-file",
            f'no file is called "{path}"',
            "a CSV or XLSX list is expected here",
            "Paths are taken from the file's own folder",
        )
        return []
    if len(found) == 1:
        return [Match(found[0])]
    dated = sorted((date_in(own.name), own) for own in found)
    undated = [own.name for date, own in dated if not date]
    dates = [date for date, _ in dated]
    if undated or len(set(dates)) < len(dates):
        which = f'"{undated[0]}" has no date in its name' if undated else "two of one date"
        tell(
            "path",
            "which-file",
            f'{len(found)} files are called "{path}": {which}',
            "a pattern whose files have their dates in their names is accepted",
            "Name the file",
        )
        return []
    return [Match(dated[-1][1], dated[-2][1])]


def rule_of(entry: Entry, shared: list[Entry], match: Match, shown: str) -> ListFile:
    """A file with all that its entry and the shared ones for it say."""
    said: Entry = {}
    for one in (*shared, entry):
        tables = {key: {**said.get(key, {}), **one[key]} for key in _TABLES if key in one}
        if "price_factor" in one or "discount" in one:
            said = {key: value for key, value in said.items() if key not in {"price_factor", "discount"}}
        said = {**said, **one, **tables}
    headers, units, defaults = (tuple(sorted((k, str(v)) for k, v in said.get(key, {}).items())) for key in _TABLES)
    return ListFile(
        str(match.path),
        shown,
        said.get("sheet"),
        str(said.get("supplier", "")),
        said.get("header_row", 0),
        _skipped(said.get("skip_rows", 0)),
        headers,
        units,
        defaults,
        _price_factor(said),
        date_in(str(said.get("date", ""))) or date_in(match.path.name),
        said.get("confirmed", True),
        "" if match.older is None else str(match.older),
    )


def shared_of(entries: list[Entry], path: Path) -> list[Entry]:
    """Entries of the suppliers.toml in a file's own folder that are for it, without their path."""
    return [
        {key: value for key, value in entry.items() if key != "path"}
        for entry in entries
        if fnmatch.fnmatchcase(path.name, entry["path"])
    ]


def _skipped(rows: int | list[int]) -> tuple[int, ...]:
    """Numbers of the rows that are skipped: those listed, or the first so many."""
    return tuple(range(1, rows + 1)) if isinstance(rows, int) else tuple(sorted(rows))


def _price_factor(said: Entry) -> Fraction:
    if "discount" in said:
        return 1 - share(str(said["discount"]))
    return number(str(said.get("price_factor", 1)))


def _wrong(key: str, value: Any) -> str:
    """What would be accepted for a key whose value does not read; "" where it does."""
    if key not in _KEYS:
        return f"known are: {', '.join(_KEYS)}"
    if key in _TABLES:
        fits = isinstance(value, dict) and all(isinstance(own, str | int | float) for own in value.values())
        example = {"headers": '{ "Wt" = "mass_lb" }', "units": '{ "Wt" = "lb" }', "defaults": '{ hub_bore = "108 mm" }'}
        return "" if fits else f"a table is accepted, such as {example[key]}"
    if key in {"path", "sheet", "supplier"}:
        return "" if isinstance(value, str) else "text in quotes is accepted"
    if key == "confirmed":
        return "" if isinstance(value, bool) else "true or false is accepted"
    if key == "header_row":
        return "" if _is_row(value) else "the number of a row is accepted, such as 4"
    if key == "skip_rows":
        fits = _is_row(value) or (isinstance(value, list) and all(map(_is_row, value)))
        return "" if fits else "the first so many rows, or a list of row numbers such as [3, 17] is accepted"
    if key == "date":
        return "" if date_in(str(value)) else "a date is accepted, such as 2026-11-01"
    return _wrong_factor(key, value)


def _wrong_factor(key: str, value: Any) -> str:
    try:
        factor = share(str(value)) if key == "discount" else number(str(value))
    except UnitError:
        factor = Fraction(-1)
    if key == "discount":
        return "" if 0 <= factor < 1 else "a share below 100 % is accepted, such as 20 %"
    return "" if 0 < factor <= 100 else "a factor above zero is accepted, such as 0.6"


def _is_row(value: Any) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and 0 < value <= 1_048_576


def _quoted(value: Any) -> str:
    text = str(value)
    return f'"{text[:80]}"' if isinstance(value, str) else text[:80]

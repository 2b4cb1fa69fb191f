"""job.toml to a Job, with the line of every value."""

from __future__ import annotations

import dataclasses
import math
import re
import tomllib
import types
import typing
from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from pathlib import Path
from typing import Any

from combo.fasteners import thread
from combo.job import AXLES, CRITERIA, ROOMS, SIDES, Axle, Files, Job, ListFile, Supplier, key_of
from combo.parts import KINDS
from combo.plausible import MOST_IN_A_JOB
from combo.problems import Place, Report, nearest
from combo.read import rules
from combo.units import (
    CURRENCIES,
    DIMENSIONS,
    DOLLAR,
    BoltCircle,
    Currency,
    UnitError,
    bolt_circle,
    measured,
    money_cents,
    money_per_mass,
    number,
    reading_share,
    rounded,
    share,
)

Lines = dict[tuple[str | int, ...], int]
FORMAT = 1
MOST_BYTES = 10_000_000  # of a job file: they have some tens of thousands
LEVELED = ["air,", "leveled"]
"""Springs that keep the truck's height, in place of a spring rate."""
QUARTER_TURN_DEG = 90.0  # no steering lock, kingpin or frame leans so far

_TABLE = re.compile(r"^\s*(\[\[?)\s*([^\]]+?)\s*\]\]?\s*(?:#.*)?$")
_KEY = re.compile(r"^\s*((?:[\w-]+|\"[^\"]*\"|'[^']*')(?:\s*\.\s*(?:[\w-]+|\"[^\"]*\"|'[^']*'))*)\s*=")
_ERROR_LINE = re.compile(r"\(at line (\d+), column \d+\)")
_ABSENT = object()


def read_job(path: Path, report: Report) -> tuple[Job | None, Files]:
    """The job of a job.toml, and its [files] apart, so that the lists can be read beside a job that has problems.

    The job is None, with problems in `report`, where it cannot be read. Paths in [files] are taken from the job
    file's own folder.
    """
    shown = path.name
    text = _text(path, shown, report)
    tables = None if text is None else _parsed(text, shown, report)
    if text is None or tables is None:
        return None, Files()
    return _JobReader(shown, path.parent, line_of_keys(text), report).job(tables)


def rules_beside(path: Path, report: Report) -> dict[str, ListFile]:
    """What the suppliers.toml beside a list says of it, by the kind of list; a problem is told in `report`."""
    shared = _JobReader(path.name, path.parent, {}, report).shared_of(path.parent)
    found = {plural: rules.shared_of(entries, path) for plural, entries in shared.entries.items()}
    return {
        plural: rules.rule_of({"path": path.name}, own, rules.Match(path), path.name)
        for plural, own in found.items()
        if own
    }


def _text(path: Path, shown: str, report: Report) -> str | None:
    """Text of a TOML file; None, with a problem told, where there is none to read."""
    try:
        if path.is_file() and path.stat().st_size > MOST_BYTES:
            report.add(
                Place(shown),
                "too-large",
                f"{path.stat().st_size / 1e6:,.0f} MB",
                f"a job of up to {MOST_BYTES / 1e6:,.0f} MB is read",
            )
            return None
        return path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        report.add(
            Place(shown), "missing-file", f'no file "{path}"', "a job file is expected", "combo new DIR writes one"
        )
    except IsADirectoryError:
        report.add(Place(shown), "not-a-file", f'"{path}" is a folder', "the job file inside it is expected")
    except UnicodeDecodeError:
        report.add(Place(shown), "not-utf-8", "text that is not UTF-8", "save the file as UTF-8")
    return None


def _parsed(text: str, shown: str, report: Report) -> dict[str, Any] | None:
    """Tables of a TOML text; None, with a problem told, where it does not read."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        report.add(
            _error_place(shown, error), "not-toml", _error_words(error), "TOML is accepted: key = value under [table]"
        )
    except RecursionError:
        report.add(Place(shown), "not-toml", "tables nested too deep", "TOML is accepted: key = value under [table]")
    return None


def line_of_keys(text: str) -> Lines:
    """Line of every table and key, by its path; entries of [[tables]] carry their number in the path.

    A scan of the text beside tomllib, which tells no lines: it only places messages, so a key it misses (inside a
    multi-line value) costs a line number and nothing else.

    Examples
    --------
    >>> line_of_keys('[hub.front]\\npilot = "78 mm"\\n')
    {('hub',): 1, ('hub', 'front'): 1, ('hub', 'front', 'pilot'): 2}
    """
    lines: Lines = {}
    table: tuple[str | int, ...] = ()
    entries: dict[tuple[str | int, ...], int] = {}
    for number_, line in enumerate(text.splitlines(), start=1):
        if header := _TABLE.match(line):
            table = _split(header[2])
            if header[1] == "[[":
                entries[table] = entries.get(table, -1) + 1
                table = (*table, entries[table])
            for depth in range(1, len(table) + 1):
                lines.setdefault(table[:depth], number_)
        elif key := _KEY.match(line):
            path = (*table, *_split(key[1]))
            for depth in range(len(table) + 1, len(path) + 1):
                lines.setdefault(path[:depth], number_)
    return lines


def _split(dotted: str) -> tuple[str | int, ...]:
    return tuple(part.strip().strip("\"'") for part in re.findall(r"\"[^\"]*\"|'[^']*'|[^.\s]+", dotted))


def _error_place(shown: str, error: tomllib.TOMLDecodeError) -> Place:
    found = _ERROR_LINE.search(str(error))
    return Place(shown, row=int(found[1]) if found else None)


def _error_words(error: tomllib.TOMLDecodeError) -> str:
    words = _ERROR_LINE.sub("", str(error)).strip()
    return f"not readable as TOML: {words[:1].lower()}{words[1:]}"


@dataclass(frozen=True)
class Shared:
    """What a suppliers.toml beside lists says: entries by list, and suppliers."""

    entries: dict[str, list[rules.Entry]]
    suppliers: tuple[Supplier, ...]


class _JobReader:
    """Walks the dataclasses of combo.job along the tables of one file."""

    def __init__(self, shown: str, folder: Path, lines: Lines, report: Report) -> None:
        self._shown, self._folder, self._lines, self._report = shown, folder, lines, report
        self._tolerances: dict[str, float] = {}
        self._sides: dict[str, tuple[float, float]] = {}
        self._currency = DOLLAR
        self._shared: dict[Path, Shared] = {}

    def job(self, tables: dict[str, Any]) -> tuple[Job | None, Files]:
        self._currency = self._money_currency(tables.get("money"))
        files = self._files(tables.get("files", {}))
        rest = {key: value for key, value in tables.items() if key != "files"}
        job = self._table(Job, rest, ())
        if job is None:
            return None, files
        job = dataclasses.replace(
            job, files=files, tolerances=self._tolerances, sides=self._sides, suppliers=self._with_shared(job.suppliers)
        )
        self._check_whole(job)
        return job, files

    def _with_shared(self, suppliers: tuple[Supplier, ...]) -> tuple[Supplier, ...]:
        """The job's suppliers, and those of the lists' own suppliers.toml that the job does not name itself."""
        by_name = {one.name: one for shared in self._shared.values() for one in reversed(shared.suppliers)}
        own = {one.name for one in suppliers}
        return (*suppliers, *(by_name[name] for name in sorted(by_name.keys() - own)))

    def _money_currency(self, money: Any) -> Currency:
        """The currency of every amount of the job; what is wrong with it is told where [money] is read."""
        if not isinstance(money, dict) or money.get("currency", DOLLAR.code) not in CURRENCIES:
            return DOLLAR
        rates = money.get("rates", {})
        known = (
            {code: Fraction(str(rate)) for code, rate in rates.items() if _is_rate(rate)}
            if isinstance(rates, dict)
            else {}
        )
        return Currency(money.get("currency", DOLLAR.code), tuple(sorted(known.items())))

    def _place(self, path: tuple[str | int, ...]) -> Place:
        line = next((self._lines[path[:n]] for n in range(len(path), 0, -1) if path[:n] in self._lines), None)
        table = ".".join(str(part) for part in path[:-1] if not isinstance(part, int))
        return Place(self._shown, row=line, column=str(path[-1]) if path else None, table=table or None)

    def _add(self, path: tuple[str | int, ...], word: str, found: str, accepted: str, hint: str = "") -> None:
        self._report.add(self._place(path), word, found, accepted, hint)

    def _table(self, kind: Any, table: Any, path: tuple[str | int, ...]) -> Any:
        """A dataclass from its table; None where a value that must be there is absent or cannot be read."""
        if not isinstance(table, dict):
            self._add(path, "not-a-table", f"found {_shown_value(table)}", f"a table is accepted: [{path[-1]}]")
            return None
        hints = typing.get_type_hints(kind)
        fields = {key_of(field.name): field for field in dataclasses.fields(kind) if field.metadata.get("is_key", True)}
        self._unknown_keys(table, fields, path)
        values: dict[str, Any] = {}
        whole = True
        for key, field in fields.items():
            value = table.get(key, _ABSENT)
            if value is _ABSENT:
                whole &= not self._is_missing(field, (*path, key))
                continue
            read = self._value(field, hints[field.name], value, (*path, key))
            if read is None:
                whole = False
            else:
                values[field.name] = read
        return kind(**values) if whole else None

    def _unknown_keys(self, table: dict[str, Any], known: typing.Iterable[str], path: tuple[str | int, ...]) -> None:
        names = list(known)
        for key in table:
            if key in names:
                continue
            near = nearest(key, names)
            what = "table" if not path and isinstance(table[key], dict | list) else "key"
            accepted = f'the nearest known {what} is "{near}"' if near else f"known are: {', '.join(names)}"
            self._add((*path, key), f"unknown-{what}", f'unknown {what} "{key}"', accepted)

    def _is_missing(self, field: dataclasses.Field[Any], path: tuple[str | int, ...]) -> bool:
        optional = field.default is not dataclasses.MISSING or field.default_factory is not dataclasses.MISSING
        if not optional:
            self._add(path, "missing-key", "not given", "it is needed: nothing can be checked without it")
        return not optional

    def _value(self, field: dataclasses.Field[Any], hint: Any, value: Any, path: tuple[str | int, ...]) -> Any:
        """One value in SI; None, with a problem told, where it does not read."""
        arms = _arms(hint)
        if dataclasses.is_dataclass(arms[0]) and arms[0] is not BoltCircle:
            return self._table(arms[0], value, path)
        if typing.get_origin(hint) is dict:
            return self._rates(value, path) if field.name == "rates" else self._weights(value, path)
        try:
            if isinstance(value, dict) and path[0] == "wheelhouse" and field.name in ROOMS:
                return self._both_sides(field, value, path)
            if typing.get_origin(hint) is tuple:
                return self._several(field, typing.get_args(hint)[0], value, path)
            if arms == [str, float]:
                return _word_or_chance(field, value)
            return self._scalar(field, arms[0], value, path)
        except UnitError as error:
            self._add(path, error.word, error.found, error.accepted, error.hint)
            return None

    def _several(self, field: dataclasses.Field[Any], hint: Any, value: Any, path: tuple[str | int, ...]) -> Any:
        """A list of tables, of texts or of numbers, as a tuple."""
        if not isinstance(value, list):
            self._add(path, "not-a-list", f"found {_shown_value(value)}", "a list is accepted, such as [...]")
            return None
        if dataclasses.is_dataclass(hint):
            read = [self._table(hint, entry, (*path, number_)) for number_, entry in enumerate(value)]
            return None if any(entry is None for entry in read) else tuple(read)
        return tuple(self._scalar(field, hint, entry, path) for entry in value)

    def _both_sides(self, field: dataclasses.Field[Any], value: dict[str, Any], path: tuple[str | int, ...]) -> Any:
        """The smaller of a measurement's two sides; both are kept."""
        self._unknown_keys(value, SIDES, path)
        if missing := [side for side in SIDES if side not in value]:
            self._add(
                path,
                "one-side",
                f"no {missing[0]}",
                'both sides are accepted, such as { left = "5 1/2 in", right = "5 7/16 in" }, or one text for both',
            )
            return None
        dotted, read = ".".join(str(part) for part in (*path[:-1], field.name)), []
        for side in SIDES:
            read.append(self._value(field, float, value[side], (*path, side)))
            own = self._tolerances.pop(".".join(str(part) for part in (*path, field.name)), None)
            if own is not None:
                self._tolerances[f"{dotted}.{side}"] = own
        if None in read:
            return None
        self._sides[dotted] = (read[0], read[1])
        return min(read)

    def _weights(self, value: Any, path: tuple[str | int, ...]) -> dict[str, int] | None:
        if not isinstance(value, dict):
            self._add(path, "not-a-table", f"found {_shown_value(value)}", "a table of weights is accepted")
            return None
        self._unknown_keys(value, CRITERIA, path)
        wrong = [key for key, weight in value.items() if not _is_weight(weight)]
        for key in wrong:
            self._add(
                (*path, key),
                "not-a-weight",
                f"found {_shown_value(value[key])}",
                "a whole number from 0 to 100 is accepted",
            )
        return None if wrong else value

    def _rates(self, value: Any, path: tuple[str | int, ...]) -> dict[str, float] | None:
        """What one of each other currency costs."""
        if not isinstance(value, dict):
            self._add(path, "not-a-table", f"found {_shown_value(value)}", "a table of rates is accepted")
            return None
        self._unknown_keys(value, CURRENCIES, path)
        wrong = [code for code, rate in value.items() if not _is_rate(rate)]
        for code in wrong:
            self._add(
                (*path, code),
                "not-a-rate",
                f"found {_shown_value(value[code])}",
                "what one of it costs is accepted, such as 1.08",
            )
        return None if wrong else {code: float(rate) for code, rate in value.items()}

    def _scalar(self, field: dataclasses.Field[Any], hint: Any, value: Any, path: tuple[str | int, ...]) -> Any:
        name = field.name
        if hint is bool:
            return _expect(value, bool, "true or false is accepted")
        if hint is str:
            return _known_word(field, _expect(value, str, "text in quotes is accepted"))
        if hint is BoltCircle:
            return bolt_circle(_expect(value, str, 'a bolt circle in quotes is accepted, such as "8x6.5 in"'))
        if name.endswith("_cents_per_kg"):
            text = _expect(value, str, "money by mass in quotes is accepted")
            return _possible(field, money_per_mass(text, currency=self._currency), value)
        suffix = next((suffix for suffix in DIMENSIONS if name.endswith(f"_{suffix}")), None)
        if suffix == "n_per_m" and isinstance(value, str) and value.casefold().split() == LEVELED:
            return math.inf
        if suffix is not None:
            size, plus_or_minus = _with_unit(value, suffix)
            _refuse_beyond(suffix, size, value)
            if suffix == "deg" and abs(size) >= QUARTER_TURN_DEG:
                raise UnitError("beyond-a-quarter", f"found {_shown_value(value)}", "an angle below 90 deg is accepted")
            least = field.metadata.get("least", "positive")
            if plus_or_minus is not None and least == "positive" and plus_or_minus >= size:
                raise UnitError(
                    "not-a-tolerance",
                    f"found {_shown_value(value)}, off by more than its size",
                    "a plus-or-minus below the size itself is accepted",
                )
            if plus_or_minus is not None:
                self._tolerances[".".join(str(part) for part in (*path[:-1], name))] = plus_or_minus
            return _possible(field, size, value)
        if name.endswith("_cents"):
            cents = money_cents(_as_text(value), currency=self._currency)
            _refuse_beyond("cents", cents, value)
            return _possible(field, cents, value, least="zero")
        if name == "present_reads_ppm":
            return rounded(reading_share(_as_text(value)) * 1_000_000)
        if name.endswith("_ppm"):
            return _part(_possible(field, rounded(_share(value) * 1_000_000), value, least="zero"), value)
        plain = number(_as_text(value))
        _refuse_beyond("", float(plain), value)
        if hint is int and plain.denominator != 1:
            raise UnitError("not-whole", f"found {_shown_value(value)}", "a whole number is accepted")
        return _possible(field, int(plain) if hint is int else float(plain), value)

    def _files(self, table: Any) -> Files:
        if not isinstance(table, dict):
            self._add(("files",), "not-a-table", f"found {_shown_value(table)}", "a table is accepted: [files]")
            return Files()
        self._unknown_keys(table, (*KINDS, "headers", "bad_rows"), ("files",))
        lists = {plural: self._list_files(plural, table.get(plural, [])) for plural in KINDS}
        for plural in ("wheels", "tires", "ratios", "differentials"):
            if not table.get(plural):
                self._add(
                    ("files", plural),
                    "missing-key",
                    "not given",
                    f"a list of {plural} is needed",
                    f'Write {plural} = ["{plural}.csv"]',
                )
        bad_rows = table.get("bad_rows", "set aside")
        if bad_rows not in {"set aside", "stop"}:
            self._add(
                ("files", "bad_rows"),
                "unknown-word",
                f"found {_shown_value(bad_rows)}",
                "accepted are: set aside, stop",
            )
        return Files(**lists, headers=self._headers(table.get("headers", {})), bad_rows=bad_rows)

    def _entries(self, plural: str, given: Any) -> list[tuple[rules.Entry, rules.Tell]]:
        """Entries of the lists of a kind that read, each with what tells its problems."""
        entries: list[tuple[rules.Entry, rules.Tell]] = []
        for number_, one in enumerate(given if isinstance(given, list) else [given]):
            tell = partial(self._tell_entry, plural, number_)
            entry = rules.checked(one, tell)
            if entry is not None:
                entries.append((entry, tell))
        return entries

    def _tell_entry(self, plural: str, number_: int, key: str, *problem: str) -> None:
        """A problem of an entry, at its own line where it is a table of its own."""
        own: tuple[str | int, ...] = ("files", plural, number_, key)
        is_placed = bool(key) and own in self._lines
        self._add(own if is_placed else ("files", plural), *problem)

    def _list_files(self, plural: str, given: Any) -> tuple[ListFile, ...]:
        files = []
        for entry, tell in self._entries(plural, given):
            for match in rules.matches(entry, self._folder, tell):
                shared = rules.shared_of(self.shared_of(match.path.parent).entries.get(plural, []), match.path)
                is_pattern = match.path != self._folder / entry["path"]
                shown = str(Path(entry["path"]).with_name(match.path.name)) if is_pattern else entry["path"]
                files.append(rules.rule_of(entry, shared, match, shown))
        return tuple(files)

    def shared_of(self, folder: Path) -> Shared:
        """What the suppliers.toml of a folder of lists says; read once."""
        path = folder / rules.SHARED
        if path not in self._shared:
            text = _text(path, rules.SHARED, self._report) if path.is_file() else None
            tables = None if text is None else _parsed(text, rules.SHARED, self._report)
            own = _JobReader(rules.SHARED, folder, line_of_keys(text or ""), self._report)
            self._shared[path] = own.shared(tables or {}, self._currency)
        return self._shared[path]

    def shared(self, tables: dict[str, Any], currency: Currency) -> Shared:
        """The rules and suppliers of a suppliers.toml."""
        self._currency = currency
        self._unknown_keys(tables, ("files", "suppliers"), ())
        files = tables.get("files", {})
        self._unknown_keys(files if isinstance(files, dict) else {}, KINDS, ("files",))
        entries = {
            plural: [entry for entry, _ in self._entries(plural, files[plural])]
            for plural in KINDS
            if isinstance(files, dict) and plural in files
        }
        field = next(field for field in dataclasses.fields(Job) if field.name == "suppliers")
        suppliers = self._several(field, Supplier, tables.get("suppliers", []), ("suppliers",))
        return Shared(entries, suppliers or ())

    def _headers(self, table: Any) -> dict[str, dict[str, str]]:
        path = ("files", "headers")
        if not isinstance(table, dict) or not all(isinstance(entry, dict) for entry in table.values()):
            self._add(
                path, "not-a-table", f"found {_shown_value(table)}", "tables are accepted: [files.headers.wheels]"
            )
            return {}
        self._unknown_keys(table, KINDS, path)
        given = {plural: table[plural] for plural in KINDS if plural in table}
        return {plural: {word: str(ours) for word, ours in words.items()} for plural, words in given.items()}

    def _check_whole(self, job: Job) -> None:
        """What only the job as a whole can show to be wrong."""
        if job.job.format != FORMAT:
            self._add(("job", "format"), "unknown-format", f"found {job.job.format}", f"format = {FORMAT} is accepted")
        if job.order.criteria and job.weights:
            self._add(("order",), "weights-and-order", "both [weights] and [order]", "one of the two is accepted")
        if job.weights and not any(job.weights.values()):
            self._add(("weights",), "no-weight", "every weight is 0", "at least one weight above 0 is needed")
        gear, gears = job.transmission.cruise_gear, job.transmission.gears
        if gears and not math.isnan(gear) and gear not in gears:
            self._add(
                ("transmission", "cruise_gear"),
                "no-such-gear",
                f"found {gear:g}",
                f"one of the gears is accepted: {', '.join(f'{one:g}' for one in gears)}",
            )
        self._check_order(job)
        self._check_band("rake", job.targets.rake_min_mm, job.targets.rake_max_mm)
        self._check_band("frame_rake", job.targets.frame_rake_min_deg, job.targets.frame_rake_max_deg)
        self._check_band("scrub", job.targets.scrub_min_mm, job.targets.scrub_max_mm)
        self._check_band("fender_gap", job.targets.fender_gap_min_mm, job.targets.fender_gap_max_mm)
        for number_, point in enumerate(job.targets.cruise):
            if point.min_rpm > point.max_rpm:
                self._add(
                    ("targets", "cruise", number_, "min"),
                    "band-reversed",
                    f"above max, {point.max_rpm:g} rpm",
                    "the lower end first",
                )
        for axle in AXLES:
            self._check_bar(job, axle)
            self._check_scales(job, axle)
        self._check_suppliers(job)
        speeds = [point.at_rpm for point in job.engine.torque]
        if speeds != sorted(set(speeds)):
            self._add(
                ("engine", "torque"),
                "not-rising",
                "engine speeds that do not rise",
                "each [[engine.torque]] at a higher speed than the one before",
            )
        self._check_cases(job)
        self._check_trailer(job)
        low, high, aim = job.targets.cruise_min_rpm, job.targets.cruise_max_rpm, job.targets.cruise_aim_rpm
        if low > high:
            self._add(
                ("targets", "cruise_min"),
                "band-reversed",
                f"{low:g} rpm is above cruise_max, {high:g} rpm",
                "the lower end first",
            )
        if aim < low or aim > high:
            self._add(
                ("targets", "cruise_aim"),
                "outside-band",
                f"{aim:g} rpm lies outside cruise_min to cruise_max",
                "an aim inside the band is accepted",
            )
        if job.surface.friction_low > job.surface.friction_high:
            self._add(("surface", "friction_low"), "friction-reversed", "above friction_high", "the lower one first")
        names = [station.name for station in job.ballast.stations]
        for name in sorted({name for name in names if names.count(name) > 1}):
            self._add(("ballast", "stations"), "duplicate-name", f'two stations are called "{name}"', "one name each")

    def _check_band(self, key: str, low: float, high: float) -> None:
        if low > high:
            self._add(("targets", f"{key}_min"), "band-reversed", f"above {key}_max", "the lower end first")

    def _check_scales(self, job: Job, axle: Axle) -> None:
        """An axle is weighed once; and a hub stands below the top of its tire's free radius."""
        whole = getattr(job.loads, f"{axle}_axle_kg")
        corners = [getattr(job.loads, f"{axle}_{side}_kg") for side in ("left", "right")]
        if not math.isnan(whole) and not all(map(math.isnan, corners)):
            self._add(
                ("loads", f"{axle}_axle"),
                "weighed-twice",
                f"beside {axle}_left and {axle}_right",
                "the axle's load or that of its two wheels is accepted",
            )
        if math.isnan(corners[0]) != math.isnan(corners[1]):
            self._add(
                ("loads", f"{axle}_left"),
                "one-wheel-weighed",
                f"one of {axle}_left and {axle}_right",
                "the loads of both wheels are accepted",
            )
        height = getattr(job.present, f"{axle}_hub_height_mm")
        diameter = getattr(job.present, f"{axle}_tire_diameter_mm")
        if height >= diameter / 2.0:
            self._add(
                ("present", f"{axle}_hub_height"),
                "above-the-radius",
                f"{height:.0f} mm, but half of {axle}_tire_diameter is {diameter / 2.0:.0f} mm",
                "a hub height below half the tire's diameter is accepted: a loaded tire sinks in",
            )
        beam, states = getattr(job.axle, axle), getattr(job.wheelhouse, axle).states()
        if beam.dual:
            self._add(
                ("axle", axle, "dual"),
                "dual-wheels",
                "dual wheels",
                "single wheels are accepted: spacing, matched diameters and the second load index of duals are "
                "not worked out",
            )
        if any(item.lateral_mm for item in job.loads.items) and math.isnan(beam.track_mm):
            self._add(
                ("axle", axle, "track"),
                "missing-key",
                "not given, but an item has a lateral",
                f"[axle.{axle}] track is needed: what lies to one side loads its tires by it",
            )
        if not beam.live:
            return
        travels = [
            states[name].travel_mm * sign for name, sign in (("full_bump", 1.0), ("full_droop", -1.0)) if name in states
        ]
        if len(travels) == 2 and sum(travels) >= beam.stop_distance_mm:
            self._add(
                ("axle", axle, "stop_distance"),
                "tilts-over",
                f"found {beam.stop_distance_mm:.0f} mm",
                "a distance between the stops longer than bump and droop together is accepted",
            )

    def _check_suppliers(self, job: Job) -> None:
        names = [supplier.name for supplier in job.suppliers]
        for name in sorted({name for name in names if names.count(name) > 1}):
            self._add(("suppliers",), "duplicate-name", f'two suppliers are called "{name}"', "one name each")
        for number_, supplier in enumerate(job.suppliers):
            if supplier.freight_free_from_cents is not None and supplier.freight_cents is None:
                self._add(
                    ("suppliers", number_, "freight_free_from"),
                    "missing-key",
                    "without freight",
                    "freight beside it is accepted: what an order below that costs",
                )

    def _check_bar(self, job: Job, axle: Axle) -> None:
        length = getattr(job.panhard, f"{axle}_length_mm")
        for name, state in getattr(job.wheelhouse, axle).states().items():
            way = {"full_bump": 1.0, "laid_out": 1.0, "full_droop": -1.0}.get(name, 0.0)
            if state.travel_mm * way < 0:
                up = "up from ride height, positive" if way > 0 else "down from ride height, negative"
                self._add(
                    ("wheelhouse", axle, name, "travel"),
                    "travel-reversed",
                    f"found {state.travel_mm:g} mm",
                    f"travel {up}, is accepted here",
                )
            if state.lock_deg > job.steering.lock_deg:
                self._add(
                    ("wheelhouse", axle, name, "lock"),
                    "lock-beyond-steering",
                    f"found {state.lock_deg:g} deg",
                    f"at most the lock of [steering], {job.steering.lock_deg:g} deg, is accepted",
                )
            rise = getattr(job.panhard, f"{axle}_rise_mm")
            if max(abs(rise), abs(rise - state.travel_mm)) >= length:
                self._add(
                    ("wheelhouse", axle, name, "travel"),
                    "beyond-the-bar",
                    f"found {abs(state.travel_mm):g} mm",
                    f"travel shorter than the Panhard bar, {length:g} mm, is accepted",
                )

    def _check_cases(self, job: Job) -> None:
        if not job.loads.cases:
            return
        for number_, item in enumerate(job.loads.items):
            for case in item.cases:
                if case not in job.loads.cases:
                    near = nearest(case, job.loads.cases)
                    self._add(
                        ("loads", "items", number_, "cases"),
                        "unknown-case",
                        f'found "{case}"',
                        f'the nearest in [loads] cases is "{near}"'
                        if near
                        else f"[loads] cases are: {', '.join(job.loads.cases)}",
                    )

    def _check_trailer(self, job: Job) -> None:
        trailer = job.trailer
        for name in ("tongue_kg", "station_mm") if trailer.is_pulled else ():
            if math.isnan(getattr(trailer, name)):
                self._add(
                    ("trailer", key_of(name)),
                    "missing-key",
                    "not given, but a trailer has a mass",
                    "it is needed: what the tongue puts on the axles",
                )
        if trailer.tongue_kg > trailer.mass_kg:
            self._add(
                ("trailer", "tongue"),
                "above-the-mass",
                f"{trailer.tongue_kg:.0f} kg is above the trailer's mass",
                "a tongue weight below the trailer's mass is accepted",
            )
        for case in trailer.cases if job.loads.cases else ():
            if case not in job.loads.cases:
                self._add(
                    ("trailer", "cases"),
                    "unknown-case",
                    f'found "{case}"',
                    f"[loads] cases are: {', '.join(job.loads.cases)}",
                )

    def _check_order(self, job: Job) -> None:
        for criterion in job.order.criteria:
            if criterion not in CRITERIA:
                near = nearest(criterion, CRITERIA)
                known = f'the nearest known is "{near}"' if near else f"known are: {', '.join(CRITERIA)}"
                self._add(("order", "criteria"), "unknown-criterion", f'found "{criterion}"', known)
        if len(set(job.order.criteria)) < len(job.order.criteria):
            self._add(("order", "criteria"), "duplicate-name", "a criterion stands twice", "each once is accepted")


def _is_rate(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value) and value > 0


def _is_weight(value: Any) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and 0 <= value <= 100


def _arms(hint: Any) -> list[Any]:
    """What a value may be, None left out."""
    arms = typing.get_args(hint) if typing.get_origin(hint) in (typing.Union, types.UnionType) else (hint,)
    return [arm for arm in arms if arm is not type(None)]


def _word_or_chance(field: dataclasses.Field[Any], value: Any) -> str | float:
    """One of the field's words, or a chance between a half and one."""
    words = field.metadata["words"]
    if value in words:
        return str(value)
    accepted = f"accepted are: {', '.join(words)}, or a chance above 0.5 and below 1, such as 0.99"
    try:
        chance = float(_share(value))
    except UnitError as error:
        raise UnitError("unknown-word", f"found {_shown_value(value)}", accepted) from error
    if not 0.5 < chance < 1.0:
        raise UnitError("not-a-chance", f"found {_shown_value(value)}", accepted)
    return chance


def _expect(value: Any, kind: type, accepted: str) -> Any:
    if not isinstance(value, kind):
        raise UnitError("wrong-type", f"found {_shown_value(value)}", accepted)
    return value


def _known_word(field: dataclasses.Field[Any], text: str) -> str:
    words = field.metadata.get("words", ())
    if words and text not in words:
        raise UnitError("unknown-word", f'found "{text}"', f"accepted are: {', '.join(words)}")
    if not text.strip():
        raise UnitError("empty", "found an empty text", "a text is accepted; leave the key out where there is none")
    return thread(text) if field.metadata.get("is_thread") else text


def _refuse_beyond(suffix: str, size: float, value: Any) -> None:
    """Refuse a size that no truck has.

    Raises
    ------
    UnitError
        `not-on-a-truck`.
    """
    most = MOST_IN_A_JOB[suffix]
    if abs(size) > most:
        unit = DIMENSIONS[suffix].pint_unit if suffix in DIMENSIONS else suffix
        raise UnitError(
            "not-on-a-truck",
            f"found {_shown_value(value)}",
            f"at most {most:,.0f} {unit}".rstrip(),
            "Is a digit or a unit amiss?",
        )


def _with_unit(value: Any, suffix: str) -> tuple[float, float | None]:
    """A size and its plus-or-minus, None where none is stated."""
    dimension = DIMENSIONS[suffix]
    if not isinstance(value, str):
        raise UnitError("no-unit", f"found {_shown_value(value)}, without a unit", dimension.accepted())
    return measured(value, dimension)


def _possible(field: dataclasses.Field[Any], size: float, value: Any, *, least: str | None = None) -> float:
    least = least or field.metadata.get("least", "positive")
    wrong = not math.isfinite(size) or (least == "positive" and size <= 0) or (least == "zero" and size < 0)
    if wrong:
        accepted = "a size above zero is accepted" if least == "positive" else "zero or more is accepted"
        raise UnitError("not-positive", f"found {_shown_value(value)}", accepted)
    return size


def _part(ppm: float, value: Any) -> float:
    """A share of at most one: 6 without its per cent sign is a slip."""
    if ppm > 1_000_000:
        raise UnitError(
            "above-one",
            f"found {_shown_value(value)}, more than the whole",
            "a share up to 100 % is accepted, such as 6 % or 0.06",
        )
    return ppm


def _share(value: Any) -> Fraction:
    return share(_as_text(value))


def _as_text(value: Any) -> str:
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise UnitError("wrong-type", f"found {_shown_value(value)}", "a number is accepted")
    return value if isinstance(value, str) else repr(value)


def _shown_value(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    return f'"{value}"' if isinstance(value, str) else repr(value)

"""What an unknown sheet seems to be: its kind, its header, what each column means and in which unit, and its rows.

A proposal decides nothing. A unit is proposed where the values of a column are plausible on a truck in one unit alone;
where several are, and for every load, mass and amount of money, the question is asked instead.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from combo.job import ListFile
from combo.parts import KINDS, Field, Kind
from combo.plausible import plausible
from combo.problems import Place, Problem
from combo.read.cache import Wanted
from combo.read.cells import SPREADS
from combo.read.dates import pattern_of
from combo.read.headers import RATIO_RANGE, RIM_RANGE, Dictionary, dimension_of
from combo.read.layout import kind_of
from combo.read.lists import Sheet, grids_of, is_blank, meanings_of, read_lists, reads_as, sheets_in
from combo.read.load import settled
from combo.read.report import ListReport, SetAside
from combo.read.rules import SHARED
from combo.read.toml import rules_beside
from combo.units import UnitError, factor, number

SAMPLE = 5
_UNITS = {"mm": ("in", "mm"), "kpa": ("psi", "kPa")}
"""Units that a column may be in, by dimension; one that is not here is asked for."""
_NEVER = {"load_rating", "mass"}
_LEAST_SHARE = 0.98  # of a column's numbers that must be plausible in a unit: one slip does not hide it


@dataclass(frozen=True)
class Column:
    """A column of a sheet: what it seems to mean, in which unit, and why; `asks` are the units between which it is for
    somebody to choose, empty where nothing is to ask. `inferred` says that the unit stands nowhere in the sheet.
    """

    header: str
    field: str
    unit: str = ""
    why: str = ""
    asks: tuple[str, ...] = ()
    inferred: bool = False


@dataclass(frozen=True)
class Proposal:
    """What a sheet seems to be. `rows` are the parts as they will be read, each with its row and what the sheet states
    under the names of the part tables; `told` is what reading has to tell; `of_several` that its file has more sheets.
    """

    file: str
    kind: Kind
    sheet: str | None
    header_row: int
    date: str
    columns: tuple[Column, ...]
    unused: tuple[str, ...]
    rows: tuple[dict[str, Any], ...]
    aside: tuple[SetAside, ...]
    told: tuple[Problem, ...] = field(default=(), repr=False)
    of_several: bool = False


@dataclass(frozen=True)
class Answers:
    """What somebody says of a sheet: what it lists, its sheet, whose it is, words and units as `COLUMN=...`."""

    kind: str = ""
    sheet: str | None = None
    supplier: str = ""
    headers: tuple[str, ...] = ()
    units: tuple[str, ...] = ()


def proposed(path: Path, answers: Answers) -> list[tuple[Proposal, ListFile]]:
    """Proposals for the lists in a file, each with the rules that it has already: those of suppliers.toml beside it,
    and the answers given.

    Raises
    ------
    Problems
        Where the file is no list, or the word for a kind is none.
    """
    report = ListReport()
    wanted = kind_named(answers.kind)
    if answers.kind and wanted is None:
        report.add(Place("--kind"), "unknown-word", f'found "{answers.kind}"', f"accepted are: {', '.join(KINDS)}")
    ruled = rules_beside(path, report)
    known = wanted.plural if wanted else next(iter(ruled), "")
    own = ruled.get(known, ListFile(str(path), path.name))
    own = dataclasses.replace(
        own,
        sheet=own.sheet if answers.sheet is None else answers.sheet,
        supplier=answers.supplier or own.supplier,
        headers=_answered("--header", own.headers, answers.headers, report),
        units=_answered("--unit", own.units, answers.units, report),
    )
    report.raise_if_any()
    proposals, problems = propose(own, KINDS.get(known))
    report.problems.extend(problems)
    if not proposals and not report.problems:
        report.add(
            Place(path.name),
            "no-list",
            "no header of a list",
            "a sheet with a header row is expected",
            "Say what it lists: --kind wheels",
        )
    wrong = {"unknown-field", "unused-mapping"} if answers.headers or answers.units else set()
    told = [[problem for problem in one.told if problem.word in wrong] for one in proposals]
    if told and all(told):  # an answer that fits no sheet is a slip
        report.problems.extend(told[0])
    report.raise_if_any()
    return [(one, own) for one in proposals]


def _answered(
    option: str, known: tuple[tuple[str, str], ...], answers: tuple[str, ...], report: ListReport
) -> tuple[tuple[str, str], ...]:
    """Pairs of a rule with those of the answers, such as `B.S.=in`."""
    pairs = dict(known)
    for answer in answers:
        column, found, said = answer.rpartition("=")
        if not found or not column.strip() or not said.strip():
            report.add(Place(option), "not-an-answer", f'found "{answer}"', 'COLUMN=... is accepted, such as "B.S.=in"')
        else:
            pairs[column.strip()] = said.strip()
    return tuple(sorted(pairs.items()))


def add_rules(path: Path, proposals: list[tuple[Proposal, ListFile]]) -> tuple[Path, str]:
    """Path and text of the suppliers.toml beside a list, with the rules of its proposals behind what stands there.

    Raises
    ------
    Problems
        Where there is a rule for the file and its kind already.
    """
    report = ListReport()
    rules_file = path.parent / SHARED
    ruled = rules_beside(path, report)
    for one, _ in proposals:
        if not one.rows:
            report.add(
                Place(path.name, table=one.sheet),
                "nothing-read",
                "no row reads",
                "a rule that reads some rows",
                "Answer what is asked first: --kind, --header, --unit",
            )
        elif one.kind.plural in ruled:
            report.add(
                Place(SHARED, table=f"files.{one.kind.plural}"),
                "rule-exists",
                f"there is a rule for {path.name}",
                "change it there",
            )
    report.raise_if_any()
    before = rules_file.read_text(encoding="utf-8") if rules_file.is_file() else ""
    gap = "\n" if before and not before.endswith("\n\n") else ""
    return rules_file, before + gap + "\n".join(rule_text(one, own) for one, own in proposals)


def propose(file: ListFile, kind: Kind | None = None) -> tuple[list[Proposal], list[Problem]]:
    """Proposals for every list in a file, sheet by sheet; [] with the problems where there is none.

    The file's rules count as they stand: what they say is not proposed again.
    """
    report = ListReport()
    grids = grids_of(file, report)
    words = {plural: Dictionary(own, dict(file.headers), dict(file.units)) for plural, own in KINDS.items()}
    proposals = []
    for grid in grids:
        own = kind or kind_of(grid, words, reads_as)
        if own is None:
            continue
        of_sheet = dataclasses.replace(file, sheet=grid.sheet)
        for sheet in sheets_in(own, of_sheet, grid, words[own.plural], ListReport())[:1]:
            proposals.append(dataclasses.replace(_proposal(own, of_sheet, sheet), of_several=len(grids) > 1))
    return proposals, report.problems


def _proposal(kind: Kind, file: ListFile, sheet: Sheet) -> Proposal:
    columns = tuple(_columns(sheet))
    units = {column.header: column.unit for column in columns if column.inferred and column.unit}
    ruled = dataclasses.replace(file, units=tuple(sorted({**units, **dict(file.units)}.items())))
    report = ListReport()
    lists = read_lists(kind, (ruled,), {}, report)
    kept = settled(Wanted(kind, (ruled,), {}), lists, report)
    aside = {one.problem.place.row for one in kept.aside}
    rows = [_stated(kind, row) for _, row in lists.table.iterrows() if row["row"] not in aside]
    known = {column.header for column in columns}
    unused = tuple(header for header in sheet.header if header and header not in known)
    date = lists.sheets[0].date if lists.sheets else ""
    return Proposal(
        sheet.grid.file,
        kind,
        sheet.grid.sheet,
        sheet.block.header_rows[0],
        date,
        columns,
        unused,
        tuple(rows),
        tuple(sorted(kept.aside, key=lambda one: one.problem.place.row or 0)),
        (*kept.problems, *kept.notices),
    )


def _columns(sheet: Sheet) -> list[Column]:
    columns = []
    for at, header in meanings_of(sheet, ListReport()).items():
        text, name = sheet.header[at], header.name
        own = sheet.kind.field(SPREADS.get((sheet.kind.name, name), (name,))[0])
        if header.unit is not None:
            why = "its rule" if text in dict(sheet.file.units) else "its header"
            columns.append(Column(text, name, header.unit, f"unit from {why}"))
            continue
        why = "its rule" if text in dict(sheet.file.headers) else "its name"
        columns.append(_with_unit(sheet.kind, Column(text, name, why=why), own, sheet.texts(at).present()))
    return columns


def _with_unit(kind: Kind, column: Column, own: Field, texts: Sequence[str]) -> Column:
    """A column with the unit that its bare numbers must have, or the units between which to choose."""
    dimension = dimension_of(own)
    if dimension is None or own.type == "bolt_circle" or column.field == "size":
        return column
    numbers = _bare(texts, is_range=column.field in {RIM_RANGE, RATIO_RANGE})
    if not numbers:
        return column
    told = f"{min(numbers):g} to {max(numbers):g}" if min(numbers) < max(numbers) else f"{numbers[0]:g}"
    if own.bare_unit:
        return dataclasses.replace(column, unit=own.bare_unit, why=f"{told}: rim sizes are inches", inferred=True)
    units = _UNITS.get(dimension.suffix, ())
    if own.name in _NEVER or not units:
        choice = {"kg": ("lb", "kg"), "n_m": ("lb-ft", "N m")}.get(dimension.suffix, units)
        return dataclasses.replace(column, why=f"{told}, without a unit", asks=choice)
    ends = plausible(f"{kind.name}.{own.columns[-1]}")
    fits = [unit for unit in units if ends is not None and _are_plausible(numbers, factor(unit, dimension), ends)]
    if len(fits) == 1:
        return dataclasses.replace(column, unit=fits[0], why=f"{told} can only be {fits[0]}", inferred=True)
    return dataclasses.replace(column, why=f"{told}, without a unit", asks=tuple(fits) or units)


def _bare(texts: Sequence[str], *, is_range: bool) -> list[float]:
    """Numbers among the texts that have no unit; of ranges both ends."""
    found = []
    for text in texts:
        for part in text.split("-") if is_range else [text]:
            try:
                found.append(float(number(part)))
            except UnitError:
                continue
    return found


def _are_plausible(numbers: list[float], unit: float, ends: tuple[float, float]) -> bool:
    fits = [ends[0] <= size * unit <= ends[1] for size in numbers]
    return sum(fits) >= _LEAST_SHARE * len(fits)


def _stated(kind: Kind, row: pd.Series[Any]) -> dict[str, Any]:
    """What a row states, under the names of the part tables with the unit behind."""
    stated: dict[str, Any] = {"row": int(row["row"])}
    for own in kind.fields:
        values = [row[column] for column in own.columns]
        if own.name == "supplier" or any(map(is_blank, values)):
            continue
        if own.type == "bolt_circle":
            stated[own.name] = {"lugs": int(values[0]), "mm": _plain(values[1])}
        else:
            stated[own.column] = "".join(values[0].split()) if own.name == "designation" else _plain(values[0])
    return stated


def _plain(value: Any) -> Any:
    """A value as JSON has it: a whole number without its point, a size to a thousandth."""
    if not isinstance(value, float | np.floating):
        return value
    return int(value) if float(value).is_integer() else round(float(value), 4)


def rule_text(proposal: Proposal, file: ListFile) -> str:
    """The proposal as an entry of the rules file; what was asked stands in it as a comment. A date in the file's name
    is left open, so that the rule holds for the next price list.
    """
    lines = [f"[[files.{proposal.kind.plural}]]", f"path = {_quoted(pattern_of(Path(file.path).name))}"]
    if file.supplier:
        lines.append(f"supplier = {_quoted(file.supplier)}")
    if proposal.sheet is not None and (file.sheet is not None or proposal.of_several):
        lines.append(f"sheet = {_quoted(proposal.sheet)}")
    if file.header_row:
        lines.append(f"header_row = {file.header_row}")
    units = {column.header: column.unit for column in proposal.columns if column.inferred and column.unit}
    said = {**units, **dict(file.units)}
    if file.headers:
        lines.append(f"headers = {_table(dict(file.headers))}")
    if said:
        lines.append(f"units = {_table(said)}")
    for column in proposal.columns:
        if column.asks and column.header not in said:
            lines.append(f"# units: {_quoted(column.header)} is in {' or '.join(column.asks)}? ({column.why})")
    if units:
        lines.append("confirmed = false  # true once you have checked the units")
    return "\n".join(lines) + "\n"


def _table(words: dict[str, str]) -> str:
    pairs = ", ".join(f"{_quoted(word)} = {_quoted(ours)}" for word, ours in words.items())
    return f"{{ {pairs} }}"


def _quoted(text: str) -> str:
    """A text as TOML has it."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(letter if letter.isprintable() else f"\\u{ord(letter):04x}" for letter in escaped) + '"'


def kind_named(word: str) -> Kind | None:
    """The kind of a word such as wheels or tire."""
    return next((kind for plural, kind in KINDS.items() if word.casefold() in {plural, kind.name}), None)

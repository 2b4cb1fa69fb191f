"""What was read of the lists, and what an unknown sheet seems to be: on the terminal and as JSON."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Any

from rich.table import Table
from rich.text import Text

from combo.parts import KINDS
from combo.problems import in_one_line
from combo.read.changes import ListChange, PriceChange
from combo.read.lists import SheetRead
from combo.read.load import Loaded
from combo.read.propose import SAMPLE, Column, Proposal
from combo.read.report import SetAside, counted
from combo.show import words
from combo.show.machine import FORMAT
from combo.show.plain import json_text
from combo.units import POUND_KG, PSI_KPA

if TYPE_CHECKING:
    from rich.console import Console

_AS_THE_SHOP_SAYS: dict[str, Callable[[float], str]] = {
    "_cents": words.money,
    "_mm": words.typed_inches,
    "_kg": lambda size_kg: f"{size_kg / POUND_KG:.4g} lb",
    "_kpa": lambda size_kpa: f"{size_kpa / PSI_KPA:.3g} psi",
}
_IN_MILLIMETERS = {"offset", "hub_bore", "stud_diameter", "hex", "pilot"}
_TOLD_ELSEWHERE = {"no-unit", "empty-cell", "sheet-not-read"}
"""Words of what a proposal asks or lists by itself."""
_MOST_ROWS, _MOST_NOTES, _MOST_NAMED = 60, 4, 6


def show_lists(out: Console, loaded: Loaded, changes: Iterable[ListChange]) -> None:
    """Every list: what was taken for its header, how many rows are read, which are not and why, what is not used."""
    count = sum(map(len, loaded.aside.values()))
    reads = f"reads, with {count:,} {'row' if count == 1 else 'rows'} set aside" if count else "everything reads"
    out.print(Text(f"{in_one_line(loaded.job.job.name)}: {reads}.", style="bold"))
    for plural in KINDS:
        out.print(f"  {len(loaded.parts.table(plural)):>6} {plural}{_kept(loaded, plural)}", soft_wrap=True)
        for sheet in loaded.sheets.get(plural, ()):
            own = [one for one in loaded.aside.get(plural, ()) if one.is_in(sheet.file, sheet.sheet)]
            _show_sheet(out, sheet, own)
    for change in changes:
        out.print(_change(change), soft_wrap=True)
    for notice in loaded.notices:
        if notice.word != "rows-set-aside":
            out.print(f"- note: {notice.text()}", soft_wrap=True)


def _kept(loaded: Loaded, plural: str) -> str:
    extra = loaded.parts.extra.get(plural)
    names = [in_one_line(str(name)) for name in extra.columns] if extra is not None else []
    more = f" and {len(names) - 20:,} more" if len(names) > 20 else ""
    return f"; columns not used: {', '.join(names[:20])}{more}" if names else ""


def _show_sheet(out: Console, sheet: SheetRead, aside: list[SetAside]) -> None:
    """One list, in a line; the rows that are set aside, each in its own."""
    name = f'{sheet.file}, sheet "{sheet.sheet}"' if sheet.sheet else sheet.file
    about = ", ".join(word for word in (sheet.supplier, sheet.date) if word)
    rows = "row" if sheet.rows == 1 else "rows"
    read = f"{sheet.rows - len(aside):,} of {sheet.rows:,} {rows} read" if aside else f"{sheet.rows:,} {rows} read"
    about = f" ({about})" if about else ""
    out.print(f"         {name}{about}: header in row {sheet.header_row}; {read}{_notes(sheet)}", soft_wrap=True)
    if aside:
        out.print(f"         {len(aside):,} set aside: {counted(aside)}", soft_wrap=True)
    for one in aside[:_MOST_ROWS]:
        place = one.problem.place
        column = f' "{in_one_line(place.column)}"' if place.column else ""
        out.print(f"           row {place.row}{column}: {one.why}: {in_one_line(one.problem.found)}", soft_wrap=True)
    if len(aside) > _MOST_ROWS:
        out.print(f"           ... and {len(aside) - _MOST_ROWS:,} more; combo export lists them all", soft_wrap=True)


def _notes(sheet: SheetRead) -> str:
    """Rows that hold no part, by their first words."""
    if not sheet.notes:
        return ""
    told = ", ".join(f'{row} "{in_one_line(text)[:30]}"' for row, text in sheet.notes[:_MOST_NOTES])
    more = f" and {len(sheet.notes) - _MOST_NOTES} more" if len(sheet.notes) > _MOST_NOTES else ""
    return f"; rows without a part: {told}{more}"


def _change(change: ListChange) -> str:
    """What a price list changes, against the one before it."""
    counts = [
        _named(change.new, "new"),
        _named(change.gone, "gone"),
        _priced(change.dearer, "dearer"),
        _priced(change.cheaper, "cheaper"),
    ]
    told = "; ".join(one for one in counts if one) or "no price has changed"
    return f"- {change.file} against {change.older}: {told}"


def _named(skus: tuple[str, ...], word: str) -> str:
    more = f" and {len(skus) - _MOST_NAMED:,} more" if len(skus) > _MOST_NAMED else ""
    return f"{len(skus):,} {word} ({in_one_line(', '.join(skus[:_MOST_NAMED]))}{more})" if skus else ""


def _priced(moved: tuple[PriceChange, ...], word: str) -> str:
    named = ", ".join(
        f"{one.sku} {words.money(one.before_cents)} to {words.money(one.now_cents)}" for one in moved[:_MOST_NAMED]
    )
    more = f" and {len(moved) - _MOST_NAMED:,} more" if len(moved) > _MOST_NAMED else ""
    return f"{len(moved):,} {word} ({in_one_line(named)}{more})" if moved else ""


def show_proposal(out: Console, proposal: Proposal, rule: str) -> None:
    """What a sheet seems to be: its columns and why, what is to answer, a few rows as they will be read, the rule."""
    sheet = f', sheet "{in_one_line(proposal.sheet)}"' if proposal.sheet else ""
    dated = f", price list of {proposal.date}" if proposal.date else ""
    out.print(
        Text(
            f"{in_one_line(proposal.file)}{sheet}: {len(proposal.rows):,} {proposal.kind.plural}, header in row "
            f"{proposal.header_row}{dated}",
            style="bold",
        )
    )
    out.print(_columns_table(proposal.columns))
    if proposal.unused:
        out.print(f"Not used: {', '.join(map(in_one_line, proposal.unused[:20]))}", soft_wrap=True)
    for column in proposal.columns:
        if column.asks:
            question = f'Is "{in_one_line(column.header)}" in {" or ".join(column.asks)}? ({column.why})'
            out.print(f"{question} It stays unread until the rule says so.", soft_wrap=True)
    if proposal.aside:
        out.print(f"{len(proposal.aside):,} set aside: {counted(proposal.aside)}", soft_wrap=True)
    for one in proposal.aside[:_MOST_ROWS]:
        out.print(f"  row {one.problem.place.row}: {one.why}: {in_one_line(one.problem.found)}", soft_wrap=True)
    for problem in proposal.told:
        if problem.word not in _TOLD_ELSEWHERE:
            out.print(f"- {problem.text()}", soft_wrap=True)
    sample = proposal.rows[:SAMPLE]
    nothing = "No row reads. Say what it lists with --kind, what a column is with --header COLUMN=FIELD."
    out.print(f"The first {len(sample)} as they will be read:" if sample else nothing)
    for row in sample:
        out.print(
            f"  row {row['row']}: " + ", ".join(_stated(name, value) for name, value in row.items() if name != "row"),
            soft_wrap=True,
        )
    out.print("The rule for it (--write puts it into suppliers.toml):")
    out.print(rule, soft_wrap=True)


def _columns_table(columns: tuple[Column, ...]) -> Table:
    table = Table(box=None, pad_edge=False, header_style="bold")
    for name in ("column", "means", "unit", "why"):
        table.add_column(name, overflow="fold")
    for column in columns:
        unit = column.unit or ("?" if column.asks else "")
        table.add_row(in_one_line(column.header), column.field.replace("_", " "), unit, column.why)
    return table


def _stated(name: str, value: Any) -> str:
    """A value as the trade writes it: money in dollars, a bolt circle by its lugs."""
    if isinstance(value, dict):
        return f"{name.replace('_', ' ')} {value['lugs']}x{value['mm']:g}"
    for suffix, told in _AS_THE_SHOP_SAYS.items():
        if name.endswith(suffix) and name.removesuffix(suffix) not in _IN_MILLIMETERS:
            return f"{name.removesuffix(suffix).replace('_', ' ')} {told(value)}"
    return f"{name.replace('_', ' ')} {in_one_line(f'{value}')}"


def proposals_json(proposals: list[Proposal]) -> str:
    """The first proposal as JSON; those of further sheets of the file stand under "more"."""
    first, *more = [_json(one) for one in proposals]
    return json_text({"format": FORMAT, **first} | ({"more": more} if more else {}))


def _json(proposal: Proposal) -> dict[str, Any]:
    return {
        "kind": proposal.kind.plural,
        "sheet": proposal.sheet,
        "header_row": proposal.header_row,
        "date": proposal.date or None,
        "rows": list(proposal.rows),
        "set_aside": [
            {"row": one.problem.place.row, "why": one.why, "found": one.problem.found} for one in proposal.aside
        ],
        "inferred": [
            {"column": one.header, "field": one.field, "unit": one.unit, "why": one.why}
            for one in proposal.columns
            if one.inferred
        ],
        "asks": [
            {"column": one.header, "field": one.field, "units": list(one.asks)} for one in proposal.columns if one.asks
        ],
        "unused": list(proposal.unused),
    }

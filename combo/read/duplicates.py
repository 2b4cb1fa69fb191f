"""A part that several rows list: one supplier's number is one part, two suppliers' are two."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from combo.parts import Kind
from combo.read.lists import SheetRead, are_on_truck, place_of, tell_duplicates
from combo.read.ranges import STEPS, TO_DRILL
from combo.read.report import ListReport

AT = "@"
"""Between a part's number and its supplier, where two suppliers have that number."""
_NO_SPECS = {"sku", "price", "stock", "supplier", "core_charge", "labor_hours", "max_count"}


def settle_duplicates(
    kind: Kind, table: pd.DataFrame, sheets: tuple[SheetRead, ...], report: ListReport
) -> pd.DataFrame:
    """Parts of which each has its own SKU: `number@supplier` where two suppliers have the number.

    Of rows of one supplier and number, with the same specs, the one of the later price list counts, else the dearer;
    with other specs none does. What is on the truck is never passed over.
    """
    if table["sku"].is_unique:
        return table
    dates = {(sheet.file, sheet.sheet): sheet.date for sheet in sheets}
    repeated = table[table["sku"].duplicated(keep=False) & (table["sku"] != "")]
    for _, rows in repeated.groupby(["supplier", "sku"], sort=True):
        if len(rows) > 1 and not are_on_truck(rows).any():
            _settle_one(kind, rows, dates, report)
    table = report.without_aside(table)
    suppliers = table.groupby("sku")["supplier"].transform("nunique").to_numpy()
    is_shared = (suppliers > 1) & (table["supplier"] != "").to_numpy() & ~are_on_truck(table)
    if is_shared.any():
        table = table.assign(sku=np.where(is_shared, table["sku"] + AT + table["supplier"], table["sku"]))
    tell_duplicates(table, report)
    return table


def _settle_one(kind: Kind, rows: pd.DataFrame, dates: dict[tuple[str, str], str], report: ListReport) -> None:
    """Set aside all rows of a part but the one that counts."""
    specs = [
        name
        for own in kind.fields
        if own.name not in _NO_SPECS
        for name in (*own.columns, own.column + STEPS, own.name + TO_DRILL)
        if name in rows
    ]
    first = rows.iloc[0]
    if any(not _same(first, row, specs) for _, row in rows.iterrows()):
        for _, row in rows.iterrows():
            report.set_aside(
                "twice",
                place_of(row, "sku"),
                "twice-with-other-specs",
                f'"{row["sku"]}" is listed {len(rows)} times, with other specs',
                "one part a number",
            )
        return
    each = [row for _, row in rows.iterrows()]
    kept = max(each, key=lambda row: _rank(row, dates))  # the first of several alike
    others = [row for row in each if row is not kept]
    is_later = all(_date(kept, dates) > _date(row, dates) for row in others)
    why = "of the later price list" if is_later else "the dearer"
    for row in others:
        there = f"{kept['file']}, row {kept['row']}"
        report.set_aside(
            "twice",
            place_of(row, "sku"),
            "listed-twice",
            f'"{row["sku"]}" again, at {_price(row)}',
            f"the one {why} is used, {_price(kept)} in {there}",
        )


def _rank(row: pd.Series[Any], dates: dict[tuple[str, str], str]) -> tuple[str, float]:
    """Later before earlier, then dearer before cheaper."""
    return _date(row, dates), float(row["price_cents"])


def _date(row: pd.Series[Any], dates: dict[tuple[str, str], str]) -> str:
    return dates.get((str(row["file"]), str(row["sheet"])), "")


def _price(row: pd.Series[Any]) -> str:
    return f"{float(row['price_cents']) / 100:,.2f}"


def _same(row: pd.Series[Any], other: pd.Series[Any], columns: list[str]) -> bool:
    pairs = ((row[name], other[name]) for name in columns)
    return all(a == b or (a != a and b != b) for a, b in pairs)  # NaN is as NaN

"""Write the price sheets that come as workbooks, the same each time: python make_books.py."""

from __future__ import annotations

import datetime
import re
import zipfile
from pathlib import Path
from typing import Any

from openpyxl import Workbook

HERE = Path(__file__).parent
MADE = datetime.datetime(2026, 11, 1)


def fill(sheet: Any, rows: list[list[Any]]) -> None:
    """Write rows from the first one down; an empty list leaves a row blank."""
    for number, row in enumerate(rows, start=1):
        for column, value in enumerate(row, start=1):
            if value is not None:
                sheet.cell(number, column, value)


def save(book: Workbook, name: str) -> None:
    """Save without the hour of the day, so that the file is the same whenever it is written."""
    path = HERE / name
    book.properties.creator = "price desk"
    book.properties.created = MADE
    book.save(path)
    with zipfile.ZipFile(path) as saved:
        parts = {entry: saved.read(entry) for entry in saved.namelist()}
    stamp = rb"(<dcterms:modified[^>]*>)[^<]*"
    parts["docProps/core.xml"] = re.sub(stamp, rb"\g<1>2026-11-01T00:00:00Z", parts["docProps/core.xml"])
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as again:
        for entry, content in parts.items():
            again.writestr(zipfile.ZipInfo(entry, (2026, 11, 1, 0, 0, 0)), content, zipfile.ZIP_DEFLATED)


def two_lists() -> None:
    """Wheels on one sheet, tires on the next, then the terms."""
    book = Workbook()
    wheels = book.active
    wheels.title = "Wheels"
    fill(
        wheels,
        [
            ["Cedar Bend Wholesale"],
            ["7 Orchard Street, Cedar Bend", None, None, None, None, "Effective 11/01/2026"],
            [],
            ["Part #", "Size", "Bolt Pattern", "B.S. (in)", "C.B. (mm)", "Max Load (lb)", "Jobber", "Country"],
            ["STEEL WHEELS"],
            ["CW-1570", "15x7", "5x4.5", 4, 83.1, 1500, 59, "US"],
            ["CW-1580", "15x8", "6x5.5", 4.5, 108.2, 1900, 66.5, "US"],
            ["CW-1581", "15x8", "6x5.5", "3 3/4", 108.2, 1900, 66.5, "US"],
            ["CW-1680", "16x8", "8x6.5", 4.5, 130.8, 3195, "CALL", "US"],
            [],
            ["ALLOY WHEELS"],
            ["CW-1790", "17x9", "6x5.5/6x135", 5, 108.2, 2500, 189, "US"],
            ["CW-1791", "17x9", "8 Lug 6.5", "4 1/2", 130.8, 3500, 199, "US"],
            ["CW-1890", "18x9", "8x6.5", 5, 130.8, "n/a", 214.75, "US"],
            ["CW-1891", "18x9 ET0", "8x6.5", 6, 130.8, 3500, 214.75, "US"],
            ["CW-2010", "20x10 -25", "8x6.5", 4.5, 130.8, 3640, "$1,279", "US"],
            [],
            ["Prices subject to change without notice"],
        ],
    )
    wheels.merge_cells("A1:H1")
    wheels.merge_cells("A5:H5")
    tires = book.create_sheet("Tires")
    fill(
        tires,
        [
            ["Cedar Bend Wholesale: tires"],
            [],
            [
                "Part #",
                "Size",
                "L.R.",
                "Load Index",
                "O.D.",
                "Max PSI",
                "Rim Range (in)",
                "Weight (lb)",
                "Jobber",
                "Stock",
            ],
            ["CT-100", "LT265/70R17", "E", "121/118S", 31.6, 80, "7.0-8.5", 47.1, 176, 14],
            ["CT-101", "LT245/75R16", "E", "120/116S", 30.5, 80, "6.5-8.0", 42.6, 160, 0],
            ["CT-102", "LT235/85R16", "E", "120/116Q", 31.7, 80, "6.0-7.5", 43.3, 156.25, "12+"],
            ["CT-103", "P235/75R15", None, "105S", 28.8, 44, "6.0-8.0", 28.1, 104, 8],
            ["CT-104", "31x10.50R15LT", "C", "109Q", 30.5, 50, "7.0-9.0", 46.3, 166, 6],
            ["CT-105", "35x12.50-17", "E", "121Q", 34.7, 65, '8.5"-11"', 66, 259, 4],
            ["CT-106", "ST235/80R16", "E", "123/119L", 30.7, 80, "6.0-7.5", 36, 118, 10],
            ["CT-107", "LT2657OR17", "E", "121/118S", 31.6, 80, "7.0-8.5", 47, 171, 2],
            ["CT-108", "LT275/70R18", "E", "125/122S", 33.2, 80, "7.0-8.5", 53.9, None, 5],
            ["CT-109", "LT285/70R17", "D", "121/118R", 32.7, "see sidewall", "7.5-9.0", 53, 219, 3],
        ],
    )
    terms = book.create_sheet("Terms")
    fill(
        terms,
        [
            ["Terms of sale"],
            [],
            ["1.", "Net 30 days; 1 % for payment in ten days."],
            ["2.", "Freight is free from", "$750.00"],
            ["3.", "Returns within 30 days, 15 % restocking."],
        ],
    )
    save(book, "wheels_and_tires.xlsx")


def zeros() -> None:
    """Wheels with numbers as SKUs, line breaks in the header, a size that became a date, a hidden row."""
    book = Workbook()
    sheet = book.active
    sheet.title = "Sheet1"
    fill(
        sheet,
        [
            ["Gristmill Wheel Works"],
            ["Effective", datetime.date(2026, 11, 1)],
            [],
            [
                "Part\nNumber",
                "Wheel\nSize",
                "Bolt\nPattern",
                "Offset\n(mm)",
                "Backspace\n(in)",
                "Center Bore\n(mm)",
                "Load Rating\n(lb)",
                "Weight\n(lb)",
                "Dealer\nNet",
                "On\nHand",
                "UPC",
            ],
            ["STEEL"],
            [81709, "15x7", "5x4.5", 0, 4, 83.1, 1500, 20.5, 59, 12, 15709],
            [81710, datetime.date(2026, 8, 15), "6x5.5", None, 4.5, 108.2, 1900, 24.8, 66, 12, 15710],
            [81711, "15/7", "6x5.5", None, 4, 108.2, 1650, 22.7, 64, 8, 15711],
            [81712, "16x8", "8x6.5", 0, 4.5, 130.8, 3195, 31.2, 88, 8, 15712],
            [81713, "16x8", "8x6.5", -12, "4.0", 130.8, 3195, 31, 88, 0, 15713],
            ["ALLOY"],
            [81720, "17x9", "6x5.5", -12, 4.53, 108.2, 2500, 24.1, 189, 4, 15720],
            [81721, "17x9", "8x6.5", 0, 5, 130.8, 3500, 25.2, 199, 4, 15721],
            [81722, "17x9", "8x6.5", 25, 4.98, 130.8, 3500, 25.2, 199, 4, 15722],
            [81723, "18x9", "8x6.5", 0, 5, 130.8, 3640, "heavy", 229.5, "12+", 15723],
            [81724, "18x9", "6x5.5", 0, 5, 108.2, 2500, 26.8, "disc.", 1, 15724],
            [81709, "15x7", "5x4.5", 0, 4, 83.1, 1500, 20.5, 61, 12, 15709],
            [],
            ["Hub rings are extra."],
        ],
    )
    for row in (*range(6, 11), *range(12, 18)):
        sheet.cell(row, 1).number_format = "0000000"
        sheet.cell(row, 9).number_format = '"$"#,##0.00'
    sheet["B7"].number_format = "d-mmm"
    sheet["B2"].number_format = "mm/dd/yyyy"
    sheet.row_dimensions[13].hidden = True
    for area in ("A1:K1", "A5:K5", "A11:K11"):
        sheet.merge_cells(area)
    save(book, "wheels_zeros.xlsx")


def two_lines() -> None:
    """Tires under a header of two lines with a third for the units, cells merged."""
    book = Workbook()
    sheet = book.active
    sheet.title = "Price Sheet"
    fill(
        sheet,
        [
            ["Millrace Tire", None, None, None, None, None, None, None, None, None, None, "Effective 11/01/2026"],
            [],
            ["Item", "Tire", "Load", "Load", "Overall", "Sec.", "Approved", "Max Load", None, "Revs/", "Weight", "Net"],
            [None, "Size", "Range", "Index", "Diameter", "Width", "Rims", "Single", "Dual", "Mi", None, None],
            [None, None, None, None, "(in)", "(in)", "(in)", "(lb)", "(lb)", None, "(lb)", "($)"],
            ["ALL TERRAIN"],
            ["MT-500", "LT265/70R17", "E", "121/118S", 31.6, 10.7, "7.0-8.5", 3195, 2910, 658, 47.1, 179],
            ["MT-501", "LT245/75R16", "E", "120/116S", 30.5, 9.8, "6.5-8.0", 3042, 2778, 681, 42.6, 162],
            ["MT-502", "LT285/70R17", "E", "121/118R", 32.7, 11.5, '7.5"-9"', 3195, 2910, 636, 54, 221.5],
            ["MT-503", "35x12.50R17LT", "E", "121Q", 34.8, 12.5, '8.5"-11"', 3195, None, 597, 66, 264],
            ["MT-504", "35x12.50-17", "D", "119L", 34.6, 12.4, "8.5-11.0", 3000, None, None, 64, 239],
            ["MT-505", "LT235/85R16", "E", "120/116Q", 31.7, 9.3, "6.0-7.5", 3042, 2778, 655, 43.3, "CALL"],
            [],
            ["HIGHWAY"],
            ["MT-520", "265/70R17", None, "115T", 31.6, 10.7, "7.0-9.0", 2679, None, 658, 38.4, 154],
            ["MT-521", "P235/75R15", None, "105S", 28.8, 9.3, "6.0-8.0", 2028, None, 717, 28.1, 104],
            ["MT-522", "LT225/75R16", "E", "115/112S", 29.3, 8.8, "6.0-7.0", 3195, 2910, 709, 38, 149],
            ["MT-523", "LT275/70R18", "E", "125/122S", 33.2, 11, "7.0-8.5", 3640, 3305, "n/a", 53.9, 228],
            [],
            ["Prices subject to change without notice"],
        ],
    )
    for area in ("A1:K1", "H3:I3", "A3:A5", "K3:K4", "L3:L4", "A6:L6", "A14:L14", "A20:L20"):
        sheet.merge_cells(area)
    save(book, "tires_two_lines.xlsx")


def carriers() -> None:
    """Differentials at list, with a discount that the sheet does not state."""
    book = Workbook()
    sheet = book.active
    sheet.title = "Carriers"
    fill(
        sheet,
        [
            ["Hollow Creek Gear"],
            ["Carriers", None, None, None, None, "List prices. Your discount is on your account letter."],
            [
                "Part #",
                "Family",
                "Type",
                "Low Ratio",
                "High Ratio",
                "Splines",
                "Bias Ratio",
                "Weight (lb)",
                "List",
                "Notes",
            ],
            ["D-12-OL", "HC-12", "Open", 2.73, 3.42, 30, None, 18.5, 175, None],
            ["D-12-OH", "HC-12", "Open", 3.55, 4.88, 30, None, 18.5, 185, None],
            ["D-12-LL", "HC-12", "Limited Slip", 2.73, 3.42, 30, 3.5, 21, 550, None],
            ["D-12-LH", "HC-12", "Limited Slip", "3.55:1", "4.88:1", 30, 2.5, 21, 620, None],
            ["D-12-KH", "HC-12", "Locked", 3.55, 4.88, 30, None, 24.2, 975, None],
            ["D-14-OH", "HC-14", "open", 3.73, "& up", 35, None, 27, 240, "for all deep gears"],
            ["D-14-LH", "HC-14", "limited slip", 3.73, 5.13, 35, 2.5, "TBA", 710, None],
            ["D-14-KH", "HC-14", "Locked", 3.73, 5.13, 35, None, 33, "$1,100", None],
            ["D-14-KX", "HC-14", "Locked", 3.73, 5.13, 35, None, 33, "disc.", "see D-14-KH"],
            ["D-14-XX", "HC-14", "to be named", 3.73, 5.13, 35, None, 33, 900, None],
            [],
            ["Install by the booklet. No returns on used carriers."],
        ],
    )
    sheet.merge_cells("F2:J2")
    save(book, "carriers.xlsx")


def ballast() -> None:
    """Ballast with a weight column of bare numbers."""
    book = Workbook()
    sheet = book.active
    sheet.title = "Ballast 2026"
    fill(
        sheet,
        [
            ["Gravel Pit Road Supply", None, None, None, None, "Effective 11/01/2026"],
            [],
            ["Item", "Name", "Weight", "Length (in)", "Width (in)", "Max Count", "Net", "Stock"],
            ["BAGS"],
            ["00701", "sandbag", 25, 26, 14, 10, "$6.50 ea", "12+"],
            ["00702", "tube sand", 30, 48, 9, 8, "$8.75 ea", 40],
            ["00703", "bag of gravel", 20, "22", "14", 10, 5.25, 0],
            ["BLOCKS AND PLATES"],
            ["00710", "concrete block", 40, 24, 12, 6, 14, 18],
            ["00711", "steel plate", 45, "24 in", "18 in", 6, 92, 6],
            ["00712", "steel plate, thick", "100 lb", 24, 18, 4, 101.25, 3],
            ["00713", "old suitcase weight", 45, "16 1/2", 10, "ask", 64, 4],
            ["00714", "cast block", None, 12, 12, 4, 71, 2],
            ["00715", "cast block, large", 60, 16, 12, 4, "-", 2],
            [],
            ["Pallets are charged at cost"],
        ],
    )
    sheet.merge_cells("A4:H4")
    sheet.merge_cells("A8:H8")
    save(book, "ballast.xlsx")


if __name__ == "__main__":
    two_lists()
    zeros()
    two_lines()
    carriers()
    ballast()

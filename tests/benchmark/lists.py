"""Seeded supplier lists and a job over them: as long as wanted, as uneven as real lists are.

`write_job` writes job.toml and seven CSV files. Sizes are the standard ones of the trade, offsets cluster at what is
usual for a width, prices at the usual endings; some rows are near twins of the one above and some are its equal under
another SKU, so that ties decide; a few cells in a hundred are blank. Truck, names and SKUs are invented. The same
arguments give the same bytes.

With `plain` the job stays in what `enumerate_sql` can say: nominal sizes, no limit on repeats, floors that hold any
ballast, and fewer ways to lay it.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

Texts = list[str]
Draw = np.random.Generator

CIRCLES = {
    "5x114.3": (64.1, 66.1, 67.1, 73.1, 74.1),
    "5x120.65": (70.3, 72.6, 78.1),
    "5x127": (71.5, 78.1, 83.1),
    "5x139.7": (77.8, 87.1, 108.1),
    "5x150": (110.1, 110.5),
    "6x114.3": (66.1, 71.5),
    "6x135": (87.1, 87.6),
    "6x139.7": (78.1, 93.1, 100.5, 106.2, 108.1, 110.5),
    "8x165.1": (116.7, 117.1, 121.4, 125.1),
    "8x170": (125.1, 130.1),
}
"""Bolt circles and the bores that wheels of each have."""
CIRCLE_SHARES = (0.20, 0.06, 0.13, 0.08, 0.05, 0.05, 0.08, 0.20, 0.10, 0.05)
HUBS = (
    ("6x5.5 in", 108.0, "6x139.7", "14 mm"),
    ("5x5 in", 71.5, "5x127", "1/2 in"),
    ("8x6.5 in", 116.7, "8x165.1", "9/16 in"),
)
"""Hubs that a job may have: circle, pilot [mm], the wheels' text of the circle, thread."""
THREADS = {"14 mm": "M14x1.5", "1/2 in": "1/2-20", "9/16 in": "9/16-18"}
"""Thread of the studs of each hub."""
SEATS, SEAT_SHARES = ("60 deg cone", "ball R14", "mag shank", ""), (0.80, 0.08, 0.07, 0.05)
RIMS = (14, 15, 16, 17, 18, 19, 20)
RIM_SHARES = (0.07, 0.24, 0.22, 0.21, 0.12, 0.04, 0.10)
WIDTHS = (5.0, 5.5, 6.0, 6.5, 7.0, 7.5, 8.0, 8.5, 9.0, 9.5, 10.0, 10.5, 11.0, 11.5, 12.0)
WIDTH_SHARES = (0.02, 0.04, 0.10, 0.07, 0.18, 0.09, 0.19, 0.08, 0.10, 0.03, 0.06, 0.01, 0.01, 0.005, 0.015)
OFFSETS_MM = (-44, -38, -32, -25, -19, -12, -6, 0, 6, 10, 12, 15, 18, 20, 25, 30, 35, 38, 40, 45)
STYLES = (
    "smooth steel",
    "slotted",
    "eight spoke",
    "six spoke",
    "five spoke",
    "mesh",
    "dish",
    "window",
    "star",
    "plain",
)
LINES = ("lane", "furrow", "ridge", "gravel", "thaw", "orchard", "ford", "quarry", "meadow", "creek", "hedge", "stile")
WINTER_LINES = ("thaw", "ridge", "creek")
ENDINGS = (0, 0, 50, 95, 95, 99)
SYMBOLS, SYMBOL_SHARES = ("Q", "R", "S", "T", "H", "V"), (0.14, 0.19, 0.24, 0.24, 0.14, 0.05)
BLANK = 0.03
"""Share of the cells of a sparse column that are blank."""


def write_job(
    folder: str | Path,
    *,
    seed: int,
    wheels: int,
    tires: int,
    ratios: int = 12,
    differentials: int = 6,
    ballast: int = 8,
    spacers: int = 6,
    nuts: int = 10,
    axles: str = "free",
    rank: str = "weights",
    fit: str | float = "nominal",
    top: int = 50,
    plain: bool = False,
    strict: bool | None = None,
    spare: bool | None = None,
    more_room: int = 0,
    tie_limit: str | None = None,
) -> Path:
    """Write job.toml and its lists into a folder, and return the path of job.toml.

    `axles` is "free" or "same", `rank` "weights" or "order". `strict` and `spare` are drawn where they are not given.
    `more_room` is so many eighths of an inch added beside the tire: above zero for short lists, of which else nothing
    fits, below zero for free axles on long ones. `tie_limit` is the working load limit of a tie at the tailgate;
    the drawn ones are such that round masses of ballast just reach what the ties hold.
    """
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    dice = random.Random(f"job {seed}")
    hub = HUBS[dice.choice((0, 0, 1, 2))]
    draws = [np.random.default_rng((seed, at)) for at in range(10)]
    sheets = {
        "wheels": _wheels(draws[0], draws[6], wheels, hub, nuts),
        "tires": _tires(draws[1], draws[7], tires),
        "spacers": _spacers(draws[2], draws[8], spacers, hub),
        "ratios": _ratios(draws[3], ratios),
        "differentials": _differentials(draws[4], differentials),
        "ballast": _ballast(draws[5], min(ballast, 3) if plain else ballast),
        "nuts": _nuts(draws[9], nuts, THREADS[hub[3]]),
    }
    for name, columns in sheets.items():
        _write_csv(folder / f"{name}.csv", columns)
    about = {
        "axles": axles,
        "rank": rank,
        "fit": fit,
        "top": top,
        "plain": plain,
        "strict": strict,
        "spare": spare,
        "more_room": more_room,
        "is_long": wheels >= 1000,
        "tie_limit": tie_limit,
        "nut": f"N-{1 + seed % nuts:06d}" if nuts else None,
    }
    path = folder / "job.toml"
    path.write_text(_job_toml(dice, random.Random(f"truck {seed}"), hub, about), encoding="utf-8")
    return path


def _write_csv(path: Path, columns: dict[str, Texts]) -> None:
    """Columns of texts that hold neither commas nor quotes, so that none needs quoting."""
    rows = map(",".join, zip(*columns.values(), strict=True))
    path.write_text("\n".join([",".join(columns), *rows, ""]), encoding="utf-8")


# Columns


def _skus(letter: str, count: int) -> Texts:
    return [f"{letter}-{number:06d}" for number in range(1, count + 1)]


def _picked(draw: Draw, pool: Sequence[Any], shares: Sequence[float] | None, count: int) -> NDArray[Any]:
    """Entries of a pool by their shares."""
    chances = None if shares is None else np.array(shares) / sum(shares)
    return np.array(pool)[draw.choice(len(pool), count, p=chances)]


def _near_twins(draw: Draw, sheet: dict[str, NDArray[Any]], keys: Sequence[str]) -> None:
    """Some rows are equal to the one above in everything, and some in price and mass alone: lists hold such runs."""
    count = len(next(iter(sheet.values())))
    kind = draw.random(count)
    for at, own in sheet.items():
        same = kind < (0.10 if at in keys else 0.03)
        same[:1] = False
        source = np.maximum.accumulate(np.where(same, 0, np.arange(count)))
        sheet[at] = own[source]


def _blanked(draw: Draw, texts: Texts, share: float = BLANK) -> Texts:
    return ["" if gap else text for text, gap in zip(texts, draw.random(len(texts)) < share, strict=True)]


def _texts(values: NDArray[Any], form: Callable[[Any], str]) -> Texts:
    """Texts of values; each distinct value is written once."""
    distinct, back = np.unique(values, return_inverse=True)
    written = [form(value) for value in distinct.tolist()]
    return [written[at] for at in back.tolist()]


def _decimals(values: NDArray[Any], digits: int) -> Texts:
    return _texts(
        np.round(values, digits),
        lambda value: f"{value:.{digits}f}".rstrip("0").rstrip(".") if digits else f"{value:.0f}",
    )


def _prices(draw: Draw, dollars: NDArray[np.float64]) -> NDArray[np.int64]:
    """Whole cents, with the usual endings; the tens of dollars cluster as list prices do."""
    whole = np.maximum(np.floor(dollars), 1.0).astype(np.int64)
    nine = draw.random(len(whole))
    whole = np.where(nine < 0.35, whole // 10 * 10 + 9, np.where(nine < 0.55, whole // 5 * 5 + 4, whole))
    return whole * 100 + _picked(draw, ENDINGS, None, len(whole))


def _money(cents: NDArray[np.int64]) -> Texts:
    return _texts(cents, lambda value: f"{value // 100}.{value % 100:02d}")


def _on_truck(texts: Texts, word: str) -> Texts:
    """The first row is what is on the truck now."""
    return [word if at == 0 else text for at, text in enumerate(texts)]


# Lists


def _wheels(draw: Draw, more: Draw, count: int, hub: tuple[str, float, str, str], nuts: int) -> dict[str, Texts]:
    circle = _picked(draw, range(len(CIRCLES)), CIRCLE_SHARES, count)
    circle[:1] = list(CIRCLES).index(hub[2])
    rim = _picked(draw, RIMS, RIM_SHARES, count)
    width = _picked(draw, WIDTHS, WIDTH_SHARES, count)
    steel = draw.random(count) < 0.35
    usual = 30.0 - 11.0 * (width - 6.0)  # wide wheels have little offset, or none below zero
    wanted = usual + draw.normal(0.0, 11.0, count)
    pool = np.array(OFFSETS_MM, dtype=float)
    offset = pool[np.abs(wanted[:, None] - pool).argmin(axis=1)] if count < 500_000 else np.round(wanted)
    offset = np.clip(offset, -12.7 * width + 10, 12.7 * width - 10)
    sheet = {
        "circle": circle,
        "rim": rim,
        "width": width,
        "offset": np.round(offset),
        "by_tape": draw.random(count) < 0.3,
        "bore": _bores(draw, circle),
        "load": np.round(draw.normal(1650.0 + 22.0 * (rim - 15.0), 260.0, count) / 50.0) * 50.0,
        "mass": np.round(
            (rim - 14.0) * 1.9 + width * 1.6 + np.where(steel, 8.5, 2.5) + draw.normal(3.0, 1.6, count), 1
        ),
        "barrel": np.round(rim - 1.35 - np.abs(draw.normal(0.0, 0.35, count)), 2),
        "spoke": np.round(draw.normal(1.35, 0.45, count) * 8.0) / 8.0,
        "pad": np.round(np.where(steel, 0.19, 0.42) + draw.normal(0.0, 0.03, count), 2),
        "style": _picked(draw, range(len(STYLES)), None, count),
        "seat": _picked(more, range(len(SEATS)), SEAT_SHARES, count),
        "pocket": np.where(more.random(count) < 0.5, more.integers(8, 24, count), 0),
        "over": _picked(more, range(3), (0.6, 0.2, 0.2), count),
        "nut": np.where(more.random(count) < 0.06, more.integers(1, max(nuts, 1) + 1, count), 0) * (nuts > 0),
        "price": _prices(
            draw, np.where(steel, 48.0, 92.0) + (rim - 14.0) * 11.0 + (width - 5.0) * 7.0 + draw.gamma(2.0, 24.0, count)
        ),
    }
    _near_twins(draw, sheet, ("price", "mass"))
    rim, width, offset = sheet["rim"], sheet["width"], sheet["offset"]
    by_tape = sheet["by_tape"].astype(bool)
    sixteenths = np.round((offset / 25.4 + (width + 1.0) / 2.0) * 16.0)
    names = list(CIRCLES)
    return {
        "sku": _skus("W", count),
        "rim_diameter_in": _decimals(rim, 0),
        "rim_width_in": _decimals(width, 1),
        "bolt_circle": [names[at] for at in sheet["circle"].tolist()],
        "hub_bore_mm": _decimals(sheet["bore"], 1),
        "offset_mm": ["" if tape else text for tape, text in zip(by_tape, _decimals(offset, 0), strict=True)],
        "backspace_in": [
            text if tape else "" for tape, text in zip(by_tape, _decimals(sixteenths / 16.0, 4), strict=True)
        ],
        "load_rating_lb": _blanked(draw, _decimals(np.maximum(sheet["load"], 900.0), 0)),
        "mass_lb": _blanked(draw, _decimals(np.maximum(sheet["mass"], 9.0), 1)),
        "price": _money(sheet["price"]),
        "style": _blanked(draw, [STYLES[at] for at in sheet["style"].tolist()]),
        "barrel_diameter_in": _blanked(draw, _decimals(sheet["barrel"], 2)),
        "spoke_clearance_in": _blanked(draw, _decimals(sheet["spoke"], 3), 0.05),
        "pad_in": _blanked(draw, _decimals(np.maximum(sheet["pad"], 0.1), 2), 0.06),
        "pocket_depth_mm": _blanked(more, [str(deep) if deep else "" for deep in sheet["pocket"].tolist()]),
        "pocket_over_studs": [
            ("yes", "no", "")[over] if deep else ""
            for over, deep in zip(sheet["over"].tolist(), sheet["pocket"].tolist(), strict=True)
        ],
        "seat": [SEATS[at] for at in sheet["seat"].tolist()],
        "lug_nut": [f"N-{at:06d}" if at else "" for at in sheet["nut"].tolist()],
        "on_truck": _on_truck([""] * count, "both"),
    }


def _bores(draw: Draw, circle: NDArray[np.int64]) -> NDArray[np.float64]:
    """Mostly one of the usual bores of the circle, with a tail of odd ones."""
    bores = np.empty(len(circle))
    for at, usual in enumerate(CIRCLES.values()):
        mine = np.flatnonzero(circle == at)
        bores[mine] = _picked(draw, usual, [1.0 + number for number in range(len(usual))], len(mine))
    odd = draw.random(len(circle)) < 0.08
    return np.round(np.where(odd, bores + draw.normal(0.0, 1.2, len(circle)), bores), 1)


def _tires(draw: Draw, more: Draw, count: int) -> dict[str, Texts]:
    system = _picked(draw, ("P", "LT", "x"), (0.55, 0.27, 0.18), count)
    rim = _picked(draw, RIMS, RIM_SHARES, count)
    width = _picked(draw, range(195, 325, 10), (3, 5, 8, 10, 12, 10, 10, 9, 8, 5, 4, 2, 2), count)
    aspect = _picked(draw, (55, 60, 65, 70, 75, 80, 85), (5, 10, 17, 22, 26, 8, 5), count)
    code = np.round(_picked(draw, (27, 28, 29, 30, 31, 32, 33), (8, 10, 16, 24, 26, 9, 7), count) + 0.0, 1)
    code_width = _picked(draw, (8.5, 9.5, 10.5, 11.5, 12.5), (22, 28, 30, 12, 8), count)
    is_code = system == "x"
    by_size = np.floor(rim * 25.4 + 0.5) + 2.0 * np.floor(0.01 * width * aspect + 0.5)
    diameter_mm = np.where(is_code, np.floor(code * 25.4 - 12.0 + 0.5), by_size)
    width_mm = np.where(is_code, np.round(code_width * 25.4), width)
    load = np.clip(
        np.round(
            78.0
            + (width_mm - 180.0) * 0.16
            + (diameter_mm - 600.0) * 0.04
            + np.where(system == "P", 0.0, 9.0)
            + draw.normal(0.0, 2.0, count)
        ),
        78,
        126,
    )
    sheet = {
        "system": system,
        "rim": rim,
        "width": width,
        "aspect": aspect,
        "code": code,
        "code_width": code_width,
        "load": load.astype(np.int64),
        "symbol": _picked(draw, SYMBOLS, SYMBOL_SHARES, count),
        "bias": draw.random(count) < 0.02,
        "width_mm": width_mm,
        "diameter_in": np.round(diameter_mm / 25.4 * (1.0 + draw.normal(0.0, 0.004, count).clip(-0.01, 0.01)), 1),
        "has_diameter": draw.random(count) < 0.6,
        "listed_mm": np.where(more.random(count) < 0.25, np.round(width_mm * more.normal(1.02, 0.012, count)), 0),
        "measuring": np.round((np.where(aspect < 50, 0.85, 0.72) * width_mm / 25.4 + draw.normal(0.0, 0.2, count)) * 2)
        / 2,
        "below": _picked(draw, (0.5, 1.0, 1.5), (3, 5, 2), count),
        "above": _picked(draw, (0.5, 1.0, 1.5, 2.0), (2, 4, 3, 1), count),
        "slack": np.round(draw.normal(0.975, 0.006, count), 3),
        "tread": np.round(width_mm / 25.4 * draw.normal(0.78, 0.02, count), 1),
        "mass": np.round(
            (width_mm - 150.0) * 0.12
            + (diameter_mm - 550.0) * 0.065
            + np.where(system == "P", 8.0, 15.0)
            + draw.normal(0.0, 1.4, count),
            1,
        ),
        "line": _picked(draw, range(len(LINES)), None, count),
        "price": _prices(
            draw,
            60.0
            + (width_mm - 180.0) * 0.55
            + (diameter_mm - 600.0) * 0.16
            + np.where(system == "P", 0.0, 34.0)
            + draw.gamma(2.0, 19.0, count),
        ),
    }
    _near_twins(draw, sheet, ("price", "mass"))
    diameter_in = sheet["diameter_in"]
    revs = np.round(63360.0 / (np.pi * diameter_in * sheet["slack"]))
    is_winter = [LINES[at] in WINTER_LINES for at in sheet["line"].tolist()]
    has_none = ~sheet["has_diameter"].astype(bool)
    blank_rim = draw.random(count) < BLANK
    return {
        "sku": _skus("T", count),
        "designation": _designations(sheet),
        "section_width_mm": [f"{size:.0f}" if size else "" for size in sheet["listed_mm"].tolist()],
        "measuring_rim_in": [
            "" if gap else text for gap, text in zip(blank_rim, _decimals(sheet["measuring"], 1), strict=True)
        ],
        "rim_width_min_in": _blanked(draw, _decimals(np.maximum(sheet["measuring"] - sheet["below"], 4.0), 1)),
        "rim_width_max_in": _blanked(draw, _decimals(sheet["measuring"] + sheet["above"], 1)),
        "overall_diameter_in": [
            "" if gap else text for gap, text in zip(has_none, _decimals(diameter_in, 1), strict=True)
        ],
        "revs_per_mile": _blanked(draw, _decimals(revs, 0), 0.15),
        "mass_lb": _blanked(draw, _decimals(np.maximum(sheet["mass"], 15.0), 1)),
        "price": _money(sheet["price"]),
        "line": _blanked(draw, [LINES[at] for at in sheet["line"].tolist()]),
        "winter": _blanked(draw, ["yes" if winter else "no" for winter in is_winter], 0.0),
        "tread_width_in": _blanked(draw, _decimals(sheet["tread"], 1), 0.06),
        "on_truck": _on_truck([""] * count, "both"),
    }


def _designations(sheet: dict[str, NDArray[Any]]) -> Texts:
    names = ("system", "rim", "width", "aspect", "code", "code_width", "load", "symbol", "bias")
    return [_designation(*row) for row in zip(*(sheet[name].tolist() for name in names), strict=True)]


def _designation(
    system: str, rim: int, width: int, aspect: int, code: float, code_width: float, load: int, symbol: str, bias: bool
) -> str:
    """What stands on the sidewall, with load index and speed symbol."""
    build = "-" if bias else "R"
    if system == "x":
        return f"{code:.0f}x{code_width:.2f}{build}{rim}LT {load}{symbol}"
    pair = f"{load}/{load - 3}" if system == "LT" else f"{load}"
    return f"{system}{width}/{aspect}{build}{rim} {pair}{symbol}"


def _spacers(draw: Draw, more: Draw, count: int, hub: tuple[str, float, str, str]) -> dict[str, Texts]:
    """Plain rings and, one in three, adapters with their own studs to another circle or to the hub's."""
    thin = _picked(draw, (3, 5, 6, 8, 10, 12), None, count)
    thick = _picked(draw, (25, 30, 32, 38, 45), None, count)
    bolted = np.arange(count) % 3 == 2
    others = [circle for circle in CIRCLES if circle != hub[2]]
    outer = [
        (hub[2] if at % 2 else others[pick]) if own else ""
        for at, (own, pick) in enumerate(zip(bolted, draw.integers(0, len(others), count).tolist(), strict=True))
    ]
    lip = np.where(draw.random(count) < 0.4, hub[1], 0.0)
    return {
        "sku": _skus("S", count),
        "thickness_mm": _decimals(np.where(bolted, thick, thin), 0),
        "bolt_circle": [hub[2] if draw.random() < 0.85 else others[0] for _ in range(count)],
        "wheel_bolt_circle": outer,
        "pilot_mm": [
            f"{CIRCLES[circle][0] - 0.1:.1f}" if circle else f"{size:.1f}" if size else ""
            for circle, size in zip(outer, lip.tolist(), strict=True)
        ],
        "mass_lb": _blanked(draw, _decimals(np.where(bolted, 3.9, 0.9) + draw.integers(0, 6, count) / 10.0, 1)),
        "price": _money(_prices(draw, np.where(bolted, 62.0, 17.0) + draw.integers(0, 20, count))),
        "pad_in": [
            text if own else "" for own, text in zip(bolted, _texts_by(more, ("0.5", "0.75", "1"), count), strict=True)
        ],
        "stud_length_in": ["1.5" if own else "" for own in bolted],
        "stud_diameter_mm": ["14" if own else "" for own in bolted],
        "hub_bore_mm": _blanked(
            more, _decimals(hub[1] + _picked(more, (0.0, 0.2, 1.0, 5.0, -1.5), (3, 3, 2, 1, 1), count), 1), 0.06
        ),
        "stud_thread": [
            spelled if own else ""
            for own, spelled in zip(
                bolted, _texts_by(more, ("M14x1.5", "m14 x 1.5", "M14x1.5", ""), count), strict=True
            )
        ],
        "nut_height_mm": [
            text if own else ""
            for own, text in zip(bolted, _texts_by(more, ("", "16", "19", "22"), count), strict=True)
        ],
    }


def _ratios(draw: Draw, count: int) -> dict[str, Texts]:
    pool = np.array((273, 294, 308, 323, 331, 342, 355, 373, 390, 392, 410, 411, 427, 430, 456, 463, 488, 513, 529))
    shares = np.exp(-(((pool - 375) / 70.0) ** 2)) + 0.05
    chosen = np.sort(pool[draw.choice(len(pool), count, replace=count > len(pool), p=shares / shares.sum())])
    return {
        "sku": _skus("G", count),
        "ratio": [f"{value / 100:.2f}" for value in chosen.tolist()],
        "ring_gear": _texts_by(draw, ("HC-12", "HC-12", "HC-12", "HC-12", "HC-12", "HC-12", "HC-10", ""), count),
        "labor_hours": _texts_by(draw, ("5.5", "5.5", "6.0", ""), count),
        "core_charge": _texts_by(draw, ("20.00", "20.00", "", "35.50"), count),
        "price": _money(_prices(draw, 165.0 + draw.integers(0, 70, count))),
        "on_truck": _on_truck([""] * count, "yes"),
    }


def _differentials(draw: Draw, count: int) -> dict[str, Texts]:
    kinds = [
        ("open", "limited_slip", "limited_slip", "locked")[(at + int(draw.integers(0, 2))) % 4] for at in range(count)
    ]
    kinds = _on_truck(kinds, "open")
    low = draw.random(count) < 0.5
    return {
        "sku": _skus("D", count),
        "type": kinds,
        "ratio_min": _blanked(draw, ["2.73" if own else "3.55" for own in low], 0.05),
        "ratio_max": ["3.90" if own else "5.13" for own in low],
        "ring_gear": _on_truck(_texts_by(draw, ("HC-12", "HC-12", "HC-12", "HC-12", "HC-12", "HC-10"), count), "HC-12"),
        "splines": _on_truck(_texts_by(draw, ("30", "30", "30", "30", "28", ""), count), "30"),
        "bias_ratio": [
            text if kind == "limited_slip" else ""
            for kind, text in zip(kinds, _texts_by(draw, ("2.5", "3.0", "3.5", ""), count), strict=True)
        ],
        "preload (lb-ft)": [
            text if kind == "limited_slip" else ""
            for kind, text in zip(kinds, _texts_by(draw, ("70", "90", ""), count), strict=True)
        ],
        "labor_hours": _texts_by(draw, ("1.0", "1.5", ""), count),
        "core_charge": _texts_by(draw, ("40.00", "60.00", ""), count),
        "price": _money(
            _prices(
                draw, np.array([150.0 if kind == "open" else 420.0 for kind in kinds]) + draw.integers(0, 90, count)
            )
        ),
        "on_truck": _on_truck([""] * count, "yes"),
    }


def _texts_by(draw: Draw, pool: Sequence[str], count: int) -> Texts:
    return [pool[at] for at in draw.integers(0, len(pool), count).tolist()]


def _ballast(draw: Draw, count: int) -> dict[str, Texts]:
    pool = (
        ("sandbag", 60, 26, 14),
        ("bag of gravel", 50, 22, 14),
        ("block", 85, 16, 8),
        ("tube sand", 70, 48, 9),
        ("slab", 100, 18, 18),
        ("small block", 35, 12, 8),
        ("bag of salt", 40, 20, 13),
        ("plate", 45, 16, 12),
    )
    chosen = [pool[at % len(pool)] for at in draw.permutation(max(count, len(pool)))[:count].tolist()]
    return {
        "sku": _skus("B", count),
        "name": [name for name, *_ in chosen],
        "mass_lb": [str(mass) for _, mass, *_ in chosen],
        "max_count": _texts_by(draw, ("2", "3", "8", ""), count),
        "price": _money(_prices(draw, np.array([0.1 * mass for _, mass, *_ in chosen]) + draw.integers(0, 6, count))),
        "length_in": [str(length) for *_, length, _ in chosen],
        "width_in": [str(width) for *_, width in chosen],
    }


def _nuts(draw: Draw, count: int, thread: str) -> dict[str, Texts]:
    """Lug nuts, one or a pack for a price: the first ones of the hub's thread and the usual seat, and told in full."""
    at = np.arange(count)
    is_usual = at < 4
    closed = np.where(is_usual, at % 2 == 0, draw.random(count) < 0.55)
    depth = np.where(
        closed, _picked(draw, (34, 38, 40, 44), None, count), _picked(draw, (12, 18, 22), (1, 3, 3), count)
    )
    pack = _picked(draw, (0, 1, 4, 10, 20), None, count)
    each = draw.integers(120, 420, count) - np.where(is_usual, 20, 0)
    return {
        "sku": _skus("N", count),
        "seat": [
            SEATS[0] if usual else seat
            for usual, seat in zip(is_usual, _texts_by(draw, ("60 Deg Cone", *SEATS[:3]), count), strict=True)
        ],
        "thread": [
            thread if usual else own
            for usual, own in zip(is_usual, _texts_by(draw, (thread, "M14 x 1.5", "m14x1.5"), count), strict=True)
        ],
        "type": [
            ("closed" if own else "open") if usual or known else ""
            for own, usual, known in zip(closed, is_usual, draw.random(count) < 0.9, strict=True)
        ],
        "thread_depth_mm": [
            str(deep) if usual or known else ""
            for deep, usual, known in zip(depth.tolist(), is_usual, draw.random(count) < 0.85, strict=True)
        ],
        "pack": [str(size) if size else "" for size in pack.tolist()],
        "left_hand": [
            "yes" if left and not usual else "" for left, usual in zip(draw.random(count) < 0.12, is_usual, strict=True)
        ],
        "price": _money(each * np.maximum(pack, 1)),
    }


# The job


@dataclass
class _Toml:
    """Lines of a TOML file, table after table."""

    lines: list[str]

    def table(self, name: str, /, **keys: Any) -> None:
        """A table; a key of None is left out."""
        self.lines += ["", name if name.startswith("[") else f"[{name}]"]
        self.lines += [f"{key} = {_toml_value(value)}" for key, value in keys.items() if value is not None]


def _toml_value(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        return "[" + ", ".join(map(_toml_value, value)) + "]"
    return f'"{value}"' if isinstance(value, str) else str(value)


GEARBOXES: tuple[dict[str, Any], ...] = (
    {"converter_slip": 0.04, "lock_up": True, "stall_speed": "1800 rpm", "stall_ratio": 1.6},
    {"converter_slip": 0.03, "stall_speed": "1600 rpm", "stall_ratio": 1.5},
    {"clutch_rating": "270 lb-ft", "clutch_rpm": "1400 rpm"},
    {"clutch_rating": "380 lb-ft", "clutch_rpm": "1200 rpm"},
)
"""Converters with and without a lock-up, and clutches."""


def _inches(eighths: int) -> str:
    """A taped size, to the eighth of an inch."""
    whole, left = divmod(abs(eighths), 8)
    sign = "-" if eighths < 0 else ""
    return f"{sign}{whole} {left}/8 in" if left else f"{sign}{whole} in"


def _job_toml(dice: random.Random, more: random.Random, hub: tuple[str, float, str, str], about: dict[str, Any]) -> str:
    """The job: an invented orchard's winter pickup, with drawn rooms, wishes and budget.

    `more` draws what a truck is measured to be beside its rooms; a strict job is measured in full.
    """
    toml = _Toml(["# A hill-country orchard's winter pickup, invented."])
    own = about["spare"] if about["spare"] is not None else dice.random() < 0.3
    strict = about["strict"] if about["strict"] is not None else dice.random() < 0.25
    toml.table(
        "job",
        format=1,
        name="Hill-country orchard, winter pickup",
        units="inch",
        same_all_round=about["axles"] == "same",
        spare=own,
        strict=strict,
    )
    has_blade, is_tight = more.random() < 0.4, more.random() < 0.4
    toml.table(
        "truck",
        wheelbase="117.5 in",
        gawr_front=("2830 lb" if has_blade else "2730 lb") if is_tight else "3200 lb",
        gawr_rear="4000 lb",
        gvwr=dice.choice(("6400 lb", "6100 lb")),
        payload=dice.choice(("1750 lb", "1500 lb", None)),
        cg_height="28 in",
        drag_coefficient=0.55,
        frontal_area="30 ft^2",
    )
    is_live = more.random() < 0.4
    stud, reach = more.choice(("1 7/8 in", "1 7/8 in", "1 5/8 in")), more.choice(("9 mm", "14 mm", None))
    for axle in ("front", "rear"):
        toml.table(
            f"hub.{axle}",
            bolt_circle=hub[0],
            pilot=f"{hub[1]} mm",
            pilot_length=reach or ("9 mm" if strict else None),
            stud_length=stud,
            stud_diameter=hub[3],
            stud_thread=THREADS[hub[3]],
            lug_nut=about["nut"] if more.random() < 0.5 else None,
        )
    _wheelhouses(toml, dice, more, about["more_room"], is_live=is_live)
    toml.table(
        "brakes.front",
        envelope_diameter=_inches(dice.randint(101, 107)),
        caliper_reach=dice.choice(("1 1/8 in", "1 in", "1 in", "7/8 in", "1 in" if strict else None)),
    )
    toml.table("brakes.rear", envelope_diameter="12 3/8 in", caliper_reach="5/8 in")
    toml.table("spare", well_diameter="31 in", well_width="11 in", station="-24 in")
    toml.table(
        "present",
        front_wheel_and_tire="62 lb",
        rear_wheel_and_tire="62 lb",
        spare="58 lb",
        rear_spacer=more.choice((None, "1.5 lb")),
        front_offset="6 mm",
        front_hub_height="13 7/8 in",
        rear_hub_height="13 7/8 in",
        front_tire_diameter=more.choice(("29 in", "29 1/4 in", "29 1/4 in" if strict else None)),
        rear_tire_diameter=more.choice(("29 in", "29 1/4 in", "29 1/4 in" if strict else None)),
        front_ground_clearance="7 1/2 in",
        rear_ground_clearance="7 1/2 in",
        frame_rake="0.4 deg",
    )
    _drive(toml, dice, more, is_live=is_live)
    _loads(toml, more, has_blade=has_blade)
    _ballast_plan(toml, dice, more, about)
    _wishes(toml, dice, more, about["fit"])
    _money_and_ranking(toml, dice, about)
    return "\n".join(toml.lines) + "\n"


def _wheelhouses(toml: _Toml, dice: random.Random, further: random.Random, more_room: int, *, is_live: bool) -> None:
    """Rooms that let in some 5 to 20 % of the wheels of the right bolt circle, in four states of the suspension; a live
    axle's with one wheel up are measured, too.
    """
    more_at_bump = further.choice((6, 0))  # with none, a tire that has grown at speed has the least room
    for axle, more in (("front", 0), ("rear", 2)):
        rooms = {
            "room_inner": dice.randint(32, 35) + more + more_room,
            "room_outer": dice.randint(48, 53) + 2 * more + more_room,
            "opening_ahead": 130 + more,
            "opening_behind": 132 + more,
        }
        if axle == "front":
            rooms |= {
                "sweep_ahead": 148 + max(more_room - 3, 0),
                "sweep_behind": 150,
                "frame_room": 104 + max(more_room - 3, 0),
            }
        toml.table(f"wheelhouse.{axle}", **{name: _inches(size) for name, size in rooms.items()})
        top = dice.randint(126, 130) + more
        toml.table(f"wheelhouse.{axle}.ride_height", hub_to_top=_inches(top + 26), hub_to_lip=_inches(148 + more))
        at_bump = _inches(top + more_at_bump)
        toml.table(f"wheelhouse.{axle}.full_bump", travel="2 1/2 in", hub_to_top=at_bump, lock="30 deg")
        toml.table(f"wheelhouse.{axle}.full_droop", travel="-3 in", hub_to_top=_inches(top + 50))
        toml.table(
            f"wheelhouse.{axle}.laid_out",
            travel="3 1/2 in",
            hub_to_top=_inches(top),
            hub_to_lip=_inches(120 + more),
            lock="10 deg",
        )
        if axle == "rear" and is_live:
            inner = _inches(int(rooms["room_inner"]) + 4)
            toml.table("wheelhouse.rear.articulated", travel="-1/4 in", room_inner=inner, hub_to_top=_inches(top + 2))
    toml.table("steering", lock="35 deg", axis_offset="3 5/8 in")


def _drive(toml: _Toml, dice: random.Random, more: random.Random, *, is_live: bool) -> None:
    toml.table("panhard", rear_length="34 in", rear_rise=more.choice((None, "1 1/2 in")))
    toml.table("axle", ring_gear="HC-12", splines=30)
    if is_live:
        toml.table("axle.rear", live=True, track="62 1/2 in", roll_share=more.choice((None, "30 %")))
    curve = ((1000, 255), (1500, 285), (2000, 305), (2800, 320), (3600, 310), (4400, 275), (5200, 225))
    toml.table("engine", redline="5200 rpm")
    toml.lines += ["torque = [", *(f'    {{ at = "{rpm} rpm", torque = "{pull} lb-ft" }},' for rpm, pull in curve), "]"]
    toml.table(
        "transmission",
        gears=[2.48, 1.48, 1.0, 0.70],
        cruise_gear=0.70,
        **more.choice(GEARBOXES),
    )
    toml.table("driveshaft", length="57 in", diameter="3 in", wall="0.065 in", material="steel")
    toml.table(
        "speedometer",
        present_ratio=3.08,
        present_revs_per_mile=730,
        present_reads=more.choice((None, "61 mph at 60")),
        driven_teeth=18,
        driven_listed=[17, 18, 19, 20, 21, 22, 23, 24],
    )
    toml.table("rolling", factor=dice.choice((None, 0.97)))
    toml.table(
        "surface",
        friction_low=0.10,
        friction_high=0.35,
        friction_road=more.choice((None, 0.5)),
        rolling_resistance=more.choice((None, 0.02)),
    )


def _loads(toml: _Toml, more: random.Random, *, has_blade: bool) -> None:
    """Axle loads and load cases; a blade on the nose takes load off the rear axle."""
    cases = ["empty", "two up, full tank", "loaded", *["blade on"] * has_blade]
    toml.table("loads", front_axle="2480 lb", rear_axle="1720 lb", cases=cases)
    items = [
        ("driver", 190, 66, None),
        ("passenger", 170, 66, ["two up, full tank", "loaded"]),
        ("fuel beyond a quarter tank", 90, 22, ["two up, full tank", "loaded"]),
        ("picking crates, full", 600, 2, ["loaded"]),
        *[("blade", 180, 135, ["blade on"])] * has_blade,
    ]
    weighed = more.choice(("driver", "fuel beyond a quarter tank", "", ""))
    for name, mass, station, own in items:
        toml.table(
            "[[loads.items]]",
            name=name,
            mass=f"{mass} lb",
            station=f"{station} in",
            cases=own,
            weighed=True if name == weighed else None,
        )


def _ballast_plan(toml: _Toml, dice: random.Random, more: random.Random, about: dict[str, Any]) -> None:
    """Two stations, on floors that matter or, in a plain job, on such as hold anything."""
    plain, tie_limit = about["plain"], about["tie_limit"]
    toml.table("ballast", max_items=dice.choice((3, 4)) if plain else 8)
    floors = (("400 in", "400 in", 1),) * 2 if plain else (("60 in", "48 in", 1), ("24 in", "60 in", 2))
    drawn = dice.choice(("200 lb", "50 lb"))
    stations = (("over the axle", 0, "500 lb", 2, "500 lb"), ("at the tailgate", -30, "300 lb", 2, tie_limit or drawn))
    for (name, at, most, ties, limit), (length, width, layers) in zip(stations, floors, strict=True):
        toml.table(
            "[[ballast.stations]]",
            name=name,
            at=f"{at} in",
            max_mass=most,
            length=length,
            width=width,
            layers=layers,
            ties=ties,
            tie_working_load=limit,
            tie_run=more.choice(("over", "over", "to cargo", None)),
        )


def _wishes(toml: _Toml, dice: random.Random, more: random.Random, fit: str | float) -> None:
    stance = dice.random() < 0.5
    toml.table(
        "targets",
        fit=fit,
        cruise_speed="60 mph",
        cruise_min="1700 rpm",
        cruise_max="2200 rpm",
        top_speed="85 mph",
        rear_load=dice.choice(("1950 lb", "2050 lb", None)),
        front_share=more.choice((None, None, "50 %")),
        start_grade=more.choice((*[dice.choice(("6 %", "4 %"))] * 2, "7 %", None)),
        pull_grade=more.choice(("20 %", "20 %", "20 %", "23 %")),
        hold_grade=dice.choice(("4 %", None)),
        speedometer_error=dice.choice(("4 %", None)),
        ground_clearance=dice.choice(("7 in", "6 3/4 in")),
        cover=dice.choice(("tread", "tire", None)),
        winter=dice.choice((True, None, None, None)),
        rake=dice.choice(("1 in", "1/2 in")) if stance else None,
        lip_gap=dice.choice(("1 in", None)) if stance else None,
        rake_min="-1/2 in",
        rake_max="2 1/2 in",
        fender_gap_max="5 1/2 in",
        same_style=dice.choice((True, None, None)),
        same_line=dice.choice((True, None, None)),
    )
    toml.table(
        "[[targets.cruise]]", name="village, third gear", speed="35 mph", gear=1.0, min="1200 rpm", max="2000 rpm"
    )
    toml.table(
        "[[targets.cruise]]",
        name="orchard road, second gear",
        speed="20 mph",
        gear=1.48,
        min="900 rpm",
        max="2000 rpm",
        hold_grade=dice.choice(("12 %", None)),
    )


def _money_and_ranking(toml: _Toml, dice: random.Random, about: dict[str, Any]) -> None:
    """A budget that bites; of short lists, that hold little that is cheap, a larger one."""
    toml.table(
        "money",
        budget=f"${dice.choice((2000, 2400, 2800, 3200, 3600)) + (0 if about['is_long'] else 1200):,}",
        tax="8.25 %",
        taxed=["parts", "freight"],
        labor_per_hour="$95",
        mount_and_balance="$22",
        lug_nut="$1.60",
        hub_ring="$5.50",
        install_kit="$95",
        tire_disposal="$4",
        freight="$0.28/lb",
    )
    names = ["cost", "cruise", "fit", "traction", "stance", "weight"]
    dice.shuffle(names)
    if about["rank"] == "order":
        toml.table("order", criteria=names[: dice.randint(2, 4)])
    else:
        toml.table("weights", **{name: dice.randint(1, 5) for name in names[: dice.randint(3, 6)]})
    toml.table("shortlist", top=about["top"])
    kinds = ("wheels", "tires", "spacers", "ratios", "differentials", "ballast", "nuts")
    toml.table("files", **{kind: f"{kind}.csv" for kind in kinds})

"""How long messy price sheets take to read: python tests/benchmark/messy.py [ROWS] [SEED ...].

Each seed draws a tire sheet with a letterhead, sections, repeated headers, mixed units and one bad row in twenty; it is
read three times, the best counts. Printed are the median, the 90th percentile and the worst over the seeds.
"""

from __future__ import annotations

import random
import statistics
import sys
import tempfile
import time
from pathlib import Path

from combo.job import ListFile
from combo.parts import KINDS
from combo.read.cache import Wanted
from combo.read.load import read_kind

HEADER = "Part #,Size,Load Index,Max Load,O.D.,Rim Range (in),Weight (lb),Jobber,Stock,UPC"
BAD = ("CALL", "disc.", "", "see note", "-")
WIDTHS, ASPECTS, RIMS = (205, 215, 225, 235, 245, 255, 265, 275, 285), (60, 65, 70, 75, 80, 85), (15, 16, 17, 18)


def sheet(rows: int, seed: int) -> str:
    """A tire sheet as a supplier sends it."""
    draw = random.Random(seed)
    lines = ["Hollow Creek Tire,,,,,,,,,", f"Effective 11/{draw.randint(1, 28):02}/2026,,,,,,,,,", "", HEADER]
    for at in range(rows):
        if at % 500 == 0:
            lines += ["", f"SECTION {at // 500},,,,,,,,,"]
        if at % 2000 == 1999:
            lines.append(HEADER)
        lines.append(row(at, draw))
    return "\n".join([*lines, "Prices subject to change,,,,,,,,,"]) + "\n"


def row(at: int, draw: random.Random) -> str:
    """A row, one in twenty of which cannot be read or bought."""
    width, aspect, rim = draw.choice(WIDTHS), draw.choice(ASPECTS), draw.choice(RIMS)
    size = draw.choice((f"LT{width}/{aspect}R{rim}/10", f"LT {width}/{aspect} R {rim} / E", f"{width} {aspect} {rim}"))
    price = draw.choice(BAD) if draw.random() < 0.05 else f"${draw.randint(90, 400)}.{draw.randint(0, 99):02} ea"
    diameter = (2 * width * aspect / 100 + rim * 25.4) / 25.4
    rims, pounds = f"{rim / 2.5:.1f}-{rim / 2:.1f}", draw.randint(250, 600) / 10
    return (
        f"{at:07},{size},,,{diameter:.1f} in,{rims},{pounds} lb,{price},"
        f"{draw.choice(('12+', '8', '40'))},{draw.randint(10**11, 10**12)}"
    )


def seconds(path: Path) -> float:
    """The best of three readings."""
    wanted = Wanted(KINDS["tires"], (ListFile(str(path), path.name),), {})
    times = []
    for _ in range(3):
        begun = time.perf_counter()
        kept = read_kind(wanted)
        times.append(time.perf_counter() - begun)
    print(f"{path.name}: {len(kept.table):,} read, {len(kept.aside):,} set aside, {min(times):.2f} s", file=sys.stderr)
    return min(times)


def main() -> None:
    """Read a sheet of each seed."""
    rows, *seeds = map(int, sys.argv[1:] or ["20000"])
    with tempfile.TemporaryDirectory() as folder:
        times = []
        for seed in seeds or range(10):
            path = Path(folder) / f"tires_{seed}.csv"
            path.write_text(sheet(rows, seed), encoding="utf-8")
            times.append(seconds(path))
    ranked = sorted(times)
    print(
        f"{rows:,} rows, {len(ranked)} sheets: median {statistics.median(ranked):.2f} s, 90th percentile "
        f"{ranked[int(0.9 * (len(ranked) - 1))]:.2f} s, worst {ranked[-1]:.2f} s"
    )


if __name__ == "__main__":
    main()

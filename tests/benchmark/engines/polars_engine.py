"""The first builds of a plain job by lazy joins: `python polars_engine.py FOLDER COUNT` prints JSON lines.

Mounts are joined with tires by rim diameter at both axles, both axles by wheel and tire, and these with gear sets and
differentials by the turn of the tire; ballast is laid on what may be among the first alone.
"""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import polars as pl
from plain import (
    BILLED,
    FLOTATION,
    LOADS,
    METRIC,
    NUMBERS,
    ROWS_AT_ONCE,
    SEEDS,
    SPEEDS,
    Ops,
    Plain,
    asked,
    described,
    print_rows,
)

from job_sizes import Job  # isort: skip  # found on the path that `plain` sets

KEYS = ("score", "cost", "wheel", "tire", "spacer", "spacer_rear", "gear", "layout")
CORNER = ("wheel", "tire", "spacer", "offset_um", "pair_g", "fit", "s_um", *BILLED)
LAID = ("lay_front", "lay_rear", "lay_cents", "lay_lb")
OF_WHEEL = ("w_kept", "w_g", "w_price", "w_lb", "wheel_g")
OF_TIRE = ("t_kept", "t_g", "t_price", "t_lb", "tire_g", "running_um", "turn_um", "is_declared")


class PolarsOps(Ops):
    """Columns are expressions."""

    def where(self, condition: Any, yes: Any, no: Any) -> Any:
        return pl.when(condition).then(self._literal(yes)).otherwise(self._literal(no))

    def isnan(self, column: Any) -> Any:
        return column.is_nan() if isinstance(column, pl.Expr) else pl.lit(math.isnan(column))

    def call(self, name: str, *columns: Any) -> Any:
        if name == "atan2":
            return pl.arctan2(*columns)
        return getattr(columns[0], {"asin": "arcsin"}.get(name, name))()

    def pick(self, codes: Any, values: list[float]) -> Any:
        return codes.replace_strict(dict(enumerate(values)), default=math.nan, return_dtype=pl.Float64)

    # The general forms name a column several times, and nested ones would grow with every level.

    def least(self, *columns: Any) -> Any:
        return pl.min_horizontal(*(column.fill_nan(None) for column in columns)).fill_null(math.nan)

    def filled(self, column: Any, otherwise: Any) -> Any:
        if isinstance(otherwise, pl.Expr):
            return pl.coalesce(column.fill_nan(None), otherwise)
        return column.fill_nan(float(otherwise))

    def capped(self, column: Any, most: float) -> Any:
        return column.clip(upper_bound=most)

    def ramp(self, size: Any, full: float, dust: float = 0.0) -> Any:
        return (size * 10000 / full + dust).floor().fill_nan(0.0).clip(0.0, 10000.0)

    @staticmethod
    def _literal(value: Any) -> Any:
        """Numbers as floats, so that no branch is a whole number."""
        return value if isinstance(value, pl.Expr) else pl.lit(value if isinstance(value, bool) else float(value))


class Engine:
    """The lazy frames of one job."""

    def __init__(self, folder: Path) -> None:
        self.plain = Plain(Job(folder), PolarsOps())
        self.job = self.plain.job

    def read(self, kind: str) -> pl.LazyFrame:
        """A list with its numbers as floats, NaN where blank, and its texts as they are."""
        frame = pl.scan_csv(self.job.file(kind), infer_schema=False)
        known = [pl.col(name).cast(pl.Float64).fill_null(math.nan) for name in NUMBERS[kind]]
        heaviest = frame.select(pl.col("mass_lb").cast(pl.Float64).max()).collect().item()
        self.plain.heaviest[kind] = float(heaviest or 0.0)
        return frame.with_columns(known).with_columns(pl.col(pl.String).fill_null(""))

    def wheels(self) -> pl.LazyFrame:
        """Wheels as numbers."""
        circle = pl.col("bolt_circle").str.split_exact("x", 1).struct
        rows = columns(*NUMBERS["wheels"]) | {
            "circle_mm": circle.field("field_1").cast(pl.Float64),
            "is_over": pl.col("pocket_over_studs") == "yes",
        }
        kept = pl.when(pl.col("on_truck") == "both").then(pl.lit("kept")).otherwise(pl.lit(""))
        key = self.plain.nut_key(pl.col("lug_nut"), pl.col("seat"), kept)
        frame = self.read("wheels").with_columns(nut_key=key)
        keys = self.plain.nut_keys = frame.select(pl.col("nut_key").unique().sort()).collect().to_series().to_list()
        return frame.select(
            nut_code=pl.col("nut_key").replace_strict({own: at for at, own in enumerate(keys)}, return_dtype=pl.Int64),
            wheel=pl.col("sku"),
            lugs=circle.field("field_0").cast(pl.Int64),
            style="style",
            w_kept=pl.col("on_truck") == "both",
            **self.plain.wheel(rows),
        )

    def tires(self) -> pl.LazyFrame:
        """Tires as numbers, without those that a check of their own rejects."""

        def part(pattern: str, at: int) -> pl.Expr:
            return pl.col("designation").str.extract(pattern, at)

        def size(column: pl.Expr) -> pl.Expr:
            return column.cast(pl.Float64).fill_null(math.nan)

        frame = self.read("tires").with_columns(
            is_metric=part(METRIC, 2).is_not_null(),
            is_p=part(METRIC, 1).fill_null("") == "P",
            width=size(part(METRIC, 2)),
            aspect=size(part(METRIC, 3)),
            rim=size(pl.coalesce(part(METRIC, 4), part(FLOTATION, 3))),
            code=size(part(FLOTATION, 1)),
            code_width=size(part(FLOTATION, 2)),
            load=size(pl.coalesce(part(METRIC, 5), part(FLOTATION, 4))).replace_strict(
                LOADS, default=math.nan, return_dtype=pl.Float64
            ),
            speed=pl.coalesce(part(METRIC, 6), part(FLOTATION, 5)).replace_strict(
                SPEEDS, default=math.nan, return_dtype=pl.Float64
            ),
            is_radial=pl.col("designation").str.contains(r"R\d"),
        )
        marks = ("is_metric", "is_p", "width", "aspect", "rim", "code", "code_width", "load", "is_radial")
        sizes = self.plain.tire(columns(*NUMBERS["tires"], *marks))
        table = frame.select(
            "line",
            "speed",
            "is_radial",
            tire=pl.col("sku"),
            t_kept=pl.col("on_truck") == "both",
            is_winter=pl.col("winter") == "yes",
            **sizes,
        )
        there = table.filter(pl.col("t_kept")).sort("tire").select("running_um", "is_radial").head(1).collect()
        if there.height:
            diameter, is_radial = there.row(0)
            self.plain.present = diameter, "radial" if is_radial else "bias"
        return table.filter(self.plain.tire_passes(columns("diameter_um", "grown_um", "speed", "is_winter")))

    def mounts(self, axle: str, wheels: pl.LazyFrame) -> pl.LazyFrame:
        """Wheels over every spacer on the hub."""
        plain = self.plain
        rows = columns(
            "lugs",
            "rim_um",
            "width_um",
            "circle_um",
            "bore_um",
            "w_offset_um",
            "barrel_um",
            "spoke_um",
            "pad_um",
            "pocket_um",
            "nut_code",
            "w_g",
            "w_kept",
        )
        return pl.concat(
            wheels.filter(plain.mount_passes(axle, rows, spacer)).with_columns(
                spacer=pl.lit(spacer["sku"]),
                offset_um=rows["w_offset_um"] - spacer["thick"],
                pair_g=2 * (rows["w_g"] + spacer["grams"]),
                rim_margin=plain.rim_room(axle, rows, spacer["thick"]),
                **{f"{name}_margin": own for name, own in plain.brake_margins(axle, rows, spacer["thick"]).items()},
                **plain.mount_bill(axle, rows, spacer),
            )
            for spacer in plain.spacers(axle)
        )

    def corners(self, axle: str, mounts: pl.LazyFrame, tires: pl.LazyFrame) -> pl.LazyFrame:
        """Mounts with tires that they and the wheelhouse take."""
        plain, job = self.plain, self.job
        rows = columns(
            "width_um",
            "narrowest_um",
            "widest_um",
            "section_um",
            "measured_um",
            "offset_um",
            "s_um",
            "diameter_um",
            "grown_um",
            "tread_um",
        )
        sides = plain.side_margins(axle, rows["offset_um"], rows["s_um"])
        margins = sides | plain.tire_margins(axle, rows)
        margins |= {name: pl.col(f"{name}_margin") for name in ("rim", "barrel", "spoke")}
        frame = (
            mounts.join(tires, on="rim_um")
            .filter(plain.rim_passes(rows, rows))
            .with_columns(s_um=plain.section(rows, rows))
        )
        frame = frame.filter(*(plain.clears(margin) for margin in sides.values()))
        checks = []
        if axle == "front":
            frame = frame.with_columns(swept=plain.sweep_margin(rows["offset_um"], rows["s_um"], rows["diameter_um"]))
            margins["sweep"] = pl.col("swept")
            checks.append(plain.clears(margins["sweep"]))
        elif job.has_spare:
            checks.append(plain.clears(plain.well_margin(rows["s_um"])))
        cover = plain.cover_margin(axle, rows["offset_um"], rows["s_um"], rows["tread_um"])
        checks += [] if cover is None else [plain.clears(cover)]
        for wanted, word in (("targets.same_style", "style"), ("targets.same_line", "line")):
            if job.find(wanted) and job.is_strict:  # one wheel all round: only a blank can be unverified
                checks.append(pl.col(word) != "")
        frame = frame.filter(*checks) if checks else frame
        return frame.with_columns(fit=plain.fit(axle, margins)).select(
            *CORNER, *((*OF_WHEEL, *OF_TIRE) if axle == "rear" else ())
        )

    def trucks(self) -> pl.LazyFrame:
        """Both axles with one wheel and tire."""
        plain, wheels, tires = self.plain, self.wheels(), self.tires()
        fronts, rears = (self.corners(axle, self.mounts(axle, wheels), tires) for axle in ("front", "rear"))
        low, high = (self.job.size(f"targets.rake_{end}") or 0 for end in ("min", "max"))
        rows = columns("offset_um", "s_um", "offset_um_rear", "s_um_rear", *OF_WHEEL, *OF_TIRE)
        for name in BILLED:
            rows |= {f"{name}_front": pl.col(name), f"{name}_rear": pl.col(f"{name}_rear")}
        cents, mass = plain.bill(rows)
        fit = PolarsOps().least(pl.col("fit"), pl.col("fit_rear"))
        return (
            fronts.join(rears, on=["wheel", "tire"], suffix="_rear")
            .filter(pl.lit(low <= 0 <= high))
            .select(
                "wheel",
                "tire",
                "spacer",
                "spacer_rear",
                "wheel_g",
                "tire_g",
                "running_um",
                "turn_um",
                "is_declared",
                fit=fit,
                corner_cents=cents,
                corner_lb=mass,
                pair_front=pl.col("pair_g") + 2 * rows["t_g"],
                pair_rear=pl.col("pair_g_rear") + 2 * rows["t_g"],
                spare_g=rows["w_g"] + rows["t_g"] if self.job.has_spare else pl.lit(0.0),
                stance_error=plain.stance_error(
                    (rows["offset_um"], rows["s_um"]), (rows["offset_um_rear"], rows["s_um_rear"])
                ),
            )
        )

    def drives(self, trucks: pl.LazyFrame) -> pl.LazyFrame:
        """Every turn of a tire with every gear set and differential."""
        plain, gears = self.plain, self.plain.gears()
        names = ("ratio", "grip", "low_side", "preload_n_m")
        table = pl.DataFrame(
            {
                "gear": range(len(gears)),
                **{name: [float(gear[name]) for gear in gears] for name in names},
                "drive_cents": [float(gear["cents"]) for gear in gears],
            }
        )
        turn, ratio = pl.col("turn_um"), pl.col("ratio")
        pulls = {f"pulled_{at}": own for at, own in enumerate(plain.pulled(turn, ratio))}
        self.pulls = tuple(pulls)
        return (
            trucks.select("turn_um", "is_declared")
            .unique()
            .join(table.lazy(), how="cross")
            .filter(plain.turning_passes(turn, ratio, pl.col("is_declared")))
            .with_columns(
                cruise=plain.cruise(turn, ratio),
                **plain.grips(turn, ratio, pl.col("low_side"), pl.col("preload_n_m")),
                **pulls,
            )
        )

    def first(self, count: int) -> list[dict[str, Any]]:
        """The first builds in ranked order."""
        plain, layouts = self.plain, self.plain.layouts()
        laid = pl.DataFrame(
            {
                "layout": range(len(layouts)),
                **{f"lay_{name}": [float(one[name]) for one in layouts] for name in ("front", "rear", "cents", "lb")},
            }
        )
        trucks = self.trucks().collect()
        drives = self.drives(trucks.lazy())
        most = max(one["rear"] for one in layouts)
        least = plain.loaded(self.row() | dict.fromkeys(LAID, pl.lit(0.0)))["cost"]
        frame = trucks.lazy().join(drives, on=["turn_um", "is_declared"])
        frame = frame.with_columns(bound=self.bound(most), least=least)
        frame = (
            frame.filter(pl.col("least") <= plain.budget)
            .collect()
            .sort("bound", "least", descending=[True, False], maintain_order=True)
        )
        best = self.judged(frame.head(SEEDS), laid, count)
        rest = frame.slice(SEEDS)
        if best.height == count:  # what is provably below the last of these is not among the first
            score, cost = best.row(-1, named=True)["score"], best.row(-1, named=True)["cost"]
            rest = rest.filter((pl.col("bound") > score) | ((pl.col("bound") == score) & (pl.col("least") <= cost)))
        best = pl.concat([best, self.judged(rest, laid, count)])
        return self.described(in_order(best.lazy(), count).collect(), layouts)

    def row(self) -> dict[str, pl.Expr]:
        """Columns of a truck with its drive and ballast."""
        return columns(
            "wheel_g",
            "tire_g",
            "pair_front",
            "pair_rear",
            "spare_g",
            "running_um",
            "corner_cents",
            "corner_lb",
            "stance_error",
            "fit",
            "cruise",
            "grip",
            "share",
            "preload_kg",
            "road_share",
            "road_preload_kg",
            "drive_cents",
            *LAID,
            *self.pulls,
        )

    def bound(self, most_rear: float) -> pl.Expr:
        """The most points that a row can have with any ballast: its load for nothing."""
        rows = self.row() | dict.fromkeys(LAID, pl.lit(0.0))
        loaded = self.plain.loaded(rows)
        loaded["rear_light"] = loaded["rear_light"] + float(most_rear)
        return self.plain.score(rows | loaded)

    def judged(self, frame: pl.DataFrame, laid: pl.DataFrame, count: int) -> pl.DataFrame:
        """The first builds of some rows with every way to lay ballast."""
        step = max(1, ROWS_AT_ONCE // laid.height)
        rows = self.row()
        loaded = self.plain.loaded(rows)
        best: pl.DataFrame | None = None
        for start in range(0, max(frame.height, 1), step):
            builds = frame.slice(start, step).lazy().join(laid.lazy(), how="cross").with_columns(**loaded)
            passes = self.plain.build_passes(rows | columns(*loaded))
            found = builds.filter(passes).with_columns(score=self.plain.score(rows | columns(*loaded))).select(*KEYS)
            both = found if best is None else pl.concat([best.lazy(), found])
            best = in_order(both, count).collect()
        assert best is not None
        return best

    def described(self, builds: pl.DataFrame, layouts: list[dict[str, Any]]) -> list[dict[str, Any]]:
        """Builds by name."""
        gears = self.plain.gears()
        return [
            described(
                score, cost, (wheel, tire, front, wheel, tire, rear, *gears[gear]["skus"]), layouts[layout]["counts"]
            )
            for score, cost, wheel, tire, front, rear, gear, layout in builds.iter_rows()
        ]


def columns(*names: str) -> dict[str, pl.Expr]:
    """Columns by name."""
    return {name: pl.col(name) for name in names}


def in_order(builds: pl.LazyFrame, count: int) -> pl.LazyFrame:
    """The first of some builds. Gears are in the order of their SKUs, layouts in that of their counts."""
    return builds.sort(KEYS, descending=[True] + [False] * (len(KEYS) - 1)).head(count)


if __name__ == "__main__":
    folder, count = asked()
    print_rows(Engine(folder).first(count))

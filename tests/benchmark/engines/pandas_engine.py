"""The first builds of a plain job by merges of data frames: `python pandas_engine.py FOLDER COUNT` prints JSON lines.

Mounts are merged with tires by rim diameter at both axles, both axles by wheel and tire, and these with gear sets and
differentials; ballast is laid on what may be among the first alone.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
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


class NumpyOps(Ops):
    """Columns are arrays."""

    def where(self, condition: Any, yes: Any, no: Any) -> Any:
        return np.where(condition, yes, no)

    def isnan(self, column: Any) -> Any:
        return np.isnan(column)

    def call(self, name: str, *columns: Any) -> Any:
        return getattr(np, {"atan2": "arctan2", "asin": "arcsin"}.get(name, name))(*columns)

    def pick(self, codes: Any, values: list[float]) -> Any:
        return np.array([*values, 0.0])[codes.astype(int)]


class Engine:
    """The frames of one job."""

    def __init__(self, folder: Path) -> None:
        self.plain = Plain(Job(folder), NumpyOps())
        self.job = self.plain.job

    def read(self, kind: str) -> pd.DataFrame:
        """A list with its numbers as floats and its texts as they are, blanks as NaN or ""."""
        types = dict.fromkeys(NUMBERS[kind], "float64")
        texts = [name for name in pd.read_csv(self.job.file(kind), nrows=0).columns if name not in types]
        frame = pd.read_csv(self.job.file(kind), dtype={**types, **dict.fromkeys(texts, "string")})
        self.plain.heaviest[kind] = float(np.nan_to_num(frame["mass_lb"].max()))
        return frame.assign(**{name: frame[name].fillna("").astype(object) for name in texts})

    def wheels(self) -> pd.DataFrame:
        """Wheels as numbers."""
        frame = self.read("wheels")
        circle = frame["bolt_circle"].str.split("x", expand=True)
        rows = arrays(frame) | {
            "circle_mm": circle[1].astype(float).to_numpy(),
            "is_over": (frame["pocket_over_studs"] == "yes").to_numpy(),
        }
        kept = frame["on_truck"] == "both"
        told = kept.map({True: "kept", False: ""})
        codes, keys = pd.factorize(self.plain.nut_key(frame["lug_nut"], frame["seat"], told))
        self.plain.nut_keys = list(keys)
        return pd.DataFrame(
            {
                "wheel": frame["sku"],
                "lugs": circle[0].astype(int),
                "style": frame["style"],
                "w_kept": kept,
                "nut_code": codes,
                **self.plain.wheel(rows),
            }
        )

    def tires(self) -> pd.DataFrame:
        """Tires without those that a check of their own rejects."""
        every = self.every_tire()
        return every[every["passes"]].drop(columns="passes")

    def every_tire(self) -> pd.DataFrame:
        """Tires as numbers, and whether they keep every check that looks at them alone."""
        frame = self.read("tires")
        metric = frame["designation"].str.extract(METRIC)
        marked = frame["designation"].str.extract(FLOTATION)
        is_metric = metric[1].notna().to_numpy()

        def both(one: int, other: int) -> pd.Series:
            return metric[one].where(is_metric, marked[other])

        rows: dict[str, Any] = arrays(frame) | {
            "is_metric": is_metric,
            "is_p": (metric[0] == "P").to_numpy(),
            "width": metric[1].astype(float).to_numpy(),
            "aspect": metric[2].astype(float).to_numpy(),
            "rim": both(3, 2).astype(float).to_numpy(),
            "code": marked[0].astype(float).to_numpy(),
            "code_width": marked[1].astype(float).to_numpy(),
            "load": both(4, 3).astype(float).map(LOADS).to_numpy(),
            "is_radial": frame["designation"].str.contains(r"R\d").to_numpy(),
        }
        sizes = self.plain.tire(rows) | {
            "speed": both(5, 4).map(SPEEDS).astype(float).to_numpy(),
            "is_winter": (frame["winter"] == "yes").to_numpy(),
        }
        there = np.flatnonzero(frame["on_truck"] == "both")
        if len(there):
            first = there[np.argmin(frame["sku"].to_numpy()[there])]
            kind = "radial" if rows["is_radial"][first] else "bias"
            self.plain.present = float(sizes["running_um"][first]), kind
        passes = self.plain.tire_passes(sizes)
        return pd.DataFrame(
            {
                "tire": frame["sku"],
                "line": frame["line"],
                "t_kept": frame["on_truck"] == "both",
                **sizes,
                "passes": passes,
            }
        )

    def mounts(self, axle: str, wheels: pd.DataFrame) -> pd.DataFrame:
        """Wheels over every spacer on the hub."""
        plain, found = self.plain, []
        for spacer in plain.spacers(axle):
            mine = wheels[plain.mount_passes(axle, arrays(wheels), spacer)]
            rows = arrays(mine)
            found.append(
                mine.assign(
                    spacer=spacer["sku"],
                    offset_um=rows["w_offset_um"] - spacer["thick"],
                    pair_g=2 * (rows["w_g"] + spacer["grams"]),
                    rim_margin=plain.rim_room(axle, rows, spacer["thick"]),
                    **{f"{name}_margin": own for name, own in plain.brake_margins(axle, rows, spacer["thick"]).items()},
                    **plain.mount_bill(axle, rows, spacer),
                )
            )
        return pd.concat(found, ignore_index=True)

    def corners(self, axle: str, mounts: pd.DataFrame, tires: pd.DataFrame) -> pd.DataFrame:
        """Mounts with tires that they and the wheelhouse take."""
        found = []
        for _, some in mounts.groupby(np.arange(len(mounts)) // 500):  # pieces, so that a merge keeps in memory
            found.append(self._corners(axle, some.merge(tires, on="rim_um")))
        keys = ["wheel", "tire", "spacer", "offset_um", "pair_g", "fit", "s_um", *BILLED]
        kept = ["w_kept", "t_kept", "w_g", "t_g", "w_price", "t_price", "w_lb", "t_lb", "wheel_g", "tire_g"]
        kept += ["running_um", "turn_um", "is_declared"]
        return pd.concat(found, ignore_index=True)[keys + (kept if axle == "rear" else [])]

    def _corners(self, axle: str, frame: pd.DataFrame) -> pd.DataFrame:
        plain, job = self.plain, self.job
        frame = frame[plain.rim_passes(arrays(frame), arrays(frame))]
        frame = frame.assign(s_um=plain.section(arrays(frame), arrays(frame)))
        sides = plain.side_margins(axle, frame["offset_um"].to_numpy(), frame["s_um"].to_numpy())
        passes = np.ones(len(frame), dtype=bool)
        for margin in sides.values():
            passes &= plain.clears(margin)
        frame = frame[passes]
        rows = arrays(frame)
        margins = plain.side_margins(axle, rows["offset_um"], rows["s_um"]) | plain.tire_margins(axle, rows)
        margins |= {name: rows[f"{name}_margin"] for name in ("rim", "barrel", "spoke")}
        passes = np.ones(len(frame), dtype=bool)
        if axle == "front":
            margins["sweep"] = plain.sweep_margin(rows["offset_um"], rows["s_um"], rows["diameter_um"])
            passes &= plain.clears(margins["sweep"])
        elif job.has_spare:
            passes &= plain.clears(plain.well_margin(rows["s_um"]))
        cover = plain.cover_margin(axle, rows["offset_um"], rows["s_um"], rows["tread_um"])
        if cover is not None:
            passes &= plain.clears(cover)
        for asked_for, word in (("targets.same_style", "style"), ("targets.same_line", "line")):
            if job.find(asked_for) and job.is_strict:  # one wheel all round: only a blank can be unverified
                passes &= (frame[word] != "").to_numpy()
        return frame.assign(fit=plain.fit(axle, margins))[passes]

    def trucks(self) -> pd.DataFrame:
        """Both axles with every gear set and differential that their tires let turn."""
        plain, wheels, tires = self.plain, self.wheels(), self.tires()
        fronts, rears = (self.corners(axle, self.mounts(axle, wheels), tires) for axle in ("front", "rear"))
        frame = fronts.merge(rears, on=["wheel", "tire"], suffixes=("_front", "_rear"))
        rows = arrays(frame)
        frame["fit"] = np.minimum(rows["fit_front"], rows["fit_rear"])
        frame["corner_cents"], frame["corner_lb"] = plain.bill(rows)
        frame["pair_front"], frame["pair_rear"] = (
            rows[f"pair_g_{axle}"] + 2 * rows["t_g"] for axle in ("front", "rear")
        )
        frame["spare_g"] = rows["w_g"] + rows["t_g"] if self.job.has_spare else 0.0
        frame["stance_error"] = plain.stance_error(
            (rows["offset_um_front"], rows["s_um_front"]), (rows["offset_um_rear"], rows["s_um_rear"])
        )
        return frame[rake_passes(self.job, frame)]

    def drives(self, trucks: pd.DataFrame) -> pd.DataFrame:
        """Every turn of a tire with every gear set and differential."""
        plain, gears = self.plain, self.plain.gears()
        names = ("ratio", "grip", "low_side", "preload_n_m")
        frame = (
            trucks[["turn_um", "is_declared"]]
            .drop_duplicates()
            .merge(
                pd.DataFrame(
                    {
                        "gear": np.arange(len(gears)),
                        **{name: [gear[name] for gear in gears] for name in names},
                        "drive_cents": [gear["cents"] for gear in gears],
                    }
                ),
                how="cross",
            )
        )
        frame = frame[plain.turning_passes(*(frame[name].to_numpy() for name in ("turn_um", "ratio", "is_declared")))]
        turn, ratio = frame["turn_um"].to_numpy(), frame["ratio"].to_numpy()
        pulls = {f"pulled_{at}": own for at, own in enumerate(plain.pulled(turn, ratio))}
        grips = plain.grips(turn, ratio, frame["low_side"].to_numpy(), frame["preload_n_m"].to_numpy())
        return frame.assign(cruise=plain.cruise(turn, ratio), **grips, **pulls)

    def first(self, count: int) -> list[dict[str, Any]]:
        """The first builds in ranked order."""
        trucks = self.trucks()
        frame = trucks.merge(self.drives(trucks), on=["turn_um", "is_declared"]).reset_index(drop=True)
        layouts = pd.DataFrame(self.plain.layouts())
        frame = frame.assign(bound=self.bound(frame, layouts), least=self.bare(frame)["cost"])
        frame = frame[frame["least"] <= self.plain.budget].sort_values(
            ["bound", "least"], ascending=[False, True], kind="stable"
        )
        best = self.judged(frame.head(SEEDS), layouts, count)
        rest = frame.iloc[SEEDS:]
        if len(best) == count:  # what is provably below the last of these is not among the first
            score, cost = best["score"].iloc[-1], best["cost"].iloc[-1]
            rest = rest[(rest["bound"] > score) | ((rest["bound"] == score) & (rest["least"] <= cost))]
        return self.described(in_order(pd.concat([best, self.judged(rest, layouts, count)]), count))

    def bound(self, frame: pd.DataFrame, layouts: pd.DataFrame) -> Any:
        """The most points that a row can have with any ballast: its load for nothing."""
        loaded = self.bare(frame)
        loaded["rear_light"] = loaded["rear_light"] + float(layouts["rear"].max())
        return self.plain.score(loaded)

    def bare(self, frame: pd.DataFrame) -> dict[str, Any]:
        """Rows with their loads and cost without any ballast."""
        rows = arrays(frame) | {"lay_front": 0.0, "lay_rear": 0.0, "lay_cents": 0.0, "lay_lb": 0.0}
        return rows | self.plain.loaded(rows)

    def judged(self, frame: pd.DataFrame, layouts: pd.DataFrame, count: int) -> pd.DataFrame:
        """The first builds of some rows with every way to lay ballast."""
        laid = pd.DataFrame(
            {
                "counts": layouts["counts"],
                "lay_front": layouts["front"],
                "lay_rear": layouts["rear"],
                "lay_cents": layouts["cents"],
                "lay_lb": layouts["lb"],
            }
        )
        step, best = max(1, ROWS_AT_ONCE // max(1, len(laid))), []
        for start in range(0, len(frame), step):
            builds = frame.iloc[start : start + step].merge(laid, how="cross")
            rows = arrays(builds)
            rows |= self.plain.loaded(rows)
            passes = self.plain.build_passes(rows)
            builds = builds.assign(cost=rows["cost"], score=self.plain.score(rows))[passes]
            best = [in_order(pd.concat([*best, builds]), count)]
        return best[0] if best else frame.assign(cost=0.0, score=0.0, counts=None).head(0)

    def described(self, builds: pd.DataFrame) -> list[dict[str, Any]]:
        """Builds by name."""
        gears = self.plain.gears()
        return [
            described(
                row.score,
                row.cost,
                (row.wheel, row.tire, row.spacer_front, row.wheel, row.tire, row.spacer_rear, *gears[row.gear]["skus"]),
                row.counts,
            )
            for row in builds.itertuples()
        ]


def arrays(frame: pd.DataFrame) -> dict[str, Any]:
    """Columns of a frame as arrays."""
    return {str(name): frame[name].to_numpy() for name in frame.columns}


def in_order(builds: pd.DataFrame, count: int) -> pd.DataFrame:
    """The first of some builds: by points, cost, SKUs, ballast counts. Gears are in the order of their SKUs."""
    keys = ["score", "cost", "wheel", "tire", "spacer_front", "spacer_rear", "gear", "counts"]
    if len(builds) > 20 * count:  # the whole order is needed among those alone that points and cost leave
        last = builds.sort_values(["score", "cost"], ascending=[False, True], kind="stable").iloc[count - 1]
        builds = builds[
            (builds["score"] > last["score"]) | ((builds["score"] == last["score"]) & (builds["cost"] <= last["cost"]))
        ]
    return builds.sort_values(keys, ascending=[False] + [True] * 7, kind="stable").head(count)


def rake_passes(job: Job, frame: pd.DataFrame) -> Any:
    """One tire all round has no rake: whether the band allows that."""
    low, high = job.size("targets.rake_min"), job.size("targets.rake_max")
    allowed = (low is None or low <= 0) and (high is None or high >= 0)
    return np.full(len(frame), allowed)


if __name__ == "__main__":
    folder, count = asked()
    print_rows(Engine(folder).first(count))

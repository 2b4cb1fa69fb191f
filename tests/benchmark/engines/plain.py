"""What the engines share: the formulas of a plain job with one wheel and tire all round, on columns of any library.

A column is a numpy array or a polars expression; `Ops` has the few functions that both spell differently. All numbers
are floats, NaN where a value is absent; whole ones stay below 2 ** 53 and are exact. Ranking by weights alone. What a
list leaves blank stays open here: nothing of it would fail with the best that is plausible.
"""

from __future__ import annotations

import itertools
import json
import math
import sys
from abc import ABC, abstractmethod
from collections.abc import Iterable
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))

from job_sizes import (
    AIR_KG_M3,
    INNER_NUT_UM,
    LOAD_KG,
    MILE_UM,
    SERIES,
    SKUS,
    SPEED_KM_H,
    Job,
    cents,
    half_up,
    quantity,
)

Column = Any
Columns = dict[str, Any]
FULL = 10000
SEEDS = 2000
"""Rows of the first, small enumeration that sets the threshold."""
METRIC = r"^(P|LT)?(\d+)/(\d+)[RD-](\d+) (\d+)(?:/\d+)?([A-Z])$"
FLOTATION = r"^(\d+)x([0-9.]+)[RD-](\d+)LT (\d+)([A-Z])$"
ROWS_AT_ONCE = 4_000_000
"""Rows that are laid out with ballast in one go."""
NUMBERS = {
    "wheels": (
        "rim_diameter_in",
        "rim_width_in",
        "hub_bore_mm",
        "offset_mm",
        "backspace_in",
        "load_rating_lb",
        "mass_lb",
        "price",
        "barrel_diameter_in",
        "spoke_clearance_in",
        "pad_in",
        "pocket_depth_mm",
    ),
    "tires": (
        "section_width_mm",
        "measuring_rim_in",
        "rim_width_min_in",
        "rim_width_max_in",
        "overall_diameter_in",
        "revs_per_mile",
        "mass_lb",
        "price",
        "tread_width_in",
    ),
}
"""Columns of the lists that are numbers."""
BILLED = ("nut_at", "nut_price", "nut_pack", "nut_n", "ring_n", "spacer_at", "spacer_net", "spacer_lb")
"""What a mount brings to a bill, see `Plain.mount_bill`."""
LOADS = {float(index): float(mass) for index, mass in LOAD_KG.items()}
SPEEDS = {symbol: float(speed) for symbol, speed in SPEED_KM_H.items()}


class Ops(ABC):
    """Functions over columns that libraries spell differently."""

    @abstractmethod
    def where(self, condition: Column, yes: Any, no: Any) -> Column:
        """One or the other, row by row."""

    @abstractmethod
    def isnan(self, column: Column) -> Column:
        """Where a value is absent."""

    @abstractmethod
    def call(self, name: str, *columns: Column) -> Column:
        """A function by its name: floor, sin, cos, tan, asin, sqrt, atan2."""

    @abstractmethod
    def pick(self, codes: Column, values: list[float]) -> Column:
        """Of each row the value that its code, a place, stands for."""

    def half_up(self, column: Column) -> Column:
        """Nearest whole number, a half up."""
        return self.call("floor", column + 0.5)

    def exact(self, column: Column, unit: float) -> Column:
        """A printed decimal in micrometers, to the sixteenth of one: no decimal of a list is finer."""
        return self.call("floor", column * unit * 16 + 0.5) / 16

    def least(self, *columns: Any) -> Column:
        """The least of what is known."""
        found = columns[0]
        for other in columns[1:]:
            known = self.where(self.isnan(other), found, self.where(found < other, found, other))
            found = self.where(self.isnan(found), other, known)
        return found

    def capped(self, column: Column, most: float) -> Column:
        """At most so much; what is not known stays so."""
        return self.where((column > most) & ~self.isnan(column), most, column)

    def filled(self, column: Column, otherwise: Any) -> Column:
        """Another value where one is absent."""
        return self.where(self.isnan(column), otherwise, column)

    def ramp(self, size: Column, full: float, dust: float = 0.0) -> Column:
        """Points from 0 at nothing to 10000 at `full`, rounded down but for `dust`; 0 where not known."""
        points = self.call("floor", size * FULL / full + dust)
        points = self.where(points > FULL, FULL, self.where(points < 0, 0, points))
        return self.where(self.isnan(size), 0, points)


class Plain:
    """A job's formulas. Methods take columns by name and give new ones."""

    def __init__(self, job: Job, ops: Ops) -> None:
        if not job.same_all_round or not job.weights():
            raise ValueError("outside of the family: axles that are free, or an order")
        self.job, self.ops = job, ops
        self.budget, self.cases = job.budget_cents(), job.cases_g()
        self.base = float(job.must("truck.wheelbase"))
        self.spare_at = float(job.must("spare.station")) if job.has_spare else None
        self.extra = 1 if job.has_spare else 0
        self.heaviest = {"wheels": 0.0, "tires": 0.0, "spacers": 0.0}
        self.present: tuple[float | None, str | None] = None, None
        """Diameter [um] and construction of the listed tire that is on the truck now; an engine tells."""
        self.nut_keys: list[str] = []
        """What decides on the nut of a wheel, see `nut_key`; an engine tells."""
        self.nuts = read_rows(job.file("nuts"))
        self.taxed_kinds = job.find("money.taxed") or ["parts"]
        self.ppm = half_up((job.size("money.tax") or 0) * 1_000_000)
        amount, _, unit = (job.find("money.freight") or "$0/lb").partition("/")
        if unit != "lb":
            raise ValueError("outside of the family: freight that is not by the pound")
        self.freight_cents = cents(amount)

    # Verdicts and money

    def holds(self, condition: Column, known_by: Column) -> Column:
        """A condition on something; what is not known passes where the job is not strict."""
        return self.ops.where(self.ops.isnan(known_by), not self.job.is_strict, condition)

    def clears(self, margin_um: Column) -> Column:
        """A margin in micrometers is not below zero."""
        return self.holds(self.ops.half_up(margin_um) >= 0, margin_um)

    def taxed(self, kind: str, amount: Any) -> Any:
        """Whole cents with their tax, half a cent up."""
        if kind not in self.taxed_kinds:
            return amount
        if isinstance(amount, int):
            return amount + (amount * self.ppm + 500_000) // 1_000_000  # of a line of the bill
        return amount + self.ops.call("floor", (amount * self.ppm + 500_000) / 1_000_000)

    def fixed(self, key: str) -> int:
        """An amount of [money]."""
        found = self.job.find(f"money.{key}")
        return cents(found) if found else 0

    def freight(self, centipounds: Column) -> Column:
        """The bill's line of freight, by the mass of all that is bought, with its tax."""
        return self.taxed("freight", self.ops.call("floor", (2 * centipounds * self.freight_cents + 100) / 200))

    def centipounds(self, pounds: Column, kind: str) -> Column:
        """Hundredths of a pound; a part without a mass is as heavy as the heaviest listed."""
        return self.ops.half_up(self.ops.filled(pounds, self.heaviest[kind]) * 100)

    def grams(self, pounds: Column) -> Column:
        """Whole grams of pounds."""
        return self.ops.half_up(pounds * 453.59237)

    def to_rear(self, mass_g: Column, station_um: float) -> Column:
        """Whole grams that the rear axle carries: m (L - s) / L."""
        return self.ops.call("floor", (2 * mass_g * (self.base - station_um) + self.base) / (2 * self.base))

    # Lists, as numbers

    def wheel(self, row: Columns) -> Columns:
        """Sizes of a wheel from the cells of its list; `is_over` tells whether its pockets lie over the hub's studs."""
        ops = self.ops
        width = ops.exact(row["rim_width_in"], 25400)
        taped = ops.exact(row["backspace_in"], 25400) - width / 2 - 12700
        return {
            "rim_um": ops.exact(row["rim_diameter_in"], 25400),
            "width_um": width,
            "circle_um": ops.exact(row["circle_mm"], 1000),
            "bore_um": ops.exact(row["hub_bore_mm"], 1000),
            "w_offset_um": ops.where(ops.isnan(taped), row["offset_mm"] * 1000, taped),
            "barrel_um": ops.exact(row["barrel_diameter_in"], 25400),
            "spoke_um": ops.exact(row["spoke_clearance_in"], 25400),
            "pad_um": ops.exact(row["pad_in"], 25400),
            "wheel_g": self.grams(row["load_rating_lb"]),
            "w_g": self.grams(row["mass_lb"]),
            "pocket_um": ops.where(row["is_over"], ops.exact(row["pocket_depth_mm"], 1000), 0.0),
            "w_price": ops.half_up(row["price"] * 100),
            "w_lb": self.centipounds(row["mass_lb"], "wheels"),
        }

    def tire(self, row: Columns) -> Columns:
        """Sizes of a tire from its designation, split by METRIC or FLOTATION, and the cells of its list.

        `load` is the load index looked up in LOADS, `speed` the symbol in SPEEDS; `is_metric`, `is_p` and the numbers
        `width`, `aspect`, `rim`, `code`, `code_width` come from the designation, as does `is_radial`.
        """
        ops, job = self.ops, self.job
        nominal = ops.where(row["is_metric"], row["width"] * 1000, ops.exact(row["code_width"], 25400))
        listed = ops.exact(row["section_width_mm"], 1000)
        rim = row["rim"] * 25400
        by_size = 1000 * (ops.half_up(rim / 1000) + 2 * ops.call("floor", (row["width"] * row["aspect"] + 50) / 100))
        marked = ops.exact(row["overall_diameter_in"], 25400)
        diameter, running = (
            ops.filled(marked, ops.where(row["is_metric"], by_size, 1000 * ops.half_up(row["code"] * 25.4 - short)))
            for short in (6, 12)
        )
        share = 0.0 * nominal + 80
        for lowest, own in reversed(SERIES):
            share = ops.where(row["is_metric"] & (row["aspect"] >= lowest), own, share)
        measuring = ops.filled(
            ops.exact(row["measuring_rim_in"], 25400), 12700 * ops.half_up(nominal * share / 100 / 12700)
        )
        theoretical = nominal * ops.where(row["aspect"] < 50, 85, 70) / 100
        is_nominal = row["is_metric"] & ops.isnan(listed)
        rolling = ops.where(row["is_radial"], job.rolling("radial"), job.rolling("bias"))
        return {
            "rim_um": rim,
            "section_um": ops.filled(listed, nominal),
            "diameter_um": diameter,
            "running_um": running,
            "grown_um": diameter * ops.where(row["is_radial"], job.growth("radial"), job.growth("bias")),
            "measured_um": ops.where(is_nominal, theoretical, measuring),
            "narrowest_um": ops.exact(row["rim_width_min_in"], 25400),
            "widest_um": ops.exact(row["rim_width_max_in"], 25400),
            "tire_g": ops.where(row["is_p"], ops.half_up(row["load"] * 10000 / 11), row["load"] * 1000),
            "turn_um": ops.filled(MILE_UM / row["revs_per_mile"], math.pi * running * rolling),
            "is_declared": ~ops.isnan(row["revs_per_mile"]),
            "t_g": self.grams(row["mass_lb"]),
            "tread_um": ops.exact(row["tread_width_in"], 25400),
            "t_price": ops.half_up(row["price"] * 100),
            "t_lb": self.centipounds(row["mass_lb"], "tires"),
        }

    def tire_passes(self, row: Columns) -> Column:
        """Whether a tire keeps every check that looks at it alone, at both axles."""
        job, ops = self.job, self.ops
        passes = ops.isnan(row["diameter_um"]) | True
        speed = job.size("targets.top_speed")
        if speed is not None:
            passes = passes & self.holds(row["speed"] >= float(speed), row["speed"])
        if job.find("targets.winter") is not None:
            passes = passes & (row["is_winter"] == bool(job.find("targets.winter")))
        if job.has_spare:
            across = job.must("spare.well_diameter") - 2 * (job.size("spare.clearance") or 6350)
            passes = passes & self.clears(float(across) - row["diameter_um"])
        high = job.size("targets.fender_gap_max")
        for axle in ("front", "rear"):
            for margin in self.tire_margins(axle, row).values():
                passes = passes & self.clears(margin)
            if high is not None:
                lip = job.room(axle, "ride_height", "hub_to_lip")
                passes = passes & self.clears(float(high - lip) + row["diameter_um"] / 2)
        return passes

    def tire_margins(self, axle: str, row: Columns) -> Columns:
        """Room over the tire and along it, in some states of which it has grown."""
        job = self.job
        along = job.heights(axle, "opening_ahead", "opening_behind")
        rooms = {"top": job.heights(axle, "hub_to_top"), "opening": along}
        sizes = {True: row["grown_um"], False: row["diameter_um"]}
        return {
            side: self.ops.least(
                *(room - float(job.clearance(axle, side)) - sizes[grown] / 2 for grown, room in of_side.items())
            )
            for side, of_side in rooms.items()
        }

    def ground(self, axle: str, row: Columns) -> tuple[Column, Column]:
        """Height of the lowest point over what is wanted with a tire that does not sink in, and how far it sinks in for
        each gram on the axle [um].
        """
        height, sinks, weighed = self.job.ground_um(axle, self.present[0])
        return height + row["running_um"] / 2, sinks * row["running_um"] / weighed

    # Mounts: a wheel on a hub, perhaps over a spacer

    def spacers(self, axle: str) -> list[dict[str, Any]]:
        """Spacers that go on the hub, and none; sizes in micrometers, what a wheel meets on them, and cents an axle."""
        lugs, circle = self.job.hub_circle(axle)
        none = {
            "sku": "",
            "at": -1,
            "thick": 0.0,
            "lugs": lugs,
            "circle": float(circle),
            "pilot": float(self.job.must(f"hub.{axle}.pilot")),
            "meets": True,
            "bore": math.inf,
            "bolted": False,
            "grams": 0.0,
            "cents": 0,
            "lb": 0,
            "inner_nut": math.nan,
            "nut_thread": self.job.find(f"hub.{axle}.stud_thread") or "",
            "pad": math.nan,
            "stud": math.nan,
            "thread": math.nan,
        }
        rows = read_rows(self.job.file("spacers"))
        heaviest = max((float(row["mass_lb"]) for row in rows if row["mass_lb"]), default=0.0)
        reach = float(self.job.size(f"hub.{axle}.pilot_length") or math.nan)
        found = [none]
        for at, row in enumerate(rows):
            own, outer = split_circle(row["bolt_circle"]), split_circle(row["wheel_bolt_circle"])
            if own[0] != lugs or abs(own[1] - float(circle)) > 150:
                continue
            on = outer if row["wheel_bolt_circle"] else own
            pounds = float(row["mass_lb"]) if row["mass_lb"] else math.nan
            thick, bolted = float(row["thickness_mm"]) * 1000, bool(row["wheel_bolt_circle"] or row["stud_length_in"])
            through = None if math.isnan(reach) else reach > thick
            found.append(
                {
                    "sku": row["sku"],
                    "at": at,
                    "thick": thick,
                    "lugs": on[0],
                    "circle": on[1],
                    "pilot": float(row["pilot_mm"]) * 1000 if row["pilot_mm"] else none["pilot"],
                    "meets": True if row["pilot_mm"] else through,
                    "bore": number(row["hub_bore_mm"]) * 1000,
                    "bolted": bolted,
                    "grams": math.nan if math.isnan(pounds) else float(math.floor(pounds * 453.59237 + 0.5)),
                    "cents": 2 * cents(row["price"]),
                    "lb": 2 * half_up((heaviest if math.isnan(pounds) else pounds) * 100),
                    "inner_nut": float(row["nut_height_mm"]) * 1000 if row["nut_height_mm"] else float(INNER_NUT_UM),
                    "nut_thread": row["stud_thread"] if bolted else none["nut_thread"],
                    "pad": number(row["pad_in"]) * 25400,
                    "stud": number(row["stud_length_in"]) * 25400,
                    "thread": number(row["stud_diameter_mm"]) * 1000,
                }
            )
        return found

    def mount_passes(self, axle: str, wheel: Columns, spacer: dict[str, Any]) -> Column:
        """Whether a wheel goes on a hub over a spacer: circle, bore, brake, studs, rim to the inner wheelhouse."""
        job, ops = self.job, self.ops
        length, thread = (float(job.size(f"hub.{axle}.{key}") or math.nan) for key in ("stud_length", "stud_diameter"))
        passes = (wheel["lugs"] == spacer["lugs"]) & (abs(ops.half_up(wheel["circle_um"] - spacer["circle"])) <= 150)
        passes = passes & self._bore_passes(axle, wheel, spacer)
        for margin in self.brake_margins(axle, wheel, spacer["thick"]).values():
            passes = passes & self.clears(margin)
        if spacer["bolted"]:
            passes = passes & self.clears(spacer["stud"] - wheel["pad_um"] - spacer["thread"])
            passes = passes & self.clears(wheel["width_um"] * 0 + length - spacer["pad"] - thread)
            room = spacer["thick"] + wheel["pocket_um"]
            passes = passes & self.clears(room - length) & self.clears(room - spacer["pad"] - spacer["inner_nut"])
        else:
            passes = passes & self.clears(length - wheel["pad_um"] - spacer["thick"] - thread)
        if axle == "rear" and job.has_spare:
            deep = job.must("spare.well_width") - (job.size("spare.clearance") or 6350)
            passes = passes & self.clears(float(deep) - wheel["width_um"] - 25400)
        passes = passes & self._nut_passes(axle, wheel, spacer, (length, thread))
        return passes & self.clears(self.rim_room(axle, wheel, spacer["thick"]))

    def _bore_passes(self, axle: str, wheel: Columns, spacer: dict[str, Any]) -> Column:
        """The wheel's bore goes over the pilot that it meets, and the spacer's own over the hub's."""
        ops, lenient = self.ops, not self.job.is_strict
        goes_over = ops.half_up(wheel["bore_um"] - spacer["pilot"]) >= 0
        if spacer["meets"] is None:  # whether the hub's pilot reaches through is open
            goes_over = goes_over | lenient
        elif not spacer["meets"]:
            goes_over = goes_over | True
        own = spacer["bore"] - float(self.job.must(f"hub.{axle}.pilot"))
        return goes_over & (lenient if math.isnan(own) else own > -0.5)

    def brake_margins(self, axle: str, wheel: Columns, thick: Any) -> Columns:
        """Room around the brake and ahead of its caliper."""
        job, clearance = self.job, self.job.brake_um(axle)
        envelope, reach = (
            float(size) if (size := job.size(f"brakes.{axle}.{key}")) is not None else math.nan
            for key in ("envelope_diameter", "caliper_reach")
        )
        barrel = wheel["barrel_um"] - envelope - 2 * clearance
        return {"barrel": barrel, "spoke": wheel["spoke_um"] + thick - reach - clearance}

    # Lug nuts

    def nut_key(self, lug_nut: Any, seat: Any, kept: Any) -> Any:
        """What decides on the nut of a wheel beside the studs' thread, as one text."""
        return lug_nut + "|" + seat + "|" + kept

    def nuts_of(self, axle: str, spacer: dict[str, Any]) -> list[int]:
        """Place in the list of the nut for each of `nut_keys` over a spacer; -1 where none is known."""
        by_sku = {nut["sku"]: at for at, nut in enumerate(self.nuts)}
        hub_nut, found = self.job.find(f"hub.{axle}.lug_nut") or "", []
        for key in self.nut_keys:
            named, seat, kept = key.split("|")
            at = by_sku.get(named or (hub_nut if kept else ""), -1)
            found.append(self._cheapest_nut(seat, spacer["nut_thread"]) if at < 0 else at)
        return found

    def _cheapest_nut(self, seat: str, thread: str) -> int:
        """Cheapest listed right-hand nut of a seat and a thread; -1 where either is open or there is none."""
        fitting = [
            (cents(nut["price"]) / int(nut["pack"] or 1), nut["sku"], at)
            for at, nut in enumerate(self.nuts)
            if seat
            and thread
            and nut["left_hand"] != "yes"
            and folded(nut["seat"]) == folded(seat)
            and folded(nut["thread"]) == folded(thread)
        ]
        return min(fitting, default=(0, "", -1))[2]

    def _nut_passes(self, axle: str, wheel: Columns, spacer: dict[str, Any], stud: tuple[float, float]) -> Column:
        """The stud does not bottom in a closed nut, and a nut whose thread is listed has enough of it."""
        ops, none = self.ops, {"type": "", "thread_depth_mm": ""}
        nuts = [self.nuts[at] if at >= 0 else none for at in self.nuts_of(axle, spacer)]
        depth = ops.pick(wheel["nut_code"], [number(nut["thread_depth_mm"]) * 1000 for nut in nuts])
        kind = ops.pick(wheel["nut_code"], [{"open": 1.0, "closed": 0.0}.get(nut["type"], math.nan) for nut in nuts])
        length, thread = (spacer["stud"], spacer["thread"]) if spacer["bolted"] else stud
        out = length - wheel["pad_um"] - (0.0 if spacer["bolted"] else spacer["thick"])
        stays_off = ops.where(kind == 1.0, 0.0, ops.where(ops.isnan(kind), math.nan, depth - out))
        return self.clears(stays_off) & (ops.isnan(depth) | (ops.half_up(depth - thread) >= 0))

    def rim_room(self, axle: str, wheel: Columns, thick: Any) -> Column:
        """Room left inboard of the rim's flange."""
        room = self.job.least_room(axle, "room_inner", shifts=1) - float(self.job.clearance(axle, "inner"))
        return room - (wheel["w_offset_um"] - thick) - wheel["width_um"] / 2 - 12700

    def mount_bill(self, axle: str, wheel: Columns, spacer: dict[str, Any]) -> Columns:
        """What a wheel over a spacer brings to the lines of a bill, beside the wheel itself."""
        ops = self.ops
        nuts = self.nuts_of(axle, spacer)
        rings = ops.half_up(wheel["bore_um"] - spacer["pilot"]) > (math.inf if spacer["meets"] is False else 100)
        bill = {
            "nut_at": ops.pick(wheel["nut_code"], [float(at) for at in nuts]),
            "nut_price": ops.pick(
                wheel["nut_code"],
                [float(cents(self.nuts[at]["price"]) if at >= 0 else self.fixed("lug_nut")) for at in nuts],
            ),
            "nut_pack": ops.pick(
                wheel["nut_code"], [float(self.nuts[at]["pack"] or 1) if at >= 0 else 1.0 for at in nuts]
            ),
            "nut_n": ops.where(wheel["w_kept"], 0.0, 2.0 * spacer["lugs"]),
            "ring_n": ops.where(rings & ~wheel["w_kept"], 2.0, 0.0),
        }
        return bill | {
            name: bill["nut_n"] * 0 + float(spacer[own])
            for name, own in (("spacer_at", "at"), ("spacer_net", "cents"), ("spacer_lb", "lb"))
        }

    def bill(self, row: Columns) -> tuple[Column, Column]:
        """The lines of both axles but for freight, in cents with their tax, and the mass of what is bought in
        hundredths of a pound; `row` has the columns of `mount_bill` as `_front` and `_rear`.
        """
        ops, every = self.ops, 4.0 + self.extra
        wheels, tires = (ops.where(row[f"{kind}_kept"], float(self.extra), every) for kind in ("w", "t"))
        mounted = ops.where(row["t_kept"] & row["w_kept"], float(self.extra), every)
        disposed = ops.where(row["t_kept"], 0.0, 4.0)
        parts = self.taxed("parts", wheels * row["w_price"]) + self.taxed("parts", tires * row["t_price"])
        rings = self.taxed("parts", (row["ring_n_front"] + row["ring_n_rear"]) * self.fixed("hub_ring"))
        work = self.taxed("labor", mounted * self.fixed("mount_and_balance"))
        fees = self.taxed("fees", disposed * self.fixed("tire_disposal"))
        mass = wheels * row["w_lb"] + tires * row["t_lb"] + row["spacer_lb_front"] + row["spacer_lb_rear"]
        return parts + rings + work + fees + self._spacer_lines(row) + self._nut_lines(row), mass

    def _spacer_lines(self, row: Columns) -> Column:
        own, other = row["spacer_net_front"], row["spacer_net_rear"]
        apart = self.taxed("parts", own) + self.taxed("parts", other)
        is_one = row["spacer_at_front"] == row["spacer_at_rear"]
        return self.ops.where(is_one, self.taxed("parts", own + other), apart)

    def _nut_lines(self, row: Columns) -> Column:
        def line(count: Column, axle: str) -> Column:
            packs = -self.ops.call("floor", -count / row[f"nut_pack_{axle}"])
            return self.taxed("parts", packs * row[f"nut_price_{axle}"])

        own, other = row["nut_n_front"], row["nut_n_rear"]
        apart = line(own, "front") + line(other, "rear")
        return self.ops.where(row["nut_at_front"] == row["nut_at_rear"], line(own + other, "front"), apart)

    # Corners

    def section(self, wheel: Columns, tire: Columns) -> Column:
        """Section width on the fitted rim: S1 + 0.4 (A - A1)."""
        return tire["section_um"] + 4 * (wheel["width_um"] - tire["measured_um"]) / 10

    def rim_passes(self, wheel: Columns, tire: Columns) -> Column:
        """The rim is in the tire's approved range."""
        return self.holds(wheel["width_um"] >= tire["narrowest_um"], tire["narrowest_um"]) & self.holds(
            wheel["width_um"] <= tire["widest_um"], tire["widest_um"]
        )

    def side_margins(self, axle: str, offset: Column, width: Column) -> Columns:
        """Room beside the tire."""
        job = self.job
        inner, outer = (float(job.clearance(axle, side)) for side in ("inner", "outer"))
        return {
            "inner": job.least_room(axle, "room_inner", shifts=1) - inner - offset - width / 2,
            "outer": job.least_room(axle, "room_outer", shifts=1) - outer + offset - width / 2,
            "between": job.least_room(axle, "room_inner", "room_outer", shifts=2) - inner - outer - width,
        }

    def sweep_margin(self, offset: Column, width: Column, diameter: Column) -> Column:
        """Room around the front tire, steered from lock to lock, the least of all states."""
        job = self.job
        axis, clearance = float(job.must("steering.axis_offset")), float(job.clearance("front", "sweep"))
        margins = []
        for state in job.states("front"):
            lock = job.lock_rad(state)
            room = float(min(job.room("front", state, f"sweep_{way}") for way in ("ahead", "behind")))
            frame = float(job.room("front", state, "frame_room")) - job.shift_um("front", state)
            margins.append(room - clearance - self._farthest(diameter / 2, abs(axis - offset) + width / 2, lock))
            margins.append(frame - clearance - axis - self._farthest(width / 2 - axis + offset, diameter / 2, lock))
        return self.ops.least(*margins)

    def _farthest(self, straight: Column, aside: Column, lock: float) -> Column:
        """The largest of straight cos t + aside sin t for t from 0 to the lock."""
        turned = self.ops.call("atan2", aside, straight)
        turned = self.ops.capped(turned, lock)
        return straight * self.ops.call("cos", turned) + aside * self.ops.call("sin", turned)

    def well_margin(self, width: Column) -> Column:
        """Room in the spare's well for the width of a tire."""
        return float(self.job.must("spare.well_width") - (self.job.size("spare.clearance") or 6350)) - width

    def cover_margin(self, axle: str, offset: Column, width: Column, tread: Column) -> Column | None:
        """Room between the lip and what it has to cover; None where nothing is asked."""
        asked = self.job.find("targets.cover")
        if not asked:
            return None
        return float(self.job.ride_lip(axle)) + offset - (width if asked == "tire" else tread) / 2

    def fit(self, axle: str, margins: Columns) -> Column:
        """Points of the tightest margin over its clearance, none where any is open; margins by their names here."""
        job, ops = self.job, self.ops
        inner, outer, top, opening, sweep = (
            max(float(job.clearance(axle, side)), 3175.0) for side in ("inner", "outer", "top", "opening", "sweep")
        )
        full = {
            "rim": inner,
            "inner": inner,
            "outer": outer,
            "between": inner + outer,
            "top": top,
            "opening": opening,
            "sweep": sweep,
            **dict.fromkeys(("barrel", "spoke"), max(job.brake_um(axle), 3175.0)),
        }
        return ops.least(*(ops.ramp(ops.half_up(margin), half_up(full[name])) for name, margin in margins.items()))

    def stance_error(self, fronts: tuple[Column, Column], rears: tuple[Column, Column]) -> Column:
        """Distance from the wanted rake and lip gaps of one tire all round; offset and width of each axle."""
        rake, gap = self.job.size("targets.rake"), self.job.size("targets.lip_gap")
        error = fronts[1] * 0 + (abs(half_up(rake)) if rake is not None else 0)
        if rake is None and gap is None:
            return self.ops.filled(error, 0)
        error = self.ops.filled(error, abs(half_up(rake)) if rake is not None else 0)
        for axle, (offset, width) in (("front", fronts), ("rear", rears)) if gap is not None else ():
            room = float(self.job.ride_lip(axle) - gap)
            error = error + self.ops.half_up(abs(room + offset - width / 2))
        return error

    # Drives

    def gears(self) -> list[dict[str, Any]]:
        """Pairs of gear set and differential that belong together: SKUs, ratio, grip, low side, preload, cents."""
        job = self.job
        ring, splines, lenient = job.find("axle.ring_gear"), str(job.find("axle.splines")), not job.is_strict
        low, mean, over = float(job.must("surface.friction_low")), job.mean_friction(), job.height_over_wheelbase()
        found = []
        for gear, carrier in itertools.product(read_rows(job.file("ratios")), read_rows(job.file("differentials"))):
            ratio = float(gear["ratio"])
            pairs = (
                (gear["ring_gear"], carrier["ring_gear"]),
                (gear["ring_gear"], ring),
                (carrier["ring_gear"], ring),
                (carrier["splines"], splines),
            )
            alike = all(a == b if a and b else lenient for a, b in pairs)
            ends = (number(carrier["ratio_min"]), number(carrier["ratio_max"]))
            inside = (lenient if math.isnan(ends[0]) else ratio >= ends[0]) and (
                lenient if math.isnan(ends[1]) else ratio <= ends[1]
            )
            if not (alike and inside):
                continue
            low_side = {"open": 2.0, "locked": math.inf}.get(carrier["type"], 1 + number(carrier["bias_ratio"]))
            counted = min((2.0 if math.isnan(low_side) else low_side) * low / 2, mean)
            preload = (
                number(carrier["preload (lb-ft)"])
                if carrier["type"] == "limited_slip" and carrier["preload (lb-ft)"]
                else 0.0
            )
            found.append(
                {
                    "skus": (gear["sku"], carrier["sku"]),
                    "ratio": ratio,
                    "low_side": low_side,
                    "grip": counted / (1 - counted * over),
                    "preload_n_m": preload * 0.3048 * 0.45359237 * 9.80665,
                    "cents": self._gear_cents(gear, carrier),
                }
            )
        return found

    def _gear_cents(self, gear: dict[str, str], carrier: dict[str, str]) -> int:
        new = [part for part in (gear, carrier) if part["on_truck"] != "yes"]
        hours = sum(float(part["labor_hours"] or 0) for part in new)
        labor = int(self.taxed("labor", half_up(hours * cents(self.job.find("money.labor_per_hour") or "$0"))))
        each = sum(
            int(self.taxed("parts", cents(part["price"]))) + int(self.taxed("fees", cents(part["core_charge"] or "0")))
            for part in new
        )
        return each + labor + (int(self.taxed("parts", self.fixed("install_kit"))) if new else 0)

    def grips(self, turn: Column, ratio: Column, low_side: Column, preload_n_m: Column) -> Columns:
        """Thrust over the load under the rear wheels and what preload adds to it [kg], on split ground and on a good
        road: less what the driveshaft's torque lifts off one wheel of a live axle.
        """
        job, ops, radius = self.job, self.ops, turn / 1e6 / (2 * math.pi)
        lift = job.lift()
        finite = ops.where(low_side == math.inf, 0.0, low_side)
        found = {}
        for name, low, mean in (
            ("", float(job.must("surface.friction_low")), job.mean_friction()),
            ("road_", job.road_friction(), job.road_friction()),
        ):
            over = 1 + finite * low * radius / ratio * (math.nan if lift is None else lift)
            by_low = ops.where(low_side == math.inf, mean, finite * low / 2 / over)
            found[f"{name}share"] = ops.capped(by_low, mean)
            found[f"{name}preload_kg"] = ops.where(preload_n_m == 0, 0.0, preload_n_m / radius / 9.80665 / over)
        return found

    def rpm(self, turn: Column, ratio: Column, speed: Any, gear: Any) -> Column:
        """Engine speed at a road speed [km/h]."""
        return float(speed) * 1e9 / 60 * float(gear) * ratio / turn

    def turning_passes(self, turn: Column, ratio: Column, is_declared: Column) -> Column:
        """Cruise rpm at every point, redline, driveshaft and speedometer."""
        job, ops = self.job, self.ops
        passes = turn > 0
        for point in job.cruise_points():
            rpm = self.rpm(turn, ratio, point["speed"], point["turn"])
            passes = (
                passes
                & (ops.half_up((rpm - float(point["min"])) * 1000) >= 0)
                & (ops.half_up((float(point["max"]) - rpm) * 1000) >= 0)
            )
        top, shaft = job.must("targets.top_speed"), job.critical_rpm()
        passes = passes & (
            ops.half_up((float(job.must("engine.redline")) - self.rpm(turn, ratio, top, job.top_gear())) * 1000) >= 0
        )
        if shaft is not None:
            passes = passes & (ops.half_up((shaft - self.rpm(turn, ratio, top, 1)) * 1000) >= 0)
        limit = job.size("targets.speedometer_error")
        if limit is not None:
            error = self._speedometer_error(turn, ratio, is_declared)
            passes = passes & self.holds(ops.half_up((float(limit) - abs(error)) * 1_000_000) >= 0, error)
        return passes

    def _speedometer_error(self, turn: Column, ratio: Column, is_declared: Column) -> Column:
        """With the driven gear that reads least above true, else with the one that reads least below it."""
        job, ops, meter = self.job, self.ops, self.job.find("speedometer")
        measured = job.size("present.rear_tire_diameter")
        diameter = self.present[0] if measured is None else float(measured)
        by_size = math.nan if diameter is None else math.pi * diameter * job.rolling(self.present[1])
        now = ops.where(is_declared, MILE_UM / meter["present_revs_per_mile"], by_size)
        change = ratio / meter["present_ratio"] * now / turn * job.reads() * meter["driven_teeth"]
        errors = [change / count - 1 for count in sorted({meter["driven_teeth"], *meter.get("driven_listed", [])})]
        above = ops.least(*(ops.where(error >= 0, error, math.nan) for error in errors))
        return ops.filled(above, -ops.least(*(-error for error in errors)))

    def cruise(self, turn: Column, ratio: Column) -> Column:
        """Points for the engine speed at cruise."""
        main = self.job.cruise_points()[0]
        band = half_up((main["max"] - main["min"]) / 2 * 1000)
        away = self.ops.half_up(
            abs(self.rpm(turn, ratio, main["speed"], main["turn"]) - float((main["max"] + main["min"]) / 2)) * 1000
        )
        return self.ops.ramp(band - away, band)

    def pulled(self, turn: Column, ratio: Column) -> list[Column]:
        """The heaviest trucks that thrust pulls up the wanted grades; NaN where not known."""
        job, ops = self.job, self.ops
        radius = turn / 1e6 / (2 * math.pi)
        efficiency, curve = float(job.size("transmission.efficiency") or 0.85), job.torque_curve()
        found, grade = [], job.size("targets.pull_grade")
        if grade is not None:
            torque = job.at_rest_n_m()
            first = math.nan if torque is None else torque * float(job.find("transmission.gears")[0])
            thrust = first * efficiency * ratio / radius
            found.append(ops.call("floor", thrust / job.grade_weight_n(grade) * 1000))
        for point in job.cruise_points():
            if point["hold"] is not None:
                torque = self._torque(self.rpm(turn, ratio, point["speed"], point["turn"]), curve)
                drag = (
                    0.5
                    * AIR_KG_M3
                    * float(job.must("truck.drag_coefficient"))
                    * float(job.must("truck.frontal_area"))
                    * (float(point["speed"]) / 3.6) ** 2
                )
                push = torque * float(point["gear"]) * efficiency * ratio / radius - drag
                found.append(ops.call("floor", push / job.grade_weight_n(point["hold"]) * 1000))
        return found

    def _torque(self, rpm: Column, curve: list[tuple[float, float]]) -> Column:
        """Torque on the straight line between two points of the curve; NaN outside of it."""
        torque = rpm * math.nan
        for (low, at_low), (high, at_high) in itertools.pairwise(curve):
            line = at_low + (rpm - low) / (high - low) * (at_high - at_low)
            torque = self.ops.where((rpm >= low) & (rpm <= high), line, torque)
        return torque

    # Ballast

    def layouts(self) -> list[dict[str, Any]]:
        """Every allowed way to lay ballast that its ties hold: counts, grams on each axle, cents."""
        job = self.job
        plan = job.find("ballast")
        items, stations = sorted(read_rows(job.file("ballast")), key=lambda row: row["sku"]), plan["stations"]
        slots = list(itertools.product(items, range(len(stations))))
        found = [{"counts": (), "front": 0, "rear": 0, "cents": 0, "lb": 0, "stock": {}, "grams": {}, "pounds": {}}]
        for item, at in slots:
            found = [more for layout in found for more in self._laid(layout, item, at, stations[at], plan["max_items"])]
        return found

    def _laid(
        self, layout: dict[str, Any], item: dict[str, str], at: int, station: dict[str, Any], most: int
    ) -> Iterable[dict[str, Any]]:
        """A layout with any allowed number of an item more at a station."""
        pounds, sku = float(item["mass_lb"]), item["sku"]
        mass, station_um = math.floor(pounds * 453.59237 + 0.5), int(quantity(station["at"]))
        base = int(self.base)
        rear = (2 * mass * (base - station_um) + base) // (2 * base)
        price, before = cents(item["price"]), layout["stock"].get(sku, 0)
        stock = int(item["max_count"]) if item["max_count"] else most
        held = float(self.job.tied_g(station))
        heaviest = half_up(quantity(station["max_mass"])) if "max_mass" in station else math.inf
        for count in range(min(most - sum(layout["counts"]), stock - before) + 1):
            here = layout["grams"].get(at, 0) + count * mass
            laid = layout["pounds"].get(at, 0.0) + count * pounds
            if here > heaviest or math.floor(held - laid * 453.59237 + 0.5) < 0:
                return
            yield {
                "counts": (*layout["counts"], count),
                "front": layout["front"] + count * (mass - rear),
                "rear": layout["rear"] + count * rear,
                "cents": layout["cents"]  # one line an item, wherever it lies
                + int(self.taxed("parts", (before + count) * price) - self.taxed("parts", before * price)),
                "lb": layout["lb"] + count * half_up(pounds * 100),
                "stock": {**layout["stock"], sku: before + count},
                "grams": {**layout["grams"], at: here},
                "pounds": {**layout["pounds"], at: laid},
            }

    # Builds

    def loads(self) -> dict[str, int]:
        """Loads without any of the new wheels and tires: those of the cases less the present ones."""
        bare, permille = self.job.bare_g(), self.job.front_permille()
        fronts, rears = zip(*bare, strict=True)
        return {
            "front_heavy": max(fronts),
            "rear_heavy": max(rears),
            "rear_light": min(rears),
            "truck_heavy": max(map(sum, bare)),
            "steering": min(1000 * own - permille * (own + other) for own, other in bare),
            "payload": self.job.bare_aboard_g(),
        }

    def build_passes(self, row: Columns) -> Column:
        """All checks of a whole build; loads in grams, see `loaded`."""
        job = self.job
        passes = row["cost"] <= self.budget
        pairs = []
        for axle in ("front", "rear"):
            limits = [2 * row["tire_g"], 2 * row["wheel_g"], job.grams(f"truck.gawr_{axle}") or math.nan]
            loads = [row[f"{axle}_heavy"]] + [row["front_bare"]] * (axle == "front" and job.lightens_front)
            pairs += [(load, limit) for limit in limits for load in loads]
        pairs.append((row["truck_heavy"], job.grams("truck.gvwr") or math.nan))
        pairs += [(row["truck_heavy"], row[name]) for name in row if name.startswith("pulled_")]
        if job.size("truck.payload") is not None:
            pairs.append((row["payload"], job.grams("truck.payload")))
        if job.size("targets.rear_load") is not None:
            pairs.append((row["cost"] * 0 + job.grams("targets.rear_load"), row["rear_light"]))
        for load, limit in pairs:
            passes = passes & self.holds(load <= limit, limit - load)
        if job.front_permille():
            passes = passes & self.holds(row["steering"] >= -50, row["steering"])
        for axle in ("front", "rear") if job.size("targets.ground_clearance") is not None else ():
            hang, sink = self.ground(axle, row)
            for load in [row[f"{axle}_heavy"]] + [row["front_bare"]] * (axle == "front" and job.lightens_front):
                passes = passes & self.clears(hang - sink * load)
        for margin in self.climb_margins(row):
            passes = passes & self.holds(margin >= 0, margin)
        return passes

    def climbs(self) -> list[tuple[float, float, str, float, float]]:
        """Grades to start and to pull on: sin and cos of the slope, what `grips` calls the ground, what is needed of
        the truck's weight, and by how much of it a thrust may be below that in its last place.
        """
        job, found = self.job, []
        least, pull = job.size("targets.start_grade"), job.size("targets.pull_grade")
        if least is not None:
            found.append((math.atan(float(least) - 0.5e-6), job.ground_resistance(), "", 0.0))
        if pull is not None:
            found.append((math.atan(float(pull)), job.resistance, "road_", 0.00005))
        return [
            (math.sin(slope), math.cos(slope), name, needed := math.sin(slope) + back * math.cos(slope), half * needed)
            for slope, back, name, half in found
        ]

    def climb_margins(self, row: Columns) -> Iterable[Column]:
        """Thrust over what is needed on each grade in each load case, by the differential and by both sides."""
        job, base, over = self.job, self.loads(), self.job.height_over_wheelbase()
        mean = {"": job.mean_friction(), "road_": job.road_friction()}
        for bare_front, bare_rear in job.bare_g():
            rear = (row["rear_light"] + (bare_rear - base["rear_light"])) / 1000
            truck = (row["truck_heavy"] + (bare_front + bare_rear - base["truck_heavy"])) / 1000
            for sin, cos, name, needed, short in self.climbs():
                on_rear = rear * cos + truck * over * sin
                for share, preload in ((row[f"{name}share"], row[f"{name}preload_kg"]), (mean[name], 0.0)):
                    yield share * on_rear + preload - truck * needed + short

    def loaded(self, row: Columns) -> Columns:
        """Cost, loads and mass of a build from `pair_front`, `pair_rear`, `spare_g`, the drive's and the ballast's."""
        base = self.loads()
        spare_rear = self.to_rear(row["spare_g"], self.spare_at or 0.0)
        added = row["pair_front"] + row["pair_rear"] + row["spare_g"] + row["lay_front"] + row["lay_rear"]
        front = row["pair_front"] + row["spare_g"] - spare_rear + row["lay_front"]
        rear = row["pair_rear"] + spare_rear + row["lay_rear"]
        return {
            "cost": row["corner_cents"]
            + row["drive_cents"]
            + row["lay_cents"]
            + self.freight(row["corner_lb"] + row["lay_lb"]),
            "front_bare": base["front_heavy"] + front - row["lay_front"],
            "front_heavy": base["front_heavy"] + front,
            "rear_heavy": base["rear_heavy"] + rear,
            "rear_light": base["rear_light"] + rear,
            "truck_heavy": base["truck_heavy"] + added,
            "steering": base["steering"] + 1000 * front - self.job.front_permille() * added,
            "payload": base["payload"] + added,
            "parts_g": row["pair_front"] + row["pair_rear"] + row["lay_front"] + row["lay_rear"],
        }

    def score(self, row: Columns) -> Column:
        """Weighted points of a build."""
        ops, job = self.ops, self.job
        scale, stance = half_up(job.size("scales.weight") or 1_000_000), half_up(job.size("scales.stance") or 101_600)
        points = {
            "cost": lambda: ops.ramp(self.budget - row["cost"], self.budget),
            "cruise": lambda: row["cruise"],
            "fit": lambda: row["fit"],
            "traction": lambda: ops.ramp(row["rear_light"] * row["grip"], job.full_thrust(), 1e-6),
            "stance": lambda: ops.ramp(stance - row["stance_error"], stance),
            "weight": lambda: ops.ramp(scale - row["parts_g"], scale),
        }
        return sum(weight * points[name]() for name, weight in job.weights().items())


def read_rows(path: str) -> list[dict[str, str]]:
    """Rows of a short list as texts."""
    header, *rows = Path(path).read_text(encoding="utf-8").splitlines()
    names = header.split(",")
    return [dict(zip(names, row.split(","), strict=True)) for row in rows]


def number(text: str) -> float:
    """A printed number; NaN of a blank."""
    return float(text) if text else math.nan


def folded(text: str) -> str:
    """A seat or a thread without case and blanks."""
    return "".join(text.lower().split())


def split_circle(text: str) -> tuple[int, float]:
    """Lugs and micrometers of "6x139.7"; nothing of a blank."""
    lugs, _, circle = text.partition("x")
    return (int(lugs), float(round(float(circle) * 1000))) if circle else (0, math.nan)


def print_rows(rows: Iterable[dict[str, Any]]) -> None:
    """Rows as JSON lines."""
    for row in rows:
        print(json.dumps(row, sort_keys=True))


def described(score: float, cost: float, skus: Iterable[str], counts: Iterable[int]) -> dict[str, Any]:
    """A build in the words of the enumeration."""
    return {
        "levels": [int(score)],
        "cost_cents": int(cost),
        **dict(zip(SKUS, skus, strict=True)),
        "counts": [int(count) for count in counts],
    }


def asked() -> tuple[Path, int]:
    """Folder of the job and number of builds, from the command line."""
    if len(sys.argv) != 3:
        raise SystemExit(f"usage: {Path(sys.argv[0]).name} FOLDER COUNT")
    return Path(sys.argv[1]), int(sys.argv[2])

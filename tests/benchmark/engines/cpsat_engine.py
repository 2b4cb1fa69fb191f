"""The first builds of a plain job by CP-SAT on the raw lists: `python cpsat_engine.py FOLDER COUNT` prints JSON lines.

One Boolean a row of each list, whole-number sums of the chosen rows, and limits on them. The best build is found and
excluded, again and again; builds of one score and cost are printed once all of them are known, in the order of their
SKUs. The steering sweep is no sum: it is bounded by tangents, and where a found build passes them and not the sweep
itself, its own tangent is added. So is the grip of a live axle, whose driveshaft lifts a wheel by the size of the tire:
it counts as with the smallest tire until a build is found. Sizes count in twentieths of a micrometer, in which every
sum of a list is whole.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import numpy as np
from ortools.sat.python import cp_model
from pandas_engine import Engine, arrays
from plain import BILLED, FULL, asked, described, print_rows, read_rows

from job_sizes import cents, half_up, quantity  # isort: skip  # found on the path that `plain` sets

FINE = 20
"""Units of length in a micrometer."""
TRIG = 100_000_000
"""Units of a sine."""
SHARE = 10_000_000
"""Units of a share of a load."""
THRUST = 10**12
"""Units of a point of traction."""
MOST = 10**8
TANGENTS = 9
DEARER = 10**7
"""More than any cost in cents: one point weighs more than all money."""
Sum = Any


class Model:
    """The model of one job."""

    def __init__(self, folder: Path) -> None:
        engine = Engine(folder)
        self.plain, self.job, self.engine = engine.plain, engine.job, engine
        self.wheels, self.tires = engine.wheels(), engine.every_tire()
        self.w, self.t = arrays(self.wheels), arrays(self.tires)
        self.model = cp_model.CpModel()
        self.weights = self.job.weights()
        self.gears = self.plain.gears()
        self.lifted: set[tuple[int, int]] = set()
        self.hubs = {axle: self.plain.spacers(axle) for axle in ("front", "rear")}
        self.wheel = self._choice(len(self.wheels))
        self.tire = self._choice(len(self.tires))
        self.spacer = {axle: self._choice(len(found)) for axle, found in self.hubs.items()}
        every = itertools.product(*(range(len(found)) for found in self.hubs.values()))
        self.pair = dict(zip(pairs := list(every), self._choice(len(pairs)), strict=True))
        for (front, rear), chosen in self.pair.items():
            self.model.add_implication(chosen, self.spacer["front"][front])
            self.model.add_implication(chosen, self.spacer["rear"][rear])
        self.gear = self._choice(len(self.gears))
        self._refuse(self.tire, ~self.t["passes"])
        self._lay_ballast()
        self._fit_corners()
        self._turn()
        self._load()
        self._pay()
        self._score()

    # Pieces

    def _choice(self, count: int) -> list[cp_model.IntVar]:
        """A Boolean a row, of which exactly one holds."""
        found = [self.model.new_bool_var("") for _ in range(count)]
        self.model.add_exactly_one(found)
        return found

    def _refuse(self, chosen: list[cp_model.IntVar], rows: Any, *when: cp_model.IntVar) -> None:
        """None of some rows, or none while something else is chosen."""
        refused = [chosen[at] for at in np.flatnonzero(rows)]
        if refused:
            rule = self.model.add(cp_model.LinearExpr.sum(refused) == 0)
            if when:
                rule.only_enforce_if(*when)

    def _sum(self, chosen: list[cp_model.IntVar], sizes: Any, unknown: float = 0.0) -> Sum:
        """What the chosen row has; sizes are whole numbers once what is unknown is replaced."""
        whole = np.rint(np.where(np.isnan(sizes), unknown, sizes)).astype(np.int64)
        # A number of its own: a factor times the sum over all rows of a long list would be beyond 64 bits.
        size = self.model.new_int_var(int(whole.min()), int(whole.max()), "")
        self.model.add(size == cp_model.LinearExpr.weighted_sum(chosen, whole.tolist()))
        return size

    def _points(self, size: Sum, full: int) -> cp_model.IntVar:
        """Points of a size, rounded down, by what maximizing makes of a limit; below zero counts as zero."""
        points, raw = self.model.new_int_var(0, FULL, ""), self.model.new_int_var(-MOST, FULL, "")
        self.model.add(raw * full <= FULL * size)
        self.model.add_max_equality(points, [raw, 0])
        return points

    # Parts of the model

    def _lay_ballast(self) -> None:
        """Counts of each ballast item at each station, a Boolean a count."""
        job, plan = self.job, self.job.find("ballast")
        layouts = self.plain.layouts()  # of which a single item's grams and cents on each axle are taken
        slots = len(layouts[0]["counts"])
        one = {
            next(at for at, count in enumerate(layout["counts"]) if count): layout
            for layout in layouts
            if sum(layout["counts"]) == 1
        }
        items = sorted(read_rows(job.file("ballast")), key=lambda row: row["sku"])
        stations = plan["stations"]
        self.counts = [self._choice(plan["max_items"] + 1 if at in one else 1) for at in range(slots)]
        numbers = [sum(count * chosen for count, chosen in enumerate(own)) for own in self.counts]
        self.model.add(sum(numbers) <= plan["max_items"])
        for at, item in enumerate(items):
            if item["max_count"]:
                self.model.add(sum(numbers[at * len(stations) : (at + 1) * len(stations)]) <= int(item["max_count"]))
        for at, station in enumerate(stations):
            here = list(zip(items, numbers[at :: len(stations)], strict=True))
            if "max_mass" in station:
                grams = [math.floor(float(item["mass_lb"]) * 453.59237 + 0.5) for item, _ in here]
                self.model.add(
                    sum(mass * number for mass, (_, number) in zip(grams, here, strict=True))
                    <= half_up(quantity(station["max_mass"]))
                )
            held = job.tied_g(station) + quantity("0.0005 kg")
            pounds = sum(round(float(item["mass_lb"]) * 10) * number for item, number in here)
            self.model.add(pounds <= math.floor(held * 10 / quantity("1 lb")))
        self.laid = {
            name: sum(one[at][name] * number for at, number in enumerate(numbers) if at in one)
            for name in ("front", "rear", "lb")
        }
        self.lines = [
            self._taxed("parts", cents(item["price"]) * sum(numbers[at * len(stations) : (at + 1) * len(stations)]))
            for at, item in enumerate(items)
        ]

    def _taxed(self, kind: str, amount: Sum) -> Sum:
        """A line of the bill with its tax, half a cent up."""
        if kind not in self.plain.taxed_kinds or not self.plain.ppm:
            return amount
        return amount + self._divided(amount * self.plain.ppm + 500_000, 1_000_000)

    def _divided(self, amount: Sum, by: int) -> cp_model.IntVar:
        """An amount, not below zero, over a whole number, rounded down."""
        whole = self.model.new_int_var(0, MOST, "")
        self.model.add(by * whole <= amount)
        self.model.add(by * whole >= amount - by + 1)
        return whole

    def _fit_corners(self) -> None:
        """Everything beside, over and around the tire, and the points of the tightest of it."""
        job, w, t = self.job, self.w, self.t
        self.model.add(self._sum(self.wheel, w["rim_um"]) == self._sum(self.tire, t["rim_um"]))
        self._refuse(self.tire, np.isnan(t["narrowest_um"] + t["widest_um"]) & job.is_strict)
        width = self._sum(self.wheel, w["width_um"])
        self.model.add(width >= self._sum(self.tire, t["narrowest_um"], 0))
        self.model.add(width <= self._sum(self.tire, t["widest_um"], MOST))
        self._refuse(self.tire, np.isnan(t["section_um"] + t["measured_um"]))  # never in the lists, see `lists`
        section = self._sum(self.tire, FINE * t["section_um"] - 0.4 * FINE * t["measured_um"])
        self.width = section + self._sum(self.wheel, 0.4 * FINE * w["width_um"])
        self.fits = []
        self.unfit = np.zeros(len(w["rim_um"]), dtype=bool)  # wheels of which something around the brake is open
        self.offset = {}
        for axle in ("front", "rear"):
            self._fit_axle(axle)
        if job.has_spare:
            well = float(job.must("spare.well_width") - (job.size("spare.clearance") or 6350))
            self.model.add(self.width <= math.floor((well + 0.5) * FINE))
        for wanted, table, chosen, word in (
            ("targets.same_style", self.wheels, self.wheel, "style"),
            ("targets.same_line", self.tires, self.tire, "line"),
        ):
            if job.find(wanted) and job.is_strict:
                self._refuse(chosen, (table[word] == "").to_numpy())

    def _fit_axle(self, axle: str) -> None:
        job, plain, w, t = self.job, self.plain, self.w, self.t
        for spacer, chosen in zip(self.hubs[axle], self.spacer[axle], strict=True):
            self._refuse(self.wheel, ~plain.mount_passes(axle, w, spacer), chosen)
        thick = np.array([spacer["thick"] for spacer in self.hubs[axle]])
        offset = self.offset[axle] = self._sum(self.wheel, FINE * w["w_offset_um"]) - self._sum(
            self.spacer[axle], FINE * thick
        )
        inner, outer = (max(float(job.clearance(axle, side)), 3175.0) for side in ("inner", "outer"))
        # What the formulas leave of the rooms with nothing in them, and what the parts take of it.
        bare = plain.side_margins(axle, 0.0, 0.0)
        nothing = {"w_offset_um": np.zeros(1), "width_um": np.zeros(1)}
        bare["rim"] = float(plain.rim_room(axle, nothing, 0.0)[0])
        half_width = self._sum(self.wheel, FINE * w["width_um"] / 2)
        taken = {
            "inner": (2 * offset + self.width, 2, inner),
            "outer": (self.width - 2 * offset, 2, outer),
            "between": (self.width, 1, inner + outer),
            "rim": (offset + half_width, 1, inner),
        }
        for name, (size, times, full) in taken.items():
            margin = self._whole_margin(bare[name], size, times)
            self.fits.append((margin, half_up(full)))
        for side, margins in plain.tire_margins(axle, t).items():
            full = half_up(max(float(job.clearance(axle, side)), 3175.0))
            self.fits.append((self._sum(self.tire, np.floor(margins + 0.5)), full))
        brake = half_up(max(job.brake_um(axle), 3175.0))
        for margins, spaced in zip(plain.brake_margins(axle, w, 0.0).values(), (False, True), strict=True):
            size = self._sum(self.wheel, np.floor(margins + 0.5), MOST)
            self.fits.append((size + (self._sum(self.spacer[axle], thick) if spaced else 0), brake))
            self.unfit = self.unfit | np.isnan(margins)
        if axle == "front":
            self.swept = self.model.new_int_var(0, 10**6, "")
            self.fits.append((self.swept, half_up(max(float(job.clearance("front", "sweep")), 3175.0))))
            for state in job.states("front"):
                for turned in np.linspace(0.0, job.lock_rad(state), TANGENTS):
                    self._tangents(state, float(turned))
        asked_for = job.find("targets.cover")
        if asked_for:
            lip = float(job.ride_lip(axle))
            size = (
                self.width
                if asked_for == "tire"
                else self._sum(self.tire, FINE * t["tread_um"], MOST * FINE if job.is_strict else 0)
            )
            self.model.add(size - 2 * offset <= 2 * math.floor((lip + 0.5) * FINE))

    def _whole_margin(self, room_um: float, size: Sum, times: int) -> cp_model.IntVar:
        """Margin in whole micrometers, not below zero: the largest that the room allows, a half up."""
        margin = self.model.new_int_var(0, MOST, "")
        self.model.add(times * FINE * margin + size <= math.floor((room_um + 0.5) * FINE * times))
        return margin

    def _tangents(self, state: str, turned: float) -> None:
        """What the steering sweep takes at one angle: a straight line below what it takes at most."""
        job = self.job
        axis, clearance = float(job.must("steering.axis_offset")), float(job.clearance("front", "sweep"))
        room = float(min(job.room("front", state, f"sweep_{way}") for way in ("ahead", "behind")))
        frame = float(job.room("front", state, "frame_room")) - job.shift_um("front", state)
        cos, sin = round(math.cos(turned) * TRIG), round(math.sin(turned) * TRIG)
        radius = self._sum(self.tire, FINE * self.t["diameter_um"] / 2)
        offset, width = self.offset["front"], self.width
        more = 2 * FINE * TRIG  # both sides doubled, so that half of the width is whole
        for side in (1, -1):
            along = 2 * cos * radius + sin * (width - side * 2 * offset)
            limit = room - clearance + 0.51 - side * axis * sin / TRIG
            self.model.add(more * self.swept + along <= math.ceil(limit * more))
        inward = cos * (width + 2 * offset) + 2 * sin * radius
        limit = frame - clearance - axis + 0.51 + axis * cos / TRIG
        self.model.add(more * self.swept + inward <= math.ceil(limit * more))

    def _turn(self) -> None:
        """Every speed of each gear set with a tire, and the points of the engine speed at cruise."""
        self.cruise = self.model.new_int_var(0, FULL, "")
        self.pulled = []
        turn = self.t["turn_um"]
        for ratio, several in itertools.groupby(
            sorted(range(len(self.gears)), key=lambda at: self.gears[at]["ratio"]),
            key=lambda at: self.gears[at]["ratio"],
        ):
            chosen = self.model.new_bool_var("")
            self.model.add(cp_model.LinearExpr.sum([self.gear[at] for at in several]) == chosen)
            of_ratio = np.full(len(turn), ratio)
            self._refuse(self.tire, ~self.plain.turning_passes(turn, of_ratio, self.t["is_declared"]), chosen)
            self.model.add(self.cruise == self._sum(self.tire, self.plain.cruise(turn, of_ratio))).only_enforce_if(
                chosen
            )
            for masses in self.plain.pulled(turn, of_ratio):
                if self.job.is_strict:
                    self._refuse(self.tire, np.isnan(masses), chosen)
                self.pulled.append((chosen, self._sum(self.tire, np.minimum(masses, MOST), MOST)))

    def _load(self) -> None:
        """Loads of both axles, of which some are not known where a mass is not listed."""
        job, plain, w, t = self.job, self.plain, self.w, self.t
        base, is_strict = plain.loads(), job.is_strict
        corner = self._sum(self.wheel, w["w_g"]) + self._sum(self.tire, t["t_g"])
        known, pair = {}, {}
        for axle in ("front", "rear"):
            grams = np.array([spacer["grams"] for spacer in self.hubs[axle]])
            pair[axle] = 2 * (corner + self._sum(self.spacer[axle], grams))
            missing = [
                chosen
                for chosens, masses in ((self.wheel, w["w_g"]), (self.tire, t["t_g"]), (self.spacer[axle], grams))
                for chosen, mass in zip(chosens, masses, strict=True)
                if math.isnan(mass)
            ]
            known[axle] = self.model.new_bool_var("")
            self.model.add(cp_model.LinearExpr.sum(missing) == 0).only_enforce_if(known[axle])
            self.model.add(cp_model.LinearExpr.sum(missing) >= 1).only_enforce_if(~known[axle])
            if is_strict:
                self.model.add(known[axle] == 1)
        spare, spare_rear = (corner, self.model.new_int_var(0, MOST, "")) if job.has_spare else (0, 0)
        if job.has_spare:
            length = int(plain.base)
            scaled = 2 * (length - int(plain.spare_at)) * corner + length
            self.model.add(2 * length * spare_rear <= scaled)
            self.model.add(scaled < 2 * length * (spare_rear + 1))
        front = pair["front"] + spare - spare_rear + self.laid["front"]
        rear = pair["rear"] + spare_rear + self.laid["rear"]
        added = front + rear
        self.known, self.light, self.truck = known, base["rear_light"] + rear, base["truck_heavy"] + added
        self.parts_g = pair["front"] + pair["rear"] + self.laid["front"] + self.laid["rear"]
        loads = [("front", base["front_heavy"] + front), ("rear", base["rear_heavy"] + rear)]
        if job.lightens_front:
            loads.append(("front", base["front_heavy"] + front - self.laid["front"]))
        for axle, load in loads:
            self._limit(load, job.grams(f"truck.gawr_{axle}"), known[axle])
            for chosen, rated in ((self.wheel, w["wheel_g"]), (self.tire, t["tire_g"])):
                if is_strict:
                    self._refuse(chosen, np.isnan(rated))
                self.model.add(load <= self._sum(chosen, 2 * rated, MOST)).only_enforce_if(known[axle])
            if job.size("targets.ground_clearance") is not None:
                self._keep_off_ground(axle, load)
        both = (known["front"], known["rear"])
        self._limit(base["truck_heavy"] + added, job.grams("truck.gvwr"), *both)
        self._limit(base["payload"] + added, job.grams("truck.payload"), *both)
        if job.front_permille():
            self._limit(job.front_permille() * added - 1000 * front, base["steering"] + 50, *both)
        if job.size("targets.rear_load") is not None:
            self.model.add(self.light >= job.grams("targets.rear_load")).only_enforce_if(known["rear"])
        for chosen, mass in self.pulled:
            self.model.add(base["truck_heavy"] + added <= mass).only_enforce_if(chosen, *both)
        self._climb()

    def _limit(self, load: Sum, most: int | None, *when: cp_model.IntVar) -> None:
        """A load under its limit, where both are known."""
        if most is not None:
            self.model.add(load <= most).only_enforce_if(*when)

    def _keep_off_ground(self, axle: str, load: Sum) -> None:
        """The heaviest load under which each tire keeps the lowest point high enough."""
        hang, sink = self.plain.ground(axle, self.t)
        if self.job.is_strict:
            self._refuse(self.tire, np.isnan(sink))
        most = np.where(np.isnan(sink), MOST, np.floor(np.minimum((hang + 0.5) / sink, MOST)))
        self.model.add(load <= self._sum(self.tire, most)).only_enforce_if(self.known[axle])

    def _climb(self) -> None:
        """The wanted grades in every load case: straight in the loads, for each gear set, with the grip that it has on
        the smallest tire; `_lifted` has that of others.
        """
        turn = np.array([self.t["turn_um"].min()])
        for at, gear in enumerate(self.gears):
            if math.isnan(gear["low_side"]) and self.job.is_strict and self.plain.climbs():
                self.model.add(self.gear[at] == 0)
            self._climb_with(gear, turn, self.gear[at], exact=False)

    def _climb_with(self, gear: dict[str, Any], turn: Any, *when: cp_model.IntVar, exact: bool) -> None:
        """The wanted grades with a gear set: with the preload of every tire, or `exact` with that of the one turn."""
        job, plain, base = self.job, self.plain, self.plain.loads()
        own = [np.array([gear[name]]) for name in ("ratio", "low_side", "preload_n_m")]
        grips = {name: float(grip[0]) for name, grip in plain.grips(turn, *own).items()}
        mean = {"": job.mean_friction(), "road_": job.road_friction()}
        for sin, cos, name, needed, short in plain.climbs():
            preload_kg = grips[f"{name}preload_kg"]  # not known where the share is not
            push: Sum = 0 if math.isnan(preload_kg) else half_up(preload_kg * 1000 * SHARE)
            if not exact and push:
                every = plain.grips(self.t["turn_um"], *own)[f"{name}preload_kg"]
                push = self._sum(self.tire, every * 1000 * SHARE)
            for share, preload in ((grips[f"{name}share"], push), (mean[name], 0)):
                if math.isnan(share):
                    continue
                of_rear = round(share * cos * SHARE)
                of_truck = round((needed - share * job.height_over_wheelbase() * sin) * SHARE)
                for bare_front, bare_rear in job.bare_g():
                    rear = self.light + (bare_rear - base["rear_light"])
                    truck = self.truck + (bare_front + bare_rear - base["truck_heavy"])
                    self.model.add(
                        of_rear * rear + preload + round(short * 1000 * SHARE) >= of_truck * truck
                    ).only_enforce_if(*when, self.known["front"], self.known["rear"])

    def _pay(self) -> None:
        """What the build costs, and the budget."""
        plain, w, t = self.plain, self.w, self.t
        drive_cents = np.array([float(gear["cents"]) for gear in self.gears])
        cost: Sum = self._sum(self.gear, drive_cents) + sum(self.lines)
        nothing = dict.fromkeys(("t_kept",), np.zeros(1, dtype=bool)) | dict.fromkeys(("t_price", "t_lb"), np.zeros(1))
        bills = {
            pair: self._bill_of_mounts(
                nothing, {axle: own[at] for (axle, own), at in zip(self.hubs.items(), pair, strict=True)}
            )
            for pair in self.pair
        }
        bare, mass = next(iter(bills.values()))  # on no spacers: the wheels themselves
        cost += self._sum(self.wheel, bare)
        pounds: Sum = self._sum(self.wheel, mass)
        rest: dict[bytes, tuple[Any, list[cp_model.IntVar]]] = {}
        for pair, (lines, heavier) in bills.items():
            cost += int((lines - bare).min()) * self.pair[pair]
            pounds += int((heavier - mass)[0]) * self.pair[pair]
            own = lines - bare - (lines - bare).min()  # what rings and nuts cost on some wheels more than on others
            rest.setdefault(own.tobytes(), (own, []))[1].append(self.pair[pair])
        mounting = self.model.new_int_var(0, MOST, "")
        for own, pairs in rest.values():
            size = self._sum(self.wheel, own)
            for chosen in pairs:
                self.model.add(mounting == size).only_enforce_if(chosen)
        # What a tire changes of that: its own line, mounting and disposal that hang on what is kept.
        wheels = {"w_price": np.zeros(1), "w_lb": np.zeros(1)} | {
            f"{name}_{axle}": np.zeros(1) for name in BILLED for axle in ("front", "rear")
        }
        wheels |= {f"nut_pack_{axle}": np.ones(1) for axle in ("front", "rear")}
        own = {name: t[name] for name in ("t_kept", "t_price", "t_lb")}
        counted = [
            plain.bill(wheels | tire | {"w_kept": np.array([kept])})
            for kept in (False, True)
            for tire in (nothing, own)
        ]
        new, stays = (counted[at + 1][0] - counted[at][0] for at in (0, 2))
        changes = self.model.new_int_var(-MOST, MOST, "")
        both = [self.wheel[at] for at in np.flatnonzero(w["w_kept"])]
        self.model.add(changes == self._sum(self.tire, new)).only_enforce_if(*(~one for one in both))
        for one in both:
            self.model.add(changes == self._sum(self.tire, stays)).only_enforce_if(one)
        pounds += self._sum(self.tire, counted[1][1] - counted[0][1]) + self.laid["lb"]
        every = 2 * pounds * plain.freight_cents + 100
        cost += mounting + changes + self._taxed("freight", self._divided(every, 200))
        self.cost = self.model.new_int_var(0, plain.budget, "")
        self.model.add(self.cost == cost)

    def _bill_of_mounts(self, tire: dict[str, Any], spacers: dict[str, dict[str, Any]]) -> tuple[Any, Any]:
        """The bill of each wheel over a spacer at each axle, with a tire that costs and weighs nothing."""
        row = {name: self.w[name] for name in ("w_kept", "w_price", "w_lb")} | tire
        for axle, spacer in spacers.items():
            bill = self.plain.mount_bill(axle, self.w, spacer)
            row |= {f"{name}_{axle}": own for name, own in bill.items()}
        return self.plain.bill(row)

    def _score(self) -> None:
        """Weighted points above all money."""
        job, plain = self.job, self.plain
        points: dict[str, Any] = {"cruise": self.cruise}
        if "cost" in self.weights:
            points["cost"] = self._points(plain.budget - self.cost, plain.budget)
        if "fit" in self.weights:
            points["fit"], self.fitless = self.model.new_int_var(0, FULL, ""), self.model.new_bool_var("")
            for margin, full in self.fits:
                self.model.add(points["fit"] * full <= FULL * margin)
            for at in np.flatnonzero(self.unfit):
                self.model.add_implication(self.wheel[at], self.fitless)
            self.model.add(points["fit"] == 0).only_enforce_if(self.fitless)
        if "weight" in self.weights:
            scale = half_up(job.size("scales.weight") or 1_000_000)
            points["weight"] = self._points(scale - self.parts_g, scale)
            for axle in ("front", "rear"):
                self.model.add(points["weight"] == 0).only_enforce_if(~self.known[axle])
        if "traction" in self.weights:
            points["traction"] = self.model.new_int_var(0, FULL, "")
            for gear, chosen in zip(self.gears, self.gear, strict=True):
                of_load = math.floor(gear["grip"] / job.full_thrust() * FULL * THRUST)
                dusty = of_load * self.light + THRUST // 1_000_000
                self.model.add(THRUST * points["traction"] <= dusty).only_enforce_if(chosen)
            self.model.add(points["traction"] == 0).only_enforce_if(~self.known["rear"])
        if "stance" in self.weights:
            points["stance"] = self._stance()
        self.score = sum(weight * points[name] for name, weight in self.weights.items())
        self.model.maximize(DEARER * self.score - self.cost)

    def _stance(self) -> cp_model.IntVar:
        """Points for the wanted rake and lip gaps."""
        job = self.job
        rake, gap = job.size("targets.rake"), job.size("targets.lip_gap")
        error: Sum = abs(half_up(rake)) if rake is not None else 0
        for axle in ("front", "rear") if gap is not None else ():
            room = round((job.ride_lip(axle) - gap) * FINE)
            off = self.model.new_int_var(0, MOST, "")
            for sign in (1, -1):
                far = sign * (2 * room + 2 * self.offset[axle] - self.width)
                self.model.add(2 * FINE * off >= far - FINE + 1)  # the least whole number that is half up
            error = error + off
        scale = half_up(job.size("scales.stance") or 101_600)
        return self._points(scale - error, scale)

    # Builds

    def first(self, count: int) -> Iterable[dict[str, Any]]:
        """The first builds in ranked order, as they are proven."""
        found, waiting, last = 0, [], None
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 2
        solver.parameters.random_seed = 1
        # With probing, ortools 9.15 once called a model infeasible of which a build was left (`write_job` with seed 4).
        solver.parameters.cp_model_probing_level = 0
        while True:
            status = solver.solve(self.model)
            if status == cp_model.MODEL_INVALID:
                raise RuntimeError(self.model.validate()[:500])
            if status not in (cp_model.OPTIMAL, cp_model.INFEASIBLE):
                raise RuntimeError(f"no proof: {solver.status_name(status)}")
            key = None
            if status == cp_model.OPTIMAL:
                if self._tightened(solver) or self._lifted(solver):
                    continue
                key = (int(solver.value(self.score)), int(solver.value(self.cost)))
            if key != last:  # all builds of the last score and cost are known
                for row in sorted(waiting, key=in_order)[: count - found]:
                    found += 1
                    yield row
                waiting, last = [], key
            if key is None or found == count:
                return
            waiting.append(self._exclude(solver, key))

    def _tightened(self, solver: cp_model.CpSolver) -> bool:
        """Whether the found build sweeps more than its tangents say; then its own are added."""
        tire = next(at for at, chosen in enumerate(self.tire) if solver.value(chosen))
        offset, width = solver.value(self.offset["front"]) / FINE, solver.value(self.width) / FINE
        diameter = self.t["diameter_um"][tire]
        margin = float(self.plain.sweep_margin(*(np.array([size]) for size in (offset, width, diameter)))[0])
        if math.floor(margin + 0.5) >= solver.value(self.swept) or (
            "fit" not in self.weights and math.floor(margin + 0.5) >= 0
        ):
            return False
        axis = float(self.job.must("steering.axis_offset"))
        for state in self.job.states("front"):
            lock = self.job.lock_rad(state)
            sides = (
                math.atan2(abs(axis - offset) + width / 2, diameter / 2),
                math.atan2(diameter / 2, width / 2 - axis + offset),
            )
            for turned in sides:
                self._tangents(state, min(turned, lock))
        return True

    def _lifted(self, solver: cp_model.CpSolver) -> bool:
        """Whether the found build has less grip on its tire than on the smallest, and too little; that is added."""
        if not self.job.lift() or not (solver.value(self.known["front"]) and solver.value(self.known["rear"])):
            return False
        tire, at = (
            next(row for row, chosen in enumerate(own) if solver.value(chosen)) for own in (self.tire, self.gear)
        )
        if (tire, at) in self.lifted:
            return False
        self.lifted.add((tire, at))
        turn, gear = self.t["turn_um"][tire : tire + 1], self.gears[at]
        own = [np.array([gear[name]]) for name in ("ratio", "low_side", "preload_n_m")]
        totals = {"rear_light": self.light, "truck_heavy": self.truck}
        loads = {name: np.array([solver.value(total)]) for name, total in totals.items()}
        margins = self.plain.climb_margins(loads | self.plain.grips(turn, *own))
        if all(math.isnan(float(margin[0])) or float(margin[0]) >= 0 for margin in margins):
            return False
        self._climb_with(gear, turn, self.tire[tire], self.gear[at], exact=True)
        return True

    def _exclude(self, solver: cp_model.CpSolver, key: tuple[int, int]) -> dict[str, Any]:
        """The found build by name; the model knows it no more."""
        groups = [self.wheel, self.tire, self.spacer["front"], self.spacer["rear"], self.gear, *self.counts]
        at = [next(row for row, chosen in enumerate(own) if solver.value(chosen)) for own in groups]
        self.model.add_bool_or([~own[row] for own, row in zip(groups, at, strict=True)])
        wheel, tire = self.wheels["wheel"].iloc[at[0]], self.tires["tire"].iloc[at[1]]
        front, rear = self.hubs["front"][at[2]]["sku"], self.hubs["rear"][at[3]]["sku"]
        return described(*key, (wheel, tire, front, wheel, tire, rear, *self.gears[at[4]]["skus"]), at[5:])


def in_order(row: dict[str, Any]) -> tuple[Any, ...]:
    """SKUs, then ballast counts, of builds of one score and cost."""
    return (
        row["front_wheel"],
        row["front_tire"],
        row["front_spacer"],
        row["rear_spacer"],
        row["ratio"],
        row["differential"],
        row["counts"],
    )


if __name__ == "__main__":
    folder, count = asked()
    for row in Model(folder).first(count):
        print_rows([row])

"""What a benchmark job asks, as plain numbers: micrometers, grams, cents, turns a minute.

A reader of its own, for the engines and the enumerator: it reads the few ways of writing that `lists` uses, refuses
what it does not know, and shares nothing with the program under test. Fractions are kept until the last step.
"""

from __future__ import annotations

import itertools
import math
import re
import tomllib
from fractions import Fraction
from pathlib import Path
from typing import Any

UNITS = {
    "in": Fraction(25400),
    "mm": Fraction(1000),
    "lb": Fraction("453.59237"),
    "kg": Fraction(1000),
    "mph": Fraction("1.609344"),
    "km/h": Fraction(1),
    "rpm": Fraction(1),
    "deg": Fraction(1),
    "lb-ft": Fraction("0.3048") * Fraction("0.45359237") * Fraction("9.80665"),
    "ft^2": Fraction("0.3048") ** 2,
    "%": Fraction(1, 100),
    "": Fraction(1),
}
"""To micrometers, grams, km/h, rpm, degrees, newton meters, square meters."""
MILE_UM = 1_609_344_000
GRAVITY = 9.80665
AIR_KG_M3 = 1.225
STEEL_PA, STEEL_KG_M3 = 200e9, 7850.0
CRITERIA = ("cost", "cruise", "fit", "traction", "stance", "weight")
SKUS = ("front_wheel", "front_tire", "front_spacer", "rear_wheel", "rear_tire", "rear_spacer", "ratio", "differential")
"""The parts of a build, in the order in which they decide ties."""
STATES = ("ride_height", "full_bump", "full_droop", "laid_out", "articulated")
AT_SPEED = ("", "ride_height", "full_bump")
"""States in which the truck may be at its top speed, so that its tires have grown."""
GROWTH = {"radial": 0.005, "bias": 0.02}
"""Of the diameter, at 160 km/h."""
ROLLING = {"radial": 0.97, "bias": 0.98, None: 0.975}
"""Rolling radius over half the diameter."""
HUB_SHARE = 0.465
"""Height of a hub over the diameter of the tire, where the tire is not known."""
SERIES = ((75, 70), (60, 75), (50, 80), (45, 85), (0, 90))
"""Lowest aspect ratio, and the measuring rim in hundredths of the nominal width from there on."""
INNER_NUT_UM = 22225
"""Height of the nuts that hold an adapter on the hub, where no list states it: 7/8 in."""
LOAD_KG = {
    70: 335,
    71: 345,
    72: 355,
    73: 365,
    74: 375,
    75: 387,
    76: 400,
    77: 412,
    78: 425,
    79: 437,
    80: 450,
    81: 462,
    82: 475,
    83: 487,
    84: 500,
    85: 515,
    86: 530,
    87: 545,
    88: 560,
    89: 580,
    90: 600,
    91: 615,
    92: 630,
    93: 650,
    94: 670,
    95: 690,
    96: 710,
    97: 730,
    98: 750,
    99: 775,
    100: 800,
    101: 825,
    102: 850,
    103: 875,
    104: 900,
    105: 925,
    106: 950,
    107: 975,
    108: 1000,
    109: 1030,
    110: 1060,
    111: 1090,
    112: 1120,
    113: 1150,
    114: 1180,
    115: 1215,
    116: 1250,
    117: 1285,
    118: 1320,
    119: 1360,
    120: 1400,
    121: 1450,
    122: 1500,
    123: 1550,
    124: 1600,
    125: 1650,
    126: 1700,
}
"""Standard load indices 70 to 126, in kilograms."""
SPEED_KM_H = {"Q": 160, "R": 170, "S": 180, "T": 190, "H": 210, "V": 240}

_NUMBER = re.compile(r"(-?)(?:(\d+)[ -])?(\d+(?:\.\d+)?)(?:/(\d+))?\s*(.*)")


def quantity(text: str) -> Fraction:
    """A size such as "4 9/16 in", "-3 in", "108.0 mm" or "3200 lb", in the unit of UNITS."""
    match = _NUMBER.fullmatch(text.strip())
    if not match or match[5] not in UNITS:
        raise ValueError(f"not a size: {text}")
    sign, whole, number, below, unit = match.groups()
    size = Fraction(number) / int(below or 1) + int(whole or 0)
    return (-size if sign else size) * UNITS[unit]


def half_up(size: Fraction | float) -> int:
    """Nearest whole number, a half up."""
    return math.floor(size + Fraction(1, 2)) if isinstance(size, Fraction) else math.floor(size + 0.5)


def cents(text: str) -> int:
    """Whole cents of "$1,400" or "$1.60"."""
    return half_up(Fraction(re.sub(r"[$,]", "", text)) * 100)


class Job:
    """Numbers of a job.toml of `lists`. An absent size is None; what must be there raises KeyError."""

    def __init__(self, folder: str | Path) -> None:
        self.folder = Path(folder)
        self.toml = tomllib.loads((self.folder / "job.toml").read_text(encoding="utf-8"))
        if self.toml["targets"].get("fit", "nominal") != "nominal" or set(self.toml["shortlist"]) > {"top"}:
            raise ValueError("outside of the family: sizes that are not nominal, or a limit on repeats")
        if "suppliers" in self.toml or set(self.toml["money"]) & {"prices", "tax_by", "lines", "markup"}:
            raise ValueError("outside of the family: suppliers, a shop's own prices and lines, or tax by the invoice")

    def find(self, path: str) -> Any:
        """An entry by its dotted path; None where it is absent."""
        entry: Any = self.toml
        for key in path.split("."):
            entry = entry.get(key) if isinstance(entry, dict) else None
        return entry

    def size(self, path: str, default: Fraction | None = None) -> Fraction | None:
        """A size by its dotted path."""
        found = self.find(path)
        return default if found is None else quantity(found) if isinstance(found, str) else Fraction(str(found))

    def must(self, path: str) -> Fraction:
        """A size that has to be there."""
        found = self.size(path)
        if found is None:
            raise KeyError(path)
        return found

    def grams(self, path: str) -> int | None:
        """Whole grams of a mass; None where it is absent."""
        found = self.size(path)
        return None if found is None else half_up(found)

    def file(self, kind: str) -> str:
        """Path of a list."""
        return str(self.folder / self.toml["files"][kind])

    @property
    def is_strict(self) -> bool:
        """Whether what is unverified is refused."""
        return bool(self.find("job.strict"))

    @property
    def same_all_round(self) -> bool:
        """Whether both axles have one wheel and one tire."""
        return bool(self.find("job.same_all_round"))

    @property
    def has_spare(self) -> bool:
        """Whether a fifth wheel and tire is bought and carried."""
        return bool(self.find("job.spare"))

    # Ranking

    def weights(self) -> dict[str, int]:
        """Criteria in use with their weights; empty where an order ranks."""
        if self.find("order.criteria"):
            return {}
        return {name: weight for name, weight in (self.find("weights") or {}).items() if weight > 0} or dict.fromkeys(
            CRITERIA, 1
        )

    def order(self) -> list[str]:
        """Criteria one after the other; empty where weights rank."""
        return list(self.find("order.criteria") or [])

    def budget_cents(self) -> int:
        """The budget, which is the scale of the criterion "cost" as well."""
        return cents(self.toml["money"]["budget"])

    # The hub and the rooms

    def hub_circle(self, axle: str) -> tuple[int, Fraction]:
        """Lugs and bolt circle of a hub."""
        lugs, _, circle = self.toml["hub"][axle]["bolt_circle"].partition("x")
        return int(lugs), quantity(circle)

    def clearance(self, axle: str, side: str) -> Fraction:
        """Clearance to keep at a side of the tire."""
        default = Fraction(25400) if side == "top" else Fraction(12700)
        return self.size(f"wheelhouse.{axle}.clearance_{side}", default) or Fraction(0)

    def states(self, axle: str) -> list[str]:
        """States of the suspension that are measured by themselves; one without a name where there is none."""
        return [name for name in STATES if self.find(f"wheelhouse.{axle}.{name}") is not None] or [""]

    def room(self, axle: str, state: str, name: str) -> Fraction:
        """A room in a state, else that of the wheelhouse."""
        own = self.size(f"wheelhouse.{axle}.{state}.{name}") if state else None
        return self.must(f"wheelhouse.{axle}.{name}") if own is None else own

    def lock_rad(self, state: str) -> float:
        """How far the front wheels steer in a state."""
        own = self.size(f"wheelhouse.front.{state}.lock") if state else None
        return math.radians(float(self.must("steering.lock") if own is None else own))

    def shift_um(self, axle: str, state: str) -> float:
        """How far a bar to one side has drawn the axle sideways, its frame end `rise` above the other at ride height:
        sqrt(L^2 - (rise - z)^2) against sqrt(L^2 - rise^2).
        """
        bar, rise = self.size(f"panhard.{axle}_length"), float(self.size(f"panhard.{axle}_rise") or 0)
        if bar is None:
            return 0.0
        travel = self.size(f"wheelhouse.{axle}.{state}.travel", Fraction(0) if state == "ride_height" else None)
        if travel is None:
            raise ValueError("outside of the family: a travel that is not known")
        return abs(math.sqrt(float(bar) ** 2 - (rise - float(travel)) ** 2) - math.sqrt(float(bar) ** 2 - rise**2))

    def least_room(self, axle: str, *names: str, shifts: int = 0) -> float:
        """Least over the states of a sum of rooms less the lateral shift so many times over."""
        return min(
            float(sum(self.room(axle, state, name) for name in names)) - shifts * self.shift_um(axle, state)
            for state in self.states(axle)
        )

    def heights(self, axle: str, *names: str) -> dict[bool, float]:
        """Least of some rooms around the tire, for a tire that has grown (True) and for one that has not."""
        grows = self.find("targets.top_speed") is not None
        found: dict[bool, float] = {}
        for state in self.states(axle):
            key = grows and state in AT_SPEED
            found[key] = min([float(self.room(axle, state, name)) for name in names] + [found.get(key, math.inf)])
        return found

    def growth(self, construction: str) -> float:
        """What a tire's diameter is times at the top speed."""
        return 1 + GROWTH[construction] * (float(self.size("targets.top_speed") or 0) / 160) ** 2

    def rolling(self, construction: str | None) -> float:
        """Rolling radius over half the diameter of a tire without declared revolutions."""
        return float(self.size("rolling.factor") or ROLLING[construction])

    def brake_um(self, axle: str) -> float:
        """Clearance of the brake inside the wheel."""
        return float(self.size(f"brakes.{axle}.clearance", Fraction(3175)) or 0)

    def ride_lip(self, axle: str) -> Fraction:
        """Room out to the fender lip at ride height."""
        state = "ride_height" if self.find(f"wheelhouse.{axle}.ride_height") is not None else ""
        return self.room(axle, state, "room_outer")

    def ground_um(self, axle: str, listed_um: float | None) -> tuple[float, float, float]:
        """What ground clearance hangs on: height over the wanted clearance without half the tire, how far the present
        tire sinks in over its diameter, for each gram; NaN where it would not. `listed_um` is its listed diameter.
        """
        hub = float(self.must(f"present.{axle}_hub_height"))
        measured = self.size(f"present.{axle}_tire_diameter")
        now = float(measured) if measured is not None else listed_um or hub / HUB_SHARE
        height = float(self.must(f"present.{axle}_ground_clearance") - self.must("targets.ground_clearance")) - hub
        sinks = now / 2 - hub
        return height, (sinks if sinks > 0 else math.nan) / now, float(half_up(self.must(f"loads.{axle}_axle")))

    # Loads

    def cases_g(self) -> list[dict[str, int]]:
        """Front and rear axle load and what is aboard in each load case, with the wheels that are on the truck.

        What was aboard while the axles were weighed is taken off first.
        """
        base, items = self.must("truck.wheelbase"), self.find("loads.items") or []
        cases = []
        for name in self.find("loads.cases") or [None]:
            aboard = {item["name"] for item in items if not item.get("cases") or name in item["cases"]}
            changes = [
                (
                    (item["name"] in aboard) - bool(item.get("weighed")),
                    quantity(item["mass"]),
                    quantity(item["station"]),
                )
                for item in items
            ]
            front = sum((times * mass * station / base for times, mass, station in changes), Fraction(0))
            every = sum((times * mass for times, mass, _ in changes), Fraction(0))
            carried = sum((quantity(item["mass"]) for item in items if item["name"] in aboard), Fraction(0))
            cases.append(
                {
                    "front": half_up(self.must("loads.front_axle") + front),
                    "rear": half_up(self.must("loads.rear_axle") + every - front),
                    "aboard": half_up(carried),
                }
            )
        return cases

    def bare_g(self) -> list[tuple[int, int]]:
        """Front and rear axle load in each load case without the wheels, tires, spacers and spare on the truck now."""
        base = int(self.must("truck.wheelbase"))
        spare, at_rear = 0, 0
        if self.has_spare:
            spare = self.grams("present.spare") or 0
            at_rear = (2 * spare * (base - int(self.must("spare.station"))) + base) // (2 * base)
        front, rear = self.present_g("front"), self.present_g("rear")
        return [(case["front"] - front - (spare - at_rear), case["rear"] - rear - at_rear) for case in self.cases_g()]

    def present_g(self, axle: str) -> int:
        """Wheels, tires and spacers of an axle as it was weighed."""
        parts = (self.grams(f"present.{axle}_{name}") for name in ("wheel_and_tire", "spacer"))
        return 2 * sum(part or 0 for part in parts)

    def bare_aboard_g(self) -> int:
        """Most that is aboard in any load case, less what the present wheels, tires and spare weigh."""
        spare = (self.grams("present.spare") or 0) if self.has_spare else 0
        most = max(case["aboard"] for case in self.cases_g())
        return most - self.present_g("front") - self.present_g("rear") - spare

    def front_permille(self) -> int:
        """Least share of the front axle in thousandths; 0 where none is asked."""
        return half_up(self.size("targets.front_share", Fraction(0)) * 1000)

    @property
    def lightens_front(self) -> bool:
        """Whether ballast behind the rear axle may take load off the front axle."""
        return any(quantity(station["at"]) < 0 for station in self.find("ballast.stations") or [])

    def tied_g(self, station: dict[str, Any]) -> Fraction:
        """What the ties of a station hold; a tie counts whole only where it is told to run over the cargo."""
        share = 2 if station.get("tie_run") == "over" else 1
        return share * station["ties"] * quantity(station["tie_working_load"])

    # Speeds and grades

    def cruise_points(self) -> list[dict[str, Any]]:
        """Cruise points: speed [km/h], gear with slip, band, and the grade to hold; the main one first."""
        slip = 1 / (1 - (self.size("transmission.converter_slip") or 0))
        points = []
        if self.find("targets.cruise_speed"):
            gear = self.must("transmission.cruise_gear") * (1 if self.find("transmission.lock_up") else slip)
            points.append(
                {
                    "speed": self.must("targets.cruise_speed"),
                    "gear": self.must("transmission.cruise_gear"),
                    "turn": gear,
                    "min": self.must("targets.cruise_min"),
                    "max": self.must("targets.cruise_max"),
                    "hold": self.size("targets.hold_grade"),
                }
            )
        for own in self.find("targets.cruise") or []:
            gear = Fraction(str(own["gear"]))
            points.append(
                {
                    "speed": quantity(own["speed"]),
                    "gear": gear,
                    "turn": gear * (1 if own.get("locked") else slip),
                    "min": quantity(own["min"]),
                    "max": quantity(own["max"]),
                    "hold": quantity(own["hold_grade"]) if "hold_grade" in own else None,
                }
            )
        return points

    def torque_curve(self) -> list[tuple[float, float]]:
        """Engine speed and torque [N m]."""
        return [
            (float(quantity(point["at"])), float(quantity(point["torque"]))) for point in self.find("engine.torque")
        ]

    def top_gear(self) -> float:
        """The gear that turns the engine slowest, with the converter's slip unless it locks up."""
        slip = 0 if self.find("transmission.lock_up") else self.size("transmission.converter_slip") or 0
        return float(min(map(str_fraction, self.find("transmission.gears"))) / (1 - slip))

    def at_rest_n_m(self) -> float | None:
        """Torque into the gearbox at a start: the converter's at stall, else what clutch and engine give."""
        stall, ratio = self.size("transmission.stall_speed"), self.size("transmission.stall_ratio")
        if stall is not None and ratio is not None:
            torque = self.torque_at(float(stall))
            return None if torque is None else torque * float(ratio)
        rating, speed = self.size("transmission.clutch_rating"), self.size("transmission.clutch_rpm")
        torque = None if rating is None or speed is None else self.torque_at(float(speed))
        return None if torque is None or rating is None else min(float(rating), torque)

    def torque_at(self, rpm: float) -> float | None:
        """Torque on the straight line between two points of the curve; None outside of it."""
        for (low, at_low), (high, at_high) in itertools.pairwise(self.torque_curve()):
            if low <= rpm <= high:
                return at_low + (rpm - low) / (high - low) * (at_high - at_low)
        return None

    def lift(self) -> float | None:
        """What the rolling radius [m] over the axle ratio is times on a live axle: the driveshaft's torque takes so
        much of the thrust off one wheel's load; 0 without a live axle, None where its track is not known.
        """
        if not self.find("axle.rear.live"):
            return 0.0
        track = self.size("axle.rear.track")
        return None if track is None else (1 - float(self.size("axle.rear.roll_share") or 0)) / (float(track) / 1e6)

    def reads(self) -> float:
        """What the speedometer reads over what is true now, told as "61 mph at 60"."""
        found = self.find("speedometer.present_reads")
        if found is None:
            return 1.0
        reads, _, true = found.partition(" at ")
        return float(Fraction(reads.removesuffix(" mph")) / Fraction(true))

    def critical_rpm(self) -> float | None:
        """The share of the driveshaft's first critical speed that may be used; None where no shaft is given."""
        if self.find("driveshaft.length") is None:
            return None
        length, outside, wall = (
            float(self.must(f"driveshaft.{name}")) / 1e6 for name in ("length", "diameter", "wall")
        )
        gyration = math.hypot(outside, outside - 2 * wall) / 4
        bending = (math.pi / length) ** 2 * math.sqrt(STEEL_PA / STEEL_KG_M3)
        return float(self.size("driveshaft.share", Fraction(3, 4))) * 60 / (2 * math.pi) * bending * gyration

    def grade_weight_n(self, grade: Fraction) -> float:
        """Pull of gravity and of rolling on a grade, of a kilogram."""
        slope = math.atan(float(grade))
        return GRAVITY * (math.sin(slope) + self.resistance * math.cos(slope))

    def ground_resistance(self) -> float:
        """Rolling resistance over load where the truck starts on the worse ground."""
        own = self.size("surface.rolling_resistance")
        return self.resistance if own is None else float(own)

    @property
    def resistance(self) -> float:
        """Rolling resistance over load on the road."""
        return float(self.size("rolling.resistance", Fraction(15, 1000)) or 0)

    def mean_friction(self) -> float:
        """Friction of both sides together."""
        return (float(self.must("surface.friction_low")) + float(self.must("surface.friction_high"))) / 2

    def height_over_wheelbase(self) -> float:
        """Height of the center of gravity over the wheelbase."""
        return float(self.must("truck.cg_height") / self.must("truck.wheelbase"))

    def road_friction(self) -> float:
        """Friction of a good road."""
        return float(self.size("surface.friction_road", Fraction(7, 10)) or 0)

    def full_thrust(self) -> float:
        """Thrust that earns all points: a locked axle under the wanted rear load, else under the axle's rating."""
        load = self.grams("targets.rear_load") or self.grams("truck.gawr_rear") or 1_000_000
        share = self.mean_friction()
        return load * share / (1 - share * self.height_over_wheelbase())


def str_fraction(number: float) -> Fraction:
    """A printed decimal, exactly."""
    return Fraction(str(number))

"""A job: the truck as measured, what is wanted of it, and where the candidate lists are.

A key of job.toml is an attribute's name without its unit: `room_inner` is read into `room_inner_mm`. An absent
measurement is NaN, and every check that needs it is "unverified"; an absent wish (a target, a budget) asks nothing.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import Any, Literal

from combo.units import DIMENSIONS, BoltCircle

NAN = float("nan")
Axle = Literal["front", "rear"]
AXLES: tuple[Axle, ...] = ("front", "rear")
CRITERIA = ("cost", "cruise", "fit", "traction", "stance", "weight")


def _entry(
    default: Any = dataclasses.MISSING,
    *,
    least: Literal["positive", "zero", "any"] = "positive",
    words: tuple[str, ...] = (),
    measure: str = "",
) -> Any:
    """A field with what reading must know: the least size possible, the words accepted, how it is measured."""
    return dataclasses.field(default=default, metadata={"least": least, "words": words, "measure": measure})


@dataclass(frozen=True)
class About:
    """[job]: what the job is called and how it is to be treated."""

    name: str
    format: int = 1
    units: str = _entry("inch", words=("inch", "metric"))
    same_all_round: bool = False
    spare: bool = False
    strict: bool = False


@dataclass(frozen=True)
class Truck:
    """[truck]: sizes and ratings of the truck itself."""

    wheelbase_mm: float
    gawr_front_kg: float = _entry(NAN, measure="front axle's rating, on the certification label or from the axle maker")
    gawr_rear_kg: float = _entry(NAN, measure="rear axle's rating, on the certification label or from the axle maker")
    cg_height_mm: float = _entry(NAN, measure="height of the center of gravity; the camshaft's height is a first guess")


@dataclass(frozen=True)
class Hub:
    """[hub.front], [hub.rear]: what the wheel bolts to."""

    bolt_circle: BoltCircle
    pilot_mm: float = _entry(NAN, measure="caliper over the hub's pilot, where the wheel's bore sits")


@dataclass(frozen=True)
class Hubs:
    """[hub.*]"""

    front: Hub
    rear: Hub


@dataclass(frozen=True)
class Wheelhouse:
    """[wheelhouse.front], [wheelhouse.rear]: room around the tire, from the hub's mounting face and the hub center."""

    room_inner_mm: float = _entry(NAN, measure="straight edge on the hub's face, tape inboard to the inner plumb line")
    room_outer_mm: float = _entry(
        NAN, measure="straight edge on the hub's face, tape outboard to the plumb line at the lip"
    )
    hub_to_top_mm: float = _entry(NAN, measure="hub center up to the wheelhouse's top, at full bump or laid out on air")
    clearance_inner_mm: float = _entry(12.7, least="zero")
    clearance_outer_mm: float = _entry(12.7, least="zero")
    clearance_top_mm: float = _entry(25.4, least="zero")


@dataclass(frozen=True)
class Wheelhouses:
    """[wheelhouse.*]"""

    front: Wheelhouse = Wheelhouse()
    rear: Wheelhouse = Wheelhouse()


@dataclass(frozen=True)
class Present:
    """[present]: what is on the truck while it stands on the scale."""

    front_wheel_and_tire_kg: float = _entry(
        NAN, measure="weigh one front wheel with its tire, as it is on the truck now"
    )
    rear_wheel_and_tire_kg: float = _entry(NAN, measure="weigh one rear wheel with its tire, as it is on the truck now")


@dataclass(frozen=True)
class RearAxle:
    """[axle]: what a gear set and a differential must match."""

    ring_gear: str = _entry(
        "", measure="ring gear family of the rear axle: count the cover's bolts, measure the ring gear"
    )
    splines: int = _entry(0, measure="count the splines of an axle shaft")


@dataclass(frozen=True)
class Transmission:
    """[transmission]: the gear in which the truck cruises."""

    cruise_gear: float = _entry(NAN, measure="ratio of the gear used for cruising, such as 0.70 in overdrive")
    converter_slip: float = _entry(0.0, least="zero")


@dataclass(frozen=True)
class Rolling:
    """[rolling]: how a tire rolls that has no declared revolutions per mile."""

    factor: float = 1.0


@dataclass(frozen=True)
class Surface:
    """[surface]: friction under the drive wheels: the side that has less and the side that has more."""

    friction_low: float = NAN
    friction_high: float = NAN


@dataclass(frozen=True)
class LoadItem:
    """[[loads.items]]: something carried, and in which load cases (all where none is named)."""

    name: str
    mass_kg: float
    station_mm: float = _entry(least="any")
    cases: tuple[str, ...] = ()


@dataclass(frozen=True)
class Loads:
    """[loads]: the two axle loads off the scale, the load cases, and what is carried in them.

    Traction is checked in the case that loads the rear axle least, capacities in the case that loads an axle most.
    """

    front_axle_kg: float = _entry(NAN, measure="drive the front axle onto a scale")
    rear_axle_kg: float = _entry(NAN, measure="drive the rear axle onto a scale")
    cases: tuple[str, ...] = ()
    items: tuple[LoadItem, ...] = ()


@dataclass(frozen=True)
class Station:
    """[[ballast.stations]]: a place where ballast may be tied down."""

    name: str
    at_mm: float = _entry(least="any")
    max_mass_kg: float = NAN


@dataclass(frozen=True)
class BallastPlan:
    """[ballast]: where ballast may lie, and how many items at most."""

    max_items: int = 8
    stations: tuple[Station, ...] = ()


@dataclass(frozen=True)
class Targets:
    """[targets]: what the customer wants. What is absent is not asked."""

    cruise_speed_km_h: float = NAN
    cruise_min_rpm: float = NAN
    cruise_max_rpm: float = NAN
    cruise_aim_rpm: float = NAN
    top_speed_km_h: float = NAN
    rear_load_kg: float = NAN
    rake_mm: float = _entry(NAN, least="any")
    lip_gap_mm: float = _entry(NAN, least="any")


@dataclass(frozen=True)
class Money:
    """[money]: the budget and what comes on top of the parts. Tax is on parts, line by line, to the nearest cent."""

    budget_cents: int | None = None
    tax_ppm: int = 0
    labor_per_hour_cents: int = 0
    mount_and_balance_cents: int = 0


@dataclass(frozen=True)
class Scales:
    """[scales]: how far from the ideal a criterion falls to 0. The README gives the formulas."""

    cost_cents: int | None = None
    cruise_rpm: float = NAN
    stance_mm: float = 101.6
    weight_kg: float = 1000.0


@dataclass(frozen=True)
class Shortlist:
    """[shortlist]: how long it is, how many ballast layouts of the same parts it may list, and how often a wheel or
    tire may appear at an axle."""

    top: int = 10
    max_layouts: int | None = None
    max_per_wheel: int | None = None
    max_per_tire: int | None = None


@dataclass(frozen=True)
class Order:
    """[order]: criteria from the first to the last, for a ranking without weights."""

    criteria: tuple[str, ...] = ()


@dataclass(frozen=True)
class ListFile:
    """One file of a candidate list: its path as resolved, the path as typed, and the sheet of a workbook."""

    path: str
    shown: str
    sheet: str | None = None


@dataclass(frozen=True)
class Files:
    """[files]: where the candidate lists are; `headers` maps a supplier's own words to ours, by list."""

    wheels: tuple[ListFile, ...] = ()
    tires: tuple[ListFile, ...] = ()
    spacers: tuple[ListFile, ...] = ()
    ratios: tuple[ListFile, ...] = ()
    differentials: tuple[ListFile, ...] = ()
    ballast: tuple[ListFile, ...] = ()
    headers: dict[str, dict[str, str]] = dataclasses.field(default_factory=dict)


@dataclass(frozen=True)
class Job:
    """Everything of job.toml, in SI."""

    job: About
    truck: Truck
    hub: Hubs
    wheelhouse: Wheelhouses = Wheelhouses()
    present: Present = Present()
    axle: RearAxle = RearAxle()
    transmission: Transmission = Transmission()
    rolling: Rolling = Rolling()
    surface: Surface = Surface()
    loads: Loads = Loads()
    ballast: BallastPlan = BallastPlan()
    targets: Targets = Targets()
    money: Money = Money()
    scales: Scales = Scales()
    shortlist: Shortlist = Shortlist()
    weights: dict[str, int] = dataclasses.field(default_factory=dict)
    order: Order = Order()
    files: Files = Files()

    def ranking(self) -> tuple[str, ...]:
        """Criteria in use: those of [order], else those of [weights] above zero, else all with equal weight."""
        if self.order.criteria:
            return self.order.criteria
        weighted = tuple(name for name in CRITERIA if self.weights.get(name, 0) > 0)
        return weighted or CRITERIA

    def weight(self, criterion: str) -> int:
        """Weight of a criterion in use; 1 each where the job gives none."""
        return self.weights.get(criterion, 0) if any(self.weights.values()) else 1


def describe(attribute: dataclasses.Field[Any]) -> str:
    """How a measurement of the job is taken, for what is still to be measured."""
    return str(attribute.metadata.get("measure", ""))


def key_of(attribute: str) -> str:
    """Key in job.toml of an attribute of the Job: its name without the unit."""
    for suffix in (*DIMENSIONS, "cents", "ppm"):
        if attribute.endswith(f"_{suffix}"):
            return attribute.removesuffix(f"_{suffix}")
    return attribute

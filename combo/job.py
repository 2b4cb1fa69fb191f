"""A job: the truck as measured, what is wanted of it, and where the candidate lists are.

A key of job.toml is an attribute's name without its unit: `room_inner` is read into `room_inner_mm`. An absent
measurement is NaN, and every check that needs it is "unverified"; an absent wish (a target, a budget) asks nothing.
A measurement may carry a plus-or-minus, which `Job.tolerances` keeps by the measurement's dotted path. Room in a
wheelhouse may be given for both sides of the truck, which `Job.sides` keeps likewise, left first; the attribute is the
smaller one.
"""

from __future__ import annotations

import dataclasses
import functools
import math
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Literal

from combo.units import CURRENCIES, DIMENSIONS, INCH_MM, BoltCircle, Currency

NAN = float("nan")
Axle = Literal["front", "rear"]
AXLES: tuple[Axle, ...] = ("front", "rear")
WHEELS_AN_AXLE = 2
CRITERIA = ("cost", "cruise", "fit", "traction", "stance", "weight")
StateName = Literal["ride_height", "full_bump", "full_droop", "laid_out", "articulated"]
STATES: tuple[StateName, ...] = ("ride_height", "full_bump", "full_droop", "laid_out", "articulated")


def _entry(
    default: Any = dataclasses.MISSING,
    *,
    least: Literal["positive", "zero", "any"] = "positive",
    words: tuple[str, ...] = (),
    measure: str = "",
    taped: bool = True,
    is_thread: bool = False,
) -> Any:
    """A field with what reading must know: the least size possible, the words accepted, how it is measured, and whether
    with the tape or the scale, so that one that states no plus-or-minus has the job's default; whether it is a thread.
    """
    metadata = {"least": least, "words": words, "measure": measure, "taped": taped, "is_thread": is_thread}
    return dataclasses.field(default=default, metadata=metadata)


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

    wheelbase_mm: float = _entry(measure="front axle line to rear axle line", taped=False)
    gawr_front_kg: float = _entry(NAN, measure="front axle's rating, on the certification label or from the axle maker")
    gawr_rear_kg: float = _entry(NAN, measure="rear axle's rating, on the certification label or from the axle maker")
    gvwr_kg: float = _entry(NAN, measure="the whole truck's rating, on the certification label")
    payload_kg: float = _entry(NAN, measure="the payload rating, on the tire and loading label")
    gcwr_kg: float = _entry(NAN, measure="rating of truck and trailer together, from the truck's maker")
    cg_height_mm: float = _entry(
        NAN, measure="height of the center of gravity; the camshaft's height is a first guess", taped=False
    )
    drag_coefficient: float = _entry(NAN, measure="0.5 to 0.65 for a boxy truck (textbook tables)")
    frontal_area_m2: float = _entry(NAN, measure="width by height of the truck seen from ahead, times 0.85")


@dataclass(frozen=True)
class Hub:
    """[hub.front], [hub.rear]: what the wheel bolts to.

    With `left_hand` the studs of the left side have a left-hand thread, as on some old axles.
    """

    bolt_circle: BoltCircle = dataclasses.field(
        metadata={"measure": "count the studs; tape across the circle through their centers", "taped": False}
    )
    pilot_mm: float = _entry(NAN, measure="caliper over the hub's pilot, where the wheel's bore sits", taped=False)
    pilot_length_mm: float = _entry(
        NAN, measure="how far the pilot stands out of the hub's mounting face, drum or rotor on", taped=False
    )
    stud_length_mm: float = _entry(
        NAN, measure="stud from the hub's mounting face, drum or rotor on and clamped, to the end of its full thread"
    )
    stud_diameter_mm: float = _entry(NAN, measure="caliper over the stud's thread", taped=False)
    stud_thread: str = _entry(
        "", measure="thread of the studs, such as M14x1.5 or 1/2-20: thread gauge", is_thread=True
    )
    left_hand: bool = False
    stud_engagement: float = 1.0
    lug_nut: str = ""


@dataclass(frozen=True)
class Hubs:
    """[hub.*]"""

    front: Hub
    rear: Hub


@dataclass(frozen=True)
class State:
    """[wheelhouse.front.full_bump] and so on: one state of the suspension, and what is measured anew in it.

    What a state leaves out is as the wheelhouse has it. `travel` is up from ride height, down is negative; `lock` is
    how far the front wheels may steer in it.
    """

    travel_mm: float = _entry(NAN, least="any", measure="how far the axle has come up from ride height")
    lock_deg: float = _entry(NAN, measure="how far the front wheels may steer here")
    room_inner_mm: float = _entry(NAN, measure="as in the wheelhouse, where it differs here")
    room_outer_mm: float = _entry(NAN, measure="as in the wheelhouse, where it differs here")
    hub_to_top_mm: float = _entry(NAN, measure="hub center up to the wheelhouse's top, here")
    hub_to_lip_mm: float = _entry(NAN, measure="hub center straight up to the fender lip, here")
    opening_ahead_mm: float = _entry(NAN, measure="as in the wheelhouse, where it differs here")
    opening_behind_mm: float = _entry(NAN, measure="as in the wheelhouse, where it differs here")
    sweep_ahead_mm: float = _entry(NAN, measure="as in the wheelhouse, where it differs here")
    sweep_behind_mm: float = _entry(NAN, measure="as in the wheelhouse, where it differs here")
    frame_room_mm: float = _entry(NAN, measure="as in the wheelhouse, where it differs here")


SIDES = ("left", "right")
ROOMS = (
    "room_inner_mm",
    "room_outer_mm",
    "hub_to_top_mm",
    "hub_to_lip_mm",
    "opening_ahead_mm",
    "opening_behind_mm",
    "sweep_ahead_mm",
    "sweep_behind_mm",
    "frame_room_mm",
)
"""What is measured of a wheelhouse, and may be for both sides of the truck."""


@dataclass(frozen=True)
class Wheelhouse:
    """[wheelhouse.front], [wheelhouse.rear]: room around the tire, from the hub's mounting face and the hub center.

    Without a table of its own for any state, all is measured in one: at full bump, or laid out on air.
    """

    room_inner_mm: float = _entry(NAN, measure="straight edge on the hub's face, tape inboard to the inner plumb line")
    room_outer_mm: float = _entry(
        NAN, measure="straight edge on the hub's face, tape outboard to the plumb line at the lip"
    )
    hub_to_top_mm: float = _entry(NAN, measure="hub center up to the wheelhouse's top, at full bump or laid out on air")
    hub_to_lip_mm: float = _entry(NAN, measure="hub center straight up to the fender lip, at ride height")
    opening_ahead_mm: float = _entry(NAN, measure="hub center ahead to the nearest edge of the wheel opening")
    opening_behind_mm: float = _entry(NAN, measure="hub center back to the nearest edge of the wheel opening")
    sweep_ahead_mm: float = _entry(
        NAN, measure="axle line ahead to the first thing a steered tire could touch (bumper, liner)"
    )
    sweep_behind_mm: float = _entry(
        NAN, measure="axle line back to the first thing a steered tire could touch (liner, cab, step)"
    )
    frame_room_mm: float = _entry(
        NAN, measure="straight edge on the hub's face, tape inboard to the frame or link that a steered tire comes near"
    )
    clearance_inner_mm: float = _entry(12.7, least="zero")
    clearance_outer_mm: float = _entry(12.7, least="zero")
    clearance_top_mm: float = _entry(25.4, least="zero")
    clearance_opening_mm: float = _entry(12.7, least="zero")
    clearance_sweep_mm: float = _entry(12.7, least="zero")
    ride_height: State | None = None
    full_bump: State | None = None
    full_droop: State | None = None
    laid_out: State | None = None
    articulated: State | None = None

    def states(self) -> dict[StateName, State]:
        """The states that the job names, in order."""
        named = {name: getattr(self, name) for name in STATES}
        return {name: state for name, state in named.items() if state is not None}


@dataclass(frozen=True)
class Wheelhouses:
    """[wheelhouse.*]"""

    front: Wheelhouse = Wheelhouse()
    rear: Wheelhouse = Wheelhouse()


CHAIN_CLASSES = {"S": (1.46, 0.59), "U": (1.97, 0.91), "W": (2.50, 1.50)}
"""Least room for tire chains over the tread and at the sidewall [in], by SAE class; read on trade pages."""


@dataclass(frozen=True)
class Chains:
    """[chains]: tire chains wanted at an axle, by their SAE class or by the room that they ask for.

    Their room takes the place of the ordinary clearance where it is larger, in every state but laid out on air.
    """

    front: str = _entry("", words=tuple(CHAIN_CLASSES))
    rear: str = _entry("", words=tuple(CHAIN_CLASSES))
    front_tread_mm: float = NAN
    front_sidewall_mm: float = NAN
    rear_tread_mm: float = NAN
    rear_sidewall_mm: float = NAN

    def room_mm(self, axle: Axle, place: Literal["tread", "sidewall"]) -> float:
        """Room over the tread or at the sidewall of an axle's chains; 0 without any."""
        own: float = getattr(self, f"{axle}_{place}_mm")
        if not math.isnan(own):
            return own
        of_class = CHAIN_CLASSES.get(getattr(self, axle), (0.0, 0.0))
        return of_class[0 if place == "tread" else 1] * INCH_MM


@dataclass(frozen=True)
class Panhard:
    """[panhard]: the bar that locates a live axle sideways; no length where the axle has no such bar.

    `rise` is how far the bar's frame end stands above its axle end at ride height; `axle_end` is the side of the truck
    on which that end is, so that each side has the shift of its own direction; `middle` is the height over the hub
    center of the point where the bar crosses the truck's middle, below it negative.
    """

    front_length_mm: float = NAN
    rear_length_mm: float = NAN
    front_rise_mm: float = _entry(0.0, least="any")
    rear_rise_mm: float = _entry(0.0, least="any")
    front_axle_end: str = _entry("", words=("left", "right"))
    rear_axle_end: str = _entry("", words=("left", "right"))
    front_middle_mm: float = _entry(
        NAN, least="any", measure="Panhard bar where it crosses the truck's middle: how far above the hub center"
    )
    rear_middle_mm: float = _entry(
        NAN, least="any", measure="Panhard bar where it crosses the truck's middle: how far above the hub center"
    )


@dataclass(frozen=True)
class Steering:
    """[steering]: the steering axis, and how far it turns the front wheels.

    The axis is given as its distance inboard of the mounting face at the height of the hub; or by kingpin inclination
    and scrub radius with the present wheels, from which that distance follows.
    """

    lock_deg: float = _entry(NAN, measure="turn plates or chalk lines: angle of the front wheel at full lock")
    axis_offset_mm: float = _entry(
        NAN, least="any", measure="straight edge on the hub's face, tape inboard to the kingpin or ball joint line"
    )
    kingpin_inclination_deg: float = _entry(NAN, least="zero", measure="alignment sheet: steering axis inclination")
    scrub_radius_mm: float = _entry(
        NAN, least="any", measure="on the ground: tire's center out from the steering axis, with the present wheels"
    )


@dataclass(frozen=True)
class Brake:
    """[brakes.front], [brakes.rear]: what the wheel must clear."""

    envelope_diameter_mm: float = _entry(
        NAN,
        measure="largest circle that the brake fills, twice the radius from the hub center over the caliper or drum",
    )
    caliper_reach_mm: float = _entry(
        NAN,
        least="any",
        measure="straight edge on the hub's face, tape outboard to the "
        "caliper's outermost point; below zero where it stays inboard",
    )
    clearance_mm: float = _entry(3.175, least="zero")


@dataclass(frozen=True)
class Brakes:
    """[brakes.*]; `weight_thickness` is that of balance weights that are stuck inside the barrel, over the brake."""

    front: Brake = Brake()
    rear: Brake = Brake()
    weight_thickness_mm: float = NAN


@dataclass(frozen=True)
class Spare:
    """[spare]: the well or carrier of the spare tire, and where along the truck it is."""

    well_diameter_mm: float = _entry(NAN, measure="across the spare's well or carrier, the smallest way")
    well_width_mm: float = _entry(NAN, measure="depth of the spare's well, or room of its carrier")
    clearance_mm: float = _entry(6.35, least="zero")
    station_mm: float = _entry(NAN, least="any", measure="spare's center along the truck from the rear axle line")


@dataclass(frozen=True)
class Present:
    """[present]: what is on the truck while it stands on the scale."""

    front_wheel_and_tire_kg: float = _entry(
        NAN, measure="weigh one front wheel with its tire, as it is on the truck now"
    )
    rear_wheel_and_tire_kg: float = _entry(NAN, measure="weigh one rear wheel with its tire, as it is on the truck now")
    spare_kg: float = _entry(NAN, least="zero", measure="weigh the spare that is aboard now; 0 lb where there is none")
    front_spacer_kg: float = _entry(
        0.0, least="zero", measure="weigh one front spacer that is on the truck now", taped=False
    )
    rear_spacer_kg: float = _entry(
        0.0, least="zero", measure="weigh one rear spacer that is on the truck now", taped=False
    )
    front_offset_mm: float = _entry(
        NAN, least="any", measure="offset of the front wheels that are on the truck now", taped=False
    )
    rear_offset_mm: float = _entry(
        NAN, least="any", measure="offset of the rear wheels that are on the truck now", taped=False
    )
    front_hub_height_mm: float = _entry(NAN, measure="front hub center to the ground, on the present tires")
    rear_hub_height_mm: float = _entry(NAN, measure="rear hub center to the ground, on the present tires")
    front_tire_diameter_mm: float = _entry(
        NAN, measure="tape around the unloaded front tire that is on the truck now, divided by 3.1416"
    )
    rear_tire_diameter_mm: float = _entry(
        NAN, measure="tape around the unloaded rear tire that is on the truck now, divided by 3.1416"
    )
    front_ground_clearance_mm: float = _entry(NAN, measure="lowest point at the front axle to the ground")
    rear_ground_clearance_mm: float = _entry(NAN, measure="lowest point at the rear axle to the ground")
    front_lowest_lateral_mm: float = _entry(
        NAN, least="zero", measure="that lowest point, aside from the truck's middle"
    )
    rear_lowest_lateral_mm: float = _entry(
        NAN, least="zero", measure="that lowest point, aside from the truck's middle"
    )
    front_lowest_on: str = _entry("axle", words=("axle", "frame"))
    rear_lowest_on: str = _entry("axle", words=("axle", "frame"))
    frame_rake_deg: float = _entry(0.0, least="any")


@dataclass(frozen=True)
class AxleBeam:
    """[axle.front], [axle.rear]: a live axle (one beam from wheel to wheel), which tilts when one wheel is up.

    `roll_share` is the part of the truck's roll stiffness that this axle's springs have; `torque_rating` what its ring
    gear and shafts may be turned with. `spring_rate` is that of both springs together, at the axle; without end on air
    that is leveled.
    """

    live: bool = False
    track_mm: float = _entry(NAN, measure="from the middle of one tire's tread to the other's, on the ground")
    stop_distance_mm: float = _entry(NAN, measure="from one bump stop to the other, across the truck")
    roll_share_ppm: int = 0
    ring_gear: str = _entry("", measure="ring gear family of the front axle, where it is driven")
    splines: int = _entry(0, measure="count the splines of a front axle shaft, where it is driven")
    torque_rating_n_m: float = NAN
    spring_rate_n_per_m: float = _entry(
        NAN, measure="both springs together, at the axle: put 200 lb over the axle and measure the drop"
    )
    dual: bool = False


@dataclass(frozen=True)
class Axles:
    """[axle]: what a gear set and a differential must match, and which axles are driven; [axle.front], [axle.rear]: how
    each axle moves.
    """

    ring_gear: str = _entry(
        "", measure="ring gear family of the rear axle: count the cover's bolts, measure the ring gear"
    )
    splines: int = _entry(0, measure="count the splines of an axle shaft")
    front: AxleBeam = AxleBeam()
    rear: AxleBeam = AxleBeam()
    driven: str = _entry("rear", words=("rear", "both"))

    @property
    def is_front_driven(self) -> bool:
        """Whether the front axle is driven, too."""
        return self.driven == "both"


@dataclass(frozen=True)
class TorquePoint:
    """[[engine.torque]]: full-throttle torque at an engine speed; straight lines between the points."""

    at_rpm: float
    torque_n_m: float


@dataclass(frozen=True)
class Engine:
    """[engine]: how fast it may turn and how hard it pulls."""

    redline_rpm: float = _entry(NAN, measure="redline from the engine's builder")
    torque: tuple[TorquePoint, ...] = _entry((), measure="dynamometer sheet: torque at several engine speeds")


@dataclass(frozen=True)
class Transmission:
    """[transmission]: its gears, first to top; the gear in which the truck cruises; what is lost on the way.

    A converter slips by `converter_slip`, 1 - turbine speed / engine speed, while it is not locked up; at a start it
    lets the engine turn at `stall_speed` and multiplies its torque by `stall_ratio`. A clutch multiplies nothing: it
    passes the engine's torque at `clutch_rpm`, up to its own `clutch_rating`. `efficiency` is engine to wheels: 0.85,
    common practice, no source. `low_range` is the transfer case's lowest ratio; 1 without one.
    `speed_match` is how far front and rear may turn apart on the road by the case's maker.
    """

    cruise_gear: float = _entry(NAN, measure="ratio of the gear used for cruising, such as 0.70 in overdrive")
    gears: tuple[float, ...] = _entry((), measure="ratios of all gears, first to top")
    converter_slip: float = _entry(0.0, least="zero")
    lock_up: bool = False
    stall_speed_rpm: float = _entry(NAN, measure="stall speed of the converter behind this engine, from its maker")
    stall_ratio: float = _entry(NAN, measure="torque ratio of the converter at stall, from its maker")
    clutch_rating_n_m: float = _entry(NAN, measure="torque that the clutch holds, from its maker")
    clutch_rpm: float = _entry(NAN, measure="engine speed at which the clutch is let in for a start")
    efficiency: float = 0.85
    low_range: float = 1.0
    transfer_case: str = _entry(
        "",
        words=("part-time", "full-time"),
        measure="part-time or full-time; of a full-time one ask its maker for "
        "speed_match, how far front and rear may turn apart",
    )
    speed_match_ppm: int = 0
    shift_time_s: float = _entry(0.5, least="zero")

    def slip(self, *, locked: bool) -> float:
        """Slip of the converter; none once it is locked up."""
        return 0.0 if locked else self.converter_slip

    @property
    def has_converter(self) -> bool:
        """Whether what a converter does at a start is known; it comes before a clutch."""
        return not math.isnan(self.stall_speed_rpm + self.stall_ratio)

    @property
    def moves_off_rpm(self) -> float:
        """Engine speed as the truck moves off; NaN where neither converter nor clutch is known."""
        if self.has_converter:
            return self.stall_speed_rpm
        return NAN if math.isnan(self.clutch_rating_n_m) else self.clutch_rpm

    @property
    def match_share(self) -> float:
        """How far front and rear may turn apart: the maker's figure, or 1 % of a part-time case, from memory."""
        if self.speed_match_ppm:
            return self.speed_match_ppm / 1_000_000
        return 0.01 if self.transfer_case == "part-time" else NAN

    @property
    def top_gear(self) -> float:
        """The gear that turns the engine slowest; the cruise gear where the gears are not given."""
        return min(self.gears, default=self.cruise_gear)


@dataclass(frozen=True)
class Driveshaft:
    """[driveshaft]: the longest one, from joint center to joint center. Checked where its length is given.

    `share` of the first critical speed may be used: 0.75, common practice, no source.
    """

    length_mm: float = _entry(
        NAN, measure="driveshaft from the center of one joint to the center of the other, not the tube alone"
    )
    diameter_mm: float = _entry(NAN, measure="caliper over the driveshaft tube", taped=False)
    wall_mm: float = _entry(NAN, measure="wall of the driveshaft tube, from its maker", taped=False)
    material: str = _entry("steel", words=("steel", "aluminum"))
    share: float = 0.75


@dataclass(frozen=True)
class Speedometer:
    """[speedometer]: what it is right for now, and the driven gears that can be had."""

    present_ratio: float = _entry(NAN, measure="axle ratio now: turns of the driveshaft for one of both rear wheels")
    present_revs_per_mile: float = _entry(NAN, measure="rear tires now: revolutions per mile from their data sheet")
    present_reads_ppm: int = 1_000_000
    driven_teeth: int = _entry(0, measure="count the teeth of the speedometer's driven gear")
    driven_listed: tuple[int, ...] = ()


@dataclass(frozen=True)
class Rolling:
    """[rolling]: how a tire rolls that has no declared revolutions per mile; how tires grow; rolling resistance.

    `factor` is the rolling radius over half the diameter, for every tire; without it 0.97 radial and 0.98 bias. Growth
    of the diameter at 160 km/h rises with the square of the speed; all are common practice, no source. `resistance` is
    that of the road.
    """

    factor: float = NAN
    growth_radial_ppm: int = 5_000
    growth_bias_ppm: int = 20_000
    resistance: float = _entry(0.015, least="zero")


@dataclass(frozen=True)
class Surface:
    """[surface]: friction under the drive wheels: the side that has less and the side that has more.

    `friction_road` is that of the good road on which the time to a speed is estimated: 0.7, between the averages for
    dry asphalt and dry concrete of Noon, Engineering Analysis of Vehicular Accidents, 1994.
    """

    friction_low: float = _entry(NAN, measure="judge the worse side: about 0.1 on ice, 0.2 on snow, 0.35 on gravel")
    friction_high: float = _entry(NAN, measure="judge the better side: about 0.35 on gravel, 0.5 on wet asphalt")
    friction_road: float = 0.7
    rolling_resistance: float = _entry(
        NAN, least="zero", measure="judge the ground: 0.015 to 0.02 on bare ice, 0.03 on packed snow, 0.08 on soil"
    )


@dataclass(frozen=True)
class LoadItem:
    """[[loads.items]]: something carried, and in which load cases (all where none is named); with `weighed` it was
    aboard while the axles were weighed. `lateral` is how far to the right of the truck's middle it lies.
    """

    name: str
    mass_kg: float = _entry(measure="weigh it", taped=False)
    station_mm: float = _entry(
        least="any", measure="its center along the truck from the rear axle line, ahead positive", taped=False
    )
    cases: tuple[str, ...] = ()
    weighed: bool = False
    lateral_mm: float = _entry(0.0, least="any")


@dataclass(frozen=True)
class Trailer:
    """[trailer]: what is pulled, and in which load cases (all where none is named).

    `tongue` is what its tongue puts on the hitch, which is at `station`, behind the rear axle line negative.
    """

    mass_kg: float = _entry(NAN, measure="weigh the trailer, loaded")
    tongue_kg: float = _entry(NAN, least="zero", measure="tongue scale under the coupler, trailer level and loaded")
    station_mm: float = _entry(
        NAN, least="any", measure="hitch ball along the truck from the rear axle line, behind it negative", taped=False
    )
    cases: tuple[str, ...] = ()
    hitch_rating_kg: float = _entry(NAN, measure="on the hitch's label: the heaviest trailer that it pulls")

    @property
    def is_pulled(self) -> bool:
        """Whether there is one."""
        return not math.isnan(self.mass_kg)

    def towed_kg(self, case: str) -> float:
        """What stands on the trailer's own wheels in a load case."""
        return self.mass_kg - self.tongue_kg if self.is_pulled and (not self.cases or case in self.cases) else 0.0


@dataclass(frozen=True)
class Loads:
    """[loads]: the two axle loads off the scale, the load cases, and what is carried in them.

    A shop with four pads gives the load of each wheel instead. Traction is checked in the case that loads the rear axle
    least, capacities in the case that loads an axle most.
    """

    front_axle_kg: float = _entry(NAN, measure="drive the front axle onto a scale")
    rear_axle_kg: float = _entry(NAN, measure="drive the rear axle onto a scale")
    front_left_kg: float = _entry(NAN, measure="four pads: the front wheel on the left")
    front_right_kg: float = _entry(NAN, measure="four pads: the front wheel on the right")
    rear_left_kg: float = _entry(NAN, measure="four pads: the rear wheel on the left")
    rear_right_kg: float = _entry(NAN, measure="four pads: the rear wheel on the right")
    cases: tuple[str, ...] = ()
    items: tuple[LoadItem, ...] = ()

    def axle_kg(self, axle: Axle) -> float:
        """Load of an axle as weighed: its own, else what its two wheels weigh together."""
        whole: float = getattr(self, f"{axle}_axle_kg")
        if not math.isnan(whole):
            return whole
        left: float = getattr(self, f"{axle}_left_kg")
        right: float = getattr(self, f"{axle}_right_kg")
        return left + right


@dataclass(frozen=True)
class Station:
    """[[ballast.stations]]: a place where ballast may be tied down: its floor, how high it may be stacked, its ties."""

    name: str
    at_mm: float = _entry(least="any", measure="its center along the truck from the rear axle line, ahead positive")
    max_mass_kg: float = NAN
    length_mm: float = _entry(NAN, measure="free floor along the truck, up to the wheel wells or the tailgate")
    width_mm: float = _entry(NAN, measure="free floor across the truck, between the wheel wells")
    layers: int = 1
    ties: int = _entry(0, measure="count the tie-downs that hold this ballast")
    tie_working_load_kg: float = _entry(NAN, measure="working load limit on a tie's tag, or by 49 CFR 393.108")
    tie_run: str = _entry("", words=("over", "same side", "to cargo"))


@dataclass(frozen=True)
class BallastPlan:
    """[ballast]: where ballast may lie, and how many items at most."""

    max_items: int = 8
    stations: tuple[Station, ...] = ()


@dataclass(frozen=True)
class CruisePoint:
    """[[targets.cruise]]: one more speed at which the engine should turn inside a band, in a gear of its own.

    With `hold_grade` the engine must also hold the speed up that grade.
    """

    name: str
    speed_km_h: float
    gear: float
    min_rpm: float
    max_rpm: float
    locked: bool = False
    hold_grade_ppm: int = 0


@dataclass(frozen=True)
class Targets:
    """[targets]: what the customer wants. What is absent is not asked.

    `fit` tells which margin must hold: the nominal one, the worst case, or one that clears with a chance such as 0.99.
    """

    fit: str | float = _entry("nominal", words=("nominal", "worst"))
    cruise_speed_km_h: float = NAN
    cruise_min_rpm: float = NAN
    cruise_max_rpm: float = NAN
    cruise_aim_rpm: float = NAN
    cruise: tuple[CruisePoint, ...] = ()
    top_speed_km_h: float = NAN
    rear_load_kg: float = NAN
    front_share_ppm: int = 0
    start_grade_ppm: int = 0
    pull_grade_ppm: int = 0
    hold_grade_ppm: int = 0
    speedometer_error_ppm: int = 0
    ground_clearance_mm: float = NAN
    laid_out_clearance_mm: float = _entry(NAN, least="zero")
    scrub_line: str = _entry("", words=("cross", "level"))
    cover: str = _entry("", words=("tire", "tread"))
    winter: bool | None = None
    same_style: bool = False
    same_line: bool = False
    rake_mm: float = _entry(NAN, least="any")
    rake_min_mm: float = _entry(NAN, least="any")
    rake_max_mm: float = _entry(NAN, least="any")
    frame_rake_min_deg: float = _entry(NAN, least="any")
    frame_rake_max_deg: float = _entry(NAN, least="any")
    fender_gap_min_mm: float = _entry(NAN, least="any")
    fender_gap_max_mm: float = _entry(NAN, least="any")
    lip_gap_mm: float = _entry(NAN, least="any")
    scrub_min_mm: float = _entry(NAN, least="any")
    scrub_max_mm: float = _entry(NAN, least="any")
    load_line_max_mm: float = _entry(NAN, least="any")
    front_track_max_mm: float = NAN
    rear_track_max_mm: float = NAN


@dataclass(frozen=True)
class Tolerance:
    """[tolerance]: plus-or-minus of what states none of its own: lengths taped, axles weighed, a list's wheel sizes.

    Tires count with the tolerance of their standard unless `tires` is "none".
    """

    length_mm: float = _entry(0.0, least="zero")
    mass_kg: float = _entry(0.0, least="zero")
    wheel_mm: float = _entry(0.0, least="zero")
    tires: str = _entry("standard", words=("standard", "none"))


@dataclass(frozen=True)
class Markup:
    """[money.markup]: what the shop adds to its cost, by kind of part; a supplier's own comes before it."""

    wheels_ppm: int = 0
    tires_ppm: int = 0
    spacers_ppm: int = 0
    ratios_ppm: int = 0
    differentials_ppm: int = 0
    ballast_ppm: int = 0
    nuts_ppm: int = 0


@dataclass(frozen=True)
class MoneyLine:
    """[[money.lines]]: something else on the bill: a price for each tire or wheel that is bought, for each axle that is
    opened for gears, or once a job.
    """

    name: str
    price_cents: int
    by: str = _entry("job", words=("tire", "wheel", "axle", "job"))
    taxed: bool = True


@dataclass(frozen=True)
class Supplier:
    """[[suppliers]]: who sends the parts of a list, and on what terms.

    `freight` is a price an order, instead of freight by mass, and none from `freight_free_from` on; an order below
    `least_order` is not taken. Both are measured on the prices as listed. `markup` comes before that of a kind.
    """

    name: str
    freight_cents: int | None = None
    freight_free_from_cents: int | None = None
    least_order_cents: int | None = None
    markup_ppm: int | None = None


@dataclass(frozen=True)
class Money:
    """[money]: the budget and what comes on top of the parts.

    The tax is on what `taxed` tells, to the nearest cent of each line of the bill or of the whole invoice; a line is
    one part number of the whole build. A list's prices are what the customer pays, or the shop's cost, to which its
    markup is added. Lug nuts and hub rings are a price each, the install kit one a gear set or differential, disposal
    one a tire taken off, freight by the mass of what is bought.
    """

    budget_cents: int | None = None
    currency: str = _entry("USD", words=CURRENCIES)
    rates: dict[str, float] = dataclasses.field(default_factory=dict)
    prices: str = _entry("selling", words=("selling", "cost"))
    markup: Markup = Markup()
    tax_by: str = _entry("line", words=("line", "invoice"))
    lines: tuple[MoneyLine, ...] = ()
    tax_ppm: int = 0
    taxed: tuple[str, ...] = _entry(("parts",), words=("parts", "freight", "labor", "fees"))
    labor_per_hour_cents: int = 0
    mount_and_balance_cents: int = 0
    lug_nut_cents: int = 0
    hub_ring_cents: int = 0
    install_kit_cents: int = 0
    tire_disposal_cents: int = 0
    freight_cents_per_kg: float = _entry(0.0, least="zero")

    def in_currency(self) -> Currency:
        """The job's currency, with its rates."""
        return Currency(self.currency, tuple(sorted((code, Fraction(str(rate))) for code, rate in self.rates.items())))


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
class Limits:
    """[limits]: checks that are not to be moved when it is asked what moving one would buy."""

    firm: tuple[str, ...] = ()


@dataclass(frozen=True)
class Order:
    """[order]: criteria from the first to the last, for a ranking without weights."""

    criteria: tuple[str, ...] = ()


@dataclass(frozen=True)
class ListFile:
    """One file of a candidate list, and the rules by which its supplier writes it.

    `path` is resolved, `shown` as typed. `headers` gives a supplier's words as ours, `units` the unit of a column's
    bare numbers, `defaults` what stands in a field that the list leaves open, each as pairs. A price is what the list
    says times `price_factor`. `date` is that of the price list (ISO), `older` the price list before it. Rules that are
    not `confirmed` were proposed, and are told among the assumptions.
    """

    path: str
    shown: str
    sheet: str | None = None
    supplier: str = ""
    header_row: int = 0
    skip_rows: tuple[int, ...] = ()
    headers: tuple[tuple[str, str], ...] = ()
    units: tuple[tuple[str, str], ...] = ()
    defaults: tuple[tuple[str, str], ...] = ()
    price_factor: Fraction = Fraction(1)
    date: str = ""
    confirmed: bool = True
    older: str = ""


@dataclass(frozen=True)
class Files:
    """[files]: where the candidate lists are; `headers` maps suppliers' own words to ours, by list.

    With `bad_rows` "stop" a row that cannot be used is a problem of the job; else it costs that row.
    """

    wheels: tuple[ListFile, ...] = ()
    tires: tuple[ListFile, ...] = ()
    spacers: tuple[ListFile, ...] = ()
    ratios: tuple[ListFile, ...] = ()
    differentials: tuple[ListFile, ...] = ()
    ballast: tuple[ListFile, ...] = ()
    nuts: tuple[ListFile, ...] = ()
    headers: dict[str, dict[str, str]] = dataclasses.field(default_factory=dict)
    bad_rows: str = _entry("set aside", words=("set aside", "stop"))


@dataclass(frozen=True)
class FittedAxle:
    """[fitted.front], [fitted.rear]: the parts that were fitted, and the clearances that are there with them.

    On the ground at ride height, unless a key says otherwise.
    """

    wheel: str = ""
    tire: str = ""
    spacer: str = ""
    inner_mm: float = _entry(NAN, least="zero", measure="tire's inner sidewall bulge to the inner wheelhouse")
    outer_mm: float = _entry(
        NAN, least="any", measure="outer sidewall bulge to the plumb line at the lip; below zero where it stands out"
    )
    rim_inner_mm: float = _entry(NAN, least="zero", measure="inboard rim flange to the inner wheelhouse")
    lip_mm: float = _entry(
        NAN, least="any", measure="tread straight up to the fender lip; below zero where the tire is tucked"
    )
    top_mm: float = _entry(NAN, least="zero", measure="tread up to the wheelhouse's top, at ride height")
    top_full_bump_mm: float = _entry(NAN, least="zero", measure="tread up to the wheelhouse's top, jacked to full bump")
    opening_ahead_mm: float = _entry(NAN, least="zero", measure="tread ahead to the nearest edge of the wheel opening")
    opening_behind_mm: float = _entry(NAN, least="zero", measure="tread back to the nearest edge of the wheel opening")
    brake_spoke_mm: float = _entry(
        NAN, least="zero", measure="caliper to the back of the spokes: clay between, turn the wheel, cut and measure"
    )
    ground_mm: float = _entry(NAN, measure="lowest point at the axle to the ground, the same as in [present]")
    hub_height_mm: float = _entry(NAN, measure="hub center to the ground")


@dataclass(frozen=True)
class Fitted:
    """[fitted]: the parts that are on the truck after the work, and what is measured then.

    `case` is the load case in which the truck stands while it is measured; without it aboard is what was on the scale.
    """

    front: FittedAxle = FittedAxle()
    rear: FittedAxle = FittedAxle()
    ratio: str = ""
    differential: str = ""
    case: str = ""
    cruise_rpm_rpm: float = _entry(NAN, measure="tachometer at the job's cruise speed, timed or by GPS, in cruise gear")
    front_axle_kg: float = _entry(NAN, measure="drive the front axle onto the scale, with the parts on and ballast out")
    rear_axle_kg: float = _entry(NAN, measure="drive the rear axle onto the scale, with the parts on and ballast out")


@dataclass(frozen=True)
class Job:
    """Everything of job.toml, in SI."""

    job: About
    truck: Truck
    hub: Hubs
    wheelhouse: Wheelhouses = Wheelhouses()
    chains: Chains = Chains()
    panhard: Panhard = Panhard()
    steering: Steering = Steering()
    brakes: Brakes = Brakes()
    spare: Spare = Spare()
    present: Present = Present()
    axle: Axles = Axles()
    engine: Engine = Engine()
    transmission: Transmission = Transmission()
    driveshaft: Driveshaft = Driveshaft()
    speedometer: Speedometer = Speedometer()
    rolling: Rolling = Rolling()
    surface: Surface = Surface()
    loads: Loads = Loads()
    trailer: Trailer = Trailer()
    ballast: BallastPlan = BallastPlan()
    targets: Targets = Targets()
    tolerance: Tolerance = Tolerance()
    money: Money = Money()
    suppliers: tuple[Supplier, ...] = ()
    scales: Scales = Scales()
    shortlist: Shortlist = Shortlist()
    weights: dict[str, int] = dataclasses.field(default_factory=dict)
    order: Order = Order()
    limits: Limits = Limits()
    fitted: Fitted = Fitted()
    files: Files = Files()
    tolerances: dict[str, float] = dataclasses.field(default_factory=dict, metadata={"is_key": False})
    sides: dict[str, tuple[float, float]] = dataclasses.field(default_factory=dict, metadata={"is_key": False})

    @functools.cached_property
    def laden(self) -> Loads:
        """The loads with the trailer's tongue among what is carried."""
        if not self.trailer.is_pulled:
            return self.loads
        own = self.trailer
        tongue = LoadItem("trailer's tongue", own.tongue_kg, own.station_mm, own.cases)
        return dataclasses.replace(self.loads, items=(*self.loads.items, tongue))

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


NAMED_BY_UNIT = frozenset({"clutch_rpm"})
"""Attributes whose unit is a part of their name."""


def key_of(attribute: str) -> str:
    """Key in job.toml of an attribute of the Job: its name without the unit."""
    if attribute in NAMED_BY_UNIT:
        return attribute
    for suffix in ("cents_per_kg", *DIMENSIONS, "cents", "ppm"):
        if attribute.endswith(f"_{suffix}"):
            return attribute.removesuffix(f"_{suffix}")
    return attribute

"""What a wheel, a tire, a spacer, ... has: one table of fields a kind. A new catalog column is one entry here."""

from __future__ import annotations

import functools
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

Type = Literal[
    "text",
    "length",
    "mass",
    "pressure",
    "torque",
    "money",
    "number",
    "count",
    "stock",
    "bolt_circle",
    "word",
    "flag",
    "seat",
    "thread",
]
Least = Literal["positive", "zero", "any"]

SUFFIX = {"length": "_mm", "mass": "_kg", "pressure": "_kpa", "torque": "_n_m", "money": "_cents"}


@dataclass(frozen=True)
class Field:
    """One column of a list.

    `bare_unit` is the unit of a number that has none (rim sizes are inches the world over); `least` what sizes are
    possible; `words` the words that a "word" field knows; `measure` how a missing one is found out; `to_order` whether
    a part may be made to order in it: a size in steps, a bolt circle drilled for the job; `blank_says` whether an empty
    cell says something, so that one which does not read costs its row.
    """

    name: str
    type: Type
    must: bool = False
    bare_unit: str | None = None
    least: Least = "positive"
    words: tuple[str, ...] = ()
    measure: str = ""
    to_order: bool = False
    blank_says: bool = False

    @property
    def column(self) -> str:
        """Name of the column in the part table, with its unit."""
        return self.name + SUFFIX.get(self.type, "")

    @property
    def is_text(self) -> bool:
        """Whether its column holds words."""
        return self.type in {"text", "word", "seat", "thread"}

    @property
    def columns(self) -> tuple[str, ...]:
        """All columns of the field: a bolt circle is a lug count and a diameter."""
        return (f"{self.name}_lugs", f"{self.name}_mm") if self.type == "bolt_circle" else (self.column,)


@dataclass(frozen=True)
class Kind:
    """A kind of part: what one is called, what the list is called, and its fields."""

    name: str
    plural: str
    fields: tuple[Field, ...]

    def __hash__(self) -> int:
        """By its name, which no other kind has: what is kept by kind is asked for often."""
        return hash(self.name)

    def field(self, name: str) -> Field:
        """The field of that name; KeyError where there is none."""
        return _fields_by_name(self)[name]


@functools.cache
def _fields_by_name(kind: Kind) -> dict[str, Field]:
    return {field.name: field for field in kind.fields}


_SKU = Field("sku", "text", must=True)
_PRICE = Field("price", "money", must=True, least="zero")
_MASS = Field("mass", "mass", measure="weigh one, or ask the supplier for its shipping weight")
_LABOR = Field("labor_hours", "number", least="zero")
_CORE = Field("core_charge", "money", least="zero")
_ON_TRUCK = Field("on_truck", "word", words=("yes", "no"), blank_says=True)
_ON_AXLE = Field("on_truck", "word", words=("front", "rear", "both", "no"), blank_says=True)
_SUPPLIER = Field("supplier", "text")
_STOCK = Field("stock", "stock", least="zero")
_AXLE = Field("axle", "word", words=("front", "rear", "both"), blank_says=True)

WHEEL = Kind(
    "wheel",
    "wheels",
    (
        _SKU,
        Field("rim_diameter", "length", must=True, bare_unit="in"),
        Field("rim_width", "length", must=True, bare_unit="in"),
        Field("bolt_circle", "bolt_circle", must=True, to_order=True),
        Field("bolt_circle_2", "bolt_circle"),
        Field("hub_bore", "length", measure="caliper across the bore at the mounting face, or ask the supplier"),
        Field(
            "backspace",
            "length",
            least="any",
            to_order=True,
            measure="straight edge over the inboard flange, tape down to the mounting face",
        ),
        Field("offset", "length", least="any", to_order=True, measure="ask the supplier, or measure the backspace"),
        Field("backspace_basis", "word", words=("flange", "shorthand"), blank_says=True),
        Field("flange", "length", measure="caliper over one rim flange"),
        Field("barrel_diameter", "length", measure="inside barrel diameter at the drop center, or ask the supplier"),
        Field(
            "spoke_clearance",
            "length",
            least="any",
            measure="wheel face up, straight edge on the mounting face: tape outboard to the back of the spokes",
        ),
        Field("pad", "length", measure="thickness of the wheel where a lug nut seats, or ask the supplier"),
        Field(
            "pocket_depth",
            "length",
            least="zero",
            measure="depth of the pocket in the wheel's back, from the mounting face",
        ),
        Field(
            "pocket_over_studs",
            "word",
            words=("yes", "no"),
            measure="hold the wheel to the hub: do the hub's studs end in its pockets?",
        ),
        Field("seat", "seat", measure="the wheel's lug seat: cone, ball or shank, and its angle, radius or length"),
        Field("lug_nut", "text", measure="which listed nut goes with the wheel: its seat, its thread, open or closed"),
        Field("load_rating", "mass", measure="cast or stamped inside the wheel, or ask the supplier"),
        Field("max_pressure", "pressure", measure="cast or stamped inside the wheel: MAX PSI, or ask the supplier"),
        _MASS,
        _PRICE,
        Field("style", "text", measure="ask the supplier for the name of the style"),
        _SUPPLIER,
        _STOCK,
        _ON_AXLE,
    ),
)

TIRE = Kind(
    "tire",
    "tires",
    (
        _SKU,
        Field("designation", "text", must=True),
        Field("rim_diameter", "length", bare_unit="in", measure="on the sidewall: the last number of the size"),
        Field("section_width", "length", measure="supplier's data sheet: section width on the measuring rim"),
        Field("measuring_rim", "length", bare_unit="in", measure="supplier's data sheet: measuring rim"),
        Field("overall_diameter", "length", measure="supplier's data sheet: overall diameter, new"),
        Field("rim_width_min", "length", bare_unit="in", measure="supplier's data sheet: approved rim widths"),
        Field("rim_width_max", "length", bare_unit="in", measure="supplier's data sheet: approved rim widths"),
        Field("load_index", "count", least="zero", measure="on the sidewall, after the size"),
        Field("load_rating", "mass", measure="on the sidewall: MAX LOAD SINGLE"),
        Field("speed_symbol", "text", measure="on the sidewall, the letter after the load index"),
        Field("service", "word", words=("passenger", "light_truck", "commercial"), measure="on the sidewall: P or LT"),
        Field("construction", "word", words=("radial", "bias"), measure="on the sidewall: R or D in the size"),
        Field("revs_per_mile", "number", measure="supplier's data sheet: revolutions per mile"),
        Field("static_loaded_radius", "length", measure="supplier's data sheet: static loaded radius"),
        Field("tread_width", "length", measure="supplier's data sheet: tread width"),
        Field("load_range", "text"),
        Field("rated_pressure", "pressure", measure="supplier's load table: pressure of the rated load"),
        Field("max_pressure", "pressure", measure="on the sidewall: MAX PRESS"),
        _MASS,
        _PRICE,
        Field("line", "text", measure="ask the supplier for the name of the tire line"),
        Field("winter", "flag", measure="on the sidewall: the mountain with the snowflake"),
        _SUPPLIER,
        _STOCK,
        _ON_AXLE,
    ),
)

SPACER = Kind(
    "spacer",
    "spacers",
    (
        _SKU,
        Field("thickness", "length", must=True),
        Field("bolt_circle", "bolt_circle", must=True),
        Field("wheel_bolt_circle", "bolt_circle", blank_says=True),
        Field("hub_bore", "length", measure="caliper across the spacer's bore, or ask the supplier"),
        Field(
            "pilot", "length", measure="caliper over the lip that centers the wheel; leave empty where there is none"
        ),
        Field("pad", "length", measure="thickness of the adapter where its own nuts seat on the hub's studs"),
        Field("stud_length", "length", measure="the adapter's own studs, from its outer face to the end of the thread"),
        Field("stud_diameter", "length", measure="caliper over the thread of the adapter's own studs"),
        Field("stud_thread", "thread", measure="thread of the adapter's own studs, such as M14x1.5"),
        Field("nut_height", "length", measure="height of the nuts that hold the adapter on the hub's studs"),
        _MASS,
        _PRICE,
        _SUPPLIER,
        _STOCK,
        _ON_AXLE,
    ),
)

RATIO = Kind(
    "ratio",
    "ratios",
    (
        _SKU,
        Field("ratio", "number", must=True),
        Field("ring_teeth", "count"),
        Field("pinion_teeth", "count"),
        Field("ring_gear", "text", measure="ring gear family of the gear set, from the supplier"),
        _AXLE,
        _MASS,
        _LABOR,
        _CORE,
        _PRICE,
        _SUPPLIER,
        _STOCK,
        _ON_TRUCK,
    ),
)

DIFFERENTIAL = Kind(
    "differential",
    "differentials",
    (
        _SKU,
        Field("type", "word", must=True, words=("open", "limited_slip", "locked")),
        Field("ratio_min", "number", measure="carrier break of the axle family, from the supplier"),
        Field("ratio_max", "number", measure="carrier break of the axle family, from the supplier"),
        Field("ring_gear", "text", measure="ring gear family that the carrier takes, from the supplier"),
        Field("splines", "count", measure="count the splines of an axle shaft"),
        Field("bias_ratio", "number", measure="torque bias ratio, from the supplier"),
        Field("preload", "torque", least="zero", measure="breakaway torque of the limited slip, one wheel held"),
        _AXLE,
        _MASS,
        _LABOR,
        _CORE,
        _PRICE,
        _SUPPLIER,
        _STOCK,
        _ON_TRUCK,
    ),
)

BALLAST = Kind(
    "ballast",
    "ballast",
    (
        _SKU,
        Field("name", "text"),
        Field("mass", "mass", must=True),
        Field("max_count", "count"),
        Field("length", "length", measure="footprint of one item, the long way"),
        Field("width", "length", measure="footprint of one item, the short way"),
        _PRICE,
        _SUPPLIER,
        _STOCK,
    ),
)

NUT = Kind(
    "nut",
    "nuts",
    (
        _SKU,
        Field(
            "seat", "seat", must=True, measure="the nut's seat: cone, ball or shank, and its angle, radius or length"
        ),
        Field("thread", "thread", must=True),
        Field("type", "word", words=("open", "closed"), measure="is the nut's end open or closed?"),
        Field("thread_depth", "length", measure="depth gauge into the nut, from its seat to the end of the thread"),
        Field("height", "length", measure="caliper over the nut's height"),
        Field("hex", "length", measure="caliper across the nut's flats"),
        Field("pack", "count"),
        Field("left_hand", "word", words=("yes", "no"), blank_says=True),
        _PRICE,
        _SUPPLIER,
    ),
)

KINDS = {kind.plural: kind for kind in (WHEEL, TIRE, SPACER, RATIO, DIFFERENTIAL, BALLAST, NUT)}

_PLURALS = {kind.name: plural for plural, kind in KINDS.items()}

OFF = ".off"
"""Behind the name of a column: the plus-or-minus that the cells of a list state for it, NaN where they state none."""
BETWEEN = " + "
"""Between the SKUs of the rear and the front axle's gear set or differential, where both axles are driven."""
PLACE_COLUMNS = ("file", "sheet", "row")
"""Beside its fields every part table says where each part was read: file, sheet ("" in a CSV) and spreadsheet row."""


@dataclass(frozen=True)
class Parts:
    """The candidate lists: one table a kind, SI inside, NaN or "" where a value is absent; SKUs are unique.

    `extra` holds, by the same index, the columns that no field claims, as they were typed; `listed` how many parts a
    list has whose table is another, see `combo.read.gears`.
    """

    wheels: pd.DataFrame
    tires: pd.DataFrame
    spacers: pd.DataFrame
    ratios: pd.DataFrame
    differentials: pd.DataFrame
    ballast: pd.DataFrame
    nuts: pd.DataFrame
    extra: dict[str, pd.DataFrame] = field(default_factory=dict)
    listed: dict[str, int] = field(default_factory=dict)
    _columns: dict[tuple[str, str], NDArray[Any]] = field(default_factory=dict, init=False, repr=False, compare=False)

    def table(self, plural: str) -> pd.DataFrame:
        """The table of a kind by its plural name, such as "wheels"."""
        table: pd.DataFrame = getattr(self, plural)
        return table

    def count(self, plural: str) -> int:
        """How many parts of a kind are listed."""
        return self.listed.get(plural, len(self.table(plural)))

    def of_kind(self, kind: str) -> pd.DataFrame:
        """The table of a kind by the name of one, such as "wheel"."""
        return self.table(_PLURALS[kind])

    def with_table(self, kind: str, table: pd.DataFrame) -> Parts:
        """The lists with another table of a kind."""
        changed: dict[str, Any] = {_PLURALS[kind]: table}
        return replace(self, **changed)

    @functools.cached_property
    def suppliers(self) -> tuple[str, ...]:
        """Names of all suppliers that the lists name, sorted."""
        names = {name for kind in _PLURALS for name in self.column(kind, "supplier").tolist() if isinstance(name, str)}
        return tuple(sorted(names - {""}))

    def column(self, kind: str, name: str) -> NDArray[Any]:
        """A column of the table of a kind, taken out of it once."""
        if (kind, name) not in self._columns:
            self._columns[kind, name] = self.of_kind(kind)[name].to_numpy()
        return self._columns[kind, name]

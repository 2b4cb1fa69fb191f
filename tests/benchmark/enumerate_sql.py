"""The first builds of a job by SQL alone: an independent reading of the design, in another engine.

`first_builds(folder, count)` reads job.toml and the lists by itself, joins all wheels, tires, spacers, gear sets,
differentials and ways to lay ballast that the job allows, and gives the best in exact order, each with the lug nut that
goes with its wheels. It shares no code with the program under test. Whole numbers are BIGINT; lengths are micrometers
in DOUBLE, which holds every half micrometer that a list in inches can make.

What it says: bolt circle (adapters too), hub bore (that of spacers, too), rim diameter and width, backspace limit,
inner and outer sidewall, wheelhouse width, fender top, opening, steering sweep, brakes, studs and their ends, seat,
thread and depth of lug nuts, spare well, the spare on the front hub and over the front brake, ground clearance, cover,
fender gap, winter marking, speed symbol, cruise rpm at every point, redline, driveshaft, speedometer, carrier, pull,
hold and start on a grade, tire and wheel load, axle ratings, GVWR, payload, rear load, front share, budget, rake,
construction, style, line, spare, ballast with its ties and limits; one wheel all round or the axles free; weights or an
order.

What it leaves out, and refuses or expects not to meet:

- packing of ballast on its floors: the floors have to hold whatever the limits allow (a "plain" job's do);
- worst case and chance: `fit` has to be nominal;
- limits on repeats in [shortlist];
- seats but cones, balls and shanks as `lists` writes them: two that agree have equal sizes, without a tolerance;
- the wheels' largest pressure, that no list states: it is open on every build, so that a strict job has none;
- rooms that are not measured, and wheels with neither offset nor backspace;
- tires but P-metric, LT-metric and flotation sizes with load index and speed symbol; rim sizes but whole inches;
- a rake of the frame, a live axle with one wheel up that is worked out and not measured;
- suppliers, a shop's own prices and lines, tax by the invoice;
- totals beyond the scales: no cost above the one that earns 0, no parts heavier than the mass that earns 0.

Exactness with pruning: nothing is left out that could be among the first. A join is cut by what is provably no better
than the build at the last place of a first, smaller enumeration; see `_threshold`. A bill is no sum over parts, as a
line of it is one part number of the whole build: until then corners and drives have a cost that is never above theirs.
"""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import duckdb
from job_sizes import (
    GROWTH,
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

FULL = 10000
SEEDS = 400
"""Corners and pairs of the first, small enumeration that sets the threshold."""
LARGEST_JOIN = 400_000_000
"""Pairs of axles beyond which a job is refused: the join would take minutes."""
ROUNDINGS_CENTS = 20
"""More than rounding takes off a bill: half a cent of each line, of its tax, and a cent of each sum that is floored."""
PLAUSIBLE_UM = {
    "narrowest_um": 76_200,
    "widest_um": 457_200,
    "barrel_um": 740_000,
    "spoke_um": 250_000,
    "pad_um": 5_000,
    "spacer_bore_um": 330_000,
    "nut_um": 80_000,
    "tread_um": 80_000,
}
"""The best that is plausible of a size that is not known: what fails with it fails whatever is measured."""
LAYOUTS_AT_ONCE = 30_000_000
"""Builds that are judged in one query."""
Levels = list[str]


class TooLargeError(ValueError):
    """The cuts leave more than is reasonable to join."""


def first_builds(folder: str | Path, count: int, *, threads: int = 1, memory: str = "") -> list[dict[str, Any]]:
    """The first builds of a job in ranked order: levels of the key, cost, SKUs and ballast counts of each.

    Raises
    ------
    ValueError
        Where the job is outside of the family.
    TooLargeError
        Where the axles are free and too many pairs of them may be among the first.
    """
    with duckdb.connect() as db:
        db.execute(f"SET threads = {threads}")
        if memory:
            db.execute(f"SET memory_limit = '{memory}'")
        return Enumeration(db, Job(folder)).first(count)


# Pieces of SQL


def decimal(column: str, factor: str = "1") -> str:
    """A printed decimal times a factor, exactly, as a DOUBLE."""
    return f"CAST(CAST({column} AS DECIMAL(12, 4)) * CAST({factor} AS DECIMAL(14, 5)) AS DOUBLE)"


def whole(expression: str) -> str:
    """Nearest whole number, a half up."""
    return f"CAST(floor({expression} + 0.5) AS BIGINT)"


def grams(column: str) -> str:
    """Whole grams of a column of pounds."""
    return f"CAST(floor(CAST({column} AS DECIMAL(9, 2)) * 453.59237 + 0.5) AS BIGINT)"


def money(column: str) -> str:
    """Whole cents of a printed amount; blank is none."""
    return f"CAST(coalesce(CAST({column} AS DECIMAL(12, 2)), 0) * 100 AS BIGINT)"


def folded(text: str) -> str:
    """A seat or a thread without case and blanks."""
    return f"lower(regexp_replace({text}, '\\s', '', 'g'))"


def seat_form(text: str) -> str:
    """The form of a seat: cone, ball or shank; NULL where it is not known."""
    return f"nullif(regexp_extract({folded(text)}, '(cone|ball|shank)', 1), '')"


def seat_size(text: str) -> str:
    """The size of a seat in degrees or millimeters; NULL where none is stated."""
    return f"CAST(nullif(regexp_extract({text}, '[0-9.]+'), '') AS DOUBLE)"


def least_known(points: Sequence[str]) -> str:
    """The least of some points; NULL where any is: `least` alone would pass over it."""
    return f"CASE WHEN ({' + '.join(points)}) IS NOT NULL THEN least({', '.join(points)}) END"


def grip_points(load: str, grip: str, full: float) -> str:
    """Points of a thrust, rounded down but for what binary fractions lose; NULL where the load is."""
    points = f"floor(greatest(0e0, least({FULL}e0, {FULL}e0 * ({load}) * ({grip}) / {real(full)})) + 1e-6)"
    return f"CASE WHEN ({load}) IS NOT NULL THEN CAST({points} AS BIGINT) END"


def ramp(size: str, full: str | int) -> str:
    """Points from 0 at nothing to 10000 at `full`, rounded down; NULL stays NULL."""
    points = f"greatest(0, least({FULL}, ({FULL} * CAST({size} AS BIGINT)) // {full}))"
    return f"CASE WHEN ({size}) IS NOT NULL THEN {points} END"


def constant(value: Any) -> str:
    """A number in SQL; NULL where it is absent."""
    if value is None:
        return "NULL"
    return str(value) if isinstance(value, int) else real(value)


def real(value: Any) -> str:
    """A number as a DOUBLE in SQL, where 0.1 alone would be a DECIMAL."""
    text = repr(float(value))
    return text if "e" in text else f"{text}e0"


def least_of(values: Sequence[float]) -> str:
    return constant(min(values))


BILLED = (
    "wheel_net",
    "spacer_net",
    "nut",
    "nut_price",
    "nut_pack",
    "nut_n",
    "ring_n",
    "disposed_n",
    "mounted_n",
)
"""What a corner brings to the lines of a bill, beside its tires: amounts without tax, and counts."""

SPARE = {
    "front": ("on_lugs", "on_um", "on_pilot", "on_meets", "thick_um", "most_pad"),
    "rear": ("lugs", "circle_um", "bore_um", "barrel_um", "spoke_um", "pad_um"),
}
"""What a corner brings to the question whether the spare, a rear wheel, goes on in front."""


class Enumeration:
    """The tables of one job, built step by step on one connection."""

    def __init__(self, db: duckdb.DuckDBPyConnection, job: Job) -> None:
        self.db, self.job = db, job
        self.axle_base = int(job.must("truck.wheelbase"))
        self.lenient = "FALSE" if job.is_strict else "TRUE"
        self.budget = job.budget_cents()
        self.spare_at = job.size("spare.station") if job.has_spare else None

    # Small helpers that need the job

    def holds(self, condition: str, *sizes: str) -> str:
        """A condition that may be unverified: NULL passes where the job is not strict, unless the condition fails with
        the best that is plausible of these sizes, too.
        """
        if not sizes or self.job.is_strict:
            return f"coalesce({condition}, {self.lenient})"
        best = condition
        for size in sizes:
            best = re.sub(rf"\b{size}\b", f"coalesce({size}, {PLAUSIBLE_UM[size]}e0)", best)
        return f"coalesce({condition}, {best}, {self.lenient})"

    def clears(self, margin_um: str, *sizes: str) -> str:
        """A margin in micrometers is not below zero."""
        return self.holds(f"floor(({margin_um}) + 0.5) >= 0", *sizes)

    def taxed(self, kind: str, amount: str) -> str:
        """Whole cents of a line of the bill with their tax, half a cent up, where the kind is taxed."""
        ppm = self.ppm(kind)
        return f"(({amount}) + (({amount}) * {ppm} + 500000) // 1000000)" if ppm else f"({amount})"

    def ppm(self, kind: str) -> int:
        """Tax on a kind of line."""
        if kind not in (self.job.find("money.taxed") or ["parts"]):
            return 0
        return half_up((self.job.size("money.tax") or 0) * 1_000_000)

    def least(self, **amounts: str) -> str:
        """What amounts of several kinds come to with their tax at least, whatever lines they are on; a DOUBLE."""
        return " + ".join(f"({amount}) * {real(1 + self.ppm(kind) / 1e6)}" for kind, amount in amounts.items())

    def price(self, key: str) -> str:
        """Cents of an amount of [money]; nothing where it is not given."""
        found = self.job.find(f"money.{key}")
        return str(cents(found)) if found else "0"

    @property
    def freight_rate(self) -> int:
        """Cents of freight for a pound."""
        amount, _, unit = (self.job.find("money.freight") or "$0/lb").partition("/")
        if unit != "lb":
            raise ValueError("outside of the family: freight that is not by the pound")
        return cents(amount)

    def freight(self, centipounds: str) -> str:
        """The bill's line of freight, by the mass of all that is bought in hundredths of a pound, with its tax."""
        return self.taxed("freight", f"(2 * ({centipounds}) * {self.freight_rate} + 100) // 200")

    def centipounds(self, pounds: str, kind: str = "") -> str:
        """Hundredths of a pound of a part; one without a mass is as heavy as the heaviest listed of its kind."""
        heaviest = f"getvariable('heaviest_{kind}')" if kind else "0"
        return f"CAST(coalesce(CAST({pounds} AS DECIMAL(9, 2)), {heaviest}) * 100 AS BIGINT)"

    def to_rear(self, mass_g: str, station_um: Any) -> str:
        """Whole grams of a mass at a station that the rear axle carries: m (L - s) / L, a half up."""
        base = self.axle_base
        return f"(2 * CAST({mass_g} AS BIGINT) * {base - int(station_um)} + {base}) // {2 * base}"

    def run(self, sql: str) -> None:
        """Execute a statement."""
        self.db.execute(sql)

    def read(self, kind: str) -> str:
        """The rows of a list as texts; blank cells are NULL."""
        path = self.job.file(kind).replace("'", "''")
        return f"read_csv('{path}', header = true, all_varchar = true, delim = ',', quote = '', escape = '')"

    # Lists

    def load_lists(self) -> None:
        """Typed tables of the six lists."""
        pattern = r"'^(P|LT)?(\d+)/(\d+)[RD-](\d+) (\d+)(?:/\d+)?([A-Z])$'"
        series = " ".join(f"WHEN aspect >= {lowest} THEN {share}" for lowest, share in SERIES)
        half_inch = "12700.0 * floor({} / 12700.0 + 0.5)"
        by_kind = "CASE construction WHEN 'radial' THEN {} ELSE {} END"
        growth, rolling = (
            by_kind.format(*(real(of(kind)) for kind in GROWTH)) for of in (self.job.growth, self.job.rolling)
        )
        flotation = r"'^(\d+)x([0-9.]+)[RD-](\d+)LT (\d+)([A-Z])$'"
        self.run(f"""
            CREATE TEMP TABLE wheels AS
            SELECT *, coalesce(taped_um - width_um / 2 - 12700, listed_um) AS offset_um FROM (
                SELECT sku, {decimal("rim_diameter_in", "25400")} AS rim_um,
                    {decimal("rim_width_in", "25400")} AS width_um,
                    CAST(split_part(bolt_circle, 'x', 1) AS INT) AS lugs,
                    {decimal("split_part(bolt_circle, 'x', 2)", "1000")} AS circle_um,
                    {decimal("hub_bore_mm", "1000")} AS bore_um, {decimal("offset_mm", "1000")} AS listed_um,
                    {decimal("backspace_in", "25400")} AS taped_um,
                    {decimal("barrel_diameter_in", "25400")} AS barrel_um,
                    {decimal("spoke_clearance_in", "25400")} AS spoke_um, {decimal("pad_in", "25400")} AS pad_um,
                    {grams("load_rating_lb")} AS rated_g, {grams("mass_lb")} AS mass_g, mass_lb, style,
                    if(pocket_over_studs = 'yes', {decimal("pocket_depth_mm", "1000")}, 0) AS pocket_um, lug_nut,
                    {seat_form("seat")} AS seat_form, {seat_size("seat")} AS seat_size,
                    {money("price")} AS price, coalesce(on_truck, '') AS on_truck
                FROM {self.read("wheels")})""")
        self.run(
            "CREATE TEMP TABLE load_index AS SELECT * FROM (VALUES "
            + ", ".join(f"({index}, {mass})" for index, mass in LOAD_KG.items())
            + ") AS t(index, kg)"
        )
        self.run(
            "CREATE TEMP TABLE symbol AS SELECT * FROM (VALUES "
            + ", ".join(f"('{name}', {speed})" for name, speed in SPEED_KM_H.items())
            + ") AS t(symbol, km_h)"
        )
        self.run(f"""
            CREATE TEMP TABLE tires AS
            WITH marked AS (
                SELECT *,
                    regexp_extract(designation, {pattern}, ['kind', 'width', 'aspect', 'rim', 'load', 'speed']) AS m,
                    regexp_extract(designation, {flotation}, ['code', 'width', 'rim', 'load', 'speed']) AS f,
                    regexp_matches(designation, {pattern}) AS is_metric
                FROM {self.read("tires")}),
            settled AS (
                SELECT *, 25400.0 * CAST(if(is_metric, m.rim, f.rim) AS INT) AS rim_um,
                    if(is_metric, {decimal("nullif(m.width, '')", "1000")},
                       {decimal("nullif(f.width, '')", "25400")}) AS nominal_um,
                    {decimal("section_width_mm", "1000")} AS listed_um,
                    try_cast(m.aspect AS INT) AS aspect, if(is_metric, m.load, f.load) AS index,
                    if(is_metric, m.speed, f.speed) AS symbol, is_metric AND m.kind = 'P' AS is_passenger,
                    if(designation LIKE '%R__%', 'radial', 'bias') AS construction
                FROM marked),
            sized AS (
                SELECT *, coalesce(listed_um, nominal_um) AS section_um,
                    coalesce({decimal("overall_diameter_in", "25400")}, if(is_metric,
                        1000 * (floor(rim_um / 1000 + 0.5)
                                + 2 * ((CAST(m.width AS INT) * aspect + 50) // 100)),
                        1000 * floor(CAST(f.code AS INT) * 25.4 - 6 + 0.5))) AS diameter_um,
                    if({decimal("overall_diameter_in", "25400")} IS NULL AND NOT is_metric,
                        1000 * floor(CAST(f.code AS INT) * 25.4 - 12 + 0.5), diameter_um) AS running_um,
                    if(is_metric AND listed_um IS NULL, nominal_um * if(aspect < 50, 85, 70) / 100,
                        coalesce({decimal("measuring_rim_in", "25400")}, if(is_metric,
                            {half_inch.format(f"(nominal_um * CASE {series} END / 100)")},
                            {half_inch.format("(nominal_um * 80 / 100)")}))) AS measured_um
                FROM settled)
            SELECT sku, rim_um, section_um, measured_um, diameter_um, running_um, diameter_um * {growth} AS grown_um,
                {decimal("rim_width_min_in", "25400")} AS narrowest_um,
                {decimal("rim_width_max_in", "25400")} AS widest_um, construction, symbol.km_h,
                if(is_passenger, CAST(floor(kg * 10000.0 / 11 + 0.5) AS BIGINT), kg * 1000) AS rated_g,
                revs_per_mile IS NOT NULL AS is_declared,
                coalesce({MILE_UM} / {decimal("revs_per_mile")},
                         {constant(math.pi)} * running_um * {rolling}) AS turn_um,
                {grams("mass_lb")} AS mass_g, mass_lb, {money("price")} AS price, line, winter,
                {decimal("tread_width_in", "25400")} AS tread_um, coalesce(on_truck, '') AS on_truck
            FROM sized LEFT JOIN load_index ON load_index.index = CAST(sized.index AS INT)
                LEFT JOIN symbol ON symbol.symbol = sized.symbol""")
        self.run(f"""
            CREATE TEMP TABLE spacers AS
            SELECT '' AS sku, 0.0 AS thick_um, NULL::INT AS lugs, NULL::DOUBLE AS circle_um, NULL::INT AS outer_lugs,
                NULL::DOUBLE AS outer_um, NULL::DOUBLE AS pilot_um, NULL::DOUBLE AS spacer_bore_um,
                NULL::DOUBLE AS pad_um, NULL::DOUBLE AS stud_um,
                NULL::DOUBLE AS thread_um, NULL::VARCHAR AS thread, {INNER_NUT_UM}::DOUBLE AS inner_nut_um,
                0::BIGINT AS mass_g, '0' AS mass_lb, 0::BIGINT AS price, '' AS on_truck
            UNION ALL
            SELECT sku, {decimal("thickness_mm", "1000")}, CAST(split_part(bolt_circle, 'x', 1) AS INT),
                {decimal("split_part(bolt_circle, 'x', 2)", "1000")},
                CAST(split_part(wheel_bolt_circle, 'x', 1) AS INT),
                {decimal("split_part(wheel_bolt_circle, 'x', 2)", "1000")},
                {decimal("pilot_mm", "1000")}, {decimal("hub_bore_mm", "1000")}, {decimal("pad_in", "25400")},
                {decimal("stud_length_in", "25400")}, {decimal("stud_diameter_mm", "1000")}, stud_thread,
                coalesce({decimal("nut_height_mm", "1000")}, {INNER_NUT_UM}::DOUBLE),
                {grams("mass_lb")}, mass_lb, {money("price")}, ''
            FROM {self.read("spacers")}""")
        self._load_nuts()
        for kind in ("wheels", "tires", "spacers"):
            self.run(
                f"SET VARIABLE heaviest_{kind} = (SELECT coalesce(max(CAST(mass_lb AS DECIMAL(9, 2))), 0) FROM {kind})"
            )

    def _load_nuts(self) -> None:
        """Lug nuts, and the cheapest of each seat, as read, and thread: none left-hand, ties by SKU."""
        self.run(f"""
            CREATE TEMP TABLE nuts AS
            SELECT sku, {seat_form("seat")} AS form, {seat_size("seat")} AS size, {folded("thread")} AS thread, type,
                {decimal("thread_depth_mm", "1000")} AS nut_um, {money("price")} AS price,
                CAST(coalesce(pack, '1') AS BIGINT) AS pack, coalesce(left_hand, 'no') = 'yes' AS is_left
            FROM {self.read("nuts")}""")
        self.run("""
            CREATE TEMP TABLE cheapest_nuts AS
            SELECT * FROM nuts WHERE NOT is_left
            QUALIFY row_number() OVER (PARTITION BY form, size, thread ORDER BY price / pack, sku) = 1""")

    # Corners

    def load_corners(self, axle: str) -> None:
        """Wheel, tire and spacer at an axle that their own checks let pass, as table `front` or `rear`."""
        self._mounts(axle)
        self._tires_at(axle)
        job, is_rear = self.job, axle == "rear"
        inner, outer, sweep = (float(job.clearance(axle, side)) for side in ("inner", "outer", "sweep"))
        room_in, room_out = (job.least_room(axle, f"room_{side}", shifts=1) for side in ("inner", "outer"))
        between = job.least_room(axle, "room_inner", "room_outer", shifts=2)
        lip = float(job.ride_lip(axle))
        cover = {"tread": "tread_um", "tire": "s_um"}.get(job.find("targets.cover") or "", "")
        asked_lip = job.size("targets.lip_gap")
        lip_error = "0" if asked_lip is None else whole(f"abs({lip} + offset_um - s_um / 2 - {float(asked_lip)})")
        swept = self._sweep(float(sweep)) if not is_rear else "1e12"
        checks = [
            self.holds("width_um >= narrowest_um", "narrowest_um"),
            self.holds("width_um <= widest_um", "widest_um"),
            self.clears("in_um"),
            self.clears("out_um"),
            self.clears("between_um"),
            self.clears("swept_um"),
        ]
        if cover:
            checks.append(self.clears(f"{lip} + offset_um - {cover} / 2", *([cover] if cover == "tread_um" else [])))
        if is_rear and job.has_spare:
            deep, room = job.must("spare.well_width"), job.size("spare.clearance", job.must("spare.station") * 0 + 6350)
            checks.append(self.clears(f"{float(deep - room)} - s_um"))
        points = [("in_um", inner), ("out_um", outer), ("between_um", max(inner, 3175) + max(outer, 3175))]
        points += [] if is_rear else [("swept_um", sweep)]
        fit = least_known(
            [
                "mount_fit",
                "tire_fit",
                *(ramp(f"CAST(floor({name} + 0.5) AS BIGINT)", half_up(max(size, 3175.0))) for name, size in points),
            ]
        )
        hang, sink = self._ground(axle)
        count = 3 if is_rear and job.has_spare else 2
        spare = "".join(f"{name}, " for name in SPARE[axle]) if job.has_spare else ""
        spare_g = "w_g + t_g" if is_rear and self.spare_at is not None else "0"
        self.run(f"""
            CREATE TEMP TABLE {axle} AS
            WITH paired AS (
                SELECT m.* EXCLUDE (on_truck), t.* EXCLUDE (on_truck), m.on_truck AS wheel_on, t.on_truck AS tire_on,
                    section_um + 4 * (width_um - measured_um) / 10 AS s_um
                FROM mounts m JOIN tires_at t ON t.rim_at = m.rim_um),
            roomy AS (
                SELECT *, {room_in - inner} - offset_um - s_um / 2 AS in_um,
                    {room_out - outer} + offset_um - s_um / 2 AS out_um, {between - inner - outer} - s_um AS between_um
                FROM paired),
            swept AS (SELECT *, {swept} AS swept_um FROM roomy WHERE {" AND ".join(checks[:5])})
            SELECT wheel, tire, spacer, {spare}2 * (w_g + t_g + s_g) AS pair_g, {spare_g} AS spare_g,
                2 * least(wheel_rated, tire_rated) AS least_rated_g,
                2 * wheel_rated AS wheel_rated_g, 2 * tire_rated AS tire_rated_g,
                coalesce({fit}, 0) AS fit, CAST(floor(diameter_um + 0.5) AS BIGINT) AS diameter_um,
                {lip_error} AS lip_error, style, line, construction, turn_um, is_declared,
                {hang} AS hang_um, {sink} AS sink_um, {", ".join(BILLED)},
                tire_n * t_price AS tire_net, wheel_lb + tire_n * t_lb AS part_lb,
                CAST(floor({self._least_cents()}) AS BIGINT) AS cents
            FROM (SELECT *, {count} - if(tire_on IN ('{axle}', 'both'), 2, 0) AS tire_n,
                    if(tire_on IN ('{axle}', 'both'), 0, 2) AS disposed_n,
                    {count} - if(tire_on IN ('{axle}', 'both') AND wheel_on IN ('{axle}', 'both'), 2, 0) AS mounted_n
                FROM swept WHERE {" AND ".join(checks[5:])})""")

    def _least_cents(self) -> str:
        """What a corner adds to a bill at least, in front of all rounding."""
        nuts = "nut_n * nut_price / nut_pack"
        return self.least(
            parts=f"wheel_net + tire_n * t_price + spacer_net + {nuts} + ring_n * {self.price('hub_ring')}",
            freight=f"(wheel_lb + tire_n * t_lb) * {real(self.freight_rate / 100)}",
            labor=f"mounted_n * {self.price('mount_and_balance')}",
            fees=f"disposed_n * {self.price('tire_disposal')}",
        )

    def _ground(self, axle: str) -> tuple[str, str]:
        """Height of the lowest point over what is wanted with a tire that does not sink in, and how far it sinks in for
        each gram on the axle [um].
        """
        if self.job.size("targets.ground_clearance") is None:
            return "0", "0"
        height, sinks, weighed = self.job.ground_um(axle, self._present(axle, "running_um"))
        share = "NULL" if math.isnan(sinks) else real(sinks)
        return f"{real(height)} + running_um / 2", f"{share} * running_um / {real(weighed)}"

    def _present(self, axle: str, column: str) -> Any:
        """Something of the listed tire that is on an axle now, the first by SKU; None where none is."""
        found = self.db.execute(
            f"SELECT {column} FROM tires WHERE on_truck IN ('{axle}', 'both') ORDER BY sku LIMIT 1"
        ).fetchone()
        return found[0] if found else None

    def _mounts(self, axle: str) -> None:
        """Wheels on the hub, or on a spacer on the hub, that the hub, the brake and the studs let pass."""
        job, is_rear = self.job, axle == "rear"
        lugs, circle = job.hub_circle(axle)
        pilot, reach, length, thread = (
            constant(job.size(f"hub.{axle}.{key}")) for key in ("pilot", "pilot_length", "stud_length", "stud_diameter")
        )
        engaged = f"{constant(job.size(f'hub.{axle}.stud_engagement') or 1)}"
        envelope, caliper = (
            constant(job.size(f"brakes.{axle}.{key}")) for key in ("envelope_diameter", "caliper_reach")
        )
        brake, inner = job.brake_um(axle), float(job.clearance(axle, "inner"))
        room = job.least_room(axle, "room_inner", shifts=1)
        same = "abs(round({0} - {1})) <= 150"
        count = 3 if is_rear and job.has_spare else 2
        kept = f"on_truck IN ('{axle}', 'both')"
        well = "TRUE"
        if is_rear and job.has_spare:
            deep, gap = job.must("spare.well_width"), job.size("spare.clearance") or 6350
            well = self.clears(f"{float(deep - gap)} - width_um - 25400")
        pieces = {
            "rim": f"{room - inner} - e_um - width_um / 2 - 12700",
            "barrel": f"barrel_um - {envelope} - {2 * brake}",
            "spoke": f"spoke_um + thick_um - {caliper} - {brake}",
        }
        fits = [
            ramp(f"CAST(floor({margin} + 0.5) AS BIGINT)", half_up(max(size, 3175.0)))
            for margin, size in zip(pieces.values(), (inner, brake, brake), strict=True)
        ]
        bore = "round(bore_um - pilot) >= 0"
        checks = [
            # Whether the hub's pilot reaches through a spacer may be open: a bore that goes over it holds all the same.
            self.holds(f"CASE WHEN meets THEN {bore} WHEN NOT meets THEN TRUE WHEN {bore} THEN TRUE END"),
            f"if(spacer = '', TRUE, {self.holds(f'round(spacer_bore_um - {pilot}) >= 0', 'spacer_bore_um')})",
            self.clears(pieces["barrel"], "barrel_um"),
            self.clears(pieces["spoke"], "spoke_um"),
            f"if(bolted, {self.clears(f'stud_um - pad_um - {engaged} * thread_um', 'pad_um')} "
            f"AND {self.clears(f'{length} - own_pad_um - {engaged} * {thread}')} "
            f"AND {self.clears(f'thick_um + pocket_um - {length}')} "
            f"AND {self.clears('thick_um + pocket_um - own_pad_um - inner_nut_um')}, "
            f"{self.clears(f'{length} - pad_um - thick_um - {engaged} * {thread}', 'pad_um')})",
            *self._nut_checks(length, thread, engaged),
            self.holds("CAST(NULL AS BOOLEAN)"),  # the wheel's largest pressure, that no list states
            self.clears(pieces["rim"]),
            well,
        ]
        hub_thread, hub_nut = (f"'{job.find(f'hub.{axle}.{key}') or ''}'" for key in ("stud_thread", "lug_nut"))
        of_nut = ", ".join(
            f"if(n.sku IS NULL, c.{name}, n.{name}) AS {alias}"
            for name, alias in {
                "type": "nut_type",
                "nut_um": "nut_um",
                "form": "nut_form",
                "size": "nut_size",
                "thread": "nut_thread",
                "is_left": "nut_is_left",
            }.items()
        )
        self.run(f"""
            CREATE OR REPLACE TEMP TABLE mounts AS
            WITH spaced AS (
                SELECT sku AS spacer, thick_um, mass_g AS s_g, {self.centipounds("mass_lb", "spacers")} AS s_lb,
                    price AS s_price, pad_um AS own_pad_um, stud_um, thread_um, inner_nut_um, spacer_bore_um,
                    coalesce(outer_lugs, lugs, {lugs}) AS on_lugs,
                    coalesce(outer_um, circle_um, {float(circle)}) AS on_um, coalesce(pilot_um, {pilot}) AS pilot,
                    if(sku = '' OR pilot_um IS NOT NULL, TRUE, {reach} > thick_um) AS meets,
                    outer_lugs IS NOT NULL OR stud_um IS NOT NULL AS bolted,
                    {folded(f"nullif(if(bolted, thread, {hub_thread}), '')")} AS on_thread
                FROM spacers WHERE sku = '' OR (lugs = {lugs} AND {same.format("circle_um", float(circle))})),
            met AS (
                SELECT *, w.offset_um - thick_um AS e_um
                FROM wheels w JOIN spaced s ON w.lugs = s.on_lugs AND {same.format("w.circle_um", "s.on_um")}),
            nutted AS (
                SELECT met.*, coalesce(n.sku, c.sku, '') AS nut, {of_nut},
                    coalesce(n.price, c.price, {self.price("lug_nut")}) AS nut_price,
                    coalesce(n.pack, c.pack, 1) AS nut_pack
                FROM met LEFT JOIN nuts n ON n.sku = coalesce(lug_nut, if({kept}, {hub_nut}, ''))
                    LEFT JOIN cheapest_nuts c
                        ON c.form = seat_form AND c.size IS NOT DISTINCT FROM seat_size AND c.thread = on_thread)
            SELECT sku AS wheel, spacer, {self._spare_columns(axle)}
                rim_um, width_um, e_um AS offset_um, mass_g AS w_g, s_g,
                rated_g AS wheel_rated, style, on_truck, {least_known(fits)} AS mount_fit,
                ({count} - if({kept}, 2, 0)) * price AS wheel_net, if(spacer = '', 0, 2 * s_price) AS spacer_net,
                nut, nut_price, nut_pack, if({kept}, 0, 2 * lugs) AS nut_n,
                if(NOT {kept} AND round(bore_um - pilot) > 100 AND coalesce(meets, TRUE), 2, 0) AS ring_n,
                ({count} - if({kept}, 2, 0)) * {self.centipounds("mass_lb", "wheels")}
                    + if(spacer = '', 0, 2 * s_lb) AS wheel_lb
            FROM nutted WHERE {" AND ".join(checks)}""")

    def _nut_checks(self, length: str, thread: str, engaged: str) -> list[str]:
        """The nut has the wheel's seat and the stud's thread and is not left-hand, the stud does not bottom in a closed
        one, and it has thread enough where its thread is listed.
        """
        out = f"if(bolted, stud_um - pad_um, {length} - pad_um - thick_um)"
        needed = f"{engaged} * if(bolted, thread_um, {thread})"
        # With a pad as thick as is plausible no stud would stand out: where the pad is open, that stays open, too.
        stays_off = f"CASE nut_type WHEN 'open' THEN TRUE WHEN 'closed' THEN floor(nut_um - {out} + 0.5) >= 0 END"
        same_size = "CASE WHEN nut_form = seat_form THEN nut_size = seat_size ELSE nut_form = seat_form END"
        goes_on = f"NOT nut_is_left AND ({same_size}) AND nut_thread = on_thread"
        return [
            self.holds(goes_on),
            self.holds(stays_off, "nut_um"),
            f"if(nut_um IS NULL, TRUE, floor(nut_um - {needed} + 0.5) >= 0)",
        ]

    def _spare_columns(self, axle: str) -> str:
        """What the spare, a rear wheel, meets on the front hub or spacer, or brings there."""
        if not self.job.has_spare:
            return ""
        if axle == "rear":
            return "".join(f"{name}, " for name in SPARE[axle])
        length, thread = (constant(self.job.size(f"hub.front.{key}")) for key in ("stud_length", "stud_diameter"))
        engaged = constant(self.job.size("hub.front.stud_engagement") or 1)
        most_pad = f"if(bolted, stud_um - {engaged} * thread_um, {length} - thick_um - {engaged} * {thread})"
        # A pilot of unknown length is compared as if it reached through the spacer.
        return (
            f"on_lugs, on_um, pilot AS on_pilot, coalesce(meets, TRUE) AS on_meets, thick_um, {most_pad} AS most_pad, "
        )

    def _tires_at(self, axle: str) -> None:
        """Tires that wheelhouse, opening, ground and wishes at an axle let pass."""
        job = self.job
        top, opening = (float(job.clearance(axle, side)) for side in ("top", "opening"))
        over = self._under(job.heights(axle, "hub_to_top"), top)
        along = self._under(job.heights(axle, "opening_ahead", "opening_behind"), opening)
        checks = [self.clears("top_um"), self.clears("along_um")]
        speed = job.size("targets.top_speed")
        if speed is not None:
            checks.append(self.holds(f"round((km_h - {float(speed)}) * 1000) >= 0"))
        checks += [self.clears(margin) for margin in self._gap(axle)]
        if job.find("targets.winter") is not None:
            checks.append(self.holds(f"winter = '{'yes' if job.find('targets.winter') else 'no'}'"))
        if axle == "rear" and job.has_spare:
            across = job.must("spare.well_diameter") - 2 * (job.size("spare.clearance") or 6350)
            checks.append(self.clears(f"{float(across)} - diameter_um"))
        fits = [
            ramp(f"CAST(floor({name} + 0.5) AS BIGINT)", half_up(max(size, 3175.0)))
            for name, size in (("top_um", top), ("along_um", opening))
        ]
        self.run(f"""
            CREATE OR REPLACE TEMP TABLE tires_at AS
            SELECT sku AS tire, rim_um AS rim_at, section_um, measured_um, diameter_um, running_um, narrowest_um,
                widest_um, construction, rated_g AS tire_rated, turn_um, is_declared, mass_g AS t_g,
                {self.centipounds("mass_lb", "tires")} AS t_lb, price AS t_price, line, tread_um, on_truck,
                {least_known(fits)} AS tire_fit
            FROM (SELECT *, {over} AS top_um, {along} AS along_um FROM tires)
            WHERE {" AND ".join(checks)}""")

    def _under(self, rooms: dict[bool, float], clearance: float) -> str:
        """Room left over or along a tire in the worst state, in some of which it has grown."""
        sizes = {True: "grown_um", False: "diameter_um"}
        margins = [f"{real(room - clearance)} - {sizes[grown]} / 2" for grown, room in rooms.items()]
        return f"least({', '.join(margins)})" if len(margins) > 1 else margins[0]

    def _gap(self, axle: str) -> list[str]:
        """Margins of the gap to the lip at ride height, for each end of the band that is asked."""
        low, high = (self.job.size(f"targets.fender_gap_{end}") for end in ("min", "max"))
        if low is None and high is None:
            return []
        state = "ride_height" if self.job.find(f"wheelhouse.{axle}.ride_height") is not None else ""
        lip = float(self.job.room(axle, state, "hub_to_lip"))
        ends = [] if low is None else [f"{lip - float(low)} - diameter_um / 2"]
        return ends + ([] if high is None else [f"{float(high) - lip} + diameter_um / 2"])

    def _sweep(self, clearance: float) -> str:
        """Room left around the front tire that is steered from lock to lock, the least of all states."""
        job = self.job
        axis = float(job.must("steering.axis_offset"))
        parts = []
        for state in job.states("front"):
            lock = job.lock_rad(state)
            room = float(min(job.room("front", state, "sweep_ahead"), job.room("front", state, "sweep_behind")))
            frame = float(job.room("front", state, "frame_room"))
            along = farthest("diameter_um / 2", f"(abs({axis} - offset_um) + s_um / 2)", lock)
            frame -= job.shift_um("front", state)
            inward = farthest(f"(s_um / 2 - {axis} + offset_um)", "diameter_um / 2", lock)
            parts += [f"{room - clearance} - ({along})", f"{frame - clearance - axis} - ({inward})"]
        return f"least({', '.join(parts)})"

    # Drives

    def load_drives(self) -> None:
        """Gear set and differential on every turn of a rear tire that its speeds let pass, as table `drives`."""
        job = self.job
        ring = job.find("axle.ring_gear")
        splines = job.find("axle.splines")
        alike = [
            f"{a} = {b}"
            for a, b in (
                ("r.ring_gear", "d.ring_gear"),
                ("r.ring_gear", f"'{ring}'"),
                ("d.ring_gear", f"'{ring}'"),
                ("CAST(d.splines AS INT)", str(splines)),
            )
        ]
        ends = [
            "CAST(r.ratio AS DECIMAL(9, 4)) >= CAST(d.ratio_min AS DECIMAL(9, 4))",
            "CAST(r.ratio AS DECIMAL(9, 4)) <= CAST(d.ratio_max AS DECIMAL(9, 4))",
        ]
        new = {part: f"coalesce({part}.on_truck, '') <> 'yes'" for part in ("r", "d")}
        hours = " + ".join(
            f"if({own}, CAST(coalesce({part}.labor_hours, '0') AS DECIMAL(9, 2)), 0)" for part, own in new.items()
        )
        labor = f"CAST(floor(({hours}) * {self.price('labor_per_hour')} + 0.5) AS BIGINT)"
        each = " + ".join(
            f"if({own}, {self.taxed('parts', money(f'{part}.price'))}"
            f" + {self.taxed('fees', money(f'{part}.core_charge'))}, 0)"
            for part, own in new.items()
        )
        kit = f"if({' OR '.join(new.values())}, {self.taxed('parts', self.price('install_kit'))}, 0)"
        low_side = self._low_side("d.type", "CAST(d.bias_ratio AS DOUBLE)")
        over = constant(job.height_over_wheelbase())
        low, mean = constant(job.must("surface.friction_low")), constant(job.mean_friction())
        level = f"least(coalesce(low_side, 2e0) * {low} / 2, {mean})"
        torque = "0.3048 * 0.45359237 * 9.80665"
        self.run(f"""
            CREATE TEMP TABLE gears AS
            SELECT *, {level} / (1 - {level} * {over}) AS grip FROM (
                SELECT r.sku AS ratio_sku, d.sku AS differential, CAST(r.ratio AS DOUBLE) AS ratio,
                    {low_side} AS low_side,
                    if(d.type = 'limited_slip', coalesce(CAST(d."preload (lb-ft)" AS DOUBLE), 0) * {torque}, 0)
                        AS preload_n_m,
                    {each} + {kit} + {self.taxed("labor", labor)} AS cents
                FROM {self.read("ratios")} r CROSS JOIN {self.read("differentials")} d
                WHERE {" AND ".join(self.holds(check) for check in alike + ends)})""")
        self._turns()

    def _low_side(self, kind: str, bias: str) -> str:
        """Thrust over the grip of the side that has less; NULL where a bias ratio is missing, without end if locked."""
        return f"CASE {kind} WHEN 'open' THEN 2e0 WHEN 'locked' THEN 'infinity'::DOUBLE ELSE 1 + {bias} END"

    def _grip(self, low: float, mean: float) -> tuple[str, str]:
        """Thrust over the load under the rear wheels on two grounds, and what preload adds to it [kg]; both less what
        the driveshaft's torque lifts off one wheel of a live axle, never more than both sides' friction.
        """
        lift = constant(self.job.lift())
        radius = "t.turn_um / 1e6 / (2 * pi())"
        # All of a locked differential's thrust is what both sides' friction is: nothing lifts that.
        over = f"(1 + if(isinf(g.low_side), 0e0, g.low_side) * {real(low)} * {radius} / t.ratio * {lift})"
        by_low = f"g.low_side * {real(low)} / 2 / {over}"
        least = f"WHEN ({by_low}) IS NOT NULL THEN least({by_low}, {real(mean)})"
        share = f"CASE WHEN isinf(g.low_side) THEN {real(mean)} {least} END"
        return share, f"if(g.preload_n_m = 0, 0e0, g.preload_n_m / ({radius}) / 9.80665 / {over})"

    def _turns(self) -> None:
        """Every distinct turn of a rear tire with every ratio, and what both make of speed and pull."""
        job = self.job
        points = job.cruise_points()
        checks = [
            self.holds(
                f"floor(({self._rpm(point['speed'], point['turn'])} - {float(point['min'])}) * 1000 + 0.5) >= 0 AND "
                f"floor(({float(point['max'])} - {self._rpm(point['speed'], point['turn'])}) * 1000 + 0.5) >= 0"
            )
            for point in points
        ]
        top, redline, shaft = job.size("targets.top_speed"), job.must("engine.redline"), job.critical_rpm()
        gears = [float(gear) for gear in job.find("transmission.gears")]
        if top is not None:
            checks.append(f"floor(({float(redline)} - {self._rpm(top, job.top_gear())}) * 1000 + 0.5) >= 0")
            if shaft is not None:
                checks.append(f"floor(({real(shaft)} - {self._rpm(top, 1)}) * 1000 + 0.5) >= 0")
        checks += self._speedometer()
        aim = (job.must("targets.cruise_min") + job.must("targets.cruise_max")) / 2
        band = half_up((job.must("targets.cruise_max") - job.must("targets.cruise_min")) / 2 * 1000)
        main = self._rpm(points[0]["speed"], points[0]["turn"])
        away = whole(f"abs({main} - {float(aim)}) * 1000")
        split = self._grip(float(job.must("surface.friction_low")), job.mean_friction())
        road = self._grip(job.road_friction(), job.road_friction())
        self.run(f"""
            CREATE TEMP TABLE drives AS
            WITH turns AS (SELECT DISTINCT turn_um, is_declared FROM rear),
            ratios AS (SELECT DISTINCT ratio FROM gears),
            turning AS (
                SELECT turn_um, is_declared, ratio,
                    greatest(0, least({FULL}, ({FULL} * ({band} - {away})) // {band})) AS cruise,
                    {self._pulled(points, gears)}
                FROM turns, ratios WHERE {" AND ".join(checks)})
            SELECT row_number() OVER () AS drive_id, t.*, g.ratio_sku, g.differential, g.grip,
                {split[0]} AS share, {split[1]} AS preload_kg, {road[0]} AS road_share, {road[1]} AS road_preload_kg,
                g.cents AS drive_cents
            FROM turning t JOIN gears g USING (ratio)""")

    def _rpm(self, speed: Any, gear: Any) -> str:
        """Engine speed at a road speed [km/h]: v / (2 pi r) x 60 x gear x ratio."""
        return f"({real(float(speed) * 1e9 / 60 * float(gear))} * ratio / turn_um)"

    def _speedometer(self) -> list[str]:
        """The limit on the error, where one is asked, with the driven gear that reads least above true, else with the
        one that reads least below it. Both tires' revolutions are declared, or both are worked out by size.
        """
        job = self.job
        limit = job.size("targets.speedometer_error")
        if limit is None:
            return []
        meter = job.find("speedometer")
        listed = self._present("rear", "running_um"), self._present("rear", "construction")
        measured = job.size("present.rear_tire_diameter")
        diameter = listed[0] if measured is None else float(measured)
        by_size = None if diameter is None else math.pi * diameter * job.rolling(listed[1])
        by_revs = MILE_UM / meter["present_revs_per_mile"]
        now = f"if(is_declared, {real(by_revs)}, {constant(by_size)})"
        teeth = sorted({meter["driven_teeth"], *meter.get("driven_listed", [])})
        change = f"ratio / {real(meter['present_ratio'])} * {now} / turn_um * {real(job.reads())}"
        errors = [f"({change} * {meter['driven_teeth']} / {count} - 1)" for count in teeth]
        above = ", ".join(f"CASE WHEN {error} >= 0 THEN {error} END" for error in errors)
        error = f"abs(coalesce(least({above}), greatest({', '.join(errors)})))"
        return [self.holds(f"floor(({real(limit)} - {error}) * 1000000 + 0.5) >= 0")]

    def _pulled(self, points: list[dict[str, Any]], gears: list[float]) -> str:
        """Columns of the heaviest truck that thrust pulls up each wanted grade, in whole grams."""
        job, radius = self.job, "(turn_um / 1e6 / (2 * pi()))"
        efficiency = float(job.size("transmission.efficiency") or 0.85)
        curve = job.torque_curve()
        columns, grade = [], job.size("targets.pull_grade")
        if grade is not None:
            torque = job.at_rest_n_m()
            push = "NULL" if torque is None else real(torque * gears[0] * efficiency)
            columns.append(f"{push} * ratio / {radius} / {real(job.grade_weight_n(grade))}")
        for point in points:
            if point["hold"] is not None:
                torque = torque_at(self._rpm(point["speed"], point["turn"]), curve)
                drag = 0.5 * 1.225 * float(job.must("truck.drag_coefficient")) * float(job.must("truck.frontal_area"))
                drag *= (float(point["speed"]) / 3.6) ** 2
                push = f"({torque}) * {real(float(point['gear']) * efficiency)} * ratio / {radius} - {real(drag)}"
                columns.append(f"({push}) / {real(job.grade_weight_n(point['hold']))}")
        self.pulls = len(columns)
        return (
            ", ".join(f"CAST(floor({column} * 1000) AS BIGINT) AS pulled_{at}" for at, column in enumerate(columns))
            or "0 AS none"
        )

    # Ballast

    def load_layouts(self) -> None:
        """Every allowed way to lay ballast that its ties hold, as table `layouts` with a column of counts a slot."""
        job = self.job
        plan = job.find("ballast") or {}
        stations, most = plan.get("stations") or [], plan.get("max_items", 8)
        items = self.db.execute(f"""
            SELECT sku, {grams("mass_lb")}, CAST(mass_lb AS DOUBLE), CAST(max_count AS INT), {money("price")},
                {self.centipounds("mass_lb")}
            FROM {self.read("ballast")} ORDER BY sku""").fetchall()
        self.slots = [(item, station) for item in items for station in stations]
        self.run(
            "CREATE TEMP TABLE layouts AS SELECT 0::BIGINT AS front_g, 0::BIGINT AS rear_g, 0::BIGINT AS lay_cents, "
            "0::BIGINT AS lay_lb, 0 AS laid, []::INT[] AS counts"
            + "".join(f", 0::BIGINT AS at_{at}, 0.0::DOUBLE AS lb_{at}" for at in range(len(stations)))
            + "".join(f", 0 AS item_{at}" for at in range(len(items)))
        )
        for (sku, mass, pounds, stock, price, centipounds), station in self.slots:
            at = stations.index(station)
            item = next(number for number, other in enumerate(items) if other[0] == sku)
            heaviest = half_up(quantity(station["max_mass"])) if "max_mass" in station else None
            held = float(job.tied_g(station))
            line = self.taxed("parts", f"(item_{item} + n) * {price}")  # one line an item, wherever it lies
            line = f"{line} - {self.taxed('parts', f'item_{item} * {price}')}"
            limits = [f"laid + n <= {most}"]
            limits += [] if stock is None else [f"item_{item} + n <= {stock}"]
            limits += [] if heaviest is None else [f"at_{at} + n * {mass} <= {heaviest}"]
            limits.append(f"floor({real(held)} - (lb_{at} + n * {pounds}) * 453.59237 + 0.5) >= 0")
            rear = self.db.execute(f"SELECT {self.to_rear(str(mass), quantity(station['at']))}").fetchone()[0]
            self.run(f"""
                CREATE OR REPLACE TEMP TABLE layouts AS
                SELECT layouts.* REPLACE (front_g + n * {mass - rear} AS front_g, rear_g + n * {rear} AS rear_g,
                    lay_cents + {line} AS lay_cents, lay_lb + n * {centipounds} AS lay_lb, laid + n AS laid,
                    list_append(counts, n::INT) AS counts,
                    at_{at} + n * {mass} AS at_{at}, lb_{at} + n * {pounds} AS lb_{at},
                    (item_{item} + n)::INT AS item_{item})
                FROM layouts, range({most + 1}) AS r(n) WHERE {" AND ".join(limits)}""")

    # Levels of the key

    def levels(self, points: dict[str, str], cost: str) -> Levels:
        """Expressions of the levels, the largest first: weighted points or criteria, then the cost below zero."""
        weights = self.job.weights()
        if weights:
            return [" + ".join(f"{weight} * {points[name]}" for name, weight in weights.items()), f"-({cost})"]
        return [*(points[name] for name in self.job.order()), f"-({cost})"]

    def points(
        self,
        cost: str,
        rear_light: str,
        mass: str,
        stance_error: str,
        fit: str,
        cruise: str = "cruise",
        grip: str = "grip",
    ) -> dict[str, str]:
        """Points of every criterion, from the amounts that they look at."""
        scale = half_up(self.job.size("scales.weight") or 1_000_000)
        stance = half_up(self.job.size("scales.stance") or 101_600)
        return {
            "cost": ramp(f"{self.budget} - ({cost})", self.budget),
            "cruise": cruise,
            "fit": fit,
            "traction": f"coalesce({grip_points(rear_light, grip, self.job.full_thrust())}, 0)",
            "stance": f"coalesce({ramp(f'{stance} - ({stance_error})', stance)}, 0)",
            "weight": f"coalesce({ramp(f'{scale} - ({mass})', scale)}, 0)",
        }

    def bases(self) -> dict[str, int]:
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

    # Builds

    def first(self, count: int) -> list[dict[str, Any]]:
        """The first builds in ranked order."""
        self.load_lists()
        self.load_corners("front")
        self.load_corners("rear")
        self.load_drives()
        self.load_layouts()
        self._narrow()
        threshold = self._threshold(count)
        return self._described(self._judged(self._candidates(threshold, None), count))

    def _narrow(self) -> None:
        """Corners and drives with what the bounds look at, and the extremes of all that may join them."""
        base, job = self.bases(), self.job
        spare_rear = "0" if self.spare_at is None else self.to_rear("spare_g", self.spare_at)
        self.base = base
        self.run("CREATE TEMP TABLE fronts AS SELECT row_number() OVER () AS front_id, * FROM front")
        most_rear = self.db.execute("SELECT max(rear_g) FROM layouts").fetchone()[0]
        gawr = job.grams("truck.gawr_rear")
        spread = base["rear_heavy"] - base["rear_light"]
        capped = f"least({most_rear} + rear0, {f'{gawr - spread}' if gawr else 'NULL'}, least_rated_g - {spread})"
        self.run(f"""
            CREATE TEMP TABLE rears AS
            SELECT row_number() OVER () AS rear_id, *, {base["rear_light"]} + pair_g + {spare_rear} AS rear0,
                spare_g - ({spare_rear}) AS spare_front
            FROM rear
            WHERE {self._has_front()}""")
        # A view: of long lists there are many more rear corners with a drive than would be written down in good time.
        self.run(f"""
            CREATE TEMP VIEW rear_drives AS
            SELECT r.*, d.* EXCLUDE (turn_um, is_declared), r.cents + d.drive_cents AS rear_cents,
                {capped} AS rear_most
            FROM rears r JOIN drives d USING (turn_um, is_declared)
            WHERE r.cents + d.drive_cents <= {self.budget + ROUNDINGS_CENTS}""")
        # A corner of unknown mass earns no points by weight, so that the lightest known one bounds it.
        f = self.db.execute(
            "SELECT coalesce(min(cents), 0), coalesce(min(pair_g), 0), coalesce(max(fit), 0) FROM fronts"
        ).fetchone()
        r = self.db.execute("""
            SELECT coalesce(min(rear_cents), 0), coalesce(min(pair_g), 0), coalesce(max(fit), 0),
                coalesce(max(cruise), 0), coalesce(max(rear_most), 0), coalesce(max(grip), 0)
            FROM rear_drives""").fetchone()
        self.best = {
            "front": dict(zip(("cents", "pair_g", "fit"), f, strict=True)),
            "rear": dict(zip(("cents", "pair_g", "fit"), r[:3], strict=True)),
            "drive": dict(zip(("cruise", "rear", "grip"), r[3:], strict=True)),
        }

    def _has_front(self) -> str:
        """With one wheel and tire all round, a rear corner is of use where the front has it too."""
        if not self.job.same_all_round:
            return "TRUE"
        return "EXISTS (FROM fronts f WHERE f.wheel = rear.wheel AND f.tire = rear.tire)"

    def _stance(self, front: str, rear: str) -> str:
        """Error of the stance of a pair of corners [um]."""
        rake = self.job.size("targets.rake")
        error = "0" if rake is None else f"abs({rear}.diameter_um - {front}.diameter_um - {half_up(rake)})"
        return f"{error} + {front}.lip_error + {rear}.lip_error"

    def _front_bound(self) -> Levels:
        """The best that any build with a front corner can be."""
        rear, drive = self.best["rear"], self.best["drive"]
        cost = f"f.cents + {rear['cents'] - ROUNDINGS_CENTS}"
        points = self.points(
            cost,
            str(drive["rear"]),
            f"f.pair_g + {rear['pair_g']}",
            "f.lip_error",
            f"least(f.fit, {rear['fit']})",
            str(drive["cruise"]),
            real(drive["grip"]),
        )
        return self.levels(points, cost)

    def _rear_bound(self) -> Levels:
        """The best that any build with a rear corner and a drive can be."""
        front = self.best["front"]
        cost = f"r.rear_cents + {front['cents'] - ROUNDINGS_CENTS}"
        points = self.points(
            cost,
            "r.rear_most",
            f"r.pair_g + {front['pair_g']}",
            "r.lip_error",
            f"least(r.fit, {front['fit']})",
            "r.cruise",
            "r.grip",
        )
        return self.levels(points, cost)

    def _pair_bound(self) -> Levels:
        """The best that any build with two corners and a drive can be, whatever its ballast."""
        cost = f"f.cents + r.rear_cents - {ROUNDINGS_CENTS}"
        points = self.points(
            cost,
            "r.rear_most",
            "f.pair_g + r.pair_g",
            self._stance("f", "r"),
            "least(f.fit, r.fit)",
            "r.cruise",
            "r.grip",
        )
        levels = self.levels(points, cost)
        weights = self.job.weights()
        if weights:
            levels[0] = f"least({levels[0]}, {self._straight_bound(weights, points)})"
        return levels

    def _straight_bound(self, weights: dict[str, int], points: dict[str, str]) -> str:
        """Weighted points with the ballast that pays best where all criteria are straight lines, which they never pass.

        Rounding down and ending at 10000 only take away, so that this is a bound.
        """
        scale, thrust = half_up(self.job.size("scales.weight") or 1_000_000), self.job.full_thrust()
        per = {
            "cost": weights.get("cost", 0) * FULL / self.budget,
            "weight": weights.get("weight", 0) * FULL / scale,
            "traction": weights.get("traction", 0) * FULL / thrust,
        }
        grips = [row[0] for row in self.db.execute("SELECT DISTINCT grip FROM gears").fetchall()]
        gains = [
            self.db.execute(f"""SELECT max({real(per["traction"])} * rear_g * {real(grip)}
                                - {real(per["cost"])} * (lay_cents + lay_lb * {real(self.freight_rate / 100)})
                                - {real(per["weight"])} * (front_g + rear_g)) FROM layouts""").fetchone()[0]
            for grip in grips
        ]
        cases = " ".join(f"WHEN {real(grip)} THEN {real(own)}" for grip, own in zip(grips, gains, strict=True))
        # Without gears there is no build to bound; a grip that does not read back as itself has the best gain of all.
        gain = f"CASE r.grip {cases} ELSE {real(max(gains))} END" if cases else "0"
        rest = (
            " + ".join(f"{weights[name]} * {points[name]}" for name in ("cruise", "fit", "stance") if name in weights)
            or "0"
        )
        mass = f"{real(per['weight'])} * ({scale} - (f.pair_g + r.pair_g))"
        return (
            f"CASE WHEN f.pair_g + r.pair_g IS NOT NULL THEN CAST(floor({rest}"
            f" + {real(per['cost'])} * ({self.budget + ROUNDINGS_CENTS} - (f.cents + r.rear_cents)) + {mass}"
            f" + {real(per['traction'])} * r.rear0 * r.grip + {gain} + 1.01) AS BIGINT) END"
        )

    def _paired(self) -> str:
        """What front and rear corner must have in common."""
        job = self.job
        low, high = job.size("targets.rake_min"), job.size("targets.rake_max")
        checks = [self.holds("f.construction = r.construction")]
        checks += [] if low is None else [f"r.diameter_um - f.diameter_um >= {half_up(low)}"]
        checks += [] if high is None else [f"r.diameter_um - f.diameter_um <= {half_up(high)}"]
        checks += [self.holds("f.style = r.style")] if job.find("targets.same_style") else []
        checks += [self.holds("f.line = r.line")] if job.find("targets.same_line") else []
        if job.same_all_round:
            checks.append("f.wheel = r.wheel AND f.tire = r.tire")
        checks += self._spare_in_front() if job.has_spare else []
        checks.append(f"f.cents + r.rear_cents <= {self.budget + ROUNDINGS_CENTS}")
        return " AND ".join(checks)

    def _spare_in_front(self) -> list[str]:
        """The rear wheel goes on what the front wheel is on, over the front brake; nothing is taken as plausible."""
        envelope, caliper = (
            constant(self.job.size(f"brakes.front.{key}")) for key in ("envelope_diameter", "caliper_reach")
        )
        brake = self.job.brake_um("front")
        return [
            "r.lugs = f.on_lugs",
            "abs(round(r.circle_um - f.on_um)) <= 150",
            self.holds("CASE WHEN f.on_meets THEN round(r.bore_um - f.on_pilot) >= 0 ELSE TRUE END"),
            self.clears(f"r.barrel_um - {envelope} - {2 * brake}"),
            self.clears(f"r.spoke_um + f.thick_um - {caliper} - {brake}"),
            self.clears("f.most_pad - r.pad_um"),
        ]

    def _candidates(self, threshold: tuple[int, ...] | None, most: int | None) -> str:
        """Pairs of corners with a drive that may be among the first; with `most` the most promising alone."""
        fronts, rears = "fronts", "rear_drives"
        if not self.job.same_all_round:
            fronts, rears = (
                self._cut("fronts f", self._front_bound(), threshold, most),
                self._cut("rear_drives r", self._rear_bound(), threshold, most),
            )
            sizes = [self.db.execute(f"SELECT count(*) FROM {table}").fetchone()[0] for table in (fronts, rears)]
            if math.prod(sizes) > LARGEST_JOIN:
                raise TooLargeError(
                    f"{sizes[0]:,} front corners by {sizes[1]:,} rear corners with a drive may be among the first"
                )
        bound = self._pair_bound()
        names = ", ".join(f"{level} AS b{at}" for at, level in enumerate(bound))
        order = f"ORDER BY {', '.join(f'b{at} DESC' for at in range(len(bound)))} LIMIT {most}" if most else ""
        better = "TRUE" if threshold is None else at_least([f"b{at}" for at in range(len(bound))], threshold)
        self.run(f"""
            CREATE OR REPLACE TEMP TABLE candidates AS
            SELECT front_id, rear_id, drive_id FROM (
                SELECT f.front_id, r.rear_id, r.drive_id, {names} FROM {fronts} f JOIN {rears} r ON {self._paired()})
            WHERE {better} {order}""")
        self.run(f"""
            CREATE OR REPLACE TEMP TABLE priced AS
            SELECT c.*, {self._bill()} AS pair_cents, f.part_lb + r.part_lb AS pair_lb
            FROM candidates c JOIN fronts f USING (front_id) JOIN rears r USING (rear_id)
                JOIN drives d USING (drive_id)""")
        return "priced"

    def _bill(self) -> str:
        """The lines of a pair's bill but for freight: a part number that both axles need is one line."""
        lines = ["d.drive_cents"]
        for part in ("wheel", "tire", "spacer"):
            own, other = f"f.{part}_net", f"r.{part}_net"
            together = self.taxed("parts", f"{own} + {other}")
            apart = [self.taxed("parts", net) for net in (own, other)]
            lines.append(f"if(f.{part} = r.{part}, {together}, {' + '.join(apart)})")
        packs = "(({0} + {1}.nut_pack - 1) // {1}.nut_pack) * {1}.nut_price"
        together = self.taxed("parts", packs.format("f.nut_n + r.nut_n", "f"))
        apart = [self.taxed("parts", packs.format(f"{of}.nut_n", of)) for of in ("f", "r")]
        lines.append(f"if(f.nut = r.nut, {together}, {' + '.join(apart)})")
        for count, price, kind in (
            ("ring_n", "hub_ring", "parts"),
            ("mounted_n", "mount_and_balance", "labor"),
            ("disposed_n", "tire_disposal", "fees"),
        ):
            lines.append(self.taxed(kind, f"(f.{count} + r.{count}) * {self.price(price)}"))
        return " + ".join(lines)

    def _cut(self, table: str, bound: Levels, threshold: tuple[int, ...] | None, most: int | None) -> str:
        """Rows of a side that may belong to one of the first builds; with `most` the most promising alone."""
        name, alias = table.split()
        better = "TRUE" if threshold is None else at_least([f"b{at}" for at in range(len(bound))], threshold)
        order = f"ORDER BY {', '.join(f'b{at} DESC' for at in range(len(bound)))} LIMIT {most}" if most else ""
        names = ", ".join(f"{level} AS b{at}" for at, level in enumerate(bound))
        self.run(
            f"CREATE OR REPLACE TEMP TABLE cut_{name} AS "
            f"SELECT * FROM (SELECT {alias}.*, {names} FROM {table}) WHERE {better} {order}"
        )
        return f"cut_{name}"

    def _threshold(self, count: int) -> tuple[int, ...] | None:
        """Levels of the build at the last place among a few promising pairs; None where there are too few.

        That build exists, so whatever is provably below it is not among the first. What is equal stays.
        """
        threshold, most = None, SEEDS
        for _ in range(3):
            rows = self._judged(self._candidates(threshold, most), count)
            if len(rows) == count:
                threshold = tuple(rows[-1][: self.depth])
                if self.job.same_all_round:
                    break
            most *= 5
        return threshold

    @property
    def depth(self) -> int:
        """How many levels the key has, the cost among them."""
        return 2 if self.job.weights() else len(self.job.order()) + 1

    def _judged(self, candidates: str, count: int) -> list[tuple[Any, ...]]:
        """The first builds of some candidates with every way to lay ballast, judged by all checks of a whole build."""
        total, each = (
            self.db.execute(f"SELECT count(*) FROM {table}").fetchone()[0] for table in (candidates, "layouts")
        )
        step = max(1, LAYOUTS_AT_ONCE // max(1, each))
        best: list[tuple[Any, ...]] = []
        for start in range(0, total, step):
            rows = self.db.execute(
                self._build_query(f"(SELECT * FROM {candidates} LIMIT {step} OFFSET {start})", count)
            ).fetchall()
            best = sorted(best + rows, key=lambda row: (*(-level for level in row[: self.depth]), *row[self.depth :]))[
                :count
            ]
        return best

    def _build_query(self, candidates: str, count: int) -> str:
        """Builds of some candidates that pass, the first ones in ranked order."""
        cost = f"c.pair_cents + l.lay_cents + {self.freight('c.pair_lb + l.lay_lb')}"
        light = "r.rear0 + l.rear_g"
        points = self.points(
            cost,
            light,
            "f.pair_g + r.pair_g + l.front_g + l.rear_g",
            self._stance("f", "r"),
            "least(f.fit, r.fit)",
            "r.cruise",
            "r.grip",
        )
        levels = self.levels(points, cost)
        names = [f"k{at}" for at in range(len(levels))]
        skus = [
            "f.wheel",
            "f.tire",
            "f.spacer",
            "r.wheel",
            "r.tire",
            "r.spacer",
            "r.ratio_sku",
            "r.differential",
            "l.counts",
        ]
        order = [f"{name} DESC" for name in names] + skus
        return f"""
            SELECT {", ".join(f"{level} AS {name}" for level, name in zip(levels, names, strict=True))},
                {", ".join(skus)}
            FROM {candidates} c JOIN fronts f USING (front_id) JOIN rear_drives r USING (rear_id, drive_id)
                CROSS JOIN layouts l
            WHERE {" AND ".join(self._build_checks(cost))} ORDER BY {", ".join(order)} LIMIT {count}"""

    def _build_checks(self, cost: str) -> list[str]:
        """All checks of a whole build."""
        job, base = self.job, self.base
        bare_front = f"{base['front_heavy']} + f.pair_g + r.spare_front"
        front = f"{bare_front} + l.front_g"
        rear = f"r.rear0 + {base['rear_heavy'] - base['rear_light']} + l.rear_g"
        added = "f.pair_g + r.pair_g + r.spare_g + l.front_g + l.rear_g"
        permille = job.front_permille()
        checks = [f"{cost} <= {self.budget}"]
        loads = [("front", front, "f"), ("rear", rear, "r")] + [("front", bare_front, "f")] * job.lightens_front
        for axle, load, row in loads:
            limits = (f"{row}.tire_rated_g", f"{row}.wheel_rated_g", constant(job.grams(f"truck.gawr_{axle}")))
            checks += [self.holds(f"{load} <= {limit}") for limit in limits]
        checks.append(self.holds(f"{base['truck_heavy']} + {added} <= {constant(job.grams('truck.gvwr'))}"))
        if job.size("truck.payload") is not None:
            checks.append(self.holds(f"{base['payload']} + {added} <= {job.grams('truck.payload')}"))
        if job.size("targets.rear_load") is not None:
            checks.append(self.holds(f"r.rear0 + l.rear_g >= {job.grams('targets.rear_load')}"))
        if permille > 0:
            checks.append(
                self.holds(
                    f"{base['steering']} + 1000 * (f.pair_g + r.spare_front + l.front_g)"
                    f" - {permille} * ({added}) >= -50"
                )
            )
        checks += [self.holds(f"{base['truck_heavy']} + {added} <= r.pulled_{at}") for at in range(self.pulls)]
        if job.size("targets.ground_clearance") is not None:
            for load, row in [(front, "f"), (rear, "r")] + [(bare_front, "f")] * job.lightens_front:
                checks.append(self.clears(f"{row}.hang_um - {row}.sink_um * ({load})"))
        return checks + self._climbs(added)

    def _climbs(self, added: str) -> list[str]:
        """In every load case the truck starts on the wanted grade with one wheel on the worse ground, and has the grip
        of a good road for the grade that it is to pull up: a (W_r cos + W h / L sin) + P >= W (sin + f cos), by the
        differential and by both sides' friction. A margin counts from half of its last place on.
        """
        job = self.job
        least, pull = job.size("targets.start_grade"), job.size("targets.pull_grade")
        wanted: list[tuple[float, float, str, str, float]] = []
        if least is not None:
            slope, pull_back = math.atan(float(least) - 0.5e-6), job.ground_resistance()
            wanted.append((slope, pull_back, "r.share", "r.preload_kg", 0.0))
            wanted.append((slope, pull_back, real(job.mean_friction()), "0", 0.0))
        if pull is not None:
            slope, pull_back, friction = math.atan(float(pull)), job.resistance, real(job.road_friction())
            wanted.append((slope, pull_back, "r.road_share", "r.road_preload_kg", 0.00005))
            wanted.append((slope, pull_back, friction, "0", 0.00005))
        checks, over, light = [], job.height_over_wheelbase(), self.base["rear_light"]
        for bare_front, bare_rear in job.bare_g():
            truck = f"(({bare_front + bare_rear} + {added}) / 1000.0)"
            rear = f"((r.rear0 + {bare_rear - light} + l.rear_g) / 1000.0)"
            for slope, pull_back, share, preload, half_place in wanted:
                on_rear = f"({rear} * {real(math.cos(slope))} + {truck} * {real(over * math.sin(slope))})"
                needed = math.sin(slope) + pull_back * math.cos(slope)
                push = f"{share} * {on_rear} + {preload} - {truck} * {real(needed)}"
                checks.append(self.holds(f"{push} >= {real(-half_place * needed)}"))
        return checks

    def _described(self, rows: list[tuple[Any, ...]]) -> list[dict[str, Any]]:
        """Rows by name; the ballast counts by item and station, in the order in which they decide ties."""
        return [
            {
                "levels": list(row[: self.depth - 1]),
                "cost_cents": -row[self.depth - 1],
                **dict(zip(SKUS, row[self.depth :], strict=False)),
                "counts": list(row[-1]),
            }
            for row in rows
        ]


def farthest(straight: str, aside: str, lock: float) -> str:
    """The largest of straight cos t + aside sin t for t from 0 to the lock, aside > 0."""
    turned = f"least(atan2({aside}, {straight}), {real(lock)})"
    return f"{straight} * cos({turned}) + {aside} * sin({turned})"


def torque_at(rpm: str, curve: list[tuple[float, float]]) -> str:
    """Torque on the straight line between two points of the curve; NULL outside of it."""
    parts = [
        f"WHEN {rpm} BETWEEN {real(low)} AND {real(high)} "
        f"THEN {real(at_low)} + ({rpm} - {real(low)}) / {real(high - low)} * {real(at_high - at_low)}"
        for (low, at_low), (high, at_high) in itertools.pairwise(curve)
    ]
    return f"CASE {' '.join(parts)} END"


def at_least(levels: Sequence[str], threshold: Sequence[int]) -> str:
    """Whether levels are, one after the other, not below those of a threshold."""
    condition = f"{levels[-1]} >= {threshold[-1]}"
    for level, limit in zip(reversed(levels[:-1]), reversed(threshold[:-1]), strict=True):
        condition = f"({level} > {limit} OR ({level} = {limit} AND {condition}))"
    return condition

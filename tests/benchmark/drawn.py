"""Jobs of every kind that a shop may bring, drawn by a seed: what they ask differs, the lists are those of `lists`.

`draw_job` writes the job of a seed and tells its family. Families take turns: twenty seeds in a row have each of them
once, and sixty in a row have each in its three variants. A job is one of `lists.write_job` whose job.toml, and where a
family wants it some columns of the lists, are changed. The same arguments give the same bytes.
"""

from __future__ import annotations

import csv
import json
import random
import tomllib
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from lists import BLANK, write_job

Dice = random.Random
Tables = dict[str, Any]

CRITERIA = ("cost", "cruise", "fit", "traction", "stance", "weight")
USUAL, TIGHT, LOOSE = (4, 6, 8), (0, 1, 2, 3), (10, 12, 16)
"""Eighths of an inch of room beside the tire, more than `lists` has."""
FOR_SHORT = 6
"""More of them on short lists, of which else nothing fits."""
LONG = 1000
"""Wheels from which on a list is long."""
SPARSE = {
    "wheels": ("load_rating_lb", "mass_lb", "barrel_diameter_in", "spoke_clearance_in", "pad_in"),
    "tires": (
        "measuring_rim_in",
        "rim_width_min_in",
        "rim_width_max_in",
        "overall_diameter_in",
        "revs_per_mile",
        "mass_lb",
        "tread_width_in",
    ),
    "spacers": ("mass_lb", "hub_bore_mm"),
}
"""Columns that suppliers leave blank."""


@dataclass
class Drawn:
    """A job that is being drawn: its tables, the folder of its lists, and what decides."""

    job: Tables
    folder: Path
    dice: Dice
    draw: np.random.Generator

    def put(self, path: str, /, **keys: Any) -> None:
        """Keys of a table are set, those of None are left out; a table that is not there is begun."""
        table = self.job
        for name in path.split("."):
            table = table.setdefault(name, {})
        table.update(keys)
        for name in [name for name, value in table.items() if value is None]:
            del table[name]

    def rank_by(self, *, weights: Tables | None = None, order: Sequence[str] = ()) -> None:
        """The ranking is by these weights, by this order, or by all criteria alike."""
        self.job.pop("weights", None)
        self.job.pop("order", None)
        if order:
            self.job["order"] = {"criteria": list(order)}
        elif weights:
            self.job["weights"] = weights

    def change_column(self, name: str, column: str, change: Callable[[int, str], str]) -> None:
        """A column of a list is what `change` makes of the number and the text of each row; a new one comes last."""
        path = self.folder / f"{name}.csv"
        with path.open(encoding="utf-8", newline="") as lines:
            rows = list(csv.DictReader(lines))
        for at, row in enumerate(rows):
            row[column] = change(at, row.get(column, ""))
        with path.open("w", encoding="utf-8", newline="") as lines:
            writer = csv.DictWriter(lines, list(rows[0]), lineterminator="\n")
            writer.writeheader()
            writer.writerows(rows)


@dataclass(frozen=True)
class Variant:
    """One of the three ways of a family: what `lists.write_job` is asked for, and what is changed then."""

    change: Callable[[Drawn], None]
    room: Sequence[int] = USUAL
    asked: Tables = field(default_factory=dict)


def draw_job(folder: Path, *, seed: int, wheels: int, tires: int, axles: str = "free", top: int = 50) -> str:
    """The job of a seed is written into a folder, with its lists; its family is returned."""
    family, variant = _at(seed)
    dice = Dice(f"drawn {seed}")
    more_room = dice.choice(variant.room) + (0 if wheels >= LONG else FOR_SHORT)
    path = write_job(
        folder, seed=seed, wheels=wheels, tires=tires, axles=axles, top=top, more_room=more_room, **variant.asked
    )
    job = tomllib.loads(path.read_text(encoding="utf-8"))
    drawn = Drawn(job, folder, dice, np.random.default_rng((seed, 100)))
    _list_pressures(drawn)
    _RANKINGS[seed % len(_RANKINGS)](drawn)
    variant.change(drawn)
    drawn.put("job", name=f"Hill-country orchard, {family}")
    path.write_text(toml_text(job), encoding="utf-8")
    return family


def _at(seed: int) -> tuple[str, Variant]:
    """Family and variant of a seed."""
    turn, at = divmod(seed, len(FAMILIES))
    name = list(FAMILIES)[at]
    return name, FAMILIES[name][turn % len(FAMILIES[name])]


# TOML


def toml_text(tables: Tables) -> str:
    """Tables as tomllib gives them, written again: keys before tables, a list of tables as so many of them."""
    return "\n".join(_lines(tables, "")).strip() + "\n"


def _lines(table: Tables, path: str) -> list[str]:
    lines = [f"{name} = {_value(value)}" for name, value in table.items() if not _is_of_tables(value)]
    for name, value in table.items():
        inner = f"{path}.{name}" if path else name
        if isinstance(value, dict):
            lines += ["", f"[{inner}]", *_lines(value, inner)]
        elif _is_of_tables(value):
            for one in value:
                lines += ["", f"[[{inner}]]", *_lines(one, inner)]
    return lines


def _is_of_tables(value: Any) -> bool:
    """Whether a value is a table, or a list of some."""
    return isinstance(value, dict) or (isinstance(value, list) and bool(value) and isinstance(value[0], dict))


def _value(value: Any) -> str:
    if isinstance(value, list):
        return "[" + ", ".join(map(_value, value)) + "]"
    return json.dumps(value, ensure_ascii=False)


# Sizes


def _number(text: str) -> float:
    """The size of a text of one number and its unit."""
    return float(text.split()[0].replace(",", ""))


def _pounds(size: float) -> str:
    return f"{size:.0f} lb"


def _dollars(cents: int) -> str:
    return f"${cents // 100:,}.{cents % 100:02d}"


def _loads(job: Tables) -> list[tuple[float, float]]:
    """Front and rear axle load of each case [lb], on the present wheels and without ballast."""
    return [_loads_in(case, job) for case in job["loads"]["cases"]]


def _loads_in(case: str, job: Tables) -> tuple[float, float]:
    loads, wheelbase = job["loads"], _number(job["truck"]["wheelbase"])
    front, rear = _number(loads["front_axle"]), _number(loads["rear_axle"])
    for item in loads["items"]:
        mass = _number(item["mass"]) * ((case in item.get("cases", [case])) - item.get("weighed", False))
        share = _number(item["station"]) / wheelbase
        front, rear = front + mass * share, rear + mass * (1.0 - share)
    return front, rear


def _ballast_reach(job: Tables) -> float:
    """What ballast can add to the rear axle load [lb], as far as stations and ties go."""
    wheelbase = _number(job["truck"]["wheelbase"])
    return sum(_held(station) * (1.0 - _number(station["at"]) / wheelbase) for station in job["ballast"]["stations"])


def _held(station: Tables) -> float:
    """The mass that a station and its ties hold [lb]."""
    ties = station["ties"] * _number(station["tie_working_load"])
    return min(_number(station["max_mass"]), ties * (2.0 if station.get("tie_run") == "over" else 1.0))


def _needed(job: Tables) -> float:
    """What the wanted rear load asks of ballast [lb]."""
    wanted = _number(job["targets"].get("rear_load", "0 lb"))
    return max(0.0, wanted - min(rear for _, rear in _loads(job)))


def _raise_roofs(job: Tables, inches: float) -> None:
    """The wheelhouses' tops are so much higher in every state, or lower."""
    for house in job["wheelhouse"].values():
        for state in house.values():
            if isinstance(state, dict) and "hub_to_top" in state:
                state["hub_to_top"] = f"{_inches(state['hub_to_top']) + inches:.3f} in"


def _inches(text: str) -> float:
    """The size of a text such as 15 6/8 in."""
    whole, *eighths = text.removesuffix(" in").split()
    return float(whole) + sum(int(part.partition("/")[0]) / 8.0 for part in eighths)


# Ranking


def _alike(drawn: Drawn) -> None:
    drawn.rank_by()


def _mixed(drawn: Drawn) -> None:
    names = drawn.dice.sample(CRITERIA, drawn.dice.randint(2, 6))
    drawn.rank_by(weights={name: drawn.dice.randint(1, 5) for name in names})


def _ordered(drawn: Drawn) -> None:
    drawn.rank_by(order=drawn.dice.sample(CRITERIA, drawn.dice.randint(2, 6)))


_RANKINGS = (_alike, _mixed, _ordered, _mixed, _ordered, _mixed, _mixed)
"""How the jobs are ranked in turn, of families that are not about the ranking."""


def _alone(name: str) -> Variant:
    """One criterion alone."""
    return Variant(lambda drawn: drawn.rank_by(weights={name: drawn.dice.randint(1, 5)}))


def _first(name: str) -> Variant:
    """A criterion before one to five others."""

    def change(drawn: Drawn) -> None:
        others = [other for other in CRITERIA if other != name]
        drawn.rank_by(order=[name, *drawn.dice.sample(others, drawn.dice.randint(1, 5))])

    return Variant(change)


# Room, money


def _roofs(*eighths: int) -> Callable[[Drawn], None]:
    """The tops of the wheelhouses are moved by one of these."""
    return lambda drawn: _raise_roofs(drawn.job, drawn.dice.choice(eighths) / 8.0)


def _budget(least: int, most: int) -> Callable[[Drawn], None]:
    """The budget is somewhere between so many dollars, to the cent."""
    return lambda drawn: drawn.put("money", budget=_dollars(drawn.dice.randint(100 * least, 100 * most)))


def _idle_budget(drawn: Drawn) -> None:
    drawn.put("money", budget=drawn.dice.choice((None, "$9,000", "$1,000,000")))


# Loads, grades


def _weighed(change: Callable[[Drawn], None]) -> Variant:
    """A strict job with room, and wishes that leave some: no build escapes a load or a grade by what is not known."""

    def eased(drawn: Drawn) -> None:
        drawn.put("surface", friction_road=0.8)
        drawn.put("targets", winter=None, same_style=None, same_line=None, front_share=None, speedometer_error=None)
        drawn.put("targets", start_grade="4 %", cover=None)
        drawn.put("truck", payload=None)
        _idle_budget(drawn)
        change(drawn)

    return Variant(eased, LOOSE, {"strict": True})


def _tight_axles(drawn: Drawn) -> None:
    """The axle ratings are next to what the axles carry with the ballast that is needed."""
    front, rear = (max(axle) for axle in zip(*_loads(drawn.job), strict=True))
    drawn.put(
        "truck",
        gawr_front=_pounds(front + drawn.dice.randint(-40, 60)),
        gawr_rear=_pounds(rear + _needed(drawn.job) + drawn.dice.randint(-40, 80)),
    )


def _tight_gvwr(drawn: Drawn) -> None:
    gross = max(front + rear for front, rear in _loads(drawn.job))
    drawn.put("truck", gvwr=_pounds(gross + _needed(drawn.job) + drawn.dice.randint(-60, 120)))


def _far_rear_load(drawn: Drawn) -> None:
    """The wanted rear load is next to what ballast can reach."""
    least = min(rear for _, rear in _loads(drawn.job))
    share = drawn.dice.choice((0.6, 0.7, 0.8, 0.9, 0.95, 1.0))
    drawn.put("targets", rear_load=_pounds(least + share * _ballast_reach(drawn.job)))


def _steep_start(drawn: Drawn) -> None:
    drawn.put("targets", start_grade=f"{drawn.dice.randint(14, 22) / 2} %")


def _steep_pull(drawn: Drawn) -> None:
    """The ground has so much grip that the gears decide."""
    drawn.put("surface", friction_road=0.9)
    drawn.put("targets", pull_grade=f"{drawn.dice.randint(24, 40)} %")


def _steep_hold(drawn: Drawn) -> None:
    drawn.put("targets", hold_grade=f"{drawn.dice.randint(8, 15) / 2} %", cruise_max="2500 rpm")


# Lists with gaps


def _list_pressures(drawn: Drawn) -> None:
    """Wheels have a largest pressure and tires a rated one, some of them blank: a strict job asks for both."""
    for name, column, pool in (
        ("wheels", "max_pressure_psi", ("65", "80", "80", "110")),
        ("tires", "rated_pressure_psi", ("35", "36", "50", "65")),
    ):
        drawn.change_column(name, column, lambda _, text, pool=pool: _seldom_blank(drawn.draw, pool))


def _seldom_blank(draw: np.random.Generator, pool: Sequence[str]) -> str:
    return "" if draw.random() < BLANK else pool[draw.integers(len(pool))]


def _gaps(share: float, *, strict: bool) -> Variant:
    """So large a share of each sparse column is blank, and of the tires' load indices."""

    def change(drawn: Drawn) -> None:
        for name, columns in SPARSE.items():
            for column in columns:
                drawn.change_column(name, column, lambda _, text: "" if drawn.draw.random() < share else text)
        drawn.change_column(
            "tires", "designation", lambda _, text: text.split()[0] if drawn.draw.random() < share else text
        )
        _idle_budget(drawn)

    return Variant(change, LOOSE, {"strict": strict})


# Nothing fits


def _no_wheel(drawn: Drawn) -> None:
    """The hub has a bolt circle that no wheel and no spacer has, a pilot larger than every bore, or short studs."""
    odd = drawn.dice.choice(({"bolt_circle": "5x205"}, {"pilot": "140 mm"}, {"stud_length": "3/4 in"}))
    for axle in ("front", "rear"):
        drawn.put(f"hub.{axle}", **odd)


def _no_tire(drawn: Drawn) -> None:
    _raise_roofs(drawn.job, -drawn.dice.randint(36, 44) / 8.0)


def _no_ratio(drawn: Drawn) -> None:
    low = drawn.dice.choice((600, 3400))
    drawn.put("targets", cruise_min=f"{low} rpm", cruise_max=f"{low + 300} rpm")


def _no_money(drawn: Drawn) -> None:
    """The budget is below the cheapest four wheels and tires, of which none are on the truck."""
    for name in ("wheels", "tires"):
        drawn.change_column(name, "on_truck", lambda _, text: "")
    _budget(100, 400)(drawn)


def _no_ballast(drawn: Drawn) -> None:
    reached = max(rear for _, rear in _loads(drawn.job)) + _ballast_reach(drawn.job)
    drawn.put("targets", rear_load=_pounds(reached + drawn.dice.randint(100, 500)))


def _no_climb(drawn: Drawn) -> None:
    """One grade is too steep for whatever is listed."""
    drawn.put("targets", **drawn.dice.choice(({"start_grade": "30 %"}, {"pull_grade": "75 %"}, {"hold_grade": "18 %"})))


# Two that do not go together


def _money_or_ballast(drawn: Drawn) -> None:
    """The budget would do without the ballast, which is dear, that the rear load needs."""
    drawn.change_column("ballast", "price", lambda at, _: f"{4000 + 50 * at}.00")
    least = min(rear for _, rear in _loads(drawn.job))
    drawn.put("targets", rear_load=_pounds(least + 0.4 * _ballast_reach(drawn.job)))
    drawn.put("money", budget=_dollars(100 * drawn.dice.randint(3600, 4000)))


def _gvwr_or_ballast(drawn: Drawn) -> None:
    """The truck's rating would do without the ballast that the rear load needs."""
    least, gross = min(rear for _, rear in _loads(drawn.job)), max(map(sum, _loads(drawn.job)))
    reach = _ballast_reach(drawn.job)
    drawn.put("targets", rear_load=_pounds(least + 0.8 * reach))
    drawn.put("truck", gvwr=_pounds(gross + 0.2 * reach))


def _cruise_or_climb(drawn: Drawn) -> None:
    """Gears that keep the engine slow at cruise do not hold the grade in the same gear."""
    drawn.put("targets", cruise_min="1200 rpm", cruise_max="1550 rpm", hold_grade="7 %")


# Ties


def _many_gears(drawn: Drawn) -> None:
    """Cruise earns nearly the same, or exactly the same, with every gear set."""
    band = drawn.dice.choice(((None, None), ("1000 rpm", "3600 rpm")))
    drawn.put("targets", cruise_min=band[0], cruise_max=band[1])
    drawn.put("scales", cruise="25,000 rpm")
    drawn.rank_by(order=["cruise", *drawn.dice.sample(("cost", "fit", "weight"), 1)])


def _all_full(drawn: Drawn) -> None:
    """Builds earn all, or nearly all, of most criteria."""
    drawn.put("scales", cost="$50,000,000", cruise="25,000 rpm", stance="700 in", weight="100,000 lb")
    drawn.put("targets", rear_load="300 lb")
    for axle in ("front", "rear"):
        drawn.put(
            f"wheelhouse.{axle}",
            **{f"clearance_{place}": "0.01 in" for place in ("inner", "outer", "top", "opening", "sweep")},
        )
        drawn.put(f"brakes.{axle}", clearance="0.01 in")
    drawn.rank_by(weights={name: drawn.dice.randint(1, 5) for name in drawn.dice.sample(CRITERIA, 3)})


def _all_nothing(drawn: Drawn) -> None:
    """Builds earn nothing, or next to nothing, of most criteria."""
    drawn.put("scales", cost="$1", cruise="1 rpm", stance="0.01 in", weight="1 lb")
    drawn.put("truck", gawr_rear="60,000 lb")
    drawn.put("targets", rear_load=None)
    drawn.change_column("wheels", "barrel_diameter_in", lambda _, text: "")
    drawn.rank_by(weights={name: drawn.dice.randint(1, 5) for name in drawn.dice.sample(CRITERIA, 3)})


# Margins, variety, ballast, driven axles


def _margins(fit: str | float, *, spare: bool) -> Variant:
    """Margins must hold as said, with a plus-or-minus on what is taped, weighed and listed."""

    def change(drawn: Drawn) -> None:
        taped, listed = drawn.dice.choice(("1/32 in", "1/16 in")), drawn.dice.choice(("1/64 in", "1/32 in"))
        drawn.put("tolerance", length=taped, mass=drawn.dice.choice(("5 lb", "10 lb")), wheel=listed)

    return Variant(change, LOOSE, {"fit": fit, "spare": spare})


def _variety(*, style: bool, line: bool, **limits: tuple[int, ...]) -> Callable[[Drawn], None]:
    """Wheels of one style, tires of one line, and how often the shortlist may repeat itself."""

    def change(drawn: Drawn) -> None:
        drawn.put("targets", same_style=style, same_line=line)
        drawn.put("shortlist", **{name: drawn.dice.choice(counts) for name, counts in limits.items()})

    return change


def _items(*counts: int) -> Callable[[Drawn], None]:
    """So many items of ballast at most, on stations that hold many, and a rear load that asks for some."""

    def change(drawn: Drawn) -> None:
        drawn.put("ballast", max_items=drawn.dice.choice(counts))
        for station in drawn.job["ballast"]["stations"]:
            station |= {"ties": 4, "tie_working_load": "500 lb", "layers": 3}
        least = min(rear for _, rear in _loads(drawn.job))
        drawn.put("targets", rear_load=_pounds(least + drawn.dice.choice((0, 40, 80, 120))))

    return change


def _both_driven(**transfer: Any) -> Callable[[Drawn], None]:
    """The front axle is driven, too; most gear sets and differentials go in either axle."""

    def change(drawn: Drawn) -> None:
        drawn.put("axle", driven="both")
        drawn.put("axle.front", ring_gear="HC-12", splines=30)
        drawn.put("transmission", **transfer)
        for name in ("ratios", "differentials"):
            places = drawn.draw.choice(("both", "both", "both", "rear", "front"), 100)
            drawn.change_column(name, "axle", lambda at, _, places=places: "both" if at < 2 else str(places[at % 100]))

    return change


FAMILIES: dict[str, tuple[Variant, Variant, Variant]] = {
    "cost, cruise or fit alone": (_alone("cost"), _alone("cruise"), _alone("fit")),
    "traction, stance or weight alone": (_alone("traction"), _alone("stance"), _alone("weight")),
    "cost, cruise or fit first": (_first("cost"), _first("cruise"), _first("fit")),
    "traction, stance or weight first": (_first("traction"), _first("stance"), _first("weight")),
    "all alike or mixed": (Variant(_alike), Variant(_mixed), Variant(_mixed)),
    "tight rooms": (Variant(_roofs(-4, -2), TIGHT), Variant(_roofs(0), TIGHT), Variant(_roofs(-6, -4), USUAL)),
    "loose rooms": (Variant(_roofs(1, 2), LOOSE), Variant(_roofs(4, 8), LOOSE), Variant(_roofs(16), (24, 32))),
    "budget": (Variant(_budget(300, 1600)), Variant(_budget(1800, 3000), LOOSE), Variant(_idle_budget)),
    "loads at the edge": (_weighed(_tight_axles), _weighed(_tight_gvwr), _weighed(_far_rear_load)),
    "grades at the edge": (_weighed(_steep_start), _weighed(_steep_pull), _weighed(_steep_hold)),
    "gaps": (_gaps(0.1, strict=False), _gaps(0.2, strict=False), _gaps(0.3, strict=False)),
    "gaps, strict": (_gaps(0.1, strict=True), _gaps(0.2, strict=True), _gaps(0.3, strict=True)),
    "no part fits": (Variant(_no_wheel, LOOSE), Variant(_no_tire, LOOSE), Variant(_no_ratio, LOOSE)),
    "no wish is met": (Variant(_no_money, LOOSE), _weighed(_no_ballast), _weighed(_no_climb)),
    "two in conflict": (_weighed(_money_or_ballast), _weighed(_gvwr_or_ballast), _weighed(_cruise_or_climb)),
    "ties": (Variant(_many_gears, LOOSE), Variant(_all_full), Variant(_all_nothing, LOOSE, {"strict": False})),
    "margins": (_margins("nominal", spare=True), _margins("worst", spare=False), _margins(0.95, spare=True)),
    "variety": (
        Variant(_variety(style=True, line=True, max_per_wheel=(1, 2, 5)), LOOSE),
        Variant(_variety(style=False, line=False, max_per_tire=(1, 3), max_layouts=(1, 2)), LOOSE, {"spare": False}),
        Variant(_variety(style=True, line=False, max_per_wheel=(2, 4), max_per_tire=(2, 4)), LOOSE, {"spare": True}),
    ),
    "ballast": (
        Variant(_items(1, 2), LOOSE, {"ballast": 2}),
        Variant(_items(6, 10, 14), LOOSE, {"ballast": 6}),
        Variant(_items(16, 20), LOOSE, {"ballast": 8}),
    ),
    "both axles driven": (
        Variant(_both_driven(transfer_case="part-time"), LOOSE),
        Variant(_both_driven(transfer_case="part-time", low_range=2.0), LOOSE),
        Variant(_both_driven(transfer_case="full-time", speed_match="2 %"), LOOSE),
    ),
}
"""Each family in its three variants, in the order in which they take turns."""

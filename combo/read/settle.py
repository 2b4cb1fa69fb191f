"""What the columns of a part say about one another: offset and backspace, designation and sizes, teeth and ratio."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from combo.formulas.ratings import SPEED_KM_H, load_of_index_kg
from combo.formulas.tire import (
    capacity_on_truck_kg,
    measuring_rim_of_flotation_mm,
    measuring_rim_of_series_mm,
    static_loaded_radius_estimate_mm,
    theoretical_rim_width_mm,
)
from combo.formulas.wheel import (
    DEFAULT_FLANGE_MM,
    backspace_from_offset_mm,
    offset_from_backspace_mm,
    overall_width_mm,
)
from combo.parts import PLACE_COLUMNS
from combo.problems import nearest
from combo.read.designation import Designation, decode
from combo.read.grid import Texts
from combo.read.lists import place_of
from combo.read.report import ListReport, Why
from combo.units import INCH_MM, UnitError, sixteenths_text

BACKSPACE_AGREEMENT_MM = 3.175  # 1/8 in: the design's limit for one clear warning
RATIO_AGREEMENT = 0.005
LOAD_AGREEMENT = 0.02  # a sidewall's pounds and the index's kilograms are rounded apart
SIZE_DISAGREEMENT = {"rim_diameter_mm": 0.001, "overall_diameter_mm": 0.03, "section_width_mm": 0.08}

PRESSURE_AGREEMENT_KPA = 5.0  # sidewalls print psi and kPa rounded apart
# Tire and Rim Association practice, from memory; the light truck figures agree with listed sidewalls: 50, 65, 80 psi.
LIGHT_TRUCK_KPA = {"B": 240.0, "C": 350.0, "D": 450.0, "E": 550.0}
PASSENGER_KPA, PASSENGER_EXTRA_KPA = 240.0, 280.0
_PASSENGER_RANGES = {"", "SL", "XL", "B", "C"}  # a D or E on a passenger size tells the pressure of that range
WIDEST_TABLED_FLOTATION_MM = 10.50 * INCH_MM  # wider flotation sizes carry their load at less, which differs by size

_SET_ASIDE: dict[str, tuple[Why, str]] = {
    "trailer": ("trailer size", "a trailer tire, not made for a truck's axles"),
    "temporary": ("temporary spare", "a temporary spare"),
}
_IS_PASSENGER = {"passenger": 1.0, "light_truck": 0.0, "commercial": 0.0}

SIZE_SLIP = 0.25  # beyond it a listed size is a slip of a digit or a unit, not another maker's measure

_EXTRA_LOAD = re.compile(r"(?<![A-Z])XL\b", re.IGNORECASE)
_NO_DESIGNATION = Designation("", float("nan"))


def settle_wheels(wheels: pd.DataFrame, report: ListReport) -> pd.DataFrame:
    """Wheels with flange, offset and backspace settled; the backspace is to the flange's edge whatever was listed.

    Where offset and backspace are listed and differ by more than 1/8 in, the row is set aside.
    """
    listed_wheels, wheels = wheels, wheels.copy()
    wheels["flange_mm"] = wheels["flange_mm"].fillna(DEFAULT_FLANGE_MM)
    is_shorthand = (wheels["backspace_basis"] == "shorthand").to_numpy()
    width, flange, listed = (wheels[name].to_numpy() for name in ("rim_width_mm", "flange_mm", "backspace_mm"))
    by_flange = np.asarray(offset_from_backspace_mm(listed, width, flange))
    by_shorthand = np.asarray(offset_from_backspace_mm(listed, width, basis="shorthand"))
    by_tape = np.where(is_shorthand, by_shorthand, by_flange)
    offset = wheels["offset_mm"].to_numpy()
    apart = np.abs(by_tape - offset) > BACKSPACE_AGREEMENT_MM + 1e-9
    for i in _once_a_row(wheels, apart):
        other = by_flange[i] if is_shorthand[i] else by_shorthand[i]
        _tell_apart(wheels.iloc[i], float(by_tape[i]), abs(other - offset[i]) <= BACKSPACE_AGREEMENT_MM, report)
    wheels["offset_mm"] = np.where(np.isnan(by_tape), offset, by_tape)
    wheels["backspace_mm"] = backspace_from_offset_mm(wheels["offset_mm"].to_numpy(), width, flange)
    _tell_impossible_backspace(wheels, listed_wheels, report)
    _tell_impossible_bores(wheels, report)
    return wheels


def settle_tires(tires: pd.DataFrame, report: ListReport) -> pd.DataFrame:
    """Tires with what their designation settles filled in where the list left it open; the list's columns win.

    `section_width_mm` and `measuring_rim_mm` of the outcome belong together: the second is the rim on which the tire
    is as wide as the first says. A row is set aside, with a notice, where its designation does not read or is that of a
    trailer tire or a temporary spare; the rows that are left keep their index.

    Adds `running_diameter_mm` (ground and gearing; `overall_diameter_mm` is for clearances), `aspect_percent`,
    `capacity_kg` (one tire, on a truck), `speed_km_h`, `is_radial` (1, 0 bias, NaN not known), and `rim_is_estimate`,
    `radius_is_estimate` and `series_is_estimate` (1 where the rim of the width is worked out, the static loaded radius
    is no declared one, or width or diameter come from a series that the size does not state).
    """
    all_decoded, wrong = _Decoded.of(tires)
    rows = _usable_rows(tires, all_decoded, wrong, report)
    listed, decoded = tires.iloc[rows].reset_index(drop=True), all_decoded.of_rows(rows)
    settled = _settled(listed, decoded, report)
    return settled if len(rows) == len(tires) else settled.set_index(tires.index[rows])


def _settled(listed: pd.DataFrame, decoded: _Decoded, report: ListReport) -> pd.DataFrame:
    """Tires that are not set aside."""
    tires = listed.copy()
    _settle_sizes(tires, listed, decoded, report)
    for column in ("construction", "service", "speed_symbol", "load_range"):
        tires[column] = tires[column].where(tires[column] != "", decoded.words(column))
    tires["speed_symbol"] = tires["speed_symbol"].str.upper()
    tires["load_index"] = tires["load_index"].fillna(decoded.sizes("load_index"))
    tires["is_radial"] = tires["construction"].map({"radial": 1.0, "bias": 0.0}).astype(float)
    _settle_rims(tires, listed, decoded, report)
    _settle_ratings(tires, listed, report)
    _settle_pressures(tires, decoded, report)
    tires["radius_is_estimate"] = tires["static_loaded_radius_mm"].isna().astype(float)
    by_size = pd.Series(static_loaded_radius_estimate_mm(tires["running_diameter_mm"].to_numpy()), index=tires.index)
    tires["static_loaded_radius_mm"] = tires["static_loaded_radius_mm"].fillna(by_size)
    return tires


def settle_ratios(ratios: pd.DataFrame, report: ListReport) -> pd.DataFrame:
    """Ratios, with declared ratio and tooth counts compared."""
    by_teeth = ratios["ring_teeth"] / ratios["pinion_teeth"]
    for i in np.flatnonzero((by_teeth - ratios["ratio"]).abs() > RATIO_AGREEMENT + 1e-9):
        row = ratios.iloc[i]
        teeth = f"{row['ring_teeth']:g} over {row['pinion_teeth']:g} teeth"
        found = f"{row['ratio']:g}, but {teeth} is {by_teeth.iloc[i]:.3f}"
        report.set_aside(
            "contradicts itself",
            place_of(row, "ratio"),
            "ratio-and-teeth",
            found,
            "the two must agree within 0.005",
            "Correct one or leave the teeth empty",
        )
    return ratios


def settle_ballast(ballast: pd.DataFrame, report: ListReport) -> pd.DataFrame:
    """Ballast of which there is no more than the supplier has."""
    return ballast.assign(max_count=np.fmin(ballast["max_count"], ballast["stock"]))


def settle_differentials(differentials: pd.DataFrame, report: ListReport) -> pd.DataFrame:
    """Differentials, with the ends of their ratio range compared."""
    for i in np.flatnonzero(differentials["ratio_min"] > differentials["ratio_max"]):
        row = differentials.iloc[i]
        report.set_aside(
            "contradicts itself",
            place_of(row, "ratio_min"),
            "range-reversed",
            f"{row['ratio_min']:g} is above {row['ratio_max']:g}",
            "the lower end first",
        )
    return differentials


def _once_a_row(wheels: pd.DataFrame, are_meant: NDArray[np.bool_]) -> NDArray[np.intp]:
    """Those of the wheels that are meant; of the steps of a row that is made to order the first alone."""
    meant = np.flatnonzero(are_meant)
    again = wheels.iloc[meant].duplicated(list(PLACE_COLUMNS)).to_numpy(dtype=bool)
    first: NDArray[np.intp] = meant[~again]
    return first


def _tell_apart(wheel: pd.Series[Any], by_tape_mm: float, other_basis_agrees: bool, report: ListReport) -> None:
    other = "flange" if wheel["backspace_basis"] == "shorthand" else "shorthand"
    hint = f'They agree with backspace_basis "{other}"' if other_basis_agrees else "Measure the wheel again"
    report.set_aside(
        "contradicts itself",
        place_of(wheel, "backspace_mm"),
        "backspace-and-offset",
        f"{wheel['sku']}: the backspace makes the offset {by_tape_mm:.1f} mm, "
        f"but {wheel['offset_mm']:.1f} mm is listed",
        f"a difference of at most {sixteenths_text(BACKSPACE_AGREEMENT_MM)} is accepted",
        hint,
    )


def _tell_impossible_bores(wheels: pd.DataFrame, report: ListReport) -> None:
    """A bore is smaller than the bolt circle around it."""
    for i in _once_a_row(wheels, wheels["hub_bore_mm"].to_numpy() >= wheels["bolt_circle_mm"].to_numpy()):
        wheel = wheels.iloc[i]
        report.set_aside(
            "contradicts itself",
            place_of(wheel, "hub_bore_mm"),
            "outside-the-wheel",
            f"{wheel['sku']}: a hub bore of {wheel['hub_bore_mm']:.1f} mm in a bolt circle of "
            f"{wheel['bolt_circle_mm']:.1f} mm",
            "a bore smaller than the bolt circle is accepted",
        )


def _tell_impossible_backspace(wheels: pd.DataFrame, listed: pd.DataFrame, report: ListReport) -> None:
    overall = np.asarray(overall_width_mm(wheels["rim_width_mm"].to_numpy(), wheels["flange_mm"].to_numpy()))
    backspace = wheels["backspace_mm"].to_numpy()
    for i in _once_a_row(wheels, (backspace < 0) | (backspace > overall)):
        wheel = wheels.iloc[i]
        report.set_aside(
            "contradicts itself",
            place_of(listed.iloc[i], "backspace_mm", "offset_mm"),
            "outside-the-wheel",
            f"{wheel['sku']}: a backspace of {sixteenths_text(backspace[i])} on a wheel "
            f"{sixteenths_text(overall[i])} over its flanges",
            "a mounting face inside the wheel is accepted",
            "Is the offset's sign right?",
        )


@dataclass(frozen=True)
class _Decoded:
    """Designations of tires, each distinct text decoded once."""

    texts: Texts
    designations: list[Designation]

    @staticmethod
    def of(tires: pd.DataFrame) -> tuple[_Decoded, list[tuple[int, UnitError]]]:
        """What each says, and the rows whose designation does not read, with what is wrong."""
        texts = Texts.from_cells(tires["designation"].to_numpy(dtype=object))
        known, wrong = texts.converted(lambda text: decode(text) if text else _NO_DESIGNATION, _NO_DESIGNATION)
        return _Decoded(texts, known), wrong

    def of_rows(self, rows: NDArray[np.int64]) -> _Decoded:
        """Those of some rows."""
        return _Decoded(Texts(self.texts.distinct, self.texts.of[rows]), self.designations)

    def sizes(self, name: str) -> pd.Series[float]:
        """A number that they settle, of each tire; NaN where its own leaves it open."""
        return pd.Series(self.texts.each([getattr(own, name) for own in self.designations], np.float64))

    def words(self, name: str) -> pd.Series[Any]:
        """A word likewise, else ""."""
        return pd.Series(self.texts.each([getattr(own, name) for own in self.designations]), dtype=object)

    def flags(self, name: str) -> NDArray[np.bool_]:
        """Which tires' designations have a property."""
        return self.texts.each([getattr(own, name) for own in self.designations], np.bool_)

    def are_extra_load(self) -> NDArray[np.bool_]:
        """Which tires say that they are XL."""
        return self.texts.each([bool(_EXTRA_LOAD.search(text)) for text in self.texts.distinct], np.bool_)


def _usable_rows(
    tires: pd.DataFrame, decoded: _Decoded, wrong: list[tuple[int, UnitError]], report: ListReport
) -> NDArray[np.int64]:
    """Rows whose designation reads, and is that of a tire for a truck."""
    service, aside = decoded.words("service"), [row for row, _ in wrong]
    for row, error in wrong:
        tire = tires.iloc[row]
        report.set_aside(
            "not understood",
            place_of(tire, "designation"),
            error.word,
            f"{tire['sku']}: {error.found}",
            error.accepted,
            error.hint,
        )
    for row in np.flatnonzero(service.isin(list(_SET_ASIDE))).tolist():
        tire = tires.iloc[row]
        why, words = _SET_ASIDE[service[row]]
        report.set_aside(
            why,
            place_of(tire, "designation"),
            "set-aside",
            f"{tire['sku']}: {tire['designation']} is {words}",
            "passenger, light truck and commercial tires are accepted",
        )
        aside.append(row)
    return np.setdiff1d(np.arange(len(tires)), np.array(aside, dtype=np.int64))


def _tell_size_apart(tires: pd.DataFrame, column: str, own: NDArray[Any], report: ListReport) -> None:
    listed = tires[column].to_numpy()
    for i in np.flatnonzero(np.abs(listed - own) > SIZE_DISAGREEMENT[column] * own):
        tire = tires.iloc[i]
        found = f"{tire['sku']}: {listed[i]:.0f} mm is listed, but {tire['designation']} says {own[i]:.0f} mm"
        if abs(listed[i] - own[i]) > SIZE_SLIP * own[i]:
            report.set_aside(
                "contradicts itself",
                place_of(tire, column),
                "size-and-designation",
                found,
                "a listed size within a quarter of the designation's is accepted",
                "Is a digit or a unit amiss?",
            )
        else:
            report.notice(place_of(tire, column), "size-and-designation", found, "the listed size is used")


def _settle_sizes(tires: pd.DataFrame, listed: pd.DataFrame, decoded: _Decoded, report: ListReport) -> None:
    """Sizes that the list leaves open; a listed diameter is the one to clear and the one that the tire runs on."""
    for column in SIZE_DISAGREEMENT:
        own = decoded.sizes(column)
        _tell_size_apart(tires, column, own.to_numpy(), report)
        tires[column] = tires[column].fillna(own)
    tires["running_diameter_mm"] = listed["overall_diameter_mm"].fillna(decoded.sizes("running_diameter_mm"))
    tires["aspect_percent"] = decoded.sizes("aspect_percent")
    is_open = listed["section_width_mm"].isna() | listed["overall_diameter_mm"].isna()
    tires["series_is_estimate"] = (decoded.flags("series_is_estimate") & is_open).astype(float)


def _settle_rims(tires: pd.DataFrame, listed: pd.DataFrame, decoded: _Decoded, report: ListReport) -> None:
    """The rim that each section width belongs to.

    A nominal metric width belongs to the theoretical rim, whatever measuring rim is listed. Widths of makers and of
    flotation sizes were taken on the measuring rim, which is worked out from the size where none is listed.
    """
    nominal, aspect = (np.asarray(decoded.sizes(name)) for name in ("section_width_mm", "aspect_percent"))
    is_nominal = decoded.flags("is_metric") & listed["section_width_mm"].isna().to_numpy()
    worked_out = np.where(
        decoded.flags("is_flotation"),
        measuring_rim_of_flotation_mm(nominal),
        measuring_rim_of_series_mm(nominal, aspect),
    )
    by_list = listed["measuring_rim_mm"].to_numpy()
    measuring = np.where(np.isnan(by_list), worked_out, by_list)
    tires["measuring_rim_mm"] = np.where(is_nominal, theoretical_rim_width_mm(nominal, aspect), measuring)
    is_worked_out = (is_nominal | np.isnan(by_list)) & tires["measuring_rim_mm"].notna().to_numpy()
    tires["rim_is_estimate"] = is_worked_out.astype(float)
    for i in np.flatnonzero(tires["rim_width_min_mm"] > tires["rim_width_max_mm"]):
        tire = tires.iloc[i]
        report.set_aside(
            "contradicts itself",
            place_of(tire, "rim_width_min_mm"),
            "range-reversed",
            f"{tire['sku']}: the narrowest approved rim is wider than the widest",
            "the narrower one first",
        )


def _settle_ratings(tires: pd.DataFrame, listed: pd.DataFrame, report: ListReport) -> None:
    by_index = np.asarray(load_of_index_kg(tires["load_index"].to_numpy()))
    by_list = tires["load_rating_kg"].to_numpy()
    _tell_loads(tires, listed, by_index, report)
    tires.loc[_tell_unknown_symbols(tires, listed, report), "speed_symbol"] = ""
    rated = np.where(np.isnan(by_list), by_index, by_list)
    is_passenger = tires["service"].map(_IS_PASSENGER)
    tires["capacity_kg"] = capacity_on_truck_kg(rated, np.asarray(is_passenger, dtype=np.float64))
    tires["speed_km_h"] = tires["speed_symbol"].map(SPEED_KM_H).astype(float)


def _settle_pressures(tires: pd.DataFrame, decoded: _Decoded, report: ListReport) -> None:
    """Pressure of the rated load where none is listed: by load range (light truck), 240 or 280 kPa (passenger).

    It stays open for all but radials of ranges up to E, and for flotation sizes of 11 in and wider.
    """
    for i in np.flatnonzero(tires["rated_pressure_kpa"] > tires["max_pressure_kpa"] + PRESSURE_AGREEMENT_KPA):
        row = tires.iloc[i]
        report.set_aside(
            "contradicts itself",
            place_of(row, "rated_pressure_kpa"),
            "above-the-sidewall",
            f"{row['rated_pressure_kpa']:.0f} kPa is above max_pressure, {row['max_pressure_kpa']:.0f} kPa",
            "a rated pressure up to the sidewall's maximum is accepted",
        )
    is_wide = decoded.flags("is_flotation") & (decoded.sizes("section_width_mm") > WIDEST_TABLED_FLOTATION_MM + 0.01)
    own = _pressure_by_marks_kpa(tires, decoded.are_extra_load()).where((tires["is_radial"] == 1.0) & ~is_wide)
    tires["rated_pressure_kpa"] = tires["rated_pressure_kpa"].fillna(own)


def _pressure_by_marks_kpa(tires: pd.DataFrame, are_extra_load: NDArray[np.bool_]) -> pd.Series[float]:
    """Pressure of a radial's rated load by service, load range and XL; NaN above range E."""
    ranges, service = tires["load_range"].str.upper(), tires["service"]
    by_range = ranges.map(LIGHT_TRUCK_KPA).astype(float)
    is_extra = (ranges == "XL") | are_extra_load
    by_kind = pd.Series(np.where(is_extra, PASSENGER_EXTRA_KPA, PASSENGER_KPA), index=tires.index)
    of_passenger = by_range.where(~ranges.isin(_PASSENGER_RANGES), by_kind)
    return by_range.where(service == "light_truck", of_passenger.where(service == "passenger"))


def _tell_loads(tires: pd.DataFrame, listed: pd.DataFrame, by_index: NDArray[np.float64], report: ListReport) -> None:
    for i in np.flatnonzero(np.isnan(by_index) & tires["load_index"].notna().to_numpy()):
        report.set_aside(
            "not understood",
            place_of(listed.iloc[i], "load_index", "designation"),
            "unknown-load-index",
            f"found {tires['load_index'].iloc[i]:g}",
            "a load index from 0 to 200 is accepted",
        )
    by_list = tires["load_rating_kg"].to_numpy()
    for i in np.flatnonzero(np.abs(by_list - by_index) > LOAD_AGREEMENT * by_index):
        tire = tires.iloc[i]
        report.set_aside(
            "contradicts itself",
            place_of(tire, "load_rating_kg"),
            "load-and-index",
            f"{tire['sku']}: load index {tire['load_index']:g} is {by_index[i]:g} kg "
            f"but the load rating says {by_list[i]:.0f} kg",
            "the two must agree within 2 %",
            "Correct one or leave one empty",
        )


def _tell_unknown_symbols(tires: pd.DataFrame, listed: pd.DataFrame, report: ListReport) -> NDArray[np.bool_]:
    """Which tires have a speed symbol that no table knows; each is told."""
    are_unknown = ((tires["speed_symbol"] != "") & ~tires["speed_symbol"].isin(list(SPEED_KM_H))).to_numpy()
    for i in np.flatnonzero(are_unknown):
        row = listed.iloc[i]
        found = row["speed_symbol"] or tires["speed_symbol"].iloc[i]
        near = nearest(found, SPEED_KM_H)
        report.notice(
            place_of(row, "speed_symbol", "designation"),
            "unknown-speed-symbol",
            f'found "{found[:80]}"',
            f"accepted are: {', '.join(SPEED_KM_H)}",
            f'The nearest is "{near}"' if near else "It is left open",
        )
    return are_unknown

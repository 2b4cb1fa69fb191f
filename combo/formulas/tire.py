"""A tire's sizes on a given rim, the load it may carry, and how it rolls."""

from __future__ import annotations

import numpy as np

from combo.formulas import Column
from combo.formulas.rounding import half_up

WIDTH_PER_RIM_WIDTH = 0.4  # K of UN Regulation No. 30, 6.1.1.1
FLOTATION_SHORTFALL_MM = 12.0  # UN Regulation No. 54, Annex 5: a listed 31x10.50R15LT is 775 mm, not 787
DEEP_TREAD_SHORTFALL_MM = 6.0  # of deep treads, which come about 6 mm larger than the listed road tread; from memory
HALF_INCH_MM = 12.7
PASSENGER_ON_TRUCK_DIVISOR = 1.10  # 49 CFR 571.110: a passenger tire on a truck carries its rating / 1.10
INCHES_PER_MILE = 63360.0


def nominal_rim_diameter_mm(code_mm: Column) -> Column:
    """Nominal rim diameter d of a code [mm]: 25.4 x code to the nearest millimeter (UN R30, table of rim diameters)."""
    return half_up(code_mm)


def overall_diameter_mm(nominal_width_mm: Column, aspect_percent: Column, rim_diameter_mm: Column) -> Column:
    """Overall diameter of a tire whose designation states an aspect ratio.

    Parameters
    ----------
    nominal_width_mm : float or ndarray, shape (n,)
        S1, nominal section width [mm].
    aspect_percent : float or ndarray, shape (n,)
        Ra, nominal aspect ratio [%].
    rim_diameter_mm : float or ndarray, shape (n,)
        25.4 x the rim diameter code [mm].

    Returns
    -------
    float or ndarray, shape (n,)
        D = d + 2 H [mm], with H = 0.01 S1 Ra to the nearest millimeter and d to the nearest millimeter.

    Notes
    -----
    UN Regulation No. 30, 6.1.2.1.

    Examples
    --------
    >>> float(overall_diameter_mm(235.0, 75.0, 381.0))
    733.0
    """
    section_height_mm = half_up(0.01 * nominal_width_mm * aspect_percent)
    return nominal_rim_diameter_mm(rim_diameter_mm) + 2.0 * section_height_mm


def flotation_diameter_mm(code_diameter_mm: Column) -> Column:
    """Listed new diameter of a flotation size, 25.4 x code - 12 mm, to the nearest millimeter (UN R54, Annex 5).

    Examples
    --------
    >>> float(flotation_diameter_mm(31 * 25.4))
    775.0
    """
    return half_up(code_diameter_mm - FLOTATION_SHORTFALL_MM)


def flotation_clearance_diameter_mm(code_diameter_mm: Column) -> Column:
    """Diameter that a flotation size must clear: 25.4 x code - 6 mm, to the nearest millimeter (from memory).

    The listed new diameter is that of a road tread; deep treads come about 6 mm larger.

    Examples
    --------
    >>> float(flotation_clearance_diameter_mm(31 * 25.4))
    781.0
    """
    return half_up(code_diameter_mm - DEEP_TREAD_SHORTFALL_MM)


def theoretical_rim_width_mm(nominal_width_mm: Column, aspect_percent: Column) -> Column:
    """Theoretical rim width A1 = x S1 [mm], on which a metric size has its nominal section width.

    Notes
    -----
    UN R30, 6.1.1.1 leaves x to the tire maker; 0.70 for aspect ratios of 50 and above is Tire and Rim Association
    practice, 0.85 below is from memory of the ETRTO Standards Manual. It is not the measuring rim, on which makers
    take the widths that they list: a 265/70R15 is 272 mm wide on its measuring rim of 8 in.
    """
    return np.where(np.isnan(aspect_percent), np.nan, np.where(aspect_percent >= 50.0, 0.70, 0.85)) * nominal_width_mm


MEASURING_RIM_SHARES = ((75.0, 0.70), (60.0, 0.75), (50.0, 0.80), (45.0, 0.85), (0.0, 0.90))
"""Lowest aspect ratio, and measuring rim as a share of the nominal width from there on: from memory, as are the listed
rims that it gives, such as 235/75R15 6.5, 265/70R16 8, 205/60R15 6, 275/55R20 8.5, 225/50R17 7, 225/45R17 7.5.
"""
FLOTATION_RIM_SHARE = 0.80  # from memory: 7.0, 7.5, 8.5, 9.0 and 10.0 in for widths of 8.50 to 12.50 in


def measuring_rim_of_series_mm(nominal_width_mm: Column, aspect_percent: Column) -> Column:
    """Measuring rim of a metric size where none is listed [mm]: a share of its nominal width, to the nearest half inch.

    Notes
    -----
    The shares are from memory, with no source at hand.

    Examples
    --------
    >>> [float(measuring_rim_of_series_mm(*size)) / 25.4 for size in ((265.0, 70.0), (225.0, 45.0))]
    [8.0, 7.5]
    """
    series = np.asarray(aspect_percent, dtype=float)
    share = np.select(
        [series >= lowest for lowest, _ in MEASURING_RIM_SHARES], [share for _, share in MEASURING_RIM_SHARES], np.nan
    )
    return _to_half_inch_mm(share * nominal_width_mm)


def measuring_rim_of_flotation_mm(section_width_mm: Column) -> Column:
    """Measuring rim of a flotation size where none is listed [mm]: 0.80 of its width, to the nearest half inch.

    Notes
    -----
    From memory; a 37x14.50R15LT is listed on 12 in and comes out half an inch below.

    Examples
    --------
    >>> float(measuring_rim_of_flotation_mm(12.5 * 25.4)) / 25.4
    10.0
    """
    return _to_half_inch_mm(FLOTATION_RIM_SHARE * section_width_mm)


def _to_half_inch_mm(width_mm: Column) -> Column:
    return half_up(width_mm / HALF_INCH_MM) * HALF_INCH_MM


def section_width_on_rim_mm(section_width_mm: Column, measuring_rim_mm: Column, rim_width_mm: Column) -> Column:
    """Section width on the fitted rim: S = S1 + K (A - A1).

    Parameters
    ----------
    section_width_mm : float or ndarray, shape (n,)
        S1, section width on the rim A1 [mm].
    measuring_rim_mm : float or ndarray, shape (n,)
        A1, the rim that S1 belongs to [mm]: the theoretical one of a nominal width, else the measuring rim.
    rim_width_mm : float or ndarray, shape (n,)
        A, fitted rim width between the bead seats [mm].

    Returns
    -------
    float or ndarray, shape (n,)
        S [mm], not rounded.

    Notes
    -----
    UN Regulation No. 30, 6.1.1.1, K = 0.4: about 5 mm of section for each half inch of rim.

    Examples
    --------
    >>> round(section_width_on_rim_mm(195.0, 136.5, 152.4), 2)
    201.36
    """
    return section_width_mm + WIDTH_PER_RIM_WIDTH * (rim_width_mm - measuring_rim_mm)


def capacity_on_truck_kg(rated_load_kg: Column, is_passenger: Column) -> Column:
    """Load one tire may carry on a truck [kg]: a passenger tire's rating is divided by 1.10 (49 CFR 571.110).

    `is_passenger` is 1 for passenger tires, 0 for light truck and commercial ones, NaN where the service is not known.

    Examples
    --------
    >>> round(float(capacity_on_truck_kg(920.0, 1.0)), 1), float(capacity_on_truck_kg(920.0, 0.0))
    (836.4, 920.0)
    """
    divisor = np.where(is_passenger == 1.0, PASSENGER_ON_TRUCK_DIVISOR, 1.0)
    return rated_load_kg / np.where(np.isnan(is_passenger), np.nan, divisor)


def rolling_radius_mm(overall_diameter_mm: Column, rolling_factor: Column = 1.0) -> Column:
    """Effective rolling radius from the overall diameter [mm]; factor 1 is the tire's free circumference.

    A loaded tire rolls less than that, by its `rolling_factor`.
    """
    return overall_diameter_mm / 2.0 * rolling_factor


ROLLING_FACTOR = {"radial": 0.97, "bias": 0.98, "": 0.975}
ROLLING_FACTOR_OFF = {"radial": 0.01, "bias": 0.01, "": 0.015}
"""Rolling radius over half the diameter, and its plus-or-minus, by construction; common practice, no source."""


def rolling_factor(is_radial: Column) -> Column:
    """Rolling radius of a loaded tire over half its diameter: 0.97 radial, 0.98 bias, 0.975 not known.

    Common practice, no source. `is_radial` is 1 radial, 0 bias, NaN not known.

    Examples
    --------
    >>> float(rolling_factor(1.0)), float(rolling_factor(0.0)), float(rolling_factor(float("nan")))
    (0.97, 0.98, 0.975)
    """
    return _by_construction(is_radial, ROLLING_FACTOR)


def rolling_factor_off(is_radial: Column) -> Column:
    """Plus-or-minus of an estimated rolling radius, as a share of it: 0.01, and 0.015 where the construction is open.

    Common practice, no source.

    Examples
    --------
    >>> float(rolling_factor_off(1.0)), float(rolling_factor_off(0.0)), float(rolling_factor_off(float("nan")))
    (0.01, 0.01, 0.015)
    """
    return _by_construction(is_radial, ROLLING_FACTOR_OFF)


def _by_construction(is_radial: Column, values: dict[str, float]) -> Column:
    known = np.where(is_radial == 1.0, values["radial"], values["bias"])
    return np.where(np.isnan(is_radial), values[""], known)


def rolling_radius_from_revs_mm(revs_per_mile: Column) -> Column:
    """Effective rolling radius [mm] from the declared revolutions per mile: 63360 in / (2 pi n).

    Examples
    --------
    >>> round(rolling_radius_from_revs_mm(801.0) / 25.4, 2)
    12.59
    """
    return INCHES_PER_MILE * 25.4 / (2.0 * np.pi * revs_per_mile)


_RADIAL_DEFLECTION = 0.035  # of the overall diameter; common practice, no source


def static_loaded_radius_estimate_mm(running_diameter_mm: Column) -> Column:
    """Static loaded radius [mm] where none is declared: D / 2 less 3.5 % of D, an estimate to be labeled as one."""
    return running_diameter_mm * (0.5 - _RADIAL_DEFLECTION)


WIDTH_ABOVE_NOMINAL = {"radial": 0.04, "bias": 0.06}  # UN R30, 6.1.4.2, from memory
HEIGHT_ABOVE_NOMINAL = {"radial": 0.04, "bias": 0.08}  # UN R30, 6.1.5: factor b 1.04 and 1.08, from memory
GROWTH_SPEED_KM_H = 160.0


def width_tolerance_mm(section_width_mm: Column, is_radial: Column) -> Column:
    """How much wider than nominal a tire may come by its standard [mm]: 4 % of S radial, 6 % bias or not known.

    Notes
    -----
    UN Regulation No. 30, 6.1.4.2 (from memory).

    Examples
    --------
    >>> float(width_tolerance_mm(235.0, 1.0)), float(width_tolerance_mm(200.0, float("nan")))
    (9.4, 12.0)
    """
    return section_width_mm * np.where(is_radial == 1.0, WIDTH_ABOVE_NOMINAL["radial"], WIDTH_ABOVE_NOMINAL["bias"])


def diameter_tolerance_mm(overall_diameter_mm: Column, rim_diameter_mm: Column, is_radial: Column) -> Column:
    """How much larger than nominal a tire may come by its standard [mm]: D_max - D = 2 H (b - 1), with 2 H = D - d.

    b is 1.04 radial, 1.08 bias or not known.

    Notes
    -----
    UN Regulation No. 30, 6.1.5 (from memory).

    Examples
    --------
    >>> float(round(diameter_tolerance_mm(733.0, 381.0, 1.0), 2))
    14.08
    """
    share = np.where(is_radial == 1.0, HEIGHT_ABOVE_NOMINAL["radial"], HEIGHT_ABOVE_NOMINAL["bias"])
    return (overall_diameter_mm - nominal_rim_diameter_mm(rim_diameter_mm)) * share


def growth_mm(overall_diameter_mm: Column, growth_share: Column, speed_km_h: Column) -> Column:
    """How much a tire's diameter grows with speed [mm]: `growth_share` of D at 160 km/h, with the square of the speed.

    Common practice, no source: the pull of rotation on the belt rises with the square of the speed.

    Examples
    --------
    >>> float(round(growth_mm(733.0, 0.005, 120.0), 2))
    2.06
    """
    return overall_diameter_mm * growth_share * np.square(speed_km_h / GROWTH_SPEED_KM_H)


LOAD_EXPONENT = {"passenger": 0.80, "light_truck": 0.70}
LOWEST_TABLED_KPA = {"passenger": 180.0, "light_truck": 240.0}
"""Where the load tables of the Tire and Rim Association begin, 26 and 35 psi, from memory: none is told below."""


def cold_pressure_kpa(load_kg: float, rated_load_kg: float, rated_pressure_kpa: float, exponent: float) -> float:
    """Lowest cold pressure at which a tire carries a load.

    Parameters
    ----------
    load_kg, rated_load_kg : float
        Load on the tire and load that it carries at its rated pressure [kg].
    rated_pressure_kpa : float
        Pressure of the rated load [kPa].
    exponent : float
        n of the relation L = L_rated (P / P_rated)^n.

    Returns
    -------
    float
        P_rated (L / L_rated)^(1 / n) [kPa]; NaN above the rated load, which no pressure carries.

    Notes
    -----
    n = 0.80 for passenger tires in metric sizes (ETRTO Standards Manual, note to the tables), 0.70 for light truck
    tires (Tire and Rim Association practice, from memory). Guidance: the maker's own table comes before it.

    Examples
    --------
    >>> round(cold_pressure_kpa(514.5, 615.0, 250.0, 0.80))
    200
    """
    if not load_kg <= rated_load_kg:
        return float("nan")
    return float(rated_pressure_kpa * (load_kg / rated_load_kg) ** (1.0 / exponent))

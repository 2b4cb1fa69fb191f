"""Statics of a two-axle truck: moments about an axle line, shares, lateral shift."""

from __future__ import annotations

import numpy as np

from combo.formulas import Column


def rear_share_kg(mass_kg: Column, station_mm: Column, wheelbase_mm: Column) -> Column:
    """What a mass puts on the rear axle.

    Parameters
    ----------
    mass_kg : float or ndarray, shape (n,)
        m [kg].
    station_mm : float or ndarray, shape (n,)
        s, along the truck from the rear axle line [mm]: ahead positive, behind negative.
    wheelbase_mm : float or ndarray, shape (n,)
        L [mm].

    Returns
    -------
    float or ndarray, shape (n,)
        m (L - s) / L [kg]; behind the axle it is more than m, and the front axle is lightened.

    Notes
    -----
    Moments about the front axle line (statics).

    Examples
    --------
    >>> rear_share_kg(100.0, 0.0, 3000.0), rear_share_kg(100.0, -600.0, 3000.0)
    (100.0, 120.0)
    """
    return mass_kg * (wheelbase_mm - station_mm) / wheelbase_mm


def front_share_kg(mass_kg: Column, station_mm: Column, wheelbase_mm: Column) -> Column:
    """What a mass puts on the front axle: m s / L [kg], negative where it lies behind the rear axle line."""
    return mass_kg * station_mm / wheelbase_mm


def lateral_shift_mm(bar_length_mm: Column, travel_mm: Column) -> Column:
    """Sideways shift of a live axle on a Panhard bar that is level at ride height: L - sqrt(L^2 - z^2) [mm].

    NaN where the travel is longer than the bar.

    Examples
    --------
    >>> round(float(lateral_shift_mm(800.0, 75.0)), 2)
    3.52
    """
    with np.errstate(invalid="ignore"):
        shift: Column = bar_length_mm - np.sqrt(np.square(bar_length_mm) - np.square(travel_mm))
    return shift


def rear_load_on_grade_kg(
    rear_kg: Column, truck_kg: Column, slope_rad: Column, height_over_wheelbase: Column
) -> Column:
    """Load square to the road on the rear axle of a truck that climbs at a steady speed, or is about to start.

    Parameters
    ----------
    rear_kg, truck_kg : float or ndarray, shape (n,)
        Loads of the rear axle and of the whole truck on the level [kg].
    slope_rad : float or ndarray, shape (n,)
        Slope of the road [rad], uphill positive.
    height_over_wheelbase : float or ndarray, shape (n,)
        h / L: height of the center of gravity over the wheelbase.

    Returns
    -------
    float or ndarray, shape (n,)
        W_r cos + W (h / L) sin [kg]. The front axle has what is left of W cos.

    Notes
    -----
    Moments about the front contact line (statics; Gillespie, Fundamentals of Vehicle Dynamics, SAE, 1992, chapter 1,
    loads on grades, from memory).

    Examples
    --------
    >>> round(float(rear_load_on_grade_kg(900.0, 2000.0, 0.1, 0.25)), 1)
    945.4
    """
    return rear_kg * np.cos(slope_rad) + truck_kg * height_over_wheelbase * np.sin(slope_rad)


def frame_rake_deg(
    present_deg: Column, front_rise_mm: Column, rear_rise_mm: Column, wheelbase_mm: Column
) -> Column:
    """Rake of the frame on new tires [deg], nose down positive: the present rake and what the hubs have risen.

    Examples
    --------
    >>> round(float(frame_rake_deg(0.5, 0.0, 25.4, 2984.5)), 2)
    0.99
    """
    tilt: Column = present_deg + np.degrees(np.arctan2(rear_rise_mm - front_rise_mm, wheelbase_mm))
    return tilt

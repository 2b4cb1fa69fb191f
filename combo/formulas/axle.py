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

"""Statics of a two-axle truck: moments about an axle line, shares, lateral shift."""

from __future__ import annotations

import numpy as np

from combo.formulas import Column
from combo.units import STANDARD_GRAVITY_M_S2


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


def lateral_shift_mm(bar_length_mm: Column, travel_mm: Column, rise_mm: Column = 0.0) -> Column:
    """Sideways shift of a live axle on a Panhard bar, as the axle travels from ride height.

    Parameters
    ----------
    bar_length_mm : float or ndarray, shape (n,)
        L, eye to eye [mm].
    travel_mm : float or ndarray, shape (n,)
        z, of the axle from ride height [mm], up positive.
    rise_mm : float or ndarray, shape (n,), default 0
        Frame end of the bar above its axle end at ride height [mm].

    Returns
    -------
    float or ndarray, shape (n,)
        sqrt(L^2 - (rise - z)^2) - sqrt(L^2 - rise^2) [mm], positive towards the bar's axle end; NaN where the bar does
        not reach.

    Notes
    -----
    Plane geometry: the bar's length stays, so its reach across the truck changes with the height between its ends.

    Examples
    --------
    >>> round(float(lateral_shift_mm(800.0, 75.0)), 2), round(float(lateral_shift_mm(800.0, 75.0, 75.0)), 2)
    (-3.52, 3.52)
    """
    with np.errstate(invalid="ignore"):
        before = np.sqrt(np.square(bar_length_mm) - np.square(rise_mm))
        shift: Column = np.sqrt(np.square(bar_length_mm) - np.square(rise_mm - travel_mm)) - before
    return shift


def tilt_rad(bump_mm: Column, droop_mm: Column, stop_distance_mm: Column) -> Column:
    """Tilt of a live axle with one wheel on its bump stop and the other at full droop [rad].

    `bump_mm` and `droop_mm` are travels at the stops, both positive. NaN where the stops are too near each other.

    Examples
    --------
    >>> round(float(np.degrees(tilt_rad(75.0, 75.0, 900.0))), 2)
    9.59
    """
    sine = np.asarray((bump_mm + droop_mm) / stop_distance_mm, dtype=float)
    return np.arcsin(np.where(sine < 1.0, sine, np.nan))


def raised_hub_mm(bump_mm: Column, tilt_rad_: Column, track_mm: Column, stop_distance_mm: Column) -> Column:
    """Travel of the raised wheel's hub, which stands outboard of its stop [mm]: bump + (track - stops) / 2 x sin tilt.

    Examples
    --------
    >>> round(float(raised_hub_mm(75.0, 0.1674, 1600.0, 900.0)), 1)
    133.3
    """
    raised: Column = bump_mm + (track_mm - stop_distance_mm) / 2.0 * np.sin(tilt_rad_)
    return raised


def lean_inboard_mm(height_mm: Column, center_mm: Column, tilt_rad_: Column, track_mm: Column) -> Column:
    """How far a point of the raised wheel moves inboard as a live axle tilts about its roll center.

    Parameters
    ----------
    height_mm : float or ndarray, shape (n,)
        z, of the point over the hub center [mm], up positive.
    center_mm : float or ndarray, shape (n,)
        e, of the roll center over the hub center [mm].
    tilt_rad_, track_mm : float or ndarray, shape (n,)
        Tilt of the axle [rad] and its track [mm].

    Returns
    -------
    float or ndarray, shape (n,)
        (z - e) sin + (track / 2)(1 - cos) [mm]. On the dropped side the same point moves outboard by (z - e) sin -
        (track / 2)(1 - cos), see `lean_outboard_mm`.

    Notes
    -----
    Plane geometry of a rigid beam turned about a point on the truck's middle.

    Examples
    --------
    >>> round(float(lean_inboard_mm(350.0, 50.0, 0.1674, 1600.0)), 1)
    61.2
    """
    inboard: Column = (height_mm - center_mm) * np.sin(tilt_rad_) + track_mm / 2.0 * (1.0 - np.cos(tilt_rad_))
    return inboard


def lean_outboard_mm(height_mm: Column, center_mm: Column, tilt_rad_: Column, track_mm: Column) -> Column:
    """How far a point of the dropped wheel moves outboard [mm]; parameters as `lean_inboard_mm`.

    Examples
    --------
    >>> round(float(lean_outboard_mm(350.0, 50.0, 0.1674, 1600.0)), 1)
    38.8
    """
    outboard: Column = (height_mm - center_mm) * np.sin(tilt_rad_) - track_mm / 2.0 * (1.0 - np.cos(tilt_rad_))
    return outboard


def deflection_mm(
    present_diameter_mm: Column, present_height_mm: Column, diameter_mm: Column, load_share: Column
) -> Column:
    """How far a new tire sinks in, after how far the present one does on the same truck.

    Parameters
    ----------
    present_diameter_mm, present_height_mm : float or ndarray, shape (n,)
        D_now of the unloaded tire and hub height on it, as measured [mm].
    diameter_mm : float or ndarray, shape (n,)
        D_new, unloaded [mm].
    load_share : float or ndarray, shape (n,)
        New load over the load when the hub height was measured.

    Returns
    -------
    float or ndarray, shape (n,)
        (D_now / 2 - height) (D_new / D_now) load_share [mm]; NaN where the present hub would
        stand above its tire's free radius.

    Notes
    -----
    Tires of one build deflect by the same part of their size under the same load, and in proportion to it (common
    practice, no source).

    Examples
    --------
    >>> [round(float(deflection_mm(740.0, 350.0, size, share)), 2) for size, share in ((740.0, 1.0), (777.0, 1.2))]
    [20.0, 25.2]
    """
    now = present_diameter_mm / 2.0 - present_height_mm
    return np.where(now >= 0, now, np.nan) * (diameter_mm / present_diameter_mm) * load_share


def sag_mm(more_kg: Column, rate_n_per_m: Column) -> Column:
    """How far a frame comes down over an axle under more sprung load [mm]: m g / k; nothing on leveled air.

    `rate_n_per_m` is that of both springs together, at the axle (statics).

    Examples
    --------
    >>> round(float(sag_mm(200 * 0.45359237, 400 / 0.0254 * 4.4482216)), 2)  # 200 lb on 400 lb/in: half an inch
    12.7
    """
    sag: Column = more_kg * STANDARD_GRAVITY_M_S2 / rate_n_per_m * 1000.0
    return sag


def front_load_on_grade_kg(
    front_kg: Column, truck_kg: Column, slope_rad: Column, height_over_wheelbase: Column
) -> Column:
    """Load square to the road on the front axle of a truck that climbs: W_f cos - W (h / L) sin [kg].

    Parameters as `rear_load_on_grade_kg`, with the load of the front axle; below zero where the front wheels lift.

    Examples
    --------
    >>> round(float(front_load_on_grade_kg(1100.0, 2000.0, 0.1, 0.25)), 1)
    1044.6
    """
    return front_kg * np.cos(slope_rad) - truck_kg * height_over_wheelbase * np.sin(slope_rad)


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


def hub_rise_mm(present_height_mm: Column, diameter_mm: Column, present_diameter_mm: Column) -> Column:
    """How much higher a hub stands on a new tire under the same load [mm]: height x (D_new / D_now - 1).

    The new tire sinks in by the same part of its size as the present one, see `deflection_mm`.

    Examples
    --------
    >>> round(float(hub_rise_mm(350.0, 777.0, 740.0)), 2)
    17.5
    """
    return present_height_mm * (diameter_mm / present_diameter_mm - 1.0)


def frame_rake_deg(present_deg: Column, front_rise_mm: Column, rear_rise_mm: Column, wheelbase_mm: Column) -> Column:
    """Rake of the frame on new tires [deg], nose down positive: the present rake and what the hubs have risen.

    Examples
    --------
    >>> round(float(frame_rake_deg(0.5, 0.0, 25.4, 2984.5)), 2)
    0.99
    """
    tilt: Column = present_deg + np.degrees(np.arctan2(rear_rise_mm - front_rise_mm, wheelbase_mm))
    return tilt

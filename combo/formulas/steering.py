"""The front tire's plan outline swept about the steering axis, lock to lock."""

from __future__ import annotations

import numpy as np

from combo.formulas import Column


def axis_inboard_mm(
    offset_mm: Column, scrub_radius_mm: Column, hub_height_mm: Column, inclination_deg: Column
) -> Column:
    """How far inboard of the mounting face the steering axis passes the height of the hub.

    Parameters
    ----------
    offset_mm : float or ndarray, shape (n,)
        ET of the wheel with which the scrub radius was measured [mm].
    scrub_radius_mm : float or ndarray, shape (n,)
        Tire's center out from the steering axis, on the ground [mm]; negative where the axis meets it outboard.
    hub_height_mm : float or ndarray, shape (n,)
        Hub center over the ground [mm].
    inclination_deg : float or ndarray, shape (n,)
        Kingpin inclination [deg]: the axis leans inboard at its top.

    Returns
    -------
    float or ndarray, shape (n,)
        ET + scrub + height x tan(inclination) [mm], positive inboard.

    Notes
    -----
    Plane geometry: the tire's center stands ET inboard of the mounting face.

    Examples
    --------
    >>> round(float(axis_inboard_mm(6.0, 40.0, 350.0, 8.0)), 1)
    95.2
    """
    return offset_mm + scrub_radius_mm + hub_height_mm * np.tan(np.radians(inclination_deg))


def scrub_radius_mm(
    axis_inboard_mm: Column, offset_mm: Column, hub_height_mm: Column, inclination_deg: Column
) -> Column:
    """How far the tire's center stands out from the steering axis, on the ground.

    Parameters as for `axis_inboard_mm`, with the offset and the hub height of the new wheel and tire.

    Returns
    -------
    float or ndarray, shape (n,)
        axis inboard - ET - height x tan(inclination) [mm]; positive where the tire's center is outboard.

    Examples
    --------
    >>> round(float(scrub_radius_mm(95.2, 6.0, 350.0, 8.0)), 1)
    40.0
    """
    return axis_inboard_mm - offset_mm - hub_height_mm * np.tan(np.radians(inclination_deg))


def sweep_along_mm(
    axis_inboard_mm: Column, offset_mm: Column, section_width_mm: Column, overall_diameter_mm: Column, lock_deg: Column
) -> Column:
    """Farthest that the tire's plan outline comes ahead (and, as it is even, behind) of the axle line in its sweep.

    Parameters
    ----------
    axis_inboard_mm : float or ndarray, shape (n,)
        Steering axis inboard of the mounting face, at the height of the hub [mm].
    offset_mm, section_width_mm, overall_diameter_mm : float or ndarray, shape (n,)
        ET over the spacer, S and D [mm]. The outline is the rectangle S by D about the tire's center.
    lock_deg : float or ndarray, shape (n,)
        Largest steering angle to either side [deg], 0 to 90.

    Returns
    -------
    float or ndarray, shape (n,)
        The larger of y cos(a) + x sin(a) over both corners and all a up to the lock [mm]: x the corner's distance from
        the axis sideways, y = D / 2. It is the corner's distance from the axis, where the lock lets it get that far.

    Notes
    -----
    Plane geometry; a corner is farthest ahead at the angle atan(x / y). The corners of a real tire are round, so this
    is on the safe side.

    Examples
    --------
    >>> round(float(sweep_along_mm(95.0, 6.0, 235.0, 733.0, 32.0)), 1)
    420.7
    """
    side_mm = np.abs(axis_inboard_mm - offset_mm) + section_width_mm / 2.0
    return corner_along_mm(side_mm, overall_diameter_mm / 2.0, lock_deg)


def corner_along_mm(side_mm: Column, half_mm: Column, lock_deg: Column) -> Column:
    """Farthest along of one corner, `side_mm` sideways and `half_mm` along from the axis, steered towards it [mm].

    Where the corner lies on the other side (below zero) straight ahead is its farthest.

    Examples
    --------
    >>> round(float(corner_along_mm(300.0, 400.0, 90.0))), float(corner_along_mm(-300.0, 400.0, 30.0))
    (500, 400.0)
    """
    angle = np.clip(np.arctan2(side_mm, half_mm), 0.0, np.radians(lock_deg))
    along: Column = half_mm * np.cos(angle) + side_mm * np.sin(angle)
    return along


def sweep_inward_mm(
    axis_inboard_mm: Column, offset_mm: Column, section_width_mm: Column, overall_diameter_mm: Column, lock_deg: Column
) -> Column:
    """Farthest inboard of the mounting face that the tire's inner edge comes in its sweep [mm].

    Parameters and returns as `sweep_along_mm`. The inner corner stands x = S / 2 - (axis - ET) inboard of the axis and
    y = D / 2 along; at an angle a it reaches x cos(a) + y sin(a) inboard of it, most at atan(y / x).

    Examples
    --------
    >>> round(float(sweep_inward_mm(95.0, 6.0, 235.0, 733.0, 32.0)), 1)
    313.4
    """
    inner_mm = section_width_mm / 2.0 - (axis_inboard_mm - offset_mm)
    half_mm = overall_diameter_mm / 2.0
    angle = np.minimum(np.arctan2(half_mm, inner_mm), np.radians(lock_deg))
    inward: Column = axis_inboard_mm + inner_mm * np.cos(angle) + half_mm * np.sin(angle)
    return inward

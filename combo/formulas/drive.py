"""Engine speed on the road, and the thrust that the drive wheels can put down."""

from __future__ import annotations

import numpy as np

from combo.formulas import Column

KM_H_PER_M_S = 3.6


def engine_rpm(
    speed_km_h: Column, rolling_radius_mm: Column, gear_ratio: Column, axle_ratio: Column, slip: Column = 0.0
) -> Column:
    """Engine speed at a road speed.

    Parameters
    ----------
    speed_km_h : float or ndarray, shape (n,)
        v [km/h].
    rolling_radius_mm : float or ndarray, shape (n,)
        r, effective rolling radius of the driven tire [mm].
    gear_ratio, axle_ratio : float or ndarray, shape (n,)
        i_g of the transmission's gear (below 1 in overdrive) and i_axle.
    slip : float or ndarray, shape (n,), default 0
        Slip of the converter as a share; 0 when locked or with a clutch.

    Returns
    -------
    float or ndarray, shape (n,)
        n = v / (2 pi r) x 60 x i_g x i_axle x (1 + slip) [rpm].

    Notes
    -----
    Kinematics. The handbook form rpm = mph x ratio x 336 / D follows for r = D / 2: 5280 x 12 / (60 pi) = 336.1.

    Examples
    --------
    >>> round(engine_rpm(60 * 1.609344, 14 * 25.4, 1.0, 3.73))
    2687
    """
    wheel_rev_per_s = speed_km_h / KM_H_PER_M_S / (2.0 * np.pi * rolling_radius_mm / 1000.0)
    return wheel_rev_per_s * 60.0 * gear_ratio * axle_ratio * (1.0 + slip)


def grip_factor(
    kind: str, friction_low: float, friction_high: float, height_over_wheelbase: float, bias_ratio: float = float("nan")
) -> float:
    """Thrust that the rear wheels can put down, as a share of the static load on the rear axle, on the level.

    Parameters
    ----------
    kind : {"open", "limited_slip", "locked"}
        The differential.
    friction_low, friction_high : float
        mu under the wheel that has less and the one that has more.
    height_over_wheelbase : float
        h / L: height of the truck's center of gravity over its wheelbase.
    bias_ratio : float
        Torque bias ratio of a limited slip: the high side may carry that many times the low side's torque.

    Returns
    -------
    float
        a / (1 - a h / L) with a = F / W_r under thrust: mu_low (open), (1 + bias) mu_low / 2 (limited slip),
        (mu_low + mu_high) / 2 (locked), never more than the last. NaN for a limited slip without a bias ratio.

    Raises
    ------
    ValueError
        If `kind` is none of the three.

    Notes
    -----
    Moments about the front contact line: W_r = W_r0 + F h / L (Gillespie, Fundamentals of Vehicle Dynamics, SAE,
    1992, chapter 2, from memory; derived again in the tests). Preload is left out, so a limited slip is understated.

    Examples
    --------
    >>> round(1850 * grip_factor("locked", 0.62, 0.62, 21 / 108))  # lbf
    1304
    """
    both_sides = (friction_low + friction_high) / 2.0
    if kind == "open":
        share = friction_low
    elif kind == "limited_slip":
        share = float(np.minimum((1.0 + bias_ratio) * friction_low / 2.0, both_sides))
    elif kind == "locked":
        share = both_sides
    else:
        raise ValueError(f'differential "{kind}" is none of "open", "limited_slip" and "locked"')
    return share / (1.0 - share * height_over_wheelbase)

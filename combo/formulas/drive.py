"""Engine speed on the road, and the thrust that the drive wheels can put down."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from combo.formulas import Column
from combo.units import STANDARD_GRAVITY_M_S2

KM_H_PER_M_S = 3.6
FRICTION_DRY = 0.9
"""Under both wheels on dry road, for the torque that an axle must bear; from memory."""
AIR_DENSITY_KG_M3 = 1.225  # ISO 2533 standard atmosphere at sea level
TUBE_METALS = {"steel": (200.0, 7850.0), "aluminum": (69.0, 2700.0)}
"""Modulus of elasticity [GPa] and density [kg/m3] of driveshaft tubes; handbook values, from memory."""


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
        Slip of the converter, 1 - turbine speed / engine speed; 0 when locked or with a clutch.

    Returns
    -------
    float or ndarray, shape (n,)
        n = v / (2 pi r) x 60 x i_g x i_axle / (1 - slip) [rpm].

    Notes
    -----
    Kinematics. The handbook form rpm = mph x ratio x 336 / D follows for r = D / 2: 5280 x 12 / (60 pi) = 336.1.

    Examples
    --------
    >>> round(engine_rpm(60 * 1.609344, 14 * 25.4, 1.0, 3.73))
    2687
    """
    wheel_rev_per_s = speed_km_h / KM_H_PER_M_S / (2.0 * np.pi * rolling_radius_mm / 1000.0)
    return wheel_rev_per_s * 60.0 * gear_ratio * axle_ratio / (1.0 - slip)


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
    1992, chapter 2, from memory; derived again in the tests). Preload is left out: it adds to the thrust itself.

    Examples
    --------
    >>> round(1850 * grip_factor("locked", 0.62, 0.62, 21 / 108))  # lbf
    1304
    """
    share = float(start_share(low_side_share(kind, bias_ratio), friction_low, friction_high, 0.0))
    return share / (1.0 - share * height_over_wheelbase)


def low_side_share(kind: str, bias_ratio: float = float("nan")) -> float:
    """Thrust of both drive wheels over the grip of the side that has less: 2 open, 1 + bias ratio limited slip.

    A locked differential has no such end: infinite.

    Raises
    ------
    ValueError
        If `kind` is none of "open", "limited_slip" and "locked".

    Examples
    --------
    >>> low_side_share("open"), low_side_share("limited_slip", 3.0), low_side_share("locked")
    (2.0, 4.0, inf)
    """
    known = {"open": 2.0, "limited_slip": 1.0 + bias_ratio, "locked": float("inf")}
    if kind not in known:
        raise ValueError(f'differential "{kind}" is none of "open", "limited_slip" and "locked"')
    return known[kind]


def start_share(low_side: Column, friction_low: Column, friction_high: Column, lever: Column) -> Column:
    """Thrust of both drive wheels as a share of the load square to the road under them, preload apart.

    Parameters
    ----------
    low_side : float or ndarray, shape (n,)
        As `low_side_share` has it.
    friction_low, friction_high : float or ndarray, shape (n,)
        mu under the wheel that has less and the one that has more.
    lever : float or ndarray, shape (n,)
        As for `lift_divisor`; 0 without a live axle.

    Returns
    -------
    float or ndarray, shape (n,)
        low_side x mu_low / 2 over what the driveshaft's torque divides it by, never more than the mean of both sides.

    Examples
    --------
    >>> round(float(start_share(4.0, 0.1, 0.35, 0.0)), 3), round(float(start_share(2.0, 0.1, 0.35, 0.06)), 4)
    (0.2, 0.0988)
    """
    both_sides = np.asarray((friction_low + friction_high) / 2.0)
    by_low = low_side * friction_low / 2.0 / lift_divisor(low_side, friction_low, lever)
    share: Column = np.where(np.isposinf(low_side), both_sides, np.minimum(by_low, both_sides))
    return share


def lift_divisor(low_side: Column, friction_low: Column, lever: Column) -> Column:
    """What the driveshaft's torque divides a start's thrust by, on a live axle.

    Parameters
    ----------
    low_side : float or ndarray, shape (n,)
        Thrust of both wheels over the grip of the low side (`low_side_share`).
    friction_low : float or ndarray, shape (n,)
        mu under that side.
    lever : float or ndarray, shape (n,)
        r / (i_axle x track), times the part of the torque that the rear springs do not take back.

    Returns
    -------
    float or ndarray, shape (n,)
        1 + low_side x mu x lever.

    Notes
    -----
    The driveshaft turns the axle against its springs and takes W_y = F r / (i_axle x track) off one wheel (Gillespie,
    Fundamentals of Vehicle Dynamics, SAE, 1992, chapter 2, from memory). With F = low_side x mu (W / 2 - W_y) + P the
    thrust is (low_side x mu W / 2 + P) over this. With rear springs that have the share s of the roll stiffness, the
    body's roll gives s of it back.

    Examples
    --------
    >>> [round(float(lift_divisor(2.0, friction, 0.36 / (3.73 * 1.6))), 4) for friction in (0.1, 0.7)]
    [1.0121, 1.0845]
    """
    finite = np.where(np.isposinf(low_side), 0.0, low_side)
    return 1.0 + finite * friction_low * lever


def preload_thrust_kg(preload_n_m: Column, radius_mm: Column, lifts: Column) -> Column:
    """Thrust that the preload of a limited slip adds, as a mass under standard gravity [kg]: preload / (r g), over what
    the driveshaft's torque divides it by (`lift_divisor`); statics.

    Examples
    --------
    >>> round(float(preload_thrust_kg(135.0, 360.0, 1.0)), 2)
    38.24
    """
    return preload_n_m / (radius_mm / 1000.0) / STANDARD_GRAVITY_M_S2 / lifts


def steepest_start(
    rear_kg: Column,
    truck_kg: Column,
    share: Column,
    preload_kg: Column,
    height_over_wheelbase: Column,
    resistance: Column,
    towed_kg: Column = 0.0,
    front_share: Column = 0.0,
) -> Column:
    """Steepest grade that the grip of the driven wheels lets a truck start on.

    Parameters
    ----------
    rear_kg, truck_kg : float or ndarray, shape (n,)
        Loads of the rear axle and of the whole truck on the level [kg].
    share : float or ndarray, shape (n,)
        a, thrust over the load square to the road (`start_share`).
    preload_kg : float or ndarray, shape (n,)
        Thrust that the preload of a limited slip adds, as a mass under standard gravity [kg].
    height_over_wheelbase : float or ndarray, shape (n,)
        h / L.
    resistance : float or ndarray, shape (n,)
        Rolling resistance over load.
    towed_kg : float or ndarray, shape (n,), default 0
        W_t, what stands on a trailer's own wheels [kg].
    front_share : float or ndarray, shape (n,), default 0
        a_f, as `share` of the front axle, where it is driven.

    Returns
    -------
    float or ndarray, shape (n,)
        Rise over run; below zero where the truck does not even start on the level; infinite where grip grows faster
        with the slope than the pull of gravity.

    Notes
    -----
    a (W_r cos + W (h / L) sin) + a_f (W_f cos - W (h / L) sin) + P = (W + W_t) (sin + f cos) (statics on a grade,
    Gillespie, chapter 1). With A = a W_r + a_f W_f - f (W + W_t) and B = W (1 - (a - a_f) h / L) + W_t: A cos + P = B
    sin, hence the slope is atan2(A, B) + asin(P / sqrt(A^2 + B^2)). What a trailer pulls up at the height of the hitch
    adds to the rear load and is left out: on the safe side.

    Examples
    --------
    >>> round(float(steepest_start(900.0, 2000.0, 0.3, 0.0, 0.25, 0.015)), 4)
    0.1297
    """
    along = share * rear_kg + front_share * (truck_kg - rear_kg) - resistance * (truck_kg + towed_kg)
    across = truck_kg * (1.0 - (share - front_share) * height_over_wheelbase) + towed_kg
    with np.errstate(invalid="ignore"):
        slope = np.arctan2(along, across) + np.arcsin(np.minimum(preload_kg / np.hypot(along, across), 1.0))
    steepest: Column = np.where(slope >= np.pi / 2.0, np.inf, np.tan(np.minimum(slope, 1.57)))
    return steepest


def mass_started_kg(
    rear_kg: Column,
    truck_kg: Column,
    share: Column,
    preload_kg: Column,
    height_over_wheelbase: Column,
    resistance: Column,
    grade: Column,
    front_share: Column = 0.0,
) -> Column:
    """Heaviest truck, with its trailer, that the grip of the driven wheels moves off up a grade, with the loads given.

    Parameters as `steepest_start`; `grade` is rise over run.

    Returns
    -------
    float or ndarray, shape (n,)
        (a (W_r cos + W (h / L) sin) + a_f (W_f cos - W (h / L) sin) + P) / (sin + f cos) [kg].

    Examples
    --------
    >>> round(float(mass_started_kg(900.0, 2000.0, 0.3, 0.0, 0.25, 0.015, 0.1297)))
    2000
    """
    slope = np.arctan(grade)
    on_rear = rear_kg * np.cos(slope) + truck_kg * height_over_wheelbase * np.sin(slope)
    on_front = truck_kg * np.cos(slope) - on_rear
    started: Column = (share * on_rear + front_share * on_front + preload_kg) / resistance_on_grade(grade, resistance)
    return started


def thrust_n(
    torque_n_m: Column, gear_ratio: Column, axle_ratio: Column, efficiency: Column, radius_mm: Column
) -> Column:
    """Thrust at the road [N]: torque x i_g x i_axle x efficiency / r.

    Examples
    --------
    >>> round(float(thrust_n(400.0, 3.0, 3.73, 0.85, 360.0)))
    10568
    """
    return torque_n_m * gear_ratio * axle_ratio * efficiency / (radius_mm / 1000.0)


def axle_speed_ratio(
    front_ratio: Column, front_radius_mm: Column, rear_ratio: Column, rear_radius_mm: Column
) -> Column:
    """How far the rear axle moves along the road for a turn of the driveshafts, over how far the front one does:
    (i_f / r_f) / (i_r / r_r) (kinematics).

    Examples
    --------
    >>> axle_speed_ratio(4.10, 370.0, 4.10, 370.0), round(axle_speed_ratio(4.10, 366.3, 4.10, 370.0), 4)
    (1.0, 1.0101)
    """
    return front_ratio / front_radius_mm / (rear_ratio / rear_radius_mm)


def gripped_torque_n_m(rear_kg: Column, friction: float, height_over_wheelbase: float, radius_mm: Column) -> Column:
    """Torque at the ring gear that the rear tires' grip can take up on the level, both wheels on the same ground.

    Parameters
    ----------
    rear_kg : float or ndarray, shape (n,)
        Load of the rear axle at rest [kg].
    friction : float
        mu under both wheels.
    height_over_wheelbase : float
        h / L.
    radius_mm : float or ndarray, shape (n,)
        Rolling radius [mm].

    Returns
    -------
    float or ndarray, shape (n,)
        mu W_r g r / (1 - mu h / L) [N m], with the load that the thrust moves to the rear; a shock is not in it.

    Notes
    -----
    Moments about the front contact line, as `grip_factor`.

    Examples
    --------
    >>> round(float(gripped_torque_n_m(1000.0, 0.9, 0.25, 360.0)))
    4100
    """
    thrust_kg = friction * rear_kg / (1.0 - friction * height_over_wheelbase)
    return thrust_kg * STANDARD_GRAVITY_M_S2 * radius_mm / 1000.0


def drag_n(speed_km_h: Column, drag_coefficient: Column, frontal_area_m2: Column) -> Column:
    """Air drag [N]: 0.5 C rho A v^2 (OpenStax, University Physics, volume 1, chapter 6), rho = 1.225 kg/m3.

    Examples
    --------
    >>> round(float(drag_n(100.0, 0.5, 3.0)))
    709
    """
    drag: Column = 0.5 * AIR_DENSITY_KG_M3 * drag_coefficient * frontal_area_m2 * np.square(speed_km_h / KM_H_PER_M_S)
    return drag


def resistance_on_grade(grade: Column, resistance: Column) -> Column:
    """Pull of gravity and rolling resistance on a grade, over the truck's weight: sin + f cos, grade rise over run.

    Examples
    --------
    >>> round(float(resistance_on_grade(0.20, 0.015)), 4)
    0.2108
    """
    slope = np.arctan(grade)
    pull: Column = np.sin(slope) + resistance * np.cos(slope)
    return pull


def torque_at_n_m(rpm: Column, curve_rpm: NDArray[np.float64], curve_n_m: NDArray[np.float64]) -> Column:
    """Torque at an engine speed [N m], by straight lines between the points of the curve; NaN outside of it.

    The engine's own torque: a converter at stall multiplies it, a clutch does not.

    Examples
    --------
    >>> float(torque_at_n_m(1500.0, np.array([1000.0, 2000.0]), np.array([300.0, 400.0])))
    350.0
    """
    if not len(curve_rpm):
        return np.full(np.shape(rpm), np.nan)
    torque: Column = np.interp(rpm, curve_rpm, curve_n_m, left=np.nan, right=np.nan)
    return torque


def critical_speed_rpm(
    length_mm: Column, diameter_mm: Column, wall_mm: Column, modulus_gpa: Column, density_kg_m3: Column
) -> Column:
    """First critical speed of a tube between two joints.

    Parameters
    ----------
    length_mm, diameter_mm, wall_mm : float or ndarray, shape (n,)
        Between joint centers, outside, and wall thickness [mm].
    modulus_gpa, density_kg_m3 : float or ndarray, shape (n,)
        E [GPa] and density [kg/m3] of the metal.

    Returns
    -------
    float or ndarray, shape (n,)
        (60 / 2 pi) (pi / l)^2 sqrt(E I / m') [rpm].

    Notes
    -----
    Simply supported uniform beam (the form of the critical speed formulas in Machinery's Handbook). Lumping the mass
    at midspan gives a speed some 30 % lower.

    Examples
    --------
    >>> round(float(critical_speed_rpm(48 * 25.4, 3 * 25.4, 0.125 * 25.4, 200.0, 7850.0)))
    8271
    """
    outer_m, inner_m = diameter_mm / 1000.0, (diameter_mm - 2.0 * wall_mm) / 1000.0
    gyration_m = np.hypot(outer_m, inner_m) / 4.0
    stiffness_m_s = np.sqrt(modulus_gpa * 1e9 / density_kg_m3)
    bending = np.square(np.pi / (length_mm / 1000.0))
    turns: Column = 60.0 / (2.0 * np.pi) * bending * gyration_m * stiffness_m_s
    return turns


def speedometer_error(
    ratio: Column,
    revs_per_mile: Column,
    present_ratio: Column,
    present_revs_per_mile: Column,
    driven_teeth: Column,
    present_driven_teeth: Column,
) -> Column:
    """Indicated over true speed, less one, of a speedometer driven off the transmission's output.

    Parameters
    ----------
    ratio, revs_per_mile : float or ndarray, shape (n,)
        Axle ratio and tire revolutions per mile of the build.
    present_ratio, present_revs_per_mile : float or ndarray, shape (n,)
        Those for which the speedometer is right with its present driven gear.
    driven_teeth, present_driven_teeth : float or ndarray, shape (n,)
        Teeth of the driven gear fitted, and of the present one; more teeth turn the cable slower.

    Returns
    -------
    float or ndarray, shape (n,)
        Positive where it reads too high (kinematics).

    Examples
    --------
    >>> round(float(speedometer_error(4.10, 720.0, 3.42, 760.0, 20, 18)), 4)
    0.0222
    """
    shaft = ratio * revs_per_mile / (present_ratio * present_revs_per_mile)
    return shaft * present_driven_teeth / driven_teeth - 1.0

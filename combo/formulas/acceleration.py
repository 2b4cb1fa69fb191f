"""Time to a speed: an estimate by integration over the torque curve."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from combo.formulas.drive import KM_H_PER_M_S, drag_n, thrust_n, torque_at_n_m

GRAVITY_M_S2 = 9.80665
_STEP_M_S = 0.05
_POINTS = 2_000
_TURNING_PARTS = 1.04  # wheels and axle, as a share of the truck's mass; common practice, no source
_LAUNCH_SHARE = 0.5  # of the redline: below it the clutch or converter lets the engine turn at least so fast


@dataclass(frozen=True)
class Launch:
    """What a start depends on.

    Loads in kg, radius in mm, speeds in rpm, torque in N m, shift time in s. `grip` is thrust over the static rear
    load with load transfer (`grip_factor`).
    """

    truck_kg: float
    rear_kg: float
    grip: float
    radius_mm: float
    axle_ratio: float
    gears: tuple[float, ...]
    efficiency: float
    redline_rpm: float
    curve_rpm: NDArray[np.float64]
    curve_n_m: NDArray[np.float64]
    resistance: float
    drag_coefficient: float
    frontal_area_m2: float
    shift_time_s: float


def time_to_speed_s(launch: Launch, speed_km_h: float) -> float:
    """Time from rest to a speed on the level, full throttle, an estimate.

    Returns
    -------
    float
        Seconds; NaN where an input is absent, infinite where the speed is out of reach.

    Notes
    -----
    dt = m' dv / F in steps of 0.05 m/s, F the lesser of grip and engine thrust in the gear that pulls hardest without
    passing the redline, less rolling resistance and drag; m' adds 4 % for turning parts. Each upshift costs the shift
    time without thrust. Wheel slip, converter and weather are left out.

    Examples
    --------
    >>> curve = np.array([1000.0, 5000.0]), np.array([1e6, 1e6])
    >>> slick = Launch(1000.0, 500.0, 0.5, 350.0, 4.0, (3.0, 1.0), 1.0, 5000.0, *curve, 0.0, 0.0, 1.0, 0.0)
    >>> round(time_to_speed_s(slick, 36.0), 2)  # grip alone: 10 m/s at 1.04 x 4 / g
    4.24
    """
    if not _is_known(launch) or np.isnan(speed_km_h):
        return float("nan")
    speeds = np.arange(_STEP_M_S / 2.0, speed_km_h / KM_H_PER_M_S, _STEP_M_S)
    thrust, gear = _thrust_and_gear(launch, speeds)
    resistance = launch.truck_kg * GRAVITY_M_S2 * launch.resistance
    drag = drag_n(speeds * KM_H_PER_M_S, launch.drag_coefficient, launch.frontal_area_m2)
    force = thrust - resistance - drag
    if (force <= 0.0).any():
        return float("inf")
    driving = (launch.truck_kg * _TURNING_PARTS * _STEP_M_S / force).sum()
    return float(driving + np.count_nonzero(np.diff(gear)) * launch.shift_time_s)


def top_speed(launch: Launch) -> tuple[float, float, str] | None:
    """The highest speed on the level that the engine holds in any gear.

    Returns
    -------
    (float, float, str) or None
        Speed [km/h], the gear's ratio, and what holds it there: "power", "redline" or "the torque curve's end". None
        where an input is absent, or no gear holds any speed of the curve.

    Notes
    -----
    Full throttle against rolling resistance and drag, without slip, at 2,000 points of each gear's engine speeds.

    Examples
    --------
    >>> curve = np.array([1000.0, 5000.0]), np.array([300.0, 300.0])
    >>> truck = Launch(2000.0, 900.0, 0.7, 350.0, 4.0, (1.0,), 0.85, 4000.0, *curve, 0.015, 0.5, 3.0, 0.0)
    >>> [round(x) if isinstance(x, float) else x for x in top_speed(truck)]  # 2914 N at most, and 2 pi 0.35 / 4 a turn
    [132, 1, 'redline']
    """
    if not _is_known(launch):
        return None
    least, most = float(launch.curve_rpm.min()), float(min(launch.curve_rpm.max(), launch.redline_rpm))
    rpm = np.linspace(least, most, _POINTS)
    best: tuple[float, float, str] | None = None
    for gear in launch.gears:
        speed = rpm / 60.0 * 2.0 * np.pi * launch.radius_mm / 1000.0 / (launch.axle_ratio * gear) * KM_H_PER_M_S
        torque = torque_at_n_m(rpm, launch.curve_rpm, launch.curve_n_m)
        pulls = thrust_n(torque, gear, launch.axle_ratio, launch.efficiency, launch.radius_mm)
        needs = launch.truck_kg * GRAVITY_M_S2 * launch.resistance
        holds = np.flatnonzero(pulls >= needs + drag_n(speed, launch.drag_coefficient, launch.frontal_area_m2))
        if len(holds) and (best is None or speed[holds[-1]] > best[0]):
            end = "redline" if most == launch.redline_rpm else "the torque curve's end"
            best = float(speed[holds[-1]]), gear, end if holds[-1] == len(rpm) - 1 else "power"
    return best


def _is_known(launch: Launch) -> bool:
    """Whether every input is given: each number, a gear at least, and a torque curve."""
    sizes = [np.asarray(getattr(launch, field.name), dtype=float) for field in dataclasses.fields(launch)]
    return all(size.size > 0 and not np.isnan(size).any() for size in sizes)


def _thrust_and_gear(launch: Launch, speeds: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Largest thrust at each speed [N] and the position of its gear; no thrust where all gears pass the redline."""
    ratios = np.array(launch.gears, dtype=float)[:, np.newaxis]
    turns = speeds / (2.0 * np.pi * launch.radius_mm / 1000.0) * 60.0 * launch.axle_ratio * ratios
    slowest = max(_LAUNCH_SHARE * launch.redline_rpm, float(launch.curve_rpm.min()))
    engine = np.where(ratios == ratios.max(), np.maximum(turns, slowest), turns)
    torque = torque_at_n_m(engine, launch.curve_rpm, launch.curve_n_m)
    pulls = thrust_n(torque, ratios, launch.axle_ratio, launch.efficiency, launch.radius_mm)
    usable = np.where((turns <= launch.redline_rpm) & ~np.isnan(pulls), pulls, 0.0)
    gear = np.argmax(usable, axis=0)
    grip = launch.rear_kg * GRAVITY_M_S2 * launch.grip
    return np.minimum(usable.max(axis=0), grip), gear

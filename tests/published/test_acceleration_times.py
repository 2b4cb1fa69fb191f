"""Shortest time to a speed on grip alone.

The published figures leave turning parts out, which the estimate counts as 4 % more mass: its time is divided by 1.04.
"""

import numpy as np
import pytest
from figures import half_last_digit, rows

from combo.formulas.acceleration import Launch, time_to_speed_s

TURNING_PARTS = 1.04
CURVE_RPM, CURVE_N_M = np.array([500.0, 5000.0]), np.array([1e6, 1e6])  # grip is always the lesser


@pytest.mark.parametrize("row", rows("acceleration_times.csv"), ids=lambda row: row["case"])
def test_shortest_time_to_a_speed_is_the_published_one(row):
    launch = Launch(
        truck_kg=2000.0,
        rear_kg=2000.0 * float(row["rear_share"]),
        grip=float(row["mu"]),
        radius_mm=360.0,
        axle_ratio=3.73,
        gears=(3.0, 1.0),
        efficiency=0.85,
        redline_rpm=5000.0,
        curve_rpm=CURVE_RPM,
        curve_n_m=CURVE_N_M,
        resistance=0.0,
        drag_coefficient=0.0,
        frontal_area_m2=3.0,
        shift_time_s=0.0,
    )
    time_s = time_to_speed_s(launch, float(row["speed_km_h"])) / TURNING_PARTS
    assert time_s == pytest.approx(float(row["value"]), abs=half_last_digit(row["value"]))

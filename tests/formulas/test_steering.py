"""The front tire's plan outline in its sweep, lock to lock."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from combo.formulas.steering import axis_inboard_mm, sweep_along_mm, sweep_inward_mm

AXIS = st.floats(min_value=0, max_value=250)
OFFSET = st.floats(min_value=-80, max_value=80)
SECTION = st.floats(min_value=150, max_value=400)
DIAMETER = st.floats(min_value=550, max_value=1000)
LOCK = st.floats(min_value=0, max_value=60)
OUTLINE = {"axis": AXIS, "offset": OFFSET, "section": SECTION, "diameter": DIAMETER}
GRID = 2001
MISS = 1e-3  # mm, of a grid this fine: half a meter times half of the squared half step


def corners(axis, offset, section, diameter):
    """Corners of the outline about the steering axis: inboard, along [mm]."""
    return [(side * section / 2.0 + offset - axis, end * diameter / 2.0) for side in (-1, 1) for end in (-1, 1)]


def farthest(axis, offset, section, diameter, lock):
    """Farthest along, and farthest inboard of the mounting face, of every corner at every angle of the grid."""
    angles = np.radians(np.linspace(-lock, lock, GRID))
    at = corners(axis, offset, section, diameter)
    along = max(float((y * np.cos(angles) - x * np.sin(angles)).max()) for x, y in at)
    inward = max(float((x * np.cos(angles) + y * np.sin(angles)).max()) for x, y in at)
    return along, axis + inward


@given(**OUTLINE, lock=LOCK)
def test_sweep_along_is_the_farthest_corner_of_a_fine_grid_of_angles(axis, offset, section, diameter, lock):
    along, _ = farthest(axis, offset, section, diameter, lock)
    assert float(sweep_along_mm(axis, offset, section, diameter, lock)) == pytest.approx(along, abs=MISS)


@given(**OUTLINE, lock=LOCK)
def test_sweep_inward_is_the_farthest_corner_of_a_fine_grid_of_angles(axis, offset, section, diameter, lock):
    _, inward = farthest(axis, offset, section, diameter, lock)
    assert float(sweep_inward_mm(axis, offset, section, diameter, lock)) == pytest.approx(inward, abs=MISS)


@given(**OUTLINE, lock=LOCK)
def test_sweep_along_is_never_less_than_straight_ahead(axis, offset, section, diameter, lock):
    assert sweep_along_mm(axis, offset, section, diameter, lock) >= diameter / 2.0 - 1e-9


@given(**OUTLINE, lock=LOCK)
def test_sweep_along_is_never_more_than_the_radius_of_the_farthest_corner(axis, offset, section, diameter, lock):
    radius = max(math.hypot(x, y) for x, y in corners(axis, offset, section, diameter))
    assert sweep_along_mm(axis, offset, section, diameter, lock) <= radius + 1e-9


@given(**OUTLINE, lock=LOCK)
def test_sweep_inward_is_never_less_than_straight_ahead(axis, offset, section, diameter, lock):
    assert sweep_inward_mm(axis, offset, section, diameter, lock) >= offset + section / 2.0 - 1e-9


@given(**OUTLINE, locks=st.tuples(LOCK, LOCK))
def test_more_lock_never_shortens_the_sweep_along(axis, offset, section, diameter, locks):
    less, more = (float(sweep_along_mm(axis, offset, section, diameter, lock)) for lock in sorted(locks))
    assert more >= less - 1e-9


@given(**OUTLINE, locks=st.tuples(LOCK, LOCK))
def test_more_lock_never_shortens_the_sweep_inward(axis, offset, section, diameter, locks):
    less, more = (float(sweep_inward_mm(axis, offset, section, diameter, lock)) for lock in sorted(locks))
    assert more >= less - 1e-9


def test_a_corner_that_comes_ahead_before_the_lock_is_as_far_as_its_radius():
    assert sweep_along_mm(150.0, 0.0, 300.0, 800.0, 45.0) == pytest.approx(500.0)  # 3, 4, 5: at 36.9 degrees


def test_a_tire_turned_by_90_degrees_about_its_center_reaches_in_by_half_its_diameter():
    assert sweep_inward_mm(0.0, 0.0, 0.0, 700.0, 90.0) == pytest.approx(350.0)


def test_an_upright_axis_stands_inboard_by_offset_and_scrub_radius():
    assert axis_inboard_mm(10.0, 40.0, 350.0, 0.0) == pytest.approx(50.0)


def test_an_axis_that_leans_45_degrees_stands_further_inboard_by_the_height_of_the_hub():
    assert axis_inboard_mm(10.0, 40.0, 350.0, 45.0) == pytest.approx(400.0)


def test_an_axis_that_meets_the_ground_outboard_of_the_tire_s_center_stands_less_inboard():
    assert axis_inboard_mm(10.0, -30.0, 350.0, 0.0) == pytest.approx(-20.0)


@pytest.mark.parametrize("missing", range(4))
def test_an_axis_is_not_known_without_all_its_measurements(missing):
    sizes = [10.0, 40.0, 350.0, 8.0]
    sizes[missing] = math.nan
    assert math.isnan(axis_inboard_mm(*sizes))


@pytest.mark.parametrize("missing", range(5))
@pytest.mark.parametrize("sweep", [sweep_along_mm, sweep_inward_mm])
def test_a_sweep_is_not_known_without_all_its_measurements(sweep, missing):
    sizes = [95.0, 6.0, 235.0, 733.0, 32.0]
    sizes[missing] = math.nan
    assert math.isnan(sweep(*sizes))

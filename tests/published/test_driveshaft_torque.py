"""Thrust of a live axle whose differential does not lock: the driveshaft's torque takes load off one wheel."""

import pytest
from figures import half_last_digit, rows

from combo.formulas.drive import lift_divisor, low_side_share, start_share

ROW = rows("driveshaft_torque.csv")[0]
ROUNDED_STEPS_LBF = 1.0  # the printed solution rounds its denominator to three digits


def size(name):
    return float(ROW[name])


def lever():
    """Radius over axle ratio and track, with what the rear springs do not take back."""
    rear_share = size("rear_roll_stiffness") / (size("front_roll_stiffness") + size("rear_roll_stiffness"))
    return size("radius") / (size("axle_ratio") * size("track")) * (1.0 - rear_share)


def thrust(lever_):
    share = float(start_share(low_side_share("open"), size("mu"), size("mu"), lever_))
    return size("rear_weight") * share / (1.0 - share * size("height") / size("wheelbase"))


def test_thrust_of_an_open_live_axle_is_the_textbook_one():
    assert thrust(lever()) == pytest.approx(size("value"), abs=ROUNDED_STEPS_LBF + half_last_digit(ROW["value"]))


def test_without_the_driveshafts_torque_it_would_be_told_too_large():
    assert thrust(0.0) > size("value") + 50.0


def test_the_thrust_is_the_textbooks_form_with_the_torque_in_its_denominator():
    mu, over = size("mu"), size("height") / size("wheelbase")
    denominator = 1.0 - mu * over + 2.0 * mu * lever()
    assert thrust(lever()) == pytest.approx(mu * size("rear_weight") / denominator, rel=1e-12)


@pytest.mark.parametrize(("friction", "least", "most"), [(0.1, 0.007, 0.013), (0.7, 0.05, 0.09)])
def test_it_takes_about_one_per_cent_on_ice_and_eight_on_dry_road(friction, least, most):
    taken = 1.0 - 1.0 / float(lift_divisor(2.0, friction, 0.36 / (3.73 * 1.6)))
    assert least <= taken <= most

"""Working load limits of tie-downs as printed in pounds and kilograms, and how much ballast the ties may hold."""

from types import SimpleNamespace

import numpy as np
import pytest
from figures import rows

from combo.checks.ballast import tie_down
from combo.checks.table import Given
from combo.job import Station
from combo.units import MASS, quantity

POUND_KG = 0.45359237


def half_step(printed):
    """Half of what a limit was rounded to: hundreds where it ends in two zeros, else tens."""
    return 50.0 if printed.endswith("00") else 5.0


def limits():
    return [row for row in rows("tie_downs.csv") if row["ties"]]


def held(row, mass_kg, run="over"):
    """Sides of the check for one mass at a station with the row's ties."""
    ties, limit = int(row["ties"]), float(row["working_load_kg"])
    station = Station(name="bed", at_mm=0.0, ties=ties, tie_working_load_kg=limit, tie_run=run)
    job = SimpleNamespace(ballast=SimpleNamespace(stations=(station,)))
    slots = Given({"station.name": np.array(["bed"], dtype=object), "ballast.mass_kg": np.array([mass_kg])})
    return tie_down(job, slots)(np.array([[1]]))


@pytest.mark.parametrize("row", rows("working_load_limits.csv"), ids=lambda row: row["case"])
def test_limit_printed_in_pounds_is_the_one_in_kilograms_within_their_rounding(row):
    rounding_kg = half_step(row["value"]) + half_step(row["pounds"]) * POUND_KG
    assert quantity(f"{row['pounds']} lb", MASS) == pytest.approx(float(row["value"]), abs=rounding_kg)


@pytest.mark.parametrize("row", limits(), ids=lambda row: row["case"])
def test_ties_hold_the_mass_whose_published_share_they_are_rated_for(row):
    assert held(row, float(row["value"])).limit[0] == pytest.approx(float(row["value"]), rel=1e-12)


@pytest.mark.parametrize("row", limits(), ids=lambda row: row["case"])
def test_one_kilogram_more_than_the_published_mass_is_not_held(row):
    assert held(row, float(row["value"]) + 1.0).margin[0] == pytest.approx(-1.0, abs=1e-9)


def test_ties_are_rated_for_the_published_share_of_the_weight():
    (rule,) = (row for row in rows("tie_downs.csv") if row["case"] == "share of the weight")
    assert 2.0 * 910.0 / held(limits()[0], 100.0).limit[0] == pytest.approx(float(rule["value"]), rel=1e-12)


@pytest.mark.parametrize("run", ["same side", "to cargo", ""])
@pytest.mark.parametrize("row", limits(), ids=lambda row: row["case"])
def test_a_tie_that_does_not_run_over_the_cargo_counts_half(row, run):
    # 49 CFR 393.106(d): one half of the working load limit of each tie from an anchor to the cargo, or back to its side
    assert held(row, float(row["value"]), run).limit[0] == pytest.approx(float(row["value"]) / 2.0, rel=1e-12)

"""What is plausible on a truck: the least and the most of each size that a list or a job gives.

A size that is not known is somewhere in its range. So what fails at the best end of it fails whatever is measured, and
what lies beyond is a slip of a digit or a unit. The ends are common practice, no source, and wide on purpose.
"""

from __future__ import annotations

RANGES: dict[str, tuple[float, float]] = {
    "wheel.rim_diameter_mm": (254.0, 762.0),
    "wheel.rim_width_mm": (76.2, 457.2),
    "wheel.bolt_circle_mm": (80.0, 350.0),
    "wheel.hub_bore_mm": (40.0, 330.0),
    "wheel.backspace_mm": (-50.0, 330.0),
    "wheel.offset_mm": (-200.0, 200.0),
    "wheel.flange_mm": (5.0, 30.0),
    "wheel.barrel_diameter_mm": (200.0, 740.0),
    "wheel.spoke_clearance_mm": (-60.0, 250.0),
    "wheel.pad_mm": (2.5, 60.0),
    "wheel.pocket_depth_mm": (0.0, 60.0),
    "wheel.load_rating_kg": (200.0, 5000.0),
    "wheel.mass_kg": (3.0, 150.0),
    "tire.rim_diameter_mm": (254.0, 762.0),
    "tire.section_width_mm": (100.0, 500.0),
    "tire.measuring_rim_mm": (76.2, 457.2),
    "tire.overall_diameter_mm": (450.0, 1400.0),
    "tire.running_diameter_mm": (450.0, 1400.0),
    "tire.rim_width_min_mm": (76.2, 457.2),
    "tire.rim_width_max_mm": (76.2, 457.2),
    "tire.load_rating_kg": (200.0, 5000.0),
    "tire.capacity_kg": (180.0, 5000.0),
    "tire.speed_km_h": (50.0, 300.0),
    "tire.revs_per_mile": (350.0, 1200.0),
    "tire.static_loaded_radius_mm": (200.0, 680.0),
    "tire.tread_width_mm": (80.0, 450.0),
    "tire.rated_pressure_kpa": (100.0, 900.0),
    "tire.max_pressure_kpa": (100.0, 1000.0),
    "tire.mass_kg": (4.0, 150.0),
    "spacer.thickness_mm": (1.0, 150.0),
    "spacer.bolt_circle_mm": (80.0, 350.0),
    "spacer.wheel_bolt_circle_mm": (80.0, 350.0),
    "spacer.hub_bore_mm": (40.0, 330.0),
    "spacer.pilot_mm": (40.0, 330.0),
    "spacer.pad_mm": (3.0, 60.0),
    "spacer.stud_length_mm": (10.0, 120.0),
    "spacer.stud_diameter_mm": (9.0, 26.0),
    "spacer.nut_height_mm": (8.0, 60.0),
    "spacer.mass_kg": (0.05, 25.0),
    "ratio.ratio": (1.5, 10.0),
    "ratio.mass_kg": (3.0, 120.0),
    "differential.ratio_min": (1.0, 10.0),
    "differential.ratio_max": (1.5, 12.0),
    "differential.bias_ratio": (1.0, 10.0),
    "differential.preload_n_m": (0.0, 1000.0),
    "differential.mass_kg": (3.0, 120.0),
    "ballast.mass_kg": (0.5, 1500.0),
    "ballast.length_mm": (20.0, 4000.0),
    "ballast.width_mm": (20.0, 3000.0),
    "nut.thread_depth_mm": (5.0, 80.0),
    "nut.height_mm": (8.0, 100.0),
    "nut.hex_mm": (13.0, 55.0),
    "hub.pilot_mm": (40.0, 330.0),
    "hub.pilot_length_mm": (0.0, 80.0),
    "hub.stud_length_mm": (10.0, 150.0),
    "hub.stud_diameter_mm": (9.0, 26.0),
    "brakes.envelope_diameter_mm": (150.0, 700.0),
    "brakes.caliper_reach_mm": (-150.0, 150.0),
    "corner.nominal_diameter_mm": (450.0, 1400.0),
    "corner.offset_mm": (-350.0, 200.0),
    "corner.backspace_mm": (-200.0, 330.0),
    "corner.section_width_mm": (80.0, 560.0),
    "corner.overall_width_mm": (86.0, 520.0),
    "mount.own_pad_mm": (3.0, 60.0),
    "mount.own_stud_length_mm": (10.0, 120.0),
    "mount.own_stud_diameter_mm": (9.0, 26.0),
    "mount.nut_thread_mm": (5.0, 80.0),
    "drive.rolling_radius_mm": (210.0, 700.0),
}
"""By dotted name of a column, of an entry of the job, or of what is worked out from them; SI."""

_LISTED: dict[str, tuple[float, float]] = {
    "rim_diameter_mm": RANGES["wheel.rim_diameter_mm"],
    "bolt_circle_2_mm": RANGES["wheel.bolt_circle_mm"],
    "max_pressure_kpa": RANGES["tire.max_pressure_kpa"],
    "price_cents": (0.0, 10_000_000.0),
    "core_charge_cents": (0.0, 1_000_000.0),
    "labor_hours": (0.0, 200.0),
    "load_index": (0.0, 200.0),
    "ring_teeth": (15.0, 99.0),
    "pinion_teeth": (4.0, 40.0),
    "splines": (6.0, 60.0),
    "max_count": (0.0, 100_000.0),
    "pack": (1.0, 10_000.0),
    "stud_diameter_mm": (6.0, 40.0),
}
"""What a list may say in columns that are no sizes of the truck, by column: whatever is absent there is not guessed."""


def plausible(name: str) -> tuple[float, float] | None:
    """The least and the most that a list may say in a column, by its dotted name; None where anything goes."""
    return RANGES.get(name) or _LISTED.get(name.partition(".")[2])


MOST_IN_A_JOB = {
    "mm": 20_000.0,
    "kg": 50_000.0,
    "km_h": 500.0,
    "n_m": 50_000.0,
    "rpm": 25_000.0,
    "kpa": 3000.0,
    "deg": 360.0,
    "m2": 50.0,
    "s": 600.0,
    "n_per_m": 5e7,
    "cents": 1e10,
    "": 1e9,
}
"""The most of any size in a job, by its unit; "" of plain numbers. A wheelbase of parsecs is a slip of the pen."""

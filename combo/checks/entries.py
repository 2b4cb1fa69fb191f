"""What of a job may be moved where nothing fits: measured rooms, targets, the budget; and which checks each feeds.

One entry may feed several checks in several states of the suspension: a flared fender cures the outer sidewall, the
tire between the plumb lines and the cover. Moving an entry by so much moves the margin of each check that it feeds by
as much, in the check's own unit: they are all differences. (Pulls and holds are weighed as mass, and moved as such.)
What physics and safety ask has no entry here: a bolt circle, a rating, a brake.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from combo.checks.check import Check
from combo.job import AXLES


@dataclass(frozen=True)
class Entry:
    """An entry of the job, or some that are moved together; `{axle}` in its key where each axle has its own.

    `keys` are the keys of job.toml behind it, `name` what the shop calls it, and `eased` what is done to it, with
    `{amount}` for how much. `checks` are the ids of the checks that it feeds. `scale` is what its moves are measured
    against where its checks' margins have none, in their unit.
    """

    key: str
    keys: tuple[str, ...]
    checks: tuple[str, ...]
    name: str
    eased: str
    scale: float | None = None

    @property
    def is_of_axles(self) -> bool:
        """Whether each axle has one of its own."""
        return "{axle}" in self.key

    @property
    def axles(self) -> tuple[str, ...]:
        """The axles that have one of their own, front first; "truck" where one counts for all."""
        return AXLES if self.is_of_axles else ("truck",)

    def at(self, axle: str) -> Entry:
        """That of one axle, under its own names."""

        def named(text: str) -> str:
            return text.replace("{axle}", axle)

        keys = tuple(named(key) for key in self.keys)
        return replace(self, key=named(self.key), keys=keys, name=named(self.name), eased=named(self.eased))

    def feeds(self, check: Check, place: str, axle: str) -> bool:
        """Whether a check at a place hangs on that of this axle."""
        return check.id in self.checks and (not self.is_of_axles or place == axle)


def _room(key: str, checks: tuple[str, ...], what: str, keys: tuple[str, ...] = ()) -> Entry:
    table = "wheelhouse.{axle}"
    own = tuple(f"{table}.{one}" for one in keys or (key,))
    return Entry(f"{table}.{key}", own, checks, f"{{axle}} {what}", f"{{amount}} more {{axle}} {what}")


def _target(
    key: str, check: str, name: str, eased: str, keys: tuple[str, ...] = (), scale: float | None = None
) -> Entry:
    return Entry(f"targets.{key}", tuple(f"targets.{one}" for one in keys or (key,)), (check,), name, eased, scale)


ENTRIES = (
    _room("room_inner", ("backspace_limit", "inner_sidewall", "wheelhouse_width"), "room inside"),
    _room("room_outer", ("outer_sidewall", "wheelhouse_width", "cover"), "room outside"),
    _room("hub_to_top", ("fender_top",), "room above the hub"),
    _room("opening", ("opening",), "wheel opening, ahead and behind", ("opening_ahead", "opening_behind")),
    _room("sweep", ("steer_sweep",), "room for the steered tire", ("sweep_ahead", "sweep_behind", "frame_room")),
    Entry(
        "brakes.weight_thickness",
        ("brakes.weight_thickness",),
        ("wheel_weights",),
        "room for wheel weights",
        "{amount} more room for wheel weights",
    ),
    Entry(
        "spare.well",
        ("spare.well_diameter", "spare.well_width"),
        ("spare_well",),
        "spare's well",
        "a spare's well {amount} larger each way",
        scale=12.7,  # as a tire's room beside it; common practice, no source
    ),
    _target("cover", "cover", "tire under the fender", "{amount} of tire let out past the fender"),
    _target(
        "fender_gap",
        "fender_gap",
        "fender gap",
        "a fender gap {amount} beyond its band",
        ("fender_gap_min", "fender_gap_max"),
    ),
    _target("scrub", "scrub", "scrub radius", "a scrub radius {amount} beyond its band", ("scrub_min", "scrub_max")),
    _target("load_line_max", "load_line", "load line shift", "{amount} more load line shift"),
    Entry(
        "targets.{axle}_track_max",
        ("targets.{axle}_track_max",),
        ("track",),
        "{axle} track",
        "{amount} more {axle} track",
    ),
    _target("winter", "winter", "winter tires", "winter tires given up"),
    _target("same_style", "same_style", "one wheel style", "one wheel style given up"),
    _target("same_line", "same_line", "one tire line", "one tire line given up"),
    _target("rake", "rake", "rake", "a rake {amount} beyond its band", ("rake_min", "rake_max")),
    _target(
        "frame_rake",
        "frame_rake",
        "frame rake",
        "a frame rake {amount} beyond its band",
        ("frame_rake_min", "frame_rake_max"),
    ),
    _target("cruise", "cruise_rpm", "cruise rpm", "cruise {amount} beyond its band", ("cruise_min", "cruise_max")),
    _target(
        "speedometer_error", "speedometer", "speedometer error", "{amount} more speedometer error", scale=0.02
    ),  # common practice, no source
    _target("rear_load", "rear_load", "load on the rear axle", "{amount} less load on the rear axle"),
    _target("front_share", "front_share", "load on the front axle", "{amount} less load on the front axle"),
    _target("pull_grade", "pull", "pull up the grade", "a pull of {amount} less truck up the grade"),
    _target("hold_grade", "hold_gear", "gear held on the grade", "the gear held with {amount} less truck"),
    _target("start_grade", "start_grade", "steepest start", "{amount} less steep a start"),
    _target("ground_clearance", "ground", "ground clearance", "{amount} less ground clearance"),
    _target(
        "laid_out_clearance", "ground_laid_out", "ground clearance laid out", "{amount} less ground clearance laid out"
    ),
    Entry(
        "ballast.stations",
        ("ballast.stations.length", "ballast.stations.width", "ballast.stations.layers"),
        ("ballast_space",),
        "floor for ballast",
        "ballast past its floor",
    ),
    Entry("money.budget", ("money.budget",), ("budget",), "budget", "{amount} more budget"),
)
"""Every entry that may be moved, in the order in which they are told."""

"""The starter job: it tells every key that a job file may have."""

import dataclasses
import re
import typing

from combo import job as jobs
from combo.show.files import write_starter

NOT_KEYS = {"tolerances", "sides", "weights", "headers"}
"""Attributes of the job that are no keys, or tables whose keys are the user's own words."""


def keys_of(kind):
    """Every key of a table and of the tables in it."""
    hints = typing.get_type_hints(kind)
    for field in dataclasses.fields(kind):
        arms = (hints[field.name], *typing.get_args(hints[field.name]))
        inner = [arm for arm in arms if dataclasses.is_dataclass(arm) and arm.__module__ == jobs.__name__]
        if inner and inner[0] is not jobs.ListFile:
            yield from keys_of(inner[0])
        elif field.name not in NOT_KEYS:
            yield jobs.key_of(field.name)


def test_every_key_of_a_job_stands_in_the_starter(tmp_path):
    write_starter(tmp_path / "job")
    text = (tmp_path / "job" / "job.toml").read_text(encoding="utf-8")
    assert set(keys_of(jobs.Job)) - set(re.findall(r"(\w+) = ", text)) == set()

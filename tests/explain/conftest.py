"""A starter job that more than one test asks about."""

import dataclasses

import pytest

from combo.candidates.instance import Instance
from combo.read.load import load
from combo.show.files import write_starter


@pytest.fixture(scope="session")
def loaded(tmp_path_factory):
    """The starter job as it is written."""
    folder = tmp_path_factory.mktemp("starter") / "job"
    write_starter(folder)
    return load(folder / "job.toml")


@pytest.fixture(scope="session")
def instance(loaded):
    """Its lists."""
    return Instance(loaded.job, loaded.parts)


@pytest.fixture(scope="session")
def poor(loaded):
    """Its lists with a tenth of its budget: nothing fits."""
    money = dataclasses.replace(loaded.job.money, budget_cents=loaded.job.money.budget_cents // 10)
    return Instance(dataclasses.replace(loaded.job, money=money), loaded.parts)

"""A folder of small jobs: the starter's, each with a budget of its own."""

from pathlib import Path

import pytest

from combo.batch.jobs import find_jobs
from combo.batch.work import Options, Task
from combo.show.files import write_starter


def with_budget(folder: Path, name: str, dollars: int) -> Path:
    """The starter's job with another budget, beside its lists."""
    path = folder / name
    path.write_text((folder / "lists" / "job.toml.text").read_text().replace('"$3,200"', f'"${dollars}"'))
    return path


@pytest.fixture
def trucks(tmp_path):
    """Jobs a.toml to d.toml on one set of lists; nothing fits the budget of d."""
    folder = tmp_path / "trucks"
    write_starter(folder / "lists")
    text = (folder / "lists" / "job.toml").read_text()
    for name in ("wheels", "tires", "spacers", "ratios", "differentials", "ballast", "nuts"):
        text = text.replace(f'"{name}.csv"', f'"lists/{name}.csv"')
    (folder / "lists" / "job.toml").unlink()
    (folder / "lists" / "job.toml.text").write_text(text)
    for name, dollars in {"a.toml": 2600, "b.toml": 2900, "c.toml": 3200, "d.toml": 100}.items():
        with_budget(folder, name, dollars)
    return folder


@pytest.fixture
def tasks(trucks):
    return [Task(job, Options(top=2, workbooks=False)) for job in find_jobs(trucks)]

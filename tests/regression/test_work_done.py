"""Jobs that once took minutes or gigabytes, held to the work that they take: no slow machine can fail these.

Each is the orchard pickup with one key changed. Counted are questions ("is there any build that keeps these limits?"),
and base builds (front, rear and drive, without ballast) that are put together. The bounds are some one and a half times
what was counted when they were written.
"""

import dataclasses

import pytest

from combo.candidates.instance import Instance
from combo.candidates.relaxed_limits import Pinned
from combo.explain import best, infeasible
from combo.explain.near import near_misses
from combo.explain.parts import stuck
from combo.read.load import load
from combo.search import enumerate as enumeration
from combo.search.filter import space_of
from combo.search.topk import rank


class Counted:
    """Calls of a function, and a size of what each gives."""

    def __init__(self, monkeypatch, module, name, size=lambda given: 1, also=()):
        self.total, function = 0, getattr(module, name)

        def counted(*arguments, **named):
            given = function(*arguments, **named)
            self.total += size(given)
            return given

        for where in (module, *also):
            monkeypatch.setattr(where, name, counted)


@pytest.fixture
def questions(monkeypatch):
    return Counted(monkeypatch, best, "build_or_blame", also=[infeasible])


@pytest.fixture
def base_builds(monkeypatch):
    return Counted(monkeypatch, enumeration, "_bare_of", size=lambda bare: len(bare.builds))


def changed(tmp_path, example_path, old, new):
    """The example with a key changed, its lists where they are."""
    text = example_path.read_text(encoding="utf-8")
    assert text.count(old) == 1
    for name in example_path.parent.glob("*.csv"):
        (tmp_path / "examples" / "job").mkdir(parents=True, exist_ok=True)
        (tmp_path / "examples" / "job" / name.name).write_bytes(name.read_bytes())
    (tmp_path / "catalogs").symlink_to(example_path.parents[2] / "catalogs")
    path = tmp_path / "examples" / "job" / "job.toml"
    path.write_text(text.replace(old, new), encoding="utf-8")
    return load(path)


@pytest.fixture
def pickup(tmp_path, request):
    path = request.config.rootpath / "examples" / "orchard_pickup" / "job.toml"
    return lambda old, new: changed(tmp_path, path, old, new)


STRICT = 'units = "inch"\nstrict = true\n'


@pytest.mark.parametrize(
    ("old", "new", "most_questions", "most_builds"),
    [
        ('budget = "$3,150"', 'budget = "$2,400"', 100, 350_000),
        ('cruise_max = "2000 rpm"', 'cruise_max = "1810 rpm"', 75, 220_000),
        ('hub_to_top = "16 7/8 in"', 'hub_to_top = "12 in"', 26, 130_000),
        ('room_inner = "5 1/2 in +- 1/32 in"', 'room_inner = "2 1/2 in"', 17, 95_000),
    ],
    ids=["budget", "cruise rpm", "room above the front hub", "rear room inside"],
)
def test_why_nothing_fits_is_found_with_so_many_questions(
    pickup, questions, base_builds, old, new, most_questions, most_builds
):
    loaded = pickup(old, new)
    assert stuck(Instance(loaded.job, loaded.parts), Pinned(), 3).changes
    assert questions.total <= most_questions
    assert base_builds.total <= most_builds


@pytest.mark.parametrize("pounds", [2600, 9000])
def test_a_load_that_nothing_brings_is_seen_without_a_search(pickup, base_builds, pounds):
    loaded = pickup('units = "inch"\n', STRICT)
    targets = dataclasses.replace(loaded.job.targets, rear_load_kg=pounds * 0.45359237)
    job = dataclasses.replace(loaded.job, targets=targets)
    ranking = rank(space_of(job, loaded.parts), 10)
    assert (ranking.ranked, ranking.proven) == ((), True)
    assert base_builds.total == 0


def test_near_misses_of_the_pickup_put_so_many_builds_together(pickup, base_builds):
    loaded = pickup('budget = "$3,150"', 'budget = "$3,150"')
    assert len(near_misses(Instance(loaded.job, loaded.parts), 5).found) == 5
    assert base_builds.total <= 26_000

"""What is kept of lists is never taken for other lists."""

import builtins
import hashlib
import pickle

import pytest

from combo.parts import WHEEL
from combo.read import cache
from combo.read.load import load
from combo.show.files import write_starter


@pytest.fixture
def job(tmp_path, monkeypatch):
    """A starter job, with a cache of its own."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setenv("LOCALAPPDATA", str(tmp_path / "cache"))
    monkeypatch.delenv(cache.OFF_VARIABLE, raising=False)
    cache._memory.clear()
    write_starter(tmp_path / "job")
    return tmp_path / "job" / "job.toml"


def kept():
    return sorted(cache.folder().glob("*.list"))


def test_what_is_kept_is_what_was_read(job):
    first = load(job)
    cache._memory.clear()
    again = load(job)
    for plural in ("wheels", "tires", "ratios", "differentials", "ballast"):
        assert again.parts.table(plural).equals(first.parts.table(plural))
    assert again.notices == first.notices


def test_a_list_that_is_kept_is_not_read_again(job, monkeypatch):
    load(job)
    cache._memory.clear()
    monkeypatch.setattr("combo.read.load.read_lists", None)
    assert len(load(job).parts.wheels)


def test_one_byte_changed_is_another_list(job):
    before = load(job).parts.wheels["price_cents"].tolist()
    path = job.parent / "wheels.csv"
    header, first, *rest = path.read_text(encoding="utf-8").splitlines()
    cells = first.split(",")
    at = next(i for i, name in enumerate(header.split(",")) if name.startswith("price"))
    cells[at] = cells[at].replace(cells[at].lstrip("$")[0], "9" if "9" not in cells[at][:2] else "8", 1)
    path.write_text("\n".join([header, ",".join(cells), *rest, ""]), encoding="utf-8")
    assert load(job).parts.wheels["price_cents"].tolist() != before


def test_a_cell_of_the_same_length_changed_gives_its_problem(job):
    load(job)
    path = job.parent / "tires.csv"
    path.write_bytes(path.read_bytes().replace(b"98.00", b"9x.00", 1))
    assert "9x.00" in load(job).aside["tires"][0].problem.found


def test_what_is_kept_and_damaged_is_read_again(job):
    first = load(job)
    for path in kept():
        content = bytearray(path.read_bytes())
        content[-1] ^= 1
        path.write_bytes(bytes(content))
    cache._memory.clear()
    assert load(job).parts.wheels.equals(first.parts.wheels)


def test_problems_are_kept_with_the_list(job):
    path = job.parent / "wheels.csv"
    path.write_bytes(path.read_bytes().replace(b",15x", b",1lx"))
    texts = []
    for _ in range(2):
        cache._memory.clear()
        with pytest.raises(Exception, match="1lx") as found:
            load(job)
        texts.append(str(found.value))
    assert texts[0] == texts[1]


def test_switched_off_nothing_is_written(job, monkeypatch):
    monkeypatch.setenv(cache.OFF_VARIABLE, "1")
    load(job)
    assert kept() == []


def test_a_folder_that_cannot_be_made_stops_nothing(job, tmp_path, monkeypatch):
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "file"))
    monkeypatch.setenv("LOCALAPPDATA", str(tmp_path / "file"))
    assert len(load(job).parts.wheels)


def test_other_mappings_are_other_lists(job):
    assert cache.Wanted(WHEEL, (), {"a": "sku"}).key != cache.Wanted(WHEEL, (), {"b": "sku"}).key


def test_a_list_that_is_changed_while_it_is_read_is_not_kept(job, monkeypatch):
    path, read = job.parent / "wheels.csv", cache.Kept

    def changed_meanwhile(*what):
        path.write_bytes(path.read_bytes() + b"\n")
        return read(*what)

    monkeypatch.setattr("combo.read.load.Kept", changed_meanwhile)
    load(job)
    assert len(cache._memory) == len(kept()) == 6  # tires, spacers, ratios, differentials, ballast, nuts


class Planted:
    """What a pickle would run as it is read."""

    def __reduce__(self):
        return (exec, ("import builtins; builtins.planted = True",))


def test_what_somebody_plants_in_the_cache_is_never_run(job):
    first = load(job)
    body = pickle.dumps(Planted())
    for path in kept():
        path.write_bytes(hashlib.sha256(body).digest() + body)
    cache._memory.clear()
    assert load(job).parts.wheels.equals(first.parts.wheels)
    assert not hasattr(builtins, "planted")


def test_a_user_without_a_home_has_no_cache(job, monkeypatch):
    monkeypatch.delenv("XDG_CACHE_HOME")
    monkeypatch.delenv("LOCALAPPDATA")

    def homeless(*_):
        raise RuntimeError("Could not determine home directory.")

    monkeypatch.setattr("pathlib.Path.home", homeless)
    assert len(load(job).parts.wheels)

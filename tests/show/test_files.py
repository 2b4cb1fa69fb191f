"""Files are written whole, and never over one that is there by surprise."""

import os

import pytest

from combo.problems import Problems
from combo.show.files import STARTER, write, write_starter


def test_an_existing_file_is_not_overwritten(tmp_path):
    path = tmp_path / "shortlist.xlsx"
    path.write_bytes(b"mine")
    with pytest.raises(Problems):
        write(path, b"theirs")
    assert path.read_bytes() == b"mine"


def test_force_overwrites(tmp_path):
    path = tmp_path / "shortlist.xlsx"
    path.write_bytes(b"mine")
    write(path, b"theirs", force=True)
    assert path.read_bytes() == b"theirs"


def test_a_missing_folder_is_a_problem(tmp_path):
    with pytest.raises(Problems):
        write(tmp_path / "none" / "shortlist.xlsx", b"")


def test_nothing_is_left_behind_beside_the_file(tmp_path):
    write(tmp_path / "a.txt", b"x")
    assert [path.name for path in tmp_path.iterdir()] == ["a.txt"]


def test_the_starter_is_not_written_over_anything(tmp_path):
    (tmp_path / "tires.csv").write_text("mine")
    with pytest.raises(Problems):
        write_starter(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["tires.csv"]


def test_the_starter_has_every_file(tmp_path):
    assert {path.name for path in write_starter(tmp_path / "job")} == set(STARTER)


def test_a_link_that_leads_nowhere_is_not_overwritten(tmp_path):
    (tmp_path / "a.txt").symlink_to(tmp_path / "none")
    with pytest.raises(Problems):
        write(tmp_path / "a.txt", b"x")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes here")
def test_a_pipe_is_never_replaced(tmp_path):
    os.mkfifo(tmp_path / "a.txt")
    with pytest.raises(Problems):
        write(tmp_path / "a.txt", b"x", force=True)
    assert (tmp_path / "a.txt").is_fifo()


def test_what_keeps_a_file_from_being_written_is_told_of_its_own_name(tmp_path):
    path = tmp_path / ("a" * 250)
    with pytest.raises(OSError, match="too long") as raised:
        write(path, b"x")
    assert raised.value.filename == str(path)

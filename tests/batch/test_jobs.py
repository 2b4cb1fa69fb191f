"""Which files of a folder are jobs, and what their digests rest on."""

import os

import pytest

from combo.batch.jobs import find_jobs, refuse_workbook_names, workbook_name
from combo.problems import Problems


def digests(folder):
    return {job.path: job.digest for job in find_jobs(folder)}


def changed(before, after):
    return {path for path in before if before[path] != after[path]}


def words_of(raised):
    return [problem.word for problem in raised.value.problems]


def test_jobs_are_found_at_any_depth_in_the_order_of_their_paths(trucks):
    (trucks / "b" / "deep").mkdir(parents=True)
    (trucks / "b" / "deep" / "z.toml").write_text("[job]\n")
    assert [job.path for job in find_jobs(trucks)] == ["a.toml", "b.toml", "b/deep/z.toml", "c.toml", "d.toml"]


def test_a_toml_file_without_a_job_table_is_no_job(trucks):
    (trucks / "other.toml").write_text("[tool]\njob = 1\n")
    assert "other.toml" not in digests(trucks)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
def test_a_job_that_cannot_be_read_is_a_job(trucks, encoding):
    (trucks / "torn.toml").write_text('[job]\nname = "no end\n', encoding=encoding)
    assert "torn.toml" in digests(trucks)


def test_a_folder_without_jobs_is_a_problem(tmp_path):
    with pytest.raises(Problems) as raised:
        find_jobs(tmp_path)
    assert words_of(raised) == ["no-jobs"]


def test_a_folder_that_is_not_there_is_a_problem(tmp_path):
    with pytest.raises(Problems) as raised:
        find_jobs(tmp_path / "none")
    assert words_of(raised) == ["missing-folder"]


def test_another_list_changes_the_digest_of_the_jobs_that_name_it(trucks):
    before = digests(trucks)
    text = (trucks / "a.toml").read_text().replace("lists/wheels.csv", "more.csv")
    (trucks / "a.toml").write_text(text)
    (trucks / "more.csv").write_text("sku\n")
    named = digests(trucks)
    assert changed(before, named) == {"a.toml"}
    (trucks / "more.csv").write_text("sku,price\n")
    assert changed(named, digests(trucks)) == {"a.toml"}


def test_a_list_in_a_table_of_files_counts_too(trucks):
    text = (trucks / "a.toml").read_text()
    (trucks / "a.toml").write_text(text.replace('"lists/wheels.csv"', '["lists/wheels.csv", { path = "more.csv" }]'))
    before = digests(trucks)
    (trucks / "more.csv").write_text("sku\n")
    assert changed(before, digests(trucks)) == {"a.toml"}


def test_the_time_of_a_file_changes_no_digest(trucks):
    before = digests(trucks)
    os.utime(trucks / "lists" / "wheels.csv", (1, 1))
    assert changed(before, digests(trucks)) == set()


def test_jobs_on_the_same_lists_are_known(trucks):
    assert len({job.lists for job in find_jobs(trucks)}) == 1


def test_a_workbook_is_named_for_the_path_of_its_job():
    assert workbook_name("red/long bed/job.toml") == "red__long bed__job.xlsx"


def test_two_jobs_with_the_same_name_of_a_workbook_are_a_problem(trucks):
    for folder in ("x", "x__y"):
        (trucks / folder).mkdir()
    (trucks / "x" / "y__z.toml").write_text("[job]\n")
    (trucks / "x__y" / "z.toml").write_text("[job]\n")
    with pytest.raises(Problems) as raised:
        refuse_workbook_names(find_jobs(trucks))
    assert words_of(raised) == ["same-name"]


def test_a_path_too_long_for_the_name_of_a_workbook_is_a_problem(trucks):
    deep = trucks / ("x" * 130) / ("y" * 130)
    deep.mkdir(parents=True)
    (deep / "job.toml").write_text("[job]\n")
    with pytest.raises(Problems) as raised:
        refuse_workbook_names(find_jobs(trucks))
    assert words_of(raised) == ["long-name"]


@pytest.mark.skipif(os.name == "nt", reason="names are always text there")
def test_a_name_that_is_not_utf_8_is_a_problem(trucks):
    path = os.path.join(os.fsencode(trucks), b"caf\xe9.toml")
    try:
        open(path, "wb").close()
    except OSError:
        pytest.skip("this file system takes no such name")
    with pytest.raises(Problems) as raised:
        find_jobs(trucks)
    assert words_of(raised) == ["not-utf-8"]


def test_the_rules_beside_the_lists_and_the_next_price_list_make_another_job(tmp_path):
    (tmp_path / "lists").mkdir()
    (tmp_path / "a.toml").write_text('[job]\n[files]\nwheels = "lists/ridge_*.csv"\n')
    (tmp_path / "lists" / "ridge_2026-10.csv").write_text("sku\nW\n")
    first = digests(tmp_path)
    (tmp_path / "lists" / "suppliers.toml").write_text("[[files.wheels]]\n")
    second = digests(tmp_path)
    (tmp_path / "lists" / "ridge_2026-11.csv").write_text("sku\nV\n")
    assert len({one["a.toml"] for one in (first, second, digests(tmp_path))}) == 3

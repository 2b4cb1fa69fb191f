"""A folder to its results, and on from where it stopped."""

import csv
import json
import tomllib
from contextlib import nullcontext
from dataclasses import replace
from pathlib import Path

import pytest

import combo.batch.run as run_module
from combo.batch.run import Hands, run
from combo.batch.work import Done, Options, Outcome, Stopped, not_done
from combo.problems import Problems

QUICK = Options(top=1, workbooks=False)


@pytest.fixture
def out(tmp_path):
    return tmp_path / "out"


def quick_answer(task):
    """An answer that follows from the budget, at once."""
    budget = tomllib.loads(task.job.file.read_text())["money"]["budget"]
    status, builds = ("nothing fits", 0) if budget == "$100" else ("ranked", 1)
    return Done(Outcome(task.job.path, "", status, builds), budget.encode() if task.options.workbooks else None)


@pytest.fixture
def did(monkeypatch):
    """Paths of the jobs that are done; each has its quick answer."""
    paths = []

    def here(tasks):
        for task in tasks:
            paths.append(task.job.path)
            yield quick_answer(task)

    monkeypatch.setattr(run_module, "_doing", lambda hands: nullcontext(here))
    return paths


def rows(out):
    with open(out / "results.csv", encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def entries(out):
    return [json.loads(line) for line in (out / "finished.jsonl").read_text().splitlines()[1:]]


def words_of(raised):
    return [problem.word for problem in raised.value.problems]


def rewrite(path: Path, old: str, new: str) -> None:
    text = path.read_text()
    assert old in text
    path.write_text(text.replace(old, new))


def test_one_row_a_job_in_the_order_of_the_paths(trucks, out):
    done = run(trucks, out, QUICK, Hands(processes=2))
    assert [(row["job"], row["status"]) for row in rows(out)] == [
        ("a.toml", "ranked"),
        ("b.toml", "ranked"),
        ("c.toml", "ranked"),
        ("d.toml", "nothing fits"),
    ]
    assert done.has_answers()


def test_the_table_is_the_same_however_many_processes_did_it(trucks, tmp_path):
    (trucks / "a.toml").unlink()
    tables = []
    for processes in (1, 3):
        run(trucks, tmp_path / str(processes), QUICK, Hands(processes))
        tables.append((tmp_path / str(processes) / "results.csv").read_bytes())
    assert tables[0] == tables[1]


def test_a_job_with_problems_does_not_stop_the_others(trucks, out):
    (trucks / "a.toml").unlink()
    rewrite(trucks / "b.toml", '"118 in"', '"118 lb"')
    done = run(trucks, out, QUICK, Hands(processes=2))
    assert [row["status"] for row in rows(out)] == ["problems", "ranked", "nothing fits"]
    assert rows(out)[0]["what_is_wrong"].startswith("b.toml, line ")
    assert not done.has_answers()


def test_what_comes_back_from_the_journal_is_what_was_done(trucks, out):
    for name in ("a.toml", "c.toml"):
        (trucks / name).unlink()
    rewrite(trucks / "d.toml", '"118 in"', '"118 lb"')
    done = run(trucks, out, QUICK, Hands(processes=1))
    again = run(trucks, out, QUICK, Hands(processes=1))
    assert [outcome.status for outcome in done.outcomes] == ["ranked", "problems"]
    assert again.outcomes == done.outcomes
    assert again.taken == 2


def test_a_job_that_gave_no_answer_is_tried_again(trucks, out, did, monkeypatch):
    def refused(tasks):
        yield from (not_done(task, "no room") for task in tasks)

    with monkeypatch.context() as here:
        here.setattr(run_module, "_doing", lambda hands: nullcontext(refused))
        run(trucks, out, QUICK, Hands())
    assert {row["status"] for row in rows(out)} == {"error"}
    run(trucks, out, QUICK, Hands())
    assert len(did) == 4
    assert "error" not in {row["status"] for row in rows(out)}


def test_what_is_finished_is_not_done_again(trucks, out, did):
    run(trucks, out, QUICK, Hands())
    table = (out / "results.csv").read_bytes()
    did.clear()
    assert run(trucks, out, QUICK, Hands()).taken == 4
    assert did == []
    assert (out / "results.csv").read_bytes() == table


def test_only_what_is_left_is_done(trucks, out, did):
    run(trucks, out, QUICK, Hands())
    lines = (out / "finished.jsonl").read_text().splitlines(keepends=True)
    (out / "finished.jsonl").write_text("".join(lines[:3]))
    did.clear()
    run(trucks, out, QUICK, Hands())
    assert did == ["c.toml", "d.toml"]
    assert len(rows(out)) == 4


def test_a_changed_job_is_done_again(trucks, out, did):
    run(trucks, out, QUICK, Hands())
    rewrite(trucks / "c.toml", "$3200", "$100")
    did.clear()
    run(trucks, out, QUICK, Hands())
    assert did == ["c.toml"]
    assert rows(out)[2]["status"] == "nothing fits"
    assert sorted(entry["path"] for entry in entries(out)) == ["a.toml", "b.toml", "c.toml", "d.toml"]


def test_a_changed_list_does_every_job_on_it_again(trucks, out, did):
    run(trucks, out, QUICK, Hands())
    with open(trucks / "lists" / "ballast.csv", "a") as file:
        file.write("\n")
    did.clear()
    run(trucks, out, QUICK, Hands())
    assert len(did) == 4


def test_another_count_of_builds_does_all_again(trucks, out, did):
    run(trucks, out, QUICK, Hands())
    did.clear()
    run(trucks, out, replace(QUICK, top=2), Hands())
    assert len(did) == 4


def test_a_torn_last_line_of_the_journal_is_no_finished_job(trucks, out, did):
    run(trucks, out, QUICK, Hands())
    (out / "finished.jsonl").write_bytes((out / "finished.jsonl").read_bytes()[:-20])
    did.clear()
    run(trucks, out, QUICK, Hands())
    assert did == ["d.toml"]
    assert len({entry["key"] for entry in entries(out)}) == len(entries(out)) == 4


@pytest.mark.parametrize("line", [0, 2])
def test_a_damaged_line_of_the_journal_is_told_and_healed(trucks, out, did, capsys, line):
    run(trucks, out, QUICK, Hands())
    lines = (out / "finished.jsonl").read_text().splitlines(keepends=True)
    lines[line] = lines[line].replace("b", "B", 1)  # still JSON
    (out / "finished.jsonl").write_text("".join(lines))
    did.clear()
    run(trucks, out, QUICK, Hands())
    assert did == (["b.toml"] if line else [])
    assert "1 line is damaged and left out" in capsys.readouterr().err
    assert len(rows(out)) == 4
    run(trucks, out, QUICK, Hands())
    assert capsys.readouterr().err == ""


def test_an_interrupt_keeps_what_is_finished(trucks, out, monkeypatch):
    def interrupted(tasks):
        yield quick_answer(tasks[0])
        raise KeyboardInterrupt

    monkeypatch.setattr(run_module, "_doing", lambda hands: nullcontext(interrupted))
    done = run(trucks, out, QUICK, Hands())
    assert done.stopped == "interrupted"
    assert not done.has_answers()
    assert [row["job"] for row in rows(out)] == ["a.toml"]
    assert [entry["path"] for entry in entries(out)] == ["a.toml"]


def test_a_cluster_that_goes_away_keeps_what_is_finished(trucks, out, did, monkeypatch):
    def lost(tasks):
        yield quick_answer(tasks[1])
        raise Stopped("gone")

    with monkeypatch.context() as here:
        here.setattr(run_module, "_doing", lambda hands: nullcontext(lost))
        assert run(trucks, out, QUICK, Hands()).stopped == "gone"
    assert [row["job"] for row in rows(out)] == ["b.toml"]
    run(trucks, out, QUICK, Hands())
    assert did == ["a.toml", "c.toml", "d.toml"]


def test_a_job_that_is_gone_leaves_the_table(trucks, out, did):
    run(trucks, out, QUICK, Hands())
    (trucks / "b.toml").unlink()
    run(trucks, out, QUICK, Hands())
    assert [row["job"] for row in rows(out)] == ["a.toml", "c.toml", "d.toml"]


def test_each_job_has_its_workbook(trucks, out, did):
    (trucks / "deep").mkdir()
    text = (trucks / "d.toml").read_text().replace('"lists/', '"../lists/')
    (trucks / "deep" / "job.toml").write_text(text)
    for name in ("a.toml", "b.toml", "c.toml"):
        (trucks / name).unlink()
    run(trucks, out, Options(), Hands())
    assert sorted(path.name for path in (out / "workbooks").iterdir()) == ["d.xlsx", "deep__job.xlsx"]
    assert [row["workbook"] for row in rows(out)] == ["workbooks/d.xlsx", "workbooks/deep__job.xlsx"]


def test_a_job_whose_workbook_is_gone_is_done_again(trucks, out, did):
    for name in ("a.toml", "b.toml"):
        (trucks / name).unlink()
    run(trucks, out, Options(top=1), Hands())
    (out / "workbooks" / "d.xlsx").unlink()
    did.clear()
    run(trucks, out, Options(top=1), Hands())
    assert did == ["d.toml"]
    assert (out / "workbooks" / "d.xlsx").is_file()


def test_a_workbook_that_cannot_be_written_is_told_and_the_others_are(trucks, out, did):
    run(trucks, out, QUICK, Hands())
    (out / "workbooks" / "d.xlsx").mkdir(parents=True)
    run(trucks, out, Options(top=1), Hands())
    assert [row["status"] for row in rows(out)] == ["ranked", "ranked", "ranked", "error"]
    assert rows(out)[3]["what_is_wrong"].startswith("its workbook could not be written")


@pytest.mark.parametrize("name", ["notes.txt", "results.csv", "finished.jsonl", "workbooks/old.xlsx"])
def test_a_folder_with_other_things_is_refused_and_they_stay(trucks, out, did, name):
    (out / name).parent.mkdir(parents=True)
    (out / name).write_text("mine")
    with pytest.raises(Problems) as raised:
        run(trucks, out, QUICK, Hands())
    assert set(words_of(raised)) == {"file-exists"}
    assert (out / name).read_text() == "mine"
    assert did == []


def test_other_things_stay_where_force_is_given(trucks, out, did):
    out.mkdir()
    (out / "notes.txt").write_text("mine")
    run(trucks, out, QUICK, Hands(), force=True)
    assert (out / "notes.txt").read_text() == "mine"
    assert len(rows(out)) == 4


def test_the_results_of_another_folder_are_refused(trucks, out, did):
    run(trucks, out, QUICK, Hands())
    other = trucks.rename(trucks.parent / "others")
    with pytest.raises(Problems) as raised:
        run(other, out, QUICK, Hands())
    assert words_of(raised) == ["file-exists"]
    assert run(other, out, QUICK, Hands(), force=True).taken == 4


def test_a_file_in_place_of_the_folder_is_refused(trucks, out):
    out.write_text("mine")
    with pytest.raises(Problems) as raised:
        run(trucks, out, QUICK, Hands(), force=True)
    assert words_of(raised) == ["not-a-folder"]

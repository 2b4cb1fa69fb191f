"""One job to one outcome, whatever happens in it."""

from dataclasses import replace

import pytest

import combo.batch.work as work
from combo.batch.work import ERROR, NOTHING_FITS, PROBLEMS, RANKED, rank_job
from combo.read.load import load
from combo.search.filter import space_of
from combo.search.topk import rank


def test_the_outcome_tells_the_first_build_of_the_ranking(tasks):
    done = rank_job(tasks[2])
    loaded = load(tasks[2].job.file)
    first = rank(space_of(loaded.job, loaded.parts), 2).ranked[0]
    assert done.outcome.status == RANKED
    assert done.outcome.builds == 2
    assert (done.outcome.best.score, done.outcome.best.cost_cents) == (first.score, first.totals["cost_cents"])
    assert done.outcome.best.binding == first.binding.check.id


def test_a_job_that_nothing_fits_has_an_answer_without_a_build(tasks):
    outcome = rank_job(tasks[3]).outcome
    assert (outcome.status, outcome.builds, outcome.best, outcome.proven) == (NOTHING_FITS, 0, None, True)


def test_what_is_wrong_with_a_job_stands_in_its_outcome(trucks, tasks):
    text = tasks[0].job.file.read_text().replace('"118 in"', '"118 lb"')
    tasks[0].job.file.write_text(text)
    task = replace(tasks[0], job=work.job_file("a.toml", tasks[0].job.file))
    outcome = rank_job(task).outcome
    assert (outcome.status, outcome.problems[0].word) == (PROBLEMS, "wrong-dimension")


def test_a_defect_of_ours_is_told_with_type_text_and_place(tasks, monkeypatch):
    def broken(*_):
        raise ZeroDivisionError("one by\nnothing")

    monkeypatch.setattr(work, "space_of", broken)
    outcome = rank_job(tasks[0]).outcome
    assert outcome.status == ERROR
    assert outcome.error.startswith("ZeroDivisionError: one by nothing (test_work.py, line ")


@pytest.mark.parametrize("name", ["a.toml", "lists/wheels.csv"])
def test_a_file_that_has_changed_since_the_batch_began_gives_no_answer(trucks, tasks, name):
    path = trucks / name
    path.write_text(path.read_text() + "\n")
    outcome = rank_job(tasks[0]).outcome
    assert outcome.status == ERROR
    assert "not, where it ran, as they were when the batch began" in outcome.error


def test_a_job_that_is_not_seen_where_it_runs_has_no_problem_of_its_own(tasks):
    tasks[0].job.file.unlink()
    outcome = rank_job(tasks[0]).outcome
    assert (outcome.status, outcome.problems) == (ERROR, ())


def test_another_version_where_it_runs_gives_no_answer(tasks):
    outcome = rank_job(replace(tasks[0], version="0.0.1")).outcome
    assert outcome.status == ERROR
    assert "0.0.1 where the batch was started" in outcome.error


def test_a_workbook_comes_where_it_is_asked_for(tasks):
    asked = replace(tasks[0], options=replace(tasks[0].options, workbooks=True))
    assert rank_job(asked).workbook[:2] == b"PK"
    assert rank_job(tasks[0]).workbook is None

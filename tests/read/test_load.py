"""A job and its lists, read together: all of them, or every problem at once."""

import subprocess
import sys

import pytest
import smallest

from combo.problems import Problems
from combo.read.load import load

JOB = smallest.JOB + 'wheels = ["wheels.csv"]\n'
LISTS = {
    "wheels.csv": "sku,size,bolt_circle,backspace_in,price,Color\nW-1,15x8,6x5.5 in,4 1/2,64.00,gray\n",
    "tires.csv": "sku,designation,price\nT-1,P235/75R15 105S,95.00\n",
    "ratios.csv": "sku,ratio,ring_teeth,pinion_teeth,price\nG-1,3.73,41,11,189.00\n",
    "differentials.csv": "sku,type,ratio_min,ratio_max,price\nD-1,open,3.55,4.88,140.00\n",
}
BROKEN = {
    "job.toml": JOB.replace('"117.5 in"', '"3200 lb"'),
    "wheels.csv": LISTS["wheels.csv"].replace("64.00", "sixty"),
    "tires.csv": LISTS["tires.csv"] + "T-2,round,80\n",
    "ratios.csv": LISTS["ratios.csv"].replace("3.73", "3.55"),
}
"""Four problems in four files."""


@pytest.fixture
def written(tmp_path):
    """Path of a job written beside its lists; an argument replaces a file, None leaves it out."""

    def write(**replaced):
        names = {name.replace("_", "."): text for name, text in replaced.items()}
        for name, text in ({"job.toml": JOB} | LISTS | names).items():
            if text is not None:
                (tmp_path / name).write_text(text, encoding="utf-8")
        return tmp_path / "job.toml"

    return write


@pytest.fixture
def broken(written):
    """Problems of a job with several broken files."""
    return problems_of(written(**{name.replace(".", "_"): text for name, text in BROKEN.items()}))


def problems_of(path):
    with pytest.raises(Problems) as caught:
        load(path)
    return caught.value


def test_a_sound_job_loads_without_a_notice(written):
    assert load(written()).notices == ()


@pytest.mark.parametrize(
    ("plural", "column", "value"),
    [
        ("wheels", "offset_mm", 0.0),  # 114.3 - (203.2 + 25.4) / 2
        ("tires", "overall_diameter_mm", 733.0),
        ("ratios", "ratio", 3.73),
        ("differentials", "ratio_max", 4.88),
    ],
)
def test_every_list_is_a_table_of_sizes(written, plural, column, value):
    assert load(written()).parts.table(plural)[column].to_list() == pytest.approx([value])


@pytest.mark.parametrize("plural", ["spacers", "ballast"])
def test_a_list_that_is_not_given_is_an_empty_table(written, plural):
    assert load(written()).parts.table(plural)["sku"].to_list() == []


def test_columns_that_no_field_claims_are_kept(written):
    assert load(written()).parts.extra["wheels"].to_dict("list") == {"Color": ["gray"]}


def test_a_suppliers_words_are_mapped_by_the_job(written):
    job = JOB + '[files.headers.wheels]\n"Felge" = "size"\n"Hinterkante" = "backspace_mm"\n'
    wheels = "sku,Felge,bolt_circle,Hinterkante,price\nW-1,15x8,6x5.5 in,114.3,64.00\n"
    table = load(written(job_toml=job, wheels_csv=wheels)).parts.wheels
    assert table[["rim_width_mm", "offset_mm"]].iloc[0].to_list() == pytest.approx([203.2, 0.0])


def test_mapped_words_hold_for_their_own_list_alone(written):
    job = JOB + '[files.headers.tires]\n"Felge" = "designation"\n'
    wheels = LISTS["wheels.csv"].replace("Color", "Felge")
    loaded = load(written(job_toml=job, wheels_csv=wheels))
    assert list(loaded.parts.extra["wheels"].columns) == ["Felge"]


def test_a_row_that_is_set_aside_stops_nothing(written):
    wheels = LISTS["wheels.csv"].replace("price", "offset_mm,price").replace("64.00", "40,64.00")
    loaded = load(written(wheels_csv=wheels + "W-2,15x7,6x5.5 in,4,,66.00,gray\n"))
    assert [one.problem.word for one in loaded.aside["wheels"]] == ["backspace-and-offset"]


def test_problems_of_all_files_are_told_at_once(broken):
    assert [(one.place.file, one.word) for one in broken.problems] == [
        ("job.toml", "wrong-dimension"),
        ("ratios.csv", "ratio-and-teeth"),
        ("tires.csv", "not-a-designation"),
        ("wheels.csv", "not-a-number"),
    ]


def test_the_last_line_counts_problems_and_files(broken):
    assert broken.text().splitlines()[-1] == "4 problems in 4 files; nothing was written."


def test_there_is_one_line_a_problem(broken):
    assert len(broken.text().splitlines()) == 5


@pytest.mark.parametrize("part", ["word", "found", "accepted"])
def test_every_problem_says_what_was_found_and_what_is_accepted(broken, part):
    assert all(getattr(problem, part) for problem in broken.problems)


def test_every_problem_names_its_file(broken):
    assert {problem.place.file for problem in broken.problems} == set(BROKEN)


def test_a_missing_list_and_a_bad_one_are_told_together(written):
    found = problems_of(written(wheels_csv=None, tires_csv="")).problems
    assert [(one.place.file, one.word) for one in found] == [
        ("tires.csv", "empty-file"),
        ("wheels.csv", "missing-file"),
    ]


def test_a_list_is_read_beside_a_job_that_does_not_name_its_truck(written):
    job = JOB.replace('[truck]\nwheelbase = "117.5 in"\n', "")
    found = problems_of(written(job_toml=job, ratios_csv=BROKEN["ratios.csv"])).problems
    assert [(one.place.file, one.word) for one in found] == [
        ("job.toml", "missing-key"),
        ("ratios.csv", "ratio-and-teeth"),
    ]


def test_a_part_in_two_lists_of_one_supplier_is_set_aside_in_the_second(written, tmp_path):
    (tmp_path / "more.csv").write_text(LISTS["wheels.csv"], encoding="utf-8")
    job = JOB.replace('["wheels.csv"]', '["wheels.csv", "more.csv"]')
    loaded = load(written(job_toml=job))
    assert [(one.problem.place.file, one.why) for one in loaded.aside["wheels"]] == [("more.csv", "twice")]


def test_a_missing_job_is_told_alone(tmp_path):
    assert [one.word for one in problems_of(tmp_path / "job.toml").problems] == ["missing-file"]


def test_reading_a_job_twice_tells_the_same(written):
    path = written(**{name.replace(".", "_"): text for name, text in BROKEN.items()})
    assert problems_of(path).text() == problems_of(path).text()


BESIDE = """
import os, sys
from pathlib import Path
import combo.read.load as reading
from combo.problems import Problems

first, read_lists = os.getpid(), reading.read_lists

def noted(kind, *rest):
    os.write(1, f"{{kind.plural}} {{'here' if os.getpid() == first else 'beside'}}\\n".encode())  # a line at once
    {meanwhile}
    return read_lists(kind, *rest)

reading.LONG, reading.spare_cores, reading.read_lists = 1, lambda: {spare}, noted
try:
    parts = reading.load(Path(sys.argv[1])).parts
    print(*(table.to_csv() for table in (parts.wheels, parts.tires, parts.ratios, parts.differentials)))
except Problems as found:
    print(found.text())
"""
LONGEST = ["wheels here", "spacers here", "ballast here", "nuts here"]
"""The longest list, and those that there are not."""
forking = pytest.mark.skipif(sys.platform != "linux", reason="lists are read side by side where forks are safe")


def told_of(job, spare, meanwhile="pass"):
    """Which process reads which lists, in alphabetical order, and what there is to tell of them."""
    script = BESIDE.format(spare=spare, meanwhile=meanwhile)
    done = subprocess.run([sys.executable, "-c", script, str(job)], capture_output=True, text=True, check=True)
    lines = done.stdout.splitlines()
    notes = [line for line in lines if line.endswith((" here", " beside"))]
    return sorted(notes), [line for line in lines if line not in notes]


@forking
@pytest.mark.parametrize("files", [{}, BROKEN], ids=["good", "broken"])
def test_long_lists_read_by_other_processes_are_those_read_by_this_one(written, files):
    job = written(**{name.replace(".", "_"): text for name, text in files.items()})
    notes, told = told_of(job, spare=2)
    assert notes == sorted([*LONGEST, "tires beside", "ratios beside", "differentials beside"])
    assert told == told_of(job, spare=0)[1]


@forking
def test_lists_are_read_by_this_process_where_another_has_died(written):
    notes, told = told_of(written(), spare=1, meanwhile="os.getpid() == first or os._exit(1)")
    assert {"tires here", "ratios here", "differentials here"} <= set(notes)
    assert told == told_of(written(), spare=0)[1]

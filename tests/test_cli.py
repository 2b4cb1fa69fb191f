"""The command line as a user meets it."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from combo.checks import CHECKS

ROOT = Path(__file__).parents[1]
EXAMPLE = ROOT / "examples" / "orchard_pickup" / "job.toml"


def run(*words, seed="0", cwd=ROOT):
    """A combo command in a process of its own."""
    command = [sys.executable, "-m", "combo", *map(str, words)]
    environment = {**os.environ, "PYTHONHASHSEED": seed}
    return subprocess.run(command, capture_output=True, text=True, cwd=cwd, env=environment, check=False)


@pytest.fixture(scope="module")
def starter(tmp_path_factory):
    folder = tmp_path_factory.mktemp("starter") / "job"
    assert run("new", folder).returncode == 0
    return folder


def test_the_starter_runs_as_it_is(starter):
    answer = run("rank", starter / "job.toml", "--top", 2)
    assert answer.returncode == 0
    assert "Proven" in answer.stdout


def test_a_reader_that_closes_its_end_is_no_error_of_ours(starter):
    command = [sys.executable, "-m", "combo", "rank", str(starter / "job.toml")]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=ROOT) as process:
        process.stdout.close()
        assert "Traceback" not in process.stderr.read()


def test_a_folder_stands_for_its_job_file(starter):
    assert run("check", starter).returncode == 0


def test_the_same_input_gives_the_same_bytes_whatever_the_hash_seed(starter):
    answers = [run("rank", starter / "job.toml", "--json", seed=seed).stdout for seed in ("1", "2")]
    assert answers[0] == answers[1]


def test_a_wrong_key_is_told_with_its_line_and_exits_2(starter, tmp_path):
    text = (starter / "job.toml").read_text().replace("room_inner", "room_iner", 1)
    (starter / "wrong.toml").write_text(text)
    answer = run("rank", starter / "wrong.toml")
    assert answer.returncode == 2
    assert 'the nearest known key is "room_inner"' in answer.stderr
    assert answer.stdout == ""


def test_problems_are_json_where_json_was_asked(starter):
    (starter / "mass.toml").write_text((starter / "job.toml").read_text().replace('"118 in"', '"118 lb"'))
    answer = run("rank", starter / "mass.toml", "--json")
    problem = json.loads(answer.stdout)["problems"][0]
    assert (problem["word"], problem["column"]) == ("wrong-dimension", "wheelbase")


def test_nothing_that_fits_exits_1(starter):
    (starter / "poor.toml").write_text((starter / "job.toml").read_text().replace('"$3,200"', '"$100"'))
    answer = run("rank", starter / "poor.toml")
    assert answer.returncode == 1
    assert "No build: no build passes every check." in answer.stdout


def test_a_time_limit_that_cuts_short_is_said(starter):
    answer = run("rank", starter / "job.toml", "--time-limit", "0.01")
    assert "NOT PROVEN" in answer.stdout or "none was found before the search was cut short" in answer.stdout
    assert answer.returncode == 3


def test_csv_goes_to_standard_output(starter):
    answer = run("rank", starter / "job.toml", "--csv", "--top", 1)
    assert answer.stdout.startswith("rank,score,front_wheel")


def test_why_explains_a_choice_as_json(starter):
    answer = run("why", starter / "job.toml", "--wheel", "W-1570-40", "--tire", "T-2157515-P", "--json")
    told = json.loads(answer.stdout)
    assert told["verdict"] in {"pass", "fail", "unverified"}
    assert {"inner_sidewall", "rim_width"} <= {check["check"] for check in told["checks"]}


def test_why_of_a_tire_alone_tells_the_best_build_with_it(starter):
    told = json.loads(run("why", starter / "job.toml", "--tire", "T-2157515-P", "--json").stdout)["standing"]
    assert told["build"] is None or told["build"]["parts"]["front"]["tire"] == "T-2157515-P"
    assert (told["build"] is None) == bool(told["conflicts"])


def test_why_tells_as_many_conflicts_and_changes_as_are_asked_for(starter):
    (starter / "poor.toml").write_text((starter / "job.toml").read_text().replace('"$3,200"', '"$100"'))
    ask = "why", starter / "poor.toml", "--tire", "T-2157515-P", "--json", "--most"
    told = json.loads(run(*ask, "1").stdout)["standing"]
    assert (len(told["conflicts"]), len(told["changes"])) == (1, 1)


def test_why_takes_ballast_without_a_station_for_parts_alone(starter):
    told = json.loads(run("why", starter / "job.toml", "--ballast", "B-SAND60", "--json").stdout)["standing"]
    assert "B-SAND60" in {lot["item"] for lot in told["build"]["parts"]["ballast"]}


def test_stuck_tells_what_must_give_way_and_exits_1(starter):
    (starter / "poor.toml").write_text((starter / "job.toml").read_text().replace('"$3,200"', '"$100"'))
    answer = run("stuck", starter / "poor.toml", "--json")
    told = json.loads(answer.stdout)
    assert answer.returncode == 1
    assert told["changes"][0]["limits"][0]["check"] == "budget"
    assert told["changes"][0]["build"]["failing"][0]["check"] == "budget"
    assert "more budget, the best build" in run("stuck", starter / "poor.toml").stdout


def test_a_job_with_a_build_is_not_stuck(starter):
    answer = run("stuck", starter / "job.toml")
    assert (answer.returncode, "Not stuck" in answer.stdout) == (0, True)


def test_near_misses_fail_one_check_each(starter):
    told = json.loads(run("near", starter / "job.toml", "--top", 2, "--json").stdout)["near"]
    assert [len(one["build"]["failing"]) for one in told] == [1, 1]
    assert "One limit away, best first (2):" in run("near", starter / "job.toml", "--top", 2).stdout


def test_builds_are_compared_side_by_side(starter):
    assert len(json.loads(run("compare", starter / "job.toml", 1, 2, "--json").stdout)["gives_up"]) == 2
    assert "gives up" in run("compare", starter / "job.toml", 1, 2).stdout
    assert run("compare", starter / "job.toml", 1, 1).returncode == 2


def test_a_funnel_is_drawn_once(starter):
    path = starter / "funnel.svg"
    assert run("funnel", starter / "job.toml", "--picture", path).returncode == 0
    assert path.read_text(encoding="utf-8").startswith("<svg")
    assert run("funnel", starter / "job.toml", "--picture", path).returncode == 2
    assert {one["kind"] for one in json.loads(run("funnel", starter / "job.toml", "--json").stdout)["funnel"]} >= {
        "front wheel",
        "drive",
    }


def test_rank_tells_what_stops_a_better_build_beside_the_tightest(starter):
    told = json.loads(run("rank", starter / "job.toml", "--top", 2, "--stops", "--json").stdout)["builds"]
    assert all(build["binding"] and build["tightest"] for build in told)


def test_limits_tells_the_steps_of_one_as_json(starter):
    answer = json.loads(run("limits", starter / "job.toml", "--of", "budget", "--json").stdout)
    (budget,) = answer["limits"]
    moved = [step["moved"] for step in budget["steps"]]
    assert (budget["check"], budget["unit"], answer["format"]) == ("budget", "cents", 1)
    assert moved == sorted(moved, reverse=True)
    assert answer["now"]["score"] == budget["steps"][0]["build"]["score"]


def test_a_limit_that_is_never_moved_is_refused_and_exits_2(starter):
    answer = run("limits", starter / "job.toml", "--of", "tire_load")
    assert answer.returncode == 2
    assert 'found "tire_load", which is no limit that moves' in answer.stderr


def test_export_writes_a_workbook_once(starter):
    path = starter / "out.xlsx"
    assert run("export", starter / "job.toml", "-o", path, "--top", 2).returncode == 0
    assert run("export", starter / "job.toml", "-o", path, "--top", 2).returncode == 2


def test_the_readme_tells_every_constraint():
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    rows = {check.id: f"| `{check.id}` | {check.name} |" for check in CHECKS}
    assert [check.id for check in CHECKS if rows[check.id] not in readme or check.formula not in readme] == []


def test_the_readmes_run_line_names_the_example():
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    assert f"combo rank {EXAMPLE.relative_to(ROOT)}" in readme


def test_export_takes_the_name_of_a_workbook_only(starter):
    answer = run("export", starter / "job.toml", "-o", starter / "out.csv")
    assert answer.returncode == 2
    assert ".xlsx is accepted" in answer.stderr


def test_export_without_a_build_exits_1_and_says_so(starter):
    text = (starter / "job.toml").read_text(encoding="utf-8").replace('budget = "$3,200"', 'budget = "$1"')
    (starter / "poor.toml").write_text(text, encoding="utf-8")
    answer = run("export", starter / "poor.toml", "-o", starter / "poor.xlsx")
    assert (answer.returncode, "No build" in answer.stderr) == (1, True)


def test_why_without_a_part_says_that_there_is_nothing_to_check(starter):
    assert run("why", starter / "job.toml").stdout.startswith("Nothing to check")


def test_a_part_that_passes_is_not_called_a_build_that_works(starter):
    answer = run("why", starter / "job.toml", "--tire", "T-2157515-P")
    assert "So far so good" in answer.stdout
    assert answer.stdout.startswith(("The best build with it scores", "No build can use"))


def test_strict_names_the_measurement_that_is_missing(starter):
    text = (starter / "job.toml").read_text(encoding="utf-8").replace('envelope_diameter = "12 3/4 in"', "")
    (starter / "strict.toml").write_text(text.replace("strict = false", "strict = true"), encoding="utf-8")
    answer = run("rank", starter / "strict.toml")
    assert answer.returncode == 1
    assert "strict, and not measured: [brakes.front] envelope_diameter" in answer.stdout
    assert "not verified" in answer.stdout


def test_measure_prints_the_sheet_and_writes_it_once(starter):
    assert run("measure", starter / "job.toml").stdout.startswith("Measuring sheet: Starter job")
    assert run("measure", starter / "job.toml", "--blank", "-o", starter / "sheet.txt").returncode == 0
    assert run("measure", starter / "job.toml", "-o", starter / "sheet.txt").returncode == 2


def test_an_interrupt_during_the_search_prints_what_is_found_so_far():
    watch = (
        "import signal, sys, os; from combo.search import topk as ranking; tell = ranking.Search.tell\n"
        "def told(self, *found):\n    os.kill(os.getpid(), signal.SIGINT); tell(self, *found)\n"
        "ranking.Search.tell = told\nfrom combo.cli import main; main()"
    )
    command = [sys.executable, "-c", watch, "rank", str(EXAMPLE)]
    answer = subprocess.run(command, capture_output=True, text=True, cwd=ROOT, check=False)
    assert "NOT PROVEN" in answer.stdout or "that proves nothing" in answer.stdout
    assert (answer.returncode, "Traceback" in answer.stderr) == (130, False)


FITTED = """
[fitted.rear]
wheel = "W-1570-40"
tire = "T-2157515-P"
inner = "{inner}"
"""


def with_fitted(starter, name, text):
    path = starter / name
    path.write_text((starter / "job.toml").read_text(encoding="utf-8") + text, encoding="utf-8")
    return path


def test_fitted_tells_what_is_off_in_sixteenths_and_exits_0(starter):
    # The wheel has 4 - (7 + 1) / 2 = 0 in of offset; the tire is 215 + 0.4 (177.8 - 0.7 x 215) = 225.9 mm wide: of
    # 5 1/4 in, 133.35 - 112.96 = 20.39 mm are left; 2 in are 30.41 mm, 1 3/16 in, more; the room is then 163.76 mm
    answer = run("fitted", with_fitted(starter, "fitted.toml", FITTED.format(inner="2 in")))
    assert answer.returncode == 0
    assert answer.stdout.startswith("1 of 1 measurement is off by more than the plus-or-minus.")
    assert "- Rear: inner is 1 3/16 in more than computed. Any one of these explains it:" in answer.stdout
    assert 'set wheelhouse.rear.room_inner = "6 7/16 in" (now 5 1/4 in)' in answer.stdout
    assert "To tell them apart, measure outer and rim_inner in [fitted.rear]." in answer.stdout


def test_fitted_within_the_tape_says_so(starter):
    path = with_fitted(starter, "fitted.toml", FITTED.format(inner="13/16 in"))
    assert "the one measurement is within your tape" in run("fitted", path).stdout
    (own,) = json.loads(run("fitted", path, "--json").stdout)["fitted"]
    assert (own["within"], own["where"]) == (True, "rear")


def test_a_fitted_part_that_no_list_has_is_one_problem_and_exits_2(starter):
    path = with_fitted(starter, "fitted.toml", FITTED.format(inner="2 in").replace("W-1570-40", "W-1570-4O"))
    answer = run("fitted", path)
    assert answer.returncode == 2
    assert answer.stderr.startswith('fitted.toml, [fitted.rear], key "wheel": no wheel "W-1570-4O"; the nearest listed')
    assert answer.stdout == ""


def test_fitted_with_nothing_measured_exits_2_and_names_the_keys(starter):
    answer = run("fitted", starter / "job.toml")
    assert (answer.returncode, "any of inner, outer" in answer.stderr) == (2, True)

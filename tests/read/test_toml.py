"""job.toml to a Job: values with their units, and every problem with its line."""

import math
import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from combo.job import About
from combo.problems import Report
from combo.read.toml import line_of_keys, read_job
from combo.units import BoltCircle

ROOT = Path(__file__).parents[2]
LINES = [
    "[job]",
    'name = "A job"',
    "[truck]",
    'wheelbase = "117.5 in"',
    "[hub.front]",
    'bolt_circle = "6x5.5 in"',
    "[hub.rear]",
    'bolt_circle = "6 on 5 1/2"',
    "[files]",
    'wheels = "wheels.csv"',
    'tires = ["tires.csv", { path = "yard.xlsx", sheet = "Stock" }]',
    'ratios = "ratios.csv"',
    'differentials = "differentials.csv"',
]
"""Line n of the smallest job is LINES[n - 1]."""
AFTER = len(LINES) + 1
"""Number of the first line that a test adds."""


@pytest.fixture
def read(tmp_path):
    """The job of some lines, and its problems."""

    def read_lines(*more, drop=None, change=None):
        lines = [(change or {}).get(number, line) for number, line in enumerate(LINES, start=1) if number != drop]
        path = tmp_path / "job.toml"
        path.write_text("\n".join([*lines, *more]) + "\n", encoding="utf-8")
        report = Report()
        job, files = read_job(path, report)
        return job, files, report.problems

    return read_lines


def only(problems):
    assert len(problems) == 1
    return problems[0]


def test_the_smallest_job_reads(read):
    job, _, problems = read()
    assert (problems, job.job, job.truck.wheelbase_mm) == ([], About("A job"), 2984.5)


def test_a_hub_has_its_bolt_circle(read):
    assert read()[0].hub.rear.bolt_circle == BoltCircle(6, 139.7)


def test_a_measurement_not_given_is_nan(read):
    assert math.isnan(read()[0].wheelhouse.front.room_inner_mm)


def test_a_clearance_not_given_is_half_an_inch(read):
    assert read()[0].wheelhouse.front.clearance_inner_mm == 12.7


@pytest.mark.parametrize(
    ("lines", "table", "attribute", "value"),
    [
        (("[targets]", 'cruise_speed = "60 mph"'), "targets", "cruise_speed_km_h", 96.56064),
        (("[targets]", 'rear_load = "2150 lb"'), "targets", "rear_load_kg", 975.2235955),
        (("[targets]", 'rake = "-1 in"'), "targets", "rake_mm", -25.4),
        (("[money]", 'budget = "$3,400"'), "money", "budget_cents", 340000),
        (("[money]", "budget = 3400"), "money", "budget_cents", 340000),
        (("[money]", 'tax = "8.25 %"'), "money", "tax_ppm", 82500),
        (("[money]", "tax = 0.0825"), "money", "tax_ppm", 82500),
        (("[axle]", "splines = 30"), "axle", "splines", 30),
        (("[transmission]", "cruise_gear = 0.70"), "transmission", "cruise_gear", 0.7),
        (("[order]", 'criteria = ["cost", "fit"]'), "order", "criteria", ("cost", "fit")),
    ],
)
def test_a_value_reads_into_one_unit(read, lines, table, attribute, value):
    job, _, problems = read(*lines)
    assert problems == []
    assert getattr(getattr(job, table), attribute) == pytest.approx(value)


def test_paths_are_taken_from_the_folder_of_the_job(read, tmp_path):
    assert read()[1].wheels[0].path == str(tmp_path / "wheels.csv")


def test_a_list_of_files_may_name_a_sheet(read):
    assert [(file.shown, file.sheet) for file in read()[1].tires] == [("tires.csv", None), ("yard.xlsx", "Stock")]


def test_a_suppliers_words_are_kept_by_list(read):
    files = read("[files.headers.wheels]", '"Lochkreis" = "bolt_circle"')[1]
    assert files.headers == {"wheels": {"Lochkreis": "bolt_circle"}}


def test_an_unknown_key_is_told_with_its_line_and_the_nearest_known_key(read):
    problem = only(read("[wheelhouse.rear]", 'room_iner = "6 in"')[2])
    assert problem.word == "unknown-key"
    assert problem.text() == (
        f'job.toml, line {AFTER + 1}, [wheelhouse.rear]: unknown key "room_iner"; the nearest known key is "room_inner"'
    )


def test_an_unknown_key_that_is_near_nothing_is_told_with_the_known_ones(read):
    problem = only(read("[rolling]", "zzz = 1")[2])
    assert problem.accepted.startswith("known are: factor, ")


def test_an_unknown_table_is_told_with_its_line(read):
    problem = only(read("[wheelhous.rear]", 'room_inner = "6 in"')[2])
    assert (problem.word, problem.place.row) == ("unknown-table", AFTER)


def test_an_unknown_list_is_told(read):
    problem = only(read("[files.headers.wheel]", '"Felge" = "size"')[2])
    assert (problem.word, problem.place.row, problem.accepted) == (
        "unknown-key",
        AFTER,
        'the nearest known key is "wheels"',
    )


def test_a_missing_key_is_told_at_its_table(read):
    problem = only(read(drop=4)[2])
    assert (problem.word, problem.place.table, problem.place.column, problem.place.row) == (
        "missing-key",
        "truck",
        "wheelbase",
        3,
    )


def test_a_missing_list_is_told(read):
    problem = only(read(drop=10)[2])
    assert (problem.word, problem.place.table, problem.place.column) == ("missing-key", "files", "wheels")


def test_a_mass_where_a_length_belongs_is_told_with_its_line(read):
    problem = only(read(change={4: 'wheelbase = "3200 lb"'})[2])
    assert problem.word == "wrong-dimension"
    assert problem.text() == (
        'job.toml, line 4, [truck], key "wheelbase": found "3200 lb", a mass; '
        'a length is accepted, such as 5 1/4 in, 5.25" or 133 mm'
    )


@pytest.mark.parametrize("typed", ['"117.5"', "117.5", "117"])
def test_a_number_without_a_unit_is_told_with_its_line(read, typed):
    problem = only(read(change={4: f"wheelbase = {typed}"})[2])
    assert (problem.word, problem.place.row) == ("no-unit", 4)


@pytest.mark.parametrize("typed", ['"0 in"', '"-117.5 in"'])
def test_an_impossible_size_is_told(read, typed):
    problem = only(read(change={4: f"wheelbase = {typed}"})[2])
    assert (problem.word, problem.found) == ("not-positive", f"found {typed}")


@pytest.mark.parametrize("typed", ["nan", "inf", '"nan"', "true", "[1]"])
def test_what_is_no_number_is_refused(read, typed):
    assert only(read("[rolling]", f"factor = {typed}")[2]).place.row == AFTER + 1


def test_a_broken_number_of_splines_is_refused(read):
    assert only(read("[axle]", "splines = 30.5")[2]).word == "not-whole"


def test_weights_and_order_together_are_refused(read):
    problem = only(read("[weights]", "cost = 1", "[order]", 'criteria = ["cost"]')[2])
    assert (problem.word, problem.place.row) == ("weights-and-order", AFTER + 2)


def test_weights_that_are_all_zero_are_refused(read):
    assert only(read("[weights]", "cost = 0")[2]).word == "no-weight"


@pytest.mark.parametrize("typed", ["-1", "101", "1.5", '"1"', "true"])
def test_a_weight_is_a_whole_number_up_to_100(read, typed):
    problem = only(read("[weights]", f"cost = {typed}")[2])
    assert (problem.word, problem.place.row) == ("not-a-weight", AFTER + 1)


def test_an_unknown_weight_is_told_with_the_nearest(read):
    problem = only(read("[weights]", "cots = 1")[2])
    assert (problem.word, problem.accepted) == ("unknown-key", 'the nearest known key is "cost"')


def test_every_wrong_weight_is_told(read):
    assert len(read("[weights]", "cost = -1", "fit = -1")[2]) == 2


def test_an_unknown_criterion_of_the_order_is_told(read):
    problem = only(read("[order]", 'criteria = ["cots"]')[2])
    assert (problem.word, problem.accepted) == ("unknown-criterion", 'the nearest known is "cost"')


def test_a_criterion_that_stands_twice_is_told(read):
    assert only(read("[order]", 'criteria = ["cost", "cost"]')[2]).word == "duplicate-name"


def test_a_band_from_high_to_low_is_told(read):
    problem = only(read("[targets]", 'cruise_min = "2150 rpm"', 'cruise_max = "1750 rpm"')[2])
    assert (problem.word, problem.place.row) == ("band-reversed", AFTER + 1)


def test_an_aim_outside_the_band_is_told(read):
    lines = ("[targets]", 'cruise_min = "1750 rpm"', 'cruise_max = "2150 rpm"', 'cruise_aim = "2200 rpm"')
    assert only(read(*lines)[2]).word == "outside-band"


def test_a_case_that_is_not_named_is_told_with_the_nearest(read):
    lines = (
        "[loads]",
        'cases = ["loaded"]',
        "[[loads.items]]",
        'name = "crates"',
        'mass = "600 lb"',
        'station = "2 in"',
        'cases = ["laoded"]',
    )
    problem = only(read(*lines)[2])
    assert (problem.word, problem.place.row) == ("unknown-case", AFTER + 6)


def test_a_value_in_the_second_entry_of_a_list_has_its_own_line(read):
    lines = (
        "[[loads.items]]",
        'name = "driver"',
        'mass = "190 lb"',
        'station = "66 in"',
        "[[loads.items]]",
        'name = "crates"',
        'mass = "600 in"',
        'station = "2 in"',
    )
    problem = only(read(*lines)[2])
    assert (problem.word, problem.place.row) == ("wrong-dimension", AFTER + 6)


def test_a_format_of_the_future_is_refused(read):
    assert only(read(change={2: 'name = "A job"\nformat = 2'})[2]).word == "unknown-format"


def test_a_word_that_a_key_does_not_know_is_refused(read):
    problem = only(read(change={2: 'name = "A job"\nunits = "furlong"'})[2])
    assert (problem.word, problem.accepted) == ("unknown-word", "accepted are: inch, metric")


def test_all_problems_of_a_job_are_told_at_once(read):
    problems = read("[rolling]", "zzz = 1", change={4: 'wheelbase = "3200 lb"', 6: 'bolt_circle = "six"'})[2]
    assert sorted(one.place.row for one in problems) == [4, 6, AFTER + 1]


def test_a_job_that_is_no_toml_is_told_with_its_line(read):
    problem = only(read("what is this")[2])
    assert (problem.word, problem.place.row) == ("not-toml", AFTER)


def test_a_missing_job_is_told(tmp_path):
    report = Report()
    read_job(tmp_path / "job.toml", report)
    assert only(report.problems).word == "missing-file"


def test_a_folder_in_place_of_a_job_is_told(tmp_path):
    report = Report()
    read_job(tmp_path, report)
    assert only(report.problems).word == "not-a-file"


def test_a_job_that_is_not_utf_8_is_told(tmp_path):
    path = tmp_path / "job.toml"
    path.write_bytes('name = "Größe"'.encode("latin-1"))
    report = Report()
    read_job(path, report)
    assert only(report.problems).word == "not-utf-8"


def test_a_job_with_a_byte_order_mark_reads(tmp_path):
    path = tmp_path / "job.toml"
    path.write_text("\n".join(LINES), encoding="utf-8-sig")
    report = Report()
    job, _ = read_job(path, report)
    assert (report.problems, job.job.name) == ([], "A job")


def test_a_dotted_key_has_a_line():
    assert line_of_keys('[hub]\nfront.pilot = "78 mm"\n')[("hub", "front", "pilot")] == 2


def test_a_quoted_key_has_a_line():
    assert line_of_keys('[files.headers.wheels]\n"ET mm" = "offset_mm"\n')[("files", "headers", "wheels", "ET mm")] == 2


def test_a_quoted_key_may_hold_a_dot():
    assert line_of_keys('[files.headers.wheels]\n"Part No." = "sku"\n')[("files", "headers", "wheels", "Part No.")] == 2


def test_a_measurement_keeps_its_plus_or_minus(read):
    job, _, problems = read("[wheelhouse.rear]", 'room_inner = "5 in +- 1/16 in"')
    assert problems == []
    assert (job.wheelhouse.rear.room_inner_mm, job.tolerances) == (127.0, {"wheelhouse.rear.room_inner_mm": 1.5875})


def test_a_state_is_read_where_it_is_named(read):
    job = read("[wheelhouse.front.full_bump]", 'travel = "3 in"', 'lock = "30 deg"')[0]
    assert {name: (state.travel_mm, state.lock_deg) for name, state in job.wheelhouse.front.states().items()} == {
        "full_bump": (76.2, 30.0)
    }


@pytest.mark.parametrize(("typed", "fit"), [('"worst"', "worst"), ("0.99", 0.99), ('"99 %"', 0.99)])
def test_fit_is_a_word_or_a_chance(read, typed, fit):
    assert read("[targets]", f"fit = {typed}")[0].targets.fit == fit


@pytest.mark.parametrize(
    ("typed", "word"), [('"worse"', "unknown-word"), ("0.4", "not-a-chance"), ("1", "not-a-chance")]
)
def test_another_fit_is_told_with_what_is_accepted(read, typed, word):
    problem = only(read("[targets]", f"fit = {typed}")[2])
    assert problem.word == word
    assert "nominal, worst, or a chance above 0.5" in problem.accepted


def test_gears_are_a_list_of_numbers(read):
    assert read("[transmission]", "gears = [2.48, 1.48, 1.0]")[0].transmission.gears == (2.48, 1.48, 1.0)


def test_a_torque_curve_that_does_not_rise_in_speed_is_a_problem(read):
    points = ["[[engine.torque]]", 'at = "2000 rpm"', 'torque = "300 lb-ft"'] * 2
    assert only(read(*points)[2]).word == "not-rising"


def test_a_travel_as_long_as_the_bar_is_a_problem(read):
    lines = ["[panhard]", 'rear_length = "30 in"', "[wheelhouse.rear.full_bump]", 'travel = "30 in"']
    assert only(read(*lines)[2]).word == "beyond-the-bar"


def test_freight_is_money_by_mass(read):
    assert read("[money]", 'freight = "$0.30/lb"')[0].money.freight_cents_per_kg == pytest.approx(66.1387, abs=1e-4)


def test_what_is_taxed_is_a_list_of_known_words(read):
    assert only(read("[money]", 'taxed = ["parts", "tips"]')[2]).word == "unknown-word"


def test_a_band_whose_ends_are_reversed_is_a_problem(read):
    assert only(read("[targets]", 'rake_min = "2 in"', 'rake_max = "1 in"')[2]).word == "band-reversed"


@pytest.mark.parametrize(
    ("lines", "word"),
    [
        (["[steering]", 'lock = "200 deg"'], "beyond-a-quarter"),
        (["[money]", 'tax = "108 %"'], "above-one"),
        (["[targets]", 'start_grade = "6"'], "above-one"),
        (["[transmission]", "gears = [2.5, 1.0]", "cruise_gear = 0.83"], "no-such-gear"),
        (["[wheelhouse.rear.full_bump]", 'travel = "-3 in"'], "travel-reversed"),
        (["[steering]", 'lock = "34 deg"', "[wheelhouse.front.full_bump]", 'lock = "44 deg"'], "lock-beyond-steering"),
        (["[wheelhouse.rear]", 'room_inner = "5 in +- 8 in"'], "not-a-tolerance"),
    ],
)
def test_what_cannot_be_meant_is_a_problem(read, lines, word):
    assert only(read(*lines)[2]).word == word


def test_an_offset_of_nothing_may_be_off_to_either_side(read):
    assert read("[present]", 'front_offset = "0 mm +- 2 mm"')[2] == []


HUB_LINE = 'bolt_circle = "6 on 5 1/2"'


def test_a_studs_thread_is_read_in_one_form(read):
    job, _, problems = read(change={8: HUB_LINE + '\nstud_thread = "1/2 - 20 UNF"'})
    assert (job.hub.rear.stud_thread, problems) == ("1/2-20", [])


def test_what_is_no_thread_is_told_with_its_line(read):
    problem = only(read(change={8: HUB_LINE + '\nstud_thread = "fine"'})[2])
    assert (problem.word, problem.place.row) == ("not-a-thread", 9)


# Both sides of the truck

BOTH = 'room_inner = { left = "5 1/2 in +- 1/16 in", right = "5 7/16 in" }'


def test_a_measurement_may_be_given_for_both_sides(read):
    job, _, problems = read("[wheelhouse.rear]", BOTH)
    path = "wheelhouse.rear.room_inner_mm"
    assert problems == []
    assert (job.wheelhouse.rear.room_inner_mm, job.sides) == (138.1125, {path: (139.7, 138.1125)})
    assert job.tolerances == {f"{path}.left": pytest.approx(1.5875)}


def test_a_state_may_have_both_sides_of_its_own(read):
    job, _, problems = read("[wheelhouse.rear.full_bump]", BOTH)
    assert (problems, list(job.sides)) == ([], ["wheelhouse.rear.full_bump.room_inner_mm"])


@pytest.mark.parametrize(
    ("typed", "word"),
    [
        ('room_inner = { left = "5 in" }', "one-side"),
        ('room_inner = { left = "5 in", rihgt = "5 in" }', "unknown-key"),
        ('clearance_inner = { left = "1/2 in", right = "1/2 in" }', "no-unit"),
        ('room_inner = { left = "5 lb", right = "5 in" }', "wrong-dimension"),
    ],
)
def test_what_is_no_pair_of_sides_is_told(read, typed, word):
    assert word in [problem.word for problem in read("[wheelhouse.rear]", typed)[2]]


def test_dual_wheels_are_refused_with_a_clear_word(read):
    problem = only(read("[axle.rear]", "dual = true")[2])
    assert (problem.word, problem.place.row, problem.found) == ("dual-wheels", AFTER + 1, "dual wheels")
    assert problem.accepted.startswith("single wheels are accepted")


def test_an_item_to_one_side_needs_the_track_of_both_axles(read):
    item = ["[[loads.items]]", 'name = "box"', 'mass = "50 lb"', 'station = "10 in"', 'lateral = "20 in"']
    problems = read(*item, "[axle.front]", 'track = "60 in"')[2]
    assert [(problem.word, problem.place.table) for problem in problems] == [("missing-key", "axle.rear")]


def test_a_trailer_needs_its_tongue_and_its_hitch(read):
    problems = read("[trailer]", 'mass = "3000 lb"')[2]
    assert [problem.place.column for problem in problems] == ["tongue", "station"]


def test_leveled_air_has_no_spring_rate(read):
    job, _, problems = read("[axle.rear]", 'spring_rate = "air, leveled"', "[axle.front]", 'spring_rate = "400 lb/in"')
    assert (problems, job.axle.rear.spring_rate_n_per_m) == ([], math.inf)
    assert job.axle.front.spring_rate_n_per_m == pytest.approx(400 * 4.4482216152605 / 0.0254)


@pytest.mark.parametrize(
    ("key", "before", "typed"),
    [("wheelbase", "117.5 in", "5 parsecs"), ("wheelbase", "117.5 in", "1e20 mm"), ("wheelbase", "117.5 in", "9e9 in")],
)
def test_a_size_beyond_every_truck_is_told(key, before, typed, tmp_path):
    path = tmp_path / "job.toml"
    text = (ROOT / "combo" / "starter" / "job.toml").read_text(encoding="utf-8")
    changed = re.sub(rf'^{key} = "[^"]*"', f'{key} = "{typed}"', text, count=1, flags=re.MULTILINE)
    assert changed != text
    path.write_text(changed, encoding="utf-8")
    report = Report()
    assert read_job(path, report)[0] is None
    assert [one.word for one in report.problems] == ["not-on-a-truck"]


@settings(max_examples=300, deadline=None)
@given(text=st.text(alphabet=st.characters(codec="utf-8"), max_size=60), at=st.integers(0, 20_000))
def test_any_text_in_a_job_is_read_or_told(text, at, tmp_path_factory):
    path = tmp_path_factory.mktemp("any") / "job.toml"
    starter = (ROOT / "combo" / "starter" / "job.toml").read_text(encoding="utf-8")
    where = at % len(starter)
    path.write_text(starter[:where] + text + starter[where + len(text) :], encoding="utf-8")
    report = Report()
    assert read_job(path, report)[0] is not None or report.problems


@pytest.mark.parametrize(
    "text", ["a = " + "[" * 100_000, "x" * 11_000_000, "[a]\n" * 200_000], ids=["deep", "long", "many"]
)
def test_a_job_that_nobody_writes_is_one_problem(text, tmp_path):
    (tmp_path / "job.toml").write_text(text, encoding="utf-8")
    report = Report()
    assert read_job(tmp_path / "job.toml", report)[0] is None
    assert len(report.problems) == 1

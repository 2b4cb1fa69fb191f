"""Tire designations: what each system settles, and what it leaves open."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combo.read.designation import decode, tidied
from combo.units import UnitError


@pytest.mark.parametrize(
    ("typed", "system"),
    [
        ("P235/75R15", "metric"),
        ("275/60R15 107H", "metric"),
        ("245/45ZR18", "metric"),
        ("LT265/75R16E 123/120Q", "metric"),
        ("31x10.50R15LT", "flotation"),
        ("7.50-16LT", "numeric light truck"),
        ("G78-15", "alphanumeric"),
        ("LR70-15", "alphanumeric"),
        ("8.15-15", "numeric"),
        ("7.75-14", "numeric"),
        ("7.50R16", "numeric"),
        ("31x10.50R15", "flotation"),
        ("31x10.50-15", "flotation"),
        ("LT31x10.50R15", "flotation"),
        ("165R15", "metric"),
        ("185R14C", "metric"),
        ("275/60HR15", "metric"),
        ("T125/80D15", "metric"),
        ("ST225/75R15", "metric"),
        ("235/75R15XL 109T", "metric"),
        ("10R22.5", "numeric"),
        ("8-19.5", "numeric"),
        ("8-14.5", "numeric"),
        ("9.50R16.5LT", "numeric light truck"),
        ("7.50-16C", "numeric light truck"),
        ("G78-15LT", "alphanumeric"),
    ],
)
def test_each_system_is_told_from_the_others(typed, system):
    assert decode(typed).system == system


@pytest.mark.parametrize(
    ("typed", "diameter_mm"),
    [
        ("P235/75R15", 733.0),  # 381 + 2 x 176
        ("275/60R15 107H", 711.0),  # 381 + 2 x 165
        ("245/45ZR18", 677.0),  # 457 + 2 x 110
        ("LT265/75R16E 123/120Q", 804.0),  # 406 + 2 x 199
        ("31x10.50R15LT", 781.0),  # 787.4 - 6
        ("33x12.50R15LT", 832.0),  # 838.2 - 6
        ("165R15", 645.0),  # 381 + 2 x 132
    ],
)
def test_the_overall_diameter_follows_from_the_designation(typed, diameter_mm):
    assert decode(typed).overall_diameter_mm == diameter_mm


@pytest.mark.parametrize(("typed", "diameter_mm"), [("31x10.50R15LT", 775.0), ("33x12.50-15", 826.0)])
def test_a_flotation_size_runs_on_less_than_it_must_clear(typed, diameter_mm):  # 12 mm under the code
    assert decode(typed).running_diameter_mm == diameter_mm


@pytest.mark.parametrize("typed", ["P235/75R15", "LT265/75R16E", "165R15"])
def test_a_metric_size_runs_on_its_overall_diameter(typed):
    assert decode(typed).running_diameter_mm == decode(typed).overall_diameter_mm


@pytest.mark.parametrize(("typed", "is_estimate"), [("165R15", True), ("185R14C", True), ("165/80R15", False)])
def test_a_series_that_is_not_marked_is_an_estimate(typed, is_estimate):
    assert (decode(typed).aspect_percent, decode(typed).series_is_estimate) == (80.0, is_estimate)


@pytest.mark.parametrize(
    ("typed", "section_mm"), [("P235/75R15", 235.0), ("LT265/75R16", 265.0), ("31x10.50R15LT", 266.7)]
)
def test_the_section_width_follows_from_the_designation(typed, section_mm):
    assert decode(typed).section_width_mm == pytest.approx(section_mm)


@pytest.mark.parametrize("typed", ["7.50-16LT", "7.50R16", "G78-15", "8.15-15"])
def test_a_width_that_is_only_a_name_is_left_open(typed):
    assert math.isnan(decode(typed).section_width_mm)


@pytest.mark.parametrize("typed", ["7.50-16LT", "7.50R16", "G78-15", "8.15-15"])
def test_a_diameter_that_no_rule_gives_is_left_open(typed):
    assert math.isnan(decode(typed).overall_diameter_mm)


@pytest.mark.parametrize(
    ("typed", "rim_mm"),
    [("P235/75R15", 381.0), ("8.00-16.5LT", 419.1), ("G78-15", 381.0), ("7.75-14", 355.6), ("245/45ZR18", 457.2)],
)
def test_the_rim_diameter_is_25_4_times_the_code(typed, rim_mm):
    assert decode(typed).rim_diameter_mm == rim_mm


@pytest.mark.parametrize(
    ("typed", "construction"),
    [
        ("P235/75R15", "radial"),
        ("245/45ZR18", "radial"),
        ("P235/75D15", "bias"),
        ("P235/75B15", "bias"),
        ("7.50R16", "radial"),
        ("7.50-16LT", "bias"),
        ("G78-15", "bias"),
        ("LR70-15", "radial"),
        ("8.15-15", "bias"),
        ("31x10.50R15LT", "radial"),
        ("31x10.50R15", "radial"),
        ("31x10.50-15LT", "bias"),
        ("31x10.50-15", ""),
        ("31x10.50-15 109Q", ""),
        ("7.50-16", ""),
        ("7.50-16C", "bias"),
        ("8-19.5", "bias"),
        ("8.00-16.5", "bias"),
        ("275/60HR15", "radial"),
        ("10R22.5", "radial"),
        ("165SR15", "radial"),
    ],
)
def test_the_construction_stands_before_the_rim(typed, construction):
    assert decode(typed).construction == construction


@pytest.mark.parametrize(
    ("typed", "service"),
    [
        ("P235/75R15", "passenger"),
        ("275/60R15 107H", "passenger"),
        ("LT265/75R16", "light_truck"),
        ("195/75R16C 107/105R", "light_truck"),
        ("31x10.50R15LT", "light_truck"),
        ("7.50-16LT", "light_truck"),
        ("G78-15", "passenger"),
        ("LR70-15", "passenger"),
        ("8.15-15", "passenger"),
        ("245/75R16 120/116Q", "light_truck"),
        ("245/75R16 111S", "passenger"),
        ("235/75R15XL 109T", "passenger"),
        ("245/75R16 E", "passenger"),
        ("245/75R16 D 111S", "passenger"),
        ("P235/75R15 108/104", "passenger"),
        ("P235/75R15 108/104Q", "passenger"),
        ("P235/75R15 C", "passenger"),
        ("185R14C", "light_truck"),
        ("165R15", "passenger"),
        ("195/70R15C 104/102R", "light_truck"),
        ("195/70R15 C 104/102R", "light_truck"),
        ("245/75R16LT", "light_truck"),
        ("LT245/75R16C", "light_truck"),
        ("31x10.50R15", "light_truck"),
        ("31x10.50-15", "light_truck"),
        ("G78-15LT", "light_truck"),
        ("G78-15 D", "passenger"),
        ("8.00-16.5", "light_truck"),
        ("10R16.5", "light_truck"),
        ("10R22.5", "commercial"),
        ("8-19.5", "commercial"),
        ("225/70R19.5 125/123L", "commercial"),
        ("215/75R17.5", "commercial"),
        ("11R24.5", "commercial"),
        ("ST225/75R15", "trailer"),
        ("ST205/75D15 C", "trailer"),
        ("8-14.5", "trailer"),
        ("8-14.5LT", "trailer"),
        ("T125/80D15", "temporary"),
        ("T145/70R17 106M", "temporary"),
    ],
)
def test_the_service_follows_from_the_marking(typed, service):
    assert decode(typed).service == service


@pytest.mark.parametrize("typed", ["7.50R16", "7.50-16", "8.25R16", "8.25-20", "7.50R16 E"])
def test_a_numeric_size_that_may_be_either_leaves_the_service_open(typed):
    assert decode(typed).service == ""


@pytest.mark.parametrize(
    ("typed", "load_index"),
    [
        ("275/60R15 107H", 107.0),
        ("LT265/75R16E 123/120Q", 123.0),
        ("P235/75R15 XL 108S", 108.0),
        ("235/75R15XL 109T", 109.0),
        ("245/75R16 120/116", 120.0),
        ("275/40ZR20 (106Y)", 106.0),
        ("185R14C 8PR 102/100R", 102.0),
        ("LT235/85R16 10 ply", math.nan),
    ],
)
def test_the_load_index_is_the_one_of_single_fitment(typed, load_index):
    assert decode(typed).load_index == pytest.approx(load_index, nan_ok=True)


def test_without_a_service_description_the_load_index_is_open():
    assert math.isnan(decode("P235/75R15").load_index)


@pytest.mark.parametrize(
    ("typed", "symbol"),
    [
        ("275/60R15 107H", "H"),
        ("LT265/75R16E 123/120Q", "Q"),
        ("P235/75R15", ""),
        ("245/75R16 120/116", ""),
        ("275/60HR15", "H"),
        ("165SR15", "S"),
        ("275/60SR15 107H", "H"),
        ("245/45ZR18", ""),
        ("205/60VR15", ""),
        ("245/45ZR18 96W", "W"),
    ],
)
def test_the_speed_symbol_follows_the_load_index_or_stands_before_the_r(typed, symbol):
    assert decode(typed).speed_symbol == symbol


@pytest.mark.parametrize(
    ("typed", "load_range"),
    [
        ("LT265/75R16E 123/120Q", "E"),
        ("LT265/75R16 123/120Q E", "E"),
        ("LT265/75R16 123/120 E", "E"),
        ("LT265/75R16 Load Range E", "E"),
        ("31x10.50R15LT C", "C"),
        ("31x10.50R15 C", "C"),
        ("31x10.50R15LT/C 109Q", "C"),
        ("G78-15 B", "B"),
        ("LT245/75R16C", "C"),
        ("245/75R16LT C", "C"),
        ("245/75R16 LRC", "C"),
        ("245/75R16 E", "E"),
        ("P235/75R15 D", "D"),
        ("185R14C", ""),
        ("195/70R15C 104/102R", ""),
        ("195/70R15 104/102R C", ""),
        ("P235/75R15 C", ""),
        ("8R19.5 F", "F"),
    ],
)
def test_the_load_range_is_read_where_it_stands(typed, load_range):
    assert decode(typed).load_range == load_range


def test_an_alphanumeric_size_settles_the_aspect_ratio():
    assert decode("G78-15").aspect_percent == 78.0


@pytest.mark.parametrize(
    "typed",
    ["p235/75r15", " P235/75R15 ", "P235 / 75R15", "P235/75 R15", "P 235/75R15", "P235/75R15 M+S", "P235/75R15 TL"],
)
def test_case_spaces_and_marks_change_nothing(typed):
    assert repr(decode(typed)) == repr(decode("P235/75R15"))  # by its text, as NaN is not NaN


def test_a_multiplication_sign_is_an_x():
    assert repr(decode("31×10.50R15LT")) == repr(decode("31X10.50R15LT"))


@pytest.mark.parametrize(
    "typed",
    [
        "",
        "15x8",
        "P235",
        "235-75-15",
        "round",
        "P235/75R",
        "O78-15",
        "10-15",
        "165-15",
        "275/60RR15",
        "25x8-12",
        "P235/75R15 20S",
        "P235/75R15 105X",
    ],
)
def test_a_text_that_is_no_designation_is_refused(typed):
    with pytest.raises(UnitError) as caught:
        decode(typed)
    assert (caught.value.word, caught.value.found) == ("not-a-designation", f'found "{typed}"')


_spaces = st.sampled_from(["", " ", "  "])
_sizes = st.sampled_from(
    [
        ("LT", "265", "/", "75", "R", "16"),
        ("", "245", "/", "45", "ZR", "18"),
        ("", "31", "x", "10.50", "R", "15", "LT"),
        ("", "7.50", "-", "16", "LT"),
        ("G", "78", "-", "15"),
        ("P", "225", "/", "70", "D", "16"),
        ("", "275", "/", "60", "HR", "15"),
        ("", "185", "R", "14", "C"),
        ("T", "125", "/", "80", "D", "15"),
        ("", "8", "-", "19.5"),
    ]
)
_service = st.sampled_from(["", "E", " LRE", " XL", " 123/120Q", " 94 / 91 H", " XL 103T", " LR D"])


@given(_sizes, st.lists(_spaces, min_size=7, max_size=7), _service)
def test_spaces_that_do_not_belong_there_are_left_out_only_where_it_matters(size, spaces, service):
    typed = "".join(piece + space for piece, space in zip(size, spaces, strict=False)) + service
    assert _told(typed) == _told(tidied(typed.strip().upper()))


def _told(typed):
    try:
        return repr(decode(typed))
    except UnitError:
        return "refused"

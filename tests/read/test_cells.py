"""What suppliers write in a cell, and what it says."""

import math

import pytest

from combo.parts import DIFFERENTIAL, KINDS, TIRE, WHEEL
from combo.read.cells import Reader
from combo.read.headers import RATIO_RANGE, RIM_RANGE, WHEEL_SIZE, Dictionary
from combo.read.lists import reads_as
from combo.units import DOLLAR, UnitError

LB = 0.45359237


def values(kind, name, text, unit=None):
    found = Reader(kind, currency=DOLLAR).values(name, text, unit)
    return [None if isinstance(own, float) and math.isnan(own) else own for own in found]


@pytest.mark.parametrize(
    ("text", "offset"),
    [("17x9", None), ("17x9 -12", -12.0), ('17" x 9"', None), ("17X9 ET-12", -12.0), ("17x9 ET 18mm", 18.0)],
)
def test_a_wheels_size_may_have_its_offset_behind_it(text, offset):
    assert values(WHEEL, WHEEL_SIZE, text) == [431.8, 228.6, offset]


def test_a_bare_number_behind_a_size_is_refused():
    with pytest.raises(UnitError):
        values(WHEEL, WHEEL_SIZE, "17x9 12")  # an offset or a backspace


@pytest.mark.parametrize("text", ["8 Lug 6.5", "8-6.5", "8x165", "8x6.5 in", "8 on 6 1/2"])
def test_a_circle_reads_as_the_trade_writes_it(text):
    assert values(WHEEL, "bolt_circle", text)[0].text() == "8x165.1"


def test_two_circles_in_a_cell_are_both_read():
    assert [own.text() for own in values(WHEEL, "bolt_circle", "5x4.5/5x120")] == ["5x114.3", "5x120"]


@pytest.mark.parametrize("text", ["3195 lbs @ 80 psi", "3,195 @ 80 psi", "3195@80", "3,195 lb at 80 psi"])
def test_a_load_is_read_whatever_pressure_stands_behind_it(text):
    assert values(TIRE, "load_rating", text, "lb")[0] == pytest.approx(3195 * LB)
    assert values(WHEEL, "load_rating", text, "lb") == [pytest.approx(3195 * LB)]


def test_a_tires_pressure_behind_its_load_is_that_of_the_rated_load():
    assert values(TIRE, "load_rating", "3195 lbs @ 80 psi")[1] == pytest.approx(551.58, abs=0.01)


@pytest.mark.parametrize(
    ("text", "found"), [("121", [121.0, ""]), ("121/118S", [121.0, "S"]), ("104/101 q", [104.0, "Q"])]
)
def test_a_load_index_may_have_its_symbol(text, found):
    assert values(TIRE, "load_index", text) == found


@pytest.mark.parametrize("text", ["6.0-7.5", '6"-7.5"', "6 to 7 1/2", "6.0 / 7.5"])
def test_approved_rims_are_a_range(text):
    assert values(TIRE, RIM_RANGE, text) == [152.4, 190.5]


@pytest.mark.parametrize(
    ("text", "ends"),
    [("2.73-3.42", [2.73, 3.42]), ("3.55 & up", [3.55, 12.0]), ("3.08 and up", [3.08, 12.0]), ("all", [1.0, 12.0])],
)
def test_ratios_of_a_carrier_are_a_range(text, ends):
    assert values(DIFFERENTIAL, RATIO_RANGE, text) == ends


@pytest.mark.parametrize("text", ["2.5", "2.5:1", "2.5 to 1"])
def test_a_ratio_of_anything_may_be_to_one(text):
    assert values(DIFFERENTIAL, "bias_ratio", text) == [2.5]


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("Open carrier", "open"),
        ("worm gear LSD", "limited_slip"),
        ("air locker", "locked"),
        ("LS", "limited_slip"),
        ("full spool", "locked"),
        ("Limited Slip", "limited_slip"),
    ],
)
def test_a_differential_is_known_by_a_word_of_its_description(text, kind):
    assert values(DIFFERENTIAL, "type", text) == [kind]


@pytest.mark.parametrize("text", ["open or locked", "carrier", "opening"])
def test_a_description_of_two_kinds_or_none_is_refused(text):
    with pytest.raises(UnitError):
        values(DIFFERENTIAL, "type", text)


@pytest.mark.parametrize(
    ("header", "kind", "field"),
    [
        ("Stock #", "tires", "sku"),
        ("Stock", "tires", "stock"),
        ("P/N", "nuts", "sku"),
        ("Rev's", "tires", "revs_per_mile"),
        ("Size dia x w", "wheels", "size"),
    ],
)
def test_headers_of_the_trade(header, kind, field):
    words = Dictionary(KINDS[kind])
    assert (words.meaning(header) or words.meaning(f"{header}/mi")).name == field


def test_descriptions_are_no_tire_sizes():
    assert not reads_as(TIRE, "designation", ["Prairie, steel, white", "Prairie, steel, black"])
    assert reads_as(TIRE, "designation", ["LT245/75R16/E", "265 70 17", "round"])

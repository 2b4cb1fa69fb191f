"""What the headers of a list mean: our words, the trade's, a supplier's, and the unit that they state."""

import pytest

from combo.parts import BALLAST, DIFFERENTIAL, KINDS, RATIO, SPACER, TIRE, WHEEL
from combo.read.headers import Dictionary, Header


def meaning(header, kind, mapped):
    """What one header means, beside words that a supplier has mapped."""
    return Dictionary(kind, mapped).meaning(header)


@pytest.mark.parametrize(
    ("kind", "name"), [(kind, field.name) for kind in KINDS.values() for field in kind.fields], ids=str
)
def test_every_field_is_known_by_its_own_name(kind, name):
    assert meaning(name, kind, {}) == Header(name)


@pytest.mark.parametrize(
    "header",
    ["backspace_in", "Backspace (in)", "Backspace [in]", "BACKSPACE (in)", "backspace in", "Backspacing, in"],
)
def test_a_unit_stands_in_the_header(header):
    assert meaning(header, WHEEL, {}) == Header("backspace", "in")


@pytest.mark.parametrize(
    ("header", "kind", "expected"),
    [
        ("offset_mm", WHEEL, Header("offset", "mm")),
        ("hub_bore_mm", WHEEL, Header("hub_bore", "mm")),
        ('Backspace (")', WHEEL, Header("backspace", '"')),
        ("Weight (#)", WHEEL, Header("mass", "#")),
        ("Weight (lbs)", WHEEL, Header("mass", "lbs")),
        ("mass_kg", TIRE, Header("mass", "kg")),
        ("Max load, lb", TIRE, Header("load_rating", "lb")),
        ("overall_diameter_in", TIRE, Header("overall_diameter", "in")),
    ],
)
def test_the_unit_of_a_header_is_kept(header, kind, expected):
    assert meaning(header, kind, {}) == expected


def test_a_unit_of_another_kind_is_kept_to_be_told_at_the_cells():
    assert meaning("backspace_lb", WHEEL, {}) == Header("backspace", "lb")


@pytest.mark.parametrize(
    ("header", "kind", "field"),
    [
        ("Part No.", WHEEL, "sku"),
        ("Item #", TIRE, "sku"),
        ("Bolt pattern", WHEEL, "bolt_circle"),
        ("PCD", WHEEL, "bolt_circle"),
        ("Center bore", WHEEL, "hub_bore"),
        ("ET", WHEEL, "offset"),
        ("Backspacing", WHEEL, "backspace"),
        ("Diameter", WHEEL, "rim_diameter"),
        ("Size", WHEEL, "size"),
        ("Cost", WHEEL, "price"),
        ("Size", TIRE, "designation"),
        ("Diameter", TIRE, "overall_diameter"),
        ("O.D.", TIRE, "overall_diameter"),
        ("Revs/mile", TIRE, "revs_per_mile"),
        ("Speed rating", TIRE, "speed_symbol"),
        ("Width", SPACER, "thickness"),
        ("Gear ratio", RATIO, "ratio"),
        ("Spline count", DIFFERENTIAL, "splines"),
        ("TBR", DIFFERENTIAL, "bias_ratio"),
        ("In stock", BALLAST, "stock"),
    ],
)
def test_the_words_of_the_trade_are_known(header, kind, field):
    assert meaning(header, kind, {}) == Header(field)


@pytest.mark.parametrize("header", ["Offset (ET)", "Rim diameter (D)", "Rim width (W)"])
def test_a_letter_of_the_trade_in_brackets_is_no_unit(header):
    assert meaning(header, WHEEL, {}).unit is None


def test_a_word_in_brackets_is_no_unit():
    assert meaning("Price (each)", WHEEL, {}) == Header("price")


@pytest.mark.parametrize("header", ["", "Our price", "Color", "Backspace limit", "mm"])
def test_a_header_that_no_field_claims_means_nothing(header):
    assert meaning(header, WHEEL, {}) is None


def test_a_suppliers_word_means_what_the_job_maps_it_to():
    assert meaning("Felge", WHEEL, {"Felge": "size"}) == Header("size")


def test_a_mapping_may_carry_a_unit():
    assert meaning("Nabe", WHEEL, {"Nabe": "hub_bore_mm"}) == Header("hub_bore", "mm")


def test_a_mapping_wins_over_a_word_of_the_trade():
    assert meaning("Cost", WHEEL, {"Cost": "sku"}) == Header("sku")


def test_a_mapping_is_found_whatever_its_case():
    assert meaning("FELGE", WHEEL, {"Felge": "size"}) == Header("size")


def test_a_mapping_outside_the_latin_alphabet_claims_its_own_header_alone():
    assert meaning("цвет", WHEEL, {"цена": "price"}) is None

"""What builders type, read into one unit a dimension, and written back to the nearest 1/16 in."""

import math
import subprocess
import sys
from contextlib import suppress
from fractions import Fraction

import pint
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from combo import units
from combo.units import (
    ENGINE_SPEED,
    LENGTH,
    MASS,
    SPEED,
    TORQUE,
    BoltCircle,
    Currency,
    UnitError,
    bolt_circle,
    factor,
    money_cents,
    money_per_mass,
    number,
    quantity,
    reading_share,
    rounded,
    share,
    sixteenths_text,
)

WHOLE = st.integers(min_value=0, max_value=999)
DENOMINATOR = st.integers(min_value=1, max_value=64)


def error_of(function, *arguments, **options):
    with pytest.raises(UnitError) as caught:
        function(*arguments, **options)
    return caught.value


@pytest.mark.parametrize(
    ("typed", "length_mm"),
    [
        ("5 1/4 in", 133.35),
        ('5-1/4"', 133.35),
        ("5 - 1/4 in", 133.35),
        ('5.25"', 133.35),
        ("5.25″", 133.35),
        ("5.25 inches", 133.35),
        ("5.25 in.", 133.35),
        ("5.25''", 133.35),
        ("5¼ in", 133.35),
        ("5 ¼ in", 133.35),
        ("⅞ in", 22.225),
        ("3/16 in", 4.7625),
        (".5 in", 12.7),
        ("133 mm", 133.0),
        ("133mm", 133.0),
        ("13.3 cm", 133.0),
        ("1e3 mm", 1000.0),
        ("2 ft 3 in", 685.8),
        ("2' 3 1/2\"", 698.5),
        ("2'3\"", 685.8),
        ("2’ 3½”", 698.5),
        ("1 1/2 ft", 457.2),
        ("1,250 mm", 1250.0),
        ("1 250 mm", 1250.0),
        ("-1/4 in", -6.35),
        ("−6 mm", -6.0),
        ("+6 mm", 6.0),
        ("-2 ft 3 in", -685.8),
    ],
)
def test_a_length_reads_as_typed(typed, length_mm):
    assert quantity(typed, LENGTH) == length_mm


@pytest.mark.parametrize(
    ("typed", "length_mm"),
    [
        ("5\u00a01⁄4\u00a0in", 133.35),
        ("５ １/４ in", 133.35),
        ("4.25 in 108 mm", 107.95),
        ("4.25 in (108 mm)", 107.95),
        ("108 mm / 4 1/4 in", 108.0),
        ("1/4 in (6 mm)", 6.35),
        ("5 ft 2 in (1575 mm)", 1574.8),
        ("1 m 20 cm", 1200.0),
    ],
)
def test_a_length_reads_as_suppliers_write_it(typed, length_mm):
    assert quantity(typed, LENGTH) == length_mm


@pytest.mark.parametrize(
    "typed",
    ["4.25 in 112 mm", "5 mm 2 mm", "3 in 2 ft", "2 ft 15 in", "4 in 5 in", "4 in 102 mm 5 in", "1 in 2 m 25 mm"],
)
def test_two_sizes_in_one_text_are_never_added_up(typed):
    assert error_of(quantity, typed, LENGTH).word == "two-sizes"


@pytest.mark.parametrize("typed", ["5 in;", "5 % in", "5 in (x", "5 mm^2^2", "5 (9**9**9**9)", "5 in)", "5 9**9 in"])
def test_junk_behind_a_number_is_refused(typed):
    with pytest.raises(UnitError):
        quantity(typed, LENGTH)


def test_a_digit_behind_a_unit_is_no_second_size():
    assert error_of(quantity, "5 mm2", LENGTH, bare_unit="mm").word == "two-sizes"


@given(feet=st.integers(1, 9), inches=st.integers(0, 11), mm=st.integers(300, 3100))
def test_both_systems_in_one_text_are_the_first_or_refused(feet, inches, mm):
    first = quantity(f"{feet} ft {inches} in", LENGTH)
    with suppress(UnitError):
        assert quantity(f"{feet} ft {inches} in ({mm} mm)", LENGTH) == first
        assert abs(first - mm) <= max(12.7, first / 100) + 1e-6


@pytest.mark.parametrize("read", [number, bolt_circle, money_cents, lambda text: quantity(text, LENGTH)])
@pytest.mark.parametrize("typed", ["1" * 100000, "15" + "." * 50 + "(200,000)x8" * 5000, "(" * 20000, " 5" * 30000])
def test_a_text_that_nobody_types_is_refused_at_once(read, typed):
    assert error_of(read, typed).word in {"too-long", "not-a-number"}


UNITS = st.text(alphabet="0123456789.*^/()+-eximnbl ", max_size=40)


@given(unit=UNITS)
@example(unit="9**9**9**9")
@example(unit="m**9**9**9")
@example(unit="in**3**3")
def test_a_text_is_never_computed_as_a_unit(unit):
    with suppress(UnitError):
        assert 0 < factor(unit, LENGTH) < 1e30


@pytest.mark.parametrize("typed", ["10 3/8 IN", "10.375 In", "263.525 MM"])
def test_a_unit_in_capitals_reads_like_one_in_small_letters(typed):
    assert quantity(typed, LENGTH) == 263.525


@pytest.mark.parametrize(
    ("typed", "mass_kg"),
    [
        ("350 lb", 158.7573295),
        ("350#", 158.7573295),
        ("350 lbs", 158.7573295),
        ("350 lbs.", 158.7573295),
        ("350 LB", 158.7573295),
        ("159 kg", 159.0),
        ("1,500 lb", 680.388555),
        ("1 lb 8 oz", 0.680388555),
    ],
)
def test_a_mass_reads_as_typed(typed, mass_kg):
    assert quantity(typed, MASS) == pytest.approx(mass_kg, abs=1e-9)


@pytest.mark.parametrize(
    ("typed", "dimension", "inside"),
    [
        ("65 mph", SPEED, 104.60736),
        ("65 mi/h", SPEED, 104.60736),
        ("105 km/h", SPEED, 105.0),
        ("105 kmh", SPEED, 105.0),
        ("515 N m", TORQUE, 515.0),
        ("515 Nm", TORQUE, 515.0),
        ("100 lb-ft", TORQUE, 135.5817948),  # 0.3048 x 0.45359237 x 9.80665 x 100
        ("100 ft-lb", TORQUE, 135.5817948),
        ("2100 rpm", ENGINE_SPEED, 2100.0),
        ("2,100 r/min", ENGINE_SPEED, 2100.0),
    ],
)
def test_a_speed_or_torque_reads_as_typed(typed, dimension, inside):
    assert quantity(typed, dimension) == pytest.approx(inside, abs=5e-8)


def test_a_frequency_is_refused_or_sixty_turns_a_minute():
    with suppress(UnitError):
        assert quantity("35 Hz", ENGINE_SPEED) == pytest.approx(2100.0)


@pytest.mark.parametrize(
    ("typed", "dimension", "kind"),
    [
        ("5 1/4 lb", LENGTH, "a mass"),
        ("350 lbf", MASS, "a force"),
        ("350 in", MASS, "a length"),
        ("65 lb-ft", SPEED, "a torque"),
        ("380 lb", TORQUE, "a mass"),
        ("2 ft 3 lb", LENGTH, "a mass"),
    ],
)
def test_a_size_of_another_kind_is_refused_and_named(typed, dimension, kind):
    error = error_of(quantity, typed, dimension)
    assert (error.word, error.found) == ("wrong-dimension", f'found "{typed}", {kind}')


def test_a_mass_where_a_length_belongs_is_told_what_is_accepted():
    error = error_of(quantity, "5 1/4 lb", LENGTH)
    assert error.accepted == 'a length is accepted, such as 5 1/4 in, 5.25" or 133 mm'


def test_an_engine_speed_is_asked_for_with_its_own_article():
    assert ENGINE_SPEED.accepted().startswith("an engine speed is accepted")


@pytest.mark.parametrize("typed", ["5 1/4", "133", "2 ft 3", "-12"])
def test_a_size_without_a_unit_is_refused(typed):
    assert error_of(quantity, typed, LENGTH).word == "no-unit"


def test_a_bare_number_takes_the_unit_of_its_header():
    assert quantity("5 1/4", LENGTH, bare_unit="in") == 133.35


def test_the_unit_typed_wins_over_the_unit_of_the_header():
    assert quantity("133 mm", LENGTH, bare_unit="in") == 133.0


@pytest.mark.parametrize("typed", ["1e400 mm", "1e400 in"])
def test_a_size_beyond_all_measure_is_refused(typed):
    with pytest.raises(UnitError):
        quantity(typed, LENGTH)


@given(typed=st.text(alphabet="0123456789 /-.,'\"xinlbft#$%", max_size=10), comma=st.booleans())
def test_any_text_reads_as_a_length_or_is_refused(typed, comma):
    with suppress(UnitError):
        assert math.isfinite(quantity(typed, LENGTH, decimal_comma=comma))


@given(typed=st.text(max_size=10), comma=st.booleans())
@example(typed="1e30", comma=False)
def test_any_text_reads_as_an_amount_or_is_refused(typed, comma):
    with suppress(UnitError):
        assert isinstance(money_cents(typed, decimal_comma=comma), int)


@given(typed=st.from_regex(r"[0-9]{1,2} ?(x|on|-|/) ?[0-9 ./in\"m-]{0,8}", fullmatch=True))
def test_any_text_reads_as_a_bolt_circle_or_is_refused(typed):
    with suppress(UnitError):
        assert 3 <= bolt_circle(typed).lug_count <= 10


@pytest.mark.parametrize("typed", ["5 parsnips", "5 1/4 in x", "2-3 in"])
def test_a_unit_that_nobody_knows_is_refused(typed):
    assert error_of(quantity, typed, LENGTH).word == "unknown-unit"


@pytest.mark.parametrize("typed", ["", "   ", "abc", "in", "NaN", "nan in", "inf mm", "1/0 in", '"'])
def test_a_text_without_a_number_is_refused_as_a_size(typed):
    assert error_of(quantity, typed, LENGTH).word == "not-a-number"


@pytest.mark.parametrize("typed", ["", "abc", "nan", "inf", "5 in", "1,25,0", "1_000", "5 1/0", "--5", "5..2"])
def test_a_text_that_is_no_number_is_refused(typed):
    assert error_of(number, typed).word == "not-a-number"


def test_a_problem_quotes_exactly_what_was_typed():
    assert error_of(quantity, "  5¼  lb", LENGTH).found == 'found "  5¼  lb", a mass'


def test_an_ambiguous_number_is_quoted_exactly_as_typed():
    assert error_of(quantity, "133,35″", LENGTH).found == 'found "133,35″"'


@pytest.mark.parametrize(
    ("typed", "value"),
    [("1,250", 1250), ("1,250,000", 1250000), ("1'250", 1250), ("1 250", 1250), ("1,250.5", Fraction(2501, 2))],
)
def test_thousands_may_be_separated(typed, value):
    assert number(typed) == value


def test_a_decimal_comma_is_refused_where_a_comma_separates_thousands():
    assert error_of(number, "133,35").word == "ambiguous-number"


def test_a_refused_decimal_comma_is_shown_with_both_readings():
    assert error_of(number, "133,35").hint == "Write 13335 or 133.35"


@pytest.mark.parametrize(
    ("typed", "value"),
    [
        ("133,35", Fraction(13335, 100)),
        ("-133,35", Fraction(-13335, 100)),
        ("0,250", Fraction(1, 4)),
        ("1.250,50", Fraction(12505, 10)),
        ("1.234.567,8", Fraction(12345678, 10)),
        ("12.5", Fraction(25, 2)),
        ("1250", Fraction(1250)),
    ],
)
def test_a_decimal_comma_is_read_in_a_list_that_has_them(typed, value):
    assert number(typed, decimal_comma=True) == value


@pytest.mark.parametrize("typed", ["1,250", "12,500", "-1,250"])
def test_a_comma_that_may_mean_thousands_is_refused_in_a_list_with_decimal_commas(typed):
    assert error_of(number, typed, decimal_comma=True).word == "ambiguous-number"


def test_a_size_may_have_a_decimal_comma_in_a_list_that_has_them():
    assert quantity("133,35 mm", LENGTH, decimal_comma=True) == 133.35


@given(whole=WHOLE, numerator=WHOLE, denominator=DENOMINATOR, joint=st.sampled_from([" ", "-", " - "]))
def test_a_mixed_number_is_its_whole_plus_its_fraction(whole, numerator, denominator, joint):
    assert number(f"{whole}{joint}{numerator}/{denominator}") == whole + Fraction(numerator, denominator)


@given(cents=st.integers(min_value=0, max_value=10**9))
def test_decimals_and_separated_thousands_read_alike(cents):
    assert number(f"{cents // 100:,}.{cents % 100:02}") == Fraction(cents, 100)


@given(feet=WHOLE, sixteenths=st.integers(min_value=0, max_value=191))
def test_feet_and_inches_add_up(feet, sixteenths):
    typed = f"{feet}' {sixteenths // 16} {sixteenths % 16}/16\""
    assert quantity(typed, LENGTH) == pytest.approx((feet * 192 + sixteenths) / 16 * 25.4, abs=1e-8)


@given(sixteenths=st.integers(min_value=-100000, max_value=100000))
def test_a_length_written_in_sixteenths_reads_back(sixteenths):
    length_mm = sixteenths / 16 * 25.4
    assert quantity(sixteenths_text(length_mm), LENGTH) == pytest.approx(length_mm, abs=1e-8)


@given(length_mm=st.floats(min_value=-5000, max_value=5000))
def test_the_nearest_sixteenth_is_at_most_half_a_sixteenth_away(length_mm):
    assert abs(quantity(sixteenths_text(length_mm), LENGTH) - length_mm) <= 25.4 / 32 + 1e-6


@given(length_mm=st.floats(min_value=0, max_value=5000))
def test_the_next_sixteenth_up_is_enough(length_mm):
    assert quantity(sixteenths_text(length_mm, up=True), LENGTH) >= length_mm - 2e-6


@pytest.mark.parametrize(
    ("length_mm", "text"),
    [(0.0, "0 in"), (133.35, "5 1/4 in"), (-4.7625, "-3/16 in"), (25.4, "1 in"), (0.1, "0 in"), (-0.1, "0 in")],
)
def test_a_length_is_written_to_the_nearest_sixteenth(length_mm, text):
    assert sixteenths_text(length_mm) == text


@pytest.mark.parametrize(("length_mm", "text"), [(4.7625, "3/16 in"), (4.8, "1/4 in"), (25.3, "1 in")])
def test_a_length_that_must_be_enough_is_written_to_the_next_sixteenth(length_mm, text):
    assert sixteenths_text(length_mm, up=True) == text


@pytest.mark.parametrize(
    ("typed", "lugs", "diameter_mm"),
    [
        ("8x6.5 in", 8, 165.1),
        ("8 x 6.5", 8, 165.1),
        ("8×6.5 in", 8, 165.1),
        ("5x114.3", 5, 114.3),
        ("5X114.3", 5, 114.3),
        ("6 on 5 1/2", 6, 139.7),
        ("6 on 5½", 6, 139.7),
        ("5-4.5", 5, 114.3),
        ('5x4 1/2"', 5, 114.3),
        ("6-139.7 mm", 6, 139.7),
        ("5/114.3", 5, 114.3),
        ("5 lug x 4.5", 5, 114.3),
    ],
)
def test_a_bolt_circle_reads_as_typed(typed, lugs, diameter_mm):
    assert bolt_circle(typed) == BoltCircle(lugs, diameter_mm)


@pytest.mark.parametrize("typed", ["", "x", "6.5 in", "5x0", "2x100", "12x6.5", "5x15", "5x500 mm"])
def test_a_text_that_is_no_bolt_circle_is_refused(typed):
    assert error_of(bolt_circle, typed).word == "not-a-bolt-circle"


def test_a_bolt_circle_measured_in_pounds_is_refused():
    assert error_of(bolt_circle, "5x4.5 lb").word == "wrong-dimension"


def test_a_refused_bolt_circle_is_quoted_whole():
    assert error_of(bolt_circle, "5x4.5 lb").found.startswith('found "5x4.5 lb"')


def test_a_bolt_circle_is_written_in_millimeters():
    assert bolt_circle("8x6.5 in").text() == "8x165.1"


@pytest.mark.parametrize(
    ("typed", "cents"),
    [
        ("89", 8900),
        ("89.95", 8995),
        ("$89.95", 8995),
        ("$ 89.95", 8995),
        ("$1,234.50", 123450),
        ("89.95 USD", 8995),
        ("USD 12", 1200),
        ("1250 USD", 125000),
        ("usd 1250", 125000),
        ("1.005", 101),
        ("1.004", 100),
        ("0", 0),
    ],
)
def test_an_amount_of_money_reads_in_whole_cents(typed, cents):
    assert money_cents(typed) == cents


def test_an_amount_with_a_decimal_comma_reads_in_a_list_that_has_them():
    assert money_cents("129,90 $", decimal_comma=True) == 12990


def test_an_amount_in_another_currency_is_refused():
    with pytest.raises(UnitError) as refused:
        money_cents("€89.95")
    assert (refused.value.word, refused.value.found) == ("other-currency", 'found "€89.95", in EUR')


def test_an_amount_in_another_currency_is_converted_at_the_stated_rate():
    assert money_cents("€89.95", currency=Currency("USD", (("EUR", Fraction("1.1")),))) == 9895  # 98.945 half up


def test_a_dollar_sign_is_that_of_the_jobs_dollar():
    assert money_cents("$12", currency=Currency("CAD")) == 1200


def test_a_dollar_sign_in_a_job_in_euros_is_refused():
    with pytest.raises(UnitError, match="in USD"):
        money_cents("$12", currency=Currency("EUR"))


def test_a_rate_by_mass_is_converted_too():
    euros = Currency("USD", (("EUR", Fraction(2)),))
    assert money_per_mass("€1/kg", currency=euros) == pytest.approx(200.0)


def test_what_a_speedometer_reads_is_a_share_of_what_is_true():
    assert reading_share("57 mph at 60") == Fraction(19, 20)


@pytest.mark.parametrize("text", ["57 mph", "57 mph at 95 km/h", "at 60", "57 mph at 0"])
def test_a_reading_without_both_speeds_is_refused(text):
    with pytest.raises(UnitError) as refused:
        reading_share(text)
    assert refused.value.word == "not-a-reading"


@pytest.mark.parametrize("typed", ["", "$", "call", "NaN", "12 lb"])
def test_a_text_that_is_no_amount_is_refused(typed):
    assert error_of(money_cents, typed).word == "not-a-number"


def test_a_refused_amount_is_quoted_with_its_sign():
    assert error_of(money_cents, "$ call").found == 'found "$ call"'


@pytest.mark.parametrize(("typed", "value"), [("8.25 %", Fraction(33, 400)), ("0.0825", Fraction(33, 400))])
def test_a_share_reads_with_or_without_a_percent_sign(typed, value):
    assert share(typed) == value


@pytest.mark.parametrize(
    ("value", "whole"),
    [(Fraction(5, 2), 3), (Fraction(-5, 2), -3), (Fraction(249, 100), 2), (Fraction(1, 3), 0), (Fraction(7), 7)],
)
def test_half_rounds_away_from_zero(value, whole):
    assert rounded(value) == whole


def test_an_inch_is_25_4_millimeters():
    assert factor("in", LENGTH) == pytest.approx(25.4, rel=1e-15)


def test_a_word_that_is_no_unit_has_no_factor():
    assert error_of(factor, "parsnip", LENGTH).word == "unknown-unit"


EVERYDAY = [(suffix, unit) for suffix, own in units._EVERYDAY.items() for unit in own]


@pytest.mark.parametrize(("suffix", "unit"), EVERYDAY)
def test_everyday_units_are_those_of_pint(suffix, unit):
    registry = pint.UnitRegistry(autoconvert_offset_to_baseunit=False)
    of_pint = registry.Quantity(1.0, "kPa" if unit == "kpa" else unit).to(units.DIMENSIONS[suffix].pint_unit).magnitude
    assert units._EVERYDAY[suffix][unit] == pytest.approx(of_pint, rel=1e-15)


def test_everyday_units_load_no_pint():
    code = (
        "import sys; from combo.units import LENGTH, TORQUE, quantity; quantity('5 1/4 in', LENGTH); "
        "quantity('380 lb-ft', TORQUE); print('pint' in sys.modules)"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "False"

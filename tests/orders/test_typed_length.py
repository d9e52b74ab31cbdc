"""Lengths as sales types them: with and without units, exact, and refused where they could mean two things."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from orders.typed_length import LengthError, read_length

# Metric by moving the point. Imperial by the definition, worked out by hand: 1 in = 25.4 mm exactly, 1 ft = 12 in.
READ = {
    "1200": "1200",
    " 1200 ": "1200",
    "1200.5": "1200.5",
    "1200,5": "1200.5",
    "1200 mm": "1200",
    "1200mm": "1200",
    "120 cm": "1200",
    "120,5 cm": "1205",
    "120 centimetres": "1200",
    "1.2 m": "1200",
    "1.2m": "1200",
    "1,2 M": "1200",
    "1.830 m": "1830",
    "1,8305 m": "1830.5",
    "1 metre": "1000",
    "1 in": "25.4",
    "47.25 in": "1200.2",  # 1200.15
    '47.25"': "1200.2",
    "47,25 in": "1200.2",
    "47 1/4 in": "1200.2",
    "47-1/4 in": "1200.2",
    "47 1/4 inches": "1200.2",
    "47¼″": "1200.2",
    "47 1/4''": "1200.2",
    "1/2 in": "12.7",
    "47.125 in": "1197",  # 1196.975
    "47 1/64 in": "1194.2",  # 1193.8 + 0.396875
    "3' 11 1/4\"": "1200.2",
    "3’11¼”": "1200.2",
    "3 ft 11 1/4 in": "1200.2",
    "3 ft": "914.4",
    "3.5 ft": "1066.8",
    "0,125 m": "125",
}


@pytest.mark.parametrize(("typed", "mm"), READ.items())
def test_a_length_is_read_in_the_unit_that_it_is_typed_in(typed, mm):
    reading = read_length(typed)
    assert reading.mm == Decimal(mm)
    assert reading.mm.as_tuple().exponent == -1


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("47 1/4 in", "47 1/4 in = 1200.2 mm, rounded from 1200.15"),
        ("1.2 m", "1.2 m = 1200 mm"),
        ("3 ft 11 in", "3 ft 11 in = 1193.8 mm"),
        ("1200,5", "1200,5 = 1200.5 mm"),
    ],
)
def test_the_reading_says_what_became_of_what_was_typed(typed, said):
    reading = read_length(typed)
    assert (str(reading), reading.converted) == (said, True)


@pytest.mark.parametrize("typed", ["1200", "1200.0", "1200.5", "0.5"])
def test_plain_millimetres_are_kept_as_they_are_typed(typed):
    assert not read_length(typed).converted


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("1,200", "“1,200” could be 1200 mm or 1.2 mm. Type 1200 mm without a mark for thousands, or 1.2 mm."),
        ("1.200", "“1.200” could be 1200 mm or 1.2 mm"),
        ("1,200 mm", "“1,200 mm” could be 1200 mm or 1.2 mm"),
        ("1.250 cm", "could be 1250 cm or 1.25 cm"),
        ("1,250 in", "could be 1250 in or 1.25 in"),
    ],
)
def test_what_could_be_two_lengths_is_refused_with_both(typed, said):
    with pytest.raises(LengthError) as refused:
        read_length(typed)
    assert said in str(refused.value)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("0", "a length is above 0"),
        ("0.00 m", "a length is above 0"),
        ("1830.55", "finer than a tenth of a millimetre. Type 1830.5 or 1830.6, in millimetres"),
        ("183.055 cm", "could be 183055 cm or 183.055 cm"),
        ("0.04", "Type 0.1, in millimetres"),
        ("47 5/4 in", "has 5/4 of an inch, and a tape shows halves to sixty-fourths"),
        ("47 1/3 in", "has 1/3 of an inch"),
        ("47 0/4 in", "has 0/4 of an inch"),
        ("47.5 1/4 in", "a decimal and a fraction"),
        ("3.5 ft 4 in", "parts of a foot and inches too"),
        ("3' 14 1/2\"", "12 make a foot. Measure again, or type the inches alone: 50 1/2 in"),
        *[
            (typed, f"“{typed}” is not a length. Type millimetres, such as 1830")
            for typed in (
                "",
                "-5",
                "1e3",
                "two metres",
                "１８３０",
                "NaN",
                "3' 11",
                "1 200",
                "1,200.5",
                "1 m 20 cm",
                "12 km",
            )
        ],
        ("9" * 80, "is not a length"),
    ],
)
def test_what_is_no_length_is_refused_with_what_to_type(typed, said):
    with pytest.raises(LengthError) as refused:
        read_length(typed)
    assert said in str(refused.value)


@given(tenths=st.integers(1, 999_999), unit=st.sampled_from(["", " mm", "cm", " cm", "m", " m"]), comma=st.booleans())
def test_any_tenth_of_a_millimetre_comes_back_exactly(tenths, unit, comma):
    # The point moved by hand: no arithmetic of the module's.
    places = {"mm": 1, "": 1, "cm": 2, "m": 4}[unit.strip()]
    digits = str(tenths).rjust(places + 1, "0")
    typed = f"{digits[:-places]}{',' if comma else '.'}{digits[-places:]}{unit}"
    assert read_length(typed).mm * 10 == tenths


@given(
    feet=st.integers(0, 30),
    inches=st.integers(0, 11),
    over=st.integers(0, 63),
    under=st.sampled_from([2, 4, 8, 16, 64]),
)
def test_feet_inches_and_fractions_are_exact_and_rounded_half_up_once(feet, inches, over, under):
    over %= under
    if not feet + inches + over:
        return
    fraction = f" {over}/{under}" if over else ""
    reading = read_length(f"{feet}' {inches}{fraction}\"")
    # In whole 64ths of an inch, of which each is 254/64 tenths of a millimetre.
    parts = (feet * 12 + inches) * 64 + over * (64 // under)
    assert reading.exact_mm * 640 == parts * 254
    assert reading.mm * 10 == (parts * 254 * 2 + 64) // 128
    assert abs(reading.exact_mm - Fraction(reading.mm)) <= Fraction(1, 20)

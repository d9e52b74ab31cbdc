"""Codes of blinds: written, read back, and refused with what to do."""

import re

import barcode
import pytest
from barcode.charsets.code128 import CODES
from hypothesis import given
from hypothesis import strategies as st
from stdnum import damm

from production import codes

order_numbers = st.integers(1, codes.LARGEST_ORDER_NUMBER)
serials = st.integers(1, codes.LARGEST_SERIAL)
remakes = st.integers(0, codes.LARGEST_REMAKE)


def test_a_code_is_order_number_serial_and_check_digit():
    assert re.fullmatch(r"000412003[0-9]", codes.ticket_code(order_number=412, serial=3))


def test_the_check_digit_is_damms():
    # The worked example of the encyclopaedia article on H. M. Damm's algorithm (2004): 572 takes check digit 4.
    assert damm.calc_check_digit("572") == "4"
    assert codes.ticket_code(order_number=412, serial=3)[-1] == damm.calc_check_digit("000412003")


@given(order_numbers, serials, remakes)
def test_every_code_reads_back(order_number, serial, remake):
    code = codes.ticket_code(order_number=order_number, serial=serial, remake=remake)
    assert codes.read_code(code) == (order_number, serial, remake)
    number = codes.human_number(order_number=order_number, serial=serial)
    assert codes.read_code(number) == (order_number, serial, None)


def test_a_remakes_code_counts_it_in_two_more_digits_before_the_check_digit():
    code = codes.ticket_code(order_number=412, serial=3, remake=7)
    assert code == "00041200307" + damm.calc_check_digit("00041200307")
    assert len(codes.ticket_code(order_number=412, serial=3)) == 10


@given(order_numbers, serials, st.integers(1, codes.LARGEST_REMAKE))
def test_no_label_of_a_scrapped_rail_is_taken_for_the_new_ones(order_number, serial, remake):
    new = codes.ticket_code(order_number=order_number, serial=serial, remake=remake)
    old = codes.ticket_code(order_number=order_number, serial=serial, remake=remake - 1)
    assert codes.read_code(old).remake == remake - 1
    assert old != new
    assert damm.is_valid(new)


@pytest.mark.parametrize("remake", [-1, 100])
def test_a_remake_beyond_two_digits_has_no_code(remake):
    with pytest.raises(ValueError, match="have no code: they are made anew up to 99 times"):
        codes.ticket_code(order_number=412, serial=3, remake=remake)


def test_a_code_of_twelve_digits_without_a_remake_was_never_printed():
    digits = "00041200300"
    with pytest.raises(codes.CodeError, match="misread"):
        codes.read_code(digits + damm.calc_check_digit(digits))


@given(order_numbers, serials, remakes, st.integers(0, 11), st.integers(1, 9))
def test_one_wrong_digit_is_never_taken_for_another_blind(order_number, serial, remake, place, shift):
    code = codes.ticket_code(order_number=order_number, serial=serial, remake=remake)
    place %= len(code)
    wrong = code[:place] + str((int(code[place]) + shift) % 10) + code[place + 1 :]
    with pytest.raises(codes.CodeError, match="misread"):
        codes.read_code(wrong)


@given(order_numbers, serials, remakes, st.integers(0, 10))
def test_two_neighbours_swapped_are_never_taken_for_another_blind(order_number, serial, remake, place):
    code = codes.ticket_code(order_number=order_number, serial=serial, remake=remake)
    place %= len(code) - 1
    swapped = code[:place] + code[place + 1] + code[place] + code[place + 2 :]
    if swapped != code:
        with pytest.raises(codes.CodeError, match="misread"):
            codes.read_code(swapped)


@pytest.mark.parametrize("dressed", ["]C0{}", "]Q1{}", " {} ", "{}\r\n", "\t{}\n", "\x02{}\x03", "]C0 {}\r"])
def test_a_scanners_prefix_and_suffix_are_taken_off(dressed):
    code = codes.ticket_code(order_number=412, serial=3)
    assert codes.read_code(dressed.format(code)) == (412, 3, 0)


def test_spaces_inside_a_typed_code_do_not_matter():
    code = codes.ticket_code(order_number=412, serial=3)
    assert codes.read_code(f"{code[:6]} {code[6:9]} {code[9]}") == (412, 3, 0)


@pytest.mark.parametrize("typed", ["0412-3", "412-3", " 0412 - 3 ", "000412-003", "0412–3", "0412−3"])
def test_the_number_typed_with_its_dash_needs_no_check_digit(typed):
    assert codes.read_code(typed) == (412, 3, None)
    assert not codes.is_proved(typed)


@pytest.mark.parametrize("typed", ["0412-3-0", "412-3-0", " 0412 - 3 - 0 ", "0412–3–0"])
def test_the_number_typed_with_its_check_digit_is_proved_by_it(typed):
    assert codes.read_code(typed) == (412, 3, None)
    assert codes.is_proved(typed)
    assert codes.check_digit(order_number=412, serial=3) == "0"


@given(order_numbers, serials, st.data())
def test_one_wrong_digit_of_a_proved_number_is_never_taken_for_another_blind(order_number, serial, data):
    number = codes.human_number(order_number=order_number, serial=serial)
    typed = f"{number}-{codes.check_digit(order_number=order_number, serial=serial)}"
    assert codes.read_code(typed) == (order_number, serial, None)
    place = data.draw(st.sampled_from([place for place, sign in enumerate(typed) if sign != "-"]))
    other = data.draw(st.sampled_from([digit for digit in "0123456789" if digit != typed[place]]))
    with pytest.raises(codes.CodeError, match="was mistyped: its check digit does not fit"):
        codes.read_code(typed[:place] + other + typed[place + 1 :])


def test_what_is_scanned_is_proved():
    assert codes.is_proved(codes.ticket_code(order_number=412, serial=3))


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "Nothing was read"),
        ("  \r\n", "Nothing was read"),
        ("0412", "4 digits"),
        ("000412003", "9 digits"),
        ("00041200345", "11 digits"),
        ("VANE-ROLL-7", "not the code of a blind"),
        ("0412-3-1", "0412-3-1 was mistyped: its check digit does not fit"),
        ("0412-3-01", "not the code of a blind"),
        ("٠٤١٢-٣", "not the code of a blind"),
        ("0-1", "names no blind"),
        ("0412-0", "names no blind"),
        ("1234567-1", "not the code of a blind"),
    ],
)
def test_what_names_no_blind_is_refused_with_what_to_do(text, says):
    with pytest.raises(codes.CodeError, match=says) as refused:
        codes.read_code(text)
    assert re.search(r"Scan|type|Check", str(refused.value))


def test_a_long_text_is_not_thrown_back_whole():
    with pytest.raises(codes.CodeError) as refused:
        codes.read_code("x" * 5000)
    assert len(str(refused.value)) < 200


@given(st.text(max_size=40))
def test_any_text_is_either_read_or_refused(text):
    try:
        order_number, serial, _ = codes.read_code(text)
    except codes.CodeError:
        return
    assert 1 <= order_number <= codes.LARGEST_ORDER_NUMBER
    assert 1 <= serial <= codes.LARGEST_SERIAL


@pytest.mark.parametrize(("order_number", "serial"), [(0, 1), (1_000_000, 1), (1, 0), (1, 1000), (-1, 1)])
def test_numbers_beyond_the_code_are_refused_when_written(order_number, serial):
    with pytest.raises(ValueError, match="has no code"):
        codes.ticket_code(order_number=order_number, serial=serial)


# How the codes are drawn


@pytest.mark.parametrize(("write", "dots"), [(codes.code128_svg, 1), (codes.qr_svg, 2)])
def test_modules_too_narrow_to_read_back_are_refused(write, dots):
    with pytest.raises(ValueError, match="cannot be read back"):
        write("0004120030", dots=dots)


@pytest.mark.parametrize("text", ["", "123", "0412-3", "12ab"])
def test_code_set_c_holds_pairs_of_digits_only(text):
    with pytest.raises(ValueError, match="pairs"):
        codes.code128_svg(text)


def test_a_code_128_symbol_is_start_data_check_and_stop():
    # ISO/IEC 15417 as public pages give it: start C 11010011100, stop 11000111010 and a bar of 11; the check character
    # of 345678 is (105 + 1 x 34 + 2 x 56 + 3 x 78) modulo 103 = 485 modulo 103 = 73.
    modules = codes.code128_modules("345678")
    assert modules.startswith("11010011100")
    assert modules.endswith("1100011101011")
    assert modules[-24:-13] == CODES[73]


@given(order_numbers, serials, remakes)
def test_code_128_agrees_with_a_reference_encoder(order_number, serial, remake):
    code = codes.ticket_code(order_number=order_number, serial=serial, remake=remake)
    if not code.startswith("99"):  # python-barcode drops that pair
        assert codes.code128_modules(code) == barcode.get("code128", code).build()[0]


@pytest.mark.parametrize("order_number", [990_000, 999_999])
def test_a_code_that_starts_with_99_keeps_all_its_digits(order_number):
    code = codes.ticket_code(order_number=order_number, serial=999)
    assert len(codes.code128_modules(code)) == 11 * (1 + 5 + 1) + 13


def test_code_128_keeps_ten_modules_of_quiet_each_side():
    # GS1 General Specifications R18, 5.4.4. Ten digits in set C: start, five pairs, check and stop are 90 modules.
    drawn = codes.code128_svg("0004120030", dots=2)
    width_mm = float(re.search(r'width="([\d.]+)mm"', drawn)[1])
    assert width_mm == (90 + 2 * 10) * 2 * codes.DOT_MM
    assert re.search(r' d="M10 0h', drawn)


def test_a_qr_code_of_ten_digits_is_version_1_with_four_modules_of_quiet():
    # ISO/IEC 18004: a side of 4 v + 17 modules, quiet zone 4.
    drawn = codes.qr_svg("0004120030", dots=3)
    assert 'viewBox="0 0 29 29"' in drawn
    assert float(re.search(r'width="([\d.]+)mm"', drawn)[1]) == 29 * 0.375

"""The book of constants: every constant has its place, unit and a sane range, and is read as it was typed."""

from dataclasses import fields, replace
from fractions import Fraction

import pytest

from calc import book
from calc.system import DEMO_38, System, VaneParts


def test_every_constant_of_a_system_stands_in_the_book_once():
    plain = {one.name for one in fields(System)} - {"code", "revision", "source", "vane_89", "vane_127"}
    by_width = {f"{vane}.{one.name}" for vane in ("vane_89", "vane_127") for one in fields(VaneParts)}
    keys = [constant.key for constant in book.constants()]
    assert sorted(keys) == sorted(plain | by_width)
    assert {constant.part for constant in book.constants()} == set(book.PARTS)


def test_every_value_of_the_demo_system_is_sane():
    assert book.all_out_of_range(DEMO_38) == []


@pytest.mark.parametrize("constant", book.constants(), ids=lambda constant: constant.key)
def test_a_constant_comes_back_as_it_is_shown(constant):
    value = book.value_of(DEMO_38, constant.key)
    assert book.typed(constant, book.shown(value)) == value
    assert book.with_values(DEMO_38, {constant.key: value}) == DEMO_38


@pytest.mark.parametrize("constant", [each for each in book.constants() if each.least is not None], ids=lambda c: c.key)
def test_the_ends_of_a_range_are_in_it_and_beyond_them_is_refused_with_the_values(constant):
    for bound, off in ((constant.least, -1), (constant.most, 1)):
        outside = bound + Fraction(off, 10)
        kept = (bound,) if constant.kind == book.LENGTHS else bound
        assert book.typed(constant, book.shown(kept)) == kept
        with pytest.raises(book.Unreadable) as refused:
            book.typed(constant, book.shown(outside))
        typed = book.shown(outside)
        assert typed in str(refused.value)
        if not typed.startswith("-"):
            assert constant.range_words in str(refused.value)


@pytest.mark.parametrize("typed", ["", "three", "3,5", "3mm", "1e3", "0x10", "--3", "1/0", "1/00", "9" * 400, "3 4"])
def test_what_is_no_number_is_repeated_with_one_to_type(typed):
    with pytest.raises(book.Unreadable, match="such as 3") as refused:
        book.typed(book.by_key()["end_cover_mm"], typed)
    assert typed[:30] in str(refused.value)
    assert len(str(refused.value)) < 200


def test_what_was_typed_is_repeated_up_to_40_characters_and_cut_short_beyond():
    def repeated(typed):
        with pytest.raises(book.Unreadable) as refused:
            book.typed(book.by_key()["rail_class"], typed)
        return str(refused.value).split("”")[0].removeprefix("“")

    assert repeated("x" * 40) == "x" * 40
    assert repeated("x" * 41) == "x" * 37 + "..."


@pytest.mark.parametrize("typed", ["500, 750", "500 750", "500;750", " 500,750, "])
def test_stocked_wands_are_read_however_they_are_set_apart(typed):
    assert book.typed(book.by_key()["wands_mm"], typed) == (500, 750)


def test_every_length_of_a_list_is_held_against_the_range():
    assert book.out_of_range(book.by_key()["wands_mm"], (99, 100, 4000, 4001)) == (
        "99, 4001 mm is outside the sane range, 100 to 4000 mm. Check the unit and the decimals."
    )


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("rail_class", "one of f, m, c, v"),
        ("tape_class", "one of I, II, III"),
        ("rail_kg_per_m", "0.05 to 5 kg/m"),
        ("carrier_g", "1 to 200 g"),
        ("control_share", "0.1 to 1"),
        # Finer than a tenth no tape shows; a part that is 50 off is another part.
        ("above_4000_m_mm", "0.1 to 50 mm"),
    ],
)
def test_a_range_is_said_with_its_unit(key, words):
    assert book.by_key()[key].range_words == words


def test_the_book_goes_by_part_and_sets_the_vane_widths_side_by_side():
    parts = [constant.part for constant in book.constants()]
    assert list(dict.fromkeys(parts)) == list(book.PARTS)
    assert parts == sorted(parts, key=list(book.PARTS).index)
    tubes = [constant.key for constant in book.constants() if constant.part == "tubes"]
    assert tubes[:4] == [
        "vane_89.anchored_tube_one_way_mm",
        "vane_127.anchored_tube_one_way_mm",
        "vane_89.anchored_tube_reverse_mm",
        "vane_127.anchored_tube_reverse_mm",
    ]


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("end_cover_mm", "End cover"),
        ("rail_kg_per_m", "Rail"),
        ("above_4000_f_mm", "Above 4000 mm, class f"),
        ("control_share", "Control share"),
    ],
)
def test_a_constant_is_called_by_its_name_in_words(key, words):
    assert book.by_key()[key].words == words


def test_a_tolerance_above_4000_may_be_left_empty_and_nothing_else_may():
    empty = [each.key for each in book.constants() if each.may_be_missing]
    assert empty == [f"above_4000_{letter}_mm" for letter in "fmcv"]
    assert book.typed(book.by_key()["above_4000_f_mm"], " ") is None


def test_two_revisions_differ_in_what_was_changed():
    other = book.with_values(DEMO_38, {"vane_127.link_pitch_mm": 116, "end_cover_mm": Fraction(7, 2)})
    assert [each.key for each in book.differing(DEMO_38, other)] == ["end_cover_mm", "vane_127.link_pitch_mm"]
    assert other.vane_89 == DEMO_38.vane_89
    assert replace(other, end_cover_mm=3).end_cover_mm == 3

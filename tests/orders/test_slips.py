"""Likely slips are asked about, and rooms as they usually are raise no question.

How near and how far counts as a slip is common practice, no source; the sizes here are invented. Units by their
definitions: 1 in is 2.54 cm exactly (international yard and pound agreement of 1959).
"""

import random
import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from orders import slips
from orders.slips import BASES, FAR, SWAPPED, UNIT, Sized, questions

pytestmark = pytest.mark.once


def room(*sizes, name="Kitchen", basis="recess"):
    """A line for each (width, drop), or (width, drop, room), or (width, drop, room, basis)."""
    lines = []
    for number, (width, drop, *rest) in enumerate(sizes, start=1):
        place, own_basis = [*rest, *(name, basis)[len(rest) :]]
        lines.append(Sized(number=number, room=place, size_basis=own_basis, width_mm=width, drop_mm=drop))
    return lines


def asked(*sizes, **options):
    return [(each.code, each.number) for each in questions(room(*sizes, **options))]


# Recess and exact mixed.


def test_recess_and_exact_in_one_order_are_asked_about_with_the_sizes_of_the_fewer():
    (found,) = questions(room((1830, 1600), (900, 1600), (1200, 1600, "Bedroom", "exact")))
    assert (found.code, found.number) == (BASES, None)
    assert found.message.startswith(
        "Line 3 (Bedroom) 1200 × 1600 is exact, and line 1 (Kitchen) 1830 × 1600 and line 2"
    )
    assert "whether the opening or the finished blind was measured" in found.message


@pytest.mark.parametrize("basis", ["recess", "exact", ""])
def test_one_basis_throughout_is_no_slip(basis):
    assert asked((1830, 1600), (900, 1600), basis=basis) == []


def test_the_answer_about_a_mix_holds_until_another_line_of_the_fewer_comes():
    mixed = room((1830, 1600), (900, 1600), (1200, 1600, "Bedroom", "exact"))
    more_of_the_many = room((1830, 1600), (900, 1600), (1200, 1600, "Bedroom", "exact"), (950, 1600))
    more_of_the_few = room((1830, 1600), (900, 1600), (1200, 1600, "Bedroom", "exact"), (950, 1600, "Hall", "exact"))
    first, same, other = (questions(lines)[0].figures for lines in (mixed, more_of_the_many, more_of_the_few))
    assert first == same != other


# Width and drop swapped.


def test_a_width_that_is_the_rooms_drop_is_asked_about():
    (found,) = questions(room((1200, 2400), (1800, 2400), (2400, 1500)))
    assert (found.code, found.number) == (SWAPPED, 3)
    assert "Width 2400 and drop 1500 look swapped: 2400 is the drop of line 2 (Kitchen), 1800 × 2400" in found.message
    assert "Compare it with the measurement" in found.message


def test_of_two_that_mirror_each_other_the_later_is_asked_about():
    assert asked((1200, 2400), (2400, 1200)) == [(SWAPPED, 2)]


def test_the_first_of_a_room_is_asked_about_too_where_the_other_gives_it_away():
    assert asked((2400, 1500), (1400, 2400)) == [(SWAPPED, 1)]


def test_a_drop_higher_than_most_rooms_is_asked_about_where_the_width_could_be_the_drop():
    (found,) = questions(room((900, 3600)))
    assert found.code == SWAPPED
    assert "a drop of 3600 is higher than most rooms, and 900 could be a drop" in found.message


@pytest.mark.parametrize(
    "sizes",
    [
        [(3600, 900)],
        [(2900, 3200)],  # too wide to be an ordinary drop
        [(1200, 3200), (1100, 3200)],  # a high hall, window beside window
        [(1500, 900), (2000, 1500)],  # a low window beside a higher one as high as the first is wide
        [(1200, 2400), (2400, 2400)],
        [(2400, 1500), (1200, 2400, "Bedroom")],  # another room tells nothing
        [(2400, 1500, ""), (1200, 2400, "")],  # nor do lines without a room
    ],
)
def test_ordinary_shapes_are_not_taken_for_swapped(sizes):
    assert asked(*sizes) == []


# The wrong unit.


def test_inches_read_as_centimetres_are_asked_about():
    # 72 x 61 in is 1828.8 x 1549.4 mm; read as centimetres 720 x 610.
    (found,) = questions(room((1829, 1549, "Hall"), (1829, 1549, "Study"), (720, 610, "Bedroom")))
    assert (found.code, found.number) == (UNIT, 3)
    assert "720 × 610 mm may be inches read as centimetres: 1828.8 × 1549.4 mm would be near line 1" in found.message


@pytest.mark.parametrize(
    ("size", "words"),
    [
        ((720, 610), "inches read as centimetres"),
        ((4646, 3935), "centimetres read as inches"),
        ((183, 155), "centimetres read as millimetres"),
    ],
)
def test_each_unit_that_may_be_meant_is_named(size, words):
    lines = [Sized(number=9, width_mm=1829, drop_mm=1549), Sized(number=10, width_mm=1830, drop_mm=1550)]
    slip = Sized(number=11, width_mm=size[0], drop_mm=size[1], least_mm=(100, 100))
    (found,) = questions([*lines, slip])
    assert (found.code, found.number) == (UNIT, 11)
    assert words in found.message


def test_the_size_that_more_lines_have_stands():
    assert asked((720, 610, "Hall"), (1829, 1549, "Hall 2"), (1830, 1550, "Study")) == [(UNIT, 1)]


def test_of_two_that_differ_by_a_unit_the_later_is_asked_about():
    assert asked((720, 610, "Hall"), (1829, 1549, "Study")) == [(UNIT, 2)]


def test_a_drop_that_is_the_rooms_in_another_unit_is_asked_about_whatever_its_width():
    # 60 in is 1524 mm.
    assert asked((1200, 1524), (1830, 1524), (900, 600)) == [(UNIT, 3)]


@pytest.mark.parametrize(("width", "meant"), [(150, "150 cm = 1500 mm or 150 in = 3810 mm"), (340, "340 cm = 3400 mm")])
def test_a_size_under_the_least_names_the_units_that_it_may_have(width, meant):
    (found,) = questions(room((width, 1600)))
    assert found.code == UNIT
    assert f"A width of {width} mm is less than any blind of its system. If it was measured as {meant}" in found.message


@pytest.mark.parametrize(
    "sizes",
    [
        [(600, 1200), (1524, 1200)],  # only the width, by chance
        [(1200, 1000), (1200, 2100)],  # a window beside a door
        [(900, 600, "Hall"), (1200, 1524, "Study")],  # one other drop tells nothing
        [(720, 610), (1829, 1200)],
    ],
)
def test_ordinary_sizes_are_not_taken_for_another_unit(sizes):
    assert asked(*sizes) == []


def test_the_slips_of_an_import_of_two_thousand_lines_are_found_in_time_and_by_chance_hardly_any():
    # Sizes all over the range, no two alike: no customer's order, but as many pairs as can be.
    chosen = random.Random(7)
    sizes = [(chosen.randrange(450, 4000), chosen.randrange(600, 2900), f"Flat {number}x") for number in range(2000)]
    began = time.process_time()
    found = asked(*sizes)
    assert time.process_time() - began < 5
    assert len(found) <= 20


# Far from the room's other blinds.


def test_a_drop_far_from_the_rooms_others_is_asked_about_with_the_nearest():
    (found,) = questions(room((1200, 2350), (1500, 2400), (1300, 700)))
    assert (found.code, found.number) == (FAR, 3)
    assert "A drop of 700 is far from the room's other blinds: the nearest is line 1 (Kitchen), 1200 × 2350" in (
        found.message
    )


def test_a_width_far_from_the_rooms_others_is_asked_about():
    assert asked((400, 2400), (2400, 2400)) == [(FAR, 2)]


def test_rooms_that_differ_by_a_number_are_one_room():
    assert asked((1200, 2350, "Bay 1"), (1500, 2400, "bay 2"), (1300, 700, "Bay-3")) == [(FAR, 3)]


def test_a_small_window_in_another_room_is_no_slip():
    assert asked((1200, 2350), (1500, 2400), (500, 700, "Bathroom")) == []


# What is ordinary: one basis throughout, and in each room one drop within a twentieth, a door's beside it perhaps, and
# widths of up to four times each other, none of them as wide as a drop there is high.

DROPS = st.integers(1000, 1350)
DOOR_MM = 2100


def is_a_drop(width, high):
    return 0.9 * high < width < 1.15 * high or 0.95 * DOOR_MM < width < 1.05 * DOOR_MM


@st.composite
def ordinary_orders(draw):
    basis, lines = draw(st.sampled_from(["recess", "exact"])), []
    for number in range(draw(st.integers(1, 4))):
        high, least = draw(DROPS), draw(st.integers(450, 700))
        for _ in range(draw(st.integers(1, 5))):
            door = draw(st.booleans())
            drop = DOOR_MM if door else high + draw(st.integers(0, high // 20))
            width = draw(st.integers(least, 4 * least).filter(lambda width, high=high: not is_a_drop(width, high)))
            lines.append((width, drop, f"Room {'abcd'[number]}", basis))
    return lines


@settings(max_examples=80, deadline=None)
@given(ordinary_orders())
def test_no_ordinary_order_raises_a_question(sizes):
    assert asked(*sizes) == []


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.builds(
            Sized,
            number=st.integers(1, 99),
            room=st.sampled_from(["", "Bay 1", "Bay 2", "7"]),
            size_basis=st.sampled_from(["", "recess", "exact"]),
            width_mm=st.none() | st.decimals("100", "10000", places=1),
            drop_mm=st.none() | st.decimals("100", "10000", places=1),
        ),
        max_size=6,
        unique_by=lambda line: line.number,
    )
)
def test_whatever_is_typed_each_line_is_asked_about_once_at_most_and_each_question_says_its_values(lines):
    found = questions(lines)
    numbers = [each.number for each in found if each.number]
    assert len(numbers) == len(set(numbers))
    by_number = {line.number: line for line in lines}
    for each in found:
        line = by_number.get(each.number)
        assert line is None or slips.plain(line.width_mm) in each.message or slips.plain(line.drop_mm) in each.message
        assert len(each.figures) <= 300
        assert len(each.message) <= 400

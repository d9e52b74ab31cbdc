"""The order of work, rule by rule, and what a change of vane width counts."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.order_of_work import Work, changes, order_of_work, place, widths_in_turn
from tests.calc.workshops import TUESDAY, order, orders, patient

WEDNESDAY, THURSDAY, FRIDAY, MONDAY = (date(2026, 12, day) for day in (2, 3, 4, 7))
# Ordinals of a Wednesday and a Friday in this week are even: narrow vanes first.
NARROW, WIDE, BOTH = (89,), (127,), (89, 127)


def keys(*works):
    """In the order of work, whatever the order in which they were booked."""
    found = [work.key for work in order_of_work(works)]
    assert found == [work.key for work in order_of_work(reversed(works))]
    return found


def test_the_order_promised_first_comes_first_whatever_else_it_is():
    assert keys(
        order("B", due=FRIDAY, rush=True, widths=NARROW, railing=1), order("A", due=THURSDAY, widths=WIDE, railing=900)
    ) == ["A", "B"]


def test_an_order_without_a_promise_comes_after_those_with_one_also_when_it_is_a_rush():
    assert keys(order("A", rush=True), order("B", due=MONDAY)) == ["B", "A"]
    assert keys(order("A"), order("B", rush=True)) == ["B", "A"]
    # The last day that a calendar knows is a promise all the same.
    assert keys(order("A", rush=True), order("B", due=date.max)) == ["B", "A"]


def test_a_rush_comes_before_the_others_due_on_its_day():
    assert keys(
        order("A", due=FRIDAY, widths=NARROW, railing=1), order("B", due=FRIDAY, rush=True, widths=WIDE, railing=90)
    ) == ["B", "A"]


def test_an_order_is_no_rush_and_has_no_promise_and_no_vanes_unless_it_is_said():
    assert Work(key="A", minutes={}, first=TUESDAY) == order("A", rush=False, due=None, widths=())


def test_an_order_keeps_its_place_while_it_is_made():
    large = Work(key="L", minutes={"packing": 1}, first=TUESDAY, due=FRIDAY, whole=900)
    assert keys(large, order("S", due=FRIDAY, railing=90)) == ["S", "L"]
    # Nothing at all is less than anything.
    assert keys(order("S", due=FRIDAY, railing=1), Work(key="Z", minutes={}, first=TUESDAY, due=FRIDAY, whole=0)) == [
        "Z",
        "S",
    ]


@pytest.mark.parametrize("day", [WEDNESDAY, FRIDAY, None], ids=str)
def test_on_an_even_day_narrow_vanes_come_first(day):
    works = [order("W", due=day, widths=WIDE), order("B", due=day, widths=BOTH), order("N", due=day, widths=NARROW)]
    assert keys(*works) == ["N", "B", "W"]
    assert widths_in_turn(works[1]) == (89, 127)


@pytest.mark.parametrize("day", [TUESDAY, THURSDAY, MONDAY], ids=str)
def test_on_an_odd_day_wide_vanes_come_first(day):
    works = [order("N", due=day, widths=NARROW), order("B", due=day, widths=BOTH), order("W", due=day, widths=WIDE)]
    assert keys(*works) == ["W", "B", "N"]
    assert widths_in_turn(works[1]) == (127, 89)


def test_a_day_begins_on_the_width_that_the_working_day_before_ended_with():
    in_turn = order_of_work(
        order(f"{day:%a}{width}", due=day, widths=(width,)) for day in (FRIDAY, THURSDAY, MONDAY) for width in (89, 127)
    )
    assert [work.key for work in in_turn] == ["Thu127", "Thu89", "Fri89", "Fri127", "Mon127", "Mon89"]


def test_the_width_goes_before_the_work_and_less_work_before_more():
    assert keys(
        order("A", due=FRIDAY, widths=WIDE, railing=1),
        order("B", due=FRIDAY, widths=NARROW, railing=20, packing=1),
        order("C", due=FRIDAY, widths=NARROW, railing=5, packing=15),
    ) == ["C", "B", "A"]


def test_of_orders_equal_in_all_else_the_lower_number_comes_first():
    assert keys(order(12, due=FRIDAY, railing=5), order(7, due=FRIDAY, railing=5)) == [7, 12]


def test_a_width_named_twice_is_cut_once():
    assert widths_in_turn(order("A", due=FRIDAY, widths=(127, 89, 127))) == (89, 127)
    assert widths_in_turn(order("A", due=FRIDAY)) == ()


@pytest.mark.parametrize(
    ("mounted", "widths", "count"),
    [
        (None, (), 0),
        (89, (), 0),
        (None, (89,), 0),
        (None, (89, 127), 1),
        (89, (89,), 0),
        (127, (89,), 1),
        (89, (89, 127), 1),
        (127, (89, 127), 2),
    ],
    ids=str,
)
def test_changes_of_width_are_counted_from_what_is_mounted(mounted, widths, count):
    assert changes(mounted=mounted, widths=widths) == count


@patient
@given(orders())
def test_a_new_order_comes_between_others_and_swaps_none(works):
    *booked, _ = works
    among = [work for work in order_of_work(works) if work in booked]
    assert among == order_of_work(booked)


@patient
@given(orders())
def test_no_two_orders_have_the_same_place(works):
    assert len({place(work) for work in works}) == len(works)


@patient
@given(st.lists(st.tuples(st.integers(1, 3), st.integers(1, 3)), min_size=1, max_size=8))
def test_where_both_widths_are_promised_for_each_day_the_width_is_changed_once_a_day(days):
    works = [
        order((number, width, each), due=TUESDAY + timedelta(number), widths=(width,), vanes=each)
        for number, counts in enumerate(days)
        for width, count in zip((89, 127), counts, strict=True)
        for each in range(count)
    ]
    mounted, count = None, 0
    for work in order_of_work(works):
        count += changes(mounted=mounted, widths=widths_in_turn(work))
        (mounted,) = work.widths
    assert count == len(days)

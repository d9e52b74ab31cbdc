"""The working calendar: which days are worked, and why the others are not."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from orders import calendar, promise
from orders.calendar import Calendar, NoWorkingDay
from orders.models import AddedDay, Closure

MON_TO_FRI = frozenset(range(5))
HOURS = {"opens_at": dt.time(7), "closes_at": dt.time(15, 30)}
ENGLAND = Calendar(weekdays=MON_TO_FRI, country="GB", subdivision="ENG", **HOURS)
DAYS = st.dates(dt.date(2025, 1, 1), dt.date(2027, 12, 31))


@pytest.mark.parametrize(
    ("day", "name"),
    # Source: the United Kingdom government's list of bank holidays in England and Wales, 2026, from memory.
    [
        ("2026-01-01", "New Year's Day"),
        ("2026-04-03", "Good Friday"),
        ("2026-04-06", "Easter Monday"),
        ("2026-05-04", "May Day"),
        ("2026-05-25", "Spring Bank Holiday"),
        ("2026-08-31", "Late Summer Bank Holiday"),
        ("2026-12-25", "Christmas Day"),
        ("2026-12-28", "Boxing Day (observed)"),
    ],
)
def test_a_public_holiday_of_england_is_not_worked(day, name):
    assert ENGLAND.closed_because(dt.date.fromisoformat(day)) == name


def test_england_has_no_other_public_holiday_on_a_weekday_of_2026():
    year = [dt.date(2026, 1, 1) + dt.timedelta(days=ahead) for ahead in range(365)]
    assert sum(day.weekday() < 5 and not ENGLAND.is_working(day) for day in year) == 8


def test_easter_monday_is_worked_in_scotland():
    scotland = Calendar(weekdays=MON_TO_FRI, country="GB", subdivision="SCT", **HOURS)
    assert scotland.is_working(dt.date(2026, 4, 6))


def test_without_a_country_no_public_holiday_is_kept():
    assert Calendar(weekdays=MON_TO_FRI, **HOURS).is_working(dt.date(2026, 12, 25))


def test_a_day_of_the_week_that_is_not_worked_says_which():
    assert ENGLAND.closed_because(dt.date(2026, 3, 7)) == "no work on Saturdays"


def test_a_closure_holds_from_its_first_day_to_its_last():
    closed = Calendar(
        weekdays=MON_TO_FRI, closures=((dt.date(2026, 3, 10), dt.date(2026, 3, 11), "Stocktaking"),), **HOURS
    )
    worked = [closed.is_working(dt.date(2026, 3, day)) for day in (9, 10, 11, 12)]
    assert worked == [True, False, False, True]
    assert closed.closed_because(dt.date(2026, 3, 10)) == "Stocktaking"


def test_an_added_day_is_worked_on_a_saturday_a_holiday_and_within_a_closure():
    days = [dt.date(2026, 12, 19), dt.date(2026, 12, 25), dt.date(2026, 12, 30)]
    opened = Calendar(
        weekdays=MON_TO_FRI,
        country="GB",
        subdivision="ENG",
        closures=((dt.date(2026, 12, 29), dt.date(2026, 12, 31), "Between the years"),),
        added=dict.fromkeys(days, "Rush before Christmas"),
        **HOURS,
    )
    assert all(opened.is_working(day) for day in days)
    assert not opened.is_working(dt.date(2026, 12, 31))


def test_the_usual_day_leaves_public_holidays_out():
    # Ten working days after Tuesday 22 December 2026; Christmas Day and Boxing Day, observed on Monday, and New Year
    # are not worked.
    assert promise.usual_day(today=dt.date(2026, 12, 22), calendar=ENGLAND) == dt.date(2027, 1, 8)


@given(day=DAYS, count=st.integers(1, 30))
def test_so_many_working_days_after_a_day_are_counted_between_the_two(day, count):
    later = ENGLAND.after(day, working_days=count)
    assert ENGLAND.is_working(later)
    assert ENGLAND.working_days_between(day, later) == count


@given(day=DAYS, count=st.integers(1, 30))
def test_back_by_as_many_working_days_leads_to_the_working_day_itself(day, count):
    day = ENGLAND.on_or_after(day)
    assert ENGLAND.before(ENGLAND.after(day, working_days=count), working_days=count) == day


def test_a_calendar_without_any_working_day_says_so_instead_of_searching_for_ever():
    with pytest.raises(NoWorkingDay, match="Ask a manager"):
        Calendar(weekdays=frozenset(), **HOURS).on_or_after(dt.date(2026, 3, 4))


@pytest.mark.parametrize(
    ("clock", "left"),
    [(dt.time(5), 510), (dt.time(7), 510), (dt.time(11, 15), 255), (dt.time(15, 30), 0), (dt.time(20), 0)],
)
def test_of_today_only_the_rest_of_the_shift_is_left(clock, left):
    assert ENGLAND.share_left(clock) == (left, 510)


@pytest.mark.django_db
def test_what_the_manager_sets_is_what_is_read(django_assert_num_queries):
    calendar.set_week(weekdays=[0, 1, 2, 3], country="", subdivision="", days_in_hand=2)
    closed = calendar.close(first_day=dt.date(2026, 3, 10), last_day=dt.date(2026, 3, 10), reason="Stocktaking")
    added = calendar.add_day(day=dt.date(2026, 3, 14), reason="Saturday shift")
    with django_assert_num_queries(3):
        found = calendar.read()
    assert (found.weekdays, found.days_in_hand) == (frozenset({0, 1, 2, 3}), 2)
    assert found.closed_because(dt.date(2026, 3, 6)) == "no work on Fridays"
    assert found.closed_because(dt.date(2026, 3, 10)) == "Stocktaking"
    assert found.is_working(dt.date(2026, 3, 14))

    calendar.take_off(closed)
    calendar.take_off(added)
    assert not Closure.objects.exists()
    assert not AddedDay.objects.exists()
    assert calendar.read().is_working(dt.date(2026, 3, 10))


@pytest.mark.django_db
def test_a_day_added_twice_keeps_the_newer_reason():
    calendar.add_day(day=dt.date(2026, 3, 14), reason="Saturday shift")
    calendar.add_day(day=dt.date(2026, 3, 14), reason="Stocktaking")
    assert AddedDay.objects.get().reason == "Stocktaking"


def test_countries_and_their_parts_are_named_as_people_write_them():
    assert ("GB", "United Kingdom") in calendar.countries()
    assert calendar.subdivisions("GB") == [
        ("ENG", "England"),
        ("NIR", "Northern Ireland"),
        ("SCT", "Scotland"),
        ("WLS", "Wales"),
    ]
    assert calendar.subdivisions("") == []

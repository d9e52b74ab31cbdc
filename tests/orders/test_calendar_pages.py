"""The calendar's pages: a manager closes and opens days, and everybody in the office sees which and why."""

import datetime as dt

import pytest
from django.urls import reverse

from orders import calendar
from orders.models import AddedDay, Closure, WorkingWeek
from tests import factories
from tests.orders.pages import in_days, page_of, queries_of

pytestmark = pytest.mark.django_db
WEEK = {
    "weekdays": ["0", "1", "2", "3", "4"],
    "opens_at": "07:00",
    "closes_at": "15:30",
    "country": "GB",
    "subdivision": "ENG",
    "days_in_hand": "1",
}


@pytest.fixture
def manager(client):
    found = factories.person("manager", name="ida")
    client.force_login(found)
    return found


def test_a_month_says_of_each_day_whether_it_is_worked_and_why_not(client, manager):
    days = {each["day"].day: each["because"] for each in client.get("/calendar/?month=2026-12").context["days"]}
    assert len(days) == 31
    assert (days[24], days[25], days[26]) == ("", "Christmas Day", "no work on Saturdays")
    page = page_of(client, "calendar", month="2026-12")
    assert "December 2026" in page
    assert "22 days worked" not in page
    assert "21 days worked" in page


@pytest.mark.parametrize("month", ["", "2026-13", "soon", "0001-01", "9999-12"])
def test_a_month_that_is_none_shows_the_one_of_today(client, manager, month):
    assert client.get("/calendar/", {"month": month}).context["month"] == in_days(0).replace(day=1)


def test_days_are_closed_with_a_reason_and_opened_again(client, manager):
    given = {"first_day": "2027-03-09", "last_day": "2027-03-10", "reason": "Stocktaking"}
    answer = client.post(reverse("calendar-close"), given)
    assert answer.url == "/calendar/?month=2027-03"
    page = client.get(answer.url).content.decode()
    assert page.count("Stocktaking") >= 3
    assert "closed Tue 9 Mar 2027 to Wed 10 Mar 2027" in page
    client.post(reverse("calendar-open", args=[Closure.objects.get().pk]))
    assert calendar.read().is_working(dt.date(2027, 3, 9))


def test_a_closure_without_a_last_day_is_one_day(client, manager):
    client.post(reverse("calendar-close"), {"first_day": "2027-03-09", "last_day": "", "reason": "Stocktaking"})
    assert Closure.objects.get().last_day == dt.date(2027, 3, 9)


def test_closing_says_how_many_orders_are_promised_for_then(client, manager):
    factories.order(due_on=dt.date(2027, 3, 9))
    given = {"first_day": "2027-03-09", "last_day": "", "reason": "Stocktaking"}
    assert "Orders promised for then: 1." in client.post(reverse("calendar-close"), given, follow=True).content.decode()


def test_a_promise_for_a_day_that_is_worked_all_the_same_is_not_counted(client, manager):
    calendar.add_day(day=dt.date(2027, 3, 9), reason="Rush")
    factories.order(due_on=dt.date(2027, 3, 9))
    given = {"first_day": "2027-03-08", "last_day": "2027-03-12", "reason": "Stocktaking"}
    assert "promised for then" not in client.post(reverse("calendar-close"), given, follow=True).content.decode()


def test_taking_a_worked_saturday_off_says_how_many_orders_are_promised_for_it(client, manager):
    added = calendar.add_day(day=dt.date(2027, 3, 13), reason="Saturday shift")
    factories.order(due_on=added.day)
    address = reverse("calendar-take-day-off", args=[added.pk])
    assert "Orders promised for then: 1. Look at them." in client.post(address, follow=True).content.decode()
    # Pressed twice, it is answered calmly.
    assert "nothing was done twice" in client.post(address, follow=True).content.decode()


def test_a_closure_that_is_pressed_twice_is_one(client, manager):
    given = {"first_day": "2027-03-09", "last_day": "", "reason": "Stocktaking"}
    for _ in range(2):
        client.post(reverse("calendar-close"), given)
    closure = Closure.objects.get()
    answers = [client.post(reverse("calendar-open", args=[closure.pk]), follow=True) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [200, 200]
    assert not Closure.objects.exists()


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"first_day": ""}, "Choose the first day that is closed."),
        ({"reason": " "}, "Say why, such as Stocktaking."),
        ({"last_day": "2027-03-08"}, "comes before Tuesday 9 March 2027. Choose a later day."),
        ({"last_day": "2028-03-09"}, "are 367 days. Close 366 at most at once."),
        ({"last_day": "tomorrow"}, "That is not a day."),
    ],
)
def test_a_closure_that_can_t_be_says_why_and_loses_nothing(client, manager, given, said):
    typed = {"first_day": "2027-03-09", "last_day": "2027-03-10", "reason": "Stocktaking", **given}
    answer = client.post(reverse("calendar-close"), typed)
    assert answer.status_code == 422
    page = answer.content.decode()
    assert said in page
    assert all(f'value="{value}"' in page for value in typed.values() if value.strip())
    assert not Closure.objects.exists()


def test_a_saturday_is_worked_for_a_reason_and_taken_off_again(client, manager):
    answer = client.post(reverse("calendar-add-day"), {"day": "2027-03-13", "reason": "Saturday shift"})
    assert "Saturday shift" in client.get(answer.url).content.decode()
    assert calendar.read().is_working(dt.date(2027, 3, 13))
    client.post(reverse("calendar-take-day-off", args=[AddedDay.objects.get().pk]))
    assert not calendar.read().is_working(dt.date(2027, 3, 13))


def test_a_day_that_is_worked_anyway_is_not_added(client, manager):
    answer = client.post(reverse("calendar-add-day"), {"day": "2027-03-09", "reason": "Rush"})
    assert answer.status_code == 422
    assert "Tuesday 9 March 2027 is worked already." in answer.content.decode()


def test_the_week_is_set(client, manager):
    typed = {**WEEK, "weekdays": ["0", "1", "2", "3"], "closes_at": "17:00", "subdivision": "SCT", "days_in_hand": "0"}
    client.post(reverse("working-week"), typed)
    week = WorkingWeek.objects.get()
    assert (week.weekdays, week.closes_at, week.subdivision, week.days_in_hand) == (
        [0, 1, 2, 3],
        dt.time(17, 0),
        "SCT",
        0,
    )
    assert "Monday, Tuesday, Wednesday, Thursday" in page_of(client, "calendar")


def test_another_country_asks_for_its_part_once_more(client, manager):
    answer = client.post(reverse("working-week"), {**WEEK, "country": "DE"}, follow=True)
    week = WorkingWeek.objects.get()
    assert (week.country, week.subdivision) == ("DE", "")
    page = answer.content.decode()
    assert "Now choose the part of the country." in page
    assert "Bayern" in page


def test_a_country_without_parts_leads_back_to_the_calendar(client, manager):
    assert client.post(reverse("working-week"), {**WEEK, "country": "DK"}).url == reverse("calendar")


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"weekdays": []}, "Tick at least one day of the week."),
        ({"closes_at": "07:00"}, "07:00 is not after 07:00, when the shift begins."),
        ({"country": "ZZ"}, "Select a valid choice"),
        ({"days_in_hand": "21"}, "less than or equal to 20"),
    ],
)
def test_a_week_that_can_t_be_says_why(client, manager, given, said):
    answer = client.post(reverse("working-week"), {**WEEK, **given})
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert not WorkingWeek.objects.exists()


def test_sales_see_the_calendar_and_change_nothing(client, sales):
    page = page_of(client, "calendar")
    assert "Close these days" not in page
    assert "Change the week" not in page


def test_the_calendar_takes_as_many_queries_with_many_closures(client, manager):
    before = queries_of(client, "/calendar/?month=2027-03")
    for day in range(1, 20):
        calendar.close(first_day=dt.date(2027, 3, day), last_day=dt.date(2027, 3, day), reason=f"Reason {day}")
        factories.order(due_on=dt.date(2027, 3, day))
    assert queries_of(client, "/calendar/?month=2027-03") == before

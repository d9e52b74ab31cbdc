"""The plan read from the database: what is booked, which minutes each day has, and which orders will be late."""

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from orders import calendar, intake, promise
from orders.models import Order
from production import crew, planning, route, worktimes
from production.route import CHECKING, PACKING, RAILING, STRINGING, VANES
from tests import factories
from tests.factories import AT

pytestmark = pytest.mark.django_db

TODAY = dt.date(2026, 3, 4)  # a Wednesday; AT is nine o'clock
DAY = dt.timedelta(days=1)
NINE_OF_SHIFT = (390, 510)
"""At nine, six and a half of the shift's eight and a half hours are left."""


@pytest.fixture(autouse=True)
def plain_week():
    calendar.set_week(weekdays=[0, 1, 2, 3, 4], country="", subdivision="", days_in_hand=0)


def read(at=AT):
    return planning.read(at=at)


def work_of(order, plan=None):
    return next((work for work in (plan or read()).works if work.key == order.number), None)


def confirmed(**fields):
    fields.setdefault("lines", [{}])
    order = factories.order(**fields)
    intake.confirm(order=order, by=order.entered_by, at=AT)
    return order


# What is booked.


def test_drafts_are_not_booked_until_their_day_is_promised_from_the_plan():
    draft = factories.order(lines=[{}])
    assert work_of(draft) is None
    promise.give(order=draft, due_on=draft.due_on, by=draft.entered_by, at=AT, earliest=None, makes_late=[])
    assert work_of(draft).due == draft.due_on


def test_a_draft_whose_day_was_changed_since_is_not_booked_any_more():
    draft = factories.order(lines=[{}])
    promise.give(order=draft, due_on=draft.due_on, by=draft.entered_by, at=AT, earliest=None, makes_late=[])
    intake.change_order(order=Order.objects.get(), due_on=draft.due_on + DAY)
    assert work_of(draft) is None


def test_a_draft_that_nobody_confirmed_by_its_promised_day_takes_no_more_minutes():
    draft, agreed = factories.order(lines=[{}]), confirmed()
    promise.give(order=draft, due_on=draft.due_on, by=draft.entered_by, at=AT, earliest=None, makes_late=[])
    for days, numbers in ((0, {draft.number, agreed.number}), (1, {agreed.number})):
        at = dt.datetime.combine(draft.due_on + days * DAY, dt.time(9), dt.UTC)
        assert set(read(at).booked) == numbers


def test_confirmed_and_released_orders_are_booked_and_ready_or_cancelled_ones_are_not():
    kept = [confirmed(), factories.released()[0].order]
    cancelled = confirmed()
    intake.cancel(order=cancelled, by=cancelled.entered_by, at=AT)
    ready = factories.released()[0]
    factories.make(ready, maker=factories.person("maker"), checker=factories.person("checker"))
    assert set(read().booked) == {order.number for order in kept}


def test_an_order_needs_its_minutes_at_every_station_and_none_where_it_is_done():
    blind = factories.released(lines=[{"vane_width_mm": 127}])[0]
    start = {key: worktimes.STARTS[key].minutes(worktimes.Kind(True, True, worktimes.MIDDLE)) for key in route.STATION}
    assert work_of(blind.order).minutes == start
    assert work_of(blind.order).widths == (127,)
    factories.work(blind, RAILING, by=factories.person("maker"))
    assert work_of(blind.order).minutes == {**start, RAILING: 0}


def test_a_line_counts_with_every_blind_of_it():
    one, three = confirmed(lines=[{}]), confirmed(lines=[{"quantity": 3}])
    assert work_of(three).minutes == {key: 3 * minutes for key, minutes in work_of(one).minutes.items()}


def test_a_blind_that_is_sent_back_needs_its_minutes_there_again():
    blind = factories.released()[0]
    maker, checker = factories.person("maker"), factories.person("checker")
    for key in (RAILING, VANES, STRINGING):
        factories.work(blind, key, by=maker)
    done = work_of(blind.order).minutes
    assert (done[RAILING], done[STRINGING]) == (0, 0)
    factories.tell(blind, CHECKING, route.START, by=checker)
    factories.tell(blind, CHECKING, route.SEND_BACK, by=checker, back_to=STRINGING, fault="stiff", note="")
    again = work_of(blind.order).minutes
    assert again[RAILING] == 0
    assert again[STRINGING] > 0


# Days and minutes.


def test_a_day_has_the_minutes_of_its_people_and_today_only_what_is_left():
    capacity = read().workshop.capacity[RAILING]
    left, shift = NINE_OF_SHIFT
    assert capacity[TODAY] == 2 * 450 * left // shift
    assert capacity[TODAY + DAY] == 2 * 450


def test_a_closed_day_has_no_minutes_and_holds_no_work():
    calendar.close(first_day=TODAY + DAY, last_day=TODAY + 2 * DAY, reason="Stocktaking")
    confirmed(lines=[{"quantity": 40}])
    plan = read()
    closed = {TODAY + DAY, TODAY + 2 * DAY, TODAY + 3 * DAY, TODAY + 4 * DAY}
    assert not closed & set(plan.workshop.days)
    held = {day for by_day in plan.plan.slices.values() for day in by_day}
    assert held
    assert not closed & held


def test_an_added_saturday_holds_work():
    saturday = dt.date(2026, 3, 7)
    calendar.add_day(day=saturday, reason="Saturday shift")
    confirmed(lines=[{"quantity": 60}])
    assert saturday in read().plan.slices[RAILING]


def test_whoever_is_away_is_missed_at_one_station_and_counts_once():
    maker = factories.person("maker")
    for last_day in (TODAY + DAY, TODAY + 2 * DAY):
        crew.add_absence(person=maker, station=RAILING, first_day=TODAY + DAY, last_day=last_day)
    capacity = read().workshop.capacity
    assert [capacity[RAILING][TODAY + ahead * DAY] for ahead in (1, 2, 5)] == [450, 450, 900]
    assert capacity[VANES][TODAY + DAY] == 900


def test_no_station_has_fewer_than_no_people():
    for _ in range(2):
        crew.add_absence(person=factories.person("maker"), station=PACKING, first_day=TODAY, last_day=TODAY + DAY)
    assert read().workshop.capacity[PACKING][TODAY + DAY] == 0


def test_crews_are_those_that_the_manager_set():
    crew.set_crews({RAILING: {"people": 3, "minutes": 400}})
    assert read().workshop.capacity[RAILING][TODAY + DAY] == 1200
    assert read().workshop.capacity[VANES][TODAY + DAY] == 900


# Who will be late.


def test_an_order_that_can_t_be_made_in_time_will_be_late_by_working_days():
    friday = dt.date(2026, 3, 6)
    order = confirmed(due_on=friday, lines=[{"quantity": 30}])
    forecast = read().forecasts[order.number]
    assert forecast.finished > friday
    assert forecast.late_days == calendar.read().working_days_between(friday, forecast.finished) > 0
    assert [each.order.number for each in read().late] == [order.number]


def test_the_days_in_hand_make_nobody_late():
    order = confirmed(due_on=TODAY + 6 * DAY)
    calendar.set_week(weekdays=[0, 1, 2, 3, 4], country="", subdivision="", days_in_hand=20)
    assert read().forecasts[order.number].late_days == 0


def test_an_order_beyond_the_horizon_is_late_without_a_made_up_day():
    crew.set_crews({PACKING: {"people": 0, "minutes": 0}})
    order = confirmed()
    forecast = read().forecasts[order.number]
    assert (forecast.finished, forecast.late_days, forecast.late) == (None, None, True)


def test_the_plan_takes_as_many_queries_with_many_orders():
    factories.released(lines=[{}])
    confirmed()

    def queries():
        with CaptureQueriesContext(connection) as found:
            assert read().plan
        return len(found)

    before = queries()
    for _ in range(6):
        factories.released(lines=[{"quantity": 2}, {"vane_width_mm": 127}])
        confirmed(lines=[{}, {"quantity": 3}])
    assert queries() == before <= 12


# What is learned from the workshop's own events.


def test_enough_finished_blinds_change_the_minutes_from_the_next_day_on():
    maker = factories.person("maker")
    for number in range(worktimes.ENOUGH):
        blind = factories.released()[0]
        begun = AT + dt.timedelta(minutes=20 * number)
        factories.tell(blind, RAILING, route.START, by=maker, at=begun)
        factories.enter_steps(blind, RAILING, by=maker, at=begun)
        factories.tell(blind, RAILING, route.FINISH, by=maker, at=begun + dt.timedelta(minutes=17))
    kind = worktimes.Kind(split=True, looped=True, width=worktimes.MIDDLE)
    today = planning.minutes_table(at=AT + dt.timedelta(hours=6))[RAILING, kind]
    assert (today.counts, today.blinds) == (today.start, 0)
    tomorrow = planning.minutes_table(at=AT + DAY)[RAILING, kind]
    assert (tomorrow.counts, tomorrow.blinds) == (17, worktimes.ENOUGH)
    assert planning.minutes_table(at=AT + DAY)[STRINGING, kind].blinds == 0
    long_after = planning.minutes_table(at=AT + (planning.LEARNED_FROM_DAYS + 2) * DAY)[RAILING, kind]
    assert long_after.blinds == 0

"""Promising a day from the plan: what it does to others, what stays on record, and two desks at once."""

import datetime as dt
import threading

import pytest
from django.db import connection, transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from orders import calendar, intake
from orders.models import Order, PromiseGiven
from production import crew, planning, promising, route
from production.promising import NotKept
from tests import factories
from tests.factories import AT

TODAY = dt.date(2026, 3, 4)  # a Wednesday; AT is nine o'clock
DAY = dt.timedelta(days=1)


def small_workshop():
    """One person at each station, no holidays, no days in hand."""
    calendar.set_week(weekdays=[0, 1, 2, 3, 4], country="", subdivision="", days_in_hand=0)
    crew.set_crews({key: {"people": 1, "minutes": 450} for key in route.STATION})


@pytest.fixture
def desk(db):
    small_workshop()
    return factories.person("sales", name="nora")


def draft(by, quantity=4, **fields):
    return factories.order(by=by, lines=[{"quantity": quantity}], **fields)


def promised(order, day, *, by, **options):
    return promising.promise(order=order, day=day, by=by, at=AT, **options)


def earliest(order):
    return promising.quote(order=order, at=AT).day


def finishes(order):
    return planning.read(at=AT).forecasts[order.number].finished


def day_before(order):
    """The working day before the one that is promised."""
    return calendar.read().before(Order.objects.get(pk=order.pk).due_on, working_days=1)


def test_the_earliest_day_is_promised_and_booked_and_stays_on_record(desk):
    order = draft(desk)
    day = earliest(order)
    promised(order, day, by=desk)
    assert Order.objects.get().due_on == day
    given = PromiseGiven.objects.get()
    assert (given.by, given.at, given.due_on, given.earliest, given.makes_late) == (desk, AT, day, day, [])
    assert finishes(order) == day


def test_promised_twice_it_stands_on_record_once(desk):
    order = draft(desk)
    for _ in range(2):
        promised(order, earliest(order), by=desk)
    assert PromiseGiven.objects.count() == 1


def test_what_is_booked_makes_the_next_order_later_and_its_own_promise_does_not(desk):
    first, second = draft(desk, 10), draft(desk, 10)
    alone = earliest(first)
    assert earliest(second) == alone
    promised(first, alone, by=desk)
    assert earliest(first) == alone
    assert earliest(second) > alone


def test_the_day_before_the_earliest_is_not_promised_and_says_whom_it_would_make_late(desk):
    first = draft(desk, 10)
    promised(first, earliest(first), by=desk)
    second = draft(desk, 6)
    day = day_before(first)
    with pytest.raises(NotKept) as refused:
        promised(second, day, by=desk)
    found = refused.value.outlook
    assert [each.number for each in found.late] == [first.number]
    assert found.late[0].late_days >= 1
    assert found.late[0].customer == first.customer.name
    assert Order.objects.get(pk=second.pk).due_on == factories.DUE
    assert PromiseGiven.objects.filter(order=second).count() == 0


def test_promised_all_the_same_it_stays_on_record_with_whom_it_makes_late(desk):
    first = draft(desk, 10)
    promised(first, earliest(first), by=desk)
    second = draft(desk, 6)
    before = finishes(first)
    day = day_before(first)
    found = promising.outlook(order=second, day=day, at=AT)
    promised(second, day, by=desk, agreed=found.token)
    given = PromiseGiven.objects.get(order=second)
    assert given.due_on == day < given.earliest
    assert given.makes_late == [[first.number, first.customer.name, found.late[0].late_days]]
    assert planning.read(at=AT).forecasts[first.number].late_days == found.late[0].late_days
    assert finishes(first) > before


def test_who_has_read_another_outlook_is_asked_again(desk):
    first = draft(desk, 10)
    promised(first, earliest(first), by=desk)
    second, third = draft(desk, 6), draft(desk, 3)
    day = day_before(first)
    seen = promising.outlook(order=second, day=day, at=AT).token
    promised(third, earliest(third), by=desk)
    with pytest.raises(NotKept):
        promised(second, day, by=desk, agreed=seen)


def test_an_order_promised_for_too_early_a_day_would_be_late_itself(desk):
    order = draft(desk, 20)
    with pytest.raises(NotKept) as refused:
        promised(order, TODAY, by=desk)
    assert refused.value.outlook.own_late_days > 0
    assert refused.value.outlook.late == ()


@pytest.mark.parametrize(
    ("day", "said"),
    [
        (TODAY - DAY, "has gone. Promise today or a later day."),
        (TODAY + 3 * DAY, "is closed: no work on Saturdays. The next working day is Monday 9 March"),
    ],
)
def test_a_day_that_nobody_can_promise_says_why(desk, day, said):
    with pytest.raises(intake.Refused, match=said):
        promised(draft(desk), day, by=desk)


def test_an_order_without_lines_can_t_be_promised_a_day(desk):
    with pytest.raises(intake.Refused, match="Add a line first"):
        promised(factories.order(by=desk), factories.DUE, by=desk)
    assert promising.quote(order=Order.objects.get(), at=AT) is None


def test_a_released_order_s_day_is_not_promised_here(desk):
    order = factories.released(by=desk)[0].order
    with pytest.raises(intake.Refused):
        promised(order, factories.DUE, by=desk)


def test_rush_goes_before_what_is_due_the_same_day_but_breaks_no_promise(desk):
    first = draft(desk, 6)
    day = earliest(first)
    promised(first, day, by=desk)
    rushed = draft(desk, 2, rush=True)
    assert earliest(rushed) > day
    with pytest.raises(NotKept) as refused:
        promised(rushed, day, by=desk)
    assert [each.number for each in refused.value.outlook.late] == [first.number]


def test_confirming_promises_the_day_and_refuses_with_the_promise_where_it_can_t(desk):
    order = draft(desk)
    promised(order, earliest(order), by=desk, confirm=True)
    assert Order.objects.get().state == Order.CONFIRMED
    late = draft(desk, 20)
    with pytest.raises(NotKept):
        promised(late, TODAY + DAY, by=desk, confirm=True)
    assert Order.objects.get(pk=late.pk).state == Order.DRAFT


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    quantities=st.lists(st.integers(1, 12), min_size=2, max_size=4),
    rushes=st.lists(st.booleans(), min_size=4, max_size=4),
)
def test_no_promise_that_was_given_is_broken_by_the_next(desk, quantities, rushes):
    with transaction.atomic():
        for quantity, rush in zip(quantities, rushes, strict=False):
            order = draft(desk, quantity, rush=rush)
            promised(order, earliest(order), by=desk)
        assert planning.read(at=AT).late == []
        # One example doesn't see another's orders.
        transaction.set_rollback(True)


@pytest.mark.django_db(transaction=True)
def test_two_desks_that_promise_the_same_day_at_once_do_not_both_get_it():
    small_workshop()
    desks = [factories.person("sales"), factories.person("sales")]
    orders = [draft(by, 5) for by in desks]
    day = earliest(orders[0])
    assert day == earliest(orders[1])
    ready, told = threading.Barrier(2), []

    def press(order, by):
        try:
            ready.wait()
            promised(order, day, by=by)
            told.append("promised")
        except NotKept as refused:
            told.append(refused.outlook)
        finally:
            connection.close()

    pressing = [threading.Thread(target=press, args=each) for each in zip(orders, desks, strict=True)]
    for each in pressing:
        each.start()
    for each in pressing:
        each.join()
    refused = [each for each in told if each != "promised"]
    assert len(told) == 2
    assert len(refused) == 1
    assert refused[0].quote.day > day
    assert planning.read(at=AT).late == []


@pytest.mark.django_db(transaction=True)
def test_an_order_that_grows_while_another_is_promised_does_not_take_the_same_minutes():
    small_workshop()
    desks = [factories.person("sales"), factories.person("sales")]
    grows, other = draft(desks[0], 1), draft(desks[1], 5)
    day = earliest(other)
    promised(grows, day, by=desks[0], confirm=True)
    assert earliest(other) == day
    ready, told = threading.Barrier(2), []

    def grow():
        with promising.unbroken(order=grows, agreed="", by=desks[0], at=AT):
            intake.save_line(order=grows, line=factories.line(quantity=4))

    def press(act):
        try:
            ready.wait()
            act()
            told.append("kept")
        except NotKept:
            told.append("not kept")
        finally:
            connection.close()

    pressing = [threading.Thread(target=press, args=[act]) for act in (grow, lambda: promised(other, day, by=desks[1]))]
    for each in pressing:
        each.start()
    for each in pressing:
        each.join()
    assert sorted(told) == ["kept", "not kept"]
    assert planning.read(at=AT).late == []
    assert grows.lines.count() == 1 + (Order.objects.get(pk=other.pk).due_on != day)

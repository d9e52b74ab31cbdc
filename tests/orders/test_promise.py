"""A promise in doubt: sales see it, keep it or promise another day, and who did so stays on record."""

import datetime as dt

import pytest
from django.urls import reverse
from django.utils import timezone

from orders import intake
from orders.models import Order, PromiseLook
from tests import factories
from tests.orders.pages import in_days, page_of, queries_of

pytestmark = pytest.mark.django_db

BECAUSE = "0001-1 was sent back from checking to railing: rail or rod damaged, its rail is made anew"


def doubted(*, days=7, because=BECAUSE):
    """A released order whose promise a fault has put in doubt."""
    order = factories.released(due_on=in_days(days))[0].order
    intake.doubt_promise(order=order, because=because, at=timezone.now())
    return order


def look(client, order, *, seen=None, **answer):
    seen = (seen or order.promise_doubted_at).isoformat()
    return client.post(reverse("order-promise", args=[order.number]), {"seen": seen, **answer}, follow=True)


def fresh(order):
    return Order.objects.get(pk=order.pk)


def test_the_orders_page_says_what_happened_and_asks(client, sales):
    order = doubted()
    page = page_of(client, "order", order.number)
    assert "Promise to be looked at" in page
    assert BECAUSE in page
    assert f"Keep {order.due_on:%a} {order.due_on.day} {order.due_on:%b}" in page


def test_an_order_without_a_fault_asks_nothing(client, sales):
    order = factories.released(due_on=in_days(7))[0].order
    assert "Promise to be looked at" not in page_of(client, "order", order.number)
    assert "Promise to" not in page_of(client, "orders")


def test_a_promise_that_is_kept_is_no_longer_in_doubt_and_says_who_kept_it(client, sales):
    order = doubted()
    page = look(client, order, keep="yes").content.decode()
    assert fresh(order).promise_doubted_at is None
    assert fresh(order).due_on == order.due_on
    assert "Promise kept for" in page
    assert "nora" in page
    assert BECAUSE in page


def test_another_day_is_promised_and_both_days_and_the_reason_stay_on_record(client, sales):
    order = doubted()
    page = look(client, order, due_on=in_days(11).isoformat()).content.decode()
    assert (fresh(order).due_on, fresh(order).promise_doubted_at) == (in_days(11), None)
    (found,) = PromiseLook.objects.all()
    assert (found.was, found.due_on, found.by, found.doubt) == (in_days(7), in_days(11), sales, BECAUSE)
    assert f"Promise moved from {in_days(7):%a} {in_days(7).day} {in_days(7):%b} to" in page


@pytest.mark.parametrize(
    ("typed", "says"), [("", "is no day"), ("2026-02-30", "is no day"), ("yesterday", "is no day")]
)
def test_what_is_no_day_is_refused_and_the_promise_stays_in_doubt(client, sales, typed, says):
    order = doubted()
    answer = look(client, order, due_on=typed)
    assert answer.status_code == 409
    assert says in answer.content.decode()
    assert fresh(order).promise_doubted_at


def test_a_day_that_has_gone_is_not_promised_and_stays_typed(client, sales):
    order = doubted()
    answer = look(client, order, due_on=in_days(-1).isoformat())
    assert "has gone. Promise today or a later day." in answer.content.decode()
    assert f'value="{in_days(-1).isoformat()}"' in answer.content.decode()
    assert fresh(order).due_on == in_days(7)


def test_a_promise_that_has_gone_already_may_be_left_where_the_customer_knows(client, sales):
    order = doubted(days=-2)
    assert "Leave it: the customer knows" in page_of(client, "order", order.number)
    look(client, order, keep="yes")
    assert fresh(order).promise_doubted_at is None


def test_an_answer_to_a_page_that_missed_another_fault_is_refused_and_says_it(client, sales):
    order = doubted()
    seen = order.promise_doubted_at
    intake.doubt_promise(order=order, because="0001-2 was sent back", at=seen + dt.timedelta(seconds=1))
    answer = look(client, order, seen=seen, keep="yes")
    assert answer.status_code == 409
    assert "Meanwhile 0001-2 was sent back. Look at the promise with that too." in answer.content.decode()
    assert fresh(order).promise_doubted_at
    assert not PromiseLook.objects.exists()


def test_of_two_who_answer_the_second_is_told_what_the_first_promised(client, sales):
    order = doubted()
    look(client, order, due_on=in_days(11).isoformat())
    answer = look(client, order, keep="yes")
    assert answer.status_code == 409
    day = in_days(11)
    assert f"nora looked at it, and it is promised for {day:%A} {day.day} {day:%B %Y}." in answer.content.decode()
    assert PromiseLook.objects.count() == 1


@pytest.mark.parametrize("seen", ["", "now", "2026-03-04"])
def test_an_answer_without_the_moment_of_the_doubt_changes_nothing(client, sales, seen):
    order = doubted()
    answer = client.post(reverse("order-promise", args=[order.number]), {"seen": seen, "keep": "yes"})
    assert answer.status_code == 409
    assert fresh(order).promise_doubted_at


def test_the_list_of_orders_shows_and_gathers_the_promises_to_look_at(client, sales):
    order = doubted()
    sound = factories.released(due_on=in_days(3))[0].order
    page = page_of(client, "orders")
    assert "<b>Promise to be looked at:</b> 0001-1 was sent back" in page
    assert "Promise to look at" in page
    gathered = client.get(reverse("orders"), {"state": "doubted"})
    assert [each.pk for each in gathered.context["page"]] == [order.pk]
    assert sound.pk in [each.pk for each in client.get(reverse("orders")).context["page"]]


def test_a_long_reason_is_cut_to_what_an_order_keeps():
    assert len(fresh(doubted(because="x" * 500)).promise_doubt) == 200


@pytest.mark.parametrize("step", [intake.mark_collected, intake.mark_delivered])
def test_an_order_that_has_left_has_no_promise_to_look_at(step):
    order = doubted(days=-1)
    intake.mark_ready(order=order, by=order.entered_by, at=timezone.now())
    assert fresh(order).promise_doubted_at
    step(order=order, by=order.entered_by, at=timezone.now())
    assert fresh(order).promise_doubted_at is None


def test_many_promises_ask_the_database_no_more_than_one(client, sales):
    doubted()
    few = queries_of(client, reverse("orders"))
    for _ in range(5):
        doubted()
    assert queries_of(client, reverse("orders")) == few

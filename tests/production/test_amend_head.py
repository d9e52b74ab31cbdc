"""Another day or note for an order at work: asked for, accepted, and held to the calendar."""

import datetime as dt

import pytest

from orders import calendar
from orders.models import Order
from production import amend
from production.models import Amendment
from tests import factories
from tests.factories import AT, person
from tests.production.amending import accept, refused, state_of

pytestmark = pytest.mark.django_db


def test_another_day_and_note_are_accepted_too_and_stay_on_record():
    (blind,) = factories.released()
    later = blind.order.due_on + dt.timedelta(days=7)
    asked = amend.ask_head(
        order=blind.order, due_on=later, note="Ring first", because="Away", by=person("sales", name="nora"), at=AT
    )
    accept(asked, by=person("manager", name="ruben"))
    order = Order.objects.get()
    assert (order.due_on, order.note, order.promise_doubted_at) == (later, "Ring first", None)
    look = order.promise_looks.get()
    assert (look.by.username, look.doubt) == ("ruben", "Asked for by nora: Away")


def head(order, *, due_on=None, note=None):
    wanted = {"due_on": due_on or order.due_on, "note": order.note if note is None else note}
    return amend.ask_head(order=order, **wanted, because="They rang", by=person("sales"), at=AT)


def test_a_change_of_the_note_leaves_a_day_that_was_moved_meanwhile():
    order = factories.released()[0].order
    later = order.due_on + dt.timedelta(days=7)
    day, note = head(order, due_on=later), head(order, note="Ring first")
    accept(day)
    accept(note)
    order = Order.objects.get()
    assert (order.due_on, order.note) == (later, "Ring first")
    assert order.promise_looks.count() == 1


def test_a_day_that_nobody_can_promise_is_neither_asked_for_nor_accepted():
    order = factories.released()[0].order
    with refused("Sunday 22 March 2026 is closed: no work on Sundays. The next working day is Monday 23 March 2026"):
        head(order, due_on=dt.date(2026, 3, 22))
    asked = head(order, due_on=dt.date(2026, 3, 23))
    with refused("Monday 23 March 2026 has gone"):
        accept(asked, at=dt.datetime(2026, 3, 24, 9, tzinfo=dt.UTC))
    calendar.close(first_day=dt.date(2026, 3, 23), last_day=dt.date(2026, 3, 23), reason="Stocktaking")
    with refused("is closed: Stocktaking"):
        accept(asked)
    assert (state_of(asked), Order.objects.get().due_on) == (Amendment.ASKED, factories.DUE)

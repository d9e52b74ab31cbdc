"""What is changed of an order before its release is on record: each value before and after, and who changed it."""

import datetime as dt
from decimal import Decimal

import pytest

from orders import entry as entry_of_orders
from orders import intake
from orders.asking import asked_by
from orders.audit_words import said
from orders.models import AuditEntry, OrderLine
from tests import factories
from tests.orders.on_record import sole, told

pytestmark = pytest.mark.django_db


def as_asked(person, rf):
    request = rf.get("/", REMOTE_ADDR="10.0.0.7")
    request.user = person
    return asked_by(request)


def test_a_changed_line_says_each_value_before_and_after_and_by_whom(sales, rf):
    order = factories.order(by=sales, lines=[{"width_mm": 1820, "room": "Kitchen"}])
    line = order.lines.in_order().get()
    line.width_mm, line.drop_mm = 1825, Decimal(f"{line.drop_mm:.1f}")
    with as_asked(sales, rf):
        intake.save_line(order=order, line=line)
    entry = sole("line-changed", words__endswith="changed")
    assert (entry.person, entry.address, entry.thing) == (sales, "10.0.0.7", str(order.number))
    assert entry.words == f"{order}, line 1: changed"
    assert (entry.before, entry.after) == ({"width_mm": "1820"}, {"width_mm": "1825"})


def test_a_line_that_is_saved_as_it_was_is_not_told(sales):
    order = factories.order(by=sales, lines=[{}])
    intake.save_line(order=order, line=order.lines.in_order().get())
    assert told("line-changed", words__endswith="changed") == []


def test_a_line_that_is_taken_off_is_told_whole_and_one_that_is_added_by_its_place(sales):
    order = factories.order(by=sales, lines=[{"room": "Kitchen"}])
    intake.save_line(order=order, line=factories.line(room="Hall"))
    intake.remove_line(line=order.lines.get(position=1))
    _, added, gone = AuditEntry.objects.filter(what="line-changed").order_by("pk")
    assert added.words == f"{order}, line 2: added"
    assert (gone.words, gone.before["room"], gone.after) == (f"{order}, line 1: removed", "Kitchen", None)
    assert gone.before["fabric"] == str(factories.fabric())


def test_a_grid_tells_of_each_line_that_it_changed(sales):
    order = factories.order(by=sales, lines=[{"room": "Kitchen"}, {"room": "Hall"}, {"room": "Study"}])
    lines = list(order.lines.in_order())
    seen = entry_of_orders.seen_of(lines)
    lines[1].quantity, lines[2].hand = 4, "right"
    new = factories.line(room="Attic")
    given = {"lines": [lines[1], lines[2], new], "gone": [1], "seen": seen, "by": sales, "at": factories.AT}
    assert entry_of_orders.save_lines(order=order, **given)
    entries = AuditEntry.objects.filter(what="line-changed").order_by("pk")[3:]
    assert [entry.words.partition(", ")[2] for entry in entries] == [
        "line 1: removed",
        "line 2: changed",
        "line 3: changed",
        "line 4: added",
    ]
    assert (entries[1].before, entries[1].after) == ({"quantity": 1}, {"quantity": 4})
    assert (entries[2].before, entries[2].after) == ({"hand": "left"}, {"hand": "right"})
    assert said(entries[2].after) == [("hand", OrderLine(hand="right").get_hand_display())]


def test_a_changed_head_says_each_value_before_and_after(sales):
    order = factories.order(by=sales, note="Ring first")
    due = order.due_on + dt.timedelta(days=1)
    intake.change_order(order=order, note="Ring the side door", due_on=due)
    entry = sole("order-changed")
    assert entry.thing == str(order.number)
    assert entry.before == {"note": "Ring first", "due_on": str(order.due_on - dt.timedelta(days=1))}
    assert entry.after == {"note": "Ring the side door", "due_on": str(due)}


def test_what_is_refused_is_not_told(sales):
    order = factories.order(by=sales, lines=[{}])
    line = order.lines.in_order().get()
    line.width_mm = 9999
    with pytest.raises(intake.Refused):
        intake.save_line(order=order, line=line)
    assert told("line-changed", words__endswith="changed") == []

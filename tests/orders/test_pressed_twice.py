"""The same form sent twice at the same moment, as by two quick presses: each writes once, and both are answered."""

import threading
import uuid

import pytest
from django.db import connections

from orders import entry
from orders.models import Customer, Order, OrderLine
from tests import factories

pytestmark = pytest.mark.django_db(transaction=True)


def together(call):
    """Call it on two threads started together; what each returned."""
    gate, answers = threading.Barrier(2), [None, None]

    def run(place):
        gate.wait()
        try:
            answers[place] = call()
        finally:
            connections.close_all()

    threads = [threading.Thread(target=run, args=[place]) for place in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return answers


def test_a_line_is_added_once():
    order, key = factories.order(), uuid.uuid4()
    make = [factories.line(), factories.line()]
    answers = together(
        lambda: entry.save_line(order=Order.objects.get(pk=order.pk), line=make.pop(), key=key, at=factories.AT)
    )
    assert answers == [1, 1]
    assert OrderLine.objects.count() == 1


def test_a_grid_is_written_once():
    order, key, by = factories.order(), uuid.uuid4(), factories.person("sales")
    make = [[factories.line(), factories.line(room="Hall")] for _ in range(2)]
    answers = together(
        lambda: entry.save_lines(order=order, lines=make.pop(), seen=entry.seen_of([]), key=key, by=by, at=factories.AT)
    )
    assert sorted(answers) == [False, True]
    assert OrderLine.objects.count() == 2


def test_a_new_customer_is_entered_once_with_the_order():
    by, key = factories.person("sales"), uuid.uuid4()
    factories.order(by=by)
    new = [Customer(name="Quay Street School") for _ in range(2)]
    opened = together(
        lambda: entry.open_order(key=key, by=by, at=factories.AT, customer=new.pop(), due_on=factories.DUE)
    )
    assert {order.number for order in opened} == {2}
    assert Customer.objects.filter(name="Quay Street School").count() == 1


def test_a_new_customer_is_entered_once_with_a_change_of_the_head():
    order, key = factories.order(), uuid.uuid4()
    new = [Customer(name="Quay Street School") for _ in range(2)]
    together(
        lambda: entry.change_order(
            order=Order.objects.get(pk=order.pk), key=key, at=factories.AT, customer=new.pop(), reference="PO 1"
        )
    )
    order.refresh_from_db()
    assert order.customer == Customer.objects.get(name="Quay Street School")


def test_an_order_is_opened_once():
    by, customer, key = factories.person("sales"), factories.customer(), uuid.uuid4()
    factories.order(by=by)
    opened = together(
        lambda: entry.open_order(key=key, by=by, at=factories.AT, customer=customer, due_on=factories.DUE)
    )
    assert {order.number for order in opened} == {2}
    assert Order.objects.count() == 2

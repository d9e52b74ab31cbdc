"""Releasing an order from the office."""

import pytest
from django.urls import reverse

from orders import intake
from orders.models import Order
from production.models import Blind
from tests import factories
from tests.factories import AT

pytestmark = pytest.mark.django_db


def confirmed(sales, *lines):
    order = factories.order(by=sales, lines=lines or [{}])
    intake.confirm(order=order, by=order.entered_by, at=AT)
    return order


def release(client, order):
    return client.post(reverse("release", args=[order.number]), follow=True)


def test_the_page_shows_what_will_be_frozen_before_it_is(client, sales):
    order = confirmed(sales, {"quantity": 3}, {})
    page = client.get(reverse("release", args=[order.number])).content.decode()
    assert "Release 4 blinds" in page
    assert "1820 × 1588" in page
    assert not Blind.objects.exists()


def test_a_released_order_says_where_its_blinds_wait(client, sales):
    page = release(client, confirmed(sales, {"quantity": 2})).content.decode()
    assert "Order 0001 is released: 2 blinds wait at railing and at vanes." in page
    assert "0001-2" in page


def test_releasing_twice_is_answered_calmly_and_makes_no_blind_twice(client, sales):
    order = confirmed(sales)
    release(client, order)
    answer = release(client, order)
    assert answer.status_code == 200
    assert "released already; nothing was done twice" in answer.content.decode()
    assert Blind.objects.count() == 1


def test_the_page_of_an_order_released_already_leads_back_to_it(client, sales):
    order = factories.released(by=sales)[0].order
    assert client.get(reverse("release", args=[order.number])).url == reverse("order", args=[order.number])


def test_every_refusal_is_shown_at_once_and_nothing_changes(client, sales):
    order = confirmed(sales, {"room": "Bay"}, {"room": "Hall"})
    # The market is changed after the lines were entered, so that their loops are refused now.
    intake.change_order(order=order, market="canada")
    answer = release(client, order)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "<li>Line 1: " in page
    assert "<li>Line 2: " in page
    assert Order.objects.get().state == Order.CONFIRMED
    assert not Blind.objects.exists()


def test_a_draft_is_told_to_be_confirmed_first(client, sales):
    order = factories.order(by=sales, lines=[{}])
    answer = release(client, order)
    assert answer.status_code == 422
    assert "Confirm it first." in answer.content.decode()


def test_an_order_without_lines_is_told_to_get_one(client, sales):
    answer = release(client, factories.order(by=sales))
    assert answer.status_code == 422
    assert "has no lines. Add a line first." in answer.content.decode()


def test_an_order_that_is_not_there_cannot_be_released(client, sales):
    assert client.get(reverse("release", args=[77])).status_code == 404

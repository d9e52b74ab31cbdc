"""Who took an order through each of its steps, and when, stays on record and stands on its page."""

import datetime as dt

import pytest
from django.urls import reverse

from orders import intake
from orders.models import Order
from tests import factories
from tests.factories import AT, person
from tests.orders.pages import page_of

pytestmark = pytest.mark.django_db


def told(order):
    return [(step.words, step.by.username) for step in order.steps.in_order()]


def test_each_step_of_an_order_says_who_took_it_and_when():
    nora, ruben = person("sales", name="nora"), person("manager", name="ruben")
    order = factories.order(by=nora, lines=[{}])
    taken = ((intake.confirm, nora), (intake.take_back_to_draft, ruben), (intake.cancel, nora))
    for minutes, (step, by) in enumerate(taken, start=1):
        step(order=order, by=by, at=AT + dt.timedelta(minutes=minutes))
    assert told(order) == [
        ("Entered", "nora"),
        ("Confirmed", "nora"),
        ("Taken back to draft", "ruben"),
        ("Cancelled", "nora"),
    ]


def test_the_last_blind_packed_makes_the_order_ready_in_the_packers_name():
    mara, ines = person("maker", name="mara"), person("checker", name="ines")
    (blind,) = factories.released(by=person("sales", name="nora"))
    factories.make(blind, maker=mara, checker=ines)
    assert told(blind.order)[-2:] == [("Released", "nora"), ("Ready", "mara")]


def test_only_a_confirmed_order_goes_back_to_draft():
    nora = person("sales")
    order = Order.objects.get(pk=factories.released(by=nora)[0].order_id)
    with pytest.raises(intake.Refused, match="is released, so it can't become draft. Its blinds are at work"):
        intake.take_back_to_draft(order=order, by=nora, at=AT)


def test_the_order_page_takes_a_confirmed_order_back_and_shows_its_history(client):
    nora = person("sales", first_name="Nora", last_name="Quist")
    client.force_login(nora)
    order = factories.order(by=nora, lines=[{}])
    intake.confirm(order=order, by=nora, at=AT)
    assert client.post(reverse("order-back-to-draft", args=[order.number])).status_code == 302
    page = page_of(client, "order", order.number)
    assert "is a draft again. Change it, and confirm it once the customer has agreed." in page
    assert "Taken back to draft" in page
    assert "Confirm the order" in page
    answer = client.post(reverse("order-back-to-draft", args=[order.number]), follow=True)
    assert "is draft already; nothing was done twice" in answer.content.decode()

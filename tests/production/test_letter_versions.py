"""Papers around a change of their order: each version kept, told apart, and none sent by mistake."""

import re

import pytest
from django.core import mail as outgoing
from django.urls import reverse

from orders.models import IssuedPaper, Letter
from production.models import Amendment
from tests import factories
from tests.orders.mail_server import mail_server
from tests.production.amending import accept, ask_off, change
from tests.production.read_pdf import line_of
from tests.production.writing_letters import filled, order_page, send, send_address
from tests.worked import do_what_waits

pytestmark = pytest.mark.django_db


def test_an_order_that_changed_while_the_letter_was_written_is_looked_at_again_first(client, order):
    given = filled(client, order, text="My own words.")
    order.lines.update(width_mm=1900)
    answer = client.post(send_address(order), given)
    assert answer.status_code == 409
    assert "What the paper says has changed since this page was opened." in answer.content.decode()
    form = answer.context["form"]
    assert form["text"].value() == "My own words."
    again = {name: form[name].value() for name in form.fields}
    assert "ida@marlow.example is on its way" in client.post(send_address(order), again, follow=True).content.decode()
    do_what_waits()
    assert "1900 × 1600" in line_of(outgoing.outbox[0].attachments[0][1])


def test_both_versions_around_a_change_can_be_told_apart_and_opened(client, order):
    send(client, order)
    order.lines.update(width_mm=1900)
    text = order_page(client, order)
    assert "changed since" in text
    assert "as the order stands now" not in text
    send(client, order)
    old, new = IssuedPaper.objects.order_by("pk")
    assert old.mark != new.mark
    assert old.sha256 != new.sha256
    first, second = (
        line_of(client.get(reverse("sent-paper", args=[order.number, one.pk])).content) for one in (old, new)
    )
    assert "1830 × 1600" in first
    assert "1900 × 1600" in second
    assert "This replaces" not in first
    assert "This replaces what we sent on" in second
    assert f"mark {new.mark} as the order stands now" in order_page(client, order)
    assert f"mark {old.mark} changed since" in order_page(client, order)


def test_an_accepted_change_makes_another_version_and_names_what_it_replaces(client, sales):
    customer = factories.customer("Marlow Court", email="ida@marlow.example")
    first, second, third = factories.released(by=sales, customer=customer, lines=[{"quantity": 3}])
    order = first.order
    send(client, order)
    change(second, width_mm=1900)
    assert "changed since" in order_page(client, order)
    ask_off(third)
    send(client, order)
    accept(Amendment.objects.latest("pk"))
    send(client, order)
    marks = [paper.mark for paper in IssuedPaper.objects.order_by("pk")]
    assert len(set(marks)) == 3
    before, changed, off = (line_of(message.attachments[0][1]) for message in outgoing.outbox)
    assert "3 blinds in all" in before
    assert re.search(r"1 2 Kitchen .*1830 × 1600 .*2 1 Kitchen .*1900 × 1600 .*3 blinds in all", changed)
    assert re.search(r"1 1 Kitchen .*1830 × 1600 .*2 1 Kitchen .*1900 × 1600 .*2 blinds in all", off)
    assert ["This replaces what we sent on" in text for text in (before, changed, off)] == [False, True, True]


def test_the_same_version_sent_to_somebody_else_is_the_same_paper_to_the_byte(client, order):
    send(client, order)
    send(client, order, to="jo@firm.example")
    first, second = (message.attachments[0][1] for message in outgoing.outbox)
    assert first == second
    assert IssuedPaper.objects.count() == 1


def test_an_outdated_letter_is_not_tried_again(client, order, settings):
    with mail_server(settings, {"mail FROM": "451 full"}):
        send(client, order)
    order.lines.update(width_mm=1900)
    (failed,) = Letter.objects.all()
    address = reverse("letter-again", args=[order.number, failed.pk])
    assert address not in client.get(order.get_absolute_url()).content.decode()
    answer = client.post(address)
    assert answer.status_code == 409
    assert "Send the new one instead." in answer.content.decode()
    assert Letter.objects.count() == 1

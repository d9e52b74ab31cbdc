"""Papers with more lines than are laid out within a request."""

import re

import pytest
from django.core import mail as outgoing
from django.urls import reverse

from orders.models import IssuedPaper, Order, Work
from production import sending
from tests.production.read_pdf import line_of
from tests.production.writing_letters import filled, order_page, send_address
from tests.worked import do_what_waits

pytestmark = pytest.mark.django_db


@pytest.fixture
def long_order(client, order, monkeypatch):
    """An order whose papers have more lines than are laid out within a request."""
    monkeypatch.setattr(sending, "AT_ONCE", 0)
    return order


def test_a_long_paper_is_laid_out_outside_the_request(client, long_order):
    answer = client.get(reverse("order-paper", args=[long_order.number, "confirmation"]), follow=True)
    found = Work.objects.get()
    assert answer.redirect_chain == [(found.get_absolute_url(), 302)]
    do_what_waits()
    answer = client.get(reverse("work-result", args=[found.pk]))
    assert "Order confirmation 0001" in line_of(answer.content)
    assert re.fullmatch(r'inline; filename="confirmation-0001-[0-9A-F]{8}\.pdf"', answer["Content-Disposition"])


def test_a_letter_with_a_long_paper_is_written_once_it_is_laid_out_and_sent_once(client, long_order):
    given = filled(client, long_order, text="My own words.")
    for _ in range(2):
        client.post(send_address(long_order), given)
    assert not IssuedPaper.objects.exists()
    do_what_waits()
    client.post(send_address(long_order), given)
    do_what_waits()
    (message,) = outgoing.outbox
    assert (message.body, message.to) == ("My own words.", ["ida@marlow.example"])
    assert message.attachments[0][1] == bytes(IssuedPaper.objects.get().pdf)
    assert "Sent: handed to the mail server" in order_page(client, long_order)


def test_a_long_paper_that_changed_meanwhile_is_not_sent_and_what_was_typed_is_kept(client, long_order):
    client.post(send_address(long_order), filled(client, long_order, text="My own words."))
    long_order.lines.update(width_mm=1900)
    do_what_waits()
    found = Work.objects.get()
    assert found.state == "failed"
    assert found.said.startswith("What the paper says has changed since the letter was written")
    assert "My own words." in found.said
    assert outgoing.outbox == []
    assert not IssuedPaper.objects.exists()


def test_a_long_paper_that_the_order_can_not_have_any_more_says_why(client, long_order):
    client.get(reverse("order-paper", args=[long_order.number, "confirmation"]))
    Order.objects.update(state="draft")
    do_what_waits()
    assert "Confirm the order first." in Work.objects.get().said

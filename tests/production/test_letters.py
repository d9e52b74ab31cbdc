"""Giving a customer a paper: opening it, sending it by e-mail, and what the order's page says was sent."""

import re
import threading
import uuid
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing

import pytest
from django.core import mail as outgoing
from django.db import connection
from django.test import Client
from django.urls import reverse
from django.utils.html import escape

from orders.customer_papers import KIND
from orders.models import IssuedPaper, Letter
from tests import factories
from tests.orders.pages import queries_of
from tests.production.customer_papers import order_for
from tests.production.read_pdf import line_of
from tests.production.writing_letters import filled, order_page, send, send_address
from tests.worked import do_what_waits

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("kind", KIND)
def test_a_paper_opens_as_a_pdf_from_the_orders_page(client, sales, kind):
    order = order_for(kind, lines=[{}])
    address = reverse("order-paper", args=[order.number, kind])
    assert f'href="{address}"' in client.get(order.get_absolute_url()).content.decode()
    answer = client.get(address)
    assert answer["Content-Type"] == "application/pdf"
    assert re.fullmatch(rf'inline; filename="{kind}-0001-[0-9A-F]{{8}}\.pdf"', answer["Content-Disposition"])
    assert f"{KIND[kind].name} 0001" in line_of(answer.content)


def test_a_paper_that_the_order_can_not_have_is_refused_with_the_next_step(client, sales):
    order = order_for("measurements", lines=[{}])
    for address in (reverse("order-paper", args=[order.number, "confirmation"]), send_address(order)):
        answer = client.get(address)
        assert answer.status_code == 409
        assert "is draft, so there is no order confirmation. Confirm the order first." in answer.content.decode()
    assert client.get(reverse("order-paper", args=[order.number, "invoice"])).status_code == 404


def test_the_letter_is_written_beforehand_in_plain_words(client, order, settings):
    settings.WORKSHOP_PHONE, settings.WORKSHOP_ADDRESS = "01632 960 000", ["12 Harbour Lane", "Eastwick"]
    shown = filled(client, order)
    assert shown["to"] == "ida@marlow.example"
    assert shown["subject"] == "Order confirmation 0001, Harbour Lane Blinds"
    assert shown["text"].startswith("Dear Ida Brook,\n\nThank you for order 0001 (your reference PO 77), 1 blind,")
    assert "Wednesday 18 March 2026" in shown["text"]
    assert shown["text"].endswith("Harbour Lane Blinds\n12 Harbour Lane\nEastwick\n01632 960 000")
    assert not re.search(r"https?:|<\w", shown["text"])


def test_a_letter_takes_the_very_paper_that_is_kept_and_the_orders_page_says_so(client, order):
    page = send(client, order).content.decode()
    assert "Order confirmation to ida@marlow.example is on its way." in page
    (message,) = outgoing.outbox
    assert message.body == filled(client, order)["text"]
    assert [part.get_content_type() for part in message.message().walk()] == [
        "multipart/mixed",
        "text/plain",
        "application/pdf",
    ]
    ((_, attached, kind),) = message.attachments
    paper = IssuedPaper.objects.get()
    assert (kind, attached) == ("application/pdf", bytes(paper.pdf))
    kept = client.get(reverse("sent-paper", args=[order.number, paper.pk]))
    assert kept.content == attached
    text = order_page(client, order)
    assert f"mark {paper.mark} as the order stands now" in text
    assert "ida@marlow.example" in text
    assert "nora" in text
    assert "Sent: handed to the mail server" in text


def test_a_double_click_sends_once(client, order):
    given = filled(client, order)
    for said in ("to ida@marlow.example is on its way", "sent to ida@marlow.example"):
        answer = client.post(send_address(order), given, follow=True)
        assert f"Order confirmation {said}." in answer.content.decode()
        do_what_waits()
    assert len(outgoing.outbox) == Letter.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_two_presses_at_the_same_moment_send_once(client, order):
    given, sends = filled(client, order), threading.Barrier(2)

    def press():
        with closing(connection):
            again = Client()
            again.cookies = client.cookies
            sends.wait()
            return again.post(send_address(order), given).status_code

    with ThreadPoolExecutor(2) as desks:
        presses = [desks.submit(press) for _ in range(2)]
    assert [each.result() for each in presses] == [302, 302]
    do_what_waits()
    assert len(outgoing.outbox) == Letter.objects.count() == 1


def test_several_addresses_each_get_their_own(client, order):
    send(client, order, to="ida@marlow.example; Jo@Firm.example,\n ida@marlow.example")
    assert [message.to for message in outgoing.outbox] == [["ida@marlow.example"], ["Jo@Firm.example"]]


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("to", "", "Type the address that it goes to."),
        ("to", " ; ", "Type the address that it goes to."),
        ("to", "ida", "“ida” is no e-mail address."),
        ("to", "Ida Brook <ida@marlow.example>", "“Ida” is no e-mail address."),
        ("to", "ida@marlow.example\nBcc: thief@bad.example", "“Bcc:” is no e-mail address."),
        ("to", "ida@marlow.example%0ABcc:thief@bad.example", "is no e-mail address."),
        ("to", '"ida\x0b"@marlow.example', "is no e-mail address."),
        ("to", " ".join(f"a{place}@firm.example" for place in range(6)), "These are 6 addresses; 5 at most"),
        ("subject", "", "Type the subject."),
        ("subject", "Hello\r\nBcc: thief@bad.example", "The subject has a line break or a control character."),
        ("subject", "Hello\u2028there", "The subject has a line break or a control character."),
        ("subject", "x" * 151, "150 characters"),
        ("text", "", "Type what the letter says."),
        ("text", "a\x07b", "The text has a control character."),
        ("text", "x" * 5001, "5000 characters"),
        ("form_id", "no id", "valid UUID"),
    ],
)
def test_what_no_letter_may_have_is_refused_and_all_that_was_typed_stays(client, order, field, typed, said):
    answer = client.post(send_address(order), filled(client, order, **{field: typed}))
    assert answer.status_code == 422
    assert escape(said) in answer.content.decode()
    form = answer.context["form"]
    assert form[field].value() == typed
    assert form["text"].value() or field == "text"
    assert outgoing.outbox == []
    assert not Letter.objects.exists()
    assert not IssuedPaper.objects.exists()


def test_letters_and_papers_of_another_order_are_not_found(client, order):
    send(client, order)
    other = order_for("confirmation", lines=[{}])
    letter, paper = Letter.objects.get(), IssuedPaper.objects.get()
    assert client.post(reverse("letter-again", args=[other.number, letter.pk])).status_code == 404
    assert client.get(reverse("sent-paper", args=[other.number, paper.pk])).status_code == 404
    assert client.get(reverse("letter-again", args=[order.number, letter.pk])).status_code == 405


def test_hostile_names_reach_the_letter_as_text_alone(client, sales):
    customer = factories.customer("Zoë\u202eevil <b>&", contact="Ida\r\nBcc: thief@bad.example", email="z@firm.example")
    order = order_for("confirmation", customer=customer, lines=[{}])
    send(client, order)
    (message,) = outgoing.outbox
    assert message.recipients() == ["z@firm.example"]
    assert "thief" not in str(message.message().items())


def test_many_letters_take_no_more_queries_than_one(client, order):
    send(client, order)
    # That nothing goes on any more is noticed once.
    client.get(order.get_absolute_url())
    one = queries_of(client, order.get_absolute_url())
    letter = Letter.objects.get()
    for place in range(12):
        letter.pk, letter.form_id, letter.to = None, uuid.uuid4(), f"a{place}@firm.example"
        letter.save(force_insert=True)
    assert queries_of(client, order.get_absolute_url()) == one

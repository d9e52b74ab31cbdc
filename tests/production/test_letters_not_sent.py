"""What the order's page says of letters that wait, fail or are cut off, and how they are sent again."""

import re

import pytest
from django.urls import reverse
from django.utils import timezone

from orders import mail
from orders.models import IssuedPaper, Letter, Order
from tests.orders.mail_server import mail_server
from tests.production.writing_letters import filled, order_page, send, send_address
from tests.worked import do_what_waits

pytestmark = pytest.mark.django_db


def test_a_letter_that_failed_is_kept_said_and_tried_again_with_the_same_paper(client, order, settings):
    with mail_server(settings, {"mail FROM": "451 full"}):
        send(client, order, text="My own words.")
    page = client.get(order.get_absolute_url()).content.decode()
    said = "Not sent: the mail server refuses no-reply@localhost as a sender (451 full)."
    assert said in order_page(client, order)
    (failed,) = Letter.objects.all()
    again = reverse("letter-again", args=[order.number, failed.pk])
    form_id = re.search(rf'action="{again}".*?name="form_id" value="([^"]+)"', page, re.DOTALL)[1]
    with mail_server(settings) as taken:
        for said in ("to ida@marlow.example is on its way.", "sent to ida@marlow.example."):
            assert said in client.post(again, {"form_id": form_id}, follow=True).content.decode()
            do_what_waits()
    assert len(taken) == 1
    assert b"My own words." in taken[0]
    assert [letter.outcome for letter in Letter.objects.order_by("pk")] == ["failed", "sent"]
    assert IssuedPaper.objects.count() == 1


def test_a_letter_that_was_cut_off_is_not_called_sent_and_is_a_persons_to_send_again(client, order):
    send(client, order)
    letter = Letter.objects.get()
    again = reverse("letter-again", args=[order.number, letter.pk])
    Letter.objects.update(outcome="sending", ended_at=None)
    page = client.get(order.get_absolute_url()).content.decode()
    assert "Being sent" in page
    assert again not in page
    Letter.objects.update(outcome="perhaps", ended_at=timezone.now())
    assert "Perhaps sent: sending was cut off, so nobody knows whether it left." in order_page(client, order)
    assert again in client.get(order.get_absolute_url()).content.decode()


def test_the_page_asks_again_by_itself_for_as_long_as_a_letter_is_under_way(client, order):
    client.post(send_address(order), filled(client, order))
    page = client.get(order.get_absolute_url()).content.decode()
    assert "Waits to be sent." in page
    assert 'hx-select="#customer-papers"' in page
    # Nobody does such work in a test by itself, and the page says so.
    assert "Whoever looks after the server starts it with" in page
    do_what_waits()
    page = client.get(order.get_absolute_url()).content.decode()
    assert 'hx-select="#customer-papers"' not in page
    assert "Whoever looks after" not in page


def test_without_a_mail_server_page_and_answer_say_so_before_and_after(client, order, settings, tmp_path):
    settings.EMAIL_BACKEND, settings.EMAIL_FILE_PATH = mail.FILE_OUTBOX, tmp_path
    assert "No mail server is set up." in client.get(send_address(order)).content.decode()
    send(client, order)
    assert "Not sent: no mail server is set up, so it stays in the outbox folder" in order_page(client, order)
    assert len(list(tmp_path.iterdir())) == 1


def test_what_was_sent_stays_on_the_page_of_a_cancelled_order(client, order):
    send(client, order)
    Order.objects.update(state="cancelled")
    text = order_page(client, order)
    assert "ida@marlow.example" in text
    assert "Send by e-mail" not in text

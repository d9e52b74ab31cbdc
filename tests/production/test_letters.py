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
from django.utils import timezone
from django.utils.html import escape

from orders import mail
from orders.customer_papers import KIND
from orders.models import IssuedPaper, Letter, Order, Work
from production import sending
from production.models import Amendment
from tests import factories
from tests.orders.mail_server import mail_server
from tests.orders.pages import queries_of
from tests.production.amending import accept, ask_off, change
from tests.production.test_office_papers import order_for, read
from tests.worked import do_what_waits

pytestmark = pytest.mark.django_db


@pytest.fixture
def order(sales):
    customer = factories.customer("Marlow Court", contact="Ida Brook", email="ida@marlow.example")
    return order_for("confirmation", customer=customer, reference="PO 77", lines=[{}])


def send_address(order, kind="confirmation"):
    return reverse("order-paper-send", args=[order.number, kind])


def filled(client, order, kind="confirmation", **changes):
    """What a browser sends back of the form as it was shown, with `changes` typed over."""
    form = client.get(send_address(order, kind)).context["form"]
    return {name: form[name].value() for name in form.fields} | changes


def send(client, order, kind="confirmation", **changes):
    """Press “send” and let a worker do what waits: the page that answers the press."""
    answer = client.post(send_address(order, kind), filled(client, order, kind, **changes), follow=True)
    do_what_waits()
    return answer


def order_page(client, order):
    return " ".join(re.sub(r"<[^>]+>", " ", client.get(order.get_absolute_url()).content.decode()).split())


@pytest.mark.parametrize("kind", KIND)
def test_a_paper_opens_as_a_pdf_from_the_orders_page(client, sales, kind):
    order = order_for(kind, lines=[{}])
    address = reverse("order-paper", args=[order.number, kind])
    assert f'href="{address}"' in client.get(order.get_absolute_url()).content.decode()
    answer = client.get(address)
    assert answer["Content-Type"] == "application/pdf"
    assert re.fullmatch(rf'inline; filename="{kind}-0001-[0-9A-F]{{8}}\.pdf"', answer["Content-Disposition"])
    assert f"{KIND[kind].name} 0001" in read(answer.content)


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
    assert "1900 × 1600" in read(outgoing.outbox[0].attachments[0][1])


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
    first, second = (read(client.get(reverse("sent-paper", args=[order.number, one.pk])).content) for one in (old, new))
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
    before, changed, off = (read(message.attachments[0][1]) for message in outgoing.outbox)
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


def test_letters_and_papers_of_another_order_are_not_found(client, order):
    send(client, order)
    other = order_for("confirmation", lines=[{}])
    letter, paper = Letter.objects.get(), IssuedPaper.objects.get()
    assert client.post(reverse("letter-again", args=[other.number, letter.pk])).status_code == 404
    assert client.get(reverse("sent-paper", args=[other.number, paper.pk])).status_code == 404
    assert client.get(reverse("letter-again", args=[order.number, letter.pk])).status_code == 405


def test_what_was_sent_stays_on_the_page_of_a_cancelled_order(client, order):
    send(client, order)
    Order.objects.update(state="cancelled")
    text = order_page(client, order)
    assert "ida@marlow.example" in text
    assert "Send by e-mail" not in text


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
    assert "Order confirmation 0001" in read(answer.content)
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

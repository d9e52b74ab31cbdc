"""Letters to customers: on record before they leave, sent once, and what became of each one said."""

import email
import email.policy
import hashlib
import socket
import threading
import uuid

import pytest
from django.core import mail as outgoing
from django.core.mail.backends.base import BaseEmailBackend
from django.db import IntegrityError, connection, transaction

from orders import mail, work
from orders.models import IssuedPaper, Letter, Work
from tests import factories
from tests.factories import AT
from tests.orders.mail_server import mail_server
from tests.worked import do_what_waits

pytestmark = pytest.mark.django_db

PDF = b"%PDF-1.7\n" + bytes(range(256)) + b"\n%%EOF"
FORM = uuid.UUID("11111111-2222-4333-8444-555555555555")


@pytest.fixture
def clerk():
    return factories.person("sales", name="nora")


@pytest.fixture
def paper(clerk):
    return issued(factories.order(by=clerk, lines=[{}]), by=clerk)


def issued(order, *, by, mark="AAAA0000", pdf=PDF):
    return mail.issue(order=order, kind="confirmation", mark=mark, make_pdf=lambda: pdf, by=by, at=AT)


def write(paper, *addresses, by, form_id=FORM, subject="Order confirmation 0001", text="Dear Ida,\n\nthank you.\n"):
    """The letters as they stand once what waits is done."""
    given = {"subject": subject, "text": text, "form_id": form_id, "by": by, "at": AT}
    letters = mail.write(paper=paper, addresses=addresses, **given)
    do_what_waits()
    for letter in letters:
        letter.refresh_from_db()
    return letters


def read(raw):
    return email.message_from_bytes(raw, policy=email.policy.default)


def text_and_pdf(message):
    """Body and attached bytes of a letter, as the standard library's own reader sees them."""
    (attached,) = message.iter_attachments()
    return (
        message.get_body().get_content(),
        attached.get_filename(),
        attached.get_content_type(),
        attached.get_content(),
    )


def test_a_letter_comes_out_of_the_standard_librarys_reader_as_it_was_written(paper, clerk, settings):
    settings.DEFAULT_FROM_EMAIL = "Harbour Lane Blinds <no-reply@blinds.example>"
    settings.WORKSHOP_EMAIL = "office@blinds.example"
    text = "Dear Zoë,\n\n2 blinds of 1820 × 1588 mm.\n.\nA line that begins with a full stop above.\n"
    with mail_server(settings) as taken:
        (letter,) = write(paper, "zoe@firm.example", by=clerk, subject="Zoë’s order 0001 – Łukasik", text=text)
    assert (letter.outcome, letter.reason) == ("sent", "")
    message = read(taken[0])
    assert message["Subject"] == "Zoë’s order 0001 – Łukasik"
    assert message["To"] == "zoe@firm.example"
    assert message["From"] == "Harbour Lane Blinds <no-reply@blinds.example>"
    assert message["Reply-To"] == "office@blinds.example"
    assert message["Message-ID"].strip("<>").endswith("@blinds.example")
    body, name, kind, content = text_and_pdf(message)
    assert body.replace("\r\n", "\n") == text
    assert (name, kind, content) == ("confirmation-0001-AAAA0000.pdf", "application/pdf", PDF)
    assert message.get_body().get_content_type() == "text/plain"


def test_without_a_mail_server_the_letter_is_a_file_and_is_not_called_sent(paper, clerk, settings, tmp_path):
    settings.EMAIL_BACKEND, settings.EMAIL_FILE_PATH = mail.FILE_OUTBOX, tmp_path / "outbox"
    first, second = write(paper, "ida@firm.example", "jo@firm.example", by=clerk)
    assert {first.outcome, second.outcome} == {"filed"}
    assert "no mail server is set up" in first.reason
    # A file is named by the second and what wrote it, so two letters may share one.
    written = b"".join(path.read_bytes() for path in (tmp_path / "outbox").iterdir()).split(b"-" * 79 + b"\n")
    messages = [read(each) for each in written if each.strip()]
    assert len(messages) == 2
    assert {message["To"] for message in messages} == {"ida@firm.example", "jo@firm.example"}
    assert all(text_and_pdf(message)[3] == PDF for message in messages)


def test_each_address_gets_a_letter_of_its_own_and_sees_no_other(paper, clerk):
    write(paper, "ida@firm.example", "jo@firm.example", by=clerk)
    assert [message.recipients() for message in outgoing.outbox] == [["ida@firm.example"], ["jo@firm.example"]]


def test_a_form_that_is_sent_twice_writes_once_and_is_answered_with_what_became_of_it(paper, clerk):
    first = write(paper, "ida@firm.example", by=clerk)
    again = write(paper, "ida@firm.example", by=clerk)
    assert [letter.pk for letter in first] == [letter.pk for letter in again]
    assert again[0].outcome == "sent"
    assert len(outgoing.outbox) == 1


def test_an_address_added_after_going_back_is_written_to_and_the_first_one_is_not_again(paper, clerk):
    write(paper, "ida@firm.example", by=clerk)
    letters = write(paper, "ida@firm.example", "jo@firm.example", by=clerk)
    assert [letter.to for letter in letters] == ["ida@firm.example", "jo@firm.example"]
    assert [message.to for message in outgoing.outbox] == [["ida@firm.example"], ["jo@firm.example"]]


def test_the_other_press_of_a_double_click_sends_nothing(paper, clerk, monkeypatch):
    """Both have looked before either has written: the database lets one through."""
    write(paper, "ida@firm.example", by=clerk)
    unseen = Letter.objects.none()
    seen = iter([unseen, Letter.objects.filter(form_id=FORM)])
    monkeypatch.setattr(type(Letter.objects), "with_form", lambda self, form_id: next(seen), raising=False)
    (letter,) = write(paper, "ida@firm.example", by=clerk)
    assert letter.outcome == "sent"
    assert len(outgoing.outbox) == 1


def closed_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def test_a_server_that_is_down_loses_nothing(paper, clerk, settings):
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", closed_port()
    letters = write(paper, "ida@firm.example", "jo@firm.example", by=clerk)
    for letter in letters:
        letter.refresh_from_db()
        assert (letter.outcome, letter.subject) == ("failed", "Order confirmation 0001")
        assert letter.reason == "the mail server can't be reached (Connection refused)"
    with mail_server(settings) as taken:
        (again,) = write(paper, "ida@firm.example", by=clerk, form_id=uuid.uuid4())
    assert again.outcome == "sent"
    assert text_and_pdf(read(taken[0]))[3] == PDF
    assert [letter.outcome for letter in Letter.objects.order_by("pk")] == ["failed", "failed", "sent"]


def test_an_address_that_the_server_refuses_fails_alone(paper, clerk, settings):
    refuses = {"rcpt TO:<ida@": "550 5.1.1 no such box"}
    with mail_server(settings, refuses) as taken:
        ida, jo = write(paper, "ida@firm.example", "jo@firm.example", by=clerk)
    assert (ida.outcome, ida.reason) == ("failed", "the mail server refuses the address (550 5.1.1 no such box)")
    assert jo.outcome == "sent"
    assert [read(raw)["To"] for raw in taken] == ["jo@firm.example"]


@pytest.mark.parametrize(
    ("start", "answer", "reason"),
    [
        ("mail FROM", "553 not yours", "the mail server refuses no-reply@localhost as a sender (553 not yours)"),
        ("data", "451 try later", "the mail server refuses it (451 try later)"),
    ],
)
def test_what_the_server_says_is_passed_on(paper, clerk, settings, start, answer, reason):
    with mail_server(settings, {start: answer}):
        (letter,) = write(paper, "ida@firm.example", by=clerk)
    assert (letter.outcome, letter.reason) == ("failed", reason)


def test_a_server_that_says_nothing_is_given_up_and_not_waited_for_with_every_address(paper, clerk, settings):
    settings.EMAIL_BACKEND, settings.EMAIL_TIMEOUT = "django.core.mail.backends.smtp.EmailBackend", 0.2
    with socket.socket() as silent:
        silent.bind(("127.0.0.1", 0))
        silent.listen()
        settings.EMAIL_HOST, settings.EMAIL_PORT = silent.getsockname()
        letters = write(paper, "ida@firm.example", "jo@firm.example", by=clerk)
        silent.setblocking(False)
        silent.accept()[0].close()
        with pytest.raises(BlockingIOError):
            silent.accept()
    said = "the mail server broke off, or did not answer within 0.2 seconds"
    assert [(letter.outcome, letter.reason) for letter in letters] == [("failed", said)] * 2


def test_a_server_that_falls_silent_with_the_letter_in_its_hands_may_have_sent_it(paper, clerk, settings):
    settings.EMAIL_TIMEOUT, hold = 0.2, threading.Event()
    with mail_server(settings, hold=hold) as taken:
        ida, jo = write(paper, "ida@firm.example", "jo@firm.example", by=clerk)
        hold.set()
    assert len(taken) == 1
    said = "the mail server broke off, or did not answer within 0.2 seconds"
    assert [(letter.outcome, letter.reason) for letter in (ida, jo)] == [("perhaps", said), ("failed", said)]
    assert Work.objects.get().said == "1 not sent, 1 perhaps sent."


def test_letters_that_wait_as_they_are_cancelled_are_not_sent_and_say_by_whom(paper, clerk):
    given = {"subject": "Hello", "text": "Dear Ida", "form_id": FORM, "by": clerk, "at": AT}
    mail.write(paper=paper, addresses=["ida@firm.example", "jo@firm.example"], **given)
    work.cancel(work=Work.objects.get(), by=clerk)
    do_what_waits()
    assert {(letter.outcome, letter.reason) for letter in Letter.objects.all()} == {("failed", "Cancelled by nora")}
    assert outgoing.outbox == []


@pytest.mark.parametrize("field", ["subject", "to"])
def test_a_header_with_a_line_break_is_never_sent(paper, clerk, field):
    """The form refuses it already; here is what happens where it got past."""
    given = {"subject": "Hello\nBcc: thief@bad.example"} if field == "subject" else {}
    address = "ida@firm.example\nBcc: thief@bad.example" if field == "to" else "ida@firm.example"
    (letter,) = write(paper, address, by=clerk, **given)
    assert letter.outcome == "failed"
    assert "BadHeaderError" in letter.reason
    assert outgoing.outbox == []


@pytest.mark.django_db(transaction=True)
def test_mail_leaves_outside_every_transaction_and_after_its_record_is_kept(clerk, settings):
    paper = issued(factories.order(by=clerk, lines=[{}]), by=clerk)
    settings.EMAIL_BACKEND = "tests.orders.test_mail.Watching"
    (letter,) = write(paper, "ida@firm.example", by=clerk)
    assert letter.outcome == "sent"
    assert Watching.seen == [(False, "sending")]


class Watching(BaseEmailBackend):
    """Notes, as a letter leaves, whether a transaction is open and how its record stands."""

    seen = []

    def send_messages(self, messages):
        self.seen.append((connection.in_atomic_block, Letter.objects.get().outcome))
        return len(messages)


def test_the_paper_is_kept_as_it_was_sent_and_a_changed_one_beside_it(clerk):
    order = factories.order(by=clerk, lines=[{}])
    first = issued(order, by=clerk, mark="AAAA0000", pdf=b"%PDF first")
    same = issued(order, by=clerk, mark="AAAA0000", pdf=b"%PDF printed again")
    second = issued(order, by=clerk, mark="BBBB0000", pdf=b"%PDF second")
    back = issued(order, by=clerk, mark="AAAA0000", pdf=b"%PDF as at first")
    assert same.pk == first.pk
    assert [bytes(each.pdf) for each in IssuedPaper.objects.order_by("pk")] == [
        b"%PDF first",
        b"%PDF second",
        b"%PDF as at first",
    ]
    assert second.sha256 == hashlib.sha256(b"%PDF second").hexdigest()
    assert back.pk > second.pk


@pytest.mark.parametrize("nonsense", [{"outcome": "lost"}, {"outcome": "failed", "reason": ""}])
def test_the_database_refuses_an_outcome_that_it_does_not_know_or_that_says_no_reason(paper, clerk, nonsense):
    (letter,) = write(paper, "ida@firm.example", by=clerk)
    with pytest.raises(IntegrityError), transaction.atomic():
        Letter.objects.filter(pk=letter.pk).update(**nonsense)

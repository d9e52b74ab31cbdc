"""Sends papers to customers by e-mail; the only writer of issued papers and letters.

A letter is on record before it leaves, and leaves in the background, outside every transaction: whatever happens to the
mail server or to this program, what was written is kept and what became of it can be told.
"""

import hashlib
import logging
import smtplib
from contextlib import closing

from django.conf import settings
from django.core import mail
from django.db import IntegrityError, transaction
from django.utils import timezone

from orders import work
from orders.models import IssuedPaper, Letter
from orders.wake import wake

FILE_OUTBOX = "django.core.mail.backends.filebased.EmailBackend"
NO_SERVER = "no mail server is set up, so it stays in the outbox folder and reaches nobody"
BROKE_OFF = (TimeoutError, ConnectionResetError, BrokenPipeError, smtplib.SMTPServerDisconnected)
log = logging.getLogger(__name__)


def has_server():
    """Whether mail leaves this machine at all."""
    return settings.EMAIL_BACKEND != FILE_OUTBOX


def issue(*, order, kind, mark, make_pdf, by, at):
    """The version of a paper that says what `mark` stands for: the one sent last where it still does, else a new one.

    `make_pdf` makes the new one's bytes; it may take seconds, so it runs in no transaction.
    """
    newest = IssuedPaper.objects.newest_of(order=order, kind=kind)
    if newest is not None and newest.mark == mark:
        return newest
    pdf = make_pdf()
    return IssuedPaper.objects.create(
        order=order,
        kind=kind,
        mark=mark,
        pdf=pdf,
        sha256=hashlib.sha256(pdf).hexdigest(),
        issued_at=at,
        issued_by=by,
    )


def write(*, paper, addresses, subject, text, form_id, by, at):
    """Put one letter for each address on record, to be sent outside this request; returns them as they stand.

    An address that this form wrote to already is written to no more.
    """
    known = list(Letter.objects.with_form(form_id))
    fresh = [address for address in addresses if address not in {letter.to for letter in known}]
    if not fresh:
        return known
    try:
        with transaction.atomic():
            letters = [
                Letter.objects.create(
                    paper=paper, form_id=form_id, to=address, subject=subject, text=text, by=by, at=at
                )
                for address in fresh
            ]
            order, whom = paper.order, fresh[0] if len(fresh) == 1 else f"{len(fresh)} addresses"
            what = f"{paper.get_kind_display()} of {order} to {whom}"
            work.begin(
                send, what=what, by=by, order=order, whole=len(letters), letters=[letter.pk for letter in letters]
            )
            wake()
    except IntegrityError:  # the other press of a double click has them sent
        return list(Letter.objects.with_form(form_id))
    return known + letters


def _not_sent(reason, *, letters):
    """What becomes of those that nobody sends any more."""
    _cut_off(letters)
    waiting = Letter.objects.filter(pk__in=letters, outcome=Letter.WAITING)
    waiting.update(outcome=Letter.FAILED, reason=reason.removesuffix(".")[:300], ended_at=timezone.now())
    wake()


@work.background(left=_not_sent)
def send(progress, *, letters):
    """Send the letters that wait, one after the other. One that was cut off before is never sent again here."""
    _cut_off(letters)
    down = ""
    for letter in Letter.objects.whole().filter(pk__in=letters, outcome=Letter.WAITING).order_by("pk"):
        progress.step(letters.index(letter.pk), said=f"To {letter.to}")
        if not Letter.objects.filter(pk=letter.pk, outcome=Letter.WAITING).update(outcome=Letter.SENDING):
            raise work.NotOurs
        outcome, reason, down = (Letter.FAILED, down, down) if down else _sent(letter)
        _end(letter, outcome=outcome, reason=reason)
    order = Letter.objects.whole().get(pk=letters[0]).paper.order
    progress.finish(said=_tally(letters), leads_to=f"{order.get_absolute_url()}#customer-papers")


def _cut_off(letters):
    sending = Letter.objects.filter(pk__in=letters, outcome=Letter.SENDING)
    if sending.update(outcome=Letter.PERHAPS, ended_at=timezone.now()):
        wake()


def _tally(letters):
    """How many letters ended how, such as '2 sent, 1 not sent'."""
    outcomes = list(Letter.objects.filter(pk__in=letters).values_list("outcome", flat=True))
    counted = [(outcomes.count(key), words) for key, words in Letter.OUTCOMES if key in outcomes]
    return ", ".join(f"{number} {words[0].lower()}{words[1:]}" for number, words in counted) + "."


def _sent(letter):
    """Try to send one letter: outcome, reason, and the reason again where no other could be sent just now either."""
    handing_over = False
    try:
        with closing(mail.get_connection()) as server:
            server.open()
            message = message_of(letter)
            handing_over = True
            server.send_messages([message])
    except (smtplib.SMTPRecipientsRefused, smtplib.SMTPDataError) as error:
        return Letter.FAILED, said(error), ""
    except BROKE_OFF as error:
        # Once the letter is being handed over, a server that falls silent may have taken it.
        return Letter.PERHAPS if handing_over else Letter.FAILED, said(error), said(error)
    except (smtplib.SMTPException, OSError) as error:
        return Letter.FAILED, said(error), said(error)
    except Exception as error:
        # Whatever it was, that the letter did not leave must come on record.
        log.exception("Letter %s was not sent", letter.pk)
        return Letter.FAILED, said(error), ""
    return (Letter.SENT, "", "") if has_server() else (Letter.FILED, NO_SERVER, "")


def _end(letter, *, outcome, reason):
    """What became of it, also where others gave it up as cut off meanwhile: this is known, and that was not."""
    under_way = Letter.objects.filter(pk=letter.pk, outcome__in=(Letter.SENDING, Letter.PERHAPS))
    under_way.update(outcome=outcome, reason=reason, ended_at=timezone.now())
    wake()


def message_of(letter):
    """The e-mail itself: plain text, the paper, and nothing that would tell us whether it is read."""
    domain = settings.DEFAULT_FROM_EMAIL.rpartition("@")[2].rstrip(">")
    message = mail.EmailMessage(
        subject=letter.subject,
        body=letter.text,
        to=[letter.to],
        reply_to=[settings.WORKSHOP_EMAIL] if settings.WORKSHOP_EMAIL else None,
        headers={"Message-ID": f"<{letter.form_id}.{letter.pk}@{domain}>"},
    )
    message.attach(letter.paper.filename, bytes(letter.paper.pdf), "application/pdf")
    return message


def said(error):
    """Why a letter was not sent, as somebody in the office can act on it."""
    answer = _text(getattr(error, "smtp_error", ""))
    if isinstance(error, smtplib.SMTPRecipientsRefused):
        code, answer = next(iter(error.recipients.values()))
        words = f"the mail server refuses the address ({code} {_text(answer)})"
    elif isinstance(error, smtplib.SMTPAuthenticationError):
        words = f"the mail server refuses our name and password ({error.smtp_code} {answer})"
    elif isinstance(error, smtplib.SMTPSenderRefused):
        words = f"the mail server refuses {error.sender} as a sender ({error.smtp_code} {answer})"
    elif isinstance(error, smtplib.SMTPResponseException):
        words = f"the mail server refuses it ({error.smtp_code} {answer})"
    elif isinstance(error, BROKE_OFF):
        words = f"the mail server broke off, or did not answer within {settings.EMAIL_TIMEOUT} seconds"
    elif isinstance(error, OSError):
        words = f"the mail server can't be reached ({error.strerror or error})"
    else:
        words = f"it could not be put together or handed over ({type(error).__name__}: {error})"
    return " ".join(words.split())[:300]


def _text(answer):
    return answer.decode(errors="replace") if isinstance(answer, bytes) else str(answer)

"""The papers for a customer, printed and sent: at once where they have few lines, and else outside the request."""

from django.db import transaction
from django.utils import timezone

from orders import mail, work
from orders.customer_papers import KIND
from orders.models import IssuedPaper, Order, Person

from . import labels
from .office_papers import OfficePaper, PaperRefused, paper_of

AT_ONCE = 40
"""So many lines, each with its sketch, take about a second of one core."""


def is_long(asked: OfficePaper):
    return len(asked.lines) > AT_ONCE


def printed(asked: OfficePaper) -> bytes:
    """The paper as PDF; it names the version that it replaces."""
    sent = IssuedPaper.objects.newest_of(order=asked.order, kind=asked.kind)
    replaces = sent.issued_at if sent and sent.mark != asked.mark else None
    return labels.office_paper_pdf(asked=asked, replaces=replaces, at=timezone.now())


def filename(asked: OfficePaper):
    return f"{asked.kind}-{asked.order.number:04d}-{asked.mark}.pdf"


def begin_printing(asked: OfficePaper, *, by):
    return work.begin(
        print_later,
        what=f"{KIND[asked.kind].name} of {asked.order}",
        by=by,
        order=asked.order,
        same=f"{asked.kind} {asked.order.number} {asked.mark}",
        number=asked.order.number,
        kind=asked.kind,
    )


@work.background
def print_later(progress, *, number, kind):
    asked = _asked(number, kind)
    progress.finish(result=(filename(asked), "application/pdf", printed(asked)))


def send(asked: OfficePaper, typed, *, by):
    """Write the letters; `typed` is what the letter's form holds. Returns them as they stand."""
    paper = mail.issue(
        order=asked.order, kind=asked.kind, mark=asked.mark, make_pdf=lambda: printed(asked), by=by, at=timezone.now()
    )
    given = {name: typed[name] for name in ("subject", "text", "form_id")}
    return mail.write(paper=paper, addresses=typed["to"], **given, by=by, at=timezone.now())


def begin_sending(asked: OfficePaper, typed, *, by):
    return work.begin(
        send_later,
        what=f"{KIND[asked.kind].name} of {asked.order}, for {', '.join(typed['to'])}",
        by=by,
        order=asked.order,
        same=f"letter {typed['form_id']}",
        number=asked.order.number,
        kind=asked.kind,
        typed={**typed, "form_id": str(typed["form_id"])},
        person=by.pk,
    )


@work.background
def send_later(progress, *, number, kind, typed, person):
    asked = _asked(number, kind)
    if asked.mark != typed["mark"]:
        raise work.NotDone(
            "What the paper says has changed since the letter was written, so nothing was sent. Look at the paper "
            f"again, then write anew. The letter said:\n\n{typed['subject']}\n\n{typed['text']}"
        )
    with_letters = f"{asked.order.get_absolute_url()}#customer-papers"
    by = Person.objects.get(pk=person)
    # Laid out before the transaction, which holds up whoever else writes.
    mail.issue(order=asked.order, kind=kind, mark=asked.mark, make_pdf=lambda: printed(asked), by=by, at=timezone.now())
    with transaction.atomic():
        send(asked, typed, by=by)
        progress.finish(said="The paper is laid out; its letters are on their way.", leads_to=with_letters)


def _asked(number, kind):
    try:
        return paper_of(order=Order.objects.get(number=number), kind=kind)
    except PaperRefused as refused:
        raise work.NotDone("\n".join(refused.problems)) from refused

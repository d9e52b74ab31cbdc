"""The papers of all blinds of an order: laid out at once where they are few, and else outside the request."""

from django.utils import timezone

from orders import work
from orders.models import Order

from . import labels
from .models import Blind

PRINTS = {"tickets": labels.ticket_pdf, "labels": labels.labels_pdf}
AT_ONCE = {"tickets": 4, "labels": 40}
"""So many blinds take about a second of one core: 0.21 s a ticket, 0.02 s both labels of a blind, as measured."""


def papers_of(*, order, kind, step=None):
    """The PDF of `kind`, and its name. `step` is called with the number of blinds that are laid out so far."""
    blinds = Blind.objects.of_order(order).not_taken_off()
    return PRINTS[kind](blinds=blinds, at=timezone.now(), step=step), f"{kind}-{order.number:04d}.pdf"


def begin(*, order, kind, many, by):
    """Lay the papers out for `by`, who finds them with the work."""
    return work.begin(
        lay_out,
        what=f"{kind.capitalize()} of {order}",
        by=by,
        order=order,
        same=f"{kind} {order.number}",
        whole=many,
        number=order.number,
        kind=kind,
    )


@work.background
def lay_out(progress, *, number, kind):
    order = Order.objects.get(number=number)
    try:
        pdf, name = papers_of(order=order, kind=kind, step=progress.step)
    except ValueError as none:
        raise work.NotDone(str(none)) from none
    progress.finish(result=(name, "application/pdf", pdf))

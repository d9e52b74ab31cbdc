"""The only writer of customers' files, of what they are taken in as, and of what is remembered of their columns."""

import datetime as dt
import hashlib

from django.db import transaction
from django.urls import reverse
from django.utils import timezone

from orders import intake, work
from orders.calendar import said
from orders.importing.catalogue import as_it_is
from orders.importing.layout import layout_of
from orders.importing.preview import preview_of
from orders.importing.problems import Problem
from orders.importing.reading import read_kept, to_keep
from orders.importing.sound import mark_of
from orders.models import Customer, CustomersColumns, CustomersFile, Person

NEVER_REMEMBERED = ("size_basis", "hand", "reference")
"""A guess at basis or hand is the costliest mistake, so that they are chosen anew with each file."""
MOST_SHOWN = 20


def keep(*, customer, name, content, by, at) -> CustomersFile:
    """Keep a file to be looked at. Files that nobody took in are forgotten on the way. Raises tables.Unreadable."""
    known = remembered(customer)
    kept = to_keep(content, known=frozenset(known.columns))
    CustomersFile.objects.old(at=at).delete()
    return CustomersFile.objects.create(
        customer=customer,
        name=name[-120:],
        digest=hashlib.sha256(content).hexdigest(),
        content=kept,
        choices={"usual": known.usual},
        by=by,
        at=at,
    )


def remembered(customer) -> CustomersColumns:
    return CustomersColumns.objects.filter(customer=customer).first() or CustomersColumns(customer=customer)


def laid_out(file: CustomersFile):
    """Where the file's table is and what its columns mean, under what is chosen now."""
    known = remembered(file.customer).columns
    return layout_of(read_kept(bytes(file.content), known=frozenset(known)), choices=file.choices, remembered=known)


def looked_at(file: CustomersFile, *, layout=None, today, step=None, judged=False):
    """What the file would be taken in as, under what is chosen now; its `layout` saves reading it once more.

    `step` and `judged` as in preview_of.
    """
    usual, market = file.choices.get("usual", {}), file.customer.market
    return preview_of(layout or laid_out(file), usual=usual, market=market, today=today, step=step, judged=judged)


def marked(file: CustomersFile, *, today):
    """The mark of all that a look at the file hangs on now."""
    return mark_of(file, columns=remembered(file.customer).columns, today=today)


@transaction.atomic
def choose(*, file, choices):
    """Read the file as chosen from now on, and remember it for the customer's next file."""
    CustomersFile.objects.filter(pk=file.pk, taken_at__isnull=True).update(choices=choices)
    file.choices = choices
    layout = laid_out(file)
    kept = remembered(file.customer)
    kept.columns |= {column.key: {"field": column.field, "unit": column.unit} for column in layout.columns}
    kept.usual = {name: value for name, value in choices["usual"].items() if name not in NEVER_REMEMBERED}
    kept.save()


def take_in(*, file, due_on, by, at, today, again=False, sound="", progress=None):
    """Make the file's orders, all of its rows or none; where it was taken in already, the orders that it made.

    `due_on` is promised where no row wants a day of its own; `again`: take the same bytes in a second time on purpose.
    `sound` is the mark of a look that found nothing in the way: where it is the mark still, no figure is worked out
    again. `progress` (a work.Progress) is told of each row, and finished in the transaction that writes. Raises
    intake.Refused.
    """
    now = CustomersFile.objects.select_related("customer").filter(pk=file.pk).first()
    catalogue = as_it_is()
    # Judged before the transaction, which holds up whoever else writes.
    preview = None if _taken_or_refused(now, file, again) else _ready(now, today=today, sound=sound, progress=progress)
    with transaction.atomic():
        # Holding the customer's row lets two desks with the same file go one after the other.
        Customer.objects.select_for_update().get(pk=file.customer_id)
        judged, now = now, CustomersFile.objects.select_related("customer").filter(pk=file.pk).first()
        if orders := _taken_or_refused(now, file, again):
            return _finished(orders, now, progress)
        if (now.choices, now.customer.market, as_it_is()) != (judged.choices, judged.customer.market, catalogue):
            preview = _ready(now, today=today)
        heads = [_head(each, now.customer, due_on) for each in preview.orders]
        orders = intake.open_orders(by=by, at=at, heads=heads, judged=True)
        now.orders.set(orders)
        now.taken_at, now.taken_by, now.content = at, by, b""
        now.save(update_fields=["taken_at", "taken_by", "content"])
        return _finished(orders, now, progress)


def _taken_or_refused(now, file, again):
    """The orders of a file that is taken in already. Raises intake.Refused where it can't be taken in."""
    if now is None:
        raise intake.Refused([f"{file} was put away at another desk meanwhile. Choose it again."])
    if now.taken_at:
        return list(now.orders.order_by("number"))
    if not again and (same := CustomersFile.objects.same_as(now).first()):
        raise intake.Refused([f"{said_taken(same)} Tick that it is meant to be taken in again, or leave it."])
    return []


def _ready(file, *, today, sound="", progress=None):
    judged = bool(sound) and sound == marked(file, today=today)
    preview = looked_at(file, today=today, step=progress.step if progress else None, judged=judged)
    if preview.problems:
        raise intake.Refused(_few(preview.problems))
    if progress:
        progress.step(len(preview.rows), said="Every row is read; the orders are being written down.")
    return preview


def _finished(orders, file, progress):
    if progress:
        one = orders[0] if len(orders) == 1 else None
        leads_to = one.get_absolute_url() if one else reverse("files", args=[file.customer_id])
        progress.finish(said=f"{file} is taken in: {_span(orders)}. Confirm what is right.", leads_to=leads_to)
    return orders


def _span(orders):
    """Orders in few words, such as 'Order 0007' or '20 orders, Order 0007 to Order 0026'."""
    return f"{len(orders)} orders, {orders[0]} to {orders[-1]}" if len(orders) > 1 else str(orders[0])


def begin_taking_in(*, file, due_on, by, today, again, rows, sound=""):
    """Take the file in outside this request, as it is chosen to be read now."""
    return work.begin(
        take_in_later,
        what=f"Orders from {file}",
        by=by,
        customer=file.customer,
        same=f"file {file.pk}",
        whole=rows,
        file=file.pk,
        due_on=due_on and due_on.isoformat(),
        person=by.pk,
        today=today.isoformat(),
        again=again,
        sound=sound,
        choices=file.choices,
    )


@work.background
def take_in_later(progress, *, file, due_on, person, today, again, choices, sound=""):
    found = CustomersFile.objects.filter(pk=file).first()
    if found is None:
        raise work.NotDone("The file was put away meanwhile. Choose it again.")
    if found.choices != choices and not found.taken_at:
        raise work.NotDone("How the file is read was changed meanwhile. Look at it again, then take it in.")
    try:
        take_in(
            file=found,
            due_on=due_on and dt.date.fromisoformat(due_on),
            by=Person.objects.get(pk=person),
            at=timezone.now(),
            today=dt.date.fromisoformat(today),
            again=again,
            sound=sound,
            progress=progress,
        )
    except intake.Refused as refused:
        raise work.NotDone("\n".join(refused.problems)) from refused


def _head(order, customer, due_on):
    fields = {"customer": customer, "reference": order.reference, "market": order.market}
    return {**fields, "due_on": order.due_on or due_on}, order.lines


def _few(problems: list[Problem]):
    shown = [str(each) for each in problems[:MOST_SHOWN]]
    return shown + ([f"And {len(problems) - MOST_SHOWN} more."] if len(problems) > MOST_SHOWN else [])


def said_taken(file):
    """When, by whom and as which orders a file was taken in, as a sentence."""
    orders = ", ".join(str(order).lower() for order in sorted(file.orders.all(), key=lambda order: order.number))
    made = f" as {orders}" if orders else ""
    day = said(timezone.localdate(file.taken_at))
    return f"This very file was taken in on {day} by {file.taken_by}{made}."


def forget(*, file):
    """Put a file away that is not to be taken in."""
    CustomersFile.objects.filter(pk=file.pk, taken_at__isnull=True).delete()

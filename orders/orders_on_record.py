"""What the audit tells of an order before its release: each value of its head and lines, before and after.

Once it is at work, its events tell.
"""

from django.db.models import DecimalField

from . import audit
from .models import Order, OrderLine
from .slips import plain

HEAD = ("customer", "reference", "market", "due_on", "rush", "note")
LINE = [
    field.name
    for field in OrderLine._meta.concrete_fields
    if field.editable and field.name not in ("id", "order", "position", "sought")
]
LENGTHS = [name for name in LINE if isinstance(OrderLine._meta.get_field(name), DecimalField)]


def head_of(order):
    """The head of `order` as it is stored."""
    return audit.values(Order.objects.with_customer().get(pk=order.pk), *HEAD)


def head_changed(order, *, before):
    audit.changed("order-changed", of=order, before=before, after=head_of(order))


def line_of(line):
    """What is told of a line, by name. Equal lengths are told in the same way, however they were typed."""
    lengths = {name: plain(getattr(line, name)) for name in LENGTHS if getattr(line, name) is not None}
    return audit.values(line, *LINE) | lengths


def stored_line(line):
    """What is told of `line` as it is stored, by its position; nothing where it is new."""
    return {each.position: line_of(each) for each in OrderLine.objects.in_order().filter(pk=line.pk)}


def lines_changed(order, *, before, lines=(), gone=()):
    """Tell of `lines`, new and changed ones, and of those that stood at the positions `gone`; one query.

    `before` is what was told of those that were stored before they were written, by position. What new lines say they
    say themselves, or the first change of them does.
    """
    told = [_told(order, f"line {position}: removed", before=_said(before[position])) for position in gone]
    for line in lines:
        if line.position in before:
            old, new = audit.changes(before[line.position], line_of(line))
            told += [_told(order, f"line {line.position}: changed", before=old, after=new)] if old else []
    added = [str(line.position) for line in lines if line.position not in before]
    if added:
        told.append(_told(order, f"line{'s' * (len(added) > 1)} {', '.join(added)}: added"))
    audit.did_all("line-changed", told)


def _said(values):
    """What of `values` says anything."""
    return {name: value for name, value in values.items() if value not in (None, "", [])}


def _told(order, words, *, before=None, after=None):
    return {"of": order, "words": f"{order}, {words}", "before": before, "after": after}

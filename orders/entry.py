"""Writes what the office enters so that each form writes once: an order's head, a line, a whole grid, an answer.

With `intake`, whose rules it calls, the only writer of lines; the only one of answers to questions about slips.
"""

import datetime as dt
from decimal import Decimal

from django.db import IntegrityError, transaction
from django.db.models import Max

from orders import intake, once
from orders import orders_on_record as on_record
from orders.calendar import said
from orders.models import Customer, Order, OrderLine, SlipAnswer
from orders.questions import asked, named
from orders.slips import plain, print_of
from orders.wake import wake

WRITTEN = [field.attname for field in OrderLine._meta.concrete_fields if field.attname != "id"]


def seen_of(lines):
    """A print of stored `lines`, by which a page knows whether they are still as it showed them."""
    return print_of(f"{line.pk} {[str(getattr(line, name)) for name in WRITTEN]}" for line in lines)


def open_order(*, key, by, at, **fields):
    """A new order, as `intake.open_order`; sent twice at the same moment its form opens one."""
    try:
        with transaction.atomic():
            made = intake.open_order(by=by, at=at, **fields)
            once.take(key, order=made, at=at)
            return made
    except IntegrityError:
        before = once.taken(key)
        if before is None:
            raise
        return before.order


def change_order(*, order: Order, seen="", key, at, **fields):
    """Change the head of `order`, as `intake.change_order`; a form that was taken already writes nothing.

    `seen` is the print of the head as the page showed it.
    """
    with transaction.atomic():
        intake.require_editable(order)
        if once.taken(key):
            return
        stored = Order.objects.with_customer().get(pk=order.pk)
        if seen and head_seen(stored) != seen:
            others = [field for field in _HEAD if getattr(stored, field.attname) != _given(fields[field.name])]
            raise intake.Refused([_said_now(f"The head of {order}", stored, others)])
        intake.change_order(order=order, **fields)
        once.take(key, order=order, at=at)


_HEAD = [Order._meta.get_field(name) for name in ("customer", "due_on", "rush", "market", "reference", "note")]


def _given(value):
    return value.pk if isinstance(value, Customer) else value


def head_seen(order):
    """A print of the head of `order` as it is stored, by which a page knows whether it is still as it showed it."""
    return print_of(f"{field.attname} {getattr(order, field.attname)}" for field in _HEAD)


def save_line(*, order: Order, line: OrderLine, seen="", key, at):
    """Add `line` to `order` or change it there, as `intake.save_line`; a form that was taken already writes nothing.

    `seen` is the print of the stored line as the page showed it. Answers the line's position.
    """
    with transaction.atomic():
        intake.require_editable(order)
        before = once.taken(key)
        if before:
            return before.position
        if seen:
            _refuse_unseen(line, order.lines.in_order().filter(pk=line.pk).first(), seen=seen)
        saved = intake.save_line(order=order, line=line)
        once.take(key, order=order, position=saved.position, at=at)
        return saved.position


def remove_line(*, order: Order, position, seen=""):
    """Take the line at `position` off `order`; answers whether there was one.

    `seen` is its print as the page showed it: the place may be another line's by now. Raises Refused then.
    """
    with transaction.atomic():
        intake.require_editable(order)
        line = order.lines.in_order().filter(position=position).first()
        if line and seen and seen_of([line]) != seen:
            raise intake.Refused(
                [f"{named(line)} is not as it was shown any more, so it stays. Look at it as it is now."]
            )
        if line:
            intake.remove_line(line=line)
        return line is not None


def _refuse_unseen(line, stored, *, seen):
    """Refuse to write over what another desk has made of a line, and say what that is."""
    if stored is None:
        raise intake.Refused([f"{named(line)} was taken off at another desk meanwhile. Add it as a new line."])
    if seen_of([stored]) != seen:
        others = [field for field in _SAID if getattr(stored, field.attname) != getattr(line, field.attname)]
        raise intake.Refused([_said_now(named(line), stored, others)])


_SAID = [field for field in OrderLine._meta.concrete_fields if field.editable and field.name not in ("id", "order")]


def _said_now(what, stored, others):
    """That `what` was changed, and what it says now in the fields that differ from what was typed."""
    now = ", ".join(f"{field.verbose_name} {_shown(stored, field)}" for field in others)
    way = f"Now it says: {now}. Saving again writes what stands here." if now else "It says the same as here."
    return f"{what} was changed at another desk meanwhile. {way}"


def _shown(stored, field):
    value = getattr(stored, field.name)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dt.date):
        return said(value)
    if isinstance(value, Decimal):
        return f"{plain(value)} mm"
    if field.choices:
        value = stored._get_FIELD_display(field)
    return ", ".join(value) if isinstance(value, list) else str(value or "nothing")


def save_lines(*, order: Order, lines, gone=(), seen, answers=(), key=None, by, at):
    """Write all of `lines`, new and changed ones, and take off those at the positions `gone`: everything or nothing.

    `seen` is the print of the lines as the page showed them. `answers` are (line, or None for the order; code; figures)
    of the questions that were answered 'It is right'. A form that was taken already writes nothing: answers whether it
    was new. Raises Refused with every reason.
    """
    with transaction.atomic():
        intake.require_editable(order)
        if once.taken(key):
            return False
        stored = list(order.lines.in_order())
        if seen_of(stored) != seen:
            raise intake.Refused(
                [
                    f"The lines of {order} were changed at another desk meanwhile. Compare them below with what you "
                    "typed: saving again writes what stands here."
                ]
            )
        last = order.lines.aggregate(last=Max("position"))["last"] or 0
        for line in lines:
            line.order = order
            if line.position is None:
                line.position = last = last + 1
        intake.refuse_unmakeable(lines)
        before = {line.position: on_record.line_of(line) for line in stored}
        order.lines.filter(position__in=gone).delete()
        changed = [line for line in lines if line.pk]
        OrderLine.objects.bulk_create([line for line in lines if not line.pk])
        OrderLine.objects.bulk_update(changed, _CHANGED)
        on_record.lines_changed(order, before=before, lines=lines, gone=[place for place in gone if place in before])
        _keep_answers(order, answers, by=by, at=at)
        once.take(key, order=order, at=at)
        wake()
        return True


_CHANGED = [field.name for field in OrderLine._meta.concrete_fields if field.name not in ("id", "order", "position")]


def _keep_answers(order, answers, *, by, at):
    """Keep each answer whose question is still raised, by the figures that it was given for."""
    wanted = {(line.position if line else None, code, figures) for line, code, figures in answers}
    if not wanted:
        return
    for each in asked(order=order):
        question = each.question
        if each.answer is None and (question.number, question.code, question.figures) in wanted:
            _keep(order, each, by=by, at=at)


def _keep(order, each, *, by, at):
    question = each.question
    return SlipAnswer.objects.create(
        order=order,
        line=each.line,
        code=question.code,
        figures=question.figures,
        question=question.message,
        by=by,
        at=at,
    )


def answer(*, order: Order, position, code, figures, by, at):
    """Answer a question about the line at `position`, or with None about the order: it is right as it stands.

    Raises Refused where that is no longer asked, since the figures have changed. Twice is once.
    """
    with transaction.atomic():
        intake.require_editable(order)
        for each in asked(order=order):
            question = each.question
            if (question.number, question.code, question.figures) == (position, code, figures):
                wake()
                return each.answer or _keep(order, each, by=by, at=at)
        line = order.lines.in_order().filter(position=position).first()
        about = named(line) if line else f"{order}"
        raise intake.Refused([f"{about} was changed meanwhile, so that question is gone. Look at it as it is now."])


def answer_all(*, order: Order, by, at):
    """Answer every question that `order` raises: somebody has looked at each of them."""
    with transaction.atomic():
        for each in asked(order=order):
            if each.answer is None:
                _keep(order, each, by=by, at=at)

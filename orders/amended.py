"""What an accepted change writes to an order at work, beside `intake`: its lines, its day and its note.

Each is called inside the transaction in which the workshop accepts the change, with the order's row held.
"""

from django.db.models import F, Max

from orders.models import Order, OrderLine, PromiseLook
from orders.wake import wake


def change_line(*, line: OrderLine, wanted: OrderLine, blinds: int):
    """The line of `blinds` blinds that become as `wanted` says: `line` itself, or a new one split off it."""
    wanted.order, wanted.quantity = line.order, blinds
    if blinds == line.quantity:
        wanted.pk, wanted.position = line.pk, line.position
        wanted._state.adding = False
        wanted.save()
        return wanted
    OrderLine.objects.filter(pk=line.pk).update(quantity=F("quantity") - blinds)
    return add_line(order=line.order, wanted=wanted)


def add_line(*, order: Order, wanted: OrderLine):
    wanted.order = order
    wanted.position = (order.lines.aggregate(last=Max("position"))["last"] or 0) + 1
    wanted.save()
    wake()
    return wanted


def take_off(*, line: OrderLine, blinds: int):
    """`blinds` of the line's are made no more; the line keeps them, so that it still says what was ordered."""
    OrderLine.objects.filter(pk=line.pk).update(taken_off=F("taken_off") + blinds)
    wake()


def change_head(*, order: Order, due_on, note, because, by, at):
    """Another day or note; that a day was moved at the customer's wish stays on record with the promise's looks."""
    if due_on != order.due_on:
        PromiseLook.objects.create(order=order, at=at, by=by, doubt=because[:200], was=order.due_on, due_on=due_on)
    order.due_on, order.note = due_on, note
    order.save(update_fields=["due_on", "note"])
    wake()

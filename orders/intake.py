"""The only writer of customers, orders and lines."""

from django.db import transaction
from django.db.models import Max

from calc.components import components
from orders.models import Customer, Order, OrderLine, SystemRevision
from orders.spec import spec_of
from orders.wake import wake


class Refused(Exception):
    """What was asked for can't be done; `problems` says each reason with its values and the next step."""

    def __init__(self, problems):
        super().__init__(" ".join(problems))
        self.problems = problems


FIRST_NUMBER = 1


@transaction.atomic
def open_order(*, by, at, **fields):
    """A new draft order under the next free number. `fields` are those of Order."""
    # Locking the newest order makes two desks take two numbers; where there is none yet, the unique number refuses.
    newest = Order.objects.select_for_update().order_by("-number").first()
    number = newest.number + 1 if newest else FIRST_NUMBER
    wake()
    return Order.objects.create(
        number=number, state=Order.DRAFT, state_since=at, entered_by=by, entered_at=at, **fields
    )


def change_order(*, order: Order, **fields):
    """Change the head of an order that is not released yet."""
    with transaction.atomic():
        _require_editable(order)
        for name, value in fields.items():
            setattr(order, name, value)
        order.save(update_fields=list(fields))
        wake()
    return order


def save_line(*, order: Order, line: OrderLine):
    """Add `line` to the order, or change it there.

    Raises Refused with every refusal of its figures, or where the order is released already.
    """
    with transaction.atomic():
        _require_editable(order)
        problems = line_problems(line=line, market=order.market)
        if problems:
            raise Refused(problems)
        if line.position is None:
            line.position = (order.lines.aggregate(last=Max("position"))["last"] or 0) + 1
        line.order = order
        line.save()
        wake()
    return line


def line_problems(*, line: OrderLine, market):
    """Every reason why `line` can't be made, each with its values and the way out."""
    problems = []
    if line.fabric.vane_width_mm != line.vane_width_mm:
        problems.append(
            f"{line.fabric} is slit to {line.fabric.vane_width_mm} mm and the vanes are {line.vane_width_mm} mm. "
            "Choose another fabric or vane width."
        )
    figures = line_figures(line=line, market=market)
    if figures is None:
        return [*problems, f"{line.system} has no published revision. Ask a manager to publish one."]
    return problems + [found["message"] for found in figures["findings"] if found["severity"] == "refuse"]


def line_figures(*, line: OrderLine, market):
    """The components of `line` under its system's current revision, or None where none is published."""
    revision = SystemRevision.objects.current(system=line.system)
    if revision is None:
        return None
    return components(spec_of(line, market=market), systems={line.system.code: revision.as_system()})


def remove_line(*, line: OrderLine):
    with transaction.atomic():
        _require_editable(line.order)
        line.delete()
        wake()


def confirm(*, order, at):
    if not order.lines.exists():
        raise Refused([f"{order} has no lines. Add a line first."])
    return _move(order, frm=(Order.DRAFT,), to=Order.CONFIRMED, at=at)


def mark_released(*, order, at):
    return _move(order, frm=(Order.CONFIRMED,), to=Order.RELEASED, at=at)


def mark_ready(*, order, at):
    return _move(order, frm=(Order.RELEASED,), to=Order.READY, at=at)


def mark_collected(*, order, at):
    return _move(order, frm=(Order.READY,), to=Order.COLLECTED, at=at)


def mark_delivered(*, order, at):
    return _move(order, frm=(Order.READY,), to=Order.DELIVERED, at=at)


def cancel(*, order, at):
    return _move(order, frm=(Order.DRAFT, Order.CONFIRMED), to=Order.CANCELLED, at=at)


NEXT_STEP = {
    Order.DRAFT: "Confirm it first.",
    Order.CONFIRMED: "Release it first.",
    Order.RELEASED: "Its blinds are at work.",
    Order.READY: "It waits to be collected or delivered.",
    Order.COLLECTED: "It has left the workshop.",
    Order.DELIVERED: "It has left the workshop.",
    Order.CANCELLED: "Enter it again as a new order.",
}


def _move(order, *, frm, to, at):
    """Move `order` on by compare-and-set, so that two desks can't both do it."""
    moved = Order.objects.filter(pk=order.pk, state__in=frm).update(state=to, state_since=at)
    order.refresh_from_db(fields=["state", "state_since"])
    if not moved:
        words = dict(Order.STATES)
        raise Refused(
            [
                f"{order} is {words[order.state].lower()}, so it can't become {words[to].lower()}. "
                f"{NEXT_STEP[order.state]}"
            ]
        )
    wake()
    return order


def _require_editable(order):
    """Hold the order's row, so that a release and a change can't cross, and refuse once it is released."""
    state = Order.objects.select_for_update().values_list("state", flat=True).get(pk=order.pk)
    if state not in (Order.DRAFT, Order.CONFIRMED):
        raise Refused(
            [
                f"{order} is {dict(Order.STATES)[state].lower()}: its blinds are frozen. "
                "Enter a new order for the change."
            ]
        )


def add_customer(**fields):
    return Customer.objects.create(**fields)


def change_customer(*, customer, **fields):
    for name, value in fields.items():
        setattr(customer, name, value)
    customer.save(update_fields=list(fields))
    return customer

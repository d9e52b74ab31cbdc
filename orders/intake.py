"""The only writer of customers, orders and lines."""

from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from calc.components import components, outline
from orders import audit, calendar
from orders import orders_on_record as on_record
from orders.calendar import said
from orders.lines import constants_in_force, slit_otherwise
from orders.models import Customer, Order, OrderLine, OrderStep, PromiseLook, SystemRevision
from orders.questions import unanswered
from orders.spec import spec_of
from orders.wake import wake


class Refused(Exception):
    """What was asked for can't be done; `problems` says each reason with its values and the next step."""

    def __init__(self, problems):
        super().__init__(" ".join(problems))
        self.problems = problems


FIRST_NUMBER = 1


@transaction.atomic
def open_order(*, by, at, customer: Customer, **fields):
    """A new draft order under the next free number; a customer who isn't stored yet is entered with it.

    `fields` are those of Order.
    """
    return open_orders(by=by, at=at, heads=[({"customer": _entered(customer), **fields}, ())])[0]


@transaction.atomic
def open_orders(*, by, at, heads, judged=False):
    """New draft orders with their lines, all or none: `heads` are pairs of an order's fields and its unsaved lines.

    Takes as many queries for many lines as for few. Raises Refused with whatever can't be made, save where whoever
    asks has `judged` every line by the same rules in the same transaction.
    """
    first = _next_number()
    new = {"state": Order.DRAFT, "state_since": at, "entered_by": by, "entered_at": at}
    orders = [Order(number=number, **new, **fields) for number, (fields, _) in enumerate(heads, start=first)]
    Order.objects.bulk_create(orders)
    OrderStep.objects.bulk_create(OrderStep(order=order, state=Order.DRAFT, by=by, at=at) for order in orders)
    lines = [line for order, (_, lines) in zip(orders, heads, strict=True) for line in _placed(order, lines)]
    if not judged:
        refuse_unmakeable(lines)
    OrderLine.objects.insert(lines)
    wake()
    return orders


def _next_number():
    """The next free number, which nobody else takes before the transaction ends.

    Whoever takes one holds the oldest order meanwhile: the newest is another one by the time that it is free, so that
    two could count on from it. Where there is no order yet, the unique number refuses.
    """
    Order.objects.select_for_update(no_key=True).order_by("number").first()
    last = Order.objects.aggregate(last=Max("number"))["last"]
    return last + 1 if last else FIRST_NUMBER


def _placed(order, lines):
    for position, line in enumerate(lines, start=1):
        line.order, line.position = order, position
    return lines


def refuse_unmakeable(lines):
    systems = constants_in_force() if lines else {}
    problems = [
        f"{line}: {problem}"
        for line in lines
        for problem in _problems(line, market=line.order.market, system=systems.get(line.system_id))
    ]
    if problems:
        raise Refused(problems)


def change_order(*, order: Order, **fields):
    """Change the head of an order that is not released yet; a customer who isn't stored yet is entered with it."""
    with transaction.atomic():
        require_editable(order)
        before = on_record.head_of(order)
        if "customer" in fields:
            _entered(fields["customer"])
        for name, value in fields.items():
            setattr(order, name, value)
        order.save(update_fields=list(fields))
        on_record.head_changed(order, before=before)
        wake()
    return order


def save_line(*, order: Order, line: OrderLine):
    """Add `line` to the order, or change it there.

    Raises Refused with every refusal of its figures, or where the order is released already.
    """
    with transaction.atomic():
        require_editable(order)
        problems = line_problems(line=line, market=order.market)
        if problems:
            raise Refused(problems)
        if line.position is None:
            line.position = (order.lines.aggregate(last=Max("position"))["last"] or 0) + 1
        before = on_record.stored_line(line)
        line.order = order
        line.save()
        on_record.lines_changed(order, before=before, lines=[line])
        wake()
    return line


def line_problems(*, line: OrderLine, market):
    """Every reason why `line` can't be made, each with its values and the way out."""
    return _problems(line, market=market, system=_constants_of(line))


def _constants_of(line):
    revision = SystemRevision.objects.current(system=line.system)
    return revision and revision.as_system()


def _problems(line, *, market, system):
    problems = []
    if line.fabric.vane_width_mm != line.vane_width_mm:
        problems.append(slit_otherwise(line.fabric, line.vane_width_mm))
    if system is None:
        return [*problems, f"{line.system} has no published revision. Ask a manager to publish one."]
    figures = outline(spec_of(line, market=market), systems={line.system.code: system})
    return problems + [found["message"] for found in figures["findings"] if found["severity"] == "refuse"]


def line_figures(*, line: OrderLine, market):
    """The components of `line` under its system's current revision, or None where none is published."""
    system = _constants_of(line)
    return system and components(spec_of(line, market=market), systems={line.system.code: system})


def remove_line(*, line: OrderLine):
    with transaction.atomic():
        require_editable(line.order)
        before = on_record.stored_line(line)
        line.delete()
        on_record.lines_changed(line.order, before=before, gone=before)
        wake()


def confirm(*, order, by, at):
    """Raises Refused where the order has no line, or a question about a likely slip that nobody answered yet."""
    if not order.lines.exists():
        raise Refused([f"{order} has no lines. Add a line first."])
    if order.state == Order.DRAFT and (open_questions := unanswered(order=order)):
        raise Refused([f"{each.message} Correct it, or answer that it is right." for each in open_questions])
    return _move(order, frm=(Order.DRAFT,), to=Order.CONFIRMED, by=by, at=at)


def take_back_to_draft(*, order, by, at):
    """What was agreed is open again; an order at work is amended instead."""
    return _move(order, frm=(Order.CONFIRMED,), to=Order.DRAFT, by=by, at=at)


def mark_released(*, order, by, at):
    return _move(order, frm=(Order.CONFIRMED,), to=Order.RELEASED, by=by, at=at)


def mark_ready(*, order, by, at):
    """Ready by its promised day, the promise is kept and no longer in doubt; later, somebody must still look at it."""
    kept = NO_DOUBT if timezone.localdate(at) <= order.due_on else {}
    return _move(order, frm=(Order.RELEASED,), to=Order.READY, by=by, at=at, **kept)


def take_back_to_work(*, order, by, at):
    """An order that was ready has a blind to put right."""
    return _move(order, frm=(Order.READY,), to=Order.RELEASED, by=by, at=at)


def mark_collected(*, order, by, at):
    return _move(order, frm=(Order.READY,), to=Order.COLLECTED, by=by, at=at, **NO_DOUBT)


def mark_delivered(*, order, by, at):
    return _move(order, frm=(Order.READY,), to=Order.DELIVERED, by=by, at=at, **NO_DOUBT)


def cancel(*, order, by, at):
    return _move(order, frm=(Order.DRAFT, Order.CONFIRMED), to=Order.CANCELLED, by=by, at=at)


def cancel_at_work(*, order, by, at):
    """Every blind of an order at work was taken off it."""
    return _move(order, frm=(Order.RELEASED,), to=Order.CANCELLED, by=by, at=at, **NO_DOUBT)


NO_DOUBT = {"promise_doubted_at": None, "promise_doubt": ""}


def doubt_promise(*, order, because, at):
    """Ask for another look at the promised day of an order that is at work; the newest reason stands."""
    order.promise_doubted_at, order.promise_doubt = at, because[: Order._meta.get_field("promise_doubt").max_length]
    order.save(update_fields=list(NO_DOUBT))
    wake()


@transaction.atomic
def look_at_promise(*, order, seen, due_on, by, at):
    """Keep the promised day of `order`, or promise another: `due_on`. Who looked, when and at what stays on record.

    `seen` is the moment of the doubt that was looked at. Raises Refused where somebody has looked already, where
    something else happened meanwhile, and for another day that has gone or is closed.
    """
    now = Order.objects.select_for_update().get(pk=order.pk)
    if now.promise_doubted_at is None:
        last = now.promise_looks.with_person().first()
        who = f"{last.by} looked at it, and it is promised" if last else "it was put right in time, and stays promised"
        raise Refused([f"The promise of {now} is not in doubt any more: {who} for {said(now.due_on)}."])
    if now.promise_doubted_at != seen:
        raise Refused([f"Meanwhile {now.promise_doubt}. Look at the promise with that too."])
    not_promised = due_on != now.due_on and calendar.read().why_not_promised(due_on, today=timezone.localdate(at))
    if not_promised:
        raise Refused([not_promised])
    PromiseLook.objects.create(order=now, at=at, by=by, doubt=now.promise_doubt, was=now.due_on, due_on=due_on)
    now.due_on, now.promise_doubted_at, now.promise_doubt = due_on, None, ""
    now.save(update_fields=["due_on", *NO_DOUBT])
    wake()
    return now


NEXT_STEP = {
    Order.DRAFT: "Confirm it first.",
    Order.CONFIRMED: "Release it first.",
    Order.RELEASED: "Its blinds are at work.",
    Order.READY: "It waits to be collected or delivered.",
    Order.COLLECTED: "It has left the workshop.",
    Order.DELIVERED: "It has left the workshop.",
    Order.CANCELLED: "Enter it again as a new order.",
}


@transaction.atomic
def _move(order, *, frm, to, by, at, **fields):
    """Move `order` on by compare-and-set, so that two desks can't both do it; who did it and when stays on record."""
    there = Order.objects.filter(pk=order.pk)
    was = next((state for state in frm if there.filter(state=state).update(state=to, state_since=at, **fields)), None)
    order.refresh_from_db(fields=["state", "state_since", *fields])
    if was is None:
        words = dict(Order.STATES)
        raise Refused(
            [
                f"{order} is {words[order.state].lower()}, so it can't become {words[to].lower()}. "
                f"{NEXT_STEP[order.state]}"
            ]
        )
    OrderStep.objects.create(order=order, was=was, state=to, by=by, at=at)
    wake()
    return order


def require_editable(order):
    """Hold the order's row, so that a release and a change can't cross, and refuse once it is released."""
    state = Order.objects.select_for_update().values_list("state", flat=True).get(pk=order.pk)
    if state not in (Order.DRAFT, Order.CONFIRMED):
        way = "Ask the workshop for the change" if state == Order.RELEASED else "Enter a new order for the change"
        raise Refused([f"{order} is {dict(Order.STATES)[state].lower()}: its blinds are frozen. {way}."])


@transaction.atomic
def add_customer(**fields):
    return _entered(Customer(**fields))


def _entered(customer):
    if customer.pk is None:
        customer.save()
        audit.did("customer-added", of=customer)
    return customer


@transaction.atomic
def change_customer(*, customer, **fields):
    # A form has set its instance to what was typed by now.
    before = audit.values(Customer.objects.select_for_update().get(pk=customer.pk), *fields)
    for name, value in fields.items():
        setattr(customer, name, value)
    customer.save(update_fields=list(fields))
    audit.changed("customer-changed", of=customer, before=before, after=audit.values(customer, *fields))
    return customer

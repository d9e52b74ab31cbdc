"""Promising a day from the plan: what a wanted day would do, and promising it while no other desk can.

By the same rule a change of an order that is promised already is held to what was promised to others.
"""

import datetime as dt
import hashlib
from contextlib import contextmanager
from dataclasses import dataclass, replace

from django.db import transaction

from calc.promise import Effect, Quote
from calc.workshop import Workshop
from orders import calendar, intake
from orders import promise as promised_days
from orders.models import Order, OrderLine

from . import planning


@dataclass(frozen=True, kw_only=True)
class Late:
    """A booked order that would be late, by how many working days more than otherwise; None beyond the horizon."""

    number: int
    customer: str
    due_on: dt.date
    late_days: int | None


@dataclass(frozen=True, kw_only=True)
class Outlook:
    """What promising `order` for `day`, or a change of it, would do by the plan of the moment.

    `own_late_days`: by how many working days it would be late itself, None beyond the horizon; of a change 0 where it
    is late as before. `late` are others that would be late, `squeezed` those that would only lose days in hand.
    """

    order: Order
    day: dt.date
    effect: Effect
    quote: Quote
    workshop: Workshop
    own_late_days: int | None
    late: tuple[Late, ...]
    squeezed: tuple[Late, ...]

    @property
    def kept(self):
        return self.effect.can_be_kept

    @property
    def breaks(self):
        """Whether somebody would be late, the order itself or another; else it only takes working days in hand."""
        return self.own_late_days != 0 or bool(self.late)

    @property
    def token(self):
        """Stands for all that is said of the day, so that nobody agrees to something else than what was shown."""
        said = (self.day, self.effect.finished, self.late, self.squeezed)
        return hashlib.blake2b(repr(said).encode(), digest_size=8).hexdigest()


class NotKept(Exception):
    """The day can't be promised without somebody's promise or days in hand; `outlook` says whose."""

    def __init__(self, outlook):
        super().__init__(f"{outlook.order} can't be promised for {outlook.day} without breaking another promise.")
        self.outlook = outlook


def lines_of(order):
    return list(OrderLine.objects.to_be_released([order.pk]))


def quote(*, order, at, plan=None):
    """The calc Quote of an order that is not released yet, by the plan as it stands; None where it has no line."""
    lines = lines_of(order)
    if not lines:
        return None
    plan = plan or planning.read(at=at)
    return plan.earliest(order=order, lines=lines)


def quote_as_typed(*, order, lines, at):
    """The calc Quote of `order` with these OrderLines in place of its own, saved or not; None where there is none."""
    typed = [{name: getattr(line, name) for name in planning.LINE_FIELDS} for line in lines]
    return planning.read(at=at).earliest(order=order, lines=typed) if typed else None


def outlook(*, order, day, at, plan=None):
    """The Outlook of promising `order` for `day`. Raises intake.Refused for a day that nobody can promise."""
    plan = plan or planning.read(at=at)
    _require_day(day, plan=plan)
    lines = lines_of(order)
    if not lines:
        raise intake.Refused([f"{order} has no lines. Add a line first."])
    effect = plan.effect(order=order, lines=lines, day=day)
    return _outlook(order, effect, quote=plan.earliest(order=order, lines=lines), plan=plan)


def _outlook(order, effect, *, quote, plan):
    own = None if effect.finished is None else plan.workshop.days_after(effect.day, effect.finished)
    moved = [_late(plan.booked[each.key], each) for each in effect.moved]
    return Outlook(
        order=order,
        day=effect.day,
        effect=effect,
        quote=quote,
        late=tuple(each for each in moved if each.late_days != 0),
        squeezed=tuple(each for each in moved if each.late_days == 0),
        workshop=plan.workshop,
        own_late_days=0 if effect.no_worse else own,
    )


def _late(order, moved):
    return Late(number=order.number, customer=order.customer, due_on=order.due_on, late_days=moved.late_days)


def _require_day(day, *, plan):
    if problem := plan.calendar.why_not_promised(day, today=plan.today):
        raise intake.Refused([problem])


@transaction.atomic
def promise(*, order, day, by, at, agreed="", confirm=False):
    """Promise `order` for `day`, and `confirm` it with that.

    Raises NotKept where the plan can't keep the day and everybody else's promise, unless `agreed` is the token of just
    that outlook: whoever sends it has read whom it makes late. Two desks can't promise the same minutes: the second
    waits here, and looks at a plan in which the first one's order is booked.
    """
    calendar.hold()
    order = Order.objects.select_for_update().get(pk=order.pk)
    found = outlook(order=order, day=day, at=at)
    if not found.kept and agreed != found.token:
        raise NotKept(found)
    promised_days.give(order=order, due_on=day, by=by, at=at, **_on_record(found))
    order.refresh_from_db()
    if confirm:
        intake.confirm(order=order, by=by, at=at)
    return order


def _on_record(found):
    makes_late = [[each.number, each.customer, each.late_days] for each in found.late]
    return {"earliest": found.quote.day, "makes_late": makes_late}


@contextmanager
def unbroken(*, order, agreed, by, at, move_to=None):
    """What is written to `order` inside is kept as a whole where it breaks no promise; else NotKept is raised.

    With `move_to` an order that is not released yet is promised for that day as well, where anything was written.
    The order's own promise counts too, unless it is no later than it was. `agreed` is the token of just that outlook,
    as for `promise`: then it is kept all the same, and stays on record. Nobody else promises a day meanwhile.
    """
    with transaction.atomic():
        calendar.hold()
        before = planning.read(at=at)
        yield
        after = planning.read(at=at)
        if move_to and after.works != before.works:
            _require_day(move_to, plan=before)
            promised_days.give(order=order, due_on=move_to, by=by, at=at, earliest=move_to, makes_late=[])
            after = planning.read(at=at)
        found = outlook_of_change(order, before=before, after=after)
        if found:
            found = replace(found, order=Order.objects.with_customer().get(pk=order.pk))
        if found and agreed != found.token:
            raise NotKept(found)
        if found:
            promised_days.record(order=found.order, due_on=found.day, by=by, at=at, **_on_record(found))


def outlook_of_change(order, *, before, after):
    """The Outlook of a change that somebody's promise or days in hand can't bear, or None."""
    effect = None if after.works == before.works else after.effect_of_change(before=before, order=order)
    if effect is None or effect.can_be_kept:
        return None
    return _outlook(order, effect, quote=after.earliest_as_booked(order=order), plan=after)

"""The day that is promised: the one that sales begin with, and the only writer of a day promised from the plan."""

import datetime as dt

from django.db import transaction

from orders import intake
from orders.calendar import Calendar
from orders.models import Order, PromiseGiven
from orders.wake import wake

USUAL_WORKING_DAYS = 10


def usual_day(*, today: dt.date, calendar: Calendar) -> dt.date:
    """Ten working days after `today` by the workshop's calendar. Raises calendar.NoWorkingDay where there are none."""
    return calendar.after(today, working_days=USUAL_WORKING_DAYS)


@transaction.atomic
def give(*, order, due_on, by, at, earliest, makes_late):
    """Promise `due_on` for an order that is not released yet, and keep on record what the plan said of it.

    `earliest` and `makes_late` are those of PromiseGiven. What was promised before is not promised twice. Raises
    intake.Refused where the order is released already.
    """
    intake.require_editable(order)
    now = Order.objects.get(pk=order.pk)
    last = now.promises_given.with_person().first()
    if last is None or (last.due_on, now.due_on) != (due_on, due_on):
        record(order=now, due_on=due_on, by=by, at=at, earliest=earliest, makes_late=makes_late)
        now.due_on = due_on
        now.save(update_fields=["due_on"])
        wake()
    return now


def record(*, order, due_on, by, at, earliest, makes_late):
    """Keep on record what the plan said of a day that is promised, as PromiseGiven has it."""
    return PromiseGiven.objects.create(
        order=order, at=at, by=by, due_on=due_on, earliest=earliest, makes_late=makes_late
    )

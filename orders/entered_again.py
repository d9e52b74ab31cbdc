"""Whether an order was entered before, a moment ago, by the lines of both: a question as those of slips.py."""

import datetime as dt
from collections.abc import Iterable

from orders.models import Order, OrderLine
from orders.slips import Question, print_of
from orders.spec import number

AGAIN = "again"
WITHIN_MINUTES = 60
"""How long after an order the same lines for the same customer are asked about; common practice, no source."""
SAME = ("quantity", "size_basis", "vane_width_mm", "draw", "hand", "operation", "system_id", "fabric_id")


def entered_again(order: Order, lines):
    """The question whether `order` was entered before, a moment ago; None where it was not, or has no lines.

    Orders of one file are meant to be several: the flats of a house have the same windows.
    """
    if not lines:
        return None
    since = order.entered_at - dt.timedelta(minutes=WITHIN_MINUTES)
    theirs = OrderLine.objects.in_orders(Order.objects.like(order, since=since, lines=len(lines)))
    earlier = {}
    for line in theirs:
        minutes = (order.entered_at - line.order.entered_at).seconds // 60
        earlier.setdefault((line.order.number, minutes), []).append(print_of_line(line))
    told = [(*which, prints) for which, prints in earlier.items()]
    return again(number=order.number, lines=[print_of_line(line) for line in lines], earlier=told)


def print_of_line(line):
    """What makes two lines the same blinds, whatever their room and place in the order."""
    return " ".join(map(str, (number(line.width_mm), number(line.drop_mm), *(getattr(line, name) for name in SAME))))


def again(*, number: int, lines: Iterable[str], earlier: Iterable[tuple]) -> Question | None:
    """Whether order `number` with `lines` looks like one entered just before for the same customer.

    `lines` are the prints of its lines, in any order; `earlier` gives (number, minutes before, its lines' prints) of
    each order of that customer entered up to WITHIN_MINUTES before it.
    """
    own = sorted(lines)
    for other, minutes, theirs in earlier:
        if own and sorted(theirs) == own and 0 <= minutes <= WITHIN_MINUTES:
            count = f"the same {len(own)} lines" if len(own) > 1 else "the same line"
            message = (
                f"Order {other:04d} of the same customer, entered {_minutes(minutes)} before order {number:04d}, has "
                f"{count}. Compare the two, and cancel the one that is too many."
            )
            return Question(code=AGAIN, number=None, figures=f"{other} {print_of(own)}", message=message)
    return None


def _minutes(minutes):
    return {0: "less than a minute", 1: "a minute"}.get(minutes, f"{minutes} minutes")

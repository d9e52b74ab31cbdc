"""Numbers what changes in orders, so that another program can ask what is new and miss nothing. The only writer of it.

A change is numbered by whoever asks first after it is committed, never by its writer: numbers given out before the
commit may become visible in another order than they were given in, and who had asked in between would never hear of
the lower one. Here the orders are held against how they were when they were numbered last, in a transaction that holds
the counter, so that a higher number is never visible before a lower one. What changes twice between two looks is one
change, and the order is told as it stands.
"""

import hashlib
from collections import defaultdict

from django.db import transaction
from django.db.models import Count, Q

from orders.models import Order, OrderLine

from . import route
from .models import ChangesCounted, OrderChange, StationEvent

BATCH = 500
# What is told of an order: whatever is different here makes a change.
TOLD = ("state", "state_since", "due_on", "rush", "reference", "market", "note", "customer", "customer__name")
LINE_TOLD = [field.attname for field in OrderLine._meta.concrete_fields if field.attname not in ("id", "order_id")]


class Unknown(Exception):
    """The change to go on from was never counted; `last` is the last one."""

    def __init__(self, last):
        super().__init__(str(last))
        self.last = last


def after(change):
    """The OrderChanges later than number `change`, what was committed until now among them. Raises Unknown."""
    if _different(_marks()):
        _number()
    last = ChangesCounted.objects.filter(pk=1).values_list("last", flat=True).first() or 0
    if change > last:
        raise Unknown(last)
    return OrderChange.objects.after(change)


@transaction.atomic
def _number():
    """Give each order that stands differently than it was last told the next number."""
    ChangesCounted.objects.get_or_create(pk=1)
    counter = ChangesCounted.objects.select_for_update().get(pk=1)
    marks = _marks()
    known = {each.order_id: each for each in OrderChange.objects.filter(order__in=marks)}
    fresh, again = [], []
    for order in _different(marks):
        counter.last += 1
        mark, state = marks[order]
        found = known.get(order) or OrderChange(order_id=order)
        found.change, found.mark, found.state = counter.last, mark, state
        (again if found.pk else fresh).append(found)
    OrderChange.objects.bulk_create(fresh, batch_size=BATCH)
    OrderChange.objects.bulk_update(again, ["change", "mark", "state"], batch_size=BATCH)
    counter.save()


def _different(marks):
    """The keys among `marks` of orders that stand differently than they were last told, by their number."""
    told = dict(OrderChange.objects.filter(order__in=_followed()).values_list("order", "mark"))
    return [order for order, (mark, _) in marks.items() if told.get(order) != mark]


def _followed():
    """The orders that may have changed: the open ones, those that were open when told last, and those never told."""
    was_open, never_told = Q(newest_change__state__in=Order.OPEN), Q(newest_change=None)
    return Order.objects.filter(Q(state__in=Order.OPEN) | was_open | never_told)


def _marks():
    """(mark, state) of each followed order by its key, in the order of their numbers."""
    orders = list(_followed().order_by("number").values_list("pk", *TOLD))
    events, lines = _events(), _lines()
    return {pk: (_digest(told, events[pk], lines[pk]), told[0]) for pk, *told in orders}


def _events():
    """How often each open order's blinds moved, by the order's key; a step at a station moves none."""
    found = StationEvent.objects.exclude(kind=route.STEP).filter(blind__order__in=Order.objects.open())
    return defaultdict(int, found.order_by().values_list("blind__order").annotate(Count("pk")))


def _lines():
    """What each line says of the orders whose lines may still change, by the order's key."""
    found = defaultdict(list)
    for order, *told in OrderLine.objects.changeable().order_by("position").values_list("order", *LINE_TOLD):
        found[order].append(told)
    return found


def _digest(*told):
    return hashlib.sha256(repr(told).encode()).hexdigest()

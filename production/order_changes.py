"""Numbers what changes in orders, so that another program can ask what is new and miss nothing. The only writer of it.

A change is numbered by whoever asks first after it is committed, never by its writer: numbers given out before the
commit may become visible in another order than they were given in, and who had asked in between would never hear of
the lower one. Here the orders are held against how they were when they were numbered last, in a transaction that holds
the counter, so that a higher number is never visible before a lower one. What changes twice between two looks is one
change, and the order is told as it stands.
"""

import hashlib
from collections import defaultdict
from typing import NamedTuple

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
    if any(each.differs for each in _standing(ChangesCounted.objects.filter(pk=1).first())):
        _number()
    counted = ChangesCounted.objects.filter(pk=1).first()
    last = counted.last if counted else 0
    if change > last:
        raise Unknown(last)
    return OrderChange.objects.after(change)


@transaction.atomic
def _number():
    """Give each order that stands differently than it was last told the next number."""
    ChangesCounted.objects.get_or_create(pk=1)
    counted = ChangesCounted.objects.select_for_update().get(pk=1)
    different = [each for each in _standing(counted) if each.differs]
    known = OrderChange.objects.in_bulk([each.order for each in different], field_name="order_id")
    fresh, again = [], []
    for each in different:
        counted.last += 1
        counted.newest_order = max(counted.newest_order, each.number)
        found = known.get(each.order) or OrderChange(order_id=each.order)
        found.change, found.mark, found.state = counted.last, each.mark, each.state
        (again if found.pk else fresh).append(found)
    OrderChange.objects.bulk_create(fresh, batch_size=BATCH)
    OrderChange.objects.bulk_update(again, ["change", "mark", "state"], batch_size=BATCH)
    counted.save()


class Standing(NamedTuple):
    """How an order stands now, as `mark`, and how it was told last, as `told`."""

    order: int
    number: int
    state: str
    mark: str
    told: str | None

    @property
    def differs(self):
        return self.mark != self.told


def _standing(counted):
    """Each order that may have changed, by number: the open ones, those that were open when they were told last, and
    those that were never told. Numbers are committed in their order (intake), so the latter come after the newest."""
    was_open = OrderChange.objects.filter(state__in=Order.OPEN).values("order")
    never_told = Q(number__gt=counted.newest_order if counted else 0)
    orders = Order.objects.filter(Q(state__in=Order.OPEN) | Q(pk__in=was_open) | never_told).order_by("number")
    events, lines = _events(), _lines()
    return [
        Standing(pk, number, told[0], _digest(told, events[pk], lines[pk]), mark)
        for pk, number, mark, *told in orders.values_list("pk", "number", "newest_change__mark", *TOLD)
    ]


def _events():
    """How often each open order's blinds moved, by the order's key; a step at a station moves none, nor does a change
    that is asked for until it is accepted."""
    moves = StationEvent.objects.exclude(kind__in=(route.STEP, route.ASK, route.KEEP))
    found = moves.filter(blind__order__in=Order.objects.open())
    return defaultdict(int, found.order_by().values_list("blind__order").annotate(Count("pk")))


def _lines():
    """What each line says of the orders whose lines may still change, by the order's key."""
    found = defaultdict(list)
    for order, *told in OrderLine.objects.changeable().order_by("position").values_list("order", *LINE_TOLD):
        found[order].append(told)
    return found


def _digest(*told):
    return hashlib.sha256(repr(told).encode()).hexdigest()

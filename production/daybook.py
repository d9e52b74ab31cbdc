"""What the day sheet asks of the database: events and stages by the workshop's days, ready to be added up.

Each answer is one query, or two, however many events there are.
"""

import datetime as dt
from collections import Counter, defaultdict
from dataclasses import dataclass

from django.db.models import Count, Exists, OuterRef
from django.db.models.functions import TruncDate
from django.utils import timezone

from calc import flow
from orders.models import Order

from . import codes, route
from .models import HeldDay, Stage, StationEvent

PROMISED = (Order.CONFIRMED, Order.RELEASED)
"""States of an order that the customer waits for and that isn't ready."""
AGREED = (*PROMISED, Order.READY, Order.COLLECTED, Order.DELIVERED)
"""States of an order that is or was to be made."""


@dataclass(frozen=True, kw_only=True)
class Day:
    """One day by the workshop's clock; `starts` and `ends` are its two midnights, in UTC."""

    on: dt.date
    starts: dt.datetime
    ends: dt.datetime


@dataclass(frozen=True, kw_only=True)
class Held:
    """A blind that somebody has in hand, or has put aside."""

    number: str
    code: str
    person: str
    since: dt.datetime
    paused: bool


def day_of(on):
    zone = timezone.get_current_timezone()
    starts, ends = (dt.datetime.combine(day, dt.time(), zone) for day in (on, on + dt.timedelta(days=1)))
    return Day(on=on, starts=starts.astimezone(dt.UTC), ends=ends.astimezone(dt.UTC))


def finished_by_day(*, starts, ends):
    """How many blinds each station finished on each day by the workshop's clock: {day: {station: count}}."""
    rows = (
        StationEvent.objects.finished(since=starts, before=ends)
        .annotate(on=TruncDate("at", tzinfo=timezone.get_current_timezone()))
        .values_list("on", "station")
        .annotate(count=Count("pk"))
        .order_by()
    )
    counts = defaultdict(Counter)
    for on, station, count in rows:
        counts[on][station] = count
    return counts


def log_of(day):
    """What happened up to the end of `day` to the blinds that were in hand on it, steps left out: (event, fault)s. Two
    queries."""
    found = StationEvent.objects.filter(blind__in=_at_work(day), kind__in=route.IN_AND_OUT, at__lt=day.ends)
    return _events(found)


def _at_work(day):
    """The keys of the blinds that were in hand on `day`, and of some more: something happened to them then, or nothing
    did from its first midnight to its last, or they still are in hand."""
    happened = StationEvent.objects.at_work(since=day.starts, before=day.ends)
    held = HeldDay.objects.filter(on=day.on)
    still = Stage.objects.standing((route.IN_HAND,))
    parts = [found.order_by().values_list("blind", flat=True) for found in (happened, held, still)]
    # Keys by themselves: PostgreSQL takes a query of them for one of a great many, and reads every event there is.
    return set(parts[0].union(*parts[1:]))


def log_of_sent_back(*, starts, ends):
    """Every finish and fault of the blinds that were finished somewhere in that time, and have ever been sent back or
    changed, so that they may have been finished there twice."""
    finished = StationEvent.objects.finished(since=starts, before=ends)
    twice = (route.SEND_BACK, route.AMEND)
    sent_back = StationEvent.objects.filter(kind__in=twice, blind__in=finished.values("blind"))
    found = StationEvent.objects.filter(blind__in=sent_back.values("blind"))
    return _events(found.filter(kind__in=(route.FINISH, route.SEND_BACK)))


def _events(found):
    rows = found.order_by("blind", "sequence").values_list("blind", "station", "kind", "attempt", "at", "data")
    return [
        (
            flow.Event(blind=blind, station=station, kind=kind, attempt=attempt, at=at, back_to=back_to),
            # A fault that goes to two stations counts against both, and is told once.
            data.get("fault", "") if back_to == data.get("back_to", "") else "",
        )
        for blind, station, kind, attempt, at, data in rows
        for station, kind, back_to in _happened(station, kind, data)
    ]


def _happened(station, kind, data):
    """(station, kind, back to) of what an event was at each station: a change takes the blind out of every hand in
    which its work is void, as a pause does, and is nobody's fault."""
    if kind in (route.AMEND, route.TAKE_OFF):
        again = data.get("again", route.STATION)
        void = {*again, *(key for each in again for key in route.downstream(each))}
        return [(key, route.PAUSE, "") for key in route.STATION if key in void]
    return [(station, kind, back_to) for back_to in (data.get("back_to", ""), *data.get("beside", ()))]


def scrapped_on(day):
    """What was scrapped on `day`, one entry a fault or an accepted change, as it was recorded."""
    kinds = (route.SEND_BACK, route.AMEND, route.TAKE_OFF)
    # By station, as it is indexed: a change is the office's, and happens at none.
    stations = ("", *route.STATION)
    found = StationEvent.objects.filter(kind__in=kinds, station__in=stations, at__gte=day.starts, at__lt=day.ends)
    return [
        data["scrapped"] for data in found.order_by("at", "pk").values_list("data", flat=True) if data.get("scrapped")
    ]


def waiting_now():
    """How many blinds wait at each station, those sent back among them."""
    found = Stage.objects.standing((route.WAITING, route.SENT_BACK))
    return dict(found.values_list("station").annotate(Count("pk")).order_by())


def held_now():
    """What is in hand or put aside, by station, what has been longest so first."""
    found = Stage.objects.standing((route.IN_HAND, route.PAUSED)).order_by("since", "pk")
    person = ("person__first_name", "person__last_name", "person__username")
    blind = ("blind__code", "blind__serial", "blind__order__number")
    rows = found.values_list("station", "state", "since", *person, *blind)
    held = defaultdict(list)
    for station, state, since, first_name, last_name, username, code, serial, order_number in rows:
        number = codes.human_number(order_number=order_number, serial=serial)
        name = f"{first_name} {last_name[:1]}".strip() or username
        held[station].append(Held(number=number, code=code, person=name, since=since, paused=state == route.PAUSED))
    return held


def orders_ready_on(day):
    """How many orders had their last blind packed on `day`, or the last that was not packed taken off."""
    settled = Stage.objects.filter(station=route.PACKING, state__in=route.SETTLED)
    then = settled.filter(since__gte=day.starts, since__lt=day.ends)
    found = Order.objects.filter(pk__in=then.values("blind__order")).exclude(state=Order.CANCELLED)
    return found.exclude(_unpacked_at(day.ends)).count()


def due_and_ready(day):
    """How many orders were promised for `day`, and how many of them were ready by its end."""
    due = Order.objects.filter(due_on=day.on, state__in=AGREED)
    ready = due.exclude(state=Order.CONFIRMED).exclude(_unpacked_at(day.ends))
    return due.count(), ready.count()


def _unpacked_at(moment):
    packing = Stage.objects.filter(blind__order=OuterRef("pk"), station=route.PACKING)
    return Exists(packing.exclude(state__in=route.SETTLED, since__lt=moment))


def pressing_orders(on):
    """The orders promised for `on` or a day before that are not ready, what is most pressing first, each with how many
    of its blinds stand where: (order, {(station, state): blinds})."""
    orders = Order.objects.filter(state__in=PROMISED, due_on__lte=on).select_related("customer")
    orders = orders.order_by("due_on", "-rush", "number")
    rows = (
        Stage.objects.exclude(state=route.OFF)
        .filter(blind__order__in=orders.order_by().values("pk"))
        .values_list("blind__order", "station", "state")
        .annotate(count=Count("pk"))
        .order_by()
    )
    standing = defaultdict(Counter)
    for order, station, state, count in rows:
        standing[order][station, state] = count
    return [(order, standing[order.pk]) for order in orders]


def doubted_orders():
    """The orders whose promised day somebody must look at again, what is promised first at the top."""
    return Order.objects.promise_doubted().select_related("customer")

"""What has changed in the workshop since the last look: which blinds, whose stations' queues, which orders."""

from dataclasses import dataclass

from orders.models import Order

from . import route
from .models import StationEvent

OVERLAP = 50
"""How many of the newest events are looked at again: PostgreSQL may commit a later number before an earlier one."""


@dataclass(frozen=True, kw_only=True)
class Changes:
    """`blinds` is how many events each has by now, by ticket code; `stations` are those whose queue shows differently;
    `orders` are the numbers of those that the office sees differently, which no step alone brings about. There are no
    names: whoever hears of a change asks for the page."""

    stations: tuple[str, ...]
    blinds: dict[str, int]
    orders: tuple[int, ...]


class Reader:
    """Reads what has been committed since it was made, or since it last read."""

    def __init__(self):
        newest = list(StationEvent.objects.order_by("-pk").values_list("pk", flat=True)[:OVERLAP])
        self._told, self._from = set(newest), min(newest, default=0)
        self._orders = _orders_now()

    def read(self):
        """The Changes, or None where nothing has changed that anybody follows."""
        events, orders = self._events(), _orders_now()
        before, self._orders = self._orders, orders
        moved = {number for number in orders.keys() | before.keys() if orders.get(number) != before.get(number)}
        if not events and not moved:
            return None
        touched = {key for kind, station, back_to, *_ in events for key in stations_touched(kind, station, back_to)}
        if any(_promise_moved(before.get(number), orders.get(number)) for number in moved):
            touched.update(route.STATION)
        return Changes(
            stations=tuple(key for key in route.STATION if key in touched),
            blinds={code: version for *_, code, version, _ in events},
            orders=tuple(sorted(moved | {order for kind, *_, order in events if kind != route.STEP})),
        )

    def _events(self):
        found = list(StationEvent.objects.filter(pk__gte=self._from).order_by("pk").values_list("pk", flat=True))
        fresh = [pk for pk in found if pk not in self._told]
        self._told, self._from = set(found[-OVERLAP:]), min(found[-OVERLAP:], default=self._from)
        if not fresh:
            return []
        rows = StationEvent.objects.filter(pk__in=fresh).values_list(
            "kind", "station", "data", "blind__code", "blind__version", "blind__order__number"
        )
        return [(kind, station, data.get("back_to"), *blind) for kind, station, data, *blind in rows]


def stations_touched(kind, station, back_to=None):
    """The stations whose queue shows differently once `kind` has happened at `station`: where the blind is, and those
    that see it coming."""
    if kind == route.STEP:
        return set()
    if kind == route.RELEASE:
        return {place.key for place in route.STATIONS if not place.after}
    if kind in route.BY_THE_OFFICE:
        return set(route.STATION)
    moved = {station}
    if back_to:
        moved |= {back_to} | route.downstream(back_to)
    return moved | {place.key for place in route.STATIONS if moved.intersection(place.after)}


def _orders_now():
    """What the office's pages show of each open order, by its number."""
    fields = ("state", "due_on", "rush", "customer", "reference", "promise_doubted_at", "blind_total")
    return {number: shown for number, *shown in Order.objects.open().with_customer().values_list("number", *fields)}


def _promise_moved(before, now):
    """Whether an order at work then and now has another place in the order of work."""
    return bool(before and now) and before[0] == now[0] == Order.RELEASED and before[1:3] != now[1:3]

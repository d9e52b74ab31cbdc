"""Where an order or a blind is, in words: since when and in whose hands, what is left, whether it will be on time, and
whom to ask next. For the office, in English."""

from collections import Counter, defaultdict
from dataclasses import dataclass

from django.utils import timezone

from orders.models import Order

from . import planning, route
from .models import Stage


@dataclass(frozen=True, kw_only=True)
class Where:
    """Parts of a sentence, empty where there is nothing to say; `mark` is a word on a promise in danger."""

    now: str
    left: str = ""
    promise: str = ""
    ask: str = ""
    mark: str = ""

    def __str__(self):
        return "; ".join(part for part in (self.now, self.left, self.promise) if part)


@dataclass(frozen=True, kw_only=True)
class Standing:
    """So many blinds of one order that stand in one state at one station; `people` have them in hand or paused them."""

    station: str
    state: str
    blinds: int
    since: object
    people: tuple[str, ...] = ()


AT = {
    route.IN_HAND: "at {place}",
    route.PAUSED: "paused at {place}",
    route.SENT_BACK: "to do again at {place}",
    route.WAITING: "{wait} at {place}",
}
MOST_PLANNED = 1000
"""With more orders booked, planning takes longer than an answer may."""
HELD = (route.IN_HAND, route.PAUSED)
LEFT = (route.NOT_YET, route.WAITING, route.SENT_BACK, route.PAUSED)
MADE = (*LEFT, route.IN_HAND, route.DONE)
NEXT_STEP = {Order.DRAFT: "to be confirmed", Order.CONFIRMED: "to be released"}


def forecasts(*, at):
    """When the plan has each order packed, by its number; none where so many are booked that planning takes long."""
    if Order.objects.booked().count() > MOST_PLANNED:
        return {}
    return planning.read(at=at).forecasts


def of_orders(orders, *, at, forecasts):
    """Where each of `orders` is, by its key: two queries, however many orders and blinds."""
    released = [order.pk for order in orders if order.state == Order.RELEASED]
    standings, held = defaultdict(list), defaultdict(dict)
    if released:
        for order, station, state, person in Stage.objects.held_of_orders(released):
            held[order, station, state][str(person)] = None
        for order, station, state, blinds, since in Stage.objects.counted_of_orders(released):
            people = tuple(held[order, station, state])
            standings[order].append(Standing(station=station, state=state, blinds=blinds, since=since, people=people))
    return {
        order.pk: of_order(order, standings[order.pk], at=at, forecast=forecasts.get(order.number)) for order in orders
    }


def of_order(order, standings, *, at, forecast=None):
    """Where `order` is, by how its blinds stand, and when the plan has it packed."""
    if order.state == Order.RELEASED:
        return _at_work(order, standings, at=at, forecast=forecast)
    if order.state == Order.READY:
        now = f"Ready since {since_words(order.state_since, at=at)}"
        waits = "to be collected or delivered"
        return Where(now=now, left=waits, ask=_tell_customer(order), **_promise(order, at=at))
    if order.state in NEXT_STEP:
        now = f"{order.get_state_display()} since {since_words(order.state_since, at=at)}"
        ask = f"Ask {order.entered_by}, who entered it."
        promise = _promise(order, at=at, forecast=forecast)
        return Where(now=now, left=NEXT_STEP[order.state], ask=ask, **promise)
    day = timezone.localdate(order.state_since)
    return Where(now=f"{order.get_state_display()} {day_words(day, at=at, before='on ')}")


def of_blind(blind, stages, *, at):
    """Where `blind` is, by its `stages`; until it has left, its order's promise is its own."""
    if blind.order.state != Order.RELEASED:
        return of_order(blind.order, [], at=at)
    return _at_work(blind.order, standings_of([stages]), at=at)


def standings_of(blinds):
    """How `blinds` stand, each given by its stages."""
    counted, since, held = Counter(), {}, defaultdict(dict)
    for stages in blinds:
        for stage in stages:
            key = stage.station, stage.state
            counted[key] += 1
            since[key] = max(stage.since, since.get(key, stage.since))
            if stage.person and stage.state in HELD:
                held[key][str(stage.person)] = None
    return [
        Standing(station=key[0], state=key[1], blinds=blinds, since=since[key], people=tuple(held[key]))
        for key, blinds in counted.items()
    ]


def _at_work(order, standings, *, at, forecast=None):
    total = max((_blinds(standings, place, MADE) for place in route.STATIONS), default=0)
    if not total:
        return Where(now="Taken off")
    promise = _promise(order, at=at, forecast=forecast)
    packed = next((each for each in standings if each.station == route.PACKING and each.state == route.DONE), None)
    if packed and packed.blinds == total:
        rest = "other blinds of its order are at work"
        return Where(now=f"Packed since {since_words(packed.since, at=at)}", left=rest, **promise)
    now = "; ".join([*_places(standings, total=total, at=at), *([f"{packed.blinds} packed"] if packed else [])])
    return Where(
        now=now[:1].upper() + now[1:],
        left=_left(standings, total=total),
        ask=_whom(standings, total=total),
        **promise,
    )


def _blinds(standings, place, states):
    return sum(each.blinds for each in standings if each.station == place.key and each.state in states)


def _places(standings, *, total, at):
    """Each place where blinds are, in the order of work: '2 at stringing since 10:40, Mara Lind'."""
    together = defaultdict(list)
    for place, each in _queued(standings):
        together[each.state, each.blinds, since_words(each.since, at=at), each.people].append(place)
    for (state, blinds, since, people), places in together.items():
        words = AT[state].format(place=_and(places), wait="waits" if blinds == 1 else "wait")
        yield f"{f'{blinds} ' if total > 1 else ''}{words} since {since}{f', {_and(people)}' if people else ''}"


def _queued(standings):
    """What stands where work can be done on it, in the order of work, with the place's name."""
    found = [each for each in standings if each.state in AT]
    keys, states = list(route.STATION), list(AT)
    for each in sorted(found, key=lambda each: (keys.index(each.station), states.index(each.state))):
        yield route.STATION[each.station].name.lower(), each


def _left(standings, *, total):
    """What is still to be done besides what is in hand: 'checking and packing left'."""
    places = defaultdict(list)
    for place in route.STATIONS:
        if blinds := _blinds(standings, place, LEFT):
            places[blinds].append(place.name.lower())
    found = [f"{_and(names)} of {blinds}" if total > 1 else _and(names) for blinds, names in places.items()]
    return f"{', '.join(found)} left" if found else ""


def _whom(standings, *, total):
    """Who knows more: whoever has the hindmost in hand; else whoever is at the first station where it waits."""
    queued = list(_queued(standings))
    for place, each in queued:
        if each.people:
            return f"Ask {_and(each.people)} at {place}."
    return f"Nobody has {'them' if total > 1 else 'it'} in hand. Ask at {queued[0][0]}." if queued else ""


def _tell_customer(order):
    phone = f", {order.customer.phone}" if order.customer.phone else ""
    return f"Tell {order.customer.contact or order.customer.name}{phone}."


def _promise(order, *, at, forecast=None):
    """What there is to say of the promised day: why it is doubted, when the plan has the order packed, else how far off
    it is."""
    days = (order.due_on - timezone.localdate(at)).days
    told = f"promised for {day_words(order.due_on, at=at)}"
    if days < 0:
        told += f", {_days(-days)} late"
    if order.promise_doubted_at:
        return {"promise": f"{told}: {order.promise_doubt}", "mark": "Late" if days < 0 else "In doubt"}
    if forecast:
        mark = "Late" if days < 0 else "Will be late" if forecast.late else ""
        return {"promise": f"{told}; {_planned(forecast, at=at)}", "mark": mark}
    return {"promise": f"{told}, in {_days(days)}" if days > 1 else told, "mark": "Late" if days < 0 else ""}


def _planned(forecast, *, at):
    if forecast.finished is None:
        return "the plan has no day for it"
    days = f"{forecast.late_days} working day{'s' if forecast.late_days > 1 else ''}"
    late = f", {days} late" if forecast.late else ", in time"
    return f"the plan has it packed {day_words(forecast.finished, at=at, before='on ')}{late}"


def _days(days):
    return "1 day" if days == 1 else f"{days} days"


def since_words(moment, *, at):
    """A moment as people say it: 10:40; yesterday 10:40; Tuesday 10:40; 3 March, 10:40; 3 March 2025."""
    moment, at = timezone.localtime(moment), timezone.localtime(at)
    clock = f"{moment:%H:%M}"
    days = (at.date() - moment.date()).days
    if days == 0:
        return clock
    if days == 1:
        return f"yesterday {clock}"
    if 1 < days < 7:
        return f"{moment:%A} {clock}"
    return f"{moment.day} {moment:%B}, {clock}" if moment.year == at.year else f"{moment.day} {moment:%B %Y}"


def day_words(day, *, at, before=""):
    """A day as people say it: today, tomorrow, Thursday, Thu 19 Mar, with `before` in front of what has a name."""
    today = timezone.localdate(at)
    days = (day - today).days
    if near := {-1: "yesterday", 0: "today", 1: "tomorrow"}.get(days):
        return near
    if 1 < days < 7:
        return f"{before}{day:%A}"
    return f"{before}{day:%a} {day.day} {day:%b}{'' if day.year == today.year else f' {day.year}'}"


def _and(parts):
    *others, last = parts
    return f"{', '.join(others)} and {last}" if others else last

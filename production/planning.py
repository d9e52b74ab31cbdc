"""The plan: what is booked, what each day ahead can take, and what that says of promised days.

Everything is read once, in a constant number of queries, and reckoned in whole minutes by calc.
"""

import datetime as dt
from collections import Counter, defaultdict
from dataclasses import dataclass, field, replace
from functools import cached_property

from django.utils import timezone

from calc import flow, overload, promise
from calc.order_of_work import Work
from calc.plan import Plan, planned
from calc.workshop import Workshop
from orders import calendar
from orders.calendar import Calendar
from orders.models import Order, OrderLine

from . import crew, route, worktimes
from .models import Blind, Stage, StationEvent

AHEAD_DAYS = 240
"""So many days are planned ahead; beyond them nothing is promised."""
LEARNED_FROM_DAYS = 90
LINE_FIELDS = ("quantity", "draw", "operation", "width_mm", "vane_width_mm")
"""What the plan must know of an order line."""
OPEN = (route.NOT_YET, *route.QUEUED)
ROUTE = {station.key: station.after for station in route.STATIONS}
_learned = {}


@dataclass(frozen=True, kw_only=True)
class Booked:
    """An order of the plan, as people know it."""

    pk: int
    number: int
    customer: str
    due_on: dt.date
    rush: bool


@dataclass(frozen=True, kw_only=True)
class Forecast:
    """When the plan has an order packed: `finished` is None beyond the horizon, and `late_days` None with it."""

    order: Booked
    finished: dt.date | None
    late_days: int | None

    @property
    def late(self):
        return self.late_days != 0


@dataclass
class Needs:
    """What an order needs: its blinds by kind and by vane width, and by station and kind those not done there yet."""

    blinds: Counter = field(default_factory=Counter)
    widths: Counter = field(default_factory=Counter)
    open: Counter = field(default_factory=Counter)

    def copy(self):
        return Needs(Counter(self.blinds), Counter(self.widths), Counter(self.open))

    def add(self, kind, width, *, blinds=1):
        self.blinds[kind] += blinds
        self.widths[width] += blinds

    def add_line(self, line):
        """A line that is not released yet is all to be done."""
        kind = worktimes.kind_of_spec(line)
        self.add(kind, line["vane_width_mm"], blinds=line["quantity"])
        for station in ROUTE:
            self.open[station, kind] += line["quantity"]


@dataclass(frozen=True, kw_only=True)
class Planning:
    """All that the plan is made of, at one moment."""

    today: dt.date
    calendar: Calendar
    workshop: Workshop
    minutes: dict
    booked: dict[int, Booked]
    needs: dict[int, Needs]
    works: tuple[Work, ...]

    @cached_property
    def plan(self) -> Plan:
        return planned(workshop=self.workshop, works=self.works)

    @property
    def forecasts(self):
        """The Forecast of each booked order, by its number."""
        return {number: self._forecast(number, finished) for number, finished in self.plan.finished.items()}

    @property
    def late(self):
        """The forecasts of orders that the plan has packed after their promised day, the latest first."""
        found = [each for each in self.forecasts.values() if each.late]
        return sorted(found, key=lambda each: (-(each.late_days or AHEAD_DAYS), each.order.due_on, each.order.number))

    @property
    def overload(self):
        """The calc Overload of what is promised, or None where a station can do all of it."""
        return overload.overload(workshop=self.workshop, works=self.works)

    def earliest(self, *, order, lines):
        """The calc Quote for `order` with `lines`."""
        return promise.earliest(workshop=self.workshop, booked=self._others(order), new=self._new(order, lines))

    def effect(self, *, order, lines, day):
        """The calc Effect of promising `order` with `lines` for `day`."""
        new = self._new(order, lines, due=day)
        return promise.effect_of(workshop=self.workshop, booked=self._others(order), new=new)

    def effect_of_change(self, *, before, order):
        """The calc Effect of what was written to `order` since the Planning `before`; None where it isn't booked."""
        if order.number not in self.booked:
            return None
        return promise.effect_of_change(workshop=self.workshop, before=before.works, after=self.works, key=order.number)

    def earliest_as_booked(self, *, order):
        """The calc Quote of a booked `order`, for what is still to be done of it."""
        (new,) = (work for work in self.works if work.key == order.number)
        return promise.earliest(workshop=self.workshop, booked=self._others(order), new=new)

    def otherwise(self, *, number, needs, due=None):
        """The Planning with these `needs` of the booked order of that `number`, and another promised day if given."""
        order = replace(self.booked[number], due_on=due) if due else self.booked[number]
        work = _work(order, needs, self.minutes, today=self.today, due=order.due_on)
        return replace(
            self,
            booked=self.booked | {number: order},
            needs=self.needs | {number: needs},
            works=tuple(work if each.key == number else each for each in self.works),
        )

    def _forecast(self, number, finished):
        order = self.booked[number]
        late = None if finished is None else self.workshop.days_after(order.due_on, finished)
        return Forecast(order=order, finished=finished, late_days=late)

    def _others(self, order):
        return [work for work in self.works if work.key != order.number]

    def _new(self, order, lines, due=None):
        needs = Needs()
        for line in lines:
            needs.add_line(line)
        return _work(order, needs, self.minutes, today=self.today, due=due)


def read(*, at):
    """The Planning as it stands at `at`."""
    local = timezone.localtime(at)
    today, known = local.date(), calendar.read()
    days = tuple(known.working_days(first=today, days=AHEAD_DAYS))
    minutes = {key: found.counts for key, found in minutes_table(at=at).items()}
    booked = {order.pk: order for order in _booked(today)}
    needs = _needs(booked)
    return Planning(
        today=today,
        calendar=known,
        workshop=Workshop(
            route=ROUTE,
            days=days,
            capacity=crew.minutes_by_day(days=days, today_left=(today, *known.share_left(local.time()))),
            setup_minutes=worktimes.SETUP_MINUTES,
            buffer_days=known.days_in_hand,
        ),
        minutes=minutes,
        booked={order.number: order for order in booked.values()},
        needs={order.number: needs[pk] for pk, order in booked.items()},
        works=tuple(_work(order, needs[pk], minutes, today=today, due=order.due_on) for pk, order in booked.items()),
    )


def _booked(today):
    """Each Booked; a draft lapses where nobody confirmed it by the day that it was promised."""
    fields = ("pk", "number", "customer__name", "due_on", "rush", "state")
    for pk, number, customer, due_on, rush, state in Order.objects.booked().order_by("number").values_list(*fields):
        if state != Order.DRAFT or due_on >= today:
            yield Booked(pk=pk, number=number, customer=customer, due_on=due_on, rush=rush)


def _needs(booked):
    """The Needs of each booked order, by its key."""
    needs, blinds = defaultdict(Needs), {}
    for blind, order, spec in Blind.objects.still_made_for(list(booked)):
        kind = worktimes.kind_of_spec(spec)
        needs[order].add(kind, spec["vane_width_mm"])
        blinds[blind] = order, kind
    for blind, station in Stage.objects.filter(blind__in=blinds, state__in=OPEN).values_list("blind", "station"):
        order, kind = blinds[blind]
        needs[order].open[station, kind] += 1
    for line in OrderLine.objects.to_be_released(list(booked)):
        needs[line["order"]].add_line(line)
    return needs


def _work(order, needs, minutes, *, today, due):
    """What calc plans. What is in hand counts as not begun: how much of it is done is not known."""
    by_station = dict.fromkeys(ROUTE, 0)
    for (station, kind), blinds in needs.open.items():
        by_station[station] += blinds * minutes[station, kind]
    whole = sum(blinds * minutes[station, kind] for kind, blinds in needs.blinds.items() for station in ROUTE)
    widths = tuple(sorted(+needs.widths))
    return Work(key=order.number, minutes=by_station, first=today, due=due, rush=order.rush, widths=widths, whole=whole)


def minutes_table(*, at):
    """The worktimes.Minutes of every station and kind, learned from what was finished before the day of `at`.

    It stays the same all day, so that two desks reckon alike.
    """
    today = timezone.localdate(at)
    midnight = dt.datetime.combine(today, dt.time(), timezone.get_current_timezone())
    since = midnight - dt.timedelta(days=LEARNED_FROM_DAYS)
    newest = StationEvent.objects.newest(before=midnight)
    if _learned.get("as of") != (today, newest):
        took = _took(since=since, before=midnight) if newest else {}
        _learned.update({"as of": (today, newest), "table": worktimes.table(took)})
    return _learned["table"]


def _took(*, since, before):
    rows, kinds = [], {}
    for blind, spec, station, kind, attempt, at in StationEvent.objects.of_finished(since=since, before=before):
        rows.append(flow.Event(blind=blind, station=station, kind=kind, attempt=attempt, at=at))
        if blind not in kinds:
            kinds[blind] = worktimes.kind_of_spec(spec)
    return worktimes.learned(events=rows, kinds=kinds, zone=timezone.get_current_timezone())

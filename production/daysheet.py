"""What the day sheet shows: a day's figures from its events, and how the workshop stands now."""

import datetime as dt
from collections import Counter
from dataclasses import dataclass
from fractions import Fraction

from django.utils import timezone

from calc import flow
from orders import calendar
from orders.models import Order

from . import daybook, planning, route, scrap
from .models import FaultKind

USUAL_HOURS = range(7, 16)
"""Hours of the clock that a day's charts show at least; they widen where work was finished outside them."""
WEEKS_DAYS = 28
WORKING_DAYS = 10


@dataclass(frozen=True, kw_only=True)
class Hour:
    """`finished` is None for an hour still to come; `running` marks the one that is not over."""

    hour: int
    finished: int | None
    running: bool


@dataclass(frozen=True, kw_only=True)
class StationDay:
    """One station's figures. What it says of now is None on a day gone by."""

    key: str
    name: str
    finished: int
    hours: tuple[Hour, ...]
    sent_back: int
    median_min: int | None
    average_in_hand: float | None
    today: flow.Passes
    weeks: flow.Passes
    waiting: int | None
    in_hand: tuple[daybook.Held, ...] | None

    @property
    def yield_weeks(self):
        return first_pass_yield(self.weeks)

    @property
    def percent_weeks(self):
        return percent(self.yield_weeks)

    @property
    def passed_today(self):
        return self.today.entered - self.today.reworked


@dataclass(frozen=True, kw_only=True)
class Pressing:
    """An order that is late or due on the day, and where its blinds stand."""

    number: int
    customer: str
    due_on: dt.date
    rush: bool
    blinds: int
    packed: int
    stuck: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Doubted:
    """An order whose promised day somebody must look at again, and what happened to it."""

    number: int
    customer: str
    due_on: dt.date
    because: str


@dataclass(frozen=True, kw_only=True)
class Fault:
    fault: str
    found_at: str
    back_to: str
    blinds: int


@dataclass(frozen=True, kw_only=True)
class Scrapped:
    """How many of a part were scrapped; `count` is None where it was once written down in words."""

    part: str
    count: int | None


@dataclass(frozen=True, kw_only=True)
class WorkingDay:
    """How many blinds each station finished on a day, in the order of work; `packed` is the last of them."""

    on: dt.date
    finished: tuple[int, ...]

    @property
    def packed(self):
        return self.finished[-1]


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """Everything on the day sheet. `late`, `due`, `doubted` and `to_be_late`, what the plan has late, are empty on a
    day gone by; `due_then` is None today, and says of a day gone by how many orders were promised for it and how many
    of them were ready."""

    on: dt.date
    is_today: bool
    orders_ready: int
    stations: tuple[StationDay, ...]
    days: tuple[WorkingDay, ...]
    faults: tuple[Fault, ...]
    scrapped: tuple[Scrapped, ...]
    late: tuple[Pressing, ...]
    due: tuple[Pressing, ...]
    doubted: tuple[Doubted, ...]
    to_be_late: tuple[planning.Forecast, ...]
    due_then: tuple[int, int] | None

    @property
    def packed(self):
        return self.stations[-1].finished

    @property
    def in_hand(self):
        return sum(not held.paused for station in self.stations for held in station.in_hand or ())

    @property
    def sent_back(self):
        return sum(fault.blinds for fault in self.faults)

    @property
    def rolled_percent(self):
        """Of a hundred blinds, how many come through every station without rework, by the last four weeks."""
        return percent(flow.rolled_throughput_yield(yields=[station.yield_weeks for station in self.stations]))


def read(*, on, at):
    """The day sheet of the day `on`, as it stands at the moment `at`."""
    day, is_today = daybook.day_of(on), on == timezone.localdate(at)
    since = daybook.day_of(on - dt.timedelta(days=WEEKS_DAYS - 1)).starts
    counts = daybook.finished_by_day(starts=since, ends=day.ends)
    log = daybook.log_of(day)
    pressing = [_pressing(*found) for found in daybook.pressing_orders(on)] if is_today else []
    return Sheet(
        on=on,
        is_today=is_today,
        orders_ready=daybook.orders_ready_on(day),
        stations=tuple(_stations(day, log=log, counts=counts, since=since, at=at if is_today else None)),
        days=tuple(_working_days(on, counts)),
        faults=tuple(_faults(day, log)),
        scrapped=tuple(_scrapped(day)),
        late=tuple(order for order in pressing if order.due_on < on),
        due=tuple(order for order in pressing if order.due_on == on),
        doubted=tuple(_doubted()) if is_today else (),
        to_be_late=tuple(_to_be_late(on, at=at)) if is_today else (),
        due_then=None if is_today else daybook.due_and_ready(day),
    )


def _doubted():
    for order in daybook.doubted_orders():
        yield Doubted(
            number=order.number, customer=order.customer.name, due_on=order.due_on, because=order.promise_doubt
        )


def _to_be_late(on, *, at):
    """The orders that aren't late yet, and that the plan has packed after their promised day."""
    return [forecast for forecast in planning.read(at=at).late if forecast.order.due_on >= on]


def _pressing(order, standing):
    return Pressing(
        number=order.number,
        customer=order.customer.name,
        due_on=order.due_on,
        rush=order.rush,
        blinds=sum(count for (station, _), count in standing.items() if station == route.PACKING),
        packed=standing[route.PACKING, route.DONE],
        stuck=tuple(_stuck(standing)) if order.state == Order.RELEASED else ("Not released yet",),
    )


def _stuck(standing):
    """Where blinds stand that can be worked on, such as 'Stringing: 2 waiting, 1 paused'."""
    for place in route.STATIONS:
        here = [(state, standing[place.key, state]) for state in route.QUEUED if standing[place.key, state]]
        if here:
            yield f"{place.name}: " + ", ".join(f"{count} {route.STATE_WORDS[state].lower()}" for state, count in here)


def _stations(day, *, log, counts, since, at):
    """The figures of each station; `at` is the moment for what it says of now, None on a day gone by."""
    events = [event for event, _ in log]
    spans = flow.spans_in_hand(events=events)
    by_hour = flow.finished_by_hour(events=events, start=day.starts, end=day.ends, zone=timezone.get_current_timezone())
    passes = _passes(day, counts=counts, since=since)
    waiting, held = (daybook.waiting_now(), daybook.held_now()) if at else (None, None)
    hours = _hours(day, by_hour=by_hour, at=at)
    moments = [event.at for event in events if event.at >= day.starts]
    for place in route.STATIONS:
        own = [span for span in spans if span.station == place.key]
        took = flow.median_time_in_hand(spans=own, start=day.starts, end=day.ends)
        yield StationDay(
            key=place.key,
            name=place.name,
            finished=counts[day.on][place.key],
            hours=tuple(_hour(hour, by_hour.get(place.key, Counter()), at=at) for hour in hours),
            sent_back=sum(event.back_to == place.key and event.at >= day.starts for event in events),
            median_min=None if took is None else round(took / dt.timedelta(minutes=1)),
            average_in_hand=_average(own, moments),
            today=passes["today"].get(place.key, flow.Passes()),
            weeks=passes["weeks"].get(place.key, flow.Passes()),
            waiting=waiting.get(place.key, 0) if at else None,
            in_hand=tuple(held[place.key]) if at else None,
        )


def _average(spans, moments):
    """Blinds in hand on average from the day's first event to its last; None before there are two."""
    if not moments or min(moments) == max(moments):
        return None
    return round(float(flow.average_in_hand(spans=spans, start=min(moments), end=max(moments))), 1)


def _passes(day, *, counts, since):
    sent_back = [event for event, _ in daybook.log_of_sent_back(starts=since, ends=day.ends)]
    weeks = sum(counts.values(), Counter())
    return {
        "today": flow.first_passes(finished=counts[day.on], sent_back=sent_back, start=day.starts, end=day.ends),
        "weeks": flow.first_passes(finished=weeks, sent_back=sent_back, start=since, end=day.ends),
    }


def _hours(day, *, by_hour, at):
    """The hours of the clock that the charts show: the usual ones, and whatever else was worked."""
    seen = {hour for hours in by_hour.values() for hour in hours} | {*USUAL_HOURS}
    if at:
        seen.add(timezone.localtime(at).hour)
    return range(min(seen), max(seen) + 1)


def _hour(hour, finished, *, at):
    now = timezone.localtime(at).hour if at else None
    to_come = at is not None and hour > now
    return Hour(hour=hour, finished=None if to_come else finished[hour], running=hour == now)


def _working_days(on, counts):
    """The last ten working days up to `on`, and any other day in between on which something was finished."""
    known, days = calendar.read(), [on - dt.timedelta(days=back) for back in range(WEEKS_DAYS)]
    worked = [day for day in days if known.is_working(day) or counts[day]][:WORKING_DAYS]
    for day in reversed(worked):
        yield WorkingDay(on=day, finished=tuple(counts[day][place.key] for place in route.STATIONS))


def _faults(day, log):
    """The day's faults by kind, where they were found and where they go back to, the most frequent first."""
    found = Counter((fault, event.station, event.back_to) for event, fault in log if fault and event.at >= day.starts)
    words = FaultKind.objects.words()
    for (fault, found_at, back_to), blinds in found.most_common():
        places = {"found_at": route.STATION[found_at].name, "back_to": route.STATION[back_to].name}
        yield Fault(fault=words[fault], blinds=blinds, **places)


def _scrapped(day):
    """What was scrapped on the day, each part added up, in the order of making."""
    found, told = Counter(), []
    for entry in daybook.scrapped_on(day):
        if isinstance(entry, list):
            found.update({each["part"]: each["count"] for each in entry})
        else:
            told.append(Scrapped(part=entry, count=None))
    counted = [Scrapped(part=part.name, count=found[part.key]) for part in scrap.PARTS if part.key in found]
    return [*counted, *told]


def first_pass_yield(passes):
    """Nothing is lost at a station, so all that entered left; what is sent back there is made good."""
    return flow.first_pass_yield(entered=passes.entered, left=passes.entered, reworked=passes.reworked)


def percent(share: Fraction | None):
    """Whole percent, rounded down: only a share of one is 100."""
    return None if share is None else 100 * share.numerator // share.denominator

"""When the demo's workshop is at work: past weekdays by the clock, and today so that it is half-way through."""

import datetime as dt
from dataclasses import dataclass

OPENS, CLOSES = dt.time(7), dt.time(15, 30)
TODAY_SO_FAR = dt.timedelta(hours=4, minutes=30)


@dataclass(frozen=True)
class Shift:
    """One day's work, in UTC."""

    opens: dt.datetime
    closes: dt.datetime


def shifts(*, at, days, zone):
    """The shifts of the last `days` weekdays before the day of `at`, and today's up to `at`, oldest first.

    Today's began four and a half hours ago, but not before midnight.
    """
    today = at.astimezone(zone).date()
    past, day = [], today
    while len(past) < days:
        day -= dt.timedelta(days=1)
        if day.weekday() < 5:
            past.append(Shift(_utc(day, OPENS, zone), _utc(day, CLOSES, zone)))
    return [*reversed(past), Shift(max(at - TODAY_SO_FAR, _utc(today, dt.time(), zone)), at)]


def weekday_after(day, *, days):
    """The weekday that comes `days` weekdays after `day`; before it where `days` is negative."""
    step = dt.timedelta(days=1 if days > 0 else -1)
    for _ in range(abs(days)):
        day += step
        while day.weekday() >= 5:
            day += step
    return day


def _utc(day, time, zone):
    return dt.datetime.combine(day, time, tzinfo=zone).astimezone(dt.UTC)

"""The plan as the office reads it: days ahead, the way of an order, what is full and until when."""

import datetime as dt
from dataclasses import dataclass

from orders.calendar import said

from . import route, worktimes
from .planning import AHEAD_DAYS

SHOWN_DAYS = 20


@dataclass(frozen=True, kw_only=True)
class Cell:
    """A station on a day: `minutes` are all that its people have, `free` what no order has taken."""

    free: int
    minutes: int

    @property
    def words(self):
        if not self.minutes:
            return "nobody"
        return "full" if not self.free else "free" if self.free == self.minutes else f"{self.free} min free"

    @property
    def mark(self):
        return {"nobody": "×", "full": "●", "free": "○"}.get(self.words, "◐")


@dataclass(frozen=True, kw_only=True)
class Way:
    """An order at one station: from when it could be there, when it is, and how many days were full before it."""

    name: str
    ready: dt.date
    begins: dt.date | None
    ends: dt.date | None
    full: int


def days_ahead(planning):
    """The next working days, each with the Cell of every station in the order of work."""
    plan, capacity = planning.plan, planning.workshop.capacity
    for day in planning.workshop.days[:SHOWN_DAYS]:
        yield {
            "day": day,
            "cells": [Cell(free=plan.free[key][day], minutes=capacity[key][day]) for key in route.STATION],
        }


def first_free(planning):
    """Each station with the first day on which it has minutes free, None where it has none in sight."""
    for place in route.STATIONS:
        free = planning.plan.free[place.key]
        yield {"name": place.name, "first_free": next((day for day, minutes in free.items() if minutes), None)}


def overload(planning):
    """Where more is promised than can be done: the station's name, the day, minutes, and who would have to move."""
    found = planning.overload
    return found and {
        "name": route.STATION[found.station].name.lower(),
        "day": found.day,
        "promised": found.promised_minutes,
        "there": found.there_minutes,
        "moving": [planning.booked[number] for number in found.moving],
    }


def way_of(steps):
    """The way of an order through the stations, in the order of work."""
    found = {
        step.station: Way(
            name=route.STATION[step.station].name,
            ready=step.ready,
            begins=step.begins,
            ends=step.ends,
            full=len(step.full),
        )
        for step in steps
    }
    return [found[key] for key in route.STATION if key in found]


def held_up(step, *, workshop):
    """What holds an order up most, such as 'Stringing is full until Wednesday 2 December (5 of 5 days).'

    `step` is the calc Step that finds the most days full, or None. Days on which nobody works there don't count.
    """
    if step is None:
        return "No station is full before it: the days are what its own work takes, and the days in hand."
    last = step.full[-1]
    of_days = sum(step.ready <= day <= last and minutes > 0 for day, minutes in workshop.capacity[step.station].items())
    name = route.STATION[step.station].name
    return f"{name} is full until {said(last)} ({len(step.full)} of {of_days} day{'s' if of_days != 1 else ''})."


def held_up_of(outlook):
    """The same of the earliest day in an Outlook."""
    return held_up(outlook.quote.held_by, workshop=outlook.workshop)


def verdict(outlook):
    """What there is to say first of a day that the plan doesn't simply keep."""
    if outlook.breaks:
        return f"{said(outlook.day)} can’t be kept"
    return f"{said(outlook.day)} can only be kept out of the working days in hand"


def minutes_rows(table):
    """The table of minutes, one row a kind of blind, and which stations they are for."""
    rows = [
        {"kind": kind, "cells": [(place.name, table[place.key, kind]) for place in route.STATIONS]}
        for kind in worktimes.KINDS
    ]
    return {
        "rows": rows,
        "places": route.STATIONS,
        "setups": [(route.STATION[key].name, minutes) for key, minutes in worktimes.SETUP_MINUTES.items()],
    }


def late_words(late_days):
    """By how much something is late, such as '2 working days late'."""
    if late_days is None:
        return f"not packed within {AHEAD_DAYS} days"
    return f"{late_days} working day{'s' if late_days != 1 else ''} late"

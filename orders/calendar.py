"""The working calendar: which days are worked, and why the others are not. The only writer of it."""

import datetime as dt
from dataclasses import dataclass, field
from functools import lru_cache

import holidays
from django.db import transaction

from orders import audit
from orders.models import AddedDay, Closure, WorkingWeek
from orders.models.calendar import WEEKDAYS
from orders.wake import wake

LOOKED_AHEAD_DAYS = 3 * 366
"""A calendar that has no working day in so many is taken for one that never has another."""


class NoWorkingDay(Exception):
    """The calendar is closed for good; the message says what to do."""


@dataclass(frozen=True, kw_only=True)
class Calendar:
    """What is known of every day, read once. `closures` are (first day, last day, reason), `added` reasons by day."""

    weekdays: frozenset[int]
    opens_at: dt.time
    closes_at: dt.time
    country: str = ""
    subdivision: str = ""
    days_in_hand: int = 0
    closures: tuple[tuple[dt.date, dt.date, str], ...] = ()
    added: dict[dt.date, str] = field(default_factory=dict)

    def closed_because(self, day):
        """Why `day` is not worked, in a word or two; nothing where it is."""
        if day in self.added:
            return ""
        for first_day, last_day, reason in self.closures:
            if first_day <= day <= last_day:
                return reason
        if day.weekday() not in self.weekdays:
            return f"no work on {WEEKDAYS[day.weekday()]}s"
        return public_holidays(self.country, self.subdivision, day.year).get(day, "")

    def why_not_promised(self, day, *, today):
        """Why nobody can promise `day`, with the day to promise instead; nothing where it may be promised."""
        if day < today:
            return f"{said(day)} has gone. Promise today or a later day."
        if because := self.closed_because(day):
            return f"{said(day)} is closed: {because}. The next working day is {said(self.on_or_after(day))}."
        return ""

    def is_working(self, day):
        return not self.closed_because(day)

    def working_days(self, *, first, days):
        """The working days among the `days` days that begin with `first`."""
        return [day for day in (first + dt.timedelta(days=ahead) for ahead in range(days)) if self.is_working(day)]

    def on_or_after(self, day):
        """`day` where it is worked, else the next day that is. Raises NoWorkingDay where there is none."""
        return self._step(day, dt.timedelta(days=1))

    def on_or_before(self, day):
        """`day` where it is worked, else the last day before that is. Raises NoWorkingDay where there is none."""
        return self._step(day, dt.timedelta(days=-1))

    def after(self, day, *, working_days):
        """The day that is `working_days` working days after `day`; `day` need not be worked itself."""
        for _ in range(working_days):
            day = self.on_or_after(day + dt.timedelta(days=1))
        return day

    def before(self, day, *, working_days):
        """The day that is `working_days` working days before `day`; `day` need not be worked itself."""
        for _ in range(working_days):
            day = self.on_or_before(day - dt.timedelta(days=1))
        return day

    def working_days_between(self, earlier, later):
        """How many working days come after `earlier`, up to `later`; 0 where `later` is no later."""
        return len(self.working_days(first=earlier + dt.timedelta(days=1), days=max(0, (later - earlier).days)))

    def share_left(self, at):
        """The share of that day's shift which is left at the local moment `at`, as (minutes left, minutes)."""
        opens, closes, now = (60 * time.hour + time.minute for time in (self.opens_at, self.closes_at, at))
        return max(0, min(closes - now, closes - opens)), closes - opens

    def _step(self, day, step):
        for _ in range(LOOKED_AHEAD_DAYS):
            if self.is_working(day):
                return day
            day += step
        raise NoWorkingDay(f"The calendar has no working day near {day:%d %B %Y}. Ask a manager to look at it.")


@lru_cache(maxsize=64)
def public_holidays(country, subdivision, year):
    """The names of the public holidays of `year` by day; none without a country. Source: the `holidays` library."""
    if not country:
        return {}
    found = holidays.country_holidays(country, subdiv=subdivision or None, years=year, language="en_US")
    return {day: name for day, name in found.items() if day.year == year}


def read():
    """The calendar as it stands; three queries."""
    week = WorkingWeek.objects.now()
    return Calendar(
        weekdays=frozenset(week.weekdays),
        opens_at=week.opens_at,
        closes_at=week.closes_at,
        country=week.country,
        subdivision=week.subdivision,
        days_in_hand=week.days_in_hand,
        closures=tuple(Closure.objects.by_day().values_list("first_day", "last_day", "reason")),
        added=dict(AddedDay.objects.values_list("day", "reason")),
    )


def hold():
    """Let nobody else promise a day until this transaction ends: whoever promises holds the working week's row."""
    WorkingWeek.objects.get_or_create(pk=1)
    WorkingWeek.objects.select_for_update().get(pk=1)


@transaction.atomic
def set_week(**fields):
    """Set the working week; `fields` are those of WorkingWeek."""
    hold()
    before = audit.values(WorkingWeek.objects.get(pk=1), *fields)
    week, _ = WorkingWeek.objects.update_or_create(pk=1, defaults=fields)
    audit.changed("calendar", of=week, before=before, after=audit.values(week, *fields))
    wake()


@transaction.atomic
def close(*, first_day, last_day, reason):
    """Close the workshop from `first_day` to `last_day`, both of them too; the same closure twice is once.

    Nobody promises one of these days meanwhile.
    """
    hold()
    made, new = Closure.objects.get_or_create(first_day=first_day, last_day=last_day, reason=reason)
    if new:
        audit.did("calendar", of=made, after=audit.values(made, "first_day", "last_day", "reason"))
    wake()
    return made


@transaction.atomic
def add_day(*, day, reason):
    """Work on a day that would be closed."""
    made, _ = AddedDay.objects.update_or_create(day=day, defaults={"reason": reason})
    audit.did("calendar", of=made, after=audit.values(made, "day", "reason"))
    wake()
    return made


@transaction.atomic
def take_off(entry: Closure | AddedDay):
    """Take a closure or an added day off the calendar."""
    hold()
    audit.did("calendar", of=entry, before={"on the calendar": str(entry)})
    entry.delete()
    wake()


def said(day):
    """A day as people write it in a sentence, such as 'Monday 9 March 2026'."""
    return f"{day:%A} {day.day} {day:%B %Y}"


def countries():
    """(two letters, name) of each country whose public holidays are known, by name."""
    names = {code: _words(name) for name, code, *_ in holidays.registry.COUNTRIES.values()}
    return sorted(((code, names[code]) for code in holidays.list_supported_countries(include_aliases=False)), key=_name)


def subdivisions(country):
    """(key, name) of each part of `country` that has public holidays of its own."""
    if not country:
        return []
    known = holidays.country_holidays(country)
    names = known.get_subdivision_aliases()
    return sorted(((key, (names.get(key) or [key])[0]) for key in known.subdivisions), key=_name)


def holidays_of(week):
    """Whose public holidays `week` keeps, such as 'England, United Kingdom'; nothing where they are worked."""
    parts = (dict(subdivisions(week.country)).get(week.subdivision), dict(countries()).get(week.country))
    return ", ".join(part for part in parts if part)


def _name(pair):
    return pair[1]


def _words(name):
    """A name in one word with capitals, such as UnitedKingdom, as people write it."""
    return "".join(f" {letter}" if letter.isupper() else letter for letter in name).strip()

"""People at work: the only writer of crews and absences, and the minutes that they give each station and day."""

from collections import defaultdict

from django.db import transaction

from orders import audit
from orders.wake import wake

from . import route
from .models import Absence, Crew

FIRST_CREWS = {
    route.RAILING: (2, 450),
    route.VANES: (2, 450),
    route.STRINGING: (2, 450),
    route.CHECKING: (1, 450),
    route.PACKING: (1, 450),
}
"""(people, minutes a day each) that a workshop begins with: eight and a half hours less an hour of breaks. Invented."""

ABSENCE = ("person", "station", "first_day", "last_day")


def crews():
    """The crew of each station in the order of work: as it was set, or as a workshop begins."""
    known = Crew.objects.by_station()
    return [known.get(key) or _first(key) for key in route.STATION]


def _first(station):
    people, minutes = FIRST_CREWS[station]
    return Crew(station=station, people=people, minutes=minutes)


@transaction.atomic
def set_crews(crews):
    """Set `people` and `minutes` of each station in the dict `crews`."""
    known = Crew.objects.by_station()
    for station, given in crews.items():
        before = audit.values(known.get(station) or _first(station), *given)
        made, _ = Crew.objects.update_or_create(station=station, defaults=given)
        audit.changed("crew", of=made, before=before, after=audit.values(made, *given))
    wake()


@transaction.atomic
def add_absence(*, person, station, first_day, last_day):
    made = Absence.objects.create(person=person, station=station, first_day=first_day, last_day=last_day)
    audit.did("crew", of=made, after=audit.values(made, *ABSENCE))
    wake()
    return made


@transaction.atomic
def remove_absence(*, absence):
    audit.did("crew", of=absence, before=audit.values(absence, *ABSENCE))
    absence.delete()
    wake()


def minutes_by_day(*, days, today_left):
    """Minutes by station and day over the working `days`, in two queries.

    `today_left` is (the day that has begun, minutes left of its shift, minutes of its shift): only that share of its
    minutes is left. Whoever is away counts once, and no station has fewer than no people.
    """
    away = _away(days)
    today, left, whole = today_left
    found = {}
    for crew in crews():
        by_day = {day: max(0, crew.people - len(away[crew.station, day])) * crew.minutes for day in days}
        if today in by_day:
            by_day[today] = by_day[today] * left // whole
        found[crew.station] = by_day
    return found


def _away(days):
    """The people who are missed, by station and day."""
    away = defaultdict(set)
    if days:
        rows = Absence.objects.from_day(days[0]).values_list("person", "station", "first_day", "last_day")
        for person, station, first_day, last_day in rows:
            for day in days:
                if first_day <= day <= last_day:
                    away[station, day].add(person)
    return away

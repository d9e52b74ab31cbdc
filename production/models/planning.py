"""Who works where: what the minutes of each day ahead are worked out from."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from .. import route
from .choices import STATION_CHOICES


class CrewQuerySet(models.QuerySet):
    def by_station(self):
        """The crews that a manager has set, by the station's key."""
        return {crew.station: crew for crew in self.all()}


class Crew(models.Model):
    """How many people usually work at a station, and for how many minutes each of a full day."""

    station = models.CharField(max_length=10, choices=STATION_CHOICES, unique=True)
    people = models.PositiveSmallIntegerField()
    minutes = models.PositiveSmallIntegerField("minutes a day")

    objects = CrewQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(station__in=list(route.STATION)), name="crew_is_at_a_known_station"),
            # A day has no more minutes.
            models.CheckConstraint(condition=Q(minutes__lte=1440), name="crew_works_at_most_a_day"),
        ]

    def __str__(self):
        return f"{self.people} at {self.station}"

    @property
    def place(self):
        return route.STATION[self.station]


class AbsenceQuerySet(models.QuerySet):
    def from_day(self, day):
        """Those that are not over by `day`, what begins first at the top."""
        return self.filter(last_day__gte=day).select_related("person").order_by("first_day", "pk")


class Absence(models.Model):
    """Somebody who is away from `first_day` to `last_day`, both of them too, and is missed at one station."""

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="absences")
    station = models.CharField("missed at", max_length=10, choices=STATION_CHOICES)
    first_day = models.DateField("away from")
    last_day = models.DateField("until")

    objects = AbsenceQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(last_day__gte=F("first_day")), name="absence_ends_after_it_begins"),
            models.CheckConstraint(condition=Q(station__in=list(route.STATION)), name="absence_is_at_a_known_station"),
        ]

    def __str__(self):
        return f"{self.person} is away"

    @property
    def place(self):
        return route.STATION[self.station]

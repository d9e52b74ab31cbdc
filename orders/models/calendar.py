"""When the workshop works: its week, its public holidays, and the days that are out of the ordinary."""

import datetime as dt

from django.db import models
from django.db.models import F, Q

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def monday_to_friday():
    return [0, 1, 2, 3, 4]


class WorkingWeekQuerySet(models.QuerySet):
    def now(self):
        """The week as the manager has set it, or as every workshop begins."""
        return self.first() or WorkingWeek()


class WorkingWeek(models.Model):
    """One row: weekdays worked (Monday is 0), hours of the shift, whose public holidays are kept, days in hand."""

    weekdays = models.JSONField(default=monday_to_friday)
    opens_at = models.TimeField("shift begins", default=dt.time(7, 0))
    closes_at = models.TimeField("shift ends", default=dt.time(15, 30))
    # Two letters of ISO 3166-1; none where no public holidays are kept.
    country = models.CharField(max_length=2, blank=True, default="GB")
    subdivision = models.CharField("part of the country", max_length=40, blank=True, default="ENG")
    days_in_hand = models.PositiveSmallIntegerField("working days in hand", default=3)

    objects = WorkingWeekQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(pk=1), name="one_working_week"),
            # A shift that ends before it begins has no minutes.
            models.CheckConstraint(condition=Q(closes_at__gt=F("opens_at")), name="shift_ends_after_it_begins"),
        ]

    def __str__(self):
        return ", ".join(WEEKDAYS[day] for day in sorted(self.weekdays))


class ClosureQuerySet(models.QuerySet):
    def keyed(self, key):
        return self.filter(pk=key).first()

    def by_day(self):
        return self.order_by("first_day", "pk")

    def from_day(self, day):
        """Those that are not over by `day`."""
        return self.filter(last_day__gte=day).by_day()


class Closure(models.Model):
    """Days on which the workshop is closed although it would work, from `first_day` to `last_day`, both of them too."""

    first_day = models.DateField("closed from")
    last_day = models.DateField("until")
    reason = models.CharField(max_length=80)

    objects = ClosureQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(last_day__gte=F("first_day")), name="closure_ends_after_it_begins"),
        ]

    def __str__(self):
        return self.reason


class AddedDayQuerySet(models.QuerySet):
    def keyed(self, key):
        return self.filter(pk=key).first()

    def from_day(self, day):
        """Those that have not gone by `day`."""
        return self.filter(day__gte=day).order_by("day")


class AddedDay(models.Model):
    """A day that is worked although it would be closed; it wins over a holiday, a closure and the week."""

    day = models.DateField(unique=True)
    reason = models.CharField(max_length=80)

    objects = AddedDayQuerySet.as_manager()

    def __str__(self):
        return self.reason

    @property
    def first_day(self):
        return self.day

    @property
    def last_day(self):
        return self.day

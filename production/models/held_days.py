"""Days on which somebody had a blind in hand from midnight to midnight, so that a day sheet finds it by that day."""

import datetime as dt

from django.db import models
from django.utils import timezone

SHORTEST_DAY = dt.timedelta(hours=22)
"""No day is shorter where clocks go forward by an hour, or by two."""


class HeldDayQuerySet(models.QuerySet):
    def note(self, blind, *, since, until):
        """Keep every day of which the blind with this key was in hand, from the moment `since` to `until`, where one of
        them may be a whole one. One too many costs a look: what is shown of a day follows from the events alone."""
        if until - since < SHORTEST_DAY:
            return
        first, last = timezone.localdate(since), timezone.localdate(until)
        days = [first + dt.timedelta(days=number) for number in range((last - first).days + 1)]
        self.bulk_create((self.model(blind_id=blind, on=day) for day in days), ignore_conflicts=True)


class HeldDay(models.Model):
    """Written when the blind is let go; until then its stage says so."""

    on = models.DateField()
    blind = models.ForeignKey("production.Blind", on_delete=models.PROTECT, related_name="+", db_index=False)

    objects = HeldDayQuerySet.as_manager()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["on", "blind"], name="a_day_held_once")]

    def __str__(self):
        return f"{self.blind} on {self.on}"

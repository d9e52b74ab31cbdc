"""What the floor's views read and write."""

from django.db import models


class Row(models.Model):
    """One row of the page `page`, in the order of `position`; the first is the page's own. `shown` holds each text that
    its template shows by a short name, and `shape` which of the template's forms it has."""

    page = models.CharField(max_length=40, db_index=True)
    position = models.PositiveIntegerField()
    shape = models.PositiveIntegerField()
    shown = models.JSONField()


class Thing(models.Model):
    version = models.PositiveIntegerField(default=0)
    state = models.CharField(max_length=10, default="in_hand")


class Event(models.Model):
    event_id = models.UUIDField(unique=True)
    thing = models.ForeignKey(Thing, on_delete=models.PROTECT)
    kind = models.CharField(max_length=10)
    at = models.DateTimeField(auto_now_add=True)

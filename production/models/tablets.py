"""The tablets on the workshop's wall."""

from django.conf import settings
from django.db import models

from .choices import STATION_CHOICES


class TabletQuerySet(models.QuerySet):
    def in_use(self):
        return self.filter(retired_at=None).select_related("enrolled_by").order_by("name")


class Tablet(models.Model):
    """A tablet on the workshop's wall that a manager has let in; makers sign in on it with a badge or a PIN."""

    name = models.CharField(max_length=40, unique=True)
    station = models.CharField(max_length=10, choices=STATION_CHOICES)
    # SHA-256 of the secret in its cookie.
    secret = models.CharField(max_length=64, unique=True, editable=False)
    enrolled_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    enrolled_at = models.DateTimeField()
    retired_at = models.DateTimeField(null=True, editable=False)
    # When all its tries at a PIN or badge are back: each wrong one moves it on.
    tries_until = models.DateTimeField(null=True, editable=False)

    objects = TabletQuerySet.as_manager()

    def __str__(self):
        return self.name

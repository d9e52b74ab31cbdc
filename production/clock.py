"""Whether this server's clock can be trusted: what is on record already can't be of a time to come."""

import datetime as dt

from .models import StationEvent

ALLOWED = dt.timedelta(minutes=1)
"""So far apart may the clocks of several machines be."""


def clock_doubt(*, at):
    """The moment of the newest event where it lies after `at`, so that one of the two clocks is wrong; else None."""
    newest = StationEvent.objects.order_by("-pk").values_list("at", flat=True).first()
    return newest if newest and newest > at + ALLOWED else None

"""The days on which a blind was in hand from midnight to midnight, of the events that there are: see HeldDay."""

import datetime as dt

from django.db import migrations
from django.utils import timezone

TAKES, LETS_GO, BY_THE_OFFICE = ("start", "resume"), ("pause", "finish", "send_back"), ("amend", "take_off")
SHORTEST_DAY, AT_ONCE = dt.timedelta(hours=22), 5000


def note_those_of_before(apps, schema_editor):
    events = apps.get_model("production", "StationEvent").objects
    day = apps.get_model("production", "HeldDay")
    found = events.filter(kind__in=(*TAKES, *LETS_GO, *BY_THE_OFFICE)).order_by("blind", "sequence")
    rows = set()
    for held in _held(found.values_list("blind", "station", "kind", "at").iterator(chunk_size=AT_ONCE)):
        rows.update(held)
        if len(rows) >= AT_ONCE:
            _write(day, rows)
            rows = set()
    _write(day, rows)


def _held(events):
    """The (blind, day)s of each time in hand that may span a whole day."""
    taken = {}
    for blind, station, kind, at in events:
        if taken and next(iter(taken))[0] != blind:
            taken = {}
        if kind in TAKES:
            taken[blind, station] = at
            continue
        # A change may take the blind out of some hands: each is told up to it, and on from it.
        ended = list(taken) if kind in BY_THE_OFFICE else [(blind, station)]
        for key in ended:
            since = taken.pop(key, at)
            if at - since >= SHORTEST_DAY:
                first, last = timezone.localdate(since), timezone.localdate(at)
                yield [(blind, first + dt.timedelta(days=number)) for number in range((last - first).days + 1)]
            if kind in BY_THE_OFFICE:
                taken[key] = at


def _write(day, rows):
    day.objects.bulk_create((day(blind_id=blind, on=on) for blind, on in sorted(rows)), ignore_conflicts=True)


class Migration(migrations.Migration):
    dependencies = [
        ("production", "0012_days_held_are_on_record"),
    ]

    operations = [
        migrations.RunPython(note_those_of_before, migrations.RunPython.noop),
    ]

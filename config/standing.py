"""How the workshop and its server stand at the moment that somebody asks for the figures."""

import datetime as dt

from django.conf import settings
from django.db import Error, connection
from django.utils import timezone
from prometheus_client.core import CounterMetricFamily, GaugeMetricFamily, InfoMetricFamily

from orders.models import Letter, Work
from orders.work import worker_seen
from production import live, machine
from production.backup import keeping
from production.models import Stage, StationEvent

DAY = dt.timedelta(days=1)


class Standing:
    """Collects in a few queries, for prometheus-client; without a database, what can be known without one."""

    def collect(self):
        yield InfoMetricFamily(
            "railwright", "The version that runs.", {"version": machine.version(), "database": connection.vendor}
        )
        yield from _of_the_process()
        try:
            yield from _of_the_database()
        except Error:
            yield _gauge("database_up", "Whether the database answers.", 0)


def _gauge(name, words, value=None, labels=()):
    return GaugeMetricFamily(f"railwright_{name}", words, value=value, labels=labels or None)


def _of_the_process():
    disk, newest = machine.disk(), keeping.newest(settings.BACKUPS)
    if newest:
        age = (timezone.now() - newest).total_seconds()
        yield _gauge("backup_age_seconds", "How old the newest backup is; nothing where there is none.", age)
    yield _gauge("disk_free_bytes", "Room left where this server writes.", disk.free)
    yield _gauge("disk_bytes", "Room in all where this server writes.", disk.total)
    yield _gauge("live_streams", "Pages that follow changes by the stream of this process.", live.open_now())


def _of_the_database():
    seconds, seen = machine.database_ms() / 1000, worker_seen()
    found = [
        _gauge("database_up", "Whether the database answers.", 1),
        _gauge("database_seconds", "How long the database took to answer the least question.", seconds),
        _gauge("database_bytes", "Size of the database.", machine.database_bytes()),
        _queues(),
        _events(),
        _letters(),
        _work(),
        _gauge("work_failed_in_a_day", "Work that was not done in the last 24 hours.", _failed()),
        _gauge("worker_up", "Whether a worker does what waits.", int(bool(seen and seen.lives))),
    ]
    yield from found


def _queues():
    queues = _gauge("queue_blinds", "Blinds queued at each station, by state.", labels=("station", "state"))
    for row in Stage.objects.tallied():
        queues.add_metric((row["station"], row["state"]), row["blinds"])
    return queues


def _events():
    words = "Events recorded since midnight, by station and kind."
    events = CounterMetricFamily("railwright_events_today", words, labels=("station", "kind"))
    for station, kind, number in StationEvent.objects.counted(
        since=timezone.localtime().replace(hour=0, minute=0, second=0, microsecond=0)
    ):
        events.add_metric((station, kind), number)
    return events


def _letters():
    letters = _gauge("letters_in_a_day", "Letters of the last 24 hours, by what became of them.", labels=("outcome",))
    for outcome, number in Letter.objects.counted(since=timezone.now() - DAY):
        letters.add_metric((outcome,), number)
    return letters


def _work():
    work = _gauge("work", "Work in the background that waits or goes on.", labels=("state",))
    for state, number in Work.objects.counted():
        work.add_metric((state,), number)
    return work


def _failed():
    return Work.objects.failed(since=timezone.now() - DAY).count()

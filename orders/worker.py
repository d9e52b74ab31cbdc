"""A worker: does the work that waits, shows that it lives, and puts back what dead workers left.

The queue and its loop are django-tasks-db's. What that leaves open is added beside it: a worker's beats, what becomes
of work whose worker was killed, and that none is taken up while the database is of another version. No clock is
compared with another: whoever looks on waits a minute, by its own steady clock, for another's beats to go on.
"""

import logging
import os
import signal
import socket
import threading
import time
from contextlib import suppress

from django.db import DatabaseError, InterfaceError, connection
from django.db.models import F
from django.db.models.functions import Now
from django.utils import timezone
from django.utils.crypto import get_random_string
from django_tasks_db.management.commands.db_worker import Worker as Loop
from django_tasks_db.models import DBTaskResult

from orders import versions, work
from orders.models import CustomerEnding, OrderEnding, RoomEnding, Work, Worker

BEAT_S = 10
IDLE_S = 1
"""So often is looked whether anything waits."""
TIDY_EVERY_S = 3600
PATIENCE_S = 3
"""Ctrl-C in a window and whatever stops the other processes there may both tell it to end: that is once."""

_log = logging.getLogger(__name__)


def serve(*, until_nothing_waits=False):
    """Do what waits, until this process is told to end; without a database, or with one of another version, wait.

    `until_nothing_waits`: end by itself after that.
    """
    ended = threading.Event()
    while not ended.is_set():
        if not versions.look.fits():
            connection.close()
            ended.wait(IDLE_S)
            continue
        work.STOPPING.clear()
        heart = Heart()
        doing = heart.doing = loop(heart.key, until_nothing_waits=until_nothing_waits)
        _end_with(doing, ended)
        try:
            if ended.is_set():
                return
            heart.beat()
            heart.start()
            doing.run()
            if until_nothing_waits and not work.STOPPING.is_set():
                return
        except (DatabaseError, InterfaceError) as error:
            _log.warning("The worker waits for the database: %s", error)
            connection.close()
            ended.wait(IDLE_S)
        finally:
            # Its next beats are those of another, so that what this one left is put back.
            heart.stop()


def loop(key, *, until_nothing_waits=False):
    """The queue's own loop, for the worker of that key."""
    return Loop(
        queue_names=["default"],
        interval=IDLE_S,
        batch=until_nothing_waits,
        backend_name="default",
        startup_delay=False,
        max_tasks=None,
        worker_id=key,
        excluded_queue_names=[],
    )


def _end_with(doing, ended):
    """Told to end, it puts back what it does at the next step, and goes; told again some seconds later, at once."""
    first = []

    def told(number, frame):
        if not first:
            first.append(time.monotonic())
            ended.set()
            work.STOPPING.set()
            if doing.running:
                doing.shutdown(number, frame)
        elif time.monotonic() - first[0] > PATIENCE_S:
            os._exit(128 + number)

    if threading.current_thread() is threading.main_thread():
        for number in (signal.SIGINT, signal.SIGTERM):
            signal.signal(number, told)


class Heart(threading.Thread):
    """Counts the worker's beats beside what it does, and looks after what others left."""

    def __init__(self):
        super().__init__(daemon=True, name="heart")
        self.key = get_random_string(32)
        self.doing = None
        self._others = Others(but=self.key)
        self._stopped = threading.Event()
        self._tidied = None

    def run(self):
        try:
            self._look_after()
            while not self._stopped.wait(BEAT_S):
                self._look_after()
        finally:
            connection.close()

    def _look_after(self):
        if not versions.look.fits():
            # What is done is put back at its next step, and no more taken up.
            work.STOPPING.set()
            self.doing.running = False
            return
        try:
            self.beat()
            self._others.look()
            self._tidy()
        except (DatabaseError, InterfaceError) as error:
            _log.warning("The worker's beat waits for the database: %s", error)
            connection.close()
        except Exception:
            _log.exception("The worker could not look after what others left")

    def beat(self):
        mine = Worker.objects.filter(pk=self.key)
        if not mine.update(beats=F("beats") + 1, seen_at=Now(), gone=False):
            Worker.objects.create(pk=self.key, host=socket.gethostname()[:100], seen_at=Now())

    def stop(self):
        self._stopped.set()
        if self.is_alive():
            self.join(BEAT_S)
        with suppress(DatabaseError, InterfaceError):
            Worker.objects.filter(pk=self.key).update(gone=True)

    def _tidy(self):
        now = time.monotonic()
        if self._tidied is None or now - self._tidied > TIDY_EVERY_S:
            self._tidied = now
            tidy(at=timezone.now())


class Others:
    """What a worker knows of the others: how long ago each one's beats went on, by its own steady clock."""

    def __init__(self, *, but):
        self._but = but
        self._heard = {}

    def look(self):
        """Call those gone that are silent, and put back what the gone have left."""
        now = time.monotonic()
        living = Worker.objects.filter(gone=False).exclude(pk=self._but)
        heard = {}
        for key, beats in living.values_list("pk", "beats"):
            known, since = self._heard.get(key, (None, now))
            heard[key] = (beats, since if beats == known else now)
            if now - heard[key][1] >= work.SILENT_FOR.total_seconds():
                living.filter(pk=key, beats=beats).update(gone=True)
        self._heard = heard
        put_back_what_was_left()


def put_back_what_was_left():
    """Queue anew what is open and in nobody's hands."""
    tasks = dict(Work.objects.open().values_list("task", "pk"))
    queued = list(DBTaskResult.objects.filter(pk__in=tasks).exclude(status="READY"))
    # Read after the tasks: whoever took one had its first beat before.
    living = set(Worker.objects.filter(gone=False).values_list("pk", flat=True))
    for task in queued:
        in_hand = task.status == "RUNNING" and task.worker_ids[-1] in living
        if not in_hand:
            try:
                work.put_back(tasks[task.pk], attempt=task.args_kwargs["args"][1])
            except ImportError:
                _log.warning("Another version has to put back work %s: there is no %s here", task.pk, task.task_path)


def tidy(*, at):
    """Forget what ended long ago: work with what it made, its places in the queue, and workers of then. Make findable
    what a program of before wrote beside this one."""
    Work.objects.old(at=at).delete()
    DBTaskResult.objects.finished().filter(finished_at__lt=at - Work.KEPT).delete()
    Worker.objects.filter(seen_at__lt=at - Work.KEPT).delete()
    for endings in (CustomerEnding, OrderEnding, RoomEnding):
        endings.objects.make_good()
    _tell_sizes()


def _tell_sizes():
    """Have SQLite look how many rows its tables and indexes have, by which it chooses between them: it never does by
    itself, and after years reads all of a table else. PostgreSQL does."""
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            # So many rows of each index are enough, and take some hundredths of a second.
            cursor.execute("PRAGMA analysis_limit = 1000")
            cursor.execute("ANALYZE")

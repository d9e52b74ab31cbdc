"""Work that only tests ask for, and workers as processes of their own that find others dead after a moment."""

import os
import subprocess
import sys
import time
from contextlib import contextmanager

from django.conf import settings
from django.db import OperationalError, transaction

from orders import work
from orders.models import Customer, Letter, Work
from tests.live_stream import database_url

IMPATIENT = """
import datetime as dt
import os
import time
import django
django.setup()
from orders import versions, work, worker
versions.LOOK_EVERY_S = 0.2
work.SILENT_FOR, work.TELL_EVERY_S, worker.BEAT_S, worker.IDLE_S = dt.timedelta(seconds=2), 0.05, 0.2, 0.1
step, finish = work.Progress.step, work.Progress.finish
def hold(at):
    if os.environ.get("HOLD_AT") == at:
        open(os.environ["HELD"], "x").close()
        time.sleep(600)
def told(progress, done, whole=None, said=None):
    step(progress, done, whole, said)
    if said is None and done == 700:
        hold("reading")
def finished(progress, **values):
    hold("writing")
    finish(progress, **values)
work.Progress.step, work.Progress.finish = told, finished
worker.serve()
"""
"""HOLD_AT keeps it for good at a moment of an import: 700 rows are read, or all is written but not yet committed."""
LEFT = []


def note_left(reason, **values):
    LEFT.append((reason, values))


@work.background(left=note_left)
def counted(progress, *, steps, pause=0.0):
    """Count to `steps`, and enter a customer for the whole of it."""
    for done in range(steps):
        progress.step(done, said=f"{done} counted")
        time.sleep(pause)
    with transaction.atomic():
        Customer.objects.create(name=f"Counted to {steps}")
        progress.finish(said="All counted.")


@work.background
def made(progress, *, size):
    progress.finish(result=("counted.txt", "text/plain", b"x" * size))


@work.background
def leads(progress, *, where):
    progress.finish(leads_to=where)


@work.background(left=note_left)
def breaks(progress, *, why):
    raise {"reason": work.NotDone("There is no paper left. Fill some in."), "error": KeyError("secret")}[why]


@work.background
def loses_the_database(progress, *, times):
    """As if the database went while it goes on, in the first attempts."""
    if Work.objects.get(task__isnull=False).attempt <= times:
        raise OperationalError("server closed the connection unexpectedly")
    progress.finish()


def asked(clerk, function=counted, **values):
    """Work that was just begun; by itself, counting to `steps`."""
    return work.begin(function, what="Counting", by=clerk, **{"whole": values.get("steps", 0), **values})


def now(found):
    return Work.objects.get(pk=found.pk)


def done(*works):
    """Whether all of it is done, to wait for."""
    return lambda: all(now(each).state == Work.DONE for each in works)


@contextmanager
def worker_process(**more):
    """A worker in a process of its own, killed without a word at the end if it still lives."""
    process = subprocess.Popen(
        [sys.executable, "-c", IMPATIENT],
        cwd=settings.BASE_DIR,
        env={
            **os.environ,
            "DATABASE_URL": database_url(),
            "SECRET_KEY": settings.SECRET_KEY,
            "DJANGO_SETTINGS_MODULE": "config.settings",
            **more,
        },
    )
    try:
        yield process
    finally:
        if process.poll() is None:
            process.kill()
        process.wait()


def wait_for(true, *, seconds=40):
    """What `true` gives once it is true. Raises AssertionError where it stays false for so long."""
    give_up = time.monotonic() + seconds
    while time.monotonic() < give_up:
        if found := true():
            return found
        time.sleep(0.02)
    raise AssertionError("it did not come")


def outcomes():
    return list(Letter.objects.order_by("pk").values_list("outcome", flat=True))

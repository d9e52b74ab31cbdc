"""Processes are killed (kill -9) and connections cut while tablets send: what was answered is on record once and whole.

A tablet sends an event until it is answered, always under the same number, as static/js/sending.js does.
"""

import http.client
import os
import random
import signal
import subprocess
import sys
import threading
import time
import uuid
from contextlib import contextmanager
from urllib.parse import urlencode

import pytest
from django.conf import settings as workshop
from django.db import connection
from django.test import Client

from production import replay, route
from production.models import StationEvent
from tests import factories
from tests.live_stream import database_url, free_port
from tests.orders.background_work import wait_for
from tests.tablets import maker_of

pytestmark = pytest.mark.django_db(transaction=True)
KILLED = 5
TABLETS = 4
FORGERY = "k" * 32


class Pages:
    """gunicorn with three processes on the database of the tests."""

    def __init__(self, *, app="config.wsgi", workers=3):
        self.port, self.app, self.workers = free_port(), app, workers
        self.start()

    def start(self):
        words = "gunicorn", "--config", "python:config.gunicorn_settings", "--bind", f"127.0.0.1:{self.port}", self.app
        given = {"DATABASE_URL": database_url(), "SECRET_KEY": workshop.SECRET_KEY, "LOG_LEVEL": "CRITICAL"}
        self.running = subprocess.Popen(
            [sys.executable, "-m", *words],
            cwd=workshop.BASE_DIR,
            env=os.environ | given | {"WEB_CONCURRENCY": str(self.workers)},
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )

    def kill_one(self):
        """Kill one of the processes that answer; returns whether there was one."""
        found = subprocess.run(["pgrep", "-P", str(self.running.pid)], capture_output=True, text=True).stdout.split()
        if found:
            # It may be gone by now.
            subprocess.run(["kill", "-9", random.choice(found)], stderr=subprocess.DEVNULL)
        return bool(found)

    def kill_all(self):
        os.killpg(self.running.pid, signal.SIGKILL)
        self.running.wait()


@contextmanager
def served(**options):
    pages = Pages(**options)
    try:
        yield pages
    finally:
        pages.kill_all()


class Tablet:
    """One maker's tablet at one blind, which starts, pauses and takes up again; `answered` are the events answered."""

    def __init__(self, *, port, blind):
        client = Client()
        client.force_login(factories.person("maker"))
        self._port, self._maker = port, maker_of(client)
        self._path = f"/stations/railing/{blind.code}/record/"
        session = client.cookies[workshop.SESSION_COOKIE_NAME].value
        self._cookies = f"{workshop.SESSION_COOKIE_NAME}={session}; {workshop.CSRF_COOKIE_NAME}={FORGERY}"
        self.kinds, self.answered, self.tries = [], [], 0

    def work(self, over):
        while not over.is_set():
            self.press()

    def press(self, **first):
        """Send the next event until it is answered; with `first`, headers of the first try alone."""
        kind = {None: route.START, route.PAUSE: route.RESUME}.get(self.kinds[-1] if self.kinds else None, route.PAUSE)
        event_id, headers, give_up = uuid.uuid4(), first, time.monotonic() + 60
        while (status := self._send(event_id, kind, headers)) != 302:
            assert status in (None, 503), f"{kind} was answered {status}"
            assert time.monotonic() < give_up, "nobody answers"
            headers = {}
            time.sleep(0.05)
        self.kinds.append(kind)
        self.answered.append(event_id)

    def _send(self, event_id, kind, headers):
        """The status of the answer, or None where there was none."""
        self.tries += 1
        fields = {"event_id": event_id, "maker": self._maker, "kind": kind, "reason": "Break"}
        asking = http.client.HTTPConnection("127.0.0.1", self._port, timeout=15)
        sent = {"Cookie": self._cookies, "Content-Type": "application/x-www-form-urlencoded", "Accept": "text/html"}
        try:
            asking.request("POST", self._path, urlencode(fields | {"csrfmiddlewaretoken": FORGERY}), sent | headers)
            return asking.getresponse().status
        except (OSError, http.client.HTTPException):
            return None
        finally:
            asking.close()


def require_each_once(tablets):
    answered = [event_id for tablet in tablets for event_id in tablet.answered]
    recorded = StationEvent.objects.filter(event_id__in=answered)
    assert recorded.count() == len(answered) == len(set(answered))
    # And nothing else: no event was recorded that nobody was answered for in the end.
    assert StationEvent.objects.exclude(kind=route.RELEASE).count() == len(answered)
    assert list(replay.differing()) == []


def cut_connections():
    """End every connection but ours, as a server that is started anew does; SQLite has none."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute(
                "SELECT pg_terminate_backend(pid) FROM pg_stat_activity "
                "WHERE datname = current_database() AND pid <> pg_backend_pid()"
            )


def test_each_answered_event_is_on_record_once_whatever_is_killed_meanwhile():
    blinds = factories.released(lines=[{"quantity": TABLETS}])
    with served() as pages:
        tablets = [Tablet(port=pages.port, blind=blind) for blind in blinds]
        tablets[0].press()
        over = threading.Event()
        at_work = [threading.Thread(target=tablet.work, args=(over,)) for tablet in tablets]
        for each in at_work:
            each.start()
        killed = 0
        while killed < KILLED:
            time.sleep(0.4)
            killed += pages.kill_one()
            cut_connections()
        pages.kill_all()
        before = [len(tablet.answered) for tablet in tablets]
        pages.start()
        wait_for(lambda: all(len(tablet.answered) > had for tablet, had in zip(tablets, before, strict=True)))
        over.set()
        for each in at_work:
            each.join()
    assert sum(tablet.tries for tablet in tablets) > sum(len(tablet.answered) for tablet in tablets)
    require_each_once(tablets)


def test_an_event_whose_process_died_between_recording_and_answering_is_on_record_once():
    [blind] = factories.released()
    with served(app="tests.config.killing:application", workers=1) as pages:
        tablet = Tablet(port=pages.port, blind=blind)
        tablet.press()
        for presses in range(1, 3):
            before = tablet.tries
            tablet.press(**{"X-Kill": "once"})
            assert tablet.tries > before + 1
            assert len(tablet.answered) == presses + 1
    require_each_once([tablet])

"""The stream of changes: a thread sees each commit, and every page that follows the workshop is told what has changed.

A page hears nothing but which blinds, stations and orders to look at again; what they show it asks for as ever.
"""

import asyncio
import json
import logging
import threading
import time
from dataclasses import asdict, dataclass, field

from django.db import Error, connection

from orders.wake import CHANNEL

from .changes import Reader

log = logging.getLogger(__name__)

LOOK_EVERY_S = 0.1
"""How often a commit on SQLite is looked for; it costs a few microseconds."""
LISTEN_S = 1.0
RETRY_S = 2.0
"""How long to leave a database alone that doesn't answer, and how long a page waits that has lost the stream."""
BEAT_S = 10.0
"""How often a page is told that it is still followed, so that silence means a broken connection."""
BEHIND = 50
"""How many messages may wait for a page; one further behind is dropped, and looks anew once it is back."""


def message(event, data=""):
    return f"event: {event}\ndata: {json.dumps(data, separators=(',', ':'))}\n\n".encode()


RETRY = f"retry: {RETRY_S * 1000:.0f}\n\n".encode()
READY, BEAT = message("ready"), message("beat")


def commits(stopped):
    """Yields at once, and then whenever something may have been committed by others, until the event `stopped`."""
    connection.ensure_connection()
    return (_notified if connection.vendor == "postgresql" else _counted)(stopped)


def _notified(stopped):
    with connection.cursor() as cursor:
        cursor.execute(f"LISTEN {CHANNEL}")
    yield
    while not stopped.is_set():
        with connection.wrap_database_errors:
            heard = list(connection.connection.notifies(timeout=LISTEN_S, stop_after=1))
        if heard:
            yield


def _counted(stopped):
    seen = _data_version()
    yield
    while not stopped.wait(LOOK_EVERY_S):
        version = _data_version()
        if version != seen:
            yield
        seen = version


def _data_version():
    """https://www.sqlite.org/pragma.html#pragma_data_version: differs once another connection has committed."""
    with connection.wrap_database_errors:
        return connection.connection.execute("PRAGMA data_version").fetchone()[0]


class Watch(threading.Thread):
    """Sees each commit and says what it changed by `tell`; `ready` once it does, `lost` where the database is gone."""

    def __init__(self, *, ready, tell, lost):
        super().__init__(name="live", daemon=True)
        self._ready, self._tell, self._lost = ready, tell, lost
        self._stopped = threading.Event()

    def stop(self):
        self._stopped.set()

    def run(self):
        while not self._stopped.is_set():
            try:
                self._follow()
            except Error as error:
                log.warning("The live stream has lost the database and tries again: %s", error)
                self._lost()
                self._stopped.wait(RETRY_S)
            finally:
                connection.close()

    def _follow(self):
        woken = commits(self._stopped)
        next(woken)
        reader = Reader()
        self._ready()
        for _ in woken:
            changes = reader.read()
            if changes:
                self._tell(message("change", asdict(changes)))


@dataclass(eq=False)
class Stream:
    """One page that follows, until the moment `until`, in seconds since 1970."""

    until: float
    task: asyncio.Task
    waiting: asyncio.Queue = field(default_factory=lambda: asyncio.Queue(BEHIND))

    def tell(self, words):
        """Hand on `words`, None for the end; who is too far behind is cut off, even in the midst of being sent some."""
        try:
            self.waiting.put_nowait(words)
        except asyncio.QueueFull:
            self.task.cancel()


class Streams:
    """Every page that follows, on one event loop, with one watch for all of them from the first page on."""

    def __init__(self):
        self._loop = asyncio.get_running_loop()
        self._open = set()
        self._ready = False
        self._watch = Watch(
            ready=self._on_loop(self._start), tell=self._on_loop(self._tell), lost=self._on_loop(self._cut)
        )
        self._watch.start()
        self._beating = self._loop.call_later(BEAT_S, self._beat)

    def __len__(self):
        return len(self._open)

    async def follow(self, *, until):
        """What a page is sent: how long to wait before it comes back, that it is followed from here on, and changes."""
        stream = Stream(until=until, task=asyncio.current_task())
        self._open.add(stream)
        if self._ready:
            stream.tell(READY)
        try:
            yield RETRY
            while (words := await stream.waiting.get()) is not None:
                yield words
        finally:
            self._open.discard(stream)

    def end(self):
        """End every stream, and the watch with them."""
        self._beating.cancel()
        self._watch.stop()
        self._cut()

    def join(self):
        self._watch.join()

    def _on_loop(self, act):
        def later(*words):
            # A loop that has ended meanwhile has nobody left to tell.
            if not self._loop.is_closed():
                self._loop.call_soon_threadsafe(act, *words)

        return later

    def _start(self):
        self._ready = True
        self._tell(READY)

    def _tell(self, words):
        for stream in self._open:
            stream.tell(words)

    def _cut(self):
        """Without a watch nobody is followed: each page asks by itself again until it is back and hears `ready`."""
        self._ready = False
        self._tell(None)

    def _beat(self):
        self._beating = self._loop.call_later(BEAT_S, self._beat)
        now = time.time()
        for stream in self._open:
            stream.tell(BEAT if stream.until > now else None)


_streams = None


def streams():
    """The streams of this process, on its event loop."""
    global _streams
    if _streams is None:
        _streams = Streams()
    return _streams


def open_now():
    """How many pages follow by this process."""
    return 0 if _streams is None else len(_streams)


def end():
    """End what `streams` began, where it did; to be called on the event loop."""
    global _streams
    if _streams is not None:
        _streams.end()
        _streams.join()
    _streams = None

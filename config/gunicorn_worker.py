"""gunicorn's worker that answers one request after the other, but takes none up before it is there whole.

Whoever is slow, sends half of a request or nothing at all, or doesn't read what is answered, waits beside, holds nobody
up, and is let go in time. A request that never came whole is never read as if it had.
"""

import io
import os
import re
import selectors
import socket
import time
from contextlib import suppress
from functools import partial

from gunicorn import util
from gunicorn.workers.sync import SyncWorker

from config.uploads import MOST_SENT_BYTES

HEAD_S = 10
"""So long may it take until the head of a request is there."""
WHOLE_S = 120
"""So long until all of it is, and so long until its answer is read: 5 MB over a slow line."""
CLOSE_S = 2
"""So long may whoever has the answer leave the connection open."""
END_S = 5
"""So long does a process that is told to end wait until its answers are read."""
MOST_HEAD = 1_000_000
"""A head that is longer is handed on as far as it came: gunicorn's own limits lie within, and refuse it."""
MOST_OPEN = 300
MOST_HELD = 8 * MOST_SENT_BYTES
"""So many connections each process keeps beside, and so many bytes of them; beyond, the oldest or largest is let go."""
AT_ONCE = 65_536
DEFERRED_S = 1
"""So long the system itself keeps a connection on which nothing was said yet."""

_LENGTH = re.compile(rb"\r\ncontent-length:[ \t]*(\d{1,18})[ \t]*\r\n", re.IGNORECASE)
_EXPECTS = re.compile(rb"\r\nexpect:[ \t]*100-continue[ \t]*\r\n", re.IGNORECASE)
_HEAD_ENDS = b"\r\n\r\n"


class Connection:
    """One request as it comes in and its answer as it goes out; neither waits for the other side.

    `is_whole`: it is to be answered, since all of it is there, or its head will never be. `is_over`: no more comes.
    """

    def __init__(self, client, address, *, listener):
        self.client, self.address, self.listener = client, address, listener
        self.until = time.monotonic() + HEAD_S
        self.got, self.answer = bytearray(), None
        self.is_whole = self.is_over = False
        self._lacks, self._is_kept, self._searched = None, True, 0

    @property
    def held(self):
        return len(self.got) + len(self.answer or b"")

    def receive(self):
        """Take in what has come by now of the request; behind it nothing counts."""
        try:
            data = self.client.recv(AT_ONCE)
        except BlockingIOError:
            return
        except OSError:
            data = b""
        if not data:
            self.is_over, self.is_whole = True, self._lacks is None and bool(self.got)
        elif self.answer is None:
            self._take_in(data)

    def _take_in(self, data):
        if self._lacks is None:
            self.got += data
            data = self._behind_head()
        if self._lacks is not None:
            # Of a body that is too large nothing is kept; it is let come all the same, so that its sender reads why.
            self.got += data[: self._lacks] if self._is_kept else b""
            self._lacks -= len(data)
            self.is_whole = self._lacks <= 0
        elif len(self.got) > MOST_HEAD:
            self.is_whole = True

    def _behind_head(self):
        """What of the body came with the head, once that is whole."""
        at = self.got.find(_HEAD_ENDS, self._searched)
        self._searched = max(0, len(self.got) - len(_HEAD_ENDS) + 1)
        if at < 0:
            return b""
        head, behind = self.got[: at + len(_HEAD_ENDS)], self.got[at + len(_HEAD_ENDS) :]
        found = _LENGTH.search(head)
        self.got, self._lacks = head, int(found[1]) if found else 0
        self._is_kept = self._lacks <= MOST_SENT_BYTES
        self.until += WHOLE_S - HEAD_S
        if self._lacks > len(behind) and _EXPECTS.search(head):
            with suppress(OSError):
                self.client.send(b"HTTP/1.1 100 Continue\r\n\r\n")
        return behind

    def send(self):
        """Send what the other side takes just now of the answer; whether that was all of it, or it takes no more."""
        try:
            while self.answer:
                del self.answer[: self.client.send(self.answer[:AT_ONCE])]
        except BlockingIOError:
            return False
        except OSError:
            self.is_over = True
        return True


class Gathered:
    """What gunicorn takes for a connection: what came is read from memory, and what is answered goes there."""

    def __init__(self, got):
        self._got, self.answer = io.BytesIO(got), bytearray()

    def recv(self, size):
        return self._got.read(size)

    def sendall(self, data):
        self.answer += data

    def send(self, data):
        """ "Continue" alone, which whoever asked for it was told before."""
        return len(data)

    def gettimeout(self):
        return 0.0

    def settimeout(self, seconds):
        """Nothing here waits."""

    def shutdown(self, how):
        """The true connection is, once all was sent."""

    def close(self):
        """The same."""


class Worker(SyncWorker):
    """Looks after many connections at once, and answers those whose request is there, each by itself."""

    def run(self):
        self._open, self._ready = {}, selectors.DefaultSelector()
        self._ready.register(self.PIPE[0], selectors.EVENT_READ, self._woken)
        for listener in self.sockets:
            listener.setblocking(False)
            if listener.sock.family != socket.AF_UNIX and hasattr(socket, "TCP_DEFER_ACCEPT"):
                listener.sock.setsockopt(socket.IPPROTO_TCP, socket.TCP_DEFER_ACCEPT, DEFERRED_S)
            self._ready.register(listener, selectors.EVENT_READ, partial(self._accept, listener))
        while self.alive and self.is_parent_alive():
            self.notify()
            for key, _ in self._ready.select(1):
                key.data()
            self._let_go()
        self._finish()

    def _finish(self):
        """Told to end: what was answered still goes out."""
        for listener in self.sockets:
            self._ready.unregister(listener)
        until = time.monotonic() + END_S
        while any(each.answer for each in self._open.values()) and time.monotonic() < until:
            self.notify()
            for key, _ in self._ready.select(0.1):
                key.data()

    def _woken(self):
        with suppress(BlockingIOError):
            os.read(self.PIPE[0], 4096)

    def _accept(self, listener):
        try:
            client, address = listener.accept()
        except (BlockingIOError, ConnectionAbortedError):
            # Another process was quicker, or whoever asked has gone.
            return
        client.setblocking(False)
        util.close_on_exec(client)
        self._open[client] = found = Connection(client, address, listener=listener)
        self._ready.register(client, selectors.EVENT_READ, partial(self._coming, found))
        self._coming(found)

    def _coming(self, found):
        found.receive()
        if found.is_whole:
            self._answer(found)
            self._then(self._going, found, selectors.EVENT_WRITE, until=WHOLE_S)
            self._going(found)
        elif found.is_over:
            self._end(found)

    def _answer(self, found):
        self.notify()
        gathered = Gathered(found.got)
        self.handle(found.listener, gathered, found.address)
        found.got, found.answer = bytearray(), gathered.answer

    def _going(self, found):
        if found.send():
            # The other side closes it, or it is closed in a while, as RFC 9112, section 9.6, asks.
            with suppress(OSError):
                found.client.shutdown(socket.SHUT_WR)
            self._then(self._closing, found, selectors.EVENT_READ, until=CLOSE_S)
            self._closing(found)

    def _closing(self, found):
        found.receive()
        if found.is_over:
            self._end(found)

    def _then(self, act, found, event, *, until):
        found.until = time.monotonic() + until
        self._ready.modify(found.client, event, partial(act, found))

    def _end(self, found):
        del self._open[found.client]
        self._ready.unregister(found.client)
        with suppress(OSError):
            found.client.close()

    def _let_go(self):
        now, opened = time.monotonic(), self._open.values()
        for found in [each for each in opened if each.until < now]:
            self._give_up(found)
        while len(opened) > MOST_OPEN:
            self._end(next(iter(opened)))
        while sum(each.held for each in opened) > MOST_HELD:
            self._end(max(opened, key=lambda each: each.held))

    def _give_up(self, found):
        """Too slow: told so, if it said anything at all and was not answered yet."""
        if found.got and found.answer is None:
            said = "It took too long until the request was here. Nothing was recorded. Send it again."
            with suppress(OSError):
                util.write_error(found.client, 408, "Request Timeout", said)
        self._end(found)

"""How the soak's tablets hold their stream of changes, as static/js/live.js does, and whether each came to know of all.

The stream numbers nothing: whoever is back asks anew for what was missed (`ready`), and is told from there on.
"""

import contextlib
import http.client
import json
import re
import threading
import time
from html import unescape

from script.soak_people import ASKED_AGAIN, PATIENCE_S, Browser

SILENT_S = 25
"""The stream says something every 10 s, or is broken."""
AGAIN_S = 15
"""So soon a page tries again that was refused; one that lost its stream does when the stream has said."""
ASKS_FOR_S = 4
SPREAD_S = 0.06
MARK_EVERY_S = 1


class Follower(Browser):
    """The page of one tablet: hears the stream, and asks for its queue whenever that concerns it."""

    def __init__(self, *, station, **given):
        super().__init__(**given)
        self.station, self.address, self.again_s, self.last_id = station, None, 2.0, ""
        self.ready_at, self.heard = None, {}
        self.owed = threading.Event()
        self.opened = self.messages = 0

    def run(self):
        asking = threading.Thread(target=self._ask_what_is_owed)
        asking.start()
        while not self.kept.closing.is_set():
            with contextlib.suppress(OSError, http.client.HTTPException):
                self._follow()
            self.ready_at = None
            self.kept.closing.wait(self.again_s)
        asking.join()

    @property
    def knows_all(self):
        """Whether it is followed, and was shown whatever concerned it."""
        return self.ready_at is not None and not self.owed.is_set()

    def _follow(self):
        if self.address is None and not self._look():
            return
        port, path = self.address
        headers = {"Host": "localhost", "Accept": "text/event-stream"}
        headers |= {"Last-Event-ID": self.last_id} if self.last_id else {}
        with contextlib.closing(http.client.HTTPConnection("127.0.0.1", port, timeout=SILENT_S)) as connection:
            connection.request("GET", path, headers=headers)
            answer = connection.getresponse()
            if answer.status != 200:
                self.kept.odd("live", answer.status, answer.read().decode("utf-8", "replace"))
                self.address = None
                self.kept.closing.wait(AGAIN_S)
                return
            self.opened += 1
            self._hear(answer)

    def _hear(self, answer):
        event = None
        for line in answer:
            if self.kept.closing.is_set():
                return
            name, _, value = line.decode().rstrip("\n").partition(": ")
            if name == "event":
                event = value
            elif name == "id":
                self.last_id = value
            elif name == "retry":
                self.again_s = int(value) / 1000
            elif name == "data":
                self.messages += 1
                self._told(event, json.loads(value))

    def _told(self, event, data):
        if event == "ready":
            self.heard, self.ready_at = {}, time.time()
            self.owed.set()
        elif event == "change":
            self.heard.update(data["blinds"])
            if self.station in data["stations"]:
                self.owed.set()

    def _ask_what_is_owed(self):
        while not self.kept.closing.is_set():
            if not self.owed.wait(1):
                continue
            time.sleep(self.rng.uniform(0, SPREAD_S))
            self.owed.clear()
            if not self._look():
                self.owed.set()
                self.kept.closing.wait(1)

    def _look(self):
        """Ask for the queue; whether it came. Who opens a page waits for it longer than the page does for its part."""
        path, asks = f"/stations/{self.station}/queue/", {"HX-Request": "true"}
        patience_s = ASKS_FOR_S if self.address else PATIENCE_S
        status, page = self.ask(path, route=ASKED_AGAIN, patience_s=patience_s, **asks)
        found = re.search(r'data-stream=":(\d+)([^"]+)"', page)
        if found and self.address is None:
            self.address = int(found[1]), unescape(found[2])
        return status == 200


def marked(kept, marks, newest):
    """Note every second which event was the newest, as (moment, number), in `marks`."""
    while not kept.ending.wait(MARK_EVERY_S):
        with contextlib.suppress(LookupError):
            marks.append((time.time(), newest()))


def did_not_hear(followers, *, marks, changed_since):
    """What each tablet lacks, in words: that it isn't followed, or which blinds it was not told of as they stand.

    A tablet is told of all that happens once it is `ready`: of every event that is newer than the newest one which was
    there a while later. `changed_since(number)` gives the blinds with a newer event than that, and how many each has.
    """
    found = []
    for number, each in enumerate(followers):
        if not each.knows_all:
            found.append(f"tablet {number} at {each.station} is not followed, or was not shown what concerned it")
            continue
        since = next((newest for at, newest in marks if at > each.ready_at), None)
        wanted = changed_since(since) if since is not None else {}
        lacks = {code: count for code, count in wanted.items() if each.heard.get(code, 0) < count}
        if lacks:
            found.append(f"tablet {number} at {each.station} was not told of {lacks}, and heard {len(each.heard)}")
    return found

"""Who works in the workshop while it is soaked: tablets that follow, record and are away for a while, and desks."""

import contextlib
import csv
import datetime as dt
import http.client
import io
import random
import re
import threading
import time
import uuid
from collections import Counter, defaultdict
from html.parser import HTMLParser
from urllib.parse import urlencode

from script.soak_cuts import NO_ANSWER, UNKNOWN, Missing
from tests.orders.made_files import TWO

CSRF = "a" * 32
PATIENCE_S = 40
REFUSALS = (400, 401, 404, 409, 422)
ASKED_AGAIN = "live queue"
"""What a page asks by itself, and again where no answer comes soon."""


class Kept:
    """What was asked and answered, of everybody: events by id, times, what is missing, and what nobody expects."""

    def __init__(self):
        self.lock = threading.Lock()
        self.answered, self.refused, self.sent = set(), set(), set()
        self.times, self.statuses = defaultdict(list), Counter()
        self.missing, self.unexpected, self.cuts = [], [], []
        self.ending, self.closing = threading.Event(), threading.Event()

    def note(self, route, status, took, *, at, said="", timed_out=False):
        with self.lock:
            self.statuses[route, status] += 1
            if status not in UNKNOWN:
                self.times[route].append(took)
            without_reason = status in REFUSALS and not said.strip()
            if status in (500, 403, 405, 413) or without_reason:
                self.unexpected.append((route, status, round(at, 1), said[:300]))
            elif status in UNKNOWN and not (timed_out and route == ASKED_AGAIN):
                self.missing.append(Missing(route, status, at, at + took, said[:300]))

    def seen(self, act):
        """Do it; should it break, that is kept: what is missing from then on would look like peace."""
        try:
            act()
        except Exception as error:
            self.odd("the soak itself", NO_ANSWER, repr(error))
            raise

    def odd(self, route, status, said):
        """Whatever it was, nobody expects it."""
        with self.lock:
            self.unexpected.append((route, status, round(time.time(), 1), said[:300]))


class Browser:
    """One session's requests, each on a connection of its own."""

    def __init__(self, *, port, cookie, kept, seed):
        self.port, self.kept, self.rng = port, kept, random.Random(seed)  # noqa: S311 - no secret
        self.headers = {"Host": "localhost", "Cookie": f"{cookie}; csrftoken={CSRF}", "X-CSRFToken": CSRF}

    def ask(
        self,
        path,
        *,
        route,
        form=None,
        body=None,
        kind="application/x-www-form-urlencoded",
        patience_s=PATIENCE_S,
        **headers,
    ):
        """(status, text) of one request, 0 where there was no answer."""
        began, timed_out = time.time(), False
        if form is not None:
            body = urlencode(form).encode()
        given = self.headers | headers | ({"Content-Type": kind} if body is not None else {})
        try:
            connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=patience_s)
            with contextlib.closing(connection):
                connection.request("GET" if body is None else "POST", path, body, given)
                answer = connection.getresponse()
                content = answer.read()
                status, self.led_to = answer.status, answer.headers.get("Location", "")
            text = content[:400_000].decode("utf-8", "replace")
        except (OSError, http.client.HTTPException) as error:
            status, text, timed_out = NO_ANSWER, repr(error), isinstance(error, TimeoutError)
        self.kept.note(route, status, time.time() - began, at=began, said=text, timed_out=timed_out)
        return status, text

    def rest(self, least, most):
        self.kept.ending.wait(self.rng.uniform(least, most))


class Tablet(Browser):
    """Somebody at a station: takes what waits, does every step, finishes, or sends it back."""

    def __init__(self, *, station, maker, steps_due, **given):
        super().__init__(**given)
        self.station, self.maker, self.steps_due = station, maker, steps_due
        self.waiting = []

    def run(self):
        while not self.kept.ending.is_set():
            try:
                self.one_blind()
            except LookupError:
                self.rest(1, 3)
        self.send_what_waits()

    def one_blind(self):
        self.send_what_waits()
        status, page = self.ask(f"/stations/{self.station}/queue/", route="queue", **{"HX-Request": "true"})
        codes = re.findall(r'data-code="(\d+)"[^>]*data-(?:startable|mine)', page) if status == 200 else []
        if not codes:
            return self.rest(0.5, 2)
        code = self.rng.choice(codes[:6])
        self.ask(f"/stations/{self.station}/scan/?code={code}", route="scan")
        status, page = self.ask(f"/stations/{self.station}/{code}/", route="sheet")
        found = re.search(r'name="issue" value="(\d+)"', page)
        issue, away = found[1] if found else "1", self.rng.random() < 0.08
        is_mine = self.tell(code, "start", issue=issue, away=away) or self.waiting
        if not is_mine and not self.tell(code, "resume", issue=issue):
            return None
        for key, value in self.steps_due(code, self.station):
            self.rest(0.05, 0.4)
            said = {"confirmed": "1"} if value is True else {"value": value}
            self.tell(code, "step", issue=issue, away=away, key=key, **said)
        if self.rng.random() < 0.04:
            return self.tell(
                code, "send_back", issue=issue, away=away, back_to=self.station, fault="other", note="soak"
            )
        self.tell(code, "finish", issue=issue, away=away)
        if away:
            self.rest(3, 10)
        return None

    def tell(self, code, kind, *, away=False, **fields):
        """Record one event; whether it is on record. What isn't answered waits, as on a tablet."""
        event = {"event_id": str(uuid.uuid4()), "maker": self.maker, "kind": kind, "from": "queue", **fields}
        with self.kept.lock:
            self.kept.sent.add(event["event_id"])
        if away or self.waiting:
            self.waiting.append((event, code, time.monotonic()))
            return False
        status, _ = self.ask(
            f"/stations/{self.station}/{code}/record/", route="record", form=event, **{"HX-Request": "true"}
        )
        if status in UNKNOWN:
            self.waiting.append((event, code, time.monotonic()))
        return self._settle(event, status)

    def _settle(self, event, status):
        with self.kept.lock:
            if 200 <= status < 400:
                self.kept.answered.add(event["event_id"])
            elif status in REFUSALS:
                self.kept.refused.add(event["event_id"])
        return 200 <= status < 400

    def send_what_waits(self):
        """One after the other, each until it is answered, some of them twice."""
        give_up = time.monotonic() + 60
        while self.waiting and time.monotonic() < give_up:
            event, code, since = self.waiting[0]
            waited = str(int(1000 * (time.monotonic() - since)))
            form = {**event, "station": self.station, "code": code, "waited_ms": waited}
            status, _ = self.ask("/stations/outbox/", route="outbox", form=form)
            if status in UNKNOWN:
                time.sleep(1)
                continue
            self._settle(event, status)
            if self.rng.random() < 0.1:
                self.ask("/stations/outbox/", route="outbox", form=form)
            self.waiting.pop(0)


class Desk(Browser):
    """Somebody in the office: looks, searches, takes a file in, fills the grid, confirms, releases, prints."""

    def __init__(self, *, customers, fabrics, **given):
        super().__init__(**given)
        self.customers, self.fabrics, self.numbers = customers, fabrics, []

    def run(self):
        while not self.kept.ending.is_set():
            self.rng.choice((self.look, self.look, self.look, self.take_in, self.print))()
            self.rest(0.5, 3)

    def look(self):
        for path, route in self.rng.sample(LOOKED_AT, 3):
            self.ask(path.format(word=self.rng.choice(("mar", "1-1", "lane", "12", "kit"))), route=route)
            self.rest(0.2, 1)

    def take_in(self):
        customer, rows = self.rng.choice(self.customers), [list(row) for row in TWO]
        for row in rows[1:]:
            row[0], row[4] = f"Soak {uuid.uuid4().hex[:8]}", str(self.rng.randint(900, 2400))
            row[7] = self.rng.choice(self.fabrics)
        text = io.StringIO()
        csv.writer(text).writerows(rows)
        body = (
            '--line\r\nContent-Disposition: form-data; name="file"; filename="soak.csv"\r\n'
            f"Content-Type: text/csv\r\n\r\n{text.getvalue()}\r\n--line--\r\n"
        ).encode()
        status, _ = self.ask(
            f"/customers/{customer}/files/", route="upload", body=body, kind="multipart/form-data; boundary=line"
        )
        if status != 302:
            return
        page = self.led_to
        day = (dt.date.today() + dt.timedelta(days=self.rng.randint(40, 90))).isoformat()
        # What is chosen anew is shown before anything is taken in.
        for _ in range(2):
            _status, html = self.ask(page, route="file")
            form = [(name, value) for name, value in filled_in(html) if name != "due_on"]
            status, _ = self.ask(page, route="take", form=[*form, ("due_on", day), ("then", "take")])
            if status != 302 or self.led_to != page:
                break
        for number in self.taken_in(status, page):
            self.fill(number)
            self.step(number)

    def taken_in(self, status, page):
        """The numbers of the orders that the file at `page` became: the one led to, or those named beside the file."""
        if status != 302 or self.led_to == page:
            return []
        if only := re.fullmatch(r"/orders/(\d+)/", self.led_to):
            return [only[1]]
        _status, html = self.ask(self.led_to, route="files")
        return list(dict.fromkeys(re.findall(r"/orders/(\d+)/", html)))[:2]

    def fill(self, number):
        """The grid as it stands, with another room in its first row, saved."""
        status, html = self.ask(f"/orders/{number}/lines/", route="grid")
        if status == 200:
            form = [(n, f"Room {self.rng.randint(1, 9)}" if n.endswith("0-room") else v) for n, v in filled_in(html)]
            self.ask(f"/orders/{number}/lines/", route="grid saved", form=form)

    def step(self, number):
        self.ask(f"/orders/{number}/confirm/", route="confirm", form={})
        status, _ = self.ask(f"/orders/{number}/release/", route="release", form={})
        if status == 302:
            self.numbers.append(number)

    def print(self):
        if self.numbers:
            number = self.rng.choice(self.numbers)
            path = self.rng.choice(("labels.pdf", "papers/confirmation.pdf", "tickets.pdf"))
            self.ask(f"/orders/{number}/{path}", route=path)


LOOKED_AT = (
    *(("/orders/", "orders"), ("/find/?q={word}", "find"), ("/customers/?q={word}", "customers")),
    *(("/day/", "day"), ("/plan/", "plan"), ("/orders/?q={word}", "orders")),
)


class _FilledIn(HTMLParser):
    def __init__(self):
        super().__init__()
        self.fields, self.select, self.area, self.depth = [], None, None, 0

    def handle_starttag(self, tag, attrs):
        given = {name: value or "" for name, value in attrs}
        self.depth += tag == "template"
        name = given.get("name")
        if self.depth or "disabled" in given:
            return
        if tag == "input" and name and given.get("type") not in ("file", "submit"):
            chosen = given.get("type") in ("radio", "checkbox")
            if not chosen or "checked" in given:
                self.fields.append((name, given.get("value", "on" if chosen else "")))
        elif tag == "select" and name:
            self.select = [name, None]
        elif tag == "option" and self.select and ("selected" in given or self.select[1] is None):
            self.select[1] = given.get("value", "")

    def handle_endtag(self, tag):
        self.depth -= tag == "template"
        if tag == "select" and self.select:
            self.fields.append((self.select[0], self.select[1] or ""))
            self.select = None


def filled_in(html):
    """(name, value) of every field of a page's main part as it stands."""
    parser = _FilledIn()
    parser.feed(html[html.find("<main") :])
    return [(name, value) for name, value in parser.fields if name not in ("q", "csrfmiddlewaretoken")]

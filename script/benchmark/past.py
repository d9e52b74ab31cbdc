"""What years of past cost: a station's queue, the search box and the day sheet, on PostgreSQL, with 200,000 blinds that
were made before and more than two million events of theirs, against the same pages of the same workshop with 1,000.

Both are the demo workshop with the past of past_copies. They are kept in the system's folder for what is temporary, and
made anew the next day and whenever anything of what makes them has changed. One process answers, with a connection to
one database or the other, in turns; the time is that of the answer by the clock. Nothing that a process keeps is left
over from the request before.
"""

import datetime as dt
import hashlib
import os
import shutil
import tempfile
import time
from contextlib import contextmanager
from pathlib import Path

from script.benchmark import past_copies, rounds, serving
from script.benchmark.past_copies import execute

FEW, MANY = 75, 20_000
"""Orders of before, of ten blinds each; the demo's own blinds are some 300."""
ROUNDS, ASKED = 7, 5
RATIO = 1.3
LED_TO = ("/orders/", "/customers/")
"""Where a search leads that finds one thing."""
PAGES = {
    "a station's queue": ("maker", "/stations/railing/queue/"),
    "a queue with the stations before it": ("maker", "/stations/packing/queue/"),
    "search by a room": ("sales", "/find/?q=bedroom"),
    "search by what everybody is called": ("sales", "/find/?q=ina"),
    "search by a customer": ("sales", f"/find/?q={past_copies.name(7)}"),
    "search by the midst of a word": ("sales", f"/find/?q={past_copies.name(7)[2:]}"),
    "search by a customer and a room": ("sales", f"/find/?q={past_copies.name(7)}%20bedroom"),
    "search by the end of a phone number": ("sales", "/find/?q=960007"),
    "search by a reference": ("sales", "/find/?q=po%2000018/left"),
    "search by an order's number": ("sales", "/find/?q=0007"),
    "search by what nobody has": ("sales", "/find/?q=zebra%20crossing"),
    "search by two words that half have, and none both": ("sales", "/find/?q=bedroom%20gauche"),
    "the day sheet": ("manager", "/day/"),
}


def figures():
    with _kept() as (folder, is_new), serving.postgres(folder, stop="fast") as url:
        serving.enter(url)
        if is_new:
            serving.seed()
            _connect("template1")
            execute("CREATE DATABASE many TEMPLATE postgres")
            for name, count in (("postgres", FEW), ("many", MANY)):
                _connect(name)
                past_copies.add(count)
            (folder / "whole").touch()
        shops = [Shop("postgres"), Shop("many")]
        print(", ".join(f"{shop.blinds} blinds with {shop.events} events" for shop in shops))
        return [each for page in PAGES for each in _compared(page, *shops)]


@contextmanager
def _kept():
    """The folder of the databases, and whether it is new; those of other days or programs are deleted."""
    here = Path(tempfile.gettempdir(), f"railwright-past-{os.getuid()}")
    here.mkdir(mode=0o711, exist_ok=True)
    if here.is_symlink() or here.stat().st_uid != os.getuid():
        raise SystemExit(f"{here} is somebody else's. Delete it, or set TMPDIR to another folder.")
    folder = here / _made_by()
    for other in here.iterdir():
        if other != folder or not (other / "whole").exists():
            shutil.rmtree(other)
    is_new = not folder.exists()
    folder.mkdir(exist_ok=True)
    yield folder, is_new


def _made_by():
    """A mark of all that makes the databases: today's date, how the demo and the copies are made, and the tables."""
    root = serving.ROOT
    made = [*root.glob("*/migrations/*.py"), *root.glob("production/management/**/*.py"), Path(past_copies.__file__)]
    read = b"".join(path.read_bytes() for path in sorted(made))
    return hashlib.blake2b(f"{dt.date.today()} {FEW} {MANY}".encode() + read, digest_size=8).hexdigest()


class Shop:
    """One of the two workshops, and the people who ask for its pages."""

    def __init__(self, name):
        from django.test import Client

        from orders.models import Person
        from production.models import Blind, StationEvent

        self._name = name
        self.enter()
        self.blinds, self.events = Blind.objects.count(), StationEvent.objects.count()
        self._clients, people = {}, list(Person.objects.filter(is_active=True))
        for role, _path in PAGES.values():
            self._clients[role] = Client(headers={"host": "localhost"})
            self._clients[role].force_login(next(person for person in people if person.holds(role)))

    def enter(self):
        _connect(self._name)

    def ask(self, role, path):
        """Milliseconds of the answer, and how many queries it took."""
        from django.db import connection, reset_queries
        from django.test.utils import CaptureQueriesContext

        from production import queue

        queue._kept.clear()
        reset_queries()
        with CaptureQueriesContext(connection) as queries:
            began = time.perf_counter()
            answer = self._clients[role].get(path)
            took = 1000 * (time.perf_counter() - began)
        if answer.status_code != 200 and not answer.get("Location", "").startswith(LED_TO):
            raise SystemExit(f"{path} was answered {answer.status_code} {answer.get('Location', '')}")
        return took, len(queries)


def _compared(page, few, many):
    role, path = PAGES[page]
    took, queries = {few: [], many: []}, {few: [], many: []}
    for _ in range(ROUNDS + 1):
        for shop in took:
            shop.enter()
            found = [shop.ask(role, path) for _ in range(ASKED)]
            # The machine does other things too: the quickest is least of theirs.
            took[shop].append(min(ms for ms, _ in found))
            queries[shop].append(max(count for _, count in found))
    # The first round warms up: plans, templates and pages of the database.
    given = {"work": f"{page} with {many.blinds} blinds of before", "unit": "ms", "goal": RATIO}
    yield rounds.figure(ours=took[many][1:], floor=took[few][1:], **given)
    asked = {"work": f"{page} with {many.blinds} blinds of before: queries", "unit": "", "goal": 1}
    yield rounds.figure(ours=queries[many][1:], floor=queries[few][1:], **asked)


def _connect(name):
    """Go on with the database called `name`."""
    from django.db import connection

    connection.close()
    connection.settings_dict["NAME"] = name

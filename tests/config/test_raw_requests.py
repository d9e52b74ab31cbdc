"""Whatever bytes are sent to the pages: no 500, nothing written, and they go on answering.

What is sent stands in tests/hostile_bytes.py. RAW_REQUESTS says how many more are drawn by chance, HOSTILE_SEED where
they begin; HOSTILE_MINUTES sends for a tenth of so long instead.
"""

import os
import random
import sqlite3
import subprocess
import sys
import tempfile
import time
from contextlib import closing
from http.client import HTTPConnection

import pytest

from tests.config.running_gunicorn import ROOT, pages
from tests.hostile_bytes import BROKEN, NOTHING, Bytes, answered, get, post

pytestmark = pytest.mark.once
REQUESTS = int(os.environ.get("RAW_REQUESTS", 150))
MINUTES = float(os.environ.get("HOSTILE_MINUTES", 0))
SEED = int(os.environ.get("HOSTILE_SEED", 4021))
LARGE = 8_000
"""More bytes than gunicorn reads at once."""
AT_MOST_S = 5
"""So long may an answer take to whoever asks properly, on a busy machine."""
SET_ASIDE = {"orders_session", "orders_signintries", "orders_auditentry", "sqlite_sequence"}
FONT = (ROOT / "static/fonts/IBMPlexSans-Regular.woff2").read_bytes()
FONT_ASKED = get(b"/static/fonts/IBMPlexSans-Regular.woff2")
SIGNED_IN = """
import django; django.setup()
from django.test import Client
from orders.models import Person
client = Client()
client.force_login(Person.objects.create_user(username="nora", password=None, roles=["sales"]))
print("; ".join(f"{name}={each.value}" for name, each in client.cookies.items()))
"""


@pytest.fixture(scope="module")
def served():
    with tempfile.TemporaryDirectory(prefix="railwright-raw.") as folder:
        settings = {"LOG_LEVEL": "ERROR", "ALLOWED_HOSTS": "localhost"}
        with pages(folder, **settings) as running:
            given = running.environment | {"DJANGO_SETTINGS_MODULE": "config.settings"}
            command = [sys.executable, "-c", SIGNED_IN]
            said = subprocess.run(command, cwd=ROOT, env=given, check=True, capture_output=True, text=True)
            running.cookie = said.stdout.strip()
            yield running


@pytest.fixture(autouse=True)
def _nothing_is_written(served):
    before = written(served)
    yield
    assert written(served) == before


def written(running):
    """Every row of every table, but for who tried to sign in."""
    with closing(sqlite3.connect(running.folder / "empty.sqlite3")) as database:
        names = [name for (name,) in database.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        return {
            name: database.execute(f'SELECT * FROM "{name}"').fetchall()  # noqa: S608 - names of its own
            for name in names
            if name not in SET_ASIDE
        }


def ask(running, target="/health/"):
    """Somebody who asks properly: how long it took."""
    began = time.monotonic()
    with closing(HTTPConnection("127.0.0.1", running.port, timeout=30)) as connection:
        connection.request("GET", target, headers={"Host": "localhost"})
        assert connection.getresponse().status == 200
    return time.monotonic() - began


def test_each_kind_of_broken_request_is_refused_as_it_should_be(served):
    odd = {}
    for name, (sent, right) in BROKEN.items():
        status, said = answered(served.port, sent)
        # Where more was sent than is read, the connection may be gone before the answer is.
        if status not in right | ({NOTHING} if len(sent) > LARGE else set()):
            odd[name] = (status, said[:300])
    assert odd == {}
    assert ask(served) < AT_MOST_S


def test_what_is_broken_by_chance_breaks_nothing(served):
    drawn, until, sent, odd = Bytes(random.Random(SEED)), time.monotonic() + 60 * MINUTES / 10, 0, []
    while sent < REQUESTS or time.monotonic() < until:
        request = drawn.next()
        status, said = answered(served.port, request)
        sent += 1
        if status >= 500 and status not in (501, 505):
            odd.append((request[:500], said[:300]))
    print(sent, "broken requests as raw bytes")
    assert odd == []
    assert ask(served) < AT_MOST_S


def test_a_form_that_is_cut_short_is_not_taken_for_a_whole_one(served):
    """Without its last byte it is still a form that can be read, with another name in it."""
    token = "a" * 32
    form = f"csrfmiddlewaretoken={token}&market=usa&phone=02+5550&name=Wattle+Bay+12".encode()
    head = f"Cookie: {served.cookie}; csrftoken={token}".encode()
    sent = post(form, head, target=b"/customers/new/")
    assert answered(served.port, sent[:-1])[0] == 400
    assert customers(served) == []
    assert answered(served.port, sent)[0] == 302
    assert customers(served, take_away=True) == ["Wattle Bay 12"]


def customers(running, *, take_away=False):
    with closing(sqlite3.connect(running.folder / "empty.sqlite3")) as database, database:
        found = [name for (name,) in database.execute("SELECT name FROM orders_customer")]
        if take_away:
            database.execute("DELETE FROM orders_customerending")
            database.execute("DELETE FROM orders_customer")
        return found


def test_what_comes_in_pieces_is_told_what_to_do(served):
    assert "Send it with Content-Length." in answered(served.port, BROKEN["chunks"][0])[1]

"""Whatever bytes are sent to the pages, and however slowly: no 500, nothing written, and nobody else waits for it.

What is sent stands in tests/hostile_bytes.py. RAW_REQUESTS says how many more are drawn by chance, HOSTILE_SEED where
they begin; HOSTILE_MINUTES sends for a tenth of so long instead.
"""

import os
import random
import resource
import socket
import sqlite3
import subprocess
import sys
import tempfile
import threading
import time
from contextlib import ExitStack, closing, contextmanager
from http.client import HTTPConnection

import pytest

from tests.config.running_gunicorn import ROOT, pages
from tests.hostile_bytes import BROKEN, NOTHING, Bytes, answered, get, post, read_all

pytestmark = pytest.mark.once
REQUESTS = int(os.environ.get("RAW_REQUESTS", 150))
MINUTES = float(os.environ.get("HOSTILE_MINUTES", 0))
SEED = int(os.environ.get("HOSTILE_SEED", 4021))
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
        settings = {"settings": "tests.config.impatient_gunicorn", "LOG_LEVEL": "ERROR", "ALLOWED_HOSTS": "localhost"}
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
        if status not in right:
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


@contextmanager
def held_open(running, sent, *, number):
    """So many connections on which that was sent and nothing follows."""
    with ExitStack() as stack:
        opened = []
        for _ in range(number):
            opened.append(stack.enter_context(socket.create_connection(("127.0.0.1", running.port), timeout=20)))
            opened[-1].sendall(sent)
        yield opened


HALVES = {
    "nothing": b"",
    "half of a head": b"GET /sign-in/ HTTP/1.1\r\nHost: loc",
    "half of a body": post(b"username=ida", length=5000),
    "a body of which one byte is lacking": post(b"username=ida", length=13),
    "the promise of a large file": post(b"", length=5_000_000),
}


@pytest.mark.parametrize("half", HALVES)
def test_who_keeps_a_connection_and_sends_no_more_keeps_nobody_waiting_and_is_let_go(served, half):
    with held_open(served, HALVES[half], number=30) as opened:
        assert max(ask(served) for _ in range(6)) < AT_MOST_S
        said = read_all(opened[-1])
    assert said.startswith(b"HTTP/1.1 408 ") if HALVES[half] else said == b""


def test_one_sign_a_second_holds_nobody_up(served):
    request = get(b"/sign-in/", b"X: " + b"a" * 100)
    ended = threading.Event()

    def dribble():
        with socket.create_connection(("127.0.0.1", served.port), timeout=20) as client:
            for at in range(len(request)):
                if ended.wait(1):
                    return
                try:
                    client.sendall(request[at : at + 1])
                except OSError:
                    return

    slow = [threading.Thread(target=dribble) for _ in range(20)]
    for each in slow:
        each.start()
    try:
        assert max(ask(served) for _ in range(10)) < AT_MOST_S
    finally:
        ended.set()
        for each in slow:
            each.join()


def test_two_thousand_open_connections_hold_nobody_up(served):
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    resource.setrlimit(resource.RLIMIT_NOFILE, (min(max(soft, 4096), hard), hard))
    with held_open(served, b"G", number=2000):
        assert max(ask(served) for _ in range(3)) < AT_MOST_S
    assert ask(served) < AT_MOST_S


@contextmanager
def slow_reader(running):
    """A connection as over a slow line: small packets, of which few are under way at once, so that the rest waits."""
    with socket.socket() as client:
        client.setsockopt(socket.IPPROTO_TCP, socket.TCP_MAXSEG, 536)
        client.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 2048)
        client.settimeout(20)
        client.connect(("127.0.0.1", running.port))
        yield client


def test_who_does_not_read_the_answer_holds_nobody_up(served):
    with ExitStack() as stack:
        for _ in range(20):
            client = stack.enter_context(slow_reader(served))
            client.sendall(FONT_ASKED)
        assert max(ask(served) for _ in range(5)) < AT_MOST_S
        assert read_all(client).endswith(FONT)


def test_who_does_not_close_what_was_answered_holds_nobody_up(served):
    with held_open(served, get(), number=20) as opened:
        assert max(ask(served) for _ in range(5)) < AT_MOST_S
        assert read_all(opened[0]).startswith(b"HTTP/1.1 200 ")


def test_a_form_that_is_cut_short_is_not_taken_for_a_whole_one(served):
    """Without its last byte it is still a form that can be read, with another name in it."""
    token = "a" * 32
    form = f"csrfmiddlewaretoken={token}&market=usa&phone=02+5550&name=Wattle+Bay+12".encode()
    head = f"Cookie: {served.cookie}; csrftoken={token}".encode()
    sent = post(form, head, target=b"/customers/new/")
    assert answered(served.port, sent[:-1])[0] == NOTHING
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


def test_what_is_too_large_and_what_comes_in_pieces_is_told_what_to_do(served):
    assert "Go back, choose a smaller file." in answered(served.port, BROKEN["a body larger than anything"][0])[1]
    assert "Send it with Content-Length." in answered(served.port, BROKEN["chunks"][0])[1]


def test_who_asks_first_whether_to_send_a_body_is_told_to(served):
    body = b"username=ida&password=x"
    with socket.create_connection(("127.0.0.1", served.port), timeout=20) as client:
        client.sendall(post(body, b"Expect: 100-continue")[: -len(body)])
        assert client.recv(100).startswith(b"HTTP/1.1 100 Continue\r\n\r\n")
        client.sendall(body)
        assert b"HTTP/1.1 403 " in read_all(client)


def test_it_ends_when_it_is_told_to_once_what_was_answered_is_read(served):
    """The last test here: it ends what all the others ask."""
    with held_open(served, post(b"", length=10), number=5), slow_reader(served) as client:
        client.sendall(FONT_ASKED)
        time.sleep(0.5)
        served.terminate()
        assert read_all(client).endswith(FONT)
        assert served.wait(20) == 0
    assert "gunicorn.error" not in served.log.read_text()

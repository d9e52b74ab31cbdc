"""The soak's tablets follow the stream as a page does, and who was not told of something is found out."""

import json
import threading
import time
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import pytest

from script.soak_live import Follower, did_not_hear
from script.soak_people import Kept

pytestmark = pytest.mark.once


class Workshop(BaseHTTPRequestHandler):
    """A queue that names the stream, and streams that end once their words are said."""

    streams, asked = [], []
    protocol_version = "HTTP/1.0"

    def do_GET(self):
        self.asked.append(self.path.partition("?")[0])
        if self.path.startswith("/live/"):
            status, words = self.streams.pop(0) if self.streams else (200, [])
        else:
            status, words = 200, [f'<section data-stream=":{self.server.server_port}/live/?token=a&amp;b=c">'.encode()]
        self.send_response(status)
        self.end_headers()
        self.wfile.write(b"".join(words))
        if status == 200 and not self.streams and self.path.startswith("/live/"):
            self.wfile.flush()
            time.sleep(0.5)

    def log_message(self, *args):
        """Nothing."""


def said(event, data=""):
    return f"event: {event}\ndata: {json.dumps(data)}\n\n".encode()


def change(*stations, **blinds):
    return said("change", {"stations": stations, "blinds": blinds, "orders": []})


@pytest.fixture
def follower():
    server = ThreadingHTTPServer(("127.0.0.1", 0), Workshop)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    Workshop.streams, Workshop.asked = [], []
    kept = Kept()
    found = Follower(station="railing", port=server.server_port, cookie="a=b", kept=kept, seed=1)
    yield found
    kept.closing.set()
    server.shutdown()
    server.server_close()


def follow(follower, *streams, until):
    Workshop.streams.extend((200, [b"retry: 50\n\n", *words]) for words in streams)
    thread = threading.Thread(target=follower.run)
    thread.start()
    give_up = time.monotonic() + 20
    while not until() and time.monotonic() < give_up:
        time.sleep(0.01)
    follower.kept.closing.set()
    thread.join()
    assert until()


def test_it_asks_for_its_queue_when_it_is_followed_and_when_a_change_concerns_it(follower):
    queues = lambda: Workshop.asked.count("/stations/railing/queue/")  # noqa: E731 - for one test
    follow(
        follower,
        [said("ready"), change("vanes", **{"1-1": 4}), change("railing", **{"1-2": 2})],
        until=lambda: queues() >= 2 and len(follower.heard) == 2,
    )
    assert follower.heard == {"1-1": 4, "1-2": 2}
    assert not follower.kept.unexpected


def test_a_stream_that_ends_is_opened_again_and_what_was_heard_before_no_longer_counts(follower):
    follow(
        follower,
        [said("ready"), change("railing", **{"1-1": 4})],
        [said("ready"), change("railing", **{"1-2": 2})],
        until=lambda: follower.heard == {"1-2": 2},
    )
    assert follower.opened >= 2


def test_a_refusal_is_nothing_that_is_expected(follower):
    Workshop.streams.append((403, [b"The page has been open for longer than a shift. Reload it."]))
    follow(follower, until=lambda: follower.kept.unexpected)
    assert follower.kept.unexpected[0][:2] == ("live", 403)


class Told:
    """A tablet that is followed since the moment 10 and heard that."""

    def __init__(self, *, ready_at=10, knows_all=True, **heard):
        self.station, self.ready_at, self.knows_all, self.heard = "railing", ready_at, knows_all, heard


MARKS = [(9, 100), (11, 120), (12, 130)]


def lacking(*tablets, **changed):
    asked = []
    found = did_not_hear(tablets, marks=MARKS, changed_since=lambda number: asked.append(number) or changed)
    return found, asked


def test_who_heard_of_every_blind_as_it_stands_lacks_nothing():
    assert lacking(Told(a=3, b=9), a=3) == ([], [120])


@pytest.mark.parametrize("heard", [{}, {"a": 2}])
def test_who_was_not_told_of_a_blinds_last_event_is_found(heard):
    [words], _ = lacking(Told(**heard), a=3)
    assert words.startswith("tablet 0 at railing was not told of {'a': 3}")


def test_who_is_not_followed_or_was_not_shown_what_concerned_it_is_found():
    [words], _ = lacking(Told(knows_all=False, a=3), a=3)
    assert "is not followed" in words


def test_of_what_happened_before_it_was_followed_nobody_need_be_told():
    assert lacking(Told(ready_at=13), a=3) == ([], [])

"""Behind the proxy as the sample sets it up, whoever is slow or silent holds nobody up, however many there are.

gunicorn's own processes would wait for each of them; that is why they are reached by the proxy alone.
"""

import re
import resource
import shutil
import socket
import subprocess
import tempfile
import threading
import time
from contextlib import ExitStack, closing, contextmanager
from http.client import HTTPConnection

import pytest

from tests.config.running_gunicorn import ROOT, free_port, pages
from tests.hostile_bytes import get, post, read_all

pytestmark = [
    pytest.mark.once,
    pytest.mark.skipif(not shutil.which("caddy"), reason="Caddy is not on this machine"),
]
AT_MOST_S = 5
"""So long may an answer take to whoever asks properly, on a busy machine; a silent client would hold one for 30."""
FONT = (ROOT / "static/fonts/IBMPlexSans-Regular.woff2").read_bytes()
HALVES = {
    "nothing": b"",
    "half of a head": b"GET /sign-in/ HTTP/1.1\r\nHost: loc",
    "half of a body": post(b"username=ida", length=5000),
    "the promise of a large file": post(b"", length=5_000_000),
}


@pytest.fixture(scope="module")
def proxy():
    """The port at which the proxy answers."""
    with tempfile.TemporaryDirectory(prefix="railwright-proxy.") as folder, pages(folder, LOG_LEVEL="ERROR") as running:
        port = free_port()
        sample = (ROOT / "config/install/Caddyfile").read_text(encoding="utf-8")
        sample = re.sub(r"^\S+ \{$", f"http://localhost:{port} {{", sample, flags=re.MULTILINE)
        sample = sample.replace("\ttls internal\n", "").replace("127.0.0.1:8000", f"127.0.0.1:{running.port}")
        (running.folder / "Caddyfile").write_text(f"{{\n\tadmin off\n\tauto_https off\n}}\n{sample}")
        command = ["caddy", "run", "--adapter", "caddyfile", "--config", str(running.folder / "Caddyfile")]
        with open(running.folder / "caddy.log", "w") as log:
            caddy = subprocess.Popen(command, stdout=log, stderr=log, env={"HOME": folder, "PATH": "/usr/bin:/bin"})
        try:
            wait_until_open(port)
            yield port
        finally:
            caddy.terminate()
            caddy.wait(20)


def wait_until_open(port):
    for _ in range(300):
        try:
            return socket.create_connection(("127.0.0.1", port), timeout=1).close()
        except ConnectionRefusedError:
            time.sleep(0.1)
    pytest.fail("the proxy doesn't answer")


def ask(port, target="/sign-in/"):
    """Somebody who asks properly: how long it took."""
    began = time.monotonic()
    with closing(HTTPConnection("localhost", port, timeout=60)) as connection:
        connection.request("GET", target)
        assert connection.getresponse().status == 200
    return time.monotonic() - began


@contextmanager
def held_open(port, sent, *, number):
    """So many connections on which that was sent and nothing follows."""
    with ExitStack() as stack:
        opened = []
        for _ in range(number):
            opened.append(stack.enter_context(socket.create_connection(("127.0.0.1", port), timeout=20)))
            opened[-1].sendall(sent)
        yield opened


@pytest.mark.parametrize("half", HALVES)
def test_who_keeps_a_connection_and_sends_no_more_holds_nobody_up(proxy, half):
    with held_open(proxy, HALVES[half].replace(b"localhost", b"localhost:%d" % proxy), number=30):
        assert max(ask(proxy) for _ in range(5)) < AT_MOST_S


def test_a_thousand_open_connections_hold_nobody_up(proxy):
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    resource.setrlimit(resource.RLIMIT_NOFILE, (min(max(soft, 4096), hard), hard))
    with held_open(proxy, b"G", number=1000):
        assert max(ask(proxy) for _ in range(3)) < AT_MOST_S


def test_one_sign_a_second_holds_nobody_up(proxy):
    request, ended = post(b"a" * 100).replace(b"localhost", b"localhost:%d" % proxy), threading.Event()

    def dribble():
        with socket.create_connection(("127.0.0.1", proxy), timeout=20) as client:
            client.sendall(request[:-100])
            while not ended.wait(1):
                client.sendall(b"a")

    slow = [threading.Thread(target=dribble) for _ in range(20)]
    for each in slow:
        each.start()
    try:
        assert max(ask(proxy) for _ in range(8)) < AT_MOST_S
    finally:
        ended.set()
        for each in slow:
            each.join()


def test_who_does_not_read_the_answer_holds_nobody_up_and_may_still_read_it(proxy):
    """As over a slow line: small packets, of which few are under way at once."""
    asked = get(
        b"/static/fonts/IBMPlexSans-Regular.woff2", b"Connection: close", host=b"Host: localhost:%d\r\n" % proxy
    )
    with ExitStack() as stack:
        for _ in range(20):
            client = stack.enter_context(socket.socket())
            client.setsockopt(socket.IPPROTO_TCP, socket.TCP_MAXSEG, 536)
            client.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 2048)
            client.settimeout(30)
            client.connect(("127.0.0.1", proxy))
            client.sendall(asked)
        assert max(ask(proxy) for _ in range(5)) < AT_MOST_S
        assert read_all(client).endswith(FONT)

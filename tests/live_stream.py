"""The process that serves the stream of changes, beside the database of the tests, and a plain reader of it."""

import json
import os
import socket
import subprocess
import sys
import time
import urllib.request
from contextlib import contextmanager
from urllib.parse import quote, urlencode

from django.conf import settings
from django.db import connection

from production.views.live import token


def free_port():
    with socket.create_server(("127.0.0.1", 0)) as server:
        return server.getsockname()[1]


def database_url():
    """How another process reaches the database of the tests."""
    found = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{found['NAME']}"
    named = {key: found[key.upper()] or found["OPTIONS"].get(key) for key in ("host", "port", "user", "password")}
    given = {key: value for key, value in named.items() if value}
    return f"postgres:///{found['NAME']}?{urlencode(given, quote_via=quote)}"


@contextmanager
def streaming(port):
    """Serve the stream at `port` of this machine; the process is told to end when the block is left."""
    process = subprocess.Popen(
        [sys.executable, "-m", "config.asgi", "--port", str(port)],
        cwd=settings.BASE_DIR,
        env={
            **os.environ,
            "DATABASE_URL": database_url(),
            "SECRET_KEY": settings.SECRET_KEY,
            "DJANGO_SETTINGS_MODULE": "config.live_settings",
        },
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    try:
        wait_until_open(process, port)
        yield process
    finally:
        process.terminate()
        process.output = process.communicate(timeout=60)[0]


def wait_until_open(process, port):
    give_up = time.monotonic() + 30
    while process.poll() is None and time.monotonic() < give_up:
        try:
            return socket.create_connection(("127.0.0.1", port), timeout=1).close()
        except ConnectionRefusedError:
            time.sleep(0.05)
    raise AssertionError(process.communicate()[0] if process.poll() is not None else "no answer")


def followed(port, *, until=None, timeout=10, **headers):
    """An open stream, as a page that was just loaded has it."""
    url = f"http://localhost:{port}/live/?token={token(until=until or time.time() + 60)}"
    return urllib.request.urlopen(urllib.request.Request(url, headers=headers), timeout=timeout)


def next_message(stream, *, wanted=None):
    """The next (event, data) on the stream, or the next of the event `wanted`; None at its end."""
    event = None
    for line in stream:
        field, _, value = line.decode().rstrip("\n").partition(": ")
        if field == "event":
            event = value
        elif field == "data" and wanted in (None, event):
            return event, json.loads(value)
    return None

"""The pages as gunicorn serves them, on a port of their own, over a database file that is no other test's."""

import os
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from contextlib import contextmanager
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


def free_port():
    with socket.create_server(("127.0.0.1", 0)) as probe:
        return probe.getsockname()[1]


@contextmanager
def pages(folder, **environment):
    """Two processes that answer; yields the first of them all, with its `folder`, `port`, `log` and `environment`."""
    port = free_port()
    given = os.environ | {
        "DATABASE_URL": f"sqlite:///{folder}/empty.sqlite3",
        "SECRET_KEY": "known-to-all-processes",
        "TMPDIR": str(folder),
        "WEB_CONCURRENCY": "2",
        "SLOW_MS": "60000",
        **environment,
    }
    subprocess.run([sys.executable, "manage.py", "migrate", "-v0"], cwd=ROOT, env=given, check=True)
    at = f"127.0.0.1:{port}"
    command = "-m", "gunicorn", "--config", "python:config.gunicorn_settings", "config.wsgi", "--bind", at
    log = Path(folder) / "gunicorn.log"
    with open(log, "w") as written:
        running = subprocess.Popen(
            [sys.executable, *command],
            cwd=ROOT,
            env=given,
            stdout=written,
            stderr=subprocess.STDOUT,
            start_new_session=True,
        )
    running.folder, running.port, running.log, running.environment = Path(folder), port, log, given
    try:
        wait_until_it_answers(running)
        yield running
    finally:
        if running.poll() is None:
            os.killpg(running.pid, signal.SIGKILL)
            running.wait()


def wait_until_it_answers(running):
    give_up = time.monotonic() + 60
    while time.monotonic() < give_up and running.poll() is None:
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{running.port}/health/", timeout=30):
                return
        except urllib.error.URLError:
            time.sleep(0.1)
    pytest.fail("gunicorn doesn't answer")

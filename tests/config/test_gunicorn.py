"""gunicorn as the workshop runs it: several processes, one count; every line in one form; nothing left behind."""

import json
import os
import signal
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request

import pytest
from prometheus_client.parser import text_string_to_metric_families

from tests.config.running_gunicorn import ROOT, free_port, pages, wait_until_it_answers

pytestmark = pytest.mark.once


@pytest.fixture(scope="module")
def served():
    """The pages with two processes and nothing in the tables."""
    with (
        tempfile.TemporaryDirectory(prefix="railwright-gunicorn.") as folder,
        pages(folder, LOG_FORMAT="json", LOG_LEVEL="INFO") as running,
    ):
        yield running


def asked(running, path, **headers):
    wanted = urllib.request.Request(f"http://127.0.0.1:{running.port}{path}", headers=headers)
    with urllib.request.urlopen(wanted, timeout=30) as answer:  # noqa: S310 - its address stands above
        return answer.read().decode()


def counted(running):
    samples = [
        sample
        for family in text_string_to_metric_families(asked(running, "/metrics/"))
        for sample in family.samples
        if sample.name == "railwright_request_seconds_count" and sample.labels["route"] == "sign-in"
    ]
    return sum(sample.value for sample in samples)


def test_whichever_process_is_asked_tells_the_count_of_all(served):
    for _ in range(12):
        asked(served, "/sign-in/?next=/secret/", **{"X-Request-ID": "from-the-proxy"})
    assert [counted(served) for _ in range(4)] == [12] * 4


def test_each_line_is_one_object_and_nothing_is_left_at_the_end(served):
    served.send_signal(signal.SIGTERM)
    served.wait(30)
    written = served.log.read_text()
    lines = [json.loads(line) for line in written.splitlines()]
    told = [line for line in lines if line.get("route") == "sign-in"]
    assert len(told) == 12
    assert {line["request"] for line in told} == {"from-the-proxy"}
    assert {line["logger"] for line in lines} == {"config.asked", "gunicorn.error"}
    assert "secret" not in written
    assert "/health/" not in written
    assert [path.name for path in served.folder.iterdir() if path.name.startswith("railwright-shared.")] == []


TOLD_TO_END_WHEN_JUST_BEGUN = """
import os, signal, time
from config.gunicorn_settings import *

def post_fork(server, worker):
    os.kill(os.getppid(), signal.SIGTERM)
    time.sleep(1)
"""


def test_whoever_stops_it_while_a_process_begins_does_not_wait(tmp_path):
    settings = tmp_path / "settings.py"
    settings.write_text(TOLD_TO_END_WHEN_JUST_BEGUN)
    given = {"DATABASE_URL": f"sqlite:///{tmp_path}/empty.sqlite3", "SECRET_KEY": "k", "TMPDIR": str(tmp_path)}
    at = f"127.0.0.1:{free_port()}"
    command = sys.executable, "-m", "gunicorn", "--config", str(settings), "--workers", "1", "--bind", at, "config.wsgi"
    began = time.monotonic()
    ended = subprocess.run(command, cwd=ROOT, env=os.environ | given, capture_output=True, text=True)
    assert (ended.returncode, ended.stdout, ended.stderr) == (0, "", "")
    # gunicorn kills after 30 s whoever has not ended.
    assert time.monotonic() - began < 29


def test_the_stream_of_changes_writes_its_lines_in_the_same_form(tmp_path):
    port = free_port()
    given = {"DATABASE_URL": f"sqlite:///{tmp_path}/empty.sqlite3", "SECRET_KEY": "k", "LOG_FORMAT": "json"}
    running = subprocess.Popen(
        [sys.executable, "-m", "config.asgi", "--port", str(port)],
        cwd=ROOT,
        env=os.environ | given,
        stderr=subprocess.PIPE,
        text=True,
    )
    running.port = port
    try:
        wait_until_it_answers(running)
        with socket.create_connection(("127.0.0.1", port)) as broken:
            broken.sendall(b"no request at all\r\n\r\n")
            broken.recv(100)
    finally:
        running.terminate()
        written = running.communicate(timeout=30)[1]
    lines = [json.loads(line) for line in written.splitlines()]
    assert ("uvicorn.error", "Invalid HTTP request received.") in [(line["logger"], line["message"]) for line in lines]

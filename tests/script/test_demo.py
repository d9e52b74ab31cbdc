"""script/demo refuses before any long work what can't go well, seeds once, keeps what people did, and stops cleanly."""

import json
import os
import signal
import socket
import subprocess
import sysconfig
import time
import urllib.error
import urllib.request
from contextlib import contextmanager

import pytest

from tests.slowed import slowed

FIRST_PAGE_WITHIN_S = 120
"""A newcomer's patience with the scripts alone: how long packages take to come depends on the network."""


def a_free_port():
    with socket.create_server(("127.0.0.1", 0)) as server:
        return server.getsockname()[1]


free_port = pytest.fixture(a_free_port, name="free_port")
other_port = pytest.fixture(a_free_port, name="other_port")


@pytest.fixture
def nothing_was_begun(project):
    yield
    assert not (project / ".venv").exists()
    assert not (project / "var").exists()


@pytest.mark.usefixtures("nothing_was_begun")
class TestRefusals:
    @pytest.mark.parametrize("port", ["abc", "0", "65536", "-1", "80 80", "8000.5"])
    def test_what_is_no_port_is_named(self, refused, port):
        assert f"PORT={port} is not a port: give a whole number from 1 to 65535" in refused("script/demo", PORT=port)

    def test_a_port_in_use_is_named_with_another(self, refused):
        with socket.create_server(("127.0.0.1", 0)) as server:
            port = server.getsockname()[1]
            line = refused("script/demo", PORT=str(port))
        assert line.startswith(f"Port {port} is in use.")
        assert line.endswith("script/demo")

    def test_an_address_of_another_machine_is_named(self, refused, free_port):
        # 192.0.2.0/24 is kept for documentation (RFC 5737), so it is no machine's own.
        assert "HOST=192.0.2.77 is no address" in refused("script/demo", HOST="192.0.2.77", PORT=str(free_port))

    def test_a_folder_that_cannot_be_written_to_is_named(self, project, refused, free_port):
        project.chmod(0o555)
        try:
            line = refused("script/demo", as_nobody=True, PORT=str(free_port))
        finally:
            project.chmod(0o755)
        assert f"can't be written to: {project}." in line


@contextmanager
def serving(project, port, *arguments):
    """Run script/demo until it answers; then the process, which Ctrl-C has ended when the block is left."""
    demo = subprocess.Popen(
        ["script/demo", *arguments],
        cwd=project,
        env=os.environ | {"PORT": str(port)},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        start_new_session=True,
    )
    try:
        wait_until_open(demo, port)
        yield demo
    finally:
        if demo.poll() is None:
            os.killpg(demo.pid, signal.SIGINT)
        try:
            demo.output = demo.communicate(timeout=slowed(30))[0]
        except subprocess.TimeoutExpired:
            os.killpg(demo.pid, signal.SIGKILL)
            pytest.fail(f"script/demo does not end: {demo.communicate()[0]}")


def wait_until_open(demo, port):
    give_up = time.monotonic() + 180
    while demo.poll() is None and time.monotonic() < give_up:
        try:
            return socket.create_connection(("127.0.0.1", port), timeout=1).close()
        except ConnectionRefusedError:
            time.sleep(0.1)
    pytest.fail(f"script/demo does not serve: {demo.stdout.read() if demo.poll() is not None else 'no answer'}")


@pytest.fixture(scope="module")
def began():
    """When the newcomer typed the first command."""
    return time.monotonic()


@pytest.fixture(scope="module")
def workshop(began, project):
    """The copy with its own .venv, which borrows the packages of the one that runs the tests."""
    subprocess.run(["script/setup", "demo"], cwd=project, check=True, capture_output=True)
    [packages] = (project / ".venv/lib").glob("python3.*/site-packages")
    (packages / "borrowed.pth").write_text(sysconfig.get_path("purelib"))
    return project


def stream_port(port):
    """Where the demo at `port` serves its stream of changes, which refuses whoever comes without a page's token."""
    give_up = time.monotonic() + 30
    while time.monotonic() < give_up:
        for found in range(port + 1, port + 10):
            try:
                urllib.request.urlopen(f"http://127.0.0.1:{found}/live/", timeout=2)
            except urllib.error.HTTPError as refused:
                with refused:
                    if b"Reload the page" in refused.read():
                        return found
            except OSError:
                continue
    pytest.fail("script/demo serves no stream of changes")


def worker_lives(port):
    """Whether somebody does what pages leave to the background, within half a minute."""
    give_up = time.monotonic() + 30
    while time.monotonic() < give_up:
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/ready/", timeout=10) as answer:
            checks = {check["name"]: check["ok"] for check in json.load(answer)["checks"]}
        if checks["worker"]:
            return True
        time.sleep(0.1)
    return False


def test_the_demo_seeds_once_and_keeps_what_people_did(workshop, began, free_port, other_port, refused, capsys):
    url = f"http://127.0.0.1:{free_port}/"
    with serving(workshop, free_port, "--fresh", "--blinds", "40") as first:
        with urllib.request.urlopen(url, timeout=30) as answer:
            assert answer.status == 200
        took = time.monotonic() - began
        with capsys.disabled():
            print(f"\nscript/setup, script/demo and its first page: {took:.0f} s")
        told_at = stream_port(free_port)
        assert worker_lives(free_port)
        key = (workshop / "var/secret_key").read_text()
        assert "already running" in refused("script/demo", PORT=str(other_port))
    assert took < slowed(FIRST_PAGE_WITHIN_S)
    assert first.returncode == 0
    assert "Seeding the demo workshop" in first.output
    assert f"Open {url} " in first.output
    assert f"Port {told_at} tells its pages of changes" in first.output
    for port in (free_port, told_at):
        with pytest.raises(ConnectionRefusedError):
            socket.create_connection(("127.0.0.1", port), timeout=1)
    assert "Traceback" not in first.output
    with serving(workshop, free_port) as second:
        pass
    assert second.returncode == 0
    assert "Demo workshop as kept since 20" in second.output
    assert "Seeding" not in second.output
    assert (workshop / "var/secret_key").read_text() == key
    assert (workshop / "var/secret_key").stat().st_mode & 0o077 == 0

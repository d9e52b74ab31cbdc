"""A workshop of its own for each measurement: its database, and the processes that serve it."""

import os
import secrets
import shutil
import socket
import subprocess
import sys
import tempfile
import time
from contextlib import contextmanager
from pathlib import Path

from script import system_needs

ROOT = Path(__file__).resolve().parents[2]
WORKERS, AT_ONCE = 3, 2000
OURS = {"DEBUG": "", "LOG_LEVEL": "ERROR", "SLOW_MS": "60000", "WEB_CONCURRENCY": str(WORKERS)}


@contextmanager
def database(vendor):
    """The URL of an empty database, "sqlite" or "postgresql", and its folder; both are gone afterwards."""
    with tempfile.TemporaryDirectory(prefix="railwright-bench.") as folder:
        if vendor == "sqlite":
            yield f"sqlite:///{folder}/workshop.sqlite3", Path(folder)
        else:
            with postgres(Path(folder)) as url:
                yield url, Path(folder)


@contextmanager
def postgres(folder, *, stop="immediate"):
    """A server as it comes, with every commit written to the disk; no port, only a socket in its own folder. What it
    holds there from before is there again, if it was ended by the `stop` "fast"."""
    programs = system_needs.postgres()
    if programs is None:
        raise SystemExit("There is no PostgreSQL server here. Type script/setup test, then try again.")
    as_postgres = {}
    if os.getuid() == 0:
        shutil.chown(folder, "postgres")
        as_postgres = {"user": "postgres", "group": "postgres", "extra_groups": []}

    def run(program, *arguments):
        subprocess.run(  # noqa: S603
            [Path(programs) / program, "-D", "data", *arguments],
            cwd=folder,
            check=True,
            stdout=subprocess.DEVNULL,
            **as_postgres,
        )

    if not (folder / "data").exists():
        run("initdb", "-U", "railwright", "-A", "trust", "-E", "UTF8", "--locale=C")
        with (folder / "data" / "postgresql.conf").open("a") as settings:
            settings.write(f"listen_addresses = ''\nunix_socket_directories = '{folder}'\n")
    run("pg_ctl", "-s", "-w", "-l", "server.log", "start")
    try:
        yield f"postgres:///postgres?host={folder}&user=railwright"
    finally:
        run("pg_ctl", "-s", "-m", stop, "stop")


def enter(url):
    """Make this process one of the workshop at `url`, whose tables are made."""
    os.environ |= {**OURS, "DATABASE_URL": url, "SECRET_KEY": secrets.token_urlsafe(48)}
    os.environ["DJANGO_SETTINGS_MODULE"] = "config.settings"
    import django

    django.setup()
    from django.core.management import call_command

    call_command("migrate", verbosity=0)


def seed():
    """Fill the workshop with the demo's three weeks of work."""
    from django.core.management import call_command

    with Path(os.devnull).open("w") as nowhere:
        call_command("seed_demo", stdout=nowhere)


def free_port():
    with socket.create_server(("127.0.0.1", 0)) as server:
        return server.getsockname()[1]


@contextmanager
def running(*command, port, **environment):
    """`python -m` so, which answers at `port`: its process id."""
    settings = {name: value for name, value in os.environ.items() if name != "DJANGO_SETTINGS_MODULE"} | environment
    process = subprocess.Popen(  # noqa: S603
        [sys.executable, "-m", *command], cwd=ROOT, env=settings, stderr=subprocess.DEVNULL
    )
    try:
        _wait_until_open(port)
        yield process.pid
    finally:
        process.terminate()
        process.wait()


@contextmanager
def pages(application="config.wsgi", *, own=True, **environment):
    """The pages of `application` under gunicorn: their port and its process id."""
    port = free_port()
    settings = ["--config", "python:config.gunicorn_settings"] if own else ["--no-control-socket"]
    arguments = ["gunicorn", *settings, "--workers", str(WORKERS), "--bind", f"127.0.0.1:{port}", application]
    with running(*arguments, port=port, **environment) as pid:
        yield port, pid


def _wait_until_open(port):
    for _ in range(600):
        try:
            return socket.create_connection(("127.0.0.1", port), timeout=1).close()
        except ConnectionRefusedError:
            time.sleep(0.1)
    raise SystemExit(f"Nothing answers at port {port}.")

"""What the soak runs on: a PostgreSQL in a folder of its own, and the processes of the workshop."""

import contextlib
import http.client
import os
import signal
import socket
import subprocess
import sys
import threading
import time
from pathlib import Path

from script.system_needs import postgres

ROOT = Path(__file__).resolve().parent.parent
WORKERS = 4


def run(*command, **options):
    subprocess.run(command, cwd=ROOT, check=True, **options)  # noqa: S603 - our own commands


def free_port():
    with socket.create_server(("127.0.0.1", 0)) as server:
        return server.getsockname()[1]


class Database:
    """A PostgreSQL in a folder of its own."""

    def __init__(self, folder):
        self.folder, self.programs = Path(folder), Path(postgres())
        self.url = f"postgres:///soak?host={folder}&user=railwright"
        self.onlookers_url = f"postgres:///soak?host={folder}&user=onlooker"
        os.chmod(folder, 0o711)  # noqa: S103 - its owner is another user, whom PostgreSQL wants
        self._as = ("runuser", "-u", "postgres", "--") if os.geteuid() == 0 else ()
        if self._as:
            run("chown", "postgres", folder)
        self._run("initdb", "-D", f"{folder}/data", "-U", "railwright", "-A", "trust", "-E", "UTF8", "--locale=C", "-N")
        self._write(f"listen_addresses = ''\nunix_socket_directories = '{folder}'\nmax_connections = 200\n")
        self.start()
        self._run("createdb", "-h", folder, "-U", "railwright", "soak")
        self._run("createuser", "-h", folder, "-U", "railwright", "--superuser", "onlooker")

    def _write(self, text):
        with open(self.folder / "data" / "postgresql.conf", "a") as settings:
            settings.write(text)

    def _run(self, program, *arguments):
        command = (*self._as, str(self.programs / program), *arguments)
        subprocess.run(command, cwd=self.folder, check=True, stdout=subprocess.DEVNULL)  # noqa: S603 - our own commands

    def start(self):
        self._run("pg_ctl", "-D", f"{self.folder}/data", "-s", "-w", "-l", f"{self.folder}/server.log", "start")

    def stop(self, how="fast"):
        self._run("pg_ctl", "-D", f"{self.folder}/data", "-s", "-w", "-m", how, "stop")

    def restart(self):
        self.stop()
        self.start()

    def backends(self):
        """The processes of the connections that the workshop has; the soak's own are the onlooker's."""
        found = []
        for pid in children((self.folder / "data" / "postmaster.pid").read_text().split()[0]):
            with contextlib.suppress(OSError):
                if b"railwright soak" in Path(f"/proc/{pid}/cmdline").read_bytes():
                    found.append(pid)
        return found


def children(pid):
    path = Path(f"/proc/{pid}/task/{pid}/children")
    return [int(each) for each in path.read_text().split()] if path.exists() else []


class Served:
    """The processes of the workshop, each begun anew when it has ended, as systemd does.

    Those that it began are killed first, as by KillMode=mixed (config/install/railwright-pages.service): a page process
    whose parent is gone would go on for as long as it is never idle, and hold the port.
    """

    def __init__(self, *, environment, folder):
        self.port, live = free_port(), free_port()
        environment |= {"LIVE_URL": f":{live}/live/", "WEB_CONCURRENCY": str(WORKERS)}
        self.environment, self.folder, self.ending = environment, folder, False
        self.commands = {
            "pages": ("gunicorn", "--config", "python:config.gunicorn_settings", "--bind", f"127.0.0.1:{self.port}"),
            "live": ("config.asgi", "--port", str(live)),
        }
        self.commands["pages"] += ("config.wsgi",)
        self.running = {name: self._start(name) for name in (*self.commands, "worker")}
        self.watch = threading.Thread(target=self._keep_running)
        self.watch.start()

    def _start(self, name):
        command = ("-m", *self.commands[name]) if name in self.commands else ("manage.py", "work")
        with open(Path(self.folder) / f"{name}.log", "a") as log:
            return subprocess.Popen(  # noqa: S603 - our own commands
                (sys.executable, *command),
                cwd=ROOT,
                env=self.environment,
                stdout=log,
                stderr=log,
                start_new_session=True,
            )

    def _keep_running(self):
        while not self.ending:
            for name, process in list(self.running.items()):
                if process.poll() is not None and not self.ending:
                    kill_group(process)
                    self.running[name] = self._start(name)
            time.sleep(0.5)

    @property
    def is_ready(self):
        """Whether a page is answered, and its database is there."""
        return self.ready()[0] == 200

    def ready(self):
        """(status, text) of what the pages say of themselves, 0 where there is no answer."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=5)
        with contextlib.closing(connection):
            try:
                connection.request("GET", "/ready/")
                answer = connection.getresponse()
                return answer.status, answer.read().decode("utf-8", "replace")
            except (OSError, http.client.HTTPException) as error:
                return 0, repr(error)

    def pids(self):
        pages = self.running["pages"].pid
        found = {f"pages {pid}": pid for pid in children(pages)}
        return found | {f"{name} {process.pid}": process.pid for name, process in self.running.items()}

    def end(self):
        self.ending = True
        self.watch.join()
        for process in self.running.values():
            process.terminate()
        for process in self.running.values():
            try:
                process.wait(timeout=60)
            finally:
                kill_group(process)


def kill_group(process):
    """Kill what is left of those that the process began."""
    with contextlib.suppress(ProcessLookupError):
        os.killpg(process.pid, signal.SIGKILL)

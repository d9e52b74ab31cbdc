"""A workshop at work for a while, whose processes are killed meanwhile: `python -m script.soak [MINUTES]`.

40 tablets and 10 desks on a PostgreSQL of its own, four processes for pages, one for the stream of changes, one worker.
Afterwards every event that was answered must be on record once and nothing else, each blind's stages what its events
come to, each answer explained, and no process larger than it was half-way.
"""

import contextlib
import json
import os
import random
import secrets
import signal
import socket
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

from script.soak_people import Desk, Kept, Tablet
from script.system_needs import postgres

ROOT = Path(__file__).resolve().parent.parent
TABLETS, DESKS, WORKERS, BLINDS = 40, 10, 4, 120
KILL_EVERY_S = (6, 14)
KILLED = ("page process", "page process", "all pages", "live", "worker", "a connection")
SAMPLE_EVERY_S = 2
GROWS_AT_MOST_PERCENT = 5
GROWN_UP_S = 300
"""A process that is younger has not asked for everything once."""
STATIONS = ("railing", "vanes", "stringing", "checking", "packing")


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
        os.chmod(folder, 0o711)  # noqa: S103 - its owner is another user, whom PostgreSQL wants
        self._as = ("runuser", "-u", "postgres", "--") if os.geteuid() == 0 else ()
        if self._as:
            run("chown", "postgres", folder)
        self._run("initdb", "-D", f"{folder}/data", "-U", "railwright", "-A", "trust", "-E", "UTF8", "--locale=C", "-N")
        self._write(f"listen_addresses = ''\nunix_socket_directories = '{folder}'\nmax_connections = 200\n")
        self.start()
        self._run("createdb", "-h", folder, "-U", "railwright", "soak")

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

    def backend(self):
        """The process of one connection that is at work, or None."""
        pids = children((self.folder / "data" / "postmaster.pid").read_text().split()[0])
        return next((pid for pid in pids if b"railwright soak" in Path(f"/proc/{pid}/cmdline").read_bytes()), None)


def children(pid):
    path = Path(f"/proc/{pid}/task/{pid}/children")
    return [int(each) for each in path.read_text().split()] if path.exists() else []


def rss_kb(pid):
    with contextlib.suppress(OSError, StopIteration):
        lines = Path(f"/proc/{pid}/status").read_text().splitlines()
        return int(next(line for line in lines if line.startswith("VmRSS")).split()[1])
    return None


class Served:
    """The processes of the workshop, each begun anew when it has ended, as systemd does."""

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
            return subprocess.Popen((sys.executable, *command), cwd=ROOT, env=self.environment, stdout=log, stderr=log)  # noqa: S603

    def _keep_running(self):
        while not self.ending:
            for name, process in list(self.running.items()):
                if process.poll() is not None and not self.ending:
                    self.running[name] = self._start(name)
            time.sleep(0.5)

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
            process.wait(timeout=60)


class Killer:
    """Kills something every few seconds; the database as a whole is restarted once, half-way.

    From then on only the youngest page process and single connections, so that the others live long enough to show
    whether their memory grows.
    """

    def __init__(self, *, served, database, kept, seconds):
        self.served, self.database, self.kept, self.half = served, database, kept, time.time() + seconds / 2
        self.rng, self.restarted, self.done = random.Random(7), False, {}  # noqa: S311 - no secret

    def run(self):
        while not self.kept.ending.wait(self.rng.uniform(*KILL_EVERY_S)):
            if time.time() > self.half and not self.restarted:
                self.restarted = True
                self.cut("the database, restarted", self.database.restart)
                continue
            what = self.rng.choice(("page process", "a connection") if self.restarted else KILLED)
            self.cut(what, lambda what=what: self.kill(what))

    def cut(self, what, act):
        cut = [what, time.time(), float("inf")]
        with self.kept.lock:
            self.kept.cuts.append(cut)
        act()
        cut[2] = time.time()
        self.done[what] = self.done.get(what, 0) + 1

    def kill(self, what):
        running = self.served.running
        with contextlib.suppress(ProcessLookupError, IndexError):
            if what == "a connection":
                if pid := self.database.backend():
                    os.kill(pid, signal.SIGTERM)
            elif what == "page process":
                os.kill(max(children(running["pages"].pid)), signal.SIGKILL)
            else:
                os.kill(running["pages" if what == "all pages" else what].pid, signal.SIGKILL)


def sampled(served, kept, sizes):
    while not kept.ending.wait(SAMPLE_EVERY_S):
        for name, pid in served.pids().items():
            if size := rss_kb(pid):
                sizes.setdefault(name, []).append((time.time(), size))


def grown(sizes):
    """Percent by which each process that lived for five minutes or more grew over the second half of its life."""
    found = {}
    for name, samples in sizes.items():
        if samples[-1][0] - samples[0][0] >= GROWN_UP_S:
            half = [size for _at, size in samples[len(samples) // 2 :]]
            quarter = max(1, len(half) // 4)
            first, last = statistics.median(half[:quarter]), statistics.median(half[-quarter:])
            found[name] = round(100 * (last - first) / first, 1)
    return found


def main():
    # Told to end, it ends what it started first.
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))
    seconds = 60 * float(sys.argv[1] if len(sys.argv) > 1 else 30)
    with tempfile.TemporaryDirectory(prefix="railwright-soak.", dir="/tmp") as folder:
        database = Database(folder)
        try:
            said = soak(database, folder=folder, seconds=seconds)
        finally:
            database.stop("immediate")
    (ROOT / "soak.json").write_text(json.dumps(said, indent=1))
    print(json.dumps(said, indent=1))
    sys.exit(0 if said["sound"] else 1)


def soak(database, *, folder, seconds):
    environment = {**os.environ, "DATABASE_URL": database.url, "SECRET_KEY": secrets.token_urlsafe(48)}
    environment |= {"LOG_LEVEL": "ERROR", "OUTBOX": f"{folder}/outbox", "DJANGO_SETTINGS_MODULE": "config.settings"}
    os.environ.update(environment)
    run(sys.executable, "manage.py", "migrate", "--verbosity", "0", env=environment)
    run(sys.executable, "manage.py", "seed_demo", "--blinds", str(BLINDS), env=environment, stdout=subprocess.DEVNULL)
    import django

    django.setup()
    from script import soak_record

    kept, sizes = Kept(), {}
    began = soak_record.newest()
    served = Served(environment=environment, folder=folder)
    try:
        people = [
            *(
                Tablet(port=served.port, kept=kept, seed=number, **soak_record.maker(number, STATIONS))
                for number in range(TABLETS)
            ),
            *(Desk(port=served.port, kept=kept, seed=number, **soak_record.clerk(number)) for number in range(DESKS)),
        ]
        while people[-1].ask("/ready/", route="ready")[0] != 200:
            time.sleep(1)
        kept.unexplained.clear()
        killer = Killer(served=served, database=database, kept=kept, seconds=seconds)
        acts = [*(one.run for one in people), killer.run, lambda: sampled(served, kept, sizes)]
        threads = [threading.Thread(target=act) for act in acts]
        for thread in threads:
            thread.start()
        time.sleep(seconds)
        kept.ending.set()
        for thread in threads:
            thread.join(timeout=120)
        record = soak_record.compared(kept, since=began)
    finally:
        served.end()
    return summary(
        kept, record=record, killed=killer.done, sizes=sizes, seconds=seconds, still=sum(t.is_alive() for t in threads)
    )


def summary(kept, *, record, killed, sizes, seconds, still):
    grew = grown(sizes)
    too_much = {name: by for name, by in grew.items() if by > GROWS_AT_MOST_PERCENT}
    times = {
        route: {
            "count": len(took),
            "p50_ms": round(1000 * statistics.median(took)),
            "p95_ms": round(1000 * sorted(took)[round(0.95 * (len(took) - 1))]),
        }
        for route, took in sorted(kept.times.items())
    }
    faults = [
        record["lost"],
        record["doubled"],
        record["nobody_sent"],
        record["stages_differ"],
        kept.unexplained,
        still,
    ]
    return {
        "sound": not any(faults) and bool(kept.answered),
        "seconds": seconds,
        "events": {"answered": len(kept.answered), "refused": len(kept.refused), "sent": len(kept.sent)},
        "record": record,
        "killed": killed,
        "unexplained": kept.unexplained[:20],
        "threads_that_did_not_end": still,
        "statuses": {f"{route} {status}": count for (route, status), count in sorted(kept.statuses.items())},
        "grew_percent": grew,
        "grew_too_much": too_much,
        "times": times,
    }


if __name__ == "__main__":
    main()

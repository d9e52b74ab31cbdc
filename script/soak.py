"""A workshop at work for a while, whose processes are killed meanwhile: `python -m script.soak [MINUTES]`.

40 tablets, each with its stream of changes, and 10 desks on a PostgreSQL of its own, four processes for pages, one for
the stream, one worker. Afterwards every event that was answered must be on record once and nothing else, each blind's
stages what its events come to, each answer explained, no process larger than it was half-way, and every tablet must
have been told of all that happened since its stream was there last.
"""

import contextlib
import itertools
import json
import os
import random
import secrets
import signal
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

from script.soak_live import Follower, did_not_hear, marked
from script.soak_people import Desk, Kept, Tablet
from script.soak_served import ROOT, Database, Served, children, run

TABLETS, DESKS, BLINDS = 40, 10, 120
KILL_EVERY_S = (6, 14)
KILLED = ("page process", "live", "a connection", "all pages", "page process", "worker")
SAMPLE_EVERY_S = 2
LOG_SIGNS = 6000
"""So much of each log is told where something was wrong."""
GROWS_AT_MOST_PERCENT = 5
TOLD_WITHIN_S = 30
"""So soon after the last event, and after something was killed, every tablet is followed again and knows of it."""
GROWN_UP_S = 300
"""A process that is younger has not asked for everything once."""
STATIONS = ("railing", "vanes", "stringing", "checking", "packing")


def rss_kb(pid):
    with contextlib.suppress(OSError, StopIteration):
        lines = Path(f"/proc/{pid}/status").read_text().splitlines()
        return int(next(line for line in lines if line.startswith("VmRSS")).split()[1])
    return None


class Killer:
    """Kills something every few seconds; the database as a whole is restarted once, half-way.

    From then on only the youngest page process and single connections, so that the others live long enough to show
    whether their memory grows.
    """

    def __init__(self, *, served, database, kept, seconds):
        self.served, self.database, self.kept, self.half = served, database, kept, time.time() + seconds / 2
        self.rng, self.restarted, self.done = random.Random(7), False, {}  # noqa: S311 - no secret
        self.next = {False: itertools.cycle(KILLED), True: itertools.cycle(("page process", "a connection"))}

    def run(self):
        while not self.kept.ending.wait(self.rng.uniform(*KILL_EVERY_S)):
            if time.time() > self.half and not self.restarted:
                self.restarted = True
                self.cut("the database, restarted", self.database.restart)
                continue
            what = next(self.next[self.restarted])
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
                if pid := max(children(running["pages"].pid), default=None):
                    os.kill(pid, signal.SIGKILL)
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
            if not said["sound"]:
                said["logs"] = {
                    each.stem: each.read_text()[-LOG_SIGNS:].splitlines() for each in Path(folder).glob("*.log")
                }
        finally:
            database.stop("immediate")
    (ROOT / "soak.json").write_text(json.dumps(said, indent=1))
    print(json.dumps(said, indent=1))
    sys.exit(0 if said["sound"] else 1)


def soak(database, *, folder, seconds):
    environment = {**os.environ, "DATABASE_URL": database.url, "SECRET_KEY": secrets.token_urlsafe(48)}
    environment |= {"LOG_LEVEL": "ERROR", "OUTBOX": f"{folder}/outbox"}
    # Each process has settings of its own kind: the stream's are others than the pages'.
    environment.pop("DJANGO_SETTINGS_MODULE", None)
    os.environ.update(environment | {"DJANGO_SETTINGS_MODULE": "config.settings"})
    run(sys.executable, "manage.py", "migrate", "--verbosity", "0", env=environment)
    run(sys.executable, "manage.py", "seed_demo", "--blinds", str(BLINDS), env=environment, stdout=subprocess.DEVNULL)
    import django

    django.setup()
    from script import soak_record

    kept, sizes, marks = Kept(), {}, []
    began = soak_record.newest()
    served = Served(environment=environment, folder=folder)
    try:
        given = {"port": served.port, "kept": kept}
        makers = [soak_record.maker(number, STATIONS) for number in range(TABLETS)]
        followers = [
            Follower(**given, seed=TABLETS + number, cookie=each["cookie"], station=each["station"])
            for number, each in enumerate(makers)
        ]
        people = [
            *(Tablet(**given, seed=number, **each) for number, each in enumerate(makers)),
            *(Desk(**given, seed=number, **soak_record.clerk(number)) for number in range(DESKS)),
        ]
        while people[-1].ask("/ready/", route="ready")[0] != 200:
            time.sleep(1)
        kept.unexplained.clear()
        killer = Killer(served=served, database=database, kept=kept, seconds=seconds)
        watching = [lambda: sampled(served, kept, sizes), lambda: marked(kept, marks, soak_record.newest_now)]
        following = [threading.Thread(target=kept.seen, args=[each.run]) for each in followers]
        acts = (*(one.run for one in people), killer.run, *watching)
        threads = [threading.Thread(target=kept.seen, args=[act]) for act in acts]
        for thread in (*following, *threads):
            thread.start()
        time.sleep(seconds)
        kept.ending.set()
        for thread in threads:
            thread.join(timeout=120)
        deaf = told_in_time(followers, marks=marks, changed_since=soak_record.changed_since)
        kept.closing.set()
        for thread in following:
            thread.join(timeout=60)
        record = soak_record.compared(kept, since=began)
    finally:
        kept.ending.set()
        kept.closing.set()
        served.end()
    return summary(
        kept,
        record=record,
        killed=killer.done,
        sizes=sizes,
        seconds=seconds,
        live=heard(followers, deaf),
        still=sum(thread.is_alive() for thread in (*threads, *following)),
    )


def told_in_time(followers, **given):
    """What tablets still lack after a while in which nothing more happens."""
    give_up = time.monotonic() + TOLD_WITHIN_S
    while (deaf := did_not_hear(followers, **given)) and time.monotonic() < give_up:
        time.sleep(1)
    return deaf


def heard(followers, deaf):
    return {
        "tablets": len(followers),
        "messages": sum(each.messages for each in followers),
        "opened_again": sum(each.opened - 1 for each in followers),
        "did_not_hear": deaf,
    }


def summary(kept, *, record, killed, sizes, seconds, live, still):
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
        live["did_not_hear"],
        still,
    ]
    return {
        "sound": not any(faults) and bool(kept.answered),
        "seconds": seconds,
        "events": {"answered": len(kept.answered), "refused": len(kept.refused), "sent": len(kept.sent)},
        "record": record,
        "killed": killed,
        "live": live,
        "unexplained": kept.unexplained[:20],
        "threads_that_did_not_end": still,
        "statuses": {f"{route} {status}": count for (route, status), count in sorted(kept.statuses.items())},
        "grew_percent": grew,
        "grew_too_much": too_much,
        "times": times,
    }


if __name__ == "__main__":
    main()

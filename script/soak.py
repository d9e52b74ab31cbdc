"""A workshop at work for a while, whose processes are killed meanwhile: `python -m script.soak [MINUTES]`.

40 tablets, each with its stream of changes, and 10 desks on a PostgreSQL of its own, four processes for pages, one for
the stream, one worker. Afterwards every event that was answered must be on record once and nothing else, each blind's
stages what its events come to, each answer explained, no process larger than it was half-way, and every tablet must
have been told of all that happened since its stream was there last. script/soak_report.py says what was not so.
"""

import contextlib
import itertools
import json
import os
import random
import secrets
import signal
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

from script.soak_cuts import Cut
from script.soak_live import Follower, did_not_hear, marked
from script.soak_people import Desk, Kept, Tablet
from script.soak_report import summary
from script.soak_served import ROOT, Database, Served, children, run
from tests.slowed import slowed

TABLETS, DESKS, BLINDS = 40, 10, 120
KILL_EVERY_S = (6, 14)
KILLED = ("page process", "live", "a connection", "all pages", "page process", "worker")
SPARING = ("page process", "a connection")
BEGUN_WITHIN_S = 60
BACK_WITHIN_S = 30
"""So soon pages are answered again after all their processes were killed, or the database was restarted."""
SAMPLE_EVERY_S = 2
LOG_LINES = 300
"""So many of each log's last lines are told where something was wrong."""
TOLD_WITHIN_S = 30
"""So soon after the last event, and after something was killed, every tablet is followed again and knows of it."""
STATIONS = ("railing", "vanes", "stringing", "checking", "packing")


def rss_kb(pid):
    with contextlib.suppress(OSError, StopIteration):
        lines = Path(f"/proc/{pid}/status").read_text().splitlines()
        return int(next(line for line in lines if line.startswith("VmRSS")).split()[1])
    return None


class Killer:
    """Kills something every few seconds; the database as a whole is restarted once, half-way.

    From then on only the youngest page process and single connections, so that the others live long enough to show
    whether their memory grows. What pages can't be answered without is waited for.
    """

    def __init__(self, *, served, database, kept, seconds):
        self.served, self.database, self.kept, self.half = served, database, kept, time.time() + seconds / 2
        self.rng, self.restarted = random.Random(7), False  # noqa: S311 - no secret
        self.next = {False: itertools.cycle(KILLED), True: itertools.cycle(SPARING)}

    def run(self):
        while not self.kept.ending.wait(self.rng.uniform(*KILL_EVERY_S)):
            if time.time() > self.half and not self.restarted:
                self.restarted = True
                cut = self.cut("the database")
                self.database.restart()
                self.until_back(cut)
            else:
                self.kill(next(self.next[self.restarted]))

    def cut(self, what):
        cut = Cut(what, time.time())
        with self.kept.lock:
            self.kept.cuts.append(cut)
        return cut

    def kill(self, what):
        parent = self.served.running.get(what, self.served.running["pages"])
        if what == "a connection":
            pids = self.database.backends()
            pid, sign = self.rng.choice(pids) if pids else None, signal.SIGTERM
        else:
            youngest = max(children(parent.pid), default=None)
            pid, sign = youngest if what == "page process" else parent.pid, signal.SIGKILL
        if pid is None or parent.poll() is not None:
            return
        cut = self.cut(what)
        with contextlib.suppress(ProcessLookupError):
            os.kill(pid, sign)
        if what == "all pages":
            self.until_back(cut, but=parent)

    def until_back(self, cut, *, but=None):
        """Wait until the pages, begun anew instead of `but`, answer with their database."""
        give_up = cut.began + slowed(BACK_WITHIN_S)
        while (self.served.running["pages"] is but or not self.served.is_ready) and time.time() < give_up:
            time.sleep(0.1)
        cut.ended = time.time()
        if cut.ended >= give_up:
            self.kept.odd("ready", 0, f"No page {cut.ended - cut.began:.0f} s after this was cut off: {cut.what}")


def sampled(served, kept, sizes):
    while not kept.ending.wait(SAMPLE_EVERY_S):
        for name, pid in served.pids().items():
            if size := rss_kb(pid):
                sizes.setdefault(name, []).append((time.time(), size))


def main():
    # Told to end, it ends what it started first.
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))
    seconds = 60 * float(sys.argv[1] if len(sys.argv) > 1 else 30)
    with tempfile.TemporaryDirectory(prefix="railwright-soak.", dir="/tmp") as folder:
        database = Database(folder)
        try:
            said = soak(database, folder=folder, seconds=seconds)
            if not said["sound"]:
                said["logs"] = {each.stem: errors(each.read_text()) for each in Path(folder).glob("*.log")}
        finally:
            database.stop("immediate")
    (ROOT / "soak.json").write_text(json.dumps(said, indent=1))
    print(json.dumps(said, indent=1))
    print("Sound." if said["sound"] else "\n".join(["Not sound:", *said["not_sound"]]))
    sys.exit(0 if said["sound"] else 1)


def errors(log):
    """A log's last lines, without the answers that refuse something."""
    return [line for line in log.splitlines() if " WARNING " not in line][-LOG_LINES:]


def soak(database, *, folder, seconds):
    environment = {**os.environ, "DATABASE_URL": database.url, "SECRET_KEY": secrets.token_urlsafe(48)}
    # What processes leave behind that were killed goes with the folder.
    environment |= {"LOG_LEVEL": "ERROR", "OUTBOX": f"{folder}/outbox", "TMPDIR": folder}
    # Each process has settings of its own kind: the stream's are others than the pages'.
    environment.pop("DJANGO_SETTINGS_MODULE", None)
    run(sys.executable, "manage.py", "migrate", "--verbosity", "0", env=environment)
    run(sys.executable, "manage.py", "seed_demo", "--blinds", str(BLINDS), env=environment, stdout=subprocess.DEVNULL)
    mine = {"DATABASE_URL": database.onlookers_url, "DJANGO_SETTINGS_MODULE": "config.settings"}
    os.environ.update(environment | mine)
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
        until_begun(served)
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
        sizes=sizes,
        seconds=seconds,
        live=heard(followers, deaf),
        still=sum(thread.is_alive() for thread in (*threads, *following)),
    )


def until_begun(served):
    give_up = time.monotonic() + slowed(BEGUN_WITHIN_S)
    while not served.is_ready:
        if time.monotonic() > give_up:
            raise SystemExit(f"The workshop doesn't begin: {served.ready()}")
        time.sleep(1)


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


if __name__ == "__main__":
    main()

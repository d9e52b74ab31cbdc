"""What following costs: `.venv/bin/python script/live_cost.py [TABLETS [SECONDS]]`, on the workshop in DATABASE_URL.

Starts the pages and the stream of changes as script/demo does, lets so many tablets follow as static/js/live.js does,
and prints what they cost while nothing happens, and how long it takes until they show what one of them finished. It
works on the blinds that wait at railing, so give it a copy or a demo.
"""

import asyncio
import json
import os
import random
import secrets
import socket
import statistics
import subprocess
import sys
import time
import uuid
from contextlib import contextmanager
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
REST_S, SPREAD_S = 30, 0.06  # REST_MS and SPREAD_MS of static/js/live.js
SETTLE_S = 4
PATIENCE_S = 20
ROUNDS = 10
TICKS = os.sysconf("SC_CLK_TCK")


def free_port():
    with socket.create_server(("127.0.0.1", 0)) as server:
        return server.getsockname()[1]


@contextmanager
def serving():
    """The pages and the stream, each at a port of its own: {"pages": port, "stream": port, "pids": process ids}."""
    ports = {"pages": free_port(), "stream": free_port()}
    gunicorn = (
        "gunicorn",
        "config.wsgi",
        "--bind",
        f"127.0.0.1:{ports['pages']}",
        "--workers=3",
        "--no-control-socket",
    )
    stream = ("config.asgi", "--port", str(ports["stream"]))
    environment = {**os.environ, "LIVE_URL": f":{ports['stream']}/live/", "LOG_LEVEL": "ERROR"}
    environment.pop("DJANGO_SETTINGS_MODULE", None)
    started = [
        subprocess.Popen([sys.executable, "-m", *command], cwd=ROOT, env=environment, stderr=subprocess.DEVNULL)  # noqa: S603
        for command in (gunicorn, stream)
    ]
    try:
        for port in ports.values():
            wait_until_open(port)
        yield {**ports, "pids": [process.pid for process in started]}
    finally:
        for process in started:
            process.terminate()
        for process in started:
            process.wait()


def wait_until_open(port):
    for _ in range(300):
        try:
            return socket.create_connection(("127.0.0.1", port), timeout=1).close()
        except ConnectionRefusedError:
            time.sleep(0.1)
    raise SystemExit(f"Nothing answers at port {port}.")


def cpu_seconds(pids):
    """Processor time that these processes and their children have taken so far."""
    total = 0
    for path in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = path.read_text().rpartition(")")[2].split()
        except (FileNotFoundError, ProcessLookupError):
            continue
        if int(path.parent.name) in pids or int(fields[1]) in pids:
            total += int(fields[11]) + int(fields[12])
    return total / TICKS


async def request(port, line, *, cookie, form="", **headers):
    """(status, body) of one request on a connection of its own."""
    headers |= {"Host": "localhost", "Connection": "close", "HX-Request": "true", "Cookie": cookie}
    if form:
        headers |= {"Content-Type": "application/x-www-form-urlencoded", "Content-Length": str(len(form))}
    lines = [f"{line} HTTP/1.1", *(f"{name}: {value}" for name, value in headers.items()), "", form]
    reader, writer = await asyncio.open_connection("127.0.0.1", port)
    writer.write("\r\n".join(lines).encode())
    head, _, body = (await reader.read()).partition(b"\r\n\r\n")
    writer.close()
    return int(head.split()[1]), body.decode()


class Tablet:
    """One that shows the queue of `station`; `shown_at` is when its page last changed."""

    def __init__(self, *, at, station, cookie, token):
        self.at, self.station, self.cookie, self.token = at, station, cookie, token
        self.seen, self.page, self.shown_at = "", "", 0.0
        self.followed = asyncio.Event()
        self._asking = asyncio.Lock()

    async def ask(self):
        async with self._asking:
            asked = f"GET /stations/{self.station}/queue/?seen={self.seen}"
            status, body = await request(self.at["pages"], asked, cookie=self.cookie)
            if status == 200:
                self.page, self.shown_at = body, time.monotonic()
                self.seen = body.split("seen=", 1)[1][:16]
            elif status != 204:
                raise SystemExit(f"A tablet's look was answered {status}: {body[:300]}")

    async def follow(self):
        reader, writer = await asyncio.open_connection("127.0.0.1", self.at["stream"])
        writer.write(f"GET /live/?token={self.token} HTTP/1.1\r\nHost: localhost\r\n\r\n".encode())
        event = ""
        while line := await reader.readline():
            name, _, value = line.decode().strip().partition(": ")
            if name == "event":
                event = value
            elif name == "data" and self.is_concerned(event, json.loads(value)):
                await asyncio.sleep(random.random() * SPREAD_S)  # noqa: S311 - no secret
                await self.ask()
                self.followed.set()

    def is_concerned(self, event, data):
        return event == "ready" or (event == "change" and self.station in data["stations"])

    async def rest(self):
        await asyncio.sleep(random.random() * REST_S)  # noqa: S311 - no secret
        while True:
            await self.ask()
            await asyncio.sleep(REST_S)


@contextmanager
def following(tablets):
    """Let the tablets follow and rest until the block is left."""
    tasks = [asyncio.ensure_future(act) for tablet in tablets for act in (tablet.follow(), tablet.rest())]
    try:
        yield
    finally:
        for task in tasks:
            task.cancel()
        for task in tasks:
            if task.done() and not task.cancelled() and task.exception():
                raise task.exception()


async def idle_percent(tablets, *, pids, seconds):
    """Percent of one core that the servers take while the tablets follow and nothing happens."""
    with following(tablets):
        await asyncio.gather(*(tablet.followed.wait() for tablet in tablets))
        await asyncio.sleep(SETTLE_S)
        began = cpu_seconds(pids)
        await asyncio.sleep(seconds)
        return 100 * (cpu_seconds(pids) - began) / seconds


async def finish_seconds(tablets, *, maker):
    """From the press of finish at railing until a tablet shows it, for each tablet that it concerns, in each round; and
    the processor time that the servers took for it all."""
    took, cpu = [], 0.0
    concerned = [tablet for tablet in tablets if tablet.station in ("railing", "stringing")]
    with following(tablets):
        await asyncio.gather(*(tablet.followed.wait() for tablet in tablets))
        for _ in range(ROUNDS):
            code = await asyncio.to_thread(maker.nearly_finish)
            await asyncio.sleep(SETTLE_S)
            before, began = cpu_seconds(maker.at["pids"]), time.monotonic()
            status, body = await maker.finish(code)
            if status != 200:
                raise SystemExit(f"The finish was answered {status}: {body[:300]}")
            await asyncio.gather(*(shown(tablet, code, since=began) for tablet in concerned))
            took += [tablet.shown_at - began for tablet in concerned]
            cpu += cpu_seconds(maker.at["pids"]) - before
    return sorted(took), cpu


async def shown(tablet, code, *, since):
    """Wait until the tablet shows that the blind has left railing."""
    while tablet.shown_at < since or (f"row-{code}" in tablet.page) == (tablet.station == "railing"):
        await asyncio.sleep(0.05)
        if time.monotonic() > since + PATIENCE_S:
            raise SystemExit(f"A tablet at {tablet.station} doesn't show the finish.")


class Maker:
    """Somebody at railing, who records all but the last press straight away and the last one through the pages."""

    def __init__(self, *, at, person, cookie, token):
        self.at, self.person, self.cookie, self.token = at, person, cookie, token

    def nearly_finish(self):
        from django.db import connection
        from django.utils import timezone

        from production import bench, route, steps
        from production.models import Stage
        from production.record import record

        waiting = Stage.objects.queued_at(route.RAILING).filter(state=route.WAITING).select_related("blind")
        blind = waiting.order_by("pk").first().blind

        def tell(kind, **data):
            given = {"code": blind.code, "station": route.RAILING, "by": self.person, "at": timezone.now()}
            record(event_id=uuid.uuid4(), kind=kind, data=data or None, **given)

        tell(route.START)
        for key in [
            found.step.key for found in bench.read(blind=blind, station=route.RAILING).steps if found.step.must
        ]:
            entries = bench.read(blind=blind, station=route.RAILING).steps
            step = next(found.step for found in entries if found.step.key == key)
            value = step.expected if step.kind in (steps.COUNT, steps.MEASURE) else True
            tell(route.STEP, key=key, value="lot 7" if step.kind == steps.NOTE else value)
        connection.close()
        return blind.code

    async def finish(self, code):
        secret = "a" * 32
        return await request(
            self.at["pages"],
            f"POST /stations/railing/{code}/record/",
            cookie=f"{self.cookie}; csrftoken={secret}",
            form=f"kind=finish&maker={self.token}&event_id={uuid.uuid4()}",
            **{"X-CSRFToken": secret},
        )


async def measure(at, *, count, seconds, maker, token):
    def tablets(*stations):
        return [
            Tablet(at=at, station=stations[number % len(stations)], cookie=maker.cookie, token=token)
            for number in range(count)
        ]

    every = ("railing", "vanes", "stringing", "checking", "packing")
    none = await idle_percent([], pids=at["pids"], seconds=seconds)
    some = await idle_percent(tablets(*every), pids=at["pids"], seconds=seconds)
    print(f"idle for {seconds} s: {none:.2f} % of a core without tablets, {some:.2f} % with {count} that follow")
    for words, stations in (("at five stations", every), ("all at railing", ("railing",))):
        took, cpu = await finish_seconds(tablets(*stations), maker=maker)
        print(
            f"a finish with {count} tablets {words}, {ROUNDS} times: shown on {len(took) // ROUNDS} within "
            f"{statistics.median(took):.2f} s at the median, {took[int(0.95 * (len(took) - 1))]:.2f} s at p95, "
            f"{took[-1]:.2f} s at most, for {1000 * cpu / ROUNDS:.0f} ms of processor"
        )


def main():
    sys.path.insert(0, str(ROOT))
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    os.environ.setdefault("SECRET_KEY", secrets.token_urlsafe(48))
    import django

    django.setup()
    from django.conf import settings
    from django.db import connection
    from django.test import Client

    from orders.models import Person
    from production import route
    from production.models import Stage
    from production.tablets import maker_token
    from production.views.live import token

    count, seconds = ([int(given) for given in sys.argv[1:]] + [50, 60][len(sys.argv) - 1 :])[:2]
    person = next(found for found in Person.objects.all() if found.holds("maker"))
    client = Client()
    client.force_login(person)
    cookie = f"{settings.SESSION_COOKIE_NAME}={client.cookies[settings.SESSION_COOKIE_NAME].value}"
    waiting = Stage.objects.queued_at(route.RAILING).count()
    print(f"{connection.vendor}, {os.cpu_count()} cores, {waiting} blinds queued at railing")
    connection.close()
    with serving() as at:
        maker = Maker(at=at, person=person, cookie=cookie, token=maker_token(person=person))
        given = token(until=time.time() + settings.SESSION_COOKIE_AGE)
        asyncio.run(measure(at, count=count, seconds=seconds, maker=maker, token=given))


if __name__ == "__main__":
    main()

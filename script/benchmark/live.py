"""What it costs that fifty tablets follow their station, on PostgreSQL, and how soon each shows what another finished.

The pages and the stream of changes run as script/demo starts them. A tablet follows as static/js/live.js does: it hears
the stream, asks for its queue when that concerns it, and every half minute all the same. What fifty cost while nothing
happens is held against the same processes without any, in turns; a finish counts from the press of the button until a
tablet has the queue without the blind, or with it at the next station.
"""

import asyncio
import json
import os
import random
import secrets
import statistics
import time
import uuid
from contextlib import contextmanager
from pathlib import Path

from script.benchmark import alone, percentile, serving
from script.benchmark.asking import request
from script.benchmark.work import nearly_finished

TABLETS, IDLE_S, IDLE_ROUNDS, FINISHES = 50, 20, 3, 10
REST_S, SPREAD_S = 30, 0.06  # REST_MS and SPREAD_MS of static/js/live.js
SETTLE_S = 4
PATIENCE_S = 20
TICKS = os.sysconf("SC_CLK_TCK")
STATIONS = ("railing", "vanes", "stringing", "checking", "packing")


def figures():
    with serving.database("postgresql") as (url, _):
        serving.enter(url)
        serving.seed()
        port = serving.free_port()
        os.environ["LIVE_URL"] = f":{port}/live/"
        stream = serving.running("config.asgi", "--port", str(port), port=port)
        with stream as stream_pid, serving.pages() as (pages, pages_pid):
            at = {"pages": pages, "stream": port, "pids": [stream_pid, pages_pid]}
            return list(asyncio.run(_measured(at, Maker(at))))


async def _measured(at, maker):
    idle = []
    for _ in range(IDLE_ROUNDS):
        none = await idle_percent([], pids=at["pids"])
        idle.append(await idle_percent(_tablets(at, maker), pids=at["pids"]) - none)
    work = f"{TABLETS} idle live tablets for a minute: of one core more than with none"
    found = [alone(work, ours=statistics.median(idle), unit="%", at_most=3)]
    took = await finish_seconds(_tablets(at, maker), maker=maker)
    work = f"a finish seen on another tablet, {TABLETS} tablets live: p95"
    return [*found, alone(work, ours=percentile(took, 95), unit="s", at_most=1)]


def _tablets(at, maker):
    return [Tablet(at=at, station=STATIONS[number % 5], maker=maker) for number in range(TABLETS)]


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


class Tablet:
    """One that shows the queue of `station`; `shown_at` is when its page last changed."""

    def __init__(self, *, at, station, maker):
        self.at, self.station, self.cookie, self.token = at, station, maker.cookie, maker.stream
        self.seen, self.page, self.shown_at = "", "", 0.0
        self.followed = asyncio.Event()
        self._asking = asyncio.Lock()

    async def ask(self):
        async with self._asking:
            asked = f"GET /stations/{self.station}/queue/?seen={self.seen}"
            status, body = await request(self.at["pages"], asked, cookie=self.cookie, **{"HX-Request": "true"})
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


async def idle_percent(tablets, *, pids):
    """Percent of one core that the servers take while the tablets follow and nothing happens."""
    with following(tablets):
        await asyncio.gather(*(tablet.followed.wait() for tablet in tablets))
        await asyncio.sleep(SETTLE_S)
        began = cpu_seconds(pids)
        await asyncio.sleep(IDLE_S)
        return 100 * (cpu_seconds(pids) - began) / IDLE_S


async def finish_seconds(tablets, *, maker):
    """From the press of finish at railing until a tablet shows it, for each tablet that it concerns, in each round."""
    took = []
    concerned = [tablet for tablet in tablets if tablet.station in ("railing", "stringing")]
    with following(tablets):
        await asyncio.gather(*(tablet.followed.wait() for tablet in tablets))
        for _ in range(FINISHES):
            code = await asyncio.to_thread(maker.nearly_finish)
            await asyncio.sleep(SETTLE_S)
            began = time.monotonic()
            await maker.finish(code)
            await asyncio.gather(*(shown(tablet, code, since=began) for tablet in concerned))
            took += [tablet.shown_at - began for tablet in concerned]
    return took


async def shown(tablet, code, *, since):
    """Wait until the tablet shows that the blind has left railing."""
    while tablet.shown_at < since or (f"row-{code}" in tablet.page) == (tablet.station == "railing"):
        await asyncio.sleep(0.05)
        if time.monotonic() > since + PATIENCE_S:
            raise SystemExit(f"A tablet at {tablet.station} doesn't show the finish.")


class Maker:
    """Somebody at railing, who records all but the last press straight away and the last one through the pages."""

    def __init__(self, at):
        from django.conf import settings
        from django.db import connection
        from django.test import Client

        from orders.models import Person
        from production.tablets import maker_token
        from production.views.live import token

        self.person = next(each for each in Person.objects.filter(is_active=True) if each.holds("maker"))
        client = Client()
        client.force_login(self.person)
        self.at = at
        self.cookie = f"{settings.SESSION_COOKIE_NAME}={client.cookies[settings.SESSION_COOKIE_NAME].value}"
        self.stream = token(until=time.time() + settings.SESSION_COOKIE_AGE)
        self._token = maker_token(person=self.person)
        connection.close()

    def nearly_finish(self):
        from django.db import connection

        from production import route
        from production.models import Stage

        waiting = Stage.objects.queued_at(route.RAILING).filter(state=route.WAITING).select_related("blind")
        blind = waiting.order_by("pk").first().blind
        nearly_finished(blind, by=self.person)
        connection.close()
        return blind.code

    async def finish(self, code):
        secret = secrets.token_hex(16)
        path, form = f"/stations/railing/{code}/record/", f"kind=finish&maker={self._token}&event_id={uuid.uuid4()}"
        given = {"form": form, "X-CSRFToken": secret, "HX-Request": "true"}
        status, body = await request(
            self.at["pages"], f"POST {path}", cookie=f"{self.cookie}; csrftoken={secret}", **given
        )
        if status != 200:
            raise SystemExit(f"The finish was answered {status}: {body[:300]}")

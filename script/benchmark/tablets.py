"""What it costs that fifty tablets ask for their station's queue and for the sheet of their blind.

Ours: the pages as script/demo serves them, three processes, on the demo workshop. Ten tablets at each station, each
with somebody signed in, ask in turn for the queue and for the sheet of one of its last six blinds; each waits for
its answer, rests for up to five seconds and asks again. Without that rest a server had more to do than it can, and what
was measured would be the line before it. Nothing is excused: the first answers are rendered anew.

Floor: script/benchmark/bare with as many processes of the same server, on a database of its own of the same kind: a
view with Django's default middleware, one question for the rows, and Django's templates to make the same pages of them,
byte by byte (bare/copied.py), asked by as many people signed in, in the same way.
"""

import asyncio
import random
import time
from itertools import cycle

from script.benchmark import percentile, rounds, serving
from script.benchmark.asking import floor, request
from script.benchmark.bare.copied import copied

TABLETS, ROUNDS, ROUND_S, REST_S = 50, 6, 10, 5.0
BLINDS = 6
"""How many blinds the tablets of a station open: those that something happened to last."""
QUEUE, SHEET = "a station's queue", "a blind's screen"


def figures():
    with serving.database("postgresql") as (url, folder):
        serving.enter(url)
        serving.seed()
        tablets = _tablets()
        with serving.pages() as (port, _):
            pages, names = asyncio.run(_pages(port, tablets))
            with floor(url, folder, pages=pages, people=TABLETS) as (bare, filled):
                others = [
                    {
                        "cookie": cookie,
                        QUEUE: [names[path] for path in tablet[QUEUE]],
                        SHEET: [names[path] for path in tablet[SHEET]],
                    }
                    for cookie, tablet in zip(filled["cookies"], tablets, strict=True)
                ]
                asyncio.run(_require_alike(port, bare, tablets, names, filled["cookies"][0]))
                took = asyncio.run(_in_turns({"ours": (port, tablets), "floor": (bare, others)}))
    return list(_compared(took))


def _compared(took):
    for what in (QUEUE, SHEET):
        for words, percent in (("median", 50), ("p95", 95)):
            mine, under = (
                [1000 * percentile(each[what], percent) for each in took[side]] for side in ("ours", "floor")
            )
            work = f"{what}, {TABLETS} tablets asking: {words}"
            yield rounds.figure(work=work, ours=mine, floor=under, unit="ms", goal=2)


def _tablets():
    """For each tablet the cookie of whoever is signed in on it, and the paths of its queue and of its sheets."""
    from django.conf import settings
    from django.db import connection
    from django.test import Client

    from orders.models import Person
    from production import route
    from production.models import Stage

    found, people = [], list(Person.objects.filter(is_active=True))
    for place in route.STATIONS:
        at_work = cycle([person for person in people if person.holds(*place.roles)])
        for _ in range(TABLETS // len(route.STATIONS)):
            client, person = Client(), next(at_work)
            client.force_login(person)
            cookie = f"{settings.SESSION_COOKIE_NAME}={client.cookies[settings.SESSION_COOKIE_NAME].value}"
            blinds = Stage.objects.filter(station=place.key).exclude(state=route.NOT_YET).order_by("-since")[:BLINDS]
            sheets = [f"/stations/{place.key}/{stage.blind.code}/" for stage in blinds]
            found.append({"cookie": cookie, QUEUE: [f"/stations/{place.key}/queue/"], SHEET: sheets})
    connection.close()
    return found


async def _pages(port, tablets):
    """The pages of the floor, copied from ours as the first tablet sees them, and each one's path by ours."""
    pages, names = {}, {}
    for tablet in tablets:
        for path in tablet[QUEUE] + tablet[SHEET]:
            if path not in names:
                name = f"page{len(names)}"
                names[path], pages[name] = f"/{name}/", copied(await _page(port, path, tablet["cookie"]))
    return pages, names


async def _page(port, path, cookie):
    status, body = await request(port, f"GET {path}", cookie=cookie)
    if status != 200:
        raise SystemExit(f"{path} was answered {status}: {body[:300]}")
    return body


async def _require_alike(port, bare, tablets, names, cookie):
    """The floor shows what ours does: every byte but tokens and numbers, which are as long."""
    tablet = tablets[0]
    for path in tablet[QUEUE] + tablet[SHEET]:
        mine, other = await _page(port, path, tablet["cookie"]), await _page(bare, names[path], cookie)
        if len(mine) != len(other):
            raise SystemExit(f"The floor's {path} has {len(other)} characters, ours has {len(mine)}.")


async def _in_turns(sides):
    """Seconds of each answer, by side and round: {"ours": [{QUEUE: [...], SHEET: [...]}, ...], "floor": ...}."""
    took = {name: [] for name in sides}
    for _ in range(ROUNDS):
        for name, (port, tablets) in sides.items():
            took[name].append({QUEUE: [], SHEET: []})
            until = time.monotonic() + ROUND_S
            await asyncio.gather(*(_asks(port, tablet, took[name][-1], until=until) for tablet in tablets))
    return took


async def _asks(port, tablet, took, *, until):
    for what in cycle((QUEUE, SHEET)):
        await asyncio.sleep(random.random() * REST_S)  # noqa: S311 - no secret
        if time.monotonic() > until:
            return
        began = time.perf_counter()
        await _page(port, random.choice(tablet[what]), tablet["cookie"])  # noqa: S311 - no secret
        took[what].append(time.perf_counter() - began)

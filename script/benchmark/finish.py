"""What it costs that sixteen makers finish a station at the same time, on PostgreSQL, each commit on the disk.

Ours: the pages as script/demo serves them, three processes. Each client sends the form of a blind whose railing is all
entered, as a tablet does, one after the other, each a blind that nobody finished yet.

Floor: script/benchmark/bare, as many processes of the same server, in the same PostgreSQL: a view with Django's default
middleware, for somebody signed in, that inserts one row and changes another in one transaction, asked by as many
clients in the same way. What is compared is how many are answered in a second.
"""

import asyncio
import secrets
import time
import uuid

from script.benchmark import rounds, serving
from script.benchmark.asking import floor, request
from script.benchmark.copies import copies

CLIENTS, ROUNDS, A_ROUND = 16, 6, 80


def figures():
    with serving.database("postgresql") as (url, folder):
        serving.enter(url)
        serving.seed()
        codes, person, cookies = _ready()
        with (
            serving.pages() as (port, _),
            floor(url, folder, people=CLIENTS, things=ROUNDS * A_ROUND) as (bare, filled),
        ):
            ours = Ours(port, person, cookies, codes)
            took = asyncio.run(_in_turns({"ours": ours, "floor": Floor(bare, filled["cookies"], filled["things"])}))
    work = f"record a finish, {CLIENTS} clients at once (by their rate)"
    return [rounds.figure(work=work, ours=took["ours"], floor=took["floor"], unit="ms", goal=0.5, at_least=True)]


def _ready():
    """Codes of blinds at railing with everything entered, the maker who has them in hand, and session cookies."""
    from django.conf import settings
    from django.db import connection
    from django.test import Client

    from orders.models import Person
    from production import route
    from production.models import Stage
    from script.benchmark.work import nearly_finished

    person = next(each for each in Person.objects.filter(is_active=True) if each.holds("maker"))
    stage = Stage.objects.queued_at(route.RAILING).filter(state=route.WAITING).select_related("blind__order").first()
    nearly_finished(stage.blind, by=person)
    stage.blind.refresh_from_db()
    made = copies(stage.blind, count=ROUNDS * A_ROUND, first_serial=400)
    cookies = []
    for _ in range(CLIENTS):
        client = Client()
        client.force_login(person)
        cookies.append(f"{settings.SESSION_COOKIE_NAME}={client.cookies[settings.SESSION_COOKIE_NAME].value}")
    connection.close()
    return [blind.code for blind in made], person, cookies


class Ours:
    def __init__(self, port, person, cookies, codes):
        from production.tablets import maker_token

        self.port, self.cookies, self.wanted = port, cookies, iter(codes)
        self._maker = maker_token(person=person)

    def form(self, code):
        return f"/stations/railing/{code}/record/", f"kind=finish&maker={self._maker}&event_id={uuid.uuid4()}"


class Floor:
    def __init__(self, port, cookies, things):
        self.port, self.cookies, self.wanted = port, cookies, iter(things)

    def form(self, thing):
        return f"/finish/{thing}/", f"event_id={uuid.uuid4()}"


async def _in_turns(sides):
    """Milliseconds of a finish in each round: how long all of them took, by how many there were."""
    took = {name: [] for name in sides}
    for _ in range(ROUNDS):
        for name, side in sides.items():
            left = iter([next(side.wanted) for _ in range(A_ROUND)])
            began = time.perf_counter()
            await asyncio.gather(*(_sends(side, cookie, left) for cookie in side.cookies))
            took[name].append(1000 * (time.perf_counter() - began) / A_ROUND)
    return took


async def _sends(side, cookie, left):
    secret = secrets.token_hex(16)
    for wanted in left:
        path, form = side.form(wanted)
        given = {"form": form, "X-CSRFToken": secret, "HX-Request": "true"}
        status, body = await request(side.port, f"POST {path}", cookie=f"{cookie}; csrftoken={secret}", **given)
        if status != 200:
            raise SystemExit(f"{path} was answered {status}: {body[:300]}")

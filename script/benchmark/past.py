"""What years of past cost: a station's queue, the search box and the day sheet, on PostgreSQL, with 200,000 blinds that
were made before and more than two million events of theirs, against the same pages of the same workshop with 1,000.

Both are the demo workshop with copies of one packed order of it, ten blinds each, over the five years before its own
three weeks. One process answers, with a connection to one database or the other, in turns; the time is that of the
answer by the clock. Nothing that a process keeps is left over from the request before.
"""

import statistics
import time

from script.benchmark import rounds, serving

FEW, MANY, BLINDS_EACH = 70, 20_000, 10
"""Orders of before, and how many blinds each has; the demo's own are some 300."""
ROUNDS, ASKED = 7, 3
PAGES = {
    "a station's queue": ("maker", ["/stations/railing/queue/", "/stations/packing/queue/"]),
    "search": ("sales", ["/find/?q=kitchen", "/find/?q=0007", "/find/?q=nobody at all", "/find/?q=01632"]),
    "the day sheet": ("manager", ["/day/"]),
}


def figures():
    with serving.database("postgresql") as (url, _):
        serving.enter(url)
        serving.seed()
        _connect("template1")
        _execute("CREATE DATABASE many TEMPLATE postgres")
        shops = [Shop("postgres", past=FEW), Shop("many", past=MANY)]
        print(", ".join(f"{shop.blinds} blinds with {shop.events} events" for shop in shops))
        return [each for name in PAGES for each in _compared(name, *shops)]


class Shop:
    """One of the workshops, with so many orders of before."""

    def __init__(self, name, *, past):
        from django.test import Client

        from orders.models import Person
        from production.models import Blind, StationEvent

        self._name = name
        self.enter()
        copy_past(past)
        _execute("VACUUM ANALYZE")
        self.blinds, self.events = Blind.objects.count(), StationEvent.objects.count()
        self._clients, people = {}, list(Person.objects.filter(is_active=True))
        for role, _paths in PAGES.values():
            self._clients[role] = Client(headers={"host": "localhost"})
            self._clients[role].force_login(next(person for person in people if person.holds(role)))

    def enter(self):
        _connect(self._name)

    def ask(self, role, path):
        """Milliseconds of the answer, and how many queries it took."""
        from django.db import connection
        from django.test.utils import CaptureQueriesContext

        from production import queue

        queue._kept.clear()
        with CaptureQueriesContext(connection) as queries:
            began = time.perf_counter()
            answer = self._clients[role].get(path)
            took = 1000 * (time.perf_counter() - began)
        if answer.status_code not in (200, 302):
            raise SystemExit(f"{path} was answered {answer.status_code}.")
        return took, len(queries)


def _compared(name, few, many):
    role, paths = PAGES[name]
    took, queries = {few: [], many: []}, {few: [], many: []}
    for _ in range(ROUNDS + 1):
        for shop in took:
            shop.enter()
            found = [shop.ask(role, path) for _ in range(ASKED) for path in paths]
            took[shop].append(statistics.median(ms for ms, _ in found))
            queries[shop].append(max(count for _, count in found))
    # The first round warms up: plans, templates and pages of the database.
    given = {"work": f"{name} with {many.blinds} blinds of before", "unit": "ms", "goal": 1.3}
    yield rounds.figure(ours=took[many][1:], floor=took[few][1:], **given)
    asked = {"work": f"{name} with {many.blinds} blinds of before: queries", "unit": "", "goal": 1}
    yield rounds.figure(ours=queries[many][1:], floor=queries[few][1:], **asked)


def copy_past(count):
    """`count` orders with their blinds, stages and events, all of one packed blind of the demo, over five years."""
    from django.db.models import Max

    from orders.models import Order, OrderLine
    from production import route
    from production.models import Blind, Stage, StationEvent

    packed = Stage.objects.filter(station=route.PACKING, state=route.DONE)
    blind = packed.select_related("blind__order").order_by("since").first().blind
    base = Order.objects.aggregate(last=Max("number"))["last"]
    ago = f"make_interval(days => 40 + n * 1800 / {count})"
    of_past = f"o.number > {base}"
    _copied(
        Order,
        f"source.id = {blind.order_id}",
        f"generate_series(1, {count}) n",
        number=f"{base} + n",
        state="'collected'",
        due_on=f"source.due_on - (40 + n * 1800 / {count})",
        state_since=f"source.state_since - {ago}",
        entered_at=f"source.entered_at - {ago}",
    )
    _copied(OrderLine, f"source.id = {blind.line_id} AND {of_past}", "orders_order o", order_id="o.id")
    serials = (
        f"orders_order o JOIN orders_orderline l ON l.order_id = o.id CROSS JOIN generate_series(1, {BLINDS_EACH}) s"
    )
    back = "(source.released_at - (SELECT state_since FROM orders_order WHERE id = source.order_id) + o.state_since)"
    _copied(
        Blind,
        f"source.id = {blind.pk} AND {of_past}",
        serials,
        order_id="o.id",
        line_id="l.id",
        serial="s",
        code="lpad(o.number::text, 6, '0') || lpad(s::text, 3, '0') || '0'",
        released_at=back,
    )
    shifted = "production_blind b JOIN orders_order o ON o.id = b.order_id"
    lag = f"(SELECT released_at FROM production_blind WHERE id = {blind.pk})"  # noqa: S608 - a key
    _copied(
        Stage,
        f"source.blind_id = {blind.pk} AND {of_past}",
        shifted,
        blind_id="b.id",
        since=f"source.since - {lag} + b.released_at",
    )
    kinds = "source.kind IN ('release', 'start', 'finish')"
    _copied(
        StationEvent,
        f"source.blind_id = {blind.pk} AND {kinds} AND {of_past}",
        shifted,
        blind_id="b.id",
        event_id="gen_random_uuid()",
        at=f"source.at - {lag} + b.released_at",
    )


def _copied(model, where, beside, **given):
    """Insert copies of the rows of `model`, each with what `given` says instead, by one statement."""
    columns = [field.column for field in model._meta.concrete_fields if not field.primary_key]
    shown = ", ".join(given.get(column, f'source."{column}"') for column in columns)
    named = ", ".join(f'"{column}"' for column in columns)
    table = model._meta.db_table
    _execute(f"INSERT INTO {table} ({named}) SELECT {shown} FROM {table} source CROSS JOIN {beside} WHERE {where}")  # noqa: S608 - names of our own


def _connect(name):
    """Go on with the database called `name`."""
    from django.db import connection

    connection.close()
    connection.settings_dict["NAME"] = name


def _execute(sql):
    from django.db import connection

    with connection.cursor() as cursor:
        cursor.execute(sql)

"""What finding costs: `.venv/bin/python script/find_bench.py [ORDERS]`, on the empty database that DATABASE_URL names.

Fills it with so many orders (100,000) of four lines each, the newest with their blinds, and asks the search box some
forty things as sales would, the page that opens included. Prints how long the answers take, their processor time (the
database's too, where it runs on this machine) and their queries. On a database that has orders it measures those.
"""

import datetime as dt
import os
import random
import statistics
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PICK = random.Random(412)  # noqa: S311 - no secret
AT_ONCE = 2000
OPEN, WITH_BLINDS = 500, 6000  # of the newest orders
ROUNDS = 3
STARTS = [
    "Mar",
    "Lind",
    "Hal",
    "Ost",
    "Brey",
    "Tam",
    "Péra",
    "Kö",
    "Mül",
    "Gar",
    "Esk",
    "Fen",
    "Ny",
    "Rau",
    "Wex",
    "Tor",
]
ENDS = ["low", "den", "ford", "ler", "wick", "bury", "mann", "sen", "quist", "ton", "gate", "ard", "øe", "łas", "ßer"]
FIRST = ["Anna", "Bea", "Dov", "Emil", "Greta", "Hugo", "Ines", "Jan", "Kai", "Mara", "Olga", "Pia", "Tomas", "Zoë"]
KINDS = ["", " Interiors", " & Sons", " Letting", " Court", " Homes", " Clinic"]
ROOMS = ["Kitchen", "Bedroom", "Bathroom", "Living room", "Office", "Hall", "Study", "Ward", "Classroom", "Bay"]


def customers(count):
    from orders.models import Customer

    for number in range(count):
        name, first = PICK.choice(STARTS) + PICK.choice(ENDS), PICK.choice(FIRST)
        trade = PICK.random() < 0.3
        local = f"{PICK.randint(100, 9999)} {PICK.randint(100, 999)} {PICK.randint(1000, 9999)}"
        yield Customer(
            name=f"{name}{PICK.choice(KINDS)}" if trade else f"{first} {name}",
            contact=f"{PICK.choice(FIRST)} {PICK.choice(STARTS)}{PICK.choice(ENDS)}" if trade else "",
            phone=("+44 " if PICK.random() < 0.3 else "0") + local,
            email=f"{first}.{number}@example.org".lower(),
            trade=trade,
        )


def orders(count, keys, by):
    from orders.models import Order

    now = dt.datetime.now(dt.UTC)
    for number in range(1, count + 1):
        states = ["draft", "confirmed", "released", "ready"] if number > count - OPEN else ["collected", "delivered"]
        at = now - dt.timedelta(days=(count - number) * 3000 // count)
        yield Order(
            number=number,
            # Some customers order again and again.
            customer_id=keys[int(len(keys) * PICK.random() ** 3)],
            reference=f"PO-{PICK.randint(1000, 99999)}/{PICK.choice('ABC')}" if PICK.random() < 0.4 else "",
            due_on=(at + dt.timedelta(days=14)).date(),
            state=PICK.choice(states),
            state_since=at,
            entered_by=by,
            entered_at=at,
        )


def lines(keys, system, fabric):
    from orders.models import OrderLine

    made = {"width_mm": 1830, "drop_mm": 1600, "size_basis": "recess", "vane_width_mm": 89, "draw": "split"}
    made |= {"hand": "left", "operation": "cord_chain", "loop_control": "tensioner", "chain": "metal"}
    for key in keys:
        for position in range(1, 5):
            room = PICK.choice(ROOMS) + (f" {PICK.randint(1, 40)}" if PICK.random() < 0.5 else "")
            yield OrderLine(order_id=key, position=position, room=room, system=system, fabric=fabric, **made)


def blinds(wanted, spec, figures, revision):
    from production import codes
    from production.models import Blind

    for order in wanted:
        for serial, line in enumerate(order.lines.all(), start=1):
            yield Blind(
                order=order,
                line=line,
                serial=serial,
                code=codes.ticket_code(order_number=order.number, serial=serial),
                room=line.room,
                fabric="Linden chalk, 89 mm",
                spec=spec,
                components=figures,
                revision=revision,
                released_at=order.state_since,
            )


def stages(made, people):
    from production import route
    from production.models import Stage

    for blind in made:
        every = len(route.STATIONS)
        reached = PICK.randint(0, every - 1) if blind.order.state == "released" else every
        for index, place in enumerate(route.STATIONS):
            states = (
                [route.WAITING, route.IN_HAND]
                if index == reached
                else [route.DONE if index < reached else route.NOT_YET]
            )
            state = PICK.choice(states)
            person = PICK.choice(people) if state in (route.DONE, route.IN_HAND) else None
            yield Stage(blind=blind, station=place.key, state=state, person=person, since=blind.released_at)


def written(model, rows):
    """Write `rows` a few thousand at a time, and hand back their keys."""
    keys, batch = [], []
    for row in rows:
        batch.append(row)
        if len(batch) == AT_ONCE:
            keys += [each.pk for each in model.objects.bulk_create(batch)]
            batch = []
    return keys + [each.pk for each in model.objects.bulk_create(batch)]


def furnish(count):
    from calc.components import components
    from calc.system import DEMO_38
    from orders.models import Customer, Fabric, HardwareSystem, Order, OrderLine, Person, SystemRevision
    from orders.spec import spec_of
    from production.models import Blind, Stage

    at = dt.datetime(2026, 3, 4, 9, 0, tzinfo=dt.UTC)
    sales = Person.objects.create_user("nora", roles=["sales"], first_name="Nora")
    makers = [Person.objects.create_user(name, roles=["maker"], first_name=name) for name in ("Mara", "Tomasz", "Ines")]
    system = HardwareSystem.objects.create(code="demo-38", name="Demo 38")
    book = {"state": "published", "published_at": at, "constants": DEMO_38.to_dict()}
    revision = SystemRevision.objects.create(system=system, number=1, **book)
    cloth = {"name": "Linden", "colour": "chalk", "vane_width_mm": 89, "weight_g_per_m2": 240}
    fabric = Fabric.objects.create(code="linden-89", **cloth)
    keys = written(Customer, customers(max(count * 3 // 10, 10)))
    made = written(Order, orders(count, keys, sales))
    written(OrderLine, lines(made, system, fabric))
    spec = spec_of(OrderLine.objects.select_related("system", "fabric").first(), market="en13120")
    figures = components(spec, systems={"demo-38": DEMO_38})
    released = Order.objects.filter(number__gt=count - WITH_BLINDS).exclude(state__in=("draft", "confirmed"))
    written(Blind, blinds(released.prefetch_related("lines"), spec, figures, revision))
    written(Stage, stages(Blind.objects.select_related("order").defer("components", "spec"), makers))


def asked():
    """Some forty things as sales would type them: handles of orders that there are, and what nobody has."""
    from orders.models import Order
    from production.models import Blind

    last = Order.objects.newest_first().first().number
    for share in (1.0, 0.9, 0.5, 0.1):
        order = Order.objects.exclude(reference="").filter(number__lte=max(int(last * share), 1)).newest_first().first()
        customer, room = order.customer, order.lines.first().room
        yield from (str(order.number), f"{order.number:04d}", customer.name, customer.name.lower().split()[-1])
        yield from (customer.phone, customer.phone.replace(" ", ""), customer.email, order.reference)
        yield from (f"{customer.name.split()[-1]} {room}", customer.phone[-4:])
    blind = Blind.objects.with_order().order_by("-pk").first()
    yield from ("kitchen", "a", "e", "example", "muller", "marlow ward 12", "nobody at all", "+44 20 7946 0101", "%")
    yield from ([blind.code, blind.number, f"{blind.order.number:04d}-99"] if blind else [])


def processor_seconds():
    """What this process has taken so far, and on PostgreSQL the one that serves its connection."""
    from django.db import connection

    own = time.process_time()
    if connection.vendor != "postgresql":
        return own
    stat = Path(f"/proc/{connection.connection.info.backend_pid}/stat")
    fields = stat.read_text().rpartition(")")[2].split() if stat.exists() else [0] * 13
    return own + (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def measured(client, text):
    """Seconds of each round, processor seconds of a round, and queries of the answer."""
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    connection.ensure_connection()
    took, before = [], processor_seconds()
    for _ in range(ROUNDS):
        began = time.perf_counter()
        answer = client.get("/find/", {"q": text}, follow=True, headers={"host": "localhost"})
        took.append(time.perf_counter() - began)
        if answer.status_code != 200:
            raise SystemExit(f"{text!r} was answered {answer.status_code}.")
    processor = (processor_seconds() - before) / ROUNDS
    with CaptureQueriesContext(connection) as queries:
        client.get("/find/", {"q": text}, headers={"host": "localhost"})
    return took, processor, len(queries)


def main():
    sys.path.insert(0, str(ROOT))
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    import django

    django.setup()
    from django.core.management import call_command
    from django.db import connection
    from django.test import Client

    from orders.models import Order, OrderLine, Person
    from production.models import Blind

    call_command("migrate", verbosity=0)
    if not Order.objects.exists():
        furnish(int(sys.argv[1]) if len(sys.argv) > 1 else 100_000)
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")
    counts = [model.objects.count() for model in (Order, OrderLine, Blind)]
    print(f"{connection.vendor}: {counts[0]} orders, {counts[1]} lines, {counts[2]} blinds")
    print(f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}")
    client = Client()
    client.force_login(next(found for found in Person.objects.all() if found.holds("sales")))
    client.get("/find/", {"q": "nobody"}, headers={"host": "localhost"})
    rows = [(text, *measured(client, text)) for text in asked()]
    for text, took, processor, queries in sorted(rows, key=lambda row: -row[2]):
        answer = 1000 * statistics.median(took)
        print(f"{answer:6.0f} ms, processor {1000 * processor:4.0f} ms, {queries:2d} queries  {text}")
    told("answer", [second for _, took, *_ in rows for second in took])
    told("processor", [processor for _, _, processor, _ in rows])
    print(f"{len(rows)} things asked, {ROUNDS} times each; {max(row[3] for row in rows)} queries at most")


def told(name, seconds):
    every = sorted(1000 * each for each in seconds)
    p95 = every[int(0.95 * (len(every) - 1))]
    print(f"{name}: p50 {statistics.median(every):.0f} ms, p95 {p95:.0f} ms, at most {every[-1]:.0f} ms")


if __name__ == "__main__":
    main()

"""A customer's file of 10,000 rows, looked at and taken in, beside reading it and one bulk insert.

Ours: the file is kept, its page asked for, and taken in from that page by a worker, as sales do it, on SQLite.
Floor: the same library reads the same bytes to Python values, and one bulk_create writes as many rows of the same
columns to a table without constraints. A block of flats has some hundred kinds of windows: so has the file, and
another has none twice. Of the processor's time, the reader's own process included: how long the disk takes to write is
not in it.
"""

import datetime as dt
import io
import json
import os
import random
import re
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
ROWS, ORDERS, GOAL = 10_000, 100, 3
ROUNDS = 5
KINDS = 400
PICK = random.Random(38)  # noqa: S311 - no secret
ROOMS = ("Kitchen", "Bedroom", "Bath", "Office", "Hall", "Study", "Ward", "Bay")


def figures() -> list[dict]:
    """In a process of its own, on an empty database of its own."""
    with tempfile.TemporaryDirectory() as folder:
        there = os.environ | {"DATABASE_URL": f"sqlite:///{folder}/imports.sqlite3", "DEBUG": "1"}
        command = [sys.executable, "-m", "script.benchmark.imports", "--json"]
        done = subprocess.run(command, cwd=ROOT, env=there, check=True, stdout=subprocess.PIPE)  # noqa: S603 - our own
    return json.loads(done.stdout)


def _measured():
    import django

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    django.setup()
    from django.core.management import call_command

    call_command("migrate", verbosity=0)
    desk = _desk()
    block, varied = list(_rows(ROWS, kinds=KINDS)), list(_rows(ROWS, kinds=ROWS))
    return [
        _figure("spreadsheet", _workbook(block), desk, f"{KINDS} kinds of blind"),
        _figure("CSV", _text(block), desk, f"{KINDS} kinds of blind"),
        _figure("CSV", _text(varied), desk, "no blind twice"),
    ]


def _figure(kind, content, desk, of):
    from script.benchmark.rounds import figure, in_turns

    bare = _bare_table()
    parts = {}

    def floor():
        _read(content, kind)
        from django.db import transaction

        with transaction.atomic():
            bare.objects.bulk_create([bare(**each) for each in desk.values])

    def ours():
        for name, took in desk.taken_in(content, kind).items():
            parts.setdefault(name, []).append(took)

    desk.taken_in(content, kind)
    desk.values = _values_of(ROWS)
    found = in_turns({"floor": floor, "ours": ours}, rounds=ROUNDS)
    for name, took in parts.items():
        said = ", ".join(f"{each.processor:.2f} ({each.seconds:.2f} by the clock)" for each in took)
        print(f"{kind}, {of}: {name}: {said} s", file=sys.stderr)
    return figure(
        work=f"a {kind} of {ROWS} rows, {of}, looked at and taken in",
        ours=[each.processor for each in found["ours"]],
        floor=[each.processor for each in found["floor"]],
        unit="s",
        goal=GOAL,
    )


def _read(content, kind):
    """The floor's reading: to Python values, and nothing looked at."""
    if kind == "CSV":
        import csv

        return list(csv.reader(io.StringIO(content.decode(), newline="")))
    import python_calamine

    book = python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(content))
    return book.get_sheet_by_index(0).to_python()


class _Desk:
    """Sales at the desk, who takes a file in by its pages."""

    def __init__(self, client, customer):
        self.client, self.customer, self.values = client, customer, []

    def taken_in(self, content, kind):
        """What each step takes."""
        from django.urls import reverse

        from orders.models import CustomersFile, OrderLine
        from script.benchmark.rounds import spent_on_part

        CustomersFile.objects.all().delete()
        given = io.BytesIO(content)
        given.name = f"block.{'csv' if kind == 'CSV' else 'xlsx'}"
        found = {}
        files = reverse("files", args=[self.customer.pk])
        found["kept"] = spent_on_part(lambda: self._post(files, {"file": given}, 302))
        file = CustomersFile.objects.waiting().get()
        shown = []
        found["looked at"] = spent_on_part(lambda: shown.append(self.client.get(file.get_absolute_url())))
        if b'value="take"' not in shown[0].content:
            raise SystemExit("The file isn't ready to be taken in.")
        chosen = self._chosen(shown[0].content.decode(), file)
        lines = OrderLine.objects.count()
        found["taken in"] = spent_on_part(lambda: self._taken(file, chosen))
        if OrderLine.objects.count() != lines + ROWS:
            raise SystemExit("The file was not taken in.")
        return found

    def _taken(self, file, chosen):
        """Asked for on the page, and done by a worker; a worker's start is no part of it."""
        from orders import worker

        self._post(file.get_absolute_url(), chosen, 302)
        worker.serve(until_nothing_waits=True)

    def _chosen(self, page, file):
        """The page's form as it is shown, and the button that takes the file in."""
        from orders.file_forms import initial_of, shown_choices
        from orders.importing import taking

        sound = re.search(r'name="sound" value="([^"]+)"', page)
        shown = shown_choices(taking.laid_out(file), file.choices, due_on=dt.date.today() + dt.timedelta(days=30))
        return {name: value for name, value in initial_of(shown).items() if value is not None} | {
            "then": "take",
            "sound": sound[1] if sound else "",
        }

    def _post(self, address, given, status):
        answer = self.client.post(address, given)
        if answer.status_code != status:
            raise SystemExit(f"{address} answered {answer.status_code} in place of {status}: {answer.content[:2000]!r}")


def _desk():
    from django.conf import settings
    from django.test import Client

    from calc.system import DEMO_38
    from orders.models import Customer, Fabric, HardwareSystem, Person, SystemRevision

    settings.ALLOWED_HOSTS = ["testserver"]
    now = dt.datetime.now(dt.UTC)
    person = Person.objects.create_user(username="desk", password="a-long-passphrase", roles=["sales"])  # noqa: S106
    system = HardwareSystem.objects.create(code="demo-38", name="Demo 38")
    SystemRevision.objects.create(
        system=system, number=1, state="published", published_at=now, constants=DEMO_38.to_dict()
    )
    for number in range(20):
        Fabric.objects.create(
            code=f"lin-{number}",
            name="Linden",
            colour=f"shade {number}",
            weight_g_per_m2=150 + 5 * number,
            vane_width_mm=89 if number % 2 else 127,
        )
    client = Client()
    client.force_login(person)
    return _Desk(client, Customer.objects.create(name="Marlow Court Interiors"))


def _rows(count, *, kinds):
    heads = ["Reference", "Room", "Quantity", "Width", "Drop", "Size basis", "Fabric", "Draw", "Hand", "Operation"]
    yield [*heads, "Loop control", "Chain", "Fixing", "Bottom"]
    made = [_kind() for _ in range(kinds)]
    for number in range(count):
        kind = made[number] if kinds == count else PICK.choice(made)
        room = f"{PICK.choice(ROOMS)} {number % 40 + 1}"
        yield [f"Block {number * ORDERS // count + 1}", room, PICK.randint(1, 3), *kind]


def _kind():
    looped = PICK.random() < 0.8
    return [
        PICK.randint(400, 3800),
        PICK.randint(500, 2600),
        PICK.choice(["recess", "exact"]),
        f"lin-{PICK.randrange(20)}",
        PICK.choice(["one way", "split"]),
        PICK.choice(["left", "right"]),
        "cord and chain" if looped else "wand",
        *(["tensioner", PICK.choice(["plastic", "metal"])] if looped else ["", ""]),
        PICK.choice(["top", "face"]),
        PICK.choice(["chain", "chainless"]),
    ]


def _workbook(rows):
    import xlsxwriter

    kept = io.BytesIO()
    with xlsxwriter.Workbook(kept, {"in_memory": True}) as book:
        sheet = book.add_worksheet()
        for number, row in enumerate(rows):
            sheet.write_row(number, 0, row)
    return kept.getvalue()


def _text(rows):
    import csv

    written = io.StringIO(newline="")
    csv.writer(written).writerows(rows)
    return written.getvalue().encode()


def _bare_table():
    """A table with the columns of a line, and no more than that: no constraint, no index, no other table named."""
    from django.apps import apps
    from django.db import connection, models

    from orders.models import OrderLine

    if "bareline" in apps.all_models["orders"]:
        return apps.get_model("orders", "BareLine")
    kinds = (models.CharField, models.TextField, models.DecimalField, models.JSONField, models.PositiveIntegerField)
    columns = {"__module__": "orders.models", "Meta": type("Meta", (), {"app_label": "orders"})}
    for each in OrderLine._meta.concrete_fields:
        if each.primary_key:
            continue
        if each.is_relation:
            columns[each.attname] = models.BigIntegerField()
            continue
        kind = next(kind for kind in kinds if isinstance(each, kind))
        given = {"null": each.null, "max_length": each.max_length}
        if kind is models.DecimalField:
            given |= {"max_digits": each.max_digits, "decimal_places": each.decimal_places}
        columns[each.attname] = kind(**given)
    made = type("BareLine", (models.Model,), columns)
    with connection.schema_editor() as editor:
        editor.create_model(made)
    return made


def _values_of(rows):
    from orders.models import OrderLine

    names = [each.attname for each in OrderLine._meta.concrete_fields if not each.primary_key]
    found = list(OrderLine.objects.order_by("-pk").values(*names)[:rows])
    if len(found) != rows:
        raise SystemExit(f"{len(found)} lines are there in place of {rows}: nothing to compare with.")
    return found


if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))
    print(json.dumps(_measured() if "--json" in sys.argv else figures(), indent=1))

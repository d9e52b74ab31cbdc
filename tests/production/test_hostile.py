"""Whatever is sent to any address by anybody: no answer of 500 and above, and nothing written that should not be.

Most requests are the site's own forms filled in badly; others are wrong in method, headers, cookies, body, file or
address. What asks to see, and what is refused, leaves every table as it was, but for who was signed in, who saw what
and who tried. HOSTILE_REQUESTS sets how many are sent in each one's name, HOSTILE_SEED where they begin;
HOSTILE_MINUTES sends for so long instead, as `script/fuzz` does.
"""

import os
import random
import time
import traceback
from collections import Counter
from contextlib import contextmanager
from hashlib import sha256
from io import BytesIO
from urllib.parse import unquote_to_bytes, urlsplit

import pytest
from django.apps import apps
from django.db import connection, transaction
from django.test import Client
from django.urls import reverse
from django.utils.encoding import iri_to_uri

from orders import roles
from tests import factories, hostile
from tests.hostile import Form, Sender
from tests.orders.who_may_open import patterns
from tests.tablets import at_the_bench
from tests.whole_workshop import names_in_addresses

pytestmark = pytest.mark.django_db

REQUESTS = int(os.environ.get("HOSTILE_REQUESTS", 30))
MINUTES = float(os.environ.get("HOSTILE_MINUTES", 0))
SEED = int(os.environ.get("HOSTILE_SEED", 4021))
NOBODY, EVERYTHING, BENCH = "nobody", "every role", "a badge"
WHO = (NOBODY, *roles.ROLE_NAMES, EVERYTHING, BENCH)
PAPERS = (".pdf", ".xlsx")
"""What takes long to lay out and holds no form."""
SLOWEST_S = 20
# What may be written by whoever only asks: who is signed in, who saw what, and that somebody tried.
SET_ASIDE = {"orders_session", "orders_signintries", "orders_auditentry", "django_session"}
SET_ASIDE_COLUMNS = {
    "orders_person": {"wrong_pins", "pin_waits_until", "last_login"},
    "production_tablet": {"tries_until"},
}
WRITES = ("INSERT", "UPDATE", "DELETE", "REPLACE")


class Tables:
    """A print of every table, taken anew only after something was written."""

    def __init__(self):
        self.now, self.touched = None, True
        self.columns = {}
        for model in apps.get_models(include_auto_created=True):
            name = model._meta.db_table
            if name not in SET_ASIDE and model._meta.managed:
                left = SET_ASIDE_COLUMNS.get(name, set())
                self.columns[name] = [
                    each.column for each in model._meta.local_concrete_fields if each.column not in left
                ]

    def watch(self, execute, sql, params, many, context):
        self.touched |= sql.lstrip().upper().startswith(WRITES)
        return execute(sql, params, many, context)

    def print(self):
        if self.touched:
            self.now, self.touched = {name: self._print_of(name) for name in self.columns}, False
        return self.now

    def _print_of(self, name):
        columns = ", ".join(map(connection.ops.quote_name, self.columns[name]))
        with connection.cursor() as cursor:
            cursor.execute(f"SELECT {columns} FROM {connection.ops.quote_name(name)} ORDER BY 1")  # noqa: S608 - our own names
            return sha256(repr(cursor.fetchall()).encode("utf-8", "surrogatepass")).hexdigest()


@contextmanager
def taken_back():
    """Whatever is written inside is taken back at the end."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


class Campaign:
    """Requests in one name, to every address there is, and what went wrong with them."""

    def __init__(self, who, *, variants, rng):
        self.who, self.variants, self.rng, self.sender = who, variants, rng, Sender(rng)
        self.tables, self.answers, self.wrong, self.slowest = Tables(), Counter(), {}, (0.0, None)
        self.forms, self.patterns = [], [each for each in patterns() if each.name]
        self.client = Client()
        self.sign_in()

    @property
    def widely(self):
        """With how many values in an address its forms are read: in a long campaign with all."""
        return len(self.variants) if MINUTES else 2 if self.who == EVERYTHING else 1

    def sign_in(self):
        if self.who != BENCH:
            self.client.cookies.clear()
        if self.who == BENCH:
            at_the_bench(self.client, factories.person(*roles.ROLE_NAMES))
        elif self.who == EVERYTHING:
            self.client.force_login(factories.person(*roles.ROLE_NAMES))
        elif self.who != NOBODY:
            self.client.force_login(factories.person(self.who))

    def read_forms(self):
        """Every form of every page that opens."""
        for pattern in self.patterns:
            for arguments in self.variants[: self.widely if pattern.pattern.converters else 1]:
                page = self.address(pattern, arguments)
                if page.endswith(PAPERS):
                    continue
                answer = self.client.get(page)
                if answer.headers.get("Content-Type", "").startswith("text/html") and not answer.streaming:
                    self.forms += hostile.forms_on(answer.content.decode(), page=page)
        leaving = reverse("sign-out")
        self.forms = [form for form in self.forms if not form.address.startswith(leaving)] or [Form(reverse("sign-in"))]

    def address(self, pattern, arguments):
        return reverse(pattern.name, kwargs={name: arguments[name] for name in pattern.pattern.converters})

    def go(self, *, requests=0, until=0.0):
        """So many requests, or until a time. Every sixty, what was written is taken back and somebody signs in anew."""
        left = requests
        while left > 0 or time.monotonic() < until:
            with taken_back():
                self.sign_in()
                self.tables.touched = True
                with connection.execute_wrapper(self.tables.watch):
                    for _ in range(min(60, left) if left > 0 else 60):
                        self.one()
            left -= 60

    def one(self):
        form = self.rng.choice(self.forms) if self.rng.random() < 0.65 else None
        self.send(*(self.of_form(form) if form else self.of_any_address()))

    def of_form(self, form):
        if form.method == "GET":
            sent = hostile.encoded(self.sender.changed(form.fields))
            return "GET", form.address.partition("?")[0], sent, "", b""
        path, _, query = form.address.partition("?")
        return "POST", path, query, *self.sender.form_body(form)

    def of_any_address(self):
        rng, pattern = self.rng, self.rng.choice(self.patterns)
        arguments = dict(rng.choice(self.variants))
        if rng.random() < 0.3:
            return rng.choice(hostile.METHODS[:2]), self.wrong_address(pattern), self.sender.query(), "", b""
        path = self.address(pattern, arguments)
        if path.endswith(PAPERS) and rng.random() < 0.9:
            return self.of_any_address()
        if rng.random() < 0.5:
            return "GET", path, self.sender.query(), "", b""
        method = rng.choice(hostile.METHODS) if rng.random() < 0.5 else "POST"
        return method, path, self.sender.query(), *self.sender.body()

    def wrong_address(self, pattern):
        """The address of `pattern` with values in it that lead nowhere, as far as they fit it."""
        rng = self.rng
        if rng.random() < 0.1:
            return "/" + hostile.in_path(self.sender.value())
        names = pattern.pattern.converters
        numbers = ("0", "9" * 30, "9223372036854775808", "2147483648", "00001")
        path = self.address(pattern, rng.choice(self.variants))
        for name, converter in names.items():
            known = {str(each[name]) for each in self.variants}
            values = (
                numbers if type(converter).__name__ == "IntConverter" else (hostile.in_path(self.sender.value()[:300]),)
            )
            for old in known:
                path = path.replace(f"/{old}/", f"/{rng.choice(values)}/", 1) if rng.random() < 0.7 else path
        return path

    def send(self, method, path, query, content_type, body):
        before, began = self.tables.print(), time.monotonic()
        headers = self.sender.headers()
        request = {
            "REQUEST_METHOD": method,
            "PATH_INFO": path_info(path),
            "QUERY_STRING": iri_to_uri(query),
            "wsgi.input": BytesIO(body),
            "CONTENT_LENGTH": str(len(body)),
            "CONTENT_TYPE": hostile.latin(content_type),
            **headers,
        }
        told = f"{self.who}: {method} {path[:200]}?{query[:300]} {headers} {content_type} {body[:400]!r}"
        try:
            with transaction.atomic():
                answer = self.client.request(**request)
        except Exception as error:
            self.tables.touched = True
            return self.wrong.setdefault(place_of(error), f"{told}\n{said_of(error)}")
        took = time.monotonic() - began
        self.slowest = max(self.slowest, (took, told))
        self.answers[method if method in ("GET", "POST") else "other", answer.status_code] += 1
        if answer.status_code >= 500 or took > SLOWEST_S:
            self.wrong.setdefault((path, answer.status_code), f"{told}\n{answer.status_code} after {took:.1f} s")
        if method != "POST" or answer.status_code >= 400 or leads_to_signing_in(answer):
            self.require_same(before, answer, told)

    def require_same(self, before, answer, told):
        now = self.tables.print()
        changed = {name for name in now if now[name] != before[name]}
        match = answer.wsgi_request.resolver_match
        name = match.view_name if match else ""
        if changed and name not in NUMBERS_WHEN_ASKED:
            self.wrong.setdefault((name, *sorted(changed)), f"{told}\n{answer.status_code} wrote to {sorted(changed)}")


# Holds orders against what it told last time, and numbers what differs.
NUMBERS_WHEN_ASKED = {"api-changes"}


def path_info(path):
    return unquote_to_bytes(urlsplit(f"http://here{path}").path).decode("latin-1")


def place_of(error):
    """What it was and where in our own code, or in the last one's that it reached."""
    frames = traceback.extract_tb(error.__traceback__)
    own = [frame for frame in frames if "/.venv/" not in frame.filename and "/tests/" not in frame.filename]
    frame = (own or frames)[-1]
    return type(error).__name__, frame.filename, frame.lineno


def said_of(error):
    """The error with where it was raised, ours first: pages of Django's say little."""
    frames = [f"{frame.filename}:{frame.lineno} {frame.line}" for frame in traceback.extract_tb(error.__traceback__)]
    own = [frame for frame in frames if "/.venv/" not in frame and "/tests/" not in frame]
    return "\n".join([f"{type(error).__name__}: {error}"[:600], *own[-3:], *frames[-3:]])


def leads_to_signing_in(answer):
    return answer.status_code == 302 and answer.headers.get("Location", "").startswith(reverse("sign-in"))


@pytest.fixture
def variants(db, settings, tmp_path):
    settings.EMAIL_FILE_PATH = tmp_path / "outbox"
    return names_in_addresses(factories.person(*roles.ROLE_NAMES))


@pytest.mark.parametrize("who", WHO)
def test_nothing_that_is_sent_breaks_a_page_or_writes_what_it_should_not(who, variants):
    campaign = Campaign(who, variants=variants, rng=random.Random(f"{SEED} {who}"))
    with taken_back():
        campaign.read_forms()
    campaign.go(requests=0 if MINUTES else REQUESTS, until=time.monotonic() + 60 * MINUTES / len(WHO))
    print(
        who,
        len(campaign.forms),
        "forms;",
        dict(campaign.answers),
        f"slowest {campaign.slowest[0]:.1f} s:",
        campaign.slowest[1][:300],
    )
    if campaign.wrong:
        pytest.fail("\n\n".join(campaign.wrong.values()), pytrace=False)
    assert len({status for _, status in campaign.answers}) > 2

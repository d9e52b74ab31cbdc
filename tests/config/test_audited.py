"""Whoever saw what of customers and orders is on record, once an hour; and of every page it is said whom it shows."""

import datetime as dt

import pytest
from django.db import DatabaseError
from django.urls import reverse
from django.utils import timezone

from config import audited
from orders import api_keys, audit
from orders.models import AuditEntry
from tests import factories
from tests.orders.on_record import sole, told
from tests.orders.who_may_open import ALLOWED, BY_KEY, patterns

pytestmark = pytest.mark.django_db


def test_an_order_and_a_customer_that_were_seen_are_told_once_an_hour(client, monkeypatch):
    nora = factories.person("sales", name="nora")
    client.force_login(nora)
    order = factories.order(by=nora)
    for _ in range(3):
        client.get(reverse("order", args=[order.number]))
        client.get(reverse("lines", args=[order.number]), follow=True)
        client.get(reverse("customer", args=[order.customer_id]))
    assert sole("saw", kind="order").thing == str(order.number)
    assert sole("saw", kind="customer").thing == str(order.customer_id)
    # Another process has told it already: the second one finds out by the unique column.
    audit.told.clear()
    client.get(reverse("order", args=[order.number]))
    assert len(told("saw", kind="order")) == 1
    at = timezone.now() + dt.timedelta(hours=1)
    monkeypatch.setattr("django.utils.timezone.now", lambda: at)
    client.get(reverse("order", args=[order.number]))
    assert len(told("saw", kind="order")) == 2


def test_of_a_search_it_is_told_how_much_was_seen_and_not_what_was_sought(client):
    nora = factories.person("sales", name="nora")
    client.force_login(nora)
    for _ in range(3):
        factories.order(by=nora, reference="Seaview Terrace")
    for _ in range(2):
        client.get(reverse("find"), {"q": "seaview"})
    entry = sole("saw", kind="list")
    assert entry.words == "what a search found: 3 orders and 0 customers"
    client.get(reverse("find"), {"q": "terrace"})
    assert len(told("saw", kind="list")) == 2
    assert "eaview" not in str(list(AuditEntry.objects.values("words", "thing", "once")))


def test_each_page_of_a_list_is_told(client):
    client.force_login(factories.person("sales", name="nora"))
    for page in ("1", "2", "2", "x", "-3"):
        client.get(reverse("customers"), {"page": page})
    assert [entry.words for entry in AuditEntry.objects.filter(what="saw").order_by("pk")] == [
        "the list of customers",
        "the list of customers, page 2",
    ]


def test_what_was_not_there_or_not_shown_was_not_seen(client):
    client.force_login(factories.person("sales"))
    client.get(reverse("order", args=[4711]))
    client.get(reverse("customer", args=[4711]))
    assert told("saw") == []


def test_each_file_that_is_taken_out_is_told(client):
    nora = factories.person("sales", name="nora")
    client.force_login(nora)
    order = factories.order(by=nora, lines=[{}])
    for _ in range(2):
        client.get(reverse("order-text", args=[order.number]))
    client.get(reverse("customer-sheet", args=[order.customer_id]))
    assert [(entry.kind, entry.thing) for entry in AuditEntry.objects.filter(what="exported").order_by("pk")] == [
        ("order", str(order.number)),
        ("order", str(order.number)),
        ("customer", str(order.customer_id)),
    ]


def test_what_a_program_read_with_a_key_is_told_of_the_key(client):
    boss = factories.person("administrator")
    given = {"every_customer": True, "customers": (), "by": boss, "at": timezone.now()}
    key, secret = api_keys.make(name="shop", scopes=["orders:read"], **given)
    order = factories.order()
    answer = client.get(reverse("api-order", args=[order.number]), HTTP_AUTHORIZATION=f"Bearer {secret}")
    assert answer.status_code == 200
    entry = sole("saw", kind="order")
    assert (entry.key, entry.person, entry.thing) == (key, None, str(order.number))


def test_where_it_can_t_be_written_down_the_page_is_shown_and_the_log_says_so(client, monkeypatch, caplog):
    nora = factories.person("sales", name="nora")
    client.force_login(nora)
    order = factories.order(by=nora)

    def full(*args, **kwargs):
        raise DatabaseError("disk is full")

    monkeypatch.setattr("orders.models.audit.AuditQuerySet.bulk_create", full)
    assert client.get(reverse("order", args=[order.number])).status_code == 200
    assert "the audit could not be written" in caplog.text


def test_no_file_is_taken_out_that_can_t_be_told_of(client, monkeypatch):
    nora = factories.person("sales", name="nora")
    client.force_login(nora)
    client.raise_request_exception = False
    order = factories.order(by=nora, lines=[{}])

    def full(*args, **kwargs):
        raise DatabaseError("disk is full")

    monkeypatch.setattr("orders.models.AuditEntry.save", full)
    answer = client.get(reverse("order-text", args=[order.number]))
    assert answer.status_code >= 500
    assert b"Kitchen" not in answer.content


NOTHING_PERSONAL = {
    *(
        "health",
        "ready",
        "metrics",
        "well",
        "start",
        "sign-in",
        "sign-out",
        "language",
        "own-sign-in",
        "own-first-password",
        "sign-in-code",
        "own-second-step",
        "own-spare-codes",
        "own-second-step-remove",
        "person-second-step-remove",
        "own-others-end",
        "confirm",
        "signed-in-end",
    ),
    *("order-new", "customer-new", "template-sheet", "template-text", "figures", "lines-figures", "rules"),
    *("catalogue", "system", "revision", "difference", "system-new", "system-import", "system-retire", "draft-new"),
    *("revision-edit", "revision-publish", "revision-discard"),
    *("fabric-new", "fabric", "fabric-offer", "fabric-remove", "faults", "fault", "fault-move", "fault-use"),
    *("calendar", "calendar-close", "calendar-open", "calendar-add-day", "calendar-take-day-off", "working-week"),
    *("tablets", "tablet-sign-in", "badge", "own-pin", "outbox", "away", "service-worker"),
    *("stations", "station", "station-queue", "scan", "station-record", "blind-figure", "blind-cords"),
    *("api", "api-openapi", "api-keys", "api-key-revoke", "api-catalogue", "api-figures", "api-nothing"),
    *("person-new", "plan-late", "plan-minutes", "work", "works", "work-cancel"),
    # What only takes a press, and writes what it does where that belongs.
    *("order-confirm", "order-back-to-draft", "order-promise", "order-collected", "order-delivered", "letter-again"),
    *("change-accept", "change-refuse", "change-withdraw", "absence-new", "absence-remove", "badge-new", "badge-take"),
    *("bench-unlock", "tablet-retire"),
}


def test_of_every_page_it_is_said_whom_it_shows():
    """A new page must be named in config/audited.py, or here as one that shows nothing of anybody."""
    values = {"number": 1, "pk": 1, "code": "1-1", "system": "demo-38", "revision": 1}
    told = {pattern.name for pattern in patterns() if list(audited.seen(pattern.name, values))}
    assert told & NOTHING_PERSONAL == set()
    assert set(ALLOWED) - told - NOTHING_PERSONAL - set(BY_KEY) == set()

"""The page of the audit: what it finds, and in which words it says it."""

import pytest
from django.urls import reverse
from django.utils import timezone

from orders import audit
from orders.asking import asked_by
from orders.audit_words import said
from tests import factories

pytestmark = pytest.mark.django_db


def test_values_are_said_in_words_and_not_as_the_machine_keeps_them():
    kept = {
        "vane_width_mm": 89,
        "weight_g_per_m2": 410,
        "scopes": ["orders:read", "orders:write"],
        "first_day": "2026-12-04",
        "opens_at": "07:00:00",
        "weekdays": [0, 4],
        "roles": ["manager"],
        "is_active": False,
        "reason": "",
        "name": "2026-12-04",
    }
    assert said(kept) == [
        ("vane width, mm", 89),
        ("weight, g/m²", 410),
        ("may", "read orders with their lines, post orders"),
        ("from", "Fri 4 Dec 2026"),
        ("shift begins", "07:00"),
        ("days worked", "Monday, Friday"),
        ("roles", "manager"),
        ("may sign in", "no"),
        ("reason", "none"),
        ("name", "2026-12-04"),
    ]
    assert said(None) == []


@pytest.fixture
def history(ada, rf):
    nora = factories.person("sales", name="nora")
    with asked_by(rf.get("/", REMOTE_ADDR="10.0.0.9")):
        audit.did("saw", kind="order", thing=1042, words="order 1042", by=nora)
        audit.did("saw", kind="order", thing=1043, words="order 1043", by=ada)
        audit.did("password-set", of=nora, by=ada)
    return nora


def shown(client, **query):
    answer = client.get(reverse("audit"), query)
    assert answer.status_code == 200
    return [entry.words for entry in answer.context["page"]]


def test_the_page_finds_by_person_order_and_day(client, history):
    assert shown(client, order=1042) == ["order 1042"]
    assert set(shown(client, person=history.pk)) == {"order 1042", "nora"}
    assert "order 1043" in shown(client, day=f"{timezone.localdate():%Y-%m-%d}")
    assert shown(client, day="2020-01-01") == []
    assert shown(client, order=1042, person=history.pk, day="2020-01-01") == []


def test_the_page_says_from_where_and_refuses_what_is_no_number(client, history):
    page = client.get(reverse("audit")).content.decode()
    assert "10.0.0.9" in page
    assert "set the password of nora" in page
    answer = client.get(reverse("audit"), {"order": "abc"})
    assert answer.status_code == 422
    assert "digits only" in answer.content.decode()

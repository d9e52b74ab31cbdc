"""Who watches the server is told whether it answers, and whether all that it needs is there."""

import asyncio
import json
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from django.db import OperationalError, connection
from django.test import AsyncClient, Client
from django.utils import timezone

from config import health, live_settings
from orders import versions
from orders.models import Worker
from production import machine


def checks(answer):
    return {check["name"]: check for check in json.loads(answer.content)["checks"]}


def test_a_process_that_answers_says_so_without_database_session_or_cookie(client, django_assert_num_queries):
    # No mark for the database: a query would be refused.
    answer = client.get("/health/")
    assert (answer.status_code, json.loads(answer.content)) == (200, {"alive": True})
    assert not answer.cookies
    assert answer["Cache-Control"] == "no-store"


@pytest.mark.django_db
@pytest.mark.parametrize("address", health.FIRST)
def test_it_is_answered_by_whatever_name_and_over_plain_http(settings, address):
    settings.ALLOWED_HOSTS = ["blinds.example"]
    settings.SECURE_SSL_REDIRECT = True
    assert Client(headers={"host": "10.0.0.7:8000"}).get(address).status_code == 200


@pytest.mark.parametrize("address", ["/health/", "/ready/"])
def test_nothing_can_be_sent_to_it(client, address):
    assert client.post(address).status_code == 405


@pytest.mark.django_db
def test_all_is_there(client):
    answer = client.get("/ready/")
    assert answer.status_code == 200
    assert {name: check["ok"] for name, check in checks(answer).items() if check["needed"]} == {
        "database": True,
        "version": True,
        "disk": True,
    }


@pytest.mark.django_db
def test_pages_are_ready_without_a_worker_and_it_is_told(client):
    answer = client.get("/ready/")
    assert answer.status_code == 200
    assert checks(answer)["worker"] == {
        "name": "worker",
        "ok": False,
        "words": "No worker runs. Start one: manage.py work",
        "needed": False,
    }
    Worker.objects.create(key="one", host="here", seen_at=timezone.now())
    assert checks(client.get("/ready/"))["worker"]["ok"]


@pytest.mark.django_db
def test_without_a_database_nothing_is_ready_and_the_rest_is_still_told(client, monkeypatch):
    def refused():
        raise OperationalError("password authentication failed for user railwright at db.internal")

    monkeypatch.setattr(machine, "database_ms", refused)
    answer = client.get("/ready/")
    assert answer.status_code == 503
    assert checks(answer)["database"]["words"] == "The database doesn't answer."
    assert checks(answer)["disk"]["ok"]
    assert "password" not in answer.content.decode()


@pytest.mark.django_db
def test_a_database_of_an_older_or_a_newer_version_is_not_ready(client):
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM django_migrations WHERE app = 'production' AND name LIKE '0005%'")
    answer = client.get("/ready/")
    assert answer.status_code == 503
    assert checks(answer)["version"]["words"].endswith("lacks 1 of this version's changes. Run: manage.py migrate")
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM django_migrations")
        cursor.executemany(
            "INSERT INTO django_migrations (app, name, applied) VALUES (%s, %s, CURRENT_TIMESTAMP)",
            [*versions.known_migrations(), ("production", "9999_of_next_year"), ("gone", "0001_initial")],
        )
    answer = client.get("/ready/")
    assert answer.status_code == 503
    assert "has 1 changes of a newer version" in checks(answer)["version"]["words"]


@pytest.mark.django_db
def test_a_full_disk_is_not_ready(client, monkeypatch):
    monkeypatch.setattr(machine, "disk", lambda: machine.Disk(free=machine.NO_ROOM_BYTES - 1, total=10**12))
    answer = client.get("/ready/")
    assert answer.status_code == 503
    assert checks(answer)["disk"]["words"] == "Nothing can be written: the disk is full."


@pytest.mark.django_db
@pytest.mark.skipif(not Path("/proc/self").exists(), reason="needs Linux's /proc")
def test_a_folder_that_takes_no_file_is_not_ready(client, monkeypatch):
    if connection.vendor != "sqlite":
        pytest.skip("PostgreSQL writes elsewhere")
    monkeypatch.setattr(machine, "folder", lambda: Path("/proc/self"))
    assert machine.may_write() is not None


@pytest.mark.parametrize(
    ("free", "total", "is_low"),
    [
        (2_000_000_000, 10_000_000_000, False),
        (999_999_999, 2_000_000_000, True),
        (50_000_000_000, 1_000_000_000_000, True),
        (100_000_000_000, 1_000_000_000_000, False),
    ],
)
def test_a_disk_is_low_under_a_tenth_or_a_gigabyte(free, total, is_low):
    assert machine.Disk(free=free, total=total).is_low == is_low


def test_the_stream_of_changes_says_how_it_is_too(settings):
    settings.ROOT_URLCONF, settings.MIDDLEWARE = live_settings.ROOT_URLCONF, live_settings.MIDDLEWARE
    settings.SECURE_SSL_REDIRECT = True

    async def asked():
        return await AsyncClient().get("/health/")

    # In a thread of its own: where browser tests ran before, this one's loop is theirs.
    with ThreadPoolExecutor(1) as thread:
        answer = thread.submit(asyncio.run, asked()).result()
    assert (answer.status_code, json.loads(answer.content)) == (200, {"alive": True})

"""The figures for monitoring programs, read back with the format's own parser."""

import datetime as dt
import time

import pytest
from django.db import OperationalError
from django.utils import timezone
from prometheus_client.parser import text_string_to_metric_families

from config import metrics
from orders.models import Work, Worker
from production import machine, route
from production.backup import archive
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def read(client):
    """Function that reads the figures: the value of a name with its labels, or None."""

    def found(name, **labels):
        answer = client.get("/metrics/")
        assert answer.status_code == 200
        samples = [
            sample
            for family in text_string_to_metric_families(answer.content.decode())
            for sample in family.samples
            if sample.name == name and labels.items() <= sample.labels.items()
        ]
        return sum(sample.value for sample in samples) if samples else None

    return found


def test_an_answer_counts_by_address_method_and_status(client, read):
    labels = {"route": "customers", "method": "GET", "status": "200"}
    client.force_login(factories.person("sales"))
    before = read("railwright_request_seconds_count", **labels) or 0
    client.get("/customers/?q=Marlow")
    client.get("/customers/")
    assert read("railwright_request_seconds_count", **labels) == before + 2
    assert read("railwright_request_seconds_sum", **labels) > 0
    assert read("railwright_request_seconds_bucket", le="+Inf", **labels) == before + 2
    assert read("railwright_queries_total", route="customers") > 2


def test_what_strangers_make_up_adds_no_labels(client, read):
    client.generic("BREW", "/nowhere/at/all/")
    client.get("/nowhere/else/")
    assert read("railwright_request_seconds_count", route="none", method="other") >= 1
    labels = metrics.SECONDS_TAKEN._labelnames
    assert labels == ("route", "method", "status")
    assert not any("nowhere" in value for found in metrics.SECONDS_TAKEN._metrics for value in found)


def test_queues_and_what_was_recorded_today_are_told_by_station(read):
    blind, *_ = factories.released()
    maker, now = factories.person("maker"), timezone.now()
    assert read("railwright_queue_blinds", station="railing", state="waiting") == 1
    assert read("railwright_events_today_total", station="railing", kind=route.START) is None
    factories.tell(blind, "railing", route.START, by=maker, at=now)
    assert read("railwright_events_today_total", station="railing", kind=route.START) == 1
    assert read("railwright_queue_blinds", station="railing", state="in_hand") == 1


def test_what_was_recorded_before_midnight_is_yesterdays(read):
    blind, *_ = factories.released()
    yesterday = timezone.now() - dt.timedelta(days=1)
    factories.tell(blind, "railing", route.START, by=factories.person("maker"), at=yesterday)
    assert read("railwright_events_today_total", station="railing", kind=route.START) is None


def test_what_waits_in_the_background_and_what_failed_is_told(read):
    asked = {"by": factories.person("sales"), "asked_at": timezone.now()}
    Work.objects.create(what="tickets", **asked)
    Work.objects.create(what="labels", state=Work.FAILED, ended_at=timezone.now(), **asked)
    assert read("railwright_work", state="waiting") == 1
    assert read("railwright_work_failed_in_a_day") == 1
    assert read("railwright_worker_up") == 0
    Worker.objects.create(key="one", host="here", seen_at=timezone.now())
    assert read("railwright_worker_up") == 1


def test_disk_database_and_version_are_told(read):
    assert read("railwright_disk_free_bytes") > 0
    assert read("railwright_database_bytes") > 100_000
    assert read("railwright_database_up") == 1
    assert read("railwright_info") == 1


def test_the_age_of_the_newest_backup_is_told_once_there_is_one(read, settings, tmp_path):
    settings.BACKUPS = tmp_path
    assert read("railwright_backup_age_seconds") is None
    made = timezone.now() - dt.timedelta(hours=3)
    (tmp_path / archive.name_of(at=made, version="0.1.0", vendor="sqlite")).touch()
    assert read("railwright_backup_age_seconds") == pytest.approx(3 * 3600, abs=60)


def test_without_a_database_the_rest_is_still_told(read, monkeypatch):
    def refused():
        raise OperationalError("gone")

    monkeypatch.setattr(machine, "database_ms", refused)
    assert read("railwright_database_up") == 0
    assert read("railwright_disk_free_bytes") > 0


def test_without_a_token_only_this_machine_itself_reads(client):
    assert client.get("/metrics/", REMOTE_ADDR="127.0.0.1").status_code == 200
    assert client.get("/metrics/", REMOTE_ADDR="::1").status_code == 200
    for elsewhere in ("192.0.2.7", "10.0.0.3", "", "unix:"):
        assert client.get("/metrics/", REMOTE_ADDR=elsewhere).status_code == 403


@pytest.mark.parametrize("header", metrics.FORWARDED)
def test_whoever_comes_through_a_proxy_on_this_machine_is_not_on_it(client, header):
    assert client.get("/metrics/", headers={header: "192.0.2.7"}).status_code == 403


def test_with_a_token_who_shows_it_reads_and_nobody_else(client, settings):
    settings.METRICS_TOKEN = "four-words-made-up"
    given = {"": 403, "Bearer wrong": 403, "Basic four-words-made-up": 403, "Bearer four-words-made-up": 200}
    for header, status in given.items():
        answer = client.get("/metrics/", headers={"Authorization": header}, REMOTE_ADDR="192.0.2.7")
        assert answer.status_code == status, header
    assert client.get("/metrics/").status_code == 403


def test_nothing_personal_stands_in_the_figures(client):
    order = factories.released()[0].order
    answer = client.get("/metrics/").content.decode()
    assert order.customer.name not in answer


def test_counting_an_answer_costs_less_than_a_fifth_of_a_millisecond():
    """Of processor time, so that a busy machine doesn't count; measured over 2,000 answers on 20 addresses."""
    began = time.process_time()
    for number in range(2_000):
        metrics.answered(route=f"page-{number % 20}", method="GET", status=200, seconds=0.02, queries=9)
    assert (time.process_time() - began) / 2_000 < 0.0002

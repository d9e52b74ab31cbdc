"""What the log says of each request, in JSON and in words; what an error's page and the owner are told."""

import asyncio
import json
import logging
import re
from concurrent.futures import ThreadPoolExecutor

import pytest
from django.test import AsyncClient, Client
from django.urls import reverse

from config import logs
from config.asked import SANE, new_number
from production import mishaps
from production.models import Mishap
from tests import factories
from tests.tablets import at_the_bench, enrolled

pytestmark = pytest.mark.django_db
NUMBER = re.compile(r"\d{4}-\d{4}-\d{4}")


@pytest.fixture
def lines():
    """What is logged meanwhile, from INFO up, as the JSON that it would be written as."""
    written = []

    class Kept(logging.Handler):
        def emit(self, record):
            written.append(json.loads(logs.Json().format(record)))

    handler, root = Kept(), logging.getLogger()
    level = root.level
    root.addHandler(handler)
    root.setLevel(logging.INFO)
    yield written
    root.removeHandler(handler)
    root.setLevel(level)


@pytest.fixture
def breaking(settings):
    settings.ROOT_URLCONF = "tests.config.breaking"
    return Client(raise_request_exception=False)


def of_requests(lines):
    return [line for line in lines if line["logger"] == "config.asked"]


def test_a_line_says_who_asked_for_which_page_and_how_it_was_answered(client, lines):
    nora = factories.person("sales", name="nora")
    client.force_login(nora)
    answer = client.get(reverse("customers"), {"q": "Marlow"})
    [line] = of_requests(lines)
    assert line["request"] == answer["X-Request-ID"]
    assert (line["route"], line["status"], line["person"]) == ("customers", 200, nora.pk)
    assert line["ms"] > 0
    assert line["queries"] > 2
    assert line["time"].endswith("+00:00")
    assert "Marlow" not in json.dumps(lines)
    assert "nora" not in json.dumps(lines)


def test_a_line_says_which_tablet_asked(client, lines):
    tablet = enrolled(client)
    at_the_bench(client, factories.person("maker"))
    client.get(reverse("rules"))
    assert of_requests(lines)[-1]["tablet"] == tablet.pk


def test_the_queries_counted_are_those_that_were_asked(client, lines, django_assert_num_queries):
    client.force_login(factories.person("sales"))
    for _ in range(2):
        client.get(reverse("customers"))
    with django_assert_num_queries(of_requests(lines)[-1]["queries"]):
        client.get(reverse("customers"))


def test_a_number_of_our_own_can_be_told_over_a_telephone(client):
    assert NUMBER.fullmatch(new_number())
    assert new_number() != new_number()
    assert NUMBER.fullmatch(client.get(reverse("sign-in"))["X-Request-ID"])


@pytest.mark.parametrize("given", ["7f3a9c1e-0b52-4d6e", "proxy.0001", "A" * 64])
def test_a_proxys_own_number_is_kept(client, given):
    assert client.get(reverse("sign-in"), headers={"X-Request-ID": given})["X-Request-ID"] == given


@pytest.mark.parametrize("given", ["", "short", "A" * 65, "a b c d e f", "<script>alert(1)", "ünïcödé-ünïcödé"])
def test_what_is_no_sane_number_is_not_kept(client, given):
    assert not SANE.fullmatch(given)
    assert NUMBER.fullmatch(client.get(reverse("sign-in"), headers={"X-Request-ID": given})["X-Request-ID"])


def test_what_breaks_is_answered_in_words_with_the_number_that_the_log_has(breaking, lines):
    answer = breaking.get("/breaks/?name=Marlow")
    page = answer.content.decode()
    assert answer.status_code == 500
    assert "Something broke here" in page
    assert answer["X-Request-ID"] in page
    [line] = [line for line in lines if line["logger"] == "django.request"]
    assert (line["request"], line["route"], line["level"]) == (answer["X-Request-ID"], "breaks", "ERROR")
    assert "KeyError" in line["error"]


def test_what_breaks_is_kept_for_the_owner_without_anything_of_anybody(breaking):
    answer = breaking.get("/breaks/")
    mishap = Mishap.objects.get()
    assert (mishap.kind, mishap.number, mishap.route) == (Mishap.BROKE, answer["X-Request-ID"], "breaks")
    assert re.fullmatch(r"KeyError in tests/config/breaking\.py, \d+", mishap.said)


def test_what_is_slow_is_told_with_its_queries_and_kept_once_a_minute(breaking, lines, settings, monkeypatch):
    settings.SLOW_MS = 20
    monkeypatch.setattr(mishaps, "_slow", {})
    numbers = [breaking.get("/slow/")["X-Request-ID"] for _ in range(3)]
    told = [line for line in of_requests(lines) if line["level"] == "WARNING"]
    assert [line["request"] for line in told] == numbers
    assert all(line["queries"] == 1 and line["ms"] > 20 for line in told[1:])
    assert told[1]["message"].startswith("slow: slow took ")
    mishap = Mishap.objects.get()
    assert (mishap.kind, mishap.route, mishap.number) == (Mishap.SLOW, "slow", numbers[0])
    assert mishap.ms > 20


def test_an_answer_that_was_slow_for_want_of_the_database_asks_it_no_more(breaking, lines, settings, monkeypatch):
    settings.SLOW_MS = 20
    monkeypatch.setattr(mishaps, "_slow", {})
    assert breaking.get("/gone/").status_code == 503
    assert [line["level"] for line in of_requests(lines)] == ["WARNING"]
    assert not Mishap.objects.exists()


def test_what_came_between_counts_with_the_next_that_is_kept(monkeypatch):
    monkeypatch.setattr(mishaps, "_slow", {})
    clock = iter([0, 1, 2, 70])
    monkeypatch.setattr(mishaps.time, "monotonic", lambda: next(clock))
    for number in range(4):
        mishaps.slow(route="order", number=str(number), ms=900, queries=3)
    assert [(found.number, found.times) for found in Mishap.objects.order_by("pk")] == [("0", 1), ("3", 3)]


def test_only_the_newest_are_kept(monkeypatch):
    monkeypatch.setattr(mishaps, "KEPT", 3)
    for number in range(5):
        mishaps.broke(route="order", number=str(number))
    assert [found.number for found in Mishap.objects.order_by("pk")] == ["2", "3", "4"]


def test_each_of_many_at_once_has_its_own_number_in_threads(settings, lines):
    settings.ROOT_URLCONF = "tests.config.breaking"
    settings.MIDDLEWARE = ["config.asked.Numbered"]
    given = [f"request-{number:04d}" for number in range(40)]

    def ask(number):
        return Client().get("/number/", headers={"X-Request-ID": number}).content.decode()

    with ThreadPoolExecutor(8) as threads:
        assert list(threads.map(ask, given)) == given
    assert sorted(line["request"] for line in lines if line["logger"] == "breaking") == given


def test_each_of_many_at_once_has_its_own_number_on_one_event_loop(settings, lines):
    settings.ROOT_URLCONF = "tests.config.breaking"
    settings.MIDDLEWARE = ["config.asked.Numbered"]
    given = [f"request-{number:04d}" for number in range(40)]

    async def ask(number):
        return (await AsyncClient().get("/number/", headers={"X-Request-ID": number})).content.decode()

    async def ask_all():
        return await asyncio.gather(*map(ask, given))

    # In a thread of its own: where browser tests ran before, this one's loop is theirs.
    with ThreadPoolExecutor(1) as thread:
        assert thread.submit(asyncio.run, ask_all()).result() == given
    assert sorted(line["request"] for line in lines if line["logger"] == "breaking") == given


def record(message="kept it", **more):
    return logging.makeLogRecord({"name": "orders", "levelname": "INFO", "msg": message, "created": 0.25, **more})


def test_words_are_one_line_with_the_same_facts():
    line = logs.Words().format(record(status=200, ms=3.5))
    assert line == "1970-01-01T00:00:00.250+00:00 INFO orders: kept it"


def test_a_message_over_several_lines_stays_one_json_object():
    line = logs.Json().format(record("first\nsecond “Ünïcödé”"))
    assert "\n" not in line
    assert json.loads(line)["message"] == "first\nsecond “Ünïcödé”"


@pytest.mark.parametrize("way", logs.WAYS)
def test_each_way_of_writing_is_a_configuration_that_python_takes(way):
    configured = logs.configuration(way=way, level="INFO")
    formatter = configured["formatters"]["line"]["()"].rpartition(".")[2]
    assert issubclass(getattr(logs, formatter), logging.Formatter)

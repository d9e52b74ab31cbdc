"""While the server can't work every page, form, tablet and program is told why, and what was sent is kept."""

import json
import re
from urllib.parse import unquote

import pytest
from django.conf import settings as workshop
from django.db import OperationalError, connections
from django.test import Client

from config.trouble import answer as said_of
from production import trouble
from tests.config.troubled_database import no_room, press

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def gone(monkeypatch):
    """From now on nothing is asked of the database that it would answer."""

    def refuse(self, *args, **kwargs):
        import psycopg

        raise OperationalError("connection refused") from psycopg.OperationalError("connection refused")

    def now():
        monkeypatch.setattr(type(connections["default"]), "_cursor", refuse)

    return now


def test_a_page_says_that_it_tries_again_and_does(tablet, gone):
    gone()
    answer = tablet.get("/orders/", headers={"accept": "text/html"})
    page = answer.content.decode()
    assert answer.status_code == 503
    assert '<meta http-equiv="refresh" content="5">' in page
    assert "This page tries again by itself." in page
    assert '<html lang="en-gb">' in page
    assert answer["Cache-Control"] == "no-store"


def test_of_a_damaged_database_no_page_says_that_anything_in_it_is_safe(rf):
    request = rf.get("/orders/", headers={"accept": "text/html"})
    said = {found: said_of(request, found).content.decode() for found in (trouble.DAMAGED, trouble.FULL)}
    assert "it may have to be restored from a backup" in said[trouble.DAMAGED]
    assert "is safe" not in said[trouble.DAMAGED]
    assert "What was saved before is safe." in said[trouble.FULL]


def test_a_form_is_kept_on_the_page_and_sent_again_as_it_was(tablet, gone):
    gone()
    sent = {"customer": "7", "note": 'says "left" & <right>', "form_id": "f-1", "line": ["a", "b"]}
    answer = tablet.post("/orders/new/", sent, headers={"accept": "text/html"})
    page = answer.content.decode()
    assert answer.status_code == 503
    assert "http-equiv" not in page
    assert "What you just sent was not recorded." in page
    kept = re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)">', page)
    assert kept == [
        ("customer", "7"),
        ("note", "says &quot;left&quot; &amp; &lt;right&gt;"),
        ("form_id", "f-1"),
        ("line", "a"),
        ("line", "b"),
    ]


def test_once_something_was_asked_nobody_is_promised_that_nothing_was_recorded(tablet, blind):
    send = press(tablet, blind)
    with no_room():
        page = send().content.decode()
    assert "most likely not recorded" in page
    assert "What you just sent was not recorded." not in page


@pytest.mark.parametrize("name", ["password", "new_password1", "pin", "new_pin"])
def test_no_password_or_pin_is_written_into_a_page(tablet, gone, name):
    gone()
    answer = tablet.post("/sign-in/", {"username": "nora", name: "correct horse"}, headers={"accept": "text/html"})
    assert answer.status_code == 503
    assert "correct horse" not in answer.content.decode()
    assert "Go back, and send it again in a while." in answer.content.decode()


def test_a_page_that_asks_by_itself_is_given_words_and_no_page(tablet, gone):
    gone()
    answer = tablet.get("/stations/railing/", headers={"HX-Request": "true"})
    words = f"{trouble.LOST.what} {trouble.LOST.do}"
    assert (answer.status_code, answer.content.decode()) == (503, words)
    assert unquote(answer["X-Trouble"]) == words
    assert answer["X-Trouble"].isascii()


def test_a_station_is_told_in_its_own_language_and_the_office_in_english(tablet, gone):
    tablet.cookies[workshop.LANGUAGE_COOKIE_NAME] = "es"
    gone()
    page = tablet.get("/stations/railing/", headers={"accept": "text/html"}).content.decode()
    assert '<html lang="es">' in page
    assert "doesn" not in page
    assert "Railwright" in page
    assert '<html lang="en-gb">' in tablet.get("/orders/", headers={"accept": "text/html"}).content.decode()


def test_another_program_is_told_in_json(tablet, gone):
    gone()
    for path in ("/api/v1/orders", "/api/v1/figures"):
        answer = tablet.get(path, headers={"Authorization": "Bearer made-up"})
        assert (answer.status_code, answer["Retry-After"]) == (503, "5")
        assert answer["Content-Type"] == "application/problem+json"
        assert json.loads(answer.content)["detail"] == "The database doesn't answer. Send the same again after 5 s."


def test_a_mistake_of_ours_is_still_the_page_for_mistakes(settings):
    settings.ROOT_URLCONF = "tests.config.breaking"
    answer = Client(raise_request_exception=False).get("/breaks/")
    assert answer.status_code == 500
    assert "Retry-After" not in answer

"""A message waits in its reader's browser for the page that shows it."""

import re
import uuid

import pytest
from django.contrib import messages
from django.contrib.auth.models import AnonymousUser
from django.contrib.messages.storage import default_storage
from django.db import connection
from django.http import HttpResponse
from django.test import RequestFactory
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from config.messages import InTheBrowser
from production.models import Stage
from production.route import FINISH, RAILING, START
from tests.factories import enter_steps, person, released

pytestmark = pytest.mark.django_db
HTMX = {"HTTP_HX_REQUEST": "true"}


@pytest.fixture
def maker(db):
    return person("maker", first_name="Mara", last_name="Lind")


def request_of(person, *, cookie=""):
    request = RequestFactory().get("/")
    request.user, request.session = person, {}
    if cookie:
        request.COOKIES[InTheBrowser.cookie_name] = cookie
    request._messages = default_storage(request)
    return request


def said_to(person, *words):
    """The answer that follows upon `words` being said to `person`, and its request."""
    request, answer = request_of(person), HttpResponse()
    for each in words:
        messages.info(request, each)
    request._messages.update(answer)
    return request, answer


def heard(request):
    return [str(each) for each in messages.get_messages(request)]


def test_its_cookie_is_read_by_no_script_and_ends_once_it_was_shown(maker):
    _request, answer = said_to(maker, "Railing is finished.")
    cookie = answer.cookies[InTheBrowser.cookie_name]
    assert (cookie["httponly"], cookie["samesite"], cookie["max-age"]) == (True, "Lax", "")
    later, shown = request_of(maker, cookie=cookie.value), HttpResponse()
    assert heard(later) == ["Railing is finished."]
    later._messages.update(shown)
    assert shown.cookies[InTheBrowser.cookie_name]["max-age"] == 0


@pytest.mark.parametrize("other", [lambda: person("maker"), AnonymousUser])
def test_whoever_signs_in_next_is_not_told_it(maker, other):
    cookie = said_to(maker, "Railing is finished.")[1].cookies[InTheBrowser.cookie_name].value
    assert heard(request_of(other(), cookie=cookie)) == []


def test_one_that_was_altered_is_not_shown(maker):
    cookie = said_to(maker, "Railing is finished.")[1].cookies[InTheBrowser.cookie_name].value
    assert heard(request_of(maker, cookie=cookie[:-1] + ("A" if cookie[-1] != "A" else "B"))) == []


def test_what_is_too_long_for_a_cookie_waits_in_the_session(maker):
    words = [" ".join(f"{number * 7919 % 99991}" for number in range(start, start + 500)) for start in (1, 1001)]
    request, answer = said_to(maker, *words)
    assert len(answer.cookies[InTheBrowser.cookie_name].value) < 2100
    assert request.session
    later = request_of(maker, cookie=answer.cookies[InTheBrowser.cookie_name].value)
    later.session = request.session
    assert heard(later) == words


def test_a_finish_writes_no_session_and_is_said_on_the_next_page(client, maker):
    client.force_login(maker)
    blind = released()[0]
    # That something was done is noted in the session every few minutes.
    record(client, blind, kind=START)
    enter_steps(blind, RAILING, by=maker)
    with CaptureQueriesContext(connection) as caught:
        record(client, blind, kind=FINISH)
    assert Stage.objects.get(blind=blind, station=RAILING).state == "done"
    assert [each["sql"] for each in caught if re.match(r'UPDATE "?orders_session', each["sql"])] == []
    told = f"Railing of {blind.number} is finished."
    assert told in client.get(reverse("station", args=[RAILING])).content.decode()
    assert told not in client.get(reverse("station", args=[RAILING])).content.decode()


def record(client, blind, *, kind):
    page = client.get(reverse("station-blind", args=[RAILING, blind.code])).content.decode()
    form = {"kind": kind, "event_id": uuid.uuid4(), "maker": re.search(r'name="maker" value="([^"]+)"', page)[1]}
    assert client.post(reverse("station-record", args=[RAILING, blind.code]), form, **HTMX).status_code == 200

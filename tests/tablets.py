"""A tablet at a station, for tests: what it asks, what it sends, and what stands on its page."""

import re
import uuid

from django.contrib.auth import SESSION_KEY
from django.urls import reverse

from orders.models import Person
from production import tablets
from production.models import StationEvent
from production.route import RAILING
from tests import factories

HTMX = {"HTTP_HX_REQUEST": "true"}
PIN = "5820"


def send(client, blind, station, kind, *, event_id=None, htmx=True, **fields):
    """Record one event as the page's form does."""
    url = reverse("station-record", args=[station, blind.code])
    data = {"event_id": event_id or uuid.uuid4(), "maker": maker_of(client), "kind": kind, **fields}
    return client.post(url, data, **(HTMX if htmx else {}))


def maker_of(client):
    """What the forms carry of the person who is signed in."""
    return tablets.maker_token(person=Person.objects.get(pk=client.session[SESSION_KEY]))


def enrolled(client, *, station=RAILING, name="Railing 1"):
    """An enrolled tablet, and its cookie in the client's browser."""
    tablet, secret = tablets.enrol(name=name, station=station, by=factories.person("manager"), at=factories.AT)
    client.cookies[tablets.COOKIE] = secret
    return tablet


def at_the_bench(client, person):
    """Sign the person in with a badge, on the tablet that the client is or becomes."""
    if tablets.COOKIE not in client.cookies:
        enrolled(client)
    code = tablets.new_badge(person=person)
    answer = client.post(reverse("badge"), {"code": code})
    assert answer.status_code == 200, answer.content
    return answer


def enter(client, person, pin=PIN, **fields):
    """Sign the person in with a PIN, as the tablet's form does."""
    return client.post(reverse("tablet-sign-in"), {"person": person.pk, "pin": pin, **fields})


def signed_in(client):
    """The key of who is signed in, or None."""
    return client.session.get(SESSION_KEY)


def sheet_of(client, blind, station):
    return client.get(reverse("station-blind", args=[station, blind.code]))


def queue_of(client, station, **query):
    return client.get(reverse("station", args=[station]), query)


def figures_on(page):
    return {figure.name: figure.value for figure in page.context["figures"]}


def text_of(answer):
    """What stands on the page, without its tags and what it only keeps in store."""
    return " ".join(re.sub(r"<[^>]+>", " ", _shown(answer.content.decode())).replace("&#x27;", "'").split())


def _shown(html):
    """What a browser shows of it: a template, within another or not, is only kept in store."""
    innermost = re.compile(r"<template\b((?!<template\b).)*?</template>", re.DOTALL)
    while innermost.search(html):
        html = innermost.sub(" ", html)
    return html


def without_event_numbers(html):
    """Each page numbers its events anew."""
    return re.sub(r'name="(event_id|maker)" value="[^"]+"|csrfmiddlewaretoken" value="[^"]+"', "", html)


def sheet(blind, station=RAILING):
    """Where the sheet of `blind` at `station` stands."""
    return f"/stations/{station}/{blind.code}/"


def main_button(page):
    """The one main button of a page in the browser."""
    return page.locator(".bar .main")


def events(blind, kind):
    """How many events of that kind the blind has."""
    return StationEvent.objects.filter(blind=blind, kind=kind).count()

"""What a session begun on a tablet opens, and when it is over."""

import re

import pytest
from django.test import Client
from django.urls import reverse

from production import route
from production.route import RAILING, STRINGING, VANES
from tests import factories
from tests.factories import make, released, tell
from tests.tablets import HTMX, at_the_bench, enrolled, enter, queue_of, send, signed_in, text_of

pytestmark = pytest.mark.django_db


def test_it_leads_to_the_stations_and_nowhere_else_whatever_its_person_holds(client):
    everything = factories.person("maker", "manager", "sales", "administrator")
    at_the_bench(client, everything)
    page = queue_of(client, RAILING)
    linked = re.search(r"<nav.*?</nav>", page.content.decode(), re.DOTALL)[0]
    assert re.findall(r'href="([^"]+)"', linked) == ["/stations/", "/rules/"]
    refused = client.get(reverse("orders"))
    assert refused.status_code == 403
    assert "A PIN or a badge opens the stations alone." in text_of(refused)


def test_everything_that_a_station_links_to_opens_for_it(client, mara, other_maker, checker):
    blind = released(lines=[{"quantity": 2, "special_instruction": "Odd bracket", "concerns": [RAILING]}])[0]
    make(blind, maker=other_maker, checker=checker, until=VANES)
    tell(blind, STRINGING, route.START, by=mara)
    scrapped = {"back_to": RAILING, "fault": "rail_damaged", "scrapped": [{"part": "rail", "count": 1}]}
    tell(blind, STRINGING, route.SEND_BACK, by=mara, **scrapped)
    enrolled(client)
    enter(client, mara)
    pages = [reverse("stations"), *(reverse("station", args=[key]) for key in route.STATION)]
    pages += [reverse("station-blind", args=[key, blind.code]) for key in route.STATION]
    links = set()
    for page in pages:
        links |= set(re.findall(r'(?:href|hx-get|data-cords)="(/(?!static)[^"#]*)', client.get(page).content.decode()))
    assert reverse("rail-label", args=[blind.code]) in links
    answered = {link: client.get(link.replace("&amp;", "&"), follow=True).status_code for link in links}
    assert {link: status for link, status in answered.items() if status not in (200, 204)} == {}


def test_a_password_on_an_enrolled_tablet_opens_what_it_opens_anywhere(client):
    enrolled(client)
    factories.person("manager", name="greta")
    client.post(reverse("sign-in"), {"username": "greta", "password": "a-long-passphrase"})
    assert client.get(reverse("orders")).status_code == 200


def test_a_password_on_an_enrolled_tablet_is_good_for_an_hour_after_what_was_done_last(client, later):
    factories.person("manager", name="greta")
    enrolled(client)
    client.post(reverse("sign-in"), {"username": "greta", "password": "a-long-passphrase"})
    later(minutes=50)
    client.post(reverse("fault-use", args=["other"]), follow=True)
    later(minutes=50)
    assert client.get(reverse("orders")).status_code == 200
    later(minutes=11)
    assert client.get(reverse("orders")).status_code == 302


def test_a_password_on_a_desk_is_good_for_a_shift(client, later):
    factories.person("manager", name="greta")
    client.post(reverse("sign-in"), {"username": "greta", "password": "a-long-passphrase"})
    later(hours=7, minutes=59)
    assert client.get(reverse("orders")).status_code == 200
    later(minutes=2)
    assert client.get(reverse("orders")).status_code == 302


def test_change_maker_ends_it_and_shows_who_works_here(client, mara):
    enrolled(client)
    enter(client, mara)
    assert "Change maker" in text_of(queue_of(client, RAILING))
    page = client.post(reverse("sign-out"), follow=True)
    assert "Who works at railing?" in text_of(page)
    assert signed_in(client) is None


def test_it_is_over_eight_hours_after_what_was_done_last(client, mara, later):
    enrolled(client)
    enter(client, mara)
    later(hours=3)
    send(client, released()[0], RAILING, route.START)
    later(hours=7)
    # What the page asks by itself, or is looked at, is nothing done.
    client.get(reverse("station-queue", args=[RAILING]), **HTMX)
    assert queue_of(client, RAILING).status_code == 200
    later(hours=1, minutes=1)
    assert queue_of(client, RAILING).status_code == 302


def test_its_cookie_is_worth_nothing_on_another_browser_or_tablet(client, mara):
    enrolled(client)
    enter(client, mara)
    thief = Client()
    thief.cookies["sessionid"] = client.cookies["sessionid"].value
    assert queue_of(thief, RAILING).status_code == 302
    enter(client, mara)
    thief.cookies["sessionid"] = client.cookies["sessionid"].value
    enrolled(thief, name="Railing 2")
    assert queue_of(thief, RAILING).status_code == 302

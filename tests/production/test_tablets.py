"""Tablets let in and retired, and signing in on one with a PIN or a badge."""

import re

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from production import route, tablets
from production.models import StationEvent, Tablet
from production.route import CHECKING, RAILING, VANES
from tests import factories
from tests.factories import released
from tests.tablets import PIN, at_the_bench, enrolled, enter, queue_of, send, sheet_of, signed_in, text_of

pytestmark = pytest.mark.django_db

# Enrolling and retiring


def test_a_manager_lets_the_browser_in_and_is_signed_out_of_it(client, manager):
    answer = client.post(reverse("tablets"), {"name": "Railing 1", "station": RAILING})
    assert answer.url == reverse("tablet-sign-in")
    assert signed_in(client) is None
    wall = Tablet.objects.get()
    assert (wall.name, wall.station, wall.enrolled_by) == ("Railing 1", RAILING, manager)
    assert "Who works at railing?" in text_of(client.get(answer.url))


def test_the_cookie_holds_256_bits_that_no_script_reads_and_the_database_only_their_hash(client, manager):
    cookie = client.post(reverse("tablets"), {"name": "Railing 1", "station": RAILING}).cookies[tablets.COOKIE]
    assert re.fullmatch(r"[\w-]{43}", cookie.value)  # 32 bytes in base64
    assert (cookie["httponly"], cookie["samesite"], cookie["secure"]) == (True, "Lax", "")
    assert cookie["max-age"] == 400 * 24 * 3600
    assert cookie.value not in str(Tablet.objects.values().get())


def test_on_a_secure_address_the_cookie_is_sent_on_secure_ones_alone(client, manager):
    answer = client.post(reverse("tablets"), {"name": "Railing 1", "station": RAILING}, secure=True)
    assert answer.cookies[tablets.COOKIE]["secure"] is True


def test_a_name_in_use_is_refused_and_nothing_typed_is_lost(client, manager):
    enrolled(Client())
    page = client.post(reverse("tablets"), {"name": "Railing 1", "station": VANES})
    assert page.status_code == 422
    assert "Railing 1 is in use already. Choose another name, or retire that tablet first." in text_of(page)
    assert 'value="Railing 1"' in page.content.decode()


def test_a_retired_tablet_is_worth_nothing_and_may_be_let_in_again_under_its_name(client, mara):
    wall, old = enrolled(client), Client()
    old.cookies[tablets.COOKIE] = client.cookies[tablets.COOKIE].value
    manager = factories.person("manager")
    office = Client()
    office.force_login(manager)
    assert office.post(reverse("tablet-retire", args=[wall.pk])).url == reverse("tablets")
    assert enter(client, mara).url == reverse("sign-in")
    assert signed_in(client) is None
    assert "Name you sign in with" in text_of(client.get(reverse("sign-in")))
    office.post(reverse("tablets"), {"name": "Railing 1", "station": CHECKING})
    assert Tablet.objects.get().station == CHECKING
    assert "Name you sign in with" in text_of(old.get(reverse("sign-in")))


def test_retiring_a_tablet_ends_the_session_begun_on_it(client, mara):
    wall = enrolled(client)
    enter(client, mara)
    assert queue_of(client, RAILING).status_code == 200
    tablets.retire(tablet=wall, at=timezone.now())
    assert queue_of(client, RAILING).status_code == 302
    assert signed_in(client) is None


def test_the_list_names_who_enrolled_each_tablet_and_marks_this_one(client, manager):
    enrolled(Client(), name="Vanes 1", station=VANES)
    here = enrolled(client)
    page = text_of(client.get(reverse("tablets")))
    assert "Railing 1 this browser" in page
    assert f"Railing {here.enrolled_by} 4 Mar 2026, 09:00" in page
    assert "Vanes 1" in page
    assert "Vanes 1 this browser" not in page


# Signing in


def test_an_enrolled_tablet_asks_who_works_there_wherever_a_page_is_asked_for(client, mara):
    enrolled(client)
    for address in ("/", "/stations/", "/stations/vanes/", reverse("sign-in")):
        page = client.get(address, follow=True)
        assert page.redirect_chain[-1][0].startswith(reverse("tablet-sign-in"))
        assert "Mara Lind" in text_of(page)
    assert "Name you sign in with" in text_of(client.get(reverse("sign-in"), {"by": "password"}))


def test_nobodys_name_is_shown_where_no_tablet_is_enrolled(client, mara):
    for cookie in (None, "", "guessed"):
        if cookie is not None:
            client.cookies[tablets.COOKIE] = cookie
        assert client.get(reverse("tablet-sign-in")).url == reverse("sign-in")
        assert client.post(reverse("badge"), {"code": "1"}).url == reverse("sign-in")


def test_a_pin_leads_to_the_tablets_queue(client, mara):
    enrolled(client, station=VANES, name="Vanes 1")
    assert enter(client, mara).url == reverse("station", args=[VANES])
    assert client.get("/").url == reverse("station", args=[VANES])


def test_signing_in_leads_back_to_the_stations_page_that_was_asked_for_and_to_no_other(client, mara):
    blind = released()[0]
    enrolled(client)
    sheet = reverse("station-blind", args=[RAILING, blind.code])
    working = reverse("blind-figure", args=[blind.code, "span_mm"]) + "?at=railing"
    queue = reverse("station", args=[RAILING])
    for wanted, led in [
        (sheet, sheet),
        (working, working),
        ("/orders/", queue),
        ("https://elsewhere.example/stations/", queue),
        ("//elsewhere.example/stations/", queue),
        ("stations/", queue),
        ("/nowhere/", queue),
        ("", queue),
    ]:
        assert enter(client, mara, next=wanted).url == led
        client.post(reverse("sign-out"))


def test_a_wrong_pin_is_refused_in_words_and_the_name_stays_chosen(client, mara):
    enrolled(client)
    page = enter(client, mara, pin="1357", next="/stations/vanes/")
    assert page.status_code == 422
    assert "That is not the PIN of Mara Lind. Try again, or scan the badge." in text_of(page)
    html = page.content.decode()
    assert f'value="{mara.pk}" checked' in html
    assert 'name="next" value="/stations/vanes/"' in html
    assert "1357" not in html
    assert signed_in(client) is None


@pytest.mark.parametrize("fields", [{}, {"person": ""}, {"person": "x"}, {"person": "999999"}, {"person": "²"}])
def test_a_pin_without_a_name_is_refused_in_words(client, mara, fields):
    enrolled(client)
    page = client.post(reverse("tablet-sign-in"), {"pin": PIN, **fields})
    assert page.status_code == 422
    assert "Touch your name first" in text_of(page)


def test_a_badge_changes_the_maker_and_stays_on_the_page(client, mara, other_maker):
    enrolled(client)
    enter(client, mara)
    blind = released()[0]
    sheet = reverse("station-blind", args=[RAILING, blind.code])
    code = tablets.new_badge(person=other_maker)
    assert client.post(reverse("badge"), {"code": code, "next": sheet}).json() == {"go": sheet}
    assert "Tomasz Okafor" in text_of(client.get(sheet))


def test_what_a_page_asked_in_the_session_before_does_not_sign_out_who_came_next(client, mara, other_maker):
    """The browser's answers may cross: the one to the earlier maker's page arrives last."""
    at_the_bench(client, mara)
    before = client.cookies[settings.SESSION_COOKIE_NAME].value
    client.post(reverse("badge"), {"code": tablets.new_badge(person=other_maker)})
    overtaken = Client()
    overtaken.cookies[settings.SESSION_COOKIE_NAME] = before
    answer = overtaken.get(reverse("station", args=[RAILING]))
    assert answer.status_code == 302
    assert settings.SESSION_COOKIE_NAME not in answer.cookies
    assert "Cookie" in answer.headers["Vary"]
    assert signed_in(client) == str(other_maker.pk)


def test_signing_out_takes_the_cookie_away(client, mara):
    at_the_bench(client, mara)
    answer = client.post(reverse("sign-out"))
    assert answer.cookies[settings.SESSION_COOKIE_NAME]["max-age"] == 0


def test_an_unknown_badge_leaves_who_is_signed_in(client, mara):
    enrolled(client)
    enter(client, mara)
    refused = client.post(reverse("badge"), {"code": f"98{1:026d}"})
    assert refused.status_code == 422
    assert "isn't known here" in refused.json()["said"]
    assert signed_in(client) == str(mara.pk)


def test_a_form_of_the_maker_before_is_refused_with_the_reason_not_as_forged(mara, other_maker):
    """With the forms' own protection on, as a browser has it."""
    client = Client(enforce_csrf_checks=True)
    wall = enrolled(client)
    page = client.get(reverse("tablet-sign-in"))
    proof = re.search(r'csrfmiddlewaretoken" value="([^"]+)"', page.content.decode())[1]
    assert enter(client, mara, csrfmiddlewaretoken=proof).status_code == 302
    blind = released()[0]
    sheet = sheet_of(client, blind, RAILING)
    old = re.search(r'csrfmiddlewaretoken" value="([^"]+)"', sheet.content.decode())[1]
    code = tablets.new_badge(person=other_maker)
    assert client.post(reverse("badge"), {"code": code, "csrfmiddlewaretoken": old}).status_code == 200
    form = {"maker": sheet.context["maker_token"], "csrfmiddlewaretoken": old}
    refused = send(client, blind, RAILING, route.START, **form)
    assert refused.status_code == 409
    assert "opened by Mara Lind, and Tomasz Okafor has signed in since" in text_of(refused)
    assert tablets.read_maker_token(sheet.context["maker_token"]).tablet == wall
    assert not StationEvent.objects.filter(blind=blind, kind=route.START).exists()


def test_an_event_names_the_maker_and_the_tablet_and_so_does_the_blinds_history(client, mara):
    blind = released()[0]
    wall = enrolled(client)
    enter(client, mara)
    send(client, blind, RAILING, route.START)
    event = StationEvent.objects.get(blind=blind, kind=route.START)
    assert (event.person, event.tablet) == (mara, wall)
    office = Client()
    office.force_login(factories.person("manager"))
    assert "Mara Lind Railing 1 Railing started" in text_of(office.get(reverse("blind", args=[blind.code])))


def test_an_event_sent_from_elsewhere_names_no_tablet(tablet, maker):
    blind = released()[0]
    send(tablet, blind, RAILING, route.START)
    assert StationEvent.objects.get(blind=blind, kind=route.START).tablet is None

"""Tablets let in and retired, and what signing in on one opens, keeps, and ends."""

import datetime as dt
import re

import pytest
from django.conf import settings
from django.contrib.auth import SESSION_KEY
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from production import route, tablets
from production.models import StationEvent, Tablet
from production.route import CHECKING, RAILING, STRINGING, VANES
from tests import factories
from tests.factories import make, released, tell
from tests.tablets import HTMX, at_the_bench, enrolled, queue_of, send, sheet_of, text_of

pytestmark = pytest.mark.django_db

PIN = "5820"


@pytest.fixture
def manager(client):
    found = factories.person("manager", name="greta")
    client.force_login(found)
    return found


@pytest.fixture
def mara(maker):
    tablets.set_pin(person=maker, pin=PIN)
    return maker


def enter(client, person, pin=PIN, **fields):
    return client.post(reverse("tablet-sign-in"), {"person": person.pk, "pin": pin, **fields})


def signed_in(client):
    return client.session.get(SESSION_KEY)


@pytest.fixture
def later(monkeypatch):
    """Function that puts the clock on: `later(hours=7)`."""

    def put_on(**time):
        at = timezone.now() + dt.timedelta(**time)
        monkeypatch.setattr("django.utils.timezone.now", lambda: at)

    return put_on


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


# What such a session is


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


def test_a_password_on_a_desk_is_good_for_half_a_day(client, later):
    factories.person("manager", name="greta")
    client.post(reverse("sign-in"), {"username": "greta", "password": "a-long-passphrase"})
    later(hours=11, minutes=59)
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
    later(hours=7)
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


# Giving PINs and badges


@pytest.mark.parametrize("name", ["tablets", "bench-people"])
def test_a_list_takes_as_many_queries_for_many_as_for_few(client, manager, mara, name):
    def queries():
        with CaptureQueriesContext(connection) as taken:
            assert client.get(reverse(name)).status_code == 200
        return len(taken)

    enrolled(Client())
    few = queries()
    for number in range(12):
        enrolled(Client(), name=f"Vanes {number}", station=VANES)
        tablets.set_pin(person=factories.person("maker"), pin=PIN)
    assert queries() == few


def test_a_manager_gives_a_maker_a_pin_and_sees_who_has_what(client, manager, maker, checker):
    page = client.post(reverse("bench-person", args=[maker.pk]), {"pin": PIN, "again": PIN}, follow=True)
    assert "Mara Lind has a new PIN." in text_of(page)
    assert "Mara Lind Maker yes none" in text_of(page)
    assert "Ines Halloran Checker none none" in text_of(page)
    enrolled(client)
    client.logout()
    assert enter(client, maker).status_code == 302


@pytest.mark.parametrize(
    ("pin", "again", "said"),
    [
        ("1234", "1234", "without a repeat or a run"),
        ("58", "58", "4 to 8 digits"),
        ("5820", "5821", "The two differ"),
        ("", "", "Type the PIN, here and once more"),
    ],
)
def test_a_pin_that_can_not_be_is_refused_beside_its_field(client, manager, maker, pin, again, said):
    page = client.post(reverse("bench-person", args=[maker.pk]), {"pin": pin, "again": again})
    assert page.status_code == 422
    assert said in text_of(page)


@pytest.mark.parametrize("name", ["bench-person", "bench-unlock", "badge-new", "badge-take"])
def test_nobody_else_can_be_given_one(client, manager, name):
    assert client.post(reverse(name, args=[manager.pk]), {"pin": PIN, "again": PIN}).status_code == 404


def test_a_manager_lifts_a_lock(client, manager, mara):
    type(mara).objects.filter(pk=mara.pk).update(wrong_pins=10)
    assert "locked after 10 wrong ones" in text_of(client.get(reverse("bench-people")))
    assert "Lift the lock" in text_of(client.get(reverse("bench-person", args=[mara.pk])))
    client.post(reverse("bench-unlock", args=[mara.pk]))
    mara.refresh_from_db()
    assert not mara.pin_is_locked


def test_a_manager_prints_a_badge_once_and_takes_a_lost_one_out_of_use(client, manager, maker):
    paper = client.post(reverse("badge-new", args=[maker.pk]))
    assert paper["Content-Type"] == "application/pdf"
    assert paper["Content-Disposition"] == 'attachment; filename="badge.pdf"'
    assert "no-store" in paper["Cache-Control"]
    assert "Mara Lind Maker none yes" in text_of(client.get(reverse("bench-people")))
    assert client.get(reverse("badge-new", args=[maker.pk])).status_code == 405
    client.post(reverse("badge-take", args=[maker.pk]))
    maker.refresh_from_db()
    assert maker.badge is None


def test_a_maker_signed_in_with_a_password_chooses_their_own_pin(tablet, maker):
    assert "Choose your PIN" in text_of(tablet.get(reverse("stations")))
    page = tablet.post(reverse("own-pin"), {"pin": PIN, "again": PIN}, follow=True)
    assert "Mara Lind has a new PIN." in text_of(page)
    assert "Change your PIN" in text_of(page)


def test_a_maker_signed_in_with_a_pin_does_not(client, mara):
    enrolled(client)
    enter(client, mara)
    assert "your PIN" not in text_of(client.get(reverse("stations")))
    assert client.get(reverse("own-pin")).status_code == 403

"""A rail made anew: a new label, the old one refused with its reason, and the blind's history kept."""

import pytest
from django.urls import reverse

from production import codes, remake, route
from production.models import Blind
from production.record import Refused
from production.route import CHECKING, RAILING
from tests.factories import person, tell, work
from tests.tablets import queue_of, send, sheet_of, text_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def scrapped(at_checking, checker):
    """A blind whose rail the checker has scrapped, and the code on the old rail's label."""
    old_code = at_checking.label_code
    scrap_rail(at_checking, by=checker)
    return fresh(at_checking), old_code


def scrap_rail(blind, *, by, station=CHECKING, part="rail"):
    parts = [{"part": part, "count": 1}]
    return tell(blind, station, route.SEND_BACK, by=by, back_to=RAILING, fault="rail_damaged", scrapped=parts)


def fresh(blind):
    return Blind.objects.with_order().get(pk=blind.pk)


def scan(client, code, station=RAILING):
    return client.get(reverse("scan", args=[station]), {"code": code}, follow=True)


@pytest.mark.parametrize("part", ["rail", "headrail"])
def test_a_scrapped_rail_counts_a_remake_and_changes_the_labels_code(at_checking, checker, part):
    before = fresh(at_checking)
    event = scrap_rail(at_checking, by=checker, part=part)
    after = fresh(at_checking)
    assert (before.remake, after.remake, event.data["remake"]) == (0, 1, 1)
    assert (before.label_code, len(after.label_code)) == (before.code, 12)
    assert codes.read_code(after.label_code) == (after.order.number, after.serial, 1)


def test_what_else_is_scrapped_leaves_the_label_as_it_is(at_checking, checker):
    parts = [{"part": "tilt_rod", "count": 1}, {"part": "left_carriers", "count": 12}]
    tell(at_checking, CHECKING, route.SEND_BACK, by=checker, back_to=RAILING, fault="stiff", scrapped=parts)
    assert fresh(at_checking).remake == 0
    assert fresh(at_checking).label_code == at_checking.code


def test_a_remade_blind_keeps_its_number_its_address_and_all_that_happened(scrapped, at_checking, client):
    blind, _ = scrapped
    assert (blind.number, blind.code) == (at_checking.number, at_checking.code)
    assert blind.events.count() == blind.version == at_checking.events.count()
    client.force_login(person("manager"))
    page = text_of(client.get(reverse("blind", args=[blind.code])))
    assert f"{blind.label_code} New papers 1" in page
    assert "Railing finished" in page
    assert "Checking sent it back to railing: rail or rod damaged" in page
    assert "Scrapped: 1 × rail. The rail is made anew: new papers 1" in page


def test_the_old_label_is_refused_with_when_where_and_by_whom_its_rail_was_scrapped(scrapped, tablet):
    blind, old_code = scrapped
    page = scan(tablet, old_code)
    assert page.redirect_chain[-1][0] == "/stations/railing/"
    assert (
        f"This label is of the rail of {blind.number} that was scrapped on Wed 4 Mar, 09:00 by Ines Halloran, "
        "at checking. Put that rail aside, and print new papers 1, label and ticket; "
        f"or type {blind.number}." in text_of(page)
    )
    assert f'href="/blinds/{blind.code}/rail-label.pdf">Print the new rail label</a>' in page.content.decode()


def test_the_new_label_and_the_number_that_people_type_lead_to_the_blind(scrapped, tablet):
    blind, _ = scrapped
    proved = f"{blind.number}-{codes.check_digit(order_number=blind.order.number, serial=blind.serial)}"
    for code in (blind.label_code, f"]C0{blind.label_code}\r", proved):
        assert scan(tablet, code).redirect_chain[-1][0] == f"/stations/railing/{blind.code}/"


def test_a_second_remake_refuses_both_labels_before_it_each_with_its_own_reason(scrapped, tablet, maker):
    blind, first = scrapped
    second = blind.label_code
    tell(blind, RAILING, route.START, by=maker)
    scrap_rail(blind, by=maker, station=RAILING)
    assert "by Ines Halloran, at checking" in text_of(scan(tablet, first))
    assert "by Mara Lind, at railing" in text_of(scan(tablet, second))
    assert scan(tablet, fresh(blind).label_code).redirect_chain[-1][0] == f"/stations/railing/{blind.code}/"


def test_a_code_of_a_remake_that_was_never_made_is_refused(scrapped, tablet):
    blind, _ = scrapped
    forged = codes.ticket_code(order_number=blind.order.number, serial=blind.serial, remake=7)
    page = text_of(scan(tablet, forged))
    assert f"This code is of new papers 7 of {blind.number}, and there are none yet." in page


def test_sales_are_led_to_the_blind_by_an_old_label_and_told(scrapped, client):
    blind, old_code = scrapped
    client.force_login(person("sales"))
    page = client.get(reverse("find"), {"q": old_code}, follow=True)
    assert page.redirect_chain[-1][0] == f"/blinds/{blind.code}/"
    assert "This label is of the rail" in text_of(page)
    assert "This label is of the rail" not in text_of(client.get(reverse("find"), {"q": blind.number}, follow=True))


def test_an_address_by_the_new_code_leads_to_the_blinds_own(scrapped, client):
    blind, _ = scrapped
    client.force_login(person("sales"))
    assert client.get(reverse("blind", args=[blind.label_code])).url == f"/blinds/{blind.code}/"


def test_the_new_label_is_offered_at_once_and_at_the_station_until_the_rail_is_made(
    at_checking, client, maker, checker
):
    blind = at_checking
    client.force_login(checker)
    fault = {"fault": "rail_damaged", "back_to": RAILING, "scrapped-rail": "1"}
    send(client, blind, CHECKING, route.SEND_BACK, **fault)
    offered = queue_of(client, CHECKING).content.decode()
    assert f'href="/blinds/{blind.code}/rail-label.pdf">Print the new rail label</a>' in offered
    client.force_login(maker)
    assert "Rail or rod damaged: new rail label" in text_of(queue_of(client, RAILING))
    waiting = sheet_of(client, blind, RAILING)
    tell(blind, RAILING, route.START, by=maker)
    for page in (waiting, sheet_of(client, blind, RAILING)):
        assert "A new rail: new papers 1." in text_of(page)
        assert f"/blinds/{blind.code}/rail-label.pdf" in page.content.decode()
    tell(blind, RAILING, route.SEND_BACK, by=maker, back_to=RAILING, fault="other")
    assert remake.label_wanted(blind=fresh(blind))  # sent back once more, and still no new rail
    work(blind, RAILING, by=maker)
    assert "A new rail" not in text_of(sheet_of(client, blind, RAILING))


def test_a_rail_is_made_anew_99_times_at_most(at_checking, checker):
    Blind.objects.filter(pk=at_checking.pk).update(remake=99)
    with pytest.raises(Refused, match="made anew 99 times, and a label counts no further. Enter a new order"):
        scrap_rail(at_checking, by=checker)
    assert fresh(at_checking).remake == 99


def test_a_refused_or_repeated_fault_counts_no_remake(at_checking, client, checker):
    client.force_login(checker)
    wrong = {"fault": "", "back_to": RAILING, "scrapped-rail": "1"}
    assert send(client, at_checking, CHECKING, route.SEND_BACK, **wrong).status_code == 422
    assert fresh(at_checking).remake == 0
    event_id = "0b2c6b2e-95f7-4a53-8a8a-6a4d6a8f0001"
    for _ in range(2):
        send(client, at_checking, CHECKING, route.SEND_BACK, event_id=event_id, **{**wrong, "fault": "rail_damaged"})
    assert fresh(at_checking).remake == 1

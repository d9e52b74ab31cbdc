"""Who works at the stations: PINs and badges given, locks lifted, lost badges taken out of use."""

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from production import tablets
from production.route import VANES
from tests import factories
from tests.tablets import PIN, enrolled, enter, text_of

pytestmark = pytest.mark.django_db


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
    assert queries() <= few


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

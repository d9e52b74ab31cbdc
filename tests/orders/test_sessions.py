"""Sessions: how long they last, who sees and ends them, and what ends them at once."""

import re

import pytest
from django.contrib.auth import SESSION_KEY
from django.test import Client
from django.urls import reverse

from orders import sessions
from orders.models import AuditEntry, Session
from orders.roles import ROLE_NAMES
from production import tablets
from tests import factories
from tests.tablets import at_the_bench

pytestmark = pytest.mark.django_db
PASSWORD, ANOTHER = "a-long-passphrase", "kettle-ladder-orchard"
PAGE = {"HTTP_ACCEPT": "text/html"}


@pytest.fixture
def ada():
    return factories.person("administrator", name="ada")


@pytest.fixture
def nora():
    return factories.person("sales", name="nora")


def signed_in_as(name, password=PASSWORD):
    client = Client()
    assert client.post(reverse("sign-in"), {"username": name, "password": password}).status_code == 302
    return client


def is_in(client):
    return client.get(reverse("start"), **PAGE).url != f"{reverse('sign-in')}?next=/"


# How long


def test_a_session_ends_eight_hours_after_what_was_done_last(nora, later):
    client = signed_in_as("nora")
    later(hours=7)
    assert is_in(client)
    later(hours=4, minutes=50)
    assert is_in(client)
    idle = signed_in_as("nora")
    later(hours=8, minutes=1)
    assert not is_in(idle)


def test_what_a_page_asks_by_itself_keeps_no_session_going(nora, later):
    client = signed_in_as("nora")
    later(hours=7)
    client.get(reverse("orders"), HTTP_ACCEPT="*/*", HTTP_HX_REQUEST="true")
    later(hours=1, minutes=1)
    assert not is_in(client)


def test_however_busy_a_session_ends_after_twelve_hours(nora, later):
    client = signed_in_as("nora")
    for _ in range(3):
        later(hours=3, minutes=55)
        assert is_in(client)
    later(minutes=20)
    assert not is_in(client)


def test_at_the_bench_too(client, later):
    at_the_bench(client, factories.person("maker"))
    for _ in range(2):
        later(hours=5, minutes=55)
        assert client.post(reverse("language"), {"language": "en-gb"}).status_code == 302
    later(minutes=20)
    assert client.get(reverse("stations")).status_code == 302


def test_an_act_is_noted_every_five_minutes_at_most(nora, later):
    client = signed_in_as("nora")
    begun = client.session[sessions.DONE]
    later(minutes=4)
    client.get(reverse("orders"), **PAGE)
    assert client.session[sessions.DONE] == begun
    later(minutes=2)
    client.get(reverse("orders"), **PAGE)
    assert client.session[sessions.DONE] > begun


# What ends one


def test_signing_out_ends_it_on_the_server(nora):
    client = signed_in_as("nora")
    kept = client.cookies["sessionid"].value
    answer = client.post(reverse("sign-out"))
    assert answer.headers["Clear-Site-Data"] == '"cache"'
    thief = Client()
    thief.cookies["sessionid"] = kept
    assert not is_in(thief)
    assert not Session.objects.filter(person=nora).exists()


def test_signing_in_begins_a_new_one_under_another_number(client, nora):
    client.get(reverse("sign-in"))
    client.session.save()
    before = client.session.session_key
    client.post(reverse("sign-in"), {"username": "nora", "password": PASSWORD})
    assert client.session.session_key != before


def change(ada, person, **fields):
    entered = {"username": person.username, "roles": person.roles, "is_active": "on", **fields}
    client = signed_in_as("ada")
    answer = client.post(reverse("person", args=[person.pk]), {k: v for k, v in entered.items() if v is not None})
    assert answer.url == reverse("people")


def test_who_may_not_sign_in_any_more_is_out_at_once(ada, nora):
    client = signed_in_as("nora")
    change(ada, nora, is_active=None)
    assert not is_in(client)
    assert not Session.objects.filter(person=nora).exists()


def test_whose_roles_change_is_out_at_once_and_whose_name_changes_is_not(ada, nora):
    client = signed_in_as("nora")
    change(ada, nora, first_name="Nora")
    assert is_in(client)
    change(ada, nora, roles=["manager"])
    assert not is_in(client)


def test_a_password_that_is_set_ends_every_session(ada, nora):
    client = signed_in_as("nora")
    boss = signed_in_as("ada")
    typed = {"new_password1": ANOTHER, "new_password2": ANOTHER}
    assert boss.post(reverse("person-password", args=[nora.pk]), typed).url == reverse("people")
    assert not is_in(client)
    assert is_in(boss)


@pytest.mark.parametrize("change", ["new_badge", "take_badge", "set_pin"])
def test_a_new_pin_or_badge_ends_what_was_begun_with_the_one_before(client, change):
    mara = factories.person("maker", name="mara")
    at_the_bench(client, mara)
    by_password = signed_in_as("mara")
    assert client.get(reverse("stations")).status_code == 200
    getattr(tablets, change)(person=mara, **({"pin": "4072"} if change == "set_pin" else {}))
    assert client.get(reverse("stations")).status_code == 302
    assert is_in(by_password)


# Who sees and ends them


@pytest.mark.parametrize("role", ["manager", "administrator"])
def test_who_is_signed_in_is_shown_and_ended(nora, role):
    factories.person(role, name="boss")
    client, boss = signed_in_as("nora"), signed_in_as("boss")
    page = boss.get(reverse("signed-in")).content.decode()
    assert page.count("127.0.0.1") == 2
    assert client.session.session_key not in page
    answer = boss.post(reverse("signed-in-end", args=[nora.pk]), follow=True)
    assert "nora is signed out: 1 session ended." in answer.content.decode()
    assert not is_in(client)
    assert is_in(boss)
    assert AuditEntry.objects.filter(what="session-ended", thing=str(nora.pk), person__username="boss").exists()


def test_one_sees_and_ends_ones_own_elsewhere(nora):
    here, there = signed_in_as("nora"), signed_in_as("nora")
    page = here.get(reverse("own-sign-in")).content.decode()
    assert page.count("127.0.0.1") == 2
    assert page.count("this browser") == 1
    assert here.post(reverse("own-others-end")).url == reverse("own-sign-in")
    assert is_in(here)
    assert not is_in(there)


# One's own password


def own(client, old=PASSWORD, new=ANOTHER):
    return client.post(reverse("own-sign-in"), {"old_password": old, "new_password1": new, "new_password2": new})


@pytest.mark.parametrize("role", ROLE_NAMES)
def test_everybody_changes_their_own_password_and_is_out_everywhere_else(role):
    factories.person(role, name="nora")
    here, there = signed_in_as("nora"), signed_in_as("nora")
    assert own(here).url == reverse("own-sign-in")
    assert is_in(here)
    assert not is_in(there)
    signed_in_as("nora", ANOTHER)


def test_the_old_password_is_asked_for_and_its_tries_are_counted(nora):
    client = signed_in_as("nora")
    for _ in range(5):
        answer = own(client, old="wrong")
        assert answer.status_code == 422
        assert "That is not your password." in answer.content.decode()
    assert "Too many wrong tries." in own(client).content.decode()
    nora.refresh_from_db()
    assert nora.check_password(PASSWORD)


@pytest.mark.parametrize(
    ("new", "said"),
    [
        ("fourteen-chars", "at least 15"),
        ("railwright-blinds1", "own words"),
        ("harbour-lane-blinds", "own words"),
        ("nora-administrator", "own words"),
        ("passwordpassword", "too common|own words"),
    ],
)
def test_a_password_that_is_guessed_first_is_refused_with_the_reason(nora, new, said):
    answer = own(signed_in_as("nora"), new=new)
    assert answer.status_code == 422
    assert re.search(said, answer.content.decode())


@pytest.mark.parametrize(
    "new",
    [
        "four words of a kind",
        "ÜberMäßigLangesWort",
        "Twelve gulls, nine kettles & a ladder – 🪜 " * 2 + "and nobody who counts them all on a wet Sunday",
    ],
)
def test_a_long_password_of_any_signs_is_taken_whole(nora, new):
    assert own(signed_in_as("nora"), new=new).status_code == 302
    nora.refresh_from_db()
    assert nora.check_password(new)
    assert not nora.check_password(new[:-1])


# The password once more

ASKED_AGAIN = {
    *("person-new", "person", "person-password", "api-keys", "api-key-revoke", "tablets", "tablet-retire"),
    *("bench-person", "bench-unlock", "badge-new", "badge-take", "own-pin", "own-others-end", "signed-in-end"),
    *("own-second-step", "own-spare-codes", "own-second-step-remove", "person-second-step-remove"),
}


def test_what_changes_rights_asks_for_the_password_again():
    from tests.orders.who_may_open import patterns

    found = {pattern.name for pattern in patterns() if getattr(pattern.callback, "asks_again", False)}
    assert found == ASKED_AGAIN


def test_after_a_quarter_of_an_hour_the_password_is_asked_for_and_leads_back(ada, nora, later):
    client, wanted = signed_in_as("ada"), reverse("person", args=[nora.pk])
    assert client.get(wanted).status_code == 200
    later(minutes=16)
    asked = client.get(wanted).url
    assert asked == f"{reverse('confirm')}?next={wanted.replace('/', '%2F')}"
    key = client.session.session_key
    assert client.post(asked, {"password": "wrong", "next": wanted}).status_code == 422
    assert client.get(wanted).status_code == 302
    assert client.post(asked, {"password": PASSWORD, "next": wanted}).url == wanted
    assert client.get(wanted).status_code == 200
    assert client.session.session_key != key


def test_a_form_that_took_long_to_fill_in_is_still_taken(ada, nora, later):
    client = signed_in_as("ada")
    later(minutes=50)
    typed = {"username": "nora", "roles": ["sales"], "is_active": "on", "first_name": "Nora"}
    assert client.post(reverse("person", args=[nora.pk]), typed).url == reverse("people")
    later(minutes=11)
    assert client.post(reverse("person", args=[nora.pk]), typed).url.startswith(reverse("confirm"))


def test_the_list_of_tablets_is_seen_without_and_a_tablet_enrolled_with_it(later):
    factories.person("manager", name="greta")
    client = signed_in_as("greta")
    later(hours=2)
    assert client.get(reverse("tablets")).status_code == 200
    typed = {"name": "Railing 1", "station": "railing"}
    assert client.post(reverse("tablets"), typed).url == f"{reverse('confirm')}?next=%2Ftablets%2F"


def test_what_only_takes_a_press_leads_back_to_where_it_was_pressed(ada, nora, later):
    client = signed_in_as("ada")
    later(hours=2)
    answer = client.post(reverse("signed-in-end", args=[nora.pk]))
    assert answer.url == f"{reverse('confirm')}?next=%2Fsigned-in%2F"


@pytest.mark.parametrize("wanted", ["https://elsewhere.example/", "//elsewhere.example/", "javascript:alert(1)", ""])
def test_it_leads_to_no_other_site(ada, wanted):
    client = signed_in_as("ada")
    assert client.post(reverse("confirm"), {"password": PASSWORD, "next": wanted}).url == "/"
    client = Client()
    entered = {"username": "ada", "password": PASSWORD, "next": wanted}
    assert client.post(reverse("sign-in"), entered).url == "/"


def test_the_session_s_number_is_random_and_names_nobody(nora):
    key = signed_in_as("nora").session.session_key
    # 32 of 36 signs, each chosen by `secrets`: 165 bits.
    assert len(key) == 32
    assert SESSION_KEY not in key
    assert signed_in_as("nora").session.session_key != key

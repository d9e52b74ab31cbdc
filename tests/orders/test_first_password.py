"""A password that an administrator set is good for one sign-in, at which its person chooses their own."""

import pytest
from django.test import Client
from django.urls import reverse

from orders import first_password
from orders.models import AuditEntry, Person
from tests import factories
from tests.orders.who_may_open import ALLOWED, PUBLIC, address, patterns
from tests.tablets import at_the_bench

pytestmark = pytest.mark.django_db
GIVEN, OWN = "kettle-ladder-orchard", "basket-comet-willow"
PAGE = "own-first-password"


@pytest.fixture
def nora(client):
    """Whom an administrator has just let in."""
    boss = Client()
    boss.force_login(factories.person("administrator", name="ada"))
    entered = {"username": "nora", "roles": ["sales"], "password1": GIVEN, "password2": GIVEN}
    assert boss.post(reverse("person-new"), entered).url == reverse("people")
    assert "once, by" in boss.get(reverse("people")).content.decode()
    return Person.objects.get(username="nora")


def sign_in(client, password=GIVEN):
    return client.post(reverse("sign-in"), {"username": "nora", "password": password})


def choose(client, new=OWN):
    return client.post(reverse(PAGE), {"new_password1": new, "new_password2": new})


def test_it_opens_no_page_but_the_one_where_ones_own_is_chosen(client, nora, arguments):
    sign_in(client)
    open_to_her = set()
    for pattern in patterns():
        if pattern.name == "sign-out":
            continue
        for send in (client.get, client.post):
            answer = send(address(pattern, arguments), {"new_password1": "no"} if pattern.name == PAGE else {})
            if answer.status_code != 302 or answer.url != reverse(PAGE):
                open_to_her.add(pattern.name)
    keyless = {name for name in ALLOWED if name.startswith("api-") and name not in {"api-keys", "api-key-revoke"}}
    assert open_to_her == {PAGE, "confirm", "language", "sign-in-code", "tablet-sign-in", "badge"} | PUBLIC | keyless


def test_once_ones_own_is_chosen_everything_opens_and_the_first_is_worth_nothing(client, nora):
    sign_in(client)
    assert choose(client).url == reverse("start")
    assert client.get(reverse("orders")).status_code == 200
    assert client.get(reverse(PAGE)).url == reverse("own-sign-in")
    assert not Client().login(username="nora", password=GIVEN)
    assert sign_in(Client(), OWN).status_code == 302
    set_by = AuditEntry.objects.filter(what="password-set", thing=str(nora.pk)).order_by("pk")
    assert [entry.person.username for entry in set_by] == ["ada", "nora"]


@pytest.mark.parametrize(("new", "said"), [(GIVEN, "Whoever set that password knows it"), ("short", "at least 15")])
def test_neither_the_same_nor_a_weak_one_is_taken(client, nora, new, said):
    sign_in(client)
    answer = choose(client, new)
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert client.get(reverse("orders")).url == reverse(PAGE)


def test_it_is_good_for_three_days_and_an_hour_from_the_first_sign_in_on(client, nora, later):
    later(days=2, hours=23)
    assert sign_in(client).url == "/"
    later(minutes=50)
    assert sign_in(Client()).status_code == 302
    later(minutes=11)
    refused = sign_in(Client())
    assert "its time is over" in refused.content.decode()
    assert AuditEntry.objects.filter(what="not-let-in", words="nora: first password over").count() == 1
    # Whoever is in still is out too.
    assert choose(client).url == reverse("sign-in")
    assert "its time is over" in client.get(reverse("sign-in")).content.decode()
    nora.refresh_from_db()
    assert nora.check_password(GIVEN)


def test_after_three_days_it_lets_nobody_in(client, nora, later):
    later(days=3, minutes=1)
    assert "its time is over" in sign_in(client).content.decode()
    assert client.get(reverse("orders")).url.startswith(reverse("sign-in"))


def test_a_wrong_password_says_nothing_of_it(client, nora, later):
    later(days=4)
    assert "its time is over" not in sign_in(client, "wrong").content.decode()


def test_one_that_is_set_for_somebody_is_a_first_one_and_ones_own_is_not(client):
    ada, tove = factories.person("administrator", name="ada"), factories.person("maker", name="tove")
    client.force_login(ada)
    for person in (ada, tove):
        client.post(reverse("person-password", args=[person.pk]), {"new_password1": OWN, "new_password2": OWN})
        person.refresh_from_db()
    assert ada.first_password_until is None
    assert first_password.refusal(tove) == ""
    assert tove.first_password_until is not None
    assert client.get(reverse("people")).status_code == 200


def test_a_pin_or_badge_opens_the_stations_all_the_same(client):
    mara = factories.person("maker", name="mara")
    first_password.give(mara)
    at_the_bench(client, mara)
    assert client.get(reverse("stations")).status_code == 200
    assert client.get(reverse("own-sign-in")).status_code == 403


def test_in_a_clock_set_back_it_is_good_for_no_longer_than_it_was(nora, later):
    first_password.use(nora)
    until = nora.first_password_until
    later(hours=-2)
    first_password.use(nora)
    assert nora.first_password_until <= until

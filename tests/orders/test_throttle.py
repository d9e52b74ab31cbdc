"""How often somebody may try to sign in, and that nobody is locked out for good."""

import datetime as dt
from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import connection
from django.urls import reverse

from orders import throttle
from orders.models import SignInTries
from tests import factories

AT = factories.AT


def take(name="nora", address="10.0.0.7", *, known=False, at=AT):
    return throttle.take(name=name, address=address, is_known_there=lambda: known, at=at)


@pytest.mark.django_db
def test_a_name_has_five_tries_from_one_address_and_one_more_each_minute():
    for _ in range(5):
        take()
    with pytest.raises(throttle.HeldUp, match="Wait 60 seconds, then try again"):
        take()
    with pytest.raises(throttle.HeldUp, match="Wait 1 second"):
        take(at=AT + dt.timedelta(seconds=59))
    take(at=AT + dt.timedelta(seconds=60))
    with pytest.raises(throttle.HeldUp):
        take(at=AT + dt.timedelta(seconds=61))


@pytest.mark.django_db
def test_case_makes_no_other_name():
    for name in ("nora", "Nora", "NORA", "nORA", "noRA"):
        take(name)
    with pytest.raises(throttle.HeldUp):
        take("norA")


@pytest.mark.django_db
def test_another_name_and_another_address_are_not_held_up():
    for _ in range(5):
        take()
    take("ruben")
    take(address="10.0.0.8")


@pytest.mark.django_db
def test_an_address_has_thirty_tries_whatever_the_names():
    for number in range(30):
        take(f"name{number}")
    with pytest.raises(throttle.HeldUp) as held_up:
        take("another")
    assert held_up.value.wait == dt.timedelta(seconds=20)
    take("another", address="10.0.0.8")


@pytest.mark.django_db
def test_many_addresses_hold_a_name_up_but_not_where_it_signs_in():
    for number in range(50):
        take(address=f"203.0.113.{number}")
    with pytest.raises(throttle.HeldUp):
        take(address="203.0.113.99")
    take(address="10.0.0.7", known=True)


@pytest.mark.django_db
def test_a_try_that_is_held_up_uses_none_up():
    for _ in range(5):
        take()
    before = sorted(SignInTries.objects.values_list("whose", "until"))
    for _ in range(100):
        with pytest.raises(throttle.HeldUp):
            take()
    assert sorted(SignInTries.objects.values_list("whose", "until")) == before
    take(at=AT + dt.timedelta(minutes=1))


@pytest.mark.django_db
def test_a_right_password_gives_its_try_back():
    for _ in range(50):
        throttle.give_back(take())


@pytest.mark.django_db
def test_a_clock_that_is_set_back_locks_nobody_out():
    for at in (AT + dt.timedelta(days=400), AT):
        for _ in range(5):
            take(at=at)
    with pytest.raises(throttle.HeldUp) as held_up:
        take(at=AT)
    assert held_up.value.wait <= dt.timedelta(minutes=1)


@pytest.mark.django_db
def test_what_is_all_back_is_forgotten():
    take()
    assert throttle.forget(at=AT) == 0
    assert throttle.forget(at=AT + dt.timedelta(hours=1)) == 3


@pytest.mark.django_db
def test_no_name_stands_in_the_table():
    take("a password typed in the wrong place")
    assert all(len(whose) == 64 for whose in SignInTries.objects.values_list("whose", flat=True))


@pytest.mark.django_db(transaction=True)
def test_of_many_tries_at_once_no_more_than_five_are_looked_at():
    def one(place):
        try:
            # Whoever came first need not be counted first.
            take(at=AT - dt.timedelta(milliseconds=place))
        except throttle.HeldUp:
            return 0
        finally:
            connection.close()
        return 1

    with ThreadPoolExecutor(8) as together:
        # The fifth is given where it is counted with the last moment of them all.
        assert sum(together.map(one, range(24))) in (4, 5)


# On the page


def enter(client, name="nora", *, password="wrong", **more):  # noqa: S107 - nobody's
    return client.post(reverse("sign-in"), {"username": name, "password": password}, **more)


@pytest.mark.django_db
def test_the_sixth_wrong_password_is_not_looked_at_nor_the_right_one_after_it(client):
    factories.person("sales", name="nora")
    for _ in range(5):
        assert "go together" in enter(client).content.decode()
    answer = enter(client, password="a-long-passphrase")
    assert answer.status_code == 429
    assert "Too many wrong tries. Wait " in answer.content.decode()
    assert 'value="nora"' in answer.content.decode()
    assert enter(client, password="a-long-passphrase", REMOTE_ADDR="10.0.0.8").status_code == 302


@pytest.mark.django_db
@pytest.mark.parametrize("name", ["nora", "left", "nobody"])
def test_whether_a_name_is_somebodys_can_t_be_told(client, name):
    factories.person("sales", name="nora")
    factories.person("sales", name="left", is_active=False)
    pages = [enter(client, name) for _ in range(6)]
    assert [page.status_code for page in pages] == [200] * 5 + [429]
    text = pages[0].content.decode()
    assert "That name and password don&#x27;t go together" in text or "That name and password don't go together" in text


@pytest.mark.django_db
def test_behind_a_proxy_the_address_is_what_the_proxy_added_last(client, settings):
    settings.BEHIND_PROXY = True
    factories.person("sales", name="nora")
    for number in range(5):
        enter(client, HTTP_X_FORWARDED_FOR=f"198.51.100.{number}, 10.0.0.7")
    assert enter(client, HTTP_X_FORWARDED_FOR="198.51.100.77, 10.0.0.7").status_code == 429
    assert enter(client, HTTP_X_FORWARDED_FOR="10.0.0.7, 10.0.0.8").status_code == 200


@pytest.mark.django_db
def test_without_a_proxy_nobody_makes_an_address_up(client):
    factories.person("sales", name="nora")
    for number in range(5):
        enter(client, HTTP_X_FORWARDED_FOR=f"198.51.100.{number}")
    assert enter(client, HTTP_X_FORWARDED_FOR="198.51.100.77").status_code == 429

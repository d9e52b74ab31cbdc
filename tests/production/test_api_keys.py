"""Keys for other programs: what they open, until when, and how often."""

import datetime as dt
import hashlib

import pytest
from django.test import Client
from django.urls import reverse

from orders import api_keys
from orders.models import ApiKey
from orders.models.api_keys import ORDERS_READ, ORDERS_WRITE, SCOPES, STATES_READ
from orders.roles import ADMINISTRATOR
from tests import factories
from tests.production import api_desk
from tests.production.api_desk import Program

pytestmark = pytest.mark.django_db
AT = factories.AT


def test_a_key_is_kept_as_a_hash_alone():
    program = Program()
    kept = " ".join(str(value) for value in ApiKey.objects.values_list().get())
    assert program.secret not in kept
    assert hashlib.sha256(program.secret.encode()).hexdigest() in kept
    assert len(program.secret) > 40


def test_a_revoked_key_opens_nothing_from_that_moment_on():
    program = Program()
    assert program.get("/catalogue").status_code == 200
    api_keys.revoke(key=program.key, by=program.key.made_by, at=AT)
    for answer in (program.get("/catalogue"), program.get("/orders"), program.enter(api_desk.order())):
        assert answer.status_code == 401
        assert answer.headers["WWW-Authenticate"].startswith("Bearer")


def test_a_key_that_is_revoked_while_its_order_is_read_orders_nothing():
    program = Program()
    api_keys.revoke(key=program.key, by=program.key.made_by, at=AT)

    def write():
        pytest.fail("the order was written")

    with pytest.raises(api_keys.Revoked):
        api_keys.once(key=program.key, idempotency_key="a", body={}, write=write, at=AT)


def test_revoking_twice_leaves_who_was_first_on_record():
    program, other = Program(), factories.person(ADMINISTRATOR)
    api_keys.revoke(key=program.key, by=program.key.made_by, at=AT)
    api_keys.revoke(key=program.key, by=other, at=AT + dt.timedelta(days=1))
    key = ApiKey.objects.get(pk=program.key.pk)
    assert (key.revoked_by, key.revoked_at) == (program.key.made_by, AT)


@pytest.mark.parametrize(
    "header", [None, "", "Bearer", "Bearer ", "Basic dXNlcg==", "Bearer rw_no-such-key", "bearer\trw_", "rw_x"]
)
def test_without_a_key_in_use_nothing_opens(client, header):
    client.force_login(factories.person(*[ADMINISTRATOR]))
    headers = {} if header is None else {"Authorization": header}
    answer = client.get("/api/v1/orders", headers=headers)
    assert (answer.status_code, answer.json()["type"]) == (401, "/api/#no-key")


def test_a_key_needs_no_form_token_and_a_session_is_no_key():
    api_desk.catalogue()
    program = Program()
    program.client = Client(enforce_csrf_checks=True)
    assert program.enter(api_desk.order()).status_code == 201


@pytest.mark.parametrize(
    ("scope", "opens"),
    [
        (ORDERS_WRITE, {"POST /orders"}),
        (ORDERS_READ, {"/orders", "/orders/1"}),
        (STATES_READ, {"/orders/1/blinds", "/changes"}),
    ],
)
def test_a_key_opens_what_its_scope_says_and_no_more(scope, opens):
    factories.order(lines=[{}])
    program = Program(scopes=[scope])
    paths = ("/orders", "/orders/1", "/orders/1/blinds", "/changes")
    answers = {path: program.get(path) for path in paths} | {"POST /orders": program.enter(api_desk.order())}
    assert {path for path, answer in answers.items() if answer.status_code != 403} == opens
    refused = next(answer for answer in answers.values() if answer.status_code == 403).json()
    assert f"the key {program.key} has {scope}" in refused["detail"]


def test_every_scope_opens_something():
    assert set(dict(SCOPES)) == {ORDERS_WRITE, ORDERS_READ, STATES_READ}


# Turns


def turns(key, count, at):
    return [api_keys.take_turn(key=key, at=at) for _ in range(count)]


def test_a_key_may_ask_so_often_at_once_then_waits_and_a_minute_gives_so_many_back():
    key = Program().key
    assert turns(key, api_keys.AT_ONCE, AT) == [0] * api_keys.AT_ONCE
    assert api_keys.take_turn(key=key, at=AT) == 1
    later = AT + dt.timedelta(seconds=10)
    free = 10 * api_keys.PER_MINUTE // 60
    assert turns(key, free + 1, later) == [0] * free + [1]
    rested = AT + dt.timedelta(hours=1)
    assert turns(key, api_keys.AT_ONCE + 1, rested)[-2:] == [0, 1]


def test_a_key_that_asks_now_and_then_is_written_once_a_minute(django_assert_num_queries):
    key = Program().key
    for minute in (0, 1):
        assert api_keys.take_turn(key=key, at=AT + dt.timedelta(minutes=minute)) == 0
        with django_assert_num_queries(0):
            assert [
                api_keys.take_turn(key=key, at=AT + dt.timedelta(minutes=minute, seconds=second))
                for second in range(5, 60, 5)
            ] == [0] * 11


def test_turns_that_another_process_took_ahead_are_given_out_nowhere_else():
    key = Program().key
    assert api_keys.take_turn(key=key, at=AT) == 0
    others = dict(api_keys._ahead)
    api_keys._ahead.clear()
    given = [api_keys.take_turn(key=key, at=AT) for _ in range(api_keys.AT_ONCE)].count(0)
    assert given + others[key.secret][1] + 1 == api_keys.AT_ONCE


def test_many_processes_that_each_ask_once_a_minute_are_never_made_to_wait():
    key = Program().key
    for second in range(0, 600, 5):
        # As if each request came to a process of its own.
        api_keys._ahead.clear()
        assert api_keys.take_turn(key=key, at=AT + dt.timedelta(seconds=second)) == 0


def test_one_key_does_not_use_up_the_turns_of_another():
    first, second = Program().key, Program().key
    turns(first, api_keys.AT_ONCE + 1, AT)
    assert api_keys.take_turn(key=second, at=AT) == 0


def test_too_many_requests_are_told_how_long_to_wait(monkeypatch):
    monkeypatch.setattr(api_keys, "AT_ONCE", 2)
    monkeypatch.setattr(api_keys, "PER_MINUTE", 2)
    program = Program()
    assert [program.get("/catalogue").status_code for _ in range(3)] == [200, 200, 429]
    answer = program.get("/catalogue")
    assert 28 <= int(answer.headers["Retry-After"]) <= 30
    assert "may ask 2 times a minute, and 2 times at once. Wait" in answer.json()["detail"]


def test_a_key_says_when_it_was_used_last():
    program = Program()
    assert program.key.last_used_at is None
    program.get("/catalogue")
    program.key.refresh_from_db()
    assert program.key.last_used_at is not None


# The administrator's page


def test_a_new_key_is_shown_once_and_works(client, administrator):
    form = {"name": "web shop", "scopes": [ORDERS_READ], "whose": "every"}
    answer = client.post(reverse("api-keys"), form)
    page = answer.content.decode()
    secret = page.split('id="secret" value="')[1].split('"')[0]
    assert "no-store" in answer.headers["Cache-Control"]
    assert client.get("/api/v1/orders", headers={"Authorization": f"Bearer {secret}"}).status_code == 200
    key = ApiKey.objects.get()
    assert (key.name, key.scopes, key.every_customer, key.made_by) == ("web shop", [ORDERS_READ], True, administrator)
    assert '<td data-label="May">read orders with their lines</td>' in client.get(reverse("api-keys")).content.decode()
    page = client.get(reverse("api-keys")).content.decode()
    assert secret not in page
    assert "web shop" in page


def test_a_key_for_named_customers_knows_of_theirs_alone(client, administrator):
    north = factories.customer("North")
    form = {"name": "north", "scopes": [ORDERS_READ], "whose": "named", "customers": [north.pk]}
    client.post(reverse("api-keys"), form)
    key = ApiKey.objects.get()
    assert (key.every_customer, list(key.customers.all())) == (False, [north])


@pytest.mark.parametrize(
    ("left_out", "said"),
    [
        ("name", "Type which program asks with the key."),
        ("scopes", "Tick what the key may do."),
        ("whose", "Choose whose orders the key may know of."),
        ("customers", "Choose a customer, or let the key know of every customer&#x27;s orders."),
    ],
)
def test_what_a_key_lacks_is_said_and_none_is_made(client, administrator, left_out, said):
    form = {"name": "north", "scopes": [ORDERS_READ], "whose": "named", "customers": [factories.customer().pk]}
    del form[left_out]
    answer = client.post(reverse("api-keys"), form)
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert not ApiKey.objects.exists()


def test_a_name_is_used_once_even_where_its_key_is_revoked(client, administrator):
    form = {"name": "web shop", "scopes": [ORDERS_READ], "whose": "every"}
    client.post(reverse("api-keys"), form)
    answer = client.post(reverse("api-keys"), form)
    assert answer.status_code == 422
    assert "There is or was a key web shop." in answer.content.decode()


def test_revoking_asks_first_and_stays_on_the_page(client, administrator):
    program = Program()
    where = reverse("api-key-revoke", args=[program.key.pk])
    assert "It was never used." in client.get(where).content.decode()
    assert program.get("/catalogue").status_code == 200
    page = client.post(where, follow=True).content.decode()
    assert f"The key {program.key} opens nothing any more." in page
    assert program.get("/catalogue").status_code == 401
    assert "revoked" in client.get(reverse("api-keys")).content.decode()
    assert "ada revoked it" in client.get(where).content.decode()


def test_the_page_takes_as_many_queries_for_many_keys_as_for_one(client, administrator, django_assert_max_num_queries):
    for number in range(5):
        Program(factories.customer(f"Customer {number}"))
    with django_assert_max_num_queries(6):
        client.get(reverse("api-keys"))

"""The same order posted twice is one order, also at the same moment, on a real database with real connections."""

import datetime as dt

import pytest

from orders import api_keys, intake
from orders.models import Customer, Order, PostedOrder
from tests import factories
from tests.production import api_desk
from tests.production.api_desk import Program
from tests.production.at_once import at_once

on_real_connections = pytest.mark.django_db(transaction=True)


def test_the_same_post_again_is_answered_again_and_nothing_is_written(shop):
    first, again = (shop.enter(api_desk.order(), under="AR-1") for _ in range(2))
    assert (first.status_code, first.headers["Idempotent-Replay"]) == (201, "false")
    assert (again.status_code, again.headers["Idempotent-Replay"]) == (201, "true")
    assert first.json() == again.json()
    assert first.headers["Location"] == again.headers["Location"]
    assert Order.objects.count() == 1


def test_the_first_answer_comes_again_though_the_order_has_moved_on(shop):
    first = shop.enter(api_desk.order(), under="AR-1")
    intake.change_order(order=Order.objects.get(), reference="changed since", due_on=dt.date(2030, 1, 1))
    assert shop.enter(api_desk.order(), under="AR-1").json() == first.json()


def test_keys_in_another_order_and_blanks_make_no_other_post(shop):
    body = api_desk.order()
    shop.enter(body, under="AR-1")
    turned = dict(reversed(body.items()))
    assert shop.enter(turned, under="AR-1").status_code == 201
    assert Order.objects.count() == 1


def test_another_order_under_a_used_key_is_refused_with_the_order_that_has_it(shop):
    shop.enter(api_desk.order(), under="AR-1")
    answer = shop.enter(api_desk.order({"width_mm": 1831}), under="AR-1")
    assert (answer.status_code, answer.json()["type"]) == (409, "/api/#reused")
    assert "Idempotency-Key AR-1 was used for Order 0001" in answer.json()["detail"]
    assert Order.objects.count() == 1


def test_a_refused_order_leaves_its_key_free_for_the_corrected_one(shop):
    assert shop.enter(api_desk.order({"width_mm": 9000}), under="AR-1").status_code == 422
    assert shop.enter(api_desk.order(), under="AR-1").status_code == 201


def test_two_programs_may_use_the_same_idempotency_key(shop):
    assert shop.enter(api_desk.order(), under="1").status_code == 201
    assert Program().enter(api_desk.order({"width_mm": 1500}), under="1").status_code == 201
    assert Order.objects.count() == 2


@pytest.mark.parametrize("given", [None, "", "two words", "x" * 65, "naïve"])
def test_an_order_needs_an_idempotency_key(shop, given):
    headers = {} if given is None else {"Idempotency-Key": given}
    answer = shop.post("/orders", api_desk.order(), **headers)
    assert (answer.status_code, answer.json()["type"]) == (400, "/api/#unreadable")
    assert "such as a UUID" in answer.json()["detail"]


@on_real_connections
@pytest.mark.parametrize("round_", range(3))
def test_the_same_order_sent_four_times_at_once_is_one_order_with_one_answer(shop, round_):
    answers = at_once(*[lambda: shop.enter(api_desk.order({}, {}), under="AR-1")] * 4)
    assert [answer.status_code for answer in answers] == [201] * 4
    assert sorted(answer.headers["Idempotent-Replay"] for answer in answers) == ["false", "true", "true", "true"]
    assert len({answer.content for answer in answers}) == 1
    assert (Order.objects.count(), PostedOrder.objects.count(), Customer.objects.count()) == (1, 1, 1)


@on_real_connections
def test_two_orders_at_once_under_one_key_are_one_order_and_one_refusal(shop):
    posts = [api_desk.order({"width_mm": width}) for width in (1500, 1600)]
    answers = at_once(*[lambda post=post: shop.enter(post, under="AR-1") for post in posts])
    assert sorted(answer.status_code for answer in answers) == [201, 409]
    assert Order.objects.count() == 1


@on_real_connections
def test_several_programs_at_once_get_a_number_each(shop):
    programs = [shop, *(Program() for _ in range(3))]
    factories.order(lines=[{}])
    answers = at_once(*[lambda program=program: program.enter(api_desk.order()) for program in programs])
    assert [answer.status_code for answer in answers] == [201] * 4
    assert sorted(answer.json()["order"]["number"] for answer in answers) == [2, 3, 4, 5]


@on_real_connections
def test_turns_taken_at_once_are_all_counted(shop, monkeypatch):
    monkeypatch.setattr(api_keys, "AT_ONCE", 3)
    monkeypatch.setattr(api_keys, "PER_MINUTE", 1)
    answers = at_once(*[lambda: shop.get("/catalogue").status_code] * 6)
    assert sorted(answers) == [200] * 3 + [429] * 3

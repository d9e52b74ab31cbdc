"""Who orders through a key, and whose orders a key may see."""

import pytest

from orders.models import Customer, Order
from tests import factories
from tests.production import api_desk
from tests.production.api_desk import LINE, Program, wrong

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("catalogue_filled")]


def test_the_same_name_and_e_mail_is_the_same_customer(shop):
    shop.enter(api_desk.order())
    shop.enter(api_desk.order(customer={"name": "ASHDOWN ROOMS", "email": "Buying@ashdown.example"}))
    shop.enter(api_desk.order(customer={"name": "Ashdown Rooms", "email": "other@ashdown.example"}))
    assert [order.customer_id for order in Order.objects.order_by("number")] == [
        (first := Order.objects.order_by("number").first().customer_id),
        first,
        Customer.objects.latest("pk").pk,
    ]
    assert Customer.objects.count() == 2


def test_without_e_mail_the_phone_tells_and_without_both_nothing_does(shop):
    for given in ({"phone": "020 555"}, {"phone": "020 555"}, {"phone": "020 556"}, {}, {}):
        assert shop.enter(api_desk.order(customer={"name": "Ashdown", **given})).status_code == 201
    assert Customer.objects.count() == 4


def test_a_customer_that_is_not_there_is_refused(shop):
    answer = shop.enter(api_desk.order(customer={"id": 4711}))
    assert (answer.status_code, wrong(answer)) == (422, [("#/customer/id", "customer")])


def test_a_key_for_one_customer_need_not_say_which():
    ours = factories.customer("Ours")
    answer = Program(ours).enter({"lines": [LINE]})
    assert answer.json()["order"]["customer"] == {"id": ours.pk, "name": "Ours"}


def test_a_key_for_several_customers_must_say_which(shop):
    program = Program(factories.customer("One"), factories.customer("Two"))
    for asks in (program, shop):
        assert wrong(asks.enter({"lines": [LINE]})) == [("#/customer", "customer")]


@pytest.fixture
def two_customers():
    """The programs of two customers, an order of each, and a blind at work in each."""
    orders = []
    for name in ("North", "South"):
        blind = factories.released(customer=factories.customer(name))[0]
        orders.append(blind.order)
    return [(Program(order.customer), order) for order in orders]


def test_a_key_of_one_customer_sees_nothing_of_another(two_customers):
    (north, own), (_, other) = two_customers
    for path in ("/orders/{}", "/orders/{}/blinds"):
        assert north.get(path.format(own.number)).status_code == 200
        hidden, nowhere = north.get(path.format(other.number)), north.get(path.format(9999))
        assert hidden.status_code == nowhere.status_code == 404
        assert hidden.json()["detail"].replace(f"order {other.number} ", "order 9999 ") == nowhere.json()["detail"]
    assert [each["number"] for each in north.get("/orders").json()["orders"]] == [own.number]
    assert [each["order"]["number"] for each in north.get("/changes").json()["changes"]] == [own.number]
    assert b"South" not in b"".join(north.get(path).content for path in ("/orders", "/changes", "/catalogue"))


def test_a_key_of_one_customer_orders_for_no_other(two_customers):
    (north, _), (_, other) = two_customers
    by_id = north.enter(api_desk.order(customer={"id": other.customer_id}))
    by_name = north.enter(api_desk.order(customer={"name": "South", "email": "south@south.example"}))
    assert (by_id.status_code, by_name.status_code) == (422, 403)
    assert Order.objects.filter(customer=other.customer).count() == 1
    assert not Customer.objects.filter(email="south@south.example").exists()


def test_a_key_whose_customers_are_gone_sees_nothing():
    program = Program(factories.customer("North"))
    factories.order(lines=[{}])
    program.key.customers.clear()
    assert program.get("/orders").json()["orders"] == []

"""What another program reads back: pages of orders, their blinds, the catalogue and figures."""

import datetime as dt
import json

import pytest

from orders import intake
from orders.lines import figured
from orders.models import Order
from production.release import release
from tests import factories
from tests.production import api_desk
from tests.production.amending import accept, ask_off

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("catalogue_filled")]


def test_pages_hold_each_order_once_whatever_is_entered_or_moves_meanwhile(shop):
    orders = [factories.order(lines=[{}]) for _ in range(4)]
    first = shop.get("/orders?limit=2").json()
    intake.confirm(order=orders[0], by=shop.key.made_by, at=factories.AT)
    intake.cancel(order=orders[2], by=shop.key.made_by, at=factories.AT)
    factories.order(lines=[{}])
    second = shop.get(f"/orders?limit=2&since={first['next']}").json()
    third = shop.get(f"/orders?limit=2&since={second['next']}").json()
    numbers = [[each["number"] for each in page["orders"]] for page in (first, second, third)]
    assert (numbers, third["next"]) == ([[1, 2], [3, 4], [5]], None)


def test_a_page_takes_as_many_queries_for_many_orders_as_for_one(shop, django_assert_num_queries):
    factories.order(lines=[{}])
    # Turns are taken ahead, and who saw it is written down once an hour.
    shop.get("/orders")
    with django_assert_num_queries(3):
        shop.get("/orders")
    for _ in range(6):
        factories.released(lines=[{"quantity": 2}])
    with django_assert_num_queries(3):
        assert len(shop.get("/orders").json()["orders"]) == 7


def test_orders_of_one_state_alone(shop):
    factories.order(lines=[{}])
    at_work = factories.released()[0].order
    page = shop.get("/orders?state=released").json()
    assert [(each["number"], each["state"]) for each in page["orders"]] == [(at_work.number, "released")]


def test_blinds_say_how_they_stand_at_each_station_and_since_when(shop):
    first, second = factories.released(lines=[{"room": "Hall"}, {"room": "Attic"}])
    maker = factories.person("maker")
    factories.work(first, "railing", by=maker, at=factories.AT + dt.timedelta(hours=1))
    said = shop.get(f"/orders/{first.order.number}/blinds").json()
    assert (said["state"], [(blind["number"], blind["room"], blind["line"]) for blind in said["blinds"]]) == (
        "released",
        [(first.number, "Hall", 1), (second.number, "Attic", 2)],
    )
    at = {each["station"]: (each["state"], each["since"]) for each in said["blinds"][0]["stations"]}
    assert list(at) == ["railing", "vanes", "stringing", "checking", "packing"]
    assert at["railing"] == ("done", "2026-03-04T10:00:00.000Z")
    assert at["vanes"] == ("waiting", "2026-03-04T09:00:00.000Z")
    assert maker.username not in json.dumps(said)


def test_an_order_that_is_not_released_has_no_blinds_yet(shop):
    order = factories.order(lines=[{}])
    assert shop.get(f"/orders/{order.number}/blinds").json()["blinds"] == []


def test_blinds_that_were_taken_off_are_ordered_no_more(shop):
    blinds = factories.released(lines=[{"quantity": 3}, {}])
    for taken_off in (blinds[0], blinds[3]):
        accept(ask_off(taken_off))
    said = shop.get(f"/orders/{blinds[0].order.number}").json()
    assert [line["quantity"] for line in said["lines"]] == [2, 0]
    assert said["blinds"]["ordered"] == 2


def test_packed_blinds_are_counted(shop):
    blind, _ = factories.released(lines=[{"quantity": 2, "operation": "wand"}])
    factories.make(blind, maker=factories.person("maker"), checker=factories.person("checker"))
    assert shop.get(f"/orders/{blind.order.number}").json()["blinds"] == {"ordered": 2, "packed": 1}


def test_figures_are_those_of_the_order_that_says_the_same(shop):
    order = factories.order(lines=[{}])
    (line,) = figured(order=order)
    assert shop.post("/figures", line.spec).json() == json.loads(json.dumps(line.components))


def test_figures_say_whatever_is_wrong_as_findings(shop):
    answer = shop.post("/figures", {"width_mm": 1830.25, "colour": "red"})
    assert answer.status_code == 200
    codes = {each["code"] for each in answer.json()["findings"]}
    assert {"unknown_key", "wrong_type"} <= codes
    assert "1830.25" in json.dumps(answer.json()["findings"])


def test_each_system_and_fabric_of_the_catalogue_can_be_ordered(shop):
    said = shop.get("/catalogue").json()
    assert [each["code"] for each in said["systems"]] == ["demo-38"]
    for fabric in said["fabrics"]:
        line = {"fabric": fabric["code"], "vane_width_mm": fabric["vane_width_mm"]}
        assert shop.enter(api_desk.order(line)).status_code == 201


def test_a_released_order_says_what_it_said_before(shop):
    said = shop.enter(api_desk.order(confirm=True)).json()["order"]
    release(order=Order.objects.get(number=said["number"]), by=shop.key.made_by, at=factories.AT)
    assert shop.get(f"/orders/{said['number']}").json()["lines"] == said["lines"]

"""Orders that another program posts, and reads back."""

import datetime as dt
import json
import re

import pytest
from django.utils import timezone

from orders import calendar, catalogue, intake
from orders.lines import figured
from orders.models import Customer, Order, PostedOrder, PromiseGiven
from orders.questions import asked
from orders.spec import spec_of
from production.release import release
from tests import factories
from tests.production import api_desk
from tests.production.amending import accept, ask_off
from tests.production.api_desk import LINE, Program

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def catalogue_filled():
    return api_desk.catalogue()


@pytest.fixture
def shop():
    return Program()


def wrong(answer):
    """(pointer, code) of everything that an answer says is wrong."""
    return [(each["pointer"], each["code"]) for each in answer.json()["errors"]]


def test_a_posted_order_is_a_draft_with_its_lines_as_they_were_posted(shop):
    answer = shop.enter(api_desk.order({}, {"width_mm": 1200.5, "hand": "right"}, reference="AR-7", rush=True))
    assert answer.status_code == 201
    said = answer.json()["order"]
    order = Order.objects.get(number=said["number"])
    assert (order.state, order.reference, order.rush, order.customer.name) == ("draft", "AR-7", True, "Ashdown Rooms")
    assert answer.headers["Location"] == f"/api/v1/orders/{order.number}"
    assert [spec_of(line, market=order.market)["width_mm"] for line in order.lines.in_order()] == [1830, 1200.5]
    for place, line in enumerate(said["lines"]):
        posted = LINE | ({"width_mm": 1200.5, "hand": "right"} if place else {})
        assert {name: line[name] for name in posted} == posted


def test_what_is_read_back_later_is_what_was_answered_first(shop):
    said = shop.enter(api_desk.order({}, {"operation": "wand", "loop_control": None, "chain": None})).json()["order"]
    assert shop.get(f"/orders/{said['number']}").json() == said


def test_what_is_read_back_may_be_posted_again_as_it_is(shop):
    first = shop.enter(api_desk.order({}, {"special_instruction": "Odd bracket", "recess_depth_mm": 140.5})).json()
    lines = [{name: value for name, value in line.items() if name != "position"} for line in first["order"]["lines"]]
    again = shop.enter({"customer": {"id": first["order"]["customer"]["id"]}, "lines": lines}).json()
    assert again["order"]["lines"] == first["order"]["lines"]


def test_an_order_is_confirmed_where_that_is_asked_for(shop):
    said = shop.enter(api_desk.order(confirm=True)).json()["order"]
    assert said["state"] == Order.objects.get().state == "confirmed"


def test_it_is_entered_by_whoever_made_the_key_and_its_page_names_the_key(shop, client):
    shop.enter(api_desk.order())
    order = Order.objects.get()
    assert order.entered_by == shop.key.made_by
    assert PostedOrder.objects.get().key == shop.key
    client.force_login(factories.person("sales"))
    assert f"with the key {shop.key}" in client.get(order.get_absolute_url()).content.decode()
    by_hand = factories.order(lines=[{}])
    assert "with the key" not in client.get(by_hand.get_absolute_url()).content.decode()


def test_the_day_wanted_is_promised_and_without_one_the_usual_day(shop):
    wanted = (dt.date.today() + dt.timedelta(days=90)).isoformat()
    assert shop.enter(api_desk.order(due_on=wanted)).json()["order"]["due_on"] == wanted
    assert shop.enter(api_desk.order()).json()["order"]["due_on"] > dt.date.today().isoformat()


def test_a_day_that_has_gone_is_refused(shop):
    answer = shop.enter(api_desk.order(due_on="2020-02-29"))
    assert (answer.status_code, wrong(answer)) == (422, [("#/due_on", "due_on")])
    assert "2020-02-29, which has gone" in answer.json()["detail"]


def test_every_line_that_cannot_be_made_is_said_at_once_and_nothing_is_written(shop):
    lines = [{"width_mm": 9000}, {}, {"fabric": "velvet"}, {"draw": "reverse", "operation": "wand"}, {"hand": "up"}]
    answer = shop.enter(api_desk.order(*lines))
    assert answer.status_code == 422
    assert wrong(answer) == [
        ("#/lines/4/hand", "literal_error"),
        ("#/lines/2/fabric", "not_in_catalogue"),
        ("#/lines/3/loop_control", "not_with_wand"),
        ("#/lines/3/chain", "not_with_wand"),
    ]
    assert not Order.objects.exists()
    assert not Customer.objects.exists()


def test_what_the_figures_refuse_names_the_line_its_field_and_value(shop):
    answer = shop.enter(api_desk.order({}, {"width_mm": 9000}, {"installation_height_mm": 1000}, market="en13120"))
    problem = answer.json()
    assert problem["type"] == "/api/#refused"
    assert [(each["line"], each["field"], each["value"]) for each in problem["errors"]] == [
        (1, "width_mm", 9000),
        (2, "installation_height_mm", 1000),
    ]
    assert "wider than" in problem["errors"][0]["detail"]
    assert not Order.objects.exists()


def test_a_fabric_slit_to_another_width_is_refused(shop):
    answer = shop.enter(api_desk.order({"vane_width_mm": 127}))
    assert wrong(answer) == [("#/lines/0/fabric", "other_vane_width")]


def test_a_fabric_that_is_offered_no_more_is_refused(shop):
    catalogue.offer_fabric(fabric=factories.fabric(89), offered=False)
    assert wrong(shop.enter(api_desk.order())) == [("#/lines/0/fabric", "not_in_catalogue")]


def test_the_market_decides_and_is_the_customers_usual_one_where_none_is_said(shop):
    customer = factories.customer(market="canada")
    answer = shop.enter({**api_desk.order(), "customer": {"id": customer.pk}})
    refusals = [found for each in figured_in("canada") for found in each.refusals]
    assert refusals
    assert [each["detail"] for each in answer.json()["errors"]] == [found["message"] for found in refusals]


def figured_in(market):
    order = factories.order(market="en13120", lines=[{}])
    order.market = market
    return figured(order=order)


def test_warnings_come_with_the_accepted_order_and_their_lines(shop):
    answer = shop.enter(api_desk.order({}, {"recess_depth_mm": 50}))
    assert answer.status_code == 201
    (warning,) = answer.json()["warnings"]
    assert (warning["line"], warning["field"], warning["code"]) == (1, "recess_depth_mm", "recess_too_shallow")
    assert "89 mm" in warning["detail"]


SWAPPED = {"room": "Kitchen", "width_mm": 1600, "drop_mm": 3900}
"""Higher than most rooms, and no wider than a drop could be."""


def test_a_likely_slip_is_asked_about_in_a_draft_and_holds_a_confirmation_up(shop):
    draft = shop.enter(api_desk.order(SWAPPED))
    assert (draft.status_code, [each["line"] for each in draft.json()["warnings"]]) == (201, [0])
    assert "tell the office that it is right" in draft.json()["warnings"][0]["detail"]
    held = shop.enter(api_desk.order(SWAPPED, customer={"name": "Another"}, confirm=True))
    assert held.status_code == 422
    assert held.json()["errors"][0]["pointer"] == "#/lines/0"
    assert "Correct it, or send the order with sure: true." in held.json()["detail"]
    assert Order.objects.count() == 1


def test_whoever_is_sure_is_not_asked_and_the_answer_is_kept(shop):
    said = shop.enter(api_desk.order(SWAPPED, confirm=True, sure=True))
    assert (said.status_code, said.json()["warnings"]) == (201, [])
    order = Order.objects.get()
    assert order.state == "confirmed"
    assert [each.answer.by for each in asked(order=order)] == [shop.key.made_by]


# The day


def test_a_confirmed_order_is_promised_from_the_plan_and_that_is_on_record(shop):
    said = shop.enter(api_desk.order(confirm=True)).json()["order"]
    (given,) = PromiseGiven.objects.all()
    assert given.due_on.isoformat() == said["due_on"]
    assert given.earliest <= given.due_on


def test_a_day_that_the_plan_cannot_keep_is_refused_with_the_earliest_that_it_can(shop):
    today = calendar.read().on_or_after(timezone.localdate())
    answer = shop.enter(api_desk.order(*[{"quantity": 99}] * 5, due_on=today.isoformat(), confirm=True))
    assert (answer.status_code, wrong(answer)) == (422, [("#/due_on", "due_on")])
    earliest = re.search(r"The earliest day is (\S+)\.", answer.json()["detail"]).group(1)
    assert earliest > today.isoformat()
    again = shop.enter(api_desk.order(*[{"quantity": 99}] * 5, due_on=earliest, confirm=True))
    assert (again.status_code, again.json()["order"]["due_on"]) == (201, earliest)


def test_a_closed_day_is_refused_with_the_next_that_is_worked(shop):
    saturday = timezone.localdate() + dt.timedelta(days=(5 - timezone.localdate().weekday()) % 7 + 28)
    answer = shop.enter(api_desk.order(due_on=saturday.isoformat(), confirm=True))
    assert (answer.status_code, wrong(answer)) == (422, [("#/due_on", "due_on")])
    assert "The next working day is" in answer.json()["detail"]


def test_more_blinds_than_a_ticket_code_numbers_are_refused(shop):
    answer = shop.enter(api_desk.order(*[{"quantity": 99}] * 11))
    assert wrong(answer) == [("#/lines", "too_many_blinds")]
    assert "1089 blinds; an order has 999 at most. Split the order." in answer.json()["detail"]


# Who orders


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


# Whose orders


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


# Pages of orders, and blinds


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


# Catalogue and figures


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

"""Orders that another program posts, and reads back."""

import datetime as dt
import re

import pytest
from django.utils import timezone

from orders import calendar, catalogue
from orders.lines import figured
from orders.models import Customer, Order, PostedOrder, PromiseGiven
from orders.questions import asked
from orders.spec import spec_of
from tests import factories
from tests.production import api_desk
from tests.production.api_desk import LINE, wrong

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("catalogue_filled")]


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

"""The list of orders: what it shows, its filters and its search."""

import pytest
from django.urls import reverse

from orders import intake
from orders.models import Order
from tests import factories
from tests.factories import AT
from tests.orders.pages import in_days, page_of, queries_of

pytestmark = pytest.mark.django_db


def test_an_empty_list_says_what_to_do(client, sales):
    assert "start with" in page_of(client, "orders")


def test_open_orders_are_shown_first_and_the_newest_on_top(client, sales):
    old, new = factories.order(by=sales), factories.order(by=sales)
    cancelled = intake.cancel(order=factories.order(by=sales), by=sales, at=AT)
    shown = client.get(reverse("orders")).context["page"].object_list
    assert list(shown) == [new, old]
    shown = client.get(reverse("orders"), {"state": "all"}).context["page"].object_list
    assert list(shown) == [new, old, cancelled]


def test_the_list_is_filtered_by_state_with_how_many_there_are(client, sales):
    factories.order(by=sales)
    confirmed = factories.order(by=sales, lines=[{}])
    intake.confirm(order=confirmed, by=confirmed.entered_by, at=AT)
    answer = client.get(reverse("orders"), {"state": "confirmed"})
    assert list(answer.context["page"]) == [confirmed]
    counts = {each["state"]: each["count"] for each in answer.context["filters"]}
    assert (counts["open"], counts["draft"], counts["confirmed"], counts["ready"], counts["all"]) == (2, 1, 1, 0, 2)


def test_a_state_that_does_not_exist_shows_the_open_orders(client, sales):
    factories.order(by=sales)
    assert len(client.get(reverse("orders"), {"state": "lost"}).context["page"]) == 1


def test_an_order_behind_its_day_is_marked_late_until_it_has_left(client, sales):
    factories.order(by=sales, due_on=in_days(-3))
    assert "3 days late" in page_of(client, "orders")
    intake.cancel(order=Order.objects.get(), by=sales, at=AT)
    assert "days late" not in page_of(client, "orders", state="all")


def test_an_order_due_today_is_not_late(client, sales):
    factories.order(by=sales, due_on=in_days(0))
    assert "tag-late" not in page_of(client, "orders")


def test_a_rush_order_is_marked(client, sales):
    factories.order(by=sales, rush=True)
    assert "Rush" in page_of(client, "orders")


def test_a_long_list_comes_fifty_a_page_and_keeps_its_filter(client, sales):
    for _ in range(60):
        factories.order(by=sales)
    page = page_of(client, "orders", state="draft")
    assert "1 to 50 of 60" in page
    assert "state=draft&amp;page=2" in page
    second = client.get(reverse("orders"), {"state": "draft", "page": 2}).context["page"]
    assert [order.number for order in second] == list(range(10, 0, -1))


def test_a_list_of_three_hundred_asks_the_database_no_more_than_a_list_of_three(client, sales):
    for _ in range(3):
        factories.order(by=sales, lines=[{}])
    few = queries_of(client, reverse("orders"))
    template = Order.objects.first()
    Order.objects.bulk_create(
        Order(
            number=number,
            customer=template.customer,
            due_on=template.due_on,
            state_since=AT,
            entered_by=sales,
            entered_at=AT,
        )
        for number in range(10, 310)
    )
    assert queries_of(client, reverse("orders")) == few
    assert queries_of(client, reverse("orders") + "?state=draft&page=3") == few


# Keeping itself up to date.


def looked_again(client, seen, **query):
    return client.get(reverse("orders"), query, headers={"HX-Request": "true", "X-Seen": seen})


def seen_on(client, **query):
    return client.get(reverse("orders"), query).context["seen"]


def test_a_list_that_has_not_changed_is_answered_by_nothing(client, sales):
    factories.order(by=sales)
    assert looked_again(client, seen_on(client)).status_code == 204
    assert looked_again(client, seen_on(client, state="draft"), state="draft").status_code == 204


def test_whatever_changes_in_an_order_changes_the_list(client, sales):
    made = factories.order(by=sales)
    acts = [
        lambda: factories.order(by=sales),
        lambda: intake.save_line(order=made, line=factories.line()),
        lambda: intake.change_order(order=made, rush=True),
        lambda: intake.change_order(order=made, due_on=in_days(40)),
        lambda: intake.confirm(order=made, by=made.entered_by, at=AT),
        lambda: intake.change_customer(customer=made.customer, name="Renamed Interiors"),
    ]
    for act in acts:
        seen = seen_on(client)
        act()
        assert looked_again(client, seen).status_code == 200


def test_what_is_sent_again_is_the_part_on_the_page_and_is_not_kept_by_the_browser(client, sales):
    factories.order(by=sales)
    page = client.get(reverse("orders"), {"state": "all"}).content.decode()
    part = looked_again(client, "", state="all")
    assert part.content.decode().strip() in page
    assert "<h1>" not in part.content.decode()
    assert "no-store" in part["Cache-Control"]

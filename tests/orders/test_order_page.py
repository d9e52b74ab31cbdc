"""The page of one order, and the steps that the office takes it through."""

import pytest
from django.urls import reverse

from orders.models import Order
from tests import factories
from tests.orders.pages import page_of, queries_of, working_day_in

pytestmark = pytest.mark.django_db


def test_a_line_shows_the_finished_size_and_the_size_as_given_with_its_basis(client, sales):
    order = factories.order(by=sales, lines=[{}, {"size_basis": "exact"}])
    page = page_of(client, "order", order.number)
    # Recess clearances 10 and 12 mm, invented for the demo system.
    assert "1820 × 1588" in page
    assert "Recess: measured opening <b>1830 × 1600</b>" in page
    assert "Exact: ordered as <b>1830 × 1600</b>, nothing taken off" in page
    assert page.count("<svg xmlns") == 2


def test_of_many_lines_none_is_drawn_and_the_page_says_where_they_are(client, sales):
    few, many = (factories.order(by=sales, lines=[{}] * count) for count in (60, 61))
    assert page_of(client, "order", few.number).count("<svg xmlns") == 60
    page = page_of(client, "order", many.number)
    assert page.count("<svg xmlns") == 0
    assert "Of more than 60 lines none is drawn here: each is on the page of its line." in page
    assert page.count("1820 × 1588") == 61


def test_the_order_adds_up_its_blinds_and_their_rail(client, sales):
    order = factories.order(by=sales, lines=[{"quantity": 3}, {"width_mm": 1010}])
    totals = client.get(reverse("order", args=[order.number])).context["totals"]
    # Rail = finished width less two end covers of 3 mm: 3 x 1814 + 994. Fabric: 24 vanes and 14, each 1616 mm as cut.
    assert totals == {"blinds": 4, "rail_m": 6.436, "fabric_m": 138.976}


def test_a_special_instruction_stands_boxed_and_as_plain_text(client, sales):
    order = factories.order(by=sales, lines=[{"special_instruction": "<b>Odd</b> bracket"}])
    page = page_of(client, "order", order.number)
    assert '<p class="signal"><strong>Special instruction</strong> &lt;b&gt;Odd&lt;/b&gt; bracket</p>' in page


def test_an_order_of_many_lines_asks_the_database_no_more_than_an_order_of_two(client, sales):
    small = factories.order(by=sales, lines=[{}, {}])
    large = factories.order(by=sales, lines=[{}] * 40)
    address = [reverse("order", args=[order.number]) for order in (small, large)]
    assert queries_of(client, address[0]) == queries_of(client, address[1])


def test_a_released_order_of_many_blinds_asks_the_database_no_more_than_one_of_two(client, sales):
    small = factories.released(by=sales, lines=[{}, {}])[0].order
    large = factories.released(by=sales, lines=[{"quantity": 30}, {"quantity": 10}])[0].order
    address = [reverse("order", args=[order.number]) for order in (small, large)]
    queries_of(client, address[0])  # The minutes of a blind are learned once a day.
    assert queries_of(client, address[0]) == queries_of(client, address[1])


def test_an_order_that_is_not_there_is_said_so(client, sales):
    answer = client.get(reverse("order", args=[404]))
    assert answer.status_code == 404
    assert "Nothing is here" in answer.content.decode()


def test_confirming_twice_is_answered_calmly(client, sales):
    order = factories.order(by=sales, lines=[{}], due_on=working_day_in(14))
    address = reverse("order-confirm", args=[order.number])
    assert "is confirmed. Release it" in client.post(address, follow=True).content.decode()
    assert "confirmed already; nothing was done twice" in client.post(address, follow=True).content.decode()


def test_an_order_without_lines_is_not_confirmed_and_says_what_to_do(client, sales):
    order = factories.order(by=sales, due_on=working_day_in(14))
    answer = client.post(reverse("order-confirm", args=[order.number]))
    assert answer.status_code == 409
    assert "has no lines. Add a line first." in answer.content.decode()


def test_cancelling_asks_first(client, sales):
    order = factories.order(by=sales, lines=[{}])
    address = reverse("order-cancel", args=[order.number])
    assert "Cancel order 0001?" in page_of(client, "order-cancel", order.number)
    order.refresh_from_db()
    assert order.state == Order.DRAFT
    assert "is cancelled" in client.post(address, follow=True).content.decode()


def test_an_order_is_cancelled_no_more_once_it_is_released(client, sales):
    number = factories.released(by=sales)[0].order.number
    answer = client.post(reverse("order-cancel", args=[number]))
    assert answer.status_code == 409
    assert "so it can&#x27;t become cancelled" in answer.content.decode()


@pytest.mark.parametrize("name", ["order-collected", "order-delivered"])
def test_a_ready_order_leaves_the_workshop(client, sales, name):
    blind = factories.released(by=sales)[0]
    factories.make(blind, maker=factories.person("maker"), checker=factories.person("checker"))
    assert reverse(name, args=[blind.order.number]) in page_of(client, "order", blind.order.number)
    client.post(reverse(name, args=[blind.order.number]))
    assert factories.order_state(blind) == name.removeprefix("order-")


@pytest.mark.parametrize("name", ["order-confirm", "order-collected", "order-delivered", "figures"])
def test_what_changes_something_takes_a_press(client, sales, name):
    order = factories.order(by=sales, lines=[{}])
    args = [] if name == "figures" else [order.number]
    assert client.get(reverse(name, args=args)).status_code == 405

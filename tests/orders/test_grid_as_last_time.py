"""What new rows of a grid start with: what the customer chose last time."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from orders.usual import usual_of
from tests import factories
from tests.orders.pages import page_of, queries_of

pytestmark = pytest.mark.django_db


def test_new_rows_start_with_what_the_customer_chose_last_time_and_never_with_basis_or_hand(client, sales):
    chosen = {"vane_width_mm": 127, "draw": "reverse", "chain": "plastic", "bottom": "chainless", "fixing": "face"}
    first = factories.order(by=sales, lines=[{**chosen, "quantity": 3}, {}])
    order = factories.order(by=sales)
    answer = client.get(reverse("lines", args=[order.number]))
    blank = answer.context["grid"].rows[0]
    assert {name: blank.form[name].value() for name in chosen} == chosen
    assert blank.form["fabric"].value() == factories.fabric(127)
    assert (blank.text("size_basis"), blank.text("hand")) == ("", "")
    page = answer.content.decode()
    assert f'<b>as last time</b>, <a href="/orders/{first.number}/">' in page


def test_what_most_blinds_of_the_last_orders_had_is_not_called_last_time(client, sales):
    usual = factories.order(by=sales, lines=[{"draw": "reverse", "quantity": 9}])
    factories.order(by=sales, lines=[{"draw": "split", "operation": "wand"}])
    page = page_of(client, "lines", factories.order(by=sales).number)
    assert f'<b>most blinds of the last orders</b> had, as in <a href="/orders/{usual.number}/">' in page
    assert "as last time" not in page


def test_what_is_usual_is_found_without_reading_every_line(client, sales):
    factories.order(by=sales, lines=[{}])
    order = factories.order(by=sales)
    address = reverse("line-new", args=[order.number])
    few = queries_of(client, address)
    factories.order(by=sales, lines=[{"width_mm": 1000 + number} for number in range(40)])
    with CaptureQueriesContext(connection) as queries:
        usual = usual_of(order)
    assert (len(queries), usual.choices["draw"]) == (3, "split")
    assert queries_of(client, address) == few


def test_a_fabric_that_is_no_longer_offered_is_named_and_not_filled_in(client, sales):
    factories.order(by=sales, lines=[{}])
    gone = factories.fabric(89)
    gone.offered = False
    gone.save()
    answer = client.get(reverse("lines", args=[factories.order(by=sales).number]))
    assert answer.context["grid"].rows[0].text("fabric") == ""
    assert "without its fabric Linden chalk, 89 mm, which is no longer offered" in answer.content.decode()


def test_another_customers_orders_say_nothing_of_what_is_usual(client, sales):
    factories.order(by=sales, lines=[{"draw": "reverse"}], customer=factories.customer("Petrov"))
    answer = client.get(reverse("lines", args=[factories.order(by=sales).number]))
    assert answer.context["grid"].rows[0].text("draw") == "one_way"
    assert "The customer&#x27;s first order" in answer.content.decode() or "The customer's first order" in (
        answer.content.decode()
    )


def test_the_form_of_one_line_starts_as_last_time_too(client, sales):
    factories.order(by=sales, lines=[{"draw": "reverse"}])
    order = factories.order(by=sales)
    form = client.get(reverse("line-new", args=[order.number])).context["form"]
    assert (form.instance.draw, form.instance.size_basis, form.instance.hand) == ("reverse", "", "")

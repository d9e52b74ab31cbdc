"""Opening an order and changing its head, with the customer found or entered on the way."""

import pytest
from django.urls import reverse
from django.utils import timezone

from orders import calendar, entry, intake, promise
from orders.models import Customer, Order
from tests import factories
from tests.orders.pages import head, in_days, page_of

pytestmark = pytest.mark.django_db


def test_a_new_order_promises_ten_working_days_on(client, sales):
    form = client.get(reverse("order-new")).context["form"]
    assert form["due_on"].value() == promise.usual_day(today=timezone.localdate(), calendar=calendar.read())


def test_a_new_order_leads_to_taking_in_the_customers_file(client, sales):
    caller = factories.customer("Wattle Bay")
    assert f'href="{reverse("customers")}">the customer’s page</a>' in page_of(client, "order-new")
    page = page_of(client, "order-new", customer=caller.pk)
    assert f'href="{reverse("files", args=[caller.pk])}">Take it in from Wattle Bay’s file</a>' in page
    order = factories.order(by=sales, customer=caller)
    assert "come as a file" not in page_of(client, "order-edit", order.number)


def test_a_new_order_takes_the_customers_usual_market(client, sales):
    caller = factories.customer("Wattle Bay", market="australia")
    answer = client.post(reverse("order-new"), head(customer=caller.pk, rush="on", reference="PO 1"))
    order = Order.objects.get()
    assert answer.url == reverse("order", args=[order.number])
    assert (order.market, order.rush, order.reference, order.entered_by) == ("australia", True, "PO 1", sales)


def test_another_market_may_be_chosen(client, sales):
    caller = factories.customer("Wattle Bay", market="australia")
    client.post(reverse("order-new"), head(customer=caller.pk, market="en13120"))
    assert Order.objects.get().market == "en13120"


def test_a_day_that_has_gone_is_refused_in_words_and_nothing_is_lost(client, sales):
    caller = factories.customer("Wattle Bay")
    answer = client.post(reverse("order-new"), head(customer=caller.pk, due_on="2020-01-06", note="Ring first"))
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "Monday 6 January 2020 has gone. Promise today or a later day." in page
    assert "Ring first" in page
    assert 'value="2020-01-06"' in page
    assert f'value="{caller.pk}" id="customer-{caller.pk}" checked' in page
    assert not Order.objects.exists()


def test_an_order_without_a_customer_is_refused_with_the_customers_that_were_looked_for(client, sales):
    factories.customer("Wattle Bay")
    answer = client.post(reverse("order-new"), head(customer_text="wattle"))
    assert answer.status_code == 422
    assert "Choose the customer" in answer.content.decode()
    assert "Wattle Bay" in answer.content.decode()


@pytest.mark.parametrize("chosen", ["999", "abc", "-1", "9" * 40])
def test_a_customer_that_is_not_there_is_refused_in_words(client, sales, chosen):
    answer = client.post(reverse("order-new"), head(customer=chosen))
    assert answer.status_code == 422
    assert "no longer there" in answer.content.decode()


def test_looking_for_a_customer_judges_nothing_yet_and_keeps_what_was_typed(client, sales):
    factories.customer("Wattle Bay")
    typed = head(customer_text="wat", note="Ring first", due_on="", find="yes") | {"new-contact": "Kim"}
    answer = client.post(reverse("order-new"), typed)
    page = answer.content.decode()
    assert answer.status_code == 200
    assert "Wattle Bay" in page
    assert "Ring first" in page
    assert 'value="Kim"' in page
    assert "Not saved yet" not in page


def test_customers_are_found_while_one_types(client, sales):
    for number in range(12):
        factories.customer(f"Wattle {number}")
    chosen = factories.customer("Petrov")
    page = page_of(client, "customers-found", customer_text="wattle", customer=chosen.pk)
    assert page.count('name="customer"') == 9
    assert "More match" in page
    assert f'id="customer-{chosen.pk}" checked' in page


def test_a_new_customer_is_entered_with_the_order(client, sales):
    new = {"new-name": "Quay Street School", "new-phone": "01632 960123", "new-market": "en13120"}
    client.post(reverse("order-new"), head(customer="new") | new)
    assert Order.objects.get().customer == Customer.objects.get(name="Quay Street School")


def test_a_new_customer_without_a_name_loses_nothing_and_enters_nobody(client, sales):
    new = {"new-name": "", "new-phone": "01632 960123", "new-market": "en13120"}
    answer = client.post(reverse("order-new"), head(customer="new", reference="PO 77") | new)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "Type the customer&#x27;s name." in page
    assert "01632 960123" in page
    assert "PO 77" in page
    assert not Customer.objects.exists()


def test_a_bad_day_enters_no_new_customer_either(client, sales):
    new = {"new-name": "Quay Street School", "new-market": "en13120"}
    client.post(reverse("order-new"), head(customer="new", due_on="2020-01-06") | new)
    assert not Customer.objects.exists()


def test_the_head_may_be_changed_until_the_order_is_released(client, sales):
    order = factories.order(by=sales, due_on=in_days(-2))
    address = reverse("order-edit", args=[order.number])
    # The day that has gone since may stand, for it was promised when it was still to come.
    client.post(address, head(customer=order.customer_id, due_on=in_days(-2).isoformat(), reference="PO 2"))
    order.refresh_from_db()
    assert order.reference == "PO 2"
    assert client.post(address, head(customer=order.customer_id, due_on=in_days(-1).isoformat())).status_code == 422


def test_a_head_that_another_desk_changed_meanwhile_is_not_overwritten_unseen(client, sales):
    order = factories.order(by=sales, due_on=in_days(9))
    address = reverse("order-edit", args=[order.number])
    typed = head(customer=order.customer_id, due_on=in_days(9).isoformat())
    seen = client.get(address).context["seen"]
    client.post(address, typed | {"rush": "on", "reference": "PO 2"})
    refused = client.post(address, typed | {"note": "Ring first", "seen": seen})
    page = refused.content.decode()
    assert refused.status_code == 422
    assert (
        "The head of Order 0001 was changed at another desk meanwhile. "
        "Now it says: rush yes, customer&#x27;s reference PO 2, note nothing. Saving again writes what stands here."
    ) in page
    assert "Ring first" in page
    client.post(address, typed | {"note": "Ring first", "seen": refused.context["seen"]})
    order.refresh_from_db()
    assert (order.rush, order.reference, order.note) == (False, "", "Ring first")


def test_the_day_of_a_confirmed_order_is_not_changed_past_the_plan(client, sales):
    order = factories.order(by=sales, lines=[{}], due_on=in_days(9))
    intake.confirm(order=order, by=sales, at=timezone.now())
    address = reverse("order-edit", args=[order.number])
    assert "another day is promised on the order&#x27;s page" in client.get(address).content.decode()
    typed = {"due_on": in_days(1).isoformat(), "rush": "on", "reference": "PO 7"}
    client.post(address, head(customer=order.customer.pk, **typed))
    order.refresh_from_db()
    assert (order.due_on, order.rush, order.reference) == (in_days(9), False, "PO 7")


def test_the_head_of_a_released_order_stays_as_it_is(client, sales):
    number = factories.released(by=sales)[0].order.number
    answer = client.post(reverse("order-edit", args=[number]), head(reference="late thought"))
    assert answer.url == reverse("order", args=[number])
    assert Order.objects.get().reference == ""


def test_a_new_customer_is_not_entered_where_the_head_may_not_be_changed_any_more(sales):
    order = factories.released(by=sales)[0].order
    before = Customer.objects.count()
    with pytest.raises(intake.Refused):
        entry.change_order(order=order, key=None, at=timezone.now(), customer=Customer(name="Quay Street School"))
    assert Customer.objects.count() == before


def test_opening_an_order_twice_with_one_form_opens_one_with_one_new_customer(client, sales):
    form_id = client.get(reverse("order-new")).context["form_id"]
    new = {"new-name": "Quay Street School", "new-market": "en13120", "form_id": form_id}
    answers = [client.post(reverse("order-new"), head(customer="new") | new) for _ in range(2)]
    assert {answer.url for answer in answers} == {reverse("order", args=[1])}
    assert (Order.objects.count(), Customer.objects.count()) == (1, 1)

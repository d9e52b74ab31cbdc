"""The list of orders, the page of one order, and the way of an order through the office."""

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from orders import intake
from orders.models import Customer, Order
from production.models import Blind
from tests import factories
from tests.factories import AT

pytestmark = pytest.mark.django_db


@pytest.fixture
def sales(client):
    found = factories.person("sales", name="nora")
    client.force_login(found)
    factories.system()
    return found


def page_of(client, name, *args, **query):
    answer = client.get(reverse(name, args=args), query)
    assert answer.status_code == 200
    return answer.content.decode()


def queries_of(client, address):
    with CaptureQueriesContext(
        connection,
    ) as queries:
        assert client.get(address).status_code == 200
    return len(queries)


def in_days(days):
    return timezone.localdate() + dt.timedelta(days=days)


# The list


def test_an_empty_list_says_what_to_do(client, sales):
    assert "start with" in page_of(client, "orders")


def test_open_orders_are_shown_first_and_the_newest_on_top(client, sales):
    old, new = factories.order(by=sales), factories.order(by=sales)
    cancelled = intake.cancel(order=factories.order(by=sales), at=AT)
    shown = client.get(reverse("orders")).context["page"].object_list
    assert list(shown) == [new, old]
    shown = client.get(reverse("orders"), {"state": "all"}).context["page"].object_list
    assert list(shown) == [new, old, cancelled]


def test_the_list_is_filtered_by_state_with_how_many_there_are(client, sales):
    factories.order(by=sales)
    confirmed = factories.order(by=sales, lines=[{}])
    intake.confirm(order=confirmed, at=AT)
    answer = client.get(reverse("orders"), {"state": "confirmed"})
    assert list(answer.context["page"]) == [confirmed]
    counts = {each["state"]: each["count"] for each in answer.context["filters"]}
    assert (counts["open"], counts["draft"], counts["confirmed"], counts["ready"], counts["all"]) == (2, 1, 1, 0, 2)


def test_a_state_that_does_not_exist_shows_the_open_orders(client, sales):
    factories.order(by=sales)
    assert len(client.get(reverse("orders"), {"state": "lost"}).context["page"]) == 1


@pytest.mark.parametrize("text", ["1", "0001", "marlow", "7946", "PO 22", "kitch"])
def test_an_order_is_found_by_number_customer_phone_reference_or_room(client, sales, text):
    caller = factories.customer("Marlow Court", phone="020 7946 0101")
    factories.order(
        by=sales, customer=caller, reference="PO 2231", lines=[{"room": "Kitchen"}, {"room": "Kitchenette"}]
    )
    factories.order(by=sales, customer=factories.customer("Petrov", phone="555"), lines=[{"room": "Bay"}])
    found = client.get(reverse("orders"), {"q": text}).context["page"]
    assert [order.number for order in found] == [1]
    assert found[0].blind_total == 2


def test_a_search_looks_in_every_state(client, sales):
    intake.cancel(order=factories.order(by=sales, reference="PO 9"), at=AT)
    assert len(client.get(reverse("orders"), {"q": "PO 9"}).context["page"]) == 1


def test_a_search_without_a_hit_says_what_else_to_try(client, sales):
    assert "Nothing matches “zebra”" in page_of(client, "orders", q="zebra")


def test_a_search_is_only_text(client, sales):
    page = page_of(client, "orders", q='"><script>alert(1)</script>')
    assert "<script>alert" not in page


def test_an_order_behind_its_day_is_marked_late_until_it_has_left(client, sales):
    factories.order(by=sales, due_on=in_days(-3))
    assert "3 days late" in page_of(client, "orders")
    intake.cancel(order=Order.objects.get(), at=AT)
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


# A new order


def head(**given):
    return {
        "customer": "",
        "customer_text": "",
        "due_on": in_days(14).isoformat(),
        "market": "",
        "reference": "",
        "note": "",
        **given,
    }


def test_a_new_order_promises_ten_working_days_on(client, sales):
    from orders import promise

    form = client.get(reverse("order-new")).context["form"]
    assert form["due_on"].value() == promise.usual_day(today=timezone.localdate())


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


def test_the_head_of_a_released_order_stays_as_it_is(client, sales):
    number = factories.released(by=sales)[0].order.number
    answer = client.post(reverse("order-edit", args=[number]), head(reference="late thought"))
    assert answer.url == reverse("order", args=[number])
    assert Order.objects.get().reference == ""


# One order


def test_a_line_shows_the_finished_size_and_the_size_as_given_with_its_basis(client, sales):
    order = factories.order(by=sales, lines=[{}, {"size_basis": "exact"}])
    page = page_of(client, "order", order.number)
    # Recess clearances 10 and 12 mm, invented for the demo system.
    assert "1820 × 1588" in page
    assert "Recess: measured opening <b>1830 × 1600</b>" in page
    assert "Exact: ordered as <b>1830 × 1600</b>, nothing taken off" in page
    assert page.count("<svg xmlns") == 2


def test_the_order_adds_up_its_blinds_and_their_rail(client, sales):
    order = factories.order(by=sales, lines=[{"quantity": 3}, {"width_mm": 1010}])
    totals = client.get(reverse("order", args=[order.number])).context["totals"]
    # Rail = finished width less two end covers of 3 mm: 3 x 1814 + 994.
    assert totals == {"blinds": 4, "rail_m": 6.436}


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
    assert queries_of(client, address[0]) == queries_of(client, address[1])


def test_an_order_that_is_not_there_is_said_so(client, sales):
    answer = client.get(reverse("order", args=[404]))
    assert answer.status_code == 404
    assert "Nothing is here" in answer.content.decode()


def test_confirming_twice_is_answered_calmly(client, sales):
    order = factories.order(by=sales, lines=[{}])
    address = reverse("order-confirm", args=[order.number])
    assert "is confirmed. Release it" in client.post(address, follow=True).content.decode()
    assert "confirmed already; nothing was done twice" in client.post(address, follow=True).content.decode()


def test_an_order_without_lines_is_not_confirmed_and_says_what_to_do(client, sales):
    order = factories.order(by=sales)
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


# Where its blinds are


def at_work(client, order, **query):
    return client.get(reverse("order-at-work", args=[order.number]), query, headers={"hx-request": "true"})


def test_a_released_order_shows_each_blind_at_each_station(client, sales):
    blinds = factories.released(by=sales, lines=[{"quantity": 2}])
    factories.work(blinds[0], "railing", by=factories.person("maker", name="max"))
    page = page_of(client, "order", blinds[0].order.number)
    assert "0001-1" in page
    assert "0001-2" in page
    assert '<span class="state state-done">Done</span> <span class="soft small">max' in page


def test_the_part_that_changes_is_the_same_on_the_page_and_by_itself(client, sales):
    order = factories.released(by=sales)[0].order
    page = client.get(reverse("order", args=[order.number])).content.decode()
    part = at_work(client, order, seen="released-0").content.decode()
    assert part.strip() in page
    assert part.strip() in page_of(client, "order-at-work", order.number)


def test_nothing_is_sent_again_until_something_happens(client, sales):
    blind = factories.released(by=sales)[0]
    seen = client.get(reverse("order", args=[blind.order.number])).content.decode().split("?seen=")[1].split('"')[0]
    assert at_work(client, blind.order, seen=seen).status_code == 204
    factories.tell(blind, "railing", "start", by=factories.person("maker"))
    assert at_work(client, blind.order, seen=seen).status_code == 200


def test_asking_whether_something_happened_takes_two_light_queries(client, sales):
    order = factories.released(by=sales, lines=[{"quantity": 20}])[0].order
    with CaptureQueriesContext(connection) as queries:
        assert at_work(client, order, seen="released-20").status_code == 204
    # Session and person, then the order and how many events its blinds have.
    assert len(queries) == 4


def test_the_whole_page_is_loaded_again_once_the_order_is_ready(client, sales):
    blind = factories.released(by=sales)[0]
    factories.make(blind, maker=factories.person("maker"), checker=factories.person("checker"))
    answer = at_work(client, blind.order, seen="released-1")
    assert answer.headers["HX-Refresh"] == "true"


def test_a_released_order_shows_its_frozen_figures_whatever_the_system_says_now(client, sales):
    blind = factories.released(by=sales)[0]
    frozen = Blind.objects.get(pk=blind.pk).components["finished_width_mm"]
    revision = blind.revision
    revision.constants = {**revision.constants, "recess_width_clearance_mm": 500}
    revision.save()
    assert f"{frozen} × 1588" in page_of(client, "order", blind.order.number)

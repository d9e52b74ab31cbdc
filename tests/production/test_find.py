"""The office's search box: one hit opens, several are listed with where each is, none says what else to type."""

import datetime as dt
import re

import pytest
from django.urls import reverse
from django.utils import timezone

from orders import finding as looking
from orders import intake
from orders.models import Order
from production import codes, finding
from tests import factories
from tests.factories import AT
from tests.orders.pages import page_of, queries_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def sales(client):
    found = factories.person("sales", name="nora", first_name="Nora", last_name="Weiss")
    client.force_login(found)
    factories.system()
    return found


@pytest.fixture
def marlow():
    return factories.customer("Märlow Court", contact="Pia Öberg", phone="020 7946 0101", email="pia@marlow.example")


def found_by(client, text, **query):
    return client.get(reverse("find"), {"q": text, **query})


def listed(client, text, **query):
    return [order.number for order, _ in found_by(client, text, **query).context["found"].rows]


def test_a_label_leads_straight_to_its_blind_scanned_or_typed(client, sales):
    blind = factories.released(by=sales)[0]
    digit = codes.check_digit(order_number=blind.order.number, serial=blind.serial)
    for text in (blind.code, blind.number, f" {blind.number} ", f"]C0{blind.code}", f"{blind.number}-{digit}"):
        assert found_by(client, text).url == reverse("blind", args=[blind.code])
    assert client.get(reverse("find"), {"code": blind.code}).url == reverse("blind", args=[blind.code])


@pytest.mark.parametrize("text", ["1", "0001", "#1", "Order 1", "oberg", "maerlow", "PO 2231", "kitch", "pia@marlow"])
def test_one_hit_opens_directly(client, sales, marlow, text):
    made = factories.order(by=sales, customer=marlow, reference="PO-2231", lines=[{"room": "Kitchen"}])
    factories.order(by=sales, customer=factories.customer("Petrov", phone="0555"), lines=[{"room": "Bay"}])
    assert found_by(client, text).url == reverse("order", args=[made.number])


def test_several_hits_are_listed_the_open_orders_first_and_the_newest_on_top(client, sales, marlow):
    old, gone, new = (factories.order(by=sales, customer=marlow) for _ in range(3))
    intake.cancel(order=gone, by=sales, at=AT)
    assert listed(client, "marlow") == [new.number, old.number, gone.number]


def test_a_number_opens_its_order_and_leads_to_others_that_it_is_in(client, sales, marlow):
    first = factories.order(by=sales, customer=marlow)
    second = factories.order(by=sales, customer=marlow, reference="our no. 1")
    answer = client.get(reverse("find"), {"q": str(first.number)}, follow=True)
    assert answer.redirect_chain[0][0] == reverse("order", args=[first.number])
    assert "is in other orders too" in answer.content.decode()
    assert f"{reverse('find')}?q={first.number}&amp;all=1" in answer.content.decode()
    assert listed(client, str(first.number), all=1) == [first.number, second.number]


def test_a_number_that_is_in_no_other_order_says_nothing(client, sales, marlow):
    made = factories.order(by=sales, customer=factories.customer("Petrov"))
    assert "other orders" not in client.get(reverse("find"), {"q": str(made.number)}, follow=True).content.decode()


def test_a_number_of_a_blind_that_is_not_released_leads_to_its_order_and_says_so(client, sales):
    made = factories.order(by=sales, lines=[{}])
    page = client.get(reverse("find"), {"q": "0001-3"}, follow=True)
    assert page.redirect_chain[0][0] == reverse("order", args=[made.number])
    assert "has no blind 3. Its blinds get their numbers when it is released." in page.content.decode()


def test_a_customer_without_an_order_is_found_too(client, sales, marlow):
    assert found_by(client, "+44 20 7946 0101").url == reverse("customer", args=[marlow.pk])
    other = factories.customer("Marlow Mews")
    page = found_by(client, "marlow").content.decode()
    assert reverse("customer", args=[other.pk]) in page
    assert "these customers have no order yet" in page


def test_customers_stand_over_the_orders_and_beyond_five_on_their_own_page(client, sales):
    for number in range(7):
        factories.order(by=sales, customer=factories.customer(f"Marlow {number}"))
    page = found_by(client, "marlow").content.decode()
    assert len(re.findall(r'href="/customers/[0-9]+/"', page)) == 5
    assert f"{reverse('customers')}?q=marlow" in page


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("zebra", "Nothing has “zebra”"),
        ("0099-3", "There is no blind 0099-3, and no order 0099."),
        ("0000010012", "0000010012 was misread: its check digit does not fit."),
        ("0001-1-1", "0001-1-1 was mistyped"),
        ("12345678901", "12345678901 has 11 digits"),
        ('"><script>alert(1)</script>', "Nothing has “&quot;&gt;&lt;script"),
    ],
)
def test_none_says_what_was_looked_for_and_what_else_could_be_typed(client, sales, text, said):
    page = page_of(client, "find", q=text)
    assert said in page
    assert "its rooms, its customer" in page
    assert "Try one word less" in page
    assert "<script>alert" not in page


def test_an_empty_search_shows_the_open_orders(client, sales):
    assert found_by(client, "  ").url == reverse("orders")


@pytest.mark.parametrize(
    "text", ["\x00", "%", "_", "'", "𝟙" * 90, "0" * 80, "9" * 80, "a " * 40, "+", "()-", "-1", "٣-١"]
)
def test_nothing_that_can_be_typed_breaks_it(client, sales, marlow, text):
    factories.order(by=sales, customer=marlow)
    assert found_by(client, text).status_code in (200, 302)


@pytest.mark.parametrize("page", ["0", "-1", "x", "999", "٣", "1" * 50])
def test_no_page_that_can_be_asked_for_breaks_it(client, sales, marlow, page):
    factories.order(by=sales, customer=marlow)
    factories.order(by=sales, customer=marlow)
    assert found_by(client, "marlow", page=page).status_code == 200


def test_a_long_list_goes_on_over_its_pages(client, sales, marlow):
    first = factories.order(by=sales, customer=marlow)
    many(first, finding.PAGE_SIZE)
    newest = first.number + finding.PAGE_SIZE
    assert listed(client, "marlow") == list(range(newest, first.number, -1))
    assert "page=2" in found_by(client, "marlow").content.decode()
    assert listed(client, "marlow", page=2) == [first.number]


def test_what_a_great_many_have_is_looked_for_in_the_newest_and_in_all_where_asked(client, sales, marlow, monkeypatch):
    old, *newer = (factories.order(by=sales, customer=marlow) for _ in range(3))
    for each in (old, *newer):
        intake.cancel(order=each, by=sales, at=AT)
    monkeypatch.setattr(looking, "FEW", 2)
    page = found_by(client, "marlow")
    assert [order.number for order, _ in page.context["found"].rows] == [3, 2]
    said = " ".join(page.content.decode().split())
    assert "Looked through: the open orders and the newest 2." in said
    assert "2 orders</span>" not in said
    assert f'href="{reverse("find")}?q=marlow&amp;all=1"' in said or 'href="?q=marlow&amp;all=1"' in said
    assert listed(client, "marlow", all=1) == [3, 2, 1]
    assert "Looked through:" not in found_by(client, "marlow", all=1).content.decode()
    none = found_by(client, "marlow oberg 020 7946 0101 court", page=2).content.decode()
    assert "Looked through:" in none
    assert "Nothing has" not in none
    # One of them alone is not opened: an older one may be meant.
    monkeypatch.setattr(looking, "FEW", 1)
    assert listed(client, "marlow") == [3]


def many(like, count):
    Order.objects.bulk_create(
        Order(
            number=like.number + number,
            customer=like.customer,
            due_on=like.due_on,
            state_since=AT,
            entered_by=like.entered_by,
            entered_at=AT,
        )
        for number in range(1, count + 1)
    )


def test_a_full_list_asks_the_database_no_more_than_a_short_one(client, sales, marlow):
    for _ in range(2):
        factories.released(by=sales, customer=marlow, lines=[{}])
    factories.order(by=sales, customer=marlow)
    address = f"{reverse('find')}?q=marlow"
    queries_of(client, address)  # what the plan learned is read once a day
    few = queries_of(client, address)
    many(Order.objects.newest_first().first(), 40)
    for _ in range(4):
        factories.released(by=sales, customer=marlow, lines=[{"quantity": 3}, {}])
    queries_of(client, address)  # and again where the past was written just now
    assert queries_of(client, address) <= few
    assert queries_of(client, f"{reverse('find')}?q=marlow+oberg+020+7946+0101") <= few


def test_a_list_says_where_each_order_is_and_whom_to_ask(client, sales, marlow):
    maker = factories.person("maker", first_name="Mara", last_name="Lind")
    at = timezone.now()
    blind, _ = factories.released(by=sales, at=at, customer=marlow, lines=[{"quantity": 2}], due_on=in_days(30))
    factories.tell(blind, "railing", "start", by=maker, at=at)
    factories.order(by=sales, at=at, customer=marlow, due_on=in_days(-3))
    page = " ".join(found_by(client, "marlow").content.decode().split())
    clock = f"{timezone.localtime(at):%H:%M}"
    assert f"1 at railing since {clock}, Mara Lind; 1 waits at railing since {clock}; 2 wait at vanes" in page
    assert "railing of 1, vanes, stringing, checking and packing of 2 left" in page
    assert "Ask Mara Lind at railing." in page
    assert "Ask Nora Weiss, who entered it." in page
    assert "the plan has it packed" in page
    assert "3 days late" in page


def in_days(days):
    return timezone.localdate() + dt.timedelta(days=days)


def test_the_box_stands_in_the_head_of_the_offices_pages_alone(client, sales, marlow):
    made = factories.order(by=sales, customer=marlow)
    for name, *args in (("orders",), ("order", made.number), ("customers",), ("catalogue",), ("calendar",)):
        page = page_of(client, name, *args)
        assert page.count('id="find"') == 1
        assert f'data-scan="{reverse("find")}"' in page
    client.force_login(factories.person("maker"))
    assert 'id="find"' not in page_of(client, "stations")
    client.force_login(factories.person("manager"))
    assert 'id="find"' not in page_of(client, "station", "railing")


def test_what_was_typed_stays_in_the_box(client, sales):
    assert 'value="zeb&amp;ra"' in page_of(client, "find", q="zeb&ra")

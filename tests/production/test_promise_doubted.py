"""A fault in the workshop reaches the office: the order's promise is looked at again, there and on the day sheet."""

import datetime as dt
import threading

import pytest
from django.db import connection
from django.urls import reverse
from django.utils import timezone, translation

from orders import intake
from orders.models import Order
from production import daysheet, route
from production.record import Refused
from production.route import CHECKING, PACKING, RAILING, STRINGING, VANES
from tests.factories import AT, DUE, enter_steps, make, person, released, tell, work
from tests.tablets import HTMX, sheet_of

pytestmark = pytest.mark.django_db


def send_back(blind, station, *, by, at=AT, back_to=RAILING, **given):
    given = {"fault": "rail_damaged", **given}
    return tell(blind, station, route.SEND_BACK, by=by, at=at, back_to=back_to, **given)


def order_of(blind):
    return Order.objects.get(pk=blind.order_id)


def test_a_fault_puts_the_promise_in_doubt_with_blind_station_and_fault(at_checking, checker):
    send_back(at_checking, CHECKING, by=checker, at=AT)
    order = order_of(at_checking)
    assert order.promise_doubted_at == AT
    assert order.promise_doubt == (f"{at_checking.number} was sent back from checking to railing: rail or rod damaged")


def test_a_rail_that_is_made_anew_is_said(at_checking, checker):
    scrapped = [{"part": "rail", "count": 1}, {"part": "vanes", "count": 2}]
    send_back(at_checking, CHECKING, by=checker, scrapped=scrapped)
    assert order_of(at_checking).promise_doubt.endswith(
        "from checking to railing and vanes: rail or rod damaged, its rail is made anew"
    )


def test_a_refused_fault_puts_nothing_in_doubt(at_checking, checker):
    with pytest.raises(Refused):
        send_back(at_checking, CHECKING, by=checker, fault="")
    assert order_of(at_checking).promise_doubted_at is None


def test_a_fault_put_right_and_packed_by_the_promised_day_is_no_doubt_any_more(at_checking, maker, checker):
    send_back(at_checking, CHECKING, by=checker)
    on_the_day = dt.datetime.combine(DUE, dt.time(17), dt.UTC)
    for station in (RAILING, STRINGING):
        work(at_checking, station, by=maker, at=on_the_day)
    work(at_checking, CHECKING, by=checker, at=on_the_day)
    assert order_of(at_checking).promise_doubted_at
    work(at_checking, PACKING, by=maker, at=on_the_day)
    order = order_of(at_checking)
    assert (order.state, order.promise_doubted_at, order.promise_doubt) == ("ready", None, "")


def test_packed_after_the_promised_day_it_stays_in_doubt_until_somebody_looks(at_checking, maker, checker):
    send_back(at_checking, CHECKING, by=checker)
    too_late = dt.datetime.combine(DUE + dt.timedelta(days=1), dt.time(9), dt.UTC)
    for station in (RAILING, STRINGING, CHECKING, PACKING):
        work(at_checking, station, by=checker if station == CHECKING else maker, at=too_late)
    order = order_of(at_checking)
    assert order.state == "ready"
    assert order.promise_doubted_at


def test_a_fault_found_once_the_order_was_ready_takes_it_back_to_work(maker, checker):
    blind = released()[0]
    make(blind, maker=maker, checker=checker)
    assert order_of(blind).state == "ready"
    send_back(blind, PACKING, by=maker, back_to=VANES, fault="parts_missing")
    order = order_of(blind)
    assert (order.state, bool(order.promise_doubted_at)) == ("released", True)
    work(blind, VANES, by=maker)
    work(blind, CHECKING, by=checker)
    work(blind, PACKING, by=maker)
    assert order_of(blind).state == "ready"


@pytest.mark.parametrize("leave", [intake.mark_collected, intake.mark_delivered])
def test_a_blind_that_has_left_the_workshop_is_not_sent_back(client, maker, checker, leave):
    blind = released()[0]
    make(blind, maker=maker, checker=checker)
    leave(order=order_of(blind), by=blind.order.entered_by, at=AT)
    with pytest.raises(
        Refused, match=r"has left the workshop with its order, which is (collected|delivered)\. Enter a new"
    ):
        send_back(blind, PACKING, by=maker, back_to=VANES)
    assert order_of(blind).state in ("collected", "delivered")
    client.force_login(maker)
    assert 'id="send-back"' not in sheet_of(client, blind, PACKING).content.decode()
    assert not blind.events.filter(kind=route.SEND_BACK).exists()


def test_the_reason_is_in_english_whatever_language_the_maker_reads(at_checking, checker):
    with translation.override("pl"):
        send_back(at_checking, CHECKING, by=checker)
    assert "was sent back from checking to railing" in order_of(at_checking).promise_doubt


def test_todays_sheet_shows_the_promises_to_look_at_and_a_day_gone_by_does_not(at_checking, checker):
    send_back(at_checking, CHECKING, by=checker)
    (found,) = daysheet.read(on=timezone.localdate(AT), at=AT).doubted
    assert (found.number, found.due_on) == (at_checking.order.number, DUE)
    assert found.because.startswith(f"{at_checking.number} was sent back")
    assert daysheet.read(on=timezone.localdate(AT), at=AT + dt.timedelta(days=1)).doubted == ()


@pytest.mark.parametrize("role", ["sales", "manager"])
def test_the_day_sheet_leads_sales_and_the_manager_to_the_order(client, at_checking, checker, role):
    send_back(at_checking, CHECKING, by=checker)
    client.force_login(person(role))
    page = client.get(reverse("day")).content.decode()
    assert "Promises to be looked at" in page
    assert f'href="/orders/{at_checking.order.number}/"' in page


def test_the_orders_page_is_loaded_anew_when_its_promise_is_put_in_doubt(client, at_checking, checker):
    client.force_login(person("sales"))
    order = at_checking.order
    address = reverse("order-at-work", args=[order.number])
    seen = client.get(reverse("order", args=[order.number])).content.decode().split("?seen=")[1].split('"')[0]
    assert client.get(f"{address}?seen={seen}", **HTMX).status_code == 204
    send_back(at_checking, CHECKING, by=checker)
    answer = client.get(f"{address}?seen={seen}", **HTMX)
    assert answer.headers["HX-Refresh"] == "true"
    assert "Promise to be looked at" in client.get(reverse("order", args=[order.number])).content.decode()


@pytest.mark.django_db(transaction=True)
def test_a_fault_and_a_packing_of_one_order_at_once_both_come_through(maker, checker):
    """Both hold the order's row first, so that neither waits for the other in a circle."""
    first, second = released(lines=[{"quantity": 2}])
    make(first, maker=maker, checker=checker, until=CHECKING)
    make(second, maker=maker, checker=checker, until=STRINGING)
    tell(second, CHECKING, route.START, by=checker)
    tell(first, PACKING, route.START, by=maker)
    enter_steps(first, PACKING, by=maker)
    wrong, gate = [], threading.Barrier(2)

    def do(what):
        try:
            gate.wait(10)
            what()
        except Exception as problem:
            wrong.append(problem)
        finally:
            connection.close()

    threads = [
        threading.Thread(target=do, args=[lambda: tell(first, PACKING, route.FINISH, by=maker)]),
        threading.Thread(target=do, args=[lambda: send_back(second, CHECKING, by=checker)]),
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    assert wrong == []
    assert order_of(first).state == "released"
    assert order_of(first).promise_doubted_at

"""A blind taken off its order leaves every queue, and nothing happens to it any more."""

import pytest

from orders.models import Order, OrderLine, Person
from production import record, route
from production.models import Stage
from production.route import RAILING, STRINGING
from tests import factories
from tests.factories import make, person, tell, work
from tests.production.amending import accept, ask_off, last, proved, states

pytestmark = pytest.mark.django_db


def test_a_blind_taken_off_leaves_every_queue_and_its_order_waits_for_it_no_more(maker, checker):
    one, two = factories.released(lines=[{"quantity": 2}])
    work(one, RAILING, by=maker)
    make(two, maker=maker, checker=checker)
    assert factories.order_state(one) == Order.RELEASED
    accept(ask_off(one))
    assert set(states(one).values()) == {route.OFF}
    assert not Stage.objects.queued_at(STRINGING).exists()
    assert factories.order_state(one) == Order.READY
    assert {each["part"] for each in last(one).data["scrapped"]} == {"rail", "tilt_rod", "tubes"}
    assert OrderLine.objects.get().taken_off == 1
    assert Order.objects.with_customer().get().blind_total == 1
    proved(one)


def test_the_last_blind_packed_makes_the_order_ready_beside_one_that_was_taken_off(maker, checker):
    one, two = factories.released(lines=[{"quantity": 2}])
    accept(ask_off(one))
    assert factories.order_state(one) == Order.RELEASED
    make(two, maker=maker, checker=checker)
    assert factories.order_state(one) == Order.READY


def test_an_order_of_which_every_blind_is_taken_off_is_cancelled():
    one, two = factories.released(lines=[{}, {"room": "Hall"}])
    accept(ask_off(one, two), by=person("manager", name="ruben"))
    order = Order.objects.get()
    assert order.state == Order.CANCELLED
    assert order.steps.in_order().last().by == Person.objects.get(username="ruben")


def test_nothing_happens_any_more_to_a_blind_taken_off(maker):
    one, _two = factories.released(lines=[{"quantity": 2}])
    tell(one, RAILING, route.START, by=maker)
    accept(ask_off(one))
    for kind in (route.STEP, route.FINISH, route.START):
        with pytest.raises(record.Refused, match="It was taken off its order; put its parts aside"):
            tell(one, RAILING, kind, by=maker, key="tubes", value=True)
    with pytest.raises(record.Refused, match="can't be sent back at railing. It was taken off its order"):
        tell(one, RAILING, route.SEND_BACK, by=maker, back_to=RAILING, fault="other", scrapped=[])

"""What has changed: numbered in the order in which it became visible, and nothing missed by whoever asks again."""

import datetime as dt
import threading
import time
from importlib import import_module

import pytest
from django.apps import apps
from django.db import connections, transaction

from orders import intake
from orders.models import Order
from production import order_changes
from production.models import OrderChange
from production.route import RAILING, START
from tests import factories
from tests.production.amending import accept, ask
from tests.production.api_desk import Program
from tests.production.at_once import at_once

pytestmark = pytest.mark.django_db
on_real_connections = pytest.mark.django_db(transaction=True)
AT = factories.AT


class Follower:
    """A program that asks for changes and goes on from where it was."""

    def __init__(self):
        self.program, self.since = Program(), "0"

    def look(self, limit=100):
        """The number and state of each order that has changed, in order."""
        said = self.program.get(f"/changes?since={self.since}&limit={limit}").json()
        self.since = said["next"]
        return [(each["order"]["number"], each["order"]["state"]) for each in said["changes"]]


@pytest.fixture
def follower():
    return Follower()


def test_the_first_look_tells_every_order_and_the_next_nothing(follower):
    factories.order(lines=[{}])
    released = factories.released()[0].order
    cancelled = factories.order(lines=[{}])
    intake.cancel(order=cancelled, by=released.entered_by, at=AT)
    assert follower.look() == [(1, "draft"), (2, "released"), (3, "cancelled")]
    assert follower.look() == []


@pytest.mark.parametrize(
    "change",
    [
        lambda order, by: intake.confirm(order=order, by=by, at=AT),
        lambda order, by: intake.cancel(order=order, by=by, at=AT),
        lambda order, by: intake.change_order(order=order, due_on=factories.DUE + dt.timedelta(days=1)),
        lambda order, by: intake.change_order(order=order, reference="B 12"),
        lambda order, by: intake.save_line(order=order, line=factories.line(width_mm=900)),
        lambda order, by: intake.remove_line(line=order.lines.first()),
        lambda order, by: intake.change_customer(customer=order.customer, name="Renamed"),
    ],
)
def test_each_change_of_an_order_is_told_once(follower, change):
    factories.order(lines=[{}])
    order = factories.order(lines=[{}, {}])
    follower.look()
    change(order, order.entered_by)
    told = [number for number, _ in follower.look()]
    assert order.number in told
    assert follower.look() == []


def test_a_line_that_is_changed_in_place_is_told(follower):
    order = factories.order(lines=[{}])
    follower.look()
    line = order.lines.get()
    line.hand = "right"
    intake.save_line(order=order, line=line)
    assert follower.look() == [(1, "draft")]


def test_what_moves_a_blind_is_told_and_a_step_at_a_station_is_not(follower):
    blind, maker = factories.released()[0], factories.person("maker")
    follower.look()
    factories.tell(blind, RAILING, START, by=maker)
    assert follower.look() == [(1, "released")]
    factories.enter_steps(blind, RAILING, by=maker)
    assert follower.look() == []


def test_a_change_at_work_is_told_once_it_is_accepted_and_not_when_it_is_asked_for(follower):
    (blind,) = factories.released()
    follower.look()
    asked = ask(blind, width_mm=1700)
    assert follower.look() == []
    accept(asked)
    assert follower.look() == [(1, "released")]


def test_an_order_on_its_way_is_told_until_it_has_left_and_then_no_more(follower):
    blind = factories.released(lines=[{"operation": "wand"}])[0]
    follower.look()
    factories.make(blind, maker=factories.person("maker"), checker=factories.person("checker"))
    assert follower.look() == [(1, "ready")]
    intake.mark_collected(order=Order.objects.get(), by=blind.order.entered_by, at=AT)
    assert follower.look() == [(1, "collected")]
    assert follower.look() == []


def test_an_order_that_came_and_went_between_two_looks_is_told(follower):
    follower.look()
    order = factories.order(lines=[{}])
    intake.cancel(order=order, by=order.entered_by, at=AT)
    assert follower.look() == [(1, "cancelled")]


def test_orders_that_had_left_before_changes_were_counted_are_no_news():
    left, there = factories.order(lines=[{}]), factories.order(lines=[{}])
    intake.cancel(order=left, by=left.entered_by, at=AT)
    begin = import_module("production.migrations.0008_old_orders_need_not_be_told").begin_after_the_newest
    begin(apps, None)
    follower = Follower()
    assert follower.look() == [(there.number, "draft")]
    factories.order(lines=[{}])
    assert follower.look() == [(3, "draft")]


def test_each_order_is_told_once_at_its_newest_change_and_in_the_order_of_changes(follower):
    orders = [factories.order(lines=[{}]) for _ in range(3)]
    follower.look()
    for order in (orders[2], orders[0]):
        intake.confirm(order=order, by=order.entered_by, at=AT)
        order_changes.after(0)
    intake.cancel(order=orders[2], by=orders[2].entered_by, at=AT)
    assert follower.look() == [(1, "confirmed"), (3, "cancelled")]


def test_pages_of_changes_miss_none(follower):
    for _ in range(5):
        factories.order(lines=[{}])
    said = follower.program.get("/changes?limit=2").json()
    assert (len(said["changes"]), said["more"]) == (2, True)
    pages = [follower.look(limit=2) for _ in range(3)]
    assert [number for page in pages for number, _ in page] == [1, 2, 3, 4, 5]


def test_a_place_that_was_never_told_is_refused_with_the_way_out(follower):
    factories.order(lines=[{}])
    answer = follower.program.get("/changes?since=4711")
    assert (answer.status_code, answer.json()["type"]) == (410, "/api/#lost-place")
    assert answer.json()["detail"] == "since is 4711, and the last change is 1. Ask again without since."


def test_a_look_takes_as_many_queries_for_many_orders_as_for_one(follower, django_assert_max_num_queries):
    for _ in range(6):
        factories.released(lines=[{"quantity": 2}])
    with django_assert_max_num_queries(30):
        assert len(follower.look()) == 6
    with django_assert_max_num_queries(14):
        follower.look()


# At the same moment


@on_real_connections
def test_a_change_that_is_committed_after_a_later_one_is_not_missed():
    """Its writer took its turn first and committed last: a number given out while writing would hide it."""
    follower, early, late = Follower(), factories.order(lines=[{}]), factories.order(lines=[{}])
    follower.look()
    written, looked, seen = threading.Event(), threading.Event(), []

    def slow():
        with transaction.atomic():
            intake.confirm(order=early, by=early.entered_by, at=AT)
            written.set()
            # SQLite lets nobody write meanwhile; on PostgreSQL the other one is confirmed and told before this.
            looked.wait(2)

    def quick():
        written.wait()
        if connections["default"].vendor == "postgresql":
            intake.confirm(order=late, by=late.entered_by, at=AT)
            seen.append(follower.look())
        looked.set()

    assert at_once(slow, quick) == [None, None]
    if seen:
        assert seen == [[(2, "confirmed")]]
    assert (1, "confirmed") in follower.look()


@on_real_connections
def test_two_that_number_changes_at_the_same_moment_wait_for_each_other():
    first, second = factories.order(lines=[{}]), factories.order(lines=[{"width_mm": 900}])
    last = [each.change for each in order_changes.after(0)][-1]
    numbered = threading.Event()

    def holds():
        with transaction.atomic():
            intake.confirm(order=first, by=first.entered_by, at=AT)
            order_changes.after(last)
            numbered.set()
            time.sleep(0.3)

    def waits():
        numbered.wait()
        intake.confirm(order=second, by=second.entered_by, at=AT)
        return [(each.change, each.order.number) for each in order_changes.after(last)]

    _, told = at_once(holds, waits)
    assert told == [(last + 1, 1), (last + 2, 2)]


@on_real_connections
def test_four_that_write_and_three_that_ask_at_once_miss_nothing_and_agree_on_the_order():
    orders = [factories.order(lines=[{"width_mm": 1500 + 10 * turn}]) for turn in range(12)]
    by, followers = factories.person("sales"), [Follower() for _ in range(3)]
    over = threading.Event()

    def write(own):
        def run():
            for order in own:
                intake.confirm(order=order, by=by, at=AT)
                intake.cancel(order=order, by=by, at=AT)

        return run

    def ask(follower):
        def run():
            told = {}
            while not over.is_set():
                told.update(follower.look(limit=3))
            while page := follower.look():
                told.update(page)
            return told

        return run

    def stop(writers):
        def run():
            for thread in writers:
                thread.join()
            over.set()

        return run

    writers = [threading.Thread(target=closing(write(orders[place::4]))) for place in range(4)]
    for thread in writers:
        thread.start()
    *told, _ = at_once(*[ask(follower) for follower in followers], stop(writers))
    assert told == [dict.fromkeys(range(1, 13), "cancelled")] * 3
    numbers = list(OrderChange.objects.values_list("change", flat=True))
    assert len(set(numbers)) == 12


def closing(run):
    def ran():
        try:
            run()
        finally:
            connections.close_all()

    return ran

"""Where an order or a blind is, in words: since when, in whose hands, what is left, whether in time, whom to ask."""

import datetime as dt

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from orders.models import Customer, Order
from production import route, where
from production.planning import Booked, Forecast
from production.where import Standing
from tests import factories
from tests.orders.pages import page_of

NOON = dt.datetime(2026, 3, 4, 12, 0, tzinfo=dt.UTC)  # a Wednesday


def order(state=Order.RELEASED, due_in=1, since=NOON, **fields):
    caller = Customer(name="Marlow Court", contact="Pia", phone="020 7946 0101")
    due_on = NOON.date() + dt.timedelta(days=due_in)
    nora = factories.Person(username="nora", first_name="Nora")
    return Order(number=412, customer=caller, state=state, state_since=since, due_on=due_on, entered_by=nora, **fields)


def standings(blinds=1, **states):
    """One Standing for each station, `states` giving those that differ from done: a state, or one and its people."""
    found = []
    for place in route.STATIONS:
        given = states.get(place.key, route.DONE)
        state, *people = (given,) if isinstance(given, str) else given
        since = NOON.replace(hour=10, minute=40)
        found.append(Standing(station=place.key, state=state, blinds=blinds, since=since, people=tuple(people)))
    return found


def said(order, found=(), **options):
    return where.of_order(order, found, at=NOON, **options)


NOT_FINISHED = {"checking": route.NOT_YET, "packing": route.NOT_YET}
NOT_BEGUN = {**NOT_FINISHED, "stringing": route.NOT_YET}
AT_STRINGING = {**NOT_FINISHED, "stringing": (route.IN_HAND, "Mara Lind")}


def test_a_blind_in_hand_says_where_since_when_and_by_whom():
    found = said(order(), standings(**AT_STRINGING))
    assert str(found) == "At stringing since 10:40, Mara Lind; checking and packing left; promised for tomorrow"
    assert found.ask == "Ask Mara Lind at stringing."
    assert found.mark == ""


@pytest.mark.parametrize(
    ("states", "now", "left", "ask"),
    [
        (
            {**NOT_BEGUN, "railing": route.WAITING, "vanes": route.WAITING},
            "Waits at railing and vanes since 10:40",
            "railing, vanes, stringing, checking and packing left",
            "Nobody has it in hand. Ask at railing.",
        ),
        (
            {**NOT_BEGUN, "railing": route.SENT_BACK},
            "To do again at railing since 10:40",
            "railing, stringing, checking and packing left",
            "Nobody has it in hand. Ask at railing.",
        ),
        (
            {"packing": (route.PAUSED, "Ines Halloran")},
            "Paused at packing since 10:40, Ines Halloran",
            "packing left",
            "Ask Ines Halloran at packing.",
        ),
        (
            {**NOT_BEGUN, "railing": (route.IN_HAND, "Mara"), "vanes": (route.IN_HAND, "Tom")},
            "At railing since 10:40, Mara; at vanes since 10:40, Tom",
            "stringing, checking and packing left",
            "Ask Mara at railing.",
        ),
        ({}, "Packed since 10:40", "other blinds of its order are at work", ""),
    ],
)
def test_every_state_of_a_blind_has_its_words(states, now, left, ask):
    found = said(order(), standings(**states))
    assert (found.now, found.left, found.ask) == (now, left, ask)


def test_an_order_of_several_blinds_counts_them_where_they_are():
    found = said(
        order(),
        [
            *standings(blinds=1),
            *standings(blinds=2, **AT_STRINGING),
            Standing(station="railing", state="off", blinds=1, since=NOON),
        ],
    )
    assert found.now == "2 at stringing since 10:40, Mara Lind; 1 packed"
    assert found.left == "checking and packing of 2 left"


def test_an_order_whose_blinds_were_all_taken_off_says_so():
    off = [Standing(station=place.key, state="off", blinds=2, since=NOON) for place in route.STATIONS]
    assert said(order(), off).now == "Taken off"


PROMISED = "promised for tomorrow"


@pytest.mark.parametrize(
    ("state", "words", "ask"),
    [
        (Order.DRAFT, f"Draft since 12:00; to be confirmed; {PROMISED}", "Ask Nora, who entered it."),
        (Order.CONFIRMED, f"Confirmed since 12:00; to be released; {PROMISED}", "Ask Nora, who entered it."),
        (Order.READY, f"Ready since 12:00; to be collected or delivered; {PROMISED}", "Tell Pia, 020 7946 0101."),
        (Order.COLLECTED, "Collected today", ""),
        (Order.DELIVERED, "Delivered today", ""),
        (Order.CANCELLED, "Cancelled today", ""),
    ],
)
def test_every_state_of_an_order_has_its_words(state, words, ask):
    found = said(order(state))
    assert (str(found), found.ask) == (words, ask)


def forecast(finished_in, late_days):
    booked = Booked(pk=1, number=412, customer="Marlow", due_on=NOON.date(), rush=False)
    finished = None if finished_in is None else NOON.date() + dt.timedelta(days=finished_in)
    return Forecast(order=booked, finished=finished, late_days=late_days)


@pytest.mark.parametrize(
    ("due_in", "plan", "promise", "mark"),
    [
        (0, None, "promised for today", ""),
        (2, None, "promised for Friday, in 2 days", ""),
        (9, None, "promised for Fri 13 Mar, in 9 days", ""),
        (400, None, "promised for Thu 8 Apr 2027, in 400 days", ""),
        (-1, None, "promised for yesterday, 1 day late", "Late"),
        (5, (1, 0), "promised for Monday; the plan has it packed tomorrow, in time", ""),
        (1, (7, 4), "promised for tomorrow; the plan has it packed on Wed 11 Mar, 4 working days late", "Will be late"),
        (1, (2, 1), "promised for tomorrow; the plan has it packed on Friday, 1 working day late", "Will be late"),
        (1, (None, None), "promised for tomorrow; the plan has no day for it", "Will be late"),
        (-3, (0, 2), "promised for Sun 1 Mar, 3 days late; the plan has it packed today, 2 working days late", "Late"),
    ],
)
def test_the_promise_is_told_by_the_plan_or_by_the_calendar(due_in, plan, promise, mark):
    found = said(order(due_in=due_in), standings(**AT_STRINGING), forecast=plan and forecast(*plan))
    assert (found.promise, found.mark) == (promise, mark)


def test_a_promise_in_doubt_says_why():
    doubted = order(promise_doubted_at=NOON, promise_doubt="0412-3 was sent back to railing")
    found = said(doubted, standings(**AT_STRINGING))
    assert (found.promise, found.mark) == ("promised for tomorrow: 0412-3 was sent back to railing", "In doubt")


@pytest.mark.parametrize(
    ("ago", "words"),
    [
        ({"hours": 1}, "11:00"),
        ({"days": 1}, "yesterday 12:00"),
        ({"days": 2}, "Monday 12:00"),
        ({"days": 6}, "Thursday 12:00"),
        ({"days": 7}, "25 February, 12:00"),
        ({"days": 100}, "24 November 2025"),
    ],
)
def test_a_moment_is_told_as_people_say_it(ago, words):
    assert where.since_words(NOON - dt.timedelta(**ago), at=NOON) == words


STATES = st.sampled_from([route.NOT_YET, *route.QUEUED, route.DONE])


@given(st.fixed_dictionaries({place.key: STATES for place in route.STATIONS}))
def test_however_a_blind_stands_every_station_that_is_not_done_is_told(states):
    # Packing comes last: once it is done, all is.
    assume(states["packing"] != route.DONE)
    found = said(order(), standings(**states))
    told = f"{found.now} {found.left}".lower()
    for place in route.STATIONS:
        if states[place.key] != route.DONE:
            assert place.name.lower() in told


# On the pages.


@pytest.mark.django_db
def test_the_pages_of_an_order_and_a_blind_say_where_it_is(client):
    sales, maker = factories.person("sales"), factories.person("maker", first_name="Mara", last_name="Lind")
    client.force_login(sales)
    (blind,) = factories.released(by=sales)
    factories.work(blind, "railing", by=maker)
    factories.work(blind, "vanes", by=maker)
    factories.tell(blind, "stringing", "start", by=maker)
    for page in (page_of(client, "blind", blind.code), page_of(client, "order", blind.order.number)):
        words = " ".join(page.split())
        assert "At stringing since 4 March, 09:00, Mara Lind</b>; checking and packing left" in words
        assert "Ask Mara Lind at stringing." in words


@pytest.mark.django_db
def test_many_orders_with_many_blinds_are_told_in_two_queries(django_assert_num_queries):
    maker = factories.person("maker", first_name="Mara")
    for _ in range(3):
        for blind in factories.released(lines=[{"quantity": 2}, {}]):
            factories.tell(blind, "vanes", "start", by=maker)
    orders = list(Order.objects.with_keys(Order.objects.values("pk")).newest_first())
    with django_assert_num_queries(2):
        found = where.of_orders(orders, at=NOON, forecasts={})
    assert {place.now for place in found.values()} == {"3 wait at railing since 09:00; 3 at vanes since 09:00, Mara"}

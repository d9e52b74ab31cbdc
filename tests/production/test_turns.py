"""Whose turn it is at a station: promised day, rush, vane width in turn, least work; an order stays together."""

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from production import planning, queue
from production.route import RAILING, VANES
from tests.factories import AT, DUE, make, person, released, tell, work
from tests.production.amending import accept, ask_off

pytestmark = pytest.mark.django_db

# Of two days that follow each other, one begins with wide vanes and the other with narrow ones.
WIDE_FIRST, NARROW_FIRST = DUE, DUE + dt.timedelta(days=1)


def turns(station=VANES, at=AT):
    """The blinds' numbers in their turn at a station."""
    found = queue.read(station=station, person=person("maker"), at=at, limit=None)
    return [row.blind.number for row in ([found.next] if found.next else []) + list(found.rows)]


def in_all(*orders):
    return [blind.number for blinds in orders for blind in blinds]


def test_what_is_promised_first_comes_first_whatever_else():
    later = released(due_on=DUE + dt.timedelta(days=1), rush=True)
    sooner = released(lines=[{"quantity": 3, "vane_width_mm": 127}])
    assert turns() == in_all(sooner, later)


def test_rush_goes_before_others_of_its_day():
    plain, rushed = released(), released(rush=True)
    assert turns() == in_all(rushed, plain)


def test_a_day_begins_on_the_vane_width_that_the_day_before_ended_with():
    orders = {
        (day, width): released(due_on=day, lines=[{"vane_width_mm": width}])
        for day in (NARROW_FIRST, WIDE_FIRST)
        for width in (89, 127)
    }
    in_turn = (WIDE_FIRST, 127), (WIDE_FIRST, 89), (NARROW_FIRST, 89), (NARROW_FIRST, 127)
    assert turns() == in_all(*(orders[each] for each in in_turn))


def test_of_two_alike_the_order_with_less_work_goes_first_as_a_whole():
    large, small = released(lines=[{"quantity": 3}]), released(lines=[{"quantity": 2}])
    assert turns() == in_all(small, large)


def test_an_order_stays_together_and_its_widths_too():
    mixed = released(lines=[{}, {"vane_width_mm": 127}, {}, {"vane_width_mm": 127}])
    small = released()
    assert turns() == [mixed[place].number for place in (1, 3, 0, 2)] + in_all(small)
    assert turns(RAILING) == turns(VANES)


def test_an_order_keeps_its_turn_while_it_is_made():
    first, second = released(lines=[{"quantity": 2}]), released(lines=[{"quantity": 2}])
    maker = person("maker")
    before = turns(RAILING)
    work(second[0], VANES, by=maker)
    work(second[1], VANES, by=maker)
    assert turns(RAILING) == before == in_all(first, second)
    # In the plan as well: the second has less to do now, and still comes second.
    assert list(planning.read(at=AT).plan.finished) == [blinds[0].order.number for blinds in (first, second)]


def test_a_blind_taken_off_counts_no_more_at_the_station_or_in_the_plan():
    large, small = released(lines=[{"quantity": 3}]), released(lines=[{"quantity": 2}])
    mixed = released(lines=[{"quantity": 4}, {"vane_width_mm": 127}], due_on=NARROW_FIRST)
    assert turns() == in_all(small, large, mixed)
    for blind in (large[0], large[1], mixed[4]):
        accept(ask_off(blind))
    assert turns() == in_all(large[2:], small, mixed[:4])
    plan = planning.read(at=AT)
    assert list(plan.plan.finished) == [blinds[0].order.number for blinds in (large, small, mixed)]
    assert [work.widths for work in plan.works] == [(89,)] * 3


def test_what_comes_is_named_in_its_turn():
    small, rushed = released(), released(rush=True)
    for blind in (*small, *rushed):
        tell(blind, RAILING, "start", by=person("maker"))
    found = queue.read(station="stringing", person=person("maker"), at=AT)
    assert [each.blind.number for each in found.coming] == in_all(rushed, small)


def test_the_plan_takes_orders_in_the_same_turn():
    for due_on in (NARROW_FIRST, WIDE_FIRST):
        for width in (89, 127):
            released(due_on=due_on, lines=[{"vane_width_mm": width, "quantity": 2}])
            released(due_on=due_on, lines=[{"vane_width_mm": width}], rush=width == 127)
    planned = list(planning.read(at=AT).plan.finished)
    queued = list(dict.fromkeys(int(number.split("-")[0]) for number in turns()))
    assert queued == planned


def test_the_turn_costs_as_many_queries_with_many_orders():
    released()

    def queries():
        queue._kept.clear()
        with CaptureQueriesContext(connection) as found:
            turns()
        return len(found)

    before = queries()
    for _ in range(5):
        released(lines=[{"quantity": 2}, {"vane_width_mm": 127}])
    assert queries() == before


def test_a_packed_order_leaves_the_turn_of_the_others_alone():
    done, left = released(), released()
    make(done[0], maker=person("maker"), checker=person("checker"))
    assert turns() == in_all(left)

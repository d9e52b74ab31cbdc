"""What a change after the release comes to on the day sheet: parts lost, and nobody's fault."""

import datetime as dt

import pytest

from production import daysheet, route
from production.route import RAILING, VANES
from tests import factories
from tests.factories import AT, make, tell, work
from tests.production.amending import accept, ask_off, change, fresh

pytestmark = pytest.mark.django_db

LATER = AT + dt.timedelta(hours=1)


def station(sheet, key):
    return next(each for each in sheet.stations if each.key == key)


def sheet(*, at=AT + dt.timedelta(hours=3)):
    return daysheet.read(on=AT.date(), at=at)


def test_a_rail_lost_to_a_change_is_scrapped_and_no_fault_of_railing(maker):
    (blind,) = factories.released()
    work(blind, RAILING, by=maker)
    change(blind, at=LATER, width_mm=1700)
    work(fresh(blind), RAILING, by=maker, at=LATER)
    found = sheet()
    assert {each.part: each.count for each in found.scrapped} == {"Rail": 1, "Tilt rod": 1}
    assert (found.faults, found.sent_back) == ((), 0)
    railing = station(found, RAILING)
    assert (railing.finished, railing.today.entered, railing.today.reworked, railing.sent_back) == (2, 1, 0, 0)


def test_a_blind_that_is_changed_in_somebodys_hand_is_in_no_hand_from_then_on(maker):
    (blind,) = factories.released()
    tell(blind, VANES, route.START, by=maker)
    change(blind, at=LATER, drop_mm=1400)
    found = sheet()
    assert station(found, VANES).average_in_hand == 1.0
    assert station(found, VANES).in_hand == ()
    assert found.in_hand == 0


def test_an_order_is_ready_on_the_day_on_which_its_last_open_blind_was_taken_off(maker, checker):
    one, two = factories.released(lines=[{"quantity": 2}], due_on=AT.date())
    make(one, maker=maker, checker=checker, at=AT - dt.timedelta(days=1))
    assert sheet().orders_ready == 0
    assert [(order.blinds, order.packed) for order in sheet().due] == [(2, 1)]
    accept(ask_off(two, at=LATER), at=LATER)
    assert sheet().orders_ready == 1
    assert sheet().due == ()

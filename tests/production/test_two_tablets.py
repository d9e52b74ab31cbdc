"""Two tablets at the same moment, on a real database with real connections."""

import uuid

import pytest
from django.db import connection

from orders import intake
from production import route
from production.models import StationEvent
from production.record import Refused, record
from production.route import CHECKING, PACKING, RAILING, STRINGING, VANES
from tests import factories
from tests.production.at_once import at_once

pytestmark = pytest.mark.django_db(transaction=True)


def starter(blind, by, event_id=None):
    event_id = event_id or uuid.uuid4()
    return lambda: record(event_id=event_id, code=blind.code, station=RAILING, kind=route.START, by=by, at=factories.AT)


@pytest.mark.parametrize("round_", range(5))
def test_of_two_tablets_one_has_the_blind_and_the_other_is_told(round_):
    blind, makers = factories.released()[0], [factories.person("maker") for _ in range(4)]
    answers = at_once(*[starter(blind, by) for by in makers])
    refused = [found for found in answers if isinstance(found, Refused)]
    assert len(refused) == 3
    assert all("in hand already" in str(found) for found in refused)
    assert StationEvent.objects.filter(blind=blind, kind=route.START).count() == 1


@pytest.mark.parametrize("round_", range(5))
def test_one_event_sent_four_times_at_once_is_written_once_and_answered_four_times(round_):
    blind, maker, event_id = factories.released()[0], factories.person("maker"), uuid.uuid4()
    answers = at_once(*[starter(blind, maker, event_id) for _ in range(4)])
    assert sorted(found.again for found in answers) == [False, True, True, True]
    assert StationEvent.objects.filter(event_id=event_id).count() == 1


@pytest.mark.parametrize("round_", range(5))
def test_stringing_and_vanes_finished_at_the_same_moment_open_checking(round_):
    blind, makers = factories.released()[0], [factories.person("maker"), factories.person("maker")]
    factories.work(blind, RAILING, by=makers[0])
    for station, by in zip((STRINGING, VANES), makers, strict=True):
        factories.tell(blind, station, route.START, by=by)
        factories.enter_steps(blind, station, by=by)
    answers = at_once(
        *[
            lambda station=station, by=by: factories.tell(blind, station, route.FINISH, by=by)
            for station, by in zip((STRINGING, VANES), makers, strict=True)
        ]
    )
    assert not [found for found in answers if isinstance(found, Refused)]
    assert blind.stages.get(station=CHECKING).state == route.WAITING


@pytest.mark.parametrize("round_", range(5))
def test_the_last_two_blinds_packed_at_the_same_moment_make_the_order_ready(round_):
    blinds = factories.released(lines=[{"quantity": 2, "operation": "wand"}])
    maker, checker = factories.person("maker"), factories.person("checker")
    for blind in blinds:
        factories.make(blind, maker=maker, checker=checker, until=CHECKING)
        factories.tell(blind, PACKING, route.START, by=maker)
        factories.enter_steps(blind, PACKING, by=maker)
    at_once(*[lambda blind=blind: factories.tell(blind, PACKING, route.FINISH, by=maker) for blind in blinds])
    assert factories.order_state(blinds[0]) == "ready"


def test_this_ran_on_a_database_that_threads_share():
    assert connection.settings_dict["NAME"] != ":memory:"


def test_two_desks_at_once_take_two_numbers():
    factories.order()
    desks = [factories.person("sales") for _ in range(4)]
    given = {"at": factories.AT, "due_on": factories.DUE, "customer": factories.customer()}
    orders = at_once(*[lambda by=by: intake.open_order(by=by, **given) for by in desks])
    assert sorted(order.number for order in orders) == [2, 3, 4, 5]

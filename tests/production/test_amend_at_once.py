"""Two desks, and a desk and a tablet, at the same moment, on a real database with real connections."""

import pytest

from orders.models import Order
from production import amend, route
from production.models import Amendment, Stage, StationEvent
from production.route import CHECKING, PACKING, RAILING
from tests import factories
from tests.factories import AT, enter_steps, make, person, replayed, tell
from tests.production.amending import ask, ask_off, fresh, plan
from tests.production.at_once import at_once

pytestmark = pytest.mark.django_db(transaction=True)

ROUNDS = pytest.mark.parametrize("round_", range(3))


def told(call, *blinds, **given):
    """The call, whose refusal by the office's rules is its answer."""

    def answered():
        try:
            return call(*blinds, **given)
        except amend.Refused as refused:
            return refused

    return answered


def refusals(answers):
    return [each for each in answers if isinstance(each, Exception)]


def proved(blind):
    copied = {
        stage.station: route.StageState(stage.state, stage.attempt) for stage in Stage.objects.filter(blind=blind)
    }
    assert replayed(blind) == copied
    assert StationEvent.objects.of_blind(blind).count() == fresh(blind).version


@ROUNDS
def test_two_managers_decide_once(round_):
    (blind,) = factories.released()
    asked, managers = ask(blind, width_mm=1700), [person("manager"), person("manager")]
    seen = plan(asked).mark
    accepts = [told(amend.accept, amendment=asked, seen=seen, by=by, at=AT) for by in managers]
    answers = at_once(*accepts, told(amend.refuse, amendment=asked, reason="No cloth", by=managers[0], at=AT))
    assert len(refusals(answers)) == 2
    assert StationEvent.objects.of_blind(blind).filter(kind__in=(route.AMEND, route.KEEP)).count() == 1
    proved(blind)


@ROUNDS
def test_two_desks_ask_for_one_blind_once(round_):
    (blind,) = factories.released()
    one, other = person("sales"), person("sales")
    wider = [told(ask, blind, by=by, width_mm=1700) for by in (one, other)]
    answers = at_once(*wider, told(ask_off, blind, by=other))
    asked = Amendment.objects.open().count()
    assert (asked, len(refusals(answers))) == (1, 2)
    assert StationEvent.objects.of_blind(blind).filter(kind=route.ASK).count() == 1


@ROUNDS
def test_a_rail_that_is_finished_while_its_change_is_accepted_is_changed_whole_or_not_at_all(round_):
    (blind,) = factories.released()
    maker = person("maker")
    tell(blind, RAILING, route.START, by=maker)
    enter_steps(blind, RAILING, by=maker)
    asked = ask(blind, width_mm=1700)
    accept = told(amend.accept, amendment=asked, seen=plan(asked).mark, by=person("manager"), at=AT)
    at_once(accept, lambda: tell(blind, RAILING, route.FINISH, by=maker))
    proved(blind)
    now, railing = fresh(blind), Stage.objects.get(blind=blind, station=RAILING)
    changed = now.issue == 2
    assert (now.components["rail_cut_mm"], railing.state) == (
        (1684, route.SENT_BACK) if changed else (1814, route.DONE)
    )
    assert Amendment.objects.get().is_open is not changed


@ROUNDS
def test_an_order_is_ready_whichever_comes_last_the_packing_or_the_taking_off(round_):
    one, two = factories.released(lines=[{"quantity": 2}])
    maker = person("maker")
    make(one, maker=maker, checker=person("checker"), until=CHECKING)
    tell(one, PACKING, route.START, by=maker)
    enter_steps(one, PACKING, by=maker)
    asked = ask_off(two)
    accept = told(amend.accept, amendment=asked, seen=plan(asked).mark, by=person("manager"), at=AT)
    answers = at_once(accept, lambda: tell(one, PACKING, route.FINISH, by=maker))
    assert refusals(answers) == []
    assert Order.objects.get().state == Order.READY
    proved(one)
    proved(two)

"""After an accepted change papers and forms with the figures of before are refused, with who changed the blind."""

import uuid

import pytest

from production import record, remake, route
from production.models import Stage
from production.route import RAILING
from tests import factories
from tests.factories import AT, person, tell, work
from tests.production.amending import accept, ask, change, fresh

pytestmark = pytest.mark.django_db


def test_old_papers_are_refused_with_who_changed_the_blind_and_when():
    (blind,) = factories.released()
    asked = ask(blind, width_mm=1700)
    accept(asked, by=person("manager", first_name="Ruben", last_name="Falk"))
    now = fresh(blind)
    assert now.label_code != blind.label_code
    said = remake.label_refused(blind=now, remake=0)
    assert "is of 0001-1 before it was changed on Wed 4 Mar, 09:00 by Ruben Falk" in said
    assert "Put that paper aside" in said
    assert remake.label_refused(blind=now, remake=1) == ""


def test_a_rail_scrapped_after_a_change_is_told_from_the_change(maker):
    (blind,) = factories.released()
    change(blind, width_mm=1700)
    work(fresh(blind), RAILING, by=maker)
    scrapped = [{"part": "rail", "count": 1}]
    tell(blind, RAILING, route.SEND_BACK, by=maker, back_to=RAILING, fault="other", scrapped=scrapped)
    now = fresh(blind)
    assert now.remake == 2
    assert "was scrapped" in remake.label_refused(blind=now, remake=1)
    assert "was changed" in remake.label_refused(blind=now, remake=0)


def test_a_change_is_called_no_remake_and_its_blind_is_not_said_to_be_sent_back(maker):
    (blind,) = factories.released()
    work(blind, RAILING, by=maker)
    change(blind, width_mm=1700)
    assert "remake" not in remake.label_refused(blind=fresh(blind), remake=0)
    stage = Stage.objects.get(blind=blind, station=RAILING)
    assert (stage.state, stage.get_state_display()) == (route.SENT_BACK, "To do again")


def test_what_was_entered_by_the_old_figures_is_refused_with_the_reason(maker):
    (blind,) = factories.released()
    tell(blind, RAILING, route.START, by=maker)
    change(blind, width_mm=1700)
    given = {"code": blind.code, "station": RAILING, "by": maker, "at": AT}
    with pytest.raises(record.Refused, match="was changed by .*, and what you entered is for the figures of before"):
        record.record(event_id=uuid.uuid4(), kind=route.STEP, data={"key": "tubes", "value": True}, issue=1, **given)
    with pytest.raises(record.Refused, match="Stop, load its sheet anew, and go by the new figures"):
        record.record(event_id=uuid.uuid4(), kind=route.FINISH, issue=1, **given)
    assert record.record(event_id=uuid.uuid4(), kind=route.START, issue=2, **given).event.attempt == 2


def test_a_form_with_the_issue_of_another_blind_is_refused_with_the_next_step(maker):
    (blind,) = factories.released()
    given = {"code": blind.code, "station": RAILING, "kind": route.START, "by": maker, "at": AT}
    with pytest.raises(record.Refused, match="This page isn't of blind 0001-1 as it is made now. Reload the page"):
        record.record(event_id=uuid.uuid4(), issue=7, **given)


def test_an_event_that_was_recorded_before_the_change_is_answered_again(maker):
    (blind,) = factories.released()
    given = {"event_id": uuid.uuid4(), "code": blind.code, "station": RAILING, "kind": route.START}
    record.record(**given, by=maker, at=AT, issue=1)
    change(blind, width_mm=1700)
    assert record.record(**given, by=maker, at=AT, issue=1).again

"""A change after the release: asked for by sales, accepted or refused by the workshop, both versions kept."""

import datetime as dt
import uuid

import pytest

from orders import calendar, intake
from orders.models import Order, OrderLine, Person
from production import amend, bench, record, remake, route
from production.models import Amendment, Blind, Stage, StationEvent
from production.route import CHECKING, PACKING, RAILING, STRINGING, VANES
from tests import factories
from tests.factories import AT, make, person, replayed, tell, work
from tests.production.amending import accept, ask, ask_off, change, fresh, plan, state_of

pytestmark = pytest.mark.django_db


def refused(said):
    return pytest.raises(amend.Refused, match=said)


def states(blind):
    return dict(Stage.objects.filter(blind=blind).values_list("station", "state"))


def last(blind):
    return StationEvent.objects.of_blind(blind).last()


def proved(blind):
    """The copy of the stages is what the log adds up to."""
    copied = {
        stage.station: route.StageState(stage.state, stage.attempt) for stage in Stage.objects.filter(blind=blind)
    }
    assert replayed(blind) == copied
    events = StationEvent.objects.of_blind(blind)
    assert [event.sequence for event in events] == list(range(1, fresh(blind).version + 1))


def test_what_is_asked_for_changes_nothing_but_is_in_the_blinds_log_at_once():
    (blind,) = factories.released()
    nora = person("sales", name="nora")
    asked = ask(blind, by=nora, because="Mrs Marlow measured again", width_mm=1700)
    now = fresh(blind)
    assert (now.frozen, now.issue, now.version) == (blind.frozen, 1, 2)
    assert (last(blind).kind, last(blind).person, last(blind).data) == (
        route.ASK,
        nora,
        {"amendment": asked.pk, "because": "Mrs Marlow measured again"},
    )
    proved(blind)


def test_a_blind_that_nobody_has_begun_is_frozen_anew():
    (blind,) = factories.released()
    change(blind, width_mm=1700, hand="right")
    now = fresh(blind)
    assert (now.spec["width_mm"], now.spec["hand"], now.components["rail_cut_mm"]) == (1700, "right", 1684)
    assert (now.issue, now.remake) == (2, 1)
    assert states(blind) == states_of_released()
    assert last(blind).data["scrapped"] == last(blind).data["again"] == []
    proved(blind)


def states_of_released():
    return {key: stage.state for key, stage in route.released().items()}


def test_both_versions_stand_in_the_log():
    (blind,) = factories.released()
    before = fresh(blind).frozen
    change(blind, width_mm=1700)
    change(blind, drop_mm=1400)
    first, second = StationEvent.objects.of_blind(blind).filter(kind=route.AMEND)
    assert first.data["before"] == before
    assert first.data["after"] == second.data["before"]
    assert second.data["after"] == fresh(blind).frozen


def test_the_line_follows_the_blinds_that_are_changed():
    (blind,) = factories.released()
    change(blind, width_mm=1700)
    assert (fresh(blind).line_id, fresh(blind).line.width_mm) == (blind.line_id, 1700)


def test_one_of_three_blinds_is_split_off_its_line():
    one, two, three = factories.released(lines=[{"quantity": 3}])
    change(two, width_mm=1700)
    kept, split = OrderLine.objects.order_by("position")
    assert ((kept.quantity, kept.width_mm), (split.quantity, split.width_mm)) == ((2, 1830), (1, 1700))
    assert [fresh(blind).line_id for blind in (one, two, three)] == [kept.pk, split.pk, kept.pk]


def test_what_is_begun_goes_back_to_where_it_no_longer_fits_and_says_what_is_scrapped(maker):
    (blind,) = factories.released()
    work(blind, RAILING, by=maker)
    tell(blind, VANES, route.START, by=maker)
    asked = ask(blind, width_mm=1700)
    (found,) = plan(asked).blinds
    assert "1 × rail" in found.made_words
    assert found.scrapped_words == "1 × rail, 1 × tilt rod"
    accept(asked)
    assert states(blind) == {
        RAILING: route.SENT_BACK,
        VANES: route.SENT_BACK,
        STRINGING: route.NOT_YET,
        CHECKING: route.NOT_YET,
        PACKING: route.NOT_YET,
    }
    assert last(blind).data["scrapped"] == [{"part": "rail", "count": 1}, {"part": "tilt_rod", "count": 1}]
    proved(blind)


def test_another_fabric_leaves_the_rail_as_it_is(maker):
    (blind,) = factories.released(lines=[{"operation": "wand"}])
    for station in (RAILING, VANES):
        work(blind, station, by=maker)
    change(blind, fabric=factories.fabric(colour="slate", code="linden-slate"))
    assert states(blind)[RAILING] == route.DONE
    assert states(blind)[VANES] == route.SENT_BACK
    assert last(blind).data["scrapped"] == [{"part": "vanes", "count": 24}]


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


def test_every_safety_confirmation_of_a_looped_blind_is_asked_anew(maker, checker):
    (blind,) = factories.released()
    make(blind, maker=maker, checker=checker, until=CHECKING)
    change(blind, fixing="face")
    assert states(blind) == {
        RAILING: route.DONE,
        VANES: route.DONE,
        STRINGING: route.SENT_BACK,
        CHECKING: route.NOT_YET,
        PACKING: route.NOT_YET,
    }
    tell(blind, STRINGING, route.START, by=maker)
    open_steps = [found.step.key for found in bench.read(blind=fresh(blind), station=STRINGING).steps if found.problem]
    assert {"device", "tag_1", "tag_2", "front_warning"} <= set(open_steps)


def test_an_accepted_change_asks_for_another_look_at_the_promise(maker):
    (blind,) = factories.released()
    work(blind, RAILING, by=maker)
    change(blind, width_mm=1700)
    order = Order.objects.get()
    assert order.promise_doubted_at == AT
    assert order.promise_doubt == f"A change of {blind.number} was accepted, again at railing"


def test_a_blind_keeps_the_revision_that_it_was_released_with(maker):
    (blind,) = factories.released()
    system = factories.system()
    newer = {**system.revisions.get().constants, "end_cover_mm": 4}
    system.revisions.update(state="retired", retired_at=AT)
    system.revisions.create(number=2, state="published", published_at=AT, constants=newer)
    change(blind, hand="right")
    assert fresh(blind).revision.number == 1
    assert fresh(blind).components["rail_cut_mm"] == blind.components["rail_cut_mm"]


def test_a_change_is_refused_with_the_reason_and_the_blind_goes_on_as_it_is():
    (blind,) = factories.released()
    asked = ask(blind, width_mm=1700)
    with refused("Say why it can't be done"):
        amend.refuse(amendment=asked, reason=" ", by=person("manager"), at=AT)
    amend.refuse(amendment=asked, reason="The rail is cut and painted", by=person("manager"), at=AT)
    assert state_of(asked) == Amendment.REFUSED
    assert last(blind).kind == route.KEEP
    assert last(blind).data["because"] == "The rail is cut and painted"
    assert fresh(blind).frozen == blind.frozen
    proved(blind)


def test_what_sales_take_back_is_open_no_more():
    (blind,) = factories.released()
    asked = ask(blind, width_mm=1700)
    amend.withdraw(amendment=asked, by=person("sales"), at=AT)
    assert state_of(asked) == Amendment.WITHDRAWN
    with refused("is taken back already"):
        accept(asked)


def test_two_desks_decide_once():
    (blind,) = factories.released()
    asked = ask(blind, width_mm=1700)
    seen = plan(asked).mark
    amend.refuse(amendment=asked, reason="No cloth", by=person("manager", first_name="Ruben"), at=AT)
    with refused("Change of a line of Order 0001 is refused already, by Ruben"):
        accept(asked, seen=seen)
    assert fresh(blind).issue == 1


def test_two_desks_ask_once():
    (blind,) = factories.released()
    ask(blind, by=person("sales", first_name="Nora"), width_mm=1700)
    with refused("A change of 0001-1 is asked for already, by Nora: The customer rang"):
        ask(blind, width_mm=1600)
    with refused("is asked for already"):
        ask_off(blind)


def test_a_decision_is_looked_at_again_where_the_workshop_went_on_meanwhile(maker):
    (blind,) = factories.released()
    asked = ask(blind, width_mm=1700)
    seen = plan(asked).mark
    work(blind, RAILING, by=maker)
    with refused("it comes to something else than was shown"):
        accept(asked, seen=seen)
    assert (state_of(asked), fresh(blind).issue) == (Amendment.ASKED, 1)
    accept(asked)
    assert fresh(blind).issue == 2


def test_a_tablet_that_writes_while_a_change_is_accepted_is_looked_at_again(maker, monkeypatch):
    """The blind moves on between the reading and the writing: the whole decision is made anew, on what is there."""
    (blind,) = factories.released()
    asked = ask(blind, room="Study")
    write, crossings = amend.log.write, iter([True])

    def crossed(found, *given, **named):
        if next(crossings, False):
            Blind.objects.filter(pk=found.pk).update(version=found.version + 1)
        return write(found, *given, **named)

    monkeypatch.setattr(amend.log, "write", crossed)
    accept(asked)
    assert fresh(blind).room == "Study"
    assert next(crossings, None) is None


def test_a_packed_blind_is_changed_no_more(maker, checker):
    one, two = factories.released(lines=[{"quantity": 2}])
    asked = ask(one, two, width_mm=1700)
    make(one, maker=maker, checker=checker)
    with refused("0001-1 is packed, and a packed blind isn't changed. Enter a new order for it"):
        accept(asked)
    amend.refuse(amendment=asked, reason="The first is packed", by=person("manager"), at=AT)
    with refused("0001-1 is packed or was taken off"):
        ask(one, width_mm=1700)
    change(two, width_mm=1700)
    proved(one)


def test_what_would_change_nothing_or_cannot_be_made_is_not_asked_for():
    (blind,) = factories.released()
    with refused("Nothing would change"):
        ask(blind)
    with refused("Say why"):
        ask(blind, because=" ", width_mm=1700)
    with refused("."):
        ask(blind, width_mm=150)
    assert not Amendment.objects.exists()


@pytest.mark.parametrize("asks", [ask, ask_off])
def test_only_an_order_at_work_is_changed_so(asks, maker, checker):
    (blind,) = factories.released()
    make(blind, maker=maker, checker=checker)
    with refused("Order 0001 is ready. Enter a new order for the change"):
        asks(blind)


def test_another_line_is_released_beside_the_others():
    (blind,) = factories.released()
    asked = amend.ask_line(
        order=blind.order, line=factories.line(quantity=2, room="Hall"), because="Two more", by=person("sales"), at=AT
    )
    assert Blind.objects.count() == 1
    accept(asked)
    added = Blind.objects.order_by("serial")[1:]
    assert [(each.number, each.room, each.line.position) for each in added] == [
        ("0001-2", "Hall", 2),
        ("0001-3", "Hall", 2),
    ]
    assert "0001-2, 0001-3" in Order.objects.get().promise_doubt


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


def test_another_day_and_note_are_accepted_too_and_stay_on_record():
    (blind,) = factories.released()
    later = blind.order.due_on + dt.timedelta(days=7)
    asked = amend.ask_head(
        order=blind.order, due_on=later, note="Ring first", because="Away", by=person("sales", name="nora"), at=AT
    )
    accept(asked, by=person("manager", name="ruben"))
    order = Order.objects.get()
    assert (order.due_on, order.note, order.promise_doubted_at) == (later, "Ring first", None)
    look = order.promise_looks.get()
    assert (look.by.username, look.doubt) == ("ruben", "Asked for by nora: Away")


def head(order, *, due_on=None, note=None):
    wanted = {"due_on": due_on or order.due_on, "note": order.note if note is None else note}
    return amend.ask_head(order=order, **wanted, because="They rang", by=person("sales"), at=AT)


def test_a_change_of_the_note_leaves_a_day_that_was_moved_meanwhile():
    order = factories.released()[0].order
    later = order.due_on + dt.timedelta(days=7)
    day, note = head(order, due_on=later), head(order, note="Ring first")
    accept(day)
    accept(note)
    order = Order.objects.get()
    assert (order.due_on, order.note) == (later, "Ring first")
    assert order.promise_looks.count() == 1


def test_a_day_that_nobody_can_promise_is_neither_asked_for_nor_accepted():
    order = factories.released()[0].order
    with refused("Sunday 22 March 2026 is closed: no work on Sundays. The next working day is Monday 23 March 2026"):
        head(order, due_on=dt.date(2026, 3, 22))
    asked = head(order, due_on=dt.date(2026, 3, 23))
    with refused("Monday 23 March 2026 has gone"):
        accept(asked, at=dt.datetime(2026, 3, 24, 9, tzinfo=dt.UTC))
    calendar.close(first_day=dt.date(2026, 3, 23), last_day=dt.date(2026, 3, 23), reason="Stocktaking")
    with refused("is closed: Stocktaking"):
        accept(asked)
    assert (state_of(asked), Order.objects.get().due_on) == (Amendment.ASKED, factories.DUE)


def test_a_decision_is_looked_at_again_where_figures_would_be_others_by_now():
    order = factories.released()[0].order
    asked = amend.ask_line(order=order, line=factories.line(), because="One more", by=person("sales"), at=AT)
    seen, system = plan(asked).mark, factories.system()
    newer = {**system.revisions.get().constants, "end_cover_mm": 4}
    system.revisions.update(state="retired", retired_at=AT)
    system.revisions.create(number=2, state="published", published_at=AT, constants=newer)
    with refused("it comes to something else than was shown"):
        accept(asked, seen=seen)
    accept(asked)


def test_an_order_that_is_not_released_is_changed_directly():
    order = factories.order(lines=[{}])
    with refused("Order 0001 is draft. Change it directly"):
        amend.ask_line(order=order, line=factories.line(), because="More", by=person("sales"), at=AT)
    intake.confirm(order=order, by=order.entered_by, at=AT)
    with refused("is confirmed. Change it directly"):
        amend.ask_head(order=order, due_on=order.due_on, note="x", because="y", by=person("sales"), at=AT)

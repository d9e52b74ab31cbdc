"""A change after the release: asked for by sales, and decided once by the workshop, on what is there by then."""

import pytest

from orders import intake
from production import amend, route
from production.models import Amendment, Blind
from production.route import RAILING
from tests import factories
from tests.factories import AT, make, person, work
from tests.production.amending import accept, ask, ask_off, change, fresh, last, plan, proved, refused, state_of

pytestmark = pytest.mark.django_db


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

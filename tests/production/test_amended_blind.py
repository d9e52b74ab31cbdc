"""What an accepted change makes of a blind: frozen anew, again at the stations where it no longer fits."""

import pytest

from orders.models import Order, OrderLine
from production import amend, bench, route
from production.models import Blind, StationEvent
from production.route import CHECKING, PACKING, RAILING, STRINGING, VANES
from tests import factories
from tests.factories import AT, make, person, tell, work
from tests.production.amending import accept, ask, change, fresh, last, plan, proved, states

pytestmark = pytest.mark.django_db


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

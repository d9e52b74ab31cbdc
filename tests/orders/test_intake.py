"""What may be written of orders and lines, and what is refused."""

import datetime as dt

import pytest

from orders import calendar, intake, promise
from orders.models import Fabric, Order, SystemRevision
from tests import factories
from tests.factories import AT

pytestmark = pytest.mark.django_db


def refused(problem):
    return pytest.raises(intake.Refused, match=problem)


def test_orders_are_numbered_in_a_row():
    assert [factories.order().number, factories.order().number] == [1, 2]


def test_lines_are_numbered_in_a_row_within_their_order():
    order = factories.order(lines=[{}, {"room": "Bedroom"}])
    assert [line.position for line in order.lines.in_order()] == [1, 2]


def test_a_line_taken_off_leaves_its_number_behind_it():
    order = factories.order(lines=[{}, {}, {}])
    intake.remove_line(line=order.lines.in_order()[1])
    intake.save_line(order=order, line=factories.line())
    assert [line.position for line in order.lines.in_order()] == [1, 3, 4]


def test_a_line_that_cannot_be_made_is_refused_with_every_reason_at_once():
    order = factories.order()
    wide_and_short = factories.line(width_mm=9000, drop_mm=100)
    with refused("finished width is 8990 mm") as refusal:
        intake.save_line(order=order, line=wide_and_short)
    assert len(refusal.value.problems) == 2
    assert not order.lines.exists()


def test_fabric_slit_to_another_width_is_refused():
    line = factories.line(vane_width_mm=127, fabric=factories.fabric(89))
    with refused("slit to 89 mm and the vanes are 127 mm"):
        intake.save_line(order=factories.order(), line=line)


def test_a_system_without_a_published_revision_can_be_computed_by_nobody():
    line = factories.line()
    SystemRevision.objects.update(state="draft")
    with refused("no published revision. Ask a manager"):
        intake.save_line(order=factories.order(), line=line)


def test_an_order_without_lines_is_not_confirmed():
    with refused("has no lines. Add a line first"):
        intake.confirm(order=factories.order(), by=factories.person(), at=AT)


def test_a_released_order_takes_no_more_changes():
    blind = factories.released()[0]
    order = Order.objects.get(pk=blind.order_id)
    with refused("its blinds are frozen. Ask the workshop for the change"):
        intake.save_line(order=order, line=factories.line())
    with refused("its blinds are frozen"):
        intake.remove_line(line=order.lines.get())
    with refused("its blinds are frozen"):
        intake.change_order(order=order, reference="late thought")


@pytest.mark.parametrize(
    ("move", "said"),
    [
        (intake.mark_collected, "is draft, so it can't become collected. Confirm it first"),
        (intake.mark_delivered, "is draft, so it can't become delivered. Confirm it first"),
        (intake.mark_released, "is draft, so it can't become released. Confirm it first"),
    ],
)
def test_an_order_goes_its_way_step_by_step(move, said):
    with refused(said):
        move(order=factories.order(lines=[{}]), by=factories.person(), at=AT)


def test_an_order_is_cancelled_before_its_release_and_not_after():
    cancelled = intake.cancel(order=factories.order(), by=factories.person(), at=AT)
    assert cancelled.state == Order.CANCELLED
    released = Order.objects.get(pk=factories.released()[0].order_id)
    with refused("is released, so it can't become cancelled"):
        intake.cancel(order=released, by=released.entered_by, at=AT)


def test_two_desks_that_confirm_at_once_do_it_once():
    order = factories.order(lines=[{}])
    same_order_elsewhere = Order.objects.get(pk=order.pk)
    intake.confirm(order=order, by=order.entered_by, at=AT)
    with refused("is confirmed, so it can't become confirmed"):
        intake.confirm(order=same_order_elsewhere, by=same_order_elsewhere.entered_by, at=AT)


def test_withdrawn_fabric_stays_with_the_line_that_has_it_and_is_offered_to_no_other():
    kept = factories.fabric(89)
    order = factories.order(lines=[{"fabric": kept}])
    kept.offered = False
    kept.save()
    assert kept in Fabric.objects.for_line(order.lines.get())
    assert kept not in Fabric.objects.for_line(factories.line(fabric=factories.fabric(127)))


@pytest.mark.parametrize(
    ("today", "promised"),
    [
        (dt.date(2026, 3, 4), dt.date(2026, 3, 18)),  # a Wednesday: two weeks on
        (dt.date(2026, 3, 6), dt.date(2026, 3, 20)),  # a Friday
        (dt.date(2026, 3, 7), dt.date(2026, 3, 20)),  # a Saturday counts from the Monday
    ],
)
def test_the_usual_promise_is_ten_working_days(today, promised):
    assert promise.usual_day(today=today, calendar=calendar.read()) == promised

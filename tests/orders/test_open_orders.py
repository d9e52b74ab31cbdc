"""Several orders opened at once with their lines: all or none, and as quickly for many lines as for few."""

from decimal import Decimal

import pytest
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext

from orders import intake
from orders.models import Order, OrderLine, OrderStep, RoomName
from tests import factories

pytestmark = pytest.mark.django_db


def opened(*heads):
    by = factories.person("sales")
    fields = {"customer": factories.customer(), "due_on": factories.DUE}
    made = [
        ({**fields, "reference": reference}, [factories.line(**line) for line in lines]) for reference, lines in heads
    ]
    return intake.open_orders(by=by, at=factories.AT, heads=made)


def test_orders_take_the_next_numbers_and_their_lines_stand_in_the_order_given():
    factories.order()
    first, second = opened(("Flat 1", [{"room": "Kitchen"}, {"room": "Hall"}]), ("Flat 2", [{"room": "Study"}]))
    assert (first.number, second.number) == (2, 3)
    assert list(first.lines.in_order().values_list("position", "room")) == [(1, "Kitchen"), (2, "Hall")]
    assert list(second.lines.in_order().values_list("position", "room")) == [(1, "Study")]
    assert OrderStep.objects.filter(order=second, state=Order.DRAFT).count() == 1


def test_one_line_that_cannot_be_made_leaves_none_of_the_orders():
    with pytest.raises(intake.Refused) as refused:
        opened(("Flat 1", [{}]), ("Flat 2", [{}, {"width_mm": 9000}]))
    assert "Order 0002 line 2: The finished width is 8990 mm, wider than 5800 mm" in refused.value.problems[0]
    assert not Order.objects.exists()


def test_thirty_lines_take_as_many_queries_as_one():
    by, line = factories.person("sales"), factories.line()
    fields = {"customer": factories.customer(), "due_on": factories.DUE}
    factories.order(by=by, lines=[{}])  # a room's name is noted when it is first heard
    counts = []
    for many in (1, 30):
        lines = [factories.line(system=line.system, fabric=line.fabric) for _ in range(many)]
        with CaptureQueriesContext(connection) as queries:
            intake.open_orders(by=by, at=factories.AT, heads=[(fields, lines)])
        counts.append(len(queries))
    assert counts[0] == counts[1]


def test_lines_that_are_inserted_together_are_the_same_as_those_created_one_by_one():
    order, by = factories.order(), factories.person("sales")
    fields = {"customer": order.customer, "due_on": factories.DUE}
    given = [
        {"room": "Küche", "width_mm": Decimal("1830.5"), "recess_depth_mm": Decimal("95")},
        {"operation": "wand", "draw": "one_way", "room": "100% ‘%s’", "concerns": []},
        {"special_instruction": "Mind\nthe step", "concerns": ["railing", "vanes"], "control_drop_mm": 900},
        {},
    ]
    for position, each in enumerate(given, start=1):
        OrderLine.objects.create(**kept(factories.line(**each)), order=order, position=position)
    (made,) = intake.open_orders(by=by, at=factories.AT, heads=[(fields, [factories.line(**each) for each in given])])
    assert rows_of(made) == rows_of(order)
    assert RoomName.objects.filter(sought=made.lines.get(position=1).sought).exists()


def test_a_line_that_the_database_refuses_leaves_none_of_the_orders():
    by, line = factories.person("sales"), factories.line(quantity=100)
    fields = {"customer": factories.customer(), "due_on": factories.DUE}
    with pytest.raises(IntegrityError, match="line_quantity_1_to_99"), transaction.atomic():
        intake.open_orders(by=by, at=factories.AT, heads=[(fields, [factories.line(), line])])
    assert not Order.objects.exists()


def kept(line):
    names = [each.name for each in OrderLine._meta.concrete_fields if each.name not in ("id", "order", "position")]
    return {name: getattr(line, name) for name in names}


def rows_of(order):
    return [{**row, "id": None, "order_id": None} for row in order.lines.order_by("position").values()]

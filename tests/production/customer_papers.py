"""Customers' papers, and orders that have come as far as each needs."""

from orders import intake
from orders.models import Order
from production import labels
from production.office_papers import paper_of
from tests import factories
from tests.factories import AT
from tests.production.long_texts import LONG_INSTRUCTION, LONG_ROOM

LINES = [
    {},
    {"size_basis": "exact", "quantity": 3, "hand": "right", "draw": "one_way", "vane_width_mm": 127, "room": LONG_ROOM},
    {"operation": "wand", "room": "Study"},
    {"draw": "reverse", "room": "Hall", "special_instruction": LONG_INSTRUCTION},
    {"operation": "wand", "draw": "one_way", "hand": "right", "width_mm": "700.5", "drop_mm": "2410.5"},
    {"loop_control": "breakaway", "installation_height_mm": 2400, "bottom": "chainless", "fixing": "face"},
]
STATE_OF = {"measurements": "draft", "confirmation": "confirmed", "collection": "ready", "delivery": "ready"}


def order_for(kind, *, lines=LINES, **fields):
    """An order that has come as far as this paper needs."""
    made = factories.order(lines=lines, **fields)
    if STATE_OF[kind] != "draft":
        intake.confirm(order=made, at=AT, by=made.entered_by)
    if STATE_OF[kind] == "ready":
        factories.release(order=made, by=made.entered_by, at=AT)
        Order.objects.filter(pk=made.pk).update(state="ready")
    return Order.objects.get(pk=made.pk)


def printed(kind, *, replaces=None, **given):
    return labels.office_paper_pdf(asked=paper_of(order=order_for(kind, **given), kind=kind), replaces=replaces, at=AT)

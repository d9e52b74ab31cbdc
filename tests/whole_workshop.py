"""A workshop with something behind every address: an order at work, a draft, a change asked for, a file, a key."""

from django.db import transaction

from orders import api_keys, calendar, catalogue
from orders.importing import taking
from production import printing, route
from production.route import RAILING
from tests import factories
from tests.orders.made_files import separated
from tests.production import amending


def in_addresses(blind):
    """For each name in an address, a value that leads to something."""
    return {
        "number": blind.order.number,
        "position": 1,
        "code": blind.code,
        "pk": 1,
        "system": "demo-38",
        "revision": 1,
        "station": RAILING,
        "name": "span_mm",
        "key": "stiff",
        "kind": "confirmation",
    }


def names_in_addresses(by):
    """Values for the names in addresses: those of an order at work first, then of others. `by` has every role."""
    with transaction.atomic():
        calendar.hold()
    lines = [{"special_instruction": "Odd bracket", "concerns": [RAILING]}, {"quantity": 3}]
    blind, *others = factories.released(by=by, lines=lines)
    factories.tell(blind, RAILING, route.START, by=by)
    factories.tell(others[0], RAILING, route.START, by=by)
    factories.tell(others[0], RAILING, route.PAUSE, by=by, reason="Break")
    amending.change(others[1], by=by, width_mm=1700)
    amending.ask(others[2], by=by, hand="right")
    draft = factories.order(by=by, lines=[{}])
    catalogue.new_draft(system=factories.system(), by=by, at=factories.AT)
    at_work = in_addresses(blind) | {"pk": by.pk}
    file = taking.keep(customer=draft.customer, name="may.csv", content=separated(), by=by, at=factories.AT)
    given = {"every_customer": True, "customers": (), "by": by, "at": factories.AT}
    key, _secret = api_keys.make(name="web shop", scopes=["orders:read"], **given)
    at_labels = printing.begin(order=blind.order, kind="labels", many=4, by=by)
    keys = (blind.order.customer_id, blind.line.fabric_id, file.pk, key.pk, at_labels.pk)
    others = [{"number": draft.number}, {"revision": 2}, *({"pk": key} for key in keys)]
    return [at_work, *({**at_work, **other} for other in others)]

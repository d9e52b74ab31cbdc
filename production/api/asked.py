"""Answers what is asked of orders, blinds, changes, the catalogue and figures."""

from calc.components import components
from orders.lines import current_revisions
from orders.models import Order
from production import order_changes

from . import reading, telling
from .problems import Problem, error
from .words import Following, Listing


def orders(request, key):
    """A page of orders by number: what is entered meanwhile comes at the end, so that none is told twice or missed."""
    asked = reading.query_of(request, Listing)
    found = key.own(Order.objects.with_customer()).numbered_after(int(asked.since), state=asked.state)
    page = list(found[: asked.limit + 1])
    shown = page[: asked.limit]
    return {"orders": telling.orders_said(shown), "next": str(shown[-1].number) if len(page) > len(shown) else None}


def order(request, key, number):
    """One order with its lines, as it stands."""
    return telling.whole_order_said(_own_order(key, number))


def blinds(request, key, number):
    """Every blind of an order: how it stands at each station, and since when. There are none before its release."""
    return telling.blinds_said(_own_order(key, number))


def _own_order(key, number):
    found = key.own(Order.objects.with_customer()).filter(number=number).first()
    if found is None:
        shown = str(number) if number < 10**9 else "of that number"
        detail = f"There is no order {shown} that the key {key} may know of. Take the number from where it was posted."
        raise Problem("not-there", detail)
    return found


def changes(request, key):
    """The orders that have changed since the last look, the earliest change first, each once and as it stands now.

    Nothing that was committed before the question is ever left out of it and the ones after.
    """
    asked = reading.query_of(request, Following)
    since = int(asked.since)
    try:
        found = order_changes.after(since)
    except order_changes.Unknown as unknown:
        detail = f"since is {since}, and the last change is {unknown.last}. Ask again without since."
        raise Problem("lost-place", detail) from None
    own = found if key.every_customer else found.filter(order__customer__in=key.customers.all())
    page = list(own[: asked.limit + 1])
    shown = page[: asked.limit]
    orders = Order.objects.with_customer().in_bulk([each.order_id for each in shown])
    told = telling.orders_said([orders[each.order_id] for each in shown])
    return {
        "changes": [{"change": each.change, "order": order} for each, order in zip(shown, told, strict=True)],
        "next": str(shown[-1].change if shown else since),
        "more": len(page) > len(shown),
    }


def catalogue(request, key):
    """The systems and fabrics that can be ordered now, and every word that a line may say."""
    return telling.catalogue_said()


def figures(request, key):
    """Every part of one blind by the revisions in force, with its working and findings; nothing is written."""
    given = reading.json_of(request, decimals=float)
    if not isinstance(given, dict):
        wrong = error(detail="What was sent is no object. Send one with a key for each value.", code="model_type")
        raise Problem("invalid", wrong["detail"], errors=[wrong])
    systems = {revision.system.code: revision.as_system() for revision in current_revisions().values()}
    return components(given, systems=systems)

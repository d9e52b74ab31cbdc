"""What the office's search box answers: the one blind, order or customer that is meant, or where each order is."""

import hashlib
from dataclasses import dataclass

from orders import finding, search
from orders.models import Customer, Order

from . import codes, remake, where
from .models import Blind

PAGE_SIZE = 30
MOST_CUSTOMERS = 5


@dataclass(frozen=True, kw_only=True)
class Opened:
    """The one thing that is meant: a Blind, an Order or a Customer. `said` is what is odd about it; `others` whether
    other orders are called so too."""

    it: object
    said: str = ""
    others: bool = False


@dataclass(frozen=True, kw_only=True)
class Listed:
    """A page of the orders found, each with its Where; `misread` is why what looks like a label names no blind. Where
    older orders were not looked through, `only_newest` is of how many of the newest it speaks; else it is 0."""

    rows: tuple
    customers: tuple
    more: bool
    more_customers: bool
    only_newest: int
    misread: str


def opened(text):
    """The blind whose label or number `text` is, or the order; None for whatever else it is."""
    named = _named(text)
    blind = named and Blind.objects.with_order().numbered(order_number=named.order_number, serial=named.serial)
    if blind:
        return Opened(it=blind, said=remake.label_refused(blind=blind, remake=named.remake))
    number = named.order_number if named else search.order_number(text)
    order = Order.objects.numbered(number) if number else None
    if order is None:
        return None
    if named:
        return Opened(it=order, said=f"{order} has no blind {named.serial}. {_numbers_of_blinds(order)}")
    return Opened(it=order, others=finding.is_in_others(text, order))


def listed(text, *, page, at, every):
    """A page, from 1, of all that is found by `text`, the open orders first; of what a great many orders have, only the
    open and the newest unless `every` one is to be looked through."""
    number = search.order_number(text)
    first = (page - 1) * PAGE_SIZE
    keys, only_newest = finding.orders(text, first=first, end=first + PAGE_SIZE + 1, named=number, every=every)
    customers = tuple(Customer.objects.found_by(text).by_name()[: MOST_CUSTOMERS + 1])
    orders = list(Order.objects.with_keys(keys[:PAGE_SIZE]).best_first(number=number))
    plan = where.forecasts(at=at) if any(order.state in Order.OPEN for order in orders) else {}
    places = where.of_orders(orders, at=at, forecasts=plan)
    return Listed(
        rows=tuple((order, places[order.pk]) for order in orders),
        customers=customers[:MOST_CUSTOMERS],
        more=len(keys) > PAGE_SIZE,
        more_customers=len(customers) > MOST_CUSTOMERS,
        only_newest=only_newest,
        misread=_misread(text),
    )


def only(found, *, page):
    """The one order, or the one customer without orders, where that is all that was found; else None."""
    if page > 1 or found.only_newest or len(found.rows) > 1 or len(found.customers) > 1:
        return None
    orders = [order for order, _ in found.rows]
    customers = [each for each in found.customers if each not in [order.customer for order in orders]]
    hits = [*orders, *customers]
    return hits[0] if len(hits) == 1 else None


def told(text, found):
    """What the audit tells of a page of what was found: a mark of what was sought, never its words, and how much was
    seen."""
    mark = hashlib.sha256(text.casefold().encode()).hexdigest()[:12]
    counted = [(len(found.rows), "orders"), (len(found.customers), "customers")]
    said = " and ".join(f"{count} {what}" for count, what in counted)
    return mark, f": {said}{', and more' if found.more or found.more_customers or found.only_newest else ''}"


def _named(text):
    try:
        return codes.read_code(text)
    except codes.CodeError:
        return None


def _misread(text):
    """Why digits that look like a label's name no blind; nothing for any other text."""
    if any(each.isalpha() for each in text) or not any(each.isdecimal() for each in text):
        return ""
    try:
        named = codes.read_code(text)
    except codes.CodeError as wrong:
        return str(wrong)
    number = codes.human_number(order_number=named.order_number, serial=named.serial)
    return f"There is no blind {number}, and no order {named.order_number:04d}."


def _numbers_of_blinds(order):
    if order.editable:
        return "Its blinds get their numbers when it is released."
    return "Look at the numbers of its blinds below." if order.state != Order.CANCELLED else "It was cancelled."

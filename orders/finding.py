"""Which orders are found by what was typed, a page at a time, and as fast after years as in the first week.

What few orders hold is looked up by the endings of words. What a great many hold is held against the open and the
newest orders alone, one after the other; the older ones are looked through where somebody asks for it.
"""

from typing import NamedTuple

from django.db import connection

from orders import search
from orders.models import Order

FEW = 250
"""What up to so many orders hold is found in all of them; what more hold, in the open and so many of the newest."""


class Found(NamedTuple):
    """The primary keys of a page of orders. Where the page may go on with older ones that were not looked through,
    `only_newest` is how many closed ones were, at most; else it is 0."""

    keys: list[int]
    only_newest: int = 0


def orders(text, *, first, end, named=None, every=False):
    """The orders from place `first` to before `end`, counted from 0, of all with everything that was typed in number,
    reference, rooms or their customer: the order with the number `named`, then the open ones, then the others, the
    newest first in each. None where nothing was typed. Two queries at most. `every` order is looked through where that
    is asked for, in a time that grows with how many there are."""
    units = search.units(text)
    held = _held(units) if units else [[]]
    if not all(held):
        return Found([])
    rarest = min(range(len(units)), key=lambda place: len(held[place]))
    is_few = len(held[rarest]) <= FEW
    if is_few:
        others = [unit for place, unit in enumerate(units) if place != rarest]
        found = Order.objects.filter(pk__in=held[rarest]).holding(others)
    elif every:
        found = Order.objects.looked_up(units)
    else:
        found = Order.objects.open_or_newest(FEW).holding(units)
    keys = list(found.best_first(number=named).values_list("pk", flat=True)[first:end])
    return Found(keys, only_newest=0 if is_few or every or len(keys) == end - first else FEW)


def is_in_others(text, order):
    """Whether `text`, the number of `order` and no more, is in another order too. One query."""
    return any(_held(search.units(text), most=1, but=order.pk))


def _held(units, *, most=FEW, but=0):
    """The keys of the orders that hold each of `units`, some of them twice, never `but`; only their count, as a range,
    where there are more than `most`. One query."""
    parts, values = [], []
    for place, unit in enumerate(units):
        ways = [keys.query.sql_with_params() for keys in Order.objects.keys_holding(unit, most=most + 1)]
        every = " UNION ALL ".join(sql for sql, _ in ways)
        # Queries of our own; each value is a parameter.
        found = f"SELECT owner FROM ({every}) every WHERE owner <> %s LIMIT {most + 1}"  # noqa: S608
        counted = f"SELECT owner, COUNT(*) OVER () AS held, ROW_NUMBER() OVER () AS place FROM ({found}) found"  # noqa: S608
        parts.append(f"SELECT {place}, owner, held FROM ({counted}) counted WHERE held <= {most} OR place = 1")  # noqa: S608
        values += [*(value for _, own in ways for value in own), but]
    with connection.cursor() as cursor:
        cursor.execute(" UNION ALL ".join(parts), values)
        rows = cursor.fetchall()
    held = [[] for _ in units]
    for place, key, count in rows:
        if count > most:
            held[place] = range(count)
        else:
            held[place].append(key)
    return held

"""Which orders are found by what was typed, a page at a time, and as fast after years as in the first week.

What few orders hold is looked up by the endings of words. What a great many hold, the open and the newest orders are
held against one after the other; only where that doesn't fill the page, all orders that hold it are looked up.
"""

from collections import Counter

from django.db import connection
from django.db.models import F, Q, Subquery

from orders import search
from orders.models import Order

FEW = 300
"""So many orders that hold something are read at once."""
NEWEST = 2000
"""So many orders, and the open ones, are held against what many hold."""


def order_keys(text, *, first, end, named=None):
    """The primary keys of the orders from place `first` to before `end`, counted from 0, of all with everything that
    was typed in number, reference, rooms or their customer: the order with the number `named`, then the open ones,
    then the others, the newest first in each. None where nothing was typed. Four queries at most."""
    found, wanted = [], search.units(text)
    for orders in _parts(wanted, named) if wanted else ():
        found += orders.values_list("pk", flat=True)[: end - len(found)]
        if len(found) == end:
            break
    return found[first:]


def is_in_others(text, order):
    """Whether `text`, the number of `order` and no more, is in another order too. One query."""
    return bool(_looked_up(search.units(text), most=1, but=order.pk))


def _parts(units, named):
    """Querysets of the orders that hold all of `units`, one after the other."""
    is_ahead = Q(state__in=Order.OPEN) | Q(number=named) if named else Q(state__in=Order.OPEN)
    rows = _looked_up(units)
    held = Counter(place for place, _ in rows)
    by_few = [place for place in range(len(units)) if held[place] <= FEW]
    found = Order.objects.holding([units[place] for place in range(len(units)) if place not in by_few])
    if by_few:
        found = found.filter(pk__in=set.intersection(*({key for at, key in rows if at == place} for place in by_few)))
    yield found.filter(is_ahead).best_first(number=named)
    closed = found.exclude(is_ahead).newest_first()
    if by_few:
        yield closed
        return
    before = Subquery(Order.objects.newest_first().values("number")[:1]) - NEWEST
    yield closed.filter(number__gt=before)
    rest = Order.objects.looked_up(units).filter(number__lte=before).exclude(is_ahead)
    # By no index: PostgreSQL would walk along it, and hold each order against all that was looked up.
    yield rest.order_by((F("number") + 0).desc())


def _looked_up(units, *, most=None, but=0):
    """(place of the unit, key of an order that holds it) of each of `units`, up to `most`, or one more than few; never
    that with the key `but`. One query."""
    parts, values = [], []
    for place, unit in enumerate(units):
        ways = [keys.query.sql_with_params() for keys in Order.objects.keys_holding(unit)]
        every = " UNION ALL ".join(sql for sql, _ in ways)
        # Queries of our own; each value is a parameter.
        found = f"SELECT owner FROM ({every}) every WHERE owner <> %s LIMIT {most or FEW + 1}"  # noqa: S608
        parts.append(f"SELECT {place}, few.owner FROM ({found}) few")  # noqa: S608
        values += [*(value for _, own in ways for value in own), but]
    with connection.cursor() as cursor:
        cursor.execute(" UNION ALL ".join(parts), values)
        return cursor.fetchall()

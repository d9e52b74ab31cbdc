"""What a customer usually orders, by their own last orders: never size basis or hand, which are asked anew."""

from collections import Counter
from dataclasses import dataclass

from orders.models import Fabric, HardwareSystem, Order, OrderLine

LAST_ORDERS = 5
CHOICES = ("system", "draw", "vane_width_mm", "fabric", "operation", "loop_control", "chain", "fixing", "bottom")
# What most blinds are, for a customer's first order.
USUAL = {
    "vane_width_mm": 89,
    "draw": "one_way",
    "operation": "cord_chain",
    "loop_control": "tensioner",
    "chain": "plastic",
}


@dataclass(frozen=True, kw_only=True)
class Usual:
    """The choices that a new line starts with, and the customer's order that they are taken from, None for the first.

    `withdrawn` is the fabric of last time where it is no longer offered.
    """

    choices: dict
    order: Order | None = None
    withdrawn: Fabric | None = None


def usual_of(order: Order) -> Usual:
    """What most lines of the customer's last orders chose, all choices together; the newest where as many chose others.

    Two queries for a customer with orders.
    """
    last = Order.objects.of_customer(order.customer_id).exclude(pk=order.pk).exclude(state=Order.CANCELLED)
    last = list(last.filter(lines__isnull=False).distinct().newest_first()[:LAST_ORDERS])
    lines = list(
        OrderLine.objects.filter(order__in=last)
        .select_related("system", "fabric", "order")
        .order_by("-order__number", "-position")
    )
    if not lines:
        return Usual(choices={**USUAL, "system": HardwareSystem.objects.first_choice()})
    counted = Counter()
    for line in lines:
        counted[_combination(line)] += line.quantity
    # Of equals the first that was counted, the newest, comes first.
    chosen = next(line for line in lines if _combination(line) == counted.most_common(1)[0][0])
    choices = {name: getattr(chosen, name) for name in CHOICES}
    withdrawn = None if chosen.fabric.offered else choices.pop("fabric")
    return Usual(choices=choices, order=chosen.order, withdrawn=withdrawn)


def _combination(line):
    return tuple(getattr(line, name) for name in CHOICES)


ROOMS_LOOKED_AT, MOST_ROOMS = 400, 40


def rooms_for(order: Order) -> list[str]:
    """Names of rooms to suggest: the customer's own first, the newest of all after them."""
    lines = OrderLine.objects.exclude(room="").order_by("-pk").values_list("room", flat=True)
    own = lines.filter(order__customer=order.customer_id)[:ROOMS_LOOKED_AT]
    return list(dict.fromkeys([*own, *lines[:ROOMS_LOOKED_AT]]))[:MOST_ROOMS]

"""What a customer usually orders, by their own last orders: never size basis or hand, which are asked anew."""

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
    """The choices that a new line starts with, and an order of the customer's that has them, None for the first.

    `is_last`: it is the customer's last order. `withdrawn` is the fabric of then where it is no longer offered.
    """

    choices: dict
    order: Order | None = None
    is_last: bool = False
    withdrawn: Fabric | None = None


def usual_of(order: Order) -> Usual:
    """What most blinds of the customer's last orders chose, all choices together; of equals the newest.

    Three queries for a customer with orders.
    """
    last = Order.objects.of_customer(order.customer_id).exclude(pk=order.pk).exclude(state=Order.CANCELLED)
    last = list(last.filter(lines__isnull=False).distinct().newest_first()[:LAST_ORDERS])
    most = OrderLine.objects.most_chosen(CHOICES, orders=last)
    if not most:
        return Usual(choices={**USUAL, "system": HardwareSystem.objects.first_choice()})
    line = OrderLine.objects.in_orders(last).filter(**most).select_related("system", "fabric").first()
    choices = {name: getattr(line, name) for name in CHOICES}
    withdrawn = None if line.fabric.offered else choices.pop("fabric")
    return Usual(choices=choices, order=line.order, is_last=line.order == last[0], withdrawn=withdrawn)


ROOMS_LOOKED_AT, MOST_ROOMS = 400, 40


def rooms_for(order: Order) -> list[str]:
    """Names of rooms to suggest: the customer's own first, the newest of all after them."""
    lines = OrderLine.objects.exclude(room="").order_by("-pk").values_list("room", flat=True)
    own = lines.filter(order__customer=order.customer_id)[:ROOMS_LOOKED_AT]
    return list(dict.fromkeys([*own, *lines[:ROOMS_LOOKED_AT]]))[:MOST_ROOMS]

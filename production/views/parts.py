"""What the blinds of an order take off the shelf."""

from django.shortcuts import get_object_or_404, render

from materials.parts import total
from orders.models import Order
from orders.roles import CHECKER, MAKER, MANAGER, SALES, role_required
from production.models import Blind


@role_required(SALES, MAKER, CHECKER, MANAGER)
def order_parts(request, number):
    order = get_object_or_404(Order.objects.with_customer(), number=number)
    blinds = Blind.objects.of_order(order).not_taken_off()
    parts = total((blind.spec, blind.components) for blind in blinds)
    return render(request, "parts.html", {"order": order, "blinds": blinds, "parts": parts.items()})

"""Where each blind of a released order stands, at each station."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render

from orders.models import Order
from orders.roles import MANAGER, SALES, role_required
from production import route
from production.models import Blind


@role_required(SALES, MANAGER)
def order_at_work(request, number):
    """The part of the order's page that changes by itself; 204 where nothing has happened since it was last seen."""
    order = get_object_or_404(Order.objects.with_customer(), number=number)
    if not request.htmx:
        return render(request, "order_at_work.html", {"order": order})
    seen_head, _, seen_events = request.GET.get("seen", "").partition("-")
    answer = HttpResponse(status=204)
    if seen_head != head_mark(order):
        # The head of the page offers other steps now, or asks about the promise.
        answer["HX-Refresh"] = "true"
    elif seen_events != str(Blind.objects.of_order(order).events_in_all()):
        answer = render(request, "_order_at_work.html", at_work(order=order))
    return answer


def head_mark(order):
    """Differs whenever the head of the order's page would."""
    doubted_at = order.promise_doubted_at
    return f"{order.state}!{doubted_at.timestamp():.6f}" if doubted_at else order.state


def at_work(*, order):
    """The blinds of `order`, line by line, each with its stages in the order of work."""
    lines, events, rail_mm = [], 0, 0
    for blind in Blind.objects.of_order(order).with_order().with_stages():
        stages = {stage.station: stage for stage in blind.stages.all()}
        if not lines or lines[-1]["line_id"] != blind.line_id:
            lines.append({"line_id": blind.line_id, "position": len(lines) + 1, "first": blind, "blinds": []})
        lines[-1]["blinds"].append({"blind": blind, "stages": [stages[place.key] for place in route.STATIONS]})
        events += blind.version
        rail_mm += blind.components["rail_cut_mm"]
    return {
        "order": order,
        "lines": lines,
        "blinds": sum(len(line["blinds"]) for line in lines),
        "rail_m": rail_mm / 1000,
        "seen": f"{head_mark(order)}-{events}",
        "places": route.STATIONS,
    }

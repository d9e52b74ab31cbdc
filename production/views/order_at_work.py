"""Where each blind of a released order stands, at each station."""

import hashlib

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone

from orders.models import Order
from orders.roles import MANAGER, SALES, role_required
from production import amend_words, route, where
from production.models import Amendment, Blind


@role_required(SALES, MANAGER)
def order_at_work(request, number):
    """The part of the order's page that changes by itself; 204 where nothing has happened since it was last seen."""
    order = get_object_or_404(Order.objects.with_customer(), number=number)
    if not request.htmx:
        return render(request, "order_at_work.html", {"order": order})
    seen_head, _, seen_events = request.GET.get("seen", "").partition("-")
    answer = HttpResponse(status=204)
    if seen_head != head_mark(order):
        # The head of the page says or offers something else now, or asks about the promise.
        answer["HX-Refresh"] = "true"
    elif seen_events != _body_mark(Blind.objects.of_order(order).events_in_all(), _asked(order)):
        answer = render(request, "_order_at_work.html", at_work(order=order))
    return answer


def head_mark(order):
    """Differs whenever the head of the order's page would."""
    shown = (order.state, order.promise_doubted_at, order.due_on, order.rush, order.reference, order.note)
    return hashlib.blake2b(repr(shown).encode(), digest_size=8).hexdigest()


def _body_mark(events, asked):
    """Differs whenever what is said of the blinds, or of the changes asked for, would."""
    return f"{events}!{asked}"


def _asked(order):
    """How many changes are asked for that nobody has decided."""
    return Amendment.objects.of_order(order).open().count()


def at_work(*, order):
    """The blinds of `order`, line by line, each with its stages in the order of work."""
    lines, events, rail_mm, made, standing = {}, 0, 0, 0, []
    for blind in Blind.objects.of_order(order).with_order().with_stages().select_related("line"):
        stages = {stage.station: stage for stage in blind.stages.all()}
        taken_off = stages[route.PACKING].state == route.OFF
        line = lines.setdefault(
            blind.line_id, {"position": blind.line.position, "first": blind, "blinds": [], "made": 0}
        )
        shown = [stages[place.key] for place in route.STATIONS]
        line["blinds"].append({"blind": blind, "stages": shown, "taken_off": taken_off})
        events += blind.version
        standing.append(blind.stages.all())
        if not taken_off:
            rail_mm += blind.components["rail_cut_mm"]
            line["made"] += 1
            made += 1
    asked = _asked(order)
    return {
        "order": order,
        "where": where.of_order(order, where.standings_of(standing), at=timezone.now()),
        "lines": sorted(lines.values(), key=lambda line: line["position"]),
        "blinds": made,
        "rail_m": rail_mm / 1000,
        "asked": asked,
        "changes": amend_words.accepted_of(order),
        "seen": f"{head_mark(order)}-{_body_mark(events, asked)}",
        "places": route.STATIONS,
    }

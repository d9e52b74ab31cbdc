"""Promising a day from the plan, confirming an order with it, and changing one without breaking a promise."""

from functools import wraps

from django.contrib import messages
from django.contrib.messages.storage import default_storage
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from orders import intake
from orders.calendar import said
from orders.models import Order
from orders.roles import MANAGER, SALES, role_required
from orders.views import grid, lines, promise
from orders.views import order as order_head
from orders.views.order import find_order, order_page
from orders.views.promise import day_of
from production import order_plan, plan_words, promising

NOT_SENT = ("csrfmiddlewaretoken", "agreed", "move_to")


@role_required(SALES, MANAGER)
@require_POST
def order_promise_day(request, number):
    """Promise the day that was sent."""
    return promise_page(request, number, way="order-promise-day", confirm=False)


@role_required(SALES, MANAGER)
@require_POST
def order_confirm(request, number):
    """Confirm the order for the day that it bears, or for the day that was sent; confirmed before, it stays so."""
    found = find_order(number)
    if found.state == Order.CONFIRMED:
        messages.success(request, f"{found} is confirmed already; nothing was done twice.")
        return redirect(found)
    return promise_page(request, number, way="order-confirm", confirm=True)


def promise_page(request, number, *, way, confirm):
    """Do it where the plan keeps the day, or where somebody has read whom it makes late; else ask."""
    found = find_order(number)
    typed = request.POST.get("due_on", f"{found.due_on}" if confirm else "")
    promised = {"by": request.user, "at": timezone.now(), "agreed": request.POST.get("agreed", ""), "confirm": confirm}
    try:
        done = promising.promise(order=found, day=day_of(typed), **promised)
    except intake.Refused as refused:
        return order_page(request, find_order(number), problems=refused.problems, status=409)
    except promising.NotKept as not_kept:
        sent = [("due_on", f"{not_kept.outlook.day}")]
        return _ask(request, not_kept.outlook, way=reverse(way, args=[number]), sent=sent, confirm=confirm)
    day = said(done.due_on)
    if confirm:
        messages.success(request, f"{done} is confirmed. Release it when the workshop may start. Promised for {day}.")
    else:
        messages.success(request, f"{done} is promised for {day}.")
    return redirect(done)


def _ask(request, outlook, *, way, sent, confirm=False, changing=False):
    """Say whom it makes late, and ask; `sent` are the names and values to be sent again."""
    context = {"order": outlook.order, "outlook": outlook, "held_up": plan_words.held_up_of(outlook)}
    context |= {"way": way, "sent": sent, "confirm": confirm, "changing": changing}
    return render(request, "promise_day.html", context, status=409)


def unbroken(*roles):
    """For `roles`, a view that writes to an order: kept where it breaks no promise or somebody agrees, else asked."""

    def keeping(view):
        @role_required(*roles)
        @wraps(view)
        def kept(request, number, **path):
            if request.method != "POST":
                return view(request, number, **path)
            order, moved_to = find_order(number), request.POST.get("move_to", "")
            given = {"agreed": request.POST.get("agreed", ""), "by": request.user, "at": timezone.now()}
            try:
                with promising.unbroken(order=order, move_to=moved_to and day_of(moved_to), **given):
                    answer = view(request, number, **path)
                if moved_to and f"{find_order(number).due_on}" == moved_to:
                    messages.success(request, f"{order} is promised for {said(day_of(moved_to))}.")
                return answer
            except intake.Refused as refused:
                request._messages = default_storage(request)
                return order_page(request, find_order(number), problems=refused.problems, status=409)
            except promising.NotKept as not_kept:
                # What the view has said was done is not.
                request._messages = default_storage(request)
                return _ask(request, not_kept.outlook, way=request.get_full_path(), sent=_sent(request), changing=True)

        return kept

    return keeping


def _sent(request):
    """What was typed, to be sent again as it is."""
    return [(name, value) for name, values in request.POST.lists() for value in values if name not in NOT_SENT]


@role_required(SALES, MANAGER)
def order_earliest(request, number):
    """The part of the order's page that says what the workshop can keep."""
    order = get_object_or_404(Order, number=number)
    context = {"order": order, "planned": order_plan.read(order=order, at=timezone.now())}
    return render(request, "_earliest.html", context)


order_edit = unbroken(SALES, MANAGER)(order_head.order_edit)
order_promise = unbroken(SALES, MANAGER)(promise.order_promise)
order_lines = unbroken(SALES, MANAGER)(grid.lines)
line_new = unbroken(SALES, MANAGER)(lines.line_new)
line = unbroken(SALES, MANAGER)(lines.line)

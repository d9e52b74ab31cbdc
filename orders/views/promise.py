"""Looking again at an order's promised day, once a fault may cost it."""

import datetime as dt

from django.contrib import messages
from django.shortcuts import redirect
from django.utils import timezone

from orders import intake
from orders.roles import MANAGER, SALES, role_required
from orders.views.order import find_order, order_page


@role_required(SALES, MANAGER)
def order_promise(request, number):
    """Keep the promise, or promise the day that was typed; without either, to the order's page, which asks."""
    found = find_order(number)
    if request.method != "POST":
        return redirect(found)
    typed = request.POST.get("due_on", "")
    try:
        due_on = found.due_on if "keep" in request.POST else day_of(typed)
        looked = intake.look_at_promise(
            order=found, seen=moment_of(request.POST.get("seen", "")), due_on=due_on, by=request.user, at=timezone.now()
        )
    except intake.Refused as refused:
        return order_page(request, find_order(number), problems=refused.problems, promised=typed, status=409)
    kept = "stays promised" if looked.due_on == found.due_on else "is promised now"
    messages.success(request, f"{looked} {kept} for {looked.due_on:%A} {looked.due_on.day} {looked.due_on:%B}.")
    return redirect(looked)


def day_of(text):
    """The day in `text`, written 2026-03-04."""
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        raise intake.Refused([f"“{text[:20]}” is no day. Choose the day to promise, then press again."]) from None


def moment_of(text):
    """The moment that the page sent back, or None for what is none."""
    try:
        return dt.datetime.fromisoformat(text)
    except ValueError:
        return None

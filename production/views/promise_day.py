"""Promising a day from the plan, and confirming an order with it."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from orders import intake
from orders.calendar import said
from orders.models import Order
from orders.roles import MANAGER, SALES, role_required
from orders.views.order import find_order, order_page
from orders.views.promise import day_of
from production import order_plan, plan_words, promising


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
    promised = {"by": request.user, "at": timezone.now(), "seen": request.POST.get("seen", ""), "confirm": confirm}
    try:
        done = promising.promise(order=found, day=day_of(typed), **promised)
    except intake.Refused as refused:
        return order_page(request, find_order(number), problems=refused.problems, status=409)
    except promising.NotKept as not_kept:
        context = {"order": found, "outlook": not_kept.outlook, "confirm": confirm}
        context |= {"held_up": plan_words.held_up_of(not_kept.outlook), "way": reverse(way, args=[number])}
        return render(request, "promise_day.html", context, status=409)
    day = said(done.due_on)
    if confirm:
        messages.success(request, f"{done} is confirmed. Release it when the workshop may start. Promised for {day}.")
    else:
        messages.success(request, f"{done} is promised for {day}.")
    return redirect(done)


@role_required(SALES, MANAGER)
def order_earliest(request, number):
    """The part of the order's page that says what the workshop can keep."""
    order = get_object_or_404(Order, number=number)
    context = {"order": order, "planned": order_plan.read(order=order, at=timezone.now())}
    return render(request, "_earliest.html", context)

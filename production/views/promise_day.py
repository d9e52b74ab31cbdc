"""Promising a day from the plan, and confirming an order with it."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from orders import intake
from orders.models import Order
from orders.roles import MANAGER, SALES, role_required
from orders.views.order import find_order, order_page
from orders.views.promise import day_of
from production import order_plan, plan_words, promising


@role_required(SALES, MANAGER)
@require_POST
def order_promise_day(request, number):
    """Promise the day that was sent, where the plan keeps it or somebody has read whom it makes late; else ask."""
    found, confirm = find_order(number), "confirm" in request.POST
    typed = request.POST.get("due_on", "")
    try:
        promised = promising.promise(
            order=found,
            day=day_of(typed),
            by=request.user,
            at=timezone.now(),
            seen=request.POST.get("seen", ""),
            confirm=confirm,
        )
    except intake.Refused as refused:
        return order_page(request, find_order(number), problems=refused.problems, status=409)
    except promising.NotKept as not_kept:
        context = {"order": found, "outlook": not_kept.outlook, "confirm": confirm}
        context["held_up"] = plan_words.held_up_of(not_kept.outlook)
        return render(request, "promise_day.html", context, status=409)
    confirmed = " and confirmed. Release it when the workshop may start" if confirm else ""
    messages.success(request, f"{promised} is promised for {plan_words.said(promised.due_on)}{confirmed}.")
    return redirect(promised)


@role_required(SALES, MANAGER)
def order_earliest(request, number):
    """The part of the order's page that says what the workshop can keep."""
    order = get_object_or_404(Order, number=number)
    context = {"order": order, "planned": order_plan.read(order=order, at=timezone.now())}
    return render(request, "_earliest.html", context)

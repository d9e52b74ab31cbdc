"""Releasing an order to the workshop, with everything that stands in the way said at once."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from orders.lines import figured, totals
from orders.models import Order
from orders.roles import MANAGER, SALES, role_required
from production.release import ReleaseRefused
from production.release import release as release_blinds


@role_required(SALES, MANAGER)
def release(request, number):
    order = get_object_or_404(Order.objects.with_customer(), number=number)
    problems = []
    if request.method == "POST":
        try:
            blinds = release_blinds(order=order, by=request.user, at=timezone.now())
            waiting = "1 blind waits" if len(blinds) == 1 else f"{len(blinds)} blinds wait"
            messages.success(request, f"{order} is released: {waiting} at railing and at vanes.")
            return redirect(order)
        except ReleaseRefused as refused:
            problems = refused.problems
    if not order.editable:
        messages.info(request, f"{order} is {order.get_state_display().lower()} already; nothing was done twice.")
        return redirect(order)
    lines = figured(order=order)
    context = {"order": order, "lines": lines, "totals": totals(lines), "problems": problems}
    context["today"] = timezone.localdate()
    return render(request, "release.html", context, status=422 if problems else 200)

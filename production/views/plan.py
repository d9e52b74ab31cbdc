"""The days ahead: what each station still has free, and which orders the plan has late."""

import hashlib

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from orders.roles import MANAGER, SALES, role_required
from production import plan_words, planning, worktimes


@role_required(SALES, MANAGER)
def plan(request):
    found = planning.read(at=timezone.now())
    days, stations = list(plan_words.days_ahead(found)), list(plan_words.first_free(found))
    context = {"days": days, "stations": stations, "overload": plan_words.overload(found), **late_context(found)}
    return render(request, "plan.html", context)


@role_required(SALES, MANAGER)
def plan_late(request):
    """The part of a page that names the orders which the plan has late; 204 where it is as it was last seen."""
    context = late_context(planning.read(at=timezone.now()))
    if request.GET.get("seen") == context["late_seen"]:
        return HttpResponse(status=204)
    return render(request, "_late_by_plan.html", context)


def late_context(found):
    late = found.late
    return {"late_by_plan": late, "late_seen": hashlib.blake2b(repr(late).encode(), digest_size=8).hexdigest()}


@role_required(SALES, MANAGER)
def plan_minutes(request):
    """The minutes that each kind of blind takes at each station: begun with, learned, and which of them count."""
    table = planning.minutes_table(at=timezone.now())
    return render(request, "plan_minutes.html", {**plan_words.minutes_rows(table), "enough": worktimes.ENOUGH})

"""The working calendar: a month day by day, and what makes a day closed or worked."""

import datetime as dt

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from orders import calendar
from orders.calendar_forms import AddedDayForm, ClosureForm, WorkingWeekForm, month_of
from orders.models import AddedDay, Closure, Order, WorkingWeek
from orders.roles import MANAGER, SALES, role_required

A_DAY = dt.timedelta(days=1)
ADDED = "id_added_%s"
"""Both forms stand on one page, and both ask for a reason."""


@role_required(SALES, MANAGER)
def working_calendar(request):
    return month_page(request)


@role_required(MANAGER)
@require_POST
def calendar_close(request):
    form = ClosureForm(request.POST)
    if not form.is_valid():
        return month_page(request, closure=form, status=422)
    made = calendar.close(**form.cleaned_data)
    promised = Order.objects.promised_between(made.first_day, made.last_day).count()
    also = f" Orders promised for then: {promised}. Look at them." if promised else ""
    messages.success(request, f"{made}: closed {span(made.first_day, made.last_day)}.{also}")
    return to_month(made.first_day)


@role_required(MANAGER)
@require_POST
def calendar_open(request, pk):
    closure = get_object_or_404(Closure, pk=pk)
    calendar.open_again(closure=closure)
    messages.success(request, f"{closure}: no longer closed {span(closure.first_day, closure.last_day)}.")
    return to_month(closure.first_day)


@role_required(MANAGER)
@require_POST
def calendar_add_day(request):
    form = AddedDayForm(request.POST, auto_id=ADDED)
    if not form.is_valid():
        return month_page(request, added=form, status=422)
    made = calendar.add_day(**form.cleaned_data)
    messages.success(request, f"{made}: {span(made.day, made.day)} is worked.")
    return to_month(made.day)


@role_required(MANAGER)
@require_POST
def calendar_take_day_off(request, pk):
    added = get_object_or_404(AddedDay, pk=pk)
    calendar.take_day_off(added=added)
    messages.success(request, f"{added}: {span(added.day, added.day)} is no longer worked because of it.")
    return to_month(added.day)


@role_required(MANAGER)
def working_week(request):
    form = WorkingWeekForm(request.POST or None, instance=WorkingWeek.objects.now())
    if not form.is_valid():
        return render(request, "working_week.html", {"form": form}, status=422 if form.is_bound else 200)
    calendar.set_week(**form.cleaned_data)
    if form.part_is_open:
        messages.success(request, "The week is changed. Now choose the part of the country.")
        return redirect("working-week")
    messages.success(request, "The week is changed.")
    return redirect("calendar")


def month_page(request, *, closure=None, added=None, status=200):
    """The month that was asked for; after a refusal with the form that was filled in."""
    today = timezone.localdate()
    first_day = month_of(request.GET.get("month", ""), today=today)
    after = (first_day + 31 * A_DAY).replace(day=1)
    last_day = after - A_DAY
    known, promised = calendar.read(), Order.objects.promised_by_day(first_day, last_day)
    days = [first_day + ahead * A_DAY for ahead in range(last_day.day)]
    context = {
        "month": first_day,
        "today": today,
        "days": [
            {
                "day": day,
                "because": known.closed_because(day),
                "added": known.added.get(day, ""),
                "promised": promised.get(day, 0),
            }
            for day in days
        ],
        "worked": sum(known.is_working(day) for day in days),
        "before": (first_day - A_DAY).replace(day=1),
        "after": after,
        "closures": Closure.objects.from_day(today),
        "added_days": AddedDay.objects.from_day(today),
        "closure_form": closure or ClosureForm(),
        "added_form": added or AddedDayForm(auto_id=ADDED),
        "wrong": closure or added,
        "week": WorkingWeek.objects.now(),
        "manages": request.user.holds(MANAGER),
    }
    return render(request, "calendar.html", context, status=status)


def to_month(day):
    return redirect(f"{reverse('calendar')}?month={day:%Y-%m}")


def span(first_day, last_day):
    """Days as people write them: on one day, or from one to another."""
    named = [f"{day:%a} {day.day} {day:%b %Y}" for day in (first_day, last_day)]
    return named[0] if first_day == last_day else f"{named[0]} to {named[1]}"

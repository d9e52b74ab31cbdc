"""The working calendar: a month day by day, and what makes a day closed or worked."""

import datetime as dt

from django.contrib import messages
from django.shortcuts import redirect, render
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
    return changed(request, calendar.close(**form.cleaned_data), "closed {days}.")


@role_required(MANAGER)
@require_POST
def calendar_add_day(request):
    form = AddedDayForm(request.POST, auto_id=ADDED)
    if not form.is_valid():
        return month_page(request, added=form, status=422)
    return changed(request, calendar.add_day(**form.cleaned_data), "{days} is worked.")


@role_required(MANAGER)
@require_POST
def calendar_open(request, pk):
    return take_off(request, Closure.objects.keyed(pk), "no longer closed {days}.")


@role_required(MANAGER)
@require_POST
def calendar_take_day_off(request, pk):
    return take_off(request, AddedDay.objects.keyed(pk), "{days} is no longer worked because of it.")


def take_off(request, entry, said):
    if entry is None:
        messages.info(request, "That is off the calendar already; nothing was done twice.")
        return redirect("calendar")
    calendar.take_off(entry)
    return changed(request, entry, said)


def changed(request, entry, said):
    """Back to the month of `entry`, a closure or an added day: what is so now, and who was promised a closed day."""
    first_day, last_day = entry.first_day, entry.last_day
    known, promised = calendar.read(), Order.objects.promised_by_day(first_day, last_day)
    count = sum(orders for day, orders in promised.items() if not known.is_working(day))
    also = f" Orders promised for then: {count}. Look at them." if count else ""
    messages.success(request, f"{entry}: {said.format(days=span(first_day, last_day))}{also}")
    return redirect(f"{reverse('calendar')}?month={first_day:%Y-%m}")


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
    week = WorkingWeek.objects.now()
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
        "week": week,
        "public_holidays": calendar.holidays_of(week),
        "manages": request.user.holds(MANAGER),
    }
    return render(request, "calendar.html", context, status=status)


def span(first_day, last_day):
    """Days as people write them: on one day, or from one to another."""
    named = [f"{day:%a} {day.day} {day:%b %Y}" for day in (first_day, last_day)]
    return named[0] if first_day == last_day else f"{named[0]} to {named[1]}"

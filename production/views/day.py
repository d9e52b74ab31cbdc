"""The day sheet: what was finished, where work piles up, what is late. Shown on a wall, it keeps itself up to date."""

import datetime as dt
import hashlib

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.safestring import mark_safe

from orders.roles import ADMINISTRATOR, CHECKER, MANAGER, SALES, role_required
from production import charts, daysheet, well

FIRST_DAY = dt.date(2000, 1, 1)


class NoSuchDay(ValueError):
    """A day that has no sheet; the message says why and what to ask for."""


@role_required(MANAGER, SALES, CHECKER, ADMINISTRATOR)
def day(request):
    at = timezone.now()
    today = timezone.localdate(at)
    try:
        on = asked_day(request.GET.get("on", ""), today=today)
    except NoSuchDay as wrong:
        return render(request, "day.html", {"problem": wrong, "today": today}, status=400)
    sheet = daysheet.read(on=on, at=at)
    seen = fingerprint(sheet)
    if request.htmx and request.GET.get("seen") == seen:
        return HttpResponse(status=204)
    context = {"sheet": sheet, "seen": seen, "today": today, **drawn(sheet), **beside(on=on, today=today)}
    if request.htmx:
        return render(request, "_day.html", context)
    looks_after = request.user.holds(MANAGER, ADMINISTRATOR)
    return render(request, "day.html", context | {"wrong": well.wrong(at=at) if looks_after else []})


def asked_day(text, *, today):
    """The day in `text`, written 2026-03-04; today where there is none. Raises NoSuchDay."""
    if not text:
        return today
    try:
        on = dt.datetime.strptime(text, "%Y-%m-%d").date()
    except ValueError:
        shown = text if len(text) <= 20 else text[:20] + "…"
        raise NoSuchDay(
            f"“{shown}” is no day. Write it as year-month-day, such as {today}, or pick it below."
        ) from None
    if on > today:
        raise NoSuchDay(f"{date_format(on)} is still to come. There are day sheets up to today, {date_format(today)}.")
    if on < FIRST_DAY:
        raise NoSuchDay(f"There are no day sheets before {date_format(FIRST_DAY)}. Pick a later day below.")
    return on


def fingerprint(sheet):
    """Changes whenever a figure on the sheet has changed."""
    return hashlib.blake2b(repr(sheet).encode(), digest_size=8).hexdigest()


def beside(*, on, today):
    """The days that the sheet leads to."""
    before, after = on - dt.timedelta(days=1), on + dt.timedelta(days=1)
    return {"previous": before if before >= FIRST_DAY else None, "next": after if after <= today else None}


def drawn(sheet):
    """The sheet's charts: each station's hours to one scale, and blinds packed on the last working days."""
    highest = max((hour.finished or 0 for station in sheet.stations for hour in station.hours), default=0)
    rows = [{"station": station, "chart": _hours(station, highest=highest)} for station in sheet.stations]
    return {"rows": rows, "days_chart": _days(sheet)}


def _hours(station, *, highest):
    bars = [charts.Column(label=str(one.hour), count=one.finished, running=one.running) for one in station.hours]
    title = f"{station.name}: blinds finished by the hour"
    return _svg(name=f"hours-{station.key}", title=title, bars=bars, highest=highest)


def _days(sheet):
    bars = [
        charts.Column(
            label=date_format(one.on, "D"),
            below=date_format(one.on, "j"),
            count=one.packed,
            running=sheet.is_today and one.on == sheet.on,
        )
        for one in sheet.days
    ]
    return _svg(name="days", title="Blinds packed a day", bars=bars, highest=max(bar.count for bar in bars))


def _svg(**chart):
    return mark_safe(charts.columns(unit="Blinds", **chart))  # noqa: S308 - every text in it is escaped

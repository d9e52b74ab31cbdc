"""What a tablet records of a blind: answered with its sheet as it stands then, with the way on, or with the reason why
nothing was written."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html
from django_htmx.http import HttpResponseClientRedirect, HttpResponseClientRefresh

from orders import roles
from production import record, route, tablets
from production.models import FaultKind
from production.words import _, listed

from .posted import data_of, event_id_of, issue_of
from .station_blind import sheet, whereabouts
from .stations import at_a_station, new_label_link, place_of, queue_context

LEAVES = (route.FINISH, route.SEND_BACK)
"""What ends a person's work on a blind here: the tablet goes on to the next one."""


@at_a_station
def station_record(request, station, code):
    """Record what the tablet sends, and answer with the sheet as it stands then, or with the way on."""
    place = place_of(station)
    if request.method != "POST":
        return redirect("station-blind", place.key, code)
    try:
        tablets.require_rendered_for(request.POST.get("maker", ""), person=request.user, tablet=request.tablet)
        recorded = record.record(
            event_id=event_id_of(request.POST.get("event_id", "")),
            code=code,
            station=place.key,
            kind=request.POST.get("kind", ""),
            by=request.user,
            at=timezone.now(),
            tablet=request.tablet,
            data=data_of(request.POST),
            issue=issue_of(request.POST),
        )
    except tablets.Refused as refused:
        return _somebody_else(request, place=place, code=code, said=str(refused))
    except record.Refused as refused:
        status = 409 if isinstance(refused.__cause__, route.OutOfOrder) else 422
        return _refusal(request, place=place, code=code, problems=refused.problems, status=status)
    return _answer(request, place=place, code=code, recorded=recorded)


def _somebody_else(request, *, place, code, said):
    """The page was another person's: it is shown anew for who is signed in now, with what was typed."""
    if request.POST.get("from") == "queue" and request.htmx:
        messages.error(request, _("Not recorded. {reason}", reason=said))
        return HttpResponseClientRefresh()
    answer = _refusal(request, place=place, code=code, problems=[said], status=409)
    if request.htmx:
        who = {"user": request.user, "moved": True, "at_the_bench": roles.at_the_bench(request)}
        answer.write(render_to_string("_who.html", who))
    return answer


def _refusal(request, *, place, code, problems, status):
    """Nothing was written: the reasons, beside what was typed."""
    if request.POST.get("from") == "queue":
        if request.htmx:
            return render(request, "_refusal.html", {"problems": _plain(problems)}, status=status)
        context = {**queue_context(request, place=place), "problems": _plain(problems)}
        return render(request, "station.html", context, status=status)
    return sheet(request, place=place, code=code, problems=problems, status=status)


def _plain(problems):
    return [{"text": text} for text in problems]


def _answer(request, *, place, code, recorded):
    kind = recorded.event.kind
    if kind in LEAVES:
        if not recorded.again:
            messages.success(request, _with_label(recorded))
        return _go(request, reverse("station", args=[place.key]))
    url = reverse("station-blind", args=[place.key, code])
    if request.POST.get("from") == "queue":
        return _go(request, url)
    if request.htmx:
        return sheet(request, place=place, code=code)
    return redirect(f"{url}#step-{request.POST['key']}" if kind == route.STEP else url)


def _go(request, url):
    return HttpResponseClientRedirect(url) if request.htmx else redirect(url)


def _with_label(recorded):
    """What is said of an event that ends the work here, with the new label where the rail was scrapped."""
    event, said = recorded.event, _said(recorded)
    return format_html("{}<br>{}", said, new_label_link(event.blind)) if "remake" in event.data else said


def _said(recorded):
    """What was finished or sent back, and where the blind waits now."""
    event = recorded.event
    number, place = event.blind.number, route.STATION[event.station].name
    if event.kind == route.SEND_BACK:
        back_to = listed((route.STATION[key].name.lower() for key in event.back_to), _(" and "))
        fault = _(FaultKind.objects.words()[event.data["fault"]]).lower()
        return _("{number} is back at {back_to}: {fault}.", number=number, back_to=back_to, fault=fault)
    finished = _("{place} of {number} is finished.", place=place, number=number)
    return f"{finished} {whereabouts(recorded.stages)}"

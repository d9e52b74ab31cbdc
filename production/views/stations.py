"""Choosing a station, its queue as a tablet follows it, and finding a blind there by its code."""

import uuid
from functools import wraps

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html
from django.views.decorators.http import require_GET
from django_htmx.http import HttpResponseClientRefresh

from orders.languages import translated
from orders.roles import CHECKER, MAKER, MANAGER, at_the_bench, role_required
from production import bench, codes, queue, remake, route, tablets
from production.models import Blind, Stage
from production.words import _


def at_a_station(view):
    """For those who work there or look after it, in their own language."""
    return translated(role_required(MAKER, CHECKER, MANAGER, bench=True)(_for_whom_it_was_opened(view)))


def _for_whom_it_was_opened(view):
    """A page that asks by itself, while somebody else has signed in since, is loaded anew: it bears another's name."""

    @wraps(view)
    def asked(request, *args, **kwargs):
        if request.method == "GET" and request.headers.get("X-Person", str(request.user.pk)) != str(request.user.pk):
            return HttpResponseClientRefresh()
        return view(request, *args, **kwargs)

    return asked


@at_a_station
@require_GET
def stations(request):
    """Every station with what is queued there; those where this person works first."""
    today = timezone.localdate()
    tally = {}
    for found in Stage.objects.tallied():
        tally.setdefault(found["station"], []).append(found)
    in_hand = {stage.station: stage for stage in Stage.objects.in_hand_of(request.user).with_order()}
    places = [_summary(place, tally.get(place.key, []), in_hand.get(place.key), today) for place in route.STATIONS]
    return render(
        request,
        "stations.html",
        {
            "own": [found for found in places if request.user.holds(*found["place"].roles)],
            "may_choose_pin": tablets.may_have(request.user) and not at_the_bench(request),
            "others": [found for found in places if not request.user.holds(*found["place"].roles)],
        },
    )


def _summary(place, found, in_hand, today):
    oldest = min((each["oldest"] for each in found), default=None)
    return {
        "place": place,
        "counts": {each["state"]: each["blinds"] for each in found},
        "oldest": queue.due_words(due_on=oldest, today=today) if oldest else "",
        "pressing": bool(oldest and oldest <= today),
        "in_hand": in_hand,
    }


@at_a_station
@require_GET
def station(request, station):
    """The queue of one station."""
    return render(request, "station.html", queue_context(request, place=place_of(station)))


@at_a_station
@require_GET
def station_queue(request, station):
    """The queue alone, or 204 where the tablet shows it already (`seen` is the fingerprint of what it shows)."""
    place = place_of(station)
    seen = queue.fingerprint(station=place.key, at=timezone.now())
    if request.GET.get("seen") == seen:
        return HttpResponse(status=204)
    return render(request, "_queue.html", queue_context(request, place=place, seen=seen))


def queue_context(request, *, place, seen=None):
    limit = None if "all" in request.GET else queue.FIRST
    return {
        "place": place,
        "queue": queue.read(station=place.key, person=request.user, at=timezone.now(), limit=limit, seen=seen),
        "everything": limit is None,
        "works_here": request.user.holds(*place.roles),
        # Called by the template: each form has a number of its own.
        "event_id": uuid.uuid4,
        "maker_token": tablets.maker_token(person=request.user, tablet=request.tablet),
    }


def place_of(key):
    """The station of that name, or a missing page."""
    if key not in route.STATION:
        names = ", ".join(place.name.lower() for place in route.STATIONS)
        raise Http404(_("There is no station called {name}. The stations are {places}.", name=repr(key), places=names))
    return route.STATION[key]


@at_a_station
@require_GET
def scan(request, station):
    """To the blind whose code was scanned or typed, or back to the queue with the reason why not.

    A number typed without its check digit is asked about first: a slip may name another blind.
    """
    place, text = place_of(station), request.GET.get("code", "")
    try:
        blind = _read(text, place=place)
    except OldLabel as old:
        messages.error(request, format_html("{}<br>{}", old, new_label_link(old.blind)))
        return redirect("station", place.key)
    except codes.CodeError as wrong:
        messages.error(request, str(wrong))
        return redirect("station", place.key)
    if not codes.is_proved(text):
        due = queue.due_words(due_on=blind.order.due_on, today=timezone.localdate())
        return render(request, "is_it_this_one.html", {"place": place, "blind": blind, "due": due})
    return redirect(reverse("station-blind", args=[place.key, blind.code]))


class OldLabel(codes.CodeError):
    """A label of a rail of `blind` that was scrapped; the message says when and by whom, and what to do."""

    def __init__(self, said, *, blind):
        super().__init__(said)
        self.blind = blind


def new_label_link(blind):
    """The way to the rail's label as it is printed now."""
    address = reverse("rail-label", args=[blind.code])
    return format_html('<a class="button" href="{}">{}</a>', address, _("Print the new rail label"))


def _read(text, *, place):
    """The blind that `text` names, if it can be worked on at `place` or has been; else CodeError with the reason."""
    named = codes.read_code(text)
    number = codes.human_number(order_number=named.order_number, serial=named.serial)
    blind = Blind.objects.with_order().numbered(order_number=named.order_number, serial=named.serial)
    if blind is None:
        raise codes.CodeError(
            _("There is no blind {number} in the workshop. Check the number on the ticket.", number=number)
        )
    if said := remake.label_refused(blind=blind, remake=named.remake):
        raise OldLabel(said, blind=blind)
    stages = bench.stages_of(blind)
    if stages[place.key].state == route.NOT_YET:
        raise codes.CodeError(
            _(
                "{number} is not at {place} yet. It waits for {waits_for}.",
                number=number,
                place=place.name.lower(),
                waits_for=queue.waits_for(station=place.key, stages=stages),
            )
        )
    return blind

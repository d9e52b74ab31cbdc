"""One blind at one station: the sheet that a maker works from."""

import uuid
from functools import cache, partial
from itertools import groupby

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_GET

from orders.compiled import Compiled
from production import bench, changed, codes, drawing, queue, remake, route, scrap, steps, tablets
from production.kept import Kept, ReadSeldom, digest
from production.models import Amendment, Blind, FaultKind, Stage, StationEvent
from production.words import N_, _, listed

from .bench_figures import DRAWN_VIEWS, drawn_figures, figures_for, market_rule, workings_of
from .live import token_from_now
from .posted import scrapped_of
from .stations import at_a_station, place_of
from .verdicts import PATTERNS, SHAPES, verdict_on, verdicts_of

PAUSE_REASONS = (N_("Break"), N_("End of shift"), N_("Waiting for a part"), N_("Called to another job"))


@at_a_station
@require_GET
def station_blind(request, station, code):
    """The sheet of one blind at one station; for a tablet that has it already (`seen` is its version), 204."""
    place = place_of(station)
    if request.htmx and request.GET.get("seen") in map(str, _version(code)):
        return HttpResponse(status=204)
    return sheet(request, place=place, code=code)


@Compiled
def _version(code):
    return Blind.objects.filter(code=code).versions()


@Compiled
def _standing(code):
    return Blind.objects.filter(code=code).standing()


def whereabouts(stages):
    """Where a blind can be worked on now."""
    if stages[route.PACKING].state == route.OFF:
        return _("It was taken off its order.")
    now = [place.name.lower() for place in route.STATIONS if stages[place.key].state in route.QUEUED]
    return _("It is at {places} now.", places=listed(now, _(" and "))) if now else _("It is packed.")


def sheet(request, *, place, code, problems=(), status=200):
    """The sheet of the blind with `code` at `place`, with `problems` beside what was typed. Raises Http404."""
    found = _standing(code)
    if not found:
        raise Http404(_("There is no blind with the code {code}.", code=repr(code)))
    [standing] = found
    named, faults = seldom.get()
    context = {
        "place": place,
        "code": code,
        "number": codes.human_number(order_number=standing.order__number, serial=standing.serial),
        "sheet_shown": None if problems or request.POST else _shown(request.user, place, standing, named),
        "what_it_shows": cache(partial(_read, request, place=place, code=code, problems=problems, faults=faults)),
        "person_key": request.user.pk,
        "stream_token": token_from_now(),
        "maker_token": tablets.maker_token(person=request.user, tablet=request.tablet),
        # Called by the template: each form has a number of its own.
        "event_id": uuid.uuid4,
    }
    template = "_sheet.html" if request.htmx else "station_blind.html"
    return render(request, template, context, status=status)


def _shown(person, place, standing, named):
    """All that the sheet of a blind shows to `person`, as a key: stages and events change with the blind's version.

    Whoever neither has it here nor made what is to be checked is shown the same as everybody else who may work here.
    """
    whose, made = hands.get((standing.pk, standing.version), partial(_hands_on, standing.pk))
    here = person.pk if whose.get(place.key) == person.pk else None
    theirs = made.get(person.pk) if place.key == route.CHECKING else None
    return (place.key, standing, here, theirs, person.holds(*place.roles), named, timezone.localdate())


def _hands_on(blind):
    return Stage.objects.whose(blind), StationEvent.objects.makers_of(blind)


def _named_everywhere():
    """A key of everybody's names and of the kinds of fault on offer, and these kinds."""
    faults = list(FaultKind.objects.on_offer())
    return digest(bench.names(), [(kind.key, kind.words) for kind in faults]), faults


seldom = ReadSeldom(_named_everywhere, most_s=60)
hands = Kept(most=4000)


def _read(request, *, place, code, problems, faults):
    """Everything that the sheet shows."""
    blind = Blind.objects.with_order().coded(code)
    here = bench.read(blind=blind, station=place.key)
    bench.name_people(here, known=[request.user])
    refused_because = _why_not(person=request.user, here=here)
    posted, today = request.POST, timezone.localdate()
    rows = _rows(here, posted, today=today)
    return {
        "blind": blind,
        "bench": here,
        "whereabouts": whereabouts(here.stages),
        "waits_for": queue.waits_for(station=place.key, stages=here.stages),
        "due": queue.due_words(due_on=blind.order.due_on, today=today),
        "figures": figures_for(bench=here),
        "rule": market_rule(bench=here),
        "figures_shown": here.mark,
        # Worked out only where they aren't kept: the template calls them.
        "workings": cache(lambda: workings_of(bench=here)),
        "drawings": cache(lambda: _drawings(here)),
        "drawing_follows": place.key == route.STRINGING,
        "change_asked": _asked(here),
        **_changed(here),
        "special": [row for row in rows if row["step"].kind == steps.ACKNOWLEDGE],
        "groups": _groups(row for row in rows if row["step"].kind != steps.ACKNOWLEDGE),
        "problems": _linked(problems, here),
        "refused_because": refused_because,
        "main": None if refused_because else _main(place, here.stage.state),
        **_once(here, refused_because),
        "cords_url": _cords_url(here),
        "can_enter": not refused_because and here.stage.state == route.IN_HAND,
        "open_steps": sum(bool(found.problem) for found in here.steps),
        "record_url": reverse("station-record", args=[place.key, blind.code]),
        **_setback(here),
        "new_label": place.key == route.RAILING and remake.label_wanted(blind=blind),
        "last": here.events[-1],
        "typed": posted,
        "pause_reasons": PAUSE_REASONS,
        **_going_back(here, posted, refused_because, faults=faults),
    }


def _asked(here):
    """The change of the blind that is asked for and not decided, or None; asking is an event, so most have none."""
    asked = any(event.kind == route.ASK for event in here.events)
    return Amendment.objects.open_for(here.blind) if asked else None


def _why_not(*, person, here):
    """Why this person may only look, or nothing."""
    place = here.stage.place
    if not person.holds(*place.roles):
        return queue.only_for(place)
    if here.stage.state == route.OFF:
        return _("This blind was taken off its order. Put aside what is made of it.")
    if place.key == route.CHECKING:
        for event in here.events:
            if event.person_id == person.pk and event.station in route.MADE_AT:
                made_at = route.STATION[event.station].name.lower()
                return _("You worked on this blind at {place}, so someone else must check it.", place=made_at)
    return ""


def _once(here, refused_because):
    """The main button as it will stand once the blind is taken up, or paused: a tablet without network shows it."""
    if refused_because or here.stage.state not in route.QUEUED:
        return {}
    place = here.stage.place
    return {"once_in_hand": _main(place, route.IN_HAND), "once_paused": _main(place, route.PAUSED)}


def _cords_url(here):
    """Where the cord of a looped blind is told for each chain that may be measured; a tablet keeps it."""
    wanted = here.station == route.STRINGING and steps.looped(here.blind.spec)
    return reverse("blind-cords", args=[here.blind.code]) if wanted else ""


def _main(place, state):
    """The one thing to do next with a blind in this state: kind of event and the words on the button."""
    place = place.name.lower()
    return {
        route.WAITING: (route.START, _("Start {place}", place=place)),
        route.SENT_BACK: (route.START, _("Start {place} again", place=place)),
        route.PAUSED: (route.RESUME, _("Take up {place} again", place=place)),
        route.IN_HAND: (route.FINISH, _("Finish {place}", place=place)),
    }.get(state)


def _rows(here, posted, *, today):
    """The steps with what a page needs beside them: what was typed, what a verdict means, and a key of all of it."""
    entered = {found.step.key for found in here.steps if found.entry}
    return [_row(here, found, posted, entered=entered, today=today) for found in here.steps]


def _row(here, found, posted, *, entered, today):
    step, entry = found.step, found.entry
    typed = posted.get("value") if posted.get("key") == step.key else None
    too_early = bool(step.follows) and step.follows not in entered
    given = (entry.data["value"], str(entry.person), entry.at, today) if entry else None
    return {
        "step": step,
        "found": found,
        "verdict": verdict_on(found),
        "verdicts": partial(verdicts_of, step),
        "pattern": PATTERNS.get(step.kind),
        "shape": _(SHAPES.get(step.kind, "")),
        "too_early": too_early,
        "wrong": bool(entry and found.problem),
        "typed": typed,
        "shown": (here.mark, here.blind.issue, step.key, given, too_early, typed),
    }


def _groups(rows):
    """The steps in order, those of child safety that follow one another in a group of their own."""
    grouped = groupby(rows, key=lambda row: "safety" if row["step"].kind == steps.SAFETY else "work")
    return [(kind, list(each)) for kind, each in grouped]


def _linked(problems, here):
    """Each problem with the step it is about, where there is one."""
    about = {found.problem: found.step.key for found in here.steps if found.problem}
    return [{"text": text, "step": about.get(text)} for text in problems]


def _setback(here):
    """Why the blind was paused here, or the fault that it came back with, for as long as that matters."""
    stage = here.stage
    if stage.state == route.DONE or (stage.state != route.PAUSED and stage.attempt == 1):
        return {}
    if stage.state == route.PAUSED:
        paused = [event for event in here.events if event.kind == route.PAUSE and event.station == stage.station]
        return {"setback": paused[-1]}
    event = ([event for event in here.events if _undid(event, stage.station)] or [None])[-1]
    if event is None or event.kind == route.AMEND:
        # What a change undid is said with the change.
        return {}
    return {
        "setback": event,
        "setback_words": _(FaultKind.objects.words()[event.data["fault"]]),
        "scrapped_words": scrap.words(event.data.get("scrapped")),
    }


def _undid(event, station):
    """Whether a fault or a change had the blind done again at `station`."""
    if event.kind == route.AMEND:
        return station in event.data["again"]
    return event.kind == route.SEND_BACK and any(_before(place, station) for place in event.back_to)


def _changed(here):
    """How the blind was changed, until the station has been finished by its new figures."""
    change = None
    for event in here.events:
        if event.kind == route.AMEND:
            change = event
        elif event.kind == route.FINISH and event.station == here.station:
            change = None
    if change is None or here.stage.state in route.SETTLED:
        return {}
    return {
        "change": change,
        "change_rows": changed.said_between(change.data["before"], change.data["after"]),
        "change_scrapped": scrap.words(change.data["scrapped"]),
    }


def _going_back(here, posted, refused_because, *, faults):
    """What the form for a fault offers: kinds, stations, and the parts that the blind has on it here."""
    blind, station = here.blind, here.station
    states = {key: route.StageState(stage.state) for key, stage in here.stages.items()}
    typed = scrapped_of(posted)
    may_send_back = not refused_because and blind.order.at_work and bool(route.back_from(states, station))
    parts = scrap.parts_at(station=station, spec=blind.spec, components=blind.components)
    made_here = station in route.back_from(states, station)
    named = tuple((kind.key, kind.words) for kind in faults)
    return {
        "may_send_back": may_send_back,
        "back_to": [place for place in route.STATIONS if _before(place.key, station)],
        "made_here": made_here,
        "faults": faults,
        "parts": [{"part": part, "limit": limit, "typed": typed.get(part.key, "")} for part, limit in parts],
        "aside_shown": None if posted else (here.mark, blind.issue, made_here, named),
    }


def _before(earlier, station):
    return earlier == station or station in route.downstream(earlier)


def _drawings(here):
    """Each view that helps here, by name, as SVG; those beside stringing follow what is entered."""
    spec, figures = here.blind.spec, drawn_figures(bench=here)
    return [
        # The drawing escapes its own text.
        (view, mark_safe(drawing.headrail(spec=spec, components=figures, size="station", view=view)))  # noqa: S308
        for view in DRAWN_VIEWS.get(here.station, ())
        if view in drawing.views_of(spec=spec)
    ]

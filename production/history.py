"""What happened to a blind, in words, from its events."""

from . import route, scrap, steps
from .changed import between
from .words import listed

MOVES = {
    route.START: "{place} started",
    route.PAUSE: "{place} paused",
    route.RESUME: "{place} taken up again",
    route.FINISH: "{place} finished",
}

OFFICE_WORDS = {
    route.RELEASE: "Released to the workshop",
    route.ASK: "A change was asked for",
    route.KEEP: "Stays as it is: the change was refused or taken back",
    route.AMEND: "Changed, and frozen anew",
    route.TAKE_OFF: "Taken off its order",
}


def history_of(*, blind, events, faults):
    """Each event of `events` with its words, in their order; `detail` is the step's own text, or what was noted.

    A step is told by the version of the blind that it was entered for. `faults` are the words of every kind of fault,
    by its key.
    """
    events = list(events)
    texts, found = step_texts(first_version(blind, events)), []
    for event in events:
        if event.kind == route.AMEND:
            texts = step_texts(event.data["after"])
        found.append({"event": event, **told(event, texts, faults)})
    return found


def first_version(blind, events):
    """What the blind was released as."""
    return next((event.data["before"] for event in events if event.kind == route.AMEND), blind.frozen)


def changes_of(events):
    """Each accepted change among `events`, the newest first, with what differs between the two versions."""
    accepted = [event for event in events if event.kind == route.AMEND]
    return [{"event": each, "rows": between(each.data["before"], each.data["after"])} for each in accepted[::-1]]


def faults_of(told_events):
    return [each for each in told_events if each["event"].kind == route.SEND_BACK]


def step_texts(version):
    """Every step of this version of a blind as its ticket says it, by (station, key)."""
    return {
        (place.key, step.key): step
        for place in route.STATIONS
        for step in steps.steps_for(
            station=place.key,
            spec=version["spec"],
            components=version["components"],
            special_instruction=version["special_instruction"],
            concerns=version["concerns"],
        )
    }


def told(event, texts, faults):
    if event.kind in OFFICE_WORDS:
        return {"words": OFFICE_WORDS[event.kind], "detail": office_detail(event.data)}
    place = route.STATION[event.station].name
    if event.kind == route.STEP:
        step = texts.get((event.station, event.data["key"]))
        entered = entered_words(step, event.data["value"])
        return {"words": f"{place}: {entered}", "detail": str(step) if step else event.data["key"]}
    if event.kind == route.SEND_BACK:
        return {"words": sent_back_words(place, event, faults), "detail": sent_back_detail(event.data)}
    return {"words": MOVES[event.kind].format(place=place), "detail": event.data.get("reason", "")}


def entered_words(step, value):
    kind = step.kind if step else None
    if kind == steps.COUNT:
        return f"counted {value}"
    if kind == steps.MEASURE:
        return f"measured {value} mm"
    if kind == steps.NOTE:
        return f"noted “{value}”"
    if kind == steps.ACKNOWLEDGE:
        return "acknowledged"
    return "confirmed" if value is True else f"entered {value}"


def sent_back_words(place, event, faults):
    back_to = listed(route.STATION[key].name.lower() for key in event.back_to)
    return f"{place} sent it back to {back_to}: {faults[event.data['fault']].lower()}"


def office_detail(data):
    """Why, and what it undid."""
    scrapped = f"Scrapped: {scrap.words(data['scrapped'])}" if data.get("scrapped") else ""
    places = listed(route.STATION[key].name.lower() for key in data.get("again", ()))
    again = f"Again at {places}" if places else ""
    return ". ".join(part for part in (data.get("because", "").rstrip("."), again, scrapped) if part)


def sent_back_detail(data):
    scrapped = f"Scrapped: {scrap.words(data['scrapped'])}" if data.get("scrapped") else ""
    anew = f"The rail is made anew: new papers {data['remake']}" if "remake" in data else ""
    return ". ".join(part for part in (data.get("note", "").rstrip("."), scrapped, anew) if part)

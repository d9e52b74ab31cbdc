"""What happened to a blind, in words, from its events."""

from . import route, scrap, steps

MOVES = {
    route.START: "{place} started",
    route.PAUSE: "{place} paused",
    route.RESUME: "{place} taken up again",
    route.FINISH: "{place} finished",
}


def history_of(*, blind, events, faults):
    """Each event of `events` with its words, in their order; `detail` is the step's own text, or what was noted.

    `faults` are the words of every kind of fault, by its key.
    """
    texts = step_texts(blind)
    return [{"event": event, **told(event, texts, faults)} for event in events]


def faults_of(told_events):
    return [each for each in told_events if each["event"].kind == route.SEND_BACK]


def step_texts(blind):
    """Every step of the blind as its ticket says it, by (station, key)."""
    return {
        (place.key, step.key): step
        for place in route.STATIONS
        for step in steps.steps_for(
            station=place.key,
            spec=blind.spec,
            components=blind.components,
            special_instruction=blind.special_instruction,
            concerns=blind.concerns,
        )
    }


def told(event, texts, faults):
    if event.kind == route.RELEASE:
        return {"words": "Released to the workshop", "detail": ""}
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
    back_to = " and ".join(route.STATION[key].name.lower() for key in event.back_to)
    return f"{place} sent it back to {back_to}: {faults[event.data['fault']].lower()}"


def sent_back_detail(data):
    scrapped = f"Scrapped: {scrap.words(data['scrapped'])}" if data.get("scrapped") else ""
    anew = f"The rail is made anew: remake {data['remake']}" if "remake" in data else ""
    return ". ".join(part for part in (data.get("note", "").rstrip("."), scrapped, anew) if part)

"""A blind's stages worked out anew from its events alone, and which copies differ from them."""

from itertools import groupby

from . import route
from .models import Stage, StationEvent


def replayed(events):
    """The stages that come of `events`, in their order: {station: StageState}."""
    stages = None
    for event in events:
        if event.kind == route.RELEASE:
            stages = route.released()
        else:
            back = {"back_to": event.data.get("back_to")}
            back |= {name: event.data.get(name, ()) for name in ("beside", "again")}
            stages = route.after(stages, kind=event.kind, station=event.station, **back)
    return stages


def differing():
    """Yields each blind whose stages are not what its events say, with the difference in words."""
    copies = {
        blind: {stage.station: route.StageState(stage.state, stage.attempt) for stage in stages}
        for blind, stages in groupby(Stage.objects.order_by("blind"), key=lambda stage: stage.blind_id)
    }
    events = StationEvent.objects.select_related("blind").order_by("blind", "sequence").iterator()
    for blind, told in groupby(events, key=lambda event: event.blind):
        copy = copies.pop(blind.pk, {})
        try:
            proved = replayed(told)
        except route.OutOfOrder as reason:
            yield blind, f"its events do not follow each other: {reason}"
            continue
        wrong = [station for station, state in proved.items() if copy.get(station) != state]
        if wrong:
            yield blind, f"at {wrong[0]} it is {copy.get(wrong[0])}, and by its events {proved[wrong[0]]}"

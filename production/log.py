"""The only writer of station events but the first, and of the copy of a blind's stages that is kept with them."""

from orders.wake import wake

from . import route
from .models import Blind, HeldDay, StationEvent


class Crossed(Exception):
    """Somebody else wrote to this blind in between; what was asked for is looked at again."""


def write(blind, stages, moved, *, event_id, kind, by, data, kept, station="", frozen=None, line=None):
    """One event and the stages that it changes, `moved`; raises Crossed where the blind has moved on since it was read.

    `frozen` is what a change freezes anew, as `Blind.frozen` names it, and `line` the line that the blind is of then;
    `kept` are the event's own times and tablet.
    """
    unseen = Blind.objects.filter(pk=blind.pk, version=blind.version)
    remake = data.get("remake", blind.remake)
    if not unseen.update(version=blind.version + 1, remake=remake, **_anew(blind, frozen, line)):
        raise Crossed
    event = StationEvent.objects.create(
        event_id=event_id,
        blind=blind,
        sequence=blind.version + 1,
        kind=kind,
        station=station,
        attempt=stages[station].attempt if station else 1,
        person=by,
        revision_id=frozen["revision"] if frozen else blind.revision_id,
        data=data,
        **_dated(blind, stages, kept),
    )
    for key, now in moved.items():
        stage = stages[key]
        if (stage.state, stage.attempt) != (now.state, now.attempt):
            if stage.state == route.IN_HAND:
                HeldDay.objects.note(blind.pk, since=stage.since, until=event.at)
            stage.state, stage.attempt, stage.since = now.state, now.attempt, event.at
            stage.person = by if now.state in (route.IN_HAND, route.PAUSED, route.DONE) else None
            stage.save(update_fields=["state", "attempt", "since", "person"])
    wake()
    return event


def _anew(blind, frozen, line):
    if not frozen:
        return {}
    said = {name: value for name, value in frozen.items() if name != "revision"}
    return {**said, "revision_id": frozen["revision"], "issue": blind.issue + 1, "line": line}


def _dated(blind, stages, kept):
    """A clock may be wrong, or put right meanwhile: the log's order stands, and nothing takes less than no time."""
    if kept.get("received_at") is None:
        return {**kept, "at": max(kept["at"], *(stage.since for stage in stages.values()))}
    before = StationEvent.objects.of_blind(blind).last()
    return {**kept, "at": max(before.at, min(kept["at"], kept["received_at"]))}

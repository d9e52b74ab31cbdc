"""The papers once a rail was scrapped or a blind changed: which label counts, and whether a new one is wanted.

The number that new papers bear counts both, so that none is taken for the next.
"""

from django.utils import timezone
from django.utils.formats import date_format

from . import route
from .models import StationEvent
from .words import _


def label_refused(*, blind, remake):
    """Why a code printed on papers of number `remake` (None: typed) does not count, or nothing."""
    if remake is None or remake == blind.remake:
        return ""
    if remake > blind.remake:
        return _(
            "This code is of new papers {remake} of {number}, and there are none yet. Type {number}, and tell a "
            "manager.",
            remake=remake,
            number=blind.number,
        )
    event = StationEvent.objects.that_voided(blind=blind, remake=remake)
    when = date_format(timezone.localtime(event.at), "D j M, H:i")
    if event.kind == route.AMEND:
        return _(
            "This paper is of {number} before it was changed on {when} by {person}. Put that paper aside, and print "
            "new papers {remake}, label and ticket; or type {number}.",
            number=blind.number,
            when=when,
            person=event.person,
            remake=blind.remake,
        )
    return _(
        "This label is of the rail of {number} that was scrapped on {when} by {person}, at {place}. Put that rail "
        "aside, and print new papers {remake}, label and ticket; or type {number}.",
        number=blind.number,
        when=when,
        person=event.person,
        place=route.STATION[event.station].name.lower(),
        remake=blind.remake,
    )


def label_wanted(*, blind):
    """Whether the rail that the new label is for is not made yet."""
    wanted = False
    if blind.remake:
        for event in StationEvent.objects.of_blind(blind).only("station", "kind", "data"):
            if event.kind == route.SEND_BACK and "remake" in event.data:
                wanted = True
            elif event.kind == route.FINISH and event.station == route.RAILING:
                wanted = False
    return wanted

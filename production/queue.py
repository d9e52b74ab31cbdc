"""What waits at a station, in the order of work, as one person sees it there; and a fingerprint that tells when it
has changed."""

import hashlib
import time
from collections import Counter
from dataclasses import dataclass
from datetime import date
from functools import cache

from django.db import connection
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import get_language

from orders.models import Order
from orders.roles import role_word

from . import route
from .kept import digest
from .models import Amendment, Blind, FaultKind, Stage, StationEvent
from .turns import in_turn
from .words import _, listed, ngettext

FIRST = 60
"""How many rows a tablet is sent unless it asks for all."""
COMING = 6
"""How many of the blinds still to come are named; the rest are counted."""
KEPT_S = 60
"""For how long a name that was changed may still stand in a queue as it was."""
_kept = {}


@dataclass(frozen=True, kw_only=True)
class Row:
    """One blind of the queue. `setback` says why it was paused or sent back, or nothing; `change_asked` is whether a
    change of it is asked for that nobody has decided."""

    stage: Stage
    today: date
    mine: bool
    own_making: bool
    setback: str
    change_asked: bool

    @property
    def blind(self):
        return self.stage.blind

    @property
    def due(self):
        return due_words(due_on=self.blind.order.due_on, today=self.today)

    @property
    def pressing(self):
        return self.blind.order.due_on <= self.today

    @property
    def special(self):
        """Whether a special instruction concerns this station."""
        return bool(self.blind.special_instruction) and self.stage.station in self.blind.concerns

    @property
    def startable(self):
        return self.stage.state in (route.WAITING, route.SENT_BACK) and not self.own_making

    @property
    def shown(self):
        """All that is shown of it, as a key: two rows that are alike in it look alike."""
        blind, stage, spec = self.blind, self.stage, self.blind.spec
        made = (spec["hand"], spec["draw"], spec["vane_width_mm"], spec["operation"], stage.width_mm, stage.drop_mm)
        parts = (stage.carriers["left"], stage.carriers["right"], stage.vanes["count"])
        told = (blind.order.due_on, blind.order.rush, str(blind.order.customer), blind.room, blind.fabric)
        here = (self.today, self.mine, self.own_making, self.startable, self.setback, str(stage.person))
        special = blind.special_instruction if self.special else None
        return (stage.station, blind.code, blind.number, self.mark, made, parts, told, here, special)

    @property
    def mark(self):
        """Differs whenever the row would look different, so that a tablet can tell what changed."""
        stage = self.stage
        changes = f"{self.blind.issue}{'?' if self.change_asked else ''}"
        return f"{stage.state}-{stage.attempt}-{stage.person_id}-{stage.since:%m%d%H%M%S%f}-{changes}"


@dataclass(frozen=True, kw_only=True)
class Coming:
    """A blind that can't be worked on here yet, and what it waits for."""

    blind: Blind
    due: str
    waits_for: str


@dataclass(frozen=True, kw_only=True)
class Queue:
    """A station's queue as `person` sees it: `next` is what to do now, `rows` the rest in the order of work.

    Two queues with the same `key` show the same rows and the same of what comes.
    """

    place: route.Station
    next: Row | None
    rows: tuple[Row, ...]
    counts: dict[str, int]
    oldest: str
    total: int
    coming: tuple[Coming, ...]
    coming_total: int
    fingerprint: str
    key: bytes

    @property
    def only_for(self):
        return only_for(self.place)

    @property
    def left_off(self):
        return self.total - len(self.rows) - (self.next is not None)

    @property
    def coming_left_off(self):
        return self.coming_total - len(self.coming)


class Trace:
    """The light reading of a station: enough to count, and to know what comes."""

    def __init__(self, *, station, at):
        self.station = station
        self._found = in_turn(list(Stage.objects.traces_at(station)), at=at)
        self.queued = [found for found in self._found if found[1] == station]

    def coming(self):
        """The ids of the blinds still to come, in the order of work."""
        return list(dict.fromkeys(found[0] for found in self._found if found[1] != self.station))

    def taken_by(self, person):
        """The blind that this person has taken up here and not finished, what is longest in hand first, or None."""
        states = (route.IN_HAND, route.PAUSED)
        held = [found for found in self.queued if found[4] == person.pk and found[2] in states]
        return min(held, key=lambda found: (found[5], found[0]))[0] if held else None

    def first(self, queued, *, limit):
        """The stages of `queued` whose turn comes first, `limit` of them or all where that is None, in their turn."""
        turn = {found[0]: place for place, found in enumerate(self.queued[:limit])}
        return sorted(queued.filter(blind__in=turn), key=lambda stage: turn[stage.blind_id])


def fingerprint(*, station, at):
    """Changes whenever anything that the queue of `station` shows has changed; costs a light query, on SQLite three."""
    found = []
    with connection.cursor() as cursor:
        for sql, params in _questions(station, connection.vendor):
            cursor.execute(sql, params)
            found.append(sorted(cursor.fetchall()))
    seen = repr((station, timezone.localdate(at), found))
    return hashlib.blake2b(seen.encode(), digest_size=8).hexdigest()


@cache
def _questions(station, vendor):
    """What the fingerprint asks, as (SQL, params): to put it into words takes longer than to ask it."""
    asked = (Stage.objects.marks_at(station), Order.objects.promises_at_work(), Amendment.objects.blinds_asked())
    said = [each.query.get_compiler(connection=connection).as_sql() for each in asked]
    if vendor != "postgresql":
        return said
    # Each answer as one text, and all three in one way there and back. The SQL is Django's own.
    as_text = "(SELECT string_agg(t::text, ' ' ORDER BY t::text COLLATE \"C\") FROM ({}) t)"
    texts = (as_text.format(sql) for sql, _params in said)
    return [(f"SELECT {', '.join(texts)}", [each for _sql, params in said for each in params])]


def read(*, station, person, at, limit=FIRST, seen=None):
    """The queue of `station` for `person`: its first `limit` rows, or all of them where that is None.

    `seen` is its fingerprint, where that has just been taken.
    """
    # The fingerprint first of all: what changes while the rest is read then makes it differ.
    seen = seen or fingerprint(station=station, at=at)
    return _common(station=station, at=at, limit=limit, seen=seen).for_person(person)


def _common(*, station, at, limit, seen):
    """What is the same for everybody, read once for all who ask while it holds."""
    place = (station, limit, get_language())
    kept_until, kept = _kept.get(place, (0, None))
    if kept is None or kept.seen != seen or kept_until < time.monotonic():
        kept = _Common(station=station, at=at, limit=limit, seen=seen)
        _kept[place] = (time.monotonic() + KEPT_S, kept)
    return kept


class _Common:
    """A station as it stood when it was read: everything that its queue shows, whoever looks."""

    def __init__(self, *, station, at, limit, seen):
        self.station, self.seen, self._found_for = station, seen, {}
        self._trace, self._today = Trace(station=station, at=at), timezone.localdate(at)
        self._stages = self._trace.first(_with_figures(station), limit=limit)
        self._setbacks = _setbacks(station=station, stages=self._stages)
        self._asked = set(Amendment.objects.blinds_asked())
        coming = self._trace.coming()
        oldest = min((found[6] for found in self._trace.queued), default=None)
        self._said = {
            "place": route.STATION[station],
            "counts": Counter(found[2] for found in self._trace.queued),
            "oldest": due_words(due_on=oldest, today=self._today) if oldest else "",
            "total": len(self._trace.queued),
            "coming": tuple(_coming(station=station, ids=coming[:COMING], today=self._today)),
            "coming_total": len(coming),
            "fingerprint": seen,
        }

    def for_person(self, person):
        """The Queue as `person` sees it."""
        taken, own = self._trace.taken_by(person), frozenset(self._own_making(person))
        # Whoever has nothing in hand here, and made nothing of it, is shown the same.
        whose = (person.pk, taken, own) if taken or own else None
        if whose not in self._found_for:
            self._found_for[whose] = self._read_for(person if whose else None, taken=taken, own=own)
        return self._found_for[whose]

    def _read_for(self, person, *, taken, own):
        stages = self._stages
        if taken and all(stage.blind_id != taken for stage in stages):
            # None where it was finished, or sent back, just after the trace was read.
            beyond = list(_with_figures(self.station).filter(blind=taken))
            self._setbacks |= _setbacks(station=self.station, stages=beyond)
            stages, taken = [*beyond, *stages], taken if beyond else None
        return self._seen_by(person, stages=stages, taken=taken, own=own)

    def _own_making(self, person):
        """The blinds here that this person had a hand in making, and so may not check."""
        if self.station != route.CHECKING:
            return ()
        return set(StationEvent.objects.made_by(person, blinds=[found[0] for found in self._trace.queued]))

    def _seen_by(self, person, *, stages, taken, own):
        rows = [
            Row(
                stage=stage,
                today=self._today,
                mine=person is not None and stage.person_id == person.pk,
                own_making=stage.blind_id in own,
                setback=self._setbacks.get(stage.blind_id, ""),
                change_asked=stage.blind_id in self._asked,
            )
            for stage in stages
        ]
        following = _next(rows, taken)
        rest = tuple(row for row in rows if row is not following)
        coming = [(each.blind.code, each.blind.number, each.due, each.waits_for) for each in self._said["coming"]]
        key = digest(self.station, [row.shown for row in rest], coming, self._said["coming_total"])
        return Queue(next=following, rows=rest, key=key, **self._said)


def _with_figures(station):
    return Stage.objects.queued_at(station).with_queue_figures()


def _next(rows, taken):
    """What this person has taken up already, or else the first that they may start."""
    if taken:
        return next(row for row in rows if row.stage.blind_id == taken)
    return next((row for row in rows if row.startable), None)


def _setbacks(*, station, stages):
    """By blind, why it is paused or was sent back to this station."""
    states = {stage.blind_id: stage.state for stage in stages if stage.state in (route.PAUSED, route.SENT_BACK)}
    if not states:
        return {}
    found, faults = {}, FaultKind.objects.words()
    for event in StationEvent.objects.setbacks_of(list(states)):
        if event.kind == route.PAUSE and event.station == station and states[event.blind_id] == route.PAUSED:
            found[event.blind_id] = _(event.data["reason"])
        if event.kind == route.SEND_BACK and station in event.back_to:
            new_label = "remake" in event.data and station == route.RAILING
            found[event.blind_id] = _(faults[event.data["fault"]]) + (_(": new rail label") if new_label else "")
        if event.kind == route.AMEND and station in event.data["again"]:
            found[event.blind_id] = _("changed: new figures, new papers")
    return found


def _coming(*, station, ids, today):
    blinds = Blind.objects.with_order().with_stages().defer("components").in_bulk(ids)
    for pk in ids:
        blind = blinds[pk]
        stages = {stage.station: stage for stage in blind.stages.all()}
        yield Coming(
            blind=blind,
            due=due_words(due_on=blind.order.due_on, today=today),
            waits_for=waits_for(station=station, stages=stages),
        )


def waits_for(*, station, stages):
    """What must be done before a blind can be worked on at `station`, and how far that is."""
    return listed(
        (_how_far(stages[before]) for before in route.STATION[station].after if stages[before].state != route.DONE),
        _(" and "),
    )


def _how_far(stage):
    state = _(route.STATE_WORDS[stage.state]).lower()
    who = f", {stage.person}" if stage.person and stage.state in (route.IN_HAND, route.PAUSED) else ""
    return f"{stage.place.name.lower()} ({state}{who})"


def only_for(place):
    """Who works at `place`, for somebody who may only look."""
    roles = _(" or a ").join(role_word(role).lower() for role in place.roles)
    return _("Only a {roles} works at {place}. You can look.", roles=roles, place=place.name.lower())


def due_words(*, due_on, today):
    """A promised day as people at the bench say it."""
    days = (due_on - today).days
    if days < 0:
        return ngettext("{count} day late", "{count} days late", -days)
    if days < 2:
        return _("due tomorrow") if days else _("due today")
    return _("due {day}", day=date_format(due_on, "D j M" if days > 6 else "l"))

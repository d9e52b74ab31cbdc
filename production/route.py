"""The way of a blind through the workshop, as data and one pure rule: what each thing that happens does to its stages.

A blind goes through railing, stringing, checking and packing; its vanes are made beside railing and stringing, and
join it at checking. Common practice, no source.
"""

from dataclasses import dataclass, replace

from .words import N_, _, listed

RAILING = "railing"
VANES = "vanes"
STRINGING = "stringing"
CHECKING = "checking"
PACKING = "packing"

# What a stage may be in, and the words for it.
NOT_YET = "not_yet"
WAITING = "waiting"
IN_HAND = "in_hand"
PAUSED = "paused"
SENT_BACK = "sent_back"
DONE = "done"
OFF = "off"
STATE_WORDS = {
    NOT_YET: N_("Not yet"),
    WAITING: N_("Waiting"),
    IN_HAND: N_("In hand"),
    PAUSED: N_("Paused"),
    SENT_BACK: N_("To do again"),
    DONE: N_("Done"),
    OFF: N_("Taken off"),
}
QUEUED = (WAITING, IN_HAND, PAUSED, SENT_BACK)
BEGUN = (IN_HAND, PAUSED, DONE)
SETTLED = (DONE, OFF)
"""A blind that stands so at packing keeps no order waiting."""

# What can happen to a blind: by the office, and at a station.
RELEASE = "release"
ASK = "ask_change"
KEEP = "keep_as_is"
AMEND = "amend"
TAKE_OFF = "take_off"
BY_THE_OFFICE = (RELEASE, ASK, KEEP, AMEND, TAKE_OFF)
START = "start"
PAUSE = "pause"
RESUME = "resume"
FINISH = "finish"
STEP = "step"
SEND_BACK = "send_back"
AT_A_STATION = (START, PAUSE, RESUME, FINISH, STEP, SEND_BACK)
KINDS = (*BY_THE_OFFICE, *AT_A_STATION)
IN_AND_OUT = (START, PAUSE, RESUME, FINISH, SEND_BACK, AMEND, TAKE_OFF)
"""What takes a blind in hand, or may take it out of it."""
MOVES = {
    START: ((WAITING, SENT_BACK), IN_HAND),
    PAUSE: ((IN_HAND,), PAUSED),
    RESUME: ((PAUSED,), IN_HAND),
    STEP: ((IN_HAND,), IN_HAND),
    FINISH: ((IN_HAND,), DONE),
}
"""The states in which a stage must be for what is done there, and the state that it is in then."""


@dataclass(frozen=True, kw_only=True)
class Station:
    """A place of work; a blind waits there once it is done at every station in `after`."""

    key: str
    english: str
    after: tuple[str, ...]
    roles: tuple[str, ...]

    @property
    def name(self):
        """What people call it, in the reader's language."""
        return _(self.english)


STATIONS = (
    Station(key=RAILING, english=N_("Railing"), after=(), roles=("maker",)),
    Station(key=VANES, english=N_("Vanes"), after=(), roles=("maker",)),
    Station(key=STRINGING, english=N_("Stringing"), after=(RAILING,), roles=("maker",)),
    Station(key=CHECKING, english=N_("Checking"), after=(STRINGING, VANES), roles=("checker",)),
    Station(key=PACKING, english=N_("Packing"), after=(CHECKING,), roles=("maker", "checker")),
)
STATION = {station.key: station for station in STATIONS}
MADE_AT = (RAILING, VANES, STRINGING)


@dataclass(frozen=True)
class StageState:
    """How one blind stands at one station; `attempt` counts up each time that it is to be done there again."""

    state: str
    attempt: int = 1


class OutOfOrder(Exception):
    """What was asked for doesn't follow from how the blind stands; the message says what comes first."""


def released():
    """The stages of a blind just released: it waits where nothing comes before, and nowhere else."""
    return {station.key: StageState(NOT_YET if station.after else WAITING) for station in STATIONS}


def downstream(key):
    """The stations that come after station `key`, however far."""
    found = set()
    for station in STATIONS:  # STATIONS stands in the order of work
        if key in station.after or found.intersection(station.after):
            found.add(station.key)
    return found


def back_from(stages, station):
    """The stations to which a fault found at `station` may go back, in the order of work; none where nothing is made.

    A fault may be found on a blind whatever its state: before it is started, put aside, and once it was thought done.
    """
    now = stages[station].state
    if now in (NOT_YET, OFF):
        return []
    return [
        key for key in STATION if station in downstream(key) or (key == station and now not in (WAITING, SENT_BACK))
    ]


def after(stages, *, kind, station="", back_to=None, beside=(), again=()):
    """The stages once `kind` has happened, at `station` unless the office did it.

    `back_to` names where a fault goes, `beside` the stations that have something to make anew as well; `again` names
    the stations whose work an accepted change makes void.

    Raises OutOfOrder where it can't happen now, with the reason and the next step.
    """
    if kind in (ASK, KEEP):
        return stages
    if kind in (AMEND, TAKE_OFF):
        _require_open(stages)
        return _amended(stages, again) if kind == AMEND else _taken_off(stages)
    if kind in MOVES:
        moved = _moved(stages, station, kind)
        return _opened(moved) if kind == FINISH else moved
    if kind == SEND_BACK:
        if stages[station].state in (NOT_YET, OFF):
            raise OutOfOrder(refusal(stages, station, kind))
        return _sent_back(stages, station, back_to=back_to, beside=beside)
    raise ValueError(f"{kind!r} does not happen at a station; it is one of {AT_A_STATION}")


# Why something can't happen at a station, as what follows a blind's number: before the blind is there, and once it is.
NOT_THERE_YET = {
    START: N_("can't be started at {place} yet: {before} comes before. Finish {before} first."),
    PAUSE: N_("can't be paused at {place} yet: {before} comes before. Finish {before} first."),
    RESUME: N_("can't be taken up again at {place} yet: {before} comes before. Finish {before} first."),
    STEP: N_("can't be worked on at {place} yet: {before} comes before. Finish {before} first."),
    FINISH: N_("can't be finished at {place} yet: {before} comes before. Finish {before} first."),
    SEND_BACK: N_("can't be sent back at {place} yet: {before} comes before. Finish {before} first."),
}
NOT_NOW = {
    START: N_("can't be started at {place}. {advice}"),
    PAUSE: N_("can't be paused at {place}. {advice}"),
    RESUME: N_("can't be taken up again at {place}. {advice}"),
    STEP: N_("can't be worked on at {place}. {advice}"),
    FINISH: N_("can't be finished at {place}. {advice}"),
    SEND_BACK: N_("can't be sent back at {place}. {advice}"),
}
ADVICE = {
    WAITING: N_("It is waiting; start it first."),
    SENT_BACK: N_("It is to be done again and waits; start it first."),
    IN_HAND: N_("It is in hand already; finish, pause or send it back."),
    PAUSED: N_("It is paused; take it up again first."),
    DONE: N_("It is done there; there is nothing left to do."),
    OFF: N_("It was taken off its order; put its parts aside."),
}


def refusal(stages, station, kind):
    """Why `kind` can't happen to the blind at `station` now, and what to do instead."""
    now, place = stages[station], STATION[station].name.lower()
    if now.state == NOT_YET:
        before = [STATION[key].name.lower() for key in STATION[station].after if stages[key].state != DONE]
        return _(NOT_THERE_YET[kind], place=place, before=listed(before, _(" and ")))
    return _(NOT_NOW[kind], place=place, advice=_(ADVICE[now.state]))


def _moved(stages, station, kind):
    now, (before, then) = stages[station], MOVES[kind]
    if now.state not in before:
        raise OutOfOrder(refusal(stages, station, kind))
    return {**stages, station: replace(now, state=then)}


def _opened(stages):
    """Let the blind wait wherever everything before is done."""
    opened = dict(stages)
    for station in STATIONS:
        now = stages[station.key]
        if now.state == NOT_YET and all(stages[key].state == DONE for key in station.after):
            opened[station.key] = replace(now, state=WAITING)
    return opened


def _sent_back(stages, station, *, back_to, beside):
    """A fault goes back to `back_to`: that station and all that follow from it are to be done again."""
    if back_to not in STATION:
        places = ", ".join(place.name.lower() for place in STATIONS)
        raise OutOfOrder(_("can't go back to {back_to}: choose one of {places}.", back_to=back_to, places=places))
    if back_to == station and back_to not in back_from(stages, station):
        raise OutOfOrder(
            _(
                "waits at {place} already. Start it there, or choose a station before.",
                place=STATION[station].name.lower(),
            )
        )
    if back_to not in back_from(stages, station):
        raise OutOfOrder(
            _(
                "can't go back from {place} to {back_to}: a fault goes back to a station that came before. "
                "Choose one of those.",
                place=STATION[station].name.lower(),
                back_to=STATION[back_to].name.lower(),
            )
        )
    return _done_again(stages, {back_to, *beside})


def _done_again(stages, again):
    """The stations `again` and all that follow from them are to be done again."""
    follow = set().union(*map(downstream, again))
    changed = dict(stages)
    for key in again - follow:
        changed[key] = StageState(SENT_BACK, stages[key].attempt + 1)
    for key in follow:
        if stages[key].state != NOT_YET:
            changed[key] = StageState(NOT_YET, stages[key].attempt + 1)
    return changed


def _require_open(stages):
    """A blind that is packed, or no longer made, is changed no more."""
    if stages[PACKING].state == DONE:
        raise OutOfOrder(_("is packed. Enter a new order for the change."))
    if stages[PACKING].state == OFF:
        raise OutOfOrder(_("was taken off its order before."))


def _amended(stages, again):
    """What is begun at a station `again` is void; where nothing is begun there, the new figures are met in time."""
    return _done_again(stages, {key for key in again if stages[key].state in BEGUN})


def _taken_off(stages):
    return {key: replace(now, state=OFF) for key, now in stages.items()}

"""The way of a blind through the workshop, as data and one pure rule: what each thing that happens does to its stages.

A blind goes through railing, stringing, checking and packing; its vanes are made beside railing and stringing, and
join it at checking. Common practice, no source.
"""

from dataclasses import dataclass, replace

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
STATE_WORDS = {
    NOT_YET: "Not yet",
    WAITING: "Waiting",
    IN_HAND: "In hand",
    PAUSED: "Paused",
    SENT_BACK: "Sent back",
    DONE: "Done",
}
QUEUED = (WAITING, IN_HAND, PAUSED, SENT_BACK)

# What can happen to a blind. The first is the office's, the rest happen at a station.
RELEASE = "release"
START = "start"
PAUSE = "pause"
RESUME = "resume"
FINISH = "finish"
STEP = "step"
SEND_BACK = "send_back"
KINDS = (RELEASE, START, PAUSE, RESUME, FINISH, STEP, SEND_BACK)


@dataclass(frozen=True, kw_only=True)
class Station:
    """A place of work; a blind waits there once it is done at every station in `after`."""

    key: str
    name: str
    after: tuple[str, ...]
    roles: tuple[str, ...]


STATIONS = (
    Station(key=RAILING, name="Railing", after=(), roles=("maker",)),
    Station(key=VANES, name="Vanes", after=(), roles=("maker",)),
    Station(key=STRINGING, name="Stringing", after=(RAILING,), roles=("maker",)),
    Station(key=CHECKING, name="Checking", after=(STRINGING, VANES), roles=("checker",)),
    Station(key=PACKING, name="Packing", after=(CHECKING,), roles=("maker", "checker")),
)
STATION = {station.key: station for station in STATIONS}
MADE_AT = (RAILING, VANES, STRINGING)


@dataclass(frozen=True)
class StageState:
    """How one blind stands at one station; `attempt` counts up each time that a fault sends it back there."""

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


def after(stages, *, kind, station, back_to=None):
    """The stages once `kind` has happened at `station`; `back_to` names where a fault goes.

    Raises OutOfOrder where it can't happen now, with the reason and the next step.
    """
    now = stages[station]
    if kind == START:
        return _moved(stages, station, frm=(WAITING, SENT_BACK), to=IN_HAND, verb="started")
    if kind == PAUSE:
        return _moved(stages, station, frm=(IN_HAND,), to=PAUSED, verb="paused")
    if kind == RESUME:
        return _moved(stages, station, frm=(PAUSED,), to=IN_HAND, verb="taken up again")
    if kind == STEP:
        return _moved(stages, station, frm=(IN_HAND,), to=IN_HAND, verb="worked on")
    if kind == FINISH:
        done = _moved(stages, station, frm=(IN_HAND,), to=DONE, verb="finished")
        return _opened(done)
    if kind == SEND_BACK:
        if now.state != IN_HAND:
            raise OutOfOrder(refusal(stages, station, verb="sent back"))
        return _sent_back(stages, station, back_to=back_to)
    raise ValueError(f"{kind!r} does not happen at a station; it is one of {KINDS[1:]}")


def refusal(stages, station, *, verb):
    """Why the blind can't be `verb` at `station` now, and what to do instead."""
    now, place = stages[station], STATION[station].name.lower()
    if now.state == NOT_YET:
        before = [STATION[key].name.lower() for key in STATION[station].after if stages[key].state != DONE]
        return (
            f"can't be {verb} at {place} yet: {' and '.join(before)} comes before. Finish {' and '.join(before)} first."
        )
    advice = {
        WAITING: "It is waiting; start it first.",
        SENT_BACK: "It was sent back and waits; start it first.",
        IN_HAND: "It is in hand already; finish, pause or send it back.",
        PAUSED: "It is paused; take it up again first.",
        DONE: "It is done there; there is nothing left to do.",
    }
    return f"can't be {verb} at {place}. {advice[now.state]}"


def _moved(stages, station, *, frm, to, verb):
    now = stages[station]
    if now.state not in frm:
        raise OutOfOrder(refusal(stages, station, verb=verb))
    return {**stages, station: replace(now, state=to)}


def _opened(stages):
    """Let the blind wait wherever everything before is done."""
    opened = dict(stages)
    for station in STATIONS:
        now = stages[station.key]
        if now.state == NOT_YET and all(stages[key].state == DONE for key in station.after):
            opened[station.key] = replace(now, state=WAITING)
    return opened


def _sent_back(stages, station, *, back_to):
    """A fault goes back to `back_to`: that station and all that follow from it are to be done again."""
    if back_to not in STATION:
        raise OutOfOrder(f"can't go back to {back_to!r}: choose one of {', '.join(STATION)}.")
    if back_to != station and station not in downstream(back_to):
        raise OutOfOrder(
            f"can't go back from {STATION[station].name.lower()} to {STATION[back_to].name.lower()}: "
            "a fault goes back to a station that came before. Choose one of those."
        )
    changed = dict(stages)
    changed[back_to] = StageState(SENT_BACK, stages[back_to].attempt + 1)
    for key in downstream(back_to):
        if stages[key].state != NOT_YET:
            changed[key] = StageState(NOT_YET, stages[key].attempt + 1)
    return changed

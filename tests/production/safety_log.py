"""An independent reading of a blind's events: was it packed with every safety confirmation, by the right role?

It knows nothing of the product's rules and uses none of its code. The rule, common practice after EN 13120:2009+A1:2014
as secondary summaries give it (device fitted in the factory with its own warning, warnings on front and packaging,
instructions in the pack): a looped blind leaves stringing only with device, both tags and front warning confirmed by
a maker; checking only with them seen again by a checker who had no hand in making it; packing only with instructions
and pack warning. What was confirmed before the blind was sent back to that station, or to one before it, is void; and
all of it is once the blind is to be another: what was seen on the blind of before is not seen on this one.
"""

from typing import NamedTuple

WANTED = {
    "stringing": ("device", "tag_1", "tag_2", "front_warning"),
    "checking": ("device_seen", "tags_seen", "front_warning_seen"),
    "packing": ("instructions", "pack_warning"),
}
MAY_CONFIRM = {"stringing": {"maker"}, "checking": {"checker"}, "packing": {"maker", "checker"}}
MAKING = {"railing", "vanes", "stringing"}
LATER = {
    "railing": {"stringing", "checking", "packing"},
    "vanes": {"checking", "packing"},
    "stringing": {"checking", "packing"},
    "checking": {"packing"},
    "packing": set(),
}


class Entry(NamedTuple):
    """One event: who, what, where, and the data sent with it."""

    who: str
    kind: str
    station: str
    data: dict


def packed(log):
    """Whether packing was finished."""
    return any(entry.kind == "finish" and entry.station == "packing" for entry in log)


def faults_of_packed(log, *, roles):
    """What a blind that was released with a loop lacked each time that it was packed with one, as sentences; `log` in
    order, `roles` by name."""
    confirmed, left_with, hands, faults, looped = {}, {}, set(), [], True
    for entry in log:
        if entry.station in MAKING:
            hands.add(entry.who)
        if entry.kind == "send_back":
            for back_to in (entry.data["back_to"], *entry.data.get("beside", ())):
                for void in {back_to, *LATER[back_to]}:
                    confirmed.pop(void, None)
                    left_with.pop(void, None)
        if entry.kind == "amend":
            looped = entry.data["after"]["spec"].get("operation") != "wand"
            if _made_otherwise(entry.data):
                confirmed, left_with = {}, {}
        if entry.kind == "step" and entry.data["value"] is True:
            confirmed.setdefault(entry.station, {}).setdefault(entry.data["key"], []).append(entry.who)
        if entry.kind == "finish":
            left_with[entry.station] = {key: list(whos) for key, whos in confirmed.get(entry.station, {}).items()}
        if entry.kind == "finish" and entry.station == "packing" and looped:
            faults += _lacking(left_with, hands, roles)
    return faults


def _made_otherwise(data):
    """Whether anything of the blind itself is changed: room and instruction are said of it, and are not it."""
    return any(data["before"][name] != data["after"][name] for name in ("spec", "components", "fabric"))


def _lacking(left_with, hands, roles):
    return [
        fault
        for station, keys in WANTED.items()
        for key in keys
        for fault in _faults(station, key, left_with.get(station, {}).get(key, []), hands, roles)
    ]


def _faults(station, key, whos, hands, roles):
    if not whos:
        yield f"{key} was not confirmed before {station} was left"
    elif not any(roles[who] & MAY_CONFIRM[station] for who in whos):
        yield f"{key} at {station} was confirmed only by {whos}, who may not"
    elif station == "checking" and all(who in hands for who in whos):
        yield f"{key} at checking was seen only by {whos}, who made the blind"

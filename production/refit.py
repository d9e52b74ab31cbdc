"""What of a blind is made, and what of that a change makes useless. Pure.

A blind's version is what `Blind.frozen` holds: spec, components, fabric and what is said of it. Which parts are cut to
measure, and so lost where another measure is wanted, is common practice, no source; every other part goes back on the
shelf. No part is cut down to a smaller one: whoever wants that says so in the reason.
"""

from . import route, scrap, steps
from .route import CHECKING, PACKING, RAILING, STRINGING, VANES

# At each station the steps in the order of work, and what is there once that step, or a later one, is entered.
MADE_BY = {
    RAILING: (
        ("cut", ("rail", "tilt_rod")),
        ("tubes", ("tubes",)),
        ("control_end", ("control_end",)),
        ("carriers_left", ("left_carriers",)),
        ("carriers_right", ("right_carriers",)),
        ("end_sets", ("idle_end",)),
        ("gap", ()),
        ("stops", ()),
    ),
    VANES: (
        ("dye_lot", ()),
        ("cut", ("vanes",)),
        ("vane_length", ()),
        ("weights", ("bottom_weights",)),
        ("vane_count", ()),
    ),
    STRINGING: (
        ("chain", ("chain",)),
        ("cut_cord", ("cord",)),
        ("clamp", ()),
        ("covers", ("end_covers",)),
        ("wands", ("wands",)),
        ("tilt", ()),
        ("device", ("tensioner", "breakaway", "loop_weight")),
        ("tag_1", ()),
        ("tag_2", ("tags",)),
        ("front_warning", ()),
    ),
    PACKING: (
        ("vanes_packed", ()),
        ("bottom_packed", ()),
        ("brackets_packed", ("brackets",)),
        ("instructions", ()),
        ("pack_warning", ()),
        ("label", ()),
    ),
}


def _system(version):
    return version["spec"]["system"]


# What a part that is cut to measure is cut by: it fits as long as that stays.
CUT_BY = {
    "rail": lambda version: (_system(version), version["components"]["rail_cut_mm"]),
    "tilt_rod": lambda version: (_system(version), version["components"]["tilt_rod_cut_mm"]),
    "tubes": lambda version: (_system(version), version["components"]["spacer_tubes_mm"]),
    "cord": lambda version: steps.looped(version["spec"]) and version["components"]["cord_cut_mm"],
    "chain": lambda version: (
        steps.looped(version["spec"]) and (version["spec"]["chain"], version["components"]["chain_balls"])
    ),
    "wands": lambda version: not steps.looped(version["spec"]) and version["components"]["wand_mm"],
    "vanes": lambda version: (
        version["fabric"],
        version["spec"]["vane_width_mm"],
        version["components"]["vanes"]["cut_mm"],
    ),
}


def made(*, events, version):
    """What there is of a blind, as a dict of part to count, from its (kind, station, data) in order.

    `version` is the one that it was released with; a change brings the next. A step that was entered shows that all
    before it is done; what was cut before anything was entered isn't known.
    """
    found = {}
    for kind, station, data in events:
        if kind == route.AMEND:
            version = data["after"]
        if kind == route.FINISH:
            found.update(_counted(_parts_of(station), version))
        elif kind == route.STEP:
            found.update(_counted(_parts_of(station, until=data["key"]), version))
        for each in scrapped_of(data):
            _take(found, each)
    return {part.key: found[part.key] for part in scrap.PARTS if found.get(part.key)}


def scrapped_of(data):
    """What an event scrapped; once that was written down in words, which are left out."""
    scrapped = data.get("scrapped", [])
    return scrapped if isinstance(scrapped, list) else []


def _parts_of(station, *, until=None):
    rows = MADE_BY.get(station, ())
    keys = [key for key, _ in rows]
    if until is not None:
        # A step that makes nothing and isn't listed, such as a special instruction read, shows nothing.
        rows = rows[: keys.index(until) + 1] if until in keys else ()
    return [part for _, parts in rows for part in parts]


def _counted(keys, version):
    return {key: scrap.BY_KEY[key].has(version["spec"], version["components"]) for key in keys}


def _take(found, each):
    for key in scrap.IN_HEADRAIL if each["part"] == "headrail" else (each["part"],):
        if key in found:
            found[key] = 0 if each["part"] == "headrail" else max(0, found[key] - each["count"])


def useless(*, made, before, after):
    """Of what is `made`, the parts that can't be used once `before` becomes `after`: a list of {"part", "count"}."""
    lost = {key: made[key] for key in _changed_cuts(before, after) if made.get(key)}
    spare = made.get("vanes", 0) - after["components"]["vanes"]["count"]
    if "vanes" not in lost and spare > 0:
        lost["vanes"] = spare
    return _listed(lost)


def lost_with_the_blind(*, made):
    """Of what is `made`, what can't go back on the shelf when the blind is taken off: what is cut to measure."""
    return _listed({key: made[key] for key in CUT_BY if made.get(key)})


def _listed(lost):
    return [{"part": part.key, "count": lost[part.key]} for part in scrap.PARTS if part.key in lost]


def _changed_cuts(before, after):
    return [key for key, cut_by in CUT_BY.items() if cut_by(before) != cut_by(after)]


def again(*, states, before, after, tape_classes):
    """The stations whose work is void once `before` becomes `after`, of those where it is begun, in the order of work.

    That is where a part is cut by another measure, where anything that is done, counted or measured there changes, and
    where a blind is looked at or packed that isn't the same any more. Of a looped blind every safety confirmation is
    asked anew. `tape_classes` are those of the two versions' revisions.
    """
    cut_at = {scrap.BY_KEY[key].made_at for key in _changed_cuts(before, after)}
    same = all(before[name] == after[name] for name in ("spec", "components", "fabric"))
    void = {
        key
        for key in route.STATION
        if key in cut_at or _steps(key, before, tape_classes[0]) != _steps(key, after, tape_classes[1])
    }
    if not same:
        void |= {CHECKING, PACKING}
        if steps.looped(after["spec"]):
            void.add(STRINGING)
    return [key for key in route.STATION if key in void and states[key].state in route.BEGUN]


def _steps(station, version, tape_class):
    return steps.steps_for(
        station=station,
        spec=version["spec"],
        components=version["components"],
        special_instruction=version["special_instruction"],
        concerns=version["concerns"],
        tape_class=tape_class,
    )

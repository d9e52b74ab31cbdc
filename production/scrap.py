"""What of a blind can be scrapped when a fault sends it back: its parts, where each is made, how many it has. Pure.

Which part is made at which station is common practice, no source; counts are the blind's own figures.
"""

from collections.abc import Callable
from dataclasses import dataclass

from . import route
from .route import PACKING, RAILING, STRINGING, VANES
from .steps import looped
from .words import N_, _


class Wrong(ValueError):
    """What was entered as scrapped can't be; `problems` says each reason with its values and what to do."""

    def __init__(self, problems):
        super().__init__(" ".join(problems))
        self.problems = problems


@dataclass(frozen=True)
class Part:
    """A part as people name it, and where it is made; `has` gives how many a blind has, by its spec and components."""

    key: str
    english: str
    made_at: str
    has: Callable

    @property
    def name(self):
        return _(self.english)


PARTS = (
    Part("headrail", N_("Whole headrail"), RAILING, lambda spec, components: 1),
    Part("rail", N_("Rail"), RAILING, lambda spec, components: 1),
    Part("tilt_rod", N_("Tilt rod"), RAILING, lambda spec, components: 1),
    Part("control_end", N_("Control end set"), RAILING, lambda spec, components: 1 if looped(spec) else 0),
    Part("idle_end", N_("Idle end set"), RAILING, lambda spec, components: 1 if looped(spec) else 2),
    Part("left_carriers", N_("Left carriers"), RAILING, lambda spec, components: components["carriers"]["left"]),
    Part("right_carriers", N_("Right carriers"), RAILING, lambda spec, components: components["carriers"]["right"]),
    Part("tubes", N_("Spacer tubes"), RAILING, lambda spec, components: 2),
    Part("end_covers", N_("End covers"), STRINGING, lambda spec, components: 2),
    Part("cord", N_("Cord"), STRINGING, lambda spec, components: 1 if looped(spec) else 0),
    Part("chain", N_("Chain"), STRINGING, lambda spec, components: 1 if looped(spec) else 0),
    Part("tensioner", N_("Tensioner"), STRINGING, lambda spec, components: 1 if _device(spec) == "tensioner" else 0),
    # One joint in the cord and one in the chain.
    Part(
        "breakaway",
        N_("Breakaway joints"),
        STRINGING,
        lambda spec, components: 2 if _device(spec) == "breakaway" else 0,
    ),
    Part("loop_weight", N_("Loop weight"), STRINGING, lambda spec, components: 1 if _device(spec) == "weight" else 0),
    Part("tags", N_("Warning tags"), STRINGING, lambda spec, components: components["warning_tags"]),
    Part("wands", N_("Wands"), STRINGING, lambda spec, components: components["wands"]),
    Part("vanes", N_("Vanes"), VANES, lambda spec, components: components["vanes"]["count"]),
    Part("bottom_weights", N_("Bottom weights"), VANES, lambda spec, components: components["vanes"]["count"]),
    Part("brackets", N_("Brackets"), PACKING, lambda spec, components: components["brackets"]),
)
BY_KEY = {part.key: part for part in PARTS}
WITH_LABEL = ("headrail", "rail")
"""What carries the rail's label, so that another one needs a new label."""
IN_HEADRAIL = tuple(part.key for part in PARTS if part.made_at == RAILING and part.key != "headrail")


def _device(spec):
    return spec["loop_control"] if looped(spec) else None


def parts_at(*, station, spec, components):
    """The parts that a blind has on it at `station`, each with how many: made there or at a station before."""
    here = [part for part in PARTS if part.made_at == station or station in route.downstream(part.made_at)]
    counted = [(part, part.has(spec, components)) for part in here]
    return [(part, limit) for part, limit in counted if limit]


def read(entered, *, station, back_to, spec, components):
    """What was entered, as it is recorded: a list of {"part", "count"}, nothing for what is empty or 0.

    `entered` is such a list with counts as typed. Raises Wrong with every problem: a part that the blind doesn't have,
    more than it has, one entered twice, or one that is made before `back_to` and so couldn't be made anew.
    """
    limits = {part.key: limit for part, limit in parts_at(station=station, spec=spec, components=components)}
    found, problems = {}, []
    for each in entered:
        try:
            part, count = _counted(each, limits)
        except Wrong as wrong:
            problems += wrong.problems
            continue
        if part in found:
            problems.append(_("{part} was entered twice. Enter it once.", part=BY_KEY[part].name))
        if count:
            found[part] = count
    problems += [*_within_headrail(found), *_made_before(found, back_to)]
    if problems:
        raise Wrong(problems)
    return [{"part": part, "count": count} for part, count in found.items()]


def _counted(each, limits):
    part = BY_KEY.get(each["part"])
    if part is None or part.key not in limits:
        names = ", ".join(BY_KEY[key].name.lower() for key in limits)
        said = part.name if part else each["part"][:40]
        raise Wrong([_("{part}: this blind has none here. It has: {parts}.", part=said, parts=names)])
    limit, typed = limits[part.key], str(each["count"]).strip()
    if not (typed.isascii() and typed.isdigit() and int(typed) <= limit):
        raise Wrong(
            [
                _(
                    "{part}: “{typed}” can't be scrapped, since this blind has {limit}. Type 0 to {limit}.",
                    part=part.name,
                    typed=typed[:12],
                    limit=limit,
                )
            ]
        )
    return part.key, int(typed)


def _within_headrail(found):
    for key in found:
        if key in IN_HEADRAIL and "headrail" in found:
            yield _("{part}: the whole headrail has it already. Enter one of the two.", part=BY_KEY[key].name)


def _made_before(found, back_to):
    for key in found:
        part = BY_KEY[key]
        if back_to in route.downstream(part.made_at):
            yield _(
                "{part}: made at {made_at}, and {back_to} comes after. Send the blind back to {made_at}.",
                part=part.name,
                made_at=route.STATION[part.made_at].name.lower(),
                back_to=route.STATION[back_to].name.lower(),
            )


def beside(entered, *, back_to):
    """The stations besides `back_to` where something entered as scrapped is made, and which don't follow from it."""
    made_at = dict.fromkeys(BY_KEY[each["part"]].made_at for each in entered if each["part"] in BY_KEY)
    return [key for key in made_at if key != back_to and key not in route.downstream(back_to)]


def needs_label(scrapped):
    """Whether the rail's label went with what was scrapped, as it is recorded."""
    return any(each["part"] in WITH_LABEL for each in scrapped)


def words(scrapped):
    """What was scrapped, as it is recorded, in words: '1 × rail, 3 × left carriers'; words are told as written."""
    if not isinstance(scrapped, list):
        return scrapped or ""
    return ", ".join(f"{each['count']} × {BY_KEY[each['part']].name.lower()}" for each in scrapped)

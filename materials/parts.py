"""What one blind takes off the shelf, from its spec and its components; pure.

Which parts there are and how many of each is common practice in the trade, no source; lengths and counts are the
blind's own figures.
"""

from collections import defaultdict
from dataclasses import dataclass

OTHER = {"left": "right", "right": "left"}


@dataclass(frozen=True, order=True)
class Part:
    """A kind of part: its name, what tells it from others of the name, and what it is counted in."""

    name: str
    detail: str = ""
    unit: str = "pieces"

    def __str__(self):
        return f"{self.name}, {self.detail}" if self.detail else self.name


def parts(*, spec, components):
    """A dict of Part to quantity for one blind, in the order of making; quantities in pieces, mm or balls.

    A blind whose control was refused has no cord and no chain in its figures, so none in its parts.
    """
    width = f"{spec['vane_width_mm']} mm"
    looped = spec["operation"] == "cord_chain"
    found = [*_rail(spec, components, looped), *_carriers(components, width), *_tubes(components)]
    found += _control(spec, components) if looped else [(Part("wand", _mm(components["wand_mm"])), components["wands"])]
    found += _vanes(spec, components, width)
    found.append((Part("bracket", f"{spec['fixing']} fix"), components["brackets"]))
    return _sum(found)


def total(blinds):
    """The parts of several (spec, components) added up, as `parts` gives them."""
    return _sum(one for spec, components in blinds for one in parts(spec=spec, components=components).items())


def _sum(found):
    sums = defaultdict(int)
    for part, quantity in found:
        if quantity:
            sums[part] += quantity
    return dict(sums)


def _mm(length):
    return f"{length} mm"


def _rail(spec, components, looped):
    return [
        (Part("headrail", unit="mm"), components["rail_cut_mm"]),
        (Part("tilt rod", unit="mm"), components["tilt_rod_cut_mm"]),
        (Part("control end set", spec["hand"]), 1 if looped else 0),
        (Part("idle end set"), 1 if looped else 2),
        (Part("end cover"), 2),
        (Part("rod retainer"), 1),
        (Part("rail stop"), components["rail_stops"]),
    ]


def _carriers(components, width):
    carriers = components["carriers"]
    for hand in ("left", "right"):
        if carriers[hand]:
            yield Part("carrier", f"{hand}, {width}"), carriers[hand] - 1
            yield Part("lead carrier", f"{hand}, {width}"), 1
    yield Part("link", width), carriers["total"]


def _tubes(components):
    return [(Part("spacer tube", _mm(components["spacer_tubes_mm"][hand])), 1) for hand in ("left", "right")]


def _control(spec, components):
    device = spec["loop_control"]
    return [
        (Part("cord", unit="mm"), components["cord_cut_mm"]),
        (Part("ball chain", spec["chain"], "balls"), components["chain_balls"]),
        (Part("tensioner"), components["tensioners"]),
        # One joint in the cord and one in the chain, so that each loop opens by itself: common practice, no source.
        (Part("breakaway joint"), 2 if device == "breakaway" else 0),
        (Part("loop weight"), 1 if device == "weight" else 0),
        (Part("warning tag"), components["warning_tags"]),
    ]


def _vanes(spec, components, width):
    vanes = components["vanes"]
    return [
        (Part("vane fabric", width, "mm"), vanes["count"] * vanes["cut_mm"]),
        (Part("hanger", width), vanes["count"]),
        (Part("bottom weight", f"{width}, {spec['bottom']}"), vanes["count"]),
        (Part("bottom chain", unit="mm"), components["bottom_chain_mm"]),
    ]

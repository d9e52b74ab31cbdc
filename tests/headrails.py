"""Blinds to draw, and how a drawing's marks are found and measured."""

import re

from hypothesis import assume, settings
from hypothesis import strategies as st

from calc.components import components
from production import drawing
from production.drawing import geometry

SVG = "{http://www.w3.org/2000/svg}"
# What a blind costs to compute says nothing of a drawing, and a busy machine is no fault.
unhurried = settings(deadline=None)
SPLIT_1830 = {
    "system": "demo-38",
    "width_mm": 1830,
    "drop_mm": 1600,
    "size_basis": "recess",
    "vane_width_mm": 89,
    "draw": "split",
    "hand": "left",
    "operation": "cord_chain",
    "loop_control": "tensioner",
    "chain": "metal",
    "market": "en13120",
    "fabric_g_per_m2": 240,
}
WAND = {"operation": "wand", "loop_control": None, "chain": None, "market": "usa"}


def blind(**changes):
    spec = {**SPLIT_1830, **changes}
    return spec, components(spec)


@st.composite
def blinds(draw):
    """Any blind that the demo system makes: every draw, hand, operation and vane width, in tenths of a millimetre."""
    wand = draw(st.booleans())
    spec, figures = blind(
        width_mm=draw(st.integers(3500, 58000)) / 10,
        drop_mm=draw(st.integers(300, 4000)),
        size_basis="exact",
        vane_width_mm=draw(st.sampled_from([89, 127])),
        draw=draw(st.sampled_from(["one_way", "split"] if wand else ["one_way", "reverse", "split"])),
        hand=draw(st.sampled_from(["left", "right"])),
        **(WAND if wand else {}),
    )
    assume(figures["carriers"])
    return spec, figures


def laid(blind, state):
    spec, figures = blind
    return geometry.layout(spec=spec, components=figures, state=state)


def svg(blind, **how):
    spec, figures = blind
    return drawing.headrail(spec=spec, components=figures, **how)


def marked(root, css_class):
    return [mark for mark in root.iter() if css_class in mark.get("class", "").split()]


def extent(mark):
    """From where to where a mark reaches along the rail, in the drawing's units."""
    if mark.tag == f"{SVG}rect":
        return float(mark.get("x")), float(mark.get("x")) + float(mark.get("width"))
    if mark.tag == f"{SVG}line":
        return tuple(sorted((float(mark.get("x1")), float(mark.get("x2")))))
    if box := re.match(r"M([\d.-]+) [\d.-]+h([\d.]+)v", mark.get("d")):
        return float(box[1]), float(box[1]) + float(box[2])
    if bow := re.match(r"M([\d.-]+) [\d.-]+H([\d.-]+)A([\d.]+) ", mark.get("d")):
        inner, start, beyond = map(float, bow.groups())
        return tuple(sorted((inner, start + beyond if start > inner else start - beyond)))
    across = [float(x) for x in re.findall(r"[ML]([\d.-]+) ", mark.get("d"))]
    return min(across), max(across)

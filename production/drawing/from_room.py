"""The blind as its customer sees it from the room: what was measured, where the controls are, where the vanes gather.

For people who have measured a window, not for the bench: no part of the rail is shown, and nothing but what was
measured bears a figure.
"""

from html import escape

from .pen import Pen, figure_text
from .rail import LEAN, letter_of
from .sheet import SHEETS

WIDTH, BELOW = 270, 8
LEFT, RIGHT, TOP = 78, 192, 42
TALLEST, LOWEST, NARROWEST = 112, 44, 40
REVEAL, RAIL = 9, 7
VANES = 11
DRAWN_FROM_CONTROLS = {"one_way": 1, "reverse": -1}


def from_room(*, spec, font_family) -> str:
    """An SVG of the blind of `spec`, as `calc.components` reads it; its sides in proportion as far as they fit.

    Its own words are a letter and figures in millimetres, so it needs no translation but the letter's.
    """
    pen = Pen(SHEETS["ticket"])
    left, right, foot = _outline(spec)
    hand_side = -1 if spec["hand"] == "left" else 1
    if spec["size_basis"] == "recess":
        _reveal(pen, left, right, foot)
    pen.solid(left, TOP, right - left, RAIL)
    step = (right - left) / VANES
    for vane in range(VANES):
        x = left + step * (vane + 0.5)
        pen.line(x, TOP + RAIL, x, foot - 2, thick=0.7)
    _gathers(pen, spec, left, right, foot, hand_side)
    _controls(pen, spec, left, right, foot, hand_side)
    _across(pen, left, right, figure_text(spec["width_mm"]))
    _down(pen, right if hand_side < 0 else left, foot, -hand_side, figure_text(spec["drop_mm"]))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {foot + BELOW:.0f}" fill="none"'
        f' font-family="{escape(font_family)}">{pen}</svg>'
    )


def _outline(spec):
    """The blind's left, right and foot on the sheet."""
    width, drop = float(spec["width_mm"]), float(spec["drop_mm"])
    scale = min((RIGHT - LEFT) / width, TALLEST / drop)
    wide, tall = max(width * scale, NARROWEST), max(drop * scale, LOWEST)
    middle = (LEFT + RIGHT) / 2
    return middle - wide / 2, middle + wide / 2, TOP + tall


def _reveal(pen, left, right, foot):
    """The opening's three sides, hatched as on a building's drawing."""
    tall = foot - TOP
    pen.hatched(left - REVEAL, TOP - REVEAL, REVEAL, tall + REVEAL, lean=LEAN["right"], css_class="wall")
    pen.hatched(right, TOP - REVEAL, REVEAL, tall + REVEAL, lean=LEAN["right"], css_class="wall")
    pen.hatched(left, TOP - REVEAL, right - left, REVEAL, lean=LEAN["right"], css_class="wall")


def _gathers(pen, spec, left, right, foot, hand_side):
    """An arrow towards each end where the vanes gather."""
    y, middle = TOP + RAIL + (foot - TOP - RAIL) * 0.4, (left + right) / 2
    reach = (right - left) * 0.3
    pen.ground(middle - reach - 2, y - 5, 2 * reach + 4, 10)
    if spec["draw"] == "split":
        for side in (-1, 1):
            pen.line(middle + side * 3, y, middle + side * reach, y, thick=1.6)
            pen.arrow(middle + side * reach, y, to=side)
        return
    side = hand_side * DRAWN_FROM_CONTROLS[spec["draw"]]
    pen.line(middle - side * reach, y, middle + side * reach, y, thick=1.6)
    pen.arrow(middle + side * reach, y, to=side)


def _controls(pen, spec, left, right, foot, hand_side):
    """Cord and chain before the vanes at their end, or the wand on each lead vane; the letter of the hand beside."""
    edge = left if hand_side < 0 else right
    under = TOP + RAIL
    hangs = under + (foot - under) * 0.7
    if spec["operation"] == "cord_chain":
        near, far = sorted((edge - hand_side * 2, edge - hand_side * 19))
        pen.ground(near, under + 1, far - near, hangs - under + 3)
        for first, second in ((4, 8), (13, 17)):
            x0, x1 = edge - hand_side * first, edge - hand_side * second
            pen.path(f"M{x0:.2f} {under:.2f}V{hangs:.2f}H{x1:.2f}V{under:.2f}", thick=1)
    else:
        middle = (left + right) / 2
        at = (middle - 6, middle + 6) if spec["draw"] == "split" else (edge - hand_side * (right - left - 6),)
        for x in at:
            pen.line(x, under, x, hangs, thick=2.6)
    x = edge + hand_side * (REVEAL + 16)
    pen.rect(x - 9, TOP - 3, 18, 19, thick=1.2)
    pen.text(x, TOP + 11.5, letter_of(spec["hand"]), size=14, bold=True, anchor="middle")


def _across(pen, left, right, figure):
    y = TOP - REVEAL - 8
    for x, side in ((left, -1), (right, 1)):
        pen.line(x, y - 4, x, TOP - 1, thick=0.4)
        pen.arrow(x, y, to=side)
    pen.line(left, y, right, y, thick=0.6)
    pen.text((left + right) / 2, y - 4, figure, size=14, bold=True, anchor="middle")


def _down(pen, edge, foot, side, figure):
    x = edge + side * (REVEAL + 10)
    for y, to in ((TOP, -1), (foot, 1)):
        pen.line(edge + side * 1, y, x + side * 4, y, thick=0.4)
        pen.arrow_down(x, y, to=to)
    pen.line(x, TOP, x, foot, thick=0.6)
    pen.text(x + side * 5, (TOP + foot) / 2 + 5, figure, size=14, bold=True, anchor="start" if side > 0 else "end")

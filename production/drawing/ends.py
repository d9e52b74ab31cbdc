"""Both ends of the headrail, enlarged: which end set, which tube, and the carrier that stands against it."""

from dataclasses import replace

from ..words import N_, _
from .dimensions import Dimension, draw_rows, rows_of
from .geometry import LEFT, RIGHT, TUBE, Layout
from .pen import Label, Pen, figure_text
from .rail import Scale, draw_rail, draw_wheel, letter_of

CONTROL_END = {LEFT: N_("control end set, left"), RIGHT: N_("control end set, right")}
BEYOND_MM = 30
"""How much rail is shown past the outermost carrier."""


def ends(pen: Pen, *, spec, components, layout: Layout) -> float:
    """Left end and right end side by side, broken in between. Returns the height used."""
    sheet = pen.sheet
    shown = max(layout.carriers[0].right, layout.width - layout.carriers[-1].left) + BEYOND_MM
    margin = sheet.rail * 1.2
    per_mm = (sheet.width / 2 - margin - sheet.text) / float(shown)
    top = sheet.row * 2 + 6
    pen.sheet = replace(sheet, rail=sheet.rail * 1.5)
    bottoms = []
    for side in (LEFT, RIGHT):
        left = margin if side == LEFT else sheet.width - margin - float(layout.width) * per_mm
        scale = Scale(width_mm=layout.width, left=left, right=left + float(layout.width) * per_mm)
        bottoms.append(_end(pen, components, _near(layout, side, shown), scale, side=side, top=top))
    pen.sheet = sheet
    return max(bottoms) + 4


def _near(layout, side, shown):
    """The layout with only what lies within `shown` of one end."""
    far = layout.width - shown

    def within(part):
        return part.right <= shown if side == LEFT else part.left >= far

    def cut(piece):
        return replace(piece, right=shown) if side == LEFT else replace(piece, left=far)

    return replace(
        layout,
        rail=cut(layout.rail),
        rod=cut(layout.rod),
        pieces=tuple(filter(within, layout.pieces)),
        carriers=(layout.carriers[0 if side == LEFT else -1],),
    )


def _end(pen, components, near, scale, *, side, top):
    sheet = pen.sheet
    carrier, tube = near.carriers[0], near.piece(TUBE, side=side)
    finished = 0 if side == LEFT else near.width
    edges = sorted((finished, carrier.axis))
    inward = RIGHT if side == LEFT else LEFT
    tube_label = Label(_("tube"), figure_text(components["spacer_tubes_mm"][side]))
    dimensions = [
        Dimension(
            x0=scale(tube.left),
            x1=scale(tube.right),
            label=tube_label,
            figure=f"spacer_tubes_mm.{side}",
            outside=inward,
        ),
        Dimension(
            x0=scale(edges[0]),
            x1=scale(edges[1]),
            label=Label(_("end to axis") if sheet.also else _("axis"), figure_text(edges[1] - edges[0])),
            figure=f"outermost_mm.{side}",
            outside=inward,
        ),
    ]
    low, high = (0, sheet.width / 2 - 4) if side == LEFT else (sheet.width / 2 + 4, sheet.width)
    draw_rows(
        pen,
        rows_of(dimensions, sheet, low=low, high=high),
        start=top - 4,
        direction=-1,
        part_edge=top - 1,
        low=low,
        high=high,
    )
    floor = draw_rail(pen, near, scale, top=top)
    broken = scale(near.rail.right if side == LEFT else near.rail.left)
    _break(pen, broken, top=top, floor=floor)
    if near.controls == side:
        draw_wheel(pen, near, scale, top=top)
    return _words(pen, near, scale, side=side, top=floor + sheet.rail * 0.7)


def _break(pen, x, *, top, floor):
    tall, tooth = floor - top, pen.sheet.rail * 0.14
    middle = (top + floor) / 2
    pen.path(
        f"M{x:.2f} {top - tall * 0.15:.2f}V{middle - tooth:.2f}L{x - tooth:.2f} {middle - tooth / 2:.2f}"
        f"L{x + tooth:.2f} {middle + tooth / 2:.2f}L{x:.2f} {middle + tooth:.2f}V{floor + tall * 0.15:.2f}",
        thick=pen.sheet.hair,
    )


def _words(pen, near, scale, *, side, top):
    """What stands there, in two lines: the end set, then the carrier."""
    sheet = pen.sheet
    carrier = near.carriers[0]
    kind = N_("lead carrier {letter}") if carrier.lead and not carrier.anchored else N_("anchored carrier {letter}")
    end_set = CONTROL_END[side] if near.controls == side else N_("idle end set")
    lines = [_(end_set), _(kind, letter=letter_of(carrier.hand))]
    x, anchor = (1, "start") if side == LEFT else (sheet.width - 1, "end")
    for place, words in enumerate(lines):
        pen.text(x, top + sheet.text * (1 + 1.25 * place), words, anchor=anchor, bold=place == 0)
    return top + sheet.text * (1.25 * len(lines))
